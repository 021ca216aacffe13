//! The fields of a form, told for people: where each can be, what it holds and what it means.

use super::shape::{Field, Record, Shape};
use super::wording::wanted;

/// A field of a form, at a place where it can be.
#[derive(Clone, Debug)]
pub struct FieldAt<'f> {
    /// Its path, with `[]` behind a list: `fastenings[].torque`.
    pub path: String,
    /// What the form declares of it.
    pub field: &'f Field,
}

impl FieldAt<'_> {
    /// What it holds: `a torque in Nm, lbf·ft or lbf·in`.
    #[must_use]
    pub fn holds(&self) -> String {
        match &self.field.shape {
            Shape::List(item) => match &**item {
                Shape::Record(_) => "a list of groups of fields".to_owned(),
                item => format!("a list, each {}", wanted(item)),
            },
            shape => wanted(shape),
        }
    }
}

/// Every field of a record, in the order of the form, each group before what is in it.
#[must_use]
pub fn fields(record: &Record) -> Vec<FieldAt<'_>> {
    let mut found = Vec::new();
    add(record, "", &mut found);
    found
}

/// No schema holds itself, so this ends; how large one may be is bounded where it is read.
fn add<'f>(record: &'f Record, before: &str, found: &mut Vec<FieldAt<'f>>) {
    for field in &record.fields {
        let mut path = format!("{before}{}", field.name);
        let mut shape = &field.shape;
        while let Shape::List(item) = shape {
            path += "[]";
            shape = item;
        }
        found.push(FieldAt { path: path.clone(), field });
        if let Shape::Record(inner) = shape {
            add(inner, &format!("{path}."), found);
        }
    }
}
