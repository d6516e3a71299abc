//! Our own instances (fixtures/nesting), against what a plain left-bottom fill needs (measured once with an outside engine).

use nesting::{Budget, Piece, Rerolls, Rotation, SheetSize, SheetsRequest, check_sheets};
use serde_json::Value;

use crate::{planned, rectangle};

pub(crate) const OUTLINES: &str = include_str!("../../../../fixtures/nesting/outlines.json");

pub(crate) fn instance(json: &str) -> SheetsRequest {
    let outlines: Value = serde_json::from_str(OUTLINES).expect("JSON");
    let instance: Value = serde_json::from_str(json).expect("JSON");
    let number = |value: &Value| value.as_f64().expect("a number");
    let pieces = instance["items"]
        .as_array()
        .expect("items")
        .iter()
        .map(|item| {
            let points = &outlines["outlines"][item["outline"].as_str().expect("a name")]["points"];
            let points = points.as_array().expect("points").iter();
            Piece {
                outline: points.map(|point| [number(&point[0]), number(&point[1])]).collect(),
                n: item["qty"].as_u64().expect("a count") as usize,
                n_optional: 0,
                rotation: Rotation::Free,
                mirror: false,
                fresh_only: false,
            }
        })
        .collect();
    SheetsRequest {
        pieces,
        sheet: SheetSize {
            width_mm: number(&instance["sheet"]["width_mm"]),
            length_mm: number(&instance["sheet"]["length_mm"]),
        },
        stock: vec![],
        gap_mm: number(&instance["gap_mm"]),
        edge_margin_mm: number(&instance["edge_margin_mm"]),
        rerolls: Rerolls { max: 0, loss: 0.015 },
        one_piece_per_sheet: false,
        budget: Budget { evaluations: 400_000 },
        seed: 1,
    }
}

/// Checks that an instance needs no more sheets than a left-bottom fill, and no fewer than its area bound.
fn check(json: &str, n_sheets: usize) {
    let request = instance(json);
    let plan = planned(&request);
    assert_eq!(check_sheets(&request, &plan), []);
    assert!(plan.n_fresh <= n_sheets, "{} sheets", plan.n_fresh);
    assert!(plan.sheets_bound <= plan.n_fresh);
}

#[test]
fn twelve_pieces_of_three_shapes_fit_one_sheet() {
    check(include_str!("../../../../fixtures/nesting/i1_set12.json"), 1);
}

#[test]
fn twenty_four_pieces_of_four_shapes_fit_two_sheets() {
    check(include_str!("../../../../fixtures/nesting/i3_set24.json"), 2);
}

#[test]
fn forty_eight_pieces_of_eight_shapes_fit_three_sheets() {
    check(include_str!("../../../../fixtures/nesting/i6_mix48.json"), 3);
}

#[test]
fn a_reroll_saves_a_fresh_sheet_and_keeps_the_balance() {
    // 70 % of two sheets are cookies: no layout known cuts them all in one go.
    let mut request = instance(include_str!("../../../../fixtures/nesting/i6_mix48.json"));
    request.rerolls.max = 2;
    let plan = planned(&request);
    assert_eq!(check_sheets(&request, &plan), []);
    assert_eq!(plan.n_fresh, 2);
    assert!(plan.n_rerolled >= 1);
}

pub(crate) fn squares(n: usize) -> SheetsRequest {
    SheetsRequest {
        pieces: vec![Piece {
            outline: rectangle(50.0, 50.0),
            n,
            n_optional: 0,
            rotation: Rotation::Quarter,
            mirror: false,
            fresh_only: false,
        }],
        sheet: SheetSize { width_mm: 214.5, length_mm: 266.5 },
        stock: vec![],
        gap_mm: 2.0,
        edge_margin_mm: 4.0,
        rerolls: Rerolls { max: 0, loss: 0.0 },
        one_piece_per_sheet: true,
        budget: Budget { evaluations: 200_000 },
        seed: 1,
    }
}

#[test]
fn squares_that_fit_in_rows_fill_their_sheet() {
    // (214.5 - 8 + 2) / 52 = 4 in a row, (266.5 - 8 + 2) / 52 = 5 rows: 20 on a sheet, with half a millimeter to spare.
    let request = squares(20);
    let plan = planned(&request);
    assert_eq!(check_sheets(&request, &plan), []);
    assert_eq!(plan.n_fresh, 1);
    assert_eq!(planned(&squares(21)).n_fresh, 2);
}

#[test]
fn stock_is_used_before_fresh_sheets_and_one_shape_a_sheet_is_kept_where_it_costs_nothing() {
    let mut request = squares(12);
    request.pieces.push(Piece {
        outline: rectangle(60.0, 40.0),
        n: 9,
        n_optional: 0,
        rotation: Rotation::Free,
        mirror: false,
        fresh_only: false,
    });
    request.stock = vec![nesting::Stock { size: request.sheet, n: 3 }];
    let plan = planned(&request);
    assert_eq!(check_sheets(&request, &plan), []);
    assert_eq!((plan.n_fresh, plan.one_shape), (0, true));
}

#[test]
fn optional_copies_are_placed_only_where_there_is_room() {
    let mut request = squares(18);
    request.pieces[0].n_optional = 10;
    let plan = planned(&request);
    assert_eq!(check_sheets(&request, &plan), []);
    assert_eq!((plan.n_fresh, plan.unplaced_optional[0]), (1, 8));
}

#[test]
fn more_optional_copies_are_found_the_longer_one_looks() {
    // All 24 lie on one sheet, as longer searches find; half of them are needed here.
    let mut request = instance(include_str!("../../../../fixtures/nesting/i3_set24.json"));
    for piece in &mut request.pieces {
        (piece.n, piece.n_optional) = (piece.n / 2, piece.n / 2);
    }
    let n_left_out = |evaluations: u64| {
        let request = SheetsRequest { budget: Budget { evaluations }, ..request.clone() };
        let plan = planned(&request);
        assert_eq!(check_sheets(&request, &plan), []);
        assert_eq!(plan.n_fresh, 1);
        plan.unplaced_optional.iter().sum::<usize>()
    };
    let (at_once, later) = (n_left_out(0), n_left_out(2_000_000));
    assert!(later + 2 <= at_once, "{at_once} at once, {later} later");
}
