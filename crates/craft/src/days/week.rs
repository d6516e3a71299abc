//! All open orders placed together.

use std::ops::ControlFlow;

use jiff::civil::Date;
use quantity::Span;
use timing::{Calendar, CalendarProblem};

use super::{
    Activity, DayEntry, Days, OrderWork,
    axis::{Axis, minutes},
    frame, late, old_icing,
};
use crate::{
    heads_up::{HeadsUp, Severity, Subject},
    kitchen::Kitchen,
    passes::Stretches,
};

/// Evaluations of the calendar engine are cheap; more than this gains nothing at the sizes of one kitchen.
const CALENDAR_SHARE: u64 = 10;

/// All open orders placed together: what is done when, and whether one more fits ([`Week::answer`]).
#[derive(Clone, Debug)]
pub struct Week {
    pub(super) kitchen: Kitchen,
    pub(super) today: Date,
    pub(super) seed: u64,
    pub(super) axis: Axis,
    pub(super) orders: Vec<OrderWork>,
    pub(super) problem: CalendarProblem,
    pub(super) calendar: Calendar,
}

impl Week {
    /// Places all orders.
    ///
    /// `today` is the only clock: nothing is placed before its midnight.
    /// `budget` counts evaluations; the same seed and budget give the same plan.
    ///
    /// # Errors
    /// The days cannot be laid out, or the work does not fit these hours at all; the heads-up says why.
    pub fn plan(
        kitchen: &Kitchen,
        orders: &[OrderWork],
        today: Date,
        budget: u64,
        seed: u64,
        on_progress: &mut dyn FnMut() -> ControlFlow<()>,
    ) -> Result<Self, HeadsUp> {
        let axis = Axis::new(kitchen, today, orders).ok_or_else(out_of_range)?;
        if axis.windows.is_empty() && !orders.is_empty() {
            return Err(no_hours(&axis, kitchen));
        }
        let problem = frame::problem(kitchen, &axis, orders);
        let budget = (budget / CALENDAR_SHARE).max(1);
        let calendar = timing::solve_calendar(&problem, budget, seed, &mut |_| on_progress())
            .map_err(|error| does_not_fit(&error))?;
        let (kitchen, orders) = (kitchen.clone(), orders.to_vec());
        Ok(Self { kitchen, today, seed, axis, orders, problem, calendar })
    }

    /// Returns what is done when, and what the maker must know of it.
    pub fn days(&self) -> (Days, Vec<HeadsUp>) {
        let mut heads_ups = Vec::new();
        let mut entries = Vec::new();
        for (place, (order, spans)) in self.orders.iter().zip(&self.calendar.spans).enumerate() {
            if self.calendar.tardiness.get(place).is_some_and(|&tardy| tardy > 0) {
                let ready = spans.iter().map(|span| span.end).max().unwrap_or(0);
                heads_ups.push(late(&self.axis, order, ready));
            }
            let of_order = entries_of(&self.axis, place, order, spans);
            heads_ups.extend(old_icing(&self.kitchen, order, &of_order));
            entries.extend(of_order);
        }
        let around = around_sessions(&self.kitchen, &self.axis, &self.orders, &self.calendar.spans);
        entries.extend(around);
        entries.sort_by_key(|entry| (entry.start.timestamp(), entry.order, entry.activity));
        (Days { entries, evaluations: self.calendar.evaluations }, heads_ups)
    }
}

/// Finds the stretches of hours in which an order alone would be decorated where a session is too long for one of them.
///
/// Returns each such session, by its number from 0, with its stretches, from the opening of the first.
pub(crate) fn stretches_of(
    kitchen: &Kitchen,
    order: &OrderWork,
    today: Date,
) -> Vec<(usize, Stretches)> {
    let alone = std::slice::from_ref(order);
    let on_progress = &mut || ControlFlow::Continue(());
    let Ok(week) = Week::plan(kitchen, alone, today, 1, 1, on_progress) else { return Vec::new() };
    let Some(spans) = week.calendar.spans.first() else { return Vec::new() };
    let mut found = Vec::new();
    for (step, span) in order.steps.iter().zip(spans) {
        let Activity::Decorate(number) = step.activity else { continue };
        let (Some(&(first, _)), Some(&(last, end))) = (span.pieces.first(), span.pieces.last())
        else {
            continue;
        };
        if span.pieces.len() < 2 {
            continue;
        }
        let windows =
            week.axis.windows.iter().filter(|(open, close)| *close > first && *open < end);
        let opening = windows.clone().map(|(open, _)| *open).min().unwrap_or(first);
        let minutes = |at: i64| Span::minutes((at - opening) as f64);
        let stretches = windows
            .map(|&(open, close)| {
                (minutes(open), minutes(if open <= last && last < close { end } else { close }))
            })
            .collect();
        found.push((number as usize - 1, stretches));
    }
    found
}

