//! The area of each color by counting the pixels of an independent renderer.

use std::{collections::BTreeMap, sync::Arc};

use drawing::{Color, Drawing};
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
    let pixmap = render(svg, font);
    let (width, height) = (pixmap.width() as usize, pixmap.height() as usize);
    let color_at = |x: usize, y: usize| {
        let pixel = pixmap.pixels().get(y * width + x).filter(|pixel| pixel.alpha() == 255)?;
        Some(Color { red: pixel.red(), green: pixel.green(), blue: pixel.blue() })
    };
    let mut areas: BTreeMap<Color, ColorArea> = BTreeMap::new();
    let empty = |color| ColorArea { color, drawing_mm2: 0.0, raster_mm2: 0.0, edge_mm2: 0.0 };
    let pixel_mm2 = f64::from(PIXELS_PER_MM).powi(-2);
    for y in 0..height {
        for x in 0..width {
            let Some(color) = color_at(x, y) else { continue };
            let neighbors =
                [(x.wrapping_sub(1), y), (x + 1, y), (x, y.wrapping_sub(1)), (x, y + 1)];
            let is_edge = neighbors
                .into_iter()
                .any(|(x, y)| x >= width || y >= height || color_at(x, y) != Some(color));
            let area = areas.entry(color).or_insert_with(|| empty(color));
            area.raster_mm2 += pixel_mm2;
            area.edge_mm2 += if is_edge { pixel_mm2 } else { 0.0 };
        }
    }
    for shape in &drawing.shapes {
        let area = areas.entry(shape.color).or_insert_with(|| empty(shape.color));
        area.drawing_mm2 += shape.visible.area().to_mm2();
    }
    areas.into_values().collect()
}

/// Renders a picture without antialiasing, so that every pixel has one color: that at its center.
fn render(svg: &str, font: &[u8]) -> tiny_skia::Pixmap {
    let mut fonts = usvg::fontdb::Database::new();
    fonts.load_font_data(font.to_vec());
    let options = usvg::Options {
        shape_rendering: usvg::ShapeRendering::CrispEdges,
        text_rendering: usvg::TextRendering::OptimizeSpeed,
        fontdb: Arc::new(fonts),
        ..usvg::Options::default()
    };
    let tree = usvg::Tree::from_str(svg, &options).expect("the fixture is readable");
    let scale = PIXELS_PER_MM / CSS_PIXELS_PER_MM;
    let n_pixels = |units: f32| (units * scale).round() as u32;
    let size = tree.size();
    let mut pixmap = tiny_skia::Pixmap::new(n_pixels(size.width()), n_pixels(size.height()))
        .expect("the fixture has an area");
    resvg::render(&tree, tiny_skia::Transform::from_scale(scale, scale), &mut pixmap.as_mut());
    pixmap
}
