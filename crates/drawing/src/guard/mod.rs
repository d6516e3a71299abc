//! Is this file safe to read as a drawing?
//!
//! Every import passes here before anything else sees its bytes.
//! An SVG of a few kilobytes can stand for millions of elements: entities, clones of clones, masks of masks, patterns
//! in patterns.
//! The guard refuses what would cost more than a drawing is worth, by counting instead of by trying:
//!
//! - bytes in, elements, levels of nesting;
//! - no document type declaration, hence no entities;
//! - references (clone, clip, mask, pattern, gradient, marker, filter) form a graph without cycles,
//!   and all they stand for is counted as if written out (see [`references`]).
//!
//! Hiding places it knows: `href` with and without prefix, `url(#...)` in attributes, in `style` and in style sheets,
//! paint and markers inherited by a whole group, one id given twice.
//! References to other files are reported; the reader of the drawing never follows them.
//! Pictures made of pixels pass if the file holds them whole.

mod references;

use roxmltree::{Document, Node, ParsingOptions};

use crate::{
    error::Error,
    fact::{Dropped, Fact},
};

/// Most bytes a drawing may have: the largest cut files on sale are about a tenth of it (common practice, no source).
const MOST_BYTES: usize = 4 << 20;

/// Most XML nodes: two thousand times a rich cookie (common practice, no source).
const MOST_NODES: u32 = 100_000;

/// Most levels of nesting, written or through references: keeps recursive readers far from the end of their stack.
const MOST_LEVELS: usize = 256;

/// Most characters of lettering: a cookie holds about fifty (common practice, no source).
const MOST_LETTERS: usize = 20_000;

/// Most combinations of style rule and element: each is tried once.
const MOST_STYLE_TRIALS: usize = 4_000_000;

/// A drawing that passed, with what the reader will leave out.
#[derive(Debug)]
pub(crate) struct Vetted<'input> {
    pub(crate) document: Document<'input>,
    pub(crate) dropped: Vec<Fact>,
}

/// Lets a drawing pass or says why not.
pub(crate) fn vet(bytes: &[u8]) -> Result<Vetted<'_>, Error> {
    if bytes.len() > MOST_BYTES {
        return Err(Error::TooLarge { n_bytes: bytes.len(), limit: MOST_BYTES });
    }
    let text =
        std::str::from_utf8(bytes).map_err(|error| Error::NotText { at: error.valid_up_to() })?;
    if text.trim_matches(|c: char| c.is_whitespace() || c == '\u{feff}').is_empty() {
        return Err(Error::Empty);
    }
    check_written_levels(text)?;
    let options = ParsingOptions { nodes_limit: MOST_NODES, ..ParsingOptions::default() };
    let document = Document::parse_with_options(text, options).map_err(|error| match error {
        roxmltree::Error::DtdDetected => Error::DocumentType,
        roxmltree::Error::NodesLimitReached => {
            Error::TooManyElements { limit: MOST_NODES as usize }
        }
        other => Error::NotXml { reason: other.to_string() },
    })?;
    let root = document.root_element();
    let is_svg = matches!(root.tag_name().namespace(), None | Some("http://www.w3.org/2000/svg"));
    if root.tag_name().name() != "svg" || !is_svg {
        return Err(Error::NotSvg { root: root.tag_name().name().to_owned() });
    }
    references::check(&document)?;
    let dropped = document.descendants().filter_map(dropped_element).collect();
    Ok(Vetted { document, dropped })
}

/// Returns the id of an element or of the nearest element around it that has one.
pub(crate) fn nearest_id(node: Node<'_, '_>) -> Option<String> {
    node.ancestors().find_map(|element| element.attribute("id")).map(str::to_owned)
}

/// Counts the levels of opened tags before any tree is built, so that no reader can run out of stack.
///
/// Takes `<` in comments and character data for tags too, so it may refuse a file full of them, and never lets a deep one pass.
fn check_written_levels(text: &str) -> Result<(), Error> {
    let mut level: usize = 0;
    for tag in text.split('<').skip(1) {
        match tag.as_bytes().first() {
            Some(b'/') => level = level.saturating_sub(1),
            Some(b'!' | b'?') | None => {}
            Some(_) => {
                level += 1;
                // An attribute value may hold "/>" but then the tag does not end there: look at its real end.
                if tag_end(tag).is_some_and(|end| tag[..end].ends_with('/')) {
                    level = level.saturating_sub(1);
                }
            }
        }
        if level > MOST_LEVELS {
            return Err(Error::TooDeep { limit: MOST_LEVELS });
        }
    }
    Ok(())
}

/// Returns where the `>` of a tag stands, skipping quoted attribute values.
fn tag_end(tag: &str) -> Option<usize> {
    let mut quote = None;
    for (index, byte) in tag.bytes().enumerate() {
        match (quote, byte) {
            (None, b'>') => return Some(index),
            (None, b'"' | b'\'') => quote = Some(byte),
            (Some(open), _) if open == byte => quote = None,
            _ => {}
        }
    }
    None
}

fn dropped_element(node: Node<'_, '_>) -> Option<Fact> {
    let what = match node.tag_name().name() {
        "image" if holds_picture(node) => return None,
        "image" => Dropped::Image,
        "foreignObject" => Dropped::ForeignObject,
        // A link around a shape leads elsewhere and paints nothing.
        "a" => return None,
        _ if node.is_element() && refers_outside(node) => Dropped::ExternalReference,
        _ => return None,
    };
    Some(Fact::Dropped { what, id: nearest_id(node) })
}

