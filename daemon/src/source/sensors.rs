//! Bluetooth sensors as a source.

use std::sync::Arc;

use endarc_protocol::profile::Profile;
use endarc_protocol::words::{SensorRole, TestKind};

use super::event::{SourceInfo, SourceSensor};
use super::{Feed, Source, ble};
use crate::store::words::Source as SourceKind;
use crate::visit::Marks;

/// One sensor as it is to be used.
#[derive(Debug, Clone, PartialEq)]
pub struct Worn {
    /// Where it is worn.
    pub role: SensorRole,
    /// What tells it apart from every other device.
    pub address: String,
    /// What it is called, if it has a name.
    pub name: Option<String>,
    /// How it writes what it sends.
    pub profile: Arc<Profile>,
}

/// Sensors that are connected over Bluetooth and send until they are told to stop. The therapist
/// marks the spans.
#[must_use]
pub fn sensors(worn: Vec<Worn>, test: TestKind) -> Source {
    let sensor = |one: &Worn| SourceSensor {
        role: one.role,
        address: one.address.clone(),
        name: one.name.clone(),
        profile: Some(Arc::clone(&one.profile)),
    };
    let info = SourceInfo {
        kind: SourceKind::Ble,
        person: None,
        test,
        sensors: worn.iter().map(sensor).collect(),
        marks: Marks::Therapist,
        start_s: 0.0,
    };
    let wanted =
        |one: Worn| ble::Wanted { role: one.role, address: one.address, profile: one.profile };
    let wanted = worn.into_iter().map(wanted).collect();
    Source { info, feed: Feed::Sensors { wanted, therapist: None } }
}
