//! Figures: shapes people know a cutter by, drawn in units of about a hundredth of their height.
//!
//! A figure is one or more curves; where they overlap they are one.

use kurbo::BezPath;

use super::pen::{Pen, ellipse, limb, rounded_polygon, rounded_rectangle};

/// Draws the right half of a figure from its top to its foot and mirrors it at `x = 0`.
fn mirrored(right: &[[f64; 3]]) -> BezPath {
    let left = right.iter().rev().filter(|[x, ..]| *x > 0.0).map(|&[x, y, radius]| [-x, y, radius]);
    let corners: Vec<[f64; 3]> = right.iter().copied().chain(left).collect();
    rounded_polygon(&corners)
}

pub(super) fn mug() -> Vec<BezPath> {
    vec![rounded_polygon(&[
        [0.0, 0.0, 5.0],
        [76.0, 0.0, 5.0],
        [76.0, 16.0, 5.0],
        [108.0, 16.0, 20.0],
        [108.0, 66.0, 26.0],
        [76.0, 66.0, 5.0],
        [76.0, 90.0, 12.0],
        [0.0, 90.0, 12.0],
    ])]
}

pub(super) fn house() -> Vec<BezPath> {
    vec![rounded_polygon(&[
        [50.0, 0.0, 0.0],
        [68.0, 16.2, 0.0],
        [68.0, 6.0, 0.0],
        [84.0, 6.0, 0.0],
        [84.0, 30.6, 0.0],
        [100.0, 45.0, 0.0],
        [100.0, 108.0, 0.0],
        [0.0, 108.0, 0.0],
        [0.0, 45.0, 0.0],
    ])]
}

pub(super) fn tree() -> Vec<BezPath> {
    vec![mirrored(&[
        [0.0, 0.0, 3.5],
        [25.0, 36.0, 3.5],
        [15.0, 36.0, 3.0],
        [35.0, 66.0, 3.5],
        [24.0, 66.0, 3.0],
        [46.0, 99.0, 3.5],
        [9.0, 99.0, 2.0],
        [9.0, 114.0, 2.0],
    ])]
}

pub(super) fn mitten() -> Vec<BezPath> {
    vec![rounded_polygon(&[
        [8.0, 112.0, 6.0],
        [8.0, 82.0, 4.0],
        [0.0, 60.0, 60.0],
        [2.0, 0.0, 30.0],
        [64.0, 0.0, 30.0],
        [66.0, 54.0, 4.0],
        [82.0, 34.0, 10.0],
        [99.0, 47.0, 10.0],
        [66.0, 86.0, 6.0],
        [66.0, 112.0, 6.0],
    ])]
}

pub(super) fn snowman() -> Vec<BezPath> {
    vec![
        ellipse([0.0, 84.0], [30.0, 28.0]),
        ellipse([0.0, 46.0], [23.0, 22.0]),
        ellipse([0.0, 20.0], [17.0, 17.0]),
        rounded_rectangle([-18.0, 4.0], [36.0, 6.0], 2.5),
        rounded_rectangle([-12.0, -16.0], [24.0, 24.0], 2.5),
    ]
}

pub(super) fn cloud() -> Vec<BezPath> {
    vec![
        ellipse([22.0, 52.0], [22.0, 22.0]),
        ellipse([46.0, 32.0], [28.0, 28.0]),
        ellipse([78.0, 40.0], [22.0, 22.0]),
        ellipse([100.0, 55.0], [19.0, 19.0]),
        rounded_rectangle([8.0, 44.0], [104.0, 30.0], 15.0),
    ]
}

pub(super) fn bell() -> Vec<BezPath> {
    let body = Pen::at(-8.0, 8.0)
        .curve([-26.0, 12.0], [-28.0, 30.0], [-30.0, 50.0])
        .curve([-32.0, 68.0], [-40.0, 74.0], [-44.0, 82.0])
        .curve([-45.0, 87.0], [-42.0, 89.0], [-38.0, 89.0])
        .line(38.0, 89.0)
        .curve([42.0, 89.0], [45.0, 87.0], [44.0, 82.0])
        .curve([40.0, 74.0], [32.0, 68.0], [30.0, 50.0])
        .curve([28.0, 30.0], [26.0, 12.0], [8.0, 8.0])
        .close();
    vec![body, ellipse([0.0, 6.0], [9.0, 9.0]), ellipse([0.0, 88.0], [13.0, 13.0])]
}

pub(super) fn balloon() -> Vec<BezPath> {
    vec![
        Pen::at(-40.0, 44.0)
            .ellipse([0.0, 44.0], [40.0, 44.0], 180.0, 180.0)
            .curve([40.0, 74.0], [16.0, 94.0], [0.0, 100.0])
            .curve([-16.0, 94.0], [-40.0, 74.0], [-40.0, 44.0])
            .close(),
        rounded_polygon(&[[0.0, 90.0, 0.0], [10.0, 112.0, 3.0], [-10.0, 112.0, 3.0]]),
    ]
}

pub(super) fn ornament() -> Vec<BezPath> {
    vec![
        ellipse([0.0, 66.0], [46.0, 46.0]),
        rounded_rectangle([-13.0, 8.0], [26.0, 20.0], 2.0),
        ellipse([0.0, 8.0], [9.0, 9.0]),
    ]
}

pub(super) fn pumpkin() -> Vec<BezPath> {
    vec![
        ellipse([-30.0, 56.0], [24.0, 34.0]),
        ellipse([30.0, 56.0], [24.0, 34.0]),
        ellipse([-13.0, 55.0], [24.0, 37.0]),
        ellipse([13.0, 55.0], [24.0, 37.0]),
        rounded_polygon(&[[-6.0, 30.0, 0.0], [-9.0, 2.0, 3.0], [5.0, -2.0, 3.0], [9.0, 30.0, 0.0]]),
    ]
}

