//! Which pixels hang together, which patches are too small to pipe, and which are the ground?
//!
//! A patch is a set of pixels of one label that touch by their sides.
//! Patches are gathered from runs (pixels of one label side by side in a row) by union-find, so that the work grows
//! with the edges in the picture, not with its pixels.

use crate::raster::{
    labels::{Labels, OUTSIDE},
    palette::CLEAR_LABEL,
};

/// Pixels of one label side by side in a row.
#[derive(Clone, Copy, Debug)]
struct Run {
    from: usize,
    to: usize,
    label: u8,
    patch: usize,
}

/// All patches of a picture.
#[derive(Debug)]
pub(crate) struct Patches {
    /// Runs of every row, left to right.
    rows: Vec<Vec<Run>>,
    pub(crate) patches: Vec<Patch>,
}

/// What is known of one patch.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Patch {
    pub(crate) label: u8,
    pub(crate) n_pixels: usize,
    /// Whether it reaches the frame of the picture.
    pub(crate) at_frame: bool,
}

/// Most rounds of merging specks into what is around them; heaps of specks grow together on the way.
const ROUNDS: usize = 4;

impl Patches {
    /// Returns the number of the patch a pixel belongs to.
    pub(crate) fn patch_at(&self, x: usize, y: usize) -> Option<usize> {
        let runs = self.rows.get(y)?;
        let after = runs.partition_point(|run| run.from <= x);
        runs.get(after.checked_sub(1)?).map(|run| run.patch)
    }

    /// Iterates over the runs of a row: the number of the patch, the first column and the one after the last.
    pub(crate) fn runs(&self, y: usize) -> impl Iterator<Item = (usize, usize, usize)> {
        self.rows.get(y).into_iter().flatten().map(|run| (run.patch, run.from, run.to))
    }

    /// Returns the label of the ground: what most of the frame shows, if it is more than half of it.
    pub(crate) fn ground(&self, labels: &Labels) -> Option<u8> {
        let mut lengths = [0_usize; 256];
        let (width, height) = (labels.width as isize, labels.height as isize);
        let top_and_bottom = (0..width).flat_map(|x| [(x, 0), (x, height - 1)]);
        let sides = (0..height).flat_map(|y| [(0, y), (width - 1, y)]);
        for (x, y) in top_and_bottom.chain(sides) {
            if let Some(length) = lengths.get_mut(usize::from(labels.at(x, y))) {
                *length += 1;
            }
        }
        let total: usize = lengths.iter().sum();
        let most = lengths.iter().position(|length| 2 * length > total)?;
        u8::try_from(most).ok().filter(|&label| label != OUTSIDE)
    }
}

/// Merges every patch of fewer than `least_pixels` into the neighbor it shares the longest edge with.
pub(crate) fn merge_specks(labels: &mut Labels, least_pixels: f64) -> Patches {
    let mut found = find(labels);
    for _ in 0..ROUNDS {
        let is_speck: Vec<bool> =
            found.patches.iter().map(|patch| (patch.n_pixels as f64) < least_pixels).collect();
        if !is_speck.contains(&true) || found.patches.len() == 1 {
            break;
        }
        paint_over(labels, &found, &is_speck);
        found = find(labels);
    }
    found
}

/// Finds all patches.
pub(crate) fn find(labels: &Labels) -> Patches {
    let mut rows: Vec<Vec<Run>> = Vec::with_capacity(labels.height);
    let mut parents: Vec<usize> = Vec::new();
    for row in labels.labels.chunks_exact(labels.width.max(1)) {
        let mut runs: Vec<Run> = Vec::new();
        let mut from = 0;
        for same in row.chunk_by(|one, other| one == other) {
            let Some(&label) = same.first() else { continue };
            runs.push(Run { from, to: from + same.len(), label, patch: parents.len() });
            parents.push(parents.len());
            from += same.len();
        }
        if let Some(above) = rows.last() {
            for_each_touch(above, &runs, |one, other, _| {
                if one.label == other.label {
                    join(&mut parents, one.patch, other.patch);
                }
            });
        }
        rows.push(runs);
    }
    // Roots are the smallest numbers of their sets, so they are met first.
    let mut numbers: Vec<usize> = Vec::with_capacity(parents.len());
    let mut n_patches = 0;
    for index in 0..parents.len() {
        let root = root(&mut parents, index);
        if root == index {
            numbers.push(n_patches);
            n_patches += 1;
        } else {
            numbers.push(numbers.get(root).copied().unwrap_or_default());
        }
    }
    let mut patches = vec![Patch { label: CLEAR_LABEL, n_pixels: 0, at_frame: false }; n_patches];
    let last_row = rows.len().saturating_sub(1);
    for (y, runs) in rows.iter_mut().enumerate() {
        for run in runs {
            run.patch = numbers.get(run.patch).copied().unwrap_or_default();
            let Some(patch) = patches.get_mut(run.patch) else { continue };
            patch.label = run.label;
            patch.n_pixels += run.to - run.from;
            patch.at_frame |= y == 0 || y == last_row || run.from == 0 || run.to == labels.width;
        }
    }
    Patches { rows, patches }
}

