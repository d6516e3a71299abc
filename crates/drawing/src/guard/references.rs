//! What do the references of a drawing stand for, written out?
//!
//! Every element gets a weight: how many elements, and how many bytes of path data and lettering, it comes to when each
//! reference is replaced by what it points at.
//!
//! - weight(e) = own + Σ weight(children) + Σ weight(direct references)
//! - direct: `href`, clip, mask, filter;
//! - paint servers and end markers are inherited, so they count once for each element below;
//!   markers along the line count once for each corner below.
//!
//! The graph of children and references is walked once, without recursion, so the cost is its number of edges;
//! weights saturate.
//! An element met again on the way to itself is a cycle.

use std::collections::BTreeMap;

use roxmltree::{Document, Node};
use simplecss::{Declaration, DeclarationTokenizer, StyleSheet};

use crate::{
    error::Error,
    guard::{MOST_LETTERS, MOST_LEVELS, MOST_STYLE_TRIALS},
};

/// Most elements that references may stand for beyond those written.
const MOST_EXPANSIONS: u64 = 20_000;

/// Most bytes of path data and lettering once references are written out.
const MOST_DATA: u64 = 8 << 20;

/// A letter sets an outline of about this many bytes of path data.
const BYTES_PER_LETTER: u64 = 50;

/// Path data has at least this many bytes per corner: a digit and a separator.
const BYTES_PER_CORNER: u64 = 2;

/// How often a reference counts.
#[derive(Clone, Copy, Debug, PartialEq)]
enum Reach {
    /// Once, where it stands.
    Once,
    /// Once for each element below.
    EachElement,
    /// Once for each corner below.
    EachCorner,
}

#[derive(Clone, Copy, Debug, Default)]
struct Weight {
    elements: u64,
    data: u64,
    levels: usize,
}

/// Refuses cycles and references that stand for too much.
pub(super) fn check(document: &Document<'_>) -> Result<(), Error> {
    let graph = Graph::new(document)?;
    let root = graph.weigh()?;
    let letters: usize = graph.elements.iter().map(|&element| n_letters(element)).sum();
    if letters > MOST_LETTERS {
        return Err(Error::TooMuchText { limit: MOST_LETTERS });
    }
    let written: u64 = graph.elements.iter().map(|&element| own_weight(element).elements).sum();
    if root.elements.saturating_sub(written) > MOST_EXPANSIONS || root.data > MOST_DATA {
        return Err(Error::TooManyReferences);
    }
    Ok(())
}

struct Graph<'a, 'input> {
    /// All elements in document order; the root comes first.
    elements: Vec<Node<'a, 'input>>,
    children: Vec<Vec<usize>>,
    references: Vec<Vec<(Reach, usize)>>,
}

impl<'a, 'input> Graph<'a, 'input> {
    fn new(document: &'a Document<'input>) -> Result<Self, Error> {
        let elements: Vec<_> = document.descendants().filter(Node::is_element).collect();
        let index_of: BTreeMap<_, _> = elements
            .iter()
            .enumerate()
            .map(|(index, element)| (element.id().get(), index))
            .collect();
        let mut named: BTreeMap<&str, Vec<usize>> = BTreeMap::new();
        let mut children = vec![Vec::new(); elements.len()];
        for (index, element) in elements.iter().enumerate() {
            for attribute in element.attributes().filter(|attribute| attribute.name() == "id") {
                named.entry(attribute.value()).or_default().push(index);
            }
            let parent =
                element.parent_element().and_then(|parent| index_of.get(&parent.id().get()));
            if let Some(below) = parent.and_then(|&parent| children.get_mut(parent)) {
                below.push(index);
            }
        }
        let sheet = style_sheet(document, elements.len())?;
        let mut references: Vec<Vec<(Reach, usize)>> = Vec::with_capacity(elements.len());
        for element in &elements {
            let mut found = Vec::new();
            for_each_reference(*element, &sheet, |reach, id| {
                for &target in named.get(id).into_iter().flatten() {
                    found.push((reach, target));
                }
            });
            if asks_to_inherit(*element) {
                let parent =
                    element.parent_element().and_then(|parent| index_of.get(&parent.id().get()));
                found.extend(
                    parent
                        .and_then(|&parent| references.get(parent))
                        .into_iter()
                        .flatten()
                        .copied(),
                );
            }
            references.push(found);
        }
        let graph = Self { elements, children, references };
        graph.check_inherited_cycles()?;
        Ok(graph)
    }

    /// A pattern or marker defined inside the group that is painted with it would inherit itself.
    fn check_inherited_cycles(&self) -> Result<(), Error> {
        for (element, references) in self.elements.iter().zip(&self.references) {
            for &(reach, target) in references {
                let Some(&target) = self.elements.get(target) else { continue };
                let repeats = matches!(target.tag_name().name(), "pattern" | "marker");
                if reach != Reach::Once
                    && repeats
                    && target.ancestors().any(|around| around == *element)
                {
                    return Err(cycle(target));
                }
            }
        }
        Ok(())
    }

