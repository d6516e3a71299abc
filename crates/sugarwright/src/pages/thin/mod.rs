//! Thinning a bowl: what was read so far, the next dose of water, a stopwatch.
//!
//! The whole state stands in the address, so that going back takes back the last reading.

mod view;

use axum::{
    Form, Router,
    extract::{Query, State},
    http::StatusCode,
    response::{IntoResponse, Redirect, Response},
    routing::{get, post},
};
use craft::{
    document::{
        FileError,
        settle::{ReadingEntry, SettleAnswer, SettleRequest, settle, tests_to_keep},
    },
    kitchen::Kitchen,
};
use url::form_urlencoded;

use crate::{
    desk::{Desk, KitchenSettings},
    pages::{measured::change_kitchen, typed},
    web::AppError,
};

pub(crate) fn routes() -> Router<Desk> {
    Router::new().route("/thin", get(show)).route("/thin/keep", post(keep))
}

/// The bowl and its readings as the address has them, and what is being typed.
#[derive(Clone, Debug, Default)]
struct Asked {
    bowl: String,
    target: String,
    stiff: String,
    gel: String,
    readings: Vec<ReadingEntry>,
    /// The reading that is being typed.
    water: String,
    seconds: String,
    answer: String,
    /// Whether a reading was sent.
    is_sent: bool,
}

impl Asked {
    fn read(fields: Vec<(String, String)>) -> Self {
        let mut asked = Self::default();
        for (key, value) in fields {
            match key.as_str() {
                "bowl" => asked.bowl = value.trim().chars().take(80).collect(),
                "target" => asked.target = value,
                // A typed count beats the chosen one.
                "own" if !value.trim().is_empty() => asked.target = value,
                "stiff" => asked.stiff = value,
                "gel" => asked.gel = value,
                "r" => asked.readings.extend(reading(&value)),
                "water" => asked.water = value,
                "seconds" => asked.seconds = value,
                "answer" => (asked.is_sent, asked.answer) = (!value.is_empty(), value),
                _ => {}
            }
        }
        asked
    }

    /// The address of the page in this state, what is being typed aside.
    fn address(&self) -> String {
        let mut query = form_urlencoded::Serializer::new(String::new());
        for (key, value) in self.fields() {
            query.append_pair(key, &value);
        }
        format!("/thin?{}", query.finish())
    }

    /// The same as fields of a form.
    fn fields(&self) -> Vec<(&'static str, String)> {
        let mut fields = vec![
            ("bowl", self.bowl.clone()),
            ("target", self.target.clone()),
            ("stiff", self.stiff.clone()),
            ("gel", self.gel.clone()),
        ];
        fields.extend(self.readings.iter().map(|one| {
            let answer = one.answer.as_deref().unwrap_or_default();
            ("r", format!("{},{},{answer}", one.water_g, one.smooth_s))
        }));
        fields
    }

    /// The grams of stiff icing as typed, or those that hold without.
    fn stiff_or_start(&self) -> &str {
        if self.stiff.trim().is_empty() { "100" } else { self.stiff.trim() }
    }

    fn request(&self, kitchen: &Kitchen) -> Result<SettleRequest, (&'static str, String)> {
        let number = |field, text: &str, start: f64| match text.trim() {
            "" => Ok(start),
            text => typed::number(text).map_err(|words| (field, words + ".")),
        };
        Ok(SettleRequest {
            bowl: self.bowl.clone(),
            target_s: number("target", &self.target, kitchen.counts.flood.to_seconds())?,
            stiff_g: number("stiff", &self.stiff, 100.0)?,
            gel_g: number("gel", &self.gel, 0.0)?,
            reading: self.readings.clone(),
            ..SettleRequest::default()
        })
    }

    /// The reading that was sent, or the field that is wrong and why.
    fn sent(&self, target_s: f64) -> Result<ReadingEntry, (&'static str, String)> {
        let number = |field, text: &str, start: Option<f64>| match (text.trim(), start) {
            ("", Some(start)) => Ok(start),
            ("", None) => Err((field, "Type the seconds, or use the stopwatch.".to_owned())),
            (text, _) => typed::number(text).map_err(|words| (field, words + ".")),
        };
        let answer = matches!(self.answer.as_str(), "yes" | "no").then(|| self.answer.clone());
        let so_far = self.readings.last().map_or(0.0, |last| last.water_g);
        // "At 13 s" is what the button says, whatever stands in the field.
        let smooth_s = match answer {
            Some(_) => target_s,
            None => number("seconds", &self.seconds, None)?,
        };
        Ok(ReadingEntry { water_g: number("water", &self.water, Some(so_far))?, smooth_s, answer })
    }
}

