//! What does this kitchen know of a number, and how sure is it?
//!
//! A number such as a depth or a drying time is above zero, so its logarithm is learned. Before any record it is the
//! start value x₀, which counts as much as `w` records; a record scatters around the truth by `s` in the logarithm:
//!
//! - ln x = (w ln x₀ + Σ ln xᵢ) / (w + n), n records xᵢ
//! - standard deviation of ln x: s / √(w + n); 90 % of its probability lies within 1.645 of them
//!
//! That is Bayes' rule for a normal number of known scatter with a normal prior, in closed form.
//! Numbers that hang together, such as a line and its slope, are learned by the same rule: each record tells
//! of one weighted sum of them.
//!
//! Source: Gelman, Carlin, Stern, Dunson, Vehtari, Rubin, Bayesian Data Analysis, 3rd edition, 2013, section 2.5; Rasmussen
//! and Williams, Gaussian Processes for Machine Learning, 2006, section 3.9, for records that only say "more" or "less".
//!
//! # Worked example
//! A start value of 2.2 mm that counts as two records, and two records of 2.0 and 1.8 mm:
//! exp((2 ln 2.2 + ln 2.0 + ln 1.8) / 4) = 2.04 mm.
//! ```
//! use craft::learning::{Trust, learn};
//! use quantity::{Length, Share};
//!
//! let trust = Trust { worth: 2, scatter: Share::of_one(0.15) };
//! let depth = learn(Length::mm(2.2), trust, &[Length::mm(2.0), Length::mm(1.8)]);
//! assert!((depth.likely.to_mm() - 2.04).abs() < 0.005);
//! assert!(depth.low.to_mm() > 1.7 && depth.high.to_mm() < 2.4);
//! ```

use std::{
    f64::consts::{PI, SQRT_2},
    ops::{Div, Mul},
};

use quantity::{Share, Span};

/// Standard deviations on either side that hold 90 % of a normal distribution.
pub(crate) const NINETY_PERCENT: f64 = 1.645;

/// A number that is not quite known: its middle, and the ends between which it lies with 90 % probability.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Likely<T> {
    /// As likely too low as too high.
    pub likely: T,
    /// Below it with 5 % probability.
    pub low: T,
    /// Above it with 5 % probability.
    pub high: T,
}

impl<T> Likely<T> {
    /// Converts all three.
    pub fn map<U>(self, convert: impl Fn(T) -> U) -> Likely<U> {
        Likely { likely: convert(self.likely), low: convert(self.low), high: convert(self.high) }
    }
}

/// How much a start value is trusted, and how far one record is off.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Trust {
    /// Records the start value counts as much as.
    pub worth: u32,
    /// How far a record lies from the truth, as a share of it (one standard deviation).
    pub scatter: Share,
}

/// Learns a number above zero from its records; records that are not above zero are left out.
// tidy: ratio
pub fn learn<T>(start: T, trust: Trust, records: &[T]) -> Likely<T>
where
    T: Copy + Mul<f64, Output = T> + Div<T, Output = f64>,
{
    let steps = records.iter().map(|&record| (record / start).ln()).filter(|ln| ln.is_finite());
    let (mut n, mut sum) = (0.0, 0.0);
    for step in steps {
        n += 1.0;
        sum += step;
    }
    let weight = f64::from(trust.worth.max(1)) + n;
    let middle = sum / weight;
    let reach = NINETY_PERCENT * trust.scatter.to_one() / weight.sqrt();
    let at = |ln: f64| start * ln.exp();
    Likely { likely: at(middle), low: at(middle - reach), high: at(middle + reach) }
}

/// What was seen of something that takes its time: a count, a skin that forms.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Seen {
    /// It was there after just this long.
    After(Span),
    /// It was there by then, nobody knows since when.
    By(Span),
    /// It was not there by then.
    NotBy(Span),
}

impl Seen {
    /// The record of the logarithm of the time; nothing for a time that is not above zero.
    pub(crate) fn record(self) -> Option<Record> {
        let (Self::After(span) | Self::By(span) | Self::NotBy(span)) = self;
        let ln = span.to_seconds().ln();
        ln.is_finite().then_some(match self {
            Self::After(_) => Record::Is(ln),
            Self::By(_) => Record::AtMost(ln),
            Self::NotBy(_) => Record::MoreThan(ln),
        })
    }

