//! Which smooth curves run along these points?
//!
//! An edge is cut at its corners, and each piece becomes cubic Bézier curves by least squares, split where one curve
//! strays too far from a point (P. J. Schneider, "An algorithm for automatically fitting digitized curves", Graphics
//! Gems, 1990).
//! The curves are then flattened, always from the same end, so that both sides of an edge get the same corners.

use kurbo::{CubicBez, ParamCurve, ParamCurveDeriv, Point, Vec2};

/// How far, in pixels, chords may stray from a curve.
const CHORD: f64 = 0.04;

/// Points looked at on either side to see a corner.
const CORNER_REACH: usize = 4;

/// Cosine of the turn, 40 degrees, from which a bend within that reach is a corner.
const CORNER_COSINE: f64 = 0.766;

/// Most halvings of a piece: more than any side of a picture has points.
const MOST_SPLITS: u32 = 16;

/// Returns the corners of a smooth line along open points; its ends are theirs.
///
/// A curve strays no farther than `tolerance` pixels from a point.
pub(crate) fn smooth_open(points: &[[f64; 2]], tolerance: f64) -> Vec<[f64; 2]> {
    let points: Vec<Point> = points.iter().map(|&[x, y]| Point::new(x, y)).collect();
    let Some(first) = points.first() else { return Vec::new() };
    let mut corners = vec![[first.x, first.y]];
    let mut from = 0;
    let inner = (1..points.len().saturating_sub(1)).filter(|&at| is_corner(&points, at));
    for to in inner.chain([points.len() - 1]) {
        if let Some(piece) = points.get(from..=to) {
            let ends = [tangent(piece), -tangent_back(piece)];
            fit(piece, ends, tolerance, MOST_SPLITS, &mut corners);
        }
        from = to;
    }
    corners
}

/// Returns the corners of a smooth closed line along points.
pub(crate) fn smooth_closed(points: &[[f64; 2]], tolerance: f64) -> Vec<[f64; 2]> {
    let mut around: Vec<[f64; 2]> = points.to_vec();
    // Begin at the sharpest bend, where a seam does not show.
    let n = around.len();
    let at = |index: usize| {
        let [x, y] = around.get(index % n.max(1)).copied().unwrap_or_default();
        Point::new(x, y)
    };
    let reach = CORNER_REACH.min(n / 4).max(1);
    let mut sharpest = (0, f64::INFINITY);
    for index in 0..n {
        let cosine = turn(at(index + n - reach), at(index), at(index + reach));
        if cosine < sharpest.1 - 1e-9 {
            sharpest = (index, cosine);
        }
    }
    around.rotate_left(sharpest.0);
    let first = around.first().copied();
    around.extend(first);
    let mut corners = smooth_open(&around, tolerance);
    corners.pop();
    corners
}

fn turn(before: Point, at: Point, after: Point) -> f64 {
    let (one, other) = (at - before, after - at);
    let lengths = one.hypot() * other.hypot();
    if lengths > 0.0 { one.dot(other) / lengths } else { 1.0 }
}

/// Tells whether the line bends more at this point than at its neighbors, and enough for a corner.
fn is_corner(points: &[Point], at: usize) -> bool {
    let cosine = |at: usize| {
        let reach = CORNER_REACH.min(at).min(points.len().saturating_sub(at + 1));
        let (Some(&before), Some(&point), Some(&after)) = (
            at.checked_sub(reach).and_then(|at| points.get(at)),
            points.get(at),
            points.get(at + reach),
        ) else {
            return 1.0;
        };
        if reach < 2 { 1.0 } else { turn(before, point, after) }
    };
    let own = cosine(at);
    own < CORNER_COSINE
        && (1..=CORNER_REACH)
            .all(|step| own <= cosine(at.saturating_sub(step)) && own < cosine(at + step))
}

/// Returns the way a piece sets out.
fn tangent(piece: &[Point]) -> Vec2 {
    let reach = 3.min(piece.len().saturating_sub(1));
    match (piece.first(), piece.get(reach)) {
        (Some(&first), Some(&ahead)) => unit(ahead - first),
        _ => Vec2::ZERO,
    }
}

/// Returns the way a piece arrives.
fn tangent_back(piece: &[Point]) -> Vec2 {
    let reach = 3.min(piece.len().saturating_sub(1));
    match (piece.last(), piece.get(piece.len() - 1 - reach)) {
        (Some(&last), Some(&before)) => unit(last - before),
        _ => Vec2::ZERO,
    }
}

fn unit(vector: Vec2) -> Vec2 {
    let length = vector.hypot();
    if length > 0.0 { vector / length } else { Vec2::ZERO }
}

