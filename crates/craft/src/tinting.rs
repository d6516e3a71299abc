//! Which gels bring each bowl to its color, and how much of each?
//!
//! The dyes of a gel are those it names on its label; their proportion is the one that gives its swatch, and together
//! they are so many milligrams in a gram of gel.
//! Samples of a gel correct its strength, its hue and its depth ([`tint::calibrate`]).
//! With that, [`tint::recipe`] seeks at most three gels for the color of a bowl, and the grams for 100 g of icing are
//! brought to what is weighed out fresh.
//!
//! A dose below a drop and a half is not dosed from the bottle but from a mix of one part of gel with fifty of icing
//! (common practice, no source).
//!
//! How strong a gel is, its label does not say: without samples amounts are likely, not sure.
//!
//! # Worked example
//! 0.1 g of gel for 100 g of icing into 150 g of it are 0.15 g, or 4 drops of 0.04 g.

use drawing::Color;
use quantity::Mass;
use tint::{
    Shade,
    calibrate::{Sample, calibrate},
    dye::{dye, plain_icing},
    film::shade,
    recipe::{Gel, Recipe, Wish, mixed, recipes},
};

use crate::{
    heads_up::{HeadsUp, Severity, Subject},
    icing::{Bowl, IcingPlan},
    kitchen::{self, Jurisdiction, Kitchen},
};

/// How a bowl gets its color.
#[derive(Clone, Debug, PartialEq)]
pub struct Tint {
    /// What goes in, the most first.
    pub doses: Vec<Dose>,
    /// The color it is likely to have.
    pub expected: Color,
    /// How far that is from the color wanted (CIEDE2000); below 2 one hardly sees it.
    pub difference: f64,
}

/// One gel of a bowl.
#[derive(Clone, Debug, PartialEq)]
pub struct Dose {
    /// Its name.
    pub gel: String,
    /// How much of it.
    pub mass: Mass,
    /// How it is measured.
    pub measure: Measure,
}

/// How a dose is measured.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Measure {
    /// By drops from the bottle.
    Drops(u32),
    /// By the mass of a mix of one part of gel with fifty of icing.
    Mix(Mass),
}

/// Most gel in 100 g of icing, in grams: more thins it and tastes (common practice, no source).
const MOST_GRAMS: f64 = 2.0;

/// Fewer drops than this are not counted but taken from a mix (common practice, no source).
const LEAST_DROPS: f64 = 1.5;

/// Parts of icing a part of gel is mixed with (common practice, no source).
const MIX: f64 = 50.0;

/// Less of a mix than this is not weighed on a kitchen scale (common practice, no source).
const LEAST_MIX: Mass = Mass::g(0.1);

/// Beyond this difference (CIEDE2000) gels are not likely to reach a color: what a gel does is known to about half of it
/// before it was measured (our own simulation of strength, shift and tail).
const OUT_OF_REACH: f64 = 8.0;

/// Gel in 100 g of icing from which a color is left to deepen over night, in grams (common practice, no source).
const MUCH_GEL: f64 = 0.8;

/// Most of the usual dyes together in decorations, in milligrams in 100 g: 500 mg/kg, Directive 94/36/EC, Annex V, as
/// taken over into Regulation (EC) 1333/2008; some dyes have less.
const MOST_DYE_MG: f64 = 50.0;

