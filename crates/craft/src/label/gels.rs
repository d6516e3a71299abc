//! What the gels of the bowls bring to the list of ingredients.
//!
//! The label of a gel names its parts, the most first, and not how much of each.
//! Its colors are taken to share the dye in it and its other parts the rest, each part a half, a third and so on of the
//! first of its kind by its place (our own estimate); this only decides the order in which parts stand.

use quantity::Mass;

use super::{Declared, color};
use crate::{
    icing::{Bowl, IcingPlan, shade_of},
    kitchen::{Gel, Jurisdiction, Kitchen},
    tinting::Tint,
};

/// Returns the gels of the bowls with the mass of each in all of them, in the kitchen's order.
pub(super) fn used<'a>(kitchen: &'a Kitchen, tints: &[Option<Tint>]) -> Vec<(&'a Gel, Mass)> {
    let doses = || tints.iter().flatten().flat_map(|tint| &tint.doses);
    let mass_of = |gel: &Gel| doses().filter(|dose| dose.gel == gel.name).map(|one| one.mass).sum();
    let masses = kitchen.gels.iter().map(|gel| (gel, mass_of(gel)));
    masses.filter(|(_, mass)| *mass > Mass::ZERO).collect()
}

/// Returns the bowls that are made in a color no gel of this kitchen gives.
pub(super) fn unexplained<'a>(icing: &'a IcingPlan, tints: &[Option<Tint>]) -> Vec<&'a Bowl> {
    let bowls = icing.bowls.iter().zip(tints);
    bowls
        .filter(|(bowl, tint)| {
            let is_made = bowl.weigh_out > bowl.from_stock;
            tint.is_none() && is_made && !shade_of(bowl.color).is_white()
        })
        .map(|(bowl, _)| bowl)
        .collect()
}

/// Declares gels: as one food color with its parts in parentheses, or in Canada every part by itself.
pub(super) fn declared(gels: &[(&Gel, Mass)], jurisdiction: Jurisdiction) -> Vec<Declared> {
    let mut parts: Vec<(&str, Mass)> = Vec::new();
    for (part, mass) in gels.iter().flat_map(|(gel, mass)| parts_of(gel, *mass)) {
        match parts.iter_mut().find(|(known, _)| *known == part) {
            Some((_, known)) => *known += mass,
            None => parts.push((part, mass)),
        }
    }
    parts.sort_by(|a, b| b.1.to_g().total_cmp(&a.1.to_g()));
    let allergens = || gels.iter().flat_map(|(gel, _)| gel.allergens.iter().cloned()).collect();
    let name = match jurisdiction {
        _ if gels.is_empty() => return Vec::new(),
        Jurisdiction::Canada => {
            let alone = parts.into_iter().enumerate().map(|(place, (part, mass))| Declared {
                name: color::lawful(part, jurisdiction),
                contains: Vec::new(),
                allergens: if place == 0 { allergens() } else { Default::default() },
                mass,
            });
            return alone.collect();
        }
        Jurisdiction::UnitedStates => "food color",
        Jurisdiction::EuropeanUnion | Jurisdiction::UnitedKingdom => "food colour", // tidy: allow-spelling
    };
    vec![Declared {
        name: name.to_owned(),
        contains: parts.into_iter().map(|(part, _)| part.to_owned()).collect(),
        allergens: allergens(),
        mass: gels.iter().map(|(_, mass)| *mass).sum(),
    }]
}

/// Returns the parts of so much of a gel with the mass each is taken to have.
fn parts_of(gel: &Gel, mass: Mass) -> Vec<(&str, Mass)> {
    let dye = mass * (gel.dye_mg_per_g / 1000.0);
    let of_kind = |is_color: bool| {
        gel.contains
            .iter()
            .map(String::as_str)
            .filter(move |part| color::is_color(part) == is_color)
    };
    let shared = |is_color: bool, all: Mass| {
        let n = of_kind(is_color).count();
        let whole: f64 = (1..=n).map(|place| 1.0 / place as f64).sum();
        of_kind(is_color)
            .zip(1..)
            .map(move |(part, place)| (part, all * (1.0 / (f64::from(place) * whole))))
    };
    shared(false, mass - dye).chain(shared(true, dye)).collect()
}
