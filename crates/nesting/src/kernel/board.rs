//! Sheets with pieces on them: what is free and what is in the way.
//!
//! Order of the tests, cheapest first: boxes, circles, edges of what is still open.

use super::{LANES, MOST_POLES, shape::Shape, shape::Turned};
use crate::Placement;

/// What the grown boxes of pieces must stay inside.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Room {
    pub(crate) low: [f32; 2],
    pub(crate) high: [f32; 2],
}

impl Room {
    /// Returns where the centroid may go, if the turned shape fits.
    pub(crate) fn reach(&self, turned: &Turned) -> Option<([f32; 2], [f32; 2])> {
        let low = [self.low[0] - turned.low[0], self.low[1] - turned.low[1]];
        let high = [self.high[0] - turned.high[0], self.high[1] - turned.high[1]];
        (low[0] <= high[0] && low[1] <= high[1]).then_some((low, high))
    }

    pub(crate) fn area_mm2(&self) -> f32 {
        (self.high[0] - self.low[0]) * (self.high[1] - self.low[1])
    }
}

/// Where a copy lies.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Spot {
    pub(crate) sheet: usize,
    pub(crate) angle: f32,
    pub(crate) mirrored: bool,
    pub(crate) at: [f32; 2],
}

/// Boxes of what lies on a sheet, padded to whole chunks by boxes that meet nothing.
#[derive(Debug, Default)]
struct Members {
    ids: Vec<u32>,
    low_xs: Vec<f32>,
    low_ys: Vec<f32>,
    high_xs: Vec<f32>,
    high_ys: Vec<f32>,
}

impl Members {
    fn copy_from(&mut self, other: &Self) {
        self.ids.clone_from(&other.ids);
        self.low_xs.clone_from(&other.low_xs);
        self.low_ys.clone_from(&other.low_ys);
        self.high_xs.clone_from(&other.high_xs);
        self.high_ys.clone_from(&other.high_ys);
    }

    fn set(&mut self, at: usize, low: [f32; 2], high: [f32; 2]) {
        if at >= self.low_xs.len() {
            let n = self.low_xs.len() + LANES;
            self.low_xs.resize(n, f32::MAX);
            self.low_ys.resize(n, f32::MAX);
            self.high_xs.resize(n, f32::MIN);
            self.high_ys.resize(n, f32::MIN);
        }
        self.low_xs[at] = low[0];
        self.low_ys[at] = low[1];
        self.high_xs[at] = high[0];
        self.high_ys[at] = high[1];
    }

    fn boxed(&self, at: usize) -> ([f32; 2], [f32; 2]) {
        ([self.low_xs[at], self.low_ys[at]], [self.high_xs[at], self.high_ys[at]])
    }
}

/// Centers and radii of circles: x, y, radius.
pub(super) type Circles<'b> = (&'b [f32], &'b [f32], &'b [f32]);

pub(super) const NOWHERE: usize = usize::MAX;
/// Pairs left to their edges that are noted before they are looked at.
pub(super) const MOST_OPEN: usize = 48;

/// Sheets and the copies on them.
#[derive(Debug)]
pub(crate) struct Board<'a> {
    pub(crate) shapes: &'a [Shape],
    pub(crate) rooms: Vec<Room>,
    /// The shape of each copy.
    pub(crate) shape_of: Vec<usize>,
    pub(super) spots: Vec<Spot>,
    member_at: Vec<usize>,
    members: Vec<Members>,
    /// Corners of all copies where they lie, `stride` for each.
    xs: Vec<f32>,
    ys: Vec<f32>,
    stride: usize,
    pole_xs: Vec<f32>,
    pole_ys: Vec<f32>,
    /// Boxes around each chunk of edges: low x, low y, high x, high y.
    chunks: Vec<[f32; 4]>,
    n_chunks: usize,
}

impl Clone for Board<'_> {
    fn clone(&self) -> Self {
        let mut board = Board::new(self.shapes, Vec::new(), Vec::new());
        board.copy_from(self);
        board
    }
}

