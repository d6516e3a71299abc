//! Ingredients, recipes, gels, stock, packaging and money.

use std::collections::BTreeSet;

use drawing::Color;
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use tint::photo::{PLAIN_ENOUGH, pictured};

use super::numbers::{density, g, mm, money, share, within};
use crate::{
    document::error::BadValue,
    kitchen::{
        BakersBox, CookieBag, DetailPrices, Gel, GelSample, IcingStock, Ingredient, MoneyRules,
        Part, Recipe,
    },
};

/// Something that touches the cookie.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(default, deny_unknown_fields)]
pub struct IngredientDocument {
    /// The kitchen's name for it.
    pub name: String,
    /// The lawful name on the label; without it, the name.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub label_name: Option<String>,
    /// What it is made of, the most first, where the label must say so.
    pub contains: Vec<String>,
    /// Allergens in the words of the label: wheat, milk, egg.
    pub allergens: Vec<String>,
    /// Mass of a pack as it is bought.
    pub pack_g: f64,
    /// Price of a pack.
    pub price_minor: i64,
    /// Mass of a milliliter as it is spooned, for kitchen measures.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub bulk_g_per_ml: Option<f64>,
}

impl IngredientDocument {
    pub(super) fn convert(self) -> Result<Ingredient, BadValue> {
        named(&self.name)?;
        Ok(Ingredient {
            label_name: self.label_name.unwrap_or_else(|| self.name.clone()),
            name: self.name,
            contains: self.contains,
            allergens: allergens(self.allergens),
            pack: g("pack_g", self.pack_g, 0.1, 1e6)?,
            price: money("price_minor", self.price_minor)?,
            bulk_density: self
                .bulk_g_per_ml
                .map(|value| density("bulk_g_per_ml", value))
                .transpose()?,
        })
    }
}

/// A recipe by mass.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(default, deny_unknown_fields)]
pub struct RecipeDocument {
    /// What it is called.
    pub name: String,
    /// The most one batch may weigh.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub batch_max_g: Option<f64>,
    /// What goes in, in the order it goes in.
    pub part: Vec<PartDocument>,
    /// What is done, in order.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub step: Vec<StepDocument>,
}

/// One step of a recipe.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(default, deny_unknown_fields)]
pub struct StepDocument {
    /// What is done, in a sentence.
    pub text: String,
}

impl StepDocument {
    fn convert(self) -> Result<String, BadValue> {
        match self.text.trim() {
            "" => Err(BadValue::new("text", "is empty; write what is done, or leave the step out")),
            text => Ok(text.to_owned()),
        }
    }
}

/// One part of a recipe.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(default, deny_unknown_fields)]
pub struct PartDocument {
    /// Name of the ingredient.
    pub ingredient: String,
    /// Mass in one batch.
    pub mass_g: f64,
}

impl RecipeDocument {
    pub(super) fn convert(self) -> Result<Recipe, BadValue> {
        named(&self.name)?;
        if self.part.is_empty() {
            return Err(BadValue::new("part", "the recipe has no parts; add a [[recipe.part]]"));
        }
        let parts = self.part.into_iter().enumerate();
        let steps = self.step.into_iter().enumerate();
        Ok(Recipe {
            name: self.name,
            batch_max: self
                .batch_max_g
                .map(|value| g("batch_max_g", value, 10.0, 1e6))
                .transpose()?,
            parts: parts
                .map(|(place, part)| {
                    let mass = g("mass_g", part.mass_g, 0.01, 1e6)
                        .map_err(|bad| bad.within("part", place))?;
                    Ok(Part { ingredient: part.ingredient, mass })
                })
                .collect::<Result<_, BadValue>>()?,
            steps: steps
                .map(|(place, step)| step.convert().map_err(|bad| bad.within("step", place)))
                .collect::<Result<_, BadValue>>()?,
        })
    }
}

