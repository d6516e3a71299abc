//! Nothing unfinished is kept: no holes in the code, no test that is skipped or waits for a panic.

use super::Finding;
use crate::tree::Tree;

/// What marks it, put together so that this file is not found.
const MARKS: [&str; 5] = [
    concat!("to", "do!("),
    concat!("unimple", "mented!("),
    concat!("#[ign", "ore"),
    concat!("#[should", "_panic"),
    concat!("db", "g!("),
];

pub(super) fn check(tree: &Tree) -> Vec<Finding> {
    let mut findings = Vec::new();
    for file in tree.files.iter().filter(|file| file.extension() == "rs") {
        for (number, line) in file.lines() {
            for mark in MARKS.iter().filter(|mark| line.contains(**mark)) {
                let sentence = format!("`{mark}` marks something unfinished; finish or remove it");
                findings.push(Finding::in_line(file, number, sentence));
            }
        }
    }
    findings
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_mark_is_found() {
        for mark in MARKS {
            let code = format!("fn a() {{}}\n    {mark}");
            let found = check(&Tree::of(&[("a.rs", &code), ("a.md", &code)]));
            let found: Vec<String> = found.iter().map(Finding::to_string).collect();
            let expected =
                format!("a.rs:2: `{mark}` marks something unfinished; finish or remove it");
            assert_eq!(found, [expected]);
        }
    }
}
