//! What happened to orders.

use store::{Change, Changed, DatabaseError, EventId, EventKind, KitchenId, NewEvent, OrderId};

use crate::engine::{april, home, on_each_engine, order};

#[test]
fn every_kind_of_event_comes_back_in_the_order_of_days() {
    on_each_engine(async |store| {
        let kitchen = home(&store);
        let id = kitchen.add_order(&order("gulls", 10)).await.expect("added");
        let mut expected = Vec::new();
        for (day, (what, _)) in (1..=6).zip(EventKind::NAMES).rev() {
            let amount_minor = if day == 1 { None } else { Some(i64::MAX - i64::from(day)) };
            let event = NewEvent { on: april(day), what, amount_minor };
            let id = kitchen.add_event(&id, &event).await.expect("added");
            expected.insert(0, (id, event));
        }
        let stored = kitchen.order(&id).await.expect("read").expect("there");
        let found: Vec<_> = stored
            .events
            .into_iter()
            .map(|event| {
                let new =
                    NewEvent { on: event.on, what: event.what, amount_minor: event.amount_minor };
                (event.id, new)
            })
            .collect();
        assert_eq!(found, expected);
    });
}

#[test]
fn an_event_leaves_the_revision_and_is_told() {
    on_each_engine(async |store| {
        let kitchen = home(&store);
        let id = kitchen.add_order(&order("gulls", 10)).await.expect("added");
        let before = kitchen.order(&id).await.expect("read").expect("there");
        let mut changes = store.watch();
        let event = NewEvent { on: april(1), what: EventKind::Asked, amount_minor: None };
        kitchen.add_event(&id, &event).await.expect("added");
        let after = kitchen.order(&id).await.expect("read").expect("there");
        assert_eq!(before.revision, after.revision);
        let expected = Change { kitchen: KitchenId::home(), what: Changed::Order(id) };
        assert_eq!(changes.try_recv().expect("told"), expected);
    });
}

#[test]
fn an_event_is_removed_once_and_only_from_its_order() {
    on_each_engine(async |store| {
        let kitchen = home(&store);
        let id = kitchen.add_order(&order("gulls", 10)).await.expect("added");
        let other = kitchen.add_order(&order("shells", 11)).await.expect("added");
        let event = NewEvent { on: april(1), what: EventKind::Agreed, amount_minor: Some(4200) };
        let event = kitchen.add_event(&id, &event).await.expect("added");
        assert!(!kitchen.remove_event(&other, &event).await.expect("no error"));
        assert!(!kitchen.remove_event(&id, &EventId::new()).await.expect("no error"));
        assert!(kitchen.remove_event(&id, &event).await.expect("no error"));
        assert!(!kitchen.remove_event(&id, &event).await.expect("no error"));
        assert!(kitchen.order(&id).await.expect("read").expect("there").events.is_empty());
    });
}

#[test]
fn nothing_happens_to_an_order_that_is_not_there() {
    on_each_engine(async |store| {
        let event = NewEvent { on: april(1), what: EventKind::Asked, amount_minor: None };
        let refused = home(&store).add_event(&OrderId::new(), &event).await;
        assert!(
            matches!(refused, Err(DatabaseError::Missing { what: "order", .. })),
            "{refused:?}"
        );
    });
}
