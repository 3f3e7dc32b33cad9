//! Blocks from top to bottom, page after page.

use super::PdfError;
use super::drawing::Drawing;
use super::lines::lines;
use super::paper::{Ink, Paper, Weight};
use crate::report::document::{Block, Table};
use crate::report::gauge::{self, Gauge};

/// Margins that every printer can print, points.
const MARGIN: f32 = 36.0;
/// Between two columns, points.
const GUTTER: f32 = 22.0;

const BLACK: Ink = (0x10, 0x22, 0x2b);
const QUIET: Ink = (0x33, 0x49, 0x4f);
const RULE: Ink = (0xb4, 0xc2, 0xc8);

/// Drawing units in a point.
const UNITS: f32 = 8.0;

/// Lays blocks out on paper.
pub(super) struct Layout {
    paper: Paper,
    size_pt: f32,
    y: f32,
}

/// Where a block may stand.
#[derive(Debug, Clone, Copy)]
struct Column {
    x: f32,
    width: f32,
}

impl Layout {
    pub(super) const fn new(paper: Paper, size_pt: f32) -> Self {
        Self { paper, size_pt, y: MARGIN }
    }

    /// Adds a block; it begins a new page where it does not fit on this one.
    pub(super) fn add(&mut self, block: &Block) -> Result<(), PdfError> {
        let column = Column { x: MARGIN, width: self.paper.size.width_pt() - 2.0 * MARGIN };
        let high = self.height(block, column.width);
        let bottom = self.paper.size.height_pt() - MARGIN - 1.2 * self.size_pt;
        if self.y + high > bottom && self.y > MARGIN {
            self.paper.next_page();
            self.y = MARGIN;
        }
        self.y = self.draw(block, column, self.y)?;
        Ok(())
    }

    /// Puts the foot on every page.
    pub(super) fn finish(mut self, foot: &str) -> Paper {
        let size = 0.8 * self.size_pt;
        let y = self.paper.size.height_pt() - 0.75 * MARGIN;
        let count = self.paper.count();
        for page in 0..count {
            let text = if count == 1 {
                foot.to_owned()
            } else {
                format!("{foot} · {}/{count}", page + 1)
            };
            self.paper.text_on(page, (MARGIN, y), (Weight::Regular, size), QUIET, &text);
        }
        self.paper
    }

    const fn step(&self) -> f32 {
        1.38 * self.size_pt
    }

    fn count(&self, text: &str, weight: Weight, size: f32, width: f32) -> f32 {
        lines(self.paper.font(weight), text, size, width).len() as f32
    }

    /// How high a block will be.
    fn height(&self, block: &Block, width: f32) -> f32 {
        let (size, step) = (self.size_pt, self.step());
        let text = |text: &String| self.count(text, Weight::Regular, size, width) * step;
        match block {
            Block::Title(_, _) => 4.2 * size,
            Block::Heading(_) => 2.3 * size,
            Block::Text(words) => text(words) + 0.35 * size,
            Block::Strong(words) => {
                self.count(words, Weight::Bold, size, width) * step + 0.35 * size
            }
            Block::List(items) => {
                let item = |item: &String| {
                    self.count(item, Weight::Regular, size, width - size) * step + 0.2 * size
                };
                items.iter().map(item).sum::<f32>() + 0.2 * size
            }
            Block::Facts(facts) => {
                let fact = |(_, value): &(String, String)| {
                    self.count(value, Weight::Regular, size, width - name_width(width)) * step
                };
                facts.iter().map(fact).sum::<f32>() + 0.35 * size
            }
            Block::Table(table) => (table.rows.len() as f32 + 1.0) * 1.55 * size + 0.6 * size,
            Block::Gauge(gauge) => gauge_height(gauge, width) + 0.4 * size,
            Block::Framed(items) => {
                let item = |item: &String| {
                    self.count(item, Weight::Regular, size, width - 2.0 * size) * step
                };
                items.iter().map(item).sum::<f32>() + 1.9 * size
            }
            Block::Columns(left, right) => {
                let half = (width - GUTTER) / 2.0;
                let high = |blocks: &[Block]| -> f32 {
                    blocks.iter().map(|block| self.height(block, half)).sum()
                };
                high(left).max(high(right))
            }
        }
    }

