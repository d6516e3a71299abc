//! How many sheets are rolled, and what is cut from each?
//!
//! Round 0 cuts stock and fresh sheets; what is left, less the loss of a rolling, makes the sheets of round 1, and so on:
//! S(k+1) = (1 - loss) (S(k) - cut(k)), with S the area rolled and cut the area cut in a round (the thickness stays).
//!
//! Pieces go, the largest first, onto the first sheet of a round that has room (first fit), each as far to the start as it goes;
//! where a sheet holds copies of one shape, or as many of two, a dense pattern is tried too.
//! A plan without re-rolls is found in one go; with re-rolls the fresh sheets are bisected between their bound and that plan.
//! While the budget lasts, fewer sheets are tried: what finds no room is pressed in, and all that overlaps is moved apart.
//! Among plans with as many fresh sheets, fewer rollings win.

use std::ops::ControlFlow;

use rand::{RngExt, SeedableRng};
use rand_xoshiro::Xoshiro256PlusPlus;

use crate::{
    CutSheet, Error, Progress, SheetSize, SheetsPlan, SheetsRequest,
    by_hand::straight_plan,
    check::{check_cut_short, check_sheets},
    clean::{CleanPiece, check_count, check_fits, check_size, clean_all, in_range},
    fill::Filler,
    kernel::{Board, Room, SLACK_MM, Shape},
    pack::Packer,
    pattern::{Patterns, fill_either},
};

/// Share of a sheet that pieces cannot be expected to exceed: the densest plane tilings of real cookie shapes.
const DENSEST: f64 = 0.92;
/// Orders tried for each number of fresh sheets.
const ATTEMPTS: u64 = 6;

/// Plans the cutting of all pieces.
///
/// `listener` hears of each attempt and may end the search once there is a plan; the best so far is returned.
///
/// # Errors
/// A piece fits no sheet or has no simple outline, a number is out of range, there are too many pieces, or no plan was found.
pub fn plan_sheets(
    request: &SheetsRequest,
    listener: &mut dyn FnMut(&Progress) -> ControlFlow<()>,
) -> Result<SheetsPlan, Error> {
    let n_threads = std::thread::available_parallelism().map_or(1, usize::from);
    plan_sheets_on(request, n_threads, listener)
}

/// As [`plan_sheets`], on at most so many threads; the plan is the same on any number.
///
/// # Errors
/// As [`plan_sheets`].
pub fn plan_sheets_on(
    request: &SheetsRequest,
    n_threads: usize,
    listener: &mut dyn FnMut(&Progress) -> ControlFlow<()>,
) -> Result<SheetsPlan, Error> {
    let mut search = Search::new(request)?;
    search.n_threads = n_threads;
    let mut best = search.first_plan()?;
    let mut tell =
        |evaluations: u64, best: &SheetsPlan| listener(&best.progress(evaluations)).is_continue();
    let mut goes_on = tell(search.evaluations, &best);
    let least = search.least_fresh();
    // Many sheets are left out at once while that works.
    let mut leap = (best.n_fresh / 10).max(1);
    let mut attempt = 1;
    while goes_on && attempt < ATTEMPTS && search.evaluations < request.budget.evaluations {
        let n_fresh = best.n_fresh.saturating_sub(leap).max(least);
        if n_fresh == best.n_fresh && best.n_rerolled == 0 {
            break;
        }
        let rest = request.budget.evaluations - search.evaluations;
        let effort = if leap > 1 { rest / 4 } else { rest };
        let found = search
            .attempt(n_fresh, attempt, false, effort, &mut |evaluations| tell(evaluations, &best));
        match found.filter(|plan| rank(plan) < rank(&best)) {
            Some(plan) => {
                best = plan;
                attempt = 1;
            }
            None if leap > 1 => leap /= 2,
            None => attempt += 1,
        }
        goes_on = tell(search.evaluations, &best);
    }
    let apart = |plan: &SheetsPlan| plan.one_shape && n_rollings(plan) <= n_rollings(&best);
    if request.one_piece_per_sheet
        && !best.one_shape
        && let Some(rows) = straight_plan(&search, true).filter(apart)
    {
        best = rows;
    }
    if request.one_piece_per_sheet && !best.one_shape {
        for attempt in 0..2 {
            let plan = search.attempt(best.n_fresh, attempt, true, 0, &mut |_| true);
            if let Some(plan) = plan.filter(|plan| n_rollings(plan) <= n_rollings(&best)) {
                best = plan;
                break;
            }
        }
    }
    if goes_on {
        best = search.more_optional(best, &mut |evaluations, best| tell(evaluations, best));
    }
    best.evaluations = search.evaluations;
    Ok(best)
}

