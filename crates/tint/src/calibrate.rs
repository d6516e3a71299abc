//! What does this very gel do, by the samples mixed with it?
//!
//! A gel whose bands are known roughly is corrected by three numbers: the logarithm of its strength, a shift of its
//! bands in nanometers, and a tail: absorption everywhere, as a share of its peak.
//! Their most likely values given the samples and the prior (maximum a posteriori) are found by least squares on
//! differences in Lab, each divided by how well a shade is read, and on the numbers divided by how well they were known.
//! The curvature there gives what is still unknown.
//! Without samples the prior comes back.
//!
//! One sample of a middle shade (about 10 mg of dye in 100 g) tells all three; a pastel tells the strength, a deep shade the
//! tail.

use ::palette::Lab;

use crate::{
    Shade,
    film::shade,
    least_squares::{minimize, normal_equations, solve},
    recipe::Gel,
    spectrum::Spectrum,
};

/// A sample that was mixed and looked at.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Sample {
    /// Grams of gel in 100 g of icing.
    pub grams: f64,
    /// The shade it has.
    pub seen: Shade,
}

/// What is known of a gel: a number with its standard deviation.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Estimate {
    /// The most likely value.
    pub value: f64,
    /// Its standard deviation.
    pub deviation: f64,
}

/// A gel corrected by its samples.
#[derive(Clone, Debug, PartialEq)]
pub struct Calibrated {
    /// The gel as it is most likely.
    pub gel: Gel,
    /// Natural logarithm of its strength against the gel it was taken for.
    pub strength: Estimate,
    /// Shift of its bands, in nanometers.
    pub shift_nm: Estimate,
    /// Tail, as a share of its peak.
    pub tail: Estimate,
}

/// How well a shade is read from a photograph beside plain icing, in L, a and b (common practice, no source).
pub(crate) const READING: [f64; 3] = [1.5, 1.5, 2.0];

/// How well strength, shift and tail of a gel are known by its label (common practice, no source).
const PRIOR: [f64; 3] = [0.7, 4.0, 0.01];

/// Samples looked at; later ones are left out.
const MOST_SAMPLES: usize = 8;

/// Residuals of the samples and of the prior.
const N_RESIDUALS: usize = 3 * MOST_SAMPLES + 3;

/// Corrects a gel by samples of it, mixed into icing with q = K/S of `base`.
pub fn calibrate(gel: &Gel, base: &Spectrum, samples: &[Sample]) -> Calibrated {
    let samples = samples.get(..MOST_SAMPLES.min(samples.len())).unwrap_or_default();
    let residuals = |numbers: &[f64; 3]| {
        let mut r = [0.0; N_RESIDUALS];
        let of_samples = samples.iter().flat_map(|sample| {
            let q = base.plus(&corrected(&gel.per_gram, numbers), sample.grams);
            let (Shade(found), Shade(seen)) = (shade(&q), sample.seen);
            apart(found, seen)
        });
        let of_prior = numbers.iter().zip(PRIOR).map(|(number, deviation)| number / deviation);
        for (slot, value) in r.iter_mut().zip(of_samples.chain(of_prior)) {
            *slot = value;
        }
        r
    };
    let with_slopes = |numbers: &[f64; 3]| {
        let r = residuals(numbers);
        let mut slopes = [[0.0; 3]; N_RESIDUALS];
        for (column, deviation) in PRIOR.into_iter().enumerate() {
            let step = 1e-4 * deviation;
            let mut moved = *numbers;
            moved[column] += step;
            for ((slope, ahead), r) in slopes.iter_mut().zip(residuals(&moved)).zip(r) {
                slope[column] = (ahead - r) / step;
            }
        }
        (r, slopes)
    };
    let (numbers, _) = minimize([0.0; 3], with_slopes);
    let (r, slopes) = with_slopes(&numbers);
    let (information, _) = normal_equations(&r, &slopes);
    let deviation = |at: usize| {
        let mut unit = [0.0; 3];
        unit[at] = 1.0;
        let variance = solve(information, unit).map_or(PRIOR[at] * PRIOR[at], |row| row[at]);
        variance.max(0.0).sqrt()
    };
    let estimate = |at: usize| Estimate { value: numbers[at], deviation: deviation(at) };
    Calibrated {
        gel: Gel { name: gel.name.clone(), per_gram: corrected(&gel.per_gram, &numbers) },
        strength: estimate(0),
        shift_nm: estimate(1),
        tail: estimate(2),
    }
}

