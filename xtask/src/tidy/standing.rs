//! The project stands alone: it names nothing outside itself by path.
//!
//! A path that is none is excepted by `tidy: allow-path` in its line.

use std::collections::BTreeSet;

use super::Finding;
use crate::tree::Tree;

/// Folders at the root of somebody's machine.
const MACHINE_FOLDERS: [&str; 4] = ["Users", "home", "root", "work"];

const EXCEPTION: &str = "tidy: allow-path";

pub(super) fn check(tree: &Tree) -> Vec<Finding> {
    let ours: BTreeSet<&str> = tree.files.iter().flat_map(|file| file.path.split('/')).collect();
    let mut findings = Vec::new();
    for file in &tree.files {
        for (number, line) in file.lines().filter(|(_, line)| !line.contains(EXCEPTION)) {
            for folder in MACHINE_FOLDERS {
                if names_root_folder(line, folder) {
                    let sentence = format!("a path under `/{folder}` of some machine; use none");
                    findings.push(Finding::in_line(file, number, sentence));
                }
            }
            for name in climbed_to(line).filter(|name| !ours.contains(name)) {
                let sentence =
                    format!("climbs to `{name}`, which is no part of the project; bring it in");
                findings.push(Finding::in_line(file, number, sentence));
            }
        }
    }
    findings
}

/// Whether the line holds `/folder/` where a path begins.
fn names_root_folder(line: &str, folder: &str) -> bool {
    line.match_indices(&format!("/{folder}/")).any(|(at, _)| {
        let before = line.get(..at).unwrap_or_default().chars().next_back();
        !before.is_some_and(|c| c.is_alphanumeric() || "./-_~})$".contains(c))
    })
}

/// What each path that climbs leads to: the first name behind its `../`.
fn climbed_to(line: &str) -> impl Iterator<Item = &str> {
    line.split("../").skip(1).filter_map(|rest| {
        let end = rest.find(|c: char| !c.is_alphanumeric() && !"_-.".contains(c));
        let name = &rest[..end.unwrap_or(rest.len())];
        (!name.trim_matches('.').is_empty()).then_some(name)
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::tidy::assert_found;

    fn check(line: &str, expected: &[&str]) {
        let tree = Tree::of(&[("docs/a.md", line), ("fixtures/b.csv", "")]);
        assert_found(&super::check(&tree), expected);
    }

    // The broken samples are put together so that this file is none.
    #[test]
    fn a_path_of_a_machine_is_found() {
        check(
            concat!("see `/ho", "me/baker/notes.md`"),
            &["docs/a.md:1: a path under `/home` of some machine; use none"],
        );
        check(
            concat!("/ro", "ot/notes.md"),
            &["docs/a.md:1: a path under `/root` of some machine; use none"],
        );
    }

    #[test]
    fn addresses_and_folders_of_that_name_further_down_pass() {
        check("https://example.org/home/page and crates/root/src and $HOME/home/x", &[]);
    }

    #[test]
    fn a_path_that_climbs_out_of_the_project_is_found() {
        check(
            concat!("include_str!(\"../..", "/shared/table.csv\")"),
            &["docs/a.md:1: climbs to `shared`, which is no part of the project; bring it in"],
        );
    }

    #[test]
    fn a_path_that_climbs_within_the_project_passes() {
        check("include_str!(\"../fixtures/b.csv\"), `..` and `../..`, format!(\"../{name}\")", &[]);
    }

    #[test]
    fn a_path_that_is_meant_as_an_attack_is_excepted() {
        check(concat!("check(\"..", "/secret.svg\"); // tidy: allow-path"), &[]);
    }
}
