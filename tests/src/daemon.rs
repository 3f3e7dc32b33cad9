//! `endarc run`, started for a test and killed with it.

use std::ffi::OsStr;
use std::path::Path;

use serde_json::Value;

use crate::http::{self, Answer, Live};
use crate::process::{Ended, Process, endarc};
use crate::wait::Deadline;

/// How long a daemon may take until its page is there, s.
const START_S: u64 = 60;

/// A daemon whose page is there.
#[derive(Debug)]
pub struct Daemon {
    /// The running program.
    pub process: Process,
    /// Its page, e.g. `http://127.0.0.1:40123/`, as it says on stderr.
    pub page: String,
}

impl Daemon {
    /// Records from a source into a data folder, on a port of the system's choice.
    ///
    /// # Panics
    /// When it does not start.
    #[must_use]
    pub fn start(data: &Path, source: &str, options: &[&str]) -> Self {
        let mut command = endarc(["run", "--listen", "127.0.0.1:0", "--source", source]);
        command.arg("--data-dir").arg(data).args(options);
        Self::of(Process::start(command))
    }

    /// The daemon of a process that serves a page.
    ///
    /// # Panics
    /// When it does not say where.
    #[must_use]
    pub fn of(mut process: Process) -> Self {
        let line = process.line_with("page: http://", Deadline::after_s(START_S));
        let page = line.trim_start_matches("page: ").to_owned();
        Self { process, page }
    }

    /// The address of a path such as `/api/state`.
    #[must_use]
    pub fn address(&self, path: &str) -> String {
        format!("{}{path}", self.page.trim_end_matches('/'))
    }

    /// Asks for a path.
    #[must_use]
    pub fn get(&self, path: &str) -> Answer {
        http::get(&self.address(path))
    }

    /// Sends JSON to a path, as the page does.
    #[must_use]
    pub fn post(&self, path: &str, body: &Value) -> Answer {
        http::post(&self.address(path), body)
    }

    /// Listens to the live stream.
    #[must_use]
    pub fn live(&self) -> Live {
        Live::listen(&self.address("/api/live"))
    }

    /// Asks it to stop and waits until it has.
    #[must_use]
    pub fn stop(self) -> Ended {
        self.process.terminate();
        self.process.end()
    }
}

/// What `endarc visits --json` lists of a data folder.
///
/// # Panics
/// When it cannot.
#[must_use]
pub fn visits(data: &Path) -> Vec<Value> {
    let arguments: [&OsStr; 4] =
        ["visits".as_ref(), "--json".as_ref(), "--data-dir".as_ref(), data.as_os_str()];
    let list = crate::process::run(arguments).done().json();
    list.as_array().expect("a list").clone()
}

/// How many repetitions a state shows as kept.
///
/// # Panics
/// When it is not a state.
#[must_use]
pub fn kept(state: &Value) -> usize {
    state["repetitions"].as_array().expect("a list of repetitions").len()
}
