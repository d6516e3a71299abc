//! Measured here: the numbers the kitchen learns, their records, and the air of the room.

mod view;

use std::collections::BTreeMap;

use axum::{
    Form, Router,
    extract::{Query, State},
    http::StatusCode,
    response::{IntoResponse, Redirect, Response},
    routing::{get, post},
};
use craft::{
    document::{
        FileError, KitchenDocument,
        dry::{DryAnswer, DryRequest, dry},
        kitchen::{DryingSeenDocument, KnownRate, MeasuredDocument},
        read_kitchen, read_kitchen_document,
    },
    kitchen::Kitchen,
};
use jiff::civil::Date;
use serde::Deserialize;
use store::{Revision, Settings};

use crate::{
    desk::{Desk, KitchenSettings},
    pages::typed,
    web::AppError,
};

pub(crate) fn routes() -> Router<Desk> {
    Router::new()
        .route("/measured", get(show))
        .route("/measured/air", post(save_air))
        .route("/measured/number", post(add_number))
        .route("/measured/drying", post(add_drying))
        .route("/measured/set-aside", post(set_aside))
}

/// Changes the kitchen's file, if it then still makes sense.
pub(in crate::pages) async fn change_kitchen(
    desk: &Desk,
    settings: &Settings,
    seen: Revision,
    change: impl FnOnce(&mut KitchenDocument),
) -> Result<Result<(), FileError>, AppError> {
    let mut document =
        read_kitchen_document(&settings.text).map_err(|error| AppError::ours(&error))?;
    change(&mut document);
    save_kitchen(desk, &document, seen).await
}

async fn save_kitchen(
    desk: &Desk,
    document: &KitchenDocument,
    seen: Revision,
) -> Result<Result<(), FileError>, AppError> {
    let text = document.to_toml();
    if let Err(error) = read_kitchen(&text) {
        return Ok(Err(error));
    }
    desk.store.save_settings(&text, Some(seen)).await?;
    Ok(Ok(()))
}

/// What was typed into a form that was refused, and why.
#[derive(Debug, Default)]
struct Refused {
    /// The form.
    form: String,
    /// Its fields.
    typed: BTreeMap<String, String>,
    /// The field, and what is wrong with it.
    wrong: (String, String),
}

/// Everything the page shows.
struct MeasuredPage {
    kitchen: Kitchen,
    document: KitchenDocument,
    rates: Vec<KnownRate>,
    /// Drying times in the air of the room.
    drying: DryAnswer,
    revision: Revision,
    today: Date,
    /// How many readings were just kept.
    n_kept: Option<usize>,
    refused: Refused,
}

#[derive(Deserialize)]
struct Asked {
    kept: Option<usize>,
}

async fn page_of(desk: &Desk) -> Result<MeasuredPage, AppError> {
    let KitchenSettings { settings, kitchen } = desk.kitchen().await?;
    let ours = |error: FileError| AppError::ours(&error);
    let document = read_kitchen_document(&settings.text).map_err(ours)?;
    let air = DryRequest {
        celsius: document.drying.room_celsius,
        humidity_percent: document.drying.room_humidity_percent,
        fan: document.drying.fan,
        ..DryRequest::default()
    };
    Ok(MeasuredPage {
        rates: document.known_rates().map_err(ours)?,
        drying: dry(&kitchen, &air).map_err(ours)?,
        revision: settings.revision,
        today: desk.today(&kitchen),
        n_kept: None,
        refused: Refused::default(),
        document,
        kitchen,
    })
}

async fn show(State(desk): State<Desk>, Query(asked): Query<Asked>) -> Result<Response, AppError> {
    let page = MeasuredPage { n_kept: asked.kept, ..page_of(&desk).await? };
    Ok(view::view(&page).into_response())
}

type Fields = BTreeMap<String, String>;

