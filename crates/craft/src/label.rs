//! What is in the cookies, as a label says it?
//!
//! - Ingredients stand in descending order of weight (21 CFR 101.4(a)(1); Regulation (EU) No 1169/2011, Article 18(1)),
//!   and what an ingredient is made of follows it in parentheses (21 CFR 101.4(b)(2)).
//! - United States and Canada: a line that says "Contains" and the food sources
//!   (Federal Food, Drug, and Cosmetic Act, section 403(w)(1)(A); Food and Drug Regulations of Canada, B.01.010.1).
//! - European Union and United Kingdom: allergens stand out in the list (Regulation (EU) No 1169/2011, Article 21(1)),
//!   and six colors need a warning (Regulation (EC) No 1333/2008, Annex V).
//! - The gels of the bowls are on the list with their colors by lawful names; icing from stock counts as made by the recipe,
//!   and its own allergens come on top.
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
mod color;
mod gels;
mod notice;

use std::collections::BTreeSet;

use quantity::Mass;

use crate::{
    heads_up::HeadsUp,
    icing::IcingPlan,
    kitchen::{IcingStock, Jurisdiction, Kitchen},
    order::Order,
    pantry::Usage,
    technique::Design,
    tinting::Tint,
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
    /// What must be printed about its colors; empty where nothing must.
    pub color_warning: String,
    /// Mean mass of a baked and iced cookie.
    pub net: Mass,
    /// What the maker must know beside the label.
    pub cautions: Vec<String>,
}

/// Everything a label is written from.
#[derive(Clone, Copy, Debug)]
pub struct LabelInput<'a> {
    /// The order.
    pub order: &'a Order,
    /// What goes into dough and icing.
    pub usage: &'a [Usage],
    /// The icing, with what comes from stock.
    pub icing: &'a IcingPlan,
    /// The gels of each bowl.
    pub tints: &'a [Option<Tint>],
    /// The cookies.
    pub designs: &'a [Design],
    /// Baked mass of one cookie of each design.
    pub baked_cookie: &'a [Mass],
    /// Icing on one cookie of each design.
    pub icing_on_cookie: &'a [Mass],
}

/// Writes the label of an order from what goes into it.
pub fn label(kitchen: &Kitchen, input: &LabelInput<'_>) -> (Label, Vec<HeadsUp>) {
    let law = kitchen.units.jurisdiction;
    let gels = gels::used(kitchen, input.tints);
    let stock: Vec<&IcingStock> = input
        .icing
        .from_stock
        .iter()
        .filter_map(|used| kitchen.icing_stock.get(used.stock))
        .collect();
    let made = declare(kitchen, input.usage).into_iter().chain(gels::declared(&gels, law));
    let mut declared = merged(made);
    let from_stock = of_stock(kitchen, input.icing, &declared);
    declared.extend(from_stock);
    let mut allergens: Vec<String> = Vec::new();
    for allergen in declared.iter().flat_map(|one| &one.allergens) {
        if !allergens.contains(allergen) {
            allergens.push(allergen.clone());
        }
    }
    let in_list = matches!(law, Jurisdiction::EuropeanUnion | Jurisdiction::UnitedKingdom);
    let ingredients = declared
        .iter()
        .map(|one| {
            let text = one.text(law);
            let text = if in_list { emphasized(&text, &one.allergens) } else { text };
            LabelIngredient { text, mass: one.mass }
        })
        .collect();
    let parts = declared.iter().flat_map(|one| one.contains.iter().chain([&one.name]));
    let color_warning = color::warning(parts.map(String::as_str), law);
    let has_egg = allergens.iter().any(|allergen| rules_out("egg", allergen));
    let cautions = has_egg
        .then_some(EGG_CAUTION)
        .into_iter()
        .chain([LAW_CAUTION])
        .map(str::to_owned)
        .collect();

    let contains_line = if in_list { String::new() } else { contains_line(&allergens) };
    let net = mean_cookie(input.designs, input.baked_cookie, input.icing_on_cookie);
    let label = Label { ingredients, allergens, contains_line, color_warning, net, cautions };
    let unused = notice::Unused::new(kitchen, &gels, &stock);
    let mut heads_ups = notice::clashes(&unused, input.order, &label);
    let recipe = kitchen.recipe(&kitchen.icing.recipe);
    heads_ups.extend(stock.iter().map(|stock| notice::about_stock(kitchen, recipe, stock)));
    heads_ups.extend(notice::colors_left_out(&gels::unexplained(input.icing, input.tints)));
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
    /// Writes it as it is printed: its name, and in parentheses what it is made of.
    fn text(&self, law: Jurisdiction) -> String {
        let parts = printed(&self.contains, law);
        let name = printed(std::slice::from_ref(&self.name), law).join("");
        if parts.is_empty() { name } else { format!("{name} ({})", parts.join(", ")) }
    }
}

