//! The days of all open orders, and the same as a calendar that other programs can follow.

use std::{collections::BTreeSet, sync::Arc};

use axum::{
    Form, Router,
    extract::State,
    http::{HeaderMap, header},
    response::{IntoResponse, Redirect, Response},
    routing::{get, post},
};
use craft::{
    days::Activity,
    document::plan::{DayDocument, WeekDocument, WeekEntryDocument},
    kitchen::Kitchen,
};
use jiff::{ZonedDateTime, civil::Date};
use maud::{Markup, html};
use serde::Deserialize;
use store::EventKind;

use crate::{
    desk::{Desk, KitchenSettings, done_kind, key_of_week, open_inputs},
    pages::measured::change_kitchen,
    ui::{Page, all_days, capital, counted, notes, page},
    web::AppError,
};

pub(crate) fn routes() -> Router<Desk> {
    Router::new()
        .route("/days", get(show))
        .route("/days/free", post(keep_free))
        .route("/days.ics", get(calendar))
}

struct DaysPage {
    today: Date,
    week: Option<Arc<WeekDocument>>,
    n_orders: usize,
    n_done: u64,
    kitchen: Kitchen,
    /// The address other programs can follow.
    feed: String,
}

async fn load(desk: &Desk, host: &str) -> Result<DaysPage, AppError> {
    let n_done = desk.planner.n_done();
    let KitchenSettings { settings, kitchen } = desk.kitchen().await?;
    let today = desk.today(&kitchen);
    let inputs = open_inputs(&desk.store, &settings.text, today).await?;
    let key = key_of_week(&settings.text, &inputs, today);
    let week = desk.shown.week(&desk.store, &key).await?;
    let feed = format!("http://{host}/days.ics");
    Ok(DaysPage { today, week, n_orders: inputs.len(), n_done, kitchen, feed })
}

fn host(headers: &HeaderMap) -> String {
    let host = headers.get(header::HOST).and_then(|host| host.to_str().ok());
    host.unwrap_or("localhost").to_owned()
}

async fn show(State(desk): State<Desk>, headers: HeaderMap) -> Result<Markup, AppError> {
    Ok(view(&load(&desk, &host(&headers)).await?))
}

async fn calendar(State(desk): State<Desk>, headers: HeaderMap) -> Result<Response, AppError> {
    let days = load(&desk, &host(&headers)).await?;
    // Before the days are placed there is a calendar all the same: without events.
    let none = || WeekDocument { today: days.today.to_string(), ..WeekDocument::default() };
    let text = papers::calendar::week_calendar(&days.week.as_deref().cloned().unwrap_or_else(none));
    Ok(([(header::CONTENT_TYPE, "text/calendar; charset=utf-8")], text).into_response())
}

/// A day on which nothing is to be done, or on which there is work after all.
#[derive(Deserialize)]
struct FreeDay {
    day: String,
    is_free: bool,
}

/// Takes a day out of the working hours, or back in; the days are then placed anew around it.
async fn keep_free(
    State(desk): State<Desk>,
    Form(FreeDay { day, is_free }): Form<FreeDay>,
) -> Result<Redirect, AppError> {
    let day: Date = day.parse().map_err(|_| AppError::NotFound)?;
    let KitchenSettings { settings, .. } = desk.kitchen().await?;
    let changed = change_kitchen(&desk, &settings, settings.revision, |document| {
        document.days_off.retain(|known| *known != day.to_string());
        if is_free {
            document.days_off.push(day.to_string());
        }
    });
    changed.await?.map_err(|error| AppError::ours(&error))?;
    Ok(Redirect::to("/days"))
}

/// Days with work that can be taken out, and those that were.
fn free_days(days: &DaysPage, entries: &[DayDocument]) -> Markup {
    let day_of = |entry: &DayDocument| {
        let start: Option<ZonedDateTime> = entry.start.parse().ok();
        start.map(|start| start.date()).filter(|_| entry.attended && entry.activity != "hand over")
    };
    let worked: BTreeSet<Date> =
        entries.iter().filter_map(day_of).filter(|day| *day >= days.today).collect();
    let off = days.kitchen.hours.days_off.iter().filter(|day| **day >= days.today);
    let off: BTreeSet<Date> = off.copied().collect();
    let words = |day: &Date| day.strftime("%A %-d %B").to_string();
    html! {
        @if !worked.is_empty() || !off.is_empty() {
            section.free-days {
                h2 { "Something came between" }
                @if !worked.is_empty() {
                    form method="post" action="/days/free" {
                        input type="hidden" name="is_free" value="true";
                        div.field {
                            label for="free-day" { "Nothing is done on" }
                            select #free-day name="day" {
                                @for day in &worked { option value=(day) { (words(day)) } }
                            }
                        }
                        button.act type="submit" { "Keep it free" }
                    }
                    p.small.soft { "The work of that day goes elsewhere; what need not move stays where it is." }
                }
                @if !off.is_empty() {
                    ul.twists {
                        @for day in &off {
                            li {
                                span { (words(day)) " is kept free." }
                                form method="post" action="/days/free" {
                                    input type="hidden" name="is_free" value="false";
                                    input type="hidden" name="day" value=(day);
                                    button.act type="submit" { "Work then after all" span.unseen { ": " (words(day)) } }
                                }
                            }
                        }
                    }
                }
            }
        }
    }
}

