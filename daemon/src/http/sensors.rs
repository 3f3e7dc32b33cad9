//! Sensors in sight, which one moves, and where each is worn.

use std::time::Duration;

use axum::Json;
use axum::extract::State;
use axum::extract::rejection::JsonRejection;
use axum::http::StatusCode;
use tokio::sync::mpsc::error::TrySendError;
use tokio::sync::oneshot;

use super::handlers::sent;
use super::problem::Problem;
use super::state::Shared;
use crate::fitting::{FittingAsked, FittingOrder, FittingState};

/// How long an answer may take: the radio may have to be asked for a while.
const ANSWER_LIMIT: Duration = Duration::from_secs(15);

/// An example of what to send, told with every refused shape.
const EXAMPLE: &str = r#"{"order": "scan"}"#;

/// The sensors in sight and those that are assigned, as far as was looked for.
#[utoipa::path(
    get, path = "/api/sensors", tag = "sensors", operation_id = "sensors",
    responses((status = 200, description = "The sensors, strongest first", body = FittingState)),
)]
pub(super) async fn sensors(State(shared): State<Shared>) -> Json<FittingState> {
    let state = FittingState::clone(&shared.app.fitting.state.borrow());
    Json(state)
}

/// Looks for sensors, sees which one is moved, and says where each is worn. What is assigned counts
/// from the next visit on.
#[utoipa::path(
    post, path = "/api/sensors", tag = "sensors", operation_id = "fit_sensors",
    request_body = FittingOrder,
    responses(
        (status = 202, description = "Taken; /api/sensors shows what came of it"),
        (status = 400, description = "Not JSON", body = Problem, content_type = "application/problem+json"),
        (status = 403, description = "Not this daemon's own page", body = Problem,
         content_type = "application/problem+json"),
        (status = 409, description = "Not now, or not this sensor; the detail says why", body = Problem,
         content_type = "application/problem+json"),
        (status = 413, description = "Too long", body = Problem, content_type = "application/problem+json"),
        (status = 415, description = "Not application/json", body = Problem,
         content_type = "application/problem+json"),
        (status = 422, description = "JSON of another shape", body = Problem,
         content_type = "application/problem+json"),
        (status = 503, description = "Too many at once", body = Problem,
         content_type = "application/problem+json"),
    ),
)]
pub(super) async fn fit(
    State(shared): State<Shared>,
    request: Result<Json<FittingOrder>, JsonRejection>,
) -> Result<StatusCode, Problem> {
    let order = sent(request, EXAMPLE)?;
    let gone = || Problem::new(StatusCode::CONFLICT, "no sensors are looked after here any more");
    let busy = || Problem::new(StatusCode::SERVICE_UNAVAILABLE, "too much at once; try again");
    let (answer, awaited) = oneshot::channel();
    let asked = FittingAsked { order, answer };
    shared.app.fitting.orders.try_send(asked).map_err(|error| match error {
        TrySendError::Full(_) => busy(),
        TrySendError::Closed(_) => gone(),
    })?;
    match tokio::time::timeout(ANSWER_LIMIT, awaited).await {
        Ok(Ok(Ok(()))) => Ok(StatusCode::ACCEPTED),
        Ok(Ok(Err(refusal))) => Err(Problem::new(StatusCode::CONFLICT, refusal.0)),
        Ok(Err(_dropped)) => Err(gone()),
        Err(_elapsed) => Err(busy()),
    }
}
