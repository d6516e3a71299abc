//! From a request to what the engine is asked; every value is checked, errors name the item.

use nesting::{
    Budget, Outline, Piece, Rerolls, Rotation, SheetSize, SheetsRequest, Stock, StripRequest,
    TrayPiece, TraysRequest, TurningRequest, mended,
};

use super::{NestItem, NestRequest, OutlineEntry, RotationEntry, SheetEntry, answer::refused};
use crate::{
    document::{
        error::{BadValue, nearest},
        kitchen::within,
        ticks::{at_most, fill, shown},
    },
    heads_up::{HeadsUp, Severity, Subject},
    order::Cutter,
};

/// Most items and sizes of stock.
const MOST_ITEMS: usize = 1_000;
/// Most corners of one outline.
const MOST_CORNERS: usize = 20_000;
/// Most copies of one item; more than can be laid out together.
const MOST_COPIES: u64 = 1_000_000;
/// Longest side of a sheet.
const LONGEST_MM: f64 = 5_000.0;

/// What is laid out on what.
pub(super) enum Asked {
    /// Sheets, whole ones or with the last one cut short, and what one rolling less is worth.
    Sheets {
        request: SheetsRequest,
        is_whole: bool,
        rolling_mm2: f64,
    },
    Strip(StripRequest),
    /// Trays, with the margin around what the engine sees of them.
    Trays {
        request: TurningRequest,
        margin_mm: f64,
    },
}

/// A request taken in.
pub(super) struct Compiled {
    pub(super) asked: Asked,
    /// Seconds by the clock after which the search ends.
    pub(super) seconds: Option<f64>,
    pub(super) heads_ups: Vec<HeadsUp>,
}

/// Iterations where nothing is said.
const ITERATIONS: u64 = 1_000_000;

pub(super) fn compile(request: &NestRequest) -> Result<Compiled, BadValue> {
    let mut heads_ups = Vec::new();
    let mode = one_of("mode", &request.mode, &["sheets", "strip", "trays"])?;
    let gap_mm = within("gap_mm", request.gap_mm, 0.0, 100.0)?;
    let margin_mm = within("edge_margin_mm", request.edge_margin_mm, 0.0, 100.0)?;
    let sheet = sheet(&request.sheet, mode == "strip").map_err(|bad| bad.under("sheet"))?;
    fill("items", "item", request.items.len(), MOST_ITEMS)?;
    at_most("stock", request.stock.len(), MOST_ITEMS)?;
    let pieces = request
        .items
        .iter()
        .enumerate()
        .map(|(place, item)| piece(place, item, &mut heads_ups))
        .collect::<Result<Vec<Piece>, BadValue>>()?;
    let (budget, seconds) = budget(request).map_err(|bad| bad.under("budget"))?;
    let rerolls = rerolls(request).map_err(|bad| bad.under("rerolls"))?;
    let stock = request
        .stock
        .iter()
        .enumerate()
        .map(|(place, entry)| {
            let size = sides(entry.width_mm, entry.length_mm);
            let n = whole("qty", entry.qty, 1_000);
            size.and_then(|size| Ok(Stock { size, n: n? }))
                .map_err(|bad| bad.within("stock", place))
        })
        .collect::<Result<Vec<Stock>, BadValue>>()?;
    if mode != "sheets" {
        heads_ups.extend(left_out(request, mode));
    }
    let seed = request.seed;
    let asked = match mode {
        "strip" => Asked::Strip(StripRequest {
            pieces,
            width_mm: sheet.width_mm,
            gap_mm,
            edge_margin_mm: margin_mm,
            budget,
            seed,
        }),
        "trays" => Asked::Trays {
            request: trays(request, &pieces, sheet, gap_mm, margin_mm, budget)?,
            margin_mm,
        },
        _ => Asked::Sheets {
            is_whole: request.whole_sheets.unwrap_or(rerolls.max == 0),
            rolling_mm2: request.rerolls.rolling_mm2,
            request: SheetsRequest {
                pieces,
                sheet,
                stock,
                gap_mm,
                edge_margin_mm: margin_mm,
                rerolls,
                one_piece_per_sheet: request.one_shape_per_sheet,
                budget,
                seed,
            },
        },
    };
    Ok(Compiled { asked, seconds, heads_ups })
}

