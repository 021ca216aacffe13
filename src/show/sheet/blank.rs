//! The blank record as YAML: fields in the order of the form, what is settled written out, and behind
//! each blank what may stand there.

use std::fmt::Write as _;

use super::asked::Asked;
use super::needs::{Needs, Trail};
use crate::document::path::Every;
use crate::document::{Field, PathPattern, Record, Shape, forms};
use crate::quantity::{Kind, Unit};
use crate::report::text;
use crate::trade::blank::{Draft, Group, Plan};
use crate::trade::procedure::Procedure;

/// The column at which comments begin, where the line leaves it free.
const COLUMN: usize = 34;

/// The lines at the head of the record of a job by a procedure.
pub(super) fn heading_of_procedure(procedure: &Procedure, standards: &[String]) -> String {
    let title = procedure.title.as_ref().unwrap_or(&procedure.name);
    let edition = procedure.edition.map_or_else(String::new, |edition| format!(", edition {edition}"));
    let by = format!("A blank record of a job by the procedure {}{edition}.", procedure.name);
    heading(title, &by, standards)
}

/// The lines at the head of the record of a job without a procedure.
pub(super) fn heading_of_unit(kind: &str, family: Option<&str>, standards: &[String]) -> String {
    let family = family.map_or_else(String::new, |family| format!(", {family}"));
    let by = "A blank record of a job without a procedure. Torques, windows and volumes of this unit are in the maker's instruction.";
    heading(&format!("{kind}{family}"), by, standards)
}

/// What is recorded, judged by what, and how it is filled in.
fn heading(title: &str, by: &str, standards: &[String]) -> String {
    let lines = [
        title.to_owned(),
        by.to_owned(),
        format!("Judged by: {}.", standards.join(", ")),
        "Write each value behind its colon, with its unit, as it was measured or done; never as it was meant to be."
            .to_owned(),
        "Leave blank what is still to be done; take out a part that this unit does not have. Set the state to closed when nothing is blank."
            .to_owned(),
        "The maker's instruction, local codes and licensed practice come before every limit that is given here."
            .to_owned(),
    ];
    lines.iter().map(|line| format!("# {}\n", text::shown(line))).collect()
}

/// Writes a record out.
pub(super) struct Writer<'w, 'p> {
    pub(super) needs: &'w Needs<'p>,
    pub(super) out: String,
}

impl Writer<'_, '_> {
    /// Writes the fields of a group, one a line.
    pub(super) fn group(
        &mut self,
        group: &Group,
        form: &Record,
        path: &PathPattern,
        trail: &Trail<'_>,
        indent: usize,
    ) {
        for (field, draft) in in_order(group, form) {
            let path = path.clone().key(&field.name);
            let outermost = indent == 0 && field.name.as_ref() != forms::FIELD;
            if outermost {
                self.out.push('\n');
            }
            self.field(field, draft, &path, trail, indent);
        }
    }

    fn field(&mut self, field: &Field, draft: &Draft, path: &PathPattern, trail: &Trail<'_>, indent: usize) {
        let key = format!("{}{}:", " ".repeat(indent), field.name);
        match (draft, &field.shape) {
            (Draft::Group(inner), Shape::Record(form)) if !inner.fields.is_empty() => {
                self.line(&key, "");
                self.group(inner, form, path, trail, indent + 2);
            }
            (Draft::List(elements, head), Shape::List(element)) if !elements.is_empty() => {
                self.line(&key, head.as_deref().unwrap_or_default());
                self.list(elements, element, path, trail, indent + 2);
            }
            (Draft::Stated(text) | Draft::Recorded(text), shape) => {
                self.line(&format!("{key} {}", value(text, shape)), "")
            }
            (draft, _) => {
                let plan = if let Draft::Blank(plan) = draft { plan } else { &Plan::Open };
                let comment = self.comment(field, plan, path, trail);
                self.line(&key, &comment);
            }
        }
    }

