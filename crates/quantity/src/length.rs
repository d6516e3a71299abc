use crate::{Area, Volume, arithmetic::continuous};

/// A length, held in millimeters.
#[derive(Clone, Copy, Debug, Default, PartialEq, PartialOrd)]
pub struct Length(f64);

continuous!(Length);

/// Millimeters in an inch, exactly (international yard and pound agreement, 1959).
const MM_PER_INCH: f64 = 25.4;

impl Length {
    /// Creates a length from millimeters.
    pub const fn mm(mm: f64) -> Self {
        Self(mm)
    }

    /// Creates a length from inches.
    pub const fn inches(inches: f64) -> Self {
        Self(inches * MM_PER_INCH)
    }

    /// Reads the length in millimeters.
    pub const fn to_mm(self) -> f64 {
        self.0
    }

    /// Reads the length in inches.
    pub const fn to_inches(self) -> f64 {
        self.0 / MM_PER_INCH
    }
}

impl std::ops::Mul for Length {
    type Output = Area;
    fn mul(self, other: Self) -> Area {
        Area::mm2(self.0 * other.0)
    }
}

impl std::ops::Mul<Area> for Length {
    type Output = Volume;
    fn mul(self, area: Area) -> Volume {
        area * self
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_quarter_inch_is_6_35_mm() {
        // The usual rolling guide; exact by the definition of the inch.
        assert_eq!(Length::inches(0.25), Length::mm(6.35));
        assert_eq!(Length::mm(25.4).to_inches(), 1.0);
    }

    #[test]
    fn rounding_goes_to_the_nearest_step_and_up() {
        assert_eq!(Length::mm(7.4).round_to(Length::mm(5.0)), Length::mm(5.0));
        assert_eq!(Length::mm(7.5).round_to(Length::mm(5.0)), Length::mm(10.0));
        assert_eq!(Length::mm(5.1).round_up_to(Length::mm(5.0)), Length::mm(10.0));
        assert_eq!(Length::mm(5.0).round_up_to(Length::mm(5.0)), Length::mm(5.0));
        assert_eq!(Length::mm(7.4).round_to(Length::ZERO), Length::mm(7.4));
    }
}
