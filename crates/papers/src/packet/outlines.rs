//! The outlines of all designs at true size, as many to a page as find room.
//!
//! Everything lies within 190 x 259 mm.
//! At its left and lower edge stand rulers; the rest is the field, in which outlines stand in rows, the tallest first.
//! A design that is larger than the field is cut into tiles that overlap; dashed lines show where the next tile begins.

use craft::{document::plan::PlanDocument, kitchen::Kitchen};
use drawing::{Region, region::Bounds};
use quantity::Length;
use serde::Serialize;

use super::{
    drawn::{
        AROUND_OUTLINE_MM, INK, SOFT_INK, TRUE_NUMBER_MM as NUMBER_MM, line, svg, svg_window,
        true_number,
    },
    files::{Files, Picture},
};
use crate::words::{few, listed, size, spoken, titled, unique};

/// What A4 and Letter both hold with margins of 10 mm.
const LIVE_MM: [f64; 2] = [190.0, 259.0];
/// Room for outlines: the live area without its head, the ruler at the left and those below.
const FIELD_MM: [f64; 2] = [178.0, 226.0];
/// Between two outlines.
const GAP_MM: f64 = 5.0;
/// Words below an outline.
const CAPTION_MM: f64 = 11.0;
/// Width that words need at least.
const LEAST_CAPTION_MM: f64 = 30.0;
/// What neighboring tiles both show.
const OVERLAP_MM: f64 = 10.0;
/// A design this much larger than life's cookies is no cookie; its outline is left out.
const MOST_TILES: usize = 60;

#[derive(Serialize)]
pub(super) struct Outlines {
    /// What is drawn at true size.
    title: &'static str,
    live_mm: [f64; 2],
    rulers: Rulers,
    pages: Vec<Page>,
    left_out: String,
}

#[derive(Serialize)]
struct Rulers {
    across: Picture,
    down: Picture,
    inches: Picture,
}

#[derive(Default, Serialize)]
struct Page {
    outlines: Vec<Placed>,
}

/// An outline at its place in the field.
#[derive(Serialize)]
struct Placed {
    picture: Picture,
    x_mm: f64,
    y_mm: f64,
    /// Room for its words.
    caption_mm: f64,
    name: String,
    words: String,
}

/// An outline that is printed once, however many designs share it.
struct Outline<'a> {
    path_d: &'a str,
    bounds: Bounds,
    names: Vec<&'a str>,
    size: String,
}

impl Outline<'_> {
    /// Width and height of its picture, with paper around the line.
    fn size_mm(&self) -> [f64; 2] {
        let Bounds { min_x, min_y, max_x, max_y } = self.bounds;
        [max_x - min_x, max_y - min_y].map(|mm| mm + 2.0 * AROUND_OUTLINE_MM)
    }

    fn corner(&self) -> [f64; 2] {
        [self.bounds.min_x, self.bounds.min_y].map(|mm| mm - AROUND_OUTLINE_MM)
    }

    fn large(&self) -> Large {
        Large {
            content: line(self.path_d),
            numbers: Vec::new(),
            corner: self.corner(),
            size_mm: self.size_mm(),
            name: self.name(),
            words: self.size.clone(),
        }
    }

    fn name(&self) -> String {
        let names: Vec<String> = self.names.iter().map(|name| spoken(name)).collect();
        titled(&few(&names))
    }
}

pub(super) fn outlines(document: &PlanDocument, kitchen: &Kitchen, files: &mut Files) -> Outlines {
    let mut all = read(document, kitchen);
    all.sort_by(|a, b| b.size_mm()[1].total_cmp(&a.size_mm()[1]));
    let [field_width, field_height] = FIELD_MM;
    let (small, large): (Vec<&Outline<'_>>, Vec<_>) = all.iter().partition(|outline| {
        let [width, height] = outline.size_mm();
        width <= field_width && height + CAPTION_MM <= field_height
    });
    let (tiled, too_large): (Vec<&Outline<'_>>, Vec<_>) =
        large.into_iter().partition(|outline| tiles(outline.size_mm()).len() <= MOST_TILES);
    let mut pages = in_rows(&small, files);
    for (place, outline) in tiled.iter().enumerate() {
        pages.extend(tile_pages(&outline.large(), &format!("large-{place}"), files));
    }
    let left_out: Vec<String> = too_large.iter().map(|outline| outline.name()).collect();
    Outlines::new("Outlines at true size", pages, &left_out, files)
}

impl Outlines {
    fn new(title: &'static str, pages: Vec<Page>, left_out: &[String], files: &mut Files) -> Self {
        let left_out = if left_out.is_empty() {
            String::new()
        } else {
            format!("Too large to be printed: {}.", listed(left_out))
        };
        Self { title, live_mm: LIVE_MM, rulers: rulers(files), pages, left_out }
    }
}

