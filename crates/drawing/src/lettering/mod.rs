//! How is this wording set on the cookie, how long is what is piped, and can it be read?
//!
//! Two ways to letter: *piped* in one stroke a letter, from the single-stroke alphabets of Hershey, and *flooded*
//! between the outlines of a font.
//! Text stands on a line, around a circle, or in a box; letters keep their form on a circle, so what is piped there
//! is as long as on a line.
//! In a box, lines break between words and the letters shrink until all of it fits; around a circle they shrink until
//! the last letter stays off the first.
//!
//! Size is given as the *x-height*, the height of an x, because the letters without ascenders decide whether a word
//! can be read.
//! An e crosses itself three times over its height, with two gaps between: below four widths of the bead the gaps are
//! narrower than half a bead and run together ([`LEAST_X_HEIGHT_BEADS`]; common practice, no source).
//!
//! Source of the alphabets: A. V. Hershey, "Calligraphy for computers", U.S. Naval Weapons Laboratory report 2101, 1967.
//!
//! # Worked example
//! The x of the print alphabet is two diagonals over a box 347 wide and 441 high; 8 mm high they are
//! 2 · 8 · √(347² + 441²) / 441 = 20.36 mm long.
//! ```
//! use drawing::lettering::{Alphabet, Setting, pipe};
//! use quantity::Length;
//!
//! let piped = pipe("x", Alphabet::Print, Length::mm(8.0), Setting::Line);
//! assert!((piped.length().to_mm() - 20.36).abs() < 0.01);
//! ```

mod alphabet;
mod flood;
mod layout;

use kurbo::{BezPath, Cap, Join, PathEl, Stroke, StrokeOpts};
use quantity::Length;

use crate::{
    fact::Fact,
    region::{FillRule, Region, distance},
};

pub use alphabet::Alphabet;
pub use flood::{Flooded, flood};

/// Least height of an x, in widths of the bead it is piped with (common practice, no source).
pub const LEAST_X_HEIGHT_BEADS: f64 = 4.0;

/// Most letters of one wording: more than any cookie holds.
const MOST_LETTERS: usize = 500;

/// Where text is set.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Setting {
    /// On a straight line; the middle of its baseline is the origin.
    Line,
    /// Around a circle, the middle of the text at the origin.
    ///
    /// A positive radius runs over the top of the circle, a negative one along its bottom.
    Arc {
        /// Radius of the baseline.
        radius: Length,
    },
    /// In a box whose upper left corner is the origin, lines centered.
    Box {
        /// Width of the box.
        width: Length,
        /// Height of the box.
        height: Length,
    },
}

/// Text piped in single strokes.
#[derive(Clone, Debug, PartialEq)]
pub struct Piped {
    /// Center lines, each piped without lifting, in millimeters, y down.
    pub strokes: Vec<Vec<[f64; 2]>>,
    /// Height of an x as set: no more than asked for.
    pub x_height: Length,
    /// Letters the alphabet does not have.
    pub facts: Vec<Fact>,
}

/// Sets text in single strokes, an x no higher than `x_height`; letters the alphabet lacks are left out and told.
///
/// Anything behind the first 500 letters is left out.
pub fn pipe(text: &str, alphabet: Alphabet, x_height: Length, setting: Setting) -> Piped {
    let letters = alphabet.letters();
    let mut facts = Vec::new();
    let mut words: Vec<layout::Word> = Vec::new();
    let text: String = text.chars().take(MOST_LETTERS).collect();
    for word in text.split_whitespace() {
        let mut set = layout::Word::default();
        for letter in word.chars() {
            match letters.get(&letter).or_else(|| letters.get(&plain(letter))) {
                Some(form) => set.add(form),
                None => {
                    let missing = Fact::LetterMissing { letter };
                    if !facts.contains(&missing) {
                        facts.push(missing);
                    }
                }
            }
        }
        words.push(set);
    }
    let asked = x_height.to_mm() / alphabet.x_height();
    let (strokes, scale) = layout::set(&words, alphabet.metrics(), asked, setting);
    Piped { strokes, x_height: Length::mm(scale * alphabet.x_height()), facts }
}

