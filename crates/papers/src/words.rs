//! Figures and names as one says them, in the kitchen's measures: one voice for pictures, papers and pages.

use std::fmt::Display;

use craft::{
    document::plan::{CutDocument, SheetRowCutDocument, SheetRowDocument},
    kitchen::Measures,
};
use jiff::ZonedDateTime;
use quantity::{Currency, Length, Mass, Money, Span, Volume};

/// A space at which no line is broken.
pub(crate) const NO_BREAK: char = '\u{a0}';

/// "654 g", or "1 lb 7.1 oz (654 g)" where ounces are usual; less than a tenth of an ounce is grams alone.
pub(crate) fn mass(mass: Mass, measures: Measures) -> String {
    let g = mass.to_g();
    let grams =
        if g.abs() < 9.95 { format!("{g:.1}{NO_BREAK}g") } else { format!("{g:.0}{NO_BREAK}g") };
    match measures {
        Measures::Metric => grams,
        Measures::Us => {
            // Tenths of an ounce, so that 15.96 oz is a pound and not "16.0 oz".
            let tenths = (mass.to_ounces() * 10.0).round();
            if tenths.abs() < 1.0 {
                return grams;
            }
            let (pounds, rest) = ((tenths / 160.0).floor(), tenths % 160.0 / 10.0);
            let ounces = if pounds > 0.0 {
                format!("{pounds:.0}{NO_BREAK}lb {rest:.1}{NO_BREAK}oz")
            } else {
                format!("{rest:.1}{NO_BREAK}oz")
            };
            format!("{ounces} ({grams})")
        }
    }
}

/// "7½ cups", "2 tbsp and 1½ tsp", "790 ml": a volume as it is spooned, rounded as spoons and cups are; nothing below a pinch.
///
/// Small amounts are spoons everywhere: a spoon of the United States and a metric one differ by less than one fills them.
pub fn spooned(volume: Volume, measures: Measures) -> String {
    let teaspoons = volume / Volume::teaspoons(1.0);
    let told = |number: String, unit: &str| format!("{number}{NO_BREAK}{unit}");
    let two = |first: String, second: String| match (first.is_empty(), second.is_empty()) {
        (false, false) => format!("{first} and {second}"),
        _ => first + &second,
    };
    let some = |quarters: f64, unit: &str, units: &str| match in_quarters(quarters) {
        Some(number) => told(number, if quarters > 4.0 { units } else { unit }),
        None => String::new(),
    };
    let us = measures == Measures::Us;
    if !(0.0625..1e6).contains(&teaspoons) {
        String::new()
    } else if teaspoons < 0.1875 {
        told("⅛".to_owned(), "tsp")
    } else if teaspoons < 2.875 {
        some((teaspoons * 4.0).round(), "tsp", "tsp")
    } else if teaspoons < 12.75 {
        let halves = (teaspoons * 2.0).round();
        let tablespoons = (halves / 6.0).floor();
        two(some(tablespoons * 4.0, "tbsp", "tbsp"), some((halves % 6.0) * 2.0, "tsp", "tsp"))
    } else if us && teaspoons < 4.0 * 48.0 {
        let fine = if teaspoons < 24.0 { 2.0 } else { 1.0 };
        let tablespoons = (teaspoons / 3.0 * fine).round() / fine;
        let quarters = (tablespoons / 4.0).floor();
        two(some(quarters, "cup", "cups"), some((tablespoons % 4.0) * 4.0, "tbsp", "tbsp"))
    } else if us {
        some((teaspoons / 12.0).round(), "cup", "cups")
    } else {
        let step = if volume.to_ml() < 300.0 { 5.0 } else { 10.0 };
        told(format!("{:.0}", (volume.to_ml() / step).round() * step), "ml")
    }
}

/// "1¾" of seven quarters; nothing of none.
fn in_quarters(quarters: f64) -> Option<String> {
    let quarters = quarters.round().max(0.0) as u64;
    let fraction = ["", "¼", "½", "¾"][(quarters % 4) as usize];
    match quarters / 4 {
        _ if quarters == 0 => None,
        0 => Some(fraction.to_owned()),
        whole => Some(format!("{whole}{fraction}")),
    }
}

