//! How much icing of each color does this set need, and how much is weighed out?
//!
//! For a section on one cookie, m = V ρ with
//!
//! - flood: V = A t + e π d²/4; `A` poured area, `t` wet depth of its layer, `e` length of its edge, `d` diameter of the bead
//! - line, lettering: V = l π w²/4; `l` length, `w` width of the line
//! - dot: V = 2/3 A r; a half ball of radius r = √(A / (n π)) for each of n dots
//! - stiff work: V = A h; `h` its height
//! - `ρ` density of the icing, g/ml
//!
//! A bowl answers four different questions, kept apart:
//!
//! - `on_cookies`: what lies on the cookies, over all copies
//! - `left`: what stays in bags, tips and bowl, and the reserve
//! - `water`: what thins it to its counts
//! - `weigh_out` = `on_cookies` + `left` - `water`: the stiff icing to weigh before tint and water
//!
//! Water follows ln(count) = a - b w, `w` grams of water in 100 g of stiff icing ([`crate::consistency`]).
//!
//! Source: geometry; depths, losses and the water line are start values (common practice, no source), measured by each kitchen.
//! Holds while a flood is shallow against its width.
//!
//! # Worked example
//! A flood of 50 mm x 40 mm, 2.2 mm deep, bead 1.5 mm, 1.35 g/ml:
//! 2000 mm² x 2.2 mm = 4.4 ml, 180 mm x 1.767 mm² = 0.318 ml, together 4.718 ml or 6.37 g.
//! ```
//! use craft::icing::flood_mass;
//! use quantity::{Area, Density, Length, Mass};
//!
//! let mass = flood_mass(
//!     Area::mm2(2000.0), Length::mm(180.0), Length::mm(2.2), Length::mm(1.5), Density::g_per_ml(1.35),
//! );
//! assert!((mass - Mass::g(6.37)).to_g().abs() < 0.005);
//! ```

mod making;
mod range;

use std::{collections::BTreeSet, f64::consts::PI};

use drawing::Color;
use jiff::civil::Date;
use quantity::{Area, Density, Length, Mass, Span};
use tint::Shade;

use crate::{
    consistency::WaterCurve,
    heads_up::{HeadsUp, Severity, Subject},
    kitchen::{self, Kitchen},
    technique::{Onto, Section, Sections, Technique},
};

pub(crate) use making::days_of;
pub use making::{Batch, keeps_until};
pub use range::{Range, likely_ranges};

/// The icing of one color.
#[derive(Clone, Debug)]
pub struct Bowl {
    /// What one would call its color, made unique: "dark-blue".
    pub id: String,
    /// Its color.
    pub color: Color,
    /// What lies on the cookies.
    pub on_cookies: Mass,
    /// What stays in bags, tips and bowl, and the reserve, with what rounding adds.
    pub left: Mass,
    /// Water that thins it to its counts.
    pub water: Mass,
    /// Stiff icing to weigh out.
    pub weigh_out: Mass,
    /// How much of that is in stock.
    pub from_stock: Mass,
    /// How much of what is in stock has its color already.
    pub tinted_stock: Mass,
    /// What it is piped from.
    pub bags: Vec<Bag>,
    /// What is weighed out at least and at most, where cookies without a drawing have a part in it.
    pub range: Option<Range>,
}

/// What is piped from: one color, one count, one tip.
#[derive(Clone, Debug)]
pub struct Bag {
    /// The bowl's id and what it is for: "dark-blue-flood".
    pub id: String,
    /// Its consistency; stiff icing has no count.
    pub count: Option<Span>,
    /// Name of the tip.
    pub tip: String,
    /// How many bags are filled so.
    pub n: u32,
    /// What goes into each.
    pub fill: Mass,
    /// Water that thins all of them to their count.
    pub water: Mass,
    /// The sections piped from it, by their places.
    pub sections: Vec<usize>,
}

/// How much of one stock of icing is used.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct StockUse {
    /// Its place among the kitchen's stocks.
    pub stock: usize,
    /// How much of it.
    pub mass: Mass,
}

/// The chapter on icing.
#[derive(Clone, Debug, Default)]
pub struct IcingPlan {
    /// For each section what lies of it on one cookie.
    pub on_cookie: Vec<Mass>,
    /// One bowl a color, the largest first.
    pub bowls: Vec<Bowl>,
    /// The icing to be made.
    pub batch: Batch,
    /// What is used of the icing that is already there.
    pub from_stock: Vec<StockUse>,
}

