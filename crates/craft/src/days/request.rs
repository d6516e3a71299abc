//! "Can I take this?": one more order beside all that are open.
//!
//! - *yes*: it fits beside the work of the others, or beside it once that is moved within what was promised; with the latest
//!   safe start and the room each day has left,
//! - *yes if*: it fits once something is changed; every change was tried by the engine, the one that asks least stands first,
//! - *no*: none of them helps; with the fewest orders that stand in its way, or what it needs even alone.
//!
//! A safe start leaves a tenth of the work as a buffer (common practice, no source).

use std::ops::ControlFlow;

use jiff::{
    ToSpan, ZonedDateTime,
    civil::{Date, Time, time},
};
use quantity::{Share, Span};
use timing::{Blocked, Calendar, CalendarProblem, Obstacle, Project, Spread};

use super::{
    Activity, DAYS_AHEAD, DayEntry, OrderWork, Week,
    axis::{Axis, minutes},
    frame, quoted,
    week::{cannot_be_placed, entries_of},
};

/// What is asked for.
#[derive(Clone, Debug)]
pub struct Request {
    /// What it asks of the days; its first hand-over is the day it is wanted for.
    pub work: OrderWork,
    /// The same with one more pair of hands at the table.
    pub helped: Option<OrderWork>,
    /// The same with cookies one level plainer.
    pub plainer: Option<OrderWork>,
}

/// Whether it can be taken.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Verdict {
    /// As it is.
    Yes,
    /// With one of the changes that were tried.
    YesIf,
    /// Not with any of them.
    No,
}

/// Something that would make room.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Change {
    /// More cookies in a week than the maker's own limit.
    PastCap {
        /// Cookies of that week, with these.
        cookies: u32,
        /// The limit.
        cap: u32,
    },
    /// The cookies are baked earlier and frozen plain.
    BakeAhead,
    /// Packed on the day itself, in the morning.
    PackOnTheDay,
    /// One more stretch of working hours.
    ExtraHours {
        /// The day.
        day: Date,
        /// Its start.
        from: Time,
        /// Its end.
        to: Time,
    },
    /// One more pair of hands at the table.
    Helper,
    /// Cookies one level plainer.
    Plainer,
    /// Fewer cookies.
    Fewer {
        /// So many at most.
        cookies: u32,
    },
    /// Handed over later.
    Later {
        /// The first day that works.
        day: Date,
    },
}

/// A change and what came of it.
#[derive(Clone, Debug, PartialEq)]
pub struct Tried {
    /// The change.
    pub change: Change,
    /// When the work must begin at the latest with it; nothing if it does not help.
    pub begin: Option<ZonedDateTime>,
}

/// What is left of a day.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Room {
    /// The day.
    pub day: Date,
    /// Working time of the day, between setting up and washing up.
    pub hours: Span,
    /// What other orders leave free of it.
    pub free: Span,
    /// What this order takes of that, if it can be taken.
    pub taken: Span,
}

/// The answer to a request.
#[derive(Clone, Debug, PartialEq)]
pub struct Answer {
    /// Whether it can be taken.
    pub verdict: Verdict,
    /// Why it does not fit as it is.
    pub because: Option<String>,
    /// When its work must begin at the latest, as it is.
    pub begin: Option<ZonedDateTime>,
    /// How likely everything is packed in time, of replays in which work takes longer or shorter than planned.
    pub on_time: Option<Share>,
    /// Titles of orders whose work moves to other hours, within what was promised.
    pub moves: Vec<String>,
    /// What was tried, what asks least first.
    pub tried: Vec<Tried>,
    /// What is left of each day until then.
    pub room: Vec<Room>,
    /// Its work, if it can be taken as it is.
    pub entries: Vec<DayEntry>,
}

/// A day of the weeks ahead, asked for the same cookies.
#[derive(Clone, Debug, PartialEq)]
pub struct StripDay {
    /// The day they would be handed over.
    pub day: Date,
    /// Whether they can be taken.
    pub verdict: Verdict,
    /// What makes it so: when to begin, what to change, what is in the way.
    pub words: String,
}

