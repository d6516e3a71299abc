//! For hands and eyes: rows that need no picture, and an order of cuts that needs no reaching over.

use crate::{
    CutSheet, Error, Outline, Placement, SheetSize, SheetsPlan, SheetsRequest, TrayPiece,
    TraysRequest,
    clean::turned_bounds,
    rounds::Search,
    trays::{lay_in_rows, row_angles},
};

/// Plans the cutting in straight rows on whole fresh sheets, as someone does who places by eye.
///
/// Sheets that are there already come first if they have the size of fresh ones; re-rolls and optional copies are left out; with one piece per sheet no two shapes share a sheet unless that costs a sheet.
/// What rows cost is the difference in fresh sheets and dough use to [`plan_sheets`](crate::plan_sheets).
///
/// # Errors
/// As [`plan_sheets`](crate::plan_sheets).
pub fn plan_rows(request: &SheetsRequest) -> Result<SheetsPlan, Error> {
    let search = Search::new(request)?;
    let margin = request.edge_margin_mm;
    let inside = SheetSize {
        width_mm: request.sheet.width_mm - 2.0 * margin,
        length_mm: request.sheet.length_mm - 2.0 * margin,
    };
    let angles = |place: usize| row_angles(&request.pieces[place].rotation);
    let lay = |one_piece: bool| {
        let pieces = request.pieces.iter().enumerate().map(|(place, piece)| TrayPiece {
            outline: piece.outline.clone(),
            n: piece.n,
            size_class: if one_piece { place } else { 0 },
        });
        let on_trays =
            TraysRequest { pieces: pieces.collect(), tray: inside, gap_mm: request.gap_mm };
        Ok::<_, Error>(lay_in_rows(&on_trays, &angles)?.trays)
    };
    let mut trays = lay(false)?;
    if request.one_piece_per_sheet {
        let of_one_piece = lay(true)?;
        if of_one_piece.len() <= trays.len() {
            trays = of_one_piece;
        }
    }
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
    Ok(search.plan(sheets.collect(), &search.all_optional()))
}

/// Returns in which order to cut the placements of a sheet: from the start of the sheet, row by row, with few changes of the cutter.
///
/// Who stands at the sheet's end never reaches over a cut piece: no piece comes before one that lies wholly beyond it.
/// As long as that allows, pieces of one shape follow each other.
pub fn cutting_order(outlines: &[&Outline], sheet: &CutSheet) -> Vec<usize> {
    let boxed = |one: &Placement| match outlines.get(one.piece) {
        Some(outline) => {
            let (low, high) = turned_bounds(outline, one.rotation_deg.to_radians());
            Boxed {
                left: low[0] + one.x_mm,
                start: low[1] + one.y_mm,
                end: high[1] + one.y_mm,
                piece: one.piece,
            }
        }
        None => Boxed { left: one.x_mm, start: one.y_mm, end: one.y_mm, piece: one.piece },
    };
    let boxes: Vec<Boxed> = sheet.placements.iter().map(boxed).collect();
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
