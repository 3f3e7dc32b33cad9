//! The exact derivatives against plain numerical ones, through matrices of another library.

use endarc_protocol::words::{SensorRole, Side};
use nalgebra::{Rotation3, UnitQuaternion, Vector3};

use super::body::{Joints, turn_sign};
use super::chain::GRAVITY_M_S2;
use super::*;
use crate::plan::Plan;
use crate::scenario::Scenario;
use crate::truth::TruthSlip;

/// Everything that can move moving, in every position.
fn busy_bodies() -> Vec<Plan> {
    let hips = r#"{ align-knee = { side = "left", times = 1 } },
        { strap = { side = "right", along = 8, across = -6, about = 5 } },
        { baseline = { side = "right", repetitions = 1, styles = ["held", "contract"] } },
        { strap = { side = "right", along = -20, across = 3 } },
        { foot-down = { side = "left", duration_s = 1 } }"#;
    let knees = r#"{ baseline = { repetitions = 1 } }"#;
    let both = r#"{ neutral = { side = "left" } }, { baseline = { repetitions = 1 } }"#;
    [
        ("prone-hip-rotation", hips),
        ("seated-hip-rotation", hips),
        ("supine-hanging-hip-rotation", hips),
        ("supine-90-90-hip-rotation", hips),
        ("prone-both-hips-rotation", both),
        ("prone-knee-bend", knees),
    ]
    .map(|(test, script)| busy(test, script))
    .into()
}

fn busy(test: &str, script: &str) -> Plan {
    let text = format!(
        r#"
test = "{test}"
script = [{script}]
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
"#
    );
    Plan::new(&Scenario::parse("busy", &text).unwrap())
}

fn about(axis: [f64; 3], degrees: f64) -> Rotation3<f64> {
    let axis = nalgebra::Unit::new_normalize(Vector3::from(axis));
    Rotation3::from_axis_angle(&axis, degrees.to_radians())
}

/// The person's axes (head, left, back) in the room's: turned about the left-right axis.
fn lying(posture: Posture) -> Rotation3<f64> {
    let degrees = match posture {
        Posture::Prone => 0.0,
        // The head goes from level to up.
        Posture::Seated => -90.0,
        Posture::SupineHanging | Posture::Supine9090 => 180.0,
    };
    about([0.0, 1.0, 0.0], degrees)
}

/// The axis along the thigh that is turned, from knee to hip, in the person's axes.
fn along_thigh(posture: Posture) -> [f64; 3] {
    match posture {
        Posture::Prone | Posture::SupineHanging => [1.0, 0.0, 0.0],
        Posture::Seated | Posture::Supine9090 => [0.0, 0.0, 1.0],
    }
}

/// The shank's orientation (its axes to the room's) by multiplying rotations.
fn orientation(posture: Posture, side: Side, joints: &Joints) -> Rotation3<f64> {
    let s = turn_sign(side);
    let (x, y, z) = ([1.0, 0.0, 0.0], [0.0, 1.0, 0.0], [0.0, 0.0, 1.0]);
    about(x, joints.table_tilt_deg.value)
        * lying(posture)
        * about(along_thigh(posture), s * joints.pelvis_roll_deg.value)
        * about(y, -joints.hip_flexion_deg.value)
        * about(z, -s * joints.hip_adduction_deg.value)
        * about(x, s * joints.hip_rotation_deg.value)
        * about(y, joints.knee_flexion_deg.value)
        // The straight leg: z of the shank headwards, its x to the front.
        * about(y, 90.0)
}

impl Motion {
    fn shank_at(&self, side: Side, time_s: f64) -> Rotation3<f64> {
        orientation(self.posture, side, &self.joints(side, time_s))
    }

    /// The shank sensor's orientation: the strap's slips so far are turns about the shank's axes,
    /// each on top of the ones before.
    fn sensor_at(&self, side: Side, time_s: f64, slips: &[TruthSlip]) -> Rotation3<f64> {
        let begun = slips.iter().filter(|slip| slip.side == side && time_s > slip.at_s);
        let slipped = begun.fold(Rotation3::identity(), |sum, slip| {
            let part = Jet::minimum_jerk(0.0, 1.0, 0.4, time_s - slip.at_s).value;
            about([0.0, 0.0, 1.0], slip.along_deg * part)
                * about([1.0, 0.0, 0.0], slip.across_deg * part)
                * about([0.0, 1.0, 0.0], slip.about_deg * part)
                * sum
        });
        self.shank_at(side, time_s) * slipped
    }
}