/// Packed by then on the day itself.
const NOON: Time = time(12, 0, 0, 0);
/// An evening and a morning that may be added.
const EXTRA: [(Time, Time); 2] =
    [(time(18, 0, 0, 0), time(21, 0, 0, 0)), (time(8, 0, 0, 0), time(11, 0, 0, 0))];
/// Days before the hand-over on which hours may be added.
const EXTRA_DAYS: i32 = 10;
/// Plans looked at to move the work of others within what was promised: for the day that is asked, and for others.
const MOVING_ASKED: u64 = 2_000;
const MOVING_STRIP: u64 = 12;
/// Replays of the days behind [`Answer::on_time`].
pub const N_REPLAYS: u32 = 200;
/// How far hands are off their plan: on the whole, and from one piece of work to the next (common practice, no source).
const SPREAD: Spread = Spread { all: 0.15, each: 0.15 };

/// A way in which the order was tried.
struct Trial {
    axis: Axis,
    project: Project,
}

/// Where it fits.
struct Placed {
    axis: Axis,
    /// The calendar of the others, moved or not.
    calendar: Calendar,
    project: Project,
    /// When it must be ready.
    due: i64,
    spans: Vec<timing::Span>,
}

impl Placed {
    fn begin(&self) -> ZonedDateTime {
        self.axis.at(self.spans.iter().map(|span| span.start).min().unwrap_or(0))
    }
}

impl Week {
    /// Answers whether one more order can be taken.
    pub fn answer(&self, request: &Request) -> Answer {
        let day = self.day_of(&request.work);
        let plain = self.trial(&request.work, day);
        let placed = plain.as_ref().and_then(|trial| self.place(trial, MOVING_ASKED));
        let past_cap = self.past_cap(&request.work, day);
        let mut answer = Answer {
            verdict: Verdict::No,
            because: None,
            begin: placed.as_ref().map(Placed::begin),
            on_time: None,
            moves: Vec::new(),
            tried: Vec::new(),
            room: self.room(day, placed.as_ref()),
            entries: Vec::new(),
        };
        match &placed {
            Some(placed) => {
                answer.on_time = Some(self.on_time(placed));
                answer.moves = self.moves(placed);
                let place = self.orders.len();
                answer.entries = entries_of(&placed.axis, place, &request.work, &placed.spans);
                answer.verdict = Verdict::Yes;
                if let Some(change) = past_cap {
                    answer.verdict = Verdict::YesIf;
                    answer.tried.push(Tried { change, begin: answer.begin.clone() });
                }
            }
            None => {
                let because = self.because(plain.as_ref(), &request.work);
                answer.because = Some(with_cap(because, past_cap.as_ref()));
                let mut tried = self.changes(request, day);
                tried.extend(self.fewer(&request.work, day));
                tried.extend(self.later(&request.work, day));
                if tried.iter().any(|one| one.begin.is_some()) {
                    answer.verdict = Verdict::YesIf;
                }
                answer.tried = tried;
            }
        }
        answer
    }

    /// Answers the same request for every day of the eight weeks ahead.
    pub fn strip(&self, request: &Request) -> Vec<StripDay> {
        let days = (1..=DAYS_AHEAD).filter_map(|ahead| self.today.checked_add(ahead.days()).ok());
        days.map(|day| self.strip_day(request, day)).collect()
    }

    fn strip_day(&self, request: &Request, day: Date) -> StripDay {
        let begin_by = |at: &ZonedDateTime| format!("begin by {}", at.strftime("%A %-d %B"));
        let trial = self.trial(&request.work, day);
        if let Some(placed) = trial.as_ref().and_then(|trial| self.place(trial, MOVING_STRIP)) {
            let words = begin_by(&placed.begin());
            return match self.past_cap(&request.work, day) {
                None => StripDay { day, verdict: Verdict::Yes, words },
                Some(change) => StripDay { day, verdict: Verdict::YesIf, words: change.words() },
            };
        }
        let first = self.changes_of(request, day).find_map(|(change, trial)| {
            let placed = self.place(&trial?, 0)?;
            Some(format!("{}; {}", change.words(), begin_by(&placed.begin())))
        });
        match first {
            Some(words) => {
                let words = with_cap(words, self.past_cap(&request.work, day).as_ref());
                StripDay { day, verdict: Verdict::YesIf, words }
            }
            None => {
                let words = self.because(trial.as_ref(), &request.work);
                StripDay { day, verdict: Verdict::No, words }
            }
        }
    }

