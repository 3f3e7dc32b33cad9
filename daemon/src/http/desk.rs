//! The desk over HTTP: history, movements, reports, putting right.

use std::time::Duration;

use axum::Json;
use axum::extract::rejection::JsonRejection;
use axum::extract::{Path, Query, State};
use axum::http::header::{CONTENT_DISPOSITION, CONTENT_TYPE};
use axum::http::{HeaderValue, StatusCode};
use axum::response::{IntoResponse, Response};
use serde::Deserialize;

use super::problem::Problem;
use super::state::Shared;
use crate::desk::{Curve, Desk, DeskError, HistoryVisit, RawCurve, Request, Sheet};
use crate::report::{PaperSize, Reader, Wishes};
use crate::store::VisitId;
use crate::words::Language;

/// How long something at the desk may take: a long visit is analysed whole.
const LIMIT: Duration = Duration::from_secs(60);

/// A person's visits over time, oldest first.
#[utoipa::path(
    get, path = "/api/people/{person}/visits", tag = "desk", operation_id = "history",
    params(("person" = String, Path, description = "The person's code")),
    responses(
        (status = 200, description = "The visits; none for one who is not known", body = Vec<HistoryVisit>),
        (status = 503, description = "The store is busy or cannot be read", body = Problem,
         content_type = "application/problem+json"),
    ),
)]
pub(super) async fn history(
    State(shared): State<Shared>,
    Path(person): Path<String>,
) -> Result<Json<Vec<HistoryVisit>>, Problem> {
    at_desk(&shared, move |desk| desk.history(&person)).await.map(Json)
}

/// One visit as the desk shows it.
#[utoipa::path(
    get, path = "/api/visits/{id}/sheet", tag = "desk", operation_id = "sheet",
    params(("id" = String, Path, description = "The visit's id")),
    responses(
        (status = 200, description = "The visit", body = Sheet),
        (status = 404, description = "No such visit", body = Problem,
         content_type = "application/problem+json"),
        (status = 503, description = "The store is busy or cannot be read", body = Problem,
         content_type = "application/problem+json"),
    ),
)]
pub(super) async fn sheet(
    State(shared): State<Shared>,
    Path(id): Path<String>,
) -> Result<Json<Sheet>, Problem> {
    let visit = visit_id(&id)?;
    at_desk(&shared, move |desk| desk.sheet(visit)).await.map(Json)
}

/// The movement of each repetition of a visit.
#[utoipa::path(
    get, path = "/api/visits/{id}/curves", tag = "desk", operation_id = "curves",
    params(("id" = String, Path, description = "The visit's id")),
    responses(
        (status = 200, description = "A curve for each repetition", body = Vec<Curve>),
        (status = 404, description = "No such visit", body = Problem,
         content_type = "application/problem+json"),
        (status = 503, description = "The store is busy or cannot be read", body = Problem,
         content_type = "application/problem+json"),
    ),
)]
pub(super) async fn curves(
    State(shared): State<Shared>,
    Path(id): Path<String>,
) -> Result<Json<Vec<Curve>>, Problem> {
    let visit = visit_id(&id)?;
    at_desk(&shared, move |desk| desk.curves(visit)).await.map(Json)
}

/// The raw readings of one repetition.
#[utoipa::path(
    get, path = "/api/visits/{id}/repetitions/{repetition}/raw", tag = "desk", operation_id = "raw",
    params(
        ("id" = String, Path, description = "The visit's id"),
        ("repetition" = String, Path, description = "The repetition's id"),
    ),
    responses(
        (status = 200, description = "The readings of the leg's shank sensor", body = RawCurve),
        (status = 404, description = "No such visit or repetition", body = Problem,
         content_type = "application/problem+json"),
        (status = 503, description = "The store is busy or cannot be read", body = Problem,
         content_type = "application/problem+json"),
    ),
)]
pub(super) async fn raw(
    State(shared): State<Shared>,
    Path((id, repetition)): Path<(String, String)>,
) -> Result<Json<RawCurve>, Problem> {
    let visit = visit_id(&id)?;
    let missing = || Problem::new(StatusCode::NOT_FOUND, "no such repetition in this visit");
    let repetition = repetition.parse().map_err(|_not_a_number| missing())?;
    at_desk(&shared, move |desk| desk.raw(visit, repetition)).await.map(Json)
}

/// What a report is to be like.
#[derive(Debug, Clone, Copy, Default, Deserialize)]
#[serde(default)]
pub(super) struct ReportQuery {
    /// `record` or `person`.
    #[serde(rename = "for")]
    reader: Reader,
    /// `en` or `de`.
    lang: Language,
    /// Whether published ranges are told.
    ranges: bool,
    /// `a4` or `letter` for a PDF; HTML without.
    paper: Option<PaperSize>,
}

