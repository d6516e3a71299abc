//! From the sections of one stage to the jobs and lags of the engine.
//!
//! One tick is one second.

use quantity::Span;
use timing::{
    BlockRow, Crust, EitherOrder, FurtherBag, Job, Precedence, RowSection, SequenceProblem, SetUp,
    WetLimit, block_lag, block_row,
};

use crate::{
    drying::State,
    icing::{IcingPlan, wet_depth},
    kitchen::Kitchen,
    passes::section_time,
    technique::{Onto, Overlap, Section, Sections},
};

/// One stage as the engine takes it, and what its jobs stand for.
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
    /// When each section is worked on each cookie.
    block: BlockRow,
}

/// Two jobs that keep a distance, and why.
pub(super) struct Reason {
    pub(super) jobs: (usize, usize),
    pub(super) sections: (usize, usize),
    pub(super) kind: State,
    /// How long the first dries before the second.
    pub(super) lag: Span,
    /// How long the second dries before the first, where it goes first.
    pub(super) lag_back: Span,
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
    stage_of: &[Option<usize>],
    stage: usize,
) -> Compiled {
    let members: Vec<usize> =
        (0..chapter.sections.len()).filter(|&place| stage_of[place] == Some(stage)).collect();
    let mut bags: Vec<Option<(usize, usize)>> =
        members.iter().map(|&place| icing.bag_of(place)).collect();
    bags.sort_unstable();
    bags.dedup();
    let bag_of = |place: usize| bags.binary_search(&icing.bag_of(place)).unwrap_or(0);

    let rows = rows(kitchen, chapter, &members, &bag_of);
    let jobs = rows
        .iter()
        .map(|row| Job { duration: row.block.duration(), bag: bag_of(row.sections[0]) })
        .collect();
    let further_bags = rows
        .iter()
        .enumerate()
        .flat_map(|(job, row)| {
            row.sections[1..].iter().map(move |&place| FurtherBag { job, bag: bag_of(place) })
        })
        .collect();
    let mut reasons = reasons(kitchen, chapter, &rows);
    let (mut precedences, mut either_orders) = (Vec::new(), Vec::new());
    precedences.extend(pinned(chapter, &rows, &mut reasons));
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
        further_bags,
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
        crust: Some(Crust {
            after: ticks(kitchen.pace.tip_crusts),
            wipe: ticks(kitchen.pace.wipe),
        }),
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
fn rows(
    kitchen: &Kitchen,
    chapter: &Sections,
    members: &[usize],
    bag_of: &dyn Fn(usize) -> usize,
) -> Vec<Row> {
    let mut joined: Vec<Vec<usize>> = Vec::new();
    for &place in members {
        let wet_base = (chapter.sections[place].onto == Onto::Wet)
            .then(|| {
                beneath(chapter, place).max_by_key(|overlap| chapter.sections[overlap.under].layer)
            })
            .flatten()
            .map(|overlap| overlap.under);
        let row = wet_base.and_then(|base| joined.iter_mut().find(|row| row.contains(&base)));
        match row {
            Some(row) => row.push(place),
            None => joined.push(vec![place]),
        }
    }
    let swap = ticks(kitchen.pace.bag_change);
    let most = ticks(kitchen.drying.wet_on_wet_max);
    joined
        .into_iter()
        .map(|sections| {
            let copies = chapter.designs[chapter.sections[sections[0]].item].copies();
            let worked: Vec<RowSection> = sections
                .iter()
                .map(|&place| RowSection {
                    bag: bag_of(place),
                    per_copy: ticks(section_time(&kitchen.pace, &chapter.sections[place])),
                })
                .collect();
            let limits: Vec<WetLimit> =
                (1..sections.len()).map(|over| WetLimit { base: 0, over, most }).collect();
            Row { block: block_row(&worked, i64::from(copies), swap, &limits), sections, copies }
        })
        .collect()
}

fn beneath(chapter: &Sections, top: usize) -> impl Iterator<Item = &Overlap> {
    chapter.overlaps.iter().filter(move |overlap| overlap.top == top)
}

/// Why rows keep a distance: overlaps within a session, and wet neighbors.
fn reasons(kitchen: &Kitchen, chapter: &Sections, rows: &[Row]) -> Vec<Reason> {
    let wait = |state: State, section: usize| {
        kitchen.drying.wait(state, wet_depth(&kitchen.icing, &chapter.sections[section]))
    };
    let row_of = |place: usize| rows.iter().position(|row| row.sections.contains(&place));
    let lag_between = |(a, first): (usize, usize), (b, second): (usize, usize), lag: Span| {
        let place_in = |row: usize, section: usize| {
            rows[row].sections.iter().position(|&one| one == section).unwrap_or(0)
        };
        let (first, second) = (place_in(a, first), place_in(b, second));
        block_lag((&rows[a].block, first), (&rows[b].block, second), ticks(lag))
    };
    let mut reasons: Vec<Reason> = Vec::new();
    for overlap in &chapter.overlaps {
        let (Some(under), Some(top)) = (row_of(overlap.under), row_of(overlap.top)) else {
            continue;
        };
        if under == top {
            continue;
        }
        let kind = match chapter.sections[overlap.top].onto {
            Onto::Skin => State::Skin,
            _ => State::Set,
        };
        let lag = wait(kind, overlap.under);
        reasons.push(Reason {
            jobs: (under, top),
            sections: (overlap.under, overlap.top),
            kind,
            lag,
            lag_back: lag,
            first_to_second: lag_between((under, overlap.under), (top, overlap.top), lag),
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
        let (lag, lag_back) = (wait(State::Skin, neighbor.a), wait(State::Skin, neighbor.b));
        reasons.push(Reason {
            jobs: (a, b),
            sections: (neighbor.a, neighbor.b),
            kind: State::Skin,
            lag,
            lag_back,
            first_to_second: lag_between((a, neighbor.a), (b, neighbor.b), lag),
            second_to_first: Some(lag_between((b, neighbor.b), (a, neighbor.a), lag_back)),
        });
    }
    reasons
}

/// What the maker's own order of sections asks for; a pair that must keep a distance anyway keeps it in this order.
fn pinned(chapter: &Sections, rows: &[Row], reasons: &mut [Reason]) -> Vec<Precedence> {
    let row_of = |place: usize| rows.iter().position(|row| row.sections.contains(&place));
    let mut precedences = Vec::new();
    for &(first, then) in &chapter.pins {
        let (Some(before), Some(after)) = (row_of(first), row_of(then)) else { continue };
        if before == after {
            continue;
        }
        let both = [(before, after), (after, before)];
        let pair = reasons.iter_mut().find(|reason| both.contains(&reason.jobs));
        match pair {
            Some(reason) if reason.second_to_first.is_some() => reason.keep_order(before),
            // What lies on top comes later anyway; the other way around the engine names the circle.
            _ => precedences.push(Precedence { before, after, lag: rows[before].block.duration() }),
        }
    }
    precedences
}

impl Reason {
    /// Fixes which job goes first.
    fn keep_order(&mut self, first: usize) {
        let Some(back) = self.second_to_first.take() else { return };
        if self.jobs.0 != first {
            self.jobs = (self.jobs.1, self.jobs.0);
            self.sections = (self.sections.1, self.sections.0);
            self.first_to_second = back;
            (self.lag, self.lag_back) = (self.lag_back, self.lag);
        }
    }
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