/// Checks that a word is one of those known.
fn one_of<'a>(key: &'static str, given: &str, known: &[&'a str]) -> Result<&'a str, BadValue> {
    known.iter().copied().find(|one| *one == given).ok_or_else(|| {
        let hint = match nearest(given, known) {
            Some(near) => format!("did you mean \"{near}\"?"),
            None => format!("write one of {}", known.join(", ")),
        };
        BadValue::new(key, format!("{} is not possible here; {hint}", shown(given)))
    })
}

/// Checks a count.
fn whole(key: &'static str, value: u64, most: u64) -> Result<usize, BadValue> {
    if value <= most {
        Ok(value as usize)
    } else {
        Err(BadValue::new(key, format!("{value} is outside 0 to {most}; correct it")))
    }
}

fn sides(width_mm: f64, length_mm: f64) -> Result<SheetSize, BadValue> {
    Ok(SheetSize {
        width_mm: within("width_mm", width_mm, 1.0, LONGEST_MM)?,
        length_mm: within("length_mm", length_mm, 1.0, LONGEST_MM)?,
    })
}

fn sheet(entry: &SheetEntry, is_strip: bool) -> Result<SheetSize, BadValue> {
    match entry.length_mm {
        Some(length_mm) if !is_strip => sides(entry.width_mm, length_mm),
        None if !is_strip => {
            Err(BadValue::new("length_mm", "it is missing, and only a strip needs none; add it"))
        }
        _ => sides(entry.width_mm, LONGEST_MM),
    }
}

fn piece(place: usize, item: &NestItem, heads_ups: &mut Vec<HeadsUp>) -> Result<Piece, BadValue> {
    let at = |bad: BadValue| bad.within("items", place);
    let corners = corners(&item.outline).map_err(at)?;
    let mended = mended(place, &corners).map_err(|error| refused(&error))?;
    if mended.n_doubled + mended.n_spikes > 0 {
        heads_ups.push(told_mended(place, item, mended.n_doubled, mended.n_spikes));
    }
    Ok(Piece {
        outline: mended.outline,
        n: whole("qty", item.qty, MOST_COPIES).map_err(at)?,
        n_optional: whole("n_optional", item.n_optional, MOST_COPIES).map_err(at)?,
        rotation: rotation(&item.rotation).map_err(at)?,
        mirror: item.mirror,
        fresh_only: item.fresh_only,
    })
}

fn corners(entry: &OutlineEntry) -> Result<Outline, BadValue> {
    match entry {
        OutlineEntry::Corners(corners) if corners.len() > MOST_CORNERS => Err(BadValue::new(
            "outline",
            format!("{} corners are more than {MOST_CORNERS}; leave some out", corners.len()),
        )),
        OutlineEntry::Corners(corners) => Ok(corners.clone()),
        OutlineEntry::Cutter(name) => {
            let cutter =
                Cutter::parse(name).map_err(|error| BadValue::new("outline", error.to_string()))?;
            let ring = cutter.outline().rings().next().map(<[[f64; 2]]>::to_vec);
            Ok(ring.unwrap_or_default())
        }
    }
}

fn rotation(entry: &RotationEntry) -> Result<Rotation, BadValue> {
    match entry {
        RotationEntry::Angles(degrees) => Ok(Rotation::Angles(degrees.clone())),
        RotationEntry::Word(word) => {
            match one_of("rotation", word, &["free", "quarter", "fixed"])? {
                "quarter" => Ok(Rotation::Quarter),
                "fixed" => Ok(Rotation::Fixed),
                _ => Ok(Rotation::Free),
            }
        }
    }
}

fn rerolls(request: &NestRequest) -> Result<Rerolls, BadValue> {
    let entry = request.rerolls;
    within("rolling_mm2", entry.rolling_mm2, 0.0, 1e9)?;
    Ok(Rerolls {
        max: whole("max", entry.max, 10)?,
        loss: within("loss_share", entry.loss_share, 0.0, 0.9)?,
    })
}

fn budget(request: &NestRequest) -> Result<(Budget, Option<f64>), BadValue> {
    let given = request.budget;
    if given.seconds.is_some() && given.iterations.is_some() {
        return Err(BadValue::new("seconds", "iterations are given too; give one of both"));
    }
    let iterations = given.iterations.unwrap_or(ITERATIONS);
    let evaluations = whole("iterations", iterations, 10_000_000_000)? as u64;
    let seconds = match given.seconds {
        Some(seconds) => Some(within("seconds", seconds, 0.0, 3_600.0)?),
        None => None,
    };
    Ok((Budget { evaluations }, seconds))
}

/// What the engine is asked for trays: their inside without the margin.
fn trays(
    request: &NestRequest,
    pieces: &[Piece],
    sheet: SheetSize,
    gap_mm: f64,
    margin_mm: f64,
    budget: Budget,
) -> Result<TurningRequest, BadValue> {
    let (width_mm, length_mm) =
        (sheet.width_mm - 2.0 * margin_mm, sheet.length_mm - 2.0 * margin_mm);
    if width_mm.min(length_mm) < 1.0 {
        return Err(BadValue::new(
            "edge_margin_mm",
            "the margins leave nothing of the tray; make them smaller",
        ));
    }
    let piece = |(place, piece): (usize, &Piece)| TrayPiece {
        outline: piece.outline.clone(),
        n: piece.n,
        size_class: if request.one_shape_per_sheet { place } else { 0 },
    };
    Ok(TurningRequest {
        trays: TraysRequest {
            pieces: pieces.iter().enumerate().map(piece).collect(),
            tray: SheetSize { width_mm, length_mm },
            gap_mm,
        },
        rotations: pieces.iter().map(|piece| piece.rotation.clone()).collect(),
        budget,
        seed: request.seed,
    })
}

/// What a mode leaves out of account, in words.
fn left_out(request: &NestRequest, mode: &str) -> Option<HeadsUp> {
    let items = &request.items;
    let given = [
        ("rerolls", request.rerolls.max > 0),
        ("stock", !request.stock.is_empty()),
        ("n_optional", items.iter().any(|item| item.n_optional > 0)),
        ("mirror", mode == "trays" && items.iter().any(|item| item.mirror)),
    ];
    let keys: Vec<&str> = given.iter().filter(|(_, given)| *given).map(|(key, _)| *key).collect();
    (!keys.is_empty()).then(|| {
        let message = format!("In mode {mode} these are left out of account: {}.", keys.join(", "));
        HeadsUp::new(Severity::Note, Subject::Dough, message)
    })
}

fn told_mended(place: usize, item: &NestItem, n_doubled: usize, n_spikes: usize) -> HeadsUp {
    let name = item.name.clone().unwrap_or_else(|| format!("items[{place}]"));
    let parts = [(n_doubled, "doubled"), (n_spikes, "of spikes without width")];
    let parts: Vec<String> = parts
        .iter()
        .filter(|(n, _)| *n > 0)
        .map(|(n, what)| format!("{n} {} {what}", if *n == 1 { "corner" } else { "corners" }))
        .collect();
    let what = parts.join(" and ");
    HeadsUp::new(
        Severity::Note,
        Subject::Item(name.clone()),
        format!("The outline of {name} was mended: {what} left out."),
    )
}
