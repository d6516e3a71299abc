//! Orders: the pickups ahead, each with its set, its dated sentences and what is next; and those behind.

use std::sync::Arc;

use axum::{
    Router,
    extract::{Query, State},
    routing::get,
};
use craft::{
    document::plan::{WeekDocument, WeekEntryDocument},
    kitchen::Kitchen,
};
use jiff::civil::{Date, DateTime};
use maud::{Markup, html};
use serde::Deserialize;
use store::{Heading, OrderEvent, OrderId, OrderRow};

use crate::{
    desk::{
        Desk, Glance, KitchenSettings, OrderInputs, Progress, kept_key, key_of_week, open_inputs,
    },
    pages::{
        ask::{self, Answered, Blanks},
        events::dated_sentences,
        progress::progress_words,
    },
    ui::{
        Page, PlanAddress, Scale, capital, counted, day_and_month, in_days, is_around, money, page,
        ruler_alone, shingle, spoken, time,
    },
    web::AppError,
};

pub(crate) fn routes() -> Router<Desk> {
    Router::new().route("/", get(ahead)).route("/orders/behind", get(behind))
}

/// Orders on one page of those ahead; a kitchen with more has other troubles than this page.
const MOST_AHEAD: usize = 40;

/// One pickup ahead.
struct Pickup {
    id: OrderId,
    heading: Heading,
    events: Vec<OrderEvent>,
    /// Key of its plan.
    key: String,
    glance: Option<Arc<Glance>>,
    progress: Option<Progress>,
    next: Option<String>,
}

struct OrdersPage {
    /// How much the planner had done when the rest was looked up.
    n_done: u64,
    today: Date,
    kitchen: Kitchen,
    /// Orders whose day has passed without a hand-over.
    overdue: Vec<OrderRow>,
    pickups: Vec<Pickup>,
    n_more: usize,
    removed: Option<OrderRow>,
    blanks: Blanks,
    asked: Option<Answered>,
}

async fn ahead(
    State(desk): State<Desk>,
    Query(query): Query<Vec<(String, String)>>,
) -> Result<Markup, AppError> {
    let n_done = desk.planner.n_done();
    let KitchenSettings { settings, kitchen } = desk.kitchen().await?;
    let today = desk.today(&kitchen);
    let mut inputs = open_inputs(&desk.store, &settings.text, today).await?;
    let week_key = key_of_week(&settings.text, &inputs, today);
    let week = desk.shown.week(&desk.store, &week_key).await?;
    let n_more = inputs.len().saturating_sub(MOST_AHEAD);
    inputs.truncate(MOST_AHEAD);
    let mut pickups = Vec::new();
    for OrderInputs { order, key, .. } in inputs {
        let key = kept_key(&order).unwrap_or(key);
        pickups.push(Pickup {
            glance: desk.shown.glance(&desk.store, &key).await?,
            progress: desk.planner.progress(&order.id),
            next: week.as_deref().and_then(|week| next_work(week, &order.id, desk.clock.now())),
            key,
            id: order.id,
            heading: order.heading,
            events: order.events,
        });
    }
    let overdue = desk.store.open_orders().await?;
    let overdue =
        overdue.into_iter().filter(|row| row.heading.first_handover.date() < today).collect();
    // An order that was just removed, to be put back.
    let removed = query.iter().find(|(key, _)| key == "removed");
    let removed = match removed.and_then(|(_, id)| OrderId::parse(id)) {
        Some(id) => {
            let behind = desk.store.past_orders(None, 20).await?;
            behind.into_iter().find(|row| row.id == id && row.removed_on.is_some())
        }
        None => None,
    };
    let blanks = Blanks::read(&query);
    let asked = match blanks.is_asked().then(|| blanks.wish(&kitchen, today)) {
        None => None,
        Some(Err(wrong)) => Some(Err(wrong)),
        Some(Ok(wish)) => {
            let asked = desk.ask(wish.clone()).await?;
            Some(Ok((wish, asked)))
        }
    };
    Ok(view(&OrdersPage {
        n_done,
        today,
        kitchen,
        overdue,
        pickups,
        n_more,
        removed,
        blanks,
        asked,
    }))
}