/// Finds gels for every bowl; nothing for icing that stays white, or where plain icing comes nearest.
pub fn plan_tints(kitchen: &Kitchen, icing: &IcingPlan) -> (Vec<Option<Tint>>, Vec<HeadsUp>) {
    let known: Vec<(&kitchen::Gel, Gel)> =
        kitchen.gels.iter().filter_map(|gel| Some((gel, by_label_and_samples(gel)?))).collect();
    let gels: Vec<Gel> = known.iter().map(|(_, gel)| gel.clone()).collect();
    let owned: Vec<&kitchen::Gel> = known.iter().map(|(owned, _)| *owned).collect();
    let mut heads_ups = Vec::new();
    let tints = icing.bowls.iter().map(|bowl| {
        let target = shade_of(bowl.color);
        // What is all in stock has its color.
        if gels.is_empty() || target.is_white() || fresh(bowl) <= Mass::ZERO {
            return None;
        }
        let wish =
            Wish { base: plain_icing(), target, gels: &gels, most_gels: 3, most_grams: MOST_GRAMS };
        let recipe = recipes(&wish, 1)
            .pop()
            .map(|recipe| weighable(&wish, bowl, recipe))
            .filter(|recipe| !recipe.grams.is_empty());
        heads_ups.extend(about(kitchen, bowl, target, recipe.as_ref(), &owned));
        recipe.map(|recipe| tint(bowl, &recipe, &owned))
    });
    let tints = tints.collect();
    (tints, heads_ups)
}

/// Returns what a gel does, by its label and its samples.
fn by_label_and_samples(gel: &kitchen::Gel) -> Option<Gel> {
    let samples: Vec<Sample> = gel
        .samples
        .iter()
        .map(|sample| Sample { grams: sample.per_100_g.to_g(), seen: shade_of(sample.seen) })
        .collect();
    Some(calibrate(&by_its_dyes(gel)?, &plain_icing(), &samples).gel)
}

/// Makes a gel of the dyes its label names, in the proportion that gives its swatch.
fn by_its_dyes(gel: &kitchen::Gel) -> Option<Gel> {
    let dyes: Vec<&tint::dye::Dye> = gel.contains.iter().filter_map(|name| dye(name)).collect();
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
    let nothing = tint::spectrum::Spectrum::from_fn(|_| 0.0);
    let per_gram = mixed(&nothing, &alone, &shares);
    (per_gram.peak() > 0.0).then(|| Gel { name: gel.name.clone(), per_gram })
}

fn shade_of(Color { red, green, blue }: Color) -> Shade {
    Shade::from_srgb([red, green, blue])
}

/// Leaves out what is too little to weigh even as a mix, and looks again what comes out.
fn weighable(wish: &Wish<'_>, bowl: &Bowl, mut recipe: Recipe) -> Recipe {
    let is_enough =
        |&(_, grams): &(usize, f64)| fresh(bowl) * (grams / 100.0 * (1.0 + MIX)) >= LEAST_MIX;
    recipe.grams.retain(is_enough);
    recipe.shade = shade(&mixed(&wish.base, wish.gels, &recipe.grams));
    recipe.difference = recipe.shade.difference(wish.target);
    recipe
}

/// Returns what is made fresh of a bowl.
fn fresh(bowl: &Bowl) -> Mass {
    bowl.weigh_out - bowl.from_stock
}

fn tint(bowl: &Bowl, recipe: &Recipe, gels: &[&kitchen::Gel]) -> Tint {
    let fresh = fresh(bowl);
    let dose = |&(place, grams): &(usize, f64)| {
        let gel = gels.get(place)?;
        let mass = fresh * (grams / 100.0);
        let drops = mass / gel.drop;
        let measure = if drops < LEAST_DROPS {
            Measure::Mix(mass * (1.0 + MIX))
        } else {
            // Casts from a float keep within the range of the integer.
            Measure::Drops(drops.round() as u32)
        };
        Some(Dose { gel: gel.name.clone(), mass, measure })
    };
    let mut doses: Vec<Dose> = recipe.grams.iter().filter_map(dose).collect();
    doses.sort_by(|one, other| other.mass.to_g().total_cmp(&one.mass.to_g()));
    let [red, green, blue] = recipe.shade.to_srgb();
    Tint { doses, expected: Color { red, green, blue }, difference: recipe.difference }
}

