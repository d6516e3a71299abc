//! Which sections of a design lie on each other, and which run close beside each other.
//!
//! Lying on each other is measured where both are poured; running close, along the edges of sections that do not.

use drawing::relation::{overlap, shared_edge};
use quantity::Area;

use crate::{
    kitchen::Drying,
    technique::{Neighbor, Overlap, Section},
};

/// Regions that share less are beside each other, not on each other.
const ON_TOP: Area = Area::mm2(0.5);

/// Returns which of one design's sections lie on which; `first` is the place of the first among all sections.
pub(crate) fn overlaps(sections: &[Section], first: usize) -> Vec<Overlap> {
    let mut found = Vec::new();
    for top in 1..sections.len() {
        for under in 0..top {
            let area = shared_area(&sections[top], &sections[under]);
            if sections[under].layer < sections[top].layer && area > ON_TOP {
                found.push(Overlap { top: first + top, under: first + under, area });
            }
        }
    }
    found
}

/// Returns which of one design's wet sections run close beside each other; `first` as in [`overlaps`].
pub(crate) fn neighbors(drying: &Drying, sections: &[Section], first: usize) -> Vec<Neighbor> {
    let mut found = Vec::new();
    for b in 1..sections.len() {
        for a in 0..b {
            let (one, other) = (&sections[a], &sections[b]);
            let wet = one.technique.is_piped() && other.technique.is_piped();
            let stacked = one.layer != other.layer && shared_area(one, other) > ON_TOP;
            let (Some(left), Some(right), true, false) = (&one.poured, &other.poured, wet, stacked)
            else {
                continue;
            };
            let shared = shared_edge(left, right, drying.apart);
            if shared > drying.apart_least {
                found.push(Neighbor { a: first + a, b: first + b, shared });
            }
        }
    }
    found
}

fn shared_area(a: &Section, b: &Section) -> Area {
    match (&a.poured, &b.poured) {
        (Some(a), Some(b)) => overlap(a, b),
        _ => Area::ZERO,
    }
}
