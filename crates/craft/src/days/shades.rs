//! Shades that several orders need within the days a closed bowl keeps: mixed once, they match and save mixing.

use jiff::ZonedDateTime;
use quantity::{Mass, Span};

use super::{Activity, DayEntry, OrderWork};
use crate::{
    heads_up::{HeadsUp, Severity, Subject},
    icing::{days_of, shade_of},
    kitchen::Kitchen,
};

/// A shade that an order mixes.
#[derive(Clone, Debug, PartialEq)]
pub struct MixedShade {
    /// Its color.
    pub color: drawing::Color,
    /// How much of it is mixed.
    pub mass: Mass,
    /// The sessions in which it is first and last piped, counted from 1.
    pub sessions: (u32, u32),
}

/// A shade that an order needs, and when.
struct Needed<'a> {
    first: &'a ZonedDateTime,
    last: &'a ZonedDateTime,
    /// When its icing is there.
    whipped: Option<&'a ZonedDateTime>,
    order: &'a OrderWork,
    shade: &'a MixedShade,
}

/// A shade and who needs how much of it.
struct Together<'a> {
    first: &'a ZonedDateTime,
    color: drawing::Color,
    parts: Vec<(&'a OrderWork, Mass)>,
}

/// Says which shades can be mixed once for several orders; white needs no mixing.
pub(super) fn mixed_once(
    kitchen: &Kitchen,
    orders: &[OrderWork],
    entries: &[DayEntry],
) -> Option<HeadsUp> {
    let needed = orders.iter().enumerate().flat_map(|(place, order)| {
        order.shades.iter().filter_map(move |shade| {
            let of = |activity| {
                entries.iter().find(|one| one.order == place && one.activity == activity)
            };
            let first = of(Activity::Decorate(shade.sessions.0))?;
            let last = of(Activity::Decorate(shade.sessions.1))?;
            // Without a whip of its own it is taken from stock.
            let whipped = of(Activity::MakeIcing).map(|one| &one.end);
            Some(Needed { first: &first.start, last: &last.end, whipped, order, shade })
        })
    });
    let mut needed: Vec<Needed<'_>> =
        needed.filter(|one| !shade_of(one.shade.color).is_white()).collect();
    needed.sort_by_key(|one| one.first.timestamp());
    let mut all: Vec<Together<'_>> = Vec::new();
    for one in needed {
        let is_it = |known: &&mut Together<'_>| {
            let waits = Span::seconds(one.last.duration_since(known.first).as_secs_f64());
            let is_whipped = one.whipped.is_none_or(|at| at.timestamp() <= known.first.timestamp());
            waits <= kitchen.icing.keeps
                && is_whipped
                && shade_of(known.color).is_same(shade_of(one.shade.color))
        };
        let part = (one.order, one.shade.mass);
        match all.iter_mut().find(is_it) {
            Some(known) => known.parts.push(part),
            None => {
                all.push(Together { first: one.first, color: one.shade.color, parts: vec![part] });
            }
        }
    }
    all.retain(|one| one.parts.iter().any(|(order, _)| !std::ptr::eq(*order, one.parts[0].0)));
    let n_saved: usize = all.iter().map(|one| one.parts.len() - 1).sum();
    let told: Vec<String> = all.iter().map(Together::words).collect();
    (!told.is_empty()).then(|| {
        let minutes = (kitchen.pace.tint * n_saved as f64).to_minutes();
        HeadsUp::new(
            Severity::Note,
            Subject::Days,
            format!(
                "What several orders need in one shade can be mixed in one bowl, which saves about {minutes:.0} minutes: {}.",
                told.join("; ")
            ),
        )
        .hint(format!(
            "Mix all of it by the recipe of the larger part, water each part for itself, share the cost by weight; a closed bowl keeps {}.",
            days_of(kitchen.icing.keeps)
        ))
    })
}

impl Together<'_> {
    /// "dark blue on Thursday 17 June, 92 g for "A" and 61 g for "B"".
    fn words(&self) -> String {
        let part = |(order, mass): &(&OrderWork, Mass)| {
            format!("{:.0} g for \"{}\"", mass.to_g(), order.title)
        };
        let parts: Vec<String> = self.parts.iter().map(part).collect();
        format!(
            "{} on {}, {}",
            shade_of(self.color).name(),
            self.first.strftime("%A %-d %B"),
            parts.join(" and ")
        )
    }
}
