//! The engine asked, with an ear on what it finds and an eye on the clock.

use std::ops::ControlFlow;

use nesting::{
    Budget, Progress, SheetsPlan, SheetsRequest, StripRequest, TurningRequest, fresh_bound_mm2,
    mended, plan_least_area, plan_sheets_on, plan_strip, plan_trays_turning, strip_bound_mm,
};

use super::{
    ANSWER_FORMAT, NestAnswer, NestRequest, TimingsEntry, TrailEntry, answer,
    answer::{mm2, refused, share},
    compile::{Asked, Compiled},
};
use crate::document::{
    error::BadValue,
    plan::write::{heads_up, round},
};

/// Pieces and iterations that show how many iterations a second takes.
const N_PACED: usize = 24;
const PACED_ITERATIONS: u64 = 60_000;
/// Iterations a second and thread where nothing shows it.
const PACE: f64 = 800_000.0;
/// So much of the time is planned with: searches end with small steps, which should not be cut off.
const PLANNED: f64 = 0.95;
/// Before this share of the time the search starts once more.
const AGAIN: f64 = 0.8;

/// What the search tells, and when it ends.
struct Watch<'c> {
    clock: &'c mut dyn FnMut() -> f64,
    stop_s: Option<f64>,
    first_plan_s: Option<f64>,
    /// Iterations of earlier runs.
    iterations_before: u64,
    trail: Vec<TrailEntry>,
}

impl Watch<'_> {
    fn hears(
        &mut self,
        (n_fresh, n_rerolled): (usize, usize),
        fresh_area_mm2: f64,
        iterations: u64,
    ) -> ControlFlow<()> {
        let now = (self.clock)();
        self.first_plan_s.get_or_insert(now);
        let is_better = self.trail.last().is_none_or(|last| {
            let least = last.fresh_area_mm2 - 1e-3;
            fresh_area_mm2 < least
                || (fresh_area_mm2 < least + 2e-3 && n_rerolled < last.n_rerolled)
        });
        if is_better {
            self.trail.push(TrailEntry {
                seconds: round(now, 3),
                iterations: self.iterations_before + iterations,
                n_fresh,
                n_rerolled,
                fresh_area_mm2: mm2(fresh_area_mm2),
            });
        }
        if self.stop_s.is_some_and(|stop| now >= stop) {
            ControlFlow::Break(())
        } else {
            ControlFlow::Continue(())
        }
    }
}

pub(super) fn search(
    request: &NestRequest,
    compiled: Compiled,
    n_threads: usize,
    clock: &mut dyn FnMut() -> f64,
) -> Result<NestAnswer, BadValue> {
    let Compiled { mut asked, seconds, heads_ups } = compiled;
    let mut pace = match seconds {
        Some(_) => asked.sample().map(|sample| pace(sample, n_threads, clock)),
        None => None,
    };
    let mut watch = Watch {
        clock,
        stop_s: seconds,
        first_plan_s: None,
        iterations_before: 0,
        trail: Vec::new(),
    };
    let mut best: Option<NestAnswer> = None;
    let mut iterations_before = 0;
    loop {
        let start = (watch.clock)();
        if let Some(seconds) = seconds {
            let left = (seconds - start).max(0.0) * PLANNED;
            asked.budget().evaluations = pace.map_or(u64::MAX, |pace| (pace * left) as u64);
        }
        watch.iterations_before = iterations_before;
        let mut answer = run(&asked, n_threads, &mut watch)?;
        let took = (watch.clock)() - start;
        iterations_before += answer.iterations;
        answer.seed = *asked.seed();
        // A pace seen over the whole run is a better one.
        if let Some(pace) = pace.as_mut().filter(|_| took > 0.0) {
            *pace = answer.iterations as f64 / took;
        }
        // What ended early for a pace told too low starts once more from another chance; what found all there is does not.
        let is_spent = answer.iterations as f64 >= PLANNED * asked.budget().evaluations as f64;
        let goes_on = is_spent
            && pace.is_some()
            && seconds.is_some_and(|seconds| (watch.clock)() < seconds * AGAIN);
        let cost = |answer: &NestAnswer| asked.cost_mm2(answer);
        if best.as_ref().is_none_or(|best| cost(&answer) < cost(best) - 1e-3) {
            best = Some(answer);
        }
        if !goes_on {
            break;
        }
        *asked.seed() = asked.seed().wrapping_add(1);
    }
    let mut answer = best.unwrap_or_else(empty);
    let total_s = (watch.clock)();
    answer.mode.clone_from(&request.mode);
    if answer.unplaced_optional.is_empty() {
        // Off sheets none is laid out.
        answer.unplaced_optional =
            request.items.iter().map(|item| item.n_optional as usize).collect();
    }
    answer.timings = TimingsEntry {
        first_plan_s: round(watch.first_plan_s.unwrap_or(total_s), 3),
        total_s: round(total_s, 3),
    };
    answer.trail = watch.trail;
    answer.heads_ups = heads_ups.iter().map(heads_up).collect();
    Ok(answer)
}