/// What a gel did when it was mixed into plain icing: weigh both, wait ten minutes, compare it in daylight.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(default, deny_unknown_fields)]
pub struct GelSampleDocument {
    /// Mass of gel in 100 g of icing.
    pub g_per_100_g: f64,
    /// The color it gave, #rrggbb.
    pub seen: String,
    /// The color it had the next day, kept covered, if it was looked at again: how much colors deepen is learned from it.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub next_day: Option<String>,
    /// The color of plain icing in the same photograph, where `seen` was picked from one: the light then does not matter.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub plain: Option<String>,
    /// The color of white paper in that photograph, which shows whether the icing was plain.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub white: Option<String>,
    /// Whether it counts no more.
    #[serde(skip_serializing_if = "is_false")]
    pub set_aside: bool,
}

fn is_false(flag: &bool) -> bool {
    !flag
}

impl GelSampleDocument {
    /// Nothing for a sample that is set aside.
    fn convert(self) -> Result<Option<GelSample>, BadValue> {
        let other = |key, text: Option<String>| text.map(|text| color(key, &text)).transpose();
        let seen = color("seen", &self.seen)?;
        let (plain, white) = (other("plain", self.plain)?, other("white", self.white)?);
        let seen = match plain {
            Some(plain) => by_photograph(seen, plain, white)?,
            None => seen,
        };
        let sample = GelSample {
            per_100_g: g("g_per_100_g", self.g_per_100_g, 0.001, 10.0)?,
            seen,
            next_day: other("next_day", self.next_day)?,
        };
        Ok((!self.set_aside).then_some(sample))
    }
}

/// The color of a sample by the ratio of its light to that of plain icing beside it.
fn by_photograph(seen: Color, plain: Color, white: Option<Color>) -> Result<Color, BadValue> {
    let channels = |Color { red, green, blue }: Color| [red, green, blue];
    let found = pictured(channels(seen), channels(plain), white.map(channels))
        .map_err(|unreadable| BadValue::new("plain", unreadable.to_string()))?;
    if let Some(off) = found.plain_is_off.filter(|off| *off > PLAIN_ENOUGH) {
        let words = format!(
            "beside the white paper it is {off:.0} (CIEDE2000) off the color of plain icing; picture both in the same light"
        );
        return Err(BadValue::new("plain", words));
    }
    let [red, green, blue] = found.sample.to_srgb();
    Ok(Color { red, green, blue })
}

/// Dye in a gram of a gel of unknown strength, in milligrams (common practice, no source).
const USUAL_DYE_MG_PER_G: f64 = 60.0;

/// A food color.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(default, deny_unknown_fields)]
pub struct GelDocument {
    /// What the maker calls it.
    pub name: String,
    /// How it looks, mixed at medium strength into white icing.
    pub swatch: String,
    /// Mass of one drop: weigh 20 drops once per bottle.
    pub drop_g: f64,
    /// Milligrams of dye in a gram of it; labels do not say, so 60 is taken if it is left out (common practice, no source).
    #[serde(skip_serializing_if = "Option::is_none")]
    pub dye_mg_per_g: Option<f64>,
    /// Colors it gave when it was tried; one sample of a middle shade is worth more than any guess.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub sample: Vec<GelSampleDocument>,
    /// Names of its colors and other parts for the label.
    pub contains: Vec<String>,
    /// Allergens in the words of the label.
    pub allergens: Vec<String>,
    /// Mass of a bottle.
    pub pack_g: f64,
    /// Price of a bottle.
    pub price_minor: i64,
}

impl GelDocument {
    pub(in crate::document) fn convert(self) -> Result<Gel, BadValue> {
        named(&self.name)?;
        Ok(Gel {
            name: self.name,
            swatch: color("swatch", &self.swatch)?,
            drop: g("drop_g", self.drop_g, 0.001, 1.0)?,
            samples: self
                .sample
                .into_iter()
                .enumerate()
                .map(|(place, sample)| sample.convert().map_err(|bad| bad.within("sample", place)))
                .filter_map(Result::transpose)
                .collect::<Result<_, _>>()?,
            dye_mg_per_g: within(
                "dye_mg_per_g",
                self.dye_mg_per_g.unwrap_or(USUAL_DYE_MG_PER_G),
                1.0,
                500.0,
            )?,
            contains: self.contains,
            allergens: allergens(self.allergens),
            pack: g("pack_g", self.pack_g, 0.1, 1e5)?,
            price: money("price_minor", self.price_minor)?,
        })
    }
}