/// Reads "7.5,14," or "7.5,12,no"; what was changed by hand and makes no sense is left out.
fn reading(text: &str) -> Option<ReadingEntry> {
    let mut parts = text.split(',');
    let (water_g, smooth_s) = (parts.next()?.parse().ok()?, parts.next()?.parse().ok()?);
    let answer = parts.next().filter(|one| matches!(*one, "yes" | "no")).map(str::to_owned);
    Some(ReadingEntry { water_g, smooth_s, answer })
}

/// Everything the page shows.
struct ThinPage {
    asked: Asked,
    kitchen: Kitchen,
    /// The count aimed at.
    target_s: f64,
    /// What to do; nothing while something is wrong.
    answer: Option<SettleAnswer>,
    /// The field that is wrong, and why.
    wrong: Option<(String, String)>,
}

async fn show(
    State(desk): State<Desk>,
    Query(fields): Query<Vec<(String, String)>>,
) -> Result<Response, AppError> {
    let KitchenSettings { kitchen, .. } = desk.kitchen().await?;
    let mut asked = Asked::read(fields);
    if asked.bowl.is_empty() {
        // Two bowls of a day are not one.
        asked.bowl = format!("bowl of {}", desk.clock.time(&kitchen.units.time_zone));
    }
    let mut request = match asked.request(&kitchen) {
        Ok(request) => request,
        Err((field, words)) => return Ok(refused(asked, kitchen, field, words)),
    };
    if asked.is_sent {
        match asked.sent(request.target_s) {
            Ok(reading) => request.reading.push(reading),
            Err((field, words)) => return Ok(refused(asked, kitchen, field, words)),
        }
    }
    match settle(&kitchen, &request) {
        Ok(_) if asked.is_sent => {
            let settled = Asked { readings: request.reading, ..asked };
            Ok(Redirect::to(&settled.address()).into_response())
        }
        Ok(answer) => {
            let target_s = request.target_s;
            let page = ThinPage { asked, kitchen, target_s, answer: Some(answer), wrong: None };
            Ok(view::view(&page).into_response())
        }
        Err(error) => {
            let (field, words) = field_of(&error);
            Ok(refused(asked, kitchen, field, words))
        }
    }
}

/// The field of this page that a refused value stands in.
fn field_of(error: &FileError) -> (&'static str, String) {
    let fields = [
        ("target_s", "target"),
        ("stiff_g", "stiff"),
        ("gel_g", "gel"),
        ("water_g", "water"),
        ("smooth_s", "seconds"),
    ];
    let (key, words) = error.at_field();
    let field = fields.iter().find(|(known, _)| *known == key).map_or("target", |(_, field)| field);
    (field, crate::ui::capital(words) + ".")
}

fn refused(asked: Asked, kitchen: Kitchen, field: &str, words: String) -> Response {
    let target_s = typed::number(&asked.target).unwrap_or(kitchen.counts.flood.to_seconds());
    let wrong = Some((field.to_owned(), words));
    let page = ThinPage { asked, kitchen, target_s, answer: None, wrong };
    (StatusCode::UNPROCESSABLE_ENTITY, view::view(&page)).into_response()
}

/// Adds the readings to the kitchen's records.
async fn keep(
    State(desk): State<Desk>,
    Form(fields): Form<Vec<(String, String)>>,
) -> Result<Response, AppError> {
    let KitchenSettings { settings, kitchen } = desk.kitchen().await?;
    let asked = Asked::read(fields);
    let request = asked.request(&kitchen);
    let request = request.map_err(|(_, words)| AppError::BadRequest(words))?;
    settle(&kitchen, &request).map_err(|error| AppError::BadRequest(error.to_string()))?;
    let tests = tests_to_keep(&request, desk.today(&kitchen), &kitchen.counts.method);
    let n_kept = tests.len();
    let changed = change_kitchen(&desk, &settings, settings.revision, |document| {
        // Sent twice, they are still kept once.
        let known = document.water_test.clone();
        document.water_test.extend(tests.into_iter().filter(|test| !known.contains(test)));
    });
    match changed.await? {
        Ok(()) => Ok(Redirect::to(&format!("/measured?kept={n_kept}#water_test")).into_response()),
        Err(error) => Err(AppError::BadRequest(error.to_string())),
    }
}
