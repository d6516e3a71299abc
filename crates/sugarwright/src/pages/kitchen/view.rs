//! The page of the kitchen, drawn by the schema of `kitchen.toml`, so that no value is forgotten.

use std::collections::BTreeMap;

use maud::{Markup, html};
use quantity::Currency;
use serde_json::Value;
use store::Revision;

use super::form::{Kind, Sent, is_optional, join, kind_of, shown};
use crate::ui::{Page, capital, page};

pub(super) struct KitchenPage {
    pub(super) schema: Value,
    pub(super) value: Value,
    /// The start values.
    pub(super) start: Value,
    pub(super) currency: Currency,
    pub(super) revision: Revision,
    /// The kitchen as the text of its file.
    pub(super) text: String,
    /// What is wrong, by path.
    pub(super) wrong: BTreeMap<String, String>,
    /// What was typed last, by path.
    pub(super) typed: Sent,
    pub(super) is_saved: bool,
}

/// A path without the places of its tables: how an error of the file names it.
pub(super) fn plain_key(key: &str) -> String {
    key.replace(".0.", ".")
}

/// Values that may only be one of a few.
const CHOICES: [(&str, &[&str]); 3] = [
    ("units.measures", &["metric", "us"]),
    ("units.paper", &["a4", "letter"]),
    ("units.jurisdiction", &["us", "eu", "uk", "ca"]),
];

pub(super) fn view(kitchen: &KitchenPage) -> Markup {
    let root = &kitchen.schema;
    let mut parts = Vec::new();
    let mut plain = Vec::new();
    for (key, property) in root["properties"].as_object().into_iter().flatten() {
        match kind_of(root, property) {
            Kind::Table(_) | Kind::Rows(_) => parts.push((key, property)),
            _ if key == "format" => {}
            _ => plain.push((key, property)),
        }
    }
    let content = html! {
        div.opening {
            div {
                h1 { "Your kitchen" }
                p.lead.brief {
                    "What is true for every order. Each value starts where makers usually start, and says where that comes from; "
                    "put in what you weigh, time and pay, and every open plan is made anew."
                }
            }
        }
        @if kitchen.is_saved { p.standing role="status" { "Saved. Open orders are being planned with it; agreed ones keep their amounts and price, and only their days may move." } }
        @if !kitchen.wrong.is_empty() {
            p.wrong-all role="alert" tabindex="-1" autofocus {
                @match kitchen.wrong.get("") {
                    Some(words) => (words),
                    None => "Something cannot be read; it is said at its field. Nothing was saved, and nothing that was typed is lost.",
                }
            }
        }
        nav.contents aria-label="Parts of the kitchen" {
            @for (key, _) in &parts { a href={ "#" (key) } { (capital(&words_of(key).0)) } }
        }
        form.kitchen method="post" action="/kitchen" {
            input type="hidden" name="revision" value=(kitchen.revision.to_i64());
            input type="hidden" name="format" value="1";
            section.chapter {
                header { h2 { "Maker" } }
                div.wide.matter { div.fields { @for (key, property) in &plain { (value_field(kitchen, key, key, property, &kitchen.value[key], &kitchen.start[key])) } } }
            }
            @for (key, property) in &parts {
                section.chapter id=(key) {
                    header { h2 { (capital(&words_of(key).0)) } }
                    div.wide.matter {
                        @if let Some(words) = property["description"].as_str() { p.soft { (words.replace('\n', " ")) } }
                        (part(kitchen, key, property, &kitchen.value[key], &kitchen.start[key]))
                        p.acts { button.act type="submit" { "Save the kitchen" } }
                    }
                }
            }
        }
        (as_text(kitchen))
    };
    let frame =
        Page { title: "Kitchen", here: "/kitchen", styles: &[], scripts: &[], waits: false };
    page(&frame, &content)
}

fn part(
    kitchen: &KitchenPage,
    path: &str,
    property: &Value,
    value: &Value,
    start: &Value,
) -> Markup {
    match kind_of(&kitchen.schema, property) {
        Kind::Table(table) => {
            html! { div.fields { (table_fields(kitchen, path, table, value, start)) } }
        }
        Kind::Rows(table) => rows(kitchen, path, table, value),
        _ => html! {},
    }
}

fn table_fields(
    kitchen: &KitchenPage,
    path: &str,
    table: &Value,
    value: &Value,
    start: &Value,
) -> Markup {
    html! {
        @for (key, property) in table["properties"].as_object().into_iter().flatten() {
            @let below = join(path, key);
            @match kind_of(&kitchen.schema, property) {
                Kind::Table(_) | Kind::Rows(_) => {
                    div.inner {
                        h3 { (capital(&words_of(key).0)) }
                        @if let Some(words) = property["description"].as_str() { p.hint { (words.replace('\n', " ")) } }
                        (part(kitchen, &below, property, &value[key], &start[key]))
                    }
                }
                _ => (value_field(kitchen, &below, key, property, &value[key], &start[key])),
            }
        }
    }
}

fn rows(kitchen: &KitchenPage, path: &str, table: &Value, value: &Value) -> Markup {
    let rows = value.as_array().map_or(&[][..], Vec::as_slice);
    html! {
        @for (place, row) in rows.iter().enumerate() {
            @let below = format!("{path}.{place}");
            details.row-of-list open[rows.len() <= 2 || is_wrong_below(kitchen, &below)] {
                summary { (row_name(path, place, row)) }
                div.fields {
                    (table_fields(kitchen, &below, table, row, &Value::Null))
                    div.field.check {
                        input id={ (below) ".remove" } name={ (below) ".remove" } type="checkbox" value="true";
                        label for={ (below) ".remove" } { "Remove " (row_name(path, place, row)) }
                    }
                }
            }
        }
        details.row-of-list {
            summary { "Add another" }
            div.fields { (table_fields(kitchen, &format!("{path}.{}", rows.len()), table, &Value::Null, &Value::Null)) }
        }
    }
}

