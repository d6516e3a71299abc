//! Each test runs on SQLite in a folder and on PostgreSQL in a database of its own.

use std::{
    collections::BTreeMap,
    env,
    io::{self, Write},
    path::Path,
    str::FromStr,
    sync::{Arc, Mutex, PoisonError, Weak},
};

use jiff::civil::{Date, date};
use sqlx::{
    Any, AnyConnection, AssertSqlSafe, Connection, any::AnyConnectOptions, migrate::MigrateDatabase,
};
use store::{
    DatabaseError, DesignId, Heading, KitchenId, KitchenStore, NewDesign, NewOrder, OrderId, Store,
};
use tempfile::TempDir;

use self::postgres::Server;

#[path = "../../../../xtask/src/postgres.rs"]
mod postgres;

/// Where a database lies that can be opened again and again.
pub(crate) enum Place {
    /// SQLite in a data folder.
    Folder(TempDir),
    /// A database on a server, by its address.
    Postgres(String),
}

impl Place {
    pub(crate) fn folder() -> Self {
        Self::Folder(tempfile::tempdir().expect("a temporary folder"))
    }

    pub(crate) async fn open(&self) -> Result<Store, DatabaseError> {
        match self {
            Self::Folder(folder) => Store::open_folder(folder.path()).await,
            Self::Postgres(url) => Store::connect(url).await,
        }
    }

    /// Runs statements past the store.
    pub(crate) async fn run(&self, statements: &'static str) {
        let statements = match self {
            Self::Folder(_) => statements.to_owned(),
            // The only literal the engines write differently: bytes.
            Self::Postgres(_) => statements.replace(", x'", ", '\\x"),
        };
        let mut connection = self.connection().await;
        sqlx::raw_sql(AssertSqlSafe(statements)).execute(&mut connection).await.expect("it runs");
        connection.close().await.expect("closed");
    }

    pub(crate) async fn connection(&self) -> AnyConnection {
        sqlx::any::install_default_drivers();
        let url = match self {
            Self::Folder(folder) => database_in(folder.path()),
            Self::Postgres(url) => url.clone(),
        };
        AnyConnection::connect(&url).await.expect("connected")
    }
}

/// The address of the database in a data folder.
pub(crate) fn database_in(folder: &Path) -> String {
    format!("sqlite:{}", folder.join("sugarwright.db").display())
}

/// Runs a test on a new store of each engine.
pub(crate) fn on_each_engine(test: impl AsyncFn(Store)) {
    on_each_place(async |place| test(place.open().await.expect("opened")).await);
}

/// Runs a test on a place of each engine where nothing is yet.
pub(crate) fn on_each_place(test: impl AsyncFn(&Place)) {
    block_on(test(&Place::folder()));
    let Some(server) = server() else {
        return;
    };
    block_on(async {
        sqlx::any::install_default_drivers();
        let mut options = AnyConnectOptions::from_str(&server.url).expect("an address");
        options.database_url.set_path(&format!("test-{}", OrderId::new()));
        let url = options.database_url.to_string();
        Any::create_database(&url).await.expect("created");
        test(&Place::Postgres(url.clone())).await;
        Any::force_drop_database(&url).await.expect("dropped");
    });
}

pub(crate) fn block_on<T>(work: impl Future<Output = T>) -> T {
    tokio::runtime::Runtime::new().expect("a runtime").block_on(work)
}

/// A server where databases may be created.
struct Reached {
    url: String,
    _own: Option<Server>,
}

/// The server that was named, or else our own, which all tests of this process share.
fn server() -> Option<Arc<Reached>> {
    static OWN: Mutex<Weak<Reached>> = Mutex::new(Weak::new());
    if let Ok(url) = env::var(postgres::VARIABLE) {
        return Some(Arc::new(Reached { url, _own: None }));
    }
    let mut own = OWN.lock().unwrap_or_else(PoisonError::into_inner);
    if let Some(server) = own.upgrade() {
        return Some(server);
    }
    let Some(binaries) = postgres::binaries() else {
        let _ = writeln!(io::stdout(), "PostgreSQL is not installed: checked on SQLite only");
        return None;
    };
    let started = Server::start(binaries).expect("a server of our own");
    let server = Arc::new(Reached { url: started.url(), _own: Some(started) });
    *own = Arc::downgrade(&server);
    Some(server)
}

pub(crate) fn home(store: &Store) -> KitchenStore {
    store.kitchen(&KitchenId::home())
}

/// An invented design.
pub(crate) fn design(name: &str) -> NewDesign {
    NewDesign {
        name: name.to_owned(),
        source: b"<svg/>".to_vec(),
        artwork: "{}".to_owned(),
        choices: "format = 1".to_owned(),
    }
}

/// An invented order that is handed over on a day of April 2026.
pub(crate) fn order(title: &str, day: i8) -> NewOrder {
    NewOrder {
        heading: Heading {
            title: title.to_owned(),
            customer: "Invented Customer".to_owned(),
            n_cookies: 24,
            first_handover: april(day).at(15, 0, 0, 0),
            time_zone: "Europe/Berlin".to_owned(),
            invented: true,
        },
        brief: "format = 1".to_owned(),
        designs: BTreeMap::new(),
    }
}

/// An invented order with designs.
pub(crate) fn order_with(title: &str, designs: &[(&str, &DesignId)]) -> NewOrder {
    let designs = designs.iter().map(|(name, id)| ((*name).to_owned(), (*id).clone())).collect();
    NewOrder { designs, ..order(title, 10) }
}

pub(crate) fn april(day: i8) -> Date {
    date(2026, 4, day)
}
