//! How is each part of the picture made, and on what is it laid?
//!
//! Takes the shapes a drawing measured and proposes sections: areas and lines that are put down in one go,
//! each with one color, one technique, what it lies on, and a reason. The maker's own choices win.

mod detail;
mod doable;
mod notice;
mod palette;
mod propose;
mod relate;

use drawing::{Color, Region};
use quantity::{Area, Length};

pub use detail::detail_of;
pub(crate) use detail::{stand_in_sections, with_other_stand_ins};
pub use doable::{Written, about_lettering, about_rights};
pub use propose::{ArtReading, art_sections, plan_sections};
pub(crate) use propose::{as_the_maker_wants, lies_on_icing};

/// What the hand does.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Technique {
    /// Outline and fill an area.
    Flood,
    /// Pipe a line.
    Line,
    /// Press out a dot.
    Dot,
    /// Pipe letters.
    Lettering,
    /// Spread or pipe stiff icing.
    Stiff,
    /// Lay on a piece piped a day or two ahead.
    Transfer,
    /// Spread through a stencil.
    Stencil,
    /// Spray color.
    Airbrush,
    /// Draw with an edible marker.
    Marker,
    /// Paint with color in alcohol or water.
    Paint,
    /// Brush on luster or petal dust.
    Dust,
    /// Lay on a printed sheet.
    Print,
    /// Strew sprinkles.
    Sprinkle,
    /// Leave the cookie bare.
    Naked,
}

impl Technique {
    /// Every technique with its name in files.
    pub const NAMES: [(Self, &'static str); 14] = [
        (Self::Flood, "flood"),
        (Self::Line, "line"),
        (Self::Dot, "dot"),
        (Self::Lettering, "lettering"),
        (Self::Stiff, "stiff"),
        (Self::Transfer, "transfer"),
        (Self::Stencil, "stencil"),
        (Self::Airbrush, "airbrush"),
        (Self::Marker, "marker"),
        (Self::Paint, "paint"),
        (Self::Dust, "dust"),
        (Self::Print, "print"),
        (Self::Sprinkle, "sprinkle"),
        (Self::Naked, "naked"),
    ];

    /// Returns the name in files.
    pub fn name(self) -> &'static str {
        Self::NAMES.iter().find(|(technique, _)| *technique == self).map_or("", |(_, name)| name)
    }

    /// Tells whether it is piped from a bag of icing.
    pub fn is_piped(self) -> bool {
        matches!(
            self,
            Self::Flood | Self::Line | Self::Dot | Self::Lettering | Self::Stiff | Self::Transfer
        )
    }

    /// Tells whether it may go only on what is dry.
    pub fn needs_dry(self) -> bool {
        matches!(
            self,
            Self::Marker | Self::Paint | Self::Dust | Self::Print | Self::Airbrush | Self::Stencil
        )
    }
}

/// What a section is laid on.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Onto {
    /// The bare cookie.
    Cookie,
    /// Wet icing: wet-on-wet.
    Wet,
    /// Icing with a skin.
    Skin,
    /// Icing that holds a top layer.
    Set,
    /// Icing that is dry.
    Dry,
}

impl Onto {
    /// Every ground with its name in files.
    pub const NAMES: [(Self, &'static str); 5] = [
        (Self::Cookie, "cookie"),
        (Self::Wet, "wet"),
        (Self::Skin, "skin"),
        (Self::Set, "set"),
        (Self::Dry, "dry"),
    ];

    /// Returns the name in files.
    pub fn name(self) -> &'static str {
        Self::NAMES.iter().find(|(onto, _)| *onto == self).map_or("", |(_, name)| name)
    }
}

/// One area or line put down in one go.
#[derive(Clone, Debug)]
pub struct Section {
    /// Unique in the order: the item's name, a slash, the id of its lowest element in the drawing.
    pub id: String,
    /// The item it belongs to, by its place in the order.
    pub item: usize,
    /// Its color.
    pub color: Color,
    /// How it is done.
    pub technique: Technique,
    /// What it is laid on.
    pub onto: Onto,
    /// Its layer: 1 lies on the cookie, 2 on layer 1, and so on.
    pub layer: u32,
    /// What one sees of it; nothing without a drawing.
    pub visible: Option<Region>,
    /// What is poured of it, also where something is laid on top; nothing without a drawing.
    pub poured: Option<Region>,
    /// Area one sees.
    pub visible_area: Area,
    /// Area that is poured.
    pub poured_area: Area,
    /// Length of outline of a flooded area.
    pub edge: Length,
    /// Length of line or lettering.
    pub line: Length,
    /// Number of separate parts.
    pub n_parts: usize,
    /// Narrowest place of what is piped.
    pub smallest_width: Length,
    /// Why this technique was proposed.
    pub reason: &'static str,
}

/// Two wet sections of one design that run close beside each other.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Neighbor {
    /// One of them, by its place among the sections.
    pub a: usize,
    /// The other, behind the first.
    pub b: usize,
    /// The length over which they are close.
    pub shared: Length,
}

/// A section that lies on another of its design.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Overlap {
    /// The one on top, by its place among the sections.
    pub top: usize,
    /// The one beneath.
    pub under: usize,
    /// Area of the overlap; zero where there is no drawing to measure.
    pub area: Area,
}

/// One item's cutter shape at true size and what belongs to it.
#[derive(Clone, Debug)]
pub struct Design {
    /// The item's name.
    pub id: String,
    /// How many are handed over.
    pub count: u32,
    /// How many are baked beyond that.
    pub extras: u32,
    /// The cutter shape, its bounding box starting at the origin.
    pub outline: Region,
    /// Width of the cutter shape.
    pub width: Length,
    /// Height of the cutter shape.
    pub height: Length,
    /// Whether there is a drawing.
    pub drawn: bool,
    /// Its sections, by their places, from the cookie up.
    pub sections: std::ops::Range<usize>,
}

impl Design {
    /// Returns how many cookies are baked and iced.
    pub fn copies(&self) -> u32 {
        self.count.saturating_add(self.extras)
    }
}

/// The chapter on sections: every design with its sections, neighbors and overlaps.
#[derive(Clone, Debug, Default)]
pub struct Sections {
    /// One design for each item, in the order's own sequence.
    pub designs: Vec<Design>,
    /// All sections, design by design, from the cookie up.
    pub sections: Vec<Section>,
    /// Wet sections that run close beside each other.
    pub neighbors: Vec<Neighbor>,
    /// Sections that lie on others.
    pub overlaps: Vec<Overlap>,
    /// Sections in an order of the maker's own, the earlier one first, by their places.
    pub pins: Vec<(usize, usize)>,
    /// Whether a section may be worked on some cookies first and on the others later.
    pub may_split: bool,
}
