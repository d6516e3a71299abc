//! The parts of a plan that are worked at the bench: icing, dough, trays, passes.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// The icing of one color: `weigh_out_g` = `on_cookies_g` + `left_g` - `water_g`.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct BowlDocument {
    /// Its id, after its color.
    pub id: String,
    /// Its color, #rrggbb.
    pub color: String,
    /// What lies on the cookies.
    pub on_cookies_g: f64,
    /// What stays in bags, tips and bowl, and the reserve.
    pub left_g: f64,
    /// Water that thins it to its counts.
    pub water_g: f64,
    /// How much of that water comes with the gels.
    #[serde(default)]
    pub gel_water_g: f64,
    /// Stiff icing to weigh out before tint and water.
    pub weigh_out_g: f64,
    /// How much of that is in stock.
    pub from_stock_g: f64,
    /// What is weighed out at least and at most, while cookies without a drawing have a part in it.
    #[serde(default)]
    pub range: Option<MassRangeDocument>,
    /// What it is piped from.
    pub bags: Vec<BagDocument>,
    /// Gels that are likely to give it its color; nothing where it stays white or no gel brings it nearer.
    #[serde(default)]
    pub tint: Option<TintDocument>,
}

/// Between which masses a bowl lies: cookies without a drawing one level of detail plainer or richer, their colors changed about.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct MassRangeDocument {
    /// The least.
    pub low_g: f64,
    /// The most.
    pub high_g: f64,
}

/// How a bowl gets its color.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct TintDocument {
    /// The color it is likely to have, #rrggbb.
    pub expected: String,
    /// The color it is likely to have tomorrow, #rrggbb.
    #[serde(default)]
    pub tomorrow: String,
    /// How far the expected one is from the color wanted (CIEDE2000); below 2 one hardly sees it.
    pub difference: f64,
    /// A leftover that is stirred in first, instead of as much white icing.
    #[serde(default)]
    pub start: Option<LeftoverDocument>,
    /// What goes into the icing that has no color yet, the most first.
    pub doses: Vec<DoseDocument>,
    /// All gel that goes in; about half of it is water and glycerin. Source: common practice, no source.
    #[serde(default)]
    pub gel_mg: f64,
    /// What that gel costs, in minor units.
    #[serde(default)]
    pub cost_minor: i64,
    /// What to mind.
    #[serde(default)]
    pub cautions: Vec<String>,
    /// Other ways that come near, up to two; they have no others of their own.
    #[serde(default)]
    pub others: Vec<TintDocument>,
}

/// Tinted icing that is left over.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct LeftoverDocument {
    /// Its color, #rrggbb.
    pub color: String,
    /// How much of it.
    pub mass_g: f64,
}

/// One gel of a bowl.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct DoseDocument {
    /// Its name.
    pub gel: String,
    /// How much of it.
    pub mass_mg: f64,
    /// How many drops that are; nothing where it is too little to count.
    pub drops: Option<u32>,
    /// How much to take of one part of gel mixed with fifty of icing, where it is too little to count.
    pub mix_g: Option<f64>,
}

/// Bags filled alike: one color, one count, one tip.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct BagDocument {
    /// Its id.
    pub id: String,
    /// Seconds until a ribbon has vanished; nothing for stiff icing.
    pub count_s: Option<f64>,
    /// The tip.
    pub tip: String,
    /// What goes into each bag.
    pub fill_g: f64,
    /// Water that thins what goes into all of them.
    #[serde(default)]
    pub water_g: f64,
    /// How many bags.
    pub n: u32,
}

/// The icing to make, over all batches.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct BatchDocument {
    /// Powdered sugar: the part there is most of.
    pub sugar_g: f64,
    /// Dried white or meringue powder: the parts that contain egg.
    pub dried_white_g: f64,
    /// Water.
    pub water_g: f64,
    /// All of it.
    pub total_g: f64,
    /// In how many batches, all alike.
    pub batches: u32,
    /// Every part of the recipe, in the order it goes in.
    pub parts: Vec<PartDocument>,
    /// What is done, in order.
    #[serde(default)]
    pub steps: Vec<String>,
    /// How long before its first use it is made.
    #[serde(default)]
    pub made_ahead_h: f64,
    /// How long it keeps covered; 0 in plans that did not say so yet.
    #[serde(default)]
    pub keeps_days: f64,
}

/// One part of a recipe.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct PartDocument {
    /// The ingredient.
    pub ingredient: String,
    /// How much, over all batches.
    pub mass_g: f64,
    /// How much of it goes into one batch.
    #[serde(default)]
    pub batch_g: f64,
    /// The same as it is spooned; nothing where the kitchen does not know how heavy a spoonful is.
    #[serde(default)]
    pub batch_ml: Option<f64>,
}

/// The dough to make.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct DoughDocument {
    /// All of it.
    pub mass_g: f64,
    /// In how many batches.
    pub batches: u32,
    /// Sheets to roll fresh.
    pub fresh_sheets: usize,
    /// Sheets to take from the freezer.
    pub freezer_sheets: usize,
    /// Sheets rolled from scraps.
    pub rerolls: usize,
    /// Every part of the recipe, in the order it goes in.
    pub parts: Vec<PartDocument>,
    /// What is done, in order.
    #[serde(default)]
    pub steps: Vec<String>,
    /// How the sheets are cut: `one_shape`, `mixed`, `rows`, or `to_measure_1` where scraps are rolled once at most.
    #[serde(default)]
    pub cutting: Option<String>,
    /// What each way to cut that was planned comes to, the one that is taken first.
    #[serde(default)]
    pub ways: Vec<CuttingWayDocument>,
}

