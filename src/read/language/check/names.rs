//! What names refer to: variables, declared names, fields of the document, rows of tables.

use std::sync::Arc;

use super::comparability::short;
use super::expression::mistaken;
use super::several::not_in_all;
use super::{Checker, Meaning, Scope};
use crate::code::{NO_SUCH_FIELD, TYPE_MISMATCH, UNKNOWN_NAME, WHOLE_LIST};
use crate::diagnostic::{Diagnostic, did_you_mean, nearest};
use crate::document::deprecated::in_place_of;
use crate::document::{Record, Shape};
use crate::language::ast::{self, Name};
use crate::language::builtins;
use crate::language::ids::TableId;
use crate::language::typed::{Expr, ExprKind, Figure};
use crate::language::types::{Type, with_article};
use crate::source::{Place, Span};

/// The day of the run, as rules name it.
pub(super) const AS_OF: &str = "as_of";

impl Checker<'_> {
    pub(super) fn path(
        &mut self,
        scope: &mut Scope,
        names: &[Name],
        place: Place,
    ) -> Result<Expr, Diagnostic> {
        let Some((head, fields)) = names.split_first() else { return Ok(mistaken(place)) };
        if let Some((_, ty, slot)) = scope.variable(&head.node)
            && scope.groups.contains_key(slot)
        {
            let group = (*slot, ty.clone());
            scope.used.insert(group.0, head.span);
            return self.path_of_group(scope, group, (head, fields), place);
        }
        let mut at = self.head(scope, head)?;
        for name in fields {
            at = self.field(at, name, scope, false)?;
        }
        at.place = place;
        Ok(at)
    }

    /// A path that may lead through lists; used for the keys of a table, where only the type counts.
    pub(super) fn path_through_lists(&mut self, scope: &mut Scope, written: &ast::Expr) -> Expr {
        let ast::ExprKind::Path(names) = &written.kind else { return self.expr(scope, written) };
        let place = scope.place(written.span);
        let typed = (|| {
            let Some((head, fields)) = names.split_first() else { return Ok(mistaken(place)) };
            let mut at = self.head(scope, head)?;
            for name in fields {
                at = self.field(at, name, scope, true)?;
            }
            Ok(Expr { place, ..at })
        })();
        let typed = typed.unwrap_or_else(|diagnostic: Diagnostic| {
            self.report(diagnostic);
            mistaken(place)
        });
        self.mistaken += usize::from(typed.ty.is_mistaken());
        typed
    }

    fn head(&mut self, scope: &mut Scope, head: &Name) -> Result<Expr, Diagnostic> {
        let place = scope.place(head.span);
        if let Some((_, ty, slot)) = scope.variable(&head.node) {
            let (ty, slot) = (ty.clone(), *slot);
            scope.used.insert(slot, head.span);
            return Ok(Expr { kind: ExprKind::Variable(slot), place, ty });
        }
        let own = scope.lets.iter().find(|(name, _)| *name == head.node);
        let declared = self.names.get(scope.unit).and_then(|names| names.get(head.node.as_str()));
        let declared = declared.map(|declared| declared.meaning);
        let meaning = own.map(|(_, id)| Meaning::Let(*id)).or(declared);
        self.note_figure(meaning);
        match meaning {
            Some(Meaning::Let(number)) => return self.let_reference(number, place),
            Some(Meaning::Parameter(number)) => return self.parameter_reference(number, place),
            Some(Meaning::Table(number)) => return self.lookup_by_own_keys(scope, number, place),
            Some(Meaning::Mistaken) => return Ok(mistaken(place)),
            Some(Meaning::Base(_)) => {
                let message = format!("`{}` is a record that trials share, and no value", head.node);
                return Err(Diagnostic::error(TYPE_MISMATCH, place, message)
                    .help("a trial begins with it: `trial met from NAME`"));
            }
            None => {}
        }
        if head.node == AS_OF {
            return Ok(Expr { kind: ExprKind::AsOf, place, ty: Type::Day });
        }
        let Some(root) = scope.root.clone() else { return Ok(mistaken(place)) };
        if root.field(&head.node).is_some() || root.link(&head.node).is_some() {
            return self.field(document(root, place), head, scope, false);
        }
        // What a file that could not be opened would have lent is not known: that was said at its `use`.
        if self.units.get(scope.unit).is_some_and(|unit| unit.uses.contains(&None)) {
            return Ok(mistaken(place));
        }
        Err(self.unknown_name(scope, &root, head))
    }

    /// Remembers that the rule at hand uses a declared figure.
    pub(super) fn note_figure(&mut self, meaning: Option<Meaning>) {
        let figure = match meaning {
            Some(Meaning::Let(number)) => Figure::Let(number),
            Some(Meaning::Parameter(number)) => Figure::Parameter(number),
            Some(Meaning::Table(number)) => Figure::Table(number),
            Some(Meaning::Mistaken | Meaning::Base(_)) | None => return,
        };
        self.named.insert(figure);
        if !self.figures.contains(&figure) {
            self.figures.push(figure);
        }
    }

    fn unknown_name(&self, scope: &Scope, root: &Record, head: &Name) -> Diagnostic {
        let place = scope.place(head.span);
        let declared = self.names.get(scope.unit).into_iter().flatten().map(|(name, _)| *name);
        let variables = scope.variables.iter().map(|(name, ..)| name.as_str());
        let fields = names_of(root);
        let own = scope.lets.iter().map(|(name, _)| name.as_str());
        let known = variables.chain(own).chain(declared).chain(fields).chain([AS_OF]);
        let diagnostic =
            Diagnostic::error(UNKNOWN_NAME, place, format!("nothing is called `{}` here", head.node));
        if let Some(help) = word_of_another_language(&head.node) {
            return diagnostic.help(help);
        }
        if builtins::find(&head.node).is_some() {
            return diagnostic
                .help(format!("`{}` is a builtin; give it its arguments in brackets", head.node));
        }
        let grouped = scope.groups.iter().find(|(_, group)| group.entry == head.node);
        if let Some((slot, _)) = grouped
            && let Some((name, ..)) = scope.variables.iter().find(|(_, _, own)| own == slot)
        {
            let message =
                format!("`{}` stands for an entry of the group `{name}`, and which is not said", head.node);
            let help =
                format!("say `every x in {name}: …`, `some x in {name}: …` or `all of … over x in {name}`");
            return Diagnostic::error(UNKNOWN_NAME, place, message).help(help);
        }
        let has_field = |ty: &Type| matches!(ty, Type::Record(record) if record.field(&head.node).is_some());
        if let Some((entry, ..)) = scope.variables.iter().rev().find(|(_, ty, _)| has_field(ty)) {
            return diagnostic.help(format!("of `{entry}` it is `{entry}.{}`", head.node));
        }
        match nearest(&head.node, known) {
            Some(near) => diagnostic.help(did_you_mean(&head.node, near)),
            None => diagnostic.help(
                "a name is a variable of `each`, a let, parameter or table, or a field of the document; a text is in quotes",
            ),
        }
    }

    fn lookup_by_own_keys(
        &mut self,
        scope: &mut Scope,
        number: TableId,
        place: Place,
    ) -> Result<Expr, Diagnostic> {
        let (_, written, _) = &self.tables[number];
        let (name, written_keys) = (written.name.node.clone(), written.keys.clone());
        let Some(ty) = self.resolve_table(number).map(|table| table.ty.clone()) else {
            return Ok(mistaken(place));
        };
        let mut keys = Vec::new();
        for written in &written_keys {
            // The keys are looked up in the document itself, whatever variables are in sight here.
            let mut document_scope = self.scope(scope.unit);
            let (before, errors) = (self.diagnostics.len(), self.errors);
            let key = self.expr(&mut document_scope, written);
            if self.diagnostics.len() > before || !key.ty.is_text() {
                self.diagnostics.truncate(before);
                self.errors = errors;
                return Err(Diagnostic::error(
                    WHOLE_LIST,
                    place,
                    format!("the table `{name}` is keyed by something that a document has many of"),
                )
                .help(format!("say which: `{name} for …`")));
            }
            keys.push(key);
        }
        Ok(Expr { kind: ExprKind::Lookup { table: number, keys }, place, ty })
    }

    /// What is said of a name with brackets behind it that is no builtin.
    pub(super) fn no_builtin(&self, scope: &Scope, name: &Name) -> Diagnostic {
        let declared = self.names.get(scope.unit).and_then(|names| names.get(name.node.as_str()));
        let own = declared.and_then(|declared| match declared.meaning {
            Meaning::Parameter(_) => {
                Some(("a parameter", format!("write `{}`: its fields choose the value", name.node)))
            }
            Meaning::Table(_) => Some(("a table", format!("write `{} for KEY`", name.node))),
            Meaning::Let(_) => {
                Some(("a let", format!("write `{0}`, or `{0} of x` where each entry has one", name.node)))
            }
            _ => None,
        });
        let place = scope.place(name.span);
        if let Some((what, help)) = own {
            let message = format!("`{}` is {what} and no builtin, and takes no brackets", name.node);
            return Diagnostic::error(UNKNOWN_NAME, place, message).help(help);
        }
        let names = || builtins::all().map(|builtin| builtin.name);
        let message = format!("there is no builtin `{}`", name.node);
        Diagnostic::error(UNKNOWN_NAME, place, message).help(match nearest(&name.node, names()) {
            Some(near) => did_you_mean(&name.node, near),
            None => format!("the builtins are {}", names().collect::<Vec<_>>().join(", ")),
        })
    }

    pub(super) fn lookup(
        &mut self,
        scope: &mut Scope,
        table: &Name,
        written: &[ast::Expr],
        place: Place,
    ) -> Result<Expr, Diagnostic> {
        let name_place = scope.place(table.span);
        let declared = self.names.get(scope.unit).and_then(|names| names.get(table.node.as_str()));
        let meaning = declared.map(|declared| declared.meaning);
        self.note_figure(meaning);
        let number = match meaning {
            Some(Meaning::Table(number)) => number,
            Some(Meaning::Mistaken) => return Ok(mistaken(place)),
            _ => {
                let names = self.names.get(scope.unit).into_iter().flatten();
                let tables = names.filter(|(_, declared)| matches!(declared.meaning, Meaning::Table(_)));
                let near = nearest(&table.node, tables.map(|(name, _)| *name));
                let diagnostic = Diagnostic::error(
                    UNKNOWN_NAME,
                    name_place,
                    format!("no table is called `{}`", table.node),
                );
                return Err(match near {
                    Some(near) => diagnostic.help(did_you_mean(&table.node, near)),
                    None => diagnostic.help("declare it: `table NAME by FIELD` with its rows below"),
                });
            }
        };
        let typed: Vec<Expr> = written.iter().map(|key| short(self.expr(scope, key))).collect();
        let Some(settled) = self.resolve_table(number) else { return Ok(mistaken(place)) };
        let (ty, wanted) = (settled.ty.clone(), settled.keys.len());
        if typed.len() != wanted {
            let message =
                format!("the table `{}` has {wanted} keys and {} are given", table.node, typed.len());
            return Err(Diagnostic::error(TYPE_MISMATCH, place, message));
        }
        if let Some(key) = typed.iter().find(|key| !key.ty.is_text()) {
            let message = format!("a key must be a text, and this is {}", key.ty);
            return Err(Diagnostic::error(TYPE_MISMATCH, key.place, message));
        }
        if !self.keys_are_words(number, &typed)? {
            return Ok(mistaken(place));
        }
        Ok(Expr { kind: ExprKind::Lookup { table: number, keys: typed }, place, ty })
    }

    /// Advises against a field that is not used any more, once for each place.
    fn not_used_any_more(&mut self, field: &str, new: &str, place: Place) {
        let advice = in_place_of(field, new, place);
        if self.wrong_words.insert((Some(place), advice.message.clone())) {
            self.report(advice);
        }
    }

    /// A field of a part of the document, or what a link of it leads to.
    pub(super) fn field(
        &mut self,
        base: Expr,
        name: &Name,
        scope: &Scope,
        through_lists: bool,
    ) -> Result<Expr, Diagnostic> {
        let place = scope.place(name.span);
        let record = match &base.ty {
            Type::Record(record) => Arc::clone(record),
            Type::Mistaken => return Ok(mistaken(place)),
            Type::List(element) => match &**element {
                Shape::Record(record) if through_lists => Arc::clone(record),
                _ => {
                    return Err(Diagnostic::error(
                        WHOLE_LIST,
                        place,
                        format!("`{}` cannot be asked of a whole list", name.node),
                    )
                    .help("speak of its elements: `each x in …`, `every x in …: …`, `some x in …: …`"));
                }
            },
            other => {
                let message = format!("{other} has no field `{}`", name.node);
                return Err(Diagnostic::error(NO_SUCH_FIELD, place, message));
            }
        };
        if let Some((index, field)) = record.field(&name.node) {
            let ty = Type::of(&field.shape);
            let name = Arc::clone(&field.name);
            if let Some(new) = &field.replaced_by {
                self.not_used_any_more(&name, new, place);
            }
            return Ok(Expr { kind: ExprKind::Field { base: Box::new(base), index, name }, place, ty });
        }
        if let Some((_, link)) = record.link(&name.node)
            && let Some(target) = link.record(&record, self.forms)
        {
            self.links = true;
            self.history |= link.to.is_history();
            let kind = ExprKind::Link { base: Box::new(base), link: Arc::new(link.clone()) };
            return Ok(Expr { kind, place, ty: Type::Record(target) });
        }
        if let Some(differs) = not_in_all(&record, &name.node, place) {
            return Err(differs);
        }
        let message = format!("{} has no field `{}`", record_name(&record), name.node);
        let diagnostic = Diagnostic::error(NO_SUCH_FIELD, place, message);
        Err(match nearest(&name.node, names_of(&record)) {
            Some(near) => diagnostic.help(did_you_mean(&name.node, near)),
            None => diagnostic
                .help(format!("its fields are {}", names_of(&record).collect::<Vec<_>>().join(", "))),
        })
    }
}

pub(super) fn document(root: Arc<Record>, place: Place) -> Expr {
    Expr { kind: ExprKind::Root, place: Place { span: Span::default(), ..place }, ty: Type::Record(root) }
}

/// The names of the fields and links of a record.
fn names_of(record: &Record) -> impl Iterator<Item = &str> {
    let links = record.links.iter().map(|link| &*link.name);
    record.fields.iter().map(|field| &*field.name).chain(links)
}

/// What a record is called in a message.
pub(super) fn record_name(record: &Record) -> String {
    if record.title.is_empty() { "a group of fields".to_owned() } else { with_article(&record.title) }
}

/// What is said of a word that has a meaning in other languages and none here.
fn word_of_another_language(word: &str) -> Option<String> {
    let help = match word.to_lowercase().as_str() {
        "true" => "write `yes`",
        "false" => "write `no`",
        "empty" | "null" | "none" | "nothing" | "missing" | "blank" => {
            "write `not recorded …`, or of a list `count of … is 0`"
        }
        "today" | "now" => "the day of the run is `as_of`",
        "off" | "running" | "raised" | "lowered" => {
            return Some(format!("a text is in quotes: `\"{word}\"`"));
        }
        _ => return None,
    };
    Some(help.to_owned())
}
