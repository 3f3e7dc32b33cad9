//! One inertial sample, before and after the clock stage.

/// What the decoder noticed about a sample's values.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Hash)]
pub struct Flags {
    /// An accelerometer axis stood at the end of its range: the true value may be larger.
    pub accel_saturated: bool,
    /// A gyroscope axis stood at the end of its range: rotation is lost.
    pub gyro_saturated: bool,
}

/// The six readings of one inertial sample, in the sensor's right-handed frame.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Values {
    /// Specific force, m/s²: the axis that points up reads +9.81 at rest.
    pub accel_m_s2: [f64; 3],
    /// Angular rate, rad/s, right-handed about each axis.
    pub gyro_rad_s: [f64; 3],
    /// What the decoder noticed.
    pub flags: Flags,
}

/// A sample as it left the sensor: not yet placed in time.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Decoded {
    /// The sensor's sample counter, unwrapped to 64 bits within one epoch.
    pub counter: u64,
    /// The sensor's own clock, unwrapped to 64 bits within one epoch, in the profile's ticks.
    pub ticks: u64,
    /// The readings.
    pub values: Values,
}

/// A sample placed in visit time; all that `analysis` sees.
///
/// Values may be non-finite when a file held such a value: whoever integrates samples rejects
/// those and says so.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Sample {
    /// Visit time, seconds; strictly increasing within one sensor.
    pub time_s: f64,
    /// Specific force, m/s²: the axis that points up reads +9.81 at rest.
    pub accel_m_s2: [f64; 3],
    /// Angular rate, rad/s, right-handed about each axis.
    pub gyro_rad_s: [f64; 3],
    /// What the decoder noticed.
    pub flags: Flags,
}

impl Sample {
    /// Places decoded values in visit time.
    #[must_use]
    pub const fn at(time_s: f64, values: Values) -> Self {
        Self {
            time_s,
            accel_m_s2: values.accel_m_s2,
            gyro_rad_s: values.gyro_rad_s,
            flags: values.flags,
        }
    }

    /// Whether all six readings are finite.
    #[must_use]
    pub fn is_finite(&self) -> bool {
        self.accel_m_s2.iter().chain(&self.gyro_rad_s).all(|value| value.is_finite())
    }
}
