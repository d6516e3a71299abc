//! From the reader's resolved tree to shapes of our own.
//!
//! Walks the tree by recursion; the guard has bounded its depth.

use std::mem;

use kurbo::{Affine, BezPath, Cap, Join, Rect, Shape, Stroke};
use usvg::tiny_skia_path::{self, PathSegment};

use crate::{
    artwork::{
        Artwork, Clip, Curve, Enclosed, Gradient, Layer, Mask, Painted, gradient, make_ids_unique,
        paint,
    },
    fact::{Dropped, Fact, Flattened},
    raster,
    region::FillRule,
};

/// Steps in which a gradient in a mask lets more and more through.
const MASK_BANDS: usize = 4;

/// Pixels of embedded pictures that are traced in one drawing.
const MOST_IMAGE_PIXELS: u64 = 16_000_000;

/// The id that makes an element the cutter shape.
const OUTLINE_ID: &str = "outline";

/// Adds everything below `root` to the artwork, and names it.
pub(super) fn add_shapes(artwork: &mut Artwork, root: &usvg::Group) {
    let mut walk = Walk {
        artwork,
        element_ids: Vec::new(),
        shape_elements: Vec::new(),
        pixels_left: MOST_IMAGE_PIXELS,
    };
    let everywhere = Place {
        transform: Affine::IDENTITY,
        clip: None,
        layer: None,
        is_seen: true,
        id: None,
        in_outline: false,
        text_element: None,
    };
    walk.group(root, &everywhere);
    let Walk { element_ids, shape_elements, .. } = walk;
    name_shapes(&mut artwork.shapes, &shape_elements, &element_ids);
}

struct Walk<'a> {
    artwork: &'a mut Artwork,
    /// Own id of each painting element, or that of the nearest group around it that holds nothing else.
    element_ids: Vec<String>,
    /// For each shape of the artwork, the element it belongs to.
    shape_elements: Vec<usize>,
    /// Pixels of embedded pictures that may still be traced.
    pixels_left: u64,
}

/// Where in the tree the walk stands.
#[derive(Clone)]
struct Place {
    transform: Affine,
    clip: Option<usize>,
    layer: Option<usize>,
    is_seen: bool,
    /// Nearest id, for facts.
    id: Option<String>,
    in_outline: bool,
    /// The text element whose letters are walked.
    text_element: Option<usize>,
}

impl Place {
    fn named(&self, id: &str) -> Option<String> {
        if id.is_empty() { self.id.clone() } else { Some(id.to_owned()) }
    }
}

