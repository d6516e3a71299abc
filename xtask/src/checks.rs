//! `cargo xtask test`: every check, in one order, at home and in continuous integration.

use std::env;
use std::fs;
use std::process::Command;
use std::time::{Duration, Instant};

use anyhow::{Result, ensure};
use clap::Args;

use crate::bench::LAST_CHECKS;
use crate::metadata::Metadata;
use crate::outside::{Downloads, Outside};
use crate::{install, outside, postgres, shell, tidy};

/// Every step runs, whatever fails before it; a summary closes the output.
#[derive(Args)]
pub(crate) struct Options {
    /// Install and download nothing: check with what is there
    #[arg(long)]
    no_install: bool,
}

/// A step of the checks and how it ended.
struct Ended {
    name: &'static str,
    took: Duration,
    result: Result<()>,
}

/// Runs every check.
pub(crate) fn test(options: &Options) -> Result<()> {
    let mut unchecked = Vec::new();
    let downloads = if options.no_install {
        Downloads::Forbidden
    } else {
        println!("==> what the checks need");
        unchecked.extend(install::install());
        Downloads::Allowed
    };
    let target = Metadata::read()?.target_directory;
    let outside = outside::set_up(&target, downloads);
    for Outside { check, place, .. } in &outside {
        if let Err(error) = place {
            unchecked.push(format!("{check} were not checked: {error:#}"));
        }
    }
    if !install::has_nextest() {
        unchecked.push("cargo-nextest is missing: no limit on the time of a test".to_owned());
    }
    if !["chromium", "chromedriver"].into_iter().all(shell::is_installed) {
        unchecked.push("chromium or chromedriver is missing: no page was opened".to_owned());
    }

    // It stops at the end of this function.
    let postgres = start_postgres().unwrap_or_else(|sentence| {
        unchecked.push(sentence);
        None
    });

    let cargo = |args: &[&str]| shell::run(&mut shell::cargo(args));
    let ended = [
        step("format", || cargo(&["fmt", "--all", "--check"])),
        step("clippy", || {
            cargo(&["clippy", "--release", "--workspace", "--all-targets", "--", "-D", "warnings"])
        }),
        step("tidy", || tidy::tidy(&tidy::Options::default())),
        step("tests", || shell::run(&mut tests(&outside, postgres.as_ref()))),
        step("doctests", || {
            cargo(&["test", "--release", "--doc", "--workspace", "--no-fail-fast"])
        }),
        step("docs", || {
            let mut doc = shell::cargo(&["doc", "--release", "--no-deps", "--workspace"]);
            shell::run(doc.env("RUSTDOCFLAGS", "-D warnings"))
        }),
    ];
    // For the table of benchmarks; a folder that cannot be written only leaves a row out.
    let total: Duration = ended.iter().map(|step| step.took).sum();
    let _ = fs::write(target.join(LAST_CHECKS), total.as_secs().to_string());
    summarize(&ended, &unchecked)
}

fn step(name: &'static str, work: impl FnOnce() -> Result<()>) -> Ended {
    println!("\n==> {name}");
    let start = Instant::now();
    let result = work();
    let took = start.elapsed();
    if let Err(error) = &result {
        println!("{error:#}");
    }
    println!("<== {name} took {:.1} s", took.as_secs_f64());
    Ended { name, took, result }
}

/// Starts the server the tests of the store share, unless one is named; else says why not.
fn start_postgres() -> Result<Option<postgres::Server>, String> {
    if env::var_os(postgres::VARIABLE).is_some() {
        return Ok(None);
    }
    let Some(binaries) = postgres::binaries() else {
        return Err("PostgreSQL is missing: the store was checked on SQLite only".to_owned());
    };
    match postgres::Server::start(binaries) {
        Ok(server) => Ok(Some(server)),
        Err(error) => Err(format!("PostgreSQL did not start: {error}")),
    }
}

fn tests(outside: &[Outside], postgres: Option<&postgres::Server>) -> Command {
    let mut tests = if install::has_nextest() {
        shell::cargo(&["nextest", "run", "--release", "--workspace", "--profile", "ci"])
    } else {
        shell::cargo(&["test", "--release", "--workspace", "--all-targets", "--no-fail-fast"])
    };
    tests.env("INSTA_UPDATE", "no");
    if let Some(server) = postgres {
        tests.env(postgres::VARIABLE, server.url());
    }
    for Outside { variable, place, .. } in outside {
        match place {
            Ok(place) => tests.env(variable, place),
            Err(_) => tests.env_remove(variable),
        };
    }
    tests
}

fn summarize(ended: &[Ended], unchecked: &[String]) -> Result<()> {
    println!("\n==> summary");
    for Ended { name, took, result } in ended {
        let outcome = if result.is_ok() { "ok" } else { "FAILED" };
        println!("{outcome:>6}  {name:<8}  {:>6.1} s", took.as_secs_f64());
    }
    for sentence in unchecked {
        println!("note: {sentence}");
    }
    let failed: Vec<&str> =
        ended.iter().filter(|step| step.result.is_err()).map(|step| step.name).collect();
    ensure!(failed.is_empty(), "failed: {}", failed.join(", "));
    Ok(())
}
