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
