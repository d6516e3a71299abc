//! From the sections of one session to the jobs and lags of the engine.
//!
//! One tick is one second.

use quantity::Span;
use timing::{EitherOrder, Job, Precedence, SequenceProblem, SetUp, row_lag};

use crate::{
    icing::IcingPlan,
    kitchen::Kitchen,
    passes::{WaitKind, section_time},
    technique::{Onto, Overlap, Section, Sections},
};

/// One session as the engine takes it, and what its jobs stand for.
pub(super) struct Compiled {
    pub(super) problem: SequenceProblem,
    /// What each job stands for.
    pub(super) rows: Vec<Row>,
    /// The bag of each of the problem's bags; nothing for what is not piped.
    pub(super) bags: Vec<Option<(usize, usize)>>,
    /// Why jobs wait for each other.
    pub(super) reasons: Vec<Reason>,
}

/// A section over all copies, with what is worked wet into it.
pub(super) struct Row {
    /// The sections, by their places: the base, then what goes on while it is wet.
    pub(super) sections: Vec<usize>,
    /// How many cookies.
    pub(super) copies: u32,
}

/// Two jobs that keep a distance, and why.
pub(super) struct Reason {
    pub(super) jobs: (usize, usize),
    pub(super) sections: (usize, usize),
    pub(super) kind: WaitKind,
    pub(super) lag: Span,
    /// Start-to-start lag if the first goes first, in ticks.
    pub(super) first_to_second: i64,
    /// Start-to-start lag the other way around; nothing where the order is fixed.
    pub(super) second_to_first: Option<i64>,
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

/// Compiles one session.
pub(super) fn compile(
    kitchen: &Kitchen,
    chapter: &Sections,
    icing: &IcingPlan,
    session_of: &[Option<usize>],
    session: usize,
) -> Compiled {
    let members: Vec<usize> =
        (0..chapter.sections.len()).filter(|&place| session_of[place] == Some(session)).collect();
    let rows = rows(chapter, &members);
    let mut bags: Vec<Option<(usize, usize)>> =
        rows.iter().map(|row| icing.bag_of(row.sections[0])).collect();
    bags.sort_unstable();
    bags.dedup();

    let per_copy: Vec<i64> = rows.iter().map(|row| row_time(kitchen, chapter, row)).collect();
    let jobs = rows
        .iter()
        .zip(&per_copy)
        .map(|(row, &per_copy)| Job {
            duration: per_copy.saturating_mul(i64::from(row.copies)),
            bag: bags.binary_search(&icing.bag_of(row.sections[0])).unwrap_or(0),
        })
        .collect();
    let reasons = reasons(kitchen, chapter, &rows, &per_copy);
    let (mut precedences, mut either_orders) = (Vec::new(), Vec::new());
    for reason in &reasons {
        let (a, b) = reason.jobs;
        match reason.second_to_first {
            None => {
                precedences.push(Precedence { before: a, after: b, lag: reason.first_to_second })
            }
            Some(lag_ba) => {
                either_orders.push(EitherOrder { a, b, lag_ab: reason.first_to_second, lag_ba })
            }
        }
    }
    let problem = SequenceProblem {
        jobs,
        bags: bags
            .iter()
            .enumerate()
            .map(|(at, bag)| engine_bag(kitchen, &bags, at, *bag))
            .collect(),
        precedences,
        either_orders,
        set_up: SetUp {
            same_color: ticks(kitchen.pace.bag_change),
            other: ticks(kitchen.pace.bag_change),
        },
        windows: None,
        n_workers: kitchen.makers.clamp(1, 3),
        exclusive: by_design(chapter, &rows),
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
fn rows(chapter: &Sections, members: &[usize]) -> Vec<Row> {
    let mut rows: Vec<Row> = Vec::new();
    for &place in members {
        let section = &chapter.sections[place];
        let wet_base = (section.onto == Onto::Wet)
            .then(|| {
                beneath(chapter, place).max_by_key(|overlap| chapter.sections[overlap.under].layer)
            })
            .flatten()
            .map(|overlap| overlap.under);
        let row =
            wet_base.and_then(|base| rows.iter_mut().find(|row| row.sections.contains(&base)));
        match row {
            Some(row) => row.sections.push(place),
            None => rows.push(Row {
                sections: vec![place],
                copies: chapter.designs[section.item].copies(),
            }),
        }
    }
    rows
}

fn beneath(chapter: &Sections, top: usize) -> impl Iterator<Item = &Overlap> {
    chapter.overlaps.iter().filter(move |overlap| overlap.top == top)
}

/// Time of a row on one cookie; wet-on-wet adds its bag changes, shared by the cookies of a block.
fn row_time(kitchen: &Kitchen, chapter: &Sections, row: &Row) -> i64 {
    let times: Vec<Span> = row
        .sections
        .iter()
        .map(|&place| section_time(&kitchen.pace, &chapter.sections[place]))
        .collect();
    let total: Span = times.iter().copied().sum();
    let n_changes = (times.len() - 1) as f64 * 2.0;
    if n_changes == 0.0 {
        return ticks(total);
    }
    // The first cookie of a block waits while the others get their base: that must stay within the wet time.
    let base = times[0].max(Span::seconds(1.0));
    let in_block =
        ((kitchen.drying.wet_on_wet_max - kitchen.pace.bag_change) / base).floor().clamp(1.0, 1e3);
    ticks(total + kitchen.pace.bag_change * (n_changes / in_block))
}

/// Why rows keep a distance: overlaps within a session, and wet neighbors.
fn reasons(kitchen: &Kitchen, chapter: &Sections, rows: &[Row], per_copy: &[i64]) -> Vec<Reason> {
    let row_of = |place: usize| rows.iter().position(|row| row.sections.contains(&place));
    let lag_between = |a: usize, b: usize, lag: Span| {
        row_lag(per_copy[a], per_copy[b], i64::from(rows[a].copies), ticks(lag))
    };
    let mut reasons: Vec<Reason> = Vec::new();
    for overlap in &chapter.overlaps {
        let (Some(under), Some(top)) = (row_of(overlap.under), row_of(overlap.top)) else {
            continue;
        };
        if under == top {
            continue;
        }
        let (kind, lag) = match chapter.sections[overlap.top].onto {
            Onto::Skin => (WaitKind::Skin, kitchen.drying.skin),
            _ => (WaitKind::Set, kitchen.drying.set),
        };
        reasons.push(Reason {
            jobs: (under, top),
            sections: (overlap.under, overlap.top),
            kind,
            lag,
            first_to_second: lag_between(under, top, lag),
            second_to_first: None,
        });
    }
    for neighbor in &chapter.neighbors {
        let (Some(a), Some(b)) = (row_of(neighbor.a), row_of(neighbor.b)) else { continue };
        let ordered = reasons.iter().any(|reason| reason.jobs == (a, b) || reason.jobs == (b, a));
        if a == b
            || ordered
            || same_bag_color(&chapter.sections[neighbor.a], &chapter.sections[neighbor.b])
        {
            continue;
        }
        let lag = kitchen.drying.skin;
        reasons.push(Reason {
            jobs: (a, b),
            sections: (neighbor.a, neighbor.b),
            kind: WaitKind::Skin,
            lag,
            first_to_second: lag_between(a, b, lag),
            second_to_first: Some(lag_between(b, a, lag)),
        });
    }
    reasons
}

/// Neighbors of one shade may run together: nobody sees it.
fn same_bag_color(a: &Section, b: &Section) -> bool {
    crate::icing::shade_of(a.color).is_same(crate::icing::shade_of(b.color))
}

/// Two makers never hold the same cookie.
fn by_design(chapter: &Sections, rows: &[Row]) -> Vec<Vec<usize>> {
    (0..chapter.designs.len())
        .map(|design| {
            (0..rows.len())
                .filter(|&row| chapter.sections[rows[row].sections[0]].item == design)
                .collect()
        })
        .filter(|jobs: &Vec<usize>| jobs.len() > 1)
        .collect()
}
