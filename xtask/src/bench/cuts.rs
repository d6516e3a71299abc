//! Pictures of cutting plans, a page of them: for every set a strip, whole sheets, and as little fresh dough as scraps rolled once allow.
//!
//! The budget is a number of queries, so that the same pictures come from any machine.

use std::fmt::Write as _;
use std::fs;
use std::ops::ControlFlow;

use anyhow::{Result, ensure};
use nesting::{
    Budget, Outline, Placement, SheetsPlan, StripPlan, StripRequest, check_cut_short, check_sheets,
    check_strip, plan_least_area, plan_sheets_on, plan_strip,
};

use super::nesting::{KEPT, N_THREADS, n_pieces};
use super::sets::{Set, kept, made};
use crate::shell;

/// Queries for each plan; on two cores of our machine about ten seconds.
const QUERIES: u64 = 17_000_000;
/// Where the pictures go, below `docs/`.
const FOLDER: &str = "pictures/cutting";
/// Long strips are drawn in lines of this length.
const LINE_MM: f64 = 1_600.0;
/// Room between two sheets or lines.
const APART_MM: f64 = 24.0;
/// Sheets side by side in a picture.
const N_ABREAST: usize = 6;
/// Fills of the pieces, in the order of a set.
const FILLS: [&str; 12] = [
    "#f2d7a6", "#c9dcc2", "#e7c3b5", "#c8d7e3", "#e3d3ec", "#efe3b0", "#d5cdb8", "#bfded9",
    "#f0c6cf", "#dde3a4", "#c5c9ea", "#e8cfa0",
];

/// Plans every set, writes its pictures and the page that shows them.
pub(super) fn cuts() -> Result<()> {
    let folder = shell::root().join("docs").join(FOLDER);
    fs::create_dir_all(&folder)?;
    let mut page = format!(
        "# Cutting plans, drawn\n\n\
         Written by `cargo xtask bench --part cuts`: the sets of [the benchmarks](benchmarks.md), {QUERIES} queries for each plan, seed 1.\n\
         Gap 2 mm, margin 3 mm, pieces turn freely; every plan passed the check in double precision on the exact outlines.\n\
         A color is a shape. Numbers give the order of cutting.\n"
    );
    let kept = KEPT.iter().map(|(name, ..)| kept(name)).collect::<Result<Vec<_>>>()?;
    for set in kept.iter().chain(&made()) {
        println!("drawing {}", set.name);
        let mut set = Set { name: set.name.clone(), request: set.request.clone() };
        set.request.budget = Budget { evaluations: QUERIES };
        let file = |what: &str| format!("{FOLDER}/{}-{what}.svg", set.name.replace(' ', "-"));
        let write = |file: &str, svg: &str| fs::write(shell::root().join("docs").join(file), svg);
        let _ = write!(
            page,
            "\n## {}\n\n{} pieces of {} shapes, sheets of {:.0} x {:.0} mm.\n",
            set.name,
            n_pieces(&set.request.pieces),
            set.request.pieces.len(),
            set.request.sheet.width_mm,
            set.request.sheet.length_mm,
        );

        let strip = strip(&set)?;
        let to = file("strip");
        write(&to, &strip_svg(&set, &strip))?;
        let _ = write!(
            page,
            "\nOn a strip {:.0} mm wide: {:.0} mm long, {:.1} % of it used.\n\n![strip]({to})\n",
            set.request.sheet.width_mm,
            strip.length_mm,
            strip.dough_use * 100.0,
        );

        let whole = whole_sheets(&set)?;
        let to = file("sheets");
        write(&to, &sheets_svg(&set, &whole))?;
        let _ = write!(
            page,
            "\nOn whole sheets, scraps not rolled: {} (no plan needs fewer than {}).\n\n![sheets]({to})\n",
            n_sheets(whole.n_fresh),
            whole.sheets_bound,
        );

        let measured = to_measure(&set)?;
        let to = file("rolled-once");
        write(&to, &sheets_svg(&set, &measured))?;
        let _ = write!(
            page,
            "\nAs little dough as was found with scraps rolled once, 1.5 % lost: {:.3} of the pieces' area; {} and {} from scraps.\n\n![rolled once]({to})\n",
            measured.fresh_area_mm2 / measured.piece_area_mm2,
            n_sheets(measured.n_fresh),
            measured.n_rerolled,
        );
    }
    fs::write(shell::root().join("docs/cutting-plans.md"), page)?;
    println!("docs/cutting-plans.md is written");
    Ok(())
}

