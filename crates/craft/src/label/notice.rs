//! What the maker is told about a label.

use crate::{
    heads_up::{HeadsUp, Severity, Subject},
    kitchen::Gel,
    label::rules_out,
    order::Order,
};

/// Stops an order or an item that must be made without what dough or icing contain.
///
/// All items share dough and icing, so that what one must be made without none may contain.
pub(super) fn clashes(order: &Order, allergens: &[String]) -> Vec<HeadsUp> {
    let of = |avoided: &[String], subject: &Subject, who: &str| -> Vec<HeadsUp> {
        allergens
            .iter()
            .filter(|allergen| avoided.iter().any(|avoided| rules_out(avoided, allergen)))
            .map(|allergen| {
                let message = format!("Dough or icing contains {allergen}, which {who} avoids.");
                HeadsUp::new(Severity::Stop, subject.clone(), message).hint(
                    "Choose recipes without it (recipe of dough and icing in kitchen.toml), or settle it with the customer.",
                )
            })
            .collect()
    };
    let mut heads_ups = of(&order.avoid, &Subject::Label, "this order");
    for item in &order.items {
        heads_ups.extend(of(&item.without, &Subject::Item(item.name.clone()), "this item"));
    }
    heads_ups
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
