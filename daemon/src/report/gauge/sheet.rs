//! The sheet that the drawing is made on: its scale, and the marks.

use plotters::backend::DrawingBackend;
use plotters::coord::Shift;
use plotters::drawing::{DrawingArea, DrawingAreaErrorKind};
use plotters::element::{Circle, PathElement, Polygon, Rectangle, Text};
use plotters::style::text_anchor::{HPos, Pos, VPos};
use plotters::style::{Color, FontStyle, IntoFont, RGBColor, ShapeStyle, TextStyle};

use super::{Ends, Gauge, Labels, Leg, Way};

const INK: RGBColor = RGBColor(0x10, 0x22, 0x2b);
const QUIET: RGBColor = RGBColor(0x33, 0x49, 0x4f);
const RULE: RGBColor = RGBColor(0xcc, 0xd6, 0xda);
const EDGE: RGBColor = RGBColor(0x5d, 0x74, 0x7e);
const BAND: RGBColor = RGBColor(0xee, 0xf2, 0xf4);
const HATCH: RGBColor = RGBColor(0x9f, 0xb1, 0xb9);
const AFTER: RGBColor = RGBColor(0x71, 0x36, 0x00);

type Drawn<B> = Result<(), DrawingAreaErrorKind<<B as DrawingBackend>::ErrorType>>;

/// The area with its scale. All lengths are points until they are drawn.
pub(super) struct Sheet<'a, B: DrawingBackend> {
    area: &'a DrawingArea<B, Shift>,
    unit: f64,
    letters: f64,
    width: f64,
    top: f64,
    bottom: f64,
    /// Degrees at the upper and at the lower edge.
    degrees: (f64, f64),
    columns: usize,
    labels: &'a Labels,
}

/// Between the legs' columns, where the degrees stand.
const MIDDLE: f64 = 34.0;
/// Size of what is written, points.
const LETTERS: f64 = 8.0;

impl<'a, B: DrawingBackend> Sheet<'a, B> {
    pub(super) fn new(
        area: &'a DrawingArea<B, Shift>,
        gauge: &'a Gauge,
        unit: f64,
        letters: f64,
    ) -> Self {
        let (width, height) = area.dim_in_pixel();
        let reach = gauge.reach_deg();
        Self {
            area,
            unit,
            letters,
            width: f64::from(width) / unit,
            top: 16.0,
            bottom: f64::from(height) / unit - 20.0,
            degrees: (reach, if gauge.is_two_way() { -reach } else { 0.0 }),
            columns: gauge.legs.len().max(1),
            labels: &gauge.labels,
        }
    }

    fn at(&self, x: f64, y: f64) -> (i32, i32) {
        ((x * self.unit).round() as i32, (y * self.unit).round() as i32)
    }

    fn y(&self, degrees: f64) -> f64 {
        let (up, down) = self.degrees;
        self.top + (up - degrees) / (up - down) * (self.bottom - self.top)
    }

    /// The left and right edge of a leg's column.
    fn column(&self, number: usize) -> (f64, f64) {
        let columns = self.columns as f64;
        let wide = (self.width - MIDDLE * (columns - 1.0).max(1.0)) / columns;
        let left = number as f64 * (wide + MIDDLE);
        (left, left + wide)
    }

    fn style(&self, color: RGBColor, width: f64) -> ShapeStyle {
        let stroke_width = ((width * self.unit).round() as u32).max(1);
        ShapeStyle { color: color.to_rgba(), filled: false, stroke_width }
    }

    fn line(&self, from: (f64, f64), to: (f64, f64), color: RGBColor, width: f64) -> Drawn<B> {
        let ends = vec![self.at(from.0, from.1), self.at(to.0, to.1)];
        self.area.draw(&PathElement::new(ends, self.style(color, width)))
    }

    fn dashes(&self, (left, right): (f64, f64), y: f64, color: RGBColor, width: f64) -> Drawn<B> {
        let mut x = left;
        while x < right {
            self.line((x, y), ((x + 4.0).min(right), y), color, width)?;
            x += 6.5;
        }
        Ok(())
    }

