//! What does the order cost, what is its price, and what does that pay an hour?
//!
//! - price = (sum of n x d / 12) x (1 + r), rounded up once to the kitchen's step
//! - cost = ingredients + packaging + energy + work + overhead
//! - pay of an hour = (price - cost without work) / hours
//!
//! with n the cookies of a design, d the price of a dozen at its detail and r the surcharge of a short-notice order;
//! energy = hours of oven x kilowatt-hours of one hour x price of a kilowatt-hour, and work = hours x wage.
//! Money is in minor units; every line of the cost is rounded once, and the cost is the sum of its lines.
//!
//! Source: arithmetic; prices by the dozen and a surcharge on short notice are common practice, no source.
//!
//! # Worked example
//! 24 dressed cookies at 60.00 a dozen and 6 plain ones at 36.00: 120.00 + 18.00 = 138.00.
//! A quarter more on short notice makes 172.50, which is 173.00 in steps of 1.00.
//! ```
//! use craft::{kitchen::DetailPrices, order::Detail, price::price_of};
//! use quantity::{Money, Share};
//!
//! let [plain, simple, dressed, detailed, elaborate] = [3600, 4800, 6000, 7200, 8400].map(Money::minor);
//! let per_dozen = DetailPrices { plain, simple, dressed, detailed, elaborate };
//! let ordered = [(Detail::Dressed, 24), (Detail::Plain, 6)];
//! assert_eq!(price_of(&ordered, &per_dozen, Share::percent(25.0), Money::minor(100)), Money::minor(17_300));
//! ```

mod notice;

use jiff::civil::Date;
use quantity::{Money, Share, Span};

use crate::{
    heads_up::HeadsUp,
    kitchen::{DetailPrices, Kitchen, MoneyRules},
    order::{Detail, Order},
    pantry::ShoppingLine,
    technique::Design,
};

/// Part of a minor unit that is noise of the arithmetic.
const NOISE: f64 = 1e-6;

/// A kind of the maker's own work and the time it takes.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Work {
    /// What is done.
    pub name: &'static str,
    /// Attended time.
    pub time: Span,
}

/// What a price is made from, besides the kitchen.
#[derive(Clone, Copy, Debug)]
pub struct PriceInput<'a> {
    /// The order.
    pub order: &'a Order,
    /// One design for each item.
    pub designs: &'a [Design],
    /// How detailed each design is.
    pub details: &'a [Detail],
    /// What is taken from the pantry.
    pub shopping: &'a [ShoppingLine],
    /// How long the oven runs.
    pub oven_time: Span,
    /// The maker's own work.
    pub work: &'a [Work],
    /// The day the plan starts from.
    pub today: Date,
}

/// What a line of the cost is for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum PricePart {
    /// What is eaten.
    Ingredients,
    /// What it is packed in.
    Packaging,
    /// The oven.
    Energy,
    /// The maker's own work at the wage.
    Work,
    /// What each order carries of rent, permits and wear.
    Overhead,
}

/// One line of the cost.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct PriceLine {
    /// What it is for, in the maker's words.
    pub name: String,
    /// How much.
    pub amount: Money,
    /// The part of the cost it belongs to.
    pub part: PricePart,
}

/// The chapter on money.
#[derive(Clone, Debug, PartialEq)]
pub struct Price {
    /// The cost, line by line.
    pub lines: Vec<PriceLine>,
    /// Sum of all lines but work.
    pub cash_cost: Money,
    /// Sum of all lines.
    pub cost: Money,
    /// What the customer pays.
    pub price: Money,
    /// The maker's own work.
    pub hours: Span,
    /// What the price pays for an hour of it; zero where there is no work.
    pub per_hour: Money,
    /// What holds the date.
    pub deposit: Money,
    /// Whether the surcharge of a short-notice order is in the price.
    pub rush: bool,
}

/// Returns the price of cookies by detail and number, with a surcharge, rounded up once to `step`.
pub fn price_of(
    ordered: &[(Detail, u32)],
    per_dozen: &DetailPrices,
    surcharge: Share,
    step: Money,
) -> Money {
    let twelfths: i128 = ordered
        .iter()
        .map(|&(detail, n)| i128::from(per_dozen.of(detail).to_minor()) * i128::from(n))
        .sum();
    let minor = twelfths as f64 * (1.0 + surcharge.to_one()) / 12.0;
    // Noise of the arithmetic must not cost a whole step.
    Money::round((minor - NOISE).ceil()).round_up_to(step)
}

