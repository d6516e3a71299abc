//! How is the icing made, in how many batches, and until when is it good?
//!
//! - part = m p / P, with m the icing to make, p the part in the recipe and P the whole recipe, all in g
//! - n = m / M, rounded up; M the most the mixer whips; all n batches are alike, so that each is m / n
//! - last good day = day it was made + whole days it keeps covered
//!
//! Source: arithmetic; mixer and keeping time are the kitchen's own.
//! Raw white is the one danger of this work: Iowa State University Extension and Outreach, "Royal Icing Made Safe" (2022),
//! names dried or pasteurized whites, or whites heated with the sugar to 71 °C (160 °F).
//!
//! # Worked example
//! 3,336 g by a recipe of 28 g white, 177 g water and 907 g sugar, with a mixer for 1,500 g:
//! three batches of 1,112 g, each just the recipe; made on 1 March and good for three days, it is good until 4 March.
//! ```
//! use craft::icing::keeps_until;
//! use jiff::civil::date;
//! use quantity::Span;
//!
//! assert_eq!(keeps_until(date(2027, 3, 1), Span::hours(72.0)), date(2027, 3, 4));
//! ```

use jiff::{ToSpan, civil::Date};
use quantity::{Mass, Span};

use super::n_batches;
use crate::{
    heads_up::{HeadsUp, Severity, Subject},
    kitchen::{IcingStock, Kitchen, Part},
};

/// The icing to be made.
#[derive(Clone, Debug, Default)]
pub struct Batch {
    /// What goes in, over all batches.
    pub parts: Vec<Part>,
    /// All of it.
    pub total: Mass,
    /// In how many batches the mixer takes it, all alike.
    pub n: u32,
    /// What is done, in order.
    pub steps: Vec<String>,
}

/// Returns the last day on which icing is good.
pub fn keeps_until(made_on: Date, keeps: Span) -> Date {
    made_on.saturating_add(i64::from(whole_days(keeps)).days())
}

fn whole_days(keeps: Span) -> u16 {
    // Casts from a float keep within the range of the integer.
    (keeps.to_hours() / 24.0 + 1e-9).floor() as u16
}

/// "3 days", as one says it.
pub(crate) fn days_of(keeps: Span) -> String {
    match whole_days(keeps) {
        1 => "1 day".to_owned(),
        n => format!("{n} days"),
    }
}

/// Scales the recipe to so much icing, in as many even batches as the mixer needs.
pub(super) fn batch(kitchen: &Kitchen, total: Mass) -> Batch {
    let recipe = kitchen.recipe(&kitchen.icing.recipe);
    let most = recipe.and_then(|recipe| recipe.batch_max).unwrap_or(kitchen.icing.mixer_max);
    Batch {
        parts: recipe.map(|recipe| recipe.scaled_to(total)).unwrap_or_default(),
        total,
        n: n_batches(total, most.min(kitchen.icing.mixer_max)),
        steps: recipe.map(|recipe| recipe.steps.clone()).unwrap_or_default(),
    }
}

/// Says what must be known of icing that is made: raw white first, and that it must keep until it is used.
pub(super) fn about(kitchen: &Kitchen, batch: &Batch) -> Vec<HeadsUp> {
    if batch.total <= Mass::ZERO {
        return Vec::new();
    }
    let of_batch = || batch.parts.iter().filter_map(|part| kitchen.ingredient(&part.ingredient));
    let mut heads_ups = Vec::new();
    if let Some(raw) = of_batch().find(|ingredient| ingredient.has_raw_egg()) {
        heads_ups.push(
            HeadsUp::new(
                Severity::Caution,
                Subject::Icing,
                format!(
                    "\"{}\" is taken for raw egg: raw egg in icing that is never cooked can make ill, and worst of all children, elderly people, pregnant women and people with weak immunity.",
                    raw.name
                ),
            )
            .hint(
                "Take dried or pasteurized whites, or heat the whites with sugar to 71 °C (160 °F) before beating (Iowa State University Extension and Outreach, Royal Icing Made Safe, 2022); say in kitchen.toml what you use, such as \"pasteurized egg white\".",
            ),
        );
    }
    if of_batch().any(|ingredient| ingredient.has_egg()) {
        heads_ups.push(
            HeadsUp::new(
                Severity::Note,
                Subject::Icing,
                "Dried and pasteurized whites are still egg, an allergen: say so to whoever eats the cookies.",
            )
            .hint("Dried white must be pasteurized; the pack says so."),
        );
    }
    if kitchen.icing.made_ahead > kitchen.icing.keeps {
        heads_ups.push(
            HeadsUp::new(
                Severity::Caution,
                Subject::Icing,
                "This kitchen makes icing longer ahead than it keeps.",
            )
            .hint("Make made_ahead_h in kitchen.toml shorter than keeps_days."),
        );
    }
    heads_ups
}

