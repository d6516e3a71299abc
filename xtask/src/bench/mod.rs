//! `cargo xtask bench`: measures and writes `docs/benchmarks.md`.
//!
//! Whole plans are measured from outside, several runs after one that warms up; engines by their criterion benches.
//! Nothing is judged here: ratios count, single times depend on the machine.

use std::fs;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};
use std::thread;
use std::time::{Duration, Instant};

use anyhow::{Context, Result, ensure};
use clap::{Args, ValueEnum};
use serde::Deserialize;

use crate::metadata::Metadata;
use crate::shell;

mod cuts;
mod growth;
mod nesting;
mod pages;
mod sets;
mod strips;
mod timing;

/// The table says what was measured where; numbers are medians.
#[derive(Args)]
pub(crate) struct Options {
    /// Measure only these parts; what the page says of the others stays
    #[arg(long, value_enum)]
    part: Vec<Part>,
    /// Also build everything from nothing, in a folder of its own, and time that (10 to 20 minutes)
    #[arg(long)]
    cold: bool,
    /// A folder of published strip benchmarks as JSON, measured with the cutting plans or as a part of their own
    #[arg(long, value_name = "FOLDER")]
    strips: Option<PathBuf>,
}

/// A section of the page.
#[derive(Clone, Copy, PartialEq, ValueEnum)]
enum Part {
    /// Whole plans from the command line
    Plans,
    /// The web app with 1,000 orders
    Pages,
    /// Engines, by their criterion benches
    Engines,
    /// Order of work and calendar beside an outside solver (about 10 minutes)
    Timing,
    /// Cutting plans beside an outside packer (about 20 minutes)
    Nesting,
    /// Fresh dough with scraps rolled again (about 3 minutes)
    Dough,
    /// Published strips beside an outside packer, where their folder is given
    Strips,
    /// What cutting plans cost as the number of pieces grows
    Growth,
    /// Pictures of cutting plans, on a page of their own (about 5 minutes)
    Cuts,
    /// Building and checking
    Builds,
}

impl Part {
    /// The heading of its section.
    fn heading(self) -> &'static str {
        match self {
            Self::Plans => "A whole plan, from order folder to plan folder",
            Self::Pages => "Pages, with 1,000 stored orders",
            Self::Engines => "Engines",
            Self::Timing => "Order of work and calendar, beside CP-SAT",
            Self::Nesting => "Cutting plans, beside spyrrow",
            Self::Dough => "Cutting plans, fresh dough",
            Self::Strips => "Published strips, beside spyrrow",
            Self::Growth => "Cutting plans, cost against the number of pieces",
            Self::Cuts => "Cutting plans, drawn",
            Self::Builds => "Building and checking",
        }
    }
}

/// Runs of each whole plan, after one that is not counted.
const N_RUNS: usize = 7;
/// How often a running plan is asked for its memory.
const LOOK_EVERY: Duration = Duration::from_millis(2);

/// One run of the program.
struct Run {
    took: Duration,
    /// The most memory it held, in kilobytes; nothing where the system does not tell.
    peak_kb: Option<u64>,
}

