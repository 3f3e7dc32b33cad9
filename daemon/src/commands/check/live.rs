//! `endarc check --live`: how the running daemon is doing, by its own account.

use std::fs;
use std::path::Path;
use std::time::Duration;

use crate::commands::run::runtime;
use crate::commands::stdio;
use crate::commands::table::Table;
use crate::error::{Failure, chain};
use crate::meters::{SensorStatus, Status, WayLatency};
use crate::store::ADDRESS_FILE;

/// How long an answer may take.
const PATIENCE: Duration = Duration::from_secs(5);

/// How long the processor time of "now" is measured for.
const WATCHED: Duration = Duration::from_secs(1);

/// Asks the daemon that records into this folder, and tells what it says.
pub(super) fn report(data: &Path, json: bool) -> Result<(), Failure> {
    let page = page(data)?;
    let before = ask(&page)?;
    if json {
        return stdio::answer_json(&before);
    }
    runtime()?.block_on(async { tokio::time::sleep(WATCHED).await });
    let now = ask(&page)?;
    stdio::answer(|out| {
        writeln!(out, "endarc {} at {page}, up {:.0} s", now.version, now.up_s)?;
        writeln!(out, "{}", cost(&before, &now))?;
        writeln!(out)?;
        latencies(&now.latencies).write(out)?;
        writeln!(out)?;
        links(&now.sensors).write(out)?;
        writeln!(out)?;
        counts(&now.sensors).write(out)?;
        for line in now.sensors.iter().flat_map(remarks) {
            writeln!(out, "{line}")?;
        }
        Ok(())
    })
}

/// The address of the running daemon's page.
fn page(data: &Path) -> Result<String, Failure> {
    let file = data.join(ADDRESS_FILE);
    match fs::read_to_string(&file) {
        Ok(address) => Ok(address.trim().to_owned()),
        Err(error) if error.kind() == std::io::ErrorKind::NotFound => Err(Failure::Said(format!(
            "no daemon is running on {}: start one with 'endarc run', and ask again while it runs \
             (--data-dir names its folder, if it is another)",
            data.display()
        ))),
        Err(error) => Err(Failure::Said(format!("{}: {error}", file.display()))),
    }
}

fn ask(page: &str) -> Result<Status, Failure> {
    let config = ureq::Agent::config_builder().proxy(None).timeout_global(Some(PATIENCE));
    let agent: ureq::Agent = config.build().into();
    let answer = agent.get(format!("{page}api/status")).call();
    let status = answer.and_then(|mut answer| answer.body_mut().read_json::<Status>());
    status.map_err(|error| {
        Failure::Said(format!(
            "the daemon does not answer at {page} ({}): if it was killed, start it again with \
             'endarc run'; if it is another version, restart it",
            chain(&error)
        ))
    })
}

/// What it costs the computer.
fn cost(before: &Status, now: &Status) -> String {
    let cpu = match (before.process.cpu_s, now.process.cpu_s) {
        (Some(then_s), Some(now_s)) => {
            let percent = 100.0 * (now_s - then_s) / (now.up_s - before.up_s).max(1e-3);
            let all = 100.0 * now_s / now.up_s.max(1e-3);
            format!("processor {percent:.0} % of one now, {all:.0} % since it was started")
        }
        _ => "processor not known here".to_owned(),
    };
    let memory = now.process.memory_bytes.map_or_else(
        || "memory not known here".to_owned(),
        |bytes| format!("memory {:.0} MB", bytes as f64 / 1e6),
    );
    format!("{cpu}; {memory}")
}

fn latencies(latencies: &[WayLatency]) -> Table<5> {
    let mut table = Table::new(["from a notification to", "count", "p50 ms", "p99 ms", "max ms"]);
    let ms = |value: Option<f64>| value.map_or_else(dash, |ms| format!("{ms:.2}"));
    for WayLatency { way, count, p50_ms, p99_ms, max_ms } in latencies {
        table.push([way.to_string(), count.to_string(), ms(*p50_ms), ms(*p99_ms), ms(*max_ms)]);
    }
    table
}

fn links(sensors: &[SensorStatus]) -> Table<8> {
    let mut table = Table::new([
        "sensor",
        "link",
        "battery",
        "signal",
        "stated Hz",
        "measured Hz",
        "clock ppm",
        "epochs",
    ]);
    for one in sensors {
        table.push([
            one.role.to_string(),
            one.link.map_or_else(dash, |link| link.to_string()),
            one.battery_percent.map_or_else(dash, |percent| format!("{percent} %")),
            one.signal_dbm.map_or_else(dash, |dbm| format!("{dbm} dBm")),
            one.nominal_hz.map_or_else(dash, |hz| format!("{hz:.1}")),
            one.rate_hz.map_or_else(dash, |hz| format!("{hz:.2}")),
            one.skew_ppm.map_or_else(dash, |ppm| format!("{ppm:+.0}")),
            one.epochs.to_string(),
        ]);
    }
    table
}

