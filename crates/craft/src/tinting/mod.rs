//! Which gels bring each bowl to its color, and how much of each?
//!
//! The dyes of a gel are those it names on its label; their proportion is the one that gives its swatch, and together
//! they are so many milligrams in a gram of gel.
//! Samples of a gel correct its strength, its hue and its depth ([`tint::calibrate`]); samples seen again the next day
//! teach how colors deepen ([`tint::deepen`]).
//! With that, [`tint::recipe`] seeks at most three gels for the color of a bowl, and the grams for 100 g of icing are
//! brought to what is to be tinted: fresh and white icing, not what has the color already.
//!
//! A dose below a drop and a half is not dosed from the bottle but from a mix of one part of gel with fifty of icing
//! (common practice, no source).
//!
//! How strong a gel is, its label does not say: without samples amounts are likely, not sure.
//! Limits of dyes are those of [`tint::limits`], held against the dried icing.
//!
//! # Worked example
//! 0.1 g of gel for 100 g of icing into 150 g of it are 0.15 g, or 4 drops of 0.04 g.

mod notice;
mod shelf;

use std::collections::BTreeSet;

use drawing::Color;
use quantity::{Mass, Money};
use tint::{
    Shade, deepen,
    dye::plain_icing,
    film::shade,
    limits::Law,
    recipe::{Recipe, Wish, mixed, recipes},
    spectrum::Spectrum,
};

pub use notice::law;
pub use shelf::{KnownGel, Shelf};

use crate::{
    heads_up::{HeadsUp, Subject},
    icing::{Bowl, IcingPlan, shade_of},
    kitchen::{IcingStock, Kitchen},
    technique::Sections,
    tinting::notice::{Caution, Tinted},
};

/// How icing gets a color.
#[derive(Clone, Debug, PartialEq)]
pub struct Tint {
    /// What goes in, the most first.
    pub doses: Vec<Dose>,
    /// A leftover that is stirred in first, instead of as much white icing.
    pub start: Option<Leftover>,
    /// The color it is likely to have.
    pub expected: Color,
    /// The color it is likely to have tomorrow.
    pub tomorrow: Color,
    /// How far the expected one is from the color wanted (CIEDE2000); below 2 one hardly sees it.
    pub difference: f64,
    /// All gel that goes in; about half of it is water and glycerin (common practice, no source).
    pub gel: Mass,
    /// What that gel costs.
    pub cost: Money,
    /// What to mind, each a sentence or two.
    pub cautions: Vec<String>,
    /// Other ways that come near, none with others of its own.
    pub others: Vec<Tint>,
}

/// Tinted icing that is left over and lighter than a color wanted.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Leftover {
    /// Its color.
    pub color: Color,
    /// How much of it goes in.
    pub mass: Mass,
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

/// A color that is wanted.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Wanted {
    /// The color.
    pub color: Color,
    /// How much icing is to have it.
    pub icing: Mass,
    /// A leftover to start from; what it does not make up is white.
    pub start: Option<Leftover>,
    /// Most gels of one way, 1 to 3.
    pub most_gels: usize,
    /// Most ways told.
    pub n_ways: usize,
    /// Whose limits hold.
    pub law: Option<Law>,
}

/// What gels can do for a color.
#[derive(Clone, Debug, PartialEq)]
pub struct Reach {
    /// Ways to it, the best first; none where the icing as it is comes nearest.
    pub ways: Vec<Tint>,
    /// How far the nearest is from the color wanted (CIEDE2000).
    pub difference: f64,
    /// The way round, where gels are not likely to reach it.
    pub way_round: Option<String>,
}

/// Most gel in 100 g of icing, in grams: more thins it and tastes (common practice, no source).
const MOST_GRAMS: f64 = 2.0;

/// Most ways of a bowl that are told.
const N_WAYS: usize = 3;

/// Ways looked at beyond those that are told.
const SPARE_WAYS: usize = 6;

/// Fewer drops than this are not counted but taken from a mix (common practice, no source).
const LEAST_DROPS: f64 = 1.5;

/// Parts of icing a part of gel is mixed with (common practice, no source).
const MIX: f64 = 50.0;

