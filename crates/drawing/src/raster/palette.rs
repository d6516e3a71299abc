//! Which few colors is this picture made of?
//!
//! Colors are counted where the picture is flat: in squares of 2 × 2 pixels that hardly differ.
//! What lies between two colors along an edge is never flat, so the colors of anti-aliasing do not count.
//! The counts stand in a histogram of 32 steps a channel, so that the work does not grow with the picture.
//!
//! *Flat art* has no more than twelve heaps in that histogram: each is a color, and there is nothing to choose.
//! *Anything else* is divided by k-means in Oklab, seeded by k-means++ (Arthur and Vassilvitskii, 2007), for 2 to 12 colors;
//! the number proposed is where the curve of the mean distance bends most, farthest below the straight line between
//! its ends, or more if some color of the picture would be lost with that: if more than one part in a hundred of it would look
//! clearly different.
//!
//! Oklab: B. Ottosson, "A perceptual color space for image processing", 2020; distance is Euclidean, white to black is 1.

use crate::{color::Color, raster::decode::Pixels};

/// Most colors proposed: more bowls than anybody mixes for one cookie (common practice, no source).
pub(crate) const MOST_COLORS: usize = 12;

/// Fewest colors proposed where the picture is not flat.
const LEAST_COLORS: usize = 2;

/// Two pixels of one flat patch differ by no more than this in any channel: JPEG noise at usual quality stays below.
const FLAT_STEP: u8 = 10;

/// Heaps nearer than this in Oklab are one color; it is about three times what is just seen.
const ONE_COLOR: f64 = 0.045;

/// Part of the flat pixels that the heaps must hold for the picture to count as flat art.
const FLAT_SHARE: f64 = 0.97;

/// A color is lost if the one it becomes is farther off in hue and chroma (a and b of Oklab): a red that became brown.
const LOST: f64 = 0.06;

/// Part of the picture that may be lost.
const LOST_SHARE: f64 = 0.01;

/// Rounds of k-means; the centers have long come to rest by then.
const ROUNDS: usize = 12;

/// Starts of k-means: one alone may come to rest with two centers in one crowd.
const STARTS: usize = 5;

/// Opacity below which a pixel counts as clear, of 255.
const CLEAR: u8 = 24;

/// The number that labels what is clear.
pub(crate) const CLEAR_LABEL: u8 = 0;

/// Why a picture was divided into so many colors.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum ColorCount {
    /// The picture holds no more flat colors than this.
    Flat,
    /// The caller asked for so many.
    Asked,
    /// More colors gain little: the mean distance from a pixel to its color in Oklab (white to black is 1).
    Elbow {
        /// With the colors proposed.
        distance: f64,
        /// With one color fewer.
        distance_with_one_fewer: f64,
    },
}

/// Few colors that stand for all pixels.
#[derive(Clone, Debug)]
pub(crate) struct Palette {
    /// Each as it looks over white.
    pub(crate) colors: Vec<Color>,
    /// What each label mixes with at an edge: red, green, blue times opacity, and opacity, 0 to 255.
    /// The first is what is clear; label k is color k - 1.
    pub(crate) inks: Vec<[f32; 4]>,
    pub(crate) count: ColorCount,
    /// Label for each cell of the histogram.
    nearest: Vec<u8>,
}

/// One cell of the histogram that holds pixels.
#[derive(Clone, Copy, Debug)]
struct Heap {
    weight: f64,
    lab: [f64; 3],
    /// Sum of inks.
    ink: [f64; 4],
}

impl Palette {
    /// Returns the palette of a drawing in black, label 0, and white, label 1.
    pub(crate) fn black_and_white() -> Self {
        Self {
            colors: Vec::new(),
            inks: vec![ink([0, 0, 0, 255]), ink([255; 4])],
            count: ColorCount::Asked,
            nearest: Vec::new(),
        }
    }

    /// Returns the label of a pixel seen by itself.
    pub(crate) fn label(&self, pixel: [u8; 4]) -> u8 {
        match cell(pixel) {
            Some(cell) => self.nearest.get(cell).copied().unwrap_or(CLEAR_LABEL),
            None => CLEAR_LABEL,
        }
    }
}

/// Returns what a pixel mixes with at an edge.
pub(crate) fn ink([red, green, blue, alpha]: [u8; 4]) -> [f32; 4] {
    let opacity = f32::from(alpha) / 255.0;
    let [red, green, blue] = [red, green, blue].map(|channel| f32::from(channel) * opacity);
    [red, green, blue, f32::from(alpha)]
}

