//! Floors 0 to 2 forbid themselves clock, disk, network, environment and unseeded chance.
//!
//! The lint `disallowed_methods` reads the `clippy.toml` of the crate it looks at and no other,
//! so each crate carries the whole list.

use serde::Deserialize;

use super::Finding;
use crate::metadata::Metadata;
use crate::tree::Tree;

/// The highest floor that is pure.
const HIGHEST_PURE_FLOOR: u8 = 2;

/// What the list must forbid at least: one of each kind, and what comes to hand first.
const FORBIDDEN: [&str; 12] = [
    "std::time::Instant::now",
    "std::time::SystemTime::now",
    "jiff::Timestamp::now",
    "jiff::ZonedDateTime::now",
    "std::fs::File::open",
    "std::fs::read",
    "std::fs::read_to_string",
    "std::fs::write",
    "std::env::args",
    "std::env::var",
    "std::net::TcpStream::connect",
    "rand::rng",
];

#[derive(Deserialize)]
#[serde(rename_all = "kebab-case")]
struct Lints {
    disallowed_methods: Vec<Forbidden>,
}

#[derive(Deserialize)]
struct Forbidden {
    path: String,
    reason: String,
}

pub(super) fn check(tree: &Tree, metadata: &Metadata) -> Vec<Finding> {
    let pure: Vec<&str> = metadata
        .ours()
        .filter(|package| package.floor().is_some_and(|f| f.number <= HIGHEST_PURE_FLOOR))
        .map(|package| package.name.as_str())
        .collect();
    check_crates(tree, &pure)
}

fn check_crates(tree: &Tree, pure: &[&str]) -> Vec<Finding> {
    let mut findings = Vec::new();
    let mut first: Option<(String, &str)> = None;
    for name in pure {
        let place = format!("crates/{name}/clippy.toml");
        let Some(text) = tree.file(&place).and_then(|file| file.text.as_deref()) else {
            findings.push(Finding::at(place, "missing; copy the one of another pure crate"));
            continue;
        };
        match &first {
            None => {
                findings.extend(check_list(&place, text));
                first = Some((place, text));
            }
            Some((other, list)) if *list != text => {
                findings.push(Finding::at(place, format!("differs from {other}; keep them equal")));
            }
            Some(_) => {}
        }
    }

    for file in &tree.files {
        let Some((name, rest)) =
            file.path.strip_prefix("crates/").and_then(|path| path.split_once('/'))
        else {
            continue;
        };
        if !pure.contains(&name) || !rest.starts_with("src/") {
            continue;
        }
        for (number, line) in file.lines() {
            if line.contains("clippy::disallowed_methods") {
                let sentence = "a pure crate lifts the lint that keeps it pure; \
                                take what it needs as an argument";
                findings.push(Finding::in_line(file, number, sentence));
            }
        }
    }
    findings
}

fn check_list(place: &str, text: &str) -> Vec<Finding> {
    let lints: Lints = match toml::from_str(text) {
        Ok(lints) => lints,
        Err(error) => {
            return vec![Finding::at(place, format!("cannot be read: {}", error.message()))];
        }
    };
    let missing = FORBIDDEN
        .iter()
        .filter(|path| !lints.disallowed_methods.iter().any(|method| method.path == **path))
        .map(|path| Finding::at(place, format!("does not forbid `{path}`")));
    let unexplained =
        lints.disallowed_methods.iter().filter(|method| method.reason.is_empty()).map(|method| {
            Finding::at(place, format!("forbids `{}` without a reason", method.path))
        });
    missing.chain(unexplained).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::tidy::assert_found;

    /// A list that forbids all it must, but for `left_out`.
    fn list_without(left_out: &str) -> String {
        let lines: String = FORBIDDEN
            .iter()
            .filter(|path| **path != left_out)
            .map(|path| format!("    {{ path = \"{path}\", reason = \"pure\" }},\n"))
            .collect();
        format!("disallowed-methods = [\n{lines}]\n")
    }

    #[test]
    fn a_pure_crate_without_a_list_is_found() {
        let list = list_without("");
        assert_found(
            &check_crates(&Tree::of(&[("crates/tint/clippy.toml", &list)]), &["tint", "timing"]),
            &["crates/timing/clippy.toml: missing; copy the one of another pure crate"],
        );
    }

    #[test]
    fn a_list_that_forgets_the_clock_is_found() {
        let list = list_without("jiff::ZonedDateTime::now");
        assert_found(
            &check_crates(&Tree::of(&[("crates/craft/clippy.toml", &list)]), &["craft"]),
            &["crates/craft/clippy.toml: does not forbid `jiff::ZonedDateTime::now`"],
        );
    }

    #[test]
    fn lists_that_drift_apart_are_found() {
        let list = list_without("");
        let longer = format!("{list}# And more.\n");
        let tree =
            Tree::of(&[("crates/tint/clippy.toml", &list), ("crates/timing/clippy.toml", &longer)]);
        assert_found(
            &check_crates(&tree, &["tint", "timing"]),
            &["crates/timing/clippy.toml: differs from crates/tint/clippy.toml; keep them equal"],
        );
    }

    #[test]
    fn a_pure_crate_may_not_lift_the_lint_outside_its_tests() {
        let list = list_without("");
        let lifted = "#![allow(clippy::disallowed_methods)]\n";
        let tree = Tree::of(&[
            ("crates/tint/clippy.toml", &list),
            ("crates/tint/src/mix.rs", lifted),
            ("crates/tint/tests/it/main.rs", lifted),
            ("crates/store/src/lib.rs", lifted),
        ]);
        assert_found(
            &check_crates(&tree, &["tint"]),
            &["crates/tint/src/mix.rs:1: a pure crate lifts the lint that keeps it pure; \
               take what it needs as an argument"],
        );
    }
}
