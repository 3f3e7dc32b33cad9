//! The person on the table: which joints the chain to each segment runs through.
//!
//! With hip rotation θ (internal positive), knee flexion φ and the thigh horizontal, the upward
//! vector in the shank is `(anterior, distal, lateral) = ±(−cos φ·cos θ, sin φ·cos θ, −sin θ)` for
//! either leg: `+` prone, `−` seated and hanging. With the thigh upright it does not depend on θ.
//! The signs of the left leg are those of the right one mirrored.

use endarc_protocol::words::Side;
use nalgebra::Vector3;

use super::chain::{Attitude, Axis};
use super::jet::Jet;
use super::posture::Posture;

/// Every joint angle between the table and one shank, degrees.
#[derive(Debug, Clone, Copy, Default)]
pub(crate) struct Joints {
    /// Sideways tilt of the table; positive lifts the person's left side.
    pub(crate) table_tilt_deg: Jet,
    /// Pelvis roll about the thigh that is turned; positive the way the shank moves in internal
    /// rotation of this leg.
    pub(crate) pelvis_roll_deg: Jet,
    /// Hip flexion: 0 with the thigh in line with the trunk.
    pub(crate) hip_flexion_deg: Jet,
    /// Hip adduction: the knee is nearer to the midline.
    pub(crate) hip_adduction_deg: Jet,
    /// Hip rotation, internal positive.
    pub(crate) hip_rotation_deg: Jet,
    /// Knee flexion; 0 is straight.
    pub(crate) knee_flexion_deg: Jet,
}

/// The shank's attitude in its own axes: x forward (the shin's side), y to the person's left, z
/// from ankle to knee.
pub(crate) fn shank(posture: Posture, side: Side, joints: &Joints) -> Attitude {
    let mirror = turn_sign(side);
    person(posture, joints.table_tilt_deg)
        .turned(posture.roll_axis(), radians(joints.pelvis_roll_deg) * mirror)
        // From here on x points from knee to hip.
        .turned(Axis::Y, radians(joints.hip_flexion_deg) * -1.0)
        .turned(Axis::Z, radians(joints.hip_adduction_deg) * -mirror)
        .turned(Axis::X, radians(joints.hip_rotation_deg) * mirror)
        .turned(Axis::Y, radians(joints.knee_flexion_deg))
        // The straight leg of a prone person: the shin faces the table, the knee is headwards.
        .renamed(|v| Vector3::new(-v.z, v.y, v.x))
}

/// The pelvis's attitude in the person's axes. `roll_deg` turns about the thigh that is worked,
/// `tilt_deg` about the axis to the left: forward (anterior) is positive.
pub(crate) fn pelvis(
    posture: Posture,
    table_tilt_deg: Jet,
    roll_deg: Jet,
    tilt_deg: Jet,
) -> Attitude {
    person(posture, table_tilt_deg)
        .turned(posture.roll_axis(), radians(roll_deg))
        .turned(Axis::Y, radians(tilt_deg))
}

/// The person's frame on a table that may be tilted sideways. The axis of that tilt points to the
/// head of a prone person, to the front of one who sits and to the feet of a supine one: a positive
/// turn about it lifts the left side of each.
fn person(posture: Posture, table_tilt_deg: Jet) -> Attitude {
    posture.person(Attitude::level().turned(Axis::X, radians(table_tilt_deg)))
}

/// Which way internal rotation of a leg turns about the axis from knee to hip: the foot of the
/// right leg goes to the right, that of the left leg to the left.
pub(crate) const fn turn_sign(side: Side) -> f64 {
    match side {
        Side::Right => 1.0,
        Side::Left => -1.0,
    }
}

