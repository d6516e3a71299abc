//! Order folders as one zip file.

use std::io::{Cursor, Read, Write};

use zip::{ZipArchive, ZipWriter, result::ZipError, write::SimpleFileOptions};

use crate::{
    OrderFolder,
    folder::{drawing_path, is_drawing},
};

/// Entries of an order folder; more are a mistake or an attack.
const MOST_ENTRIES: usize = 400;
/// Bytes of all files together once they are unpacked.
const MOST_BYTES: u64 = 64 * 1024 * 1024;

/// Why a zip was refused.
#[derive(Debug, thiserror::Error)]
pub enum ArchiveError {
    /// It is no zip, or a damaged one.
    #[error("this is no zip that can be read ({0}); pack the order folder again")]
    Zip(#[from] ZipError),
    /// It holds too much.
    #[error(
        "the zip unpacks to more than {} files or 64 MB, which no order folder has",
        MOST_ENTRIES
    )]
    TooLarge,
    /// It has no order.
    #[error("the zip has no order.toml; pack the folder that holds it")]
    NoOrder,
    /// Two files of it are drawings of one name.
    #[error("the zip has two drawings named {name}; keep one of them")]
    TwoDrawings {
        /// The name.
        name: String,
    },
    /// A text file is no text.
    #[error("{name} is not UTF-8 text; save it as plain text in UTF-8")]
    NotText {
        /// The file.
        name: String,
    },
    /// A file could not be unpacked or packed.
    #[error("{name} could not be unpacked or packed; make the zip again")]
    Io {
        /// The file.
        name: String,
        /// What was wrong with it.
        #[source]
        source: std::io::Error,
    },
}

/// Reads an order folder from a zip; the folder itself may be packed with it.
///
/// Only files of an order folder are unpacked, into memory, so that no name in the zip can reach the disk.
///
/// # Errors
/// It is no zip, holds too much, or has no order.
pub fn read_order_zip(bytes: &[u8]) -> Result<OrderFolder, ArchiveError> {
    let mut archive = ZipArchive::new(Cursor::new(bytes))?;
    if archive.len() > MOST_ENTRIES {
        return Err(ArchiveError::TooLarge);
    }
    let names: Vec<String> = archive
        .file_names()
        .map(|name| name.map(|name| name.into_owned()))
        .collect::<Result<_, _>>()?;
    let base = names
        .iter()
        .filter_map(|name| name.strip_suffix("order.toml"))
        .filter(|base| base.is_empty() || base.ends_with('/'))
        .min_by_key(|base| base.len())
        .ok_or(ArchiveError::NoOrder)?
        .to_owned();
    let mut folder = OrderFolder::default();
    let mut left = MOST_BYTES;
    for name in &names {
        let Some(path) = name.strip_prefix(&base) else { continue };
        let design = path.strip_prefix("designs/").and_then(|file| file.rsplit_once('.'));
        match (path, design) {
            ("order.toml", _) => folder.order = text(&mut archive, name, &mut left)?,
            ("kitchen.toml", _) => folder.kitchen = Some(text(&mut archive, name, &mut left)?),
            (_, Some((stem, ending))) if !stem.contains('/') && is_drawing(ending) => {
                let content = content(&mut archive, name, &mut left)?;
                if folder.drawings.insert(stem.to_owned(), content).is_some() {
                    return Err(ArchiveError::TwoDrawings { name: stem.to_owned() });
                }
            }
            (_, Some((stem, "toml"))) if !stem.contains('/') => {
                let text = text(&mut archive, name, &mut left)?;
                folder.choices.insert(stem.to_owned(), text);
            }
            _ => {}
        }
    }
    Ok(folder)
}

fn text(
    archive: &mut ZipArchive<Cursor<&[u8]>>,
    name: &str,
    left: &mut u64,
) -> Result<String, ArchiveError> {
    String::from_utf8(content(archive, name, left)?)
        .map_err(|_| ArchiveError::NotText { name: name.to_owned() })
}

/// Unpacks one file; what its head says of its size is not believed.
fn content(
    archive: &mut ZipArchive<Cursor<&[u8]>>,
    name: &str,
    left: &mut u64,
) -> Result<Vec<u8>, ArchiveError> {
    let mut content = Vec::new();
    let file = archive.by_name(name)?;
    file.take(*left + 1)
        .read_to_end(&mut content)
        .map_err(|source| ArchiveError::Io { name: name.to_owned(), source })?;
    *left = left.checked_sub(content.len() as u64).ok_or(ArchiveError::TooLarge)?;
    Ok(content)
}