/// "6.35 mm", or "0.25 in (6.35 mm)".
pub fn length(length: Length, measures: Measures) -> String {
    let metric = format!("{}{NO_BREAK}mm", plain(length.to_mm(), 2));
    match measures {
        Measures::Metric => metric,
        Measures::Us => format!("{}{NO_BREAK}in ({metric})", plain(length.to_inches(), 2)),
    }
}

/// "56 × 100 mm", or "2.2 × 3.9 in (56 × 100 mm)".
pub(crate) fn size(width: Length, height: Length, measures: Measures) -> String {
    let by = |a: String, b: String, unit| format!("{a}{NO_BREAK}×{NO_BREAK}{b}{NO_BREAK}{unit}");
    let mm = |length: Length| plain(length.to_mm(), 0);
    let metric = by(mm(width), mm(height), "mm");
    match measures {
        Measures::Metric => metric,
        Measures::Us => {
            let inches = |length: Length| plain(length.to_inches(), 1);
            format!("{} ({metric})", by(inches(width), inches(height), "in"))
        }
    }
}

/// "5.00": an amount with as many digits behind the point as its currency has.
pub(crate) fn decimal(money: Money, currency: Currency) -> String {
    let minor = money.to_minor().unsigned_abs();
    let per_major = currency.minor_per_major().unsigned_abs();
    let sign = if money < Money::ZERO { "-" } else { "" };
    match currency.minor_digits() as usize {
        0 => format!("{sign}{minor}"),
        digits => format!("{sign}{}.{:0digits$}", minor / per_major, minor % per_major),
    }
}

/// A number with at most so many decimals, without zeros that say nothing.
fn plain(number: f64, decimals: usize) -> String {
    let text = format!("{number:.decimals$}");
    match text.split_once('.') {
        Some(_) => text.trim_end_matches('0').trim_end_matches('.').to_owned(),
        None => text,
    }
}

/// "45 min", "3 h", "3 h 05".
pub(crate) fn span(span: Span) -> String {
    let minutes = span.to_minutes().round().max(0.0) as u64;
    match (minutes / 60, minutes % 60) {
        (0, minutes) => format!("{minutes}{NO_BREAK}min"),
        (hours, 0) => format!("{hours}{NO_BREAK}h"),
        (hours, minutes) => format!("{hours}{NO_BREAK}h{NO_BREAK}{minutes:02}"),
    }
}

/// "Saturday 6 March 2027".
pub(crate) fn date(at: &ZonedDateTime) -> String {
    at.strftime("%A %-d %B %Y").to_string()
}

/// "10:00".
pub(crate) fn time(at: &ZonedDateTime) -> String {
    at.strftime("%-H:%M").to_string()
}

/// Makes an id readable: "star-without-egg" is "star without egg".
pub fn spoken(id: &str) -> String {
    id.replace(['-', '_', '/'], " ")
}

/// The same as the beginning of a line: "Star without egg".
pub fn titled(id: &str) -> String {
    let spoken = spoken(id);
    let mut letters = spoken.chars();
    letters.next().map_or_else(String::new, |first| first.to_uppercase().chain(letters).collect())
}

/// "8 × lighthouse".
pub(crate) fn counted(n: impl Display, id: &str) -> String {
    format!("{n}{NO_BREAK}×{NO_BREAK}{}", spoken(id))
}