/// Writes parts by their lawful names; where the law wants a class before colors, they stand together behind it.
fn printed(parts: &[String], law: Jurisdiction) -> Vec<String> {
    let (class, classes) = match law {
        Jurisdiction::EuropeanUnion | Jurisdiction::UnitedKingdom => ("colour", "colours"), // tidy: allow-spelling
        Jurisdiction::UnitedStates | Jurisdiction::Canada => {
            return parts.iter().map(|part| color::lawful(part, law)).collect();
        }
    };
    let colors: Vec<String> = parts
        .iter()
        .filter(|part| color::is_color(part))
        .map(|part| color::lawful(part, law))
        .collect();
    let class = if colors.len() == 1 { class } else { classes };
    let mut printed = Vec::new();
    let mut is_told = false;
    for part in parts {
        match (color::is_color(part), is_told) {
            (false, _) => printed.push(part.clone()),
            (true, false) => {
                is_told = true;
                printed.push(format!("{class}: {}", colors.join(", ")));
            }
            (true, true) => {}
        }
    }
    printed
}

/// What icing from stock brings that nothing else on the list does: its allergens, under the name of the icing.
fn of_stock(kitchen: &Kitchen, icing: &IcingPlan, declared: &[Declared]) -> Option<Declared> {
    let stock = || {
        icing
            .from_stock
            .iter()
            .filter_map(|used| Some((kitchen.icing_stock.get(used.stock)?, used.mass)))
    };
    let is_new = |allergen: &&String| {
        !declared.iter().flat_map(|one| &one.allergens).any(|known| rules_out(known, allergen))
    };
    let allergens: BTreeSet<String> =
        stock().flat_map(|(stock, _)| stock.allergens.iter().filter(is_new).cloned()).collect();
    let mass = stock().map(|(_, mass)| mass).sum();
    let name = kitchen.icing.recipe.clone();
    (!allergens.is_empty()).then_some(Declared { name, contains: Vec::new(), allergens, mass })
}

/// Names what goes in as a label does; what the kitchen does not know keeps its own name.
fn declare(kitchen: &Kitchen, usage: &[Usage]) -> Vec<Declared> {
    let declared = usage.iter().map(|Usage { ingredient, mass }| {
        let known = kitchen.ingredient(ingredient);
        Declared {
            name: known.map_or(ingredient, |known| &known.label_name).clone(),
            contains: known.map(|known| known.contains.clone()).unwrap_or_default(),
            allergens: known.map(|known| known.allergens.clone()).unwrap_or_default(),
            mass: *mass,
        }
    });
    declared.collect()
}