/// What a plan is judged by, less is better.
pub(crate) fn rank(plan: &SheetsPlan) -> (usize, usize) {
    (plan.n_fresh, n_rollings(plan))
}

/// Sheets that pass under the pin.
fn n_rollings(plan: &SheetsPlan) -> usize {
    plan.n_fresh + plan.n_rerolled
}

/// A request taken in, and what its plans are made with.
pub(crate) struct Search<'a> {
    pub(crate) request: &'a SheetsRequest,
    pieces: Vec<CleanPiece>,
    pub(crate) shapes: Vec<Shape>,
    /// All copies, optional ones too.
    pub(crate) n_copies: usize,
    pub(crate) n_threads: usize,
    /// How often scraps are rolled, at most as often as the request allows.
    pub(crate) max_rerolls: usize,
    /// Whether the last fresh sheet may be smaller than a whole one.
    pub(crate) cut_short: bool,
    /// So many optional copies are placed or the attempt fails.
    pub(crate) n_wanted: usize,
    /// Width to length of each round's last sheet, where the search has found one.
    pub(crate) ratios: Vec<Option<f64>>,
    pub(crate) evaluations: u64,
    pub(crate) patterns: Patterns,
}

impl<'a> Search<'a> {
    pub(crate) fn new(request: &'a SheetsRequest) -> Result<Self, Error> {
        check_size(request.sheet)?;
        for stock in &request.stock {
            check_size(stock.size)?;
            check_count(stock.n)?;
        }
        in_range("the gap", request.gap_mm, 0.0, 100.0)?;
        in_range("the margin", request.edge_margin_mm, 0.0, 100.0)?;
        in_range("the loss of a rolling", request.rerolls.loss, 0.0, 0.9)?;
        let n_copies = request
            .pieces
            .iter()
            .fold(0_usize, |n, piece| n.saturating_add(piece.n).saturating_add(piece.n_optional));
        check_count(n_copies)?;
        let pieces = clean_all(&request.pieces)?;
        check_fits(&request.pieces, request.sheet, request.edge_margin_mm)?;
        let shapes = Shape::all(&request.pieces, &pieces, request.gap_mm)?;
        Ok(Self {
            request,
            pieces,
            shapes,
            n_copies,
            n_threads: 1,
            max_rerolls: request.rerolls.max,
            cut_short: false,
            n_wanted: 0,
            ratios: vec![None; request.rerolls.max.min(n_copies) + 1],
            evaluations: 0,
            patterns: Patterns::default(),
        })
    }

    /// Area of all pieces that must be cut.
    pub(crate) fn needed_mm2(&self) -> f64 {
        self.request
            .pieces
            .iter()
            .zip(&self.pieces)
            .map(|(piece, clean)| piece.n as f64 * clean.area_mm2)
            .sum()
    }

    /// Fewest fresh sheets worth trying: all dough, cut as densely as real shapes allow in every round.
    fn least_fresh(&self) -> usize {
        let left = (1.0 - DENSEST) * (1.0 - self.request.rerolls.loss);
        let used: f64 = (0..=self.max_rerolls).map(|round| DENSEST * left.powi(round as i32)).sum();
        let stock: f64 =
            self.request.stock.iter().map(|stock| stock.size.area_mm2() * stock.n as f64).sum();
        let fresh = (self.needed_mm2() / used - stock) / self.request.sheet.area_mm2();
        fresh.ceil().max(0.0) as usize
    }

    /// Area bound on the number of fresh sheets without stock or re-rolls: pieces grown by half the gap, sheets by as much.
    pub(crate) fn sheets_bound(&self) -> usize {
        let (gap, margin, sheet) =
            (self.request.gap_mm, self.request.edge_margin_mm, self.request.sheet);
        let room = (sheet.width_mm - 2.0 * margin + gap) * (sheet.length_mm - 2.0 * margin + gap);
        // Of all shapes of one area, the circle gains least when grown (Brunn-Minkowski inequality).
        let grown: f64 = self
            .request
            .pieces
            .iter()
            .zip(&self.pieces)
            .map(|(piece, clean)| {
                let radius = (clean.area_mm2 / std::f64::consts::PI).sqrt() + gap / 2.0;
                piece.n as f64 * std::f64::consts::PI * radius * radius
            })
            .sum();
        (grown / room - 1e-9).ceil().max(0.0) as usize
    }

