//! How little fresh dough is enough, and what does one more rolling save?
//!
//! Here the last fresh sheet may be smaller than a whole one, so that dough is counted by its area.
//! Scraps make the sheets of the next round: S(k+1) = (1 - l) (S(k) - cut(k)), with S the area rolled in a round and l the loss of a rolling.
//! The area is bisected with first fills, then lowered step by step: all rounds are packed again, sheets of scraps in the size that is left for them.
//! A search that gains nothing for as long as it took to get there begins anew by other chances.
//! The more re-rolls, the larger the part of the budget; each begins with the plan of one re-roll less if that needs less dough.
//! Optional copies are placed at the end, on sheets after which nothing is rolled, so that they cost no dough.
//!
//! No plan needs less than A / (u Σ ((1 - u)(1 - l))^k), k from 0 to R:
//!
//! - `A`: area of all pieces, mm²
//! - `u`: largest share of a sheet that can be cut, max over the pieces of A_d / G_d, times (W - 2m + g)(L - 2m + g) / (W L)
//! - `G_d`: area of a piece with half a gap around, at least that of a disk of the same area (Brunn-Minkowski inequality), mm²
//! - `W`, `L`: sides of a sheet, mm; `m`: margin, mm; `g`: gap, mm
//! - `R`: how often scraps are rolled
//!
//! Source: geometry. Valid for sheets no larger than W x L and without stock.

use std::ops::ControlFlow;

use crate::{
    Error, Progress, SheetsPlan, SheetsRequest,
    clean::{clean, in_range},
    rounds::Search,
};

/// Halvings of the area between bound and first plan by first fills.
const N_BISECTIONS: usize = 6;
/// Share by which the area is lowered, at first and at least.
const STEPS: (f64, f64) = (0.02, 0.001);
/// A step that was found grows by so much.
const LONGER: f64 = 1.5;

/// After so many failures in a row it is tried longer, up to so many times as long;
/// once more queries were made since the last gain than up to it, the search begins anew.
const FAILURES: usize = 8;
const MOST_PATIENCE: usize = 5;

/// A plan and what it was found for.
#[derive(Clone, Debug, PartialEq)]
pub struct AreaPlan {
    /// The plan; its last fresh sheet may be smaller than a whole one.
    pub plan: SheetsPlan,
    /// How often scraps may be rolled in it.
    pub max_rerolls: usize,
    /// No plan with so many re-rolls needs less fresh area; not a bound where there is stock.
    pub bound_mm2: f64,
}

impl AreaPlan {
    /// Sheets that pass under the pin.
    pub fn n_rollings(&self) -> usize {
        self.plan.n_fresh + self.plan.n_rerolled
    }
}

/// Plans none of which is worse than another in both fresh area and rollings.
#[derive(Clone, Debug, PartialEq)]
pub struct AreaPlans {
    /// By falling fresh area and rising number of rollings.
    pub plans: Vec<AreaPlan>,
    /// The one whose fresh area and rollings together cost least.
    pub recommended: usize,
    /// Collision queries made.
    pub evaluations: u64,
}

/// Returns a fresh area that no plan goes below.
///
/// # Errors
/// A piece has no simple outline.
pub fn fresh_bound_mm2(request: &SheetsRequest, max_rerolls: usize) -> Result<f64, Error> {
    let (gap, margin, sheet) = (request.gap_mm, request.edge_margin_mm, request.sheet);
    let mut needed = 0.0;
    let mut densest: f64 = 0.0;
    for (place, piece) in request.pieces.iter().enumerate().filter(|(_, piece)| piece.n > 0) {
        let area = clean(place, &piece.outline)?.area_mm2;
        let radius = (area / std::f64::consts::PI).sqrt() + gap / 2.0;
        needed += area * piece.n as f64;
        densest = densest.max(area / (std::f64::consts::PI * radius * radius));
    }
    if needed == 0.0 {
        return Ok(0.0);
    }
    let room = (sheet.width_mm - 2.0 * margin + gap) * (sheet.length_mm - 2.0 * margin + gap);
    let used = (densest * room / sheet.area_mm2()).min(1.0);
    let left = (1.0 - used) * (1.0 - request.rerolls.loss);
    let rounds: f64 = (0..=max_rerolls).map(|round| left.powi(round as i32)).sum();
    Ok(needed / (used * rounds))
}

