//! JSON Schemas (draft 2020-12) of every file that goes in or comes out.

use schemars::{JsonSchema, schema_for};
use serde_json::Value;

use crate::document::{
    ChoicesDocument, KitchenDocument, OrderDocument, TintAnswerDocument, TintRequestDocument,
    art::ArtDocument, plan::PlanDocument,
};

/// Names of the schemas there are.
pub const SCHEMA_NAMES: [&str; 7] =
    ["order", "kitchen", "choices", "plan", "art", "tint-request", "tint-answer"];

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
        "tint-request" => Some(of::<TintRequestDocument>()),
        "tint-answer" => Some(of::<TintAnswerDocument>()),
        _ => None,
    }
}

fn of<T: JsonSchema>() -> Value {
    schema_for!(T).to_value()
}
