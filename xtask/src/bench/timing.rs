//! Our order of work and calendar beside CP-SAT of OR-tools, on the same instances in the same run.

use std::fs;
use std::path::{Path, PathBuf};
use std::process::Command;
use std::time::{Duration, Instant};

use anyhow::{Context, Result};
use serde::Deserialize;
use serde_json::Value;

use crate::outside::Downloads;
use crate::provenance::Provenance;
use crate::tree::Tree;
use crate::{referee, shell};

/// The script whose packages the models need, as the provenance of its files names them.
const PROVED: &str = "fixtures/timing/proved.py";
/// How long CP-SAT may look, in seconds: the second time only what it did not prove within the first.
const LIMITS: [u32; 2] = [10, 60];
/// Where our chance starts.
const SEEDS: std::ops::RangeInclusive<u64> = 1..=5;

/// An instance and what is measured on it.
enum Case {
    /// A file of `fixtures/timing`, with the optimum that was proved once.
    Kept(&'static str, i64),
    /// Kind, size and seed for `fixtures/timing/instances.py`.
    Made(&'static str, u32, u32),
    /// The same, too large for an outside solver: ours alone.
    Grown(&'static str, u32, u32),
}

const CASES: [Case; 14] = [
    Case::Kept("sequence_small", 827),
    Case::Kept("sequence_typical", 2461),
    Case::Kept("sequence_wet", 2791),
    Case::Made("plain", 35, 1),
    Case::Made("plain", 50, 1),
    Case::Grown("plain", 100, 1),
    Case::Grown("plain", 200, 1),
    Case::Grown("plain", 400, 1),
    Case::Kept("calendar_week", 3118),
    Case::Kept("calendar_fortnight", 6984),
    Case::Made("easy", 20, 1),
    Case::Made("easy", 20, 3),
    Case::Grown("easy", 50, 1),
    Case::Grown("easy", 100, 1),
];

/// What our program said of one instance, with all seeds.
struct Ours {
    values: Vec<i64>,
    times: Vec<Duration>,
    bound: i64,
}

/// What CP-SAT said within a limit.
#[derive(Deserialize)]
struct Outside {
    proved: bool,
    value: Option<i64>,
    bound: i64,
    seconds: f64,
}

/// Measures every case.
pub(super) fn timing(target: &Path) -> Result<String> {
    let folder = target.join("bench-timing");
    fs::create_dir_all(&folder)?;
    let root = shell::root();
    let provenance = Provenance::read(&Tree::read(&root)?)?;
    let entry = provenance
        .entries
        .iter()
        .find(|entry| entry.made_by.as_deref() == Some(PROVED))
        .with_context(|| format!("no file is made by {PROVED}"))?;
    let python = referee::python(entry, target, Downloads::Allowed)?;

    let mut table = format!(
        "`sugarwright sequence` and `sugarwright schedule` from start to exit, on seeds {} to {}: \
         active time or cost from the best to the worst seed, median time.\n\
         CP-SAT of OR-tools ({}) by `fixtures/timing/models.py` with one worker and a cold start: value and time.\n\
         The last column is our worst value to that of CP-SAT.\n\n\
         | instance | size | best known | ours | our time | CP-SAT, {} s | CP-SAT, {} s | ours to CP-SAT |\n\
         |---|---|---|---|---|---|---|---|\n",
        SEEDS.start(),
        SEEDS.end(),
        entry.with.join(", "),
        LIMITS[0],
        LIMITS[1],
    );
    for case in &CASES {
        let file = case.file(&python, &root, &folder)?;
        let instance: Value = serde_json::from_slice(&fs::read(&file)?)
            .with_context(|| format!("cannot read {}", file.display()))?;
        let ours = ours(&target.join("release").join("sugarwright"), &instance, &folder)?;
        let mut outside: Vec<Outside> = Vec::new();
        if !matches!(case, Case::Grown(..)) {
            for limit in LIMITS {
                if outside.last().is_none_or(|one| !one.proved) {
                    outside.push(cp_sat(&python, &file, limit)?);
                }
            }
        }
        let known = if let Case::Kept(_, optimum) = case { Some(*optimum) } else { None };
        let name = instance["name"].as_str().unwrap_or_default();
        let row = row(name, &size(&instance), known, &ours, &outside);
        println!("{row}");
        table += &format!("{row}\n");
    }
    Ok(table)
}

impl Case {
    /// The file with the instance, made where it is not kept.
    fn file(&self, python: &Path, root: &Path, folder: &Path) -> Result<PathBuf> {
        match self {
            Self::Kept(name, _) => Ok(root.join(format!("fixtures/timing/{name}.json"))),
            Self::Made(kind, size, seed) | Self::Grown(kind, size, seed) => {
                let file = folder.join(format!("{kind}_{size}_{seed}.json"));
                let (size, seed) = (size.to_string(), seed.to_string());
                let mut make = shell::command(python);
                make.args(["fixtures/timing/instances.py", kind, &size, &seed]);
                fs::write(&file, shell::read(&mut make)?)?;
                Ok(file)
            }
        }
    }
}

/// Runs our program with each seed.
fn ours(program: &Path, instance: &Value, folder: &Path) -> Result<Ours> {
    let (command, value) = match instance["format"].as_str() {
        Some("calendar/1") => ("schedule", "cost"),
        _ => ("sequence", "active"),
    };
    let mut ours = Ours { values: Vec::new(), times: Vec::new(), bound: 0 };
    let request = folder.join("request.json");
    for seed in SEEDS {
        let mut asked = instance.clone();
        asked["seed"] = seed.into();
        fs::write(&request, serde_json::to_vec(&asked)?)?;
        let start = Instant::now();
        let answer = shell::read(Command::new(program).arg(command).arg(&request))?;
        ours.times.push(start.elapsed());
        let answer: Value = serde_json::from_str(&answer)
            .with_context(|| format!("`sugarwright {command}` printed no JSON"))?;
        let figure = |name: &str| {
            answer[name].as_i64().with_context(|| format!("an answer has no number `{name}`"))
        };
        ours.values.push(figure(value)?);
        ours.bound = figure("bound")?.max(ours.bound);
    }
    ours.values.sort_unstable();
    ours.times.sort_unstable();
    Ok(ours)
}

fn cp_sat(python: &Path, file: &Path, limit: u32) -> Result<Outside> {
    let mut solve = shell::command(python);
    solve.arg("fixtures/timing/models.py").arg(file).arg(limit.to_string());
    serde_json::from_str(&shell::read(&mut solve)?).context("CP-SAT printed something else")
}

/// Sections and bags, or orders and tasks.
fn size(instance: &Value) -> String {
    let count = |value: &Value| value.as_array().map_or(0, Vec::len);
    let within = |all: &Value, what: &str| {
        all.as_array().into_iter().flatten().map(|one| count(&one[what])).sum::<usize>()
    };
    match &instance["orders"] {
        Value::Null => format!(
            "{} sections, {} bags",
            within(&instance["designs"], "sections"),
            count(&instance["bags"])
        ),
        orders => format!("{} orders, {} tasks", count(orders), within(orders, "tasks")),
    }
}

/// A row of the table; `outside` holds CP-SAT at each limit, `known` an optimum proved before.
fn row(name: &str, size: &str, known: Option<i64>, ours: &Ours, outside: &[Outside]) -> String {
    let best = |values: &[i64]| values.first().copied();
    let worst = ours.values.last().copied();
    let time = ours.times.get(ours.times.len() / 2).copied().unwrap_or_default();
    let least = known
        .into_iter()
        .chain(best(&ours.values))
        .chain(outside.iter().filter_map(|one| one.value))
        .min()
        .unwrap_or_default();
    let bound = outside.iter().map(|one| one.bound).chain([ours.bound]).max().unwrap_or_default();
    let is_proved = known == Some(least) || bound >= least;
    let best_known = match is_proved {
        true => format!("{least}, proved"),
        false => format!("{least}, at least {bound}"),
    };
    let ours_said = match (best(&ours.values), worst) {
        (Some(best), Some(worst)) if best < worst => format!("{best} to {worst}"),
        (best, _) => best.map_or_else(String::new, |best| best.to_string()),
    };
    let said = |place: usize| match outside.get(place) {
        None => String::new(),
        Some(one) => {
            let value = one.value.map_or("nothing".to_owned(), |value| value.to_string());
            let proved = if one.proved { ", proved" } else { "" };
            format!("{value} in {:.1} s{proved}", one.seconds)
        }
    };
    let ratio = match (worst, outside.last().and_then(|one| one.value)) {
        (Some(ours), Some(theirs)) if theirs > 0 => format!("{:.3}", ours as f64 / theirs as f64),
        _ => String::new(),
    };
    let time = super::time(time.as_secs_f64() * 1e9);
    format!(
        "| {name} | {size} | {best_known} | {ours_said} | {time} | {} | {} | {ratio} |",
        said(0),
        said(1)
    )
}

#[cfg(test)]
mod tests {
    use super::*;

    fn ours(values: &[i64]) -> Ours {
        let times = values.iter().map(|_| Duration::from_millis(40)).collect();
        Ours { values: values.to_vec(), times, bound: 90 }
    }

    fn outside(value: Option<i64>, bound: i64, proved: bool) -> Outside {
        Outside { proved, value, bound, seconds: 10.04 }
    }

    #[test]
    fn a_row_says_what_is_proved_and_how_ours_compares() {
        for (known, values, outside, expected) in [
            (
                None,
                vec![100, 102],
                vec![outside(None, 95, false), outside(Some(120), 96, false)],
                "| a | b | 100, at least 96 | 100 to 102 | 40.0 ms | nothing in 10.0 s | 120 in 10.0 s | 0.850 |",
            ),
            (
                None,
                vec![100, 100],
                vec![outside(Some(100), 100, true)],
                "| a | b | 100, proved | 100 | 40.0 ms | 100 in 10.0 s, proved |  | 1.000 |",
            ),
            (Some(99), vec![100], vec![], "| a | b | 99, proved | 100 | 40.0 ms |  |  |  |"),
            (None, vec![90], vec![], "| a | b | 90, proved | 90 | 40.0 ms |  |  |  |"),
        ] {
            assert_eq!(row("a", "b", known, &ours(&values), &outside), expected);
        }
    }

    #[test]
    fn sizes_count_what_is_worked() {
        let instance = serde_json::json!({"bags": [1, 2], "designs": [{"sections": [1, 2, 3]}]});
        assert_eq!(size(&instance), "3 sections, 2 bags");
        let instance = serde_json::json!({"orders": [{"tasks": [1]}, {"tasks": [1, 2]}]});
        assert_eq!(size(&instance), "2 orders, 3 tasks");
    }
}
