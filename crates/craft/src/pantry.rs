//! What goes into the order, what must be bought for it, and what does that cost?
//!
//! - need = m / (1 - s)
//! - cost = p x need / M
//! - packs = need / M, rounded up
//! - outlay = p x packs
//!
//! with m the mass that dough and icing take, s the share that is spilled, sampled or spoiled,
//! M the mass of a pack and p its price; masses in g, money in minor units, each line rounded once.
//! Bags count by the piece: all that are used cost, only those that are missing are bought.
//! Of each gel the kitchen owns a bottle, so that only further ones are bought.
//!
//! Source: arithmetic; the share is a start value (common practice, no source).
//!
//! # Worked example
//! An order takes 1,900 g of flour and a twentieth of all flour is lost: 1,900 / 0.95 = 2,000 g.
//! A pack of 2.5 kg costs 5.00, so that 2,000 g cost 4.00, and one pack is bought for 5.00.
//! ```
//! use std::collections::BTreeSet;
//!
//! use craft::{kitchen::Ingredient, pantry::ingredient_line};
//! use quantity::{Mass, Money, Share};
//!
//! let flour = Ingredient {
//!     name: "flour".into(),
//!     label_name: "wheat flour".into(),
//!     contains: Vec::new(),
//!     allergens: BTreeSet::from(["wheat".to_owned()]),
//!     pack: Mass::g(2500.0),
//!     price: Money::minor(500),
//!     bulk_density: None,
//! };
//! let line = ingredient_line(&flour, Mass::g(1900.0), Share::percent(5.0));
//! assert_eq!((line.cost, line.packs, line.outlay), (Money::minor(400), 1, Money::minor(500)));
//! ```

use std::collections::BTreeMap;

use quantity::{Mass, Money, Share};

use crate::{
    heads_up::{HeadsUp, Severity, Subject},
    kitchen::{CookieBag, Gel, Ingredient, Kitchen, Part},
    packing::Packing,
    tinting::Tint,
};

/// What comes from the tap: it is never bought.
const TAP_WATER: &str = "water";

/// Least of the bought mass that reaches the bowl, so that a waste of one hundred percent stays finite.
const LEAST_USED: f64 = 0.01;

/// How much of one ingredient an order takes.
#[derive(Clone, Debug, PartialEq)]
pub struct Usage {
    /// Name of the ingredient.
    pub ingredient: String,
    /// Its mass in dough and icing.
    pub mass: Mass,
}

/// An amount that is weighed or counted.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Need {
    /// Weighed.
    Mass(Mass),
    /// Counted.
    Pieces(u32),
}

/// One line of the shopping list.
#[derive(Clone, Debug, PartialEq)]
pub struct ShoppingLine {
    /// Name of the ingredient or the bag.
    pub name: String,
    /// How much the order takes, waste included.
    pub need: Need,
    /// Packs to buy.
    pub packs: u32,
    /// What one pack holds.
    pub pack: Need,
    /// Cost of what is used, waste included.
    pub cost: Money,
    /// Price of the packs to buy.
    pub outlay: Money,
    /// Whether it is packaging, not food.
    pub is_packaging: bool,
}

/// Sums parts by ingredient: most first, equal masses by name.
pub fn usage(parts: impl IntoIterator<Item = Part>) -> Vec<Usage> {
    let mut masses: BTreeMap<String, Mass> = BTreeMap::new();
    for Part { ingredient, mass } in parts {
        *masses.entry(ingredient).or_default() += mass;
    }
    let mut usage: Vec<_> =
        masses.into_iter().map(|(ingredient, mass)| Usage { ingredient, mass }).collect();
    usage.sort_by(|a, b| b.mass.to_g().total_cmp(&a.mass.to_g()));
    usage
}

/// Sums gels over all bowls.
pub fn gel_usage(tints: &[Option<Tint>]) -> Vec<Usage> {
    let doses = tints.iter().flatten().flat_map(|tint| &tint.doses);
    usage(doses.map(|dose| Part { ingredient: dose.gel.clone(), mass: dose.mass }))
}