/// Something larger than a page, to be printed in parts.
pub(super) struct Large {
    /// Elements of SVG, in millimeters.
    pub(super) content: String,
    /// Numbers and where they stand, each on the parts that hold it whole.
    pub(super) numbers: Vec<(usize, [f64; 2])>,
    /// Its upper left corner.
    pub(super) corner: [f64; 2],
    /// Width and height.
    pub(super) size_mm: [f64; 2],
    pub(super) name: String,
    pub(super) words: String,
}

/// Prints large things in parts, one after the other.
pub(super) fn in_parts(title: &'static str, all: &[Large], files: &mut Files) -> Outlines {
    let mut pages = Vec::new();
    let mut left_out = Vec::new();
    for (place, large) in all.iter().enumerate() {
        if tiles(large.size_mm).len() <= MOST_TILES {
            pages.extend(tile_pages(large, &format!("part-{place}"), files));
        } else {
            left_out.push(large.name.clone());
        }
    }
    Outlines::new(title, pages, &left_out, files)
}

fn read<'a>(document: &'a PlanDocument, kitchen: &Kitchen) -> Vec<Outline<'a>> {
    let designs = &document.designs;
    let paths = unique(designs.iter().map(|design| design.outline_d.as_str()));
    let outline = |path_d: &'a str| {
        let bounds = Region::from_path_d(path_d)?.bounds()?;
        let names = designs.iter().filter(|design| design.outline_d == path_d);
        let [width, height] =
            [bounds.max_x - bounds.min_x, bounds.max_y - bounds.min_y].map(Length::mm);
        Some(Outline {
            path_d,
            bounds,
            names: names.map(|design| design.id.as_str()).collect(),
            size: size(width, height, kitchen.units.measures),
        })
    };
    paths.into_iter().filter_map(outline).collect()
}

