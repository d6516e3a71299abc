//! How short can a strip of given width be that carries all pieces?
//!
//! A left-bottom fill gives the first length, a dense pattern a shorter one where all copies are of one shape, or as many of two. Then the strip is shortened and what overlaps is moved apart, again and again:
//! by 2 % at first, by half as much after each failure; at the smallest step a failure is disturbed by swapping two large pieces.
//! The last fifth of the budget takes ever smaller steps from the shortest strip.
//!
//! Source: Gardeyn, Vanden Berghe, Wauters, "An open-source heuristic to reboot 2D nesting research", arXiv:2509.13329 (2025), Algorithms 11 to 13;
//! the halved steps are ours.

use std::ops::ControlFlow;

use rand::{RngExt, SeedableRng};
use rand_xoshiro::Xoshiro256PlusPlus;

use crate::{
    Budget, Error, Piece, Placement, SheetSize,
    by_hand::straight_strip,
    check::check_strip,
    clean::{check_count, check_fits, clean_all, in_range},
    fill::Filler,
    kernel::{Board, Room, SLACK_MM, Shape, Spot, Turned},
    pattern::Patterns,
    separate::{Patience, Separator, State},
};

/// Share by which a strip is shortened at first, and at least, while it is explored.
const STEPS: (f32, f32) = (0.02, 0.001);
/// The same while it is compressed.
const LAST_STEPS: (f32, f32) = (0.0005, 0.00001);
/// Share of the budget that explores.
const EXPLORES: f64 = 0.8;
/// No strip is longer: single precision still resolves a hundredth of a millimeter there.
const LONGEST_MM: f32 = 60_000.0;
/// Infeasible layouts that are kept to be disturbed.
const MOST_KEPT: usize = 6;

/// What to lay on a strip.
#[derive(Clone, Debug, PartialEq)]
pub struct StripRequest {
    /// The pieces; optional copies are left out.
    pub pieces: Vec<Piece>,
    /// Width of the strip, along x.
    pub width_mm: f64,
    /// Least distance between two pieces.
    pub gap_mm: f64,
    /// Least distance between a piece and the edge.
    pub edge_margin_mm: f64,
    /// How long to search.
    pub budget: Budget,
    /// Where chance starts.
    pub seed: u64,
}

/// A strip and what lies on it.
#[derive(Clone, Debug, PartialEq)]
pub struct StripPlan {
    /// Its length, along y, margins included.
    pub length_mm: f64,
    /// Area of the pieces over area of the strip.
    pub dough_use: f64,
    /// The pieces.
    pub placements: Vec<Placement>,
    /// Collision queries made.
    pub evaluations: u64,
    /// Every length found, with the queries made until then.
    pub trail: Vec<(u64, f64)>,
}

