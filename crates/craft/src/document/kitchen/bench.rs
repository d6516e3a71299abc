//! Dough, trays, oven, icing, tips, drying and paces, with their start values.

use drawing::Color;
use jiff::civil::Date;
use quantity::Span;
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use super::{
    numbers::{density, g, minutes, mm, mm2, seconds, share, within},
    records::{METHODS, air, start_curve, start_times},
};
use crate::{
    consistency::{Test, learn_thinning},
    document::{choices::by_name, error::BadValue},
    drying::{Air, Observation, learn_drying},
    kitchen::{
        Baking, Counts, Dough, DoughSheet, Drying, Icing, LoadTime, Oven, Pace, PipingBags, Tip,
        Tray,
    },
};

/// Dough and what the oven does to it.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(default, deny_unknown_fields)]
pub struct DoughDocument {
    /// Name of the dough recipe.
    pub recipe: String,
    /// Thickness of the rolled dough. Start: 1/4 in, a usual rolling guide. Source: common practice, no source.
    pub thickness_mm: f64,
    /// Density of the rolled dough. Start: between 1.15 and 1.28 from the densities of its parts; weigh one cut cookie.
    pub density_g_per_ml: f64,
    /// Dough left between two cuts. Source: common practice, no source.
    pub cut_gap_mm: f64,
    /// Dough left along the edge of a sheet. Source: common practice, no source.
    pub edge_margin_mm: f64,
    /// Share that sticks to board and pin at each rolling. Source: common practice, no source.
    pub handling_loss_share: f64,
    /// How often scraps may be rolled again. Start: 2 with flour; 4 between paper without flour. Source: common practice, no source.
    pub rerolls_max: usize,
    /// Whether a dough sheet carries one shape unless that costs a rolling. Source: common practice, no source.
    pub one_shape_per_sheet: bool,
    /// Whether extras are only made where they cost no dough. Start: no; what breaks has to be replaced. Source: common practice, no source.
    pub extras_if_free: bool,
    /// Growth of each side in the oven. Start: 0 to 5 % for doughs with little leaven. Source: common practice, no source.
    pub spread_share: f64,
    /// Loss of mass in the oven. Start: 9 to 12 % from dough and baked cookie in USDA SR28 (NDB 18205, 18206).
    pub bake_loss_share: f64,
    /// Attended time for one batch of dough. Source: common practice, no source.
    pub make_min: f64,
    /// Rest of fresh dough in the refrigerator. Source: common practice, no source.
    pub chill_min: f64,
    /// Rest of a frozen sheet before it can be cut. Source: common practice, no source.
    pub temper_min: f64,
    /// Attended time to roll one sheet. Source: common practice, no source.
    pub roll_min: f64,
    /// Attended time to cut one cookie and lay it on a tray. Source: common practice, no source.
    pub cut_s: f64,
    /// Rest of cut cookies in the cold before the oven. Source: common practice, no source.
    pub chill_cut_min: f64,
    /// Rest of a re-rolled sheet in the cold before it is cut. Source: common practice, no source.
    pub chill_reroll_min: f64,
}

impl Default for DoughDocument {
    fn default() -> Self {
        Self {
            recipe: "rolled sugar cookies".to_owned(),
            thickness_mm: 6.35,
            density_g_per_ml: 1.22,
            cut_gap_mm: 2.0,
            edge_margin_mm: 3.0,
            handling_loss_share: 0.02,
            rerolls_max: 2,
            one_shape_per_sheet: true,
            extras_if_free: false,
            spread_share: 0.02,
            bake_loss_share: 0.1,
            make_min: 25.0,
            chill_min: 120.0,
            temper_min: 20.0,
            roll_min: 6.0,
            cut_s: 25.0,
            chill_cut_min: 15.0,
            chill_reroll_min: 25.0,
        }
    }
}

