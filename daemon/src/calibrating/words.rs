//! What was found, in lines for a person.

use endarc_analysis::levelling::TableLevel;

use crate::sensor_calibration::SensorCalibration;

/// A sensor's calibration: what it rests on, then each axis.
#[must_use]
pub fn calibration_lines(found: &SensorCalibration) -> Vec<String> {
    let SensorCalibration { rests, residual_m_s2, .. } = found;
    let mut lines = vec![format!(
        "from {rests} rests; corrected, they miss gravity by {residual_m_s2:.4} m/s²"
    )];
    let scales = (0..3).filter_map(|n| found.accel_matrix.get(n)?.get(n));
    let accelerometer = found.accel_offset_m_s2.iter().zip(&found.accel_offset_sd_m_s2).zip(scales);
    for ((axis, ((offset, sd), scale)), rate) in
        ["x", "y", "z"].iter().zip(accelerometer).zip(&found.gyro_offset_rad_s)
    {
        let rate = rate.to_degrees();
        lines.push(format!(
            "{axis}: accelerometer {offset:+.3} ± {sd:.3} m/s², scale {scale:.4}; \
             gyroscope {rate:+.3} °/s"
        ));
    }
    lines
}

/// A table's tilt, sideways and from head to foot.
#[must_use]
pub fn level_lines(level: &TableLevel) -> Vec<String> {
    let line = |name: &str, value_rad: f64, sd_rad: f64, which: &str| {
        let (value, sd) = (value_rad.to_degrees(), sd_rad.to_degrees());
        format!("{name} {value:+.2}° ± {sd:.2}°  (+: {which} is higher)")
    };
    let side = "the left side of a prone person";
    vec![
        line("sideways  ", level.sideways_rad, level.sideways_sd_rad, side),
        line("head-foot ", level.head_foot_rad, level.head_foot_sd_rad, "the head end"),
    ]
}
