//! Flooded letters: the insides of a font's outlines at true size.

use std::fmt::Write;

use quantity::Length;

use crate::{
    artwork::{Fonts, import},
    design::{ReadOptions, read},
    error::Error,
    fact::Fact,
    lettering::{MOST_LETTERS, Setting, alphabet::Metrics, layout},
    region::Region,
};

/// Text as areas to flood.
#[derive(Clone, Debug, PartialEq)]
pub struct Flooded {
    /// What the letters cover, in millimeters, y down.
    pub letters: Region,
    /// Height of an x as set: no more than asked for.
    pub x_height: Length,
    /// Letters no font has.
    pub facts: Vec<Fact>,
}

/// Side of the page text is set on; letters beyond it are cut off.
const PAGE_MM: f64 = 900.0;

/// Size a font is measured at.
const PROBE_MM: f64 = 50.0;

/// Sets text in the first of the fonts, an x no higher than `x_height`.
///
/// # Errors
/// There is no font, or nothing of the text can be seen.
pub fn flood(
    text: &str,
    fonts: &Fonts,
    x_height: Length,
    setting: Setting,
) -> Result<Flooded, Error> {
    if fonts.is_empty() {
        return Err(Error::NoFont);
    }
    let text: String = text.chars().take(MOST_LETTERS).collect();
    let words: Vec<&str> = text.split_whitespace().collect();
    let asked = x_height.to_mm();
    if words.is_empty() || !(asked.is_finite() && asked > 0.0) {
        return Err(Error::NothingPainted);
    }
    let probe = measure("x", fonts)?;
    // Size of the font at which an x is one millimeter high.
    let size_per_x = PROBE_MM / probe.height;
    let size = asked * size_per_x;
    match setting {
        Setting::Line => {
            let line = format!(r#"<text x="0" y="0">{}</text>"#, escaped(&words.join(" ")));
            placed(&line, size, asked, fonts)
        }
        Setting::Arc { radius } => {
            let radius = radius.to_mm();
            let curve = circle(radius).ok_or(Error::NothingPainted)?;
            let line = format!(
                r##"<defs><path id="baseline" d="{curve}"/></defs><text><textPath href="#baseline" startOffset="50%">{}</textPath></text>"##,
                escaped(&words.join(" "))
            );
            placed(&line, size, asked, fonts)
        }
        Setting::Box { width, height } => {
            let sides = [width.to_mm(), height.to_mm()];
            if !sides.iter().all(|side| side.is_finite() && *side > 0.0) {
                return Err(Error::NothingPainted);
            }
            // In units of the font's size.
            let widths = words
                .iter()
                .map(|word| measure(word, fonts).map(|word| word.width / PROBE_MM))
                .collect::<Result<Vec<f64>, Error>>()?;
            let metrics = METRICS;
            let fitting = layout::largest_fitting(&widths, metrics, size, sides);
            let lines = layout::lines(&widths, metrics.space, sides[0] / fitting);
            let n_steps = lines.len().saturating_sub(1) as f64;
            let used = metrics.ascent + metrics.descent + metrics.step * n_steps;
            let top = (sides[1] - fitting * used) / 2.0;
            let mut all = String::new();
            for (place, line) in lines.into_iter().enumerate() {
                let y = top + fitting * (metrics.ascent + metrics.step * place as f64);
                let words = words.get(line).unwrap_or_default().join(" ");
                write!(all, r#"<text x="{}" y="{y}">{}</text>"#, sides[0] / 2.0, escaped(&words))
                    .expect("writing to a string does not fail");
            }
            placed(&all, fitting, fitting / size_per_x, fonts)
        }
    }
}

/// Heights and spaces of a usual font, in ems (common practice, no source).
const METRICS: Metrics = Metrics { ascent: 0.75, descent: 0.22, step: 1.1, space: 0.36 };

/// The box around a word at [`PROBE_MM`].
struct Probe {
    width: f64,
    height: f64,
}

fn measure(word: &str, fonts: &Fonts) -> Result<Probe, Error> {
    let line = format!("<text>{}</text>", escaped(word));
    let (letters, _) = set(&line, PROBE_MM, fonts)?;
    let bounds = letters.bounds().ok_or(Error::NothingPainted)?;
    Ok(Probe { width: bounds.width().to_mm(), height: bounds.height().to_mm() })
}

fn placed(content: &str, size: f64, x_height_mm: f64, fonts: &Fonts) -> Result<Flooded, Error> {
    let (letters, facts) = set(content, size, fonts)?;
    Ok(Flooded { letters, x_height: Length::mm(x_height_mm), facts })
}

/// Sets elements of text whose origin is the middle of the page and returns what they cover.
fn set(content: &str, size: f64, fonts: &Fonts) -> Result<(Region, Vec<Fact>), Error> {
    let half = PAGE_MM / 2.0;
    let svg = format!(
        r#"<svg xmlns="http://www.w3.org/2000/svg" width="{PAGE_MM}mm" height="{PAGE_MM}mm" viewBox="-{half} -{half} {PAGE_MM} {PAGE_MM}"><rect id="outline" x="-{half}" y="-{half}" width="{PAGE_MM}" height="{PAGE_MM}" fill="none"/><g font-size="{size}" text-anchor="middle">{content}</g></svg>"#
    );
    let artwork = import(svg.as_bytes(), fonts)?;
    let options = ReadOptions { width: Some(Length::mm(PAGE_MM)), border: Length::ZERO };
    let drawing = read(&artwork, &options)?;
    let painted: Vec<&Region> = drawing.shapes.iter().map(|shape| &shape.painted).collect();
    let letters = Region::union(&painted).translated(Length::mm(-half), Length::mm(-half));
    let missing = |fact: &Fact| matches!(fact, Fact::LetterMissing { .. });
    Ok((letters, drawing.facts.into_iter().filter(missing).collect()))
}

/// Path data of a circle that touches the origin, its middle there; nothing for no radius.
fn circle(radius: f64) -> Option<String> {
    if !radius.is_finite() || radius == 0.0 {
        return None;
    }
    // From the far side around to the far side, so that half its length lies at the origin.
    let (size, far, sweep) = (radius.abs(), 2.0 * radius, u8::from(radius > 0.0));
    Some(format!("M0 {far}A{size} {size} 0 0 {sweep} 0 0A{size} {size} 0 0 {sweep} 0 {far}"))
}

fn escaped(text: &str) -> String {
    let mut escaped = String::new();
    for letter in text.chars() {
        match letter {
            '&' => escaped.push_str("&amp;"),
            '<' => escaped.push_str("&lt;"),
            '>' => escaped.push_str("&gt;"),
            letter if letter.is_control() => {}
            letter => escaped.push(letter),
        }
    }
    escaped
}

#[cfg(test)]
mod tests {
    use super::*;

    fn fonts() -> Fonts {
        // The font drawings are set in, see the folder it stands in for its license.
        let font = include_bytes!("../../../sugarwright/assets/font/Quicksand-Bold.ttf");
        Fonts::from_bytes([font.to_vec()])
    }

    fn check(text: &str, setting: Setting) -> Flooded {
        flood(text, &fonts(), Length::mm(8.0), setting).expect("the font has these letters")
    }

    #[test]
    fn an_x_is_as_high_as_asked_and_stands_on_the_origin() {
        let bounds = check("x", Setting::Line).letters.bounds().expect("letters");
        assert!((bounds.height().to_mm() - 8.0).abs() < 0.02, "{bounds:?}");
        // The feet of this font are round and reach a little below the line.
        assert!(
            bounds.max_y.abs() < 0.05 && (bounds.min_x + bounds.max_x).abs() < 0.5,
            "{bounds:?}"
        );
    }

    #[test]
    fn letters_around_a_circle_cover_as_much_as_on_a_line() {
        let line = check("Happy Birthday", Setting::Line).letters.area().to_mm2();
        for radius in [40.0, -40.0] {
            let arc = check("Happy Birthday", Setting::Arc { radius: Length::mm(radius) });
            let area = arc.letters.area().to_mm2();
            assert!((area - line).abs() < 0.005 * line, "{area} {line}");
            let bounds = arc.letters.bounds().expect("letters");
            assert!((bounds.min_x + bounds.max_x).abs() < 3.0, "{bounds:?}");
        }
    }

    #[test]
    fn text_in_a_box_stays_in_it() {
        let (width, height) = (Length::mm(60.0), Length::mm(40.0));
        let flooded = check("Thank you & good luck", Setting::Box { width, height });
        let bounds = flooded.letters.bounds().expect("letters");
        assert!(
            bounds.min_x > -0.5
                && bounds.max_x < 60.5
                && bounds.min_y > -0.5
                && bounds.max_y < 40.5,
            "{bounds:?}"
        );
        assert!(flooded.x_height <= Length::mm(8.0));
    }

    #[test]
    fn nothing_to_set_is_an_error() {
        let none = flood("a", &Fonts::none(), Length::mm(8.0), Setting::Line);
        assert_eq!(none, Err(Error::NoFont));
        for size in [0.0, f64::NAN] {
            assert!(flood("a", &fonts(), Length::mm(size), Setting::Line).is_err());
        }
        assert!(flood("  ", &fonts(), Length::mm(8.0), Setting::Line).is_err());
    }
}
