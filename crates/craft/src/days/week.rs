//! All open orders placed together.

use std::ops::ControlFlow;

use jiff::{ZonedDateTime, civil::Date};
use quantity::Span;
use timing::{Calendar, CalendarProblem};

use super::{
    Activity, DayEntry, Days, OrderWork, Pooled,
    axis::{Axis, minutes},
    frame, late, old_icing,
    pool::{Bundle, Group, SharedStep},
    quoted,
    shades::mixed_once,
    work::{COOKIE_KEEPS, THAW},
};
use crate::{
    heads_up::{HeadsUp, Severity, Subject},
    kitchen::Kitchen,
    passes::Stretches,
};

/// Evaluations of the calendar engine are cheap; more than this gains nothing at the sizes of one kitchen.
const CALENDAR_SHARE: u64 = 10;
/// Orders handed over within so many days of each other may share dough and icing, which keep about as long.
const POOL_DAYS: i32 = 4;
/// Naked cookies that are iced sooner just wait in a closed tin (common practice, no source).
const FREEZING_PAYS: Span = Span::hours(48.0);
/// So many pairs of orders are tried together at most.
const MOST_POOLS: usize = 8;

/// All open orders placed together: what is done when, and whether one more fits ([`Week::answer`]).
#[derive(Clone, Debug)]
pub struct Week {
    pub(super) kitchen: Kitchen,
    pub(super) today: Date,
    pub(super) seed: u64,
    pub(super) axis: Axis,
    pub(super) orders: Vec<OrderWork>,
    /// The engine's projects: orders that make something together are one.
    pub(super) bundles: Vec<Bundle>,
    pub(super) problem: CalendarProblem,
    pub(super) calendar: Calendar,
}

