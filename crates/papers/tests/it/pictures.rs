//! Every picture of the samples, looked at by an XML reader and by the renderer.

use std::{collections::BTreeSet, sync::Arc};

use craft::{document::plan::PlanDocument, kitchen::Measures};
use papers::picture::{
    bowls_picture, design_picture, pass_picture, passes_strip, set_picture, sheets_picture,
    trays_picture,
};
use quantity::Length;
use resvg::{
    tiny_skia::{Pixmap, Transform},
    usvg::{Group, Node, Options, Rect, Tree, fontdb::Database},
};
use roxmltree::Document;

use crate::samples::{FONT, planned_sample, planned_samples};

const MM_PER_UNIT: f32 = 25.4 / 96.0;

/// Draws all pictures of a plan, each with a name.
fn pictures(plan: &PlanDocument) -> Vec<(String, String)> {
    let mut pictures = vec![
        ("set".to_owned(), set_picture(plan, Measures::Metric)),
        ("sheets".to_owned(), sheets_picture(plan, Length::mm(6.35))),
        ("trays".to_owned(), trays_picture(plan)),
        ("bowls".to_owned(), bowls_picture(plan)),
        ("passes".to_owned(), passes_strip(plan)),
    ];
    for (place, design) in plan.designs.iter().enumerate() {
        let id = &design.id;
        pictures.extend(design_picture(plan, place).map(|svg| (format!("design {id}"), svg)));
        let middle = plan.passes.len() / 2;
        pictures.extend(pass_picture(plan, place, middle).map(|svg| (format!("pass {id}"), svg)));
    }
    assert_eq!(pictures.len(), 5 + 2 * plan.designs.len());
    pictures
}

fn rendered(svg: &str) -> Tree {
    let mut fonts = Database::new();
    fonts.load_font_data(FONT.to_vec());
    let options = Options { fontdb: Arc::new(fonts), ..Options::default() };
    Tree::from_str(svg, &options).expect("the renderer reads it")
}

/// Collects where words stand.
fn words(group: &Group, found: &mut Vec<(String, Rect)>) {
    for node in group.children() {
        match node {
            Node::Group(inner) => words(inner, found),
            Node::Text(text) => {
                let letters = text.chunks().iter().map(|chunk| chunk.text()).collect();
                found.push((letters, text.abs_bounding_box()));
            }
            _ => {}
        }
    }
}

/// Expects plain, self-contained XML with a title.
fn check_xml(name: &str, svg: &str) {
    let document = Document::parse(svg).unwrap_or_else(|error| panic!("{name}: {error}"));
    let root = document.root_element();
    assert_eq!(root.attribute("role"), Some("img"), "{name}");
    let title = root.first_element_child().filter(|node| node.has_tag_name("title"));
    assert!(title.and_then(|title| title.text()).is_some_and(|text| !text.is_empty()), "{name}");
    let elements = || document.descendants().filter(roxmltree::Node::is_element);
    let ids: Vec<&str> = elements().filter_map(|node| node.attribute("id")).collect();
    let known: BTreeSet<&str> = ids.iter().copied().collect();
    assert_eq!(ids.len(), known.len(), "{name}: an id is given twice");
    for node in elements() {
        let tag = node.tag_name().name();
        assert!(!matches!(tag, "script" | "style" | "image" | "foreignObject"), "{name}: {tag}");
        for attribute in node.attributes() {
            let (key, value) = (attribute.name(), attribute.value());
            assert!(key != "style" && !key.starts_with("on"), "{name}: {key}");
            let target = match key {
                "href" => value.strip_prefix('#'),
                "clip-path" => value.strip_prefix("url(#").and_then(|rest| rest.strip_suffix(')')),
                _ => continue,
            };
            assert!(target.is_some_and(|id| known.contains(id)), "{name}: {key}={value}");
        }
    }
}

/// Pixels around the frame in which nothing may be drawn.
const AROUND: u32 = 12;

