//! Where in the photograph are the four corners of the paper or card?
//!
//! First roughly, in a small copy of the photograph: what differs from the ground falls into patches, and the largest
//! patch whose hull is nearly a four-sided figure with the right proportions is the reference.
//! Then to a small part of a pixel: across each side the brightness is read along many short lines, each gives the
//! place where it changes most, and a straight line is fitted through these places, each weighted with how strong the
//! change is and how well it agrees with the others (Tukey's biweight).
//! The lines meet in the corners, so a card's rounded corners do no harm.
//!
//! *Lens.* Straight sides look bent through a wide lens.
//! One number tells by how much: a point at distance r from the middle, in half diagonals, moves out by the factor
//! 1 + k r² (one-parameter radial model); k is where the four sides become straightest.

use kurbo::Point;

use crate::{
    photo::{linear::Normal, plane::color_at},
    raster::{
        decode::{Pixels, shrink},
        labels::Labels,
        patch,
    },
    region::distance,
};

/// Pixels of the small copy in which the reference is looked for.
const SMALL_PIXELS: usize = 360_000;

/// Least part of the photograph the reference must cover.
const LEAST_SHARE: f64 = 0.01;

/// The reference's hull covers at least this part of the four-sided figure around it: rounded corners cost 1 %.
const LEAST_SQUARENESS: f64 = 0.93;

/// A cutter lying on the sheet takes away from it, the rim of a square cutter alone is no sheet.
const LEAST_FILLED: f64 = 0.5;

/// How far the proportions may be off because the photograph is tilted: 35 degrees shorten one side by 18 %.
const MOST_FORESHORTENED: f64 = 1.25;

/// Part of a side left out at both ends: the corners of an ID-1 card are round to 6 % of its short side.
const LEFT_OUT: f64 = 0.09;

/// Lines across each side.
const N_LINES: usize = 240;

/// Bends of a lens that are looked at; a phone's wide lens bends by less than 0.1.
const MOST_BEND: f64 = 0.3;

/// The picture of a lens: the middle and half the diagonal of the photograph, and the bend k.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Lens {
    middle: [f64; 2],
    half_diagonal: f64,
    pub(super) bend: f64,
}

impl Lens {
    /// Returns a lens that bends nothing.
    pub(super) fn straight(pixels: &Pixels) -> Self {
        let middle = [pixels.width as f64 / 2.0, pixels.height as f64 / 2.0];
        Self { middle, half_diagonal: middle[0].hypot(middle[1]).max(1.0), bend: 0.0 }
    }

    /// Returns where a point of the photograph would be without the lens's bend, in half diagonals from the middle.
    pub(super) fn straighten(&self, [x, y]: [f64; 2]) -> [f64; 2] {
        let [dx, dy] =
            [(x - self.middle[0]) / self.half_diagonal, (y - self.middle[1]) / self.half_diagonal];
        let factor = 1.0 + self.bend * (dx * dx + dy * dy);
        [dx * factor, dy * factor]
    }

    /// Returns the point of the photograph that straightens to this one.
    pub(super) fn bend_back(&self, [u, v]: [f64; 2]) -> [f64; 2] {
        let [mut dx, mut dy] = [u, v];
        if self.bend != 0.0 {
            for _ in 0..6 {
                let factor = 1.0 + self.bend * (dx * dx + dy * dy);
                [dx, dy] = [u / factor, v / factor];
            }
        }
        [self.middle[0] + dx * self.half_diagonal, self.middle[1] + dy * self.half_diagonal]
    }
}

/// A point where brightness changes most across a side.
#[derive(Clone, Copy, Debug)]
pub(super) struct EdgePoint {
    pub(super) at: [f64; 2],
    pub(super) weight: f64,
}

/// A reference found to a part of a pixel.
#[derive(Clone, Debug)]
pub(super) struct Found {
    /// Corners without the lens's bend, clockwise, in half diagonals from the middle.
    pub(super) corners: [[f64; 2]; 4],
    /// Points along each side, from its corner to the next; weights are zero for those that do not agree.
    pub(super) sides: [Vec<EdgePoint>; 4],
    pub(super) lens: Lens,
}