fn out_of_range() -> HeadsUp {
    HeadsUp::new(
        Severity::Stop,
        Subject::Days,
        "The days cannot be laid out: time zone or dates are out of range.",
    )
    .hint("Check time_zone in kitchen.toml and the dates of the order.")
}

/// Says that there is no time to work in, or none but for setting up and washing up.
fn no_hours(axis: &Axis, kitchen: &Kitchen) -> HeadsUp {
    let around = minutes(kitchen.pace.set_up + kitchen.pace.wash_up);
    let message = if axis.hours.is_empty() {
        "The kitchen has no working hours, so nothing can be placed.".to_owned()
    } else {
        format!(
            "No stretch of working hours is longer than the {around} minutes of setting up and washing up."
        )
    };
    HeadsUp::new(Severity::Stop, Subject::Days, message)
        .hint("Add working hours on the kitchen's page (hours in kitchen.toml).")
}

fn does_not_fit(error: &timing::Error) -> HeadsUp {
    HeadsUp::new(
        Severity::Stop,
        Subject::Days,
        format!("The work does not fit these hours: {error}."),
    )
    .hint("Add working hours (hours in kitchen.toml), or spread the order over more days.")
}

/// The attended entries of an order, the rests between them, and its hand-overs.
pub(super) fn entries_of(
    axis: &Axis,
    place: usize,
    order: &OrderWork,
    spans: &[timing::Span],
) -> Vec<DayEntry> {
    let entry = |activity, start: i64, end: i64, attended| DayEntry {
        order: place,
        activity,
        start: axis.at(start),
        end: axis.at(end),
        attended,
    };
    let mut found: Vec<DayEntry> = Vec::new();
    for (step, span) in order.steps.iter().zip(spans) {
        let attended = step.activity.is_attended();
        for &(start, end) in &span.pieces {
            match found.last_mut() {
                // Loads that follow each other are one bake.
                Some(last) if last.activity == step.activity && last.end == axis.at(start) => {
                    last.end = axis.at(end);
                }
                _ => found.push(entry(step.activity, start, end, attended)),
            }
        }
    }
    for rest in &order.rests {
        let (Some(kind), Some(after), Some(before)) =
            (rest.activity, spans.get(rest.after), spans.get(rest.before))
        else {
            continue;
        };
        // A drying night lasts until the next work; any other rest as long as it must.
        let end =
            if kind == Activity::Dry { before.start } else { after.end + minutes(rest.least) };
        found.push(entry(kind, after.end, end, false));
    }
    found.extend(order.handovers.iter().map(|at| DayEntry {
        order: place,
        activity: Activity::HandOver,
        start: at.clone(),
        end: at.clone(),
        attended: true,
    }));
    found
}

/// Setting up before the first work of each stretch of hours and washing up behind the last, unless nothing but packing is done.
fn around_sessions(
    kitchen: &Kitchen,
    axis: &Axis,
    orders: &[OrderWork],
    spans: &[Vec<timing::Span>],
) -> Vec<DayEntry> {
    let mut pieces: Vec<(i64, i64, usize, bool)> = Vec::new();
    for (place, (order, spans)) in orders.iter().zip(spans).enumerate() {
        for (step, span) in order.steps.iter().zip(spans) {
            if step.activity.is_attended() {
                let is_wet = step.activity != Activity::Pack;
                pieces.extend(span.pieces.iter().map(|&(start, end)| (start, end, place, is_wet)));
            }
        }
    }
    let (before, after) = (minutes(kitchen.pace.set_up), minutes(kitchen.pace.wash_up));
    let mut found = Vec::new();
    for &(from, to) in &axis.hours {
        let of_window = || pieces.iter().filter(|(start, end, ..)| *start >= from && *end <= to);
        if !of_window().any(|(.., is_wet)| *is_wet) {
            continue;
        }
        let first = of_window().min_by_key(|(start, ..)| *start);
        let last = of_window().max_by_key(|(_, end, ..)| *end);
        let (Some(&(first, _, opens, _)), Some(&(_, last, closes, _))) = (first, last) else {
            continue;
        };
        let mut add = |order, activity, start: i64, end: i64| {
            if start < end {
                let (start, end) = (axis.at(start), axis.at(end));
                found.push(DayEntry { order, activity, start, end, attended: true });
            }
        };
        add(opens, Activity::SetUp, first - before, first);
        add(closes, Activity::WashUp, last, last + after);
    }
    found
}
