//! One seeded visit: its scenario, and what live and final analysis made of its raw signals.

use endarc_analysis::calibration::OffsetPriors;
use endarc_analysis::leg::LimbConfig;
use endarc_analysis::limb::{Limb, LimbEvent};
use endarc_analysis::recording::{self, Recording};
use endarc_analysis::repetition::Point;
use endarc_analysis::result::Repetition;
use endarc_protocol::words::{SensorRole, Side, TestKind, TrialType};
use endarc_simulator::{Scenario, Session, TruthRepetition};

/// A repetition with the times at which it was told; both are none for the final one.
#[derive(Debug, Clone)]
pub(crate) struct Told {
    pub(crate) repetition: Repetition,
    pub(crate) tone_s: Option<f64>,
    pub(crate) refined_s: Option<f64>,
}

/// A visit and what was made of it.
pub(crate) struct Visit {
    pub(crate) seed: u64,
    pub(crate) truth: Vec<TruthRepetition>,
    pub(crate) live: Vec<Told>,
    /// `None` where the alignment was refused.
    pub(crate) last: Option<Vec<Told>>,
    /// The live points of the aligned leg.
    pub(crate) points: Vec<Point>,
    /// Movements that mean nothing.
    pub(crate) wanderings: usize,
}

/// Kinds of sensors.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Sensors {
    /// As they come.
    Usual,
    /// Without any error.
    Perfect,
}

impl Visit {
    /// Simulates and analyses the visit of a seed.
    pub(crate) fn new(seed: u64, sensors: Sensors) -> Self {
        let (side, text) = scenario(seed, sensors);
        let scenario = Scenario::parse("hard set", &text).expect("the seeded scenario is valid");
        let session = Session::new(&scenario);
        let shank: Vec<_> = session.samples(SensorRole::shank(side)).collect();
        let pelvis: Vec<_> = session.samples(SensorRole::Pelvis).collect();
        let truth = session.truth().repetitions.clone();
        let marks: Vec<f64> = truth.iter().filter_map(|one| one.marked_s).collect();
        let recording = Recording {
            shank: &shank,
            pelvis: (!pelvis.is_empty()).then_some(&pelvis),
            events: session.events(),
            marks: &marks,
            levelling: None,
            offsets: OffsetPriors::default(),
            side,
            test: TestKind::ProneHipRotation,
        };
        let untimed = |repetition| Told { repetition, tone_s: None, refined_s: None };
        let last = recording::analyse(&recording)
            .inspect_err(|error| println!("seed {seed}: {error}"))
            .map(|result| result.repetitions.into_iter().map(untimed).collect())
            .ok();
        let (live, points) = live(&recording);
        let wanderings = text.matches("\"wander\"").count();
        Self { seed, truth, live, last, points, wanderings }
    }
}

impl Visit {
    /// What was done once the live angle was known.
    pub(crate) fn truth_once_aligned(&self) -> &[TruthRepetition] {
        let from_s = self.points.first().map_or(f64::INFINITY, |point| point.time_s);
        &self.truth[self.truth.partition_point(|one| one.start_s < from_s)..]
    }
}

/// Feeds the leg's state machine in the order of time.
fn live(recording: &Recording<'_>) -> (Vec<Told>, Vec<Point>) {
    enum Mark {
        Span(TrialType),
        End,
        Pressed,
    }
    let (side, test) = (recording.side, recording.test);
    let mut limb = Limb::new(LimbConfig {
        side,
        test,
        pelvis: recording.pelvis.is_some(),
        levelling: None,
        offsets: OffsetPriors::default(),
    });
    let mut marks: Vec<(f64, Mark)> = Vec::new();
    for span in recording.events {
        marks.push((span.onset_s, Mark::Span(span.trial_type)));
        marks.push((span.end_s(), Mark::End));
    }
    marks.extend(recording.marks.iter().map(|time_s| (*time_s, Mark::Pressed)));
    // An end before a beginning at the same time.
    let order = |mark: &Mark| u8::from(matches!(mark, Mark::Span(_)));
    marks.sort_by(|a, b| a.0.total_cmp(&b.0).then(order(&a.1).cmp(&order(&b.1))));
    let mut marks = marks.into_iter().peekable();
    let mut pelvis = recording.pelvis.unwrap_or_default().iter().peekable();
    let (mut told, mut points, mut events) = (Vec::new(), Vec::new(), Vec::new());
    for sample in recording.shank {
        while let Some(roll) = pelvis.next_if(|roll| roll.time_s <= sample.time_s) {
            limb.pelvis(roll, &mut events);
        }
        while let Some((time_s, mark)) = marks.next_if(|mark| mark.0 <= sample.time_s) {
            match mark {
                Mark::Span(span) => limb.begin(span, time_s, &mut events),
                Mark::End => limb.end(time_s, &mut events),
                Mark::Pressed => limb.mark(time_s, &mut events),
            }
        }
        limb.shank(sample, &mut events);
        for event in events.drain(..) {
            take(event, sample.time_s, &mut told, &mut points);
        }
    }
    (told, points)
}

