//! The plan in a screenful.

use std::{fmt::Write, path::Path};

use craft::{
    days::{Activity, DayEntry},
    heads_up::{HeadsUp, Severity},
    label::Label,
};

use crate::{
    Planned,
    show::{mass, moment, money, n_of, span},
};

/// Tells a plan to a person: what to pull, weigh, pipe, when, for how much, and what to look out for.
pub(crate) fn summary(planned: &Planned, out: &Path) -> String {
    let mut text = String::new();
    // Writing to a string cannot fail.
    let _ = write_all(&mut text, planned, out);
    text
}

fn write_all(text: &mut String, planned: &Planned, out: &Path) -> std::fmt::Result {
    let Planned { kitchen, brief, plan, days, days_heads_ups, .. } = planned;
    let (order, measures, currency) =
        (&brief.order, kitchen.units.measures, kitchen.units.currency);
    let invented = if order.invented { " (invented)" } else { "" };
    writeln!(text, "{}{invented}: {} cookies for {}", order.title, order.count(), order.customer)?;
    for handover in &order.handovers {
        writeln!(text, "          handed over {}", moment(&handover.at))?;
    }

    if !order.must_have.is_empty() {
        writeln!(text, "          must have: {}", order.must_have.join(", "))?;
    }
    for title in &planned.beside {
        writeln!(text, "          shares the days with: {title}")?;
    }
    let impossible = days_heads_ups.iter().filter(|heads_up| heads_up.severity == Severity::Stop);
    for heads_up in impossible {
        writeln!(text)?;
        writeln!(text, "NOT IN TIME: {}", heads_up.message)?;
    }
    let cutting = &plan.dough.cutting;
    writeln!(text)?;
    let mut pull = Vec::new();
    if cutting.n_stock() > 0 {
        pull.push(format!(
            "pull {} from the freezer",
            n_of(cutting.n_stock(), "dough sheet", "dough sheets")
        ));
    }
    if cutting.n_fresh() > 0 {
        let sheets = n_of(cutting.n_fresh(), "dough sheet", "dough sheets");
        pull.push(format!("roll {sheets} from {} of dough", mass(plan.dough.mass, measures)));
    }
    if cutting.n_rerolled() > 0 {
        pull.push(n_of(cutting.n_rerolled(), "re-roll", "re-rolls"));
    }
    let pull = if pull.is_empty() { "nothing to cut".to_owned() } else { pull.join("; ") };
    writeln!(text, "Cut       {pull}; {} in all", n_of(cutting.n_cut(), "cookie", "cookies"))?;
    writeln!(
        text,
        "Bake      {} in {}, {} of oven",
        n_of(plan.baking.n_trays(), "tray", "trays"),
        n_of(plan.baking.loads.len(), "load", "loads"),
        span(plan.baking.oven_time)
    )?;
    writeln!(
        text,
        "Ice       make {} of stiff icing in {}",
        mass(plan.icing.batch.total, measures),
        n_of(plan.icing.batch.n as usize, "batch", "batches")
    )?;
    for bowl in &plan.icing.bowls {
        let n_bags: u32 = bowl.bags.iter().map(|bag| bag.n).sum();
        writeln!(
            text,
            "          {:<14} {}  weigh out {:>9}, {} water, {}",
            bowl.id,
            bowl.color.to_hex(),
            mass(bowl.weigh_out, measures),
            mass(bowl.water, measures),
            n_of(n_bags as usize, "bag", "bags"),
        )?;
    }
    for (session, number) in plan.passes.sessions.iter().zip(1..) {
        let n_passes = plan.passes.passes.iter().filter(|pass| pass.session + 1 == number).count();
        let name = if number == 1 { "Decorate" } else { "" };
        writeln!(
            text,
            "{name:<9} session {number}: {}, {}{}",
            n_of(n_passes, "pass", "passes"),
            span(session.active),
            if session.idle.to_minutes() >= 1.0 {
                format!(" with {} of waiting", span(session.idle))
            } else {
                String::new()
            },
        )?;
    }
    writeln!(text)?;
    let mine = days.entries.iter().filter(|entry| {
        (entry.order == 0 || entry.with.contains(&0))
            && (entry.attended || entry.activity == Activity::Bake)
    });
    let mut last_day = String::new();
    for entry in mine {
        let day = entry.start.strftime("%a %-d %b").to_string();
        let shown = if day == last_day { "" } else { &day };
        writeln!(text, "{shown:<9} {}", day_line(entry))?;
        last_day = day;
    }
    writeln!(text)?;
    writeln!(
        text,
        "          (with setting up {} and washing up {} around each piece of work)",
        span(kitchen.pace.set_up),
        span(kitchen.pace.wash_up)
    )?;
    writeln!(text)?;
    writeln!(
        text,
        "Price     {}{}; {} go out for ingredients, bags, energy and overhead,",
        money(plan.price.price, currency),
        if plan.price.rush { " with the short-notice surcharge" } else { "" },
        money(plan.price.cash_cost, currency),
    )?;
    writeln!(
        text,
        "          the rest pays you {} an hour for {}",
        money(plan.price.per_hour, currency),
        span(plan.price.hours)
    )?;
    writeln!(text, "Label     {}", allergens(&plan.label))?;
    let stated: Vec<&HeadsUp> = days_heads_ups
        .iter()
        .chain(&plan.heads_ups)
        .filter(|heads_up| heads_up.severity >= Severity::Caution)
        .collect();
    if !stated.is_empty() {
        writeln!(text)?;
        writeln!(text, "Heads-ups")?;
        for heads_up in stated {
            write_heads_up(text, heads_up)?;
        }
    }
    let n_notes = plan
        .heads_ups
        .iter()
        .chain(days_heads_ups)
        .filter(|one| one.severity == Severity::Note)
        .count();
    if n_notes > 0 {
        writeln!(text, "          {} more in plan.json", n_of(n_notes, "note", "notes"))?;
    }
    writeln!(text)?;
    write!(
        text,
        "The plan is in {}: start with set.png, calendar.ics and shopping.csv.",
        out.display()
    )
}

/// What the label warns of, in one line.
fn allergens(label: &Label) -> String {
    match (label.contains_line.as_str(), label.allergens.as_slice()) {
        ("", []) => "no allergens known; see plan.json for the ingredients".to_owned(),
        ("", allergens) => format!("allergens: {}", allergens.join(", ")),
        (line, _) => line.to_owned(),
    }
}

fn day_line(entry: &DayEntry) -> String {
    let (start, end) = (entry.start.strftime("%H:%M"), entry.end.strftime("%H:%M"));
    if entry.start == entry.end {
        format!("{start}        {}", entry.activity.name())
    } else {
        format!("{start}-{end}  {}", entry.activity.name())
    }
}

fn write_heads_up(text: &mut String, heads_up: &HeadsUp) -> std::fmt::Result {
    let mark = if heads_up.severity == Severity::Stop { "!" } else { "-" };
    let id = heads_up.subject.id();
    let place = if id.is_empty() { heads_up.subject.kind() } else { id };
    writeln!(text, "        {mark} {place}: {}", heads_up.message)?;
    if let Some(hint) = &heads_up.hint {
        writeln!(text, "          {hint}")?;
    }
    Ok(())
}