    fn write(&self, at: (f64, f64), text: &str, how: Letters) -> Drawn<B> {
        let font = ("sans-serif", LETTERS * self.letters * how.larger * self.unit).into_font();
        let font = if how.bold { font.style(FontStyle::Bold) } else { font };
        let style = TextStyle::from(font).color(&how.color).pos(Pos::new(how.side, VPos::Center));
        self.area.draw(&Text::new(text.to_owned(), self.at(at.0, at.1), style))
    }

    /// The lines every ten degrees, with the degrees between the columns.
    pub(super) fn scale(&self) -> Drawn<B> {
        let (up, down) = self.degrees;
        let (first, last) = (self.column(0).1, self.column(self.columns - 1).0);
        let x = if self.columns > 1 {
            f64::midpoint(first, last)
        } else {
            self.column(0).1 + MIDDLE / 2.0
        };
        let steps = ((up - down) / 10.0).round() as i32;
        for step in 0..=steps {
            let degrees = up - 10.0 * f64::from(step);
            let y = self.y(degrees);
            let zero = degrees.abs() < 0.5;
            for number in 0..self.columns {
                let (left, right) = self.column(number);
                let (color, width) = if zero { (EDGE, 1.2) } else { (RULE, 0.4) };
                self.line((left, y), (right, y), color, width)?;
            }
            // Degrees are told along the direction, so they have no sign.
            let text = format!("{:.0}°", degrees.abs());
            self.write((x, y), &text, Letters::quiet(HPos::Center))?;
        }
        Ok(())
    }

    pub(super) fn leg(&self, number: usize, leg: &Leg) -> Drawn<B> {
        let (left, right) = self.column(number);
        let corners =
            [(left, self.top), (right, self.top), (right, self.bottom), (left, self.bottom)];
        let frame: Vec<_> = corners.iter().cycle().take(5).map(|(x, y)| self.at(*x, *y)).collect();
        self.write((f64::midpoint(left, right), 7.0), &leg.name, Letters::bold())?;
        for way in &leg.ways {
            self.way((left, right), way)?;
        }
        self.area.draw(&PathElement::new(frame, self.style(EDGE, 0.8)))
    }

    fn way(&self, (left, right): (f64, f64), way: &Way) -> Drawn<B> {
        let sign = if way.up { 1.0 } else { -1.0 };
        let width = right - left;
        let (before_x, after_x) = (left + 0.36 * width, left + 0.66 * width);
        if let (Some(before), Some(limit)) = (&way.before, way.limit_deg) {
            let ends = (before.mean_deg - limit, before.mean_deg + limit);
            self.band((left, right), (self.y(sign * ends.0), self.y(sign * ends.1)))?;
        }
        if let (Some(before), Some(after)) = (&way.before, &way.after) {
            let from = (before_x, self.y(sign * before.mean_deg));
            let to = (after_x, self.y(sign * after.mean_deg));
            self.line(from, to, EDGE, 0.6)?;
        }
        if let Some(ends) = &way.before {
            self.ends(before_x, sign, ends, Mark::Before)?;
        }
        if let Some(ends) = &way.after {
            self.ends(after_x, sign, ends, Mark::After)?;
        }
        // Beside neutral there is always room: hips turn further than that.
        let y = self.y(0.0) - sign * 8.0;
        self.write((f64::midpoint(left, right), y), &way.name, Letters::quiet(HPos::Center))
    }

    /// The band inside which a change cannot be told from error.
    fn band(&self, (left, right): (f64, f64), (one, other): (f64, f64)) -> Drawn<B> {
        let (top, bottom) = (one.min(other).max(self.top), one.max(other).min(self.bottom));
        self.hatched((left, top), (right, bottom))
    }

    fn hatched(&self, (left, top): (f64, f64), (right, bottom): (f64, f64)) -> Drawn<B> {
        let corners = [self.at(left, top), self.at(right, bottom)];
        self.area.draw(&Rectangle::new(corners, BAND.filled()))?;
        self.hatch((left, top), (right, bottom))?;
        for y in [top, bottom] {
            self.line((left, y), (right, y), HATCH, 0.4)?;
        }
        Ok(())
    }

    /// Slanting lines, each cut at the edges.
    fn hatch(&self, (left, top): (f64, f64), (right, bottom): (f64, f64)) -> Drawn<B> {
        let high = bottom - top;
        let mut x = left - high;
        while x < right {
            let from = x.max(left);
            let to = (x + high).min(right);
            if to > from {
                let y = |at: f64| bottom - (at - x);
                self.line((from, y(from)), (to, y(to)), HATCH, 0.25)?;
            }
            x += 6.0;
        }
        Ok(())
    }

