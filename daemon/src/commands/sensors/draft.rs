//! A profile to start from, guessed from what a sensor was heard to send.
//!
//! A guess: bytes that never change are taken for a header, numbers that grow evenly for a counter
//! or a time stamp, and what follows for samples of six 16-bit numbers. Scale and unit cannot be
//! seen; the sensor's own documentation has to say them.

use std::fmt::Write;

use uuid::Uuid;

/// What one characteristic was heard to send.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Heard {
    pub(super) service: Uuid,
    pub(super) characteristic: Uuid,
    /// Each notification with its arrival, s.
    pub(super) notifications: Vec<(f64, Vec<u8>)>,
}

impl Heard {
    /// Notifications per second; `None` for fewer than two.
    pub(super) fn rate_hz(&self) -> Option<f64> {
        let ((first_s, _), (last_s, _)) = (self.notifications.first()?, self.notifications.last()?);
        let intervals = self.notifications.len().checked_sub(1).filter(|&number| number > 0)?;
        (last_s > first_s).then(|| intervals as f64 / (last_s - first_s))
    }

    /// Every length with how often it came, by length.
    pub(super) fn lengths(&self) -> Vec<(usize, usize)> {
        let mut lengths: Vec<(usize, usize)> = Vec::new();
        for (_, bytes) in &self.notifications {
            match lengths.iter_mut().find(|(length, _)| *length == bytes.len()) {
                Some((_, count)) => *count += 1,
                None => lengths.push((bytes.len(), 1)),
            }
        }
        lengths.sort_unstable();
        lengths
    }
}

/// An unsigned number somewhere in the frame.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Number {
    at: usize,
    width: usize,
    little: bool,
    /// By how much it grows from one notification to the next.
    step: u64,
}

/// The text of a profile to start from; `None` where nothing was heard that could be samples.
pub(super) fn draft(name: Option<&str>, services: &[Uuid], heard: &[Heard]) -> Option<String> {
    let bytes =
        |one: &&Heard| one.notifications.iter().map(|(_, bytes)| bytes.len()).sum::<usize>();
    let stream = heard.iter().filter(|one| one.notifications.len() >= 10).max_by_key(bytes)?;
    let (length, _) = stream.lengths().into_iter().max_by_key(|(_, count)| *count)?;
    let frames: Vec<&[u8]> = stream
        .notifications
        .iter()
        .filter(|(_, bytes)| bytes.len() == length)
        .map(|(_, bytes)| bytes.as_slice())
        .collect();
    let counter = counter(&frames, length);
    let timestamp = timestamp(&frames, length, counter, stream.rate_hz()?);
    let header = header(&frames, length);
    let after = [counter, timestamp].into_iter().flatten().map(|one| one.at + one.width);
    let start = after.max().unwrap_or(0).max(header);
    let samples = (length.saturating_sub(start) / SAMPLE).max(1);
    let start = length.saturating_sub(samples * SAMPLE).max(start);
    let text = Text { name, services, stream, length, header, counter, timestamp, start, samples };
    text.write().ok()
}

/// Six 16-bit numbers.
const SAMPLE: usize = 12;

/// Bytes at the front that never change.
fn header(frames: &[&[u8]], length: usize) -> usize {
    let same = |at: &usize| {
        let first = frames.first().and_then(|frame| frame.get(*at));
        frames.iter().all(|frame| frame.get(*at) == first)
    };
    (0..length.min(4)).take_while(same).count()
}

/// A number that grows by the same small step.
fn counter(frames: &[&[u8]], length: usize) -> Option<Number> {
    numbers(length, &[1, 2, 3, 4])
        .filter_map(|number| grows(frames, number))
        .filter(|(_, number)| number.step <= 64 && number.at < 16)
        // A counter's low byte counts by itself, and with a wrong byte before it mostly too; the
        // most even and then the widest is the counter.
        .max_by_key(|(even, one)| (*even, one.width, std::cmp::Reverse(one.at), one.little))
        .map(|(_, number)| number)
}

/// A number that grows as time does.
fn timestamp(
    frames: &[&[u8]],
    length: usize,
    counter: Option<Number>,
    rate_hz: f64,
) -> Option<Number> {
    let clear = |number: &Number| {
        counter.is_none_or(|other| {
            number.at >= other.at + other.width || other.at >= number.at + number.width
        })
    };
    numbers(length, &[2, 3, 4])
        .filter(clear)
        .filter_map(|number| grows_about(frames, number))
        .filter(|(_, number)| number.at < 24 && tick_s(number.step, rate_hz).is_some())
        .max_by_key(|(even, one)| (*even, one.width, std::cmp::Reverse(one.at), one.little))
        .map(|(_, number)| number)
}

