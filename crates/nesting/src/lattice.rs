//! Repeated patterns: how densely can copies of one shape, or of two in equal numbers, fill the plane?
//!
//! A shape and its copy turned by half are pushed together along one direction until they touch (a shape that may not be turned stays alone).
//! Copies of this cell are pushed together along a second direction: a row.
//! Rows are pushed together at the phase that brings them closest.
//! Starts are spread evenly over all directions, the best of them are refined by a pattern search; no chance is needed.
//!
//! Pushing stops at the last contact, so that whatever lies beyond is free too: rows never hook into each other.
//! For convex shapes the densest such packing has this form (a row touches along a longest chord).
//!
//! Sources: G. Kuperberg, W. Kuperberg, "Double-lattice packings of convex bodies in the plane", Discrete & Computational Geometry 5 (1990) 389-397;
//! D. M. Mount, "The densest double-lattice packing of a convex polygon", DIMACS Series 6 (1991) 245-262.

use std::f64::consts::{PI, TAU};

use crate::{Rotation, kernel::Shape};

/// Touching copies keep so much apart, more than single precision loses on a sheet.
const APART_MM: f64 = 0.003;
/// Columns in which the outlines of a row are sampled while phases are compared.
const N_COLUMNS: usize = 96;
/// Starts: a shape alone, with its half turn, two shapes, two with their half turns.
const N_STARTS: [usize; 4] = [48, 400, 200, 300];
/// Starts that are refined, and of these the ones refined to the last digit.
const N_REFINED: usize = 10;
const N_EXACT: usize = 3;
/// Steps of the pattern search in turns: from and to, sampled and exact.
const SAMPLED_STEPS: (f64, f64) = (0.02, 0.0005);
const EXACT_STEPS: (f64, f64) = (0.001, 4e-6);
/// A gain below this share makes the steps shorter.
const LEAST_GAIN: f64 = 1e-5;
/// Patterns less dense than the best by this share are left out, and most that are kept.
const WORSE: f64 = 0.1;
const MOST_KEPT: usize = 6;

/// One copy in a cell.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Member {
    pub(crate) shape: usize,
    pub(crate) angle: f64,
    /// Where its centroid lies.
    pub(crate) at: [f64; 2],
}

/// A cell of copies that lies at all whole multiples of two steps.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Lattice {
    pub(crate) members: Vec<Member>,
    pub(crate) steps: [[f64; 2]; 2],
    /// Share of the plane that pieces cover, the gap around them aside.
    pub(crate) share: f64,
}

/// Returns the densest patterns found for one shape or two, the densest first, and how many times copies were pushed together.
pub(crate) fn lattices(shapes: &[Shape], of: &[usize]) -> (Vec<Lattice>, u64) {
    let mut search = Search { shapes, of, n_pushes: 0 };
    let mut kept: Vec<Lattice> = Vec::new();
    for with_half_turns in [true, false] {
        let may_turn = of.iter().all(|&shape| may_turn_by_half(&shapes[shape].rotation));
        if with_half_turns && !may_turn {
            continue;
        }
        kept.extend(search.densest(with_half_turns));
    }
    kept.sort_by(|a, b| b.share.total_cmp(&a.share));
    let mut different: Vec<Lattice> = Vec::new();
    for one in kept {
        let is_new = different.iter().all(|other| {
            let lengths = |lattice: &Lattice| lattice.steps.map(|[x, y]| x.hypot(y));
            let (a, b) = (lengths(&one), lengths(other));
            (0..2).any(|i| (a[i] - b[i]).abs() > 0.01 * a[i]) || one.share < 0.995 * other.share
        });
        let is_dense = different.first().is_none_or(|best| one.share > best.share * (1.0 - WORSE));
        if is_new && is_dense && different.len() < MOST_KEPT {
            different.push(one);
        }
    }
    (different, search.n_pushes)
}

fn may_turn_by_half(rotation: &Rotation) -> bool {
    matches!(rotation, Rotation::Free | Rotation::Quarter)
}

/// Corners of a copy where it lies.
type Ring = Vec<[f64; 2]>;

/// Edges of a copy seen along a direction: those that bound it ahead and behind, each from left to right.
struct Sides {
    ahead: Vec<Edge>,
    behind: Vec<Edge>,
}

