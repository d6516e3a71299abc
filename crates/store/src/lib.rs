//! What is kept on disk: order folders come in, plan folders go out.
//!
//! An order folder holds `order.toml`, optionally `kitchen.toml`, and `designs/` with `NAME.svg` and `NAME.toml`.
//! A plan folder is written whole or not at all: into a temporary folder beside it, which is then renamed.
#![warn(missing_docs)]

mod error;
mod folder;

pub use error::Error;
pub use folder::{File, OrderFolder, Replace, read_order_folder, write_folder};
