//! Irregular pieces on sheets that are cut, re-rolled from their scraps and cut again; and pieces on trays in straight rows.
//!
//! [`plan_sheets`] places pieces on stock sheets, fresh sheets and sheets rolled from scraps;
//! [`plan_least_area`] asks how little fresh dough is enough, where the last sheet may be smaller than a whole one;
//! [`plan_strip`] lays pieces on a strip of least length, [`plan_trays`] in rows, [`plan_trays_turning`] at any angle where that saves a tray;
//! [`plan_rows`] cuts sheets in rows, [`straight_rows`] tells the rows of a sheet, and [`cutting_order`] says which piece is cut when.
//! [`check_sheets`] and [`check_trays`] look at an answer again, in f64 and without sharing code with the engines.
//!
//! Lengths are millimeters, y points down.
//! A [`Placement`] mirrors a piece's outline where it may be, rotates it about the outline's own origin, clockwise on the page, then moves it.
//! The same request gives the same plan, whatever the number of threads.
//! The crate's README explains the method and names its papers.
#![warn(missing_docs)]

mod area;
mod bound;
mod by_hand;
mod check;
mod clean;
mod error;
mod fill;
mod kernel;
mod lattice;
mod optional;
mod pack;
mod pattern;
mod plan;
mod request;
mod rounds;
mod search;
mod separate;
mod strip;
mod trays;
mod turning;
mod warm;

pub use area::{AreaPlan, AreaPlans, fresh_bound_mm2, plan_least_area};
pub use bound::strip_bound_mm;
pub use by_hand::{StraightRow, cutting_order, plan_rows, straight_rows};
pub use check::{
    LayoutRules, Violation, check_cut_short, check_layout, check_sheets, check_strip, check_trays,
    check_turning,
};
pub use clean::{MendedOutline, mended};
pub use error::Error;
pub use plan::{CutSheet, Placement, Progress, SheetsPlan};
pub use request::{Budget, Outline, Piece, Rerolls, Rotation, SheetSize, SheetsRequest, Stock};
pub use rounds::{plan_sheets, plan_sheets_on};
pub use strip::{StripPlan, StripRequest, plan_strip};
pub use trays::{Jump, Tray, TrayPiece, TraysPlan, TraysRequest, plan_trays, tray_jumps};
pub use turning::{TurningPlan, TurningRequest, plan_trays_turning};
