//! Which sections can be worked without a drying night between them?
//!
//! Stage 0 pours what lies on the cookie.
//! What lies on a base waits for the night; further layers follow in the same stage once they are set;
//! what needs a dry ground (marker, paint, dust, prints) waits for one more night.

use crate::technique::{Onto, Section, Sections};

/// Returns the stage of each section; nothing for what is left naked.
pub(super) fn assign(chapter: &Sections) -> Vec<Option<usize>> {
    let mut stage_of: Vec<Option<usize>> = Vec::with_capacity(chapter.sections.len());
    // Sections stand from the cookie up, so what lies beneath already has its stage.
    for (place, section) in chapter.sections.iter().enumerate() {
        let beneath = chapter
            .overlaps
            .iter()
            .filter(|overlap| overlap.top == place && overlap.under < place)
            .filter_map(|overlap| {
                Some((stage_of[overlap.under]?, &chapter.sections[overlap.under]))
            });
        let stage =
            beneath.map(|(stage, under)| stage + nights_between(under, section)).max().unwrap_or(0);
        stage_of.push(takes_time(section).then_some(stage));
    }
    stage_of
}

fn takes_time(section: &Section) -> bool {
    section.technique != crate::technique::Technique::Naked
}

/// Nights between a section and what it lies on.
fn nights_between(under: &Section, top: &Section) -> usize {
    match top.onto {
        Onto::Wet => 0,
        Onto::Dry => 1,
        Onto::Cookie | Onto::Skin | Onto::Set => usize::from(under.layer == 1),
    }
}
