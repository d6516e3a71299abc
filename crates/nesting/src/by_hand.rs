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
/// Stock, re-rolls and optional copies are left out; with one piece per sheet no two shapes share a sheet.
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
    let pieces = request.pieces.iter().enumerate().map(|(place, piece)| TrayPiece {
        outline: piece.outline.clone(),
        n: piece.n,
        size_class: if request.one_piece_per_sheet { place } else { 0 },
    });
    let on_trays = TraysRequest { pieces: pieces.collect(), tray: inside, gap_mm: request.gap_mm };
    let angles = |place: usize| row_angles(&request.pieces[place].rotation);
    let sheets = lay_in_rows(&on_trays, &angles)?.trays.into_iter().map(|tray| {
        let inset =
            |one: Placement| Placement { x_mm: one.x_mm + margin, y_mm: one.y_mm + margin, ..one };
        CutSheet {
            round: 0,
            from_stock: false,
            size: request.sheet,
            placements: tray.placements.into_iter().map(inset).collect(),
        }
    });
    Ok(search.plan(sheets.collect(), &search.all_optional()))
}

/// Returns in which order to cut the placements of a sheet: from the start of the sheet, row by row.
///
/// Who stands at the sheet's end never reaches over a cut piece: no piece comes before one that lies wholly beyond it.
pub fn cutting_order(outlines: &[&Outline], sheet: &CutSheet) -> Vec<usize> {
    let boxed = |one: &Placement| match outlines.get(one.piece) {
        Some(outline) => {
            let (low, high) = turned_bounds(outline, one.rotation_deg.to_radians());
            ([low[0] + one.x_mm, low[1] + one.y_mm], high[1] + one.y_mm)
        }
        None => ([one.x_mm, one.y_mm], one.y_mm),
    };
    let mut rest: Vec<(usize, [f64; 2], f64)> = sheet
        .placements
        .iter()
        .enumerate()
        .map(|(at, one)| {
            let (low, end) = boxed(one);
            (at, low, end)
        })
        .collect();
    rest.sort_by(|a, b| a.2.total_cmp(&b.2).then(a.0.cmp(&b.0)));
    let mut order = Vec::with_capacity(rest.len());
    while let Some(&(_, low, end)) = rest.first() {
        // A row is what begins before the middle of the piece that ends first.
        let middle = (low[1] + end) / 2.0;
        let (mut row, others): (Vec<_>, Vec<_>) =
            rest.into_iter().partition(|one| one.1[1] <= middle);
        row.sort_by(|a, b| a.1[0].total_cmp(&b.1[0]).then(a.0.cmp(&b.0)));
        order.extend(row.iter().map(|one| one.0));
        rest = others;
    }
    order
}
