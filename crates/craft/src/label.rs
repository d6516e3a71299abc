//! What is in the cookies, as a label says it?
//!
//! - Ingredients stand in descending order of weight (21 CFR 101.4(a)(1); Regulation (EU) No 1169/2011, Article 18(1)),
//!   and what an ingredient is made of follows it in parentheses (21 CFR 101.4(b)(2)).
//! - United States and Canada: a line that says "Contains" and the food sources
//!   (Federal Food, Drug, and Cosmetic Act, section 403(w)(1)(A); Food and Drug Regulations of Canada, B.01.010.1).
//! - European Union and United Kingdom: allergens stand out in the list (Regulation (EU) No 1169/2011, Article 21(1)).
//!
//! net = (sum of n x (b + i)) / (sum of n), with n the copies of a design, b the baked mass of one and i the icing on it, in g.
//! A label never says what cookies are free from: a home kitchen has shared tools and shared air.
//!
//! # Worked example
//! ```
//! use craft::label::contains_line;
//!
//! let allergens = ["wheat", "milk", "egg"].map(String::from);
//! assert_eq!(contains_line(&allergens), "Contains: wheat, milk, egg.");
//! ```

mod allergen;
mod notice;

use std::collections::BTreeSet;

use quantity::Mass;

use crate::{
    heads_up::HeadsUp,
    kitchen::{Jurisdiction, Kitchen},
    order::Order,
    pantry::Usage,
    technique::Design,
};

pub use allergen::{emphasized, is_allergen, rules_out};

/// Dried white is egg, pasteurized or not.
///
/// Source: Food Code of the US Food and Drug Administration, 3-801.11 (from memory).
const EGG_CAUTION: &str = "Dried egg white must be pasteurized and is still egg: take extra care for young children, \
     older people, pregnant women and people with weak immunity.";

/// Holds everywhere.
const LAW_CAUTION: &str = "Check your local rules for labels; this is not legal advice.";

/// One ingredient of the label.
#[derive(Clone, Debug, PartialEq)]
pub struct LabelIngredient {
    /// Its lawful name, and what it is made of in parentheses.
    pub text: String,
    /// Its mass in dough and icing.
    pub mass: Mass,
}

/// The chapter on the label.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Label {
    /// Ingredients, most first.
    pub ingredients: Vec<LabelIngredient>,
    /// Allergens in the order in which the ingredients bring them.
    pub allergens: Vec<String>,
    /// The line that names them, where the law wants one; else empty.
    pub contains_line: String,
    /// Mean mass of a baked and iced cookie.
    pub net: Mass,
    /// What the maker must know beside the label.
    pub cautions: Vec<String>,
}

/// Writes the label of an order from what goes into it.
///
/// `baked_cookie` and `icing_on_cookie` are masses of one cookie of each design.
pub fn label(
    kitchen: &Kitchen,
    order: &Order,
    usage: &[Usage],
    designs: &[Design],
    baked_cookie: &[Mass],
    icing_on_cookie: &[Mass],
) -> (Label, Vec<HeadsUp>) {
    let declared = declare(kitchen, usage);
    let mut allergens: Vec<String> = Vec::new();
    for allergen in declared.iter().flat_map(|one| &one.allergens) {
        if !allergens.contains(allergen) {
            allergens.push(allergen.clone());
        }
    }
    let in_list = matches!(
        kitchen.units.jurisdiction,
        Jurisdiction::EuropeanUnion | Jurisdiction::UnitedKingdom
    );
    let ingredients = declared
        .iter()
        .map(|one| LabelIngredient {
            text: if in_list { emphasized(&one.text(), &one.allergens) } else { one.text() },
            mass: one.mass,
        })
        .collect();
    let has_egg = allergens.iter().any(|allergen| rules_out("egg", allergen));
    let cautions = has_egg
        .then_some(EGG_CAUTION)
        .into_iter()
        .chain([LAW_CAUTION])
        .map(str::to_owned)
        .collect();

    let contains_line = if in_list { String::new() } else { contains_line(&allergens) };
    let net = mean_cookie(designs, baked_cookie, icing_on_cookie);
    let label = Label { ingredients, allergens, contains_line, net, cautions };
    let mut heads_ups = notice::clashes(kitchen, order, &label);
    heads_ups.extend(notice::stock_left_out(&kitchen.icing_stock));
    heads_ups.extend(notice::colors_left_out(&kitchen.gels));
    (label, heads_ups)
}