/// Lays all pieces on a strip as short as can be found.
///
/// `listener` hears of the shortest length and the queries made, and may end the search; the best so far is returned.
/// The same request gives the same plan on any number of threads.
///
/// # Errors
/// A piece is wider than the strip or has no simple outline, a number is out of range, or there are too many pieces.
pub fn plan_strip(
    request: &StripRequest,
    n_threads: usize,
    listener: &mut dyn FnMut(f64, u64) -> ControlFlow<()>,
) -> Result<StripPlan, Error> {
    in_range("the width of the strip", request.width_mm, 1.0, 5_000.0)?;
    in_range("the gap", request.gap_mm, 0.0, 100.0)?;
    in_range("the margin", request.edge_margin_mm, 0.0, 100.0)?;
    check_count(request.pieces.iter().fold(0, |n, piece| piece.n.saturating_add(n)))?;
    let clean_pieces = clean_all(&request.pieces)?;
    let long = SheetSize { width_mm: request.width_mm, length_mm: f64::from(LONGEST_MM) };
    check_fits(&request.pieces, long, request.edge_margin_mm)?;
    let shapes = Shape::all(&request.pieces, &clean_pieces, request.gap_mm)?;
    let area_mm2: f64 = clean_pieces
        .iter()
        .zip(&request.pieces)
        .map(|(c, piece)| c.area_mm2 * piece.n as f64)
        .sum();

    let inset = request.edge_margin_mm - request.gap_mm / 2.0 + SLACK_MM / 4.0;
    let room =
        Room { low: [inset as f32; 2], high: [(request.width_mm - inset) as f32, LONGEST_MM] };
    let mut copies: Vec<usize> = request
        .pieces
        .iter()
        .enumerate()
        .flat_map(|(place, piece)| std::iter::repeat_n(place, piece.n))
        .collect();
    copies
        .sort_by(|&a, &b| shapes[b].diameter_mm.total_cmp(&shapes[a].diameter_mm).then(a.cmp(&b)));
    let n = copies.len();
    let mut board = Board::new(&shapes, vec![room], copies);
    let mut filler = Filler::new(Xoshiro256PlusPlus::seed_from_u64(request.seed), n);
    let order: Vec<usize> = (0..n).collect();
    // The search keeps a hair more than gap and margin; straight rows may fit exactly.
    let in_rows = straight_strip(request).map(|(length_mm, placements)| StripPlan {
        length_mm,
        dough_use: area_mm2 / (request.width_mm * length_mm),
        placements,
        evaluations: 0,
        trail: vec![(0, length_mm)],
    });
    let in_rows = in_rows.filter(|plan| check_strip(request, plan).is_empty());
    if !filler.fill(&mut board, &order, false, None).is_empty() {
        return in_rows.ok_or(Error::NoPlan { n_sheets: 1 });
    }
    let length_of = |board: &Board<'_>| f64::from(board.rooms[0].high[1]) + inset;
    trim(&mut board);
    let mut strip = Strip {
        separator: None,
        best: State::new(board),
        evaluations: filler.evaluations,
        budget: request.budget.evaluations,
        n_threads,
        seed: request.seed,
        trail: Vec::new(),
        listener: &mut |board, evaluations| listener(length_of(board), evaluations).is_continue(),
        canceled: false,
    };
    strip.note();
    strip.start_in_a_pattern(&mut filler, &order, room);
    if n > 0 {
        strip.explore();
        strip.compress();
    }
    let (best, evaluations) = (strip.best, strip.evaluations);
    let trail = strip
        .trail
        .iter()
        .map(|&(evaluations, end)| (evaluations, f64::from(end) + inset))
        .collect();
    let length_mm = if n > 0 { length_of(&best.board) } else { 0.0 };
    let placements: Vec<Placement> = (0..n)
        .filter_map(|copy| {
            let spot = best.board.spot(copy)?;
            Some(best.board.shape(copy).placement(best.board.shape_of[copy], &spot))
        })
        .collect();
    let dough_use = if n > 0 { area_mm2 / (request.width_mm * length_mm) } else { 0.0 };
    let plan = StripPlan { length_mm, dough_use, placements, evaluations, trail };
    // The last word is a check in double precision on the exact outlines.
    let plan = Some(plan).filter(|plan| check_strip(request, plan).is_empty());
    let shorter = match (plan, in_rows) {
        (Some(mut plan), Some(rows)) if rows.length_mm < plan.length_mm => {
            let _ = listener(rows.length_mm, plan.evaluations);
            plan.trail.push((plan.evaluations, rows.length_mm));
            Some(StripPlan { evaluations: plan.evaluations, trail: plan.trail, ..rows })
        }
        (plan, rows) => plan.or(rows),
    };
    shorter.ok_or(Error::NoPlan { n_sheets: 1 })
}

/// Ends the strip where its last piece ends.
fn trim(board: &mut Board<'_>) {
    let start = board.rooms[0].low[1];
    let ends = board.on(0).iter().map(|&copy| board.boxed(copy as usize).1[1]);
    board.rooms[0].high[1] = ends.fold(start, f32::max);
}

struct Strip<'a, 'l> {
    separator: Option<Separator<'a>>,
    best: State<'a>,
    evaluations: u64,
    budget: u64,
    n_threads: usize,
    seed: u64,
    /// Queries made and where the strip ended then.
    trail: Vec<(u64, f32)>,
    listener: &'l mut dyn FnMut(&Board<'_>, u64) -> bool,
    canceled: bool,
}

