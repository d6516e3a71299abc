//! How much water brings this bowl to its count?
//!
//! The count falls with water: ln t = a + δ - b w, t the count in seconds, w grams of water in 100 g of stiff icing;
//! a and b are the kitchen's, δ is how much stiffer than usual the icing of this bowl is.
//! All of them are learned from tests ([`crate::learning`]): "at 4 g it took 13 s", and "at 12 s it was not smooth yet".
//!
//! The water for a target T is (a + δ - ln T) / b. Its ends are where the line, moved by 1.645 of its standard deviations,
//! meets ln T (E. C. Fieller, 1954).
//! Water goes in and not out, so the first step is four fifths of it, or less: with four chances in five it leaves the
//! icing no thinner than the target.
//!
//! Too thin is mended with stiff icing of the same batch, S (w / w* - 1) for S grams of stiff icing at w that should be
//! at w*, or with sugar, until sugar and water stand as they do at w*.
//!
//! Source of the line and its start values: common practice, no source; the last grams matter most since the solids of
//! icing then lie close (the viscosity of a suspension grows without limit near 60 % of solids by volume).
//! Holds from about 4 to 40 s; stiff icing has no count.
//!
//! # Worked example
//! A reading of 25 s, a target of 12 s, a fall of 0.24 a gram: ln(25 / 12) / 0.24 = 3.06 g for 100 g.

use quantity::{Mass, Share, Span, Volume};

use crate::learning::{Belief, Likely, NINETY_PERCENT, Seen};

/// How fast a count falls with water: ln(count in seconds) = `ln_stiff` - `per_gram` x grams of water in 100 g of stiff icing.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct WaterCurve {
    /// Natural logarithm of the count the line gives stiff icing, in seconds.
    pub ln_stiff: f64,
    /// Fall of ln(count) for each gram of water in 100 g of stiff icing.
    pub per_gram: f64,
}

/// A test of icing with some water in it.
#[derive(Clone, Debug, PartialEq)]
pub struct Test {
    /// Which bowl: tests of one bowl share its stiffness.
    pub bowl: String,
    /// Water in 100 g of stiff icing.
    pub water: Mass,
    /// When it was smooth.
    pub seen: Seen,
}

/// How well a and b are known before any test: standard deviations of a, of b as a share of it, and of δ
/// (common practice, no source).
const DEVIATIONS: (f64, f64, f64) = (0.3, 0.35, 0.25);

/// How far a count is off, in its logarithm: 12 s are read as 11 to 13 (common practice, no source).
const READING: f64 = 0.12;

/// Bowls whose tests are learned from; earlier ones are left out.
const MOST_BOWLS: usize = 60;

/// A count this near the target, as a share of it, is the target: 12 to 15 s for 13 s.
const NEAR: f64 = READING;

/// Standard deviations that leave one chance in five.
const FOUR_IN_FIVE: f64 = 0.8416;

/// Most of the whole dose that goes in at first.
const FIRST: Share = Share::of_one(0.8);

/// Least of it: a step that is too small tells nothing (common practice, no source).
const LEAST_FIRST: Share = Share::of_one(0.25);

/// Water in a gram of gel, the rest being sugar, glycerin and dye (common practice, no source).
pub const GEL_WATER: Share = Share::of_one(0.4);

/// A drop of water: 20 drops a milliliter (from memory).
pub const DROP: Mass = Mass::g(0.05);

/// A teaspoon of water, a milliliter of which weighs a gram.
pub const TEASPOON: Mass = Mass::g(Volume::teaspoons(1.0).to_ml());

/// What is known of how water thins icing.
#[derive(Clone, Debug, PartialEq)]
pub struct Thinning {
    /// Of a, b and each δ.
    belief: Belief,
    /// Names of the bowls, in the order of their δ.
    bowls: Vec<String>,
}

