//! What one kitchen keeps is not there for another.

use jiff::{Span, Timestamp};
use store::{Change, Changed, DatabaseError, EventKind, KitchenId, NewEvent, Revision};

use crate::engine::{april, design, home, on_each_engine, order, order_with};

#[test]
fn another_kitchen_sees_changes_and_removes_nothing() {
    on_each_engine(async |store| {
        let mine = home(&store);
        let gull = mine.add_design(&design("gull")).await.expect("added");
        let held = mine.add_design(&design("held")).await.expect("added");
        let id = mine.add_order(&order_with("open", &[("gull", &gull)])).await.expect("added");
        let past = mine.add_order(&order("past", 1)).await.expect("added");
        let event = NewEvent { on: april(1), what: EventKind::Asked, amount_minor: None };
        let event_id = mine.add_event(&id, &event).await.expect("added");
        let first = mine.order(&id).await.expect("read").expect("there").revision;
        mine.hand_over_order(&past, Some(april(1)), first).await.expect("handed over");
        mine.save_settings("mine", None).await.expect("saved");
        mine.save_chapter("cutting", "a", "mine").await.expect("saved");
        let before = (
            mine.settings().await.expect("read"),
            mine.design(&gull).await.expect("read"),
            mine.order(&id).await.expect("read"),
            mine.order(&past).await.expect("read"),
        );

        let theirs = store.kitchen(&KitchenId::parse("next-door").expect("an id"));
        assert_eq!(theirs.settings().await.expect("read"), None);
        assert_eq!(theirs.design(&gull).await.expect("read"), None);
        assert_eq!(theirs.design_source(&gull).await.expect("read"), None);
        assert_eq!(theirs.order(&id).await.expect("read"), None);
        assert_eq!(theirs.open_orders().await.expect("read"), []);
        assert_eq!(theirs.past_orders(None, 10).await.expect("read"), []);
        assert_eq!(theirs.chapter("cutting", "a").await.expect("read"), None);

        let refused = theirs.save_settings("theirs", Some(first)).await;
        assert!(matches!(refused, Err(DatabaseError::Stale { .. })), "{refused:?}");
        let is_missing =
            |done: Result<Revision, _>| matches!(done, Err(DatabaseError::Missing { .. }));
        let taken = order_with("theirs", &[("gull", &gull)]);
        assert!(is_missing(theirs.save_choices(&gull, "theirs", first).await));
        assert!(is_missing(theirs.save_order(&id, &taken, first).await));
        assert!(is_missing(theirs.remove_order(&id, april(1), first).await));
        assert!(is_missing(theirs.put_back_order(&id, first).await));
        assert!(is_missing(theirs.hand_over_order(&id, None, first).await));
        assert!(is_missing(theirs.keep_plan(&id, None, first).await));
        // A design of another kitchen cannot be used, nor an order be told of.
        let refused = theirs.add_order(&taken).await;
        assert!(matches!(refused, Err(DatabaseError::Missing { what: "design", .. })));
        let refused = theirs.add_event(&id, &event).await;
        assert!(matches!(refused, Err(DatabaseError::Missing { what: "order", .. })));
        assert!(!theirs.remove_event(&id, &event_id).await.expect("no error"));
        let tomorrow = Timestamp::now() + Span::new().hours(24);
        assert_eq!(theirs.sweep_designs(tomorrow).await.expect("swept"), 0);
        assert_eq!(theirs.keep_chapters("cutting", &[]).await.expect("removed"), 0);

        // What they keep under the same names is theirs.
        theirs.save_settings("theirs", None).await.expect("saved");
        theirs.save_chapter("cutting", "a", "theirs").await.expect("saved");
        theirs.add_design(&design("theirs")).await.expect("added");
        theirs.add_order(&order("theirs", 2)).await.expect("added");

        let after = (
            mine.settings().await.expect("read"),
            mine.design(&gull).await.expect("read"),
            mine.order(&id).await.expect("read"),
            mine.order(&past).await.expect("read"),
        );
        assert_eq!(after, before);
        assert!(mine.design(&held).await.expect("read").is_some());
        assert_eq!(mine.open_orders().await.expect("read").len(), 1);
        assert_eq!(mine.past_orders(None, 10).await.expect("read").len(), 1);
        let chapter = mine.chapter("cutting", "a").await.expect("read");
        assert_eq!(chapter.as_deref(), Some("mine"));
    });
}

#[test]
fn a_change_says_whose_kitchen_it_is() {
    on_each_engine(async |store| {
        let id = KitchenId::parse("next-door").expect("an id");
        let mut changes = store.watch();
        store.kitchen(&id).save_chapter("cutting", "a", "").await.expect("saved");
        let expected = Change { kitchen: id, what: Changed::Chapter };
        assert_eq!(changes.recv().await.expect("told"), expected);
    });
}
