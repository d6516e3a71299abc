use crate::Share;

/// An amount of money in whole minor units (cents) of one currency, which is named beside it, never in it.
///
/// Amounts of one kitchen are all in its one currency, so that sums need no check.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord)]
pub struct Money(i64);

impl Money {
    /// No money.
    pub const ZERO: Self = Self(0);

    /// Creates an amount from minor units.
    pub const fn minor(minor: i64) -> Self {
        Self(minor)
    }

    /// Reads the amount in minor units.
    pub const fn to_minor(self) -> i64 {
        self.0
    }

    /// Rounds a fractional number of minor units, halves away from zero; what is not a number counts as nothing.
    pub fn round(minor: f64) -> Self {
        // A float-to-integer cast saturates at the bounds and maps NaN to zero.
        Self(minor.round() as i64)
    }

    /// Returns this amount times a number, rounded once.
    pub fn times(self, factor: f64) -> Self {
        Self::round(self.0 as f64 * factor)
    }

    /// Returns a share of this amount, rounded once.
    pub fn share(self, share: Share) -> Self {
        self.times(share.to_one())
    }

    /// Rounds up to a multiple of `step`; a step of zero or less leaves the amount.
    pub fn round_up_to(self, step: Self) -> Self {
        if step.0 <= 0 {
            return self;
        }
        let over = self.0.rem_euclid(step.0);
        if over == 0 { self } else { Self(self.0.saturating_add(step.0 - over)) }
    }
}

impl std::ops::Add for Money {
    type Output = Self;
    fn add(self, other: Self) -> Self {
        Self(self.0.saturating_add(other.0))
    }
}

impl std::ops::Sub for Money {
    type Output = Self;
    fn sub(self, other: Self) -> Self {
        Self(self.0.saturating_sub(other.0))
    }
}

impl std::iter::Sum for Money {
    fn sum<I: Iterator<Item = Self>>(amounts: I) -> Self {
        amounts.fold(Self::ZERO, |sum, amount| sum + amount)
    }
}

/// A currency by its ISO 4217 code and the number of its minor digits.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Currency {
    code: [u8; 3],
}

impl Currency {
    /// Reads a three-letter code such as `CAD`; anything but three capital letters is `None`.
    pub fn from_code(code: &str) -> Option<Self> {
        let code: [u8; 3] = code.as_bytes().try_into().ok()?;
        code.iter().all(u8::is_ascii_uppercase).then_some(Self { code })
    }

    /// Returns the three-letter code.
    pub fn code(&self) -> &str {
        std::str::from_utf8(&self.code).expect("a currency code is ASCII by construction")
    }

    /// Returns how many digits stand behind the point: ISO 4217's exceptions, else 2.
    pub fn minor_digits(&self) -> u32 {
        match &self.code {
            b"BIF" | b"CLP" | b"DJF" | b"GNF" | b"ISK" | b"JPY" | b"KMF" | b"KRW" | b"PYG"
            | b"RWF" | b"UGX" | b"VND" | b"VUV" | b"XAF" | b"XOF" | b"XPF" => 0,
            b"BHD" | b"IQD" | b"JOD" | b"KWD" | b"LYD" | b"OMR" | b"TND" => 3,
            _ => 2,
        }
    }

    /// Returns how many minor units make one major unit.
    pub fn minor_per_major(&self) -> i64 {
        10_i64.pow(self.minor_digits())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn money_rounds_once_and_halves_go_away_from_zero() {
        assert_eq!(Money::minor(25).times(0.5), Money::minor(13));
        assert_eq!(Money::minor(-25).times(0.5), Money::minor(-13));
        assert_eq!(Money::round(f64::NAN), Money::ZERO);
        assert_eq!(Money::minor(1801).round_up_to(Money::minor(100)), Money::minor(1900));
        assert_eq!(Money::minor(1800).round_up_to(Money::minor(100)), Money::minor(1800));
    }

    #[test]
    fn minor_digits_follow_iso_4217() {
        for (code, digits) in [("CAD", 2), ("JPY", 0), ("KWD", 3), ("EUR", 2)] {
            assert_eq!(
                Currency::from_code(code).map(|currency| currency.minor_digits()),
                Some(digits),
                "{code}"
            );
        }
        assert_eq!(Currency::from_code("cad"), None);
        assert_eq!(Currency::from_code("€"), None);
    }
}
