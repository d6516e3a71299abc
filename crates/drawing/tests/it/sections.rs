//! Laws of merging, of finding sections again, and of palettes.

use std::collections::BTreeSet;

use drawing::{
    Artwork, Color, Fonts, Origin, ReadOptions, Region, Shape,
    design::merge_touching,
    identity::{keep, with_earlier_ids},
    import,
    palette::{Limit, snap},
    read,
    region::FillRule,
    relation::{lies_inside, overlap, shared_edge},
};
use proptest::prelude::{Strategy, any, prop, prop_assert, prop_assert_eq, proptest};
use quantity::{Area, Length};

fn rectangle([x, y, width, height]: [f64; 4]) -> Region {
    let ring = vec![[x, y], [x + width, y], [x + width, y + height], [x, y + height]];
    Region::from_rings(&[ring], FillRule::NonZero)
}

/// Rectangles on a grid of 5 mm, so that edges often meet, in one of four grays.
fn pictures() -> impl Strategy<Value = Vec<Shape>> {
    let place = (0..12_u8, 0..12_u8, 1..6_u8, 1..6_u8, 0..4_u8);
    prop::collection::vec(place, 1..14).prop_map(|places| {
        let painted: Vec<Region> = places
            .iter()
            .map(|&(x, y, width, height, _)| {
                rectangle([x, y, width, height].map(|n| 5.0 * f64::from(n)))
            })
            .collect();
        let shapes = places.iter().enumerate().map(|(index, &(.., gray))| {
            let above: Vec<&Region> = painted.iter().skip(index + 1).collect();
            let gray = 40 + 60 * (gray / 2) + gray % 2;
            Shape {
                id: format!("s{index}"),
                color: Color { red: gray, green: gray, blue: gray },
                origin: Origin::Fill,
                visible: painted[index].subtract_all(&above),
                painted: painted[index].clone(),
            }
        });
        shapes.collect()
    })
}

fn distance(a: Color, b: Color) -> f64 {
    f64::from(a.red.abs_diff(b.red))
}

fn is_near(a: &Shape, b: &Shape) -> bool {
    distance(a.color, b.color) < 2.0
}

fn area(region: &Region) -> f64 {
    region.area().to_mm2()
}

fn seen(shapes: &[Shape]) -> Vec<&Region> {
    shapes.iter().map(|shape| &shape.visible).collect()
}