    /// Weighs the root by weighing everything it reaches, deepest first.
    fn weigh(&self) -> Result<Weight, Error> {
        let mut weights: Vec<Option<Weight>> = vec![None; self.elements.len()];
        let mut on_the_way = vec![false; self.elements.len()];
        let mut stack = vec![(0, false)];
        while let Some((index, below_done)) = stack.pop() {
            let (Some(weight), Some(open)) = (weights.get_mut(index), on_the_way.get_mut(index))
            else {
                continue;
            };
            if weight.is_some() {
                continue;
            }
            if below_done {
                *open = false;
                let sum = self.weight(index, &weights);
                if sum.levels > MOST_LEVELS {
                    return Err(Error::TooDeep { limit: MOST_LEVELS });
                }
                if let Some(weight) = weights.get_mut(index) {
                    *weight = Some(sum);
                }
                continue;
            }
            if *open {
                return Err(self
                    .elements
                    .get(index)
                    .map_or(Error::TooManyReferences, |&node| cycle(node)));
            }
            *open = true;
            stack.push((index, true));
            // Pushed last, looked at first: in document order.
            let open: Vec<usize> = self
                .below(index)
                .filter(|&next| weights.get(next).is_some_and(Option::is_none))
                .collect();
            stack.extend(open.into_iter().rev().map(|next| (next, false)));
        }
        Ok(weights.first().copied().flatten().unwrap_or_default())
    }

    fn below(&self, index: usize) -> impl Iterator<Item = usize> {
        let children = self.children.get(index).into_iter().flatten().copied();
        let references =
            self.references.get(index).into_iter().flatten().map(|&(_, target)| target);
        children.chain(references)
    }

    fn weight(&self, index: usize, weights: &[Option<Weight>]) -> Weight {
        let weight_of = |index: usize| weights.get(index).copied().flatten().unwrap_or_default();
        let mut sum =
            self.elements.get(index).map(|&element| own_weight(element)).unwrap_or_default();
        let mut add = |weight: Weight, times: u64| {
            sum.elements = sum.elements.saturating_add(weight.elements.saturating_mul(times));
            sum.data = sum.data.saturating_add(weight.data.saturating_mul(times));
            sum.levels = sum.levels.max(weight.levels + 1);
            sum
        };
        let mut once = add(Weight::default(), 0);
        for &child in self.children.get(index).into_iter().flatten() {
            once = add(weight_of(child), 1);
        }
        let references = self.references.get(index).map(Vec::as_slice).unwrap_or_default();
        for &(reach, target) in references {
            if reach == Reach::Once {
                once = add(weight_of(target), 1);
            }
        }
        for &(reach, target) in references {
            match reach {
                Reach::Once => {}
                Reach::EachElement => _ = add(weight_of(target), once.elements.max(1)),
                Reach::EachCorner => {
                    _ = add(weight_of(target), (once.data / BYTES_PER_CORNER).max(1))
                }
            }
        }
        sum
    }
}

fn cycle(node: Node<'_, '_>) -> Error {
    Error::Cycle {
        id: super::nearest_id(node).unwrap_or_else(|| node.tag_name().name().to_owned()),
    }
}

fn own_weight(element: Node<'_, '_>) -> Weight {
    // The stops of a gradient are read once, however many shapes it paints.
    let elements = if element.tag_name().name() == "stop" { 0 } else { 1 };
    let bytes: usize = element.attributes().map(|attribute| attribute.value().len()).sum();
    let data = bytes as u64 + BYTES_PER_LETTER * n_letters(element) as u64;
    Weight { elements, data, levels: 1 }
}

/// Counts the letters directly inside an element that sets text.
fn n_letters(element: Node<'_, '_>) -> usize {
    let sets_text =
        matches!(element.tag_name().name(), "text" | "tspan" | "textPath" | "tref" | "a");
    let texts = element.children().filter(|node| sets_text && node.is_text());
    texts.filter_map(|node| node.text()).map(|text| text.trim().len()).sum()
}

fn style_sheet<'a>(document: &'a Document<'_>, n_elements: usize) -> Result<StyleSheet<'a>, Error> {
    let mut sheet = StyleSheet::new();
    for style in document
        .descendants()
        .filter(|node| node.has_tag_name("style") || node.tag_name().name() == "style")
    {
        sheet.parse_more(style.text().unwrap_or_default());
    }
    if sheet.rules.len().saturating_mul(n_elements) > MOST_STYLE_TRIALS {
        return Err(Error::TooManyStyles);
    }
    Ok(sheet)
}