    fn day_of(&self, work: &OrderWork) -> Date {
        work.handovers.first().map_or(self.today, ZonedDateTime::date)
    }

    /// The order as it is, packed by the evening before a day.
    fn trial(&self, work: &OrderWork, day: Date) -> Option<Trial> {
        let due = self.axis.midnight(day)?;
        Some(self.trial_by(work, self.axis.clone(), due))
    }

    fn trial_by(&self, work: &OrderWork, axis: Axis, due: i64) -> Trial {
        let project = frame::project(&self.kitchen, &axis, work, due);
        Trial { axis, project }
    }

    /// Places an order beside the others, or with `moving` plans looked at to move them within what was promised.
    fn place(&self, trial: &Trial, moving: u64) -> Option<Placed> {
        let problem =
            CalendarProblem { windows: trial.axis.windows.clone(), ..self.problem.clone() };
        let buffer = minutes(attended(&trial.project) * BUFFER);
        let placed = |spans, calendar: Calendar, project: Project| Placed {
            axis: trial.axis.clone(),
            calendar,
            project,
            due: trial.project.due,
            spans,
        };
        for due in [trial.axis.with_buffer(trial.project.due, buffer), trial.project.due] {
            let project = Project { due, ..trial.project.clone() };
            let fit = timing::fit_project(&problem, &self.calendar, &project).ok()?;
            if fit.tardiness == 0 {
                return Some(placed(fit.spans, self.calendar.clone(), project));
            }
        }
        if moving == 0 || self.bundles.is_empty() {
            return None;
        }
        let project = trial.project.clone();
        let mut all = problem;
        all.projects.push(project.clone());
        let on_time = &mut |calendar: &Calendar| {
            let is_late = calendar.tardiness.iter().any(|&late| late > 0);
            if is_late { ControlFlow::Continue(()) } else { ControlFlow::Break(()) }
        };
        let mut calendar = timing::solve_calendar(&all, moving, self.seed, on_time).ok()?;
        let was_late = |place: usize| self.calendar.tardiness.get(place).copied().unwrap_or(0);
        let is_worse = calendar.tardiness.iter().enumerate().any(|(at, &late)| late > was_late(at));
        if is_worse {
            return None;
        }
        let spans = calendar.spans.pop()?;
        calendar.tardiness.pop();
        calendar.blocked_by.pop();
        Some(placed(spans, calendar, project))
    }

    /// Titles of orders whose work lies elsewhere than before.
    fn moves(&self, placed: &Placed) -> Vec<String> {
        let (before, after) = (self.spans(&self.calendar), self.spans(&placed.calendar));
        let pairs = self.orders.iter().zip(before.iter().zip(&after));
        pairs
            .filter(|(_, (before, after))| before != after)
            .map(|(order, _)| order.title.clone())
            .collect()
    }

    fn on_time(&self, placed: &Placed) -> Share {
        let problem =
            CalendarProblem { windows: placed.axis.hours.clone(), ..self.problem.clone() };
        let own = (&placed.project, placed.spans.as_slice(), placed.due);
        let others = &placed.calendar.spans;
        Share::of_one(timing::ready_in_time(&problem, others, own, SPREAD, N_REPLAYS, self.seed))
    }

    /// The maker's own limit, if this order would break it.
    fn past_cap(&self, work: &OrderWork, day: Date) -> Option<Change> {
        let week = |day: Date| {
            let offset = i64::from(day.weekday().to_monday_zero_offset());
            day.checked_sub(offset.days()).ok()
        };
        let others = self.orders.iter().filter(|order| week(self.day_of(order)) == week(day));
        let cookies = others.map(|order| order.n_cookies).fold(work.n_cookies, u32::saturating_add);
        let cap = self.kitchen.week_cap;
        (cookies > cap).then_some(Change::PastCap { cookies, cap })
    }