/// Icing that is already there.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(default, deny_unknown_fields)]
pub struct IcingStockDocument {
    /// Its color.
    pub color: String,
    /// How much there is.
    pub mass_g: f64,
    /// When it was made.
    pub made_on: String,
    /// Allergens in the words of the label.
    pub allergens: Vec<String>,
}

impl IcingStockDocument {
    pub(super) fn convert(self) -> Result<IcingStock, BadValue> {
        Ok(IcingStock {
            color: color("color", &self.color)?,
            mass: g("mass_g", self.mass_g, 0.0, 1e5)?,
            made_on: self.made_on.parse().map_err(|_| {
                BadValue::new(
                    "made_on",
                    format!("\"{}\" is no date; write it like \"2027-03-03\"", self.made_on),
                )
            })?,
            allergens: allergens(self.allergens),
        })
    }
}

/// A bag that one cookie is packed in, measured flat.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(default, deny_unknown_fields)]
pub struct CookieBagDocument {
    /// What the maker calls it.
    pub name: String,
    /// Width across the opening.
    pub width_mm: f64,
    /// Length from the opening to the bottom.
    pub length_mm: f64,
    /// Length that closing it takes. Start: fold twice and sticker. Source: common practice, no source.
    pub closure_mm: f64,
    /// Price of one.
    pub price_minor: i64,
    /// How many there are.
    pub owned: u32,
}

impl CookieBagDocument {
    pub(super) fn convert(self) -> Result<CookieBag, BadValue> {
        named(&self.name)?;
        Ok(CookieBag {
            name: self.name,
            width: mm("width_mm", self.width_mm, 10.0, 2000.0)?,
            length: mm("length_mm", self.length_mm, 10.0, 2000.0)?,
            closure: mm("closure_mm", self.closure_mm, 0.0, 500.0)?,
            price: money("price_minor", self.price_minor)?,
            owned: self.owned,
        })
    }
}

/// A box for packed cookies, measured inside.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(default, deny_unknown_fields)]
pub struct BoxDocument {
    /// What the maker calls it.
    pub name: String,
    /// Inside width.
    pub width_mm: f64,
    /// Inside length.
    pub length_mm: f64,
    /// Inside height.
    pub height_mm: f64,
    /// Price of one.
    pub price_minor: i64,
    /// How many there are.
    pub owned: u32,
}

impl BoxDocument {
    pub(super) fn convert(self) -> Result<BakersBox, BadValue> {
        named(&self.name)?;
        Ok(BakersBox {
            name: self.name,
            width: mm("width_mm", self.width_mm, 10.0, 2000.0)?,
            length: mm("length_mm", self.length_mm, 10.0, 2000.0)?,
            height: mm("height_mm", self.height_mm, 5.0, 2000.0)?,
            price: money("price_minor", self.price_minor)?,
            owned: self.owned,
        })
    }
}