impl Walk<'_> {
    fn group(&mut self, group: &usvg::Group, around: &Place) {
        let mut place = Place {
            transform: around.transform * affine(group.transform()),
            is_seen: around.is_seen && group.opacity().get() > 0.0,
            id: around.named(group.id()),
            ..around.clone()
        };
        self.enter_outline(group.id(), &mut place);
        if let Some(clip) = group.clip_path() {
            place.clip = Some(self.clip(clip, place.transform, around.clip));
        }
        let opacity = f64::from(group.opacity().get());
        if opacity < 1.0 || group.mask().is_some() {
            let mask = group.mask().map(|mask| {
                self.note(Fact::Flattened { what: Flattened::Mask, id: place.id.clone() });
                self.mask(mask, &place)
            });
            self.artwork.layers.push(Layer { parent: around.layer, opacity, mask });
            place.layer = Some(self.artwork.layers.len() - 1);
        }
        if !group.filters().is_empty() {
            self.note(Fact::Dropped { what: Dropped::Filter, id: place.id.clone() });
        }
        if group.blend_mode() != usvg::BlendMode::Normal {
            self.note(Fact::Flattened { what: Flattened::BlendMode, id: place.id.clone() });
        }
        let first = self.element_ids.len();
        for child in group.children() {
            match child {
                usvg::Node::Group(child) => self.group(child, &place),
                usvg::Node::Path(path) => self.path(path, &place),
                usvg::Node::Text(text) => self.text(text, &place),
                usvg::Node::Image(image) => self.image(image, &place),
            }
        }
        if let [only] = self.element_ids.get_mut(first..).unwrap_or_default()
            && only.is_empty()
        {
            group.id().clone_into(only);
        }
    }

    /// Adds the patches of an embedded picture, traced.
    fn image(&mut self, image: &usvg::Image, place: &Place) {
        if !image.is_visible() || !place.is_seen {
            return;
        }
        match self.trace(image.kind()) {
            Some(traced) => {
                self.note(Fact::Flattened { what: Flattened::Image, id: place.id.clone() });
                let (size, frame) = (image.size(), traced.frame.unwrap_or_default());
                let to_image = Affine::scale_non_uniform(
                    f64::from(size.width()) / frame.width(),
                    f64::from(size.height()) / frame.height(),
                );
                let element = self.element_ids.len();
                self.element_ids.push(String::new());
                for mut shape in traced.shapes {
                    if let Curve::Inside(inside) = &mut shape.curve {
                        inside.transform = place.transform * to_image;
                    }
                    self.shape_elements.push(element);
                    self.artwork.shapes.push(Painted {
                        id: String::new(),
                        clip: place.clip,
                        layer: place.layer,
                        ..shape
                    });
                }
            }
            None => self.note(Fact::Dropped { what: Dropped::Image, id: place.id.clone() }),
        }
    }

    /// Traces a picture, unless it is damaged or one too many.
    fn trace(&mut self, kind: &usvg::ImageKind) -> Option<Artwork> {
        let usvg::ImageKind::PNG(bytes) = kind else { return None };
        self.pixels_left = self.pixels_left.checked_sub(raster::n_pixels(bytes)?)?;
        raster::trace(bytes, &raster::TraceOptions::default()).ok().map(|trace| trace.artwork)
    }

    fn text(&mut self, text: &usvg::Text, around: &Place) {
        let mut place = around.clone();
        self.enter_outline(text.id(), &mut place);
        place.id = around.named(text.id());
        place.text_element = Some(self.element_ids.len());
        self.element_ids.push(text.id().to_owned());
        self.group(text.flattened(), &place);
    }

    fn path(&mut self, path: &usvg::Path, around: &Place) {
        let mut place = around.clone();
        self.enter_outline(path.id(), &mut place);
        place.id = around.named(path.id());
        let curve = bez_path(path.data());
        let fill = path.fill().filter(|fill| path.is_visible() && fill.opacity().get() > 0.0);
        if place.in_outline {
            let rule = path.fill().map_or(FillRule::NonZero, |fill| fill_rule(fill.rule()));
            self.artwork.outline.push(Enclosed {
                path: curve.clone(),
                transform: place.transform,
                rule,
            });
            if fill.is_none() {
                // An unfilled outline is where to cut, not what to pipe.
                return;
            }
        }
        if !path.is_visible() || !place.is_seen {
            return;
        }
        let element = place.text_element.unwrap_or(self.element_ids.len());
        if place.text_element.is_none() {
            self.element_ids.push(path.id().to_owned());
        }
        let inside = fill.map(|fill| {
            let enclosed = Enclosed {
                path: curve.clone(),
                transform: place.transform,
                rule: fill_rule(fill.rule()),
            };
            (fill.paint(), fill.opacity(), Curve::Inside(enclosed))
        });
        let along = path.stroke().map(|stroke| {
            let line =
                Curve::Along { path: curve, transform: place.transform, stroke: line(stroke) };
            (stroke.paint(), stroke.opacity(), line)
        });
        let in_order = match path.paint_order() {
            usvg::PaintOrder::FillAndStroke => [inside, along],
            usvg::PaintOrder::StrokeAndFill => [along, inside],
        };
        for (paint, opacity, curve) in in_order.into_iter().flatten() {
            self.paint(paint, f64::from(opacity.get()), curve, element, &place);
        }
    }

    fn paint(
        &mut self,
        paint: &usvg::Paint,
        opacity: f64,
        curve: Curve,
        element: usize,
        place: &Place,
    ) {
        let Some(plain) = paint::plain(paint) else { return };
        if let Some(what) = plain.flattened {
            self.note(Fact::Flattened { what, id: place.id.clone() });
        }
        let opacity = opacity * plain.opacity;
        // Less than one step of an 8-bit channel is not seen.
        if opacity < 1.0 / 255.0 {
            return;
        }
        self.shape_elements.push(element);
        self.artwork.shapes.push(Painted {
            id: String::new(),
            curve,
            color: plain.color,
            opacity: opacity.min(1.0),
            gradient: plain.gradient.map(|gradient| Gradient {
                transform: place.transform * gradient.transform,
                ..gradient
            }),
            is_text: place.text_element.is_some(),
            clip: place.clip,
            layer: place.layer,
        });
    }

    /// Adds a mask with all it builds upon and returns its number.
    ///
    /// Its own art is walked as if it were a picture by itself, its gradients told in bands.
    fn mask(&mut self, mask: &usvg::Mask, masked: &Place) -> usize {
        let within = mask.mask().map(|outer| self.mask(outer, masked));
        let place = Place {
            clip: None,
            layer: None,
            is_seen: true,
            id: masked.named(mask.id()),
            in_outline: false,
            text_element: None,
            ..masked.clone()
        };
        let outside = (
            mem::take(&mut self.artwork.shapes),
            mem::take(&mut self.shape_elements),
            mem::take(&mut self.element_ids),
            self.artwork.n_outlines,
            self.artwork.outline.len(),
        );
        self.group(mask.root(), &place);
        let shapes = mem::replace(&mut self.artwork.shapes, outside.0);
        self.shape_elements = outside.1;
        self.element_ids = outside.2;
        // What is called outline in a mask is none.
        self.artwork.n_outlines = outside.3;
        self.artwork.outline.truncate(outside.4);
        let shapes = gradient::split(&shapes, MASK_BANDS, &mut self.artwork.clips);
        let rect = mask.rect();
        let [x0, y0, x1, y1] =
            [rect.left(), rect.top(), rect.right(), rect.bottom()].map(f64::from);
        let frame = Enclosed {
            path: Rect::new(x0, y0, x1, y1).to_path(0.0),
            transform: masked.transform,
            rule: FillRule::NonZero,
        };
        let by_luminance = mask.kind() == usvg::MaskType::Luminance;
        self.artwork.masks.push(Mask { within, by_luminance, frame, shapes });
        self.artwork.masks.len() - 1
    }

    /// Adds a clip with all it builds upon and returns its number.
    fn clip(&mut self, clip: &usvg::ClipPath, transform: Affine, parent: Option<usize>) -> usize {
        let parent = match clip.clip_path() {
            Some(outer) => Some(self.clip(outer, transform, parent)),
            None => parent,
        };
        let mut shapes = Vec::new();
        self.clip_shapes(clip.root(), transform * affine(clip.transform()), None, &mut shapes);
        self.artwork.clips.push(Clip { parent, shapes });
        self.artwork.clips.len() - 1
    }

    fn clip_shapes(
        &mut self,
        group: &usvg::Group,
        transform: Affine,
        clip: Option<usize>,
        shapes: &mut Vec<(Enclosed, Option<usize>)>,
    ) {
        for child in group.children() {
            match child {
                usvg::Node::Path(path) if path.is_visible() => {
                    let rule = path.fill().map_or(FillRule::NonZero, |fill| fill_rule(fill.rule()));
                    shapes.push((Enclosed { path: bez_path(path.data()), transform, rule }, clip));
                }
                usvg::Node::Group(child) => {
                    let transform = transform * affine(child.transform());
                    let clip = match child.clip_path() {
                        Some(inner) => Some(self.clip(inner, transform, clip)),
                        None => clip,
                    };
                    self.clip_shapes(child, transform, clip, shapes);
                }
                usvg::Node::Text(text) => {
                    let letters = text.flattened();
                    self.clip_shapes(
                        letters,
                        transform * affine(letters.transform()),
                        clip,
                        shapes,
                    );
                }
                usvg::Node::Path(_) | usvg::Node::Image(_) => {}
            }
        }
    }

    /// Notes that an outline begins here, unless the walk is inside one already.
    fn enter_outline(&mut self, id: &str, place: &mut Place) {
        if id == OUTLINE_ID && !place.in_outline {
            place.in_outline = true;
            self.artwork.n_outlines += 1;
        }
    }

    fn note(&mut self, fact: Fact) {
        if !self.artwork.notes.contains(&fact) {
            self.artwork.notes.push(fact);
        }
    }
}

