//! The kitchen: all that is true across orders, each value with its meaning, start value and source.

mod form;
mod view;

use std::collections::BTreeMap;

use axum::{
    Form, Router,
    extract::{Query, State},
    http::StatusCode,
    response::{IntoResponse, Redirect, Response},
    routing::get,
};
use craft::document::{FileError, read_kitchen, read_kitchen_document, schema};
use quantity::Currency;
use serde::Deserialize;
use serde_json::Value;
use store::Revision;

use crate::{
    desk::{Desk, KitchenSettings},
    web::AppError,
};
use form::{Sent, take};
use view::KitchenPage;

pub(crate) fn routes() -> Router<Desk> {
    Router::new()
        .route("/kitchen", get(show).post(save))
        .route("/kitchen/kitchen.toml", get(text).post(save_text))
}

#[derive(Deserialize)]
struct Saved {
    #[serde(default)]
    saved: bool,
}

/// Everything the page shows of a kitchen.
fn page_of(text: &str, revision: Revision, currency: Currency) -> Result<KitchenPage, AppError> {
    let document = read_kitchen_document(text).map_err(|error| AppError::ours(&error))?;
    let to_json = |document| serde_json::to_value(document).map_err(|error| AppError::ours(&error));
    Ok(KitchenPage {
        schema: schema("kitchen").ok_or(AppError::NotFound)?,
        value: to_json(&document)?,
        start: to_json(&craft::document::KitchenDocument::default())?,
        currency,
        revision,
        text: text.to_owned(),
        wrong: BTreeMap::new(),
        typed: Sent::default(),
        is_saved: false,
    })
}

async fn show(State(desk): State<Desk>, Query(query): Query<Saved>) -> Result<Response, AppError> {
    let KitchenSettings { settings, kitchen } = desk.kitchen().await?;
    let page = page_of(&settings.text, settings.revision, kitchen.units.currency)?;
    Ok(view::view(&KitchenPage { is_saved: query.saved, ..page }).into_response())
}

async fn save(
    State(desk): State<Desk>,
    Form(fields): Form<Vec<(String, String)>>,
) -> Result<Response, AppError> {
    let KitchenSettings { settings, kitchen } = desk.kitchen().await?;
    let sent = Sent::new(fields);
    let seen = seen(sent.get("revision").unwrap_or_default())?;
    let mut page = page_of(&settings.text, seen, kitchen.units.currency)?;
    let mut wrong = BTreeMap::new();
    let value = take(&page.schema, &page.schema, "", &sent, page.currency, &mut wrong);
    let text = serde_json::from_value(value.clone())
        .map(|document: craft::document::KitchenDocument| document.to_toml());
    let refused = match (wrong.is_empty(), text) {
        (true, Ok(text)) => match read_kitchen(&text) {
            Ok(_) => {
                desk.store.save_settings(&text, Some(seen)).await?;
                return Ok(Redirect::to("/kitchen?saved=true").into_response());
            }
            Err(error) => {
                Some((view::plain_key(&error.key), FileError { line: None, ..error }.message))
            }
        },
        (true, Err(error)) => Some((String::new(), error.to_string())),
        (false, _) => None,
    };
    wrong.extend(refused);
    page.value = merged(page.value, value);
    page.wrong = wrong;
    page.typed = sent;
    Ok((StatusCode::UNPROCESSABLE_ENTITY, view::view(&page)).into_response())
}

/// What was taken from the form over what was there, so that lists show the rows that were sent.
fn merged(was: Value, taken: Value) -> Value {
    match (was, taken) {
        (Value::Object(mut was), Value::Object(taken)) => {
            for (key, value) in taken {
                let before = was.remove(&key).unwrap_or(Value::Null);
                was.insert(key, merged(before, value));
            }
            Value::Object(was)
        }
        (_, taken) => taken,
    }
}

async fn text(State(desk): State<Desk>) -> Result<Response, AppError> {
    let text = desk.kitchen().await?.settings.text;
    let headers = [
        ("content-type", "application/toml; charset=utf-8"),
        ("content-disposition", "attachment; filename=\"kitchen.toml\""),
    ];
    Ok((headers, text).into_response())
}

#[derive(Deserialize)]
struct TextForm {
    revision: String,
    kitchen: String,
}

async fn save_text(
    State(desk): State<Desk>,
    Form(form): Form<TextForm>,
) -> Result<Response, AppError> {
    let seen = seen(&form.revision)?;
    // A browser ends lines with CRLF, whatever they were.
    let text = form.kitchen.replace("\r\n", "\n");
    match read_kitchen(&text) {
        Ok(_) => {
            desk.store.save_settings(&text, Some(seen)).await?;
            Ok(Redirect::to("/kitchen?saved=true").into_response())
        }
        Err(error) => {
            let KitchenSettings { settings, kitchen } = desk.kitchen().await?;
            let mut page = page_of(&settings.text, seen, kitchen.units.currency)?;
            page.text = text;
            page.wrong.insert("kitchen".to_owned(), error.to_string());
            Ok((StatusCode::UNPROCESSABLE_ENTITY, view::view(&page)).into_response())
        }
    }
}

fn seen(revision: &str) -> Result<Revision, AppError> {
    let revision = revision.parse().map(Revision::from_i64);
    revision.map_err(|_| AppError::BadRequest("The form says not which state it changes.".into()))
}
