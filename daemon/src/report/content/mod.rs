//! What a report says.

mod dose;
mod figures;
mod method;
mod person;
mod phrases;
mod ranges;
mod record;
mod told;

pub(super) use person::person;
pub(super) use record::record;
