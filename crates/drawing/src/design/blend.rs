//! Which opaque colors does translucent paint show?
//!
//! Paint with the color c and the opacity a over what has the color b and the opacity o shows, channel by channel in sRGB:
//!
//! - opacity  s = a + o·(1 - a)
//! - color    (a·c + o·(1 - a)·b) / s
//!
//! so a translucent shape falls into one piece for each color beneath it, white where nothing is.
//! A group that is translucent or masked is painted by itself first; what is seen of it is laid over the rest as a whole.
//! A mask lets through the luminance of its paint, 0.2126 R + 0.7152 G + 0.0722 B, times its opacity, or the opacity alone.
//!
//! Source: Compositing and Blending Level 1, 5.1; CSS Masking Level 1, 7.10.
//! All pieces are exact regions; nothing is drawn in pixels.

use crate::{
    artwork::{Artwork, Layer, Painted},
    color::Color,
    error::Error,
    region::Region,
};

/// Paint is opaque if what shows through is less than half a step of an 8-bit channel.
const OPAQUE: f64 = 1.0 - 0.5 / 255.0;

/// Paint that changes less than half a step of an 8-bit channel is not seen.
const UNSEEN: f64 = 0.5 / 255.0;

/// Most corners looked at to find what lies beneath translucent paint, about half a second of work.
///
/// From there on translucent paint is read as if it lay on white: nobody pipes what hundreds of veils over each other show.
const MOST_CORNER_VISITS: usize = 5_000_000;

/// Most corners looked at to find what is seen of groups painted by themselves.
const MOST_CORNERS_SEEN: usize = 25_000_000;

/// Most pieces translucent paint may fall into before it is read as if it lay on white.
const MOST_PIECES: usize = 2_000;

/// A patch of paint: one color, one opacity.
#[derive(Clone, Debug)]
pub(super) struct Patch {
    /// The painted shape it comes from, by its place.
    pub(super) shape: usize,
    /// Red, green and blue, 0 to 255, not rounded.
    color: [f64; 3],
    opacity: f64,
    pub(super) region: Region,
}

impl Patch {
    pub(super) fn color(&self) -> Color {
        let [red, green, blue] = self.color.map(|channel| channel.round().clamp(0.0, 255.0) as u8);
        Color { red, green, blue }
    }
}

/// Where a mask lets through, and how much: 0 to 1, no two regions overlap.
pub(super) type Coverage = Vec<(Region, f64)>;

/// Turns painted shapes into opaque patches, bottom to top, each of which hides what lies beneath it.
///
/// `regions` are what the shapes cover, `coverages` what the masks let through.
pub(super) fn opaque_patches(
    artwork: &Artwork,
    regions: &[Region],
    coverages: &[Coverage],
) -> Result<Vec<Patch>, Error> {
    let mut blending = Blending::new(&artwork.layers, coverages);
    let white = [Color::WHITE.red, Color::WHITE.green, Color::WHITE.blue].map(f64::from);
    blending.blend(&artwork.shapes, regions, Some(white))
}

/// Returns what each mask of the artwork lets through, in the order of the masks.
///
/// `shapes_of` gives the regions of a mask's shapes, `frame_of` that of its frame.
pub(super) fn coverages(
    artwork: &Artwork,
    mut shapes_of: impl FnMut(&[Painted]) -> Vec<Region>,
    mut frame_of: impl FnMut(usize) -> Region,
) -> Result<Vec<Coverage>, Error> {
    let mut coverages: Vec<Coverage> = Vec::with_capacity(artwork.masks.len());
    for (index, mask) in artwork.masks.iter().enumerate() {
        let mut regions = shapes_of(&mask.shapes);
        hide_masked(&artwork.layers, &coverages, &mask.shapes, &mut regions);
        let mut blending = Blending::new(&artwork.layers, &coverages);
        let patches = blending.blend(&mask.shapes, &regions, None)?;
        let seen = blending.seen(patches)?;
        let frame = frame_of(index);
        let mut coverage: Coverage = Vec::new();
        for patch in seen {
            let [red, green, blue] = patch.color.map(|channel| channel / 255.0);
            let luminance =
                if mask.by_luminance { 0.2126 * red + 0.7152 * green + 0.0722 * blue } else { 1.0 };
            let region = patch.region.intersect(&frame);
            add_coverage(&mut coverage, region, patch.opacity * luminance);
        }
        // Masks come after those they build upon.
        if let Some(within) = mask.within.and_then(|within| coverages.get(within)) {
            coverage = both(&coverage, within);
        }
        coverages.push(coverage);
    }
    Ok(coverages)
}

