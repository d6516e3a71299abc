use std::{io, path::PathBuf};

/// Why a folder could not be read or written.
#[derive(Debug, thiserror::Error)]
pub enum Error {
    /// The order folder is not there, or is no folder.
    #[error("{} is not a folder; give the folder that holds order.toml", path.display())]
    NoFolder {
        /// The path as given.
        path: PathBuf,
    },
    /// The folder has no order.
    #[error("{} has no order.toml; write one, or start from a sample (sugarwright sample FOLDER)", path.display())]
    NoOrder {
        /// The folder.
        path: PathBuf,
    },
    /// A file is not text.
    #[error("{} is not UTF-8 text; save it as plain text in UTF-8", path.display())]
    NotText {
        /// The file.
        path: PathBuf,
    },
    /// A file is larger than any file of its kind.
    #[error("{} has {n_bytes} bytes, more than the {limit} such a file may have", path.display())]
    TooLarge {
        /// The file.
        path: PathBuf,
        /// Its size.
        n_bytes: u64,
        /// The largest size that is read.
        limit: u64,
    },
    /// Two files of an order folder are drawings of one name.
    #[error("{} has two drawings named {name}; keep one of them", path.display())]
    TwoDrawings {
        /// The folder of drawings.
        path: PathBuf,
        /// The name.
        name: String,
    },
    /// The target holds files that would be lost.
    #[error("{} already holds \"{foreign}\", which would be lost; choose a new or empty folder", path.display())]
    Occupied {
        /// The target.
        path: PathBuf,
        /// A file that is not ours.
        foreign: String,
    },
    /// The target is a file.
    #[error("{} is a file; choose a new or empty folder", path.display())]
    NotAFolder {
        /// The target.
        path: PathBuf,
    },
    /// Disk or permissions.
    #[error("{} could not be {what}", path.display())]
    Io {
        /// What was tried: "read", "written".
        what: &'static str,
        /// The file or folder.
        path: PathBuf,
        /// What the system said.
        #[source]
        source: io::Error,
    },
}

/// Why the database could not be opened, read or changed.
#[derive(Debug, thiserror::Error)]
pub enum DatabaseError {
    /// Somebody changed it meanwhile; nothing was written.
    #[error("the {what} was changed meanwhile; load it again and repeat the change")]
    Stale {
        /// What was to be changed: "order", "design", "settings".
        what: &'static str,
    },
    /// Another process works on the data folder.
    #[error(
        "another sugarwright is running on {}; use that one, or stop it first, or give another data folder",
        folder.display()
    )]
    InUse {
        /// The data folder.
        folder: PathBuf,
    },
    /// The database was written by a newer program.
    #[error(
        "the database has version {found} and this sugarwright knows versions up to {known}; use a newer sugarwright"
    )]
    Newer {
        /// The version of the database.
        found: i64,
        /// The newest version this build knows.
        known: i64,
    },
    /// The SQLite that was linked can lose what it acknowledged.
    #[error(
        "this build has SQLite {found}, which can lose what was saved; build sugarwright with SQLite {} or newer",
        crate::connect::OLDEST_SQLITE
    )]
    OldSqlite {
        /// The version of SQLite.
        found: String,
    },
    /// The database holds what was never written to it.
    #[error("the database is damaged ({detail}); put a backup in its place")]
    Damaged {
        /// What was found.
        detail: String,
    },
    /// What was to be changed or used is not there.
    #[error("there is no {what} {id}; it may have been removed meanwhile")]
    Missing {
        /// What is missing: "order", "design".
        what: &'static str,
        /// Its name.
        id: String,
    },
    /// A text has a character that PostgreSQL cannot keep; SQLite is held to the same.
    #[error("the {what} holds a NUL character, which cannot be kept; remove it")]
    Nul {
        /// Which text.
        what: &'static str,
    },
    /// The path of the data folder is not text.
    #[error("{} is not UTF-8 text; give a data folder whose path is", folder.display())]
    OddFolder {
        /// The data folder.
        folder: PathBuf,
    },
    /// Disk or permissions.
    #[error("{} could not be {what}", path.display())]
    Io {
        /// What was tried: "created", "locked".
        what: &'static str,
        /// The file or folder.
        path: PathBuf,
        /// What the system said.
        #[source]
        source: io::Error,
    },
    /// The tables could not be brought to the version of this build.
    #[error("the tables of the database could not be brought up to date")]
    Migration(#[source] sqlx::migrate::MigrateError),
    /// The database refused or could not be reached.
    #[error("the database did not do what was asked of it")]
    Sql(#[source] sqlx::Error),
}

/// Result codes of SQLite for a file that is damaged (11) or no database (26).
const SQLITE_DAMAGED: [&str; 2] = ["11", "26"];

impl From<sqlx::Error> for DatabaseError {
    fn from(error: sqlx::Error) -> Self {
        let code = error.as_database_error().and_then(|error| error.code());
        match code {
            Some(code) if SQLITE_DAMAGED.contains(&code.as_ref()) => {
                Self::Damaged { detail: error.to_string() }
            }
            _ => Self::Sql(error),
        }
    }
}

impl DatabaseError {
    /// Why a row that refers to another could not be written.
    pub(crate) fn missing_reference(error: sqlx::Error, what: &'static str, id: &str) -> Self {
        match error.as_database_error() {
            Some(reason) if reason.is_foreign_key_violation() => {
                Self::Missing { what, id: id.to_owned() }
            }
            _ => error.into(),
        }
    }
}