pub(super) fn cupcake() -> Vec<BezPath> {
    vec![
        rounded_polygon(&[
            [-34.0, 56.0, 0.0],
            [34.0, 56.0, 0.0],
            [26.0, 104.0, 4.0],
            [-26.0, 104.0, 4.0],
        ]),
        rounded_rectangle([-44.0, 40.0], [88.0, 24.0], 12.0),
        rounded_rectangle([-34.0, 22.0], [68.0, 26.0], 12.0),
        ellipse([0.0, 20.0], [20.0, 16.0]),
        ellipse([0.0, 3.0], [9.0, 9.0]),
    ]
}

pub(super) fn gift() -> Vec<BezPath> {
    vec![
        rounded_rectangle([4.0, 44.0], [92.0, 66.0], 2.0),
        rounded_rectangle([0.0, 30.0], [100.0, 24.0], 2.0),
        Pen::at(50.0, 34.0)
            .curve([40.0, 0.0], [16.0, -2.0], [14.0, 14.0])
            .curve([13.0, 28.0], [30.0, 34.0], [50.0, 34.0])
            .close(),
        Pen::at(50.0, 34.0)
            .curve([60.0, 0.0], [84.0, -2.0], [86.0, 14.0])
            .curve([87.0, 28.0], [70.0, 34.0], [50.0, 34.0])
            .close(),
        ellipse([50.0, 25.0], [10.0, 10.0]),
    ]
}

pub(super) fn stocking() -> Vec<BezPath> {
    vec![rounded_polygon(&[
        [0.0, 0.0, 5.0],
        [56.0, 0.0, 5.0],
        [56.0, 24.0, 4.0],
        [51.0, 24.0, 4.0],
        [51.0, 58.0, 14.0],
        [88.0, 74.0, 18.0],
        [84.0, 112.0, 19.0],
        [5.0, 98.0, 24.0],
        [5.0, 24.0, 4.0],
        [0.0, 24.0, 4.0],
    ])]
}

pub(super) fn bodysuit() -> Vec<BezPath> {
    vec![mirrored(&[
        [0.0, 12.0, 30.0],
        [16.0, 4.0, 10.0],
        [24.0, 0.0, 4.0],
        [52.0, 18.0, 5.0],
        [44.0, 44.0, 4.0],
        [31.0, 38.0, 4.0],
        [33.0, 80.0, 8.0],
        [16.0, 94.0, 14.0],
        [13.0, 108.0, 3.0],
    ])]
}

pub(super) fn ghost() -> Vec<BezPath> {
    vec![
        Pen::at(0.0, 42.0)
            .ellipse([42.0, 42.0], [42.0, 42.0], 180.0, 180.0)
            .line(84.0, 96.0)
            .arc([70.0, 96.0], 180.0)
            .line(56.0, 92.0)
            .line(56.0, 96.0)
            .arc([42.0, 96.0], 180.0)
            .line(28.0, 92.0)
            .line(28.0, 96.0)
            .arc([14.0, 96.0], 180.0)
            .close(),
    ]
}

pub(super) fn bone() -> Vec<BezPath> {
    let knob = |x, y| ellipse([x, y], [16.0, 16.0]);
    vec![
        knob(16.0, 15.0),
        knob(16.0, 41.0),
        knob(104.0, 15.0),
        knob(104.0, 41.0),
        rounded_rectangle([16.0, 15.0], [88.0, 26.0], 0.0),
    ]
}

pub(super) fn person() -> Vec<BezPath> {
    vec![
        ellipse([0.0, 20.0], [20.0, 20.0]),
        rounded_rectangle([-17.0, 38.0], [34.0, 44.0], 8.0),
        limb([-10.0, 50.0], [-36.0, 50.0], 19.0),
        limb([10.0, 50.0], [36.0, 50.0], 19.0),
        limb([-8.0, 74.0], [-18.0, 104.0], 20.0),
        limb([8.0, 74.0], [18.0, 104.0], 20.0),
    ]
}

pub(super) fn butterfly() -> Vec<BezPath> {
    vec![
        limb([0.0, 14.0], [0.0, 78.0], 12.0),
        Pen::at(0.0, 46.0)
            .curve([14.0, 8.0], [46.0, -8.0], [56.0, 8.0])
            .curve([66.0, 28.0], [40.0, 50.0], [0.0, 54.0])
            .close(),
        Pen::at(0.0, 46.0)
            .curve([-14.0, 8.0], [-46.0, -8.0], [-56.0, 8.0])
            .curve([-66.0, 28.0], [-40.0, 50.0], [0.0, 54.0])
            .close(),
        Pen::at(0.0, 48.0)
            .curve([30.0, 44.0], [50.0, 62.0], [42.0, 78.0])
            .curve([34.0, 92.0], [12.0, 84.0], [0.0, 68.0])
            .close(),
        Pen::at(0.0, 48.0)
            .curve([-30.0, 44.0], [-50.0, 62.0], [-42.0, 78.0])
            .curve([-34.0, 92.0], [-12.0, 84.0], [0.0, 68.0])
            .close(),
    ]
}

pub(super) fn crown() -> Vec<BezPath> {
    vec![mirrored(&[[0.0, 0.0, 3.5], [18.0, 38.0, 3.0], [52.0, 6.0, 3.5], [44.0, 76.0, 2.5]])]
}