/// Lists what an order takes from the pantry: ingredients most first, then gels, then cookie bags.
pub fn shopping(
    kitchen: &Kitchen,
    usage: &[Usage],
    gels: &[Usage],
    packing: &Packing,
) -> (Vec<ShoppingLine>, Vec<HeadsUp>) {
    let mut lines = Vec::new();
    let mut heads_ups = Vec::new();
    for Usage { ingredient: name, mass } in
        usage.iter().filter(|usage| usage.ingredient != TAP_WATER)
    {
        match kitchen.ingredient(name) {
            Some(ingredient) => lines.push(ingredient_line(ingredient, *mass, kitchen.money.waste)),
            None => heads_ups.push(unknown(name)),
        }
    }
    for Usage { ingredient: name, mass } in gels {
        let known = kitchen.gels.iter().find(|gel| gel.name == *name);
        lines.extend(known.map(|gel| gel_line(gel, *mass, kitchen.money.waste)));
    }
    for (place, bag) in kitchen.cookie_bags.iter().enumerate() {
        let n = packing.pieces_of(place);
        if n > 0 {
            lines.push(bag_line(bag, n));
        }
    }
    (lines, heads_ups)
}

/// Returns the line of one ingredient of which dough and icing take `mass`, while `waste` of all of it is lost.
pub fn ingredient_line(ingredient: &Ingredient, mass: Mass, waste: Share) -> ShoppingLine {
    let Ingredient { name, pack, price, .. } = ingredient;
    weighed_line(name.clone(), *pack, *price, mass, waste)
}

/// The line of a gel, of which there is a bottle.
fn gel_line(gel: &Gel, mass: Mass, waste: Share) -> ShoppingLine {
    let line = weighed_line(format!("{} gel", gel.name), gel.pack, gel.price, mass, waste);
    let packs = line.packs.saturating_sub(1);
    ShoppingLine { packs, outlay: gel.price.times(f64::from(packs)), ..line }
}

fn weighed_line(name: String, pack: Mass, price: Money, mass: Mass, waste: Share) -> ShoppingLine {
    let need = mass / waste.rest().to_one().max(LEAST_USED);
    let (n_packs, packs) = match pack {
        pack if pack > Mass::ZERO => (need / pack, need.round_up_to(pack) / pack),
        _ => (0.0, 0.0),
    };
    // A float-to-integer cast saturates, so that an absurd need gives an absurd number and no overflow.
    let packs = packs.round() as u32;
    ShoppingLine {
        name,
        need: Need::Mass(need),
        packs,
        pack: Need::Mass(pack),
        cost: price.times(n_packs),
        outlay: price.times(f64::from(packs)),
        is_packaging: false,
    }
}

fn bag_line(bag: &CookieBag, n: u32) -> ShoppingLine {
    let missing = n.saturating_sub(bag.owned);
    ShoppingLine {
        name: bag.name.clone(),
        need: Need::Pieces(n),
        packs: missing,
        pack: Need::Pieces(1),
        cost: bag.price.times(f64::from(n)),
        outlay: bag.price.times(f64::from(missing)),
        is_packaging: true,
    }
}

fn unknown(name: &str) -> HeadsUp {
    HeadsUp::new(
        Severity::Caution,
        Subject::Price,
        format!(
            "\"{name}\" is in a recipe and the kitchen knows neither its price nor its allergens."
        ),
    )
    .hint("Add it as an [[ingredient]] to kitchen.toml; until then cost and label lack it.")
}

#[cfg(test)]
mod tests {
    use std::collections::BTreeSet;

    use quantity::Length;

    use super::*;
    use crate::{document::start_kitchen, packing::PackedDesign};

    fn part(ingredient: &str, mass_g: f64) -> Part {
        Part { ingredient: ingredient.to_owned(), mass: Mass::g(mass_g) }
    }

    fn ingredient(name: &str, pack_g: f64, price_minor: i64) -> Ingredient {
        Ingredient {
            name: name.to_owned(),
            label_name: name.to_owned(),
            contains: Vec::new(),
            allergens: BTreeSet::new(),
            pack: Mass::g(pack_g),
            price: Money::minor(price_minor),
            bulk_density: None,
        }
    }

    fn packing(bag: usize, n: u32) -> Packing {
        let (need_width, need_length) = (Length::mm(90.0), Length::mm(130.0));
        Packing {
            designs: vec![PackedDesign { design: 0, bag: Some(bag), n, need_width, need_length }],
        }
    }

    /// A kitchen with sugar, sprigs from the garden and ten bags, which loses a twentieth of everything.
    fn kitchen() -> Kitchen {
        let mut kitchen = start_kitchen();
        kitchen.money.waste = Share::percent(5.0);
        kitchen.ingredients = vec![ingredient("sugar", 1000.0, 250), ingredient("sprigs", 50.0, 0)];
        kitchen.cookie_bags = vec![CookieBag {
            name: "small".into(),
            width: Length::mm(100.0),
            length: Length::mm(150.0),
            closure: Length::mm(30.0),
            price: Money::minor(12),
            owned: 10,
        }];
        kitchen
    }

