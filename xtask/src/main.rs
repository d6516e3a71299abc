//! The commands of this workspace: `cargo xtask test`, `tidy`, `bless`, `referee`.
#![allow(clippy::print_stdout, clippy::print_stderr)]

mod bench;
mod bless;
mod checks;
mod install;
mod metadata;
mod outside;
mod pictures;
mod postgres;
mod provenance;
mod referee;
mod shell;
mod tidy;
mod tree;

use std::process::ExitCode;

use clap::Parser;

/// The commands of this workspace.
#[derive(Parser)]
#[command(name = "cargo xtask", bin_name = "cargo xtask")]
enum Xtask {
    /// Runs every check; continuous integration runs this very command
    Test(checks::Options),
    /// Checks what the compiler cannot: floors, purity, provenance, licenses, sizes, words
    Tidy(tidy::Options),
    /// Rewrites the golden files from what the tests see now; read the difference like code
    Bless(bless::Options),
    /// Computes outside reference values again with outside programs and compares
    Referee(referee::Options),
    /// Takes the pictures of the guide from the pages as they are now
    Pictures,
    /// Measures whole plans and engines and writes docs/benchmarks.md
    Bench(bench::Options),
}

fn main() -> ExitCode {
    let done = match Xtask::parse() {
        Xtask::Test(options) => checks::test(&options),
        Xtask::Tidy(options) => tidy::tidy(&options),
        Xtask::Bless(options) => bless::bless(&options),
        Xtask::Referee(options) => referee::referee(&options),
        Xtask::Pictures => pictures::pictures(),
        Xtask::Bench(options) => bench::bench(&options),
    };
    match done {
        Ok(()) => ExitCode::SUCCESS,
        Err(error) => {
            eprintln!("error: {error:#}");
            ExitCode::FAILURE
        }
    }
}
