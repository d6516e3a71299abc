//! The gels of a kitchen as their labels and samples tell them.

use drawing::Color;
use quantity::{Mass, Share};
use tint::{
    calibrate::{Estimate, Sample, calibrate},
    deepen::{GUESS, Pair, learn},
    dye::{Dye, dye, plain_icing},
    film::shade,
    limits::{Law, warning},
    recipe::{Gel, Wish, mixed, recipes},
    spectrum::Spectrum,
};

use crate::{
    icing::shade_of,
    kitchen,
    learning::{Likely, NINETY_PERCENT},
    tinting::{MOST_GRAMS, Tint},
};

/// Gels whose dyes are known, and how colors deepen over night in this kitchen.
#[derive(Clone, Debug)]
pub struct Shelf<'a> {
    pub(super) bottles: Vec<Bottle<'a>>,
    /// What each bottle does, in the same order.
    pub(super) gels: Vec<Gel>,
    /// Logarithm of the factor by which colors deepen over night.
    pub(super) deepening: f64,
}

/// A gel that is there.
#[derive(Clone, Debug)]
pub(super) struct Bottle<'a> {
    pub(super) owned: &'a kitchen::Gel,
    /// Its dyes with the milligrams likely in a gram of it.
    pub(super) dyes: Vec<(&'static Dye, f64)>,
    /// Logarithm of its strength against what its label lets one guess.
    strength: Estimate,
}

/// What is known of a gel.
#[derive(Clone, Debug, PartialEq)]
pub struct KnownGel {
    /// Its name.
    pub name: String,
    /// Shades it is likely to give, by its mass in 100 g of icing.
    pub swatches: Vec<(Mass, Color)>,
    /// Its strength against what its label lets one guess.
    pub strength: Likely<Share>,
    /// Samples that were learned from.
    pub n_samples: usize,
}

/// Masses of gel in 100 g of icing that show it from pastel to deep.
const LADDER: [Mass; 5] = [Mass::g(0.02), Mass::g(0.07), Mass::g(0.2), Mass::g(0.6), Mass::g(1.8)];

/// A gel of the dyes on its label, and the share of each.
struct Labeled {
    gel: Gel,
    shares: Vec<(&'static Dye, f64)>,
}

impl<'a> Shelf<'a> {
    /// Reads the labels and samples of gels; those that name no dye there is data of are left out.
    pub fn of(gels: &'a [kitchen::Gel]) -> Self {
        let mut shelf = Self { bottles: Vec::new(), gels: Vec::new(), deepening: GUESS.value };
        let mut pairs = Vec::new();
        for owned in gels {
            let Some(Labeled { gel, shares }) = by_its_dyes(owned) else { continue };
            let samples: Vec<Sample> = owned
                .samples
                .iter()
                .map(|sample| Sample {
                    grams: sample.per_100_g.to_g(),
                    seen: shade_of(sample.seen),
                })
                .collect();
            let calibrated = calibrate(&gel, &plain_icing(), &samples);
            // A stronger bottle is taken to hold more dye.
            let mg_per_g = owned.dye_mg_per_g * calibrated.strength.value.exp();
            let dyes = shares.into_iter().map(|(dye, share)| (dye, share * mg_per_g)).collect();
            pairs.extend(owned.samples.iter().filter_map(|sample| {
                Some(Pair {
                    mixed: plain_icing().plus(&calibrated.gel.per_gram, sample.per_100_g.to_g()),
                    fresh: shade_of(sample.seen),
                    next_day: shade_of(sample.next_day?),
                })
            }));
            shelf.bottles.push(Bottle { owned, dyes, strength: calibrated.strength });
            shelf.gels.push(calibrated.gel);
        }
        shelf.deepening = learn(&plain_icing(), GUESS, &pairs).value;
        shelf
    }

    /// Returns what is known of each gel, as pictures and as a number.
    pub fn known(&self) -> Vec<KnownGel> {
        let one = |(bottle, gel): (&Bottle<'_>, &Gel)| {
            let swatch = |mass: Mass| {
                let mixed = plain_icing().plus(&gel.per_gram, mass.to_g());
                let [red, green, blue] = shade(&mixed).to_srgb();
                (mass, Color { red, green, blue })
            };
            let Estimate { value, deviation } = bottle.strength;
            let reach = NINETY_PERCENT * deviation;
            let ln = Likely { likely: value, low: value - reach, high: value + reach };
            KnownGel {
                name: bottle.owned.name.clone(),
                swatches: LADDER.map(swatch).to_vec(),
                strength: ln.map(|ln| Share::of_one(ln.exp())),
                n_samples: bottle.owned.samples.len(),
            }
        };
        self.bottles.iter().zip(&self.gels).map(one).collect()
    }

