//! Days as rows counted down to the pickup, and the nights between them.

use craft::document::plan::{DayDocument, PlanDocument};
use jiff::{
    ZonedDateTime,
    civil::{Date, Time},
};
use maud::{Markup, html};
use papers::moon;

use super::{capital, day_and_month, time};

/// The days of all open orders, from a day on: each with a bar of its hours; nothing if no work is planned.
pub(crate) fn all_days(
    entries: &[DayDocument],
    hours: &dyn Fn(Date) -> Vec<(Time, Time)>,
    from: Date,
) -> Option<Markup> {
    let works = read(entries);
    let mut days: Vec<Date> = works
        .iter()
        .filter(|work| is_work(work.entry))
        .map(|work| work.start.date())
        .filter(|day| *day >= from)
        .collect();
    days.sort();
    days.dedup();
    let pickup = |day: Date| {
        let handed = works.iter().filter(|work| is_hand_over(work.entry));
        handed.map(|work| work.start.date()).filter(|at| *at >= day).min().unwrap_or(day)
    };
    (!days.is_empty()).then(|| {
        html! {
            ol.days {
                @for (place, day) in days.iter().enumerate() {
                    @if place > 0 { (night_between(&works, days[place - 1], *day)) }
                    (day_row(&works, *day, pickup(*day), Some(&hours(*day))))
                }
            }
        }
    })
}

/// Reads the times of entries; one that cannot be read is left out.
fn read(entries: &[DayDocument]) -> Vec<Work<'_>> {
    let times = |entry: &DayDocument| Some((entry.start.parse().ok()?, entry.end.parse().ok()?));
    entries
        .iter()
        .filter_map(|entry| times(entry).map(|(start, end)| Work { entry, start, end }))
        .collect()
}

/// One piece of work with its times read.
struct Work<'a> {
    entry: &'a DayDocument,
    start: ZonedDateTime,
    end: ZonedDateTime,
}

/// The rows of a plan's days; nothing if no days are planned.
pub(crate) fn day_rows(plan: &PlanDocument) -> Option<Markup> {
    let works = read(&plan.days);
    let own = || works.iter().filter(|work| work.entry.this_order);
    let first = own().map(|work| work.start.date()).min()?;
    let last = own().filter(|work| is_hand_over(work.entry)).map(|work| work.start.date()).max()?;
    let pickup =
        own().filter(|work| is_hand_over(work.entry)).map(|work| work.start.date()).min()?;
    let mut days: Vec<Date> = works
        .iter()
        .filter(|work| is_work(work.entry))
        .map(|work| work.start.date())
        .filter(|day| (first..=last).contains(day))
        .collect();
    days.sort();
    days.dedup();
    Some(html! {
        ol.days {
            @for (place, day) in days.iter().enumerate() {
                @if place > 0 { (night_between(&works, days[place - 1], *day)) }
                (day_row(&works, *day, pickup, None))
            }
        }
    })
}

/// Setting up and washing up belong to the stretch of hours, not to an order.
pub(crate) fn is_around(activity: &str) -> bool {
    matches!(activity, "set up" | "wash up")
}

fn is_hand_over(entry: &DayDocument) -> bool {
    entry.activity == "hand over"
}

/// What makes a day a row: hands at work, the oven, a hand-over.
fn is_work(entry: &DayDocument) -> bool {
    entry.attended || entry.activity == "bake"
}

