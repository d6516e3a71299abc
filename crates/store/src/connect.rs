//! One store over SQLite and PostgreSQL.
//!
//! On the maker's computer the database is one SQLite file that one process uses.
//! Statements are written once, in what both engines understand alike.
//! What is changed says which revision it was seen in; the statement itself compares, so that no change is lost.

use std::{fmt, fs::File, path::Path, sync::Arc};

use sqlx::{
    Any, AnyConnection, AnyPool, Connection, Executor, SqlSafeStr, Transaction,
    any::AnyPoolOptions,
    migrate::{MigrateError, Migration, MigrationType, Migrator},
};
use tokio::sync::{Mutex, OwnedMutexGuard, broadcast};

use crate::{Change, Changed, DatabaseError, KitchenId, KitchenStore, data_folder};

/// Every step of the tables: its version, its name, its statements.
const MIGRATIONS: [(i64, &str, &str); 1] =
    [(1, "first", include_str!("../migrations/0001_first.sql"))];

/// Older ones can lose acknowledged writes when the write-ahead log starts over.
///
/// Source: sqlite.org/wal.html, "The WAL-Reset Bug".
pub(crate) const OLDEST_SQLITE: &str = "3.51.3";
const OLDEST_SQLITE_PARTS: [u32; 3] = [3, 51, 3];
// The pinned binding brings its own SQLite, so an old one does not even compile.
const _: () = assert!(libsqlite3_sys::SQLITE_VERSION_NUMBER >= 3_051_003);

/// What a commit promises: it is on the disk, also after the power fails.
///
/// Systems that only sync when asked twice are asked twice (`fullfsync`); others ignore that.
const SQLITE_SETTINGS: &str = "
    pragma busy_timeout = 5000;
    pragma journal_mode = wal;
    pragma synchronous = full;
    pragma fullfsync = on;
    pragma checkpoint_fullfsync = on;
    pragma foreign_keys = on;
    pragma trusted_schema = off;
    pragma cell_size_check = on;
";

/// Connections to one database; SQLite reads in parallel but writes one after the other.
const N_CONNECTIONS: u32 = 8;
/// Changes a slow watcher may be behind before it is told that it missed some.
const N_CHANGES_KEPT: usize = 256;

#[derive(Clone, Copy, Debug, PartialEq)]
enum Engine {
    Sqlite,
    Postgres,
}

/// The database.
///
/// Clones share it; a data folder is free again when the last one is dropped.
#[derive(Clone)]
pub struct Store(Arc<Inner>);

struct Inner {
    pool: AnyPool,
    engine: Engine,
    /// Whose turn it is to write to SQLite: waiting here is fair, waiting for its file is not.
    turn: Arc<Mutex<()>>,
    changes: broadcast::Sender<Change>,
    /// Goes last.
    _lock: Option<File>,
}

impl fmt::Debug for Store {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        // Its address may hold a password.
        f.debug_struct("Store").field("engine", &self.0.engine).finish_non_exhaustive()
    }
}

impl Store {
    /// Opens the database of a data folder; the folder, the database and its tables are created as needed.
    ///
    /// # Errors
    /// Another process uses the folder, the database is damaged or newer than this build, or the disk refuses.
    pub async fn open_folder(folder: &Path) -> Result<Self, DatabaseError> {
        let folder = data_folder::take(folder)?;
        Self::open(&folder.url, Some(folder.lock)).await
    }

    /// Opens a database by its address: `postgres://...`, or `sqlite::memory:` for one that is gone with the store.
    ///
    /// # Errors
    /// The server cannot be reached, or the database is newer than this build.
    pub async fn connect(url: &str) -> Result<Self, DatabaseError> {
        Self::open(url, None).await
    }

    async fn open(url: &str, lock: Option<File>) -> Result<Self, DatabaseError> {
        sqlx::any::install_default_drivers();
        let engine = look_at(url).await?;
        // Every connection to a database in memory would get its own.
        let in_memory = url.contains(":memory:");
        let pool = AnyPoolOptions::new()
            .max_connections(if in_memory { 1 } else { N_CONNECTIONS })
            .idle_timeout(None)
            .max_lifetime(None)
            .after_connect(|connection, _| {
                Box::pin(async move {
                    if engine_of(connection) == Engine::Sqlite {
                        connection.execute(SQLITE_SETTINGS).await?;
                    }
                    Ok(())
                })
            })
            .connect(url)
            .await?;
        migrate(&pool).await?;
        let (changes, _) = broadcast::channel(N_CHANGES_KEPT);
        let turn = Arc::new(Mutex::new(()));
        Ok(Self(Arc::new(Inner { pool, engine, turn, changes, _lock: lock })))
    }

    /// Returns what is stored of one kitchen.
    pub fn kitchen(&self, id: &KitchenId) -> KitchenStore {
        KitchenStore { store: self.clone(), id: id.clone() }
    }

