//! Sheets that are known to hold so many: squares in rows, hexagons in a honeycomb.

use std::ops::ControlFlow;

use nesting::{
    Budget, Outline, Piece, Progress, Rerolls, Rotation, SheetSize, SheetsRequest, StripRequest,
    check_cut_short, check_sheets, check_strip, plan_least_area, plan_strip,
};

use crate::{planned, rectangle};

const GAP_MM: f64 = 2.0;
const MARGIN_MM: f64 = 3.0;
/// Half a millimeter more than the closed form needs: exact contacts are not found (see the README).
const SPARE_MM: f64 = 0.5;

fn request(outline: Outline, n: usize, rotation: Rotation, inside: [f64; 2]) -> SheetsRequest {
    let side = |inside: f64| inside + 2.0 * MARGIN_MM + SPARE_MM;
    SheetsRequest {
        pieces: vec![Piece {
            outline,
            n,
            n_optional: 0,
            rotation,
            mirror: false,
            fresh_only: false,
        }],
        sheet: SheetSize { width_mm: side(inside[0]), length_mm: side(inside[1]) },
        stock: vec![],
        gap_mm: GAP_MM,
        edge_margin_mm: MARGIN_MM,
        rerolls: Rerolls { max: 0, loss: 0.0 },
        one_piece_per_sheet: false,
        budget: Budget { evaluations: 2_000_000 },
        seed: 1,
    }
}

/// Checks that one sheet holds so many, and that one more needs another sheet.
fn check(outline: &Outline, n: usize, rotation: &Rotation, inside: [f64; 2]) {
    for (n, n_sheets) in [(n, 1), (n + 1, 2)] {
        let mut request = request(outline.clone(), n, rotation.clone(), inside);
        if n_sheets == 2 {
            request.budget.evaluations = 200_000;
        }
        let plan = planned(&request);
        assert_eq!(check_sheets(&request, &plan), []);
        assert_eq!(plan.n_fresh, n_sheets, "{n} at {rotation:?}");
    }
}

#[test]
fn squares_fill_their_rows_however_they_may_turn() {
    // c columns and r rows of side s: c s + (c - 1) g by r s + (r - 1) g. What is left over is too little for one more turned square.
    for (side, columns, rows) in [(50.0, 4, 5), (40.0, 3, 3), (62.0, 2, 4)] {
        let along = |n: i32| f64::from(n) * side + f64::from(n - 1) * GAP_MM;
        let inside = [along(columns), along(rows)];
        for rotation in [Rotation::Fixed, Rotation::Quarter, Rotation::Free] {
            check(&rectangle(side, side), (columns * rows) as usize, &rotation, inside);
        }
    }
}

/// A regular hexagon of edge a with a corner on the right: 2a wide, √3 a high.
fn hexagon(edge: f64) -> Outline {
    (0..6)
        .map(|i| (f64::from(i) * std::f64::consts::FRAC_PI_3).sin_cos())
        .map(|(sin, cos)| [edge * cos, edge * sin])
        .collect()
}

#[test]
fn squares_that_fit_exactly_lie_in_rows() {
    // 3 x 80 + 2 x 2 + 2 x 3 = 250 and 4 x 80 + 3 x 2 + 2 x 3 = 332.
    let square = rectangle(80.0, 80.0);
    for rotation in [Rotation::Free, Rotation::Quarter, Rotation::Fixed] {
        let mut exact = request(square.clone(), 12, rotation, [244.0, 326.0]);
        exact.sheet = SheetSize { width_mm: 250.0, length_mm: 332.0 };
        let plan = planned(&exact);
        assert_eq!(check_sheets(&exact, &plan), []);
        assert_eq!(plan.n_fresh, 1);
    }
    let mut exact = request(square, 12, Rotation::Free, [244.0, 344.0]);
    exact.sheet = SheetSize { width_mm: 250.0, length_mm: 350.0 };
    let listener = &mut |_: &Progress, _| ControlFlow::Continue(());
    let found = plan_least_area(&exact, 0.0, 2, listener).expect("plans");
    let plan = &found.plans[0].plan;
    assert_eq!(check_cut_short(&exact, plan), []);
    assert!(plan.fresh_area_mm2 <= 250.0 * 332.0 + 1e-6, "{}", plan.fresh_area_mm2);
    let strip = StripRequest {
        pieces: exact.pieces.clone(),
        width_mm: 250.0,
        gap_mm: exact.gap_mm,
        edge_margin_mm: exact.edge_margin_mm,
        budget: exact.budget,
        seed: 1,
    };
    let plan = plan_strip(&strip, 2, &mut |_, _| ControlFlow::Continue(())).expect("a strip");
    assert_eq!(check_strip(&strip, &plan), []);
    assert!(plan.length_mm <= 332.0 + 1e-6, "{}", plan.length_mm);
    // One piece as large as the room inside the margins.
    exact.pieces[0].outline = rectangle(244.0, 344.0);
    exact.pieces[0].n = 2;
    assert_eq!(planned(&exact).n_fresh, 2);
}

#[test]
fn hexagons_lie_in_a_honeycomb() {
    // Edges g apart, centers lie √3 a + g apart: in columns √3/2 of that apart, each second one half of it lower.
    for (edge, columns, rows) in [(25.0, 4, 4), (30.0, 3, 5)] {
        let apart = 3.0_f64.sqrt() * edge + GAP_MM;
        let width = f64::from(columns - 1) * apart * 3.0_f64.sqrt() / 2.0 + 2.0 * edge;
        // All columns as long, the low ones half a step lower.
        let length = (f64::from(rows) - 0.5) * apart + apart - GAP_MM;
        let n = (columns * rows) as usize;
        let check = |outline: Outline, rotation: Rotation| {
            let request = request(outline, n, rotation.clone(), [width, length]);
            let plan = planned(&request);
            assert_eq!(check_sheets(&request, &plan), []);
            assert_eq!(plan.n_fresh, 1, "{n} of edge {edge} at {rotation:?}");
        };
        for rotation in [Rotation::Fixed, Rotation::Quarter, Rotation::Free] {
            check(hexagon(edge), rotation);
        }
        // Where pieces turn freely it does not matter how the outline came in.
        for turned in [0.137_f64, 0.9] {
            let (sin, cos) = turned.sin_cos();
            let turn = |[x, y]: [f64; 2]| [x * cos - y * sin, x * sin + y * cos];
            check(hexagon(edge).into_iter().map(turn).collect(), Rotation::Free);
        }
    }
}
