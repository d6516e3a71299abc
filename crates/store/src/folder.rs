//! Order folders and plan folders.

use std::{
    collections::BTreeMap,
    fs, io,
    path::{Path, PathBuf},
};

use sha2::{Digest, Sha256};

use crate::Error;

/// Order and kitchen files are written by hand; more than this is a mistake.
const TEXT_LIMIT: u64 = 1024 * 1024;
/// Drawings beyond this are refused by the guard of the drawing engine; reading stops a little above its limit.
const DRAWING_LIMIT: u64 = 64 * 1024 * 1024;

/// The files of an order folder.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct OrderFolder {
    /// Text of `order.toml`.
    pub order: String,
    /// Text of `kitchen.toml`, if there is one.
    pub kitchen: Option<String>,
    /// Bytes of the drawing in `designs`, by name: its file without the ending.
    pub drawings: BTreeMap<String, Vec<u8>>,
    /// Text of `designs/NAME.toml`, by name.
    pub choices: BTreeMap<String, String>,
}

impl OrderFolder {
    /// Returns the SHA-256 of all files with their names, in hexadecimal: equal folders have equal sums.
    pub fn sha256(&self) -> String {
        let mut sum = Sha256::new();
        let mut add = |name: &str, content: &[u8]| {
            // Lengths keep one file from running into the next.
            sum.update((name.len() as u64).to_le_bytes());
            sum.update(name);
            sum.update((content.len() as u64).to_le_bytes());
            sum.update(content);
        };
        add("order.toml", self.order.as_bytes());
        if let Some(kitchen) = &self.kitchen {
            add("kitchen.toml", kitchen.as_bytes());
        }
        for (name, content) in &self.choices {
            add(&format!("designs/{name}.toml"), content.as_bytes());
        }
        for (name, content) in &self.drawings {
            add(&drawing_path(name, content), content);
        }
        sum.finalize().iter().map(|byte| format!("{byte:02x}")).collect()
    }
}

/// Endings of drawings.
const DRAWING_ENDINGS: [&str; 5] = ["svg", "png", "jpg", "jpeg", "webp"];

/// Tells whether a file with this ending is a drawing.
pub(crate) fn is_drawing(ending: &str) -> bool {
    DRAWING_ENDINGS.iter().any(|known| ending.eq_ignore_ascii_case(known))
}

/// Returns where a drawing stands in an order folder; its bytes tell its ending.
pub(crate) fn drawing_path(name: &str, content: &[u8]) -> String {
    format!("designs/{name}.{}", drawing::file_ending(content))
}

/// A file to be written.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct File {
    /// Path below the folder, with `/` between its parts.
    pub path: String,
    /// What it holds.
    pub content: Vec<u8>,
}

impl File {
    /// Creates a file.
    pub fn new(path: impl Into<String>, content: impl Into<Vec<u8>>) -> Self {
        Self { path: path.into(), content: content.into() }
    }
}

/// Reads an order folder.
///
/// # Errors
/// The folder or its order is missing, a file is too large or not text, or the disk refuses.
pub fn read_order_folder(path: &Path) -> Result<OrderFolder, Error> {
    if !path.is_dir() {
        return Err(Error::NoFolder { path: path.into() });
    }
    let order = path.join("order.toml");
    if !order.is_file() {
        return Err(Error::NoOrder { path: path.into() });
    }
    let kitchen = path.join("kitchen.toml");
    let mut folder = OrderFolder {
        order: read_text(&order)?,
        kitchen: if kitchen.is_file() { Some(read_text(&kitchen)?) } else { None },
        ..OrderFolder::default()
    };
    let designs = path.join("designs");
    if designs.is_dir() {
        for entry in fs::read_dir(&designs).map_err(io_error("read", &designs))? {
            let file = entry.map_err(io_error("read", &designs))?.path();
            let (Some(stem), Some(ending)) =
                (name_part(file.file_stem()), name_part(file.extension()))
            else {
                continue;
            };
            match ending.as_str() {
                ending if is_drawing(ending) => {
                    let content = read_bytes(&file, DRAWING_LIMIT)?;
                    if folder.drawings.insert(stem.clone(), content).is_some() {
                        return Err(Error::TwoDrawings { path: designs, name: stem });
                    }
                }
                "toml" => {
                    folder.choices.insert(stem, read_text(&file)?);
                }
                _ => {}
            }
        }
    }
    Ok(folder)
}

fn name_part(part: Option<&std::ffi::OsStr>) -> Option<String> {
    part?.to_str().map(str::to_owned)
}

