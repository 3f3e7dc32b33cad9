//! What a report consists of, before it is a page of HTML or PDF.

use super::gauge::Gauge;

/// A report, ready to be drawn.
#[derive(Debug, Clone, PartialEq)]
pub struct Document {
    /// Language tag (BCP 47).
    pub language: &'static str,
    /// The title, e.g. for a window or a list of files.
    pub title: String,
    /// What stands at the foot of each page.
    pub foot: String,
    /// Text size it is meant for, points.
    pub size_pt: f32,
    /// Top to bottom.
    pub blocks: Vec<Block>,
}

/// One part of a report.
#[derive(Debug, Clone, PartialEq)]
pub enum Block {
    /// The report's name, and a line beneath it.
    Title(String, String),
    /// A heading.
    Heading(String),
    /// A paragraph.
    Text(String),
    /// A paragraph that matters most.
    Strong(String),
    /// A list.
    List(Vec<String>),
    /// Names and what they are.
    Facts(Vec<(String, String)>),
    /// A table; the first column is text, all others are figures.
    Table(Table),
    /// The drawing of before and after.
    Gauge(Gauge),
    /// Sentences in a frame.
    Framed(Vec<String>),
    /// Two columns beside one another, of equal width.
    Columns(Vec<Self>, Vec<Self>),
}

/// A table.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Table {
    /// The columns' names.
    pub head: Vec<String>,
    /// Row by row, as many cells as there are columns.
    pub rows: Vec<Vec<String>>,
}
