//! Errors as problem details (RFC 9457, `application/problem+json`).

use axum::Json;
use axum::extract::Request;
use axum::http::header::{CONTENT_LENGTH, CONTENT_TYPE};
use axum::http::{HeaderValue, StatusCode};
use axum::middleware::Next;
use axum::response::{IntoResponse, Response};
use serde::Serialize;
use utoipa::ToSchema;

/// The media type of a problem (RFC 9457, section 3).
const MEDIA_TYPE: HeaderValue = HeaderValue::from_static("application/problem+json");

/// One problem, as RFC 9457 describes it.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, ToSchema)]
pub struct Problem {
    /// `about:blank`: the status says what kind of problem it is (RFC 9457, section 4.2.1).
    #[serde(rename = "type")]
    pub kind: &'static str,
    /// The status in words.
    pub title: String,
    /// The HTTP status.
    pub status: u16,
    /// What went wrong here, and what to do about it.
    pub detail: String,
}

impl Problem {
    /// A problem with this status; `detail` says what went wrong here and what to do about it.
    #[must_use]
    pub fn new(status: StatusCode, detail: impl Into<String>) -> Self {
        Self {
            kind: "about:blank",
            title: status.canonical_reason().unwrap_or("Error").to_owned(),
            status: status.as_u16(),
            detail: detail.into(),
        }
    }
}

impl IntoResponse for Problem {
    fn into_response(self) -> Response {
        let status = StatusCode::from_u16(self.status).unwrap_or(StatusCode::INTERNAL_SERVER_ERROR);
        (status, [(CONTENT_TYPE, MEDIA_TYPE)], Json(self)).into_response()
    }
}

/// Turns every error answer that is not a problem yet (unknown path, wrong method, a refused body)
/// into one, and keeps its status and headers, `Allow` among them.
pub(super) async fn errors_as_problems(request: Request, next: Next) -> Response {
    let what = format!("{} {}", request.method(), request.uri().path());
    let response = next.run(request).await;
    let status = response.status();
    let is_error = status.is_client_error() || status.is_server_error();
    if !is_error || response.headers().get(CONTENT_TYPE) == Some(&MEDIA_TYPE) {
        return response;
    }
    let (mut parts, _) = response.into_parts();
    let problem = Problem::new(status, detail_of(status, &what)).into_response();
    parts.headers.remove(CONTENT_LENGTH);
    parts.headers.insert(CONTENT_TYPE, MEDIA_TYPE);
    Response::from_parts(parts, problem.into_body())
}

/// What is said for a status that the router itself gave.
fn detail_of(status: StatusCode, what: &str) -> String {
    match status {
        StatusCode::NOT_FOUND => format!("{what}: there is nothing here; see /api/openapi.json"),
        StatusCode::METHOD_NOT_ALLOWED => {
            format!("{what}: this method is not offered here; see the Allow header")
        }
        _ => format!("{what}: {status}"),
    }
}