impl IcingPlan {
    /// Finds the bag a section is piped from: the places of its bowl and of the bag in it.
    pub fn bag_of(&self, section: usize) -> Option<(usize, usize)> {
        self.bowls.iter().enumerate().find_map(|(bowl, content)| {
            content
                .bags
                .iter()
                .position(|bag| bag.sections.contains(&section))
                .map(|bag| (bowl, bag))
        })
    }
}

/// Returns the mass of a flood with its bead.
pub fn flood_mass(area: Area, edge: Length, depth: Length, bead: Length, density: Density) -> Mass {
    (area * depth + round_section(bead) * edge) * density
}

/// Returns the mass of a piped line of round section.
pub fn line_mass(length: Length, width: Length, density: Density) -> Mass {
    round_section(width) * length * density
}

/// Returns how much water brings 100 g of stiff icing to a count; nothing for a count above the stiff one.
///
/// ```
/// use craft::{consistency::WaterCurve, icing::water_per_100_g};
/// use quantity::{Mass, Span};
///
/// // ln 12 = 2.485; (3.685 - 2.485) / 0.24 = 5.0
/// let curve = WaterCurve { ln_stiff: 3.685, per_gram: 0.24 };
/// assert!((water_per_100_g(curve, Span::seconds(12.0)) - Mass::g(5.0)).to_g().abs() < 0.01);
/// ```
pub fn water_per_100_g(curve: WaterCurve, count: Span) -> Mass {
    let grams = (curve.ln_stiff - count.to_seconds().ln()) / curve.per_gram;
    if grams.is_finite() { Mass::g(grams).max(Mass::ZERO) } else { Mass::ZERO }
}

/// Plans bowls, bags and the batch; icing that is too old `today` is left out.
pub fn plan_icing(kitchen: &Kitchen, chapter: &Sections, today: Date) -> (IcingPlan, Vec<HeadsUp>) {
    let mut heads_ups = Vec::new();
    let (on_cookie, mut bowls) = fill_bowls(kitchen, chapter);
    let from_stock = use_stock(kitchen, today, &mut bowls, &mut heads_ups);

    let fresh: Mass = bowls.iter().map(|bowl| bowl.weigh_out - bowl.from_stock).sum();
    let batch = making::batch(kitchen, fresh);
    heads_ups.extend(making::about(kitchen, &batch));
    (IcingPlan { on_cookie, bowls, batch, from_stock }, heads_ups)
}

/// Returns what lies of each section on one cookie, and the bowls, the largest first, before any stock is used.
fn fill_bowls(kitchen: &Kitchen, chapter: &Sections) -> (Vec<Mass>, Vec<Bowl>) {
    let on_cookie: Vec<Mass> =
        chapter.sections.iter().map(|section| section_mass(&kitchen.icing, section)).collect();
    let copies = |section: &Section| f64::from(chapter.designs[section.item].copies());

    let mut bowls: Vec<Bowl> = Vec::new();
    for members in by_shade(&chapter.sections) {
        let color = chapter.sections[members[0]].color;
        let mut bowl = fill_bowl(
            kitchen,
            color,
            &members,
            |place| on_cookie[place] * copies(&chapter.sections[place]),
            &chapter.sections,
        );
        bowl.id = unique_id(&bowl.id, &bowls);
        for bag in &mut bowl.bags {
            bag.id = format!("{}-{}", bowl.id, bag.id);
        }
        bowls.push(bowl);
    }
    bowls.sort_by(|a, b| b.weigh_out.to_g().total_cmp(&a.weigh_out.to_g()));
    (on_cookie, bowls)
}

/// Returns how deep a section is wet: a flood as deep as its layer; all else counts like a base.
pub fn wet_depth(icing: &kitchen::Icing, section: &Section) -> Length {
    let is_layer = section.technique == Technique::Flood && section.layer > 1;
    if is_layer { icing.layer_depth } else { icing.base_depth }
}

/// Returns what lies of a section on one cookie; nothing for what is not piped.
fn section_mass(icing: &kitchen::Icing, section: &Section) -> Mass {
    match section.technique {
        Technique::Flood => {
            let depth = wet_depth(icing, section);
            flood_mass(section.poured_area, section.edge, depth, icing.bead, icing.density)
        }
        Technique::Line | Technique::Lettering if section.line > Length::ZERO => {
            line_mass(section.line, section.visible_area / section.line, icing.density)
        }
        Technique::Dot => {
            let one = section.visible_area.to_mm2() / section.n_parts.max(1) as f64;
            section.visible_area * Length::mm((one / PI).sqrt()) * icing.density * (2.0 / 3.0)
        }
        Technique::Stiff | Technique::Transfer => {
            section.visible_area * icing.stiff_height * icing.density
        }
        _ => Mass::ZERO,
    }
}

