use jiff::{Timestamp, civil::Date, tz::TimeZone};

/// The only clock of the pages; a test stops it.
#[derive(Clone, Copy, Debug)]
pub(crate) enum Clock {
    /// The machine's.
    System,
    /// Always this moment.
    #[cfg_attr(not(test), expect(dead_code, reason = "only tests stop the clock"))]
    Stopped(Timestamp),
}

impl Clock {
    /// Returns the moment.
    pub(crate) fn now(self) -> Timestamp {
        match self {
            Self::System => Timestamp::now(),
            Self::Stopped(moment) => moment,
        }
    }

    /// Returns the time of day in a time zone, to the minute: "14:05".
    pub(crate) fn time(self, time_zone: &str) -> String {
        let zone = TimeZone::get(time_zone).unwrap_or(TimeZone::UTC);
        zone.to_datetime(self.now()).strftime("%H:%M").to_string()
    }

    /// Returns the date in a time zone; in one nobody knows, that of Greenwich.
    pub(crate) fn today(self, time_zone: &str) -> Date {
        let zone = TimeZone::get(time_zone).unwrap_or(TimeZone::UTC);
        zone.to_datetime(self.now()).date()
    }
}