/// Learns how water thins icing, from a start and tests in the order they were made.
pub fn learn_thinning(start: WaterCurve, tests: &[Test]) -> Thinning {
    let mut bowls: Vec<String> = Vec::new();
    for test in tests.iter().rev() {
        if !bowls.contains(&test.bowl) && bowls.len() < MOST_BOWLS {
            bowls.push(test.bowl.clone());
        }
    }
    let (a, b, bowl) = DEVIATIONS;
    let mut numbers = vec![(start.ln_stiff, a), (start.per_gram, b * start.per_gram)];
    numbers.extend(bowls.iter().map(|_| (0.0, bowl)));
    let mut thinning = Thinning { belief: Belief::start(&numbers), bowls };
    // Counts first: they say where the line runs, so that "smooth by then" is read against the right one.
    let counts = tests.iter().filter(|test| test.seen.is_reading());
    let others = tests.iter().filter(|test| !test.seen.is_reading());
    for test in counts.chain(others).filter(|test| test.water.is_finite()) {
        let is_kept = thinning.bowls.contains(&test.bowl);
        if let Some(record) = test.seen.record().filter(|_| is_kept) {
            let weights = thinning.weights(&test.bowl, test.water);
            thinning.belief.learn(&weights, record, READING);
        }
    }
    thinning
}

impl Thinning {
    /// Returns the line of a bowl nobody has tested yet.
    pub fn curve(&self) -> WaterCurve {
        let (ln_stiff, _) = self.belief.of(&[1.0, 0.0]);
        WaterCurve { ln_stiff, per_gram: self.fall().likely }
    }

    /// Returns by how much ln(count) falls for each gram of water in 100 g of stiff icing.
    // tidy: ratio
    pub fn fall(&self) -> Likely<f64> {
        let (likely, variance) = self.belief.of(&[0.0, 1.0]);
        let reach = NINETY_PERCENT * variance.sqrt();
        Likely { likely, low: likely - reach, high: likely + reach }
    }

    /// Returns the count of a bowl with this much water in 100 g of stiff icing.
    pub fn count(&self, bowl: &str, water: Mass) -> Likely<Span> {
        let (ln, variance) = self.of(bowl, water);
        let reach = NINETY_PERCENT * variance.sqrt();
        let at = |ln: f64| Span::seconds(ln.min(20.0).exp());
        Likely { likely: at(ln), low: at(ln - reach), high: at(ln + reach) }
    }

    /// Returns the water in 100 g of stiff icing at which a bowl has this count, never less than none.
    pub fn water(&self, bowl: &str, target: Span) -> Likely<Mass> {
        let at = |deviations: f64| Mass::g(self.meets(bowl, target, deviations).max(0.0));
        Likely { likely: at(0.0), low: at(NINETY_PERCENT), high: at(-NINETY_PERCENT) }
    }

    /// Returns the logarithm of a bowl's count, with its variance.
    fn of(&self, bowl: &str, water: Mass) -> (f64, f64) {
        let (ln, variance) = self.belief.of(&self.weights(bowl, water));
        let is_new = !self.bowls.iter().any(|known| known == bowl);
        (ln, variance + if is_new { DEVIATIONS.2 * DEVIATIONS.2 } else { 0.0 })
    }

    /// Grams of water at which the line of a bowl, lowered by so many standard deviations, meets a target.
    fn meets(&self, bowl: &str, target: Span, deviations: f64) -> f64 {
        let stiff = self.weights(bowl, Mass::ZERO);
        let (ln, variance) = self.of(bowl, Mass::ZERO);
        let above = ln - target.to_seconds().ln();
        let (fall, fall_variance) = self.belief.of(&[0.0, 1.0]);
        let both = self.belief.together(&stiff, &[0.0, 1.0]);
        // (above - fall w)² = z² (variance - 2 both w + fall_variance w²)
        let z2 = deviations * deviations;
        let square = fall * fall - z2 * fall_variance;
        let linear = above * fall - z2 * both;
        let rest = above * above - z2 * variance;
        if square <= 0.0 {
            // So little is known of the fall that one side is open: none, or as much as halves the fall.
            return if deviations > 0.0 { 0.0 } else { 2.0 * above / fall.max(1e-6) };
        }
        let root = (linear * linear - square * rest).max(0.0).sqrt();
        (linear - root * deviations.signum()) / square
    }

    /// Weights of a, b and each δ in ln(count).
    fn weights(&self, bowl: &str, water: Mass) -> Vec<f64> {
        let own = self.bowls.iter().map(|known| f64::from(known == bowl));
        [1.0, -water.to_g()].into_iter().chain(own).collect()
    }
}

/// What is in a bowl.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Content {
    /// Stiff icing.
    pub stiff: Mass,
    /// Water that was added to it, that of gels included.
    pub water: Mass,
}

impl Content {
    /// Returns the water in 100 g of stiff icing.
    pub fn per_100_g(self) -> Mass {
        let per_gram = self.water / self.stiff;
        Mass::g(if per_gram.is_finite() { 100.0 * per_gram } else { 0.0 })
    }
}