/// Every place and way a number may be written.
fn numbers(length: usize, widths: &'static [usize]) -> impl Iterator<Item = Number> {
    widths.iter().flat_map(move |&width| {
        (0..(length + 1).saturating_sub(width))
            .flat_map(move |at| [true, false].map(|little| Number { at, width, little, step: 0 }))
    })
}

/// Grows by one and the same step nearly always, with how often; lost notifications make a multiple
/// of it.
fn grows(frames: &[&[u8]], number: Number) -> Option<(usize, Number)> {
    let steps = steps(frames, number)?;
    let step = *steps.iter().filter(|&&step| step > 0).min()?;
    let even = steps.iter().filter(|&&one| one % step == 0 && one / step <= 4).count();
    (even * 20 >= steps.len() * 19).then_some((even, Number { step, ..number }))
}

/// Grows nearly always by about the median, with how often.
fn grows_about(frames: &[&[u8]], number: Number) -> Option<(usize, Number)> {
    let mut steps = steps(frames, number)?;
    steps.sort_unstable();
    let step = *steps.get(steps.len() / 2)?;
    let near = |one: &&u64| one.abs_diff(step) * 5 <= step;
    let even = steps.iter().filter(near).count();
    (step > 0 && even * 10 >= steps.len() * 9).then_some((even, Number { step, ..number }))
}

fn steps(frames: &[&[u8]], number: Number) -> Option<Vec<u64>> {
    let values: Vec<u64> = frames.iter().filter_map(|frame| value(frame, number)).collect();
    if values.len() < 10 {
        return None;
    }
    let modulus = 1_u64 << (8 * number.width);
    let pairs = values.iter().zip(values.iter().skip(1));
    Some(pairs.map(|(before, after)| (after + modulus - before) % modulus).collect())
}

fn value(frame: &[u8], number: Number) -> Option<u64> {
    let bytes = frame.get(number.at..number.at + number.width)?;
    let join = |value: u64, byte: &u8| value << 8 | u64::from(*byte);
    Some(if number.little { bytes.iter().rev().fold(0, join) } else { bytes.iter().fold(0, join) })
}

/// The usual tick that makes so many of them one interval between notifications, s.
fn tick_s(step: u64, rate_hz: f64) -> Option<&'static str> {
    const TICKS: [(&str, f64); 6] = [
        ("1e-6", 1e-6),
        ("1e-5", 1e-5),
        ("1e-4", 1e-4),
        ("1e-3", 1e-3),
        ("0.000030517578125", 1.0 / 32768.0),
        ("0.0009765625", 1.0 / 1024.0),
    ];
    let tick = 1.0 / (rate_hz * step as f64);
    TICKS.iter().find(|(_, usual)| (tick / usual - 1.0).abs() < 0.015).map(|(text, _)| *text)
}

/// All that the text says.
struct Text<'a> {
    name: Option<&'a str>,
    services: &'a [Uuid],
    stream: &'a Heard,
    length: usize,
    header: usize,
    counter: Option<Number>,
    timestamp: Option<Number>,
    start: usize,
    samples: usize,
}

