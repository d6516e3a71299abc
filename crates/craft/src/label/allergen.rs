//! Allergens as words: is this one meant by that one, and where in a text does it stand?
//!
//! Words are compared without regard to case and simple plural: "Eggs" is "egg".
//!
//! Sources of what an allergen takes in: Regulation (EU) No 1169/2011, Annex II;
//! Federal Food, Drug, and Cosmetic Act of the United States, section 201(qq);
//! Food and Drug Regulations of Canada, B.01.010.1, which adds triticale and pine nuts.
//! Other words and spellings for the same food are common usage, no source.

use std::{collections::BTreeSet, ops::Range};

/// An allergen or a group of them: what it is called, and the foods that count among it.
struct Allergen {
    names: &'static [&'static str],
    kinds: &'static [&'static str],
}

const ALLERGENS: [Allergen; 15] = [
    Allergen {
        names: &["gluten"],
        kinds: &["wheat", "spelt", "khorasan", "rye", "barley", "oat", "triticale"],
    },
    Allergen { names: &["wheat"], kinds: &["spelt", "khorasan", "triticale"] },
    Allergen { names: &["crustacean", "crustacean shellfish", "shellfish"], kinds: &[] },
    Allergen { names: &["mollusc", "mollusk"], kinds: &[] },
    Allergen { names: &["egg", "egg white", "egg yolk"], kinds: &[] },
    Allergen { names: &["fish"], kinds: &[] },
    Allergen { names: &["peanut", "groundnut"], kinds: &[] },
    Allergen { names: &["soy", "soya", "soybean"], kinds: &[] },
    Allergen { names: &["milk", "dairy", "lactose"], kinds: &[] },
    Allergen {
        names: &["nut", "tree nut"],
        kinds: &[
            "almond",
            "hazelnut",
            "walnut",
            "cashew",
            "pecan",
            "brazil nut",
            "pistachio",
            "macadamia",
            "pine nut",
        ],
    },
    Allergen { names: &["sesame"], kinds: &[] },
    Allergen { names: &["sulfite", "sulphite", "sulfur dioxide", "sulphur dioxide"], kinds: &[] }, // tidy: allow-spelling
    Allergen { names: &["celery"], kinds: &[] },
    Allergen { names: &["mustard"], kinds: &[] },
    Allergen { names: &["lupin", "lupine"], kinds: &[] },
];

/// Tells whether avoiding `avoided` rules out the allergen `allergen`.
///
/// ```
/// use craft::label::rules_out;
///
/// assert!(rules_out("Eggs", "egg"));
/// assert!(rules_out("gluten", "wheat"));
/// assert!(rules_out("nuts", "almonds"));
/// assert!(rules_out("dairy", "milk"));
/// assert!(!rules_out("nuts", "coconut"));
/// ```
pub fn rules_out(avoided: &str, allergen: &str) -> bool {
    let (avoided, allergen) = (singular(avoided), singular(allergen));
    // Whole words in any place count: milk rules out "milk powder", and nuts rule out "cola nuts".
    has_run(&allergen, &avoided)
        || ALLERGENS
            .iter()
            .filter(|known| known.names.iter().any(|name| singular(name) == avoided))
            .flat_map(|known| known.names.iter().chain(known.kinds))
            .any(|name| has_run(&allergen, &singular(name)))
}

/// Tells whether a word is one for an allergen that labels declare, so that nothing it means goes unseen.
///
/// ```
/// use craft::label::is_allergen;
///
/// assert!(is_allergen("Walnuts"));
/// assert!(!is_allergen("cinnamon"));
/// ```
pub fn is_allergen(word: &str) -> bool {
    let word = singular(word);
    ALLERGENS
        .iter()
        .flat_map(|known| known.names.iter().chain(known.kinds))
        .any(|name| singular(name) == word)
}

fn has_run(words: &[String], run: &[String]) -> bool {
    !run.is_empty() && words.windows(run.len()).any(|words| words == run)
}

/// Writes the allergens of a text in capitals; those it does not name follow in parentheses.
///
/// Regulation (EU) No 1169/2011, Article 21(1), asks for a clear reference to the name and a typeset that sets it apart.
///
/// ```
/// use std::collections::BTreeSet;
///
/// use craft::label::emphasized;
///
/// let allergens = |names: &[&str]| names.iter().map(|&name| name.to_owned()).collect::<BTreeSet<_>>();
/// assert_eq!(emphasized("wheat flour", &allergens(&["wheat"])), "WHEAT flour");
/// assert_eq!(emphasized("butter (cream, salt)", &allergens(&["milk"])), "butter (cream, salt) (MILK)");
/// ```
pub fn emphasized(text: &str, allergens: &BTreeSet<String>) -> String {
    let mut text = text.to_owned();
    let mut unnamed = Vec::new();
    for allergen in allergens.iter().filter(|allergen| !singular(allergen).is_empty()) {
        let places = places_of(allergen, &text);
        if places.is_empty() {
            unnamed.push(allergen.to_uppercase());
        }
        // From the end, so that capitals longer than their small letters move nothing that is still to be replaced.
        for place in places.into_iter().rev() {
            let capitals = text[place.clone()].to_uppercase();
            text.replace_range(place, &capitals);
        }
    }
    if unnamed.is_empty() { text } else { format!("{text} ({})", unnamed.join(", ")) }
}

