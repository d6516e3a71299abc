//! From the sections of one stage to the rows and lags of the engine.
//!
//! One tick is one second.

use quantity::Span;
use timing::{Crust, RowLag, RowProblem, RowSection, SetUp, WetLimit};

use crate::{
    drying::State,
    icing::{IcingPlan, wet_depth},
    kitchen::Kitchen,
    passes::{piece_time, section_time, sessions::Stages},
    technique::{Onto, Overlap, Section, Sections, Technique},
};

/// One stage as the engine takes it, and what its rows stand for.
pub(super) struct Compiled {
    pub(super) problem: RowProblem,
    /// What each row stands for.
    pub(super) rows: Vec<Row>,
    /// The bag of each of the problem's bags; nothing for what is not piped.
    pub(super) bags: Vec<Option<(usize, usize)>>,
    /// Why rows wait for each other.
    pub(super) reasons: Vec<Reason>,
}

/// A section over all copies, with what is worked wet into it.
pub(super) struct Row {
    /// The sections, by their places: the base, then what goes on while it is wet.
    pub(super) sections: Vec<usize>,
    /// Whether its pieces are piped on paper, to be laid on later.
    pub(super) is_ahead: bool,
}

/// Two rows that keep a distance on every cookie, and why.
pub(super) struct Reason {
    pub(super) lag: RowLag,
    /// The section of the first row, and that of the second.
    pub(super) sections: (usize, usize),
    pub(super) kind: State,
}

/// A day of seconds, far more than any session: keeps sums of ticks small whatever a kitchen asks for.
const MOST_TICKS: f64 = 1.0e9;

/// Converts a span to whole ticks, rounded up.
pub(super) fn ticks(span: Span) -> i64 {
    // The cast maps what is not a number to zero.
    span.to_seconds().ceil().clamp(0.0, MOST_TICKS) as i64
}

/// Converts ticks to a span.
pub(super) fn span(ticks: i64) -> Span {
    Span::seconds(ticks as f64)
}

/// Converts stretches to the engine's windows; nothing for none.
pub(super) fn windows(stretches: &[(Span, Span)]) -> Option<Vec<(i64, i64)>> {
    let windows: Vec<(i64, i64)> =
        stretches.iter().map(|&(from, to)| (ticks(from), ticks(to))).collect();
    (!windows.is_empty()).then_some(windows)
}

/// Compiles one stage.
pub(super) fn compile(
    kitchen: &Kitchen,
    chapter: &Sections,
    icing: &IcingPlan,
    stages: &Stages,
    stage: usize,
) -> Compiled {
    let rows = rows(chapter, stages, stage);
    let bag_of = |row: &Row, place: usize| {
        let is_laid_on = chapter.sections[place].technique == Technique::Transfer && !row.is_ahead;
        if is_laid_on { None } else { icing.bag_of(place) }
    };
    let worked = || rows.iter().flat_map(|row| row.sections.iter().map(move |&at| (row, at)));
    let mut bags: Vec<Option<(usize, usize)>> = worked().map(|(row, at)| bag_of(row, at)).collect();
    bags.sort_unstable();
    bags.dedup();

    let engine_row = |row: &Row| {
        let section = |&place: &usize| {
            let section = &chapter.sections[place];
            let time = if row.is_ahead { piece_time } else { section_time };
            RowSection {
                bag: bags.binary_search(&bag_of(row, place)).unwrap_or(0),
                per_copy: ticks(time(&kitchen.pace, section)),
            }
        };
        let most = ticks(kitchen.drying.wet_on_wet_max);
        let design = chapter.sections[row.sections[0]].item;
        timing::Row {
            sections: row.sections.iter().map(section).collect(),
            copies: i64::from(chapter.designs[design].copies()),
            swap: ticks(kitchen.pace.bag_change),
            limits: (1..row.sections.len()).map(|over| WetLimit { base: 0, over, most }).collect(),
            // Two makers never hold the same cookie; pieces on paper are nobody's.
            group: (!row.is_ahead).then_some(design),
        }
    };
    let mut reasons = reasons(kitchen, chapter, &rows);
    let orders = pinned(chapter, &rows, &mut reasons);
    let problem = RowProblem {
        rows: rows.iter().map(engine_row).collect(),
        lags: reasons.iter().map(|reason| reason.lag).collect(),
        bags: bags
            .iter()
            .enumerate()
            .map(|(at, bag)| engine_bag(kitchen, &bags, at, *bag))
            .collect(),
        set_up: SetUp {
            same_color: ticks(kitchen.pace.bag_change),
            other: ticks(kitchen.pace.bag_change),
        },
        windows: None,
        n_workers: kitchen.makers.clamp(1, 3),
        crust: Some(Crust {
            after: ticks(kitchen.pace.tip_crusts),
            wipe: ticks(kitchen.pace.wipe),
        }),
        may_split: chapter.may_split,
        orders,
    };
    Compiled { problem, rows, bags, reasons }
}

