//! For hands and eyes: rows that need no picture, and an order of cuts that needs no reaching over.

use std::iter::repeat_n;

use crate::{
    CutSheet, Error, Outline, Placement, Rotation, SheetSize, SheetsPlan, SheetsRequest,
    StripRequest, Tray, TrayPiece, TraysRequest,
    clean::{LONGEST_MM, turned_bounds},
    kernel::{SLACK_MM, grown},
    lattice::pushed_right,
    rounds::{Copy, Search},
    trays::{Standing, lay_in_rows, lay_standing, row_angles},
};

/// Plans the cutting in straight rows on whole fresh sheets, as someone does who places by eye.
///
/// Copies stand alike, a gap between their boxes; where it saves a sheet, every other one is turned head to tail and moved up to its neighbor.
/// Sheets that are there already come first if they have the size of fresh ones.
/// Re-rolls are left out, and so are optional copies that cost a sheet; with one piece per sheet no two shapes share a sheet unless that costs a sheet.
/// What rows cost is the difference in fresh sheets and dough use to [`plan_sheets`](crate::plan_sheets).
///
/// # Errors
/// As [`plan_sheets`](crate::plan_sheets).
pub fn plan_rows(request: &SheetsRequest) -> Result<SheetsPlan, Error> {
    let search = Search::new(request)?;
    let mut counts: Vec<usize> = request.pieces.iter().map(|piece| piece.n).collect();
    // What is easier by eye comes first.
    let mut chosen: Option<(Style, Vec<Tray>)> = None;
    for head_to_tail in [false, true] {
        for apart in [true, false] {
            if apart && !request.one_piece_per_sheet {
                continue;
            }
            let style = Style { apart, head_to_tail };
            let trays = style.lay(request, &counts)?;
            if chosen.as_ref().is_none_or(|(_, best)| trays.len() < best.len()) {
                chosen = Some((style, trays));
            }
        }
    }
    let (style, mut trays) = chosen.unwrap_or_default();
    let mut left = Vec::new();
    for (piece, one) in request.pieces.iter().enumerate() {
        let mut n_fit = 0;
        let mut n_too_many = one.n_optional + 1;
        while n_fit + 1 < n_too_many {
            let n = usize::midpoint(n_fit, n_too_many);
            counts[piece] = one.n + n;
            let laid = style.lay(request, &counts)?;
            if laid.len() <= trays.len() {
                (n_fit, trays) = (n, laid);
            } else {
                n_too_many = n;
            }
        }
        counts[piece] = one.n + n_fit;
        left.extend(repeat_n(Copy { piece, optional: true }, one.n_optional - n_fit));
    }
    Ok(search.plan(on_sheets(request, trays), &left))
}

/// All needed copies in straight rows, where every sheet is one that a plan could have.
pub(crate) fn straight_plan(search: &Search<'_>, apart: bool) -> Option<SheetsPlan> {
    let request = search.request;
    if request.stock.iter().any(|stock| stock.size != request.sheet) {
        return None;
    }
    let counts: Vec<usize> = request.pieces.iter().map(|piece| piece.n).collect();
    let style = Style { apart, head_to_tail: false };
    let mut sheets = on_sheets(request, style.lay(request, &counts).ok()?);
    if let Some(last) = sheets.last_mut().filter(|last| search.cut_short && !last.from_stock) {
        let outlines: Vec<&Outline> = request.pieces.iter().map(|piece| &piece.outline).collect();
        let end = boxes(&outlines, last).iter().map(|one| one.end).fold(0.0, f64::max);
        last.size.length_mm = last.size.length_mm.min(end + request.edge_margin_mm);
    }
    let plan = search.plan(sheets, &search.all_optional());
    search.is_sound(&plan).then_some(plan)
}

/// All pieces of a strip in straight rows, and how long it is with them.
pub(crate) fn straight_strip(request: &StripRequest) -> Option<(f64, Vec<Placement>)> {
    let (margin, gap) = (request.edge_margin_mm, request.gap_mm);
    let pieces = request.pieces.iter().map(|piece| TrayPiece {
        outline: piece.outline.clone(),
        n: piece.n,
        size_class: 0,
    });
    let width_mm = request.width_mm - 2.0 * margin;
    let on_trays = TraysRequest {
        pieces: pieces.collect(),
        // Rows of several trays follow each other, so that their length hardly matters.
        tray: SheetSize { width_mm, length_mm: LONGEST_MM },
        gap_mm: gap,
    };
    let angles = |place: usize| row_angles(&request.pieces[place].rotation);
    let outlines: Vec<&Outline> = request.pieces.iter().map(|piece| &piece.outline).collect();
    let mut start = margin;
    let mut placements = Vec::new();
    for tray in lay_in_rows(&on_trays, &angles).ok()?.trays {
        let ends = tray.placements.iter().map(|one| boxed(&outlines, one).end);
        let end = ends.fold(0.0, f64::max);
        placements.extend(tray.placements.iter().map(|one| Placement {
            x_mm: one.x_mm + margin,
            y_mm: one.y_mm + start,
            ..*one
        }));
        start += end + gap;
    }
    (!placements.is_empty()).then_some((start - gap + margin, placements))
}