impl DoughDocument {
    pub(super) fn convert(self) -> Result<(Dough, Baking), BadValue> {
        let dough = Dough {
            recipe: self.recipe,
            thickness: mm("thickness_mm", self.thickness_mm, 1.0, 50.0)?,
            density: density("density_g_per_ml", self.density_g_per_ml)?,
            cut_gap: mm("cut_gap_mm", self.cut_gap_mm, 0.0, 50.0)?,
            edge_margin: mm("edge_margin_mm", self.edge_margin_mm, 0.0, 50.0)?,
            handling_loss: share("handling_loss_share", self.handling_loss_share, 0.5)?,
            rerolls_max: self.rerolls_max.min(10),
            one_shape_per_sheet: self.one_shape_per_sheet,
            extras_if_free: self.extras_if_free,
            make: minutes("make_min", self.make_min)?,
            chill: minutes("chill_min", self.chill_min)?,
            temper: minutes("temper_min", self.temper_min)?,
            roll: minutes("roll_min", self.roll_min)?,
            cut: seconds("cut_s", self.cut_s)?,
            chill_cut: minutes("chill_cut_min", self.chill_cut_min)?,
            chill_reroll: minutes("chill_reroll_min", self.chill_reroll_min)?,
        };
        let baking = Baking {
            spread: share("spread_share", self.spread_share, 0.5)?,
            loss: share("bake_loss_share", self.bake_loss_share, 0.5)?,
        };
        Ok((dough, baking))
    }
}

/// A size of rolled dough.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(default, deny_unknown_fields)]
pub struct DoughSheetDocument {
    /// Shorter side. Source: common practice, no source.
    pub width_mm: f64,
    /// Longer side. Source: common practice, no source.
    pub length_mm: f64,
    /// Sheets of this size that are rolled and frozen; they are used first.
    pub in_freezer: u32,
}

impl Default for DoughSheetDocument {
    fn default() -> Self {
        Self { width_mm: 250.0, length_mm: 350.0, in_freezer: 0 }
    }
}

impl DoughSheetDocument {
    pub(super) fn convert(self) -> Result<DoughSheet, BadValue> {
        Ok(DoughSheet {
            width: mm("width_mm", self.width_mm, 50.0, 2000.0)?,
            length: mm("length_mm", self.length_mm, 50.0, 2000.0)?,
            in_freezer: self.in_freezer.min(500),
        })
    }
}

/// A kind of baking sheet.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(default, deny_unknown_fields)]
pub struct TrayDocument {
    /// Usable width. Start: 16.5 in, inside a half-sheet pan. Source: common practice, no source.
    pub width_mm: f64,
    /// Usable length. Start: 11.5 in. Source: common practice, no source.
    pub length_mm: f64,
    /// Room between cookies. Start: 13 mm for dough without leaven, 25 for doughs that spread. Source: common practice, no source.
    pub gap_mm: f64,
    /// How many the kitchen has.
    pub owned: u32,
}

impl Default for TrayDocument {
    fn default() -> Self {
        Self { width_mm: 419.1, length_mm: 292.1, gap_mm: 13.0, owned: 4 }
    }
}

impl TrayDocument {
    pub(super) fn convert(self) -> Result<Tray, BadValue> {
        Ok(Tray {
            width: mm("width_mm", self.width_mm, 50.0, 2000.0)?,
            length: mm("length_mm", self.length_mm, 50.0, 2000.0)?,
            gap: mm("gap_mm", self.gap_mm, 0.0, 200.0)?,
            owned: within("owned", f64::from(self.owned), 1.0, 1000.0)? as u32,
        })
    }
}

/// The oven.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(default, deny_unknown_fields)]
pub struct OvenDocument {
    /// Trays that bake at once.
    pub slots: u32,
    /// Time in the oven by size, smallest first.
    pub load: Vec<LoadTimeDocument>,
    /// Time to change one load for the next. Source: common practice, no source.
    pub change_min: f64,
    /// Time to heat up. Source: common practice, no source.
    pub heat_up_min: f64,
    /// Rest from the oven to the first icing. Source: common practice, no source.
    pub cool_min: f64,
    /// Electric energy of an hour of baking. Source: common practice, no source.
    pub kwh_per_hour: f64,
}

