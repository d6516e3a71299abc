//! Trays with pieces at any angle: where straight rows need a tray more than the area does, is one fewer enough?
//!
//! Rows come first.
//! Of one piece alone in its class, one tray fewer must carry ⌈n / (trays - 1)⌉ on a tray: that many are sought on one tray, which is then used again and again.
//! Several pieces of a class are sought on all trays of the class together.
//! What is not found stays in rows, and so does a tray that rows can carry.

use std::ops::ControlFlow;

use crate::{
    Budget, Error, Piece, Placement, Rerolls, Rotation, SheetsRequest, Tray, TrayPiece, TraysPlan,
    TraysRequest,
    rounds::Search,
    trays::{lay_in_rows, row_angles},
};

/// Orders tried for each number of trays.
const ATTEMPTS: u64 = 4;
/// The search keeps no larger gap.
const LARGEST_GAP_MM: f64 = 100.0;

/// What to lay out at which angles, and how long to search.
#[derive(Clone, Debug, PartialEq)]
pub struct TurningRequest {
    /// The pieces and the tray.
    pub trays: TraysRequest,
    /// How each piece may be turned, by its place; freely where nothing stands.
    pub rotations: Vec<Rotation>,
    /// How long to search.
    pub budget: Budget,
    /// Where chance starts.
    pub seed: u64,
}

/// A layout of trays, and what it saves.
#[derive(Clone, Debug, PartialEq)]
pub struct TurningPlan {
    /// The trays, class by class; the capacity is the larger of rows and what was found.
    pub plan: TraysPlan,
    /// Trays that straight rows need; nothing if a piece stands in no row.
    pub n_in_rows: Option<usize>,
    /// No layout needs fewer trays.
    pub trays_bound: usize,
    /// Collision queries made.
    pub evaluations: u64,
}

impl TurningRequest {
    fn rotation(&self, piece: usize) -> Rotation {
        self.rotations.get(piece).cloned().unwrap_or(Rotation::Free)
    }
}

/// Lays pieces on as few trays as can be found, in straight rows unless turning saves a tray.
///
/// `listener` hears of the trays so far and the queries made, and may end the search; the best so far is returned.
/// The same request gives the same plan on any number of threads.
///
/// # Errors
/// A piece does not fit a tray or has no simple outline, or a number is out of range.
pub fn plan_trays_turning(
    request: &TurningRequest,
    n_threads: usize,
    listener: &mut dyn FnMut(usize, u64) -> ControlFlow<()>,
) -> Result<TurningPlan, Error> {
    let pieces = &request.trays.pieces;
    let mut classes: Vec<usize> =
        pieces.iter().filter(|piece| piece.n > 0).map(|piece| piece.size_class).collect();
    classes.sort_unstable();
    classes.dedup();

    let mut found: Vec<Class> = Vec::with_capacity(classes.len());
    for class in classes {
        let places =
            (0..pieces.len()).filter(|&at| pieces[at].size_class == class && pieces[at].n > 0);
        found.push(Class::new(request, places.collect())?);
    }
    let n_in_rows =
        found.iter().map(|class| class.in_rows.as_ref().map(|plan| plan.trays.len())).sum();
    let mut evaluations = 0;
    let mut goes_on = true;
    for at in 0..found.len() {
        let others: usize = found.iter().map(Class::n_trays).sum::<usize>() - found[at].n_trays();
        let n_left = (found.len() - at) as u64;
        let share = request.budget.evaluations.saturating_sub(evaluations) / n_left;
        let mut tell = |n_trays: usize, now: u64| {
            goes_on = goes_on && listener(others + n_trays, evaluations + now).is_continue();
            goes_on
        };
        let made = found[at].improve(n_threads, share, &mut tell)?;
        evaluations += made;
    }

    // Pieces of which none is laid out have a capacity in rows as well.
    let angles = |place: usize| row_angles(&request.rotation(place));
    let mut capacity: Vec<usize> = (0..pieces.len())
        .map(|place| {
            let one = TrayPiece { n: 0, ..pieces[place].clone() };
            let alone = TraysRequest { pieces: vec![one], ..request.trays.clone() };
            lay_in_rows(&alone, &|_| angles(place)).map_or(0, |plan| plan.capacity[0])
        })
        .collect();
    let trays_bound = found.iter().map(|class| class.bound).sum();
    let mut trays = Vec::new();
    for class in found {
        for (place, n) in class.places.iter().zip(class.most_found) {
            capacity[*place] = capacity[*place].max(n);
        }
        trays.extend(class.trays);
    }
    Ok(TurningPlan { plan: TraysPlan { trays, capacity }, n_in_rows, trays_bound, evaluations })
}

/// The pieces that share trays.
struct Class {
    /// Their places in the request.
    places: Vec<usize>,
    /// They alone, as sheets that are cut once.
    request: SheetsRequest,
    rows: TraysRequest,
    in_rows: Option<TraysPlan>,
    bound: usize,
    trays: Vec<Tray>,
    /// How many of each piece alone were laid on a tray.
    most_found: Vec<usize>,
}