/// Returns a gel's absorption with strength, shift and tail; it never falls below zero.
fn corrected(per_gram: &Spectrum, [strength, shift_nm, tail]: &[f64; 3]) -> Spectrum {
    let level = tail * per_gram.peak();
    let factor = strength.clamp(-5.0, 5.0).exp();
    per_gram.shifted(shift_nm.clamp(-60.0, 60.0)).map(|band| factor * (band + level).max(0.0))
}

fn apart(
    found: Lab<palette::white_point::D65, f64>,
    seen: Lab<palette::white_point::D65, f64>,
) -> [f64; 3] {
    let off = [found.l - seen.l, found.a - seen.a, found.b - seen.b];
    [0, 1, 2].map(|axis: usize| off[axis] / READING[axis])
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::dye::{dye, plain_icing};

    fn blue() -> Gel {
        Gel::of_dyes("blue", [(dye("Blue 1").expect("there is data of it"), 40.0)])
    }

    /// The gel a bottle really holds: stronger, shifted, with a longer tail.
    fn bottle(strength: f64, shift_nm: f64, tail: f64) -> Gel {
        let per_gram = corrected(&blue().per_gram, &[strength, shift_nm, tail]);
        Gel { name: "blue".into(), per_gram }
    }

    fn sample(gel: &Gel, grams: f64) -> Sample {
        Sample { grams, seen: shade(&plain_icing().plus(&gel.per_gram, grams)) }
    }

    #[test]
    fn without_samples_the_prior_comes_back() {
        let found = calibrate(&blue(), &plain_icing(), &[]);
        assert_eq!(found.gel, blue());
        for (estimate, prior) in [(found.strength, 0.7), (found.shift_nm, 4.0), (found.tail, 0.01)]
        {
            assert!(estimate.value.abs() < 1e-9 && (estimate.deviation - prior).abs() < 1e-6);
        }
    }

    #[test]
    fn one_middle_sample_tells_the_strength_and_brings_other_doses_nearer() {
        let truth = bottle(0.6, 3.0, 0.01);
        let found = calibrate(&blue(), &plain_icing(), &[sample(&truth, 0.25)]);
        assert!((found.strength.value - 0.6).abs() < 0.2, "{:?}", found.strength);
        assert!(found.strength.deviation < 0.2, "{:?}", found.strength);
        for grams in [0.05, 0.5, 1.5] {
            let q = |gel: &Gel| shade(&plain_icing().plus(&gel.per_gram, grams));
            let (before, after) =
                (q(&blue()).difference(q(&truth)), q(&found.gel).difference(q(&truth)));
            assert!(after < 0.5 * before && after < 3.0, "{grams} g: {before} to {after}");
        }
    }

    #[test]
    fn more_samples_leave_less_unknown() {
        let truth = bottle(-0.3, -2.0, 0.004);
        let samples: Vec<Sample> = [0.03, 0.2, 1.2].map(|grams| sample(&truth, grams)).to_vec();
        let deviations: Vec<[f64; 3]> = (0..=3)
            .map(|n| {
                let found = calibrate(&blue(), &plain_icing(), &samples[..n]);
                [found.strength, found.shift_nm, found.tail].map(|one| one.deviation)
            })
            .collect();
        for (fewer, more) in deviations.iter().zip(&deviations[1..]) {
            for (fewer, more) in fewer.iter().zip(more) {
                assert!(more <= &(fewer * 1.02), "{deviations:?}");
            }
        }
    }
}
