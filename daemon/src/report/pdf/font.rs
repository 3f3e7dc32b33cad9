//! A font as a PDF embeds it: only the glyphs that are used, and which letters they are.

use pdf_writer::types::{CidFontType, FontFlags, SystemInfo, UnicodeCmap};
use pdf_writer::{Finish, Name, Pdf, Rect, Ref, Str};
use subsetter::GlyphRemapper;
use ttf_parser::Face;

use super::PdfError;

/// Glyph widths and font measures in a PDF are thousandths of the font's size.
const UNITS: f32 = 1000.0;

/// Character codes are glyph numbers of two bytes.
const SYSTEM: SystemInfo<'_> =
    SystemInfo { registry: Str(b"Adobe"), ordering: Str(b"Identity"), supplement: 0 };

/// A font and what was written with it so far.
pub(super) struct Font {
    data: &'static [u8],
    face: Face<'static>,
    name: &'static str,
    glyphs: GlyphRemapper,
    /// Width and letter of each glyph used, by its new number; the first stands for unknown letters.
    used: Vec<(f32, Option<char>)>,
}

impl Font {
    pub(super) fn new(name: &'static str, data: &'static [u8]) -> Result<Self, PdfError> {
        let face = Face::parse(data, 0).map_err(|error| PdfError::Font(error.to_string()))?;
        let mut font = Self { data, face, name, glyphs: GlyphRemapper::new(), used: Vec::new() };
        font.used.push((font.advance(ttf_parser::GlyphId(0)), None));
        Ok(font)
    }

    /// Whether the font has this letter.
    #[cfg(test)]
    pub(super) fn has(&self, letter: char) -> bool {
        self.face.glyph_index(letter).is_some()
    }

    fn scale(&self) -> f32 {
        UNITS / f32::from(self.face.units_per_em())
    }

    fn advance(&self, glyph: ttf_parser::GlyphId) -> f32 {
        f32::from(self.face.glyph_hor_advance(glyph).unwrap_or(0)) * self.scale()
    }

    fn glyph(&self, letter: char) -> ttf_parser::GlyphId {
        self.face.glyph_index(letter).unwrap_or_default()
    }

    /// How wide a text is, points.
    pub(super) fn width(&self, text: &str, size_pt: f32) -> f32 {
        text.chars().map(|letter| self.advance(self.glyph(letter))).sum::<f32>() * size_pt / UNITS
    }

    /// A text as character codes; its glyphs are embedded.
    pub(super) fn encode(&mut self, text: &str) -> Vec<u8> {
        let mut codes = Vec::with_capacity(2 * text.len());
        for letter in text.chars() {
            let glyph = self.glyph(letter);
            let code = self.glyphs.remap(glyph.0);
            if usize::from(code) == self.used.len() {
                self.used.push((self.advance(glyph), Some(letter)));
            }
            codes.extend(code.to_be_bytes());
        }
        codes
    }

    /// Writes the font's objects, from the reference `next` on.
    pub(super) fn write(&self, pdf: &mut Pdf, font: Ref, next: &mut Ref) -> Result<(), PdfError> {
        let subset = subsetter::subset(self.data, 0, &self.glyphs)
            .map_err(|error| PdfError::Font(error.to_string()))?;
        let [cid, descriptor, letters, file] = [(); 4].map(|()| next.bump());
        // Six letters and a plus say that this is a subset.
        let base = format!("ENDARC+{}", self.name);
        let base = Name(base.as_bytes());
        pdf.type0_font(font)
            .base_font(base)
            .encoding_predefined(Name(b"Identity-H"))
            .descendant_font(cid)
            .to_unicode(letters);
        let mut dictionary = pdf.cid_font(cid);
        dictionary
            .subtype(CidFontType::Type2)
            .base_font(base)
            .system_info(SYSTEM)
            .font_descriptor(descriptor)
            .cid_to_gid_map_predefined(Name(b"Identity"));
        dictionary.widths().consecutive(0, self.used.iter().map(|(width, _)| *width));
        dictionary.finish();
        self.describe(pdf, descriptor, base, file);
        pdf.cmap(letters, &self.letters());
        pdf.stream(file, &subset).pair(Name(b"Length1"), i32::try_from(subset.len()).unwrap_or(0));
        Ok(())
    }

    fn describe(&self, pdf: &mut Pdf, descriptor: Ref, base: Name<'_>, file: Ref) {
        let scale = self.scale();
        let bounds = self.face.global_bounding_box();
        let [left, bottom, right, top] =
            [bounds.x_min, bounds.y_min, bounds.x_max, bounds.y_max].map(|v| f32::from(v) * scale);
        pdf.font_descriptor(descriptor)
            .name(base)
            .flags(FontFlags::NON_SYMBOLIC)
            .bbox(Rect::new(left, bottom, right, top))
            .italic_angle(0.0)
            .ascent(f32::from(self.face.ascender()) * scale)
            .descent(f32::from(self.face.descender()) * scale)
            .cap_height(f32::from(self.face.capital_height().unwrap_or(0)) * scale)
            .stem_v(if self.face.is_bold() { 140.0 } else { 90.0 })
            .font_file2(file);
    }

    /// Which glyph is which letter, so that text can be searched, read aloud and copied.
    fn letters(&self) -> Vec<u8> {
        let mut map = UnicodeCmap::new(Name(b"Letters"), SYSTEM);
        for (code, (_, letter)) in self.used.iter().enumerate() {
            if let (Ok(code), Some(letter)) = (u16::try_from(code), letter) {
                map.pair(code, *letter);
            }
        }
        map.finish().into_vec()
    }
}
