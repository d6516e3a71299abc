//! Shelf shapes against their closed forms, and against what a cutter can be.

use std::f64::consts::{FRAC_1_SQRT_2, PI, SQRT_2};

use super::*;

fn outline(name: &str, width_mm: f64, height_mm: f64) -> Region {
    let shape = ShelfShape::from_name(name).expect("a shape of the shelf");
    shape.outline(Length::mm(width_mm), Length::mm(height_mm))
}

/// Compares an area with its closed form; chords of 0.002 mm and the grid cost less than 0.02 %.
fn check(name: &str, width_mm: f64, height_mm: f64, area_mm2: f64) {
    let found = outline(name, width_mm, height_mm).area().to_mm2();
    assert!((found - area_mm2).abs() < 2e-4 * area_mm2, "{name}: {found} instead of {area_mm2}");
}

/// Compares the area of a shape of which a raw form is known: its area over that of the box around it.
fn check_share(name: &str, area: f64, [width, height]: [f64; 2]) {
    let shape = ShelfShape::from_name(name).expect("a shape of the shelf");
    let proportion = shape.proportion();
    assert!((proportion - height / width).abs() < 1e-4, "{name}: {proportion}");
    for [w, h] in [[80.0, 80.0 * height / width], [60.0, 90.0]] {
        check(name, w, h, area / (width * height) * w * h);
    }
}

#[test]
fn straight_and_round_shapes_have_the_area_of_their_closed_form() {
    let (w, h) = (80.0, 56.0);
    check("circle", 82.0, 82.0, PI * 41.0 * 41.0);
    check("oval", w, h, PI / 4.0 * w * h);
    check("square", 76.2, 76.2, 76.2 * 76.2);
    check("rectangle", w, h, w * h);
    check("rounded", w, h, w * h - (4.0 - PI) * (0.18 * h).powi(2));
    check("plaque", w, h, w * h - PI * (0.16 * h).powi(2));
    check("stadium", w, h, (w - h) * h + PI / 4.0 * h * h);
    check("arch", 60.0, 90.0, 60.0 * 60.0 + PI / 2.0 * 30.0 * 30.0);
    check("tag", 50.0, 80.0, 50.0 * 80.0 - (0.28_f64 * 50.0).powi(2));
    check("ticket", w, h, w * h - PI * (0.16 * h).powi(2));
    check("ribbon", 90.0, 30.0, 90.0 * 30.0 - 9.0 * 30.0);
    check("diamond", w, h, w * h / 2.0);
    check("triangle", w, h, w * h / 2.0);
    // Half of either side of the box wide at the middle: 0.45 h of sides, the rest a triangle.
    check("pennant", w, h, w * h * (0.45 + 0.55 / 2.0));
    // The box less four squares of 0.32.
    check("cross", w, w, w * w * (1.0 - 4.0 * 0.32 * 0.32));
    // Two halves of ellipses of one width share the height between them.
    check("egg", w, h, PI / 4.0 * w * h);
}

#[test]
fn regular_shapes_have_the_area_of_their_closed_form() {
    // Side 1: 2 wide, √3 high, area 3/2 · √3; and 1 + √2 wide and high, area 2 (1 + √2).
    check_share("hexagon", 1.5 * 3.0_f64.sqrt(), [2.0, 3.0_f64.sqrt()]);
    check_share("octagon", 2.0 * (1.0 + SQRT_2), [1.0 + SQRT_2, 1.0 + SQRT_2]);
    check_share("heart", 1.0 + PI / 4.0, [1.0 + FRAC_1_SQRT_2, 0.5 + 0.75 * SQRT_2]);
    // An equilateral arch over a rectangle of width 1: r² (π/3 - √3/4).
    let half_root = 3.0_f64.sqrt() / 2.0;
    check_share("shield", 0.35 + PI / 3.0 - half_root / 2.0, [1.0, 0.35 + half_root]);
    // Circle of radius 1 and its two tangents from a point 1.95 away.
    let leave = (1.0_f64 / 1.95).acos();
    check_share("drop", PI - leave + leave.tan(), [2.0, 2.95]);
    // Two segments of a circle of radius R over a chord of 2: R² (2φ - sin 2φ).
    let rise: f64 = 0.45;
    let radius = (1.0 + rise * rise) / (2.0 * rise);
    let angle = (1.0 / radius).asin();
    check_share("leaf", radius * radius * (2.0 * angle - (2.0 * angle).sin()), [2.0 * rise, 2.0]);
}

