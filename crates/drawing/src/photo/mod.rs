//! What is the true outline of this cutter, or of what was drawn on this paper?
//!
//! The photograph shows the cutter or the drawing on a sheet of A4 or Letter, or beside a bank card.
//! The size of the sheet or card is known, so its four corners give the tilt of the camera and the scale
//! ([`outline`] finds them, or takes them from the caller); the photograph is laid flat with them, and the band of the
//! rim or the line is followed around.
//!
//! Everything measured lies in the plane of the paper: lay the cutter with its cutting edge down.
//! The rim nearest to the camera looks larger, by its height over the distance of the camera; one length measured
//! with a ruler corrects that.
//!
//! The uncertainty given is for a coverage of about 95 % (two standard deviations): of the corners, carried to the farthest
//! point of the outline, of how far the sides were found off, and of half a pixel for the edge that is followed.
//! It does not know of a sheet that is not flat, nor of the height of the rim.

mod homography;
mod linear;
mod plane;
mod reference;
mod rim;
mod segment;

use image::{ExtendedColorType, ImageEncoder, codecs::png::PngEncoder};
use kurbo::Point;
use quantity::Length;

use crate::{
    error::Error,
    photo::{
        homography::{Homography, OnSide, Refined, refine},
        reference::{Found, Lens, find_exactly, find_roughly, hull},
        rim::Edge,
        segment::{Band, Flat},
    },
    raster::{
        SHARP,
        contour::{self, Source},
        decode::{self, Pixels},
        fit,
        palette::Palette,
    },
    region::{FillRule, Region, distance, ring_edges},
};

/// Something of known size in the photograph.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Reference {
    /// A sheet of A4, 210 mm × 297 mm (ISO 216); the subject lies on it.
    A4,
    /// A sheet of Letter, 8.5 in × 11 in (ANSI/ASME Y14.1); the subject lies on it.
    Letter,
    /// A bank card, 85.60 mm × 53.98 mm (ISO/IEC 7810, ID-1); the subject lies beside it on the same plain ground.
    Id1Card,
}

impl Reference {
    /// Returns the longer and the shorter side.
    pub fn sides(self) -> [Length; 2] {
        match self {
            Self::A4 => [Length::mm(297.0), Length::mm(210.0)],
            Self::Letter => [Length::mm(279.4), Length::mm(215.9)],
            Self::Id1Card => [Length::mm(85.60), Length::mm(53.98)],
        }
    }

    /// Returns what it is called.
    pub fn name(self) -> &'static str {
        match self {
            Self::A4 => "sheet of A4",
            Self::Letter => "sheet of Letter",
            Self::Id1Card => "card",
        }
    }
}

/// What is looked for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Subject {
    /// A cutter: the outer edge of its rim.
    Cutter,
    /// A closed line drawn dark on the paper.
    DrawnLine(LineEdge),
}

/// Which edge of a drawn line is meant.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum LineEdge {
    /// Its outer edge, as when a cutter was traced around inside.
    Outer,
    /// Its middle.
    Middle,
    /// Its inner edge, as when a cutter was traced around outside.
    Inner,
}

/// How to read a photograph.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct PhotoOptions {
    /// What of known size is in it.
    pub reference: Reference,
    /// What is looked for.
    pub subject: Subject,
    /// Corners of the reference in pixels from the left top, one after the other around it; found if not given.
    pub corners: Option<[[f64; 2]; 4]>,
    /// Whether the bend of a wide lens is looked for and taken out.
    pub with_lens: bool,
    /// Longest distance across the subject by a ruler; it confirms the scale or corrects it.
    pub longest: Option<Length>,
}

