//! What each piece asks: angles, mirroring, fresh dough.

use std::ops::ControlFlow;

use nesting::{
    Budget, Error, Outline, Piece, Rerolls, Rotation, SheetSize, SheetsRequest, StripPlan,
    StripRequest, Violation, check_cut_short, check_sheets, check_strip, plan_least_area,
    plan_rows, plan_sheets, plan_strip,
};

use crate::{planned, rectangle};

fn piece(outline: Outline, n: usize, rotation: Rotation) -> Piece {
    Piece { outline, n, n_optional: 0, rotation, mirror: false, fresh_only: false }
}

fn request(pieces: Vec<Piece>, width_mm: f64, length_mm: f64) -> SheetsRequest {
    SheetsRequest {
        pieces,
        sheet: SheetSize { width_mm, length_mm },
        stock: vec![],
        gap_mm: 2.0,
        edge_margin_mm: 3.0,
        rerolls: Rerolls { max: 0, loss: 0.02 },
        one_piece_per_sheet: false,
        budget: Budget { evaluations: 60_000 },
        seed: 1,
    }
}

fn strip(pieces: Vec<Piece>, width_mm: f64) -> StripRequest {
    StripRequest {
        pieces,
        width_mm,
        gap_mm: 2.0,
        edge_margin_mm: 3.0,
        budget: Budget { evaluations: 60_000 },
        seed: 1,
    }
}

fn laid(request: &StripRequest) -> StripPlan {
    let plan = plan_strip(request, 2, &mut |_, _| ControlFlow::Continue(())).expect("a plan");
    assert_eq!(check_strip(request, &plan), []);
    plan
}

/// A right triangle, which has neither an axis nor a center.
fn triangle() -> Outline {
    vec![[0.0, 0.0], [60.0, 0.0], [0.0, 40.0]]
}

/// A bar of 100 x 10 mm at an angle.
fn bar(degrees: f64) -> Outline {
    let (sin, cos) = degrees.to_radians().sin_cos();
    rectangle(100.0, 10.0).iter().map(|[x, y]| [x * cos - y * sin, x * sin + y * cos]).collect()
}

#[test]
fn pieces_lie_at_the_angles_they_name_and_at_no_other() {
    let angles = vec![0.0, 30.0, -90.0, 195.5];
    let mut request =
        request(vec![piece(triangle(), 14, Rotation::Angles(angles.clone()))], 180.0, 220.0);
    let plan = planned(&request);
    assert_eq!(check_sheets(&request, &plan), []);
    let turned: Vec<f64> =
        plan.sheets.iter().flat_map(|sheet| &sheet.placements).map(|p| p.rotation_deg).collect();
    assert!(turned.iter().all(|degrees| angles.contains(degrees)), "{turned:?}");
    assert!(turned.iter().any(|degrees| *degrees != turned[0]), "{turned:?}");
    let strip = laid(&strip(request.pieces.clone(), 180.0));
    assert!(strip.placements.iter().all(|one| angles.contains(&one.rotation_deg)));
    // The checker knows the list.
    request.pieces[0].rotation = Rotation::Angles(vec![1.0]);
    assert!(check_sheets(&request, &plan).contains(&Violation::Turned { sheet: 0, placement: 0 }));
}

#[test]
fn rows_stand_at_the_angles_a_piece_names() {
    // (200 - 6 + 2) / 42 = 4 by (200 - 6 + 2) / 62 = 3 at 0 and 90 degrees; at 45 a box of 70.7 mm, 2 by 2.
    for (angles, n_sheets) in [(vec![90.0], 1), (vec![0.0, 90.0], 1), (vec![45.0], 3)] {
        let rotation = Rotation::Angles(angles);
        let request = request(vec![piece(rectangle(60.0, 40.0), 12, rotation)], 200.0, 200.0);
        let plan = plan_rows(&request).expect("a plan");
        assert_eq!(check_sheets(&request, &plan), []);
        assert_eq!(plan.n_fresh, n_sheets);
    }
}

