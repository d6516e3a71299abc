//! What the kernel knows of a piece, and the piece turned by an angle.

use super::{LANES, MOST_POLES, board::Spot, grow::grown, poles::poles};
use crate::{
    Error, Outline, Piece, Placement, Rotation,
    clean::{CleanPiece, angles, area, turned_bounds},
};

/// Added to the gap so that single precision never falls short of it.
pub(crate) const SLACK_MM: f64 = 0.004;
/// Angles a freely turning piece is first tried at: every 15 degrees.
const N_ANGLES: usize = 24;

/// A piece grown by half a gap, about its centroid.
#[derive(Clone, Debug)]
pub(crate) struct Shape {
    /// Where the centroid lies in the outline's own coordinates.
    center: [f64; 2],
    /// Corners; after the last the first is repeated up to the stride, so that edges end there with no length.
    xs: Vec<f32>,
    ys: Vec<f32>,
    pub(crate) n_corners: usize,
    pole_xs: [f32; MOST_POLES],
    pole_ys: [f32; MOST_POLES],
    pub(crate) pole_rs: [f32; MOST_POLES],
    pub(crate) n_poles: usize,
    /// Rounded up to whole chunks.
    pub(crate) n_padded_poles: usize,
    pub(crate) area_mm2: f64,
    /// Area with half a gap around.
    pub(crate) grown_mm2: f32,
    pub(crate) diameter_mm: f32,
    /// The shorter side of its box.
    pub(crate) breadth_mm: f32,
    /// Fourth root of the area of its convex hull.
    pub(crate) extent_root: f32,
    pub(crate) rotation: Rotation,
    /// The piece at the angles it is first tried at; where it may be mirrored, then mirrored at the same angles.
    pub(crate) turns: Vec<Turned>,
    /// Angles it is first tried at.
    pub(crate) n_angles: usize,
}

/// A shape turned by an angle, about its centroid.
#[derive(Clone, Debug, Default)]
pub(crate) struct Turned {
    pub(crate) shape: usize,
    pub(crate) angle: f32,
    /// Whether it was mirrored first.
    pub(crate) mirrored: bool,
    pub(crate) xs: Vec<f32>,
    pub(crate) ys: Vec<f32>,
    pub(crate) pole_xs: [f32; MOST_POLES],
    pub(crate) pole_ys: [f32; MOST_POLES],
    pub(crate) low: [f32; 2],
    pub(crate) high: [f32; 2],
}

impl Shape {
    /// Takes in the clean outlines of all pieces.
    ///
    /// # Errors
    /// The gap cannot be put around one of them.
    pub(crate) fn all(
        pieces: &[Piece],
        clean: &[CleanPiece],
        gap_mm: f64,
    ) -> Result<Vec<Self>, Error> {
        let both = clean.iter().zip(pieces).enumerate();
        both.map(|(place, (clean, piece))| Self::new(place, &clean.outline, piece, gap_mm))
            .collect()
    }

