//! Which pixels does this file hold, the right way up?
//!
//! PNG, JPEG and WebP, told apart by their first bytes.
//! The size is read from the header and refused before any pixel is decoded; the orientation a camera notes in EXIF is
//! applied, all else it notes (place, time, maker) is not looked at.

use std::io::Cursor;

use image::{DynamicImage, ImageDecoder, ImageFormat, ImageReader, Limits, RgbaImage};

use crate::error::Error;

/// Widest and highest picture taken in, in pixels: the largest sensors of phones stay below.
const MOST_SIDE: u32 = 12_000;

/// Most pixels of a picture: a page of Letter scanned at 600 dpi has 34 million.
const MOST_PIXELS: u64 = 40_000_000;

/// Most bytes of decoded pixels, as the decoder hands them over.
const MOST_BYTES: u64 = 160 << 20;

/// What a decoder may hold for itself beside the pixels.
const DECODER_BYTES: u64 = 64 << 20;

/// Most bytes of a file.
const MOST_FILE_BYTES: usize = 20 << 20;

/// Pixels row by row, eight bits a channel, with straight (not premultiplied) opacity.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct Pixels {
    pub(crate) width: usize,
    pub(crate) height: usize,
    /// Red, green, blue, opacity.
    pub(crate) rgba: Vec<[u8; 4]>,
}

impl Pixels {
    /// Returns a pixel; those beyond an edge repeat it.
    pub(crate) fn at(&self, x: isize, y: isize) -> [u8; 4] {
        let x = x.clamp(0, self.width as isize - 1) as usize;
        let y = y.clamp(0, self.height as isize - 1) as usize;
        self.rgba.get(y * self.width + x).copied().unwrap_or_default()
    }

    /// Paints a round dot.
    pub(crate) fn dot(&mut self, [x, y]: [f64; 2], radius: f64, color: [u8; 4]) {
        // Casts from a float keep within the range of the integer.
        let span = |middle: f64, n: usize| {
            ((middle - radius) as usize).min(n)..((middle + radius + 1.0) as usize).min(n)
        };
        for row in span(y, self.height) {
            for column in span(x, self.width) {
                let off = (column as f64 + 0.5 - x).hypot(row as f64 + 0.5 - y);
                if off <= radius
                    && let Some(pixel) = self.rgba.get_mut(row * self.width + column)
                {
                    *pixel = color;
                }
            }
        }
    }
}

/// Returns the usual ending of a file that begins like this, if it is a picture of pixels that can be read.
pub(crate) fn file_ending(bytes: &[u8]) -> Option<&'static str> {
    format(bytes)?.extensions_str().first().copied()
}

fn format(bytes: &[u8]) -> Option<ImageFormat> {
    if bytes.starts_with(b"\x89PNG\r\n\x1a\n") {
        Some(ImageFormat::Png)
    } else if bytes.starts_with(&[0xff, 0xd8, 0xff]) {
        Some(ImageFormat::Jpeg)
    } else if bytes.starts_with(b"RIFF") && bytes.get(8..12) == Some(b"WEBP") {
        Some(ImageFormat::WebP)
    } else {
        None
    }
}

/// Returns how many pixels a picture says it has, if it is one.
pub(crate) fn n_pixels(bytes: &[u8]) -> Option<u64> {
    let reader = ImageReader::with_format(Cursor::new(bytes), format(bytes)?);
    let (width, height) = reader.into_dimensions().ok()?;
    Some(u64::from(width) * u64::from(height))
}

/// Decodes a picture, upright; one of more than `most_pixels` is averaged down.
///
/// Returns the side of the squares that became one pixel too.
pub(crate) fn decode(bytes: &[u8], most_pixels: usize) -> Result<(Pixels, usize), Error> {
    if bytes.is_empty() {
        return Err(Error::Empty);
    }
    if bytes.len() > MOST_FILE_BYTES {
        return Err(Error::TooLarge { n_bytes: bytes.len(), limit: MOST_FILE_BYTES });
    }
    let format = format(bytes).ok_or(Error::NotPicture)?;
    let broken = |error: image::ImageError| Error::BrokenPicture { reason: error.to_string() };
    let reader = ImageReader::with_format(Cursor::new(bytes), format);
    let mut decoder = reader.into_decoder().map_err(broken)?;
    let (width, height) = decoder.dimensions();
    let n_pixels = u64::from(width) * u64::from(height);
    if width > MOST_SIDE
        || height > MOST_SIDE
        || n_pixels > MOST_PIXELS
        || decoder.total_bytes() > MOST_BYTES
    {
        return Err(Error::PictureTooLarge { width, height, most_pixels: MOST_PIXELS });
    }
    if n_pixels == 0 {
        return Err(Error::NoArea);
    }
    let mut limits = Limits::no_limits();
    limits.max_alloc = Some(DECODER_BYTES);
    decoder.set_limits(limits).map_err(broken)?;
    let orientation = decoder.orientation().map_err(broken)?;
    let mut picture = DynamicImage::from_decoder(decoder).map_err(broken)?;
    let side = side(width as usize, height as usize, most_pixels);
    if side > 1 {
        // Row by row, so that the whole is never held a second time.
        let (rows, n) = (height / side as u32, side as u32);
        let averaged = (0..rows).flat_map(|row| {
            let strip = picture.crop_imm(0, row * n, width, n).into_rgba8();
            averaged_row(strip.as_raw().as_chunks::<4>().0, width as usize, side)
        });
        let bytes: Vec<u8> = averaged.flatten().collect();
        let small = RgbaImage::from_raw(width / n, rows, bytes);
        picture = DynamicImage::ImageRgba8(small.unwrap_or_default());
    }
    picture.apply_orientation(orientation);
    let picture = picture.into_rgba8();
    let (width, height) = (picture.width() as usize, picture.height() as usize);
    let (rgba, _) = picture.as_raw().as_chunks::<4>();
    Ok((Pixels { width, height, rgba: rgba.to_vec() }, side))
}