    /// Draws a block with its upper edge at `y`; returns where the next one begins.
    fn draw(&mut self, block: &Block, column: Column, y: f32) -> Result<f32, PdfError> {
        let (size, x) = (self.size_pt, column.x);
        let below = y + self.height(block, column.width);
        match block {
            Block::Title(title, under) => {
                let large = (Weight::Bold, 1.75 * size);
                self.paper.text((x, y + 1.6 * size), large, BLACK, title);
                self.paper.text((x, y + 3.1 * size), (Weight::Regular, size), QUIET, under);
            }
            Block::Heading(text) => {
                let heading = (Weight::Bold, 1.12 * size);
                self.paper.text((x, y + 1.75 * size), heading, BLACK, text);
            }
            Block::Text(text) => {
                self.paragraph(text, (Weight::Regular, BLACK), column, y);
            }
            Block::Strong(text) => {
                self.paragraph(text, (Weight::Bold, BLACK), column, y);
            }
            Block::List(items) => self.list(items, column, y),
            Block::Facts(facts) => self.facts(facts, column, y),
            Block::Table(table) => self.table(table, column, y),
            Block::Gauge(gauge) => self.gauge(gauge, column, y)?,
            Block::Framed(items) => {
                let frame = (column.width, below - y - 0.6 * size);
                self.paper.frame((x, y + 0.3 * size), frame, QUIET);
                let inner = Column { x: x + size, width: column.width - 2.0 * size };
                let mut y = y + 0.75 * size;
                for (place, item) in items.iter().enumerate() {
                    // The first sentence is the one that must not be missed.
                    let weight = if place == 0 { Weight::Bold } else { Weight::Regular };
                    y = self.paragraph(item, (weight, BLACK), inner, y);
                }
            }
            Block::Columns(left, right) => {
                let width = (column.width - GUTTER) / 2.0;
                for (blocks, x) in [(left, x), (right, x + width + GUTTER)] {
                    let mut y = y;
                    for block in blocks {
                        y = self.draw(block, Column { x, width }, y)?;
                    }
                }
            }
        }
        Ok(below)
    }

    /// Draws a paragraph; returns where its last line ends.
    fn paragraph(&mut self, text: &str, how: (Weight, Ink), column: Column, y: f32) -> f32 {
        let (weight, ink) = how;
        let broken = lines(self.paper.font(weight), text, self.size_pt, column.width);
        let mut y = y;
        for line in broken {
            let at = (column.x, y + self.size_pt);
            self.paper.text(at, (weight, self.size_pt), ink, &line);
            y += self.step();
        }
        y
    }

    fn list(&mut self, items: &[String], column: Column, y: f32) {
        let size = self.size_pt;
        let inner = Column { x: column.x + size, width: column.width - size };
        let mut y = y;
        for item in items {
            self.paper.text((column.x, y + size), (Weight::Regular, size), QUIET, "–");
            y = self.paragraph(item, (Weight::Regular, BLACK), inner, y) + 0.2 * size;
        }
    }

    fn facts(&mut self, facts: &[(String, String)], column: Column, y: f32) {
        let size = self.size_pt;
        let name = name_width(column.width);
        let inner = Column { x: column.x + name, width: column.width - name };
        let mut y = y;
        for (what, value) in facts {
            self.paper.text((column.x, y + size), (Weight::Regular, size), QUIET, what);
            y = self.paragraph(value, (Weight::Regular, BLACK), inner, y);
        }
    }

    fn table(&mut self, table: &Table, column: Column, y: f32) {
        let (size, row_high) = (self.size_pt, 1.55 * self.size_pt);
        let columns = table.head.len().max(2);
        // The first column holds words, the others figures that are aligned at the right.
        let first = 0.24 * column.width;
        let other = (column.width - first) / (columns as f32 - 1.0);
        for (row, cells) in std::iter::once(&table.head).chain(&table.rows).enumerate() {
            let base = y + row as f32 * row_high + 1.1 * size;
            let (weight, ink) =
                if row == 0 { (Weight::Regular, QUIET) } else { (Weight::Regular, BLACK) };
            for (place, cell) in cells.iter().enumerate() {
                let x = if place == 0 {
                    column.x
                } else {
                    let right = column.x + first + place as f32 * other;
                    right - self.paper.font(weight).width(cell, size)
                };
                self.paper.text((x, base), (weight, size), ink, cell);
            }
            let rule = base + 0.38 * size;
            self.paper.line((column.x, rule), (column.x + column.width, rule), 0.5, RULE);
        }
    }

    fn gauge(&mut self, gauge: &Gauge, column: Column, y: f32) -> Result<(), PdfError> {
        let high = gauge_height(gauge, column.width);
        let size = ((column.width * UNITS) as u32, (high * UNITS) as u32);
        let at = (column.x, y);
        let drawing = Drawing { paper: &mut self.paper, at, unit_pt: 1.0 / UNITS, size };
        gauge::draw(drawing, gauge, f64::from(UNITS), 1.0)
            .map_err(|error| PdfError::Drawing(error.to_string()))
    }
}

/// How wide the names of facts are, where they stand in a column of this width.
fn name_width(width: f32) -> f32 {
    if width < 300.0 { 0.32 * width } else { 0.2 * width }
}

fn gauge_height(gauge: &Gauge, width: f32) -> f32 {
    gauge.shape() * width
}