/// Prices an order by the kitchen's rule and says what that pays.
pub fn price(kitchen: &Kitchen, input: &PriceInput<'_>) -> (Price, Vec<HeadsUp>) {
    let rules = &kitchen.money;
    let rush = is_rush(rules, input);
    let ordered: Vec<_> = input
        .details
        .iter()
        .zip(input.designs)
        .map(|(&detail, design)| (detail, design.count))
        .collect();
    let surcharge = if rush { rules.rush } else { Share::ZERO };
    let price = price_of(&ordered, &rules.per_dozen, surcharge, rules.step);

    let lines = cost_lines(kitchen, input);
    let sum = |wanted: &dyn Fn(PricePart) -> bool| -> Money {
        lines.iter().filter(|line| wanted(line.part)).map(|line| line.amount).sum()
    };
    let cost = sum(&|_| true);
    let cash_cost = sum(&|part| part != PricePart::Work);
    let hours: Span = input.work.iter().map(|work| work.time).sum();
    let per_hour = match hours.to_hours() {
        hours if hours > 0.0 => (price - cash_cost).times(1.0 / hours),
        _ => Money::ZERO,
    };
    let deposit = price.share(rules.deposit);
    let price = Price { lines, cash_cost, cost, price, hours, per_hour, deposit, rush };
    let mut heads_ups = notice::too_few(rules, input.designs);
    heads_ups.extend(notice::below_wage(kitchen, &price));
    (price, heads_ups)
}

/// An order is a short-notice order if fewer days than the kitchen asks for lie between today and its first hand-over.
fn is_rush(rules: &MoneyRules, input: &PriceInput<'_>) -> bool {
    let first = input.order.handovers.iter().map(|handover| handover.at.date()).min();
    first.is_some_and(|first| {
        input.today.duration_until(first).as_hours() < i64::from(rules.rush_days) * 24
    })
}

fn cost_lines(kitchen: &Kitchen, input: &PriceInput<'_>) -> Vec<PriceLine> {
    let rules = &kitchen.money;
    let line = |name: &str, amount, part| PriceLine { name: name.to_owned(), amount, part };
    let from_pantry = |is_packaging: bool| -> Money {
        input
            .shopping
            .iter()
            .filter(|line| line.is_packaging == is_packaging)
            .map(|line| line.cost)
            .sum()
    };
    let kwh = input.oven_time.to_hours() * kitchen.oven.kwh_per_hour;
    let mut lines = vec![
        line("ingredients", from_pantry(false), PricePart::Ingredients),
        line("cookie bags", from_pantry(true), PricePart::Packaging),
        line("oven", rules.energy.times(kwh), PricePart::Energy),
    ];
    lines.extend(
        input
            .work
            .iter()
            .map(|work| line(work.name, rules.wage.times(work.time.to_hours()), PricePart::Work)),
    );
    lines.push(line("overhead", rules.overhead, PricePart::Overhead));
    lines
}

#[cfg(test)]
mod tests {
    use drawing::Region;
    use jiff::civil::date;
    use proptest::prelude::{prop_assert, prop_assert_eq, proptest};
    use quantity::{Currency, Length, Mass};

    use super::*;
    use crate::{
        document::start_kitchen,
        heads_up::Severity,
        order::{BaseChoice, Handover},
        pantry::Need,
    };

    /// A kitchen that earns 20.00 an hour and sells a dozen plain cookies for 36.00, 12 at least.
    fn kitchen() -> Kitchen {
        let mut kitchen = start_kitchen();
        kitchen.units.currency = Currency::from_code("CAD").expect("CAD is a code");
        kitchen.oven.kwh_per_hour = 1.5;
        kitchen.money = MoneyRules {
            wage: Money::minor(2000),
            overhead: Money::minor(500),
            waste: Share::percent(5.0),
            energy: Money::minor(20),
            per_dozen: DetailPrices {
                plain: Money::minor(3600),
                simple: Money::minor(4800),
                dressed: Money::minor(6000),
                detailed: Money::minor(7200),
                elaborate: Money::minor(8400),
            },
            least_cookies: 12,
            least_per_design: 6,
            step: Money::minor(100),
            deposit: Share::percent(50.0),
            rush: Share::percent(25.0),
            rush_days: 10,
            balance_days: 7,
            changes_days: 10,
        };
        kitchen
    }

