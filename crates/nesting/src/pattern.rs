//! Lattices cut to a sheet: which of them, turned and moved how, leaves room for most copies?
//!
//! Every lattice is turned by angles all around, and so that its steps lie along the edges, and moved to places all over its cell;
//! what lies inside the sheet is then moved to the start as far as it goes.
//! More copies win, then the shorter stretch of sheet.

use std::f64::consts::{FRAC_PI_2, PI};

use crate::{
    Rotation,
    fill::Filler,
    kernel::{Board, Room, Shape, Turned},
    lattice::{Lattice, Member, lattices},
};

/// Angles all around; places in a cell along each of its steps.
const N_ANGLES: usize = 30;
const N_PLACES: usize = 7;
/// Of very many copies fewer places are tried: about so many places of copies are looked at.
const MOST_LOOKS: usize = 2_000_000;
/// Kept from the edge, more than single precision loses on a sheet.
const INSIDE_MM: f64 = 2e-4;
/// Patterns that are kept for sheets of the same size.
const MOST_KEPT: usize = 12;

/// Copies in a pattern, the nearest to the start first.
#[derive(Clone, Debug, Default)]
pub(crate) struct Pattern {
    spots: Vec<Member>,
    /// Where the last of them ends.
    end: f64,
}

/// Lattices and patterns found so far.
#[derive(Debug, Default)]
pub(crate) struct Patterns {
    lattices: Vec<(Vec<usize>, Vec<Lattice>)>,
    patterns: Vec<Known>,
    pub(crate) evaluations: u64,
}

/// The best pattern for a room and copies wanted of each shape.
#[derive(Debug)]
struct Known {
    wanted: Vec<(usize, usize)>,
    room: Room,
    pattern: Pattern,
}

/// Copies that are laid in one pattern.
struct Group {
    /// Their shapes.
    shapes: Vec<usize>,
    /// Those that lie on no sheet yet.
    left: Vec<usize>,
}

impl Group {
    /// How many of each shape are left.
    fn wanted(&self, board: &Board<'_>) -> Vec<(usize, usize)> {
        let n = |shape| self.left.iter().filter(|&&copy| board.shape_of[copy] == shape).count();
        self.shapes.iter().map(|&shape| (shape, n(shape))).collect()
    }
}

impl Patterns {
    /// Fills sheets in patterns, and what they leave free copy by copy; returns the copies that found no room.
    ///
    /// As [`Filler::fill`]; nothing where the copies are of more shapes than a pattern holds.
    pub(crate) fn fill(
        &mut self,
        filler: &mut Filler,
        board: &mut Board<'_>,
        order: &[usize],
        one_shape: bool,
        more: Option<Room>,
    ) -> Option<Vec<usize>> {
        let groups = groups(board, order, one_shape)?;
        let mut left = Vec::new();
        for mut group in groups {
            for sheet in 0.. {
                if group.left.is_empty() {
                    break;
                }
                if sheet == board.rooms.len() {
                    let Some(room) = more else { break };
                    board.open(room);
                    self.lay(filler, board, &mut group, sheet);
                    if board.on(sheet).is_empty() {
                        break;
                    }
                    continue;
                }
                let other_shape = board
                    .on(sheet)
                    .iter()
                    .any(|&one| !group.shapes.contains(&board.shape_of[one as usize]));
                if !(one_shape && other_shape) {
                    self.lay(filler, board, &mut group, sheet);
                }
            }
            left.extend(group.left);
        }
        left.sort_unstable();
        Some(left)
    }

