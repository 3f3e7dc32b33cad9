//! What a running program uses of the machine, as Linux counts it (`/proc`, see proc(5)).

use std::fs;

/// Ticks of `/proc/PID/stat` in a second: USER_HZ, which is 100 on every common architecture.
const TICKS_PER_S: f64 = 100.0;

/// What a process has used so far.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Usage {
    /// Processor time of all its threads, s.
    pub cpu_s: f64,
    /// The most memory it ever held, MB (10⁶ bytes).
    pub peak_mb: f64,
}

/// What the process with this id has used.
///
/// # Panics
/// When there is none, or `/proc` is written otherwise.
#[must_use]
pub fn of(process: u32) -> Usage {
    let read = |name: &str| {
        fs::read_to_string(format!("/proc/{process}/{name}")).expect("the process is there")
    };
    let stat = read("stat");
    // The program's name, in brackets, may hold anything; what follows it begins with field 3.
    let fields = stat.rsplit_once(')').expect("the name is in brackets").1;
    let fields: Vec<&str> = fields.split_whitespace().collect();
    let ticks = |field: usize| fields[field - 3].parse::<f64>().expect("a number of ticks");
    let status = read("status");
    let peak = status.lines().find_map(|line| line.strip_prefix("VmHWM:")).expect("a peak");
    let kb: f64 = peak.trim().trim_end_matches(" kB").parse().expect("a number of kB");
    Usage { cpu_s: (ticks(14) + ticks(15)) / TICKS_PER_S, peak_mb: kb * 1.024e-3 }
}
