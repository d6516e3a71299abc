//! The arithmetic all continuous quantities share.

/// Gives a newtype over `f64` the operations that make sense for any continuous quantity:
/// sums, differences, scaling by a number, the ratio of two of a kind, comparing and rounding.
macro_rules! continuous {
    ($name:ident) => {
        impl $name {
            /// The zero of this quantity.
            pub const ZERO: Self = Self(0.0);

            /// Returns the larger of two; a value that is not a number loses.
            pub fn max(self, other: Self) -> Self {
                Self(self.0.max(other.0))
            }

            /// Returns the smaller of two; a value that is not a number loses.
            pub fn min(self, other: Self) -> Self {
                Self(self.0.min(other.0))
            }

            /// Rounds to the nearest multiple of `step`, halves away from zero; a step of zero or less leaves the value.
            pub fn round_to(self, step: Self) -> Self {
                if step.0 > 0.0 { Self((self.0 / step.0).round() * step.0) } else { self }
            }

            /// Rounds up to a multiple of `step`; a step of zero or less leaves the value.
            ///
            /// A value within a billionth of a step above a multiple counts as that multiple, so that noise costs no step.
            pub fn round_up_to(self, step: Self) -> Self {
                if step.0 > 0.0 { Self((self.0 / step.0 - 1e-9).ceil() * step.0) } else { self }
            }

            /// Tells whether the value is neither infinite nor "not a number".
            pub fn is_finite(self) -> bool {
                self.0.is_finite()
            }
        }

        impl std::ops::Add for $name {
            type Output = Self;
            fn add(self, other: Self) -> Self {
                Self(self.0 + other.0)
            }
        }

        impl std::ops::AddAssign for $name {
            fn add_assign(&mut self, other: Self) {
                self.0 += other.0;
            }
        }

        impl std::ops::Sub for $name {
            type Output = Self;
            fn sub(self, other: Self) -> Self {
                Self(self.0 - other.0)
            }
        }

        impl std::ops::Mul<f64> for $name {
            type Output = Self;
            fn mul(self, factor: f64) -> Self {
                Self(self.0 * factor)
            }
        }

        impl std::ops::Div<f64> for $name {
            type Output = Self;
            fn div(self, divisor: f64) -> Self {
                Self(self.0 / divisor)
            }
        }

        impl std::ops::Div for $name {
            type Output = f64;
            fn div(self, other: Self) -> f64 {
                self.0 / other.0
            }
        }

        impl std::iter::Sum for $name {
            fn sum<I: Iterator<Item = Self>>(values: I) -> Self {
                values.fold(Self::ZERO, |sum, value| sum + value)
            }
        }
    };
}

pub(crate) use continuous;
