//! How much dough is made, how many sheets are rolled, and where is each cookie cut?
//!
//! m = A t ρ
//!
//! - `A` area of what is rolled, mm²
//! - `t` thickness of the rolled dough, mm
//! - `ρ` density of the rolled dough, g/ml
//!
//! Sheets in the freezer come first, then fresh ones, then what is rolled from scraps; the engine `nesting` places the cookies.
//! What is made for the fresh sheets is more than what lies in them by the loss of one rolling.
//!
//! Source: geometry; density and loss are start values (common practice, no source): the maker weighs one cut cookie.
//!
//! # Worked example
//! A cookie of 68 cm², 6.35 mm thick, 1.22 g/ml: 6800 mm² x 6.35 mm = 43.18 ml, which weighs 52.7 g.
//! ```
//! use craft::dough::rolled_mass;
//! use quantity::{Area, Density, Length, Mass};
//!
//! let mass = rolled_mass(Area::cm2(68.0), Length::mm(6.35), Density::g_per_ml(1.22));
//! assert!((mass - Mass::g(52.7)).to_g().abs() < 0.05);
//! ```

use std::ops::ControlFlow;

use drawing::Region;
use nesting::{
    Budget, Outline, Piece, Rerolls, Rotation, SheetSize, SheetsPlan, SheetsRequest, Stock,
};
use quantity::{Area, Density, Length, Mass};

use crate::{
    heads_up::{HeadsUp, Severity, Subject},
    kitchen::{DoughSheet, Kitchen, Part},
    order::Order,
    technique::Design,
};

/// The chapter on dough and cutting.
#[derive(Clone, Debug, Default)]
pub struct DoughPlan {
    /// Dough to make for the fresh sheets.
    pub mass: Mass,
    /// What goes in, over all batches.
    pub parts: Vec<Part>,
    /// In how many batches it is made.
    pub n_batches: u32,
    /// Raw mass of one cut cookie of each design.
    pub raw_cookie: Vec<Mass>,
    /// Where each cookie is cut.
    pub cutting: Cutting,
}

/// The sheets to roll and cut, and which design each piece of the engine's plan is.
#[derive(Clone, Debug, Default)]
pub struct Cutting {
    /// The engine's plan; nothing if there is nothing to cut.
    pub plan: Option<SheetsPlan>,
    /// The design of each piece, by its place.
    pub designs: Vec<usize>,
}

impl Cutting {
    /// Returns how many fresh sheets are rolled.
    pub fn n_fresh(&self) -> usize {
        self.plan.as_ref().map_or(0, |plan| plan.n_fresh)
    }

    /// Returns how many sheets come from the freezer.
    pub fn n_stock(&self) -> usize {
        self.plan.as_ref().map_or(0, |plan| plan.n_stock)
    }

    /// Returns how many sheets are rolled from scraps.
    pub fn n_rerolled(&self) -> usize {
        self.plan.as_ref().map_or(0, |plan| plan.n_rerolled)
    }

    /// Returns how many cookies are cut.
    pub fn n_cut(&self) -> usize {
        self.plan
            .as_ref()
            .map_or(0, |plan| plan.sheets.iter().map(|sheet| sheet.placements.len()).sum())
    }
}

/// Returns the mass of rolled dough.
pub fn rolled_mass(area: Area, thickness: Length, density: Density) -> Mass {
    area * thickness * density
}

/// Plans dough and cutting for all designs whose cookies are not baked yet.
///
/// `budget` counts evaluations of the engine; the same seed and budget give the same plan.
pub fn plan_dough(
    kitchen: &Kitchen,
    order: &Order,
    designs: &[Design],
    budget: Budget,
    seed: u64,
    on_progress: &mut dyn FnMut() -> ControlFlow<()>,
) -> (DoughPlan, Vec<HeadsUp>) {
    let mut heads_ups = Vec::new();
    let dough = &kitchen.dough;
    let raw_cookie = designs
        .iter()
        .map(|design| rolled_mass(design.outline.area(), dough.thickness, dough.density))
        .collect();
    let cutting = plan_cutting(kitchen, order, designs, budget, seed, on_progress, &mut heads_ups);
    let fresh = cutting.plan.as_ref().map_or(Area::ZERO, |plan| Area::mm2(plan.fresh_area_mm2));
    let mass = rolled_mass(fresh, dough.thickness, dough.density)
        / dough.handling_loss.rest().to_one().max(0.1);
    let recipe = kitchen.recipe(&dough.recipe);
    let parts = recipe.map(|recipe| recipe.scaled_to(mass)).unwrap_or_default();
    let batch_max = recipe.and_then(|recipe| recipe.batch_max).unwrap_or(mass);
    let n_batches = (mass / batch_max.max(Mass::g(1.0)) - 1e-9).ceil().clamp(0.0, 1e6) as u32;
    (DoughPlan { mass, parts, n_batches, raw_cookie, cutting }, heads_ups)
}