/// Returns the mark of a typewriter for one of print, else the letter itself.
fn plain(letter: char) -> char {
    match letter {
        '\u{2018}' | '\u{2019}' => '\'',
        '\u{201c}' | '\u{201d}' | '\u{201e}' => '"',
        '\u{2010}'..='\u{2015}' => '-',
        other => other,
    }
}

impl Piped {
    /// Returns the length of all strokes.
    pub fn length(&self) -> Length {
        let of = |stroke: &Vec<[f64; 2]>| -> f64 {
            stroke.windows(2).map(|pair| distance(pair[0], pair[1])).sum()
        };
        Length::mm(self.strokes.iter().map(of).sum())
    }

    /// Returns what a round bead of this width covers.
    pub fn covered(&self, bead: Length) -> Region {
        let width = bead.to_mm();
        if !(width.is_finite() && width > 0.0) {
            return Region::default();
        }
        let line = Stroke::new(width).with_caps(Cap::Round).with_join(Join::Round);
        let mut rings: Vec<Vec<[f64; 2]>> = Vec::new();
        for stroke in &self.strokes {
            let mut path = BezPath::new();
            for (place, &[x, y]) in stroke.iter().enumerate() {
                let element = if place == 0 { PathEl::MoveTo } else { PathEl::LineTo };
                path.push(element((x, y).into()));
            }
            let covered = kurbo::stroke(path, &line, &StrokeOpts::default(), CHORD_MM);
            kurbo::flatten(covered, CHORD_MM, |element| match element {
                PathEl::MoveTo(to) => rings.push(vec![[to.x, to.y]]),
                PathEl::LineTo(to) => {
                    if let Some(ring) = rings.last_mut() {
                        ring.push([to.x, to.y]);
                    }
                }
                PathEl::QuadTo(..) | PathEl::CurveTo(..) | PathEl::ClosePath => {}
            });
        }
        Region::from_rings(&rings, FillRule::NonZero)
    }
}

/// Farthest a chord may run from its curve.
const CHORD_MM: f64 = 0.01;

/// Lettering that is lower than its bead can make readable.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct TooSmall {
    /// Height of an x as set.
    pub x_height: Length,
    /// Least height of an x for that bead.
    pub least: Length,
}