impl Default for OvenDocument {
    fn default() -> Self {
        let load = |up_to_mm, bake_min| LoadTimeDocument { up_to_mm, bake_min };
        Self {
            slots: 1,
            load: vec![load(60.0, 9.0), load(110.0, 11.0), load(1000.0, 13.0)],
            change_min: 2.0,
            heat_up_min: 15.0,
            cool_min: 120.0,
            kwh_per_hour: 1.2,
        }
    }
}

impl OvenDocument {
    pub(super) fn convert(self) -> Result<Oven, BadValue> {
        if self.load.is_empty() {
            return Err(BadValue::new("load", "the list is empty; give at least one baking time"));
        }
        if self.load.windows(2).any(|pair| pair[0].up_to_mm >= pair[1].up_to_mm) {
            return Err(BadValue::new("load", "the sizes do not grow; list the smallest first"));
        }
        let loads = self.load.into_iter().enumerate();
        Ok(Oven {
            slots: within("slots", f64::from(self.slots), 1.0, 20.0)? as u32,
            loads: loads
                .map(|(place, load)| load.convert().map_err(|bad| bad.within("load", place)))
                .collect::<Result<_, _>>()?,
            change: minutes("change_min", self.change_min)?,
            heat_up: minutes("heat_up_min", self.heat_up_min)?,
            cool: minutes("cool_min", self.cool_min)?,
            kwh_per_hour: within("kwh_per_hour", self.kwh_per_hour, 0.0, 100.0)?,
        })
    }
}

/// How long cookies up to a size bake.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(default, deny_unknown_fields)]
pub struct LoadTimeDocument {
    /// Longer side of the largest cookie this holds for.
    pub up_to_mm: f64,
    /// Time in the oven. Start: about 11 min for a 3 in cookie at 350 °F. Source: common practice, no source.
    pub bake_min: f64,
}

impl LoadTimeDocument {
    fn convert(self) -> Result<LoadTime, BadValue> {
        Ok(LoadTime {
            up_to: mm("up_to_mm", self.up_to_mm, 1.0, 2000.0)?,
            bake: minutes("bake_min", within("bake_min", self.bake_min, 1.0, 120.0)?)?,
        })
    }
}

/// Icing: how it lies on cookies and what stays behind.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(default, deny_unknown_fields)]
pub struct IcingDocument {
    /// Name of the icing recipe.
    pub recipe: String,
    /// Color of the base where an order names none.
    pub base_color: String,
    /// Wet depth of a base flood. Source: common practice, no source; weigh a cookie before and after.
    pub base_depth_mm: f64,
    /// Wet depth of a second-layer flood. Source: common practice, no source.
    pub layer_depth_mm: f64,
    /// Height of stiff work. Source: common practice, no source.
    pub stiff_height_mm: f64,
    /// Naked rim between the cookie's edge and its base. Source: common practice, no source.
    pub edge_inset_mm: f64,
    /// Diameter of the bead that holds a flood. Source: common practice, no source.
    pub bead_mm: f64,
    /// Density. Start: low-speed icing; 1.30 to 1.40 from the densities of its parts with little air. Weigh a filled 60 ml cup.
    pub density_g_per_ml: f64,
    /// What stays in a piping bag and its tip. Source: common practice, no source.
    pub left_per_bag_g: f64,
    /// What stays in a bowl. Source: common practice, no source.
    pub left_per_bowl_g: f64,
    /// Reserve on what lies on the cookies. Source: common practice, no source.
    pub reserve_share: f64,
    /// The same for deep and strong shades, which are hard to match again. Source: common practice, no source.
    pub reserve_hard_share: f64,
    /// Smallest reserve of a bowl. Source: common practice, no source.
    pub reserve_least_g: f64,
    /// Step to which a bowl is weighed out.
    pub step_g: f64,
    /// Most the mixer whips at once. Source: common practice, no source.
    pub mixer_max_g: f64,
    /// Attended time for one batch. Start: 7 to 10 min of beating (Banner, How to Build a Gingerbread House, 2008) and weighing.
    pub make_min: f64,
    /// How long before its first use icing is made. Start: the evening before. Source: common practice, no source.
    pub made_ahead_h: f64,
    /// How long it keeps, covered. Start: the shorter end of 3 to 4 days (Banner, How to Build a Gingerbread House, 2008).
    pub keeps_days: f64,
    /// Natural logarithm of the count, in seconds, that the water line gives stiff icing. Source: common practice, no source.
    pub water_ln_stiff: f64,
    /// Fall of ln(count) for each gram of water in 100 g of stiff icing. Source: common practice, no source.
    pub water_per_gram: f64,
}