/// Puts outlines into rows, and rows onto pages.
fn in_rows(outlines: &[&Outline<'_>], files: &mut Files) -> Vec<Page> {
    let [field_width, field_height] = FIELD_MM;
    let mut pages: Vec<Page> = Vec::new();
    let (mut x, mut y, mut row_height) = (0.0_f64, 0.0_f64, 0.0_f64);
    for (place, outline) in outlines.iter().enumerate() {
        let [width, height] = outline.size_mm();
        let cell = width.max(LEAST_CAPTION_MM);
        if x > 0.0 && x + cell > field_width {
            (x, y, row_height) = (0.0, y + row_height, 0.0);
        }
        if pages.is_empty() || y + height + CAPTION_MM > field_height {
            pages.push(Page::default());
            (x, y, row_height) = (0.0, 0.0, 0.0);
        }
        let window = svg_window(outline.corner(), [width, height], &line(outline.path_d));
        let name = outline.name();
        let alt = format!("{name}, outline at true size");
        let placed = Placed {
            picture: files.add(format!("outline-{place}"), window, [width, height], alt),
            x_mm: x,
            y_mm: y,
            caption_mm: cell,
            name,
            words: outline.size.clone(),
        };
        if let Some(page) = pages.last_mut() {
            page.outlines.push(placed);
        }
        x += cell + GAP_MM;
        row_height = row_height.max(height + CAPTION_MM);
    }
    pages
}

/// A part of a large outline: its place from the left and from the top, and where it begins.
struct Tile {
    column: usize,
    row: usize,
    start: [f64; 2],
}

/// Room for a tile: the field without the words below it.
const TILE_MM: [f64; 2] = [FIELD_MM[0], FIELD_MM[1] - CAPTION_MM];

fn tiles([width, height]: [f64; 2]) -> Vec<Tile> {
    let steps = TILE_MM.map(|mm| mm - OVERLAP_MM);
    let n = |length: f64, step: f64| {
        // Beyond the limit the number only has to stay beyond it.
        ((length - OVERLAP_MM) / step).ceil().clamp(1.0, 1e3) as usize
    };
    let (columns, rows) = (n(width, steps[0]), n(height, steps[1]));
    let tile = |row: usize| {
        move |column: usize| Tile {
            column,
            row,
            start: [column as f64 * steps[0], row as f64 * steps[1]],
        }
    };
    (0..rows).flat_map(|row| (0..columns).map(tile(row))).collect()
}

/// One page for each part of something large.
fn tile_pages(large: &Large, key: &str, files: &mut Files) -> Vec<Page> {
    let (whole, [left, top]) = (large.size_mm, large.corner);
    let tiles = tiles(whole);
    let n = tiles.len();
    let page = |(number, tile): (usize, Tile)| {
        let [x, y] = tile.start;
        let size = [0, 1].map(|axis| TILE_MM[axis].min(whole[axis] - tile.start[axis]));
        let corner = [left + x, top + y];
        let is_inside = |at: &[f64; 2]| {
            [0, 1].iter().all(|&axis| {
                let from_edge = at[axis] - corner[axis];
                from_edge >= NUMBER_MM && from_edge <= size[axis] - NUMBER_MM
            })
        };
        let numbers: String = large
            .numbers
            .iter()
            .filter(|(_, at)| is_inside(at))
            .map(|&(number, at)| true_number(number, at))
            .collect();
        let content = format!("{}{numbers}{}", large.content, marks(corner, size, x, y, whole));
        let words = format!(
            "part {} of {n}, column {}, row {}; lay the dashed lines of neighbors on each other; {}",
            number + 1,
            tile.column + 1,
            tile.row + 1,
            large.words
        );
        let alt = format!("{}, part {} of {n} at true size", large.name, number + 1);
        let window = svg_window(corner, size, &content);
        Page {
            outlines: vec![Placed {
                picture: files.add(format!("{key}-{number}"), window, size, alt),
                x_mm: 0.0,
                y_mm: 0.0,
                caption_mm: FIELD_MM[0],
                name: large.name.clone(),
                words,
            }],
        }
    };
    tiles.into_iter().enumerate().map(page).collect()
}

/// Dashed lines in the middle of what a tile shares with its neighbors.
fn marks(
    [left, top]: [f64; 2],
    [width, height]: [f64; 2],
    x: f64,
    y: f64,
    whole: [f64; 2],
) -> String {
    let (right, bottom) = (left + width, top + height);
    let half = OVERLAP_MM / 2.0;
    let upright = |x: f64| format!("M{x:.4} {top:.4}V{bottom:.4}");
    let level = |y: f64| format!("M{left:.4} {y:.4}H{right:.4}");
    let lines = [
        (x > 0.0).then(|| upright(left + half)),
        (x + width < whole[0]).then(|| upright(right - half)),
        (y > 0.0).then(|| level(top + half)),
        (y + height < whole[1]).then(|| level(bottom - half)),
    ];
    let lines: String = lines.into_iter().flatten().collect();
    if lines.is_empty() {
        return lines;
    }
    format!(
        r#"<path d="{lines}" fill="none" stroke="{SOFT_INK}" stroke-width="0.2" stroke-dasharray="2 1.5"/>"#
    )
}

/// Paper around a ruler, so that its end ticks are not cut off.
const AROUND_RULER_MM: f64 = 0.5;

/// Rulers of 100 mm across and down, and of 4 in across.
fn rulers(files: &mut Files) -> Rulers {
    let tick = |length: f64, at: f64| format!("M{at:.4} 0v{length}");
    let millimeters: String = (0..=100)
        .map(|mm| {
            let length = match mm {
                mm if mm % 10 == 0 => 4.0,
                mm if mm % 5 == 0 => 3.0,
                _ => 2.0,
            };
            tick(length, f64::from(mm))
        })
        .collect();
    let inches: String = (0..=32)
        .map(|eighth| {
            let length = match eighth {
                eighth if eighth % 8 == 0 => 4.0,
                eighth if eighth % 4 == 0 => 3.0,
                _ => 2.0,
            };
            tick(length, f64::from(eighth) * 25.4 / 8.0)
        })
        .collect();
    let drawn = |line: String, ticks: &str, turn: &str| {
        format!(
            r#"<g transform="translate({AROUND_RULER_MM} {AROUND_RULER_MM}){turn}" fill="none" stroke="{INK}"><path d="{line}" stroke-width="0.25"/><path d="{ticks}" stroke-width="0.15"/></g>"#
        )
    };
    let long = |mm: f64| mm + 2.0 * AROUND_RULER_MM;
    let across = [long(100.0), long(4.0)];
    let down = [across[1], across[0]];
    let wide = [long(101.6), long(4.0)];
    let millimeters_across = drawn("M0 0H100".to_owned(), &millimeters, "");
    // Turned about the diagonal: what ran to the right runs down.
    let millimeters_down = drawn("M0 0H100".to_owned(), &millimeters, " matrix(0 1 1 0 0 0)");
    let inches = drawn("M0 0H101.6".to_owned(), &inches, "");
    Rulers {
        across: files.add(
            "ruler-across",
            svg(across, &millimeters_across),
            across,
            "ruler of 100 mm across",
        ),
        down: files.add("ruler-down", svg(down, &millimeters_down), down, "ruler of 100 mm down"),
        inches: files.add("ruler-inches", svg(wide, &inches), wide, "ruler of 4 in across"),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn tiles_cover_the_whole_and_overlap() {
        for size in [[100.0, 300.0], [178.0, 217.0], [178.1, 217.1], [500.0, 700.0]] {
            let tiles = tiles(size);
            for axis in [0, 1] {
                let mut starts: Vec<f64> = tiles.iter().map(|tile| tile.start[axis]).collect();
                starts.sort_by(f64::total_cmp);
                starts.dedup();
                let ends = starts.iter().map(|start| start + TILE_MM[axis]);
                for (end, next) in ends.zip(&starts[1..]) {
                    assert!((end - next - OVERLAP_MM).abs() < 1e-9, "{size:?}");
                }
                let last = starts.last().expect("a tile") + TILE_MM[axis];
                assert!(last >= size[axis], "{size:?}");
                // No tile shows only what its neighbor shows too.
                assert!(starts.len() == 1 || last - TILE_MM[axis] + OVERLAP_MM < size[axis]);
            }
        }
    }
}
