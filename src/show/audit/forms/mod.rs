//! The forms of an audit, one file each.

mod csv;
pub mod figures;
mod html;
mod json;
mod plain;
mod svg;

pub use self::json::FORM;
use super::page::Page;
use crate::report::Style;

/// The JSON Schema of the JSON form.
pub const SCHEMA: &str = include_str!("../../../../grammar/audit.schema.json");

/// A form of an audit.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Form {
    /// For people, a fact a line where the screen is narrow.
    Plain,
    /// One page with charts, for a browser and for paper.
    Html,
    /// For programs; described by grammar/audit.schema.json.
    Json,
    /// For spreadsheets and other programs: a line for each figure.
    Csv,
}

impl Form {
    /// Whether it is for people.
    #[must_use]
    pub fn is_for_people(self) -> bool {
        matches!(self, Form::Plain | Form::Html)
    }

    /// An audit in this form. `to_records` leads from where it will be to the folder from which records are named, where that
    /// can be told.
    #[must_use]
    pub fn write(self, page: &Page, style: &Style, to_records: Option<&str>) -> Vec<u8> {
        match self {
            Form::Plain => plain::write(page, style).into_bytes(),
            Form::Html => html::write(page, to_records).into_bytes(),
            Form::Csv => csv::write(page).into_bytes(),
            Form::Json => json::write(page),
        }
    }
}