/// Calls back with every id an element refers to, by attribute, by `style` and by style sheet.
fn for_each_reference(
    element: Node<'_, '_>,
    sheet: &StyleSheet<'_>,
    mut found: impl FnMut(Reach, &str),
) {
    // Links lead elsewhere; animations are not shown.
    if matches!(
        element.tag_name().name(),
        "a" | "animate" | "animateMotion" | "animateTransform" | "set"
    ) {
        return;
    }
    for attribute in element.attributes() {
        match attribute.name() {
            "href" => {
                if let Some(id) = attribute.value().trim().strip_prefix('#') {
                    found(Reach::Once, id);
                }
            }
            "style" => {
                for declaration in DeclarationTokenizer::from(attribute.value()) {
                    for_each_url(declaration.name, declaration.value, &mut found);
                }
            }
            name => for_each_url(name, attribute.value(), &mut found),
        }
    }
    let painting = sheet.rules.iter().filter(|rule| rule.declarations.iter().any(names_url));
    for rule in painting.filter(|rule| rule.selector.matches(&Styled(element))) {
        for declaration in &rule.declarations {
            for_each_url(declaration.name, declaration.value, &mut found);
        }
    }
}

fn names_url(declaration: &Declaration<'_>) -> bool {
    declaration.value.contains("url(")
}

fn for_each_url(property: &str, value: &str, found: &mut impl FnMut(Reach, &str)) {
    let reach = match property {
        "marker" | "marker-mid" => Reach::EachCorner,
        "fill" | "stroke" | "marker-start" | "marker-end" => Reach::EachElement,
        _ => Reach::Once,
    };
    for url in value.split("url(").skip(1) {
        let target = url.split(')').next().unwrap_or_default();
        let target = target.trim_matches(|c: char| c.is_whitespace() || c == '"' || c == '\'');
        if let Some(id) = target.strip_prefix('#') {
            found(reach, id.trim());
        }
    }
}

fn asks_to_inherit(element: Node<'_, '_>) -> bool {
    element.attributes().any(|attribute| attribute.value().contains("inherit"))
}

/// An element as style sheets select it.
struct Styled<'a, 'input>(Node<'a, 'input>);

impl simplecss::Element for Styled<'_, '_> {
    fn parent_element(&self) -> Option<Self> {
        self.0.parent_element().map(Styled)
    }

    fn prev_sibling_element(&self) -> Option<Self> {
        self.0.prev_sibling_element().map(Styled)
    }

    fn has_local_name(&self, name: &str) -> bool {
        self.0.tag_name().name() == name
    }

    fn attribute_matches(&self, name: &str, operator: simplecss::AttributeOperator<'_>) -> bool {
        self.0.attribute(name).is_some_and(|value| operator.matches(value))
    }

