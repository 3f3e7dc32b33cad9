//! Against plain geometry: bodies, shanks and sensors as rotation matrices in table axes.

use nalgebra::{Rotation3, Unit, Vector3};

use super::*;
use crate::hip::ShankAxes;

/// The table: y raised by `sideways_deg`, x raised by `head_foot_deg`; table axes to earth.
fn table(sideways_deg: f64, head_foot_deg: f64) -> Rotation3<f64> {
    Rotation3::from_axis_angle(&Vector3::y_axis(), -head_foot_deg.to_radians())
        * Rotation3::from_axis_angle(&Vector3::x_axis(), sideways_deg.to_radians())
}

/// What the hip rotation reads as when the leg is turned inward by `hip_deg` with regard to a body
/// that lies straight on the table; the knee at 90°.
fn read_deg(table: &Rotation3<f64>, hip_deg: f64, side: Side, test: TestKind) -> f64 {
    // In table axes: the knee's axis to the person's left, and the shank from knee to ankle.
    let (left, distal) = match posture(test) {
        Posture::Prone => (Vector3::y(), Vector3::z()),
        _ => (-Vector3::y(), -Vector3::z()),
    };
    // The thigh's axis from knee to hip is x; inward is a right-handed turn about it on the right.
    let inward = if side == Side::Right { hip_deg } else { -hip_deg };
    let turn = Rotation3::from_axis_angle(&Vector3::x_axis(), inward.to_radians());
    // In earth axes the shank's axes are known, so earth can stand for the sensor's frame.
    let knee = table * (turn * left);
    let upright = table * (turn * if posture(test) == Posture::Prone { distal } else { -distal });
    let axes = ShankAxes { knee: Unit::new_normalize(knee), upright: Unit::new_normalize(upright) };
    axes.hip_rotation(&Vector3::z(), side, test).to_degrees()
}

const SEEN_BY_GRAVITY: [TestKind; 4] = [
    TestKind::ProneHipRotation,
    TestKind::ProneBothHipsRotation,
    TestKind::SeatedHipRotation,
    TestKind::SupineHangingHipRotation,
];

#[test]
fn the_correction_takes_a_sideways_tilt_out_of_every_test_and_side() {
    let tilted = table(2.5, 0.0);
    let levelling = Levelling { sideways_rad: 2.5_f64.to_radians(), sd_rad: 0.003 };
    for test in SEEN_BY_GRAVITY {
        for side in [Side::Left, Side::Right] {
            for hip_deg in [-40.0, -10.0, 0.0, 20.0, 45.0] {
                assert!((read_deg(&table(0.0, 0.0), hip_deg, side, test) - hip_deg).abs() < 1e-9);
                let read = read_deg(&tilted, hip_deg, side, test);
                assert!((read - hip_deg).abs() > 2.4, "{test} {side}: the tilt shows");
                let corrected = read + levelling.level_correction_rad(side, test).to_degrees();
                assert!((corrected - hip_deg).abs() < 1e-9, "{test} {side}: {corrected}");
            }
        }
    }
}

#[test]
fn a_tilt_makes_twice_itself_of_difference_between_the_legs() {
    let test = TestKind::ProneHipRotation;
    let tilted = table(1.5, 0.0);
    let difference =
        read_deg(&tilted, 30.0, Side::Right, test) - read_deg(&tilted, 30.0, Side::Left, test);
    assert!((difference - 3.0).abs() < 1e-9);
}

#[test]
fn a_head_foot_tilt_does_little_and_a_vertical_axis_needs_nothing() {
    for hip_deg in [-45.0, 0.0, 45.0] {
        let read = read_deg(&table(0.0, 3.0), hip_deg, Side::Right, TestKind::ProneHipRotation);
        assert!((read - hip_deg).abs() < 0.1, "{read}");
    }
    let levelling = Levelling { sideways_rad: 0.05, sd_rad: 0.003 };
    let test = TestKind::Supine9090HipRotation;
    assert!(levelling.level_correction_rad(Side::Left, test).abs() < 1e-12);
}

