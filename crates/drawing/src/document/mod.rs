//! `artwork.json`, format 1: artwork as it was understood on the day it came in.
//!
//! A drawing is read once, when it is imported; what was understood is kept beside its source, so that a later reader of SVG
//! never gives an old design other sections.
//! Paths are SVG path data in the picture's own units, transforms the six numbers of `matrix()`, colors `#rrggbb`.

mod layers;

use kurbo::{Affine, BezPath, Cap, Join, Rect, Stroke};
use quantity::{Area, Length};
use serde::{Deserialize, Serialize};

use self::layers::{GradientDocument, LayerDocument, MaskDocument};
use crate::{
    artwork::{Artwork, Clip, Curve, Enclosed, Gradient, Mask, Painted},
    color::Color,
    fact::{Dropped, Fact, Flattened},
    region::FillRule,
};

/// The number of this format.
pub const FORMAT: u32 = 1;

/// Why kept artwork could not be read.
#[derive(Debug, thiserror::Error)]
pub enum DocumentError {
    /// It is no such document.
    #[error("the kept artwork is damaged: {0}")]
    Json(#[from] serde_json::Error),
    /// Its format is not known.
    #[error("the kept artwork has format {found}, this version reads format {FORMAT}")]
    Format {
        /// The format it has.
        found: u32,
    },
    /// A value in it makes no sense.
    #[error("the kept artwork is damaged: {what} cannot be read")]
    Value {
        /// The value.
        what: &'static str,
    },
}

/// Writes artwork as JSON.
pub fn write_artwork(artwork: &Artwork) -> String {
    let document = ArtworkDocument {
        format: FORMAT,
        width: artwork.width,
        mm_per_unit: artwork.mm_per_unit,
        frame: artwork.frame.map(|frame| [frame.x0, frame.y0, frame.x1, frame.y1]),
        shapes: artwork.shapes.iter().map(PaintedDocument::from).collect(),
        outline: artwork.outline.iter().map(EnclosedDocument::from).collect(),
        n_outlines: artwork.n_outlines,
        clips: artwork.clips.iter().map(ClipDocument::from).collect(),
        layers: artwork.layers.iter().map(LayerDocument::from).collect(),
        masks: artwork.masks.iter().map(MaskDocument::from).collect(),
        notes: artwork.notes.iter().map(FactDocument::from).collect(),
    };
    serde_json::to_string(&document).expect("plain structs with text keys are JSON")
}

/// Reads artwork that [`write_artwork`] wrote.
///
/// # Errors
/// The text is no such document, or of another format.
pub fn read_artwork(text: &str) -> Result<Artwork, DocumentError> {
    let document: ArtworkDocument = serde_json::from_str(text)?;
    if document.format != FORMAT {
        return Err(DocumentError::Format { found: document.format });
    }
    let n_clips = document.clips.len();
    let known = |clip: Option<usize>, below: usize| earlier(clip, below, "a clip");
    let layers = layers::read(document.layers, document.masks.len())?;
    let depths = layers::mask_depths(&layers);
    let shapes = |shapes: Vec<PaintedDocument>, n_masks: usize| -> Result<_, DocumentError> {
        let shapes = shapes.into_iter().map(|shape| {
            known(shape.clip, n_clips)?;
            // A mask may hold layers with earlier masks only, so that following them comes to an end.
            let depth = shape.layer.map(|layer| depths.get(layer).copied().unwrap_or(usize::MAX));
            earlier(depth, n_masks + 1, "a layer")?;
            Painted::try_from(shape)
        });
        shapes.collect::<Result<Vec<_>, _>>()
    };
    let masks = document.masks.into_iter().enumerate().map(|(place, mask)| {
        Ok(Mask {
            within: earlier(mask.within, place, "a mask")?,
            by_luminance: mask.by_luminance,
            frame: mask.frame.try_into()?,
            shapes: shapes(mask.shapes, place)?,
        })
    });
    let masks = masks.collect::<Result<Vec<_>, DocumentError>>()?;
    let clips = document.clips.into_iter().enumerate().map(|(place, clip)| {
        // A clip builds upon earlier ones only, so that following them comes to an end.
        known(clip.parent, place)?;
        let shapes = clip
            .shapes
            .into_iter()
            .map(|(enclosed, within)| Ok((Enclosed::try_from(enclosed)?, known(within, place)?)));
        Ok(Clip { parent: clip.parent, shapes: shapes.collect::<Result<_, DocumentError>>()? })
    });
    Ok(Artwork {
        shapes: shapes(document.shapes, masks.len())?,
        layers,
        masks,
        outline: document
            .outline
            .into_iter()
            .map(Enclosed::try_from)
            .collect::<Result<_, DocumentError>>()?,
        n_outlines: document.n_outlines,
        clips: clips.collect::<Result<_, DocumentError>>()?,
        frame: document.frame.map(|[x0, y0, x1, y1]| Rect::new(x0, y0, x1, y1)),
        width: document.width,
        mm_per_unit: document.mm_per_unit,
        notes: document.notes.into_iter().map(Fact::from).collect(),
    })
}

/// Passes on a place in a list, unless it is not among the first `below`.
fn earlier(
    place: Option<usize>,
    below: usize,
    what: &'static str,
) -> Result<Option<usize>, DocumentError> {
    match place {
        Some(place) if place >= below => Err(DocumentError::Value { what }),
        known => Ok(known),
    }
}

#[derive(Serialize, Deserialize)]
struct ArtworkDocument {
    format: u32,
    width: f64,
    mm_per_unit: Option<f64>,
    frame: Option<[f64; 4]>,
    shapes: Vec<PaintedDocument>,
    outline: Vec<EnclosedDocument>,
    n_outlines: usize,
    clips: Vec<ClipDocument>,
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    layers: Vec<LayerDocument>,
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    masks: Vec<MaskDocument>,
    notes: Vec<FactDocument>,
}

#[derive(Serialize, Deserialize)]
pub(super) struct PaintedDocument {
    id: String,
    curve: CurveDocument,
    color: String,
    opacity: f64,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    gradient: Option<GradientDocument>,
    is_text: bool,
    clip: Option<usize>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    layer: Option<usize>,
}

#[derive(Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
enum CurveDocument {
    Inside(EnclosedDocument),
    Along { d: String, transform: [f64; 6], stroke: StrokeDocument },
}

#[derive(Serialize, Deserialize)]
pub(super) struct EnclosedDocument {
    d: String,
    transform: [f64; 6],
    even_odd: bool,
}

#[derive(Serialize, Deserialize)]
struct StrokeDocument {
    width: f64,
    join: JoinDocument,
    cap: CapDocument,
    miter_limit: f64,
    dashes: Vec<f64>,
    dash_offset: f64,
}

#[derive(Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
enum JoinDocument {
    Bevel,
    Miter,
    Round,
}

#[derive(Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
enum CapDocument {
    Butt,
    Square,
    Round,
}

#[derive(Serialize, Deserialize)]
struct ClipDocument {
    parent: Option<usize>,
    shapes: Vec<(EnclosedDocument, Option<usize>)>,
}

#[derive(Serialize, Deserialize)]
#[serde(tag = "fact", rename_all = "snake_case")]
enum FactDocument {
    Dropped { what: DroppedDocument, id: Option<String> },
    Flattened { what: FlattenedDocument, id: Option<String> },
    FontReplaced { asked: String, used: String },
    LetterMissing { letter: char },
    OutlineGuessed { border_mm: f64 },
    OutlineAmbiguous { n_outlines: usize },
    OutlineJoined { n_parts: usize },
    OutlineInParts { n_dropped: usize },
    ArtOutsideOutline { id: String, area_mm2: f64 },
    Covered { id: String },
}

/// Writes an enum without fields and its twin in the document, both ways.
macro_rules! twins {
    ($domain:ident, $document:ident, [$($variant:ident),+]) => {
        #[derive(Serialize, Deserialize)]
        #[serde(rename_all = "snake_case")]
        enum $document { $($variant),+ }

        impl From<$domain> for $document {
            fn from(value: $domain) -> Self {
                match value { $($domain::$variant => Self::$variant),+ }
            }
        }

        impl From<$document> for $domain {
            fn from(value: $document) -> Self {
                match value { $($document::$variant => Self::$variant),+ }
            }
        }
    };
}

twins!(
    Dropped,
    DroppedDocument,
    [Image, Mask, Filter, Text, ExternalReference, ForeignObject, Geometry]
);
twins!(Flattened, FlattenedDocument, [Opacity, Mask, Gradient, Pattern, BlendMode, Image, Dashes]);

impl From<&Painted> for PaintedDocument {
    fn from(shape: &Painted) -> Self {
        let curve = match &shape.curve {
            Curve::Inside(enclosed) => CurveDocument::Inside(enclosed.into()),
            Curve::Along { path, transform, stroke } => CurveDocument::Along {
                d: path.to_svg(),
                transform: transform.as_coeffs(),
                stroke: stroke.into(),
            },
        };
        Self {
            id: shape.id.clone(),
            curve,
            color: shape.color.to_hex(),
            opacity: shape.opacity,
            gradient: shape.gradient.as_ref().map(GradientDocument::from),
            is_text: shape.is_text,
            clip: shape.clip,
            layer: shape.layer,
        }
    }
}

impl TryFrom<PaintedDocument> for Painted {
    type Error = DocumentError;

