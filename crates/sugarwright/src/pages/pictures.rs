//! The pictures of a plan, each made when a page asks for it and kept by the browser, since a plan of one key never changes.

use std::sync::Arc;

use axum::{
    Router,
    extract::{Path, State},
    http::{HeaderValue, header},
    response::{IntoResponse, Response},
    routing::get,
};
use craft::document::plan::PlanDocument;
use papers::picture::{design_picture, pass_picture};
use store::OrderId;

use crate::{
    desk::Desk,
    ui::sizes_css,
    web::{AppError, assets::FOREVER},
};

pub(crate) fn routes() -> Router<Desk> {
    Router::new()
        .route("/orders/{order}/plans/{key}/sizes.css", get(sizes))
        .route("/orders/{order}/plans/{key}/cookies/{design}", get(finished))
        .route("/orders/{order}/plans/{key}/passes/{pass}/{design}", get(in_pass))
}

async fn plan(desk: &Desk, order: &str, key: &str) -> Result<Arc<PlanDocument>, AppError> {
    let id = OrderId::parse(order).ok_or(AppError::NotFound)?;
    // The plan at hand answers without asking for the order, as most pictures do.
    if let Some(found) = desk.shown.plan(&desk.store, key).await? {
        return Ok(found);
    }
    let order = desk.store.order(&id).await?.ok_or(AppError::NotFound)?;
    desk.chapters(&order, key).await?.ok_or(AppError::NotFound)
}

async fn sizes(
    State(desk): State<Desk>,
    Path((order, key)): Path<(String, String)>,
) -> Result<Response, AppError> {
    let plan = plan(&desk, &order, &key).await?;
    Ok(forever("text/css; charset=utf-8", sizes_css(&plan, &key)))
}

async fn finished(
    State(desk): State<Desk>,
    Path((order, key, design)): Path<(String, String, String)>,
) -> Result<Response, AppError> {
    let plan = plan(&desk, &order, &key).await?;
    svg(design_picture(&plan, place(&design)?))
}

async fn in_pass(
    State(desk): State<Desk>,
    Path((order, key, pass, design)): Path<(String, String, usize, String)>,
) -> Result<Response, AppError> {
    let plan = plan(&desk, &order, &key).await?;
    svg(pass_picture(&plan, place(&design)?, pass))
}

/// Reads "3.svg".
fn place(file: &str) -> Result<usize, AppError> {
    let place = file.strip_suffix(".svg").and_then(|place| place.parse().ok());
    place.ok_or(AppError::NotFound)
}

fn svg(picture: Option<String>) -> Result<Response, AppError> {
    Ok(forever("image/svg+xml", picture.ok_or(AppError::NotFound)?))
}

fn forever(kind: &'static str, content: String) -> Response {
    let headers =
        [(header::CONTENT_TYPE, HeaderValue::from_static(kind)), (header::CACHE_CONTROL, FOREVER)];
    (headers, content).into_response()
}