    fn ends(&self, x: f64, sign: f64, ends: &Ends, mark: Mark) -> Drawn<B> {
        let color = mark.color();
        for each in &ends.each_deg {
            let y = self.y(sign * each);
            let span = (x - 17.0, x + 17.0);
            match mark {
                Mark::Before => self.dashes(span, y, color, 0.9)?,
                Mark::After => self.line((span.0, y), (span.1, y), color, 1.1)?,
            }
        }
        let mean = self.y(sign * ends.mean_deg);
        if let Some(half) = ends.half95_deg {
            let (high, low) =
                (self.y(sign * (ends.mean_deg + half)), self.y(sign * (ends.mean_deg - half)));
            self.bar(x, (high, low), color)?;
        }
        self.mark((x, mean), mark)?;
        let (side, at) = match mark {
            Mark::Before => (HPos::Right, x - 22.0),
            Mark::After => (HPos::Left, x + 22.0),
        };
        self.write((at, mean), &ends.label, Letters { side, ..Letters::bold() })
    }

    fn bar(&self, x: f64, (high, low): (f64, f64), color: RGBColor) -> Drawn<B> {
        self.line((x, high), (x, low), color, 1.0)?;
        for y in [high, low] {
            self.line((x - 4.0, y), (x + 4.0, y), color, 1.0)?;
        }
        Ok(())
    }

    /// A hollow diamond for before, a full disc for after.
    fn mark(&self, (x, y): (f64, f64), mark: Mark) -> Drawn<B> {
        match mark {
            Mark::Before => {
                const R: f64 = 4.2;
                let mut corners: Vec<_> = [(x, y - R), (x + R, y), (x, y + R), (x - R, y)]
                    .iter()
                    .map(|(x, y)| self.at(*x, *y))
                    .collect();
                let white = RGBColor(255, 255, 255).filled();
                self.area.draw(&Polygon::new(corners.clone(), white))?;
                corners.extend(corners.first().copied());
                self.area.draw(&PathElement::new(corners, self.style(mark.color(), 1.2)))
            }
            Mark::After => {
                let radius = (3.4 * self.unit).round() as i32;
                self.area.draw(&Circle::new(self.at(x, y), radius, mark.color().filled()))
            }
        }
    }

    pub(super) fn legend(&self, labels: &Labels) -> Drawn<B> {
        let y = self.bottom + 11.0;
        let place = |number: f64| number * self.width / 5.0;
        let word = |number: f64, text: &str| {
            let letters = Letters { larger: 0.85, ..Letters::quiet(HPos::Left) };
            self.write((place(number) + 20.0, y), text, letters)
        };
        self.mark((10.0, y), Mark::Before)?;
        word(0.0, &labels.before)?;
        self.mark((place(1.0) + 10.0, y), Mark::After)?;
        word(1.0, &labels.after)?;
        self.dashes((place(2.0) + 1.0, place(2.0) + 17.0), y - 2.0, INK, 1.0)?;
        self.line((place(2.0) + 1.0, y + 2.0), (place(2.0) + 17.0, y + 2.0), AFTER, 1.0)?;
        word(2.0, &self.labels.line)?;
        self.bar(place(3.0) + 10.0, (y - 5.0, y + 5.0), INK)?;
        word(3.0, &labels.bar)?;
        self.hatched((place(4.0) + 2.0, y - 5.0), (place(4.0) + 17.0, y + 5.0))?;
        word(4.0, &labels.band)
    }
}

/// Which phase a mark stands for.
#[derive(Debug, Clone, Copy)]
enum Mark {
    Before,
    After,
}

impl Mark {
    const fn color(self) -> RGBColor {
        match self {
            Self::Before => INK,
            Self::After => AFTER,
        }
    }
}

/// How something is written.
#[derive(Clone, Copy)]
struct Letters {
    side: HPos,
    bold: bool,
    color: RGBColor,
    larger: f64,
}

impl Letters {
    const fn quiet(side: HPos) -> Self {
        Self { side, bold: false, color: QUIET, larger: 1.0 }
    }

    const fn bold() -> Self {
        Self { side: HPos::Center, bold: true, color: INK, larger: 1.15 }
    }
}
