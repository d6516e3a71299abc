//! `sugarwright nest`, format nest/1: pieces to cut or to bake in, sheets, a strip or trays out.

mod answer;
mod compile;
mod search;
#[cfg(test)]
mod tests;

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use super::{
    FileError,
    error::BadValue,
    plan::HeadsUpDocument,
    sequence::seed,
    ticks::{check_name, from_named_json},
};

/// The request's name in messages.
const FILE: &str = "nest request";
/// The name of its format.
const FORMAT: &str = "nest/1";
/// The name of the answer's format.
const ANSWER_FORMAT: &str = "nest-answer/1";

/// Pieces to lay out on sheets that are cut and rolled again, on a strip of least length, or on trays.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
#[schemars(title = "nest request")]
pub struct NestRequest {
    /// The format of this request: nest/1.
    #[serde(default = "format")]
    pub format: String,
    /// What it is called; for the reader only.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub name: Option<String>,
    /// sheets: fresh sheets, those in stock, and what is rolled from scraps; strip: one sheet as short as it goes; trays: as few trays as they go on, in straight rows unless turning saves one.
    #[serde(default = "mode")]
    pub mode: String,
    /// A fresh sheet, the strip (its width) or the usable inside of a tray.
    pub sheet: SheetEntry,
    /// Least distance between two pieces, 0 to 100.
    pub gap_mm: f64,
    /// Least distance between a piece and the edge, 0 to 100.
    #[serde(default)]
    pub edge_margin_mm: f64,
    /// What is laid out, at most 1000 items with 10000 pieces together.
    pub items: Vec<NestItem>,
    /// Rolling scraps again; for sheets only.
    #[serde(default)]
    pub rerolls: RerollsEntry,
    /// Sheets that are there already and are used first; for sheets only.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub stock: Vec<StockEntry>,
    /// Whether fresh sheets are whole ones. Left out, they are unless scraps are rolled again: then the last fresh sheet may be smaller, so that least dough is sought.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub whole_sheets: Option<bool>,
    /// Whether a sheet or tray carries one item; on sheets, unless that costs one or a rolling.
    #[serde(default)]
    pub one_shape_per_sheet: bool,
    /// How long to search.
    #[serde(default)]
    pub budget: BudgetEntry,
    /// Where chance starts: the same seed and number of iterations give the same answer, timings aside.
    #[serde(default = "seed")]
    pub seed: u64,
}

fn format() -> String {
    FORMAT.to_owned()
}

fn mode() -> String {
    "sheets".to_owned()
}

/// The size of a sheet.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct SheetEntry {
    /// Width, along x, 1 to 5000.
    pub width_mm: f64,
    /// Length, along y, 1 to 5000; a strip needs none.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub length_mm: Option<f64>,
}

/// A shape, how many of it, and what it asks.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct NestItem {
    /// What it is called; for the reader only.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub name: Option<String>,
    /// Its corners [x, y] in millimeters, y down, in either direction; or a cutter of the shelf with its size, such as "heart 80 mm" or "plaque 90 x 60 mm", whose origin is the upper left corner of its box.
    pub outline: OutlineEntry,
    /// How many must be laid out.
    pub qty: u64,
    /// How many more are laid out if they cost no sheet; for sheets only.
    #[serde(default)]
    pub n_optional: u64,
    /// How it may be turned: "free" by any angle, "quarter" by quarter turns, "fixed" not at all, or a list of the angles in degrees.
    #[serde(default)]
    pub rotation: RotationEntry,
    /// Whether it may be mirrored; not on trays.
    #[serde(default)]
    pub mirror: bool,
    /// Whether it is never cut from sheets rolled from scraps.
    #[serde(default)]
    pub fresh_only: bool,
}

/// An outline: its corners, or a cutter of the shelf with its size.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(
    untagged,
    expecting = "an outline is a list of corners [x, y] in millimeters, or a cutter with its size such as \"heart 80 mm\""
)]
pub enum OutlineEntry {
    /// A cutter of the shelf with its size.
    Cutter(String),
    /// Corners in millimeters.
    Corners(Vec<[f64; 2]>),
}

