//! How long a drawing takes from bytes to regions, a region to its measures, and a picture to be traced.

use std::{fmt::Write, hint::black_box};

use criterion::{BenchmarkId, Criterion, Throughput, criterion_group, criterion_main};
use drawing::{
    Color, Drawing, Fonts, ReadOptions, Region,
    design::merge_touching,
    import,
    raster::{TraceOptions, trace},
    read,
    relation::{overlap, shared_edge},
};
use image::{ExtendedColorType, ImageEncoder, codecs};
use quantity::Length;
use resvg::{tiny_skia, usvg};

const GARDEN: &str = include_str!("../../../fixtures/drawings/garden_50.svg");
const OVERLAPS: &str = include_str!("../../../fixtures/drawings/overlaps.svg");

/// A set as it is ordered: eight designs from plain to rich.
const SET: [&str; 8] = [
    GARDEN,
    OVERLAPS,
    include_str!("../../../fixtures/drawings/clips.svg"),
    include_str!("../../../fixtures/drawings/clones.svg"),
    include_str!("../../../fixtures/drawings/heart_plaque.svg"),
    include_str!("../../../fixtures/drawings/lines.svg"),
    include_str!("../../../fixtures/drawings/nested_transforms.svg"),
    include_str!("../../../fixtures/drawings/style_sheet.svg"),
];

const WIDTH: Length = Length::mm(85.0);

fn drawing_of(svg: &str) -> Drawing {
    let artwork = import(svg.as_bytes(), &Fonts::none()).expect("the fixture is readable");
    let options = ReadOptions { width: Some(WIDTH), border: Length::mm(3.0) };
    read(&artwork, &options).expect("the fixture is readable")
}

fn bench_reading(criterion: &mut Criterion) {
    for (name, svg) in [("50 sections", GARDEN), ("160 overlapping shapes", OVERLAPS)] {
        criterion.bench_function(&format!("import and read {name}"), |bencher| {
            bencher.iter(|| drawing_of(black_box(svg)));
        });
        // Same run, same file: the ratio does not depend on the machine.
        criterion.bench_function(&format!("resvg renders {name} at 10 px per mm"), |bencher| {
            bencher.iter(|| render(black_box(svg)));
        });
    }
}

/// Reads and renders a file with resvg, `WIDTH` wide, at 10 pixels per millimeter.
fn render(svg: &str) -> tiny_skia::Pixmap {
    let tree = usvg::Tree::from_str(svg, &usvg::Options::default()).expect("readable");
    let scale = 10.0 * WIDTH.to_mm() as f32 / tree.size().width();
    let n_pixels = |units: f32| (units * scale).ceil() as u32;
    let mut pixmap =
        tiny_skia::Pixmap::new(n_pixels(tree.size().width()), n_pixels(tree.size().height()))
            .expect("the fixture has an area");
    resvg::render(&tree, tiny_skia::Transform::from_scale(scale, scale), &mut pixmap.as_mut());
    pixmap
}

fn bench_sections(criterion: &mut Criterion) {
    let drawings: Vec<Drawing> = SET.into_iter().map(drawing_of).collect();
    let channel_distance = |a: Color, b: Color| {
        let channels = [a.red.abs_diff(b.red), a.green.abs_diff(b.green), a.blue.abs_diff(b.blue)];
        f64::from(channels.into_iter().max().unwrap_or(0))
    };
    criterion.bench_function("sections of 8 designs", |bencher| {
        bencher.iter(|| {
            let found = drawings.iter().map(|drawing| {
                let merged = merge_touching(&drawing.shapes, |a, b| {
                    channel_distance(a.color, b.color) < 4.0
                });
                let poured: Vec<&Region> = merged.iter().map(|shape| &shape.painted).collect();
                n_neighbors(&poured)
            });
            found.sum::<usize>()
        });
    });
}

