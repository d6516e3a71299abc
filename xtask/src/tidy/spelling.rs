//! We spell as the language, CSS and our libraries do: American.
//!
//! Words of others keep their spelling: fixtures, with the titles of their origins, are not
//! looked at, and a quote, say of a law, is excepted by `tidy: allow-spelling` in its line.

use super::Finding;
use crate::tree::{File, Tree};

/// How a British word begins and how the American one does, one pair a line.
const SPELLINGS: &str = include_str!("spellings.txt");

const EXCEPTION: &str = "tidy: allow-spelling";

pub(super) fn check(tree: &Tree) -> Vec<Finding> {
    tree.files.iter().filter(|file| is_ours_to_spell(file)).flat_map(check_file).collect()
}

fn is_ours_to_spell(file: &File) -> bool {
    !file.path.starts_with("fixtures/")
        && matches!(
            file.extension(),
            "css" | "html" | "js" | "md" | "rs" | "sql" | "toml" | "ts" | "typ"
        )
}

fn check_file(file: &File) -> Vec<Finding> {
    let mut findings = Vec::new();
    for (number, line) in file.lines().filter(|(_, line)| !line.contains(EXCEPTION)) {
        for word in words(line) {
            if let Some(american) = american(&word) {
                let sentence = format!("`{word}` is British; write `{american}`");
                findings.push(Finding::in_line(file, number, sentence));
            }
        }
    }
    findings
}

/// The American spelling of a British word.
fn american(word: &str) -> Option<String> {
    SPELLINGS.lines().filter_map(|pair| pair.split_once(' ')).find_map(|(british, american)| {
        word.strip_prefix(british).map(|ending| format!("{american}{ending}"))
    })
}

/// The words of a line in small letters; names in code are taken apart.
fn words(line: &str) -> Vec<String> {
    let mut words = Vec::new();
    let mut word = String::new();
    let mut after_small = false;
    for c in line.chars() {
        let starts_word = !c.is_alphabetic() || (after_small && c.is_uppercase());
        if starts_word && !word.is_empty() {
            words.push(std::mem::take(&mut word));
        }
        if c.is_alphabetic() {
            word.extend(c.to_lowercase());
        }
        after_small = c.is_lowercase();
    }
    words.push(word);
    words
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::tidy::assert_found;

    fn check(path: &str, text: &str, expected: &[&str]) {
        assert_found(&super::check(&Tree::of(&[(path, text)])), expected);
    }

    // The broken samples are put together so that this file is none.
    const SAMPLE: &str = concat!("let nozzleColo", "urs = 3; // the gre", "y one\n");

    #[test]
    fn british_words_are_found_in_prose_and_in_names() {
        check(
            "crates/tint/src/mix.rs",
            SAMPLE,
            &[
                concat!("crates/tint/src/mix.rs:1: `colo", "urs` is British; write `colors`"),
                concat!("crates/tint/src/mix.rs:1: `gre", "y` is British; write `gray`"),
            ],
        );
    }

    #[test]
    fn american_words_and_words_that_only_look_alike_pass() {
        check(
            "a.md",
            "The color of the perimeter, optimistic organisms, de minimis, parametric.",
            &[],
        );
    }

    #[test]
    fn fixtures_and_quotes_keep_their_spelling() {
        check("fixtures/PROVENANCE.toml", SAMPLE, &[]);
        check("a.rs", &SAMPLE.replace('\n', " tidy: allow-spelling\n"), &[]);
    }
}