/// An outline at true size.
#[derive(Clone, Debug, PartialEq)]
pub struct PhotoOutline {
    /// One simple ring; the origin is the left top corner of the box around it.
    pub outline: Region,
    /// How far the outline may be off, at about 95 % confidence.
    pub uncertainty: Length,
    /// Root mean square distance of the points found along the reference from its true sides.
    pub residual: Length,
    /// Corners of the reference as found, in pixels of the upright photograph.
    pub corners: [[f64; 2]; 4],
    /// Where the photograph shows the outline, in pixels as well.
    pub seen: Vec<[f64; 2]>,
    /// Bend k of the lens; 0 if none was found or looked for.
    pub lens_bend: f64,
    /// What the ruler said about the scale.
    pub ruler: Option<RulerCheck>,
    /// Why the reference may not be what it was said to be.
    pub doubt: Option<Doubt>,
}

/// Why a reference may not be what it was said to be.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Doubt {
    /// At the corners that were marked no sides are seen.
    NoSides,
    /// Its sides are not straight, or the corners are not its own.
    BentSides,
    /// Its longer side is so many times its shorter one, which is not what it should be.
    OtherProportion {
        /// The proportion seen.
        seen: f64,
        /// The proportion it should have.
        expected: f64,
    },
}

/// What a ruler said about the scale of a photograph.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct RulerCheck {
    /// Longest distance across by the photograph alone.
    pub seen: Length,
    /// The outline was multiplied by this; 1 if the ruler confirmed it.
    pub scale: f64,
}

/// A ruler is read to this at best; what agrees within it and the uncertainty is confirmed (common practice, no source).
const RULER: Length = Length::mm(0.5);

/// Points along a straight side stray less than this, whatever the light does.
const MOST_RESIDUAL: Length = Length::mm(0.4);

/// How far a proportion is off before it is doubted: A4 and Letter differ by 9 %.
const PROPORTION_DOUBT: f64 = 1.04;

/// Focal lengths of phones and cameras, in half diagonals of the picture: 20 to 95 mm on a frame of 36 mm.
const FOCAL_LENGTHS: [f64; 2] = [0.9, 4.4];

/// The height of a rim makes no larger error than this; beyond it the wrong thing was measured.
const MOST_CORRECTION: f64 = 0.15;

/// Pixels looked at; a larger photograph is averaged down. A sheet that fills it has ten of them a millimeter.
const MOST_PHOTO_PIXELS: usize = 10_000_000;

/// Detail the photograph is laid flat at, at most.
const MOST_PIXELS_PER_MM: f64 = 8.0;

/// Edge of a sheet that is left out, mm: its shadow and its curl.
const SHEET_EDGE_MM: f64 = 4.0;

/// How far from a card the subject may lie, mm.
const AROUND_CARD_MM: f64 = 180.0;

impl PhotoOutline {
    /// Returns the longest distance across the outline.
    pub fn longest(&self) -> Length {
        longest(&self.outline)
    }

    /// Writes the outline as a drawing at true size whose element "outline" it is.
    pub fn to_svg(&self) -> String {
        let [width, height] = self
            .outline
            .bounds()
            .map_or([0.0; 2], |bounds| [bounds.width().to_mm(), bounds.height().to_mm()]);
        format!(
            r##"<svg xmlns="http://www.w3.org/2000/svg" width="{width:.3}mm" height="{height:.3}mm" viewBox="0 0 {width:.3} {height:.3}"><path id="outline" fill="none" stroke="#000000" stroke-width="0.2" d="{}"/></svg>"##,
            self.outline.path_d()
        ) + "\n"
    }
}

