//! Writing an order down, and changing it: from drawings with counts, from an order folder, or with no drawing at all.

mod form;
mod read;
mod view;

use axum::{
    Router,
    extract::{Multipart, State},
    http::StatusCode,
    response::{IntoResponse, Redirect, Response},
    routing::get,
};
use craft::document::{FileError, OrderDocument, read_order_document};
use jiff::civil::Date;
use store::{EventKind, NewEvent, OrderId, Revision, StoredOrder};

use crate::{
    desk::Desk,
    intake::{Intake, IntakeError},
    pages::OrderOf,
    ui,
    web::AppError,
};
use form::{OrderForm, Wrong};
use view::{IntakePage, Purpose};

pub(crate) fn routes() -> Router<Desk> {
    Router::new()
        .route("/orders/new", get(new).post(write_down))
        .route("/orders/new/folder", get(async || Redirect::to("/orders/new")).post(take_folder))
        .route("/orders/{order}/change", get(change).post(save_change))
        .route("/orders/{order}/change/text", get(to_change).post(save_text))
}

async fn new(State(desk): State<Desk>) -> Result<Response, AppError> {
    let today = desk.today(&desk.kitchen().await?.kitchen);
    let form = OrderForm::empty(today);
    Ok(answer(&IntakePage { form, wrong: Wrong::default(), purpose: Purpose::New, today }))
}

async fn write_down(State(desk): State<Desk>, sent: Multipart) -> Result<Response, AppError> {
    let kitchen = desk.kitchen().await?.kitchen;
    let today = desk.today(&kitchen);
    let mut form = OrderForm::read(read::parts(sent).await?);
    let base = OrderDocument::default();
    let (intake, mut wrong) = form.to_intake(base, &kitchen.units.time_zone);
    if form.date.parse().is_ok_and(|date: Date| date < today) {
        wrong.add("date", format!("this day is past; today is {}", ui::date(today)));
    }
    let purpose = Purpose::New;
    let Some(intake) = form.hold(intake, &desk.store, &mut wrong).await? else {
        return Ok(answer(&IntakePage { form, wrong, purpose, today }));
    };
    if form.wants_more() || wrong.is_any() {
        return Ok(again(form, wrong, purpose, today));
    }
    match intake.store(&desk.store).await {
        Ok(order) => Ok(written(&desk, &order, today).await?.into_response()),
        Err(IntakeError::Database(error)) => Err(error.into()),
        Err(refused) => {
            wrong.add_refusal(&form, &refused);
            Ok(answer(&IntakePage { form, wrong, purpose, today }))
        }
    }
}

/// A new order was asked for today.
async fn written(desk: &Desk, order: &OrderId, today: Date) -> Result<Redirect, AppError> {
    let asked = NewEvent { on: today, what: EventKind::Asked, amount_minor: None };
    desk.store.add_event(order, &asked).await?;
    Ok(Redirect::to(&format!("/orders/{order}")))
}

async fn take_folder(State(desk): State<Desk>, sent: Multipart) -> Result<Response, AppError> {
    let today = desk.today(&desk.kitchen().await?.kitchen);
    let parts = read::parts(sent).await?;
    let taken = match parts.file("folder") {
        None => Err("Choose the zip of an order folder first.".to_owned()),
        Some(file) => store::read_order_zip(&file.content)
            .map_err(|error| error.to_string())
            .and_then(|folder| Intake::from_folder(folder).map_err(|error| error.to_string())),
    };
    let refused = match taken {
        Ok(intake) => match intake.store(&desk.store).await {
            Ok(order) => return Ok(written(&desk, &order, today).await?.into_response()),
            Err(IntakeError::Database(error)) => return Err(error.into()),
            Err(refused) => refused.to_string(),
        },
        Err(words) => words,
    };
    let mut wrong = Wrong::default();
    wrong.add("folder", refused);
    let form = OrderForm::empty(today);
    Ok(answer(&IntakePage { form, wrong, purpose: Purpose::New, today }))
}

/// What is needed to change an order.
async fn stored(desk: &Desk, id: &OrderId) -> Result<(StoredOrder, OrderDocument), AppError> {
    let order = desk.store.order(id).await?.ok_or(AppError::NotFound)?;
    let document = read_order_document(&order.brief).map_err(|error| AppError::ours(&error))?;
    Ok((order, document))
}

