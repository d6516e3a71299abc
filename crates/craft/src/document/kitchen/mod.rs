//! `kitchen.toml`, format 1: all that is true across orders.
//!
//! Every key may be left out: its start value then holds, and stands here with its source.
//! Lists (`hours`, `tray`, `ingredient` and so on) are taken whole or left whole.

mod bench;
mod numbers;
mod pantry;
mod records;
mod start;

use jiff::{civil::Weekday, tz::TimeZone};
use quantity::Currency;
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

pub(super) use numbers::{g, within};
pub(super) use pantry::color;

pub use bench::{
    CountsDocument, DoughDocument, DoughSheetDocument, DryingDocument, IcingDocument,
    LoadTimeDocument, OvenDocument, PaceDocument, PipingBagDocument, TipDocument, TrayDocument,
};
pub use pantry::{
    BoxDocument, CookieBagDocument, DetailPricesDocument, GelDocument, GelSampleDocument,
    IcingStockDocument, IngredientDocument, MoneyDocument, PartDocument, RecipeDocument,
    StepDocument,
};
pub use records::{
    AirDocument, DryingSeenDocument, KnownRate, MeasuredDocument, WaterTestDocument,
};
pub(in crate::document) use records::{air, seen};

use crate::{
    document::{
        FileError,
        choices::{by_name, check_format},
        error::{BadValue, from_toml},
    },
    kitchen::{DatedHours, Hours, Jurisdiction, Kitchen, Measures, Paper, Units, WeeklyHours},
};

/// The file's name in messages.
const FILE: &str = "kitchen.toml";

/// A kitchen.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(default, deny_unknown_fields)]
#[schemars(title = "kitchen.toml")]
pub struct KitchenDocument {
    /// The format of this file: 1.
    pub format: u32,
    /// How many people decorate at once, 1 to 3.
    pub makers: usize,
    /// Most cookies in a week. Source: common practice, no source.
    pub week_cap: u32,
    /// Dates without any work, such as "2027-03-03".
    pub days_off: Vec<String>,
    /// Time zone, currency, measures, paper, law.
    pub units: UnitsDocument,
    /// Working windows; several a day are fine. Start: an invented part-time maker's week.
    pub hours: Vec<HoursDocument>,
    /// Dough and what the oven does to it.
    pub dough: DoughDocument,
    /// Sizes of rolled dough; the first is rolled fresh.
    pub dough_sheet: Vec<DoughSheetDocument>,
    /// Baking sheets; the first is the one that is filled.
    pub tray: Vec<TrayDocument>,
    /// The oven.
    pub oven: OvenDocument,
    /// Icing.
    pub icing: IcingDocument,
    /// Icing that is already there.
    pub icing_stock: Vec<IcingStockDocument>,
    /// Target counts.
    pub counts: CountsDocument,
    /// Piping tips.
    pub tip: Vec<TipDocument>,
    /// Fills of a piping bag.
    pub piping_bag: PipingBagDocument,
    /// Skin, set and dry.
    pub drying: DryingDocument,
    /// How fast the maker's hands are.
    pub pace: PaceDocument,
    /// Wage, prices and rules of payment.
    pub money: MoneyDocument,
    /// Everything that touches a cookie. Start: prices are invented; composition and allergens are those of the foods.
    pub ingredient: Vec<IngredientDocument>,
    /// Recipes by mass.
    pub recipe: Vec<RecipeDocument>,
    /// Food colors. Start: invented gels with common dyes.
    pub gel: Vec<GelDocument>,
    /// Bags for single cookies. Start: invented sizes and prices.
    pub cookie_bag: Vec<CookieBagDocument>,
    /// Boxes. Start: invented sizes and prices.
    #[serde(rename = "box")]
    pub bakers_box: Vec<BoxDocument>,
    /// Air expected in the room from a day on; an order is planned in that of the day of its first hand-over.
    pub air: Vec<AirDocument>,
    /// Tests of icing with water in it, the latest last.
    pub water_test: Vec<WaterTestDocument>,
    /// What was seen while icing dried, the latest last.
    pub drying_seen: Vec<DryingSeenDocument>,
    /// Numbers that were measured; each moves the start value under its key.
    pub measured: Vec<MeasuredDocument>,
}

/// The conventions a kitchen lives by.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(default, deny_unknown_fields)]
pub struct UnitsDocument {
    /// IANA name of the time zone.
    pub time_zone: String,
    /// ISO 4217 code of the currency.
    pub currency: String,
    /// metric or us.
    pub measures: String,
    /// a4 or letter.
    pub paper: String,
    /// Whose labeling law applies: us, eu, uk or ca.
    pub jurisdiction: String,
}

