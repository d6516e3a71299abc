//! From the shapes of a drawing to sections, from the cookie up.
//!
//! 0. The drawings of an order become as few shapes and colors as it wants.
//! 1. The base: the order's own color poured under everything; else the topmost region that covers at least 90 % of the
//!    cookie inside its edge inset; else the kitchen's base color.
//! 2. Every other shape one still sees gets a technique by what drew it and how wide it is, unless the maker chose one.
//! 3. A flood that lies wholly on another, as an island, is a top layer on it; floods that only overlap are poured side by side,
//!    the upper one whole; a flood that is mostly hidden is poured only where one sees it.
//! 4. A shape's layer is one above the highest it lies on.
//! 5. Shapes of one color, technique and layer are put down in one go: one section, named after its lowest shape.

use drawing::{Color, Drawing, Origin, Region, Shape, relation::overlap};
use quantity::{Area, Length};

use crate::{
    heads_up::{HeadsUp, Severity, Subject},
    kitchen::Kitchen,
    order::{BaseChoice, Brief, ItemPicture, Order, Picture, Pin, SectionChoice},
    technique::{
        Design, Onto, Section, Sections, Technique,
        doable::about_doability,
        notice::{about_drawing, about_fineness},
        palette::{bring_down, merged},
        relate::{neighbors, overlaps},
        stand_in_sections,
    },
};

/// A region that covers this share of the cookie inside its edge inset is its base.
const BASE_SHARE: f64 = 0.9;
/// Why a base is poured that the art does not have.
const POURED_BASE: &str = "one base under everything";
/// Narrower than this, a shape is piped as a line (common practice, no source).
const LINE_WIDTH_MAX: Length = Length::mm(2.5);
/// Parts no larger than this in both directions are pressed out as dots (common practice, no source).
const DOT_MAX: Length = Length::mm(5.0);
/// Less than this of a shape is not worth a section: the corner of a pixel, not of a cookie.
const SPECK: Area = Area::mm2(0.5);
/// A flood that other floods hide beyond this share is poured only where one sees it.
const HIDDEN_SHARE: f64 = 0.6;
/// A flood is an island on another if no more than this share of it reaches beyond the other less this rim
/// (common practice, no source).
const ISLAND_INSET: Length = Length::mm(0.5);
const ISLAND_SHARE: f64 = 0.02;
/// A shape lies on another if it covers more than this of it and more than this share of itself.
const REST_AREA: Area = Area::mm2(1.0);
const REST_SHARE: f64 = 0.03;

/// Plans the sections of every item, with neighbors and overlaps.
pub fn plan_sections(kitchen: &Kitchen, brief: &Brief) -> (Sections, Vec<HeadsUp>) {
    let mut chapter = Sections::default();
    let (drawings, mut heads_ups) = with_few_colors(brief);
    let pictures = brief.pictures.iter().zip(&drawings);
    for (place, (item, (picture, drawing))) in brief.order.items.iter().zip(pictures).enumerate() {
        let first = chapter.sections.len();
        let (outline, drawn) = match (picture, drawing, &item.picture) {
            (Picture::Drawn { choices, .. }, Some(drawing), _) => {
                let sections = propose(
                    kitchen,
                    brief.order.base,
                    place,
                    &item.name,
                    drawing,
                    choices,
                    &mut heads_ups,
                );
                chapter.overlaps.extend(overlaps(&sections, first));
                chapter.neighbors.extend(neighbors(&kitchen.drying, &sections, first));
                heads_ups.extend(about_drawing(&item.name, &drawing.facts));
                heads_ups.extend(about_fineness(kitchen, &sections));
                heads_ups.extend(about_doability(kitchen, &item.name, drawing, &sections));
                chapter.sections.extend(sections);
                (drawing.outline.clone(), true)
            }
            (_, _, ItemPicture::Undrawn { cutter, detail, colors }) => {
                let outline = cutter.outline();
                let base = outline.inset(kitchen.icing.edge_inset);
                let (sections, stand_in_overlaps) =
                    stand_in_sections(&item.name, place, &base, *detail, colors);
                chapter.overlaps.extend(stand_in_overlaps.into_iter().map(|mut overlap| {
                    overlap.top += first;
                    overlap.under += first;
                    overlap
                }));
                chapter.sections.extend(sections);
                heads_ups.push(
                    HeadsUp::new(
                        Severity::Note,
                        Subject::Item(item.name.clone()),
                        "There is no drawing yet: grams and minutes are those of a usual cookie of this detail.",
                    )
                    .hint("A drawing makes them exact."),
                );
                (outline, false)
            }
            (_, _, ItemPicture::Drawn { .. }) => (Region::default(), false),
        };
        let bounds = outline.bounds();
        chapter.designs.push(Design {
            id: item.name.clone(),
            count: item.count,
            extras: item.baked().saturating_sub(item.count),
            width: bounds.map_or(Length::ZERO, |bounds| bounds.width()),
            height: bounds.map_or(Length::ZERO, |bounds| bounds.height()),
            outline,
            drawn,
            sections: first..chapter.sections.len(),
        });
    }
    heads_ups.extend(as_the_maker_wants(&brief.order, &mut chapter));
    (chapter, heads_ups)
}

