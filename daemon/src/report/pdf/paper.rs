//! Pages to draw on: lengths in points, the origin in the upper left corner.

use pdf_writer::{Content, Finish, Name, Pdf, Rect, Ref, Str, TextStr};

use super::font::Font;
use super::{PaperSize, PdfError};

/// A colour: red, green, blue.
pub(super) type Ink = (u8, u8, u8);

/// The two weights.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Weight {
    Regular,
    Bold,
}

/// The pages of one file.
pub(super) struct Paper {
    pub(super) size: PaperSize,
    regular: Font,
    bold: Font,
    pages: Vec<Content>,
}

impl Paper {
    pub(super) fn new(size: PaperSize) -> Result<Self, PdfError> {
        let regular = Font::new("NotoSans-Regular", notosans::REGULAR_TTF)?;
        let bold = Font::new("NotoSans-Bold", notosans::BOLD_TTF)?;
        Ok(Self { size, regular, bold, pages: vec![Content::new()] })
    }

    pub(super) fn next_page(&mut self) {
        self.pages.push(Content::new());
    }

    pub(super) const fn count(&self) -> usize {
        self.pages.len()
    }

    pub(super) const fn font(&self, weight: Weight) -> &Font {
        match weight {
            Weight::Regular => &self.regular,
            Weight::Bold => &self.bold,
        }
    }

    /// Draws on the last page.
    pub(super) fn draw(&mut self, with: impl FnOnce(&mut Content)) {
        if let Some(page) = self.pages.last_mut() {
            with(page);
        }
    }

    /// The height above the lower edge, as a PDF counts.
    pub(super) const fn up(&self, y: f32) -> f32 {
        self.size.height_pt() - y
    }

    /// A line of text; `y` is its base line.
    pub(super) fn text(
        &mut self,
        (x, y): (f32, f32),
        (weight, size_pt): (Weight, f32),
        ink: Ink,
        text: &str,
    ) {
        let page = self.pages.len() - 1;
        self.text_on(page, (x, y), (weight, size_pt), ink, text);
    }

    /// A line of text on a page of one's choice.
    pub(super) fn text_on(
        &mut self,
        page: usize,
        (x, y): (f32, f32),
        (weight, size_pt): (Weight, f32),
        ink: Ink,
        text: &str,
    ) {
        let up = self.up(y);
        let (font, name) = match weight {
            Weight::Regular => (&mut self.regular, Name(b"R")),
            Weight::Bold => (&mut self.bold, Name(b"B")),
        };
        let codes = font.encode(text);
        let Some(content) = self.pages.get_mut(page) else { return };
        let [red, green, blue] = shares(ink);
        content.begin_text();
        content.set_fill_rgb(red, green, blue).set_font(name, size_pt);
        content.next_line(x, up).show(Str(&codes)).end_text();
    }

    /// A straight line.
    pub(super) fn line(&mut self, from: (f32, f32), to: (f32, f32), width: f32, ink: Ink) {
        let (from, to) = ((from.0, self.up(from.1)), (to.0, self.up(to.1)));
        let [red, green, blue] = shares(ink);
        self.draw(|content| {
            content.set_stroke_rgb(red, green, blue).set_line_width(width);
            content.move_to(from.0, from.1).line_to(to.0, to.1).stroke();
        });
    }

    /// An empty frame.
    pub(super) fn frame(&mut self, (x, y): (f32, f32), (wide, high): (f32, f32), ink: Ink) {
        let bottom = self.up(y + high);
        let [red, green, blue] = shares(ink);
        self.draw(|content| {
            content.set_stroke_rgb(red, green, blue).set_line_width(0.75);
            content.rect(x, bottom, wide, high).stroke();
        });
    }

    /// The whole file.
    pub(super) fn finish(self, title: &str, language: &str) -> Result<Vec<u8>, PdfError> {
        let mut pdf = Pdf::new();
        let mut next = Ref::new(1);
        let [catalog, tree, information, regular, bold] = [(); 5].map(|()| next.bump());
        let pages: Vec<Ref> = self.pages.iter().map(|_| next.bump()).collect();
        pdf.catalog(catalog)
            .pages(tree)
            .lang(TextStr(language))
            .viewer_preferences()
            .display_doc_title(true);
        pdf.document_info(information).title(TextStr(title)).creator(TextStr("endarc"));
        let count = i32::try_from(pages.len()).unwrap_or(i32::MAX);
        pdf.pages(tree).kids(pages.iter().copied()).count(count);
        let media = Rect::new(0.0, 0.0, self.size.width_pt(), self.size.height_pt());
        for (content, id) in self.pages.into_iter().zip(pages) {
            let stream = next.bump();
            let mut page = pdf.page(id);
            page.parent(tree).media_box(media).contents(stream);
            page.resources().fonts().pair(Name(b"R"), regular).pair(Name(b"B"), bold);
            page.finish();
            pdf.stream(stream, &content.finish());
        }
        self.regular.write(&mut pdf, regular, &mut next)?;
        self.bold.write(&mut pdf, bold, &mut next)?;
        Ok(pdf.finish())
    }
}

/// A colour as a PDF writes it: 0 to 1.
pub(super) fn shares((red, green, blue): Ink) -> [f32; 3] {
    [red, green, blue].map(|part| f32::from(part) / 255.0)
}
