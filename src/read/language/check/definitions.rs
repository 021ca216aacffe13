//! Names for values: of the whole document, of each entry of a list, of the entries that a rule is about; given
//! at once or by cases.

use std::sync::Arc;

use super::comparability::same_sort;
use super::expression::mistaken;
use super::names::record_name;
use super::size::too_deep;
use super::{Checker, Group, Meaning, Progress, Scope, bare, constant};
use crate::code::{DUPLICATE_NAME, TYPE_MISMATCH, UNKNOWN_NAME, WHOLE_LIST};
use crate::diagnostic::{Diagnostic, did_you_mean, nearest};
use crate::document::{Record, Shape};
use crate::language::ast::{self, Case, Name};
use crate::language::ids::{LetId, ParameterId};
use crate::language::read::hints;
use crate::language::typed::{Expr, ExprKind, Let, Of, Parameter};
use crate::language::types::Type;
use crate::quantity::Kind;
use crate::source::Place;
use crate::value::Value;

impl<'a> Checker<'a> {
    /// A name that a rule gives to a value, for its clauses below.
    pub(super) fn let_of_rule(&mut self, scope: &mut Scope, written: &'a ast::Let) {
        let place = scope.place(written.span);
        let name_place = scope.place(written.name.span);
        if let Some(entries) = &written.entries {
            let place = scope.place(entries.variable.span);
            let message = "a name inside a rule is for the entries that the rule is about";
            let help = format!(
                "leave `of … in …` out, or put this `let` before the rule: `{}` then has a value for each entry",
                written.name.node
            );
            self.report(Diagnostic::error(TYPE_MISMATCH, place, message).help(help));
            let id = self.lets.push((scope.unit, written, Progress::Mistaken));
            scope.lets.push((written.name.node.clone(), id));
            return;
        }
        self.new_name(scope, &written.name.node, name_place);
        let before = self.wrong();
        let value = self.expr(scope, &written.value);
        let extent = self.extent(&value);
        if let Some(refusal) = too_deep(&written.name.node, extent, place) {
            self.report(refusal);
        }
        let name = written.name.node.clone();
        let progress = match self.wrong() == before {
            true => Progress::Done(Let { name: name.clone(), of: Of::Rule, value, extent, place }),
            false => Progress::Mistaken,
        };
        let id = self.lets.push((scope.unit, written, progress));
        scope.lets.push((name, id));
    }

    /// What is wrong with a name that a rule gives: nothing may be hidden by it.
    fn new_name(&mut self, scope: &Scope, name: &str, place: Place) {
        let Some(hidden) = self.hidden_in(scope, name) else { return };
        let message = format!("the name `{name}` would hide {hidden}");
        self.report(Diagnostic::error(DUPLICATE_NAME, place, message).help("choose another name for it"));
    }

    /// The fields in which the entries of a group agree. Its name takes the place of the one for an entry.
    pub(super) fn group(
        &mut self,
        scope: &mut Scope,
        (slot, element): (usize, Type),
        written: &ast::Group,
        list: &Type,
    ) -> Vec<Expr> {
        let entry_name = scope.variables.last().map(|(name, ..)| name.clone()).unwrap_or_default();
        let mut keys = Vec::with_capacity(written.keys.len());
        let mut names = Vec::with_capacity(written.keys.len());
        for key in &written.keys {
            let typed = self.expr(scope, key);
            let is_number = matches!(&typed.ty, Type::Quantity(kind) if *kind == Kind::NUMBER);
            if !(typed.ty.is_text() || is_number || matches!(typed.ty, Type::Truth)) {
                let message =
                    format!("entries agree in words, texts or plain numbers, and this is {}", typed.ty);
                self.report(Diagnostic::error(TYPE_MISMATCH, typed.place, message));
            }
            if let ast::ExprKind::Path(path) = &key.kind {
                let fields: Vec<&str> = path.iter().skip(1).map(|name| name.node.as_str()).collect();
                names.push(fields.join("."));
            }
            if typed.variable() != Some(slot) && !typed.ty.is_mistaken() {
                let message = "this is the same for all entries, so it makes no groups";
                self.report(
                    Diagnostic::error(TYPE_MISMATCH, typed.place, message).help("name fields of the entry"),
                );
            }
            keys.push(typed);
        }
        scope.close();
        self.new_variable(scope, &written.name);
        scope.open(&written.name.node, list.clone());
        scope.groups.insert(slot, Group { element, keys: names, entry: entry_name });
        keys
    }

