//! Fields of the forms that no rule reads: what is written there is checked by nobody. Told only where somebody asks, because
//! many a field is there for people.

use std::collections::HashSet;
use std::sync::Arc;

use super::Bench;
use super::unused::expressions;
use crate::code::ANALYSIS_UNUSED;
use crate::diagnostic::{Diagnostic, Level};
use crate::document::forms::FIELD;
use crate::document::{Record, Shape};
use crate::language::typed::{Expr, ExprKind};
use crate::language::types::Type;

/// The fields that are read, each with the record that declares it.
type Fields = HashSet<(*const Record, Arc<str>)>;

/// For each form of which rules read something or that they judge, the fields that none of them reads: a group of which none
/// is read as one.
#[must_use]
pub fn unread(bench: &Bench<'_>) -> Vec<Diagnostic> {
    let program = bench.program;
    let wanted = program.rules().all().iter().filter(|rule| (bench.wanted)(rule));
    let mut open: Vec<&Expr> = wanted.flat_map(expressions).collect();
    open.extend(program.standards().iter().filter_map(|standard| standard.condition.as_ref()));
    open.extend(program.lets().all().iter().map(|definition| &definition.value));
    open.extend(program.parameters().all().iter().flat_map(|one| one.keys.iter().chain(&one.from)));
    let mut read = Fields::new();
    while let Some(expr) = open.pop() {
        note(expr, &mut read);
        expr.for_each_part(&mut |part| open.push(part));
    }
    let mut found = Vec::new();
    for form in bench.forms.iter() {
        let is_judged = program.standards().iter().any(|standard| standard.form == form.name());
        let mut fields = Vec::new();
        let is_read = list(form.record(), "", &read, &mut fields);
        if (is_judged || is_read) && !fields.is_empty() {
            let message =
                format!("no rule reads these fields of a {}: {}", form.record().title, fields.join(", "));
            found.push(Diagnostic {
                level: Level::Note,
                ..Diagnostic::without_place(ANALYSIS_UNUSED, message)
            });
        }
    }
    found
}

/// Notes the fields that an expression reads itself: the one that it names, and those by which a link is followed.
fn note(expr: &Expr, read: &mut Fields) {
    let mut take = |ty: &Type, name: &Arc<str>| {
        let Type::Record(record) = ty else { return };
        // Of the entries of several lists, each list declares the field for its own.
        let declared = record.lists.iter().map(|list| &list.record).chain([record]);
        read.extend(declared.map(|record| (Arc::as_ptr(record), Arc::clone(name))));
    };
    match &expr.kind {
        ExprKind::Field { base, name, .. } => take(&base.ty, name),
        ExprKind::Link { base, link, .. } => {
            for (own, other) in &link.by {
                take(&base.ty, own);
                take(&expr.ty, other);
            }
        }
        _ => {}
    }
}

/// Lists the fields of a record that are not read, and says whether any of it is.
fn list(record: &Arc<Record>, path: &str, read: &Fields, unread: &mut Vec<String>) -> bool {
    let mut is_any_read = false;
    for field in record.fields.iter().filter(|field| &*field.name != FIELD && field.replaced_by.is_none()) {
        let is_named = read.contains(&(Arc::as_ptr(record), Arc::clone(&field.name)));
        let path = format!("{path}{}", field.name);
        let mut below = Vec::new();
        let is_read = match inner(&field.shape) {
            Some((inner, sign)) => list(inner, &format!("{path}{sign}."), read, &mut below) || is_named,
            None => is_named,
        };
        match is_read {
            true => unread.append(&mut below),
            false => unread.push(path),
        }
        is_any_read |= is_read;
    }
    is_any_read
}

/// The record of a group or of the entries of a list, and how the path of a field in it goes on.
fn inner(shape: &Shape) -> Option<(&Arc<Record>, &'static str)> {
    match shape {
        Shape::Record(record) => Some((record, "")),
        Shape::List(entry) => inner(entry).map(|(record, _)| (record, "[]")),
        _ => None,
    }
}