/// Tells whether lettering of this x-height is too small to be read when piped with this bead.
pub fn too_small(x_height: Length, bead: Length) -> Option<TooSmall> {
    let least = bead * LEAST_X_HEIGHT_BEADS;
    (x_height < least).then_some(TooSmall { x_height, least })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn check(text: &str, setting: Setting) -> Piped {
        let piped = pipe(text, Alphabet::Script, Length::mm(6.0), setting);
        assert!(piped.facts.is_empty(), "{text}: {:?}", piped.facts);
        piped
    }

    fn extent(piped: &Piped) -> [f64; 4] {
        let points = piped.strokes.iter().flatten();
        points.fold([f64::MAX, f64::MAX, f64::MIN, f64::MIN], |[l, t, r, b], &[x, y]| {
            [l.min(x), t.min(y), r.max(x), b.max(y)]
        })
    }

    #[test]
    fn letters_keep_their_length_around_a_circle() {
        let line = check("Happy Birthday", Setting::Line);
        for radius in [30.0, -30.0] {
            let arc = check("Happy Birthday", Setting::Arc { radius: Length::mm(radius) });
            assert!((arc.length().to_mm() - line.length().to_mm()).abs() < 1e-6);
            // Seen from the center every point lies within the letters' height of the radius.
            for &[x, y] in arc.strokes.iter().flatten() {
                let off = x.hypot(y - radius) - 30.0;
                assert!(off.abs() < 16.0, "{off}");
            }
        }
    }

    #[test]
    fn around_a_small_circle_letters_shrink_until_the_last_stays_off_the_first() {
        let long = "Happy Birthday Grandma";
        let wide = check(long, Setting::Arc { radius: Length::mm(80.0) });
        assert_eq!(wide.x_height, Length::mm(6.0));
        for radius in [12.0, -12.0] {
            let small = check(long, Setting::Arc { radius: Length::mm(radius) });
            assert!(small.x_height < Length::mm(6.0));
            let around = std::f64::consts::TAU * 12.0;
            let line = check(long, Setting::Line);
            let [left, _, right, _] = extent(&line);
            let width = (right - left) * small.x_height.to_mm() / 6.0;
            assert!(width < around, "{width} {around}");
        }
    }

    #[test]
    fn a_line_is_centered_on_its_baseline() {
        let [left, top, right, bottom] = extent(&check("mum", Setting::Line));
        assert!((left + right).abs() < 6.0, "{left} {right}");
        assert!(top > -6.5 && top < -5.5 && bottom.abs() < 0.1, "{top} {bottom}");
    }

    #[test]
    fn text_in_a_box_breaks_into_lines_and_shrinks_until_it_fits() {
        let (width, height) = (Length::mm(50.0), Length::mm(30.0));
        for text in
            ["Zoe", "Happy Birthday dear Zoe", "A very long wish for a very small cookie indeed"]
        {
            let piped = check(text, Setting::Box { width, height });
            let [left, top, right, bottom] = extent(&piped);
            assert!(left > -1.0 && right < 51.0 && top > -0.5 && bottom < 30.5, "{text}");
            assert!(
                piped.x_height <= Length::mm(6.0) && piped.x_height > Length::mm(1.0),
                "{text}"
            );
        }
        assert_eq!(check("Zoe", Setting::Box { width, height }).x_height, Length::mm(6.0));
    }

    #[test]
    fn a_letter_without_form_is_told_once_and_left_out() {
        let piped = pipe("a字字a", Alphabet::Print, Length::mm(5.0), Setting::Line);
        assert_eq!(piped.facts, [Fact::LetterMissing { letter: '字' }]);
        let print = pipe("it\u{2019}s", Alphabet::Print, Length::mm(5.0), Setting::Line);
        assert_eq!(print.facts, []);
        let two = pipe("aa", Alphabet::Print, Length::mm(5.0), Setting::Line);
        assert_eq!(piped.strokes, two.strokes);
    }

    #[test]
    fn a_bead_along_a_straight_stroke_is_a_stadium() {
        // The l of the print alphabet is one stroke of 662 where an x is 441 high: 12.01 mm at 8 mm.
        let piped = pipe("l", Alphabet::Print, Length::mm(8.0), Setting::Line);
        let (length, bead) = (piped.length().to_mm(), 1.5);
        assert!((length - 8.0 * 662.0 / 441.0).abs() < 1e-6, "{length}");
        let area = piped.covered(Length::mm(bead)).area().to_mm2();
        let stadium = length * bead + std::f64::consts::PI / 4.0 * bead * bead;
        assert!((area - stadium).abs() < 0.01 * stadium, "{area} instead of {stadium}");
    }

    #[test]
    fn small_letters_are_told_with_the_height_they_need() {
        let bead = Length::mm(1.5);
        assert_eq!(too_small(Length::mm(6.0), bead), None);
        let fact = too_small(Length::mm(4.0), bead);
        let expected = TooSmall { x_height: Length::mm(4.0), least: Length::mm(6.0) };
        assert_eq!(fact, Some(expected));
    }

    #[test]
    fn senseless_sizes_give_no_strokes_and_do_no_harm() {
        for size in [0.0, -1.0, f64::NAN, f64::INFINITY] {
            for setting in [
                Setting::Line,
                Setting::Arc { radius: Length::mm(size) },
                Setting::Box { width: Length::mm(size), height: Length::mm(20.0) },
            ] {
                let piped = pipe("abc", Alphabet::Script, Length::mm(size), setting);
                assert!(piped.strokes.is_empty(), "{size} {setting:?}");
            }
        }
        let straight =
            pipe("abc", Alphabet::Script, Length::mm(5.0), Setting::Arc { radius: Length::ZERO });
        assert!(straight.strokes.is_empty());
    }
}
