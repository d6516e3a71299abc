//! What color has a thick film with this much dye in it?
//!
//! A film that scatters (S) and absorbs (K) light, thick enough to hide what lies under it, throws back
//! R = 1 + q - √(q² + 2q) with q = K/S in each band, and q of a mixture is the sum of the q of its parts, each by its
//! share (P. Kubelka and F. Munk, 1931; two-constant theory with the scattering of the white medium alone, as E. Allen
//! in F. Grum and C. J. Bartleson, Optical Radiation Measurements 2, 1980, chapter 7).
//!
//! At the surface a part k₁ is thrown back before it enters, and a part k₂ of what comes from inside is thrown back in
//! (J. L. Saunderson, 1942): seen = k₁ + (1 - k₁)(1 - k₂) R / (1 - k₂ R).
//!
//! Range of validity: films that hide what is under them; sugar icing does from about 4 mm on, and a thin pale coat
//! over a brown ground looks darker and yellower than here.
//!
//! # Worked example
//! Half of a film's light is thrown back at q = 0.25: 1 + 0.25 - √(0.0625 + 0.5) = 0.5.
//! ```
//! use tint::film::{absorption, thrown_back};
//!
//! assert_eq!(thrown_back(0.25), 0.5);
//! assert_eq!(absorption(0.1), 4.05);
//! ```

use crate::{Shade, spectrum::Spectrum};

/// Returns the share of light a film throws back inside, from q = K/S.
pub fn thrown_back(q: f64) -> f64 {
    // The same as 1 + q - √(q² + 2q), without losing digits where q is large.
    1.0 / (1.0 + q + (q * (q + 2.0)).sqrt())
}

/// Returns q = K/S of a film that throws this share of light back inside: (1 - R)² / 2R.
pub fn absorption(thrown_back: f64) -> f64 {
    (1.0 - thrown_back) * (1.0 - thrown_back) / (2.0 * thrown_back)
}

/// What the surface of a film does to light that enters and leaves.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Surface {
    /// Share of light thrown back before it enters, k₁.
    pub outside: f64,
    /// Share of light from inside that is thrown back in, k₂.
    pub inside: f64,
}

/// The surface of dried sugar icing: k₁ sets how dark black can be; k₂ cannot be told from the strength of dyes.
///
/// Both are chosen, not measured (common practice, no source).
pub const ICING: Surface = Surface { outside: 0.015, inside: 0.40 };

impl Surface {
    /// Returns the share of light seen, from the share thrown back inside.
    pub fn seen(self, thrown_back: f64) -> f64 {
        let Self { outside, inside } = self;
        outside + (1.0 - outside) * (1.0 - inside) * thrown_back / (1.0 - inside * thrown_back)
    }

    /// Returns how the share seen changes with the share thrown back inside.
    pub(crate) fn slope(self, thrown_back: f64) -> f64 {
        let Self { outside, inside } = self;
        let below = 1.0 - inside * thrown_back;
        (1.0 - outside) * (1.0 - inside) / (below * below)
    }
}

/// Returns the reflectance one sees of a film of icing with these q.
pub fn reflectance(q: &Spectrum) -> Spectrum {
    q.map(|q| ICING.seen(thrown_back(q)))
}

/// Returns how a film of icing with these q looks.
pub fn shade(q: &Spectrum) -> Shade {
    reflectance(q).shade()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_function_of_kubelka_and_munk_has_its_values() {
        // Exact by the formula; R at q = 1 is 2 - √3.
        for (thrown, q) in [(0.5, 0.25), (0.1, 4.05), (0.05, 9.025), (2.0 - 3.0_f64.sqrt(), 1.0)] {
            assert!((absorption(thrown) - q).abs() < 1e-12, "{thrown}");
            assert!((thrown_back(q) - thrown).abs() < 1e-13, "{q}");
        }
        assert_eq!(thrown_back(0.0), 1.0);
        assert!(thrown_back(1e12) > 0.0);
    }

    #[test]
    fn the_surface_corrects_as_saunderson_has_it() {
        // 0.04 + 0.96 · 0.4 · 0.5 / (1 - 0.6 · 0.5).
        let paint = Surface { outside: 0.04, inside: 0.6 };
        assert!((paint.seen(0.5) - (0.04 + 0.192 / 0.7)).abs() < 1e-12);
        assert!((paint.seen(1.0) - 1.0).abs() < 1e-12);
        let slope = (paint.seen(0.5 + 1e-6) - paint.seen(0.5 - 1e-6)) / 2e-6;
        assert!((paint.slope(0.5) - slope).abs() < 1e-6);
    }

    #[test]
    fn two_dyes_half_and_half_mix_by_their_absorption() {
        // Worked by hand: a base of R = 0.85 that dye A alone brings to 0.30 and dye B alone to 0.40.
        let base = absorption(0.85);
        let (a, b) = (absorption(0.30) - base, absorption(0.40) - base);
        let mixed = thrown_back(base + 0.5 * a + 0.5 * b);
        assert!((mixed - 0.341_908_6).abs() < 1e-7, "{mixed}");
    }
}