fn radians(degrees: Jet) -> Jet {
    degrees * (std::f64::consts::PI / 180.0)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The upward vector in anatomical axes: anterior, distal, lateral.
    fn up(posture: Posture, side: Side, joints: &Joints) -> [f64; 3] {
        let up = shank(posture, side, joints).up();
        [up.x, -up.z, -turn_sign(side) * up.y]
    }

    fn posed(posture: Posture, rotation: f64, knee: f64) -> Joints {
        Joints {
            hip_flexion_deg: Jet::still(posture.working_hip_deg()),
            hip_rotation_deg: Jet::still(rotation),
            knee_flexion_deg: Jet::still(knee),
            ..Joints::default()
        }
    }

    #[test]
    fn gravity_shows_the_closed_form_of_each_posture() {
        for (posture, sign) in
            [(Posture::Prone, 1.0), (Posture::Seated, -1.0), (Posture::SupineHanging, -1.0)]
        {
            for side in [Side::Left, Side::Right] {
                for (rotation, knee) in [(0.0_f64, 90.0_f64), (35.0, 80.0), (-42.0, 100.0)] {
                    let (t, k) = (rotation.to_radians(), knee.to_radians());
                    let expected = [-k.cos() * t.cos(), k.sin() * t.cos(), -t.sin()];
                    let got = up(posture, side, &posed(posture, rotation, knee));
                    for (got, wanted) in got.iter().zip(expected) {
                        let close = (got - sign * wanted).abs() < 1e-12;
                        assert!(close, "{posture:?} {side} {rotation} {knee}");
                    }
                }
            }
        }
    }

    /// Rigid-body cases computed with another library; those with a joint that the simulated body
    /// does not have (the knee's sideways give, tibial rotation, a sensor turned on the shank) are
    /// left out.
    #[test]
    fn gravity_agrees_with_the_reference_table() {
        let Some(text) = crate::reference_file("reference/data/gravity_geometry_oracles.csv")
        else {
            return;
        };
        let mut checked = 0;
        for line in text.lines().skip(1) {
            let cells: Vec<&str> = line.split(',').collect();
            let number = |place: usize| cells[place].parse::<f64>().unwrap();
            if [7, 8, 10].iter().any(|place| number(*place) != 0.0) {
                continue;
            }
            let posture = match cells[1] {
                "prone" => Posture::Prone,
                "seated" => Posture::Seated,
                "supine9090" => Posture::Supine9090,
                other => panic!("{other}"),
            };
            let side = if cells[2] == "R" { Side::Right } else { Side::Left };
            let joints = Joints {
                hip_rotation_deg: Jet::still(number(3)),
                knee_flexion_deg: Jet::still(number(4)),
                hip_flexion_deg: Jet::still(number(5)),
                hip_adduction_deg: Jet::still(number(6)),
                pelvis_roll_deg: Jet::still(number(9)),
                ..Joints::default()
            };
            for (got, place) in up(posture, side, &joints).iter().zip([11, 12, 13]) {
                assert!((got - number(place)).abs() < 2e-9, "{}", cells[0]);
            }
            checked += 1;
        }
        assert!(checked >= 48, "only {checked} cases");
    }

    /// Reading the lateral component, degrees of internal rotation.
    fn shown_deg(posture: Posture, side: Side, joints: &Joints) -> f64 {
        let sign = if posture == Posture::Prone { -1.0 } else { 1.0 };
        (sign * up(posture, side, joints)[2]).asin().to_degrees()
    }

    #[test]
    fn table_tilt_shifts_the_legs_in_opposite_directions() {
        for (posture, right_deg, left_deg) in [
            (Posture::Prone, 23.0, 17.0),
            (Posture::Seated, 17.0, 23.0),
            (Posture::SupineHanging, 17.0, 23.0),
        ] {
            for (side, expected) in [(Side::Right, right_deg), (Side::Left, left_deg)] {
                let posed = posed(posture, 20.0, 90.0);
                let joints = Joints { table_tilt_deg: Jet::still(3.0), ..posed };
                let shown = shown_deg(posture, side, &joints);
                assert!((shown - expected).abs() < 1e-9, "{posture:?} {side} {shown}");
            }
        }
    }

    #[test]
    fn wherever_gravity_sees_it_the_shank_shows_hip_and_pelvis_together() {
        for posture in [Posture::Prone, Posture::Seated, Posture::SupineHanging] {
            for side in [Side::Left, Side::Right] {
                let posed = posed(posture, -20.0, 90.0);
                let joints = Joints { pelvis_roll_deg: Jet::still(-4.0), ..posed };
                let shown = shown_deg(posture, side, &joints);
                assert!((shown + 24.0).abs() < 1e-9, "{posture:?} {side} {shown}");
            }
        }
    }

    /// Where the pelvis's axes point: the vertical along the head, left and back.
    #[test]
    fn the_pelvis_lies_as_the_posture_says_and_leans_to_the_shank() {
        let sensor = |posture, roll_deg| {
            let still = Jet::default();
            pelvis(posture, still, Jet::still(roll_deg), still).up()
        };
        for (posture, vertical) in [
            (Posture::Prone, Vector3::z()),
            (Posture::Seated, Vector3::x()),
            (Posture::SupineHanging, -Vector3::z()),
            (Posture::Supine9090, -Vector3::z()),
        ] {
            assert_eq!(sensor(posture, 0.0), vertical, "{posture:?}");
        }
        // The right shank moves to the right: prone it stands up, so the left side of the pelvis
        // lifts; hanging, the right side does.
        for (posture, left) in
            [(Posture::Prone, 1.0), (Posture::Seated, -1.0), (Posture::SupineHanging, -1.0)]
        {
            let sine = sensor(posture, 5.0).y;
            assert!((sine - left * 5.0_f64.to_radians().sin()).abs() < 1e-12, "{posture:?}");
        }
    }

    #[test]
    fn a_pelvis_tilting_forward_leans_the_vertical_to_the_feet() {
        let still = Jet::default();
        let up = pelvis(Posture::Prone, still, still, Jet::still(6.0)).up();
        assert!((up.x + 6.0_f64.to_radians().sin()).abs() < 1e-12, "{up}");
    }
}
