//! `cargo xtask referee`: outside reference values, computed again by outside programs.
//!
//! The files whose entry in `fixtures/PROVENANCE.toml` names a script (`made_by`) are what that
//! script prints, with the pinned Python packages it names (`with`).

use std::fs;

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
        println!("==> {place} by {script}");
        let with: Vec<&str> = entry.with.iter().map(String::as_str).collect();
        let venv = target.join("referee").join(venv_name(entry));
        let python = outside::python(&venv, &with, Downloads::Allowed)?;
        let now = shell::read(shell::command(&python).arg(script))?;

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
    Ok(())
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
