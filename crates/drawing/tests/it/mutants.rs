//! Drawings broken in their structure, and drawings made to hurt, are read or refused.
//!
//! Mutants change what a drawing means, not only its bytes: attributes, nesting, references, transforms.
//! Continuous integration reads [`N_MUTANTS`]; `SUGARWRIGHT_N_MUTANTS` asks for more, and the slowest is printed.
#![allow(clippy::disallowed_methods, reason = "the crate is pure, its tests look outside")]

use std::{
    env,
    time::{Duration, Instant},
};

use drawing::{Error, Fonts, ReadOptions, import, read};
use image::{ExtendedColorType, ImageEncoder, codecs};
use quantity::Length;
use roxmltree::Document;

use crate::fixtures::{DRAWINGS, fonts};

const N_MUTANTS: u64 = 300;

const OPTIONS: ReadOptions = ReadOptions { width: Some(Length::mm(80.0)), border: Length::mm(3.0) };

fn read_through(svg: &str, fonts: &Fonts) -> Result<usize, Error> {
    let drawing = read(&import(svg.as_bytes(), fonts)?, &OPTIONS)?;
    Ok(drawing.shapes.len())
}

/// An element of a drawing that can be changed.
#[derive(Clone)]
struct Element {
    name: String,
    attributes: Vec<(String, String)>,
    text: String,
    children: Vec<Element>,
}

fn element(node: roxmltree::Node<'_, '_>) -> Element {
    let attributes = node.attributes().map(|own| (own.name().to_owned(), own.value().to_owned()));
    Element {
        name: node.tag_name().name().to_owned(),
        attributes: attributes.collect(),
        text: node.text().unwrap_or_default().to_owned(),
        children: node.children().filter(|child| child.is_element()).map(element).collect(),
    }
}

fn escaped(text: &str) -> String {
    text.replace('&', "&amp;").replace('<', "&lt;").replace('"', "&quot;")
}

fn write(element: &Element, is_root: bool, svg: &mut String) {
    *svg += &format!("<{}", element.name);
    if is_root {
        *svg += " xmlns=\"http://www.w3.org/2000/svg\"";
    }
    let mut written = Vec::new();
    for (name, value) in &element.attributes {
        if !written.contains(&name) {
            *svg += &format!(" {name}=\"{}\"", escaped(value));
            written.push(name);
        }
    }
    *svg += ">";
    *svg += &escaped(&element.text);
    for child in &element.children {
        write(child, false, svg);
    }
    *svg += &format!("</{}>", element.name);
}

/// A fixed sequence that looks random: Knuth's MMIX generator (The Art of Computer Programming 2, 3.3.4).
struct Chance(u64);

impl Chance {
    fn below(&mut self, n: usize) -> usize {
        self.0 =
            self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        (self.0 >> 33) as usize % n.max(1)
    }

    fn of<'a>(&mut self, choices: &[&'a str]) -> &'a str {
        choices[self.below(choices.len())]
    }
}

const NUMBERS: [&str; 12] =
    ["0", "-1", "1e9", "-1e-9", "1e38", "NaN", "50%", "3em", "0.001", "7", "250", ""];
const TRANSFORMS: [&str; 9] = [
    "scale(0)",
    "scale(-1 1)",
    "scale(1e6)",
    "scale(1e-6 1)",
    "rotate(33 9 9)",
    "skewX(90)",
    "matrix(1 1 1 1 0 0)",
    "translate(1e30)",
    "matrix(0 1 1 0 3 NaN)",
];
const NAMES: [&str; 12] = [
    "g",
    "rect",
    "path",
    "use",
    "mask",
    "clipPath",
    "pattern",
    "symbol",
    "marker",
    "text",
    "svg",
    "linearGradient",
];
const REFERENCES: [&str; 9] = [
    "clip-path",
    "mask",
    "fill",
    "stroke",
    "filter",
    "marker-mid",
    "marker-start",
    "href",
    "style",
];
const ATTRIBUTES: [(&str, &str); 12] = [
    ("opacity", "0.5"),
    ("stroke", "#123456"),
    ("stroke-width", "40"),
    ("stroke-dasharray", "1 0 3"),
    ("fill-rule", "evenodd"),
    ("paint-order", "stroke"),
    ("viewBox", "0 0 1 1"),
    ("preserveAspectRatio", "none"),
    ("mask-type", "alpha"),
    ("clipPathUnits", "objectBoundingBox"),
    ("id", "outline"),
    ("display", "none"),
];