/// Returns the cell of the histogram a pixel falls into over white, or `None` if it is clear.
fn cell([red, green, blue, alpha]: [u8; 4]) -> Option<usize> {
    if alpha < CLEAR {
        return None;
    }
    let over_white = |channel: u8| match alpha {
        255 => usize::from(channel),
        _ => (usize::from(channel) * usize::from(alpha) + 255 * (255 - usize::from(alpha))) / 255,
    };
    let [red, green, blue] = [red, green, blue].map(|channel| over_white(channel) >> 3);
    Some((red << 10) | (green << 5) | blue)
}

/// Marks the pixels that lie in a square of 2 × 2 that hardly differ.
pub(crate) fn flat(pixels: &Pixels) -> Vec<bool> {
    let width = pixels.width;
    let mut flat = vec![false; pixels.rgba.len()];
    let rows = pixels.rgba.chunks_exact(width.max(1));
    for (y, (above, below)) in rows.clone().zip(rows.skip(1)).enumerate() {
        let Some(marks) = flat.get_mut(y * width..(y + 2) * width) else { break };
        let (marks_above, marks_below) = marks.split_at_mut(width);
        let squares = above.windows(2).zip(below.windows(2));
        for (x, square) in squares.enumerate() {
            let ([a, b], [c, d]) = square else { continue };
            if alike(*a, *b) && alike(*c, *d) && alike(*a, *c) && alike(*b, *d) && alike(*a, *d) {
                for marks in [&mut *marks_above, &mut *marks_below] {
                    if let Some(pair) = marks.get_mut(x..x + 2) {
                        pair.fill(true);
                    }
                }
            }
        }
    }
    flat
}

fn alike(one: [u8; 4], other: [u8; 4]) -> bool {
    one == other
        || (one[3] < CLEAR && other[3] < CLEAR)
        || one.iter().zip(other).all(|(one, other)| one.abs_diff(other) <= FLAT_STEP)
}

/// Finds the colors of a picture; a color that covers fewer than `least_pixels` flat pixels is none.
pub(crate) fn find(
    pixels: &Pixels,
    flat: &[bool],
    asked: Option<usize>,
    least_pixels: f64,
    seed: u64,
) -> Palette {
    let (heaps, cells) = heaps(pixels, flat);
    let total: f64 = heaps.iter().map(|heap| heap.weight).sum();
    let modes = modes(&heaps, least_pixels);
    let in_modes: f64 = modes.iter().map(|mode| mode.weight).sum();
    let limit = asked.unwrap_or(MOST_COLORS).clamp(1, MOST_COLORS);
    let (centers, count) = if modes.len() <= limit && in_modes >= FLAT_SHARE * total {
        (modes.iter().map(|mode| mode.lab).collect(), ColorCount::Flat)
    } else if asked.is_some() {
        (k_means(&heaps, limit, seed).0, ColorCount::Asked)
    } else {
        elbow(&heaps, seed)
    };
    fill(&heaps, &cells, &centers, count)
}

/// Counts the flat pixels, or all if few are flat; returns the heaps and the cell of each.
fn heaps(pixels: &Pixels, flat: &[bool]) -> (Vec<Heap>, Vec<usize>) {
    let n_flat = flat.iter().filter(|&&is_flat| is_flat).count();
    let use_all = n_flat * 5 < flat.len();
    // Sums of whole numbers: no rounding, whatever the order.
    let mut sums = vec![[0_u64; 5]; 1 << 15];
    let mut last = ([0_u8; 4], None);
    for (&pixel, &is_flat) in pixels.rgba.iter().zip(flat) {
        if !is_flat && !use_all {
            continue;
        }
        if pixel != last.0 {
            last = (pixel, cell(pixel));
        }
        let Some(sum) = last.1.and_then(|cell| sums.get_mut(cell)) else { continue };
        let [red, green, blue, alpha] = pixel.map(u64::from);
        for (sum, part) in sum.iter_mut().zip([1, red * alpha, green * alpha, blue * alpha, alpha])
        {
            *sum += part;
        }
    }
    let mut heaps = Vec::new();
    let mut cells = Vec::new();
    for (cell, &[n, red, green, blue, alpha]) in sums.iter().enumerate() {
        if n == 0 {
            continue;
        }
        let ink = [red as f64 / 255.0, green as f64 / 255.0, blue as f64 / 255.0, alpha as f64];
        let weight = n as f64;
        heaps.push(Heap { weight, lab: oklab(over_white(ink, weight)), ink });
        cells.push(cell);
    }
    (heaps, cells)
}

