//! What the requests about time share: whole ticks, ids, windows and waits, each refused in words.

use std::collections::BTreeMap;

use serde::Deserialize;
use serde_json::Value;

use super::{
    FileError,
    error::{BadValue, from_json, nearest},
};

/// Longest duration and lag, in ticks.
pub(super) const MOST_TICKS: i64 = 1_000_000;
/// Latest opening, close and due time, in ticks.
pub(super) const MOST_TIME: i64 = 100_000_000;
/// Most evaluations of one request.
pub(super) const MOST_EVALUATIONS: i64 = 3_000_000;
/// Longest id in letters.
const MOST_LETTERS: usize = 100;
/// So many known ids are named where one is unknown.
const MOST_NAMED: usize = 12;

/// The start of every request about time.
#[derive(Deserialize)]
struct Head {
    format: Option<Value>,
}

/// Reads a request whose format has a name; another format is refused before its keys are.
pub(super) fn from_named_json<T: serde::de::DeserializeOwned>(
    file: &str,
    format: &'static str,
    text: &str,
) -> Result<T, FileError> {
    if text.trim_start().starts_with('{')
        && let Ok(Head { format: Some(given) }) = serde_json::from_str(text)
    {
        check_name(given.as_str().unwrap_or(&given.to_string()), format)
            .map_err(|bad| bad.in_json(file))?;
    }
    from_json(file, text)
}

/// Refuses any other format.
pub(super) fn check_name(given: &str, known: &'static str) -> Result<(), BadValue> {
    if given == known {
        return Ok(());
    }
    let given = shown(given);
    Err(BadValue::new(
        "format",
        format!("{given} is not read here; this command reads \"{known}\""),
    ))
}

/// Checks a whole number.
pub(super) fn whole(key: &'static str, value: i64, least: i64, most: i64) -> Result<i64, BadValue> {
    in_range(value, least, most).map_err(|message| BadValue::new(key, message))
}

/// Checks a whole number that has no key of its own.
pub(super) fn in_range(value: i64, least: i64, most: i64) -> Result<i64, String> {
    if (least..=most).contains(&value) {
        Ok(value)
    } else {
        Err(format!("{value} is outside {least} to {most}; correct it"))
    }
}

/// Refuses a list that is empty or longer than can be worked on in a moment.
pub(super) fn fill(
    key: &'static str,
    what: &'static str,
    n: usize,
    most: usize,
) -> Result<(), BadValue> {
    match n {
        0 => Err(BadValue::new(key, format!("there is no {what}; give at least one"))),
        _ => at_most(key, n, most),
    }
}

/// Refuses a list that is longer than can be worked on in a moment.
pub(super) fn at_most(key: &'static str, n: usize, most: usize) -> Result<(), BadValue> {
    if n <= most {
        return Ok(());
    }
    Err(BadValue::new(key, format!("{n} are too many; ask for {most} at once at most")))
}

/// A text as it is quoted in messages, on one line and not too long.
pub(super) fn shown(text: &str) -> String {
    let start: String = text.chars().take(MOST_LETTERS).collect();
    if start.len() < text.len() { format!("{start:?}...") } else { format!("{start:?}") }
}

/// Names of things of one kind, no two alike.
pub(super) struct Ids<'a> {
    what: &'static str,
    ids: Vec<&'a str>,
    places: BTreeMap<&'a str, usize>,
}

impl<'a> Ids<'a> {
    /// Numbers ids through; one that is empty, too long or there twice is refused at its place in `list`.
    pub(super) fn new(
        list: &'static str,
        what: &'static str,
        ids: impl Iterator<Item = &'a str>,
    ) -> Result<Self, BadValue> {
        let mut all = Self { what, ids: Vec::new(), places: BTreeMap::new() };
        for (place, id) in ids.enumerate() {
            let refused = |message: String| BadValue::new("id", message).within(list, place);
            if id.trim().is_empty() {
                return Err(refused(format!("the {what} has no id; give it one")));
            }
            if id.chars().count() > MOST_LETTERS {
                return Err(refused(format!(
                    "the id is longer than {MOST_LETTERS} letters; shorten it"
                )));
            }
            if let Some(earlier) = all.places.insert(id, place) {
                let id = shown(id);
                return Err(refused(format!(
                    "{id} is the id of {list}[{earlier}] too; give every {what} an id of its own"
                )));
            }
            all.ids.push(id);
        }
        Ok(all)
    }

    /// The place of an id, or what to do.
    pub(super) fn find(&self, id: &str) -> Result<usize, String> {
        self.places.get(id).copied().ok_or_else(|| {
            let (what, id_shown) = (self.what, shown(id));
            let hint = match nearest(id, &self.ids) {
                Some(near) => format!("did you mean {}?", shown(near)),
                None if self.ids.is_empty() => format!("there is no {what} at all"),
                None => format!("known here are {}", self.named()),
            };
            format!("there is no {what} {id_shown}; {hint}")
        })
    }

    fn named(&self) -> String {
        let more = if self.ids.len() > MOST_NAMED { " and others" } else { "" };
        let first = &self.ids[..self.ids.len().min(MOST_NAMED)];
        format!("{}{more}", first.join(", "))
    }