/// Returns the element at a place, counted depth first.
fn at(root: &mut Element, place: usize) -> &mut Element {
    fn find<'a>(element: &'a mut Element, left: &mut usize) -> Option<&'a mut Element> {
        if *left == 0 {
            return Some(element);
        }
        *left -= 1;
        element.children.iter_mut().find_map(|child| find(child, left))
    }
    let n = size(root);
    find(root, &mut (place % n)).expect("the place is within the size")
}

fn size(element: &Element) -> usize {
    1 + element.children.iter().map(size).sum::<usize>()
}

fn ids(element: &Element, found: &mut Vec<String>) {
    found.extend(
        element.attributes.iter().filter(|(name, _)| name == "id").map(|(_, id)| id.clone()),
    );
    element.children.iter().for_each(|child| ids(child, found));
}

fn mutate(root: &mut Element, chance: &mut Chance) {
    let place = chance.below(10_000);
    let mut names = Vec::new();
    ids(root, &mut names);
    let id = names.get(chance.below(names.len())).cloned().unwrap_or_default();
    let other = at(root, chance.below(10_000)).clone();
    let element = at(root, place);
    let n_attributes = element.attributes.len();
    match chance.below(12) {
        0 => {
            if n_attributes > 0 {
                element.attributes[chance.below(n_attributes)].1 = chance.of(&NUMBERS).to_owned();
            }
        }
        1 => {
            if n_attributes > 0 {
                element.attributes.remove(chance.below(n_attributes));
            }
        }
        2 => element.attributes.insert(0, ("transform".into(), chance.of(&TRANSFORMS).into())),
        3 => element.name = chance.of(&NAMES).to_owned(),
        4 => {
            let name = chance.of(&REFERENCES);
            let value = match name {
                "href" => format!("#{id}"),
                "style" => format!("fill:url(#{id});mask:url(#{id})"),
                _ => format!("url(#{id})"),
            };
            element.attributes.insert(0, (name.to_owned(), value));
        }
        5 => {
            let (name, value) = ATTRIBUTES[chance.below(ATTRIBUTES.len())];
            element.attributes.insert(0, (name.to_owned(), value.to_owned()));
        }
        6 => {
            // One number of path data, points or a transform.
            if n_attributes > 0 {
                let value = &mut element.attributes[chance.below(n_attributes)].1;
                let mut words: Vec<&str> = value.split(' ').collect();
                let word = chance.below(words.len());
                words[word] = chance.of(&NUMBERS);
                *value = words.join(" ");
            }
        }
        7 => {
            if size(&other) < 200 {
                element.children.push(other);
            }
        }
        8 => {
            if !element.children.is_empty() {
                element.children.remove(chance.below(element.children.len()));
            }
        }
        9 => {
            let use_again = Element {
                name: "use".into(),
                attributes: vec![
                    ("href".into(), format!("#{id}")),
                    ("transform".into(), chance.of(&TRANSFORMS).into()),
                ],
                text: String::new(),
                children: Vec::new(),
            };
            element.children.push(use_again);
        }
        10 => {
            // Wrapped again and again in translucent, masked or clipped groups.
            for _ in 0..=chance.below(20) {
                let attribute = match chance.below(3) {
                    0 => ("opacity".to_owned(), "0.9".to_owned()),
                    1 => ("mask".to_owned(), format!("url(#{id})")),
                    _ => ("clip-path".to_owned(), format!("url(#{id})")),
                };
                let children = std::mem::take(&mut element.children);
                element.children.push(Element {
                    name: "g".into(),
                    attributes: vec![attribute],
                    text: String::new(),
                    children,
                });
            }
        }
        _ => element.children.reverse(),
    }
}

