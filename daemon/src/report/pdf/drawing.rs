//! A plotting area on a page of a PDF.

use std::convert::Infallible;

use plotters::backend::DrawingBackend;
use plotters::style::text_anchor::{HPos, VPos};
use plotters_backend::{
    BackendColor, BackendCoord, BackendStyle, BackendTextStyle, DrawingErrorKind, FontStyle,
};

use super::paper::{Ink, Paper, Weight, shares};

/// Where a drawing stands, and how many points one of its units is.
pub(super) struct Drawing<'a> {
    pub(super) paper: &'a mut Paper,
    pub(super) at: (f32, f32),
    pub(super) unit_pt: f32,
    pub(super) size: (u32, u32),
}

type Drawn = Result<(), DrawingErrorKind<Infallible>>;

impl Drawing<'_> {
    /// A place on the page, as a PDF counts.
    fn place(&self, (x, y): BackendCoord) -> (f32, f32) {
        let down = self.at.1 + y as f32 * self.unit_pt;
        (self.at.0 + x as f32 * self.unit_pt, self.paper.up(down))
    }

    fn path(&mut self, points: &[BackendCoord], style: &impl BackendStyle, how: How) {
        let places: Vec<(f32, f32)> = points.iter().map(|point| self.place(*point)).collect();
        let Some(&first) = places.first() else { return };
        let width = style.stroke_width() as f32 * self.unit_pt;
        let [red, green, blue] = shares(ink(style.color()));
        self.paper.draw(|page| {
            match how {
                How::Filled => page.set_fill_rgb(red, green, blue),
                _ => page.set_stroke_rgb(red, green, blue).set_line_width(width),
            };
            page.move_to(first.0, first.1);
            for place in places.iter().skip(1) {
                page.line_to(place.0, place.1);
            }
            match how {
                How::Filled => page.fill_nonzero(),
                How::Closed => page.close_and_stroke(),
                How::Open => page.stroke(),
            };
        });
    }
}

/// What becomes of a path.
#[derive(Debug, Clone, Copy)]
enum How {
    Open,
    Closed,
    Filled,
}

impl How {
    const fn filled(fill: bool) -> Self {
        if fill { Self::Filled } else { Self::Closed }
    }
}

/// A colour on white paper: what shows through is white.
fn ink(color: BackendColor) -> Ink {
    let (red, green, blue) = color.rgb;
    let mix = |part: u8| (255.0 - color.alpha * (255.0 - f64::from(part))).round() as u8;
    (mix(red), mix(green), mix(blue))
}

impl DrawingBackend for Drawing<'_> {
    type ErrorType = Infallible;

    fn get_size(&self) -> (u32, u32) {
        self.size
    }

    fn ensure_prepared(&mut self) -> Drawn {
        Ok(())
    }

    fn present(&mut self) -> Drawn {
        Ok(())
    }

    fn draw_pixel(&mut self, (x, y): BackendCoord, color: BackendColor) -> Drawn {
        self.draw_rect((x, y), (x + 1, y + 1), &color, true)
    }

    fn draw_line<S: BackendStyle>(&mut self, a: BackendCoord, b: BackendCoord, style: &S) -> Drawn {
        self.path(&[a, b], style, How::Open);
        Ok(())
    }

    fn draw_rect<S: BackendStyle>(
        &mut self,
        (left, top): BackendCoord,
        (right, bottom): BackendCoord,
        style: &S,
        fill: bool,
    ) -> Drawn {
        let corners = [(left, top), (right, top), (right, bottom), (left, bottom)];
        self.path(&corners, style, How::filled(fill));
        Ok(())
    }

    fn draw_path<S: BackendStyle, I: IntoIterator<Item = BackendCoord>>(
        &mut self,
        path: I,
        style: &S,
    ) -> Drawn {
        let points: Vec<BackendCoord> = path.into_iter().collect();
        self.path(&points, style, How::Open);
        Ok(())
    }

    fn draw_circle<S: BackendStyle>(
        &mut self,
        (x, y): BackendCoord,
        radius: u32,
        style: &S,
        fill: bool,
    ) -> Drawn {
        // A PDF has no circles; at the size of a mark, 24 sides are one.
        let corner = |number: u32| {
            let (sin, cos) = (f64::from(number) * std::f64::consts::TAU / 24.0).sin_cos();
            let along = |part: f64| (part * f64::from(radius)).round() as i32;
            (x + along(cos), y + along(sin))
        };
        let corners: Vec<BackendCoord> = (0..24).map(corner).collect();
        self.path(&corners, style, How::filled(fill));
        Ok(())
    }

    fn fill_polygon<S: BackendStyle, I: IntoIterator<Item = BackendCoord>>(
        &mut self,
        corners: I,
        style: &S,
    ) -> Drawn {
        let corners: Vec<BackendCoord> = corners.into_iter().collect();
        self.path(&corners, style, How::Filled);
        Ok(())
    }

    fn draw_text<T: BackendTextStyle>(
        &mut self,
        text: &str,
        style: &T,
        (x, y): BackendCoord,
    ) -> Drawn {
        let weight = match style.style() {
            FontStyle::Bold => Weight::Bold,
            _ => Weight::Regular,
        };
        let size_pt = style.size() as f32 * self.unit_pt;
        let wide = self.paper.font(weight).width(text, size_pt);
        let left = match style.anchor().h_pos {
            HPos::Left => 0.0,
            HPos::Center => wide / 2.0,
            HPos::Right => wide,
        };
        // Where letters stand: a capital is some 0.7 of the size high.
        let down = match style.anchor().v_pos {
            VPos::Top => 0.76,
            VPos::Center => 0.35,
            VPos::Bottom => -0.2,
        } * size_pt;
        let at = (
            self.at.0 + x as f32 * self.unit_pt - left,
            self.at.1 + y as f32 * self.unit_pt + down,
        );
        self.paper.text(at, (weight, size_pt), ink(style.color()), text);
        Ok(())
    }

    fn estimate_text_size<T: BackendTextStyle>(
        &self,
        text: &str,
        style: &T,
    ) -> Result<(u32, u32), DrawingErrorKind<Infallible>> {
        let size = style.size() as f32;
        Ok((self.paper.font(Weight::Regular).width(text, size) as u32, size as u32))
    }
}
