//! Heads-ups as notes in the margin of the place they concern.

use craft::document::plan::{HeadsUpDocument, PlanDocument};
use maud::{Markup, html};

use super::{listed, spoken};

/// The heads-ups of a plan, each given out once.
#[derive(Debug)]
pub(crate) struct Notes<'a> {
    left: Vec<&'a HeadsUpDocument>,
}

impl<'a> Notes<'a> {
    pub(crate) fn of(plan: &'a PlanDocument) -> Self {
        Self { left: plan.heads_ups.iter().collect() }
    }

    /// Takes the notes about these kinds of things.
    pub(crate) fn about(&mut self, kinds: &[&str]) -> Vec<&'a HeadsUpDocument> {
        let (taken, left) =
            self.left.iter().partition(|note| kinds.contains(&note.subject.kind.as_str()));
        self.left = left;
        taken
    }

    /// Takes all that are left.
    pub(crate) fn rest(&mut self) -> Vec<&'a HeadsUpDocument> {
        std::mem::take(&mut self.left)
    }
}

/// What is said once of all the places it is true of.
#[derive(Debug)]
pub(crate) struct Note<'a> {
    said: &'a HeadsUpDocument,
    places: Vec<String>,
}

/// Puts heads-ups that differ in their place alone into one note, in the order they first come.
pub(crate) fn once_each<'a>(heads_ups: &[&'a HeadsUpDocument]) -> Vec<Note<'a>> {
    let mut notes: Vec<Note<'a>> = Vec::new();
    for one in heads_ups {
        let place = spoken(&one.subject.id.replace('/', ", "));
        let places = if place.is_empty() { Vec::new() } else { vec![place] };
        let same = notes.iter_mut().find(|note| {
            note.said.severity == one.severity
                && note.said.message == one.message
                && note.said.hint == one.hint
        });
        match same {
            Some(note) => note.places.extend(places),
            None => notes.push(Note { said: one, places }),
        }
    }
    notes
}

/// What must be settled before anything is made, over the chapters.
pub(crate) fn stops(plan: &PlanDocument) -> Markup {
    let stops: Vec<_> = plan.heads_ups.iter().filter(|one| one.severity == "stop").collect();
    html! {
        @if !stops.is_empty() {
            ul.stops {
                @for Note { said, places } in once_each(&stops) {
                    li {
                        @if !places.is_empty() { (listed(&places)) ": " }
                        (said.message)
                        @if let Some(hint) = &said.hint { " " em { (hint) } }
                    }
                }
            }
        }
    }
}

/// Most notes in a margin; the others are one click below.
const MOST: usize = 5;

/// The margin of a chapter, named after it.
pub(crate) fn notes(chapter: &str, heads_ups: &[&HeadsUpDocument]) -> Markup {
    let notes = once_each(heads_ups);
    let (first, more) = notes.split_at(notes.len().min(MOST));
    html! {
        @if !notes.is_empty() {
            aside.margin aria-label={ "Heads-ups: " (chapter) } {
                @for one in first { (note(one)) }
                @if !more.is_empty() {
                    details.more {
                        summary { (more.len()) " more" }
                        @for one in more { (note(one)) }
                    }
                }
            }
        }
    }
}

fn note(Note { said, places }: &Note<'_>) -> Markup {
    let class = match said.severity.as_str() {
        "stop" => "note stop",
        "caution" => "note caution",
        _ => "note",
    };
    html! {
        p class=(class) {
            @if said.severity == "stop" { span.unseen { "Stop: " } }
            @if !places.is_empty() { b { (listed(places)) ": " } }
            (said.message)
            @if let Some(hint) = &said.hint { span.do { (hint) } }
        }
    }
}
