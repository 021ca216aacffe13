//! What an audit tells, once for all forms: sections, each a table with what is to be said of it and, where a picture helps,
//! a chart of the same figures.

use jiff::civil::Date;

use crate::statistics::Interval;
use crate::statistics::proportion::{Share, wilson};

/// So many are needed for a claim: of a share from fewer, no interval is stated.
pub const FEWEST: u64 = 10;

/// An audit.
#[derive(Clone, Debug, PartialEq)]
pub struct Page {
    /// The day of the run.
    pub as_of: Date,
    /// What is to be known of the whole, before anything else.
    pub remarks: Vec<String>,
    /// What there is of the whole.
    pub summary: Vec<(Column, Cell)>,
    /// The sections.
    pub sections: Vec<Section>,
}

/// A table with what is said of it.
#[derive(Clone, Debug, PartialEq)]
pub struct Section {
    /// Its name for programs.
    pub key: &'static str,
    /// Its title.
    pub title: &'static str,
    /// What is to be known to read it.
    pub remarks: Vec<String>,
    /// The columns.
    pub columns: Vec<Column>,
    /// The rows, each with a cell for each column.
    pub rows: Vec<Vec<Cell>>,
    /// Pictures of the same figures.
    pub charts: Vec<Chart>,
}

/// A column of a table.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Column {
    /// Its name for programs.
    pub key: &'static str,
    /// Its title.
    pub title: &'static str,
}

/// What stands in a table.
#[derive(Clone, Debug, PartialEq)]
pub enum Cell {
    /// Nothing.
    Nothing,
    /// A text.
    Text(String),
    /// Several names, with how many more there are.
    Names(Vec<String>, u64),
    /// Documents by their names.
    Examples(Vec<String>),
    /// A count.
    Count(u64),
    /// So many of so many.
    Share(Share),
    /// A figure with so many decimals, with its unit.
    Figure(f64, usize, &'static str),
    /// A figure that is estimated, with its interval.
    Estimate(f64, Interval, usize, &'static str),
    /// A probability.
    Probability(f64),
    /// A day.
    Day(Date),
    /// A line of a document.
    Place(String, usize),
}

impl Page {
    /// What there is of the whole, for people: without what there is none of, but for the documents.
    pub fn told(&self) -> impl Iterator<Item = &(Column, Cell)> {
        self.summary
            .iter()
            .enumerate()
            .filter(|(number, (_, cell))| *number == 0 || *cell != Cell::Count(0))
            .map(|(_, row)| row)
    }
}

impl Cell {
    /// A text, or nothing.
    #[must_use]
    pub fn text(text: Option<impl Into<String>>) -> Cell {
        text.map_or(Cell::Nothing, |text| Cell::Text(text.into()))
    }

    /// A figure, or nothing.
    #[must_use]
    pub fn figure(figure: Option<f64>, decimals: usize, unit: &'static str) -> Cell {
        figure.map_or(Cell::Nothing, |figure| Cell::Figure(figure, decimals, unit))
    }

    /// It in words, as it is recorded; what is a stranger's is not made harmless yet.
    #[must_use]
    pub fn words(&self) -> String {
        match self {
            Cell::Nothing => String::new(),
            Cell::Text(text) => text.clone(),
            Cell::Names(names, 0) | Cell::Examples(names) => names.join(", "),
            Cell::Names(names, more) => format!("{} and {more} more", names.join(", ")),
            Cell::Count(count) => count.to_string(),
            Cell::Share(share) => self::share(*share),
            Cell::Figure(figure, decimals, unit) => with_unit(self::figure(*figure, *decimals), unit),
            Cell::Estimate(figure, Interval { low, high }, decimals, unit) => {
                let [figure, low, high] = [figure, low, high].map(|one| self::figure(*one, *decimals));
                with_unit(format!("{figure} ({low} to {high})"), unit)
            }
            Cell::Probability(p) if *p < 0.0001 => "< 0.0001".to_owned(),
            Cell::Probability(p) => format!("{p:.4}"),
            Cell::Day(day) => day.to_string(),
            Cell::Place(name, line) => format!("{name}:{line}"),
        }
    }

    /// Whether it is a number, which stands at the right.
    #[must_use]
    pub fn is_number(&self) -> bool {
        matches!(self, Cell::Count(_) | Cell::Figure(..) | Cell::Probability(_))
    }
}

fn with_unit(figure: String, unit: &str) -> String {
    if unit.is_empty() { figure } else { format!("{figure} {unit}") }
}

/// A figure with so many decimals, and a minus sign that is one.
#[must_use]
pub fn figure(figure: f64, decimals: usize) -> String {
    let text = format!("{figure:.decimals$}");
    let is_nothing = text.trim_start_matches('-').bytes().all(|byte| matches!(byte, b'0' | b'.'));
    if is_nothing { text.trim_start_matches('-').to_owned() } else { text.replace('-', "−") }
}

/// A share in per cent; of few, whole ones.
#[must_use]
pub fn percent(share: f64) -> String {
    format!("{:.0} %", share * 100.0)
}

/// `40 of 50, 80 % (67 to 89 %)`; of fewer than [`FEWEST`] without what they do not show.
#[must_use]
pub fn share(share: Share) -> String {
    let Share { count, of } = share;
    match (share.value(), wilson(share)) {
        (Some(value), Some(Interval { low, high })) if of >= FEWEST => {
            format!("{count} of {of}, {} ({:.0} to {})", percent(value), low * 100.0, percent(high))
        }
        _ => format!("{count} of {of}"),
    }
}

/// A picture.
#[derive(Clone, Debug, PartialEq)]
pub struct Chart {
    /// What it shows, for who cannot see it.
    pub title: String,
    /// What is drawn.
    pub drawing: Drawing,
}

/// What a picture shows.
#[derive(Clone, Debug, PartialEq)]
pub enum Drawing {
    /// Shares with their intervals, a bar each.
    Shares(Vec<(String, Share)>),
    /// Values in their order, with lines across.
    Course {
        /// What each is called.
        names: Vec<String>,
        /// The values.
        values: Vec<f64>,
        /// Those that stand out.
        marked: Vec<usize>,
        /// Lines across: what it is, where, and whether it is a limit of the work.
        lines: Vec<(&'static str, f64, LineKind)>,
        /// The unit.
        unit: String,
    },
    /// Rates month by month with their intervals, and their trend as slope for each month and value in the first.
    Months {
        /// The months with their shares; none where there were no jobs.
        months: Vec<(String, Option<Share>)>,
    },
}

/// What a line across means.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum LineKind {
    /// A limit of the work.
    Limit,
    /// A limit of the chart.
    Control,
    /// The mean.
    Mean,
}
