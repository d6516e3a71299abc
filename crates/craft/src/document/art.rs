//! `art.json`, format 1: what one drawing becomes at true size, with the names of `plan.json`.
//!
//! Areas and lengths are measured on the drawing; nothing here has a mass, since no order says how many are made.

use drawing::{Drawing, relation::lies_inside};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use crate::{
    document::plan::{
        HeadsUpDocument,
        write::{heads_up, mm, mm2, path},
    },
    heads_up::HeadsUp,
    technique::{Overlap, Section, Sections, Technique},
};

/// The number of this format.
pub const FORMAT: u32 = 1;

/// A drawing at true size.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[schemars(title = "art.json")]
pub struct ArtDocument {
    /// The format of this file: 1.
    pub format: u32,
    /// Name of the drawing: its file without the ending.
    pub design: String,
    /// Width of the cutter shape.
    pub width_mm: f64,
    /// Height of the cutter shape.
    pub height_mm: f64,
    /// Area of the cutter shape.
    pub shape_area_mm2: f64,
    /// The cutter shape as an SVG path.
    pub outline_d: String,
    /// Areas and lines that are put down in one go, from the cookie up.
    pub sections: Vec<ArtSectionDocument>,
    /// Wet sections that run close beside each other.
    pub neighbors: Vec<ArtNeighborDocument>,
    /// Sections that lie on others.
    pub overlaps: Vec<ArtOverlapDocument>,
    /// What the maker must know, the worst first.
    pub heads_ups: Vec<HeadsUpDocument>,
}

/// One area or line put down in one go.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct ArtSectionDocument {
    /// Its id: the design's name, a slash, the id of its lowest element in the drawing.
    pub id: String,
    /// Its color, #rrggbb.
    pub color: String,
    /// How it is done.
    pub technique: String,
    /// What it is laid on: cookie, wet, skin, set or dry.
    pub onto: String,
    /// 1 lies on the cookie, 2 on layer 1, and so on.
    pub layer: u32,
    /// What one sees of it, as an SVG path.
    pub path_d: String,
    /// What is poured of it, as an SVG path; empty where that is just what one sees.
    pub poured_d: String,
    /// Area one sees.
    pub visible_area_mm2: f64,
    /// Area that is poured, also where something lies on top.
    pub poured_area_mm2: f64,
    /// Edge of a flood.
    pub edge_mm: f64,
    /// Length of line or lettering.
    pub line_mm: f64,
    /// Narrowest place.
    pub smallest_width_mm: f64,
    /// Number of separate parts.
    pub parts: usize,
    /// Why this technique was proposed.
    pub reason: String,
}

/// Two wet sections that run close beside each other.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct ArtNeighborDocument {
    /// One section.
    pub a: String,
    /// The other.
    pub b: String,
    /// The length over which they are close.
    pub shared_mm: f64,
}

/// A section that lies on another.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct ArtOverlapDocument {
    /// The section on top.
    pub top: String,
    /// The section beneath.
    pub under: String,
    /// Area of the overlap.
    pub area_mm2: f64,
    /// Whether the one on top could be dropped in while the one beneath is wet: both are piped to flow, and it lies
    /// wholly inside.
    pub wet_on_wet: bool,
}

/// Writes a drawing and the sections made of it.
pub fn write_art(
    design: &str,
    drawing: &Drawing,
    chapter: &Sections,
    heads_ups: &[HeadsUp],
) -> ArtDocument {
    let id = |place: usize| {
        chapter.sections.get(place).map(|section| section.id.clone()).unwrap_or_default()
    };
    let mut sorted: Vec<&HeadsUp> = heads_ups.iter().collect();
    sorted.sort_by_key(|one| std::cmp::Reverse(one.severity));
    ArtDocument {
        format: FORMAT,
        design: design.to_owned(),
        width_mm: mm(drawing.width),
        height_mm: mm(drawing.height),
        shape_area_mm2: mm2(drawing.outline.area()),
        outline_d: drawing.outline.path_d(),
        sections: chapter.sections.iter().map(section).collect(),
        neighbors: chapter
            .neighbors
            .iter()
            .map(|neighbor| ArtNeighborDocument {
                a: id(neighbor.a),
                b: id(neighbor.b),
                shared_mm: mm(neighbor.shared),
            })
            .collect(),
        overlaps: chapter
            .overlaps
            .iter()
            .map(|overlap| ArtOverlapDocument {
                top: id(overlap.top),
                under: id(overlap.under),
                area_mm2: mm2(overlap.area),
                wet_on_wet: could_be_wet_on_wet(chapter, overlap),
            })
            .collect(),
        heads_ups: sorted.into_iter().map(heads_up).collect(),
    }
}

fn could_be_wet_on_wet(chapter: &Sections, overlap: &Overlap) -> bool {
    let (Some(top), Some(under)) =
        (chapter.sections.get(overlap.top), chapter.sections.get(overlap.under))
    else {
        return false;
    };
    let flows = matches!(top.technique, Technique::Flood | Technique::Dot | Technique::Line)
        && under.technique == Technique::Flood;
    match (&top.poured, &under.poured) {
        (Some(top), Some(under)) => flows && lies_inside(top, under),
        _ => false,
    }
}

fn section(section: &Section) -> ArtSectionDocument {
    ArtSectionDocument {
        id: section.id.clone(),
        color: section.color.to_hex(),
        technique: section.technique.name().to_owned(),
        onto: section.onto.name().to_owned(),
        layer: section.layer,
        path_d: path(section.visible.as_ref()),
        poured_d: if section.poured == section.visible {
            String::new()
        } else {
            path(section.poured.as_ref())
        },
        visible_area_mm2: mm2(section.visible_area),
        poured_area_mm2: mm2(section.poured_area),
        edge_mm: mm(section.edge),
        line_mm: mm(section.line),
        smallest_width_mm: mm(section.smallest_width),
        parts: section.n_parts,
        reason: section.reason.to_owned(),
    }
}
