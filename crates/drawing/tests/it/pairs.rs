//! Areas of 500 pairs of polygons against shapely 2.1.2 on GEOS.

use drawing::region::{FillRule, Region};
use quantity::Length;

const PAIRS: &str = include_str!("../../../../fixtures/region/booleans.csv");

/// Corners in the file are whole sixteenths of a millimeter.
const STEP_MM: f64 = 1.0 / 16.0;

/// A corner where edges cross moves by at most two steps of the grid of 2^-10 mm.
const CORNER_MM: f64 = 2.0 / 1024.0;

fn polygon(text: &str) -> Region {
    let ring = |text: &str| {
        let numbers: Vec<f64> = text
            .split(' ')
            .map(|number| STEP_MM * number.parse::<f64>().expect("a whole number"))
            .collect();
        numbers.chunks_exact(2).map(|corner| [corner[0], corner[1]]).collect()
    };
    Region::from_rings(&text.split('|').map(ring).collect::<Vec<_>>(), FillRule::EvenOdd)
}

#[test]
fn areas_of_pairs_equal_those_of_another_library() {
    let mut n_pairs = 0;
    for line in PAIRS.lines().skip(1) {
        let fields: Vec<&str> = line.split(',').collect();
        let (a, b) = (polygon(fields[0]), polygon(fields[1]));
        let expected: Vec<f64> =
            fields[2..].iter().map(|field| field.parse().expect("an area")).collect();
        let exact =
            [a.clone(), a.intersect(&b), Region::union(&[&a, &b]), a.subtract(&b), b.subtract(&a)];
        // Moving the corners of an edge of length l by d changes the area by less than l·d.
        let rounding = (a.edge_length() + b.edge_length()).to_mm() * CORNER_MM;
        for (region, expected) in exact.iter().zip(&expected) {
            let off = (region.area().to_mm2() - expected).abs();
            assert!(off <= rounding, "{off} mm2 of {expected} in {line}");
        }
        // Chords of arcs run at most 0.01 mm inside ours and 1 - cos(π/256) = 0.00008 mm inside theirs.
        let around = a.edge_length().to_mm() + 2.0 * std::f64::consts::PI;
        for (region, expected) in
            [a.grow(Length::mm(1.0)), a.inset(Length::mm(1.0))].iter().zip(&expected[5..])
        {
            let off = (region.area().to_mm2() - expected).abs();
            assert!(off <= around * 0.012, "{off} mm2 of {expected} grown or inset in {line}");
        }
        n_pairs += 1;
    }
    assert_eq!(n_pairs, 500);
}