    /// Whether the time itself was read.
    pub(crate) fn is_reading(self) -> bool {
        matches!(self, Self::After(_))
    }
}

/// What is known of some numbers together: a normal distribution.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Belief {
    mean: Vec<f64>,
    covariance: Vec<Vec<f64>>,
}

/// What a record says of a weighted sum, which it reads with a scatter of its own.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) enum Record {
    /// It is this much.
    Is(f64),
    /// It is more than this.
    MoreThan(f64),
    /// It is no more than this.
    AtMost(f64),
}

impl Record {
    /// Takes a known part off.
    pub(crate) fn less(self, part: f64) -> Self {
        match self {
            Self::Is(value) => Self::Is(value - part),
            Self::MoreThan(limit) => Self::MoreThan(limit - part),
            Self::AtMost(limit) => Self::AtMost(limit - part),
        }
    }
}

impl Belief {
    /// Begins with independent numbers, each with mean and standard deviation.
    pub(crate) fn start(numbers: &[(f64, f64)]) -> Self {
        let n = numbers.len();
        let mut covariance = vec![vec![0.0; n]; n];
        for (place, (_, deviation)) in numbers.iter().enumerate() {
            covariance[place][place] = deviation * deviation;
        }
        Self { mean: numbers.iter().map(|(mean, _)| *mean).collect(), covariance }
    }

    /// Returns mean and variance of a weighted sum; weights beyond the last given are zero.
    pub(crate) fn of(&self, weights: &[f64]) -> (f64, f64) {
        let reach = self.reach(weights);
        (dot(weights, &self.mean), dot(weights, &reach).max(0.0))
    }

    /// Returns how two weighted sums vary together.
    pub(crate) fn together(&self, one: &[f64], other: &[f64]) -> f64 {
        dot(one, &self.reach(other))
    }

    /// Learns from a record of a weighted sum, read with this standard deviation.
    pub(crate) fn learn(&mut self, weights: &[f64], record: Record, scatter: f64) {
        let (mean, variance) = self.of(weights);
        let noise = scatter * scatter;
        if variance <= 0.0 {
            return;
        }
        let (new_mean, new_variance) = match record {
            Record::Is(value) => {
                let gain = variance / (variance + noise);
                (mean + gain * (value - mean), variance * (1.0 - gain))
            }
            Record::MoreThan(limit) => cut_off(mean, variance, noise, limit, 1.0),
            Record::AtMost(limit) => cut_off(mean, variance, noise, limit, -1.0),
        };
        let reach = self.reach(weights);
        let shift = (new_mean - mean) / variance;
        let shrink = (variance - new_variance) / (variance * variance);
        for (place, row) in self.covariance.iter_mut().enumerate() {
            self.mean[place] += shift * reach[place];
            for (value, other) in row.iter_mut().zip(&reach) {
                *value -= shrink * reach[place] * other;
            }
        }
    }

    /// Covariance of each number with a weighted sum.
    fn reach(&self, weights: &[f64]) -> Vec<f64> {
        self.covariance.iter().map(|row| dot(row, weights)).collect()
    }
}

/// Mean and variance of a normal number that is known to lie on one side of a limit, read with noise
/// (Rasmussen and Williams 2006, equations 3.85 to 3.87).
fn cut_off(mean: f64, variance: f64, noise: f64, limit: f64, side: f64) -> (f64, f64) {
    let spread = (variance + noise).sqrt();
    // Farther out the cumulative distribution is too small for a float.
    let z = (side * (mean - limit) / spread).clamp(-30.0, 30.0);
    let density = (-0.5 * z * z).exp() / (2.0 * PI).sqrt();
    let ratio = density / (0.5 * libm::erfc(-z / SQRT_2));
    let new_mean = mean + side * variance * ratio / spread;
    let new_variance = variance - variance * variance * ratio * (z + ratio) / (spread * spread);
    (new_mean, new_variance.max(0.0))
}

fn dot(one: &[f64], other: &[f64]) -> f64 {
    one.iter().zip(other).map(|(one, other)| one * other).sum()
}

#[cfg(test)]
mod tests {
    use quantity::Mass;

    use super::*;

