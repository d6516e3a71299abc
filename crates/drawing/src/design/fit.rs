//! How large can this picture be on a cutter one has?
//!
//! The art keeps its proportion and is not turned.
//! It is as large as it can be with all of its silhouette inside the cutter shape less a border, its middle on the
//! upright line through the middle of the cutter: in the middle itself, or up to a fifth of the height off it where
//! that makes the art larger, as on a heart.
//! The size is found by bisection to a thousandth.

use quantity::Length;

use crate::{
    artwork::Artwork,
    design::{Sized, effort, outline, true_size},
    error::Error,
    region::{Region, distance},
};

/// How far off the cutter's middle the art may be, in heights of the cutter, the middle first.
const SHIFTS: [f64; 9] = [0.0, -0.05, 0.05, -0.1, 0.1, -0.15, 0.15, -0.2, 0.2];

/// Another place must make the art larger by this share to be worth leaving the middle for.
const WORTH_SHIFTING: f64 = 1.02;

/// Halvings of the range of sizes: 2⁻¹⁰ is a thousandth.
const N_HALVINGS: u32 = 10;

/// Corners this much nearer to the middle must lie inside.
const INSIDE: f64 = 0.9999;

/// Corners of the silhouette nearer to each other than this count once, in millimeters.
const CORNER_GAP_MM: f64 = 0.3;

/// Sizes artwork so that it lies inside the cutter less the border; the cutter becomes its outline.
pub(super) fn fitted(artwork: &Artwork, cutter: &Region, border: Length) -> Result<Sized, Error> {
    let inside = cutter.inset(border);
    let (Some(room), Some(cutter_box)) = (inside.bounds(), cutter.bounds()) else {
        return Err(Error::NoRoom { border });
    };
    let start = room.width().to_mm() / outline::width_of_paint(artwork)?;
    let mut facts = Vec::new();
    let paint = true_size::paint(artwork, start, &mut facts)?;
    let art = Region::union(&paint.regions.iter().collect::<Vec<_>>());
    let art_box = art.bounds().ok_or(Error::NothingPainted)?;
    let corners = corners(&art, art_box.middle());
    let widest = room.width().to_mm() / art_box.width().to_mm();

    let center = cutter_box.middle();
    let height = cutter_box.height().to_mm();
    let mut best = (0.0, center);
    for shift in SHIFTS {
        let at = [center[0], center[1] + shift * height];
        let factor = largest_factor(&corners, at, &inside, widest);
        if factor > best.0 * WORTH_SHIFTING {
            best = (factor, at);
        }
    }
    let (factor, at) = best;
    if factor <= 0.0 {
        return Err(Error::NoRoom { border });
    }

    let mm_per_unit = start * factor;
    let mut facts = Vec::new();
    let paint = true_size::paint(artwork, mm_per_unit, &mut facts)?;
    effort::check(&paint.regions)?;
    let [x, y] = art_box.middle().map(|axis| axis * factor);
    let outline = cutter.translated(Length::mm(x - at[0]), Length::mm(y - at[1]));
    let cutter = outline::CutterShape { outline, facts: Vec::new() };
    Ok(Sized { cutter, paint, mm_per_unit, facts })
}

/// Returns the corners of a silhouette, seen from a point.
fn corners(art: &Region, from: [f64; 2]) -> Vec<[f64; 2]> {
    let mut kept: Vec<[f64; 2]> = Vec::new();
    for ring in art.without_holes().rings() {
        let mut last: Option<[f64; 2]> = None;
        for &corner in ring {
            if last.is_none_or(|last| distance(last, corner) >= CORNER_GAP_MM) {
                kept.push([corner[0] - from[0], corner[1] - from[1]]);
                last = Some(corner);
            }
        }
    }
    kept
}

/// Returns the largest factor up to `widest` at which all corners lie inside, zero if none is found.
fn largest_factor(corners: &[[f64; 2]], at: [f64; 2], inside: &Region, widest: f64) -> f64 {
    let is_inside = |factor: f64| {
        // A hair inside, since points on an edge may count either way.
        let own = |[x, y]: [f64; 2]| [at[0] + INSIDE * factor * x, at[1] + INSIDE * factor * y];
        corners.iter().all(|&corner| inside.contains_point(own(corner)))
    };
    let (mut fits, mut does_not) = (0.0, widest);
    if is_inside(widest) {
        return widest;
    }
    for _ in 0..N_HALVINGS {
        let factor = (fits + does_not) / 2.0;
        if is_inside(factor) { fits = factor } else { does_not = factor }
    }
    fits
}

#[cfg(test)]
mod tests {
    use crate::{Fonts, design::read_onto, import, shape::ShelfShape};

    use super::*;

    /// Returns width and height of square art of `width` x `height` units fitted into a cutter of 80 x 80 mm.
    fn check(cutter: &str, [width, height]: [f64; 2], border: f64, expected: [f64; 2]) {
        let svg = format!(
            r##"<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 100 100"><rect id="art" x="7" y="3" width="{width}" height="{height}" fill="#c81e3c"/></svg>"##
        );
        let artwork = import(svg.as_bytes(), &Fonts::none()).expect("a drawing");
        let side = Length::mm(80.0);
        let cutter = ShelfShape::from_name(cutter).expect("on the shelf").outline(side, side);
        let drawing = read_onto(&artwork, &cutter, Length::mm(border)).expect("it fits");
        for size in [drawing.width, drawing.height] {
            assert!((size - side).to_mm().abs() < 0.01, "{size:?}");
        }
        let art = drawing.shapes.first().and_then(|art| art.painted.bounds()).expect("painted");
        let found = [art.width().to_mm(), art.height().to_mm()];
        for (found, expected) in found.into_iter().zip(expected) {
            assert!((found - expected).abs() < 0.2, "{found} {expected}");
        }
        let [x, y] = art.middle();
        assert!((x - 40.0).abs() < 0.05 && (y - 40.0).abs() < 0.05, "{x} {y}");
    }

    #[test]
    fn art_is_as_large_as_the_border_lets_it_be() {
        check("square", [10.0, 10.0], 5.0, [70.0, 70.0]);
        check("square", [20.0, 10.0], 5.0, [70.0, 35.0]);
        check("square", [10.0, 20.0], 5.0, [35.0, 70.0]);
        // The square in a circle of radius 37 has a side of 37 √2.
        let side = 37.0 * std::f64::consts::SQRT_2;
        check("circle", [10.0, 10.0], 3.0, [side, side]);
    }

    #[test]
    fn a_border_that_leaves_no_room_is_told() {
        let svg = br##"<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 9 9"><rect width="9" height="9"/></svg>"##;
        let artwork = import(svg, &Fonts::none()).expect("a drawing");
        let side = Length::mm(30.0);
        let cutter = ShelfShape::from_name("circle").expect("on the shelf").outline(side, side);
        let told =
            read_onto(&artwork, &cutter, Length::mm(15.0)).map_err(|error| error.to_string());
        assert!(told.is_err_and(|words| words.contains("leaves no room")));
    }
}