    /// Lays a pattern on a sheet if it is empty, then more copies one by one.
    fn lay(&mut self, filler: &mut Filler, board: &mut Board<'_>, group: &mut Group, sheet: usize) {
        if board.on(sheet).is_empty() {
            let wanted = group.wanted(board);
            let pattern = self.pattern(board.shapes, &wanted, board.rooms[sheet]);
            let mut turned = Turned::default();
            for spot in &pattern.spots {
                let of_shape = |&copy: &usize| board.shape_of[copy] == spot.shape;
                let Some(place) = group.left.iter().position(of_shape) else { continue };
                let copy = group.left[place];
                board.shape(copy).turn_as(spot.shape, spot.angle as f32, false, &mut turned);
                let Some((low, high)) = board.rooms[sheet].reach(&turned) else { continue };
                let at = [0, 1].map(|axis| (spot.at[axis] as f32).clamp(low[axis], high[axis]));
                self.evaluations += 1;
                if board.is_free(&turned, sheet, at, copy) {
                    board.lay(copy, &turned, sheet, at);
                    group.left.remove(place);
                }
            }
        }
        for &shape in &group.shapes {
            let next = |board: &Board<'_>, left: &[usize]| {
                left.iter().position(|&copy| board.shape_of[copy] == shape)
            };
            while let Some(place) = next(board, &group.left) {
                if !filler.place(board, group.left[place], sheet) {
                    break;
                }
                group.left.remove(place);
            }
        }
    }

    /// The best pattern for a room and as many copies of each shape.
    fn pattern(&mut self, shapes: &[Shape], wanted: &[(usize, usize)], room: Room) -> Pattern {
        let known = self.patterns.iter().find(|known| {
            // With more copies to lay than it holds, a pattern stays the best.
            known.room == room
                && known.wanted.len() == wanted.len()
                && known.wanted.iter().zip(wanted).all(|(&(shape, n), &(other, m))| {
                    let spots = known.pattern.spots.iter();
                    let held = spots.filter(|spot| spot.shape == shape).count();
                    shape == other && (n == m || held < n.min(m))
                })
        });
        if let Some(known) = known {
            return known.pattern.clone();
        }
        let of: Vec<usize> = wanted.iter().map(|&(shape, _)| shape).collect();
        if !self.lattices.iter().any(|(shapes, _)| *shapes == of) {
            let (found, n_pushes) = lattices(shapes, &of);
            // A push looks at whole outlines.
            self.evaluations += 4 * n_pushes;
            self.lattices.push((of.clone(), found));
        }
        let lattices = self.lattices.iter().find(|(shapes, _)| *shapes == of);
        let mut cutter = Cutter { shapes, room, wanted, n_looks: 0, best: Pattern::default() };
        cutter.cut(lattices.map_or(&[], |(_, found)| found));
        // A look at a place is a small part of a query.
        self.evaluations += cutter.n_looks / 100;
        if self.patterns.len() == MOST_KEPT {
            self.patterns.remove(0);
        }
        self.patterns.push(Known { wanted: wanted.to_vec(), room, pattern: cutter.best.clone() });
        cutter.best
    }
}

/// Fills sheets copy by copy, or in patterns where that leaves less; returns the copies that found no room.
///
/// As [`Filler::fill`].
pub(crate) fn fill_either(
    filler: &mut Filler,
    patterns: &mut Patterns,
    board: &mut Board<'_>,
    order: &[usize],
    one_shape: bool,
    more: Option<Room>,
) -> Vec<usize> {
    if groups(board, order, one_shape).is_none() {
        return filler.fill(board, order, one_shape, more);
    }
    let mut other = board.clone();
    let left = filler.fill(board, order, one_shape, more);
    let Some(less) = patterns.fill(filler, &mut other, order, one_shape, more) else {
        return left;
    };
    let area = |left: &[usize]| left.iter().map(|&copy| board.shape(copy).area_mm2).sum::<f64>();
    let (one, two) = (area(&left), area(&less));
    if two < one - 0.1 || (two < one + 0.1 && other.rooms.len() < board.rooms.len()) {
        board.copy_from(&other);
        return less;
    }
    left
}

/// Copies by what is laid together, nothing if they are of too many shapes.
fn groups(board: &Board<'_>, order: &[usize], one_shape: bool) -> Option<Vec<Group>> {
    let mut groups: Vec<Group> = Vec::new();
    for &copy in order.iter().filter(|&&copy| board.spot(copy).is_none()) {
        let shape = board.shape_of[copy];
        match groups.iter_mut().find(|group| group.shapes == [shape]) {
            Some(group) => group.left.push(copy),
            None => groups.push(Group { shapes: vec![shape], left: vec![copy] }),
        }
    }
    // Patterns know halves and quarters, not angles that a piece names.
    let names_angles = |group: &Group| {
        let mut shapes = group.shapes.iter();
        shapes.any(|&shape| matches!(board.shapes[shape].rotation, Rotation::Angles(_)))
    };
    if groups.iter().any(names_angles) {
        return None;
    }
    if one_shape || groups.len() == 1 {
        return Some(groups);
    }
    let [first, second] = &groups[..] else { return None };
    let turns_freely = |group: &Group| {
        group.shapes.iter().all(|&shape| board.shapes[shape].rotation == Rotation::Free)
    };
    let is_pair =
        first.left.len() == second.left.len() && turns_freely(first) && turns_freely(second);
    is_pair.then(|| {
        let shapes = groups.iter().flat_map(|group| group.shapes.clone()).collect();
        let left = groups.iter().flat_map(|group| group.left.clone()).collect();
        vec![Group { shapes, left }]
    })
}