/// Packs an order folder.
///
/// # Errors
/// A name or the whole is more than a zip can hold.
pub fn write_order_zip(folder: &OrderFolder) -> Result<Vec<u8>, ArchiveError> {
    let mut files: Vec<(String, &[u8])> = vec![("order.toml".to_owned(), folder.order.as_bytes())];
    if let Some(kitchen) = &folder.kitchen {
        files.push(("kitchen.toml".to_owned(), kitchen.as_bytes()));
    }
    for (name, content) in &folder.drawings {
        files.push((drawing_path(name, content), content));
    }
    for (name, choices) in &folder.choices {
        files.push((format!("designs/{name}.toml"), choices.as_bytes()));
    }
    let mut writer = ZipWriter::new(Cursor::new(Vec::new()));
    for (name, content) in files {
        writer.start_file(name.as_str(), SimpleFileOptions::default())?;
        writer.write_all(content).map_err(|source| ArchiveError::Io { name, source })?;
    }
    Ok(writer.finish()?.into_inner())
}

#[cfg(test)]
mod tests {
    use super::*;

    fn folder() -> OrderFolder {
        OrderFolder {
            order: "title = \"Zoë\"\n".into(),
            kitchen: Some("makers = 1\n".into()),
            drawings: [
                ("fox".to_owned(), b"<svg/>".to_vec()),
                ("owl".to_owned(), vec![0xff, 0xd8, 0xff, 0xe0]),
            ]
            .into(),
            choices: [("fox".to_owned(), "format = 1\n".to_owned())].into(),
        }
    }

    fn packed(files: &[(&str, &[u8])]) -> Vec<u8> {
        let mut writer = ZipWriter::new(Cursor::new(Vec::new()));
        for (name, content) in files {
            writer.start_file(*name, SimpleFileOptions::default()).expect("a name");
            writer.write_all(content).expect("memory");
        }
        writer.finish().expect("memory").into_inner()
    }

    #[test]
    fn what_was_packed_is_read_back() {
        let zip = write_order_zip(&folder()).expect("it packs");
        assert_eq!(read_order_zip(&zip).expect("it reads"), folder());
    }

    #[test]
    fn a_folder_packed_whole_is_found_and_other_files_are_left() {
        let zip = packed(&[
            ("set/order.toml", b"title = 1"),
            ("set/designs/a.svg", b"<svg/>"),
            ("set/designs/deep/b.svg", b"<svg/>"),
            ("set/./c.svg", b"<svg/>"),
            ("/etc/designs/d.svg", b"<svg/>"),
            ("set/notes.txt", b"x"),
        ]);
        let read = read_order_zip(&zip).expect("it reads");
        assert_eq!(read.order, "title = 1");
        assert_eq!(read.drawings.keys().collect::<Vec<_>>(), ["a"]);
    }

    #[test]
    fn bad_zips_are_refused_in_words() {
        let told = |bytes: &[u8]| read_order_zip(bytes).expect_err("refused").to_string();
        assert!(told(b"").starts_with("this is no zip that can be read"));
        assert!(told(b"<svg/>").starts_with("this is no zip that can be read"));
        assert_eq!(
            told(&packed(&[("a.svg", b"<svg/>")])),
            "the zip has no order.toml; pack the folder that holds it"
        );
        assert_eq!(
            told(&packed(&[("order.toml", b"\xff")])),
            "order.toml is not UTF-8 text; save it as plain text in UTF-8"
        );
        assert_eq!(
            told(&packed(&[("order.toml", b""), ("designs/a.svg", b""), ("designs/a.PNG", b"")])),
            "the zip has two drawings named a; keep one of them"
        );
        let zeros = vec![0; 40 << 20];
        let bomb =
            packed(&[("order.toml", b""), ("designs/a.svg", &zeros), ("designs/b.svg", &zeros)]);
        assert!(bomb.len() < 1 << 20, "{}", bomb.len());
        assert!(matches!(read_order_zip(&bomb), Err(ArchiveError::TooLarge)));
    }
}
