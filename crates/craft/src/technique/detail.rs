//! How detailed is a cookie, and what does a detail level stand for when there is no drawing?
//!
//! A level without a drawing is a small set of sections in the cookie's colors: a base, a share of its area in second-layer
//! floods, and lines whose length is a multiple of the cookie's edge.
//! The shares are start values (common practice, no source); the first drawn design replaces them.

use drawing::{Color, Region};
use quantity::{Area, Length};

use crate::{
    kitchen::Kitchen,
    order::{Detail, ItemPicture, Order},
    technique::{Onto, Overlap, Section, Sections, Technique},
};

/// What one level of detail puts on the base.
struct Dressing {
    /// Share of the base's area in second-layer floods.
    flood: f64,
    /// Length of lines as a multiple of the base's edge.
    line: f64,
    /// Length of lettering as a multiple of the base's edge.
    lettering: f64,
}

fn dressing(detail: Detail) -> Dressing {
    let (flood, line, lettering) = match detail {
        Detail::Plain => (0.0, 0.0, 0.0),
        Detail::Simple => (0.0, 1.0, 0.0),
        Detail::Dressed => (0.3, 1.0, 0.0),
        Detail::Detailed => (0.5, 2.0, 0.0),
        Detail::Elaborate => (0.7, 3.0, 1.0),
    };
    Dressing { flood, line, lettering }
}

/// Width of a line nobody has drawn yet (common practice, no source).
const LINE_WIDTH: Length = Length::mm(1.5);

/// Returns the sections that stand in for a drawing, from the cookie up, and what lies on what (places within the answer).
///
/// `colors` are the cookie's colors, the base first; floods and lines share out the others in turn.
pub(crate) fn stand_in_sections(
    id: &str,
    item: usize,
    base: &Region,
    detail: Detail,
    colors: &[Color],
) -> (Vec<Section>, Vec<Overlap>) {
    let Some((&base_color, others)) = colors.split_first() else {
        return (Vec::new(), Vec::new());
    };
    let others = if others.is_empty() { colors } else { others };
    let Dressing { flood, line, lettering } = dressing(detail);
    let (area, edge) = (base.area(), base.edge_length());
    let blank = Section {
        id: format!("{id}/base"),
        item,
        color: base_color,
        technique: Technique::Flood,
        onto: Onto::Cookie,
        layer: 1,
        visible: None,
        poured: None,
        visible_area: area * (1.0 - flood),
        poured_area: area,
        edge,
        line: Length::ZERO,
        n_parts: 1,
        smallest_width: base.smallest_width(),
        reason: "the base of a cookie without a drawing",
    };
    let top = Section {
        layer: 2,
        onto: Onto::Set,
        reason: "what its detail level usually carries",
        ..blank.clone()
    };

    let mut sections = vec![blank];
    if flood > 0.0 {
        // One patch a color: its edge follows from its share as if the base were scaled down.
        let n_colors = others.len() as f64;
        for (i, &color) in others.iter().enumerate() {
            let patch = area * (flood / n_colors);
            sections.push(Section {
                id: format!("{id}/flood-{}", i + 1),
                color,
                visible_area: patch,
                poured_area: patch,
                edge: edge * (patch / area).sqrt(),
                ..top.clone()
            });
        }
    }
    let on_floods = if flood > 0.0 { 3 } else { 2 };
    for (technique, name, times, color) in [
        (Technique::Line, "lines", line, others.first()),
        (Technique::Lettering, "lettering", lettering, others.last()),
    ] {
        let (Some(&color), true) = (color, times > 0.0) else { continue };
        let length = edge * times;
        sections.push(Section {
            id: format!("{id}/{name}"),
            color,
            technique,
            layer: on_floods,
            visible_area: length * LINE_WIDTH,
            poured_area: length * LINE_WIDTH,
            edge: Length::ZERO,
            line: length,
            smallest_width: LINE_WIDTH,
            ..top.clone()
        });
    }
    let overlaps = (1..sections.len())
        .flat_map(|top| (0..top).map(move |under| (top, under)))
        .filter(|&(top, under)| sections[under].layer < sections[top].layer)
        .map(|(top, under)| Overlap { top, under, area: Area::ZERO })
        .collect();
    (sections, overlaps)
}

/// Returns the sections as they might be too: every cookie without a drawing so many levels richer, its colors but the base's
/// turned on by so many places; what has a drawing stays, and what lies on what is left out.
pub(crate) fn with_other_stand_ins(
    kitchen: &Kitchen,
    order: &Order,
    chapter: &Sections,
    richer: isize,
    turned: usize,
) -> Sections {
    let mut other = Sections::default();
    for (place, (design, item)) in chapter.designs.iter().zip(&order.items).enumerate() {
        let first = other.sections.len();
        match &item.picture {
            ItemPicture::Undrawn { detail, colors, .. } => {
                let mut colors = colors.clone();
                if let Some((_, others)) = colors.split_first_mut()
                    && !others.is_empty()
                {
                    others.rotate_left(turned % others.len());
                }
                let base = design.outline.inset(kitchen.icing.edge_inset);
                let detail = detail.richer_by(richer);
                other
                    .sections
                    .extend(stand_in_sections(&design.id, place, &base, detail, &colors).0);
            }
            ItemPicture::Drawn { .. } => {
                other.sections.extend_from_slice(&chapter.sections[design.sections.clone()]);
            }
        }
        let mut design = design.clone();
        design.sections = first..other.sections.len();
        other.designs.push(design);
    }
    other
}

/// Says how detailed a drawn cookie is, by what it carries compared with what the levels stand for.
///
/// Second-layer floods count by their share of the base, lines and lettering by their length over the base's edge;
/// more than three colors beside the base lift a cookie by one level.
pub fn detail_of(sections: &[Section]) -> Detail {
    let Some(base) = sections.first() else { return Detail::Plain };
    let upper = &sections[1..];
    if upper.is_empty() {
        return Detail::Plain;
    }
    let flooded: Area = upper
        .iter()
        .filter(|section| section.technique == Technique::Flood)
        .map(|s| s.visible_area)
        .sum();
    let lines: Length = upper.iter().map(|section| section.line).sum();
    let flood = flooded / base.poured_area.max(Area::mm2(1.0));
    let line = lines / base.edge.max(Length::mm(1.0));
    let mut colors: Vec<_> = upper.iter().map(|section| section.color).collect();
    colors.sort();
    colors.dedup();

    let level = [Detail::Simple, Detail::Dressed, Detail::Detailed, Detail::Elaborate];
    let of = |value: f64, limits: [f64; 3]| limits.iter().filter(|limit| value > **limit).count();
    // Limits lie halfway between what neighboring levels stand for.
    let by_flood = of(flood, [0.15, 0.4, 0.6]);
    let by_line = of(line, [1.5, 2.5, 4.0]);
    let by_color = usize::from(colors.len() > 3);
    level[by_flood.max(by_line).saturating_add(by_color).min(level.len() - 1)]
}
