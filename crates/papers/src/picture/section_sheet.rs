//! One design with its sections told: a number on each, and what it is made of beside it.

use drawing::Region;

use super::{
    MARGIN,
    cookie::shown,
    drawn::DrawnDesign,
    palette::{GROUND, HAIRLINE, SHEET, color_of, edge_of},
    ruler::{RULER_HEIGHT, ruler},
    sheets::roomy_point,
    svg::{Element, picture},
    words::{Anchor, Paragraph, Weight, height_of, line, set},
};
use crate::{
    scale::Scale,
    words::{NO_BREAK, spoken},
};

/// Width of the list.
const LIST: f64 = 62.0;
/// Room between the cookie and the list.
const GAP: f64 = 10.0;
/// Side of a swatch.
const SWATCH: f64 = 5.0;
/// Size of a number.
const NUMBER: f64 = 2.6;
/// Room for a ruler that says something.
const LEAST_WIDTH: f64 = 60.0;

/// Draws a design at true size, its sections numbered, with technique, ground and measure of each in a list.
pub fn section_sheet(drawn: &DrawnDesign) -> String {
    let cookie = drawn.cookie("sheet");
    let told = || drawn.sections.iter().filter(|section| section.technique != "naked");
    let mut list = Vec::new();
    let mut y = 0.0;
    for (section, number) in told().zip(1..) {
        let name = section.id.rsplit('/').next().unwrap_or(&section.id);
        let size = if section.line_mm > 0.0 {
            format!("{:.0}{NO_BREAK}mm", section.line_mm)
        } else {
            format!("{:.0}{NO_BREAK}mm²", section.poured_area_mm2)
        };
        let words = [
            Paragraph::new(&format!("{number} {}", spoken(name)), 3.6, Weight::Chief, LIST - 9.0),
            Paragraph::new(
                &format!("{} on {}, {size}", section.technique, section.onto),
                2.8,
                Weight::Side,
                LIST - 9.0,
            ),
        ];
        let color = color_of(&section.color);
        list.push(
            Element::rect([0.0, y + 0.6], SWATCH, SWATCH)
                .set("rx", 1.0)
                .fill(color)
                .stroke(edge_of(color), 0.3),
        );
        list.extend(set(&words, [SWATCH + 3.0, y], Anchor::Start));
        y += height_of(&words) + 2.4;
    }
    let numbers = told().zip(1..).filter_map(|(section, number)| {
        // A number stands on what one sees of its section, in the largest part of it.
        let seen = Region::from_path_d(&section.path_d)
            .filter(|region| !region.is_empty())
            .or_else(|| Region::from_path_d(shown(section)))?;
        let mut parts = seen.parts();
        parts.sort_by(|a, b| b.area().to_mm2().total_cmp(&a.area().to_mm2()));
        let at = roomy_point(parts.first()?, NUMBER * 0.7);
        Some(badge(number, at))
    });
    let left = cookie.width().max(LEAST_WIDTH);
    let height = (cookie.height() + 5.0 + RULER_HEIGHT).max(y);
    let whole = [left + GAP + LIST + 2.0 * MARGIN, height + 2.0 * MARGIN];
    let aside = (left - cookie.width()) / 2.0;
    let corner = [MARGIN + aside - cookie.bounds.min_x, MARGIN - cookie.bounds.min_y];
    let content = [
        Element::rect([0.0, 0.0], whole[0], whole[1]).fill(GROUND),
        cookie.definitions(),
        Element::group([cookie.shadow(), cookie.finished()]).with(numbers).moved(corner),
        Element::group([ruler(left, Scale::TRUE_SIZE)])
            .moved([MARGIN, MARGIN + cookie.height() + 5.0]),
        Element::group(list).moved([MARGIN + left + GAP, MARGIN]),
    ];
    picture(&format!("{}: its sections", spoken(&drawn.design.id)), whole, content)
}

fn badge(number: usize, [x, y]: [f64; 2]) -> Element {
    Element::group([
        Element::circle([x, y], NUMBER * 0.72)
            .fill(SHEET)
            .set("fill-opacity", 0.88)
            .stroke(HAIRLINE, 0.15),
        line(&number.to_string(), [x, y + NUMBER * 0.34], NUMBER, Anchor::Middle, Weight::Chief),
    ])
}

#[cfg(test)]
mod tests {
    use super::{super::drawn::tests::plaque, *};

    #[test]
    fn every_section_has_a_number_and_says_how_it_is_made() {
        let sheet = section_sheet(&plaque());
        for words in ["1 base", "2 top", "flood on cookie", "flood on set", "400\u{a0}mm²"] {
            assert!(sheet.contains(words), "{words}: {sheet}");
        }
        // The number of the base stands beside the square on it.
        assert_eq!(sheet.matches("<circle").count(), 2);
    }
}
