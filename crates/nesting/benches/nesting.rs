//! Cutting plans of our own instances, with and without re-rolls.

use std::{hint::black_box, ops::ControlFlow};

use criterion::{Criterion, criterion_group, criterion_main};
use nesting::{Budget, Piece, Rerolls, Rotation, SheetSize, SheetsRequest, plan_sheets};
use serde_json::Value;

const OUTLINES: &str = include_str!("../../../fixtures/nesting/outlines.json");
const INSTANCES: [(&str, &str); 3] = [
    ("12 pieces", include_str!("../../../fixtures/nesting/i1_set12.json")),
    ("24 pieces", include_str!("../../../fixtures/nesting/i3_set24.json")),
    ("48 pieces", include_str!("../../../fixtures/nesting/i6_mix48.json")),
];

fn request(json: &str, n_rerolls: usize) -> SheetsRequest {
    let outlines: Value = serde_json::from_str(OUTLINES).expect("JSON");
    let instance: Value = serde_json::from_str(json).expect("JSON");
    let number = |value: &Value| value.as_f64().expect("a number");
    let pieces = instance["items"].as_array().expect("items").iter().map(|item| {
        let points = &outlines["outlines"][item["outline"].as_str().expect("a name")]["points"];
        Piece {
            outline: points
                .as_array()
                .expect("points")
                .iter()
                .map(|point| [number(&point[0]), number(&point[1])])
                .collect(),
            n: item["qty"].as_u64().expect("a count") as usize,
            n_optional: 0,
            rotation: Rotation::Free,
            mirror: false,
            fresh_only: false,
        }
    });
    SheetsRequest {
        pieces: pieces.collect(),
        sheet: SheetSize {
            width_mm: number(&instance["sheet"]["width_mm"]),
            length_mm: number(&instance["sheet"]["length_mm"]),
        },
        stock: vec![],
        gap_mm: number(&instance["gap_mm"]),
        edge_margin_mm: number(&instance["edge_margin_mm"]),
        rerolls: Rerolls { max: n_rerolls, loss: 0.015 },
        one_piece_per_sheet: false,
        budget: Budget { evaluations: 100_000 },
        seed: 1,
    }
}

fn sheets(criterion: &mut Criterion) {
    let mut group = criterion.benchmark_group("sheets");
    group.sample_size(10);
    for (name, json) in INSTANCES {
        for n_rerolls in [0, 1] {
            let request = request(json, n_rerolls);
            group.bench_function(format!("{name}, {n_rerolls} re-rolls"), |bencher| {
                bencher
                    .iter(|| black_box(plan_sheets(&request, &mut |_| ControlFlow::Continue(()))));
            });
        }
    }
    group.finish();
}

criterion_group!(benches, sheets);
criterion_main!(benches);