/// "3 rows of 4 × heart, turned head to tail; 1 row of 3 × gull", or "row by row 4 × heart; 3 × gull": how the cuts of a sheet stand, from its start.
pub fn rows_told(rows: &[SheetRowDocument]) -> String {
    let alike: Vec<&[SheetRowDocument]> = rows.chunk_by(|a, b| a == b).collect();
    let all_differ = alike.len() > 1 && alike.len() == rows.len();
    let told = |alike: &&[SheetRowDocument]| {
        let Some(row) = alike.first() else { return String::new() };
        let cut = |cut: &SheetRowCutDocument| counted(cut.n, &cut.design);
        let cuts: Vec<String> = row.cuts.iter().map(cut).collect();
        let turned = if row.head_to_tail { ", turned head to tail" } else { "" };
        let n = if all_differ { String::new() } else { n_of(alike.len(), "row", "rows") + " of " };
        format!("{n}{}{turned}", cuts.join(", "))
    };
    let told: Vec<String> = alike.iter().map(told).collect();
    format!("{}{}", if all_differ { "row by row " } else { "" }, told.join("; "))
}

/// "cutter turned over for 9 and 10": the numbers of the cuts that lie as in a mirror.
pub fn turned_over(placements: &[CutDocument]) -> Option<String> {
    let numbers = (1..).zip(placements).filter(|(_, cut)| cut.mirrored);
    let numbers: Vec<String> = numbers.map(|(number, _): (usize, _)| number.to_string()).collect();
    (!numbers.is_empty()).then(|| format!("cutter turned over for {}", listed(&numbers)))
}

/// "1 bag", "3 bags".
pub(crate) fn n_of(n: usize, one: &str, many: &str) -> String {
    let word = if n == 1 { one } else { many };
    format!("{n}{NO_BREAK}{word}")
}

/// "1", "1 and 2", "1, 2 and 5".
pub fn listed(items: &[String]) -> String {
    match items {
        [] => String::new(),
        [only] => only.clone(),
        [first @ .., last] => format!("{} and {last}", first.join(", ")),
    }
}

/// Names that are told one by one.
const FEW: usize = 3;

/// The same, of no more than a few: "fox, pear, star and 8 more".
pub(crate) fn few(items: &[String]) -> String {
    match items.split_at_checked(FEW) {
        Some((first, rest)) if !rest.is_empty() => {
            format!("{} and {} more", first.join(", "), rest.len())
        }
        _ => listed(items),
    }
}

