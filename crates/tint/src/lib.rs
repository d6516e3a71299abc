//! Colors as people see them: how far apart two shades look, what one would call them, and which gels give them.
//!
//! [`spectrum`] turns light into a shade, [`film`] dye in a thick white film into light, [`dye`] holds how strongly dyes
//! absorb, [`recipe`] seeks gels and amounts for a shade, [`calibrate`] corrects a gel by samples of it, [`photo`] reads
//! a sample from a photograph, [`deepen`] tells what a color will be tomorrow, [`coat`] how a thin coat looks on a cookie,
//! [`palette`](mod@palette) which shades go together, [`limits`] how much of a dye is allowed.
//!
//! The difference is CIEDE2000 over CIELAB under D65 (CIE 142-2001), by the `palette` crate.
//! A difference below about 2 is taken as one shade: bowls of such colors are one bowl.
#![warn(missing_docs)]

pub mod calibrate;
pub mod coat;
pub mod deepen;
pub mod dye;
pub mod film;
mod least_squares;
pub mod limits;
mod name;
pub mod palette;
pub mod photo;
pub mod recipe;
pub mod spectrum;

use ::palette::{IntoColor, Lab, Lch, Srgb, color_difference::Ciede2000, white_point::D65};

/// A color as the eye compares it: CIELAB under D65.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Shade(pub(crate) Lab<D65, f64>);

/// Colors closer than this (CIEDE2000) pass for one shade on a cookie (common practice, no source).
pub const SAME_SHADE: f64 = 2.0;

impl Shade {
    /// Converts an sRGB color (IEC 61966-2-1) of 8 bits a channel.
    pub fn from_srgb([red, green, blue]: [u8; 3]) -> Self {
        Self(Srgb::new(red, green, blue).into_format::<f64>().into_color())
    }

    /// Creates a shade from CIELAB coordinates.
    pub fn from_lab(l: f64, a: f64, b: f64) -> Self {
        Self(Lab::new(l, a, b))
    }

    /// Lightness L*, 0 black to 100 white.
    pub fn lightness(self) -> f64 {
        self.0.l
    }

    /// Chroma C*, 0 for a gray.
    pub fn chroma(self) -> f64 {
        let lch: Lch<D65, f64> = self.0.into_color();
        lch.chroma
    }

    /// Hue angle in degrees, 0 to 360; of no meaning for a gray.
    pub fn hue(self) -> f64 {
        let lch: Lch<D65, f64> = self.0.into_color();
        lch.hue.into_positive_degrees()
    }

    /// Returns the nearest sRGB color (IEC 61966-2-1), of 8 bits a channel.
    ///
    /// ```
    /// use tint::Shade;
    /// assert_eq!(Shade::from_srgb([200, 30, 60]).to_srgb(), [200, 30, 60]);
    /// ```
    pub fn to_srgb(self) -> [u8; 3] {
        let color: Srgb<f64> = self.0.into_color();
        let [red, green, blue] = [color.red, color.green, color.blue];
        [red, green, blue].map(|channel| (255.0 * channel.clamp(0.0, 1.0)).round() as u8)
    }

    /// Returns how far apart two shades look: CIEDE2000.
    ///
    /// ```
    /// use tint::Shade;
    /// // Black and white are 100 apart by definition.
    /// let difference = Shade::from_srgb([0; 3]).difference(Shade::from_srgb([255; 3]));
    /// assert!((difference - 100.0).abs() < 1e-3);
    /// ```
    pub fn difference(self, other: Self) -> f64 {
        self.0.difference(other.0)
    }

    /// Tells whether two shades pass for one on a cookie; whites do, since icing that is not tinted is all one white.
    pub fn is_same(self, other: Self) -> bool {
        self.difference(other) < SAME_SHADE || (self.is_white() && other.is_white())
    }

    /// Tells whether a shade is hard to mix a second time: deep or strong ones are (common practice, no source).
    pub fn is_hard_to_match(self) -> bool {
        self.lightness() < 40.0 || self.chroma() > 60.0
    }

    /// Tells whether icing of this shade needs no color at all.
    pub fn is_white(self) -> bool {
        self.lightness() > 92.0 && self.chroma() < 6.0
    }

    /// Returns what one would call it in two words at most: "dark blue", "pale yellow", "white".
    pub fn name(self) -> String {
        name::plain_name(self)
    }
}
