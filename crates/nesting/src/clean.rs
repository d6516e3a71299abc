//! What comes in is a set of simple polygons of sensible size, or is refused by name.

use crate::{Error, Outline, Piece, Rotation, SheetSize};

/// Corners closer than this are one corner.
const SAME_CORNER_MM: f64 = 1e-3;
/// No side of a sheet or piece is longer: single precision still resolves a thousandth of a millimeter there.
pub(crate) const LONGEST_MM: f64 = 5_000.0;
/// No order has more pieces.
const MOST_PIECES: usize = 10_000;
/// Smaller than this is no piece.
const LEAST_AREA_MM2: f64 = 1.0;

/// Less mean width than this, area over diagonal, cuts nothing.
const LEAST_WIDTH_MM: f64 = 0.2;

/// Shorter spikes hurt nobody.
const LEAST_SPIKE_MM: f64 = 0.05;

/// An outline that may be laid out, and what was mended to make it so.
#[derive(Clone, Debug, PartialEq)]
pub struct MendedOutline {
    /// The outline.
    pub outline: Outline,
    /// Its area.
    pub area_mm2: f64,
    /// Corners left out because they lie on the one before.
    pub n_doubled: usize,
    /// Corners left out because the outline runs out to them and back on the same line.
    pub n_spikes: usize,
}

/// Leaves out doubled corners and spikes of no width; `piece` only names it in the answer.
///
/// # Errors
/// What is left is no simple polygon of sensible size.
pub fn mended(piece: usize, outline: &Outline) -> Result<MendedOutline, Error> {
    // What is no length is refused below.
    let (mut n_doubled, mut n_spikes) = (0, 0);
    let mut corners = outline.clone();
    loop {
        let before = corners.len();
        corners = without_doubled(&corners);
        n_doubled += before - corners.len();
        let with_spikes = corners.len();
        let mut i = 0;
        while i < corners.len() && corners.len() > 2 {
            if is_spike(&corners, i) {
                corners.remove(i);
                i = i.saturating_sub(1);
            } else {
                i += 1;
            }
        }
        n_spikes += with_spikes - corners.len();
        if corners.len() == with_spikes {
            break;
        }
    }
    let CleanPiece { outline, area_mm2 } = clean(piece, &corners)?;
    Ok(MendedOutline { outline, area_mm2, n_doubled, n_spikes })
}

/// Whether the outline turns back on its own line at a corner.
fn is_spike(corners: &Outline, i: usize) -> bool {
    let n = corners.len();
    let (a, b, c) = (corners[(i + n - 1) % n], corners[i], corners[(i + 1) % n]);
    let (into, out) = ([b[0] - a[0], b[1] - a[1]], [c[0] - b[0], c[1] - b[1]]);
    let turns_back = into[0] * out[0] + into[1] * out[1] < 0.0;
    let width = (into[0] * out[1] - into[1] * out[0]).abs();
    let (into, out) = (into[0].hypot(into[1]), out[0].hypot(out[1]));
    turns_back && into.min(out) > LEAST_SPIKE_MM && width <= SAME_CORNER_MM * into.max(out)
}

fn without_doubled(outline: &Outline) -> Outline {
    let mut corners: Outline = Vec::with_capacity(outline.len());
    for &corner in outline {
        if corners.last().is_none_or(|&last| apart(last, corner) > SAME_CORNER_MM) {
            corners.push(corner);
        }
    }
    while corners.len() > 1 && apart(corners[0], corners[corners.len() - 1]) <= SAME_CORNER_MM {
        corners.pop();
    }
    corners
}

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
    let pieces = pieces.iter().enumerate();
    pieces
        .map(|(place, piece)| {
            check_angles(place, &piece.rotation)?;
            clean(place, &piece.outline)
        })
        .collect()
}

/// Cleans the outline of a piece, or says what is wrong with it.
pub(crate) fn clean(place: usize, outline: &Outline) -> Result<CleanPiece, Error> {
    let bad = |what| Error::BadOutline { piece: place, what };
    if outline.iter().flatten().any(|value| !value.is_finite() || value.abs() > LONGEST_MM) {
        return Err(bad("has a coordinate that is no length"));
    }
    let corners = without_doubled(outline);
    if corners.len() < 3 {
        return Err(bad("has fewer than three corners"));
    }
    let area = area(&corners).abs();
    if area < LEAST_AREA_MM2 {
        return Err(bad("encloses no area"));
    }
    let (low, high) = turned_bounds(&corners, 0.0);
    if area < LEAST_WIDTH_MM * (high[0] - low[0]).hypot(high[1] - low[1]) {
        return Err(bad("is thinner than any cutter"));
    }
    if (0..corners.len()).any(|i| is_spike(&corners, i)) {
        return Err(bad("runs out to a corner and back on the same line"));
    }
    match meets_itself(&corners) {
        Some(Meeting::Crosses) => return Err(bad("crosses itself")),
        Some(Meeting::Touches) => return Err(bad("touches itself")),
        None => {}
    }
    Ok(CleanPiece { outline: corners, area_mm2: area })
}

