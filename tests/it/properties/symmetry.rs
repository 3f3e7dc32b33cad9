//! What the results must not depend on.

use endarc_analysis::hip::ShankAxes;
use endarc_analysis::recording::{LegResult, RecordingError};
use endarc_analysis::result::Repetition;
use endarc_protocol::events_csv::Event;
use endarc_protocol::words::{Side, TestKind};
use nalgebra::{UnitQuaternion, Vector3};
use proptest::prelude::*;

use super::few_cases;
use super::visit::{Draw, Kind, draws};

proptest! {
    #![proptest_config(few_cases())]

    /// A person in the mirror: left is right, everything else is the same. A mirror across the
    /// sagittal plane turns an arrow's sideways part round, and of a turning the two other parts.
    #[test]
    fn left_mirrors_right(draw in draws(true)) {
        let visit = draw.visit();
        let mut mirrored = visit.changed(true, |[x, y, z], kind| match kind {
            Kind::Force => [x, -y, z],
            Kind::Turning => [-x, y, -z],
        });
        mirrored.side = other(visit.side);
        for event in &mut mirrored.events {
            *event = Event { side: event.side.map(other), ..*event };
        }
        for (result, mirrored) in both(visit.results(), mirrored.results())? {
            for (one, mirrored) in result.repetitions.iter().zip(&mirrored.repetitions) {
                prop_assert_eq!(mirrored.side, other(one.side));
                same(one, mirrored, 1e-6)?;
            }
            // The axis points to the left of either.
            let [x, y, z] = result.alignment.knee_axis;
            let axis = Vector3::from(mirrored.alignment.knee_axis);
            prop_assert!((axis - Vector3::new(-x, y, -z)).norm() < 1e-8, "{axis}");
        }
    }

    /// However the sensor sits on the strap, up to 60° askew: knee bends find out.
    #[test]
    fn the_strap_changes_nothing(
        draw in draws(false),
        axis in (-1.0..1.0, -1.0..1.0, 0.1..1.0),
        angle_deg in 0.0..60.0_f64,
    ) {
        let visit = draw.visit();
        let axis = Vector3::new(axis.0, axis.1, axis.2).normalize();
        let turn = UnitQuaternion::from_scaled_axis(axis * angle_deg.to_radians());
        let turned = visit.changed(false, |reading, _| (turn * Vector3::from(reading)).into());
        for (result, turned) in both(visit.results(), turned.results())? {
            for (one, turned) in result.repetitions.iter().zip(&turned.repetitions) {
                same(one, turned, 0.02)?;
            }
        }
    }

    /// The hip's angle is the same at any knee angle: the formula exactly (held against the geometry
    /// cases in the analysis' own tests), a whole visit but for the alignment, whose knee bends go
    /// another way then, and whose share is in the stated uncertainty.
    #[test]
    fn the_knee_changes_no_more_than_is_stated(
        draw in draws(false),
        knee_deg in 80.0..100.0_f64,
    ) {
        let [one, other] = [draw, Draw { knee_deg, ..draw }].map(|draw| draw.visit().results());
        for (result, bent) in one.into_iter().zip(other) {
            // Other knee bends may be refused.
            let (Ok(result), Ok(bent)) = (result, bent) else { continue };
            prop_assert_eq!(result.repetitions.len(), bent.repetitions.len());
            for (one, bent) in result.repetitions.iter().zip(&bent.repetitions) {
                prop_assert_eq!(one.direction, bent.direction);
                let off = (one.end_range_deg - bent.end_range_deg).abs();
                let stated = one.uncertainty_deg.hypot(bent.uncertainty_deg);
                prop_assert!(off < 3.0 * stated, "{off}°, {stated}°: {draw:?}, {knee_deg}°");
            }
        }
    }

    /// Which way the table stands in the room: no reading knows it, and of an attitude only what is
    /// about the vertical changes, by the same for all.
    #[test]
    fn the_way_the_table_stands_changes_nothing(
        attitudes in prop::collection::vec((-3.0..3.0, -1.4..1.4, -3.0..3.0), 2),
        table_rad in -3.0..3.0_f64,
        left in any::<bool>(),
    ) {
        let side = if left { Side::Left } else { Side::Right };
        let table = UnitQuaternion::from_axis_angle(&Vector3::z_axis(), table_rad);
        let attitudes: Vec<_> =
            attitudes.iter().map(|(a, b, c)| UnitQuaternion::from_euler_angles(*a, *b, *c)).collect();
        let axes = ShankAxes::new(Vector3::y_axis(), &Vector3::new(0.2, 0.1, 0.97).normalize());
        let up = |attitude: &UnitQuaternion<f64>| attitude.inverse() * Vector3::z();
        let test = TestKind::Supine9090HipRotation;
        let heading = |attitude: &UnitQuaternion<f64>| axes.heading(attitude, side, test);
        let mut turned_by = Vec::new();
        for attitude in &attitudes {
            let turned = table * attitude;
            prop_assert!((up(&turned) - up(attitude)).norm() < 1e-12);
            turned_by.push(heading(&turned) - heading(attitude));
        }
        prop_assert!((turned_by[0] - turned_by[1]).sin().abs() < 1e-9, "{turned_by:?}");
        prop_assert!((turned_by[0] - turned_by[1]).cos() > 0.0, "{turned_by:?}");
    }
}

/// Final and live results of two visits that must have come to the same: both refused, or as many
/// repetitions.
fn both(
    one: [Result<LegResult, RecordingError>; 2],
    other: [Result<LegResult, RecordingError>; 2],
) -> Result<Vec<(LegResult, LegResult)>, TestCaseError> {
    let mut both = Vec::new();
    for pair in one.into_iter().zip(other) {
        match pair {
            (Ok(one), Ok(other)) => {
                prop_assert!(!one.repetitions.is_empty());
                prop_assert_eq!(one.repetitions.len(), other.repetitions.len());
                both.push((one, other));
            }
            (Err(_), Err(_)) => {}
            (one, other) => prop_assert!(false, "one of them was refused: {one:?} {other:?}"),
        }
    }
    Ok(both)
}

/// The same repetition, its angles to a tolerance.
fn same(one: &Repetition, other: &Repetition, tolerance_deg: f64) -> Result<(), TestCaseError> {
    prop_assert_eq!(one.phase, other.phase);
    prop_assert_eq!(one.direction, other.direction);
    let off = (one.end_range_deg - other.end_range_deg).abs();
    prop_assert!(off < tolerance_deg, "{off}°: {one:?} {other:?}");
    let roll = one.pelvis_roll_deg.unwrap_or(0.0) - other.pelvis_roll_deg.unwrap_or(0.0);
    prop_assert!(roll.abs() < tolerance_deg, "{roll}° of roll: {one:?} {other:?}");
    Ok(())
}

const fn other(side: Side) -> Side {
    match side {
        Side::Left => Side::Right,
        Side::Right => Side::Left,
    }
}
