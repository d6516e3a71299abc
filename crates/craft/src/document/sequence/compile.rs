//! From a request to the engine's problem, each value checked.

use timing::{Bag, EitherOrder, FurtherBag, Job, Precedence, SequenceProblem, SetUp, block_lag};

use super::{
    SequenceRequest,
    rows::{Design, Pair, Row, design},
};
use crate::document::{
    error::BadValue,
    ticks::{Ids, MOST_TICKS, at_most, check_windows, circle, circle_words, fill, shown, whole},
};

/// Most sections of one request.
pub(super) const MOST_SECTIONS: usize = 400;
/// Most pairs of neighbors, overlays and wet sections of one request.
const MOST_PAIRS: usize = 2000;
/// Most bags of one request.
const MOST_BAGS: usize = 100;
/// Most sessions of one request.
const MOST_SESSIONS: usize = 100;

/// A request as the engine takes it, and what its jobs stand for.
pub(super) struct Compiled {
    pub(super) problem: SequenceProblem,
    pub(super) rows: Vec<Row>,
}

/// Checks a request and compiles it.
pub(super) fn compile(request: &SequenceRequest) -> Result<Compiled, BadValue> {
    whole("tick_seconds", request.tick_seconds, 1, 3600)?;
    whole("decorators", request.decorators, 1, 3)?;
    let wet_swap = whole("wet_swap", request.wet_swap, 0, MOST_TICKS)?;
    let set_up = set_up(request).map_err(|bad| bad.under("switch"))?;
    if let Some(sessions) = &request.sessions {
        fill("sessions", "session", sessions.len(), MOST_SESSIONS)?;
        check_windows("sessions", sessions)?;
    }
    let bag_ids = bag_ids(request)?;
    check_size(request)?;
    Ids::new("designs", "design", request.designs.iter().map(|one| one.id.as_str()))?;
    let designs: Vec<Design> = request
        .designs
        .iter()
        .enumerate()
        .map(|(at, entry)| {
            design(at, entry, &bag_ids, wet_swap).map_err(|bad| bad.within("designs", at))
        })
        .collect::<Result<_, _>>()?;
    let mut waits = Waits::default();
    let mut rows = Vec::new();
    for (at, design) in designs.into_iter().enumerate() {
        waits.add(request, at, rows.len(), &design).map_err(|bad| bad.within("designs", at))?;
        rows.extend(design.rows);
    }
    let problem = problem(request, set_up, &rows, waits);
    check_rooms(request, &rows)?;
    Ok(Compiled { problem, rows })
}

fn set_up(request: &SequenceRequest) -> Result<SetUp, BadValue> {
    Ok(SetUp {
        same_color: whole("same_color", request.switch.same_color, 0, MOST_TICKS)?,
        other: whole("other", request.switch.other, 0, MOST_TICKS)?,
    })
}

fn bag_ids(request: &SequenceRequest) -> Result<Ids<'_>, BadValue> {
    fill("bags", "bag", request.bags.len(), MOST_BAGS)?;
    for (place, bag) in request.bags.iter().enumerate() {
        whole("prep", bag.prep, 0, MOST_TICKS).map_err(|bad| bad.within("bags", place))?;
    }
    Ids::new("bags", "bag", request.bags.iter().map(|bag| bag.id.as_str()))
}

/// Refuses what would take minutes to work on.
fn check_size(request: &SequenceRequest) -> Result<(), BadValue> {
    let n_sections: usize = request.designs.iter().map(|design| design.sections.len()).sum();
    fill("designs", "design", request.designs.len(), MOST_SECTIONS)?;
    if n_sections > MOST_SECTIONS {
        return Err(BadValue::new(
            "designs",
            format!(
                "{n_sections} sections are too many; ask for {MOST_SECTIONS} at once at most, as for the sets of one day"
            ),
        ));
    }
    for (place, design) in request.designs.iter().enumerate() {
        for (key, list) in
            [("adjacent", &design.adjacent), ("overlay", &design.overlay), ("wet", &design.wet)]
        {
            at_most(key, list.len(), MOST_PAIRS).map_err(|bad| bad.within("designs", place))?;
        }
    }
    let n_pairs: usize = request
        .designs
        .iter()
        .map(|design| design.adjacent.len() + design.overlay.len() + design.wet.len())
        .sum();
    if n_pairs > MOST_PAIRS {
        return Err(BadValue::new(
            "designs",
            format!(
                "{n_pairs} neighbors, overlays and wet sections are too many; ask for {MOST_PAIRS} at once at most"
            ),
        ));
    }
    Ok(())
}

/// Lags between rows.
#[derive(Default)]
struct Waits {
    precedences: Vec<Precedence>,
    either_orders: Vec<EitherOrder>,
}

