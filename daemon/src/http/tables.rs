//! The tables that were levelled, and which of them the visit is measured on.

use axum::Json;
use axum::extract::State;
use axum::extract::rejection::JsonRejection;
use axum::http::StatusCode;
use serde::Deserialize;
use utoipa::ToSchema;

use super::calibration::ask;
use super::handlers::{look_up, same_visit, sent};
use super::problem::Problem;
use super::state::Shared;
use crate::levelled::LevelledTable;
use crate::order::Order;

/// All tables that were levelled, by name, each with its newest levelling.
#[utoipa::path(
    get, path = "/api/tables", tag = "tables", operation_id = "tables",
    responses(
        (status = 200, description = "All tables, by name", body = Vec<LevelledTable>),
        (status = 503, description = "The store is busy or cannot be read", body = Problem,
         content_type = "application/problem+json"),
    ),
)]
pub(super) async fn tables(
    State(shared): State<Shared>,
) -> Result<Json<Vec<LevelledTable>>, Problem> {
    let tables = look_up(&shared, |source| source.tables()).await?;
    Ok(Json(tables.iter().map(LevelledTable::from).collect()))
}

/// Which table the visit is measured on.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub(super) struct TableRequest {
    /// The table's name; null for one that was never levelled.
    table: Option<String>,
    /// The visit that is meant; may be left out.
    #[serde(default)]
    visit: Option<String>,
}

/// Chooses the table that the visit is measured on, before anything is measured.
#[utoipa::path(
    post, path = "/api/table", tag = "tables", operation_id = "use_table",
    request_body = TableRequest,
    responses(
        (status = 202, description = "Taken; the live state shows it"),
        (status = 400, description = "Not JSON", body = Problem, content_type = "application/problem+json"),
        (status = 403, description = "Not this daemon's own page", body = Problem,
         content_type = "application/problem+json"),
        (status = 404, description = "No such table", body = Problem, content_type = "application/problem+json"),
        (status = 409, description = "The visit has begun, or nothing is being recorded", body = Problem,
         content_type = "application/problem+json"),
        (status = 413, description = "Too long", body = Problem, content_type = "application/problem+json"),
        (status = 415, description = "Not application/json", body = Problem,
         content_type = "application/problem+json"),
        (status = 422, description = "JSON of another shape", body = Problem,
         content_type = "application/problem+json"),
        (status = 503, description = "The store is busy", body = Problem,
         content_type = "application/problem+json"),
    ),
)]
pub(super) async fn use_table(
    State(shared): State<Shared>,
    request: Result<Json<TableRequest>, JsonRejection>,
) -> Result<StatusCode, Problem> {
    let request = sent(request, r#"{"table": "room 2"}"#)?;
    same_visit(&shared.app.live.borrow(), request.visit.as_deref())?;
    let Some(name) = request.table else { return ask(&shared, Order::UseTable(None)).await };
    let tables = look_up(&shared, |source| source.tables()).await?;
    let table = tables.into_iter().find(|table| table.name.eq_ignore_ascii_case(name.trim()));
    let missing =
        || Problem::new(StatusCode::NOT_FOUND, "no such table; /api/tables lists those there are");
    ask(&shared, Order::UseTable(Some(Box::new(table.ok_or_else(missing)?)))).await
}
