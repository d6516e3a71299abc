//! No two cuts closer than the gap, none over the edge, every cookie there, and no dough from nowhere.

use std::collections::BTreeMap;

use crate::{
    document::plan::{CutDocument, PlanDocument},
    kitchen::Kitchen,
};

/// Placements are written to 0.001 mm and 0.0001 degrees.
const ROUNDING_MM: f64 = 0.01;

type Ring = Vec<[f64; 2]>;

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

fn check_layout(
    name: &str,
    outlines: &BTreeMap<&str, Ring>,
    placements: &[CutDocument],
    width: f64,
    length: f64,
    gap: f64,
    margin: f64,
) -> Vec<String> {
    let mut broken = Vec::new();
    let placed: Vec<(&str, Ring)> = placements
        .iter()
        .filter_map(|cut| {
            Some((cut.design.as_str(), place(outlines.get(cut.design.as_str())?, cut)))
        })
        .collect();
    if placed.len() != placements.len() {
        broken.push(format!("{name} places a design the plan does not have"));
    }
    // A tray may be used lengthwise or crosswise; the sides are those of the drawing.
    for (design, ring) in &placed {
        let outside = ring.iter().any(|&[x, y]| {
            x < margin - ROUNDING_MM
                || y < margin - ROUNDING_MM
                || x > width - margin + ROUNDING_MM
                || y > length - margin + ROUNDING_MM
        });
        if outside {
            broken.push(format!("{name}: a {design} lies over the edge"));
        }
    }
    for (i, (one, a)) in placed.iter().enumerate() {
        for (other, b) in &placed[i + 1..] {
            let distance = distance(a, b, gap);
            if distance < gap - ROUNDING_MM {
                broken.push(format!("{name}: {one} and {other} are {distance:.3} mm apart"));
            }
        }
    }
    broken
}

fn place(ring: &Ring, cut: &CutDocument) -> Ring {
    let (sin, cos) = cut.rotation_deg.to_radians().sin_cos();
    ring.iter()
        .map(|&[x, y]| [x * cos - y * sin + cut.x_mm, x * sin + y * cos + cut.y_mm])
        .collect()
}

/// Reads the one ring of each design's path: "M x y L x y ... Z" in absolute coordinates.
fn outlines(plan: &PlanDocument) -> BTreeMap<&str, Ring> {
    plan.designs.iter().map(|design| (design.id.as_str(), ring(&design.outline_d))).collect()
}

fn ring(path: &str) -> Ring {
    let first = path.split(['Z', 'z']).next().unwrap_or("");
    let numbers: Vec<f64> = first
        .split(|c: char| !(c.is_ascii_digit() || matches!(c, '.' | '-' | '+' | 'e')))
        .filter_map(|n| n.parse().ok())
        .collect();
    numbers.chunks_exact(2).map(|pair| [pair[0], pair[1]]).collect()
}

/// Area by the shoelace formula.
fn area(ring: &Ring) -> f64 {
    let n = ring.len();
    let twice: f64 =
        (0..n).map(|i| ring[i][0] * ring[(i + 1) % n][1] - ring[(i + 1) % n][0] * ring[i][1]).sum();
    twice.abs() / 2.0
}

/// Distance of two rings, 0 if one covers a corner of the other; anything beyond `enough` may come back as `enough`.
fn distance(a: &Ring, b: &Ring, enough: f64) -> f64 {
    let far = [0, 1].into_iter().any(|axis| {
        let (a, b) = (extent(a, axis), extent(b, axis));
        b.0 - a.1 > enough || a.0 - b.1 > enough
    });
    if far {
        return enough;
    }
    if a.first().is_some_and(|&p| inside(p, b)) || b.first().is_some_and(|&p| inside(p, a)) {
        return 0.0;
    }
    let mut least = f64::MAX;
    for i in 0..a.len() {
        for j in 0..b.len() {
            let (p, q) = (a[i], a[(i + 1) % a.len()]);
            let (r, s) = (b[j], b[(j + 1) % b.len()]);
            if crosses(p, q, r, s) {
                return 0.0;
            }
            least = least.min(to_segment(p, r, s)).min(to_segment(r, p, q));
        }
    }
    least
}

fn extent(ring: &Ring, axis: usize) -> (f64, f64) {
    ring.iter().fold((f64::MAX, f64::MIN), |(low, high), p| (low.min(p[axis]), high.max(p[axis])))
}

fn inside([x, y]: [f64; 2], ring: &Ring) -> bool {
    (0..ring.len()).fold(false, |inside, i| {
        let ([ax, ay], [bx, by]) = (ring[i], ring[(i + 1) % ring.len()]);
        let crosses = (ay > y) != (by > y) && x < (bx - ax) * (y - ay) / (by - ay) + ax;
        inside != crosses
    })
}

fn turn(a: [f64; 2], b: [f64; 2], c: [f64; 2]) -> f64 {
    (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0])
}

fn crosses(p: [f64; 2], q: [f64; 2], r: [f64; 2], s: [f64; 2]) -> bool {
    turn(p, q, r) * turn(p, q, s) < 0.0 && turn(r, s, p) * turn(r, s, q) < 0.0
}

fn to_segment(p: [f64; 2], a: [f64; 2], b: [f64; 2]) -> f64 {
    let (dx, dy) = (b[0] - a[0], b[1] - a[1]);
    let length = dx * dx + dy * dy;
    let t = if length > 0.0 {
        (((p[0] - a[0]) * dx + (p[1] - a[1]) * dy) / length).clamp(0.0, 1.0)
    } else {
        0.0
    };
    (p[0] - a[0] - t * dx).hypot(p[1] - a[1] - t * dy)
}
