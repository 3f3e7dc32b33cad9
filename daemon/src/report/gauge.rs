//! Before and after as a drawing: the two legs beside one another, neutral in the middle, internal
//! upward, external downward, as on the page.
//!
//! Before and after are told apart by place, by the mark's form and by dashes, never by colour alone.

mod sheet;

use plotters::backend::DrawingBackend;
use plotters::drawing::{DrawingAreaErrorKind, IntoDrawingArea};

use sheet::Sheet;

/// Everything the drawing shows.
#[derive(Debug, Clone, PartialEq)]
pub struct Gauge {
    /// The legs, left first.
    pub legs: Vec<Leg>,
    /// The words on it.
    pub labels: Labels,
    /// The same in words, for those who do not see it.
    pub alternative: String,
}

/// The words on the drawing.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Labels {
    /// Under the marks of before.
    pub before: String,
    /// Under the marks of after.
    pub after: String,
    /// What a bar is.
    pub bar: String,
    /// What the band is.
    pub band: String,
    /// What a short line is.
    pub line: String,
}

/// One leg.
#[derive(Debug, Clone, PartialEq)]
pub struct Leg {
    /// Its name.
    pub name: String,
    /// Each direction.
    pub ways: Vec<Way>,
}

/// One direction of a leg.
#[derive(Debug, Clone, PartialEq)]
pub struct Way {
    /// Its name.
    pub name: String,
    /// Whether it is drawn upward.
    pub up: bool,
    /// Before.
    pub before: Option<Ends>,
    /// After.
    pub after: Option<Ends>,
    /// A change smaller than this cannot be told from error, degrees.
    pub limit_deg: Option<f64>,
}

/// The end ranges of one phase, degrees along the direction.
#[derive(Debug, Clone, PartialEq)]
pub struct Ends {
    /// Their mean.
    pub mean_deg: f64,
    /// The mean as it is written beside its mark.
    pub label: String,
    /// Half of the mean's 95 % interval.
    pub half95_deg: Option<f64>,
    /// Each that counts.
    pub each_deg: Vec<f64>,
}

impl Gauge {
    /// Height to width.
    #[must_use]
    pub fn shape(&self) -> f32 {
        if self.is_two_way() { 0.33 } else { 0.26 }
    }

    fn ways(&self) -> impl Iterator<Item = &Way> {
        self.legs.iter().flat_map(|leg| &leg.ways)
    }

    fn is_two_way(&self) -> bool {
        self.ways().any(|way| !way.up)
    }

    /// The largest angle that must fit, in whole tens of degrees.
    fn reach_deg(&self) -> f64 {
        let ends = self.ways().flat_map(|way| way.before.iter().chain(&way.after));
        let largest = ends
            .flat_map(|ends| {
                let top = ends.mean_deg + ends.half95_deg.unwrap_or(0.0);
                ends.each_deg.iter().copied().chain([top])
            })
            .fold(35.0, f64::max);
        (largest / 10.0).ceil() * 10.0
    }
}

/// As an SVG that stands in a page of HTML, `width_pt` wide.
///
/// # Errors
/// Whatever the backend reports.
pub fn svg(gauge: &Gauge, width_pt: f32) -> Result<String, String> {
    const UNITS: f32 = 8.0;
    let (wide, high) = (width_pt * UNITS, width_pt * gauge.shape() * UNITS);
    let mut text = String::new();
    let backend = plotters::prelude::SVGBackend::with_string(&mut text, (wide as u32, high as u32));
    draw(backend, gauge, f64::from(UNITS), SVG_LETTERS).map_err(|error| error.to_string())?;
    Ok(text)
}

/// What plotters makes of a letter size in an SVG: it divides by this.
const SVG_LETTERS: f64 = 1.24;

/// Draws it over all of a backend; `unit` is how many of its pixels are a point, `letters` what it
/// divides letter sizes by.
///
/// # Errors
/// Whatever the backend reports.
pub fn draw<B: DrawingBackend>(
    backend: B,
    gauge: &Gauge,
    unit: f64,
    letters: f64,
) -> Result<(), DrawingAreaErrorKind<B::ErrorType>> {
    let area = backend.into_drawing_area();
    let sheet = Sheet::new(&area, gauge, unit, letters);
    sheet.scale()?;
    for (number, leg) in gauge.legs.iter().enumerate() {
        sheet.leg(number, leg)?;
    }
    sheet.legend(&gauge.labels)?;
    area.present()
}
