//! What the maker is told about a label.

use quantity::Mass;

use crate::{
    heads_up::{HeadsUp, Severity, Subject},
    icing::Bowl,
    kitchen::{Gel, IcingStock, Kitchen, Recipe},
    label::{Label, is_allergen, rules_out},
    order::Order,
};

/// Says what an order or an item must be made without and may contain all the same.
///
/// All items share dough and icing, so that what one must be made without none may contain.
pub(super) fn clashes(unused: &Unused<'_>, order: &Order, label: &Label) -> Vec<HeadsUp> {
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
                "Choose recipes, gels and icing without it (recipe of dough and icing, gel and icing_stock in kitchen.toml), or settle it with the customer.",
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
        for (what, parts) in unused.parts() {
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

/// What is not in this order, and may reach its cookies by mistake.
pub(super) struct Unused<'a> {
    gels: Vec<&'a Gel>,
    stock: Vec<&'a IcingStock>,
}

impl<'a> Unused<'a> {
    pub(super) fn new(kitchen: &'a Kitchen, gels: &[(&Gel, Mass)], stock: &[&IcingStock]) -> Self {
        let is_used = |gel: &Gel| gels.iter().any(|(used, _)| used.name == gel.name);
        Self {
            gels: kitchen.gels.iter().filter(|gel| !is_used(gel)).collect(),
            stock: kitchen.icing_stock.iter().filter(|one| !stock.contains(one)).collect(),
        }
    }

    /// Each with its allergens and other parts.
    fn parts(&self) -> Vec<(String, Vec<&'a String>)> {
        let gels = self.gels.iter().map(|gel| {
            let parts = gel.allergens.iter().chain(&gel.contains).collect();
            (format!("The gel \"{}\"", gel.name), parts)
        });
        let stock = self.stock.iter().map(|stock| {
            (format!("The icing made on {}", stock.made_on), stock.allergens.iter().collect())
        });
        gels.chain(stock).collect()
    }
}

fn rules_out_any(word: &str, allergens: &[String]) -> bool {
    allergens.iter().any(|allergen| rules_out(word, allergen))
}

/// Says what icing from stock is taken to be, and that its own allergens are on the label.
pub(super) fn about_stock(
    kitchen: &Kitchen,
    recipe: Option<&Recipe>,
    stock: &IcingStock,
) -> HeadsUp {
    let of_recipe = || {
        let parts = recipe.map(|recipe| recipe.parts.as_slice()).unwrap_or_default();
        let known = parts.iter().filter_map(|part| kitchen.ingredient(&part.ingredient));
        known.flat_map(|ingredient| &ingredient.allergens)
    };
    let is_new = |allergen: &&String| !of_recipe().any(|known| rules_out(known, allergen));
    let new: Vec<&str> = stock.allergens.iter().filter(is_new).map(String::as_str).collect();
    if new.is_empty() {
        let message = format!(
            "The icing made on {} stands on the label as if it were made by the recipe \"{}\".",
            stock.made_on, kitchen.icing.recipe
        );
        return HeadsUp::new(Severity::Note, Subject::Label, message)
            .hint("Where it is made or tinted otherwise, add what it is made of.");
    }
    let message = format!(
        "The icing made on {} brings {} to the label, which is not in the recipe \"{}\".",
        stock.made_on,
        new.join(", "),
        kitchen.icing.recipe
    );
    HeadsUp::new(Severity::Caution, Subject::Label, message)
        .hint("Add what it is made of to the list of ingredients, or take it out of icing_stock in kitchen.toml.")
}

/// Says which colors no gel of the kitchen explains, so that the list of ingredients lacks them.
pub(super) fn colors_left_out(bowls: &[&Bowl]) -> Option<HeadsUp> {
    let names: Vec<String> = bowls.iter().map(|bowl| bowl.id.replace('-', " ")).collect();
    let message = format!(
        "No gel of this kitchen gives {}: what colors it is not on the list of ingredients.",
        names.join(", ")
    );
    (!names.is_empty()).then(|| {
        HeadsUp::new(Severity::Caution, Subject::Label, message).hint(
            "Add by their lawful names the colors you use; with the gel in kitchen.toml, and what its bottle says it contains, they come by themselves.",
        )
    })
}
