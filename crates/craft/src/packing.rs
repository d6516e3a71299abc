//! Which bag does each cookie go into?
//!
//! A bag is measured flat and has to go around the cookie, so the cookie's thickness takes from both of its sides:
//!
//! - W = w + t + e
//! - L = h + t / 2 + c
//!
//! with W, L the flat width and length a bag needs, w and h the baked cookie's sides, t its iced thickness,
//! e the ease for the hand and c what the bag's closure takes, all in mm.
//! Either side of the cookie may go across the opening.
//! Of the bags that fit, the smallest by area is taken of which enough are left.
//!
//! Source: common practice, no source. It holds for flat bags without a gusset.
//!
//! # Worked example
//! A baked cookie of 84 x 105 mm, 10 mm thick with its icing, 5 mm of ease, and 30 mm to fold twice for a sticker:
//! 84 + 10 + 5 = 99 mm and 105 + 10 / 2 + 30 = 140 mm.
//! ```
//! use craft::packing::{FlatSize, flat_need};
//! use quantity::Length;
//!
//! let mm = Length::mm;
//! let need = flat_need(FlatSize { width: mm(84.0), length: mm(105.0) }, mm(10.0), mm(5.0), mm(30.0));
//! assert_eq!(need, FlatSize { width: mm(99.0), length: mm(140.0) });
//! ```

use quantity::{Area, Length};

use crate::{
    baking::iced_thickness,
    heads_up::{HeadsUp, Severity, Subject},
    kitchen::{CookieBag, Kitchen},
    technique::Design,
};

/// Room for the hand that slips the cookie in (common practice, no source).
const EASE: Length = Length::mm(5.0);

/// Layers of icing a bag must leave room for: a base, a second layer, and lines on top (common practice, no source).
const LAYERS: u32 = 3;

/// A bag that lacks no more than this fits: it is noise of the arithmetic, far below what a ruler shows.
const NOISE: Length = Length::mm(0.001);

/// The chapter on packing.
#[derive(Clone, Debug, Default)]
pub struct Packing {
    /// What each design is packed in; designs without cookies are left out.
    pub designs: Vec<PackedDesign>,
}

/// What the cookies of one design are packed in.
#[derive(Clone, Debug, PartialEq)]
pub struct PackedDesign {
    /// The design, by its place.
    pub design: usize,
    /// Its bag, by its place among the kitchen's cookie bags; nothing if none fits.
    pub bag: Option<usize>,
    /// How many cookies are packed.
    pub n: u32,
    /// Flat width a bag needs.
    pub need_width: Length,
    /// Flat length a bag needs, its own closure included.
    pub need_length: Length,
}

/// Two sides of something that lies flat: across the opening of a bag, and along it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct FlatSize {
    /// Across the opening.
    pub width: Length,
    /// From the opening to the bottom.
    pub length: Length,
}

impl FlatSize {
    fn turned(self) -> Self {
        Self { width: self.length, length: self.width }
    }

    /// The longer of what the bag lacks in width and what it lacks in length; at most [`NOISE`] means it fits.
    fn lack_of(self, bag: &CookieBag) -> Length {
        // Noise of the arithmetic must not refuse a bag that fits exactly.
        (self.width - bag.width).max(self.length - bag.length).round_to(Length::mm(0.001))
    }
}

/// Returns the flat size of a bag that takes something of the size `held`, `thickness` thick.
pub fn flat_need(held: FlatSize, thickness: Length, ease: Length, closure: Length) -> FlatSize {
    FlatSize {
        width: held.width + thickness + ease,
        length: held.length + thickness / 2.0 + closure,
    }
}

/// Finds a bag for every design, first come first served from what is owned.
pub fn pack(kitchen: &Kitchen, designs: &[Design]) -> (Packing, Vec<HeadsUp>) {
    let mut packing = Packing::default();
    let mut heads_ups = Vec::new();
    let mut left: Vec<u32> = kitchen.cookie_bags.iter().map(|bag| bag.owned).collect();
    for (place, design) in designs.iter().enumerate().filter(|(_, design)| design.copies() > 0) {
        let n = design.copies();
        let mut tried = tried_bags(kitchen, design);
        let fitting = tried.partition_point(|tried| tried.lack <= NOISE);
        let (fits, too_small) = tried.split_at_mut(fitting);
        fits.sort_by(|a, b| a.area.to_mm2().total_cmp(&b.area.to_mm2()));
        let enough = fits.iter().find(|tried| left.get(tried.bag).is_some_and(|&left| left >= n));
        let chosen = enough.or(fits.first());
        if let Some(left) = chosen.and_then(|chosen| left.get_mut(chosen.bag)) {
            *left = left.saturating_sub(n);
        }
        let nearest = too_small.first();
        let need = match chosen.or(nearest) {
            Some(tried) => tried.need,
            None => flat_need(
                baked(kitchen, design),
                iced_thickness(kitchen, LAYERS),
                EASE,
                Length::ZERO,
            ),
        };
        if chosen.is_none() {
            heads_ups.push(fits_none(kitchen, design, need, nearest));
        }
        let bag = chosen.map(|chosen| chosen.bag);
        packing.designs.push(PackedDesign {
            design: place,
            bag,
            n,
            need_width: need.width,
            need_length: need.length,
        });
    }
    heads_ups.extend(bags_to_buy(kitchen, &packing));
    (packing, heads_ups)
}

