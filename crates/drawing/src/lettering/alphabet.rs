//! Single-stroke alphabets: center lines of letters.

use std::{collections::BTreeMap, sync::LazyLock};

/// A single-stroke alphabet.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Alphabet {
    /// Joined-up handwriting.
    Script,
    /// Separate upright letters.
    Print,
}

/// Center lines of one letter, y up, in thousandths of an em.
#[derive(Clone, Debug, Default)]
pub(super) struct Letter {
    /// How far the next letter stands.
    pub(super) advance: f64,
    pub(super) strokes: Vec<Vec<[f64; 2]>>,
}

/// Heights of an alphabet above and below its baseline, in thousandths of an em.
#[derive(Clone, Copy, Debug)]
pub(super) struct Metrics {
    pub(super) ascent: f64,
    pub(super) descent: f64,
    /// From one baseline to the next.
    pub(super) step: f64,
    pub(super) space: f64,
}

static SCRIPT: LazyLock<BTreeMap<char, Letter>> =
    LazyLock::new(|| read(include_str!("../../data/hershey_script.txt")));
static PRINT: LazyLock<BTreeMap<char, Letter>> =
    LazyLock::new(|| read(include_str!("../../data/hershey_print.txt")));

impl Alphabet {
    /// Every alphabet with its name.
    pub const NAMES: [(Self, &'static str); 2] = [(Self::Script, "script"), (Self::Print, "print")];

    pub(super) fn letters(self) -> &'static BTreeMap<char, Letter> {
        match self {
            Self::Script => &SCRIPT,
            Self::Print => &PRINT,
        }
    }

    /// Height of an x, in thousandths of an em.
    pub(super) fn x_height(self) -> f64 {
        match self {
            Self::Script => 284.0,
            Self::Print => 441.0,
        }
    }

    pub(super) fn metrics(self) -> Metrics {
        let step = match self {
            Self::Script => 950.0,
            Self::Print => 1050.0,
        };
        let space = self.letters().get(&' ').map_or(378.0, |space| space.advance);
        Metrics { ascent: 693.0, descent: 400.0, step, space }
    }
}

/// Reads the lines of a data file; a line that is none is left out, which a test would notice.
fn read(text: &str) -> BTreeMap<char, Letter> {
    text.lines().filter(|line| !line.starts_with('#')).filter_map(letter).collect()
}

fn letter(line: &str) -> Option<(char, Letter)> {
    let (code, rest) = line.split_once(' ')?;
    let (advance, strokes) = rest.split_once(' ').unwrap_or((rest, ""));
    let letter = char::from_u32(u32::from_str_radix(code, 16).ok()?)?;
    let point = |text: &str| -> Option<[f64; 2]> {
        let (x, y) = text.split_once(',')?;
        Some([x.parse().ok()?, y.parse().ok()?])
    };
    let stroke = |text: &str| text.split_whitespace().map(point).collect::<Option<Vec<_>>>();
    let strokes = strokes.split(';').filter(|text| !text.trim().is_empty()).map(stroke);
    Some((
        letter,
        Letter { advance: advance.parse().ok()?, strokes: strokes.collect::<Option<_>>()? },
    ))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_line_of_the_data_is_a_letter() {
        for (alphabet, data) in [
            (Alphabet::Script, include_str!("../../data/hershey_script.txt")),
            (Alphabet::Print, include_str!("../../data/hershey_print.txt")),
        ] {
            let n_lines = data.lines().filter(|line| !line.starts_with('#')).count();
            assert_eq!(alphabet.letters().len(), n_lines, "{alphabet:?}");
            for letter in ('!'..='~').chain("ÄÖÜäöüßÉéèñçøÅ".chars()) {
                let form = alphabet.letters().get(&letter);
                assert!(form.is_some_and(|form| !form.strokes.is_empty()), "{alphabet:?} {letter}");
            }
        }
    }

    #[test]
    fn the_x_height_is_that_of_the_x() {
        for alphabet in [Alphabet::Script, Alphabet::Print] {
            let x = &alphabet.letters()[&'x'];
            let top = x.strokes.iter().flatten().map(|[_, y]| *y).fold(f64::MIN, f64::max);
            assert_eq!(top, alphabet.x_height(), "{alphabet:?}");
        }
    }

    #[test]
    fn no_letter_reaches_beyond_the_line_it_is_given() {
        for alphabet in [Alphabet::Script, Alphabet::Print] {
            let Metrics { ascent, descent, .. } = alphabet.metrics();
            for letter in ('a'..='z').chain('A'..='Z').chain('0'..='9') {
                for &[_, y] in alphabet.letters()[&letter].strokes.iter().flatten() {
                    assert!(y <= ascent && y >= -descent, "{alphabet:?} {letter}: {y}");
                }
            }
        }
    }
}
