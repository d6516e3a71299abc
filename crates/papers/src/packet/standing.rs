//! Pictures in rows, each over its name, standing on the ruler of their scale.

use craft::kitchen::Measures;
use serde::Serialize;

use super::{
    files::{Files, Picture},
    scale::{RULER_HEIGHT_MM, Room, ruler},
};
use crate::scale::Scale;

/// A picture over its name.
#[derive(Serialize)]
pub(super) struct Standing {
    pub(super) picture: Picture,
    /// Width of picture and words.
    cell_mm: f64,
    pub(super) name: String,
    pub(super) words: String,
}

/// What stands in rows, and the ruler below; no ruler below nothing.
#[derive(Serialize)]
pub(super) struct Shown {
    rows: Vec<Vec<Standing>>,
    ruler: Option<Picture>,
    scale: String,
}

impl Standing {
    pub(super) fn new(picture: Picture, name: String, words: String, room: Room) -> Self {
        let cell_mm = picture.width_mm.max(room.least_width);
        Self { picture, cell_mm, name, words }
    }
}

/// Rounds in which rows are made even.
const ROUNDS: u32 = 12;

/// Fills row after row, in no more rows than are needed, and those about equally wide.
pub(super) fn in_rows(all: Vec<Standing>, room: Room) -> Vec<Vec<Standing>> {
    let cells: Vec<f64> = all.iter().map(|one| one.cell_mm).collect();
    let needed = row_lengths(&cells, room.gap, room.width).len();
    let (mut narrow, mut wide) = (0.0, room.width);
    for _ in 0..ROUNDS {
        let middle = (narrow + wide) / 2.0;
        if row_lengths(&cells, room.gap, middle).len() > needed {
            narrow = middle;
        } else {
            wide = middle;
        }
    }
    let mut all = all.into_iter();
    let lengths = row_lengths(&cells, room.gap, wide);
    lengths.into_iter().map(|n| all.by_ref().take(n).collect()).collect()
}

/// Returns how many stand in each row that is at most so wide; one stands alone rather than nowhere.
fn row_lengths(cells: &[f64], gap: f64, width: f64) -> Vec<usize> {
    let mut lengths: Vec<usize> = Vec::new();
    let mut across = 0.0;
    for cell in cells {
        across += gap + cell;
        match lengths.last_mut() {
            Some(length) if across <= width => *length += 1,
            _ => {
                across = *cell;
                lengths.push(1);
            }
        }
    }
    lengths
}

/// Stands things on the ruler of their scale; `key` names the ruler's file.
pub(super) fn on_ruler(
    key: &str,
    all: Vec<Standing>,
    scale: Scale,
    room: Room,
    measures: Measures,
    files: &mut Files,
) -> Shown {
    let ruler = (!all.is_empty()).then(|| {
        let svg = ruler(room.width, scale, measures);
        files.add(format!("ruler-{key}"), svg, [room.width, RULER_HEIGHT_MM], "ruler")
    });
    Shown { rows: in_rows(all, room), ruler, scale: scale.words.to_owned() }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn rows_are_as_few_as_can_be_and_about_equally_wide() {
        let check = |cells: &[f64], expected: &[usize]| {
            let room =
                Room { width: 100.0, height: 0.0, gap: 5.0, caption: 0.0, least_width: 10.0 };
            let files = &mut Files::default();
            let standing = |(place, &width): (usize, &f64)| {
                let picture = files.add(place.to_string(), String::new(), [width, 1.0], "");
                Standing::new(picture, String::new(), String::new(), room)
            };
            let all = cells.iter().enumerate().map(standing).collect();
            let lengths: Vec<usize> = in_rows(all, room).iter().map(Vec::len).collect();
            assert_eq!(lengths, expected, "{cells:?}");
        };
        check(&[], &[]);
        check(&[30.0; 3], &[3]);
        check(&[30.0; 4], &[2, 2]);
        check(&[30.0; 5], &[3, 2]);
        check(&[300.0, 1.0, 300.0], &[1, 1, 1]);
        // The least width counts: ten times 10 mm and nine gaps are 145 mm.
        check(&[1.0; 10], &[5, 5]);
    }
}
