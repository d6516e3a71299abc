//! `plan.json`, format 1: the whole plan of one order, with its days among the maker's other open orders.
//!
//! Paths and placements are in millimeters, y down, the origin at the top left of the cutter shape's bounding box.
//! A placement mirrors the shape (x becomes -x) where it says so, rotates it about that origin by `rotation_deg`,
//! clockwise on the page, then moves it by `x_mm`, `y_mm`.
//! Numbers are rounded once, on writing.

mod kitchen_work;
mod week;
pub(super) mod write;

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

pub use kitchen_work::{
    BagDocument, BatchDocument, BowlDocument, CutDocument, CuttingDocument, CuttingWayDocument,
    DoseDocument, DoughDocument, LeftoverDocument, LoadDocument, MassRangeDocument, PartDocument,
    PassDocument, RowDocument, SessionDocument, SheetDocument, SheetRowCutDocument,
    SheetRowDocument, TintDocument, TrayDocument, WaitDocument,
};
pub use week::{WeekDocument, WeekEntryDocument, write_week};
pub use write::{Written, write_plan};

/// The number of this format.
pub const FORMAT: u32 = 1;

/// A plan.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[schemars(title = "plan.json")]
pub struct PlanDocument {
    /// The format of this file: 1.
    pub format: u32,
    /// What the plan was made from and by.
    pub basis: BasisDocument,
    /// The order it is for.
    pub order: OrderSummary,
    /// The cookies, one design for each item.
    pub designs: Vec<DesignDocument>,
    /// Areas and lines that are put down in one go, design by design, from the cookie up.
    pub sections: Vec<SectionDocument>,
    /// Wet sections that run close beside each other.
    pub neighbors: Vec<NeighborDocument>,
    /// Sections that lie on others.
    pub overlaps: Vec<OverlapDocument>,
    /// Icing by color, the largest bowl first.
    pub bowls: Vec<BowlDocument>,
    /// The icing to make.
    pub icing_batch: BatchDocument,
    /// The dough to make.
    pub dough: DoughDocument,
    /// Where each cookie is cut.
    pub cutting: CuttingDocument,
    /// How the cookies lie on the trays.
    pub trays: Vec<TrayDocument>,
    /// Oven loads, in the order they go in.
    pub loads: Vec<LoadDocument>,
    /// Decorating sessions, a drying night between each two.
    pub sessions: Vec<SessionDocument>,
    /// Passes in the order they are worked.
    pub passes: Vec<PassDocument>,
    /// What is done when, over all open orders.
    pub days: Vec<DayDocument>,
    /// What to buy and what it costs.
    pub shopping: Vec<ShoppingDocument>,
    /// Cost, price and hourly pay.
    pub price: PriceDocument,
    /// The label.
    pub label: LabelDocument,
    /// Cookie bags.
    pub packing: PackingDocument,
    /// What the maker must know, the worst first.
    pub heads_ups: Vec<HeadsUpDocument>,
}

/// What a plan was made from and by: the same build with the same basis makes the same plan.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct BasisDocument {
    /// Name and version of the planner.
    pub engine: String,
    /// Where the engines' chance started.
    pub seed: u64,
    /// How many candidate answers the engines looked at.
    pub evaluations: u64,
    /// The only clock the planner saw: a date.
    pub today: String,
    /// SHA-256 of the order, its drawings and the kitchen, in hexadecimal.
    pub inputs_sha256: String,
}

/// The order in short.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct OrderSummary {
    /// The occasion.
    pub title: String,
    /// Who it is for.
    pub customer: String,
    /// Whether people and occasion are made up.
    pub invented: bool,
    /// Cookies handed over, extras aside.
    pub count: u32,
    /// When cookies change hands.
    pub handovers: Vec<HandoverDocument>,
    /// What must be on the cookies.
    pub must_have: Vec<String>,
    /// Allergens to keep out.
    pub avoid: Vec<String>,
    /// Whether the customer has confirmed the wording in writing.
    pub wording_confirmed: bool,
}

/// One hand-over.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct HandoverDocument {
    /// Date, time and zone (RFC 9557).
    pub at: String,
    /// Cookies by design.
    pub counts: Vec<CountDocument>,
}

/// So many of one design.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct CountDocument {
    /// The design's id.
    pub design: String,
    /// How many.
    pub count: u32,
}

/// One cookie design.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct DesignDocument {
    /// Its id: the item's name.
    pub id: String,
    /// How many are handed over.
    pub count: u32,
    /// How many are made beyond that.
    pub extras: u32,
    /// Whether there is a drawing.
    pub drawn: bool,
    /// How detailed it is: plain, simple, dressed, detailed or elaborate.
    pub detail: String,
    /// Width of the cutter shape.
    pub width_mm: f64,
    /// Height of the cutter shape.
    pub height_mm: f64,
    /// Area of the cutter shape.
    pub shape_area_mm2: f64,
    /// The cutter shape as an SVG path.
    pub outline_d: String,
    /// Ids of its sections, from the cookie up.
    pub sections: Vec<String>,
}

