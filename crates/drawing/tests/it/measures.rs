//! Areas, offsets and widths against closed forms.

use std::f64::consts::PI;

use drawing::region::{FillRule, Region};
use proptest::prelude::{Strategy, prop, proptest};
use quantity::Length;

fn polygon(corners: &[[f64; 2]]) -> Region {
    Region::from_rings(&[corners.to_vec()], FillRule::NonZero)
}

fn rectangle(width: f64, height: f64) -> Region {
    polygon(&[[0.0, 0.0], [width, 0.0], [width, height], [0.0, height]])
}

/// A disk of chords at most 0.001 mm inside the circle.
fn disk(x: f64, y: f64, radius: f64) -> Region {
    let n = (PI / (1.0 - 0.001 / radius).acos()).ceil() as usize;
    let corner = |index: usize| {
        let angle = 2.0 * PI * index as f64 / n as f64;
        [x + radius * angle.cos(), y + radius * angle.sin()]
    };
    polygon(&(0..n).map(corner).collect::<Vec<_>>())
}

fn annulus(outer: f64, inner: f64) -> Region {
    disk(0.0, 0.0, outer).subtract(&disk(0.0, 0.0, inner))
}

/// Two half disks and the rectangle between them.
fn stadium(straight: f64, radius: f64) -> Region {
    let bar = polygon(&[[0.0, -radius], [straight, -radius], [straight, radius], [0.0, radius]]);
    Region::union(&[&bar, &disk(0.0, 0.0, radius), &disk(straight, 0.0, radius)])
}

/// An isosceles triangle, its tip at the origin.
fn wedge(tip_degrees: f64, length: f64) -> Region {
    let half = length * (tip_degrees / 2.0).to_radians().tan();
    polygon(&[[0.0, 0.0], [length, -half], [length, half]])
}

fn check(found: f64, expected: f64, tolerance: f64, what: &str) {
    assert!(
        (found - expected).abs() <= tolerance,
        "{what}: {found}, expected {expected} within {tolerance}"
    );
}

fn area(region: &Region) -> f64 {
    region.area().to_mm2()
}

#[test]
fn areas_and_edges_of_round_shapes() {
    check(area(&annulus(30.0, 25.0)), PI * (900.0 - 625.0), 0.5, "annulus");
    check(annulus(30.0, 25.0).edge_length().to_mm(), 2.0 * PI * 55.0, 0.1, "edge of the annulus");
    check(area(&stadium(40.0, 8.0)), 640.0 + PI * 64.0, 0.2, "stadium");
}

#[test]
fn insets_have_their_closed_form() {
    let inset = |region: &Region, mm: f64| area(&region.inset(Length::mm(mm)));
    check(inset(&rectangle(60.0, 40.0), 2.0), 56.0 * 36.0, 0.01, "rectangle");
    check(inset(&annulus(30.0, 20.0), 2.0), PI * (784.0 - 484.0), 0.6, "annulus");
    check(inset(&stadium(40.0, 8.0), 3.0), 400.0 + PI * 25.0, 0.3, "stadium");
    // The inscribed circle of a right triangle of sides 30, 40, 50 has the radius 10; insets are similar to it.
    let triangle = polygon(&[[0.0, 0.0], [40.0, 0.0], [0.0, 30.0]]);
    check(inset(&triangle, 4.0), 600.0 * 0.6 * 0.6, 0.05, "triangle");
}

#[test]
fn an_inset_beyond_the_half_width_leaves_nothing() {
    for (region, mm) in [
        (rectangle(60.0, 40.0), 20.01),
        (annulus(30.0, 20.0), 5.01),
        (stadium(40.0, 8.0), 8.01),
        (disk(5.0, 5.0, 3.0), 3.01),
        (rectangle(60.0, 40.0), 500.0),
    ] {
        assert!(region.inset(Length::mm(mm)).is_empty(), "{mm}");
    }
}

#[test]
fn growth_follows_steiner_for_convex_shapes_and_closes_holes() {
    for (region, mm) in
        [(rectangle(30.0, 20.0), 3.0), (stadium(40.0, 8.0), 5.0), (wedge(30.0, 50.0), 2.0)]
    {
        let expected = area(&region) + region.edge_length().to_mm() * mm + PI * mm * mm;
        check(area(&region.grow(Length::mm(mm))), expected, 0.005 * expected, "grown");
    }
    let closed = annulus(30.0, 4.0).grow(Length::mm(4.1));
    assert_eq!(closed.rings().count(), 1);
    let open = annulus(30.0, 10.0).grow(Length::mm(4.0));
    check(area(&open), PI * (34.0 * 34.0 - 36.0), 2.0, "annulus grown");
}

#[test]
fn a_dumbbell_falls_in_two_when_its_neck_is_gone() {
    let neck = polygon(&[[0.0, -1.0], [40.0, -1.0], [40.0, 1.0], [0.0, 1.0]]);
    let dumbbell = Region::union(&[&disk(0.0, 0.0, 10.0), &disk(40.0, 0.0, 10.0), &neck]);
    assert_eq!(dumbbell.n_parts(), 1);
    assert_eq!(dumbbell.inset(Length::mm(1.01)).n_parts(), 2);
    check(dumbbell.smallest_width().to_mm(), 2.0, 0.02, "neck");
    check(dumbbell.typical_width().to_mm(), 20.0, 0.4, "dumbbell");
}