/// Draws what was found over the photograph, upright and small enough for a screen, as a PNG: the outline red, the
/// sides of the reference blue.
pub fn drawn_over(bytes: &[u8], found: &PhotoOutline) -> Result<Vec<u8>, Error> {
    /// A screen shows no more.
    const MOST_PIXELS: usize = 1_500_000;
    let (mut pixels, side) = decode::decode(bytes, MOST_PIXELS)?;
    let half_line = (pixels.width.max(pixels.height) as f64 / 900.0).max(1.0);
    for (line, color) in
        [(&found.corners[..], [29, 78, 216, 255]), (&found.seen[..], [220, 38, 38, 255])]
    {
        for [from, to] in ring_edges(line) {
            let [from, to] = [from, to].map(|corner| corner.map(|at| at / side as f64));
            let n_dots = distance(from, to).ceil().clamp(1.0, 20_000.0);
            for dot in 0..n_dots as usize {
                let share = dot as f64 / n_dots;
                let [x, y] = [0, 1].map(|axis: usize| from[axis] + share * (to[axis] - from[axis]));
                pixels.dot([x, y], half_line, color);
            }
        }
    }
    let mut png = Vec::new();
    PngEncoder::new(&mut png)
        .write_image(
            pixels.rgba.as_flattened(),
            pixels.width as u32,
            pixels.height as u32,
            ExtendedColorType::Rgba8,
        )
        .map_err(|error| Error::BrokenPicture { reason: error.to_string() })?;
    Ok(png)
}

/// Reads the outline of a cutter or a drawing from a photograph (PNG, JPEG or WebP).
pub fn outline(bytes: &[u8], options: &PhotoOptions) -> Result<PhotoOutline, Error> {
    let (pixels, side) = decode::decode(bytes, MOST_PHOTO_PIXELS)?;
    let side = side as f64;
    let corners = options.corners.map(|corners| corners.map(|corner| corner.map(|at| at / side)));
    let options = &PhotoOptions { corners, ..*options };
    let camera = Camera::find(&pixels, options)?;
    let flat = lay_flat(&pixels, &camera, options.reference);
    let is_drawn = options.subject != Subject::Cutter;
    let band = segment::band(&flat, is_drawn).map_err(|reason| Error::NoSubject { reason })?;
    let edge = match options.subject {
        Subject::Cutter | Subject::DrawnLine(LineEdge::Outer) => Edge::Outer,
        Subject::DrawnLine(LineEdge::Middle) => Edge::Middle,
        Subject::DrawnLine(LineEdge::Inner) => Edge::Inner,
    };
    let in_place = follow(&band, &flat, edge);
    let bounds =
        in_place.bounds().ok_or(Error::NoSubject { reason: "what it shows has no area" })?;
    let uncertainty = camera.uncertainty(&in_place, flat.pixels_per_mm);
    let at_origin = in_place.translated(Length::mm(-bounds.min_x), Length::mm(-bounds.min_y));
    let ruler = options
        .longest
        .map(|measured| check_ruler(&at_origin, measured, uncertainty))
        .transpose()?;
    let scale = ruler.map_or(1.0, |ruler| ruler.scale);
    let in_photo = |corner: [f64; 2]| corner.map(|at| at * side);
    let seen = in_place.rings().flatten().map(|&corner| in_photo(camera.to_photo(corner)));
    Ok(PhotoOutline {
        seen: seen.collect(),
        outline: scaled(&at_origin, scale),
        uncertainty: uncertainty * scale,
        residual: Length::mm(camera.refined.residual_mm),
        corners: camera.corners.map(in_photo),
        lens_bend: camera.lens.bend,
        doubt: camera.doubt(),
        ruler,
    })
}

/// How points of the photograph and of the paper belong together.
struct Camera {
    lens: Lens,
    refined: Refined,
    back: Homography,
    /// Corners in the photograph.
    corners: [[f64; 2]; 4],
    /// Size of the reference as it lies, mm.
    size_mm: [f64; 2],
}