/// Gathers heaps around the heaviest; leaves out what is too small to be a color of its own.
fn modes(heaps: &[Heap], least_pixels: f64) -> Vec<Heap> {
    let mut by_weight: Vec<&Heap> = heaps.iter().collect();
    by_weight.sort_by(|a, b| b.weight.total_cmp(&a.weight));
    let mut modes: Vec<Heap> = Vec::new();
    for heap in by_weight {
        let near = nearest(modes.iter().map(|mode| mode.lab), heap.lab);
        match near.filter(|(_, distance2)| *distance2 < ONE_COLOR * ONE_COLOR) {
            Some((index, _)) => {
                if let Some(mode) = modes.get_mut(index) {
                    mode.weight += heap.weight;
                }
            }
            // With so many, the picture is not flat art.
            None if modes.len() < 4 * MOST_COLORS => modes.push(*heap),
            None => {}
        }
    }
    modes.retain(|mode| mode.weight >= least_pixels);
    modes
}

/// Divides the heaps for every number of colors and proposes one.
fn elbow(heaps: &[Heap], seed: u64) -> (Vec<[f64; 3]>, ColorCount) {
    let tries: Vec<(Vec<[f64; 3]>, f64)> =
        (LEAST_COLORS - 1..=MOST_COLORS).map(|n| k_means(heaps, n, seed)).collect();
    let (first, last) = match (tries.first(), tries.last()) {
        (Some((_, first)), Some((_, last))) => (*first, *last),
        _ => (0.0, 0.0),
    };
    let steps = (tries.len().max(2) - 1) as f64;
    let mut best = (1, f64::NEG_INFINITY);
    for (index, (_, distance)) in tries.iter().enumerate().skip(1) {
        let chord = first + (last - first) * index as f64 / steps;
        if chord - distance > best.1 {
            best = (index, chord - distance);
        }
    }
    let is_enough = |index: &usize| {
        tries.get(*index).is_some_and(|(centers, _)| lost_share(heaps, centers) <= LOST_SHARE)
    };
    best.0 = (best.0..tries.len()).find(is_enough).unwrap_or(tries.len().saturating_sub(1));
    let distance_at = |index: usize| tries.get(index).map_or(0.0, |(_, distance)| *distance);
    let count = ColorCount::Elbow {
        distance: distance_at(best.0),
        distance_with_one_fewer: distance_at(best.0 - 1),
    };
    (tries.get(best.0).map(|(centers, _)| centers.clone()).unwrap_or_default(), count)
}

/// Returns the part of the picture whose color has no center near it.
fn lost_share(heaps: &[Heap], centers: &[[f64; 3]]) -> f64 {
    let is_lost = |heap: &&Heap| {
        let center = nearest(centers.iter().copied(), heap.lab).and_then(|(at, _)| centers.get(at));
        center.is_some_and(|[_, a, b]| (heap.lab[1] - a).hypot(heap.lab[2] - b) > LOST)
    };
    let lost: f64 = heaps.iter().filter(is_lost).map(|heap| heap.weight).sum();
    lost / heaps.iter().map(|heap| heap.weight).sum::<f64>().max(1.0)
}

/// Divides heaps among `n` centers; returns these and the root mean square distance, the best of a few starts.
fn k_means(heaps: &[Heap], n: usize, seed: u64) -> (Vec<[f64; 3]>, f64) {
    let mut random = SplitMix(seed);
    let starts = (0..STARTS).map(|_| from_one_start(heaps, n, &mut random));
    let best = starts.min_by(|(_, one), (_, other)| one.total_cmp(other));
    best.unwrap_or_default()
}

