//! How fast does icing dry in this air, and how heavy is it without air bubbles?
//!
//! Drying: speed follows Δp = aw psat(T) - RH psat(T), the icing being as warm as the air.
//!
//! - `aw` water activity of the liquor, which stays saturated with sugar while crystals are left:
//!   Norrish, aw = xw exp(-K xs²), K = 6.47 for sucrose (x: mole fractions)
//! - `psat` saturation vapor pressure of water: Magnus form of WMO No. 8 (2018), 611.2 Pa exp(17.62 t / (243.12 + t))
//! - `RH` relative humidity
//!
//! Density: mass over volume of crystals, saturated liquor, starch and protein; whipped-in air makes it lighter by its share.
//!
//! Source: form of Norrish's equation in Baeza et al., Food and Bioprocess Technology 3, 2010; solubility and density of the
//! liquor in Mohos, Confectionery and Chocolate Engineering, 2010, tables A2.2 and A2.3; starch and protein from memory.
//! Holds for icing with sugar to water above 2.04 by mass, stiff and flood alike, in still air.
//!
//! # Worked example
//! At 20 °C and 80 % the drive is (0.85 - 0.80) / (0.85 - 0.50) = 1/7 of that at 20 °C and 50 %.
//! ```
//! use craft::drying::{Air, speed};
//! use quantity::Share;
//!
//! let humid = Air { celsius: 20.0, humidity: Share::percent(80.0) };
//! assert!((speed(&humid) - 1.0 / 7.0).abs() < 0.01);
//! ```

use quantity::{Density, Mass, Share, Volume};

/// The air of a room.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Air {
    /// Temperature in degrees Celsius.
    pub celsius: f64,
    /// Relative humidity.
    pub humidity: Share,
}

/// The day that drying times are given for.
pub const REFERENCE: Air = Air { celsius: 20.0, humidity: Share::of_one(0.5) };

/// Grams of sucrose that 100 g of water dissolve at 20 °C (Mohos 2010, table A2.2).
const SOLUBLE_G_PER_100_G: f64 = 203.9;
/// Norrish's constant of sucrose (Chirife, Favetto, Ferro Fontán 1982, from memory).
const NORRISH_K: f64 = 6.47;
/// Grams in a mole of sucrose and of water.
const MOLAR_G: (f64, f64) = (342.297, 18.015);

/// Returns how fast icing dries in an air, compared with the reference day; nothing dries where this is zero.
// tidy: ratio
pub fn speed(air: &Air) -> f64 {
    let drive = |air: &Air| {
        (water_activity(SOLUBLE_G_PER_100_G) - air.humidity.to_one())
            * saturation_pressure_pa(air.celsius)
    };
    let ratio = drive(air) / drive(&REFERENCE);
    if ratio.is_finite() { ratio.max(0.0) } else { 0.0 }
}

/// Water activity of so many grams of sucrose in 100 g of water.
fn water_activity(sucrose_g: f64) -> f64 {
    let (sucrose, water) = (sucrose_g / MOLAR_G.0, 100.0 / MOLAR_G.1);
    let share = sucrose / (sucrose + water);
    (1.0 - share) * (-NORRISH_K * share * share).exp()
}

fn saturation_pressure_pa(celsius: f64) -> f64 {
    611.2 * (17.62 * celsius / (243.12 + celsius)).exp()
}

/// Share of starch in powdered sugar (Baker's Dictionary, "Powdered sugar").
const STARCH: f64 = 0.03;
/// Densities of crystals, saturated liquor at 20 °C, starch and protein.
const CRYSTALS: Density = Density::g_per_ml(1.588);
const LIQUOR: Density = Density::g_per_ml(1.3327);
const STARCH_DENSITY: Density = Density::g_per_ml(1.50);
const PROTEIN: Density = Density::g_per_ml(1.35);

/// Returns the density of icing without air, from powdered sugar, dried white and water at 20 °C.
pub fn void_free_density(sugar: Mass, dried_white: Mass, water: Mass) -> Density {
    let sucrose = sugar * (1.0 - STARCH);
    let dissolved = (water * (SOLUBLE_G_PER_100_G / 100.0)).min(sucrose);
    let volume: Volume = (sucrose - dissolved) / CRYSTALS
        + (water + dissolved) / LIQUOR
        + sugar * STARCH / STARCH_DENSITY
        + dried_white / PROTEIN;
    (sugar + dried_white + water) / volume
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn speeds_follow_temperature_and_humidity() {
        // Worked out once from IAPWS-95 pressures (Wagner, Pruss 2002) and aw = 0.85, to two digits.
        for (celsius, percent, expected) in [
            (20.0, 30.0, 1.57),
            (20.0, 40.0, 1.29),
            (20.0, 60.0, 0.71),
            (20.0, 70.0, 0.43),
            (20.0, 80.0, 0.14),
            (25.0, 50.0, 1.36),
            (25.0, 70.0, 0.58),
            (18.0, 60.0, 0.63),
            (20.0, 90.0, 0.0),
        ] {
            let found = speed(&Air { celsius, humidity: Share::percent(percent) });
            assert!((found - expected).abs() < 0.011, "{celsius} °C {percent} %: {found}");
        }
    }

    #[test]
    fn vapor_pressure_is_near_the_published_points() {
        // IAPWS-95 at 10, 20, 25 and 30 °C; the Magnus form stays within 0.35 %.
        for (celsius, pascal) in [(10.0, 1228.2), (20.0, 2339.3), (25.0, 3169.9), (30.0, 4247.0)] {
            let found = saturation_pressure_pa(celsius);
            assert!((found / pascal - 1.0).abs() < 0.0035, "{celsius} °C: {found}");
        }
    }

    #[test]
    fn the_liquor_of_icing_has_a_water_activity_of_0_85() {
        for (sucrose_g, expected) in
            [(50.0, 0.9702), (100.0, 0.9348), (150.0, 0.8953), (203.9, 0.8498)]
        {
            assert!((water_activity(sucrose_g) - expected).abs() < 5e-4, "{sucrose_g} g");
        }
    }

    #[test]
    fn density_falls_with_water() {
        // 1000 g of powdered sugar, 30 g of dried white; worked out once by hand from the same densities, within 0.3 %.
        for (water_g, expected) in [
            (120.0, 1.486),
            (140.0, 1.474),
            (160.0, 1.462),
            (180.0, 1.451),
            (200.0, 1.441),
            (220.0, 1.431),
            (250.0, 1.417),
        ] {
            let found =
                void_free_density(Mass::g(1000.0), Mass::g(30.0), Mass::g(water_g)).to_g_per_ml();
            assert!((found / expected - 1.0).abs() < 0.003, "{water_g} g: {found}");
        }
    }
}
