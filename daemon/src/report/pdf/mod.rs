//! A report as a PDF: laid out here, letters embedded, nothing taken from the system.

mod drawing;
mod font;
mod layout;
mod lines;
mod paper;

use serde::Deserialize;

use super::document::Document;
use layout::Layout;
use paper::Paper;

/// Why there is no PDF.
#[derive(Debug, thiserror::Error)]
pub enum PdfError {
    /// A font that is built in cannot be used.
    #[error("the built-in font cannot be used ({0}): use --html")]
    Font(String),
    /// The drawing failed.
    #[error("the drawing of before and after failed ({0}): use --html")]
    Drawing(String),
}

/// The size of a sheet.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, clap::ValueEnum, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum PaperSize {
    /// 210 × 297 mm.
    #[default]
    A4,
    /// 8.5 × 11 inches.
    Letter,
}

impl PaperSize {
    /// How wide, points.
    #[must_use]
    pub const fn width_pt(self) -> f32 {
        match self {
            Self::A4 => 595.28,
            Self::Letter => 612.0,
        }
    }

    /// How high, points.
    #[must_use]
    pub const fn height_pt(self) -> f32 {
        match self {
            Self::A4 => 841.89,
            Self::Letter => 792.0,
        }
    }
}

/// How much smaller than meant the text may be to keep a report on one page.
const SMALLER: [f32; 5] = [1.0, 0.95, 0.9, 0.85, 0.8];

/// Draws a report: on one page if its text need not be made much smaller for that.
///
/// # Errors
/// [`PdfError`].
pub fn pdf(document: &Document, size: PaperSize) -> Result<Vec<u8>, PdfError> {
    for smaller in SMALLER {
        let paper = laid_out(document, size, document.size_pt * smaller)?;
        if paper.count() == 1 {
            return paper.finish(&document.title, document.language);
        }
    }
    laid_out(document, size, document.size_pt * 0.9)?.finish(&document.title, document.language)
}

fn laid_out(document: &Document, size: PaperSize, size_pt: f32) -> Result<Paper, PdfError> {
    let mut layout = Layout::new(Paper::new(size)?, size_pt);
    for block in &document.blocks {
        layout.add(block)?;
    }
    Ok(layout.finish(&document.foot))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::words::Language;

    #[test]
    fn the_fonts_have_every_letter_of_every_language() {
        let fonts = [
            font::Font::new("R", notosans::REGULAR_TTF).unwrap(),
            font::Font::new("B", notosans::BOLD_TTF).unwrap(),
        ];
        for language in Language::ALL {
            for letter in language.file().chars().filter(|letter| !letter.is_control()) {
                assert!(fonts.iter().all(|font| font.has(letter)), "{letter:?} is in no font");
            }
        }
        for letter in "−°±√≥…“”–·µ²".chars() {
            assert!(fonts.iter().all(|font| font.has(letter)), "{letter:?} is in no font");
        }
    }
}