    fn try_from(shape: PaintedDocument) -> Result<Self, DocumentError> {
        let curve = match shape.curve {
            CurveDocument::Inside(enclosed) => Curve::Inside(enclosed.try_into()?),
            CurveDocument::Along { d, transform, stroke } => Curve::Along {
                path: path(&d)?,
                transform: Affine::new(transform),
                stroke: stroke.into(),
            },
        };
        let color =
            Color::parse(&shape.color).map_err(|_| DocumentError::Value { what: "a color" })?;
        Ok(Self {
            id: shape.id,
            curve,
            color,
            opacity: shape.opacity,
            gradient: shape.gradient.map(Gradient::try_from).transpose()?,
            is_text: shape.is_text,
            clip: shape.clip,
            layer: shape.layer,
        })
    }
}

impl From<&Enclosed> for EnclosedDocument {
    fn from(enclosed: &Enclosed) -> Self {
        Self {
            d: enclosed.path.to_svg(),
            transform: enclosed.transform.as_coeffs(),
            even_odd: enclosed.rule == FillRule::EvenOdd,
        }
    }
}

impl TryFrom<EnclosedDocument> for Enclosed {
    type Error = DocumentError;

    fn try_from(enclosed: EnclosedDocument) -> Result<Self, DocumentError> {
        Ok(Self {
            path: path(&enclosed.d)?,
            transform: Affine::new(enclosed.transform),
            rule: if enclosed.even_odd { FillRule::EvenOdd } else { FillRule::NonZero },
        })
    }
}

fn path(d: &str) -> Result<BezPath, DocumentError> {
    BezPath::from_svg(d).map_err(|_| DocumentError::Value { what: "a path" })
}

impl From<&Stroke> for StrokeDocument {
    fn from(stroke: &Stroke) -> Self {
        Self {
            width: stroke.width,
            join: match stroke.join {
                Join::Bevel => JoinDocument::Bevel,
                Join::Miter => JoinDocument::Miter,
                Join::Round => JoinDocument::Round,
            },
            cap: match stroke.start_cap {
                Cap::Butt => CapDocument::Butt,
                Cap::Square => CapDocument::Square,
                Cap::Round => CapDocument::Round,
            },
            miter_limit: stroke.miter_limit,
            dashes: stroke.dash_pattern.to_vec(),
            dash_offset: stroke.dash_offset,
        }
    }
}

impl From<StrokeDocument> for Stroke {
    fn from(stroke: StrokeDocument) -> Self {
        Stroke::new(stroke.width)
            .with_join(match stroke.join {
                JoinDocument::Bevel => Join::Bevel,
                JoinDocument::Miter => Join::Miter,
                JoinDocument::Round => Join::Round,
            })
            .with_caps(match stroke.cap {
                CapDocument::Butt => Cap::Butt,
                CapDocument::Square => Cap::Square,
                CapDocument::Round => Cap::Round,
            })
            .with_miter_limit(stroke.miter_limit)
            .with_dashes(stroke.dash_offset, stroke.dashes)
    }
}

impl From<&Clip> for ClipDocument {
    fn from(clip: &Clip) -> Self {
        let shapes = clip.shapes.iter().map(|(enclosed, within)| (enclosed.into(), *within));
        Self { parent: clip.parent, shapes: shapes.collect() }
    }
}

impl From<&Fact> for FactDocument {
    fn from(fact: &Fact) -> Self {
        match fact.clone() {
            Fact::Dropped { what, id } => Self::Dropped { what: what.into(), id },
            Fact::Flattened { what, id } => Self::Flattened { what: what.into(), id },
            Fact::FontReplaced { asked, used } => Self::FontReplaced { asked, used },
            Fact::LetterMissing { letter } => Self::LetterMissing { letter },
            Fact::OutlineGuessed { border } => Self::OutlineGuessed { border_mm: border.to_mm() },
            Fact::OutlineAmbiguous { n_outlines } => Self::OutlineAmbiguous { n_outlines },
            Fact::OutlineJoined { n_parts } => Self::OutlineJoined { n_parts },
            Fact::OutlineInParts { n_dropped } => Self::OutlineInParts { n_dropped },
            Fact::ArtOutsideOutline { id, area } => {
                Self::ArtOutsideOutline { id, area_mm2: area.to_mm2() }
            }
            Fact::Covered { id } => Self::Covered { id },
        }
    }
}

impl From<FactDocument> for Fact {
    fn from(fact: FactDocument) -> Self {
        match fact {
            FactDocument::Dropped { what, id } => Self::Dropped { what: what.into(), id },
            FactDocument::Flattened { what, id } => Self::Flattened { what: what.into(), id },
            FactDocument::FontReplaced { asked, used } => Self::FontReplaced { asked, used },
            FactDocument::LetterMissing { letter } => Self::LetterMissing { letter },
            FactDocument::OutlineGuessed { border_mm } => {
                Self::OutlineGuessed { border: Length::mm(border_mm) }
            }
            FactDocument::OutlineAmbiguous { n_outlines } => Self::OutlineAmbiguous { n_outlines },
            FactDocument::OutlineJoined { n_parts } => Self::OutlineJoined { n_parts },
            FactDocument::OutlineInParts { n_dropped } => Self::OutlineInParts { n_dropped },
            FactDocument::ArtOutsideOutline { id, area_mm2 } => {
                Self::ArtOutsideOutline { id, area: Area::mm2(area_mm2) }
            }
            FactDocument::Covered { id } => Self::Covered { id },
        }
    }
}