/// Merges what has one lawful name, most first.
fn merged(all: impl IntoIterator<Item = Declared>) -> Vec<Declared> {
    let mut declared: Vec<Declared> = Vec::new();
    for one in all {
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
    use drawing::{Color, Region};
    use jiff::civil::date;
    use quantity::{Length, Money};

    use super::*;
    use crate::{
        document::start_kitchen,
        heads_up::{Severity, Subject},
        icing::{Bowl, StockUse},
        kitchen::{Gel, IcingStock, Ingredient},
        order::{BaseChoice, Cutter, Detail, Item, ItemPicture},
        tinting::{Dose, Measure},
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
            cutter_use: crate::order::CutterUse::default(),
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
            bench: crate::order::Bench::default(),
            items: vec![item],
        }
    }

    /// The label of the usual usage with this icing.
    fn told(
        kitchen: &Kitchen,
        order: &Order,
        icing: &IcingPlan,
        tints: &[Option<Tint>],
    ) -> (Label, Vec<HeadsUp>) {
        let usage = &usage();
        let (designs, baked_cookie, icing_on_cookie) = (&[], &[], &[]);
        let input =
            LabelInput { order, usage, icing, tints, designs, baked_cookie, icing_on_cookie };
        label(kitchen, &input)
    }

    fn written(jurisdiction: Jurisdiction) -> Label {
        told(&kitchen(jurisdiction), &order(&[], &[]), &IcingPlan::default(), &[]).0
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
        let (_, heads_ups) = told(kitchen, &order(avoid, without), &IcingPlan::default(), &[]);
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
    fn what_is_not_in_the_order_is_held_against_what_is_avoided_too() {
        let soy = || BTreeSet::from(["soy".to_owned()]);
        let mut kitchen = kitchen(Jurisdiction::UnitedStates);
        kitchen.icing_stock = vec![IcingStock {
            color: kitchen.icing.base_color,
            mass: Mass::g(200.0),
            made_on: date(2027, 3, 1),
            allergens: soy(),
        }];
        let stock = "The icing made on 2027-03-01 contains soy, which this order avoids.";
        let expected = [(Severity::Caution, Subject::Label, stock)];
        check_clash(&kitchen, &["soybeans"], &[], &expected);

        kitchen.icing_stock.clear();
        kitchen.gels = vec![Gel { allergens: soy(), ..gel(&kitchen, "poppy", &["Red 40"]) }];
        let gel = "The gel \"poppy\" contains soy, which this order avoids.";
        check_clash(&kitchen, &["soya"], &[], &[(Severity::Caution, Subject::Label, gel)]);
    }

    #[test]
    fn icing_from_stock_brings_its_allergens_to_the_label() {
        let mut kitchen = kitchen(Jurisdiction::EuropeanUnion);
        kitchen.icing_stock = vec![IcingStock {
            color: kitchen.icing.base_color,
            mass: Mass::g(200.0),
            made_on: date(2027, 3, 1),
            allergens: BTreeSet::from(["egg".to_owned(), "soy".to_owned()]),
        }];
        let used = StockUse { stock: 0, mass: Mass::g(120.0) };
        let icing = IcingPlan { from_stock: vec![used], ..IcingPlan::default() };
        let (label, heads_ups) = told(&kitchen, &order(&["soy"], &[]), &icing, &[]);
        assert_eq!(label.allergens, ["wheat", "milk", "egg", "soy"]);
        assert_eq!(
            label.ingredients.last().map(|one| one.text.as_str()),
            Some("royal icing (SOY)")
        );
        let told: Vec<_> =
            heads_ups.iter().map(|one| (one.severity, one.message.as_str())).collect();
        assert_eq!(
            told,
            [
                (Severity::Stop, "Dough or icing contains soy, which this order avoids."),
                (
                    Severity::Caution,
                    "The icing made on 2027-03-01 brings egg, soy to the label, which is not in the recipe \"royal icing\"."
                ),
            ]
        );
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

    /// A bowl that is made, and the gels that color it.
    fn colored(color: &str, doses: &[(&str, f64)]) -> (Bowl, Option<Tint>) {
        let color = Color::parse(color).expect("a color");
        let dose = |&(gel, mass_g): &(&str, f64)| {
            let mass = Mass::g(mass_g);
            Dose { gel: gel.to_owned(), mass, measure: Measure::Mix(mass) }
        };
        let doses: Vec<Dose> = doses.iter().map(dose).collect();
        let bowl = Bowl {
            id: "dark-blue".into(),
            color,
            on_cookies: Mass::ZERO,
            left: Mass::ZERO,
            water: Mass::ZERO,
            weigh_out: Mass::g(100.0),
            from_stock: Mass::ZERO,
            tinted_stock: Mass::ZERO,
            bags: Vec::new(),
            range: None,
        };
        let tint = Tint {
            doses,
            start: None,
            expected: color,
            tomorrow: color,
            difference: 0.0,
            gel: Mass::ZERO,
            cost: Money::ZERO,
            cautions: Vec::new(),
            others: Vec::new(),
        };
        (bowl, (!tint.doses.is_empty()).then_some(tint))
    }

    /// Expects what the two gels of an order add to the list, and the warning below it.
    fn check_colors(law: Jurisdiction, expected: &[&str], warning: &str) {
        let mut kitchen = kitchen(law);
        let parts = |dye| ["water", "sugar", "glycerin", dye];
        kitchen.gels = vec![
            gel(&kitchen, "poppy", &parts("FD&C Red No. 40")),
            gel(&kitchen, "night", &parts("Blue 1")),
            gel(&kitchen, "lemon", &parts("Yellow 5")),
        ];
        // More of the blue gel, so that its dye stands first; the yellow one is not used.
        let (bowl, tint) = colored("#2f4666", &[("night", 0.9), ("poppy", 0.3)]);
        let icing = IcingPlan { bowls: vec![bowl], ..IcingPlan::default() };
        let (label, heads_ups) = told(&kitchen, &order(&[], &[]), &icing, &[tint]);
        let texts: Vec<&str> = label.ingredients.iter().map(|one| one.text.as_str()).collect();
        let n = texts.len() - expected.len();
        assert_eq!((&texts[n..], label.color_warning.as_str()), (expected, warning), "{law:?}");
        assert_eq!(heads_ups, []);
    }

    #[test]
    fn colors_stand_by_their_lawful_names() {
        // 21 CFR 101.22(k)(1) and 101.4(b)(2).
        let list = ["food color (water, sugar, glycerin, Blue 1, Red 40)"];
        check_colors(Jurisdiction::UnitedStates, &list, "");
        // Canadian Food Inspection Agency: colors by their own names, grouped behind no word; water and sugar are there already.
        check_colors(Jurisdiction::Canada, &["glycerin", "brilliant blue FCF", "allura red"], "");
        // Regulation (EC) No 1333/2008, Annex V: E129 needs the warning, E133 does not.
        let list = ["food colour (water, sugar, glycerin, colours: E133, E129)"]; // tidy: allow-spelling
        let warning = "E129: may have an adverse effect on activity and attention in children.";
        check_colors(Jurisdiction::EuropeanUnion, &list, warning);
        check_colors(Jurisdiction::UnitedKingdom, &list, warning);
    }

    #[test]
    fn a_color_no_gel_gives_is_told_to_be_missing() {
        let (bowl, tint) = colored("#2f4666", &[]);
        let (white, _) = colored("#fdfdfb", &[]);
        let tub = Bowl { from_stock: bowl.weigh_out, ..bowl.clone() };
        let icing = IcingPlan { bowls: vec![bowl, white, tub], ..IcingPlan::default() };
        let kitchen = kitchen(Jurisdiction::UnitedStates);
        let (_, heads_ups) = told(&kitchen, &order(&[], &[]), &icing, &[tint, None, None]);
        let found: Vec<&str> = heads_ups.iter().map(|one| one.message.as_str()).collect();
        let message = "No gel of this kitchen gives dark blue: what colors it is not on the list of ingredients.";
        assert_eq!(found, [message]);
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
            let input = LabelInput {
                order: &order(&[], &[]),
                usage: &[],
                icing: &IcingPlan::default(),
                tints: &[],
                designs,
                baked_cookie: &masses([40.0, 20.0]),
                icing_on_cookie: &masses([10.0, 6.0]),
            };
            label(&kitchen, &input).0
        };
        // (30 x 50 g + 10 x 26 g) / 40 = 44 g.
        assert_eq!(net(&[design(30), design(10)]).net, Mass::g(44.0));
        assert_eq!(net(&[design(0)]).net, Mass::ZERO);
        assert_eq!(net(&[]).cautions, [LAW_CAUTION]);
        assert_eq!(written(Jurisdiction::UnitedStates).cautions, [EGG_CAUTION, LAW_CAUTION]);
    }
}
