//! Optional copies: as many as cost neither dough nor a rolling.

use std::iter::repeat_n;

use crate::{
    CutSheet, SheetSize, SheetsPlan,
    fill::Filler,
    rounds::{Copy, Search, rank},
};

/// Part of what is left of the budget that goes to one number of copies.
const PART: u64 = 3;

impl Search<'_> {
    /// All optional copies.
    pub(crate) fn all_optional(&self) -> Vec<Copy> {
        let pieces = self.request.pieces.iter().enumerate();
        let copies = pieces
            .flat_map(|(piece, one)| repeat_n(Copy { piece, optional: true }, one.n_optional));
        copies.collect()
    }

    /// The plan, or one with as many sheets and more optional copies: all that are left are asked for, then half as many, and so on.
    ///
    /// `go_on` hears of each attempt and may end the search.
    pub(crate) fn more_optional(
        &mut self,
        mut best: SheetsPlan,
        go_on: &mut dyn FnMut(u64, &SheetsPlan) -> bool,
    ) -> SheetsPlan {
        let n_all: usize = self.request.pieces.iter().map(|piece| piece.n_optional).sum();
        let n_placed = |plan: &SheetsPlan| n_all - plan.unplaced_optional.iter().sum::<usize>();
        let (mut n_placed_now, mut n_too_many) = (n_placed(&best), n_all + 1);
        let one_shape = self.request.one_piece_per_sheet && best.one_shape;
        let mut n_wanted = n_all;
        let mut attempt = 0;
        while n_placed_now + 1 < n_too_many
            && self.evaluations < self.request.budget.evaluations
            && go_on(self.evaluations, &best)
        {
            // A try costs something even if it fails at once, so that the search ends.
            self.evaluations += 1_000;
            let rest = self.request.budget.evaluations.saturating_sub(self.evaluations);
            attempt += 1;
            self.n_wanted = n_wanted;
            let found =
                self.attempt(best.n_fresh, attempt, one_shape, rest / PART, &mut |evaluations| {
                    go_on(evaluations, &best)
                });
            match found.filter(|plan| {
                rank(plan) <= rank(&best)
                    && n_placed(plan) > n_placed_now
                    && (plan.one_shape || !one_shape)
            }) {
                Some(plan) => {
                    n_placed_now = n_placed(&plan);
                    best = plan;
                }
                None => n_too_many = n_wanted,
            }
            n_wanted = usize::midpoint(n_placed_now, n_too_many);
        }
        self.n_wanted = 0;
        best
    }

    /// The plan with more optional copies on the sheets of its last round.
    pub(crate) fn with_optional(&mut self, plan: SheetsPlan) -> SheetsPlan {
        let optional: Vec<Copy> = plan
            .unplaced_optional
            .iter()
            .enumerate()
            .flat_map(|(piece, &n)| repeat_n(Copy { piece, optional: true }, n))
            .collect();
        let last = plan.sheets.iter().map(|sheet| sheet.round).max().unwrap_or(0);
        let Some(before) = plan.sheets.iter().position(|sheet| sheet.round == last) else {
            return plan;
        };
        let mut filler = Filler::new(self.chance(last, 0), self.n_copies);
        let mut sheets = plan.sheets.clone();
        let left = self.fill_up(&mut sheets[before..], optional, &mut filler, false);
        self.evaluations += filler.evaluations;
        let filled = self.plan(sheets, &left);
        if self.is_sound(&filled) { filled } else { plan }
    }

    /// Places optional copies on the sheets after which nothing is rolled; returns what found no room.
    pub(crate) fn fill_up(
        &self,
        sheets: &mut [CutSheet],
        optional: Vec<Copy>,
        filler: &mut Filler,
        one_shape: bool,
    ) -> Vec<Copy> {
        if optional.is_empty() || sheets.is_empty() {
            return optional;
        }
        let there: Vec<Copy> = sheets
            .iter()
            .flat_map(|sheet| &sheet.placements)
            .map(|one| Copy { piece: one.piece, optional: false })
            .collect();
        let sizes: Vec<(SheetSize, bool)> =
            sheets.iter().map(|sheet| (sheet.size, sheet.from_stock)).collect();
        let all: Vec<Copy> = there.iter().chain(&optional).copied().collect();
        let mut filled = self.round(&sizes, &all);
        let places = sheets
            .iter()
            .enumerate()
            .flat_map(|(sheet, cut)| cut.placements.iter().map(move |one| (sheet, one)));
        for (copy, (sheet, one)) in places.enumerate() {
            filled.board.put(copy, sheet, one);
        }
        let is_scraps = sheets.iter().any(|sheet| sheet.round > 0);
        let (order, mut left): (Vec<usize>, Vec<usize>) = (there.len()..all.len())
            .partition(|&copy| !(is_scraps && self.request.pieces[all[copy].piece].fresh_only));
        left.extend(filler.fill(&mut filled.board, &order, one_shape, None));
        for &copy in order.iter().filter(|copy| !left.contains(copy)) {
            let Some(spot) = filled.board.spot(copy) else { continue };
            let piece = filled.board.shape_of[copy];
            sheets[spot.sheet].placements.push(self.shapes[piece].placement(piece, &spot));
        }
        left.into_iter().map(|copy| all[copy]).collect()
    }
}
