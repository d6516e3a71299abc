//! The loop of passes and days, held against one model of all rows in all hours, which CP-SAT solved.
//!
//! The joint model knows no stages: each row goes anywhere in the hours before the hand-over, what lies on a base waits for its
//! night on its own cookie only, and time at the bench counts from the first bag to the last in each stretch of hours,
//! with its setting up and washing up.
//! The loop decides one after the other, so it can only be as good as that or worse.

use std::{collections::BTreeMap, ops::ControlFlow};

use jiff::{
    ToSpan, ZonedDateTime,
    civil::{Date, Time, Weekday, date},
};
use quantity::Span;
use rand::{RngExt, SeedableRng};
use rand_xoshiro::Xoshiro256PlusPlus;
use serde_json::{Value, json};

use super::{
    compile::{self, ticks},
    sessions::Stages,
};
use crate::{
    baking::BakingPlan,
    document::{read_order, start_kitchen},
    dough::DoughPlan,
    drying::State,
    heads_up::Severity,
    icing::{IcingPlan, plan_icing},
    kitchen::{Kitchen, WeeklyHours},
    order::{Brief, DesignFiles, read_brief},
    plan::{Basis, Effort, Made, passes_in_their_hours, plan_week},
    technique::{Sections, plan_sections},
};

const N_KITCHENS: u64 = 20;
const TODAY: Date = date(2027, 6, 7);
const DUE: Date = date(2027, 6, 14);
const COLORS: [&str; 4] = ["#2f4666", "#f7f3ea", "#c8553d", "#6b8f71"];

/// A kitchen with hours of its own: evenings, some mornings, some days off.
fn kitchen(chance: &mut Xoshiro256PlusPlus) -> Kitchen {
    let mut kitchen = start_kitchen();
    kitchen.hours.weekly.clear();
    for day in Weekday::Monday.cycle_forward().take(7) {
        let mut add = |from: i8, minutes: i64| {
            let from = Time::constant(from, 0, 0, 0);
            kitchen.hours.weekly.push(WeeklyHours { day, from, to: from + minutes.minutes() });
        };
        if chance.random_bool(0.3) {
            add(9, chance.random_range(7..=16) * 15);
        }
        if chance.random_bool(0.7) {
            add(18, chance.random_range(7..=16) * 15);
        }
    }
    let pace = &mut kitchen.pace;
    pace.set_up = Span::minutes(f64::from(chance.random_range(5..=20_u8)));
    pace.wash_up = Span::minutes(f64::from(chance.random_range(5..=25_u8)));
    pace.tint = Span::minutes(f64::from(chance.random_range(4..=10_u8)));
    pace.bag_change = Span::seconds(f64::from(chance.random_range(20..=40_u8)));
    // The joint model knows no tips that crust.
    pace.tip_crusts = Span::hours(1000.0);
    pace.edge_per_second = pace.edge_per_second * chance.random_range(0.6..1.6);
    kitchen.makers = 1;
    kitchen
}

/// Bands side by side on a bare cookie, some with a dot or a line on them.
fn drawing(chance: &mut Xoshiro256PlusPlus) -> String {
    let n = chance.random_range(1..=3_u8);
    let width = 84.0 / f64::from(n);
    let mut art = String::new();
    for band in 0..n {
        let (x, color) = (3.0 + width * f64::from(band), COLORS[chance.random_range(0..4)]);
        art += &format!(
            "<rect id=\"band{band}\" x=\"{x}\" y=\"3\" width=\"{width}\" height=\"84\" fill=\"{color}\"/>"
        );
        let (middle, color) = (x + width / 2.0, COLORS[chance.random_range(0..4)]);
        if chance.random_bool(0.4) {
            art += &format!(
                "<circle id=\"dot{band}\" cx=\"{middle}\" cy=\"40\" r=\"6\" fill=\"{color}\"/>"
            );
        }
    }
    format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"90mm\" height=\"90mm\" viewBox=\"0 0 90 90\"><rect id=\"outline\" width=\"90\" height=\"90\" fill=\"none\"/>{art}</svg>"
    )
}