/// Applies what the maker wants worked wet or in an order of her own; what cannot be is told.
pub(crate) fn as_the_maker_wants(order: &Order, chapter: &mut Sections) -> Vec<HeadsUp> {
    let mut heads_ups = Vec::new();
    chapter.may_split = order.bench.split;
    let place_of =
        |chapter: &Sections, id: &str| chapter.sections.iter().position(|section| section.id == id);
    let mut cannot = |id: &str, why: String| {
        let subject = Subject::Section(id.to_owned());
        heads_ups.push(HeadsUp::new(Severity::Caution, subject, why).hint(
            "Look at \"What if\" on the order's page, or at wet and [[pin]] in its text, and take it out or correct it.",
        ));
    };
    for id in &order.bench.wet {
        match place_of(chapter, id) {
            None => {
                cannot(id, format!("\"{id}\" is to be worked wet, and there is no such section."))
            }
            Some(place) if !lies_on_icing(chapter, place) => {
                cannot(id, format!("\"{id}\" cannot be worked wet: it lies on no icing."));
            }
            Some(place) => chapter.sections[place].onto = Onto::Wet,
        }
    }
    for Pin { first, then } in &order.bench.pins {
        match (place_of(chapter, first), place_of(chapter, then)) {
            (Some(first), Some(then)) if first != then => chapter.pins.push((first, then)),
            _ => cannot(
                first,
                format!(
                    "\"{first}\" is to be piped before \"{then}\", and these are not two sections of the order."
                ),
            ),
        }
    }
    heads_ups
}

/// Whether a section is icing on icing.
pub(crate) fn lies_on_icing(chapter: &Sections, place: usize) -> bool {
    let takes_icing = |place: usize| {
        matches!(
            chapter.sections[place].technique,
            Technique::Flood | Technique::Line | Technique::Dot | Technique::Lettering
        )
    };
    takes_icing(place)
        && chapter.overlaps.iter().any(|overlap| {
            overlap.top == place && chapter.sections[overlap.under].technique == Technique::Flood
        })
}

/// Returns the drawing of each item in as few shapes and colors as the order wants, and what that changes.
fn with_few_colors(brief: &Brief) -> (Vec<Option<Drawing>>, Vec<HeadsUp>) {
    let drawing_of = |picture: &Picture| match picture {
        Picture::Drawn { drawing, .. } => Some(drawing.clone()),
        Picture::Undrawn => None,
    };
    let mut drawings: Vec<Option<Drawing>> = brief.pictures.iter().map(drawing_of).collect();
    let mut heads_ups = Vec::new();
    if let Some(most) = brief.order.most_colors {
        let weighed = drawings.iter_mut().zip(&brief.order.items);
        let mut weighed: Vec<_> =
            weighed.filter_map(|(drawing, item)| Some((drawing.as_mut()?, item.count))).collect();
        heads_ups = bring_down(&mut weighed, most);
    }
    for (drawing, picture) in drawings.iter_mut().zip(&brief.pictures) {
        if let (Some(drawing), Picture::Drawn { choices, .. }) = (drawing, picture) {
            drawing.shapes = merged(&drawing.shapes, choices);
        }
    }
    (drawings, heads_ups)
}

/// How sections are made of a drawing that belongs to no order.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum ArtReading {
    /// As an order would: a base under everything, shapes of one color put down in one go.
    Sections {
        /// How many colors it may have, if not as many as it likes.
        most_colors: Option<usize>,
    },
    /// Every shape by itself with what is seen of it and no base, so that areas by color can be checked.
    Exact,
}

