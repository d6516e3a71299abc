//! No two cuts closer than the gap, none over the edge, every cookie there, and no dough from nowhere.

use std::collections::BTreeMap;

use nesting::{LayoutRules, Outline, Placement};

use crate::{
    document::plan::{CutDocument, PlanDocument},
    kitchen::Kitchen,
};

/// Placements are written to 0.001 mm and 0.0001 degrees.
const ROUNDING_MM: f64 = 0.01;

pub(super) fn check_sheets(kitchen: &Kitchen, plan: &PlanDocument) -> Vec<String> {
    let outlines = outlines(plan);
    let mut broken = Vec::new();
    let mut counts: BTreeMap<&str, u32> = BTreeMap::new();
    let (gap, margin) = (kitchen.dough.cut_gap.to_mm(), kitchen.dough.edge_margin.to_mm());
    for (number, sheet) in plan.cutting.sheets.iter().enumerate() {
        let name = format!("sheet {}", number + 1);
        broken.extend(check_layout(
            &name,
            &outlines,
            &sheet.placements,
            sheet.width_mm,
            sheet.length_mm,
            gap,
            margin,
        ));
        for cut in &sheet.placements {
            *counts.entry(&cut.design).or_default() += 1;
        }
    }
    broken.extend(missing(plan, &counts, "cut"));
    // Mass balance: a round has no more dough than the last one left, less what sticks.
    let last_round = plan.cutting.sheets.iter().map(|sheet| sheet.round).max().unwrap_or(0);
    for round in 1..=last_round {
        let of =
            |round: usize| plan.cutting.sheets.iter().filter(move |sheet| sheet.round == round);
        let rolled: f64 = of(round).map(|sheet| sheet.width_mm * sheet.length_mm).sum();
        let before: f64 = of(round - 1).map(|sheet| sheet.width_mm * sheet.length_mm).sum();
        let cut: f64 = of(round - 1)
            .flat_map(|sheet| &sheet.placements)
            .filter_map(|cut| outlines.get(cut.design.as_str()))
            .map(area)
            .sum();
        let left = (before - cut) * kitchen.dough.handling_loss.rest().to_one();
        // Sides are written to 0.01 mm.
        if rolled
            > left + 0.01 * of(round).map(|sheet| sheet.width_mm + sheet.length_mm).sum::<f64>()
        {
            broken
                .push(format!("round {round} rolls {rolled:.0} mm² from {left:.0} mm² of scraps"));
        }
    }
    broken
}

pub(super) fn check_trays(kitchen: &Kitchen, plan: &PlanDocument) -> Vec<String> {
    let outlines = outlines(plan);
    let Some(gap) = kitchen.trays.first().map(|tray| tray.gap.to_mm()) else { return Vec::new() };
    let mut broken = Vec::new();
    let mut counts: BTreeMap<&str, u32> = BTreeMap::new();
    for (number, tray) in plan.trays.iter().enumerate() {
        let name = format!("tray {}", number + 1);
        broken.extend(check_layout(
            &name,
            &outlines,
            &tray.placements,
            tray.width_mm,
            tray.length_mm,
            gap,
            0.0,
        ));
        for cut in &tray.placements {
            *counts.entry(&cut.design).or_default() += 1;
        }
    }
    broken.extend(missing(plan, &counts, "laid on a tray"));
    let in_oven: usize = plan.loads.iter().map(|load| load.trays.len()).sum();
    if in_oven != plan.trays.len() {
        broken
            .push(format!("{} trays are filled and {in_oven} go into the oven", plan.trays.len()));
    }
    broken
}

/// Every cookie is placed, unless a heads-up says why its design is not.
fn missing(plan: &PlanDocument, counts: &BTreeMap<&str, u32>, done: &str) -> Vec<String> {
    plan.designs
        .iter()
        .filter(|design| {
            !plan.heads_ups.iter().any(|one| {
                one.subject.kind == "item" && one.subject.id == design.id && says_why(&one.message)
            })
        })
        .filter_map(|design| {
            let (placed, wanted) = (
                counts.get(design.id.as_str()).copied().unwrap_or(0),
                design.count + design.extras,
            );
            (placed != wanted).then(|| format!("{placed} of {wanted} {} are {done}", design.id))
        })
        .collect()
}

fn says_why(message: &str) -> bool {
    message.contains("does not fit") || message.contains("baked and frozen")
}

/// Checks one sheet or tray with the independent checker of the engine's crate.
fn check_layout(
    name: &str,
    outlines: &BTreeMap<&str, Outline>,
    placements: &[CutDocument],
    width_mm: f64,
    length_mm: f64,
    gap_mm: f64,
    margin_mm: f64,
) -> Vec<String> {
    let designs: Vec<&str> = outlines.keys().copied().collect();
    let placed: Vec<Placement> = placements
        .iter()
        .map(|cut| Placement {
            // A design the plan does not have is told as an unknown piece.
            piece: designs.iter().position(|&design| design == cut.design).unwrap_or(designs.len()),
            x_mm: cut.x_mm,
            y_mm: cut.y_mm,
            rotation_deg: cut.rotation_deg,
            mirrored: cut.mirrored,
        })
        .collect();
    let rules = LayoutRules { width_mm, length_mm, gap_mm, margin_mm, tolerance_mm: ROUNDING_MM };
    nesting::check_layout(0, &outlines.values().collect::<Vec<_>>(), &placed, &rules)
        .into_iter()
        .map(|violation| format!("{name}: {violation:?}"))
        .collect()
}

/// Reads the one ring of each design's path: "M x y L x y ... Z" in absolute coordinates.
fn outlines(plan: &PlanDocument) -> BTreeMap<&str, Outline> {
    plan.designs.iter().map(|design| (design.id.as_str(), ring(&design.outline_d))).collect()
}

fn ring(path: &str) -> Outline {
    let first = path.split(['Z', 'z']).next().unwrap_or("");
    let numbers: Vec<f64> = first
        .split(|c: char| !(c.is_ascii_digit() || matches!(c, '.' | '-' | '+' | 'e')))
        .filter_map(|n| n.parse().ok())
        .collect();
    numbers.chunks_exact(2).map(|pair| [pair[0], pair[1]]).collect()
}

/// Area by the shoelace formula.
fn area(ring: &Outline) -> f64 {
    let n = ring.len();
    let twice: f64 =
        (0..n).map(|i| ring[i][0] * ring[(i + 1) % n][1] - ring[(i + 1) % n][0] * ring[i][1]).sum();
    twice.abs() / 2.0
}
