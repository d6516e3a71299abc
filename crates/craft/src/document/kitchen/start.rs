//! The built-in kitchen: an invented maker with common tools, foods by their composition, and recipes by their published masses.

use super::{
    BoxDocument, CookieBagDocument, CountsDocument, DoughDocument, DoughSheetDocument,
    DryingDocument, GelDocument, HoursDocument, IcingDocument, IngredientDocument, KitchenDocument,
    MoneyDocument, OvenDocument, PaceDocument, PartDocument, PipingBagDocument, RecipeDocument,
    StepDocument, TipDocument, TrayDocument, UnitsDocument,
};

impl Default for KitchenDocument {
    fn default() -> Self {
        Self {
            format: 1,
            makers: 1,
            week_cap: 72,
            days_off: Vec::new(),
            units: UnitsDocument::default(),
            hours: week(),
            dough: DoughDocument::default(),
            dough_sheet: vec![DoughSheetDocument::default()],
            tray: vec![TrayDocument::default()],
            oven: OvenDocument::default(),
            icing: IcingDocument::default(),
            icing_stock: Vec::new(),
            counts: CountsDocument::default(),
            tip: [("1", 1.0), ("2", 1.5), ("3", 2.0)]
                .map(|(name, opening_mm)| TipDocument { name: name.to_owned(), opening_mm })
                .to_vec(),
            piping_bag: PipingBagDocument::default(),
            drying: DryingDocument::default(),
            pace: PaceDocument::default(),
            money: MoneyDocument::default(),
            ingredient: ingredients(),
            recipe: vec![rolled_sugar_cookies(), royal_icing()],
            gel: gels(),
            cookie_bag: cookie_bags(),
            bakers_box: vec![BoxDocument {
                name: "flat box, a dozen".to_owned(),
                width_mm: 250.0,
                length_mm: 350.0,
                height_mm: 60.0,
                price_minor: 140,
                owned: 10,
            }],
            air: Vec::new(),
            water_test: Vec::new(),
            drying_seen: Vec::new(),
            measured: Vec::new(),
        }
    }
}

impl Default for UnitsDocument {
    fn default() -> Self {
        Self {
            time_zone: "America/Halifax".to_owned(),
            currency: "CAD".to_owned(),
            measures: "metric".to_owned(),
            paper: "letter".to_owned(),
            jurisdiction: "ca".to_owned(),
        }
    }
}

/// Evenings in the week and most of Saturday.
fn week() -> Vec<HoursDocument> {
    let window = |day: &str, from: &str, to: &str| HoursDocument {
        day: Some(day.to_owned()),
        date: None,
        from: from.to_owned(),
        to: to.to_owned(),
    };
    let evenings = ["monday", "tuesday", "wednesday", "thursday", "friday"]
        .map(|day| window(day, "18:30", "22:00"));
    let saturday = [window("saturday", "09:00", "12:30"), window("saturday", "13:30", "17:00")];
    evenings.into_iter().chain(saturday).collect()
}

fn ingredients() -> Vec<IngredientDocument> {
    let one = |name: &str, contains: &[&str], allergens: &[&str], pack_g: f64, price_minor: i64| {
        IngredientDocument {
            name: name.to_owned(),
            contains: contains.iter().map(|&part| part.to_owned()).collect(),
            allergens: allergens.iter().map(|&allergen| allergen.to_owned()).collect(),
            pack_g,
            price_minor,
            ..IngredientDocument::default()
        }
    };
    // Spooned densities: USDA SR28, weights of a cup (236.6 ml), a tablespoon or a teaspoon; water at 20 °C.
    let spooned = |bulk: f64, ingredient: IngredientDocument| IngredientDocument {
        bulk_g_per_ml: Some(bulk),
        ..ingredient
    };
    vec![
        spooned(0.528, one("flour", &[], &["wheat"], 2500.0, 620)),
        spooned(0.845, one("sugar", &[], &[], 2000.0, 340)),
        spooned(0.959, one("butter", &["cream (milk)"], &["milk"], 454.0, 640)),
        one("egg", &[], &["egg"], 600.0, 480),
        spooned(1.031, one("milk", &[], &["milk"], 1030.0, 250)),
        spooned(
            0.852,
            one(
                "vanilla extract",
                &["water", "alcohol", "vanilla bean extractives"],
                &[],
                118.0,
                1200,
            ),
        ),
        spooned(1.217, one("salt", &[], &[], 1000.0, 180)),
        spooned(
            0.933,
            one(
                "baking powder",
                &["sodium acid pyrophosphate", "sodium bicarbonate", "corn starch"],
                &[],
                225.0,
                320,
            ),
        ),
        spooned(0.507, one("powdered sugar", &["sugar", "corn starch"], &[], 1000.0, 330)),
        spooned(0.473, one("dried egg white", &[], &["egg"], 227.0, 1600)),
        spooned(0.998, one("water", &[], &[], 1000.0, 0)),
    ]
}