/// Plans the cutting from as little fresh area as can be found, for each number of re-rolls up to the request's.
///
/// `rolling_mm2` is the area of dough that one rolling less is worth.
/// `listener` hears of each improvement and may end the search; the best so far is returned.
/// The same request gives the same plans on any number of threads.
///
/// # Errors
/// As [`plan_sheets`](crate::plan_sheets).
pub fn plan_least_area(
    request: &SheetsRequest,
    rolling_mm2: f64,
    n_threads: usize,
    listener: &mut dyn FnMut(&Progress, f64) -> ControlFlow<()>,
) -> Result<AreaPlans, Error> {
    in_range("the worth of a rolling", rolling_mm2, 0.0, 1e9)?;
    let mut search = Search::new(request)?;
    search.n_threads = n_threads;
    search.cut_short = true;
    let mut found: Vec<AreaPlan> = Vec::new();
    let mut is_canceled = false;
    let mut with_less: Option<SheetsPlan> = None;
    let mut parts_left: u64 = (0..=request.rerolls.max).map(part).sum();
    for max_rerolls in 0..=request.rerolls.max {
        search.max_rerolls = max_rerolls;
        let rest = request.budget.evaluations.saturating_sub(search.evaluations);
        let until = search.evaluations
            + (rest as f64 * part(max_rerolls) as f64 / parts_left as f64) as u64;
        parts_left -= part(max_rerolls);
        let stock = request.stock.iter().map(|stock| stock.size.area_mm2() * stock.n as f64);
        let bound_mm2 = (fresh_bound_mm2(request, max_rerolls)? - stock.sum::<f64>()).max(0.0);
        let best =
            least_area(&mut search, with_less, bound_mm2, until, &mut is_canceled, listener)?;
        let plan = search.with_optional(best.clone());
        with_less = Some(best);
        found.push(AreaPlan { plan, max_rerolls, bound_mm2 });
    }
    // What another plan beats or equals in both is left out, the earlier of equals stays.
    let mut plans: Vec<AreaPlan> = Vec::new();
    for one in &found {
        let is_beaten = found.iter().any(|other| {
            let less = other.plan.fresh_area_mm2 < one.plan.fresh_area_mm2 - 1.0
                || other.n_rollings() < one.n_rollings();
            let more = other.plan.fresh_area_mm2 > one.plan.fresh_area_mm2 + 1.0
                || other.n_rollings() > one.n_rollings();
            !more && (less || other.max_rerolls < one.max_rerolls)
        });
        if !is_beaten {
            plans.push(one.clone());
        }
    }
    plans.sort_by_key(AreaPlan::n_rollings);
    let cost = |one: &AreaPlan| one.plan.fresh_area_mm2 + rolling_mm2 * one.n_rollings() as f64;
    let recommended =
        (0..plans.len()).min_by(|&a, &b| cost(&plans[a]).total_cmp(&cost(&plans[b]))).unwrap_or(0);
    Ok(AreaPlans { plans, recommended, evaluations: search.evaluations })
}

/// Part of the budget that goes to plans with so many re-rolls: they are harder to find the more there are.
fn part(max_rerolls: usize) -> u64 {
    [1, 4, 7][max_rerolls.min(2)]
}

/// The plan of least fresh area that is found until so many queries are made.
fn least_area(
    search: &mut Search<'_>,
    with_less: Option<SheetsPlan>,
    bound_mm2: f64,
    until: u64,
    is_canceled: &mut bool,
    listener: &mut dyn FnMut(&Progress, f64) -> ControlFlow<()>,
) -> Result<SheetsPlan, Error> {
    let mut best = search.first_plan()?;
    if let Some(plan) = with_less.filter(|plan| plan.fresh_area_mm2 < best.fresh_area_mm2) {
        best = plan;
    }
    let mut tell = |evaluations: u64, best: &SheetsPlan| {
        listener(&best.progress(evaluations), best.fresh_area_mm2).is_continue()
    };
    let mut too_little = bound_mm2.min(best.fresh_area_mm2);
    for _ in 0..N_BISECTIONS {
        let area_mm2 = (too_little + best.fresh_area_mm2) / 2.0;
        let sizes = search.sheets_of_area(area_mm2);
        match search.attempt_from(sizes, 0, false, 0, &mut |_| true) {
            Some(plan) if plan.fresh_area_mm2 < best.fresh_area_mm2 => best = plan,
            _ => too_little = area_mm2,
        }
    }
    *is_canceled |= !tell(search.evaluations, &best);
    let start = (best.clone(), search.ratios.clone());
    let (mut now, mut best_ratios) = start.clone();
    // Queries made when the search began (anew), and when it last found something.
    let (mut begun, mut gained) = (search.evaluations, search.evaluations);
    let mut step = STEPS.0;
    let (mut attempt, mut n_failed) = (0, 0);
    while !*is_canceled && search.evaluations < until && now.fresh_area_mm2 > 0.0 {
        let area_mm2 = (now.fresh_area_mm2 * (1.0 - step)).max(bound_mm2);
        if area_mm2 >= now.fresh_area_mm2 {
            break;
        }
        // A try costs something even if it fails at once, so that the search ends.
        search.evaluations += 1_000;
        let rest = until.saturating_sub(search.evaluations);
        attempt += 1;
        let ratios = search.ratios.clone();
        search.reshape(&now, attempt);
        let sizes = search.sheets_of_area(area_mm2);
        let patience = 1 + (n_failed / FAILURES).min(MOST_PATIENCE - 1);
        let found = search.attempt_warm(&now, sizes, attempt, patience, rest, &mut |evaluations| {
            *is_canceled |= !tell(evaluations, &best);
            !*is_canceled
        });
        match found.filter(|plan| plan.fresh_area_mm2 < now.fresh_area_mm2) {
            Some(plan) => {
                now = plan;
                gained = search.evaluations;
                if now.fresh_area_mm2 < best.fresh_area_mm2 {
                    best = now.clone();
                    best_ratios.clone_from(&search.ratios);
                }
                step = (step * LONGER).min(STEPS.0);
                n_failed = 0;
            }
            None => {
                search.ratios = ratios;
                step = (step / 2.0).max(STEPS.1);
                n_failed += 1;
                let without_gain = search.evaluations - gained;
                if n_failed > FAILURES && gained > begun && without_gain > gained - begun {
                    (now, search.ratios) = start.clone();
                    (begun, gained) = (search.evaluations, search.evaluations);
                    (step, n_failed) = (STEPS.0, 0);
                }
            }
        }
        *is_canceled |= !tell(search.evaluations, &best);
    }
    search.ratios = best_ratios;
    Ok(best)
}
