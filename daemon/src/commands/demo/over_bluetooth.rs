//! The process of `endarc demo --bluetooth` that measures.

use std::sync::Arc;

use endarc_simulator::{Scenario, SensorInfo, Session as Simulation};
use tokio_util::sync::CancellationToken;

use crate::commands::begun;
use crate::source::{Source, Therapist, Worn, sensors};

/// The sensors of a simulated visit, over Bluetooth, and its therapist's marks.
pub(super) fn source(scenario: &Scenario, stop: &CancellationToken) -> Source {
    let simulation = Simulation::new(scenario);
    let worn = |sensor: &SensorInfo| Worn {
        role: sensor.role,
        address: sensor.address.clone(),
        name: Some(sensor.name.clone()),
        profile: Arc::clone(&sensor.profile),
    };
    let worn = simulation.sensors().iter().map(worn).collect();
    let therapist = Therapist::of(&simulation, begun::on_stdin(stop.clone()));
    sensors(worn, scenario.test()).marked_by(therapist)
}
