//! What will this color be tomorrow?
//!
//! Tinted icing deepens over night: dye dissolves on, water leaves, bubbles that scatter light go.
//! What the gel adds to q = K/S grows by one factor, q(tomorrow) = q₀ + eᵈ (q - q₀), q₀ of icing without gel.
//!
//! d begins with 0.3 ± 0.25 (common practice, no source: a guess from how makers speak of it).
//! Pairs of a shade as mixed and the next day teach it: the change in Lab, divided by how well it is read, is taken as
//! linear in d near what is believed so far, so that a normal belief stays normal and each pair is one step
//! (conjugate update of a mean with known variance).
//!
//! Range: up to a day or two, covered, out of the sun; a dye that fades goes the other way.
//!
//! # Worked example
//! A tint that adds q = 0.10 adds 0.10 · e^0.3 = 0.135 the next day.
//! ```
//! use tint::{deepen::{GUESS, next_day}, spectrum::Spectrum};
//!
//! let [plain, mixed] = [0.02, 0.12].map(|q| Spectrum::from_fn(|_| q));
//! let tomorrow = next_day(&plain, &mixed, GUESS.value);
//! assert!((tomorrow.peak() - 0.155).abs() < 1e-4);
//! ```

use crate::{
    Shade,
    calibrate::{Estimate, READING},
    film::shade,
    spectrum::Spectrum,
};

/// What is believed of d before any pair was seen (common practice, no source).
pub const GUESS: Estimate = Estimate { value: 0.3, deviation: 0.25 };

/// A shade as mixed and what became of it over night.
#[derive(Clone, Debug, PartialEq)]
pub struct Pair {
    /// q = K/S as mixed, by the recipe.
    pub mixed: Spectrum,
    /// The shade seen as mixed.
    pub fresh: Shade,
    /// The shade seen the next day.
    pub next_day: Shade,
}

/// A shade as mixed and the one it is likely to have tomorrow.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Shades {
    /// As mixed.
    pub mixed: Shade,
    /// Likely tomorrow.
    pub tomorrow: Shade,
}

/// Returns q of icing the next day, from q without gel and as mixed.
pub fn next_day(base: &Spectrum, mixed: &Spectrum, deepening: f64) -> Spectrum {
    base.plus(&mixed.plus(base, -1.0), deepening.clamp(-3.0, 3.0).exp())
}

/// Returns the shade of icing as mixed and likely tomorrow.
pub fn shades(base: &Spectrum, mixed: &Spectrum, deepening: f64) -> Shades {
    Shades { mixed: shade(mixed), tomorrow: shade(&next_day(base, mixed, deepening)) }
}

/// Learns d from pairs, each mixed into icing with q = K/S of `base`.
pub fn learn(base: &Spectrum, belief: Estimate, pairs: &[Pair]) -> Estimate {
    pairs.iter().fold(belief, |belief, pair| step(base, belief, pair))
}

fn step(base: &Spectrum, belief: Estimate, pair: &Pair) -> Estimate {
    const STEP: f64 = 1e-3;
    let change = |d: f64| {
        let of = shades(base, &pair.mixed, d);
        read(of.mixed, of.tomorrow)
    };
    let (believed, ahead) = (change(belief.value), change(belief.value + STEP));
    let seen = read(pair.fresh, pair.next_day);
    let prior = belief.deviation.powi(-2);
    let (mut information, mut pull) = (prior, 0.0);
    for axis in 0..3 {
        // Each of the two shades is read with its own error.
        let variance = 2.0;
        let slope = (ahead[axis] - believed[axis]) / STEP;
        information += slope * slope / variance;
        pull += slope * (seen[axis] - believed[axis]) / variance;
    }
    Estimate { value: belief.value + pull / information, deviation: information.powf(-0.5) }
}

/// Returns the way from one shade to another in Lab, in standard deviations of a reading.
fn read(Shade(from): Shade, Shade(to): Shade) -> [f64; 3] {
    let way = [to.l - from.l, to.a - from.a, to.b - from.b];
    [0, 1, 2].map(|axis: usize| way[axis] / READING[axis])
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{
        dye::{dye, plain_icing},
        recipe::{Gel, mixed},
    };

    fn pair(name: &str, mg: f64, d: f64) -> Pair {
        let gel = Gel::of_dyes(name, [(dye(name).expect("there is data of it"), mg)]);
        let mixed = mixed(&plain_icing(), &[gel], &[(0, 1.0)]);
        let of = shades(&plain_icing(), &mixed, d);
        Pair { mixed, fresh: of.mixed, next_day: of.tomorrow }
    }

    #[test]
    fn pairs_bring_the_belief_to_what_happens_and_leave_less_unknown() {
        for truth in [0.0, 0.3, 0.7] {
            let pairs = [("Red 40", 30.0), ("Blue 1", 4.0), ("Black PN", 20.0), ("Yellow 5", 8.0)]
                .map(|(name, mg)| pair(name, mg, truth));
            let mut before = GUESS;
            for n in 1..=pairs.len() {
                let found = learn(&plain_icing(), GUESS, &pairs[..n]);
                assert!(found.deviation < before.deviation, "{found:?}");
                before = found;
            }
            assert!((before.value - truth).abs() < 0.1, "{truth}: {before:?}");
            assert!((before.value - truth).abs() < 2.0 * before.deviation);
        }
    }

    #[test]
    fn plain_icing_stays_and_tinted_icing_darkens() {
        let plain = plain_icing();
        let of = shades(&plain, &plain, GUESS.value);
        assert!(of.mixed.difference(of.tomorrow) < 1e-9);
        // A deepening by a third is seen, but not by far: our own computation finds 1.4 to 2.7 for 1.3 times.
        let Pair { fresh, next_day, .. } = pair("Red 40", 10.0, 1.3_f64.ln());
        let change = fresh.difference(next_day);
        assert!(
            next_day.lightness() < fresh.lightness() && (1.0..3.5).contains(&change),
            "{change}"
        );
    }
}
