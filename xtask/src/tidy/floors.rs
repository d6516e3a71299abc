//! A crate uses only our crates of lower floors, and of others only those its manifest allows.

use super::Finding;
use crate::metadata::{Metadata, Package};

/// The one crate that may use an outside crate: SQL, HTML and paper markup each have one home.
const HOMES: [(&str, &str); 6] = [
    ("axum", "sugarwright"),
    ("maud", "sugarwright"),
    ("rusqlite", "store"),
    ("sqlx", "store"),
    ("typst", "papers"),
    ("typst-pdf", "papers"),
];

pub(super) fn check(metadata: &Metadata) -> Vec<Finding> {
    metadata.ours().flat_map(|package| check_package(package, metadata)).collect()
}

fn check_package(package: &Package, metadata: &Metadata) -> Vec<Finding> {
    let manifest = place(package);
    let mut findings = Vec::new();
    let mut find = |sentence: String| findings.push(Finding::at(&manifest, sentence));

    for name in package.built_from() {
        if let Some((_, home)) = HOMES.iter().find(|(guest, _)| *guest == name)
            && *home != package.name
        {
            find(format!("`{name}` belongs in `{home}` alone; move the code that needs it"));
        }
    }

    let Some(floor) = package.floor() else {
        if package.name != "xtask" {
            find("no floor; add [package.metadata.floor] with number, ours and others".to_owned());
        }
        return findings;
    };

    for name in &floor.ours {
        match metadata.our(name).map(Package::floor) {
            None => find(format!("floor.ours names `{name}`, which is no crate of ours")),
            Some(None) => find(format!("floor.ours names `{name}`, which stands on no floor")),
            Some(Some(other)) if other.number >= floor.number => find(format!(
                "`{name}` stands on floor {}, not below floor {}",
                other.number, floor.number
            )),
            Some(Some(_)) => {}
        }
    }
    for name in package.built_from() {
        let (list, allowed) = match metadata.our(name) {
            Some(_) => ("ours", &floor.ours),
            None => ("others", &floor.others),
        };
        if !allowed.iter().any(|allowed| allowed == name) {
            find(format!("depends on `{name}`, which floor.{list} does not allow"));
        }
    }
    findings
}

/// Where the manifest of one of our crates lies.
fn place(package: &Package) -> String {
    match package.floor() {
        None if package.name == "xtask" => "xtask/Cargo.toml".to_owned(),
        _ => format!("crates/{}/Cargo.toml", package.name),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::tidy::assert_found;

    /// A workspace of packages `(name, floor, dependencies)`.
    fn workspace(packages: &[(&str, &str, &[&str])]) -> Metadata {
        let package = |(name, floor, dependencies): &(&str, &str, &[&str])| {
            let dependencies: Vec<_> =
                dependencies.iter().map(|name| format!(r#"{{"name": "{name}"}}"#)).collect();
            format!(
                r#"{{"id": "{name}", "name": "{name}", "version": "0.1.0", "license": "MIT",
                    "dependencies": [{}], "metadata": {floor}}}"#,
                dependencies.join(", ")
            )
        };
        let ids: Vec<_> = packages.iter().map(|(name, ..)| format!("{name:?}")).collect();
        let packages: Vec<_> = packages.iter().map(package).collect();
        serde_json::from_str(&format!(
            r#"{{"packages": [{}], "workspace_members": [{}], "target_directory": "target"}}"#,
            packages.join(", "),
            ids.join(", ")
        ))
        .expect("the samples below are right")
    }

    const GROUND: &str = r#"{"floor": {"number": 0, "ours": [], "others": ["thiserror"]}}"#;
    const ENGINE: &str = r#"{"floor": {"number": 1, "ours": ["quantity"], "others": []}}"#;

    #[test]
    fn lower_floors_and_allowed_crates_are_in_order() {
        let metadata =
            workspace(&[("quantity", GROUND, &["thiserror"]), ("tint", ENGINE, &["quantity"])]);
        assert_found(&check(&metadata), &[]);
    }

    #[test]
    fn a_crate_of_others_needs_leave() {
        assert_found(
            &check(&workspace(&[("quantity", GROUND, &["serde"])])),
            &["crates/quantity/Cargo.toml: depends on `serde`, which floor.others does not allow"],
        );
    }

    #[test]
    fn a_neighbor_on_the_same_floor_is_out_of_reach() {
        let peer = r#"{"floor": {"number": 1, "ours": ["tint"], "others": []}}"#;
        let metadata = workspace(&[
            ("quantity", GROUND, &[]),
            ("tint", ENGINE, &["timing"]),
            ("timing", peer, &["tint"]),
        ]);
        assert_found(
            &check(&metadata),
            &[
                "crates/tint/Cargo.toml: depends on `timing`, which floor.ours does not allow",
                "crates/timing/Cargo.toml: `tint` stands on floor 1, not below floor 1",
            ],
        );
    }

    #[test]
    fn a_crate_without_a_floor_is_found_but_for_this_one() {
        assert_found(
            &check(&workspace(&[("tint", "null", &[]), ("xtask", "null", &["serde"])])),
            &["crates/tint/Cargo.toml: no floor; \
               add [package.metadata.floor] with number, ours and others"],
        );
    }

    #[test]
    fn sql_html_and_paper_markup_have_one_home_each() {
        let program = r#"{"floor": {"number": 4, "ours": [], "others": ["sqlx", "maud"]}}"#;
        assert_found(
            &check(&workspace(&[("sugarwright", program, &["sqlx", "maud"])])),
            &["crates/sugarwright/Cargo.toml: `sqlx` belongs in `store` alone; \
               move the code that needs it"],
        );
    }
}
