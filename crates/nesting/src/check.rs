//! Is this layout sound? Exact outlines in double precision, the slow way; no code is shared with the engines.

use crate::{
    Outline, Piece, Placement, Rotation, SheetsPlan, SheetsRequest, StripPlan, StripRequest,
    TraysPlan, TraysRequest, TurningPlan, TurningRequest,
};

/// Placements may miss gap and margin by so much.
pub(crate) const TOLERANCE_MM: f64 = 0.001;

/// A rule that a layout breaks.
#[derive(Clone, Debug, PartialEq)]
#[non_exhaustive]
pub enum Violation {
    /// A placement names a piece that is not there.
    UnknownPiece {
        /// The sheet or tray.
        sheet: usize,
        /// The placement on it.
        placement: usize,
    },
    /// Two pieces are closer than the gap.
    TooClose {
        /// The sheet or tray.
        sheet: usize,
        /// One placement.
        a: usize,
        /// The other.
        b: usize,
        /// Their distance; 0 if they overlap.
        distance_mm: f64,
    },
    /// A piece is closer to the edge than the margin, or over it.
    OverEdge {
        /// The sheet or tray.
        sheet: usize,
        /// The placement on it.
        placement: usize,
    },
    /// A piece is turned as it may not be.
    Turned {
        /// The sheet.
        sheet: usize,
        /// The placement on it.
        placement: usize,
    },
    /// A piece is mirrored that may not be.
    Mirrored {
        /// The sheet.
        sheet: usize,
        /// The placement on it.
        placement: usize,
    },
    /// A piece that asks for fresh dough is cut from scraps.
    NotFresh {
        /// The sheet.
        sheet: usize,
        /// The placement on it.
        placement: usize,
    },
    /// Another number of copies is placed than asked for.
    Quantity {
        /// The piece.
        piece: usize,
        /// Copies placed.
        placed: usize,
    },
    /// A round rolls more dough than the one before left.
    Balance {
        /// The round.
        round: usize,
        /// Area rolled.
        rolled_mm2: f64,
        /// Area there was.
        left_mm2: f64,
    },
    /// Pieces of different classes share a tray.
    MixedClasses {
        /// The tray.
        tray: usize,
    },
    /// A sheet is not of the size it is said to be, or there are more from stock than in stock.
    Sheet {
        /// The sheet.
        sheet: usize,
    },
}

/// What one sheet or tray asks of what lies on it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct LayoutRules {
    /// Along x.
    pub width_mm: f64,
    /// Along y.
    pub length_mm: f64,
    /// Least distance between two pieces.
    pub gap_mm: f64,
    /// Least distance to the edge.
    pub margin_mm: f64,
    /// By how much both may be missed.
    pub tolerance_mm: f64,
}

/// Returns what is wrong with one sheet or tray; `sheet` only names it in the answer.
pub fn check_layout(
    sheet: usize,
    outlines: &[&Outline],
    placements: &[Placement],
    rules: &LayoutRules,
) -> Vec<Violation> {
    let mut found = Vec::new();
    let mut placed: Vec<(usize, Outline)> = Vec::new();
    for (placement, one) in placements.iter().enumerate() {
        match outlines.get(one.piece) {
            Some(outline) => placed.push((placement, moved(outline, one))),
            None => found.push(Violation::UnknownPiece { sheet, placement }),
        }
    }
    let least = rules.margin_mm - rules.tolerance_mm;
    for (placement, outline) in &placed {
        let over = outline.iter().any(|&[x, y]| {
            !(x >= least
                && y >= least
                && x <= rules.width_mm - least
                && y <= rules.length_mm - least)
        });
        if over {
            found.push(Violation::OverEdge { sheet, placement: *placement });
        }
    }
    for (i, (a, one)) in placed.iter().enumerate() {
        for (b, other) in &placed[i + 1..] {
            let distance_mm = distance(one, other, rules.gap_mm);
            if distance_mm < rules.gap_mm - rules.tolerance_mm {
                found.push(Violation::TooClose { sheet, a: *a, b: *b, distance_mm });
            }
        }
    }
    found
}

