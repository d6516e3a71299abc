//! Artwork in, regions at true size out.
//!
//! [`artwork::import`] takes the bytes of an SVG drawing past a guard and turns them into painted shapes of our own.
//! [`design::read`] finds the cutter shape, scales everything to millimeters and works out
//! what of each shape is seen.
//! [`region`] measures and combines what comes out; [`relation`] tells neighbors and overlaps.
//! [`photo`] finds the outline of a cutter or a drawn line in a photograph, at true size.
//! [`design::merge_touching`] and [`palette`] bring many patches and colors down to few;
//! [`identity`] finds sections again in edited artwork.
//!
//! This crate measures; what to do with a region (which technique, onto what) is for the crate `craft`.
//! Nothing here knows cookies, screens or formats of ours.
//! Fonts and files come as bytes; same bytes in, same regions out.
//! One unit of a raw coordinate is one millimeter, y points down.
#![warn(missing_docs)]

pub mod artwork;
pub mod color;
pub mod design;
pub mod doability;
pub mod document;
pub mod error;
pub mod fact;
mod guard;
pub mod identity;
pub mod lettering;
pub mod palette;
pub mod photo;
pub mod raster;
pub mod region;
pub mod relation;
pub mod shape;

pub use artwork::{Artwork, Fonts, file_ending, import};
pub use color::Color;
pub use design::{Drawing, Origin, ReadOptions, Shape, read};
pub use error::Error;
pub use fact::Fact;
pub use region::Region;
