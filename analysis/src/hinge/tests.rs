//! Hinges that are moved by rule, so that axis and angle are known exactly.

use nalgebra::{UnitQuaternion, Vector3};

use super::*;

const RATE_HZ: f64 = 50.0;

/// Two segments, the joint bent by `angle` (rad at a time in s), the first one turned by `attitude`.
struct Joint<A, B> {
    angle: A,
    attitude: B,
}

fn axis() -> Unit<Vector3<f64>> {
    Unit::new_normalize(Vector3::new(0.3, -0.8, 0.5))
}

/// How the second sensor is strapped on, against the first.
fn strap() -> UnitQuaternion<f64> {
    UnitQuaternion::from_euler_angles(0.7, -1.1, 2.0)
}

/// A rotation in all directions, by hand.
fn handled(time_s: f64) -> UnitQuaternion<f64> {
    UnitQuaternion::from_euler_angles(
        1.2 * (0.9 * time_s).sin(),
        0.9 * (1.3 * time_s + 1.0).sin(),
        1.5 * (0.7 * time_s).sin(),
    )
}

fn bent(time_s: f64) -> f64 {
    1.1 * (1.7 * time_s).sin()
}

impl<A: Fn(f64) -> f64, B: Fn(f64) -> UnitQuaternion<f64>> Joint<A, B> {
    fn attitudes(&self, time_s: f64) -> [UnitQuaternion<f64>; 2] {
        let first = (self.attitude)(time_s);
        let bent = UnitQuaternion::from_axis_angle(&axis(), (self.angle)(time_s));
        [first, first * bent * strap()]
    }

    fn moments(&self, seconds: f64) -> Vec<Moment> {
        let moment = |place: usize| {
            let time_s = place as f64 / RATE_HZ;
            let before = self.attitudes(time_s - 1.0 / RATE_HZ);
            let now = self.attitudes(time_s);
            let rate = |side: usize| (before[side].inverse() * now[side]).scaled_axis() * RATE_HZ;
            Moment {
                time_s,
                rates: [rate(0), rate(1)],
                ups: now.map(|attitude| attitude.inverse() * Vector3::z()),
                inclination_sds_rad: [0.01; 2],
            }
        };
        (0..(seconds * RATE_HZ) as usize).map(moment).collect()
    }
}

fn known() -> HingeAxes {
    let directions = [axis(), strap().inverse() * axis()];
    HingeAxes { directions, uncertainty_rad: 0.001, residual_share: 0.0 }
}

#[test]
fn the_axis_is_found_and_its_ends_belong_together() {
    let moments = Joint { angle: bent, attitude: handled }.moments(20.0);
    let found = axes(&moments).unwrap();
    let errors = [0, 1].map(|side| found.directions[side].dot(&known().directions[side]));
    assert!(errors[0].abs() > 1.0 - 1e-6 && errors[1].abs() > 1.0 - 1e-6, "{errors:?}");
    assert!(errors[0] * errors[1] > 0.0, "{errors:?}");
    assert!(found.residual_share < 0.01, "{}", found.residual_share);
}

#[test]
fn noise_is_covered_by_the_stated_uncertainty() {
    let mut moments = Joint { angle: bent, attitude: handled }.moments(20.0);
    // The sensors' clocks are 4 ms apart, one gyroscope's scale is off, and the verticals wander.
    let late = Joint { angle: bent, attitude: handled };
    for (moment, second) in moments.iter_mut().zip(late.moments(20.0).windows(2)) {
        moment.rates[1] = (second[0].rates[1] * 0.8 + second[1].rates[1] * 0.2) * 1.004;
        let wander = UnitQuaternion::from_euler_angles(0.02 * moment.time_s.sin(), 0.01, 0.0);
        moment.ups[0] = wander * moment.ups[0];
    }
    let found = axes(&moments).unwrap();
    for side in 0..2 {
        let error = found.directions[side].dot(&known().directions[side]).abs().acos();
        assert!(error < 3.0 * found.uncertainty_rad, "{error} {}", found.uncertainty_rad);
        assert!(error < 1.0_f64.to_radians(), "{error}");
    }
}

#[test]
fn what_shows_no_axis_is_refused() {
    let still = Joint { angle: |_| 0.3, attitude: |_| UnitQuaternion::identity() };
    let refused = |moments: &[Moment]| axes(moments).unwrap_err();
    assert!(matches!(refused(&still.moments(20.0)), HingeError::TooLittleTurning { .. }));
    // The joint is held: any pair of directions that go together would do.
    let held = Joint { angle: |_| 0.3, attitude: handled };
    assert!(matches!(refused(&held.moments(20.0)), HingeError::Undetermined { .. }));
    // The second segment is turned about another axis too.
    let mut twisted = Joint { angle: bent, attitude: handled }.moments(20.0);
    for moment in &mut twisted {
        moment.rates[1] += Vector3::x() * (2.3 * moment.time_s).sin();
    }
    assert!(matches!(refused(&twisted), HingeError::NotAHinge { .. }));
}

