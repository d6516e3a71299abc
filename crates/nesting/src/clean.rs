//! What comes in is a set of simple polygons of sensible size, or is refused by name.

use crate::{Error, Outline, Piece, Rotation, SheetSize};

/// Corners closer than this are one corner.
const SAME_CORNER_MM: f64 = 1e-3;
/// No side of a sheet or piece is longer: single precision still resolves a thousandth of a millimeter there.
const LONGEST_MM: f64 = 5_000.0;
/// No order has more pieces.
const MOST_PIECES: usize = 10_000;
/// Smaller than this is no piece.
const LEAST_AREA_MM2: f64 = 1.0;

/// A piece with its clean outline and what the engine asks of it again and again.
#[derive(Clone, Debug)]
pub(crate) struct CleanPiece {
    pub(crate) outline: Outline,
    pub(crate) area_mm2: f64,
}

pub(crate) fn in_range(what: &'static str, value: f64, least: f64, most: f64) -> Result<(), Error> {
    // Written so that what is not a number is refused too.
    if value >= least && value <= most {
        Ok(())
    } else {
        Err(Error::OutOfRange { what, value, least, most })
    }
}

pub(crate) fn check_size(size: SheetSize) -> Result<(), Error> {
    in_range("the width of a sheet", size.width_mm, 1.0, LONGEST_MM)?;
    in_range("the length of a sheet", size.length_mm, 1.0, LONGEST_MM)
}

pub(crate) fn check_count(n: usize) -> Result<(), Error> {
    if n > MOST_PIECES { Err(Error::TooMany { n, most: MOST_PIECES }) } else { Ok(()) }
}

/// Cleans the outlines of all pieces, or says what is wrong with one of them.
pub(crate) fn clean_all(pieces: &[Piece]) -> Result<Vec<CleanPiece>, Error> {
    pieces.iter().enumerate().map(|(place, piece)| clean(place, &piece.outline)).collect()
}

/// Cleans the outline of a piece, or says what is wrong with it.
pub(crate) fn clean(place: usize, outline: &Outline) -> Result<CleanPiece, Error> {
    let bad = |what| Error::BadOutline { piece: place, what };
    if outline.iter().flatten().any(|value| !value.is_finite() || value.abs() > LONGEST_MM) {
        return Err(bad("has a coordinate that is no length"));
    }
    let mut corners: Outline = Vec::with_capacity(outline.len());
    for &corner in outline {
        if corners.last().is_none_or(|&last| apart(last, corner) > SAME_CORNER_MM) {
            corners.push(corner);
        }
    }
    while corners.len() > 1 && apart(corners[0], corners[corners.len() - 1]) <= SAME_CORNER_MM {
        corners.pop();
    }
    if corners.len() < 3 {
        return Err(bad("has fewer than three corners"));
    }
    let area = area(&corners).abs();
    if area < LEAST_AREA_MM2 {
        return Err(bad("encloses no area"));
    }
    if crosses_itself(&corners) {
        return Err(bad("crosses itself"));
    }
    Ok(CleanPiece { outline: corners, area_mm2: area })
}

/// Checks that each piece alone fits a sheet, inset by the margin.
pub(crate) fn check_fits(pieces: &[Piece], sheet: SheetSize, margin_mm: f64) -> Result<(), Error> {
    let (width, length) = (sheet.width_mm - 2.0 * margin_mm, sheet.length_mm - 2.0 * margin_mm);
    for (place, piece) in pieces.iter().enumerate().filter(|(_, piece)| piece.n > 0) {
        let fits = angles(piece.rotation).any(|angle| {
            let (low, high) = turned_bounds(&piece.outline, angle);
            high[0] - low[0] <= width && high[1] - low[1] <= length
        });
        if !fits {
            let (low, high) = turned_bounds(&piece.outline, 0.0);
            return Err(Error::PieceTooLarge {
                piece: place,
                width_mm: high[0] - low[0],
                height_mm: high[1] - low[1],
            });
        }
    }
    Ok(())
}

/// Angles tried when a piece may turn freely: every three degrees.
const N_ANGLES: usize = 120;

/// The angles, in radians, at which a piece is tried.
pub(crate) fn angles(rotation: Rotation) -> impl Iterator<Item = f64> {
    let n = match rotation {
        Rotation::Free => N_ANGLES,
        Rotation::Quarter => 4,
        Rotation::Fixed => 1,
    };
    (0..n).map(move |i| i as f64 / n as f64 * std::f64::consts::TAU)
}

