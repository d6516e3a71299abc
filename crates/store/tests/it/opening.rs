//! Opening a database: the first time, again, twice at once, and when something is wrong with it.

use std::fs;

use jiff::civil::date;
use store::{DatabaseError, DesignId, EventKind, KitchenId, OrderId, Store};

use crate::engine::{Place, april, block_on, design, home, on_each_place, order_with};

#[test]
fn what_was_kept_is_there_after_opening_again() {
    on_each_place(async |place| {
        let store = place.open().await.expect("opened");
        let kitchen = home(&store);
        kitchen.save_settings("mine", None).await.expect("saved");
        let gull = kitchen.add_design(&design("gull")).await.expect("added");
        let id = kitchen.add_order(&order_with("gulls", &[("g", &gull)])).await.expect("added");
        let seen = kitchen.order(&id).await.expect("read").expect("there").revision;
        kitchen.hand_over_order(&id, Some(april(10)), seen).await.expect("handed over");
        let settings = kitchen.settings().await.expect("read");
        let gulls = kitchen.order(&id).await.expect("read");
        let drawing = kitchen.design(&gull).await.expect("read");
        store.close().await;
        drop((store, kitchen));

        let store = place.open().await.expect("opened again");
        let kitchen = home(&store);
        assert_eq!(kitchen.settings().await.expect("read"), settings);
        assert_eq!(kitchen.order(&id).await.expect("read"), gulls);
        assert_eq!(kitchen.design(&gull).await.expect("read"), drawing);
    });
}

#[test]
fn the_first_tables_take_their_sample_rows() {
    on_each_place(async |place| {
        let store = place.open().await.expect("opened");
        place.run(include_str!("../data/0001_first.sql")).await;
        let kitchen = store.kitchen(&KitchenId::home());
        assert_eq!(kitchen.settings().await.expect("read").expect("there").text, "format = 1");

        let open = kitchen.open_orders().await.expect("read");
        assert_eq!(open.len(), 1);
        assert_eq!(open[0].heading.title, "Gulls for a harbor feast");
        assert_eq!(open[0].heading.first_handover, date(2026, 4, 10).at(15, 0, 0, 0));
        assert!(open[0].heading.invented);
        let events: Vec<_> =
            open[0].events.iter().map(|event| (event.what, event.amount_minor)).collect();
        assert_eq!(events, [(EventKind::Asked, None), (EventKind::DepositPaid, Some(2500))]);

        let past = kitchen.past_orders(None, 10).await.expect("read");
        let past: Vec<_> = past.iter().map(|row| row.id.as_str()).collect();
        assert_eq!(past, ["order-removed", "order-past"]);

        let id = OrderId::parse("order-open").expect("an id");
        let stored = kitchen.order(&id).await.expect("read").expect("there");
        let gull = DesignId::parse("design-gull").expect("an id");
        assert_eq!(stored.designs.get("gull"), Some(&gull));
        assert_eq!(stored.kept_plan.as_deref(), Some("{\"format\":1}"));
        let source = kitchen.design_source(&gull).await.expect("read");
        assert_eq!(source.as_deref(), Some(b"<svg/>".as_slice()));

        let midnight = "2026-03-02T00:00:00Z".parse().expect("a moment");
        assert_eq!(kitchen.sweep_designs(midnight).await.expect("swept"), 0);
        let midnight = "2026-03-03T00:00:00Z".parse().expect("a moment");
        assert_eq!(kitchen.sweep_designs(midnight).await.expect("swept"), 1);
    });
}

#[test]
fn a_database_of_a_newer_program_is_refused_with_both_versions() {
    on_each_place(async |place| {
        place.open().await.expect("opened").close().await;
        place
            .run(
                "insert into _sqlx_migrations (version, description, success, checksum, execution_time)
                 values (2, 'next', true, '', 0), (7, 'later', true, '', 0)",
            )
            .await;
        let refused = place.open().await.expect_err("refused");
        assert!(matches!(refused, DatabaseError::Newer { found: 7, known: 1 }), "{refused:?}");
        let sentence = refused.to_string();
        assert!(sentence.contains("version 7") && sentence.contains("up to 1"), "{sentence}");
    });
}

