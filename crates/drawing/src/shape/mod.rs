//! What does a cutter from the shelf look like at the size it has?
//!
//! A shelf shape is a parametric outline, stretched or built so that the box around it has exactly the width and
//! height asked for.
//! Corners of plaques, tags and rounded rectangles keep their form and follow the shorter side; all other shapes are
//! stretched as a whole.
//! Curves are replaced by chords at most 0.002 mm off, so areas are met within 0.02 % from 20 mm on.
//! The curves a figure is put together from are joined, and crevices narrower than a cutter can have ([`LEAST_SLIT`])
//! are filled.
//!
//! # Worked example
//! A heart is a square on its corner with half circles on its two upper sides: a side of 40 mm gives
//! 40² · (1 + π/4) = 2856.6 mm², 40 · (1 + √2/2) = 68.28 mm wide and 40 · (1/2 + 3/4 · √2) = 62.43 mm high.
//! ```
//! use drawing::shape::ShelfShape;
//! use quantity::Length;
//!
//! let heart = ShelfShape::from_name("heart").unwrap();
//! let (width, height) = (Length::mm(68.2843), Length::mm(62.4264));
//! assert!((heart.proportion() - height / width).abs() < 1e-4);
//! let area = heart.outline(width, height).area().to_mm2();
//! assert!((area - 2856.6).abs() < 0.5, "{area}");
//! ```

mod bend;
mod figure;
mod pen;
mod plain;
#[cfg(test)]
mod tests;

use kurbo::{Affine, BezPath, PathEl, Rect, Shape};
use quantity::Length;

use crate::region::{FillRule, Region};

pub use bend::{Fault, LEAST_SLIT, LEAST_SPIKE_RADIUS, faults, smoothed};

/// Farthest a chord may run from its curve.
const CHORD_MM: f64 = 0.002;

/// A shape cutters are sold in.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
#[non_exhaustive]
pub enum ShelfShape {
    /// A circle.
    Circle,
    /// An ellipse.
    Oval,
    /// A square.
    Square,
    /// A rectangle.
    Rectangle,
    /// A rectangle with rounded corners.
    Rounded,
    /// A rectangle with quarter circles cut from its corners.
    Plaque,
    /// A rectangle with half circles as ends.
    Stadium,
    /// A doorway: a rectangle under a half circle.
    Arch,
    /// A gift tag: a rectangle with its two upper corners cut.
    Tag,
    /// A rectangle with a half circle cut from either end.
    Ticket,
    /// A strip with a notch in either end.
    Ribbon,
    /// A square on its corner.
    Diamond,
    /// A triangle on its side.
    Triangle,
    /// A regular hexagon standing on a side.
    Hexagon,
    /// A regular octagon standing on a side.
    Octagon,
    /// A cross with four equal arms.
    Cross,
    /// A star with so many rounded points, 4 to 12.
    Star(u8),
    /// A flower with so many round petals, 4 to 12.
    Flower(u8),
    /// A disk with a scalloped edge.
    Scallop,
    /// A heart.
    Heart,
    /// An egg, its thick end down.
    Egg,
    /// A drop, its point up.
    Drop,
    /// A leaf between two arcs.
    Leaf,
    /// A crescent moon.
    Crescent,
    /// A coat of arms.
    Shield,
    /// A flag of a bunting, its point down.
    Pennant,
    /// A mug with its handle filled.
    Mug,
    /// A house with a chimney.
    House,
    /// A fir tree.
    Tree,
    /// A mitten.
    Mitten,
    /// A snowman with a hat.
    Snowman,
    /// A cloud.
    Cloud,
    /// A bell.
    Bell,
    /// A balloon.
    Balloon,
    /// A ball for a tree.
    Ornament,
    /// A pumpkin.
    Pumpkin,
    /// A cupcake.
    Cupcake,
    /// A gift with a bow.
    Gift,
    /// A stocking.
    Stocking,
    /// A baby's bodysuit.
    Bodysuit,
    /// A ghost.
    Ghost,
    /// A bone.
    Bone,
    /// A gingerbread figure.
    Person,
    /// A butterfly.
    Butterfly,
    /// A crown.
    Crown,
}

