/// A part of a whole, 0 to 1: a loss, a reserve, a spread.
#[derive(Clone, Copy, Debug, Default, PartialEq, PartialOrd)]
pub struct Share(f64);

impl Share {
    /// Nothing of the whole.
    pub const ZERO: Self = Self(0.0);

    /// Creates a share from a fraction of one.
    pub const fn of_one(fraction: f64) -> Self {
        Self(fraction)
    }

    /// Creates a share from a percentage.
    pub const fn percent(percent: f64) -> Self {
        Self(percent / 100.0)
    }

    /// Reads the share as a fraction of one.
    pub const fn to_one(self) -> f64 {
        self.0
    }

    /// Reads the share in percent.
    pub const fn to_percent(self) -> f64 {
        self.0 * 100.0
    }

    /// Returns what is left of one, never below zero.
    pub fn rest(self) -> Self {
        Self((1.0 - self.0).max(0.0))
    }
}
