//! JSON Schemas (draft 2020-12) of every file that goes in or comes out.

use schemars::{JsonSchema, schema_for};
use serde_json::Value;

use crate::document::{
    ChoicesDocument, KitchenDocument, OrderDocument, TintAnswerDocument, TintRequestDocument,
    art::ArtDocument,
    calendar::{ScheduleAnswer, ScheduleRequest},
    dry::{DryAnswer, DryRequest},
    nest::{NestAnswer, NestRequest},
    plan::PlanDocument,
    sequence::{SequenceAnswer, SequenceRequest},
    settle::{SettleAnswer, SettleRequest},
};

/// Names of the schemas there are.
pub const SCHEMA_NAMES: [&str; 17] = [
    "order",
    "kitchen",
    "choices",
    "plan",
    "art",
    "settle-request",
    "settle-answer",
    "dry-request",
    "dry-answer",
    "tint-request",
    "tint-answer",
    "sequence-request",
    "sequence-answer",
    "schedule-request",
    "schedule-answer",
    "nest-request",
    "nest-answer",
];

/// Returns a schema by its name.
///
/// ```
/// let schema = craft::document::schema("order").unwrap();
/// assert_eq!(schema["properties"]["title"]["type"], "string");
/// ```
pub fn schema(name: &str) -> Option<Value> {
    match name {
        "order" => Some(of::<OrderDocument>()),
        "kitchen" => Some(of::<KitchenDocument>()),
        "choices" => Some(of::<ChoicesDocument>()),
        "plan" => Some(of::<PlanDocument>()),
        "art" => Some(of::<ArtDocument>()),
        "settle-request" => Some(of::<SettleRequest>()),
        "settle-answer" => Some(of::<SettleAnswer>()),
        "dry-request" => Some(of::<DryRequest>()),
        "dry-answer" => Some(of::<DryAnswer>()),
        "tint-request" => Some(of::<TintRequestDocument>()),
        "tint-answer" => Some(of::<TintAnswerDocument>()),
        "sequence-request" => Some(of::<SequenceRequest>()),
        "sequence-answer" => Some(of::<SequenceAnswer>()),
        "schedule-request" => Some(of::<ScheduleRequest>()),
        "schedule-answer" => Some(of::<ScheduleAnswer>()),
        "nest-request" => Some(of::<NestRequest>()),
        "nest-answer" => Some(of::<NestAnswer>()),
        _ => None,
    }
}

fn of<T: JsonSchema>() -> Value {
    schema_for!(T).to_value()
}
