//! From what the engine found to the answer, rounded once; and its refusals in words.

use nesting::{CutSheet, Error, Placement, SheetsPlan, StripPlan, StripRequest, TurningPlan};

use super::{NestPlacement, NestSheet, OtherPlan};
use crate::document::{error::BadValue, plan::write::round};

/// Lengths and angles are written to a millionth: nothing against the tolerance of 0.001 mm.
const DECIMALS: i32 = 6;

/// A refusal of the engine at the value it is about.
pub(super) fn refused(error: &Error) -> BadValue {
    let at = |piece: usize, key: &'static str, message: String| {
        BadValue::new(key, message).within("items", piece)
    };
    match error {
        Error::PieceTooLarge { piece, width_mm, height_mm } => at(
            *piece,
            "outline",
            format!(
                "it is {width_mm:.2} x {height_mm:.2} mm and does not fit between the margins of a fresh sheet, however it may be turned; make it smaller or the sheet larger"
            ),
        ),
        Error::BadOutline { piece, what } => at(
            *piece,
            "outline",
            format!("it {what}; draw it as one closed curve that does not cross itself"),
        ),
        Error::BadAngles { piece, what, most } => at(
            *piece,
            "rotation",
            format!("the angles {what}; list 1 to {most} angles in degrees, or write \"free\""),
        ),
        Error::TooMany { .. } => BadValue::new("items", error.to_string()),
        _ => BadValue::new("sheet", error.to_string()),
    }
}

fn placement(one: &Placement) -> NestPlacement {
    NestPlacement {
        item: one.piece,
        x_mm: round(one.x_mm, DECIMALS),
        y_mm: round(one.y_mm, DECIMALS),
        rotation_deg: round(one.rotation_deg, DECIMALS),
        mirrored: one.mirrored,
    }
}

fn sheet(cut: &CutSheet) -> NestSheet {
    NestSheet {
        round: cut.round,
        from_stock: cut.from_stock,
        width_mm: round(cut.size.width_mm, DECIMALS),
        length_mm: round(cut.size.length_mm, DECIMALS),
        placements: cut.placements.iter().map(placement).collect(),
    }
}

pub(super) fn sheets(plan: &SheetsPlan) -> Vec<NestSheet> {
    plan.sheets.iter().map(sheet).collect()
}

pub(super) fn strip(request: &StripRequest, plan: &StripPlan) -> Vec<NestSheet> {
    vec![NestSheet {
        round: 0,
        from_stock: false,
        width_mm: request.width_mm,
        length_mm: round(plan.length_mm, DECIMALS),
        placements: plan.placements.iter().map(placement).collect(),
    }]
}

/// The trays with their margin around them.
pub(super) fn trays(plan: &TurningPlan, size: [f64; 2], margin_mm: f64) -> Vec<NestSheet> {
    let moved = |one: &Placement| Placement {
        x_mm: one.x_mm + margin_mm,
        y_mm: one.y_mm + margin_mm,
        ..*one
    };
    let trays = plan.plan.trays.iter();
    trays
        .map(|tray| NestSheet {
            round: 0,
            from_stock: false,
            width_mm: size[0],
            length_mm: size[1],
            placements: tray.placements.iter().map(|one| placement(&moved(one))).collect(),
        })
        .collect()
}

pub(super) fn other(plan: &SheetsPlan, rerolls: usize, area_bound: f64) -> OtherPlan {
    OtherPlan {
        rerolls,
        sheets: sheets(plan),
        n_fresh: plan.n_fresh,
        n_stock: plan.n_stock,
        n_rerolled: plan.n_rerolled,
        fresh_area_mm2: mm2(plan.fresh_area_mm2),
        dough_use: share(plan.dough_use),
        area_bound: mm2(area_bound),
    }
}

/// An area as it is written.
pub(super) fn mm2(area_mm2: f64) -> f64 {
    round(area_mm2, 3)
}

/// A share as it is written.
pub(super) fn share(share: f64) -> f64 {
    round(share, 6)
}
