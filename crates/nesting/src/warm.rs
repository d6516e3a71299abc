//! The same plan from a little less dough: every round keeps its pieces where they are, on sheets that got smaller.
//!
//! What overlaps is moved apart; a copy that stays in the way goes to the next round.
//! Tries take turns at what else they change, by chance:
//! nothing; a few copies of later rounds are pressed in, each of which leaves later rounds more slack than dough;
//! a copy changes places with one of another shape from a later round.
//! Where the last round does not come apart it is filled anew.
//! Scraps need not be rolled to a square: sheets of a few copies get other sides now and then.

use rand::{RngExt, seq::SliceRandom};
use rand_xoshiro::Xoshiro256PlusPlus;

use crate::{
    CutSheet, SheetSize, SheetsPlan,
    fill::Filler,
    kernel::{Board, Turned},
    pack::Packer,
    pattern::fill_either,
    rounds::{Copy, Search},
    strip::move_in,
};

/// Shapes of later rounds that may fail to be pressed into a round.
const N_FAILURES: usize = 1;

/// What a try changes besides the size of the sheets.
#[derive(Clone, Copy, PartialEq)]
enum Change {
    Nothing,
    PressIn,
    Exchange,
}

const CHANGES: [Change; 4] = [Change::PressIn, Change::Exchange, Change::Nothing, Change::Exchange];

/// Every so manieth try gives the last sheet of a later round other sides, where it carries so few copies that they feel it.
const RESHAPES: u64 = 3;
const FEW: usize = 6;
/// Their ratio changes by up to e to the power of so much, and stays so near to a square.
const OTHER_RATIO: f64 = 0.4;
const FURTHEST_RATIO: f64 = 2.0;

impl Search<'_> {
    /// Gives the last sheet of a later round of a plan other sides, by chance.
    pub(crate) fn reshape(&mut self, from: &SheetsPlan, attempt: u64) {
        let last = from.sheets.iter().map(|sheet| sheet.round).max().unwrap_or(0);
        if last == 0 || !attempt.is_multiple_of(RESHAPES) {
            return;
        }
        let mut chance = self.chance(from.sheets.len(), attempt ^ 0x1656_67b1);
        let round = chance.random_range(1..=last);
        let Some(sheet) = from.sheets.iter().rfind(|sheet| sheet.round == round) else { return };
        if sheet.placements.len() > FEW {
            return;
        }
        if let Some(ratio) = self.ratios.get_mut(round) {
            let by = (OTHER_RATIO * (2.0 * chance.random::<f64>() - 1.0)).exp();
            let other = by * sheet.size.width_mm / sheet.size.length_mm;
            *ratio = Some(other.clamp(1.0 / FURTHEST_RATIO, FURTHEST_RATIO));
        }
    }

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
        let change = CHANGES[(attempt % CHANGES.len() as u64) as usize];
        let needed: Vec<Copy> =
            self.copies(&mut chance, 0).into_iter().filter(|copy| !copy.optional).collect();
        let mut filler = Filler::new(self.chance(sizes.len(), attempt), needed.len());
        let mut patterns = std::mem::take(&mut self.patterns);
        let last = from.sheets.iter().map(|sheet| sheet.round).max().unwrap_or(0);
        // Copies change places in one round.
        let changed = if last > 0 { chance.random_range(0..last) } else { 0 };
        let cut = self.cut_rounds(sizes, needed, &mut |round, board| {
            let before: Vec<&CutSheet> =
                from.sheets.iter().filter(|sheet| sheet.round == round).collect();
            put_as_before(board, &before);
            if change == Change::Exchange && round == changed {
                change_places(board, &mut chance);
            }
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
            } else if change == Change::PressIn {
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
}

/// Copies that lie nowhere.
fn off_sheets(board: &Board<'_>) -> Vec<usize> {
    (0..board.shape_of.len()).filter(|&copy| board.spot(copy).is_none()).collect()
}

/// A copy of a later round takes the place of one of another shape.
fn change_places(board: &mut Board<'_>, chance: &mut Xoshiro256PlusPlus) {
    let off = off_sheets(board);
    if off.is_empty() {
        return;
    }
    let comes = off[chance.random_range(0..off.len())];
    let others: Vec<usize> = (0..board.rooms.len())
        .flat_map(|sheet| board.on(sheet))
        .map(|&copy| copy as usize)
        .filter(|&copy| board.shape_of[copy] != board.shape_of[comes])
        .collect();
    if others.is_empty() {
        return;
    }
    let goes = others[chance.random_range(0..others.len())];
    let Some(spot) = board.spot(goes) else { return };
    board.lift(goes);
    let shape = board.shape(comes);
    let turn = &shape.turns[chance.random_range(0..shape.turns.len())];
    let mut turned = Turned::default();
    shape.turn_as(board.shape_of[comes], turn.angle, turn.mirrored, &mut turned);
    if let Some((low, high)) = board.rooms[spot.sheet].reach(&turned) {
        let at = [0, 1].map(|axis| spot.at[axis].clamp(low[axis], high[axis]));
        board.lay(comes, &turned, spot.sheet, at);
    }
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
