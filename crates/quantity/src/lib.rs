//! Quantities of the kitchen: lengths, areas, volumes, masses, densities, spans of time, shares and money.
//!
//! One type per *quantity*, not per unit: named constructors take a number in a unit, readers give it back.
//! Only operations that make sense exist: `Length * Length` is an [`Area`], `Volume * Density` a [`Mass`], `Mass / Mass` a number.
//! No type here knows how to print itself: a face does that in the kitchen's units.
//!
//! ```
//! use quantity::{Area, Density, Length, Mass};
//!
//! let flood = Area::mm2(2000.0) * Length::mm(2.0) * Density::g_per_ml(1.4);
//! assert!((flood - Mass::g(5.6)).to_g().abs() < 1e-9);
//! ```
#![warn(missing_docs)]

mod area;
mod arithmetic;
mod density;
mod length;
mod mass;
mod money;
mod parse;
mod share;
mod span;
mod volume;

pub use area::Area;
pub use density::Density;
pub use length::Length;
pub use mass::Mass;
pub use money::{Currency, Money};
pub use parse::{ParseError, parse_length, parse_mass, parse_volume};
pub use share::Share;
pub use span::Span;
pub use volume::Volume;
