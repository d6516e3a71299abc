//! What the maker must know about a drawing: what was left out, what was guessed, what is too fine for a hand.

use drawing::{
    Fact,
    fact::{Dropped, Flattened},
};

use crate::{
    heads_up::{HeadsUp, Severity, Subject},
    kitchen::Kitchen,
    technique::{Section, Technique, doable::THIN_SHARE},
};

/// Words the facts of a drawing for the maker.
pub(super) fn about_drawing(item: &str, facts: &[Fact]) -> Vec<HeadsUp> {
    facts.iter().filter_map(|fact| about_fact(item, fact)).collect()
}

fn about_fact(item: &str, fact: &Fact) -> Option<HeadsUp> {
    let subject = || Subject::Item(item.to_owned());
    let caution = |message: String| HeadsUp::new(Severity::Caution, subject(), message);
    let note = |message: String| HeadsUp::new(Severity::Note, subject(), message);
    let place =
        |id: &Option<String>| id.as_ref().map(|id| format!(" (at \"{id}\")")).unwrap_or_default();
    Some(match fact {
        Fact::Dropped { what, id } => {
            let what = match what {
                Dropped::Image => "A picture made of pixels",
                Dropped::Mask => "A mask",
                Dropped::Filter => "A filter effect",
                Dropped::Text => "Text without a font",
                Dropped::ExternalReference => "A reference to another file",
                Dropped::ForeignObject => "An embedded document",
                _ => "A shape without practical meaning",
            };
            caution(format!("{what} was left out of the drawing{}.", place(id)))
                .hint("If it is to be on the cookie, draw it as plain paths.")
        }
        Fact::Flattened { what, id } => {
            let what = match what {
                Flattened::Opacity => "Translucent paint became the color it shows",
                Flattened::Gradient => "A gradient became one color",
                Flattened::Pattern => "A pattern became one color",
                Flattened::Mask => "What a mask lets through was cut out by its edges",
                Flattened::Image => "A picture made of pixels was traced",
                Flattened::BlendMode => "A blend mode was read as plain paint",
                _ => "A detail finer than any tip was drawn plainer",
            };
            note(format!("{what}{}.", place(id)))
        }
        Fact::FontReplaced { asked, used } => {
            note(format!("The drawing asks for the font \"{asked}\"; its letters are set in \"{used}\"."))
                .hint("To keep the letters as drawn, turn them into paths.")
        }
        Fact::LetterMissing { .. } => {
            caution("No font has one of the letters of the drawing; it is left out.".to_owned())
                .hint("Turn the text into paths, or write it with other letters.")
        }
        Fact::OutlineGuessed { border } => note(format!(
            "The drawing has no element named \"outline\": the cutter shape is its silhouette with a border of {:.0} mm.",
            border.to_mm()
        ))
        .hint("Name the cutter shape \"outline\" in the drawing if it is another."),
        Fact::OutlineAmbiguous { n_outlines } => caution(format!(
            "{n_outlines} elements are named \"outline\"; the silhouette was taken as the cutter shape instead."
        ))
        .hint("Name only the cutter shape \"outline\"."),
        Fact::OutlineJoined { n_parts } => note(format!(
            "The {n_parts} parts of the art lie apart and were joined into one cutter shape."
        ))
        .hint("Draw the cutter shape yourself and name it \"outline\" if it is to be another."),
        Fact::OutlineInParts { n_dropped } => caution(format!(
            "The cutter shape fell into parts; the largest was kept and {n_dropped} left out."
        ))
        .hint("Draw the cutter shape as one closed curve, or make the border wider."),
        Fact::ArtOutsideOutline { id, area } if area.to_mm2() >= 1.0 => caution(format!(
            "{:.0} mm² of \"{id}\" lie outside the cutter shape and were cut off.",
            area.to_mm2()
        )),
        _ => return None,
    })
}

/// Says what is finer than the kitchen's finest tip.
pub(super) fn about_fineness(kitchen: &Kitchen, sections: &[Section]) -> Vec<HeadsUp> {
    let Some(finest) =
        kitchen.tips.iter().min_by(|a, b| a.opening.to_mm().total_cmp(&b.opening.to_mm()))
    else {
        return Vec::new();
    };
    sections
        .iter()
        .filter(|section| {
            matches!(section.technique, Technique::Line | Technique::Lettering | Technique::Dot)
        })
        .filter(|section| {
            section.visible.is_some() && section.smallest_width < finest.opening * THIN_SHARE
        })
        .map(|section| {
            HeadsUp::new(
                Severity::Caution,
                Subject::Section(section.id.clone()),
                format!(
                    "At its narrowest it is about {:.1} mm, finer than the finest tip ({:.1} mm).",
                    // Corners taper to nothing; a tenth is as fine as one can see.
                    section.smallest_width.to_mm().max(0.1),
                    finest.opening.to_mm()
                ),
            )
            .hint("Draw it wider, or draw it with an edible marker on dry icing.")
        })
        .collect()
}
