//! The types of expressions. Every mistake is reported once, at its place, and gives
//! [`Type::Mistaken`], which fits everywhere, so that one mistake does not set off others.

use std::borrow::Cow;
use std::sync::Arc;

use super::{Checker, Meaning, Scope, constant};
use crate::code::{NO_SUCH_FIELD, NO_SUCH_WORD, ORDER_OF_TEXT, TYPE_MISMATCH, UNKNOWN_NAME, WHOLE_LIST};
use crate::diagnostic::{At, Diagnostic, Fault, nearest};
use crate::document::{Record, Shape};
use crate::language::ast::{self, Aggregate, Arithmetic, Comparison, Name, RangeForm};
use crate::language::builtins::{self, BUILTINS, Gives, Wants};
use crate::language::typed::{Expr, ExprKind, Figure, VARIABLES};
use crate::language::types::{Type, with_article};
use crate::quantity::{Kind, Quantity};
use crate::source::{Place, Span};
use crate::value::Value;

/// What stands where a mistake was reported.
pub(super) fn mistaken(place: Place) -> Expr {
    constant(Value::Truth(false), place, Type::Mistaken)
}

/// Whether values of the two types can stand for the same thing.
pub(super) fn same_sort(wanted: &Type, found: &Type) -> bool {
    match (wanted, found) {
        (Type::Mistaken, _) | (_, Type::Mistaken) | (Type::Truth, Type::Truth) => true,
        (Type::Quantity(a), Type::Quantity(b)) | (Type::Range(a), Type::Range(b)) => a.comparable(*b).is_ok(),
        (wanted, found) if wanted.is_text() => found.is_text(),
        (Type::Day, Type::Day) | (Type::Moment, Type::Moment) => true,
        _ => false,
    }
}

/// Checks that a text is one of the words of a closed list.
pub(super) fn word_of(text: &str, words: &[Arc<str>]) -> Result<(), Fault> {
    if words.iter().any(|word| &**word == text) {
        return Ok(());
    }
    let list = words.iter().map(|word| format!("\"{word}\"")).collect::<Vec<_>>().join(", ");
    let fault = Fault::new(NO_SUCH_WORD, format!("\"{text}\" is none of the words that can stand here"));
    Err(match nearest(text, words.iter().map(|word| &**word)) {
        Some(near) => fault.help(format!("did you mean \"{near}\"? The words are {list}")),
        None => fault.help(format!("the words are {list}")),
    })
}

