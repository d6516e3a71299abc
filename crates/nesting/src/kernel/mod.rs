//! The collision kernel: shapes grown by half a gap, boards of sheets, and what overlaps what.
//!
//! Single precision, coordinates of placed pieces as structure of arrays in chunks of [`LANES`], so that plain loops turn into vector code.
//! A plan's last word is the double precision check on the exact outlines.

mod board;
mod grow;
mod overlap;
mod poles;
mod shape;

pub(crate) use board::{Board, Room, Spot};
pub(crate) use grow::grown;
pub(crate) use shape::{SLACK_MM, Shape, Turned};

/// Values looked at in one go.
pub(crate) const LANES: usize = 8;
/// Most inscribed circles of a shape.
pub(crate) const MOST_POLES: usize = 16;
