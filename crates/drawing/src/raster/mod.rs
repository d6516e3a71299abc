//! What is drawn in this picture made of pixels?
//!
//! A PNG, JPEG or WebP becomes the same [`Artwork`] an SVG drawing becomes: patches of one color each, side by side.
//! In order: the picture is decoded upright (at most 40 million pixels; more than 8 million are averaged down),
//! its few colors are found, every pixel is given to one of them (where shades run into each other, to what most around
//! it are), specks smaller than a dot go to what is
//! around them, the ground that shows along more than half of the frame is left out wherever it reaches the frame, and
//! every other patch is outlined.
//! What is clear is left out too.
//!
//! Scanned line art needs nothing of its own: black lines are patches, and so is each white field they enclose, while
//! the white around them is the ground.
//!
//! Two neighbors share their edge to the last bit: it is traced once, to a part of a pixel, from how much of each
//! color the pixels on it hold.
//!
//! # Worked example
//! A red square of 40 × 40 pixels in a white picture of 60 × 60: white is the ground, red covers 1600 pixels.
//! ```
//! use drawing::raster::{TraceOptions, trace};
//! # use image::{ExtendedColorType, ImageEncoder, codecs::png::PngEncoder};
//!
//! let mut rgb = vec![255_u8; 60 * 60 * 3];
//! for y in 10..50 {
//!     for x in 10..50 {
//!         rgb[(y * 60 + x) * 3..][..3].copy_from_slice(&[200, 30, 60]);
//!     }
//! }
//! # let mut png = Vec::new();
//! # PngEncoder::new(&mut png).write_image(&rgb, 60, 60, ExtendedColorType::Rgb8)?;
//! let traced = trace(&png, &TraceOptions::default())?;
//! assert_eq!(traced.n_patches, 1);
//! let palette: Vec<String> = traced.palette.iter().map(|color| color.to_hex()).collect();
//! assert_eq!(palette, ["#ffffff", "#c81e3c"]);
//! assert_eq!(traced.ground.map(|ground| ground.to_hex()).as_deref(), Some("#ffffff"));
//! # Ok::<(), Box<dyn std::error::Error>>(())
//! ```

pub(crate) mod contour;
pub(crate) mod decode;
pub(crate) mod fit;
pub(crate) mod labels;
pub(crate) mod palette;
pub(crate) mod patch;

use std::collections::BTreeMap;

use kurbo::{Affine, BezPath, Point, Rect};
use quantity::{Area, Length};

pub(crate) use crate::raster::decode::{file_ending, n_pixels};
pub use crate::raster::palette::ColorCount;
use crate::{
    artwork::{Artwork, Curve, Enclosed, Painted},
    color::Color,
    error::Error,
    raster::{
        contour::{Chain, Ring, Source},
        decode::Pixels,
        palette::{CLEAR_LABEL, Palette},
        patch::Patches,
    },
    region::FillRule,
};

/// Pixels traced at most; a larger picture is averaged down.
///
/// At 80 mm that is 35 pixels in a millimeter, four times what a tip can show.
const MOST_TRACED_PIXELS: usize = 8_000_000;

/// How far, in pixels, the curves of an anti-aliased edge may stray from where it was found.
pub(crate) const SHARP: f64 = 0.2;

/// The same where shades run into each other, and no edge is better known than to a pixel.
const SHADED: f64 = 0.6;

/// How to read a picture made of pixels.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct TraceOptions {
    /// Number of colors, 1 to 12; proposed if not given.
    pub n_colors: Option<usize>,
    /// How long the longer side of the picture will be on the cookie; it tells how many pixels a dot has.
    pub longer_side: Length,
    /// What is smaller than this is no dot but a speck.
    pub least_dot: Area,
    /// Seed of the choice of first colors where the picture is not flat.
    pub seed: u64,
}

impl Default for TraceOptions {
    /// A picture of 80 mm whose smallest dot is 0.8 mm across, as the finest round tips pipe (common practice, no source).
    fn default() -> Self {
        Self {
            n_colors: None,
            longer_side: Length::mm(80.0),
            least_dot: Area::mm2(std::f64::consts::PI * 0.4 * 0.4),
            seed: 0,
        }
    }
}

/// What a picture made of pixels became.
#[derive(Clone, Debug)]
pub struct Trace {
    /// Patches as painted shapes, the largest first; none lies on another.
    pub artwork: Artwork,
    /// Colors found, those of the ground and of nothing that is left included.
    pub palette: Vec<Color>,
    /// Why so many.
    pub color_count: ColorCount,
    /// Color of the ground that was left out; white if what is left out is clear.
    pub ground: Option<Color>,
    /// Patches in the artwork.
    pub n_patches: usize,
}

/// Reads a PNG, JPEG or WebP picture.
pub fn trace(bytes: &[u8], options: &TraceOptions) -> Result<Trace, Error> {
    let (pixels, _) = decode::decode(bytes, MOST_TRACED_PIXELS)?;
    let longer = pixels.width.max(pixels.height) as f64;
    let pixels_per_mm = longer / options.longer_side.to_mm();
    let least_pixels = options.least_dot.to_mm2() * pixels_per_mm * pixels_per_mm;
    // Written so that a size that is not a number makes no speck.
    let least_pixels = if least_pixels > 1.0 { least_pixels } else { 1.0 };
    trace_pixels(&pixels, options, least_pixels)
}