/// Writes the line that names allergens by their food source; empty without any.
pub fn contains_line(allergens: &[String]) -> String {
    if allergens.is_empty() {
        String::new()
    } else {
        format!("Contains: {}.", allergens.join(", "))
    }
}

/// All ingredients of one lawful name.
struct Declared {
    name: String,
    contains: Vec<String>,
    allergens: BTreeSet<String>,
    mass: Mass,
}

impl Declared {
    fn text(&self) -> String {
        if self.contains.is_empty() {
            self.name.clone()
        } else {
            format!("{} ({})", self.name, self.contains.join(", "))
        }
    }
}

/// Merges ingredients of the same lawful name, most first; what the kitchen does not know keeps its own name.
fn declare(kitchen: &Kitchen, usage: &[Usage]) -> Vec<Declared> {
    let mut declared: Vec<Declared> = Vec::new();
    for Usage { ingredient, mass } in usage {
        let known = kitchen.ingredient(ingredient);
        let name = known.map_or(ingredient, |known| &known.label_name);
        let one = Declared {
            name: name.clone(),
            contains: known.map(|known| known.contains.clone()).unwrap_or_default(),
            allergens: known.map(|known| known.allergens.clone()).unwrap_or_default(),
            mass: *mass,
        };
        match declared.iter_mut().find(|other| other.name == one.name) {
            Some(other) => {
                other.mass += one.mass;
                other.allergens.extend(one.allergens);
                let new: Vec<_> = one
                    .contains
                    .into_iter()
                    .filter(|part| !other.contains.contains(part))
                    .collect();
                other.contains.extend(new);
            }
            None => declared.push(one),
        }
    }
    declared.sort_by(|a, b| b.mass.to_g().total_cmp(&a.mass.to_g()));
    declared
}

fn mean_cookie(designs: &[Design], baked_cookie: &[Mass], icing_on_cookie: &[Mass]) -> Mass {
    let mut total = Mass::ZERO;
    let mut n = 0.0;
    for ((design, &baked), &icing) in designs.iter().zip(baked_cookie).zip(icing_on_cookie) {
        let copies = f64::from(design.copies());
        total += (baked + icing) * copies;
        n += copies;
    }
    if n > 0.0 { total / n } else { Mass::ZERO }
}

#[cfg(test)]
mod tests {
    use drawing::Region;
    use jiff::civil::date;
    use quantity::{Length, Money};

    use super::*;
    use crate::{
        document::start_kitchen,
        heads_up::{Severity, Subject},
        kitchen::{Gel, IcingStock, Ingredient},
        order::{BaseChoice, Cutter, Detail, Item, ItemPicture},
    };

    fn ingredient(
        name: &str,
        label_name: &str,
        contains: &[&str],
        allergens: &[&str],
    ) -> Ingredient {
        let owned = |names: &[&str]| names.iter().map(|&name| name.to_owned()).collect::<Vec<_>>();
        Ingredient {
            name: name.to_owned(),
            label_name: label_name.to_owned(),
            contains: owned(contains),
            allergens: owned(allergens).into_iter().collect(),
            pack: Mass::g(1000.0),
            price: Money::minor(250),
            bulk_density: None,
        }
    }

    fn kitchen(jurisdiction: Jurisdiction) -> Kitchen {
        let mut kitchen = start_kitchen();
        kitchen.units.jurisdiction = jurisdiction;
        kitchen.gels = Vec::new();
        kitchen.ingredients = vec![
            ingredient("flour", "wheat flour", &[], &["wheat"]),
            ingredient("powdered sugar", "sugar", &[], &[]),
            ingredient("fine sugar", "sugar", &[], &[]),
            ingredient("butter", "butter", &["cream", "salt"], &["milk"]),
            ingredient("dried white", "egg whites", &[], &["egg"]),
        ];
        kitchen
    }

    fn usage() -> Vec<Usage> {
        let usage = |(name, mass_g): (&str, f64)| Usage {
            ingredient: name.to_owned(),
            mass: Mass::g(mass_g),
        };
        let parts = [
            ("flour", 900.0),
            ("powdered sugar", 600.0),
            ("butter", 500.0),
            ("fine sugar", 400.0),
            ("water", 90.0),
        ];
        parts.into_iter().chain([("dried white", 40.0)]).map(usage).collect()
    }