impl Default for IcingDocument {
    fn default() -> Self {
        Self {
            recipe: "royal icing".to_owned(),
            base_color: "#fbf7ee".to_owned(),
            base_depth_mm: 2.2,
            layer_depth_mm: 1.3,
            stiff_height_mm: 4.0,
            edge_inset_mm: 2.0,
            bead_mm: 1.5,
            density_g_per_ml: 1.35,
            left_per_bag_g: 10.0,
            left_per_bowl_g: 8.0,
            reserve_share: 0.1,
            reserve_hard_share: 0.15,
            reserve_least_g: 20.0,
            step_g: 5.0,
            mixer_max_g: 1500.0,
            make_min: 20.0,
            made_ahead_h: 12.0,
            keeps_days: 3.0,
            water_ln_stiff: 3.685,
            water_per_gram: 0.24,
        }
    }
}

impl IcingDocument {
    /// Takes over what tests say of water.
    pub(super) fn convert(self, tests: &[Test]) -> Result<Icing, BadValue> {
        within("water_ln_stiff", self.water_ln_stiff, 0.0, 10.0)?;
        within("water_per_gram", self.water_per_gram, 0.01, 5.0)?;
        let water_start = start_curve(&self);
        let base_color = Color::parse(&self.base_color).map_err(|_| {
            BadValue::new(
                "base_color",
                format!("\"{}\" is no color; write it like \"#fbf7ee\"", self.base_color),
            )
        })?;
        Ok(Icing {
            recipe: self.recipe,
            base_color,
            base_depth: mm("base_depth_mm", self.base_depth_mm, 0.1, 20.0)?,
            layer_depth: mm("layer_depth_mm", self.layer_depth_mm, 0.1, 20.0)?,
            stiff_height: mm("stiff_height_mm", self.stiff_height_mm, 0.1, 40.0)?,
            edge_inset: mm("edge_inset_mm", self.edge_inset_mm, 0.0, 20.0)?,
            bead: mm("bead_mm", self.bead_mm, 0.0, 10.0)?,
            density: density("density_g_per_ml", self.density_g_per_ml)?,
            left_per_bag: g("left_per_bag_g", self.left_per_bag_g, 0.0, 100.0)?,
            left_per_bowl: g("left_per_bowl_g", self.left_per_bowl_g, 0.0, 200.0)?,
            reserve: share("reserve_share", self.reserve_share, 1.0)?,
            reserve_hard: share("reserve_hard_share", self.reserve_hard_share, 1.0)?,
            reserve_least: g("reserve_least_g", self.reserve_least_g, 0.0, 500.0)?,
            step: g("step_g", self.step_g, 0.1, 100.0)?,
            mixer_max: g("mixer_max_g", self.mixer_max_g, 50.0, 50_000.0)?,
            make: minutes("make_min", self.make_min)?,
            made_ahead: minutes("made_ahead_h", self.made_ahead_h * 60.0)?,
            water: learn_thinning(water_start, tests).curve(),
            water_start,
            keeps: Span::hours(24.0 * within("keeps_days", self.keeps_days, 0.25, 60.0)?),
        })
    }
}

/// Target counts: seconds until a ribbon has vanished.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(default, deny_unknown_fields)]
pub struct CountsDocument {
    /// Lettering and lines. Start: 20 to 25 s. Source: common practice, no source.
    pub line_s: f64,
    /// Outline and flood from one bag. Start: 12 to 15 s. Source: common practice, no source.
    pub flood_s: f64,
    /// Wet-on-wet. Start: 8 to 10 s, equal to its base. Source: common practice, no source.
    pub wet_on_wet_s: f64,
    /// How they are tested: ribbon, knife or shake.
    pub method: String,
}

