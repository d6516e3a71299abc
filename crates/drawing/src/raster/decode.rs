//! Which pixels does this file hold, the right way up?
//!
//! PNG, JPEG and WebP, told apart by their first bytes.
//! The size is read from the header and refused before any pixel is decoded; the orientation a camera notes in EXIF is
//! applied, all else it notes (place, time, maker) is not looked at.

use std::io::Cursor;

use image::{DynamicImage, ImageDecoder, ImageFormat, ImageReader, Limits};

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
}

/// Tells whether these bytes begin like a picture of pixels that can be read.
pub(crate) fn is_raster(bytes: &[u8]) -> bool {
    format(bytes).is_some()
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

/// Decodes a picture, upright.
pub(crate) fn decode(bytes: &[u8]) -> Result<Pixels, Error> {
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
    picture.apply_orientation(orientation);
    let picture = picture.into_rgba8();
    let (width, height) = (picture.width() as usize, picture.height() as usize);
    let (rgba, _) = picture.as_raw().as_chunks::<4>();
    Ok(Pixels { width, height, rgba: rgba.to_vec() })
}

/// Averages squares of pixels until no more than `most_pixels` are left; returns the side of the squares too.
///
/// Colors are weighted with their opacity, so that what is clear lends no color.
pub(crate) fn shrink(pixels: Pixels, most_pixels: usize) -> (Pixels, usize) {
    let mut side = 1;
    while (pixels.width / side) * (pixels.height / side) > most_pixels {
        side += 1;
    }
    let (width, height) = (pixels.width / side, pixels.height / side);
    if side == 1 || width == 0 || height == 0 {
        return (pixels, 1);
    }
    let mut rgba = Vec::with_capacity(width * height);
    let n = (side * side) as u32;
    for y in 0..height {
        for x in 0..width {
            let mut sum = [0_u32; 4];
            for row in y * side..(y + 1) * side {
                let from = row * pixels.width + x * side;
                for pixel in pixels.rgba.get(from..from + side).unwrap_or_default() {
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
            rgba.push([mean(red), mean(green), mean(blue), ((alpha + n / 2) / n) as u8]);
        }
    }
    (Pixels { width, height, rgba }, side)
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
        let pixels = decode(&png(2, 1, &rgba)).expect("the picture is whole");
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
        let pixels = decode(&bytes).expect("the picture is whole");
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
        let (shrunk, side) = shrink(pixels, 1);
        assert_eq!(side, 2);
        assert_eq!(shrunk.rgba, [[75, 0, 0, 128]]);
    }
}
