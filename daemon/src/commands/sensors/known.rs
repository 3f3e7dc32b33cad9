//! Which known sensor is meant by an address or a name.

use std::path::Path;

use crate::commands::run::said;
use crate::error::Failure;
use crate::store::{ReadError, Reader, SensorRecord};

/// The address of the sensor that is meant.
pub(super) fn address(data: &Path, called: &str) -> Result<String, Failure> {
    let known = match Reader::open(data).and_then(|reader| reader.sensors()) {
        Ok(known) => known,
        Err(ReadError::NoDatabase { .. }) => Vec::new(),
        Err(error) => return Err(said(error)),
    };
    find(&known, called)?.ok_or_else(|| {
        let there: Vec<&str> = known.iter().map(|one| one.address.as_str()).collect();
        let there = if there.is_empty() { "none".to_owned() } else { there.join(", ") };
        Failure::Said(format!("no sensor {called} is known; those that are: {there}"))
    })
}

/// The address of the known sensor with this address or name; several of one name are refused.
pub(super) fn find(known: &[SensorRecord], called: &str) -> Result<Option<String>, Failure> {
    if let Some(one) = known.iter().find(|one| one.address.eq_ignore_ascii_case(called)) {
        return Ok(Some(one.address.clone()));
    }
    let named: Vec<&str> = known
        .iter()
        .filter(|one| one.name.as_deref() == Some(called))
        .map(|one| one.address.as_str())
        .collect();
    match named.as_slice() {
        [] => Ok(None),
        [one] => Ok(Some((*one).to_owned())),
        several => Err(Failure::Said(format!(
            "several sensors are called {called}: name one by its address ({})",
            several.join(", ")
        ))),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_name_that_two_sensors_have_means_neither() {
        let record = |address: &str| SensorRecord {
            address: address.to_owned(),
            name: Some("IMU".to_owned()),
            role: None,
            battery_percent: None,
            battery_at: None,
            description: None,
            calibrations: Vec::new(),
        };
        let one = [record("C0:01")];
        assert_eq!(find(&one, "IMU").unwrap(), Some("C0:01".to_owned()));
        assert_eq!(find(&one, "c0:01").unwrap(), Some("C0:01".to_owned()));
        assert_eq!(find(&one, "other").unwrap(), None);
        let error = find(&[record("C0:01"), record("C0:02")], "IMU").unwrap_err().to_string();
        assert!(error.contains("C0:01, C0:02"), "{error}");
    }
}