/// How a piece may be turned.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(
    untagged,
    expecting = "a rotation is \"free\", \"quarter\", \"fixed\" or a list of angles in degrees"
)]
pub enum RotationEntry {
    /// free, quarter or fixed.
    Word(String),
    /// Angles in degrees.
    Angles(Vec<f64>),
}

impl Default for RotationEntry {
    fn default() -> Self {
        Self::Word("free".to_owned())
    }
}

/// Rolling scraps again.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(default, deny_unknown_fields)]
pub struct RerollsEntry {
    /// How often scraps may be rolled, 0 to 10.
    pub max: u64,
    /// Share of the dough that each rolling loses, 0 to 0.9.
    pub loss_share: f64,
    /// How much dough one rolling less is worth; decides which of several plans is told first.
    pub rolling_mm2: f64,
}

impl Default for RerollsEntry {
    fn default() -> Self {
        Self { max: 0, loss_share: 0.02, rolling_mm2: 0.0 }
    }
}

/// Sheets that are there already.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct StockEntry {
    /// Width, along x, 1 to 5000.
    pub width_mm: f64,
    /// Length, along y, 1 to 5000.
    pub length_mm: f64,
    /// How many, at most 1000.
    #[serde(default = "one")]
    pub qty: u64,
}

fn one() -> u64 {
    1
}

/// How long to search: give one of both, or neither for 1000000 iterations.
#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct BudgetEntry {
    /// Seconds by the clock, 0 to 3600; one whole plan is made however long it takes.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub seconds: Option<f64>,
    /// Iterations, each of which asks once whether a piece is free somewhere, 0 to 10000000000; one whole plan is made whatever the number. The same number gives the same answer on any machine.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub iterations: Option<u64>,
}

/// Where each piece is laid out.
/// A placement mirrors the item's outline where it says so (x becomes -x), rotates it about the outline's own origin by rotation_deg, clockwise on the page, then moves it by x_mm, y_mm: with a the angle and y down, x' = x cos a - y sin a + x_mm and y' = x sin a + y cos a + y_mm.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[schemars(title = "nest answer")]
pub struct NestAnswer {
    /// The format of this answer: nest-answer/1.
    pub format: String,
    /// sheets, strip or trays.
    pub mode: String,
    /// Sheets in the order they are cut, the one strip, or the trays.
    pub sheets: Vec<NestSheet>,
    /// Fresh sheets, strips or trays.
    pub n_fresh: usize,
    /// Sheets of the stock that are cut.
    pub n_stock: usize,
    /// Sheets rolled from scraps.
    pub n_rerolled: usize,
    /// Length of the strip, margins included; left out where it is none.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub length_mm: Option<f64>,
    /// Area of all pieces that are laid out.
    pub piece_area_mm2: f64,
    /// Area of the fresh sheets, the strip or the trays.
    pub fresh_area_mm2: f64,
    /// Area of pieces over area of fresh sheets and stock, of the strip or of the trays.
    pub dough_use: f64,
    /// No layout has less fresh_area_mm2, for the number of re-rolls allowed in this one; in mm².
    pub area_bound: f64,
    /// No layout without stock and re-rolls has fewer sheets or trays.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub sheets_bound: Option<usize>,
    /// Trays that straight rows need; left out where a piece stands in no row, and off trays.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub trays_in_rows: Option<usize>,
    /// For each item how many optional pieces were left out.
    pub unplaced_optional: Vec<usize>,
    /// How often scraps may be rolled in this plan.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub rerolls: Option<usize>,
    /// Plans with other numbers of re-rolls, none worse than another in both dough and rollings.
    #[serde(default)]
    pub others: Vec<OtherPlan>,
    /// How long it took.
    pub timings: TimingsEntry,
    /// Each better plan, when it was found.
    pub trail: Vec<TrailEntry>,
    /// Where chance started; with a budget in seconds a search that ended early starts once more from the next seed, and the best one is told.
    pub seed: u64,
    /// Iterations made from that seed.
    pub iterations: u64,
    /// What was mended or left out of account.
    pub heads_ups: Vec<HeadsUpDocument>,
}

