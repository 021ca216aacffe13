//! Lets, tables and parameters: each is checked once, on the first need of it.

use std::collections::HashMap;
use std::sync::Arc;

use super::size::too_deep;
use super::{CHAIN, Checker, Given, Meaning, Progress, bare, place_in};
use crate::code::{CIRCLE, PARAMETER_VALUE, TABLE_ROWS, TYPE_MISMATCH, UNKNOWN_NAME};
use crate::diagnostic::{At, Diagnostic, Fault, nearest};
use crate::document::Record;
use crate::language::ast;
use crate::language::ids::{LetId, ParameterId, TableId};
use crate::language::typed::{Expr, ExprKind, FaultyValue, Let, MOST_KEYS, Of, Parameter, Stated, Table};
use crate::language::types::Type;
use crate::letters::{look, said};
use crate::quantity::Kind;
use crate::source::{Place, Span};
use crate::value::Value;

impl<'a> Checker<'a> {
    /// Checks every let, table, parameter default and given value.
    pub(super) fn resolve_all(&mut self, givens: &[Given]) {
        for id in self.lets.ids() {
            if self.has_enough() {
                return;
            }
            self.resolve_let(id);
        }
        for id in self.tables.ids() {
            if self.has_enough() {
                return;
            }
            self.resolve_table(id);
        }
        self.settle_defaults();
        self.give_all(givens);
    }

    /// The type of a let, checked now if it was not yet.
    pub(super) fn resolve_let(&mut self, id: LetId) -> Option<&Let> {
        let (unit, written, progress) = &mut self.lets[id];
        let (unit, written) = (*unit, *written);
        match progress {
            Progress::Waiting => {
                *progress = Progress::UnderWay;
                let done = self.let_item(unit, written);
                self.lets[id].2 = done.map_or(Progress::Mistaken, Progress::Done);
            }
            Progress::UnderWay => {
                let place = place_in(self.units, unit, written.name.span);
                self.circle(&written.name.node, place);
                return None;
            }
            Progress::Done(_) | Progress::Mistaken => {}
        }
        match &self.lets[id].2 {
            Progress::Done(done) => Some(done),
            _ => None,
        }
    }

    fn circle(&mut self, name: &str, place: Place) {
        self.report(
            Diagnostic::error(CIRCLE, place, format!("the value of `{name}` is built on itself"))
                .help("write out one of the values, so that the chain of names has an end"),
        );
    }

    /// Enters a link of the chain of lets and tables; `None` when the chain is too long.
    fn enter(&mut self, name: &str, place: Place) -> Option<()> {
        if self.chain >= CHAIN {
            self.report(Diagnostic::error(
                CIRCLE,
                place,
                format!("`{name}` stands at the end of a chain of more than {CHAIN} names that build on each other"),
            ));
            return None;
        }
        self.chain += 1;
        Some(())
    }

    fn let_item(&mut self, unit: usize, written: &'a ast::Let) -> Option<Let> {
        let place = place_in(self.units, unit, written.span);
        self.enter(&written.name.node, place)?;
        let before = self.wrong();
        let mut scope = self.scope(unit);
        let of = match &written.entries {
            Some(entries) => self.entries(&mut scope, entries),
            None => Some(Of::Document),
        };
        let value = self.expr(&mut scope, &written.value);
        self.chain -= 1;
        let extent = self.extent(&value);
        if let Some(refusal) = too_deep(&written.name.node, extent, place) {
            self.report(refusal);
        }
        let name = written.name.node.clone();
        of.filter(|_| self.wrong() == before).map(|of| Let { name, of, value, extent, place })
    }

    /// A table, checked now if it was not yet.
    pub(super) fn resolve_table(&mut self, id: TableId) -> Option<&Table> {
        let (unit, written, progress) = &mut self.tables[id];
        let (unit, written) = (*unit, *written);
        match progress {
            Progress::Waiting => {
                *progress = Progress::UnderWay;
                let done = self.table_item(unit, written);
                self.tables[id].2 = done.map_or(Progress::Mistaken, Progress::Done);
            }
            Progress::UnderWay => {
                let place = place_in(self.units, unit, written.name.span);
                self.circle(&written.name.node, place);
                return None;
            }
            Progress::Done(_) | Progress::Mistaken => {}
        }
        match &self.tables[id].2 {
            Progress::Done(done) => Some(done),
            _ => None,
        }
    }

