//! Pictures in rows, each over its name, standing on the ruler of their scale.

use craft::kitchen::Measures;
use serde::Serialize;

use super::{
    files::{Files, Picture},
    scale::{RULER_HEIGHT_MM, Room, Scale, ruler},
};

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

/// Fills row after row.
pub(super) fn in_rows(all: Vec<Standing>, room: Room) -> Vec<Vec<Standing>> {
    let mut rows: Vec<Vec<Standing>> = Vec::new();
    let mut across = 0.0;
    for one in all {
        let more = room.gap + one.cell_mm;
        match rows.last_mut() {
            Some(row) if across + more <= room.width => {
                across += more;
                row.push(one);
            }
            _ => {
                across = one.cell_mm;
                rows.push(vec![one]);
            }
        }
    }
    rows
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