    #[test]
    fn the_start_value_gives_way_to_records_and_the_ends_draw_together() {
        let trust = Trust { worth: 3, scatter: Share::of_one(0.2) };
        let start = Mass::g(10.0);
        let mut width = f64::INFINITY;
        for n in [0, 1, 4, 16, 64] {
            let found = learn(start, trust, &vec![Mass::g(14.0); n]);
            // (3 ln 10 + n ln 14) / (3 + n), ± 1.645 · 0.2 / √(3 + n).
            let weight = 3.0 + n as f64;
            let ln = (3.0 * 10.0_f64.ln() + n as f64 * 14.0_f64.ln()) / weight;
            assert!((found.likely.to_g() - ln.exp()).abs() < 1e-9);
            let ends = (found.high / found.low).ln();
            assert!((ends - 2.0 * 1.645 * 0.2 / weight.sqrt()).abs() < 1e-9);
            assert!(ends < width);
            width = ends;
        }
        let nonsense = [Mass::g(0.0), Mass::g(-3.0), Mass::g(f64::NAN)];
        assert_eq!(learn(start, trust, &nonsense), learn(start, trust, &[]));
    }

    #[test]
    fn a_line_through_anscombe_s_points_is_the_published_one() {
        // F. J. Anscombe, Graphs in Statistical Analysis, The American Statistician 27, 1973: y = 3 + 0.5 x, standard errors
        // 1.125 and 0.118, residual variance 13.763 / 9. A prior that says nearly nothing leaves the least-squares line.
        let points = [
            (10.0, 8.04),
            (8.0, 6.95),
            (13.0, 7.58),
            (9.0, 8.81),
            (11.0, 8.33),
            (14.0, 9.96),
            (6.0, 7.24),
            (4.0, 4.26),
            (12.0, 10.84),
            (7.0, 4.82),
            (5.0, 5.68),
        ];
        let mut line = Belief::start(&[(0.0, 1e4), (0.0, 1e4)]);
        for (x, y) in points {
            line.learn(&[1.0, x], Record::Is(y), (13.763_f64 / 9.0).sqrt());
        }
        let (at_zero, its_variance) = line.of(&[1.0, 0.0]);
        let (slope, slope_variance) = line.of(&[0.0, 1.0]);
        assert!((at_zero - 3.0).abs() < 1e-3 && (slope - 0.5).abs() < 2e-4, "{at_zero} {slope}");
        assert!((its_variance.sqrt() - 1.125).abs() < 1e-3);
        assert!((slope_variance.sqrt() - 0.118).abs() < 5e-4);
    }

    #[test]
    fn half_a_normal_distribution_has_its_closed_form() {
        // Mean √(2/π), variance 1 - 2/π of the upper half of the standard normal distribution.
        let (mean, variance) = cut_off(0.0, 1.0, 0.0, 0.0, 1.0);
        assert!((mean - (2.0 / PI).sqrt()).abs() < 1e-12);
        assert!((variance - (1.0 - 2.0 / PI)).abs() < 1e-12);
        let (below, same) = cut_off(0.0, 1.0, 0.0, 0.0, -1.0);
        assert!((below + mean).abs() < 1e-12 && (same - variance).abs() < 1e-12);
        // A record hard to believe moves, but breaks nothing.
        for limit in [-1e9, -8.0, 8.0, 40.0, 1e9] {
            let (mean, variance) = cut_off(0.0, 1.0, 0.01, limit, 1.0);
            assert!(mean.is_finite() && (0.0..=1.0).contains(&variance), "{limit}");
        }
    }

    #[test]
    fn records_may_come_in_any_order() {
        let records = [([1.0, 0.5], 2.0), ([1.0, 3.0], 0.7), ([0.0, 1.0], -0.3)];
        let learned = |order: [usize; 3]| {
            let mut belief = Belief::start(&[(1.0, 2.0), (0.0, 0.5)]);
            for place in order {
                let (weights, value) = records[place];
                belief.learn(&weights, Record::Is(value), 0.3);
            }
            (belief.of(&[1.0, 0.0]), belief.of(&[0.0, 1.0]), belief.together(&[1.0], &[0.0, 1.0]))
        };
        let (one, other) = (learned([0, 1, 2]), learned([2, 0, 1]));
        for (one, other) in [(one.0, other.0), (one.1, other.1), ((one.2, 0.0), (other.2, 0.0))] {
            assert!((one.0 - other.0).abs() < 1e-9 && (one.1 - other.1).abs() < 1e-9);
        }
    }
}
