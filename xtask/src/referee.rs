//! `cargo xtask referee`: outside reference values, computed again by outside programs, and long checks.
//!
//! The files whose entry in `fixtures/PROVENANCE.toml` names a script (`made_by`) are what that
//! script prints, with the pinned Python packages it names (`with`).
//!
//! Then pictures of three sets nobody here drew are read and their areas of color compared with an independent raster,
//! and many drawings broken on purpose are read; what is found is printed.

use std::path::{Path, PathBuf};
use std::{env, fs};

use anyhow::{Context, Result, ensure};
use clap::Args;

use crate::metadata::Metadata;
use crate::outside::{self, Downloads};
use crate::provenance::{Entry, Provenance};
use crate::shell;
use crate::tree::Tree;

/// Downloads the pinned Python packages which the scripts name.
#[derive(Args)]
pub(crate) struct Options {
    /// Write the files anew instead of comparing them
    #[arg(long)]
    write: bool,
    /// Leave out the pictures and the broken drawings, which take minutes
    #[arg(long)]
    files_only: bool,
    /// Pictures of each set, spread evenly over it
    #[arg(long, default_value_t = 400, value_name = "N")]
    pictures: usize,
    /// Drawings broken in their structure
    #[arg(long, default_value_t = 10_000, value_name = "N")]
    mutants: usize,
}

/// Compares every file made by a script with what the script prints now.
pub(crate) fn referee(options: &Options) -> Result<()> {
    let root = shell::root();
    let provenance = Provenance::read(&Tree::read(&root)?)?;
    let target = Metadata::read()?.target_directory;

    let mut n_files = 0;
    let mut differing = Vec::new();
    for entry in &provenance.entries {
        let Some(script) = &entry.made_by else { continue };
        let place = entry.place();
        println!("==> {place} by {script} {}", entry.args.join(" "));
        let python = python(entry, &target, Downloads::Allowed)?;
        let now = shell::read(shell::command(&python).arg(script).args(&entry.args))?;

        n_files += 1;
        if options.write {
            fs::write(root.join(place), now).with_context(|| format!("cannot write {place}"))?;
            continue;
        }
        let kept =
            fs::read_to_string(root.join(place)).with_context(|| format!("cannot read {place}"))?;
        if let Some(difference) = first_difference(&kept, &now) {
            println!("{place}: {difference}");
            differing.push(place);
        }
    }
    ensure!(differing.is_empty(), "not what the script prints now: {}", differing.join(", "));
    println!("referee: {n_files} files {}", if options.write { "written" } else { "confirmed" });
    if options.files_only { Ok(()) } else { read_drawings(&target, options) }
}

/// Runs the long forms of two tests of the crate `drawing` and shows what they print.
fn read_drawings(target: &Path, options: &Options) -> Result<()> {
    let sets = outside::picture_sets(target)?;
    let folders = env::join_paths(&sets).context("a folder of pictures has a : in its name")?;
    let tests =
        "test(pictures_of_several_sets) + test(broken_in_their_structure) + test(made_to_hurt)";
    let mut nextest = shell::cargo(&[
        "nextest",
        "run",
        "--release",
        "--profile",
        "long",
        "--package",
        "drawing",
        "--no-capture",
        "-E",
        tests,
    ]);
    nextest.env("SUGARWRIGHT_PICTURES", folders);
    nextest.env("SUGARWRIGHT_N_PICTURES", options.pictures.to_string());
    nextest.env("SUGARWRIGHT_N_MUTANTS", options.mutants.to_string());
    shell::run(&mut nextest)
}

/// A Python with the packages which the script of an entry needs.
pub(crate) fn python(entry: &Entry, target: &Path, downloads: Downloads) -> Result<PathBuf> {
    let with: Vec<&str> = entry.with.iter().map(String::as_str).collect();
    outside::python(&target.join("referee").join(venv_name(entry)), &with, downloads)
}

/// Scripts with the same packages share a virtual environment.
fn venv_name(entry: &Entry) -> String {
    match entry.with.as_slice() {
        [] => "plain".to_owned(),
        packages => packages.join("-"),
    }
}

/// The first line in which two texts differ, in words.
fn first_difference(kept: &str, now: &str) -> Option<String> {
    if kept == now {
        return None;
    }
    let (mut kept, mut now) = (kept.lines(), now.lines());
    for number in 1.. {
        match (kept.next(), now.next()) {
            (None, None) => break,
            (old, new) if old == new => {}
            (old, new) => {
                let old = old.unwrap_or("the end");
                let new = new.unwrap_or("the end");
                return Some(format!("line {number} is\n  {old}\nbut the script prints\n  {new}"));
            }
        }
    }
    Some("only the line ends differ".to_owned())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_first_line_that_differs_is_named() {
        for (kept, now, expected) in [
            ("a\nb\n", "a\nb\n", None),
            ("a\nb\n", "a\nc\n", Some("line 2 is\n  b\nbut the script prints\n  c")),
            ("a\n", "a\nb\n", Some("line 2 is\n  the end\nbut the script prints\n  b")),
            ("a\nb\n", "a\n", Some("line 2 is\n  b\nbut the script prints\n  the end")),
            ("a\r\n", "a\n", Some("only the line ends differ")),
        ] {
            assert_eq!(first_difference(kept, now).as_deref(), expected, "{kept:?} {now:?}");
        }
    }
}