fn take(event: LimbEvent, now_s: f64, told: &mut Vec<Told>, points: &mut Vec<Point>) {
    match event {
        LimbEvent::Captured { repetition, .. } => {
            told.push(Told { repetition, tone_s: Some(now_s), refined_s: None });
        }
        LimbEvent::Refined { number, repetition } => {
            let one = &mut told[number];
            assert_eq!(one.refined_s, None, "refined at most once");
            (one.repetition, one.refined_s) = (repetition, Some(now_s));
        }
        LimbEvent::Angle(angle) => {
            if let (Some(angle_deg), Some(knee_deg)) = (angle.angle_deg, angle.knee_flexion_deg) {
                points.push(Point {
                    time_s: angle.time_s,
                    angle_deg,
                    knee_deg,
                    roll_deg: angle.pelvis_roll_deg,
                    saturated: false,
                });
            }
        }
        _ => {}
    }
}

const KINDS: [&str; 11] = [
    "held",
    "touch",
    "through",
    "deeper",
    "contract",
    "slow",
    "fast",
    "oscillate-at-end",
    "drift",
    "marked",
    "wander",
];

/// A random visit of one leg as a scenario: every kind of movement in random order.
fn scenario(seed: u64, sensors: Sensors) -> (Side, String) {
    let mut chance = Chance(seed.wrapping_mul(7919).wrapping_add(0x5eed));
    chance.unit();
    let side = if chance.happens(0.5) { Side::Left } else { Side::Right };
    let end_deg = |chance: &mut Chance| match chance.happens(0.4) {
        true => chance.between(10.0, 16.0),
        false => chance.between(16.0, 45.0),
    };
    let stiff = chance.happens(0.15);
    let (mut inward, mut outward) = (end_deg(&mut chance), end_deg(&mut chance));
    if stiff {
        (inward, outward) = (chance.between(-8.0, 8.0), chance.between(28.0, 45.0));
        if chance.happens(0.5) {
            std::mem::swap(&mut inward, &mut outward);
        }
    }
    let measure = |chance: &mut Chance| {
        let styles: Vec<String> = (0..12).map(|_| format!("\"{}\"", chance.pick(&KINDS))).collect();
        let directions = *chance.pick(&[r#""internal", "external""#, r#""external", "internal""#]);
        format!(
            "{{ styles = [{}], directions = [{directions}], repetitions = 6, order = \"alternating\" }}",
            styles.join(", ")
        )
    };
    let (baseline, retest) = (measure(&mut chance), measure(&mut chance));
    let rate = chance.pick(&["50", "100", "104", "200"]).to_string();
    let pelvis = chance.happens(0.3);
    let cheap = chance.happens(0.2);
    let worn = |role: &str, chance: &mut Chance| {
        let errors = match sensors {
            Sensors::Perfect => "accel_offset_mg = 0\ngyro_offset_deg_s = 0\n\
                accel_scale_error_percent = 0\ngyro_scale_error_percent = 0\n\
                accel_noise_ug_per_sqrt_hz = 0\ngyro_noise_deg_s_per_sqrt_hz = 0\n"
                .to_owned(),
            Sensors::Usual => format!(
                "accel_offset_mg = {}\ngyro_offset_deg_s = {}\n",
                if cheap { 30 } else { 5 },
                if cheap { 1.5 } else { 0.5 }
            ),
        };
        let askew = chance.between(0.0, 30.0);
        format!("[[sensors]]\nrole = \"{role}\"\nmounting_error_deg = {askew:.1}\n{errors}")
    };
    let shank = worn(&format!("{side}-shank"), &mut chance);
    let on_pelvis = if pelvis { worn("pelvis", &mut chance) } else { String::new() };
    let text = format!(
        "seed = {seed}\nrate_hz = {rate}\n{shank}{on_pelvis}[link]\nloss = {loss}\n\
         [body]\ntremor_deg = {tremor:.2}\ntremor_hz = {hz:.1}\nrepetition_sd_deg = 1\n\
         knee_spread_deg = 6\npelvis_roll_per_deg = {roll:.2}\n\
         [body.end_range_deg]\n{side} = {{ internal = {inward:.1}, external = {outward:.1} }}\n\
         [[script]]\nalign-knee = {{}}\n[[script]]\nneutral = {{}}\n\
         [[script]]\nbaseline = {baseline}\n[[script]]\nrest = {{}}\n[[script]]\nretest = {retest}\n",
        loss = if chance.happens(0.3) { 0.02 } else { 0.0 },
        tremor = chance.between(0.1, 0.6),
        hz = chance.between(4.0, 11.0),
        roll = if pelvis { chance.between(0.0, 0.2) } else { 0.0 },
    );
    (side, text)
}

/// A small seeded generator, so that the same visit is drawn everywhere (Knuth's MMIX multiplier).
struct Chance(u64);

impl Chance {
    fn unit(&mut self) -> f64 {
        self.0 =
            self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        (self.0 >> 11) as f64 / (1_u64 << 53) as f64
    }

    fn happens(&mut self, probability: f64) -> bool {
        self.unit() < probability
    }

    fn between(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * self.unit()
    }

    fn pick<'a, T>(&mut self, from: &'a [T]) -> &'a T {
        &from[(self.unit() * from.len() as f64) as usize]
    }
}