/// Plans the sections of one drawing that belongs to no order, with neighbors, overlaps and what to know about it.
pub fn art_sections(
    kitchen: &Kitchen,
    name: &str,
    drawing: &Drawing,
    reading: ArtReading,
) -> (Sections, Vec<HeadsUp>) {
    let mut heads_ups = Vec::new();
    let mut drawing = drawing.clone();
    let sections = match reading {
        ArtReading::Sections { most_colors } => {
            if let Some(most) = most_colors {
                heads_ups.extend(bring_down(&mut [(&mut drawing, 1)], most));
            }
            drawing.shapes = merged(&drawing.shapes, &[]);
            propose(kitchen, BaseChoice::FromArt, 0, name, &drawing, &[], &mut heads_ups)
        }
        ArtReading::Exact => exact(name, &drawing),
    };
    heads_ups.extend(about_drawing(name, &drawing.facts));
    heads_ups.extend(about_fineness(kitchen, &sections));
    heads_ups.extend(about_doability(kitchen, name, &drawing, &sections));
    let design = Design {
        id: name.to_owned(),
        count: 1,
        extras: 0,
        outline: drawing.outline,
        width: drawing.width,
        height: drawing.height,
        drawn: true,
        sections: 0..sections.len(),
    };
    let chapter = Sections {
        designs: vec![design],
        neighbors: neighbors(&kitchen.drying, &sections, 0),
        overlaps: overlaps(&sections, 0),
        sections,
        pins: Vec::new(),
        may_split: false,
    };
    (chapter, heads_ups)
}

/// Makes a section of every shape one still sees, in the painter's order.
fn exact(name: &str, drawing: &Drawing) -> Vec<Section> {
    let seen = drawing.shapes.iter().filter(|shape| !shape.visible.is_empty());
    let mut drafts: Vec<Draft<'_>> = seen
        .map(|shape| {
            let draft = draft(shape, &[]);
            Draft { poured: draft.visible.clone(), ..draft }
        })
        .collect();
    stack(&mut drafts);
    drafts.iter().map(|draft| measure(name, 0, std::slice::from_ref(draft))).collect()
}

/// A shape on its way to becoming a section.
struct Draft<'a> {
    /// Its id in the drawing.
    id: &'a str,
    color: Color,
    technique: Technique,
    onto: Option<Onto>,
    reason: &'static str,
    visible: Region,
    poured: Region,
    line: Length,
    /// Narrowest place of what is piped.
    narrowest: Length,
    layer: u32,
}

fn propose(
    kitchen: &Kitchen,
    base_choice: BaseChoice,
    place: usize,
    name: &str,
    drawing: &Drawing,
    choices: &[SectionChoice],
    heads_ups: &mut Vec<HeadsUp>,
) -> Vec<Section> {
    let inside = drawing.outline.inset(kitchen.icing.edge_inset);
    let (base, upper) = find_base(kitchen, base_choice, &inside, &drawing.shapes);
    if base_choice == BaseChoice::FromArt
        && base.as_ref().is_some_and(|base| base.reason == POURED_BASE)
    {
        heads_ups.push(
            HeadsUp::new(
                Severity::Note,
                Subject::Item(name.to_owned()),
                format!(
                    "No region of the drawing covers the cookie, so a base of the kitchen's color {} is poured under everything.",
                    kitchen.icing.base_color.to_hex()
                ),
            )
            .hint("Name another color, or \"none\", as base in the order."),
        );
    }
    let mut drafts: Vec<Draft<'_>> = base.into_iter().collect();
    let n_base = drafts.len();
    drafts.extend(
        upper
            .iter()
            .filter(|shape| shape.visible.area() >= SPECK)
            .map(|shape| draft(shape, choices)),
    );
    pour_beside(&mut drafts, n_base, &upper);
    stack(&mut drafts);

    for choice in choices {
        if !drafts.iter().any(|draft| draft.id == choice.id) {
            heads_ups.push(
                HeadsUp::new(
                    Severity::Caution,
                    Subject::Item(name.to_owned()),
                    format!("The choices for this design name a section \"{}\" that the drawing does not have.", choice.id),
                )
                .hint("Check the id against the drawing; the choice is left aside."),
            );
        }
    }
    gather(name, place, drafts)
}

