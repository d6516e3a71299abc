//! `cargo xtask bless`: rewrites the golden files.

use anyhow::Result;
use clap::Args;

use crate::shell;

/// Snapshots inside a source file stay as they are: edit those by hand.
#[derive(Args)]
pub(crate) struct Options {
    /// Only the golden files of this crate
    #[arg(short, long, value_name = "CRATE")]
    package: Option<String>,
}

/// Runs the tests with snapshots overwritten by what the tests see.
pub(crate) fn bless(options: &Options) -> Result<()> {
    let mut tests = shell::cargo(&["nextest", "run", "--release", "--profile", "ci"]);
    match &options.package {
        Some(package) => tests.args(["--package", package]),
        None => tests.arg("--workspace"),
    };
    shell::run(tests.env("INSTA_UPDATE", "always"))?;
    println!("Golden files are rewritten; read `git diff` like code.");
    Ok(())
}
