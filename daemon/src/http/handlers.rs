//! What each route does.

use std::time::Duration;

use axum::Json;
use axum::extract::rejection::JsonRejection;
use axum::extract::{Path, State};
use axum::http::StatusCode;
use axum::response::IntoResponse;
use serde::Deserialize;
use tokio::sync::mpsc::error::TrySendError;
use utoipa::ToSchema;

use super::events::live_events;
use super::problem::Problem;
use super::state::{Command, Shared, VIEWERS};
use super::visits::{VisitDetail, VisitSource, VisitSourceError, VisitSummary};
use crate::live::LiveState;
use crate::meters::Status;

/// How long a look-up may take before the caller is told to come back.
const LOOKUP_LIMIT: Duration = Duration::from_secs(5);

/// The live stream: each event is the whole present state.
#[utoipa::path(
    get, path = "/api/live", tag = "live", operation_id = "live",
    responses(
        (status = 200, description = "Events whose data is a LiveState as JSON and whose id is its sequence",
         body = LiveState, content_type = "text/event-stream"),
        (status = 503, description = "Too many viewers", body = Problem,
         content_type = "application/problem+json"),
    ),
)]
pub(super) async fn live(State(shared): State<Shared>) -> Result<impl IntoResponse, Problem> {
    let place = shared.viewers.try_acquire_owned().map_err(|_full| {
        let detail = format!("{VIEWERS} pages are watching already; close one of them");
        Problem::new(StatusCode::SERVICE_UNAVAILABLE, detail)
    })?;
    Ok(live_events(shared.app.live, shared.app.meters, shared.stop, place))
}

/// The present state, once.
#[utoipa::path(
    get, path = "/api/state", tag = "live", operation_id = "state",
    responses((status = 200, description = "The present state", body = LiveState)),
)]
pub(super) async fn state(State(shared): State<Shared>) -> Json<LiveState> {
    let state = LiveState::clone(&shared.app.live.borrow());
    Json(state)
}

/// How the program is doing: latencies, cost, and what became of each sensor's samples.
#[utoipa::path(
    get, path = "/api/status", tag = "live", operation_id = "status",
    responses((status = 200, description = "How the program is doing", body = Status)),
)]
pub(super) async fn status(State(shared): State<Shared>) -> Json<Status> {
    Json(shared.app.meters.status())
}

/// All visits, newest first.
#[utoipa::path(
    get, path = "/api/visits", tag = "visits", operation_id = "visits",
    responses(
        (status = 200, description = "All visits, newest first", body = Vec<VisitSummary>),
        (status = 503, description = "The store is busy or cannot be read", body = Problem,
         content_type = "application/problem+json"),
    ),
)]
pub(super) async fn visits(
    State(shared): State<Shared>,
) -> Result<Json<Vec<VisitSummary>>, Problem> {
    look_up(&shared, |source| source.visits()).await.map(Json)
}

/// One visit with its repetitions and changes.
#[utoipa::path(
    get, path = "/api/visits/{id}", tag = "visits", operation_id = "visit",
    params(("id" = String, Path, description = "The visit's id")),
    responses(
        (status = 200, description = "The visit", body = VisitDetail),
        (status = 404, description = "No such visit", body = Problem,
         content_type = "application/problem+json"),
        (status = 503, description = "The store is busy or cannot be read", body = Problem,
         content_type = "application/problem+json"),
    ),
)]
pub(super) async fn visit(
    State(shared): State<Shared>,
    Path(id): Path<String>,
) -> Result<Json<VisitDetail>, Problem> {
    let found = look_up(&shared, move |source| source.visit(&id)).await?;
    let missing = || Problem::new(StatusCode::NOT_FOUND, "no such visit; /api/visits lists them");
    found.map(Json).ok_or_else(missing)
}

/// What a pedal, a key or a button says.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub(super) struct MarkRequest {
    /// What is meant.
    kind: Command,
    /// The visit that is meant, so that a page left open from an earlier visit cannot touch this
    /// one; may be left out.
    #[serde(default)]
    visit: Option<String>,
}

