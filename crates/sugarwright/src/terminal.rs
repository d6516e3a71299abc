//! The two ways out to the person at the terminal: answers and asides.
//!
//! A reader that has gone away (`sugarwright schema plan | head`) is no failure.

use std::io::Write;

/// Prints an answer on standard output.
pub fn print(text: &str) {
    let _ = writeln!(std::io::stdout().lock(), "{text}");
}

/// Says something aside, on standard error.
pub fn tell(text: &str) {
    let _ = writeln!(std::io::stderr().lock(), "{text}");
}