impl<'a> Strip<'a, '_> {
    fn note(&mut self) {
        self.trail.push((self.evaluations, self.best.board.rooms[0].high[1]));
        self.canceled |= !(self.listener)(&self.best.board, self.evaluations);
    }

    /// Where copies of one shape, or as many of two, make a shorter strip in a pattern, begins with that.
    fn start_in_a_pattern(&mut self, filler: &mut Filler, order: &[usize], room: Room) {
        let mut patterns = Patterns::default();
        let mut board = self.best.board.clone();
        order.iter().for_each(|&copy| board.lift(copy));
        board.rooms[0] = room;
        let before = filler.evaluations;
        let left = patterns.fill(filler, &mut board, order, false, None);
        self.evaluations += filler.evaluations - before + patterns.evaluations;
        if left.is_some_and(|left| left.is_empty()) {
            trim(&mut board);
            if board.rooms[0].high[1] < self.best.board.rooms[0].high[1] {
                self.best = State::new(board);
                self.note();
            }
        }
    }

    /// Shortens the strip by ever smaller steps, then disturbs what does not come apart.
    fn explore(&mut self) {
        let until = (self.budget as f64 * EXPLORES) as u64;
        let mut chance = Xoshiro256PlusPlus::seed_from_u64(self.seed ^ 0x5bd1_e995);
        let mut state = self.best.clone();
        let mut step = STEPS.0;
        while self.goes_on(until) {
            state.copy_from(&self.best);
            let is_last = step <= STEPS.1;
            if !shorten(&mut state, step, &mut chance) {
                if is_last {
                    break;
                }
                step = (step / 2.0).max(STEPS.1);
                continue;
            }
            let patience = Patience {
                n_stale: if is_last { 200 } else { 50 },
                n_strikes: if is_last { 3 } else { 1 },
                evaluations: until.saturating_sub(self.evaluations),
            };
            if self.separate(&mut state, &patience) {
                self.keep(&mut state);
                continue;
            }
            if !is_last {
                step = (step / 2.0).max(STEPS.1);
                continue;
            }
            // Layouts that nearly came apart, the nearest first.
            let mut kept: Vec<(f32, State<'a>)> = Vec::new();
            while self.goes_on(until) {
                let loss = state.loss();
                let at = kept.partition_point(|(other, _)| *other <= loss);
                kept.insert(at, (loss, state.clone()));
                kept.truncate(MOST_KEPT);
                // The nearest are chosen most often.
                let r = chance.random::<f32>() * chance.random::<f32>();
                let chosen = (r * kept.len() as f32) as usize;
                state.copy_from(&kept[chosen.min(kept.len() - 1)].1);
                disturb(&mut state, &mut chance);
                if self.separate(&mut state, &patience) {
                    self.keep(&mut state);
                    break;
                }
            }
        }
    }

    /// Shortens the best strip by very small steps.
    fn compress(&mut self) {
        let mut chance = Xoshiro256PlusPlus::seed_from_u64(self.seed ^ 0x1b87_3593);
        let mut state = self.best.clone();
        let (from, to) = (self.evaluations, self.budget);
        while self.goes_on(to) {
            let spent = (self.evaluations - from) as f32 / (to - from).max(1) as f32;
            let step = LAST_STEPS.0 * (LAST_STEPS.1 / LAST_STEPS.0).powf(spent);
            state.copy_from(&self.best);
            if !shorten(&mut state, step, &mut chance) {
                break;
            }
            let patience = Patience {
                n_stale: 100,
                n_strikes: 1,
                evaluations: to.saturating_sub(self.evaluations),
            };
            if self.separate(&mut state, &patience) {
                self.keep(&mut state);
            }
        }
    }

    fn goes_on(&self, until: u64) -> bool {
        !self.canceled && self.evaluations < until
    }

    fn keep(&mut self, state: &mut State<'a>) {
        trim(&mut state.board);
        self.best.copy_from(state);
        self.note();
    }

    fn separate(&mut self, state: &mut State<'a>, patience: &Patience) -> bool {
        let (n_threads, seed) = (self.n_threads, self.seed);
        let separator = self.separator.get_or_insert_with(|| {
            Separator::new(state, n_threads, Xoshiro256PlusPlus::seed_from_u64(seed))
        });
        let (before, so_far) = (separator.evaluations, self.evaluations);
        let (best, listener, canceled) = (&self.best.board, &mut self.listener, &mut self.canceled);
        let apart = separator.separate(state, patience, &mut |now| {
            *canceled |= !listener(best, so_far + now - before);
            !*canceled
        });
        self.evaluations += separator.evaluations - before;
        apart
    }
}