/// Says what of a color the gels cannot do, or only with care.
fn about(
    kitchen: &Kitchen,
    bowl: &Bowl,
    target: Shade,
    recipe: Option<&Recipe>,
    gels: &[&kitchen::Gel],
) -> Vec<HeadsUp> {
    let subject = || Subject::Bowl(bowl.id.clone());
    let mut found = Vec::new();
    let difference =
        recipe.map_or_else(|| shade(&plain_icing()).difference(target), |recipe| recipe.difference);
    if difference > OUT_OF_REACH {
        let is_red = target.chroma() > 20.0 && (target.hue() < 50.0 || target.hue() > 340.0);
        let hint = if target.lightness() < 30.0 && target.chroma() < 12.0 {
            "Start from brown or cocoa, add black, mix it a day ahead so that it deepens, and paint the last step when it is dry."
        } else if is_red {
            "Start from pink, add red, mix it a day ahead so that it deepens, and paint the last step when it is dry."
        } else {
            "Take a shade a little duller, a gel nearer to it, or mix it a day ahead so that it deepens."
        };
        found.push(
            HeadsUp::new(
                Severity::Caution,
                subject(),
                "The gels of this kitchen are not likely to reach this color.",
            )
            .hint(hint),
        );
    }
    let Some(recipe) = recipe else { return found };
    if recipe.total_grams() > MUCH_GEL {
        found.push(
            HeadsUp::new(Severity::Note, subject(), "This color takes much gel.").hint(
                "Mix it a day ahead, one step lighter: it deepens over night; beside pale sections let it crust first, or it bleeds.",
            ),
        );
    }
    let dye_mg: f64 = recipe
        .grams
        .iter()
        .filter_map(|&(place, grams)| Some(grams * gels.get(place)?.dye_mg_per_g))
        .sum();
    let is_limited = matches!(
        kitchen.units.jurisdiction,
        Jurisdiction::EuropeanUnion | Jurisdiction::UnitedKingdom
    );
    if is_limited && dye_mg > MOST_DYE_MG {
        found.push(
            HeadsUp::new(
                Severity::Caution,
                subject(),
                format!(
                    "This color likely holds {dye_mg:.0} mg of dye in 100 g; Regulation (EC) 1333/2008 allows {MOST_DYE_MG:.0} mg of the usual ones in decorations, of some less."
                ),
            )
            .hint("Take a paler shade or colors without such a limit, and check the limit of each dye."),
        );
    }
    found
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::document::start_kitchen;

    fn bowl(color: [u8; 3], weigh_out_g: f64) -> Bowl {
        let [red, green, blue] = color;
        Bowl {
            id: "bowl".into(),
            color: Color { red, green, blue },
            on_cookies: Mass::ZERO,
            left: Mass::ZERO,
            water: Mass::ZERO,
            weigh_out: Mass::g(weigh_out_g),
            from_stock: Mass::ZERO,
            bags: Vec::new(),
            range: None,
        }
    }

    fn tinted(kitchen: &Kitchen, bowls: Vec<Bowl>) -> (Vec<Option<Tint>>, Vec<HeadsUp>) {
        plan_tints(kitchen, &IcingPlan { bowls, ..IcingPlan::default() })
    }

    #[test]
    fn a_dose_grows_with_the_bowl_and_is_counted_in_drops_or_taken_from_a_mix() {
        let kitchen = start_kitchen();
        let blue = [135, 206, 235];
        let (tints, _) = tinted(&kitchen, vec![bowl(blue, 60.0), bowl(blue, 12_000.0)]);
        let [Some(small), Some(large)] = &tints[..] else { panic!("{tints:?}") };
        assert_eq!(small.expected, large.expected);
        for (few, many) in small.doses.iter().zip(&large.doses) {
            assert!((many.mass / few.mass - 200.0).abs() < 1e-6);
            assert!(
                matches!(few.measure, Measure::Mix(mix) if (mix / few.mass - 51.0).abs() < 1e-9)
            );
        }
        let first = &large.doses[0];
        let drops = (first.mass / Mass::g(0.04)).round() as u32;
        assert_eq!(first.measure, Measure::Drops(drops));
    }

    #[test]
    fn pastels_and_earth_tones_come_near_and_white_needs_nothing() {
        // Shades a decorator mixes every week from a dozen gels (common practice, no source).
        let shades = [
            [243, 207, 201],
            [191, 224, 242],
            [247, 239, 220],
            [169, 183, 154],
            [201, 146, 154],
            [214, 163, 36],
            [196, 99, 63],
            [154, 154, 154],
        ];
        let bowls: Vec<Bowl> = shades.iter().map(|&shade| bowl(shade, 150.0)).collect();
        let (tints, _) = tinted(&start_kitchen(), bowls);
        let mut differences = Vec::new();
        for (tint, shade) in tints.iter().zip(shades) {
            let tint = tint.as_ref().expect("it needs gel");
            assert!(tint.difference < OUT_OF_REACH && tint.doses.len() <= 3, "{shade:?}: {tint:?}");
            differences.push(tint.difference);
        }
        differences.sort_by(f64::total_cmp);
        assert!(differences[4] < 2.0, "{differences:?}");
        let (white, heads_ups) = tinted(&start_kitchen(), vec![bowl([252, 250, 246], 300.0)]);
        assert_eq!((white, heads_ups), (vec![None], Vec::new()));
    }

    #[test]
    fn what_gels_cannot_do_or_only_with_care_is_told() {
        let mut kitchen = start_kitchen();
        let told = |kitchen: &Kitchen, color| {
            let (_, heads_ups) = tinted(kitchen, vec![bowl(color, 150.0)]);
            heads_ups.into_iter().map(|one| one.message).collect::<Vec<_>>().join(" ")
        };
        let black = told(&kitchen, [10, 9, 9]);
        assert!(black.contains("not likely to reach") && black.contains("much gel"), "{black}");
        // Directive 94/36/EC: 500 mg/kg of the usual dyes together; a strong red needs more.
        let red = [200, 32, 43];
        assert!(!told(&kitchen, red).contains("mg of dye"));
        kitchen.units.jurisdiction = Jurisdiction::EuropeanUnion;
        assert!(told(&kitchen, red).contains("mg of dye in 100 g"), "{}", told(&kitchen, red));
        assert!(!told(&kitchen, [243, 207, 201]).contains("mg of dye"));
        let tub = Bowl { from_stock: Mass::g(150.0), ..bowl(red, 150.0) };
        assert_eq!(tinted(&kitchen, vec![tub]), (vec![None], Vec::new()));
        assert_eq!(tinted(&kitchen, vec![bowl([247, 239, 220], 0.5)]).0, [None]);
        kitchen.gels.clear();
        assert_eq!(tinted(&kitchen, vec![bowl(red, 150.0)]), (vec![None], Vec::new()));
    }

    #[test]
    fn a_sample_of_a_stronger_bottle_makes_doses_smaller() {
        let mut kitchen = start_kitchen();
        kitchen.gels.retain(|gel| gel.name == "red");
        let pink = vec![bowl([240, 170, 165], 1000.0)];
        let dose = |kitchen: &Kitchen| {
            let (tints, _) = tinted(kitchen, pink.clone());
            tints[0].as_ref().expect("it needs gel").doses[0].mass.to_g()
        };
        let before = dose(&kitchen);
        // Half a gram of this bottle gives what a whole gram was taken to give.
        let plain = by_its_dyes(&kitchen.gels[0]).expect("its dye is known");
        let [red, green, blue] = shade(&plain_icing().plus(&plain.per_gram, 1.0)).to_srgb();
        let seen = Color { red, green, blue };
        kitchen.gels[0].samples = vec![kitchen::GelSample { per_100_g: Mass::g(0.5), seen }];
        let after = dose(&kitchen);
        assert!((after / before - 0.5).abs() < 0.1, "{before} g, then {after} g");
    }

    #[test]
    fn a_gel_of_one_dye_is_that_dye() {
        let kitchen = start_kitchen();
        let red =
            kitchen.gels.iter().find(|gel| gel.name == "red").expect("the start kitchen has it");
        let gel = by_its_dyes(red).expect("its dye is known");
        let alone = dye("Red 40").expect("there is data of it").per_mg.map(|q| 60.0 * q);
        let off = gel.per_gram.plus(&alone, -1.0);
        assert!(off.bands().iter().all(|off| off.abs() < 1e-9), "{off:?}");
    }
}