fn read_text(path: &Path) -> Result<String, Error> {
    String::from_utf8(read_bytes(path, TEXT_LIMIT)?)
        .map_err(|_| Error::NotText { path: path.into() })
}

fn read_bytes(path: &Path, limit: u64) -> Result<Vec<u8>, Error> {
    let n_bytes = fs::metadata(path).map_err(io_error("read", path))?.len();
    if n_bytes > limit {
        return Err(Error::TooLarge { path: path.into(), n_bytes, limit });
    }
    fs::read(path).map_err(io_error("read", path))
}

/// What may become of a target that holds files.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Replace {
    /// Nothing: it is refused.
    Never,
    /// It is replaced if it holds no file but those that are written, as an earlier plan does.
    OwnFiles,
}

/// Writes a folder whole or not at all.
///
/// An empty target is always taken; one with files follows `replace`, so that nothing of the maker's own is lost.
///
/// # Errors
/// The target is occupied or a file, or the disk refuses; the target is then as it was.
pub fn write_folder(target: &Path, files: &[File], replace: Replace) -> Result<(), Error> {
    let exists = may_replace(target, files, replace)?;
    let parent = match target.parent() {
        Some(parent) if !parent.as_os_str().is_empty() => parent.to_path_buf(),
        _ => PathBuf::from("."),
    };
    fs::create_dir_all(&parent).map_err(io_error("written", &parent))?;
    // Beside the target, so that the rename stays on one disk.
    let fresh = tempfile::Builder::new()
        .prefix(".sugarwright-")
        .tempdir_in(&parent)
        .map_err(io_error("written", &parent))?;
    for file in files {
        let path = fresh.path().join(&file.path);
        if let Some(folder) = path.parent() {
            fs::create_dir_all(folder).map_err(io_error("written", folder))?;
        }
        fs::write(&path, &file.content).map_err(io_error("written", &path))?;
    }
    let fresh = fresh.keep();
    share_with_others(&fresh);
    let swapped = if exists { swap(target, &fresh, &parent) } else { fs::rename(&fresh, target) };
    swapped.map_err(|source| {
        // The fresh folder is ours alone; leaving it behind would only be litter.
        let _ = fs::remove_dir_all(&fresh);
        Error::Io { what: "written", path: target.into(), source }
    })
}

/// Tells whether the target exists and may be replaced.
fn may_replace(target: &Path, files: &[File], replace: Replace) -> Result<bool, Error> {
    if target.is_file() {
        return Err(Error::NotAFolder { path: target.into() });
    }
    if !target.exists() {
        return Ok(false);
    }
    for path in files_below(target)? {
        let name = path.strip_prefix(target).unwrap_or(&path).to_string_lossy().replace('\\', "/");
        if replace == Replace::Never || !files.iter().any(|file| file.path == name) {
            return Err(Error::Occupied { path: target.into(), foreign: name });
        }
    }
    Ok(true)
}

/// All files below a folder; links are not followed and count as files.
fn files_below(folder: &Path) -> Result<Vec<PathBuf>, Error> {
    let mut found = Vec::new();
    let mut folders = vec![folder.to_path_buf()];
    while let Some(folder) = folders.pop() {
        for entry in fs::read_dir(&folder).map_err(io_error("read", &folder))? {
            let entry = entry.map_err(io_error("read", &folder))?;
            match entry.file_type() {
                Ok(kind) if kind.is_dir() => folders.push(entry.path()),
                _ => found.push(entry.path()),
            }
        }
    }
    found.sort();
    Ok(found)
}

/// Puts the fresh folder in the place of the old one; if that fails the old one comes back.
fn swap(target: &Path, fresh: &Path, parent: &Path) -> io::Result<()> {
    let old = tempfile::Builder::new().prefix(".sugarwright-old-").tempdir_in(parent)?;
    let aside = old.path().join("plan");
    fs::rename(target, &aside)?;
    fs::rename(fresh, target).or_else(|error| {
        fs::rename(&aside, target)?;
        Err(error)
    })
}

/// A temporary folder is private; a plan folder is an ordinary one.
fn share_with_others(folder: &Path) {
    #[cfg(unix)]
    {
        use std::os::unix::fs::PermissionsExt;
        // Failing only keeps the folder private.
        let _ = fs::set_permissions(folder, fs::Permissions::from_mode(0o755));
    }
    #[cfg(not(unix))]
    let _ = folder;
}

fn io_error(what: &'static str, path: &Path) -> impl FnOnce(io::Error) -> Error {
    move |source| Error::Io { what, path: path.into(), source }
}