fn plan_cutting(
    kitchen: &Kitchen,
    order: &Order,
    designs: &[Design],
    budget: Budget,
    seed: u64,
    on_progress: &mut dyn FnMut() -> ControlFlow<()>,
    heads_ups: &mut Vec<HeadsUp>,
) -> Cutting {
    let Some(fresh_size) = kitchen.dough_sheets.first() else { return Cutting::default() };
    let mut places: Vec<usize> = (0..designs.len())
        .filter(|&place| {
            order.items[place].baked_frozen_on.is_none() && designs[place].copies() > 0
        })
        .collect();
    while !places.is_empty() {
        let request = SheetsRequest {
            pieces: places.iter().map(|&place| piece(&designs[place])).collect(),
            sheet: sheet_size(fresh_size),
            stock: kitchen
                .dough_sheets
                .iter()
                .filter(|sheet| sheet.in_freezer > 0)
                .map(|sheet| Stock { size: sheet_size(sheet), n: sheet.in_freezer as usize })
                .collect(),
            gap_mm: kitchen.dough.cut_gap.to_mm(),
            edge_margin_mm: kitchen.dough.edge_margin.to_mm(),
            rerolls: Rerolls {
                max: kitchen.dough.rerolls_max,
                loss: kitchen.dough.handling_loss.to_one(),
            },
            one_piece_per_sheet: kitchen.dough.one_shape_per_sheet,
            budget,
            seed,
        };
        match nesting::plan_sheets(&request, &mut |_| on_progress()) {
            Ok(plan) => return Cutting { plan: Some(plan), designs: places },
            Err(nesting::Error::PieceTooLarge { piece, .. }) if piece < places.len() => {
                let sheet = (fresh_size.width, fresh_size.length);
                heads_ups.push(too_large(&designs[places.remove(piece)], "dough sheet", sheet));
            }
            Err(error) => {
                heads_ups.push(
                    HeadsUp::new(
                        Severity::Stop,
                        Subject::Dough,
                        format!("The cookies could not be laid out: {error}."),
                    )
                    .hint("Check gap, margin and sheet size in kitchen.toml."),
                );
                return Cutting::default();
            }
        }
    }
    Cutting::default()
}

/// Says that a cookie does not fit what it is cut from or baked on.
pub(crate) fn too_large(design: &Design, what: &str, (width, length): (Length, Length)) -> HeadsUp {
    HeadsUp::new(
        Severity::Stop,
        Subject::Item(design.id.clone()),
        format!(
            "A cookie of {:.0} x {:.0} mm does not fit a {what} of {:.0} x {:.0} mm.",
            design.width.to_mm(),
            design.height.to_mm(),
            width.to_mm(),
            length.to_mm(),
        ),
    )
    .hint(format!(
        "Use a larger {what} (in kitchen.toml) or make the cookie smaller; it is not laid out, while icing, hours and price still count it."
    ))
}

fn piece(design: &Design) -> Piece {
    Piece {
        outline: outline_points(&design.outline),
        n: design.copies() as usize,
        n_optional: 0,
        rotation: Rotation::Free,
        mirror: false,
        fresh_only: false,
    }
}

/// Returns the corners of a cutter shape's one ring.
pub(crate) fn outline_points(outline: &Region) -> Outline {
    outline.rings().next().map(<[[f64; 2]]>::to_vec).unwrap_or_default()
}

fn sheet_size(sheet: &DoughSheet) -> SheetSize {
    SheetSize { width_mm: sheet.width.to_mm(), length_mm: sheet.length.to_mm() }
}