impl Default for CountsDocument {
    fn default() -> Self {
        Self { line_s: 22.0, flood_s: 13.0, wet_on_wet_s: 9.0, method: "ribbon".to_owned() }
    }
}

impl CountsDocument {
    pub(super) fn convert(self) -> Result<Counts, BadValue> {
        let count = |key, value| seconds(key, within(key, value, 1.0, 120.0)?);
        by_name("method", &self.method, &METHODS)?;
        Ok(Counts {
            line: count("line_s", self.line_s)?,
            flood: count("flood_s", self.flood_s)?,
            wet_on_wet: count("wet_on_wet_s", self.wet_on_wet_s)?,
            method: self.method,
        })
    }
}

/// A piping tip.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(default, deny_unknown_fields)]
pub struct TipDocument {
    /// What the maker calls it.
    pub name: String,
    /// Width of its line.
    pub opening_mm: f64,
}

impl TipDocument {
    pub(super) fn convert(self) -> Result<Tip, BadValue> {
        Ok(Tip { name: self.name, opening: mm("opening_mm", self.opening_mm, 0.1, 20.0)? })
    }
}

/// Fills of a piping bag.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(default, deny_unknown_fields)]
pub struct PipingBagDocument {
    /// A fill that is easy on the hand. Source: common practice, no source.
    pub comfortable_g: f64,
    /// The most a bag takes. Source: common practice, no source.
    pub most_g: f64,
}

impl Default for PipingBagDocument {
    fn default() -> Self {
        Self { comfortable_g: 150.0, most_g: 200.0 }
    }
}

impl PipingBagDocument {
    pub(super) fn convert(self) -> Result<PipingBags, BadValue> {
        let comfortable = g("comfortable_g", self.comfortable_g, 20.0, 2000.0)?;
        let most = g("most_g", self.most_g, self.comfortable_g, 2000.0)?;
        Ok(PipingBags { comfortable, most })
    }
}

/// When wet icing is skinned, set and dry.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(default, deny_unknown_fields)]
pub struct DryingDocument {
    /// Until neighbors keep apart, 2.2 mm deep, in still air of 20 °C and 50 %. Source: common practice, no source.
    pub skin_min: f64,
    /// Until lines and top layers hold. Source: common practice, no source.
    pub set_min: f64,
    /// Until marker, paint and bagging. Start: 8 to 24 h. Source: common practice, no source.
    pub dry_h: f64,
    /// Longest wait before wet-on-wet no longer sinks in. Source: common practice, no source.
    pub wet_on_wet_max_min: f64,
    /// Two wet sections closer than this run together. Source: common practice, no source.
    pub apart_mm: f64,
    /// Over how much length they must run so close to count. Source: common practice, no source.
    pub apart_least_mm: f64,
    /// Temperature of the room where icing dries, in degrees Celsius.
    pub room_celsius: f64,
    /// Relative humidity of that room. Above about 85 % nothing dries. Source: Norrish's equation for sucrose.
    pub room_humidity_percent: f64,
    /// Whether a fan blows on the cookies.
    pub fan: bool,
    /// What a fan makes of skin and set. Source: common practice, no source.
    pub fan_share: f64,
}

impl Default for DryingDocument {
    fn default() -> Self {
        Self {
            skin_min: 15.0,
            set_min: 75.0,
            dry_h: 12.0,
            wet_on_wet_max_min: 4.0,
            apart_mm: 0.8,
            apart_least_mm: 1.0,
            room_celsius: 20.0,
            room_humidity_percent: 50.0,
            fan: false,
            fan_share: 0.6,
        }
    }
}

