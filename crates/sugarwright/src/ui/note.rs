//! Heads-ups as notes in the margin of the place they concern.

use craft::document::plan::{HeadsUpDocument, PlanDocument};
use maud::{Markup, html};

use super::spoken;

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

/// Most notes in a margin; the others are one click below.
const MOST: usize = 5;

/// The margin of a chapter.
pub(crate) fn notes(notes: &[&HeadsUpDocument]) -> Markup {
    let (first, more) = notes.split_at(notes.len().min(MOST));
    html! {
        @if !notes.is_empty() {
            aside.margin aria-label="Heads-ups" {
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

fn note(note: &HeadsUpDocument) -> Markup {
    let class = match note.severity.as_str() {
        "stop" => "note stop",
        "caution" => "note caution",
        _ => "note",
    };
    let place = spoken(note.subject.id.rsplit('/').next().unwrap_or_default());
    html! {
        p class=(class) {
            @if note.severity == "stop" { span.unseen { "Stop: " } }
            @if !place.is_empty() { b { (place) ": " } }
            (note.message)
            @if let Some(hint) = &note.hint { span.do { (hint) } }
        }
    }
}
