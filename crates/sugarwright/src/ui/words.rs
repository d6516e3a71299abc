//! Dates, counts and money as the pages say them.

use jiff::civil::{Date, DateTime};
use quantity::{Currency, Money};

/// "Saturday 6 March 2027".
pub(crate) fn date(date: Date) -> String {
    date.strftime("%A %-d %B %Y").to_string()
}

/// "6 March".
pub(crate) fn day_and_month(date: Date) -> String {
    date.strftime("%-d %B").to_string()
}

/// "10:00".
pub(crate) fn time(at: DateTime) -> String {
    at.strftime("%-H:%M").to_string()
}

/// "today", "tomorrow", "in 9 days", "3 days ago".
pub(crate) fn in_days(from: Date, to: Date) -> String {
    match (to - from).get_days() {
        0 => "today".to_owned(),
        1 => "tomorrow".to_owned(),
        2 => "the day after tomorrow".to_owned(),
        -1 => "yesterday".to_owned(),
        days if days > 0 => format!("in {days} days"),
        days => format!("{} days ago", -days),
    }
}

/// "186.00 CAD".
pub(crate) fn money(minor: i64, currency: Currency) -> String {
    crate::show::money(Money::minor(minor), currency)
}

/// "1 sheet", "3 sheets".
pub(crate) fn counted(n: usize, one: &str, many: &str) -> String {
    crate::show::n_of(n, one, many)
}

/// "Roll and cut".
pub(crate) fn capital(words: &str) -> String {
    let mut letters = words.chars();
    match letters.next() {
        Some(first) => first.to_uppercase().chain(letters).collect(),
        None => String::new(),
    }
}

#[cfg(test)]
mod tests {
    use jiff::civil::date as on;

    use super::*;

    #[test]
    fn days_are_said_as_people_say_them() {
        let today = on(2027, 2, 27);
        let said = [-3, -1, 0, 1, 2, 9]
            .map(|days| in_days(today, today.saturating_add(jiff::Span::new().days(days))));
        let expected =
            ["3 days ago", "yesterday", "today", "tomorrow", "the day after tomorrow", "in 9 days"];
        assert_eq!(said, expected);
        assert_eq!(date(on(2027, 3, 6)), "Saturday 6 March 2027");
        assert_eq!((capital("roll and cut"), capital("")), ("Roll and cut".into(), String::new()));
    }
}