/// Returns every rule a cutting plan breaks.
pub fn check_sheets(request: &SheetsRequest, plan: &SheetsPlan) -> Vec<Violation> {
    check_with(request, plan, 0)
}

/// Returns every rule a cutting plan breaks whose last fresh sheet may be smaller than a whole one.
pub fn check_cut_short(request: &SheetsRequest, plan: &SheetsPlan) -> Vec<Violation> {
    check_with(request, plan, 1)
}

fn check_with(request: &SheetsRequest, plan: &SheetsPlan, n_short: usize) -> Vec<Violation> {
    let mut found = Vec::new();
    let mut n_short = n_short;
    let outlines: Vec<&Outline> = request.pieces.iter().map(|piece| &piece.outline).collect();
    let mut counts = vec![0; outlines.len()];
    let mut stock: Vec<_> = request.stock.clone();
    for (at, sheet) in plan.sheets.iter().enumerate() {
        let rules = LayoutRules {
            width_mm: sheet.size.width_mm,
            length_mm: sheet.size.length_mm,
            gap_mm: request.gap_mm,
            margin_mm: request.edge_margin_mm,
            tolerance_mm: TOLERANCE_MM,
        };
        found.extend(check_layout(at, &outlines, &sheet.placements, &rules));
        for (placement, one) in sheet.placements.iter().enumerate() {
            let Some(piece) = request.pieces.get(one.piece) else { continue };
            counts[one.piece] += 1;
            found.extend(check_turn(at, placement, piece, one));
            if piece.fresh_only && sheet.round > 0 {
                found.push(Violation::NotFresh { sheet: at, placement });
            }
        }
        let sound = match (sheet.round, sheet.from_stock) {
            (0, false) if sheet.size == request.sheet => true,
            (0, false) => {
                let is_short = n_short > 0
                    && sheet.size.width_mm <= request.sheet.width_mm
                    && sheet.size.length_mm <= request.sheet.length_mm;
                n_short = n_short.saturating_sub(1);
                is_short
            }
            (0, true) => stock
                .iter_mut()
                .find(|stock| stock.size == sheet.size && stock.n > 0)
                .map(|stock| stock.n -= 1)
                .is_some(),
            (round, from_stock) => round <= request.rerolls.max && !from_stock,
        };
        if !sound {
            found.push(Violation::Sheet { sheet: at });
        }
    }
    for (piece, (wanted, &placed)) in request.pieces.iter().zip(&counts).enumerate() {
        if placed < wanted.n || placed > wanted.n + wanted.n_optional {
            found.push(Violation::Quantity { piece, placed });
        }
    }
    found.extend(check_balance(request, plan));
    found
}

/// Returns every rule a strip breaks.
pub fn check_strip(request: &StripRequest, plan: &StripPlan) -> Vec<Violation> {
    let rules = LayoutRules {
        width_mm: request.width_mm,
        length_mm: plan.length_mm,
        gap_mm: request.gap_mm,
        margin_mm: request.edge_margin_mm,
        tolerance_mm: TOLERANCE_MM,
    };
    let outlines: Vec<&Outline> = request.pieces.iter().map(|piece| &piece.outline).collect();
    let mut found = check_layout(0, &outlines, &plan.placements, &rules);
    let mut counts = vec![0; outlines.len()];
    for (placement, one) in plan.placements.iter().enumerate() {
        let Some(piece) = request.pieces.get(one.piece) else { continue };
        counts[one.piece] += 1;
        found.extend(check_turn(0, placement, piece, one));
    }
    for (piece, (wanted, &placed)) in request.pieces.iter().zip(&counts).enumerate() {
        if placed != wanted.n {
            found.push(Violation::Quantity { piece, placed });
        }
    }
    found
}