/// Finds or makes the base; returns it and the shapes that are not part of it.
fn find_base<'a>(
    kitchen: &Kitchen,
    choice: BaseChoice,
    inside: &Region,
    shapes: &'a [Shape],
) -> (Option<Draft<'a>>, Vec<&'a Shape>) {
    let covering = shapes.iter().rposition(|shape| {
        shape.origin == Origin::Fill
            && overlap(&shape.painted, inside) >= inside.area() * BASE_SHARE
    });
    let poured = |color: Color, reason: &'static str| {
        let painted: Vec<_> = shapes.iter().map(|shape| &shape.painted).collect();
        let visible = inside.subtract(&Region::union(&painted));
        // No two sections of a design have one name.
        let is_free = |id: &&str| shapes.iter().all(|shape| shape.id != *id);
        let id = ["base", "poured-base", "poured-under-all"].into_iter().find(is_free);
        base_draft(id.unwrap_or("base"), color, visible, inside.clone(), reason)
    };
    match (choice, covering) {
        (BaseChoice::None, _) => (None, shapes.iter().collect()),
        (BaseChoice::FromArt, Some(at)) => {
            let shape = &shapes[at];
            let rest = shapes
                .iter()
                .enumerate()
                .filter(|(i, _)| *i != at)
                .map(|(_, shape)| shape)
                .collect();
            let reason = "the art's own bottom region covers the cookie";
            (
                Some(base_draft(
                    &shape.id,
                    shape.color,
                    shape.visible.clone(),
                    shape.painted.intersect(inside),
                    reason,
                )),
                rest,
            )
        }
        (BaseChoice::FromArt, None) => {
            (Some(poured(kitchen.icing.base_color, POURED_BASE)), shapes.iter().collect())
        }
        (BaseChoice::Color(color), Some(at)) if shapes[at].color == color => {
            find_base(kitchen, BaseChoice::FromArt, inside, shapes)
        }
        (BaseChoice::Color(color), _) => {
            (Some(poured(color, "the base this order asks for")), shapes.iter().collect())
        }
    }
}

fn base_draft<'a>(
    id: &'a str,
    color: Color,
    visible: Region,
    poured: Region,
    reason: &'static str,
) -> Draft<'a> {
    Draft {
        id,
        color,
        technique: Technique::Flood,
        onto: None,
        reason,
        narrowest: poured.smallest_width(),
        visible,
        poured,
        line: Length::ZERO,
        layer: 1,
    }
}

/// Proposes a technique for one shape, or takes the maker's.
fn draft<'a>(shape: &'a Shape, choices: &[SectionChoice]) -> Draft<'a> {
    let (mut technique, mut reason) = match shape.origin {
        Origin::Text => (Technique::Lettering, "it is text"),
        Origin::Stroke { width } if width < LINE_WIDTH_MAX => {
            (Technique::Line, "it is a thin line")
        }
        // What is poured decides, however much of it later layers cut up.
        _ if is_dots(&shape.painted) => (Technique::Dot, "it is no larger than a dot"),
        _ if shape.painted.typical_width() < LINE_WIDTH_MAX => {
            (Technique::Line, "it is too narrow to flood")
        }
        _ => (Technique::Flood, "it is wide enough to flood"),
    };
    let choice = choices.iter().find(|choice| choice.id == shape.id);
    if let Some(chosen) = choice.and_then(|choice| choice.technique) {
        (technique, reason) = (chosen, "the maker chose it");
    }
    let line = match (technique, shape.origin) {
        (Technique::Line | Technique::Marker | Technique::Paint, Origin::Stroke { width }) => {
            shape.visible.area() / width
        }
        // Going around a thin band counts each of its sides once.
        (Technique::Line | Technique::Lettering | Technique::Marker | Technique::Paint, _) => {
            shape.visible.edge_length() / 2.0
        }
        _ => Length::ZERO,
    };
    Draft {
        id: &shape.id,
        color: shape.color,
        technique,
        onto: choice.and_then(|choice| choice.onto),
        reason,
        visible: shape.visible.clone(),
        poured: if technique == Technique::Flood {
            shape.painted.clone()
        } else {
            shape.visible.clone()
        },
        line,
        narrowest: match shape.origin {
            Origin::Stroke { width } => width,
            _ => shape.painted.smallest_width(),
        },
        layer: 1,
    }
}