/// Asks the engine once.
fn run(asked: &Asked, n_threads: usize, watch: &mut Watch<'_>) -> Result<NestAnswer, BadValue> {
    match asked {
        Asked::Sheets { request, is_whole: true, .. } => whole(request, n_threads, watch),
        Asked::Sheets { request, rolling_mm2, .. } => {
            least_area(request, *rolling_mm2, n_threads, watch)
        }
        Asked::Strip(request) => strip(request, n_threads, watch),
        Asked::Trays { request, margin_mm } => trays(request, *margin_mm, n_threads, watch),
    }
}

impl Asked {
    fn seed(&mut self) -> &mut u64 {
        match self {
            Self::Sheets { request, .. } => &mut request.seed,
            Self::Strip(request) => &mut request.seed,
            Self::Trays { request, .. } => &mut request.seed,
        }
    }

    fn budget(&mut self) -> &mut Budget {
        match self {
            Self::Sheets { request, .. } => &mut request.budget,
            Self::Strip(request) => &mut request.budget,
            Self::Trays { request, .. } => &mut request.budget,
        }
    }

    /// What an answer is judged by: fresh dough, and what its rollings are worth.
    fn cost_mm2(&self, answer: &NestAnswer) -> f64 {
        let rolling_mm2 = match self {
            Self::Sheets { rolling_mm2, .. } => *rolling_mm2,
            Self::Strip(_) | Self::Trays { .. } => 0.0,
        };
        answer.fresh_area_mm2 + rolling_mm2 * (answer.n_fresh + answer.n_rerolled) as f64
    }

    /// A strip that shows the pace of a search which divides its iterations up.
    ///
    /// Whole sheets and trays are sought as long as there is time.
    fn sample(&self) -> Option<StripRequest> {
        match self {
            Self::Sheets { request, is_whole: false, .. } => Some(StripRequest {
                pieces: request.pieces.clone(),
                width_mm: request.sheet.width_mm,
                gap_mm: request.gap_mm,
                edge_margin_mm: request.edge_margin_mm,
                budget: request.budget,
                seed: request.seed,
            }),
            Self::Strip(request) => Some(request.clone()),
            Self::Sheets { .. } | Self::Trays { .. } => None,
        }
    }
}

/// An answer without what is known at the end.
fn empty() -> NestAnswer {
    NestAnswer {
        format: ANSWER_FORMAT.to_owned(),
        mode: String::new(),
        sheets: Vec::new(),
        n_fresh: 0,
        n_stock: 0,
        n_rerolled: 0,
        length_mm: None,
        piece_area_mm2: 0.0,
        fresh_area_mm2: 0.0,
        dough_use: 0.0,
        area_bound: 0.0,
        sheets_bound: None,
        trays_in_rows: None,
        unplaced_optional: Vec::new(),
        rerolls: None,
        others: Vec::new(),
        timings: TimingsEntry { first_plan_s: 0.0, total_s: 0.0 },
        trail: Vec::new(),
        seed: 0,
        iterations: 0,
        heads_ups: Vec::new(),
    }
}