/// Returns what is wrong with how a piece is turned and mirrored.
fn check_turn(
    sheet: usize,
    placement: usize,
    piece: &Piece,
    one: &Placement,
) -> impl Iterator<Item = Violation> {
    let turned = is_turned_wrongly(&piece.rotation, one.rotation_deg)
        .then_some(Violation::Turned { sheet, placement });
    let mirrored =
        (one.mirrored && !piece.mirror).then_some(Violation::Mirrored { sheet, placement });
    turned.into_iter().chain(mirrored)
}

fn is_turned_wrongly(rotation: &Rotation, degrees: f64) -> bool {
    // What is not a number is at no angle.
    let is_at = |from: f64, step: f64| {
        let rest = (degrees - from).rem_euclid(step);
        rest.min(step - rest) <= 1e-3
    };
    !match rotation {
        Rotation::Free => degrees.is_finite(),
        Rotation::Quarter => is_at(0.0, 90.0),
        Rotation::Fixed => is_at(0.0, 360.0),
        Rotation::Angles(allowed) => allowed.iter().any(|&from| is_at(from, 360.0)),
    }
}

fn check_balance(request: &SheetsRequest, plan: &SheetsPlan) -> Vec<Violation> {
    let last = plan.sheets.iter().map(|sheet| sheet.round).max().unwrap_or(0);
    let rolled = |round: usize| -> f64 {
        plan.sheets
            .iter()
            .filter(|sheet| sheet.round == round)
            .map(|sheet| sheet.size.width_mm * sheet.size.length_mm)
            .sum()
    };
    let cut = |round: usize| -> f64 {
        plan.sheets
            .iter()
            .filter(|sheet| sheet.round == round)
            .flat_map(|sheet| &sheet.placements)
            .filter_map(|one| request.pieces.get(one.piece))
            .map(|piece| shoelace(&piece.outline))
            .sum()
    };
    (1..=last)
        .filter_map(|round| {
            let left_mm2 = (rolled(round - 1) - cut(round - 1)) * (1.0 - request.rerolls.loss);
            let rolled_mm2 = rolled(round);
            (rolled_mm2 > left_mm2 + 1e-3).then_some(Violation::Balance {
                round,
                rolled_mm2,
                left_mm2,
            })
        })
        .collect()
}

/// Returns every rule a layout of trays breaks.
pub fn check_trays(request: &TraysRequest, plan: &TraysPlan) -> Vec<Violation> {
    let mut found = Vec::new();
    let outlines: Vec<&Outline> = request.pieces.iter().map(|piece| &piece.outline).collect();
    let mut counts = vec![0; outlines.len()];
    for (at, tray) in plan.trays.iter().enumerate() {
        let rules = LayoutRules {
            width_mm: request.tray.width_mm,
            length_mm: request.tray.length_mm,
            gap_mm: request.gap_mm,
            margin_mm: 0.0,
            tolerance_mm: TOLERANCE_MM,
        };
        found.extend(check_layout(at, &outlines, &tray.placements, &rules));
        let pieces = || tray.placements.iter().filter_map(|one| request.pieces.get(one.piece));
        if pieces().any(|piece| piece.size_class != tray.size_class) {
            found.push(Violation::MixedClasses { tray: at });
        }
        for one in &tray.placements {
            if let Some(count) = counts.get_mut(one.piece) {
                *count += 1;
            }
        }
    }
    for (piece, (wanted, &placed)) in request.pieces.iter().zip(&counts).enumerate() {
        if placed != wanted.n {
            found.push(Violation::Quantity { piece, placed });
        }
    }
    found
}

/// Returns every rule a layout of trays with turned pieces breaks.
pub fn check_turning(request: &TurningRequest, plan: &TurningPlan) -> Vec<Violation> {
    let mut found = check_trays(&request.trays, &plan.plan);
    for (sheet, tray) in plan.plan.trays.iter().enumerate() {
        for (placement, one) in tray.placements.iter().enumerate() {
            let rotation = request.rotations.get(one.piece).unwrap_or(&Rotation::Free);
            if is_turned_wrongly(rotation, one.rotation_deg) {
                found.push(Violation::Turned { sheet, placement });
            }
            if one.mirrored {
                found.push(Violation::Mirrored { sheet, placement });
            }
        }
    }
    found
}