struct Edge {
    from: f64,
    to: f64,
    /// Where the last edge ends of those that begin no later.
    all_to: f64,
    /// Height where it begins, and by how much it rises.
    height: f64,
    slope: f64,
}

impl Edge {
    fn at(&self, x: f64) -> f64 {
        self.height + self.slope * (x - self.from)
    }
}

fn sides(ring: &Ring, [dx, dy]: [f64; 2]) -> Sides {
    let (mut ahead, mut behind) = (Vec::new(), Vec::new());
    let seen = |[x, y]: [f64; 2]| [x * dy - y * dx, x * dx + y * dy];
    let mut last = seen(ring[ring.len() - 1]);
    for &corner in ring {
        let here = seen(corner);
        let ([ax, ay], [bx, by]) = (last, here);
        last = here;
        if (bx - ax).abs() < 1e-9 {
            continue;
        }
        let slope = (by - ay) / (bx - ax);
        // Corners run so that the inside is on the left of each edge.
        if bx > ax {
            behind.push(Edge { from: ax, to: bx, all_to: bx, height: ay, slope });
        } else {
            ahead.push(Edge { from: bx, to: ax, all_to: ax, height: by, slope });
        }
    }
    for edges in [&mut ahead, &mut behind] {
        edges.sort_unstable_by(|a, b| a.from.total_cmp(&b.from));
        let mut all_to = f64::MIN;
        for edge in edges {
            all_to = all_to.max(edge.to);
            edge.all_to = all_to;
        }
    }
    Sides { ahead, behind }
}

/// How far a copy, moved to the right first, must go ahead so that it is clear of another one from there on.
fn clear_of(still: &Sides, moved: &Sides, right: f64) -> f64 {
    let mut far = f64::NEG_INFINITY;
    let mut others = &moved.behind[..];
    for edge in &still.ahead {
        // Edges that end before this one begins, end before all that follow.
        while let [first, rest @ ..] = others
            && first.all_to + right < edge.from
        {
            others = rest;
        }
        for other in others.iter().take_while(|other| other.from + right <= edge.to) {
            let from = edge.from.max(other.from + right);
            let to = edge.to.min(other.to + right);
            if from <= to {
                far = far.max(edge.at(from) - other.at(from - right));
                far = far.max(edge.at(to) - other.at(to - right));
            }
        }
    }
    far
}

/// How far a copy that stands at the same place must go to the right so that it is clear of another one from there on.
///
/// Corners run counter-clockwise (positive area).
pub(crate) fn pushed_right(still: &Ring, moved: &Ring) -> f64 {
    let right = [1.0, 0.0];
    clear_of(&sides(still, right), &sides(moved, right), 0.0) + APART_MM
}

/// What is told of two rows: phase and height of the second.
#[derive(Clone, Copy)]
struct Rows {
    phase: f64,
    height: f64,
}

/// A cell, and the direction of its row.
struct Cell {
    members: Vec<Member>,
    /// Direction of the row.
    along: [f64; 2],
    /// Step in the row.
    step: f64,
    /// Sides of the members seen across the row.
    across: Vec<Sides>,
    /// Ends of the cell along the row and across it.
    low: [f64; 2],
    high: [f64; 2],
}

/// A lattice and the directions it was made from.
struct Found {
    directions: Vec<f64>,
    rows: Rows,
    share: f64,
}

struct Search<'a> {
    shapes: &'a [Shape],
    of: &'a [usize],
    n_pushes: u64,
}

