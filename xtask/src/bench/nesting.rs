//! Our cutting plans beside spyrrow, on the same pieces in the same run and with the same processor time.
//!
//! spyrrow packs strips only; sheets and re-rolls are held against what is known of the instances.

use std::fs;
use std::ops::ControlFlow;
use std::path::Path;
use std::time::Instant;

use anyhow::{Context, Result, ensure};
use nesting::{
    AreaPlans, Budget, Piece, Rotation, StripRequest, check_cut_short, check_sheets, check_strip,
    fresh_bound_mm2, plan_least_area, plan_sheets_on, plan_strip,
};
use serde::Deserialize;
use serde_json::{Value, json};

use super::sets::{Set, area, kept, made};
use crate::outside::{self, Downloads};
use crate::shell;

/// The general packer our strips are held against; MIT.
pub(super) const SPYRROW: &str = "spyrrow==0.9.0";
/// Seconds of two processor cores, and how many seeds.
const LIMITS: [(u32, u64); 2] = [(2, 5), (10, 2)];
/// The same for the kept sets only.
const LONG: (u32, u64) = (60, 1);
/// Seconds of two processor cores for sheets and dough.
const SHEETS_S: f64 = 10.0;
pub(super) const N_THREADS: usize = 2;
/// Queries of a run that tells how fast they are.
const SHORT_RUN: u64 = 1_000_000;
/// Queries for fresh dough, before it is known how long they take.
const DOUGH_QUERIES: f64 = 20e6;
/// A run for fresh dough that took this share of the time counts; another one is made anew, for a little less than all of it.
const COUNTS: std::ops::RangeInclusive<f64> = 0.85..=1.0;
const NEARLY_ALL: f64 = 0.95;
/// So many ticks a second `/proc` counts.
const TICKS: f64 = 100.0;

/// Kept instances: name, sheets a one-pass left-bottom fill needs, and the share of a strip's dough used after 60 s by spyrrow.
///
/// Both were measured once; the last gives the ideal with re-rolls, A / (u Σ ((1 - u)(1 - l))^k).
pub(super) const KEPT: [(&str, usize, f64); 4] = [
    ("i1_set12", 1, 0.775),
    ("i3_set24", 2, 0.631),
    ("i6_mix48", 3, 0.687),
    ("i8_mix500", 26, 0.684),
];

/// What the packer says of a strip.
#[derive(Deserialize)]
pub(super) struct Outside {
    pub(super) length_mm: f64,
    pub(super) processor_s: f64,
}

/// A strip beside the packer's, of the same pieces by the same processor time.
pub(super) struct Beside {
    /// Share of the dough used, ours and the packer's.
    pub(super) used: [f64; 2],
    pub(super) processor_s: f64,
}

/// Measures strips, sheets and dough.
pub(super) fn nesting(target: &Path) -> Result<String> {
    let folder = target.join("bench-nesting");
    fs::create_dir_all(&folder)?;
    let python = outside::python(&folder.join("venv"), &[SPYRROW], Downloads::Allowed)?;
    let kept: Vec<Set> = KEPT.iter().map(|(name, ..)| kept(name)).collect::<Result<_>>()?;
    let made = made();

    let mut page = format!(
        "Gap 2 mm, margin 3 mm, pieces turn freely; every plan of ours passed the check in double precision.\n\n\
         Share of a strip's dough that is used, median of the seeds, ours and by {SPYRROW} on two workers.\n\
         spyrrow has so many seconds by the clock; ours has the processor time that spyrrow took of two cores, \
         which is less than twice as much while the machine has other work:\n\n\
         | set | pieces | seconds, seeds | processor time | ours | spyrrow | ours to spyrrow |\n|---|---|---|---|---|---|---|\n"
    );
    for (place, set) in kept.iter().chain(&made).enumerate() {
        let long = (place < kept.len()).then_some(LONG);
        for (seconds, n_seeds) in LIMITS.into_iter().chain(long) {
            let row = strip_row(set, seconds, n_seeds, &python, &folder)?;
            println!("{row}");
            page += &format!("{row}\n");
        }
    }
    page += &format!(
        "\nSheets without re-rolls; at the first plan and after {SHEETS_S:.0} s of two cores (in processor time):\n\n\
         | set | pieces | first plan | sheets | after {SHEETS_S:.0} s | area bound | left-bottom fill |\n|---|---|---|---|---|---|---|\n"
    );
    for (set, (_, fill, _)) in kept.iter().zip(KEPT) {
        let row = sheets_row(set, Some(fill))?;
        println!("{row}");
        page += &format!("{row}\n");
    }
    for set in &made {
        let row = sheets_row(set, None)?;
        println!("{row}");
        page += &format!("{row}\n");
    }
    let peak = super::memory_of(std::process::id(), "VmHWM:");
    if let Some(kb) = peak {
        page += &format!("\nPeak memory of all of it: {} MB.\n", kb.div_ceil(1024));
    }
    Ok(page)
}

