//! What does the maker take into the kitchen: everything about one order, on paper?
//!
//! [`packet`] sets the chapters of a plan in the order they are worked, and last the outlines of all designs
//! at true size; [`templates`] sets those alone, and [`true_sheets`] the dough sheets with their cuts.
//! Figures are written here, in the kitchen's measures, and handed to the layouts in `typ/` as one JSON file
//! with the pictures beside it: layouts place, they do not compute.
//!
//! What is true to scale lies within 190 x 259 mm, which both A4 (ISO 216) and Letter hold with margins of 10 mm,
//! and carries rulers to check the print by.
//! The file asks viewers not to scale it.

mod baking;
mod bowls;
mod cover;
mod days;
mod drawn;
mod files;
mod lists;
mod notes;
mod outlines;
mod passes;
mod print_scaling;
mod scale;
mod standing;
mod true_sheets;
mod world;

use craft::{
    document::plan::PlanDocument,
    kitchen::{Kitchen, Paper},
};
use serde::Serialize;
use serde_json::Value;

use self::files::Files;
use crate::Error;

/// Sets the whole packet of an order as PDF: cover, dough, baking, bowls, passes, days, lists and true-size outlines.
///
/// # Errors
/// The typesetter refused it; nothing in a plan should make it do so.
pub fn packet(document: &PlanDocument, kitchen: &Kitchen, paper: Paper) -> Result<Vec<u8>, Error> {
    let files = &mut Files::default();
    let content = Packet {
        sheet: Sheet::new(document, paper),
        cover: cover::cover(document, kitchen, files),
        dough: baking::dough(document, kitchen, files),
        baking: baking::baking(document, kitchen, files),
        bowls: bowls::bowls(document, kitchen),
        passes: passes::passes(document, files),
        days: days::days(document),
        shopping: lists::shopping(document, kitchen),
        label: lists::label(document, kitchen),
        heads_ups: notes::all(document),
        outlines: outlines::outlines(document, kitchen, files),
    };
    set("packet.typ", &content, files)
}

/// Sets only the outlines of all designs at true size as PDF, to check cutters by or to cut around.
///
/// # Errors
/// The typesetter refused it; nothing in a plan should make it do so.
pub fn templates(
    document: &PlanDocument,
    kitchen: &Kitchen,
    paper: Paper,
) -> Result<Vec<u8>, Error> {
    let files = &mut Files::default();
    let content = Templates {
        kind: "true-size templates",
        sheet: Sheet::new(document, paper),
        outlines: outlines::outlines(document, kitchen, files),
    };
    set("templates.typ", &content, files)
}

/// Sets the dough sheets with their numbered cuts at true size as PDF, in parts that are laid edge to edge.
///
/// # Errors
/// The typesetter refused it; nothing in a plan should make it do so.
pub fn true_sheets(
    document: &PlanDocument,
    kitchen: &Kitchen,
    paper: Paper,
) -> Result<Vec<u8>, Error> {
    let files = &mut Files::default();
    let content = Templates {
        kind: "true-size dough sheets",
        sheet: Sheet::new(document, paper),
        outlines: true_sheets::true_sheets(document, kitchen, files),
    };
    set("templates.typ", &content, files)
}

fn set(layout: &str, content: &impl Serialize, files: &Files) -> Result<Vec<u8>, Error> {
    let json =
        serde_json::to_value(content).map(breakable).and_then(|json| serde_json::to_vec(&json));
    let json = json.map_err(|error| Error::Layout { reason: error.to_string() })?;
    let pdf = world::set_pdf(layout, files.with("packet.json", json))?;
    print_scaling::print_at_full_size(pdf)
}

/// Letters that fit beside the number of the page.
const RUNNING_TITLE: usize = 60;

/// Cuts a title that is too long for one line.
fn shortened(title: &str) -> String {
    match title.char_indices().nth(RUNNING_TITLE) {
        Some((end, _)) => format!("{}…", title.get(..end).unwrap_or_default().trim_end()),
        None => title.to_owned(),
    }
}

/// A longer word may be wider than its column.
const LONG_WORD: usize = 16;
/// Letters of a long word between two places at which it may be broken.
const LETTERS_TOGETHER: usize = 8;
/// A place at which a word may be broken without a hyphen.
const MAY_BREAK: &str = "\u{200b}";

/// Lets long words break, so that no name runs over the edge of the paper.
fn breakable(json: Value) -> Value {
    match json {
        Value::String(text) => Value::String(broken(&text)),
        Value::Array(all) => all.into_iter().map(breakable).collect(),
        Value::Object(all) => all.into_iter().map(|(key, one)| (key, breakable(one))).collect(),
        other => other,
    }
}

fn broken(text: &str) -> String {
    let word = |word: &str| {
        let letters: Vec<char> = word.chars().collect();
        if letters.len() <= LONG_WORD {
            return word.to_owned();
        }
        let parts = letters.chunks(LETTERS_TOGETHER).map(|part| part.iter().collect());
        parts.collect::<Vec<String>>().join(MAY_BREAK)
    };
    text.split_inclusive(char::is_whitespace).map(word).collect()
}

/// What `packet.typ` reads.
#[derive(Serialize)]
struct Packet {
    sheet: Sheet,
    cover: cover::Cover,
    dough: baking::Dough,
    baking: baking::Baking,
    bowls: bowls::Bowls,
    passes: passes::Passes,
    days: days::Days,
    shopping: lists::Shopping,
    label: lists::Label,
    heads_ups: Vec<notes::Note>,
    outlines: outlines::Outlines,
}

/// What `templates.typ` reads.
#[derive(Serialize)]
struct Templates {
    /// What the paper is, for its title.
    kind: &'static str,
    sheet: Sheet,
    outlines: outlines::Outlines,
}

/// The paper and what stands at the head of each page.
#[derive(Serialize)]
struct Sheet {
    title: String,
    /// The title as it stands on every page, in one line.
    running_title: String,
    width_mm: f64,
    height_mm: f64,
}

impl Sheet {
    fn new(document: &PlanDocument, paper: Paper) -> Self {
        let (width, height) = paper.size();
        Self {
            title: document.order.title.clone(),
            running_title: shortened(&document.order.title),
            width_mm: width.to_mm(),
            height_mm: height.to_mm(),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_running_title_fits_one_line() {
        assert_eq!(shortened("Naming party for Zoë"), "Naming party for Zoë");
        let long = "é ".repeat(50);
        assert_eq!(shortened(&long), format!("{}…", "é ".repeat(30).trim_end()));
    }

    #[test]
    fn only_long_words_may_break() {
        let plain = "Naming party for Zoë, 1\u{a0}lb\u{a0}7.1\u{a0}oz of dough";
        assert_eq!(broken(plain), plain);
        let parts: Vec<usize> = broken(&"x".repeat(18)).split(MAY_BREAK).map(str::len).collect();
        assert_eq!(parts, [8, 8, 2]);
    }
}