impl<'a> Board<'a> {
    pub(crate) fn new(shapes: &'a [Shape], rooms: Vec<Room>, shape_of: Vec<usize>) -> Self {
        let stride = shapes.iter().map(Shape::n_padded).max().unwrap_or(1);
        let n_chunks = (stride - 1) / LANES;
        let n = shape_of.len();
        Self {
            shapes,
            members: rooms.iter().map(|_| Members::default()).collect(),
            rooms,
            spots: vec![Spot { sheet: NOWHERE, angle: 0.0, mirrored: false, at: [0.0; 2] }; n],
            member_at: vec![0; n],
            shape_of,
            xs: vec![0.0; n * stride],
            ys: vec![0.0; n * stride],
            stride,
            pole_xs: vec![0.0; n * MOST_POLES],
            pole_ys: vec![0.0; n * MOST_POLES],
            chunks: vec![[0.0; 4]; n * n_chunks],
            n_chunks,
        }
    }

    /// Becomes the other board, in the memory it has.
    pub(crate) fn copy_from(&mut self, other: &Self) {
        self.rooms.clone_from(&other.rooms);
        self.shape_of.clone_from(&other.shape_of);
        self.spots.clone_from(&other.spots);
        self.member_at.clone_from(&other.member_at);
        self.members.resize_with(other.members.len(), Members::default);
        for (own, others) in self.members.iter_mut().zip(&other.members) {
            own.copy_from(others);
        }
        self.xs.clone_from(&other.xs);
        self.ys.clone_from(&other.ys);
        self.pole_xs.clone_from(&other.pole_xs);
        self.pole_ys.clone_from(&other.pole_ys);
        self.chunks.clone_from(&other.chunks);
        (self.stride, self.n_chunks) = (other.stride, other.n_chunks);
    }