impl Week {
    /// Places all orders.
    ///
    /// Orders of one recipe that are handed over within a few days of each other make dough and icing together where that saves
    /// a batch and makes none late.
    /// Cookies of an order that would be late are baked ahead and frozen plain where that makes it less late.
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
        let budget = (budget / CALENDAR_SHARE).max(1);
        let plain =
            Self::placed(kitchen, orders.to_vec(), (today, seed), &axis, budget, on_progress);
        // What would be late, or finds no room at all, is tried with plain cookies from the freezer.
        let late: Vec<usize> = match &plain {
            Ok(week) => week.late_orders().collect(),
            Err(_) => (0..orders.len()).collect(),
        };
        let mut ahead = orders.to_vec();
        let mut is_other = false;
        for order in late {
            if let Some(work) = orders[order].baked_ahead() {
                (ahead[order], is_other) = (work, true);
            }
        }
        if !is_other {
            return plain;
        }
        let frozen = Self::placed(kitchen, ahead, (today, seed), &axis, budget, on_progress);
        let lateness = |week: &Self| -> i64 { week.calendar.tardiness.iter().sum() };
        match (plain, frozen) {
            (Ok(plain), Ok(frozen)) if lateness(&frozen) < lateness(&plain) => Ok(frozen),
            (Err(_), Ok(frozen)) => Ok(frozen),
            (plain, _) => plain,
        }
    }

    /// Orders of bundles that are not ready in time.
    fn late_orders(&self) -> impl Iterator<Item = usize> + '_ {
        let late = self.bundles.iter().zip(&self.calendar.tardiness);
        late.filter(|(_, late)| **late > 0).flat_map(|(bundle, _)| bundle.members.iter().copied())
    }

    /// Places orders as they are.
    fn placed(
        kitchen: &Kitchen,
        orders: Vec<OrderWork>,
        (today, seed): (Date, u64),
        axis: &Axis,
        budget: u64,
        on_progress: &mut dyn FnMut() -> ControlFlow<()>,
    ) -> Result<Self, HeadsUp> {
        let bundled = |groups: &[Group]| -> Vec<Bundle> {
            groups.iter().map(|group| Bundle::new(&orders, group)).collect()
        };
        let mut place = |bundles: &[Bundle], budget: u64| {
            let problem = frame::problem(kitchen, axis, &orders, bundles);
            let calendar = timing::solve_calendar(&problem, budget, seed, &mut |_| on_progress());
            calendar.map(|calendar| (problem, calendar))
        };
        let groups = pools(&orders, &mut |groups| {
            let bundles = bundled(groups);
            let (_, calendar) = place(&bundles, (budget / 8).max(1)).ok()?;
            let n_stale = orders_spans(&orders, &bundles, &calendar)
                .iter()
                .zip(&orders)
                .filter(|(spans, order)| is_stale(kitchen, order, spans))
                .count();
            Some((calendar.tardiness.iter().sum(), n_stale))
        });
        let bundles = bundled(&groups);
        let (problem, calendar) =
            place(&bundles, budget).map_err(|error| does_not_fit(&error, &orders, &bundles))?;
        let (kitchen, axis) = (kitchen.clone(), axis.clone());
        Ok(Self { kitchen, today, seed, axis, orders, bundles, problem, calendar })
    }

    /// Returns, for each order, the spans of its steps.
    pub(super) fn spans(&self, calendar: &Calendar) -> Vec<Vec<timing::Span>> {
        orders_spans(&self.orders, &self.bundles, calendar)
    }

    /// Tells whether a step of an order is told with another order it is shared with.
    pub(super) fn is_told_elsewhere(&self, order: usize, step: usize) -> bool {
        self.shared(order, step).is_some_and(|shared| shared.of.first() != Some(&order))
    }

    fn shared(&self, order: usize, step: usize) -> Option<&SharedStep> {
        let bundle = self.bundles.iter().find(|bundle| bundle.members.contains(&order))?;
        let member = bundle.members.iter().position(|&one| one == order)?;
        bundle.steps.get(*bundle.places[member].get(step)?)
    }

    /// Returns what is done when, and what the maker must know of it.
    pub fn days(&self) -> (Days, Vec<HeadsUp>) {
        let mut heads_ups = Vec::new();
        let mut entries = Vec::new();
        let all_spans = self.spans(&self.calendar);
        for (place, (order, spans)) in self.orders.iter().zip(&all_spans).enumerate() {
            let done = order.steps.iter().zip(spans);
            let too_late = done.filter(|(step, span)| span.end > self.axis.done_by(order, step));
            if let Some(ready) = too_late.map(|(_, span)| span.end).max() {
                heads_ups.push(late(&self.axis, order, ready));
            }
            let of_order = entries_of(&self.axis, place, order, spans);
            heads_ups.extend(old_icing(&self.kitchen, order, &of_order));
            heads_ups.extend(frozen(order, &of_order));
            entries.extend(of_order);
        }
        let pooled: Vec<Pooled> =
            self.bundles.iter().flat_map(|bundle| bundle.pooled(&self.orders)).collect();
        let saving = pooled.iter().filter(|one| one.n_saved > 0);
        heads_ups.extend(saving.map(|one| together(one, &self.orders)));
        heads_ups.extend(mixed_once(&self.kitchen, &self.orders, &entries));
        self.tell_once(&mut entries);
        entries.extend(around_sessions(&self.kitchen, &self.axis, &entries));
        entries.sort_by_key(|entry| (entry.start.timestamp(), entry.order, entry.activity));
        heads_ups.sort_by_key(|one| std::cmp::Reverse(one.severity));
        (Days { entries, pooled, evaluations: self.calendar.evaluations }, heads_ups)
    }

    /// Leaves of what orders make together the entry of the first, with the others named.
    fn tell_once(&self, entries: &mut Vec<DayEntry>) {
        for bundle in self.bundles.iter().filter(|bundle| bundle.members.len() > 1) {
            for shared in bundle.steps.iter().filter(|shared| shared.of.len() > 1) {
                let activity = shared.step.activity;
                entries.retain_mut(|entry| {
                    let is_it = entry.activity == activity && shared.of.contains(&entry.order);
                    if is_it && entry.order == shared.of[0] {
                        entry.with = shared.of[1..].to_vec();
                    }
                    !is_it || entry.order == shared.of[0]
                });
            }
        }
    }
}

/// Returns, for each order, the spans of its steps.
fn orders_spans(
    orders: &[OrderWork],
    bundles: &[Bundle],
    calendar: &Calendar,
) -> Vec<Vec<timing::Span>> {
    let mut spans = vec![Vec::new(); orders.len()];
    for (bundle, placed) in bundles.iter().zip(&calendar.spans) {
        for (member, &order) in bundle.members.iter().enumerate() {
            spans[order] = bundle.spans_of(member, placed);
        }
    }
    spans
}

/// Whether the icing of an order would be older than it keeps when it is last piped.
fn is_stale(kitchen: &Kitchen, order: &OrderWork, spans: &[timing::Span]) -> bool {
    let ends = |wanted: &dyn Fn(Activity) -> bool| {
        let steps = order.steps.iter().zip(spans);
        steps.filter(|(step, _)| wanted(step.activity)).map(|(_, span)| span.end).max()
    };
    let is_piped = |session: u32| order.last_icing.is_none_or(|last| session <= last);
    let made = ends(&|activity| activity == Activity::MakeIcing);
    let used = ends(&|activity| matches!(activity, Activity::Decorate(n) if is_piped(n)));
    let keeps = minutes(kitchen.icing.keeps);
    made.zip(used).is_some_and(|(made, used)| used - made > keeps)
}

/// How late all orders are together, and for how many of them the icing is too old.
type Badness = (i64, usize);