/// Measures fresh dough with scraps rolled again.
pub(super) fn dough() -> Result<String> {
    let mut page = format!(
        "Fresh dough over area of the pieces, scraps rolled again at a loss of 1.5 %, after about {SHEETS_S:.0} s of two cores for each row.\n\
         The ideal cuts every roll as densely as spyrrow's strip after 60 s; re-rolled sheets are smaller than that strip:\n\n\
         | set | re-rolls | first plan | fresh dough at first | processor time | fresh dough then | ideal | to ideal | bound |\n|---|---|---|---|---|---|---|---|---|\n"
    );
    for (name, _, used) in KEPT {
        let set = kept(name)?;
        for n_rerolls in [1, 2] {
            let row = dough_row(&set, n_rerolls, used)?;
            println!("{row}");
            page += &format!("{row}\n");
        }
    }
    Ok(page)
}

fn strip_row(
    set: &Set,
    seconds: u32,
    n_seeds: u64,
    python: &Path,
    folder: &Path,
) -> Result<String> {
    let request = &set.request;
    let strip = StripRequest {
        pieces: request.pieces.clone(),
        width_mm: request.sheet.width_mm,
        gap_mm: request.gap_mm,
        edge_margin_mm: request.edge_margin_mm,
        budget: request.budget,
        seed: 1,
    };
    let (mut ours, mut theirs, mut took) = (Vec::new(), Vec::new(), Vec::new());
    for seed in 1..=n_seeds {
        let Beside { used, processor_s } = beside(&strip, seconds, seed, python, folder)?;
        ours.push(used[0]);
        theirs.push(used[1]);
        took.push(processor_s);
    }
    let (ours, theirs) = (median(ours), median(theirs));
    Ok(format!(
        "| {} | {} | {seconds} s, {n_seeds} | {:.1} s | {:.1} % | {:.1} % | {:.3} |",
        set.name,
        n_pieces(&request.pieces),
        median(took),
        ours * 100.0,
        theirs * 100.0,
        ours / theirs
    ))
}

/// Packs a strip by the packer in so many seconds, then by us in the processor time it took.
pub(super) fn beside(
    strip: &StripRequest,
    seconds: u32,
    seed: u64,
    python: &Path,
    folder: &Path,
) -> Result<Beside> {
    let item = |piece: &Piece| -> Value {
        let angles = match &piece.rotation {
            Rotation::Angles(degrees) => json!(degrees),
            _ => Value::Null,
        };
        json!({"points": piece.outline, "qty": piece.n, "orientations": angles})
    };
    let asked = json!({
        "width_mm": strip.width_mm,
        "gap_mm": strip.gap_mm,
        "edge_margin_mm": strip.edge_margin_mm,
        "items": strip.pieces.iter().map(item).collect::<Vec<_>>(),
    });
    let file = folder.join("strip.json");
    fs::write(&file, asked.to_string())?;
    let mut pack = shell::command(python);
    pack.arg("fixtures/nesting/strip.py").arg(&file);
    pack.args([seconds.to_string(), seed.to_string()]);
    let Outside { length_mm, processor_s } =
        serde_json::from_str(&shell::read(&mut pack)?).context("spyrrow printed something else")?;
    let area_mm2: f64 = strip.pieces.iter().map(|p| area(&p.outline) * p.n as f64).sum();
    let ours = packed(&StripRequest { seed, ..strip.clone() }, processor_s)?;
    let used = [ours, area_mm2 / (strip.width_mm * length_mm)];
    Ok(Beside { used, processor_s })
}

/// Share of a strip's dough used after so much processor time.
pub(super) fn packed(strip: &StripRequest, processor_s: f64) -> Result<f64> {
    let asks = |evaluations: u64| StripRequest { budget: Budget { evaluations }, ..strip.clone() };
    // The search takes its last, small steps when most of the budget is spent: about so many queries are made in the time.
    let (made, took) = timed(|| {
        let go_on = &mut |_, _| ControlFlow::Continue(());
        Ok(plan_strip(&asks(SHORT_RUN), N_THREADS, go_on)?.evaluations)
    })?;
    let request = asks((processor_s * made / took) as u64);
    let start = self::processor_s()?;
    let plan = plan_strip(&request, N_THREADS, &mut |_, _| until(start + processor_s))?;
    ensure!(check_strip(&request, &plan).is_empty(), "a strip is not sound");
    Ok(plan.dough_use)
}