fn brief(chance: &mut Xoshiro256PlusPlus) -> Brief {
    let n = chance.random_range(1..=2);
    let mut text = format!(
        "title = \"Bands\"\ncustomer = \"nobody (invented)\"\ndue = \"{DUE}T10:00[America/Halifax]\"\nbase = \"none\"\n"
    );
    let mut artworks = BTreeMap::new();
    for design in 0..n {
        let copies = chance.random_range(4..=10_u8);
        text += &format!("[[item]]\ndesign = \"d{design}\"\ncount = {copies}\nextras = 0\n");
        let art = drawing::import(drawing(chance).as_bytes(), &drawing::Fonts::default());
        artworks.insert(format!("d{design}"), art.expect("a drawing"));
    }
    let files = DesignFiles { artworks, ..DesignFiles::default() };
    read_brief(read_order(&text).expect("an order"), &files).expect("a brief")
}

/// The hours before the hand-over, less setting up and washing up, in seconds from midnight of today.
fn hours(kitchen: &Kitchen) -> Vec<(i64, i64)> {
    let mut windows = Vec::new();
    let mut day = TODAY;
    while day < DUE {
        let midnight = (day - TODAY).get_days();
        for (from, to) in kitchen.hours.on(day) {
            let second = |at: Time| {
                i64::from(midnight) * 86_400
                    + i64::from(at.hour()) * 3600
                    + i64::from(at.minute()) * 60
            };
            let (set_up, wash_up) = (ticks(kitchen.pace.set_up), ticks(kitchen.pace.wash_up));
            let window = (second(from) + set_up, second(to) - wash_up);
            if window.0 < window.1 {
                windows.push(window);
            }
        }
        day = day.saturating_add(1.day());
    }
    windows
}

/// All rows of all stages in one request, bags mixed anew in each stage as the loop does it.
fn joint(kitchen: &Kitchen, chapter: &Sections, icing: &IcingPlan, name: u64) -> Value {
    let stages = Stages::assign(chapter);
    let (mut bags, mut sections) = (Vec::new(), vec![Vec::new(); chapter.designs.len()]);
    let mut pairs = vec![(Vec::new(), Vec::new(), Vec::new()); chapter.designs.len()];
    let id = |place: usize| format!("s{place}");
    for stage in 0..stages.n() {
        let compiled = compile::compile(kitchen, chapter, icing, &stages, stage);
        let bag_id = |bag: usize| format!("b{stage}-{bag}");
        for (at, bag) in compiled.problem.bags.iter().enumerate() {
            bags.push(
                json!({ "id": bag_id(at), "color": format!("{}", bag.color), "prep": bag.prep }),
            );
        }
        for (row, solved) in compiled.rows.iter().zip(&compiled.problem.rows) {
            let design = chapter.sections[row.sections[0]].item;
            for (&place, section) in row.sections.iter().zip(&solved.sections) {
                sections[design].push(json!({
                    "id": id(place), "bag": bag_id(section.bag), "technique": "flood", "per_copy": section.per_copy
                }));
            }
            for (&over, limit) in row.sections[1..].iter().zip(&solved.limits) {
                pairs[design].2.push(json!([id(row.sections[0]), id(over), limit.most]));
            }
        }
        for reason in &compiled.reasons {
            let (a, b) = reason.sections;
            let pair = json!([id(a), id(b), reason.lag.lag]);
            let of_design = &mut pairs[chapter.sections[a].item];
            if reason.lag.back.is_some() { &mut of_design.0 } else { &mut of_design.1 }.push(pair);
        }
    }
    let dry = ticks(kitchen.drying.wait(State::Dry, kitchen.icing.base_depth));
    for overlap in &chapter.overlaps {
        if stages.on_cookie[overlap.under] < stages.on_cookie[overlap.top] {
            let of_design = &mut pairs[chapter.sections[overlap.top].item];
            of_design.1.push(json!([id(overlap.under), id(overlap.top), dry]));
        }
    }
    let designs: Vec<Value> = chapter
        .designs
        .iter()
        .zip(sections)
        .zip(pairs)
        .map(|((design, sections), (adjacent, overlay, wet))| {
            json!({
                "id": design.id, "copies": design.copies(), "sections": sections,
                "adjacent": adjacent, "overlay": overlay, "wet": wet
            })
        })
        .collect();
    let switch = ticks(kitchen.pace.bag_change);
    json!({
        "name": format!("joint_{name}"), "format": "sequence/1", "tick_seconds": 1, "bags": bags, "designs": designs,
        "switch": { "same_color": switch, "other": switch }, "wet_swap": switch,
        "sessions": hours(kitchen), "decorators": 1,
        "around": ticks(kitchen.pace.set_up) + ticks(kitchen.pace.wash_up),
    })
}

