//! When has icing a skin, when is it set, when is it dry; and how heavy is it without air bubbles?
//!
//! Drying: t = t₀ (d / d₀) f / v, for skin, set and dry each.
//!
//! - `t₀` its time at d₀ = 2.2 mm of wet depth, in still air of 20 °C and 50 %
//! - `d` wet depth: the water in a film grows with it, and leaves through the surface at one rate
//! - `f` factor of a fan, for skin and set
//! - `v` speed of the air against that of the reference day
//!
//! The logarithms of the three times and of the fan's factor are learned from what was seen ([`crate::learning`]).
//!
//! The speed follows Δp = aw psat(T) - RH psat(T), the icing being as warm as the air.
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

use quantity::{Density, Length, Mass, Share, Span, Volume};

use crate::learning::{Belief, Likely, NINETY_PERCENT, Seen};

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

/// What wet icing becomes.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum State {
    /// A skin, so that neighbors keep apart.
    Skin,
    /// Set, so that lines and top layers hold.
    Set,
    /// Dry: marker, paint, bagging; the night between two sessions.
    Dry,
}

impl State {
    /// All of them, in the order they come.
    pub const ALL: [Self; 3] = [Self::Skin, Self::Set, Self::Dry];

    /// Returns the name in files.
    pub fn name(self) -> &'static str {
        match self {
            Self::Skin => "skin",
            Self::Set => "set",
            Self::Dry => "dry",
        }
    }
}

/// How icing dries: how deep it is, in which air, with or without a fan.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Conditions {
    /// Wet depth.
    pub depth: Length,
    /// The air around it.
    pub air: Air,
    /// Whether a fan blows on it.
    pub fan: bool,
}

/// Something seen while icing dried.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Observation {
    /// What it became.
    pub state: State,
    /// How it dried.
    pub conditions: Conditions,
    /// When.
    pub seen: Seen,
}

/// Times before anything was seen: at the reference depth, in still air of the reference day.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Times {
    /// Until it has a skin.
    pub skin: Span,
    /// Until it is set.
    pub set: Span,
    /// Until it is dry.
    pub dry: Span,
    /// What a fan makes of the first two.
    pub fan: Share,
}

/// The wet depth that drying times are given for: a base flood.
pub const REFERENCE_DEPTH: Length = Length::mm(2.2);

/// How well times and the fan's factor are known before anything was seen, in their logarithm (common practice, no
/// source: a skin takes half an hour to two hours for some, a quarter for others).
const DEVIATIONS: (f64, f64) = (0.4, 0.3);

/// How far one observation is off, in its logarithm: people touch icing and judge (common practice, no source).
const LOOKING: f64 = 0.25;

/// Drying is planned as if it were no slower than this part of the usual speed; a heads-up says that it is
/// (common practice, no source).
const LEAST_SPEED: f64 = 0.1;

/// What is known of how a kitchen's icing dries.
#[derive(Clone, Debug, PartialEq)]
pub struct DryingKnown(Belief);

/// Learns how icing dries, from start times and what was seen.
///
/// What was seen in air where nothing dries, or at no depth, is left out.
pub fn learn_drying(start: &Times, observations: &[Observation]) -> DryingKnown {
    let ln = |span: Span| span.to_seconds().max(1.0).ln();
    let (time, fan) = DEVIATIONS;
    let belief = Belief::start(&[
        (ln(start.skin), time),
        (ln(start.set), time),
        (ln(start.dry), time),
        (start.fan.to_one().max(0.01).ln(), fan),
    ]);
    let mut known = DryingKnown(belief);
    known.learn(observations);
    known
}

impl DryingKnown {
    /// Learns from more.
    pub fn learn(&mut self, observations: &[Observation]) {
        // Times first: "by then" is read against what they say.
        let readings = observations.iter().filter(|one| one.seen.is_reading());
        let others = observations.iter().filter(|one| !one.seen.is_reading());
        for one in readings.chain(others) {
            let factor = slower(&one.conditions).ln();
            if let Some(record) = one.seen.record().filter(|_| factor.is_finite()) {
                let weights = weights(one.state, &one.conditions);
                self.0.learn(&weights, record.less(factor), LOOKING);
            }
        }
    }

    /// Returns how long icing takes, no state before the one that comes first; nothing where it does not dry at all.
    pub fn time(&self, state: State, conditions: &Conditions) -> Option<Likely<Span>> {
        let factor = slower(conditions);
        if factor <= 0.0 || !factor.is_finite() {
            return None;
        }
        let of = |state: State| {
            let (ln, variance) = self.0.of(&weights(state, conditions));
            let reach = NINETY_PERCENT * variance.sqrt();
            let at = |ln: f64| Span::seconds(ln.exp()) * factor;
            Likely { likely: at(ln), low: at(ln - reach), high: at(ln + reach) }
        };
        State::ALL.into_iter().filter(|one| *one <= state).map(of).reduce(|one, other| Likely {
            likely: one.likely.max(other.likely),
            low: one.low.max(other.low),
            high: one.high.max(other.high),
        })
    }

    /// Returns how long to plan for: the likely time, in air no slower than a tenth of the usual.
    pub fn planned(&self, state: State, conditions: &Conditions) -> Span {
        let depth = conditions.depth / REFERENCE_DEPTH;
        let factor = depth / speed(&conditions.air).max(LEAST_SPEED);
        let of = |state: State| {
            let (ln, _) = self.0.of(&weights(state, conditions));
            Span::seconds(ln.exp()) * factor
        };
        let states = State::ALL.into_iter().filter(|one| *one <= state);
        states.map(of).fold(Span::ZERO, Span::max)
    }

