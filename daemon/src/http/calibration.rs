//! Leading through a calibration or levelling from the page.

use std::time::Duration;

use axum::Json;
use axum::extract::State;
use axum::extract::rejection::JsonRejection;
use axum::http::StatusCode;
use endarc_protocol::words::SensorRole;
use serde::Deserialize;
use tokio::sync::mpsc::error::TrySendError;
use tokio::sync::oneshot;
use utoipa::ToSchema;

use super::handlers::{same_visit, sent};
use super::problem::Problem;
use super::state::{Asked, Shared};
use crate::calibrating;
use crate::order::Order;

/// How long an answer may take: the pipeline does nothing that waits.
const ANSWER_LIMIT: Duration = Duration::from_secs(5);

/// An example of what to send, told with every refused shape.
const EXAMPLE: &str = r#"{"order": "calibrate", "sensor": "left-shank"}"#;

/// What is asked for.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub(super) struct CalibrationRequest {
    /// What is to be done.
    order: CalibrationOrder,
    /// The sensor that is laid about, by where it is worn; to begin with.
    #[serde(default)]
    #[schema(value_type = Option<String>)]
    sensor: Option<SensorRole>,
    /// How warm the sensor is, °C; to begin a sensor's calibration, if known.
    #[serde(default)]
    temperature_c: Option<f64>,
    /// The table's name; to begin a levelling.
    #[serde(default)]
    table: Option<String>,
    /// The visit that is meant; may be left out.
    #[serde(default)]
    visit: Option<String>,
}

/// What is to be done.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize, ToSchema)]
#[serde(rename_all = "kebab-case")]
enum CalibrationOrder {
    /// Begin to look for a sensor's own errors.
    Calibrate,
    /// Begin to look for a table's tilt.
    Level,
    /// Nothing more is to come: keep what was found.
    Finish,
    /// Put it away.
    Stop,
}

/// Begins, finishes or stops the calibration of a sensor or the levelling of a table. What to do in
/// between is told in the live state.
#[utoipa::path(
    post, path = "/api/calibration", tag = "live", operation_id = "calibration",
    request_body = CalibrationRequest,
    responses(
        (status = 202, description = "Taken; the live state shows what came of it"),
        (status = 400, description = "Not JSON", body = Problem, content_type = "application/problem+json"),
        (status = 403, description = "Not this daemon's own page", body = Problem,
         content_type = "application/problem+json"),
        (status = 409, description = "Not now: something is being measured, the set is incomplete or bad, \
         or nothing is being recorded; the detail says which and what to do", body = Problem,
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
pub(super) async fn calibration(
    State(shared): State<Shared>,
    request: Result<Json<CalibrationRequest>, JsonRejection>,
) -> Result<StatusCode, Problem> {
    let request = sent(request, EXAMPLE)?;
    same_visit(&shared.app.live.borrow(), request.visit.as_deref())?;
    ask(&shared, order(request)?).await
}

/// The order of a request, with all that belongs to it.
fn order(request: CalibrationRequest) -> Result<Order, Problem> {
    let wrong = |detail: String| Problem::new(StatusCode::UNPROCESSABLE_ENTITY, detail);
    let sensor = || {
        let missing = || wrong(format!("which sensor? send {EXAMPLE}"));
        request.sensor.ok_or_else(missing)
    };
    Ok(match request.order {
        CalibrationOrder::Calibrate => {
            let temperature_c = request.temperature_c.map(calibrating::temperature).transpose();
            Order::Calibrate { sensor: sensor()?, temperature_c: temperature_c.map_err(wrong)? }
        }
        CalibrationOrder::Level => {
            let name = request.table.as_deref().unwrap_or_default();
            let table = calibrating::table_name(name).map_err(wrong)?;
            Order::Level { sensor: sensor()?, table }
        }
        CalibrationOrder::Finish => Order::Finish,
        CalibrationOrder::Stop => Order::Stop,
    })
}

/// Asks the pipeline, and waits for its answer.
pub(super) async fn ask(shared: &Shared, order: Order) -> Result<StatusCode, Problem> {
    let gone = || Problem::new(StatusCode::CONFLICT, "nothing is being recorded any more");
    let busy = || Problem::new(StatusCode::SERVICE_UNAVAILABLE, "too much at once; try again");
    let (answer, awaited) = oneshot::channel();
    shared.app.orders.try_send(Asked { order, answer }).map_err(|error| match error {
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