impl Search<'_> {
    fn densest(&mut self, with_half_turns: bool) -> Vec<Lattice> {
        let (n_directions, n_starts) = match (self.of.len(), with_half_turns) {
            (1, false) => (1, N_STARTS[0]),
            (1, true) => (2, N_STARTS[1]),
            (_, false) => (3, N_STARTS[2]),
            (_, true) => (4, N_STARTS[3]),
        };
        let mut found: Vec<Found> = evenly_spread(n_directions)
            .take(n_starts)
            .filter_map(|directions| self.sampled(directions, with_half_turns))
            .collect();
        found.sort_by(|a, b| b.share.total_cmp(&a.share));
        found.truncate(N_REFINED);
        for one in &mut found {
            self.refine(one, with_half_turns);
        }
        found.sort_by(|a, b| b.share.total_cmp(&a.share));
        let mut lattices = Vec::new();
        for (place, one) in found.iter_mut().enumerate() {
            if place < N_EXACT {
                self.refine_exactly(one, with_half_turns);
            }
            lattices.extend(self.lattice(one, with_half_turns));
        }
        lattices
    }

    /// Steps in each direction while that packs closer, shorter and shorter.
    fn refine(&mut self, best: &mut Found, with_half_turns: bool) {
        let mut step = SAMPLED_STEPS.0;
        while step > SAMPLED_STEPS.1 {
            let before = best.share;
            for i in 0..best.directions.len() {
                for by in [step, -step] {
                    let mut directions = best.directions.clone();
                    directions[i] += by;
                    if let Some(one) = self.sampled(directions, with_half_turns)
                        && one.share > best.share
                    {
                        *best = one;
                    }
                }
            }
            if best.share <= before * (1.0 + LEAST_GAIN) {
                step /= 2.0;
            }
        }
    }

    /// The same with the phase as one more direction, and exact heights.
    fn refine_exactly(&mut self, best: &mut Found, with_half_turns: bool) {
        let mut step = EXACT_STEPS.0;
        best.share = self.lattice(best, with_half_turns).map_or(0.0, |lattice| lattice.share);
        while step > EXACT_STEPS.1 {
            let before = best.share;
            for i in 0..=best.directions.len() {
                for by in [step, -step] {
                    let mut one =
                        Found { directions: best.directions.clone(), rows: best.rows, share: 0.0 };
                    match one.directions.get_mut(i) {
                        Some(direction) => *direction += by,
                        None => one.rows.phase += by,
                    }
                    one.share =
                        self.lattice(&one, with_half_turns).map_or(0.0, |lattice| lattice.share);
                    if one.share > best.share {
                        *best = one;
                    }
                }
            }
            if best.share <= before * (1.0 + LEAST_GAIN) {
                step /= 2.0;
            }
        }
    }

    /// The best phase for a cell and row, by sampled outlines.
    fn sampled(&mut self, directions: Vec<f64>, with_half_turns: bool) -> Option<Found> {
        let cell = self.cell(&directions, with_half_turns)?;
        let rows = sampled_rows(&cell)?;
        let share = self.share(&cell, rows);
        Some(Found { directions, rows, share })
    }

    /// The lattice, rows pushed together exactly.
    fn lattice(&mut self, found: &Found, with_half_turns: bool) -> Option<Lattice> {
        let cell = self.cell(&found.directions, with_half_turns)?;
        let height = self.exact_height(&cell, found.rows.phase)? + APART_MM;
        let rows = Rows { height, ..found.rows };
        let share = self.share(&cell, rows);
        let [ax, ay] = cell.along;
        let right = rows.phase * cell.step;
        let steps = [
            [ax * cell.step, ay * cell.step],
            [ax * right - ay * rows.height, ay * right + ax * rows.height],
        ];
        Some(Lattice { members: cell.members, steps, share })
    }

    fn share(&self, cell: &Cell, rows: Rows) -> f64 {
        let area: f64 = cell.members.iter().map(|member| self.shapes[member.shape].area_mm2).sum();
        area / (cell.step * rows.height)
    }

    /// The members pushed together, and their row.
    fn cell(&mut self, directions: &[f64], with_half_turns: bool) -> Option<Cell> {
        let mut turns = directions.iter().copied();
        let mut next = || turns.next().unwrap_or_default() * TAU;
        let first = Member { shape: self.of[0], angle: 0.0, at: [0.0; 2] };
        let (mut members, mut rings) = (vec![first], vec![self.ring(&first)]);
        if let Some(&shape) = self.of.get(1) {
            let mut second = Member { shape, angle: next(), at: [0.0; 2] };
            let toward = heading(next());
            let by = self.pushed(&rings, &[self.ring(&second)], toward)?;
            second.at = toward.map(|part| part * by);
            rings.push(self.ring(&second));
            members.push(second);
        }
        if with_half_turns {
            let toward = heading(next());
            let turned: Vec<Member> = members
                .iter()
                .map(|one| Member { angle: one.angle + PI, at: one.at.map(|part| -part), ..*one })
                .collect();
            let turned_rings: Vec<Ring> = turned.iter().map(|one| self.ring(one)).collect();
            let by = self.pushed(&rings, &turned_rings, toward)?;
            let [dx, dy] = toward.map(|part| part * by);
            members.extend(
                turned.iter().map(|one| Member { at: [one.at[0] + dx, one.at[1] + dy], ..*one }),
            );
            rings.extend(
                turned_rings
                    .iter()
                    .map(|ring| -> Ring { ring.iter().map(|[x, y]| [x + dx, y + dy]).collect() }),
            );
        }
        let along = heading(next());
        let step = self.pushed(&rings, &rings, along)?;
        let [ax, ay] = along;
        let across: Vec<Sides> = rings.iter().map(|ring| sides(ring, [-ay, ax])).collect();
        let (mut low, mut high) = ([f64::MAX; 2], [f64::MIN; 2]);
        for [x, y] in rings.iter().flatten() {
            let seen = [x * ax + y * ay, y * ax - x * ay];
            low = [low[0].min(seen[0]), low[1].min(seen[1])];
            high = [high[0].max(seen[0]), high[1].max(seen[1])];
        }
        Some(Cell { members, along, step, across, low, high })
    }

    fn ring(&self, member: &Member) -> Ring {
        let (sin, cos) = member.angle.sin_cos();
        let corners = self.shapes[member.shape].corners();
        corners
            .map(|[x, y]| [x * cos - y * sin + member.at[0], x * sin + y * cos + member.at[1]])
            .collect()
    }

    /// How far copies must go in a direction to be clear of others.
    fn pushed(&mut self, still: &[Ring], moved: &[Ring], toward: [f64; 2]) -> Option<f64> {
        let moved: Vec<Sides> = moved.iter().map(|ring| sides(ring, toward)).collect();
        let mut far = f64::NEG_INFINITY;
        for ring in still {
            let still = sides(ring, toward);
            for moved in &moved {
                self.n_pushes += 1;
                far = far.max(clear_of(&still, moved, 0.0));
            }
        }
        far.is_finite().then_some(far + APART_MM)
    }

    /// Least height of the second row above the first at a phase, so that all rows are clear of each other.
    fn exact_height(&mut self, cell: &Cell, phase: f64) -> Option<f64> {
        let extent = [cell.high[0] - cell.low[0], cell.high[1] - cell.low[1]];
        let mut height: f64 = f64::NEG_INFINITY;
        for n_rows in 1..=MOST_ROWS {
            let rows = n_rows as f64;
            if rows * height > extent[1] {
                break;
            }
            let right = (rows * phase).rem_euclid(1.0) * cell.step;
            let first = ((-extent[0] - right) / cell.step).ceil() as i32;
            let last = ((extent[0] - right) / cell.step).floor() as i32;
            let mut far = f64::NEG_INFINITY;
            for n_steps in first..=last {
                for still in &cell.across {
                    for moved in &cell.across {
                        self.n_pushes += 1;
                        let right = right + f64::from(n_steps) * cell.step;
                        far = far.max(clear_of(still, moved, right));
                    }
                }
            }
            height = height.max(far / rows);
            if height <= 0.0 || n_rows == MOST_ROWS {
                return None;
            }
        }
        height.is_finite().then_some(height)
    }
}

