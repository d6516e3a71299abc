//! Pictures made of pixels become regions that agree with the drawings they were rendered from (by resvg 0.49 on tiny-skia).

use std::{collections::BTreeMap, env, fs, path::Path};

use drawing::{
    Color, Error, Fonts, ReadOptions, Region, import,
    raster::{ColorCount, TraceOptions, trace},
    read,
};
use image::{ExtendedColorType, ImageEncoder, codecs};
use proptest::prelude::*;
use quantity::Length;
use resvg::{tiny_skia, usvg};

use crate::fixtures::{DRAWINGS, SAMPLES};

/// Width the pictures are read and compared at.
const WIDTH_MM: f64 = 80.0;

/// What the area of agreement must be of all that is covered by either, per color, weighted with area.
const LEAST_AGREEMENT: f64 = 0.97;

/// Clear pixels around a drawing, so that a plate as large as the page is no ground.
const MARGIN: u32 = 16;

/// Renders a drawing with anti-aliasing on clear ground with a margin; returns straight colors and the size.
fn render(svg: &str, n_pixels: u32, margin: u32) -> (Vec<u8>, u32, u32) {
    let tree =
        usvg::Tree::from_str(svg, &usvg::Options::default()).expect("the drawing is readable");
    let size = tree.size();
    let scale = n_pixels as f32 / size.width().max(size.height());
    let [width, height] = [size.width(), size.height()].map(|units| (units * scale).round() as u32);
    let mut page = tiny_skia::Pixmap::new(width, height).expect("the drawing has an area");
    resvg::render(&tree, tiny_skia::Transform::from_scale(scale, scale), &mut page.as_mut());
    // Nothing reaches beyond the page into the margin.
    let mut pixmap = tiny_skia::Pixmap::new(width + 2 * margin, height + 2 * margin)
        .expect("the page has an area");
    let at = margin as i32;
    let paint = tiny_skia::PixmapPaint::default();
    pixmap.draw_pixmap(at, at, page.as_ref(), &paint, tiny_skia::Transform::identity(), None);
    let rgba = pixmap.pixels().iter().flat_map(|pixel| {
        let color = pixel.demultiply();
        [color.red(), color.green(), color.blue(), color.alpha()]
    });
    (rgba.collect(), pixmap.width(), pixmap.height())
}

fn png(rgba: &[u8], width: u32, height: u32) -> Vec<u8> {
    let mut bytes = Vec::new();
    codecs::png::PngEncoder::new(&mut bytes)
        .write_image(rgba, width, height, ExtendedColorType::Rgba8)
        .expect("memory takes every byte");
    bytes
}

/// How many colors a drawing shows.
fn n_colors(svg: &str) -> usize {
    let drawing = import(svg.as_bytes(), &Fonts::none()).expect("the drawing is readable");
    regions(&drawing).len()
}

/// Visible regions of each color; a wide border makes one cutter shape of parts that lie apart.
fn regions(artwork: &drawing::Artwork) -> BTreeMap<Color, Region> {
    let options = ReadOptions { width: Some(Length::mm(WIDTH_MM)), border: Length::mm(8.0) };
    let drawing = read(artwork, &options).expect("the picture is readable");
    let mut by_color: BTreeMap<Color, Vec<Region>> = BTreeMap::new();
    for shape in drawing.shapes {
        by_color.entry(shape.color).or_default().push(shape.visible);
    }
    let union = |regions: Vec<Region>| Region::union(&regions.iter().collect::<Vec<_>>());
    by_color.into_iter().map(|(color, regions)| (color, union(regions))).collect()
}

fn nearest(color: Color, palette: &[Color]) -> Option<Color> {
    let distance = |other: &Color| {
        let channel = |one: u8, other: u8| u32::from(one.abs_diff(other)).pow(2);
        channel(color.red, other.red)
            + channel(color.green, other.green)
            + channel(color.blue, other.blue)
    };
    palette.iter().copied().min_by_key(distance)
}

