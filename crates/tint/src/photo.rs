//! What shade has this sample, by a photograph of it beside plain icing?
//!
//! A camera turns the light of each channel into a number by exposure and white balance, which are the same all over
//! one picture: the ratio of sample to reference in linear RGB is free of them.
//! So shade = reference's own color · sample as pictured / reference as pictured, channel by channel.
//!
//! Range: both lie in the same light, side by side; no channel of the reference is blown out or lost in the dark; the
//! camera writes sRGB and does not beautify.
//! What a dye does within one channel a ratio cannot tell, so strong shades are off by a few units of CIEDE2000.
//!
//! # Worked example
//! Plain icing pictured at half its light: the sample beside it has double the light it was pictured with.
//! ```
//! use tint::{Shade, photo::beside};
//!
//! // Linear light of 188 in sRGB is 0.503, of 138 it is 0.254.
//! let white = Shade::from_srgb([255; 3]);
//! let shade = beside([138; 3], [188; 3], white).unwrap();
//! assert_eq!(shade.to_srgb(), [188; 3]);
//! ```

use ::palette::{FromColor, IntoColor, Lab, LinSrgb, Srgb};
use thiserror::Error;

use crate::{Shade, dye::plain_icing, film::shade};

/// Why a photograph does not tell a shade.
#[derive(Clone, Copy, Debug, Error, PartialEq, Eq)]
pub enum Unreadable {
    /// A channel of the reference has no more room upward.
    #[error("the {0} is blown out in the photograph; take it again, darker or out of the sun")]
    TooBright(Reference),
    /// A channel of the reference is too dark for a ratio.
    #[error("the {0} is too dark in the photograph; take it again by daylight")]
    TooDark(Reference),
}

/// What a sample is compared with.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Reference {
    /// A dish of the same icing without gel.
    PlainIcing,
    /// A sheet of white paper or a white card.
    White,
}

impl std::fmt::Display for Reference {
    fn fmt(&self, formatter: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        formatter.write_str(match self {
            Self::PlainIcing => "plain icing",
            Self::White => "white card",
        })
    }
}

/// What a photograph tells of a sample.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Pictured {
    /// The shade of the sample.
    pub sample: Shade,
    /// How far the plain icing looks from that of the model (CIEDE2000), where a white is beside it.
    ///
    /// Beyond [`PLAIN_ENOUGH`] it is not plain, or the light differs between the two.
    pub plain_is_off: Option<f64>,
}

/// Plain icing of another recipe may look so different from ours (common practice, no source).
pub const PLAIN_ENOUGH: f64 = 8.0;

/// The brightest a channel of a reference may be; above it cameras flatten (common practice, no source).
const BRIGHTEST: u8 = 252;

/// The darkest a channel of a reference may be; below it steps of 8 bits are coarse (common practice, no source).
const DARKEST: u8 = 60;

/// Reads the shade of a sample pictured beside plain icing, and if there is one beside a white card.
pub fn pictured(
    sample: [u8; 3],
    plain: [u8; 3],
    white: Option<[u8; 3]>,
) -> Result<Pictured, Unreadable> {
    let own = shade(&plain_icing());
    let sample =
        beside(sample, plain, own).map_err(|exposure| exposure.of(Reference::PlainIcing))?;
    let plain_by_white = |white| {
        // White paper throws back about nine tenths of the light (common practice, no source); L* = 96.
        let paper = Shade::from_lab(96.0, 0.0, 0.0);
        let seen = beside(plain, white, paper).map_err(|exposure| exposure.of(Reference::White))?;
        Ok(seen.difference(own))
    };
    Ok(Pictured { sample, plain_is_off: white.map(plain_by_white).transpose()? })
}

/// How a reference was exposed wrongly.
#[derive(Clone, Copy, Debug, Error, PartialEq, Eq)]
pub enum Exposure {
    /// A channel has no more room upward.
    #[error("it is blown out")]
    TooBright,
    /// A channel is too dark for a ratio.
    #[error("it is too dark")]
    TooDark,
}

impl Exposure {
    fn of(self, reference: Reference) -> Unreadable {
        match self {
            Self::TooBright => Unreadable::TooBright(reference),
            Self::TooDark => Unreadable::TooDark(reference),
        }
    }
}

/// Returns the shade of what is pictured beside a reference whose shade is known.
pub fn beside(seen: [u8; 3], reference: [u8; 3], own: Shade) -> Result<Shade, Exposure> {
    if reference.iter().any(|&channel| channel > BRIGHTEST) {
        return Err(Exposure::TooBright);
    }
    if reference.iter().any(|&channel| channel < DARKEST) {
        return Err(Exposure::TooDark);
    }
    let linear = |[red, green, blue]: [u8; 3]| {
        let color = Srgb::new(red, green, blue).into_format::<f64>().into_linear();
        [color.red, color.green, color.blue]
    };
    let own = LinSrgb::<f64>::from_color(own.0);
    let own = [own.red, own.green, own.blue];
    let (seen, reference) = (linear(seen), linear(reference));
    let [red, green, blue] =
        [0, 1, 2].map(|channel: usize| own[channel] * seen[channel] / reference[channel]);
    let lab: Lab<palette::white_point::D65, f64> = LinSrgb::new(red, green, blue).into_color();
    Ok(Shade(lab))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Pictures a shade by a camera with these gains of the three channels.
    fn picture(shade: Shade, gains: [f64; 3]) -> [u8; 3] {
        let LinSrgb { red, green, blue, .. } = LinSrgb::<f64>::from_color(shade.0);
        let [r, g, b] = gains;
        let color: Srgb<f64> = Srgb::from_linear(LinSrgb::new(r * red, g * green, b * blue));
        [color.red, color.green, color.blue].map(|channel| (255.0 * channel).round() as u8)
    }

    #[test]
    fn exposure_and_the_color_of_the_light_leave_the_shade() {
        let plain = shade(&plain_icing());
        for color in [[240, 170, 165], [119, 209, 222], [248, 241, 175], [90, 56, 37]] {
            let sample = Shade::from_srgb(color);
            // Dim, lamplight, shade of a blue sky, nearly blown out.
            for gains in [[0.3; 3], [0.95, 0.7, 0.35], [0.5, 0.65, 0.9], [0.97; 3]] {
                let white = picture(Shade::from_lab(96.0, 0.0, 0.0), gains);
                let found = pictured(picture(sample, gains), picture(plain, gains), Some(white))
                    .expect("it is well exposed");
                let off = found.sample.difference(sample);
                assert!(off < 1.0, "{color:?} {gains:?}: {off}");
                assert!(found.plain_is_off.expect("a white is given") < 1.0);
            }
        }
    }

    #[test]
    fn a_reference_that_is_blown_out_or_dark_is_told() {
        let sample = [200, 150, 150];
        assert_eq!(
            pictured(sample, [255, 250, 240], None),
            Err(Unreadable::TooBright(Reference::PlainIcing))
        );
        assert_eq!(
            pictured(sample, [30, 28, 20], None),
            Err(Unreadable::TooDark(Reference::PlainIcing))
        );
        let bright = pictured(sample, [240, 236, 225], Some([255; 3]));
        assert_eq!(bright, Err(Unreadable::TooBright(Reference::White)));
        let message = bright.expect_err("it is blown out").to_string();
        assert!(message.starts_with("the white card is blown out"), "{message}");
    }

    #[test]
    fn icing_that_is_not_plain_shows_beside_a_white() {
        let found = pictured([200, 150, 150], [240, 200, 190], Some([245; 3])).expect("it reads");
        assert!(found.plain_is_off.expect("a white is given") > PLAIN_ENOUGH);
    }
}
