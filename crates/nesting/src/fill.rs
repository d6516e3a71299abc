//! Left-bottom fill: pieces one at a time onto the first sheet with room, each as far to the start as it goes.
//!
//! A piece is tried at the corners that edges and placed pieces leave for its box, and at random places and angles;
//! the place that ends nearest to the sheet's start wins and is then moved step by step closer, as long as nothing is in its way.

use rand::RngExt;
use rand_xoshiro::Xoshiro256PlusPlus;

use crate::{
    Rotation,
    kernel::{Board, Room, Spot, Turned},
};

/// Moving along the sheet weighs this much more than across it, so that sheets fill row by row.
const ALONG: f32 = 10.0;
/// Boxes side by side keep so much apart, more than single precision loses on a sheet.
const TOUCH_MM: f32 = 1e-3;
/// A random place must be better than a corner by so much: less would only make rows crooked.
const WORTH_A_CROOKED_ROW: f32 = 0.5;
/// Steps of the final moves, each half the one before.
const FIRST_STEP_MM: f32 = 16.0;
const N_HALVINGS: usize = 10;
/// Tries for one piece on one sheet: fewest, most, and for all pieces together.
const TRIES: (usize, usize, usize) = (200, 1500, 40_000);
/// Corners are looked for behind so many boxes at most, those farthest from the start.
const MOST_BOXES: usize = 40;

/// Chance, scratch space and a count of queries.
pub(crate) struct Filler {
    pub(crate) chance: Xoshiro256PlusPlus,
    pub(crate) n_tries: usize,
    pub(crate) evaluations: u64,
    turned: Turned,
    corners: Vec<(f32, usize, [f32; 2])>,
}

impl Filler {
    /// For so many copies in all: the more there are, the fewer tries each has.
    pub(crate) fn new(chance: Xoshiro256PlusPlus, n_copies: usize) -> Self {
        let n_tries = (TRIES.2 / n_copies.max(1)).clamp(TRIES.0, TRIES.1);
        Self { chance, n_tries, evaluations: 0, turned: Turned::default(), corners: Vec::new() }
    }

    /// Fills sheets with copies in the order given; returns those that found no room.
    ///
    /// With `one_shape` a sheet carries copies of one shape; with `more` there are always more sheets of that room.
    pub(crate) fn fill(
        &mut self,
        board: &mut Board<'_>,
        order: &[usize],
        one_shape: bool,
        more: Option<Room>,
    ) -> Vec<usize> {
        let n_shapes = board.shapes.len();
        let mut full = vec![vec![false; n_shapes]; board.rooms.len()];
        let mut free: Vec<f64> =
            (0..board.rooms.len()).map(|sheet| free_mm2(board, sheet)).collect();
        let mut left = Vec::new();
        for &copy in order {
            let (shape, area) = (board.shape_of[copy], board.shape(copy).area_mm2);
            let mut placed = (0..board.rooms.len()).any(|sheet| {
                let other_shape = one_shape
                    && board.on(sheet).iter().any(|&one| board.shape_of[one as usize] != shape);
                if full[sheet][shape] || other_shape || free[sheet] < area {
                    return false;
                }
                let placed = self.place(board, copy, sheet);
                free[sheet] -= if placed { area } else { 0.0 };
                // Where one copy found no room, the next will not either.
                full[sheet][shape] = !placed;
                placed
            });
            if let Some(room) = more.filter(|_| !placed) {
                board.open(room);
                let sheet = board.rooms.len() - 1;
                full.push(vec![false; n_shapes]);
                free.push(free_mm2(board, sheet) - area);
                placed = self.place(board, copy, sheet);
            }
            if !placed {
                left.push(copy);
            }
        }
        left
    }

    /// Places a copy on a sheet if the tries find room.
    pub(crate) fn place(&mut self, board: &mut Board<'_>, copy: usize, sheet: usize) -> bool {
        let room = board.rooms[sheet];
        let turns = &board.shape(copy).turns;
        let mut best: Option<(f32, usize, [f32; 2])> = self.first_free_corner(board, copy, sheet);
        // Nothing is gained beyond what is placed already and the piece itself.
        let frontier = board
            .on(sheet)
            .iter()
            .map(|&one| board.boxed(one as usize).1[1])
            .fold(room.low[1], f32::max);
        for _ in 0..self.n_tries {
            let turn = self.chance.random_range(0..turns.len());
            let turned = &turns[turn];
            let Some((low, high)) = room.reach(turned) else { continue };
            let x = self.between(low[0], high[0]);
            let nearer = best.map_or(f32::MAX, |(loss, ..)| {
                (loss - WORTH_A_CROOKED_ROW - x - turned.high[0]) / ALONG - turned.high[1]
            });
            let end = high[1].min(nearer).min(frontier - turned.low[1] + 1.0);
            if end <= low[1] {
                continue;
            }
            // A long strip is full at its start: half of the tries go where it is not.
            let start = (end - 3.0 * board.shape(copy).diameter_mm).max(low[1]);
            let from = if self.chance.random::<bool>() { start } else { low[1] };
            let at = [x, self.between(from, end)];
            self.evaluations += 1;
            if board.is_free(turned, sheet, at, copy) {
                best = Some((loss(turned, at), turn, at));
            }
        }
        let Some((_, turn, at)) = best else { return false };
        let (angle, mirrored) = (turns[turn].angle, turns[turn].mirrored);
        let spot = Spot { sheet, angle, mirrored, at };
        self.settle(board, copy, spot);
        true
    }

