//! The forms of an audit, one file each.

mod json;
mod plain;

pub use self::json::FORM;
use super::page::Page;
use crate::report::Style;

/// The JSON Schema of the JSON form.
pub const SCHEMA: &str = include_str!("../../../grammar/audit.schema.json");

/// A form of an audit.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Form {
    /// For people, a fact a line where the screen is narrow.
    Plain,
    /// For programs; described by grammar/audit.schema.json.
    Json,
}

impl Form {
    /// An audit in this form.
    #[must_use]
    pub fn write(self, page: &Page, style: &Style) -> Vec<u8> {
        match self {
            Form::Plain => plain::write(page, style).into_bytes(),
            Form::Json => json::write(page),
        }
    }
}
