//! What is wrong with a file, where, and what to do.

use serde::de::DeserializeOwned;

/// Why a file was refused: one sentence with the file, the line where it is known, and what to do.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("{file}{}: {message}", line.map(|line| format!(" line {line}")).unwrap_or_default())]
pub struct FileError {
    /// The file.
    pub file: String,
    /// The line, counted from 1, where it is known.
    pub line: Option<usize>,
    /// The value's key with the tables around it and their places, such as "item.1.count"; empty where it is not known.
    pub key: String,
    /// What is wrong and what to do.
    pub message: String,
}

impl FileError {
    /// Returns the key alone, and what is wrong with its value without the place, for those who show it at a field.
    pub fn at_field(&self) -> (&str, &str) {
        let key = self.key.rsplit('.').next().unwrap_or_default();
        let place = format!("{key}: ");
        (key, self.message.rsplit_once(&place).map_or(&self.message, |(_, words)| words))
    }
}

/// What is wrong with a value, before the file and line are known.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct BadValue {
    /// The tables around the key, outermost first, each with its place among tables of that name.
    pub(super) tables: Vec<(&'static str, usize)>,
    /// The key.
    pub(super) key: &'static str,
    /// What is wrong and what to do.
    pub(super) message: String,
}

/// Place of a table that there is only one of, in JSON.
const ONLY: usize = usize::MAX;

impl BadValue {
    pub(super) fn new(key: &'static str, message: impl Into<String>) -> Self {
        Self { tables: Vec::new(), key, message: message.into() }
    }

    /// A value without a key of its own: an entry of a list.
    pub(super) fn at(list: &'static str, place: usize, message: impl Into<String>) -> Self {
        Self::new("", message).within(list, place)
    }

    /// Puts the table around it.
    pub(super) fn within(mut self, table: &'static str, place: usize) -> Self {
        self.tables.insert(0, (table, place));
        self
    }

    /// Puts a table around it that there is only one of.
    pub(super) fn under(self, table: &'static str) -> Self {
        self.within(table, ONLY)
    }

    /// Names the file; the place is told as in "gels[2].drop_g".
    pub(super) fn in_json(self, file: &str) -> FileError {
        let table = |(table, place): &(&str, usize)| match *place {
            ONLY => format!("{table}."),
            place => format!("{table}[{place}]."),
        };
        let place = self.tables.iter().map(table).chain([self.key.to_owned()]).collect::<String>();
        // An entry of a list has no key.
        let key = place.trim_end_matches('.').to_owned();
        FileError {
            file: file.to_owned(),
            line: None,
            message: format!("{key}: {}", self.message),
            key,
        }
    }

    /// Names the file, and the line if the key stands in it.
    pub(super) fn in_file(self, file: &str, text: &str) -> FileError {
        let line = line_of(text, &self.tables, self.key);
        let place: String =
            self.tables
                .iter()
                .map(|(table, place)| {
                    if *place == 0 {
                        format!("{table}.")
                    } else {
                        format!("{table} {}: ", place + 1)
                    }
                })
                .collect();
        let tables = self.tables.iter().map(|(table, place)| format!("{table}.{place}."));
        FileError {
            file: file.to_owned(),
            line,
            key: tables.chain([self.key.to_owned()]).collect(),
            message: format!("{place}{}: {}", self.key, self.message),
        }
    }
}

/// Finds the line of `key = ` in the innermost table, or of the table itself if the key is missing.
fn line_of(text: &str, tables: &[(&str, usize)], key: &str) -> Option<usize> {
    let mut from = 0;
    let lines: Vec<&str> = text.lines().map(str::trim).collect();
    if let Some((table, place)) = tables.last() {
        let is_head = |line: &str| {
            let name = line.trim_start_matches('[').split(']').next().unwrap_or("").trim();
            line.starts_with('[') && name.rsplit('.').next() == Some(*table)
        };
        from = lines
            .iter()
            .enumerate()
            .filter(|(_, line)| is_head(line))
            .map(|(at, _)| at)
            .nth(*place)?
            + 1;
    }
    let until = lines[from..]
        .iter()
        .position(|line| line.starts_with('['))
        .map_or(lines.len(), |n| from + n);
    let is_key =
        |line: &str| line.strip_prefix(key).is_some_and(|rest| rest.trim_start().starts_with('='));
    lines[from..until]
        .iter()
        .position(|line| is_key(line))
        .map(|at| from + at + 1)
        .or((from > 0).then_some(from))
}