    /// The shape of a copy.
    #[inline(always)]
    pub(crate) fn shape(&self, copy: usize) -> &'a Shape {
        &self.shapes[self.shape_of[copy]]
    }

    /// Where a copy lies; nothing if it is on no sheet.
    pub(crate) fn spot(&self, copy: usize) -> Option<Spot> {
        Some(self.spots[copy]).filter(|spot| spot.sheet != NOWHERE)
    }

    /// The copies on a sheet.
    pub(crate) fn on(&self, sheet: usize) -> &[u32] {
        &self.members[sheet].ids
    }

    /// The box around a placed copy.
    pub(crate) fn boxed(&self, copy: usize) -> ([f32; 2], [f32; 2]) {
        self.members[self.spots[copy].sheet].boxed(self.member_at[copy])
    }

    /// Adds an empty sheet.
    pub(crate) fn open(&mut self, room: Room) {
        self.rooms.push(room);
        self.members.push(Members::default());
    }

    /// Takes a copy off its sheet.
    pub(crate) fn lift(&mut self, copy: usize) {
        let sheet = self.spots[copy].sheet;
        if sheet == NOWHERE {
            return;
        }
        let (at, members) = (self.member_at[copy], &mut self.members[sheet]);
        let last = members.ids.len() - 1;
        let (low, high) = members.boxed(last);
        members.set(at, low, high);
        members.set(last, [f32::MAX; 2], [f32::MIN; 2]);
        members.ids.swap_remove(at);
        if at < last {
            self.member_at[members.ids[at] as usize] = at;
        }
        self.spots[copy].sheet = NOWHERE;
    }

    /// Lays a copy down; it may overlap others.
    pub(crate) fn lay(&mut self, copy: usize, turned: &Turned, sheet: usize, at: [f32; 2]) {
        self.lift(copy);
        self.spots[copy] = Spot { sheet, angle: turned.angle, mirrored: turned.mirrored, at };
        let members = &mut self.members[sheet];
        self.member_at[copy] = members.ids.len();
        members.set(
            members.ids.len(),
            [turned.low[0] + at[0], turned.low[1] + at[1]],
            [turned.high[0] + at[0], turned.high[1] + at[1]],
        );
        members.ids.push(copy as u32);

        let from = copy * self.stride;
        let n = turned.xs.len();
        for (to, x) in self.xs[from..from + n].iter_mut().zip(&turned.xs) {
            *to = x + at[0];
        }
        for (to, y) in self.ys[from..from + n].iter_mut().zip(&turned.ys) {
            *to = y + at[1];
        }
        let poles = copy * MOST_POLES;
        for k in 0..MOST_POLES {
            self.pole_xs[poles + k] = turned.pole_xs[k] + at[0];
            self.pole_ys[poles + k] = turned.pole_ys[k] + at[1];
        }
        for chunk in 0..(n - 1) / LANES {
            let start = from + chunk * LANES;
            let mut around = [f32::MAX, f32::MAX, f32::MIN, f32::MIN];
            let corners = start..=start + LANES;
            for (x, y) in self.xs[corners.clone()].iter().zip(&self.ys[corners]) {
                around =
                    [around[0].min(*x), around[1].min(*y), around[2].max(*x), around[3].max(*y)];
            }
            self.chunks[copy * self.n_chunks + chunk] = around;
        }
    }

    /// Lays a copy down where a placement says.
    pub(crate) fn put(&mut self, copy: usize, sheet: usize, placement: &Placement) {
        let (place, shape) = (self.shape_of[copy], self.shape(copy));
        let mut turned = Turned::default();
        let angle = placement.rotation_deg.to_radians() as f32;
        shape.turn_as(place, angle, placement.mirrored, &mut turned);
        self.lay(copy, &turned, sheet, shape.center_of(placement));
    }

    /// Tells whether a turned shape overlaps nothing but, maybe, the copy `but`.
    pub(crate) fn is_free(&self, turned: &Turned, sheet: usize, at: [f32; 2], but: usize) -> bool {
        let mut open = [0_u32; MOST_OPEN];
        let mut n_open = 0;
        let free = self.near(turned, sheet, at, but, |other| {
            if self.poles_hit(turned, at, other) {
                return false;
            }
            if n_open == MOST_OPEN {
                return !self.edges_hit(turned, at, other);
            }
            open[n_open] = other as u32;
            n_open += 1;
            true
        });
        free && open[..n_open].iter().all(|&other| !self.edges_hit(turned, at, other as usize))
    }

    /// Calls for each copy whose box meets the turned shape's, until told to stop; tells whether it was not.
    pub(super) fn near(
        &self,
        turned: &Turned,
        sheet: usize,
        at: [f32; 2],
        but: usize,
        mut visit: impl FnMut(usize) -> bool,
    ) -> bool {
        let members = &self.members[sheet];
        let (low_x, low_y) = (turned.low[0] + at[0], turned.low[1] + at[1]);
        let (high_x, high_y) = (turned.high[0] + at[0], turned.high[1] + at[1]);
        for (chunk, ids) in members.ids.chunks(LANES).enumerate() {
            let part = chunk * LANES..(chunk + 1) * LANES;
            let (lx, ly) = (&members.low_xs[part.clone()], &members.low_ys[part.clone()]);
            let (hx, hy) = (&members.high_xs[part.clone()], &members.high_ys[part]);
            let mut meets = [false; LANES];
            for k in 0..LANES {
                meets[k] = (lx[k] < high_x) & (ly[k] < high_y) & (hx[k] > low_x) & (hy[k] > low_y);
            }
            if meets == [false; LANES] {
                continue;
            }
            for (&id, &meets) in ids.iter().zip(&meets) {
                if meets && id as usize != but && !visit(id as usize) {
                    return false;
                }
            }
        }
        true
    }

    /// The circles of a placed copy, in whole chunks.
    #[inline(always)]
    pub(super) fn poles(&self, copy: usize) -> Circles<'_> {
        let shape = self.shape(copy);
        let (from, n) = (copy * MOST_POLES, shape.n_padded_poles);
        (&self.pole_xs[from..from + n], &self.pole_ys[from..from + n], &shape.pole_rs[..n])
    }

    pub(super) fn poles_hit(&self, turned: &Turned, at: [f32; 2], other: usize) -> bool {
        let own = &self.shapes[turned.shape];
        let (xs, ys, rs) = self.poles(other);
        (0..own.n_poles).any(|i| {
            let (x, y, r) = (turned.pole_xs[i] + at[0], turned.pole_ys[i] + at[1], own.pole_rs[i]);
            let mut hit = 0;
            for ((cx, cy), cr) in xs.iter().zip(ys).zip(rs) {
                let (dx, dy, reach) = (cx - x, cy - y, cr + r);
                hit |= u32::from(dx * dx + dy * dy < reach * reach);
            }
            hit != 0
        })
    }

    /// Tells whether edges cross or one shape lies inside the other.
    pub(super) fn edges_hit(&self, turned: &Turned, at: [f32; 2], other: usize) -> bool {
        let (low, high) = self.boxed(other);
        let own_low = [turned.low[0] + at[0], turned.low[1] + at[1]];
        let own_high = [turned.high[0] + at[0], turned.high[1] + at[1]];
        // Only edges in what both boxes share can cross.
        let shared_low = [low[0].max(own_low[0]), low[1].max(own_low[1])];
        let shared_high = [high[0].min(own_high[0]), high[1].min(own_high[1])];
        let n = self.shapes[turned.shape].n_corners;
        let from = other * self.stride;
        let n_chunks = (self.shape(other).n_padded() - 1) / LANES;
        let chunks = &self.chunks[other * self.n_chunks..other * self.n_chunks + n_chunks];
        let is_shared = |low: [f32; 2], high: [f32; 2]| {
            (low[0] <= shared_high[0])
                & (high[0] >= shared_low[0])
                & (low[1] <= shared_high[1])
                & (high[1] >= shared_low[1])
        };
        for i in 0..n {
            let (ax, ay) = (turned.xs[i] + at[0], turned.ys[i] + at[1]);
            let (bx, by) = (turned.xs[i + 1] + at[0], turned.ys[i + 1] + at[1]);
            let low = [smaller(ax, bx), smaller(ay, by)];
            let high = [larger(ax, bx), larger(ay, by)];
            if !is_shared(low, high) {
                continue;
            }
            for (chunk, around) in chunks.iter().enumerate() {
                let apart = (around[0] > high[0])
                    | (around[1] > high[1])
                    | (around[2] < low[0])
                    | (around[3] < low[1]);
                if apart {
                    continue;
                }
                let start = from + chunk * LANES;
                let corners = start..=start + LANES;
                if crosses([ax, ay], [bx, by], &self.xs[corners.clone()], &self.ys[corners]) {
                    return true;
                }
            }
        }
        let holds = |low: [f32; 2], high: [f32; 2], p: [f32; 2]| {
            p[0] > low[0] && p[0] < high[0] && p[1] > low[1] && p[1] < high[1]
        };
        let n_other = self.shape(other).n_corners;
        let (their_xs, their_ys) =
            (&self.xs[from..=from + n_other], &self.ys[from..=from + n_other]);
        let first = [turned.xs[0] + at[0], turned.ys[0] + at[1]];
        if holds(low, high, first) && is_inside(first, their_xs, their_ys) {
            return true;
        }
        let theirs = [their_xs[0], their_ys[0]];
        holds(own_low, own_high, theirs)
            && is_inside([theirs[0] - at[0], theirs[1] - at[1]], &turned.xs[..=n], &turned.ys[..=n])
    }
}