fn from_one_start(heaps: &[Heap], n: usize, random: &mut SplitMix) -> (Vec<[f64; 3]>, f64) {
    let mut centers: Vec<[f64; 3]> = Vec::new();
    let mut nearest2: Vec<f64> = vec![1.0; heaps.len()];
    while centers.len() < n {
        let chances = heaps.iter().zip(&nearest2).map(|(heap, near)| heap.weight * near);
        let total: f64 = chances.clone().sum();
        if total <= 0.0 {
            break;
        }
        let mut rest = random.unit() * total;
        let chosen = heaps.iter().zip(chances).find(|(_, chance)| {
            rest -= chance;
            rest < 0.0
        });
        let Some(heap) = chosen.map(|(heap, _)| heap).or(heaps.last()) else { break };
        let is_first = centers.is_empty();
        centers.push(heap.lab);
        for (near, other) in nearest2.iter_mut().zip(heaps) {
            let own = distance2(heap.lab, other.lab);
            *near = if is_first { own } else { near.min(own) };
        }
    }
    let mut spread = 0.0;
    for _ in 0..ROUNDS {
        let mut sums = vec![[0.0; 4]; centers.len()];
        let (mut squares, mut total) = (0.0, 0.0);
        for heap in heaps {
            let Some((index, d2)) = nearest(centers.iter().copied(), heap.lab) else { continue };
            squares += heap.weight * d2;
            total += heap.weight;
            if let Some(sum) = sums.get_mut(index) {
                for (sum, part) in sum.iter_mut().zip(heap.lab) {
                    *sum += heap.weight * part;
                }
                sum[3] += heap.weight;
            }
        }
        spread = if total > 0.0 { f64::sqrt(squares / total) } else { 0.0 };
        for (center, [l, a, b, weight]) in centers.iter_mut().zip(sums) {
            if weight > 0.0 {
                *center = [l / weight, a / weight, b / weight];
            }
        }
    }
    (centers, spread)
}

/// Gives every center its color and every cell its center.
fn fill(heaps: &[Heap], cells: &[usize], centers: &[[f64; 3]], count: ColorCount) -> Palette {
    let mut members: Vec<Vec<&Heap>> = vec![Vec::new(); centers.len()];
    for heap in heaps {
        if let Some((index, _)) = nearest(centers.iter().copied(), heap.lab)
            && let Some(members) = members.get_mut(index)
        {
            members.push(heap);
        }
    }
    let mut inks = vec![[0.0_f32; 4]];
    let mut colors = Vec::new();
    let mut labs = Vec::new();
    for members in members {
        let Some(heaviest) = members.iter().max_by(|a, b| a.weight.total_cmp(&b.weight)) else {
            continue;
        };
        let total: f64 = members.iter().map(|heap| heap.weight).sum();
        let near: Vec<&Heap> =
            if 2.0 * heaviest.weight >= total { vec![heaviest] } else { members.clone() };
        let weight: f64 = near.iter().map(|heap| heap.weight).sum();
        let mut sum = [0.0; 4];
        for heap in near {
            for (sum, part) in sum.iter_mut().zip(heap.ink) {
                *sum += part;
            }
        }
        let [red, green, blue] = over_white(sum, weight);
        labs.push(oklab([red, green, blue]));
        colors.push(Color {
            red: red.round() as u8,
            green: green.round() as u8,
            blue: blue.round() as u8,
        });
        inks.push(sum.map(|part| (part / weight) as f32));
    }
    let label =
        |lab| nearest(labs.iter().copied(), lab).map_or(CLEAR_LABEL, |(at, _)| at as u8 + 1);
    let middle = |index: usize| f64::from(((index & 31) << 3) as u8 | 4);
    let mut by_cell: Vec<u8> = (0..1_usize << 15)
        .map(|index| label(oklab([middle(index >> 10), middle(index >> 5), middle(index)])))
        .collect();
    for (heap, &cell) in heaps.iter().zip(cells) {
        if let Some(slot) = by_cell.get_mut(cell) {
            *slot = label(heap.lab);
        }
    }
    Palette { colors, inks, count, nearest: by_cell }
}

/// Returns the mean color of `weight` pixels over white, 0 to 255 a channel.
fn over_white([red, green, blue, alpha]: [f64; 4], weight: f64) -> [f64; 3] {
    [red, green, blue].map(|sum| (sum + 255.0 * weight - alpha) / weight)
}

/// Light that any surface throws back, as a share of white.
///
/// Without it Oklab sets shades apart that all look black (common practice, no source).
const FLARE: f64 = 0.005;

