//! What color has this light?
//!
//! Light is held in 36 bands of 10 nm from 380 to 730 nm.
//! The color of a surface with the reflectance R under daylight D65, seen by the 2° observer of 1931, is
//! XYZ = Σ R(λ) · w(λ), the weights w summing to the color of a surface that throws everything back.
//!
//! Weights: by the practice of ASTM E2022 from the tables of CIE 15, what lies beyond the ends added to the end bands.
//! They differ from sums in steps of 1 nm by less than 0.05 (CIEDE2000) on the reflectances of paints and dyes.
//!
//! # Worked example
//! A surface that throws a fifth of every band back is gray: L* = 116 · 0.2^(1/3) - 16 = 51.84 (CIE 15, 8.2.1.1).
//! ```
//! use tint::spectrum::Spectrum;
//!
//! let gray = Spectrum::from_fn(|_| 0.2).shade();
//! assert!((gray.lightness() - 51.84).abs() < 0.01);
//! assert!(gray.chroma() < 0.01);
//! ```

use std::sync::LazyLock;

use ::palette::{IntoColor, Xyz, white_point::D65};

use crate::Shade;

/// Number of bands.
pub const N_BANDS: usize = 36;

/// Middle of the first band, in nanometers.
const FIRST_NM: f64 = 380.0;

/// Way from one band to the next, in nanometers.
const STEP_NM: f64 = 10.0;

/// One number for each band, from 380 to 730 nm.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Spectrum([f64; N_BANDS]);

/// X, Y and Z a band adds when all of it is thrown back, white having Y = 100.
static WEIGHTS: LazyLock<[[f64; 3]; N_BANDS]> = LazyLock::new(|| {
    let mut weights = [[0.0; 3]; N_BANDS];
    let rows = include_str!("../data/observer_d65.csv").lines().skip(1);
    for (slot, row) in weights.iter_mut().zip(rows) {
        let numbers = row.split(',').skip(1).map(|number| number.parse().unwrap_or(f64::NAN));
        for (slot, number) in slot.iter_mut().zip(numbers) {
            *slot = number;
        }
    }
    weights
});

impl Spectrum {
    /// Makes a spectrum from its value at each wavelength in nanometers.
    pub fn from_fn(value: impl Fn(f64) -> f64) -> Self {
        Self(std::array::from_fn(|band| value(FIRST_NM + STEP_NM * band as f64)))
    }

    /// Returns the values of all bands.
    pub fn bands(&self) -> &[f64; N_BANDS] {
        &self.0
    }

    /// Changes every band.
    pub fn map(&self, change: impl Fn(f64) -> f64) -> Self {
        Self(self.0.map(change))
    }

    /// Adds another spectrum, times a factor.
    pub fn plus(&self, other: &Self, factor: f64) -> Self {
        let mut sum = *self;
        for (sum, other) in sum.0.iter_mut().zip(other.0) {
            *sum += factor * other;
        }
        sum
    }

    /// Multiplies by another spectrum, band by band.
    pub fn times(&self, other: &Self) -> Self {
        let mut product = *self;
        for (value, other) in product.0.iter_mut().zip(other.0) {
            *value *= other;
        }
        product
    }

    /// Changes every band by that of another spectrum.
    pub(crate) fn combine(&mut self, other: &Self, change: impl Fn(f64, f64) -> f64) {
        for (value, other) in self.0.iter_mut().zip(other.0) {
            *value = change(*value, other);
        }
    }

    /// Returns the largest value.
    pub fn peak(&self) -> f64 {
        self.0.iter().copied().fold(0.0, f64::max)
    }

    /// Returns the spectrum moved toward longer wavelengths by so many nanometers; its ends go on as they are.
    pub fn shifted(&self, nm: f64) -> Self {
        let value = |place: f64| {
            let place = place.clamp(0.0, (N_BANDS - 1) as f64);
            let below = (place as usize).min(N_BANDS - 2);
            let share = place - below as f64;
            let [low, high] =
                [below, below + 1].map(|at| self.0.get(at).copied().unwrap_or_default());
            (1.0 - share) * low + share * high
        };
        Self(std::array::from_fn(|band| value(band as f64 - nm / STEP_NM)))
    }

    /// Returns X, Y and Z of a surface with this reflectance, white having Y = 100.
    pub(crate) fn xyz(&self) -> [f64; 3] {
        let mut sums = [0.0; 3];
        for (value, weights) in self.0.iter().zip(WEIGHTS.iter()) {
            for (sum, weight) in sums.iter_mut().zip(weights) {
                *sum += value * weight;
            }
        }
        sums
    }

    /// Returns how a surface with this reflectance looks.
    pub fn shade(&self) -> Shade {
        let [x, y, z] = self.xyz().map(|value| value / 100.0);
        Shade(Xyz::<D65, f64>::new(x, y, z).into_color())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_weights_add_up_to_the_white_of_daylight() {
        // CIE 15, D65 and the 2 degree observer: 95.047, 100, 108.883.
        let white = Spectrum::from_fn(|_| 1.0).xyz();
        for (found, expected) in white.into_iter().zip([95.047, 100.0, 108.883]) {
            assert!((found - expected).abs() < 0.001, "{found} {expected}");
        }
    }

    #[test]
    fn a_shifted_band_peaks_where_it_was_shifted_to() {
        let band = Spectrum::from_fn(|nm| (-((nm - 500.0) / 30.0).powi(2)).exp());
        for nm in [-20.0, -4.0, 0.0, 7.0] {
            let moved = band.shifted(nm);
            let weighted: f64 = moved.bands().iter().enumerate().map(|(at, v)| at as f64 * v).sum();
            let center = 380.0 + 10.0 * weighted / moved.bands().iter().sum::<f64>();
            assert!((center - 500.0 - nm).abs() < 0.5, "{nm}: {center}");
        }
    }
}
