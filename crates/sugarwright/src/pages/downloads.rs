//! What can be taken away from an order: papers, calendar, lists, the order itself.

use axum::{
    Router,
    extract::{Query, State},
    http::{HeaderValue, header},
    response::{IntoResponse, Response},
    routing::get,
};
use craft::{document::plan::PlanDocument, kitchen::Paper};
use serde::Deserialize;
use store::{OrderFolder, write_order_zip};

use crate::{
    desk::{Desk, OrderView},
    pages::OrderOf,
    web::AppError,
};

pub(crate) fn routes() -> Router<Desk> {
    Router::new()
        .route("/orders/{order}/packet.pdf", get(packet))
        .route("/orders/{order}/templates.pdf", get(templates))
        .route("/orders/{order}/sheets.pdf", get(true_sheets))
        .route("/orders/{order}/calendar.ics", get(calendar))
        .route("/orders/{order}/shopping.csv", get(shopping))
        .route("/orders/{order}/set.svg", get(set))
        .route("/orders/{order}/plan.json", get(plan_json))
        .route("/orders/{order}/order.zip", get(order_zip))
}

#[derive(Deserialize)]
struct Choice {
    /// a4 or letter; the kitchen's own without it.
    paper: Option<String>,
    /// Whether to take the plan made now instead of the one agreed.
    #[serde(default)]
    newer: bool,
}

async fn planned(
    desk: &Desk,
    order: &OrderOf,
    newer: bool,
) -> Result<(OrderView, PlanDocument), AppError> {
    let mut view = desk.view(&order.0, newer).await?.ok_or(AppError::NotFound)?;
    let plan = view.plan.take().ok_or(AppError::NotFound)?;
    Ok((view, plan.document))
}

fn paper(choice: &Choice, view: &OrderView) -> Paper {
    match choice.paper.as_deref() {
        Some("a4") => Paper::A4,
        Some("letter") => Paper::Letter,
        _ => view.kitchen.units.paper,
    }
}

async fn packet(
    State(desk): State<Desk>,
    order: OrderOf,
    Query(choice): Query<Choice>,
) -> Result<Response, AppError> {
    let (view, plan) = planned(&desk, &order, choice.newer).await?;
    let name = file_name(&plan.order.title, "packet.pdf");
    let paper = paper(&choice, &view);
    let pdf = aside(move || papers::packet::packet(&plan, &view.kitchen, paper)).await?;
    Ok(download("application/pdf", &name, pdf))
}

async fn templates(
    State(desk): State<Desk>,
    order: OrderOf,
    Query(choice): Query<Choice>,
) -> Result<Response, AppError> {
    let (view, plan) = planned(&desk, &order, choice.newer).await?;
    let name = file_name(&plan.order.title, "templates.pdf");
    let paper = paper(&choice, &view);
    let pdf = aside(move || papers::packet::templates(&plan, &view.kitchen, paper)).await?;
    Ok(download("application/pdf", &name, pdf))
}

async fn true_sheets(
    State(desk): State<Desk>,
    order: OrderOf,
    Query(choice): Query<Choice>,
) -> Result<Response, AppError> {
    let (view, plan) = planned(&desk, &order, choice.newer).await?;
    let name = file_name(&plan.order.title, "sheets.pdf");
    let paper = paper(&choice, &view);
    let pdf = aside(move || papers::packet::true_sheets(&plan, &view.kitchen, paper)).await?;
    Ok(download("application/pdf", &name, pdf))
}

/// Sets type off the threads that answer pages; a panic there becomes the error page.
async fn aside(
    work: impl FnOnce() -> Result<Vec<u8>, papers::Error> + Send + 'static,
) -> Result<Vec<u8>, AppError> {
    let made = tokio::task::spawn_blocking(work).await;
    Ok(made.unwrap_or_else(|panic| std::panic::resume_unwind(panic.into_panic()))?)
}

