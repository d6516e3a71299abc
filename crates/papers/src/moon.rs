//! What does the moon look like in the night of a date?
//!
//! The mean new moons lie P = 29.530588861 days apart, one of them at T0 = 2000-01-06 14:20 UTC
//! (Julian date 2451550.09766, J. Meeus, Astronomical Algorithms, 2nd edition, chapter 49).
//! The age at 21:00 UTC of a date, as a share of P, is the phase: 0 new, 1/2 full.
//! The true moon runs up to 14 hours before or behind the mean one, which no eye sees in a small picture.
//!
//! # Worked example
//! The annular eclipse of 6 February 2027 is a new moon (NASA, Five Millennium Catalog of Solar Eclipses).
//! ```
//! let phase = papers::moon::phase(jiff::civil::date(2027, 2, 6));
//! assert!(phase < 0.03 || phase > 0.97);
//! ```

use jiff::civil::{Date, date};

/// Mean length of a lunation in days.
const LUNATION: f64 = 29.530_588_861;

/// Returns the phase in the evening of a date: 0 is new, 0.25 the first quarter, 0.5 full.
pub fn phase(on: Date) -> f64 {
    let days = f64::from((on - date(2000, 1, 6)).get_days());
    // From 14:20 to 21:00.
    let since_new = days + (21.0 - 14.0 - 1.0 / 3.0) / 24.0;
    (since_new / LUNATION).rem_euclid(1.0)
}

/// Returns the path of the lit part of a moon with this center and radius, as the northern half of the earth sees it.
///
/// The limb is half a circle, the terminator half an ellipse.
pub fn lit_path(on: Date, [x, y]: [f64; 2], radius: f64) -> String {
    let phase = phase(on);
    let across = (std::f64::consts::TAU * phase).cos();
    // Waxing moons are lit on the right, waning ones on the left.
    let limb = u8::from(phase < 0.5);
    let terminator = if (across > 0.0) == (phase < 0.5) { 0 } else { 1 };
    format!(
        "M{x:.2} {:.2}A{radius:.2} {radius:.2} 0 0 {limb} {x:.2} {:.2}A{:.2} {radius:.2} 0 0 {terminator} {x:.2} {:.2}Z",
        y - radius,
        y + radius,
        radius * across.abs(),
        y - radius,
    )
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn eclipses_are_new_and_full_moons() {
        // NASA, Five Millennium Catalogs of Solar and Lunar Eclipses.
        for new in [date(2024, 4, 8), date(2026, 8, 12), date(2027, 8, 2)] {
            let phase = phase(new);
            assert!(!(0.03..=0.97).contains(&phase), "{new}: {phase}");
        }
        for full in [date(2025, 3, 14), date(2026, 3, 3), date(2028, 12, 31)] {
            let phase = phase(full);
            assert!((0.47..0.53).contains(&phase), "{full}: {phase}");
        }
    }

    #[test]
    fn the_lit_part_grows_until_the_moon_is_full() {
        // Area by the closed form: half a disk plus or minus half an ellipse.
        let share = |on: Date| (1.0 - (std::f64::consts::TAU * phase(on)).cos()) / 2.0;
        assert!(share(date(2026, 8, 13)) < 0.05);
        assert!(share(date(2026, 8, 28)) > 0.95);
        let path = lit_path(date(2026, 8, 20), [12.0, 12.0], 10.0);
        assert!(path.starts_with("M12.00 2.00A10.00 10.00 0 0 1 12.00 22.00A"), "{path}");
    }
}
