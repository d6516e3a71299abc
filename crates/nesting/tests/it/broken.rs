//! Each rule broken once is found; what is no request is refused by name.

use std::ops::ControlFlow;

use nesting::{
    Budget, Error, Piece, Rerolls, Rotation, SheetSize, SheetsPlan, SheetsRequest, TrayPiece,
    TraysRequest, Violation, check_sheets, check_trays, plan_sheets, plan_trays,
};

use crate::{planned, rectangle};

fn request() -> SheetsRequest {
    SheetsRequest {
        pieces: vec![Piece {
            outline: rectangle(60.0, 40.0),
            n: 8,
            n_optional: 0,
            rotation: Rotation::Quarter,
            mirror: false,
            fresh_only: false,
        }],
        sheet: SheetSize { width_mm: 150.0, length_mm: 150.0 },
        stock: vec![],
        gap_mm: 2.0,
        edge_margin_mm: 3.0,
        rerolls: Rerolls { max: 1, loss: 0.02 },
        one_piece_per_sheet: false,
        budget: Budget { evaluations: 20_000 },
        seed: 3,
    }
}

#[test]
fn a_sound_plan_breaks_no_rule_and_each_broken_one_is_found() {
    let request = request();
    let sound = planned(&request);
    assert_eq!(check_sheets(&request, &sound), []);

    let breaks = |change: &dyn Fn(&mut SheetsPlan), expected: &dyn Fn(&Violation) -> bool| {
        let mut broken = sound.clone();
        change(&mut broken);
        let found = check_sheets(&request, &broken);
        assert!(found.iter().any(expected), "{found:?}");
    };
    let first = sound.sheets[0].placements[0];
    breaks(
        &|p| p.sheets[0].placements[1] = first,
        &|v| matches!(v, Violation::TooClose { distance_mm, .. } if *distance_mm == 0.0),
    );
    breaks(&|p| p.sheets[0].placements[0].x_mm -= 5.0, &|v| {
        matches!(v, Violation::OverEdge { sheet: 0, placement: 0 })
    });
    breaks(&|p| p.sheets[0].placements[0].x_mm = f64::NAN, &|v| {
        matches!(v, Violation::OverEdge { .. })
    });
    breaks(&|p| p.sheets[0].placements[0].rotation_deg += 10.0, &|v| {
        matches!(v, Violation::Turned { .. })
    });
    breaks(&|p| p.sheets[0].placements.retain(|one| *one != first), &|v| {
        matches!(v, Violation::Quantity { piece: 0, placed: 7 })
    });
    breaks(&|p| p.sheets[0].placements[0].piece = 9, &|v| {
        matches!(v, Violation::UnknownPiece { .. })
    });
    breaks(&|p| p.sheets[0].size.width_mm += 9.0, &|v| matches!(v, Violation::Sheet { sheet: 0 }));
    breaks(
        &|p| {
            let mut extra = p.sheets[0].clone();
            extra.round = 1;
            p.sheets.push(extra);
        },
        &|v| matches!(v, Violation::Balance { round: 1, .. }),
    );
}

#[test]
fn trays_that_mix_classes_or_miss_pieces_are_found() {
    let piece = |n, size_class| TrayPiece { outline: rectangle(50.0, 50.0), n, size_class };
    let request = TraysRequest {
        pieces: vec![piece(3, 0), piece(2, 1)],
        tray: SheetSize { width_mm: 300.0, length_mm: 200.0 },
        gap_mm: 10.0,
    };
    let mut plan = plan_trays(&request).expect("a plan");
    assert_eq!(check_trays(&request, &plan), []);
    plan.trays[0].placements[0].piece = 1;
    let found = check_trays(&request, &plan);
    assert!(found.contains(&Violation::MixedClasses { tray: 0 }), "{found:?}");
    assert!(found.contains(&Violation::Quantity { piece: 0, placed: 2 }), "{found:?}");
}

#[test]
fn what_is_no_request_is_refused_by_name() {
    let refuses = |change: &dyn Fn(&mut SheetsRequest), expected: &dyn Fn(&Error) -> bool| {
        let mut request = request();
        change(&mut request);
        let error = plan_sheets(&request, &mut |_| ControlFlow::Continue(())).expect_err("refused");
        assert!(expected(&error), "{error:?}");
    };
    refuses(&|r| r.pieces[0].outline = rectangle(200.0, 200.0), &|e| {
        matches!(e, Error::PieceTooLarge { piece: 0, .. })
    });
    refuses(&|r| r.pieces[0].outline.truncate(2), &|e| {
        matches!(e, Error::BadOutline { piece: 0, .. })
    });
    refuses(&|r| r.pieces[0].outline[1][0] = f64::NAN, &|e| {
        matches!(e, Error::BadOutline { piece: 0, .. })
    });
    refuses(&|r| r.pieces[0].outline.swap(1, 2), &|e| {
        matches!(e, Error::BadOutline { piece: 0, .. })
    });
    refuses(&|r| r.gap_mm = -1.0, &|e| matches!(e, Error::OutOfRange { what: "the gap", .. }));
    refuses(&|r| r.gap_mm = f64::NAN, &|e| matches!(e, Error::OutOfRange { what: "the gap", .. }));
    refuses(&|r| r.rerolls.loss = 1.0, &|e| matches!(e, Error::OutOfRange { .. }));
    refuses(&|r| r.sheet.width_mm = 5.0, &|e| matches!(e, Error::PieceTooLarge { .. }));
    refuses(&|r| r.pieces[0].n = 10_001, &|e| matches!(e, Error::TooMany { n: 10_001, .. }));
    refuses(&|r| r.pieces[0].n = usize::MAX, &|e| matches!(e, Error::TooMany { .. }));
}

#[test]
fn nothing_to_cut_needs_no_sheet() {
    let mut request = request();
    request.pieces[0].n = 0;
    assert_eq!(planned(&request).sheets, []);
    request.pieces.clear();
    assert_eq!(planned(&request).sheets, []);
}

#[test]
fn outlines_drawn_clockwise_with_double_corners_or_very_many_corners_are_cut_all_the_same() {
    let circle = |n: usize| -> nesting::Outline {
        let angles = (0..n).map(|i| i as f64 / n as f64 * std::f64::consts::TAU);
        angles.map(|angle| [30.0 * angle.cos(), 30.0 * angle.sin()]).collect()
    };
    let clockwise: nesting::Outline = circle(40).into_iter().rev().collect();
    let doubled: nesting::Outline = circle(40).into_iter().flat_map(|p| [p, p]).collect();
    for outline in [clockwise, doubled, circle(5_000)] {
        let mut request = request();
        request.pieces[0] = Piece {
            outline,
            n: 4,
            n_optional: 0,
            rotation: Rotation::Free,
            mirror: false,
            fresh_only: false,
        };
        let plan = planned(&request);
        assert_eq!(check_sheets(&request, &plan), []);
        // (150 - 6 + 2) / 62 = 2 in a row and 2 rows.
        assert_eq!(plan.n_fresh, 1);
    }
}
