//! From curves in the picture's units to regions in millimeters.

use kurbo::{Affine, BezPath, Cap, PathEl, Point, Rect, Stroke, StrokeOpts};

use crate::{
    artwork::{Artwork, Curve, Enclosed, Painted},
    design::{
        blend::{self, Coverage},
        effort,
    },
    error::Error,
    fact::{Dropped, Fact, Flattened},
    region::{FillRule, Region},
};

/// Farthest a chord may run from its curve: half of the 0.02 mm promised, as the outline of a stroke is itself only
/// near the true one, by the other half.
const CHORD_MM: f64 = 0.01;

/// Farthest a shape may reach from the picture's corner; beyond lie only mistakes and attacks.
const FARTHEST_MM: f64 = 20_000.0;

/// Most dashes in one line: finer dashes are no dashes at any size a tip can pipe.
const MOST_DASHES: f64 = 10_000.0;

/// What artwork paints and what its masks let through.
pub(super) struct Paint {
    /// What each shape covers, empty if it shows nothing.
    pub(super) regions: Vec<Region>,
    /// What each mask lets through.
    pub(super) coverages: Vec<Coverage>,
}

/// Turns every painted shape and every mask into regions.
pub(super) fn paint(
    artwork: &Artwork,
    mm_per_unit: f64,
    facts: &mut Vec<Fact>,
) -> Result<Paint, Error> {
    let scale = Affine::scale(mm_per_unit);
    let clips = clips(artwork, scale);
    let coverages = blend::coverages(
        artwork,
        |shapes| {
            let regions = painted(shapes, &clips, scale, facts);
            regions.into_iter().map(Option::unwrap_or_default).collect()
        },
        |mask| {
            let frame = artwork.masks.get(mask).and_then(|mask| inside(&mask.frame, scale));
            frame.unwrap_or_default()
        },
    )?;
    let frame = artwork.frame.map(|frame| rectangle(scale.transform_rect_bbox(frame)));
    let mut regions: Vec<Region> = painted(&artwork.shapes, &clips, scale, facts)
        .into_iter()
        .map(|region| match (region, &frame) {
            (Some(region), Some(frame)) => region.intersect(frame),
            (region, _) => region.unwrap_or_default(),
        })
        .collect();
    blend::hide_masked(&artwork.layers, &coverages, &artwork.shapes, &mut regions);
    Ok(Paint { regions, coverages })
}

/// Turns shapes into regions inside their clips; what no cookie could have is left out and told.
fn painted(
    shapes: &[Painted],
    clips: &[Region],
    scale: Affine,
    facts: &mut Vec<Fact>,
) -> Vec<Option<Region>> {
    let regions = shapes.iter().map(|shape| {
        let region = match &shape.curve {
            Curve::Inside(enclosed) => inside(enclosed, scale),
            Curve::Along { path, transform, stroke } => {
                let (stroke, is_solid) = without_dust(path, stroke);
                if is_solid {
                    let id = Some(shape.id.clone());
                    facts.push(Fact::Flattened { what: Flattened::Dashes, id });
                }
                along(path, scale * *transform, &stroke)
            }
        };
        if region.is_none() {
            facts.push(Fact::Dropped { what: Dropped::Geometry, id: Some(shape.id.clone()) });
        }
        let clip = shape.clip.map(|clip| clips.get(clip).cloned().unwrap_or_default());
        match clip {
            Some(clip) => region.map(|region| region.intersect(&clip)),
            None => region,
        }
    });
    regions.collect()
}

/// Returns what a path encloses, or `None` if no cookie could have it.
pub(super) fn inside(enclosed: &Enclosed, scale: Affine) -> Option<Region> {
    region(&enclosed.path, scale * enclosed.transform, enclosed.rule)
}

/// Returns what a line along a path covers, or `None` if no cookie could have it.
fn along(path: &BezPath, to_mm: Affine, stroke: &Stroke) -> Option<Region> {
    let stretch = largest_stretch(to_mm);
    if !is_near(path, to_mm) || stroke.width * stretch > FARTHEST_MM {
        return None;
    }
    if stretch <= 0.0 {
        return Some(Region::default());
    }
    let (path, stroke) = with_dots(path, stroke);
    let outline = kurbo::stroke(path.iter(), &stroke, &StrokeOpts::default(), CHORD_MM / stretch);
    region(&outline, to_mm, FillRule::NonZero)
}

/// Returns by how much an affine map stretches the direction it stretches most: its larger singular value.
fn largest_stretch(map: Affine) -> f64 {
    let [a, b, c, d, ..] = map.as_coeffs();
    let sum = a * a + b * b + c * c + d * d;
    let difference = (sum * sum - 4.0 * map.determinant() * map.determinant()).max(0.0).sqrt();
    ((sum + difference) / 2.0).sqrt()
}

/// Replaces dashes too fine to be dashes by a solid line and tells whether it did.
///
/// The offset is brought into the first period, which shows the same.
fn without_dust(path: &BezPath, stroke: &Stroke) -> (Stroke, bool) {
    let mut stroke = stroke.clone();
    let period: f64 = stroke.dash_pattern.iter().sum();
    if stroke.dash_pattern.is_empty() {
        return (stroke, false);
    }
    let n_dashes = length(path) / period * stroke.dash_pattern.len() as f64;
    if n_dashes <= MOST_DASHES && period > 0.0 {
        stroke.dash_offset = stroke.dash_offset.rem_euclid(period);
        return (stroke, false);
    }
    stroke.dash_pattern.clear();
    (stroke, true)
}