#[test]
#[allow(clippy::print_stdout)]
fn drawings_broken_in_their_structure_are_read_or_refused() {
    let roots: Vec<Element> = DRAWINGS
        .iter()
        .map(|(_, svg)| {
            element(Document::parse(svg).expect("the fixture is well-formed").root_element())
        })
        .collect();
    let asked = env::var("SUGARWRIGHT_N_MUTANTS").ok().and_then(|text| text.parse().ok());
    let n_mutants = asked.unwrap_or(N_MUTANTS);
    let fonts = fonts();
    let mut slowest = (Duration::ZERO, 0);
    let mut n_read = 0;
    for seed in 0..n_mutants {
        let mut chance = Chance(seed);
        chance.below(1);
        let mut root = roots[chance.below(roots.len())].clone();
        for _ in 0..=chance.below(6) {
            mutate(&mut root, &mut chance);
        }
        let mut svg = String::new();
        write(&root, true, &mut svg);
        let start = Instant::now();
        n_read += usize::from(read_through(&svg, &fonts).is_ok());
        slowest = slowest.max((start.elapsed(), seed));
    }
    println!("{n_read} of {n_mutants} mutants are read; the slowest is {slowest:?}");
    assert!(n_read as u64 * 2 > n_mutants, "only {n_read} of {n_mutants} mutants were readable");
}

/// What becomes of a file made to hurt.
#[derive(Clone, Copy, Debug, PartialEq)]
enum End {
    Read,
    Refused,
    Either,
}

fn svg(content: &str) -> String {
    format!("<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 100 100\">{content}</svg>")
}

/// Levels that each refer to the one before `n_each` times.
fn levels(n_levels: usize, n_each: usize, one: impl Fn(usize, &str) -> String, of: &str) -> String {
    (1..=n_levels)
        .map(|level| one(level, &of.replace('@', &(level - 1).to_string()).repeat(n_each)))
        .collect()
}

const SQUARE: &str = "<rect width=\"60\" height=\"60\" fill=\"#c5283d\"/>";