    /// A whole plan by left-bottom fill, or in straight rows if those need less dough or rolling, whatever the budget.
    ///
    /// The fill keeps a hair more than gap and margin; straight rows may fit exactly.
    pub(crate) fn first_plan(&mut self) -> Result<SheetsPlan, Error> {
        let cost = |plan: &SheetsPlan| (plan.fresh_area_mm2, n_rollings(plan));
        match (self.filled_plan(), straight_plan(self, false)) {
            (Ok(plan), Some(rows)) if cost(&rows) < cost(&plan) => Ok(rows),
            (Err(_), Some(rows)) => Ok(rows),
            (plan, _) => plan,
        }
    }

    /// A whole plan by left-bottom fill alone.
    fn filled_plan(&mut self) -> Result<SheetsPlan, Error> {
        let mut best = self.without_rerolls()?;
        if self.max_rerolls == 0 {
            return Ok(best);
        }
        // Fewer fresh sheets are enough with re-rolls: bisect.
        let mut too_few = self.least_fresh().checked_sub(1);
        while too_few.map_or(0, |n| n + 1) < best.n_fresh {
            let low = too_few.map_or(0, |n| n + 1);
            let n_fresh = (low + best.n_fresh - 1) / 2;
            match self.attempt(n_fresh, 0, false, 0, &mut |_| true) {
                Some(plan) => best = plan,
                None => too_few = Some(n_fresh),
            }
        }
        Ok(best)
    }

    /// Fresh sheets are taken as they are needed.
    fn without_rerolls(&mut self) -> Result<SheetsPlan, Error> {
        let mut chance = self.chance(0, 0);
        let copies = self.copies(&mut chance, 0);
        let fresh = self.room(self.request.sheet);
        let failed = |n_sheets| Error::NoPlan { n_sheets };
        let mut patterns = std::mem::take(&mut self.patterns);
        let mut round = self.round(&self.first_sheets(0), &copies);
        let mut filler = Filler::new(chance, self.n_copies);
        let order: Vec<usize> = (0..copies.len()).collect();
        let n_needed = copies.iter().filter(|copy| !copy.optional).count();
        let more = fresh.filter(|_| n_needed > 0);
        let (needed, optional) = order.split_at(n_needed);
        let left = fill_either(&mut filler, &mut patterns, &mut round.board, needed, false, more);
        let n_opened = round.board.rooms.len() - round.sizes.len();
        if !left.is_empty() {
            return Err(failed(n_opened));
        }
        let left = filler.fill(&mut round.board, optional, false, None);
        round.sizes.extend(std::iter::repeat_n((self.request.sheet, false), n_opened));
        let left: Vec<Copy> = left.into_iter().map(|copy| copies[copy]).collect();
        let plan = self.plan(self.cut(0, &round), &left);
        self.evaluations += filler.evaluations + std::mem::take(&mut patterns.evaluations);
        self.patterns = patterns;
        // The last word is a check in double precision on the exact outlines.
        if self.is_sound(&plan) { Ok(plan) } else { Err(failed(n_opened)) }
    }

    /// Area of what is cut from sheets.
    fn area_of(&self, sheets: &[CutSheet]) -> f64 {
        let cuts = sheets.iter().flat_map(|sheet| &sheet.placements);
        cuts.map(|one| self.pieces[one.piece].area_mm2).sum()
    }

    pub(crate) fn is_sound(&self, plan: &SheetsPlan) -> bool {
        if self.cut_short {
            check_cut_short(self.request, plan).is_empty()
        } else {
            check_sheets(self.request, plan).is_empty()
        }
    }

    pub(crate) fn chance(&self, n_fresh: usize, attempt: u64) -> Xoshiro256PlusPlus {
        let seed = self
            .request
            .seed
            .wrapping_mul(0x9e37_79b9)
            .wrapping_add(attempt)
            .wrapping_add((n_fresh as u64) << 32);
        Xoshiro256PlusPlus::seed_from_u64(seed)
    }