/// One area or line put down in one go.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct SectionDocument {
    /// Its id: the design's id, a slash, the id of its lowest element in the drawing.
    pub id: String,
    /// The design it belongs to.
    pub design: String,
    /// Its color, #rrggbb.
    pub color: String,
    /// How it is done.
    pub technique: String,
    /// What it is laid on: cookie, wet, skin, set or dry.
    pub onto: String,
    /// 1 lies on the cookie, 2 on layer 1, and so on.
    pub layer: u32,
    /// What one sees of it, as an SVG path; empty without a drawing.
    pub path_d: String,
    /// What is poured of it, as an SVG path; empty where that is just what one sees.
    pub poured_d: String,
    /// Area one sees.
    pub visible_area_mm2: f64,
    /// Area that is poured, also where something lies on top.
    pub poured_area_mm2: f64,
    /// Edge of a flood.
    pub edge_mm: f64,
    /// Length of line or lettering.
    pub line_mm: f64,
    /// Narrowest place.
    pub smallest_width_mm: f64,
    /// Icing on one cookie.
    pub on_cookie_g: f64,
    /// Why this technique was proposed.
    pub reason: String,
}

/// Two wet sections that run close beside each other.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct NeighborDocument {
    /// Their design.
    pub design: String,
    /// One section.
    pub a: String,
    /// The other.
    pub b: String,
    /// Length over which they are close.
    pub shared_mm: f64,
}

/// A section that lies on another.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct OverlapDocument {
    /// Their design.
    pub design: String,
    /// The one on top.
    pub top: String,
    /// The one beneath.
    pub under: String,
    /// Area of the overlap; 0 without a drawing to measure.
    pub area_mm2: f64,
}

/// One activity at its time.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct DayDocument {
    /// What is done.
    pub activity: String,
    /// Title of the order.
    pub order: String,
    /// Whether it is the order of this plan.
    pub this_order: bool,
    /// Start, with zone (RFC 9557).
    pub start: String,
    /// End, with zone (RFC 9557).
    pub end: String,
    /// Whether the maker's hands are in it.
    pub attended: bool,
}

/// One thing that is used, and bought if it is not there.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct ShoppingDocument {
    /// What it is.
    pub name: String,
    /// Mass used, if it is weighed.
    pub mass_g: Option<f64>,
    /// Pieces used, if it is counted.
    pub pieces: Option<u32>,
    /// What one pack holds, if it is weighed.
    pub pack_g: Option<f64>,
    /// What one pack holds, if it is counted.
    pub pack_pieces: Option<u32>,
    /// Whole packs to buy.
    pub packs: u32,
    /// Cost of what is used.
    pub cost_minor: i64,
    /// Price of the packs.
    pub outlay_minor: i64,
}

/// Cost, price and hourly pay, in minor units of the currency.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct PriceDocument {
    /// What the cost is made of.
    pub lines: Vec<PriceLineDocument>,
    /// Cost with the maker's hours at the wage.
    pub cost_minor: i64,
    /// Cost without the maker's hours.
    pub cash_cost_minor: i64,
    /// What the customer pays by the kitchen's rule.
    pub price_minor: i64,
    /// What that price pays the maker an hour.
    pub per_hour_minor: i64,
    /// What holds the date.
    pub deposit_minor: i64,
    /// The maker's hours.
    pub hours: f64,
    /// ISO 4217 code of the currency.
    pub currency: String,
}

/// One line of the cost.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct PriceLineDocument {
    /// What it is for.
    pub name: String,
    /// ingredients, packaging, energy, work or overhead.
    pub part: String,
    /// The amount.
    pub amount_minor: i64,
}

/// The label.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct LabelDocument {
    /// Ingredients in descending order of mass.
    pub ingredients: Vec<LabelIngredientDocument>,
    /// Allergens.
    pub allergens: Vec<String>,
    /// The allergen line as it is printed; empty where the law wants allergens stressed in the list instead.
    pub contains_line: String,
    /// What must be printed about its colors; empty where nothing must.
    #[serde(default)]
    pub color_warning: String,
    /// Mass of an average cookie.
    pub net_g: f64,
    /// What goes on the label or is kept in mind beside it.
    pub cautions: Vec<String>,
}

/// One ingredient of the label.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct LabelIngredientDocument {
    /// As it is printed.
    pub text: String,
    /// How much went in, over the whole order.
    pub mass_g: f64,
}

/// Cookie bags.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct PackingDocument {
    /// One row a design.
    pub designs: Vec<PackedDesignDocument>,
}

/// The bag of one design.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct PackedDesignDocument {
    /// The design.
    pub design: String,
    /// The cookie bag that fits; nothing if none does.
    pub cookie_bag: Option<String>,
    /// How many.
    pub count: u32,
    /// Least flat width of the bag.
    pub need_width_mm: f64,
    /// Least length of the bag.
    pub need_length_mm: f64,
}

/// Something the maker must know.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct HeadsUpDocument {
    /// note, caution or stop.
    pub severity: String,
    /// What it is about.
    pub subject: SubjectDocument,
    /// What is the matter.
    pub message: String,
    /// What to do about it.
    pub hint: Option<String>,
}

/// What a heads-up is about.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct SubjectDocument {
    /// The kind of thing.
    pub kind: String,
    /// Its id; empty where there is only one of its kind.
    pub id: String,
}
