//! From the fields of the kitchen's form to its document, by the schema of `kitchen.toml`.
//!
//! A field is named by its path: `oven.heat_up_min`, `tray.0.width_mm`.
//! Lists of words are one field with commas; lists of tables have a row for each and a blank one to add.

use std::collections::{BTreeMap, BTreeSet};

use quantity::Currency;
use serde_json::{Map, Value};

use crate::pages::typed;

/// What was typed, by path.
#[derive(Debug, Default)]
pub(super) struct Sent(BTreeMap<String, String>);

impl Sent {
    pub(super) fn new(fields: Vec<(String, String)>) -> Self {
        Self(fields.into_iter().collect())
    }

    pub(super) fn get(&self, path: &str) -> Option<&str> {
        self.0.get(path).map(String::as_str)
    }

    /// The places of a list that were sent and say something, in order.
    fn places(&self, list: &str) -> Vec<usize> {
        let prefix = format!("{list}.");
        let said = self.0.iter().filter(|(_, text)| !text.trim().is_empty());
        let places: BTreeSet<usize> = said
            .filter_map(|(path, _)| path.strip_prefix(&prefix)?.split('.').next()?.parse().ok())
            .collect();
        let is_kept = |place: &usize| self.get(&format!("{list}.{place}.remove")).is_none();
        places.into_iter().filter(is_kept).collect()
    }
}

/// What a property holds.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum Kind<'a> {
    Text,
    Number,
    Integer,
    Truth,
    /// Words with commas between them.
    Words,
    /// A table of its own.
    Table(&'a Value),
    /// Rows, each a table.
    Rows(&'a Value),
}

/// Tells what a property holds; `root` has the definitions it refers to.
pub(super) fn kind_of<'a>(root: &'a Value, property: &'a Value) -> Kind<'a> {
    if let Some(table) = definition(root, property) {
        return Kind::Table(table);
    }
    if property["items"].is_object() {
        return definition(root, &property["items"]).map_or(Kind::Words, Kind::Rows);
    }
    let named = match &property["type"] {
        Value::Array(names) => {
            names.iter().filter_map(Value::as_str).find(|name| *name != "null").unwrap_or("")
        }
        name => name.as_str().unwrap_or(""),
    };
    match named {
        "number" => Kind::Number,
        "integer" => Kind::Integer,
        "boolean" => Kind::Truth,
        _ => Kind::Text,
    }
}

/// Whether a property may be left empty.
pub(super) fn is_optional(property: &Value) -> bool {
    property["type"].as_array().is_some_and(|names| names.iter().any(|name| name == "null"))
}

fn definition<'a>(root: &'a Value, property: &Value) -> Option<&'a Value> {
    let name = property["$ref"].as_str()?.strip_prefix("#/$defs/")?;
    root["$defs"].get(name)
}

/// Takes a table from the form; what cannot be read is told at its path.
pub(super) fn take(
    root: &Value,
    schema: &Value,
    path: &str,
    sent: &Sent,
    currency: Currency,
    wrong: &mut BTreeMap<String, String>,
) -> Value {
    let mut table = Map::new();
    for (key, property) in schema["properties"].as_object().into_iter().flatten() {
        let below = join(path, key);
        let value = match kind_of(root, property) {
            Kind::Table(inner) => take(root, inner, &below, sent, currency, wrong),
            Kind::Rows(inner) => {
                let rows = sent.places(&below).into_iter().map(|place| {
                    take(root, inner, &format!("{below}.{place}"), sent, currency, wrong)
                });
                Value::Array(rows.collect())
            }
            Kind::Truth => Value::Bool(sent.get(&below).is_some()),
            kind => {
                let Some(text) = sent.get(&below).map(str::trim) else { continue };
                if text.is_empty() && is_optional(property) {
                    continue;
                }
                match plain(kind, key, text, currency) {
                    Ok(value) => value,
                    Err(words) => {
                        wrong.insert(below, words);
                        continue;
                    }
                }
            }
        };
        table.insert(key.clone(), value);
    }
    Value::Object(table)
}

