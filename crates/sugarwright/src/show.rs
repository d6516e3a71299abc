//! Quantities in words a person reads.

use craft::kitchen::Measures;
use jiff::ZonedDateTime;
use quantity::{Currency, Mass, Money, Span};

/// "620 g", "1.9 kg", "1 lb 6 oz".
pub(crate) fn mass(mass: Mass, measures: Measures) -> String {
    match measures {
        Measures::Metric if mass.to_g() >= 1000.0 => format!("{:.2} kg", mass.to_g() / 1000.0),
        Measures::Metric => format!("{:.0} g", mass.to_g()),
        Measures::Us => {
            let ounces = mass.to_ounces().round();
            let (pounds, rest) = ((ounces / 16.0).floor(), ounces % 16.0);
            match (pounds > 0.0, rest > 0.0) {
                (true, true) => format!("{pounds:.0} lb {rest:.0} oz ({:.0} g)", mass.to_g()),
                (true, false) => format!("{pounds:.0} lb ({:.0} g)", mass.to_g()),
                _ => format!("{rest:.0} oz ({:.0} g)", mass.to_g()),
            }
        }
    }
}

/// "186.00 CAD".
pub(crate) fn money(money: Money, currency: Currency) -> String {
    let (per_major, digits) = (currency.minor_per_major(), currency.minor_digits() as usize);
    let sign = if money.to_minor() < 0 { "-" } else { "" };
    let minor = money.to_minor().unsigned_abs();
    let (major, rest) = (minor / per_major.unsigned_abs(), minor % per_major.unsigned_abs());
    match digits {
        0 => format!("{sign}{major} {}", currency.code()),
        _ => format!("{sign}{major}.{rest:0digits$} {}", currency.code()),
    }
}

/// "45 min", "3 h 05".
pub(crate) fn span(span: Span) -> String {
    let minutes = span.to_minutes().round().max(0.0) as u64;
    if minutes < 60 {
        format!("{minutes} min")
    } else {
        format!("{} h {:02}", minutes / 60, minutes % 60)
    }
}

/// "Saturday 6 March 2027, 10:00".
pub(crate) fn moment(at: &ZonedDateTime) -> String {
    at.strftime("%A %-d %B %Y, %H:%M").to_string()
}

/// "1 sheet", "3 sheets".
pub(crate) fn n_of(n: usize, one: &str, many: &str) -> String {
    if n == 1 { format!("1 {one}") } else { format!("{n} {many}") }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn amounts_read_as_people_say_them() {
        assert_eq!(mass(Mass::g(619.6), Measures::Metric), "620 g");
        assert_eq!(mass(Mass::g(1904.0), Measures::Metric), "1.90 kg");
        assert_eq!(mass(Mass::ounces(22.0), Measures::Us), "1 lb 6 oz (624 g)");
        assert_eq!(mass(Mass::ounces(15.7), Measures::Us), "1 lb (445 g)");
        assert_eq!(span(Span::minutes(185.0)), "3 h 05");
        let cad = Currency::from_code("CAD").expect("a code");
        assert_eq!(money(Money::minor(18_605), cad), "186.05 CAD");
        assert_eq!(money(Money::minor(-5), cad), "-0.05 CAD");
        assert_eq!(
            money(Money::minor(500), Currency::from_code("JPY").expect("a code")),
            "500 JPY"
        );
    }
}