/// Measures and writes the page.
pub(crate) fn bench(options: &Options) -> Result<()> {
    let target = Metadata::read()?.target_directory;
    let path = shell::root().join("docs/benchmarks.md");
    let before = fs::read_to_string(&path).unwrap_or_default();
    let mut page = format!(
        "# Benchmarks\n\nWritten by `cargo xtask bench` on {} cores, in the release profile of daily work.\n\
         Times are medians; what one machine does in a second another does in two, so read ratios.\n",
        thread::available_parallelism().map_or(1, usize::from)
    );
    // Cutting plans are measured without the program.
    let needs_none = |part: &Part| {
        matches!(part, Part::Nesting | Part::Dough | Part::Strips | Part::Growth | Part::Cuts)
    };
    if options.part.is_empty() || !options.part.iter().all(needs_none) {
        shell::run(&mut shell::cargo(&["build", "--release", "--package", "sugarwright"]))?;
    }
    for part in Part::value_variants() {
        let heading = part.heading();
        let is_named = |part: Part| options.part.is_empty() || options.part.contains(&part);
        let is_asked = match part {
            // Without their folder, what was measured with it stays.
            Part::Strips => {
                options.strips.is_some() && (is_named(*part) || is_named(Part::Nesting))
            }
            _ => is_named(*part),
        };
        let section = if is_asked {
            match part {
                Part::Plans => whole_plans(&target)?,
                Part::Pages => pages::pages(&target)?,
                Part::Engines => engines(&target.join("criterion"))?,
                Part::Timing => timing::timing(&target)?,
                Part::Nesting => nesting::nesting(&target)?,
                Part::Dough => nesting::dough()?,
                Part::Strips => match &options.strips {
                    Some(folder) => strips::strips(&target, folder)?,
                    None => continue,
                },
                Part::Growth => growth::growth()?,
                Part::Cuts => {
                    cuts::cuts()?;
                    "See [cutting plans](cutting-plans.md).".to_owned()
                }
                Part::Builds => builds(&target, options.cold)?,
            }
        } else {
            section(&before, heading).to_owned()
        };
        if *part == Part::Strips && section.trim().is_empty() {
            continue;
        }
        page += &format!("\n## {heading}\n\n{}\n", section.trim());
    }
    fs::write(&path, page).context("cannot write docs/benchmarks.md")?;
    println!("docs/benchmarks.md is written");
    Ok(())
}

/// What a page says under a heading.
fn section<'a>(page: &'a str, heading: &str) -> &'a str {
    let after = page.split_once(&format!("\n## {heading}\n")).map_or("", |(_, after)| after);
    after.split("\n## ").next().unwrap_or_default()
}

/// Plans both samples from the command line at each effort.
fn whole_plans(target: &Path) -> Result<String> {
    let program = target.join("release").join("sugarwright");
    let folder = target.join("bench-plans");
    fs::create_dir_all(&folder)?;
    let mut table = "| sample | effort | time | peak memory |\n|---|---|---|---|\n".to_owned();
    for (sample, today) in [("lamp-lighting", "2027-02-15"), ("naming-party", "2027-02-22")] {
        let order = folder.join(sample);
        // A sample is only written where nothing is.
        if order.exists() {
            fs::remove_dir_all(&order)?;
        }
        shell::run(
            Command::new(&program)
                .arg("sample")
                .arg(&order)
                .args(["--which", sample])
                .stdout(Stdio::null()),
        )?;
        for effort in ["quick", "normal", "long"] {
            let mut runs = Vec::new();
            for _ in 0..=N_RUNS {
                let mut plan = Command::new(&program);
                plan.arg("plan").arg(&order).arg("--out").arg(folder.join("plan"));
                plan.args(["--today", today, "--effort", effort]);
                runs.push(watch(&mut plan)?);
            }
            // The first run warms up.
            let counted = &mut runs[1..];
            counted.sort_by_key(|run| run.took);
            let median = counted[counted.len() / 2].took.as_secs_f64();
            let peak = counted.iter().filter_map(|run| run.peak_kb).max();
            let peak = peak.map_or("unknown".to_owned(), |kb| format!("{} MB", kb.div_ceil(1024)));
            table += &format!("| {sample} | {effort} | {median:.2} s | {peak} |\n");
        }
    }
    Ok(table)
}

/// Runs a command unseen and watches its memory.
fn watch(command: &mut Command) -> Result<Run> {
    let start = Instant::now();
    let mut child =
        command.stdout(Stdio::null()).stderr(Stdio::null()).stdin(Stdio::null()).spawn()?;
    let mut peak_kb = None;
    loop {
        peak_kb = memory_of(child.id(), "VmHWM:").max(peak_kb);
        if let Some(status) = child.try_wait()? {
            ensure!(status.success(), "a plan failed with {status}");
            return Ok(Run { took: start.elapsed(), peak_kb });
        }
        thread::sleep(LOOK_EVERY);
    }
}