/// Area of a circle of this diameter: the cross section of what a round tip lays down.
fn round_section(diameter: Length) -> Area {
    diameter * diameter * (PI / 4.0)
}

/// Groups piped sections whose colors pass for one shade; the one with most area names the color.
fn by_shade(sections: &[Section]) -> Vec<Vec<usize>> {
    let mut places: Vec<usize> =
        (0..sections.len()).filter(|&place| sections[place].technique.is_piped()).collect();
    places.sort_by(|&a, &b| {
        sections[b].poured_area.to_mm2().total_cmp(&sections[a].poured_area.to_mm2())
    });
    let mut groups: Vec<Vec<usize>> = Vec::new();
    for place in places {
        let shade = shade_of(sections[place].color);
        match groups.iter_mut().find(|group| shade_of(sections[group[0]].color).is_same(shade)) {
            Some(group) => group.push(place),
            None => groups.push(vec![place]),
        }
    }
    groups
}

/// Returns a drawing's color as the eye compares it.
pub fn shade_of(color: Color) -> Shade {
    Shade::from_srgb([color.red, color.green, color.blue])
}

/// What a bag is for; sections of one use share a bag.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
enum Use {
    Flood,
    WetOnWet,
    Line,
    Stiff,
}

impl Use {
    fn of(section: &Section) -> Self {
        match (section.technique, section.onto) {
            (Technique::Stiff | Technique::Transfer, _) => Self::Stiff,
            (_, Onto::Wet) => Self::WetOnWet,
            (Technique::Flood, _) => Self::Flood,
            _ => Self::Line,
        }
    }

    fn name(self) -> &'static str {
        match self {
            Self::Flood => "flood",
            Self::WetOnWet => "wet",
            Self::Line => "line",
            Self::Stiff => "stiff",
        }
    }

    fn count(self, counts: &kitchen::Counts) -> Option<Span> {
        match self {
            Self::Flood => Some(counts.flood),
            Self::WetOnWet => Some(counts.wet_on_wet),
            Self::Line => Some(counts.line),
            Self::Stiff => None,
        }
    }
}

fn fill_bowl(
    kitchen: &Kitchen,
    color: Color,
    members: &[usize],
    on_all: impl Fn(usize) -> Mass,
    sections: &[Section],
) -> Bowl {
    let icing = &kitchen.icing;
    let on_cookies: Mass = members.iter().map(|&place| on_all(place)).sum();
    let share = if shade_of(color).is_hard_to_match() { icing.reserve_hard } else { icing.reserve };
    let reserve = (on_cookies * share.to_one()).max(icing.reserve_least);

    let uses: BTreeSet<Use> = members.iter().map(|&place| Use::of(&sections[place])).collect();
    let mut bags = Vec::new();
    let mut water = Mass::ZERO;
    for one_use in uses {
        let mut piped: Vec<usize> =
            members.iter().copied().filter(|&place| Use::of(&sections[place]) == one_use).collect();
        piped.sort_unstable();
        let on: Mass = piped.iter().map(|&place| on_all(place)).sum();
        let content =
            on + if on_cookies > Mass::ZERO { reserve * (on / on_cookies) } else { Mass::ZERO };
        let room = (kitchen.piping_bags.comfortable - icing.left_per_bag).max(Mass::g(1.0));
        let n = n_batches(content, room).max(1);
        let fill = content / f64::from(n) + icing.left_per_bag;
        let count = one_use.count(&kitchen.counts);
        let per_100 = count.map_or(Mass::ZERO, |count| water_per_100_g(icing.water, count));
        let thinned_by = fill * f64::from(n) * (per_100 / (Mass::g(100.0) + per_100));
        water += thinned_by;
        let narrowest = piped
            .iter()
            .map(|&place| sections[place].smallest_width)
            .fold(Length::mm(f64::MAX), Length::min);
        let tip = choose_tip(&kitchen.tips, one_use, narrowest);
        let id = one_use.name().to_owned();
        bags.push(Bag { id, count, tip, n, fill, water: thinned_by, sections: piped });
    }
    let n_bags: u32 = bags.iter().map(|bag| bag.n).sum();
    let left = icing.left_per_bag * f64::from(n_bags) + icing.left_per_bowl + reserve;
    let weigh_out = (on_cookies + left - water).round_up_to(icing.step);
    // What rounding adds stays in the bowl.
    let left = weigh_out + water - on_cookies;
    let id = shade_of(color).name().replace(' ', "-");
    let (from_stock, tinted_stock, range) = (Mass::ZERO, Mass::ZERO, None);
    Bowl { id, color, on_cookies, left, water, weigh_out, from_stock, tinted_stock, bags, range }
}

