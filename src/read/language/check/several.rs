//! `entries of (fastenings, readings, level_check)`: the entries of several lists as one list.

use std::collections::HashSet;
use std::sync::Arc;

use super::names::record_name;
use super::{Checker, Scope};
use crate::code::{DUPLICATE_NAME, NO_SUCH_FIELD, TYPE_MISMATCH, WHOLE_LIST};
use crate::diagnostic::Diagnostic;
use crate::document::{EntriesAt, Member, Record, Shape, Target};
use crate::language::ast;
use crate::language::typed::{Expr, ExprKind};
use crate::language::types::{Type, with_article};
use crate::source::Place;

impl Checker<'_> {
    /// Types the entries of several lists.
    pub(super) fn entries_of_lists(
        &mut self,
        scope: &mut Scope,
        written: &[ast::Expr],
        place: Place,
    ) -> Result<Expr, Diagnostic> {
        let (mut lists, mut parts, mut known) = (Vec::new(), Vec::new(), HashSet::new());
        for list in written {
            let typed = self.path_through_lists(scope, list);
            if typed.ty.is_mistaken() {
                return Ok(super::expression::mistaken(place));
            }
            let at = entries_at(&typed)?;
            if !known.insert(Arc::clone(&at.path)) {
                let message = format!("`{}` is among these lists twice", at.path);
                let diagnostic = Diagnostic::error(DUPLICATE_NAME, typed.place, message);
                return Err(diagnostic.help("take one of them out, or each of its entries counts twice"));
            }
            lists.push(at);
            parts.push(typed);
        }
        let shape = Shape::Record(Arc::new(Record::mixed(lists)));
        Ok(Expr { kind: ExprKind::Entries(parts), place, ty: Type::List(Arc::new(shape)) })
    }
}

/// What a path says of the entries there.
fn entries_at(list: &Expr) -> Result<EntriesAt, Diagnostic> {
    let path: Arc<str> = path_from_root(list)?.into();
    let (is_list, record) = match &list.ty {
        Type::Record(record) => (false, record),
        Type::List(element) => match &**element {
            Shape::Record(record) => (true, record),
            other => {
                let message = format!("entries with fields are wanted, and `{path}` holds {}", many(other));
                return Err(Diagnostic::error(TYPE_MISMATCH, list.place, message));
            }
        },
        other => {
            let message = format!("a list is wanted here, or a group of fields, and this is {other}");
            let help =
                "name a list of entries with fields, such as `fastenings`, or a group, such as `level_check`";
            return Err(Diagnostic::error(TYPE_MISMATCH, list.place, message).help(help));
        }
    };
    Ok(EntriesAt { path, is_list, record: Arc::clone(record) })
}

fn many(shape: &Shape) -> String {
    if matches!(shape, Shape::List(_)) { "lists".to_owned() } else { "single values".to_owned() }
}

/// The path of a part of the judged document that there is only once.
fn path_from_root(list: &Expr) -> Result<String, Diagnostic> {
    let error = |message: String| Diagnostic::error(WHOLE_LIST, list.place, message);
    let (mut names, mut at) = (Vec::new(), list);
    while let ExprKind::Field { base, name, .. } = &at.kind {
        if matches!(base.ty, Type::List(_)) {
            let message = format!("each entry of a list has `{name}` of its own, and this is to be one list");
            let help =
                "name the list itself, and speak of what is in its entries behind that: `each x in u.…`";
            return Err(error(message).help(help));
        }
        names.push(&**name);
        at = base;
    }
    if !matches!(at.kind, ExprKind::Root) || names.is_empty() {
        let message = "a list of the document itself is wanted here, by its path".to_owned();
        return Err(error(message).help("write it out, such as `fastenings` or `fluid.fills`"));
    }
    names.reverse();
    Ok(names.join("."))
}