/// Expects everything inside the frame, and words apart from each other.
fn check_rendered(name: &str, svg: &str) {
    let tree = rendered(svg);
    let size = tree.size().to_int_size();
    let (width, height) = (size.width() + 2 * AROUND, size.height() + 2 * AROUND);
    let mut pixels = Pixmap::new(width, height).expect("a picture has a size");
    let inward = Transform::from_translate(AROUND as f32, AROUND as f32);
    resvg::render(&tree, inward, &mut pixels.as_mut());
    // The frame may end inside a pixel; the drawn edge of what is piped now may reach over its cookie.
    let slack = if name.starts_with("pass ") { 6 } else { 1 };
    let inside = |at: u32, length: u32| (AROUND - slack..length - AROUND + slack).contains(&at);
    let outside = pixels.pixels().iter().zip(0..).filter(|(pixel, index)| {
        let (x, y) = (index % width, index / width);
        pixel.alpha() > 0 && !(inside(x, width) && inside(y, height))
    });
    assert_eq!(outside.count(), 0, "{name}: something is drawn outside of its frame");
    let mut found = Vec::new();
    words(tree.root(), &mut found);
    for (index, (text, place)) in found.iter().enumerate() {
        for (other, at) in &found[..index] {
            let apart = place.left() >= at.right()
                || place.right() <= at.left()
                || place.top() >= at.bottom()
                || place.bottom() <= at.top();
            // Copies of a cookie without a drawing lie on each other with all they say.
            assert!(apart || text == other, "{name}: \"{text}\" over \"{other}\"");
        }
    }
}

#[test]
fn every_picture_is_plain_xml_inside_its_frame_with_words_apart() {
    for (sample, plan) in planned_samples() {
        for (name, svg) in pictures(&plan) {
            let name = format!("{name} of {sample}");
            check_xml(&name, &svg);
            check_rendered(&name, &svg);
        }
    }
}

#[test]
fn a_drawing_is_as_large_as_its_millimeters() {
    let plan = planned_sample();
    for (place, design) in plan.designs.iter().enumerate() {
        let size = rendered(&design_picture(&plan, place).expect("a design")).size();
        for (drawn, asked) in [(size.width(), design.width_mm), (size.height(), design.height_mm)] {
            let drawn_mm = f64::from(drawn * MM_PER_UNIT);
            assert!((drawn_mm - asked).abs() < 0.01, "{}: {drawn_mm}", design.id);
        }
    }
}

#[test]
fn the_set_shows_as_many_cookies_as_are_handed_over() {
    let plan = planned_sample();
    let svg = set_picture(&plan, Measures::Us);
    let document = Document::parse(&svg).expect("it is XML");
    for (place, design) in plan.designs.iter().enumerate() {
        let whole = format!("#set-{place}-whole");
        let shown = document.descendants().filter(|node| node.attribute("href") == Some(&whole));
        assert_eq!(shown.count(), design.count as usize, "{}", design.id);
    }
}

#[test]
fn before_the_first_pass_all_is_naked_and_behind_the_last_all_is_iced() {
    let plan = planned_sample();
    let n_passes = plan.passes.len();
    for (place, design) in plan.designs.iter().enumerate() {
        let mut touched = 0;
        for pass in 0..n_passes {
            let svg = pass_picture(&plan, place, pass).expect("a design");
            let piped = plan.passes[pass].sections.iter();
            let piped = piped.filter(|section| design.sections.contains(section)).count();
            let edges = svg.matches("stroke=\"#33557c\"").count();
            assert_eq!(edges, piped, "{} in pass {}", design.id, pass + 1);
            touched += piped;
        }
        assert_eq!(touched, design.sections.len(), "{}", design.id);
        let done = pass_picture(&plan, place, n_passes).expect("a design");
        let key = format!("pass-{n_passes}-design-");
        assert_eq!(Some(done.replace(&key, "design-")), design_picture(&plan, place));
    }
}

#[test]
fn the_same_plan_gives_the_same_bytes() {
    let (first, second) = (planned_sample(), planned_sample());
    assert_eq!(pictures(&first), pictures(&second));
}
