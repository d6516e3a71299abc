//! The pages, one module each: handlers take what was asked, load, and hand a plain struct to a view.

mod ask;
mod days;
mod downloads;
mod events;
mod gels;
mod intake;
mod kitchen;
mod measured;
mod order;
mod orders;
mod pictures;
mod progress;
#[cfg(test)]
mod tests;
mod thin;
mod typed;
mod what_if;

use axum::{
    Router,
    extract::{DefaultBodyLimit, FromRequestParts},
    http::request::Parts,
    middleware,
};
pub(crate) use progress::news_words;
use store::{EventId, OrderId};
use tower_http::{catch_panic::CatchPanicLayer, compression::CompressionLayer};

use crate::{
    desk::Desk,
    web::{AppError, Authorities, assets, caught_panic, check_asker, set_headers},
};

/// Most bytes of a form with its drawings: what an order folder may hold.
const MOST_BYTES: usize = 64 * 1024 * 1024;

/// Everything the server answers.
pub(crate) fn router(desk: Desk, authorities: Authorities) -> Router {
    Router::new()
        .merge(orders::routes())
        .merge(days::routes())
        .merge(intake::routes())
        .merge(order::routes())
        .merge(events::routes())
        .merge(pictures::routes())
        .merge(downloads::routes())
        .merge(progress::routes())
        .merge(kitchen::routes())
        .merge(measured::routes())
        .merge(gels::routes())
        .merge(thin::routes())
        .merge(what_if::routes())
        .merge(assets::routes())
        .fallback(async || AppError::NotFound)
        .with_state(desk)
        .layer(DefaultBodyLimit::max(MOST_BYTES))
        .layer(CatchPanicLayer::custom(caught_panic))
        .layer(CompressionLayer::new())
        .layer(middleware::from_fn_with_state(authorities, check_asker))
        .layer(middleware::from_fn(set_headers))
}

/// The order an address names.
pub(crate) struct OrderOf(pub(crate) OrderId);

/// The order and the event an address names.
pub(crate) struct EventOf(pub(crate) OrderId, pub(crate) EventId);

/// Reads a named part of an address.
async fn part<S: Send + Sync>(parts: &mut Parts, state: &S, name: &str) -> Option<String> {
    let path = axum::extract::RawPathParams::from_request_parts(parts, state).await.ok()?;
    path.iter().find(|(key, _)| *key == name).map(|(_, value)| value.to_owned())
}

impl<S: Send + Sync> FromRequestParts<S> for OrderOf {
    type Rejection = AppError;

    async fn from_request_parts(parts: &mut Parts, state: &S) -> Result<Self, AppError> {
        let id = part(parts, state, "order").await.and_then(|id| OrderId::parse(&id));
        id.map(Self).ok_or(AppError::NotFound)
    }
}

impl<S: Send + Sync> FromRequestParts<S> for EventOf {
    type Rejection = AppError;

    async fn from_request_parts(parts: &mut Parts, state: &S) -> Result<Self, AppError> {
        let OrderOf(order) = OrderOf::from_request_parts(parts, state).await?;
        let event = part(parts, state, "event").await.and_then(|id| EventId::parse(&id));
        event.map(|event| Self(order, event)).ok_or(AppError::NotFound)
    }
}
