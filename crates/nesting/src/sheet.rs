//! One sheet being filled: left-bottom placement of one piece at a time.
//!
//! A piece is tried at the corners that edges and placed pieces leave for its box, and at random places and angles;
//! the place that ends nearest to the sheet's start wins and is then moved step by step closer, as long as nothing is in its way.
//! Collisions are told by `jagua-rs` in single precision, with the gap a hundredth of a millimeter wider than asked.

use std::sync::Arc;

use jagua_rs::{
    collision_detection::{CDEConfig, hazards::filter::NoFilter},
    entities::{Container, Item, Layout},
    geometry::{
        DTransformation, fail_fast::SPSurrogateConfig, geo_traits::TransformableFrom,
        primitives::SPolygon,
    },
    io::{
        export::int_to_ext_transformation,
        ext_repr::{ExtContainer, ExtItem, ExtOrientation, ExtRotation, ExtSPolygon, ExtShape},
        import::Importer,
    },
};
use rand::{RngExt, SeedableRng};
use rand_xoshiro::Xoshiro256PlusPlus;

use crate::{
    Error, Outline, Piece, Placement, Rotation, SheetSize,
    clean::{angles, turned_bounds},
};

/// Added to the gap so that single precision never falls short of it.
const SLACK_MM: f64 = 0.01;
/// Moving along the sheet weighs this much more than across it, so that sheets fill row by row.
const ALONG: f64 = 10.0;
/// Boxes side by side keep so much apart, since touching counts as a collision.
const TOUCH_MM: f64 = 1e-3;
/// A random place must be better than a corner by so much: less would only make rows crooked.
const WORTH_A_CROOKED_ROW: f64 = 0.5;
/// Steps of the final moves, each half the one before.
const FIRST_STEP_MM: f64 = 16.0;
const N_HALVINGS: usize = 10;

/// A piece as the collision engine takes it.
#[derive(Clone)]
pub(crate) struct Imported {
    item: Arc<Item>,
    /// Angles it is tried at, in radians, each with the box around the turned and centered shape.
    turns: Vec<Turn>,
    pub(crate) area_mm2: f64,
    pub(crate) diameter_mm: f64,
}

#[derive(Clone, Copy)]
struct Turn {
    angle: f64,
    low: [f64; 2],
    high: [f64; 2],
    free: bool,
}

/// Imports pieces and sheets for one gap and margin.
pub(crate) struct Workshop {
    importer: Importer,
    gap_mm: f64,
    margin_mm: f64,
}

impl Workshop {
    pub(crate) fn new(gap_mm: f64, margin_mm: f64) -> Result<Self, Error> {
        let config = CDEConfig {
            quadtree_depth: 4,
            cd_threshold: 16,
            item_surrogate_config: SPSurrogateConfig {
                n_pole_limits: [(64, 0.0), (16, 0.8), (8, 0.9)],
                ff_pole_area_ratio: 0.5,
                n_ff_piers: 0,
            },
        };
        let gap = gap_mm + SLACK_MM;
        // The tolerance is a share of the area and only ever grows a shape.
        let importer = Importer::new(config, Some(0.001), None)
            .with_min_item_separation(gap as f32)
            .map_err(|_| Error::OutOfRange {
                what: "the gap",
                value: gap_mm,
                least: 0.0,
                most: f64::from(f32::MAX),
            })?;
        Ok(Self { importer, gap_mm: gap, margin_mm: margin_mm + SLACK_MM })
    }

    pub(crate) fn import(
        &self,
        place: usize,
        piece: &Piece,
        outline: &Outline,
        area_mm2: f64,
    ) -> Result<Imported, Error> {
        let corners = outline.iter().map(|&[x, y]| (x as f32, y as f32)).collect();
        let external = ExtItem {
            id: place as u64,
            shape: ExtShape::SimplePolygon(ExtSPolygon(corners)),
            // Angles are chosen here; the engine only tells collisions.
            orientation: ExtOrientation {
                rotation: ExtRotation::Continuous {},
                reflection_axes: Vec::new(),
            },
            min_quality: None,
        };
        let item = self.importer.import_item(&external, place).map_err(|_| Error::BadOutline {
            piece: place,
            what: "has a detail the gap cannot be put around",
        })?;
        let shape = item.shape_cd();
        let centered: Outline =
            shape.vertices().iter().map(|p| [f64::from(p.0), f64::from(p.1)]).collect();
        let turns = angles(piece.rotation)
            .map(|angle| {
                let (low, high) = turned_bounds(&centered, angle);
                Turn { angle, low, high, free: piece.rotation == Rotation::Free }
            })
            .collect();
        Ok(Imported { diameter_mm: f64::from(shape.diameter()), turns, area_mm2, item })
    }

