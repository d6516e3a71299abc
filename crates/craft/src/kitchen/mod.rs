//! All that is true across orders: hours, oven, trays, recipes, gels, prices, rates.
//!
//! Every number has a start value, so that a kitchen that has measured nothing yet still gets a plan.
//! The start values and their sources stand with the file format, in [`crate::document::kitchen`].

mod bench;
mod money;
mod pantry;

use jiff::{
    Unit,
    civil::{Date, Time, Weekday},
};
use quantity::{Currency, Length, Span};

use crate::consistency::Test;

pub use bench::{
    Baking, Counts, Dough, DoughSheet, Drying, Icing, LoadTime, Oven, Pace, PipingBags, Tip, Tray,
};
pub use money::{DetailPrices, MoneyRules};
pub use pantry::{BakersBox, CookieBag, Gel, GelSample, IcingStock, Ingredient, Part, Recipe};

/// A kitchen: one maker's tools, stock, rules and paces.
#[derive(Clone, Debug, PartialEq)]
pub struct Kitchen {
    /// Time zone, currency, measures, paper and the law that applies.
    pub units: Units,
    /// When the maker works.
    pub hours: Hours,
    /// How many people decorate at once, 1 to 3.
    pub makers: usize,
    /// Most cookies the maker wants to finish in a week.
    pub week_cap: u32,
    /// How dough is made, rolled and cut.
    pub dough: Dough,
    /// Sizes of rolled dough; the first is the size that is rolled fresh.
    pub dough_sheets: Vec<DoughSheet>,
    /// What a bake does to a cookie.
    pub baking: Baking,
    /// Baking sheets, which are drying racks too.
    pub trays: Vec<Tray>,
    /// The oven.
    pub oven: Oven,
    /// How icing lies on cookies and what stays behind.
    pub icing: Icing,
    /// Icing that is already there.
    pub icing_stock: Vec<IcingStock>,
    /// Target counts per technique.
    pub counts: Counts,
    /// Piping tips.
    pub tips: Vec<Tip>,
    /// Fills of a piping bag.
    pub piping_bags: PipingBags,
    /// Tests of how water thins icing, in the order they were made.
    pub water_tests: Vec<Test>,
    /// When wet icing is skinned, set and dry.
    pub drying: Drying,
    /// How fast the maker's hands are.
    pub pace: Pace,
    /// Wage, prices and rules of payment.
    pub money: MoneyRules,
    /// Everything that touches a cookie, with price and allergens.
    pub ingredients: Vec<Ingredient>,
    /// Dough and icing recipes by mass.
    pub recipes: Vec<Recipe>,
    /// Food colors.
    pub gels: Vec<Gel>,
    /// What a cookie is packed in.
    pub cookie_bags: Vec<CookieBag>,
    /// Boxes for packed cookies.
    pub boxes: Vec<BakersBox>,
}

impl Kitchen {
    /// Finds a recipe by its name.
    pub fn recipe(&self, name: &str) -> Option<&Recipe> {
        self.recipes.iter().find(|recipe| recipe.name == name)
    }

    /// Finds an ingredient by its name.
    pub fn ingredient(&self, name: &str) -> Option<&Ingredient> {
        self.ingredients.iter().find(|ingredient| ingredient.name == name)
    }
}

/// The conventions a kitchen lives by.
#[derive(Clone, Debug, PartialEq)]
pub struct Units {
    /// IANA name of the kitchen's time zone, known to exist.
    pub time_zone: String,
    /// The one currency of all its amounts.
    pub currency: Currency,
    /// How amounts are shown.
    pub measures: Measures,
    /// What it prints on.
    pub paper: Paper,
    /// Whose labeling law applies.
    pub jurisdiction: Jurisdiction,
}

/// How amounts are shown.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Measures {
    /// Grams and millimeters.
    Metric,
    /// Ounces, cups and inches beside grams.
    Us,
}

/// Paper sizes.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Paper {
    /// 210 x 297 mm (ISO 216).
    A4,
    /// 8.5 x 11 in.
    Letter,
}

/// Whose labeling law applies.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Jurisdiction {
    /// United States of America.
    UnitedStates,
    /// European Union.
    EuropeanUnion,
    /// United Kingdom.
    UnitedKingdom,
    /// Canada.
    Canada,
}

/// When the maker works: a usual week, single days that differ, days off.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Hours {
    /// The usual week; several windows a day are fine.
    pub weekly: Vec<WeeklyHours>,
    /// Single days; a date that stands here follows these windows instead of the week's.
    pub dated: Vec<DatedHours>,
    /// Days without any work.
    pub days_off: Vec<Date>,
}

/// A working window of the usual week.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct WeeklyHours {
    /// The day of the week.
    pub day: Weekday,
    /// Start of the window.
    pub from: Time,
    /// End of the window, after its start.
    pub to: Time,
}

/// A working window of one date.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct DatedHours {
    /// The date.
    pub date: Date,
    /// Start of the window.
    pub from: Time,
    /// End of the window, after its start.
    pub to: Time,
}

impl Hours {
    /// Returns the longest window of the usual week and of single days.
    pub fn longest(&self) -> Span {
        let weekly = self.weekly.iter().map(|hours| (hours.from, hours.to));
        let dated = self.dated.iter().map(|hours| (hours.from, hours.to));
        let lengths = weekly.chain(dated).map(|(from, to)| (to - from).total(Unit::Second));
        Span::seconds(lengths.filter_map(Result::ok).fold(0.0, f64::max))
    }

    /// Returns the working windows of a date, in order.
    pub fn on(&self, date: Date) -> Vec<(Time, Time)> {
        if self.days_off.contains(&date) {
            return Vec::new();
        }
        let mut windows: Vec<_> = self
            .dated
            .iter()
            .filter(|hours| hours.date == date)
            .map(|hours| (hours.from, hours.to))
            .collect();
        if windows.is_empty() {
            let day = date.weekday();
            windows.extend(
                self.weekly
                    .iter()
                    .filter(|hours| hours.day == day)
                    .map(|hours| (hours.from, hours.to)),
            );
        }
        windows.sort();
        windows
    }
}

impl Paper {
    /// Width and height of a sheet held upright.
    pub fn size(self) -> (Length, Length) {
        match self {
            Self::A4 => (Length::mm(210.0), Length::mm(297.0)),
            Self::Letter => (Length::inches(8.5), Length::inches(11.0)),
        }
    }
}

#[cfg(test)]
mod tests {
    use jiff::civil::{date, time};

    use super::*;

    #[test]
    fn a_dated_window_replaces_the_week_and_a_day_off_beats_both() {
        let evening = (time(18, 0, 0, 0), time(22, 0, 0, 0));
        let monday = date(2027, 3, 1);
        let mut hours = Hours {
            weekly: vec![WeeklyHours { day: Weekday::Monday, from: evening.0, to: evening.1 }],
            ..Hours::default()
        };
        assert_eq!(hours.on(monday), [evening]);
        assert!(hours.on(date(2027, 3, 2)).is_empty());

        let morning = (time(8, 0, 0, 0), time(11, 0, 0, 0));
        hours.dated.push(DatedHours { date: monday, from: morning.0, to: morning.1 });
        assert_eq!(hours.on(monday), [morning]);
        hours.days_off.push(monday);
        assert!(hours.on(monday).is_empty());
    }
}
