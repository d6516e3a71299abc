//! Orders and their lists.

use std::collections::BTreeMap;

use store::{
    DatabaseError, DesignId, EventKind, Heading, NewEvent, NewOrder, OrderId, OrderRow, Revision,
};

use crate::engine::{april, design, home, on_each_engine, order, order_with};

#[test]
fn an_order_comes_back_as_it_went_in() {
    on_each_engine(async |store| {
        let kitchen = home(&store);
        let gull = kitchen.add_design(&design("gull")).await.expect("added");
        let odd = "Ünï 🍪 'q' \"d\" \\ % _ $1\n";
        for given in [
            order("gulls", 10),
            order_with("gulls", &[("gull", &gull), (odd, &gull), ("", &gull)]),
            NewOrder {
                heading: Heading {
                    title: odd.to_owned(),
                    customer: odd.to_owned(),
                    n_cookies: i64::MAX,
                    first_handover: april(10).at(23, 59, 59, 999_999_999),
                    time_zone: odd.to_owned(),
                    invented: false,
                },
                brief: odd.repeat(10_000),
                designs: BTreeMap::new(),
            },
            NewOrder {
                heading: Heading {
                    title: String::new(),
                    customer: String::new(),
                    time_zone: String::new(),
                    ..order("", 1).heading
                },
                brief: String::new(),
                designs: BTreeMap::new(),
            },
        ] {
            let id = kitchen.add_order(&given).await.expect("added");
            let found = kitchen.order(&id).await.expect("read").expect("there");
            assert_eq!(found.id, id);
            assert_eq!(found.heading, given.heading);
            assert_eq!(found.brief, given.brief);
            assert_eq!(found.designs, given.designs);
            assert_eq!(found.events, []);
            assert_eq!(found.kept_plan, None);
            assert_eq!((found.removed_on, found.handed_over_on), (None, None));
        }
    });
}

#[test]
fn a_saved_order_has_the_new_designs_and_no_others() {
    on_each_engine(async |store| {
        let kitchen = home(&store);
        let gull = kitchen.add_design(&design("gull")).await.expect("added");
        let shell = kitchen.add_design(&design("shell")).await.expect("added");
        let first = order_with("birds", &[("a", &gull), ("b", &gull)]);
        let id = kitchen.add_order(&first).await.expect("added");
        let seen = kitchen.order(&id).await.expect("read").expect("there").revision;

        let second = order_with("beach", &[("b", &shell), ("c", &gull)]);
        let revision = kitchen.save_order(&id, &second, seen).await.expect("saved");
        let found = kitchen.order(&id).await.expect("read").expect("there");
        assert_eq!(found.heading, second.heading);
        assert_eq!(found.designs, second.designs);
        assert_eq!(found.revision, revision);

        // One design that is missing, and nothing is saved.
        let third = order_with("none", &[("a", &gull), ("z", &DesignId::new())]);
        let refused = kitchen.save_order(&id, &third, revision).await;
        let is_missing = matches!(refused, Err(DatabaseError::Missing { what: "design", .. }));
        assert!(is_missing, "{refused:?}");
        assert_eq!(kitchen.order(&id).await.expect("read"), Some(found));
        let refused = kitchen.add_order(&third).await;
        let is_missing = matches!(refused, Err(DatabaseError::Missing { what: "design", .. }));
        assert!(is_missing, "{refused:?}");
        assert_eq!(kitchen.open_orders().await.expect("read").len(), 1);
    });
}

#[test]
fn an_order_is_open_until_it_is_removed_or_handed_over() {
    on_each_engine(async |store| {
        let kitchen = home(&store);
        let id = kitchen.add_order(&order("gulls", 10)).await.expect("added");
        let lists = async || {
            let open = kitchen.open_orders().await.expect("read");
            let past = kitchen.past_orders(None, 10).await.expect("read");
            (open.len(), past)
        };
        let seen = kitchen.order(&id).await.expect("read").expect("there").revision;
        assert_eq!(lists().await, (1, Vec::new()));

        let seen = kitchen.remove_order(&id, april(3), seen).await.expect("removed");
        let (n_open, past) = lists().await;
        assert_eq!((n_open, past.len()), (0, 1));
        assert_eq!((past[0].removed_on, past[0].handed_over_on), (Some(april(3)), None));

        let seen = kitchen.put_back_order(&id, seen).await.expect("put back");
        assert_eq!(lists().await, (1, Vec::new()));

        let seen = kitchen.hand_over_order(&id, Some(april(10)), seen).await.expect("handed over");
        let (n_open, past) = lists().await;
        assert_eq!((n_open, past.len()), (0, 1));
        assert_eq!((past[0].removed_on, past[0].handed_over_on), (None, Some(april(10))));

        let seen = kitchen.hand_over_order(&id, None, seen).await.expect("taken back");
        let found = kitchen.order(&id).await.expect("read").expect("there");
        assert_eq!((found.removed_on, found.handed_over_on), (None, None));
        assert_eq!(found.revision, seen);
        assert_eq!(lists().await, (1, Vec::new()));
    });
}

