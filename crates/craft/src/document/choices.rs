//! `designs/NAME.toml`, format 1: the maker's choices for sections of a drawing.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use crate::{
    document::{
        FileError,
        error::{BadValue, from_toml},
    },
    order::SectionChoice,
    technique::{Onto, Technique},
};

/// The maker's choices for one drawing.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
#[schemars(title = "designs/NAME.toml")]
pub struct ChoicesDocument {
    /// The format of this file: 1.
    #[serde(default = "first_format")]
    pub format: u32,
    /// One entry for each section with a choice.
    #[serde(default)]
    pub section: Vec<SectionChoiceDocument>,
}

/// A choice for one section.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct SectionChoiceDocument {
    /// Id of the element in the drawing.
    pub id: String,
    /// How it is done: flood, line, dot, lettering, stiff, transfer, stencil, airbrush, marker, paint, dust, print, sprinkle
    /// or naked; without it the proposal stays.
    pub technique: Option<String>,
    /// What it is laid on: cookie, wet, skin, set or dry; without it the proposal stays.
    pub onto: Option<String>,
}

/// The only format so far.
pub(super) fn first_format() -> u32 {
    1
}

/// Refuses any other format.
pub(super) fn check_format(format: u32) -> Result<(), BadValue> {
    if format == first_format() {
        Ok(())
    } else {
        Err(BadValue::new(
            "format",
            format!("{format} is unknown to this version; it reads format 1"),
        ))
    }
}

/// Reads the choices for a drawing; `file` names it in messages.
///
/// # Errors
/// The text is no such document, or a technique or ground is unknown.
pub fn read_choices(text: &str, file: &str) -> Result<Vec<SectionChoice>, FileError> {
    let document: ChoicesDocument = from_toml(file, text)?;
    convert(document).map_err(|bad| bad.in_file(file, text))
}

fn convert(document: ChoicesDocument) -> Result<Vec<SectionChoice>, BadValue> {
    check_format(document.format)?;
    document
        .section
        .into_iter()
        .enumerate()
        .map(|(place, section)| {
            let technique = section
                .technique
                .map(|name| by_name("technique", &name, &Technique::NAMES))
                .transpose();
            let onto = section.onto.map(|name| by_name("onto", &name, &Onto::NAMES)).transpose();
            let within = |bad: BadValue| bad.within("section", place);
            Ok(SectionChoice {
                id: section.id,
                technique: technique.map_err(within)?,
                onto: onto.map_err(within)?,
            })
        })
        .collect()
}

/// Finds a value by its name in files.
pub(super) fn by_name<T: Copy>(
    key: &'static str,
    name: &str,
    names: &[(T, &'static str)],
) -> Result<T, BadValue> {
    names.iter().find(|(_, known)| *known == name).map(|(value, _)| *value).ok_or_else(|| {
        let known: Vec<&str> = names.iter().map(|(_, known)| *known).collect();
        BadValue::new(
            key,
            format!("\"{name}\" is not possible here; write one of {}", known.join(", ")),
        )
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn choices_are_read_by_name_or_refused_with_the_names_there_are() {
        let text = "[[section]]\nid = \"eye\"\ntechnique = \"marker\"\nonto = \"dry\"\n";
        let choices = read_choices(text, "designs/gull.toml").expect("choices");
        let expected = SectionChoice {
            id: "eye".into(),
            technique: Some(Technique::Marker),
            onto: Some(Onto::Dry),
        };
        assert_eq!(choices, [expected]);

        let error =
            read_choices(&text.replace("dry", "damp"), "designs/gull.toml").expect_err("refused");
        assert_eq!(
            error.to_string(),
            "designs/gull.toml line 4: section.onto: \"damp\" is not possible here; write one of cookie, wet, skin, set, dry"
        );
        let error = read_choices("format = 2", "designs/gull.toml").expect_err("refused");
        assert_eq!(
            error.to_string(),
            "designs/gull.toml line 1: format: 2 is unknown to this version; it reads format 1"
        );
    }
}
