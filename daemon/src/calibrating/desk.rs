//! One calibration or levelling at a time, beside the visit: what is asked, what comes, what is shown.

use endarc_analysis::calibration::{Calibration, Face, Progress};
use endarc_analysis::levelling::TableLevel;
use endarc_protocol::sample::Sample;
use endarc_protocol::words::SensorRole;

use super::{OnTable, Sides};
use crate::live::{CalibrationState, CalibrationTask, LiveCalibration, LiveRest};
use crate::order::Refusal;

/// The desk; empty until something is begun.
#[derive(Debug, Clone, Default)]
pub struct Desk {
    work: Option<Work>,
}

/// What is on the desk.
#[derive(Debug, Clone)]
struct Work {
    sensor: SensorRole,
    task: Task,
    state: CalibrationState,
    /// Why it was refused last; empty when it was not.
    reason: String,
    result: Vec<String>,
}

#[derive(Debug, Clone)]
enum Task {
    Sensor { sides: Box<Sides>, temperature_c: Option<f64> },
    Table { name: String, lying: Box<OnTable> },
}

/// What the samples of a sensor are to be when the desk is fed.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Feed {
    /// As they came: its own errors are looked for.
    Raw,
    /// Corrected by what is known of it.
    Corrected,
}

/// What was found, to be stored.
#[derive(Debug, Clone, PartialEq)]
pub enum Found {
    /// A sensor's own errors.
    Calibration {
        /// Where it is worn.
        sensor: SensorRole,
        /// How warm it was, °C, if told.
        temperature_c: Option<f64>,
        /// What was found.
        calibration: Box<Calibration>,
    },
    /// A table's tilt.
    Level {
        /// The table's name.
        table: String,
        /// What was found.
        level: TableLevel,
    },
}

impl Desk {
    /// Begins to look for a sensor's own errors; what was on the desk is put away.
    pub fn calibrate(&mut self, sensor: SensorRole, temperature_c: Option<f64>) {
        self.begin(sensor, Task::Sensor { sides: Box::default(), temperature_c });
    }

    /// Begins to look for a table's tilt with a sensor whose tilt reading has the standard
    /// uncertainty `own_sd_rad` (rad), if it is calibrated.
    pub fn level(&mut self, sensor: SensorRole, table: String, own_sd_rad: Option<f64>) {
        let lying = Box::new(OnTable::new(own_sd_rad));
        self.begin(sensor, Task::Table { name: table, lying });
    }

    fn begin(&mut self, sensor: SensorRole, task: Task) {
        let (state, reason, result) = (CalibrationState::Resting, String::new(), Vec::new());
        self.work = Some(Work { sensor, task, state, reason, result });
    }

    /// Whether rests are being gathered or stored.
    #[must_use]
    pub fn is_busy(&self) -> bool {
        self.work.as_ref().is_some_and(|work| work.state != CalibrationState::Kept)
    }

    /// What the desk wants of this sensor's samples; `None` when nothing.
    #[must_use]
    pub fn wants(&self, sensor: SensorRole) -> Option<Feed> {
        let work = self.work.as_ref()?;
        if work.sensor != sensor || work.state != CalibrationState::Resting {
            return None;
        }
        Some(match work.task {
            Task::Sensor { .. } => Feed::Raw,
            Task::Table { .. } => Feed::Corrected,
        })
    }

    /// Takes the next sample that it wants; a tilt is found by itself.
    pub fn push(&mut self, sample: &Sample) -> Option<Found> {
        let work = self.work.as_mut()?;
        match &mut work.task {
            Task::Sensor { sides, .. } => {
                sides.push(sample);
                None
            }
            Task::Table { name, lying } => {
                let level = lying.push(sample)?;
                work.state = CalibrationState::Saving;
                Some(Found::Level { table: name.clone(), level })
            }
        }
    }

    /// Nothing more is to come: what was found.
    ///
    /// # Errors
    /// [`Refusal`] of a set that is incomplete or bad; the desk goes on gathering.
    pub fn finish(&mut self) -> Result<Found, Refusal> {
        let nothing = || Refusal("nothing is being calibrated or levelled".to_owned());
        let resting = |work: &&mut Work| work.state == CalibrationState::Resting;
        let work = self.work.as_mut().filter(resting).ok_or_else(nothing)?;
        match work.found() {
            Ok(found) => {
                work.state = CalibrationState::Saving;
                work.reason.clear();
                Ok(found)
            }
            Err(reason) => {
                work.reason.clone_from(&reason);
                Err(Refusal(reason))
            }
        }
    }