/// Sugar and water in 100 g of stiff icing.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct MakeUp {
    /// Powdered sugar.
    pub sugar: Mass,
    /// Water.
    pub water: Mass,
}

/// What to do with a bowl.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Advice {
    /// It has its count.
    Ready,
    /// It is too thick.
    Thin {
        /// Water that brings it to the target.
        water: Likely<Mass>,
        /// What goes in first.
        first: Mass,
    },
    /// It is too thin.
    Thicken {
        /// Stiff icing of the same batch; nothing if that alone is not stiff enough.
        stiff: Option<Mass>,
        /// Powdered sugar instead.
        sugar: Mass,
    },
}

/// Says what brings a bowl to a count.
pub fn advise(
    thinning: &Thinning,
    bowl: &str,
    content: Content,
    target: Span,
    make_up: MakeUp,
) -> Advice {
    let now = content.per_100_g();
    let off = (thinning.count(bowl, now).likely / target).ln();
    if off.abs() <= NEAR {
        return Advice::Ready;
    }
    let hundreds = content.stiff / Mass::g(100.0);
    // Bowls of one batch with the same water are alike, so what counts is the water beyond what is in.
    let more = |deviations: f64| {
        Mass::g(thinning.beyond(bowl, now, target, deviations).max(0.0)) * hundreds
    };
    if off > 0.0 {
        let water =
            Likely { likely: more(0.0), low: more(NINETY_PERCENT), high: more(-NINETY_PERCENT) };
        let first = more(FOUR_IN_FIVE)
            .max(water.likely * LEAST_FIRST.to_one())
            .min(water.likely * FIRST.to_one());
        return Advice::Thin { water, first };
    }
    let wanted = now + Mass::g(thinning.beyond(bowl, now, target, 0.0).min(0.0));
    let stiff = (wanted > Mass::ZERO).then(|| content.stiff * (now / wanted - 1.0));
    let dry = (make_up.water + wanted).max(Mass::g(1.0));
    let sugar = make_up.sugar * ((make_up.water + now) / dry - 1.0) * hundreds;
    Advice::Thicken { stiff, sugar }
}

impl Thinning {
    /// Grams of water for 100 g of stiff icing beyond what is in; less than nothing where it is too thin.
    fn beyond(&self, bowl: &str, now: Mass, target: Span, deviations: f64) -> f64 {
        self.meets(bowl, target, deviations) - now.to_g()
    }
}

/// Returns how much of the thicker of two icings makes a mix of this count; nothing if it does not lie between them.
///
/// ```
/// use craft::consistency::{WaterCurve, mix};
/// use quantity::Span;
///
/// let curve = WaterCurve { ln_stiff: 3.685, per_gram: 0.24 };
/// // The middle of the water lies at the geometric mean of the counts: √(20 · 5) = 10.
/// let half = mix(curve, Span::seconds(20.0), Span::seconds(5.0), Span::seconds(10.0)).unwrap();
/// assert!((half.to_one() - 0.5).abs() < 0.02);
/// ```
pub fn mix(curve: WaterCurve, thick: Span, thin: Span, target: Span) -> Option<Share> {
    let water = |count: Span| (curve.ln_stiff - count.to_seconds().ln()) / curve.per_gram;
    let (thick, thin, target) = (water(thick), water(thin), water(target));
    let of_stiff = (thin - target) / (thin - thick);
    if !(0.0..=1.0).contains(&of_stiff) {
        return None;
    }
    let (one, other) = (of_stiff * (100.0 + thick), (1.0 - of_stiff) * (100.0 + thin));
    Some(Share::of_one(one / (one + other)))
}

/// Finds readings of one bowl that contradict each other: after more water it took clearly longer.
///
/// Returns the places of the later ones.
pub fn contradictions(readings: &[(Mass, Span)]) -> Vec<usize> {
    let longer = |(place, pair): (usize, &[(Mass, Span)])| {
        let [(water, count), (later_water, later_count)] = pair else { return None };
        // Water makes it thinner, so that less is doubted after more of it.
        let most = if later_water > water { READING } else { 2.0 * READING };
        let is_thicker = (*later_count / *count).ln() > most;
        (later_water >= water && is_thicker).then_some(place + 1)
    };
    readings.windows(2).enumerate().filter_map(longer).collect()
}

#[cfg(test)]
mod tests {
    use rand::{RngExt, SeedableRng};
    use rand_xoshiro::Xoshiro256PlusPlus;