    /// One whole plan with so many fresh sheets, or nothing if some piece finds no room.
    pub(crate) fn attempt(
        &mut self,
        n_fresh: usize,
        attempt: u64,
        one_shape: bool,
        effort: u64,
        go_on: &mut dyn FnMut(u64) -> bool,
    ) -> Option<SheetsPlan> {
        let sizes = self.first_sheets(n_fresh);
        self.attempt_from(sizes, attempt, one_shape, effort, go_on)
    }

    /// One whole plan from sheets of given sizes, or nothing if some piece finds no room.
    ///
    /// Each round is filled; with an effort in queries, what found no room is then pressed in and all is moved apart.
    pub(crate) fn attempt_from(
        &mut self,
        sizes: Vec<(SheetSize, bool)>,
        attempt: u64,
        one_shape: bool,
        effort: u64,
        go_on: &mut dyn FnMut(u64) -> bool,
    ) -> Option<SheetsPlan> {
        let mut chance = self.chance(sizes.len(), attempt);
        let so_far = self.evaluations;
        let go_on = &mut |evaluations| go_on(so_far + evaluations);
        let mut packer = Packer::new(&mut chance, self.n_threads, effort, go_on);
        let copies = self.copies(&mut chance, attempt);
        let n_needed = copies.iter().filter(|copy| !copy.optional).count() + self.n_wanted;
        let (needed, optional) = copies.split_at(n_needed.min(copies.len()));
        let (needed, optional) = (needed.to_vec(), optional.to_vec());
        let mut filler = Filler::new(chance, self.n_copies);
        let mut patterns = std::mem::take(&mut self.patterns);
        let cut = self.cut_rounds(sizes, needed, &mut |round, board| {
            let order: Vec<usize> = (0..board.shape_of.len()).collect();
            // What is cut here or nowhere comes before everything else.
            let (only_here, others) = order.split_at(self.n_only_here(round, board));
            let mut no_room = filler.fill(board, only_here, one_shape, None);
            if !no_room.is_empty() && effort > 0 && packer.all(board, &no_room, usize::MAX) {
                no_room.clear();
            }
            if !no_room.is_empty() {
                return order;
            }
            let no_room = fill_either(&mut filler, &mut patterns, board, others, one_shape, None);
            if no_room.is_empty() || effort == 0 || board.rooms.is_empty() {
                return no_room;
            }
            if round < self.max_rerolls {
                return packer.some(board, no_room, usize::MAX);
            }
            if packer.all(board, &no_room, usize::MAX) { Vec::new() } else { no_room }
        });
        let filled = cut.map(|(mut cut, last)| {
            let left = self.fill_up(&mut cut[last..], optional, &mut filler, one_shape);
            (cut, left)
        });
        self.evaluations +=
            filler.evaluations + packer.evaluations + std::mem::take(&mut patterns.evaluations);
        self.patterns = patterns;
        let (cut, optional) = filled?;
        let plan = self.plan(cut, &optional);
        self.is_sound(&plan).then_some(plan)
    }

