//! The day plan: one row a day, counted down to the pickup, and the nights between.

use std::collections::BTreeMap;

use craft::document::plan::{DayDocument, PlanDocument};
use jiff::{ToSpan, ZonedDateTime, civil::Date};
use serde::Serialize;

use super::notes::{Note, about};
use crate::words::{n_of, time, titled, unique};

#[derive(Serialize)]
pub(super) struct Days {
    lead: String,
    rows: Vec<Row>,
    notes: Vec<Note>,
}

/// A day with the night behind it, or days without any work.
#[derive(Serialize)]
struct Row {
    /// Days until the next hand-over.
    countdown: String,
    weekday: String,
    date: String,
    work: Vec<Work>,
    /// What happens over night; nothing behind the last day.
    night: Option<String>,
}

#[derive(Clone, Debug, Serialize)]
struct Work {
    time: String,
    words: String,
    /// Whether hands are in it.
    hands: bool,
    /// The other order it belongs to; empty for this one.
    order: String,
}

/// A document's entry with its times read.
struct Entry<'a> {
    entry: &'a DayDocument,
    start: ZonedDateTime,
    end: ZonedDateTime,
}

pub(super) fn days<'a>(document: &'a PlanDocument) -> Days {
    let read = |entry: &'a DayDocument| {
        let DayDocument { start, end, .. } = entry;
        Some(Entry { entry, start: start.parse().ok()?, end: end.parse().ok()? })
    };
    let entries: Vec<Entry<'_>> = document.days.iter().filter_map(read).collect();
    let handovers: Vec<Date> = document
        .order
        .handovers
        .iter()
        .filter_map(|handover| handover.at.parse::<ZonedDateTime>().ok())
        .map(|at| at.date())
        .collect();
    let mut by_day: BTreeMap<Date, Vec<&Entry<'_>>> = BTreeMap::new();
    for entry in &entries {
        by_day.entry(entry.start.date()).or_default().push(entry);
    }
    let rows = rows(&by_day, &entries, &handovers);
    let first = entries
        .iter()
        .filter(|entry| entry.entry.this_order && entry.entry.attended)
        .filter(|entry| entry.entry.activity != "set up")
        .min_by_key(|entry| entry.start.clone());
    Days {
        lead: first.map_or_else(
            || "No days are planned yet.".to_owned(),
            |first| {
                let words = first.entry.activity.as_str();
                format!("Begin on {}: {words}.", first.start.strftime("%A %-d %B"))
            },
        ),
        rows,
        notes: about(document, &["days"]),
    }
}

fn rows(
    by_day: &BTreeMap<Date, Vec<&Entry<'_>>>,
    entries: &[Entry<'_>],
    handovers: &[Date],
) -> Vec<Row> {
    let mut rows = Vec::new();
    let mut days = by_day.iter().peekable();
    while let Some((&day, today)) = days.next() {
        let next = days.peek().map(|(next, _)| **next);
        let countdown = handovers.iter().filter(|&&at| at >= day).min();
        rows.push(Row {
            countdown: countdown.map(|&at| days_between(day, at).to_string()).unwrap_or_default(),
            weekday: day.strftime("%A").to_string(),
            date: day.strftime("%-d %B").to_string(),
            work: today.iter().filter(|one| !is_overnight(one)).map(|one| work(one)).collect(),
            night: next.map(|next| night(entries, day, next)),
        });
    }
    rows
}

fn days_between(from: Date, to: Date) -> i32 {
    from.until(to).map_or(0, |span| span.get_days())
}

/// Tells whether nobody's hands are in it and it runs past midnight.
fn is_overnight(entry: &Entry<'_>) -> bool {
    !entry.entry.attended && entry.end.date() > entry.start.date()
}

fn work(entry: &Entry<'_>) -> Work {
    let Entry { entry: document, start, end } = entry;
    Work {
        time: if start == end { time(start) } else { format!("{} to {}", time(start), time(end)) },
        words: spoken_activity(&document.activity),
        hands: document.attended,
        order: if document.this_order { String::new() } else { document.order.clone() },
    }
}

/// "Decorate, session 2".
fn spoken_activity(activity: &str) -> String {
    match activity.split_once(' ') {
        Some((work, session)) if session.parse::<u32>().is_ok() => {
            format!("{}, session {session}", titled(work))
        }
        _ => titled(activity),
    }
}

/// What happens between two days with work: what rests, and days nobody needs.
fn night(entries: &[Entry<'_>], day: Date, next: Date) -> String {
    let morning = day.checked_add(1.day()).unwrap_or(day);
    let resting = entries.iter().filter(|entry| {
        is_overnight(entry) && entry.start.date() <= day && entry.end.date() >= morning
    });
    let told = resting.map(|entry| {
        let until = entry.end.strftime("%A %-H:%M");
        let order = if entry.entry.this_order {
            String::new()
        } else {
            format!(" ({})", entry.entry.order)
        };
        format!("{}{order} until {until}", spoken_activity(&entry.entry.activity))
    });
    let mut words = unique(told);
    let free = days_between(day, next) - 1;
    if free > 0 {
        words.push(format!("{} without work", n_of(free.unsigned_abs() as usize, "day", "days")));
    }
    words.join("; ")
}

#[cfg(test)]
mod tests {
    use super::*;

    fn entry(activity: &str, start: &str, end: &str, attended: bool) -> DayDocument {
        let zoned = |local: &str| format!("2027-03-{local}[America/Halifax]");
        DayDocument {
            activity: activity.to_owned(),
            order: "Naming party".to_owned(),
            this_order: true,
            start: zoned(start),
            end: zoned(end),
            attended,
        }
    }

    #[test]
    fn days_are_counted_down_and_nights_say_what_rests() {
        let documents = [
            entry("decorate 1", "06T14:39", "06T17:00", true),
            entry("dry", "06T17:00", "08T21:15", false),
            entry("decorate 2", "08T21:15", "08T22:00", true),
            // The clocks went forward in between.
            entry("hand over", "14T09:00", "14T09:00", true),
        ];
        let entries: Vec<Entry<'_>> = documents
            .iter()
            .map(|entry| Entry {
                entry,
                start: entry.start.parse().expect("a time"),
                end: entry.end.parse().expect("a time"),
            })
            .collect();
        let mut by_day: BTreeMap<Date, Vec<&Entry<'_>>> = BTreeMap::new();
        for entry in &entries {
            by_day.entry(entry.start.date()).or_default().push(entry);
        }
        let handovers = [jiff::civil::date(2027, 3, 12), jiff::civil::date(2027, 3, 14)];
        let told: Vec<String> = rows(&by_day, &entries, &handovers)
            .iter()
            .map(|row| {
                let work = row.work.iter().map(|work| format!("{} {}", work.time, work.words));
                format!(
                    "{} {} {}: {} / {:?}",
                    row.countdown,
                    row.weekday,
                    row.date,
                    work.collect::<Vec<_>>().join(", "),
                    row.night.as_ref().map(|night| night.replace('\u{a0}', " "))
                )
            })
            .collect();
        assert_eq!(
            told,
            [
                r#"6 Saturday 6 March: 14:39 to 17:00 Decorate, session 1 / Some("Dry until Monday 21:15; 1 day without work")"#,
                r#"4 Monday 8 March: 21:15 to 22:00 Decorate, session 2 / Some("5 days without work")"#,
                "0 Sunday 14 March: 9:00 Hand over / None",
            ]
        );
    }
}
