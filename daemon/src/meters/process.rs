//! What the program costs the computer.

use super::shapes::Process;

/// What it has cost so far, as far as the system tells.
#[cfg(target_os = "linux")]
pub(super) fn measured() -> Process {
    let read = |file| std::fs::read_to_string(file).ok();
    Process {
        cpu_s: read("/proc/self/stat").and_then(|stat| cpu_s(&stat)),
        memory_bytes: read("/proc/self/status").and_then(|status| memory_bytes(&status)),
    }
}

/// Other systems are not asked.
#[cfg(not(target_os = "linux"))]
pub(super) const fn measured() -> Process {
    Process { cpu_s: None, memory_bytes: None }
}

/// User and system time in `/proc/PID/stat`: the 14th and 15th field (proc(5)), in ticks. The second
/// field is the program's name in brackets, and may hold anything.
#[cfg(target_os = "linux")]
fn cpu_s(stat: &str) -> Option<f64> {
    let (_, after_name) = stat.rsplit_once(')')?;
    let mut fields = after_name.split_whitespace().skip(11);
    let user: u64 = fields.next()?.parse().ok()?;
    let system: u64 = fields.next()?.parse().ok()?;
    let ticks_per_s = rustix::param::clock_ticks_per_second();
    Some(user.saturating_add(system) as f64 / ticks_per_s as f64)
}

/// `VmRSS` in `/proc/PID/status`, which is in kB (proc(5)).
#[cfg(target_os = "linux")]
fn memory_bytes(status: &str) -> Option<u64> {
    let line = status.lines().find_map(|line| line.strip_prefix("VmRSS:"))?;
    let kilobytes: u64 = line.split_whitespace().next()?.parse().ok()?;
    kilobytes.checked_mul(1024)
}

#[cfg(all(test, target_os = "linux"))]
mod tests {
    use super::*;

    #[test]
    fn time_and_memory_are_read_past_any_name() {
        let stat = "42 (a) b (c) S 1 2 3 4 5 6 7 8 9 10 250 50 0 0 20 0";
        let ticks = rustix::param::clock_ticks_per_second() as f64;
        assert_eq!(cpu_s(stat), Some(300.0 / ticks));
        assert_eq!(memory_bytes("Name:\tx\nVmRSS:\t    1500 kB\n"), Some(1_536_000));
        assert_eq!((cpu_s("nothing"), memory_bytes("")), (None, None));
    }

    #[test]
    fn this_program_costs_something() {
        let process = measured();
        assert!(process.memory_bytes.unwrap() > 1_000_000);
        assert!(process.cpu_s.unwrap() >= 0.0);
    }
}
