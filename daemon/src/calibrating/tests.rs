//! The guides and the desk, fed by a hand that lays a sensor about.

use endarc_protocol::sample::Sample;
use endarc_protocol::words::SensorRole;

use super::*;
use crate::live::{CalibrationState, LiveCalibration};
use crate::sensor_calibration;

const GRAVITY_M_S2: f64 = 9.806_65;
const SENSOR: SensorRole = SensorRole::LeftShank;

/// A sensor at 100 Hz whose z axis reads 0.2 m/s² too much and that turns at 0.01 rad/s when it
/// does not.
#[derive(Default)]
struct Hand {
    desk: Desk,
    samples: u32,
    heading_deg: f64,
    found: Option<Found>,
}

impl Hand {
    /// It lies with `up` (unit) on top.
    fn lie(&mut self, up: [f64; 3], lasts_s: f64) {
        for _ in 0..(lasts_s * 100.0) as u32 {
            self.feed(up, 0.0);
        }
    }

    /// It lies on a table of this sideways tilt, pointing to where it was turned.
    fn lie_on_table(&mut self, sideways_deg: f64, lasts_s: f64) {
        let up = self.up_on_table(sideways_deg);
        self.lie(up, lasts_s);
    }

    fn turn_on_table(&mut self, sideways_deg: f64, by_deg: f64) {
        for _ in 0..200 {
            self.heading_deg += by_deg / 200.0;
            let up = self.up_on_table(sideways_deg);
            self.feed(up, (by_deg / 2.0).to_radians());
        }
    }

    fn up_on_table(&self, sideways_deg: f64) -> [f64; 3] {
        let y = sideways_deg.to_radians().sin();
        let (sine, cosine) = self.heading_deg.to_radians().sin_cos();
        [sine * y, cosine * y, (1.0 - y * y).sqrt()]
    }

    fn feed(&mut self, up: [f64; 3], rate_rad_s: f64) {
        let [x, y, z] = up.map(|part| part * GRAVITY_M_S2);
        self.samples += 1;
        // Alternating, so that neither is suspiciously exact.
        let noise = if self.samples.is_multiple_of(2) { 0.01 } else { -0.01 };
        let sample = Sample {
            time_s: f64::from(self.samples) / 100.0,
            accel_m_s2: [x + noise, y - noise, z + 0.2 + noise],
            gyro_rad_s: [noise / 20.0, 0.0, 0.01 + rate_rad_s],
            ..Sample::default()
        };
        if self.desk.wants(SENSOR).is_some()
            && let Some(found) = self.desk.push(&sample)
        {
            self.found = Some(found);
        }
    }

    fn live(&self) -> LiveCalibration {
        self.desk.live().unwrap()
    }
}

#[test]
fn six_sides_are_led_through_and_an_incomplete_set_is_refused() {
    let mut hand = Hand::default();
    assert_eq!(hand.desk.live(), None);
    hand.desk.calibrate(SENSOR, Some(23.0));
    let sides = [
        [0.0, 0.0, 1.0],
        [0.0, 0.0, -1.0],
        [1.0, 0.0, 0.0],
        [-1.0, 0.0, 0.0],
        [0.0, 1.0, 0.0],
        [0.0, -1.0, 0.0],
    ];
    hand.lie(sides[0], 1.0);
    let live = hand.live();
    assert_eq!(live.prompt, "z up: still, leave it alone");
    assert!(live.rests[0].now && live.rests[0].still && !live.rests[0].done);
    hand.lie(sides[0], 4.0);
    assert_eq!(hand.live().prompt, "z up is done: lay it on another side");
    for side in &sides[1..5] {
        hand.lie(*side, 5.0);
    }
    let refused = hand.desk.finish().unwrap_err().to_string();
    assert!(refused.starts_with("never seen on top: y down"), "{refused}");
    assert_eq!(hand.live().reason, refused);
    assert!(hand.desk.is_busy(), "it goes on gathering");
    hand.lie(sides[5], 5.0);
    assert!(hand.live().complete);

    let Found::Calibration { sensor, temperature_c, calibration } = hand.desk.finish().unwrap()
    else {
        panic!("a sensor was calibrated")
    };
    assert_eq!((sensor, temperature_c), (SENSOR, Some(23.0)));
    assert!((calibration.accel_offset_m_s2.z - 0.2).abs() < 0.01, "{calibration:?}");
    assert!((calibration.gyro_offset_rad_s.z - 0.01).abs() < 1e-4);
    assert_eq!(hand.live().state, CalibrationState::Saving);
    assert_eq!(hand.desk.wants(SENSOR), None);
    let lines = calibration_lines(&sensor_calibration::tests::example("AA:BB"));
    hand.desk.kept(lines.clone());
    assert_eq!((hand.live().state, hand.live().result), (CalibrationState::Kept, lines));
    assert!(!hand.desk.is_busy());
}

