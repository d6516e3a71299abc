//! `sugarwright tint REQUEST.json`, or `-` for what is typed or piped in.

use std::{
    fs,
    io::{self, Read},
    path::{Path, PathBuf},
};

use craft::document::{answer_tints, read_tint_request};

use crate::{Failure, print};

/// A request is a page of text; more is a mistake.
const MOST_BYTES: u64 = 4 << 20;

/// Finds gels for colors and prints the answer as JSON.
///
/// # Errors
/// The request cannot be read or answered.
pub fn run(file: &Path) -> Result<(), Failure> {
    let name = if file == Path::new("-") { PathBuf::from("the request") } else { file.to_owned() };
    let text = read(file).map_err(|source| Failure::Art { file: name.clone(), source })?;
    let request =
        read_tint_request(&text, &name.display().to_string()).map_err(Failure::Request)?;
    print(&serde_json::to_string_pretty(&answer_tints(&request))?);
    Ok(())
}

fn read(file: &Path) -> io::Result<String> {
    let input: Box<dyn Read> = if file == Path::new("-") {
        Box::new(io::stdin().lock())
    } else {
        Box::new(fs::File::open(file)?)
    };
    let mut bytes = Vec::new();
    input.take(MOST_BYTES).read_to_end(&mut bytes)?;
    String::from_utf8(bytes)
        .map_err(|_| io::Error::new(io::ErrorKind::InvalidData, "it is no text in UTF-8"))
}