async fn calendar(
    State(desk): State<Desk>,
    order: OrderOf,
    Query(choice): Query<Choice>,
) -> Result<Response, AppError> {
    let (_, plan) = planned(&desk, &order, choice.newer).await?;
    let name = file_name(&plan.order.title, "calendar.ics");
    Ok(download("text/calendar; charset=utf-8", &name, papers::calendar::calendar(&plan)))
}

async fn shopping(
    State(desk): State<Desk>,
    order: OrderOf,
    Query(choice): Query<Choice>,
) -> Result<Response, AppError> {
    let (view, plan) = planned(&desk, &order, choice.newer).await?;
    let name = file_name(&plan.order.title, "shopping.csv");
    let csv = papers::shopping::shopping_csv(&plan.shopping, view.kitchen.units.currency);
    Ok(download("text/csv; charset=utf-8", &name, csv))
}

async fn set(
    State(desk): State<Desk>,
    order: OrderOf,
    Query(choice): Query<Choice>,
) -> Result<Response, AppError> {
    let (view, plan) = planned(&desk, &order, choice.newer).await?;
    let name = file_name(&plan.order.title, "set.svg");
    let svg = papers::picture::set_picture(&plan, view.kitchen.units.measures);
    Ok(download("image/svg+xml", &name, svg))
}

async fn plan_json(
    State(desk): State<Desk>,
    order: OrderOf,
    Query(choice): Query<Choice>,
) -> Result<Response, AppError> {
    let (_, plan) = planned(&desk, &order, choice.newer).await?;
    let name = file_name(&plan.order.title, "plan.json");
    let json = serde_json::to_string_pretty(&plan).map_err(|error| AppError::ours(&error))?;
    Ok(download("application/json", &name, json))
}

/// The order folder as it could be sent in again, with the kitchen it is planned for.
async fn order_zip(State(desk): State<Desk>, order: OrderOf) -> Result<Response, AppError> {
    let stored = desk.store.order(&order.0).await?.ok_or(AppError::NotFound)?;
    let kitchen = desk.kitchen().await?.settings.text;
    let mut folder =
        OrderFolder { order: stored.brief, kitchen: Some(kitchen), ..OrderFolder::default() };
    for (name, id) in stored.designs {
        if let Some(source) = desk.store.design_source(&id).await? {
            folder.drawings.insert(name.clone(), source);
        }
        if let Some(design) = desk.store.design(&id).await?.filter(|one| !one.choices.is_empty()) {
            folder.choices.insert(name, design.choices);
        }
    }
    let zip = write_order_zip(&folder).map_err(|error| AppError::ours(&error))?;
    Ok(download("application/zip", &file_name(&stored.heading.title, "order.zip"), zip))
}

fn download(kind: &'static str, name: &str, content: impl IntoResponse) -> Response {
    let mut response = content.into_response();
    let headers = response.headers_mut();
    headers.insert(header::CONTENT_TYPE, HeaderValue::from_static(kind));
    if let Ok(value) = HeaderValue::from_str(&format!("attachment; filename=\"{name}\"")) {
        headers.insert(header::CONTENT_DISPOSITION, value);
    }
    response
}

/// "lamp-lighting-evening-packet.pdf": letters and figures that every system takes.
fn file_name(title: &str, ending: &str) -> String {
    let words = title.split(|letter: char| !letter.is_ascii_alphanumeric());
    let words: Vec<String> =
        words.filter(|word| !word.is_empty()).take(8).map(str::to_ascii_lowercase).collect();
    match words.is_empty() {
        true => ending.to_owned(),
        false => format!("{}-{ending}", words.join("-")),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_file_is_named_after_its_order() {
        assert_eq!(
            file_name("Lamp-lighting evening", "packet.pdf"),
            "lamp-lighting-evening-packet.pdf"
        );
        assert_eq!(
            file_name("\"/etc/x\"\r\nSet-Cookie: y", "set.svg"),
            "etc-x-set-cookie-y-set.svg"
        );
        assert_eq!(file_name("ひな祭り", "set.svg"), "set.svg");
    }
}