fn hostile_files() -> Vec<(&'static str, String, End)> {
    use End::{Either, Read, Refused};
    let group = |kind: &'static str| {
        move |level: usize, inside: &str| format!("<{kind} id=\"l{level}\">{inside}</{kind}>")
    };
    let zero = |kind: &str| format!("<{kind} id=\"l0\">{SQUARE}</{kind}>");
    let nested =
        |open: &str, close: &str, n: usize| svg(&(open.repeat(n) + SQUARE + &close.repeat(n)));
    let veils = |n: usize| -> String {
        (0..n)
            .map(|index| {
                let (x, y) = (index * 37 % 70, index * 53 % 70);
                format!(
                    "<circle cx=\"{x}\" cy=\"{y}\" r=\"28\" fill=\"#{:06x}\" opacity=\"0.5\"/>",
                    index * 4099 % 0xff_ffff
                )
            })
            .collect()
    };
    let gradient_stops: String = (0..20_000)
        .map(|index| {
            format!("<stop offset=\"{}\" stop-color=\"#{:06x}\"/>", index as f64 / 2e4, index)
        })
        .collect();
    let star = |n: usize| -> String {
        (0..n).map(|index| format!("{} {} ", index * 7919 % 97, index * 6101 % 89)).collect()
    };
    vec![
        ("entities", "<!DOCTYPE svg [<!ENTITY a \"aaaaaaaaaa\"><!ENTITY b \"&a;&a;&a;&a;\">]><svg xmlns=\"http://www.w3.org/2000/svg\"><text>&b;</text></svg>".into(), Refused),
        ("outside entity", "<!DOCTYPE svg [<!ENTITY a SYSTEM \"file:///etc/passwd\">]><svg xmlns=\"http://www.w3.org/2000/svg\"><text>&a;</text></svg>".into(), Refused),
        ("bare document type", format!("<!DOCTYPE svg>{}", svg(SQUARE)), Refused),
        ("clones of clones", svg(&(zero("g") + &levels(9, 10, group("g"), "<use href=\"#l@\"/>"))), Refused),
        ("symbols of symbols", svg(&(zero("symbol") + &levels(8, 10, group("symbol"), "<use href=\"#l@\"/>") + "<use href=\"#l8\"/>")), Refused),
        ("masks of masks", svg(&(zero("mask") + &levels(30, 2, group("mask"), "<rect width=\"9\" height=\"9\" mask=\"url(#l@)\"/>") + "<rect width=\"9\" height=\"9\" mask=\"url(#l30)\"/>")), Refused),
        ("clips of clips", svg(&(zero("clipPath") + &levels(30, 2, group("clipPath"), "<rect width=\"9\" height=\"9\" clip-path=\"url(#l@)\"/>") + "<rect width=\"9\" height=\"9\" clip-path=\"url(#l30)\"/>")), Refused),
        ("patterns of patterns", svg(&(zero("pattern") + &levels(30, 2, group("pattern"), "<rect width=\"9\" height=\"9\" fill=\"url(#l@)\"/>") + "<rect width=\"9\" height=\"9\" fill=\"url(#l30)\"/>")), Refused),
        ("markers of markers", svg(&(zero("marker") + &levels(20, 1, group("marker"), "<path d=\"M0 0L1 1L2 2L3 3\" marker-mid=\"url(#l@)\" marker-start=\"url(#l@)\"/>") + "<path d=\"M0 0L1 1L2 2\" marker-mid=\"url(#l20)\"/>")), Refused),
        ("a marker on every corner", svg(&format!("<marker id=\"m\">{}</marker><path d=\"M{}\" marker-mid=\"url(#m)\"/>", SQUARE.repeat(100), star(20_000))), Refused),
        ("a clone of itself", svg("<g id=\"a\"><use href=\"#a\"/></g>"), Refused),
        ("clones in a ring", svg("<g id=\"a\"><use href=\"#b\"/></g><g id=\"b\"><use href=\"#a\"/></g>"), Refused),
        ("a mask of itself", svg(&format!("<mask id=\"m\" mask=\"url(#m)\">{SQUARE}</mask><g mask=\"url(#m)\">{SQUARE}</g>")), Refused),
        ("a clip of itself", svg(&format!("<clipPath id=\"c\"><g clip-path=\"url(#c)\">{SQUARE}</g></clipPath><g clip-path=\"url(#c)\">{SQUARE}</g>")), Refused),
        ("a pattern painted with itself", svg("<pattern id=\"p\" width=\"9\" height=\"9\"><rect width=\"9\" height=\"9\" fill=\"url(#p)\"/></pattern><rect width=\"50\" height=\"50\" fill=\"url(#p)\"/>"), Refused),
        ("a ring in the style sheet", svg(&format!("<style>.a{{mask:url(#m)}}</style><mask id=\"m\"><g class=\"a\">{SQUARE}</g></mask><g class=\"a\">{SQUARE}</g>")), Refused),
        ("groups without end", nested("<g>", "</g>", 100_000), Refused),
        ("groups to the limit", nested("<g opacity=\"0.99\">", "</g>", 250), Read),
        ("pages in pages", nested("<svg viewBox=\"0 0 9 9\" width=\"90%\">", "</svg>", 200), Either),
        ("unclosed groups", "<svg xmlns=\"http://www.w3.org/2000/svg\">".to_owned() + &"<g>".repeat(50_000), Refused),
        ("masked groups to the limit", svg(&format!("<mask id=\"m\"><rect width=\"99\" height=\"99\" fill=\"#999\"/></mask>{}{SQUARE}{}", "<g mask=\"url(#m)\">".repeat(100), "</g>".repeat(100))), Either),
        ("a million elements", svg(&"<g/>".repeat(1_000_000)), Refused),
        ("fifty thousand squares", svg(&"<rect width=\"1\" height=\"1\"/>".repeat(50_000)), Either),
        ("a long file", svg(&" ".repeat(5 << 20)), Refused),
        ("a hundred thousand letters", svg(&format!("<text>{}</text>", "sugar ".repeat(20_000))), Refused),
        ("a huge style sheet", svg(&format!("<style>{}</style>{}", "g g g g g *{fill:red}".repeat(5_000), "<rect/>".repeat(5_000))), Refused),
        ("deep selectors", svg(&format!("<style>{}{{fill:red}}</style>{SQUARE}", "g > ".repeat(20_000) + "rect")), Either),
        ("a scribble", svg(&format!("{SQUARE}<polygon points=\"{}\"/>", star(30_000))), Either),
        ("a scribbled line", svg(&format!("{SQUARE}<polyline fill=\"none\" stroke=\"#000\" stroke-width=\"5\" points=\"{}\"/>", star(5_000))), Either),
        ("dust", svg("<path d=\"M0 0H100V100\" stroke=\"#000\" fill=\"none\" stroke-dasharray=\"1e-7\"/>"), Read),
        ("dashes of dashes", svg(&format!("<path d=\"M0 0H100\" stroke=\"#000\" stroke-dasharray=\"{}\"/>", "0.01 ".repeat(9_000))), Either),
        ("a line as wide as the moon", svg(&format!("{SQUARE}<path d=\"M0 0H9\" stroke=\"#000\" stroke-width=\"1e30\"/>")), Read),
        ("numbers without end", svg(&format!("<rect width=\"{}\" height=\"9\"/>{SQUARE}", "9".repeat(100_000))), Read),
        ("a page of no size", "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"0\" height=\"0\"><rect width=\"9\" height=\"9\"/></svg>".into(), Refused),
        ("a page of any size", format!("<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 1e30 1e-30\">{SQUARE}</svg>"), Either),
        ("twenty thousand stops", svg(&format!("<linearGradient id=\"g\">{gradient_stops}</linearGradient><rect width=\"9\" height=\"9\" fill=\"url(#g)\"/>")), Read),
        ("thirty veils over each other", svg(&veils(30)), Either),
        ("four hundred veils over each other", svg(&veils(400)), Either),
        ("masks of veils", svg(&format!("<mask id=\"m\">{}</mask><g mask=\"url(#m)\">{}</g>", veils(20), veils(20))), Either),
        ("filters of great reach", svg(&format!("<filter id=\"f\" x=\"-1e6\" y=\"-1e6\" width=\"2e6\" height=\"2e6\"><feGaussianBlur stdDeviation=\"1e6\"/></filter><g filter=\"url(#f)\">{SQUARE}</g>")), Read),
        ("a picture of a picture", svg(&format!("<image href=\"data:image/svg+xml;base64,PHN2Zy8+\"/><image href=\"file:///etc/passwd\"/><feImage href=\"http://127.0.0.1/\"/>{SQUARE}")), Read),
        ("a large picture many times", svg(&format!("<image id=\"p\" width=\"9\" height=\"9\" href=\"data:image/png;base64,{}\"/>{}{SQUARE}", flat_picture(), "<use href=\"#p\"/>".repeat(40))), Read),
        ("scripts", svg(&format!("<script>while(true);</script><g onload=\"alert(1)\">{SQUARE}</g><foreignObject><iframe/></foreignObject>")), Read),
    ]
}