#[test]
fn angles_that_are_none_are_refused_by_piece() {
    for (angles, words) in [
        (vec![], "the angles of piece 1 are none"),
        (vec![f64::NAN], "the angles of piece 1 are no numbers"),
        (vec![f64::INFINITY], "the angles of piece 1 are no numbers"),
        (vec![1.0; 361], "the angles of piece 1 are too many"),
    ] {
        let pieces = vec![
            piece(triangle(), 1, Rotation::Fixed),
            piece(triangle(), 1, Rotation::Angles(angles)),
        ];
        let error = plan_sheets(&request(pieces, 200.0, 200.0), &mut |_| ControlFlow::Continue(()))
            .expect_err("refused");
        assert!(matches!(error, Error::BadAngles { piece: 1, .. }));
        assert!(error.to_string().starts_with(words), "{error}");
    }
}

#[test]
fn only_what_may_be_mirrored_is() {
    // At 30 degrees this bar is 87 mm wide; mirrored it stands upright and is 10 mm wide.
    let mut request =
        request(vec![piece(bar(120.0), 3, Rotation::Angles(vec![30.0]))], 60.0, 220.0);
    let error =
        plan_sheets(&request, &mut |_| ControlFlow::Continue(())).expect_err("it is too wide");
    assert!(matches!(error, Error::PieceTooLarge { piece: 0, .. }));
    request.pieces[0].mirror = true;
    let plan = planned(&request);
    assert_eq!(check_sheets(&request, &plan), []);
    assert_eq!(plan.n_fresh, 1);
    assert!(plan.sheets[0].placements.iter().all(|one| one.mirrored));
    // Three bars side by side and nothing beside them: 3 + 100 + 3.
    let length = laid(&strip(request.pieces.clone(), 60.0)).length_mm;
    assert!((106.0..106.1).contains(&length), "{length}");
    // The checker mirrors on its own.
    request.pieces[0].mirror = false;
    assert!(
        check_sheets(&request, &plan).contains(&Violation::Mirrored { sheet: 0, placement: 0 })
    );
}

#[test]
fn freely_turning_pieces_that_may_be_mirrored_use_no_more_dough_than_those_that_may_not() {
    // Two right triangles make a rectangle either way; the search has twice as many ways and must not lose by it.
    let length = |mirror: bool| {
        let mut one = piece(triangle(), 16, Rotation::Free);
        one.mirror = mirror;
        let mut request = strip(vec![one], 150.0);
        request.budget.evaluations = 300_000;
        laid(&request).length_mm
    };
    let (mirrored, plain) = (length(true), length(false));
    assert!(mirrored <= plain * 1.02, "{mirrored} after {plain}");
}

#[test]
fn what_asks_for_fresh_dough_never_comes_from_scraps() {
    let mut pieces = vec![
        piece(triangle(), 20, Rotation::Free),
        piece(rectangle(50.0, 50.0), 18, Rotation::Free),
        piece(rectangle(25.0, 25.0), 12, Rotation::Free),
    ];
    for only_here in 0..3 {
        for (place, piece) in pieces.iter_mut().enumerate() {
            piece.fresh_only = place == only_here;
        }
        let mut request = request(pieces.clone(), 180.0, 240.0);
        request.rerolls.max = 2;
        request.pieces[only_here].n_optional = 4;
        let plan = planned(&request);
        assert_eq!(check_sheets(&request, &plan), []);
        assert!(plan.n_rerolled > 0, "nothing is rolled again, so nothing is shown");
        let plans = plan_least_area(&request, 0.0, 2, &mut |_, _| ControlFlow::Continue(()))
            .expect("plans");
        for one in &plans.plans {
            assert_eq!(check_cut_short(&request, &one.plan), []);
        }
        // The checker finds a piece moved to the scraps.
        let mut broken = plan.clone();
        let last = broken.sheets.len() - 1;
        broken.sheets[last].placements[0].piece = only_here;
        let found = check_sheets(&request, &broken);
        assert!(found.contains(&Violation::NotFresh { sheet: last, placement: 0 }), "{found:?}");
    }
}
