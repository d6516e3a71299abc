//! The same plan from a little less dough: every round keeps its pieces where they are, on sheets that got smaller.
//!
//! What overlaps is moved apart; a copy that stays in the way goes to the next round.
//! In every second try a few copies of later rounds, chosen by chance, are then pressed in: each that finds room leaves later rounds more slack than dough.
//! Tries in between exchange copies of two rounds, or send one to another round, by chance.
//! Where the last round does not come apart it is filled anew.

use rand::{RngExt, seq::SliceRandom};
use rand_xoshiro::Xoshiro256PlusPlus;

use crate::{
    CutSheet, Piece, SheetSize, SheetsPlan,
    fill::Filler,
    kernel::Board,
    pack::Packer,
    pattern::fill_either,
    rounds::{Copy, Search},
    strip::move_in,
};

/// Shapes of later rounds that may fail to be pressed into a round.
const N_FAILURES: usize = 1;

/// Exchanges looked at in one try until the later rounds have room.
const N_EXCHANGES: usize = 12;
/// Share of exchanges in which a copy only goes to another round.
const ONE_WAY: f64 = 0.3;

impl Search<'_> {
    /// A plan made from another one on sheets of given sizes, or nothing if some piece finds no room.
    pub(crate) fn attempt_warm(
        &mut self,
        from: &SheetsPlan,
        sizes: Vec<(SheetSize, bool)>,
        attempt: u64,
        patience: usize,
        effort: u64,
        go_on: &mut dyn FnMut(u64) -> bool,
    ) -> Option<SheetsPlan> {
        let mut chance = self.chance(sizes.len(), attempt ^ 0x7f4a_7c15);
        let so_far = self.evaluations;
        let go_on = &mut |evaluations| go_on(so_far + evaluations);
        let mut packer = Packer::new(&mut chance, self.n_threads, effort, go_on);
        packer.patience = patience;
        let needed: Vec<Copy> =
            self.copies(&mut chance, 0).into_iter().filter(|copy| !copy.optional).collect();
        let mut filler = Filler::new(self.chance(sizes.len(), attempt), needed.len());
        let mut patterns = std::mem::take(&mut self.patterns);
        let cut = self.cut_rounds(sizes, needed, &mut |round, board| {
            let before: Vec<&CutSheet> =
                from.sheets.iter().filter(|sheet| sheet.round == round).collect();
            put_as_before(board, &before);
            packer.apart(board);
            let mut no_room = off_sheets(board);
            if no_room.is_empty() || board.rooms.is_empty() {
                return no_room;
            }
            let n_only_here = self.n_only_here(round, board);
            let only_here = no_room.partition_point(|&copy| copy < n_only_here);
            if only_here > 0 {
                if !packer.all(board, &no_room[..only_here], 0) {
                    return no_room;
                }
                no_room.drain(..only_here);
            }
            if round == self.max_rerolls {
                if packer.all(board, &no_room, 0) {
                    return Vec::new();
                }
                (0..board.shape_of.len()).for_each(|copy| board.lift(copy));
                let all = off_sheets(board);
                no_room = fill_either(&mut filler, &mut patterns, board, &all, false, None);
                if no_room.is_empty() || packer.all(board, &no_room, 0) {
                    return Vec::new();
                }
            } else if attempt.is_multiple_of(2) {
                no_room.shuffle(&mut chance);
                no_room = packer.some(board, no_room, N_FAILURES);
                no_room.sort_unstable();
            }
            no_room
        });
        self.evaluations +=
            packer.evaluations + filler.evaluations + std::mem::take(&mut patterns.evaluations);
        self.patterns = patterns;
        let plan = self.plan(cut?.0, &self.all_optional());
        self.is_sound(&plan).then_some(plan)
    }

    /// The same where pieces change rounds: the areas tell at once how large the sheets of all rounds are.
    ///
    /// Later rounds are small and are packed first; only if they have room is the first one packed.
    pub(crate) fn attempt_exchange(
        &mut self,
        from: &SheetsPlan,
        sizes: &[(SheetSize, bool)],
        attempt: u64,
        patience: usize,
        effort: u64,
        go_on: &mut dyn FnMut(u64) -> bool,
    ) -> Option<SheetsPlan> {
        let before = by_round(from, &self.request.pieces);
        if before.is_empty() || self.max_rerolls == 0 {
            return None;
        }
        let mut chance = self.chance(sizes.len(), attempt ^ 0x2c1b_3c6d);
        let so_far = self.evaluations;
        let go_on = &mut |evaluations| go_on(so_far + evaluations);
        let mut packer = Packer::new(&mut chance, self.n_threads, effort, go_on);
        packer.patience = patience;
        let mut filler = Filler::new(self.chance(sizes.len(), attempt), self.n_copies);
        let mut patterns = std::mem::take(&mut self.patterns);
        let mut found = None;
        for _ in 0..N_EXCHANGES {
            let mut rounds = before.clone();
            if !exchange(&mut rounds, self.max_rerolls + 1, &mut chance) {
                continue;
            }
            let may_lie = |&piece: &usize| !self.request.pieces[piece].fresh_only;
            if !rounds.iter().skip(1).flatten().all(may_lie) {
                continue;
            }
            let Some(sizes) = self.sizes_of(sizes, &rounds) else { continue };
            let mut pack = |round: usize| -> Option<Vec<CutSheet>> {
                let copies: Vec<Copy> =
                    rounds[round].iter().map(|&piece| Copy { piece, optional: false }).collect();
                let mut filled = self.round(&sizes[round], &copies);
                let board = &mut filled.board;
                let cut: Vec<&CutSheet> =
                    from.sheets.iter().filter(|sheet| sheet.round == round).collect();
                put_as_before(board, &cut);
                let mut has_room = packer.all(board, &off_sheets(board), 0);
                if !has_room && round > 0 {
                    (0..copies.len()).for_each(|copy| board.lift(copy));
                    let order: Vec<usize> = (0..copies.len()).collect();
                    let left = fill_either(&mut filler, &mut patterns, board, &order, false, None);
                    has_room = left.is_empty() || packer.all(board, &left, 0);
                }
                has_room.then(|| self.cut(round, &filled))
            };
            let later: Option<Vec<Vec<CutSheet>>> =
                (1..rounds.len()).rev().map(&mut pack).collect();
            if let Some(later) = later {
                found = pack(0).map(|first| {
                    first.into_iter().chain(later.into_iter().rev().flatten()).collect()
                });
                break;
            }
        }
        self.evaluations +=
            packer.evaluations + filler.evaluations + std::mem::take(&mut patterns.evaluations);
        self.patterns = patterns;
        let plan = self.plan(found?, &self.all_optional());
        self.is_sound(&plan).then_some(plan)
    }

    /// Sizes of the sheets of all rounds, if each has enough dough.
    fn sizes_of(
        &self,
        first: &[(SheetSize, bool)],
        rounds: &[Vec<usize>],
    ) -> Option<Vec<Vec<(SheetSize, bool)>>> {
        let mut sizes = vec![first.to_vec()];
        for round in 1..rounds.len() {
            let rolled: f64 = sizes[round - 1].iter().map(|(size, _)| size.area_mm2()).sum();
            let cut: f64 = rounds[round - 1].iter().map(|&piece| self.shape(piece).area_mm2).sum();
            let left: Vec<Copy> = rounds[round..]
                .iter()
                .flatten()
                .map(|&piece| Copy { piece, optional: false })
                .collect();
            let rest_mm2 = (rolled - cut) * (1.0 - self.request.rerolls.loss);
            let next = self.rerolled_sheets(rest_mm2, &left);
            if next.is_empty() {
                return None;
            }
            sizes.push(next);
        }
        Some(sizes)
    }
}