impl Camera {
    fn find(pixels: &Pixels, options: &PhotoOptions) -> Result<Self, Error> {
        let name = options.reference.name();
        let missing = |reason| Error::NoReference { reference: name, reason };
        let bad = Error::BadCorners { reference: name };
        let [longer, shorter] = options.reference.sides().map(Length::to_mm);
        let rough = match options.corners {
            Some(corners) => clockwise(corners).ok_or(bad.clone())?,
            None => find_roughly(pixels, longer / shorter)
                .ok_or(missing("nothing with four sides of its proportions stands out"))?,
        };
        let mean_side =
            (0..4).map(|at: usize| distance(rough[at], rough[(at + 1) % 4])).sum::<f64>() / 4.0;
        let reach = (0.012 * mean_side).clamp(6.0, 40.0);
        let found = find_exactly(pixels, rough, reach, options.with_lens);
        let found = match (found, options.corners) {
            (Some(found), _) if agrees(&found, rough, 2.5 * reach) => found,
            // Corners that were marked are taken as they are where no sides are seen.
            (_, Some(_)) => Found {
                corners: rough.map(|corner| Lens::straight(pixels).straighten(corner)),
                sides: [const { Vec::new() }; 4],
                lens: Lens::straight(pixels),
            },
            _ => return Err(missing("its sides are not straight or not sharp")),
        };
        let side = |at: usize| distance(found.corners[at], found.corners[(at + 1) % 4]);
        let lies_long = side(0) + side(2) >= side(1) + side(3);
        let size_mm = if lies_long { [longer, shorter] } else { [shorter, longer] };
        let [width, height] = size_mm;
        let sheet = [[0.0, 0.0], [width, 0.0], [width, height], [0.0, height]];
        let start = Homography::from_corners(found.corners, sheet).ok_or(bad.clone())?;
        let sides = [(1, 0.0), (0, width), (1, height), (0, 0.0)];
        let on_sides = found.sides.iter().zip(sides).flat_map(|(side, (axis, value_mm))| {
            side.iter().map(move |point| (point, axis, value_mm))
        });
        let points: Vec<OnSide> = on_sides
            .map(|(point, axis, value_mm)| {
                let at = found.lens.straighten(point.at);
                OnSide { at, weight: point.weight, axis, value_mm }
            })
            .collect();
        let refined = refine(start, &points);
        let back = refined.homography.inverse().ok_or(bad)?;
        let corners = sheet.map(|corner| found.lens.bend_back(back.apply(corner)));
        Ok(Self { lens: found.lens, refined, back, corners, size_mm })
    }

    fn to_photo(&self, at_mm: [f64; 2]) -> [f64; 2] {
        self.lens.bend_back(self.back.apply(at_mm))
    }

    /// Returns how many pixels of the photograph a millimeter of the reference has, on average.
    fn pixels_per_mm(&self) -> f64 {
        let around: f64 =
            (0..4).map(|at: usize| distance(self.corners[at], self.corners[(at + 1) % 4])).sum();
        around / (2.0 * (self.size_mm[0] + self.size_mm[1]))
    }

    fn uncertainty(&self, outline: &Region, pixels_per_mm: f64) -> Length {
        let farthest = outline
            .rings()
            .flatten()
            .step_by(8)
            .map(|&corner| self.refined.uncertainty_mm(self.back.apply(corner)));
        let corners_mm = farthest.fold(0.0, f64::max);
        // Without points on the sides, marked corners are good to a pixel.
        let marked_mm =
            if self.refined.residual_mm > 0.0 { 0.0 } else { 1.0 / self.pixels_per_mm() };
        let edge_mm = 0.5 / pixels_per_mm.min(self.pixels_per_mm());
        let off_mm = self.refined.residual_mm;
        Length::mm(2.0 * corners_mm.hypot(edge_mm).hypot(marked_mm).hypot(off_mm))
    }

    /// Looks whether the reference may be another thing than it was said to be.
    fn doubt(&self) -> Option<Doubt> {
        if self.refined.residual_mm == 0.0 {
            return Some(Doubt::NoSides);
        }
        if self.refined.residual_mm > MOST_RESIDUAL.to_mm() {
            return Some(Doubt::BentSides);
        }
        let [width, height] = self.size_mm;
        let expected = width.max(height) / width.min(height);
        let [low, high] = self.stretch();
        let off = if low > PROPORTION_DOUBT {
            low
        } else if high < 1.0 / PROPORTION_DOUBT {
            high
        } else {
            return None;
        };
        // Taller than taken for, by that factor.
        let seen = if height > width { expected * off } else { expected / off };
        Some(Doubt::OtherProportion { seen, expected })
    }

