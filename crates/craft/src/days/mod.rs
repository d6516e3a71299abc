//! On which day is what done, so that every order is packed the evening before its pickup?
//!
//! Each order becomes attended work (only in the maker's hours, breakable between cookies), supervised work (the oven),
//! and rests in between: chill, cool, drying nights.
//! All open orders are placed together, backward from their first hand-over, by the engine `timing`.
//! One tick is one minute, counted in real time from midnight of today, so that a night of a clock change is as long as it is.

mod axis;
mod frame;
mod pool;
mod request;
mod shades;
#[cfg(test)]
mod tests;
mod week;
mod work;

use std::ops::ControlFlow;

use jiff::{ZonedDateTime, civil::Date};

pub use axis::DAYS_AHEAD;
pub use pool::{Batches, Pooled};
pub(crate) use request::scaled;
pub use request::{Answer, Change, N_REPLAYS, Request, Room, StripDay, Tried, Verdict};
pub use shades::MixedShade;
pub use week::Week;
pub(crate) use week::stretches_of;
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
    /// What orders make together.
    pub pooled: Vec<Pooled>,
    /// Evaluations the engine used.
    pub evaluations: u64,
}

/// One activity at its time.
#[derive(Clone, Debug, PartialEq)]
pub struct DayEntry {
    /// The order it belongs to, by its place among the open orders; setting up belongs to what is done first, washing up to
    /// what is done last.
    pub order: usize,
    /// Other orders it is for as well.
    pub with: Vec<usize>,
    /// What is done.
    pub activity: Activity,
    /// Start.
    pub start: ZonedDateTime,
    /// End.
    pub end: ZonedDateTime,
    /// Whether the maker's hands are in it.
    pub attended: bool,
}

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
    match Week::plan(kitchen, orders, today, budget, seed, on_progress) {
        Ok(week) => week.days(),
        Err(heads_up) => (Days::default(), vec![heads_up]),
    }
}

/// Names orders in a sentence: "A", "A" and "B", "A", "B" and "C".
fn quoted<'a>(orders: impl Iterator<Item = &'a OrderWork>) -> String {
    let quoted: Vec<String> = orders.map(|order| format!("\"{}\"", order.title)).collect();
    match quoted.split_last() {
        Some((last, [])) => last.clone(),
        Some((last, others)) => format!("{} and {last}", others.join(", ")),
        None => String::new(),
    }
}

/// Says when a late order would be ready; `ready` is the last end of its work.
fn late(axis: &Axis, order: &OrderWork, ready: i64) -> HeadsUp {
    HeadsUp::new(
        Severity::Stop,
        Subject::Days,
        format!(
            "\"{}\" is not packed by the evening before its hand-over: working on from today, it is ready on {}.",
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
    let is_piped = |session: u32| order.last_icing.is_none_or(|last| session <= last);
    let last_use = last_of(&|activity| matches!(activity, Activity::Decorate(n) if is_piped(n)));
    let Some(last_use) = last_use else {
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
