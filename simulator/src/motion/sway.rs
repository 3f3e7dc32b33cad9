//! Small movements that never stop: tremor of the hands, wander of a joint, breathing.

use super::jet::Jet;
use crate::seed::Chance;

/// Amplitude and frequency of each part against the nominal ones: three neighbours beat like a
/// hand does, and their squares add up to 1.
const PARTS: [(f64, f64); 3] = [(0.8, 1.0), (0.48, 0.83), (0.36, 1.21)];

/// A sum of sines around one frequency.
#[derive(Debug, Clone)]
pub(crate) struct Sway {
    amplitude: f64,
    frequency_hz: f64,
    phases_rad: [f64; 3],
}

impl Sway {
    /// A sway of about this amplitude around this frequency, beginning anywhere.
    pub(crate) fn new(amplitude: f64, frequency_hz: f64, chance: &mut Chance) -> Self {
        Self {
            amplitude,
            frequency_hz,
            phases_rad: [0.0; 3].map(|_| chance.between(0.0, std::f64::consts::TAU)),
        }
    }

    /// Value and derivatives at a time.
    pub(crate) fn at(&self, time_s: f64) -> Jet {
        PARTS.iter().zip(self.phases_rad).fold(
            Jet::default(),
            |sum, ((share, pitch), phase_rad)| {
                let frequency_hz = self.frequency_hz * pitch;
                sum + Jet::sine(self.amplitude * share, frequency_hz, phase_rad, time_s)
            },
        )
    }
}
