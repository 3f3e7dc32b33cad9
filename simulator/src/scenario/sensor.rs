//! The simulated sensors and the radio link.

use endarc_protocol::words::SensorRole;
use serde::Deserialize;

use super::bounds::{maybe_printable, within};

/// One `[[sensors]]` table. Keys are described in `scenarios/README.md`.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct SensorSpec {
    pub(crate) role: SensorRole,
    #[serde(default, deserialize_with = "maybe_printable")]
    pub(crate) name: Option<String>,
    #[serde(default, deserialize_with = "maybe_printable")]
    pub(crate) address: Option<String>,
    #[serde(default)]
    pub(crate) profile: ProfileName,
    #[serde(default = "mounting", deserialize_with = "within::<0, 180, _>")]
    pub(crate) mounting_error_deg: f64,
    #[serde(default = "accel_offset", deserialize_with = "within::<0, 500, _>")]
    pub(crate) accel_offset_mg: f64,
    #[serde(default = "gyro_offset", deserialize_with = "within::<0, 50, _>")]
    pub(crate) gyro_offset_deg_s: f64,
    #[serde(default = "accel_noise", deserialize_with = "within::<0, 10000, _>")]
    pub(crate) accel_noise_ug_per_sqrt_hz: f64,
    #[serde(default = "gyro_noise", deserialize_with = "within::<0, 10, _>")]
    pub(crate) gyro_noise_deg_s_per_sqrt_hz: f64,
    #[serde(default = "accel_scale", deserialize_with = "within::<0, 20, _>")]
    pub(crate) accel_scale_error_percent: f64,
    #[serde(default = "gyro_scale", deserialize_with = "within::<0, 20, _>")]
    pub(crate) gyro_scale_error_percent: f64,
    #[serde(default, deserialize_with = "within::<0, 20, _>")]
    pub(crate) accel_cross_axis_percent: f64,
    #[serde(default, deserialize_with = "within::<0, 20, _>")]
    pub(crate) gyro_cross_axis_percent: f64,
    #[serde(default, deserialize_with = "within::<-10000, 10000, _>")]
    pub(crate) clock_ppm: f64,
    #[serde(default, deserialize_with = "within::<0, 1000000, _>")]
    pub(crate) clock_offset_s: f64,
}

/// Which built-in profile a sensor speaks.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub(crate) enum ProfileName {
    /// The project's own reference profile.
    #[default]
    Reference,
}

const fn mounting() -> f64 {
    15.0
}

const fn accel_offset() -> f64 {
    5.0
}

const fn gyro_offset() -> f64 {
    0.5
}

const fn accel_noise() -> f64 {
    150.0
}

const fn gyro_noise() -> f64 {
    0.007
}

const fn accel_scale() -> f64 {
    0.1
}

const fn gyro_scale() -> f64 {
    0.3
}

/// The `[link]` table: how notifications travel. Keys are described in `scenarios/README.md`.
#[derive(Debug, Clone, Copy, PartialEq, Deserialize)]
#[serde(default, deny_unknown_fields)]
pub(crate) struct Link {
    #[serde(deserialize_with = "within::<0, 5000, _>")]
    pub(crate) delay_ms: f64,
    #[serde(deserialize_with = "within::<0, 1000, _>")]
    pub(crate) jitter_ms: f64,
    #[serde(deserialize_with = "within::<0, 1, _>")]
    pub(crate) loss: f64,
    #[serde(deserialize_with = "within::<0, 3600, _>")]
    pub(crate) burst_every_s: f64,
    #[serde(deserialize_with = "within::<0, 60, _>")]
    pub(crate) burst_s: f64,
}

impl Default for Link {
    fn default() -> Self {
        Self { delay_ms: 12.0, jitter_ms: 4.0, loss: 0.0, burst_every_s: 0.0, burst_s: 0.25 }
    }
}
