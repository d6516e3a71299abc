//! Colors by their lawful names.
//!
//! - United States: certified colors by name, "FD&C" and "No." dropped, "Lake" kept (21 CFR 101.22(k)(1)).
//! - Canada: by their own common names, each by itself, never grouped behind a word for color
//!   (Canadian Food Inspection Agency, Food labels, Food additives, Food colors; names from its table of Canadian names,
//!   European numbers and United States names).
//! - European Union and United Kingdom: the class of additive with name or E number
//!   (Regulation (EU) No 1169/2011, Annex VII, part C, from memory), and for six of them a warning
//!   (Regulation (EC) No 1333/2008, Annex V).
//!
//! A name that is not on the list is left as the kitchen wrote it.

use tint::limits;

use crate::{kitchen::Jurisdiction, tinting::law};

/// A color and what it is called.
struct Named {
    /// In the European Union; empty where it has no number there.
    number: &'static str,
    /// In the United States, where it is certified; else empty.
    us: &'static str,
    /// In Canada; empty where it is not on the list there.
    canada: &'static str,
    /// Other names.
    others: &'static [&'static str],
}

const fn named(
    number: &'static str,
    us: &'static str,
    canada: &'static str,
    others: &'static [&'static str],
) -> Named {
    Named { number, us, canada, others }
}

const COLORS: [Named; 18] = [
    named("E129", "Red 40", "allura red", &["allura red AC"]),
    named("E127", "Red 3", "erythrosine", &[]),
    named("E102", "Yellow 5", "tartrazine", &[]),
    named("E110", "Yellow 6", "sunset yellow FCF", &["sunset yellow"]),
    named("E133", "Blue 1", "brilliant blue FCF", &["brilliant blue"]),
    named("E132", "Blue 2", "indigotine", &["indigo carmine"]),
    named("", "Green 3", "fast green FCF", &["fast green", "E143"]),
    named("E104", "", "", &["quinoline yellow"]),
    named("E122", "", "", &["carmoisine", "azorubine"]),
    named("E124", "", "", &["ponceau 4R", "cochineal red A"]),
    named("E120", "", "cochineal", &["carmine", "cochineal extract", "carmines"]),
    named("E100", "", "turmeric", &["curcumin"]),
    named("E162", "", "beet red", &["betanin", "beetroot red"]),
    named("E160b", "", "annatto", &["norbixin", "bixin"]),
    named("E160c", "", "paprika", &["paprika extract"]),
    named("E163", "", "anthocyanins", &[]),
    named("E150", "", "caramel", &["caramel color"]),
    named("E171", "", "titanium dioxide", &[]),
];

/// Finds the color a part of a food is called by, and whether it is the lake of it.
fn find(part: &str) -> Option<(&'static Named, bool)> {
    let plain = plain(part);
    let (plain, is_lake) = match plain.strip_suffix("lake") {
        Some(dye) if !dye.is_empty() => (dye, true),
        _ => (plain.as_str(), false),
    };
    let is_meant = |name: &str| !name.is_empty() && self::plain(name) == plain;
    let color = COLORS.iter().find(|color| {
        [color.number, color.us, color.canada].into_iter().any(is_meant)
            || color.others.iter().copied().any(is_meant)
    })?;
    Some((color, is_lake))
}

/// Small letters and digits alone, without what the law lets one drop: "FD&C Red No. 40" is "red40".
fn plain(name: &str) -> String {
    let words = name.to_lowercase();
    let words = words.split(|c: char| !c.is_alphanumeric() && c != '&');
    words.filter(|word| !matches!(*word, "fd&c" | "no")).collect()
}

/// Tells whether a part of a food is a color of the list.
pub(super) fn is_color(part: &str) -> bool {
    find(part).is_some()
}

