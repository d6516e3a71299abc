//! Trays against closed forms.

use nesting::{
    Outline, Rotation, SheetSize, StraightRow, TrayPiece, TraysRequest, check_sheets, check_trays,
    cutting_order, plan_rows, plan_trays, straight_rows, tray_jumps,
};

use crate::{
    instances::{instance, squares},
    planned, rectangle,
};

const INCH: f64 = 25.4;

fn tray() -> SheetSize {
    SheetSize { width_mm: 16.5 * INCH, length_mm: 11.5 * INCH }
}

#[test]
fn straight_rows_of_squares_have_their_closed_form_count() {
    // Usable 16.5 x 11.5 in, 1 in apart: floor(17.5 / (s + 1)) x floor(12.5 / (s + 1)).
    for (side, count) in [(3.5, 6), (3.2, 8), (3.1, 12)] {
        let piece = TrayPiece {
            outline: rectangle(side * INCH, side * INCH),
            n: count * 2 + 1,
            size_class: 0,
        };
        let request = TraysRequest { pieces: vec![piece], tray: tray(), gap_mm: INCH };
        let plan = plan_trays(&request).expect("a plan");
        assert_eq!(plan.capacity, [count], "{side} in");
        assert_eq!(plan.trays.len(), 3, "{side} in");
        assert_eq!(check_trays(&request, &plan), []);
    }
}

#[test]
fn the_scales_at_which_a_tray_takes_more_follow_from_the_closed_form() {
    // Unit square of 1 in: n in a row need s <= 17.5 / n - 1, n rows s <= 12.5 / n - 1.
    let jumps = tray_jumps(&rectangle(INCH, INCH), tray(), INCH, 3.0, 3.6).expect("jumps");
    let found: Vec<(f64, usize)> =
        jumps.iter().map(|jump| ((jump.scale * 1000.0).round() / 1000.0, jump.capacity)).collect();
    assert_eq!(found, [(3.6, 6), (3.375, 8), (3.167, 12)]);
}

#[test]
fn classes_do_not_share_a_tray_and_rows_are_spread_evenly() {
    let piece =
        |side: f64, n, size_class| TrayPiece { outline: rectangle(side, side), n, size_class };
    let request = TraysRequest {
        pieces: vec![piece(60.0, 20, 0), piece(50.0, 9, 0), piece(30.0, 5, 1)],
        tray: SheetSize { width_mm: 400.0, length_mm: 280.0 },
        gap_mm: 13.0,
    };
    let plan = plan_trays(&request).expect("a plan");
    assert_eq!(check_trays(&request, &plan), []);
    let counts: Vec<(usize, usize)> =
        plan.trays.iter().map(|tray| (tray.size_class, tray.placements.len())).collect();
    assert_eq!(counts, [(0, 16), (0, 13), (1, 5)]);
}

#[test]
fn rows_on_sheets_have_their_closed_form_count_and_turn_only_what_may_turn() {
    // (214.5 - 8 + 2) / 52 = 4 in a row, (266.5 - 8 + 2) / 52 = 5 rows.
    for (n, n_sheets) in [(20, 1), (21, 2), (41, 3)] {
        let plan = plan_rows(&squares(n)).expect("a plan");
        assert_eq!(check_sheets(&squares(n), &plan), []);
        assert_eq!(plan.n_fresh, n_sheets);
    }
    // 50 x 65: upright 4 in each of 3 rows, turned 3 in each of 5.
    let mut request = squares(15);
    request.pieces[0].outline = rectangle(50.0, 65.0);
    for (rotation, n_sheets) in [(Rotation::Quarter, 1), (Rotation::Fixed, 2)] {
        request.pieces[0].rotation = rotation.clone();
        let plan = plan_rows(&request).expect("a plan");
        assert_eq!(check_sheets(&request, &plan), []);
        assert_eq!(plan.n_fresh, n_sheets, "{rotation:?}");
    }
}

#[test]
fn triangles_stand_head_to_tail_where_that_saves_a_sheet() {
    // Base and height 60, 2 apart: head to tail, the next stands 30 + 2 sqrt(1 + (30 / 60)^2) = 32.24 further,
    // 1 + floor((214.5 - 8 - 60) / 32.24) = 5 in a row; boxes stand 62 apart, floor((206.5 + 2) / 62) = 3 in a row; 4 rows each.
    let mut request = squares(12);
    let triangle = vec![[0.0, 60.0], [60.0, 60.0], [30.0, 0.0]];
    request.pieces[0].outline = triangle.clone();
    for (rotation, n, n_sheets, row) in [
        (Rotation::Free, 12, 1, (3, false)),
        (Rotation::Free, 20, 1, (5, true)),
        (Rotation::Quarter, 40, 2, (5, true)),
        (Rotation::Fixed, 20, 2, (3, false)),
    ] {
        request.pieces[0].n = n;
        request.pieces[0].rotation = rotation;
        let plan = plan_rows(&request).expect("a plan");
        assert_eq!(check_sheets(&request, &plan), []);
        assert_eq!(plan.n_fresh, n_sheets, "{n}");
        let rows = straight_rows(&[&triangle], &plan.sheets[0]).expect("rows");
        let (n_in_row, head_to_tail) = row;
        assert_eq!(rows[0], StraightRow { cuts: vec![(0, n_in_row)], head_to_tail }, "{n}");
    }
}

