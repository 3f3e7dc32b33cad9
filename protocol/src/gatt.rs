//! The assigned numbers of the services that need no profile: battery and device information.

use uuid::Uuid;

/// Bluetooth base UUID with the 16-bit number zero (Bluetooth Core, volume 3, part B, 2.5.1).
const BASE: u128 = 0x0000_0000_0000_1000_8000_0080_5f9b_34fb;

/// The battery service.
pub const BATTERY_SERVICE: Uuid = assigned(0x180f);
/// Battery level, percent, one byte.
pub const BATTERY_LEVEL: Uuid = assigned(0x2a19);
/// The device information service.
pub const DEVICE_INFORMATION: Uuid = assigned(0x180a);
/// Manufacturer name, UTF-8.
pub const MANUFACTURER_NAME: Uuid = assigned(0x2a29);
/// Model number, UTF-8.
pub const MODEL_NUMBER: Uuid = assigned(0x2a24);
/// Serial number, UTF-8.
pub const SERIAL_NUMBER: Uuid = assigned(0x2a25);
/// Firmware revision, UTF-8.
pub const FIRMWARE_REVISION: Uuid = assigned(0x2a26);

/// The 128-bit form of a 16-bit assigned number.
#[must_use]
pub const fn assigned(number: u16) -> Uuid {
    Uuid::from_u128(BASE | (number as u128) << 96)
}

/// A battery level that can be believed, percent; `None` is "unknown". Sensors answer 255 or 101
/// when they do not know, and 0 while they plainly have power.
#[must_use]
pub fn battery_percent(value: &[u8], streaming: bool) -> Option<u8> {
    match value {
        [0] if streaming => None,
        [percent @ 0..=100] => Some(*percent),
        _ => None,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn assigned_numbers_stand_in_the_base_uuid() {
        assert_eq!(BATTERY_SERVICE.to_string(), "0000180f-0000-1000-8000-00805f9b34fb");
    }

    /// Bluetooth SIG, Assigned Numbers (3.4 services, 3.8 characteristics), in the base UUID.
    #[test]
    fn the_numbers_are_the_assigned_ones() {
        let numbers = [
            (BATTERY_SERVICE, "180f"),
            (BATTERY_LEVEL, "2a19"),
            (DEVICE_INFORMATION, "180a"),
            (MANUFACTURER_NAME, "2a29"),
            (MODEL_NUMBER, "2a24"),
            (SERIAL_NUMBER, "2a25"),
            (FIRMWARE_REVISION, "2a26"),
        ];
        for (uuid, number) in numbers {
            assert_eq!(uuid.to_string(), format!("0000{number}-0000-1000-8000-00805f9b34fb"));
        }
    }

    /// H29: 255, 0 while streaming, 101 and nothing at all are "unknown".
    #[test]
    fn a_sentinel_is_not_a_level() {
        for value in [&[255][..], &[0], &[101], &[], &[50, 0]] {
            assert_eq!(battery_percent(value, true), None);
        }
        assert_eq!(battery_percent(&[0], false), Some(0));
        assert_eq!(battery_percent(&[100], true), Some(100));
    }
}