fn recipe(name: &str, parts: &[(&str, f64)], batch_max_g: Option<f64>) -> RecipeDocument {
    RecipeDocument {
        name: name.to_owned(),
        batch_max_g,
        part: parts
            .iter()
            .map(|&(ingredient, mass_g)| PartDocument { ingredient: ingredient.to_owned(), mass_g })
            .collect(),
        step: Vec::new(),
    }
}

/// Goodheart-Willcox, culinary recipe 129, rolled sugar cookies, 24 x 1 3/4 oz: butter 8 oz, sugar 10 oz, salt 1/2 tsp, egg 2 oz,
/// milk 2 oz, vanilla 1 tsp, flour 1 1/4 lb, baking powder 1/2 tsp; spoons by USDA SR28.
fn rolled_sugar_cookies() -> RecipeDocument {
    let parts = [
        ("butter", 226.8),
        ("sugar", 283.5),
        ("salt", 3.0),
        ("egg", 56.7),
        ("milk", 56.7),
        ("vanilla extract", 4.2),
        ("flour", 567.0),
        ("baking powder", 2.3),
    ];
    recipe("rolled sugar cookies", &parts, Some(2400.0))
}

/// Banner, How to Build a Gingerbread House (2008): 2 lb powdered sugar, 4 tbsp dried egg white, 3/4 cup water,
/// beaten 7 to 10 minutes to stiff peaks; the other steps are common practice, no source.
fn royal_icing() -> RecipeDocument {
    let parts = [("dried egg white", 28.0), ("water", 177.0), ("powdered sugar", 907.0)];
    let steps = [
        "Wash bowl, whisk and beater hot and dry them: the least trace of grease keeps icing flat.",
        "Stir the dried white into the water, let it stand 10 minutes, stir again and strain it.",
        "Sift the sugar and add it in three stages at the lowest speed, a damp cloth over the mixer against dust.",
        "Beat 7 to 10 minutes at low to middle speed, until it stands in stiff peaks.",
        "Lay film or a damp cloth right on the icing and close the lid: what lies bare crusts.",
        "Take what is piped stiff first; the rest is tinted and thinned bowl by bowl.",
    ];
    RecipeDocument {
        step: steps.map(|text| StepDocument { text: text.to_owned() }).to_vec(),
        ..recipe("royal icing", &parts, None)
    }
}

fn gels() -> Vec<GelDocument> {
    let gel = |name: &str, swatch: &str, dyes: &[&str]| GelDocument {
        name: name.to_owned(),
        swatch: swatch.to_owned(),
        drop_g: 0.04,
        dye_mg_per_g: None,
        sample: Vec::new(),
        contains: ["water", "sugar", "glycerin"]
            .iter()
            .chain(dyes)
            .map(|&part| part.to_owned())
            .collect(),
        allergens: Vec::new(),
        pack_g: 20.0,
        price_minor: 450,
    };
    vec![
        gel("red", "#c8202b", &["Red 40"]),
        gel("rose pink", "#e58aa5", &["Red 3"]),
        gel("orange", "#e8802e", &["Yellow 6", "Red 40"]),
        gel("lemon yellow", "#f3d94a", &["Yellow 5"]),
        gel("golden yellow", "#f0b530", &["Yellow 5", "Yellow 6"]),
        gel("leaf green", "#4e9a47", &["Yellow 5", "Blue 1"]),
        gel("sky blue", "#5fb4d9", &["Blue 1"]),
        gel("royal blue", "#2b4ba0", &["Blue 2", "Blue 1"]),
        gel("violet", "#6a3d9a", &["Red 3", "Blue 1"]),
        gel("brown", "#6b4423", &["Red 40", "Yellow 5", "Blue 1"]),
        gel("black", "#2a2728", &["Red 40", "Yellow 5", "Blue 1"]),
    ]
}

fn cookie_bags() -> Vec<CookieBagDocument> {
    let bag = |name: &str, width_mm: f64, length_mm: f64, price_minor: i64, owned: u32| {
        CookieBagDocument {
            name: name.to_owned(),
            width_mm,
            length_mm,
            closure_mm: 30.0,
            price_minor,
            owned,
        }
    };
    vec![
        bag("small, 75 x 115 mm", 75.0, 115.0, 8, 100),
        bag("middle, 102 x 152 mm", 102.0, 152.0, 10, 200),
        bag("large, 130 x 180 mm", 130.0, 180.0, 14, 100),
    ]
}
