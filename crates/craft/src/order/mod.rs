//! What a customer and the maker agreed: items, hand-overs, must-haves, wording, allergens to avoid.

mod brief;
mod cutter;

use drawing::Color;
use jiff::{ZonedDateTime, civil::Date};
use quantity::Length;

pub use brief::{Brief, BriefError, DesignFiles, Picture, read_brief};
pub use cutter::{Cutter, CutterError};

use crate::{
    cutting::CuttingStyle,
    technique::{Onto, Technique},
};

/// An agreed order.
#[derive(Clone, Debug, PartialEq)]
pub struct Order {
    /// The occasion.
    pub title: String,
    /// Who it is for.
    pub customer: String,
    /// Whether people and occasion are made up, as in the samples.
    pub invented: bool,
    /// When cookies change hands, earliest first, at least one.
    pub handovers: Vec<Handover>,
    /// What must be on the cookies.
    pub must_have: Vec<String>,
    /// Whether the customer has confirmed the wording in writing.
    pub wording_confirmed: bool,
    /// Allergens to keep out.
    pub avoid: Vec<String>,
    /// What is poured under everything.
    pub base: BaseChoice,
    /// How many colors all drawings together may have; nothing leaves those of the drawings.
    pub most_colors: Option<usize>,
    /// What the maker wants of its work at the bench.
    pub bench: Bench,
    /// What is ordered, at least one item.
    pub items: Vec<Item>,
}

/// How the maker wants to work an order, where that differs from her usual way.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Bench {
    /// How many decorate at once, 1 to 3; nothing leaves the kitchen's number.
    pub makers: Option<usize>,
    /// Whether a fan blows on the cookies; nothing leaves what the kitchen says.
    pub fan: Option<bool>,
    /// Sections, by their ids, that are worked wet into what they lie on.
    pub wet: Vec<String>,
    /// Sections in an order of the maker's own.
    pub pins: Vec<Pin>,
    /// Whether a section may be worked on some cookies first and on the others later, where that saves time.
    pub split: bool,
    /// How the dough sheets are cut; nothing leaves the kitchen's way.
    pub cutting: Option<CuttingStyle>,
}

/// One section is piped before another, by their ids.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Pin {
    /// The earlier one.
    pub first: String,
    /// The later one.
    pub then: String,
}

impl Order {
    /// Returns how many cookies are handed over, extras aside.
    pub fn count(&self) -> u32 {
        self.items.iter().map(|item| item.count).sum()
    }

    /// Returns the designs its items name, each once, in the order of the items.
    pub fn designs(&self) -> Vec<&str> {
        let mut designs: Vec<&str> = Vec::new();
        for item in &self.items {
            if let ItemPicture::Drawn { design, .. } = &item.picture
                && !designs.contains(&design.as_str())
            {
                designs.push(design);
            }
        }
        designs
    }

    /// Returns the earliest hand-over.
    pub fn first_handover(&self) -> &Handover {
        self.handovers.first().expect("an order has at least one hand-over")
    }
}

/// One hand-over of cookies.
#[derive(Clone, Debug, PartialEq)]
pub struct Handover {
    /// The promised wall-clock time.
    pub at: ZonedDateTime,
    /// How many of each item, by the item's place in [`Order::items`].
    pub counts: Vec<(usize, u32)>,
}

/// What is poured under everything.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum BaseChoice {
    /// The art's own bottom region if it covers nearly the whole shape, else the kitchen's base color.
    FromArt,
    /// A base of this color.
    Color(Color),
    /// No base: what the art tiles side by side is flooded on the naked cookie.
    None,
}

/// One design, or a cutter with a detail level, and how many.
#[derive(Clone, Debug, PartialEq)]
pub struct Item {
    /// Its name, unique in the order; the design's file stem unless given.
    pub name: String,
    /// How many are handed over.
    pub count: u32,
    /// Cookies beyond the count; nothing means the usual rule.
    pub extras: Option<u32>,
    /// The picture, or what stands in for it.
    pub picture: ItemPicture,
    /// Allergens this item must be made without.
    pub without: Vec<String>,
    /// The day its cookies were baked and frozen, if they already were.
    pub baked_frozen_on: Option<Date>,
    /// What its cutter may do on the dough.
    pub cutter_use: CutterUse,
    /// The maker's own note.
    pub note: Option<String>,
}

/// What a cutter may do on the dough.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct CutterUse {
    /// How it may be turned.
    pub turning: Turning,
    /// Whether it may be turned over and cut as in a mirror.
    pub turn_over: bool,
    /// Whether it only cuts fresh and frozen sheets, never dough rolled from scraps.
    pub fresh_dough: bool,
}