    /// The changes that can be tried, what asks least first, each with the order as it would then be.
    fn changes_of<'a>(
        &'a self,
        request: &'a Request,
        day: Date,
    ) -> impl Iterator<Item = (Change, Option<Trial>)> + 'a {
        let work = &request.work;
        let ahead = work.baked_ahead().map(|work| (Change::BakeAhead, self.trial(&work, day)));
        let noon = self.axis.minute(day, NOON);
        let on_the_day =
            (Change::PackOnTheDay, noon.map(|noon| self.trial_by(work, self.axis.clone(), noon)));
        let extra = (1..=EXTRA_DAYS).filter_map(move |before| {
            let at = day.checked_sub(before.days()).ok().filter(|at| *at >= self.today)?;
            let (from, to) = self.free_stretch(at)?;
            let axis = self.axis.with_hours(&self.kitchen, at, from, to);
            let trial = self.axis.midnight(day).map(|due| self.trial_by(work, axis, due));
            Some((Change::ExtraHours { day: at, from, to }, trial))
        });
        let helped = request.helped.iter().map(move |work| (Change::Helper, self.trial(work, day)));
        let plainer =
            request.plainer.iter().map(move |work| (Change::Plainer, self.trial(work, day)));
        ahead.into_iter().chain([on_the_day]).chain(extra).chain(helped).chain(plainer)
    }

    /// Tries the changes: of added hours the first that helps stands for all.
    fn changes(&self, request: &Request, day: Date) -> Vec<Tried> {
        let mut tried: Vec<Tried> = Vec::new();
        for (change, trial) in self.changes_of(request, day) {
            let is_extra = |one: &Change| matches!(one, Change::ExtraHours { .. });
            if is_extra(&change)
                && tried.iter().any(|one| is_extra(&one.change) && one.begin.is_some())
            {
                continue;
            }
            let placed = trial.and_then(|trial| self.place(&trial, MOVING_ASKED / 10));
            let begin = placed.as_ref().map(Placed::begin);
            if is_extra(&change) && begin.is_none() {
                continue;
            }
            tried.push(Tried { change, begin });
        }
        tried
    }

    /// The most cookies that fit, found by halving; less than a third of what was asked is no answer to it.
    fn fewer(&self, work: &OrderWork, day: Date) -> Option<Tried> {
        let begin = |cookies: u32| {
            let scaled = scaled(work, f64::from(cookies) / f64::from(work.n_cookies.max(1)));
            Some(self.place(&self.trial(&scaled, day)?, 0)?.begin())
        };
        // The maker's own limit holds for fewer, too.
        let most = match self.past_cap(work, day) {
            Some(Change::PastCap { cookies, cap }) => work.n_cookies.saturating_sub(cookies - cap),
            _ => work.n_cookies,
        };
        let (mut fits, mut fails) = (work.n_cookies.div_ceil(3), most.min(work.n_cookies - 1) + 1);
        if fits >= fails {
            return None;
        }
        let mut found = begin(fits)?;
        while fails - fits > 1 {
            let middle = fits.midpoint(fails);
            match begin(middle) {
                Some(begin) => (fits, found) = (middle, begin),
                None => fails = middle,
            }
        }
        Some(Tried { change: Change::Fewer { cookies: fits }, begin: Some(found) })
    }

    /// The first later day that works.
    fn later(&self, work: &OrderWork, day: Date) -> Option<Tried> {
        let days = (1..DAYS_AHEAD).filter_map(|after| day.checked_add(after.days()).ok());
        days.take_while(|day| (*day - self.today).get_days() <= DAYS_AHEAD).find_map(|later| {
            let placed = self.place(&self.trial(work, later)?, 0)?;
            let change = Change::Later { day: later };
            Some(Tried { change, begin: Some(placed.begin()) })
        })
    }

    /// A stretch on a day that is neither worked nor a day off.
    fn free_stretch(&self, day: Date) -> Option<(Time, Time)> {
        if self.kitchen.hours.days_off.contains(&day) {
            return None;
        }
        let hours = self.kitchen.hours.on(day);
        let is_free = |&(from, to): &(Time, Time)| hours.iter().all(|&(a, b)| to <= a || b <= from);
        EXTRA.into_iter().find(is_free)
    }

    /// What is left of each day until a hand-over.
    fn room(&self, until: Date, placed: Option<&Placed>) -> Vec<Room> {
        let axis = placed.map_or(&self.axis, |placed| &placed.axis);
        let calendar = placed.map_or(&self.calendar, |placed| &placed.calendar);
        let spans = self.spans(calendar);
        let others: Vec<(i64, i64)> =
            spans.iter().enumerate().flat_map(|(order, spans)| self.pieces(order, spans)).collect();
        let own: Vec<(i64, i64)> = placed.map_or_else(Vec::new, |placed| {
            placed
                .spans
                .iter()
                .zip(&placed.project.tasks)
                .filter(|(_, task)| matches!(task.work, timing::Work::Attended { .. }))
                .flat_map(|(span, _)| span.pieces.iter().copied())
                .collect()
        });
        let mut room = Vec::new();
        let mut day = self.today;
        while day < until && room.len() < DAYS_AHEAD as usize {
            let (Some(from), Some(to)) =
                (axis.midnight(day), day.tomorrow().ok().and_then(|next| axis.midnight(next)))
            else {
                break;
            };
            let within = |list: &[(i64, i64)]| -> i64 {
                list.iter().map(|&(a, b)| (b.min(to) - a.max(from)).max(0)).sum()
            };
            let hours = within(&axis.windows);
            room.push(Room {
                day,
                hours: span(hours),
                free: span(hours - within(&others)),
                taken: span(within(&own)),
            });
            let Ok(next) = day.tomorrow() else { break };
            day = next;
        }
        room
    }

    /// The attended stretches of an order; what is shared counts for the order it is told with.
    fn pieces(&self, order: usize, spans: &[timing::Span]) -> Vec<(i64, i64)> {
        let steps = self.orders[order].steps.iter().zip(spans).enumerate();
        let attended = steps.filter(|(place, (step, _))| {
            step.activity.is_attended() && !self.is_told_elsewhere(order, *place)
        });
        attended.flat_map(|(_, (_, span))| span.pieces.iter().copied()).collect()
    }

    /// Why an order does not fit: the fewest orders in its way, or what it needs even alone.
    fn because(&self, trial: Option<&Trial>, work: &OrderWork) -> String {
        let Some(Trial { axis, project }) = trial else {
            return "The day lies outside the days that can be laid out.".to_owned();
        };
        let problem = CalendarProblem { windows: axis.windows.clone(), ..self.problem.clone() };
        let refused = |error: &timing::Error| {
            cannot_be_placed(error, &self.orders, &self.bundles, Some(work))
        };
        let clash = match timing::clash_of(&problem, &self.calendar, project) {
            Ok(Some(clash)) => clash,
            Ok(None) => return "There is room, but none to spare.".to_owned(),
            Err(error) => return refused(&error),
        };
        if clash.projects.is_empty() {
            return self.alone(axis, project, clash.blocked_by);
        }
        let fit = match timing::fit_project(&problem, &self.calendar, project) {
            Ok(fit) => fit,
            Err(error) => return refused(&error),
        };
        let in_the_way = clash.projects.iter().filter_map(|&at| self.bundles.get(at));
        let members = in_the_way.flat_map(|bundle| bundle.members.iter());
        let titles = quoted(members.map(|&order| &self.orders[order]));
        let blocked = fit.blocked_by;
        let activity = blocked.and_then(|blocked| work.steps.get(blocked.task));
        let activity = activity.map_or("the work", |step| step.activity.words());
        let what = match blocked.map(|blocked| blocked.obstacle) {
            Some(Obstacle::Resource(frame::OVEN)) => "the oven is taken",
            Some(Obstacle::Resource(frame::MIXER)) => "the mixer is taken",
            Some(Obstacle::Resource(_)) => "the trays are taken, with cookies drying on them,",
            _ => "your hours before then are taken",
        };
        format!("There is no room for {activity}: {what} by {titles}.")
    }

    /// Why an order is late even with nothing else to do.
    fn alone(&self, axis: &Axis, project: &Project, blocked: Option<Blocked>) -> String {
        let alone = CalendarProblem {
            projects: vec![project.clone()],
            windows: axis.windows.clone(),
            ..self.problem.clone()
        };
        let placed =
            timing::solve_calendar(&alone, 1, self.seed, &mut |_| ControlFlow::Continue(()));
        let ready =
            placed.ok().and_then(|one| one.spans.first()?.iter().map(|span| span.end).max());
        let ready = ready.map_or_else(String::new, |ready| {
            let ready = axis.at(ready).strftime("%A %-d %B").to_string();
            format!(": begun today with nothing else to do, it is packed on {ready}")
        });
        match blocked.map(|blocked| blocked.obstacle) {
            Some(Obstacle::MostTime | Obstacle::Age) => {
                format!(
                    "It is more than these hours hold between its dough, which keeps two days, and its packing{ready}."
                )
            }
            _ => {
                format!("There are too few days until then for its work and drying nights{ready}.")
            }
        }
    }
}

