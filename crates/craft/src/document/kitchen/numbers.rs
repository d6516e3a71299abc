//! Numbers with their limits: what is outside is refused by key.

use quantity::{Area, Density, Length, Mass, Money, Share, Span};

use crate::document::error::BadValue;

/// Checks limits; written so that what is not a number is refused too.
pub(in crate::document) fn within(
    key: &'static str,
    value: f64,
    least: f64,
    most: f64,
) -> Result<f64, BadValue> {
    if value >= least && value <= most {
        Ok(value)
    } else {
        Err(BadValue::new(key, format!("{value} is outside {least} to {most}; correct it")))
    }
}

pub(super) fn mm(key: &'static str, value: f64, least: f64, most: f64) -> Result<Length, BadValue> {
    within(key, value, least, most).map(Length::mm)
}

pub(super) fn mm2(key: &'static str, value: f64, least: f64, most: f64) -> Result<Area, BadValue> {
    within(key, value, least, most).map(Area::mm2)
}

pub(in crate::document) fn g(
    key: &'static str,
    value: f64,
    least: f64,
    most: f64,
) -> Result<Mass, BadValue> {
    within(key, value, least, most).map(Mass::g)
}

pub(super) fn seconds(key: &'static str, value: f64) -> Result<Span, BadValue> {
    within(key, value, 0.0, 86_400.0).map(Span::seconds)
}

pub(super) fn minutes(key: &'static str, value: f64) -> Result<Span, BadValue> {
    within(key, value, 0.0, 10_080.0).map(Span::minutes)
}

pub(super) fn share(key: &'static str, value: f64, most: f64) -> Result<Share, BadValue> {
    within(key, value, 0.0, most).map(Share::of_one)
}

pub(super) fn density(key: &'static str, value: f64) -> Result<Density, BadValue> {
    within(key, value, 0.1, 3.0).map(Density::g_per_ml)
}

/// Amounts are whole minor units, up to a billion of them.
pub(super) fn money(key: &'static str, minor: i64) -> Result<Money, BadValue> {
    if (0..=1_000_000_000).contains(&minor) {
        Ok(Money::minor(minor))
    } else {
        Err(BadValue::new(key, format!("{minor} is outside 0 to 1000000000; correct it")))
    }
}