fn view(days: &DaysPage) -> Markup {
    let entries: Vec<DayDocument> = days.week.as_deref().map(entries).unwrap_or_default();
    let hours = |day: Date| days.kitchen.hours.on(day);
    let rows = all_days(&entries, &hours, days.today);
    let waits = days.week.is_none() && days.n_orders > 0;
    let content = html! {
        div.all-days {
            h1 { "Days" }
            @match (&rows, waits) {
                (Some(rows), _) => {
                    p.lead {
                        "What is done when for " (counted(days.n_orders, "open order", "open orders"))
                        ", with the days left to the next pickup in front."
                    }
                    @if let Some(week) = &days.week { (heads_ups(week)) (done_today(week, days.today)) }
                    p.small.soft.key-of-bars {
                        "The bar runs from six in the morning to midnight: your hours pale, work dark, the oven between, "
                        "setting up and washing up half dark, a hand-over as a mark."
                    }
                    (rows)
                }
                (None, true) => p.lead data-progress={ "/progress?after=" (days.n_done) } {
                    "The days of all open orders are being placed; this page shows them by itself."
                },
                (None, false) if days.n_orders > 0 => {
                    p.lead { (capital(&counted(days.n_orders, "open order", "open orders"))) " cannot be placed." }
                    @if let Some(week) = &days.week { (heads_ups(week)) }
                }
                (None, false) => p.lead { "No order is open, so every day is free." },
            }
            @if days.week.is_some() { (free_days(days, &entries)) }
            section.feed {
                h2 { "In your own calendar" }
                p {
                    a href="/days.ics" download="days.ics" { "Take the days along as a file" }
                    ", or let a calendar program on this machine follow this address while sugarwright runs:"
                }
                p { code { (days.feed) } }
                p.small.soft { "Each piece of work is an event with a reminder a quarter of an hour before; a changed plan moves it." }
            }
        }
    };
    page(
        &Page {
            title: "Days",
            here: "/days",
            styles: &[],
            scripts: if waits { &["js/progress.js"] } else { &[] },
            waits,
        },
        &content,
    )
}

/// Work of today that can be noted as done: what is done for several orders stands there once for each.
struct Doable<'a> {
    activity: &'a str,
    title: &'a str,
    order: &'a str,
    kind: EventKind,
}

fn doable<'a>(week: &'a WeekDocument, today: Date) -> Vec<Doable<'a>> {
    let is_due = |entry: &&WeekEntryDocument| {
        let start: Option<ZonedDateTime> = entry.start.parse().ok();
        start.is_some_and(|start| start.date() <= today)
    };
    let of = |entry: &'a WeekEntryDocument| {
        let kind = Activity::by_name(&entry.activity).and_then(done_kind);
        let orders = std::iter::once(entry.order).chain(entry.with.iter().copied());
        orders.filter_map(move |at| {
            let (order, title) = (week.ids.get(at)?.as_str(), week.orders.get(at)?.as_str());
            Some(Doable { activity: &entry.activity, title, order, kind: kind? })
        })
    };
    week.entries.iter().filter(is_due).flat_map(of).collect()
}

/// The work of today, each to be noted as done, so that the days are placed anew around it.
fn done_today(week: &WeekDocument, today: Date) -> Markup {
    let doable = doable(week, today);
    html! {
        @if !doable.is_empty() {
            section.today {
                h2 { "Today" }
                ul.twists {
                    @for Doable { activity, title, order, kind } in doable {
                        li {
                            span { (capital(activity)) " for " (title) }
                            form method="post" action={ "/orders/" (order) "/events" } {
                                input type="hidden" name="on" value=(today);
                                input type="hidden" name="what" value=(kind.name());
                                input type="hidden" name="from_days" value="true";
                                button.act type="submit" { "It is done" span.unseen { ": " (activity) " for " (title) } }
                            }
                        }
                    }
                }
                p.small.soft { "What was done on another day, or by mistake, is noted and taken back under Agreed on the order's page." }
            }
        }
    }
}

/// What the maker must know of the days.
fn heads_ups(week: &WeekDocument) -> Markup {
    html! {
        @if !week.heads_ups.is_empty() {
            div.two { (notes("days", &week.heads_ups.iter().collect::<Vec<_>>())) }
        }
    }
}

fn entries(week: &WeekDocument) -> Vec<DayDocument> {
    let entry = |entry: &WeekEntryDocument| DayDocument {
        activity: entry.activity.clone(),
        order: week.titles(entry),
        this_order: true,
        start: entry.start.clone(),
        end: entry.end.clone(),
        attended: entry.attended,
    };
    week.entries.iter().map(entry).collect()
}