/// Memory of a running process in kilobytes, where `/proc` tells it: `VmRSS:` now, `VmHWM:` the most it has held.
fn memory_of(process: u32, which: &str) -> Option<u64> {
    let status = fs::read_to_string(format!("/proc/{process}/status")).ok()?;
    let line = status.lines().find_map(|line| line.strip_prefix(which))?;
    line.trim().trim_end_matches("kB").trim().parse().ok()
}

/// Runs the criterion benches and reads what they measured, bench by bench.
fn engines(criterion: &Path) -> Result<String> {
    shell::run(&mut shell::cargo(&[
        "bench",
        "--profile",
        "release",
        "--package",
        "drawing",
        "--package",
        "nesting",
        "--package",
        "timing",
        "--package",
        "tint",
        "--package",
        "craft",
        "--package",
        "sugarwright",
        "--bench",
        "*",
    ]))?;
    #[derive(Deserialize)]
    struct Estimates {
        median: Estimate,
    }
    #[derive(Deserialize)]
    struct Estimate {
        point_estimate: f64,
    }
    let mut found: Vec<(String, f64)> = Vec::new();
    let mut folders = vec![criterion.to_path_buf()];
    while let Some(folder) = folders.pop() {
        for entry in
            fs::read_dir(&folder).with_context(|| format!("cannot read {}", folder.display()))?
        {
            let path = entry?.path();
            if path.is_dir() {
                folders.push(path);
            } else if path.ends_with("new/estimates.json") {
                let estimates: Estimates = serde_json::from_slice(&fs::read(&path)?)?;
                let name = path
                    .parent()
                    .and_then(Path::parent)
                    .and_then(|bench| bench.strip_prefix(criterion).ok());
                found.push((
                    name.unwrap_or(&path).display().to_string(),
                    estimates.median.point_estimate,
                ));
            }
        }
    }
    found.sort_by(|a, b| a.0.cmp(&b.0));
    let mut table = "| bench | time |\n|---|---|\n".to_owned();
    for (name, nanoseconds) in found {
        table += &format!("| {name} | {} |\n", time(nanoseconds));
    }
    Ok(table)
}

fn time(nanoseconds: f64) -> String {
    match nanoseconds {
        ns if ns < 1e3 => format!("{ns:.0} ns"),
        ns if ns < 1e6 => format!("{:.1} µs", ns / 1e3),
        ns if ns < 1e9 => format!("{:.1} ms", ns / 1e6),
        ns => format!("{:.2} s", ns / 1e9),
    }
}

/// Times of a cold build and of the last run of all checks.
fn builds(target: &Path, cold: bool) -> Result<String> {
    let mut table = "| what | time |\n|---|---|\n".to_owned();
    let noted = target.join(COLD_BUILD);
    if cold {
        let folder = target.join("bench-cold");
        let start = Instant::now();
        let mut build = shell::cargo(&["build", "--release", "--workspace"]);
        shell::run(build.env("CARGO_TARGET_DIR", &folder))?;
        fs::write(&noted, start.elapsed().as_secs().to_string())?;
        fs::remove_dir_all(&folder)?;
    }
    for (what, file) in [
        ("cold build of the workspace", COLD_BUILD),
        ("all checks, dependencies built", LAST_CHECKS),
    ] {
        if let Ok(seconds) = fs::read_to_string(target.join(file)) {
            table += &format!("| {what} | {seconds} s |\n");
        }
    }
    Ok(table)
}

/// Where the time of the last cold build is noted.
const COLD_BUILD: &str = "last-cold-build-s";
/// Where the time of the last run of all checks is noted.
pub(crate) const LAST_CHECKS: &str = "last-checks-s";