    /// Cuts round after round, beginning with sheets of given sizes.
    ///
    /// `fill` lays copies on the sheets of a round and returns those that found no room.
    /// Returns what is cut and how many sheets come before the last round, or nothing if some copy found no room.
    pub(crate) fn cut_rounds(
        &self,
        mut sizes: Vec<(SheetSize, bool)>,
        mut left: Vec<Copy>,
        fill: &mut dyn FnMut(usize, &mut Board<'_>) -> Vec<usize>,
    ) -> Option<(Vec<CutSheet>, usize)> {
        let mut cut: Vec<CutSheet> = Vec::new();
        for round in 0..=self.max_rerolls {
            let mut filled = self.round(&sizes, &left);
            let no_room = fill(round, &mut filled.board);
            left = no_room.into_iter().map(|copy| left[copy]).collect();
            let sheets = self.cut(round, &filled);
            // Stock from which nothing is cut stays where it is.
            let rolled: f64 = sheets.iter().map(|sheet| sheet.size.area_mm2()).sum();
            let cut_mm2 = self.area_of(&sheets);
            let before = cut.len();
            cut.extend(sheets);
            if left.is_empty() {
                return Some((cut, before));
            }
            if left.iter().any(|copy| self.request.pieces[copy.piece].fresh_only) {
                break;
            }
            let rest_mm2 = (rolled - cut_mm2) * (1.0 - self.request.rerolls.loss);
            sizes = self.rerolled_sheets(round + 1, rest_mm2, &left);
            if sizes.is_empty() {
                break;
            }
        }
        None
    }

    /// How many copies of a round may be cut in no later one; they come first.
    pub(crate) fn n_only_here(&self, round: usize, board: &Board<'_>) -> usize {
        let is_one = |piece: &&usize| self.request.pieces[**piece].fresh_only;
        if round < self.max_rerolls { board.shape_of.iter().take_while(is_one).count() } else { 0 }
    }

    /// All copies, the largest first, those of fresh dough only before others; later attempts disturb the order.
    pub(crate) fn copies(&self, chance: &mut Xoshiro256PlusPlus, attempt: u64) -> Vec<Copy> {
        let noise = 0.15 * attempt as f64;
        let mut sizes: Vec<(f64, usize)> = self
            .shapes
            .iter()
            .enumerate()
            .map(|(place, shape)| {
                let size = f64::from(shape.diameter_mm);
                (size * (1.0 + noise * (chance.random::<f64>() - 0.5)), place)
            })
            .collect();
        let may_wait =
            |place: usize| self.max_rerolls > 0 && !self.request.pieces[place].fresh_only;
        sizes.sort_by(|a, b| {
            let by_round = may_wait(a.1).cmp(&may_wait(b.1));
            by_round.then(b.0.total_cmp(&a.0)).then(a.1.cmp(&b.1))
        });
        let pieces = &self.request.pieces;
        let needed = sizes.iter().flat_map(|&(_, piece)| {
            std::iter::repeat_n(Copy { piece, optional: false }, pieces[piece].n)
        });
        // One more of each comes before two more of any.
        let most = pieces.iter().map(|piece| piece.n_optional).max().unwrap_or(0);
        let optional = (0..most).flat_map(|n| {
            let more = sizes.iter().filter(move |&&(_, piece)| pieces[piece].n_optional > n);
            more.map(|&(_, piece)| Copy { piece, optional: true })
        });
        needed.chain(optional).collect()
    }

    pub(crate) fn first_sheets(&self, n_fresh: usize) -> Vec<(SheetSize, bool)> {
        let stock = self
            .request
            .stock
            .iter()
            .flat_map(|stock| std::iter::repeat_n((stock.size, true), stock.n));
        stock.chain(std::iter::repeat_n((self.request.sheet, false), n_fresh)).collect()
    }

    /// Sheets rolled from so much dough, if any piece left could be cut from them.
    fn rerolled_sheets(
        &self,
        round: usize,
        area_mm2: f64,
        left: &[Copy],
    ) -> Vec<(SheetSize, bool)> {
        let smallest =
            left.iter().map(|copy| self.pieces[copy.piece].area_mm2).fold(f64::MAX, f64::min);
        self.sheets_of(round, area_mm2, smallest)
    }

    /// Sheets of stock and so much fresh dough.
    pub(crate) fn sheets_of_area(&self, area_mm2: f64) -> Vec<(SheetSize, bool)> {
        let mut sizes = self.first_sheets(0);
        sizes.extend(self.sheets_of(0, area_mm2, 0.0));
        sizes
    }

    /// Full sheets, then one of the round's ratio; without that as wide as a sheet if it is half as long, else a square.
    fn sheets_of(&self, round: usize, area_mm2: f64, smallest_mm2: f64) -> Vec<(SheetSize, bool)> {
        let full = self.request.sheet;
        let mut sizes = Vec::new();
        let mut rest = area_mm2;
        while rest >= full.area_mm2() {
            sizes.push((full, false));
            rest -= full.area_mm2();
        }
        if rest > smallest_mm2 {
            let width = match self.ratios.get(round) {
                Some(Some(ratio)) => (rest * ratio).sqrt(),
                _ if rest / full.width_mm >= full.length_mm / 2.0 => full.width_mm,
                _ => rest.sqrt(),
            };
            let width_mm = width.max(rest / full.length_mm).min(full.width_mm);
            let size = SheetSize { width_mm, length_mm: rest / width_mm };
            // A rest too small for its own margins is no sheet.
            sizes.extend(self.room(size).map(|_| (size, false)));
        }
        sizes
    }

    /// What grown boxes must stay inside on a sheet, if anything is left inside its margins.
    fn room(&self, size: SheetSize) -> Option<Room> {
        let inset = self.request.edge_margin_mm - self.request.gap_mm / 2.0;
        let (low, high) = (inset, [size.width_mm - inset, size.length_mm - inset]);
        (high[0].min(high[1]) > low + self.request.gap_mm + 1.0).then(|| Room {
            low: [(low + SLACK_MM / 4.0) as f32; 2],
            high: high.map(|high| (high - SLACK_MM / 4.0) as f32),
        })
    }

    /// A round's sheets with copies beside them.
    pub(crate) fn round(&self, sizes: &[(SheetSize, bool)], copies: &[Copy]) -> Round<'_> {
        // A sheet without room inside its margins keeps its place and takes nothing.
        let nothing = Room { low: [0.0; 2], high: [0.0; 2] };
        let rooms = sizes.iter().map(|&(size, _)| self.room(size).unwrap_or(nothing)).collect();
        let shapes = copies.iter().map(|copy| copy.piece).collect();
        Round { board: Board::new(&self.shapes, rooms, shapes), sizes: sizes.to_vec() }
    }

