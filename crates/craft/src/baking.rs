//! How do the cookies lie on the trays, how many loads is that, and how long does the oven run?
//!
//! One tray carries one size class: cookies that bake for the same time.
//! Loads of a class = trays / oven slots, rounded up; oven time = loads x time of the class, and a change between loads.
//! Baked mass = raw mass x (1 - loss).
//!
//! Source: geometry; times and gaps are start values (common practice, no source).
//!
//! # Worked example
//! Squares of 3.2 in, 1 in apart, on a usable 16.5 x 11.5 in: (16.5 + 1) / 4.2 = 4 in a row, (11.5 + 1) / 4.2 = 2 rows, 8 in all.

use nesting::{SheetSize, TrayPiece, TraysPlan, TraysRequest};
use quantity::{Length, Mass, Span};

use crate::{
    dough::{outline_points, too_large},
    heads_up::{HeadsUp, Severity, Subject},
    kitchen::Kitchen,
    order::Order,
    technique::Design,
};

/// The chapter on trays and oven.
#[derive(Clone, Debug, Default)]
pub struct BakingPlan {
    /// The engine's plan; nothing if there is nothing to bake.
    pub plan: Option<TraysPlan>,
    /// The design of each piece of that plan, by its place.
    pub designs: Vec<usize>,
    /// Oven loads, in the order they go in.
    pub loads: Vec<Load>,
    /// Time from the first load in to the last one out.
    pub oven_time: Span,
    /// Baked mass of one cookie of each design, before icing.
    pub baked_cookie: Vec<Mass>,
}

/// What is in the oven at once.
#[derive(Clone, Debug, PartialEq)]
pub struct Load {
    /// Trays, by their places in the plan.
    pub trays: Vec<usize>,
    /// Time in the oven.
    pub bake: Span,
}

impl BakingPlan {
    /// Returns how many trays are filled.
    pub fn n_trays(&self) -> usize {
        self.plan.as_ref().map_or(0, |plan| plan.trays.len())
    }
}

/// Plans trays and loads for all designs whose cookies are not baked yet.
pub fn plan_baking(
    kitchen: &Kitchen,
    order: &Order,
    designs: &[Design],
    raw_cookie: &[Mass],
) -> (BakingPlan, Vec<HeadsUp>) {
    let mut heads_ups = Vec::new();
    let baked_cookie =
        raw_cookie.iter().map(|&raw| raw * kitchen.baking.loss.rest().to_one()).collect();
    let mut chapter = BakingPlan { baked_cookie, ..BakingPlan::default() };
    let Some(tray) = kitchen.trays.first() else { return (chapter, heads_ups) };

    let mut places: Vec<usize> = (0..designs.len())
        .filter(|&place| {
            order.items[place].baked_frozen_on.is_none() && designs[place].copies() > 0
        })
        .collect();
    while !places.is_empty() {
        let pieces = places
            .iter()
            .map(|&place| TrayPiece {
                outline: outline_points(&designs[place].outline),
                n: designs[place].copies() as usize,
                size_class: size_class(kitchen, &designs[place]),
            })
            .collect();
        let request = TraysRequest {
            pieces,
            tray: SheetSize { width_mm: tray.width.to_mm(), length_mm: tray.length.to_mm() },
            gap_mm: tray.gap.to_mm(),
        };
        match nesting::plan_trays(&request) {
            Ok(plan) => {
                chapter.loads = loads(kitchen, &plan);
                chapter.plan = Some(plan);
                break;
            }
            Err(nesting::Error::PieceTooLarge { piece, .. }) if piece < places.len() => {
                heads_ups.push(too_large(
                    &designs[places.remove(piece)],
                    "tray",
                    (tray.width, tray.length),
                ));
            }
            Err(error) => {
                heads_ups.push(HeadsUp::new(
                    Severity::Stop,
                    Subject::Baking,
                    format!("The cookies could not be laid on trays: {error}."),
                ));
                break;
            }
        }
    }
    chapter.designs = places;
    let changes = chapter.loads.len().saturating_sub(1) as f64;
    chapter.oven_time =
        chapter.loads.iter().map(|load| load.bake).sum::<Span>() + kitchen.oven.change * changes;
    if chapter.n_trays() > tray.owned as usize {
        heads_ups.push(
            HeadsUp::new(
                Severity::Note,
                Subject::Baking,
                format!("The cookies fill {} trays and the kitchen has {}.", chapter.n_trays(), tray.owned),
            )
            .hint("Let baked cookies cool and move them to racks or boards before the next ones are laid out."),
        );
    }
    (chapter, heads_ups)
}

/// Cookies of one class bake for the same time: the first whose limit holds the longer side, else the last.
fn size_class(kitchen: &Kitchen, design: &Design) -> usize {
    let longer = design.width.max(design.height);
    let loads = &kitchen.oven.loads;
    loads.iter().position(|load| longer <= load.up_to).unwrap_or(loads.len().saturating_sub(1))
}

fn loads(kitchen: &Kitchen, plan: &TraysPlan) -> Vec<Load> {
    let slots = kitchen.oven.slots.max(1) as usize;
    let mut classes: Vec<usize> = plan.trays.iter().map(|tray| tray.size_class).collect();
    classes.sort_unstable();
    classes.dedup();
    let mut loads = Vec::new();
    for class in classes {
        let trays: Vec<usize> =
            (0..plan.trays.len()).filter(|&tray| plan.trays[tray].size_class == class).collect();
        let bake = kitchen.oven.loads.get(class).map_or(Span::ZERO, |load| load.bake);
        loads.extend(trays.chunks(slots).map(|trays| Load { trays: trays.to_vec(), bake }));
    }
    loads
}

/// Thickness of a baked and iced cookie: the dough and the deepest icing on it.
pub fn iced_thickness(kitchen: &Kitchen, n_layers: u32) -> Length {
    let upper = kitchen.icing.layer_depth * f64::from(n_layers.saturating_sub(1));
    kitchen.dough.thickness + kitchen.icing.base_depth + upper
}