fn n_sheets(n: usize) -> String {
    if n == 1 { "1 fresh sheet".to_owned() } else { format!("{n} fresh sheets") }
}

fn strip(set: &Set) -> Result<StripPlan> {
    let asked = &set.request;
    let request = StripRequest {
        pieces: asked.pieces.clone(),
        width_mm: asked.sheet.width_mm,
        gap_mm: asked.gap_mm,
        edge_margin_mm: asked.edge_margin_mm,
        budget: asked.budget,
        seed: asked.seed,
    };
    let plan = plan_strip(&request, N_THREADS, &mut |_, _| ControlFlow::Continue(()))?;
    ensure!(check_strip(&request, &plan).is_empty(), "the strip of {} is not sound", set.name);
    Ok(plan)
}

fn whole_sheets(set: &Set) -> Result<SheetsPlan> {
    let request = &set.request;
    let plan = plan_sheets_on(request, N_THREADS, &mut |_| ControlFlow::Continue(()))?;
    ensure!(check_sheets(request, &plan).is_empty(), "the sheets of {} are not sound", set.name);
    Ok(plan)
}

fn to_measure(set: &Set) -> Result<SheetsPlan> {
    let mut request = set.request.clone();
    request.rerolls.max = 1;
    let listener = &mut |_: &nesting::Progress, _| ControlFlow::Continue(());
    let mut found = plan_least_area(&request, 0.0, N_THREADS, listener)?;
    let plan = found.plans.swap_remove(found.recommended).plan;
    ensure!(check_cut_short(&request, &plan).is_empty(), "dough of {} is not sound", set.name);
    Ok(plan)
}

/// A strip along the page, in lines where it is long.
fn strip_svg(set: &Set, plan: &StripPlan) -> String {
    let width = set.request.sheet.width_mm;
    let n_lines = (plan.length_mm / LINE_MM).ceil().max(1.0);
    let line = plan.length_mm / n_lines;
    let height = n_lines * (width + APART_MM) - APART_MM;
    let mut svg = head(set, line, height);
    let _ = write!(
        svg,
        r#"<defs><g id="strip" transform="translate(0 {width}) rotate(-90)"><rect class="dough" width="{width}" height="{:.2}"/>"#,
        plan.length_mm
    );
    for one in &plan.placements {
        cut(&mut svg, one, None);
    }
    svg.push_str("</g></defs>");
    for at in 0..n_lines as usize {
        let (left, top) = (at as f64 * line, at as f64 * (width + APART_MM));
        let _ = write!(
            svg,
            r##"<svg y="{top:.2}" width="{line:.2}" height="{width}" viewBox="{left:.2} 0 {line:.2} {width}"><use href="#strip"/></svg>"##
        );
    }
    svg.push_str("</svg>\n");
    svg
}

/// Sheets side by side, fresh ones first.
fn sheets_svg(set: &Set, plan: &SheetsPlan) -> String {
    let request = &set.request;
    let outlines: Vec<&Outline> = request.pieces.iter().map(|piece| &piece.outline).collect();
    let middles: Vec<[f64; 2]> = outlines.iter().map(|outline| roomiest(outline)).collect();
    let side = |of: fn(&nesting::SheetSize) -> f64| {
        plan.sheets.iter().map(|sheet| of(&sheet.size)).fold(0.0, f64::max)
    };
    let (width, length) = (side(|size| size.width_mm), side(|size| size.length_mm));
    let n_abreast = plan.sheets.len().clamp(1, N_ABREAST);
    let n_lines = plan.sheets.len().div_ceil(n_abreast);
    let (step_x, step_y) = (width + APART_MM, length + APART_MM);
    let mut svg =
        head(set, n_abreast as f64 * step_x - APART_MM, n_lines as f64 * step_y - APART_MM);
    for (place, sheet) in plan.sheets.iter().enumerate() {
        let left = (place % n_abreast) as f64 * step_x;
        let top = (place / n_abreast) as f64 * step_y;
        let kind = if sheet.round == 0 { "dough" } else { "dough scraps" };
        let _ = write!(
            svg,
            r#"<g transform="translate({left:.2} {top:.2})"><rect class="{kind}" width="{:.2}" height="{:.2}"/>"#,
            sheet.size.width_mm, sheet.size.length_mm
        );
        for (number, at) in (1..).zip(nesting::cutting_order(&outlines, sheet)) {
            let one = &sheet.placements[at];
            cut(&mut svg, one, Some((number, middles[one.piece])));
        }
        svg.push_str("</g>");
    }
    svg.push_str("</svg>\n");
    svg
}

