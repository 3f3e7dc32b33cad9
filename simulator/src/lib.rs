//! A simulated person, hand and sensors, with the truth beside them.
//!
//! A [`Scenario`] says who, with which sensors, and what is done; a [`Session`] is what comes of
//! it: movement, what the sensors make of it, the notifications they send, and the truth. It shares
//! no code with whatever estimates that truth from the samples.
//!
//! Everything comes from the scenario's seed, each purpose from a child seed of its own: the same
//! scenario gives the same bytes.

mod clock;
mod files;
mod framing;
mod imu;
mod link;
mod motion;
mod notifications;
#[cfg(all(feature = "peripheral", target_os = "linux"))]
pub mod peripheral;
mod plan;
mod readings;
mod scenario;
mod seed;
mod session;
mod truth;

pub use files::files;
pub use notifications::{Notification, Notifications};
pub use scenario::{Scenario, ScenarioError, Style};
pub use session::{SensorInfo, Session};
pub use truth::{Truth, TruthRepetition, TruthSlip};

/// The text of a file of the reference folder, for tests; `None` (and a word about it) where the
/// folder is not given.
#[cfg(test)]
fn reference_file(path: &str) -> Option<String> {
    match std::env::var("ENDARC_REFERENCE_DIR") {
        Ok(folder) => Some(std::fs::read_to_string(format!("{folder}/{path}")).unwrap()),
        Err(_unset) => {
            assert!(std::env::var("ENDARC_STRICT").as_deref() != Ok("1"), "ENDARC_REFERENCE_DIR");
            eprintln!("skipped: ENDARC_REFERENCE_DIR is not set");
            None
        }
    }
}