    fn between(&mut self, low: f32, high: f32) -> f32 {
        low + (high - low) * self.chance.random::<f32>()
    }

    /// The free place nearest to the start whose box stands in a corner of edges and placed boxes: this keeps rows straight.
    fn first_free_corner(
        &mut self,
        board: &Board<'_>,
        copy: usize,
        sheet: usize,
    ) -> Option<(f32, usize, [f32; 2])> {
        let room = board.rooms[sheet];
        let turns = &board.shape(copy).turns;
        let step = (board.shape(copy).n_angles / 4).max(1);
        let mut ends: Vec<[f32; 2]> =
            board.on(sheet).iter().map(|&one| board.boxed(one as usize).1).collect();
        ends.sort_by(|a, b| b[1].total_cmp(&a[1]));
        ends.truncate(MOST_BOXES);
        let starts = |axis: usize| -> Vec<f32> {
            let mut starts: Vec<f32> = ends.iter().map(|end| end[axis] + TOUCH_MM).collect();
            starts.push(room.low[axis]);
            starts.sort_by(f32::total_cmp);
            starts.dedup_by(|a, b| *a - *b < TOUCH_MM / 2.0);
            starts
        };
        let (across, along) = (starts(0), starts(1));
        self.corners.clear();
        for (turn, turned) in turns.iter().enumerate().step_by(step) {
            let Some((low, high)) = room.reach(turned) else { continue };
            for &y in &along {
                for &x in &across {
                    let at = [x - turned.low[0], y - turned.low[1]];
                    if at[0] <= high[0] && at[1] <= high[1] && at[0] >= low[0] && at[1] >= low[1] {
                        self.corners.push((loss(turned, at), turn, at));
                    }
                }
            }
        }
        self.corners.sort_by(|a, b| a.0.total_cmp(&b.0));
        for &(loss, turn, at) in &self.corners {
            self.evaluations += 1;
            if board.is_free(&turns[turn], sheet, at, copy) {
                return Some((loss, turn, at));
            }
        }
        None
    }

    /// Moves a free place closer to the start of the sheet by smaller and smaller steps, and lays the copy there.
    fn settle(&mut self, board: &mut Board<'_>, copy: usize, mut spot: Spot) {
        let (room, shape, place) =
            (board.rooms[spot.sheet], board.shape(copy), board.shape_of[copy]);
        let mut here = std::mem::take(&mut self.turned);
        let mut tried = Turned::default();
        shape.turn_like(place, &spot, &mut here);
        let mut step = FIRST_STEP_MM;
        for _ in 0..N_HALVINGS {
            loop {
                let now = loss(&here, spot.at);
                let closer = [[0.0, -1.0], [-1.0, 0.0], [-0.7, -0.7], [0.7, -0.7], [-0.7, 0.05]]
                    .map(|[dx, dy]| [spot.at[0] + dx * step, spot.at[1] + dy * step])
                    .into_iter()
                    .find(|&at| {
                        holds(&room, &here, at) && loss(&here, at) < now - 1e-3 && {
                            self.evaluations += 1;
                            board.is_free(&here, spot.sheet, at, copy)
                        }
                    });
                if let Some(at) = closer {
                    spot.at = at;
                    continue;
                }
                let by = step / shape.diameter_mm.max(1.0);
                let free = shape.rotation == Rotation::Free;
                let turned = [-by, by].into_iter().filter(|_| free).any(|by| {
                    shape.turn_as(place, spot.angle + by, spot.mirrored, &mut tried);
                    holds(&room, &tried, spot.at) && loss(&tried, spot.at) < now - 1e-3 && {
                        self.evaluations += 1;
                        board.is_free(&tried, spot.sheet, spot.at, copy)
                    }
                });
                if !turned {
                    break;
                }
                spot.angle = tried.angle;
                std::mem::swap(&mut here, &mut tried);
            }
            step /= 2.0;
        }
        board.lay(copy, &here, spot.sheet, spot.at);
        self.turned = here;
    }
}

fn free_mm2(board: &Board<'_>, sheet: usize) -> f64 {
    let used: f64 = board.on(sheet).iter().map(|&one| board.shape(one as usize).area_mm2).sum();
    f64::from(board.rooms[sheet].area_mm2()) - used
}

fn loss(turned: &Turned, at: [f32; 2]) -> f32 {
    ALONG * (at[1] + turned.high[1]) + at[0] + turned.high[0]
}

fn holds(room: &Room, turned: &Turned, at: [f32; 2]) -> bool {
    room.reach(turned).is_some_and(|(low, high)| {
        (0..2).all(|axis| low[axis] <= at[axis] && at[axis] <= high[axis])
    })
}
