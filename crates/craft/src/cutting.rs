//! Which sheets are rolled and where is each cookie cut; and what would cutting otherwise save?
//!
//! The engine `nesting` places the cookies: sheets in the freezer come first, then fresh ones, then what is rolled from scraps.
//! Who cuts has a choice between swapping cutters, rolling scraps once more and making more dough;
//! each way is planned, so that it can be told in grams, sheets and minutes.

use std::{
    collections::VecDeque,
    fmt,
    ops::ControlFlow,
    str::FromStr,
    sync::{Mutex, PoisonError},
};

use nesting::{
    CutSheet, Error, Outline, Piece, Progress, Rerolls, Rotation, SheetSize, SheetsPlan,
    SheetsRequest, Stock, StraightRow,
};
use quantity::{Area, Mass, Money, Span};

use crate::{
    dough::{dough_mass, outline_points, too_large},
    heads_up::{HeadsUp, Severity, Subject},
    kitchen::{Dough, DoughSheet, Kitchen},
    order::{CutterUse, Order, Turning},
    pantry::ingredient_line,
    plan::{Basis, Effort},
    technique::Design,
};

/// How the dough sheets are cut.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum CuttingStyle {
    /// Whole sheets, each of one shape unless that costs a rolling.
    OneShape,
    /// Whole sheets, shapes mixed as they fit best.
    Mixed,
    /// As little dough as will do: the last sheet is rolled only as large as it must be, scraps are rolled so often at most.
    ToMeasure(usize),
    /// Whole sheets in straight rows, placed by eye; scraps are not rolled.
    Rows,
}

/// Scraps are rolled so often at most, in any kitchen.
const MOST_REROLLS: usize = 9;

impl fmt::Display for CuttingStyle {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::OneShape => f.write_str("one_shape"),
            Self::Mixed => f.write_str("mixed"),
            Self::ToMeasure(rerolls) => write!(f, "to_measure_{rerolls}"),
            Self::Rows => f.write_str("rows"),
        }
    }
}

/// No such way to cut.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct UnknownStyle;

impl FromStr for CuttingStyle {
    type Err = UnknownStyle;

    fn from_str(text: &str) -> Result<Self, UnknownStyle> {
        match text {
            "one_shape" => Ok(Self::OneShape),
            "mixed" => Ok(Self::Mixed),
            "rows" => Ok(Self::Rows),
            _ => {
                let rerolls = text.strip_prefix("to_measure_").and_then(|n| n.parse().ok());
                let known = rerolls.filter(|&rerolls| rerolls <= MOST_REROLLS);
                known.map(Self::ToMeasure).ok_or(UnknownStyle)
            }
        }
    }
}

/// The sheets to roll and cut, and which design each piece of the engine's plan is.
#[derive(Clone, Debug, Default)]
pub struct Cutting {
    /// How they are cut; nothing if there is nothing to cut.
    pub style: Option<CuttingStyle>,
    /// The engine's plan, its cuts in the order they are made; nothing if there is nothing to cut.
    pub plan: Option<SheetsPlan>,
    /// The design of each piece, by its place.
    pub designs: Vec<usize>,
    /// The straight rows of each sheet; none where its cuts do not stand in rows.
    pub rows: Vec<Vec<StraightRow>>,
    /// No plan makes do with less dough, however often scraps are rolled; nothing where there is nothing to cut or the freezer holds sheets.
    pub least_mass: Option<Mass>,
    /// This and every other way that was planned.
    pub ways: Vec<CuttingWay>,
}

/// What a way to cut comes to.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct CuttingWay {
    /// The way.
    pub style: CuttingStyle,
    /// Dough to make.
    pub mass: Mass,
    /// Sheets to roll fresh.
    pub n_fresh: usize,
    /// Sheets from the freezer.
    pub n_stock: usize,
    /// Sheets rolled from scraps.
    pub n_rerolled: usize,
    /// Whether every sheet carries one shape.
    pub one_shape: bool,
    /// Extras that are not made, since they would cost dough or a rolling.
    pub n_left_out: usize,
    /// Time to roll and cut.
    pub time: Span,
    /// The dough and that time, paid.
    pub cost: Money,
}