/// Less of a mix than this is not weighed on a kitchen scale (common practice, no source).
const LEAST_MIX: Mass = Mass::g(0.1);

/// Other ways are told while they are no further from the color than the best and this (CIEDE2000).
const NEARLY_AS_NEAR: f64 = 3.0;

/// Finds gels for every bowl; nothing for icing that stays white, or where plain icing comes nearest.
pub fn plan_tints(
    kitchen: &Kitchen,
    sections: &Sections,
    icing: &IcingPlan,
) -> (Vec<Option<Tint>>, Vec<HeadsUp>) {
    let shelf = Shelf::of(&kitchen.gels);
    let whose = law(kitchen.units.jurisdiction);
    let (mut tints, mut heads_ups, mut tinted) = (Vec::new(), Vec::new(), Vec::new());
    for bowl in &icing.bowls {
        let target = shade_of(bowl.color);
        let mut tint = None;
        let mut one = Tinted { bowl, mixed: plain_icing(), grams: 0.0 };
        if !shelf.gels.is_empty() && !target.is_white() {
            let wanted = Wanted {
                color: bowl.color,
                icing: to_tint(bowl),
                start: None,
                most_gels: 3,
                n_ways: N_WAYS,
                law: whose,
            };
            // What is all in stock has its color, but bleeds and shines through like any other.
            let is_there = wanted.icing <= Mass::ZERO;
            let sought = if is_there { Wanted { icing: Mass::g(100.0), ..wanted } } else { wanted };
            let found = seek(&shelf, &sought);
            if let Some(best) = found.first() {
                (one.mixed, one.grams) = (best.mixed, best.recipe.total_grams());
            }
            if !is_there {
                heads_ups.extend(
                    told(&found, target)
                        .map(|caution| caution.about(Subject::Bowl(bowl.id.clone()))),
                );
                let leftover = leftover_for(&kitchen.icing_stock, icing, bowl);
                tint = with_others(
                    &shelf,
                    found,
                    leftover.map(|start| Wanted { start: Some(start), ..wanted }),
                );
            }
        }
        heads_ups.extend(notice::thin_coat(kitchen, sections, &one));
        tinted.push(one);
        tints.push(tint);
    }
    heads_ups.extend(notice::bleeding(sections, icing, &tinted));
    heads_ups.extend(notice::alike(&icing.bowls));
    (tints, heads_ups)
}

/// Finds ways to one color.
pub fn reach(shelf: &Shelf<'_>, wanted: &Wanted) -> Reach {
    let target = shade_of(wanted.color);
    let found = seek(shelf, wanted);
    let difference = found.first().map_or_else(
        || shade(&base_of(shelf, wanted)).difference(target),
        |way| way.recipe.difference,
    );
    let round = notice::out_of_reach(target, difference).map(|caution| caution.hint);
    Reach { ways: found.into_iter().map(|way| way.tint).collect(), difference, way_round: round }
}

/// A way to a color, with what it was found by.
struct Way {
    recipe: Recipe,
    /// q = K/S as mixed.
    mixed: Spectrum,
    cautions: Vec<Caution>,
    tint: Tint,
}

/// Returns what of a bowl needs gel: all but what has its color already.
fn to_tint(bowl: &Bowl) -> Mass {
    bowl.weigh_out - bowl.tinted_stock
}

/// Returns q = K/S of the icing that gel goes into.
fn base_of(shelf: &Shelf<'_>, wanted: &Wanted) -> Spectrum {
    match wanted.start {
        Some(Leftover { color, mass }) if wanted.icing > Mass::ZERO => {
            let share = (mass / wanted.icing).clamp(0.0, 1.0);
            plain_icing().map(|q| (1.0 - share) * q).plus(&shelf.leftover(color), share)
        }
        _ => plain_icing(),
    }
}