fn whole(
    request: &SheetsRequest,
    n_threads: usize,
    watch: &mut Watch<'_>,
) -> Result<NestAnswer, BadValue> {
    let sheet_mm2 = request.sheet.area_mm2();
    let plan = plan_sheets_on(request, n_threads, &mut |progress| {
        let (n_fresh, n_rerolled) = counts(progress);
        watch.hears((n_fresh, n_rerolled), n_fresh as f64 * sheet_mm2, progress.evaluations)
    })
    .map_err(|error| refused(&error))?;
    let bound = fresh_bound(request, request.rerolls.max)?;
    let mut answer = of_sheets(&plan, request.rerolls.max, bound);
    answer.iterations = plan.evaluations;
    Ok(answer)
}

fn least_area(
    request: &SheetsRequest,
    rolling_mm2: f64,
    n_threads: usize,
    watch: &mut Watch<'_>,
) -> Result<NestAnswer, BadValue> {
    let found = plan_least_area(request, rolling_mm2, n_threads, &mut |progress, fresh_mm2| {
        watch.hears(counts(progress), fresh_mm2, progress.evaluations)
    })
    .map_err(|error| refused(&error))?;
    let mut answer = empty();
    for (at, one) in found.plans.iter().enumerate() {
        let bound = fresh_bound(request, one.max_rerolls)?;
        if at == found.recommended {
            let others = std::mem::take(&mut answer.others);
            answer = NestAnswer { others, ..of_sheets(&one.plan, one.max_rerolls, bound) };
        } else {
            answer.others.push(answer::other(&one.plan, one.max_rerolls, bound));
        }
    }
    answer.iterations = found.evaluations;
    Ok(answer)
}

fn counts(progress: &Progress) -> (usize, usize) {
    (progress.n_fresh.unwrap_or(0), progress.n_rerolled.unwrap_or(0))
}

fn of_sheets(plan: &SheetsPlan, rerolls: usize, area_bound: f64) -> NestAnswer {
    NestAnswer {
        sheets: answer::sheets(plan),
        n_fresh: plan.n_fresh,
        n_stock: plan.n_stock,
        n_rerolled: plan.n_rerolled,
        piece_area_mm2: mm2(plan.piece_area_mm2),
        fresh_area_mm2: mm2(plan.fresh_area_mm2),
        dough_use: share(plan.dough_use),
        area_bound: mm2(area_bound),
        sheets_bound: Some(plan.sheets_bound),
        unplaced_optional: plan.unplaced_optional.clone(),
        rerolls: Some(rerolls),
        ..empty()
    }
}

/// Least fresh area; what is in stock may save as much as it has, and where it is larger than a sheet nothing is sure.
fn fresh_bound(request: &SheetsRequest, rerolls: usize) -> Result<f64, BadValue> {
    let bound = fresh_bound_mm2(request, rerolls).map_err(|error| refused(&error))?;
    let stock = || request.stock.iter().filter(|stock| stock.n > 0);
    let is_larger = |stock: &nesting::Stock| {
        stock.size.width_mm > request.sheet.width_mm
            || stock.size.length_mm > request.sheet.length_mm
    };
    if stock().any(is_larger) {
        return Ok(0.0);
    }
    let there: f64 = stock().map(|stock| stock.n as f64 * stock.size.area_mm2()).sum();
    Ok((bound - there).max(0.0))
}

fn strip(
    request: &StripRequest,
    n_threads: usize,
    watch: &mut Watch<'_>,
) -> Result<NestAnswer, BadValue> {
    let plan = plan_strip(request, n_threads, &mut |length_mm, iterations| {
        watch.hears((1, 0), length_mm * request.width_mm, iterations)
    })
    .map_err(|error| refused(&error))?;
    let bound_mm = strip_bound_mm(request).map_err(|error| refused(&error))?;
    let area_mm2 = plan.length_mm * request.width_mm;
    let n_strips = usize::from(!plan.placements.is_empty());
    Ok(NestAnswer {
        sheets: if n_strips > 0 { answer::strip(request, &plan) } else { Vec::new() },
        n_fresh: n_strips,
        length_mm: Some(round(plan.length_mm, 6)),
        piece_area_mm2: mm2(plan.dough_use * area_mm2),
        fresh_area_mm2: mm2(area_mm2),
        dough_use: share(plan.dough_use),
        area_bound: mm2(bound_mm * request.width_mm),
        iterations: plan.evaluations,
        ..empty()
    })
}