/// Finds the four corners roughly, clockwise; `proportion` is the longer side over the shorter.
pub(super) fn find_roughly(pixels: &Pixels, proportion: f64) -> Option<[[f64; 2]; 4]> {
    let (small, side) = shrink(pixels, SMALL_PIXELS);
    let labels = unlike_ground(&small);
    let patches = patch::find(&labels);
    let mut outlines: Vec<Vec<Point>> = vec![Vec::new(); patches.patches.len()];
    for y in 0..small.height {
        for (number, from, to) in patches.runs(y) {
            if let Some(outline) = outlines.get_mut(number) {
                for x in [from, to] {
                    outline.push(Point::new(x as f64, y as f64));
                    outline.push(Point::new(x as f64, y as f64 + 1.0));
                }
            }
        }
    }
    let least = LEAST_SHARE * (small.width * small.height) as f64;
    let mut candidates: Vec<(f64, [Point; 4])> = Vec::new();
    for (patch, outline) in patches.patches.iter().zip(outlines) {
        if patch.label == 0 || patch.at_frame {
            continue;
        }
        let hull = hull(outline);
        let hull_area = area(&hull);
        if hull_area < least || (patch.n_pixels as f64) < LEAST_FILLED * hull_area {
            continue;
        }
        let Some(quad) = quadrilateral(hull) else { continue };
        let lengths: Vec<f64> =
            (0..4).map(|at: usize| quad[at].distance(quad[(at + 1) % 4])).collect();
        let (one, other) = (lengths[0] + lengths[2], lengths[1] + lengths[3]);
        let seen = one.max(other) / one.min(other).max(1e-9);
        let is_like =
            seen / proportion <= MOST_FORESHORTENED && proportion / seen <= MOST_FORESHORTENED;
        if is_like && hull_area >= LEAST_SQUARENESS * area(&quad) {
            candidates.push((hull_area, quad));
        }
    }
    let largest = candidates.into_iter().max_by(|one, other| one.0.total_cmp(&other.0));
    largest.map(|(_, quad)| quad.map(|point| [point.x * side as f64, point.y * side as f64]))
}

/// Labels with 1 what differs from the ground, whose color changes evenly across the photograph.
fn unlike_ground(small: &Pixels) -> Labels {
    let (width, height) = (small.width, small.height);
    let band = (width.min(height) / 40).max(1);
    let is_frame =
        |x: usize, y: usize| x < band || y < band || x + band >= width || y + band >= height;
    let place =
        |x: usize, y: usize| [1.0, x as f64 / width as f64 - 0.5, y as f64 / height as f64 - 0.5];
    let mut ground = [[0.0; 3]; 3];
    for (channel, plane) in ground.iter_mut().enumerate() {
        let samples = (0..height).flat_map(|y| (0..width).map(move |x| (x, y)));
        let samples: Vec<([f64; 3], f64)> = samples
            .filter(|&(x, y)| is_frame(x, y))
            .map(|(x, y)| {
                let pixel = small.at(x as isize, y as isize);
                (place(x, y), f64::from(pixel.get(channel).copied().unwrap_or_default()))
            })
            .collect();
        *plane = fit_plane(&samples);
    }
    let mut distances = Vec::with_capacity(width * height);
    for y in 0..height {
        for x in 0..width {
            let pixel = small.at(x as isize, y as isize);
            let [one, across, down] = place(x, y);
            let squares: f64 = ground
                .iter()
                .zip(pixel)
                .map(|([a, b, c], channel)| f64::from(channel) - (a * one + b * across + c * down))
                .map(|off| off * off)
                .sum();
            distances.push(squares.sqrt().min(255.0) as u8);
        }
    }
    let threshold = otsu(&distances);
    let labels = distances.into_iter().map(|distance| u8::from(distance > threshold)).collect();
    Labels { width, height, labels }
}