/// "Roll and cut, Tuesday 2 March at 18:00".
fn next_work(week: &WeekDocument, order: &OrderId, now: jiff::Timestamp) -> Option<String> {
    let place = week.ids.iter().position(|id| id == order.as_str())?;
    let is_for = |entry: &WeekEntryDocument| entry.order == place || entry.with.contains(&place);
    let own = week.entries.iter().filter(|entry| is_for(entry) && entry.attended);
    let work = own.filter(|entry| !is_around(&entry.activity));
    let next = work.filter_map(|entry| {
        let start: jiff::ZonedDateTime = entry.start.parse().ok()?;
        (start.timestamp() >= now).then_some((entry, start))
    });
    let next = next.min_by_key(|(_, start)| start.timestamp());
    next.map(|(entry, start)| {
        let at = start.strftime("%A %-d %B at %-H:%M");
        format!("{}, {at}.", entry.activity)
    })
}

fn view(orders: &OrdersPage) -> Markup {
    let styles: Vec<String> = orders
        .pickups
        .iter()
        .filter(|pickup| pickup.glance.is_some())
        .map(|pickup| PlanAddress { order: &pickup.id, key: &pickup.key }.sizes())
        .collect();
    let is_waiting = orders.pickups.iter().any(|pickup| {
        pickup.glance.is_none()
            && !matches!(pickup.progress, Some(Progress::Failed(_) | Progress::Refused(_)))
    });
    let content = html! {
        @if let Some(removed) = &orders.removed { (put_back(removed)) }
        (ask::view(&orders.blanks, orders.asked.as_ref(), &orders.kitchen, orders.today))
        section.pickups data-progress=[is_waiting.then(|| format!("/progress?after={}", orders.n_done))] {
            div.opening-line {
                h2 { "Pickups ahead" }
                p.acts { a.act.main href="/orders/new" { "Write down an order" } }
            }
            @if orders.pickups.is_empty() && orders.overdue.is_empty() {
                p.lead.empty {
                    "No pickup lies ahead. An order can be written down with its drawings, from an order folder, "
                    "or with no drawing at all: a cutter, a count and its colors are enough for a whole plan."
                }
            }
            @if !orders.overdue.is_empty() { (overdue_list(&orders.overdue)) }
            ol {
                @for pickup in &orders.pickups { (pickup_row(pickup, &orders.kitchen, orders.today)) }
            }
            @if orders.n_more > 0 {
                p.soft { (counted(orders.n_more, "later pickup is", "later pickups are")) " not shown here." }
            }
        }
        p.behind-link { a href="/orders/behind" { "Orders behind you, and removed ones" } }
    };
    page(
        &Page {
            title: "Orders",
            here: "/",
            styles: &styles,
            scripts: if is_waiting { &["js/progress.js"] } else { &[] },
            waits: is_waiting,
        },
        &content,
    )
}

fn put_back(removed: &OrderRow) -> Markup {
    html! {
        form.undo method="post" action={ "/orders/" (removed.id) "/put-back" } role="status" {
            input type="hidden" name="revision" value=(removed.revision.to_i64());
            span { "“" (removed.heading.title) "” was removed. " }
            button.act type="submit" { "Put it back" }
        }
    }
}

fn overdue_list(overdue: &[OrderRow]) -> Markup {
    html! {
        ul.dated.overdue {
            @for row in overdue {
                li {
                    time { (day_and_month(row.heading.first_handover.date())) }
                    span.open {
                        a href={ "/orders/" (row.id) } { (row.heading.title) }
                        " should have been handed over. Was it?"
                    }
                }
            }
        }
    }
}