/// A working window of a weekday, or of one date.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(default, deny_unknown_fields)]
pub struct HoursDocument {
    /// monday to sunday; or leave it out and give a date.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub day: Option<String>,
    /// A single date that differs from its weekday, such as "2027-03-03".
    #[serde(skip_serializing_if = "Option::is_none")]
    pub date: Option<String>,
    /// Start of the window, such as "19:00".
    pub from: String,
    /// End of the window, such as "22:00".
    pub to: String,
}

const MEASURES: [(Measures, &str); 2] = [(Measures::Metric, "metric"), (Measures::Us, "us")];
const PAPERS: [(Paper, &str); 2] = [(Paper::A4, "a4"), (Paper::Letter, "letter")];
const JURISDICTIONS: [(Jurisdiction, &str); 4] = [
    (Jurisdiction::UnitedStates, "us"),
    (Jurisdiction::EuropeanUnion, "eu"),
    (Jurisdiction::UnitedKingdom, "uk"),
    (Jurisdiction::Canada, "ca"),
];
const WEEKDAYS: [(Weekday, &str); 7] = [
    (Weekday::Monday, "monday"),
    (Weekday::Tuesday, "tuesday"),
    (Weekday::Wednesday, "wednesday"),
    (Weekday::Thursday, "thursday"),
    (Weekday::Friday, "friday"),
    (Weekday::Saturday, "saturday"),
    (Weekday::Sunday, "sunday"),
];

/// Returns the built-in kitchen: every start value.
pub fn start_kitchen() -> Kitchen {
    convert(KitchenDocument::default()).expect("a test converts the start values")
}

/// Reads a kitchen; what the text leaves out keeps its start value.
///
/// # Errors
/// The text is no such document, or a value makes no sense; the message names line and key.
pub fn read_kitchen(text: &str) -> Result<Kitchen, FileError> {
    convert(read_kitchen_document(text)?).map_err(|bad| bad.in_file(FILE, text))
}

/// Reads a kitchen as its document, its values unchecked; what the text leaves out keeps its start value.
///
/// # Errors
/// The text is no such document.
pub fn read_kitchen_document(text: &str) -> Result<KitchenDocument, FileError> {
    from_toml(FILE, text)
}

impl KitchenDocument {
    /// Returns every number that is learned, with what is known of it.
    ///
    /// # Errors
    /// A record makes no sense; the message names it.
    pub fn known_rates(&self) -> Result<Vec<KnownRate>, FileError> {
        records::known_rates(self).map_err(|bad| bad.in_file(FILE, ""))
    }

    /// Writes the kitchen as the text of a `kitchen.toml`.
    pub fn to_toml(&self) -> String {
        toml::to_string(self).expect("plain structs with text keys are TOML")
    }
}

fn convert(mut document: KitchenDocument) -> Result<Kitchen, BadValue> {
    check_format(document.format)?;
    records::apply(&mut document)?;
    let units = convert_units(&document.units).map_err(|bad| bad.within("units", 0))?;
    if !(1..=3).contains(&document.makers) {
        return Err(BadValue::new(
            "makers",
            format!("{} is outside 1 to 3; correct it", document.makers),
        ));
    }
    let hours = convert_hours(&document)?;
    let water_tests = records::water_tests(&document)?;
    let drying_seen = records::drying_seen(&document)?;
    let expected = each("air", document.air, AirDocument::convert)?;
    let (dough, baking) = document.dough.convert().map_err(|bad| bad.within("dough", 0))?;
    let kitchen = Kitchen {
        units,
        hours,
        makers: document.makers,
        week_cap: document.week_cap,
        dough,
        dough_sheets: at_least_one(
            "dough_sheet",
            document.dough_sheet,
            DoughSheetDocument::convert,
        )?,
        baking,
        trays: at_least_one("tray", document.tray, TrayDocument::convert)?,
        oven: document.oven.convert().map_err(|bad| bad.within("oven", 0))?,
        icing: document.icing.convert(&water_tests).map_err(|bad| bad.within("icing", 0))?,
        icing_stock: each("icing_stock", document.icing_stock, IcingStockDocument::convert)?,
        counts: document.counts.convert().map_err(|bad| bad.within("counts", 0))?,
        tips: at_least_one("tip", document.tip, TipDocument::convert)?,
        piping_bags: document.piping_bag.convert().map_err(|bad| bad.within("piping_bag", 0))?,
        water_tests,
        drying: document
            .drying
            .convert(&drying_seen, expected)
            .map_err(|bad| bad.within("drying", 0))?,
        pace: document.pace.convert().map_err(|bad| bad.within("pace", 0))?,
        money: document.money.convert().map_err(|bad| bad.within("money", 0))?,
        ingredients: each("ingredient", document.ingredient, IngredientDocument::convert)?,
        recipes: each("recipe", document.recipe, RecipeDocument::convert)?,
        gels: each("gel", document.gel, GelDocument::convert)?,
        cookie_bags: each("cookie_bag", document.cookie_bag, CookieBagDocument::convert)?,
        boxes: each("box", document.bakers_box, BoxDocument::convert)?,
    };
    check_references(&kitchen)?;
    Ok(kitchen)
}

