//! `cargo xtask bless`: rewrites the golden files and the pages made from the file formats.

use std::fs;

use anyhow::{Context, Result};
use clap::Args;

use crate::shell;

/// Snapshots inside a source file stay as they are: edit those by hand.
#[derive(Args)]
pub(crate) struct Options {
    /// Only the golden files of this crate
    #[arg(short, long, value_name = "CRATE")]
    package: Option<String>,
}

/// Files of which the program itself writes the page that explains them.
const EXPLAINED: [&str; 17] = [
    "order",
    "kitchen",
    "choices",
    "plan",
    "art",
    "settle-request",
    "settle-answer",
    "dry-request",
    "dry-answer",
    "tint-request",
    "tint-answer",
    "sequence-request",
    "sequence-answer",
    "schedule-request",
    "schedule-answer",
    "nest-request",
    "nest-answer",
];

/// Writes the pages, then runs the tests with snapshots overwritten by what the tests see.
pub(crate) fn bless(options: &Options) -> Result<()> {
    for file in EXPLAINED {
        let explain = [
            "run",
            "--release",
            "--quiet",
            "--package",
            "sugarwright",
            "--",
            "schema",
            file,
            "--explain",
        ];
        let page = shell::read(&mut shell::cargo(&explain))?;
        let path = shell::root().join(format!("docs/{file}-file.md"));
        fs::write(&path, page).with_context(|| format!("cannot write {}", path.display()))?;
    }
    let mut tests = shell::cargo(&["nextest", "run", "--release", "--profile", "ci"]);
    match &options.package {
        Some(package) => tests.args(["--package", package]),
        None => tests.arg("--workspace"),
    };
    shell::run(tests.env("INSTA_UPDATE", "always"))?;
    println!("Golden files are rewritten; read `git diff` like code.");
    Ok(())
}
