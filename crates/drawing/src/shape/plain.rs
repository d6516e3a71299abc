//! Shapes of geometry, whose area has a closed form.

use std::f64::consts::PI;

use kurbo::BezPath;

use super::pen::{Pen, ellipse, rounded_polygon, rounded_rectangle};

/// Radius of rounded corners, over the shorter side.
pub(super) const ROUNDED: f64 = 0.18;
/// Radius of the quarter circles cut from the corners of a plaque, over the shorter side.
pub(super) const PLAQUE: f64 = 0.16;
/// Side cut from the upper corners of a tag, over the shorter side.
pub(super) const TAG: f64 = 0.28;
/// Radius of the half circles cut from the ends of a ticket, over the shorter side.
pub(super) const TICKET: f64 = 0.16;
/// Depth of the notches of a ribbon, over its width.
pub(super) const RIBBON: f64 = 0.1;
/// Height of the sides of a pennant, over its height.
pub(super) const PENNANT: f64 = 0.45;
/// Width of the arms of a cross, over its side.
pub(super) const CROSS: f64 = 0.36;
/// Half the angle at the point of a star, before it is rounded.
pub(super) const STAR_HALF_ANGLE: f64 = 27.5 * PI / 180.0;
/// Radius of the points of a star and of the corners between them, over the radius of the circle around it.
pub(super) const STAR_ROUNDING: [f64; 2] = [0.05, 0.06];
/// Radius of a petal over the radius at which it would just touch the next.
pub(super) const PETAL: f64 = 1.25;
/// Distance of the point of a drop from the center of its circle, over the radius.
pub(super) const DROP: f64 = 1.95;
/// Height of the straight sides of a shield, over its width.
pub(super) const SHIELD: f64 = 0.35;
/// Rise of either side of a leaf over half its length.
pub(super) const LEAF: f64 = 0.45;
/// Radius of the circle taken from a crescent, its distance to the right, and the radius of the points.
pub(super) const CRESCENT: [f64; 3] = [0.82, 0.5, 0.05];

pub(super) fn oval([width, height]: [f64; 2]) -> BezPath {
    ellipse([0.0, 0.0], [width / 2.0, height / 2.0])
}

pub(super) fn rectangle([width, height]: [f64; 2]) -> BezPath {
    rounded_rectangle([0.0, 0.0], [width, height], 0.0)
}

pub(super) fn rounded([width, height]: [f64; 2], radius: f64) -> BezPath {
    rounded_rectangle([0.0, 0.0], [width, height], radius * width.min(height))
}

pub(super) fn plaque([width, height]: [f64; 2]) -> BezPath {
    let r = PLAQUE * width.min(height);
    Pen::at(r, 0.0)
        .line(width - r, 0.0)
        .arc([width, 0.0], -90.0)
        .line(width, height - r)
        .arc([width, height], -90.0)
        .line(r, height)
        .arc([0.0, height], -90.0)
        .line(0.0, r)
        .arc([0.0, 0.0], -90.0)
        .close()
}

/// Height of the round top of an arch.
pub(super) fn arch_rise([width, height]: [f64; 2]) -> f64 {
    (width / 2.0).min(0.75 * height)
}

pub(super) fn arch(size: [f64; 2]) -> BezPath {
    let [width, height] = size;
    let rise = arch_rise(size);
    let half = width / 2.0;
    Pen::at(0.0, rise)
        .ellipse([half, rise], [half, rise], 180.0, 180.0)
        .line(width, height)
        .line(0.0, height)
        .close()
}

pub(super) fn tag([width, height]: [f64; 2]) -> BezPath {
    let cut = TAG * width.min(height);
    polygon(&[
        [cut, 0.0],
        [width - cut, 0.0],
        [width, cut],
        [width, height],
        [0.0, height],
        [0.0, cut],
    ])
}

pub(super) fn ticket([width, height]: [f64; 2]) -> BezPath {
    let r = TICKET * width.min(height);
    Pen::at(0.0, 0.0)
        .line(width, 0.0)
        .line(width, height / 2.0 - r)
        .arc([width, height / 2.0], -180.0)
        .line(width, height)
        .line(0.0, height)
        .line(0.0, height / 2.0 + r)
        .arc([0.0, height / 2.0], -180.0)
        .close()
}

pub(super) fn diamond() -> BezPath {
    polygon(&[[1.0, 0.0], [2.0, 1.0], [1.0, 2.0], [0.0, 1.0]])
}

pub(super) fn triangle() -> BezPath {
    let height = 3.0_f64.sqrt();
    polygon(&[[1.0, 0.0], [2.0, height], [0.0, height]])
}

/// Draws a regular polygon, standing on a side where `turned` is half a step.
pub(super) fn regular(n: u8, turned: f64) -> BezPath {
    let corners: Vec<[f64; 2]> =
        around(n, turned).map(|angle| [angle.sin(), -angle.cos()]).collect();
    polygon(&corners)
}

/// Inner radius of a star over its outer one.
pub(super) fn star_inner(n: u8) -> f64 {
    let (half, step) = (STAR_HALF_ANGLE.tan(), PI / f64::from(n));
    half / (step.sin() + half * step.cos())
}