fn seek(shelf: &Shelf<'_>, wanted: &Wanted) -> Vec<Way> {
    let wish = Wish {
        base: base_of(shelf, wanted),
        target: shade_of(wanted.color),
        gels: &shelf.gels,
        most_gels: wanted.most_gels,
        most_grams: MOST_GRAMS,
    };
    // What is too little to weigh changes a recipe, and with that its place among the others.
    let mut weighed: Vec<Recipe> = recipes(&wish, wanted.n_ways + SPARE_WAYS)
        .into_iter()
        .map(|recipe| weighable(&wish, wanted.icing, recipe))
        .filter(|recipe| !recipe.grams.is_empty())
        .collect();
    weighed.sort_by(|one, other| one.cost().total_cmp(&other.cost()));
    let nearest = weighed.first().map_or(0.0, |best| best.difference);
    let mut ways: Vec<Way> = Vec::new();
    for recipe in weighed {
        let is_known = ways.iter().any(|way| has_same_gels(&way.recipe, &recipe));
        let is_near = recipe.difference <= nearest + NEARLY_AS_NEAR;
        if is_known || !is_near || ways.len() >= wanted.n_ways {
            continue;
        }
        let mixed = mixed(&wish.base, wish.gels, &recipe.grams);
        let cautions = notice::about(shelf, wanted.law, &recipe);
        let tint = tint(shelf, wanted, &wish, &recipe, &mixed, &cautions);
        ways.push(Way { recipe, mixed, cautions, tint });
    }
    ways
}

fn has_same_gels(one: &Recipe, other: &Recipe) -> bool {
    let gels = |recipe: &Recipe| recipe.grams.iter().map(|(gel, _)| *gel).collect::<BTreeSet<_>>();
    gels(one) == gels(other)
}

/// Leaves out what is too little to weigh even as a mix, and looks again what comes out.
fn weighable(wish: &Wish<'_>, icing: Mass, mut recipe: Recipe) -> Recipe {
    let is_enough = |&(_, grams): &(usize, f64)| icing * (grams / 100.0 * (1.0 + MIX)) >= LEAST_MIX;
    recipe.grams.retain(is_enough);
    recipe.shade = shade(&mixed(&wish.base, wish.gels, &recipe.grams));
    recipe.difference = recipe.shade.difference(wish.target);
    recipe
}

fn tint(
    shelf: &Shelf<'_>,
    wanted: &Wanted,
    wish: &Wish<'_>,
    recipe: &Recipe,
    mixed: &Spectrum,
    cautions: &[Caution],
) -> Tint {
    let bottle = |&(place, grams): &(usize, f64)| {
        Some((shelf.bottles.get(place)?.owned, wanted.icing * (grams / 100.0)))
    };
    let dosed: Vec<(&crate::kitchen::Gel, Mass)> = recipe.grams.iter().filter_map(bottle).collect();
    let mut doses: Vec<Dose> = dosed.iter().map(|&(gel, mass)| dose(gel, mass)).collect();
    doses.sort_by(|one, other| other.mass.to_g().total_cmp(&one.mass.to_g()));
    let minor: f64 =
        dosed.iter().map(|(gel, mass)| gel.price.to_minor() as f64 * (*mass / gel.pack)).sum();
    let tomorrow = deepen::next_day(&wish.base, mixed, shelf.deepening);
    Tint {
        doses,
        start: wanted.start,
        expected: color_of(recipe.shade),
        tomorrow: color_of(shade(&tomorrow)),
        difference: recipe.difference,
        gel: dosed.iter().map(|(_, mass)| *mass).sum(),
        cost: Money::round(minor),
        cautions: cautions.iter().map(|one| format!("{} {}", one.message, one.hint)).collect(),
        others: Vec::new(),
    }
}

fn dose(gel: &crate::kitchen::Gel, mass: Mass) -> Dose {
    let drops = mass / gel.drop;
    let measure = if drops < LEAST_DROPS {
        Measure::Mix(mass * (1.0 + MIX))
    } else {
        // Casts from a float keep within the range of the integer.
        Measure::Drops(drops.round() as u32)
    };
    Dose { gel: gel.name.clone(), mass, measure }
}

fn color_of(shade: Shade) -> Color {
    let [red, green, blue] = shade.to_srgb();
    Color { red, green, blue }
}

/// Says what of a bowl's color the gels cannot do, or only with care.
fn told(found: &[Way], target: Shade) -> impl Iterator<Item = Caution> {
    let best = found.first();
    let difference =
        best.map_or_else(|| shade(&plain_icing()).difference(target), |way| way.recipe.difference);
    let of_best = best.map(|way| way.cautions.clone()).unwrap_or_default();
    notice::out_of_reach(target, difference).into_iter().chain(of_best)
}

