//! One visit over a virtual peripheral: two processes beside the test, and what comes of it.

use std::ffi::OsStr;
use std::fs;
use std::path::{Path, PathBuf};

use endarc_tests::database::Gap;
use endarc_tests::peripheral::Peripheral;
use endarc_tests::{Daemon, Ended, Process, Scratch, database};
use serde_json::Value;

/// One leg, two repetitions each way, the pelvis beside it and a sensor on the other leg that only
/// lies there. Both shank sensors have the same name. In visit time the shank moves from 21.0 to 26, 28.5
/// to 33, 34.8 to 40 and 42.3 to 48 s; the visit ends at 56 s.
const SCENARIO: &str = r#"
seed = 41
person = "P-902"

[[sensors]]
role = "left-shank"
name = "IMU"
clock_ppm = 18
clock_offset_s = 42.5

[[sensors]]
role = "right-shank"
name = "IMU"
clock_ppm = -31

[[sensors]]
role = "pelvis"

[body]
pelvis_roll_per_deg = 0.1

[[script]]
neutral = { side = "left" }

[[script]]
align-knee = { side = "left", times = 3 }

[[script]]
baseline = { side = "left", repetitions = 2 }
"#;

/// Where the scenario's sensors are worn, and their addresses.
pub(super) const SENSORS: [(&str, &str); 3] = [
    ("left-shank", "02:00:00:00:00:01"),
    ("right-shank", "02:00:00:00:00:02"),
    ("pelvis", "02:00:00:00:00:03"),
];

/// How long a visit may take to begin, s; on a busy machine with many beside it.
const BEGIN_S: u64 = 120;

/// What all visits share: the scenario, and a data folder in which its sensors are assigned.
#[derive(Debug)]
pub(super) struct Common {
    scratch: Scratch,
    scenario: PathBuf,
}

/// How a visit differs from the undisturbed one.
#[derive(Debug, Clone, Copy, Default)]
pub(super) struct Disturbance {
    /// What it is called.
    pub(super) name: &'static str,
    /// The faults, as `endarc peripheral` reads them.
    pub(super) faults: &'static str,
    /// More options of the peripheral.
    pub(super) options: &'static [&'static str],
    /// Once this is in the live state …
    pub(super) once: Option<fn(&Value) -> bool>,
    /// … this is done.
    pub(super) then: &'static str,
}

/// What came of a visit.
#[derive(Debug)]
pub(super) struct Outcome {
    scratch: Scratch,
    /// The state at its end.
    pub(super) state: Value,
    /// How the program ended, and what it said.
    pub(super) ended: Ended,
    /// The gaps that are stored.
    pub(super) gaps: Vec<Gap>,
}

impl Common {
    /// Assigns the sensors as a person does, over a peripheral of their own.
    pub(super) fn new() -> Self {
        let scratch = Scratch::new();
        let scenario = scratch.file("visit.toml", SCENARIO);
        let common = Self { scratch, scenario };
        let peripheral = Peripheral::start(&common.scenario, &[] as &[&str]);
        for (role, address) in SENSORS {
            assign(&peripheral, &common.assigned(), address, role);
        }
        common
    }

    fn assigned(&self) -> PathBuf {
        self.scratch.at("assigned")
    }

    /// A new data folder in which the sensors are assigned.
    fn data(&self, scratch: &Scratch) -> PathBuf {
        let data = scratch.at("data");
        fs::create_dir(&data).unwrap();
        let name = database::file(Path::new("")).into_os_string();
        fs::copy(self.assigned().join(&name), data.join(&name)).unwrap();
        data
    }

    /// The same visit without Bluetooth, on the virtual clock.
    pub(super) fn simulated(&self) -> Scratch {
        let scratch = Scratch::new();
        let source = format!("sim:{}", self.scenario.display());
        let daemon = Daemon::start(&scratch.at("data"), &source, &["--fast"]);
        daemon.live().first(|state| state["ended"] == true);
        daemon.stop().done();
        scratch
    }

    /// The visit over Bluetooth, to its end.
    pub(super) fn record(&self, disturbance: &Disturbance) -> Outcome {
        let scratch = Scratch::new();
        let data = self.data(&scratch);
        let faults = scratch.file("faults", disturbance.faults);
        let mut options = vec![OsStr::new("--faults"), faults.as_os_str()];
        options.extend(disturbance.options.iter().map(OsStr::new));
        let mut peripheral = Peripheral::start(&self.scenario, &options);
        let mut daemon = run(&peripheral, &data, &self.scenario);
        let mut live = daemon.live();
        if let Some(once) = disturbance.once {
            live.first(once);
            peripheral.obey(disturbance.then);
        }
        daemon.process.tell(&peripheral.begins(BEGIN_S));
        let state = live.first(|state| state["ended"] == true);
        let ended = daemon.stop();
        let gaps = database::gaps(&data);
        Outcome { scratch, state, ended, gaps }
    }
}

/// `endarc run` with the assigned sensors and a scenario's marks.
pub(super) fn run(peripheral: &Peripheral, data: &Path, scenario: &Path) -> Daemon {
    let mut command = peripheral.endarc(&["run", "--listen", "127.0.0.1:0"].map(OsStr::new));
    command.arg("--marks").arg(scenario).arg("--data-dir").arg(data);
    command.env("ENDARC_LOG", "info");
    Daemon::of(Process::start_listening(command))
}

/// Says where a sensor is worn; nobody is there to move it.
pub(super) fn assign(peripheral: &Peripheral, data: &Path, address: &str, role: &str) {
    let mut command = peripheral.endarc(&["sensors", "assign"].map(OsStr::new));
    command.args([address, role, "--unconfirmed", "--data-dir"]).arg(data);
    Process::start(command).end().done();
}

impl Outcome {
    /// The data folder.
    pub(super) fn data(&self) -> PathBuf {
        self.scratch.at("data")
    }

    /// One of a sensor's counters.
    pub(super) fn count(&self, role: &str, counter: &str) -> u64 {
        let sensors = self.state["sensors"].as_array().expect("a list of sensors");
        let own = sensors.iter().find(|one| one["role"] == role).expect("the sensor is shown");
        own[counter].as_u64().unwrap_or_else(|| panic!("{role} has no {counter}: {own}"))
    }

    /// The gaps of one sensor.
    pub(super) fn gaps_of<'a>(&'a self, role: &'a str) -> impl Iterator<Item = &'a Gap> {
        self.gaps.iter().filter(move |gap| gap.role == role)
    }
}