fn trays(
    request: &TurningRequest,
    margin_mm: f64,
    n_threads: usize,
    watch: &mut Watch<'_>,
) -> Result<NestAnswer, BadValue> {
    let inside = request.trays.tray;
    let size = [inside.width_mm + 2.0 * margin_mm, inside.length_mm + 2.0 * margin_mm];
    let tray_mm2 = size[0] * size[1];
    let plan = plan_trays_turning(request, n_threads, &mut |n_trays, iterations| {
        watch.hears((n_trays, 0), n_trays as f64 * tray_mm2, iterations)
    })
    .map_err(|error| refused(&error))?;
    let n_trays = plan.plan.trays.len();
    let pieces = request.trays.pieces.iter();
    let area_of = |outline| mended(0, outline).map_or(0.0, |mended| mended.area_mm2);
    let piece_area_mm2: f64 = pieces.map(|piece| piece.n as f64 * area_of(&piece.outline)).sum();
    let area_mm2 = n_trays as f64 * tray_mm2;
    Ok(NestAnswer {
        sheets: answer::trays(&plan, size, margin_mm),
        n_fresh: n_trays,
        piece_area_mm2: mm2(piece_area_mm2),
        fresh_area_mm2: mm2(area_mm2),
        dough_use: share(if n_trays > 0 { piece_area_mm2 / area_mm2 } else { 0.0 }),
        area_bound: mm2(plan.trays_bound as f64 * tray_mm2),
        sheets_bound: Some(plan.trays_bound),
        trays_in_rows: plan.n_in_rows,
        iterations: plan.evaluations,
        ..empty()
    })
}

/// Iterations a second on this machine, seen on a few of the pieces.
fn pace(mut sample: StripRequest, n_threads: usize, clock: &mut dyn FnMut() -> f64) -> f64 {
    let mut left = N_PACED;
    let share = (N_PACED / sample.pieces.len().max(1)).max(1);
    for piece in &mut sample.pieces {
        piece.n = piece.n.min(share).min(left);
        left -= piece.n;
    }
    sample.budget.evaluations = PACED_ITERATIONS;
    let mut seen: Vec<(f64, u64)> = Vec::new();
    // What is wrong with the request is told by the search itself.
    let _ = plan_strip(&sample, n_threads, &mut |_, iterations| {
        seen.push((clock(), iterations));
        ControlFlow::Continue(())
    });
    let usual = PACE * n_threads.clamp(1, 4) as f64;
    let (Some(first), Some(last)) = (seen.first(), seen.last()) else { return usual };
    let (took, made) = (last.0 - first.0, last.1 - first.1);
    // Less than this the clock does not tell.
    if took < 0.005 { usual } else { made as f64 / took }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn only_better_plans_are_noted_and_the_clock_ends_the_search() {
        let mut now = 0.0;
        let mut clock = || {
            now += 1.0;
            now
        };
        let mut watch = Watch {
            clock: &mut clock,
            stop_s: Some(4.0),
            first_plan_s: None,
            iterations_before: 0,
            trail: Vec::new(),
        };
        for (area, n_rerolled, goes_on) in
            [(500.0, 1, true), (500.0, 1, true), (500.0, 0, true), (400.0, 2, false)]
        {
            assert_eq!(watch.hears((1, n_rerolled), area, 7).is_continue(), goes_on);
        }
        let noted: Vec<(f64, f64)> =
            watch.trail.iter().map(|entry| (entry.seconds, entry.fresh_area_mm2)).collect();
        assert_eq!(noted, [(1.0, 500.0), (3.0, 500.0), (4.0, 400.0)]);
        assert_eq!(watch.first_plan_s, Some(1.0));
    }
}
