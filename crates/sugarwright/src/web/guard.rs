//! Who may ask, and what a browser may do with the answer.
//!
//! Another site could make this browser send requests here, or let its own name point at this machine:
//! - a request must name one of our own authorities (against DNS rebinding);
//! - a request that changes something must come from our own pages: by `Sec-Fetch-Site` where the browser sends it,
//!   else by `Origin`; with neither it is refused (the rule of Go 1.25, `http.CrossOriginProtection`, stricter in the last case).

use std::{net::SocketAddr, sync::Arc};

use axum::{
    extract::{Request, State},
    http::{HeaderMap, HeaderValue, Method, StatusCode, Uri, header},
    middleware::Next,
    response::{IntoResponse, Response},
};

/// The authorities this server answers to: host and port as they stand in `Host`.
#[derive(Clone, Debug)]
pub(crate) struct Authorities(Arc<[String]>);

impl Authorities {
    /// The names of a loopback address.
    pub(crate) fn of_loopback(address: SocketAddr) -> Self {
        let port = address.port();
        Self(["localhost", "127.0.0.1", "[::1]"].map(|host| format!("{host}:{port}")).into())
    }

    fn has(&self, authority: &str) -> bool {
        self.0.iter().any(|own| own.eq_ignore_ascii_case(authority))
    }
}

/// Refuses requests that name another host (421), and changes that come from another site (403).
pub(crate) async fn check_asker(
    State(authorities): State<Authorities>,
    request: Request,
    next: Next,
) -> Response {
    let headers = request.headers();
    let Some(authority) = authority(request.uri(), headers) else {
        return (StatusCode::BAD_REQUEST, "The request names no host.").into_response();
    };
    if !authorities.has(&authority) {
        let words = "This address does not belong to sugarwright. Use the address it printed when it started.";
        return (StatusCode::MISDIRECTED_REQUEST, words).into_response();
    }
    let only_reads = matches!(*request.method(), Method::GET | Method::HEAD);
    if !only_reads && !is_own_page(headers, &authority) {
        let words =
            "This change was not asked for by a page of sugarwright, so nothing was changed.";
        return (StatusCode::FORBIDDEN, words).into_response();
    }
    next.run(request).await
}

/// HTTP/2 names the host in the target, HTTP/1.1 in a header.
fn authority(uri: &Uri, headers: &HeaderMap) -> Option<String> {
    match uri.authority() {
        Some(authority) => Some(authority.to_string()),
        None => Some(headers.get(header::HOST)?.to_str().ok()?.to_owned()),
    }
}

fn is_own_page(headers: &HeaderMap, authority: &str) -> bool {
    match headers.get("sec-fetch-site").map(HeaderValue::as_bytes) {
        Some(site) => matches!(site, b"same-origin" | b"none"),
        None => headers.get(header::ORIGIN).is_some_and(|origin| {
            origin.as_bytes().eq_ignore_ascii_case(format!("http://{authority}").as_bytes())
        }),
    }
}

/// No inline script or style, nothing from elsewhere, no frame around a page.
const CONTENT_SECURITY_POLICY: &str = "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self'; \
     font-src 'self'; connect-src 'self'; manifest-src 'self'; form-action 'self'; base-uri 'none'; frame-ancestors 'none'; \
     require-trusted-types-for 'script'";

/// Says with every answer what a browser may do with it; what an answer says itself stays.
pub(crate) async fn set_headers(request: Request, next: Next) -> Response {
    let mut response = next.run(request).await;
    let headers = response.headers_mut();
    for (name, value) in [
        (header::CONTENT_SECURITY_POLICY, CONTENT_SECURITY_POLICY),
        (header::X_CONTENT_TYPE_OPTIONS, "nosniff"),
        (header::X_FRAME_OPTIONS, "DENY"),
        (header::REFERRER_POLICY, "same-origin"),
        (header::CACHE_CONTROL, "no-store"),
    ] {
        headers.entry(name).or_insert(HeaderValue::from_static(value));
    }
    for (name, value) in [
        ("cross-origin-opener-policy", "same-origin"),
        ("cross-origin-resource-policy", "same-origin"),
    ] {
        headers.entry(name).or_insert(HeaderValue::from_static(value));
    }
    response
}

#[cfg(test)]
mod tests {
    use super::*;

    fn check(headers: &[(&str, &str)], expected: bool) {
        let map: HeaderMap = headers
            .iter()
            .map(|(name, value)| {
                let name: header::HeaderName = name.parse().expect("a name");
                (name, HeaderValue::from_str(value).expect("a value"))
            })
            .collect();
        assert_eq!(is_own_page(&map, "localhost:8080"), expected, "{headers:?}");
    }

    #[test]
    fn only_our_own_pages_may_change_anything() {
        check(&[("sec-fetch-site", "same-origin")], true);
        check(&[("sec-fetch-site", "none")], true);
        check(&[("sec-fetch-site", "same-site")], false);
        check(&[("sec-fetch-site", "cross-site"), ("origin", "http://localhost:8080")], false);
        check(&[("origin", "http://localhost:8080")], true);
        check(&[("origin", "http://LOCALHOST:8080")], true);
        check(&[("origin", "https://localhost:8080")], false);
        check(&[("origin", "http://localhost:80801")], false);
        check(&[("origin", "null")], false);
        check(&[], false);
    }

    #[test]
    fn only_our_own_names_are_answered() {
        let own = Authorities::of_loopback(([127, 0, 0, 1], 8080).into());
        for (authority, expected) in [
            ("localhost:8080", true),
            ("LocalHost:8080", true),
            ("127.0.0.1:8080", true),
            ("[::1]:8080", true),
            ("localhost", false),
            ("localhost:80", false),
            ("rebound.test:8080", false),
            ("127.0.0.1.rebound.test:8080", false),
        ] {
            assert_eq!(own.has(authority), expected, "{authority}");
        }
    }
}
