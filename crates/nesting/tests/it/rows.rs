//! Trays against closed forms.

use nesting::{SheetSize, TrayPiece, TraysRequest, check_trays, plan_trays, tray_jumps};

use crate::rectangle;

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