    /// Returns by how much the reference is taller for its width than it was taken for, at least and at most.
    ///
    /// With the columns h₁, h₂ of the way from paper to picture and a camera of focal length f whose middle is that of
    /// the picture, the sides are at right angles where h₁ᵀ diag(1/f², 1/f², 1) h₂ = 0, which gives f if the camera was
    /// tilted both ways; the stretch is then |diag(1/f, 1/f, 1) h₂| / |diag(1/f, 1/f, 1) h₁|.
    /// (Z. Zhang and L. He, "Whiteboard scanning and image enhancement", 2007, section 3.)
    fn stretch(&self) -> [f64; 2] {
        let Homography([a, b, _, d, e, _, g, h]) = self.back;
        let [mut near, mut far] = FOCAL_LENGTHS;
        let squared = -(a * b + d * e) / (g * h);
        let tilt = (g * h).abs() / ((a * a + d * d) * (b * b + e * e)).sqrt();
        // Noise makes little tilt useless.
        if tilt > 0.004 && squared > near * near && squared < far * far {
            [near, far] = [squared.sqrt() / 1.2, squared.sqrt() * 1.2];
        }
        let at = |focal: f64| {
            let f2 = focal * focal;
            (((b * b + e * e) / f2 + h * h) / ((a * a + d * d) / f2 + g * g)).sqrt()
        };
        let [one, other] = [at(near), at(far)];
        [one.min(other), one.max(other)]
    }
}

/// Tells whether exact corners are near the rough ones.
fn agrees(found: &Found, rough: [[f64; 2]; 4], reach: f64) -> bool {
    found
        .corners
        .iter()
        .zip(rough)
        .all(|(&corner, rough)| distance(found.lens.bend_back(corner), rough) <= reach)
}

/// Puts corners in clockwise order if they go around a convex figure.
fn clockwise(corners: [[f64; 2]; 4]) -> Option<[[f64; 2]; 4]> {
    let turn = |at: usize| {
        let [a, b, c] = [0, 1, 2].map(|step| corners[(at + step) % 4]);
        (b[0] - a[0]) * (c[1] - b[1]) - (b[1] - a[1]) * (c[0] - b[0])
    };
    let turns = [0, 1, 2, 3].map(turn);
    let [a, b, c, d] = corners;
    if turns.iter().all(|turn| *turn > 1.0) {
        Some(corners)
    } else if turns.iter().all(|turn| *turn < -1.0) {
        Some([a, d, c, b])
    } else {
        None
    }
}

fn lay_flat(pixels: &Pixels, camera: &Camera, reference: Reference) -> Flat {
    let [width, height] = camera.size_mm;
    let pixels_per_mm = camera.pixels_per_mm().min(MOST_PIXELS_PER_MM);
    let to_photo = |at_mm| camera.to_photo(at_mm);
    if reference != Reference::Id1Card {
        let low = [SHEET_EDGE_MM, SHEET_EDGE_MM];
        let high = [width - SHEET_EDGE_MM, height - SHEET_EDGE_MM];
        return segment::lay_flat(pixels, [low, high], pixels_per_mm, to_photo, |_| true);
    }
    // As much of the ground around the card as the photograph shows.
    let (photo_width, photo_height) = (pixels.width as f64, pixels.height as f64);
    let frame = [[0.0, 0.0], [photo_width, 0.0], [photo_width, photo_height], [0.0, photo_height]];
    let seen = frame.map(|corner| camera.refined.homography.apply(camera.lens.straighten(corner)));
    let reach = |axis: usize, size: f64| {
        let low = seen.iter().map(|corner| corner[axis]).fold(f64::INFINITY, f64::min);
        let high = seen.iter().map(|corner| corner[axis]).fold(f64::NEG_INFINITY, f64::max);
        [low.max(-AROUND_CARD_MM), high.min(size + AROUND_CARD_MM)]
    };
    let ([left, right], [top, bottom]) = (reach(0, width), reach(1, height));
    let is_open = |[x, y]: [f64; 2]| {
        let near = SHEET_EDGE_MM;
        x < -near || x > width + near || y < -near || y > height + near
    };
    segment::lay_flat(pixels, [[left, top], [right, bottom]], pixels_per_mm, to_photo, is_open)
}