/// Fits a + b x + c y, twice, the second time without the values farthest off.
fn fit_plane(samples: &[([f64; 3], f64)]) -> [f64; 3] {
    let mut plane = [0.0; 3];
    let mut limit = f64::INFINITY;
    for _ in 0..3 {
        let mut normal = Normal::<3>::new();
        let mut squares = (0.0, 0.0);
        for &(place, value) in samples {
            let off = value - place.iter().zip(plane).map(|(a, b)| a * b).sum::<f64>();
            if off.abs() <= limit {
                squares = (squares.0 + off * off, squares.1 + 1.0);
                normal.add(place, value, 1.0);
            }
        }
        limit = if limit.is_finite() {
            2.0 * (squares.0 / f64::max(squares.1, 1.0)).sqrt().max(2.0)
        } else {
            60.0
        };
        let Some(fitted) = normal.solve() else { break };
        plane = fitted;
    }
    plane
}

/// Returns the value that divides values best into two kinds.
///
/// N. Otsu, "A threshold selection method from gray-level histograms", 1979.
fn otsu(values: &[u8]) -> u8 {
    let mut counts = [0_u32; 256];
    for &value in values {
        counts[usize::from(value)] += 1;
    }
    let total = values.len() as f64;
    let sum: f64 = counts.iter().enumerate().map(|(at, &n)| at as f64 * f64::from(n)).sum();
    let (mut below, mut sum_below) = (0.0, 0.0);
    let mut best = (0.0, 0_u8);
    for (value, &n) in (0..=u8::MAX).zip(&counts) {
        below += f64::from(n);
        sum_below += f64::from(value) * f64::from(n);
        let above = total - below;
        if below > 0.0 && above > 0.0 {
            let apart = sum_below / below - (sum - sum_below) / above;
            let between = below * above * apart * apart;
            if between > best.0 {
                best = (between, value);
            }
        }
    }
    best.1
}

/// Returns the convex hull, clockwise on a page with y down (A. M. Andrew's monotone chain, 1979).
pub(super) fn hull(mut points: Vec<Point>) -> Vec<Point> {
    points.sort_by(|one, other| one.x.total_cmp(&other.x).then(one.y.total_cmp(&other.y)));
    points.dedup();
    let half = |points: &mut dyn Iterator<Item = Point>| {
        let mut chain: Vec<Point> = Vec::new();
        for point in points {
            while let [.., one, other] = chain.as_slice() {
                if (*other - *one).cross(point - *other) > 0.0 {
                    break;
                }
                chain.pop();
            }
            chain.push(point);
        }
        chain.pop();
        chain
    };
    let mut around = half(&mut points.iter().copied());
    around.extend(half(&mut points.iter().rev().copied()));
    around
}

fn area(ring: &[Point]) -> f64 {
    let ends = ring.iter().cycle().skip(1);
    ring.iter().zip(ends).map(|(from, to)| from.to_vec2().cross(to.to_vec2())).sum::<f64>() / 2.0
}

/// Takes sides away from a hull, each time the one whose neighbors, prolonged, add the least area, until four are left.
fn quadrilateral(mut hull: Vec<Point>) -> Option<[Point; 4]> {
    while hull.len() > 4 {
        let n = hull.len();
        let mut best: Option<(f64, usize, Point)> = None;
        for index in 0..n {
            let [before, from, to, after] = [n - 1, 0, 1, 2].map(|step| hull[(index + step) % n]);
            let (ahead, back) = (from - before, to - after);
            let turn = ahead.cross(back);
            // Neighbors that run apart never meet.
            if turn >= -1e-9 {
                continue;
            }
            let corner = from + ahead * ((to - from).cross(back) / turn);
            let added = area(&[from, corner, to]).abs();
            if best.is_none_or(|(least, ..)| added < least) {
                best = Some((added, index, corner));
            }
        }
        let (_, index, corner) = best?;
        hull[index] = corner;
        hull.remove((index + 1) % n);
    }
    hull.try_into().ok()
}

