//! An order: its brief, its set on a tray, its plan in chapters, what was agreed, what can be taken away.

mod agreed;
mod cutting;
mod make;
mod sell;
mod view;

use axum::{
    Router,
    extract::{Query, State},
    routing::{get, post},
};
use maud::Markup;
use serde::Deserialize;

use crate::{
    desk::Desk,
    pages::{OrderOf, events::EventForm},
    web::AppError,
};
pub(super) use view::view;

pub(crate) fn routes() -> Router<Desk> {
    Router::new()
        .route("/orders/{order}", get(show))
        .route("/orders/{order}/cutting", post(cutting::choose))
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
) -> Result<Markup, AppError> {
    let order = desk.view(&order, choice.newer).await?.ok_or(AppError::NotFound)?;
    Ok(view(&order, &EventForm::on(order.today)))
}
