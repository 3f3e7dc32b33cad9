//! One leg as one state machine: samples in, events out.
//!
//! Orientation → alignment → angle → repetition for one leg (and the pelvis). Whoever has samples
//! feeds them here, live or from a file, in the order of time; nobody wires the stages again.

mod event;
mod path;
mod pelvis_track;
mod preparation;
mod turning;

use std::collections::VecDeque;

use endarc_protocol::sample::Sample;
use endarc_protocol::words::{Phase, TrialType};
use nalgebra::{UnitQuaternion, Vector3};

pub use crate::leg::LimbConfig;
pub use event::{LimbAngle, LimbEvent};

use crate::follower::{Follower, Lift};
use crate::heading::Holding;
use crate::hip;
use crate::leg::{Leg, Shown};
use crate::orientation::{BiasState, LiveFilter};
use crate::repetition::detector::{Excursion, Noticed};
use crate::result::Repetition;
use crate::strap::{Lifts, Strap};
use path::Path;
use pelvis_track::PelvisTrack;
use preparation::Preparation;
use turning::Turning;

/// One leg.
#[derive(Debug)]
pub struct Limb {
    config: LimbConfig,
    filter: LiveFilter,
    path: Path,
    pelvis: Option<PelvisTrack>,
    preparation: Preparation,
    leg: Option<Leg>,
    strap: Option<Strap>,
    lifts: Lifts,
    span: Option<TrialType>,
    waiting: VecDeque<Moment>,
    turning: Turning,
    seen: VecDeque<Shown>,
    follower: Follower,
    captured: Option<Repetition>,
    refined: bool,
    count: usize,
}

/// The shank sensor at one accepted sample.
#[derive(Debug, Clone, Copy)]
struct Moment {
    time_s: f64,
    attitude: UnitQuaternion<f64>,
    inclination_sd_rad: f64,
    turned_deg: f64,
    saturated: bool,
}

impl Limb {
    /// A leg of which nothing is known yet.
    #[must_use]
    pub fn new(config: LimbConfig) -> Self {
        Self {
            config,
            filter: LiveFilter::new(),
            path: Path::default(),
            pelvis: config.pelvis.then(PelvisTrack::default),
            preparation: Preparation::default(),
            leg: None,
            strap: None,
            lifts: Lifts::default(),
            span: None,
            waiting: VecDeque::new(),
            turning: Turning::default(),
            seen: VecDeque::new(),
            follower: Follower::new(config.test),
            captured: None,
            refined: false,
            count: 0,
        }
    }

    /// What the leg is aligned by, once it is.
    #[must_use]
    pub const fn leg(&self) -> Option<&Leg> {
        self.leg.as_ref()
    }

    /// What the live filter has learnt of the shank sensor's gyroscope by now.
    #[must_use]
    pub fn shank_bias(&self) -> BiasState {
        self.filter.bias_state()
    }

    /// What the live filter has learnt of the pelvis sensor's gyroscope; `None` without one.
    #[must_use]
    pub fn pelvis_bias(&self) -> Option<BiasState> {
        self.pelvis.as_ref().map(PelvisTrack::bias)
    }

    /// Feeds a sample of the shank sensor.
    pub fn shank(&mut self, sample: &Sample, events: &mut Vec<LimbEvent>) {
        let orientation = self.filter.push(sample);
        if !orientation.accepted {
            return;
        }
        self.preparation.shank(sample);
        self.waiting.push_back(Moment {
            time_s: sample.time_s,
            attitude: orientation.attitude(),
            inclination_sd_rad: orientation.inclination_sd_rad,
            turned_deg: self.path.push(sample),
            saturated: sample.flags.accel_saturated || sample.flags.gyro_saturated,
        });
        self.follow(None, events);
    }

    /// Feeds a sample of the pelvis sensor.
    pub fn pelvis(&mut self, sample: &Sample, events: &mut Vec<LimbEvent>) {
        if let Some(pelvis) = &mut self.pelvis {
            pelvis.push(sample);
            self.follow(None, events);
        }
    }

    /// A span of the visit begins: neutral, knee bends, baseline, treatment, retest.
    pub fn begin(&mut self, span: TrialType, time_s: f64, events: &mut Vec<LimbEvent>) {
        self.end(time_s, events);
        self.span = Some(span);
        self.preparation.begin(span, time_s);
        if span == TrialType::Neutral
            && let Some(pelvis) = &mut self.pelvis
        {
            pelvis.begin_neutral();
        }
        if span.phase().is_some() && self.leg.is_none() {
            self.align(time_s, events);
        }
    }

