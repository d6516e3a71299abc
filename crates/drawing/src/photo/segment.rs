//! Which part of the paper does the cutter or the drawn line enclose?
//!
//! The photograph is laid flat, so that a pixel is a fixed part of a millimeter, and divided by the light on the bare
//! paper: a surface of second degree in x and y fitted to what is no darker and no brighter than the rest.
//! What is left is 1 on paper, less in shadow.
//!
//! A cutter seen from above is a narrow band: dark metal, metal as bright as a lamp, or colored plastic.
//! - What is darker than all around it within 2.5 mm (a closing less the picture) or brighter (the picture less an
//!   opening) is narrow; a shadow is wide and soft, so it is neither.
//!   (J. Serra, Image Analysis and Mathematical Morphology, 1982: top-hat transforms.)
//! - What has another color than the paper belongs to it however wide it is, and so does what is nearly black.
//!
//! The band need not be closed: glare may match the paper, so gaps of up to 10 mm are bridged to find one place inside
//! and one outside.
//! From there both grow over the response like water over land (F. Meyer, "Color image segmentation", 1992: watershed
//! from markers), so that they meet on the crest of the band, and in a gap halfway.

use std::collections::VecDeque;

use crate::{
    photo::{
        linear::Normal,
        plane::{Plane, color_at},
    },
    raster::{decode::Pixels, labels::Labels, patch},
};

/// Half the width, mm, of what counts as narrow: a rim is 0.5 to 3 mm wide (common practice, no source).
const NARROW_MM: f64 = 2.5;

/// Halves of the gaps bridged, mm, one after the other until something is enclosed.
const HALF_GAPS_MM: [f64; 3] = [1.0, 2.5, 5.0];

/// Least difference from the paper, which is 1.
const LEAST_RESPONSE: f32 = 0.10;

/// Paper in a hard shadow is still brighter than this; black plastic is darker.
const BLACK: f32 = 0.35;

/// Smallest area enclosed once the band is widened, mm²: a cutter of 10 mm has it.
const LEAST_AREA_MM2: f64 = 40.0;

/// Smallest field beside it that is enclosed by the same band, mm²: smaller ones are flooded from around.
const LEAST_FIELD_MM2: f64 = 4.0;

/// A photograph laid flat on the paper.
#[derive(Clone, Debug)]
pub(super) struct Flat {
    /// Millimeters of the left top corner.
    pub(super) origin_mm: [f64; 2],
    pub(super) pixels_per_mm: f64,
    channels: [Plane; 3],
    /// Whether a pixel shows paper or what lies on it.
    is_open: Vec<bool>,
}

/// A band that encloses something.
#[derive(Clone, Debug)]
pub(super) struct Band {
    /// 1 for what lies within the crest of the band.
    pub(super) inside: Labels,
    /// How much each pixel differs from paper and shadow.
    pub(super) response: Plane,
    /// Response from which on it is no noise.
    pub(super) least: f32,
}

/// Lays the photograph flat: the box from `low_mm` to `high_mm` less what `is_open` leaves out.
pub(super) fn lay_flat(
    pixels: &Pixels,
    [low_mm, high_mm]: [[f64; 2]; 2],
    pixels_per_mm: f64,
    to_photo: impl Fn([f64; 2]) -> [f64; 2],
    is_open: impl Fn([f64; 2]) -> bool,
) -> Flat {
    let n_pixels = |axis: usize| ((high_mm[axis] - low_mm[axis]) * pixels_per_mm).ceil() as usize;
    let (width, height) = (n_pixels(0).max(1), n_pixels(1).max(1));
    let mut channels = [(); 3].map(|()| Plane::filled(width, height, 0.0));
    let mut open = vec![false; width * height];
    for y in 0..height {
        for x in 0..width {
            let at_mm = [
                low_mm[0] + (x as f64 + 0.5) / pixels_per_mm,
                low_mm[1] + (y as f64 + 0.5) / pixels_per_mm,
            ];
            let at = to_photo(at_mm);
            let in_frame = 0.0 <= at[0]
                && at[0] <= pixels.width as f64
                && 0.0 <= at[1]
                && at[1] <= pixels.height as f64;
            let index = y * width + x;
            if let Some(slot) = open.get_mut(index) {
                *slot = in_frame && is_open(at_mm);
            }
            for (plane, value) in channels.iter_mut().zip(color_at(pixels, at)) {
                if let Some(slot) = plane.values.get_mut(index) {
                    *slot = value as f32;
                }
            }
        }
    }
    Flat { origin_mm: low_mm, pixels_per_mm, channels, is_open: open }
}

