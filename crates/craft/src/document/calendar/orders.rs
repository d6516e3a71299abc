//! From an order of a request to the engine's project.

use timing::{Age, Hold, Link, LinkKind, Project, Task, Work};

use super::{AGES_FROM, HoldEntry, OrderEntry, TaskEntry, compile::Shared};
use crate::document::{
    choices::by_name,
    error::BadValue,
    ticks::{
        Ids, MOST_TICKS, MOST_TIME, at_most, circle, circle_words, fill, in_range, shown, whole,
    },
};

/// Most tasks of one order.
const MOST_TASKS: usize = 100;
/// Most links, and most holds, of one order.
const MOST_LINKS: usize = 500;

const KINDS: [(Work, &str); 3] = [
    (Work::Attended { breakable: false }, "attended"),
    (Work::Supervised, "supervised"),
    (Work::Unattended, "unattended"),
];
const LINKS: [(LinkKind, &str); 3] =
    [(LinkKind::FinishStart, "FS"), (LinkKind::StartStart, "SS"), (LinkKind::FinishFinish, "FF")];

/// Checks an order and compiles it.
pub(super) fn project(order: &OrderEntry, shared: &Shared<'_>) -> Result<Project, BadValue> {
    whole("weight", order.weight, 1, 1000)?;
    whole("buffer", order.buffer, 0, MOST_TICKS)?;
    check_due(order, shared)?;
    fill("tasks", "task", order.tasks.len(), MOST_TASKS)?;
    let ids = Ids::new("tasks", "task", order.tasks.iter().map(|one| one.id.as_str()))?;
    let age_from = order.tasks.iter().position(|task| task.id == AGES_FROM);
    if let Some(most) = order.fresh_max {
        whole("fresh_max", most, 0, MOST_TIME)?;
        if age_from.is_none() {
            let message = format!(
                "it counts from the start of a task \"{AGES_FROM}\", and there is none; name a task so, or leave fresh_max out"
            );
            return Err(BadValue::new("fresh_max", message));
        }
    }
    let tasks = each("tasks", &order.tasks, |entry| task(entry, shared))?;
    at_most("links", order.links.len(), MOST_LINKS)?;
    at_most("hold", order.hold.len(), MOST_LINKS)?;
    let links = each("links", &order.links, |entry| link(entry, &ids))?;
    let holds = each("hold", &order.hold, |entry| hold(entry, &ids, shared))?;
    let waits: Vec<_> = links
        .iter()
        .map(|link: &Link| (link.from, link.to))
        .chain(holds.iter().map(|hold: &Hold| (hold.from, hold.to)))
        .collect();
    if let Some(circle) = circle(tasks.len(), &waits) {
        let words = circle_words(&circle, |task| shown(&order.tasks[task].id));
        return Err(BadValue::new("links", words));
    }
    Ok(Project {
        tasks,
        links,
        holds,
        due: order.due,
        weight: order.weight,
        buffer: order.buffer,
        ages: age_from.map(|task| Age { task, due: order.due }).into_iter().collect(),
        fresh_max: order.fresh_max,
    })
}

/// Compiles each entry of a list, and tells the place of one that is refused.
fn each<E, T>(
    list: &'static str,
    entries: &[E],
    compile: impl Fn(&E) -> Result<T, BadValue>,
) -> Result<Vec<T>, BadValue> {
    let one = |(at, entry)| compile(entry).map_err(|bad: BadValue| bad.within(list, at));
    entries.iter().enumerate().map(one).collect()
}

fn check_due(order: &OrderEntry, shared: &Shared<'_>) -> Result<(), BadValue> {
    let (due, first) = (order.due, shared.first_open);
    if due < 0 {
        let message = format!("{due} lies in the past; count from 0 on");
        return Err(BadValue::new("due", message));
    }
    whole("due", due, 0, MOST_TIME)?;
    if due <= first {
        let message = format!(
            "{due} is no later than {first}, when the first work can begin; give a later due time or an earlier window"
        );
        return Err(BadValue::new("due", message));
    }
    Ok(())
}

fn task(entry: &TaskEntry, shared: &Shared<'_>) -> Result<Task, BadValue> {
    let duration = whole("dur", entry.dur, 0, MOST_TICKS)?;
    let work = match by_name("kind", &entry.kind, &KINDS)? {
        Work::Attended { .. } => Work::Attended { breakable: entry.breakable },
        kind => kind,
    };
    if entry.breakable && !matches!(work, Work::Attended { .. }) {
        let message = format!(
            "only attended tasks can be cut, and this one is {}; say false or leave it out",
            entry.kind
        );
        return Err(BadValue::new("breakable", message));
    }
    let is_whole = matches!(work, Work::Supervised | Work::Attended { breakable: false });
    if is_whole && duration > shared.longest {
        let message = format!(
            "the task {} takes {duration} ticks without a break, and the longest window has {}; shorten it, widen a window{}",
            shown(&entry.id),
            shared.longest,
            if work == Work::Supervised { "" } else { ", or make it breakable" }
        );
        return Err(BadValue::new("dur", message));
    }
    let mut uses = Vec::with_capacity(entry.uses.len());
    for (name, &wanted) in &entry.uses {
        uses.push((
            demand(name, wanted, shared).map_err(|message| BadValue::new("use", message))?,
            wanted,
        ));
    }
    Ok(Task { duration, work, uses, due: None, fixed: None })
}

/// The resource of a demand, if there is as much of it.
fn demand(name: &str, wanted: i64, shared: &Shared<'_>) -> Result<usize, String> {
    let resource = shared.resources.find(name)?;
    let name = shown(name);
    in_range(wanted, 0, MOST_TICKS).map_err(|words| format!("{name}: {words}"))?;
    let capacity = shared.capacities[resource];
    if wanted > capacity {
        return Err(format!(
            "{wanted} of {name} are wanted, and there are {capacity}; want less, or raise it in resources"
        ));
    }
    Ok(resource)
}

fn link(
    (a, b, kind, least, most): &(String, String, String, i64, Option<i64>),
    ids: &Ids<'_>,
) -> Result<Link, BadValue> {
    let refused = |message: String| BadValue::new("", message);
    let (from, to) = ids.pair(a, b).map_err(refused)?;
    let kind = by_name("", kind, &LINKS)?;
    let min = in_range(*least, 0, MOST_TICKS).map_err(refused)?;
    if let Some(most) = *most {
        in_range(most, 0, MOST_TICKS).map_err(refused)?;
        if most < min {
            return Err(refused(format!(
                "the most time {most} is below the least {min}; correct one of them"
            )));
        }
    }
    Ok(Link { from, to, kind, min, max: *most })
}

fn hold(entry: &HoldEntry, ids: &Ids<'_>, shared: &Shared<'_>) -> Result<Hold, BadValue> {
    let resource =
        shared.resources.find(&entry.res).map_err(|words| BadValue::new("res", words))?;
    demand(&entry.res, entry.qty, shared).map_err(|words| BadValue::new("qty", words))?;
    let from = ids.find(&entry.from).map_err(|words| BadValue::new("from", words))?;
    let to = ids.find(&entry.to).map_err(|words| BadValue::new("to", words))?;
    if from == to {
        let message = format!("the task {} stands in from too; name a later one", shown(&entry.to));
        return Err(BadValue::new("to", message));
    }
    Ok(Hold { resource, quantity: entry.qty, from, to })
}
