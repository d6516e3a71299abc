//! A small SVG writer: elements with typed attributes, escaped once, lengths in millimeters.
//!
//! Only presentation attributes are written, no styles, no scripts, and no reference but to ids of the same picture.

use std::fmt::Write;

use drawing::Color;

/// An element, its attributes and what stands in it.
#[derive(Clone, Debug)]
pub(super) struct Element {
    name: &'static str,
    attributes: Vec<(&'static str, String)>,
    content: Content,
}

#[derive(Clone, Debug)]
enum Content {
    Elements(Vec<Element>),
    Text(String),
}

/// The value of an attribute, as it is written before escaping.
pub(super) struct Value(String);

impl From<f64> for Value {
    fn from(number: f64) -> Self {
        Self(plain(number))
    }
}

impl From<Color> for Value {
    fn from(color: Color) -> Self {
        Self(color.to_hex())
    }
}

impl From<&str> for Value {
    fn from(word: &str) -> Self {
        Self(word.to_owned())
    }
}

impl From<String> for Value {
    fn from(word: String) -> Self {
        Self(word)
    }
}

impl Element {
    pub(super) fn new(name: &'static str) -> Self {
        Self { name, attributes: Vec::new(), content: Content::Elements(Vec::new()) }
    }

    /// Groups elements, which are drawn one over the other.
    pub(super) fn group(children: impl IntoIterator<Item = Self>) -> Self {
        Self::new("g").with(children)
    }

    pub(super) fn rect([x, y]: [f64; 2], width: f64, height: f64) -> Self {
        Self::new("rect").set("x", x).set("y", y).set("width", width).set("height", height)
    }

    pub(super) fn circle([x, y]: [f64; 2], radius: f64) -> Self {
        Self::new("circle").set("cx", x).set("cy", y).set("r", radius)
    }

    pub(super) fn path(data: impl Into<Value>) -> Self {
        Self::new("path").set("d", data)
    }

    /// Draws what stands elsewhere in the same picture under this id.
    pub(super) fn reference(id: &str) -> Self {
        Self::new("use").set("href", format!("#{id}"))
    }

    pub(super) fn text(words: impl Into<String>) -> Self {
        Self { content: Content::Text(words.into()), ..Self::new("text") }
    }

    /// Sets an attribute; each name is set once.
    pub(super) fn set(mut self, name: &'static str, value: impl Into<Value>) -> Self {
        debug_assert!(self.attributes.iter().all(|(set, _)| *set != name), "{name} is set twice");
        self.attributes.push((name, value.into().0));
        self
    }

    /// Adds elements behind those already there; an element of text keeps its text.
    pub(super) fn with(mut self, children: impl IntoIterator<Item = Self>) -> Self {
        if let Content::Elements(elements) = &mut self.content {
            elements.extend(children);
        }
        self
    }

    pub(super) fn fill(self, color: Color) -> Self {
        self.set("fill", color)
    }

    pub(super) fn stroke(self, color: Color, width: f64) -> Self {
        self.set("stroke", color).set("stroke-width", width)
    }

    /// Moves the element right and down.
    pub(super) fn moved(self, [x, y]: [f64; 2]) -> Self {
        self.set("transform", format!("translate({} {})", plain(x), plain(y)))
    }

    /// Scales the element about its origin, then moves it.
    pub(super) fn scaled_and_moved(self, scale: f64, [x, y]: [f64; 2]) -> Self {
        self.set(
            "transform",
            format!("translate({} {}) scale({})", plain(x), plain(y), plain(scale)),
        )
    }

    /// Turns the element clockwise about its origin, then moves it.
    pub(super) fn turned_and_moved(self, degrees: f64, [x, y]: [f64; 2]) -> Self {
        self.set(
            "transform",
            format!("translate({} {}) rotate({})", plain(x), plain(y), plain(degrees)),
        )
    }

    /// Turns the element clockwise about a point.
    pub(super) fn turned_about(self, degrees: f64, [x, y]: [f64; 2]) -> Self {
        self.set("transform", format!("rotate({} {} {})", plain(degrees), plain(x), plain(y)))
    }

    fn write(&self, out: &mut String) {
        out.push('<');
        out.push_str(self.name);
        for (name, value) in &self.attributes {
            out.push(' ');
            out.push_str(name);
            out.push_str("=\"");
            escape(value, out);
            out.push('"');
        }
        match &self.content {
            Content::Text(text) => {
                out.push('>');
                escape(text, out);
            }
            Content::Elements(elements) if elements.is_empty() => {
                out.push_str("/>\n");
                return;
            }
            Content::Elements(elements) => {
                out.push_str(">\n");
                for element in elements {
                    element.write(out);
                }
            }
        }
        out.push_str("</");
        out.push_str(self.name);
        out.push_str(">\n");
    }
}

/// Writes a whole picture at true size; `title` says in words what is to be seen.
pub(super) fn picture(
    title: &str,
    [width, height]: [f64; 2],
    content: impl IntoIterator<Item = Element>,
) -> String {
    let mut out = String::new();
    Element::new("svg")
        .set("xmlns", "http://www.w3.org/2000/svg")
        .set("width", format!("{}mm", plain(width)))
        .set("height", format!("{}mm", plain(height)))
        .set("viewBox", format!("0 0 {} {}", plain(width), plain(height)))
        .set("role", "img")
        .with([Element { content: Content::Text(title.to_owned()), ..Element::new("title") }])
        .with(content)
        .write(&mut out);
    out
}

/// Writes a number with up to three decimals and no needless zeros; what is not finite becomes 0.
pub(super) fn plain(number: f64) -> String {
    let number = if number.is_finite() { number } else { 0.0 };
    let mut text = String::new();
    write!(text, "{number:.3}").expect("writing to a string does not fail");
    let short = text.trim_end_matches('0').trim_end_matches('.');
    if short == "-0" { "0".to_owned() } else { short.to_owned() }
}

/// Escapes text for elements and attributes, and leaves out what XML 1.0 does not allow at all (section 2.2, `Char`).
fn escape(text: &str, out: &mut String) {
    for letter in text.chars() {
        match letter {
            '&' => out.push_str("&amp;"),
            '<' => out.push_str("&lt;"),
            '>' => out.push_str("&gt;"),
            '"' => out.push_str("&quot;"),
            '\t' | '\n' | '\r' => out.push(' '),
            '\u{0}'..'\u{20}' | '\u{fffe}' | '\u{ffff}' => {}
            _ => out.push(letter),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_are_short_and_always_numbers() {
        let written = [82.5, 0.1 + 0.2, -0.0001, 1e-9, -3.0, f64::NAN, f64::INFINITY].map(plain);
        assert_eq!(written, ["82.5", "0.3", "0", "0", "-3", "0", "0"]);
    }

    #[test]
    fn words_that_look_like_markup_or_are_no_xml_do_no_harm() {
        let written = picture(
            "<b> & \"quotes\"\u{1}",
            [10.0, 5.5],
            [Element::text("a\u{0}b\n<c>").set("font-family", "\"&'<")],
        );
        let expected = concat!(
            r#"<svg xmlns="http://www.w3.org/2000/svg" width="10mm" height="5.5mm" viewBox="0 0 10 5.5" role="img">"#,
            "\n<title>&lt;b&gt; &amp; &quot;quotes&quot;</title>\n",
            r#"<text font-family="&quot;&amp;'&lt;">ab &lt;c&gt;</text>"#,
            "\n</svg>\n",
        );
        assert_eq!(written, expected);
        roxmltree::Document::parse(&written).expect("it is XML");
    }
}
