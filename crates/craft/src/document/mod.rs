//! Every file format of the trade, as plain structs whose fields carry units.
//!
//! Reading goes from text to a document (unknown keys are refused by name and line) and from a document to domain types
//! (every value is checked, errors name the key); writing goes the other way and rounds once.

pub mod art;
pub mod calendar;
mod choices;
pub mod dry;
mod error;
pub mod kitchen;
pub mod nest;
mod order;
pub mod plan;
mod range;
mod reference;
mod schema;
pub mod sequence;
pub mod settle;
mod ticks;
mod tinting;
mod work;

pub use choices::{ChoicesDocument, read_choices};
pub use error::FileError;
pub use kitchen::{KitchenDocument, read_kitchen, read_kitchen_document, start_kitchen};
pub use order::{HandoverEntry, ItemEntry, OrderDocument, read_order, read_order_document};
pub use range::RangeDocument;
pub use reference::{kitchen_toml_with_comments, reference};
pub use schema::{SCHEMA_NAMES, schema};
pub use tinting::{
    TintAnswerDocument, TintRequest, TintRequestDocument, answer_tints, read_tint_request,
};
pub use work::{RestDocument, StepDocument, WorkDocument};
