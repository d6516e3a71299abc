use std::collections::BTreeSet;

use drawing::Color;
use jiff::civil::Date;
use quantity::{Density, Length, Mass, Money};

/// Something that touches the cookie: bought in packs, with a price, allergens and what it is made of.
#[derive(Clone, Debug, PartialEq)]
pub struct Ingredient {
    /// The kitchen's name for it, and the label's unless `label_name` says otherwise.
    pub name: String,
    /// The lawful name on the label.
    pub label_name: String,
    /// What it is made of, in descending order of mass, where the label must say so.
    pub contains: Vec<String>,
    /// Allergens in the words of the label: wheat, milk, egg.
    pub allergens: BTreeSet<String>,
    /// Mass of a pack as it is bought.
    pub pack: Mass,
    /// Price of a pack.
    pub price: Money,
    /// Mass of a milliliter as it is spooned, for kitchen measures.
    pub bulk_density: Option<Density>,
}

/// Words for egg white that was made safe before it is sold (common practice, no source).
const MADE_SAFE: [&str; 7] = [
    "dried",
    "powder",
    "powdered",
    "pasteurized",
    "pasteurised", // tidy: allow-spelling
    "meringue",
    "cooked",
];

impl Ingredient {
    /// Tells whether it has egg in it.
    pub fn has_egg(&self) -> bool {
        self.allergens.iter().any(|allergen| allergen.starts_with("egg"))
            || self.words().any(|word| word == "egg" || word == "eggs")
    }

    /// Tells whether it has egg in it that nothing on it calls dried or pasteurized, and so must be taken for raw.
    ///
    /// ```
    /// use std::collections::BTreeSet;
    ///
    /// use craft::kitchen::Ingredient;
    /// use quantity::{Mass, Money};
    ///
    /// let white = |name: &str| Ingredient {
    ///     name: name.into(),
    ///     label_name: "egg white".into(),
    ///     contains: Vec::new(),
    ///     allergens: BTreeSet::from(["egg".to_owned()]),
    ///     pack: Mass::g(227.0),
    ///     price: Money::minor(1600),
    ///     bulk_density: None,
    /// };
    /// assert!(white("fresh whites").has_raw_egg());
    /// assert!(!white("Dried egg white").has_raw_egg());
    /// assert!(white("unpasteurized egg white").has_raw_egg());
    /// ```
    pub fn has_raw_egg(&self) -> bool {
        self.has_egg() && !self.words().any(|word| MADE_SAFE.contains(&word.as_str()))
    }

    /// All words it is called by, in small letters.
    fn words(&self) -> impl Iterator<Item = String> {
        let names = [&self.name, &self.label_name].into_iter().chain(&self.contains);
        names.flat_map(|name| name.split(|c: char| !c.is_alphanumeric()).map(str::to_lowercase))
    }
}

/// One ingredient of a recipe.
#[derive(Clone, Debug, PartialEq)]
pub struct Part {
    /// Name of the ingredient.
    pub ingredient: String,
    /// Mass in one batch.
    pub mass: Mass,
}

/// A recipe by mass.
#[derive(Clone, Debug, PartialEq)]
pub struct Recipe {
    /// What it is called.
    pub name: String,
    /// What goes in, in the order it goes in.
    pub parts: Vec<Part>,
    /// The most one batch may weigh, if the kitchen's tools set a limit.
    pub batch_max: Option<Mass>,
    /// What is done, in order; empty where the maker knows.
    pub steps: Vec<String>,
}

impl Recipe {
    /// Returns the mass of one batch as written.
    pub fn total(&self) -> Mass {
        self.parts.iter().map(|part| part.mass).sum()
    }

    /// Scales the recipe to a mass, part by part in its own order; nothing for an empty recipe.
    ///
    /// ```
    /// use craft::kitchen::{Part, Recipe};
    /// use quantity::Mass;
    ///
    /// let part = |ingredient: &str, g| Part { ingredient: ingredient.into(), mass: Mass::g(g) };
    /// let icing = Recipe { name: "icing".into(), parts: vec![part("sugar", 900.0), part("water", 100.0)], batch_max: None, steps: Vec::new() };
    /// assert_eq!(icing.scaled_to(Mass::g(500.0))[0].mass, Mass::g(450.0));
    /// ```
    pub fn scaled_to(&self, mass: Mass) -> Vec<Part> {
        let total = self.total();
        if total <= Mass::ZERO {
            return Vec::new();
        }
        let factor = mass / total;
        self.parts
            .iter()
            .map(|part| Part { ingredient: part.ingredient.clone(), mass: part.mass * factor })
            .collect()
    }
}

/// What a gel did when it was mixed into plain icing.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct GelSample {
    /// How much of it went into 100 g of icing.
    pub per_100_g: Mass,
    /// The color it gave.
    pub seen: Color,
    /// The color it had the next day, if it was looked at again.
    pub next_day: Option<Color>,
}

/// A food color the kitchen owns.
#[derive(Clone, Debug, PartialEq)]
pub struct Gel {
    /// What the maker calls it.
    pub name: String,
    /// How it looks, mixed at medium strength into white icing.
    pub swatch: Color,
    /// Mass of one drop.
    pub drop: Mass,
    /// Milligrams of dye in a gram of it.
    pub dye_mg_per_g: f64,
    /// Colors it gave when it was tried.
    pub samples: Vec<GelSample>,
    /// Names of its colors and other parts for the label.
    pub contains: Vec<String>,
    /// Allergens in the words of the label.
    pub allergens: BTreeSet<String>,
    /// Mass of a bottle.
    pub pack: Mass,
    /// Price of a bottle.
    pub price: Money,
}

/// Icing that is already there: a tub of white or a tinted rest.
#[derive(Clone, Debug, PartialEq)]
pub struct IcingStock {
    /// Its color.
    pub color: Color,
    /// How much there is.
    pub mass: Mass,
    /// When it was made.
    pub made_on: Date,
    /// Allergens in the words of the label.
    pub allergens: BTreeSet<String>,
}

/// A bag that one cookie is packed in, measured flat.
#[derive(Clone, Debug, PartialEq)]
pub struct CookieBag {
    /// What the maker calls it.
    pub name: String,
    /// Width across the opening.
    pub width: Length,
    /// Length from the opening to the bottom.
    pub length: Length,
    /// Length that closing it takes: fold twice and sticker, twist or seal.
    pub closure: Length,
    /// Price of one.
    pub price: Money,
    /// How many there are.
    pub owned: u32,
}

/// A box for packed cookies, measured inside.
#[derive(Clone, Debug, PartialEq)]
pub struct BakersBox {
    /// What the maker calls it.
    pub name: String,
    /// Inside width.
    pub width: Length,
    /// Inside length.
    pub length: Length,
    /// Inside height.
    pub height: Length,
    /// Price of one.
    pub price: Money,
    /// How many there are.
    pub owned: u32,
}