    /// Takes in a clean outline.
    ///
    /// # Errors
    /// The gap cannot be put around it.
    fn new(place: usize, outline: &Outline, piece: &Piece, gap_mm: f64) -> Result<Self, Error> {
        let corners = grown(outline, (gap_mm + SLACK_MM) / 2.0).ok_or(Error::BadOutline {
            piece: place,
            what: "has a detail the gap cannot be put around",
        })?;
        let grown_mm2 = area(&corners);
        let center = centroid(&corners, grown_mm2);
        let centered: Outline =
            corners.iter().map(|[x, y]| [x - center[0], y - center[1]]).collect();
        let diameter = diameter(&centered);
        let (low, high) = turned_bounds(&centered, 0.0);
        let found = poles(&centered, grown_mm2, diameter);
        let n_corners = centered.len();
        let n_padded = (n_corners / LANES + 1) * LANES + 1;
        let at = |axis: usize| -> Vec<f32> {
            (0..n_padded)
                .map(|i| centered[if i < n_corners { i } else { 0 }][axis] as f32)
                .collect()
        };
        // What pads the poles is a point far away from everything.
        let mut shape = Self {
            center,
            xs: at(0),
            ys: at(1),
            n_corners,
            pole_xs: [FAR_MM; MOST_POLES],
            pole_ys: [FAR_MM; MOST_POLES],
            pole_rs: [0.0; MOST_POLES],
            n_poles: found.len(),
            n_padded_poles: found.len().div_ceil(LANES) * LANES,
            area_mm2: area(outline).abs(),
            grown_mm2: grown_mm2 as f32,
            diameter_mm: diameter as f32,
            breadth_mm: (high[0] - low[0]).min(high[1] - low[1]) as f32,
            extent_root: hull_area(&centered).sqrt().sqrt() as f32,
            rotation: piece.rotation.clone(),
            turns: Vec::new(),
            n_angles: 0,
        };
        for (i, pole) in found.iter().enumerate() {
            shape.pole_xs[i] = pole.center[0] as f32;
            shape.pole_ys[i] = pole.center[1] as f32;
            shape.pole_rs[i] = pole.radius as f32;
        }
        let angles = angles(&piece.rotation, N_ANGLES);
        shape.n_angles = angles.len();
        let ways: &[bool] = if piece.mirror { &[false, true] } else { &[false] };
        for mirrored in ways {
            for angle in &angles {
                let mut turned = Turned::default();
                shape.turn_as(place, *angle as f32, *mirrored, &mut turned);
                shape.turns.push(turned);
            }
        }
        Ok(shape)
    }

    /// Turns the shape as it lies somewhere; `place` is its place among the shapes.
    pub(crate) fn turn_like(&self, place: usize, spot: &Spot, into: &mut Turned) {
        self.turn_as(place, spot.angle, spot.mirrored, into);
    }

    /// Mirrors the shape or not, then turns it.
    pub(crate) fn turn_as(&self, place: usize, angle: f32, mirrored: bool, into: &mut Turned) {
        let (sin, cos) = match self.told_deg(angle) {
            // Quarter turns leave straight edges straight to the last digit.
            Some(degrees) if degrees % 90.0 == 0.0 => {
                [(0.0, 1.0), (1.0, 0.0), (0.0, -1.0), (-1.0, 0.0)]
                    [(degrees / 90.0).rem_euclid(4.0) as usize % 4]
            }
            Some(degrees) => {
                let (sin, cos) = degrees.to_radians().sin_cos();
                (sin as f32, cos as f32)
            }
            None => angle.sin_cos(),
        };
        let side = if mirrored { -1.0 } else { 1.0 };
        into.shape = place;
        into.angle = angle;
        into.mirrored = mirrored;
        into.xs.resize(self.xs.len(), 0.0);
        into.ys.resize(self.xs.len(), 0.0);
        let (mut low, mut high) = ([f32::MAX; 2], [f32::MIN; 2]);
        let corners = self.xs.iter().zip(&self.ys);
        for ((&x, &y), (to_x, to_y)) in corners.zip(into.xs.iter_mut().zip(&mut into.ys)) {
            let x = side * x;
            let (tx, ty) = (x * cos - y * sin, x * sin + y * cos);
            (*to_x, *to_y) = (tx, ty);
            low = [low[0].min(tx), low[1].min(ty)];
            high = [high[0].max(tx), high[1].max(ty)];
        }
        (into.low, into.high) = (low, high);
        for i in 0..MOST_POLES {
            let (x, y) = (side * self.pole_xs[i], self.pole_ys[i]);
            let real = self.pole_rs[i] > 0.0;
            into.pole_xs[i] = if real { x * cos - y * sin } else { FAR_MM };
            into.pole_ys[i] = if real { x * sin + y * cos } else { FAR_MM };
        }
    }

    /// Corners about the centroid, counter-clockwise (positive area).
    pub(crate) fn corners(&self) -> impl Iterator<Item = [f64; 2]> {
        let both = self.xs.iter().zip(&self.ys).take(self.n_corners);
        both.map(|(&x, &y)| [f64::from(x), f64::from(y)])
    }

    /// Length of the padded corner lists.
    pub(crate) fn n_padded(&self) -> usize {
        self.xs.len()
    }