/// Finds which orders make something together: neighbors by their hand-over, where it saves a batch, adds no tardiness and
/// makes no icing too old.
///
/// `badness` places groups of orders; nothing if they cannot be placed.
fn pools(orders: &[OrderWork], badness: &mut dyn FnMut(&[Group]) -> Option<Badness>) -> Vec<Group> {
    let first = |order: usize| orders[order].handovers.first().map(ZonedDateTime::date);
    let mut by_due: Vec<usize> = (0..orders.len()).collect();
    by_due.sort_by_key(|&order| first(order));
    let alone = |order: usize| Group { members: vec![order], shares_oven: false };
    let mut groups: Vec<Group> = by_due.into_iter().map(alone).collect();
    let (mut at, mut n_tried) = (0, 0);
    let mut now = None;
    'groups: while at + 1 < groups.len() && n_tried < MOST_POOLS {
        let last = groups[at].members.last().and_then(|&order| first(order));
        let next = groups[at + 1].members.first().and_then(|&order| first(order));
        let is_near = last.zip(next).is_some_and(|(a, b)| (b - a).get_days() <= POOL_DAYS);
        let members = [&groups[at].members[..], &groups[at + 1].members].concat();
        for shares_oven in [true, false] {
            let joined = Group { members: members.clone(), shares_oven };
            if !is_near || !gains(orders, &joined) {
                continue;
            }
            n_tried += 1;
            let apart = now.or_else(|| badness(&groups)).unwrap_or((i64::MAX, usize::MAX));
            now = Some(apart);
            let mut with = groups.clone();
            with.splice(at..at + 2, [joined]);
            let is_as_good = |with: &Badness| with.0 <= apart.0 && with.1 <= apart.1;
            if let Some(so_bad) = badness(&with).filter(is_as_good) {
                (groups, now) = (with, Some(so_bad));
                continue 'groups;
            }
        }
        at += 1;
    }
    groups
}

/// Whether orders save a batch together; if they share the oven, whether that saves a load.
fn gains(orders: &[OrderWork], group: &Group) -> bool {
    let pooled = Bundle::new(orders, group).pooled(orders);
    let saves =
        |one: &Pooled| one.n_saved > 0 && (!group.shares_oven || one.activity == Activity::Bake);
    pooled.iter().any(saves)
}

/// Says what is made together, what that saves, and whose part is how large.
fn together(pooled: &Pooled, orders: &[OrderWork]) -> HeadsUp {
    let titles = quoted(pooled.parts.iter().map(|(order, _)| &orders[*order]));
    let (what, batches) = match pooled.activity {
        Activity::Bake => ("The cookies for", ["load", "loads"]),
        Activity::MakeIcing => ("The icing for", ["batch", "batches"]),
        _ => ("The dough for", ["batch", "batches"]),
    };
    let done = match pooled.activity {
        Activity::Bake => "are baked together",
        _ => "is made together",
    };
    let shares: Vec<String> = pooled
        .parts
        .iter()
        .map(|(order, share)| {
            format!("{:.0} % of it is for \"{}\"", share.to_percent(), orders[*order].title)
        })
        .collect();
    HeadsUp::new(
        Severity::Note,
        Subject::Days,
        format!(
            "{what} {titles} {done}: {} {} less, which saves {:.0} minutes.",
            pooled.n_saved,
            batches[usize::from(pooled.n_saved != 1)],
            pooled.saved.to_minutes()
        ),
    )
    .hint(match pooled.activity {
        Activity::Bake => "Fill the oven with trays of both, whichever is cut first.".to_owned(),
        _ => format!("{}; share its cost so.", shares.join(", ")),
    })
}

