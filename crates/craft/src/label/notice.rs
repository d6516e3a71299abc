//! What the maker is told about a label.

use std::collections::BTreeSet;

use crate::{
    heads_up::{HeadsUp, Severity, Subject},
    kitchen::{Gel, IcingStock, Kitchen},
    label::{Label, is_allergen, rules_out},
    order::Order,
};

/// Says what an order or an item must be made without and may contain all the same.
///
/// All items share dough and icing, so that what one must be made without none may contain.
pub(super) fn clashes(kitchen: &Kitchen, order: &Order, label: &Label) -> Vec<HeadsUp> {
    let whole = (&order.avoid, Subject::Label, "this order");
    let items = order
        .items
        .iter()
        .map(|item| (&item.without, Subject::Item(item.name.clone()), "this item"));
    let mut heads_ups = Vec::new();
    for (avoided, subject, who) in std::iter::once(whole).chain(items) {
        let mut tell = |severity, message, hint| {
            heads_ups.push(HeadsUp::new(severity, subject.clone(), message).hint(hint));
        };
        let is_avoided = |word: &str| avoided.iter().any(|avoided| rules_out(avoided, word));
        for allergen in label.allergens.iter().filter(|allergen| is_avoided(allergen)) {
            tell(
                Severity::Stop,
                format!("Dough or icing contains {allergen}, which {who} avoids."),
                "Choose recipes without it (recipe of dough and icing in kitchen.toml), or settle it with the customer.",
            );
        }
        for word in avoided.iter().filter(|word| !rules_out_any(word, &label.allergens)) {
            let mut named = label.ingredients.iter().filter(|one| rules_out(word, &one.text));
            if let Some(ingredient) = named.next() {
                tell(
                    Severity::Caution,
                    format!("\"{}\" sounds like {word}, which {who} avoids.", ingredient.text),
                    "Look at the pack, and enter its allergens in kitchen.toml.",
                );
            } else if !is_allergen(word) {
                tell(
                    Severity::Caution,
                    format!(
                        "Avoiding \"{word}\" could not be checked: labels have no such allergen."
                    ),
                    "Look through the ingredients by hand, or write the allergen as a label does, such as milk, egg, wheat, nuts.",
                );
            }
        }
        for (what, parts) in not_in_recipes(kitchen) {
            if let Some(part) = parts.into_iter().find(|part| is_avoided(part)) {
                tell(
                    Severity::Caution,
                    format!("{what} contains {part}, which {who} avoids."),
                    "Keep it out of this order.",
                );
            }
        }
    }
    heads_ups
}

/// What no recipe weighs and may reach the cookies all the same, each with allergens and other parts.
fn not_in_recipes(kitchen: &Kitchen) -> Vec<(String, Vec<&String>)> {
    let gels = kitchen.gels.iter().map(|gel| {
        let parts = gel.allergens.iter().chain(&gel.contains).collect();
        (format!("The gel \"{}\"", gel.name), parts)
    });
    let stock = kitchen.icing_stock.iter().map(|stock| {
        (format!("The icing made on {}", stock.made_on), stock.allergens.iter().collect())
    });
    gels.chain(stock).collect()
}

fn rules_out_any(word: &str, allergens: &[String]) -> bool {
    allergens.iter().any(|allergen| rules_out(word, allergen))
}

/// Says that icing which is already there is in no recipe of this order, and what it would bring to the label.
pub(super) fn stock_left_out(stock: &[IcingStock]) -> Option<HeadsUp> {
    let allergens: BTreeSet<&str> =
        stock.iter().flat_map(|stock| &stock.allergens).map(String::as_str).collect();
    let listed: Vec<&str> = allergens.into_iter().collect();
    let hint = match listed.as_slice() {
        [] => "Where it goes on these cookies, add what it is made of.".to_owned(),
        _ => format!(
            "Where it goes on these cookies, add what it is made of and its allergens: {}.",
            listed.join(", ")
        ),
    };
    let message = "Icing that was there before is not on the list of ingredients.";
    (!stock.is_empty()).then(|| HeadsUp::new(Severity::Caution, Subject::Label, message).hint(hint))
}

/// Says that drops of color are not weighed and what they would bring to the label.
pub(super) fn colors_left_out(gels: &[Gel]) -> Option<HeadsUp> {
    let named: Vec<String> = gels
        .iter()
        .filter(|gel| !gel.contains.is_empty() || !gel.allergens.is_empty())
        .map(|gel| {
            let parts: Vec<&str> =
                gel.contains.iter().chain(&gel.allergens).map(String::as_str).collect();
            format!("\"{}\": {}", gel.name, parts.join(", "))
        })
        .collect();
    let heads_up = HeadsUp::new(
        Severity::Note,
        Subject::Label,
        "Food colors are not on the list of ingredients yet.",
    );
    match named.len() {
        _ if gels.is_empty() => None,
        0 => {
            Some(heads_up.hint(
                "Add those you use by their lawful names; the bottles say what they contain.",
            ))
        }
        _ => Some(
            heads_up
                .hint(format!("Add by their lawful names those you use: {}.", named.join("; "))),
        ),
    }
}
