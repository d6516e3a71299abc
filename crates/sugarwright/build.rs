//! Makes a digest of the code that plans, so that kept chapters of an older planner are made anew.

use std::{
    collections::BTreeMap,
    fs,
    hash::{DefaultHasher, Hash, Hasher},
    io,
    path::{Path, PathBuf},
};

/// The crates of floors 0 to 2: what is planned depends on them alone.
const PLANNING: [&str; 6] = ["quantity", "drawing", "nesting", "tint", "timing", "craft"];

fn main() -> io::Result<()> {
    let mut files = BTreeMap::new();
    for name in PLANNING {
        let folder = Path::new("..").join(name).join("src");
        println!("cargo::rerun-if-changed={}", folder.display());
        collect(&folder, &mut files)?;
    }
    let mut digest = DefaultHasher::new();
    files.hash(&mut digest);
    println!("cargo::rustc-env=SUGARWRIGHT_PLANNER={:016x}", digest.finish());
    Ok(())
}

fn collect(folder: &Path, files: &mut BTreeMap<PathBuf, Vec<u8>>) -> io::Result<()> {
    for entry in fs::read_dir(folder)? {
        let path = entry?.path();
        if path.is_dir() {
            collect(&path, files)?;
        } else {
            let content = fs::read(&path)?;
            files.insert(path, content);
        }
    }
    Ok(())
}