#[test]
fn what_is_optional_fills_rows_and_opens_no_sheet() {
    let mut request = squares(18);
    request.pieces[0].n_optional = 5;
    let plan = plan_rows(&request).expect("a plan");
    assert_eq!(check_sheets(&request, &plan), []);
    assert_eq!((plan.n_fresh, plan.unplaced_optional), (1, vec![3]));
}

#[test]
fn only_what_stands_in_lines_is_told_as_rows() {
    let square = rectangle(50.0, 50.0);
    let sheet = plan_rows(&squares(6)).expect("a plan").sheets.remove(0);
    let row = |n| StraightRow { cuts: vec![(0, n)], head_to_tail: false };
    assert_eq!(straight_rows(&[&square], &sheet), Some(vec![row(4), row(2)]));
    let mut off = sheet.clone();
    off.placements[1].y_mm += 10.0;
    assert_eq!(straight_rows(&[&square], &off), None);
    let mut turned = sheet;
    turned.placements[1].rotation_deg = 45.0;
    assert_eq!(straight_rows(&[&square], &turned), None);
}

#[test]
fn shapes_share_a_sheet_of_rows_only_where_that_saves_one() {
    // Ten squares of two kinds each: a sheet takes 20.
    let mut request = squares(10);
    request.pieces.push(request.pieces[0].clone());
    request.one_piece_per_sheet = true;
    let plan = plan_rows(&request).expect("a plan");
    assert_eq!((plan.n_fresh, plan.one_shape), (1, false));
    request.pieces.iter_mut().for_each(|piece| piece.n = 20);
    let plan = plan_rows(&request).expect("a plan");
    assert_eq!((plan.n_fresh, plan.one_shape), (2, true));
}

#[test]
fn rows_by_eye_never_need_fewer_sheets_than_the_plan() {
    let request = instance(include_str!("../../../../fixtures/nesting/i6_mix48.json"));
    let rows = plan_rows(&request).expect("a plan");
    assert_eq!(check_sheets(&request, &rows), []);
    assert!(rows.n_fresh >= planned(&request).n_fresh);
}

#[test]
fn cuts_come_row_by_row_and_never_before_one_wholly_beyond() {
    let square = rectangle(50.0, 50.0);
    let mut sheet = plan_rows(&squares(20)).expect("a plan").sheets.remove(0);
    sheet.placements.reverse();
    let order = cutting_order(&[&square], &sheet);
    assert_eq!(order, (0..20).rev().collect::<Vec<_>>());

    let request = instance(include_str!("../../../../fixtures/nesting/i3_set24.json"));
    let outlines: Vec<&Outline> = request.pieces.iter().map(|piece| &piece.outline).collect();
    for sheet in &planned(&request).sheets {
        let order = cutting_order(&outlines, sheet);
        let mut sorted = order.clone();
        sorted.sort_unstable();
        assert_eq!(sorted, (0..sheet.placements.len()).collect::<Vec<_>>());
        // Where a piece begins and ends along the sheet, by its corners.
        let stretch = |at: usize| {
            let one = &sheet.placements[at];
            let (sin, cos) = one.rotation_deg.to_radians().sin_cos();
            let ys = outlines[one.piece].iter().map(|[x, y]| x * sin + y * cos + one.y_mm);
            ys.fold((f64::MAX, f64::MIN), |(low, high), y| (low.min(y), high.max(y)))
        };
        for (i, &before) in order.iter().enumerate() {
            for &after in &order[i + 1..] {
                assert!(stretch(after).1 > stretch(before).0, "{after} lies beyond {before}");
            }
        }
    }
}

#[test]
fn cuts_of_one_shape_follow_each_other_where_nobody_has_to_reach_for_that() {
    let square = rectangle(50.0, 50.0);
    let mut sheet = plan_rows(&squares(8)).expect("a plan").sheets.remove(0);
    // Two rows of four, in which two cutters take turns.
    for (at, placement) in sheet.placements.iter_mut().enumerate() {
        placement.piece = at % 2;
    }
    let order = cutting_order(&[&square, &square], &sheet);
    assert_eq!(order, [0, 2, 1, 3, 5, 7, 4, 6]);
}
