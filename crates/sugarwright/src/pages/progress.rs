//! News of plans as they are made, for pages that wait for one (server-sent events, HTML Living Standard).

use std::convert::Infallible;

use axum::{
    Router,
    extract::{Query, State},
    response::{
        Redirect,
        sse::{Event, KeepAlive, Sse},
    },
    routing::{get, post},
};
use craft::{
    cutting::SheetsSoFar,
    plan::{Chapter, News},
};
use serde::Deserialize;
use store::OrderId;
use tokio_stream::{Stream, StreamExt, wrappers::BroadcastStream};

use crate::{
    desk::{Desk, Progress, Told},
    pages::OrderOf,
    ui::counted,
};

pub(crate) fn routes() -> Router<Desk> {
    Router::new()
        .route("/progress", get(of_all))
        .route("/orders/{order}/progress", get(of_one))
        .route("/orders/{order}/enough", post(enough))
}

/// Says how far a plan is.
pub(crate) fn progress_words(progress: Option<&Progress>) -> String {
    match progress {
        None | Some(Progress::Waiting) => "The plan is about to be made.".to_owned(),
        Some(Progress::Making(news)) => {
            format!("The plan is being made: {}.", news_words(*news))
        }
        Some(Progress::Failed(reference)) => format!(
            "The plan could not be made, through no fault of the order, which is kept. Reference {reference}."
        ),
        Some(Progress::Refused(why)) => format!("This cannot be planned: {why}."),
    }
}

/// Says what is worked on, and what was found so far.
pub(crate) fn news_words(news: News) -> String {
    let chapter = chapter_words(news.chapter);
    match news.sheets {
        Some(SheetsSoFar { n_fresh, n_rerolled }) => {
            let fresh = counted(n_fresh, "fresh sheet", "fresh sheets");
            let scraps = match n_rerolled {
                0 => String::new(),
                n => format!(" and {}", counted(n, "re-roll", "re-rolls")),
            };
            format!("{chapter}, {fresh}{scraps} so far")
        }
        None => chapter.to_owned(),
    }
}

fn chapter_words(chapter: Chapter) -> &'static str {
    match chapter {
        Chapter::Sections => "reading the drawings",
        Chapter::Icing => "measuring the icing",
        Chapter::Dough => "laying out the dough sheets",
        Chapter::Baking => "filling the trays",
        Chapter::Passes => "ordering the passes",
        Chapter::Money => "shopping, label and price",
        Chapter::Days => "placing the days",
    }
}

/// What a page that waits has seen.
#[derive(Deserialize)]
struct Seen {
    /// How much was done when the page was made.
    after: Option<u64>,
}

async fn of_all(
    State(desk): State<Desk>,
    Query(seen): Query<Seen>,
) -> Sse<impl Stream<Item = Result<Event, Infallible>>> {
    news(&desk, None, seen)
}

/// Ends the search for a better plan of an order; what was found stands.
async fn enough(State(desk): State<Desk>, OrderOf(order): OrderOf) -> Redirect {
    desk.planner.end_search(&order);
    Redirect::to(&format!("/orders/{order}"))
}

async fn of_one(
    State(desk): State<Desk>,
    OrderOf(order): OrderOf,
    Query(seen): Query<Seen>,
) -> Sse<impl Stream<Item = Result<Event, Infallible>>> {
    news(&desk, Some(order), seen)
}

/// Events: `chapter` with the order and the words, `done` once a plan or the days are there.
///
/// What was done between the making of the page and this question is told at once: nothing else may come after it.
fn news(
    desk: &Desk,
    of: Option<OrderId>,
    seen: Seen,
) -> Sse<impl Stream<Item = Result<Event, Infallible>> + use<>> {
    // Listening comes first, so that nothing is done unheard.
    let told = desk.planner.listen();
    let missed = seen.after.is_some_and(|after| after != desk.planner.n_done());
    let missed = missed.then(|| Ok(Event::default().event("done").data("meanwhile")));
    let told = BroadcastStream::new(told).filter_map(move |told| match told {
        Ok(Told::Plan(order, progress)) if of.as_ref().is_none_or(|of| *of == order) => {
            Some(Ok(event(&order, progress.as_ref())))
        }
        Ok(Told::Plan(..)) => None,
        // Whoever was too slow to read looks at the page again.
        Ok(Told::Days) | Err(_) => Some(Ok(Event::default().event("done").data("days"))),
    });
    Sse::new(tokio_stream::iter(missed).chain(told)).keep_alive(KeepAlive::default())
}

fn event(order: &OrderId, progress: Option<&Progress>) -> Event {
    match progress {
        Some(Progress::Waiting | Progress::Making(_)) => {
            let words = format!("{order}\n{}", progress_words(progress));
            Event::default().event("chapter").data(words)
        }
        // There, or as far as it will ever be: either way the page has news.
        Some(Progress::Failed(_) | Progress::Refused(_)) | None => {
            Event::default().event("done").data(order.as_str())
        }
    }
}
