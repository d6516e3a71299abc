//! What does this picture look like on the cookie, in millimeters?
//!
//! *The cutter shape* is what the element with the id `outline` encloses, whether it is filled, stroked or neither:
//! a stroke counts with its center line, open curves are closed, holes are filled, the largest part is kept.
//! The element is artwork too only if it has a visible fill; then its stroke is as well.
//! Without such an element the cutter shape is the silhouette of all paint, holes filled, grown by the border and
//! smoothed so that such a cutter can exist.
//!
//! *The scale* follows from the width asked for the cutter shape, else from the physical size the picture states.
//!
//! *Each fill and stroke* becomes a region, its curves replaced by chords at most 0.02 mm off, cut to its clips, the
//! picture's edges and the cutter shape.
//! Translucent paint, groups and masks become the opaque colors they show over what lies beneath, else over white:
//! one shape for each color.
//! What is seen of a shape is the shape minus everything painted above it.
//!
//! # Worked example
//! A disk of 60 mm with a bar across it, drawn in units of a tenth of an inch, cut 60 mm wide:
//! ```
//! use drawing::{Fonts, ReadOptions, import, read};
//! use quantity::Length;
//!
//! let svg = br##"<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 20 20">
//!   <circle id="outline" cx="10" cy="10" r="10" fill="#ffffff"/>
//!   <rect id="bar" y="8" width="20" height="4" fill="#c81e3c"/>
//! </svg>"##;
//! let artwork = import(svg, &Fonts::none())?;
//! let options = ReadOptions { width: Some(Length::mm(60.0)), border: Length::mm(3.0) };
//! let drawing = read(&artwork, &options)?;
//!
//! // Disk: π · 30² = 2827.4 mm². Bar, 12 mm high, inside the disk: 2 · (30² · asin(6/30) + 6 · √(30² - 6²)) = 715.2 mm².
//! let areas: Vec<f64> = drawing.shapes.iter().map(|shape| shape.visible.area().to_mm2()).collect();
//! assert!((areas[0] - (2827.4 - 715.2)).abs() < 3.0 && (areas[1] - 715.2).abs() < 1.0, "{areas:?}");
//! # Ok::<(), drawing::Error>(())
//! ```

mod blend;
mod effort;
mod fit;
mod layers;
mod merge;
mod outline;
mod true_size;

use std::collections::BTreeSet;

use quantity::Length;

pub use crate::design::merge::merge_touching;
use crate::{
    artwork::{Artwork, Curve, unique_id},
    color::Color,
    error::Error,
    fact::{Fact, Flattened},
    region::Region,
};

/// How to read artwork as a drawing at true size.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ReadOptions {
    /// Width of the box around the cutter shape; if not given, the artwork must state a physical size.
    pub width: Option<Length>,
    /// Growth of the silhouette where no outline is drawn.
    pub border: Length,
}

/// A drawing at true size: the cutter shape and what is painted on it.
#[derive(Clone, Debug, PartialEq)]
pub struct Drawing {
    /// Cutter shape: one simple ring; the origin is the top left corner of the box around it.
    pub outline: Region,
    /// Width of the box around the cutter shape.
    pub width: Length,
    /// Height of the box around the cutter shape.
    pub height: Length,
    /// Painted shapes, bottom to top.
    pub shapes: Vec<Shape>,
    /// What happened on the way, the notes of the artwork first.
    pub facts: Vec<Fact>,
}

/// One painted patch of one color.
#[derive(Clone, Debug, PartialEq)]
pub struct Shape {
    /// The element's own id, or that of the nearest group that holds nothing else,
    /// or `s1`, `s2`... by painter's order; unique.
    ///
    /// If an element paints twice (fill and stroke), the upper one has `-2` appended;
    /// of a translucent shape that shows several colors, the largest piece keeps the id, the others have a number appended.
    pub id: String,
    /// Color it is painted in.
    pub color: Color,
    /// What kind of paint it was.
    pub origin: Origin,
    /// All of it inside the outline.
    pub painted: Region,
    /// What is left of it under everything painted above; may be empty.
    pub visible: Region,
}

/// What kind of paint a shape was.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Origin {
    /// The inside of a curve.
    Fill,
    /// A line along a curve.
    Stroke {
        /// Width of the line.
        width: Length,
    },
    /// Lettering.
    Text,
}

/// Smallest width of a cutter shape (common practice, no source).
const LEAST_WIDTH: Length = Length::mm(5.0);

/// Largest width and height of a cutter shape: wider than any home oven (common practice, no source).
const MOST_WIDTH: Length = Length::mm(1000.0);

/// How near the width of the cutter shape must come to the one asked for.
const WIDTH_TOLERANCE_MM: f64 = 0.005;

/// Art cut off at the outline is worth a word from this area on: less is the overhang everybody draws.
const WORTH_TELLING_MM2: f64 = 1.0;

/// Reads artwork at true size.
pub fn read(artwork: &Artwork, options: &ReadOptions) -> Result<Drawing, Error> {
    laid_down(artwork, at_true_size(artwork, options)?)
}

/// Reads artwork fitted into a cutter, as large as its border lets it be.
///
/// Whatever cutter shape the artwork has of its own is then only paint, or nothing.
pub fn read_onto(artwork: &Artwork, cutter: &Region, border: Length) -> Result<Drawing, Error> {
    laid_down(artwork, fit::fitted(artwork, cutter, border)?)
}

