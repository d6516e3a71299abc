//! Laws on random requests.

use nesting::{
    Budget, Outline, Piece, Rerolls, Rotation, SheetSize, SheetsRequest, TrayPiece, TraysRequest,
    check_sheets, check_trays, plan_sheets, plan_trays,
};
use proptest::prelude::{Just, ProptestConfig, Strategy, any, prop, prop_oneof, proptest};
use std::ops::ControlFlow;

use crate::rectangle;

/// A star-shaped polygon: radii around the origin.
fn outline() -> impl Strategy<Value = Outline> {
    prop::collection::vec(12.0..45.0_f64, 3..12).prop_map(|radii| {
        let n = radii.len() as f64;
        radii
            .iter()
            .enumerate()
            .map(|(i, radius)| {
                let angle = i as f64 / n * std::f64::consts::TAU;
                [radius * angle.cos(), radius * angle.sin()]
            })
            .collect()
    })
}

fn request() -> impl Strategy<Value = SheetsRequest> {
    let rotation =
        prop_oneof![Just(Rotation::Free), Just(Rotation::Quarter), Just(Rotation::Fixed)];
    let piece = (outline(), 0..7_usize, rotation).prop_map(|(outline, n, rotation)| Piece {
        outline,
        n,
        n_optional: n / 3,
        rotation,
    });
    (
        prop::collection::vec(piece, 1..4),
        0.0..6.0_f64,
        0.0..8.0_f64,
        0..3_usize,
        any::<bool>(),
        any::<u64>(),
    )
        .prop_map(|(pieces, gap_mm, edge_margin_mm, max, one_piece_per_sheet, seed)| {
            SheetsRequest {
                pieces,
                sheet: SheetSize { width_mm: 220.0, length_mm: 260.0 },
                stock: vec![],
                gap_mm,
                edge_margin_mm,
                rerolls: Rerolls { max, loss: 0.02 },
                one_piece_per_sheet,
                budget: Budget { evaluations: 3_000 },
                seed,
            }
        })
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 40, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn every_plan_is_sound_and_found_again(request in request()) {
        let plan = || plan_sheets(&request, &mut |_| ControlFlow::Continue(()));
        let first = plan();
        if let Ok(plan) = &first {
            assert_eq!(check_sheets(&request, plan), []);
        }
        assert_eq!(first, plan());
    }

    #[test]
    fn trays_are_sound_and_longer_trays_never_need_more(
        sides in prop::collection::vec((20.0..90.0_f64, 20.0..90.0_f64, 0..30_usize, 0..2_usize), 1..5),
        gap_mm in 0.0..30.0_f64,
        longer in 0.0..100.0_f64,
    ) {
        let pieces = sides
            .into_iter()
            .map(|(width, height, n, size_class)| TrayPiece { outline: rectangle(width, height), n, size_class })
            .collect();
        let mut request = TraysRequest { pieces, tray: SheetSize { width_mm: 300.0, length_mm: 200.0 }, gap_mm };
        let plan = plan_trays(&request).expect("a plan");
        assert_eq!(check_trays(&request, &plan), []);
        // First fit by decreasing height is not monotone in general, but with one shape it is.
        request.pieces.truncate(1);
        let n_trays = plan_trays(&request).expect("a plan").trays.len();
        request.tray.length_mm += longer;
        assert!(plan_trays(&request).expect("a plan").trays.len() <= n_trays);
    }
}