fn counts(sensors: &[SensorStatus]) -> Table<9> {
    let mut table = Table::new([
        "sensor",
        "received",
        "lost",
        "duplicate",
        "reordered",
        "late",
        "malformed",
        "saturated",
        "no data",
    ]);
    for one in sensors {
        let counts = [
            one.received,
            one.lost,
            one.duplicate,
            one.reordered,
            one.late,
            one.malformed,
            one.saturated,
            one.no_data,
        ];
        let [received, lost, duplicate, reordered, late, malformed, saturated, no_data] =
            counts.map(|count| count.to_string());
        table.push([
            one.role.to_string(),
            received,
            lost,
            duplicate,
            reordered,
            late,
            malformed,
            saturated,
            no_data,
        ]);
    }
    table
}

/// What is worth a word, with what to do.
fn remarks(sensor: &SensorStatus) -> Vec<String> {
    let mut lines = Vec::new();
    let role = sensor.role;
    if let (Some(off), Some(rate), Some(nominal)) =
        (sensor.rate_off(), sensor.rate_hz, sensor.nominal_hz)
        && off.abs() > SensorStatus::RATE_WORTH_A_WORD
    {
        lines.push(format!(
            "{role}: sends {rate:.1} samples a second, its profile says {nominal:.1}; angles are \
             right all the same, but look whether another rate was set"
        ));
    }
    if sensor.clock_fit_rejected {
        lines.push(format!(
            "{role}: its clock cannot be fitted within what its profile allows \
             (timestamp.tolerance_ppm); arrival times are used in its place"
        ));
    }
    if let (true, Some(percent)) = (sensor.battery_low, sensor.battery_percent) {
        lines.push(format!(
            "{role}: its battery is down to {percent} %; charge it after this visit"
        ));
    }
    let all = sensor.received.saturating_add(sensor.lost);
    let lost = sensor.lost as f64 / all.max(1) as f64;
    if lost > 0.01 {
        lines.push(format!(
            "{role}: {:.1} % of its samples are lost; bring the computer nearer, or see that nothing \
             stands between",
            100.0 * lost
        ));
    }
    lines
}

fn dash() -> String {
    "–".to_owned()
}

#[cfg(test)]
mod tests {
    use endarc_protocol::words::SensorRole;

    use super::*;

    fn sensor() -> SensorStatus {
        SensorStatus {
            role: SensorRole::Pelvis,
            link: None,
            battery_percent: None,
            battery_low: false,
            signal_dbm: None,
            data_age_s: None,
            nominal_hz: Some(100.0),
            rate_hz: Some(101.9),
            skew_ppm: None,
            clock_fit_rejected: false,
            epochs: 1,
            received: 9_990,
            lost: 10,
            duplicate: 0,
            reordered: 0,
            late: 0,
            malformed: 0,
            saturated: 0,
            no_data: 0,
        }
    }

    /// H03: a rate that is more than 2 % off what the profile says is worth a word.
    #[test]
    fn a_rate_that_is_off_and_much_loss_are_worth_a_word() {
        assert_eq!(remarks(&sensor()), Vec::<String>::new());
        let off = SensorStatus { rate_hz: Some(104.0), lost: 1_000, ..sensor() };
        let [rate, loss] = &remarks(&off)[..] else { panic!("two remarks") };
        assert!(rate.contains("104.0") && rate.contains("100.0"), "{rate}");
        assert!(loss.contains("9.1 %"), "{loss}");
    }

    #[test]
    fn a_folder_without_a_daemon_is_told_with_the_remedy() {
        let folder = tempfile::tempdir().unwrap();
        let said = report(folder.path(), false).unwrap_err().to_string();
        assert!(said.contains("endarc run"), "{said}");
        // A daemon that was killed leaves its address behind; nobody listens on this port.
        fs::write(folder.path().join(ADDRESS_FILE), "http://127.0.0.1:9/\n").unwrap();
        let said = report(folder.path(), false).unwrap_err().to_string();
        assert!(said.contains("127.0.0.1:9") && said.contains("endarc run"), "{said}");
    }
}
