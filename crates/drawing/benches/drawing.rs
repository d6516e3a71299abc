//! How long a drawing takes from bytes to regions, and a region to its measures.

use std::hint::black_box;

use criterion::{Criterion, criterion_group, criterion_main};
use drawing::{Fonts, ReadOptions, import, read};
use quantity::Length;

const GARDEN: &[u8] = include_bytes!("../../../fixtures/drawings/garden_50.svg");
const OVERLAPS: &[u8] = include_bytes!("../../../fixtures/drawings/overlaps.svg");

fn bench_reading(criterion: &mut Criterion) {
    let options = ReadOptions { width: Some(Length::mm(85.0)), border: Length::mm(3.0) };
    for (name, svg) in [("50 sections", GARDEN), ("160 overlapping shapes", OVERLAPS)] {
        criterion.bench_function(&format!("import and read {name}"), |bencher| {
            bencher.iter(|| {
                let artwork =
                    import(black_box(svg), &Fonts::none()).expect("the fixture is readable");
                read(&artwork, &options).expect("the fixture is readable")
            });
        });
    }
}

fn bench_measures(criterion: &mut Criterion) {
    let options = ReadOptions { width: None, border: Length::mm(3.0) };
    let artwork = import(GARDEN, &Fonts::none()).expect("the fixture is readable");
    let drawing = read(&artwork, &options).expect("the fixture states its size");
    criterion.bench_function("widths of 50 sections", |bencher| {
        bencher.iter(|| {
            let widths = drawing.shapes.iter().map(|shape| shape.visible.smallest_width().to_mm());
            widths.sum::<f64>()
        });
    });
    criterion.bench_function("insets of 50 sections", |bencher| {
        bencher.iter(|| {
            let insets = drawing
                .shapes
                .iter()
                .map(|shape| shape.visible.inset(Length::mm(2.0)).area().to_mm2());
            insets.sum::<f64>()
        });
    });
}

criterion_group!(benches, bench_reading, bench_measures);
criterion_main!(benches);
