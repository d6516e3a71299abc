use crate::arithmetic::continuous;

/// A density, held in grams per milliliter (the same number as g/cm³).
#[derive(Clone, Copy, Debug, Default, PartialEq, PartialOrd)]
pub struct Density(f64);

continuous!(Density);

impl Density {
    /// Creates a density from grams per milliliter.
    pub const fn g_per_ml(g_per_ml: f64) -> Self {
        Self(g_per_ml)
    }

    /// Reads the density in grams per milliliter.
    pub const fn to_g_per_ml(self) -> f64 {
        self.0
    }
}