    fn order() -> Order {
        let at = date(2027, 3, 20)
            .at(10, 0, 0, 0)
            .in_tz("America/Toronto")
            .expect("the time zone is known");
        Order {
            title: "Invented birthday".into(),
            customer: "Invented customer".into(),
            invented: true,
            handovers: vec![Handover { at, counts: Vec::new() }],
            must_have: Vec::new(),
            wording_confirmed: true,
            avoid: Vec::new(),
            base: BaseChoice::FromArt,
            most_colors: None,
            bench: crate::order::Bench::default(),
            items: Vec::new(),
        }
    }

    fn design(count: u32) -> Design {
        let (width, height) = (Length::mm(80.0), Length::mm(80.0));
        Design {
            id: "star".into(),
            count,
            extras: 1,
            outline: Region::default(),
            width,
            height,
            drawn: true,
            sections: 0..0,
        }
    }

    fn bought(name: &str, cost_minor: i64, is_packaging: bool) -> ShoppingLine {
        let need = Need::Mass(Mass::g(1.0));
        let cost = Money::minor(cost_minor);
        ShoppingLine {
            name: name.into(),
            need,
            packs: 1,
            pack: need,
            cost,
            outlay: cost,
            is_packaging,
        }
    }

    /// Prices cookies of one plain design that take `hours` of work.
    fn priced(count: u32, hours: f64, today: Date) -> (Price, Vec<(Severity, String)>) {
        let input = PriceInput {
            order: &order(),
            designs: &[design(count)],
            details: &[Detail::Plain],
            shopping: &[
                bought("flour", 250, false),
                bought("sugar", 150, false),
                bought("small", 144, true),
            ],
            oven_time: Span::hours(0.5),
            work: &[
                Work { name: "packing", time: Span::hours(hours / 4.0) },
                Work { name: "icing and decorating", time: Span::hours(hours * 0.75) },
            ],
            today,
        };
        let (price, heads_ups) = price(&kitchen(), &input);
        (price, heads_ups.into_iter().map(|found| (found.severity, found.message)).collect())
    }

    const EARLY: Date = date(2027, 3, 1);

    #[test]
    fn the_lines_add_up_to_the_cost_and_the_price_pays_what_is_left() {
        // 4.00 + 1.44 + 0.5 h x 1.5 kWh x 0.20 + 5.00 = 10.59 beside 1.2 h of work at 20.00.
        let (price, heads_ups) = priced(12, 1.2, EARLY);
        let amounts: Vec<_> =
            price.lines.iter().map(|line| (line.name.as_str(), line.amount.to_minor())).collect();
        let expected = [
            ("ingredients", 400),
            ("cookie bags", 144),
            ("oven", 15),
            ("packing", 600),
            ("icing and decorating", 1800),
            ("overhead", 500),
        ];
        assert_eq!(amounts, expected);
        assert_eq!(
            (price.cost, price.cash_cost, price.price),
            (Money::minor(3459), Money::minor(1059), Money::minor(3600))
        );
        // (36.00 - 10.59) / 1.2 h = 21.175.
        assert_eq!(
            (price.per_hour, price.deposit, price.rush),
            (Money::minor(2118), Money::minor(1800), false)
        );
        assert_eq!(heads_ups, []);
    }

    #[test]
    fn a_price_below_the_wage_names_the_one_that_pays_it() {
        let (price, heads_ups) = priced(12, 4.0, EARLY);
        assert_eq!((price.cost, price.per_hour), (Money::minor(9059), Money::minor(635)));
        let message =
            "A price of 36.00 CAD pays 6.35 CAD an hour, and an hour should bring 20.00 CAD.";
        assert_eq!(heads_ups, [(Severity::Caution, message.to_owned())]);
    }