/// Finds where a text names an allergen, in whole words, from the start and without overlap.
fn places_of(allergen: &str, text: &str) -> Vec<Range<usize>> {
    let wanted = singular(allergen);
    let words = words(text);
    let mut places: Vec<Range<usize>> = Vec::new();
    for run in words.windows(wanted.len().max(1)) {
        let (Some(first), Some(last)) = (run.first(), run.last()) else { continue };
        let is_named =
            run.iter().map(|word| singular_word(&text[word.clone()])).eq(wanted.iter().cloned());
        if is_named && places.last().is_none_or(|place| place.end <= first.start) {
            places.push(first.start..last.end);
        }
    }
    places
}

/// Splits a text into its words: runs of letters and digits.
fn words(text: &str) -> Vec<Range<usize>> {
    let mut words: Vec<Range<usize>> = Vec::new();
    for (start, letter) in text.char_indices().filter(|(_, letter)| letter.is_alphanumeric()) {
        let end = start + letter.len_utf8();
        match words.last_mut() {
            Some(word) if word.end == start => word.end = end,
            _ => words.push(start..end),
        }
    }
    words
}

fn singular(phrase: &str) -> Vec<String> {
    words(phrase).into_iter().map(|word| singular_word(&phrase[word])).collect()
}

fn singular_word(word: &str) -> String {
    let word = word.to_lowercase();
    match word.strip_suffix('s') {
        Some(stem) if !stem.is_empty() && !stem.ends_with('s') => stem.to_owned(),
        _ => word,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn check_rules_out(avoided: &str, allergen: &str, expected: bool) {
        assert_eq!(
            rules_out(avoided, allergen),
            expected,
            "avoiding {avoided:?} with {allergen:?}"
        );
    }

    fn check_emphasized(text: &str, allergens: &[&str], expected: &str) {
        let allergens = allergens.iter().map(|&name| name.to_owned()).collect();
        assert_eq!(emphasized(text, &allergens), expected);
    }

    #[test]
    fn case_and_plural_make_no_difference() {
        check_rules_out("EGG", "eggs", true);
        check_rules_out("nut", "Nuts", true);
        check_rules_out("  milk ", "milk", true);
        check_rules_out("milk", "egg", false);
        check_rules_out("", "egg", false);
        check_rules_out(" - ", "", false);
    }

    #[test]
    fn a_group_rules_out_its_kinds_but_no_kind_its_group() {
        // Regulation (EU) No 1169/2011, Annex II, points 1 and 8; peanuts are point 5, apart from nuts.
        check_rules_out("gluten", "rye", true);
        check_rules_out("tree nuts", "hazelnuts", true);
        check_rules_out("nuts", "pecan nuts", true);
        check_rules_out("nuts", "tree nuts", true);
        check_rules_out("almonds", "nuts", false);
        check_rules_out("wheat", "rye", false);
        check_rules_out("nuts", "peanuts", false);
        // Food and Drug Regulations of Canada, B.01.010.1.
        check_rules_out("tree nuts", "pine nuts", true);
        check_rules_out("gluten", "triticale", true);
    }

    #[test]
    fn other_words_and_longer_names_for_a_food_mean_the_same() {
        for (avoided, allergen) in [
            ("dairy", "milk"),
            ("lactose", "milk powder"),
            ("egg white", "egg"),
            ("soy", "soybeans"),
            ("soya", "soy lecithin"),
            ("sesame", "sesame seeds"),
            ("sulfites", "sulphites"),
            ("peanuts", "groundnuts"),
            ("wheat", "wheat (gluten)"),
            ("tree nuts", "pecan nuts"),
        ] {
            check_rules_out(avoided, allergen, true);
        }
        check_rules_out("milk", "milkweed", false);
        check_rules_out("egg", "eggplant", false);
    }

    #[test]
    fn words_no_label_declares_are_told_apart() {
        let sulfur = "sulphur dioxide"; // tidy: allow-spelling
        for word in ["Eggs", "tree nuts", "Brazil nut", sulfur, "spelt"] {
            assert!(is_allergen(word), "{word}");
        }
        for word in ["", "cinnamon", "nut-free", "no egg"] {
            assert!(!is_allergen(word), "{word}");
        }
    }

    #[test]
    fn allergens_stand_in_capitals_where_the_text_names_them_in_whole_words() {
        check_emphasized("dried egg white", &["egg"], "dried EGG white");
        check_emphasized("ground Brazil nuts", &["brazil nut"], "ground BRAZIL NUTS");
        check_emphasized("buttermilk", &["milk"], "buttermilk (MILK)");
        check_emphasized("egg wash (egg, milk)", &["egg", "milk"], "EGG wash (EGG, MILK)");
        check_emphasized("sugar", &[], "sugar");
        check_emphasized("sugar", &[""], "sugar");
        check_emphasized("Weißweizen, ŉuts", &["ŉut"], "Weißweizen, ʼNUTS");
    }
}