/// A sheet, strip or tray and what lies on it.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct NestSheet {
    /// 0 for stock and fresh sheets, 1 for sheets rolled from their scraps, and so on.
    pub round: usize,
    /// Whether it was there already.
    pub from_stock: bool,
    /// Width, along x.
    pub width_mm: f64,
    /// Length, along y.
    pub length_mm: f64,
    /// The pieces.
    pub placements: Vec<NestPlacement>,
}

/// Where a piece lies: its outline is mirrored where it says so, rotated about the outline's own origin, then moved.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct NestPlacement {
    /// The item, by its place in the request, counted from 0.
    pub item: usize,
    /// Where the outline's origin goes, from the left edge.
    pub x_mm: f64,
    /// Where the outline's origin goes, from the upper edge.
    pub y_mm: f64,
    /// Rotation about the outline's own origin, clockwise on the page.
    pub rotation_deg: f64,
    /// Whether the outline is mirrored (x becomes -x) before it is rotated; left out where it is not.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub mirrored: bool,
}

/// Another plan for the same request.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct OtherPlan {
    /// How often scraps may be rolled in it.
    pub rerolls: usize,
    /// Sheets in the order they are cut.
    pub sheets: Vec<NestSheet>,
    /// Fresh sheets.
    pub n_fresh: usize,
    /// Sheets of the stock that are cut.
    pub n_stock: usize,
    /// Sheets rolled from scraps.
    pub n_rerolled: usize,
    /// Area of the fresh sheets.
    pub fresh_area_mm2: f64,
    /// Area of pieces over area of fresh sheets and stock.
    pub dough_use: f64,
    /// No layout with so many re-rolls has less fresh_area_mm2; in mm².
    pub area_bound: f64,
}

/// How long an answer took, by the clock.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct TimingsEntry {
    /// Until the first whole plan.
    pub first_plan_s: f64,
    /// Altogether.
    pub total_s: f64,
}

/// A plan better than all before.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct TrailEntry {
    /// When, by the clock.
    pub seconds: f64,
    /// Iterations made until then, from all seeds.
    pub iterations: u64,
    /// Fresh sheets, strips or trays.
    pub n_fresh: usize,
    /// Sheets rolled from scraps.
    pub n_rerolled: usize,
    /// Area of the fresh sheets, the strip or the trays.
    pub fresh_area_mm2: f64,
}

/// Reads a request.
///
/// # Errors
/// The text is no such request.
pub fn read_nest_request(text: &str) -> Result<NestRequest, FileError> {
    from_named_json(FILE, FORMAT, text)
}

/// Lays pieces out on so many threads; `clock` tells the seconds since the start, which end a search that is given in seconds.
///
/// # Errors
/// A value makes no sense, or there is no layout; the message names its place, such as `items[2].outline`.
pub fn nest(
    request: &NestRequest,
    n_threads: usize,
    clock: &mut dyn FnMut() -> f64,
) -> Result<NestAnswer, FileError> {
    answered(request, n_threads, clock).map_err(|bad| {
        let item = bad.tables.first().filter(|(table, _)| *table == "items");
        let name = item.and_then(|(_, place)| request.items.get(*place)?.name.clone());
        let bad = match name {
            Some(name) => BadValue { message: format!("{name}: {}", bad.message), ..bad },
            None => bad,
        };
        bad.in_json(FILE)
    })
}

fn answered(
    request: &NestRequest,
    n_threads: usize,
    clock: &mut dyn FnMut() -> f64,
) -> Result<NestAnswer, BadValue> {
    check_name(&request.format, FORMAT)?;
    search::search(request, compile::compile(request)?, n_threads, clock)
}
