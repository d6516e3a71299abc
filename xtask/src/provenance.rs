//! Where the data files come from: `fixtures/PROVENANCE.toml`.

use anyhow::{Context, Result};
use serde::Deserialize;

use crate::tree::Tree;

/// The file that says it.
pub(crate) const PATH: &str = "fixtures/PROVENANCE.toml";

/// All entries.
#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct Provenance {
    /// One for each file, or for each run of files alike.
    #[serde(default, rename = "file")]
    pub(crate) entries: Vec<Entry>,
}

/// Where one file, or files alike, come from.
#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct Entry {
    /// A file, from the root of the repository.
    path: Option<String>,
    /// Or files alike; `*` stands for any run of characters but `/`.
    glob: Option<String>,
    /// Who measured, published or invented it, and when.
    pub(crate) origin: String,
    /// Its license.
    pub(crate) license: String,
    /// How it was compared with its origin.
    pub(crate) checked_by: String,
    /// The Python script that prints the file.
    pub(crate) made_by: Option<String>,
    /// What that script is called with.
    #[serde(default)]
    pub(crate) args: Vec<String>,
    /// The pinned Python packages which that script needs.
    #[serde(default)]
    pub(crate) with: Vec<String>,
}

impl Provenance {
    /// Reads the entries; there are none where the file is missing.
    pub(crate) fn read(tree: &Tree) -> Result<Self> {
        let text = tree.file(PATH).and_then(|file| file.text.as_deref()).unwrap_or_default();
        toml::from_str(text).with_context(|| format!("cannot read {PATH}"))
    }
}

impl Entry {
    /// The file or files it is about, as written.
    pub(crate) fn place(&self) -> &str {
        self.path.as_deref().or(self.glob.as_deref()).unwrap_or_default()
    }

    /// Whether the entry is about the file at this path.
    pub(crate) fn covers(&self, path: &str) -> bool {
        match (&self.path, &self.glob) {
            (Some(own), None) => own == path,
            (None, Some(glob)) => matches(glob, path),
            _ => false,
        }
    }
}

/// Whether a path fits a pattern in which `*` stands for any run of characters but `/`.
fn matches(pattern: &str, path: &str) -> bool {
    let patterns: Vec<&str> = pattern.split('/').collect();
    let names: Vec<&str> = path.split('/').collect();
    patterns.len() == names.len() && patterns.iter().zip(names).all(|(p, n)| name_matches(p, n))
}

fn name_matches(pattern: &str, name: &str) -> bool {
    let Some((head, rest)) = pattern.split_once('*') else { return pattern == name };
    let Some(mut name) = name.strip_prefix(head) else { return false };
    let mut pieces: Vec<&str> = rest.split('*').collect();
    let last = pieces.pop().unwrap_or_default();
    // The leftmost place of each piece leaves the most room for those behind it.
    for piece in pieces {
        let Some(at) = name.find(piece) else { return false };
        name = &name[at + piece.len()..];
    }
    name.ends_with(last)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_star_stands_for_part_of_one_name() {
        for (pattern, path, expected) in [
            ("fixtures/a.csv", "fixtures/a.csv", true),
            ("fixtures/a.csv", "fixtures/b.csv", false),
            ("fixtures/*.csv", "fixtures/a.csv", true),
            ("fixtures/*.csv", "fixtures/tint/a.csv", false),
            ("fixtures/*/*-*.csv", "fixtures/tint/a-b-c.csv", true),
            ("fixtures/*/*-*.csv", "fixtures/tint/abc.csv", false),
            ("fixtures/a*a", "fixtures/a", false),
            ("fixtures/a*b*", "fixtures/axbx", true),
        ] {
            assert_eq!(matches(pattern, path), expected, "{pattern} against {path}");
        }
    }
}