impl Checker<'_> {
    /// Types an expression.
    pub(super) fn expr(&mut self, scope: &mut Scope, written: &ast::Expr) -> Expr {
        let place = scope.place(written.span);
        let typed = match &written.kind {
            ast::ExprKind::Number(number) => Ok(constant(
                Value::Quantity(Quantity::from(number.clone())),
                place,
                Type::Quantity(Kind::NUMBER),
            )),
            ast::ExprKind::Quantity(quantity) => {
                let ty = Type::Quantity(quantity.kind());
                Ok(constant(Value::Quantity(quantity.clone()), place, ty))
            }
            ast::ExprKind::Text(text) => {
                Ok(constant(Value::Text(Cow::Owned(text.clone())), place, Type::Text))
            }
            ast::ExprKind::Truth(truth) => Ok(constant(Value::Truth(*truth), place, Type::Truth)),
            ast::ExprKind::Path(names) => self.path(scope, names, place),
            ast::ExprKind::Lookup { table, keys } => self.lookup(scope, table, keys, place),
            ast::ExprKind::Call { function, arguments } => self.call(scope, function, arguments, place),
            ast::ExprKind::Range(form) => self.range(scope, form, place),
            ast::ExprKind::Not(inner) => {
                let inner = self.truth(scope, inner, "`not`");
                Ok(truth(ExprKind::Not(Box::new(inner)), place))
            }
            ast::ExprKind::Minus(inner) => self.minus(scope, inner, place),
            ast::ExprKind::Logic(logic, left, right) => {
                let (left, right) =
                    (self.truth(scope, left, logic.word()), self.truth(scope, right, logic.word()));
                Ok(truth(ExprKind::Logic(*logic, Box::new(left), Box::new(right)), place))
            }
            ast::ExprKind::Arithmetic(sign, left, right) => self.arithmetic(scope, *sign, left, right, place),
            ast::ExprKind::Compare(comparison, left, right) => {
                self.compare(scope, *comparison, left, right, place)
            }
            ast::ExprKind::Within(value, range) => self.within(scope, value, range, place),
            ast::ExprKind::OneOf { value, negated, options } => {
                self.one_of(scope, value, *negated, options, place)
            }
            ast::ExprKind::Recorded(path) => self.recorded(scope, path, place),
            ast::ExprKind::Quantified { quantifier, variable, list, condition, body } => {
                self.quantified(scope, *quantifier, variable, list, condition.as_deref(), body, place)
            }
            ast::ExprKind::Aggregate { aggregate, value, variable, list, condition } => {
                let parts = (value.as_deref(), variable.as_ref(), condition.as_deref());
                self.aggregate(scope, *aggregate, list, parts, place)
            }
        };
        typed.unwrap_or_else(|diagnostic: Diagnostic| {
            self.report(diagnostic);
            mistaken(place)
        })
    }

    /// Types an expression that must be yes or no. `of` names what wants it.
    pub(super) fn truth(&mut self, scope: &mut Scope, written: &ast::Expr, of: &str) -> Expr {
        let typed = self.expr(scope, written);
        if !matches!(typed.ty, Type::Truth | Type::Mistaken) {
            let diagnostic = Diagnostic::error(
                TYPE_MISMATCH,
                typed.place,
                format!("{of} wants something that is true or not, and this is {}", typed.ty),
            );
            let help = match &typed.ty {
                Type::Quantity(_) => Some("compare it: `within …`, `at least …`, `is …`"),
                Type::Range(_) => Some("say which value must lie in it: `value within …`"),
                Type::Text | Type::Word(_) => Some("compare it: `is \"…\"`, `is one of (…)`"),
                Type::List(_) => Some("say `some x in …: …`, `every x in …: …` or `recorded …`"),
                Type::Record(_) => Some("name one of its fields, or say `recorded …`"),
                _ => None,
            };
            self.report(match help {
                Some(help) => diagnostic.help(help),
                None => diagnostic,
            });
            return mistaken(typed.place);
        }
        typed
    }

    fn path(&mut self, scope: &mut Scope, names: &[Name], place: Place) -> Result<Expr, Diagnostic> {
        let Some((head, fields)) = names.split_first() else { return Ok(mistaken(place)) };
        let mut at = self.head(scope, head)?;
        for name in fields {
            at = field(at, name, scope, false)?;
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
                at = field(at, name, scope, true)?;
            }
            Ok(at)
        })();
        typed.unwrap_or_else(|diagnostic: Diagnostic| {
            self.report(diagnostic);
            mistaken(place)
        })
    }

    fn head(&mut self, scope: &mut Scope, head: &Name) -> Result<Expr, Diagnostic> {
        let place = scope.place(head.span);
        if let Some((_, ty, slot)) = scope.variable(&head.node) {
            return Ok(Expr { kind: ExprKind::Variable(*slot), place, ty: ty.clone() });
        }
        let declared = self.names.get(scope.unit).and_then(|names| names.get(head.node.as_str()));
        let meaning = declared.map(|declared| declared.meaning);
        self.note_figure(meaning);
        match meaning {
            Some(Meaning::Let(number)) => return Ok(self.let_reference(number, place)),
            Some(Meaning::Parameter(number)) => {
                let ty = self.parameters.get(number).map_or(Type::Mistaken, |parameter| parameter.ty.clone());
                return Ok(Expr { kind: ExprKind::Parameter(number), place, ty });
            }
            Some(Meaning::Table(number)) => return self.lookup_by_own_keys(scope, number, place),
            Some(Meaning::Mistaken) => return Ok(mistaken(place)),
            None => {}
        }
        if head.node == AS_OF {
            return Ok(Expr { kind: ExprKind::AsOf, place, ty: Type::Day });
        }
        let Some(root) = scope.root.clone() else { return Ok(mistaken(place)) };
        match root.field(&head.node) {
            Some(_) => field(document(root, place), head, scope, false),
            None => Err(self.unknown_name(scope, &root, head)),
        }
    }

    /// Remembers that the rule at hand uses a declared figure.
    fn note_figure(&mut self, meaning: Option<Meaning>) {
        let figure = match meaning {
            Some(Meaning::Let(number)) => Figure::Let(number),
            Some(Meaning::Parameter(number)) => Figure::Parameter(number),
            Some(Meaning::Table(number)) => Figure::Table(number),
            Some(Meaning::Mistaken) | None => return,
        };
        if !self.figures.contains(&figure) {
            self.figures.push(figure);
        }
    }

    fn unknown_name(&self, scope: &Scope, root: &Record, head: &Name) -> Diagnostic {
        let place = scope.place(head.span);
        let declared = self.names.get(scope.unit).into_iter().flatten().map(|(name, _)| *name);
        let variables = scope.variables.iter().map(|(name, ..)| name.as_str());
        let fields = root.fields.iter().map(|field| &*field.name);
        let known = variables.chain(declared).chain(fields).chain([AS_OF]);
        let diagnostic =
            Diagnostic::error(UNKNOWN_NAME, place, format!("nothing is called `{}` here", head.node));
        if builtins::find(&head.node).is_some() {
            return diagnostic
                .help(format!("`{}` is a builtin; give it its arguments in brackets", head.node));
        }
        match nearest(&head.node, known) {
            Some(near) => diagnostic.help(format!("did you mean `{near}`?")),
            None => diagnostic.help(
                "a name is a variable of `each`, a let, parameter or table, or a field of the document",
            ),
        }
    }

    fn lookup_by_own_keys(
        &mut self,
        scope: &mut Scope,
        number: usize,
        place: Place,
    ) -> Result<Expr, Diagnostic> {
        let Some((_, written, _)) = self.tables.get(number) else { return Ok(mistaken(place)) };
        let (name, written_keys) = (written.name.node.clone(), written.keys.clone());
        let Some(ty) = self.settle_table(number).map(|table| table.ty.clone()) else {
            return Ok(mistaken(place));
        };
        let mut keys = Vec::new();
        for written in &written_keys {
            // The keys are looked up in the document itself, whatever variables are in sight here.
            let mut document_scope = self.scope(scope.unit);
            let before = self.diagnostics.len();
            let key = self.expr(&mut document_scope, written);
            if self.diagnostics.len() > before || !key.ty.is_text() {
                self.diagnostics.truncate(before);
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

    fn lookup(
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
                    Some(near) => diagnostic.help(format!("did you mean `{near}`?")),
                    None => diagnostic.help("declare it: `table NAME by FIELD` with its rows below"),
                });
            }
        };
        let typed: Vec<Expr> = written.iter().map(|key| self.expr(scope, key)).collect();
        let Some(settled) = self.settle_table(number) else { return Ok(mistaken(place)) };
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
        Ok(Expr { kind: ExprKind::Lookup { table: number, keys: typed }, place, ty })
    }

    fn call(
        &mut self,
        scope: &mut Scope,
        function: &Name,
        written: &[ast::Expr],
        place: Place,
    ) -> Result<Expr, Diagnostic> {
        let name_place = scope.place(function.span);
        let Some(builtin) = builtins::find(&function.node) else {
            let message = format!("there is no builtin `{}`", function.node);
            let diagnostic = Diagnostic::error(UNKNOWN_NAME, name_place, message);
            return Err(match nearest(&function.node, BUILTINS.iter().map(|builtin| builtin.name)) {
                Some(near) => diagnostic.help(format!("did you mean `{near}`?")),
                None => diagnostic.help(format!(
                    "the builtins are {}",
                    BUILTINS.iter().map(|builtin| builtin.name).collect::<Vec<_>>().join(", ")
                )),
            });
        };
        let arguments: Vec<Expr> = written.iter().map(|argument| self.expr(scope, argument)).collect();
        if arguments.iter().any(|argument| argument.ty.is_mistaken()) {
            return Ok(mistaken(place));
        }
        if arguments.len() != builtin.parameters.len() {
            let (wanted, given) = (builtin.parameters.len(), arguments.len());
            let message = format!("`{}` takes {wanted} arguments and is given {given}", builtin.name);
            return Err(
                Diagnostic::error(TYPE_MISMATCH, place, message).help(format!("write `{}`", builtin.call()))
            );
        }
        let first = arguments.first().map(|argument| argument.ty.clone());
        for (argument, (name, wants)) in arguments.iter().zip(builtin.parameters) {
            argument_fits(argument, name, *wants, first.as_ref())?;
        }
        let ty = builtin.result.type_for(first.as_ref());
        let known: Option<Vec<Value<'static>>> =
            arguments.iter().map(|argument| known(argument).cloned()).collect();
        // A truth stays an expression even when it is known: a demand keeps its words.
        match known {
            Some(values) if builtin.result != Gives::Truth => {
                Ok(constant((builtin.function)(&values).at(place)?, place, ty))
            }
            _ => Ok(Expr { kind: ExprKind::Call { builtin, arguments }, place, ty }),
        }
    }

    fn range(
        &mut self,
        scope: &mut Scope,
        form: &RangeForm<ast::Expr>,
        place: Place,
    ) -> Result<Expr, Diagnostic> {
        let typed = form.try_map(|operand| Ok::<Expr, Diagnostic>(self.expr(scope, operand)))?;
        let mut kinds = Vec::new();
        for operand in typed.operands() {
            match &operand.ty {
                Type::Quantity(kind) => kinds.push((*kind, operand.place)),
                Type::Mistaken => return Ok(mistaken(place)),
                other => {
                    let message = format!("a limit of a range must be a quantity, and this is {other}");
                    return Err(Diagnostic::error(TYPE_MISMATCH, operand.place, message));
                }
            }
        }
        let Some(((first, _), rest)) = kinds.split_first() else { return Ok(mistaken(place)) };
        let mut kind = *first;
        for (other, at) in rest {
            kind = match &typed {
                RangeForm::Between(..) => kind.comparable(*other).at(*at)?,
                _ => kind.tolerance(*other).at(*at)?,
            };
        }
        let values = typed.try_map(|operand| operand.constant_quantity().cloned().ok_or(()));
        match values {
            Ok(values) => {
                let range = values.range().at(place)?;
                Ok(constant(Value::Range(Arc::new(range)), place, Type::Range(kind)))
            }
            Err(()) => Ok(Expr { kind: ExprKind::Range(Box::new(typed)), place, ty: Type::Range(kind) }),
        }
    }

    fn minus(&mut self, scope: &mut Scope, inner: &ast::Expr, place: Place) -> Result<Expr, Diagnostic> {
        let inner = self.expr(scope, inner);
        let kind = quantity_kind(&inner, "a minus sign")?;
        let Some(kind) = kind else { return Ok(mistaken(place)) };
        let ty = Type::Quantity(kind);
        match inner.constant_quantity() {
            Some(quantity) => Ok(constant(Value::Quantity(quantity.neg().at(place)?), place, ty)),
            None => Ok(Expr { kind: ExprKind::Minus(Box::new(inner)), place, ty }),
        }
    }

    fn arithmetic(
        &mut self,
        scope: &mut Scope,
        sign: Arithmetic,
        left: &ast::Expr,
        right: &ast::Expr,
        place: Place,
    ) -> Result<Expr, Diagnostic> {
        let (left, right) = (self.expr(scope, left), self.expr(scope, right));
        let word = format!("`{}`", sign.sign());
        let (Some(a), Some(b)) = (quantity_kind(&left, &word)?, quantity_kind(&right, &word)?) else {
            return Ok(mistaken(place));
        };
        let kind = match sign {
            Arithmetic::Add => a.sum(b),
            Arithmetic::Subtract => a.difference(b),
            Arithmetic::Multiply => a.product(b),
            Arithmetic::Divide => a.quotient(b),
        }
        .at(place)
        .map_err(|diagnostic| {
            diagnostic.and_at(left.place, left.ty.to_string()).and_at(right.place, right.ty.to_string())
        })?;
        let ty = Type::Quantity(kind);
        match (left.constant_quantity(), right.constant_quantity()) {
            (Some(a), Some(b)) => Ok(constant(Value::Quantity(sign.apply(a, b).at(place)?), place, ty)),
            _ => Ok(Expr { kind: ExprKind::Arithmetic(sign, Box::new(left), Box::new(right)), place, ty }),
        }
    }

    fn compare(
        &mut self,
        scope: &mut Scope,
        comparison: Comparison,
        left: &ast::Expr,
        right: &ast::Expr,
        place: Place,
    ) -> Result<Expr, Diagnostic> {
        let (left, right) = (self.expr(scope, left), self.expr(scope, right));
        if left.ty.is_mistaken() || right.ty.is_mistaken() {
            return Ok(mistaken(place));
        }
        match comparison {
            Comparison::Is | Comparison::IsNot => equal_sort(&left, &right)?,
            Comparison::Before | Comparison::After => time_sort(comparison, &left, &right)?,
            _ => order_sort(comparison, &left, &right)?,
        }
        Ok(truth(ExprKind::Compare(comparison, Box::new(left), Box::new(right)), place))
    }

    fn within(
        &mut self,
        scope: &mut Scope,
        value: &ast::Expr,
        range: &ast::Expr,
        place: Place,
    ) -> Result<Expr, Diagnostic> {
        let (value, range) = (self.expr(scope, value), self.expr(scope, range));
        let Some(kind) = quantity_kind(&value, "`within`")? else { return Ok(mistaken(place)) };
        match &range.ty {
            Type::Mistaken => return Ok(mistaken(place)),
            Type::Range(wanted) => drop(comparable(kind, *wanted, &value, &range)?),
            Type::Quantity(_) => {
                return Err(Diagnostic::error(
                    TYPE_MISMATCH,
                    range.place,
                    "`within` wants a range, and this is a single value",
                )
                .help("write `a .. b` or `a ± b`, or compare with `is`, `at least`, `at most`"));
            }
            other => {
                let message = format!("`within` wants a range, and this is {other}");
                return Err(Diagnostic::error(TYPE_MISMATCH, range.place, message));
            }
        }
        Ok(truth(ExprKind::Within(Box::new(value), Box::new(range)), place))
    }

    fn one_of(
        &mut self,
        scope: &mut Scope,
        value: &ast::Expr,
        negated: bool,
        options: &[ast::Expr],
        place: Place,
    ) -> Result<Expr, Diagnostic> {
        let value = self.expr(scope, value);
        let options: Vec<Expr> = options.iter().map(|option| self.expr(scope, option)).collect();
        if value.ty.is_mistaken() || options.iter().any(|option| option.ty.is_mistaken()) {
            return Ok(mistaken(place));
        }
        for option in &options {
            equal_sort(&value, option)?;
        }
        Ok(truth(ExprKind::OneOf { value: Box::new(value), negated, options }, place))
    }

    fn recorded(&mut self, scope: &mut Scope, path: &ast::Expr, place: Place) -> Result<Expr, Diagnostic> {
        let path = self.expr(scope, path);
        if path.ty.is_mistaken() {
            return Ok(mistaken(place));
        }
        if !matches!(path.kind, ExprKind::Field { .. } | ExprKind::Variable(_) | ExprKind::Parameter(_)) {
            return Err(Diagnostic::error(
                TYPE_MISMATCH,
                path.place,
                "`recorded` wants a field of the document",
            ));
        }
        Ok(truth(ExprKind::Recorded(Box::new(path)), place))
    }

    /// Types a list and gives the type of its elements.
    pub(super) fn list(&mut self, scope: &mut Scope, written: &ast::Expr) -> (Expr, Type) {
        let list = self.expr(scope, written);
        match &list.ty {
            Type::List(element) => {
                let ty = Type::of(element);
                (list, ty)
            }
            Type::Mistaken => (list, Type::Mistaken),
            other => {
                let message = format!("a list is wanted after `in`, and this is {other}");
                self.report(Diagnostic::error(TYPE_MISMATCH, list.place, message));
                (mistaken(list.place), Type::Mistaken)
            }
        }
    }

    #[expect(clippy::too_many_arguments, reason = "one for each part of the construct")]
    fn quantified(
        &mut self,
        scope: &mut Scope,
        quantifier: ast::Quantifier,
        variable: &Name,
        list: &ast::Expr,
        condition: Option<&ast::Expr>,
        body: &ast::Expr,
        place: Place,
    ) -> Result<Expr, Diagnostic> {
        let (list, element) = self.list(scope, list);
        self.new_variable(scope, variable);
        let slot = scope.open(&variable.node, element);
        let condition = condition.map(|written| Box::new(self.truth(scope, written, "`where`")));
        let body = Box::new(self.truth(scope, body, quantifier.word()));
        scope.close();
        Ok(truth(ExprKind::Quantified { quantifier, slot, list: Box::new(list), condition, body }, place))
    }

    /// Refuses a variable that hides another name, so that a reader never has to guess.
    pub(super) fn new_variable(&mut self, scope: &Scope, variable: &Name) {
        let place = scope.place(variable.span);
        if scope.variables.len() >= VARIABLES {
            let message = format!("more than {VARIABLES} variables are in sight here");
            self.report(
                Diagnostic::error(crate::code::TOO_MANY_VARIABLES, place, message).help("split the rule"),
            );
        }
        let declared =
            self.names.get(scope.unit).is_some_and(|names| names.contains_key(variable.node.as_str()));
        let field = scope.root.as_ref().is_some_and(|root| root.field(&variable.node).is_some());
        let hidden = if scope.variable(&variable.node).is_some() {
            "another variable"
        } else if declared {
            "a name of this file"
        } else if field {
            "a field of the document"
        } else {
            return;
        };
        let message = format!("the variable `{}` would hide {hidden}", variable.node);
        self.report(
            Diagnostic::error(crate::code::DUPLICATE_NAME, place, message).help("choose another name for it"),
        );
    }

    fn aggregate(
        &mut self,
        scope: &mut Scope,
        aggregate: Aggregate,
        list: &ast::Expr,
        (value, variable, condition): (Option<&ast::Expr>, Option<&Name>, Option<&ast::Expr>),
        place: Place,
    ) -> Result<Expr, Diagnostic> {
        let (list, element) = self.list(scope, list);
        let list = Box::new(list);
        let Some(variable) = variable else {
            let kind = ExprKind::Aggregate { aggregate, value: None, slot: None, list, condition: None };
            return Ok(Expr { kind, place, ty: Type::Quantity(Kind::NUMBER) });
        };
        self.new_variable(scope, variable);
        let slot = scope.open(&variable.node, element);
        let condition = condition.map(|written| Box::new(self.truth(scope, written, "`where`")));
        let value = value.map(|written| self.expr(scope, written));
        scope.close();
        let kind = match &value {
            None => Some(Kind::NUMBER),
            Some(value) => quantity_kind(value, aggregate.words())?,
        };
        let Some(kind) = kind else { return Ok(mistaken(place)) };
        if aggregate == Aggregate::Sum {
            kind.sum(kind).at(place)?;
        }
        let value = value.map(Box::new);
        let kind_of = ExprKind::Aggregate { aggregate, value, slot: Some(slot), list, condition };
        Ok(Expr { kind: kind_of, place, ty: Type::Quantity(kind) })
    }
}

