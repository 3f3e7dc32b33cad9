//! Two shank sensors that are on each other's leg.

use axum::Json;
use axum::extract::State;
use axum::extract::rejection::JsonRejection;
use axum::http::StatusCode;
use serde::Deserialize;
use utoipa::ToSchema;

use super::calibration::ask;
use super::handlers::{same_visit, sent};
use super::problem::Problem;
use super::state::Shared;
use crate::order::Order;

/// The visit whose sensors are exchanged.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub(super) struct ExchangeRequest {
    /// The visit that is meant; may be left out.
    #[serde(default)]
    visit: Option<String>,
}

/// Lets the sensors of the two shanks change places, from the visit's start on.
#[utoipa::path(
    post, path = "/api/exchange", tag = "live", operation_id = "exchange",
    request_body = ExchangeRequest,
    responses(
        (status = 202, description = "Done; the live state shows it"),
        (status = 400, description = "Not JSON", body = Problem, content_type = "application/problem+json"),
        (status = 403, description = "Not this daemon's own page", body = Problem,
         content_type = "application/problem+json"),
        (status = 409, description = "A repetition is captured already, only one shank wears a sensor, or \
         nothing is being recorded", body = Problem, content_type = "application/problem+json"),
        (status = 413, description = "Too long", body = Problem, content_type = "application/problem+json"),
        (status = 415, description = "Not application/json", body = Problem,
         content_type = "application/problem+json"),
        (status = 422, description = "JSON of another shape", body = Problem,
         content_type = "application/problem+json"),
        (status = 503, description = "Too many at once", body = Problem,
         content_type = "application/problem+json"),
    ),
)]
pub(super) async fn exchange(
    State(shared): State<Shared>,
    request: Result<Json<ExchangeRequest>, JsonRejection>,
) -> Result<StatusCode, Problem> {
    let request = sent(request, "{}")?;
    same_visit(&shared.app.live.borrow(), request.visit.as_deref())?;
    ask(&shared, Order::Exchange).await
}