/// Intersection over union of each color, weighted with the area of the truth.
fn agreement(svg: &str, picture: &[u8]) -> f64 {
    let truth = import(svg.as_bytes(), &Fonts::none()).expect("the drawing is readable");
    let traced = trace(picture, &TraceOptions::default()).expect("the picture is readable");
    let mut truth_by_color: BTreeMap<Color, Vec<Region>> = BTreeMap::new();
    for (color, region) in regions(&truth) {
        let color = nearest(color, &traced.palette).expect("a color was found");
        truth_by_color.entry(color).or_default().push(region);
    }
    let found = regions(&traced.artwork);
    let (mut sum, mut total) = (0.0, 0.0);
    for (color, parts) in truth_by_color {
        let truth = Region::union(&parts.iter().collect::<Vec<_>>());
        let area = truth.area().to_mm2();
        let found = found.get(&color).cloned().unwrap_or_default();
        let both = truth.intersect(&found).area().to_mm2();
        let either = area + found.area().to_mm2() - both;
        if either > 0.0 {
            sum += area * both / either;
            total += area;
        }
    }
    sum / total
}

#[test]
fn pictures_of_the_samples_at_8_pixels_a_millimeter_agree_with_their_drawings() {
    for (name, svg) in DRAWINGS.into_iter().chain(SAMPLES) {
        // Text needs a font the renderer here is not given.
        if svg.contains("<text") {
            continue;
        }
        // Nobody mixes more than twelve colors for a cookie, and the tracer looks for no more.
        if n_colors(svg) > 12 {
            continue;
        }
        // The element that names the cutter shape would be read from one side only.
        let svg = svg.replace("id=\"outline\"", "id=\"shape\"");
        let (rgba, width, height) = render(&svg, (8.0 * WIDTH_MM) as u32, MARGIN);
        let agreement = agreement(&svg, &png(&rgba, width, height));
        assert!(agreement >= LEAST_AGREEMENT, "{name}: {agreement:.4}");
    }
}

#[test]
#[expect(clippy::disallowed_methods, reason = "the open set lies outside of the repository")]
fn pictures_of_an_open_set_agree_with_their_drawings() {
    let Ok(package) = env::var("SUGARWRIGHT_OPENMOJI") else {
        // Without the open set the samples above stand for it; `cargo xtask ci` brings it.
        return;
    };
    let text =
        fs::read_to_string(Path::new(&package).join("icons.json")).expect("the set is whole");
    let set: serde_json::Value = serde_json::from_str(&text).expect("the set is JSON");
    let icons = set["icons"].as_object().expect("the set has pictures");
    let step = icons.len() / 100;
    let mut agreements = Vec::new();
    for (name, icon) in icons.iter().step_by(step).take(100) {
        let body = icon["body"].as_str().expect("a picture has a body");
        let svg = format!(
            "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 72 72\" width=\"72\" height=\"72\">{body}</svg>"
        );
        let (rgba, width, height) = render(&svg, (8.0 * WIDTH_MM) as u32, MARGIN);
        agreements.push((agreement(&svg, &png(&rgba, width, height)), name));
    }
    agreements.sort_by(|one, other| one.0.total_cmp(&other.0));
    let mean = agreements.iter().map(|(agreement, _)| agreement).sum::<f64>() / 100.0;
    assert!(mean >= LEAST_AGREEMENT, "{mean:.4}, the worst: {:?}", agreements.get(..5));
}

#[test]
fn a_picture_of_flat_colors_has_as_many_colors_as_it_shows() {
    let svg = "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 80 80\">
        <rect width=\"80\" height=\"80\" fill=\"#ffffff\"/>
        <circle cx=\"40\" cy=\"40\" r=\"30\" fill=\"#000000\"/>
        <circle cx=\"40\" cy=\"40\" r=\"28\" fill=\"#7f7f7f\"/>
        <circle cx=\"40\" cy=\"40\" r=\"20\" fill=\"#ffffff\"/>
        <path d=\"M34 34h12v12h-12z\" fill=\"#c81e3c\"/></svg>";
    let (rgba, width, height) = render(svg, 640, 0);
    let traced =
        trace(&png(&rgba, width, height), &TraceOptions::default()).expect("it is readable");
    let mut colors: Vec<String> = traced.palette.iter().map(|color| color.to_hex()).collect();
    colors.sort();
    assert_eq!(colors, ["#000000", "#7f7f7f", "#c81e3c", "#ffffff"]);
    assert_eq!(traced.color_count, ColorCount::Flat);
    assert_eq!(traced.ground, Some(Color::WHITE));
    // The gray that anti-aliasing leaves between black and white makes no patch.
    assert_eq!(traced.n_patches, 4);
}

