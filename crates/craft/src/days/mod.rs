//! On which day is what done, so that every order is packed the evening before its pickup?
//!
//! Each order becomes attended work (only in the maker's hours, breakable between cookies), supervised work (the oven),
//! and rests in between: chill, cool, drying nights.
//! All open orders are placed together, backward from their first hand-over, by the engine `timing`.
//! One tick is one minute, counted in real time from midnight of today, so that a night of a clock change is as long as it is.

mod axis;
mod work;

use std::ops::ControlFlow;

use jiff::{ZonedDateTime, civil::Date};
use timing::{CalendarProblem, Hold, Link, LinkKind, Project, Task, Work};

pub use work::{Activity, OrderWork, Rest, Step, order_work};

use crate::{
    days::axis::Axis,
    heads_up::{HeadsUp, Severity, Subject},
    icing::{days_of, keeps_until},
    kitchen::Kitchen,
};

/// The chapter on days: one row an activity, in the order they start.
#[derive(Clone, Debug, Default)]
pub struct Days {
    /// What is done when.
    pub entries: Vec<DayEntry>,
    /// Evaluations the engine used.
    pub evaluations: u64,
}

/// One activity at its time.
#[derive(Clone, Debug, PartialEq)]
pub struct DayEntry {
    /// The order it belongs to, by its place among the open orders.
    pub order: usize,
    /// What is done.
    pub activity: Activity,
    /// Start.
    pub start: ZonedDateTime,
    /// End.
    pub end: ZonedDateTime,
    /// Whether the maker's hands are in it.
    pub attended: bool,
}

/// Evaluations of the calendar engine are cheap; more than this gains nothing at the sizes of one kitchen.
const CALENDAR_SHARE: u64 = 10;

/// Plans the days of all open orders together.
///
/// `today` is the only clock: nothing is placed before its midnight.
/// `budget` counts evaluations; the same seed and budget give the same plan.
pub fn plan_days(
    kitchen: &Kitchen,
    orders: &[OrderWork],
    today: Date,
    budget: u64,
    seed: u64,
    on_progress: &mut dyn FnMut() -> ControlFlow<()>,
) -> (Days, Vec<HeadsUp>) {
    let mut heads_ups = Vec::new();
    let Some(axis) = Axis::new(kitchen, today, orders) else {
        heads_ups.push(
            HeadsUp::new(
                Severity::Stop,
                Subject::Days,
                "The days cannot be laid out: time zone or dates are out of range.",
            )
            .hint("Check time_zone in kitchen.toml and the dates of the order."),
        );
        return (Days::default(), heads_ups);
    };
    let problem = CalendarProblem {
        projects: orders.iter().map(|order| project(kitchen, &axis, order)).collect(),
        windows: axis.windows.clone(),
        capacities: vec![i64::from(kitchen.oven.slots.max(1)), 1, n_trays(kitchen)],
        earliest: 0,
    };
    match timing::solve_calendar(&problem, (budget / CALENDAR_SHARE).max(1), seed, &mut |_| {
        on_progress()
    }) {
        Ok(calendar) => {
            let mut days = Days { entries: Vec::new(), evaluations: calendar.evaluations };
            for (place, (order, spans)) in orders.iter().zip(&calendar.spans).enumerate() {
                let tardy = calendar.tardiness.get(place).copied().unwrap_or(0);
                if tardy > 0 {
                    let ready = spans.iter().map(|span| span.end).max().unwrap_or(0);
                    heads_ups.push(late(&axis, order, ready));
                }
                let of_order = entries(&axis, place, order, spans);
                heads_ups.extend(old_icing(kitchen, order, &of_order));
                days.entries.extend(of_order);
            }
            days.entries
                .sort_by_key(|entry| (entry.start.timestamp(), entry.order, entry.activity));
            (days, heads_ups)
        }
        Err(error) => {
            heads_ups.push(
                HeadsUp::new(Severity::Stop, Subject::Days, format!("The work does not fit these hours: {error}."))
                    .hint("Add working hours (hours in kitchen.toml), or spread the order over more days."),
            );
            (Days::default(), heads_ups)
        }
    }
}

/// Places of the resources among the problem's capacities.
const OVEN: usize = 0;
const MIXER: usize = 1;
const TRAYS: usize = 2;

fn n_trays(kitchen: &Kitchen) -> i64 {
    kitchen.trays.iter().map(|tray| i64::from(tray.owned)).sum::<i64>().max(1)
}

