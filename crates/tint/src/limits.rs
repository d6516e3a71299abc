//! How much of a dye may be in icing, and whether at all?
//!
//! Amounts are in milligrams for a kilogram of the food as sold: icing loses water as it dries, so what was mixed as
//! m mg/kg is sold as m / (1 - w), w the share of water lost (12 to 15 %, common practice, no source).
//!
//! The limits stand in `data/limits.csv`, each with its source and whether that was read again.
//! They are a help to ask the right question, not legal advice: the text of the law and the local office decide.
//!
//! # Worked example
//! 60 mg/kg of quinoline yellow are more than the 50 mg/kg of Codex 05.4.
//! ```
//! use tint::limits::{Law, breaches};
//!
//! let found = breaches(Law::Codex, &[("E104", 60.0)]);
//! assert_eq!(found[0].most, Some(50.0));
//! assert!(breaches(Law::Codex, &[("E104", 40.0)]).is_empty());
//! ```

use std::sync::LazyLock;

use crate::dye::dye;

/// Whose limits.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Law {
    /// European Union.
    EuropeanUnion,
    /// United Kingdom.
    UnitedKingdom,
    /// United States of America.
    UnitedStates,
    /// Codex Alimentarius, a standard among states.
    Codex,
}

/// What a law says of a dye.
#[derive(Clone, Debug, PartialEq)]
enum Rule {
    /// Not more than so many mg/kg.
    Most(f64),
    /// Counts toward the group, with a most of its own or without.
    Group(Option<f64>),
    /// As much as the color takes.
    AsNeeded,
    /// Not at all, since a date or ever.
    NotPermitted,
    /// The label must say something.
    Warning,
}

#[derive(Clone, Debug, PartialEq)]
struct Limit {
    law: Law,
    number: String,
    name: String,
    rule: Rule,
    since: String,
    note: String,
    source: String,
    is_verified: bool,
}

/// A limit that is not kept.
#[derive(Clone, Debug, PartialEq)]
pub struct Breach {
    /// Number and name of the dye; nothing for all dyes of the group together.
    pub dye: Option<String>,
    /// Amount in the food as sold, in mg/kg.
    pub mg_per_kg: f64,
    /// The most allowed, in mg/kg; nothing where the dye is not permitted at all.
    pub most: Option<f64>,
    /// The date since which it is not permitted; empty for ever.
    pub since: &'static str,
    /// What else there is to say; often empty.
    pub note: &'static str,
    /// Where this is written.
    pub source: &'static str,
    /// Whether the source was read again; if not, it must be told.
    pub is_verified: bool,
}

/// Number under which the whole group stands.
const GROUP: &str = "group";

static LIMITS: LazyLock<Vec<Limit>> = LazyLock::new(|| {
    let lines = include_str!("../data/limits.csv").lines();
    lines.filter(|line| !line.starts_with('#')).skip(1).filter_map(row).collect()
});

/// Reads one line of the data; a line that is none is left out, which a test would notice.
fn row(line: &str) -> Option<Limit> {
    let cells: Vec<&str> = line.split(',').collect();
    let [law, number, name, rule, most, since, note, source, verified] = cells[..] else {
        return None;
    };
    let law = match law {
        "eu" => Law::EuropeanUnion,
        "uk" => Law::UnitedKingdom,
        "us" => Law::UnitedStates,
        "codex" => Law::Codex,
        _ => return None,
    };
    let rule = match (rule, most) {
        ("most", most) => Rule::Most(most.parse().ok()?),
        ("group", "") => Rule::Group(None),
        ("group", most) => Rule::Group(Some(most.parse().ok()?)),
        ("as needed", "") => Rule::AsNeeded,
        ("not permitted", "") => Rule::NotPermitted,
        ("warning", "") => Rule::Warning,
        _ => return None,
    };
    let [number, name, since, note, source] =
        [number, name, since, note, source].map(str::to_owned);
    let is_verified = match verified {
        "yes" => true,
        "no" => false,
        _ => return None,
    };
    Some(Limit { law, number, name, rule, since, note, source, is_verified })
}

/// Returns what a law says of a dye, by its number, its name here, or its name in the trade.
fn of(law: Law, name: &str) -> impl Iterator<Item = &'static Limit> {
    let name = name.trim();
    let number = dye(name).map_or(name, |dye| dye.number.as_str());
    LIMITS.iter().filter(move |limit| {
        limit.law == law
            && (limit.number.eq_ignore_ascii_case(number) || limit.name.eq_ignore_ascii_case(name))
    })
}

