//! What happened to an order, as dated sentences, and what its page can do to it.

use axum::{
    Form, Router,
    extract::State,
    http::StatusCode,
    response::{IntoResponse, Redirect, Response},
    routing::post,
};
use jiff::civil::Date;
use maud::{Markup, html};
use quantity::Currency;
use serde::Deserialize;
use store::{EventKind, NewEvent, OrderEvent, Revision};

use crate::{
    desk::Desk,
    pages::{EventOf, OrderOf, order},
    ui::{day_and_month, money},
    web::AppError,
};

pub(crate) fn routes() -> Router<Desk> {
    Router::new()
        .route("/orders/{order}/events", post(add))
        .route("/orders/{order}/events/{event}/remove", post(remove_event))
        .route("/orders/{order}/agree", post(agree))
        .route("/orders/{order}/hand-over", post(hand_over))
        .route("/orders/{order}/remove", post(remove))
        .route("/orders/{order}/put-back", post(put_back))
}

/// What can be noted on an order's page, in the order it usually happens.
pub(crate) const NOTED: [(EventKind, &str); 11] = [
    (EventKind::Asked, "asked"),
    (EventKind::Quoted, "quoted"),
    (EventKind::DepositPaid, "deposit paid"),
    (EventKind::BalancePaid, "balance paid"),
    (EventKind::WordingConfirmed, "wording confirmed in writing"),
    (EventKind::DoughMade, "made the dough"),
    (EventKind::CookiesCut, "rolled and cut"),
    (EventKind::CookiesBaked, "baked"),
    (EventKind::IcingMade, "made the icing"),
    (EventKind::Decorated, "decorated a session"),
    (EventKind::Packed, "packed"),
];

/// Says what happened.
pub(crate) fn event_words(event: &OrderEvent, currency: Currency) -> String {
    let words = match event.what {
        EventKind::Agreed => "agreed",
        what => NOTED.iter().find(|(kind, _)| *kind == what).map_or("", |(_, words)| words),
    };
    match event.amount_minor {
        Some(minor) => format!("{words}, {}", money(minor, currency)),
        None => words.to_owned(),
    }
}

/// The events of an order, earliest first.
pub(crate) fn dated_sentences(events: &[OrderEvent], currency: Currency) -> Markup {
    html! {
        @if !events.is_empty() {
            ul.dated {
                @for event in events {
                    li { time datetime=(event.on) { (day_and_month(event.on)) } span { (event_words(event, currency)) } }
                }
            }
        }
    }
}

/// What is about to be noted, as it was typed, and what is wrong with it.
#[derive(Debug, Deserialize)]
pub(crate) struct EventForm {
    pub(crate) on: String,
    pub(crate) what: String,
    #[serde(default)]
    pub(crate) amount: String,
    /// Whether it was noted on the page of the days, which is shown again.
    #[serde(default)]
    from_days: bool,
    /// The field and the sentence.
    #[serde(skip)]
    wrong: Option<(&'static str, String)>,
}

impl EventForm {
    /// The form before anything is typed.
    pub(crate) fn on(today: Date) -> Self {
        let what = EventKind::DepositPaid.name().to_owned();
        Self { on: today.to_string(), what, amount: String::new(), from_days: false, wrong: None }
    }

    /// Whether this answers to something that could not be read.
    pub(crate) fn is_refused(&self) -> bool {
        self.wrong.is_some()
    }

    /// What is wrong at a field.
    pub(crate) fn wrong_at(&self, field: &str) -> Option<&str> {
        self.wrong.as_ref().filter(|(at, _)| *at == field).map(|(_, words)| words.as_str())
    }

