//! Minutes from midnight of today, and the maker's working windows on that axis.

use jiff::{
    Timestamp, ZonedDateTime,
    civil::{Date, Time},
    tz::TimeZone,
};
use quantity::Span;

use crate::{days::OrderWork, kitchen::Kitchen};

/// Days after the last hand-over on which late work may still be placed.
const DAYS_AFTER: i32 = 21;
/// The longest stretch of days that is laid out.
const DAYS_MOST: i32 = 400;

pub(super) struct Axis {
    zone: TimeZone,
    origin: Timestamp,
    /// Working windows, in order, not touching each other.
    pub(super) windows: Vec<(i64, i64)>,
}

impl Axis {
    /// Lays out the days from today to some weeks after the last hand-over.
    pub(super) fn new(kitchen: &Kitchen, today: Date, orders: &[OrderWork]) -> Option<Self> {
        let zone = TimeZone::get(&kitchen.units.time_zone).ok()?;
        let origin = midnight(today, &zone)?;
        let mut axis = Self { zone, origin, windows: Vec::new() };
        let last =
            orders.iter().flat_map(|order| &order.handovers).map(ZonedDateTime::timestamp).max()?;
        let last = last.to_zoned_datetime(axis.zone.clone()).date();
        let mut day = today;
        for _ in 0..DAYS_MOST {
            if (day - last).get_days() > DAYS_AFTER {
                break;
            }
            for (from, to) in kitchen.hours.on(day) {
                let (Some(from), Some(to)) = (axis.minute(day, from), axis.minute(day, to)) else {
                    continue;
                };
                match axis.windows.last_mut() {
                    Some((_, end)) if *end >= from => *end = (*end).max(to),
                    _ if to > from => axis.windows.push((from, to)),
                    _ => {}
                }
            }
            day = day.tomorrow().ok()?;
        }
        Some(axis)
    }

    /// Returns the minute of a wall-clock time; in a gap or fold of a clock change the time that keeps the order of the day.
    fn minute(&self, day: Date, time: Time) -> Option<i64> {
        let at = day.to_datetime(time).to_zoned_datetime(self.zone.clone()).ok()?;
        Some(self.minute_of(at.timestamp()))
    }

    fn minute_of(&self, at: Timestamp) -> i64 {
        (at.as_second() - self.origin.as_second()).div_euclid(60)
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
        order
            .handovers
            .iter()
            .filter_map(|at| {
                midnight(at.timestamp().to_zoned_datetime(self.zone.clone()).date(), &self.zone)
            })
            .map(|at| self.minute_of(at))
            .min()
            .unwrap_or(0)
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
