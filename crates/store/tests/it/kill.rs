//! What was acknowledged is there after the process is killed, a hundred times.

use std::{
    collections::BTreeMap,
    env,
    io::{self, BufRead, BufReader, Write},
    path::Path,
    process::{Command, Stdio},
};

use sqlx::{AnyConnection, Connection};
use store::{OrderId, Store};

use crate::engine::{block_on, database_in, design, home, order_with};

/// Tells this very test to be the writer, and where.
const WRITER: &str = "SUGARWRIGHT_TEST_WRITER";
/// Stands before each order that is acknowledged.
const ACKNOWLEDGED: &str = "acknowledged ";
const N_KILLS: usize = 100;
/// Each order is several rows, which are there together or not at all.
const DESIGNS: [&str; 3] = ["anchor", "gull", "shell"];

#[test]
fn no_acknowledged_order_is_lost_when_the_process_is_killed() {
    if let Some(folder) = env::var_os(WRITER) {
        return block_on(write_without_end(folder.as_ref()));
    }
    let folder = tempfile::tempdir().expect("a temporary folder");
    let mut acknowledged: Vec<String> = Vec::new();
    for kill in 0..N_KILLS {
        // 7 and 17 share no divisor: every number from 1 to 17 comes, in a mixed order.
        let n_orders = 1 + kill * 7 % 17;
        let before = acknowledged.len();
        acknowledged.extend(killed_writer(folder.path(), n_orders));
        assert!(acknowledged.len() >= before + n_orders, "the writer ended by itself");
    }

    block_on(async {
        let store = Store::open_folder(folder.path()).await.expect("opened after all kills");
        let kitchen = home(&store);
        let mut found = BTreeMap::new();
        for row in kitchen.open_orders().await.expect("read") {
            let order = kitchen.order(&row.id).await.expect("read").expect("there");
            found.insert(order.id.to_string(), order.designs.len());
        }
        for id in &acknowledged {
            assert!(found.contains_key(id), "{id} is lost");
        }
        assert!(found.values().all(|n_designs| *n_designs == DESIGNS.len()));
        store.close().await;

        let mut connection =
            AnyConnection::connect(&database_in(folder.path())).await.expect("connected");
        let integrity: String = sqlx::query_scalar("pragma integrity_check")
            .fetch_one(&mut connection)
            .await
            .expect("checked");
        assert_eq!(integrity, "ok");
    });
}

/// Adds orders until the end comes from outside.
async fn write_without_end(folder: &Path) {
    let store = Store::open_folder(folder).await.expect("opened after a kill");
    let kitchen = home(&store);
    let mut designs = Vec::new();
    for name in DESIGNS {
        designs.push((name, kitchen.add_design(&design(name)).await.expect("added")));
    }
    let designs: Vec<_> = designs.iter().map(|(name, id)| (*name, id)).collect();
    loop {
        let id: OrderId = kitchen.add_order(&order_with("kept", &designs)).await.expect("added");
        // Whoever reads this may count on the order.
        writeln!(io::stdout(), "\n{ACKNOWLEDGED}{id}").expect("somebody listens");
    }
}

/// Starts a writer, kills it after so many orders, and returns what it had acknowledged.
fn killed_writer(folder: &Path, n_orders: usize) -> Vec<String> {
    let test = "kill::no_acknowledged_order_is_lost_when_the_process_is_killed";
    let mut writer = Command::new(env::current_exe().expect("this very program"))
        .args([test, "--exact", "--nocapture"])
        .env(WRITER, folder)
        .stdout(Stdio::piped())
        .spawn()
        .expect("started");
    let output = BufReader::new(writer.stdout.take().expect("it is piped"));
    let mut acknowledged = Vec::new();
    // What it wrote before its end is still to be read after it.
    for line in output.lines() {
        let line = line.expect("text");
        if let Some(id) = line.strip_prefix(ACKNOWLEDGED).filter(|id| id.len() == 36) {
            acknowledged.push(id.to_owned());
            if acknowledged.len() == n_orders {
                writer.kill().expect("killed");
            }
        }
    }
    writer.wait().expect("ended");
    acknowledged
}