    fn read(&self, currency: Currency) -> Result<NewEvent, (&'static str, String)> {
        let on = self.on.parse().map_err(|_| {
            ("on", format!("\"{}\" is no date; write it like 2027-03-06.", self.on))
        })?;
        let what = EventKind::by_name(&self.what)
            .ok_or(("what", "Choose what happened from the list.".to_owned()))?;
        let amount_minor = match self.amount.trim() {
            "" => None,
            text => Some(amount(text, currency).ok_or_else(|| {
                ("amount", format!("\"{text}\" is no amount; write it like 93 or 93.50."))
            })?),
        };
        Ok(NewEvent { on, what, amount_minor })
    }
}

async fn add(
    State(desk): State<Desk>,
    OrderOf(order): OrderOf,
    Form(mut form): Form<EventForm>,
) -> Result<Response, AppError> {
    let currency = desk.kitchen().await?.kitchen.units.currency;
    match form.read(currency) {
        Ok(event) => {
            desk.store.add_event(&order, &event).await?;
            let back = if form.from_days { Redirect::to("/days") } else { to_agreed(&order) };
            Ok(back.into_response())
        }
        Err(wrong) => {
            form.wrong = Some(wrong);
            let view = desk.view(&order, false).await?.ok_or(AppError::NotFound)?;
            Ok((StatusCode::UNPROCESSABLE_ENTITY, order::view(&view, &form)).into_response())
        }
    }
}

/// Reads "93.50" as minor units.
fn amount(text: &str, currency: Currency) -> Option<i64> {
    let amount: f64 = text.parse().ok()?;
    let minor = (amount * currency.minor_per_major() as f64).round();
    (minor.is_finite() && minor.abs() < 1e12).then_some(minor as i64)
}

fn to_agreed(order: &store::OrderId) -> Redirect {
    Redirect::to(&format!("/orders/{order}#agreed"))
}

async fn remove_event(
    State(desk): State<Desk>,
    EventOf(order, event): EventOf,
) -> Result<Redirect, AppError> {
    let stored = desk.store.order(&order).await?.ok_or(AppError::NotFound)?;
    let agreed = stored.events.iter().find(|one| one.id == event && one.what == EventKind::Agreed);
    if agreed.is_some() && stored.kept_plan.is_some() {
        desk.store.keep_plan(&order, None, stored.revision).await?;
    }
    desk.store.remove_event(&order, &event).await?;
    Ok(to_agreed(&order))
}

#[derive(Deserialize)]
struct Seen {
    revision: i64,
}

impl Seen {
    fn revision(&self) -> Revision {
        Revision::from_i64(self.revision)
    }
}

/// From now on the plan at hand is the one that holds.
async fn agree(
    State(desk): State<Desk>,
    OrderOf(order): OrderOf,
    Form(seen): Form<Seen>,
) -> Result<Redirect, AppError> {
    let view = desk.view(&order, true).await?.ok_or(AppError::NotFound)?;
    let plan = view.plan.ok_or(AppError::NotFound)?;
    let chapters = desk.chapters(&view.order, &plan.key).await?.ok_or(AppError::NotFound)?;
    let text = serde_json::to_string(&*chapters).map_err(|error| AppError::ours(&error))?;
    desk.store.keep_plan(&order, Some(&text), seen.revision()).await?;
    if view.order.events.iter().all(|event| event.what != EventKind::Agreed) {
        let price = Some(chapters.price.price_minor);
        let agreed = NewEvent { on: view.today, what: EventKind::Agreed, amount_minor: price };
        desk.store.add_event(&order, &agreed).await?;
    }
    Ok(to_agreed(&order))
}

#[derive(Deserialize)]
struct HandOverForm {
    revision: i64,
    /// Whether it was a mistake.
    #[serde(default)]
    undo: bool,
}

async fn hand_over(
    State(desk): State<Desk>,
    OrderOf(order): OrderOf,
    Form(form): Form<HandOverForm>,
) -> Result<Redirect, AppError> {
    let today = desk.today(&desk.kitchen().await?.kitchen);
    let on = (!form.undo).then_some(today);
    desk.store.hand_over_order(&order, on, Revision::from_i64(form.revision)).await?;
    Ok(to_agreed(&order))
}

async fn remove(
    State(desk): State<Desk>,
    OrderOf(order): OrderOf,
    Form(seen): Form<Seen>,
) -> Result<Redirect, AppError> {
    let today = desk.today(&desk.kitchen().await?.kitchen);
    desk.store.remove_order(&order, today, seen.revision()).await?;
    Ok(Redirect::to(&format!("/?removed={order}")))
}

async fn put_back(
    State(desk): State<Desk>,
    OrderOf(order): OrderOf,
    Form(seen): Form<Seen>,
) -> Result<Redirect, AppError> {
    desk.store.put_back_order(&order, seen.revision()).await?;
    Ok(Redirect::to(&format!("/orders/{order}")))
}