fn day_row(works: &[Work<'_>], day: Date, pickup: Date, hours: Option<&[(Time, Time)]>) -> Markup {
    let of_day = || works.iter().filter(|work| is_work(work.entry) && work.start.date() == day);
    let span = of_day()
        .map(|work| work.start.datetime())
        .min()
        .zip(of_day().map(|work| work.end.datetime()).max());
    html! {
        li.day {
            span.count { (n_days(day, pickup).unsigned_abs()) }
            p { b { (day.strftime("%A").to_string()) } small { (day_and_month(day)) } }
            ul.doing {
                @for work in of_day() {
                    li class=[(!work.entry.this_order).then_some("soft")] {
                        span.figures.at { (time(work.start.datetime())) }
                        span {
                            (capital(&doing(&work.entry.activity)))
                            @let names_it = !work.entry.this_order || hours.is_some();
                            @if names_it && !is_around(&work.entry.activity) { " for " (work.entry.order) }
                        }
                    }
                }
            }
            @if let Some(hours) = hours { (bar(hours, &of_day().collect::<Vec<_>>())) }
            @if let Some((from, to)) = span {
                p.span { @if from == to { (time(from)) } @else { (time(from)) " to " (time(to)) } }
            }
        }
    }
}

/// The day as a bar from six in the morning to midnight: the hours, and the work in them.
fn bar(hours: &[(Time, Time)], works: &[&Work<'_>]) -> Markup {
    const FROM: f64 = 6.0;
    let at = |time: Time| {
        let hour = f64::from(time.hour()) + f64::from(time.minute()) / 60.0 - FROM;
        hour.clamp(0.0, 24.0 - FROM) * 10.0
    };
    let stretch = |class: &str, from: Time, to: Time| {
        let (from, to) = (at(from), at(to));
        html! { rect class=(class) x=(format!("{from:.1}")) width=(format!("{:.1}", (to - from).max(1.0))) height="8" {} }
    };
    html! {
        svg.bar viewBox="0 0 180 8" preserveAspectRatio="none" aria-hidden="true" {
            @for &(from, to) in hours { (stretch("hours", from, to)) }
            @for work in works {
                @let class = match work.entry.activity.as_str() {
                    "bake" => "oven",
                    "hand over" => "handed",
                    activity if is_around(activity) => "around",
                    _ => "own",
                };
                (stretch(class, work.start.time(), work.end.time()))
            }
        }
    }
}

/// "decorate, session 2".
fn doing(activity: &str) -> String {
    match activity.strip_prefix("decorate ") {
        Some(session) => format!("decorate, session {session}"),
        None => activity.to_owned(),
    }
}

fn n_days(from: Date, to: Date) -> i32 {
    (to - from).get_days()
}

/// The nights from one day of work to the next, and what happens in them by itself.
fn night_between(works: &[Work<'_>], before: Date, after: Date) -> Markup {
    let n_nights = n_days(before, after);
    let rests = |work: &&Work<'_>| {
        !is_work(work.entry)
            && work.entry.this_order
            && work.start.date() <= before
            && work.end.date() > before
    };
    let mut resting: Vec<&str> =
        works.iter().filter(rests).map(|work| rest_words(&work.entry.activity)).collect();
    resting.sort_unstable();
    resting.dedup();
    let what = match (resting.is_empty(), n_nights) {
        (false, _) => resting.join(" "),
        (true, 1) => "A night.".to_owned(),
        (true, _) => "Nothing to do.".to_owned(),
    };
    let nights = if n_nights > 1 { format!("{n_nights} nights. {what}") } else { what };
    night(before, &nights)
}

fn rest_words(activity: &str) -> &'static str {
    match activity {
        "chill dough" => "The dough rests in the cold.",
        "temper frozen dough" => "The dough softens.",
        "chill cut cookies" => "The cut cookies rest in the cold.",
        "cool" => "The cookies cool.",
        "keep frozen" => {
            "The plain cookies lie in the freezer; they thaw in their closed box before icing."
        }
        "dry" => "The icing dries; the trays stay taken.",
        _ => "It rests.",
    }
}

/// One night with the moon of its date.
fn night(date: Date, words: &str) -> Markup {
    html! {
        li.night {
            svg.moon viewBox="0 0 24 24" aria-hidden="true" {
                circle.moon-dark cx="12" cy="12" r="10" {}
                path.moon-lit d=(moon::lit_path(date, [12.0, 12.0], 10.0)) {}
            }
            span { (words) }
        }
    }
}

/// A night between two pieces of work whose dates are not known.
pub(crate) fn night_bar(words: &str) -> Markup {
    html! { p.night { span { (words) } } }
}