#[test]
fn a_star_has_the_area_of_its_polygon_less_its_rounded_corners() {
    // Points of 55 degrees on a circle of radius 1; a corner of angle α rounded by r loses r² (cot(α/2) - (π - α)/2).
    let (half, step) = (27.5_f64.to_radians(), PI / 5.0);
    let inner = half.tan() / (step.sin() + half.tan() * step.cos());
    let lost = |half_angle: f64, radius: f64| {
        radius * radius * (1.0 / half_angle.tan() - (PI / 2.0 - half_angle))
    };
    // The angles of a decagon sum to 8 π: the valley's outside angle follows from the point's.
    let valley = 2.0 * PI - (8.0 * PI / 5.0 - 2.0 * half);
    let area = 5.0 * (inner * step.sin() - lost(half, 0.05) + lost(valley / 2.0, 0.06));
    let tip = 1.0 - 0.05 / half.sin();
    let width = 2.0 * (tip * (2.0 * step).sin() + 0.05);
    let height = tip + 0.05 + tip * step.cos() + 0.05;
    check_share("star", area, [width, height]);
}

#[test]
fn a_flower_has_the_area_of_its_polygon_and_petals() {
    // Petals of radius p around a circle of 1 meet at q from the middle: a hexagon of q and six segments of p.
    let p = 1.25 * 0.5;
    let q = 0.75_f64.sqrt() + (p * p - 0.25_f64).sqrt();
    let half = (q * 0.5).atan2(q * 0.75_f64.sqrt() - 1.0);
    let hexagon = 1.5 * 3.0_f64.sqrt() * q * q;
    let segments = 6.0 * p * p * (half - half.sin() * half.cos());
    check_share("flower", hexagon + segments, [2.0 * (0.75_f64.sqrt() + p), 2.0 * (1.0 + p)]);
}

#[test]
fn a_crescent_is_what_two_circles_leave_but_for_its_rounded_points() {
    let (r, d): (f64, f64) = (0.82, 0.5);
    let lens = r * r * ((d * d + r * r - 1.0) / (2.0 * d * r)).acos()
        + ((d * d + 1.0 - r * r) / (2.0 * d)).acos()
        - 0.5 * ((1.0 + r - d) * (d + r - 1.0) * (d - r + 1.0) * (d + r + 1.0)).sqrt();
    let sharp = PI - lens;
    let curve = plain::crescent();
    let area = curve.area().abs();
    assert!(area < sharp && area > 0.97 * sharp, "{area} of {sharp}");
}

#[test]
fn every_shape_is_one_simple_ring_in_exactly_the_box_asked_for() {
    for (shape, name) in ShelfShape::NAMES {
        for [width, height] in [[80.0, 80.0 * shape.proportion()], [64.5, 93.25]] {
            let outline = shape.outline(Length::mm(width), Length::mm(height));
            assert_eq!(outline.rings().count(), 1, "{name} has one ring");
            let bounds = outline.bounds().expect("it is not empty");
            let corners = [bounds.min_x, bounds.min_y, bounds.max_x - width, bounds.max_y - height];
            assert!(corners.iter().all(|off| off.abs() <= 2.0 / 1024.0), "{name}: {corners:?}");
            // Outer rings run clockwise on the page, which the shoelace formula counts positive.
            assert!(outline.area().to_mm2() > 0.2 * width * height, "{name}");
        }
    }
}

#[test]
fn every_shape_can_be_bent_from_a_strip_at_a_usual_size() {
    let mut found = Vec::new();
    for (shape, name) in ShelfShape::NAMES {
        let proportion = shape.proportion();
        let width = 75.0 / proportion.max(1.0);
        let outline = shape.outline(Length::mm(width), Length::mm(width * proportion));
        found.extend(faults(&outline).into_iter().map(|fault| (name, fault)));
    }
    assert!(found.is_empty(), "{found:#?}");
}

#[test]
fn names_are_read_back_and_counts_are_kept_in_bounds() {
    for (shape, name) in ShelfShape::NAMES {
        assert_eq!(ShelfShape::from_name(name), Some(shape));
        assert_eq!(shape.name(), name);
    }
    assert_eq!(ShelfShape::from_name("star-7").map(ShelfShape::name).as_deref(), Some("star-7"));
    for name in ["", "blob", "star-3", "star-13", "star-x", "mug-5", "flower-999"] {
        assert_eq!(ShelfShape::from_name(name), None, "{name}");
    }
    assert!(ShelfShape::Star(200).outline(Length::mm(80.0), Length::mm(80.0)).n_parts() == 1);
}

#[test]
fn a_size_of_nothing_gives_nothing() {
    for size in [0.0, -3.0, f64::NAN, f64::INFINITY] {
        assert!(ShelfShape::Heart.outline(Length::mm(size), Length::mm(50.0)).is_empty());
    }
}