/// A bag held against a cookie.
struct Tried {
    bag: usize,
    need: FlatSize,
    lack: Length,
    area: Area,
}

/// Holds every bag against a cookie, the better way around; what lacks least stands first.
fn tried_bags(kitchen: &Kitchen, design: &Design) -> Vec<Tried> {
    let cookie = baked(kitchen, design);
    let thickness = iced_thickness(kitchen, LAYERS);
    let mut tried: Vec<_> = kitchen
        .cookie_bags
        .iter()
        .enumerate()
        .map(|(place, bag)| {
            let upright = flat_need(cookie, thickness, EASE, bag.closure);
            let turned = flat_need(cookie.turned(), thickness, EASE, bag.closure);
            // A cookie stays upright unless only turning it helps.
            let turning_helps =
                upright.lack_of(bag) > NOISE && turned.lack_of(bag) < upright.lack_of(bag);
            let need = if turning_helps { turned } else { upright };
            Tried { bag: place, need, lack: need.lack_of(bag), area: bag.width * bag.length }
        })
        .collect();
    tried.sort_by(|a, b| a.lack.to_mm().total_cmp(&b.lack.to_mm()));
    tried
}

fn baked(kitchen: &Kitchen, design: &Design) -> FlatSize {
    let growth = 1.0 + kitchen.baking.spread.to_one();
    FlatSize { width: design.width * growth, length: design.height * growth }
}

fn fits_none(
    kitchen: &Kitchen,
    design: &Design,
    need: FlatSize,
    nearest: Option<&Tried>,
) -> HeadsUp {
    let [width, length] =
        [need.width, need.length].map(|side| side.round_up_to(Length::mm(1.0)).to_mm());
    let nearest = match nearest.and_then(|tried| kitchen.cookie_bags.get(tried.bag)) {
        Some(bag) => {
            format!(
                "the nearest is \"{}\", {:.0} x {:.0} mm",
                bag.name,
                bag.width.to_mm(),
                bag.length.to_mm()
            )
        }
        None => "the kitchen has none".to_owned(),
    };
    HeadsUp::new(
        Severity::Caution,
        Subject::Item(design.id.clone()),
        format!("It does not fit any cookie bag: it needs one of {width:.0} x {length:.0} mm, and {nearest}."),
    )
    .hint("Buy larger bags (cookie_bag in kitchen.toml), make the cookie smaller, or pack it in a box.")
}

/// One note for every kind of bag of which too few are there.
fn bags_to_buy(kitchen: &Kitchen, packing: &Packing) -> Vec<HeadsUp> {
    let short = kitchen.cookie_bags.iter().enumerate().filter_map(|(place, bag)| {
        let needed = packing.pieces_of(place);
        (needed > bag.owned).then(|| {
            HeadsUp::new(
                Severity::Note,
                Subject::Packing,
                format!(
                    "The order needs {needed} cookie bags \"{}\" and the kitchen has {}.",
                    bag.name, bag.owned
                ),
            )
            .hint(format!("Buy {} more before packing.", needed - bag.owned))
        })
    });
    short.collect()
}

impl Packing {
    /// Returns how many bags of one kind are used, by its place among the kitchen's cookie bags.
    pub fn pieces_of(&self, bag: usize) -> u32 {
        self.designs
            .iter()
            .filter(|packed| packed.bag == Some(bag))
            .fold(0, |sum, packed| sum.saturating_add(packed.n))
    }
}

#[cfg(test)]
mod tests {
    use drawing::Region;
    use quantity::{Money, Share};

    use super::*;
    use crate::document::start_kitchen;

    fn bag(name: &str, width_mm: f64, length_mm: f64, owned: u32) -> CookieBag {
        CookieBag {
            name: name.to_owned(),
            width: Length::mm(width_mm),
            length: Length::mm(length_mm),
            closure: Length::mm(30.0),
            price: Money::minor(12),
            owned,
        }
    }

    /// A kitchen whose iced cookies are 10 mm thick and grow by a twentieth in the oven.
    fn kitchen(cookie_bags: &[CookieBag]) -> Kitchen {
        let mut kitchen = start_kitchen();
        kitchen.dough.thickness = Length::mm(6.0);
        kitchen.icing.base_depth = Length::mm(2.0);
        kitchen.icing.layer_depth = Length::mm(1.0);
        kitchen.baking.spread = Share::percent(5.0);
        kitchen.cookie_bags = cookie_bags.to_vec();
        kitchen
    }

