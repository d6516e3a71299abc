//! How do pieces lie on trays in straight rows, and at which size does a tray take one more?
//!
//! Pieces stand in rows by their bounding boxes, `gap` apart; the edge of the tray needs no gap.
//! Of one shape, a tray takes floor((W + g) / (w + g)) in a row and floor((L + g) / (h + g)) rows,
//! or the same with the piece turned by a quarter, whichever is more.
//! Shapes of one size class share trays, row by row (shelf packing, next row by decreasing height).
//!
//! # Worked example
//! Squares of 3.1 in on 16.5 x 11.5 in, 1 in apart: 17.5 / 4.1 = 4 in a row, 12.5 / 4.1 = 3 rows, 12 in all.
//! ```
//! use nesting::{SheetSize, TrayPiece, TraysRequest, plan_trays};
//!
//! let side = 3.1 * 25.4;
//! let square = vec![[0.0, 0.0], [side, 0.0], [side, side], [0.0, side]];
//! let request = TraysRequest {
//!     pieces: vec![TrayPiece { outline: square, n: 24, size_class: 0 }],
//!     tray: SheetSize { width_mm: 16.5 * 25.4, length_mm: 11.5 * 25.4 },
//!     gap_mm: 25.4,
//! };
//! let plan = plan_trays(&request).unwrap();
//! assert_eq!((plan.trays.len(), plan.capacity[0]), (2, 12));
//! ```

use crate::{
    Error, Outline, Placement, Rotation, SheetSize,
    clean::{check_count, check_size, clean, in_range, turned_bounds},
};

/// Rounding in sums of sides and gaps stays below this.
const EXACT_MM: f64 = 1e-6;

/// A shape and how many of it lie on trays.
#[derive(Clone, Debug, PartialEq)]
pub struct TrayPiece {
    /// Its outline.
    pub outline: Outline,
    /// How many.
    pub n: usize,
    /// Only pieces of one class share a tray.
    pub size_class: usize,
}

/// What to lay out, and on what.
#[derive(Clone, Debug, PartialEq)]
pub struct TraysRequest {
    /// The pieces.
    pub pieces: Vec<TrayPiece>,
    /// The usable inside of a tray.
    pub tray: SheetSize,
    /// Least distance between two pieces.
    pub gap_mm: f64,
}

/// A tray and what lies on it.
#[derive(Clone, Debug, PartialEq)]
pub struct Tray {
    /// The pieces.
    pub placements: Vec<Placement>,
    /// Their class.
    pub size_class: usize,
}

/// A layout of trays.
#[derive(Clone, Debug, PartialEq)]
pub struct TraysPlan {
    /// The trays, class by class.
    pub trays: Vec<Tray>,
    /// For each piece how many of it alone a tray takes.
    pub capacity: Vec<usize>,
}

/// A scale of a shape below which a tray takes more of it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Jump {
    /// The largest scale at which the tray takes so many.
    pub scale: f64,
    /// How many.
    pub capacity: usize,
}

/// How copies of a piece stand in a row, by turns.
#[derive(Clone, Copy)]
pub(crate) struct Standing {
    pub(crate) width: f64,
    pub(crate) height: f64,
    /// The first, third, fifth copy and the second, fourth, sixth: degrees, and the top left corner of the turned box.
    pub(crate) turns: [(f64, [f64; 2]); 2],
    /// How far the box of the next copy begins to the right of the box of such a copy.
    pub(crate) steps: [f64; 2],
}

impl Standing {
    /// All copies alike, their boxes a gap apart.
    pub(crate) fn alike(outline: &Outline, degrees: f64, gap: f64) -> Self {
        let (low, high) = turned_bounds(outline, degrees.to_radians());
        let (width, height) = (high[0] - low[0], high[1] - low[1]);
        Self { width, height, turns: [(degrees, low); 2], steps: [width + gap; 2] }
    }

    /// How many stand in a row.
    fn n_in_row(&self, room: f64) -> usize {
        let rest = room + EXACT_MM - self.width;
        if rest < 0.0 {
            return 0;
        }
        let pair = self.steps[0] + self.steps[1];
        let n_pairs = (rest / pair).floor().clamp(0.0, 1e6);
        1 + 2 * n_pairs as usize + usize::from(rest - n_pairs * pair >= self.steps[0])
    }

    /// How many stand on a tray.
    fn n_on(&self, tray: SheetSize, gap: f64) -> usize {
        self.n_in_row(tray.width_mm) * along(tray.length_mm, self.height, gap)
    }
}

struct Row {
    height: f64,
    /// Where its last box ends.
    width: f64,
    cuts: Vec<InRow>,
}