/// Tells whether every part fits a dot and fills its own box as a dot would (a circle fills 79 %).
fn is_dots(region: &Region) -> bool {
    !region.is_empty()
        && region.parts().iter().all(|part| {
            part.bounds().is_some_and(|bounds| {
                let (width, height) = (bounds.max_x - bounds.min_x, bounds.max_y - bounds.min_y);
                width.max(height) <= DOT_MAX.to_mm()
                    && part.area() >= Area::mm2(width * height * 0.6)
            })
        })
}

/// Takes away from each flood the floods above that do not lie wholly on it: those are poured beside it.
///
/// A flood that is mostly hidden loses all that hides it.
fn pour_beside(drafts: &mut [Draft<'_>], n_base: usize, upper: &[&Shape]) {
    let floods: Vec<_> = upper.iter().filter(|shape| shape.origin == Origin::Fill).collect();
    for draft in drafts.iter_mut().skip(n_base).filter(|draft| draft.technique == Technique::Flood)
    {
        let Some(at) = floods.iter().position(|shape| shape.id == draft.id) else { continue };
        let above: Vec<_> = floods[at + 1..]
            .iter()
            .map(|shape| &shape.painted)
            .filter(|painted| overlap(painted, &draft.poured) > Area::ZERO)
            .collect();
        let shows = draft.poured.subtract_all(&above);
        if shows.area() < draft.poured.area() * (1.0 - HIDDEN_SHARE) {
            draft.poured = shows;
            continue;
        }
        let inside = draft.poured.inset(ISLAND_INSET);
        let beside: Vec<_> = above
            .into_iter()
            .filter(|painted| painted.subtract(&inside).area() > painted.area() * ISLAND_SHARE)
            .collect();
        draft.poured = draft.poured.subtract_all(&beside);
    }
}

/// Gives each shape the layer above the highest it lies on.
fn stack(drafts: &mut [Draft<'_>]) {
    for top in 1..drafts.len() {
        let (beneath, rest) = drafts.split_at_mut(top);
        let this = &mut rest[0];
        let least = REST_AREA.max(this.poured.area() * REST_SHARE);
        let highest = beneath
            .iter()
            .filter(|under| overlap(&this.poured, &under.poured) > least)
            .map(|under| under.layer)
            .max();
        this.layer = highest.map_or(1, |layer| layer + 1);
    }
}

/// Gathers shapes that are put down in one go and measures the sections they make, from the cookie up.
fn gather(name: &str, place: usize, drafts: Vec<Draft<'_>>) -> Vec<Section> {
    let mut groups: Vec<Vec<Draft<'_>>> = Vec::new();
    for draft in drafts {
        let same = |group: &&mut Vec<Draft<'_>>| {
            let first = &group[0];
            (first.color, first.technique, first.layer, first.onto)
                == (draft.color, draft.technique, draft.layer, draft.onto)
        };
        match groups.iter_mut().find(same) {
            Some(group) => group.push(draft),
            None => groups.push(vec![draft]),
        }
    }
    // Stable: within a layer the painter's order stays.
    groups.sort_by_key(|group| group[0].layer);
    groups.iter().map(|group| measure(name, place, group)).collect()
}

fn measure(name: &str, place: usize, group: &[Draft<'_>]) -> Section {
    let union = |of: fn(&'_ Draft<'_>) -> Region| {
        let regions: Vec<_> = group.iter().map(of).collect();
        Region::union(&regions.iter().collect::<Vec<_>>())
    };
    let first = &group[0];
    let (visible, poured) =
        (union(|draft| draft.visible.clone()), union(|draft| draft.poured.clone()));
    let onto = first.onto.unwrap_or(match (first.layer, first.technique.needs_dry()) {
        (1, false) => Onto::Cookie,
        (_, true) => Onto::Dry,
        (_, false) => Onto::Set,
    });
    let line: Length = group.iter().map(|draft| draft.line).sum();
    Section {
        id: format!("{name}/{}", first.id),
        item: place,
        color: first.color,
        technique: first.technique,
        onto,
        layer: first.layer,
        visible_area: visible.area(),
        poured_area: poured.area(),
        edge: if first.technique == Technique::Flood { poured.edge_length() } else { Length::ZERO },
        line,
        n_parts: visible.n_parts(),
        smallest_width: group
            .iter()
            .map(|draft| draft.narrowest)
            .fold(first.narrowest, Length::min),
        visible: Some(visible),
        poured: Some(poured),
        reason: first.reason,
    }
}
