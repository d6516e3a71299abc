//! What holds for every page: who may ask, what a browser may do with the answer, and how trouble is told.

pub(crate) mod assets;
mod error;
mod guard;

pub(crate) use error::{AppError, Reference, caught_panic, panic_words};
pub(crate) use guard::{Authorities, check_asker, set_headers};