/// The report of a visit, as a file to keep.
#[utoipa::path(
    get, path = "/api/visits/{id}/report", tag = "desk", operation_id = "report",
    params(
        ("id" = String, Path, description = "The visit's id"),
        ("for" = Option<String>, Query, description = "`record` (as without) or `person`"),
        ("lang" = Option<String>, Query, description = "`en` (as without) or `de`"),
        ("ranges" = Option<bool>, Query, description = "Whether published ranges are told"),
        ("paper" = Option<String>, Query, description = "`a4` or `letter` for a PDF; HTML without"),
    ),
    responses(
        (status = 200, description = "The report: HTML, or PDF where a size of paper is named"),
        (status = 404, description = "No such visit", body = Problem,
         content_type = "application/problem+json"),
        (status = 503, description = "The store is busy or cannot be read", body = Problem,
         content_type = "application/problem+json"),
    ),
)]
pub(super) async fn report(
    State(shared): State<Shared>,
    Path(id): Path<String>,
    Query(query): Query<ReportQuery>,
) -> Result<Response, Problem> {
    let visit = visit_id(&id)?;
    let wishes = Wishes { reader: query.reader, language: query.lang, ranges: query.ranges };
    let bytes = at_desk(&shared, move |desk| desk.report(visit, wishes, query.paper)).await?;
    let (media, end) = match query.paper {
        Some(_) => ("application/pdf", "pdf"),
        None => ("text/html; charset=utf-8", "html"),
    };
    let whom = match query.reader {
        Reader::Record => "record",
        Reader::Person => "person",
    };
    // Kept as a file: within our pages its own style would be refused.
    let name = format!("attachment; filename=\"visit-{visit}-{whom}.{end}\"");
    let name = HeaderValue::try_from(name)
        .map_err(|error| Problem::new(StatusCode::INTERNAL_SERVER_ERROR, error.to_string()))?;
    let headers = [(CONTENT_TYPE, HeaderValue::from_static(media)), (CONTENT_DISPOSITION, name)];
    Ok((headers, bytes).into_response())
}

/// Puts something right; the reason is kept, nothing is deleted.
#[utoipa::path(
    post, path = "/api/visits/{id}/amend", tag = "desk", operation_id = "amend",
    params(("id" = String, Path, description = "The visit's id")),
    request_body = Request,
    responses(
        (status = 200, description = "Done; the visit as it is now", body = Sheet),
        (status = 400, description = "Not JSON", body = Problem, content_type = "application/problem+json"),
        (status = 403, description = "Not this daemon's own page", body = Problem,
         content_type = "application/problem+json"),
        (status = 404, description = "No such visit or repetition", body = Problem,
         content_type = "application/problem+json"),
        (status = 409, description = "It cannot be done as things stand", body = Problem,
         content_type = "application/problem+json"),
        (status = 413, description = "Too long", body = Problem, content_type = "application/problem+json"),
        (status = 415, description = "Not application/json", body = Problem,
         content_type = "application/problem+json"),
        (status = 422, description = "JSON of another shape", body = Problem,
         content_type = "application/problem+json"),
        (status = 503, description = "The store is busy or cannot be read", body = Problem,
         content_type = "application/problem+json"),
    ),
)]
pub(super) async fn amend(
    State(shared): State<Shared>,
    Path(id): Path<String>,
    request: Result<Json<Request>, JsonRejection>,
) -> Result<Json<Sheet>, Problem> {
    let Json(request) =
        request.map_err(|refused| Problem::new(refused.status(), refused.body_text()))?;
    let visit = visit_id(&id)?;
    match tokio::time::timeout(LIMIT, shared.app.desk.amend(visit, request)).await {
        Ok(done) => done.map_err(problem)?,
        Err(_elapsed) => return Err(busy()),
    }
    at_desk(&shared, move |desk| desk.sheet(visit)).await.map(Json)
}

fn visit_id(id: &str) -> Result<VisitId, Problem> {
    let missing = || Problem::new(StatusCode::NOT_FOUND, "no such visit; /api/visits lists them");
    id.parse().map_err(|_not_a_number| missing())
}

/// Asks the desk on a thread that may block, a few at a time.
async fn at_desk<T: Send + 'static>(
    shared: &Shared,
    ask: impl FnOnce(&Desk) -> Result<T, DeskError> + Send + 'static,
) -> Result<T, Problem> {
    let (desk, places) = (shared.app.desk.clone(), shared.lookups.clone());
    let answer = async {
        let place = places.acquire_owned().await.map_err(|_closed| busy())?;
        let work = tokio::task::spawn_blocking(move || {
            // Held by the thread, so that one that hangs keeps its place after the caller has left.
            let _place = place;
            ask(&desk).map_err(problem)
        });
        work.await.map_err(|_broke_off| busy())?
    };
    tokio::time::timeout(LIMIT, answer).await.unwrap_or_else(|_elapsed| Err(busy()))
}

fn busy() -> Problem {
    Problem::new(StatusCode::SERVICE_UNAVAILABLE, "the store is busy; try again in a moment")
}

fn problem(error: DeskError) -> Problem {
    let status = match &error {
        DeskError::Missing(_) | DeskError::Analyse(crate::finalise::FinaliseError::NoVisit(_)) => {
            StatusCode::NOT_FOUND
        }
        DeskError::Refused(_) => StatusCode::CONFLICT,
        DeskError::Read(_) | DeskError::Analyse(_) | DeskError::Write(_) => {
            StatusCode::SERVICE_UNAVAILABLE
        }
        DeskError::Report(_) => StatusCode::INTERNAL_SERVER_ERROR,
    };
    Problem::new(status, error.to_string())
}