    fn design(width_mm: f64, height_mm: f64, count: u32) -> Design {
        let (width, height) = (Length::mm(width_mm), Length::mm(height_mm));
        let outline = Region::default();
        Design {
            id: "star".into(),
            count,
            extras: 0,
            outline,
            width,
            height,
            drawn: false,
            sections: 0..0,
        }
    }

    /// Packs designs and expects each one's bag, and what is said about it.
    fn check(
        bags: &[CookieBag],
        designs: &[Design],
        expected: &[Option<usize>],
        said: &[(Severity, &str)],
    ) -> Packing {
        let (packing, heads_ups) = pack(&kitchen(bags), designs);
        assert_eq!(packing.designs.iter().map(|packed| packed.bag).collect::<Vec<_>>(), expected);
        assert_eq!(
            heads_ups
                .iter()
                .map(|found| (found.severity, found.message.as_str()))
                .collect::<Vec<_>>(),
            said
        );
        packing
    }

    #[test]
    fn a_bag_goes_around_the_baked_and_iced_cookie() {
        // 80 x 100 mm grow to 84 x 105 mm: 84 + 10 + 5 = 99 mm and 105 + 10 / 2 + 30 = 140 mm.
        let packing =
            check(&[bag("exact", 99.0, 140.0, 12)], &[design(80.0, 100.0, 12)], &[Some(0)], &[]);
        let packed = packing.designs.first().expect("one design is packed");
        assert!((packed.need_width.to_mm() - 99.0).abs() < 1e-9);
        assert!((packed.need_length.to_mm() - 140.0).abs() < 1e-9);
    }

    #[test]
    fn a_bag_of_exactly_the_needed_size_fits_whatever_the_arithmetic() {
        // 62 mm and 74 mm grown by a twentieth and a fiftieth come out a hair too large in binary fractions.
        for (side_mm, spread) in [(62.0, 5.0), (74.0, 2.0), (60.0, 3.0)] {
            let baked_mm = side_mm * (100.0 + spread) / 100.0;
            let mut kitchen = kitchen(&[bag("exact", baked_mm + 15.0, baked_mm + 35.0, 12)]);
            kitchen.baking.spread = Share::percent(spread);
            let (packing, heads_ups) = pack(&kitchen, &[design(side_mm, side_mm, 12)]);
            assert!(heads_ups.is_empty(), "{side_mm} mm");
            assert_eq!(packing.pieces_of(0), 12, "{side_mm} mm");
        }
    }

    #[test]
    fn a_cookie_is_turned_where_only_that_helps() {
        let packing =
            check(&[bag("long", 99.5, 141.0, 12)], &[design(100.0, 80.0, 12)], &[Some(0)], &[]);
        assert!(packing.designs.iter().all(|packed| packed.need_width < Length::mm(100.0)));
    }

    #[test]
    fn the_smallest_bag_of_which_enough_are_left_is_taken() {
        let bags = [
            bag("huge", 200.0, 300.0, 50),
            bag("small", 100.0, 150.0, 20),
            bag("medium", 120.0, 180.0, 20),
        ];
        let designs = [design(80.0, 100.0, 15), design(80.0, 100.0, 15), design(80.0, 100.0, 0)];
        let packing = check(&bags, &designs, &[Some(1), Some(2)], &[]);
        assert_eq!([0, 1, 2].map(|place| packing.pieces_of(place)), [0, 15, 15]);
    }

    #[test]
    fn where_no_stock_suffices_the_smallest_is_taken_and_the_rest_is_to_be_bought() {
        let note = "The order needs 24 cookie bags \"small\" and the kitchen has 10.";
        let bags = [bag("large", 200.0, 300.0, 5), bag("small", 100.0, 150.0, 10)];
        check(&bags, &[design(80.0, 100.0, 24)], &[Some(1)], &[(Severity::Note, note)]);
    }

    #[test]
    fn what_fits_no_bag_is_told_with_the_nearest_one() {
        let bags = [bag("tiny", 60.0, 90.0, 50), bag("small", 98.0, 150.0, 50)];
        let told = "It does not fit any cookie bag: it needs one of 99 x 140 mm, and the nearest is \"small\", 98 x 150 mm.";
        let packing =
            check(&bags, &[design(80.0, 99.5, 12)], &[None], &[(Severity::Caution, told)]);
        assert_eq!(packing.pieces_of(1), 0);

        let told = "It does not fit any cookie bag: it needs one of 99 x 110 mm, and the kitchen has none.";
        check(&[], &[design(80.0, 99.5, 12)], &[None], &[(Severity::Caution, told)]);
    }
}
