//! `sugarwright schema NAME`.

use craft::document::{reference, schema};

use crate::{Failure, print};

/// Prints the JSON Schema of a file, or a page that explains it; the command line only lets known names through.
///
/// # Errors
/// The schema could not be written as JSON.
pub fn print_schema(name: &str, explain: bool) -> Result<(), Failure> {
    if explain {
        if let Some(page) = reference(name) {
            print(page.trim_end());
        }
    } else if let Some(schema) = schema(name) {
        print(&serde_json::to_string_pretty(&schema)?);
    }
    Ok(())
}
