//! Every crate we build on has a license under which we may ship it.

use super::Finding;
use crate::metadata::Metadata;

/// SPDX names of licenses that let a program under MIT or Apache-2.0 ship the work.
const ALLOWED: [&str; 15] = [
    "0BSD",
    "Apache-2.0",
    "BSD-2-Clause",
    "BSD-3-Clause",
    "BSL-1.0",
    "CC0-1.0",
    "ISC",
    "MIT",
    "MIT-0",
    "MPL-2.0",
    "OFL-1.1",
    "Unicode-3.0",
    "Unlicense",
    "WTFPL",
    "Zlib",
];

/// Exceptions that take nothing away.
const ALLOWED_EXCEPTIONS: [&str; 1] = ["LLVM-exception"];

pub(super) fn check(metadata: &Metadata) -> Vec<Finding> {
    let mut findings = Vec::new();
    for package in metadata.others() {
        let sentence = match package.license.as_deref() {
            None => "states no license; read its license file, then use another crate".to_owned(),
            Some(license) if !is_allowed(license) => {
                format!("its license `{license}` is not in the allow list of tidy")
            }
            Some(_) => continue,
        };
        findings.push(Finding::at(format!("{} {}", package.name, package.version), sentence));
    }
    findings
}

/// Whether an SPDX expression can be met with allowed licenses.
///
/// `AND` binds tighter than `OR`; the older `/` means `OR`.
fn is_allowed(expression: &str) -> bool {
    /// One level of parentheses: whether an earlier alternative holds, and whether this one does.
    #[derive(Clone, Copy)]
    struct Level {
        earlier: bool,
        current: bool,
    }
    const OPEN: Level = Level { earlier: false, current: true };

    let spaced = expression.replace('(', " ( ").replace(')', " ) ").replace('/', " OR ");
    let mut outer = Vec::new();
    let mut level = OPEN;
    let mut after_with = false;
    for token in spaced.split_whitespace() {
        match token {
            "(" => outer.push(std::mem::replace(&mut level, OPEN)),
            ")" => {
                let inner = level.earlier || level.current;
                let Some(around) = outer.pop() else { return false };
                level = Level { current: around.current && inner, ..around };
            }
            "OR" => level = Level { earlier: level.earlier || level.current, current: true },
            "AND" => {}
            "WITH" => after_with = true,
            exception if after_with => {
                level.current &= ALLOWED_EXCEPTIONS.contains(&exception);
                after_with = false;
            }
            license => level.current &= ALLOWED.contains(&license),
        }
    }
    outer.is_empty() && !spaced.trim().is_empty() && (level.earlier || level.current)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::tidy::assert_found;

    #[test]
    fn an_expression_is_allowed_if_one_way_to_meet_it_is() {
        for (expression, expected) in [
            ("MIT", true),
            ("GPL-3.0-only", false),
            ("MIT OR GPL-3.0-only", true),
            ("MIT AND GPL-3.0-only", false),
            ("MIT/Apache-2.0", true),
            ("(MIT OR GPL-3.0-only) AND Unicode-3.0", true),
            ("(MIT AND GPL-3.0-only) OR (AGPL-3.0-only)", false),
            ("GPL-3.0-only AND MIT OR ISC", true),
            ("Apache-2.0 WITH LLVM-exception", true),
            ("Apache-2.0 WITH Commons-Clause", false),
            ("(MIT", false),
            ("MIT)", false),
            ("", false),
        ] {
            assert_eq!(is_allowed(expression), expected, "{expression}");
        }
    }

    #[test]
    fn a_crate_we_may_not_ship_is_found_and_our_own_are_not_asked() {
        let metadata: Metadata = serde_json::from_str(
            r#"{"packages": [
                {"id": "ours", "name": "ours", "version": "0.1.0", "dependencies": []},
                {"id": "a", "name": "a", "version": "1.0.0", "dependencies": []},
                {"id": "b", "name": "b", "version": "2.0.0", "license": "SSPL-1.0", "dependencies": []},
                {"id": "c", "name": "c", "version": "3.0.0", "license": "MIT", "dependencies": []}
            ], "workspace_members": ["ours"], "target_directory": "target"}"#,
        )
        .expect("the sample is right");
        assert_found(
            &check(&metadata),
            &[
                "a 1.0.0: states no license; read its license file, then use another crate",
                "b 2.0.0: its license `SSPL-1.0` is not in the allow list of tidy",
            ],
        );
    }
}
