//! The checksums a notification may end with.

use crc::{CRC_8_SMBUS, CRC_16_IBM_3740, CRC_16_KERMIT, CRC_16_MODBUS, CRC_16_XMODEM, Crc};
use serde::Deserialize;

static CRC8: Crc<u8> = Crc::<u8>::new(&CRC_8_SMBUS);
static CRC16_CCITT: Crc<u16> = Crc::<u16>::new(&CRC_16_IBM_3740);
static CRC16_XMODEM: Crc<u16> = Crc::<u16>::new(&CRC_16_XMODEM);
static CRC16_KERMIT: Crc<u16> = Crc::<u16>::new(&CRC_16_KERMIT);
static CRC16_MODBUS: Crc<u16> = Crc::<u16>::new(&CRC_16_MODBUS);

/// How a frame is protected. The CRC parameters are those of the catalogue of parametrised CRC
/// algorithms (G. Cook), under the names given here.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Checksum {
    /// Sum of the bytes, modulo 256.
    Sum8,
    /// Exclusive or of the bytes.
    Xor8,
    /// CRC-8/SMBUS: polynomial 0x07, initial value 0.
    Crc8,
    /// CRC-16/IBM-3740, often called CCITT-FALSE: polynomial 0x1021, initial value 0xFFFF.
    Crc16Ccitt,
    /// CRC-16/XMODEM: polynomial 0x1021, initial value 0.
    Crc16Xmodem,
    /// CRC-16/KERMIT: polynomial 0x1021, initial value 0, bits reflected.
    Crc16Kermit,
    /// CRC-16/MODBUS: polynomial 0x8005, initial value 0xFFFF, bits reflected.
    Crc16Modbus,
}

impl Checksum {
    /// Bytes that it takes in a frame.
    #[must_use]
    pub const fn width(self) -> usize {
        match self {
            Self::Sum8 | Self::Xor8 | Self::Crc8 => 1,
            Self::Crc16Ccitt | Self::Crc16Xmodem | Self::Crc16Kermit | Self::Crc16Modbus => 2,
        }
    }

    /// The checksum of `bytes`.
    #[must_use]
    pub fn of(self, bytes: &[u8]) -> u16 {
        match self {
            Self::Sum8 => u16::from(bytes.iter().fold(0_u8, |sum, byte| sum.wrapping_add(*byte))),
            Self::Xor8 => u16::from(bytes.iter().fold(0_u8, |sum, byte| sum ^ byte)),
            Self::Crc8 => u16::from(CRC8.checksum(bytes)),
            Self::Crc16Ccitt => CRC16_CCITT.checksum(bytes),
            Self::Crc16Xmodem => CRC16_XMODEM.checksum(bytes),
            Self::Crc16Kermit => CRC16_KERMIT.checksum(bytes),
            Self::Crc16Modbus => CRC16_MODBUS.checksum(bytes),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The catalogue's check values: the checksum of the nine characters "123456789".
    #[test]
    fn catalogue_check_values() {
        let check = |checksum: Checksum| checksum.of(b"123456789");
        assert_eq!(check(Checksum::Crc8), 0xf4);
        assert_eq!(check(Checksum::Crc16Ccitt), 0x29b1);
        assert_eq!(check(Checksum::Crc16Xmodem), 0x31c3);
        assert_eq!(check(Checksum::Crc16Kermit), 0x2189);
        assert_eq!(check(Checksum::Crc16Modbus), 0x4b37);
        assert_eq!(check(Checksum::Sum8), 0xdd);
        assert_eq!(check(Checksum::Xor8), 0x31);
    }
}