/// Counts the pairs that run side by side and do not lie on each other.
fn n_neighbors(regions: &[&Region]) -> usize {
    let pairs = regions
        .iter()
        .enumerate()
        .flat_map(|(place, one)| regions.iter().skip(place + 1).map(move |other| (*one, *other)));
    let neighbors = pairs.filter(|(one, other)| {
        overlap(one, other).to_mm2() < 0.5
            && shared_edge(one, other, Length::mm(0.8)) > Length::mm(1.0)
    });
    neighbors.count()
}

/// A page of blobs side by side, each of a hundred path segments, half of them curves.
fn page_of_segments(n_segments: usize) -> String {
    let n_blobs = n_segments / 100;
    let n_across = (n_blobs as f64).sqrt().ceil() as usize;
    let step = 100.0 / n_across as f64;
    let mut svg = "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 100 100\"><rect id=\"outline\" width=\"100\" height=\"100\" fill=\"#ffffff\"/>".to_owned();
    for blob in 0..n_blobs {
        let (x, y) = ((blob % n_across) as f64 * step, (blob / n_across) as f64 * step);
        _ = write!(svg, "<path fill=\"#{:06x}\" d=\"", blob * 7919 % 0xff_ffff);
        for corner in 0..100 {
            let angle = std::f64::consts::TAU * corner as f64 / 100.0;
            let radius = step * if corner % 4 < 2 { 0.45 } else { 0.35 };
            let (x, y) =
                (x + 0.5 * step + radius * angle.cos(), y + 0.5 * step + radius * angle.sin());
            _ = match corner {
                0 => write!(svg, "M{x:.3} {y:.3}"),
                _ if corner % 2 == 0 => write!(svg, "L{x:.3} {y:.3}"),
                _ => write!(svg, "T{x:.3} {y:.3}"),
            };
        }
        svg += "Z\"/>";
    }
    svg + "</svg>"
}

fn bench_segments(criterion: &mut Criterion) {
    let mut group = criterion.benchmark_group("import and read path segments");
    group.sample_size(10);
    for n_segments in [1_000, 3_000, 10_000, 30_000, 100_000] {
        let svg = page_of_segments(n_segments);
        group.throughput(Throughput::Elements(n_segments as u64));
        group.bench_with_input(BenchmarkId::from_parameter(n_segments), &svg, |bencher, svg| {
            bencher.iter(|| drawing_of(black_box(svg)));
        });
    }
    group.finish();
}

fn bench_measures(criterion: &mut Criterion) {
    let drawing = drawing_of(GARDEN);
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

/// The garden as a PNG of 2,000 pixels, anti-aliased on white.
fn garden_png() -> Vec<u8> {
    let tree = usvg::Tree::from_str(GARDEN, &usvg::Options::default()).expect("it is readable");
    let scale = 2000.0 / tree.size().width().max(tree.size().height());
    let n_pixels = |units: f32| (units * scale).round() as u32;
    let (width, height) = (n_pixels(tree.size().width()), n_pixels(tree.size().height()));
    let mut pixmap = tiny_skia::Pixmap::new(width, height).expect("it has an area");
    pixmap.fill(tiny_skia::Color::WHITE);
    resvg::render(&tree, tiny_skia::Transform::from_scale(scale, scale), &mut pixmap.as_mut());
    let mut png = Vec::new();
    codecs::png::PngEncoder::new(&mut png)
        .write_image(pixmap.data(), width, height, ExtendedColorType::Rgba8)
        .expect("memory takes every byte");
    png
}

fn bench_tracing(criterion: &mut Criterion) {
    let png = garden_png();
    criterion.bench_function("trace a PNG of 2000 pixels", |bencher| {
        bencher.iter(|| trace(black_box(&png), &TraceOptions::default()).expect("it is readable"));
    });
}

criterion_group!(
    benches,
    bench_reading,
    bench_sections,
    bench_segments,
    bench_measures,
    bench_tracing
);
criterion_main!(benches);