    #[test]
    fn an_order_on_short_notice_bears_the_surcharge() {
        for (today, expected) in
            [(date(2027, 3, 10), (false, 3600)), (date(2027, 3, 11), (true, 4500))]
        {
            let (price, _) = priced(12, 1.0, today);
            assert_eq!((price.rush, price.price.to_minor()), expected, "planned on {today}");
        }
    }

    #[test]
    fn too_few_cookies_are_noted() {
        let (price, heads_ups) = priced(5, 0.0, EARLY);
        assert_eq!((price.price, price.per_hour), (Money::minor(1500), Money::ZERO));
        let expected = [
            (Severity::Note, "5 cookies are ordered in all; the kitchen's least is 12.".to_owned()),
            (
                Severity::Note,
                "5 of these are ordered; the kitchen's least of one design is 6.".to_owned(),
            ),
        ];
        assert_eq!(heads_ups, expected);
    }

    #[test]
    fn the_division_by_twelve_costs_no_step() {
        let check = |n: u32, expected: i64| {
            let price = price_of(
                &[(Detail::Plain, n)],
                &kitchen().money.per_dozen,
                Share::ZERO,
                Money::minor(100),
            );
            assert_eq!(price, Money::minor(expected), "{n} cookies");
        };
        check(0, 0);
        check(7, 2100);
        check(12_000_001, 3_600_000_300);
        let uneven = DetailPrices { plain: Money::minor(3650), ..kitchen().money.per_dozen };
        assert_eq!(
            price_of(&[(Detail::Plain, 7)], &uneven, Share::ZERO, Money::minor(50)),
            Money::minor(2150)
        );
    }

    #[test]
    fn a_price_that_does_not_even_cover_the_cost_is_told_without_work_too() {
        let (price, heads_ups) = priced(1, 0.0, EARLY);
        assert_eq!((price.price, price.cost), (Money::minor(300), Money::minor(1059)));
        let told = "A price of 3.00 CAD does not cover the cost of 10.59 CAD.";
        assert_eq!(heads_ups.last(), Some(&(Severity::Caution, told.to_owned())));
    }

    proptest! {
        #[test]
        fn lines_sum_to_the_cost_and_no_cookie_is_sold_below_the_rule(
            count in 0_u32..5000,
            hours in 0.0_f64..200.0,
            dozen_minor in 0_i64..1_000_000,
            step_minor in 0_i64..10_000,
            costs_minor in proptest::collection::vec(0_i64..1_000_000, 0..8),
        ) {
            let mut kitchen = kitchen();
            kitchen.money.per_dozen.plain = Money::minor(dozen_minor);
            kitchen.money.step = Money::minor(step_minor);
            let shopping: Vec<_> = costs_minor.iter().map(|&cost| bought("flour", cost, cost % 2 == 0)).collect();
            let input = PriceInput {
                order: &order(),
                designs: &[design(count)],
                details: &[Detail::Plain],
                shopping: &shopping,
                oven_time: Span::hours(hours / 7.0),
                work: &[
                    Work { name: "packing", time: Span::hours(hours / 3.0) },
                    Work { name: "icing and decorating", time: Span::hours(hours / 1.5) },
                ],
                today: EARLY,
            };
            let (price, _) = price(&kitchen, &input);
            let sum = |lines: &mut dyn Iterator<Item = &PriceLine>| lines.map(|line| line.amount).sum::<Money>();
            prop_assert_eq!(sum(&mut price.lines.iter()), price.cost);
            let work = sum(&mut price.lines.iter().filter(|line| line.part == PricePart::Work));
            prop_assert_eq!(price.cash_cost + work, price.cost);

            let (by_rule, asked) = (dozen_minor * i64::from(count), price.price.to_minor() * 12);
            prop_assert!(asked >= by_rule && asked < by_rule + 12 * step_minor.max(1));

            // What an hour pays is rounded once, to half a minor unit.
            let paid = price.per_hour.to_minor() as f64 * hours;
            let left = (price.price - price.cash_cost).to_minor() as f64;
            prop_assert!(hours == 0.0 || (paid - left).abs() <= 0.5 * hours + 1e-3);
        }
    }
}