/// Reads a document from TOML.
pub(super) fn from_toml<T: DeserializeOwned>(file: &str, text: &str) -> Result<T, FileError> {
    toml::from_str(text).map_err(|error| {
        let line =
            error.span().map(|span| text.get(..span.start).unwrap_or(text).lines().count().max(1));
        // A span that starts a line counts as that line, not the one before.
        let starts_line = error.span().is_some_and(|span| {
            span.start > 0 && text.as_bytes().get(span.start - 1) == Some(&b'\n')
        });
        let line = line.map(|line| if starts_line { line + 1 } else { line });
        FileError {
            file: file.to_owned(),
            line,
            key: String::new(),
            message: plain_words(error.message()),
        }
    })
}

/// Reads a document from JSON.
pub(super) fn from_json<T: DeserializeOwned>(file: &str, text: &str) -> Result<T, FileError> {
    // Some editors write a mark at the start that says how the text is encoded.
    let text = text.trim_start_matches('\u{feff}');
    // The reader would take a list for the values of a table in their order.
    if text.trim_start().starts_with('[') {
        return Err(FileError {
            file: file.to_owned(),
            line: Some(1),
            key: String::new(),
            message: "it is a list; write names and values in braces".to_owned(),
        });
    }
    let refused = |error: &serde_json::Error, place: &str| {
        let told = error.to_string();
        let words = told.rsplit_once(" at line ").map_or(told.as_str(), |(words, _)| words);
        let (key, words) = match error.classify() {
            // A key that is not known is told with the table around it.
            serde_json::error::Category::Data if words.starts_with("unknown field") => {
                (place.rsplit_once('.').map_or("", |(table, _)| table), plain_words(words))
            }
            serde_json::error::Category::Data => (place, plain_words(words)),
            serde_json::error::Category::Eof => {
                ("", "it ends too early; close every brace, bracket and quotation mark".to_owned())
            }
            _ => ("", format!("at column {} it is no JSON ({words}); correct it", error.column())),
        };
        let message = if key.is_empty() { words } else { format!("{key}: {words}") };
        let line = Some(error.line().max(1));
        FileError { file: file.to_owned(), line, key: key.to_owned(), message }
    };
    let mut reader = serde_json::Deserializer::from_str(text);
    let read = serde_path_to_error::deserialize(&mut reader).map_err(|error| {
        let place = error.path().to_string();
        refused(error.inner(), if place == "." { "" } else { &place })
    })?;
    reader.end().map_err(|error| refused(&error, ""))?;
    Ok(read)
}

/// Turns the reader's words into the maker's.
fn plain_words(message: &str) -> String {
    let quoted: Vec<&str> = message.split('`').skip(1).step_by(2).collect();
    if message.starts_with("unknown field") {
        let (unknown, known) =
            quoted.split_first().map_or(("", &[][..]), |(first, rest)| (*first, rest));
        return match nearest(unknown, known) {
            Some(near) => format!("unknown key \"{unknown}\"; did you mean \"{near}\"?"),
            None => format!("unknown key \"{unknown}\"; known here are {}", known.join(", ")),
        };
    }
    if message.starts_with("unknown variant") {
        let (unknown, known) =
            quoted.split_first().map_or(("", &[][..]), |(first, rest)| (*first, rest));
        return format!("\"{unknown}\" is not possible here; write one of {}", known.join(", "));
    }
    if message.starts_with("missing field") {
        return format!("the key \"{}\" is missing; add it", quoted.first().unwrap_or(&""));
    }
    let mismatch = ["invalid type: ", "invalid value: "]
        .iter()
        .find_map(|start| message.strip_prefix(start)?.rsplit_once(", expected "));
    if let Some((is, wanted)) = mismatch {
        return format!("{} is not possible here; write {}", given(is), expected(wanted));
    }
    let mut words = message.trim_end_matches('.').replace('\n', "; ");
    if let Some(first) = words.get_mut(..1) {
        first.make_ascii_lowercase();
    }
    format!("{words}; correct it")
}

/// What was written, from the reader's words such as "integer `90`".
fn given(is: &str) -> String {
    match is.split_once(' ') {
        Some(("integer" | "boolean", value)) => value.replace('`', ""),
        Some(("floating", value)) => value.trim_start_matches("point ").replace('`', ""),
        Some(("string", value)) => value.to_owned(),
        _ => match is {
            "map" => "a table".to_owned(),
            "sequence" => "a list".to_owned(),
            "null" => "null".to_owned(),
            other => other.replace('`', ""),
        },
    }
}

