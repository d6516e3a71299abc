//! With how few colors does a whole set still look like itself?
//!
//! Every color is a bowl to mix, so colors nobody tells apart are made one.
//! The two nearest colors are joined again and again: the one that covers less takes the other's place, until no two are
//! nearer than asked and there are no more than asked.
//! How far apart two colors look is the caller's to say (CIEDE2000 belongs to the crate that mixes gels).
//!
//! Cost: (number of colors)³ in the worst case, which is small: a set has tens of colors.
//!
//! # Worked example
//! Two reds and a blue; distance by the largest difference of a channel.
//! ```
//! use drawing::{Color, palette::{Limit, snap}};
//! use quantity::Area;
//!
//! let color = |text| Color::parse(text).expect("six digits");
//! let colors = [
//!     (color("#c00000"), Area::mm2(90.0)),
//!     (color("#c80000"), Area::mm2(400.0)),
//!     (color("#0000c0"), Area::mm2(100.0)),
//! ];
//! let distance = |a: Color, b: Color| {
//!     let channels = [a.red.abs_diff(b.red), a.green.abs_diff(b.green), a.blue.abs_diff(b.blue)];
//!     f64::from(channels.into_iter().max().unwrap_or(0))
//! };
//! let changes = snap(&colors, Limit { nearer_than: 10.0, at_most: 12 }, distance);
//! assert_eq!(changes.len(), 1);
//! assert_eq!((changes[0].from.to_hex().as_str(), changes[0].to.to_hex().as_str()), ("#c00000", "#c80000"));
//! assert_eq!((changes[0].distance, changes[0].area), (8.0, Area::mm2(90.0)));
//! ```

use quantity::Area;

use crate::color::Color;

/// How far a palette is brought down.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Limit {
    /// Colors less than this apart become one, in the measure of the distance given.
    pub nearer_than: f64,
    /// More colors than this are brought down to this many, however far apart; zero counts as one.
    pub at_most: usize,
}

/// What snapping does to one color.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Change {
    /// The color in the artwork.
    pub from: Color,
    /// The color it becomes.
    pub to: Color,
    /// How far apart they are.
    pub distance: f64,
    /// The area that changes.
    pub area: Area,
}

/// Returns what changes when the colors of a whole set are snapped to few, by color.
///
/// `colors` may name a color several times; its areas add up.
pub fn snap(
    colors: &[(Color, Area)],
    limit: Limit,
    distance: impl Fn(Color, Color) -> f64,
) -> Vec<Change> {
    let mut groups = by_color(colors);
    while let Some((gap, kept, joined)) = nearest(&groups, &distance) {
        let is_near = gap < limit.nearer_than;
        if !is_near && groups.len() <= limit.at_most.max(1) {
            break;
        }
        let joined = groups.remove(joined);
        if let Some(kept) = groups.get_mut(kept) {
            kept.area += joined.area;
            kept.members.extend(joined.members);
        }
    }
    let mut changes: Vec<Change> = Vec::new();
    for group in &groups {
        let others = group.members.iter().filter(|(member, _)| *member != group.color);
        changes.extend(others.map(|&(from, area)| Change {
            from,
            to: group.color,
            distance: distance(from, group.color),
            area,
        }));
    }
    changes.sort_by_key(|change| change.from);
    changes
}

/// Colors that have become one.
struct Group {
    /// The color of the member that covers most.
    color: Color,
    area: Area,
    members: Vec<(Color, Area)>,
}

/// Returns one group for each color, those that cover most first.
fn by_color(colors: &[(Color, Area)]) -> Vec<Group> {
    let mut groups: Vec<Group> = Vec::new();
    for &(color, area) in colors {
        match groups.iter_mut().find(|group| group.color == color) {
            Some(group) => group.area += area,
            None => groups.push(Group { color, area, members: Vec::new() }),
        }
    }
    for group in &mut groups {
        group.members.push((group.color, group.area));
    }
    groups.sort_by(|a, b| b.area.to_mm2().total_cmp(&a.area.to_mm2()).then(a.color.cmp(&b.color)));
    groups
}

/// Returns the distance of the two nearest groups, the place of the one that covers more and that of the other.
fn nearest(
    groups: &[Group],
    distance: &impl Fn(Color, Color) -> f64,
) -> Option<(f64, usize, usize)> {
    let mut nearest: Option<(f64, usize, usize)> = None;
    for (first, a) in groups.iter().enumerate() {
        for (second, b) in groups.iter().enumerate().skip(first + 1) {
            let gap = distance(a.color, b.color);
            if nearest.is_none_or(|(best, ..)| gap < best) {
                let (kept, joined) =
                    if b.area > a.area { (second, first) } else { (first, second) };
                nearest = Some((gap, kept, joined));
            }
        }
    }
    // The place of the kept one moves down when one before it is taken out.
    nearest.map(|(gap, kept, joined)| (gap, if joined < kept { kept - 1 } else { kept }, joined))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn gray(value: u8) -> Color {
        Color { red: value, green: value, blue: value }
    }

    fn check(grays: &[(u8, f64)], limit: Limit, expected: &[(u8, u8)]) {
        let colors: Vec<_> =
            grays.iter().map(|&(value, area)| (gray(value), Area::mm2(area))).collect();
        let distance = |a: Color, b: Color| f64::from(a.red.abs_diff(b.red));
        let changes = snap(&colors, limit, distance);
        let found: Vec<_> = changes.iter().map(|change| (change.from.red, change.to.red)).collect();
        assert_eq!(found, expected, "{grays:?} {limit:?}");
    }

    #[test]
    fn near_colors_become_the_one_that_covers_most() {
        let near = Limit { nearer_than: 4.0, at_most: 12 };
        check(&[(10, 5.0), (12, 9.0), (50, 1.0)], near, &[(10, 12)]);
        check(&[(12, 9.0), (10, 5.0), (50, 1.0)], near, &[(10, 12)]);
        check(&[(10, 5.0), (14, 9.0)], near, &[]);
        // A color named twice covers the sum.
        check(&[(10, 5.0), (12, 9.0), (10, 5.0)], near, &[(12, 10)]);
    }

    #[test]
    fn too_many_colors_are_brought_down_nearest_first() {
        let three = Limit { nearer_than: 0.0, at_most: 3 };
        let colors = [(0, 1.0), (30, 2.0), (100, 9.0), (140, 1.0), (255, 4.0)];
        check(&colors, three, &[(0, 30), (140, 100)]);
        check(
            &colors,
            Limit { at_most: 0, ..three },
            &[(0, 100), (30, 100), (140, 100), (255, 100)],
        );
        check(&[], three, &[]);
    }
}