fn pickup_row(pickup: &Pickup, kitchen: &Kitchen, today: Date) -> Markup {
    let Pickup { id, heading, key, .. } = pickup;
    let at = PlanAddress { order: id, key };
    let day = heading.first_handover.date();
    html! {
        li.pickup {
            p.date {
                b { (day.day()) }
                (day.strftime("%A, %B").to_string()) br;
                span.soft { (in_days(today, day)) ", " (time(heading.first_handover)) }
            }
            @match &pickup.glance {
                Some(glance) => (small_tray(&at, glance)),
                None => div.tray.quarter { div.paper { (waiting_words(pickup)) } },
            }
            div.words {
                h3 { a href={ "/orders/" (id) } { (heading.title) } }
                p.small.soft {
                    (counted(usize::try_from(heading.n_cookies).unwrap_or(0), "cookie", "cookies"))
                    " for " (heading.customer)
                    @if let Some(glance) = &pickup.glance {
                        @let n_planned: u32 = glance.designs.iter().map(|design| design.count).sum();
                        @if i64::from(n_planned) != heading.n_cookies { ", and " (n_planned) " in the plan that was agreed" }
                    }
                }
                (dated_sentences(&pickup.events, kitchen.units.currency))
                @if let Some(glance) = &pickup.glance {
                    p.small {
                        (money(glance.price_minor, kitchen.units.currency)) ", which pays you "
                        (money(glance.per_hour_minor, kitchen.units.currency)) " an hour"
                    }
                }
                @if let Some(next) = &pickup.next { p.small { em { "Next: " } (next) } }
            }
        }
    }
}

fn waiting_words(pickup: &Pickup) -> Markup {
    html! {
        p.waiting-words data-words=(pickup.id) { (progress_words(pickup.progress.as_ref())) }
    }
}

fn small_tray(at: &PlanAddress<'_>, glance: &Glance) -> Markup {
    html! {
        div.tray.quarter {
            div.paper {
                div.lying {
                    @for (place, design) in glance.designs.iter().enumerate() {
                        figure {
                            (shingle(at, place, &spoken(&design.id), design.count))
                            figcaption { (design.count) }
                        }
                    }
                }
                (ruler_alone(Scale::Quarter))
            }
        }
    }
}

/// Orders on one page of those behind.
const N_BEHIND: u32 = 50;

#[derive(Deserialize)]
struct BehindQuery {
    before: Option<String>,
    id: Option<String>,
}

async fn behind(
    State(desk): State<Desk>,
    Query(query): Query<BehindQuery>,
) -> Result<Markup, AppError> {
    let before = query.before.and_then(|at| at.parse::<DateTime>().ok());
    let before = before.zip(query.id.as_deref().and_then(OrderId::parse));
    let rows = desk.store.past_orders(before, N_BEHIND).await?;
    let content = html! {
        div.plain-page {
            h1 { "Orders behind you" }
            @if rows.is_empty() { p.lead { "None so far: an order comes here once it is handed over or removed." } }
            ol.behind {
                @for row in &rows {
                    li {
                        time { (crate::ui::date(row.heading.first_handover.date())) }
                        span {
                            a href={ "/orders/" (row.id) } { (row.heading.title) }
                            ", " (row.heading.n_cookies) " cookies for " (row.heading.customer)
                            @if let Some(on) = row.removed_on { "; removed " (day_and_month(on)) }
                            @else if let Some(on) = row.handed_over_on { "; handed over " (day_and_month(on)) }
                        }
                    }
                }
            }
            @if let Some(last) = rows.last().filter(|_| rows.len() == N_BEHIND as usize) {
                p { a href={ "/orders/behind?before=" (last.heading.first_handover) "&id=" (last.id) } { "Earlier ones" } }
            }
            p.acts { a.act href="/" { (capital("to the pickups ahead")) } }
        }
    };
    let title = "Orders behind you";
    Ok(page(&Page { title, here: "", styles: &[], scripts: &[], waits: false }, &content))
}
