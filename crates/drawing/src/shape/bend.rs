//! Can a strip of metal be bent into this outline?
//!
//! A corner is folded, so a right angle is no trouble; what sticks out thinner than a cutter can be, or cuts in
//! narrower, is.
//! Rounding every corner to a radius `r` from inside takes `r · (1 / sin(α/2) - 1)` off the tip of a corner of angle α:
//! more than `r` exactly where α is under 60 degrees.
//! What goes deeper than `r` is therefore a *spike*; the same from outside, with half the least slit for `r`, a *slit*.
//!
//! # Worked example
//! A strip 20 mm long and 2 mm wide on a square of 40 mm is a spike that reaches 20 mm out of it:
//! ```
//! use drawing::region::{FillRule, Region};
//! use drawing::shape::{Fault, faults, smoothed};
//!
//! let ring = [[0.0, 0.0], [40.0, 0.0], [40.0, 19.0], [60.0, 19.0], [60.0, 21.0], [40.0, 21.0], [40.0, 40.0], [0.0, 40.0]];
//! let square = Region::from_rings(&[ring.to_vec()], FillRule::NonZero);
//! let found = faults(&square);
//! assert!(matches!(found[..], [Fault::Spike { at, .. }] if (at[0] - 60.0).abs() < 0.1), "{found:?}");
//!
//! // Closing rounds the two corners at its foot to 2 mm, centered 3 mm off its middle and 2 mm off the side of the
//! // square. A disk of 1.5 mm that touches both reaches 2 - √(3.5² - 3²) + 1.5 = 1.70 mm out: a low bump is left.
//! let smooth = smoothed(&square);
//! let bounds = smooth.bounds().expect("it has an area");
//! assert!((bounds.max_x - 41.70).abs() < 0.1, "{bounds:?}");
//! assert_eq!(faults(&smooth), []);
//! ```

use quantity::Length;

use crate::region::{Region, distance};

/// A slit narrower than this cannot be bent into a cutter (common practice, no source).
pub const LEAST_SLIT: Length = Length::mm(4.0);

/// A spike sharper than this radius cannot be bent into a cutter (common practice, no source).
pub const LEAST_SPIKE_RADIUS: Length = Length::mm(1.5);

/// How much deeper than the radius a corner may go: offsets are exact to a few hundredths of a millimeter.
const TOLERANCE_MM: f64 = 0.15;

/// A place of an outline no cutter can have.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Fault {
    /// Dough sticks out thinner than a cutter can hold.
    Spike {
        /// Its tip, in millimeters.
        at: [f64; 2],
        /// How far it reaches out of what can be cut.
        depth: Length,
    },
    /// The outline cuts in narrower than a strip can be bent.
    Slit {
        /// Its deepest point, in millimeters.
        at: [f64; 2],
        /// How far it reaches into what can be cut.
        depth: Length,
    },
}

/// Returns where an outline is too fine for a cutter, spikes first.
pub fn faults(outline: &Region) -> Vec<Fault> {
    let (opened, closed) = (opened(outline), closed(outline));
    let spikes = deepest(&outline.subtract(&opened), &opened, LEAST_SPIKE_RADIUS)
        .into_iter()
        .map(|(at, depth)| Fault::Spike { at, depth });
    let slits = deepest(&closed.subtract(outline), &closed, LEAST_SLIT / 2.0)
        .into_iter()
        .map(|(at, depth)| Fault::Slit { at, depth });
    spikes.chain(slits).collect()
}

/// Returns the outline with its holes and slits filled and its spikes rounded, as a cutter can have it.
///
/// It may fall into parts where it hangs together by a thread.
pub fn smoothed(outline: &Region) -> Region {
    opened(&closed(outline))
}

/// Goes in and comes back, which rounds spikes.
fn opened(outline: &Region) -> Region {
    outline.inset(LEAST_SPIKE_RADIUS).grow(LEAST_SPIKE_RADIUS)
}