/// The day of the run, as rules name it.
pub(super) const AS_OF: &str = "as_of";

fn truth(kind: ExprKind, place: Place) -> Expr {
    Expr { kind, place, ty: Type::Truth }
}

fn document(root: Arc<Record>, place: Place) -> Expr {
    Expr { kind: ExprKind::Root, place: Place { span: Span::default(), ..place }, ty: Type::Record(root) }
}

fn known(expr: &Expr) -> Option<&Value<'static>> {
    match &expr.kind {
        ExprKind::Constant(value) => Some(value),
        _ => None,
    }
}

/// A field of a part of the document.
fn field(base: Expr, name: &Name, scope: &Scope, through_lists: bool) -> Result<Expr, Diagnostic> {
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
    let Some((index, field)) = record.field(&name.node) else {
        let message = format!("{} has no field `{}`", record_name(&record), name.node);
        let diagnostic = Diagnostic::error(NO_SUCH_FIELD, place, message);
        return Err(match nearest(&name.node, record.fields.iter().map(|field| &*field.name)) {
            Some(near) => diagnostic.help(format!("did you mean `{near}`?")),
            None => diagnostic.help(format!(
                "its fields are {}",
                record.fields.iter().map(|field| &*field.name).collect::<Vec<_>>().join(", ")
            )),
        });
    };
    let ty = Type::of(&field.shape);
    let name = Arc::clone(&field.name);
    Ok(Expr { kind: ExprKind::Field { base: Box::new(base), index, name }, place, ty })
}

