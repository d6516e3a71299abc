//! Layers, masks and gradients in kept artwork.

use kurbo::{Affine, Circle, Point};
use serde::{Deserialize, Serialize};

use crate::{
    artwork::{Course, Gradient, Layer, Mask, Stop},
    color::Color,
    document::{DocumentError, EnclosedDocument, PaintedDocument, earlier},
};

#[derive(Serialize, Deserialize)]
pub(super) struct LayerDocument {
    parent: Option<usize>,
    opacity: f64,
    mask: Option<usize>,
}

#[derive(Serialize, Deserialize)]
pub(super) struct MaskDocument {
    pub(super) within: Option<usize>,
    pub(super) by_luminance: bool,
    pub(super) frame: EnclosedDocument,
    pub(super) shapes: Vec<PaintedDocument>,
}

#[derive(Serialize, Deserialize)]
pub(super) struct GradientDocument {
    course: CourseDocument,
    transform: [f64; 6],
    stops: Vec<StopDocument>,
}

/// Points as x and y, circles as x, y and radius.
#[derive(Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
enum CourseDocument {
    Linear { from: [f64; 2], to: [f64; 2] },
    Radial { from: [f64; 3], to: [f64; 3] },
}

#[derive(Serialize, Deserialize)]
struct StopDocument {
    offset: f64,
    color: String,
    opacity: f64,
}

/// Reads layers; one lies in earlier ones only, so that following them comes to an end.
pub(super) fn read(
    layers: Vec<LayerDocument>,
    n_masks: usize,
) -> Result<Vec<Layer>, DocumentError> {
    let layers = layers.into_iter().enumerate().map(|(place, layer)| {
        Ok(Layer {
            parent: earlier(layer.parent, place, "a layer")?,
            opacity: layer.opacity,
            mask: earlier(layer.mask, n_masks, "a mask")?,
        })
    });
    layers.collect()
}

/// Returns how many masks must be known before each layer can be painted.
pub(super) fn mask_depths(layers: &[Layer]) -> Vec<usize> {
    let mut depths: Vec<usize> = Vec::with_capacity(layers.len());
    for layer in layers {
        let around = layer.parent.and_then(|parent| depths.get(parent)).copied().unwrap_or(0);
        depths.push(around.max(layer.mask.map_or(0, |mask| mask + 1)));
    }
    depths
}

impl From<&Layer> for LayerDocument {
    fn from(layer: &Layer) -> Self {
        Self { parent: layer.parent, opacity: layer.opacity, mask: layer.mask }
    }
}

impl From<&Mask> for MaskDocument {
    fn from(mask: &Mask) -> Self {
        Self {
            within: mask.within,
            by_luminance: mask.by_luminance,
            frame: (&mask.frame).into(),
            shapes: mask.shapes.iter().map(PaintedDocument::from).collect(),
        }
    }
}

impl From<&Gradient> for GradientDocument {
    fn from(gradient: &Gradient) -> Self {
        let circle = |circle: Circle| [circle.center.x, circle.center.y, circle.radius];
        let course = match gradient.course {
            Course::Linear { from, to } => {
                CourseDocument::Linear { from: [from.x, from.y], to: [to.x, to.y] }
            }
            Course::Radial { from, to } => {
                CourseDocument::Radial { from: circle(from), to: circle(to) }
            }
        };
        let stop = |stop: &Stop| StopDocument {
            offset: stop.offset,
            color: stop.color.to_hex(),
            opacity: stop.opacity,
        };
        let stops = gradient.stops.iter().map(stop).collect();
        Self { course, transform: gradient.transform.as_coeffs(), stops }
    }
}

impl TryFrom<GradientDocument> for Gradient {
    type Error = DocumentError;

    fn try_from(gradient: GradientDocument) -> Result<Self, DocumentError> {
        let circle = |[x, y, radius]: [f64; 3]| Circle::new((x, y), radius);
        let point = |[x, y]: [f64; 2]| Point::new(x, y);
        let course = match gradient.course {
            CourseDocument::Linear { from, to } => {
                Course::Linear { from: point(from), to: point(to) }
            }
            CourseDocument::Radial { from, to } => {
                Course::Radial { from: circle(from), to: circle(to) }
            }
        };
        let stops = gradient.stops.into_iter().map(|stop| {
            let color =
                Color::parse(&stop.color).map_err(|_| DocumentError::Value { what: "a color" })?;
            Ok(Stop { offset: stop.offset, color, opacity: stop.opacity })
        });
        Ok(Self {
            course,
            transform: Affine::new(gradient.transform),
            stops: stops.collect::<Result<_, DocumentError>>()?,
        })
    }
}
