//! Dough and trays: what is mixed, rolled, cut, chilled and baked.

use std::collections::BTreeMap;

use craft::{
    document::plan::{CutDocument, PartDocument, PlanDocument, SheetDocument},
    kitchen::Kitchen,
};
use quantity::{Length, Mass, Span, Volume};
use serde::Serialize;

use super::{
    drawn::{Numbers, laid_out, shapes},
    files::Files,
    notes::{Note, about},
    scale::{Room, fitting},
    standing::{Shown, Standing, on_ruler},
};
use crate::words::{
    counted as times, length, listed, mass, n_of, rows_told, size, span, spoken, spooned,
    turned_over, unique,
};

#[derive(Serialize)]
pub(super) struct Dough {
    lead: String,
    recipe: Recipe,
    steps: Vec<String>,
    sheets: Shown,
    notes: Vec<Note>,
}

/// Parts in the order they go in.
#[derive(Serialize)]
pub(super) struct Recipe {
    pub(super) parts: Vec<Part>,
    /// Whether one batch has a column of its own.
    pub(super) several: bool,
    /// Whether parts are also given as they are spooned.
    pub(super) spooned: bool,
}

#[derive(Serialize)]
pub(super) struct Part {
    name: String,
    one_batch: String,
    all: String,
    /// One batch as it is spooned.
    spooned: String,
}

#[derive(Serialize)]
pub(super) struct Baking {
    lead: String,
    trays: Shown,
    after: String,
    notes: Vec<Note>,
}

const SHEETS: Room =
    Room { width: 186.0, height: 125.0, gap: 6.0, caption: 15.0, least_width: 40.0 };
const TRAYS: Room =
    Room { width: 186.0, height: 110.0, gap: 6.0, caption: 10.0, least_width: 40.0 };

/// Writes a recipe for so many batches.
pub(super) fn recipe(parts: &[PartDocument], n_batches: u32, kitchen: &Kitchen) -> Recipe {
    let measures = kitchen.units.measures;
    let part = |part: &PartDocument| {
        let all = Mass::g(part.mass_g);
        let volume = part.batch_ml.map(Volume::ml);
        Part {
            name: part.ingredient.clone(),
            one_batch: mass(all * (1.0 / f64::from(n_batches.max(1))), measures),
            all: mass(all, measures),
            spooned: volume.map(|volume| spooned(volume, measures)).unwrap_or_default(),
        }
    };
    let parts: Vec<Part> = parts.iter().map(part).collect();
    let spooned = parts.iter().any(|part| !part.spooned.is_empty());
    Recipe { parts, several: n_batches > 1, spooned }
}

pub(super) fn dough(document: &PlanDocument, kitchen: &Kitchen, files: &mut Files) -> Dough {
    let measures = kitchen.units.measures;
    let dough = &document.dough;
    let rules = &kitchen.dough;
    let sheets = &document.cutting.sheets;
    let thickness = length(rules.thickness, measures);
    let pulled = |n| n_of(n, "frozen sheet", "frozen sheets");
    let rolled = |n| n_of(n, "sheet", "sheets");

    let mut lead = Vec::new();
    if dough.mass_g > 0.0 {
        let batches = n_of(dough.batches as usize, "batch", "batches");
        lead.push(format!("Make {} of dough in {batches}.", mass(Mass::g(dough.mass_g), measures)));
    }
    let work = [
        (dough.freezer_sheets > 0).then(|| format!("pull {}", pulled(dough.freezer_sheets))),
        (dough.fresh_sheets > 0)
            .then(|| format!("roll {} {thickness} thick", rolled(dough.fresh_sheets))),
        (dough.rerolls > 0).then(|| format!("roll {} from scraps", rolled(dough.rerolls))),
    ];
    let work = listed(&work.into_iter().flatten().collect::<Vec<_>>());
    if !work.is_empty() {
        lead.push(format!("Then {work}."));
    }
    if lead.is_empty() {
        lead.push("No dough is needed.".to_owned());
    }

    let steps = [
        (dough.fresh_sheets + dough.rerolls > 0).then(|| {
            format!("Two guides {thickness} high beside the dough make every sheet as thick.")
        }),
        (dough.mass_g > 0.0)
            .then(|| format!("Fresh dough rests {} in the refrigerator.", span(rules.chill))),
        (dough.freezer_sheets > 0)
            .then(|| format!("A frozen sheet softens {} before it is cut.", span(rules.temper))),
        (dough.rerolls > 0).then(|| {
            format!(
                "A sheet rolled from scraps chills {} before it is cut.",
                span(rules.chill_reroll)
            )
        }),
        (!sheets.is_empty())
            .then(|| format!("Cut cookies chill {} before the oven.", span(rules.chill_cut))),
    ];
    let sizes: Vec<[f64; 2]> =
        sheets.iter().map(|sheet| [sheet.width_mm, sheet.length_mm]).collect();
    let scale = fitting(&sizes, SHEETS);
    let shapes = shapes(&document.designs);
    let layout = |(place, sheet): (usize, &SheetDocument)| {
        let SheetDocument { width_mm, length_mm, placements, rows, .. } = sheet;
        let name = format!("Sheet {}, {}", place + 1, origin(sheet));
        let svg = laid_out([*width_mm, *length_mm], placements, &shapes, scale, Numbers::Shown);
        let size_mm = [*width_mm, *length_mm].map(|mm| scale.shown(mm));
        let alt = format!("{name}, with {} numbered cuts", placements.len());
        let cuts = if rows.is_empty() { numbered(placements) } else { rows_told(rows) };
        let sides = size(Length::mm(*width_mm), Length::mm(*length_mm), measures);
        let words: Vec<String> =
            [Some(cuts), turned_over(placements), Some(sides)].into_iter().flatten().collect();
        let picture = files.add(format!("sheet-{place}"), svg, size_mm, alt);
        Standing::new(picture, name, words.join("; "), SHEETS)
    };
    let standing: Vec<Standing> = sheets.iter().enumerate().map(layout).collect();
    Dough {
        lead: lead.join(" "),
        recipe: recipe(&dough.parts, dough.batches, kitchen),
        steps: dough
            .steps
            .iter()
            .cloned()
            .chain(steps.into_iter().flatten())
            .chain(document.cutting.notes.iter().cloned())
            .collect(),
        sheets: on_ruler("sheets", standing, scale, SHEETS, measures, files),
        notes: about(document, &["dough"]),
    }
}