    /// The places of two ids that must differ.
    pub(super) fn pair(&self, a: &str, b: &str) -> Result<(usize, usize), String> {
        let (a, b) = (self.find(a)?, self.find(b)?);
        if a == b {
            let (what, id) = (self.what, shown(self.ids[a]));
            return Err(format!("the {what} {id} stands here twice; name two different ones"));
        }
        Ok((a, b))
    }
}

/// Checks windows: each ends after it opens, and none opens before the one in front of it ends.
pub(super) fn check_windows(list: &'static str, windows: &[(i64, i64)]) -> Result<(), BadValue> {
    let mut last = 0;
    for (place, &(open, close)) in windows.iter().enumerate() {
        let refused = |message: String| BadValue::at(list, place, message);
        in_range(open, 0, MOST_TIME).map_err(refused)?;
        in_range(close, 0, MOST_TIME).map_err(refused)?;
        if close <= open {
            return Err(refused(format!(
                "it opens at {open} and closes at {close}; close it later"
            )));
        }
        if open < last {
            return Err(refused(format!(
                "it opens at {open}, before the one in front of it closes at {last}; put them in order and join those that overlap"
            )));
        }
        last = close;
    }
    Ok(())
}

/// Returns the members of a circle of waits in the order they wait, or nothing if there is none.
pub(super) fn circle(n: usize, waits: &[(usize, usize)]) -> Option<Vec<usize>> {
    let mut n_before = vec![0_usize; n];
    let mut after = vec![Vec::new(); n];
    let mut before = vec![Vec::new(); n];
    for &(a, b) in waits {
        after[a].push(b);
        before[b].push(a);
        n_before[b] += 1;
    }
    let mut free: Vec<usize> = (0..n).filter(|&one| n_before[one] == 0).collect();
    while let Some(one) = free.pop() {
        for &next in &after[one] {
            n_before[next] -= 1;
            if n_before[next] == 0 {
                free.push(next);
            }
        }
    }
    // Whatever is left waits for something left: going backward ends on the circle.
    let mut walk = vec![(0..n).find(|&one| n_before[one] > 0)?];
    loop {
        let here = walk[walk.len() - 1];
        let next = before[here].iter().copied().find(|&one| n_before[one] > 0)?;
        if let Some(at) = walk.iter().position(|&one| one == next) {
            let mut circle = walk.split_off(at);
            circle.reverse();
            // It begins with the one that is listed first.
            let first = circle.iter().enumerate().min_by_key(|(_, one)| **one)?.0;
            circle.rotate_left(first);
            return Some(circle);
        }
        walk.push(next);
    }
}

/// A circle of waits in words.
pub(super) fn circle_words(circle: &[usize], id_of: impl Fn(usize) -> String) -> String {
    let ids: Vec<String> = circle.iter().chain(circle.first()).map(|&one| id_of(one)).collect();
    format!("{} wait for each other in a circle; take one of these waits out", ids.join(" > "))
}

/// Requests with something changed, for tests.
#[cfg(test)]
pub(super) mod changes {
    use serde_json::{Value, json};

    /// Sets one value anew; "-" as the last key adds it to a list.
    pub(in crate::document) fn set(mut request: Value, path: &str, value: Value) -> String {
        let (parent, key) = path.rsplit_once('/').expect("a path");
        match request.pointer_mut(parent).expect("a value to change") {
            Value::Array(list) => match key.parse::<usize>() {
                Ok(at) => list[at] = value,
                Err(_) => list.push(value),
            },
            parent => parent[key] = value,
        }
        request.to_string()
    }

    /// The request with each of its values in turn replaced by each of some that hardly make sense there.
    pub(in crate::document) fn all(request: &Value) -> Vec<String> {
        let odd = [
            json!(null),
            json!(-1),
            json!(0),
            json!(7),
            json!(1_000_000),
            json!(i64::MAX),
            json!(0.5),
            json!(""),
            json!("base"),
            json!([]),
            json!({}),
        ];
        let mut paths = Vec::new();
        walk(request, "", &mut paths);
        let changed =
            |path: &String| odd.clone().map(|value| set(request.clone(), path, value)).to_vec();
        paths.iter().flat_map(changed).collect()
    }

    fn walk(value: &Value, path: &str, paths: &mut Vec<String>) {
        if !path.is_empty() {
            paths.push(path.to_owned());
        }
        match value {
            Value::Array(list) => list
                .iter()
                .enumerate()
                .for_each(|(at, one)| walk(one, &format!("{path}/{at}"), paths)),
            Value::Object(table) => {
                table.iter().for_each(|(key, one)| walk(one, &format!("{path}/{key}"), paths));
            }
            _ => {}
        }
    }
}

#[cfg(test)]
mod tests {
    use super::circle;

    #[test]
    fn a_circle_is_found_behind_what_waits_for_it() {
        assert_eq!(circle(3, &[(2, 0), (0, 1)]), None);
        assert_eq!(circle(5, &[(0, 1), (1, 2), (2, 3), (3, 1), (3, 4)]), Some(vec![1, 2, 3]));
        assert_eq!(circle(1, &[(0, 0)]), Some(vec![0]));
    }
}