/// A color is tinted and thinned before its first bag is filled; its other bags only take a change.
fn engine_bag(
    kitchen: &Kitchen,
    bags: &[Option<(usize, usize)>],
    at: usize,
    bag: Option<(usize, usize)>,
) -> timing::Bag {
    let Some((bowl, _)) = bag else {
        return timing::Bag { color: usize::MAX, prep: 0 };
    };
    let is_first = !bags[..at].iter().flatten().any(|(other, _)| *other == bowl);
    timing::Bag {
        color: bowl,
        prep: if is_first { ticks(kitchen.pace.tint) } else { ticks(kitchen.pace.bag_change) },
    }
}

/// Joins what is worked wet-on-wet with its base, leaves every other section a row of its own.
fn rows(chapter: &Sections, stages: &Stages, stage: usize) -> Vec<Row> {
    let mut rows: Vec<Row> = Vec::new();
    let members =
        (0..chapter.sections.len()).filter(|&place| stages.on_cookie[place] == Some(stage));
    for place in members {
        let wet_base = (chapter.sections[place].onto == Onto::Wet)
            .then(|| {
                beneath(chapter, place).max_by_key(|overlap| chapter.sections[overlap.under].layer)
            })
            .flatten()
            .map(|overlap| overlap.under);
        let row =
            wet_base.and_then(|base| rows.iter_mut().find(|row| row.sections.contains(&base)));
        match row {
            Some(row) => row.sections.push(place),
            None => rows.push(Row { sections: vec![place], is_ahead: false }),
        }
    }
    if stage == 0 {
        rows.extend(
            stages.ahead.iter().map(|&place| Row { sections: vec![place], is_ahead: true }),
        );
    }
    rows
}

fn beneath(chapter: &Sections, top: usize) -> impl Iterator<Item = &Overlap> {
    chapter.overlaps.iter().filter(move |overlap| overlap.top == top)
}

/// The row that works a section on the cookie, and the section's place in it.
fn row_of(rows: &[Row], place: usize) -> Option<(usize, usize)> {
    rows.iter().enumerate().filter(|(_, row)| !row.is_ahead).find_map(|(at, row)| {
        Some((at, row.sections.iter().position(|&section| section == place)?))
    })
}

/// Why rows keep a distance: overlaps within a session, and wet neighbors.
fn reasons(kitchen: &Kitchen, chapter: &Sections, rows: &[Row]) -> Vec<Reason> {
    let wait = |state: State, section: usize| {
        ticks(kitchen.drying.wait(state, wet_depth(&kitchen.icing, &chapter.sections[section])))
    };
    let mut reasons: Vec<Reason> = Vec::new();
    for overlap in &chapter.overlaps {
        let (Some(from), Some(to)) = (row_of(rows, overlap.under), row_of(rows, overlap.top))
        else {
            continue;
        };
        if from.0 == to.0 {
            continue;
        }
        let kind = match chapter.sections[overlap.top].onto {
            Onto::Skin => State::Skin,
            _ => State::Set,
        };
        let lag = RowLag { from, to, lag: wait(kind, overlap.under), back: None };
        reasons.push(Reason { lag, sections: (overlap.under, overlap.top), kind });
    }
    for neighbor in &chapter.neighbors {
        let (Some(from), Some(to)) = (row_of(rows, neighbor.a), row_of(rows, neighbor.b)) else {
            continue;
        };
        if reasons.iter().any(|reason| reason.is_of(from.0, to.0))
            || from.0 == to.0
            || same_bag_color(&chapter.sections[neighbor.a], &chapter.sections[neighbor.b])
        {
            continue;
        }
        let back = Some(wait(State::Skin, neighbor.b));
        let lag = RowLag { from, to, lag: wait(State::Skin, neighbor.a), back };
        reasons.push(Reason { lag, sections: (neighbor.a, neighbor.b), kind: State::Skin });
    }
    reasons
}

/// What the maker's own order of sections asks for; a pair that must keep a distance anyway keeps it in this order.
fn pinned(chapter: &Sections, rows: &[Row], reasons: &mut [Reason]) -> Vec<(usize, usize)> {
    let mut orders = Vec::new();
    for &(first, then) in &chapter.pins {
        let (Some((before, _)), Some((after, _))) = (row_of(rows, first), row_of(rows, then))
        else {
            continue;
        };
        if before == after {
            continue;
        }
        match reasons.iter_mut().find(|reason| reason.is_of(before, after)) {
            Some(reason) if reason.lag.back.is_some() => reason.keep_order(before),
            // What lies on top comes later anyway; the other way around the engine names the circle.
            _ => orders.push((before, after)),
        }
    }
    orders
}

impl Reason {
    /// Whether it stands between two rows, in whichever order.
    fn is_of(&self, a: usize, b: usize) -> bool {
        let rows = (self.lag.from.0, self.lag.to.0);
        rows == (a, b) || rows == (b, a)
    }

    /// Fixes which row goes first.
    fn keep_order(&mut self, first: usize) {
        let Some(back) = self.lag.back.take() else { return };
        if self.lag.from.0 != first {
            self.lag = RowLag { from: self.lag.to, to: self.lag.from, lag: back, back: None };
            self.sections = (self.sections.1, self.sections.0);
        }
    }
}

/// Neighbors of one shade may run together: nobody sees it.
fn same_bag_color(a: &Section, b: &Section) -> bool {
    crate::icing::shade_of(a.color).is_same(crate::icing::shade_of(b.color))
}
