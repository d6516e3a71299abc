//! The folder on the maker's disk that holds her database.

use std::{
    fs::{self, File, OpenOptions, TryLockError},
    io,
    path::Path,
};

use crate::DatabaseError;

/// The database of the data folder.
const DATABASE: &str = "sugarwright.db";
/// Held locked while the folder is in use.
const LOCK: &str = "sugarwright.lock";

/// A data folder that nobody else uses as long as this lives.
pub(crate) struct DataFolder {
    /// Where its database is, for the driver.
    pub(crate) url: String,
    /// The system takes the lock back when the file is closed, however the process ends.
    pub(crate) lock: File,
}

/// Creates the folder if need be and takes it for this process.
///
/// Customers' addresses lie in it: only its owner may read what is created here.
pub(crate) fn take(folder: &Path) -> Result<DataFolder, DatabaseError> {
    let failed = |what, path: &Path| {
        let path = path.to_owned();
        move |source| DatabaseError::Io { what, path, source }
    };
    create_private_folder(folder).map_err(failed("created", folder))?;
    // The driver runs on its own threads and must not depend on the working folder.
    let folder = &folder.canonicalize().map_err(failed("opened", folder))?;

    let lock_path = folder.join(LOCK);
    let lock = open_private_file(&lock_path).map_err(failed("opened", &lock_path))?;
    lock.try_lock().map_err(|error| match error {
        TryLockError::WouldBlock => DatabaseError::InUse { folder: folder.clone() },
        TryLockError::Error(source) => failed("locked", &lock_path)(source),
    })?;

    let database = folder.join(DATABASE);
    // SQLite takes an empty file for a new database, and gives its other files the same mode.
    open_private_file(&database).map_err(failed("opened", &database))?;
    let Some(path) = database.to_str() else {
        return Err(DatabaseError::OddFolder { folder: folder.clone() });
    };
    Ok(DataFolder { url: format!("sqlite:{}", percent_encoded(path)), lock })
}

fn create_private_folder(folder: &Path) -> io::Result<()> {
    let mut builder = fs::DirBuilder::new();
    builder.recursive(true);
    #[cfg(unix)]
    {
        use std::os::unix::fs::DirBuilderExt;
        builder.mode(0o700);
    }
    builder.create(folder)
}

fn open_private_file(path: &Path) -> io::Result<File> {
    let mut options = OpenOptions::new();
    options.read(true).write(true).create(true).truncate(false);
    #[cfg(unix)]
    {
        use std::os::unix::fs::OpenOptionsExt;
        options.mode(0o600);
    }
    options.open(path)
}

/// A path as the driver decodes it from an address, whatever characters it has.
fn percent_encoded(path: &str) -> String {
    path.bytes()
        .map(|byte| match byte {
            b'a'..=b'z' | b'A'..=b'Z' | b'0'..=b'9' | b'/' | b'-' | b'_' | b'.' => {
                char::from(byte).to_string()
            }
            _ => format!("%{byte:02X}"),
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_path_is_encoded_byte_by_byte() {
        assert_eq!(percent_encoded("/srv/a-b_c.d"), "/srv/a-b_c.d");
        assert_eq!(percent_encoded("C:\\ä ?#%"), "C%3A%5C%C3%A4%20%3F%23%25");
    }
}