    use super::*;

    const START: WaterCurve = WaterCurve { ln_stiff: 3.685, per_gram: 0.24 };
    /// Banner, How to Build a Gingerbread House, 2008: 907 g of sugar, 28 of dried white, 177 of water.
    const MAKE_UP: MakeUp = MakeUp { sugar: Mass::g(81.6), water: Mass::g(15.9) };

    fn test(bowl: &str, water_g: f64, seconds: f64) -> Test {
        let seen = Seen::After(Span::seconds(seconds));
        Test { bowl: bowl.to_owned(), water: Mass::g(water_g), seen }
    }

    fn bowl_of(stiff_g: f64, water_g: f64) -> Content {
        Content { stiff: Mass::g(stiff_g), water: Mass::g(water_g) }
    }

    #[test]
    fn a_reading_of_25_s_asks_for_water_and_a_smaller_first_step() {
        let known = learn_thinning(START, &[test("red", 0.0, 25.0)]);
        let target = Span::seconds(12.0);
        let Advice::Thin { water, first } =
            advise(&known, "red", bowl_of(300.0, 0.0), target, MAKE_UP)
        else {
            panic!("it is too thick");
        };
        // 3 · ln(25 / 12) / 0.24 = 9.2 g if the reading were exact; it is drawn a little to what is usual.
        assert!((8.5..11.5).contains(&water.likely.to_g()), "{water:?}");
        assert!(water.low < first && first < water.likely * 0.81, "{first:?} of {water:?}");
        assert!(water.high > water.likely && water.high < water.likely * 2.5, "{water:?}");
    }

    #[test]
    fn ready_is_near_the_target_and_a_step_that_was_taken_shows_how_this_bowl_thins() {
        let known = learn_thinning(START, &[test("red", 0.0, 25.0), test("red", 3.1, 12.4)]);
        let target = Span::seconds(12.0);
        assert_eq!(advise(&known, "red", bowl_of(300.0, 9.3), target, MAKE_UP), Advice::Ready);
        // Common practice, no source: a count of 10 s and a shake of 2 s means a flood is ready.
        let flood = learn_thinning(START, &[test("red", 4.0, 10.0), test("red", 4.0, 10.0)]);
        let found = advise(&flood, "red", bowl_of(100.0, 4.0), Span::seconds(10.5), MAKE_UP);
        assert_eq!(found, Advice::Ready);
        let slow = learn_thinning(START, &[test("red", 0.0, 25.0), test("red", 3.0, 20.0)]);
        assert!(slow.fall().likely < known.fall().likely);
        assert!(slow.fall().high - slow.fall().low < 2.0 * 1.645 * 0.084);
    }

    #[test]
    fn too_thin_is_mended_with_stiff_icing_or_sugar() {
        let tests = [test("red", 6.0, 6.0), test("red", 6.0, 6.0), test("red", 6.0, 6.0)];
        let known = learn_thinning(START, &tests);
        let content = bowl_of(200.0, 12.0);
        let target = Span::seconds(12.0);
        let Advice::Thicken { stiff: Some(stiff), sugar } =
            advise(&known, "red", content, target, MAKE_UP)
        else {
            panic!("it is too thin");
        };
        // With that stiff icing the water in 100 g is what the line wants.
        let mended = Content { stiff: content.stiff + stiff, water: content.water };
        let count = known.count("red", mended.per_100_g()).likely;
        assert!((count / target).ln().abs() < 1e-6, "{count:?}");
        // With that sugar its ratio to water is the one of the line.
        let wanted = known.water("red", target).likely.to_g();
        let at_target = 81.6 / (15.9 + wanted);
        let now = (2.0 * 81.6 + sugar.to_g()) / (2.0 * 15.9 + 12.0);
        assert!((now / at_target - 1.0).abs() < 1e-6, "{now} {at_target}");
        let thick = advise(&known, "red", bowl_of(200.0, 0.5), Span::seconds(60.0), MAKE_UP);
        assert!(matches!(thick, Advice::Thicken { stiff: None, .. }), "{thick:?}");
    }