fn record_name(record: &Record) -> String {
    if record.title.is_empty() { "this part of the document".to_owned() } else { with_article(&record.title) }
}

/// The kind of an operand that must be a quantity; `None` after a mistake.
fn quantity_kind(operand: &Expr, of: &str) -> Result<Option<Kind>, Diagnostic> {
    match &operand.ty {
        Type::Quantity(kind) => Ok(Some(*kind)),
        Type::Mistaken => Ok(None),
        other => {
            let message = format!("{of} wants a quantity, and this is {other}");
            Err(Diagnostic::error(TYPE_MISMATCH, operand.place, message))
        }
    }
}

fn comparable(left: Kind, right: Kind, a: &Expr, b: &Expr) -> Result<Kind, Diagnostic> {
    left.comparable(right)
        .at(b.place)
        .map_err(|diagnostic| diagnostic.labelled(b.ty.to_string()).and_at(a.place, a.ty.to_string()))
}

fn equal_sort(left: &Expr, right: &Expr) -> Result<(), Diagnostic> {
    match (&left.ty, &right.ty) {
        (Type::Quantity(a), Type::Quantity(b)) => comparable(*a, *b, left, right).map(drop),
        (Type::Word(words), Type::Text) => known_word(right, words),
        (Type::Text, Type::Word(words)) => known_word(left, words),
        (Type::Quantity(_), Type::Range(_)) => Err(Diagnostic::error(
            TYPE_MISMATCH,
            right.place,
            "`is` compares with a single value, and this is a range",
        )
        .help("say `within`")),
        (a, b) if same_sort(a, b) => Ok(()),
        (a, b) => {
            let message = format!("{a} can never be {b}");
            Err(Diagnostic::error(TYPE_MISMATCH, right.place, message)
                .labelled(b.to_string())
                .and_at(left.place, a.to_string()))
        }
    }
}