    fn order(avoid: &[&str], without: &[&str]) -> Order {
        let owned = |names: &[&str]| names.iter().map(|&name| name.to_owned()).collect::<Vec<_>>();
        let cutter = Cutter::parse("round 80 mm").expect("a cutter");
        let item = Item {
            name: "plaque".into(),
            count: 12,
            extras: None,
            picture: ItemPicture::Undrawn { cutter, detail: Detail::Plain, colors: Vec::new() },
            without: owned(without),
            baked_frozen_on: None,
            note: None,
        };
        Order {
            title: "Invented birthday".into(),
            customer: "Invented customer".into(),
            invented: true,
            handovers: Vec::new(),
            must_have: Vec::new(),
            wording_confirmed: true,
            avoid: owned(avoid),
            base: BaseChoice::FromArt,
            most_colors: None,
            items: vec![item],
        }
    }

    fn written(jurisdiction: Jurisdiction) -> Label {
        label(&kitchen(jurisdiction), &order(&[], &[]), &usage(), &[], &[], &[]).0
    }

    /// Expects the list of ingredients and the line below it.
    fn check_list(jurisdiction: Jurisdiction, list: &str, contains_line: &str) {
        let label = written(jurisdiction);
        let texts: Vec<_> = label.ingredients.iter().map(|one| one.text.as_str()).collect();
        assert_eq!(
            (texts.join(", ").as_str(), label.contains_line.as_str()),
            (list, contains_line),
            "{jurisdiction:?}"
        );
        assert_eq!(label.allergens, ["wheat", "milk", "egg"]);
    }

    #[test]
    fn ingredients_of_one_lawful_name_are_one_and_stand_by_weight() {
        // 21 CFR 101.4(a)(1) and (b)(2); section 403(w)(1)(A): both sugars together outweigh the flour.
        let list = "sugar, wheat flour, butter (cream, salt), water, egg whites";
        check_list(Jurisdiction::UnitedStates, list, "Contains: wheat, milk, egg.");
        check_list(Jurisdiction::Canada, list, "Contains: wheat, milk, egg.");
        assert_eq!(
            written(Jurisdiction::Canada).ingredients.first().map(|one| one.mass),
            Some(Mass::g(1000.0))
        );
    }

    #[test]
    fn in_europe_allergens_stand_out_in_the_list_and_no_line_repeats_them() {
        // Regulation (EU) No 1169/2011, Article 21(1).
        let list = "sugar, WHEAT flour, butter (cream, salt) (MILK), water, EGG whites";
        check_list(Jurisdiction::EuropeanUnion, list, "");
        check_list(Jurisdiction::UnitedKingdom, list, "");
    }

    /// Expects severity, subject and message of what an order or its one item avoids.
    fn check_clash(
        kitchen: &Kitchen,
        avoid: &[&str],
        without: &[&str],
        expected: &[(Severity, Subject, &str)],
    ) {
        let (_, heads_ups) = label(kitchen, &order(avoid, without), &usage(), &[], &[], &[]);
        let found: Vec<_> = heads_ups
            .iter()
            .map(|found| (found.severity, found.subject.clone(), found.message.as_str()))
            .collect();
        assert_eq!(found, expected);
    }

    #[test]
    fn what_must_be_avoided_stops_the_order_or_the_item() {
        let kitchen = kitchen(Jurisdiction::UnitedStates);
        let plaque = Subject::Item("plaque".into());
        let (egg, wheat) = (
            "Dough or icing contains egg, which this order avoids.",
            "Dough or icing contains wheat, which this item avoids.",
        );
        check_clash(&kitchen, &[], &[], &[]);
        check_clash(&kitchen, &["nuts", "sesame"], &["soy"], &[]);
        check_clash(&kitchen, &["Eggs"], &[], &[(Severity::Stop, Subject::Label, egg)]);
        check_clash(
            &kitchen,
            &["egg white", "eggs"],
            &[],
            &[(Severity::Stop, Subject::Label, egg)],
        );
        check_clash(&kitchen, &[], &["gluten"], &[(Severity::Stop, plaque, wheat)]);
    }

