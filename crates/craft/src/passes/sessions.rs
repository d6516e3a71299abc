//! Which sections can be worked without a drying night between them?
//!
//! Stage 0 pours what lies on the cookie, and pipes on paper what is laid on later.
//! What lies on a base waits for the night; further layers follow in the same stage once they are set;
//! what needs a dry ground (marker, paint, dust, prints) waits for one more night.
//! A design that gets pieces piped ahead is begun a stage later, if it would be done with in stage 0.

use crate::technique::{Onto, Section, Sections, Technique};

/// The stage of each section.
pub(super) struct Stages {
    /// When it is worked on the cookie; nothing for what is left naked.
    pub(super) on_cookie: Vec<Option<usize>>,
    /// Sections of pieces that are piped on paper in stage 0 and laid on later.
    pub(super) ahead: Vec<usize>,
}

impl Stages {
    /// Assigns every section its stage.
    pub(super) fn assign(chapter: &Sections) -> Self {
        let sections = &chapter.sections;
        let mut on_cookie: Vec<Option<usize>> = Vec::with_capacity(sections.len());
        // Sections stand from the cookie up, so what lies beneath already has its stage.
        for (place, section) in sections.iter().enumerate() {
            let beneath = chapter
                .overlaps
                .iter()
                .filter(|overlap| overlap.top == place && overlap.under < place)
                .filter_map(|overlap| Some((on_cookie[overlap.under]?, &sections[overlap.under])));
            let stage = beneath
                .map(|(stage, under)| stage + nights_between(under, section))
                .max()
                .unwrap_or(0);
            on_cookie.push((section.technique != Technique::Naked).then_some(stage));
        }
        let ahead: Vec<usize> = (0..sections.len())
            .filter(|&place| sections[place].technique == Technique::Transfer)
            .collect();
        for design in &chapter.designs {
            let too_early =
                |&place: &usize| design.sections.contains(&place) && on_cookie[place] == Some(0);
            if ahead.iter().any(too_early) {
                on_cookie[design.sections.clone()]
                    .iter_mut()
                    .flatten()
                    .for_each(|stage| *stage += 1);
            }
        }
        Self { on_cookie, ahead }
    }

    /// Returns how many stages there are.
    pub(super) fn n(&self) -> usize {
        self.on_cookie.iter().flatten().max().map_or(0, |last| last + 1)
    }
}

/// Nights between a section and what it lies on.
fn nights_between(under: &Section, top: &Section) -> usize {
    match top.onto {
        Onto::Wet => 0,
        Onto::Dry => 1,
        Onto::Cookie | Onto::Skin | Onto::Set => usize::from(under.layer == 1),
    }
}