/// Keeps the first of equal items, in their order.
pub(crate) fn unique<T: PartialEq>(items: impl IntoIterator<Item = T>) -> Vec<T> {
    items.into_iter().fold(Vec::new(), |mut kept, item| {
        if !kept.contains(&item) {
            kept.push(item);
        }
        kept
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn check(told: String, expected: &str) {
        assert_eq!(told.replace(NO_BREAK, " "), expected);
    }

    #[test]
    fn masses_read_as_the_kitchen_weighs() {
        check(mass(Mass::g(3.46), Measures::Metric), "3.5 g");
        check(mass(Mass::g(653.5), Measures::Metric), "654 g");
        check(mass(Mass::ounces(3.0), Measures::Us), "3.0 oz (85 g)");
        check(mass(Mass::g(0.4), Measures::Us), "0.4 g");
        // A pound is sixteen ounces of 28.349523125 g (NIST Handbook 44, appendix C).
        check(mass(Mass::ounces(15.97), Measures::Us), "1 lb 0.0 oz (453 g)");
        check(mass(Mass::ounces(23.1), Measures::Us), "1 lb 7.1 oz (655 g)");
    }

    #[test]
    fn volumes_read_as_they_are_spooned() {
        let us = |tsp: f64| spooned(Volume::teaspoons(tsp), Measures::Us);
        check(us(0.01), "");
        check(us(0.13), "⅛ tsp");
        check(us(0.49), "½ tsp");
        check(us(2.8), "2¾ tsp");
        check(us(2.9), "1 tbsp");
        check(us(7.6), "2 tbsp and 1½ tsp");
        // The published royal icing: 28 g of dried white at 7.0 g a tablespoon (USDA SR28, NDB 01136), 177 g of water.
        check(us(12.0), "4 tbsp");
        check(us(36.0), "¾ cup");
        check(us(63.0), "1¼ cups and 1 tbsp");
        check(us(7.55 * 48.0), "7½ cups");
        let metric = |ml: f64| spooned(Volume::ml(ml), Measures::Metric);
        check(metric(15.0), "1 tbsp");
        check(metric(178.0), "180 ml");
        check(metric(1788.0), "1790 ml");
        check(metric(f64::NAN) + &metric(-3.0) + &metric(f64::INFINITY), "");
    }

    #[test]
    fn a_spooned_volume_reads_back_within_its_rounding() {
        for step in 1..2400 {
            let volume = Volume::teaspoons(f64::from(step) * 0.25);
            for measures in [Measures::Us, Measures::Metric] {
                let told = spooned(volume, measures);
                let read: Volume = told
                    .split(" and ")
                    .map(|part| {
                        quantity::parse_volume(part).expect("it is written as people write")
                    })
                    .sum();
                let off = (read / volume - 1.0).abs();
                // A quarter of a teaspoon on a tablespoon and a quarter of a teaspoon is the coarsest there is.
                assert!(off < 0.08, "{told} for {} ml", volume.to_ml());
            }
        }
    }

    #[test]
    fn lengths_lose_zeros_that_say_nothing() {
        check(length(Length::mm(6.35), Measures::Us), "0.25 in (6.35 mm)");
        check(length(Length::mm(6.0), Measures::Metric), "6 mm");
        check(size(Length::mm(55.99), Length::mm(100.0), Measures::Metric), "56 × 100 mm");
        check(
            size(Length::inches(3.0), Length::inches(3.5), Measures::Us),
            "3 × 3.5 in (76 × 89 mm)",
        );
    }

    #[test]
    fn rows_are_told_from_the_start_of_the_sheet_and_equal_ones_at_once() {
        let row = |cuts: &[(&str, usize)], head_to_tail| SheetRowDocument {
            cuts: cuts
                .iter()
                .map(|&(design, n)| SheetRowCutDocument { design: design.to_owned(), n })
                .collect(),
            head_to_tail,
        };
        let hearts = row(&[("heart", 4)], true);
        let rest = row(&[("heart", 1), ("tall-star", 2)], false);
        check(
            rows_told(&[hearts.clone(), hearts.clone(), rest.clone()]),
            "2 rows of 4 × heart, turned head to tail; 1 row of 1 × heart, 2 × tall star",
        );
        check(
            rows_told(&[hearts.clone(), rest]),
            "row by row 4 × heart, turned head to tail; 1 × heart, 2 × tall star",
        );
        check(rows_told(&[hearts]), "1 row of 4 × heart, turned head to tail");
        check(rows_told(&[]), "");
    }

    #[test]
    fn times_and_names_read_as_one_says_them() {
        let told = [0.2, 33.4, 120.0, 185.0].map(|min| span(Span::minutes(min)));
        check(told.join("; "), "0 min; 33 min; 2 h; 3 h 05");
        let at: ZonedDateTime =
            "2027-03-06T09:05:00-04:00[America/Halifax]".parse().expect("a time");
        check(format!("{} at {}", date(&at), time(&at)), "Saturday 6 March 2027 at 9:05");
        check(titled("éclair-without_egg"), "Éclair without egg");
        check(n_of(1, "bag", "bags") + &n_of(0, ", bag", ", bags"), "1 bag0 , bags");
        check(listed(&["1", "2", "5"].map(str::to_owned)), "1, 2 and 5");
        check(few(&["1", "2", "3"].map(str::to_owned)), "1, 2 and 3");
        check(few(&["1", "2", "3", "4", "5"].map(str::to_owned)), "1, 2, 3 and 2 more");
        assert_eq!(unique([3, 1, 3, 2, 1]), [3, 1, 2]);
    }

    #[test]
    fn money_has_the_digits_of_its_currency() {
        let of =
            |code, minor| decimal(Money::minor(minor), Currency::from_code(code).expect("a code"));
        assert_eq!(
            [of("CAD", 18_605), of("CAD", -5), of("JPY", 500), of("KWD", 1_001)],
            ["186.05", "-0.05", "500", "1.001"]
        );
        assert_eq!(of("CAD", i64::MIN), "-92233720368547758.08");
    }
}
