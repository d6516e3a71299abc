//! The sets our cutting plans are measured on: kept ones, and some that nobody tuned for.

use std::f64::consts::TAU;
use std::fs;

use anyhow::{Context, Result};
use nesting::{Budget, Outline, Piece, Rerolls, Rotation, SheetSize, SheetsRequest};
use serde_json::Value;

use crate::shell;

/// What one set asks.
pub(super) struct Set {
    pub(super) name: String,
    pub(super) request: SheetsRequest,
}

/// A kept instance.
pub(super) fn kept(name: &str) -> Result<Set> {
    let read = |file: &str| -> Result<Value> {
        let path = shell::root().join("fixtures/nesting").join(file);
        let text = fs::read(&path).with_context(|| format!("cannot read {}", path.display()))?;
        Ok(serde_json::from_slice(&text)?)
    };
    let (outlines, instance) = (read("outlines.json")?, read(&format!("{name}.json"))?);
    let mut pieces = Vec::new();
    for item in instance["items"].as_array().context("an instance has items")? {
        let outline = &outlines["outlines"][item["outline"].as_str().unwrap_or_default()]["points"];
        let n = item["qty"].as_u64().unwrap_or_default() as usize;
        pieces.push(piece(serde_json::from_value(outline.clone())?, n));
    }
    let side = |name: &str| instance["sheet"][name].as_f64().context("a sheet has sides");
    let sheet = SheetSize { width_mm: side("width_mm")?, length_mm: side("length_mm")? };
    Ok(Set { name: name.to_owned(), request: asked(pieces, sheet) })
}

/// Sets nobody tuned for: thin, nearly square and spiky pieces.
pub(super) fn made() -> [Set; 3] {
    let sheet = SheetSize { width_mm: 300.0, length_mm: 400.0 };
    let thin =
        vec![piece(bow(90.0, 16.0), 18), piece(oval(95.0, 22.0), 10), piece(bow(70.0, 12.0), 12)];
    let square = vec![
        piece(vec![[0.0, 0.0], [62.0, 1.0], [60.0, 59.0], [-1.0, 61.0]], 16),
        piece(vec![[0.0, 0.0], [71.0, 0.0], [70.0, 52.0], [2.0, 50.0]], 8),
    ];
    let spiky = vec![
        piece(star(7, 42.0, 17.0), 40),
        piece(star(4, 45.0, 14.0), 40),
        piece(oval(60.0, 44.0), 40),
    ];
    [("thin", thin), ("nearly square", square), ("spiky", spiky)]
        .map(|(name, pieces)| Set { name: name.to_owned(), request: asked(pieces, sheet) })
}

fn asked(pieces: Vec<Piece>, sheet: SheetSize) -> SheetsRequest {
    SheetsRequest {
        pieces,
        sheet,
        stock: Vec::new(),
        gap_mm: 2.0,
        edge_margin_mm: 3.0,
        rerolls: Rerolls { max: 0, loss: 0.015 },
        one_piece_per_sheet: false,
        budget: Budget { evaluations: 0 },
        seed: 1,
    }
}

pub(super) fn piece(outline: Outline, n: usize) -> Piece {
    Piece { outline, n, n_optional: 0, rotation: Rotation::Free, mirror: false, fresh_only: false }
}

fn oval(width: f64, height: f64) -> Outline {
    let corner = |i: usize| {
        let angle = i as f64 / 48.0 * TAU;
        [width / 2.0 * angle.cos(), height / 2.0 * angle.sin()]
    };
    (0..48).map(corner).collect()
}

fn star(n_points: usize, outer: f64, inner: f64) -> Outline {
    let corner = |i: usize| {
        let angle = i as f64 / (2 * n_points) as f64 * TAU;
        let radius = if i.is_multiple_of(2) { outer } else { inner };
        [radius * angle.cos(), radius * angle.sin()]
    };
    (0..2 * n_points).map(corner).collect()
}

/// A half ring.
fn bow(width: f64, thickness: f64) -> Outline {
    let arc = |radius: f64| {
        (0..=20).map(move |i| {
            let angle = f64::from(i) / 40.0 * TAU;
            [radius * angle.cos(), radius * angle.sin()]
        })
    };
    let outer = width / 2.0;
    let inner: Outline = arc(outer - thickness).collect();
    arc(outer).chain(inner.into_iter().rev()).collect()
}

/// Area by the shoelace formula.
pub(super) fn area(outline: &Outline) -> f64 {
    let n = outline.len();
    let pairs = (0..n).map(|i| (outline[i], outline[(i + 1) % n]));
    (pairs.map(|(a, b)| a[0] * b[1] - b[0] * a[1]).sum::<f64>() / 2.0).abs()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn made_pieces_have_the_area_of_their_formula() {
        // An ellipse of 48 corners and a star of triangles, in closed form.
        let ellipse = 24.0 * (TAU / 48.0).sin() * 30.0 * 20.0;
        assert!((area(&oval(60.0, 40.0)) - ellipse).abs() < 1e-9);
        let star_area = 5.0 * 40.0 * 15.0 * (TAU / 10.0).sin();
        assert!((area(&star(5, 40.0, 15.0)) - star_area).abs() < 1e-9);
    }
}
