//! The program: its pages, its commands, and how a plan is told to a person.

pub mod command;
mod desk;
mod failure;
mod fonts;
mod intake;
mod pages;
mod planner;
mod show;
mod summary;
mod terminal;
mod ui;
mod web;

pub use failure::Failure;
pub use planner::{Inputs, Planned};
pub use terminal::{print, tell};