/// Adds that the maker's own limit would be broken, too.
fn with_cap(words: String, past_cap: Option<&Change>) -> String {
    match past_cap {
        Some(Change::PastCap { cookies, cap }) => format!(
            "{}. It would also make {cookies} cookies that week, and your week cap is {cap}",
            words.trim_end_matches('.')
        ),
        _ => words,
    }
}

/// Share of the attended work that a safe start leaves as a buffer (common practice, no source).
const BUFFER: f64 = 0.1;

fn attended(project: &Project) -> Span {
    let tasks = project.tasks.iter();
    let attended = tasks.filter(|task| matches!(task.work, timing::Work::Attended { .. }));
    span(attended.map(|task| task.duration).sum())
}

fn span(ticks: i64) -> Span {
    Span::minutes(ticks as f64)
}

/// The same order with another count: what is done cookie by cookie takes as much less.
pub(crate) fn scaled(work: &OrderWork, share: f64) -> OrderWork {
    let mut work = work.clone();
    for step in &mut work.steps {
        if !matches!(step.activity, Activity::MakeIcing | Activity::Temper) {
            step.duration = step.duration * share;
            step.batches = None;
        }
    }
    work.n_trays = (work.n_trays as f64 * share).ceil() as usize;
    for shade in &mut work.shades {
        shade.mass = shade.mass * share;
    }
    work
}

impl Change {
    /// Says it after "yes, if".
    pub fn words(&self) -> String {
        let clock = |at: &Time| at.strftime("%-H:%M").to_string();
        match self {
            Self::PastCap { cookies, cap } => {
                format!(
                    "you go beyond your own limit: with these, {cookies} cookies are handed over in that week, from Monday to Sunday, and the kitchen's week cap is {cap}"
                )
            }
            Self::BakeAhead => {
                "the cookies are baked earlier and frozen plain, sealed, for up to 60 days"
                    .to_owned()
            }
            Self::PackOnTheDay => "they are packed on the day itself, by noon".to_owned(),
            Self::ExtraHours { day, from, to } => {
                format!(
                    "you also work on {}, {} to {}",
                    day.strftime("%A %-d %B"),
                    clock(from),
                    clock(to)
                )
            }
            Self::Helper => "somebody decorates with you".to_owned(),
            Self::Plainer => "they are one step plainer".to_owned(),
            Self::Fewer { cookies } => format!("there are {cookies} of them instead"),
            Self::Later { day } => format!("they are for {}", day.strftime("%A %-d %B")),
        }
    }
}

#[cfg(test)]
mod tests;
