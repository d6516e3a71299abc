//! The same plan from a little less dough: every round keeps its pieces where they are, on sheets that got smaller.
//!
//! What overlaps is moved apart; a copy that stays in the way goes to the next round.
//! In every second try a few copies of later rounds, chosen by chance, are then pressed in: each that finds room leaves later rounds more slack than dough.

use rand::seq::SliceRandom;

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
        sizes: Vec<(SheetSize, bool)>,
        attempt: u64,
        effort: u64,
        go_on: &mut dyn FnMut(u64) -> bool,
    ) -> Option<SheetsPlan> {
        let mut chance = self.chance(sizes.len(), attempt ^ 0x7f4a_7c15);
        let so_far = self.evaluations;
        let go_on = &mut |evaluations| go_on(so_far + evaluations);
        let mut packer = Packer::new(&mut chance, self.n_threads, effort, go_on);
        let needed: Vec<Copy> =
            self.copies(&mut chance, 0).into_iter().filter(|copy| !copy.optional).collect();
        let cut = self.cut_rounds(sizes, needed, &mut |round, board| {
            let before: Vec<&CutSheet> =
                from.sheets.iter().filter(|sheet| sheet.round == round).collect();
            put_as_before(board, &before);
            packer.apart(board);
            let mut no_room: Vec<usize> =
                (0..board.shape_of.len()).filter(|&copy| board.spot(copy).is_none()).collect();
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
                    no_room.clear();
                }
            } else if attempt.is_multiple_of(2) {
                no_room.shuffle(&mut chance);
                no_room = packer.some(board, no_room, N_FAILURES);
                no_room.sort_unstable();
            }
            no_room
        });
        self.evaluations += packer.evaluations;
        let plan = self.plan(cut?.0, &self.all_optional());
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