    pub(crate) fn sheet(&self, size: SheetSize) -> Result<Sheet, Error> {
        // Pieces grow and the sheet shrinks by half a gap each: between piece and edge lies a gap, and the margin less a gap.
        let inset = self.margin_mm - self.gap_mm;
        let (width, length) = (size.width_mm - 2.0 * inset, size.length_mm - 2.0 * inset);
        let too_small = || Error::OutOfRange {
            what: "the width of a sheet inside its margin",
            value: width.min(length),
            least: 1.0,
            most: f64::MAX,
        };
        if width.min(length) <= self.gap_mm + 1.0 {
            return Err(too_small());
        }
        let external = ExtContainer {
            id: 0,
            shape: ExtShape::Rectangle {
                x_min: inset as f32,
                y_min: inset as f32,
                width: width as f32,
                height: length as f32,
            },
            zones: Vec::new(),
        };
        let container: Container =
            self.importer.import_container(&external).map_err(|_| too_small())?;
        let half = self.gap_mm / 2.0;
        Ok(Sheet {
            size,
            low: [inset + half; 2],
            high: [inset + width - half, inset + length - half],
            free_mm2: (width - self.gap_mm) * (length - self.gap_mm),
            layout: Layout::new(container),
            boxes: Vec::new(),
            placements: Vec::new(),
        })
    }
}

/// A sheet being filled.
pub(crate) struct Sheet {
    pub(crate) size: SheetSize,
    pub(crate) placements: Vec<Placement>,
    low: [f64; 2],
    high: [f64; 2],
    free_mm2: f64,
    /// Boxes around the placed pieces, half a gap included.
    boxes: Vec<([f64; 2], [f64; 2])>,
    layout: Layout,
}

/// A place that is tried: center and angle.
#[derive(Clone, Copy)]
struct Spot {
    turn: Turn,
    angle: f64,
    at: [f64; 2],
}

impl Spot {
    fn loss(&self) -> f64 {
        ALONG * (self.at[1] + self.turn.high[1]) + self.at[0] + self.turn.high[0]
    }
}

impl Sheet {
    /// Tells whether there is dough enough left for a piece.
    pub(crate) fn has_room_for(&self, piece: &Imported) -> bool {
        self.free_mm2 >= piece.area_mm2
    }

    /// Places a piece if the tries find room; counts the collision queries.
    pub(crate) fn place(
        &mut self,
        piece: &Imported,
        place: usize,
        n_tries: usize,
        seed: u64,
        evaluations: &mut u64,
    ) -> bool {
        let mut chance = Xoshiro256PlusPlus::seed_from_u64(seed);
        let mut moved = (**piece.item.shape_cd()).clone();
        let mut best = self.first_free_corner(piece, &mut moved, evaluations);
        for _ in 0..n_tries {
            let turn = piece.turns[chance.random_range(0..piece.turns.len())];
            let reach = [0, 1]
                .map(|axis| (self.low[axis] - turn.low[axis], self.high[axis] - turn.high[axis]));
            if reach.iter().any(|(from, to)| from > to) {
                continue;
            }
            let at = reach.map(|(from, to)| chance.random_range(from..=to));
            let spot = Spot { turn, angle: turn.angle, at };
            if best.is_some_and(|best| best.loss() <= spot.loss() + WORTH_A_CROOKED_ROW) {
                continue;
            }
            if self.is_free(piece, spot, &mut moved, evaluations) {
                best = Some(spot);
            }
        }
        let Some(spot) = best else { return false };
        let spot = self.settle(piece, spot, &mut moved, evaluations);
        let transformation =
            DTransformation::new(spot.angle as f32, (spot.at[0] as f32, spot.at[1] as f32));
        self.layout.place_item(&piece.item, transformation);
        self.boxes.push((
            [0, 1].map(|axis| spot.at[axis] + spot.turn.low[axis]),
            [0, 1].map(|axis| spot.at[axis] + spot.turn.high[axis]),
        ));
        let outward =
            int_to_ext_transformation(&transformation, &piece.item.shape_orig().pre_transform);
        self.placements.push(Placement {
            piece: place,
            x_mm: f64::from(outward.translation().0),
            y_mm: f64::from(outward.translation().1),
            rotation_deg: f64::from(outward.rotation()).to_degrees(),
        });
        self.free_mm2 -= piece.area_mm2;
        true
    }