    /// Where the outline's own origin goes when the centroid lies at a place.
    pub(crate) fn placement(&self, piece: usize, spot: &Spot) -> Placement {
        let rotation_deg = self
            .told_deg(spot.angle)
            .unwrap_or_else(|| f64::from(spot.angle).to_degrees().rem_euclid(360.0));
        let [x, y] = self.turned_center(rotation_deg, spot.mirrored);
        Placement {
            piece,
            x_mm: f64::from(spot.at[0]) - x,
            y_mm: f64::from(spot.at[1]) - y,
            rotation_deg,
            mirrored: spot.mirrored,
        }
    }

    /// The angle as plans tell it, if it is one the rotation names or a quarter turn, rounding aside.
    fn told_deg(&self, angle: f32) -> Option<f64> {
        match &self.rotation {
            Rotation::Fixed => Some(0.0),
            Rotation::Quarter => Some(f64::from(quarters(angle)) * 90.0),
            Rotation::Free => near_quarter(angle).map(|at| at as f64 * 90.0),
            Rotation::Angles(degrees) => {
                let off = |degrees: f64| {
                    let turns = (degrees.to_radians() - f64::from(angle)) / std::f64::consts::TAU;
                    (turns - turns.round()).abs()
                };
                degrees.iter().copied().min_by(|&a, &b| off(a).total_cmp(&off(b)))
            }
        }
    }

    /// Where the centroid lies for a placement.
    pub(crate) fn center_of(&self, placement: &Placement) -> [f32; 2] {
        let [x, y] = self.turned_center(placement.rotation_deg, placement.mirrored);
        [(placement.x_mm + x) as f32, (placement.y_mm + y) as f32]
    }

    /// The centroid of the outline mirrored or not, then turned about its own origin.
    fn turned_center(&self, degrees: f64, mirrored: bool) -> [f64; 2] {
        let (sin, cos) = degrees.to_radians().sin_cos();
        let [x, y] = self.center;
        let x = if mirrored { -x } else { x };
        [x * cos - y * sin, x * sin + y * cos]
    }
}

const TAU: f32 = std::f32::consts::TAU;
/// Poles that are none lie here; its square still is a number.
pub(crate) const FAR_MM: f32 = 1e6;

fn quarters(angle: f32) -> u32 {
    (angle / (TAU / 4.0)).round().rem_euclid(4.0) as u32 % 4
}

/// The quarter turn an angle is, rounding aside.
fn near_quarter(angle: f32) -> Option<usize> {
    let turns = angle / (TAU / 4.0);
    ((turns - turns.round()).abs() < 1e-5).then(|| quarters(angle) as usize)
}

fn centroid(corners: &Outline, area_mm2: f64) -> [f64; 2] {
    let n = corners.len();
    let [x0, y0] = corners[0];
    let mut sum = [0.0; 2];
    for i in 0..n {
        let (a, b) = (corners[i], corners[(i + 1) % n]);
        let (ax, ay, bx, by) = (a[0] - x0, a[1] - y0, b[0] - x0, b[1] - y0);
        let cross = ax * by - bx * ay;
        sum = [sum[0] + (ax + bx) * cross, sum[1] + (ay + by) * cross];
    }
    [x0 + sum[0] / (6.0 * area_mm2), y0 + sum[1] / (6.0 * area_mm2)]
}

fn hull(corners: &Outline) -> Outline {
    let mut points = corners.clone();
    points.sort_by(|a, b| a[0].total_cmp(&b[0]).then(a[1].total_cmp(&b[1])));
    let mut around = Outline::new();
    let upper: Vec<[f64; 2]> = points.iter().rev().copied().collect();
    for chain in [points, upper] {
        let start = around.len();
        for p in chain {
            while around.len() >= start + 2 {
                let (a, b) = (around[around.len() - 2], around[around.len() - 1]);
                if (b[0] - a[0]) * (p[1] - a[1]) - (b[1] - a[1]) * (p[0] - a[0]) > 0.0 {
                    break;
                }
                around.pop();
            }
            around.push(p);
        }
        around.pop();
    }
    around
}

fn hull_area(corners: &Outline) -> f64 {
    area(&hull(corners)).abs()
}

fn diameter(corners: &Outline) -> f64 {
    let around = hull(corners);
    around
        .iter()
        .flat_map(|a| around.iter().map(move |b| (a[0] - b[0]).hypot(a[1] - b[1])))
        .fold(0.0, f64::max)
}