/// Rows that may reach into each other.
const MOST_ROWS: usize = 40;

fn heading(angle: f64) -> [f64; 2] {
    let (sin, cos) = angle.sin_cos();
    [cos, sin]
}

/// The phase at which rows come closest, by outlines sampled in columns over one step of the row.
fn sampled_rows(cell: &Cell) -> Option<Rows> {
    let width = cell.step / N_COLUMNS as f64;
    let mut ahead = [f64::NEG_INFINITY; N_COLUMNS];
    // Twice in a row, so that a phase is a plain offset.
    let mut behind = [f64::INFINITY; 2 * N_COLUMNS];
    let columns = |edge: &Edge| {
        let first = (edge.from / width - 0.5).ceil() as i64;
        let last = (edge.to / width - 0.5).floor() as i64;
        first..=last
    };
    let place = |column: i64| column.rem_euclid(N_COLUMNS as i64) as usize;
    for sides in &cell.across {
        for edge in &sides.ahead {
            for column in columns(edge) {
                let y = edge.at((column as f64 + 0.5) * width);
                ahead[place(column)] = ahead[place(column)].max(y);
            }
        }
        for edge in &sides.behind {
            for column in columns(edge) {
                let y = edge.at((column as f64 + 0.5) * width);
                let place = place(column);
                behind[place] = behind[place].min(y);
                behind[place + N_COLUMNS] = behind[place];
            }
        }
    }
    let mut heights = [0.0; N_COLUMNS];
    for (phase, height) in heights.iter_mut().enumerate() {
        let behind = &behind[N_COLUMNS - phase..2 * N_COLUMNS - phase];
        *height = ahead
            .iter()
            .zip(behind)
            .map(|(ahead, behind)| ahead - behind)
            .fold(f64::NEG_INFINITY, |a, b| if a > b { a } else { b });
    }
    let extent = cell.high[1] - cell.low[1];
    let mut best: Option<Rows> = None;
    for (phase, &first) in heights.iter().enumerate() {
        let mut height = first;
        for n_rows in 2..MOST_ROWS {
            if height <= 0.0 || n_rows as f64 * height > extent {
                break;
            }
            height = height.max(heights[n_rows * phase % N_COLUMNS] / n_rows as f64);
        }
        if height > 0.0 && height.is_finite() && best.is_none_or(|best| height < best.height) {
            best = Some(Rows { phase: phase as f64 / N_COLUMNS as f64, height });
        }
    }
    best
}