fn trace_pixels(
    pixels: &Pixels,
    options: &TraceOptions,
    least_pixels: f64,
) -> Result<Trace, Error> {
    let flat = palette::flat(pixels);
    let palette = palette::find(pixels, &flat, options.n_colors, least_pixels, options.seed);
    let mut labels = labels::assign(pixels, &flat, &palette);
    if palette.count != ColorCount::Flat {
        labels.smooth();
    }
    let patches = patch::merge_specks(&mut labels, least_pixels);
    let ground = patches.ground(&labels);
    let is_kept: Vec<bool> = patches
        .patches
        .iter()
        .map(|patch| patch.label != CLEAR_LABEL && !(Some(patch.label) == ground && patch.at_frame))
        .collect();
    let source = Source { labels: &labels, pixels, palette: &palette };
    let rings = contour::rings(&source, |x, y| {
        patches.patch_at(x, y).and_then(|patch| is_kept.get(patch)).copied().unwrap_or(false)
    });
    let tolerance = if palette.count == ColorCount::Flat { SHARP } else { SHADED };
    let shapes = shapes(rings, &patches, &palette, tolerance);
    if shapes.is_empty() {
        return Err(Error::NothingPainted);
    }
    let (width, height) = (pixels.width as f64, pixels.height as f64);
    let n_patches = shapes.len();
    let artwork = Artwork {
        shapes,
        outline: Vec::new(),
        n_outlines: 0,
        clips: Vec::new(),
        layers: Vec::new(),
        masks: Vec::new(),
        frame: Some(Rect::new(0.0, 0.0, width, height)),
        width,
        mm_per_unit: None,
        notes: Vec::new(),
    };
    let ground = ground.map(|label| color_of(label, &palette).unwrap_or(Color::WHITE));
    let Palette { colors, count, .. } = palette;
    Ok(Trace { artwork, palette: colors, color_count: count, ground, n_patches })
}

fn color_of(label: u8, palette: &Palette) -> Option<Color> {
    palette.colors.get(usize::from(label).checked_sub(1)?).copied()
}

/// Makes one painted shape of the rings of each patch.
fn shapes(rings: Vec<Ring>, patches: &Patches, palette: &Palette, tolerance: f64) -> Vec<Painted> {
    let mut smoothed = BTreeMap::new();
    let mut paths: BTreeMap<usize, BezPath> = BTreeMap::new();
    for ring in rings {
        let Some(patch) = patches.patch_at(ring.x, ring.y) else { continue };
        let corners: Vec<[f64; 2]> =
            ring.chains.iter().flat_map(|chain| smooth(chain, tolerance, &mut smoothed)).collect();
        let path = paths.entry(patch).or_default();
        let mut points = corners.iter().map(|&[x, y]| Point::new(x, y));
        if corners.len() >= 3
            && let Some(first) = points.next()
        {
            path.move_to(first);
            points.for_each(|point| path.line_to(point));
            path.close_path();
        }
    }
    let mut largest_first: Vec<(usize, BezPath)> = paths.into_iter().collect();
    let n_pixels = |patch: usize| patches.patches.get(patch).map_or(0, |patch| patch.n_pixels);
    largest_first.sort_by_key(|&(patch, _)| std::cmp::Reverse(n_pixels(patch)));
    let kept = largest_first.into_iter().filter(|(_, path)| !path.elements().is_empty());
    kept.enumerate()
        .filter_map(|(index, (patch, path))| {
            let color = color_of(patches.patches.get(patch)?.label, palette)?;
            let enclosed = Enclosed { path, transform: Affine::IDENTITY, rule: FillRule::EvenOdd };
            Some(Painted {
                id: format!("s{}", index + 1),
                curve: Curve::Inside(enclosed),
                color,
                opacity: 1.0,
                gradient: None,
                is_text: false,
                clip: None,
                layer: None,
            })
        })
        .collect()
}

/// Smooths an edge the same way from both of its sides; the last corner is left to the next chain.
fn smooth(
    chain: &Chain,
    tolerance: f64,
    smoothed: &mut BTreeMap<[usize; 2], Vec<[f64; 2]>>,
) -> Vec<[f64; 2]> {
    let Chain { points, ends: [first, last], is_closed } = chain;
    if *is_closed {
        return smooth_loop(points, tolerance);
    }
    let is_forward = first <= last;
    let key = if is_forward { [*first, *last] } else { [*last, *first] };
    // A chain of one side of a pixel has the same number at both ends: its points tell the way.
    let is_forward = if first == last { points.first() <= points.last() } else { is_forward };
    let corners = smoothed.entry(key).or_insert_with(|| {
        let mut points = points.clone();
        if !is_forward {
            points.reverse();
        }
        fit::smooth_open(&points, tolerance)
    });
    let mut corners = corners.clone();
    if !is_forward {
        corners.reverse();
    }
    corners.pop();
    corners
}

/// Smooths a closed edge, begun and run the same way from both sides.
fn smooth_loop(points: &[[f64; 2]], tolerance: f64) -> Vec<[f64; 2]> {
    let mut around = points.to_vec();
    let least = around
        .iter()
        .enumerate()
        .min_by(|(_, one), (_, other)| {
            one[1].total_cmp(&other[1]).then(one[0].total_cmp(&other[0]))
        })
        .map_or(0, |(index, _)| index);
    around.rotate_left(least);
    let is_forward = match (around.get(1), around.last()) {
        (Some(next), Some(last)) => next <= last,
        _ => true,
    };
    if !is_forward {
        around.reverse();
        around.rotate_right(1);
    }
    let mut corners = fit::smooth_closed(&around, tolerance);
    if !is_forward {
        corners.reverse();
    }
    corners
}