fn known_word(text: &Expr, words: &[Arc<str>]) -> Result<(), Diagnostic> {
    match known(text) {
        Some(Value::Text(text_value)) => word_of(text_value, words).at(text.place),
        _ => Ok(()),
    }
}

fn order_sort(comparison: Comparison, left: &Expr, right: &Expr) -> Result<(), Diagnostic> {
    let word = format!("`{}`", comparison.words());
    if left.ty.is_time() && right.ty.is_time() {
        return Err(Diagnostic::error(ORDER_OF_TEXT, left.place, format!("{word} compares quantities"))
            .help("times are compared with `before` and `after`"));
    }
    let (a, b) = (quantity_kind(left, &word)?, quantity_kind(right, &word)?);
    match (a, b) {
        (Some(a), Some(b)) => comparable(a, b, left, right).map(drop),
        _ => Ok(()),
    }
}

fn time_sort(comparison: Comparison, left: &Expr, right: &Expr) -> Result<(), Diagnostic> {
    match [left, right].into_iter().find(|side| !side.ty.is_time()) {
        None => Ok(()),
        Some(side) => {
            let message = format!("`{}` compares times, and this is {}", comparison.words(), side.ty);
            Err(Diagnostic::error(TYPE_MISMATCH, side.place, message))
        }
    }
}

fn argument_fits(argument: &Expr, name: &str, wants: Wants, first: Option<&Type>) -> Result<(), Diagnostic> {
    let fits = match (wants, &argument.ty) {
        (Wants::Text, ty) => ty.is_text(),
        (Wants::Quantity, Type::Quantity(_)) | (Wants::Range, Type::Range(_)) => true,
        (Wants::QuantityLikeFirst, Type::Quantity(kind)) => match first {
            Some(Type::Quantity(wanted)) => return wanted.comparable(*kind).at(argument.place).map(drop),
            _ => false,
        },
        _ => false,
    };
    if fits {
        return Ok(());
    }
    let wanted = match wants {
        Wants::Text => "a text",
        Wants::Quantity | Wants::QuantityLikeFirst => "a quantity",
        Wants::Range => "a range",
    };
    let message = format!("the argument `{name}` must be {wanted}, and this is {}", argument.ty);
    Err(Diagnostic::error(TYPE_MISMATCH, argument.place, message))
}
