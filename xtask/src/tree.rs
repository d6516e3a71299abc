//! The files of the project.

use std::fs;
use std::path::Path;

use anyhow::{Context, Result};

use crate::shell;

/// A file of the project.
pub(crate) struct File {
    /// Its path from the root, with `/`.
    pub(crate) path: String,
    /// What it holds, unless it is no UTF-8 text.
    pub(crate) text: Option<String>,
}

impl File {
    /// The part of the name behind the last dot.
    pub(crate) fn extension(&self) -> &str {
        let name = self.path.rsplit('/').next().unwrap_or_default();
        name.rsplit_once('.').map_or("", |(_, extension)| extension)
    }

    /// The lines with their numbers, from 1; none if the file is no text.
    pub(crate) fn lines(&self) -> impl Iterator<Item = (usize, &str)> {
        (1..).zip(self.text.as_deref().unwrap_or_default().lines())
    }
}

/// All files git keeps or would keep, in the order of their paths.
pub(crate) struct Tree {
    /// The files.
    pub(crate) files: Vec<File>,
}

impl Tree {
    /// Reads the files of the project from disk.
    pub(crate) fn read(root: &Path) -> Result<Self> {
        let mut git = shell::command("git");
        // A checkout of another user is read all the same: we only list names.
        git.args(["-c", "safe.directory=*", "ls-files", "-z"]);
        git.args(["--cached", "--others", "--exclude-standard"]);
        let listed = shell::read(&mut git)?;
        let mut paths: Vec<&str> = listed.split_terminator('\0').collect();
        paths.sort_unstable();
        paths.dedup();

        let mut files = Vec::new();
        for path in paths {
            let on_disk = root.join(path);
            // Git still lists what was deleted but not yet committed.
            if !on_disk.is_file() {
                continue;
            }
            let bytes = fs::read(&on_disk).with_context(|| format!("cannot read {path}"))?;
            files.push(File { path: path.to_owned(), text: String::from_utf8(bytes).ok() });
        }
        Ok(Self { files })
    }

    /// The file at a path.
    pub(crate) fn file(&self, path: &str) -> Option<&File> {
        self.files.iter().find(|file| file.path == path)
    }

    /// A tree for the tests of the rules.
    #[cfg(test)]
    pub(crate) fn of(files: &[(&str, &str)]) -> Self {
        let file = |&(path, text): &(&str, &str)| File {
            path: path.to_owned(),
            text: Some(text.to_owned()),
        };
        Self { files: files.iter().map(file).collect() }
    }
}
