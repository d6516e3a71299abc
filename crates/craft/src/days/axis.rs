//! Minutes from midnight of today, and the maker's working windows on that axis.

use jiff::{
    Timestamp, ToSpan, ZonedDateTime,
    civil::{Date, Time},
    tz::TimeZone,
};
use quantity::Span;

use crate::{
    days::{Activity, OrderWork, Step},
    kitchen::Kitchen,
};

/// Days after the last hand-over on which late work may still be placed.
const DAYS_AFTER: i32 = 21;
/// The days ahead that are laid out even where no order reaches so far: eight weeks, which a request may ask for.
pub const DAYS_AHEAD: i32 = 56;
/// The longest stretch of days that is laid out.
const DAYS_MOST: i32 = 400;
/// Minutes a window must leave between setting up and washing up to be worth it (common practice, no source).
const LEAST_WORK: i64 = 10;

#[derive(Clone, Debug)]
pub(super) struct Axis {
    zone: TimeZone,
    origin: Timestamp,
    /// The maker's hours, in order, not touching each other.
    pub(super) hours: Vec<(i64, i64)>,
    /// What is left of them for work between setting up and washing up.
    pub(super) windows: Vec<(i64, i64)>,
}

impl Axis {
    /// Lays out the days from today to some weeks after the last hand-over.
    pub(super) fn new(kitchen: &Kitchen, today: Date, orders: &[OrderWork]) -> Option<Self> {
        let zone = TimeZone::get(&kitchen.units.time_zone).ok()?;
        let origin = midnight(today, &zone)?;
        let mut axis = Self { zone, origin, hours: Vec::new(), windows: Vec::new() };
        let last =
            orders.iter().flat_map(|order| &order.handovers).map(ZonedDateTime::timestamp).max();
        let ahead = today.checked_add(DAYS_AHEAD.days()).ok()?;
        let last = last.map_or(ahead, |last| axis.date_of(last).max(ahead));
        let mut day = today;
        for _ in 0..DAYS_MOST {
            if (day - last).get_days() > DAYS_AFTER {
                break;
            }
            axis.hours_of(day, kitchen.hours.on(day));
            day = day.tomorrow().ok()?;
        }
        axis.carve(kitchen);
        Some(axis)
    }

    fn hours_of(&mut self, day: Date, windows: Vec<(Time, Time)>) {
        for (from, to) in windows {
            let (Some(from), Some(to)) = (self.minute(day, from), self.minute(day, to)) else {
                continue;
            };
            self.hours.push((from, to));
        }
        self.hours.retain(|(from, to)| from < to);
        self.hours.sort_unstable();
        self.hours.dedup_by(|next, last| {
            let touches = next.0 <= last.1;
            if touches {
                last.1 = last.1.max(next.1);
            }
            touches
        });
    }

    /// Takes setting up and washing up off each window.
    fn carve(&mut self, kitchen: &Kitchen) {
        let (before, after) = (minutes(kitchen.pace.set_up), minutes(kitchen.pace.wash_up));
        self.windows = self
            .hours
            .iter()
            .map(|&(from, to)| (from + before, to - after))
            .filter(|(from, to)| to - from >= LEAST_WORK)
            .collect();
    }

    /// Returns the axis with one more window on a day.
    pub(super) fn with_hours(&self, kitchen: &Kitchen, day: Date, from: Time, to: Time) -> Self {
        let mut axis = self.clone();
        axis.hours_of(day, vec![(from, to)]);
        axis.carve(kitchen);
        axis
    }

    /// Returns the minute of a wall-clock time; in a gap or fold of a clock change the time that keeps the order of the day.
    pub(super) fn minute(&self, day: Date, time: Time) -> Option<i64> {
        let at = day.to_datetime(time).to_zoned_datetime(self.zone.clone()).ok()?;
        Some(self.minute_of(at.timestamp()))
    }

    /// Returns the minute at which a day begins.
    pub(super) fn midnight(&self, day: Date) -> Option<i64> {
        Some(self.minute_of(midnight(day, &self.zone)?))
    }

    pub(super) fn minute_of(&self, at: Timestamp) -> i64 {
        (at.as_second() - self.origin.as_second()).div_euclid(60)
    }

    fn date_of(&self, at: Timestamp) -> Date {
        at.to_zoned_datetime(self.zone.clone()).date()
    }

    /// Returns the minute at which something was over that was done on a day: icing at the end of that evening, all else at noon,
    /// since a record knows its day only (common practice, no source).
    pub(super) fn done_at(&self, day: Date, activity: Activity) -> Option<i64> {
        let hour = if matches!(activity, Activity::Decorate(_)) { 22 } else { 12 };
        self.minute(day, Time::constant(hour, 0, 0, 0))
    }

    /// Returns the length of the longest working window.
    pub(super) fn longest_window(&self) -> i64 {
        self.windows.iter().map(|(from, to)| to - from).max().unwrap_or(0)
    }

    /// Returns the wall-clock time of a minute.
    pub(super) fn at(&self, minute: i64) -> ZonedDateTime {
        let seconds = self.origin.as_second().saturating_add(minute.saturating_mul(60));
        Timestamp::from_second(seconds).unwrap_or(self.origin).to_zoned_datetime(self.zone.clone())
    }

    /// Returns the minute by which an order is packed: midnight before its first hand-over.
    pub(super) fn ready_by(&self, order: &OrderWork) -> i64 {
        let midnights =
            order.handovers.iter().filter_map(|at| self.midnight(self.date_of(at.timestamp())));
        // What should have been packed before today is as late as can be said.
        midnights.min().unwrap_or(0).max(0)
    }

    /// Returns the minute by which a step of an order is done: midnight before its hand-over.
    pub(super) fn done_by(&self, order: &OrderWork, step: &Step) -> i64 {
        let handover = order.handovers.get(step.handover).filter(|_| step.handover > 0);
        let midnight = handover.and_then(|at| self.midnight(self.date_of(at.timestamp())));
        midnight.map_or_else(|| self.ready_by(order), |midnight| midnight.max(0))
    }

    /// Returns the latest minute that leaves so many minutes of working time free until `by`.
    pub(super) fn with_buffer(&self, by: i64, buffer: i64) -> i64 {
        if buffer <= 0 {
            return by;
        }
        let mut left = buffer;
        for &(from, to) in self.windows.iter().rev().filter(|(from, _)| *from < by) {
            let free = to.min(by) - from;
            if free >= left {
                return to.min(by) - left;
            }
            left -= free;
        }
        0
    }
}

fn midnight(day: Date, zone: &TimeZone) -> Option<Timestamp> {
    Some(day.to_zoned_datetime(zone.clone()).ok()?.timestamp())
}

/// Converts a span to whole minutes, rounded up.
pub(super) fn minutes(span: Span) -> i64 {
    // The cast maps what is not a number to zero.
    span.to_minutes().ceil().clamp(0.0, 1.0e7) as i64
}