/// Says that icing in stock is past its days.
pub(super) fn too_old(kitchen: &Kitchen, stock: &IcingStock) -> HeadsUp {
    HeadsUp::new(
        Severity::Caution,
        Subject::Icing,
        format!(
            "The {:.0} g of icing made on {} are older than the {} that icing keeps here, and are not counted on.",
            stock.mass.to_g(),
            stock.made_on,
            days_of(kitchen.icing.keeps)
        ),
    )
    .hint("Throw it away and take it out of icing_stock in kitchen.toml; if yours keeps longer, enter keeps_days there.")
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::document::{read_kitchen, start_kitchen};

    #[test]
    fn the_published_recipe_scales_exactly_and_in_even_batches() {
        // Banner, How to Build a Gingerbread House (2008), formula by mass 907 : 28 : 177.
        let kitchen = start_kitchen();
        for (times, n) in [(0.5, 1), (1.0, 1), (2.0, 2), (3.0, 3), (10.0, 8)] {
            let batch = batch(&kitchen, Mass::g(1112.0 * times));
            assert_eq!(batch.n, n, "{times} times the recipe");
            for (part, published) in batch.parts.iter().zip([28.0, 177.0, 907.0]) {
                let found = part.mass.to_g();
                assert!((found - published * times).abs() < 1e-9, "{found} {}", part.ingredient);
            }
        }
        assert_eq!(batch(&kitchen, Mass::ZERO).n, 0);
    }

    #[test]
    fn spooned_densities_give_the_measures_the_recipe_was_published_in() {
        // 4 tbsp of dried white and 3/4 cup of water; 8 cups of sugar, between unsifted and sifted cups of USDA SR28
        // (NDB 19336: 120 g and 100 g).
        let kitchen = start_kitchen();
        let cups_of = |name: &str, g: f64| {
            let ingredient = kitchen.ingredient(name).expect("it is there");
            (Mass::g(g) / ingredient.bulk_density.expect("it is spooned")).to_cups()
        };
        assert!((cups_of("dried egg white", 28.0) * 16.0 - 4.0).abs() < 0.05);
        assert!((cups_of("water", 177.0) - 0.75).abs() < 0.005);
        let sugar = cups_of("powdered sugar", 907.0);
        assert!((907.0 / 120.0 - 0.05..8.0).contains(&sugar), "{sugar}");
    }

    fn told(kitchen: &Kitchen) -> Vec<(Severity, String)> {
        let heads_ups = about(kitchen, &batch(kitchen, Mass::g(600.0)));
        heads_ups.into_iter().map(|one| (one.severity, one.message)).collect()
    }

    #[test]
    fn raw_white_is_a_caution_and_dried_white_still_egg() {
        let dried = told(&start_kitchen());
        assert!(
            matches!(&dried[..], [(Severity::Note, words)] if words.contains("still egg")),
            "{dried:?}"
        );
        let with = |name: &str| {
            let text = format!(
                "[[ingredient]]\nname = \"{name}\"\nallergens = [\"egg\"]\npack_g = 100\n\
                 [[ingredient]]\nname = \"powdered sugar\"\npack_g = 1000\n\
                 [[recipe]]\nname = \"royal icing\"\npart = [{{ ingredient = \"{name}\", mass_g = 66 }}, {{ ingredient = \"powdered sugar\", mass_g = 420 }}]\n\
                 [dough]\nrecipe = \"royal icing\"\n"
            );
            told(&read_kitchen(&text).expect("a kitchen"))
        };
        for raw in ["egg white", "fresh whites", "unpasteurized egg white"] {
            let [(Severity::Caution, words), (Severity::Note, still)] = &with(raw)[..] else {
                panic!("{:?}", with(raw))
            };
            assert!(still.contains("still egg"));
            for who in ["children", "elderly", "pregnant", "weak immunity"] {
                assert!(words.contains(who), "{words}");
            }
        }
        for safe in ["pasteurized egg white", "Dried white", "meringue powder"] {
            assert!(matches!(&with(safe)[..], [(Severity::Note, _)]), "{:?}", with(safe));
        }
    }

    #[test]
    fn nothing_is_said_where_nothing_is_made_and_made_too_early_is_told() {
        let mut kitchen = start_kitchen();
        assert_eq!(about(&kitchen, &batch(&kitchen, Mass::ZERO)), []);
        kitchen.icing.made_ahead = Span::hours(100.0);
        assert_eq!(told(&kitchen).len(), 2);
    }
}