/// Floods take the widest tip, lines the widest that is no wider than the narrowest line.
fn choose_tip(tips: &[kitchen::Tip], one_use: Use, narrowest: Length) -> String {
    let by_opening =
        |a: &&kitchen::Tip, b: &&kitchen::Tip| a.opening.to_mm().total_cmp(&b.opening.to_mm());
    let fitting = match one_use {
        Use::Flood | Use::WetOnWet => tips.iter().max_by(by_opening),
        Use::Line | Use::Stiff => tips
            .iter()
            .filter(|tip| tip.opening <= narrowest)
            .max_by(by_opening)
            .or_else(|| tips.iter().min_by(by_opening)),
    };
    fitting.map_or_else(String::new, |tip| tip.name.clone())
}

/// How many fills of at most `room` hold a mass.
fn n_batches(mass: Mass, room: Mass) -> u32 {
    let n = (mass / room - 1e-9).ceil();
    if n.is_finite() { n.clamp(0.0, 1e6) as u32 } else { 1 }
}

fn unique_id(id: &str, taken: &[Bowl]) -> String {
    let is_taken = |id: &str| taken.iter().any(|bowl| bowl.id == id);
    if !is_taken(id) {
        return id.to_owned();
    }
    (2..).map(|n| format!("{id}-{n}")).find(|id| !is_taken(id)).expect("some number is free")
}