#[test]
fn the_angle_follows_and_does_not_drift() {
    let mut moments = Joint { angle: |t| 3.0 * bent(t), attitude: handled }.moments(120.0);
    for moment in &mut moments {
        // 0.5 °/s of bias that nobody has learnt would be a whole turn in the end.
        moment.rates[1] += known().directions[1].into_inner() * 0.5_f64.to_radians();
    }
    let mut live = LiveHinge::new(known(), 0.0);
    let angles: Vec<_> = moments.iter().map(|moment| live.push(moment)).collect();
    let worst = |angles: &[HingeAngle]| {
        let zero = angles[0].angle_rad - 3.0 * bent(0.0);
        let error = |angle: &HingeAngle| angle.angle_rad - zero - 3.0 * bent(angle.time_s);
        angles.iter().map(|angle| error(angle).abs()).fold(0.0, f64::max)
    };
    assert!(worst(&angles) < 2.0_f64.to_radians(), "{}", worst(&angles).to_degrees());
    let smoothed = smooth(&known(), 0.0, &moments);
    assert!(worst(&smoothed) < worst(&angles), "{}", worst(&smoothed).to_degrees());
}

/// The first segment is turned until the axis is vertical, the joint is bent there, and back again.
#[test]
fn where_gravity_shows_nothing_the_gyroscopes_do() {
    let upright = UnitQuaternion::rotation_between(&axis(), &Vector3::z()).unwrap();
    let lying = UnitQuaternion::from_axis_angle(&Vector3::x_axis(), 1.4) * upright;
    let attitude = |t: f64| match t {
        ..5.0 => lying,
        5.0..7.0 => lying.slerp(&upright, (t - 5.0) / 2.0),
        7.0..12.0 => upright,
        _ => upright.slerp(&lying, ((t - 12.0) / 2.0).min(1.0)),
    };
    let angle = |t: f64| {
        if (7.0..12.0).contains(&t) {
            0.8 * (t - 7.0).sin()
        } else {
            0.8 * 5.0_f64.sin() * f64::from(t >= 12.0)
        }
    };
    let mut moments = Joint { angle, attitude }.moments(20.0);
    for moment in &mut moments {
        // The verticals are off by a degree: near the vertical axis that is any angle at all.
        let off = UnitQuaternion::from_euler_angles(0.012, -0.012, 0.0);
        moment.ups[1] = off * moment.ups[1];
        moment.inclination_sds_rad = [0.017; 2];
    }
    let mut live = LiveHinge::new(known(), 0.0);
    let mut zero = 0.0;
    let (mut lying_sd, mut upright_sd) = (0.0, 0.0);
    for moment in &moments {
        let found = live.push(moment);
        match moment.time_s {
            ..4.9 => (zero, lying_sd) = (found.angle_rad, found.uncertainty_rad),
            7.0.. => {
                let error = (found.angle_rad - zero - angle(moment.time_s)).abs().to_degrees();
                assert!(error < 4.0, "{error}° at {} s", moment.time_s);
            }
            _ => {}
        }
        if moment.time_s < 12.0 {
            upright_sd = found.uncertainty_rad;
        }
    }
    assert!(upright_sd > 2.0 * lying_sd, "{upright_sd} {lying_sd}");
}

#[test]
fn a_known_delay_is_made_up_for() {
    let delay_s = 0.02;
    let late = Joint { angle: |t| bent(t - delay_s), attitude: |t| handled(t - delay_s) };
    let worst = |delay_s: f64| {
        let mut live = LiveHinge::new(known(), delay_s);
        let angles: Vec<_> = late.moments(20.0).iter().map(|moment| live.push(moment)).collect();
        // One constant is open: the mean error is taken for it.
        let zero = angles.iter().map(|a| a.angle_rad - bent(a.time_s)).sum::<f64>();
        let zero = zero / angles.len() as f64;
        angles.iter().map(|a| (a.angle_rad - bent(a.time_s) - zero).abs()).fold(0.0, f64::max)
    };
    assert!(worst(delay_s) < 0.25 * worst(0.0), "{} {}", worst(delay_s), worst(0.0));
}

/// A hole in the recording, in which the joint went on to somewhere else.
#[test]
fn after_a_hole_gravity_says_where_the_joint_is() {
    let joint = Joint { angle: |t| if t < 5.0 { 0.0 } else { 1.0 }, attitude: |_| strap() };
    let moments = joint.moments(10.0);
    let holed = moments.iter().filter(|moment| !(4.9..6.0).contains(&moment.time_s));
    let mut live = LiveHinge::new(known(), 0.0);
    let angles: Vec<HingeAngle> = holed.map(|moment| live.push(moment)).collect();
    let after = angles.iter().find(|angle| angle.time_s >= 6.0).unwrap();
    assert!((after.angle_rad - angles[0].angle_rad - 1.0).abs() < 1e-6);
    // A moment that is not later changes nothing.
    assert_eq!(live.push(&moments[10]), live.push(&moments[12]));
}
