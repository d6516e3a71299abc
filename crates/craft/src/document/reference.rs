//! The files explained to people, from the same words as the schemas: a page of tables, and the kitchen as a commented file.

use serde_json::Value;

use crate::document::{KitchenDocument, schema};

/// Returns a page that explains a file: a table for each of its parts, with types, start values, meaning and source.
pub fn reference(name: &str) -> Option<String> {
    let schema = schema(name)?;
    let title = schema["title"].as_str().unwrap_or(name);
    let mut page = format!("# {title}, format 1\n\n{}\n", lines_of(&schema));
    page += &table(&schema);
    for (part, definition) in definitions(&schema) {
        if definition["properties"].is_object() {
            page += &format!(
                "\n## {}\n\n{}\n{}",
                heading(&schema, part),
                lines_of(definition),
                table(definition)
            );
        }
    }
    Some(page)
}

fn definitions(schema: &Value) -> impl Iterator<Item = (&String, &Value)> {
    schema["$defs"].as_object().into_iter().flatten()
}

/// The key under which a part stands in its file: "[dough]" or "[[tray]]".
fn heading(schema: &Value, part: &str) -> String {
    let target = format!("#/$defs/{part}");
    let whole = definitions(schema).map(|(_, definition)| definition).chain([schema]);
    for owner in whole {
        for (key, property) in owner["properties"].as_object().into_iter().flatten() {
            if property["$ref"] == target.as_str() {
                return format!("`{key}`");
            }
            if property["items"]["$ref"] == target.as_str() {
                return format!("`{key}`, a list");
            }
        }
    }
    part.to_owned()
}

/// A description with one sentence a line.
fn lines_of(schema: &Value) -> String {
    schema["description"].as_str().unwrap_or_default().replace('\n', " ").replace(". ", ".\n")
        + "\n"
}

fn table(schema: &Value) -> String {
    let mut rows = "| key | type | start value | meaning |\n|---|---|---|---|\n".to_owned();
    for (key, property) in schema["properties"].as_object().into_iter().flatten() {
        let meaning = property["description"]
            .as_str()
            .unwrap_or_default()
            .replace('\n', " ")
            .replace('|', "\\|");
        rows +=
            &format!("| `{key}` | {} | {} | {meaning} |\n", type_of(property), start_of(property));
    }
    rows
}

fn type_of(property: &Value) -> String {
    if property["items"].is_object() {
        return "list".to_owned();
    }
    match &property["type"] {
        Value::String(name) => plain_type(name).to_owned(),
        Value::Array(names) => {
            let named = names.iter().filter_map(Value::as_str).find(|name| *name != "null");
            format!("{}, optional", plain_type(named.unwrap_or("string")))
        }
        _ => "table".to_owned(),
    }
}

fn plain_type(name: &str) -> &str {
    match name {
        "string" => "text",
        "boolean" => "true or false",
        "integer" => "whole number",
        "object" => "table",
        other => other,
    }
}

fn start_of(property: &Value) -> String {
    match property.get("default") {
        None | Some(Value::Null | Value::Array(_) | Value::Object(_)) => String::new(),
        Some(value) => format!("`{value}`"),
    }
}

/// Returns the built-in kitchen as a file, each key under its meaning, start value and source.
///
/// It reads back as the built-in kitchen.
pub fn kitchen_toml_with_comments() -> String {
    let mut text =
        "# A kitchen, format 1. Every key may be left out: its start value then holds.\n\
        # The values below are the start values; replace them by what you weigh and time.\n"
            .to_owned();
    let (Ok(document), Some(schema)) =
        (serde_json::to_value(KitchenDocument::default()), schema("kitchen"))
    else {
        return text;
    };
    write_table(&mut text, &schema, &schema, &document, "");
    text
}

