//! Lists to work through: what to buy, what stands on the label, which bag is for which cookie.

use craft::{
    document::plan::{PackedDesignDocument, PlanDocument, ShoppingDocument},
    kitchen::Kitchen,
};
use quantity::{Length, Mass, Money};
use serde::Serialize;

use crate::words::{decimal, mass, n_of, size, spoken, titled};

#[derive(Serialize)]
pub(super) struct Shopping {
    lead: String,
    /// ISO 4217 code of the amounts.
    currency: String,
    buy: Vec<Line>,
    total: String,
    at_hand: Vec<Line>,
}

#[derive(Serialize)]
struct Line {
    name: String,
    need: String,
    packs: String,
    outlay: String,
}

#[derive(Serialize)]
pub(super) struct Label {
    lead: String,
    ingredients: String,
    contains: String,
    color_warning: String,
    net: String,
    cautions: Vec<String>,
    bags: Vec<Bag>,
}

#[derive(Serialize)]
struct Bag {
    design: String,
    bag: String,
    fits: bool,
    count: String,
    need: String,
}

pub(super) fn shopping(document: &PlanDocument, kitchen: &Kitchen) -> Shopping {
    let currency = kitchen.units.currency;
    let (buy, at_hand): (Vec<&ShoppingDocument>, Vec<_>) =
        document.shopping.iter().partition(|line| line.packs > 0);
    let total = buy.iter().map(|line| line.outlay_minor).fold(0, i64::saturating_add);
    let line = |line: &&ShoppingDocument| told(line, kitchen);
    Shopping {
        lead: match buy.len() {
            0 => "There is nothing to buy.".to_owned(),
            n => format!(
                "{} to buy for {} {}.",
                n_of(n, "thing", "things"),
                decimal(Money::minor(total), currency),
                currency.code()
            ),
        },
        currency: currency.code().to_owned(),
        buy: buy.iter().map(line).collect(),
        total: decimal(Money::minor(total), currency),
        at_hand: at_hand.iter().map(line).collect(),
    }
}

fn told(line: &ShoppingDocument, kitchen: &Kitchen) -> Line {
    let measures = kitchen.units.measures;
    let amount = |mass_g: Option<f64>, pieces: Option<u32>| match (mass_g, pieces) {
        (Some(g), _) => mass(Mass::g(g), measures),
        (None, Some(pieces)) => pieces.to_string(),
        (None, None) => String::new(),
    };
    let pack = amount(line.pack_g, line.pack_pieces);
    let packs = n_of(line.packs as usize, "pack", "packs");
    Line {
        name: line.name.clone(),
        need: amount(line.mass_g, line.pieces),
        packs: if pack.is_empty() { packs } else { format!("{packs} of {pack}") },
        outlay: decimal(Money::minor(line.outlay_minor), kitchen.units.currency),
    }
}

pub(super) fn label(document: &PlanDocument, kitchen: &Kitchen) -> Label {
    let measures = kitchen.units.measures;
    let label = &document.label;
    let texts: Vec<&str> = label.ingredients.iter().map(|one| one.text.as_str()).collect();
    let bag = |packed: &PackedDesignDocument| Bag {
        design: titled(&packed.design),
        bag: packed
            .cookie_bag
            .clone()
            .unwrap_or_else(|| "none of the kitchen's bags fits".to_owned()),
        fits: packed.cookie_bag.is_some(),
        count: packed.count.to_string(),
        need: size(Length::mm(packed.need_width_mm), Length::mm(packed.need_length_mm), measures),
    };
    let n_bags: u32 = document.packing.designs.iter().map(|packed| packed.count).sum();
    let avoid: Vec<String> = document.order.avoid.iter().map(|word| spoken(word)).collect();
    Label {
        lead: match (n_bags, avoid.is_empty()) {
            (0, _) => "Nothing is packed yet.".to_owned(),
            (n, true) => format!("{} and labels.", n_of(n as usize, "cookie bag", "cookie bags")),
            (n, false) => format!(
                "{} and labels. Keep out: {}.",
                n_of(n as usize, "cookie bag", "cookie bags"),
                avoid.join(", ")
            ),
        },
        ingredients: texts.join(", "),
        contains: label.contains_line.clone(),
        color_warning: label.color_warning.clone(),
        net: mass(Mass::g(label.net_g), measures),
        cautions: label.cautions.clone(),
        bags: document.packing.designs.iter().map(bag).collect(),
    }
}
