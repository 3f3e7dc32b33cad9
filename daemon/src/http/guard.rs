//! Who may talk to the daemon.
//!
//! A browser runs pages from everywhere, and any of them can send requests to a port of this
//! computer. Three rules keep them out: the request must be addressed to one of the daemon's own
//! names and must not come from a foreign page, both checked before anything is routed; and a write
//! must be JSON, which a foreign page cannot send without asking first, and is never allowed to.

use axum::extract::{Request, State};
use axum::http::header::{CONTENT_TYPE, HOST, HeaderName, ORIGIN};
use axum::http::{HeaderMap, StatusCode};
use axum::middleware::Next;
use axum::response::{IntoResponse, Response};

use super::names::OwnNames;
use super::problem::Problem;

/// Set by browsers: how the page that asks is related to us (W3C Fetch Metadata).
const FETCH_SITE: HeaderName = HeaderName::from_static("sec-fetch-site");

/// Lets a request pass, or answers it with a problem; nothing behind it has then run.
pub(super) async fn guard(State(own): State<OwnNames>, request: Request, next: Next) -> Response {
    match refusal(&own, &request) {
        Some(problem) => {
            tracing::warn!(path = request.uri().path(), "refused a request: {}", problem.detail);
            problem.into_response()
        }
        None => next.run(request).await,
    }
}

/// Why a request is refused, if it is.
fn refusal(own: &OwnNames, request: &Request) -> Option<Problem> {
    foreign_host(own, request)
        .or_else(|| foreign_origin(own, request.headers()))
        .or_else(|| foreign_site(request))
}

/// Exactly one `Host`, and it is ours; so is the host of an absolute request target.
fn foreign_host(own: &OwnNames, request: &Request) -> Option<Problem> {
    let mut hosts = request.headers().get_all(HOST).iter();
    let only = hosts.next().filter(|_| hosts.next().is_none());
    let host_is_own = only.and_then(|host| host.to_str().ok()).is_some_and(|h| own.has_host(h));
    let target_is_own = request.uri().authority().is_none_or(|a| own.has_host(a.as_str()));
    (!host_is_own || !target_is_own).then(|| {
        Problem::new(
            StatusCode::MISDIRECTED_REQUEST,
            "this computer is called by a name that is not its own; use localhost, 127.0.0.1 or \
             [::1] with the port of the page",
        )
    })
}

/// A page that says where it comes from must be ours.
fn foreign_origin(own: &OwnNames, headers: &HeaderMap) -> Option<Problem> {
    let mut origins = headers.get_all(ORIGIN).iter();
    let all_own = origins.all(|o| o.to_str().is_ok_and(|origin| own.has_origin(origin)));
    (!all_own).then(|| {
        Problem::new(StatusCode::FORBIDDEN, "only this daemon's own page may send requests to it")
    })
}

/// A foreign page may link to the page, but it may not open the interface behind it, not even
/// blindly: each live stream it opened would take a viewer's place.
fn foreign_site(request: &Request) -> Option<Problem> {
    let site = request.headers().get(FETCH_SITE)?;
    let own = site == "same-origin" || site == "none";
    (request.uri().path().starts_with("/api") && !own).then(|| {
        Problem::new(StatusCode::FORBIDDEN, "only this daemon's own page may use its interface")
    })
}

/// Refuses a write that does not say that it is JSON. Runs once path and method are known, so that
/// a method that is not offered is still answered as such.
pub(super) async fn writes_are_json(request: Request, next: Next) -> Response {
    match write_without_json(&request) {
        Some(problem) => problem.into_response(),
        None => next.run(request).await,
    }
}

fn write_without_json(request: &Request) -> Option<Problem> {
    if request.method().is_safe() {
        return None;
    }
    let media = request.headers().get(CONTENT_TYPE).and_then(|value| value.to_str().ok());
    let essence = media.and_then(|m| m.split(';').next()).unwrap_or_default().trim();
    (!essence.eq_ignore_ascii_case("application/json")).then(|| {
        Problem::new(
            StatusCode::UNSUPPORTED_MEDIA_TYPE,
            "send JSON with Content-Type: application/json",
        )
    })
}
