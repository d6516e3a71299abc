//! What if somebody helps, a fan blows, a color is left out: each with the minutes it changes, each taken back as easily.

use axum::{
    Form, Router,
    extract::State,
    http::StatusCode,
    response::{IntoResponse, Redirect, Response},
    routing::get,
};
use craft::{
    document::{FileError, read_order, read_order_document},
    order::{Order, Pin},
    plan::{Basis, Effort},
    what_if::{Outcome, Twist, WhatIf, what_if},
};
use maud::{Markup, html};
use quantity::Span;
use serde::Deserialize;
use store::{NewOrder, OrderId, Revision, StoredOrder};

use crate::{
    desk::{Desk, InputError, KitchenSettings, OrderInputs, SEED},
    pages::OrderOf,
    show,
    ui::{Page, capital, counted, page, spoken},
    web::AppError,
};

pub(crate) fn routes() -> Router<Desk> {
    Router::new().route("/orders/{order}/what-if", get(show_page).post(turn))
}

async fn stored(desk: &Desk, id: &OrderId) -> Result<StoredOrder, AppError> {
    desk.store.order(id).await?.ok_or(AppError::NotFound)
}

async fn show_page(State(desk): State<Desk>, OrderOf(id): OrderOf) -> Result<Markup, AppError> {
    let KitchenSettings { settings, kitchen } = desk.kitchen().await?;
    let today = desk.today(&kitchen);
    let inputs = OrderInputs::new(&settings.text, stored(&desk, &id).await?, today);
    let brief = match inputs.brief(&desk.store).await {
        Ok(brief) => brief,
        Err(InputError::Database(error)) => return Err(error.into()),
        Err(refused) => return Ok(view(&inputs.order, Err(&refused.to_string()))),
    };
    let basis = Basis { today: inputs.asked_on, effort: Effort::Normal, seed: SEED };
    let tried = tokio::task::spawn_blocking(move || what_if(&kitchen, &brief, &basis)).await;
    let tried = tried.unwrap_or_else(|panic| std::panic::resume_unwind(panic.into_panic()));
    Ok(view(&inputs.order, Ok(&tried)))
}

/// A change as a form sends it.
#[derive(Deserialize)]
struct Turned {
    revision: i64,
    kind: String,
    #[serde(default)]
    value: String,
    #[serde(default)]
    then: String,
}

impl Turned {
    fn twist(&self) -> Option<Twist> {
        let value = self.value.as_str();
        Some(match self.kind.as_str() {
            "makers" => Twist::Makers(value.parse().ok()?),
            "fan" => Twist::Fan(value.parse().ok()?),
            "colors" => Twist::Colors(value.parse().ok()?),
            "first" => Twist::First(Pin { first: value.to_owned(), then: self.then.clone() }),
            "wet" => Twist::Wet(value.to_owned()),
            "split" => Twist::Split,
            _ => return None,
        })
    }
}

/// Puts a change into the order, or takes it out again.
async fn turn(
    State(desk): State<Desk>,
    OrderOf(id): OrderOf,
    Form(turned): Form<Turned>,
) -> Result<Response, AppError> {
    let stored = stored(&desk, &id).await?;
    let twist = turned.twist().ok_or(AppError::NotFound)?;
    let refused = |words: &str| {
        Ok((StatusCode::UNPROCESSABLE_ENTITY, view(&stored, Err(words))).into_response())
    };
    let order = match read_order(&stored.brief) {
        Ok(order) => order,
        Err(error) => return refused(&error.to_string()),
    };
    // What is chosen already may be taken back, whatever it names.
    if !twist.is_in(&order)
        && let Some(id) = missing_section(&desk, &id, &twist).await?
    {
        return refused(&format!("there is no section \"{id}\" in this order"));
    }
    let changed = match with_bench(stored.clone(), |order| twist.turn(order)) {
        Ok(changed) => changed,
        Err(error) => return refused(&error.to_string()),
    };
    desk.store.save_order(&id, &changed, Revision::from_i64(turned.revision)).await?;
    Ok(Redirect::to(&format!("/orders/{id}/what-if")).into_response())
}

/// Returns an order as it would be stored with another wish for the work at the bench.
///
/// # Errors
/// The order's text cannot be read, or could not be read again.
pub(super) fn with_bench(
    stored: StoredOrder,
    change: impl FnOnce(&mut Order),
) -> Result<NewOrder, FileError> {
    let (mut order, document) = (read_order(&stored.brief)?, read_order_document(&stored.brief)?);
    change(&mut order);
    let brief = document.with_bench_of(&order).to_toml();
    read_order(&brief)?;
    Ok(NewOrder { heading: stored.heading, brief, designs: stored.designs })
}

/// A section a change names that the order's plan does not have.
async fn missing_section(
    desk: &Desk,
    id: &OrderId,
    twist: &Twist,
) -> Result<Option<String>, AppError> {
    let named: Vec<&String> = match twist {
        Twist::First(Pin { first, then }) => vec![first, then],
        Twist::Wet(section) => vec![section],
        _ => return Ok(None),
    };
    let Some(shown) = desk.view(id, true).await?.and_then(|view| view.plan) else {
        return Ok(None);
    };
    let is_known = |id: &&String| shown.document.sections.iter().any(|one| one.id == **id);
    Ok(named.into_iter().find(|id| !is_known(id)).cloned())
}

