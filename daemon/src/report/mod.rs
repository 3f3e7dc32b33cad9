//! The report of a visit: one page for the record, one in plain words for the person.
//!
//! [`Gathered`] reads, [`document()`] puts into words, [`html()`] and [`pdf()`] draw. What a report says is
//! in `words/*.json`, one file per language.

mod content;
pub mod document;
pub mod gathered;
pub mod gauge;
mod html;
pub mod pdf;

use serde::Deserialize;

pub use document::Document;
pub use gathered::Gathered;
pub use html::html;
pub use pdf::{PaperSize, PdfError, pdf};

use crate::words::{Language, Words};

/// Whom a report is for.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, clap::ValueEnum, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Reader {
    /// The one who keeps the record.
    #[default]
    Record,
    /// The person who was measured.
    Person,
}

/// What a report is to be like.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Wishes {
    /// Whom it is for.
    pub reader: Reader,
    /// The language.
    pub language: Language,
    /// Whether published ranges are told.
    pub ranges: bool,
}

/// Puts a visit into words.
#[must_use]
pub fn document(visit: &Gathered, wishes: Wishes) -> Document {
    let words = Words::of(wishes.language);
    match wishes.reader {
        Reader::Record => content::record(visit, words, wishes.ranges),
        Reader::Person => content::person(visit, words, wishes.ranges),
    }
}