/// Finds the limits that dyes do not keep, from their amounts in mg/kg of the food as sold.
pub fn breaches(law: Law, dyes: &[(&str, f64)]) -> Vec<Breach> {
    let breach = |limit: &'static Limit, mg_per_kg: f64, most: Option<f64>| Breach {
        dye: (limit.number != GROUP).then(|| format!("{} ({})", limit.number, limit.name)),
        mg_per_kg,
        most,
        since: &limit.since,
        note: &limit.note,
        source: &limit.source,
        is_verified: limit.is_verified,
    };
    let mut found = Vec::new();
    let mut in_group = 0.0;
    for &(name, mg_per_kg) in dyes {
        for limit in of(law, name) {
            match limit.rule {
                Rule::Most(most) | Rule::Group(Some(most)) if mg_per_kg > most => {
                    found.push(breach(limit, mg_per_kg, Some(most)));
                }
                Rule::NotPermitted => found.push(breach(limit, mg_per_kg, None)),
                _ => {}
            }
            if matches!(limit.rule, Rule::Group(_)) {
                in_group += mg_per_kg;
            }
        }
    }
    for limit in LIMITS.iter().filter(|limit| limit.law == law && limit.number == GROUP) {
        match limit.rule {
            Rule::Most(most) if in_group > most => {
                found.push(breach(limit, in_group, Some(most)));
            }
            _ => {}
        }
    }
    found
}

/// Returns what the label must say of a dye, if anything.
pub fn warning(law: Law, name: &str) -> Option<&'static str> {
    of(law, name).find(|limit| limit.rule == Rule::Warning).map(|limit| limit.note.as_str())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_line_of_the_data_is_a_limit_with_a_source() {
        let lines = include_str!("../data/limits.csv").lines();
        assert_eq!(lines.filter(|line| !line.starts_with('#')).count(), LIMITS.len() + 1);
        for limit in LIMITS.iter() {
            assert!(!limit.source.is_empty(), "{limit:?}");
            // What stands here from memory never passes for read.
            assert!(!(limit.is_verified && limit.source.contains("memory")), "{limit:?}");
        }
    }

    #[test]
    fn the_dyes_of_the_group_count_together() {
        // Directive 94/36/EC, Annex V: decorations and coatings 500 mg/kg, alone or combined.
        let law = Law::EuropeanUnion;
        assert_eq!(breaches(law, &[("Red 40", 300.0), ("Blue 1", 190.0)]), []);
        let found = breaches(law, &[("Red 40", 300.0), ("Blue 1", 210.0), ("Carbon", 900.0)]);
        assert_eq!(found.len(), 1, "{found:?}");
        let Breach { dye, mg_per_kg, most, is_verified, .. } = &found[0];
        assert_eq!((dye, *mg_per_kg, *most, *is_verified), (&None, 510.0, Some(500.0), true));
        let orange = breaches(law, &[("Yellow 6", 60.0)]);
        assert!(orange.len() == 1 && !orange[0].is_verified, "{orange:?}");
    }

    #[test]
    fn what_is_not_permitted_is_told_however_little_it_is() {
        let found = |law, name| breaches(law, &[(name, 0.1)]).pop();
        let red = found(Law::UnitedStates, "Red 3").expect("90 FR 4628 takes it from food");
        assert_eq!((red.since, red.is_verified), ("2027-01-15", true));
        for name in ["E127", "E171", "titanium dioxide", "Green 3"] {
            assert!(
                found(Law::EuropeanUnion, name).is_some_and(|one| one.most.is_none()),
                "{name}"
            );
        }
        assert!(found(Law::UnitedStates, "vegetable carbon").is_some());
        assert!(found(Law::UnitedStates, "Red 40").is_none());
        assert!(found(Law::EuropeanUnion, "water").is_none());
    }

    #[test]
    fn six_colors_come_with_a_sentence_in_the_union() {
        // Regulation (EC) 1333/2008, Annex V.
        let warned: Vec<&str> = crate::dye::dyes()
            .filter(|dye| warning(Law::EuropeanUnion, &dye.name).is_some())
            .map(|dye| dye.number.as_str())
            .collect();
        let mut sorted = warned.clone();
        sorted.sort_unstable();
        assert_eq!(sorted, ["E102", "E104", "E110", "E122", "E124", "E129"]);
        assert_eq!(warning(Law::UnitedStates, "Red 40"), None);
    }
}