/// Averages squares of pixels until no more than `most_pixels` are left; returns the side of the squares too.
pub(crate) fn shrink(pixels: &Pixels, most_pixels: usize) -> (Pixels, usize) {
    let side = side(pixels.width, pixels.height, most_pixels);
    if side == 1 {
        return (pixels.clone(), 1);
    }
    let strips = pixels.rgba.chunks_exact((pixels.width * side).max(1));
    let rgba = strips.flat_map(|strip| averaged_row(strip, pixels.width, side)).collect();
    (Pixels { width: pixels.width / side, height: pixels.height / side, rgba }, side)
}

/// Returns the side of the squares to average so that no more than `most_pixels` are left.
fn side(width: usize, height: usize, most_pixels: usize) -> usize {
    let shorter = width.min(height).max(1);
    (1..=shorter).find(|side| (width / side) * (height / side) <= most_pixels).unwrap_or(shorter)
}

/// Averages a strip of `side` rows into one row.
///
/// Colors are weighted with their opacity, so that what is clear lends no color.
fn averaged_row(strip: &[[u8; 4]], width: usize, side: usize) -> Vec<[u8; 4]> {
    let n = (side * side) as u32;
    let averaged = (0..width / side).map(|x| {
        let mut sum = [0_u32; 4];
        for row in strip.chunks_exact(width.max(1)) {
            for pixel in row.get(x * side..(x + 1) * side).unwrap_or_default() {
                let [red, green, blue, alpha] = pixel.map(u32::from);
                for (sum, part) in
                    sum.iter_mut().zip([red * alpha, green * alpha, blue * alpha, alpha])
                {
                    *sum += part;
                }
            }
        }
        let [red, green, blue, alpha] = sum;
        let weight = alpha.max(1);
        let mean = |sum: u32| ((sum + weight / 2) / weight).min(255) as u8;
        [mean(red), mean(green), mean(blue), ((alpha + n / 2) / n) as u8]
    });
    averaged.collect()
}

#[cfg(test)]
mod tests {
    use image::{ExtendedColorType, ImageEncoder, codecs};

    use super::*;

    fn png(width: u32, height: u32, rgba: &[u8]) -> Vec<u8> {
        let mut bytes = Vec::new();
        codecs::png::PngEncoder::new(&mut bytes)
            .write_image(rgba, width, height, ExtendedColorType::Rgba8)
            .expect("memory takes every byte");
        bytes
    }

    #[test]
    fn a_png_keeps_its_colors_and_its_opacity() {
        let rgba = [200, 30, 60, 255, 1, 2, 3, 128];
        let (pixels, _) = decode(&png(2, 1, &rgba), 100).expect("the picture is whole");
        assert_eq!((pixels.width, pixels.height), (2, 1));
        assert_eq!(pixels.rgba, [[200, 30, 60, 255], [1, 2, 3, 128]]);
        assert_eq!(pixels.at(-3, 7), [200, 30, 60, 255]);
    }

    #[test]
    fn a_photograph_noted_as_turned_is_turned_back() {
        // EXIF (CIPA DC-008): big-endian TIFF, one entry, tag 0x0112 orientation, type 3 short, value 6:
        // the first row of the file is the right-hand side of the scene.
        let exif = b"MM\0\x2a\0\0\0\x08\0\x01\x01\x12\0\x03\0\0\0\x01\0\x06\0\0\0\0\0\0";
        let mut bytes = Vec::new();
        let mut encoder = codecs::jpeg::JpegEncoder::new_with_quality(&mut bytes, 100);
        encoder.set_exif_metadata(exif.to_vec()).expect("the format holds EXIF");
        let mut rgb = vec![255_u8; 16 * 8 * 3];
        for row in rgb.chunks_mut(16 * 3) {
            row[..8 * 3].fill(0);
        }
        encoder.write_image(&rgb, 16, 8, ExtendedColorType::Rgb8).expect("memory takes every byte");
        let (pixels, _) = decode(&bytes, 1000).expect("the picture is whole");
        assert_eq!((pixels.width, pixels.height), (8, 16));
        assert!(pixels.at(4, 1)[0] < 16 && pixels.at(4, 14)[0] > 240, "left becomes top");
    }

    #[test]
    fn a_large_picture_is_averaged_and_clear_pixels_lend_no_color() {
        let pixels = Pixels {
            width: 2,
            height: 2,
            rgba: vec![[100, 0, 0, 255], [0, 255, 0, 0], [50, 0, 0, 255], [0, 255, 0, 0]],
        };
        let (shrunk, side) = shrink(&pixels, 1);
        assert_eq!(side, 2);
        assert_eq!(shrunk.rgba, [[75, 0, 0, 128]]);
        let file = png(2, 2, pixels.rgba.as_flattened());
        assert_eq!(decode(&file, 1), Ok((shrunk, 2)));
    }
}