    /// What a path comes to that begins with the name of a group: its entries, or a field in which they agree.
    pub(super) fn path_of_group(
        &mut self,
        scope: &Scope,
        group: (usize, Type),
        (head, fields): (&Name, &[Name]),
        place: Place,
    ) -> Result<Expr, Diagnostic> {
        let (slot, list) = group;
        if fields.is_empty() {
            return Ok(Expr { kind: ExprKind::Group(slot), place, ty: list });
        }
        let Some(Group { element, keys, .. }) = scope.groups.get(&slot) else { return Ok(mistaken(place)) };
        let written = fields.iter().map(|field| field.node.as_str()).collect::<Vec<_>>().join(".");
        if !keys.contains(&written) {
            let message = format!("the entries of `{}` need not agree in `{written}`", head.node);
            let keys = keys.iter().map(|key| format!("`{}.{key}`", head.node)).collect::<Vec<_>>().join(", ");
            let help = format!(
                "they agree in {keys}; of the others speak with `every x in {}: …`, `all of … over x in {}`",
                head.node, head.node
            );
            return Err(Diagnostic::error(WHOLE_LIST, place, message).help(help));
        }
        let mut at = Expr { kind: ExprKind::Variable(slot), place, ty: element.clone() };
        for field in fields {
            at = self.field(at, field, scope, false)?;
        }
        at.place = place;
        Ok(at)
    }

    /// The entries of which a name has a value each: the variable that stands for one is in sight behind this.
    pub(super) fn entries(&mut self, scope: &mut Scope, written: &ast::Entries) -> Option<Of> {
        let list = self.path_through_lists(scope, &written.list);
        let element = match list.ty {
            Type::List(element) => Type::of(&element),
            other => other,
        };
        self.new_variable(scope, &written.variable);
        let found = match element {
            Type::Record(record) => Some(record),
            Type::Mistaken => None,
            other => {
                let message = format!("a value for each entry is wanted, and this is {other}");
                let help = "name a list of entries with fields, such as `fastenings` or `fluid.fills`";
                self.report(Diagnostic::error(TYPE_MISMATCH, list.place, message).help(help));
                None
            }
        };
        let ty = found.as_ref().map_or(Type::Mistaken, |record| Type::Record(Arc::clone(record)));
        scope.open(&written.variable.node, ty);
        found.map(Of::Entry)
    }

    /// `NAME of ENTRY`.
    pub(super) fn of_entry(
        &mut self,
        scope: &mut Scope,
        name: &Name,
        entry: &ast::Expr,
        place: Place,
    ) -> Result<Expr, Diagnostic> {
        let name_place = scope.place(name.span);
        let declared = self.names.get(scope.unit).and_then(|names| names.get(name.node.as_str()));
        let meaning = declared.map(|declared| declared.meaning);
        let typed = self.expr(scope, entry);
        self.note_figure(meaning);
        let (of, ty) = match meaning {
            Some(Meaning::Let(id)) => match self.resolve_let(id) {
                Some(done) => (done.of.clone(), done.value.ty.clone()),
                None => return Ok(mistaken(place)),
            },
            Some(Meaning::Parameter(id)) => {
                let parameter = &self.parameters[id];
                (parameter.of.clone(), parameter.ty.clone())
            }
            Some(Meaning::Mistaken) => return Ok(mistaken(place)),
            Some(Meaning::Table(_) | Meaning::Base(_)) | None => {
                return Err(self.no_definition(scope, name, name_place, meaning.is_some()));
            }
        };
        match (of, &typed.ty) {
            (_, Type::Mistaken) => Ok(mistaken(place)),
            (Of::Entry(wanted), Type::Record(found)) if are_one(&wanted, found) => {
                let entry = Some(Box::new(typed));
                Ok(match meaning {
                    Some(Meaning::Parameter(id)) => Expr { kind: ExprKind::Parameter(id, entry), place, ty },
                    Some(Meaning::Let(id)) => self.let_of_entry(id, entry, place, ty),
                    _ => mistaken(place),
                })
            }
            (Of::Entry(wanted), found) => {
                let wanted = record_name(&wanted);
                let message =
                    format!("`{}` has a value of {wanted}, and this is {}", name.node, shown(found));
                Err(Diagnostic::error(TYPE_MISMATCH, typed.place, message))
            }
            (Of::Document | Of::Rule, _) => {
                let message = format!("`{}` has one value, and not one for each entry", name.node);
                let help = format!("write `{}` alone, or declare it `{} of x in LIST`", name.node, name.node);
                Err(Diagnostic::error(TYPE_MISMATCH, name_place, message).help(help))
            }
        }
    }

    /// The value of a let for an entry; where it is the same for all, that value.
    fn let_of_entry(&self, id: LetId, entry: Option<Box<Expr>>, place: Place, ty: Type) -> Expr {
        match &self.lets[id].2 {
            Progress::Done(Let { value: Expr { kind: ExprKind::Constant(value), .. }, .. }) => {
                constant(value.clone(), place, ty)
            }
            _ => Expr { kind: ExprKind::Let(id, entry), place, ty },
        }
    }

    /// A parameter by its name alone.
    pub(super) fn parameter_reference(&self, id: ParameterId, place: Place) -> Result<Expr, Diagnostic> {
        let Parameter { name, of, ty, .. } = &self.parameters[id];
        match of {
            Of::Entry(record) => Err(of_which(super::given::short(name), record, place)),
            Of::Document | Of::Rule => {
                Ok(Expr { kind: ExprKind::Parameter(id, None), place, ty: ty.clone() })
            }
        }
    }