/// Finds the band on the paper that encloses most; `dark_only` where it is drawn with a pen.
pub(super) fn band(flat: &Flat, dark_only: bool) -> Result<Band, &'static str> {
    let response = response(flat, dark_only);
    let least = least_response(&response, &flat.is_open);
    let seen = response.map(|own| if own > least { 1.0 } else { 0.0 });
    let markers = HALF_GAPS_MM
        .iter()
        .find_map(|half_gap_mm| {
            let half_gap = (half_gap_mm * flat.pixels_per_mm).round().max(1.0) as usize;
            markers(&seen, half_gap, flat.pixels_per_mm)
        })
        .ok_or("nothing on it closes a field of its own")?;
    let labels = flooded(&response, least, &markers).into_iter().map(u8::from).collect();
    let inside = Labels { width: response.width, height: response.height, labels };
    Ok(Band { inside, response, least })
}

/// Returns how much each pixel differs from paper and shadow.
fn response(flat: &Flat, dark_only: bool) -> Plane {
    let [red, green, blue] = &flat.channels;
    let evened = [red, green, blue].map(|plane| divide_by_light(plane, &flat.is_open).softened());
    let [red, green, blue] = &evened;
    let gray = red.zip(green, |a, b| a + b).zip(blue, |a, b| (a + b) / 3.0);
    let reach = (NARROW_MM * flat.pixels_per_mm).round().max(1.0) as usize;
    let closing = gray.largest_within(reach).smallest_within(reach);
    let darker = closing.zip(&gray, |around, own| around - own);
    if dark_only {
        return darker;
    }
    let opening = gray.smallest_within(reach).largest_within(reach);
    let narrow = gray.zip(&opening, |own, around| own - around).zip(&darker, f32::max);
    let black = gray.map(|own| if own < BLACK { 1.0 - own } else { 0.0 });
    // A colored light tints shadows a little; half of the tint is let go.
    let tint = |one: &Plane, other: &Plane| {
        one.zip(other, |one, other| (one - other).abs() / one.max(other).max(0.1) / 2.0)
    };
    let tinted = tint(red, green).zip(&tint(green, blue), f32::max).zip(&tint(red, blue), f32::max);
    narrow.zip(&black, f32::max).zip(&tinted, f32::max)
}

/// Divides a channel by the light on the bare paper; what is not open becomes paper.
fn divide_by_light(plane: &Plane, is_open: &[bool]) -> Plane {
    /// Every such pixel of every such row is looked at: light changes slowly.
    const STEP: usize = 5;
    let (width, height) = (plane.width, plane.height);
    let place = |x: usize, y: usize| {
        let (x, y) = (x as f64 / width as f64 - 0.5, y as f64 / height as f64 - 0.5);
        [1.0, x, y, x * x, x * y, y * y]
    };
    let mut samples: Vec<([f64; 6], f64)> = Vec::new();
    for y in (0..height).step_by(STEP) {
        for x in (0..width).step_by(STEP) {
            let index = y * width + x;
            if is_open.get(index) == Some(&true)
                && let Some(&value) = plane.values.get(index)
            {
                samples.push((place(x, y), f64::from(value)));
            }
        }
    }
    let mut middle: Vec<f64> = samples.iter().map(|(_, value)| *value).collect();
    middle.sort_by(f64::total_cmp);
    let median = middle.get(middle.len() / 2).copied().unwrap_or(255.0);
    let mut light = [median, 0.0, 0.0, 0.0, 0.0, 0.0];
    let at = |light: &[f64; 6], place: [f64; 6]| {
        light.iter().zip(place).map(|(a, b)| a * b).sum::<f64>().max(1.0)
    };
    // Ever narrower around the surface: first shadows and cutters leave it, then their rims.
    for tolerance in [0.35, 0.25, 0.15, 0.1, 0.08, 0.08] {
        let mut normal = Normal::<6>::new();
        for &(place, value) in &samples {
            if (value / at(&light, place) - 1.0).abs() <= tolerance {
                normal.add(place, value, 1.0);
            }
        }
        let Some(fitted) = normal.solve() else { break };
        light = fitted;
    }
    let mut evened = Plane::filled(width, height, 1.0);
    for y in 0..height {
        for x in 0..width {
            let index = y * width + x;
            if is_open.get(index) == Some(&true)
                && let (Some(&value), Some(slot)) =
                    (plane.values.get(index), evened.values.get_mut(index))
            {
                *slot = (f64::from(value) / at(&light, place(x, y))) as f32;
            }
        }
    }
    evened
}

/// Returns the response from which on it is no noise: six standard deviations of the bare paper above its median.
fn least_response(response: &Plane, is_open: &[bool]) -> f32 {
    let open = response.values.iter().zip(is_open).filter(|(_, open)| **open);
    let mut values: Vec<f32> = open.step_by(7).map(|(value, _)| *value).collect();
    values.sort_by(f32::total_cmp);
    let at = |share: f64| {
        values.get((values.len() as f64 * share) as usize).copied().unwrap_or_default()
    };
    // Most of the paper is bare, so the lower quarter and the median tell its spread.
    let (median, deviation) = (at(0.5), (at(0.5) - at(0.25)) * 1.48);
    LEAST_RESPONSE.max(median + 6.0 * deviation)
}

/// Where a pixel lies with respect to the band.
#[derive(Clone, Copy, Debug, PartialEq)]
enum Field {
    Inside,
    Outside,
    Unknown,
}

