//! The area of each color by counting the pixels of an independent renderer.

use std::sync::Arc;

use drawing::{Color, Drawing};
use quantity::Length;
use resvg::{tiny_skia, usvg};

/// Fine enough that a pixel (0.05 mm) is narrower than any line a tip can pipe.
const PIXELS_PER_MM: f32 = 20.0;

/// CSS pixels in a millimeter: 96 in an inch (CSS Values and Units Level 4, 6.2).
const CSS_PIXELS_PER_MM: f32 = 96.0 / 25.4;

/// What one color covers, by us and by the renderer.
#[derive(Debug)]
pub(crate) struct ColorArea {
    pub(crate) color: Color,
    /// Sum of visible areas in the drawing.
    pub(crate) drawing_mm2: f64,
    /// Pixels of this color.
    pub(crate) raster_mm2: f64,
    /// Pixels of this color that touch another color, by their sides.
    pub(crate) edge_mm2: f64,
}

impl ColorArea {
    /// The law: both agree within 0.5 % plus edge pixels.
    pub(crate) fn agrees(&self) -> bool {
        (self.drawing_mm2 - self.raster_mm2).abs() <= 0.005 * self.raster_mm2 + self.edge_mm2
    }
}

/// Compares the visible area of each color with the pixels of the renderer.
///
/// The picture must state its physical size, lie within its cutter shape, and be painted in opaque plain colors.
pub(crate) fn compare_with_raster(svg: &str, font: &[u8], drawing: &Drawing) -> Vec<ColorArea> {
    count(&render(svg, font, |_| PIXELS_PER_MM / CSS_PIXELS_PER_MM), drawing, 0)
}

/// Compares the visible area of each color with the pixels of the renderer.
///
/// The cutter shape must be the picture's whole page, `width` wide.
/// A pixel counts for the nearest color of the drawing no channel of which is more than `reach` away.
pub(crate) fn compare_page(
    svg: &str,
    font: &[u8],
    width: Length,
    drawing: &Drawing,
    reach: u8,
) -> Vec<ColorArea> {
    let width_pixels = PIXELS_PER_MM * width.to_mm() as f32;
    count(&render(svg, font, |size| width_pixels / size.width()), drawing, reach)
}

fn count(pixmap: &tiny_skia::Pixmap, drawing: &Drawing, reach: u8) -> Vec<ColorArea> {
    let mut areas: Vec<ColorArea> = Vec::new();
    let empty = |color| ColorArea { color, drawing_mm2: 0.0, raster_mm2: 0.0, edge_mm2: 0.0 };
    for shape in &drawing.shapes {
        let place = areas.iter().position(|area| area.color == shape.color).unwrap_or_else(|| {
            areas.push(empty(shape.color));
            areas.len() - 1
        });
        areas[place].drawing_mm2 += shape.visible.area().to_mm2();
    }
    let (width, height) = (pixmap.width() as usize, pixmap.height() as usize);
    let mut last: Option<(Color, usize)> = None;
    let mut place_of = |pixel: &tiny_skia::PremultipliedColorU8| -> Option<usize> {
        if pixel.alpha() < 255 {
            return None;
        }
        let color = Color { red: pixel.red(), green: pixel.green(), blue: pixel.blue() };
        if let Some((_, place)) = last.filter(|(known, _)| *known == color) {
            return Some(place);
        }
        let nearest = (0..areas.len())
            .filter(|&place| farthest_channel(areas[place].color, color) <= reach)
            .min_by_key(|&place| square_distance(areas[place].color, color));
        let place = nearest.unwrap_or_else(|| {
            areas.push(empty(color));
            areas.len() - 1
        });
        last = Some((color, place));
        Some(place)
    };
    let places: Vec<Option<usize>> = pixmap.pixels().iter().map(&mut place_of).collect();
    let pixel_mm2 = f64::from(PIXELS_PER_MM).powi(-2);
    for y in 0..height {
        for x in 0..width {
            let Some(place) = places[y * width + x] else { continue };
            let neighbors =
                [(x.wrapping_sub(1), y), (x + 1, y), (x, y.wrapping_sub(1)), (x, y + 1)];
            let is_edge = neighbors
                .into_iter()
                .any(|(x, y)| x >= width || y >= height || places[y * width + x] != Some(place));
            areas[place].raster_mm2 += pixel_mm2;
            areas[place].edge_mm2 += if is_edge { pixel_mm2 } else { 0.0 };
        }
    }
    areas.sort_by_key(|area| area.color);
    areas
}

fn differences(a: Color, b: Color) -> [u8; 3] {
    [a.red.abs_diff(b.red), a.green.abs_diff(b.green), a.blue.abs_diff(b.blue)]
}

fn farthest_channel(a: Color, b: Color) -> u8 {
    differences(a, b).into_iter().max().unwrap_or(0)
}

fn square_distance(a: Color, b: Color) -> u32 {
    differences(a, b).into_iter().map(|step| u32::from(step).pow(2)).sum()
}

/// Renders a picture without antialiasing, so that every pixel has one color: that at its center.
fn render(svg: &str, font: &[u8], scale: impl Fn(usvg::Size) -> f32) -> tiny_skia::Pixmap {
    let mut fonts = usvg::fontdb::Database::new();
    fonts.load_font_data(font.to_vec());
    let options = usvg::Options {
        shape_rendering: usvg::ShapeRendering::CrispEdges,
        text_rendering: usvg::TextRendering::OptimizeSpeed,
        fontdb: Arc::new(fonts),
        ..usvg::Options::default()
    };
    let tree = usvg::Tree::from_str(svg, &options).expect("the fixture is readable");
    let size = tree.size();
    let scale = scale(size);
    let n_pixels = |units: f32| (units * scale).round() as u32;
    let mut pixmap = tiny_skia::Pixmap::new(n_pixels(size.width()), n_pixels(size.height()))
        .expect("the fixture has an area");
    resvg::render(&tree, tiny_skia::Transform::from_scale(scale, scale), &mut pixmap.as_mut());
    pixmap
}
