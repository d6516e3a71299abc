//! Strip benchmarks others published, ours beside spyrrow; they are read from a folder that is named and are no part of the project.
//!
//! A file holds `{"name", "strip_height", "items": [{"demand", "allowed_orientations", "shape": {"data": [[x, y], ...]}}]}`.
//! Their strip is as high as it is told and as long as need be, ours as wide and as long: pieces that may not turn freely come in a quarter turned.
//! Lengths are scaled so that the strip is as wide as our limits like it; gap and margin are none.

use std::fs;
use std::path::Path;

use anyhow::{Context, Result, ensure};
use nesting::{Budget, Piece, Rotation, StripRequest};
use serde::Deserialize;

use super::nesting::{Beside, N_THREADS, SPYRROW, beside, median, n_pieces, packed};
use crate::outside::{self, Downloads};

/// Seconds of two processor cores, and how many seeds.
const SECONDS: u32 = 10;
const N_SEEDS: u64 = 2;
/// Seconds of two processor cores for a longer search of ours, once.
const LONG_S: f64 = 120.0;
/// The strip is made so wide.
const WIDTH_MM: f64 = 1_000.0;
/// Mean share of the strip used after 20 minutes on three threads, in percent.
///
/// Source: Gardeyn, Vanden Berghe, Wauters, "An open-source heuristic to reboot 2D nesting research", arXiv:2509.13329 (2025), table 2.
const PUBLISHED: [(&str, f64); 3] = [("swim", 78.26), ("shirts", 89.66), ("trousers", 91.73)];

#[derive(Deserialize)]
struct Instance {
    name: String,
    strip_height: f64,
    items: Vec<Item>,
}

#[derive(Deserialize)]
struct Item {
    demand: usize,
    allowed_orientations: Option<Vec<f64>>,
    shape: Shape,
}

#[derive(Deserialize)]
struct Shape {
    data: Vec<[f64; 2]>,
}

/// Measures every instance of a folder.
pub(super) fn strips(target: &Path, instances: &Path) -> Result<String> {
    let folder = target.join("bench-nesting");
    fs::create_dir_all(&folder)?;
    let python = outside::python(&folder.join("venv"), &[SPYRROW], Downloads::Allowed)?;
    let mut files: Vec<_> = fs::read_dir(instances)
        .with_context(|| format!("cannot read {}", instances.display()))?
        .map(|entry| entry.map(|entry| entry.path()))
        .collect::<Result<_, _>>()?;
    files.retain(|file| file.extension().is_some_and(|extension| extension == "json"));
    files.sort();
    ensure!(!files.is_empty(), "{} holds no instance", instances.display());

    let mut page = format!(
        "Share of the strip that is used, median of {N_SEEDS} seeds, ours and by {SPYRROW} in the same run; \
         pieces turn as the instances allow.\n\
         spyrrow has {SECONDS} s by the clock on two workers, ours the processor time it took; \
         beside it ours once after {LONG_S:.0} s of two cores, a fifteenth of what the published figures took.\n\
         Those are means after 20 minutes on three threads (arXiv:2509.13329, table 2):\n\n\
         | instance | pieces | processor time | ours | spyrrow | ours after {LONG_S:.0} s | published |\n|---|---|---|---|---|---|---|\n"
    );
    for file in files {
        let text = fs::read(&file).with_context(|| format!("cannot read {}", file.display()))?;
        let instance: Instance = serde_json::from_slice(&text)
            .with_context(|| format!("{} is no instance", file.display()))?;
        let row = row(&instance, &python, &folder)?;
        println!("{row}");
        page += &format!("{row}\n");
    }
    Ok(page)
}

fn row(instance: &Instance, python: &Path, folder: &Path) -> Result<String> {
    let strip = strip(instance);
    let (mut ours, mut theirs, mut took) = (Vec::new(), Vec::new(), Vec::new());
    for seed in 1..=N_SEEDS {
        let Beside { used, processor_s } = beside(&strip, SECONDS, seed, python, folder)?;
        ours.push(used[0]);
        theirs.push(used[1]);
        took.push(processor_s);
    }
    let long = packed(&strip, LONG_S * N_THREADS as f64)?;
    let published = PUBLISHED.iter().find(|(name, _)| *name == instance.name);
    Ok(format!(
        "| {} | {} | {:.1} s | {:.2} % | {:.2} % | {:.2} % | {} |",
        instance.name,
        n_pieces(&strip.pieces),
        median(took),
        median(ours) * 100.0,
        median(theirs) * 100.0,
        long * 100.0,
        published.map_or(String::new(), |(_, percent)| format!("{percent:.2} %"))
    ))
}

fn strip(instance: &Instance) -> StripRequest {
    let scale = WIDTH_MM / instance.strip_height;
    let piece = |item: &Item| {
        let mut outline: Vec<[f64; 2]> =
            item.shape.data.iter().map(|[x, y]| [-y * scale, x * scale]).collect();
        // The first corner stands at the end again.
        if outline.len() > 1 && outline.first() == outline.last() {
            outline.pop();
        }
        Piece {
            outline,
            n: item.demand,
            n_optional: 0,
            rotation: item.allowed_orientations.clone().map_or(Rotation::Free, Rotation::Angles),
            mirror: false,
            fresh_only: false,
        }
    };
    StripRequest {
        pieces: instance.items.iter().map(piece).collect(),
        width_mm: WIDTH_MM,
        gap_mm: 0.0,
        edge_margin_mm: 0.0,
        budget: Budget { evaluations: 0 },
        seed: 1,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_instance_is_scaled_and_keeps_its_orientations() {
        let text = r#"{"name": "two", "strip_height": 40, "items": [
            {"demand": 3, "allowed_orientations": [0, 180], "shape": {"data": [[0, 0], [4, 0], [4, 8], [0, 0]]}},
            {"demand": 1, "allowed_orientations": null, "shape": {"data": [[0, 0], [2, 0], [2, 2]]}}]}"#;
        let strip = strip(&serde_json::from_str(text).expect("an instance"));
        // Four of the forty that the strip is high are along their strip, so along ours too.
        assert_eq!(strip.pieces[0].outline, [[0.0, 0.0], [0.0, 100.0], [-200.0, 100.0]]);
        assert_eq!(strip.pieces[0].rotation, Rotation::Angles(vec![0.0, 180.0]));
        assert_eq!((strip.pieces[1].rotation.clone(), strip.pieces[0].n), (Rotation::Free, 3));
    }
}
