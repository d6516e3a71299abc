use crate::{Density, Volume, arithmetic::continuous};

/// A mass, held in grams.
#[derive(Clone, Copy, Debug, Default, PartialEq, PartialOrd)]
pub struct Mass(f64);

continuous!(Mass);

/// Grams in an avoirdupois ounce, exactly a sixteenth of 453.59237 g (NIST Handbook 44, Appendix C).
const G_PER_OUNCE: f64 = 28.349_523_125;

impl Mass {
    /// Creates a mass from grams.
    pub const fn g(g: f64) -> Self {
        Self(g)
    }

    /// Creates a mass from avoirdupois ounces.
    pub const fn ounces(ounces: f64) -> Self {
        Self(ounces * G_PER_OUNCE)
    }

    /// Reads the mass in grams.
    pub const fn to_g(self) -> f64 {
        self.0
    }

    /// Reads the mass in avoirdupois ounces.
    pub const fn to_ounces(self) -> f64 {
        self.0 / G_PER_OUNCE
    }
}

impl std::ops::Div<Density> for Mass {
    type Output = Volume;
    fn div(self, density: Density) -> Volume {
        Volume::ml(self.0 / density.to_g_per_ml())
    }
}

impl std::ops::Div<Volume> for Mass {
    type Output = Density;
    fn div(self, volume: Volume) -> Density {
        Density::g_per_ml(self.0 / volume.to_ml())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn sixteen_ounces_are_a_pound() {
        assert!((Mass::ounces(16.0).to_g() - 453.592_37).abs() < 1e-9);
        assert_eq!(Mass::g(1.4) / Density::g_per_ml(1.4), Volume::ml(1.0));
    }
}