#[test]
fn what_cannot_be_stored_may_be_finished_again() {
    let mut hand = Hand::default();
    hand.desk.level(SENSOR, "room 2".to_owned(), Some(0.01));
    hand.lie_on_table(1.5, 6.0);
    assert!(matches!(hand.desk.finish(), Ok(Found::Level { .. })));
    assert!(hand.desk.finish().is_err(), "it is being stored");
    hand.desk.not_kept("the disk is full");
    assert!(hand.live().reason.contains("the disk is full"));
    assert!(hand.desk.finish().is_ok());
}

#[test]
fn a_table_is_levelled_by_half_a_turn_whatever_the_sensors_own_offset() {
    for by_deg in [180.0, -170.0] {
        let mut hand = Hand::default();
        hand.desk.level(SENSOR, "room 2".to_owned(), None);
        hand.lie_on_table(2.0, 6.0);
        assert!(hand.live().rests[0].done && !hand.live().complete);
        assert!(hand.desk.finish().unwrap_err().to_string().contains("never calibrated"));
        hand.turn_on_table(2.0, by_deg);
        hand.lie_on_table(2.0, 6.0);
        let Some(Found::Level { table, level }) = hand.found else { panic!("{:?}", hand.live()) };
        assert_eq!(table, "room 2");
        let deg = level.sideways_rad.to_degrees();
        // The 2 % by which z reads too much shorten it by as much.
        assert!((deg - 2.0).abs() < 0.06, "{deg}");
        let lines = level_lines(&level);
        assert!(lines[0].starts_with("sideways   +"), "{lines:?}");
    }
}

#[test]
fn another_turn_than_half_is_refused_and_put_right() {
    let mut hand = Hand::default();
    hand.desk.level(SENSOR, "room 2".to_owned(), None);
    hand.lie_on_table(2.0, 6.0);
    // Taken up and laid down as before: no second rest.
    hand.turn_on_table(2.0, 20.0);
    hand.lie_on_table(2.0, 6.0);
    assert_eq!((hand.found.clone(), hand.live().reason), (None, String::new()));
    hand.turn_on_table(2.0, 90.0);
    hand.lie_on_table(2.0, 6.0);
    assert_eq!(hand.found, None);
    assert!(hand.live().reason.starts_with("it was turned by 90°"), "{}", hand.live().reason);
    assert!(hand.live().rests[1].now);
    hand.turn_on_table(2.0, 90.0);
    hand.lie_on_table(2.0, 6.0);
    assert!(hand.found.is_some());
}

#[test]
fn a_sensor_on_its_edge_levels_nothing() {
    let mut hand = Hand::default();
    hand.desk.level(SENSOR, "room 2".to_owned(), None);
    hand.lie([0.0, 1.0, 0.0], 6.0);
    assert!(hand.live().reason.contains("lay it flat, z up"), "{}", hand.live().reason);
    assert!(!hand.live().rests[0].done);
    hand.desk.stop();
    assert_eq!(hand.desk.live(), None);
}

#[test]
fn names_and_temperatures_are_checked() {
    assert_eq!(table_name(" room 2 "), Ok("room 2".to_owned()));
    assert!(table_name("  ").is_err() && table_name(&"x".repeat(65)).is_err());
    assert_eq!(temperature(23.5), Ok(23.5));
    assert!(temperature(200.0).is_err() && temperature(f64::NAN).is_err());
}
