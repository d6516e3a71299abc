//! Reads quantities the way people write them: "1 1/4 cup", "3.25 in", "82mm", "½ tsp", "8 oz".
//!
//! A number may be a decimal, a fraction, or a whole number and a fraction; the unit is required.

use crate::{Length, Mass, Volume};

/// Why a written quantity could not be read; the message names the text and says what is expected.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum ParseError {
    /// There is no number, or it is not one a person would write.
    #[error("\"{text}\" does not start with an amount such as 250, 3.25 or 1 1/4")]
    Amount {
        /// What was written.
        text: String,
    },
    /// The unit is missing or of another kind.
    #[error("\"{text}\" needs one of the units {units}")]
    Unit {
        /// What was written.
        text: String,
        /// The units that are understood.
        units: &'static str,
    },
}

/// Reads a length: mm, cm, m, in, ft.
///
/// ```
/// use quantity::{Length, parse_length};
/// assert_eq!(parse_length("3.25 in"), Ok(Length::mm(82.55)));
/// assert_eq!(parse_length("82mm"), Ok(Length::mm(82.0)));
/// ```
pub fn parse_length(text: &str) -> Result<Length, ParseError> {
    let (amount, unit) = split(text)?;
    let unit = match unit {
        "mm" => Length::mm(1.0),
        "cm" => Length::mm(10.0),
        "m" => Length::mm(1000.0),
        "in" | "inch" | "inches" | "\"" | "″" => Length::inches(1.0),
        "ft" | "foot" | "feet" => Length::inches(12.0),
        _ => return Err(ParseError::Unit { text: text.into(), units: "mm, cm, m, in, ft" }),
    };
    Ok(unit * amount)
}

/// Reads a mass: g, kg, oz, lb.
///
/// ```
/// use quantity::{Mass, parse_mass};
/// assert_eq!(parse_mass("1.5 kg"), Ok(Mass::g(1500.0)));
/// ```
pub fn parse_mass(text: &str) -> Result<Mass, ParseError> {
    let (amount, unit) = split(text)?;
    let unit = match unit {
        "g" | "gram" | "grams" => Mass::g(1.0),
        "kg" => Mass::g(1000.0),
        "oz" | "ounce" | "ounces" => Mass::ounces(1.0),
        "lb" | "lbs" | "pound" | "pounds" => Mass::ounces(16.0),
        _ => return Err(ParseError::Unit { text: text.into(), units: "g, kg, oz, lb" }),
    };
    Ok(unit * amount)
}

/// Reads a volume: ml, l, tsp, tbsp, cup (US customary).
///
/// ```
/// use quantity::{Volume, parse_volume};
/// assert_eq!(parse_volume("1 1/4 cup"), Ok(Volume::cups(1.25)));
/// assert_eq!(parse_volume("1¼ c"), Ok(Volume::cups(1.25)));
/// ```
pub fn parse_volume(text: &str) -> Result<Volume, ParseError> {
    let (amount, unit) = split(text)?;
    let unit = match unit {
        "ml" | "mL" => Volume::ml(1.0),
        "l" | "L" => Volume::ml(1000.0),
        "tsp" | "teaspoon" | "teaspoons" => Volume::teaspoons(1.0),
        "tbsp" | "tablespoon" | "tablespoons" => Volume::tablespoons(1.0),
        "c" | "cup" | "cups" => Volume::cups(1.0),
        _ => return Err(ParseError::Unit { text: text.into(), units: "ml, l, tsp, tbsp, cup" }),
    };
    Ok(unit * amount)
}

/// Splits "1 1/4 cup" into 1.25 and "cup".
fn split(text: &str) -> Result<(f64, &str), ParseError> {
    let text = text.trim();
    let end = text.find(|c: char| !is_amount(c)).unwrap_or(text.len());
    let (amount, unit) = text.split_at(end);
    let amount = parse_amount(amount).ok_or_else(|| ParseError::Amount { text: text.into() })?;
    Ok((amount, unit.trim()))
}

fn is_amount(c: char) -> bool {
    c.is_ascii_digit() || matches!(c, '.' | '/' | ' ') || fraction(c).is_some()
}

/// Reads "3", "3.25", "1/4", "1 1/4", "1¼" and "½"; a zero divisor is no amount.
fn parse_amount(text: &str) -> Option<f64> {
    let text = text.trim();
    if let Some(last) = text.chars().next_back().and_then(fraction) {
        let whole = text[..text.len() - text.chars().next_back()?.len_utf8()].trim();
        return if whole.is_empty() {
            Some(last)
        } else {
            whole.parse::<u32>().ok().map(|n| f64::from(n) + last)
        };
    }
    match text.split_once(' ') {
        Some((whole, rest)) => {
            let whole: u32 = whole.parse().ok()?;
            Some(f64::from(whole) + parse_fraction(rest.trim())?)
        }
        None if text.contains('/') => parse_fraction(text),
        None => text.parse().ok(),
    }
}

fn parse_fraction(text: &str) -> Option<f64> {
    let (over, under) = text.split_once('/')?;
    let (over, under): (u32, u32) = (over.parse().ok()?, under.parse().ok()?);
    (under > 0).then(|| f64::from(over) / f64::from(under))
}

/// The one-character fractions of Unicode that kitchens use.
fn fraction(c: char) -> Option<f64> {
    Some(match c {
        '¼' => 0.25,
        '½' => 0.5,
        '¾' => 0.75,
        '⅓' => 1.0 / 3.0,
        '⅔' => 2.0 / 3.0,
        '⅛' => 0.125,
        '⅜' => 0.375,
        '⅝' => 0.625,
        '⅞' => 0.875,
        _ => return None,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn amounts_are_read_as_people_write_them() {
        for (text, expected) in [
            ("3", 3.0),
            ("0.5", 0.5),
            ("1/4", 0.25),
            ("1 1/4", 1.25),
            ("2 ½", 2.5),
            ("½", 0.5),
            ("10¾", 10.75),
        ] {
            assert_eq!(parse_amount(text), Some(expected), "{text}");
        }
    }

    #[test]
    fn what_is_no_amount_is_refused() {
        for text in
            ["", "cup", "1/0", "1 2 3 cup", "1.2.3 cup", "-1 cup", "½½ cup", "1/ cup", ". cup"]
        {
            assert_eq!(parse_volume(text), Err(ParseError::Amount { text: text.into() }), "{text}");
        }
    }

    #[test]
    fn a_unit_of_another_kind_is_named_with_the_right_ones() {
        let error = parse_length("3 cups").expect_err("cups are no length");
        assert_eq!(error.to_string(), "\"3 cups\" needs one of the units mm, cm, m, in, ft");
        assert!(parse_mass("250").is_err());
    }
}