/// Marks the end range, goes on to what comes next, or takes back.
#[utoipa::path(
    post, path = "/api/mark", tag = "live", operation_id = "mark",
    request_body = MarkRequest,
    responses(
        (status = 202, description = "Taken; the live state shows what came of it"),
        (status = 400, description = "Not JSON", body = Problem, content_type = "application/problem+json"),
        (status = 403, description = "Not this daemon's own page", body = Problem,
         content_type = "application/problem+json"),
        (status = 409, description = "Another visit is being recorded, or none", body = Problem,
         content_type = "application/problem+json"),
        (status = 413, description = "Too long", body = Problem, content_type = "application/problem+json"),
        (status = 415, description = "Not application/json", body = Problem,
         content_type = "application/problem+json"),
        (status = 422, description = "JSON of another shape", body = Problem,
         content_type = "application/problem+json"),
        (status = 503, description = "Too many commands at once", body = Problem,
         content_type = "application/problem+json"),
    ),
)]
pub(super) async fn mark(
    State(shared): State<Shared>,
    request: Result<Json<MarkRequest>, JsonRejection>,
) -> Result<StatusCode, Problem> {
    let request = sent(request, r#"{"kind": "mark"}"#)?;
    same_visit(&shared.app.live.borrow(), request.visit.as_deref())?;
    shared.app.commands.try_send(request.kind).map_err(|error| match error {
        TrySendError::Full(_) => {
            Problem::new(StatusCode::SERVICE_UNAVAILABLE, "too many commands at once; try again")
        }
        TrySendError::Closed(_) => {
            Problem::new(StatusCode::CONFLICT, "nothing is being recorded any more")
        }
    })?;
    Ok(StatusCode::ACCEPTED)
}

/// What a request holds; a refused one is told with an example of what to send.
pub(super) fn sent<T>(
    request: Result<Json<T>, JsonRejection>,
    example: &str,
) -> Result<T, Problem> {
    let Json(request) = request.map_err(|refused| {
        Problem::new(refused.status(), format!("{}; send {example}", refused.body_text()))
    })?;
    Ok(request)
}

/// Refuses a command that means a visit other than the one being recorded.
pub(super) fn same_visit(live: &LiveState, meant: Option<&str>) -> Result<(), Problem> {
    if live.ended {
        return Err(Problem::new(StatusCode::CONFLICT, "the visit has ended; nothing was changed"));
    }
    let open = live.visit.as_ref().map(|visit| visit.id.as_str());
    match meant {
        Some(meant) if open != Some(meant) => Err(Problem::new(
            StatusCode::CONFLICT,
            "another visit is being recorded; load the page again. Nothing was changed",
        )),
        _ => Ok(()),
    }
}

/// Asks the store on a thread that may block, a few at a time, and not for ever: a locked database
/// must not reach the live stream.
pub(super) async fn look_up<T: Send + 'static>(
    shared: &Shared,
    ask: impl FnOnce(&dyn VisitSource) -> Result<T, VisitSourceError> + Send + 'static,
) -> Result<T, Problem> {
    let unavailable = |detail: String| Problem::new(StatusCode::SERVICE_UNAVAILABLE, detail);
    let (source, places) = (shared.app.visits.clone(), shared.lookups.clone());
    let answer = async {
        let place = places.acquire_owned().await.map_err(|closed| closed.to_string())?;
        let work = tokio::task::spawn_blocking(move || {
            // Held by the thread, so that one that hangs keeps its place after the caller has left.
            let _place = place;
            ask(source.as_ref()).map_err(|error| error.to_string())
        });
        work.await.map_err(|error| error.to_string())?
    };
    match tokio::time::timeout(LOOKUP_LIMIT, answer).await {
        Ok(answer) => answer.map_err(unavailable),
        Err(_elapsed) => Err(unavailable("the store is busy; try again in a moment".to_owned())),
    }
}