    /// Returns what the label must say of the dyes of a tint, dye by dye.
    pub fn label_words(&self, law: Option<Law>, tint: &Tint) -> Vec<String> {
        let Some(law) = law else { return Vec::new() };
        let is_in =
            |bottle: &&Bottle<'_>| tint.doses.iter().any(|dose| dose.gel == bottle.owned.name);
        let mut words: Vec<String> = self
            .bottles
            .iter()
            .filter(is_in)
            .flat_map(|bottle| &bottle.dyes)
            .filter_map(|(dye, _)| {
                Some(format!("{} ({}): {}", dye.name, dye.number, warning(law, &dye.name)?))
            })
            .collect();
        words.sort_unstable();
        words.dedup();
        words
    }

    /// Returns q = K/S of icing that already has a color, by the gels that come nearest to it.
    pub(super) fn leftover(&self, color: Color) -> Spectrum {
        let wish = Wish {
            base: plain_icing(),
            target: shade_of(color),
            gels: &self.gels,
            most_gels: 3,
            most_grams: MOST_GRAMS,
        };
        let found = recipes(&wish, 1).pop();
        found.map_or(wish.base, |recipe| mixed(&wish.base, &self.gels, &recipe.grams))
    }
}

/// Makes a gel of the dyes its label names, in the proportion that gives its swatch.
fn by_its_dyes(gel: &kitchen::Gel) -> Option<Labeled> {
    let dyes: Vec<&'static Dye> = gel.contains.iter().filter_map(|name| dye(name)).collect();
    let alone: Vec<Gel> =
        dyes.iter().map(|dye| Gel::of_dyes(&dye.name, [(*dye, gel.dye_mg_per_g)])).collect();
    let wish = Wish {
        base: plain_icing(),
        target: shade_of(gel.swatch),
        gels: &alone,
        most_gels: 3,
        most_grams: 5.0 * MOST_GRAMS,
    };
    // A label that names dyes whose mix is far from the swatch still names them: then each counts alike.
    let found = recipes(&wish, 8)
        .into_iter()
        .min_by(|one, other| one.difference.total_cmp(&other.difference));
    let shares: Vec<(usize, f64)> = match found {
        Some(recipe) => {
            let total = recipe.total_grams();
            recipe.grams.iter().map(|&(place, grams)| (place, grams / total)).collect()
        }
        None => (0..alone.len()).map(|place| (place, 1.0 / alone.len() as f64)).collect(),
    };
    let nothing = Spectrum::from_fn(|_| 0.0);
    let per_gram = mixed(&nothing, &alone, &shares);
    (per_gram.peak() > 0.0).then(|| Labeled {
        gel: Gel { name: gel.name.clone(), per_gram },
        shares: shares
            .iter()
            .filter_map(|&(place, share)| Some((*dyes.get(place)?, share)))
            .collect(),
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::document::start_kitchen;
    use quantity::Mass;
    use tint::film::shade;

    fn red(kitchen: &kitchen::Kitchen) -> &kitchen::Gel {
        kitchen.gels.iter().find(|gel| gel.name == "red").expect("the start kitchen has it")
    }

    #[test]
    fn a_gel_of_one_dye_is_that_dye() {
        let kitchen = start_kitchen();
        let labeled = by_its_dyes(red(&kitchen)).expect("its dye is known");
        let alone = dye("Red 40").expect("there is data of it").per_mg.map(|q| 60.0 * q);
        let off = labeled.gel.per_gram.plus(&alone, -1.0);
        assert!(off.bands().iter().all(|off| off.abs() < 1e-9), "{off:?}");
        let shelf = Shelf::of(std::slice::from_ref(red(&kitchen)));
        let [(dye, mg)] = shelf.bottles[0].dyes[..] else { panic!("{shelf:?}") };
        assert!(dye.number == "E129" && (mg - 60.0).abs() < 1e-6, "{mg}");
    }

    #[test]
    fn a_bottle_that_names_no_dye_is_left_out() {
        let mut gel = red(&start_kitchen()).clone();
        gel.contains = vec!["water".into(), "sugar".into()];
        assert!(Shelf::of(&[gel]).gels.is_empty());
    }

    #[test]
    fn samples_seen_again_the_next_day_teach_how_colors_deepen() {
        let mut kitchen = start_kitchen();
        kitchen.gels.retain(|gel| gel.name == "red");
        assert_eq!(Shelf::of(&kitchen.gels).deepening, GUESS.value);
        let gel = by_its_dyes(&kitchen.gels[0]).expect("its dye is known").gel;
        let color = |grams: f64| {
            let [red, green, blue] = shade(&plain_icing().plus(&gel.per_gram, grams)).to_srgb();
            Color { red, green, blue }
        };
        let sample = |grams: f64, next: f64| kitchen::GelSample {
            per_100_g: Mass::g(grams),
            seen: color(grams),
            next_day: Some(color(grams * next)),
        };
        // A bottle that does not deepen, and one that doubles.
        for (factor, expected) in [(1.0, 0.0), (2.0, 2.0_f64.ln())] {
            kitchen.gels[0].samples = [0.1, 0.3, 0.6].map(|grams| sample(grams, factor)).to_vec();
            let found = Shelf::of(&kitchen.gels).deepening;
            assert!((found - expected).abs() < 0.12, "{factor}: {found}");
        }
    }
}