/// Cuts lattices to a room.
struct Cutter<'a> {
    shapes: &'a [Shape],
    room: Room,
    wanted: &'a [(usize, usize)],
    n_looks: u64,
    best: Pattern,
}

/// A lattice turned by an angle.
struct Turning {
    members: Vec<Member>,
    steps: [[f64; 2]; 2],
    /// For each member where its centroid may go: low and high.
    reach: Vec<[[f64; 2]; 2]>,
    /// How far each member's box goes beyond its centroid along the sheet.
    beyond: Vec<f64>,
}

impl Cutter<'_> {
    fn cut(&mut self, lattices: &[Lattice]) {
        let n_wanted: usize = self.wanted.iter().map(|(_, n)| n).sum();
        let mut spots = Vec::new();
        for lattice in lattices {
            let angles = self.angles(lattice);
            let looks = lattices.len() * angles.len() * N_PLACES * N_PLACES * n_wanted.max(1);
            let n_places = if looks > MOST_LOOKS {
                (N_PLACES as f64 * (MOST_LOOKS as f64 / looks as f64).sqrt()).ceil() as usize
            } else {
                N_PLACES
            };
            for angle in angles {
                let Some(turning) = self.turning(lattice, angle) else { continue };
                for place in 0..n_places * n_places {
                    let [a, b] = [place % n_places, place / n_places]
                        .map(|part| part as f64 / n_places as f64);
                    let [u, v] = turning.steps;
                    let offset = [a * u[0] + b * v[0], a * u[1] + b * v[1]];
                    let slack = self.look(&turning, offset, &mut spots);
                    if slack[0] + slack[1] > INSIDE_MM {
                        let offset = [offset[0] - slack[0], offset[1] - slack[1]];
                        self.look(&turning, offset, &mut spots);
                    }
                }
            }
        }
    }

    fn angles(&self, lattice: &Lattice) -> Vec<f64> {
        let may = |rotation: &Rotation| {
            lattice.members.iter().all(|member| self.shapes[member.shape].rotation == *rotation)
        };
        if may(&Rotation::Quarter) {
            return vec![0.0, FRAC_PI_2];
        }
        if !may(&Rotation::Free) {
            return vec![0.0];
        }
        let [u, v] = lattice.steps;
        let diagonals = [[u[0] + v[0], u[1] + v[1]], [u[0] - v[0], u[1] - v[1]]];
        let along = [u, v].into_iter().chain(diagonals).flat_map(|[x, y]| {
            let turned = -y.atan2(x);
            [turned, turned + FRAC_PI_2]
        });
        along.chain((0..N_ANGLES).map(|i| i as f64 / N_ANGLES as f64 * PI)).collect()
    }

    /// The lattice turned, if its members fit the room at that angle.
    fn turning(&self, lattice: &Lattice, angle: f64) -> Option<Turning> {
        let (sin, cos) = angle.sin_cos();
        let turn = |[x, y]: [f64; 2]| [x * cos - y * sin, x * sin + y * cos];
        let members: Vec<Member> = lattice
            .members
            .iter()
            .map(|one| Member { angle: one.angle + angle, at: turn(one.at), ..*one })
            .collect();
        let (low, high) = (self.room.low.map(f64::from), self.room.high.map(f64::from));
        let (mut reach, mut beyond) = (Vec::new(), Vec::new());
        for member in &members {
            let (sin, cos) = member.angle.sin_cos();
            let corners = self.shapes[member.shape].corners();
            let (least, most) = corners.map(|[x, y]| [x * cos - y * sin, x * sin + y * cos]).fold(
                ([f64::MAX; 2], [f64::MIN; 2]),
                |(least, most), p| {
                    (
                        [least[0].min(p[0]), least[1].min(p[1])],
                        [most[0].max(p[0]), most[1].max(p[1])],
                    )
                },
            );
            let from = [0, 1].map(|axis| low[axis] - least[axis] + INSIDE_MM);
            let to = [0, 1].map(|axis| high[axis] - most[axis] - INSIDE_MM);
            if from[0] > to[0] || from[1] > to[1] {
                return None;
            }
            reach.push([from, to]);
            beyond.push(most[1]);
        }
        // A strip has no end worth mentioning: far enough for all copies.
        let n = self.wanted.iter().map(|(_, n)| n.div_ceil(members.len()) as f64).sum::<f64>();
        let [u, v] = lattice.steps.map(turn);
        let cell_mm2 = (u[0] * v[1] - u[1] * v[0]).abs();
        let far = self.wanted.iter().map(|&(shape, _)| f64::from(self.shapes[shape].diameter_mm));
        let far = far.fold(0.0, f64::max) * 4.0;
        let width = (high[0] - low[0]).max(1.0);
        let far = low[1] + far + 2.0 * n * cell_mm2 / width;
        for [_, to] in &mut reach {
            to[1] = to[1].min(far);
        }
        Some(Turning { members, steps: [u, v], reach, beyond })
    }

    /// Looks at the lattice moved by an offset, and keeps it if it is the best.
    ///
    /// Returns by how much all that lies inside could be moved to the start.
    fn look(
        &mut self,
        turning: &Turning,
        offset: [f64; 2],
        spots: &mut Vec<(f64, Member)>,
    ) -> [f64; 2] {
        spots.clear();
        let [u, v] = turning.steps;
        let det = u[0] * v[1] - u[1] * v[0];
        let mut slack = [f64::MAX; 2];
        let start = self.room.low.map(f64::from);
        let n_wanted: usize = self.wanted.iter().map(|(_, n)| n).sum();
        let is_whole = self.best.spots.len() == n_wanted;
        for ((member, [from, to]), beyond) in
            turning.members.iter().zip(&turning.reach).zip(&turning.beyond)
        {
            // A pattern that is whole can only be beaten by a shorter one.
            let to = [to[0], if is_whole { to[1].min(self.best.end - beyond) } else { to[1] }];
            if to[1] < from[1] {
                return [0.0; 2];
            }
            let origin = [0, 1].map(|axis| start[axis] + offset[axis] + member.at[axis]);
            let corners = [*from, [from[0], to[1]], [to[0], from[1]], to];
            let rows =
                corners.map(|[x, y]| ((x - origin[0]) * v[1] - (y - origin[1]) * v[0]) / det);
            let (first, last) =
                rows.iter().fold((f64::MAX, f64::MIN), |(a, b), &row| (a.min(row), b.max(row)));
            for row in first.ceil() as i64..=last.floor() as i64 {
                let begin = [0, 1].map(|axis| origin[axis] + row as f64 * u[axis]);
                let mut between = (f64::MIN, f64::MAX);
                for axis in 0..2 {
                    let (low, high) = (from[axis] - begin[axis], to[axis] - begin[axis]);
                    if v[axis].abs() < 1e-9 {
                        if low > 0.0 || high < 0.0 {
                            between = (1.0, 0.0);
                        }
                        continue;
                    }
                    let (a, b) = (low / v[axis], high / v[axis]);
                    between = (between.0.max(a.min(b)), between.1.min(a.max(b)));
                }
                for step in between.0.ceil() as i64..=between.1.floor() as i64 {
                    let at = [0, 1].map(|axis| begin[axis] + step as f64 * v[axis]);
                    for axis in 0..2 {
                        slack[axis] = slack[axis].min(at[axis] - from[axis]);
                    }
                    spots.push((at[1] + beyond, Member { at, ..*member }));
                }
            }
        }
        self.n_looks += 1 + spots.len() as u64;
        if spots.is_empty() {
            return [0.0; 2];
        }
        let slack = slack.map(|part| part.max(0.0));
        if spots.len() < self.best.spots.len() {
            return slack;
        }
        let (mut n, mut end) = (0, f64::MIN);
        for &(shape, wanted) in self.wanted {
            let mut ends: Vec<f64> = spots
                .iter()
                .filter(|(_, member)| member.shape == shape)
                .map(|(end, _)| *end)
                .collect();
            if ends.len() > wanted && wanted > 0 {
                ends.select_nth_unstable_by(wanted - 1, f64::total_cmp);
                ends.truncate(wanted);
            } else if wanted == 0 {
                ends.clear();
            }
            n += ends.len();
            end = ends.iter().copied().fold(end, f64::max);
        }
        let n_best = self.best.spots.len();
        if n > n_best || (n == n_best && end < self.best.end - 1e-6) {
            spots.sort_by(|a, b| a.0.total_cmp(&b.0));
            let mut kept: Vec<Member> = Vec::with_capacity(n);
            for &(shape, wanted) in self.wanted {
                let own = spots.iter().filter(|(_, member)| member.shape == shape);
                kept.extend(own.take(wanted).map(|(_, member)| *member));
            }
            self.best = Pattern { spots: kept, end };
        }
        slack
    }
}
