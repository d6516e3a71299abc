//! The whole road: order folders to plan folders, as a person at the terminal would go it.

mod answer;
mod art;
mod bad_input;
mod browser;
mod letter;
mod nest;
mod outline;
mod outside;
mod pages;
mod program;
mod samples;
mod tint;
