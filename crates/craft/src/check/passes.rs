//! Wet never runs into wet: every lag is kept on every single cookie.

use std::collections::BTreeMap;

use crate::{
    document::plan::{PassDocument, PlanDocument, RowDocument, SectionDocument},
    drying::State,
    kitchen::Kitchen,
};

/// Times are written to 0.1 min; a difference of two carries twice that, on either side.
const ROUNDING_MIN: f64 = 0.21;

pub(super) fn check(kitchen: &Kitchen, plan: &PlanDocument) -> Vec<String> {
    let mut broken = Vec::new();
    let rows = rows_by_section(plan);
    let copies: BTreeMap<&str, u32> = plan
        .designs
        .iter()
        .map(|design| (design.id.as_str(), design.count + design.extras))
        .collect();
    for section in plan.sections.iter().filter(|section| section.technique != "naked") {
        match rows.get(section.id.as_str()) {
            None => broken.push(format!("{} is in no pass", section.id)),
            Some(placed) => {
                let wanted = copies.get(section.design.as_str()).copied().unwrap_or(0);
                if placed.len() != 1 || placed[0].1.copies != wanted {
                    broken.push(format!("{} is not worked once on {wanted} cookies", section.id));
                }
            }
        }
    }
    broken.extend(one_thing_at_a_time(plan));

    let section_of: BTreeMap<&str, &SectionDocument> =
        plan.sections.iter().map(|section| (section.id.as_str(), section)).collect();
    // A flood on a base is as deep as a layer; all else counts like a base.
    let depth_of = |id: &str| match section_of.get(id) {
        Some(section) if section.technique == "flood" && section.layer > 1 => {
            kitchen.icing.layer_depth
        }
        _ => kitchen.icing.base_depth,
    };
    let at = |id: &str| rows.get(id).and_then(|placed| placed.first()).copied();
    for overlap in &plan.overlaps {
        let (Some(under), Some(top)) = (at(&overlap.under), at(&overlap.top)) else { continue };
        let onto = section_of.get(overlap.top.as_str()).map_or("", |section| section.onto.as_str());
        let least = match onto {
            "wet" => continue,
            "skin" => State::Skin,
            _ => State::Set,
        };
        let least = kitchen.drying.wait(least, depth_of(&overlap.under));
        let needs_night = onto == "dry"
            || section_of.get(overlap.under.as_str()).is_some_and(|under| under.layer == 1);
        if needs_night && top.0.session <= under.0.session {
            broken.push(format!("{} needs a night after {}", overlap.top, overlap.under));
        }
        if top.0.session == under.0.session
            && shortest_lag(under.1, top.1) < least.to_minutes() - ROUNDING_MIN
        {
            broken.push(format!("{} is piped before {} is set", overlap.top, overlap.under));
        }
        if top.0.session < under.0.session {
            broken.push(format!("{} is piped a session before {}", overlap.top, overlap.under));
        }
    }
    for neighbor in &plan.neighbors {
        let (Some(a), Some(b)) = (at(&neighbor.a), at(&neighbor.b)) else { continue };
        let colors = [&neighbor.a, &neighbor.b]
            .map(|id| section_of.get(id.as_str()).map(|section| &section.color));
        let together = a.0.id == b.0.id || colors[0] == colors[1];
        if a.0.session != b.0.session || together {
            continue;
        }
        let a_first = a.1.start_min <= b.1.start_min;
        let (first, second) = if a_first { (a.1, b.1) } else { (b.1, a.1) };
        let wet = if a_first { &neighbor.a } else { &neighbor.b };
        let skin = kitchen.drying.wait(State::Skin, depth_of(wet));
        if shortest_lag(first, second) < skin.to_minutes() - ROUNDING_MIN {
            broken.push(format!("{} and {} run into each other", neighbor.a, neighbor.b));
        }
    }
    broken
}

fn rows_by_section(plan: &PlanDocument) -> BTreeMap<&str, Vec<(&PassDocument, &RowDocument)>> {
    let mut rows: BTreeMap<&str, Vec<(&PassDocument, &RowDocument)>> = BTreeMap::new();
    for pass in &plan.passes {
        for row in &pass.rows {
            for section in &row.sections {
                rows.entry(section).or_default().push((pass, row));
            }
        }
    }
    rows
}

/// The shortest time, over all copies, between the end of one row and the start of the other on the same cookie.
fn shortest_lag(first: &RowDocument, second: &RowDocument) -> f64 {
    let n = first.copies.max(1);
    let step = |row: &RowDocument| (row.end_min - row.start_min) / f64::from(n);
    (0..n)
        .map(|copy| {
            let done = first.start_min + step(first) * f64::from(copy + 1);
            let begun = second.start_min + step(second) * f64::from(copy);
            begun - done
        })
        .fold(f64::MAX, f64::min)
}

/// One maker holds one bag at a time, and two makers never hold the same cookie.
fn one_thing_at_a_time(plan: &PlanDocument) -> Vec<String> {
    let mut broken = Vec::new();
    for (i, a) in plan.passes.iter().enumerate() {
        for b in plan.passes[i + 1..].iter().filter(|b| b.session == a.session) {
            let overlap = a.end_min.min(b.end_min) - a.start_min.max(b.start_min);
            if overlap > ROUNDING_MIN && a.maker == b.maker {
                broken.push(format!("{} and {} are worked at once by one maker", a.id, b.id));
            }
        }
    }
    broken
}