async fn change(State(desk): State<Desk>, OrderOf(id): OrderOf) -> Result<Response, AppError> {
    let today = desk.today(&desk.kitchen().await?.kitchen);
    let (order, document) = stored(&desk, &id).await?;
    let form = OrderForm::of(&document, &order);
    let purpose = Purpose::change(&order, order.revision, order.brief.clone(), &document);
    Ok(answer(&IntakePage { form, wrong: Wrong::default(), purpose, today }))
}

async fn to_change(OrderOf(id): OrderOf) -> Redirect {
    Redirect::to(&format!("/orders/{id}/change"))
}

async fn save_change(
    State(desk): State<Desk>,
    OrderOf(id): OrderOf,
    sent: Multipart,
) -> Result<Response, AppError> {
    let kitchen = desk.kitchen().await?.kitchen;
    let today = desk.today(&kitchen);
    let (order, document) = stored(&desk, &id).await?;
    let parts = read::parts(sent).await?;
    let seen = seen(&parts)?;
    let mut form = OrderForm::read(parts);
    let purpose = Purpose::change(&order, seen, order.brief.clone(), &document);
    let zone = order.heading.time_zone.clone();
    let (intake, mut wrong) = form.to_intake(document, &zone);
    let Some(intake) = form.hold(intake, &desk.store, &mut wrong).await? else {
        return Ok(answer(&IntakePage { form, wrong, purpose, today }));
    };
    if form.wants_more() || wrong.is_any() {
        return Ok(again(form, wrong, purpose, today));
    }
    match intake.replace(&desk.store, &id, seen).await {
        Ok(()) => Ok(Redirect::to(&format!("/orders/{id}")).into_response()),
        Err(IntakeError::Database(error)) => Err(error.into()),
        Err(refused) => {
            wrong.add_refusal(&form, &refused);
            Ok(answer(&IntakePage { form, wrong, purpose, today }))
        }
    }
}

/// The whole order as the text of its file: everything a form has no field for.
async fn save_text(
    State(desk): State<Desk>,
    OrderOf(id): OrderOf,
    sent: Multipart,
) -> Result<Response, AppError> {
    let today = desk.today(&desk.kitchen().await?.kitchen);
    let (order, document) = stored(&desk, &id).await?;
    let parts = read::parts(sent).await?;
    let seen = seen(&parts)?;
    let text = parts.text("order").to_owned();
    let refused = match read_order_document(&text) {
        Ok(changed) => {
            let mut intake = Intake::new(changed);
            intake.stored = order.designs.clone();
            match intake.replace(&desk.store, &id, seen).await {
                Ok(()) => return Ok(Redirect::to(&format!("/orders/{id}")).into_response()),
                Err(IntakeError::Database(error)) => return Err(error.into()),
                // Lines are those of the text as we write it, not as it was typed.
                Err(IntakeError::File(error)) => FileError { line: None, ..error }.to_string(),
                Err(refused) => refused.to_string(),
            }
        }
        Err(refused) => refused.to_string(),
    };
    let mut wrong = Wrong::default();
    wrong.add("order", refused);
    let form = OrderForm::of(&document, &order);
    let purpose = Purpose::change(&order, seen, text, &document);
    Ok(answer(&IntakePage { form, wrong, purpose, today }))
}

fn seen(parts: &read::Parts) -> Result<Revision, AppError> {
    let revision = parts.text("revision").parse().map(Revision::from_i64);
    revision.map_err(|_| AppError::BadRequest("The form says not which state it changes.".into()))
}

/// The form once more: with what is wrong, or with further rows and what is still missing left unsaid.
fn again(form: OrderForm, wrong: Wrong, purpose: Purpose, today: Date) -> Response {
    let wrong = if form.wants_more() { Wrong::default() } else { wrong };
    answer(&IntakePage { form, wrong, purpose, today })
}

/// A form that says what is wrong with it is no page like others.
fn answer(page: &IntakePage) -> Response {
    let status =
        if page.wrong.is_any() { StatusCode::UNPROCESSABLE_ENTITY } else { StatusCode::OK };
    (status, view::view(page)).into_response()
}
