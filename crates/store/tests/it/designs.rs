//! Designs.

use jiff::{Span, Timestamp};
use store::{DatabaseError, DesignId, NewDesign, Revision};

use crate::engine::{design, home, on_each_engine, order_with};

#[test]
fn a_design_comes_back_as_it_went_in() {
    on_each_engine(async |store| {
        let kitchen = home(&store);
        let all_bytes: Vec<u8> = (0..=255).collect();
        for given in [
            design("gull"),
            NewDesign { name: "Möwe 🐦".into(), source: all_bytes.clone(), ..design("") },
            NewDesign {
                name: String::new(),
                source: Vec::new(),
                artwork: String::new(),
                choices: String::new(),
            },
        ] {
            let id = kitchen.add_design(&given).await.expect("added");
            let found = kitchen.design(&id).await.expect("read").expect("there");
            assert_eq!(found.id, id);
            assert_eq!(found.name, given.name);
            assert_eq!(found.artwork, given.artwork);
            assert_eq!(found.choices, given.choices);
            let source = kitchen.design_source(&id).await.expect("read");
            assert_eq!(source, Some(given.source));
        }
    });
}

#[test]
fn choices_are_saved_over_those_that_were_seen() {
    on_each_engine(async |store| {
        let kitchen = home(&store);
        let id = kitchen.add_design(&design("gull")).await.expect("added");
        let first = kitchen.design(&id).await.expect("read").expect("there").revision;
        let second = kitchen.save_choices(&id, "mine", first).await.expect("saved");
        let refused = kitchen.save_choices(&id, "theirs", first).await;
        assert!(matches!(refused, Err(DatabaseError::Stale { what: "design" })), "{refused:?}");
        let found = kitchen.design(&id).await.expect("read").expect("there");
        assert_eq!((found.choices.as_str(), found.revision), ("mine", second));
    });
}

#[test]
fn a_design_that_is_not_there_is_said_to_be_missing() {
    on_each_engine(async |store| {
        let kitchen = home(&store);
        let nobody = DesignId::new();
        assert_eq!(kitchen.design(&nobody).await.expect("read"), None);
        assert_eq!(kitchen.design_source(&nobody).await.expect("read"), None);
        for revision in [0, 1, i64::MIN, i64::MAX] {
            let refused = kitchen.save_choices(&nobody, "", Revision::from_i64(revision)).await;
            let is_missing = matches!(&refused, Err(DatabaseError::Missing { what: "design", id }) if *id == nobody.to_string());
            assert!(is_missing, "{refused:?}");
        }
    });
}

#[test]
fn only_old_designs_that_no_order_uses_are_swept() {
    on_each_engine(async |store| {
        let kitchen = home(&store);
        let used = kitchen.add_design(&design("used")).await.expect("added");
        let held = kitchen.add_design(&design("held")).await.expect("added");
        kitchen.add_order(&order_with("gulls", &[("gull", &used)])).await.expect("added");

        let now = Timestamp::now();
        let hours = |n: i64| now + Span::new().hours(n);
        assert_eq!(kitchen.sweep_designs(hours(-1)).await.expect("swept"), 0);
        assert!(kitchen.design(&held).await.expect("read").is_some());
        assert_eq!(kitchen.sweep_designs(hours(1)).await.expect("swept"), 1);
        assert_eq!(kitchen.design(&held).await.expect("read"), None);
        assert!(kitchen.design(&used).await.expect("read").is_some());
    });
}