/// Queries made in a run and the processor time it took.
fn timed(run: impl FnOnce() -> Result<u64>) -> Result<(f64, f64)> {
    let start = processor_s()?;
    let made = run()? as f64;
    Ok((made, (processor_s()? - start).max(1.0 / TICKS)))
}

fn sheets_row(set: &Set, fill: Option<usize>) -> Result<String> {
    let mut request = set.request.clone();
    request.rerolls.max = 0;
    request.budget.evaluations = u64::MAX;
    let (start, clock) = (processor_s()?, Instant::now());
    let mut first = None;
    let plan = plan_sheets_on(&request, N_THREADS, &mut |progress| {
        first.get_or_insert((clock.elapsed(), progress.n_fresh));
        until(start + SHEETS_S * 2.0)
    })?;
    ensure!(check_sheets(&request, &plan).is_empty(), "a plan for {} is not sound", set.name);
    let (time, n_fresh) = first.unwrap_or_default();
    Ok(format!(
        "| {} | {} | {} | {} | {} | {} | {} |",
        set.name,
        n_pieces(&request.pieces),
        super::time(time.as_secs_f64() * 1e9),
        n_fresh.unwrap_or_default(),
        plan.n_fresh,
        plan.sheets_bound,
        fill.map_or(String::new(), |fill| fill.to_string())
    ))
}

fn dough_row(set: &Set, n_rerolls: usize, used: f64) -> Result<String> {
    let mut request = set.request.clone();
    request.rerolls.max = n_rerolls;
    let limit_s = SHEETS_S * N_THREADS as f64;
    let mut first = None;
    let mut run = |evaluations: f64| -> Result<(AreaPlans, f64)> {
        request.budget.evaluations = evaluations as u64;
        let (start, clock) = (processor_s()?, Instant::now());
        let plans = plan_least_area(&request, 0.0, N_THREADS, &mut |_, fresh_mm2| {
            first.get_or_insert((clock.elapsed(), fresh_mm2));
            ControlFlow::Continue(())
        })?;
        Ok((plans, processor_s()? - start))
    };
    // Each number of re-rolls has its part of the queries: a clock would cut off the last, and largest.
    let (mut plans, mut took) = run(DOUGH_QUERIES)?;
    if !COUNTS.contains(&(took / limit_s)) {
        (plans, took) = run(DOUGH_QUERIES * NEARLY_ALL * limit_s / took)?;
    }
    let best = &plans.plans[plans.recommended].plan;
    ensure!(check_cut_short(&request, best).is_empty(), "a plan for {} is not sound", set.name);
    let (time, at_first) = first.unwrap_or_default();
    let share = |fresh_mm2: f64| fresh_mm2 / best.piece_area_mm2;
    let left = (1.0 - used) * (1.0 - request.rerolls.loss);
    let rounds: f64 = (0..=n_rerolls).map(|round| left.powi(round as i32)).sum();
    let ideal = 1.0 / (used * rounds);
    Ok(format!(
        "| {} | {n_rerolls} | {} | {:.3} | {took:.1} s | {:.3} | {ideal:.3} | {:.3} | {:.3} |",
        set.name,
        super::time(time.as_secs_f64() * 1e9),
        share(at_first),
        share(best.fresh_area_mm2),
        share(best.fresh_area_mm2) / ideal,
        share(fresh_bound_mm2(&request, n_rerolls)?)
    ))
}

pub(super) fn n_pieces(pieces: &[Piece]) -> usize {
    pieces.iter().map(|piece| piece.n).sum()
}

pub(super) fn median(mut values: Vec<f64>) -> f64 {
    values.sort_by(f64::total_cmp);
    let n = values.len();
    (values[(n - 1) / 2] + values[n / 2]) / 2.0
}

/// Processor time of this program so far.
pub(super) fn processor_s() -> Result<f64> {
    let stat = fs::read_to_string("/proc/self/stat").context("no processor time without /proc")?;
    // The name may hold spaces; after it stand the state and from the twelfth on the ticks.
    let after = stat.rsplit_once(')').map_or("", |(_, after)| after);
    let ticks = after.split_whitespace().skip(11).take(2).map(|n| n.parse::<f64>().unwrap_or(0.0));
    Ok(ticks.sum::<f64>() / TICKS)
}

pub(super) fn until(end_s: f64) -> ControlFlow<()> {
    match processor_s() {
        Ok(now) if now < end_s => ControlFlow::Continue(()),
        _ => ControlFlow::Break(()),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_median_is_the_middle_or_between_the_two() {
        assert_eq!(median(vec![3.0, 1.0, 2.0]), 2.0);
        assert_eq!(median(vec![4.0, 1.0, 2.0, 3.0]), 2.5);
    }
}