/// How a cutter may be turned on the dough.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Turning {
    /// By any angle.
    #[default]
    Free,
    /// By quarter turns, as on dough with a grid stamped into it.
    Quarter,
    /// Not at all, as on dough with a pattern that has an upright.
    Fixed,
}

impl Turning {
    /// Every way with its name in files.
    pub const NAMES: [(Self, &'static str); 3] =
        [(Self::Free, "free"), (Self::Quarter, "quarter"), (Self::Fixed, "fixed")];
}

impl Item {
    /// Returns how many are baked: the count and the extras.
    pub fn baked(&self) -> u32 {
        self.count.saturating_add(self.extras.unwrap_or_else(|| extras_of(self.count)))
    }
}

/// Returns the usual extras of one design: 1 up to 12 cookies, then 10 %, rounded up (common practice, no source).
///
/// They replace breakage and try out color and lettering.
///
/// ```
/// use craft::order::extras_of;
/// assert_eq!([8, 12, 13, 40].map(extras_of), [1, 1, 2, 4]);
/// ```
pub fn extras_of(count: u32) -> u32 {
    if count <= 12 { 1 } else { count.div_ceil(10) }
}

/// The picture of an item, or what stands in for it.
#[derive(Clone, Debug, PartialEq)]
pub enum ItemPicture {
    /// A drawn design.
    Drawn {
        /// Name of the design: its file stem.
        design: String,
        /// Width of the cutter shape; nothing means the drawing's own size.
        width: Option<Length>,
        /// Growth of the silhouette where the drawing has no cutter shape; nothing means the usual border.
        border: Option<Length>,
        /// In how many bands of one color its gradients come; nothing makes each one color.
        gradient_bands: Option<usize>,
    },
    /// No drawing yet: a cutter, how detailed, and the colors.
    Undrawn {
        /// What it is cut with.
        cutter: Cutter,
        /// How detailed.
        detail: Detail,
        /// Its colors, the base first, at least one.
        colors: Vec<Color>,
    },
}

/// How detailed a cookie is, from a bare base to everything.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Detail {
    /// A base and nothing on it.
    Plain,
    /// A base with a few lines.
    Simple,
    /// A base with a second layer and lines.
    Dressed,
    /// Several layers and colors.
    Detailed,
    /// Everything: several layers, many lines, lettering.
    Elaborate,
}

impl Detail {
    /// Every level with its name in files, from a bare base to everything.
    pub const NAMES: [(Self, &'static str); 5] = [
        (Self::Plain, "plain"),
        (Self::Simple, "simple"),
        (Self::Dressed, "dressed"),
        (Self::Detailed, "detailed"),
        (Self::Elaborate, "elaborate"),
    ];

    /// Returns the name in files.
    pub fn name(self) -> &'static str {
        Self::NAMES.iter().find(|(detail, _)| *detail == self).map_or("", |(_, name)| name)
    }

    /// Returns the level so many steps richer, or plainer below zero; the ends hold.
    ///
    /// ```
    /// use craft::order::Detail;
    /// assert_eq!(Detail::Simple.richer_by(1), Detail::Dressed);
    /// assert_eq!(Detail::Simple.richer_by(-3), Detail::Plain);
    /// ```
    pub fn richer_by(self, steps: isize) -> Self {
        let place = Self::NAMES.iter().position(|(detail, _)| *detail == self).unwrap_or(0);
        let wanted = place.saturating_add_signed(steps).min(Self::NAMES.len() - 1);
        Self::NAMES[wanted].0
    }
}

/// The maker's own choice for a section of a design.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct SectionChoice {
    /// The section's id: the id of its element in the drawing.
    pub id: String,
    /// How it is done; nothing leaves the proposal.
    pub technique: Option<Technique>,
    /// What it is laid on; nothing leaves the proposal.
    pub onto: Option<Onto>,
}

/// A hand-over that lies before the day the plan starts from.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error(
    "\"{title}\" is to be handed over on {on}, before today ({today}); correct the order, or plan it as of an earlier day with --today"
)]
pub struct PastHandover {
    /// The order's title.
    pub title: String,
    /// Day of the hand-over.
    pub on: Date,
    /// The day the plan starts from.
    pub today: Date,
}

/// Checks that no hand-over lies before today.
///
/// # Errors
/// The first hand-over that does.
pub fn check_today(order: &Order, today: Date) -> Result<(), PastHandover> {
    match order.handovers.iter().map(|handover| handover.at.date()).find(|on| *on < today) {
        Some(on) => Err(PastHandover { title: order.title.clone(), on, today }),
        None => Ok(()),
    }
}