/// Calls for every pair of runs in two rows that touch, with the length they share.
fn for_each_touch(above: &[Run], below: &[Run], mut call: impl FnMut(&Run, &Run, usize)) {
    let mut first = 0;
    for run in below {
        while above.get(first).is_some_and(|other| other.to <= run.from) {
            first += 1;
        }
        let touching = above.get(first..).unwrap_or_default().iter();
        for other in touching.take_while(|other| other.from < run.to) {
            call(other, run, other.to.min(run.to) - other.from.max(run.from));
        }
    }
}

fn root(parents: &mut [usize], mut index: usize) -> usize {
    while let Some(&parent) = parents.get(index) {
        if parent == index {
            break;
        }
        let grandparent = parents.get(parent).copied().unwrap_or(parent);
        if let Some(slot) = parents.get_mut(index) {
            *slot = grandparent;
        }
        index = grandparent;
    }
    index
}

fn join(parents: &mut [usize], one: usize, other: usize) {
    let (one, other) = (root(parents, one), root(parents, other));
    if let Some(slot) = parents.get_mut(one.max(other)) {
        *slot = one.min(other);
    }
}

/// Gives the pixels of specks the label they share the longest edge with, that of no speck if there is one.
fn paint_over(labels: &mut Labels, found: &Patches, is_speck: &[bool]) {
    let speck = |run: &Run| is_speck.get(run.patch).copied().unwrap_or(false);
    // Edge lengths of each speck with the labels around it; ordered, so that ties always fall the same way.
    let mut edges: Vec<(usize, (bool, u8), usize)> = Vec::new();
    let mut note = |one: &Run, other: &Run, length: usize| {
        if one.label == other.label {
            return;
        }
        for (run, around) in [(one, other), (other, one)] {
            if speck(run) {
                edges.push((run.patch, (speck(around), around.label), length));
            }
        }
    };
    for (y, runs) in found.rows.iter().enumerate() {
        for pair in runs.windows(2) {
            if let [one, other] = pair {
                note(one, other, 1);
            }
        }
        if let Some(above) = y.checked_sub(1).and_then(|y| found.rows.get(y)) {
            for_each_touch(above, runs, &mut note);
        }
    }
    edges.sort_unstable();
    let mut best: Vec<Option<(bool, usize, u8)>> = vec![None; found.patches.len()];
    for same in edges.chunk_by(|one, other| one.0 == other.0 && one.1 == other.1) {
        let Some(&(patch, (is_speck, label), _)) = same.first() else { continue };
        let length: usize = same.iter().map(|(_, _, length)| length).sum();
        let Some(best) = best.get_mut(patch) else { continue };
        let better = best.is_none_or(|(known_speck, known, _)| {
            (known_speck, length) > (is_speck, known) && known_speck >= is_speck
        });
        if better {
            *best = Some((is_speck, length, label));
        }
    }
    let rows = labels.labels.chunks_exact_mut(labels.width.max(1));
    for (row, runs) in rows.zip(&found.rows) {
        for run in runs {
            let Some(&Some((_, _, label))) = best.get(run.patch) else { continue };
            if speck(run)
                && let Some(pixels) = row.get_mut(run.from..run.to)
            {
                pixels.fill(label);
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn labels(rows: &[&str]) -> Labels {
        let width = rows.first().map_or(0, |row| row.len());
        let labels = rows.iter().flat_map(|row| row.bytes().map(|byte| byte - b'0')).collect();
        Labels { width, height: rows.len(), labels }
    }

    #[test]
    fn pixels_that_touch_by_their_sides_are_one_patch_and_by_their_corners_are_two() {
        let found = find(&labels(&["1121", "2121", "2221", "1111"]));
        let sizes: Vec<(u8, usize)> =
            found.patches.iter().map(|patch| (patch.label, patch.n_pixels)).collect();
        assert_eq!(sizes, [(1, 3), (2, 6), (1, 7)]);
        assert_eq!(found.patch_at(0, 3), found.patch_at(3, 0));
        assert!(found.patches.iter().all(|patch| patch.at_frame));
    }

    #[test]
    fn a_speck_takes_the_color_it_has_most_edge_with() {
        let mut picture = labels(&["11111", "11211", "33333", "33333"]);
        merge_specks(&mut picture, 2.0);
        assert_eq!(picture.labels, labels(&["11111", "11111", "33333", "33333"]).labels);
    }

    #[test]
    fn the_ground_is_what_most_of_the_frame_shows() {
        let picture = labels(&["1111", "1221", "1221", "2211"]);
        assert_eq!(find(&picture).ground(&picture), Some(1));
        let halves = labels(&["1122", "1122"]);
        assert_eq!(find(&halves).ground(&halves), None);
    }
}