/// Makes the first way the one to go and the others its alternatives, with one that starts from a leftover.
fn with_others(shelf: &Shelf<'_>, found: Vec<Way>, from_leftover: Option<Wanted>) -> Option<Tint> {
    let mut ways = found.into_iter().map(|way| way.tint);
    let mut best = ways.next()?;
    best.others = ways.collect();
    let leftover = from_leftover.and_then(|wanted| seek(shelf, &wanted).into_iter().next());
    if let Some(Way { tint, .. }) = leftover {
        // A leftover is worth it where it saves gel and the color stays.
        if tint.gel < best.gel && tint.difference <= best.difference.max(tint::SAME_SHADE) + 1.0 {
            best.others.insert(0, tint);
            best.others.truncate(N_WAYS - 1);
        }
    }
    Some(best)
}

/// Returns the deepest leftover that is lighter than a bowl's color and of no bowl's own color.
fn leftover_for(stock: &[IcingStock], icing: &IcingPlan, bowl: &Bowl) -> Option<Leftover> {
    let target = shade_of(bowl.color);
    let is_meant = |one: &&IcingStock| {
        let own = shade_of(one.color);
        let is_used = icing.bowls.iter().any(|bowl| own.is_same(shade_of(bowl.color)));
        !own.is_white() && !is_used && own.lightness() > target.lightness()
    };
    let lightness = |one: &&IcingStock| shade_of(one.color).lightness();
    let usable = stock.iter().filter(is_meant);
    let deepest = usable.min_by(|one, other| lightness(one).total_cmp(&lightness(other)))?;
    Some(Leftover { color: deepest.color, mass: deepest.mass.min(to_tint(bowl)) })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{
        document::start_kitchen, heads_up::Severity, kitchen, kitchen::Jurisdiction,
        tinting::notice::OUT_OF_REACH,
    };

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
            tinted_stock: Mass::ZERO,
            bags: Vec::new(),
            range: None,
        }
    }

    fn tinted(kitchen: &Kitchen, bowls: Vec<Bowl>) -> (Vec<Option<Tint>>, Vec<HeadsUp>) {
        plan_tints(kitchen, &Sections::default(), &IcingPlan { bowls, ..IcingPlan::default() })
    }

    #[test]
    fn a_dose_grows_with_the_bowl_and_is_counted_in_drops_or_taken_from_a_mix() {
        // One gel alone, so that small and large bowls are mixed alike.
        let mut kitchen = start_kitchen();
        kitchen.gels.retain(|gel| gel.name == "sky blue");
        let blue = [135, 206, 235];
        let (tints, _) = tinted(&kitchen, vec![bowl(blue, 100.0), bowl(blue, 20_000.0)]);
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
        assert!(!told(&kitchen, red).contains("mg/kg of"));
        kitchen.units.jurisdiction = Jurisdiction::EuropeanUnion;
        assert!(told(&kitchen, red).contains("mg/kg of"), "{}", told(&kitchen, red));
        assert!(!told(&kitchen, [243, 207, 201]).contains("mg/kg of"));
        let tub = Bowl { tinted_stock: Mass::g(150.0), ..bowl(red, 150.0) };
        assert_eq!(tinted(&kitchen, vec![tub]), (vec![None], Vec::new()));
        // White icing from the tub has no color yet.
        let white_tub = Bowl { from_stock: Mass::g(150.0), ..bowl(red, 150.0) };
        assert!(tinted(&kitchen, vec![white_tub]).0[0].is_some());
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
        let plain = Shelf::of(&kitchen.gels).gels.remove(0);
        let seen = color_of(shade(&plain_icing().plus(&plain.per_gram, 1.0)));
        let sample = kitchen::GelSample { per_100_g: Mass::g(0.5), seen, next_day: None };
        kitchen.gels[0].samples = vec![sample];
        let after = dose(&kitchen);
        assert!((after / before - 0.5).abs() < 0.1, "{before} g, then {after} g");
    }

    #[test]
    fn every_way_says_what_it_gives_today_and_tomorrow_and_costs() {
        let kitchen = start_kitchen();
        let (tints, _) = tinted(&kitchen, vec![bowl([196, 99, 63], 200.0)]);
        let best = tints[0].as_ref().expect("it needs gel");
        assert!(!best.others.is_empty() && best.others.len() < N_WAYS, "{best:?}");
        for way in best.others.iter().chain([best]) {
            assert!(way.difference < best.difference + NEARLY_AS_NEAR);
            let (today, tomorrow) = (shade_of(way.expected), shade_of(way.tomorrow));
            assert!(tomorrow.lightness() < today.lightness());
            let all: f64 = way.doses.iter().map(|dose| dose.mass.to_g()).sum();
            assert!((all - way.gel.to_g()).abs() < 1e-9);
            // Every gel of this kitchen is 450 cents for 20 g (invented).
            assert!((way.cost.to_minor() as f64 - all * 22.5).abs() <= 0.5, "{way:?}");
        }
    }

    #[test]
    fn a_leftover_that_saves_gel_is_offered_and_one_that_does_not_is_left() {
        let mut kitchen = start_kitchen();
        let rose = [214, 140, 125];
        let offered = |kitchen: &Kitchen| {
            let (tints, _) = tinted(kitchen, vec![bowl(rose, 200.0)]);
            let best = tints[0].clone().expect("it needs gel");
            assert_eq!(best.start, None);
            best.others.into_iter().find(|way| way.start.is_some()).map(|way| (way, best.gel))
        };
        let pink = Color { red: 230, green: 170, blue: 159 };
        let stock = |color| IcingStock {
            color,
            mass: Mass::g(120.0),
            made_on: jiff::civil::date(2027, 3, 1),
            allergens: BTreeSet::new(),
        };
        kitchen.icing_stock = vec![stock(pink)];
        let (way, without) = offered(&kitchen).expect("pink icing is on the way to rose");
        assert_eq!(way.start, Some(Leftover { color: pink, mass: Mass::g(120.0) }));
        assert!(way.gel < without && way.difference < 3.0, "{way:?}");
        // Green does not lead to rose.
        kitchen.icing_stock = vec![stock(Color { red: 140, green: 200, blue: 120 })];
        assert!(offered(&kitchen).is_none());
    }

    #[test]
    fn limits_are_held_against_dried_icing_and_what_is_not_checked_says_so() {
        let mut kitchen = start_kitchen();
        kitchen.units.jurisdiction = Jurisdiction::EuropeanUnion;
        let (_, heads_ups) = tinted(&kitchen, vec![bowl([232, 128, 46], 150.0)]);
        let orange: Vec<&HeadsUp> =
            heads_ups.iter().filter(|one| one.message.contains("E110")).collect();
        assert_eq!(orange.len(), 1, "{heads_ups:?}");
        assert!(
            orange[0].message.contains("not checked") && orange[0].severity == Severity::Caution
        );
        kitchen.units.jurisdiction = Jurisdiction::UnitedStates;
        let rose =
            kitchen.gels.iter_mut().find(|gel| gel.name == "rose pink").expect("it is there");
        rose.contains.push("Red 3".into());
        rose.contains.retain(|part| part != "Red 40" && part != "Blue 1");
        kitchen.gels.retain(|gel| gel.name == "rose pink");
        let (_, heads_ups) = tinted(&kitchen, vec![bowl([240, 150, 180], 150.0)]);
        assert!(
            heads_ups
                .iter()
                .any(|one| one.message.contains("not permitted in icing from 2027-01-15")),
            "{heads_ups:?}"
        );
    }

    #[test]
    fn bowls_that_look_alike_are_told_once() {
        let kitchen = start_kitchen();
        let alike = |colors: &[[u8; 3]]| {
            let bowls = colors.iter().map(|&color| bowl(color, 100.0)).collect();
            let (_, heads_ups) = tinted(&kitchen, bowls);
            heads_ups.into_iter().filter(|one| one.message.contains("taken for each other")).count()
        };
        assert_eq!(alike(&[[243, 207, 201], [238, 191, 184], [45, 90, 52]]), 1);
        assert_eq!(alike(&[[243, 207, 201], [45, 90, 52]]), 0);
    }
}
