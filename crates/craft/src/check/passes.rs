//! Wet never runs into wet: every lag is kept on every single cookie.

use std::collections::BTreeMap;

use crate::{
    document::plan::{PlanDocument, SectionDocument},
    drying::State,
    kitchen::Kitchen,
};

/// Times are written to 0.1 min; a difference of two carries twice that, on either side.
const ROUNDING_MIN: f64 = 0.21;

pub(super) fn check(kitchen: &Kitchen, plan: &PlanDocument) -> Vec<String> {
    let mut broken = Vec::new();
    let visits = visits_by_section(plan, false);
    let pieces = visits_by_section(plan, true);
    let copies: BTreeMap<&str, u32> = plan
        .designs
        .iter()
        .map(|design| (design.id.as_str(), design.count + design.extras))
        .collect();
    let none = Vec::new();
    let of = |section: &str| visits.get(section).unwrap_or(&none);
    for section in plan.sections.iter().filter(|section| section.technique != "naked") {
        let wanted = copies.get(section.design.as_str()).copied().unwrap_or(0);
        let is_once_on_each = |visits: &[Visit]| {
            let mut cookies: Vec<u32> = visits.iter().map(|visit| visit.cookie).collect();
            cookies.sort_unstable();
            cookies == (1..=wanted).collect::<Vec<_>>()
        };
        if !is_once_on_each(of(&section.id)) {
            broken.push(format!("{} is not worked once on each of {wanted} cookies", section.id));
        }
        let piped = pieces.get(section.id.as_str()).unwrap_or(&none);
        if section.technique == "transfer" {
            if !is_once_on_each(piped) {
                broken.push(format!("{} is not piped ahead for {wanted} cookies", section.id));
            }
            if latest(piped) >= earliest(of(&section.id)) {
                broken.push(format!("{} is laid on before its night", section.id));
            }
        } else if !piped.is_empty() {
            broken.push(format!("{} is piped ahead and never laid on", section.id));
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
    for overlap in &plan.overlaps {
        let (under, top) = (of(&overlap.under), of(&overlap.top));
        let onto = section_of.get(overlap.top.as_str()).map_or("", |section| section.onto.as_str());
        let least = match onto {
            "wet" => continue,
            "skin" => State::Skin,
            _ => State::Set,
        };
        let least = kitchen.drying.wait(least, depth_of(&overlap.under)).to_minutes();
        let needs_night = onto == "dry"
            || section_of.get(overlap.under.as_str()).is_some_and(|under| under.layer == 1);
        if needs_night && earliest(top) <= latest(under) {
            broken.push(format!("{} needs a night after {}", overlap.top, overlap.under));
        }
        if pairs(under, top).any(|(under, top)| top.session < under.session) {
            broken.push(format!("{} is piped a session before {}", overlap.top, overlap.under));
        }
        let is_early = |(under, top): (&Visit, &Visit)| {
            under.session == top.session && top.start - under.end < least - ROUNDING_MIN
        };
        if pairs(under, top).any(is_early) {
            broken.push(format!("{} is piped before {} is set", overlap.top, overlap.under));
        }
    }
    for neighbor in &plan.neighbors {
        let colors = [&neighbor.a, &neighbor.b]
            .map(|id| section_of.get(id.as_str()).map(|section| &section.color));
        if colors[0] == colors[1] {
            continue;
        }
        let skin = |wet: &str| kitchen.drying.wait(State::Skin, depth_of(wet)).to_minutes();
        let skins = [skin(&neighbor.a), skin(&neighbor.b)];
        let runs = |(a, b): (&Visit, &Visit)| {
            let (first, second, skin) =
                if a.start <= b.start { (a, b, skins[0]) } else { (b, a, skins[1]) };
            a.session == b.session
                && a.row != b.row
                && second.start - first.end < skin - ROUNDING_MIN
        };
        if pairs(of(&neighbor.a), of(&neighbor.b)).any(runs) {
            broken.push(format!("{} and {} run into each other", neighbor.a, neighbor.b));
        }
    }
    broken
}

/// A section worked on one cookie, in minutes of its session.
struct Visit {
    cookie: u32,
    session: usize,
    /// Where its row stands, so that what is worked together in one row is known.
    row: (usize, usize),
    start: f64,
    end: f64,
}

fn visits_by_section(plan: &PlanDocument, is_ahead: bool) -> BTreeMap<&str, Vec<Visit>> {
    let mut found: BTreeMap<&str, Vec<Visit>> = BTreeMap::new();
    for (at, pass) in plan.passes.iter().enumerate().filter(|(_, pass)| pass.ahead == is_ahead) {
        for (number, row) in pass.rows.iter().enumerate() {
            let each = (row.end_min - row.start_min) / f64::from(row.copies.max(1));
            for section in &row.sections {
                found.entry(section).or_default().extend((0..row.copies).map(|copy| {
                    let start = row.start_min + each * f64::from(copy);
                    let (cookie, row) = (row.first_cookie + copy, (at, number));
                    Visit { cookie, session: pass.session, row, start, end: start + each }
                }));
            }
        }
    }
    found
}

/// The visits of two sections on the same cookie.
fn pairs<'a>(a: &'a [Visit], b: &'a [Visit]) -> impl Iterator<Item = (&'a Visit, &'a Visit)> {
    a.iter().flat_map(move |one| {
        b.iter().filter(|other| other.cookie == one.cookie).map(move |other| (one, other))
    })
}

fn earliest(visits: &[Visit]) -> usize {
    visits.iter().map(|visit| visit.session).min().unwrap_or(usize::MAX)
}

fn latest(visits: &[Visit]) -> usize {
    visits.iter().map(|visit| visit.session).max().unwrap_or(0)
}

/// One maker holds one bag at a time.
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