proptest! {
    #[test]
    fn merging_moves_no_area_and_ends(shapes in pictures()) {
        let merged = merge_touching(&shapes, is_near);
        let total = |shapes: &[Shape]| shapes.iter().map(|shape| area(&shape.visible)).sum::<f64>();
        prop_assert!((total(&merged) - total(&shapes)).abs() < 1e-6);
        prop_assert!(merged.len() <= shapes.len());
        // Ids are those of the lowest members, in painter's order, none twice.
        let ids: Vec<usize> =
            merged.iter().map(|shape| shape.id[1..].parse().expect("s and a number")).collect();
        prop_assert!(ids.is_sorted_by(|a, b| a < b));
        let whole = |shapes: &[Shape]| {
            area(&Region::union(&shapes.iter().map(|shape| &shape.painted).collect::<Vec<_>>()))
        };
        prop_assert!((whole(&merged) - whole(&shapes)).abs() < 1e-6);
    }

    #[test]
    fn merging_only_joins_colors_nobody_tells_apart(shapes in pictures()) {
        for shape in merge_touching(&shapes, is_near) {
            for member in &shapes {
                if area(&member.visible.intersect(&shape.visible)) > 0.0 {
                    prop_assert!(distance(member.color, shape.color) < 2.0);
                }
            }
        }
    }

    #[test]
    fn unchanged_art_keeps_every_id(shapes in pictures()) {
        let shapes: Vec<Shape> =
            shapes.into_iter().filter(|shape| !shape.visible.is_empty()).collect();
        let regions = seen(&shapes);
        prop_assert_eq!(keep(&regions, &regions), (0..shapes.len()).map(Some).collect::<Vec<_>>());
        // Moving all of it by a hair and turning the order round changes nothing.
        let moved: Vec<Region> = regions
            .iter()
            .rev()
            .map(|region| region.translated(Length::mm(0.2), Length::mm(-0.1)))
            .collect();
        let expected: Vec<Option<usize>> = (0..shapes.len()).rev().map(Some).collect();
        prop_assert_eq!(keep(&regions, &moved.iter().collect::<Vec<_>>()), expected);
    }

    #[test]
    fn no_id_is_kept_twice_and_only_where_sections_meet(old in pictures(), new in pictures()) {
        let (old, new) = (seen(&old), seen(&new));
        let kept = keep(&old, &new);
        prop_assert_eq!(kept.len(), new.len());
        let places: Vec<usize> = kept.iter().copied().flatten().collect();
        prop_assert_eq!(places.iter().collect::<BTreeSet<_>>().len(), places.len());
        for (section, place) in new.iter().zip(&kept) {
            if let Some(place) = place {
                prop_assert!(area(&section.intersect(old[*place])) > 0.0);
            }
        }
    }

    #[test]
    fn a_merged_section_keeps_the_lowest_id_and_a_split_one_stays_on_the_largest_part(
        widths in prop::collection::vec(2.0..9.0, 2..6),
    ) {
        let mut x = 0.0;
        let mut bars = Vec::new();
        for &width in &widths {
            bars.push(rectangle([x, 0.0, width, 10.0]));
            x += width;
        }
        let bars: Vec<&Region> = bars.iter().collect();
        let whole = Region::union(&bars);
        prop_assert_eq!(keep(&bars, &[&whole]), [Some(0)]);
        let parts = keep(&[&whole], &bars);
        let mut largest = 0;
        for (place, bar) in bars.iter().enumerate() {
            if area(bar) > area(bars[largest]) {
                largest = place;
            }
        }
        let expected: Vec<Option<usize>> =
            (0..bars.len()).map(|place| (place == largest).then_some(0)).collect();
        prop_assert_eq!(parts, expected);
    }

    #[test]
    fn a_snapped_palette_is_small_settled_and_told(
        grays in prop::collection::vec((any::<u8>(), 1..500_u16), 1..20),
        nearer_than in 0.0..40.0,
        at_most in 1..12_usize,
    ) {
        let limit = Limit { nearer_than, at_most };
        let colors: Vec<(Color, Area)> = grays
            .iter()
            .map(|&(gray, area)| {
                (Color { red: gray, green: gray, blue: gray }, Area::mm2(f64::from(area)))
            })
            .collect();
        let changes = snap(&colors, limit, distance);
        let snapped: Vec<(Color, Area)> = colors
            .iter()
            .map(|&(color, area)| {
                let change = changes.iter().find(|change| change.from == color);
                (change.map_or(color, |change| change.to), area)
            })
            .collect();
        let left: BTreeSet<Color> = snapped.iter().map(|(color, _)| *color).collect();
        prop_assert!(left.len() <= at_most);
        let known: BTreeSet<Color> = colors.iter().map(|(color, _)| *color).collect();
        prop_assert!(left.is_subset(&known));
        for a in &left {
            for b in &left {
                prop_assert!(a == b || distance(*a, *b) >= nearer_than);
            }
        }
        prop_assert_eq!(snap(&snapped, limit, distance), []);
    }

    #[test]
    fn what_two_sections_share_does_not_depend_on_their_order(shapes in pictures()) {
        for (place, one) in shapes.iter().enumerate() {
            for other in &shapes[..place] {
                let (one, other) = (&one.painted, &other.painted);
                let within = Length::mm(0.8);
                prop_assert_eq!(shared_edge(one, other, within), shared_edge(other, one, within));
                prop_assert_eq!(overlap(one, other), one.intersect(other).area());
                if lies_inside(one, other) {
                    prop_assert!(area(&one.subtract(other)) < 0.01 * area(one) + 1e-9);
                    prop_assert!(!lies_inside(other, one));
                }
            }
        }
    }
}

/// A picture of 100 mm whose shapes lie on a white plate.
fn on_a_plate(shapes: &str) -> Artwork {
    let svg = format!(
        r##"<svg xmlns="http://www.w3.org/2000/svg" width="100mm" height="100mm" viewBox="0 0 100 100"><rect id="outline" width="100" height="100" fill="#ffffff"/>{shapes}</svg>"##
    );
    import(svg.as_bytes(), &Fonts::none()).expect("a drawing")
}

#[test]
fn edited_art_carries_the_ids_it_had() {
    let earlier = on_a_plate(
        r##"<rect id="body" x="10" y="10" width="30" height="30" fill="#c81e3c"/><circle id="eye" cx="70" cy="30" r="5"/>"##,
    );
    // The body has moved a little, was renamed and is cut in two; the eye is gone, and its name is on a new thing.
    let edited = on_a_plate(
        r##"<rect id="left" x="11" y="10" width="20" height="30" fill="#c81e3c"/><rect id="right" x="32" y="10" width="9" height="30" fill="#c81e3c"/><rect id="eye" x="60" y="70" width="9" height="9"/>"##,
    );
    let kept = with_earlier_ids(&edited, &earlier).expect("both have a size");
    let options = ReadOptions { width: None, border: Length::ZERO };
    let drawing = read(&kept, &options).expect("it has a size");
    let ids: Vec<&str> = drawing.shapes.iter().map(|shape| shape.id.as_str()).collect();
    assert_eq!(ids, ["outline", "body", "right", "eye-2"]);
    // Art that did not change keeps all of them.
    let same = with_earlier_ids(&earlier, &earlier).expect("both have a size");
    let drawing = read(&same, &options).expect("it has a size");
    let ids: Vec<&str> = drawing.shapes.iter().map(|shape| shape.id.as_str()).collect();
    assert_eq!(ids, ["outline", "body", "eye"]);
}