#[test]
fn the_plan_that_was_agreed_on_is_kept_and_taken_away() {
    on_each_engine(async |store| {
        let kitchen = home(&store);
        let id = kitchen.add_order(&order("gulls", 10)).await.expect("added");
        let mut seen = kitchen.order(&id).await.expect("read").expect("there").revision;
        for plan in [Some("{\"title\":\"Möwen\"}"), Some(""), None] {
            seen = kitchen.keep_plan(&id, plan, seen).await.expect("kept");
            let found = kitchen.order(&id).await.expect("read").expect("there");
            assert_eq!((found.kept_plan.as_deref(), found.revision), (plan, seen));
        }
    });
}

#[test]
fn an_order_that_is_not_there_is_said_to_be_missing() {
    on_each_engine(async |store| {
        let kitchen = home(&store);
        let nobody = OrderId::new();
        let seen = Revision::from_i64(1);
        assert_eq!(kitchen.order(&nobody).await.expect("read"), None);
        for refused in [
            kitchen.save_order(&nobody, &order("gulls", 10), seen).await,
            kitchen.remove_order(&nobody, april(1), seen).await,
            kitchen.put_back_order(&nobody, seen).await,
            kitchen.hand_over_order(&nobody, Some(april(1)), seen).await,
            kitchen.keep_plan(&nobody, Some("{}"), seen).await,
        ] {
            let is_missing = matches!(refused, Err(DatabaseError::Missing { what: "order", .. }));
            assert!(is_missing, "{refused:?}");
        }
    });
}

#[test]
fn open_orders_are_listed_by_their_hand_over_with_their_events() {
    on_each_engine(async |store| {
        let kitchen = home(&store);
        let mut expected = Vec::new();
        for day in [20, 5, 12, 5, 1] {
            let title = format!("day {day}");
            let id = kitchen.add_order(&order(&title, day)).await.expect("added");
            let event = NewEvent { on: april(1), what: EventKind::Asked, amount_minor: None };
            let event = kitchen.add_event(&id, &event).await.expect("added");
            expected.push((day, id, title, event));
        }
        // Orders of one day stand in the order they came in, for ids grow.
        expected.sort();
        let found = kitchen.open_orders().await.expect("read");
        assert_eq!(found.len(), expected.len());
        for (row, (_, id, title, event)) in found.into_iter().zip(expected) {
            assert_eq!((row.id, row.heading.title), (id, title));
            let events: Vec<_> = row.events.into_iter().map(|event| event.id).collect();
            assert_eq!(events, [event]);
        }
    });
}

#[test]
fn pages_of_past_orders_hold_each_order_once_latest_first() {
    on_each_engine(async |store| {
        let kitchen = home(&store);
        let mut expected = Vec::new();
        for number in 0..23_i8 {
            // Three on each day, so that pages end in the middle of a day.
            let day = 1 + number / 3;
            let id = kitchen.add_order(&order("past", day)).await.expect("added");
            let seen = kitchen.order(&id).await.expect("read").expect("there").revision;
            let done = if number % 2 == 0 {
                kitchen.remove_order(&id, april(day), seen).await
            } else {
                kitchen.hand_over_order(&id, Some(april(day)), seen).await
            };
            done.expect("past");
            let event = NewEvent {
                on: april(day),
                what: EventKind::BalancePaid,
                amount_minor: Some(number.into()),
            };
            kitchen.add_event(&id, &event).await.expect("added");
            expected.push((april(day), id, i64::from(number)));
        }
        kitchen.add_order(&order("open", 2)).await.expect("added");
        expected.sort();
        expected.reverse();

        let all = kitchen.past_orders(None, 100).await.expect("read");
        let mut pages: Vec<OrderRow> = Vec::new();
        loop {
            let before = pages.last().map(|row| (row.heading.first_handover, row.id.clone()));
            let page = kitchen.past_orders(before, 5).await.expect("read");
            assert!(page.len() <= 5);
            if page.is_empty() {
                break;
            }
            pages.extend(page);
        }
        assert_eq!(pages, all);
        let found: Vec<_> = pages
            .into_iter()
            .map(|row| {
                let amounts: Vec<_> = row.events.iter().map(|event| event.amount_minor).collect();
                assert_eq!(amounts.len(), 1);
                (row.heading.first_handover.date(), row.id, amounts[0].expect("an amount"))
            })
            .collect();
        assert_eq!(found, expected);
        assert_eq!(kitchen.past_orders(None, 0).await.expect("read"), []);
    });
}
