//! The program: its commands, and how a plan is told to a person.

pub mod command;
mod failure;
mod fonts;
mod planner;
mod show;
mod summary;
mod terminal;

pub use failure::Failure;
pub use planner::{Inputs, Planned};
pub use terminal::{print, tell};
