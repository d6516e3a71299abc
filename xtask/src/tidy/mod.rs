//! `cargo xtask tidy`: what the compiler cannot check.

mod floors;
mod licenses;
mod origins;
mod purity;
mod quantities;
mod sizes;
mod spelling;
mod standing;
mod unfinished;

use std::fmt;

use anyhow::{Result, ensure};
use clap::Args;

use crate::metadata::Metadata;
use crate::shell;
use crate::tree::{File, Tree};

/// Each finding is one sentence with its place.
#[derive(Args, Default)]
pub(crate) struct Options {
    /// Also name files that are getting long
    #[arg(short, long)]
    verbose: bool,
}

/// Something to put right.
#[derive(Clone)]
struct Finding {
    place: String,
    line: Option<usize>,
    sentence: String,
}

impl Finding {
    /// A finding about a whole file or crate.
    fn at(place: impl Into<String>, sentence: impl Into<String>) -> Self {
        Self { place: place.into(), line: None, sentence: sentence.into() }
    }

    /// A finding in a line of a file.
    fn in_line(file: &File, line: usize, sentence: impl Into<String>) -> Self {
        Self { place: file.path.clone(), line: Some(line), sentence: sentence.into() }
    }
}

impl fmt::Display for Finding {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self.line {
            Some(line) => write!(f, "{}:{line}: {}", self.place, self.sentence),
            None => write!(f, "{}: {}", self.place, self.sentence),
        }
    }
}

/// Applies every rule and prints what it finds.
pub(crate) fn tidy(options: &Options) -> Result<()> {
    let tree = Tree::read(&shell::root())?;
    let metadata = Metadata::read()?;

    if options.verbose {
        for note in sizes::growing(&tree) {
            println!("{note}");
        }
    }
    let findings = findings(&tree, &metadata);
    for finding in &findings {
        println!("{finding}");
    }
    ensure!(findings.is_empty(), "tidy: {} findings", findings.len());
    println!("tidy: {} files and {} crates in order", tree.files.len(), metadata.packages.len());
    Ok(())
}

fn findings(tree: &Tree, metadata: &Metadata) -> Vec<Finding> {
    [
        floors::check(metadata),
        licenses::check(metadata),
        purity::check(tree, metadata),
        quantities::check(tree),
        sizes::check(tree),
        origins::check(tree),
        spelling::check(tree),
        standing::check(tree),
        unfinished::check(tree),
    ]
    .concat()
}

/// What a rule must find, written as it is printed.
#[cfg(test)]
fn assert_found(findings: &[Finding], expected: &[&str]) {
    let found: Vec<String> = findings.iter().map(Finding::to_string).collect();
    assert_eq!(found, expected);
}