/// A copy in a row.
#[derive(Clone, Copy)]
struct InRow {
    piece: usize,
    /// Where its box begins.
    left: f64,
    /// Which of the two turns it has.
    turn: usize,
}

impl Row {
    /// Where the next copy of a piece would stand.
    fn next(&self, piece: usize, standing: &Standing, gap: f64) -> InRow {
        match self.cuts.last() {
            Some(last) if last.piece == piece => {
                InRow { piece, left: last.left + standing.steps[last.turn], turn: 1 - last.turn }
            }
            _ => InRow { piece, left: self.width + gap, turn: 0 },
        }
    }
}

/// Lays pieces out in straight rows.
///
/// # Errors
/// A piece does not fit a tray or has no simple outline, or a number is out of range.
pub fn plan_trays(request: &TraysRequest) -> Result<TraysPlan, Error> {
    lay_in_rows(request, &|_| QUARTER.to_vec())
}

/// Upright and turned by a quarter; the boxes of the other quarters are the same.
const QUARTER: [f64; 2] = [0.0, 90.0];

/// The angles in degrees at which a piece may stand in a row.
pub(crate) fn row_angles(rotation: &Rotation) -> Vec<f64> {
    match rotation {
        Rotation::Free | Rotation::Quarter => QUARTER.to_vec(),
        Rotation::Fixed => vec![0.0],
        Rotation::Angles(degrees) => degrees.clone(),
    }
}

/// As [`plan_trays`], each piece at one of its own angles.
pub(crate) fn lay_in_rows(
    request: &TraysRequest,
    angles: &dyn Fn(usize) -> Vec<f64>,
) -> Result<TraysPlan, Error> {
    lay_standing(request, &|place, outline| {
        let alike = |degrees| Standing::alike(outline, degrees, request.gap_mm);
        angles(place).into_iter().map(alike).collect()
    })
}

/// As [`plan_trays`], each piece in one of the ways it may stand.
pub(crate) fn lay_standing(
    request: &TraysRequest,
    ways: &dyn Fn(usize, &Outline) -> Vec<Standing>,
) -> Result<TraysPlan, Error> {
    check_size(request.tray)?;
    in_range("the gap", request.gap_mm, 0.0, 500.0)?;
    check_count(request.pieces.iter().fold(0, |n, piece| piece.n.saturating_add(n)))?;
    let mut standing = Vec::with_capacity(request.pieces.len());
    let mut capacity = Vec::with_capacity(request.pieces.len());
    for (place, piece) in request.pieces.iter().enumerate() {
        let outline = clean(place, &piece.outline)?.outline;
        let count = |way: &Standing| way.n_on(request.tray, request.gap_mm);
        // As the first way has it unless another one gains something.
        let ways = ways(place, &outline).into_iter();
        let best = ways.reduce(|best, way| if count(&way) > count(&best) { way } else { best });
        let Some(best) = best.filter(|way| count(way) > 0) else {
            let upright = Standing::alike(&outline, 0.0, request.gap_mm);
            return Err(Error::PieceTooLarge {
                piece: place,
                width_mm: upright.width,
                height_mm: upright.height,
            });
        };
        standing.push(best);
        capacity.push(count(&best));
    }
    let mut classes: Vec<usize> =
        request.pieces.iter().filter(|piece| piece.n > 0).map(|piece| piece.size_class).collect();
    classes.sort_unstable();
    classes.dedup();
    let trays =
        classes.iter().flat_map(|&class| trays_of_class(request, &standing, class)).collect();
    Ok(TraysPlan { trays, capacity })
}

fn in_rows(width: f64, height: f64, tray: SheetSize, gap: f64) -> usize {
    along(tray.width_mm, width, gap) * along(tray.length_mm, height, gap)
}

/// How many of a length fit, `gap` apart.
fn along(room: f64, length: f64, gap: f64) -> usize {
    ((room + gap + EXACT_MM) / (length + gap)).floor().clamp(0.0, 1e6) as usize
}