    fn list(
        &mut self,
        elements: &[Draft],
        shape: &Shape,
        path: &PathPattern,
        trail: &Trail<'_>,
        indent: usize,
    ) {
        let pattern = path.clone().entry(Every);
        let mut series = None;
        for element in elements {
            match (element, shape) {
                (Draft::Group(group), Shape::Record(form)) if !group.fields.is_empty() => {
                    let trail = trail.and(&pattern, group);
                    if group.series.is_none() {
                        self.element(group, form, &pattern, &trail, indent);
                    } else {
                        if series != group.series {
                            self.legend(group, form, &pattern, &trail, indent);
                        }
                        let row = self.row(group, form);
                        self.line(&format!("{}- {row}", " ".repeat(indent)), "");
                    }
                    series = group.series;
                }
                (Draft::Stated(text) | Draft::Recorded(text), _) => {
                    self.line(&format!("{}- {}", " ".repeat(indent), scalar(text)), "")
                }
                _ => {}
            }
        }
    }

    /// An element of a list, its first field behind the dash.
    fn element(
        &mut self,
        group: &Group,
        form: &Record,
        path: &PathPattern,
        trail: &Trail<'_>,
        indent: usize,
    ) {
        if let Some(rule) = &group.asked_by {
            self.line(&" ".repeat(indent), &format!("asked for by {rule}"));
        }
        let start = self.out.len();
        self.group(group, form, path, trail, indent + 2);
        if self.out.get(start..).is_some_and(|text| text.len() > indent + 2) {
            self.out.replace_range(start..start + indent + 2, &format!("{}- ", " ".repeat(indent)));
        }
    }

    /// What may stand in the fields of elements that are written as rows.
    fn legend(&mut self, group: &Group, form: &Record, path: &PathPattern, trail: &Trail<'_>, indent: usize) {
        for (field, draft) in in_order(group, form) {
            let path = path.clone().key(&field.name);
            match draft {
                Draft::Blank(plan) => {
                    let comment = self.comment(field, plan, &path, trail);
                    self.line(&" ".repeat(indent), &format!("{}: {comment}", field.name));
                }
                Draft::List(elements, _) => self.legends(field, elements, &path, trail, indent),
                Draft::Group(_) | Draft::Stated(_) | Draft::Recorded(_) => {}
            }
        }
    }

    fn legends(
        &mut self,
        field: &Field,
        elements: &[Draft],
        path: &PathPattern,
        trail: &Trail<'_>,
        indent: usize,
    ) {
        let Shape::List(shape) = &field.shape else { return };
        let Shape::Record(form) = shape.as_ref() else { return };
        for (number, element) in elements.iter().enumerate() {
            let Draft::Group(group) = element else { continue };
            for (inner, draft) in in_order(group, form) {
                let Draft::Blank(plan) = draft else { continue };
                let comment = self.comment(inner, plan, &path.clone().entry(Every).key(&inner.name), trail);
                let name = format!("{} {}, {}", form.title, number + 1, inner.name);
                self.line(&" ".repeat(indent), &format!("{name}: {comment}"));
            }
        }
    }

    /// An element on one line, in braces.
    fn row(&self, group: &Group, form: &Record) -> String {
        let fields = in_order(group, form).map(|(field, draft)| {
            let value = match (draft, &field.shape) {
                (Draft::Stated(text) | Draft::Recorded(text), shape) => value(text, shape),
                (Draft::Group(inner), Shape::Record(form)) => self.row(inner, form),
                (Draft::List(elements, _), Shape::List(element)) => {
                    let elements = elements.iter().filter_map(|draft| match (draft, element.as_ref()) {
                        (Draft::Group(inner), Shape::Record(form)) => Some(self.row(inner, form)),
                        (Draft::Stated(text) | Draft::Recorded(text), _) => Some(scalar(text)),
                        _ => None,
                    });
                    format!("[{}]", elements.collect::<Vec<_>>().join(", "))
                }
                _ => String::new(),
            };
            format!("{}: {value}", field.name)
        });
        format!("{{{}}}", fields.collect::<Vec<_>>().join(", "))
    }

