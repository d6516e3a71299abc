//! What does the set look like, how is it cut, baked, iced, and where is one in the work?
//!
//! Every picture is one SVG in millimeters with presentation attributes only, so that it can be shown on a page,
//! printed, and turned into pixels alike.
//! What is drawn to a scale stands on a ruler and says the scale.
//! Words are set in the font Quicksand; where it is missing, in the usual sans serif.

mod bowls;
mod cookie;
mod design;
mod drawn;
mod flow;
mod look;
pub(crate) mod palette;
mod png;
mod ruler;
mod section_sheet;
mod set;
mod sheets;
mod strip;
mod svg;
mod tracing;
mod trays;
mod words;

pub use bowls::{bowl_depths, bowls_picture};
pub use design::{design_picture, pass_picture};
pub use drawn::{DrawnDesign, finished_picture, states_picture};
pub use look::icing_look;
pub use png::to_png;
pub use section_sheet::section_sheet;
pub use set::set_picture;
pub use sheets::{number_point, sheet_name, sheets_picture};
pub use strip::{bag_of, in_order, meanwhile, passes_strip, waits, worked_on};
pub use tracing::tracing_picture;
pub use trays::trays_picture;

/// No picture is wider than this in millimeters, unless one thing in it is: a sheet of A3 paper (ISO 216) held across.
const WIDEST: f64 = 420.0;
/// Paper left around what is drawn.
const MARGIN: f64 = 6.0;
