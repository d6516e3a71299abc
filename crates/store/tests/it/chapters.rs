//! Chapters of plans.

use store::DatabaseError;

use crate::engine::{home, on_each_engine};

#[test]
fn a_chapter_is_saved_and_saved_again() {
    on_each_engine(async |store| {
        let kitchen = home(&store);
        assert_eq!(kitchen.chapter("cutting", "a").await.expect("read"), None);
        for document in ["one", "one", "", "two 🍪"] {
            kitchen.save_chapter("cutting", "a", document).await.expect("saved");
            let found = kitchen.chapter("cutting", "a").await.expect("read");
            assert_eq!(found.as_deref(), Some(document));
        }
        assert_eq!(kitchen.chapter("cutting", "b").await.expect("read"), None);
        assert_eq!(kitchen.chapter("days", "a").await.expect("read"), None);
    });
}

#[test]
fn chapters_of_other_keys_go_and_those_of_other_names_stay() {
    on_each_engine(async |store| {
        let kitchen = home(&store);
        let keys: Vec<String> = (0..250).map(|number| number.to_string()).collect();
        for key in &keys {
            kitchen.save_chapter("cutting", key, "c").await.expect("saved");
        }
        kitchen.save_chapter("days", "1", "d").await.expect("saved");
        assert_eq!(kitchen.chapters("days").await.expect("read"), ["d"]);
        assert_eq!(kitchen.chapters("cutting").await.expect("read").len(), 250);

        let kept = ["7".to_owned(), "249".to_owned(), "never saved".to_owned()];
        assert_eq!(kitchen.keep_chapters("cutting", &kept).await.expect("removed"), 248);
        assert_eq!(kitchen.keep_chapters("cutting", &kept).await.expect("removed"), 0);
        for key in &keys {
            let found = kitchen.chapter("cutting", key).await.expect("read");
            assert_eq!(found.is_some(), kept.contains(key), "{key}");
        }
        assert_eq!(kitchen.chapter("days", "1").await.expect("read").as_deref(), Some("d"));
        assert_eq!(kitchen.keep_chapters("cutting", &[]).await.expect("removed"), 2);
    });
}

#[test]
fn odd_names_do_no_harm() {
    on_each_engine(async |store| {
        let kitchen = home(&store);
        let long = "k".repeat(10_000);
        // PostgreSQL keeps no key of more than a third of a page, about 2,700 bytes, unless it packs well.
        for odd in ["", "'; drop table chapter; --", "$1", "%_\\", "\u{202e}🍪", long.as_str()] {
            kitchen.save_chapter(odd, odd, odd).await.expect("saved");
            assert_eq!(kitchen.chapter(odd, odd).await.expect("read").as_deref(), Some(odd));
        }
        let refused = kitchen.chapter("cutting", "a\0").await;
        assert!(matches!(refused, Err(DatabaseError::Nul { .. })), "{refused:?}");
        assert_eq!(kitchen.keep_chapters("$1", &[]).await.expect("removed"), 1);
    });
}
