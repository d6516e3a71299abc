use crate::{Length, arithmetic::continuous};

/// A span of time, held in seconds.
#[derive(Clone, Copy, Debug, Default, PartialEq, PartialOrd)]
pub struct Span(f64);

continuous!(Span);

impl Span {
    /// Creates a span from seconds.
    pub const fn seconds(seconds: f64) -> Self {
        Self(seconds)
    }

    /// Creates a span from minutes.
    pub const fn minutes(minutes: f64) -> Self {
        Self(minutes * 60.0)
    }

    /// Creates a span from hours.
    pub const fn hours(hours: f64) -> Self {
        Self(hours * 3600.0)
    }

    /// Reads the span in seconds.
    pub const fn to_seconds(self) -> f64 {
        self.0
    }

    /// Reads the span in minutes.
    pub const fn to_minutes(self) -> f64 {
        self.0 / 60.0
    }

    /// Reads the span in hours.
    pub const fn to_hours(self) -> f64 {
        self.0 / 3600.0
    }

    /// Returns the time needed to go along `path` at `per_second` a second; no time at all when there is no path.
    pub fn along(path: Length, per_second: Length) -> Self {
        if path.to_mm() <= 0.0 { Self::ZERO } else { Self(path / per_second) }
    }
}