/// A rest of a sensor that is turned by `heading_deg` on the table, with a crooked case and an offset.
fn rest(table: &Rotation3<f64>, heading_deg: f64, own: &Rotation3<f64>) -> Rest {
    let heading = Rotation3::from_axis_angle(&Vector3::z_axis(), heading_deg.to_radians());
    let sensor = table * heading * own;
    Rest {
        start_s: 0.0,
        end_s: 5.0,
        count: 500,
        force_m_s2: sensor.inverse() * Vector3::new(0.0, 0.0, 9.81) + Vector3::new(0.1, -0.2, 0.1),
        force_sd_m_s2: 0.02,
        rate_rad_s: Vector3::zeros(),
        rate_sd_rad_s: 0.002,
    }
}

#[test]
fn two_rests_cancel_what_the_sensor_has_of_its_own() {
    let crooked = Rotation3::from_euler_angles(0.03, -0.02, 0.0);
    for (sideways_deg, head_foot_deg) in [(1.2, 0.4), (-2.0, 1.0), (0.0, 0.0), (3.0, -3.0)] {
        let table = table(sideways_deg, head_foot_deg);
        let level =
            TableLevel::from_turned(&rest(&table, 3.0, &crooked), &rest(&table, 178.0, &crooked))
                .unwrap();
        let error_deg = level.sideways_rad.to_degrees() - sideways_deg;
        let sd_deg = level.sideways_sd_rad.to_degrees();
        assert!(error_deg.abs() < 0.15 && error_deg.abs() < 2.0 * sd_deg, "{error_deg} ± {sd_deg}");
        assert!((level.head_foot_rad.to_degrees() - head_foot_deg).abs() < 0.15);
        assert!((0.1..0.4).contains(&sd_deg), "{sd_deg}");
    }
}

#[test]
fn one_rest_is_less_certain_and_says_so() {
    let straight = Rotation3::identity();
    let table = table(2.0, 0.5);
    let turned =
        TableLevel::from_turned(&rest(&table, 0.0, &straight), &rest(&table, 180.0, &straight))
            .unwrap();
    let one = TableLevel::from_one_rest(&rest(&table, 0.0, &straight), 0.02).unwrap();
    assert!(one.sideways_sd_rad > 2.0 * turned.sideways_sd_rad);
    let error = (one.sideways_rad - 2.0_f64.to_radians()).abs();
    assert!(error > 0.01 && error < 2.0 * one.sideways_sd_rad, "{error}");
}

#[test]
fn what_is_no_levelling_is_refused() {
    let straight = Rotation3::identity();
    let good = rest(&table(1.0, 0.0), 0.0, &straight);
    let on_edge = rest(&table(60.0, 0.0), 0.0, &straight);
    let steep = table(20.0, 0.0);
    let in_g = Rest { force_m_s2: good.force_m_s2 / 9.81, ..good };
    let elsewhere = rest(&table(-20.0, 0.0), 180.0, &straight);
    assert!(matches!(
        TableLevel::from_turned(&good, &on_edge),
        Err(LevellingError::NotFlat { .. })
    ));
    assert!(matches!(
        TableLevel::from_turned(&good, &in_g),
        Err(LevellingError::NotGravity { .. })
    ));
    assert!(matches!(
        TableLevel::from_turned(&good, &elsewhere),
        Err(LevellingError::NotTogether { .. })
    ));
    let both = (rest(&steep, 0.0, &straight), rest(&steep, 180.0, &straight));
    assert!(matches!(
        TableLevel::from_turned(&both.0, &both.1),
        Err(LevellingError::TooSteep { .. })
    ));
}

#[test]
fn a_recording_holds_one_rest_or_is_refused() {
    let lying = |from: i32, to: i32, force: [f64; 3]| {
        (from..to).map(move |n| Sample {
            time_s: f64::from(n) / 50.0,
            accel_m_s2: force,
            ..Sample::default()
        })
    };
    let flat = [0.1, 0.2, 9.8];
    let one: Vec<Sample> = lying(0, 250, flat).collect();
    assert!((rest_on_table(&one).unwrap().force_m_s2.y - 0.2).abs() < 1e-9);
    assert!(matches!(rest_on_table(&one[..100]), Err(LevellingError::NoRest { .. })));
    let two: Vec<Sample> = lying(0, 250, flat).chain(lying(250, 500, [0.1, 1.2, 9.8])).collect();
    assert!(matches!(rest_on_table(&two), Err(LevellingError::SeveralRests { .. })));
}
