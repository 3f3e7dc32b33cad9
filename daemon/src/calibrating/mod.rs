//! Finding out what a sensor and a table have of their own, step by step while samples come: one
//! guide with two faces, the command line and the page.
//!
//! Pure: fed samples, it says what to do next and what was found. Whoever runs it stores that.

mod desk;
mod limits;
mod sides;
mod table;
mod table_error;
mod words;

pub use desk::{Desk, Feed, Found};
pub use limits::{table_name, temperature};
pub use sides::Sides;
pub use table::OnTable;
pub use table_error::OnTableError;
pub use words::{calibration_lines, level_lines};

#[cfg(test)]
mod tests;