/// What a way to cut comes to.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct CuttingWayDocument {
    /// The way.
    pub cutting: String,
    /// Dough to make.
    pub mass_g: f64,
    /// Sheets to roll fresh.
    pub fresh_sheets: usize,
    /// Sheets to take from the freezer.
    pub freezer_sheets: usize,
    /// Sheets rolled from scraps.
    pub rerolls: usize,
    /// Whether every sheet carries one shape.
    pub one_shape: bool,
    /// Extras that are not made, since they would cost dough or a rolling.
    #[serde(default)]
    pub extras_left_out: usize,
    /// Time to roll and cut.
    pub time_min: f64,
    /// The dough and that time, paid, in the smallest unit of the currency.
    pub cost_minor: i64,
}

/// Where each cookie is cut.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct CuttingDocument {
    /// Sheets in the order they are cut.
    pub sheets: Vec<SheetDocument>,
    /// No cutting plan without re-rolls can do with fewer fresh sheets.
    pub area_bound_sheets: usize,
    /// No cutting plan makes do with less dough, however often scraps are rolled; nothing where there is nothing to cut or the freezer holds sheets.
    #[serde(default)]
    pub least_dough_g: Option<f64>,
    /// What the order asks of its cutters, in sentences.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub notes: Vec<String>,
}

/// One dough sheet.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct SheetDocument {
    /// 0 is a fresh or frozen sheet, 1 is rolled from its scraps, and so on.
    pub round: usize,
    /// Whether it comes from the freezer.
    pub from_freezer: bool,
    /// Width.
    pub width_mm: f64,
    /// Length.
    pub length_mm: f64,
    /// The cuts.
    pub placements: Vec<CutDocument>,
    /// Its straight rows, from the start of the sheet; none where the cuts do not stand in rows.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub rows: Vec<SheetRowDocument>,
}

/// A straight row of cookies on a dough sheet.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
pub struct SheetRowDocument {
    /// What follows each other in it, from left to right.
    pub cuts: Vec<SheetRowCutDocument>,
    /// Whether every other cookie is turned head to tail.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub head_to_tail: bool,
}

/// So many cookies of a design, side by side.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
pub struct SheetRowCutDocument {
    /// The design.
    pub design: String,
    /// How many.
    pub n: usize,
}

/// One cookie on a dough sheet or tray.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct CutDocument {
    /// The design.
    pub design: String,
    /// Where the rotated origin goes.
    pub x_mm: f64,
    /// Where the rotated origin goes.
    pub y_mm: f64,
    /// Rotation about the origin, clockwise on the page.
    pub rotation_deg: f64,
    /// Whether the outline is mirrored (x becomes -x) before it is rotated.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub mirrored: bool,
}

/// One tray.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct TrayDocument {
    /// Usable width.
    pub width_mm: f64,
    /// Usable length.
    pub length_mm: f64,
    /// The cookies on it.
    pub placements: Vec<CutDocument>,
}

/// What is in the oven at once.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct LoadDocument {
    /// Trays, by their places in `trays`.
    pub trays: Vec<usize>,
    /// Time in the oven.
    pub bake_min: f64,
}

/// Decorating in one go.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct SessionDocument {
    /// 1, 2 and so on.
    pub session: usize,
    /// Its stage, 1, 2 and so on: a drying night lies between two stages, none between sessions of one; 0 in plans that did not say.
    #[serde(default)]
    pub stage: usize,
    /// From picking up the first bag to putting down the last.
    pub active_min: f64,
    /// No order of these passes is shorter; 0 where a stage has several sessions.
    pub bound_min: f64,
    /// How often another bag is picked up.
    pub bag_changes: usize,
    /// Waiting with nothing to pipe.
    pub idle_min: f64,
}

/// One or more sections from one bag, worked over all copies in a row.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct PassDocument {
    /// Its id.
    pub id: String,
    /// Its session: 1, 2 and so on.
    pub session: usize,
    /// The bag; nothing for what is not piped.
    pub bag: Option<String>,
    /// The sections, in the order they are worked.
    pub sections: Vec<String>,
    /// Whether it pipes pieces on paper, to be laid on a day or two later by a pass without a bag.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub ahead: bool,
    /// Which of the makers works it: 1, 2, 3.
    pub maker: usize,
    /// Start, counted from the start of its session.
    pub start_min: f64,
    /// End, counted from the start of its session.
    pub end_min: f64,
    /// Cookies worked, over all its rows.
    pub copies: u32,
    /// Its rows, one after the other without a pause.
    pub rows: Vec<RowDocument>,
    /// What it had to wait for.
    pub waits_for: Vec<WaitDocument>,
}

/// One section over the copies of its design, or some of them, with what is worked wet into it.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct RowDocument {
    /// The sections: the base, then what goes on while it is wet.
    pub sections: Vec<String>,
    /// The first of its cookies, counted from 1; other rows work those before it and behind its last.
    #[serde(default = "first", skip_serializing_if = "is_first")]
    pub first_cookie: u32,
    /// How many cookies.
    pub copies: u32,
    /// Start, counted from the start of its session.
    pub start_min: f64,
    /// End, counted from the start of its session.
    pub end_min: f64,
}

fn first() -> u32 {
    1
}

fn is_first(number: &u32) -> bool {
    *number == first()
}

/// Something a pass had to wait for.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct WaitDocument {
    /// The earlier pass.
    pub pass: String,
    /// The section of that pass that had to be ready.
    pub section: String,
    /// The section of this pass that waited.
    pub waiting: String,
    /// skin, set or dry.
    pub kind: String,
    /// Least time on each cookie between the end of the one and the start of the other.
    pub lag_min: f64,
}