fn project(kitchen: &Kitchen, axis: &Axis, order: &OrderWork) -> Project {
    let tasks = order
        .steps
        .iter()
        .map(|step| Task {
            duration: axis::minutes(step.duration),
            work: match step.activity {
                // More loads than fit an evening go on the next day, like other long work.
                Activity::Bake if axis::minutes(step.duration) <= axis.longest_window() => {
                    Work::Supervised
                }
                Activity::Temper => Work::Unattended,
                // What fits an evening is done in one; only longer work goes on the next day.
                _ => Work::Attended {
                    breakable: axis::minutes(step.duration) > axis.longest_window(),
                },
            },
            uses: match step.activity {
                Activity::Bake => vec![(OVEN, 1)],
                Activity::MakeDough | Activity::MakeIcing => vec![(MIXER, 1)],
                _ => Vec::new(),
            },
        })
        .collect();
    let links = order
        .rests
        .iter()
        .map(|rest| Link {
            from: rest.after,
            to: rest.before,
            kind: LinkKind::FinishStart,
            min: axis::minutes(rest.least),
            max: rest.most.map(axis::minutes),
        })
        .collect();
    // Cookies dry on the trays from the first icing until they are packed.
    let first_icing =
        order.steps.iter().position(|step| matches!(step.activity, Activity::Decorate(_)));
    let packing = order.steps.iter().position(|step| step.activity == Activity::Pack);
    let holds = match (first_icing, packing) {
        (Some(from), Some(to)) => {
            let quantity = (order.n_trays as i64).clamp(0, n_trays(kitchen));
            vec![Hold { resource: TRAYS, quantity, from, to }]
        }
        _ => Vec::new(),
    };
    Project {
        tasks,
        links,
        holds,
        due: axis.ready_by(order),
        weight: 1,
        buffer: 0,
        age_from: order.steps.iter().position(|step| step.activity == Activity::Bake),
        fresh_max: None,
    }
}

/// Says when a late order would be ready; `ready` is the last end of its work.
fn late(axis: &Axis, order: &OrderWork, ready: i64) -> HeadsUp {
    HeadsUp::new(
        Severity::Stop,
        Subject::Days,
        format!(
            "\"{}\" is not packed by the evening before its first hand-over: working on from today, it is ready on {}.",
            order.title,
            axis.at(ready).strftime("%A %-d %B at %H:%M")
        ),
    )
    .hint("Agree on a later pickup, add working hours or a helper, or start from frozen dough or cookies.")
}

/// Says that icing made fresh or taken from stock is older than it keeps when it is last piped.
fn old_icing(kitchen: &Kitchen, order: &OrderWork, entries: &[DayEntry]) -> Vec<HeadsUp> {
    let last_of = |wanted: &dyn Fn(Activity) -> bool| {
        entries.iter().filter(|entry| wanted(entry.activity)).map(|entry| entry.end.date()).max()
    };
    let Some(last_use) = last_of(&|activity| matches!(activity, Activity::Decorate(_))) else {
        return Vec::new();
    };
    let fresh = last_of(&|activity| activity == Activity::MakeIcing);
    let too_old = |made_on: &Date| keeps_until(*made_on, kitchen.icing.keeps) < last_use;
    let keeps = days_of(kitchen.icing.keeps);
    let about = |what: String, hint: &str| {
        let message = format!(
            "\"{}\": {what} is last piped on {}, later than the {keeps} it keeps.",
            order.title,
            last_use.strftime("%A %-d %B")
        );
        HeadsUp::new(Severity::Caution, Subject::Days, message).hint(hint)
    };
    let fresh = fresh.filter(too_old).map(|made_on| {
        about(
            format!("the icing made on {}", made_on.strftime("%A %-d %B")),
            "Make what the last session needs on its own day; if yours keeps longer, enter keeps_days in kitchen.toml.",
        )
    });
    let stock = order.oldest_icing.filter(too_old).map(|made_on| {
        about(
            format!("the icing in stock made on {made_on}"),
            "Use it up in the first session, or take it out of icing_stock in kitchen.toml and make fresh icing.",
        )
    });
    fresh.into_iter().chain(stock).collect()
}

/// The attended entries of an order, the rests between them, and its hand-overs.
fn entries(axis: &Axis, place: usize, order: &OrderWork, spans: &[timing::Span]) -> Vec<DayEntry> {
    let entry = |activity, start: i64, end: i64, attended| DayEntry {
        order: place,
        activity,
        start: axis.at(start),
        end: axis.at(end),
        attended,
    };
    let mut found = Vec::new();
    for (step, span) in order.steps.iter().zip(spans) {
        let attended = step.activity.is_attended();
        found.extend(
            span.pieces.iter().map(|&(start, end)| entry(step.activity, start, end, attended)),
        );
    }
    for rest in &order.rests {
        let (Some(kind), Some(after), Some(before)) =
            (rest.activity, spans.get(rest.after), spans.get(rest.before))
        else {
            continue;
        };
        // A drying night lasts until the next work; any other rest as long as it must.
        let end = if kind == Activity::Dry {
            before.start
        } else {
            after.end + axis::minutes(rest.least)
        };
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
