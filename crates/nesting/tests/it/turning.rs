//! Trays with turned pieces: never worse than rows, better where that is known to be possible.

use std::ops::ControlFlow;

use nesting::{
    Budget, Error, Outline, Rotation, SheetSize, TrayPiece, TraysRequest, TurningPlan,
    TurningRequest, Violation, check_turning, plan_trays, plan_trays_turning,
};

use crate::rectangle;

const INCH: f64 = 25.4;

fn piece(outline: Outline, n: usize) -> TrayPiece {
    TrayPiece { outline, n, size_class: 0 }
}

/// A tray of which 16.5 x 11.5 in can be used, pieces 1 in apart.
fn request(pieces: Vec<TrayPiece>, rotation: &Rotation, evaluations: u64) -> TurningRequest {
    TurningRequest {
        rotations: vec![rotation.clone(); pieces.len()],
        trays: TraysRequest {
            pieces,
            tray: SheetSize { width_mm: 16.5 * INCH, length_mm: 11.5 * INCH },
            gap_mm: INCH,
        },
        budget: Budget { evaluations },
        seed: 1,
    }
}

fn planned(request: &TurningRequest, n_threads: usize) -> TurningPlan {
    let plan = plan_trays_turning(request, n_threads, &mut |_, _| ControlFlow::Continue(()))
        .expect("a plan");
    assert_eq!(check_turning(request, &plan), []);
    plan
}

fn square(side_in: f64) -> Outline {
    rectangle(side_in * INCH, side_in * INCH)
}

#[test]
fn turned_squares_are_at_least_as_many_as_those_in_rows() {
    // In rows floor(17.5 / (s + 1)) x floor(12.5 / (s + 1)).
    for (side, n_in_rows) in [(3.5, 6), (3.2, 8), (3.1, 12)] {
        for rotation in [Rotation::Free, Rotation::Quarter] {
            let request = request(vec![piece(square(side), n_in_rows)], &rotation, 20_000);
            let plan = planned(&request, 2);
            assert_eq!((plan.plan.trays.len(), plan.n_in_rows), (1, Some(1)), "{side} in");
            // Rows do, so they stay rows.
            assert!(plan.plan.trays[0].placements.iter().all(|one| one.rotation_deg == 0.0));
        }
    }
}

#[test]
fn seven_squares_of_three_and_a_half_inches_lie_on_a_tray_that_takes_six_in_rows() {
    let seven = request(vec![piece(square(3.5), 7)], &Rotation::Free, 3_000_000);
    let plan = planned(&seven, 2);
    assert_eq!((plan.n_in_rows, plan.plan.trays.len()), (Some(2), 1));
    assert_eq!(plan.plan.capacity, [7]);
    // Thirteen are seven and six, of which the six stand in rows.
    let thirteen = request(vec![piece(square(3.5), 13)], &Rotation::Free, 3_000_000);
    let plan = planned(&thirteen, 2);
    let counts: Vec<usize> = plan.plan.trays.iter().map(|tray| tray.placements.len()).collect();
    assert_eq!((plan.n_in_rows, counts), (Some(3), vec![7, 6]));
    assert!(plan.plan.trays[1].placements.iter().all(|one| one.rotation_deg == 0.0));
    // By quarter turns nothing is gained, whatever the budget.
    let straight = request(vec![piece(square(3.5), 7)], &Rotation::Quarter, 100_000);
    assert_eq!(planned(&straight, 2).plan.trays.len(), 2);
}

#[test]
fn one_thread_and_two_lay_the_same_trays() {
    let request = request(vec![piece(square(3.5), 7)], &Rotation::Free, 300_000);
    assert_eq!(planned(&request, 1), planned(&request, 2));
}

#[test]
fn several_shapes_share_trays_and_classes_do_not() {
    let mut request = request(
        vec![piece(square(3.5), 7), piece(square(2.0), 6), piece(rectangle(80.0, 60.0), 5)],
        &Rotation::Free,
        200_000,
    );
    let shared = planned(&request, 2);
    assert!(shared.plan.trays.len() <= shared.n_in_rows.expect("all stand in rows"));
    assert!(shared.plan.trays.len() >= shared.trays_bound);
    request.trays.pieces[1].size_class = 1;
    let apart = planned(&request, 2);
    assert!(apart.plan.trays.iter().any(|tray| tray.size_class == 1));
    // Without a budget rows stay as they are.
    request.budget.evaluations = 0;
    let rows = planned(&request, 2);
    assert_eq!(rows.plan.trays, plan_trays(&request.trays).expect("rows").trays);
}

#[test]
fn a_bar_longer_than_the_tray_lies_across_it_and_is_told_if_it_cannot() {
    // The diagonal of 419 x 292 mm is 511 mm.
    let bar = vec![piece(rectangle(440.0, 20.0), 1)];
    let plan = planned(&request(bar.clone(), &Rotation::Free, 10_000), 1);
    assert_eq!((plan.n_in_rows, plan.plan.trays.len()), (None, 1));
    let mut pieces = vec![piece(square(2.0), 1)];
    pieces.extend(bar);
    let straight = request(pieces, &Rotation::Quarter, 10_000);
    let error = plan_trays_turning(&straight, 1, &mut |_, _| ControlFlow::Continue(()));
    assert!(matches!(error, Err(Error::PieceTooLarge { piece: 1, .. })), "{error:?}");
}

#[test]
fn nothing_needs_no_tray_and_turned_pieces_are_found_by_the_checker() {
    let none = request(vec![piece(square(3.1), 0)], &Rotation::Free, 10);
    let plan = planned(&none, 1);
    assert_eq!((plan.plan.trays.len(), plan.plan.capacity), (0, vec![12]));
    let some = request(vec![piece(square(3.1), 2)], &Rotation::Quarter, 10);
    let mut broken = planned(&some, 1);
    broken.plan.trays[0].placements[0].rotation_deg = 45.0;
    let found = check_turning(&some, &broken);
    assert!(found.contains(&Violation::Turned { sheet: 0, placement: 0 }), "{found:?}");
}
