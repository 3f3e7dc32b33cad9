//! Headers that every answer carries.

use axum::extract::Request;
use axum::http::header::{
    CACHE_CONTROL, CONTENT_SECURITY_POLICY, HeaderName, REFERRER_POLICY, X_CONTENT_TYPE_OPTIONS,
};
use axum::http::{HeaderMap, HeaderValue};
use axum::middleware::Next;
use axum::response::Response;

/// Only our own files; no inline script, no inline style, no frame around the page.
const CONTENT_POLICY: &str = "default-src 'self'; object-src 'none'; base-uri 'none'; \
                              form-action 'none'; frame-ancestors 'none'";

/// Keeps other sites from drawing our answers into their pages.
const RESOURCE_POLICY: HeaderName = HeaderName::from_static("cross-origin-resource-policy");

/// Adds the headers of [`add_to`].
pub(super) async fn headers(request: Request, next: Next) -> Response {
    let is_api = request.uri().path().starts_with("/api");
    let mut response = next.run(request).await;
    add_to(response.headers_mut(), is_api);
    response
}

/// The page's files may be kept but are asked for again, because they change with the program;
/// what the interface says of a person is never kept.
fn add_to(headers: &mut HeaderMap, is_api: bool) {
    let cache = if is_api { "no-store" } else { "no-cache" };
    for (name, value) in [
        (CONTENT_SECURITY_POLICY, CONTENT_POLICY),
        (X_CONTENT_TYPE_OPTIONS, "nosniff"),
        (REFERRER_POLICY, "no-referrer"),
        (RESOURCE_POLICY, "same-origin"),
        (CACHE_CONTROL, cache),
    ] {
        headers.insert(name, HeaderValue::from_static(value));
    }
}
