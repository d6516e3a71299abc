//! When are the maker's hands needed, as a file her own calendar can read?
//!
//! The format is iCalendar (RFC 5545): one event for each attended activity and each hand-over of one order, in UTC.
//! The lines are written here, since writers at hand stamp events with the clock and name them by chance;
//! the tests read them back with others' readers.
//! An event is known by order, activity and running number only, so that a newer plan moves the events of an older one.

use std::collections::BTreeMap;

use craft::document::plan::{PlanDocument, WeekDocument};
use jiff::{Timestamp, ZonedDateTime};

/// How long before an event its reminder sounds (common practice, no source).
const REMINDER: &str = "-PT15M";
/// A hand-over is a moment in the plan; in a calendar it takes a quarter of an hour (common practice, no source).
const HANDOVER_SECONDS: i64 = 15 * 60;
/// The activity that is a moment.
const HAND_OVER: &str = "hand over";

/// Writes the calendar file of a plan's own order, stamped with the day the plan was made, since no clock is asked.
pub fn calendar(plan: &PlanDocument) -> String {
    let order = &plan.order.title;
    let own = plan.days.iter().filter(|entry| entry.this_order && entry.attended);
    let events = own.map(|entry| Event {
        order: order.clone(),
        uid: slug(order),
        activity: &entry.activity,
        start: &entry.start,
        end: &entry.end,
    });
    write(order, &plan.basis.today, events)
}

/// Writes the calendar file of all open orders: a newer one moves the events of an older one.
pub fn week_calendar(week: &WeekDocument) -> String {
    let attended = week.entries.iter().filter(|entry| entry.attended);
    let events = attended.map(|entry| {
        let order = week.titles(entry);
        let uid = week.ids.get(entry.order).map_or_else(|| slug(&order), Clone::clone);
        Event { order, uid, activity: &entry.activity, start: &entry.start, end: &entry.end }
    });
    write("sugarwright", &week.today, events)
}

/// Hands at work, or a hand-over.
struct Event<'a> {
    order: String,
    /// Names the order among all.
    uid: String,
    activity: &'a str,
    start: &'a str,
    end: &'a str,
}

fn write<'a>(name: &str, today: &str, events: impl Iterator<Item = Event<'a>>) -> String {
    let mut file = File::default();
    file.line("BEGIN", "VCALENDAR");
    file.line("VERSION", "2.0");
    file.line("PRODID", "-//sugarwright//plan//EN");
    file.words("X-WR-CALNAME", name);
    let stamp = format!("{}T000000Z", today.replace('-', ""));
    let mut numbers: BTreeMap<(String, &str), usize> = BTreeMap::new();
    for Event { order, uid, activity, start, end } in events {
        let (Some(start), Some(end)) = (moment(start), moment(end)) else { continue };
        let key = (uid.clone(), activity);
        let number = numbers.entry(key).and_modify(|number| *number += 1).or_insert(1);
        let end = if activity == HAND_OVER {
            later(start, HANDOVER_SECONDS)
        } else {
            // RFC 5545, section 3.8.2.2: the end must lie behind the start.
            end.max(later(start, 60))
        };
        let summary = format!("{}: {order}", words_of(activity));
        file.line("BEGIN", "VEVENT");
        file.words("UID", &format!("{uid}-{}-{number}@sugarwright.invalid", slug(activity)));
        file.line("DTSTAMP", &stamp);
        file.line("DTSTART", &utc(start));
        file.line("DTEND", &utc(end));
        file.words("SUMMARY", &summary);
        file.line("BEGIN", "VALARM");
        file.line("ACTION", "DISPLAY");
        file.line("TRIGGER", REMINDER);
        file.words("DESCRIPTION", &summary);
        file.line("END", "VALARM");
        file.line("END", "VEVENT");
    }
    file.line("END", "VCALENDAR");
    file.text
}

/// Reads a time of a plan; one that cannot be read has no place in a calendar.
fn moment(at: &str) -> Option<Timestamp> {
    at.parse::<ZonedDateTime>().ok().map(|at| at.timestamp())
}

/// Content lines, folded and ended as RFC 5545, section 3.1 asks.
#[derive(Default)]
struct File {
    text: String,
}

/// Most octets of a line, the break aside (RFC 5545, section 3.1).
const LINE_OCTETS: usize = 75;

impl File {
    /// Writes a property whose value is text (RFC 5545, section 3.3.11).
    fn words(&mut self, name: &str, text: &str) {
        let mut value = String::new();
        for letter in text.chars() {
            match letter {
                '\\' | ';' | ',' => value.extend(['\\', letter]),
                _ if letter.is_control() => value.push(' '),
                _ => value.push(letter),
            }
        }
        self.line(name, &value);
    }

    /// Writes a property whose value needs no escaping.
    fn line(&mut self, name: &str, value: &str) {
        let mut n_octets = 0;
        for letter in format!("{name}:{value}").chars() {
            if n_octets + letter.len_utf8() > LINE_OCTETS {
                self.text.push_str("\r\n ");
                n_octets = 1;
            }
            self.text.push(letter);
            n_octets += letter.len_utf8();
        }
        self.text.push_str("\r\n");
    }
}

/// "Roll and cut", "Decorate, session 2".
fn words_of(activity: &str) -> String {
    if let Some(session) = activity.strip_prefix("decorate ") {
        return format!("Decorate, session {session}");
    }
    let mut letters = activity.chars();
    let first = letters.next().map(|letter| letter.to_uppercase().to_string());
    first.unwrap_or_default() + letters.as_str()
}

fn later(at: Timestamp, seconds: i64) -> Timestamp {
    Timestamp::from_second(at.as_second().saturating_add(seconds)).unwrap_or(at)
}

fn utc(at: Timestamp) -> String {
    at.strftime("%Y%m%dT%H%M%SZ").to_string()
}

/// Letters and digits in lower case, everything else one dash.
fn slug(text: &str) -> String {
    let lower = text.to_lowercase();
    let words = lower.split(|letter: char| !letter.is_alphanumeric());
    words.filter(|word| !word.is_empty()).collect::<Vec<_>>().join("-")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn activities_read_as_the_maker_says_them() {
        assert_eq!(words_of("roll and cut"), "Roll and cut");
        assert_eq!(words_of("decorate 2"), "Decorate, session 2");
    }

    #[test]
    fn slugs_keep_letters_of_every_alphabet() {
        assert_eq!(slug("Naming party for Zoë!"), "naming-party-for-zoë");
        assert_eq!(slug(" -- "), "");
    }
}