/// Length of a line, in widths, that stands for a line of no length.
const DOT_WIDTHS: f64 = 1e-3;

/// Gives lines and dashes of no length a little, so that their caps are drawn.
///
/// SVG 2, 13.5.4 and 13.5.6: they show a dot with round caps and a square with square ones.
fn with_dots(path: &BezPath, stroke: &Stroke) -> (BezPath, Stroke) {
    let mut stroke = stroke.clone();
    if stroke.start_cap == Cap::Butt {
        return (path.clone(), stroke);
    }
    let dot = DOT_WIDTHS * stroke.width;
    for pair in stroke.dash_pattern.chunks_exact_mut(2) {
        if let [dash, gap] = pair
            && *dash < dot
            && *gap > dot
        {
            *gap -= dot - *dash;
            *dash = dot;
        }
    }
    let mut dotted = BezPath::new();
    let mut elements = path.elements().iter().peekable();
    while let Some(&element) = elements.next() {
        dotted.push(element);
        let PathEl::MoveTo(start) = element else { continue };
        let mut rest = elements.clone().take_while(|element| !matches!(element, PathEl::MoveTo(_)));
        if rest.all(|element| element.end_point().is_none_or(|end| end == start)) {
            dotted.line_to((start.x + dot, start.y));
            while elements.next_if(|element| !matches!(element, PathEl::MoveTo(_))).is_some() {}
        }
    }
    (dotted, stroke)
}

/// Returns the length of a path along its control points, at least its true length.
fn length(path: &BezPath) -> f64 {
    let mut length = 0.0;
    let mut start = Point::ZERO;
    let mut last = Point::ZERO;
    for element in path.elements() {
        let ends: &[Point] = match element {
            PathEl::MoveTo(to) => {
                start = *to;
                last = *to;
                continue;
            }
            PathEl::LineTo(to) => &[*to],
            PathEl::QuadTo(control, to) => &[*control, *to],
            PathEl::CurveTo(first, second, to) => &[*first, *second, *to],
            PathEl::ClosePath => &[start],
        };
        for &end in ends {
            length += last.distance(end);
            last = end;
        }
    }
    length
}

fn region(path: &BezPath, to_mm: Affine, rule: FillRule) -> Option<Region> {
    if !is_near(path, to_mm) {
        return None;
    }
    let mut rings: Vec<Vec<[f64; 2]>> = Vec::new();
    kurbo::flatten(to_mm * path, CHORD_MM, |element| match element {
        PathEl::MoveTo(to) => rings.push(vec![[to.x, to.y]]),
        PathEl::LineTo(to) => {
            if let Some(ring) = rings.last_mut() {
                ring.push([to.x, to.y]);
            }
        }
        // Flattening leaves no curves, and every ring is closed anyway.
        PathEl::QuadTo(..) | PathEl::CurveTo(..) | PathEl::ClosePath => {}
    });
    let edges: Vec<_> = rings.iter().flat_map(|ring| crate::region::ring_edges(ring)).collect();
    (!effort::is_tangled(&edges)).then(|| Region::from_rings(&rings, rule))
}

/// Tells whether all points of a path are finite and within reach of a cookie.
fn is_near(path: &BezPath, to_mm: Affine) -> bool {
    let is_near = |point: &Point| {
        let point = to_mm * *point;
        // Written so that a coordinate that is not a number is not near.
        point.x.abs() <= FARTHEST_MM && point.y.abs() <= FARTHEST_MM
    };
    path.elements().iter().all(|element| match element {
        PathEl::MoveTo(to) | PathEl::LineTo(to) => is_near(to),
        PathEl::QuadTo(control, to) => [control, to].into_iter().all(is_near),
        PathEl::CurveTo(first, second, to) => [first, second, to].into_iter().all(is_near),
        PathEl::ClosePath => true,
    })
}

/// Turns every clip into the region it lets through.
fn clips(artwork: &Artwork, scale: Affine) -> Vec<Region> {
    let mut regions: Vec<Region> = Vec::with_capacity(artwork.clips.len());
    for clip in &artwork.clips {
        let shapes = clip.shapes.iter().filter_map(|(enclosed, within)| {
            let region = inside(enclosed, scale)?;
            match within {
                Some(within) => regions.get(*within).map(|within| region.intersect(within)),
                None => Some(region),
            }
        });
        let shapes: Vec<Region> = shapes.collect();
        let open = Region::union(&shapes.iter().collect::<Vec<_>>());
        let open = match clip.parent {
            // Clips come after those they build upon.
            Some(parent) => {
                regions.get(parent).map(|parent| open.intersect(parent)).unwrap_or_default()
            }
            None => open,
        };
        regions.push(open);
    }
    regions
}

fn rectangle(rect: Rect) -> Region {
    let ring = vec![[rect.x0, rect.y0], [rect.x1, rect.y0], [rect.x1, rect.y1], [rect.x0, rect.y1]];
    Region::from_rings(&[ring], FillRule::NonZero)
}
