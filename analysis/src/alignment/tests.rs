//! The knee axis from bends whose truth is known.

use super::*;

/// A right shank's sensor, strapped on by `mounting`: verticals and rates of knee angles given in
/// degrees at 50 Hz, the hip turned by `hip_deg`.
fn bends(
    knee_deg: impl Fn(f64) -> f64,
    hip_deg: f64,
    mounting: &nalgebra::UnitQuaternion<f64>,
) -> Vec<BendSample> {
    let up = |knee_deg: f64| {
        let (knee, hip) = (knee_deg.to_radians(), hip_deg.to_radians());
        Vector3::new(-knee.cos() * hip.cos(), hip.sin(), -knee.sin() * hip.cos())
    };
    (0..500)
        .map(|i| {
            let time = f64::from(i) / 50.0;
            let rate = (knee_deg(time + 0.01) - knee_deg(time - 0.01)).to_radians() / 0.02;
            BendSample { rate: mounting * (Vector3::y() * rate), up: mounting * up(knee_deg(time)) }
        })
        .collect()
}

fn askew() -> nalgebra::UnitQuaternion<f64> {
    nalgebra::UnitQuaternion::from_euler_angles(0.2, -0.35, 0.5)
}

fn upright() -> Vector3<f64> {
    askew() * -Vector3::z()
}

fn error_deg(alignment: &Alignment) -> f64 {
    alignment.axes.knee.angle(&(askew() * Vector3::y())).to_degrees()
}

#[test]
fn whichever_way_the_bends_begin() {
    let straightened = |t: f64| 50.0 + 40.0 * (2.0 * t).cos();
    let bent_first = |t: f64| {
        let wave = (2.0 * t).sin();
        90.0 + if wave > 0.0 { 40.0 * wave } else { 85.0 * wave }
    };
    let one_lift = |t: f64| (30.0 * t).min(90.0);
    let moves: [&dyn Fn(f64) -> f64; 3] = [&straightened, &bent_first, &one_lift];
    for knee in moves {
        let bends = bends(knee, 0.0, &askew());
        let alignment = from_knee_bends(&upright(), &bends, Posture::Prone).unwrap();
        assert!(error_deg(&alignment) < 1e-3, "{}", error_deg(&alignment));
    }
}

#[test]
fn a_hip_turned_meanwhile_hardly_matters() {
    let bends = bends(|t| 50.0 + 40.0 * (2.0 * t).cos(), 8.0, &askew());
    let alignment = from_knee_bends(&upright(), &bends, Posture::Prone).unwrap();
    assert!(error_deg(&alignment) < 0.3, "{}", error_deg(&alignment));
}

/// A foot that has fallen to one side comes back to the middle while it is lifted. The vertical's
/// circle about the chord of so short an arc is badly seen then, but the axis is not.
#[test]
fn a_foot_that_rights_itself_on_the_way_up_is_no_second_axis() {
    let hip_deg = |knee_deg: f64| 3.0 * ((knee_deg - 42.0) / 38.0).powi(2);
    let knee_deg = |t: f64| 42.0 - 38.0 * (2.0 * t).cos();
    let up = |t: f64| {
        let (knee, hip) = (knee_deg(t).to_radians(), hip_deg(knee_deg(t)).to_radians());
        Vector3::new(-knee.cos() * hip.cos(), hip.sin(), -knee.sin() * hip.cos())
    };
    let bends: Vec<BendSample> = (0..500)
        .map(|i| {
            let t = f64::from(i) / 50.0;
            let slope = |angle: &dyn Fn(f64) -> f64| {
                (angle(t + 0.01) - angle(t - 0.01)).to_radians() / 0.02
            };
            let thigh =
                Vector3::new(knee_deg(t).to_radians().sin(), 0.0, -knee_deg(t).to_radians().cos());
            let turning =
                Vector3::y() * slope(&knee_deg) + thigh * slope(&|t| hip_deg(knee_deg(t)));
            BendSample { rate: askew() * turning, up: askew() * up(t) }
        })
        .collect();
    let alignment = from_knee_bends(&upright(), &bends, Posture::Prone).unwrap();
    assert!(error_deg(&alignment) < 1.0, "{}", error_deg(&alignment));
    assert!(error_deg(&alignment) < 2.0 * alignment.uncertainty_rad.to_degrees());
}

#[test]
fn what_cannot_be_told_is_refused() {
    let small = bends(|t| 90.0 + 10.0 * (2.0 * t).sin(), 0.0, &askew());
    let refused =
        |bends: &[BendSample]| from_knee_bends(&upright(), bends, Posture::Prone).unwrap_err();
    assert!(matches!(refused(&small), AlignmentError::TooSmall { .. }));
    let even = bends(|t| 90.0 + 35.0 * (2.0 * t).sin(), 0.0, &askew());
    assert!(matches!(refused(&even), AlignmentError::AmbiguousSign { .. }));
    // Only bent deeper, by as much as a knee allows: that could as well be half straightened.
    let deeper = bends(|t| 115.0 - 25.0 * (2.0 * t).cos(), 0.0, &askew());
    assert!(matches!(refused(&deeper), AlignmentError::AmbiguousSign { .. }));
    let mut twisted = bends(|t| 50.0 + 40.0 * (2.0 * t).cos(), 0.0, &askew());
    for bend in &mut twisted {
        bend.rate = nalgebra::Rotation3::from_axis_angle(&Vector3::x_axis(), 0.6) * bend.rate;
    }
    assert!(matches!(refused(&twisted), AlignmentError::NotOneAxis { .. }));
}

#[test]
fn quick_alignment_sees_from_hip_rotations_how_the_sensor_is_turned() {
    let turned = nalgebra::UnitQuaternion::from_euler_angles(0.0, 0.0, 0.45);
    let rotations = (0..1000).map(|i| turned * (Vector3::x() * (f64::from(i) * 0.02).sin()));
    let alignment = quick(&-Vector3::z(), rotations);
    assert!(alignment.axes.knee.angle(&(turned * Vector3::y())) < 1e-9);
    let blind = quick(&-Vector3::z(), std::iter::empty());
    assert!(blind.axes.knee.angle(&Vector3::y()) < 1e-9);
    assert!(blind.uncertainty_rad > alignment.uncertainty_rad);
}
