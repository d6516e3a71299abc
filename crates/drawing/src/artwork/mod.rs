//! What is painted in this picture, and in which order?
//!
//! [`import`] is the one door for SVG drawings: the guard first, then the reader (`usvg`, which resolves clones, symbols,
//! styles, units and text), then shapes of our own that need neither again.
//! Shapes keep their curves and the picture's own units; [`crate::design::read`] gives them a true size.
//!
//! What a cookie cannot show is made plain, with a [`Fact`] that says so:
//! - gradients become their mean color, or a few bands on request ([`Artwork::in_bands`]), patterns the color of the
//!   largest shape in their tile;
//! - filters and pixel pictures are left out;
//! - blend modes are read as normal.
//!
//! Groups that are translucent or masked stay together as a layer: what they show depends on what lies beneath.

mod convert;
mod fonts;
mod gradient;
mod paint;

use std::collections::BTreeSet;

use kurbo::{Affine, BezPath, Rect, Stroke};
use quantity::Length;

pub use crate::artwork::fonts::Fonts;
pub(crate) use crate::artwork::gradient::{Course, Gradient, Stop};
use crate::{
    color::Color,
    error::Error,
    fact::{Dropped, Fact},
    guard, raster,
    region::FillRule,
};

/// Painted shapes bottom to top, in the picture's own units.
#[derive(Clone, Debug)]
pub struct Artwork {
    pub(crate) shapes: Vec<Painted>,
    /// What the element `outline` encloses, painted or not.
    pub(crate) outline: Vec<Enclosed>,
    /// Elements with the id `outline`.
    pub(crate) n_outlines: usize,
    /// Clips, each after those it builds upon.
    pub(crate) clips: Vec<Clip>,
    /// Groups that are translucent or masked, each after the one it lies in.
    pub(crate) layers: Vec<Layer>,
    /// Masks, each after those it builds upon.
    pub(crate) masks: Vec<Mask>,
    /// The picture's edges, if it has any; paint beyond them is not seen.
    pub(crate) frame: Option<Rect>,
    pub(crate) width: f64,
    pub(crate) mm_per_unit: Option<f64>,
    pub(crate) notes: Vec<Fact>,
}

/// One painted fill or stroke.
#[derive(Clone, Debug)]
pub(crate) struct Painted {
    pub(crate) id: String,
    pub(crate) curve: Curve,
    pub(crate) color: Color,
    /// Above 0, up to 1; that of layers comes on top.
    pub(crate) opacity: f64,
    /// The gradient that `color` and `opacity` are the mean of, if it can be told in bands.
    pub(crate) gradient: Option<Gradient>,
    pub(crate) is_text: bool,
    pub(crate) clip: Option<usize>,
    pub(crate) layer: Option<usize>,
}

/// A group that is painted by itself first and then laid over what is beneath as a whole.
#[derive(Clone, Debug)]
pub(crate) struct Layer {
    pub(crate) parent: Option<usize>,
    pub(crate) opacity: f64,
    pub(crate) mask: Option<usize>,
}

/// How much of a layer is seen where.
#[derive(Clone, Debug)]
pub(crate) struct Mask {
    /// Another mask that hides as well.
    pub(crate) within: Option<usize>,
    /// Whether bright paint shows more than dark paint; else any paint shows.
    pub(crate) by_luminance: bool,
    /// Nothing is seen outside of it.
    pub(crate) frame: Enclosed,
    pub(crate) shapes: Vec<Painted>,
}

/// What is painted along or inside a path.
#[derive(Clone, Debug)]
pub(crate) enum Curve {
    /// The inside of a path.
    Inside(Enclosed),
    /// A line along a path.
    Along {
        /// The path before its transform.
        path: BezPath,
        /// From the path to the picture; it stretches the line too.
        transform: Affine,
        /// Width, joins, caps and dashes before the transform.
        stroke: Stroke,
    },
}

/// The inside of a path.
#[derive(Clone, Debug)]
pub(crate) struct Enclosed {
    pub(crate) path: BezPath,
    pub(crate) transform: Affine,
    pub(crate) rule: FillRule,
}

