//! What the maker is told about a price.

use quantity::{Money, Span};

use crate::{
    heads_up::{HeadsUp, Severity, Subject},
    kitchen::{Kitchen, MoneyRules},
    price::Price,
    technique::Design,
};

/// Notes an order or a design of fewer cookies than the kitchen takes on.
pub(super) fn too_few(rules: &MoneyRules, designs: &[Design]) -> Vec<HeadsUp> {
    let mut heads_ups = Vec::new();
    let count = designs.iter().fold(0_u32, |sum, design| sum.saturating_add(design.count));
    if count < rules.least_cookies {
        heads_ups.push(HeadsUp::new(
            Severity::Note,
            Subject::Order,
            format!(
                "{count} cookies are ordered in all; the kitchen's least is {}.",
                rules.least_cookies
            ),
        ));
    }
    for design in designs.iter().filter(|design| design.count < rules.least_per_design) {
        heads_ups.push(HeadsUp::new(
            Severity::Note,
            Subject::Item(design.id.clone()),
            format!(
                "{} of these are ordered; the kitchen's least of one design is {}.",
                design.count, rules.least_per_design
            ),
        ));
    }
    heads_ups
}

/// Warns of a price that pays less than the wage, and names the one that pays it.
pub(super) fn below_wage(kitchen: &Kitchen, price: &Price) -> Option<HeadsUp> {
    let rules = &kitchen.money;
    // With the maker's hours at the wage in it, the cost is the least price that pays them.
    if price.price >= price.cost {
        return None;
    }
    let [price_now, cost, per_hour, wage, paying] =
        [price.price, price.cost, price.per_hour, rules.wage, price.cost.round_up_to(rules.step)]
            .map(|money| written(kitchen, money));
    let (message, hint) = if price.hours > Span::ZERO {
        (
            format!(
                "A price of {price_now} pays {per_hour} an hour, and an hour should bring {wage}."
            ),
            format!(
                "A price of {paying} would pay the wage; or choose less detail, or fewer colors."
            ),
        )
    } else {
        (
            format!("A price of {price_now} does not cover the cost of {cost}."),
            format!("A price of {paying} would."),
        )
    };
    Some(HeadsUp::new(Severity::Caution, Subject::Price, message).hint(hint))
}

/// Writes an amount with the digits of its currency, such as `1234.50 CAD`.
fn written(kitchen: &Kitchen, money: Money) -> String {
    let currency = kitchen.units.currency;
    let digits = currency.minor_digits() as usize;
    let per_major = currency.minor_per_major().unsigned_abs();
    let (sign, minor) =
        (if money < Money::ZERO { "-" } else { "" }, money.to_minor().unsigned_abs());
    let (major, rest) = (minor / per_major, minor % per_major);
    match digits {
        0 => format!("{sign}{major} {}", currency.code()),
        _ => format!("{sign}{major}.{rest:0digits$} {}", currency.code()),
    }
}

#[cfg(test)]
mod tests {
    use quantity::Currency;

    use super::*;
    use crate::document::start_kitchen;

    #[test]
    fn amounts_are_written_with_the_digits_of_their_currency() {
        let check = |code: &str, minor: i64, expected: &str| {
            let mut kitchen = start_kitchen();
            kitchen.units.currency = Currency::from_code(code).expect("a code has three capitals");
            assert_eq!(written(&kitchen, Money::minor(minor)), expected);
        };
        check("CAD", 123_405, "1234.05 CAD");
        check("JPY", 1200, "1200 JPY");
        check("KWD", -5, "-0.005 KWD");
    }
}