/// Finds the corners exactly, starting from rough ones no more than `reach` pixels off.
pub(super) fn find_exactly(
    pixels: &Pixels,
    rough: [[f64; 2]; 4],
    reach: f64,
    with_lens: bool,
) -> Option<Found> {
    let ways = [0, 1, 2, 3].map(|at: usize| (rough[at], rough[(at + 1) % 4]));
    let mut sides = ways.map(|(from, to)| along_side(pixels, from, to, reach));
    let straight = Lens::straight(pixels);
    let lens = if with_lens { straightest(straight, &sides) } else { straight };
    let mut lines = Vec::new();
    for side in &mut sides {
        let straightened: Vec<([f64; 2], f64)> =
            side.iter().map(|point| (lens.straighten(point.at), point.weight)).collect();
        let (line, weights) = Line::fit(&straightened)?;
        for (point, weight) in side.iter_mut().zip(weights) {
            point.weight = weight;
        }
        lines.push(line);
    }
    let mut corners = [[0.0; 2]; 4];
    for (at, corner) in corners.iter_mut().enumerate() {
        *corner = lines.get((at + 3) % 4)?.meet(lines.get(at)?)?;
    }
    Some(Found { corners, sides, lens })
}

/// Returns the points along a side where the color changes most across it.
fn along_side(pixels: &Pixels, from: [f64; 2], to: [f64; 2], reach: f64) -> Vec<EdgePoint> {
    let length = distance(from, to);
    let along = [(to[0] - from[0]) / length, (to[1] - from[1]) / length];
    // The reference lies to the right of its sides.
    let inward = [-along[1], along[0]];
    let at = |t: f64, depth: f64| {
        let way = t * length;
        [from[0] + way * along[0] + depth * inward[0], from[1] + way * along[1] + depth * inward[1]]
    };
    let places: Vec<f64> = (0..N_LINES)
        .map(|line| LEFT_OUT + (1.0 - 2.0 * LEFT_OUT) * (line as f64 + 0.5) / N_LINES as f64)
        .collect();
    // The channels count as far as they tell the reference from the ground.
    let mut contrast = [0.0; 3];
    for &t in &places {
        let (inside, outside) = (color_at(pixels, at(t, reach)), color_at(pixels, at(t, -reach)));
        for (sum, (inside, outside)) in contrast.iter_mut().zip(inside.into_iter().zip(outside)) {
            *sum += inside - outside;
        }
    }
    let size = contrast.iter().map(|part| part * part).sum::<f64>().sqrt().max(1e-9);
    let n_half = reach.ceil() as i32 * 2;
    places
        .into_iter()
        .filter_map(|t| {
            // A little wide along the side, against noise.
            let value = |depth: f64| {
                let samples =
                    [-1.5, 0.0, 1.5].map(|aside| color_at(pixels, at(t + aside / length, depth)));
                let sums = samples.iter().map(|color| {
                    color.iter().zip(contrast).map(|(a, b)| a * b).sum::<f64>() / size
                });
                sums.sum::<f64>() / 3.0
            };
            let profile: Vec<f64> =
                (-n_half - 1..=n_half + 1).map(|step| value(f64::from(step) / 2.0)).collect();
            let rises: Vec<f64> = profile
                .windows(3)
                .map(|three| {
                    (three.last().unwrap_or(&0.0) - three.first().unwrap_or(&0.0)).max(0.0)
                })
                .collect();
            let (peak, steepest) =
                rises.iter().enumerate().max_by(|one, other| one.1.total_cmp(other.1))?;
            let near = peak.saturating_sub(6)..(peak + 7).min(rises.len());
            let (mut sum, mut weights) = (0.0, 0.0);
            for index in near {
                let rise = rises.get(index).copied().unwrap_or_default();
                sum += rise * rise * (index as f64 - f64::from(n_half)) / 2.0;
                weights += rise * rise;
            }
            (*steepest > 2.0 && weights > 0.0)
                .then(|| EdgePoint { at: at(t, sum / weights), weight: *steepest })
        })
        .collect()
}

/// A straight line: a x + b y = c with a² + b² = 1.
#[derive(Clone, Copy, Debug)]
struct Line {
    a: f64,
    b: f64,
    c: f64,
}

