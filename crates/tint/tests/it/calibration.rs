//! Gels whose true strength, shift and tail are drawn by chance, and what one sample of each tells.

use rand::{RngExt, SeedableRng};
use rand_xoshiro::Xoshiro256PlusPlus;
use tint::{
    Shade,
    calibrate::{Sample, calibrate},
    dye::{dye, plain_icing},
    film::shade,
    recipe::Gel,
};

/// Bottles drawn of each gel.
const N_BOTTLES: usize = 60;

/// Normal deviates: G. E. P. Box and M. E. Muller, 1958.
fn normal(chance: &mut Xoshiro256PlusPlus) -> f64 {
    let [one, other] = [(); 2].map(|()| chance.random::<f64>());
    (-2.0 * (1.0 - one).ln()).sqrt() * (std::f64::consts::TAU * other).cos()
}

/// A bottle that differs from its label as the prior says: strength 0.7, shift 4 nm, tail 1 % of the peak.
fn bottle(label: &Gel, chance: &mut Xoshiro256PlusPlus) -> Gel {
    let factor = (0.7 * normal(chance)).exp();
    let moved = label.per_gram.shifted(4.0 * normal(chance));
    let tail = 0.01 * normal(chance) * label.per_gram.peak();
    let per_gram = moved.map(|band| factor * (band + tail).max(0.0));
    Gel { name: label.name.clone(), per_gram }
}

/// Reads a shade with an error of 1.5 in L and a, 2 in b.
fn seen(of: Shade, chance: &mut Xoshiro256PlusPlus) -> Shade {
    let [x, y, z] = lab(of);
    let mut read = |value: f64, deviation: f64| value + deviation * normal(chance);
    Shade::from_lab(read(x, 1.5), read(y, 1.5), read(z, 2.0))
}

fn lab(shade: Shade) -> [f64; 3] {
    let (sin, cos) = shade.hue().to_radians().sin_cos();
    [shade.lightness(), shade.chroma() * cos, shade.chroma() * sin]
}

fn median(mut values: Vec<f64>) -> f64 {
    values.sort_by(f64::total_cmp);
    values.get(values.len() / 2).copied().unwrap_or(f64::NAN)
}

#[test]
fn one_middle_sample_halves_the_error_at_other_doses() {
    let mut chance = Xoshiro256PlusPlus::seed_from_u64(7);
    let shade_of = |gel: &Gel, grams: f64| shade(&plain_icing().plus(&gel.per_gram, grams));
    for name in ["Blue 1", "Red 40", "Yellow 5", "Yellow 6", "Carmoisine"] {
        // One milligram in a gram, so that grams of gel are milligrams of dye.
        let label = Gel::of_dyes(name, [(dye(name).expect("there is data of it"), 1.0)]);
        let (mut before, mut after) = (Vec::new(), Vec::new());
        for _ in 0..N_BOTTLES {
            let truth = bottle(&label, &mut chance);
            let sample = Sample { grams: 10.0, seen: seen(shade_of(&truth, 10.0), &mut chance) };
            let found = calibrate(&label, &plain_icing(), &[sample]).gel;
            for mg in [1.0, 3.0, 30.0, 80.0] {
                let true_shade = shade_of(&truth, mg);
                before.push(shade_of(&label, mg).difference(true_shade));
                after.push(shade_of(&found, mg).difference(true_shade));
            }
        }
        let (before, after) = (median(before), median(after));
        assert!(after <= 0.5 * before, "{name}: {before:.1} to {after:.1}");
    }
}