#[test]
fn integrating_the_rate_gives_the_orientation_back() {
    for plan in busy_bodies() {
        let step_s = 1e-3;
        for side in [Side::Left, Side::Right] {
            let role = SensorRole::shank(side);
            let sensor = |time_s| {
                let slips = &plan.truth.strap_slips;
                UnitQuaternion::from(plan.motion.sensor_at(side, time_s, slips))
            };
            let mut estimate = sensor(0.0);
            let mut worst = 0.0_f64;
            for n in 0..(plan.duration_s / step_s) as usize {
                let start_s = n as f64 * step_s;
                let rate = plan.motion.felt(role, start_s + step_s / 2.0).rate_rad_s;
                estimate *= UnitQuaternion::from_scaled_axis(rate * step_s);
                worst = worst.max(estimate.angle_to(&sensor(start_s + step_s)));
            }
            assert!(worst < 1e-5, "{} {side}: {worst} rad", plan.truth.test);
        }
    }
}

#[test]
fn the_pelvis_turns_as_its_rate_says() {
    for plan in busy_bodies() {
        let step_s = 1e-3;
        // Carrying the vertical along by the rate alone.
        let mut up = plan.motion.up(SensorRole::Pelvis, 0.0);
        let mut moved = 0.0_f64;
        for n in 0..(plan.duration_s / step_s) as usize {
            let start_s = n as f64 * step_s;
            let rate = plan.motion.felt(SensorRole::Pelvis, start_s + step_s / 2.0).rate_rad_s;
            up = Rotation3::new(-rate * step_s) * up;
            let truth = plan.motion.up(SensorRole::Pelvis, start_s + step_s);
            assert!((up - truth).norm() < 1e-5, "{} at {start_s} s", plan.truth.test);
            moved = moved.max(rate.norm());
        }
        assert!(moved > 0.003, "{} {moved}", plan.truth.test);
    }
}

#[test]
fn specific_force_is_the_points_acceleration_against_gravity() {
    let h = 1e-4;
    let point = Vector3::new(0.0, 0.0, -0.22);
    let up = Vector3::new(0.0, 0.0, GRAVITY_M_S2);
    for plan in busy_bodies() {
        let mut moved = 0.0_f64;
        for side in [Side::Left, Side::Right] {
            for n in 0..400 {
                let t = 1.0 + f64::from(n) * (plan.duration_s - 2.0) / 400.0;
                let place = |time_s| plan.motion.shank_at(side, time_s) * point;
                let acceleration = (place(t + h) - place(t) * 2.0 + place(t - h)) / (h * h);
                let sensor = plan.motion.sensor_at(side, t, &plan.truth.strap_slips);
                let expected = sensor.inverse() * (acceleration + up);
                let felt = plan.motion.felt(SensorRole::shank(side), t).force_m_s2;
                let test = plan.truth.test;
                assert!((felt - expected).norm() < 1e-3, "{test} {side} at {t} s: {felt}");
                moved = moved.max(acceleration.norm());
            }
        }
        assert!(moved > 0.8, "nothing moved: {moved}");
    }
}

const PRONE: (&str, &str) = (
    "prone-hip-rotation",
    r#"{ align-knee = { side = "left", times = 1 } },
       { baseline = { side = "right", repetitions = 1, styles = ["held", "contract"] } }"#,
);

#[test]
fn at_rest_only_gravity_is_felt_and_it_points_up() {
    let plan = busy(PRONE.0, PRONE.1);
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
    let plan = busy(PRONE.0, PRONE.1);
    for one in &plan.truth.repetitions {
        let up = plan.motion.up(SensorRole::Pelvis, one.hold_start_s);
        // About the axis to the head, against the tilt of the table; breathing does not turn it.
        let roll_deg = up.y.atan2(up.z.hypot(up.x)).to_degrees() - 2.0;
        let along_deg = roll_deg * turn_sign(one.side) * one.direction.sign();
        assert!((along_deg - one.pelvis_roll_deg).abs() < 0.1, "{along_deg} {one:?}");
        assert!(one.pelvis_roll_deg > 3.0);
    }
}