/// What is wanted, from the reader's words such as "u64".
fn expected(wanted: &str) -> String {
    match wanted.trim_end_matches(" in").split(' ').next().unwrap_or_default() {
        "u64" | "u32" | "u16" | "u8" | "usize" => "a whole number, 0 or more".to_owned(),
        "i64" | "i32" => "a whole number".to_owned(),
        "f64" => "a number".to_owned(),
        "struct" | "map" => "names and values".to_owned(),
        _ => match wanted {
            "a string" => "text in quotation marks".to_owned(),
            "a boolean" => "true or false".to_owned(),
            "a sequence" => "a list".to_owned(),
            other => other.replace('`', ""),
        },
    }
}

/// The known key that is fewest edits away, if it is near.
pub(super) fn nearest<'a>(unknown: &str, known: &[&'a str]) -> Option<&'a str> {
    known
        .iter()
        .map(|key| (edits(unknown, key), *key))
        .min()
        .filter(|(n, key)| *n <= 2.max(key.len() / 4))
        .map(|(_, key)| key)
}

/// Number of letters to insert, remove, replace or swap (optimal string alignment) between two words.
fn edits(a: &str, b: &str) -> usize {
    let (a, b): (Vec<char>, Vec<char>) = (a.chars().take(64).collect(), b.chars().collect());
    let mut table = vec![vec![0; b.len() + 1]; a.len() + 1];
    for (i, row) in table.iter_mut().enumerate() {
        row[0] = i;
    }
    table[0] = (0..=b.len()).collect();
    for i in 1..=a.len() {
        for j in 1..=b.len() {
            let replaced = table[i - 1][j - 1] + usize::from(a[i - 1] != b[j - 1]);
            let mut least = replaced.min(table[i - 1][j] + 1).min(table[i][j - 1] + 1);
            if i > 1 && j > 1 && a[i - 1] == b[j - 2] && a[i - 2] == b[j - 1] {
                least = least.min(table[i - 2][j - 2] + 1);
            }
            table[i][j] = least;
        }
    }
    table[a.len()][b.len()]
}

#[cfg(test)]
mod tests {
    use super::{edits, from_json, line_of};

    #[test]
    fn edits_count_letters_and_swaps() {
        assert_eq!(edits("cuont", "count"), 1);
        assert_eq!(edits("", "abc"), 3);
        assert_eq!(edits("color", "colors"), 1);
    }

    #[test]
    fn what_a_reader_expects_is_said_in_plain_words_with_its_place() {
        #[derive(Debug, serde::Deserialize)]
        #[serde(deny_unknown_fields)]
        #[expect(dead_code, reason = "only its reading is tested")]
        struct Inner {
            qty: u64,
            share: f64,
        }
        #[derive(Debug, serde::Deserialize)]
        #[expect(dead_code, reason = "only its reading is tested")]
        struct Outer {
            items: Vec<Inner>,
        }
        let refusal = |text: &str| {
            from_json::<Outer>("a request", text).expect_err("it is refused").to_string()
        };
        let items = |inner: &str| refusal(&format!("{{\"items\": [{inner}]}}"));
        for (told, wanted) in [
            (
                items(r#"{"qty": -1, "share": 1}"#),
                "items[0].qty: -1 is not possible here; write a whole number, 0 or more",
            ),
            (
                items(r#"{"qty": 1, "share": 1}, {"qty": 1, "share": "2"}"#),
                "items[1].share: \"2\" is not possible here; write a number",
            ),
            (items(r#"{"share": 1}"#), "items[0]: the key \"qty\" is missing; add it"),
            (
                items(r#"{"qty": 1, "shares": 1}"#),
                "items[0]: unknown key \"shares\"; did you mean \"share\"?",
            ),
            (refusal(r#"{"items": 3}"#), "items: 3 is not possible here; write a list"),
            (refusal("{\"items\": ["), "it ends too early"),
            (refusal(""), "it ends too early"),
            (refusal("{\"items\": NaN}"), "at column 11 it is no JSON"),
            (refusal("{\"items\": []} more"), "it is no JSON (trailing characters)"),
        ] {
            assert!(told.starts_with("a request line 1: ") && told.contains(wanted), "{told}");
        }
        assert!(from_json::<Outer>("a request", "\u{feff}{\"items\": []}").is_ok());
    }

    #[test]
    fn a_key_is_found_in_its_own_table() {
        let text = "title = \"a\"\n[[item]]\ncount = 1\n\n[[item]]\nname = \"b\"\ncount = 0\n";
        assert_eq!(line_of(text, &[("item", 1)], "count"), Some(7));
        assert_eq!(line_of(text, &[("item", 0)], "count"), Some(3));
        assert_eq!(line_of(text, &[("item", 0)], "design"), Some(2));
        assert_eq!(line_of(text, &[], "title"), Some(1));
        assert_eq!(line_of(text, &[], "due"), None);
    }
}