    /// The present span ends.
    pub fn end(&mut self, time_s: f64, events: &mut Vec<LimbEvent>) {
        self.follow(Some(time_s), events);
        if let Some(excursion) = self.follower.cut() {
            self.over(&excursion, events);
        }
        self.preparation.end(time_s);
        let ended = self.span.take();
        if ended == Some(TrialType::Neutral)
            && let Some(pelvis) = &mut self.pelvis
        {
            pelvis.end_neutral(self.config.test);
        }
        let prepares = matches!(ended, Some(TrialType::Neutral | TrialType::AlignKnee));
        let complete =
            self.preparation.has(TrialType::Neutral) && self.preparation.has(TrialType::AlignKnee);
        if prepares && complete {
            self.align(time_s, events);
        }
    }

    /// The therapist marks the present position as an end range.
    pub fn mark(&mut self, time_s: f64, events: &mut Vec<LimbEvent>) {
        self.follow(Some(time_s), events);
        let noticed = self.follower.mark();
        self.noticed(noticed, events);
    }

    fn align(&mut self, time_s: f64, events: &mut Vec<LimbEvent>) {
        match self.preparation.leg(self.config) {
            Ok(leg) => {
                events.push(LimbEvent::Aligned(leg.alignment_report()));
                self.strap = Some(Strap::new(leg.alignment));
                self.leg = Some(leg);
            }
            Err(error) => {
                events.push(LimbEvent::AlignmentRefused { time_s, reason: error.to_string() });
            }
        }
    }

    /// Follows the shank as far as the pelvis is known; the pelvis is waited for no longer than
    /// [`PELVIS_PATIENCE_S`], and not at all up to `force_until_s`.
    fn follow(&mut self, force_until_s: Option<f64>, events: &mut Vec<LimbEvent>) {
        let Some(newest_s) = self.waiting.back().map(|moment| moment.time_s) else { return };
        while let Some(moment) = self.waiting.front().copied() {
            let known = self.pelvis.as_ref().is_none_or(|p| p.reaches(moment.time_s));
            let forced = force_until_s.is_some_and(|until_s| moment.time_s < until_s);
            if !known && !forced && newest_s - moment.time_s < PELVIS_PATIENCE_S {
                return;
            }
            self.waiting.pop_front();
            self.moment(&moment, events);
        }
    }

    fn moment(&mut self, moment: &Moment, events: &mut Vec<LimbEvent>) {
        let holding = match self.span {
            Some(TrialType::Neutral) => Holding::Neutral,
            _ => Holding::seen(self.follower.still()),
        };
        let up = moment.attitude.inverse_transform_vector(&Vector3::z());
        let Some(leg) = &self.leg else {
            self.turning.wait(moment.time_s, moment.attitude, holding);
            let angle = LimbAngle::unknown(moment.time_s, moment.turned_deg, up.into());
            events.push(LimbEvent::Angle(angle));
            return;
        };
        let time_s = moment.time_s;
        let shown = Shown {
            time_s,
            up: leg.offset.correct_up(&up),
            momentary_sd_rad: moment.inclination_sd_rad,
            turned: self.turning.turned(leg, time_s, &moment.attitude, holding),
            saturated: moment.saturated,
        };
        let roll = self.pelvis.as_ref().and_then(|p| p.roll(time_s, leg.side, leg.test));
        let point = leg.point(&shown, roll);
        let sd_deg = leg.systematic_sd_deg(&shown).hypot(moment.inclination_sd_rad.to_degrees());
        self.seen.push_back(shown);
        if self.seen.len() > LONGEST_MEMORY {
            self.seen.pop_front();
        }
        self.strap(moment, &shown.up, events);
        let followed = self.follower.push(point);
        if followed.lift == Some(Lift::Raised) {
            events.push(LimbEvent::Raised { time_s });
        }
        let angle = LimbEvent::Angle(LimbAngle {
            time_s,
            angle_deg: Some(point.angle_deg),
            uncertainty_deg: Some(sd_deg),
            knee_flexion_deg: Some(point.knee_deg),
            pelvis_roll_deg: point.roll_deg,
            turned_deg: moment.turned_deg,
            up: up.into(),
            raised: self.follower.raised(),
            still: self.follower.still(),
        });
        events.push(angle);
        self.noticed(followed.noticed, events);
        if followed.lift == Some(Lift::LaidDown) {
            events.push(LimbEvent::LaidDown { time_s });
        }
    }

