//! Laws on random requests.

use nesting::{
    Budget, Outline, Piece, Rerolls, Rotation, SheetSize, SheetsRequest, TrayPiece, TraysRequest,
    check_sheets, check_trays, plan_least_area, plan_sheets, plan_trays,
};
use proptest::{
    prelude::{Just, ProptestConfig, Strategy, any, prop, prop_oneof, proptest},
    strategy::ValueTree,
    test_runner::TestRunner,
};
use std::ops::ControlFlow;

use crate::{planned, rectangle};

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
    let rotation = prop_oneof![
        Just(Rotation::Free),
        Just(Rotation::Quarter),
        Just(Rotation::Fixed),
        prop::collection::vec(-400.0..400.0_f64, 1..5).prop_map(Rotation::Angles),
    ];
    let piece = (outline(), 0..7_usize, rotation, any::<bool>(), any::<bool>()).prop_map(
        |(outline, n, rotation, mirror, fresh_only)| Piece {
            outline,
            n,
            n_optional: n / 3,
            rotation,
            mirror,
            fresh_only,
        },
    );
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

/// How often a law is broken among fixed random requests, and by how much at most.
#[derive(Debug, Default)]
struct Broken {
    n_asked: usize,
    n_broken: usize,
    worst: f64,
}

/// Holds what is needed with less to do against what is needed with more.
fn noise(n_asked: usize, needed: impl Fn(&SheetsRequest, f64) -> [f64; 2]) -> Broken {
    let mut runner = TestRunner::deterministic();
    let mut broken = Broken::default();
    let cases = (request(), 0.0..1.0_f64);
    while broken.n_asked < n_asked {
        let (mut request, share) = cases.new_tree(&mut runner).expect("a request").current();
        request.pieces.iter_mut().for_each(|piece| {
            piece.n *= 3;
            piece.n_optional = 0;
        });
        request.budget.evaluations = 40_000;
        // What fits no sheet is nothing to compare.
        if plan_sheets(&request, &mut |_| ControlFlow::Continue(())).is_err() {
            continue;
        }
        let [less, more] = needed(&request, share);
        broken.n_asked += 1;
        if less > more + 1e-6 {
            broken.n_broken += 1;
            broken.worst = broken.worst.max(less / more);
        }
    }
    broken
}

/// A heuristic is not monotone: of 600 such requests one needed a second sheet when sheets were longer (measured on 2026-11-26).
#[test]
fn more_sheet_hardly_ever_needs_more_sheets() {
    let broken = noise(60, |request, share| {
        let n_sheets = |longer: f64| {
            let mut request = request.clone();
            request.sheet.length_mm += longer;
            request.rerolls.max = 0;
            planned(&request).n_fresh as f64
        };
        [n_sheets(80.0 * share), n_sheets(0.0)]
    });
    assert!(broken.n_broken <= 1, "{broken:?}");
}

/// Of 300 such requests 7 needed more dough for fewer pieces, by 4.0 % at most (measured on 2026-11-26).
#[test]
fn fewer_pieces_hardly_ever_need_more_dough() {
    let broken = noise(24, |request, share| {
        let fresh_mm2 = |share: f64| {
            let mut request = request.clone();
            request.rerolls.max = 1;
            for piece in &mut request.pieces {
                piece.n -= (piece.n as f64 * share) as usize;
            }
            let plans = plan_least_area(&request, 0.0, 2, &mut |_, _| ControlFlow::Continue(()))
                .expect("plans");
            plans.plans[plans.recommended].plan.fresh_area_mm2
        };
        [fresh_mm2(share / 4.0), fresh_mm2(0.0)]
    });
    assert!(broken.n_broken <= 2 && broken.worst < 1.05, "{broken:?}");
}
