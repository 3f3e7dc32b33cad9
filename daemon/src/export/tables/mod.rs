//! Visits as tables: each column tells what it holds beside how it is filled.

mod measured;
mod persons;
mod recorded;
mod values;

pub use measured::{comparisons, repetitions};
pub use persons::{persons, visits};
pub use recorded::{gaps, marks, sensors, spans};
pub use values::values;

use super::{Disguise, Leaving};

/// What a column holds.
#[derive(Debug, Clone, PartialEq)]
pub enum Kind {
    /// Text.
    Text,
    /// One of these words.
    Word(Vec<&'static str>),
    /// A number.
    Number,
    /// A whole number, at least this.
    Integer(i64),
    /// True or false.
    Boolean,
    /// A time of day with its date and offset.
    Time,
    /// A JSON object.
    Object,
}

/// One cell.
#[derive(Debug, Clone, PartialEq)]
pub enum Cell {
    /// Not known, or not applicable.
    Empty,
    /// Text, a word, a time or an object.
    Text(String),
    /// A number.
    Number(f64),
    /// A whole number.
    Integer(i64),
    /// True or false.
    Boolean(bool),
}

impl From<f64> for Cell {
    /// A number that is not finite is none.
    fn from(number: f64) -> Self {
        if number.is_finite() { Self::Number(number) } else { Self::Empty }
    }
}

impl From<u32> for Cell {
    fn from(number: u32) -> Self {
        Self::Integer(number.into())
    }
}

impl From<bool> for Cell {
    fn from(truth: bool) -> Self {
        Self::Boolean(truth)
    }
}

impl From<String> for Cell {
    /// An empty text says nothing.
    fn from(text: String) -> Self {
        if text.is_empty() { Self::Empty } else { Self::Text(text) }
    }
}

impl From<&str> for Cell {
    fn from(text: &str) -> Self {
        text.to_owned().into()
    }
}

impl<T: Into<Self>> From<Option<T>> for Cell {
    fn from(value: Option<T>) -> Self {
        value.map_or(Self::Empty, Into::into)
    }
}

/// What a column holds, in words.
#[derive(Debug, Clone, PartialEq)]
pub struct Head {
    /// Its name, with the unit in it.
    pub name: &'static str,
    /// What it holds.
    pub kind: Kind,
    /// In which unit (UCUM), where it has one.
    pub unit: Option<&'static str>,
    /// Whether every row has it.
    pub required: bool,
    /// What it means.
    pub about: &'static str,
}

/// A column: its head, and how a row's cell is found.
pub struct Column<R> {
    head: Head,
    /// Whether people typed it.
    typed: bool,
    cell: Box<dyn Fn(&R) -> Cell>,
}

impl<R> Column<R> {
    fn new(
        name: &'static str,
        kind: Kind,
        about: &'static str,
        cell: impl Fn(&R) -> Cell + 'static,
    ) -> Self {
        let head = Head { name, kind, unit: None, required: false, about };
        Self { head, typed: false, cell: Box::new(cell) }
    }

    fn text(name: &'static str, about: &'static str, cell: impl Fn(&R) -> Cell + 'static) -> Self {
        Self::new(name, Kind::Text, about, cell)
    }

    fn number(
        name: &'static str,
        unit: &'static str,
        about: &'static str,
        cell: impl Fn(&R) -> Cell + 'static,
    ) -> Self {
        let mut column = Self::new(name, Kind::Number, about, cell);
        column.head.unit = Some(unit);
        column
    }

    const fn required(mut self) -> Self {
        self.head.required = true;
        self
    }

    /// People typed it: it leaves only if that was asked for.
    const fn typed(mut self) -> Self {
        self.typed = true;
        self
    }
}

impl<R> std::fmt::Debug for Column<R> {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("Column").field("head", &self.head).finish_non_exhaustive()
    }
}

/// The columns of one table that name a row of another.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Refers {
    /// The columns here, which have the same names there.
    pub columns: &'static [&'static str],
    /// The other table.
    pub table: &'static str,
}

/// A table.
#[derive(Debug, Clone, PartialEq)]
pub struct Table {
    /// Its name, which is its file's.
    pub name: &'static str,
    /// What a row is.
    pub about: &'static str,
    /// Its columns.
    pub heads: Vec<Head>,
    /// The columns that tell rows apart; none where a row has no key.
    pub key: &'static [&'static str],
    /// The tables it leans on.
    pub refers: Vec<Refers>,
    /// Its rows, each with a cell for every column.
    pub rows: Vec<Vec<Cell>>,
}

/// What a table is, without its columns and rows.
struct About {
    name: &'static str,
    about: &'static str,
    key: &'static [&'static str],
    refers: Vec<Refers>,
}

fn table<R>(
    about: About,
    disguise: &Disguise,
    mut columns: Vec<Column<R>>,
    rows: impl Iterator<Item = R>,
) -> Table {
    columns.retain(|column| disguise.with_texts() || !column.typed);
    Table {
        name: about.name,
        about: about.about,
        key: about.key,
        refers: about.refers,
        rows: rows.map(|row| columns.iter().map(|one| (one.cell)(&row)).collect()).collect(),
        heads: columns.into_iter().map(|column| column.head).collect(),
    }
}

/// Every table of these visits; persons and visits first, then what leans on them.
#[must_use]
pub fn all(visits: &[Leaving], disguise: &Disguise) -> Vec<Table> {
    vec![
        repetitions(visits, disguise),
        values(visits, disguise),
        comparisons(visits, disguise),
        persons(visits, disguise),
        self::visits(visits, disguise),
        spans(visits, disguise),
        sensors(visits, disguise),
        gaps(visits, disguise),
        marks(visits, disguise),
    ]
}

/// The words of a closed list.
fn words<T: Copy>(all: &[T], text: impl Fn(T) -> &'static str) -> Kind {
    Kind::Word(all.iter().map(|word| text(*word)).collect())
}

/// The columns that name a repetition.
const REPETITION: &[&str] = &["visit", "side", "phase", "direction", "repetition"];

const VISIT: &str = "Which visit: the person's code and the number of the visit";
const SIDE: &str = "Which leg: the person's own left or right";
const DIRECTION: &str = "Which way: internal rotation (prone: foot outward), external rotation \
     (prone: foot inward), or knee flexion";

fn refers_to_visits() -> Refers {
    Refers { columns: &["visit"], table: "visits" }
}
