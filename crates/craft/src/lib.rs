//! The trade: from an order and a kitchen to a plan.
//!
//! Modules use each other upward in this order only: learning < consistency, drying < kitchen, order < technique < dough, icing < tinting, baking, passes < days
//! < packing < pantry < price, label < plan < request, what_if; [`document`] holds every file format.
//! Nothing here knows a clock, a disk or a screen.
#![warn(missing_docs)]

pub mod baking;
pub mod check;
pub mod consistency;
pub mod cutting;
pub mod days;
pub mod document;
pub mod dough;
pub mod drying;
pub mod heads_up;
pub mod icing;
pub mod kitchen;
pub mod label;
pub mod learning;
pub mod order;
pub mod packing;
pub mod pantry;
pub mod passes;
pub mod plan;
pub mod price;
pub mod request;
pub mod sample;
pub mod technique;
pub mod tinting;
pub mod what_if;