/// Tells whether an image element holds a PNG, JPEG or WebP whole, in base 64 (RFC 2397, RFC 4648).
fn holds_picture(node: Node<'_, '_>) -> bool {
    let mut hrefs = node.attributes().filter(|attribute| attribute.name() == "href");
    hrefs.any(|href| {
        let Some((head, data)) = href.value().trim().split_once(";base64,") else { return false };
        let data = data.trim_start();
        // How the first bytes of these three kinds are written.
        let is_picture = ["iVBORw0KGgo", "/9j/", "UklGR"].iter().any(|kind| data.starts_with(kind));
        let is_whole = data.bytes().all(|byte| {
            byte.is_ascii_alphanumeric() || byte.is_ascii_whitespace() || b"+/=".contains(&byte)
        });
        head.starts_with("data:") && is_picture && is_whole
    })
}

fn refers_outside(node: Node<'_, '_>) -> bool {
    node.attributes().any(|attribute| {
        let value = attribute.value().trim();
        attribute.name() == "href" && !value.is_empty() && !value.starts_with('#')
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn check(text: &str, expected: Result<(), Error>) {
        assert_eq!(
            vet(text.as_bytes()).map(|_| ()),
            expected,
            "{}",
            text.chars().take(80).collect::<String>()
        );
    }

    fn svg(content: &str) -> String {
        format!("<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 9 9\">{content}</svg>")
    }

    #[test]
    fn a_plain_drawing_passes_with_or_without_a_byte_order_mark() {
        let drawing = svg("<rect width=\"9\" height=\"9\"/>");
        check(&drawing, Ok(()));
        check(&format!("\u{feff}{drawing}"), Ok(()));
    }

    #[test]
    fn nothing_at_all_is_refused() {
        for text in ["", " \n", "\u{feff}"] {
            check(text, Err(Error::Empty));
        }
    }

    #[test]
    fn fifty_megabytes_are_refused_unread() {
        let bytes = vec![b'<'; 50_000_000];
        let error = vet(&bytes).map(|_| ());
        assert_eq!(error, Err(Error::TooLarge { n_bytes: 50_000_000, limit: MOST_BYTES }));
    }

    #[test]
    fn broken_utf8_is_refused_with_its_place() {
        assert_eq!(vet(b"<svg>\xff</svg>").map(|_| ()), Err(Error::NotText { at: 5 }));
        // A compressed drawing starts with the gzip magic number 1f 8b (RFC 1952, 2.3.1).
        assert_eq!(vet(b"\x1f\x8b\x08").map(|_| ()), Err(Error::NotText { at: 1 }));
    }

    #[test]
    fn what_is_no_xml_or_no_svg_is_refused() {
        assert!(matches!(vet(b"a cake"), Err(Error::NotXml { .. })));
        assert!(matches!(vet(b"<svg><g></svg>"), Err(Error::NotXml { .. })));
        check("<html><svg/></html>", Err(Error::NotSvg { root: "html".into() }));
        check("<svg xmlns=\"urn:else\"/>", Err(Error::NotSvg { root: "svg".into() }));
    }

    #[test]
    fn entities_are_refused_with_their_declaration() {
        check("<!DOCTYPE svg [<!ENTITY a \"aaaa\">]><svg>&a;</svg>", Err(Error::DocumentType));
        check("<!DOCTYPE svg><svg/>", Err(Error::DocumentType));
    }

    #[test]
    fn deep_nesting_is_refused_before_a_tree_is_built() {
        let nested = |levels: usize| svg(&("<g>".repeat(levels) + &"</g>".repeat(levels)));
        check(&nested(MOST_LEVELS - 1), Ok(()));
        check(&nested(MOST_LEVELS), Err(Error::TooDeep { limit: MOST_LEVELS }));
        check(&"<g id='/>'>".repeat(300_000), Err(Error::TooDeep { limit: MOST_LEVELS }));
        check(&svg(&"<g id=\"a>b\"/>".repeat(1000)), Ok(()));
    }

    #[test]
    fn too_many_elements_are_refused() {
        check(&svg(&"<g/>".repeat(100_001)), Err(Error::TooManyElements { limit: 100_000 }));
    }

    #[test]
    fn pictures_and_other_files_are_reported_and_links_are_not() {
        let drawing = svg(concat!(
            "<g id=\"photo\"><image href=\"data:,x\"/></g>",
            "<image href=\"data:image/png;base64,iVBORw0KGgo=\"/>",
            "<image id=\"torn\" href=\"data:image/png;base64,iVBORw0KGgo?\"/>",
            "<use id=\"far\" href=\"other.svg#star\"/>",
            "<a href=\"https://example.org/\"><rect id=\"near\"/></a>",
        ));
        let vetted = vet(drawing.as_bytes()).expect("nothing here is dangerous");
        let expected = [
            Fact::Dropped { what: Dropped::Image, id: Some("photo".into()) },
            Fact::Dropped { what: Dropped::Image, id: Some("torn".into()) },
            Fact::Dropped { what: Dropped::ExternalReference, id: Some("far".into()) },
        ];
        assert_eq!(vetted.dropped, expected);
    }
}