/// Trays as fresh sheets with their margin around, after those that are there already.
fn on_sheets(request: &SheetsRequest, trays: Vec<Tray>) -> Vec<CutSheet> {
    let margin = request.edge_margin_mm;
    let in_stock = request.stock.iter().filter(|stock| stock.size == request.sheet);
    let n_stock = in_stock.fold(0_usize, |n, stock| n.saturating_add(stock.n));
    let sheets = trays.into_iter().enumerate().map(|(at, tray)| {
        let inset =
            |one: Placement| Placement { x_mm: one.x_mm + margin, y_mm: one.y_mm + margin, ..one };
        CutSheet {
            round: 0,
            from_stock: at < n_stock,
            size: request.sheet,
            placements: tray.placements.into_iter().map(inset).collect(),
        }
    });
    sheets.collect()
}

/// How rows are laid.
#[derive(Clone, Copy, Default)]
struct Style {
    /// Whether no two shapes share a sheet.
    apart: bool,
    /// Whether every other copy may be turned.
    head_to_tail: bool,
}

impl Style {
    fn lay(self, request: &SheetsRequest, counts: &[usize]) -> Result<Vec<Tray>, Error> {
        let (margin, gap) = (request.edge_margin_mm, request.gap_mm);
        let both = request.pieces.iter().zip(counts).enumerate();
        let pieces = both.map(|(place, (piece, &n))| TrayPiece {
            outline: piece.outline.clone(),
            n,
            size_class: if self.apart { place } else { 0 },
        });
        let inside = SheetSize {
            width_mm: request.sheet.width_mm - 2.0 * margin,
            length_mm: request.sheet.length_mm - 2.0 * margin,
        };
        let on_trays = TraysRequest { pieces: pieces.collect(), tray: inside, gap_mm: gap };
        let ways = |place: usize, outline: &Outline| {
            let rotation = &request.pieces[place].rotation;
            let mut ways: Vec<Standing> = Vec::new();
            for degrees in row_angles(rotation) {
                let alike = Standing::alike(outline, degrees, gap);
                ways.push(alike);
                if self.head_to_tail && matches!(rotation, Rotation::Free | Rotation::Quarter) {
                    ways.extend(head_to_tail(outline, &alike, gap));
                }
            }
            ways
        };
        Ok(lay_standing(&on_trays, &ways)?.trays)
    }
}

/// The same row with every other copy turned by a half and moved up to its neighbor.
fn head_to_tail(outline: &Outline, alike: &Standing, gap: f64) -> Option<Standing> {
    let grown = grown(outline, (gap + SLACK_MM) / 2.0)?;
    let turns = [0.0, 180.0].map(|half| {
        let degrees = alike.turns[0].0 + half;
        (degrees, turned_bounds(outline, degrees.to_radians()).0)
    });
    let [one, other] = turns.map(|(degrees, low)| {
        let (sin, cos) = degrees.to_radians().sin_cos();
        let corner = |&[x, y]: &[f64; 2]| [x * cos - y * sin - low[0], x * sin + y * cos - low[1]];
        grown.iter().map(corner).collect::<Outline>()
    });
    let steps = [pushed_right(&one, &other), pushed_right(&other, &one)];
    // A copy must be clear of the one after the next too.
    let pair = pushed_right(&one, &one).max(pushed_right(&other, &other));
    let steps = [steps[0], steps[1].max(pair - steps[0])];
    Some(Standing { turns, steps, ..*alike })
}

/// Returns in which order to cut the placements of a sheet: from the start of the sheet, row by row, with few changes of the cutter.
///
/// Who stands at the sheet's end never reaches over a cut piece: no piece comes before one that lies wholly beyond it.
/// As long as that allows, pieces of one shape follow each other.
pub fn cutting_order(outlines: &[&Outline], sheet: &CutSheet) -> Vec<usize> {
    let boxes = boxes(outlines, sheet);
    let mut rest = row_by_row(&boxes);
    let mut order = Vec::with_capacity(rest.len());
    let mut in_hand = None;
    while let Some(&first) = rest.first() {
        let nearest_end = rest.iter().map(|&at| boxes[at].end).fold(f64::INFINITY, f64::min);
        // Nothing uncut lies wholly beyond these.
        let mut ready = rest.iter().copied().filter(|&at| boxes[at].start < nearest_end);
        let next = ready.find(|&at| Some(boxes[at].piece) == in_hand).unwrap_or(first);
        in_hand = Some(boxes[next].piece);
        rest.retain(|&at| at != next);
        order.push(next);
    }
    order
}

