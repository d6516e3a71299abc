//! Heads-ups where they belong.

use craft::document::plan::{HeadsUpDocument, PlanDocument};
use serde::Serialize;

use crate::words::{listed, spoken, unique};

/// One heads-up; those that say the same about several things are one.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub(super) struct Note {
    /// note, caution or stop.
    severity: String,
    /// What it is about; empty for the whole order.
    about: String,
    message: String,
    hint: Option<String>,
    /// Whether it needs the whole width and may stand behind the others; what stops the work never does.
    long: bool,
}

/// Letters that read well in a column.
const COLUMN: usize = 240;

/// Everything the maker must know, the worst first.
pub(super) fn all(document: &PlanDocument) -> Vec<Note> {
    gathered(document, |_| true)
}

/// What stops the work or is likely to go wrong.
pub(super) fn pressing(document: &PlanDocument) -> Vec<Note> {
    gathered(document, |heads_up| heads_up.severity != "note")
}

/// What belongs to a chapter, by the kinds of thing it is about.
pub(super) fn about(document: &PlanDocument, kinds: &[&str]) -> Vec<Note> {
    gathered(document, |heads_up| kinds.contains(&heads_up.subject.kind.as_str()))
}

fn gathered(document: &PlanDocument, wanted: impl Fn(&HeadsUpDocument) -> bool) -> Vec<Note> {
    let said =
        |one: &HeadsUpDocument| (one.severity.clone(), one.message.clone(), one.hint.clone());
    let wanted: Vec<&HeadsUpDocument> =
        document.heads_ups.iter().filter(|heads_up| wanted(heads_up)).collect();
    let note = |(severity, message, hint): (String, String, Option<String>)| {
        let same = wanted
            .iter()
            .filter(|one| one.severity == severity && one.message == message && one.hint == hint);
        let things = same.map(|one| spoken(&one.subject.id)).filter(|thing| !thing.is_empty());
        let about = listed(&unique(things));
        let hint_letters = hint.iter().flat_map(|hint| hint.chars());
        let letters = about.chars().chain(message.chars()).chain(hint_letters);
        let long = severity != "stop" && letters.count() > COLUMN;
        Note { severity, about, message, hint, long }
    };
    unique(wanted.iter().map(|one| said(one))).into_iter().map(note).collect()
}