/// Checks that each piece alone fits a sheet, inset by the margin.
pub(crate) fn check_fits(pieces: &[Piece], sheet: SheetSize, margin_mm: f64) -> Result<(), Error> {
    let (width, length) = (sheet.width_mm - 2.0 * margin_mm, sheet.length_mm - 2.0 * margin_mm);
    for (place, piece) in pieces.iter().enumerate().filter(|(_, piece)| piece.n > 0) {
        // Mirrored, a piece has the box it has at the opposite angle.
        let ways: &[f64] = if piece.mirror { &[1.0, -1.0] } else { &[1.0] };
        let fits = angles(&piece.rotation, N_ANGLES).iter().any(|angle| {
            ways.iter().any(|way| {
                let (low, high) = turned_bounds(&piece.outline, way * angle);
                high[0] - low[0] <= width && high[1] - low[1] <= length
            })
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

/// No piece names more angles.
const MOST_ANGLES: usize = 360;
/// Angles this close are one, in degrees.
const SAME_ANGLE_DEG: f64 = 1e-6;

/// The angles, in radians, at which a piece is tried; `n_free` of them if it turns freely.
pub(crate) fn angles(rotation: &Rotation, n_free: usize) -> Vec<f64> {
    let even = |n: usize| (0..n).map(|i| i as f64 / n as f64 * std::f64::consts::TAU).collect();
    match rotation {
        Rotation::Free => even(n_free),
        Rotation::Quarter => even(4),
        Rotation::Fixed => even(1),
        Rotation::Angles(degrees) => {
            let mut found: Vec<f64> = Vec::with_capacity(degrees.len());
            for degrees in degrees.iter().map(|degrees| degrees.rem_euclid(360.0)) {
                let is_new = found.iter().all(|known| (known - degrees).abs() > SAME_ANGLE_DEG);
                if is_new {
                    found.push(degrees);
                }
            }
            found.into_iter().map(f64::to_radians).collect()
        }
    }
}

/// Refuses angles that are no list of numbers.
fn check_angles(place: usize, rotation: &Rotation) -> Result<(), Error> {
    let Rotation::Angles(degrees) = rotation else { return Ok(()) };
    let bad = |what| Err(Error::BadAngles { piece: place, what, most: MOST_ANGLES });
    if degrees.is_empty() {
        return bad("are none");
    }
    if degrees.len() > MOST_ANGLES {
        return bad("are too many");
    }
    // A million turns are no angle either: rounding would be all that is left of it.
    if !degrees.iter().all(|degrees| degrees.abs() <= 36_000.0) {
        return bad("are no numbers between -36000 and 36000");
    }
    Ok(())
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

/// How two edges meet that share no corner, worst last.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
enum Meeting {
    Touches,
    Crosses,
}

/// Tells the worst way in which two edges meet that share no corner.
fn meets_itself(corners: &Outline) -> Option<Meeting> {
    let n = corners.len();
    let edge = |i: usize| (corners[i], corners[(i + 1) % n]);
    // Sorted by their left ends, only edges whose stretches in x overlap need a look.
    let mut by_left: Vec<usize> = (0..n).collect();
    let left = |i: usize| edge(i).0[0].min(edge(i).1[0]);
    let right = |i: usize| edge(i).0[0].max(edge(i).1[0]);
    by_left.sort_by(|&i, &j| left(i).total_cmp(&left(j)));
    let mut worst = None;
    for (at, &i) in by_left.iter().enumerate() {
        for &j in by_left[at + 1..].iter().take_while(|&&j| left(j) <= right(i)) {
            let neighbors = (i + 1) % n == j || (j + 1) % n == i;
            if !neighbors {
                worst = worst.max(edges_meet(edge(i), edge(j)));
            }
            if worst == Some(Meeting::Crosses) {
                return worst;
            }
        }
    }
    worst
}

type Edge = ([f64; 2], [f64; 2]);

fn edges_meet((a, b): Edge, (c, d): Edge) -> Option<Meeting> {
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
    if abc * abd < 0.0 && cda * cdb < 0.0 {
        return Some(Meeting::Crosses);
    }
    let touches = (abc == 0.0 && within(a, b, c))
        || (abd == 0.0 && within(a, b, d))
        || (cda == 0.0 && within(c, d, a))
        || (cdb == 0.0 && within(c, d, b));
    touches.then_some(Meeting::Touches)
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
        // A figure eight of two squares that share a corner.
        assert_eq!(
            what(&[
                [0.0, 0.0],
                [9.0, 0.0],
                [9.0, 9.0],
                [18.0, 9.0],
                [18.0, 18.0],
                [9.0, 18.0],
                [9.0, 9.0],
                [0.0, 9.0]
            ]),
            "touches itself"
        );
        assert_eq!(what(&[[0.0, 0.0], [90.0, 0.0], [45.0, 0.3]]), "is thinner than any cutter");
        assert_eq!(
            what(&[[0.0, 0.0], [9.0, 0.0], [9.0, 30.0], [9.0, 9.0], [0.0, 9.0]]),
            "runs out to a corner and back on the same line"
        );
    }

    #[test]
    fn doubled_corners_and_spikes_are_mended_and_counted() {
        // A square with two doubled corners and a spike on a spike.
        let spiky = vec![
            [0.0, 0.0],
            [9.0, 0.0],
            [9.0, 0.0],
            [9.0, 30.0],
            [9.0, 20.0],
            [12.0, 20.0],
            [9.0, 20.0],
            [9.0, 9.0],
            [0.0, 9.0],
            [0.0, 0.0],
        ];
        let mended = mended(0, &spiky).expect("a square");
        assert_eq!(mended.outline, [[0.0, 0.0], [9.0, 0.0], [9.0, 9.0], [0.0, 9.0]]);
        assert_eq!((mended.area_mm2, mended.n_doubled), (81.0, 3));
        assert_eq!(mended.n_doubled + mended.n_spikes, spiky.len() - 4);
        // A line there and back leaves nothing.
        let line = vec![[0.0, 0.0], [9.0, 0.0], [30.0, 0.0], [9.0, 0.0]];
        assert!(matches!(super::mended(7, &line), Err(Error::BadOutline { piece: 7, .. })));
    }
}