/// A straight row of a sheet.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct StraightRow {
    /// Pieces by their places in the request and how many of each follow each other, from left to right.
    pub cuts: Vec<(usize, usize)>,
    /// Whether every other copy is turned by a half.
    pub head_to_tail: bool,
}

/// Returns the rows of a sheet, from its start, if it can be cut by eye: boxes begin on a line, no two rows overlap, and copies that follow each other stand alike or head to tail.
pub fn straight_rows(outlines: &[&Outline], sheet: &CutSheet) -> Option<Vec<StraightRow>> {
    let boxes = boxes(outlines, sheet);
    let mut order: Vec<usize> = (0..boxes.len()).collect();
    order.sort_by(|&a, &b| boxes[a].start.total_cmp(&boxes[b].start));
    let same_line = |a: &usize, b: &usize| boxes[*b].start - boxes[*a].start <= BY_EYE_MM;
    let lines: Vec<&[usize]> = order.chunk_by(same_line).collect();
    let end = |line: &[usize]| line.iter().map(|&at| boxes[at].end).fold(f64::MIN, f64::max);
    let is_apart = |pair: &[&[usize]]| boxes[pair[1][0]].start > end(pair[0]);
    if !lines.windows(2).all(is_apart) {
        return None;
    }
    let angle = |at: usize| sheet.placements[at].rotation_deg;
    let turned = |from: usize, to: usize| (angle(to) - angle(from)).rem_euclid(360.0);
    let is_near = |a: f64, b: f64| (a - b).abs() <= BY_EYE_DEG;
    let mut rows = Vec::with_capacity(lines.len());
    for line in lines {
        let mut line = line.to_vec();
        line.sort_by(|&a, &b| boxes[a].left.total_cmp(&boxes[b].left));
        let runs: Vec<&[usize]> =
            line.chunk_by(|&a, &b| boxes[a].piece == boxes[b].piece).collect();
        let quarter = |at: usize| angle(at).rem_euclid(90.0);
        if !line.iter().all(|&at| is_near(quarter(at), 0.0) || is_near(quarter(at), 90.0)) {
            return None;
        }
        let halves =
            || runs.iter().flat_map(|run| run.windows(2)).map(|two| turned(two[0], two[1]));
        let head_to_tail = halves().next().is_some() && halves().all(|half| is_near(half, 180.0));
        if !head_to_tail && !halves().all(|half| is_near(half, 0.0) || is_near(half, 360.0)) {
            return None;
        }
        let cuts = runs.iter().map(|run| (boxes[run[0]].piece, run.len())).collect();
        rows.push(StraightRow { cuts, head_to_tail });
    }
    Some(rows)
}

/// A ruler laid by eye is as exact as this.
const BY_EYE_MM: f64 = 1.0;
/// And a cutter set down straight.
const BY_EYE_DEG: f64 = 1.0;

fn boxes(outlines: &[&Outline], sheet: &CutSheet) -> Vec<Boxed> {
    sheet.placements.iter().map(|one| boxed(outlines, one)).collect()
}

fn boxed(outlines: &[&Outline], one: &Placement) -> Boxed {
    let corners = outlines.get(one.piece).map_or(&[][..], |outline| outline);
    let side = if one.mirrored { -1.0 } else { 1.0 };
    let corners: Outline = corners.iter().map(|[x, y]| [side * x, *y]).collect();
    let (low, high) = if corners.is_empty() {
        ([0.0; 2], [0.0; 2])
    } else {
        turned_bounds(&corners, one.rotation_deg.to_radians())
    };
    Boxed {
        left: low[0] + one.x_mm,
        start: low[1] + one.y_mm,
        end: high[1] + one.y_mm,
        piece: one.piece,
    }
}

/// A placement's box on its sheet.
struct Boxed {
    left: f64,
    start: f64,
    end: f64,
    piece: usize,
}

/// Rows from the start of the sheet, each from left to right.
fn row_by_row(boxes: &[Boxed]) -> Vec<usize> {
    let mut rest: Vec<usize> = (0..boxes.len()).collect();
    rest.sort_by(|&a, &b| boxes[a].end.total_cmp(&boxes[b].end).then(a.cmp(&b)));
    let mut order = Vec::with_capacity(rest.len());
    while let Some(&first) = rest.first() {
        // A row is what begins before the middle of the piece that ends first.
        let middle = (boxes[first].start + boxes[first].end) / 2.0;
        let (mut row, others): (Vec<usize>, Vec<usize>) =
            rest.into_iter().partition(|&at| boxes[at].start <= middle);
        row.sort_by(|&a, &b| boxes[a].left.total_cmp(&boxes[b].left).then(a.cmp(&b)));
        order.extend(row);
        rest = others;
    }
    order
}
