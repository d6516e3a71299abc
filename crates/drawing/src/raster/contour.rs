//! Where exactly does one color end and the next begin?
//!
//! The edge between two pixels of different labels is crossed at one point, which both sides share.
//! An anti-aliased pixel tells how much of it either color covers, so that point is known to a small part of a pixel:
//! in a row of pixels across an edge the covered parts add up to where the edge is, exactly for a straight edge that is
//! done within four pixels; along a slow ramp, it is where the mix is half and half.
//! Where three colors meet, or two in a checkerboard, all edges end in the mean of their crossings.
//!
//! One unit is one pixel; the first pixel covers 0 to 1.

use crate::raster::{
    decode::Pixels,
    labels::{Labels, OUTSIDE, share},
    palette::{Palette, ink},
};

/// A closed edge of a patch, as chains from junction to junction; one closed chain if there are none.
#[derive(Clone, Debug)]
pub(crate) struct Ring {
    /// A pixel of the patch at this edge.
    pub(crate) x: usize,
    /// Its row.
    pub(crate) y: usize,
    pub(crate) chains: Vec<Chain>,
}

/// Points along an edge between the same two labels.
#[derive(Clone, Debug)]
pub(crate) struct Chain {
    /// Crossings in order; the ends are junctions unless the chain is closed.
    pub(crate) points: Vec<[f64; 2]>,
    /// Number of the crack under the first and last crossing: the same for both sides of the edge.
    pub(crate) ends: [usize; 2],
    pub(crate) is_closed: bool,
}

/// Where edges are looked for.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Source<'a> {
    pub(crate) labels: &'a Labels,
    pub(crate) pixels: &'a Pixels,
    pub(crate) palette: &'a Palette,
}

/// Where a walk along the sides of pixels stands: a corner and the way it goes, the patch on the right hand.
#[derive(Clone, Copy, Debug, PartialEq)]
struct Step {
    x: isize,
    y: isize,
    way: Way,
}

#[derive(Clone, Copy, Debug, PartialEq)]
enum Way {
    East,
    South,
    West,
    North,
}

impl Step {
    /// Returns the pixels to the right and to the left of this step.
    fn sides(self) -> [(isize, isize); 2] {
        let Self { x, y, way } = self;
        match way {
            Way::East => [(x, y), (x, y - 1)],
            Way::South => [(x - 1, y), (x, y)],
            Way::West => [(x - 1, y - 1), (x - 1, y)],
            Way::North => [(x, y - 1), (x - 1, y - 1)],
        }
    }

    /// Returns the corner this step leads to.
    fn end(self) -> (isize, isize) {
        match self.way {
            Way::East => (self.x + 1, self.y),
            Way::South => (self.x, self.y + 1),
            Way::West => (self.x - 1, self.y),
            Way::North => (self.x, self.y - 1),
        }
    }

    /// Returns the next step around a patch of this label, whose pixels hang together by their sides.
    fn next(self, labels: &Labels, label: u8) -> Self {
        let (x, y) = self.end();
        let right = match self.way {
            Way::East => Way::South,
            Way::South => Way::West,
            Way::West => Way::North,
            Way::North => Way::East,
        };
        let left = match self.way {
            Way::East => Way::North,
            Way::South => Way::East,
            Way::West => Way::South,
            Way::North => Way::West,
        };
        let ahead = Self { x, y, way: self.way };
        let [ahead_right, ahead_left] = ahead.sides();
        let way = if labels.at(ahead_right.0, ahead_right.1) != label {
            right
        } else if labels.at(ahead_left.0, ahead_left.1) != label {
            self.way
        } else {
            left
        };
        Self { x, y, way }
    }
}

/// Finds the edges of all patches for whose pixels `is_wanted` says so.
pub(crate) fn rings(
    source: &Source<'_>,
    mut is_wanted: impl FnMut(usize, usize) -> bool,
) -> Vec<Ring> {
    let labels = source.labels;
    let mut seen = vec![false; labels.labels.len()];
    let mut rings = Vec::new();
    for y in 0..labels.height {
        for x in 0..labels.width {
            let index = y * labels.width + x;
            let label = labels.labels.get(index).copied().unwrap_or(OUTSIDE);
            let above = labels.at(x as isize, y as isize - 1);
            if label == above || seen.get(index).copied().unwrap_or(true) || !is_wanted(x, y) {
                continue;
            }
            let start = Step { x: x as isize, y: y as isize, way: Way::East };
            let steps = walk(labels, label, start, &mut seen);
            rings.push(Ring { x, y, chains: chains(source, &steps) });
        }
    }
    rings
}

fn walk(labels: &Labels, label: u8, start: Step, seen: &mut [bool]) -> Vec<Step> {
    let mut steps = Vec::new();
    let mut step = start;
    // A walk passes no side of a pixel twice.
    let most = 4 * labels.labels.len() + 4;
    while steps.len() < most {
        steps.push(step);
        if step.way == Way::East
            && let Some(slot) = seen.get_mut(step.y as usize * labels.width + step.x as usize)
        {
            *slot = true;
        }
        step = step.next(labels, label);
        if step == start {
            break;
        }
    }
    steps
}