    #[test]
    fn what_cannot_be_checked_is_told_and_never_passes_in_silence() {
        let kitchen = kitchen(Jurisdiction::UnitedStates);
        let unknown = "Avoiding \"nut-free\" could not be checked: labels have no such allergen.";
        check_clash(&kitchen, &["nut-free"], &[], &[(Severity::Caution, Subject::Label, unknown)]);
        let named = "\"butter (cream, salt)\" sounds like cream, which this order avoids.";
        check_clash(&kitchen, &["cream"], &[], &[(Severity::Caution, Subject::Label, named)]);
    }

    #[test]
    fn gels_and_icing_that_was_there_before_are_held_against_what_is_avoided() {
        let soy = || BTreeSet::from(["soy".to_owned()]);
        let mut kitchen = kitchen(Jurisdiction::UnitedStates);
        kitchen.icing_stock = vec![IcingStock {
            color: kitchen.icing.base_color,
            mass: Mass::g(200.0),
            made_on: date(2027, 3, 1),
            allergens: soy(),
        }];
        let stock = "The icing made on 2027-03-01 contains soy, which this order avoids.";
        let left_out = "Icing that was there before is not on the list of ingredients.";
        let expected = [stock, left_out].map(|text| (Severity::Caution, Subject::Label, text));
        check_clash(&kitchen, &["soybeans"], &[], &expected);

        kitchen.icing_stock.clear();
        kitchen.gels = vec![Gel { allergens: soy(), ..gel(&kitchen, "poppy", &["Red 40"]) }];
        let (_, heads_ups) = label(&kitchen, &order(&["soya"], &[]), &usage(), &[], &[], &[]);
        let told: Vec<_> = heads_ups.iter().map(|found| found.message.as_str()).collect();
        let left_out = "Food colors are not on the list of ingredients yet.";
        assert_eq!(told, ["The gel \"poppy\" contains soy, which this order avoids.", left_out]);
    }

    fn gel(kitchen: &Kitchen, name: &str, contains: &[&str]) -> Gel {
        Gel {
            name: name.to_owned(),
            swatch: kitchen.icing.base_color,
            drop: Mass::g(0.05),
            dye_mg_per_g: 60.0,
            samples: Vec::new(),
            contains: contains.iter().map(|&part| part.to_owned()).collect(),
            allergens: BTreeSet::new(),
            pack: Mass::g(20.0),
            price: Money::minor(400),
        }
    }

    #[test]
    fn colors_are_named_to_be_added_and_their_allergens_with_them() {
        let mut kitchen = kitchen(Jurisdiction::UnitedStates);
        let gels = vec![
            gel(&kitchen, "poppy", &["glycerin", "Red 40"]),
            gel(&kitchen, "night", &["Blue 1"]),
        ];
        kitchen.gels = gels;
        let (_, heads_ups) = label(&kitchen, &order(&[], &[]), &usage(), &[], &[], &[]);
        let hints: Vec<_> = heads_ups
            .into_iter()
            .map(|found| (found.severity, found.subject, found.hint))
            .collect();
        let hint = "Add by their lawful names those you use: \"poppy\": glycerin, Red 40; \"night\": Blue 1.";
        assert_eq!(hints, [(Severity::Note, Subject::Label, Some(hint.to_owned()))]);
    }

    #[test]
    fn net_mass_is_the_mean_over_all_copies_and_egg_asks_for_care() {
        let design = |count| Design {
            id: "plaque".into(),
            count,
            extras: 0,
            outline: Region::default(),
            width: Length::mm(80.0),
            height: Length::mm(80.0),
            drawn: false,
            sections: 0..0,
        };
        let masses = |g: [f64; 2]| g.map(Mass::g);
        let kitchen = kitchen(Jurisdiction::UnitedStates);
        let net = |designs: &[Design]| {
            label(
                &kitchen,
                &order(&[], &[]),
                &[],
                designs,
                &masses([40.0, 20.0]),
                &masses([10.0, 6.0]),
            )
            .0
        };
        // (30 x 50 g + 10 x 26 g) / 40 = 44 g.
        assert_eq!(net(&[design(30), design(10)]).net, Mass::g(44.0));
        assert_eq!(net(&[design(0)]).net, Mass::ZERO);
        assert_eq!(net(&[]).cautions, [LAW_CAUTION]);
        assert_eq!(written(Jurisdiction::UnitedStates).cautions, [EGG_CAUTION, LAW_CAUTION]);
    }
}