/// Changes the kitchen by a form; what cannot be is shown at its field, with all that was typed.
async fn change(
    desk: &Desk,
    form: &str,
    typed: Fields,
    back: &str,
    change: impl FnOnce(&mut KitchenDocument, &Fields) -> Result<(), (String, String)>,
) -> Result<Response, AppError> {
    let KitchenSettings { settings, .. } = desk.kitchen().await?;
    let revision = typed.get("revision").and_then(|text| text.parse().ok());
    let seen = revision.map(Revision::from_i64).ok_or_else(|| {
        AppError::BadRequest("The form says not which state it changes.".to_owned())
    })?;
    let mut document =
        read_kitchen_document(&settings.text).map_err(|error| AppError::ours(&error))?;
    let wrong = match change(&mut document, &typed) {
        Err(wrong) => wrong,
        Ok(()) => match save_kitchen(desk, &document, seen).await? {
            Ok(()) => return Ok(Redirect::to(back).into_response()),
            Err(error) => {
                let (key, words) = error.at_field();
                (key.to_owned(), words.to_owned())
            }
        },
    };
    let refused = Refused { form: form.to_owned(), typed, wrong };
    let page = MeasuredPage { refused, ..page_of(desk).await? };
    Ok((StatusCode::UNPROCESSABLE_ENTITY, view::view(&page)).into_response())
}

fn number(fields: &Fields, key: &str) -> Result<f64, (String, String)> {
    typed::number(&text(fields, key)).map_err(|words| (key.to_owned(), words))
}

/// The day of a record; what is still to come was not measured.
fn day(fields: &Fields, today: Date) -> Result<String, (String, String)> {
    let on = text(fields, "on");
    match on.parse::<Date>() {
        Ok(day) if day > today => Err((
            "on".to_owned(),
            format!("\"{on}\" is still to come; write the day it was measured"),
        )),
        // What is no date is told by the kitchen's file.
        _ => Ok(on),
    }
}

fn text(fields: &Fields, key: &str) -> String {
    fields.get(key).map_or("", |text| text.trim()).to_owned()
}

async fn save_air(
    State(desk): State<Desk>,
    Form(fields): Form<Fields>,
) -> Result<Response, AppError> {
    change(&desk, "air", fields, "/measured#air", |document, fields| {
        let celsius = number(fields, "room_celsius")?;
        let humidity = number(fields, "room_humidity_percent")?;
        document.drying.room_celsius = celsius;
        document.drying.room_humidity_percent = humidity;
        document.drying.fan = fields.contains_key("fan");
        Ok(())
    })
    .await
}

async fn add_number(
    State(desk): State<Desk>,
    Form(fields): Form<Fields>,
) -> Result<Response, AppError> {
    let rate = text(&fields, "rate");
    let today = desk.today(&desk.kitchen().await?.kitchen);
    let back = format!("/measured#{rate}");
    change(&desk, &rate.clone(), fields, &back, |document, fields| {
        let value = number(fields, "value")?;
        let on = day(fields, today)?;
        document.measured.push(MeasuredDocument { on, rate, value, set_aside: false });
        Ok(())
    })
    .await
}

async fn add_drying(
    State(desk): State<Desk>,
    Form(fields): Form<Fields>,
) -> Result<Response, AppError> {
    let today = desk.today(&desk.kitchen().await?.kitchen);
    change(&desk, "drying_seen", fields, "/measured#drying_seen", |document, fields| {
        let answer = text(fields, "answer");
        document.drying_seen.push(DryingSeenDocument {
            on: day(fields, today)?,
            state: text(fields, "state"),
            after_min: number(fields, "after_min")?,
            answer: (answer != "count").then_some(answer),
            celsius: number(fields, "celsius")?,
            humidity_percent: number(fields, "humidity_percent")?,
            fan: fields.contains_key("fan"),
            depth_mm: None,
            set_aside: false,
        });
        Ok(())
    })
    .await
}

/// Sets a record aside, or takes it back.
async fn set_aside(
    State(desk): State<Desk>,
    Form(fields): Form<Fields>,
) -> Result<Response, AppError> {
    let list = text(&fields, "list");
    let back = format!("/measured#{list}");
    change(&desk, "set_aside", fields, &back, |document, fields| {
        let place = text(fields, "place").parse::<usize>().ok();
        let Some(place) = place else { return Ok(()) };
        let KitchenDocument { measured, drying_seen, water_test, .. } = document;
        let flag = match text(fields, "list").as_str() {
            "drying_seen" => drying_seen.get_mut(place).map(|one| &mut one.set_aside),
            "water_test" => water_test.get_mut(place).map(|one| &mut one.set_aside),
            _ => measured.get_mut(place).map(|one| &mut one.set_aside),
        };
        if let Some(flag) = flag {
            *flag = !*flag;
        }
        Ok(())
    })
    .await
}
