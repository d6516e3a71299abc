//! Attended work in working hours, one thing at a time, in the right order, ready before the hand-over.

use jiff::{Timestamp, ZonedDateTime, tz::TimeZone};

use crate::{
    document::plan::{DayDocument, PlanDocument, SessionDocument},
    drying::State,
    kitchen::Kitchen,
};

struct Entry<'a> {
    document: &'a DayDocument,
    start: ZonedDateTime,
    end: ZonedDateTime,
}

/// Steps of one order in the order they are done, where the plan has them.
const ORDER_OF_WORK: [&str; 4] = ["make dough", "roll and cut", "bake", "pack"];

pub(super) fn check(kitchen: &Kitchen, plan: &PlanDocument) -> Vec<String> {
    let mut broken = Vec::new();
    let entries: Vec<Entry<'_>> = plan
        .days
        .iter()
        .filter_map(|document| {
            let (start, end) = (document.start.parse().ok()?, document.end.parse().ok()?);
            Some(Entry { document, start, end })
        })
        .collect();
    if entries.len() != plan.days.len() {
        broken.push("a time cannot be read".to_owned());
    }
    let is_late =
        plan.heads_ups.iter().any(|one| one.subject.kind == "days" && one.severity == "stop");
    let hands_on: Vec<&Entry<'_>> = entries
        .iter()
        .filter(|entry| entry.document.attended && entry.document.activity != "hand over")
        .collect();
    for entry in &hands_on {
        if !in_hours(kitchen, entry) {
            broken.push(format!(
                "{} at {} is outside working hours",
                entry.document.activity, entry.document.start
            ));
        }
    }
    for (i, a) in hands_on.iter().enumerate() {
        for b in &hands_on[i + 1..] {
            if a.start.timestamp() < b.end.timestamp() && b.start.timestamp() < a.end.timestamp() {
                broken.push(format!("{} and {} at once", a.document.activity, b.document.activity));
            }
        }
    }
    let mut orders: Vec<&str> = entries.iter().map(|entry| entry.document.order.as_str()).collect();
    orders.sort_unstable();
    orders.dedup();
    for order in orders {
        let of_plan =
            entries.iter().any(|one| one.document.order == order && one.document.this_order);
        let stages = if of_plan { plan.sessions.as_slice() } else { &[] };
        broken.extend(check_order(kitchen, order, stages, &entries, is_late));
    }
    broken
}

fn check_order(
    kitchen: &Kitchen,
    order: &str,
    sessions: &[SessionDocument],
    entries: &[Entry<'_>],
    is_late: bool,
) -> Vec<String> {
    let mut broken = Vec::new();
    let of = |activity: &str| -> Vec<&Entry<'_>> {
        entries
            .iter()
            .filter(|entry| entry.document.order == order && entry.document.activity == activity)
            .collect()
    };
    let first = |activity: &str| of(activity).iter().map(|entry| entry.start.timestamp()).min();
    let last = |activity: &str| of(activity).iter().map(|entry| entry.end.timestamp()).max();
    for pair in ORDER_OF_WORK.windows(2) {
        if let (Some(before), Some(after)) = (last(pair[0]), first(pair[1]))
            && before > after
        {
            broken.push(format!("{order}: {} ends after {} starts", pair[0], pair[1]));
        }
    }
    // Nights: each session, and packing, at least the drying time after the session before.
    let air = of("hand over").first().map(|entry| entry.start.date());
    let drying = air.map_or_else(|| kitchen.drying.clone(), |day| kitchen.drying.on(day));
    let dry = drying.wait(State::Dry, kitchen.icing.base_depth);
    let mut session = 1;
    while let Some(end) = last(&format!("decorate {session}")) {
        let next = first(&format!("decorate {}", session + 1)).or_else(|| first("pack"));
        let stage =
            |number: usize| sessions.iter().find(|one| one.session == number).map(|one| one.stage);
        // Sessions of one stage need no night between them; of other orders nothing is known of stages.
        let is_one_stage = match (stage(session), stage(session + 1)) {
            (Some(here), Some(next)) => here == next && here > 0,
            (None, _) => sessions.is_empty(),
            _ => false,
        };
        if let Some(next) = next.filter(|_| !is_one_stage) {
            let hours = seconds(end, next) as f64 / 3600.0;
            if hours < dry.to_hours() - 1.0 / 60.0 {
                broken
                    .push(format!("{order}: only {hours:.1} h of drying after session {session}"));
            }
        }
        session += 1;
    }
    if let (Some(icing), Some(first_session)) = (last("make icing"), first("decorate 1"))
        && (seconds(icing, first_session) as f64) < kitchen.icing.made_ahead.to_seconds() - 60.0
    {
        broken.push(format!("{order}: the icing is not made ahead"));
    }
    // What is packed first is for the first hand-over, and everything is packed before the last.
    let (packed, handed) = (of("pack"), of("hand over"));
    let packed = packed.iter().map(|entry| &entry.end);
    let handed = handed.iter().map(|entry| &entry.start);
    let first = packed.clone().min().zip(handed.clone().min());
    let last = packed.max().zip(handed.max());
    let is_packed_late = |(packed, handed): (&ZonedDateTime, &ZonedDateTime)| {
        packed.date() >= handed.date() && packed.datetime() != handed.datetime().start_of_day()
    };
    if !is_late && [first, last].into_iter().flatten().any(is_packed_late) {
        broken.push(format!("{order}: not packed the evening before"));
    }
    broken
}

fn seconds(from: Timestamp, to: Timestamp) -> i64 {
    to.as_second() - from.as_second()
}

fn in_hours(kitchen: &Kitchen, entry: &Entry<'_>) -> bool {
    let Ok(zone) = TimeZone::get(&kitchen.units.time_zone) else { return false };
    let start = entry.start.timestamp().to_zoned_datetime(zone.clone());
    let end = entry.end.timestamp().to_zoned_datetime(zone);
    start.date() == end.date()
        && kitchen
            .hours
            .on(start.date())
            .iter()
            .any(|&(from, to)| from <= start.time() && end.time() <= to)
}
