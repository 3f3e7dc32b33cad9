//! The exact derivatives against plain numerical ones, through matrices of another library.

use endarc_protocol::words::{SensorRole, Side};
use nalgebra::{Rotation3, UnitQuaternion, Vector3};

use super::body::{Joints, turn_sign};
use super::chain::GRAVITY_M_S2;
use super::*;
use crate::plan::Plan;
use crate::scenario::Scenario;

/// Both legs at work, everything that can move moving.
const BUSY: &str = r#"
script = [
  { align-knee = { side = "left", times = 1 } },
  { baseline = { side = "right", repetitions = 1, styles = ["held", "contract"] } },
]
[[sensors]]
role = "left-shank"
[[sensors]]
role = "right-shank"
[[sensors]]
role = "pelvis"
[body]
pelvis_roll_per_deg = 0.2
table_tilt_deg = 2
thigh_pitch_deg = 4
"#;

fn busy() -> Plan {
    Plan::new(&Scenario::parse("busy", BUSY).unwrap())
}

/// The shank's orientation (its axes to the table's) by multiplying rotations.
fn orientation(side: Side, joints: &Joints) -> Rotation3<f64> {
    let s = turn_sign(side);
    let about = |axis, degrees: f64| Rotation3::from_axis_angle(&axis, degrees.to_radians());
    let (x, y, z) = (Vector3::x_axis(), Vector3::y_axis(), Vector3::z_axis());
    about(x, joints.table_tilt_deg.value)
        * about(x, s * joints.pelvis_roll_deg.value)
        * about(y, -joints.hip_flexion_deg.value)
        * about(z, -s * joints.hip_adduction_deg.value)
        * about(x, s * joints.hip_rotation_deg.value)
        * about(y, joints.knee_flexion_deg.value)
        // The straight leg: z of the shank headwards, its x down.
        * about(y, 90.0)
}

impl Motion {
    fn shank_at(&self, side: Side, time_s: f64) -> Rotation3<f64> {
        orientation(side, &self.joints(side, time_s))
    }
}

#[test]
fn integrating_the_rate_gives_the_orientation_back() {
    let plan = busy();
    let step_s = 1e-3;
    for side in [Side::Left, Side::Right] {
        let role = SensorRole::shank(side);
        let mut estimate = UnitQuaternion::from(plan.motion.shank_at(side, 0.0));
        let mut worst = 0.0_f64;
        for n in 0..(plan.duration_s / step_s) as usize {
            let start_s = n as f64 * step_s;
            let rate = plan.motion.felt(role, start_s + step_s / 2.0).rate_rad_s;
            estimate *= UnitQuaternion::from_scaled_axis(rate * step_s);
            let truth = UnitQuaternion::from(plan.motion.shank_at(side, start_s + step_s));
            worst = worst.max(estimate.angle_to(&truth));
        }
        assert!(worst < 1e-5, "{side}: {worst} rad");
    }
}

#[test]
fn specific_force_is_the_points_acceleration_against_gravity() {
    let plan = busy();
    let h = 1e-4;
    let point = Vector3::new(0.0, 0.0, -0.22);
    let up = Vector3::new(0.0, 0.0, GRAVITY_M_S2);
    let mut moved = 0.0_f64;
    for side in [Side::Left, Side::Right] {
        for n in 0..400 {
            let t = 1.0 + f64::from(n) * (plan.duration_s - 2.0) / 400.0;
            let place = |time_s| plan.motion.shank_at(side, time_s) * point;
            let acceleration = (place(t + h) - place(t) * 2.0 + place(t - h)) / (h * h);
            let expected = plan.motion.shank_at(side, t).inverse() * (acceleration + up);
            let felt = plan.motion.felt(SensorRole::shank(side), t).force_m_s2;
            assert!((felt - expected).norm() < 1e-3, "{side} at {t} s: {felt} {expected}");
            moved = moved.max(acceleration.norm());
        }
    }
    assert!(moved > 1.0, "nothing moved");
}

#[test]
fn at_rest_only_gravity_is_felt_and_it_points_up() {
    let plan = busy();
    for side in [Side::Left, Side::Right] {
        let felt = plan.motion.felt(SensorRole::shank(side), 0.5);
        assert_eq!(felt.rate_rad_s, Vector3::zeros());
        assert!((felt.force_m_s2.norm() - GRAVITY_M_S2).abs() < 1e-12);
        // Lying flat the shin faces the table: up is against the shank's x.
        assert!(felt.force_m_s2.x < -9.5, "{}", felt.force_m_s2);
    }
    let pelvis = plan.motion.felt(SensorRole::Pelvis, 0.5);
    assert!(pelvis.force_m_s2.z > 9.7, "{}", pelvis.force_m_s2);
}

#[test]
fn the_pelvis_rolls_the_way_the_shank_moves() {
    let plan = busy();
    for one in &plan.truth.repetitions {
        let up = plan.motion.up(SensorRole::Pelvis, one.hold_start_s);
        // About the axis to the head, against the tilt of the table; breathing does not turn it.
        let roll_deg = up.y.atan2(up.z.hypot(up.x)).to_degrees() - 2.0;
        let along_deg = roll_deg * turn_sign(one.side) * one.direction.sign();
        assert!((along_deg - one.pelvis_roll_deg).abs() < 0.1, "{along_deg} {one:?}");
        assert!(one.pelvis_roll_deg > 3.0);
    }
}