fn each<D, T>(
    table: &'static str,
    documents: Vec<D>,
    convert: impl Fn(D) -> Result<T, BadValue>,
) -> Result<Vec<T>, BadValue> {
    documents
        .into_iter()
        .enumerate()
        .map(|(place, document)| convert(document).map_err(|bad| bad.within(table, place)))
        .collect()
}

fn at_least_one<D, T>(
    table: &'static str,
    documents: Vec<D>,
    convert: impl Fn(D) -> Result<T, BadValue>,
) -> Result<Vec<T>, BadValue> {
    if documents.is_empty() {
        return Err(BadValue::new(
            table,
            "the list is empty; give at least one, or leave it out for the start values",
        ));
    }
    each(table, documents, convert)
}

fn convert_units(units: &UnitsDocument) -> Result<Units, BadValue> {
    if TimeZone::get(&units.time_zone).is_err() {
        let message =
            format!("\"{}\" is no time zone; write it like \"America/Halifax\"", units.time_zone);
        return Err(BadValue::new("time_zone", message));
    }
    Ok(Units {
        time_zone: units.time_zone.clone(),
        currency: Currency::from_code(&units.currency).ok_or_else(|| {
            BadValue::new(
                "currency",
                format!(
                    "\"{}\" is no currency; write three capital letters like \"CAD\"",
                    units.currency
                ),
            )
        })?,
        measures: by_name("measures", &units.measures, &MEASURES)?,
        paper: by_name("paper", &units.paper, &PAPERS)?,
        jurisdiction: by_name("jurisdiction", &units.jurisdiction, &JURISDICTIONS)?,
    })
}

fn convert_hours(document: &KitchenDocument) -> Result<Hours, BadValue> {
    let date_of = |key: &'static str, text: &str| {
        text.parse().map_err(|_| {
            BadValue::new(key, format!("\"{text}\" is no date; write it like \"2027-03-03\""))
        })
    };
    let mut hours = Hours::default();
    for text in &document.days_off {
        hours.days_off.push(date_of("days_off", text)?);
    }
    for (place, window) in document.hours.iter().enumerate() {
        let within = |bad: BadValue| bad.within("hours", place);
        let time_of = |key: &'static str, text: &str| {
            text.parse().map_err(|_| {
                within(BadValue::new(
                    key,
                    format!("\"{text}\" is no time; write it like \"19:00\""),
                ))
            })
        };
        let (from, to) = (time_of("from", &window.from)?, time_of("to", &window.to)?);
        if from >= to {
            return Err(within(BadValue::new(
                "to",
                "the window ends before it starts; a window past midnight is two windows",
            )));
        }
        match (&window.day, &window.date) {
            (Some(day), None) => {
                let day = by_name("day", day, &WEEKDAYS).map_err(within)?;
                hours.weekly.push(WeeklyHours { day, from, to });
            }
            (None, Some(date)) => {
                hours.dated.push(DatedHours {
                    date: date_of("date", date).map_err(within)?,
                    from,
                    to,
                });
            }
            _ => return Err(within(BadValue::new("day", "give either a day or a date"))),
        }
    }
    Ok(hours)
}