/// Cuts away from each shape what the masks of its layers hide wholly.
pub(super) fn hide_masked(
    layers: &[Layer],
    coverages: &[Coverage],
    shapes: &[Painted],
    regions: &mut [Region],
) {
    if coverages.is_empty() {
        return;
    }
    for (shape, region) in shapes.iter().zip(regions) {
        for layer in path(layers, shape.layer) {
            let mask = layers.get(layer).and_then(|layer| layer.mask);
            if let Some(coverage) = mask.and_then(|mask| coverages.get(mask)) {
                let seen: Vec<&Region> = coverage.iter().map(|(region, _)| region).collect();
                *region = region.intersect(&Region::union(&seen));
            }
        }
    }
}

/// Tells whether a shape or a group around it is translucent.
pub(super) fn is_translucent(shape: &Painted, layers: &[Layer]) -> bool {
    let around = path(layers, shape.layer);
    shape.opacity < 1.0
        || around.into_iter().any(|layer| layers.get(layer).is_some_and(|own| own.opacity < 1.0))
}

/// Returns the layers around a place, outermost first.
fn path(layers: &[Layer], innermost: Option<usize>) -> Vec<usize> {
    let mut path: Vec<usize> =
        std::iter::successors(innermost, |&layer| layers.get(layer).and_then(|own| own.parent))
            .collect();
    path.reverse();
    path
}

struct Blending<'a> {
    layers: &'a [Layer],
    coverages: &'a [Coverage],
    /// Corners looked at to find what lies beneath.
    n_visits: usize,
    /// Corners looked at to find what is seen.
    n_seen: usize,
}

/// A layer being painted by itself; none for the picture.
struct Open {
    layer: Option<usize>,
    patches: Vec<Patch>,
}

impl<'a> Blending<'a> {
    fn new(layers: &'a [Layer], coverages: &'a [Coverage]) -> Self {
        Self { layers, coverages, n_visits: 0, n_seen: 0 }
    }

    fn blend(
        &mut self,
        shapes: &[Painted],
        regions: &[Region],
        backdrop: Option<[f64; 3]>,
    ) -> Result<Vec<Patch>, Error> {
        let mut open = vec![Open { layer: None, patches: Vec::new() }];
        for (index, (shape, region)) in shapes.iter().zip(regions).enumerate() {
            let mut path = path(self.layers, shape.layer);
            path.retain(|&layer| self.stands_apart(layer));
            let n_common = open.iter().skip(1).zip(&path);
            let n_common = n_common.take_while(|(open, layer)| open.layer == Some(**layer)).count();
            self.close_down_to(n_common + 1, &mut open, backdrop)?;
            for &layer in path.iter().skip(n_common) {
                open.push(Open { layer: Some(layer), patches: Vec::new() });
            }
            let color = [shape.color.red, shape.color.green, shape.color.blue].map(f64::from);
            let patch =
                Patch { shape: index, color, opacity: shape.opacity, region: region.clone() };
            let backdrop = backdrop.filter(|_| open.len() == 1);
            if let Some(innermost) = open.last_mut() {
                self.lay(patch, &mut innermost.patches, backdrop);
            }
        }
        self.close_down_to(1, &mut open, backdrop)?;
        Ok(open.pop().map(|picture| picture.patches).unwrap_or_default())
    }

    /// Tells whether a layer shows other colors than its shapes painted one by one.
    ///
    /// What a mask hides wholly is cut away already.
    fn stands_apart(&self, layer: usize) -> bool {
        self.layers.get(layer).is_some_and(|layer| {
            let coverage = layer.mask.and_then(|mask| self.coverages.get(mask));
            let is_soft =
                coverage.is_some_and(|regions| regions.iter().any(|(_, share)| *share < OPAQUE));
            layer.opacity < OPAQUE || is_soft
        })
    }

    /// Lays the innermost layers over those around them until `n_open` are left.
    fn close_down_to(
        &mut self,
        n_open: usize,
        open: &mut Vec<Open>,
        backdrop: Option<[f64; 3]>,
    ) -> Result<(), Error> {
        while open.len() > n_open
            && let Some(done) = open.pop()
        {
            let backdrop = backdrop.filter(|_| open.len() == 1);
            let layer = done.layer.and_then(|layer| self.layers.get(layer));
            let opacity = layer.map_or(1.0, |layer| layer.opacity);
            let coverage =
                layer.and_then(|layer| layer.mask).and_then(|mask| self.coverages.get(mask));
            let seen = self.seen(done.patches)?;
            let Some(around) = open.last_mut() else { break };
            for patch in seen {
                match coverage {
                    None => {
                        let opacity = patch.opacity * opacity;
                        self.lay(Patch { opacity, ..patch }, &mut around.patches, backdrop);
                    }
                    Some(coverage) => {
                        for (region, share) in coverage {
                            let region = patch.region.intersect(region);
                            let opacity = patch.opacity * opacity * share;
                            let piece = Patch { region, opacity, ..patch.clone() };
                            self.lay(piece, &mut around.patches, backdrop);
                        }
                    }
                }
            }
        }
        Ok(())
    }