fn is_wrong_below(kitchen: &KitchenPage, path: &str) -> bool {
    kitchen
        .wrong
        .keys()
        .any(|key| key.starts_with(path) || key.starts_with(&plain_key(&format!("{path}."))))
}

/// What a row of a list is called: by its name, its day, or its number.
fn row_name(path: &str, place: usize, row: &Value) -> String {
    let words = ["name", "day", "date", "ingredient"].iter().find_map(|key| row[*key].as_str());
    let times =
        row["from"].as_str().zip(row["to"].as_str()).map(|(from, to)| format!(" {from} to {to}"));
    match words {
        Some(words) => format!("{}{}", capital(words), times.unwrap_or_default()),
        None => format!(
            "{} {}",
            capital(&words_of(path.rsplit('.').next().unwrap_or(path)).0),
            place + 1
        ),
    }
}

/// Units at the end of keys, and how they are said.
const UNITS: [(&str, &str); 12] = [
    ("_g_per_cm3", "g/cm³"),
    ("_g_per_ml", "g/ml"),
    ("_mm_per_s", "mm/s"),
    ("_mm2_per_s", "mm²/s"),
    ("_mm2", "mm²"),
    ("_mm", "mm"),
    ("_g", "g"),
    ("_min", "min"),
    ("_h", "h"),
    ("_s", "s"),
    ("_percent", "%"),
    ("_minor", ""),
];

/// "heat up" and "min" of "heat_up_min".
fn words_of(key: &str) -> (String, &'static str) {
    let unit = UNITS.iter().find(|(ending, _)| key.len() > ending.len() && key.ends_with(ending));
    let (stem, unit) = match unit {
        Some((ending, unit)) => (key.strip_suffix(ending).unwrap_or(key), *unit),
        None => (key, ""),
    };
    (stem.replace('_', " "), unit)
}

fn value_field(
    kitchen: &KitchenPage,
    path: &str,
    key: &str,
    property: &Value,
    value: &Value,
    start: &Value,
) -> Markup {
    let (words, unit) = words_of(key);
    let unit = if super::form::is_money(key) { kitchen.currency.code() } else { unit };
    let known = |text: &Value| shown(key, text, kitchen.currency);
    let now = kitchen.typed.get(path).map_or_else(|| known(value), str::to_owned);
    let error = kitchen.wrong.get(path).or_else(|| kitchen.wrong.get(&plain_key(path)));
    let hint = property["description"].as_str().unwrap_or_default().replace('\n', " ");
    let hint = hint.replace("Source: common practice, no source.", "Common practice, no source.");
    let started = (!start.is_null() && known(start) != now).then(|| known(start));
    let choices = CHOICES.iter().find(|(known, _)| *known == path).map(|(_, choices)| *choices);
    let wrong_id = error.map(|_| format!("{path}-wrong"));
    html! {
        div class=(if kind_of(&kitchen.schema, property) == Kind::Truth { "field check" } else { "field" }) {
            @match kind_of(&kitchen.schema, property) {
                Kind::Truth => {
                    input id=(path) name=(path) type="checkbox" value="true" checked[*value == true] aria-describedby={ (path) "-hint" };
                    label for=(path) { (capital(&words)) }
                }
                kind => {
                    label for=(path) { (capital(&words)) @if !unit.is_empty() { " (" (unit) ")" } }
                    @match choices {
                        Some(choices) => select id=(path) name=(path) aria-describedby={ (path) "-hint" } {
                            @for choice in choices { option value=(choice) selected[*choice == now] { (choice) } }
                        },
                        None => input id=(path) name=(path) type="text" value=(now)
                            inputmode=[matches!(kind, Kind::Number | Kind::Integer).then_some("decimal")]
                            aria-invalid=[error.map(|_| "true")]
                            aria-describedby={ @if let Some(id) = &wrong_id { (id) " " } (path) "-hint" };,
                    }
                }
            }
            @if let Some(error) = error { p.wrong id={ (path) "-wrong" } { (error) } }
            p.hint id={ (path) "-hint" } {
                (hint)
                @if is_optional(property) { " May be left empty." }
                @if let Some(started) = started { " Start value: " (started) "." }
            }
        }
    }
}

fn as_text(kitchen: &KitchenPage) -> Markup {
    let error = kitchen.wrong.get("kitchen");
    html! {
        section.other-way {
            h2 { "The whole kitchen as text" }
            p { "The same values as a file, to keep or to carry over. " a href="/kitchen/kitchen.toml" { "Take it away" } "." }
            details.more open[error.is_some()] {
                summary { "Change the text" }
                form method="post" action="/kitchen/kitchen.toml" {
                    input type="hidden" name="revision" value=(kitchen.revision.to_i64());
                    div.field.text {
                        label for="kitchen-text" { "kitchen.toml" }
                        textarea id="kitchen-text" name="kitchen" rows="24" spellcheck="false" aria-invalid=[error.map(|_| "true")]
                            aria-describedby=[error.map(|_| "kitchen-text-wrong")] { (kitchen.text) }
                        @if let Some(error) = error { p.wrong id="kitchen-text-wrong" { (error) } }
                    }
                    p.acts { button.act type="submit" { "Save the text" } }
                }
            }
        }
    }
}
