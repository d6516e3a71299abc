//! What the program does when asked.

pub mod art;
pub mod letter;
pub mod outline;
pub mod plan;
pub mod sample;
pub mod schema;
pub mod serve;
pub mod tint;

use std::{fs, path::Path};

use crate::Failure;

/// Refuses to write over what is read.
fn keep_inputs(inputs: &[&Path], outputs: &[&Path]) -> Result<(), Failure> {
    for output in outputs {
        // What does not exist yet is no input.
        let Ok(output_file) = fs::canonicalize(output) else { continue };
        let is_input =
            |input: &&Path| fs::canonicalize(input).is_ok_and(|input| input == output_file);
        if inputs.iter().any(is_input) {
            return Err(Failure::OwnInput { file: output.to_path_buf() });
        }
    }
    Ok(())
}
