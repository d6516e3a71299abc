use crate::{Length, Volume, arithmetic::continuous};

/// An area, held in square millimeters.
#[derive(Clone, Copy, Debug, Default, PartialEq, PartialOrd)]
pub struct Area(f64);

continuous!(Area);

impl Area {
    /// Creates an area from square millimeters.
    pub const fn mm2(mm2: f64) -> Self {
        Self(mm2)
    }

    /// Creates an area from square centimeters.
    pub const fn cm2(cm2: f64) -> Self {
        Self(cm2 * 100.0)
    }

    /// Reads the area in square millimeters.
    pub const fn to_mm2(self) -> f64 {
        self.0
    }

    /// Reads the area in square centimeters.
    pub const fn to_cm2(self) -> f64 {
        self.0 / 100.0
    }
}

impl std::ops::Mul<Length> for Area {
    type Output = Volume;
    fn mul(self, depth: Length) -> Volume {
        Volume::ml(self.0 * depth.to_mm() / 1000.0)
    }
}

impl std::ops::Div<Length> for Area {
    type Output = Length;
    fn div(self, side: Length) -> Length {
        Length::mm(self.0 / side.to_mm())
    }
}
