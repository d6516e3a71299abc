//! The gel shelf: what each gel is likely to do, and the samples that tell.

mod view;

use std::collections::BTreeMap;

use axum::{
    Form, Router,
    extract::State,
    http::StatusCode,
    response::{IntoResponse, Redirect, Response},
    routing::{get, post},
};
use craft::{
    document::{FileError, KitchenDocument, kitchen::GelSampleDocument, read_kitchen_document},
    tinting::{KnownGel, Shelf},
};
use store::Revision;

use crate::{
    desk::{Desk, KitchenSettings},
    pages::{measured::change_kitchen, typed},
    web::AppError,
};

pub(crate) fn routes() -> Router<Desk> {
    Router::new()
        .route("/gels", get(show))
        .route("/gels/sample", post(add))
        .route("/gels/set-aside", post(set_aside))
}

/// Everything the page shows.
struct GelsPage {
    document: KitchenDocument,
    /// What is known of the gels whose dyes there is data of.
    known: Vec<KnownGel>,
    revision: Revision,
    /// The gel whose sample was refused, what was typed, and what is wrong with it.
    refused: Option<(usize, Fields, String)>,
}

type Fields = BTreeMap<String, String>;

async fn page_of(desk: &Desk) -> Result<GelsPage, AppError> {
    let KitchenSettings { settings, kitchen } = desk.kitchen().await?;
    let document = read_kitchen_document(&settings.text).map_err(|error| AppError::ours(&error))?;
    let known = Shelf::of(&kitchen.gels).known();
    Ok(GelsPage { document, known, revision: settings.revision, refused: None })
}

async fn show(State(desk): State<Desk>) -> Result<Response, AppError> {
    Ok(view::view(&page_of(&desk).await?).into_response())
}

fn text(fields: &Fields, key: &str) -> String {
    fields.get(key).map_or("", |text| text.trim()).to_owned()
}

/// What is wrong, without the names of the file.
fn plain(error: &FileError) -> String {
    match error.at_field() {
        ("g_per_100_g", _) => {
            "That is less than 0.001 or more than 10 g of gel in 100 g of icing; correct it."
                .to_owned()
        }
        (_, words) => crate::ui::capital(words) + ".",
    }
}

fn seen_revision(fields: &Fields) -> Result<Revision, AppError> {
    let revision = text(fields, "revision").parse().map(Revision::from_i64);
    revision.map_err(|_| AppError::BadRequest("The form says not which state it changes.".into()))
}

/// Reads a sample: drops or grams in so much icing, and the colors seen.
fn sample(fields: &Fields, drop_g: f64) -> Result<GelSampleDocument, String> {
    let number = |key: &str| typed::number(&text(fields, key)).map_err(|words| words + ".");
    let (amount, icing_g) = (number("amount")?, number("icing_g")?);
    if amount <= 0.0 || icing_g <= 0.0 {
        return Err("Gel and icing are both above zero; correct them.".to_owned());
    }
    let gel_g = if text(fields, "unit") == "g" { amount } else { amount * drop_g };
    let color = |key: &str| Some(text(fields, key)).filter(|text| !text.is_empty());
    Ok(GelSampleDocument {
        // As exact as a kitchen scale makes it.
        g_per_100_g: (gel_g / icing_g * 100_000.0).round() / 1000.0,
        seen: text(fields, "seen"),
        next_day: color("next_day"),
        plain: color("plain"),
        white: color("white"),
        set_aside: false,
    })
}

async fn add(State(desk): State<Desk>, Form(fields): Form<Fields>) -> Result<Response, AppError> {
    let KitchenSettings { settings, kitchen } = desk.kitchen().await?;
    let seen = seen_revision(&fields)?;
    let place = text(&fields, "gel").parse::<usize>().ok();
    let place = place.filter(|place| *place < kitchen.gels.len());
    let place = place.ok_or(AppError::NotFound)?;
    let drop_g = kitchen.gels.get(place).map_or(0.0, |gel| gel.drop.to_g());
    let words = match sample(&fields, drop_g) {
        Err(words) => words,
        Ok(sample) => {
            let changed = change_kitchen(&desk, &settings, seen, |document| {
                if let Some(gel) = document.gel.get_mut(place) {
                    gel.sample.push(sample);
                }
            });
            match changed.await? {
                Ok(()) => return Ok(Redirect::to(&format!("/gels#gel-{place}")).into_response()),
                Err(error) => plain(&error),
            }
        }
    };
    let refused = Some((place, fields, words));
    let page = GelsPage { refused, ..page_of(&desk).await? };
    Ok((StatusCode::UNPROCESSABLE_ENTITY, view::view(&page)).into_response())
}

/// Sets a sample aside, or takes it back.
async fn set_aside(
    State(desk): State<Desk>,
    Form(fields): Form<Fields>,
) -> Result<Response, AppError> {
    let KitchenSettings { settings, .. } = desk.kitchen().await?;
    let seen = seen_revision(&fields)?;
    let place = |key: &str| text(&fields, key).parse::<usize>().map_err(|_| AppError::NotFound);
    let (gel, sample) = (place("gel")?, place("sample")?);
    let changed = change_kitchen(&desk, &settings, seen, |document| {
        let samples = document.gel.get_mut(gel).map(|gel| &mut gel.sample);
        if let Some(sample) = samples.and_then(|samples| samples.get_mut(sample)) {
            sample.set_aside = !sample.set_aside;
        }
    });
    match changed.await? {
        Ok(()) => Ok(Redirect::to(&format!("/gels#gel-{gel}")).into_response()),
        Err(error) => Err(AppError::BadRequest(error.to_string())),
    }
}