    fn no_definition(&self, scope: &Scope, name: &Name, place: Place, exists: bool) -> Diagnostic {
        if exists {
            let message = format!("`{}` has no value for each entry", name.node);
            let help = "a table is asked with `for`: `table for key`";
            return Diagnostic::error(TYPE_MISMATCH, place, message).help(help);
        }
        let message = format!("nothing is called `{}` here", name.node);
        let diagnostic = Diagnostic::error(UNKNOWN_NAME, place, message);
        if let Some(ours) = hints::aggregate(&name.node) {
            return diagnostic.help(format!("write `{ours} …`"));
        }
        if hints::AGGREGATES.contains(&name.node.as_str()) {
            return diagnostic.help(match name.node.as_str() {
                "count" => "write `count of x in LIST`".to_owned(),
                word => format!("write `{word} of VALUE over x in LIST`, with a field of `x` as the value"),
            });
        }
        let names = self.names.get(scope.unit).into_iter().flatten();
        let lets = names.filter(|(_, declared)| matches!(declared.meaning, Meaning::Let(_)));
        const WORDS: [&str; 7] = ["count", "sum", "least", "greatest", "all", "duration", "rate"];
        match nearest(&name.node, lets.map(|(name, _)| *name).chain(WORDS)) {
            Some(near) => diagnostic.help(did_you_mean(&name.node, near)),
            None => diagnostic.help("declare it: `let NAME of x in LIST = …`"),
        }
    }

    /// Values by cases: all of one kind.
    pub(super) fn cases(
        &mut self,
        scope: &mut Scope,
        written: &[Case<ast::Expr>],
        place: Place,
    ) -> Result<Expr, Diagnostic> {
        let mut cases: Vec<Case<Expr>> = Vec::with_capacity(written.len());
        for case in written {
            let value = self.expr(scope, &case.value);
            let value = match cases.first() {
                Some(first) => bare::beside(&case.value, value, &first.value.ty)?,
                None => value,
            };
            let condition = case.condition.as_ref().map(|condition| self.truth(scope, condition, "`where`"));
            cases.push(Case { condition, value });
        }
        let Some(first) = cases.first() else { return Ok(mistaken(place)) };
        if cases.iter().any(|case| case.value.ty.is_mistaken()) {
            return Ok(mistaken(place));
        }
        let ty = first.value.ty.clone();
        if matches!(ty, Type::Record(_) | Type::List(_) | Type::Several(_) | Type::Log(..)) {
            let message = format!("a case gives a single value, and this is {}", shown(&ty));
            return Err(Diagnostic::error(TYPE_MISMATCH, first.value.place, message));
        }
        if let Some(other) = cases.iter().find(|case| !same_sort(&ty, &case.value.ty)) {
            let message = "the cases must be of one kind";
            return Err(Diagnostic::error(TYPE_MISMATCH, other.value.place, message)
                .labelled(shown(&other.value.ty))
                .and_at(first.value.place, shown(&ty)));
        }
        // Words of a closed list and texts together are texts.
        let is_word = |case: &Case<Expr>| matches!(case.value.ty, Type::Word(_));
        let ty = if ty.is_text() && !cases.iter().all(is_word) { Type::Text } else { ty };
        Ok(Expr { kind: ExprKind::Cases(cases), place, ty })
    }

    /// The declared meaning of a let, with its type and, where it is fixed, its value.
    pub(super) fn let_reference(&mut self, id: LetId, place: Place) -> Result<Expr, Diagnostic> {
        let Some(done) = self.resolve_let(id) else { return Ok(mistaken(place)) };
        match (&done.of, &done.value.kind) {
            (Of::Entry(record), _) => Err(of_which(&done.name, record, place)),
            // Of a list it is still asked where each of its words is written.
            (_, ExprKind::Constant(value)) if !matches!(value, Value::Words(_)) => {
                Ok(constant(value.clone(), place, done.value.ty.clone()))
            }
            _ => Ok(Expr { kind: ExprKind::Let(id, None), place, ty: done.value.ty.clone() }),
        }
    }
}

/// What is said of a name that has a value of each entry, where no entry is named.
fn of_which(name: &str, record: &Record, place: Place) -> Diagnostic {
    let message = format!("`{name}` has a value for each {}, and none is named", record.title);
    Diagnostic::error(TYPE_MISMATCH, place, message).help(format!("say of which: `{name} of x`"))
}

/// Whether two records are declared alike, so that a field of one is the same field of the other.
fn are_one(one: &Arc<Record>, other: &Arc<Record>) -> bool {
    Arc::ptr_eq(one, other) || one == other
}

fn shown(ty: &Type) -> String {
    match ty {
        Type::Record(record) => record_name(record),
        Type::List(element) => match &**element {
            Shape::Record(record) => format!("a list, each {}", record_name(record)),
            _ => ty.to_string(),
        },
        other => other.to_string(),
    }
}