    fn line(&mut self, text: &str, comment: &str) {
        self.out.push_str(text);
        if !comment.is_empty() {
            let used = text.chars().count();
            let gap = if text.trim().is_empty() { 0 } else { COLUMN.saturating_sub(used).max(2) };
            let _ = write!(self.out, "{:gap$}# {}", "", text::shown(comment));
        }
        self.out.push('\n');
    }

    /// What may stand in a blank: what the procedure plans and the standards ask, with their names where
    /// that is not the procedure's figure alone, and the words or the unit that the form wants.
    fn comment(&self, field: &Field, plan: &Plan, path: &PathPattern, trail: &Trail<'_>) -> String {
        let Asked { note, limits, is_one_figure, safe, .. } = self.needs.asked_of(field, plan, path, trail);
        let mut parts: Vec<String> = note.into_iter().collect();
        parts.extend(limits.iter().map(|(text, by)| match is_one_figure {
            true => text.clone(),
            false => format!("{text} ({})", by.join(", ")),
        }));
        parts.extend(safe);
        if parts.is_empty() || matches!(field.shape, Shape::Word(_)) {
            parts.push(wanted(field));
        }
        parts.join("; ")
    }
}

/// The words or the unit that the form wants of a value.
fn wanted(field: &Field) -> String {
    let example = field.doc.contains(|c: char| c.is_ascii_digit());
    match &field.shape {
        Shape::Word(words) => words.join(" | "),
        Shape::Truth => "yes | no".to_owned(),
        Shape::Quantity(kind) | Shape::Range(kind) if !example => units(*kind),
        Shape::Day => "a day, such as 2026-03-02".to_owned(),
        Shape::Moment => "a day and a time, such as 2026-03-02T08:15".to_owned(),
        Shape::Count => "a whole number".to_owned(),
        Shape::Number => "a number".to_owned(),
        Shape::List(_) => "a list in brackets, [] for none".to_owned(),
        _ => field.doc.trim_end_matches('.').to_owned(),
    }
}

fn units(kind: Kind) -> String {
    match Unit::examples(kind).as_str() {
        "" => format!("a {kind}"),
        units => format!("{kind} in {units}"),
    }
}

/// The fields of a group in the order of the form.
pub(super) fn in_order<'g>(
    group: &'g Group,
    form: &'g Record,
) -> impl Iterator<Item = (&'g Field, &'g Draft)> {
    form.fields.iter().filter_map(|field| Some((field, group.get(&field.name)?)))
}

/// A settled value as its shape is written: numbers as they are, all else as a text.
fn value(text: &str, shape: &Shape) -> String {
    match shape {
        Shape::Count | Shape::Number | Shape::Truth => text.to_owned(),
        _ => scalar(text),
    }
}

/// A text as a single value on one line, for a block and for a row in braces alike.
#[must_use]
pub fn scalar(text: &str) -> String {
    let plain = serde_yaml::to_string(text).unwrap_or_default();
    let plain = plain.trim_end_matches('\n');
    let one_line = !plain.is_empty() && !plain.contains('\n') && !plain.starts_with(['|', '>']);
    let seen = text::shown(text) == text;
    if one_line && seen && !plain.contains([',', '[', ']', '{', '}', '#']) {
        return plain.to_owned();
    }
    quoted(text)
}

/// The same in double quotes, with an escape for every character that cannot be seen.
fn quoted(text: &str) -> String {
    let mut out = String::from("\"");
    for c in text.chars() {
        match c {
            '"' | '\\' => out.extend(['\\', c]),
            '\n' => out.push_str("\\n"),
            '\t' => out.push_str("\\t"),
            c if text::shown(c.encode_utf8(&mut [0; 4])).starts_with("\\u{") => {
                let _ = write!(out, "\\U{:08X}", u32::from(c));
            }
            c => out.push(c),
        }
    }
    out.push('"');
    out
}
