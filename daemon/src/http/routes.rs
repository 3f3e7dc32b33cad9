//! The routes and the description of them.

use axum::extract::DefaultBodyLimit;
use axum::middleware::{from_fn, from_fn_with_state};
use axum::{Json, Router};
use utoipa::OpenApi;
use utoipa_axum::router::{OpenApiRouter, UtoipaMethodRouter, UtoipaMethodRouterExt};
use utoipa_axum::routes;

use super::names::OwnNames;
use super::problem::Problem;
use super::state::Shared;
use super::{
    assets, calibration, course, desk, exchange, guard, handlers, headers, problem, sensors, tables,
};

/// The longest request body that is read, bytes; commands are short.
const BODY_LIMIT: usize = 4096;

/// The part of the description that is not a route.
#[derive(OpenApi)]
#[openapi(
    info(
        title = "endarc",
        description = "The local interface of the endarc daemon: the live state, kept visits, and \
                       the therapist's marks. It measures and documents; it does not diagnose. \
                       Loopback only. Every error is an RFC 9457 problem.",
    ),
    tags(
        (name = "live", description = "The present moment"),
        (name = "sensors", description = "Finding sensors and saying where they are worn"),
        (name = "visits", description = "What was kept"),
        (name = "desk", description = "Afterwards: history, movements, reports, putting right"),
        (name = "tables", description = "Treatment tables and how level they are"),
        (name = "description", description = "The interface itself"),
    ),
    components(schemas(Problem)),
)]
struct Description;

/// The interface's OpenAPI 3.1 description.
#[must_use]
pub fn openapi() -> utoipa::openapi::OpenApi {
    api().into_openapi()
}

/// Everything behind one address: guarded, routed, and with its headers.
pub(super) fn router(shared: Shared, own: OwnNames) -> Router {
    let (api, description) = api().split_for_parts();
    let description = std::sync::Arc::new(description);
    let routed = api
        .merge(assets::routes())
        .layer(DefaultBodyLimit::max(BODY_LIMIT))
        .layer(axum::Extension(description))
        .with_state(shared);
    // The routed part is one service behind the layers, so the guard runs before any routing.
    Router::new()
        .fallback_service(routed)
        .layer(from_fn_with_state(own, guard::guard))
        .layer(from_fn(problem::errors_as_problems))
        .layer(from_fn(headers::headers))
}

/// The routes that are described.
fn api() -> OpenApiRouter<Shared> {
    OpenApiRouter::with_openapi(Description::openapi())
        .routes(routes!(handlers::live))
        .routes(routes!(handlers::state))
        .routes(routes!(handlers::status))
        .routes(routes!(handlers::visits))
        .routes(routes!(handlers::visit))
        .routes(write(routes!(handlers::mark)))
        .routes(write(routes!(calibration::calibration)))
        .routes(routes!(course::course))
        .routes(write(routes!(course::answer)))
        .routes(write(routes!(exchange::exchange)))
        .routes(routes!(sensors::sensors))
        .routes(write(routes!(sensors::fit)))
        .routes(routes!(tables::tables))
        .routes(write(routes!(tables::use_table)))
        .routes(routes!(desk::history))
        .routes(routes!(desk::sheet))
        .routes(routes!(desk::curves))
        .routes(routes!(desk::raw))
        .routes(routes!(desk::report))
        .routes(write(routes!(desk::amend)))
        .routes(routes!(describe))
}

/// A route that changes something: it takes JSON only. The check stands in front of the methods
/// that are offered, so that another method is still answered as such.
fn write(route: UtoipaMethodRouter<Shared>) -> UtoipaMethodRouter<Shared> {
    route.map(|methods| methods.route_layer(from_fn(guard::writes_are_json)))
}

/// The description of this interface.
#[utoipa::path(
    get, path = "/api/openapi.json", tag = "description", operation_id = "openapi",
    responses((status = 200, description = "An OpenAPI 3.1 document", body = serde_json::Value)),
)]
async fn describe(
    description: axum::Extension<std::sync::Arc<utoipa::openapi::OpenApi>>,
) -> Json<utoipa::openapi::OpenApi> {
    Json(utoipa::openapi::OpenApi::clone(&description))
}