/// Writes the plain keys of a table, then its tables and lists of tables.
fn write_table(text: &mut String, root: &Value, schema: &Value, value: &Value, path: &str) {
    let Some(fields) = value.as_object() else { return };
    for (key, field) in fields.iter().filter(|(_, field)| !is_nested(field)) {
        write_comment(text, &schema["properties"][key]);
        *text += &format!("{key} = {}\n", toml_value(field));
    }
    for (key, field) in fields.iter().filter(|(_, field)| is_nested(field)) {
        let property = &schema["properties"][key];
        let path = if path.is_empty() { key.clone() } else { format!("{path}.{key}") };
        match field {
            Value::Object(_) => {
                *text += "\n";
                write_comment(text, property);
                *text += &format!("[{path}]\n");
                write_table(text, root, resolved(root, property), field, &path);
            }
            Value::Array(rows) => {
                for (place, row) in rows.iter().enumerate() {
                    *text += "\n";
                    // The meaning of a list and its keys stands once, at its first entry.
                    let comments =
                        if place == 0 { resolved(root, &property["items"]) } else { &Value::Null };
                    if place == 0 {
                        write_comment(text, property);
                    }
                    *text += &format!("[[{path}]]\n");
                    write_table(text, root, comments, row, &path);
                }
            }
            _ => {}
        }
    }
}

fn is_nested(value: &Value) -> bool {
    match value {
        Value::Object(_) => true,
        Value::Array(rows) => rows.first().is_some_and(Value::is_object),
        _ => false,
    }
}

fn resolved<'a>(root: &'a Value, property: &'a Value) -> &'a Value {
    match property["$ref"].as_str().and_then(|target| target.strip_prefix("#/$defs/")) {
        Some(name) => &root["$defs"][name],
        None => property,
    }
}

fn write_comment(text: &mut String, property: &Value) {
    for line in property["description"].as_str().into_iter().flat_map(str::lines) {
        *text += &format!("# {line}\n");
    }
}

/// Writes a plain value as TOML; text and numbers look the same in JSON, but for control characters, which names do not have.
fn toml_value(value: &Value) -> String {
    match value {
        Value::Array(values) => {
            format!("[{}]", values.iter().map(toml_value).collect::<Vec<_>>().join(", "))
        }
        other => other.to_string(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::document::{SCHEMA_NAMES, read_kitchen, start_kitchen};

    #[test]
    fn the_commented_kitchen_reads_back_as_the_built_in_one() {
        let text = kitchen_toml_with_comments();
        assert_eq!(read_kitchen(&text).expect("it reads"), start_kitchen());
        assert!(
            text.contains("# Wet depth of a base flood. Source: common practice, no source"),
            "{text}"
        );
    }

    #[test]
    fn every_key_of_every_file_is_explained() {
        for name in SCHEMA_NAMES {
            let schema = schema(name).expect("a schema");
            let empty = serde_json::Map::new();
            for (part, definition) in definitions(&schema) {
                for (key, property) in definition["properties"].as_object().unwrap_or(&empty) {
                    assert!(property["description"].is_string(), "{name}: {part}.{key}");
                }
            }
        }
    }

    #[test]
    fn the_reference_pages_in_docs_are_up_to_date() {
        for (name, page) in [
            ("order", include_str!("../../../../docs/order-file.md")),
            ("kitchen", include_str!("../../../../docs/kitchen-file.md")),
            ("choices", include_str!("../../../../docs/choices-file.md")),
            ("plan", include_str!("../../../../docs/plan-file.md")),
            ("art", include_str!("../../../../docs/art-file.md")),
            ("settle-request", include_str!("../../../../docs/settle-request-file.md")),
            ("settle-answer", include_str!("../../../../docs/settle-answer-file.md")),
            ("dry-request", include_str!("../../../../docs/dry-request-file.md")),
            ("dry-answer", include_str!("../../../../docs/dry-answer-file.md")),
            ("tint-request", include_str!("../../../../docs/tint-request-file.md")),
            ("tint-answer", include_str!("../../../../docs/tint-answer-file.md")),
            ("sequence-request", include_str!("../../../../docs/sequence-request-file.md")),
            ("sequence-answer", include_str!("../../../../docs/sequence-answer-file.md")),
            ("schedule-request", include_str!("../../../../docs/schedule-request-file.md")),
            ("schedule-answer", include_str!("../../../../docs/schedule-answer-file.md")),
            ("nest-request", include_str!("../../../../docs/nest-request-file.md")),
            ("nest-answer", include_str!("../../../../docs/nest-answer-file.md")),
        ] {
            let expected = reference(name).expect("a page");
            assert!(
                page == expected,
                "docs/{name}-file.md is stale; `cargo xtask bless` rewrites it"
            );
        }
    }
}
