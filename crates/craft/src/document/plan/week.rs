//! The days of all open orders together, written apart from the plans they come from:
//! they change with every new order and every new day, the other chapters do not.

use jiff::ZonedDateTime;
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use crate::{
    days::{Activity, Days},
    document::plan::{DayDocument, FORMAT, HeadsUpDocument, PlanDocument, write},
    heads_up::HeadsUp,
};

/// The days of all open orders.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize, JsonSchema)]
#[schemars(title = "week.json")]
pub struct WeekDocument {
    /// The format of this file: 1.
    pub format: u32,
    /// The only clock the planner saw: a date.
    pub today: String,
    /// How many candidate calendars the engine looked at.
    pub evaluations: u64,
    /// Titles of the orders, counted from 0 by the entries.
    pub orders: Vec<String>,
    /// Names of the orders where they are stored, counted alike; empty where they are not.
    #[serde(default)]
    pub ids: Vec<String>,
    /// What is done when, in the order it starts.
    pub entries: Vec<WeekEntryDocument>,
    /// What the maker must know about these days.
    pub heads_ups: Vec<HeadsUpDocument>,
}

/// One activity of one order at its time.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct WeekEntryDocument {
    /// The order, by its place among `orders`.
    pub order: usize,
    /// Other orders it is for as well, by their places.
    #[serde(default)]
    pub with: Vec<usize>,
    /// What is done.
    pub activity: String,
    /// Start, with zone (RFC 9557).
    pub start: String,
    /// End, with zone (RFC 9557).
    pub end: String,
    /// Whether the maker's hands are in it.
    pub attended: bool,
}

/// Writes the days of all open orders, whose titles stand in the order [`Days`] counts them.
pub fn write_week(
    titles: &[&str],
    days: &Days,
    heads_ups: &[HeadsUp],
    today: jiff::civil::Date,
) -> WeekDocument {
    WeekDocument {
        format: FORMAT,
        today: today.to_string(),
        evaluations: days.evaluations,
        orders: titles.iter().map(|&title| title.to_owned()).collect(),
        ids: Vec::new(),
        entries: days
            .entries
            .iter()
            .map(|entry| WeekEntryDocument {
                order: entry.order,
                with: entry.with.clone(),
                activity: entry.activity.name(),
                start: entry.start.to_string(),
                end: entry.end.to_string(),
                attended: entry.attended,
            })
            .collect(),
        heads_ups: heads_ups.iter().map(write::heads_up).collect(),
    }
}

impl WeekDocument {
    /// Returns what was to be done for an order, by its name where it is stored, and when each piece of it was to start.
    pub fn starts_of(&self, id: &str) -> Vec<(Activity, ZonedDateTime)> {
        let is_of = |at: &usize| self.ids.get(*at).is_some_and(|known| known == id);
        let of_order = self
            .entries
            .iter()
            .filter(|entry| std::iter::once(&entry.order).chain(&entry.with).any(is_of));
        of_order
            .filter_map(|entry| {
                Some((Activity::by_name(&entry.activity)?, entry.start.parse().ok()?))
            })
            .collect()
    }

    /// Returns the titles of the orders an entry is for: "Naming party and Lamp-lighting evening".
    pub fn titles(&self, entry: &WeekEntryDocument) -> String {
        let orders = std::iter::once(&entry.order).chain(&entry.with);
        let titles: Vec<&str> =
            orders.filter_map(|&order| self.orders.get(order).map(String::as_str)).collect();
        titles.join(" and ")
    }
}

impl PlanDocument {
    /// Adds the days to the other chapters of the order that stands at `place` among those of the week.
    pub fn with_week(mut self, week: &WeekDocument, place: usize) -> Self {
        self.basis.today.clone_from(&week.today);
        self.basis.evaluations += week.evaluations;
        self.days = week
            .entries
            .iter()
            .map(|entry| DayDocument {
                activity: entry.activity.clone(),
                order: week.titles(entry),
                this_order: entry.order == place || entry.with.contains(&place),
                start: entry.start.clone(),
                end: entry.end.clone(),
                attended: entry.attended,
            })
            .collect();
        self.heads_ups.extend(week.heads_ups.iter().cloned());
        self
    }
}