/// Offers tinted leftovers to bowls of their shade, then white tubs to every bowl; says what is used and what is too old.
fn use_stock(
    kitchen: &Kitchen,
    today: Date,
    bowls: &mut [Bowl],
    heads_ups: &mut Vec<HeadsUp>,
) -> Vec<StockUse> {
    let mut used = Vec::new();
    for (place, stock) in kitchen.icing_stock.iter().enumerate() {
        if keeps_until(stock.made_on, kitchen.icing.keeps) < today {
            heads_ups.push(making::too_old(kitchen, stock));
            continue;
        }
        let shade = shade_of(stock.color);
        let mut rest = stock.mass;
        for bowl in
            bowls.iter_mut().filter(|bowl| shade.is_same(shade_of(bowl.color)) || shade.is_white())
        {
            let taken = rest.min(bowl.weigh_out - bowl.from_stock).max(Mass::ZERO);
            if taken <= Mass::ZERO {
                continue;
            }
            bowl.from_stock += taken;
            if !shade.is_white() {
                bowl.tinted_stock += taken;
            }
            rest = rest - taken;
            heads_ups.push(
                HeadsUp::new(
                    Severity::Note,
                    Subject::Bowl(bowl.id.clone()),
                    format!("{:.0} g come from the icing made on {}.", taken.to_g(), stock.made_on),
                )
                .hint("Re-beat it, and use it only if it smells and looks as it should."),
            );
        }
        if rest < stock.mass {
            used.push(StockUse { stock: place, mass: stock.mass - rest });
        }
    }
    used
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{document::start_kitchen, order::Detail, technique::Design};
    use drawing::{Region, region::FillRule};

    /// The day the tests plan on.
    const TODAY: Date = jiff::civil::date(2027, 3, 2);

    fn planned(kitchen: &Kitchen, chapter: &Sections) -> (IcingPlan, Vec<HeadsUp>) {
        plan_icing(kitchen, chapter, TODAY)
    }

    /// A set of plain round cookies of 68 cm² in one color.
    fn round_set(count: u32) -> Sections {
        let radius = (6800.0 / PI).sqrt();
        let ring = (0..360)
            .map(|i| f64::from(i).to_radians())
            .map(|t| [radius * (1.0 + t.cos()), radius * (1.0 + t.sin())])
            .collect::<Vec<_>>();
        let outline = Region::from_rings(&[ring], FillRule::NonZero);
        let base = outline.inset(start_kitchen().icing.edge_inset);
        let color = Color { red: 0xf5, green: 0xec, blue: 0xd7 };
        let (sections, overlaps) =
            crate::technique::stand_in_sections("round", 0, &base, Detail::Plain, &[color]);
        let design = Design {
            id: "round".into(),
            count,
            extras: 0,
            width: Length::mm(2.0 * radius),
            height: Length::mm(2.0 * radius),
            outline,
            drawn: false,
            sections: 0..sections.len(),
        };
        Sections { designs: vec![design], sections, overlaps, ..Sections::default() }
    }

    #[test]
    fn one_base_flood_on_24_cookies_weighs_out_about_600_g() {
        // Common practice, no source: about 600 g of stiff icing for one base flood on 24 cookies; 68 cm² is our size.
        let (plan, _) = planned(&start_kitchen(), &round_set(24));
        let weigh_out = plan.bowls[0].weigh_out.to_g();
        assert!((450.0..=660.0).contains(&weigh_out), "{weigh_out} g");
    }

    #[test]
    fn the_four_figures_of_a_bowl_add_up() {
        let (plan, _) = planned(&start_kitchen(), &round_set(24));
        let bowl = &plan.bowls[0];
        let balance = bowl.on_cookies + bowl.left - bowl.water - bowl.weigh_out;
        assert!(balance.to_g().abs() < 1e-9);
        // Done by hand: π 44.5² mm² x 2.2 mm, and 2π 44.5 mm of bead, at 1.35 g/ml, 24 times.
        let by_hand =
            24.0 * 1.35e-3 * (PI * 44.53_f64.powi(2) * 2.2 + 2.0 * PI * 44.53 * PI * 0.75 * 0.75);
        assert!(
            (bowl.on_cookies.to_g() - by_hand).abs() < 0.005 * by_hand,
            "{:?} {by_hand}",
            bowl.on_cookies
        );
    }

    #[test]
    fn bags_hold_all_that_is_piped_and_no_more_than_is_comfortable() {
        let kitchen = start_kitchen();
        let (plan, _) = planned(&kitchen, &round_set(24));
        for bag in plan.bowls.iter().flat_map(|bowl| &bowl.bags) {
            assert!(bag.fill <= kitchen.piping_bags.comfortable + Mass::g(1e-6), "{bag:?}");
        }
        let filled: Mass = plan.bowls[0].bags.iter().map(|bag| bag.fill * f64::from(bag.n)).sum();
        assert!(filled >= plan.bowls[0].on_cookies);
    }

    #[test]
    fn white_icing_in_the_tub_is_used_before_new_is_made() {
        let mut kitchen = start_kitchen();
        let (before, _) = planned(&kitchen, &round_set(24));
        kitchen.icing_stock.push(kitchen::IcingStock {
            color: Color { red: 255, green: 255, blue: 255 },
            mass: Mass::g(200.0),
            made_on: jiff::civil::date(2027, 3, 1),
            allergens: BTreeSet::new(),
        });
        let (after, heads_ups) = planned(&kitchen, &round_set(24));
        assert!((before.batch.total - after.batch.total - Mass::g(200.0)).to_g().abs() < 1e-9);
        assert_eq!(after.from_stock, [StockUse { stock: 0, mass: Mass::g(200.0) }]);
        let about_it = |one: &&HeadsUp| matches!(one.subject, Subject::Bowl(_));
        assert_eq!(heads_ups.iter().filter(about_it).count(), 1);

        // The tub of 1 March keeps three days: on 4 March it is used, on 5 March no longer.
        let on = |day| plan_icing(&kitchen, &round_set(24), jiff::civil::date(2027, 3, day));
        assert_eq!(on(4).0.from_stock, after.from_stock);
        let (without, heads_ups) = on(5);
        assert_eq!((without.from_stock, without.batch.total), (Vec::new(), before.batch.total));
        let told = "The 200 g of icing made on 2027-03-01 are older than the 3 days that icing keeps here, and are not counted on.";
        assert!(heads_ups.iter().any(|one| one.message == told), "{heads_ups:?}");
    }

    #[test]
    fn water_stands_with_the_bags_it_thins() {
        let (plan, _) = planned(&start_kitchen(), &round_set(24));
        let bowl = &plan.bowls[0];
        let of_bags: Mass = bowl.bags.iter().map(|bag| bag.water).sum();
        assert!((of_bags - bowl.water).to_g().abs() < 1e-9);
        // (3.685 - ln 13) / 0.24 = 4.667 g to 100 g of stiff icing.
        let bag = &bowl.bags[0];
        let stiff = bag.fill * f64::from(bag.n) - bag.water;
        assert!((bag.water / stiff - 0.046_67).abs() < 1e-5, "{bag:?}");
    }
}
