//! Irregular pieces on sheets that are cut, re-rolled from their scraps and cut again; and pieces on trays in straight rows.
//!
//! [`plan_sheets`] places pieces on stock sheets, fresh sheets and sheets rolled from scraps;
//! [`plan_trays`] lays pieces out in rows.
//! [`check_sheets`] and [`check_trays`] look at an answer again, in f64 and without sharing code with the engines.
//!
//! Lengths are millimeters, y points down.
//! A [`Placement`] rotates a piece's outline about the outline's own origin, clockwise on the page, then moves it.
//! The same request gives the same plan, whatever the number of threads.
//! The crate's README explains the method and names its papers.
#![warn(missing_docs)]

mod check;
mod clean;
mod error;
mod fill;
mod kernel;
mod pack;
mod plan;
mod request;
mod rounds;
mod search;
mod separate;
mod strip;
mod trays;

pub use check::{LayoutRules, Violation, check_layout, check_sheets, check_trays};
pub use error::Error;
pub use plan::{CutSheet, Placement, Progress, SheetsPlan};
pub use request::{Budget, Outline, Piece, Rerolls, Rotation, SheetSize, SheetsRequest, Stock};
pub use rounds::{plan_sheets, plan_sheets_on};
pub use strip::{StripPlan, StripRequest, plan_strip};
pub use trays::{Jump, Tray, TrayPiece, TraysPlan, TraysRequest, plan_trays, tray_jumps};
