//! `sugarwright sample FOLDER`.

use std::path::Path;

use craft::{
    document::kitchen_toml_with_comments,
    sample::{SAMPLES, Sample},
};
use store::{File, OrderFolder, Replace, write_folder};

use crate::{Failure, print};

/// Writes a sample order folder and says how to plan it.
///
/// # Errors
/// The folder is occupied or cannot be written.
pub fn write(folder: &Path, which: &str) -> Result<(), Failure> {
    let sample = SAMPLES.iter().find(|sample| sample.name == which).unwrap_or(&SAMPLES[0]);
    let mut files: Vec<File> =
        sample.files.iter().map(|(path, text)| File::new(*path, *text)).collect();
    if !files.iter().any(|file| file.path == "kitchen.toml") {
        files.push(File::new("kitchen.toml", kitchen_toml_with_comments()));
    }
    write_folder(folder, &files, Replace::Never)?;
    print(&format!(
        "{} (an invented order) is in {}.\nPlan it with: sugarwright plan {} --out plan --today {}",
        sample.title,
        folder.display(),
        folder.display(),
        sample.today
    ));
    Ok(())
}

/// Returns a sample as if it had been read from a folder.
pub fn in_memory(sample: &Sample) -> OrderFolder {
    let mut folder = OrderFolder::default();
    for (path, text) in sample.files {
        let text = (*text).to_owned();
        match (*path, path.strip_prefix("designs/").and_then(|file| file.rsplit_once('.'))) {
            ("order.toml", _) => folder.order = text,
            ("kitchen.toml", _) => folder.kitchen = Some(text),
            (_, Some((name, "svg"))) => {
                drop(folder.drawings.insert(name.to_owned(), text.into_bytes()))
            }
            (_, Some((name, "toml"))) => drop(folder.choices.insert(name.to_owned(), text)),
            _ => {}
        }
    }
    folder
}