impl Class {
    fn new(request: &TurningRequest, places: Vec<usize>) -> Result<Self, Error> {
        let TraysRequest { tray, gap_mm, ref pieces } = request.trays;
        let rows = TraysRequest {
            pieces: places.iter().map(|&place| pieces[place].clone()).collect(),
            tray,
            gap_mm,
        };
        let asked = |&place: &usize| Piece {
            outline: pieces[place].outline.clone(),
            n: pieces[place].n,
            n_optional: 0,
            rotation: request.rotation(place),
            mirror: false,
            fresh_only: false,
        };
        let sheets = SheetsRequest {
            pieces: places.iter().map(asked).collect(),
            sheet: tray,
            stock: Vec::new(),
            gap_mm: gap_mm.min(LARGEST_GAP_MM),
            edge_margin_mm: 0.0,
            rerolls: Rerolls { max: 0, loss: 0.0 },
            one_piece_per_sheet: false,
            budget: request.budget,
            seed: request.seed,
        };
        let at_place = |error| named(error, &places);
        let bound = Search::new(&sheets).map_err(at_place)?.sheets_bound();
        let angles = |at: usize| row_angles(&sheets.pieces[at].rotation);
        let in_rows = match lay_in_rows(&rows, &angles) {
            Ok(plan) => Some(plan),
            // What stands in no row may still lie across a tray.
            Err(Error::PieceTooLarge { .. }) if gap_mm <= LARGEST_GAP_MM => None,
            Err(error) => return Err(at_place(error)),
        };
        let trays = in_rows.as_ref().map_or(Vec::new(), |plan| plan.trays.clone());
        let most_found = vec![0; places.len()];
        let mut class = Self { places, request: sheets, rows, in_rows, bound, trays, most_found };
        class.name_pieces();
        Ok(class)
    }

    fn n_trays(&self) -> usize {
        self.trays.len()
    }

    /// Whether the search keeps the gap that is asked.
    fn is_searched(&self) -> bool {
        self.rows.gap_mm <= LARGEST_GAP_MM
    }

    /// Leaves out trays as long as fewer are found; returns the queries made.
    fn improve(
        &mut self,
        n_threads: usize,
        budget: u64,
        tell: &mut dyn FnMut(usize, u64) -> bool,
    ) -> Result<u64, Error> {
        let mut made = 0;
        if self.in_rows.is_none() {
            let mut search = Search::new(&self.request)?;
            let plan = search.first_plan().map_err(|error| named(error, &self.places))?;
            made = search.evaluations;
            let placements = plan.sheets.into_iter().map(|sheet| sheet.placements);
            self.take(placements.collect());
        }
        let mut goes_on = tell(self.n_trays(), made) && self.is_searched();
        while goes_on && made < budget && self.n_trays() > self.bound.max(1) {
            let fewer = self.n_trays() - 1;
            let mut asked = self.request.clone();
            let is_alone = asked.pieces.len() == 1;
            if is_alone {
                asked.pieces[0].n = asked.pieces[0].n.div_ceil(fewer);
            }
            let n_sheets = if is_alone { 1 } else { fewer };
            let mut search = Search::new(&asked)?;
            search.n_threads = n_threads;
            let mut plan = None;
            for attempt in 1..=ATTEMPTS {
                let rest = budget.saturating_sub(made + search.evaluations);
                if plan.is_some() || !goes_on || rest == 0 {
                    break;
                }
                let effort = rest / (ATTEMPTS + 1 - attempt);
                plan = search.attempt(n_sheets, attempt, false, effort.max(1), &mut |now| {
                    goes_on = goes_on && tell(fewer + 1, made + now);
                    goes_on
                });
            }
            made += search.evaluations;
            let Some(plan) = plan else { break };
            let found: Vec<Vec<Placement>> =
                plan.sheets.into_iter().map(|sheet| sheet.placements).collect();
            if is_alone {
                self.repeat(&found[0], fewer)?;
            } else {
                self.take(found);
            }
            goes_on = goes_on && tell(self.n_trays(), made);
        }
        Ok(made)
    }

    /// Takes trays as they were found.
    fn take(&mut self, found: Vec<Vec<Placement>>) {
        let size_class = self.rows.pieces[0].size_class;
        self.trays = found.into_iter().map(|placements| Tray { placements, size_class }).collect();
        self.name_pieces();
    }

    /// Spreads the one piece evenly over so many trays, in rows where they carry its share, else as it was found.
    fn repeat(&mut self, found: &[Placement], n_trays: usize) -> Result<(), Error> {
        let n = self.rows.pieces[0].n;
        let in_rows = self.in_rows.as_ref().map_or(0, |plan| plan.capacity[0]);
        let mut trays = Vec::with_capacity(n_trays);
        for tray in 0..n_trays {
            let share = n / n_trays + usize::from(tray < n % n_trays);
            if share > in_rows {
                trays.push(found.iter().take(share).copied().collect());
                continue;
            }
            let mut rows = self.rows.clone();
            rows.pieces[0].n = share;
            let angles = row_angles(&self.request.pieces[0].rotation);
            let laid = lay_in_rows(&rows, &|_| angles.clone())?;
            trays.extend(laid.trays.into_iter().map(|tray| tray.placements));
        }
        self.most_found[0] = found.len();
        self.take(trays);
        Ok(())
    }

    /// Names pieces by their places in the whole request.
    fn name_pieces(&mut self) {
        for one in self.trays.iter_mut().flat_map(|tray| &mut tray.placements) {
            one.piece = self.places.get(one.piece).copied().unwrap_or(one.piece);
        }
    }
}

/// An error about a piece of a class, with its place in the whole request.
fn named(error: Error, places: &[usize]) -> Error {
    let at = |piece: usize| places.get(piece).copied().unwrap_or(piece);
    match error {
        Error::PieceTooLarge { piece, width_mm, height_mm } => {
            Error::PieceTooLarge { piece: at(piece), width_mm, height_mm }
        }
        Error::BadOutline { piece, what } => Error::BadOutline { piece: at(piece), what },
        Error::BadAngles { piece, what, most } => Error::BadAngles { piece: at(piece), what, most },
        other => other,
    }
}
