//! Strips, and the promise that threads change nothing.

use std::ops::ControlFlow;

use nesting::{
    Budget, Piece, Rotation, StripPlan, StripRequest, check_strip, plan_sheets_on, plan_strip,
};

use crate::{instances::instance, rectangle};

fn strip_of(json: &str, evaluations: u64) -> StripRequest {
    let request = instance(json);
    StripRequest {
        pieces: request.pieces,
        width_mm: request.sheet.width_mm,
        gap_mm: request.gap_mm,
        edge_margin_mm: request.edge_margin_mm,
        budget: Budget { evaluations },
        seed: 7,
    }
}

/// Lays pieces on a strip, checks it, and returns it.
fn laid(request: &StripRequest, n_threads: usize) -> StripPlan {
    let plan =
        plan_strip(request, n_threads, &mut |_, _| ControlFlow::Continue(())).expect("a plan");
    assert_eq!(check_strip(request, &plan), []);
    plan
}

const I1: &str = include_str!("../../../../fixtures/nesting/i1_set12.json");
const I3: &str = include_str!("../../../../fixtures/nesting/i3_set24.json");

#[test]
fn a_strip_gets_shorter_step_by_step_and_beats_a_plain_fill() {
    // A one-pass left-bottom fill used 60.6 % (measured once with an outside engine).
    let plan = laid(&strip_of(I1, 400_000), 2);
    assert!(plan.dough_use > 0.68, "{}", plan.dough_use);
    assert!(plan.trail.windows(2).all(|pair| pair[1].1 <= pair[0].1), "{:?}", plan.trail);
    assert_eq!(plan.trail.last().map(|last| last.1), Some(plan.length_mm));
}

#[test]
fn squares_lie_in_rows_on_a_strip() {
    // (214.5 - 8 + 2) / 52 = 4 in a row, so 20 take 5 rows: 5 x 52 - 2 + 8 = 266 mm.
    let request = StripRequest {
        pieces: vec![Piece {
            outline: rectangle(50.0, 50.0),
            n: 20,
            n_optional: 0,
            rotation: Rotation::Quarter,
            mirror: false,
            fresh_only: false,
        }],
        width_mm: 214.5,
        gap_mm: 2.0,
        edge_margin_mm: 4.0,
        budget: Budget { evaluations: 50_000 },
        seed: 1,
    };
    let length_mm = laid(&request, 1).length_mm;
    assert!((266.0 - 0.001..266.1).contains(&length_mm), "{length_mm}");
}

/// Copies of one of our own outlines.
fn copies_of(name: &str, n: usize) -> Piece {
    let outlines: serde_json::Value =
        serde_json::from_str(crate::instances::OUTLINES).expect("JSON");
    let points = outlines["outlines"][name]["points"].clone();
    Piece {
        outline: serde_json::from_value(points).expect("points"),
        n,
        n_optional: 0,
        rotation: Rotation::Free,
        mirror: false,
        fresh_only: false,
    }
}

#[test]
fn hearts_lie_head_to_tail_at_once() {
    let mut request = strip_of(I1, 1);
    request.width_mm = 300.0;
    request.pieces = vec![copies_of("heart", 36)];
    // A strip packer from outside used 71.5 % after 2 s, a two-piece lattice cut to the strip 549 mm (both measured once).
    let plan = laid(&request, 1);
    assert!(plan.dough_use > 0.715 && plan.length_mm < 549.0, "{}", plan.length_mm);

    // The same packer used 42.9 % for thin crescents after 2 s, a pattern 40.3 %.
    request.pieces = vec![copies_of("crescent_thin", 36)];
    let plan = laid(&request, 1);
    assert!(plan.dough_use > 0.40, "{}", plan.dough_use);
}

#[test]
fn one_shape_comes_from_fewer_sheets_at_once() {
    // A left-bottom fill needs one sheet more for each.
    for (name, n, n_sheets) in [("heart", 24, 1), ("leaf", 60, 2), ("star6", 60, 3), ("mug", 60, 3)]
    {
        let mut request = instance(I3);
        request.pieces = vec![copies_of(name, n)];
        request.budget.evaluations = 1;
        assert_eq!(crate::planned(&request).n_fresh, n_sheets, "{n} x {name}");
    }
}

#[test]
fn a_strip_that_cannot_be_shorter_ends_the_search() {
    // One square is 50 + 8 mm long however long one searches; a row of four too.
    for n in [1, 4] {
        let request = StripRequest {
            pieces: vec![Piece {
                outline: rectangle(50.0, 50.0),
                n,
                n_optional: 0,
                rotation: Rotation::Fixed,
                mirror: false,
                fresh_only: false,
            }],
            width_mm: 214.5,
            gap_mm: 2.0,
            edge_margin_mm: 4.0,
            budget: Budget { evaluations: u64::MAX },
            seed: 1,
        };
        let plan = laid(&request, 1);
        assert!((58.0 - 0.001..58.01).contains(&plan.length_mm), "{}", plan.length_mm);
    }
}

#[test]
fn one_thread_and_two_find_the_same_strip_and_the_same_sheets() {
    let request = strip_of(I1, 60_000);
    assert_eq!(laid(&request, 1), laid(&request, 2));

    let mut request = instance(I3);
    request.rerolls.max = 1;
    request.budget.evaluations = 150_000;
    let planned = |n_threads| {
        plan_sheets_on(&request, n_threads, &mut |_| ControlFlow::Continue(())).expect("a plan")
    };
    assert_eq!(planned(1), planned(2));
}

#[test]
fn a_search_that_is_ended_keeps_the_best_so_far() {
    let request = strip_of(I1, 10_000_000);
    let mut n_left = 40;
    let mut shortest = f64::MAX;
    let plan = plan_strip(&request, 2, &mut |length_mm, _| {
        shortest = shortest.min(length_mm);
        n_left -= 1;
        if n_left == 0 { ControlFlow::Break(()) } else { ControlFlow::Continue(()) }
    })
    .expect("a plan");
    assert_eq!(plan.length_mm, shortest);
    assert!(plan.evaluations < 1_000_000, "{}", plan.evaluations);
}

#[test]
fn twenty_four_pieces_of_four_shapes_come_from_one_sheet() {
    // A strip packer from outside fits them on one sheet in a minute; a left-bottom fill needs two.
    let mut request = instance(I3);
    request.budget.evaluations = 2_000_000;
    assert_eq!(crate::planned(&request).n_fresh, 1);
}