/// Goes out and comes back, which closes slits.
fn closed(outline: &Region) -> Region {
    let reach = LEAST_SLIT / 2.0;
    outline.grow(reach).without_holes().inset(reach)
}

/// Returns the corner of each changed part that lies farthest from the edge the outline would have, if it is deeper
/// than a corner may be.
fn deepest(changed: &Region, could_be: &Region, radius: Length) -> Vec<([f64; 2], Length)> {
    let edges: Vec<_> = could_be.edges().collect();
    let deepest_of = |part: Region| {
        let depth_at = |corner: [f64; 2]| {
            let depths = edges.iter().map(|&edge| distance_to(corner, edge));
            depths.min_by(f64::total_cmp).unwrap_or(f64::MAX)
        };
        let corners = part.rings().flatten().map(|&corner| (corner, depth_at(corner)));
        let (at, depth) = corners.max_by(|a, b| a.1.total_cmp(&b.1))?;
        (depth > radius.to_mm() + TOLERANCE_MM).then_some((at, Length::mm(depth)))
    };
    // Rounding leaves slivers along the whole edge; they are nowhere deep.
    changed.without_slivers().parts().into_iter().filter_map(deepest_of).collect()
}

fn distance_to(point: [f64; 2], [from, to]: [[f64; 2]; 2]) -> f64 {
    let along = [to[0] - from[0], to[1] - from[1]];
    let squared = (along[0] * along[0] + along[1] * along[1]).max(f64::MIN_POSITIVE);
    let ahead = (point[0] - from[0]) * along[0] + (point[1] - from[1]) * along[1];
    let share = (ahead / squared).clamp(0.0, 1.0);
    distance(point, [from[0] + share * along[0], from[1] + share * along[1]])
}

#[cfg(test)]
mod tests {
    use crate::region::FillRule;

    use super::*;

    fn region(ring: &[[f64; 2]]) -> Region {
        Region::from_rings(&[ring.to_vec()], FillRule::NonZero)
    }

    /// A triangle 40 mm high whose upper corner has this angle.
    fn wedge(degrees: f64) -> Region {
        let half = 40.0 * (degrees / 2.0).to_radians().tan();
        region(&[[0.0, 0.0], [half, 40.0], [half, 60.0], [-half, 60.0], [-half, 40.0]])
    }

    #[test]
    fn corners_are_spikes_below_sixty_degrees() {
        assert_eq!(faults(&wedge(62.0)), []);
        let found = faults(&wedge(40.0));
        // r (1 / sin 20° - 1) = 1.5 · 1.9238 = 2.886 mm.
        let [Fault::Spike { at, depth }] = found[..] else { panic!("{found:?}") };
        assert!(at[0].abs() < 0.01 && at[1].abs() < 0.01, "{at:?}");
        assert!((depth.to_mm() - 2.886).abs() < 0.1, "{depth:?}");
    }

    #[test]
    fn a_cut_is_a_slit_below_four_millimeters() {
        let cut = |width: f64| {
            let (left, right) = (20.0 - width / 2.0, 20.0 + width / 2.0);
            let ring = [
                [0.0, 0.0],
                [left, 0.0],
                [left, 15.0],
                [right, 15.0],
                [right, 0.0],
                [40.0, 0.0],
                [40.0, 40.0],
                [0.0, 40.0],
            ];
            faults(&region(&ring))
        };
        assert_eq!(cut(4.5), []);
        let found = cut(3.0);
        assert!(matches!(found[..], [Fault::Slit { at, .. }] if at[1] > 14.9), "{found:?}");
    }

    #[test]
    fn what_is_smoothed_has_no_faults_and_stays_so() {
        for degrees in [20.0, 40.0, 90.0] {
            let smooth = smoothed(&wedge(degrees));
            assert_eq!(faults(&smooth), [], "{degrees}");
            let again = smoothed(&smooth).area().to_mm2();
            assert!((again - smooth.area().to_mm2()).abs() < 1.0, "{degrees}");
        }
        assert_eq!(faults(&Region::default()), []);
    }
}
