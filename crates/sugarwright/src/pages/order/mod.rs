//! An order: its brief, its set on a tray, its plan in chapters, what was agreed, what can be taken away.

mod agreed;
mod make;
mod sell;
mod view;

use axum::{
    Router,
    extract::{Query, State},
    response::{IntoResponse, Response},
    routing::get,
};
use maud::Markup;
use serde::Deserialize;

use crate::{
    desk::{Desk, OrderView},
    pages::{OrderOf, events::EventForm},
    web::AppError,
};

pub(crate) fn routes() -> Router<Desk> {
    Router::new().route("/orders/{order}", get(show))
}

/// The page of an order, with what is about to be noted on it.
pub(super) fn page(order: &OrderView, noting: &EventForm) -> Markup {
    view::view(order, noting)
}

#[derive(Deserialize)]
struct Choice {
    /// Whether to show the plan made now instead of the one agreed.
    #[serde(default)]
    newer: bool,
}

async fn show(
    State(desk): State<Desk>,
    OrderOf(order): OrderOf,
    Query(choice): Query<Choice>,
) -> Result<Response, AppError> {
    let view = desk.view(&order, choice.newer).await?.ok_or(AppError::NotFound)?;
    let noting = EventForm::on(view.today);
    Ok(page(&view, &noting).into_response())
}
