//! Values as columns keep them.

use std::{fmt::Display, str::FromStr};

use crate::DatabaseError;

/// A text that both engines keep as it is.
pub(crate) fn text<'a>(what: &'static str, text: &'a str) -> Result<&'a str, DatabaseError> {
    if text.contains('\0') { Err(DatabaseError::Nul { what }) } else { Ok(text) }
}

/// Reads what was written by `Display`: a day, a time, a kind.
pub(crate) fn parse<T: FromStr<Err: Display>>(
    column: &str,
    text: &str,
) -> Result<T, DatabaseError> {
    text.parse().map_err(|error| damaged(column, text, &error))
}

/// Reads a name of something stored.
pub(crate) fn id<T>(
    column: &str,
    text: &str,
    parse: fn(&str) -> Option<T>,
) -> Result<T, DatabaseError> {
    parse(text).ok_or_else(|| damaged(column, text, &"no id"))
}

/// Something that no version of ours writes into a column.
pub(crate) fn damaged(column: &str, text: &str, error: &dyn Display) -> DatabaseError {
    DatabaseError::Damaged { detail: format!("{column} \"{text}\": {error}") }
}