/// Tells whether an edge crosses one of several edges in a row, or meets its end from inside.
#[inline(always)]
fn crosses(a: [f32; 2], b: [f32; 2], xs: &[f32], ys: &[f32]) -> bool {
    let (ux, uy) = (b[0] - a[0], b[1] - a[1]);
    let starts = xs.iter().zip(ys);
    let ends = xs[1..].iter().zip(&ys[1..]);
    let mut hit = 0;
    for ((&cx, &cy), (&dx, &dy)) in starts.zip(ends) {
        // Which side of the edge the corners lie on, relative to its start, and the other way round.
        let side = ux * (cy - a[1]) - uy * (cx - a[0]);
        let next = ux * (dy - a[1]) - uy * (dx - a[0]);
        let (vx, vy) = (dx - cx, dy - cy);
        let of_a = vx * (a[1] - cy) - vy * (a[0] - cx);
        let of_b = vx * (b[1] - cy) - vy * (b[0] - cx);
        let (own, theirs) = (of_a * of_b, side * next);
        // One of the products is negative and the other at most zero.
        hit |= u32::from(smaller(own, theirs) < 0.0) & u32::from(larger(own, theirs) <= 0.0);
    }
    hit != 0
}

/// The smaller number; unlike `f32::min` it asks for no rule about what is no number, and so becomes one instruction.
#[inline(always)]
pub(super) fn smaller(a: f32, b: f32) -> f32 {
    if a < b { a } else { b }
}

/// The larger number.
#[inline(always)]
pub(super) fn larger(a: f32, b: f32) -> f32 {
    if a > b { a } else { b }
}

/// Tells whether a point lies inside a closed list of corners.
fn is_inside([x, y]: [f32; 2], xs: &[f32], ys: &[f32]) -> bool {
    xs.windows(2).zip(ys.windows(2)).fold(false, |inside, (xs, ys)| {
        let crosses = (ys[0] > y) != (ys[1] > y)
            && x < (xs[1] - xs[0]) * (y - ys[0]) / (ys[1] - ys[0]) + xs[0];
        inside != crosses
    })
}