/// Recipes name ingredients that are there, dough and icing name recipes that are there.
fn check_references(kitchen: &Kitchen) -> Result<(), BadValue> {
    for (place, recipe) in kitchen.recipes.iter().enumerate() {
        for part in &recipe.parts {
            if kitchen.ingredient(&part.ingredient).is_none() {
                let message = format!(
                    "\"{}\" is no [[ingredient]] of this kitchen; add it or correct the name",
                    part.ingredient
                );
                return Err(BadValue::new("ingredient", message).within("recipe", place));
            }
        }
    }
    for (table, name) in [("dough", &kitchen.dough.recipe), ("icing", &kitchen.icing.recipe)] {
        if kitchen.recipe(name).is_none() {
            let message =
                format!("\"{name}\" is no [[recipe]] of this kitchen; add it or correct the name");
            return Err(BadValue::new("recipe", message).within(table, 0));
        }
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::drying::{REFERENCE_DEPTH, State};
    use quantity::{Length, Mass};

    #[test]
    fn an_empty_file_is_the_built_in_kitchen() {
        let start = convert(KitchenDocument::default()).expect("start values convert");
        assert_eq!(read_kitchen("").expect("a kitchen"), start);
        assert_eq!(start.dough.thickness, Length::inches(0.25));
    }

    #[test]
    fn a_key_replaces_its_start_value_and_no_other() {
        let kitchen = read_kitchen("[icing]\nbase_depth_mm = 3\n").expect("a kitchen");
        let mut expected = start_kitchen();
        expected.icing.base_depth = Length::mm(3.0);
        assert_eq!(kitchen, expected);
    }

    #[test]
    fn humid_air_makes_every_wait_longer_by_the_same_factor() {
        let start = start_kitchen().drying;
        let humid =
            read_kitchen("[drying]\nroom_humidity_percent = 70\n").expect("a kitchen").drying;
        // (0.85 - 0.70) / (0.85 - 0.50), aw = 0.85 after Norrish.
        for state in State::ALL {
            let [slow, usual] = [&humid, &start].map(|drying| drying.wait(state, REFERENCE_DEPTH));
            assert!((slow / usual * 0.43 - 1.0).abs() < 0.01, "{slow:?} {usual:?}");
        }
        assert!(read_kitchen("[drying]\nroom_humidity_percent = 101\n").is_err());
    }

    #[test]
    fn the_royal_icing_is_the_published_one_by_mass() {
        // Banner, How to Build a Gingerbread House (2008): 2 lb powdered sugar, 4 tbsp dried white, 3/4 cup water;
        // by mass 907 : 28 : 177.
        let kitchen = start_kitchen();
        let parts =
            kitchen.recipe(&kitchen.icing.recipe).expect("a recipe").scaled_to(Mass::g(1112.0));
        let grams: Vec<f64> = parts.iter().map(|part| part.mass.to_g().round()).collect();
        assert_eq!(grams, [28.0, 177.0, 907.0]);
    }

    #[test]
    fn the_dough_is_the_published_one_by_mass() {
        // Goodheart-Willcox, culinary recipe 129, rolled sugar cookies: 24 pieces of 1.75 oz from 42 oz of main ingredients
        // (butter 8, sugar 10, egg 2, milk 2, flour 20).
        let kitchen = start_kitchen();
        let recipe = kitchen.recipe(&kitchen.dough.recipe).expect("a recipe");
        let main: f64 = recipe
            .parts
            .iter()
            .filter(|part| {
                ["flour", "butter", "sugar", "egg", "milk"].contains(&part.ingredient.as_str())
            })
            .map(|part| part.mass.to_ounces())
            .sum();
        assert!((main - 24.0 * 1.75).abs() < 0.01, "{main} oz");
    }

    #[test]
    fn each_mistake_is_named_with_line_key_and_what_to_do() {
        let refusal = |text: &str| read_kitchen(text).expect_err("refused").to_string();
        assert_eq!(
            refusal("[dough]\nthickness_mm = -1\n"),
            "kitchen.toml line 2: dough.thickness_mm: -1 is outside 1 to 50; correct it"
        );
        assert_eq!(
            refusal("[dough]\nthicknes_mm = 5\n"),
            "kitchen.toml line 2: unknown key \"thicknes_mm\"; did you mean \"thickness_mm\"?"
        );
        assert_eq!(
            refusal("[units]\ntime_zone = \"Mars\"\n"),
            "kitchen.toml line 2: units.time_zone: \"Mars\" is no time zone; write it like \"America/Halifax\""
        );
        assert_eq!(
            refusal("[[hours]]\nday = \"monday\"\nfrom = \"22:00\"\nto = \"19:00\"\n"),
            "kitchen.toml line 4: hours.to: the window ends before it starts; a window past midnight is two windows"
        );
        assert_eq!(
            refusal("[icing]\nrecipe = \"fondant\"\n"),
            "kitchen.toml line 2: icing.recipe: \"fondant\" is no [[recipe]] of this kitchen; add it or correct the name"
        );
        let step = "[[recipe]]\nname = \"icing\"\npart = [{ ingredient = \"salt\", mass_g = 1 }]\n[[recipe.step]]\ntext = \" \"\n";
        let refused = refusal(step);
        assert!(
            refused.ends_with("text: is empty; write what is done, or leave the step out"),
            "{refused}"
        );
        assert_eq!(
            refusal("makers = 4"),
            "kitchen.toml line 1: makers: 4 is outside 1 to 3; correct it"
        );
        assert!(refusal("tray = []").starts_with("kitchen.toml line 1: tray: the list is empty"));
        assert!(refusal("[dough]\nthickness_mm = nan\n").contains("dough.thickness_mm"));
        assert!(refusal("[dough\n").starts_with("kitchen.toml line 1: "));
    }
}
