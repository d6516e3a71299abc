//! Can these shapes be combined with reasonable effort?
//!
//! The cost of combining shapes grows with their corners and with the number of times their edges cross.
//! A scribble of n long edges crosses itself about n²/6 times, so a file of a few hundred kilobytes may hide billions.
//! Crossings are therefore estimated from pairs of edges picked by a fixed sequence:
//! crossings = share of crossing pairs × n²/2.

use crate::{error::Error, region::Region};

/// Most corners of all shapes of a drawing; a rich cookie has ten thousand (common practice, no source).
const MOST_CORNERS: usize = 1_000_000;

/// Most crossings: about a second of work.
const MOST_CROSSINGS: f64 = 1_000_000.0;

/// With fewer edges than this even a perfect tangle stays below [`MOST_CROSSINGS`].
const HARMLESS_EDGES: usize = 1_400;

/// Pairs of edges looked at: at the limit and 100,000 edges, forty of them cross.
const N_PAIRS: usize = 200_000;

/// Refuses shapes that would take too long to combine.
pub(super) fn check(shapes: &[Region]) -> Result<(), Error> {
    let edges: Vec<_> = shapes.iter().flat_map(Region::edges).collect();
    if edges.len() > MOST_CORNERS || is_tangled(&edges) { Err(Error::TooIntricate) } else { Ok(()) }
}

/// Tells whether edges cross each other too often.
pub(super) fn is_tangled(edges: &[[[f64; 2]; 2]]) -> bool {
    if edges.len() <= HARMLESS_EDGES {
        return false;
    }
    let n_edges = edges.len() as u64;
    // Knuth's MMIX generator (The Art of Computer Programming 2, 3.3.4); the high bits are the random ones.
    let mut state: u64 = 1;
    let mut pick = || {
        state =
            state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        edges.get(((state >> 33) % n_edges) as usize)
    };
    let mut n_crossing = 0_u32;
    for _ in 0..N_PAIRS {
        if let (Some(a), Some(b)) = (pick(), pick())
            && cross(a, b)
        {
            n_crossing += 1;
        }
    }
    let pairs = edges.len() as f64 * edges.len() as f64 / 2.0;
    f64::from(n_crossing) / N_PAIRS as f64 * pairs > MOST_CROSSINGS
}

fn cross(&[a, b]: &[[f64; 2]; 2], &[c, d]: &[[f64; 2]; 2]) -> bool {
    side(a, b, c) * side(a, b, d) < 0.0 && side(c, d, a) * side(c, d, b) < 0.0
}

fn side(from: [f64; 2], to: [f64; 2], point: [f64; 2]) -> f64 {
    (to[0] - from[0]) * (point[1] - from[1]) - (to[1] - from[1]) * (point[0] - from[0])
}

#[cfg(test)]
mod tests {
    use super::*;

    fn zigzag(n_edges: usize, step: f64) -> Vec<[[f64; 2]; 2]> {
        let corner =
            |index: usize| [index as f64 * step, if index.is_multiple_of(2) { 0.0 } else { 50.0 }];
        (0..n_edges).map(|index| [corner(index), corner(index + 1)]).collect()
    }

    #[test]
    fn a_long_zigzag_is_no_tangle() {
        assert!(!is_tangled(&zigzag(100_000, 0.01)));
    }

    #[test]
    fn two_zigzags_across_each_other_are() {
        // 3000 edges across 3000 cross nine million times.
        let upright = zigzag(3000, 50.0 / 3000.0);
        let lying = upright.iter().map(|[from, to]| [[from[1], from[0]], [to[1], to[0]]]);
        assert!(is_tangled(&upright.iter().copied().chain(lying).collect::<Vec<_>>()));
    }
}
