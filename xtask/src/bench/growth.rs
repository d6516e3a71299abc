//! What a cutting plan costs as the number of its pieces grows: the mix of the largest kept set, so many pieces of it.

use std::fmt::Write as _;
use std::fs;
use std::ops::ControlFlow;
use std::time::{Duration, Instant};

use anyhow::{Context, Result, ensure};
use nesting::{
    Piece, SheetsRequest, StripRequest, check_strip, plan_least_area, plan_sheets_on, plan_strip,
};

use super::memory_of;
use super::nesting::{N_THREADS, n_pieces, processor_s, until};
use super::sets::kept;
use crate::shell;

/// So many pieces.
const SIZES: [usize; 8] = [12, 24, 48, 96, 192, 384, 500, 1_000];
/// Of the mix of this set.
const MIX: &str = "i8_mix500";
/// Runs of what is short; the median counts.
const N_RUNS: usize = 5;
/// Seconds of two cores for a strip.
const STRIP_S: f64 = 2.0;
/// The picture, below `docs/`.
const PICTURE: &str = "pictures/cutting/cost.svg";

/// What was measured for one size.
struct Row {
    n: usize,
    first: Duration,
    with_rerolls: Duration,
    queries_per_s: f64,
    used: f64,
    peak_kb: Option<u64>,
}

/// Measures every size, writes the table and the curve.
pub(super) fn growth() -> Result<String> {
    let all = kept(MIX)?.request;
    let mut rows = Vec::new();
    for n in SIZES {
        let row = row(&so_many(&all, n))?;
        println!("{n} pieces: {:?}, {:?}", row.first, row.with_rerolls);
        rows.push(row);
    }
    let to = shell::root().join("docs").join(PICTURE);
    fs::create_dir_all(to.parent().context("a picture lies in a folder")?)?;
    fs::write(to, curve(&rows))?;
    let mut page = format!(
        "The mix of {MIX}, sheets of {:.0} x {:.0} mm. First plans on one thread, median of {N_RUNS}; \
         a strip after {STRIP_S:.0} s of two cores; memory is the most the process held meanwhile.\n\n\
         | pieces | first plan | with one re-roll | queries a second | strip used | peak memory |\n|---|---|---|---|---|---|\n",
        all.sheet.width_mm, all.sheet.length_mm
    );
    for row in &rows {
        let ms = |time: Duration| super::time(time.as_secs_f64() * 1e9);
        let peak =
            row.peak_kb.map_or("unknown".to_owned(), |kb| format!("{} MB", kb.div_ceil(1024)));
        let _ = writeln!(
            page,
            "| {} | {} | {} | {:.2} M | {:.1} % | {peak} |",
            row.n,
            ms(row.first),
            ms(row.with_rerolls),
            row.queries_per_s / 1e6,
            row.used * 100.0
        );
    }
    let _ = write!(page, "\n![time to the first plan against the number of pieces]({PICTURE})\n");
    Ok(page)
}

/// So many pieces in about the shares of the mix, at least one of each while there are enough.
fn so_many(all: &SheetsRequest, n: usize) -> SheetsRequest {
    let whole = n_pieces(&all.pieces);
    let mut n_before = 0;
    let mut share = |piece: &Piece| {
        // Shares of running sums always add up to the whole.
        let from = n_before * n / whole;
        n_before += piece.n;
        Piece { n: n_before * n / whole - from, ..piece.clone() }
    };
    let pieces = all.pieces.iter().map(&mut share).filter(|piece| piece.n > 0).collect();
    SheetsRequest { pieces, ..all.clone() }
}

fn row(request: &SheetsRequest) -> Result<Row> {
    // The kernel forgets the most memory that was held so far.
    let _ = fs::write("/proc/self/clear_refs", "5");
    let mut rolled = request.clone();
    rolled.rerolls.max = 1;
    let first = median_of(|| {
        plan_sheets_on(request, 1, &mut |_| ControlFlow::Break(())).map(drop).map_err(Into::into)
    })?;
    let with_rerolls = median_of(|| {
        let listener = &mut |_: &nesting::Progress, _| ControlFlow::Break(());
        plan_least_area(&rolled, 0.0, 1, listener).map(drop).map_err(Into::into)
    })?;
    let strip = StripRequest {
        pieces: request.pieces.clone(),
        width_mm: request.sheet.width_mm,
        gap_mm: request.gap_mm,
        edge_margin_mm: request.edge_margin_mm,
        budget: nesting::Budget { evaluations: u64::MAX },
        seed: 1,
    };
    let start = processor_s()?;
    let plan = plan_strip(&strip, N_THREADS, &mut |_, _| until(start + STRIP_S * 2.0))?;
    let took = processor_s()? - start;
    ensure!(check_strip(&strip, &plan).is_empty(), "a strip is not sound");
    Ok(Row {
        n: n_pieces(&request.pieces),
        first,
        with_rerolls,
        queries_per_s: plan.evaluations as f64 / took.max(0.01),
        used: plan.dough_use,
        peak_kb: memory_of(std::process::id(), "VmHWM:"),
    })
}