/// The pieces that must be cut, by the round they are cut in.
fn by_round(from: &SheetsPlan, pieces: &[Piece]) -> Vec<Vec<usize>> {
    let mut left: Vec<usize> = pieces.iter().map(|piece| piece.n).collect();
    let mut rounds: Vec<Vec<usize>> = Vec::new();
    for sheet in &from.sheets {
        rounds.resize(rounds.len().max(sheet.round + 1), Vec::new());
        for one in &sheet.placements {
            // Optional copies are left out.
            if left[one.piece] > 0 {
                left[one.piece] -= 1;
                rounds[sheet.round].push(one.piece);
            }
        }
    }
    rounds
}

/// Two pieces of different shapes change rounds, or one goes to another round; says whether something changed.
fn exchange(
    rounds: &mut Vec<Vec<usize>>,
    most_rounds: usize,
    chance: &mut Xoshiro256PlusPlus,
) -> bool {
    let from = chance.random_range(0..rounds.len());
    if rounds[from].is_empty() {
        return false;
    }
    let one = chance.random_range(0..rounds[from].len());
    let piece = rounds[from][one];
    if chance.random_bool(ONE_WAY) {
        let to = chance.random_range(0..most_rounds.min(rounds.len() + 1));
        if to == from {
            return false;
        }
        rounds.resize(rounds.len().max(to + 1), Vec::new());
        rounds[from].swap_remove(one);
        rounds[to].push(piece);
    } else {
        let to = chance.random_range(0..rounds.len());
        if to == from || rounds[to].is_empty() {
            return false;
        }
        let other = chance.random_range(0..rounds[to].len());
        if rounds[to][other] == piece {
            return false;
        }
        rounds[from][one] = rounds[to][other];
        rounds[to][other] = piece;
    }
    while rounds.last().is_some_and(Vec::is_empty) {
        rounds.pop();
    }
    rounds.iter().all(|round| !round.is_empty())
}

/// Copies that lie nowhere.
fn off_sheets(board: &Board<'_>) -> Vec<usize> {
    (0..board.shape_of.len()).filter(|&copy| board.spot(copy).is_none()).collect()
}

/// Lays copies where they lay in another plan, moved back inside sheets that are smaller now.
fn put_as_before(board: &mut Board<'_>, before: &[&CutSheet]) {
    let n_sheets = board.rooms.len();
    for (sheet, cut) in before.iter().enumerate().take(n_sheets) {
        for one in &cut.placements {
            let copy = (0..board.shape_of.len())
                .find(|&copy| board.shape_of[copy] == one.piece && board.spot(copy).is_none());
            if let Some(copy) = copy {
                board.put(copy, sheet, one);
            }
        }
        // A copy that fits at no angle any more is lifted.
        for copy in move_in(board, sheet, |at| at) {
            board.lift(copy);
        }
    }
}