/// Where paint is allowed: inside any of the shapes, and inside the parent clip.
#[derive(Clone, Debug)]
pub(crate) struct Clip {
    pub(crate) parent: Option<usize>,
    pub(crate) shapes: Vec<(Enclosed, Option<usize>)>,
}

impl Artwork {
    /// Returns the width of the whole picture, if its root says so in mm, cm, Q, in, pt or pc.
    ///
    /// Pixels and bare numbers are not physical: every program takes them for another length.
    pub fn physical_width(&self) -> Option<Length> {
        self.mm_per_unit.map(|mm_per_unit| Length::mm(self.width * mm_per_unit))
    }

    /// Returns what was left out or made plain.
    pub fn notes(&self) -> &[Fact] {
        &self.notes
    }

    pub(crate) fn mm_per_unit(&self) -> Option<f64> {
        self.mm_per_unit
    }
}

/// Returns the usual ending of a file with these bytes: that of the picture they begin like, else `svg`.
pub fn file_ending(bytes: &[u8]) -> &'static str {
    raster::file_ending(bytes).unwrap_or("svg")
}

/// Reads the bytes of an SVG drawing, whose text `fonts` set, or of a PNG, JPEG or WebP picture, which is traced.
pub fn import(bytes: &[u8], fonts: &Fonts) -> Result<Artwork, Error> {
    if raster::file_ending(bytes).is_some() {
        return Ok(raster::trace(bytes, &raster::TraceOptions::default())?.artwork);
    }
    if !could_be_text(bytes) {
        return Err(Error::NotPicture);
    }
    let guard::Vetted { document, dropped: mut notes } = guard::vet(bytes)?;
    let root = document.root_element();
    if fonts.is_empty() {
        let texts = document.descendants().filter(|node| node.tag_name().name() == "text");
        let dropped = |text| Fact::Dropped { what: Dropped::Text, id: guard::nearest_id(text) };
        notes.extend(texts.map(dropped));
    }
    let (tree, facts) = fonts::set(&document, fonts)?;
    notes.extend(facts);
    let (width, height) = (f64::from(tree.size().width()), f64::from(tree.size().height()));
    let has_frame = root.has_attribute("viewBox")
        || (root.has_attribute("width") && root.has_attribute("height"));
    let mut artwork = Artwork {
        shapes: Vec::new(),
        outline: Vec::new(),
        n_outlines: 0,
        clips: Vec::new(),
        layers: Vec::new(),
        masks: Vec::new(),
        frame: has_frame.then_some(Rect::new(0.0, 0.0, width, height)),
        width,
        mm_per_unit: mm_per_unit(root.attribute("width"), width)
            .or_else(|| mm_per_unit(root.attribute("height"), height)),
        notes,
    };
    convert::add_shapes(&mut artwork, tree.root());
    if artwork.shapes.is_empty() && artwork.outline.is_empty() {
        let lost_text = |fact: &Fact| matches!(fact, Fact::Dropped { what: Dropped::Text, .. });
        return Err(if artwork.notes.iter().any(lost_text) {
            Error::NoFont
        } else {
            Error::NothingPainted
        });
    }
    Ok(artwork)
}

/// Tells whether a file begins like markup, compressed or not, or has nothing in it.
fn could_be_text(bytes: &[u8]) -> bool {
    const GZIP: [u8; 2] = [0x1f, 0x8b];
    let text = bytes.strip_prefix(b"\xef\xbb\xbf").unwrap_or(bytes).trim_ascii_start();
    text.is_empty() || text.starts_with(b"<") || text.starts_with(&GZIP)
}

/// Appends `-2`, `-3`... to ids that shapes further down have already.
fn make_ids_unique(shapes: &mut [Painted]) {
    let mut taken = BTreeSet::new();
    for shape in shapes {
        shape.id = unique_id(&shape.id, &mut taken);
    }
}

