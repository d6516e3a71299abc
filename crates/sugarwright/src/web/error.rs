//! Trouble as a page: what is the matter, that nothing is lost, and where to go from here.

use std::{any::Any, fmt};

use axum::{
    http::StatusCode,
    response::{IntoResponse, Response},
};
use maud::{Markup, html};
use store::DatabaseError;

use crate::{
    desk::DeskError,
    failure::told,
    ui::{Page, page},
};

/// What a maker tells whoever helps her, and what stands in the log.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct Reference(String);

impl Reference {
    /// Makes a new one: eight signs, enough to find a line in a log.
    pub(crate) fn new() -> Self {
        let whole = uuid::Uuid::now_v7().simple().to_string();
        Self(whole.get(24..).unwrap_or(&whole).to_owned())
    }
}

impl fmt::Display for Reference {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.0)
    }
}

/// Why a page could not be shown.
#[derive(Debug)]
pub(crate) enum AppError {
    /// There is no such page or thing.
    NotFound,
    /// What was sent is no form of ours.
    BadRequest(String),
    /// It was changed meanwhile.
    Stale,
    /// It is our fault; the chain stands in the log.
    Ours(Reference),
}

impl AppError {
    /// Logs what went wrong and returns an error with its reference.
    pub(crate) fn ours(error: &(dyn std::error::Error + 'static)) -> Self {
        let reference = Reference::new();
        tracing::error!("{reference}: {}", told(error));
        Self::Ours(reference)
    }
}

impl From<DeskError> for AppError {
    fn from(error: DeskError) -> Self {
        match error {
            DeskError::Database(error) => error.into(),
            other => Self::ours(&other),
        }
    }
}

impl From<DatabaseError> for AppError {
    fn from(error: DatabaseError) -> Self {
        match error {
            DatabaseError::Stale { .. } => Self::Stale,
            DatabaseError::Missing { .. } => Self::NotFound,
            other => Self::ours(&other),
        }
    }
}

impl From<papers::Error> for AppError {
    fn from(error: papers::Error) -> Self {
        Self::ours(&error)
    }
}

impl IntoResponse for AppError {
    fn into_response(self) -> Response {
        let (status, title, words) = match self {
            Self::NotFound => (
                StatusCode::NOT_FOUND,
                "This page is not here",
                html! { p.lead { "It may have been removed, or the address was cut off on its way." } },
            ),
            Self::BadRequest(words) => {
                (StatusCode::BAD_REQUEST, "This could not be read", html! { p.lead { (words) } })
            }
            Self::Stale => (
                StatusCode::CONFLICT,
                "This was changed meanwhile",
                html! {
                    p.lead {
                        "Another page of yours changed it after this one was opened, so nothing was saved here. "
                        "Go back, load the page again and repeat the change."
                    }
                },
            ),
            Self::Ours(reference) => {
                (StatusCode::INTERNAL_SERVER_ERROR, "Something went wrong here", ours(&reference))
            }
        };
        let content = html! {
            div.plain-page {
                h1 { (title) }
                (words)
                p.acts { a.act href="/" { "To the orders" } }
            }
        };
        (status, page(&Page { title, here: "", styles: &[], scripts: &[], waits: false }, &content))
            .into_response()
    }
}

fn ours(reference: &Reference) -> Markup {
    html! {
        p.lead { "It is not your doing, and nothing that was saved is lost." }
        p {
            "If it happens again, tell whoever looks after this program the reference "
            strong.figures { (reference) }
            "; it stands beside the cause in the program's log."
        }
    }
}

/// Turns a panic while answering into the error page.
pub(crate) fn caught_panic(panic: Box<dyn Any + Send + 'static>) -> Response {
    let reference = Reference::new();
    tracing::error!("{reference}: a page panicked: {}", panic_words(&*panic));
    AppError::Ours(reference).into_response()
}

/// Returns what a panic said.
pub(crate) fn panic_words(panic: &(dyn Any + Send)) -> &str {
    panic
        .downcast_ref::<&str>()
        .copied()
        .or_else(|| panic.downcast_ref::<String>().map(String::as_str))
        .unwrap_or("no words")
}

#[cfg(test)]
mod tests {
    use axum::body::to_bytes;

    use super::*;

    #[tokio::test]
    async fn a_page_that_panics_is_the_error_page_with_a_reference() {
        let response = caught_panic(Box::new("out of flour"));
        assert_eq!(response.status(), StatusCode::INTERNAL_SERVER_ERROR);
        let body = to_bytes(response.into_body(), usize::MAX).await.expect("a body");
        let page = String::from_utf8_lossy(&body);
        assert!(page.contains("nothing that was saved is lost"), "{page}");
        assert!(page.contains("class=\"figures\"") && !page.contains("out of flour"), "{page}");
    }
}
