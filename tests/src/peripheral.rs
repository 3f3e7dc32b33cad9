//! `endarc peripheral`, started for a test and ended with it: simulated sensors on a Bluetooth
//! service of their own.

use std::collections::BTreeMap;
use std::ffi::OsStr;
use std::io::{BufRead, BufReader, Write};
use std::path::Path;
use std::process::{Child, ChildStdin, Command, Stdio};
use std::sync::mpsc::{Receiver, sync_channel};
use std::thread;

use crate::process::endarc;
use crate::reference::skip;
use crate::wait::Deadline;

/// How long it may take to be there, and to answer, s.
const START_S: u64 = 60;

/// A virtual peripheral.
#[derive(Debug)]
pub struct Peripheral {
    child: Child,
    stdin: ChildStdin,
    lines: Receiver<String>,
    /// Lines that nobody has waited for yet.
    heard: Vec<String>,
    /// The bus's address.
    bus: String,
}

/// Whether a peripheral can be had; where not, the test is skipped.
///
/// # Panics
/// Under `ENDARC_STRICT=1`, where it cannot be had.
#[must_use]
pub fn is_possible() -> bool {
    let there = Command::new("dbus-daemon")
        .arg("--version")
        .stdin(Stdio::null())
        .stdout(Stdio::null())
        .stderr(Stdio::null())
        .status()
        .is_ok_and(|status| status.success());
    if !there {
        skip("dbus-daemon is not installed: install the package `dbus-daemon`");
    }
    there
}

impl Peripheral {
    /// Puts a scenario's sensors on a bus of their own.
    ///
    /// # Panics
    /// When it does not start.
    #[must_use]
    pub fn start(scenario: &Path, options: &[impl AsRef<OsStr>]) -> Self {
        let mut command = endarc([OsStr::new("peripheral"), scenario.as_os_str()]);
        command.args(options).stdin(Stdio::piped()).stdout(Stdio::piped());
        let mut child = command.spawn().expect("the program starts");
        let stdin = child.stdin.take().expect("stdin is piped");
        let out = child.stdout.take().expect("stdout is piped");
        let (to_lines, lines) = sync_channel(256);
        thread::spawn(move || {
            for line in BufReader::new(out).lines().map_while(Result::ok) {
                if to_lines.send(line).is_err() {
                    return;
                }
            }
        });
        let mut peripheral = Self { child, stdin, lines, heard: Vec::new(), bus: String::new() };
        peripheral.bus = peripheral.line(|line| line.starts_with("unix:"), START_S);
        peripheral
    }

    /// The program with these arguments, for which this is the system's Bluetooth.
    #[must_use]
    pub fn endarc(&self, arguments: &[&OsStr]) -> Command {
        let mut command = endarc(arguments);
        command.env("DBUS_SYSTEM_BUS_ADDRESS", &self.bus);
        command
    }

    /// Waits until every worn sensor streams; gives the line that says when the visit begins.
    ///
    /// # Panics
    /// When it does not come.
    pub fn begins(&mut self, within_s: u64) -> String {
        self.line(|line| line.starts_with("begun "), within_s)
    }

    /// Lets something go wrong, or puts it right, now.
    ///
    /// # Panics
    /// When it is refused.
    pub fn obey(&mut self, fault: &str) {
        self.say(fault);
        let answer = self.line(|line| line == "done" || line.starts_with("refused"), START_S);
        assert_eq!(answer, "done", "{fault}");
    }

    /// Notifications that went out from each sensor so far.
    ///
    /// # Panics
    /// When it does not answer.
    pub fn sent(&mut self, sensors: usize) -> BTreeMap<String, u64> {
        self.say("sent");
        let sent = |line: String| {
            let words: Vec<&str> = line.split(' ').collect();
            (words[1].to_owned(), words[2].parse().expect("a number of notifications"))
        };
        (0..sensors).map(|_| sent(self.line(|line| line.starts_with("sent "), START_S))).collect()
    }

    /// The process's id.
    #[must_use]
    pub fn id(&self) -> u32 {
        self.child.id()
    }

    fn say(&mut self, line: &str) {
        writeln!(self.stdin, "{line}").expect("the peripheral listens");
    }

    /// Waits for a line; those before it are kept for whoever waits for them.
    fn line(&mut self, wanted: impl Fn(&str) -> bool, within_s: u64) -> String {
        if let Some(place) = self.heard.iter().position(|line| wanted(line)) {
            return self.heard.remove(place);
        }
        let by = Deadline::after_s(within_s);
        loop {
            let line = self.lines.recv_timeout(by.left()).unwrap_or_else(|_| {
                panic!("the peripheral did not say what was waited for, but {:?}", self.heard)
            });
            if wanted(&line) {
                return line;
            }
            self.heard.push(line);
        }
    }
}

impl Drop for Peripheral {
    fn drop(&mut self) {
        // Both fail where it has ended already.
        self.child.kill().ok();
        self.child.wait().ok();
    }
}
