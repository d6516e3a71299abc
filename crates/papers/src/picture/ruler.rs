//! A ruler to stand pictures on, and the scale it says.

use super::{
    palette::{INK, SOFT_INK},
    svg::{Element, plain},
    words::{Anchor, Weight, line, width_of},
};
use crate::scale::Scale;

/// Height of a ruler with its figures and words.
pub(super) const RULER_HEIGHT: f64 = 10.4;

const FIGURES: f64 = 2.7;

/// Draws a ruler of this width in the picture, its upper left corner at the origin, with the words of its scale under it.
pub(super) fn ruler(width: f64, scale: Scale) -> Element {
    let life_mm = width * scale.divisor;
    // Ticks and figures keep apart in the picture however small it is.
    let (fine, middle, figured) = match scale.divisor {
        d if d <= 1.0 => (1, 5, 10),
        d if d <= 3.0 => (5, 10, 50),
        d if d <= 6.0 => (10, 50, 100),
        _ => (10, 50, 200),
    };
    let mut fine_ticks = format!("M0 0H{}", plain(width));
    let mut long_ticks = String::new();
    let mut figures = Vec::new();
    for mm in (0..=life_mm.floor().min(20_000.0) as u32).step_by(fine) {
        let x = f64::from(mm) / scale.divisor;
        let (ticks, length) = if mm % figured == 0 {
            (&mut long_ticks, 3.4)
        } else if mm % middle == 0 {
            (&mut fine_ticks, 2.4)
        } else {
            (&mut fine_ticks, 1.5)
        };
        ticks.push_str(&format!("M{} 0V{length}", plain(x)));
        let figure = if mm == figured { format!("{mm} mm") } else { mm.to_string() };
        let room = width_of(&figure, FIGURES) / 2.0;
        if mm % figured == 0 && mm > 0 && x + room <= width {
            figures.push(line(&figure, [x, 6.2], FIGURES, Anchor::Middle, Weight::Side));
        }
    }
    Element::group([
        Element::path(fine_ticks).set("fill", "none").stroke(SOFT_INK, 0.2),
        Element::path(long_ticks).set("fill", "none").stroke(INK, 0.3),
    ])
    .with(figures)
    .with([line(
        scale.words,
        [width, RULER_HEIGHT - 0.4],
        FIGURES,
        Anchor::End,
        Weight::Side,
    )])
}

#[cfg(test)]
mod tests {
    use super::{super::svg::picture, *};

    /// Reads where the figures of a ruler stand, in millimeters of the picture.
    fn figures(width: f64, scale: Scale) -> Vec<(f64, f64)> {
        let svg = picture("", [width, RULER_HEIGHT], [ruler(width, scale)]);
        let document = roxmltree::Document::parse(&svg).expect("it is XML");
        let texts = document.descendants().filter(|node| node.has_tag_name("text"));
        let read = |node: roxmltree::Node<'_, '_>| {
            let figure = node.text()?.trim_end_matches(" mm").parse().ok()?;
            Some((figure, node.attribute("x")?.parse().ok()?))
        };
        texts.filter_map(read).collect()
    }

    #[test]
    fn a_figure_stands_where_its_millimeters_are() {
        for scale in Scale::ALL {
            let found = figures(200.0, scale);
            assert!(found.len() >= 3, "{scale:?}: {found:?}");
            for (figure, x) in found {
                assert!((scale.shown(figure) - x).abs() < 1e-3, "{scale:?}: {figure} at {x}");
            }
        }
    }
}