/// Finds fields surely inside and surely outside of a band, if it encloses anything once it is widened by half a gap.
fn markers(seen: &Plane, half_gap: usize, pixels_per_mm: f64) -> Option<Vec<Field>> {
    let (width, height) = (seen.width, seen.height);
    let widened = seen.largest_within(half_gap);
    let labels = widened.values.iter().map(|value| u8::from(*value > 0.5)).collect();
    let found = patch::find(&Labels { width, height, labels });
    let is_field = |number: usize| found.patches.get(number).is_some_and(|patch| patch.label == 0);
    let mm2 = |number: usize| {
        let n_pixels = found.patches.get(number).map_or(0, |patch| patch.n_pixels);
        n_pixels as f64 / (pixels_per_mm * pixels_per_mm)
    };
    let at_frame = |number: usize| found.patches.get(number).is_some_and(|patch| patch.at_frame);
    let largest = (0..found.patches.len())
        .filter(|&number| is_field(number) && !at_frame(number) && mm2(number) >= LEAST_AREA_MM2)
        .max_by_key(|&number| found.patches.get(number).map(|patch| patch.n_pixels))?;
    // Which field touches which part of the band.
    let mut touches: Vec<(usize, usize)> = Vec::new();
    for y in 0..height {
        for (number, from, to) in found.runs(y) {
            let right = found.patch_at(to, y).filter(|_| to < width).map(|other| (number, other));
            touches.extend(right);
            let below = (from..to).filter_map(|x| found.patch_at(x, y + 1));
            touches.extend(below.filter(|&other| other != number).map(|other| (number, other)));
        }
    }
    let mut touches: Vec<(usize, usize)> = touches
        .into_iter()
        .map(|(one, other)| if is_field(one) { (one, other) } else { (other, one) })
        .collect();
    touches.sort_unstable();
    touches.dedup();
    let touches_field = |band: usize, wanted: &dyn Fn(usize) -> bool| {
        touches.iter().any(|&(field, other)| other == band && wanted(field))
    };
    let is_ring = |band: usize| {
        touches_field(band, &at_frame) && touches_field(band, &|field| field == largest)
    };
    let is_inside = |number: usize| {
        number == largest
            || (mm2(number) >= LEAST_FIELD_MM2
                && touches.iter().any(|&(field, band)| field == number && is_ring(band)))
    };
    let kinds: Vec<Field> = (0..found.patches.len())
        .map(|number| match (is_field(number), at_frame(number)) {
            (true, true) => Field::Outside,
            (true, false) if is_inside(number) => Field::Inside,
            _ => Field::Unknown,
        })
        .collect();
    let mut fields = vec![Field::Unknown; width * height];
    for y in 0..height {
        for (number, from, to) in found.runs(y) {
            if let (Some(row), Some(&kind)) =
                (fields.get_mut(y * width + from..y * width + to), kinds.get(number))
            {
                row.fill(kind);
            }
        }
    }
    Some(fields)
}

/// Lets inside and outside grow from their markers, low response first, and tells what became inside.
fn flooded(response: &Plane, least: f32, markers: &[Field]) -> Vec<bool> {
    /// Steps of height.
    const LEVELS: usize = 256;
    let level = |index: usize| {
        let own = response.values.get(index).copied().unwrap_or_default();
        // Noise is level ground; casts from a float keep within the range of the integer.
        (((own - least / 2.0).max(0.0) * 255.0) as usize).min(LEVELS - 1)
    };
    let mut fields = markers.to_vec();
    let mut waiting: Vec<VecDeque<usize>> = vec![VecDeque::new(); LEVELS];
    let known = (0..fields.len()).filter(|&index| markers.get(index) != Some(&Field::Unknown));
    for index in known {
        // Only what has an unknown neighbor can grow.
        let grows = neighbors(index, response.width, markers.len())
            .any(|next| markers.get(next) == Some(&Field::Unknown));
        if grows && let Some(queue) = waiting.first_mut() {
            queue.push_back(index);
        }
    }
    for now in 0..LEVELS {
        while let Some(index) = waiting.get_mut(now).and_then(VecDeque::pop_front) {
            let Some(&own) = fields.get(index) else { continue };
            for next in neighbors(index, response.width, markers.len()) {
                if let Some(field) = fields.get_mut(next).filter(|field| **field == Field::Unknown)
                {
                    *field = own;
                    if let Some(queue) = waiting.get_mut(level(next).max(now)) {
                        queue.push_back(next);
                    }
                }
            }
        }
    }
    fields.into_iter().map(|field| field == Field::Inside).collect()
}

/// Iterates over the pixels that share a side with this one.
fn neighbors(index: usize, width: usize, n_pixels: usize) -> impl Iterator<Item = usize> {
    let x = index % width.max(1);
    let left = (x > 0).then(|| index - 1);
    let right = (x + 1 < width).then_some(index + 1);
    let above = index.checked_sub(width);
    let below = Some(index + width).filter(|&below| below < n_pixels);
    [left, right, above, below].into_iter().flatten()
}
