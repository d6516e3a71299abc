//! A file that takes too long to read is a room with too much in it.

use super::Finding;
use crate::tree::Tree;

/// Lines at which to ask whether a file still has one subject.
const LONG: usize = 500;
/// Lines no file may exceed.
const TOO_LONG: usize = 700;

/// Files over the limit.
pub(super) fn check(tree: &Tree) -> Vec<Finding> {
    source_files(tree)
        .filter(|(_, n_lines)| *n_lines > TOO_LONG)
        .map(|(path, n_lines)| {
            Finding::at(path, format!("{n_lines} lines, over {TOO_LONG}; split it by subject"))
        })
        .collect()
}

/// Files on their way to the limit.
pub(super) fn growing(tree: &Tree) -> Vec<Finding> {
    source_files(tree)
        .filter(|(_, n_lines)| *n_lines > LONG && *n_lines <= TOO_LONG)
        .map(|(path, n_lines)| Finding::at(path, format!("{n_lines} lines; one subject still?")))
        .collect()
}

fn source_files(tree: &Tree) -> impl Iterator<Item = (&str, usize)> {
    tree.files
        .iter()
        .filter(|file| matches!(file.extension(), "css" | "js" | "rs"))
        .map(|file| (file.path.as_str(), file.lines().count()))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::tidy::assert_found;

    #[test]
    fn a_file_over_the_limit_is_found_and_one_near_it_named() {
        let long = "//\n".repeat(501);
        let at_limit = "//\n".repeat(700);
        let too_long = "//\n".repeat(701);
        let tree = Tree::of(&[
            ("a.rs", &too_long),
            ("b.css", &too_long),
            ("c.js", &at_limit),
            ("d.rs", &long),
            ("e.csv", &too_long),
        ]);
        assert_found(
            &check(&tree),
            &[
                "a.rs: 701 lines, over 700; split it by subject",
                "b.css: 701 lines, over 700; split it by subject",
            ],
        );
        assert_found(
            &growing(&tree),
            &["c.js: 700 lines; one subject still?", "d.rs: 501 lines; one subject still?"],
        );
    }
}
