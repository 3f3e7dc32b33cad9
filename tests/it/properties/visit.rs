//! Visits of one leg, drawn at random.

use endarc_analysis::calibration::OffsetPriors;
use endarc_analysis::recording::{LegResult, Recording, RecordingError, analyse, analyse_live};
use endarc_protocol::events_csv::Event;
use endarc_protocol::sample::Sample;
use endarc_protocol::words::{SensorRole, Side, TestKind};
use endarc_simulator::{Scenario, Session};
use proptest::prelude::*;

/// What a visit is drawn from.
#[derive(Debug, Clone, Copy)]
pub(super) struct Draw {
    pub(super) seed: u64,
    pub(super) side: Side,
    pub(super) pelvis: bool,
    pub(super) styles: &'static str,
    pub(super) knee_deg: f64,
    /// Whether sensors and hands err: noise, offsets, tremor, lost samples.
    pub(super) noisy: bool,
}

/// One leg's recording.
#[derive(Debug, Clone)]
pub(super) struct Visit {
    pub(super) shank: Vec<Sample>,
    pub(super) pelvis: Vec<Sample>,
    pub(super) events: Vec<Event>,
    pub(super) side: Side,
}

/// Any visit, with errors or without.
pub(super) fn draws(noisy: bool) -> impl Strategy<Value = Draw> {
    let styles = prop::sample::select(&[
        r#""held", "touch""#,
        r#""held", "deeper""#,
        r#""slow", "contract""#,
    ]);
    let side = prop::sample::select(&[Side::Left, Side::Right]);
    (0..10_000_u64, side, any::<bool>(), styles, 80.0..100.0).prop_map(
        move |(seed, side, pelvis, styles, knee_deg)| Draw {
            seed,
            side,
            pelvis,
            styles,
            knee_deg,
            noisy,
        },
    )
}

impl Draw {
    /// The recording.
    pub(super) fn visit(&self) -> Visit {
        let session = Session::new(&Scenario::parse("drawn", &self.scenario()).unwrap());
        Visit {
            shank: session.samples(SensorRole::shank(self.side)).collect(),
            pelvis: session.samples(SensorRole::Pelvis).collect(),
            events: session.events().to_vec(),
            side: self.side,
        }
    }

    fn scenario(&self) -> String {
        let Self { seed, side, styles, knee_deg, .. } = self;
        let errors = if self.noisy {
            ""
        } else {
            "accel_offset_mg = 0\ngyro_offset_deg_s = 0\naccel_noise_ug_per_sqrt_hz = 0\n\
             gyro_noise_deg_s_per_sqrt_hz = 0\naccel_scale_error_percent = 0\n\
             gyro_scale_error_percent = 0\n"
        };
        let pelvis = format!("[[sensors]]\nrole = \"pelvis\"\n{errors}");
        let pelvis = if self.pelvis { pelvis.as_str() } else { "" };
        let (tremor, loss) = if self.noisy { (0.25, 0.01) } else { (0.0, 0.0) };
        format!(
            "seed = {seed}\nrate_hz = 100\n\
             [[sensors]]\nrole = \"{side}-shank\"\n{errors}{pelvis}\
             [link]\nloss = {loss}\n\
             [body]\ntremor_deg = {tremor}\nknee_flexion_deg = {knee_deg}\n\
             pelvis_roll_per_deg = {roll}\n\
             [[script]]\nalign-knee = {{ times = 2 }}\n\
             [[script]]\nneutral = {{}}\n\
             [[script]]\nbaseline = {{ repetitions = 2, styles = [{styles}] }}\n\
             [[script]]\nrest = {{ duration_s = 3 }}\n\
             [[script]]\nretest = {{ repetitions = 1 }}\n",
            roll = if self.pelvis { 0.1 } else { 0.0 },
        )
    }
}

impl Visit {
    /// As the analysis takes it.
    pub(super) fn recording(&self) -> Recording<'_> {
        Recording {
            shank: &self.shank,
            pelvis: (!self.pelvis.is_empty()).then_some(&self.pelvis),
            events: &self.events,
            side: self.side,
            test: TestKind::ProneHipRotation,
            levelling: None,
            offsets: OffsetPriors::default(),
            marks: &[],
        }
    }

    /// Final and live results, or why there are none.
    pub(super) fn results(&self) -> [Result<LegResult, RecordingError>; 2] {
        let recording = self.recording();
        [analyse(&recording), analyse_live(&recording)]
    }

    /// The same with every sample of all sensors, or of the shank's, put through `change`.
    pub(super) fn changed(
        &self,
        pelvis_too: bool,
        change: impl Fn([f64; 3], Kind) -> [f64; 3],
    ) -> Self {
        let one = |sample: &Sample| Sample {
            accel_m_s2: change(sample.accel_m_s2, Kind::Force),
            gyro_rad_s: change(sample.gyro_rad_s, Kind::Turning),
            ..*sample
        };
        let mut visit = self.clone();
        visit.shank = self.shank.iter().map(one).collect();
        if pelvis_too {
            visit.pelvis = self.pelvis.iter().map(one).collect();
        }
        visit
    }
}

/// What a reading is: a mirror treats the two differently.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Kind {
    /// Specific force, an arrow.
    Force,
    /// Angular rate, a turning about an arrow.
    Turning,
}
