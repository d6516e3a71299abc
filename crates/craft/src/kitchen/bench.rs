use drawing::Color;
use jiff::civil::Date;
use quantity::{Area, Density, Length, Mass, Share, Span};

use crate::{
    consistency::WaterCurve,
    drying::{Air, Conditions, DryingKnown, State},
};

/// How dough is made, rolled and cut.
#[derive(Clone, Debug, PartialEq)]
pub struct Dough {
    /// Name of the recipe.
    pub recipe: String,
    /// Thickness of the rolled dough.
    pub thickness: Length,
    /// Density of the rolled dough.
    pub density: Density,
    /// Dough left between two cuts.
    pub cut_gap: Length,
    /// Dough left along the edge of a sheet.
    pub edge_margin: Length,
    /// What sticks to board and pin at each rolling.
    pub handling_loss: Share,
    /// How often scraps may be rolled again.
    pub rerolls_max: usize,
    /// Whether a sheet carries one shape unless that costs a rolling.
    pub one_shape_per_sheet: bool,
    /// Whether extras are only cut where they cost no dough.
    pub extras_if_free: bool,
    /// Attended time to make one batch of dough.
    pub make: Span,
    /// Rest of fresh dough in the refrigerator before rolling.
    pub chill: Span,
    /// Rest of a frozen sheet before it can be cut.
    pub temper: Span,
    /// Attended time to roll one sheet.
    pub roll: Span,
    /// Attended time to cut one cookie and lay it on a tray.
    pub cut: Span,
    /// Rest of cut cookies before the oven.
    pub chill_cut: Span,
    /// Rest of a sheet rolled from scraps before it is cut.
    pub chill_reroll: Span,
}

/// A size of rolled dough and how many such sheets lie in the freezer.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct DoughSheet {
    /// Shorter side.
    pub width: Length,
    /// Longer side.
    pub length: Length,
    /// Sheets of this size that are rolled and frozen.
    pub in_freezer: u32,
}

/// What a bake does to a cookie.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Baking {
    /// Growth of each side in the oven.
    pub spread: Share,
    /// Loss of mass in the oven.
    pub loss: Share,
}

/// A kind of baking sheet.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Tray {
    /// Usable width.
    pub width: Length,
    /// Usable length.
    pub length: Length,
    /// Room between cookies.
    pub gap: Length,
    /// How many the kitchen has.
    pub owned: u32,
}

/// The oven.
#[derive(Clone, Debug, PartialEq)]
pub struct Oven {
    /// Trays that bake at once.
    pub slots: u32,
    /// Time in the oven by size, smallest first, at least one.
    pub loads: Vec<LoadTime>,
    /// Attended time to change one load for the next.
    pub change: Span,
    /// Attended time to heat the oven up.
    pub heat_up: Span,
    /// Rest from the oven to the first icing.
    pub cool: Span,
    /// Electric energy of one hour of baking, in kilowatt-hours.
    pub kwh_per_hour: f64,
}

/// How long cookies up to a size bake.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct LoadTime {
    /// Longer side of the largest cookie this holds for.
    pub up_to: Length,
    /// Time in the oven.
    pub bake: Span,
}

/// How icing lies on cookies and what stays behind.
#[derive(Clone, Debug, PartialEq)]
pub struct Icing {
    /// Name of the recipe.
    pub recipe: String,
    /// Color of the base where an order names none.
    pub base_color: Color,
    /// Wet depth of a base flood.
    pub base_depth: Length,
    /// Wet depth of a second-layer flood.
    pub layer_depth: Length,
    /// Height of stiff work.
    pub stiff_height: Length,
    /// Naked rim between the cookie's edge and its base.
    pub edge_inset: Length,
    /// Diameter of the bead that holds a flood.
    pub bead: Length,
    /// Density of the icing.
    pub density: Density,
    /// What stays in a piping bag and its tip.
    pub left_per_bag: Mass,
    /// What stays in a bowl.
    pub left_per_bowl: Mass,
    /// Reserve on what lies on the cookies.
    pub reserve: Share,
    /// The same for shades that are hard to match again.
    pub reserve_hard: Share,
    /// Smallest reserve of a bowl.
    pub reserve_least: Mass,
    /// Step to which a bowl is weighed out.
    pub step: Mass,
    /// Most the mixer whips at once.
    pub mixer_max: Mass,
    /// Attended time to make one batch.
    pub make: Span,
    /// How long before the first use icing is made.
    pub made_ahead: Span,
    /// How long it keeps covered.
    pub keeps: Span,
    /// How water thins it, by the kitchen's tests.
    pub water: WaterCurve,
    /// The same before any test.
    pub water_start: WaterCurve,
}

/// Target counts: seconds until a ribbon has vanished.
#[derive(Clone, Debug, PartialEq)]
pub struct Counts {
    /// Lettering and lines.
    pub line: Span,
    /// Outline and flood from one bag.
    pub flood: Span,
    /// Wet-on-wet, equal to its base.
    pub wet_on_wet: Span,
    /// How the kitchen tests them: ribbon, knife or shake.
    pub method: String,
}

/// A piping tip.
#[derive(Clone, Debug, PartialEq)]
pub struct Tip {
    /// What the maker calls it.
    pub name: String,
    /// Width of its line.
    pub opening: Length,
}

/// Fills of a piping bag.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct PipingBags {
    /// A fill that is easy on the hand.
    pub comfortable: Mass,
    /// The most a bag takes.
    pub most: Mass,
}

/// When wet icing is skinned, set and dry.
#[derive(Clone, Debug, PartialEq)]
pub struct Drying {
    /// What the kitchen knows of it.
    pub known: DryingKnown,
    /// The air it dries in.
    pub air: Air,
    /// Air expected from a day on, in the order of the days.
    pub expected: Vec<(Date, Air)>,
    /// Whether a fan blows on the cookies.
    pub fan: bool,
    /// Longest wait before wet-on-wet no longer sinks in.
    pub wet_on_wet_max: Span,
    /// Two wet sections closer than this run together.
    pub apart: Length,
    /// Over how much length they must run close to count.
    pub apart_least: Length,
}

impl Drying {
    /// Returns how long to wait for icing of this wet depth.
    pub fn wait(&self, state: State, depth: Length) -> Span {
        let conditions = Conditions { depth, air: self.air, fan: self.fan };
        self.known.planned(state, &conditions)
    }

    /// Returns the same in the air expected on a day.
    pub fn on(&self, day: Date) -> Self {
        let expected = self.expected.iter().rfind(|(from, _)| *from <= day);
        Self { air: expected.map_or(self.air, |(_, air)| *air), ..self.clone() }
    }
}

/// How fast the maker's hands are.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Pace {
    /// Taking up and putting down one cookie.
    pub handling: Span,
    /// Length of outline piped in a second.
    pub edge_per_second: Length,
    /// Area filled in a second.
    pub fill_per_second: Area,
    /// Length of line or lettering piped in a second.
    pub line_per_second: Length,
    /// One dot.
    pub dot: Span,
    /// Changing from one bag to another.
    pub bag_change: Span,
    /// Tinting, thinning and bagging one color.
    pub tint: Span,
    /// Packing one cookie.
    pub pack: Span,
    /// How long the tip of a filled bag stays clean while nobody pipes from it.
    pub tip_crusts: Span,
    /// Wiping a tip that has crusted.
    pub wipe: Span,
    /// Setting up once per working session.
    pub set_up: Span,
    /// Washing up once per working session.
    pub wash_up: Span,
    /// Messages and design per order.
    pub messages: Span,
}
