//! A session as a folder's files.

use std::fmt::Write as _;
use std::io::{self, Write};

use endarc_protocol::profile::Profile;
use endarc_protocol::{events_csv, motion_csv};

use crate::notifications::Notification;
use crate::session::Session;

/// The files of a session's folder: a Motion CSV per sensor, named for its role, `events.csv` and
/// `truth.json`, all on the common clock.
///
/// With a profile, all sensors speak it, and there are also `0.frames`, `1.frames`, … and
/// `sensors.csv`, which says which is which. A line of frames is one notification: `MS HEX`, or
/// `MS UUID HEX` where the profile has several stream characteristics. `MS` is when it was sent: ms
/// on the sensor's own clock since visit time zero.
#[must_use]
pub fn files(session: &Session, frames: Option<&Profile>) -> Vec<(String, Vec<u8>)> {
    let spoken = frames.map(|profile| session.speaking(profile));
    let session = spoken.as_ref().unwrap_or(session);
    let mut files = Vec::new();
    for sensor in session.sensors() {
        let csv = written(|to| motion_csv::write(to, session.samples(sensor.role)));
        files.push((format!("{}.csv", sensor.role), csv));
    }
    let events = written(|to| events_csv::write(to, session.events()));
    files.push(("events.csv".to_owned(), events));
    let truth = written(|to| {
        serde_json::to_writer_pretty(&mut *to, session.truth())?;
        writeln!(to)
    });
    files.push(("truth.json".to_owned(), truth));
    if let Some(profile) = frames {
        files.extend(frame_files(session, profile));
        files.push(("sensors.csv".to_owned(), written(|to| sensors_csv(to, session))));
    }
    files
}

fn frame_files(session: &Session, profile: &Profile) -> Vec<(String, Vec<u8>)> {
    let several = profile.streams().len() > 1;
    let mut texts = vec![String::new(); session.sensors().len()];
    for notification in session.notifications() {
        if let Some(text) = texts.get_mut(notification.sensor) {
            frame_line(text, &notification, several);
        }
    }
    let named = texts.into_iter().enumerate();
    named.map(|(sensor, text)| (format!("{sensor}.frames"), text.into_bytes())).collect()
}

fn frame_line(text: &mut String, notification: &Notification, several: bool) {
    let sent_ms = libm::round(notification.sent_s * 1e3);
    let mut put = || {
        write!(text, "{sent_ms} ")?;
        if several {
            write!(text, "{} ", notification.characteristic)?;
        }
        for byte in &notification.bytes {
            write!(text, "{byte:02x}")?;
        }
        writeln!(text)
    };
    let put = put();
    debug_assert_eq!(put, Ok(()), "a string takes every text");
}

fn sensors_csv(to: &mut Vec<u8>, session: &Session) -> io::Result<()> {
    let mut csv = csv::Writer::from_writer(to);
    csv.write_record(["frames", "role", "name", "address", "profile"])?;
    for (place, sensor) in session.sensors().iter().enumerate() {
        csv.write_record([
            &format!("{place}.frames"),
            sensor.role.as_str(),
            &sensor.name,
            &sensor.address,
            sensor.profile.name(),
        ])?;
    }
    csv.flush()
}

/// What was written into memory.
#[expect(
    clippy::expect_used,
    reason = "memory takes every byte, and truth has only finite numbers"
)]
fn written(write: impl FnOnce(&mut Vec<u8>) -> io::Result<()>) -> Vec<u8> {
    let mut bytes = Vec::new();
    write(&mut bytes).expect("writing to memory does not fail");
    bytes
}

#[cfg(test)]
mod tests;
