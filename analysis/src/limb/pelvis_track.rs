//! The pelvis sensor, live: its roll at the times of the shank's samples.

use std::collections::VecDeque;

use endarc_protocol::sample::Sample;
use endarc_protocol::words::{Side, TestKind};
use nalgebra::Vector3;

use crate::orientation::{BiasState, LiveFilter};
use crate::pelvis::{self, PelvisAxes};

/// The pelvis sensor's recent verticals and its neutral.
#[derive(Debug, Default)]
pub(super) struct PelvisTrack {
    filter: LiveFilter,
    recent: VecDeque<(f64, Vector3<f64>)>,
    neutral: Option<Vector3<f64>>,
    axes: Option<PelvisAxes>,
}

impl PelvisTrack {
    pub(super) fn push(&mut self, sample: &Sample) {
        let orientation = self.filter.push(sample);
        if !orientation.accepted {
            return;
        }
        let up = orientation.up();
        if let Some(sum) = &mut self.neutral {
            *sum += up;
        }
        self.recent.push_back((sample.time_s, up));
        while self.recent.front().is_some_and(|(time_s, _)| sample.time_s - time_s > MEMORY_S) {
            self.recent.pop_front();
        }
    }

    pub(super) fn bias(&self) -> BiasState {
        self.filter.bias_state()
    }

    pub(super) fn begin_neutral(&mut self) {
        self.neutral = Some(Vector3::zeros());
    }

    pub(super) fn end_neutral(&mut self, test: TestKind) {
        let up = self.neutral.take().and_then(|sum| sum.try_normalize(1e-6));
        if let Some(up) = up {
            self.axes = Some(PelvisAxes::nominal(&up, test));
        }
    }

    /// Whether samples up to this time are here.
    pub(super) fn reaches(&self, time_s: f64) -> bool {
        self.recent.back().is_some_and(|(newest_s, _)| *newest_s >= time_s)
    }

    /// The roll at a time (rad, positive towards internal rotation of `side`); `None` before neutral
    /// and where the sensor was silent.
    pub(super) fn roll(&self, time_s: f64, side: Side, test: TestKind) -> Option<f64> {
        let axes = self.axes?;
        let after = self.recent.partition_point(|(time, _)| *time < time_s);
        let sample = |place: usize| {
            self.recent.get(place).map(|(time, up)| (*time, axes.roll(up, side, test)))
        };
        pelvis::roll_between(time_s, after.checked_sub(1).and_then(sample), sample(after))
    }
}

const MEMORY_S: f64 = 2.0;