/// Returns a picture of 16 million pixels of one color with a dark corner, in base 64 (RFC 4648, section 4).
fn flat_picture() -> String {
    const SIDE: u32 = 4000;
    let mut gray = vec![200; (SIDE * SIDE) as usize];
    for row in gray.chunks_mut(SIDE as usize).take(1000) {
        row[..1000].fill(20);
    }
    let mut png = Vec::new();
    codecs::png::PngEncoder::new(&mut png)
        .write_image(&gray, SIDE, SIDE, ExtendedColorType::L8)
        .expect("memory takes every byte");
    let digits = b"ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/";
    png.resize(png.len().next_multiple_of(3), 0);
    png.chunks_exact(3)
        .flat_map(|three| {
            let bits = three.iter().fold(0, |bits, byte| (bits << 8) | usize::from(*byte));
            [18, 12, 6, 0].map(|shift| char::from(digits[(bits >> shift) & 63]))
        })
        .collect()
}

/// Returns the most memory this process ever held, where the system tells.
fn peak_megabytes() -> Option<u64> {
    let status = std::fs::read_to_string("/proc/self/status").ok()?;
    let line = status.lines().find_map(|line| line.strip_prefix("VmHWM:"))?;
    line.trim().strip_suffix(" kB")?.trim().parse::<u64>().ok().map(|kilobytes| kilobytes / 1024)
}

#[test]
#[allow(clippy::print_stdout)]
fn forty_files_made_to_hurt_are_read_or_refused() {
    let files = hostile_files();
    let fonts = fonts();
    assert!(files.len() >= 40, "{} files", files.len());
    for (name, svg, end) in files {
        let start = Instant::now();
        let found = read_through(&svg, &fonts);
        println!("{name}: {:?} in {:?}", found, start.elapsed());
        let is_expected = match end {
            End::Read => found.is_ok(),
            End::Refused => found.is_err(),
            End::Either => true,
        };
        assert!(is_expected, "{name}: {found:?}");
    }
    // Each test has a process of its own under nextest.
    let peak = peak_megabytes();
    println!("{peak:?} MB at most");
    assert!(peak.is_none_or(|peak| peak < 200), "{peak:?} MB");
}