    fn table_item(&mut self, unit: usize, written: &'a ast::Table) -> Option<Table> {
        let place = place_in(self.units, unit, written.span);
        self.enter(&written.name.node, place)?;
        let before = self.wrong();
        let mut scope = self.scope(unit);
        let keys: Vec<Expr> = written.keys.iter().map(|key| self.key(&mut scope, key)).collect();
        let (mut rows, mut looks, mut places) = (HashMap::new(), HashMap::new(), HashMap::new());
        let mut first: Option<(Type, Place)> = None;
        for row in &written.rows {
            let value = self.expr(&mut scope, &row.value);
            self.row_keys(unit, &keys, row);
            let Some(known) = self.row_value(&mut first, value) else { continue };
            let texts: Vec<String> = row.keys.iter().map(|key| key.node.clone()).collect();
            self.looks_like_another(unit, &mut looks, row);
            let span = row.keys.iter().map(|key| key.span).chain([row.value.span]).reduce(Span::to);
            places.insert(texts.clone(), place_in(self.units, unit, span.unwrap_or(written.span)));
            if rows.insert(texts.clone(), known).is_some() {
                let span = row.keys.first().map_or(written.span, |key| key.span);
                self.report(Diagnostic::error(
                    TABLE_ROWS,
                    place_in(self.units, unit, span),
                    format!(
                        "the table `{}` has two rows for \"{}\"",
                        written.name.node,
                        texts.join("\", \"")
                    ),
                ));
            }
        }
        self.chain -= 1;
        let (ty, _) = first.unwrap_or((Type::Mistaken, place));
        let name = written.name.node.clone();
        (self.wrong() == before).then_some(Table { name, keys, rows, places, ty, place })
    }

    /// Refuses a row whose keys look like those of another and are written with other letters.
    fn looks_like_another(
        &mut self,
        unit: usize,
        looks: &mut HashMap<Vec<String>, &'a ast::Row>,
        row: &'a ast::Row,
    ) {
        let look_of_keys = row.keys.iter().map(|key| look(&key.node).into_owned()).collect();
        let Some(other) = looks.insert(look_of_keys, row) else { return };
        let mut pairs = row.keys.iter().zip(&other.keys);
        if let Some((key, first)) = pairs.find(|(key, first)| key.node != first.node) {
            let message = format!("the key \"{}\" looks like that of another row", key.node);
            let diagnostic = Diagnostic::error(TABLE_ROWS, place_in(self.units, unit, key.span), message)
                .and_at(place_in(self.units, unit, first.span), "the other")
                .help(said(&key.node, &first.node));
            self.report(diagnostic);
        }
    }

    fn key(&mut self, scope: &mut super::Scope, written: &ast::Expr) -> Expr {
        let key = self.path_through_lists(scope, written);
        if !key.ty.is_text() {
            self.report(
                Diagnostic::error(
                    TABLE_ROWS,
                    key.place,
                    format!("a table is keyed by words or texts, and this is {}", key.ty),
                )
                .help("use a field such as `unit.family`"),
            );
        }
        key
    }

    fn row_keys(&mut self, unit: usize, keys: &[Expr], row: &ast::Row) {
        if row.keys.len() != keys.len() {
            let span = row.keys.first().map_or(row.value.span, |key| key.span);
            let (found, wanted) = (row.keys.len(), keys.len());
            self.report(Diagnostic::error(
                TABLE_ROWS,
                place_in(self.units, unit, span),
                format!("this row has {found} keys and the table has {wanted}"),
            ));
        }
        for (written, key) in row.keys.iter().zip(keys) {
            if let Type::Word(words) = &key.ty {
                let place = place_in(self.units, unit, written.span);
                if let Err(diagnostic) = super::comparability::word_of(&written.node, words).at(place) {
                    self.report(diagnostic);
                }
            }
        }
    }