fn moved(outline: &Outline, placement: &Placement) -> Outline {
    let (sin, cos) = placement.rotation_deg.to_radians().sin_cos();
    let side = if placement.mirrored { -1.0 } else { 1.0 };
    outline
        .iter()
        .map(|&[x, y]| [side * x, y])
        .map(|[x, y]| [x * cos - y * sin + placement.x_mm, x * sin + y * cos + placement.y_mm])
        .collect()
}

fn shoelace(outline: &Outline) -> f64 {
    let n = outline.len();
    let twice: f64 = (0..n)
        .map(|i| {
            let ([ax, ay], [bx, by]) = (outline[i], outline[(i + 1) % n]);
            ax * by - bx * ay
        })
        .sum();
    twice.abs() / 2.0
}

/// Distance of two polygons, 0 if they overlap; anything beyond `enough` may come back as `enough`.
fn distance(a: &Outline, b: &Outline, enough: f64) -> f64 {
    let extent = |outline: &Outline, axis: usize| {
        outline
            .iter()
            .fold((f64::MAX, f64::MIN), |(low, high), p| (low.min(p[axis]), high.max(p[axis])))
    };
    for axis in [0, 1] {
        let (one, other) = (extent(a, axis), extent(b, axis));
        if other.0 - one.1 > enough || one.0 - other.1 > enough {
            return enough;
        }
    }
    if a.first().is_some_and(|&p| is_inside(p, b)) || b.first().is_some_and(|&p| is_inside(p, a)) {
        return 0.0;
    }
    let edges = |outline: &Outline| -> Vec<([f64; 2], [f64; 2])> {
        (0..outline.len()).map(|i| (outline[i], outline[(i + 1) % outline.len()])).collect()
    };
    let (ours, theirs) = (edges(a), edges(b));
    let mut least = f64::MAX;
    for &(p, q) in &ours {
        for &(r, s) in &theirs {
            // Edges whose boxes are farther apart than the least so far cannot come closer.
            let apart = [0, 1].map(|axis| {
                (r[axis].min(s[axis]) - p[axis].max(q[axis]))
                    .max(p[axis].min(q[axis]) - r[axis].max(s[axis]))
            });
            if apart[0].max(apart[1]) > least.min(enough) {
                continue;
            }
            if cross(p, q, r, s) {
                return 0.0;
            }
            let ends = [
                to_segment(p, r, s),
                to_segment(q, r, s),
                to_segment(r, p, q),
                to_segment(s, p, q),
            ];
            least = ends.into_iter().fold(least, f64::min);
        }
    }
    // Nothing came near enough to be looked at.
    if least == f64::MAX { enough } else { least }
}

fn is_inside([x, y]: [f64; 2], outline: &Outline) -> bool {
    let n = outline.len();
    (0..n).fold(false, |inside, i| {
        let ([ax, ay], [bx, by]) = (outline[i], outline[(i + 1) % n]);
        let crosses = (ay > y) != (by > y) && x < (bx - ax) * (y - ay) / (by - ay) + ax;
        inside != crosses
    })
}

fn cross(p: [f64; 2], q: [f64; 2], r: [f64; 2], s: [f64; 2]) -> bool {
    let turn = |a: [f64; 2], b: [f64; 2], c: [f64; 2]| {
        (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0])
    };
    turn(p, q, r) * turn(p, q, s) < 0.0 && turn(r, s, p) * turn(r, s, q) < 0.0
}

fn to_segment(p: [f64; 2], a: [f64; 2], b: [f64; 2]) -> f64 {
    let (dx, dy) = (b[0] - a[0], b[1] - a[1]);
    let length = dx * dx + dy * dy;
    let t = if length > 0.0 {
        (((p[0] - a[0]) * dx + (p[1] - a[1]) * dy) / length).clamp(0.0, 1.0)
    } else {
        0.0
    };
    (p[0] - a[0] - t * dx).hypot(p[1] - a[1] - t * dy)
}
