//! The same plan from a little less dough: every round keeps its pieces where they are, on sheets that got smaller.
//!
//! What overlaps is moved apart; a copy that stays in the way goes to the next round.
//! In every second try a few copies of later rounds, chosen by chance, are then pressed in: each that finds room leaves later rounds more slack than dough.

use rand::{RngExt, SeedableRng, seq::SliceRandom};
use rand_xoshiro::Xoshiro256PlusPlus;

use crate::{
    CutSheet, SheetSize, SheetsPlan,
    kernel::Board,
    pack::Packer,
    rounds::{Copy, Search},
    strip::move_in,
};

/// Shapes of later rounds that may fail to be pressed into a round.
const N_FAILURES: usize = 1;

impl Search<'_> {
    /// A plan made from another one on sheets of given sizes, or nothing if some piece finds no room.
    pub(crate) fn attempt_warm(
        &mut self,
        from: &SheetsPlan,
        mut sizes: Vec<(SheetSize, bool)>,
        attempt: u64,
        effort: u64,
        go_on: &mut dyn FnMut(u64) -> bool,
    ) -> Option<SheetsPlan> {
        let mut chance = self.chance(sizes.len(), attempt ^ 0x7f4a_7c15);
        let so_far = self.evaluations;
        let mut packer = Packer {
            chance: Xoshiro256PlusPlus::seed_from_u64(chance.random()),
            n_threads: self.n_threads,
            budget: effort,
            evaluations: 0,
            go_on: &mut |evaluations| go_on(so_far + evaluations),
            is_canceled: false,
        };
        let mut left: Vec<Copy> =
            self.copies(&mut chance, 0).into_iter().filter(|copy| !copy.optional).collect();
        let mut cut: Vec<CutSheet> = Vec::new();
        for round in 0..=self.max_rerolls {
            let rolled: f64 = sizes.iter().map(|(size, _)| size.area_mm2()).sum();
            let mut filled = self.round(&sizes, &left);
            let before: Vec<&CutSheet> =
                from.sheets.iter().filter(|sheet| sheet.round == round).collect();
            put_as_before(&mut filled.board, &before);
            packer.apart(&mut filled.board);
            let mut no_room: Vec<usize> =
                (0..left.len()).filter(|&copy| filled.board.spot(copy).is_none()).collect();
            if !no_room.is_empty() && !sizes.is_empty() {
                if round == self.max_rerolls {
                    if packer.all(&mut filled.board, &no_room, 0) {
                        no_room.clear();
                    }
                } else if attempt.is_multiple_of(2) {
                    no_room.shuffle(&mut chance);
                    no_room = packer.some(&mut filled.board, no_room, N_FAILURES);
                    no_room.sort_unstable();
                }
            }
            left = no_room.into_iter().map(|copy| left[copy]).collect();
            let sheets = self.cut(round, &filled);
            let cut_mm2 = self.area_of(&sheets);
            cut.extend(sheets);
            if left.is_empty() {
                break;
            }
            sizes =
                self.rerolled_sheets((rolled - cut_mm2) * (1.0 - self.request.rerolls.loss), &left);
            if sizes.is_empty() {
                break;
            }
        }
        self.evaluations += packer.evaluations;
        if !left.is_empty() {
            return None;
        }
        let plan = self.plan(cut, &self.all_optional());
        self.is_sound(&plan).then_some(plan)
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
