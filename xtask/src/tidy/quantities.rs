//! The craft speaks in quantities: no bare `f64` passes through its public functions.
//!
//! A scan of the text, not of the syntax: it reads each signature from `pub fn` to its body.
//! A value without a dimension is excepted by `// tidy: ratio` on the line above;
//! the modules named `document` are plain numbers with units in their names.

use super::Finding;
use crate::tree::{File, Tree};

const EXCEPTION: &str = "// tidy: ratio";

pub(super) fn check(tree: &Tree) -> Vec<Finding> {
    tree.files.iter().filter(|file| is_craft(&file.path)).flat_map(check_file).collect()
}

fn is_craft(path: &str) -> bool {
    let document = |name: &str| name == "document" || name == "document.rs";
    path.starts_with("crates/craft/src/") && path.ends_with(".rs") && !path.split('/').any(document)
}

fn check_file(file: &File) -> Vec<Finding> {
    let mut findings = Vec::new();
    let mut excepted = false;
    let lines: Vec<(usize, &str)> = file.lines().collect();
    for (at, (number, line)) in lines.iter().enumerate() {
        let line = line.trim();
        if is_public_function(line) && !excepted {
            let signature = signature(lines.iter().skip(at).map(|(_, line)| *line));
            if words(&signature).any(|word| word == "f64") {
                let sentence = format!(
                    "a bare f64 in a public function; use a quantity, \
                     or write `{EXCEPTION}` above if it has no dimension"
                );
                findings.push(Finding::in_line(file, *number, sentence));
            }
        }
        excepted = line == EXCEPTION;
    }
    findings
}

fn is_public_function(line: &str) -> bool {
    line.starts_with("pub fn ") || line.starts_with("pub const fn ")
}

/// The text up to the body of the function that starts in the first line.
fn signature<'a>(lines: impl Iterator<Item = &'a str>) -> String {
    let mut signature = String::new();
    for line in lines {
        let code = line.split("//").next().unwrap_or_default();
        let end = code.find(['{', ';']);
        signature.push_str(&code[..end.unwrap_or(code.len())]);
        signature.push('\n');
        if end.is_some() {
            break;
        }
    }
    signature
}

fn words(code: &str) -> impl Iterator<Item = &str> {
    code.split(|c: char| !c.is_alphanumeric() && c != '_')
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::tidy::assert_found;

    fn check(path: &str, code: &str, expected_lines: &[usize]) {
        let findings = super::check(&Tree::of(&[(path, code)]));
        let lines: Vec<usize> = findings.iter().filter_map(|finding| finding.line).collect();
        assert_eq!(lines, expected_lines, "{code}");
    }

    #[test]
    fn a_bare_number_is_found_as_parameter_and_as_return() {
        let icing = "crates/craft/src/icing.rs";
        check(icing, "pub fn flood(depth: f64) -> Mass {", &[1]);
        check(icing, "\n    pub const fn share(&self) -> Option<f64> {", &[2]);
        check(icing, "pub fn flood(\n    area: Area, // all of it\n    depth: f64,\n) {", &[1]);
    }

    #[test]
    fn quantities_and_what_is_inside_pass() {
        let icing = "crates/craft/src/icing.rs";
        check(icing, "pub fn flood(depth: Length) -> Mass {\n    let f: f64 = 1.0;", &[]);
        check(icing, "pub(crate) fn flood(depth: f64) {", &[]);
        check(icing, "fn flood(depth: f64) {", &[]);
        check(icing, "pub fn flood(\n    depth: Length, // once an f64\n) {", &[]);
    }

    #[test]
    fn documents_and_other_crates_pass() {
        check("crates/craft/src/plan/document.rs", "pub fn mass_g(&self) -> f64 {", &[]);
        check("crates/craft/src/document/order.rs", "pub fn mass_g(&self) -> f64 {", &[]);
        check("crates/drawing/src/outline.rs", "pub fn area(points: &[f64]) -> f64 {", &[]);
    }

    #[test]
    fn a_ratio_is_excepted_for_the_next_line_only() {
        let code = "// tidy: ratio\npub fn a() -> f64 {\n}\npub fn b() -> f64 {\n}";
        check("crates/craft/src/dough.rs", code, &[4]);
    }

    #[test]
    fn the_sentence_says_what_to_do() {
        let tree = Tree::of(&[("crates/craft/src/dough.rs", "pub fn mass() -> f64 {")]);
        assert_found(
            &super::check(&tree),
            &["crates/craft/src/dough.rs:1: a bare f64 in a public function; use a quantity, \
               or write `// tidy: ratio` above if it has no dimension"],
        );
    }
}
