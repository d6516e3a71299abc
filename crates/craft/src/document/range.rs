//! A number with the ends it lies between.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use crate::{document::plan::write::round, learning::Likely};

/// A number that is not quite known.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct RangeDocument {
    /// As likely too low as too high.
    pub likely: f64,
    /// Below it with 5 % probability.
    pub low: f64,
    /// Above it with 5 % probability.
    pub high: f64,
}

impl RangeDocument {
    pub(super) fn of(likely: Likely<f64>, decimals: i32) -> Self {
        let Likely { likely, low, high } = likely.map(|value| round(value, decimals));
        Self { likely, low, high }
    }
}
