//! What is the shape of the cutter?

use kurbo::{Affine, Rect, Shape};
use quantity::Length;

use crate::{
    artwork::{Artwork, Curve},
    design::true_size,
    error::Error,
    fact::Fact,
    region::Region,
    shape::{LEAST_SLIT, LEAST_SPIKE_RADIUS},
};

/// A cutter shape, and what was guessed or left out to get it.
pub(super) struct CutterShape {
    pub(super) outline: Region,
    pub(super) facts: Vec<Fact>,
}

/// Tells whether the artwork says itself what the cutter shape is.
pub(super) fn is_drawn(artwork: &Artwork) -> bool {
    artwork.n_outlines == 1 && !artwork.outline.is_empty()
}

/// Returns the width of the drawn outline, or else of all paint, in the picture's units.
pub(super) fn width_in_units(artwork: &Artwork) -> Result<f64, Error> {
    if !is_drawn(artwork) {
        return width_of_paint(artwork);
    }
    let enclosed = artwork.outline.iter();
    let boxes = enclosed.map(|enclosed| (enclosed.transform * &enclosed.path).bounding_box());
    width_of(boxes).ok_or(Error::OpenOutline)
}

/// Returns the width of all paint inside the picture's edges, in the picture's units.
pub(super) fn width_of_paint(artwork: &Artwork) -> Result<f64, Error> {
    let boxes = artwork.shapes.iter().map(|shape| box_of(&shape.curve));
    let seen = boxes.filter_map(|own| match artwork.frame {
        Some(frame) => own.overlaps(frame).then(|| own.intersect(frame)),
        None => Some(own),
    });
    width_of(seen).ok_or(Error::NothingPainted)
}

fn width_of(boxes: impl Iterator<Item = Rect>) -> Option<f64> {
    let width = boxes.reduce(|around, next| around.union(next))?.width();
    (width.is_finite() && width > 0.0).then_some(width)
}

fn box_of(curve: &Curve) -> Rect {
    match curve {
        Curve::Inside(enclosed) => (enclosed.transform * &enclosed.path).bounding_box(),
        Curve::Along { path, transform, stroke } => {
            let reach = stroke.width / 2.0;
            transform.transform_rect_bbox(path.bounding_box().inflate(reach, reach))
        }
    }
}

/// Finds the cutter shape in artwork of which `painted` shows in millimeters.
pub(super) fn cutter_shape(
    artwork: &Artwork,
    painted: &[Region],
    mm_per_unit: f64,
    border: Length,
) -> Result<CutterShape, Error> {
    if is_drawn(artwork) {
        return drawn(artwork, mm_per_unit);
    }
    let mut facts = Vec::new();
    if artwork.n_outlines > 1 {
        facts.push(Fact::OutlineAmbiguous { n_outlines: artwork.n_outlines });
    }
    facts.push(Fact::OutlineGuessed { border });
    let art = Region::union(&painted.iter().collect::<Vec<_>>());
    let whole = silhouette(&art, border);
    let joined = if whole.n_parts() > 1 { joined(&whole) } else { None };
    if joined.is_some() {
        facts.push(Fact::OutlineJoined { n_parts: whole.n_parts() });
    }
    let outline = largest_of(&joined.unwrap_or(whole), &mut facts);
    if outline.is_empty() {
        return Err(Error::NothingPainted);
    }
    Ok(CutterShape { outline, facts })
}

fn drawn(artwork: &Artwork, mm_per_unit: f64) -> Result<CutterShape, Error> {
    let scale = Affine::scale(mm_per_unit);
    let enclosed: Vec<Region> =
        artwork.outline.iter().filter_map(|enclosed| true_size::inside(enclosed, scale)).collect();
    let whole = Region::union(&enclosed.iter().collect::<Vec<_>>()).without_holes();
    let mut facts = Vec::new();
    let outline = largest_of(&whole, &mut facts);
    if outline.is_empty() {
        return Err(Error::OpenOutline);
    }
    Ok(CutterShape { outline, facts })
}

/// Halves of the gaps, beyond both borders, over which parts of art become one cookie, tried in turn.
const HALF_GAPS: [Length; 4] =
    [Length::mm(2.0), Length::mm(4.0), Length::mm(8.0), Length::mm(15.0)];

/// Grows art by the border so that what comes out can be bent from a strip of metal.
fn silhouette(art: &Region, border: Length) -> Region {
    closed(art, border, LEAST_SLIT / 2.0)
}

/// Joins parts of a silhouette that lie apart, as the words of a wording do, over the narrowest gap that makes one.
fn joined(whole: &Region) -> Option<Region> {
    let over = |half_gap: Length| {
        Some(closed(whole, Length::ZERO, half_gap)).filter(|joined| joined.n_parts() == 1)
    };
    // What the widest gap does not join, none does.
    let [narrower @ .., widest] = HALF_GAPS;
    let widest = over(widest)?;
    Some(narrower.into_iter().find_map(over).unwrap_or(widest))
}

/// Growing further and coming back closes slits and gaps; going in and coming back rounds spikes.
fn closed(art: &Region, border: Length, half_gap: Length) -> Region {
    let closed = art.grow(border + half_gap).without_holes().inset(half_gap);
    closed.inset(LEAST_SPIKE_RADIUS).grow(LEAST_SPIKE_RADIUS)
}

fn largest_of(region: &Region, facts: &mut Vec<Fact>) -> Region {
    if region.n_parts() > 1 {
        facts.push(Fact::OutlineInParts { n_dropped: region.n_parts() - 1 });
    }
    region.largest_part().without_holes()
}