    /// Returns what a fan makes of skin and set.
    pub fn fan(&self) -> Likely<Share> {
        let (ln, variance) = self.0.of(&FAN_ALONE);
        let reach = NINETY_PERCENT * variance.sqrt();
        let at = |ln: f64| Share::of_one(ln.exp());
        Likely { likely: at(ln), low: at(ln - reach), high: at(ln + reach) }
    }
}

/// Weights of the fan's factor alone.
const FAN_ALONE: [f64; 4] = [0.0, 0.0, 0.0, 1.0];

/// Weights of skin, set, dry and fan in ln t.
fn weights(state: State, conditions: &Conditions) -> [f64; 4] {
    let fan = f64::from(conditions.fan);
    match state {
        State::Skin => [1.0, 0.0, 0.0, fan],
        State::Set => [0.0, 1.0, 0.0, fan],
        State::Dry => [0.0, 0.0, 1.0, 0.0],
    }
}

/// How many times longer than at the reference depth on the reference day.
fn slower(conditions: &Conditions) -> f64 {
    conditions.depth / REFERENCE_DEPTH / speed(&conditions.air)
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

    const START: Times = Times {
        skin: Span::minutes(15.0),
        set: Span::minutes(75.0),
        dry: Span::hours(12.0),
        fan: Share::of_one(0.6),
    };

    fn usual() -> Conditions {
        Conditions { depth: REFERENCE_DEPTH, air: REFERENCE, fan: false }
    }

    #[test]
    fn deep_icing_in_humid_air_takes_longer_and_a_fan_helps_skin_and_set() {
        let known = learn_drying(&START, &[]);
        let minutes = |state: State, conditions: Conditions| {
            known.time(state, &conditions).expect("it dries").likely.to_minutes()
        };
        assert!((minutes(State::Skin, usual()) - 15.0).abs() < 1e-9);
        let thin = Conditions { depth: REFERENCE_DEPTH * 0.5, ..usual() };
        assert!((minutes(State::Set, thin) - 37.5).abs() < 1e-9);
        let fan = Conditions { fan: true, ..usual() };
        assert!((minutes(State::Set, fan) - 45.0).abs() < 1e-9);
        assert_eq!(minutes(State::Dry, fan), minutes(State::Dry, usual()));
        let humid = Air { celsius: 20.0, humidity: Share::percent(70.0) };
        // (0.85 - 0.50) / (0.85 - 0.70), after Norrish.
        let slow = minutes(State::Dry, Conditions { air: humid, ..usual() });
        assert!((slow / 720.0 - 2.34).abs() < 0.02, "{slow}");
        let wet = Air { celsius: 20.0, humidity: Share::percent(95.0) };
        assert_eq!(known.time(State::Dry, &Conditions { air: wet, ..usual() }), None);
        let planned = known.planned(State::Dry, &Conditions { air: wet, ..usual() });
        assert!((planned.to_hours() - 120.0).abs() < 1e-6);
    }

    #[test]
    fn what_was_seen_moves_its_own_time_and_the_fan_is_told_from_the_rest() {
        let seen = |state, fan, minutes: f64| Observation {
            state,
            conditions: Conditions { fan, ..usual() },
            seen: Seen::After(Span::minutes(minutes)),
        };
        let records: Vec<Observation> = (0..12)
            .flat_map(|_| [seen(State::Skin, false, 30.0), seen(State::Skin, true, 12.0)])
            .collect();
        let known = learn_drying(&START, &records);
        let skin = known.time(State::Skin, &usual()).expect("it dries");
        assert!((skin.likely.to_minutes() - 30.0).abs() < 2.0, "{skin:?}");
        assert!((known.fan().likely.to_one() - 0.4).abs() < 0.05, "{:?}", known.fan());
        let set = known.time(State::Set, &usual()).expect("it dries");
        assert!((set.likely.to_minutes() - 75.0).abs() < 1e-6);
        // In air of half the speed, 30 minutes tell of 15.
        let half = Air { celsius: 20.0, humidity: Share::of_one(0.6749) };
        assert!((speed(&half) - 0.5).abs() < 0.001);
        let slow = Observation {
            conditions: Conditions { air: half, ..usual() },
            ..seen(State::Skin, false, 30.0)
        };
        let skin = learn_drying(&START, &[slow]).time(State::Skin, &usual()).expect("it dries");
        assert!((skin.likely.to_minutes() - 15.0).abs() < 0.1, "{skin:?}");
        // What was judged dry too soon does not make it dry before it is set.
        let hasty =
            Observation { seen: Seen::After(Span::minutes(5.0)), ..seen(State::Dry, false, 5.0) };
        let known = learn_drying(&START, &[hasty; 9]);
        let [set, dry] =
            [State::Set, State::Dry].map(|state| known.time(state, &usual()).expect("it dries"));
        assert!(dry.likely >= set.likely && known.planned(State::Dry, &usual()) >= set.likely);
        let not_yet = Observation { seen: Seen::NotBy(Span::minutes(40.0)), ..records[0] };
        let skin = learn_drying(&START, &[not_yet]).time(State::Skin, &usual()).expect("it dries");
        assert!(skin.likely.to_minutes() > 25.0, "{skin:?}");
    }

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
