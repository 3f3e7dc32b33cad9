//! Exports: visits taken out in open forms, under codes drawn for the export.
//!
//! - [`Selection`] says which visits, [`Disguise`] under which codes and dates they leave.
//! - [`tables`] are the visits as tables; a table's columns carry their own description, so that the
//!   codebook and the cells come from one place.
//! - Each format is a file or folder of its own: [`csv`], [`bids`], [`fhir`].
//! - [`Folder`] is made beside its place, goes on after an interruption, and carries its checksums.

pub mod bids;
pub mod csv;
mod disguise;
mod error;
pub mod fhir;
mod folder;
mod leaving;
mod moment;
mod progress;
mod readme;
pub mod recordings;
mod selection;
pub mod tables;

pub use disguise::{Codes, Dates, Disguise, Privacy, Texts};
pub use error::ExportError;
pub use folder::{CHECKSUMS, Folder, Size};
pub use leaving::{Leaving, leaving, records};
pub use progress::Progress;
pub use selection::Selection;

use endarc_protocol::words;

words! {
    /// The open form in which visits leave.
    Format, "format", {
        /// Tables with a codebook: a Frictionless Data Package.
        Csv = "csv",
        /// Raw and derived motion with its metadata: Motion-BIDS.
        Bids = "bids",
        /// Values for a clinical system: FHIR R4.
        Fhir = "fhir",
    }
}