fn plain(kind: Kind<'_>, key: &str, text: &str, currency: Currency) -> Result<Value, String> {
    match kind {
        Kind::Words => {
            let words = text.split(',').map(str::trim).filter(|word| !word.is_empty());
            Ok(words.map(|word| Value::String(word.to_owned())).collect())
        }
        Kind::Integer if is_money(key) => {
            let amount = typed::number(text)?;
            let minor = (amount * currency.minor_per_major() as f64).round();
            Ok(Value::from(minor as i64))
        }
        Kind::Integer => {
            let number = text.parse::<i64>();
            number
                .map(Value::from)
                .map_err(|_| format!("\"{text}\" is no whole number; write it like 12"))
        }
        Kind::Number => typed::number(text).map(Value::from),
        _ => Ok(Value::String(text.to_owned())),
    }
}

/// Amounts of money stand in files in minor units, and in the form in whole ones.
pub(super) fn is_money(key: &str) -> bool {
    key.ends_with("_minor")
}

/// What stands in the field of a value.
pub(super) fn shown(key: &str, value: &Value, currency: Currency) -> String {
    match value {
        Value::Null => String::new(),
        Value::String(text) => text.clone(),
        Value::Array(words) => {
            words.iter().filter_map(Value::as_str).collect::<Vec<_>>().join(", ")
        }
        Value::Number(number) if is_money(key) => {
            let digits = currency.minor_digits() as usize;
            let minor = number.as_f64().unwrap_or(0.0);
            format!("{:.digits$}", minor / currency.minor_per_major() as f64)
        }
        Value::Number(number) => match number.as_f64() {
            Some(whole) if whole.fract() == 0.0 && whole.abs() < 1e15 => format!("{whole:.0}"),
            _ => number.to_string(),
        },
        other => other.to_string(),
    }
}

pub(super) fn join(path: &str, key: &str) -> String {
    if path.is_empty() { key.to_owned() } else { format!("{path}.{key}") }
}

#[cfg(test)]
mod tests {
    use craft::document::{KitchenDocument, read_kitchen, schema};

    use super::*;

    /// Fills the form as a browser would send it.
    fn fill(
        root: &Value,
        schema: &Value,
        path: &str,
        value: &Value,
        fields: &mut Vec<(String, String)>,
    ) {
        let currency = Currency::from_code("CAD").expect("a code");
        for (key, property) in schema["properties"].as_object().into_iter().flatten() {
            let below = join(path, key);
            let value = &value[key];
            match kind_of(root, property) {
                Kind::Table(inner) => fill(root, inner, &below, value, fields),
                Kind::Rows(inner) => {
                    for (place, row) in value.as_array().into_iter().flatten().enumerate() {
                        fill(root, inner, &format!("{below}.{place}"), row, fields);
                    }
                }
                Kind::Truth if *value == false => {}
                _ => fields.push((below, shown(key, value, currency))),
            }
        }
    }

    #[test]
    fn the_form_sent_back_untouched_is_the_same_kitchen() {
        let root = schema("kitchen").expect("there is a schema");
        let start = serde_json::to_value(KitchenDocument::default()).expect("it is JSON");
        let mut fields = Vec::new();
        fill(&root, &root, "", &start, &mut fields);
        let currency = Currency::from_code("CAD").expect("a code");
        let mut wrong = BTreeMap::new();
        let taken = take(&root, &root, "", &Sent::new(fields), currency, &mut wrong);
        assert_eq!(wrong, BTreeMap::new());
        let document: KitchenDocument = serde_json::from_value(taken).expect("a document");
        assert_eq!(document, KitchenDocument::default());
        read_kitchen(&document.to_toml()).expect("it reads");
    }

    #[test]
    fn a_row_is_removed_added_or_told_to_be_wrong() {
        let root = schema("kitchen").expect("there is a schema");
        let currency = Currency::from_code("CAD").expect("a code");
        let fields = [
            ("tray.0.width_mm", "300"),
            ("tray.0.remove", "true"),
            ("tray.1.width_mm", "400.5"),
            ("tray.1.length_mm", "wide"),
            ("tray.2.width_mm", " "),
            ("money.wage_minor", "21.50"),
        ];
        let fields = fields.map(|(path, text)| (path.to_owned(), text.to_owned())).to_vec();
        let mut wrong = BTreeMap::new();
        let taken = take(&root, &root, "", &Sent::new(fields), currency, &mut wrong);
        assert_eq!(taken["tray"].as_array().map(Vec::len), Some(1));
        assert_eq!(taken["tray"][0]["width_mm"], 400.5);
        assert_eq!(
            wrong.get("tray.1.length_mm").map(String::as_str),
            Some("\"wide\" is no number; write it like 12.5")
        );
    }
}