    /// Expects packs, cost and outlay of one ingredient.
    fn check_line(ingredient: &Ingredient, mass_g: f64, waste: Share, expected: (u32, i64, i64)) {
        let line = ingredient_line(ingredient, Mass::g(mass_g), waste);
        assert_eq!(
            (line.packs, line.cost.to_minor(), line.outlay.to_minor()),
            expected,
            "{mass_g} g of {}",
            line.name
        );
    }

    #[test]
    fn parts_of_dough_and_icing_are_summed_most_first_and_equal_ones_by_name() {
        let parts = [
            part("sugar", 300.0),
            part("flour", 500.0),
            part("butter", 500.0),
            part("sugar", 400.0),
        ];
        let summed: Vec<_> =
            usage(parts).into_iter().map(|one| (one.ingredient, one.mass.to_g())).collect();
        assert_eq!(
            summed,
            [("sugar".into(), 700.0), ("butter".into(), 500.0), ("flour".into(), 500.0)]
        );
        assert!(usage([]).is_empty());
    }

    #[test]
    fn what_is_used_costs_and_whole_packs_are_bought() {
        let sugar = ingredient("sugar", 1000.0, 250);
        check_line(&sugar, 950.0, Share::percent(5.0), (1, 250, 250));
        check_line(&sugar, 1000.0, Share::percent(5.0), (2, 263, 500));
        check_line(&sugar, 400.0, Share::ZERO, (1, 100, 250));
        check_line(&sugar, 0.0, Share::ZERO, (0, 0, 0));
        check_line(&ingredient("sprigs", 50.0, 0), 60.0, Share::ZERO, (2, 0, 0));
    }

    #[test]
    fn absurd_packs_and_waste_give_finite_lines() {
        check_line(&ingredient("sugar", 0.0, 250), 400.0, Share::ZERO, (0, 0, 0));
        check_line(&ingredient("sugar", 1000.0, 250), 10.0, Share::percent(100.0), (1, 250, 250));
        check_line(
            &ingredient("sugar", 1e-9, 1),
            1e9,
            Share::ZERO,
            (u32::MAX, 1_000_000_000_000_000_000, i64::from(u32::MAX)),
        );
    }

    #[test]
    fn water_comes_from_the_tap_and_the_unknown_is_told() {
        let (lines, heads_ups) = shopping(
            &kitchen(),
            &usage([part("water", 200.0), part("musk", 1.0)]),
            &[],
            &Packing::default(),
        );
        assert_eq!(lines, []);
        let told: Vec<_> =
            heads_ups.iter().map(|found| (found.severity, found.message.as_str())).collect();
        let message =
            "\"musk\" is in a recipe and the kitchen knows neither its price nor its allergens.";
        assert_eq!(told, [(Severity::Caution, message)]);
    }

    #[test]
    fn a_gel_costs_by_the_drop_and_a_second_bottle_is_bought_when_one_is_not_enough() {
        // The start kitchen's bottles hold 20 g for 4.50; 5 % of all that is used is lost.
        let gel = |mass: f64| {
            let (lines, _) =
                shopping(&start_kitchen(), &[], &usage([part("red", mass)]), &Packing::default());
            let [line] = &lines[..] else { panic!("{lines:?}") };
            (line.name.clone(), line.cost.to_minor(), line.packs, line.outlay.to_minor())
        };
        assert_eq!(gel(1.9), ("red gel".to_owned(), 45, 0, 0));
        assert_eq!(gel(38.0), ("red gel".to_owned(), 900, 1, 450));
    }

    #[test]
    fn every_bag_costs_and_only_the_missing_ones_are_bought() {
        let (lines, heads_ups) =
            shopping(&kitchen(), &usage([part("sugar", 950.0)]), &[], &packing(0, 14));
        assert!(heads_ups.is_empty());
        let bags = lines.last().expect("bags stand behind ingredients");
        assert!(bags.is_packaging && lines.len() == 2);
        assert_eq!((bags.need, bags.packs, bags.pack), (Need::Pieces(14), 4, Need::Pieces(1)));
        assert_eq!((bags.cost, bags.outlay), (Money::minor(168), Money::minor(48)));

        let (lines, _) = shopping(&kitchen(), &[], &[], &packing(0, 6));
        assert_eq!(
            lines.iter().map(|line| (line.packs, line.outlay)).collect::<Vec<_>>(),
            [(0, Money::ZERO)]
        );
    }
}
