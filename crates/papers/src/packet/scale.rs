//! Which scale lets pictures find room on the paper, and the ruler they stand on.

use std::fmt::Write;

use craft::kitchen::Measures;

use super::drawn::{HAIRLINE, INK, SOFT_INK, svg};
use crate::scale::Scale;

/// Returns the largest scale at which things of these sizes, in rows one after the other, fit into the room;
/// the smallest of all if none does.
pub(super) fn fitting(sizes: &[[f64; 2]], room: Room) -> Scale {
    Scale::ALL.into_iter().find(|scale| fits(*scale, sizes, room)).unwrap_or(Scale::SMALLEST)
}

fn fits(scale: Scale, sizes: &[[f64; 2]], room: Room) -> bool {
    let mut across = 0.0;
    let mut down = 0.0;
    let mut row_height = 0.0_f64;
    for &[width, height] in sizes {
        let (width, height) = (scale.shown(width).max(room.least_width), scale.shown(height));
        if width > room.width {
            return false;
        }
        if across > 0.0 && across + room.gap + width > room.width {
            down += row_height + room.caption;
            (across, row_height) = (0.0, 0.0);
        }
        across += if across > 0.0 { room.gap + width } else { width };
        row_height = row_height.max(height);
    }
    down + row_height + room.caption <= room.height
}

/// The paper there is for pictures in rows, in millimeters.
#[derive(Clone, Copy, Debug)]
pub(super) struct Room {
    pub(super) width: f64,
    pub(super) height: f64,
    /// Between two pictures of a row.
    pub(super) gap: f64,
    /// Below each row, for words.
    pub(super) caption: f64,
    /// What words below a picture need at least.
    pub(super) least_width: f64,
}

/// Height of a ruler's picture.
pub(super) const RULER_HEIGHT_MM: f64 = 5.6;

/// Draws a ruler of this width on the paper, in the kitchen's measures.
pub(super) fn ruler(width_mm: f64, scale: Scale, measures: Measures) -> String {
    // Life's length between two ticks, ticks to the longer one, and what the figures say at the longer ones.
    let (fine_mm, n_fine, figure) = match (measures, scale.divisor) {
        (Measures::Metric, d) if d < 2.0 => (1.0, 10, 10.0),
        (Measures::Metric, d) if d < 4.0 => (5.0, 10, 50.0),
        (Measures::Metric, _) => (10.0, 10, 100.0),
        (Measures::Us, d) if d < 2.0 => (25.4 / 8.0, 8, 1.0),
        (Measures::Us, d) if d < 4.0 => (25.4 / 4.0, 8, 2.0),
        (Measures::Us, _) => (25.4, 4, 4.0),
    };
    let unit = match measures {
        Measures::Metric => "mm",
        Measures::Us => "in",
    };
    let mut fine = format!("M0 0.2H{width_mm:.3}");
    let mut long = String::new();
    let mut figures = String::new();
    for tick in 0..=2000_u32 {
        let x = scale.shown(f64::from(tick) * fine_mm);
        if x > width_mm + 1e-9 {
            break;
        }
        if tick % n_fine != 0 {
            let _ = write!(fine, "M{x:.3} 0.2v1.1");
            continue;
        }
        let _ = write!(long, "M{x:.3} 0.2v2");
        let value = f64::from(tick / n_fine) * figure;
        let (words, room) = match tick / n_fine {
            0 => continue,
            1 => (format!("{value} {unit}"), 5.0),
            _ => (value.to_string(), 3.0),
        };
        if x + room <= width_mm {
            let _ = write!(
                figures,
                r#"<text x="{x:.3}" y="5" font-family="Ysabeau Office" font-size="2.5" text-anchor="middle" fill="{SOFT_INK}">{words}</text>"#
            );
        }
    }
    svg(
        [width_mm, RULER_HEIGHT_MM],
        &format!(
            r#"<path d="{fine}" fill="none" stroke="{HAIRLINE}" stroke-width="0.18"/><path d="{long}" fill="none" stroke="{INK}" stroke-width="0.22"/>{figures}"#
        ),
    )
}

#[cfg(test)]
mod tests {
    use super::*;

    const ROOM: Room =
        Room { width: 100.0, height: 60.0, gap: 5.0, caption: 10.0, least_width: 0.0 };

    #[test]
    fn the_largest_scale_that_fits_is_taken() {
        let scale = |sizes: &[[f64; 2]]| fitting(sizes, ROOM).words;
        assert_eq!(scale(&[]), "True size.");
        assert_eq!(scale(&[[100.0, 50.0]]), "True size.");
        // One millimeter too tall for true size, then two to a row.
        assert_eq!(scale(&[[100.0, 51.0]]), "Two thirds of true size.");
        assert_eq!(scale(&[[95.0, 70.0]; 2]), "Half of true size.");
        assert_eq!(scale(&[[5000.0, 70.0]]), "A twelfth of true size.");
    }

    #[test]
    fn a_figure_stands_where_its_length_is() {
        for (measures, unit_mm) in [(Measures::Metric, 1.0), (Measures::Us, 25.4)] {
            for scale in Scale::ALL {
                let picture = ruler(186.0, scale, measures);
                let document = roxmltree::Document::parse(&picture).expect("it is XML");
                let mut n = 0;
                for text in document.descendants().filter(|node| node.has_tag_name("text")) {
                    let figure =
                        text.text().expect("a figure").split(' ').next().expect("a number");
                    let figure: f64 = figure.parse().expect("a number");
                    let x: f64 = text.attribute("x").expect("a place").parse().expect("a number");
                    assert!((figure * unit_mm / scale.divisor - x).abs() < 1e-3, "{scale:?}");
                    n += 1;
                }
                assert!(n >= 3, "{scale:?}");
            }
        }
    }
}
