//! Pictures, kitchen packet, calendar file and shopping list of a plan.
//!
//! Everything here turns chapters of a plan into text or bytes for people and their programs;
//! nothing here computes a figure of the trade, and nothing touches the disk.
//! The same plan gives the same bytes.
#![warn(missing_docs)]

pub mod calendar;
mod error;
pub mod icing;
pub mod moon;
pub mod packet;
pub mod picture;
mod scale;
pub mod shopping;
pub mod words;

pub use error::Error;
