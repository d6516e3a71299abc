//! How many sheets are rolled, and what is cut from each?
//!
//! Round 0 cuts stock and fresh sheets; what is left, less the loss of a rolling, makes the sheets of round 1, and so on:
//! S(k+1) = (1 - loss) (S(k) - cut(k)), with S the area rolled and cut the area cut in a round (the thickness stays).
//!
//! Pieces go, the largest first, onto the first sheet of a round that has room (first fit), each as far to the start as it goes.
//! The number of fresh sheets grows from its bound until a plan is found; among plans with so many, fewer rollings win.
//! Each attempt shuffles the order of pieces a little more.

use std::ops::ControlFlow;

use rand::{RngExt, SeedableRng};
use rand_xoshiro::Xoshiro256PlusPlus;

use crate::{
    CutSheet, Error, Progress, SheetSize, SheetsPlan, SheetsRequest,
    check::check_sheets,
    clean::{CleanPiece, check_count, check_fits, check_size, clean, in_range},
    sheet::{Imported, Sheet, Workshop},
};

/// Share of a sheet that pieces cannot be expected to exceed: the densest plane tilings of real cookie shapes.
const DENSEST: f64 = 0.92;
/// Tries for one piece on one sheet: fewest, most.
const TRIES: (usize, usize) = (150, 1500);
/// Orders tried for each number of fresh sheets.
const ATTEMPTS: u64 = 6;
/// More fresh sheets than the bound times this are never needed: each piece fits a sheet, half of which is then free.
const MOST_TIMES_BOUND: usize = 6;

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
    let mut search = Search::new(request)?;
    let mut best: Option<SheetsPlan> = None;
    let bound = search.least_fresh();
    let most = bound.max(1) * MOST_TIMES_BOUND + search.n_copies().min(60);
    for n_fresh in bound..=most {
        for attempt in 0..ATTEMPTS {
            // The first attempt for a number of sheets is always made, the others while the budget lasts.
            if attempt > 0 && search.evaluations >= request.budget.evaluations {
                break;
            }
            if let Some(plan) = search.attempt(n_fresh, attempt, false)? {
                let better = best.as_ref().is_none_or(|best| n_rollings(&plan) < n_rollings(best));
                if better {
                    best = Some(plan);
                }
            }
            let progress = Progress {
                n_fresh: best.as_ref().map(|plan| plan.n_fresh),
                n_rerolled: best.as_ref().map(|plan| plan.n_rerolled),
                evaluations: search.evaluations,
            };
            if listener(&progress).is_break() && best.is_some() {
                break;
            }
            if best.as_ref().is_some_and(|plan| plan.n_rerolled == 0) {
                break;
            }
        }
        if best.is_some() {
            break;
        }
    }
    let mut best = best.ok_or(Error::NoPlan { n_sheets: most })?;
    if request.one_piece_per_sheet && !best.one_shape {
        for attempt in 0..2 {
            let plan = search.attempt(best.n_fresh, attempt, true)?;
            if let Some(plan) = plan.filter(|plan| n_rollings(plan) <= n_rollings(&best)) {
                best = plan;
                break;
            }
        }
    }
    best.evaluations = search.evaluations;
    Ok(best)
}

/// Sheets that pass under the pin.
fn n_rollings(plan: &SheetsPlan) -> usize {
    plan.n_fresh + plan.n_rerolled
}

struct Search<'a> {
    request: &'a SheetsRequest,
    pieces: Vec<CleanPiece>,
    imported: Vec<Imported>,
    workshop: Workshop,
    n_tries: usize,
    evaluations: u64,
}