/// Points or petals a star or flower may have.
const COUNTS: std::ops::RangeInclusive<u8> = 4..=12;

impl ShelfShape {
    /// Every shape with its name, stars and flowers with the usual numbers of points and petals.
    pub const NAMES: [(Self, &'static str); 49] = [
        (Self::Circle, "circle"),
        (Self::Oval, "oval"),
        (Self::Square, "square"),
        (Self::Rectangle, "rectangle"),
        (Self::Rounded, "rounded"),
        (Self::Plaque, "plaque"),
        (Self::Stadium, "stadium"),
        (Self::Arch, "arch"),
        (Self::Tag, "tag"),
        (Self::Ticket, "ticket"),
        (Self::Ribbon, "ribbon"),
        (Self::Diamond, "diamond"),
        (Self::Triangle, "triangle"),
        (Self::Hexagon, "hexagon"),
        (Self::Octagon, "octagon"),
        (Self::Cross, "cross"),
        (Self::Star(5), "star"),
        (Self::Star(6), "star-6"),
        (Self::Star(8), "star-8"),
        (Self::Flower(6), "flower"),
        (Self::Flower(5), "flower-5"),
        (Self::Flower(8), "flower-8"),
        (Self::Scallop, "scallop"),
        (Self::Heart, "heart"),
        (Self::Egg, "egg"),
        (Self::Drop, "drop"),
        (Self::Leaf, "leaf"),
        (Self::Crescent, "crescent"),
        (Self::Shield, "shield"),
        (Self::Pennant, "pennant"),
        (Self::Mug, "mug"),
        (Self::House, "house"),
        (Self::Tree, "tree"),
        (Self::Mitten, "mitten"),
        (Self::Snowman, "snowman"),
        (Self::Cloud, "cloud"),
        (Self::Bell, "bell"),
        (Self::Balloon, "balloon"),
        (Self::Ornament, "ornament"),
        (Self::Pumpkin, "pumpkin"),
        (Self::Cupcake, "cupcake"),
        (Self::Gift, "gift"),
        (Self::Stocking, "stocking"),
        (Self::Bodysuit, "bodysuit"),
        (Self::Ghost, "ghost"),
        (Self::Bone, "bone"),
        (Self::Person, "person"),
        (Self::Butterfly, "butterfly"),
        (Self::Crown, "crown"),
    ];

    /// Finds a shape by its name; `star-7` and `flower-9` name any number from 4 to 12.
    pub fn from_name(name: &str) -> Option<Self> {
        let known = Self::NAMES.iter().find(|(_, known)| *known == name);
        if let Some((shape, _)) = known {
            return Some(*shape);
        }
        let (word, count) = name.split_once('-')?;
        let count = count.parse().ok().filter(|count| COUNTS.contains(count))?;
        match word {
            "star" => Some(Self::Star(count)),
            "flower" => Some(Self::Flower(count)),
            _ => None,
        }
    }

    /// Returns the name [`Self::from_name`] knows it by.
    pub fn name(self) -> String {
        let known = Self::NAMES.iter().find(|(shape, _)| *shape == self);
        match (known, self) {
            (Some((_, name)), _) => (*name).to_owned(),
            (None, Self::Star(n)) => format!("star-{n}"),
            (None, Self::Flower(n)) => format!("flower-{n}"),
            (None, _) => String::new(),
        }
    }

    /// Returns its height over its width where only one of them is given.
    pub fn proportion(self) -> f64 {
        let around = box_of(&self.curves([1.0, self.built_proportion()]));
        around.height() / around.width()
    }

    /// Returns the closed curve that is cut, the box around it starting at the origin; nothing for a size of nothing.
    pub fn outline(self, width: Length, height: Length) -> Region {
        let size = [width.to_mm(), height.to_mm()];
        if !size.iter().all(|side| side.is_finite() && *side > 0.0) {
            return Region::default();
        }
        let curves = self.curves(size);
        let around = box_of(&curves);
        let fit = Affine::scale_non_uniform(size[0] / around.width(), size[1] / around.height())
            * Affine::translate((-around.x0, -around.y0));
        let rings: Vec<Vec<[f64; 2]>> = curves.iter().map(|curve| ring(&(fit * curve))).collect();
        let whole = Region::from_rings(&rings, FillRule::NonZero);
        if self.plain(size).is_some() {
            return whole;
        }
        // Figures have crevices no strip of metal follows; filling them adds nothing outside the box.
        let reach = LEAST_SLIT / 2.0;
        let filled = whole.grow(reach).inset(reach);
        Region::union(&[&whole, &filled]).without_holes()
    }

    /// Height over width of shapes whose parts keep their form whatever the proportion.
    fn built_proportion(self) -> f64 {
        match self {
            Self::Rectangle | Self::Rounded | Self::Plaque | Self::Oval => 0.7,
            Self::Stadium | Self::Ticket => 0.5,
            Self::Ribbon => 0.35,
            Self::Arch => 1.3,
            Self::Tag => 1.5,
            _ => 1.0,
        }
    }

    /// Curves that together make the shape, drawn at this size or stretched to it later.
    fn curves(self, size: [f64; 2]) -> Vec<BezPath> {
        self.plain(size).map_or_else(|| self.figure(), |curve| vec![curve])
    }

    /// The curve of a shape of geometry.
    fn plain(self, size: [f64; 2]) -> Option<BezPath> {
        Some(match self {
            Self::Circle | Self::Oval => plain::oval(size),
            Self::Square | Self::Rectangle => plain::rectangle(size),
            Self::Rounded => plain::rounded(size, plain::ROUNDED),
            Self::Plaque => plain::plaque(size),
            Self::Stadium => plain::rounded(size, 0.5),
            Self::Arch => plain::arch(size),
            Self::Tag => plain::tag(size),
            Self::Ticket => plain::ticket(size),
            Self::Ribbon => plain::ribbon(size),
            Self::Diamond => plain::diamond(),
            Self::Triangle => plain::triangle(),
            Self::Hexagon => plain::regular(6, 0.5),
            Self::Octagon => plain::regular(8, 0.5),
            Self::Cross => plain::cross(),
            Self::Star(n) => plain::star(n.clamp(*COUNTS.start(), *COUNTS.end())),
            Self::Flower(n) => plain::flower(n.clamp(*COUNTS.start(), *COUNTS.end())),
            Self::Scallop => plain::flower(14),
            Self::Heart => plain::heart(),
            Self::Egg => plain::egg(),
            Self::Drop => plain::drop(),
            Self::Leaf => plain::leaf(),
            Self::Crescent => plain::crescent(),
            Self::Shield => plain::shield(),
            Self::Pennant => plain::pennant(),
            _ => return None,
        })
    }

    /// The curves of a figure.
    fn figure(self) -> Vec<BezPath> {
        match self {
            Self::Mug => figure::mug(),
            Self::House => figure::house(),
            Self::Tree => figure::tree(),
            Self::Mitten => figure::mitten(),
            Self::Snowman => figure::snowman(),
            Self::Cloud => figure::cloud(),
            Self::Bell => figure::bell(),
            Self::Balloon => figure::balloon(),
            Self::Ornament => figure::ornament(),
            Self::Pumpkin => figure::pumpkin(),
            Self::Cupcake => figure::cupcake(),
            Self::Gift => figure::gift(),
            Self::Stocking => figure::stocking(),
            Self::Bodysuit => figure::bodysuit(),
            Self::Ghost => figure::ghost(),
            Self::Bone => figure::bone(),
            Self::Person => figure::person(),
            Self::Butterfly => figure::butterfly(),
            Self::Crown => figure::crown(),
            _ => Vec::new(),
        }
    }
}

fn box_of(curves: &[BezPath]) -> Rect {
    let boxes = curves.iter().map(BezPath::bounding_box);
    boxes.reduce(|around, next| around.union(next)).unwrap_or(Rect::ZERO)
}

fn ring(curve: &BezPath) -> Vec<[f64; 2]> {
    let mut ring = Vec::new();
    kurbo::flatten(curve, CHORD_MM, |element| {
        if let PathEl::MoveTo(to) | PathEl::LineTo(to) = element {
            ring.push([to.x, to.y]);
        }
    });
    ring
}
