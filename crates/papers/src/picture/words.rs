//! Words in pictures: how wide they run and where they break.

use super::{
    palette::{INK, MOON, SOFT_INK},
    svg::Element,
};
use crate::words::NO_BREAK;

/// The bundled font first; whoever lacks it sees the usual sans serif.
const FAMILY: &str = "Quicksand, sans-serif";

/// Height of a line over the size of its letters.
pub(super) const LINE: f64 = 1.3;

/// Where a text stands relative to its point.
#[derive(Clone, Copy, Debug)]
pub(super) enum Anchor {
    Start,
    Middle,
    End,
}

/// How important words are.
#[derive(Clone, Copy, Debug)]
pub(super) enum Weight {
    Chief,
    Side,
    /// On the night's dark ground.
    Night,
}

/// Sets one line; `point` lies on its baseline.
pub(super) fn line(
    words: &str,
    point: [f64; 2],
    size: f64,
    anchor: Anchor,
    weight: Weight,
) -> Element {
    let [x, y] = point;
    Element::text(words)
        .set("x", x)
        .set("y", y)
        .set("font-family", FAMILY)
        .set("font-weight", "700")
        .set("font-size", size)
        .set(
            "text-anchor",
            match anchor {
                Anchor::Start => "start",
                Anchor::Middle => "middle",
                Anchor::End => "end",
            },
        )
        .fill(match weight {
            Weight::Chief => INK,
            Weight::Side => SOFT_INK,
            Weight::Night => MOON,
        })
}

/// Lines of one size below each other.
#[derive(Clone, Debug)]
pub(super) struct Paragraph {
    pub(super) lines: Vec<String>,
    pub(super) size: f64,
    pub(super) weight: Weight,
}

impl Paragraph {
    /// Breaks words into lines no wider than `width`.
    pub(super) fn new(words: &str, size: f64, weight: Weight, width: f64) -> Self {
        Self { lines: broken(words, size, width), size, weight }
    }

    pub(super) fn height(&self) -> f64 {
        self.lines.len() as f64 * self.size * LINE
    }
}

/// Height of paragraphs below each other.
pub(super) fn height_of(paragraphs: &[Paragraph]) -> f64 {
    paragraphs.iter().map(Paragraph::height).sum()
}

/// Sets paragraphs below each other, their upper end at `point`.
pub(super) fn set(paragraphs: &[Paragraph], point: [f64; 2], anchor: Anchor) -> Vec<Element> {
    let [x, mut y] = point;
    let mut elements = Vec::new();
    for paragraph in paragraphs {
        for words in &paragraph.lines {
            y += paragraph.size * LINE;
            // The letters stand a little above the foot of their line.
            let baseline = y - paragraph.size * (LINE - 1.0);
            elements.push(line(words, [x, baseline], paragraph.size, anchor, paragraph.weight));
        }
    }
    elements
}

/// Returns how wide a line may run at most, by the advance widths of Quicksand Bold rounded up to a few classes.
pub(super) fn width_of(words: &str, size: f64) -> f64 {
    let advance = |letter: char| match letter {
        'i' | 'j' | 'l' | 'I' | '.' | ',' | ':' | ';' | '\'' | '|' | '!' | ' ' => 0.3,
        'f' | 'r' | 't' | '-' | '"' | '*' | '(' | ')' => 0.44,
        'c' | 's' | 'x' | 'z' => 0.52,
        'm' | 'M' | 'W' | '@' | '%' => 0.97,
        'a'..='v' | 'y' | '0'..='3' | '5'..='9' => 0.64,
        NO_BREAK => 0.3,
        '×' => 0.64,
        _ if letter.is_ascii() => 0.77,
        _ => 1.0,
    };
    words.chars().map(advance).sum::<f64>() * size
}

/// Breaks words into lines no wider than `width`; a word that is wider is broken itself.
fn broken(words: &str, size: f64, width: f64) -> Vec<String> {
    let mut lines = Vec::new();
    let mut current = String::new();
    for word in words.split(' ').filter(|word| !word.is_empty()) {
        let joined = if current.is_empty() { word.to_owned() } else { format!("{current} {word}") };
        if width_of(&joined, size) <= width {
            current = joined;
            continue;
        }
        if !current.is_empty() {
            lines.push(std::mem::take(&mut current));
        }
        for letter in word.chars() {
            current.push(letter);
            if current.chars().count() > 1 && width_of(&current, size) > width {
                current.pop();
                lines.push(std::mem::replace(&mut current, letter.to_string()));
            }
        }
    }
    if !current.is_empty() {
        lines.push(current);
    }
    lines
}

#[cfg(test)]
mod tests {
    use std::sync::Arc;

    use resvg::usvg::{Options, Tree, fontdb::Database};

    use super::{super::svg::picture, *};
    use crate::words::counted;

    #[test]
    fn lines_break_between_words_and_inside_words_only_if_they_must() {
        // Letters of 0.64, spaces of 0.3, size 1: "aa bb" is 2.86 wide.
        assert_eq!(broken("aa bb cc", 1.0, 2.9), ["aa bb", "cc"]);
        assert_eq!(broken("aaaaa b", 1.0, 2.0), ["aaa", "aa", "b"]);
        assert_eq!(broken("mm", 1.0, 0.1), ["m", "m"]);
        assert_eq!(broken("  ", 1.0, 2.0), Vec::<String>::new());
    }

    #[test]
    fn no_line_runs_wider_than_told() {
        let mut fonts = Database::new();
        fonts.load_font_data(
            include_bytes!("../../../sugarwright/assets/font/Quicksand-Bold.ttf").to_vec(),
        );
        let options = Options { fontdb: Arc::new(fonts), ..Options::default() };
        let width = |words: &str| {
            let element = line(words, [5.0, 5.0], 1.0, Anchor::Start, Weight::Chief);
            let svg = picture("", [100.0, 10.0], [element]);
            let tree = Tree::from_str(&svg, &options).expect("it is SVG");
            f64::from(tree.root().abs_bounding_box().width()) * 25.4 / 96.0
        };
        for letter in ('!'..='~').chain("×éöß–½".chars()) {
            let words = letter.to_string().repeat(20);
            assert!(width(&words) <= width_of(&words, 1.0), "{words}: {}", width(&words));
        }
        for words in ["weigh out 420 g".to_owned(), counted(13, "name-round")] {
            let share = width(&words) / width_of(&words, 1.0);
            assert!((0.8..=1.0).contains(&share), "{words}: {share}");
        }
    }
}
