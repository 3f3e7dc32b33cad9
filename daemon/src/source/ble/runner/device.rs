//! One sensor's handles.

use std::sync::Arc;

use tokio::task::AbortHandle;

use super::Wanted;
use crate::source::ble::drain::Drain;
use crate::source::ble::life::Step;
use crate::source::ble::radio::Characteristic;
use crate::source::ble::timeline::Heard;

/// One sensor's handles.
pub(super) struct Device<L> {
    pub(super) wanted: Wanted,
    pub(super) heard: Arc<Heard>,
    /// The newest notification that was told to the life, s.
    pub(super) told_s: Option<f64>,
    pub(super) link: Option<L>,
    pub(super) offered: Vec<Characteristic>,
    pub(super) drain: Option<Drain>,
    pub(super) call: Option<(Step, AbortHandle)>,
    pub(super) streaming: bool,
    pub(super) battery_asked_s: f64,
}

impl<L> Device<L> {
    pub(super) fn new(wanted: Wanted) -> Self {
        Self {
            wanted,
            heard: Arc::default(),
            told_s: None,
            link: None,
            offered: Vec::new(),
            drain: None,
            call: None,
            streaming: false,
            battery_asked_s: 0.0,
        }
    }
}
