//! From a picture in millimeters to pixels.

use std::sync::Arc;

use png::{BitDepth, ColorType, Encoder, EncodingError, PixelDimensions, Unit};
use resvg::{
    tiny_skia::{Pixmap, Transform},
    usvg::{ImageHrefResolver, Options, Tree, fontdb::Database},
};

use crate::Error;

/// Millimeters in one SVG user unit of a document sized in millimeters: 96 units an inch (CSS Values and Units 3, section 6.2).
const MM_PER_UNIT: f64 = 25.4 / 96.0;

/// Most pixels of one picture: 256 MB in memory, an A3 sheet at 300 pixels an inch is a quarter of it.
const MOST_PIXELS: u64 = 64 << 20;

/// Turns an SVG into a PNG of `px_per_mm` pixels a millimeter, its text set in `fonts` (bytes of TrueType or OpenType files).
///
/// References to anything outside of the SVG are not followed.
///
/// # Errors
/// The text is no SVG, or the picture would be too large.
pub fn to_png(svg: &str, px_per_mm: f64, fonts: &[&[u8]]) -> Result<Vec<u8>, Error> {
    if !(px_per_mm.is_finite() && px_per_mm > 0.0) {
        return Err(Error::Resolution { px_per_mm });
    }
    let mut database = Database::new();
    for font in fonts {
        database.load_font_data(font.to_vec());
    }
    let options = Options {
        fontdb: Arc::new(database),
        image_href_resolver: ImageHrefResolver {
            resolve_data: Box::new(|_, _, _| None),
            resolve_string: Box::new(|_, _| None),
        },
        ..Options::default()
    };
    let tree =
        Tree::from_str(svg, &options).map_err(|error| Error::Svg { reason: error.to_string() })?;

    let scale = px_per_mm * MM_PER_UNIT;
    // A cast from float saturates, so that an absurd size is refused below.
    let pixels = |units: f32| ((f64::from(units) * scale).round() as u64).max(1);
    let (width_px, height_px) = (pixels(tree.size().width()), pixels(tree.size().height()));
    let too_large = || Error::TooLarge { width_px, height_px, most_px: MOST_PIXELS };
    if width_px.saturating_mul(height_px) > MOST_PIXELS {
        return Err(too_large());
    }
    let side = |px: u64| u32::try_from(px).map_err(|_| too_large());
    let mut pixmap = Pixmap::new(side(width_px)?, side(height_px)?).ok_or_else(too_large)?;
    resvg::render(&tree, Transform::from_scale(scale as f32, scale as f32), &mut pixmap.as_mut());
    encoded(&pixmap, px_per_mm).map_err(|error| Error::Png { reason: error.to_string() })
}

/// Writes pixels with how many of them a meter has, so that the picture is printed at true size.
fn encoded(pixmap: &Pixmap, px_per_mm: f64) -> Result<Vec<u8>, EncodingError> {
    let per_meter = (px_per_mm * 1000.0).round() as u32;
    let rgba: Vec<u8> = pixmap
        .pixels()
        .iter()
        .map(|pixel| pixel.demultiply())
        .flat_map(|color| [color.red(), color.green(), color.blue(), color.alpha()])
        .collect();
    let mut bytes = Vec::new();
    let mut encoder = Encoder::new(&mut bytes, pixmap.width(), pixmap.height());
    encoder.set_color(ColorType::Rgba);
    encoder.set_depth(BitDepth::Eight);
    encoder.set_pixel_dims(Some(PixelDimensions {
        xppu: per_meter,
        yppu: per_meter,
        unit: Unit::Meter,
    }));
    encoder.write_header()?.write_image_data(&rgba)?;
    Ok(bytes)
}