/// Follows an edge of the band around what it encloses, in millimeters.
fn follow(band: &Band, flat: &Flat, edge: Edge) -> Region {
    let labels = &band.inside;
    let (width, height) = (labels.width, labels.height);
    let values = labels.labels.iter().map(|&label| f32::from(label) * 255.0).collect();
    let soft = plane::Plane { width, height, values }.softened().softened();
    let rgba = soft.values.iter().map(|&value| {
        let value = value.round() as u8;
        [value, value, value, 255]
    });
    let pixels = Pixels { width, height, rgba: rgba.collect() };
    let palette = Palette::black_and_white();
    let source = Source { labels, pixels: &pixels, palette: &palette };
    let rings = contour::rings(&source, |x, y| labels.at(x as isize, y as isize) == 1);
    let to_mm = |[x, y]: [f64; 2]| {
        [flat.origin_mm[0] + x / flat.pixels_per_mm, flat.origin_mm[1] + y / flat.pixels_per_mm]
    };
    let crests = rings.into_iter().map(|ring| -> Vec<[f64; 2]> {
        ring.chains.into_iter().flat_map(|chain| chain.points).collect()
    });
    // The outer ring of the largest part is the longest.
    let length =
        |ring: &[[f64; 2]]| ring_edges(ring).map(|[from, to]| distance(from, to)).sum::<f64>();
    let crest = crests.max_by(|one, other| length(one).total_cmp(&length(other)));
    let crest = crest.unwrap_or_default();
    let moved = rim::to_edge(&crest, &band.response, band.least, flat.pixels_per_mm, edge);
    let ring: Vec<[f64; 2]> = fit::smooth_closed(&moved, SHARP).into_iter().map(to_mm).collect();
    // Where the edge turns sharply inward, neighbors may cross.
    Region::from_rings(&[ring], FillRule::NonZero).largest_part().without_holes()
}

fn scaled(region: &Region, scale: f64) -> Region {
    if scale == 1.0 {
        return region.clone();
    }
    let rings: Vec<Vec<[f64; 2]>> = region
        .rings()
        .map(|ring| ring.iter().map(|&[x, y]| [x * scale, y * scale]).collect())
        .collect();
    Region::from_rings(&rings, FillRule::EvenOdd)
}

fn longest(outline: &Region) -> Length {
    let corners = hull(outline.rings().flatten().map(|&[x, y]| Point::new(x, y)).collect());
    let across =
        corners.iter().flat_map(|one| corners.iter().map(move |other| one.distance(*other)));
    Length::mm(across.fold(0.0, f64::max))
}

/// Compares the longest distance across with what a ruler says.
fn check_ruler(
    outline: &Region,
    measured: Length,
    uncertainty: Length,
) -> Result<RulerCheck, Error> {
    let seen = longest(outline);
    let across = seen.to_mm();
    let scale = measured.to_mm() / across.max(1e-9);
    if scale.is_nan() || (scale - 1.0).abs() > MOST_CORRECTION {
        return Err(Error::RulerDisagrees { measured, seen });
    }
    let is_confirmed = (measured.to_mm() - across).abs() <= RULER.to_mm() + uncertainty.to_mm();
    Ok(RulerCheck { seen, scale: if is_confirmed { 1.0 } else { scale } })
}
