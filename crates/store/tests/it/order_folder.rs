//! Folders on a real disk.

use std::fs;

use store::{Error, File, Replace, read_order_folder, write_folder};

fn scratch() -> tempfile::TempDir {
    tempfile::tempdir().expect("a temporary folder")
}

#[test]
fn an_order_folder_is_read_with_its_designs_and_choices() {
    let folder = scratch();
    let files = [
        File::new("order.toml", "title = \"a\""),
        File::new("designs/gull.svg", "<svg/>"),
        File::new("designs/gull.toml", "format = 1"),
        File::new("designs/owl.JPG", [0xff, 0xd8, 0xff, 0xe0]),
        File::new("designs/notes.txt", "mine"),
    ];
    let target = folder.path().join("order");
    write_folder(&target, &files, Replace::Never).expect("written");
    let read = read_order_folder(&target).expect("read");
    assert_eq!(read.order, "title = \"a\"");
    assert_eq!(read.kitchen, None);
    assert_eq!(read.drawings.keys().collect::<Vec<_>>(), ["gull", "owl"]);
    assert_eq!(read.choices.keys().collect::<Vec<_>>(), ["gull"]);
    fs::write(target.join("designs/gull.png"), "").expect("written");
    let refused = read_order_folder(&target).expect_err("which of them is meant?").to_string();
    assert!(refused.ends_with("two drawings named gull; keep one of them"), "{refused}");
}

#[test]
fn the_sum_of_a_folder_changes_with_any_byte_and_name() {
    let folder = store::OrderFolder { order: "a".into(), ..store::OrderFolder::default() };
    let mut other = folder.clone();
    other.drawings.insert("gull".into(), b"<svg/>".to_vec());
    let mut renamed = folder.clone();
    renamed.drawings.insert("gul".into(), b"l<svg/>".to_vec());
    assert_ne!(folder.sha256(), other.sha256());
    assert_ne!(other.sha256(), renamed.sha256());
    assert_eq!(other.sha256(), other.clone().sha256());
}

#[test]
fn a_plan_folder_is_replaced_but_never_one_with_other_files() {
    let folder = scratch();
    let target = folder.path().join("plans").join("one");
    let plan = |text: &str| [File::new("plan.json", text), File::new("pictures/set.svg", "")];
    let read = || fs::read_to_string(target.join("plan.json")).expect("there");
    write_folder(&target, &plan("1"), Replace::Never).expect("written");
    write_folder(&target, &plan("2"), Replace::OwnFiles).expect("replaced");
    assert_eq!(read(), "2");

    let refused = write_folder(&target, &plan("3"), Replace::Never);
    assert!(matches!(refused, Err(Error::Occupied { .. })));
    fs::write(target.join("pictures/mine.svg"), "").expect("written");
    let refused = write_folder(&target, &plan("3"), Replace::OwnFiles);
    assert!(
        matches!(refused, Err(Error::Occupied { foreign, .. }) if foreign == "pictures/mine.svg")
    );
    assert_eq!(read(), "2");
    // Nothing temporary stays behind.
    assert_eq!(fs::read_dir(folder.path().join("plans")).expect("readable").count(), 1);
}

#[test]
fn what_is_no_order_folder_is_named() {
    let folder = scratch();
    assert!(matches!(read_order_folder(&folder.path().join("none")), Err(Error::NoFolder { .. })));
    assert!(matches!(read_order_folder(folder.path()), Err(Error::NoOrder { .. })));
    fs::write(folder.path().join("order.toml"), [0xff, 0xfe]).expect("written");
    assert!(matches!(read_order_folder(folder.path()), Err(Error::NotText { .. })));
    let file = folder.path().join("order.toml");
    assert!(matches!(write_folder(&file, &[], Replace::OwnFiles), Err(Error::NotAFolder { .. })));
}
