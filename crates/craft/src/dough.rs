//! How much dough is made?
//!
//! m = A t ρ
//!
//! - `A` area of what is rolled, mm²
//! - `t` thickness of the rolled dough, mm
//! - `ρ` density of the rolled dough, g/ml
//!
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
use nesting::Outline;
use quantity::{Area, Density, Length, Mass};

use crate::{
    cutting::{Cutting, CuttingMemory, SheetsSoFar, plan_cutting},
    heads_up::{HeadsUp, Severity, Subject},
    kitchen::{Kitchen, Part},
    order::Order,
    plan::Basis,
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

/// Returns the mass of rolled dough.
pub fn rolled_mass(area: Area, thickness: Length, density: Density) -> Mass {
    area * thickness * density
}

/// Returns how much dough is made for fresh sheets of so large an area: what lies in them and what sticks to board and pin.
pub(crate) fn dough_mass(kitchen: &Kitchen, fresh: Area) -> Mass {
    let rules = &kitchen.dough;
    rolled_mass(fresh, rules.thickness, rules.density)
        / rules.handling_loss.rest().to_one().max(0.1)
}

/// Plans dough and cutting for all designs whose cookies are not baked yet.
///
/// The same basis gives the same plan; `memory` only saves searching again.
pub fn plan_dough(
    kitchen: &Kitchen,
    order: &Order,
    designs: &[Design],
    basis: &Basis,
    memory: &CuttingMemory,
    on_progress: &mut dyn FnMut(Option<SheetsSoFar>) -> ControlFlow<()>,
) -> (DoughPlan, Vec<HeadsUp>) {
    let dough = &kitchen.dough;
    let raw_cookie = designs
        .iter()
        .map(|design| rolled_mass(design.outline.area(), dough.thickness, dough.density))
        .collect();
    let (cutting, heads_ups) = plan_cutting(kitchen, order, designs, basis, memory, on_progress);
    let fresh = cutting.plan.as_ref().map_or(Area::ZERO, |plan| Area::mm2(plan.fresh_area_mm2));
    let mass = dough_mass(kitchen, fresh);
    let recipe = kitchen.recipe(&dough.recipe);
    let parts = recipe.map(|recipe| recipe.scaled_to(mass)).unwrap_or_default();
    let batch_max = recipe.and_then(|recipe| recipe.batch_max).unwrap_or(mass);
    let n_batches = (mass / batch_max.max(Mass::g(1.0)) - 1e-9).ceil().clamp(0.0, 1e6) as u32;
    (DoughPlan { mass, parts, n_batches, raw_cookie, cutting }, heads_ups)
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

/// Returns the corners of a cutter shape's one ring.
pub(crate) fn outline_points(outline: &Region) -> Outline {
    outline.rings().next().map(<[[f64; 2]]>::to_vec).unwrap_or_default()
}
