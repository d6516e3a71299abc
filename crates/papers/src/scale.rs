//! How much smaller than life something is shown.

/// So many millimeters in life are one in the picture.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Scale {
    pub(crate) divisor: f64,
    /// A sentence to stand under it.
    pub(crate) words: &'static str,
}

impl Scale {
    pub(crate) const TRUE_SIZE: Self = Self { divisor: 1.0, words: "True size." };

    /// All scales, the largest first.
    pub(crate) const ALL: [Self; 10] = [
        Self::TRUE_SIZE,
        Self { divisor: 1.5, words: "Two thirds of true size." },
        Self { divisor: 2.0, words: "Half of true size." },
        Self { divisor: 3.0, words: "A third of true size." },
        Self { divisor: 4.0, words: "A quarter of true size." },
        Self { divisor: 5.0, words: "A fifth of true size." },
        Self { divisor: 6.0, words: "A sixth of true size." },
        Self { divisor: 8.0, words: "An eighth of true size." },
        Self { divisor: 10.0, words: "A tenth of true size." },
        Self { divisor: 12.0, words: "A twelfth of true size." },
    ];

    /// The smallest of all.
    pub(crate) const SMALLEST: Self = Self::ALL[Self::ALL.len() - 1];

    /// Returns how long in the picture a length in life is.
    pub(crate) fn shown(self, mm: f64) -> f64 {
        mm / self.divisor
    }
}