/// Converts from sRGB (IEC 61966-2-1), 0 to 255 a channel, seen with a little flare, to Oklab.
fn oklab(rgb: [f64; 3]) -> [f64; 3] {
    let linear = |channel: f64| {
        let share = channel / 255.0;
        if share <= 0.04045 { share / 12.92 } else { ((share + 0.055) / 1.055).powf(2.4) }
    };
    let [r, g, b] = rgb.map(linear).map(|light| FLARE + (1.0 - FLARE) * light);
    let l = (0.4122214708 * r + 0.5363325363 * g + 0.0514459929 * b).cbrt();
    let m = (0.2119034982 * r + 0.6806995451 * g + 0.1073969566 * b).cbrt();
    let s = (0.0883024619 * r + 0.2817188376 * g + 0.6299787005 * b).cbrt();
    [
        0.2104542553 * l + 0.7936177850 * m - 0.0040720468 * s,
        1.9779984951 * l - 2.4285922050 * m + 0.4505937099 * s,
        0.0259040371 * l + 0.7827717662 * m - 0.8086757660 * s,
    ]
}

fn distance2(one: [f64; 3], other: [f64; 3]) -> f64 {
    one.iter().zip(other).map(|(one, other)| (one - other) * (one - other)).sum()
}

/// Returns the index of the nearest point and its squared distance, the first of equals.
fn nearest(points: impl Iterator<Item = [f64; 3]>, to: [f64; 3]) -> Option<(usize, f64)> {
    let mut best: Option<(usize, f64)> = None;
    for (index, point) in points.enumerate() {
        let own = distance2(point, to);
        if best.is_none_or(|(_, least)| own < least) {
            best = Some((index, own));
        }
    }
    best
}

/// SplitMix64 (Steele, Lea and Flood, 2014): numbers by chance from a seed.
struct SplitMix(u64);

impl SplitMix {
    /// Returns the next number from 0 up to 1.
    fn unit(&mut self) -> f64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        ((z ^ (z >> 31)) >> 11) as f64 / (1_u64 << 53) as f64
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Published with Oklab: XYZ of the D65 white, and of red as sRGB has it, computed with the reference code (from memory).
    fn check_lightness(rgb: [f64; 3], expected: f64) {
        let [lightness, ..] = oklab(rgb);
        assert!((lightness - expected).abs() < 0.01, "{rgb:?}: {lightness}");
    }

    #[test]
    fn lightness_is_that_of_oklab_but_for_the_flare() {
        check_lightness([255.0; 3], 1.0);
        check_lightness([255.0, 0.0, 0.0], 0.628);
        check_lightness([0.0, 0.0, 255.0], 0.452);
        check_lightness([0.0; 3], FLARE.cbrt());
    }

    fn stripes(colors: &[[u8; 3]]) -> Pixels {
        let row = colors.iter().flat_map(|&[red, green, blue]| [[red, green, blue, 255]; 20]);
        let row: Vec<[u8; 4]> = row.collect();
        let width = row.len();
        Pixels { width, height: 20, rgba: row.repeat(20) }
    }

    #[test]
    fn flat_art_keeps_its_colors_to_the_last_bit() {
        let colors = [[255, 255, 255], [200, 30, 60], [201, 180, 60], [0, 0, 0]];
        let pixels = stripes(&colors);
        let found = find(&pixels, &flat(&pixels), None, 50.0, 0);
        assert_eq!(found.count, ColorCount::Flat);
        let mut hex: Vec<String> = found.colors.iter().map(|color| color.to_hex()).collect();
        hex.sort();
        assert_eq!(hex, ["#000000", "#c81e3c", "#c9b43c", "#ffffff"]);
    }

    #[test]
    fn a_run_of_many_shades_is_divided_where_more_colors_gain_little_and_as_asked() {
        // Three families of shades, more than there are bowls: the bend of the curve lies at three colors.
        let shades = (0..5_u8).flat_map(|step| {
            [[150 + 25 * step, 20, 20], [20, 110 + 25 * step, 20], [20, 20, 150 + 25 * step]]
        });
        let mut shades: Vec<[u8; 3]> = shades.collect();
        shades.sort_unstable();
        let pixels = stripes(&shades);
        let found = find(&pixels, &flat(&pixels), None, 50.0, 0);
        assert!(matches!(found.count, ColorCount::Elbow { .. }), "{:?}", found.count);
        assert_eq!(found.colors.len(), 3);
        for seed in 0..5 {
            let asked = find(&pixels, &flat(&pixels), Some(5), 50.0, seed);
            assert_eq!((asked.count, asked.colors.len()), (ColorCount::Asked, 5));
        }
    }
}