/// Why an entry of several lists cannot be asked for something that is not the same in all of them; nothing where
/// none has it.
pub(super) fn not_in_all(record: &Record, name: &str, place: Place) -> Option<Diagnostic> {
    let [first, second] = record.clash(name)?;
    let what = |list: &EntriesAt| {
        let what = match list.record.member(name) {
            Some(Member::Field(field)) => match &field.measured {
                Some(group) => format!("{} read from a tool (as its `{group}`)", told(&field.shape)),
                None => told(&field.shape),
            },
            Some(Member::Link(link)) if link.to == Target::EntryBefore => "the entry before".to_owned(),
            Some(Member::Link(_)) => "a link".to_owned(),
            None => "nothing".to_owned(),
        };
        format!("{what} in `{}`", list.path)
    };
    let message =
        format!("`{name}` is not the same in all of these lists: {}, {}", what(first), what(second));
    let help = format!("ask for it in a rule of its own for `{}` and for `{}`", first.path, second.path);
    Some(Diagnostic::error(NO_SUCH_FIELD, place, message).help(help))
}

/// What a shape is called beside another one.
fn told(shape: &Shape) -> String {
    match shape {
        Shape::Word(words) => format!("a word out of {}", words.join(", ")),
        Shape::List(element) => match &**element {
            Shape::Record(record) => format!("a list, each {}", record_name(record)),
            _ => "a list".to_owned(),
        },
        Shape::Record(record) => with_article(&record.title),
        other => Type::of(other).to_string(),
    }
}

impl Checker<'_> {
    /// Advises against asking entries of several lists for what those of some lists cannot have, where no condition
    /// chooses those that have it: what is asked of the others can never be decided.
    pub(super) fn asked_of_all(
        &mut self,
        (variable, slot, list): (&str, usize, &Expr),
        condition: Option<&Expr>,
        demands: &[&Expr],
    ) {
        let Type::List(element) = &list.ty else { return };
        let Shape::Record(record) = &**element else { return };
        let mut asked = Asked { slot, fields: Vec::new(), recorded: Vec::new(), is_hidden: false };
        condition.into_iter().for_each(|condition| asked.look(condition));
        // What the value of a name chooses is not looked into.
        if !record.is_mixed() || asked.is_hidden {
            return;
        }
        demands.iter().for_each(|demand| asked.look(demand));
        let Some((name, place)) = asked.unguarded(record) else { return };
        let having: Vec<String> = record.lists_with(name).map(|list| format!("`{}`", list.path)).collect();
        let message = format!(
            "only {} has `{name}`, and of entries of the other lists this can never be decided",
            having.join(", ")
        );
        let help = format!("choose those that have it: `where recorded {variable}.{name}`");
        self.report(Diagnostic::advice(NO_SUCH_FIELD, place, message).help(help));
    }
}

/// What a rule asks of the entries for which a variable stands.
struct Asked {
    slot: usize,
    /// The fields and links, with their places.
    fields: Vec<(Arc<str>, Place)>,
    /// Those of which it asks whether they are recorded.
    recorded: Vec<Arc<str>>,
    /// Whether a name stands for some of it.
    is_hidden: bool,
}

impl Asked {
    fn look(&mut self, expr: &Expr) {
        match &expr.kind {
            ExprKind::Recorded(path) => self.recorded.extend(self.own(path)),
            ExprKind::Let(..) => self.is_hidden = true,
            ExprKind::Field { .. } | ExprKind::Link { .. } => {
                self.fields.extend(self.own(expr).map(|name| (name, expr.place)));
            }
            _ => expr.for_each_part(&mut |part| self.look(part)),
        }
    }

    /// The field or link of the entry with which a path begins.
    fn own(&self, path: &Expr) -> Option<Arc<str>> {
        let (base, name) = match &path.kind {
            ExprKind::Field { base, name, .. } => (base, name),
            ExprKind::Link { base, link } => (base, &link.name),
            _ => return None,
        };
        match base.kind {
            ExprKind::Variable(slot) if slot == self.slot => Some(Arc::clone(name)),
            _ => self.own(base),
        }
    }

    /// The first that some of the lists do not have, where nothing else that is asked for says that they do.
    fn unguarded(&self, record: &Record) -> Option<(&str, Place)> {
        let has = |list: &EntriesAt, name: &str| list.record.member(name).is_some();
        let fields = self.fields.iter().map(|(name, place)| (&**name, *place));
        fields.into_iter().find(|(name, _)| {
            let is_guard = |guard: &Arc<str>| record.lists_with(guard).all(|list| has(list, name));
            !record.lists.iter().all(|list| has(list, name)) && !self.recorded.iter().any(is_guard)
        })
    }
}