/// The best plan of the way that is taken, so far.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct SheetsSoFar {
    /// Fresh sheets.
    pub n_fresh: usize,
    /// Sheets rolled from scraps.
    pub n_rerolled: usize,
}

impl Cutting {
    /// Returns how many fresh sheets are rolled.
    pub fn n_fresh(&self) -> usize {
        self.plan.as_ref().map_or(0, |plan| plan.n_fresh)
    }

    /// Returns how many sheets come from the freezer.
    pub fn n_stock(&self) -> usize {
        self.plan.as_ref().map_or(0, |plan| plan.n_stock)
    }

    /// Returns how many sheets are rolled from scraps.
    pub fn n_rerolled(&self) -> usize {
        self.plan.as_ref().map_or(0, |plan| plan.n_rerolled)
    }

    /// Returns how many cookies are cut.
    pub fn n_cut(&self) -> usize {
        self.plan.as_ref().map_or(0, n_cut)
    }

    /// Says which extras are not made.
    fn left_out<'a>(&'a self, designs: &'a [Design]) -> impl Iterator<Item = HeadsUp> + 'a {
        let left_out = self.plan.iter().flat_map(|plan| &plan.unplaced_optional);
        let some = self.designs.iter().zip(left_out).filter(|&(_, &n)| n > 0);
        some.map(|(&place, &n)| {
            let Design { id, extras, .. } = &designs[place];
            let message = match (n, *extras) {
                (1, 1) => "The extra is left out: it would cost dough or a rolling.".to_owned(),
                (1, extras) => {
                    format!("1 of {extras} extras is left out: it would cost dough or a rolling.")
                }
                (n, extras) => {
                    format!("{n} of {extras} extras are left out: they would cost dough or a rolling.")
                }
            };
            HeadsUp::new(Severity::Note, Subject::Item(id.clone()), message).hint(
                "The kitchen makes extras only where they cost none (extras_if_free); nothing replaces a cookie that breaks.",
            )
        })
    }

    /// Takes from the designs the extras that would cost dough or a rolling, where the kitchen only wants them free.
    pub(crate) fn leave_out_extras(&self, designs: &mut [Design]) {
        let left_out = self.plan.iter().flat_map(|plan| &plan.unplaced_optional);
        for (&place, &n) in self.designs.iter().zip(left_out) {
            let extras = &mut designs[place].extras;
            *extras = extras.saturating_sub(u32::try_from(n).unwrap_or(u32::MAX));
        }
    }
}

fn n_cut(plan: &SheetsPlan) -> usize {
    plan.sheets.iter().map(|sheet| sheet.placements.len()).sum()
}

/// Returns the time it takes to roll and cut so many sheets and cookies; a sheet rolled from scraps is chilled before it is cut.
pub fn cutting_time(kitchen: &Kitchen, n_fresh: usize, n_rerolled: usize, n_cut: usize) -> Span {
    let rules = &kitchen.dough;
    rules.roll * (n_fresh + n_rerolled) as f64
        + rules.chill_reroll * f64::from(u8::from(n_rerolled > 0))
        + rules.cut * n_cut as f64
}

/// Layouts that were found lately, so that what needs the same cuts is not searched again.
#[derive(Debug, Default)]
pub struct CuttingMemory(Mutex<VecDeque<(Asked, Vec<Found>)>>);

/// A way and the engine's plan for it.
type Found = (CuttingStyle, SheetsPlan);