/// Points that spread evenly over a unit cube, one after the other.
///
/// Source: J. H. Halton, "On the efficiency of certain quasi-random sequences of points", Numerische Mathematik 2 (1960) 84-90.
fn evenly_spread(n_directions: usize) -> impl Iterator<Item = Vec<f64>> {
    (0_u32..).map(move |i| {
        [2_u32, 3, 5, 7].iter().take(n_directions).map(|&base| mirrored(i, base)).collect()
    })
}

/// The digits of a number in a base, mirrored at the point.
fn mirrored(mut n: u32, base: u32) -> f64 {
    let (mut sum, mut part) = (0.0, 1.0);
    while n > 0 {
        part /= f64::from(base);
        sum += part * f64::from(n % base);
        n /= base;
    }
    sum
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{Outline, Piece, clean::clean_all};

    /// Area of the pieces over area of the plane in the densest pattern found, without a gap.
    fn densest(outlines: &[Outline], rotation: &Rotation) -> f64 {
        let pieces: Vec<Piece> = outlines
            .iter()
            .map(|outline| Piece {
                outline: outline.clone(),
                n: 1,
                n_optional: 0,
                rotation: rotation.clone(),
                mirror: false,
                fresh_only: false,
            })
            .collect();
        let clean = clean_all(&pieces).expect("clean outlines");
        let shapes = Shape::all(&pieces, &clean, 0.0).expect("shapes");
        let of: Vec<usize> = (0..outlines.len()).collect();
        lattices(&shapes, &of).0[0].share
    }

    /// A regular polygon around a circle of 40 mm, turned by an odd angle.
    fn regular(n: usize) -> Outline {
        let corner = |i: usize| heading((i as f64 / n as f64 + 0.137) * TAU);
        (0..n).map(|i| corner(i).map(|part| part * 40.0)).collect()
    }

    #[test]
    fn squares_hexagons_and_triangles_tile() {
        for n in [3, 4, 6] {
            let share = densest(&[regular(n)], &Rotation::Free);
            assert!(share > 0.998 && share <= 1.0, "{n} corners: {share}");
        }
    }

    #[test]
    fn disks_lie_as_dense_as_in_a_honeycomb() {
        // pi / (2 sqrt 3) for disks (Lagrange 1773 for lattices, Thue 1910 for all packings); of 200 corners a little less.
        let share = densest(&[regular(200)], &Rotation::Fixed);
        let densest_known = PI / 12_f64.sqrt();
        assert!(share > 0.998 * densest_known && share <= densest_known * 1.0005, "{share}");
    }

    #[test]
    fn pentagons_reach_their_double_lattice() {
        // (5 - sqrt 5) / 3 = 0.92131 (Kuperberg and Kuperberg 1990); no packing is denser (Hales and Kusner, arXiv:1602.07220).
        let densest_known = (5.0 - 5_f64.sqrt()) / 3.0;
        let share = densest(&[regular(5)], &Rotation::Free);
        assert!(share > 0.997 * densest_known && share <= densest_known, "{share}");
    }
}