#[test]
fn neighbors_leave_no_gap_and_do_not_overlap() {
    let svg = "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 80 80\">
        <circle cx=\"40\" cy=\"40\" r=\"36\" fill=\"#204060\"/>
        <path d=\"M40 40 40 4A36 36 0 0 1 73 55z\" fill=\"#d04020\"/>
        <path d=\"M40 40 73 55A36 36 0 0 1 12 62z\" fill=\"#e8c040\"/>
        <ellipse cx=\"40\" cy=\"40\" rx=\"12\" ry=\"7\" fill=\"#f4f4f4\"/></svg>";
    let (rgba, width, height) = render(svg, 640, 0);
    let traced =
        trace(&png(&rgba, width, height), &TraceOptions::default()).expect("it is readable");
    let found = regions(&traced.artwork);
    assert_eq!(found.len(), 4);
    let parts: f64 = found.values().map(|region| region.area().to_mm2()).sum();
    let whole = Region::union(&found.values().collect::<Vec<_>>());
    assert!((whole.area().to_mm2() - parts).abs() < 1e-9);
    assert_eq!((whole.n_parts(), whole.rings().count()), (1, 1), "one disk without a hole");
}

#[test]
fn a_scan_of_line_art_becomes_the_fields_its_lines_bound() {
    let svg = "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 80 80\">
        <rect width=\"80\" height=\"80\" fill=\"#f2f0ea\"/>
        <g fill=\"none\" stroke=\"#26221f\" stroke-width=\"1.2\">
        <circle cx=\"40\" cy=\"40\" r=\"30\"/><path d=\"M40 10v60M10 40h60\"/></g></svg>";
    let (rgba, width, height) = render(svg, 900, 0);
    // Grain of a scanner, the same in every run.
    let mut state = 7_u32;
    let rgb: Vec<u8> = rgba
        .chunks(4)
        .flat_map(|pixel| {
            state = state.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
            let grain = (state >> 29) as u8;
            [pixel[0], pixel[1], pixel[2]].map(|channel| channel.saturating_sub(grain))
        })
        .collect();
    let mut jpeg = Vec::new();
    codecs::jpeg::JpegEncoder::new_with_quality(&mut jpeg, 88)
        .write_image(&rgb, width, height, ExtendedColorType::Rgb8)
        .expect("memory takes every byte");
    let traced = trace(&jpeg, &TraceOptions::default()).expect("it is readable");
    let shapes =
        read(&traced.artwork, &ReadOptions { width: Some(Length::mm(61.2)), border: Length::ZERO })
            .expect("it is readable")
            .shapes;
    // One drawing of lines and four quarters of paper: each a sector of 30 - 0.6 mm less half a line on both sides.
    assert_eq!(shapes.len(), 5);
    let inner: f64 = 29.4;
    let half: f64 = 0.6;
    let quarter = std::f64::consts::PI * inner * inner / 4.0 - 2.0 * half * inner + half * half;
    for shape in shapes.iter().filter(|shape| shape.color.red > 128) {
        let area = shape.visible.area().to_mm2();
        assert!((area / quarter - 1.0).abs() < 0.01, "{area:.1} against {quarter:.1}");
    }
}

fn check_refused(name: &str, bytes: &[u8]) {
    let error = trace(bytes, &TraceOptions::default()).expect_err(name).to_string();
    assert!(error.len() > 20 && !error.contains("panick"), "{name}: {error}");
}

