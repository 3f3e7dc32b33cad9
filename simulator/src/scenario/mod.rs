//! What is to be simulated, as text.

mod body;
mod bounds;
mod error;
mod fit;
mod script;
mod sensor;
#[cfg(test)]
mod tests;

use endarc_protocol::words::{SensorRole, Side, TestKind};
use serde::Deserialize;
use toml::Spanned;

use bounds::{printable, within};
use error::Source;

pub(crate) use body::Body;
pub use error::ScenarioError;
pub use script::Style;
pub(crate) use script::{
    AlignKnee, Begins, FootDown, Measure, Neutral, Order, Rest, Step, StrapSlip, Treatment,
};
pub(crate) use sensor::{Link, ProfileName, SensorSpec};

/// A person, the sensors on them, and what is done: everything a [`Session`](crate::Session) is
/// made from. Reading one checks it; there is no other way to get one.
#[derive(Debug, Clone, PartialEq)]
pub struct Scenario {
    pub(crate) seed: u64,
    pub(crate) person: String,
    pub(crate) test: TestKind,
    pub(crate) rate_hz: f64,
    pub(crate) exchanged: bool,
    pub(crate) sensors: Vec<SensorSpec>,
    pub(crate) link: Link,
    pub(crate) body: Body,
    pub(crate) script: Vec<Step>,
}

/// The file as it stands, before anything is checked across keys.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct File {
    #[serde(default = "first_seed")]
    seed: u64,
    #[serde(default = "invented_person", deserialize_with = "printable")]
    person: String,
    #[serde(default = "prone_hip_rotation")]
    test: TestKind,
    #[serde(default = "usual_rate", deserialize_with = "within::<20, 1000, _>")]
    rate_hz: f64,
    #[serde(default)]
    exchanged: bool,
    sensors: Vec<Spanned<SensorSpec>>,
    #[serde(default)]
    link: Link,
    #[serde(default)]
    body: Body,
    script: Vec<Spanned<Step>>,
}

const fn first_seed() -> u64 {
    1
}

fn invented_person() -> String {
    "P-001".to_owned()
}

const fn prone_hip_rotation() -> TestKind {
    TestKind::ProneHipRotation
}

const fn usual_rate() -> f64 {
    100.0
}

impl Scenario {
    /// Reads a scenario. The name is only for the error.
    ///
    /// # Errors
    /// [`ScenarioError`] for text that is not TOML, an unknown key, a value out of range, two
    /// sensors in one place, a step on a leg without a sensor, or one that the test does not do.
    pub fn parse(file_name: &str, text: &str) -> Result<Self, ScenarioError> {
        let source = Source { file: file_name, text };
        let mut file: File = toml::from_str(text).map_err(|error| source.toml_error(&error))?;
        fit::settle(&mut file);
        check_sensors(&source, &file.sensors)?;
        check_script(&source, &file)?;
        fit::check(&source, &file)?;
        Ok(Self {
            seed: file.seed,
            person: file.person,
            test: file.test,
            rate_hz: file.rate_hz,
            exchanged: file.exchanged,
            sensors: file.sensors.into_iter().map(Spanned::into_inner).collect(),
            link: file.link,
            body: file.body,
            script: file.script.into_iter().map(Spanned::into_inner).collect(),
        })
    }

    /// The text of the invented clinic visit that ships with the project.
    pub const CLINIC: &str = include_str!("../../scenarios/clinic.toml");

    /// An invented clinic visit: both legs before and after the treatment of one, with a sensor on
    /// each shank and one on the pelvis.
    #[must_use]
    #[expect(clippy::expect_used, reason = "a test parses the shipped text")]
    pub fn clinic() -> Self {
        Self::parse("clinic.toml", Self::CLINIC).expect("the shipped scenario is one")
    }

    /// The same scenario with another seed: another day of the same person.
    #[must_use]
    pub const fn with_seed(mut self, seed: u64) -> Self {
        self.seed = seed;
        self
    }

    /// The seed that every draw comes from.
    #[must_use]
    pub const fn seed(&self) -> u64 {
        self.seed
    }

    /// The invented person's code.
    #[must_use]
    pub fn person(&self) -> &str {
        &self.person
    }

    /// The test that is done.
    #[must_use]
    pub const fn test(&self) -> TestKind {
        self.test
    }

    /// Samples per second of every sensor, by its own clock.
    #[must_use]
    pub const fn rate_hz(&self) -> f64 {
        self.rate_hz
    }

    /// The legs that wear a shank sensor, left first.
    pub(crate) fn legs(&self) -> Vec<Side> {
        let worn = |side: &Side| {
            let role = SensorRole::shank(*side);
            self.sensors.iter().any(|sensor| sensor.role == role)
        };
        Side::ALL.iter().copied().filter(worn).collect()
    }
}

fn check_sensors(
    source: &Source<'_>,
    sensors: &[Spanned<SensorSpec>],
) -> Result<(), ScenarioError> {
    for (place, sensor) in sensors.iter().enumerate() {
        let role = sensor.as_ref().role;
        if sensors.iter().take(place).any(|other| other.as_ref().role == role) {
            let problem = format!("there are two sensors with the role '{role}': remove one");
            return Err(source.error(sensor.span(), "sensors", problem));
        }
        if matches!(role, SensorRole::LeftThigh | SensorRole::RightThigh) {
            let problem = format!("the simulated body has no sensor for the role '{role}'");
            return Err(source.error(sensor.span(), "sensors", problem));
        }
    }
    if sensors.iter().all(|sensor| sensor.as_ref().role.side().is_none()) {
        let problem =
            "no sensor is worn on a shank: add one with role = \"left-shank\" or \"right-shank\"";
        let at = sensors.first().map_or(0..0, Spanned::span);
        return Err(source.error(at, "sensors", problem.to_owned()));
    }
    Ok(())
}

fn check_script(source: &Source<'_>, file: &File) -> Result<(), ScenarioError> {
    if file.script.is_empty() {
        let problem = "the script is empty: add a step such as { baseline = {} }".to_owned();
        return Err(source.error(0..0, "script", problem));
    }
    for spanned in &file.script {
        let step = spanned.as_ref();
        let refuse = |problem: String| Err(source.error(spanned.span(), step.name(), problem));
        if let Some(side) = step.side() {
            let role = SensorRole::shank(side);
            if file.sensors.iter().all(|sensor| sensor.as_ref().role != role) {
                return refuse(format!(
                    "no sensor is worn on the {side} shank: add one with role = \"{role}\", or \
                     leave the side out"
                ));
            }
        }
        if let Step::Treatment(treatment) = step
            && treatment.cycles == 0
            && treatment.oscillate_s <= 0.0
        {
            return refuse("nothing is done: set cycles or oscillate_s".to_owned());
        }
        if let Step::Baseline(measure) | Step::Retest(measure) = step
            && measure.styles.contains(&Style::Through)
            && (measure.order != Order::Alternating || measure.directions.len() < 2)
        {
            return refuse(
                "style \"through\" goes on to the other end: set order = \"alternating\" and name \
                 both directions"
                    .to_owned(),
            );
        }
    }
    Ok(())
}