impl Text<'_> {
    fn write(&self) -> Result<String, std::fmt::Error> {
        let mut out = String::new();
        let rate_hz = self.stream.rate_hz().unwrap_or_default() * self.samples as f64;
        writeln!(
            out,
            "# Guessed from {} notifications of {} bytes. Hold every line against",
            self.stream.notifications.len(),
            self.length
        )?;
        writeln!(out, "# the sensor's documentation; scale, unit and axes cannot be guessed.\n")?;
        writeln!(out, "name = \"my-sensor\"")?;
        writeln!(out, "rate_hz = {:.0}\n\n[match]", rate_hz.max(1.0))?;
        match (self.name, self.services.first()) {
            (_, Some(service)) => writeln!(out, "service = \"{service}\"")?,
            (Some(name), None) => writeln!(out, "name_prefix = {}", quoted(name))?,
            (None, None) => writeln!(out, "name_prefix = \"?\" # it advertises nothing to go by")?,
        }
        writeln!(out, "\n[[stream]]\nservice = \"{}\"", self.stream.service)?;
        writeln!(out, "characteristic = \"{}\"", self.stream.characteristic)?;
        let little = [self.counter, self.timestamp].into_iter().flatten().all(|one| one.little);
        writeln!(out, "endian = \"{}\"", if little { "little" } else { "big" })?;
        self.fields(&mut out)?;
        for (what, at, unit) in [("accel", 0, "g"), ("gyro", 6, "deg/s")] {
            writeln!(out, "\n[stream.{what}]\nat = {at}\ntype = \"i16\"\nunit = \"{unit}\"")?;
            writeln!(out, "scale = 1 # units per count: see the documentation")?;
        }
        Ok(out)
    }

    fn fields(&self, out: &mut String) -> std::fmt::Result {
        let free = [self.counter, self.timestamp].into_iter().flatten().map(|one| one.at);
        let header = free.fold(self.header, usize::min).min(self.start);
        if let (1.., Some((_, first))) = (header, self.stream.notifications.first()) {
            let bytes = hex(first.get(..header).unwrap_or_default());
            writeln!(out, "header = [{{ at = 0, bytes = \"{bytes}\" }}]")?;
        }
        let (start, samples) = (self.start, self.samples);
        let length = start + samples * SAMPLE;
        writeln!(out, "samples = {{ at = {start}, size = {SAMPLE}, fixed = {samples} }}")?;
        if length != self.length {
            writeln!(out, "length = {}", self.length)?;
        }
        if let Some(Number { at, width, step, .. }) = self.counter {
            let bits = 8 * width;
            let counts = if step == samples as u64 { "samples" } else { "notifications" };
            writeln!(out, "counter = {{ at = {at}, type = \"u{bits}\", counts = \"{counts}\" }}")?;
        }
        if let Some(Number { at, width, step, .. }) = self.timestamp
            && let Some(tick) = self.stream.rate_hz().and_then(|rate_hz| tick_s(step, rate_hz))
        {
            let bits = 8 * width;
            writeln!(out, "timestamp = {{ at = {at}, type = \"u{bits}\", tick_s = {tick} }}")?;
        }
        Ok(())
    }
}

/// Bytes as hexadecimal digits.
pub(super) fn hex(bytes: &[u8]) -> String {
    bytes.iter().map(|byte| format!("{byte:02X}")).collect::<Vec<_>>().join(" ")
}

/// A text as TOML writes it: JSON's escapes are among TOML's.
fn quoted(text: &str) -> String {
    serde_json::Value::from(text).to_string()
}

#[cfg(test)]
mod tests {
    use endarc_protocol::frame::Outgoing;
    use endarc_protocol::profile::Profile;
    use endarc_protocol::sample::Values;

    use super::*;

    /// What a sensor with the reference profile sends, moving: five samples a notification.
    fn heard() -> Heard {
        let profile = Profile::reference();
        let layout = &profile.streams()[0];
        let notifications = (0..60_u64).map(|number| {
            let sample = |index: u64| {
                let angle = (number * 5 + index) as f64 * 0.03;
                Values {
                    accel_m_s2: [9.81 * angle.sin(), 0.4, 9.81 * angle.cos()],
                    gyro_rad_s: [0.1, (angle * 1.7).sin(), -0.2],
                    ..Values::default()
                }
            };
            let samples: Vec<Values> = (0..5).map(sample).collect();
            let counter = (65_500 + number * 5) & 0xffff;
            let out = Outgoing { counter, ticks: number * 50_000, samples: &samples };
            let mut bytes = Vec::new();
            layout.encode(&out, &mut bytes).unwrap();
            (number as f64 * 0.05, bytes)
        });
        Heard {
            service: layout.service().unwrap(),
            characteristic: layout.characteristic(),
            notifications: notifications.collect(),
        }
    }

    #[test]
    fn the_draft_of_a_known_layout_finds_its_fields_and_parses() {
        let heard = heard();
        let text = draft(Some("IMU"), &[], std::slice::from_ref(&heard)).unwrap();
        let profile = Profile::parse("draft.toml", &text).unwrap_or_else(|e| panic!("{e}\n{text}"));
        assert_eq!(profile.rate_hz(), 100.0);
        let stream = &profile.streams()[0];
        assert_eq!(stream.usual(), 5);
        assert!(text.contains("samples = { at = 8, size = 12, fixed = 5 }"), "{text}");
        assert!(
            text.contains("counter = { at = 2, type = \"u16\", counts = \"samples\" }"),
            "{text}"
        );
        assert!(text.contains("timestamp = { at = 4, type = \"u32\", tick_s = 1e-6 }"), "{text}");
        // What it reads is what was sent, but for the scale.
        let reference = Profile::reference();
        let bytes = &heard.notifications[0].1;
        let mut readings = Vec::new();
        for profile in [&profile, &reference] {
            let frame = profile.streams()[0].decode(bytes).unwrap();
            readings.push(frame.samples().count());
        }
        assert_eq!(readings, [5, 5]);
    }

    #[test]
    fn nothing_is_drafted_from_nothing() {
        let few = Heard { notifications: heard().notifications[..3].to_vec(), ..heard() };
        assert_eq!(draft(None, &[], &[few]), None);
    }
}
