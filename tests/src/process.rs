//! One run of the program: what it is given, and what comes of it.

use std::ffi::OsStr;
use std::io::{BufRead, BufReader, Read, Write};
use std::process::{Child, ChildStdin, Command, ExitStatus, Stdio};
use std::sync::mpsc::{Receiver, RecvTimeoutError, sync_channel};
use std::thread;

use serde_json::Value;

use crate::binary::program;
use crate::wait::Deadline;

/// Longer than any command needs on a slow and busy machine, s.
const PATIENCE_S: u64 = 300;

/// How many lines of stderr may wait to be read; a daemon says less in a whole visit.
const LINES: usize = 100_000;

/// How a command ended and what it said.
#[derive(Debug)]
pub struct Ended {
    /// Its exit status.
    pub status: ExitStatus,
    /// All of stdout.
    pub stdout: String,
    /// All of stderr.
    pub stderr: String,
}

/// The program while it runs; killed when dropped.
#[derive(Debug)]
pub struct Process {
    child: Child,
    /// Where it listens to whoever started it.
    stdin: Option<ChildStdin>,
    stdout: Receiver<String>,
    lines: Receiver<String>,
    /// What was read of stderr so far.
    stderr: String,
}

/// The program with these arguments, away from the settings and data of whoever runs the tests.
pub fn endarc(arguments: impl IntoIterator<Item = impl AsRef<OsStr>>) -> Command {
    let mut command = Command::new(program());
    let no_home = std::env::temp_dir().join("endarc-tests-have-no-home");
    command.args(arguments).env("HOME", no_home).env_remove("ENDARC_LOG");
    for name in ["XDG_DATA_HOME", "XDG_CONFIG_HOME", "LD_LIBRARY_PATH"] {
        command.env_remove(name);
    }
    command
}

/// Runs the program to its end.
///
/// # Panics
/// When it does not end.
pub fn run(arguments: impl IntoIterator<Item = impl AsRef<OsStr>>) -> Ended {
    Process::start(endarc(arguments)).end()
}

impl Ended {
    /// The exit status as a number.
    ///
    /// # Panics
    /// When the program was ended by a signal.
    #[must_use]
    pub fn code(&self) -> i32 {
        self.status.code().unwrap_or_else(|| panic!("ended by a signal: {self:?}"))
    }

    /// This, if the program did what it was asked.
    ///
    /// # Panics
    /// When it did not; what it said is shown.
    pub fn done(self) -> Self {
        assert_eq!(self.code(), 0, "{}", self.stderr);
        self
    }

    /// What stdout holds: one JSON value, and nothing else.
    ///
    /// # Panics
    /// When it is not JSON.
    #[must_use]
    pub fn json(&self) -> Value {
        serde_json::from_str(&self.stdout)
            .unwrap_or_else(|error| panic!("stdout is not JSON ({error}): {}", self.stdout))
    }
}

impl Process {
    /// Starts a command that hears nothing on stdin.
    ///
    /// # Panics
    /// When the system does not start it.
    #[must_use]
    pub fn start(command: Command) -> Self {
        Self::start_with(command, Stdio::null())
    }

    /// Starts a command that is told something on stdin; it is open until the program is asked to
    /// stop.
    ///
    /// # Panics
    /// When the system does not start it.
    #[must_use]
    pub fn start_listening(command: Command) -> Self {
        Self::start_with(command, Stdio::piped())
    }

    /// Says a line on its stdin.
    ///
    /// # Panics
    /// When the program does not listen any more.
    pub fn tell(&mut self, line: &str) {
        let stdin = self.stdin.as_mut().expect("the program was started to listen");
        writeln!(stdin, "{line}").expect("the program listens");
    }

    /// Its process id.
    #[must_use]
    pub fn id(&self) -> u32 {
        self.child.id()
    }

    fn start_with(mut command: Command, stdin: Stdio) -> Self {
        command.stdin(stdin).stdout(Stdio::piped()).stderr(Stdio::piped());
        let mut child = command.spawn().expect("the program starts");
        let stdin = child.stdin.take();
        let mut out = child.stdout.take().expect("stdout is piped");
        let err = child.stderr.take().expect("stderr is piped");
        let (to_stdout, stdout) = sync_channel(1);
        thread::spawn(move || {
            let mut text = Vec::new();
            out.read_to_end(&mut text).ok();
            to_stdout.send(String::from_utf8_lossy(&text).into_owned()).ok();
        });
        let (to_lines, lines) = sync_channel(LINES);
        thread::spawn(move || {
            let mut err = BufReader::new(err);
            let mut line = Vec::new();
            while matches!(err.read_until(b'\n', &mut line), Ok(1..)) {
                if to_lines.send(String::from_utf8_lossy(&line).into_owned()).is_err() {
                    return;
                }
                line.clear();
            }
        });
        Self { child, stdin, stdout, lines, stderr: String::new() }
    }

    /// Waits for a line of stderr that contains `words`, and gives it.
    ///
    /// # Panics
    /// When the program ends without having said so, or says it too late.
    pub fn line_with(&mut self, words: &str, by: Deadline) -> String {
        loop {
            let line = self
                .next_line(by)
                .unwrap_or_else(|| panic!("the program ended without '{words}':\n{}", self.stderr));
            if line.contains(words) {
                return line.trim_end().to_owned();
            }
        }
    }

    /// Asks the program to stop, as a service manager does.
    ///
    /// # Panics
    /// When the system knows no signals.
    pub fn terminate(&self) {
        self.signal("TERM");
    }

    /// Ends the program as a crash or a power cut does, and waits until it is gone.
    ///
    /// # Panics
    /// When the system does not end it.
    pub fn kill(mut self) {
        self.child.kill().expect("the program can be killed");
        self.child.wait().expect("it is gone");
    }

    /// Waits for the program to end.
    ///
    /// # Panics
    /// When it does not.
    #[must_use]
    pub fn end(mut self) -> Ended {
        let by = Deadline::after_s(PATIENCE_S);
        while self.next_line(by).is_some() {}
        let stdout = self.stdout.recv_timeout(by.left()).expect("the program closes stdout");
        // Both its outputs are closed: it is ending.
        let status = self.child.wait().expect("the program ends");
        Ended { status, stdout, stderr: std::mem::take(&mut self.stderr) }
    }

    /// The next line of stderr, or `None` after the last.
    fn next_line(&mut self, by: Deadline) -> Option<String> {
        match self.lines.recv_timeout(by.left()) {
            Ok(line) => {
                self.stderr.push_str(&line);
                Some(line)
            }
            Err(RecvTimeoutError::Disconnected) => None,
            Err(RecvTimeoutError::Timeout) => {
                panic!("the program takes too long; so far it said:\n{}", self.stderr)
            }
        }
    }

    fn signal(&self, name: &str) {
        // The shell's own `kill`: the program of that name is not installed everywhere.
        let line = format!("kill -{name} {}", self.child.id());
        let status = Command::new("sh").args(["-c", &line]).status().expect("sh can be called");
        assert!(status.success(), "SIG{name} cannot be sent");
    }
}

impl Drop for Process {
    fn drop(&mut self) {
        if thread::panicking() {
            self.stderr.extend(self.lines.try_iter());
            eprintln!(
                "the program was still running, or had just ended, and said:\n{}",
                self.stderr
            );
        }
        // Both fail where it has ended already.
        self.child.kill().ok();
        self.child.wait().ok();
    }
}