fn view(order: &StoredOrder, tried: Result<&WhatIf, &str>) -> Markup {
    let content = html! {
        div.plain-page.what-if {
            h1 { "What if: " (order.heading.title) }
            @match tried {
                Err(words) => {
                    p.lead { "This cannot be planned: " (words) "." }
                    p { a href={ "/orders/" (order.id) "/change" } { "Correct the order or its text" } }
                },
                Ok(tried) => (comparison(order, tried)),
            }
            p.acts { a.act href={ "/orders/" (order.id) "#decorate" } { "Back to the order" } }
        }
    };
    page(&Page { title: "What if", here: "", styles: &[], scripts: &[], waits: false }, &content)
}

fn comparison(order: &StoredOrder, tried: &WhatIf) -> Markup {
    let now = &tried.now;
    html! {
        p.lead {
            "As it stands, decorating takes " (show::span(now.active)) " in "
            (counted(now.n_sessions, "session", "sessions")) ", with "
            (counted(now.n_bag_changes, "change of bag", "changes of bag"))
            @if now.idle.to_minutes() >= 1.0 { " and " (show::span(now.idle)) " of waiting" } "."
        }
        @if !tried.chosen.is_empty() {
            h2 { "Chosen for this order" }
            ul.twists {
                @for (twist, outcome) in &tried.chosen {
                    li {
                        span { (capital(&words(twist))) "." br; span.soft { "Without it: " (difference(now, outcome)) } }
                        (form(order, twist, "Take it back"))
                    }
                }
            }
        }
        h2 { "What would change it" }
        @if tried.open.is_empty() { p.soft { "Nothing else that was tried makes a difference." } }
        ul.twists {
            @for (twist, outcome) in &tried.open {
                li {
                    span { (capital(&words(twist))) ":" br; b { (difference(now, outcome)) } }
                    (form(order, twist, "Do it so"))
                }
            }
        }
    }
}

fn form(order: &StoredOrder, twist: &Twist, does: &str) -> Markup {
    let (kind, value, then) = match twist {
        Twist::Makers(n) => ("makers", n.to_string(), ""),
        Twist::Fan(on) => ("fan", on.to_string(), ""),
        Twist::Colors(n) => ("colors", n.to_string(), ""),
        Twist::First(Pin { first, then }) => ("first", first.clone(), then.as_str()),
        Twist::Wet(id) => ("wet", id.clone(), ""),
        Twist::Split => ("split", String::new(), ""),
    };
    html! {
        form method="post" {
            input type="hidden" name="revision" value=(order.revision.to_i64());
            input type="hidden" name="kind" value=(kind);
            input type="hidden" name="value" value=(value);
            @if !then.is_empty() { input type="hidden" name="then" value=(then); }
            button.act type="submit" { (does) span.unseen { ": " (words(twist)) } }
        }
    }
}

fn words(twist: &Twist) -> String {
    let section = |id: &str| spoken(&id.replace('/', ", "));
    match twist {
        Twist::Makers(1) => "you decorate alone".to_owned(),
        Twist::Makers(2) => "two of you decorate at once".to_owned(),
        Twist::Makers(n) => format!("{n} of you decorate at once"),
        Twist::Fan(true) => "a fan blows on the cookies".to_owned(),
        Twist::Fan(false) => "no fan blows on the cookies".to_owned(),
        Twist::Colors(n) => {
            format!("the drawings come down to {n} colors, the nearest made one")
        }
        Twist::First(Pin { first, then }) => {
            format!("{} is piped before {}", section(first), section(then))
        }
        Twist::Wet(id) => format!("{} is worked wet into what it lies on", section(id)),
        Twist::Split => {
            "some sections are piped on part of their cookies first and on the others later"
                .to_owned()
        }
    }
}

/// "3 h 40, 2 h 25 less; 1 session less; 4 changes of bag fewer".
fn difference(now: &Outcome, then: &Outcome) -> String {
    // The difference of what is shown.
    let minutes = then.active.to_minutes().round() - now.active.to_minutes().round();
    let mut parts = vec![match minutes {
        less if less <= -0.5 => {
            format!("{}, {} less", show::span(then.active), show::span(Span::minutes(-less)))
        }
        more if more >= 0.5 => {
            format!("{}, {} more", show::span(then.active), show::span(Span::minutes(more)))
        }
        _ => format!("{}, the same", show::span(then.active)),
    }];
    let mut count = |now: usize, then: usize, one: &str, many: &str| {
        let n = now.abs_diff(then);
        if n > 0 {
            let way = if then < now { "fewer" } else { "more" };
            parts.push(format!("{n} {} {way}", if n == 1 { one } else { many }));
        }
    };
    count(now.n_sessions, then.n_sessions, "session", "sessions");
    count(now.n_bag_changes, then.n_bag_changes, "change of bag", "changes of bag");
    parts.join("; ")
}