    #[test]
    fn yes_and_no_narrow_the_count_like_seconds_do() {
        let seen = |seen: Seen| Test { bowl: "red".into(), water: Mass::g(4.0), seen };
        let at = |tests: &[Test]| learn_thinning(START, tests).count("red", Mass::g(4.0));
        let (before, limit) = (at(&[]), Span::seconds(12.0));
        let no = at(&[seen(Seen::NotBy(limit))]);
        let yes = at(&[seen(Seen::By(limit))]);
        assert!(no.likely > before.likely && yes.likely < before.likely);
        let both = at(&[seen(Seen::NotBy(limit)), seen(Seen::By(Span::seconds(15.0)))]);
        assert!(both.likely > limit && both.likely < Span::seconds(15.0), "{both:?}");
        assert!(both.high / both.low < before.high / before.low);
    }

    #[test]
    fn thicker_after_water_is_noticed() {
        let readings = [(0.0, 25.0), (3.0, 14.0), (5.0, 21.0), (6.0, 20.0)]
            .map(|(water, seconds)| (Mass::g(water), Span::seconds(seconds)));
        assert_eq!(contradictions(&readings), [2]);
        let grows = [(0.0, 25.0), (6.8, 30.0), (6.8, 34.0)]
            .map(|(water, seconds)| (Mass::g(water), Span::seconds(seconds)));
        assert_eq!(contradictions(&grows), [1]);
    }

    #[test]
    fn a_mix_of_two_icings_lies_between_them_or_nowhere() {
        let s = Span::seconds;
        let share = mix(START, s(22.0), s(9.0), s(13.0)).expect("it lies between");
        // By the water of each: (ln 22 - ln 13) : (ln 13 - ln 9) of thin to thick.
        assert!((share.to_one() - 0.41).abs() < 0.02, "{share:?}");
        assert_eq!(mix(START, s(22.0), s(9.0), s(30.0)), None);
        assert_eq!(mix(START, s(9.0), s(9.0), s(9.0)), None);
    }

    #[test]
    fn nine_of_ten_intervals_hold_the_water_that_is_right() {
        // 1,000 simulated kitchens drawn from what is believed before any test: four bowls of before with three counts each,
        // then one of today with a count and a "no".
        let mut rng = Xoshiro256PlusPlus::seed_from_u64(7);
        let mut normal = move || {
            let (u, v): (f64, f64) = (rng.random(), rng.random());
            (-2.0 * (1.0 - u).ln()).sqrt() * (2.0 * std::f64::consts::PI * v).cos()
        };
        let target = Span::seconds(12.0);
        let (mut n_held, mut before, mut after) = (0, 0.0, 0.0);
        for _ in 0..1000 {
            let (a, b) = (3.685 + 0.3 * normal(), 0.24 * (1.0 + 0.35 * normal()).max(0.1));
            let mut tests = Vec::new();
            let mut water_of_today = 0.0;
            for bowl in ["one", "two", "three", "four", "today"] {
                let stiff = a + 0.25 * normal();
                let mut read = |water: f64| (stiff - b * water + 0.12 * normal()).exp();
                let waters: &[f64] = if bowl == "today" { &[1.0] } else { &[0.0, 2.5, 5.0] };
                for &water in waters {
                    tests.push(test(bowl, water, read(water)));
                }
                if bowl == "today" {
                    let limit = Span::seconds(12.0);
                    let is_smooth = read(3.0) <= 12.0;
                    let seen = if is_smooth { Seen::By(limit) } else { Seen::NotBy(limit) };
                    tests.push(Test { bowl: bowl.into(), water: Mass::g(3.0), seen });
                    water_of_today = ((stiff - 12.0_f64.ln()) / b).max(0.0);
                }
            }
            let found = learn_thinning(START, &tests).water("today", target);
            let held = found.low.to_g()..=found.high.to_g();
            n_held += u32::from(held.contains(&water_of_today));
            let start = learn_thinning(START, &[]).water("today", target);
            before += (start.likely.to_g() - water_of_today).abs() / 1000.0;
            after += (found.likely.to_g() - water_of_today).abs() / 1000.0;
        }
        assert!((850..=950).contains(&n_held), "{n_held} of 1000");
        assert!(after < 0.4 * before, "{before} g before the tests, {after} g after");
    }

    #[test]
    fn nonsense_is_left_out() {
        let tests = [test("red", f64::NAN, 10.0), test("red", 1.0, 0.0), test("red", 1.0, -4.0)];
        let known = learn_thinning(START, &tests);
        assert_eq!(known.curve(), learn_thinning(START, &[]).curve());
        let nothing = advise(&known, "blue", bowl_of(0.0, 0.0), Span::seconds(12.0), MAKE_UP);
        assert!(matches!(nothing, Advice::Thin { first, .. } if first == Mass::ZERO));
    }
}