/// Adds the corners of curves along a piece, without its first point.
fn fit(
    piece: &[Point],
    [start, end]: [Vec2; 2],
    tolerance: f64,
    splits: u32,
    corners: &mut Vec<[f64; 2]>,
) {
    let (Some(&first), Some(&last)) = (piece.first(), piece.last()) else { return };
    if piece.len() <= 2 || splits == 0 {
        corners.extend(piece.iter().skip(1).map(|point| [point.x, point.y]));
        return;
    }
    if farthest_from_chord(piece) < tolerance / 2.0 {
        corners.push([last.x, last.y]);
        return;
    }
    let mut places = chord_places(piece);
    let mut worst = piece.len() / 2;
    for _ in 0..4 {
        let curve = least_squares(piece, &places, start, end);
        let (at, off) = farthest(piece, &places, &curve);
        if off <= tolerance {
            flatten(&curve, corners);
            corners.push([last.x, last.y]);
            return;
        }
        worst = at;
        if off > 8.0 * tolerance {
            break;
        }
        for (place, &point) in places.iter_mut().zip(piece) {
            *place = nearer(&curve, *place, point);
        }
    }
    let middle = worst.clamp(1, piece.len() - 2);
    let around = |step: usize| {
        let before = piece.get(middle.saturating_sub(step)).copied().unwrap_or(first);
        let after = piece.get((middle + step).min(piece.len() - 1)).copied().unwrap_or(last);
        unit(after - before)
    };
    let through = around(2);
    if let (Some(left), Some(right)) = (piece.get(..=middle), piece.get(middle..)) {
        fit(left, [start, -through], tolerance, splits - 1, corners);
        fit(right, [through, end], tolerance, splits - 1, corners);
    }
}

fn farthest_from_chord(piece: &[Point]) -> f64 {
    let (Some(&first), Some(&last)) = (piece.first(), piece.last()) else { return 0.0 };
    let along = unit(last - first);
    if along == Vec2::ZERO {
        return f64::INFINITY;
    }
    piece.iter().map(|&point| along.cross(point - first).abs()).fold(0.0, f64::max)
}

/// Returns where each point lies along the piece, 0 to 1, by the length of the way to it.
fn chord_places(piece: &[Point]) -> Vec<f64> {
    let mut way = 0.0;
    let mut places = vec![0.0];
    for pair in piece.windows(2) {
        if let [from, to] = pair {
            way += from.distance(*to);
            places.push(way);
        }
    }
    let whole = if way > 0.0 { way } else { 1.0 };
    places.iter().map(|place| place / whole).collect()
}

/// Returns the curve with the given ends and directions that is nearest to the points at their places.
fn least_squares(piece: &[Point], places: &[f64], start: Vec2, end: Vec2) -> CubicBez {
    let first = piece.first().copied().unwrap_or_default();
    let last = piece.last().copied().unwrap_or_default();
    let (mut c00, mut c01, mut c11, mut x0, mut x1) = (0.0, 0.0, 0.0, 0.0, 0.0);
    for (&point, &t) in piece.iter().zip(places) {
        let s = 1.0 - t;
        let (b0, b1, b2, b3) = (s * s * s, 3.0 * s * s * t, 3.0 * s * t * t, t * t * t);
        let (a0, a1) = (start * b1, end * b2);
        c00 += a0.dot(a0);
        c01 += a0.dot(a1);
        c11 += a1.dot(a1);
        let rest = point.to_vec2() - first.to_vec2() * (b0 + b1) - last.to_vec2() * (b2 + b3);
        x0 += a0.dot(rest);
        x1 += a1.dot(rest);
    }
    let determinant = c00 * c11 - c01 * c01;
    let third = first.distance(last) / 3.0;
    let (mut reach0, mut reach1) = if determinant.abs() > 1e-12 {
        ((x0 * c11 - x1 * c01) / determinant, (c00 * x1 - c01 * x0) / determinant)
    } else {
        (third, third)
    };
    // Handles that turn back or shoot far ahead make loops.
    let sane = 0.01 * third..=12.0 * third;
    if !sane.contains(&reach0) || !sane.contains(&reach1) {
        (reach0, reach1) = (third, third);
    }
    CubicBez::new(first, first + start * reach0, last + end * reach1, last)
}

fn farthest(piece: &[Point], places: &[f64], curve: &CubicBez) -> (usize, f64) {
    let mut worst = (piece.len() / 2, 0.0);
    for (index, (&point, &place)) in piece.iter().zip(places).enumerate() {
        let off = curve.eval(place).distance(point);
        if off > worst.1 {
            worst = (index, off);
        }
    }
    worst
}

/// Moves a place toward where the curve is nearest to the point, by one step of Newton's method.
fn nearer(curve: &CubicBez, place: f64, point: Point) -> f64 {
    let first = curve.deriv();
    let off = curve.eval(place) - point;
    let speed = first.eval(place).to_vec2();
    let bend = first.deriv().eval(place).to_vec2();
    let slope = speed.dot(speed) + off.dot(bend);
    if slope.abs() > 1e-12 { (place - off.dot(speed) / slope).clamp(0.0, 1.0) } else { place }
}

/// Adds points inside the curve so that chords stray no farther than [`CHORD`].
///
/// A cubic's chords over n equal steps stray at most by its largest second derivative / (8 n²).
fn flatten(curve: &CubicBez, corners: &mut Vec<[f64; 2]>) {
    let bends = [
        (curve.p0.to_vec2() - 2.0 * curve.p1.to_vec2() + curve.p2.to_vec2()).hypot(),
        (curve.p1.to_vec2() - 2.0 * curve.p2.to_vec2() + curve.p3.to_vec2()).hypot(),
    ];
    let second = 6.0 * bends[0].max(bends[1]);
    let n = (second / (8.0 * CHORD)).sqrt().ceil().clamp(1.0, 400.0) as usize;
    for step in 1..n {
        let point = curve.eval(step as f64 / n as f64);
        corners.push([point.x, point.y]);
    }
}