impl Line {
    /// Fits a line to weighted points; returns the weights that remain, zero for points that do not belong to it.
    fn fit(points: &[([f64; 2], f64)]) -> Option<(Self, Vec<f64>)> {
        if points.len() < N_LINES / 4 {
            return None;
        }
        let mut weights: Vec<f64> = points.iter().map(|(_, weight)| *weight).collect();
        let mut line = Self { a: 0.0, b: 0.0, c: 0.0 };
        for _ in 0..8 {
            let total: f64 = weights.iter().sum();
            let mut mean = [0.0; 2];
            for (([x, y], _), weight) in points.iter().zip(&weights) {
                mean = [mean[0] + weight * x / total, mean[1] + weight * y / total];
            }
            let (mut xx, mut xy, mut yy) = (0.0, 0.0, 0.0);
            for (([x, y], _), weight) in points.iter().zip(&weights) {
                let (dx, dy) = (x - mean[0], y - mean[1]);
                xx += weight * dx * dx;
                xy += weight * dx * dy;
                yy += weight * dy * dy;
            }
            let angle = 0.5 * f64::atan2(2.0 * xy, xx - yy);
            let (a, b) = (-angle.sin(), angle.cos());
            line = Self { a, b, c: a * mean[0] + b * mean[1] };
            let mut offs: Vec<f64> =
                points.iter().map(|(point, _)| line.off(*point).abs()).collect();
            offs.sort_by(f64::total_cmp);
            // Median absolute deviation to standard deviation of a normal distribution: 1.4826.
            let spread = 1.4826 * offs.get(offs.len() / 2)?;
            let limit = (4.685 * spread).max(1e-9);
            for ((point, own), weight) in points.iter().zip(&mut weights) {
                let off = line.off(*point) / limit;
                let trust = (1.0 - off * off).max(0.0);
                *weight = own * trust * trust;
            }
        }
        (line.a.is_finite() && line.c.is_finite()).then_some((line, weights))
    }

    fn off(&self, [x, y]: [f64; 2]) -> f64 {
        self.a * x + self.b * y - self.c
    }

    fn meet(&self, other: &Self) -> Option<[f64; 2]> {
        let turn = self.a * other.b - self.b * other.a;
        (turn.abs() > 1e-6).then(|| {
            [
                (self.c * other.b - self.b * other.c) / turn,
                (self.a * other.c - self.c * other.a) / turn,
            ]
        })
    }
}

/// Finds the bend that makes the four sides straightest; none if that gains little.
fn straightest(straight: Lens, sides: &[Vec<EdgePoint>; 4]) -> Lens {
    let crookedness = |bend: f64| {
        let lens = Lens { bend, ..straight };
        let mut squares = 0.0;
        for side in sides {
            let points: Vec<([f64; 2], f64)> =
                side.iter().map(|point| (lens.straighten(point.at), point.weight)).collect();
            let Some((line, weights)) = Line::fit(&points) else { continue };
            let total: f64 = weights.iter().sum();
            // What the fit set aside counts as far as the limit, or bent ends would cost nothing.
            let offs = points.iter().map(|(point, _)| line.off(*point).powi(2));
            let sum: f64 = offs.zip(&weights).map(|(off, weight)| off * weight).sum();
            squares += sum / total.max(1e-12);
        }
        squares
    };
    // Golden section search.
    const GOLDEN: f64 = 0.618_033_988_749_895;
    let (mut low, mut high) = (-MOST_BEND, MOST_BEND);
    let mut left = high - GOLDEN * (high - low);
    let mut right = low + GOLDEN * (high - low);
    let (mut at_left, mut at_right) = (crookedness(left), crookedness(right));
    for _ in 0..30 {
        if at_left <= at_right {
            (high, right, at_right) = (right, left, at_left);
            left = high - GOLDEN * (high - low);
            at_left = crookedness(left);
        } else {
            (low, left, at_left) = (left, right, at_right);
            right = low + GOLDEN * (high - low);
            at_right = crookedness(right);
        }
    }
    let bend = (low + high) / 2.0;
    if crookedness(bend) < 0.7 * crookedness(0.0) { Lens { bend, ..straight } } else { straight }
}
