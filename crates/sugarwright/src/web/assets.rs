//! Styles, scripts, letters and pictures of the pages, built into the program.
//!
//! All are served below one address that holds the digest of all of them, so that a browser may keep them forever,
//! and modules can import each other by relative addresses.

use std::sync::LazyLock;

use axum::{
    Router,
    extract::Path,
    http::{HeaderValue, header},
    response::{IntoResponse, Response},
    routing::get,
};
use sha2::{Digest, Sha256};

use super::AppError;

/// One file.
struct Asset {
    path: &'static str,
    kind: &'static str,
    content: &'static [u8],
}

macro_rules! assets {
    ($($path:literal: $kind:literal),+ $(,)?) => {
        [$(Asset {
            path: $path,
            kind: $kind,
            content: include_bytes!(concat!("../../assets/", $path)),
        }),+]
    };
}

static ASSETS: [Asset; 17] = assets![
    "css/reset.css": "text/css; charset=utf-8",
    "css/tokens.css": "text/css; charset=utf-8",
    "css/base.css": "text/css; charset=utf-8",
    "css/layout.css": "text/css; charset=utf-8",
    "css/component.css": "text/css; charset=utf-8",
    "css/page.css": "text/css; charset=utf-8",
    "css/numerals.css": "text/css; charset=utf-8",
    "css/print.css": "text/css; charset=utf-8",
    "js/progress.js": "text/javascript; charset=utf-8",
    "js/items.js": "text/javascript; charset=utf-8",
    "js/sample.js": "text/javascript; charset=utf-8",
    "js/stopwatch.js": "text/javascript; charset=utf-8",
    "js/true-size.js": "text/javascript; charset=utf-8",
    "font/vollkorn-latin-wght-normal.woff2": "font/woff2",
    "font/vollkorn-latin-wght-italic.woff2": "font/woff2",
    "font/ysabeau-office-latin-wght-normal.woff2": "font/woff2",
    "icon/mark.svg": "image/svg+xml",
];

/// The layers of the style sheet, in their order.
pub(crate) const STYLES: [&str; 8] = [
    "css/reset.css",
    "css/tokens.css",
    "css/base.css",
    "css/layout.css",
    "css/component.css",
    "css/page.css",
    "css/numerals.css",
    "css/print.css",
];

static DIGEST: LazyLock<String> = LazyLock::new(|| {
    let mut sum = Sha256::new();
    for asset in &ASSETS {
        sum.update(asset.path);
        sum.update(asset.content);
    }
    sum.finalize().iter().take(8).map(|byte| format!("{byte:02x}")).collect()
});

/// Returns the address of an asset.
pub(crate) fn address(path: &str) -> String {
    format!("/assets/{}/{path}", *DIGEST)
}

/// A file of this digest never changes.
pub(crate) const FOREVER: HeaderValue =
    HeaderValue::from_static("public, max-age=31536000, immutable");

/// Serves the assets.
pub(crate) fn routes<S: Clone + Send + Sync + 'static>() -> Router<S> {
    Router::new().route("/assets/{digest}/{*path}", get(asset))
}

async fn asset(Path((digest, path)): Path<(String, String)>) -> Result<Response, AppError> {
    let asset = ASSETS.iter().find(|asset| asset.path == path && digest == *DIGEST);
    let asset = asset.ok_or(AppError::NotFound)?;
    let headers = [
        (header::CONTENT_TYPE, HeaderValue::from_static(asset.kind)),
        (header::CACHE_CONTROL, FOREVER),
    ];
    Ok((headers, asset.content).into_response())
}