/// Gives every shape an id no other has: its element's, or `s` and its place in painter's order.
fn name_shapes(shapes: &mut [Painted], elements: &[usize], element_ids: &[String]) {
    for (index, (shape, &element)) in shapes.iter_mut().zip(elements).enumerate() {
        let own = element_ids.get(element).filter(|id| !id.is_empty()).cloned();
        shape.id = own.unwrap_or_else(|| format!("s{}", index + 1));
    }
    make_ids_unique(shapes);
}

pub(super) fn affine(transform: usvg::Transform) -> Affine {
    let usvg::Transform { sx, ky, kx, sy, tx, ty } = transform;
    Affine::new([sx, ky, kx, sy, tx, ty].map(f64::from))
}

fn fill_rule(rule: usvg::FillRule) -> FillRule {
    match rule {
        usvg::FillRule::NonZero => FillRule::NonZero,
        usvg::FillRule::EvenOdd => FillRule::EvenOdd,
    }
}

fn bez_path(data: &tiny_skia_path::Path) -> BezPath {
    let mut path = BezPath::new();
    let at = |point: tiny_skia_path::Point| (f64::from(point.x), f64::from(point.y));
    for segment in data.segments() {
        match segment {
            PathSegment::MoveTo(to) => path.move_to(at(to)),
            PathSegment::LineTo(to) => path.line_to(at(to)),
            PathSegment::QuadTo(control, to) => path.quad_to(at(control), at(to)),
            PathSegment::CubicTo(first, second, to) => path.curve_to(at(first), at(second), at(to)),
            PathSegment::Close => path.close_path(),
        }
    }
    path
}

fn line(stroke: &usvg::Stroke) -> Stroke {
    let join = match stroke.linejoin() {
        usvg::LineJoin::Miter | usvg::LineJoin::MiterClip => Join::Miter,
        usvg::LineJoin::Round => Join::Round,
        usvg::LineJoin::Bevel => Join::Bevel,
    };
    let cap = match stroke.linecap() {
        usvg::LineCap::Butt => Cap::Butt,
        usvg::LineCap::Round => Cap::Round,
        usvg::LineCap::Square => Cap::Square,
    };
    let line = Stroke::new(f64::from(stroke.width().get()))
        .with_join(join)
        .with_caps(cap)
        .with_miter_limit(f64::from(stroke.miterlimit().get()));
    match stroke.dasharray() {
        Some(dashes) => {
            let dashes: Vec<f64> = dashes.iter().copied().map(f64::from).collect();
            line.with_dashes(f64::from(stroke.dashoffset()), dashes)
        }
        None => line,
    }
}