    /// Returns the changes made through this store from now on, each sent after it is stored.
    pub fn watch(&self) -> broadcast::Receiver<Change> {
        self.0.changes.subscribe()
    }

    /// Waits until all that was begun is done, and closes the database; no clone can be used afterwards.
    pub async fn close(&self) {
        self.0.pool.close().await;
    }

    /// For what one statement reads.
    pub(crate) fn pool(&self) -> &AnyPool {
        &self.0.pool
    }

    /// Begins to read with several statements a state that nobody changes meanwhile.
    pub(crate) async fn read(&self) -> Result<Transaction<'static, Any>, DatabaseError> {
        let begin = match self.0.engine {
            Engine::Sqlite => "begin",
            Engine::Postgres => "begin isolation level repeatable read read only",
        };
        Ok(self.0.pool.begin_with(begin).await?)
    }

    /// Begins to write; what is not committed is undone.
    pub(crate) async fn write(&self) -> Result<Write, DatabaseError> {
        let (begin, turn) = match self.0.engine {
            // A plain `begin` would fail half-way when another connection writes.
            Engine::Sqlite => ("begin immediate", Some(self.0.turn.clone().lock_owned().await)),
            Engine::Postgres => ("begin", None),
        };
        let transaction = self.0.pool.begin_with(begin).await?;
        Ok(Write { transaction, changes: self.0.changes.clone(), _turn: turn })
    }
}

/// A change under way.
pub(crate) struct Write {
    pub(crate) transaction: Transaction<'static, Any>,
    changes: broadcast::Sender<Change>,
    _turn: Option<OwnedMutexGuard<()>>,
}

impl Write {
    /// Makes the change last and tells of it.
    pub(crate) async fn commit(
        self,
        kitchen: &KitchenId,
        what: Changed,
    ) -> Result<(), DatabaseError> {
        self.transaction.commit().await?;
        // Nobody may be watching.
        let _ = self.changes.send(Change { kitchen: kitchen.clone(), what });
        Ok(())
    }

    /// Makes the change last; nobody could see what it took away.
    pub(crate) async fn commit_unseen(self) -> Result<(), DatabaseError> {
        Ok(self.transaction.commit().await?)
    }
}

fn engine_of(connection: &AnyConnection) -> Engine {
    match connection.backend_name() {
        "PostgreSQL" => Engine::Postgres,
        _ => Engine::Sqlite,
    }
}

/// Looks at a database before anything is done to it.
async fn look_at(url: &str) -> Result<Engine, DatabaseError> {
    let mut connection = AnyConnection::connect(url).await?;
    let engine = engine_of(&connection);
    if engine == Engine::Sqlite {
        let version: String =
            sqlx::query_scalar("select sqlite_version()").fetch_one(&mut connection).await?;
        if !is_new_enough(&version) {
            return Err(DatabaseError::OldSqlite { found: version });
        }
        let found: String =
            sqlx::query_scalar("pragma quick_check(1)").fetch_one(&mut connection).await?;
        if found != "ok" {
            return Err(DatabaseError::Damaged { detail: found });
        }
    }
    connection.close().await?;
    Ok(engine)
}

fn is_new_enough(sqlite: &str) -> bool {
    let parts: Result<Vec<u32>, _> = sqlite.split('.').map(str::parse).collect();
    parts.is_ok_and(|parts| parts.as_slice() >= OLDEST_SQLITE_PARTS.as_slice())
}

/// Brings the tables to the version of this build.
async fn migrate(pool: &AnyPool) -> Result<(), DatabaseError> {
    let known = MIGRATIONS.iter().map(|(version, ..)| *version).max().unwrap_or(0);
    let migrations = MIGRATIONS.iter().map(|&(version, name, sql)| {
        Migration::new(version, name.into(), MigrationType::Simple, sql.into_sql_str(), false)
    });
    match Migrator::with_migrations(migrations.collect()).run(pool).await {
        Ok(()) => Ok(()),
        Err(MigrateError::VersionMissing(_)) => {
            let found: i64 = sqlx::query_scalar("select max(version) from _sqlx_migrations")
                .fetch_one(pool)
                .await?;
            Err(DatabaseError::Newer { found, known })
        }
        Err(error) => Err(DatabaseError::Migration(error)),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn check(version: &str, expected: bool) {
        assert_eq!(is_new_enough(version), expected, "{version}");
    }

    #[test]
    fn a_sqlite_that_loses_writes_is_refused() {
        check(OLDEST_SQLITE, true);
        check("3.51.2", false);
        check("3.46.0", false);
        check("3.52.0", true);
        check("3.100.0", true);
        check("4.0", true);
        check("3.51", false);
        check("", false);
        check("new", false);
    }
}