#[test]
fn widths_have_their_closed_form() {
    let check_widths =
        |region: &Region, smallest: f64, typical: f64, tolerance: f64, what: &str| {
            check(
                region.smallest_width().to_mm(),
                smallest,
                tolerance,
                &format!("smallest width of the {what}"),
            );
            check(
                region.typical_width().to_mm(),
                typical,
                tolerance,
                &format!("typical width of the {what}"),
            );
        };
    check_widths(&rectangle(60.0, 4.0), 4.0, 4.0, 0.01, "bar");
    check_widths(&rectangle(60.0, 40.0), 40.0, 40.0, 0.5, "rectangle");
    check_widths(&rectangle(20.0, 20.0), 20.0, 20.0, 0.2, "square");
    check_widths(&annulus(30.0, 27.0), 3.0, 3.0, 0.03, "ring");
    check_widths(&stadium(40.0, 1.5), 3.0, 3.0, 0.03, "stadium");
    check_widths(&disk(0.0, 0.0, 6.0), 12.0, 12.0, 0.1, "disk");
    // Inscribed circle of an equilateral triangle of side 30: diameter 30/√3.
    check_widths(&wedge(60.0, 30.0 * 0.75_f64.sqrt()), 17.32, 17.32, 0.2, "equilateral triangle");
    // A blunt tip is no neck: the widest disk, of radius A/s, counts.
    let blunt = wedge(45.0, 40.0);
    let in_circle = 2.0 * area(&blunt) / (blunt.edge_length().to_mm() / 2.0);
    check(blunt.smallest_width().to_mm(), in_circle, 0.2, "smallest width of the blunt wedge");
    // A needle is a strand that runs out: nothing at its tip.
    // Its sides of 100 face each other from the tip to where the inscribed circle touches them, s - a from the tip
    // (a: base, s: half the edge); half way, the disk between them has the diameter (s - a) · tan(5°).
    let needle = wedge(10.0, 100.0 * 5_f64.to_radians().cos());
    let base = 200.0 * 5_f64.to_radians().sin();
    let facing = 100.0 - base / 2.0;
    check(needle.smallest_width().to_mm(), 0.0, 0.05, "smallest width of the needle");
    check(
        needle.typical_width().to_mm(),
        facing * 5_f64.to_radians().tan(),
        0.1,
        "typical width of the needle",
    );
    check_widths(&Region::default(), 0.0, 0.0, 0.0, "empty region");
}

fn quadrilaterals() -> impl Strategy<Value = Region> {
    prop::collection::vec(prop::collection::vec((-40.0..40.0, -40.0..40.0), 3..12), 1..4).prop_map(
        |rings| {
            let rings: Vec<Vec<[f64; 2]>> = rings
                .into_iter()
                .map(|ring| ring.into_iter().map(|(x, y)| [x, y]).collect())
                .collect();
            Region::from_rings(&rings, FillRule::EvenOdd)
        },
    )
}

/// Corners move by up to two grid steps (0.002 mm) along edges of a few hundred millimeters.
const ROUNDING_MM2: f64 = 3.0;

proptest! {
    #[test]
    fn what_is_taken_away_and_what_is_left_make_the_whole(a in quadrilaterals(), b in quadrilaterals()) {
        let (both, left) = (area(&a.intersect(&b)), area(&a.subtract(&b)));
        check(both + left, area(&a), ROUNDING_MM2, "parts");
        let union = area(&Region::union(&[&a, &b]));
        check(union, area(&a) + area(&b) - both, ROUNDING_MM2, "union");
    }

    #[test]
    fn insets_shrink_and_growth_covers(a in quadrilaterals(), mm in 0.1..5.0) {
        let (inset, grown) = (a.inset(Length::mm(mm)), a.grow(Length::mm(mm)));
        check(area(&inset.subtract(&a)), 0.0, 0.01, "inset lies inside");
        check(area(&a.subtract(&grown)), 0.0, 0.01, "growth covers");
        // Growing an inset never leaves the region: it is the opening by a disk.
        check(area(&inset.grow(Length::mm(mm)).subtract(&a)), 0.0, 0.5, "opening lies inside");
    }

    #[test]
    fn moving_changes_no_measure(a in quadrilaterals(), dx in -50.0..50.0, dy in -50.0..50.0) {
        let moved = a.translated(Length::mm(dx), Length::mm(dy));
        check(area(&moved), area(&a), 1e-6, "area");
        check(moved.edge_length().to_mm(), a.edge_length().to_mm(), 1e-6, "edge");
    }

    #[test]
    fn a_region_rebuilt_from_its_rings_is_the_same(a in quadrilaterals()) {
        let rings: Vec<Vec<[f64; 2]>> = a.rings().map(<[_]>::to_vec).collect();
        check(area(&Region::from_rings(&rings, FillRule::NonZero)), area(&a), 0.01, "nonzero");
        check(area(&Region::from_rings(&rings, FillRule::EvenOdd)), area(&a), 0.01, "even-odd");
    }
}