    fn pseudo_class_matches(&self, class: simplecss::PseudoClass<'_>) -> bool {
        class == simplecss::PseudoClass::FirstChild && self.prev_sibling_element().is_none()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn check(content: &str, expected: Result<(), Error>) {
        let text = format!(
            "<svg xmlns=\"http://www.w3.org/2000/svg\" xmlns:xlink=\"http://www.w3.org/1999/xlink\" viewBox=\"0 0 9 9\">{content}</svg>"
        );
        let result = super::super::vet(text.as_bytes()).map(|_| ());
        assert_eq!(result, expected, "{}", content.chars().take(120).collect::<String>());
    }

    /// Ten of each level of `element` refer to ten of the level below: 10^levels in all.
    fn bomb(
        levels: usize,
        element: impl Fn(usize, &str) -> String,
        refer: impl Fn(usize) -> String,
    ) -> String {
        (1..=levels).map(|level| element(level, &refer(level - 1).repeat(10))).collect()
    }

    #[test]
    fn honest_references_pass() {
        check(
            concat!(
                "<defs><linearGradient id=\"sky\"><stop/><stop/></linearGradient>",
                "<linearGradient id=\"dawn\" xlink:href=\"#sky\"/>",
                "<clipPath id=\"c\"><circle r=\"4\"/></clipPath><g id=\"petal\"><path d=\"M0 0h1v1z\"/></g></defs>",
                "<g fill=\"url(#dawn)\" clip-path=\"url(#c)\"><use href=\"#petal\"/><use href=\"#petal\" x=\"3\"/></g>",
                "<a href=\"#petal\"><use href=\"#nowhere\"/></a>",
            ),
            Ok(()),
        );
        check(&"<rect/>".repeat(30_000), Ok(()));
    }

    #[test]
    fn a_thousand_clones_pass_and_a_clone_bomb_does_not() {
        let clones =
            format!("<g id=\"a\">{}</g>{}", "<rect/>".repeat(9), "<use href=\"#a\"/>".repeat(1000));
        check(&clones, Ok(()));
        let bomb = bomb(
            6,
            |level, uses| format!("<g id=\"l{level}\">{uses}</g>"),
            |level| format!("<use href=\"#l{level}\"/>"),
        );
        check(&bomb, Err(Error::TooManyReferences));
    }

    #[test]
    fn nested_masks_clips_patterns_and_markers_are_counted() {
        for (element, property) in [
            ("mask", "mask"),
            ("clipPath", "clip-path"),
            ("pattern", "fill"),
            ("marker", "marker-end"),
        ] {
            let bomb = bomb(
                6,
                |level, shapes| format!("<{element} id=\"l{level}\">{shapes}</{element}>"),
                |level| format!("<rect {property}=\"url(#l{level})\"/>"),
            );
            check(&bomb, Err(Error::TooManyReferences));
        }
    }

    #[test]
    fn style_attributes_and_style_sheets_hide_nothing() {
        let by_style = bomb(
            6,
            |level, shapes| format!("<mask id=\"l{level}\">{shapes}</mask>"),
            |level| format!("<rect style=\"opacity:1; mask : url( '#l{level}' )\"/>"),
        );
        check(&by_style, Err(Error::TooManyReferences));
        let rules: String =
            (0..6).map(|level| format!(".c{level}{{mask:url(#l{level})}}")).collect();
        let by_sheet = bomb(
            6,
            |level, shapes| format!("<mask id=\"l{level}\">{shapes}</mask>"),
            |level| format!("<rect class=\"c{level}\"/>"),
        );
        check(&format!("<style>{rules}</style>{by_sheet}"), Err(Error::TooManyReferences));
    }

    #[test]
    fn paint_inherited_by_a_group_counts_for_each_element_below() {
        let tile = format!("<pattern id=\"p\">{}</pattern>", "<rect/>".repeat(100));
        let group = |n: usize| format!("{tile}<g fill=\"url(#p)\">{}</g>", "<rect/>".repeat(n));
        check(&group(100), Ok(()));
        check(&group(300), Err(Error::TooManyReferences));
    }

    #[test]
    fn a_marker_counts_for_each_corner_of_its_line() {
        let marker = "<marker id=\"m\"><rect/><rect/></marker>";
        let line = |n: usize| {
            format!("{marker}<path marker-mid=\"url(#m)\" d=\"M0 0{}\"/>", "h1".repeat(n))
        };
        check(&line(1000), Ok(()));
        check(&line(20_000), Err(Error::TooManyReferences));
    }

    #[test]
    fn clones_of_a_long_path_are_counted_by_their_data() {
        let path = format!("<path id=\"p\" d=\"M0 0{}\"/>", "h1".repeat(100_000));
        check(&format!("{path}{}", "<use href=\"#p\"/>".repeat(10)), Ok(()));
        check(
            &format!("{path}{}", "<use href=\"#p\"/>".repeat(100)),
            Err(Error::TooManyReferences),
        );
    }

    #[test]
    fn whatever_refers_to_itself_is_refused_with_its_name() {
        let cycle = |id: &str| Err(Error::Cycle { id: id.to_owned() });
        check("<use id=\"a\" href=\"#a\"/>", cycle("a"));
        check("<g id=\"a\"><use xlink:href=\"#a\"/></g>", cycle("a"));
        check("<mask id=\"a\"><rect mask=\"url(#a)\"/></mask>", cycle("a"));
        check("<clipPath id=\"a\" clip-path=\"url(#a)\"/>", cycle("a"));
        check("<linearGradient id=\"a\" href=\"#a\"/>", cycle("a"));
        check("<g fill=\"url(#a)\"><pattern id=\"a\"><rect/></pattern></g>", cycle("a"));
    }

    #[test]
    fn one_id_given_twice_is_followed_both_ways() {
        check(
            "<g id=\"a\"/><g id=\"a\"><use href=\"#b\"/></g><g id=\"b\"><use href=\"#a\"/></g>",
            Err(Error::Cycle { id: "a".into() }),
        );
    }

    #[test]
    fn levels_through_references_count_as_levels() {
        let chain = |n: usize| -> String {
            (1..=n)
                .map(|level| format!("<g id=\"l{level}\"><use href=\"#l{}\"/></g>", level - 1))
                .collect()
        };
        check(&chain(100), Ok(()));
        check(&chain(200), Err(Error::TooDeep { limit: MOST_LEVELS }));
    }

    #[test]
    fn a_novel_is_refused() {
        check(
            &format!("<text>{}</text>", "icing ".repeat(5000)),
            Err(Error::TooMuchText { limit: MOST_LETTERS }),
        );
    }

    #[test]
    fn a_style_sheet_for_every_element_is_refused() {
        let rules: String = (0..1000).map(|rule| format!(".c{rule}{{fill:red}}")).collect();
        check(&format!("<style>{rules}</style>{}", "<g/>".repeat(5000)), Err(Error::TooManyStyles));
    }
}