impl<'a> Search<'a> {
    fn new(request: &'a SheetsRequest) -> Result<Self, Error> {
        check_size(request.sheet)?;
        for stock in &request.stock {
            check_size(stock.size)?;
            check_count(stock.n)?;
        }
        in_range("the gap", request.gap_mm, 0.0, 100.0)?;
        in_range("the margin", request.edge_margin_mm, 0.0, 100.0)?;
        in_range("the loss of a rolling", request.rerolls.loss, 0.0, 0.9)?;
        let n = request
            .pieces
            .iter()
            .fold(0_usize, |n, piece| n.saturating_add(piece.n).saturating_add(piece.n_optional));
        check_count(n)?;
        let pieces = request
            .pieces
            .iter()
            .enumerate()
            .map(|(place, piece)| clean(place, &piece.outline))
            .collect::<Result<Vec<_>, _>>()?;
        check_fits(&request.pieces, request.sheet, request.edge_margin_mm)?;
        let workshop = Workshop::new(request.gap_mm, request.edge_margin_mm)?;
        let imported = pieces
            .iter()
            .zip(&request.pieces)
            .enumerate()
            .map(|(place, (clean, piece))| {
                workshop.import(place, piece, &clean.outline, clean.area_mm2)
            })
            .collect::<Result<Vec<_>, _>>()?;
        let per_piece = request.budget.evaluations / (n.max(1) as u64 * 4);
        let n_tries = usize::try_from(per_piece).unwrap_or(usize::MAX).clamp(TRIES.0, TRIES.1);
        Ok(Self { request, pieces, imported, workshop, n_tries, evaluations: 0 })
    }

    fn n_copies(&self) -> usize {
        self.request.pieces.iter().map(|piece| piece.n).sum()
    }

    fn needed_mm2(&self) -> f64 {
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
        let used: f64 =
            (0..=self.request.rerolls.max).map(|round| DENSEST * left.powi(round as i32)).sum();
        let stock: f64 =
            self.request.stock.iter().map(|stock| stock.size.area_mm2() * stock.n as f64).sum();
        let fresh = (self.needed_mm2() / used - stock) / self.request.sheet.area_mm2();
        fresh.ceil().max(0.0) as usize
    }

