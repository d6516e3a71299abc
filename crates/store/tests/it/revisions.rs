//! Two devices that change the same, and many that write at once.

use std::{collections::BTreeSet, pin::Pin};

use store::{DatabaseError, EventKind, KitchenStore, NewEvent, OrderId, Revision};
use tokio::task::JoinSet;

use crate::engine::{april, home, on_each_engine, order};

const N_WRITERS: usize = 40;

#[test]
fn of_two_writers_that_saw_the_same_one_is_stale() {
    on_each_engine(async |store| {
        let kitchen = home(&store);
        let id = kitchen.add_order(&order("gulls", 10)).await.expect("added");
        let seen = kitchen.order(&id).await.expect("read").expect("there").revision;
        let (mine, theirs) = (order("mine", 10), order("theirs", 10));
        let (first, second) = tokio::join!(
            kitchen.save_order(&id, &mine, seen),
            kitchen.save_order(&id, &theirs, seen),
        );
        let (revision, kept, refused) = match (first, second) {
            (Ok(revision), Err(refused)) => (revision, mine, refused),
            (Err(refused), Ok(revision)) => (revision, theirs, refused),
            both => panic!("one is stale: {both:?}"),
        };
        assert!(matches!(refused, DatabaseError::Stale { what: "order" }), "{refused:?}");
        let found = kitchen.order(&id).await.expect("read").expect("there");
        assert_eq!((found.heading, found.revision), (kept.heading, revision));
    });
}

#[test]
fn every_change_of_an_order_compares_the_revision() {
    on_each_engine(async |store| {
        let kitchen = home(&store);
        let id = kitchen.add_order(&order("gulls", 10)).await.expect("added");
        let seen = kitchen.order(&id).await.expect("read").expect("there").revision;
        kitchen.keep_plan(&id, Some("{}"), seen).await.expect("kept");
        let before = kitchen.order(&id).await.expect("read");
        for refused in [
            kitchen.save_order(&id, &order("shells", 10), seen).await,
            kitchen.remove_order(&id, april(1), seen).await,
            kitchen.put_back_order(&id, seen).await,
            kitchen.hand_over_order(&id, Some(april(1)), seen).await,
            kitchen.keep_plan(&id, None, seen).await,
        ] {
            let is_stale = matches!(refused, Err(DatabaseError::Stale { what: "order" }));
            assert!(is_stale, "{refused:?}");
        }
        assert_eq!(kitchen.order(&id).await.expect("read"), before);
    });
}

/// Adds one to the count of cookies, again and again until nobody was faster.
async fn count_one_more(kitchen: KitchenStore, id: OrderId) -> Revision {
    loop {
        let seen = kitchen.order(&id).await.expect("read").expect("there");
        let mut counted = order("gulls", 10);
        counted.heading.n_cookies = seen.heading.n_cookies + 1;
        match kitchen.save_order(&id, &counted, seen.revision).await {
            Ok(revision) => return revision,
            Err(DatabaseError::Stale { .. }) => {}
            Err(error) => panic!("{error}"),
        }
    }
}

async fn all_at_once<T: Send + 'static>(
    work: impl Fn() -> Pin<Box<dyn Future<Output = T> + Send>>,
) -> Vec<T> {
    let mut writers = JoinSet::new();
    for _ in 0..N_WRITERS {
        writers.spawn(work());
    }
    writers.join_all().await
}

#[test]
fn of_forty_changes_at_once_none_is_lost() {
    on_each_engine(async |store| {
        let kitchen = home(&store);
        let mut counted = order("gulls", 10);
        counted.heading.n_cookies = 0;
        let id = kitchen.add_order(&counted).await.expect("added");
        let revisions: BTreeSet<Revision> =
            all_at_once(|| Box::pin(count_one_more(kitchen.clone(), id.clone())))
                .await
                .into_iter()
                .collect();
        assert_eq!(revisions.len(), N_WRITERS);
        let found = kitchen.order(&id).await.expect("read").expect("there");
        assert_eq!(found.heading.n_cookies, N_WRITERS as i64);
    });
}

#[test]
fn of_forty_orders_and_events_at_once_none_is_lost() {
    on_each_engine(async |store| {
        let kitchen = home(&store);
        let written: BTreeSet<_> = all_at_once(|| {
            let kitchen = kitchen.clone();
            Box::pin(async move {
                let id = kitchen.add_order(&order("gulls", 10)).await.expect("added");
                let event = NewEvent { on: april(1), what: EventKind::Asked, amount_minor: None };
                let event = kitchen.add_event(&id, &event).await.expect("added");
                (id, event)
            })
        })
        .await
        .into_iter()
        .collect();
        assert_eq!(written.len(), N_WRITERS);
        let found: BTreeSet<_> = kitchen
            .open_orders()
            .await
            .expect("read")
            .into_iter()
            .flat_map(|row| row.events.into_iter().map(move |event| (row.id.clone(), event.id)))
            .collect();
        assert_eq!(found, written);
    });
}
