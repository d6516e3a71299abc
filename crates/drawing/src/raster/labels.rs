//! Which of the few colors does each pixel belong to?
//!
//! A flat pixel takes the color nearest to it.
//! Any other lies on an edge: looking in eight directions it sees the flat colors around it, and it belongs to that one
//! of a pair of them that it holds more of, if a mix of the two explains it.
//! So the gray between black and white becomes black or white, even where gray is a color of the picture.
//! What no mix explains, such as a hairline, takes the color nearest to it.

use crate::raster::{
    decode::Pixels,
    palette::{Palette, ink},
};

/// How far a pixel on an edge looks for flat ones.
const REACH: isize = 4;

/// A mix explains a pixel if it is no farther off than this, of 255 a channel.
const EXPLAINED: f32 = 40.0;

/// Not yet decided.
const OPEN: u8 = u8::MAX;

/// A label for every pixel.
#[derive(Clone, Debug)]
pub(crate) struct Labels {
    pub(crate) width: usize,
    pub(crate) height: usize,
    pub(crate) labels: Vec<u8>,
}

/// What lies beyond the picture.
pub(crate) const OUTSIDE: u8 = u8::MAX;

impl Labels {
    /// Returns the label of a pixel, or [`OUTSIDE`].
    pub(crate) fn at(&self, x: isize, y: isize) -> u8 {
        let is_inside = 0 <= x && x < self.width as isize && 0 <= y && y < self.height as isize;
        if !is_inside {
            return OUTSIDE;
        }
        self.labels.get(y as usize * self.width + x as usize).copied().unwrap_or(OUTSIDE)
    }
}

/// Rounds of smoothing: a fringe two pixels deep is gone after them.
const SMOOTHING_ROUNDS: usize = 3;

impl Labels {
    /// Gives every pixel the label that most of the nine around it have, its own if no other has more.
    ///
    /// Where shades run into each other their border is a fringe of single pixels, which nobody pipes.
    pub(crate) fn smooth(&mut self) {
        for _ in 0..SMOOTHING_ROUNDS {
            let before = self.clone();
            let rows = self.labels.chunks_exact_mut(self.width.max(1));
            for (y, row) in rows.enumerate() {
                for (x, label) in row.iter_mut().enumerate() {
                    *label = before.most_around(x as isize, y as isize, *label);
                }
            }
        }
    }

    fn most_around(&self, x: isize, y: isize, own: u8) -> u8 {
        let mut around = [OUTSIDE; 9];
        let places = (-1..=1).flat_map(|dy| (-1..=1).map(move |dx| (x + dx, y + dy)));
        for (slot, (x, y)) in around.iter_mut().zip(places) {
            *slot = self.at(x, y);
        }
        if around.iter().all(|label| *label == own) {
            return own;
        }
        let count = |label: u8| around.iter().filter(|other| **other == label).count();
        let mut most = (count(own), own);
        for label in around {
            if label != OUTSIDE && count(label) > most.0 {
                most = (count(label), label);
            }
        }
        most.1
    }
}

/// Gives every pixel its label.
pub(crate) fn assign(pixels: &Pixels, flat: &[bool], palette: &Palette) -> Labels {
    let mut last = ([0_u8; 4], palette.label([0; 4]));
    let first = pixels.rgba.iter().zip(flat).map(|(&pixel, &is_flat)| {
        if !is_flat {
            return OPEN;
        }
        if pixel != last.0 {
            last = (pixel, palette.label(pixel));
        }
        last.1
    });
    let seen = Labels { width: pixels.width, height: pixels.height, labels: first.collect() };
    let mut labels = seen.labels.clone();
    let rows = labels
        .chunks_exact_mut(pixels.width.max(1))
        .zip(pixels.rgba.chunks_exact(pixels.width.max(1)));
    for (y, (labels, row)) in rows.enumerate() {
        for (x, (label, &pixel)) in labels.iter_mut().zip(row).enumerate() {
            if *label == OPEN {
                *label = on_edge(&seen, palette, pixel, x as isize, y as isize);
            }
        }
    }
    Labels { labels, ..seen }
}

fn on_edge(seen: &Labels, palette: &Palette, pixel: [u8; 4], x: isize, y: isize) -> u8 {
    const DIRECTIONS: [(isize, isize); 8] =
        [(1, 0), (-1, 0), (0, 1), (0, -1), (1, 1), (-1, -1), (1, -1), (-1, 1)];
    let mut around = [OPEN; 8];
    let mut n_around = 0;
    for (dx, dy) in DIRECTIONS {
        let found = (1..=REACH).map(|step| seen.at(x + step * dx, y + step * dy));
        let mut found = found.filter(|&label| label != OPEN);
        if let Some(label) = found.next()
            && let Some((known, rest)) = around.split_at_mut_checked(n_around)
            && !known.contains(&label)
            && let Some(slot) = rest.first_mut()
        {
            *slot = label;
            n_around += 1;
        }
    }
    let around = around.get(..n_around).unwrap_or_default();
    let ink_of = |label: u8| palette.inks.get(usize::from(label)).copied();
    let own = ink(pixel);
    let mut best = (EXPLAINED * EXPLAINED, None);
    for (index, &one) in around.iter().enumerate() {
        let Some(one_ink) = ink_of(one) else { continue };
        let alone = distance2(own, one_ink);
        if alone < best.0 {
            best = (alone, Some(one));
        }
        for &other in around.get(index + 1..).unwrap_or_default() {
            let Some(other_ink) = ink_of(other) else { continue };
            let share = share(own, one_ink, other_ink);
            let mut off = 0.0;
            for channel in 0..4 {
                let mixed = share * one_ink[channel] + (1.0 - share) * other_ink[channel];
                off += (own[channel] - mixed) * (own[channel] - mixed);
            }
            if off < best.0 {
                best = (off, Some(if share >= 0.5 { one } else { other }));
            }
        }
    }
    best.1.unwrap_or_else(|| palette.label(pixel))
}

/// Returns how much of `one` is in a mix of `one` and `other`, 0 to 1.
pub(crate) fn share(mix: [f32; 4], one: [f32; 4], other: [f32; 4]) -> f32 {
    let (mut along, mut length2) = (0.0, 0.0);
    for channel in 0..4 {
        let span = one[channel] - other[channel];
        along += (mix[channel] - other[channel]) * span;
        length2 += span * span;
    }
    if length2 > 0.0 { (along / length2).clamp(0.0, 1.0) } else { 0.5 }
}

fn distance2(one: [f32; 4], other: [f32; 4]) -> f32 {
    one.iter().zip(other).map(|(one, other)| (one - other) * (one - other)).sum()
}