    /// Puts everything away.
    pub fn stop(&mut self) {
        self.work = None;
    }

    /// What was found is on disk; the lines say what it is.
    pub fn kept(&mut self, lines: Vec<String>) {
        if let Some(work) = &mut self.work {
            (work.state, work.result) = (CalibrationState::Kept, lines);
        }
    }

    /// What was found could not be stored.
    pub fn not_kept(&mut self, reason: &str) {
        if let Some(work) = &mut self.work {
            work.state = CalibrationState::Resting;
            work.reason = format!("it could not be stored: {reason}");
        }
    }

    /// As a viewer is shown it; `None` when there is nothing on the desk.
    #[must_use]
    pub fn live(&self) -> Option<LiveCalibration> {
        self.work.as_ref().map(Work::live)
    }
}

impl Work {
    fn found(&self) -> Result<Found, String> {
        match &self.task {
            Task::Sensor { sides, temperature_c } => {
                let calibration = sides.finish().map_err(|error| error.to_string())?;
                Ok(Found::Calibration {
                    sensor: self.sensor,
                    temperature_c: *temperature_c,
                    calibration: Box::new(calibration),
                })
            }
            Task::Table { name, lying } => {
                let level = lying.finish().map_err(|error| error.to_string())?;
                Ok(Found::Level { table: name.clone(), level })
            }
        }
    }

    fn live(&self) -> LiveCalibration {
        let resting = self.state == CalibrationState::Resting;
        let (task, table, prompt, rests, complete, wrong) = match &self.task {
            Task::Sensor { sides, .. } => {
                let progress = sides.progress();
                let (prompt, rests) = (Sides::prompt(&progress), sides_rests(&progress));
                (CalibrationTask::Sensor, None, prompt, rests, progress.is_complete(), None)
            }
            Task::Table { name, lying } => {
                let complete = lying.has_first() && lying.is_calibrated();
                let wrong = lying.refused().map(ToString::to_string);
                let (prompt, rests) = (table_prompt(lying).to_owned(), table_rests(lying));
                (CalibrationTask::Table, Some(name.clone()), prompt, rests, complete, wrong)
            }
        };
        let prompt = match self.state {
            CalibrationState::Resting => prompt,
            CalibrationState::Saving => "Found; being stored".to_owned(),
            CalibrationState::Kept => "Kept; it counts from now on".to_owned(),
        };
        let reason = wrong.filter(|_| resting).unwrap_or_else(|| self.reason.clone());
        LiveCalibration {
            task,
            sensor: self.sensor,
            table,
            state: self.state,
            prompt,
            rests,
            complete: complete && resting,
            reason,
            result: self.result.clone(),
        }
    }
}

fn sides_rests(progress: &Progress) -> Vec<LiveRest> {
    let rest = |(face, &rested_s): (Face, &f64)| {
        let now = progress.on_top == Some(face);
        LiveRest {
            name: face.to_string(),
            rested_s,
            wanted_s: Progress::wanted_s(),
            done: progress.has(face),
            now,
            still: now && progress.still,
        }
    };
    Face::ALL.into_iter().zip(&progress.rest_s).map(rest).collect()
}

const fn table_prompt(lying: &OnTable) -> &'static str {
    match (lying.has_first(), lying.is_calibrated()) {
        (false, _) => "Lay it flat on the middle of the table, x to the head end, and let go",
        (true, false) => "Turn it by half a turn on the same place, and let go",
        (true, true) => "Turn it by half a turn on the same place, or finish, less certain",
    }
}

fn table_rests(lying: &OnTable) -> Vec<LiveRest> {
    let rest = |name: &str, now: bool, done: bool| LiveRest {
        name: name.to_owned(),
        rested_s: match (now, done) {
            (true, _) => lying.rested_s(),
            (false, true) => OnTable::WANTED_S,
            (false, false) => 0.0,
        },
        wanted_s: OnTable::WANTED_S,
        done,
        now,
        still: now && lying.is_still(),
    };
    let turned = lying.is_turned();
    vec![
        rest("x to the head end", !turned, lying.has_first()),
        rest("turned by half a turn", turned, false),
    ]
}