pub(super) fn star(n: u8) -> BezPath {
    let inner = star_inner(n);
    let [point, valley] = STAR_ROUNDING;
    let step = PI / f64::from(n);
    let corners: Vec<[f64; 3]> = around(n, 0.0)
        .flat_map(|angle| {
            let between = angle + step;
            [
                [angle.sin(), -angle.cos(), point],
                [inner * between.sin(), -inner * between.cos(), valley],
            ]
        })
        .collect();
    rounded_polygon(&corners)
}

/// Radius of a petal whose center lies 1 from the middle, and distance of the corners between petals from the middle.
pub(super) fn petal(n: u8) -> [f64; 2] {
    let step = PI / f64::from(n);
    let radius = PETAL * step.sin();
    [radius, step.cos() + (radius * radius - step.sin() * step.sin()).sqrt()]
}

pub(super) fn flower(n: u8) -> BezPath {
    let step = PI / f64::from(n);
    let [_, valley] = petal(n);
    let half_turn = (valley * step.sin()).atan2(valley * step.cos() - 1.0).to_degrees();
    let mut pen = Pen::at(-valley * step.sin(), -valley * step.cos());
    for angle in around(n, 0.0) {
        pen = pen.arc([angle.sin(), -angle.cos()], 2.0 * half_turn);
    }
    pen.close()
}

pub(super) fn egg() -> BezPath {
    Pen::at(0.0, 0.8)
        .ellipse([0.5, 0.8], [0.5, 0.8], 180.0, 180.0)
        .ellipse([0.5, 0.8], [0.5, 0.5], 0.0, 180.0)
        .close()
}

pub(super) fn drop() -> BezPath {
    // Where the sides leave the circle, seen from its center, the point straight up.
    let leave = (1.0 / DROP).acos();
    Pen::at(0.0, -DROP)
        .line(leave.sin(), -leave.cos())
        .arc([0.0, 0.0], 360.0 - 2.0 * leave.to_degrees())
        .close()
}

pub(super) fn leaf() -> BezPath {
    // Two arcs over a chord of 2.
    let rise = LEAF;
    let radius = (1.0 + rise * rise) / (2.0 * rise);
    let half_angle = (1.0 / radius).asin().to_degrees();
    Pen::at(0.0, -1.0)
        .arc([rise - radius, 0.0], 2.0 * half_angle)
        .arc([radius - rise, 0.0], 2.0 * half_angle)
        .close()
}

pub(super) fn crescent() -> BezPath {
    let [inner, offset, tip] = CRESCENT;
    // The points are circles that touch the outer circle from inside and the inner one from outside.
    let (to_outer, to_inner) = (1.0 - tip, inner + tip);
    let x = (to_outer * to_outer - to_inner * to_inner + offset * offset) / (2.0 * offset);
    let y = (to_outer * to_outer - x * x).max(0.0).sqrt();
    let outer_angle = y.atan2(x).to_degrees();
    let inner_angle = y.atan2(x - offset).to_degrees();
    let on_outer = [x / to_outer, y / to_outer];
    Pen::at(on_outer[0], on_outer[1])
        .arc([0.0, 0.0], 360.0 - 2.0 * outer_angle)
        .arc([x, -y], 180.0 - (inner_angle - outer_angle))
        .arc([offset, 0.0], -(360.0 - 2.0 * inner_angle))
        .arc([x, y], 180.0 - (inner_angle - outer_angle))
        .close()
}

pub(super) fn shield() -> BezPath {
    Pen::at(0.0, 0.0)
        .line(1.0, 0.0)
        .line(1.0, SHIELD)
        .arc([0.0, SHIELD], 60.0)
        .arc([1.0, SHIELD], 60.0)
        .close()
}

pub(super) fn pennant() -> BezPath {
    polygon(&[[0.0, 0.0], [1.0, 0.0], [1.0, PENNANT], [0.5, 1.0], [0.0, PENNANT]])
}

pub(super) fn ribbon([width, height]: [f64; 2]) -> BezPath {
    let notch = RIBBON * width;
    polygon(&[
        [0.0, 0.0],
        [width, 0.0],
        [width - notch, height / 2.0],
        [width, height],
        [0.0, height],
        [notch, height / 2.0],
    ])
}

pub(super) fn cross() -> BezPath {
    let (near, far) = ((1.0 - CROSS) / 2.0, (1.0 + CROSS) / 2.0);
    polygon(&[
        [near, 0.0],
        [far, 0.0],
        [far, near],
        [1.0, near],
        [1.0, far],
        [far, far],
        [far, 1.0],
        [near, 1.0],
        [near, far],
        [0.0, far],
        [0.0, near],
        [near, near],
    ])
}

/// A square of side 1 on its corner, with half circles on its two upper sides.
pub(super) fn heart() -> BezPath {
    let half_diagonal = std::f64::consts::FRAC_1_SQRT_2;
    let quarter = half_diagonal / 2.0;
    Pen::at(0.0, -half_diagonal)
        .arc([quarter, -quarter], 180.0)
        .line(0.0, half_diagonal)
        .line(-half_diagonal, 0.0)
        .arc([-quarter, -quarter], 180.0)
        .close()
}

fn around(n: u8, turned: f64) -> impl Iterator<Item = f64> {
    (0..n).map(move |i| (f64::from(i) + turned) * 2.0 * PI / f64::from(n))
}

fn polygon(corners: &[[f64; 2]]) -> BezPath {
    let sharp: Vec<[f64; 3]> = corners.iter().map(|&[x, y]| [x, y, 0.0]).collect();
    rounded_polygon(&sharp)
}