/// Writes a part of a food as the law wants it named.
pub(super) fn lawful(part: &str, jurisdiction: Jurisdiction) -> String {
    let Some((color, is_lake)) = find(part) else { return part.to_owned() };
    let name = match jurisdiction {
        Jurisdiction::UnitedStates => color.us,
        Jurisdiction::Canada => color.canada,
        Jurisdiction::EuropeanUnion | Jurisdiction::UnitedKingdom => color.number,
    };
    match (name, is_lake, jurisdiction) {
        ("", ..) => part.to_owned(),
        (_, true, Jurisdiction::UnitedStates) => format!("{name} Lake"),
        _ => name.to_owned(),
    }
}

/// Writes the warning that colors among the parts of a food need; empty without any.
pub(super) fn warning<'a>(
    parts: impl IntoIterator<Item = &'a str>,
    jurisdiction: Jurisdiction,
) -> String {
    let Some(law) = law(jurisdiction) else { return String::new() };
    let mut warned: Vec<(&str, &str)> = parts
        .into_iter()
        .filter_map(|part| Some(find(part)?.0.number))
        .filter_map(|number| Some((limits::warning(law, number)?, number)))
        .collect();
    warned.sort_unstable();
    warned.dedup();
    let of_one = |group: &[(&str, &str)]| {
        let numbers: Vec<&str> = group.iter().map(|(_, number)| *number).collect();
        format!("{}: {}.", numbers.join(", "), group.first().map_or("", |(words, _)| words))
    };
    warned.chunk_by(|one, other| one.0 == other.0).map(of_one).collect::<Vec<_>>().join(" ")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_color_is_found_by_any_of_its_names_and_named_by_each_law() {
        // Canadian Food Inspection Agency, table of Canadian names, European numbers and United States names.
        for (written, us, canada, number) in [
            ("Red 40", "Red 40", "allura red", "E129"),
            ("FD&C Red No. 40", "Red 40", "allura red", "E129"),
            ("E 102", "Yellow 5", "tartrazine", "E102"),
            ("fd&c yellow no. 6", "Yellow 6", "sunset yellow FCF", "E110"),
            ("Brilliant Blue FCF", "Blue 1", "brilliant blue FCF", "E133"),
            ("indigotine", "Blue 2", "indigotine", "E132"),
            ("Red 3", "Red 3", "erythrosine", "E127"),
            ("FD&C Green No. 3", "Green 3", "fast green FCF", "FD&C Green No. 3"),
            ("Blue 1 Lake", "Blue 1 Lake", "brilliant blue FCF", "E133"),
            ("carmine", "carmine", "cochineal", "E120"),
            ("carmoisine", "carmoisine", "carmoisine", "E122"),
            ("glycerin", "glycerin", "glycerin", "glycerin"),
            ("lake", "lake", "lake", "lake"),
            ("", "", "", ""),
        ] {
            assert_eq!(lawful(written, Jurisdiction::UnitedStates), us);
            assert_eq!(lawful(written, Jurisdiction::Canada), canada);
            assert_eq!(lawful(written, Jurisdiction::EuropeanUnion), number);
            assert_eq!(lawful(written, Jurisdiction::UnitedKingdom), number);
        }
    }

    #[test]
    fn six_colors_need_a_warning_in_europe_and_nowhere_else() {
        // Regulation (EC) No 1333/2008, Annex V: E 110, E 104, E 122, E 129, E 102, E 124.
        let parts = ["sugar", "Yellow 5", "Blue 1", "E 129", "Red 40"];
        let words = "E102, E129: may have an adverse effect on activity and attention in children.";
        assert_eq!(warning(parts, Jurisdiction::EuropeanUnion), words);
        assert_eq!(warning(parts, Jurisdiction::UnitedKingdom), words);
        assert_eq!(warning(parts, Jurisdiction::UnitedStates), "");
        assert_eq!(warning(["Blue 1", "carmine"], Jurisdiction::EuropeanUnion), "");
        let all = [
            "sunset yellow",
            "quinoline yellow",
            "azorubine",
            "allura red",
            "tartrazine",
            "ponceau 4R",
        ];
        assert!(
            warning(all, Jurisdiction::EuropeanUnion)
                .starts_with("E102, E104, E110, E122, E124, E129: ")
        );
    }
}