/// Moves what was sized to its origin and finds what is seen of it.
fn laid_down(artwork: &Artwork, sized: Sized) -> Result<Drawing, Error> {
    let bounds = sized.cutter.outline.bounds().ok_or(Error::OpenOutline)?;
    check_size(bounds.width(), LEAST_WIDTH)?;
    check_size(bounds.height(), Length::ZERO)?;
    let (dx, dy) = (Length::mm(-bounds.min_x), Length::mm(-bounds.min_y));
    let outline = sized.cutter.outline.translated(dx, dy);

    let mut facts = artwork.notes().to_vec();
    facts.extend(sized.cutter.facts);
    facts.extend(sized.facts);
    let mut regions = Vec::with_capacity(artwork.shapes.len());
    for (paint, region) in artwork.shapes.iter().zip(&sized.paint.regions) {
        let whole = region.translated(dx, dy);
        let painted = whole.intersect(&outline);
        let cut_off = whole.area() - painted.area();
        if cut_off.to_mm2() > WORTH_TELLING_MM2 {
            facts.push(Fact::ArtOutsideOutline { id: paint.id.clone(), area: cut_off });
        }
        if blend::is_translucent(paint, &artwork.layers) && !painted.is_empty() {
            facts.push(Fact::Flattened { what: Flattened::Opacity, id: Some(paint.id.clone()) });
        }
        regions.push(painted);
    }
    let moved = |coverage: &blend::Coverage| {
        coverage.iter().map(|(region, share)| (region.translated(dx, dy), *share)).collect()
    };
    let coverages: Vec<blend::Coverage> = sized.paint.coverages.iter().map(moved).collect();
    let patches = blend::opaque_patches(artwork, &regions, &coverages)?;
    let mut shapes = name_patches(artwork, patches, sized.mm_per_unit);
    layers::find_visible(&mut shapes)?;
    let covered = shapes.iter().filter(|shape| shape.visible.is_empty());
    facts.extend(covered.map(|shape| Fact::Covered { id: shape.id.clone() }));
    Ok(Drawing { outline, width: bounds.width(), height: bounds.height(), shapes, facts })
}

/// Turns patches into shapes; the largest piece of a shape keeps its id.
fn name_patches(artwork: &Artwork, patches: Vec<blend::Patch>, mm_per_unit: f64) -> Vec<Shape> {
    let mut taken: BTreeSet<String> = artwork.shapes.iter().map(|paint| paint.id.clone()).collect();
    let mut is_named = vec![false; artwork.shapes.len()];
    let mut shapes = Vec::with_capacity(patches.len());
    for patch in patches {
        let color = patch.color();
        let (Some(paint), Some(is_named)) =
            (artwork.shapes.get(patch.shape), is_named.get_mut(patch.shape))
        else {
            continue;
        };
        let id = if *is_named { unique_id(&paint.id, &mut taken) } else { paint.id.clone() };
        *is_named = true;
        let origin = match (&paint.curve, paint.is_text) {
            (_, true) => Origin::Text,
            (Curve::Inside(_), false) => Origin::Fill,
            (Curve::Along { transform, stroke, .. }, false) => {
                let stretch = transform.determinant().abs().sqrt();
                Origin::Stroke { width: Length::mm(stroke.width * stretch * mm_per_unit) }
            }
        };
        shapes.push(Shape { id, color, origin, painted: patch.region, visible: Region::default() });
    }
    shapes
}

/// The artwork in millimeters, not yet moved to its origin.
struct Sized {
    cutter: outline::CutterShape,
    paint: true_size::Paint,
    mm_per_unit: f64,
    facts: Vec<Fact>,
}

fn at_true_size(artwork: &Artwork, options: &ReadOptions) -> Result<Sized, Error> {
    let Some(width) = options.width else {
        return at_scale(artwork, options, artwork.mm_per_unit().ok_or(Error::NoSize)?);
    };
    // What of the width does not scale with the art: the border around a silhouette.
    let fixed_mm =
        if outline::is_drawn(artwork) { 0.0 } else { 2.0 * options.border.to_mm().max(0.0) };
    check_size(width, LEAST_WIDTH + Length::mm(fixed_mm))?;
    let target_mm = width.to_mm();
    let mut mm_per_unit = (target_mm - fixed_mm) / outline::width_in_units(artwork)?;
    let mut sized = at_scale(artwork, options, mm_per_unit)?;
    // The first guess is off by what smoothing or clips took away; three corrections settle that.
    for _ in 0..3 {
        let Some(bounds) = sized.cutter.outline.bounds() else { break };
        let found_mm = bounds.width().to_mm();
        if (found_mm - target_mm).abs() <= WIDTH_TOLERANCE_MM || found_mm <= fixed_mm {
            break;
        }
        mm_per_unit *= (target_mm - fixed_mm) / (found_mm - fixed_mm);
        sized = at_scale(artwork, options, mm_per_unit)?;
    }
    Ok(sized)
}

fn at_scale(artwork: &Artwork, options: &ReadOptions, mm_per_unit: f64) -> Result<Sized, Error> {
    let mut facts = Vec::new();
    let paint = true_size::paint(artwork, mm_per_unit, &mut facts)?;
    effort::check(&paint.regions)?;
    let cutter = outline::cutter_shape(artwork, &paint.regions, mm_per_unit, options.border)?;
    Ok(Sized { cutter, paint, mm_per_unit, facts })
}

fn check_size(size: Length, least: Length) -> Result<(), Error> {
    if least <= size && size <= MOST_WIDTH {
        return Ok(());
    }
    Err(Error::BadSize { width: size, least, most: MOST_WIDTH })
}