/// Says what goes into the freezer: plain cookies because nothing else is in time, iced ones because they are done so early.
fn frozen(order: &OrderWork, entries: &[DayEntry]) -> Option<HeadsUp> {
    let baked = entries.iter().rfind(|entry| entry.activity == Activity::Bake)?;
    let handed = order.handovers.last()?;
    let days = (handed.date() - baked.end.date()).get_days();
    if entries.iter().any(|entry| entry.activity == Activity::Freeze) {
        let message = format!(
            "The cookies for \"{}\" are baked on {} and frozen plain, which leaves room for the rest.",
            order.title,
            baked.end.strftime("%A %-d %B")
        );
        let hint = "Freeze them sealed once they are cold, up to about 60 days; they thaw in their closed box, about 3 hours before icing.";
        return Some(HeadsUp::new(Severity::Note, Subject::Days, message).hint(hint));
    }
    (f64::from(days) * 24.0 > COOKIE_KEEPS.to_hours()).then(|| {
        let message = format!(
            "The cookies for \"{}\" are baked {days} days before they are handed over; they are at their best for a week.",
            order.title
        );
        HeadsUp::new(Severity::Note, Subject::Days, message).hint(
            "Freeze them sealed, plain for up to about 60 days or iced and quite dry for up to about 30, and thaw them in their closed box.",
        )
    })
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
    let all_spans = week.spans(&week.calendar);
    let Some(spans) = all_spans.first() else { return Vec::new() };
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

fn does_not_fit(error: &timing::Error, orders: &[OrderWork], bundles: &[Bundle]) -> HeadsUp {
    let message = cannot_be_placed(error, orders, bundles, None);
    HeadsUp::new(Severity::Stop, Subject::Days, message)
        .hint("Add working hours on the kitchen's page, or spread the order over more days.")
}

/// Says which work of which order finds no place; `asked` is one more order behind the bundles.
pub(super) fn cannot_be_placed(
    error: &timing::Error,
    orders: &[OrderWork],
    bundles: &[Bundle],
    asked: Option<&OrderWork>,
) -> String {
    let titles = |project: usize| match bundles.get(project) {
        Some(bundle) => quoted(bundle.members.iter().map(|&order| &orders[order])),
        None => "what is asked".to_owned(),
    };
    let activity = |project: usize, task: usize| {
        let step = match bundles.get(project) {
            Some(bundle) => bundle.steps.get(task).map(|shared| shared.step.activity),
            None => asked.and_then(|work| work.steps.get(task)).map(|step| step.activity),
        };
        step.map_or("some work", Activity::words)
    };
    match error {
        timing::Error::NoRoom { project, task } => format!(
            "In these working hours {} finds no room, however late {} may be.",
            activity(*project, *task),
            titles(*project)
        ),
        timing::Error::Stale { project, .. } => {
            format!(
                "In these working hours {} cannot be fresh when it is handed over.",
                titles(*project)
            )
        }
        _ => "The work does not fit these working hours.".to_owned(),
    }
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
        with: Vec::new(),
        activity,
        start: axis.at(start),
        end: axis.at(end),
        attended,
    };
    let mut found: Vec<DayEntry> = Vec::new();
    for (step, span) in order.steps.iter().zip(spans).filter(|(step, _)| step.done.is_none()) {
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
    let is_done = |step: usize| order.steps.get(step).is_some_and(|step| step.done.is_some());
    for rest in order.rests.iter().filter(|rest| !is_done(rest.before)) {
        let (Some(kind), Some(after), Some(before)) =
            (rest.activity, spans.get(rest.after), spans.get(rest.before))
        else {
            continue;
        };
        // Plain cookies that are iced so soon only cool and wait in a closed tin.
        let is_soon = before.start - after.end <= minutes(FREEZING_PAYS);
        // A drying night and a stay in the freezer last until the next work; any other rest as long as it must.
        let (kind, end) = match kind {
            Activity::Freeze if is_soon => (Activity::Cool, after.end + minutes(rest.least - THAW)),
            Activity::Freeze | Activity::Dry => (kind, before.start),
            _ => (kind, after.end + minutes(rest.least)),
        };
        found.push(entry(kind, after.end, end, false));
    }
    found.extend(order.handovers.iter().map(|at| DayEntry {
        order: place,
        with: Vec::new(),
        activity: Activity::HandOver,
        start: at.clone(),
        end: at.clone(),
        attended: true,
    }));
    found
}

/// Setting up before the first work of each stretch of hours and washing up behind the last, unless nothing but packing is done.
fn around_sessions(kitchen: &Kitchen, axis: &Axis, entries: &[DayEntry]) -> Vec<DayEntry> {
    let hands_on = |entry: &&DayEntry| entry.attended && entry.activity != Activity::HandOver;
    let pieces: Vec<(i64, i64, &DayEntry)> = entries
        .iter()
        .filter(hands_on)
        .map(|entry| {
            let minute = |at: &ZonedDateTime| axis.minute_of(at.timestamp());
            (minute(&entry.start), minute(&entry.end), entry)
        })
        .collect();
    let (before, after) = (minutes(kitchen.pace.set_up), minutes(kitchen.pace.wash_up));
    let mut found = Vec::new();
    for &(from, to) in &axis.hours {
        let of_window = || pieces.iter().filter(|(start, end, _)| *start >= from && *end <= to);
        if !of_window().any(|(.., entry)| entry.activity != Activity::Pack) {
            continue;
        }
        let first = of_window().min_by_key(|(start, ..)| *start);
        let last = of_window().max_by_key(|(_, end, _)| *end);
        let (Some(&(first, _, opens)), Some(&(_, last, closes))) = (first, last) else { continue };
        let mut add = |entry: &DayEntry, activity, start: i64, end: i64| {
            if start < end {
                let (start, end) = (axis.at(start), axis.at(end));
                let (order, with) = (entry.order, Vec::new());
                found.push(DayEntry { order, with, activity, start, end, attended: true });
            }
        };
        add(opens, Activity::SetUp, first - before, first);
        add(closes, Activity::WashUp, last, last + after);
    }
    found
}