fn trays_of_class(request: &TraysRequest, standing: &[Standing], class: usize) -> Vec<Tray> {
    let (tray, gap) = (request.tray, request.gap_mm);
    let mut copies: Vec<usize> = (0..request.pieces.len())
        .filter(|&piece| request.pieces[piece].size_class == class)
        .flat_map(|piece| std::iter::repeat_n(piece, request.pieces[piece].n))
        .collect();
    copies.sort_by(|&a, &b| standing[b].height.total_cmp(&standing[a].height).then(a.cmp(&b)));

    let mut rows: Vec<Row> = Vec::new();
    for piece in copies {
        let one = standing[piece];
        let room = |row: &Row| {
            row.next(piece, &one, gap).left + one.width <= tray.width_mm + EXACT_MM
                && one.height <= row.height + EXACT_MM
        };
        match rows.iter_mut().find(|row| room(row)) {
            Some(row) => {
                let next = row.next(piece, &one, gap);
                row.width = next.left + one.width;
                row.cuts.push(next);
            }
            None => {
                let first = InRow { piece, left: 0.0, turn: 0 };
                rows.push(Row { height: one.height, width: one.width, cuts: vec![first] });
            }
        }
    }
    let heights: Vec<f64> = rows.iter().map(|row| row.height).collect();
    let tray_of = spread_rows(&heights, tray.length_mm, gap);
    let n_trays = tray_of.iter().max().map_or(0, |last| last + 1);
    let mut trays: Vec<Tray> = vec![Tray { placements: Vec::new(), size_class: class }; n_trays];
    let mut tops = vec![0.0; n_trays];
    for (row, &at) in rows.iter().zip(&tray_of) {
        for &InRow { piece, left, turn } in &row.cuts {
            let (degrees, low) = standing[piece].turns[turn];
            trays[at].placements.push(Placement {
                piece,
                x_mm: left - low[0],
                y_mm: tops[at] - low[1],
                rotation_deg: degrees,
                mirrored: false,
            });
        }
        tops[at] += row.height + gap;
    }
    trays
}

/// Puts rows, which come by decreasing height, on as few trays as first fit needs, evened out over them where they fit.
fn spread_rows(heights: &[f64], length: f64, gap: f64) -> Vec<usize> {
    let first_fit = assign(heights, length, gap, |used, height| {
        used.iter().position(|&(top, _)| top + height <= length + EXACT_MM)
    });
    let n_trays = first_fit.iter().max().map_or(0, |last| last + 1);
    let mut used = vec![(0.0, 0_usize); n_trays];
    let mut even = Vec::with_capacity(heights.len());
    for &height in heights {
        let emptiest = (0..n_trays)
            .filter(|&tray| used[tray].0 + height <= length + EXACT_MM)
            .min_by_key(|&tray| used[tray].1);
        let Some(tray) = emptiest else { return first_fit };
        used[tray] = (used[tray].0 + height + gap, used[tray].1 + 1);
        even.push(tray);
    }
    even
}

fn assign(
    heights: &[f64],
    length: f64,
    gap: f64,
    choose: impl Fn(&[(f64, usize)], f64) -> Option<usize>,
) -> Vec<usize> {
    debug_assert!(
        heights.iter().all(|&height| height <= length + EXACT_MM),
        "every row fits a tray alone"
    );
    let mut used: Vec<(f64, usize)> = Vec::new();
    heights
        .iter()
        .map(|&height| {
            let tray = choose(&used, height).unwrap_or_else(|| {
                used.push((0.0, 0));
                used.len() - 1
            });
            used[tray] = (used[tray].0 + height + gap, used[tray].1 + 1);
            tray
        })
        .collect()
}

/// Returns the scales, largest first, at which a tray takes more of a shape than just above, between two scales.
///
/// Closed form: n in a row need a scale of at most ((W + g) / n - g) / w, and likewise for rows.
pub fn tray_jumps(
    outline: &Outline,
    tray: SheetSize,
    gap_mm: f64,
    from_scale: f64,
    to_scale: f64,
) -> Result<Vec<Jump>, Error> {
    check_size(tray)?;
    in_range("the gap", gap_mm, 0.0, 500.0)?;
    in_range("the smallest scale", from_scale, 0.01, 100.0)?;
    in_range("the largest scale", to_scale, from_scale, 100.0)?;
    let outline = clean(0, outline)?.outline;
    let ways = QUARTER.map(|degrees| Standing::alike(&outline, degrees, gap_mm));
    let count = |scale: f64| {
        ways.iter()
            .map(|way| in_rows(way.width * scale, way.height * scale, tray, gap_mm))
            .max()
            .unwrap_or(0)
    };
    let mut scales: Vec<f64> = vec![to_scale];
    for (room, side) in
        ways.iter().flat_map(|way| [(tray.width_mm, way.width), (tray.length_mm, way.height)])
    {
        for n in 1..=along(room, side * from_scale, gap_mm) {
            scales.push(((room + gap_mm) / n as f64 - gap_mm) / side);
        }
    }
    scales.retain(|&scale| scale >= from_scale && scale <= to_scale);
    scales.sort_by(|a, b| b.total_cmp(a));
    let mut jumps: Vec<Jump> = Vec::new();
    for scale in scales {
        let capacity = count(scale);
        if jumps.last().map_or(0, |jump| jump.capacity) < capacity {
            jumps.push(Jump { scale, capacity });
        }
    }
    Ok(jumps)
}
