//! Every data file says where it comes from.

use super::Finding;
use crate::provenance::{self, Entry, Provenance};
use crate::tree::Tree;

/// Folders whose files are data.
const DATA_FOLDERS: [&str; 3] = ["data", "fixtures", "samples"];

pub(super) fn check(tree: &Tree) -> Vec<Finding> {
    let provenance = match Provenance::read(tree) {
        Ok(provenance) => provenance,
        Err(error) => return vec![Finding::at(provenance::PATH, format!("{error:#}"))],
    };
    let data: Vec<&str> =
        tree.files.iter().map(|file| file.path.as_str()).filter(|path| is_data(path)).collect();

    let mut findings = Vec::new();
    for path in &data {
        // A script that makes a file is ours and needs no origin of its own.
        let is_known = |entry: &Entry| entry.covers(path) || entry.made_by.as_deref() == Some(path);
        if !provenance.entries.iter().any(is_known) {
            let sentence = format!("no entry in {}; say where it comes from", provenance::PATH);
            findings.push(Finding::at(*path, sentence));
        }
    }
    for entry in &provenance.entries {
        let place = entry.place();
        if !data.iter().any(|path| entry.covers(path)) {
            let sentence = format!("the entry `{place}` is about no data file; remove it");
            findings.push(Finding::at(provenance::PATH, sentence));
        }
        for (field, text) in [
            ("origin", &entry.origin),
            ("license", &entry.license),
            ("checked_by", &entry.checked_by),
        ] {
            if text.trim().is_empty() {
                let sentence = format!("the entry `{place}` leaves `{field}` empty");
                findings.push(Finding::at(provenance::PATH, sentence));
            }
        }
        if let Some(script) = entry.made_by.as_deref().filter(|script| tree.file(script).is_none())
        {
            let sentence = format!("the entry `{place}` is made by `{script}`, which is missing");
            findings.push(Finding::at(provenance::PATH, sentence));
        }
    }
    findings
}

fn is_data(path: &str) -> bool {
    let folder = path.rsplit_once('/').map_or("", |(folder, _)| folder);
    path != provenance::PATH && folder.split('/').any(|name| DATA_FOLDERS.contains(&name))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::tidy::assert_found;

    fn check(files: &[&str], provenance: &str, expected: &[&str]) {
        let mut tree: Vec<(&str, &str)> = files.iter().map(|path| (*path, "")).collect();
        tree.push((provenance::PATH, provenance));
        assert_found(&super::check(&Tree::of(&tree)), expected);
    }

    #[test]
    fn a_data_file_without_entry_is_found() {
        check(
            &["fixtures/a.csv", "crates/store/samples/order.toml", "crates/store/src/lib.rs"],
            "",
            &[
                "fixtures/a.csv: no entry in fixtures/PROVENANCE.toml; say where it comes from",
                "crates/store/samples/order.toml: \
                 no entry in fixtures/PROVENANCE.toml; say where it comes from",
            ],
        );
    }

    #[test]
    fn an_entry_covers_one_file_or_files_alike() {
        check(
            &["fixtures/a.csv", "fixtures/drawings/b.svg", "fixtures/drawings/c.svg"],
            "[[file]]\npath = 'fixtures/a.csv'\norigin = 'x'\nlicense = 'x'\nchecked_by = 'x'\n\
             [[file]]\nglob = 'fixtures/drawings/*.svg'\n\
             origin = 'x'\nlicense = 'x'\nchecked_by = 'x'\n",
            &[],
        );
    }

    #[test]
    fn a_script_needs_no_entry_of_its_own() {
        check(
            &["fixtures/a.csv", "fixtures/a.py"],
            "[[file]]\npath = 'fixtures/a.csv'\norigin = 'x'\nlicense = 'x'\nchecked_by = 'x'\n\
             made_by = 'fixtures/a.py'\n",
            &[],
        );
    }

    #[test]
    fn an_entry_without_file_script_or_words_is_found() {
        check(
            &[],
            "[[file]]\npath = 'fixtures/a.csv'\norigin = ' '\nlicense = 'x'\nchecked_by = 'x'\n\
             made_by = 'fixtures/a.py'\n",
            &[
                "fixtures/PROVENANCE.toml: \
                 the entry `fixtures/a.csv` is about no data file; remove it",
                "fixtures/PROVENANCE.toml: the entry `fixtures/a.csv` leaves `origin` empty",
                "fixtures/PROVENANCE.toml: \
                 the entry `fixtures/a.csv` is made by `fixtures/a.py`, which is missing",
            ],
        );
    }

    #[test]
    fn an_entry_that_cannot_be_read_is_found() {
        let tree = Tree::of(&[(provenance::PATH, "[[file]]\npath = 'fixtures/a.csv'\n")]);
        let found = super::check(&tree);
        assert_eq!(found.len(), 1);
        assert!(found[0].to_string().contains("missing field `origin`"), "{}", found[0]);
    }
}
