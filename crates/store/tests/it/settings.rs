//! The settings of a kitchen.

use store::{Change, Changed, DatabaseError, KitchenId};

use crate::engine::{home, on_each_engine};

#[test]
fn settings_are_there_once_saved() {
    on_each_engine(async |store| {
        let kitchen = home(&store);
        assert_eq!(kitchen.settings().await.expect("read"), None);
        for text in ["format = 1\n", "", "Zuckerguß 🍪 'quoted' \"\\\n\r\t", &"a".repeat(1 << 20)]
        {
            let seen = kitchen.settings().await.expect("read").map(|settings| settings.revision);
            let revision = kitchen.save_settings(text, seen).await.expect("saved");
            let settings = kitchen.settings().await.expect("read").expect("there");
            assert_eq!(settings.text, text);
            assert_eq!(settings.revision, revision);
            assert!(seen < Some(revision));
        }
    });
}

#[test]
fn settings_that_exist_are_not_created_again() {
    on_each_engine(async |store| {
        let kitchen = home(&store);
        kitchen.save_settings("mine", None).await.expect("saved");
        let refused = kitchen.save_settings("theirs", None).await;
        assert!(matches!(refused, Err(DatabaseError::Stale { what: "settings" })), "{refused:?}");
        assert_eq!(kitchen.settings().await.expect("read").expect("there").text, "mine");
    });
}

#[test]
fn watchers_hear_of_what_is_saved_and_of_nothing_else() {
    on_each_engine(async |store| {
        let kitchen = home(&store);
        let mut changes = store.watch();
        kitchen.save_settings("mine", None).await.expect("saved");
        kitchen.save_settings("theirs", None).await.expect_err("refused");
        let expected = Change { kitchen: KitchenId::home(), what: Changed::Settings };
        assert_eq!(changes.try_recv().expect("told"), expected);
        assert!(changes.try_recv().is_err());
    });
}

#[test]
fn a_text_with_nul_is_refused_on_both_engines() {
    on_each_engine(async |store| {
        let refused = home(&store).save_settings("a\0b", None).await;
        assert!(matches!(refused, Err(DatabaseError::Nul { what: "settings" })), "{refused:?}");
    });
}