    /// The free spot nearest to the start whose box stands in a corner of edges and placed boxes: this keeps rows straight.
    fn first_free_corner(
        &self,
        piece: &Imported,
        moved: &mut SPolygon,
        evaluations: &mut u64,
    ) -> Option<Spot> {
        let starts = |axis: usize| -> Vec<f64> {
            std::iter::once(self.low[axis])
                .chain(self.boxes.iter().map(|(_, high)| high[axis] + TOUCH_MM))
                .collect()
        };
        let (across, along) = (starts(0), starts(1));
        let mut spots: Vec<Spot> = Vec::new();
        for &turn in piece.turns.iter().step_by((piece.turns.len() / 4).max(1)) {
            for &x in &across {
                for &y in &along {
                    let spot =
                        Spot { turn, angle: turn.angle, at: [x - turn.low[0], y - turn.low[1]] };
                    if self.holds(&spot) {
                        spots.push(spot);
                    }
                }
            }
        }
        spots.sort_by(|a, b| a.loss().total_cmp(&b.loss()));
        spots.into_iter().find(|&spot| self.is_free(piece, spot, moved, evaluations))
    }

    /// Moves a free spot closer to the start of the sheet, by smaller and smaller steps.
    fn settle(
        &self,
        piece: &Imported,
        mut spot: Spot,
        moved: &mut SPolygon,
        evaluations: &mut u64,
    ) -> Spot {
        let mut step = FIRST_STEP_MM;
        for _ in 0..N_HALVINGS {
            loop {
                let closer = [[0.0, -1.0], [-1.0, 0.0], [-0.7, -0.7], [0.7, -0.7], [-0.7, 0.05]]
                    .map(|[dx, dy]| Spot {
                        at: [spot.at[0] + dx * step, spot.at[1] + dy * step],
                        ..spot
                    });
                let turned = self.turned(piece, spot, step);
                let next = closer
                    .into_iter()
                    .chain(turned)
                    .filter(|one| one.loss() < spot.loss() - 1e-6 && self.holds(one))
                    .find(|&one| self.is_free(piece, one, moved, evaluations));
                match next {
                    Some(next) => spot = next,
                    None => break,
                }
            }
            step /= 2.0;
        }
        spot
    }

    /// The same spot turned a little either way, if the piece may turn freely.
    fn turned(&self, piece: &Imported, spot: Spot, step: f64) -> Vec<Spot> {
        if !spot.turn.free {
            return Vec::new();
        }
        let by = step / piece.diameter_mm.max(1.0);
        [-by, by]
            .map(|by| {
                let angle = spot.angle + by;
                let centered: Outline = piece
                    .item
                    .shape_cd()
                    .vertices()
                    .iter()
                    .map(|p| [f64::from(p.0), f64::from(p.1)])
                    .collect();
                let (low, high) = turned_bounds(&centered, angle);
                Spot { turn: Turn { angle, low, high, free: true }, angle, at: spot.at }
            })
            .to_vec()
    }

    fn holds(&self, spot: &Spot) -> bool {
        (0..2).all(|axis| {
            spot.at[axis] + spot.turn.low[axis] >= self.low[axis]
                && spot.at[axis] + spot.turn.high[axis] <= self.high[axis]
        })
    }

    fn is_free(
        &self,
        piece: &Imported,
        spot: Spot,
        moved: &mut SPolygon,
        evaluations: &mut u64,
    ) -> bool {
        *evaluations += 1;
        let transformation =
            DTransformation::new(spot.angle as f32, (spot.at[0] as f32, spot.at[1] as f32))
                .compose();
        let (engine, shape) = (self.layout.cde(), piece.item.shape_cd());
        if engine.detect_surrogate_collision(shape.surrogate(), &transformation, &NoFilter) {
            return false;
        }
        moved.transform_from(shape, &transformation);
        !engine.detect_poly_collision(moved, &NoFilter)
    }
}
