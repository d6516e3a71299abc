//! What changed, told to whoever shows it.

use crate::{DesignId, KitchenId, OrderId};

/// A change that is stored.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Change {
    /// The kitchen it happened in.
    pub kitchen: KitchenId,
    /// What changed.
    pub what: Changed,
}

/// What changed.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Changed {
    /// The settings of the kitchen.
    Settings,
    /// An order, its events or its kept plan.
    Order(OrderId),
    /// A design or its choices.
    Design(DesignId),
    /// A slow chapter of a plan is there.
    Chapter,
}