    fn noticed(&mut self, noticed: Option<Noticed>, events: &mut Vec<LimbEvent>) {
        match noticed {
            Some(Noticed::Captured) => self.capture(events),
            Some(Noticed::Left) => self.left(events),
            Some(Noticed::Over(excursion)) => self.over(&excursion, events),
            Some(Noticed::RestMoved(moved)) => events.push(LimbEvent::RestMoved(moved)),
            None => {}
        }
    }

    fn capture(&mut self, events: &mut Vec<LimbEvent>) {
        let repetition = self.follower.open().and_then(|open| self.measure(open));
        if let Some(repetition) = repetition {
            events.push(LimbEvent::Captured { number: self.count, repetition: repetition.clone() });
            self.captured = Some(repetition);
        }
    }

    /// The limb has left its end: the whole hold is known, and the live value is put right.
    fn left(&mut self, events: &mut Vec<LimbEvent>) {
        let measured = self.follower.open().and_then(|open| self.measure(open));
        if let (Some(captured), Some(repetition)) = (&self.captured, measured)
            && *captured != repetition
        {
            events.push(LimbEvent::Refined { number: self.count, repetition });
            self.refined = true;
        }
    }

    /// The excursion is over: its live value is put right if it was not yet, or given now if it never
    /// was.
    fn over(&mut self, excursion: &Excursion, events: &mut Vec<LimbEvent>) {
        let measured = self.measure(excursion);
        let learns = measured.is_some();
        match (self.captured.take(), measured) {
            (None, Some(repetition)) => {
                events.push(LimbEvent::Captured { number: self.count, repetition });
                self.count += 1;
            }
            (Some(captured), measured) => {
                let better = measured.filter(|one| !self.refined && *one != captured);
                if let Some(repetition) = better {
                    events.push(LimbEvent::Refined { number: self.count, repetition });
                }
                self.count += 1;
            }
            (None, None) => {}
        }
        self.refined = false;
        if learns {
            self.learn_offset();
        }
    }

    /// Each hold shows gravity from another side: what is known of the accelerometer, and with it the
    /// alignment, gets better as the visit goes on.
    fn learn_offset(&mut self) {
        if let (Some(leg), Some(strap)) = (&mut self.leg, &mut self.strap)
            && let Ok(better) = self.preparation.leg(self.config)
        {
            strap.rebase(better.alignment);
            leg.alignment = strap.alignment();
            leg.offset = better.offset;
        }
    }

    /// A lift of the foot, or laying it down, shows the knee's axis again.
    fn strap(&mut self, moment: &Moment, up: &Vector3<f64>, events: &mut Vec<LimbEvent>) {
        let (Some(leg), Some(strap)) = (&mut self.leg, &mut self.strap) else { return };
        let posture = hip::posture(self.config.test);
        let axes = leg.alignment.axes;
        let Some(look) = self.lifts.push(moment.time_s, moment.attitude, *up, &axes, posture)
        else {
            return;
        };
        let moved = strap.look(look);
        leg.alignment = strap.alignment();
        if let Some(moved) = moved {
            leg.strap_moved_since_s.get_or_insert(moved.since_s);
            events.push(LimbEvent::StrapMoved(moved));
            events.push(LimbEvent::Aligned(leg.alignment_report()));
        }
    }

    /// The repetition that an excursion is; `None` outside baseline and retest.
    fn measure(&self, excursion: &Excursion) -> Option<Repetition> {
        let phase = self.span.and_then(TrialType::phase)?;
        if phase == Phase::Treatment {
            return None;
        }
        let nearest = |time_s: f64| {
            let at = self.seen.partition_point(|shown| shown.time_s < time_s);
            self.seen.get(at).or_else(|| self.seen.back()).copied()
        };
        let last = self.seen.back().copied()?;
        let shown_at = |time_s: f64| nearest(time_s).unwrap_or(last);
        let mut repetition = self.leg.as_ref()?.repetition(excursion, phase, shown_at)?;
        // The live filter is still looking for the vertical when the value is taken.
        let momentary = shown_at(repetition.end_range_at_s).momentary_sd_rad.to_degrees();
        repetition.uncertainty_deg = repetition.uncertainty_deg.hypot(momentary);
        Some(repetition)
    }
}

// So long a pelvis sensor that falls silent holds the angle up, s.
const PELVIS_PATIENCE_S: f64 = 0.3;
// Two minutes at 200 Hz: no hold is longer.
const LONGEST_MEMORY: usize = 24_000;