#[test]
fn a_row_that_no_version_of_ours_writes_is_called_damaged() {
    on_each_place(async |place| {
        let store = place.open().await.expect("opened");
        place.run(include_str!("../data/0001_first.sql")).await;
        place.run("update order_event set kind = 'eaten'").await;
        place.run("update customer_order set removed_on = 'someday' where id = 'order-past'").await;
        let kitchen = home(&store);
        let refused = kitchen.open_orders().await;
        let is_damaged = |detail: &str, part: &str| detail.contains(part);
        assert!(
            matches!(&refused, Err(DatabaseError::Damaged { detail }) if is_damaged(detail, "eaten")),
            "{refused:?}"
        );
        let refused = kitchen.past_orders(None, 10).await;
        assert!(
            matches!(&refused, Err(DatabaseError::Damaged { detail }) if is_damaged(detail, "someday")),
            "{refused:?}"
        );
    });
}

#[test]
fn a_folder_is_opened_once_at_a_time() {
    let place = Place::folder();
    block_on(async {
        let store = place.open().await.expect("opened");
        let refused = place.open().await.expect_err("refused");
        assert!(matches!(refused, DatabaseError::InUse { .. }), "{refused:?}");
        assert!(refused.to_string().starts_with("another sugarwright is running on /"));
        store.close().await;
        drop(store);
        place.open().await.expect("free again");
    });
}

#[test]
fn a_folder_whose_name_is_odd_is_created_with_its_parents_for_its_owner_alone() {
    let place = tempfile::tempdir().expect("a temporary folder");
    let folder = place.path().join("a b").join("Küche ?#%41 'x'.d");
    block_on(async {
        let store = Store::open_folder(&folder).await.expect("opened");
        home(&store).save_settings("mine", None).await.expect("saved");
        assert!(folder.join("sugarwright.db").is_file());
        #[cfg(unix)]
        {
            use std::os::unix::fs::PermissionsExt;
            let mode = |path| fs::metadata(path).expect("there").permissions().mode() & 0o777;
            assert_eq!(mode(folder.clone()), 0o700);
            for entry in fs::read_dir(&folder).expect("readable") {
                let path = entry.expect("readable").path();
                assert_eq!(mode(path.clone()), 0o600, "{}", path.display());
            }
        }
    });
}

#[test]
fn a_file_that_is_no_database_or_a_damaged_one_is_refused_and_left_as_it_is() {
    let place = Place::folder();
    let Place::Folder(folder) = &place else { unreachable!("it is a folder") };
    let database = folder.path().join("sugarwright.db");
    block_on(async {
        fs::write(&database, "a note, not a database\n".repeat(1000)).expect("written");
        let before = fs::read(&database).expect("read");
        let refused = place.open().await.expect_err("refused");
        assert!(matches!(refused, DatabaseError::Damaged { .. }), "{refused:?}");
        assert_eq!(fs::read(&database).expect("read"), before);

        // A real one of which the pages after the first are overwritten.
        fs::remove_file(&database).expect("removed");
        place.open().await.expect("opened").close().await;
        let mut bytes = fs::read(&database).expect("read");
        assert!(bytes.len() > 8192, "closing moves all into the one file");
        bytes[4096..].fill(0x5a);
        fs::write(&database, &bytes).expect("written");
        let refused = place.open().await.expect_err("refused");
        assert!(matches!(refused, DatabaseError::Damaged { .. }), "{refused:?}");
    });
}

#[test]
fn a_folder_that_cannot_be_created_is_named() {
    let place = tempfile::tempdir().expect("a temporary folder");
    let file = place.path().join("file");
    fs::write(&file, "").expect("written");
    let refused = block_on(Store::open_folder(&file.join("below"))).expect_err("refused");
    assert!(matches!(refused, DatabaseError::Io { what: "created", .. }), "{refused:?}");
}

#[test]
fn a_database_in_memory_serves_a_test() {
    block_on(async {
        let store = Store::connect("sqlite::memory:").await.expect("opened");
        let kitchen = home(&store);
        kitchen.save_settings("mine", None).await.expect("saved");
        let gull = kitchen.add_design(&design("gull")).await.expect("added");
        kitchen.add_order(&order_with("gulls", &[("g", &gull)])).await.expect("added");
        assert_eq!(kitchen.open_orders().await.expect("read").len(), 1);
        assert_eq!(kitchen.keep_chapters("cutting", &[]).await.expect("removed"), 0);
    });
}
