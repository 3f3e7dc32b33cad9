//! A levelled table, as the command line prints it and the page is told it.

use endarc_analysis::levelling::LevellingMethod;
use serde::Serialize;
use utoipa::ToSchema;

use crate::store::TableRecord;

/// A treatment table with its tilt.
#[derive(Debug, Clone, PartialEq, Serialize, ToSchema)]
pub struct LevelledTable {
    /// Its name.
    pub table: String,
    /// When its tilt was measured, UTC (RFC 3339).
    pub levelled_at: String,
    /// `turned` (two rests, half a turn apart) or `one-rest`.
    pub method: &'static str,
    /// Sideways tilt, degrees, positive where the left side of a prone person is higher.
    pub sideways_deg: f64,
    /// One standard uncertainty, degrees.
    pub sideways_sd_deg: f64,
    /// Head-foot tilt, degrees, positive where the head end is higher.
    pub head_foot_deg: f64,
    /// One standard uncertainty, degrees.
    pub head_foot_sd_deg: f64,
}

impl From<&TableRecord> for LevelledTable {
    fn from(record: &TableRecord) -> Self {
        let level = &record.level;
        Self {
            table: record.name.clone(),
            levelled_at: record.levelled_at.to_string(),
            method: match level.method {
                LevellingMethod::Turned => "turned",
                LevellingMethod::OneRest => "one-rest",
            },
            sideways_deg: level.sideways_rad.to_degrees(),
            sideways_sd_deg: level.sideways_sd_rad.to_degrees(),
            head_foot_deg: level.head_foot_rad.to_degrees(),
            head_foot_sd_deg: level.head_foot_sd_rad.to_degrees(),
        }
    }
}