    /// Lays a patch over others; a translucent one falls into a piece for each color beneath.
    fn lay(&mut self, patch: Patch, patches: &mut Vec<Patch>, backdrop: Option<[f64; 3]>) {
        if patch.region.is_empty() || patch.opacity < UNSEEN {
            return;
        }
        if patch.opacity >= OPAQUE {
            patches.push(patch);
            return;
        }
        let mut pieces: Vec<Patch> = Vec::new();
        let mut left = patch.region.clone();
        let is_affordable = patches.len() < MOST_PIECES;
        for beneath in patches.iter().rev().take_while(|_| is_affordable) {
            if left.is_empty() || self.n_visits > MOST_CORNER_VISITS {
                break;
            }
            self.n_visits += left.n_corners().min(beneath.region.n_corners());
            if !left.may_meet(&beneath.region) {
                continue;
            }
            self.n_visits += left.n_corners() + beneath.region.n_corners();
            let region = left.intersect(&beneath.region).without_slivers();
            if region.is_empty() {
                continue;
            }
            left = left.subtract(&beneath.region).without_slivers();
            let (color, opacity) = over(&patch, beneath.color, beneath.opacity);
            add_piece(&mut pieces, Patch { color, opacity, region, ..patch });
        }
        let (color, opacity) = match backdrop {
            Some(backdrop) => over(&patch, backdrop, 1.0),
            None => (patch.color, patch.opacity),
        };
        add_piece(&mut pieces, Patch { color, opacity, region: left, ..patch });
        pieces.sort_by(|a, b| b.region.area().to_mm2().total_cmp(&a.region.area().to_mm2()));
        patches.extend(pieces);
    }

    /// Cuts patches to what is seen of them, so that no two overlap.
    fn seen(&mut self, patches: Vec<Patch>) -> Result<Vec<Patch>, Error> {
        let mut seen = Vec::with_capacity(patches.len());
        for (index, patch) in patches.iter().enumerate() {
            let above: Vec<&Region> = patches
                .iter()
                .skip(index + 1)
                .map(|above| &above.region)
                .filter(|above| patch.region.may_meet(above))
                .collect();
            let n_corners: usize = above.iter().map(|above| above.n_corners()).sum();
            self.n_seen = self.n_seen.saturating_add(n_corners);
            if self.n_seen > MOST_CORNERS_SEEN {
                return Err(Error::TooIntricate);
            }
            let region = patch.region.subtract_all(&above).without_slivers();
            if !region.is_empty() {
                seen.push(Patch { region, ..patch.clone() });
            }
        }
        Ok(seen)
    }
}

/// Adds a piece to one of the same color and opacity, if there is one.
fn add_piece(pieces: &mut Vec<Patch>, piece: Patch) {
    if piece.region.is_empty() {
        return;
    }
    let is_same = |other: &&mut Patch| {
        other.color() == piece.color() && (other.opacity - piece.opacity).abs() < UNSEEN
    };
    match pieces.iter_mut().find(is_same) {
        Some(same) => same.region = Region::union(&[&same.region, &piece.region]),
        None => pieces.push(piece),
    }
}

fn over(patch: &Patch, beneath: [f64; 3], beneath_opacity: f64) -> ([f64; 3], f64) {
    let shows_through = beneath_opacity * (1.0 - patch.opacity);
    let opacity = patch.opacity + shows_through;
    let mut color = patch.color;
    for (channel, below) in color.iter_mut().zip(beneath) {
        *channel = (patch.opacity * *channel + shows_through * below) / opacity;
    }
    (color, opacity)
}

/// Adds a region to that of the same share, rounded to a step of an 8-bit channel.
fn add_coverage(coverage: &mut Coverage, region: Region, share: f64) {
    if region.is_empty() || share < UNSEEN {
        return;
    }
    match coverage.iter_mut().find(|(_, known)| (*known - share).abs() < UNSEEN) {
        Some((known, _)) => *known = Region::union(&[&*known, &region]),
        None => coverage.push((region, share)),
    }
}

fn both(a: &Coverage, b: &Coverage) -> Coverage {
    let mut both = Coverage::new();
    for (own, share) in a {
        for (other, other_share) in b {
            add_coverage(&mut both, own.intersect(other), share * other_share);
        }
    }
    both
}
