//! Single-stroke alphabets: center lines of letters.
//!
//! The data has few points, made for plotters of 1967; the curves between them are rounded here.

use std::{collections::BTreeMap, sync::LazyLock};

use kurbo::Vec2;

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
        let space = self.letters().get(&' ').map_or(378.0, |space| space.advance);
        // A descender stays off the ascender below it.
        Metrics { ascent: 693.0, descent: 400.0, step: 1150.0, space }
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
    let strokes = strokes.split(';').filter(|text| !text.trim().is_empty());
    let strokes = strokes.map(|text| stroke(text).map(|points| rounded(&points)));
    Some((
        letter,
        Letter { advance: advance.parse().ok()?, strokes: strokes.collect::<Option<_>>()? },
    ))
}

/// A bend of more than 60 degrees is a corner and stays one.
const CORNER_COSINE: f64 = 0.5;

/// A piece so many times longer than the next is straight, and the next sets out along it.
const STRAIGHT: f64 = 2.2;

/// Pieces a curved piece is divided into.
const N_PIECES: usize = 6;

/// Rounds a line through its points, leaving corners and long straight pieces as they are.
///
/// Between two points runs a cubic curve (Hermite) whose directions are those of the circles through three points.
fn rounded(points: &[[f64; 2]]) -> Vec<[f64; 2]> {
    let pieces: Vec<Vec2> = points
        .windows(2)
        .map(|pair| Vec2::new(pair[1][0] - pair[0][0], pair[1][1] - pair[0][1]))
        .collect();
    // Direction at the end of one piece and at the beginning of the next.
    let directions = |before: Vec2, after: Vec2| {
        let (l, m) = (before.hypot().max(1e-9), after.hypot().max(1e-9));
        let (one, other) = (before / l, after / m);
        if one.dot(other) < CORNER_COSINE {
            (one, other)
        } else if l > STRAIGHT * m {
            (one, one)
        } else if m > STRAIGHT * l {
            (other, other)
        } else {
            let both = one * m + other * l;
            let both = both / both.hypot().max(1e-9);
            (both, both)
        }
    };
    // Rounding must not make a letter higher than it is.
    let lowest = points.iter().map(|[_, y]| *y).fold(f64::INFINITY, f64::min);
    let highest = points.iter().map(|[_, y]| *y).fold(f64::NEG_INFINITY, f64::max);
    let mut line: Vec<[f64; 2]> = points.first().copied().into_iter().collect();
    for (place, (piece, from)) in pieces.iter().zip(points).enumerate() {
        let length = piece.hypot();
        let own = *piece / length.max(1e-9);
        let before = place.checked_sub(1).and_then(|place| pieces.get(place));
        let start = before.map_or(own, |&before| directions(before, *piece).1) * length;
        let end = pieces.get(place + 1).map_or(own, |&after| directions(*piece, after).0) * length;
        let is_straight = start.dot(own) > 0.9999 * length && end.dot(own) > 0.9999 * length;
        let n_pieces = if is_straight { 1 } else { N_PIECES };
        for step in 1..=n_pieces {
            let t = step as f64 / n_pieces as f64;
            let (t2, t3) = (t * t, t * t * t);
            let way =
                start * (t3 - 2.0 * t2 + t) + *piece * (3.0 * t2 - 2.0 * t3) + end * (t3 - t2);
            line.push([from[0] + way.x, (from[1] + way.y).clamp(lowest, highest)]);
        }
    }
    line
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
    fn rounding_keeps_straight_lines_and_corners_and_makes_a_circle_of_an_octagon() {
        let corner = [[0.0, 0.0], [100.0, 0.0], [100.0, 50.0]];
        assert_eq!(rounded(&corner), corner);
        let octagon: Vec<[f64; 2]> = (0..=8)
            .map(|step| {
                let (sin, cos) = (f64::from(step) * std::f64::consts::FRAC_PI_4).sin_cos();
                [100.0 * cos, 100.0 * sin]
            })
            .collect();
        let inner = rounded(&octagon);
        for [x, y] in inner.get(N_PIECES..7 * N_PIECES).expect("it has eight pieces") {
            assert!((x.hypot(*y) - 100.0).abs() < 1.0, "{x} {y}");
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