    /// What is cut from the sheets of a round; a sheet from which nothing is cut is not rolled, but a fresh one was counted on.
    fn cut(&self, round: usize, filled: &Round<'_>) -> Vec<CutSheet> {
        let board = &filled.board;
        filled
            .sizes
            .iter()
            .enumerate()
            .map(|(sheet, &(size, from_stock))| {
                let placements = board.on(sheet).iter().filter_map(|&copy| {
                    let (copy, spot) = (copy as usize, board.spot(copy as usize)?);
                    Some(board.shape(copy).placement(board.shape_of[copy], &spot))
                });
                CutSheet { round, from_stock, size, placements: placements.collect() }
            })
            .filter(|sheet| !sheet.placements.is_empty() || (round == 0 && !sheet.from_stock))
            .collect()
    }

    pub(crate) fn plan(&self, sheets: Vec<CutSheet>, left: &[Copy]) -> SheetsPlan {
        let area = |wanted: &dyn Fn(&CutSheet) -> bool| -> f64 {
            sheets.iter().filter(|sheet| wanted(sheet)).map(|sheet| sheet.size.area_mm2()).sum()
        };
        let n = |wanted: &dyn Fn(&CutSheet) -> bool| {
            sheets.iter().filter(|sheet| wanted(sheet)).count()
        };
        let first_mm2 = area(&|sheet| sheet.round == 0);
        let piece_area_mm2: f64 = sheets
            .iter()
            .flat_map(|sheet| &sheet.placements)
            .map(|one| self.pieces[one.piece].area_mm2)
            .sum();
        let mut unplaced_optional = vec![0; self.pieces.len()];
        for copy in left {
            unplaced_optional[copy.piece] += 1;
        }
        SheetsPlan {
            n_fresh: n(&|sheet| sheet.round == 0 && !sheet.from_stock),
            n_stock: n(&|sheet| sheet.from_stock),
            n_rerolled: n(&|sheet| sheet.round > 0),
            one_shape: sheets.iter().all(|sheet| {
                sheet.placements.windows(2).all(|pair| pair[0].piece == pair[1].piece)
            }),
            fresh_area_mm2: area(&|sheet| sheet.round == 0 && !sheet.from_stock),
            scrap_area_mm2: (first_mm2 - piece_area_mm2).max(0.0),
            dough_use: if first_mm2 > 0.0 { piece_area_mm2 / first_mm2 } else { 0.0 },
            piece_area_mm2,
            sheets_bound: self.sheets_bound(),
            unplaced_optional,
            evaluations: self.evaluations,
            sheets,
        }
    }
}

/// One copy of a piece that is to be placed.
#[derive(Clone, Copy)]
pub(crate) struct Copy {
    pub(crate) piece: usize,
    pub(crate) optional: bool,
}

/// The sheets of a round and what lies on them.
pub(crate) struct Round<'a> {
    pub(crate) board: Board<'a>,
    sizes: Vec<(SheetSize, bool)>,
}