/// A PNG chunk without a right checksum: headers are looked at before it, or it is refused for it.
fn png_header(width: u32, height: u32) -> Vec<u8> {
    let (rgba, small_width, small_height) = (vec![9; 16 * 16 * 4], 16, 16);
    let mut bytes = png(&rgba, small_width, small_height);
    bytes[16..20].copy_from_slice(&width.to_be_bytes());
    bytes[20..24].copy_from_slice(&height.to_be_bytes());
    let checksum = crc32(&bytes[12..29]);
    bytes[29..33].copy_from_slice(&checksum.to_be_bytes());
    bytes
}

/// CRC-32 of PNG (ISO/IEC 15948, annex D), bit by bit.
fn crc32(bytes: &[u8]) -> u32 {
    let mut crc = u32::MAX;
    for &byte in bytes {
        crc ^= u32::from(byte);
        for _ in 0..8 {
            crc = if crc & 1 == 1 { (crc >> 1) ^ 0xedb8_8320 } else { crc >> 1 };
        }
    }
    !crc
}

#[test]
fn pictures_that_lie_about_their_size_are_refused_with_a_sentence() {
    check_refused("nothing", b"");
    check_refused("text", b"a picture, honestly");
    for (width, height) in [(u32::MAX, u32::MAX), (50_000, 50_000), (12_000, 12_000), (0, 10)] {
        check_refused(&format!("{width} x {height}"), &png_header(width, height));
    }
    // As large as is allowed, and nearly empty.
    check_refused("hollow", &png_header(8_000, 5_000));
    let mut jpeg = Vec::new();
    codecs::jpeg::JpegEncoder::new(&mut jpeg)
        .write_image(&[9; 16 * 16 * 3], 16, 16, ExtendedColorType::Rgb8)
        .expect("memory takes every byte");
    let frame = jpeg.windows(2).position(|two| two == [0xff, 0xc0]).expect("it has a frame header");
    jpeg[frame + 5..frame + 9].fill(0xff);
    check_refused("JPEG of 65535 x 65535", &jpeg);
    let webp = b"RIFF\x1a\0\0\0WEBPVP8L\x0e\0\0\0\x2f\xff\xff\xff\x0f\0\0\0\0\0\0\0\0\0";
    check_refused("WebP of 16384 x 16384", webp);
    assert!(matches!(
        trace(&png_header(50_000, 50_000), &TraceOptions::default()).map(|_| ()),
        Err(Error::PictureTooLarge { width: 50_000, height: 50_000, .. })
    ));
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(200))]

    #[test]
    fn damaged_pictures_are_read_or_refused(
        kind in 0..3_usize,
        cut in 0.0..1.0_f64,
        hits in proptest::collection::vec((0.0..1.0_f64, any::<u8>()), 0..6),
    ) {
        let rgba: Vec<u8> = (0..40 * 30 * 4).map(|at| if at % 4 == 3 { 255 } else { (at / 160) as u8 }).collect();
        let rgb: Vec<u8> = rgba.chunks(4).flat_map(|pixel| [pixel[0], pixel[1], pixel[2]]).collect();
        let mut bytes = Vec::new();
        match kind {
            0 => bytes = png(&rgba, 40, 30),
            1 => codecs::jpeg::JpegEncoder::new(&mut bytes)
                .write_image(&rgb, 40, 30, ExtendedColorType::Rgb8)
                .expect("memory takes every byte"),
            _ => codecs::webp::WebPEncoder::new_lossless(&mut bytes)
                .write_image(&rgba, 40, 30, ExtendedColorType::Rgba8)
                .expect("memory takes every byte"),
        }
        for (place, byte) in hits {
            let at = (place * bytes.len() as f64) as usize;
            bytes[at] = byte;
        }
        bytes.truncate((cut.max(0.3) * bytes.len() as f64) as usize);
        if let Err(error) = trace(&bytes, &TraceOptions::default()) {
            prop_assert!(error.to_string().len() > 20);
        }
    }
}