fn head(set: &Set, width: f64, height: f64) -> String {
    let mut svg = format!(
        r#"<svg xmlns="http://www.w3.org/2000/svg" viewBox="-2 -2 {:.2} {:.2}" width="{:.0}"><style>.dough{{fill:#fbf4e4;stroke:#857764;stroke-width:1}}.scraps{{stroke-dasharray:8 4}}.cut{{stroke:#2a231c;stroke-width:.8;stroke-linejoin:round}}text{{font:600 15px sans-serif;text-anchor:middle;fill:#2a231c}}</style><defs>"#,
        width + 4.0,
        height + 4.0,
        width.min(1_200.0),
    );
    for (place, piece) in set.request.pieces.iter().enumerate() {
        let _ = write!(svg, r#"<path id="p{place}" fill="{}" d=""#, FILLS[place % FILLS.len()]);
        for (at, [x, y]) in piece.outline.iter().enumerate() {
            let _ = write!(svg, "{}{x:.1} {y:.1}", if at == 0 { 'M' } else { 'L' });
        }
        svg.push_str(r#"Z"/>"#);
    }
    svg.push_str("</defs>");
    svg
}

fn cut(svg: &mut String, one: &Placement, number: Option<(usize, [f64; 2])>) {
    let Placement { piece, x_mm, y_mm, rotation_deg, .. } = one;
    let _ = write!(
        svg,
        r##"<use class="cut" href="#p{piece}" transform="translate({x_mm:.2} {y_mm:.2}) rotate({rotation_deg:.2})"/>"##
    );
    if let Some((number, [x, y])) = number {
        let (sin, cos) = rotation_deg.to_radians().sin_cos();
        let (x, y) = (x * cos - y * sin + x_mm, x * sin + y * cos + y_mm);
        let _ = write!(svg, r#"<text x="{x:.1}" y="{:.1}">{number}</text>"#, y + 5.0);
    }
}

/// The point of a grid that lies deepest inside an outline.
fn roomiest(outline: &Outline) -> [f64; 2] {
    const N_STEPS: usize = 32;
    let ends = |axis: usize| {
        let all = outline.iter().map(|corner| corner[axis]);
        all.fold((f64::MAX, f64::MIN), |(low, high), at| (low.min(at), high.max(at)))
    };
    let step = |(low, high): (f64, f64), at: usize| low + (high - low) * at as f64 / N_STEPS as f64;
    let (across, down) = (ends(0), ends(1));
    let grid = (1..N_STEPS)
        .flat_map(|i| (1..N_STEPS).map(move |j| (i, j)))
        .map(|(i, j)| [step(across, i), step(down, j)]);
    let deepest = grid.max_by(|&a, &b| depth(outline, a).total_cmp(&depth(outline, b)));
    deepest.unwrap_or_default()
}

/// Distance to the nearest edge, below zero outside.
fn depth(outline: &Outline, [x, y]: [f64; 2]) -> f64 {
    let n = outline.len();
    let (mut nearest, mut is_inside) = (f64::MAX, false);
    for i in 0..n {
        let ([ax, ay], [bx, by]) = (outline[i], outline[(i + 1) % n]);
        if (ay > y) != (by > y) && x < ax + (y - ay) / (by - ay) * (bx - ax) {
            is_inside = !is_inside;
        }
        let (dx, dy) = (bx - ax, by - ay);
        let along = ((x - ax) * dx + (y - ay) * dy) / (dx * dx + dy * dy).max(f64::MIN_POSITIVE);
        let along = along.clamp(0.0, 1.0);
        nearest = nearest.min((x - ax - along * dx).hypot(y - ay - along * dy));
    }
    if is_inside { nearest } else { -nearest }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_number_stands_where_there_is_most_room() {
        // A hook: its center of area lies outside, most room is in its corner.
        let hook =
            vec![[0.0, 0.0], [60.0, 0.0], [60.0, 12.0], [12.0, 12.0], [12.0, 60.0], [0.0, 60.0]];
        let at = roomiest(&hook);
        assert!(depth(&hook, at) > 5.0, "{at:?}");
        // Half the side of a square, and below zero beyond it.
        let square = vec![[0.0, 0.0], [10.0, 0.0], [10.0, 10.0], [0.0, 10.0]];
        assert_eq!((depth(&square, [5.0, 5.0]), depth(&square, [12.0, 5.0])), (5.0, -2.0));
    }
}