/// Wage, prices and rules of payment, in minor units of the kitchen's currency.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(default, deny_unknown_fields)]
pub struct MoneyDocument {
    /// What an hour of the maker's work should bring. Start: invented.
    pub wage_minor: i64,
    /// Overhead that each order carries. Start: invented.
    pub overhead_minor: i64,
    /// Share of ingredients that is spilled, sampled or spoiled. Source: common practice, no source.
    pub waste_share: f64,
    /// Price of a kilowatt-hour. Start: invented.
    pub energy_minor_per_kwh: i64,
    /// Price of a dozen by detail. Start: invented.
    pub per_dozen: DetailPricesDocument,
    /// Fewest cookies of an order. Source: common practice, no source.
    pub least_cookies: u32,
    /// Fewest cookies of one design. Source: common practice, no source.
    pub least_per_design: u32,
    /// Step to which a price is rounded up.
    pub step_minor: i64,
    /// Share that holds the date. Source: common practice, no source.
    pub deposit_share: f64,
    /// Surcharge on a short-notice order. Source: common practice, no source.
    pub rush_share: f64,
    /// An order asked for fewer days ahead is a short-notice order. Source: common practice, no source.
    pub rush_days: u32,
    /// Days before the pickup on which the balance is due. Source: common practice, no source.
    pub balance_days: u32,
    /// Days before the pickup until which the order may change. Source: common practice, no source.
    pub changes_days: u32,
}

impl Default for MoneyDocument {
    fn default() -> Self {
        Self {
            wage_minor: 2000,
            overhead_minor: 400,
            waste_share: 0.05,
            energy_minor_per_kwh: 18,
            per_dozen: DetailPricesDocument::default(),
            least_cookies: 12,
            least_per_design: 6,
            step_minor: 100,
            deposit_share: 0.5,
            rush_share: 0.2,
            rush_days: 10,
            balance_days: 7,
            changes_days: 10,
        }
    }
}

impl MoneyDocument {
    pub(super) fn convert(self) -> Result<MoneyRules, BadValue> {
        Ok(MoneyRules {
            wage: money("wage_minor", self.wage_minor)?,
            overhead: money("overhead_minor", self.overhead_minor)?,
            waste: share("waste_share", self.waste_share, 1.0)?,
            energy: money("energy_minor_per_kwh", self.energy_minor_per_kwh)?,
            per_dozen: self.per_dozen.convert().map_err(|bad| bad.within("per_dozen", 0))?,
            least_cookies: self.least_cookies,
            least_per_design: self.least_per_design,
            step: money("step_minor", self.step_minor)?,
            deposit: share("deposit_share", self.deposit_share, 1.0)?,
            rush: share("rush_share", self.rush_share, 5.0)?,
            rush_days: self.rush_days,
            balance_days: self.balance_days,
            changes_days: self.changes_days,
        })
    }
}

/// Price of a dozen by detail.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(default, deny_unknown_fields)]
pub struct DetailPricesDocument {
    /// A base and nothing on it.
    pub plain_minor: i64,
    /// A base with a few lines.
    pub simple_minor: i64,
    /// A base with a second layer.
    pub dressed_minor: i64,
    /// Several layers and colors.
    pub detailed_minor: i64,
    /// Everything.
    pub elaborate_minor: i64,
}

impl Default for DetailPricesDocument {
    fn default() -> Self {
        Self {
            plain_minor: 3000,
            simple_minor: 4200,
            dressed_minor: 5400,
            detailed_minor: 6600,
            elaborate_minor: 8400,
        }
    }
}

impl DetailPricesDocument {
    fn convert(self) -> Result<DetailPrices, BadValue> {
        Ok(DetailPrices {
            plain: money("plain_minor", self.plain_minor)?,
            simple: money("simple_minor", self.simple_minor)?,
            dressed: money("dressed_minor", self.dressed_minor)?,
            detailed: money("detailed_minor", self.detailed_minor)?,
            elaborate: money("elaborate_minor", self.elaborate_minor)?,
        })
    }
}

fn named(name: &str) -> Result<(), BadValue> {
    if name.trim().is_empty() {
        Err(BadValue::new("name", "is empty; write at least a word"))
    } else {
        Ok(())
    }
}

fn allergens(names: Vec<String>) -> BTreeSet<String> {
    names
        .into_iter()
        .map(|name| name.trim().to_lowercase())
        .filter(|name| !name.is_empty())
        .collect()
}

pub(in crate::document) fn color(key: &'static str, text: &str) -> Result<Color, BadValue> {
    Color::parse(text).map_err(|_| {
        BadValue::new(key, format!("\"{text}\" is no color; write it like \"#fbf7ee\""))
    })
}