/// Where a sheet comes from.
fn origin(sheet: &SheetDocument) -> &'static str {
    match (sheet.from_freezer, sheet.round) {
        (true, _) => "from the freezer",
        (false, 0) => "fresh",
        (false, 1) => "from scraps",
        (false, _) => "from scraps again",
    }
}

/// "1 to 9 lighthouse, 10 to 12 ring": which numbers are which design, in the order of the numbers.
pub(super) fn numbered(placements: &[CutDocument]) -> String {
    let mut runs: Vec<(usize, usize, &str)> = Vec::new();
    for (cut, number) in placements.iter().zip(1..) {
        match runs.last_mut() {
            Some((_, last, design)) if *design == cut.design => *last = number,
            _ => runs.push((number, number, &cut.design)),
        }
    }
    let told = |(first, last, design): &(usize, usize, &str)| match last - first {
        0 => format!("{first} {}", spoken(design)),
        1 => format!("{first} and {last} {}", spoken(design)),
        _ => format!("{first} to {last} {}", spoken(design)),
    };
    runs.iter().map(told).collect::<Vec<_>>().join(", ")
}

/// "9 × lighthouse and 6 × ring".
fn counted(placements: &[CutDocument]) -> String {
    let mut counts: BTreeMap<&str, u32> = BTreeMap::new();
    for cut in placements {
        *counts.entry(&cut.design).or_default() += 1;
    }
    let designs = unique(placements.iter().map(|cut| cut.design.as_str()));
    let told =
        designs.iter().map(|design| times(counts.get(design).copied().unwrap_or_default(), design));
    listed(&told.collect::<Vec<_>>())
}

pub(super) fn baking(document: &PlanDocument, kitchen: &Kitchen, files: &mut Files) -> Baking {
    let measures = kitchen.units.measures;
    let trays = &document.trays;
    let sizes: Vec<[f64; 2]> = trays.iter().map(|tray| [tray.width_mm, tray.length_mm]).collect();
    let scale = fitting(&sizes, TRAYS);
    let shapes = shapes(&document.designs);
    let mut standing = Vec::new();
    for (place, tray) in trays.iter().enumerate() {
        let size_mm = [tray.width_mm, tray.length_mm];
        let svg = laid_out(size_mm, &tray.placements, &shapes, scale, Numbers::Hidden);
        let cookies = counted(&tray.placements);
        let load = document.loads.iter().zip(1..).find(|(load, _)| load.trays.contains(&place));
        let (name, words) = match load {
            Some((load, number)) => (
                format!("Tray {} in oven load {number}", place + 1),
                format!("{}; {cookies}", span(Span::minutes(load.bake_min))),
            ),
            None => (format!("Tray {}", place + 1), cookies.clone()),
        };
        let alt = format!("{name} with {cookies}");
        let picture =
            files.add(format!("tray-{place}"), svg, size_mm.map(|mm| scale.shown(mm)), alt);
        standing.push(Standing::new(picture, name, words, TRAYS));
    }
    let minutes = document.loads.iter().map(|load| Span::minutes(load.bake_min));
    let times = unique(minutes.map(span));
    let lead = match (document.loads.len(), times.as_slice()) {
        (0, _) => "Nothing goes into the oven.".to_owned(),
        (n, [time]) => format!("{}, {time} each.", n_of(n, "oven load", "oven loads")),
        (n, _) => format!("{}, {}.", n_of(n, "oven load", "oven loads"), listed(&times)),
    };
    Baking {
        lead,
        trays: on_ruler("trays", standing, scale, TRAYS, measures, files),
        after: if document.loads.is_empty() {
            String::new()
        } else {
            format!("Cookies cool {} before the first icing.", span(kitchen.oven.cool))
        },
        notes: about(document, &["baking"]),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::words::NO_BREAK;

    #[test]
    fn cuts_are_named_by_their_numbers() {
        let cut = |design: &str| CutDocument {
            design: design.to_owned(),
            x_mm: 0.0,
            y_mm: 0.0,
            rotation_deg: 0.0,
            mirrored: false,
        };
        let cuts = ["fox", "fox", "fox", "pear-2", "star", "star", "fox"].map(cut);
        assert_eq!(numbered(&cuts), "1 to 3 fox, 4 pear 2, 5 and 6 star, 7 fox");
        assert_eq!(counted(&cuts).replace(NO_BREAK, " "), "4 × fox, 1 × pear 2 and 2 × star");
        assert_eq!(numbered(&[]), "");
    }
}