    /// The known value of a row; all rows have the type of the first.
    fn row_value(&mut self, first: &mut Option<(Type, Place)>, value: Expr) -> Option<Value<'static>> {
        if value.ty.is_mistaken() {
            return None;
        }
        let value = self.fixed(value);
        let ExprKind::Constant(known) = value.kind else {
            self.report(
                Diagnostic::error(TABLE_ROWS, value.place, "a row of a table must be a fixed value")
                    .help("write the value itself, or a `let` that is one"),
            );
            return None;
        };
        match first {
            None => *first = Some((value.ty, value.place)),
            Some((ty, place)) => {
                if !super::comparability::same_sort(ty, &value.ty) {
                    self.report(
                        Diagnostic::error(TABLE_ROWS, value.place, "the rows of a table must be of one kind")
                            .labelled(value.ty.to_string())
                            .and_at(*place, ty.to_string()),
                    );
                    return None;
                }
            }
        }
        Some(known)
    }

    /// Declares a parameter; its default is checked later, when every name is known.
    pub(super) fn declare_parameter(&mut self, unit: usize, written: &'a ast::Parameter) -> Meaning {
        let place = place_in(self.units, unit, written.kind.span);
        let ty = match self.declared_type(unit, written) {
            Ok(Type::Mistaken) => return Meaning::Mistaken,
            Ok(ty) => ty,
            Err(diagnostic) => {
                self.report(diagnostic);
                return Meaning::Mistaken;
            }
        };
        let name = self.standard_of(unit).map_or_else(
            || written.name.node.clone(),
            |standard| format!("{standard}.{}", written.name.node),
        );
        let of = match &written.entries {
            Some(entries) => match self.entries(&mut self.scope(unit), entries) {
                Some(of) => of,
                None => return Meaning::Mistaken,
            },
            None => Of::Document,
        };
        Meaning::Parameter(self.parameters.push(Parameter {
            name,
            title: written.title.node.clone(),
            ty,
            of,
            keys: Vec::new(),
            from: None,
            stated: Stated::Nothing,
            declared: Stated::Nothing,
            unit,
            written: written.clone(),
            place: place_in(self.units, unit, written.span),
            kind: place,
        }))
    }

    /// The type of a parameter: of a kind, or that of a field.
    fn declared_type(&mut self, unit: usize, written: &ast::Parameter) -> Result<Type, Diagnostic> {
        let (words, range) = (written.kind.node.as_str(), written.range);
        let is_field = |root: Arc<Record>| root.field(words).is_some();
        let place = place_in(self.units, unit, written.kind.span);
        if written.words {
            return self.words_of(unit, written);
        }
        if !words.contains('.') && (is_kind(words) || !self.root_of(unit).is_some_and(is_field)) {
            return parameter_type(words, range).at(place);
        }
        match self.type_through_lists(unit, &written.kind)? {
            Type::Quantity(kind) if range => Ok(Type::Range(kind)),
            ty @ (Type::Range(_) | Type::Mistaken) => Ok(ty),
            ty @ (Type::Quantity(_) | Type::Text | Type::Word(_) | Type::Truth | Type::Day) if !range => {
                Ok(ty)
            }
            other => {
                let of = if range { "a range of it" } else { "one" };
                let message = format!("`{words}` is {other}, and a parameter cannot be {of}");
                Err(Diagnostic::error(TYPE_MISMATCH, place, message).help(
                    "name a field with a quantity, a text, a word of a closed list, a day or yes and no",
                ))
            }
        }
    }

    /// The type of a field of the document, of a list that of its elements.
    pub(super) fn type_through_lists(&mut self, unit: usize, path: &ast::Name) -> Result<Type, Diagnostic> {
        Ok(match self.type_of_field(unit, path)? {
            Type::List(element) => Type::of(&element),
            ty => ty,
        })
    }

    /// The type of a field of the document, through whatever lists.
    fn type_of_field(&mut self, unit: usize, path: &ast::Name) -> Result<Type, Diagnostic> {
        let scope = self.scope(unit);
        let Some(root) = scope.root.clone() else { return Ok(Type::Mistaken) };
        // A type asks for no other document, whatever links the path follows.
        let asked = (self.links, self.history);
        let mut at = super::names::document(root, scope.place(path.span));
        let mut start = path.span.start as usize;
        for word in path.node.split('.') {
            let name = ast::Name::new(word.to_owned(), Span::new(start, start + word.len()));
            at = self.field(at, &name, &scope, true)?;
            start += word.len() + 1;
        }
        (self.links, self.history) = asked;
        Ok(at.ty)
    }

    /// The fields by which the value of a parameter differs, and the one whose value goes before.
    fn parameter_fields(&mut self, id: ParameterId) {
        let Parameter { unit, written, ty, .. } = &self.parameters[id];
        let (unit, written, ty) = (*unit, written.clone(), ty.clone());
        let mut scope = self.scope(unit);
        if let Some(entries) = &written.entries {
            // What is wrong with them was reported where the parameter was declared.
            let before = (self.diagnostics.len(), self.errors, self.mistaken);
            self.entries(&mut scope, entries);
            self.diagnostics.truncate(before.0);
            (self.errors, self.mistaken) = (before.1, before.2);
        }
        let mut keys = Vec::with_capacity(written.keys.len());
        for key in &written.keys {
            let typed = self.expr(&mut scope, key);
            if !typed.ty.is_text() {
                let message = format!("a parameter differs by words or texts, and this is {}", typed.ty);
                let help = "use a field such as `unit.family`, or `s.role` of an entry";
                self.report(Diagnostic::error(TYPE_MISMATCH, typed.place, message).help(help));
            }
            keys.push(typed);
        }
        if let Some(extra) = written.keys.get(MOST_KEYS) {
            let message = format!("a parameter differs by at most {MOST_KEYS} fields");
            self.report(Diagnostic::error(TYPE_MISMATCH, scope.place(extra.span), message));
            keys.truncate(MOST_KEYS);
        }
        let before = self.wrong();
        let from = written.from.as_ref().map(|from| self.expr(&mut scope, from));
        if let Some(from) = from.as_ref().filter(|from| !super::comparability::same_sort(&ty, &from.ty)) {
            let message = format!("{ty} is wanted here, and this is {}", from.ty);
            self.report(Diagnostic::error(TYPE_MISMATCH, from.place, message));
        }
        let good = self.wrong() == before && keys.iter().all(|key| key.ty.is_text());
        let parameter = &mut self.parameters[id];
        if good {
            parameter.keys = keys;
            parameter.from = from;
        } else {
            let faulty = FaultyValue { name: parameter.name.clone(), place: parameter.place };
            parameter.declared = Stated::Faulty(Box::new(faulty));
            parameter.stated = parameter.declared.clone();
        }
    }

    fn settle_defaults(&mut self) {
        for id in self.parameters.ids() {
            self.parameter_fields(id);
            let parameter = &self.parameters[id];
            let Some(default) = parameter.written.default.clone() else { continue };
            if matches!(parameter.declared, Stated::Faulty(_)) {
                continue;
            }
            let (unit, wanted, name) = (parameter.unit, parameter.ty.clone(), parameter.name.clone());
            let mut scope = self.scope(unit);
            let place = scope.place(default.span);
            let value = self.expr(&mut scope, &default);
            let declared = match self.parameter_value(&wanted, value, &default) {
                Some(known) => Stated::Default(known),
                None => Stated::Faulty(Box::new(FaultyValue { name, place })),
            };
            let parameter = &mut self.parameters[id];
            parameter.stated = declared.clone();
            parameter.declared = declared;
        }
    }

    /// The fixed value of an expression given for a parameter of type `wanted`.
    pub(super) fn parameter_value(
        &mut self,
        wanted: &Type,
        value: Expr,
        written: &ast::Expr,
    ) -> Option<Value<'static>> {
        let value = match bare::beside(written, value, wanted) {
            Ok(value) => value,
            Err(diagnostic) => {
                self.report(diagnostic);
                return None;
            }
        };
        if value.ty.is_mistaken() {
            return None;
        }
        if !super::comparability::same_sort(wanted, &value.ty) {
            let message = format!("{wanted} is wanted here, and this is {}", value.ty);
            let diagnostic = Diagnostic::error(TYPE_MISMATCH, value.place, message);
            let help = match (wanted, &value.ty) {
                (Type::Quantity(kind), Type::Quantity(found)) | (Type::Range(kind), Type::Range(found)) => {
                    bare::meant(*kind, *found, &value)
                }
                _ => None,
            };
            let help = help.or_else(|| match (wanted, &value.kind) {
                (Type::Words(_), ExprKind::Constant(Value::Text(text))) => {
                    Some(format!("write a list of one word: `one of (\"{text}\")`"))
                }
                _ => None,
            });
            self.report(match help {
                Some(help) => diagnostic.help(help),
                None => diagnostic,
            });
            return None;
        }
        let value = self.fixed(value);
        let ExprKind::Constant(known) = value.kind else {
            self.report(Diagnostic::error(
                PARAMETER_VALUE,
                value.place,
                "a parameter's value must be a fixed value",
            ));
            return None;
        };
        if let (Type::Word(words), Value::Text(text)) = (wanted, &known)
            && let Err(diagnostic) = super::comparability::word_of(text, words).at(value.place)
        {
            self.report(diagnostic);
            return None;
        }
        if let (Type::Words(Some(words)), Value::Words(own)) = (wanted, &known)
            && let Err(diagnostic) = self.words_in(own, value.place, words)
        {
            self.report(diagnostic);
            return None;
        }
        Some(known)
    }
}

fn is_kind(words: &str) -> bool {
    matches!(words, "text" | "truth" | "number" | "day") || Kind::named(words).is_some()
}

/// The type that a parameter's words name.
fn parameter_type(words: &str, range: bool) -> Result<Type, Fault> {
    let kind = match words {
        "text" if !range => return Ok(Type::Text),
        "truth" if !range => return Ok(Type::Truth),
        "day" if !range => return Ok(Type::Day),
        "number" => Kind::NUMBER,
        _ => Kind::named(words).ok_or_else(|| {
            let fault = Fault::new(UNKNOWN_NAME, format!("`{words}` is no kind of quantity"));
            if let Some((kind, last)) = words.rsplit_once(' ')
                && Kind::named(kind).is_some()
                && nearest(last, ["range"]).is_some()
            {
                return fault.help(format!("did you mean `{kind} range`?"));
            }
            match Kind::nearest_name(words) {
                Some(near) => fault.help(format!("did you mean `{near}`?")),
                None => fault.help(
                    "write a kind such as `torque`, `temperature`, `number`, `text`, `truth` or `day`, or a field of the \
                     document such as `filters.media_fitted`",
                ),
            }
        })?,
    };
    Ok(if range { Type::Range(kind) } else { Type::Quantity(kind) })
}