/// Returns the id, or the first of `id-2`, `id-3`... that is not taken yet, and takes it.
pub(crate) fn unique_id(id: &str, taken: &mut BTreeSet<String>) -> String {
    let mut unique = id.to_owned();
    let mut copy = 1;
    while !taken.insert(unique.clone()) {
        copy += 1;
        unique = format!("{id}-{copy}");
    }
    unique
}

/// Returns how many millimeters a unit of the picture is, if a length of the root is physical.
///
/// Units by CSS Values and Units Level 4, 6.2: 1 in = 25.4 mm = 72 pt = 6 pc, 1 Q = 1/4 mm.
fn mm_per_unit(attribute: Option<&str>, units: f64) -> Option<f64> {
    let text = attribute?.trim().to_ascii_lowercase();
    let physical = [
        ("mm", 1.0),
        ("cm", 10.0),
        ("in", 25.4),
        ("pt", 25.4 / 72.0),
        ("pc", 25.4 / 6.0),
        ("q", 0.25),
    ];
    let (number, mm) = physical
        .iter()
        .find_map(|(unit, mm)| text.strip_suffix(unit).map(|number| (number, mm)))?;
    let mm_per_unit = number.trim_end().parse::<f64>().ok()? * mm / units;
    (mm_per_unit.is_finite() && mm_per_unit > 0.0).then_some(mm_per_unit)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn check_width(size: &str, expected_mm: Option<f64>) {
        let svg = format!(
            "<svg xmlns=\"http://www.w3.org/2000/svg\" {size}><rect width=\"9\" height=\"9\"/></svg>"
        );
        let artwork =
            import(svg.as_bytes(), &Fonts::none()).expect("a plain rectangle is readable");
        match (artwork.physical_width(), expected_mm) {
            (Some(found), Some(expected)) => {
                assert!((found.to_mm() - expected).abs() < 1e-4, "{size}: {found:?}")
            }
            (found, expected) => assert_eq!(found.map(Length::to_mm), expected, "{size}"),
        }
    }

    #[test]
    fn physical_units_of_the_root_give_the_width() {
        check_width("width=\"80mm\" viewBox=\"0 0 10 10\"", Some(80.0));
        check_width("width=\"8cm\" height=\"4cm\" viewBox=\"0 0 20 10\"", Some(80.0));
        check_width("width=\"3.25in\" viewBox=\"0 0 10 10\"", Some(82.55));
        check_width("width=\"72pt\" viewBox=\"0 0 10 10\"", Some(25.4));
        check_width("width=\"6pc\" viewBox=\"0 0 10 10\"", Some(25.4));
        check_width("width=\"320Q\" viewBox=\"0 0 10 10\"", Some(80.0));
        check_width("height=\"40mm\" viewBox=\"0 0 20 10\"", Some(80.0));
    }

    #[test]
    fn pixels_and_bare_numbers_are_not_physical() {
        for size in [
            "width=\"300px\" height=\"300px\"",
            "width=\"300\" height=\"300\"",
            "viewBox=\"0 0 10 10\"",
        ] {
            check_width(size, None);
        }
        check_width("width=\"100%\" viewBox=\"0 0 10 10\"", None);
    }

    fn check_error(content: &str, expected: Error) {
        let svg = format!("<svg xmlns=\"http://www.w3.org/2000/svg\" {content}</svg>");
        assert_eq!(import(svg.as_bytes(), &Fonts::none()).map(|_| ()), Err(expected), "{content}");
    }

    #[test]
    fn a_picture_without_area_or_paint_is_refused() {
        check_error("width=\"0\" height=\"10\"><rect width=\"9\" height=\"9\"/>", Error::NoArea);
        check_error(
            "width=\"-3mm\" height=\"10mm\"><rect width=\"9\" height=\"9\"/>",
            Error::NoArea,
        );
        check_error(
            "viewBox=\"0 0 9 9\"><rect width=\"9\" height=\"9\" fill=\"none\"/>",
            Error::NothingPainted,
        );
        check_error("viewBox=\"0 0 9 9\"><text y=\"5\">Anna</text>", Error::NoFont);
    }
}