impl Waits {
    /// Adds those of a design, whose rows are numbered from `first` on.
    fn add(
        &mut self,
        request: &SequenceRequest,
        at: usize,
        first: usize,
        design: &Design,
    ) -> Result<(), BadValue> {
        let entry = &request.designs[at];
        let rows = &design.rows;
        // The row of each section, and its place in the row.
        let mut homes = vec![(0, 0); entry.sections.len()];
        for (row, one) in rows.iter().enumerate() {
            for (place, &section) in one.sections.iter().enumerate() {
                homes[section] = (row, place);
            }
        }
        let lag = |a: (usize, usize), b: (usize, usize), ticks: i64| {
            block_lag((&rows[a.0].layout, a.1), (&rows[b.0].layout, b.1), ticks)
        };
        let within = |list: &'static str, place: usize, pair: &Pair| {
            let (a, b) = (homes[pair.a], homes[pair.b]);
            if a.0 != b.0 {
                return Ok(true);
            }
            let is_ordered = list == "overlay";
            check_within(&rows[a.0], (a.1, b.1), pair.ticks, is_ordered, entry.copies)
                .map(|()| false)
                .map_err(|words| {
                    let [a, b] = [pair.a, pair.b].map(|one| shown(&entry.sections[one].id));
                    let message = format!(
                        "{a} and {b} are worked in one pass, wet into wet, {words}; take this or one of the wet ones out"
                    );
                    BadValue::at(list, place, message)
                })
        };
        let mut arcs = Vec::new();
        for (place, pair) in design.overlay.iter().enumerate() {
            let (a, b) = (homes[pair.a], homes[pair.b]);
            if within("overlay", place, pair)? {
                let (before, after) = (first + a.0, first + b.0);
                self.precedences.push(Precedence { before, after, lag: lag(a, b, pair.ticks) });
                arcs.push((a.0, b.0));
            }
        }
        if let Some(circle) = circle(rows.len(), &arcs) {
            let id_of = |row: usize| {
                let ids = rows[row].sections.iter().map(|&one| shown(&entry.sections[one].id));
                ids.collect::<Vec<_>>().join(" with ")
            };
            return Err(BadValue::new("overlay", circle_words(&circle, id_of)));
        }
        for (place, pair) in design.adjacent.iter().enumerate() {
            let (a, b) = (homes[pair.a], homes[pair.b]);
            if within("adjacent", place, pair)? {
                self.either_orders.push(EitherOrder {
                    a: first + a.0,
                    b: first + b.0,
                    lag_ab: lag(a, b, pair.ticks),
                    lag_ba: lag(b, a, pair.ticks),
                });
            }
        }
        Ok(())
    }
}

/// Checks that two sections of one row, by their places in it, keep apart on every copy.
fn check_within(
    row: &Row,
    (a, b): (usize, usize),
    ticks: i64,
    is_ordered: bool,
    copies: i64,
) -> Result<(), String> {
    if is_ordered && b < a {
        return Err("and in the other order".to_owned());
    }
    let (first, second) = (a.min(b), a.max(b));
    let gap = |copy: i64| row.layout.visit(second, copy).0 - row.layout.visit(first, copy).1;
    let least = (0..copies).map(gap).min().unwrap_or(0);
    if least < ticks { Err(format!("only {least} ticks apart and not {ticks}")) } else { Ok(()) }
}

/// The engine's problem.
fn problem(
    request: &SequenceRequest,
    set_up: SetUp,
    rows: &[Row],
    waits: Waits,
) -> SequenceProblem {
    let bag = |(place, bag): (usize, &super::BagEntry)| Bag {
        color: request.bags.iter().position(|one| one.color == bag.color).unwrap_or(place),
        prep: bag.prep,
    };
    let further = |(job, row): (usize, &Row)| {
        row.bags[1..].iter().map(|&bag| FurtherBag { job, bag }).collect::<Vec<_>>()
    };
    SequenceProblem {
        jobs: rows
            .iter()
            .map(|row| Job { duration: row.layout.duration(), bag: row.bags[0] })
            .collect(),
        further_bags: rows.iter().enumerate().flat_map(further).collect(),
        bags: request.bags.iter().enumerate().map(bag).collect(),
        precedences: waits.precedences,
        either_orders: waits.either_orders,
        set_up,
        windows: request.sessions.clone(),
        n_workers: usize::try_from(request.decorators).unwrap_or(1),
        exclusive: if request.decorators > 1 { by_design(request, rows) } else { Vec::new() },
        crust: None,
    }
}

/// Two decorators never hold the same cookie.
fn by_design(request: &SequenceRequest, rows: &[Row]) -> Vec<Vec<usize>> {
    (0..request.designs.len())
        .map(|design| (0..rows.len()).filter(|&row| rows[row].design == design).collect())
        .filter(|jobs: &Vec<usize>| jobs.len() > 1)
        .collect()
}

/// Refuses a pass or a preparation that no session has room for, whatever else there is.
fn check_rooms(request: &SequenceRequest, rows: &[Row]) -> Result<(), BadValue> {
    let Some(sessions) = &request.sessions else { return Ok(()) };
    let longest = sessions.iter().map(|(open, close)| close - open).max().unwrap_or(0);
    for row in rows {
        let duration = row.layout.duration();
        if duration > longest {
            let (design, section) = (&request.designs[row.design], row.sections[0]);
            let message = format!(
                "the pass of {} over {} copies takes {duration} ticks without a break, and the longest session has {longest}; make a session longer or the copies fewer",
                shown(&design.sections[section].id),
                design.copies
            );
            return Err(BadValue::at("sections", section, message).within("designs", row.design));
        }
        for &bag in &row.bags {
            let prep = request.bags[bag].prep;
            if prep > longest {
                let message = format!(
                    "it takes {prep} ticks without a break, and the longest session has {longest}; make a session longer"
                );
                return Err(BadValue::new("prep", message).within("bags", bag));
            }
        }
    }
    Ok(())
}