#[test]
fn the_loop_ends_in_her_hours_and_near_what_one_model_of_everything_finds() {
    let on_progress = &mut || ControlFlow::Continue(());
    let mut instances = Vec::new();
    let mut costs = Vec::new();
    for seed in 0..N_KITCHENS {
        let chance = &mut Xoshiro256PlusPlus::seed_from_u64(seed);
        let kitchen = kitchen(chance);
        let brief = brief(chance);
        let (sections, _) = plan_sections(&kitchen, &brief);
        let (icing, _) = plan_icing(&kitchen, &sections, TODAY);
        instances.push(joint(&kitchen, &sections, &icing, seed));

        let basis = Basis { today: TODAY, effort: Effort::Quick, seed: 1 };
        let (dough, baking) = (DoughPlan::default(), BakingPlan::default());
        let made = Made { sections: &sections, dough: &dough, baking: &baking, icing: &icing };
        let (passes, work, heads_ups) =
            passes_in_their_hours(&kitchen, &brief.order, &made, &basis, on_progress);
        assert!(heads_ups.iter().all(|one| one.severity < Severity::Stop), "{heads_ups:?}");
        // It ends in her hours: the days place every session as it is.
        let works = std::slice::from_ref(&work);
        let (days, heads_ups) =
            plan_week(&kitchen, works, &basis, &mut |_| ControlFlow::Continue(()));
        assert!(heads_ups.iter().all(|one| one.severity < Severity::Stop), "{seed}: {heads_ups:?}");
        let windows = hours(&kitchen);
        let second = |at: &ZonedDateTime| {
            at.timestamp().as_second()
                - TODAY.in_tz("America/Halifax").expect("a day").timestamp().as_second()
        };
        let mut n_stretches = 0;
        for entry in &days.entries {
            if matches!(entry.activity, crate::days::Activity::Decorate(_)) {
                n_stretches += 1;
                let (start, end) = (second(&entry.start), second(&entry.end));
                assert!(
                    windows.iter().any(|(open, close)| *open <= start && end <= *close + 59),
                    "{seed}"
                );
            }
        }
        assert_eq!(n_stretches, passes.sessions.len(), "{seed}: each session lies in one stretch");
        let active: Span = passes.sessions.iter().map(|session| session.active).sum();
        let around = kitchen.pace.set_up + kitchen.pace.wash_up;
        costs.push((active + around * passes.sessions.len() as f64).to_seconds());
    }
    let kept: Vec<Value> =
        serde_json::from_str(include_str!("../../../../fixtures/timing/joint.json")).expect("JSON");
    let now = || serde_json::to_string_pretty(&instances).expect("JSON");
    assert!(kept == instances, "CP-SAT was given others; joint.json would be\n{}", now());

    // CP-SAT of OR-tools 9.12 (see fixtures/PROVENANCE.toml).
    let proved = include_str!("../../../../fixtures/timing/proved/joint.json");
    let proved: Value = serde_json::from_str(proved).expect("JSON");
    let mut ratios = Vec::new();
    for (at, one) in proved["proved"].as_array().expect("a list").iter().enumerate() {
        let optimum = one["optimum"].as_f64().expect("it is proved");
        assert!(costs[at] >= optimum - 1.0, "{at}: {} is better than {optimum}", costs[at]);
        ratios.push(costs[at] / optimum);
    }
    assert_eq!(ratios.len(), costs.len());
    assert!(ratios.iter().all(|ratio| *ratio <= 1.03), "{ratios:?}");
}
