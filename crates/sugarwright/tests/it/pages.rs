//! The program as it serves its pages: what a start needs, and what a second one says.

use store::Store;

use crate::program::{run, scratch};

#[tokio::test]
async fn a_second_start_on_the_same_data_says_so() {
    let folder = scratch();
    let store = Store::open_folder(&folder.path().join("data")).await.expect("it opens");
    let answer = run(folder.path(), &["--data", "data", "--port", "0", "--no-browser"]);
    assert_eq!(answer.code, 4, "{}", answer.aside);
    assert!(answer.aside.contains("another sugarwright is running on"), "{}", answer.aside);
    store.close().await;
}

#[test]
fn a_data_folder_that_is_a_file_is_refused_in_words() {
    let folder = scratch();
    std::fs::write(folder.path().join("data"), "no folder").expect("written");
    let answer = run(folder.path(), &["--data", "data", "--port", "0", "--no-browser"]);
    assert_eq!(answer.code, 4, "{}", answer.aside);
    assert!(answer.aside.contains("data"), "{}", answer.aside);
    assert!(!answer.aside.contains("panicked"), "{}", answer.aside);
}