impl DryingDocument {
    /// Takes over what was seen.
    pub(super) fn convert(
        self,
        seen: &[Observation],
        mut expected: Vec<(Date, Air)>,
    ) -> Result<Drying, BadValue> {
        within("skin_min", self.skin_min, 0.1, 10_080.0)?;
        within("set_min", self.set_min, self.skin_min, 10_080.0)?;
        within("dry_h", self.dry_h, self.set_min / 60.0, 120.0)?;
        within("fan_share", self.fan_share, 0.05, 1.0)?;
        expected.sort_by_key(|(from, _)| *from);
        Ok(Drying {
            known: learn_drying(&start_times(&self), seen),
            air: air(
                "room_celsius",
                self.room_celsius,
                "room_humidity_percent",
                self.room_humidity_percent,
            )?,
            expected,
            fan: self.fan,
            wet_on_wet_max: minutes("wet_on_wet_max_min", self.wet_on_wet_max_min)?,
            apart: mm("apart_mm", self.apart_mm, 0.0, 20.0)?,
            apart_least: mm("apart_least_mm", self.apart_least_mm, 0.0, 100.0)?,
        })
    }
}

/// How fast the maker's hands are.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(default, deny_unknown_fields)]
pub struct PaceDocument {
    /// Taking up and putting down one cookie. Source: common practice, no source.
    pub handling_s: f64,
    /// Outline piped in a second. Start: with the fill speed, 75 s for a round cookie of 68 cm². Source: common practice, no source.
    pub edge_mm_per_s: f64,
    /// Area filled in a second. Source: common practice, no source.
    pub fill_mm2_per_s: f64,
    /// Line or lettering piped in a second. Source: common practice, no source.
    pub line_mm_per_s: f64,
    /// One dot. Source: common practice, no source.
    pub dot_s: f64,
    /// Changing from one bag to another. Source: common practice, no source.
    pub bag_change_s: f64,
    /// Tinting, thinning and bagging one color. Source: common practice, no source.
    pub tint_min: f64,
    /// Packing one cookie. Source: common practice, no source.
    pub pack_s: f64,
    /// How long the tip of a filled bag stays clean while nobody pipes from it. Source: common practice, no source.
    pub tip_crusts_min: f64,
    /// Wiping a tip that has crusted. Source: common practice, no source.
    pub wipe_s: f64,
    /// Setting up once per working session. Source: common practice, no source.
    pub set_up_min: f64,
    /// Washing up once per working session. Source: common practice, no source.
    pub wash_up_min: f64,
    /// Messages and design per order. Source: common practice, no source.
    pub messages_min: f64,
}

impl Default for PaceDocument {
    fn default() -> Self {
        Self {
            handling_s: 8.0,
            edge_mm_per_s: 12.0,
            fill_mm2_per_s: 141.0,
            line_mm_per_s: 8.0,
            dot_s: 2.0,
            bag_change_s: 60.0,
            tint_min: 8.0,
            pack_s: 60.0,
            tip_crusts_min: 20.0,
            wipe_s: 15.0,
            set_up_min: 15.0,
            wash_up_min: 25.0,
            messages_min: 45.0,
        }
    }
}

impl PaceDocument {
    pub(super) fn convert(self) -> Result<Pace, BadValue> {
        Ok(Pace {
            handling: seconds("handling_s", self.handling_s)?,
            edge_per_second: mm("edge_mm_per_s", self.edge_mm_per_s, 0.1, 1000.0)?,
            fill_per_second: mm2("fill_mm2_per_s", self.fill_mm2_per_s, 1.0, 100_000.0)?,
            line_per_second: mm("line_mm_per_s", self.line_mm_per_s, 0.1, 1000.0)?,
            dot: seconds("dot_s", self.dot_s)?,
            bag_change: seconds("bag_change_s", self.bag_change_s)?,
            tint: minutes("tint_min", self.tint_min)?,
            pack: seconds("pack_s", self.pack_s)?,
            tip_crusts: minutes("tip_crusts_min", self.tip_crusts_min)?,
            wipe: seconds("wipe_s", self.wipe_s)?,
            set_up: minutes("set_up_min", self.set_up_min)?,
            wash_up: minutes("wash_up_min", self.wash_up_min)?,
            messages: minutes("messages_min", self.messages_min)?,
        })
    }
}
