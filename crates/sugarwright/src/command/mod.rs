//! What the program does when asked.

pub mod art;
pub mod letter;
pub mod outline;
pub mod plan;
pub mod sample;
pub mod schema;
pub mod serve;