/// Shortens the strip by a share: what lies beyond a random line moves up; tells whether each copy still fits at some angle.
fn shorten(state: &mut State<'_>, share: f32, chance: &mut Xoshiro256PlusPlus) -> bool {
    let room = state.board.rooms[0];
    let length = room.high[1] - room.low[1];
    let by = share * length;
    let line = room.low[1] + length * chance.random::<f32>();
    state.board.rooms[0].high[1] -= by;
    let up = |at: [f32; 2]| [at[0], if at[1] > line { at[1] - by } else { at[1] }];
    let fits = move_in(&mut state.board, 0, up).is_empty();
    state.look_again();
    fits
}

/// Moves every copy on a sheet, and back into its room; an angle that no longer fits gives way to one that does.
///
/// Returns the copies that fit at no angle; they stay where they were.
pub(crate) fn move_in(
    board: &mut Board<'_>,
    sheet: usize,
    to: impl Fn([f32; 2]) -> [f32; 2],
) -> Vec<usize> {
    let room = board.rooms[sheet];
    let mut turned = Turned::default();
    let mut too_large = Vec::new();
    for copy in board.on(sheet).to_vec() {
        let copy = copy as usize;
        let Some(spot) = board.spot(copy) else { continue };
        let shape = board.shape(copy);
        shape.turn_like(board.shape_of[copy], &spot, &mut turned);
        let fits = match room.reach(&turned) {
            Some(reach) => Some((reach, &turned)),
            None => shape.turns.iter().find_map(|turn| Some((room.reach(turn)?, turn))),
        };
        let Some(((low, high), turned)) = fits else {
            too_large.push(copy);
            continue;
        };
        let at = to(spot.at);
        let at = [0, 1].map(|axis| at[axis].clamp(low[axis], high[axis]));
        board.lay(copy, turned, sheet, at);
    }
    too_large
}

/// Swaps two large copies of different shapes.
pub(crate) fn disturb(state: &mut State<'_>, chance: &mut Xoshiro256PlusPlus) {
    let n = state.board.shape_of.len();
    let size = |copy: usize| state.board.shape(copy).extent_root;
    let mut sizes: Vec<f32> = (0..n).map(size).collect();
    sizes.sort_by(|a, b| b.total_cmp(a));
    let Some(&large) = sizes.get(n / 2) else { return };
    let large: Vec<usize> = (0..n).filter(|&copy| size(copy) >= large).collect();
    let a = large[chance.random_range(0..large.len())];
    let others: Vec<usize> =
        large.into_iter().filter(|&b| state.board.shape_of[b] != state.board.shape_of[a]).collect();
    let mut turned = Turned::default();
    if others.is_empty() {
        // Of one shape only, a copy goes anywhere.
        let Some(spot) = state.board.spot(a) else { return };
        let turns = &state.board.shape(a).turns;
        let turn = &turns[chance.random_range(0..turns.len())];
        let (angle, mirrored) = (turn.angle, turn.mirrored);
        if let Some((low, high)) = state.board.rooms[spot.sheet].reach(turn) {
            let at =
                [0, 1].map(|axis| low[axis] + (high[axis] - low[axis]) * chance.random::<f32>());
            state.lay(a, Spot { angle, mirrored, at, ..spot }, &mut turned);
        }
        return;
    }
    let b = others[chance.random_range(0..others.len())];
    let (Some(from), Some(to)) = (state.board.spot(a), state.board.spot(b)) else { return };
    for (copy, to, own) in [(a, to, from), (b, from, to)] {
        let shape = state.board.shape(copy);
        shape.turn_like(state.board.shape_of[copy], &own, &mut turned);
        if let Some((low, high)) = state.board.rooms[to.sheet].reach(&turned) {
            let at = [0, 1].map(|axis| to.at[axis].clamp(low[axis], high[axis]));
            state.lay(copy, Spot { sheet: to.sheet, at, ..own }, &mut turned);
        }
    }
}