/// What an engine was asked.
#[derive(Clone, Debug, PartialEq)]
struct Asked {
    request: SheetsRequest,
    engine: Engine,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Engine {
    WholeSheets,
    LeastArea,
    Rows,
}

/// So many are remembered.
const MOST_REMEMBERED: usize = 64;

impl CuttingMemory {
    fn recall(&self, asked: &Asked) -> Option<Vec<Found>> {
        let known = self.0.lock().unwrap_or_else(PoisonError::into_inner);
        known.iter().find(|(one, _)| one == asked).map(|(_, found)| found.clone())
    }

    fn keep(&self, asked: Asked, found: Vec<Found>) {
        let mut known = self.0.lock().unwrap_or_else(PoisonError::into_inner);
        known.truncate(MOST_REMEMBERED - 1);
        known.push_front((asked, found));
    }
}

/// Plans the cutting of all designs whose cookies are not baked yet.
///
/// `on_progress` hears of better plans of the way that is taken, and may end the search; then no other way is planned.
pub(crate) fn plan_cutting(
    kitchen: &Kitchen,
    order: &Order,
    designs: &[Design],
    basis: &Basis,
    memory: &CuttingMemory,
    on_progress: &mut dyn FnMut(Option<SheetsSoFar>) -> ControlFlow<()>,
) -> (Cutting, Vec<HeadsUp>) {
    let mut heads_ups = Vec::new();
    let Some(fresh_size) = kitchen.dough_sheets.first() else { return Default::default() };
    let usual = if kitchen.dough.one_shape_per_sheet {
        CuttingStyle::OneShape
    } else {
        CuttingStyle::Mixed
    };
    let style = order.bench.cutting.unwrap_or(usual);
    let mut places: Vec<usize> = (0..designs.len())
        .filter(|&place| {
            order.items[place].baked_frozen_on.is_none() && designs[place].copies() > 0
        })
        .collect();
    while !places.is_empty() {
        let request = request(kitchen, order, fresh_size, designs, &places, basis);
        let mut is_ended = false;
        let found = lay(&request, style, memory, &mut |so_far| {
            let heard = on_progress(Some(so_far));
            is_ended |= heard.is_break();
            heard
        });
        let mut found = match found {
            Ok(found) => found,
            Err(Error::PieceTooLarge { piece, .. }) if piece < places.len() => {
                let sheet = (fresh_size.width, fresh_size.length);
                heads_ups.push(too_large(&designs[places.remove(piece)], "dough sheet", sheet));
                continue;
            }
            Err(error) => {
                heads_ups.push(
                    HeadsUp::new(
                        Severity::Stop,
                        Subject::Dough,
                        format!("The cookies could not be laid out: {error}."),
                    )
                    .hint("Check gap, margin and sheet size in kitchen.toml."),
                );
                break;
            }
        };
        let Some((style, mut plan)) = taken(&found, style) else { break };
        let is_answered = |found: &[Found], other: CuttingStyle| {
            found.iter().any(|&(known, _)| known == other || answers(known, other, places.len()))
        };
        if basis.effort >= Effort::Normal && !is_ended {
            for other in OTHERS {
                if !is_answered(&found, other) {
                    let on_progress = &mut |_| on_progress(None);
                    // What cannot be cut another way is not offered.
                    found.extend(lay(&request, other, memory, on_progress).unwrap_or_default());
                }
            }
        }
        let ways = ways(kitchen, style, found);
        let rows = in_cutting_order(&request, &mut plan);
        let bound = nesting::fresh_bound_mm2(&request, request.rerolls.max);
        let least_mass = bound.ok().filter(|_| request.stock.is_empty());
        let cutting = Cutting {
            style: Some(style),
            plan: Some(plan),
            designs: places,
            rows,
            least_mass: least_mass.map(|mm2| dough_mass(kitchen, Area::mm2(mm2))),
            ways,
        };
        heads_ups.extend(cutting.left_out(designs));
        return (cutting, heads_ups);
    }
    (Cutting::default(), heads_ups)
}

/// Ways that are planned beside the one that is taken.
const OTHERS: [CuttingStyle; 4] =
    [CuttingStyle::OneShape, CuttingStyle::Mixed, CuttingStyle::ToMeasure(0), CuttingStyle::Rows];

/// Whether the plans of one way tell those of another too.
fn answers(known: CuttingStyle, other: CuttingStyle, n_shapes: usize) -> bool {
    match engine_of(known) {
        // One shape alone is never mixed.
        Engine::WholeSheets => engine_of(other) == Engine::WholeSheets && n_shapes == 1,
        engine => engine_of(other) == engine,
    }
}

/// The plan of a way; of those to measure, the one that rolls scraps as often as wanted or else less often.
fn taken(found: &[Found], style: CuttingStyle) -> Option<Found> {
    let is_it = |one: &&Found| match (one.0, style) {
        (CuttingStyle::ToMeasure(rerolls), CuttingStyle::ToMeasure(most)) => rerolls <= most,
        (one, style) => one == style,
    };
    found.iter().filter(is_it).max_by_key(|one| one.0).or(found.first()).cloned()
}

fn engine_of(style: CuttingStyle) -> Engine {
    match style {
        CuttingStyle::OneShape | CuttingStyle::Mixed => Engine::WholeSheets,
        CuttingStyle::ToMeasure(_) => Engine::LeastArea,
        CuttingStyle::Rows => Engine::Rows,
    }
}

/// Lays out the cookies in a way, or remembers how they lay.
fn lay(
    request: &SheetsRequest,
    style: CuttingStyle,
    memory: &CuttingMemory,
    on_progress: &mut dyn FnMut(SheetsSoFar) -> ControlFlow<()>,
) -> Result<Vec<Found>, Error> {
    let engine = engine_of(style);
    let mut request = request.clone();
    if engine == Engine::WholeSheets {
        request.one_piece_per_sheet = style == CuttingStyle::OneShape;
    }
    let asked = Asked { request, engine };
    if let Some(found) = memory.recall(&asked) {
        return Ok(found);
    }
    let mut is_ended = false;
    let mut tell = |progress: &Progress| {
        let (Some(n_fresh), Some(n_rerolled)) = (progress.n_fresh, progress.n_rerolled) else {
            return ControlFlow::Continue(());
        };
        let heard = on_progress(SheetsSoFar { n_fresh, n_rerolled });
        is_ended |= heard.is_break();
        heard
    };
    let request = &asked.request;
    let found = match engine {
        Engine::WholeSheets => vec![(style, nesting::plan_sheets(request, &mut tell)?)],
        Engine::LeastArea => {
            let n_threads = std::thread::available_parallelism().map_or(1, usize::from);
            // The worth of a rolling only recommends one of the plans; here all are told.
            let listener = &mut |progress: &Progress, _| tell(progress);
            let found = nesting::plan_least_area(request, 0.0, n_threads, listener)?;
            let plans = found.plans.into_iter();
            plans.map(|one| (CuttingStyle::ToMeasure(one.max_rerolls), one.plan)).collect()
        }
        Engine::Rows => vec![(style, nesting::plan_rows(request)?)],
    };
    // What was cut short is not the answer to the whole question.
    if !is_ended {
        memory.keep(asked, found.clone());
    }
    Ok(found)
}

fn request(
    kitchen: &Kitchen,
    order: &Order,
    fresh_size: &DoughSheet,
    designs: &[Design],
    places: &[usize],
    basis: &Basis,
) -> SheetsRequest {
    let rules = &kitchen.dough;
    let in_freezer = kitchen.dough_sheets.iter().filter(|sheet| sheet.in_freezer > 0);
    SheetsRequest {
        pieces: places
            .iter()
            .map(|&place| piece(&designs[place], order.items[place].cutter_use, rules))
            .collect(),
        sheet: sheet_size(fresh_size),
        stock: in_freezer
            .map(|sheet| Stock { size: sheet_size(sheet), n: sheet.in_freezer as usize })
            .collect(),
        gap_mm: rules.cut_gap.to_mm(),
        edge_margin_mm: rules.edge_margin.to_mm(),
        rerolls: Rerolls {
            max: rules.rerolls_max.min(MOST_REROLLS),
            loss: rules.handling_loss.to_one(),
        },
        one_piece_per_sheet: rules.one_shape_per_sheet,
        budget: basis.effort.cutting_budget(),
        seed: basis.seed,
    }
}

fn piece(design: &Design, cutter_use: CutterUse, rules: &Dough) -> Piece {
    let (count, extras) = (design.count as usize, design.extras as usize);
    let (n, n_optional) =
        if rules.extras_if_free { (count, extras) } else { (count.saturating_add(extras), 0) };
    Piece {
        outline: outline_points(&design.outline),
        n,
        n_optional,
        rotation: match cutter_use.turning {
            Turning::Free => Rotation::Free,
            Turning::Quarter => Rotation::Quarter,
            Turning::Fixed => Rotation::Fixed,
        },
        mirror: cutter_use.turn_over,
        fresh_only: cutter_use.fresh_dough,
    }
}

fn sheet_size(sheet: &DoughSheet) -> SheetSize {
    SheetSize { width_mm: sheet.width.to_mm(), length_mm: sheet.length.to_mm() }
}

/// Puts the cuts of each sheet into the order in which they are made; returns the straight rows of each.
fn in_cutting_order(request: &SheetsRequest, plan: &mut SheetsPlan) -> Vec<Vec<StraightRow>> {
    let outlines: Vec<&Outline> = request.pieces.iter().map(|piece| &piece.outline).collect();
    let ordered = plan.sheets.iter_mut().map(|sheet| {
        let order = nesting::cutting_order(&outlines, sheet);
        sheet.placements = order.into_iter().map(|at| sheet.placements[at]).collect();
        nesting::straight_rows(&outlines, sheet).unwrap_or_default()
    });
    ordered.collect()
}

/// Tells what each way comes to, once where several come to the same.
fn ways(kitchen: &Kitchen, taken: CuttingStyle, mut found: Vec<Found>) -> Vec<CuttingWay> {
    found.sort_by_key(|&(style, _)| (style != taken, style));
    let mut told: Vec<(CuttingWay, Vec<CutSheet>)> = Vec::new();
    for (style, plan) in found {
        let way = way(kitchen, style, &plan);
        // Rows are easier by eye even where they come to the same.
        let is_known = |(known, sheets): &(CuttingWay, Vec<CutSheet>)| {
            CuttingWay { style, ..*known } == way
                && (style != CuttingStyle::Rows || *sheets == plan.sheets)
        };
        if !told.iter().any(is_known) {
            told.push((way, plan.sheets));
        }
    }
    told.into_iter().map(|(way, _)| way).collect()
}

/// Tells what a way comes to.
fn way(kitchen: &Kitchen, style: CuttingStyle, plan: &SheetsPlan) -> CuttingWay {
    let &SheetsPlan { n_fresh, n_stock, n_rerolled, one_shape, fresh_area_mm2, .. } = plan;
    let mass = dough_mass(kitchen, Area::mm2(fresh_area_mm2));
    let parts = kitchen.recipe(&kitchen.dough.recipe).map(|recipe| recipe.scaled_to(mass));
    let paid = parts.into_iter().flatten().filter_map(|part| {
        let ingredient = kitchen.ingredient(&part.ingredient)?;
        Some(ingredient_line(ingredient, part.mass, kitchen.money.waste).cost)
    });
    let time = cutting_time(kitchen, n_fresh, n_rerolled, n_cut(plan));
    let cost = paid.sum::<Money>() + kitchen.money.wage.times(time.to_hours());
    let n_left_out = plan.unplaced_optional.iter().sum();
    CuttingWay { style, mass, n_fresh, n_stock, n_rerolled, one_shape, n_left_out, time, cost }
}

#[cfg(test)]
mod tests;
