//! The person on the table: which joints the chain to each segment runs through.
//!
//! Prone, hip rotation θ (internal positive) and knee flexion φ, the upward vector in the shank is
//! `(anterior, distal, lateral) = (−cos φ·cos θ, sin φ·cos θ, −sin θ)` for either leg. The signs of
//! the left leg are those of the right one mirrored.

use endarc_protocol::words::Side;
use nalgebra::Vector3;

use super::chain::{Attitude, Axis};
use super::jet::Jet;

/// Every joint angle between the table and one shank, degrees.
#[derive(Debug, Clone, Copy, Default)]
pub(crate) struct Joints {
    /// Sideways tilt of the table; positive lifts the person's left side.
    pub(crate) table_tilt_deg: Jet,
    /// Pelvis roll; positive the way the shank moves in internal rotation of this leg.
    pub(crate) pelvis_roll_deg: Jet,
    /// Hip flexion: the knee is lower than the hip.
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
pub(crate) fn shank(side: Side, joints: &Joints) -> Attitude {
    let mirror = turn_sign(side);
    Attitude::level()
        .turned(Axis::X, radians(joints.table_tilt_deg))
        .turned(Axis::X, radians(joints.pelvis_roll_deg) * mirror)
        .turned(Axis::Y, radians(joints.hip_flexion_deg) * -1.0)
        .turned(Axis::Z, radians(joints.hip_adduction_deg) * -mirror)
        .turned(Axis::X, radians(joints.hip_rotation_deg) * mirror)
        .turned(Axis::Y, radians(joints.knee_flexion_deg))
        // The straight leg of a prone person: the shin faces the table, the knee is headwards.
        .renamed(|v| Vector3::new(-v.z, v.y, v.x))
}

/// The pelvis's attitude in its own axes: x to the head, y to the person's left, z away from the
/// table. `roll_deg` and `pitch_deg` turn about x and y.
pub(crate) fn pelvis(table_tilt_deg: Jet, roll_deg: Jet, pitch_deg: Jet) -> Attitude {
    Attitude::level()
        .turned(Axis::X, radians(table_tilt_deg))
        .turned(Axis::X, radians(roll_deg))
        .turned(Axis::Y, radians(pitch_deg))
}

/// Which way internal rotation of a leg turns about the axis to the head: the foot of the right leg
/// goes to the right, that of the left leg to the left.
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
    fn up(side: Side, joints: &Joints) -> [f64; 3] {
        let up = shank(side, joints).up();
        [up.x, -up.z, -turn_sign(side) * up.y]
    }

    fn posed(rotation: f64, knee: f64) -> Joints {
        Joints {
            hip_rotation_deg: Jet::still(rotation),
            knee_flexion_deg: Jet::still(knee),
            ..Joints::default()
        }
    }

    #[test]
    fn the_upright_shank_shows_the_closed_form() {
        for side in [Side::Left, Side::Right] {
            for (rotation, knee) in [(0.0_f64, 90.0_f64), (35.0, 80.0), (-42.0, 100.0)] {
                let (t, k) = (rotation.to_radians(), knee.to_radians());
                let expected = [-k.cos() * t.cos(), k.sin() * t.cos(), -t.sin()];
                for (got, wanted) in up(side, &posed(rotation, knee)).iter().zip(expected) {
                    assert!((got - wanted).abs() < 1e-12, "{side} {rotation} {knee}");
                }
            }
        }
    }

    /// Rigid-body cases computed with another library; those with a joint that the simulated body
    /// does not have (the knee's sideways give, tibial rotation, a sensor turned on the shank) and
    /// other postures are left out.
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
            let beyond_the_model = [7, 8, 10].iter().any(|place| number(*place) != 0.0);
            if cells[1] != "prone" || beyond_the_model {
                continue;
            }
            let side = if cells[2] == "R" { Side::Right } else { Side::Left };
            let joints = Joints {
                hip_rotation_deg: Jet::still(number(3)),
                knee_flexion_deg: Jet::still(number(4)),
                hip_flexion_deg: Jet::still(number(5)),
                hip_adduction_deg: Jet::still(number(6)),
                pelvis_roll_deg: Jet::still(number(9)),
                ..Joints::default()
            };
            for (got, place) in up(side, &joints).iter().zip([11, 12, 13]) {
                assert!((got - number(place)).abs() < 2e-9, "{}", cells[0]);
            }
            checked += 1;
        }
        assert!(checked >= 40, "only {checked} cases");
    }

    #[test]
    fn table_tilt_shifts_the_legs_in_opposite_directions() {
        let tilted = |side| {
            let joints = Joints { table_tilt_deg: Jet::still(3.0), ..posed(20.0, 90.0) };
            -up(side, &joints)[2].asin().to_degrees()
        };
        assert!((tilted(Side::Right) - 23.0).abs() < 1e-9);
        assert!((tilted(Side::Left) - 17.0).abs() < 1e-9);
    }
}
