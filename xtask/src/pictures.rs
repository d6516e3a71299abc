//! `cargo xtask pictures`: takes the pictures of the guide from the pages as they are now.

use std::fs;

use anyhow::{Context, Result, ensure};

use crate::metadata::Metadata;
use crate::shell;

/// The pictures that are kept, of all that the journeys through the pages leave.
const KEPT: [&str; 5] = [
    "laptop-light-orders-top",
    "laptop-light-order-top",
    "laptop-light-intake-top",
    "laptop-light-kitchen-top",
    "phone-light-orders-top",
];

/// Most bytes of a picture in the repository.
const MOST_BYTES: u64 = 250_000;

/// Goes on every journey and keeps a few pictures in `docs/pictures`.
pub(crate) fn pictures() -> Result<()> {
    let taken = Metadata::read()?.target_directory.join("pictures");
    let mut tests = shell::cargo(&["nextest", "run", "--release", "--workspace"]);
    tests.args(["-E", "test(/^browser::/)"]).env("SUGARWRIGHT_SCREENSHOTS", &taken);
    shell::run(&mut tests)?;
    let folder = shell::root().join("docs/pictures");
    fs::create_dir_all(&folder).with_context(|| format!("cannot create {}", folder.display()))?;
    for name in KEPT {
        let picture = taken.join(format!("{name}.png"));
        let kept = folder.join(format!("{}.png", name.trim_end_matches("-top")));
        let n_bytes = fs::copy(&picture, &kept)
            .with_context(|| format!("cannot keep {}", picture.display()))?;
        ensure!(n_bytes <= MOST_BYTES, "{} has {n_bytes} bytes", kept.display());
    }
    println!("docs/pictures is new; all pictures are in {}.", taken.display());
    Ok(())
}