    /// Area bound on the number of fresh sheets without stock or re-rolls: pieces grown by half the gap, sheets by as much.
    fn sheets_bound(&self) -> usize {
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

    /// One whole plan with so many fresh sheets, or nothing if some piece finds no room.
    fn attempt(
        &mut self,
        n_fresh: usize,
        attempt: u64,
        one_shape: bool,
    ) -> Result<Option<SheetsPlan>, Error> {
        let seed = self
            .request
            .seed
            .wrapping_mul(0x9e37_79b9)
            .wrapping_add(attempt)
            .wrapping_add((n_fresh as u64) << 32);
        let mut chance = Xoshiro256PlusPlus::seed_from_u64(seed);
        let mut left = self.copies(&mut chance, attempt);
        let mut cut: Vec<CutSheet> = Vec::new();
        let mut sheets = self.first_sheets(n_fresh)?;
        for round in 0..=self.request.rerolls.max {
            let rolled: f64 = sheets.iter().map(|(sheet, _)| sheet.size.area_mm2()).sum();
            left = self.fill(&mut sheets, left, &mut chance, one_shape);
            let mut cut_area = 0.0;
            for (sheet, from_stock) in sheets {
                cut_area +=
                    sheet.placements.iter().map(|one| self.pieces[one.piece].area_mm2).sum::<f64>();
                // A sheet from which nothing is cut is not rolled, and one from stock stays there; a fresh one was counted on.
                if !sheet.placements.is_empty() || (round == 0 && !from_stock) {
                    cut.push(CutSheet {
                        round,
                        from_stock,
                        size: sheet.size,
                        placements: sheet.placements,
                    });
                }
            }
            if left.iter().all(|copy| copy.optional) || round == self.request.rerolls.max {
                break;
            }
            sheets = self
                .rerolled_sheets((rolled - cut_area) * (1.0 - self.request.rerolls.loss), &left)?;
            if sheets.is_empty() {
                break;
            }
        }
        if left.iter().any(|copy| !copy.optional) {
            return Ok(None);
        }
        let plan = self.plan(cut, &left);
        // The last word is a check in double precision on the exact outlines.
        Ok(check_sheets(self.request, &plan).is_empty().then_some(plan))
    }

    /// All copies, the largest first; later attempts disturb the order.
    fn copies(&self, chance: &mut Xoshiro256PlusPlus, attempt: u64) -> Vec<Copy> {
        let noise = 0.15 * attempt as f64;
        let mut sizes: Vec<(f64, usize)> = self
            .imported
            .iter()
            .enumerate()
            .map(|(place, piece)| {
                (piece.diameter_mm * (1.0 + noise * (chance.random::<f64>() - 0.5)), place)
            })
            .collect();
        sizes.sort_by(|a, b| b.0.total_cmp(&a.0).then(a.1.cmp(&b.1)));
        let copies = |optional: bool| {
            sizes.iter().flat_map(move |&(_, piece)| {
                let n = if optional {
                    self.request.pieces[piece].n_optional
                } else {
                    self.request.pieces[piece].n
                };
                std::iter::repeat_n(Copy { piece, optional }, n)
            })
        };
        copies(false).chain(copies(true)).collect()
    }

    fn first_sheets(&self, n_fresh: usize) -> Result<Vec<(Sheet, bool)>, Error> {
        let stock = self
            .request
            .stock
            .iter()
            .flat_map(|stock| std::iter::repeat_n((stock.size, true), stock.n));
        let fresh = std::iter::repeat_n((self.request.sheet, false), n_fresh);
        stock
            .chain(fresh)
            .map(|(size, from_stock)| Ok((self.workshop.sheet(size)?, from_stock)))
            .collect()
    }

    /// Sheets rolled from so much dough: full ones, then one as wide as a sheet if it is half as long, else a square.
    fn rerolled_sheets(&self, area_mm2: f64, left: &[Copy]) -> Result<Vec<(Sheet, bool)>, Error> {
        let full = self.request.sheet;
        let smallest =
            left.iter().map(|copy| self.pieces[copy.piece].area_mm2).fold(f64::MAX, f64::min);
        let mut sizes = Vec::new();
        let mut rest = area_mm2;
        while rest >= full.area_mm2() {
            sizes.push(full);
            rest -= full.area_mm2();
        }
        if rest > smallest {
            let length = rest / full.width_mm;
            let side = rest.sqrt();
            sizes.push(if length >= full.length_mm / 2.0 || side > full.width_mm {
                SheetSize { width_mm: full.width_mm, length_mm: length }
            } else {
                SheetSize { width_mm: side, length_mm: side }
            });
        }
        // A rest too small for its own margins is no sheet.
        Ok(sizes
            .into_iter()
            .filter_map(|size| Some((self.workshop.sheet(size).ok()?, false)))
            .collect())
    }

    /// Fills the sheets of a round, first fit; returns what found no room.
    fn fill(
        &mut self,
        sheets: &mut [(Sheet, bool)],
        copies: Vec<Copy>,
        chance: &mut Xoshiro256PlusPlus,
        one_shape: bool,
    ) -> Vec<Copy> {
        let mut full = vec![vec![false; self.imported.len()]; sheets.len()];
        let mut left = Vec::new();
        for copy in copies {
            let piece = &self.imported[copy.piece];
            let placed = sheets.iter_mut().enumerate().any(|(at, (sheet, _))| {
                let other_shape =
                    one_shape && sheet.placements.iter().any(|one| one.piece != copy.piece);
                if full[at][copy.piece] || other_shape || !sheet.has_room_for(piece) {
                    return false;
                }
                let placed = sheet.place(
                    piece,
                    copy.piece,
                    self.n_tries,
                    chance.random(),
                    &mut self.evaluations,
                );
                // Where one copy found no room, the next will not either.
                full[at][copy.piece] = !placed;
                placed
            });
            if !placed {
                left.push(copy);
            }
        }
        left
    }

    fn plan(&self, sheets: Vec<CutSheet>, left: &[Copy]) -> SheetsPlan {
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
struct Copy {
    piece: usize,
    optional: bool,
}