/// Cuts a walk into chains at its junctions.
fn chains(source: &Source<'_>, steps: &[Step]) -> Vec<Chain> {
    let junctions: Vec<Option<[f64; 2]>> =
        steps.iter().map(|step| junction(source, step.end())).collect();
    let Some(last) = junctions.iter().rposition(Option::is_some) else {
        let points = steps.iter().map(|step| crossing(source, step.sides())).collect();
        let ends = [steps.first(), steps.last()].map(|step| step.map_or(0, |s| crack(source, *s)));
        return vec![Chain { points, ends, is_closed: true }];
    };
    let mut chains = Vec::new();
    let mut points: Vec<[f64; 2]> = junctions.get(last).copied().flatten().into_iter().collect();
    let mut first_crack = None;
    let after = (last + 1..steps.len()).chain(0..=last);
    for index in after {
        let (Some(&step), Some(&junction)) = (steps.get(index), junctions.get(index)) else {
            continue;
        };
        points.push(crossing(source, step.sides()));
        let own = crack(source, step);
        let first = *first_crack.get_or_insert(own);
        if let Some(junction) = junction {
            points.push(junction);
            let points = std::mem::replace(&mut points, vec![junction]);
            chains.push(Chain { points, ends: [first, own], is_closed: false });
            first_crack = None;
        }
    }
    chains
}

/// Numbers the side of a pixel that a step runs along, whichever way.
fn crack(source: &Source<'_>, step: Step) -> usize {
    let (end_x, end_y) = step.end();
    let (x, y) = (step.x.min(end_x) as usize, step.y.min(end_y) as usize);
    let is_upright = usize::from(step.x == end_x);
    2 * (y * (source.labels.width + 1) + x) + is_upright
}

/// Returns where edges meet at a corner of pixels, if more than two ends do.
fn junction(source: &Source<'_>, (x, y): (isize, isize)) -> Option<[f64; 2]> {
    let around = [(x - 1, y - 1), (x, y - 1), (x, y), (x - 1, y)];
    let [a, b, c, d] = around.map(|(x, y)| source.labels.at(x, y));
    let n_changes = [a != b, b != c, c != d, d != a].into_iter().filter(|&change| change).count();
    let is_frame_corner = [a, b, c, d].into_iter().filter(|&label| label == OUTSIDE).count() == 3;
    if is_frame_corner {
        return Some([x as f64, y as f64]);
    }
    if n_changes < 3 {
        return None;
    }
    let mut sum = [0.0; 2];
    let turned = around.iter().cycle().skip(1);
    for (&one, &other) in around.iter().zip(turned) {
        if source.labels.at(one.0, one.1) != source.labels.at(other.0, other.1) {
            let [x, y] = crossing(source, [one, other]);
            sum = [sum[0] + x, sum[1] + y];
        }
    }
    Some(sum.map(|sum| sum / n_changes as f64))
}

/// Returns where the edge between two touching pixels is crossed, on the line through their centers.
fn crossing(source: &Source<'_>, [one, other]: [(isize, isize); 2]) -> [f64; 2] {
    // Both sides of an edge ask in the same order, so they get the same bits.
    let (low, high) = if one <= other { (one, other) } else { (other, one) };
    let (dx, dy) = (high.0 - low.0, high.1 - low.1);
    let pixel = |k: isize| (low.0 + k * dx, low.1 + k * dy);
    let label = |k: isize| source.labels.at(pixel(k).0, pixel(k).1);
    let offset = if label(0) == OUTSIDE || label(1) == OUTSIDE {
        0.5
    } else {
        let ink_of = |label: u8| source.palette.inks.get(usize::from(label)).copied();
        let (one, other) =
            (ink_of(label(0)).unwrap_or_default(), ink_of(label(1)).unwrap_or_default());
        let part = |k: isize| share(ink(source.pixels.at(pixel(k).0, pixel(k).1)), one, other);
        // Beyond a third color nothing more is known of this edge.
        let before = if label(-1) == label(0) { part(-1) } else { 1.0 };
        let after = if label(2) == label(1) { part(2) } else { 0.0 };
        f64::from(offset(before, part(0), part(1), after))
    };
    let along = |low: isize, d: isize| low as f64 + 0.5 + offset * d as f64;
    [along(low.0, dx), along(low.1, dy)]
}

/// Returns how far from the second pixel's center toward the third's the edge lies, from the parts of four pixels
/// that the first color covers.
fn offset(before: f32, low: f32, high: f32, after: f32) -> f32 {
    /// Parts within this of all or nothing count as such: rounding to eight bits, and the noise of JPEG.
    const WHOLE: f32 = 0.04;
    let is_done = before >= 1.0 - WHOLE && after <= WHOLE;
    let offset = if is_done {
        before + low + high + after - 1.5
    } else if low > high {
        (low - 0.5) / (low - high)
    } else {
        0.5
    };
    offset.clamp(0.0, 1.0)
}
