use crate::{Density, Mass, arithmetic::continuous};

/// A volume, held in milliliters (cubic centimeters).
#[derive(Clone, Copy, Debug, Default, PartialEq, PartialOrd)]
pub struct Volume(f64);

continuous!(Volume);

/// Milliliters in a US customary cup: half a pint of 28.875 cubic inches (NIST Handbook 44, Appendix C).
const ML_PER_CUP: f64 = 236.588_236_5;

impl Volume {
    /// Creates a volume from milliliters.
    pub const fn ml(ml: f64) -> Self {
        Self(ml)
    }

    /// Creates a volume from US customary cups.
    pub const fn cups(cups: f64) -> Self {
        Self(cups * ML_PER_CUP)
    }

    /// Creates a volume from US tablespoons, 16 to the cup.
    pub const fn tablespoons(tablespoons: f64) -> Self {
        Self(tablespoons * ML_PER_CUP / 16.0)
    }

    /// Creates a volume from US teaspoons, 48 to the cup.
    pub const fn teaspoons(teaspoons: f64) -> Self {
        Self(teaspoons * ML_PER_CUP / 48.0)
    }

    /// Reads the volume in milliliters.
    pub const fn to_ml(self) -> f64 {
        self.0
    }

    /// Reads the volume in US customary cups.
    pub const fn to_cups(self) -> f64 {
        self.0 / ML_PER_CUP
    }
}

impl std::ops::Mul<Density> for Volume {
    type Output = Mass;
    fn mul(self, density: Density) -> Mass {
        Mass::g(self.0 * density.to_g_per_ml())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn kitchen_spoons_follow_the_cup() {
        // NIST Handbook 44, Appendix C: 1 tablespoon = 14.787 mL, 1 teaspoon = 4.929 mL.
        assert!((Volume::tablespoons(1.0).to_ml() - 14.787).abs() < 0.0005);
        assert!((Volume::teaspoons(1.0).to_ml() - 4.929).abs() < 0.0005);
        assert_eq!(Volume::cups(2.0).to_cups(), 2.0);
    }
}