fn median_of(mut run: impl FnMut() -> Result<()>) -> Result<Duration> {
    let mut times = Vec::with_capacity(N_RUNS);
    for _ in 0..N_RUNS {
        let start = Instant::now();
        run()?;
        times.push(start.elapsed());
    }
    times.sort_unstable();
    Ok(times[N_RUNS / 2])
}

/// Both times against the number of pieces, both axes logarithmic.
fn curve(rows: &[Row]) -> String {
    const WIDTH: f64 = 720.0;
    const HEIGHT: f64 = 400.0;
    const LEFT: f64 = 70.0;
    const BELOW: f64 = 50.0;
    let ms = |time: Duration| (time.as_secs_f64() * 1e3).max(0.1);
    let x = |n: f64| LEFT + (n / 10.0).log10() / 2.0 * (WIDTH - LEFT - 30.0);
    let y = |ms: f64| HEIGHT - BELOW - ms.log10() / 4.0 * (HEIGHT - BELOW - 40.0);
    let mut svg = format!(
        r##"<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {WIDTH} {HEIGHT}" width="{WIDTH}"><style>text{{font:14px sans-serif;fill:#2a231c}}.grid{{stroke:#d9cdb6}}polyline{{fill:none;stroke-width:2.5;stroke-linejoin:round}}</style><rect width="{WIDTH}" height="{HEIGHT}" fill="#fffdf7"/>"##
    );
    for (words, ms) in
        [("1 ms", 1.0), ("10 ms", 10.0), ("100 ms", 100.0), ("1 s", 1e3), ("10 s", 1e4)]
    {
        let at = y(ms);
        let _ = write!(
            svg,
            r#"<line class="grid" x1="{LEFT}" x2="{:.0}" y1="{at:.1}" y2="{at:.1}"/><text x="{:.0}" y="{:.1}" text-anchor="end">{words}</text>"#,
            WIDTH - 30.0,
            LEFT - 8.0,
            at + 5.0
        );
    }
    for row in rows {
        let at = x(row.n as f64);
        let _ = write!(
            svg,
            r#"<line class="grid" x1="{at:.1}" x2="{at:.1}" y1="40" y2="{:.1}"/><text x="{at:.1}" y="{:.1}" text-anchor="middle">{}</text>"#,
            HEIGHT - BELOW,
            HEIGHT - BELOW + 20.0,
            row.n
        );
    }
    let _ = write!(
        svg,
        r#"<text x="{:.0}" y="{:.0}" text-anchor="middle">pieces</text>"#,
        (LEFT + WIDTH) / 2.0,
        HEIGHT - 8.0
    );
    let times = |of: &dyn Fn(&Row) -> Duration| -> Vec<String> {
        let point = |row: &Row| format!("{:.1},{:.1}", x(row.n as f64), y(ms(of(row))));
        rows.iter().map(point).collect()
    };
    let lines = [
        ("first plan", "#3f6b55", times(&|row| row.first)),
        ("first plan with one re-roll", "#a4532f", times(&|row| row.with_rerolls)),
    ];
    for (at, (words, color, points)) in lines.into_iter().enumerate() {
        let from = LEFT + 10.0 + 140.0 * at as f64;
        let _ = write!(
            svg,
            r#"<polyline stroke="{color}" points="{}"/><text x="{from:.0}" y="24" style="fill:{color};font-weight:600">{words}</text>"#,
            points.join(" ")
        );
    }
    svg.push_str("</svg>\n");
    svg
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_mix_of_any_size_has_so_many_pieces() {
        let all = kept(MIX).expect("the set").request;
        for n in SIZES {
            assert_eq!(n_pieces(&so_many(&all, n).pieces), n);
        }
    }
}