/// The box around an outline turned by an angle.
pub(crate) fn turned_bounds(outline: &Outline, angle: f64) -> ([f64; 2], [f64; 2]) {
    let (sin, cos) = angle.sin_cos();
    outline.iter().map(|[x, y]| [x * cos - y * sin, x * sin + y * cos]).fold(
        ([f64::MAX; 2], [f64::MIN; 2]),
        |(low, high), p| {
            ([low[0].min(p[0]), low[1].min(p[1])], [high[0].max(p[0]), high[1].max(p[1])])
        },
    )
}

fn apart(a: [f64; 2], b: [f64; 2]) -> f64 {
    (a[0] - b[0]).hypot(a[1] - b[1])
}

/// Signed area by the shoelace formula.
pub(crate) fn area(corners: &Outline) -> f64 {
    let n = corners.len();
    (0..n)
        .map(|i| (corners[i], corners[(i + 1) % n]))
        .map(|(a, b)| a[0] * b[1] - b[0] * a[1])
        .sum::<f64>()
        / 2.0
}

/// Tells whether two edges that do not meet at a corner cross or touch.
fn crosses_itself(corners: &Outline) -> bool {
    let n = corners.len();
    let edge = |i: usize| (corners[i], corners[(i + 1) % n]);
    // Sorted by their left ends, only edges whose stretches in x overlap need a look.
    let mut by_left: Vec<usize> = (0..n).collect();
    let left = |i: usize| edge(i).0[0].min(edge(i).1[0]);
    let right = |i: usize| edge(i).0[0].max(edge(i).1[0]);
    by_left.sort_by(|&i, &j| left(i).total_cmp(&left(j)));
    by_left.iter().enumerate().any(|(at, &i)| {
        by_left[at + 1..].iter().take_while(|&&j| left(j) <= right(i)).any(|&j| {
            let neighbors = (i + 1) % n == j || (j + 1) % n == i;
            !neighbors && edges_meet(edge(i), edge(j))
        })
    })
}

type Edge = ([f64; 2], [f64; 2]);

fn edges_meet((a, b): Edge, (c, d): Edge) -> bool {
    let side = |p: [f64; 2], q: [f64; 2], r: [f64; 2]| {
        (q[0] - p[0]) * (r[1] - p[1]) - (q[1] - p[1]) * (r[0] - p[0])
    };
    let (abc, abd, cda, cdb) = (side(a, b, c), side(a, b, d), side(c, d, a), side(c, d, b));
    let within = |p: [f64; 2], q: [f64; 2], r: [f64; 2]| {
        r[0] >= p[0].min(q[0])
            && r[0] <= p[0].max(q[0])
            && r[1] >= p[1].min(q[1])
            && r[1] <= p[1].max(q[1])
    };
    (abc * abd < 0.0 && cda * cdb < 0.0)
        || (abc == 0.0 && within(a, b, c))
        || (abd == 0.0 && within(a, b, d))
        || (cda == 0.0 && within(c, d, a))
        || (cdb == 0.0 && within(c, d, b))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn outlines_are_cleaned_or_refused_by_name() {
        let square =
            vec![[0.0, 0.0], [0.0, 0.0], [10.0, 0.0], [10.0, 10.0], [0.0, 10.0], [0.0, 0.0]];
        let clean_square = clean(0, &square).expect("a square");
        assert_eq!((clean_square.outline.len(), clean_square.area_mm2), (4, 100.0));

        let what = |outline: &[[f64; 2]]| match clean(3, &outline.to_vec()) {
            Err(Error::BadOutline { piece: 3, what }) => what,
            other => panic!("{other:?}"),
        };
        assert_eq!(what(&[[0.0, 0.0], [1.0, 1.0]]), "has fewer than three corners");
        assert_eq!(what(&[[0.0, 0.0], [9.0, 0.0], [18.0, 0.0]]), "encloses no area");
        assert_eq!(what(&[[0.0, 0.0], [9.0, 9.0], [9.0, 0.0], [0.0, 12.0]]), "crosses itself");
        assert_eq!(
            what(&[[0.0, 0.0], [9.0, f64::NAN], [9.0, 0.0]]),
            "has a coordinate that is no length"
        );
    }
}
