//! The types of expressions. Every mistake is reported once, at its place, and gives
//! [`Type::Mistaken`], which fits everywhere, so that one mistake does not set off others.

use std::borrow::Cow;
use std::sync::Arc;

use super::comparability::{
    argument_fits, comparable, equal_sort, helped, order_sort, quantity_kind, short, time_of_entry, time_sort,
};
use super::times::{beside_time, time_arithmetic};
use super::{Checker, Scope, bare, constant};
use crate::code::{QUANTIFIER_REACH, TYPE_MISMATCH};
use crate::diagnostic::{At, Diagnostic};
use crate::language::ast::{self, Aggregate, Arithmetic, Comparison, Name, RangeForm};
use crate::language::builtins::{self, Gives};
use crate::language::typed::{Expr, ExprKind, VARIABLES};
use crate::language::types::Type;
use crate::metrology::Working;
use crate::quantity::{Kind, Quantity, Range};
use crate::source::{Place, Span};
use crate::value::Value;

/// What stands where a mistake was reported.
pub(super) fn mistaken(place: Place) -> Expr {
    constant(Value::Truth(false), place, Type::Mistaken)
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
            ast::ExprKind::Day(day) => Ok(constant(Value::Day(*day), place, Type::Day)),
            ast::ExprKind::WordList(words) => self.word_list(scope, words, place),
            ast::ExprKind::EntriesOf(lists) => self.entries_of_lists(scope, lists, place),
            ast::ExprKind::Path(names) => self.path(scope, names, place),
            ast::ExprKind::Lookup { table, keys } => self.lookup(scope, table, keys, place),
            ast::ExprKind::Of { name, entry } => self.of_entry(scope, name, entry, place),
            ast::ExprKind::Cases(cases) => self.cases(scope, cases, place),
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
                let typed = (self.expr(scope, left), self.expr(scope, right));
                bare::settled((typed.0, left), (typed.1, right))
                    .and_then(|(left, right)| self.compared(*comparison, left, right, place))
            }
            ast::ExprKind::Within(value, range) => {
                let (typed, limits) = (self.expr(scope, value), self.expr(scope, range));
                match typed.ty {
                    Type::Log(..) => quantity_kind(&typed, "`within`").map(|_| mistaken(place)),
                    _ => self.inside((typed, value), (limits, range), place),
                }
            }
            ast::ExprKind::OneOf { value, negated, options } => {
                self.one_of(scope, value, *negated, options, place)
            }
            ast::ExprKind::Recorded(path) => self.recorded(scope, path, place),
            ast::ExprKind::Rate(path) => self.rate(scope, path, place),
            ast::ExprKind::Timed(timed) => self.timed(scope, timed, place),
            ast::ExprKind::Decided(rule, inner) => {
                let inner = self.truth(scope, inner, "`demands`");
                Ok(truth(ExprKind::Decided(rule.clone(), Box::new(inner)), place))
            }
            ast::ExprKind::Quantified { quantifier, variable, list, condition, body } => {
                self.quantified(scope, *quantifier, variable, list, condition.as_deref(), body, place)
            }
            ast::ExprKind::Aggregate { aggregate, value, variable, list, condition } => {
                let parts = (value.as_deref(), variable.as_ref(), condition.as_deref());
                self.aggregate(scope, *aggregate, list, parts, place)
            }
        };
        self.settled(place, |_| typed)
    }

    /// What came out of typing an expression, its mistake reported and counted.
    pub(super) fn settled(
        &mut self,
        place: Place,
        typed: impl FnOnce(&mut Self) -> Result<Expr, Diagnostic>,
    ) -> Expr {
        let typed = typed(self).unwrap_or_else(|diagnostic: Diagnostic| {
            self.report(diagnostic);
            mistaken(place)
        });
        self.mistaken += usize::from(typed.ty.is_mistaken());
        typed
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
                Type::Text | Type::Word(_) => {
                    Some("compare it: `is \"…\"`; with several, `is one of (…)` or `is not one of (…)`")
                }
                Type::Words(_) => Some("say which value is one of them: `value is …`"),
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

    fn call(
        &mut self,
        scope: &mut Scope,
        function: &Name,
        written: &[ast::Expr],
        place: Place,
    ) -> Result<Expr, Diagnostic> {
        let Some(builtin) = builtins::find(&function.node) else {
            return Err(self.no_builtin(scope, function));
        };
        let arguments: Vec<Expr> = written.iter().map(|argument| short(self.expr(scope, argument))).collect();
        if arguments.iter().any(|argument| argument.ty.is_mistaken()) {
            return Ok(mistaken(place));
        }
        if arguments.len() != builtin.parameters.len() {
            let (wanted, given) = (builtin.parameters.len(), arguments.len());
            let noun = if wanted == 1 { "argument" } else { "arguments" };
            let message = format!("`{}` takes {wanted} {noun} and is given {given}", builtin.name);
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
                let answer = (builtin.function)(&values, &mut Working::none());
                let culprit = answer
                    .as_ref()
                    .err()
                    .and_then(|fault| written.get(usize::try_from(fault.argument?).ok()?));
                let at = culprit.map_or(place, |argument| scope.place(argument.span));
                Ok(constant(answer.at(at)?, place, ty))
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
        let typed = match (typed, form) {
            (RangeForm::Between(low, high), RangeForm::Between(low_written, high_written)) => {
                let (low, high) = bare::settled((low, low_written), (high, high_written))?;
                RangeForm::Between(low, high)
            }
            (typed, _) => typed,
        };
        let mut kinds = Vec::new();
        for operand in typed.operands() {
            match &operand.ty {
                Type::Quantity(kind) => kinds.push((*kind, operand)),
                Type::Mistaken => return Ok(mistaken(place)),
                other => {
                    let message = format!("a limit of a range must be a quantity, and this is {other}");
                    return Err(Diagnostic::error(TYPE_MISMATCH, operand.place, message));
                }
            }
        }
        let Some(((first, nominal), rest)) = kinds.split_first() else { return Ok(mistaken(place)) };
        let mut kind = *first;
        for (other, at) in rest {
            kind = match &typed {
                RangeForm::Between(..) => comparable(kind, *other, nominal, at)?,
                _ => {
                    kind.tolerance(*other).at(at.place).map_err(|mistake| match tolerance_meant(&typed) {
                        Some(help) => mistake.help(help),
                        None => mistake,
                    })?
                }
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
        if left.ty.is_mistaken() || right.ty.is_mistaken() {
            return Ok(mistaken(place));
        }
        if let Some(ty) = time_arithmetic(sign, &left.ty, &right.ty) {
            return Ok(Expr { kind: ExprKind::Arithmetic(sign, Box::new(left), Box::new(right)), place, ty });
        }
        if let Some(wrong) = beside_time(sign, &left, &right) {
            return Err(wrong);
        }
        let word = format!("`{}`", sign.sign());
        let (Some(a), Some(b)) = (quantity_kind(&left, &word)?, quantity_kind(&right, &word)?) else {
            return Ok(mistaken(place));
        };
        let kind = match sign {
            Arithmetic::Add => a.sum(b),
            Arithmetic::Subtract | Arithmetic::Elapsed => a.difference(b),
            Arithmetic::Multiply => a.product(b),
            Arithmetic::Divide => a.quotient(b),
        }
        .at(place)
        .map_err(|diagnostic| {
            let labelled = diagnostic.and_at(left.place, left.ty.to_string());
            helped(labelled.and_at(right.place, right.ty.to_string()), (a, &left), (b, &right))
        })?;
        let ty = Type::Quantity(kind);
        match (left.constant_quantity(), right.constant_quantity()) {
            (Some(a), Some(b)) => Ok(constant(Value::Quantity(sign.apply(a, b).at(place)?), place, ty)),
            _ => Ok(Expr { kind: ExprKind::Arithmetic(sign, Box::new(left), Box::new(right)), place, ty }),
        }
    }

    /// Types a comparison of two typed values.
    pub(super) fn compared(
        &mut self,
        comparison: Comparison,
        left: Expr,
        right: Expr,
        place: Place,
    ) -> Result<Expr, Diagnostic> {
        if left.ty.is_mistaken() || right.ty.is_mistaken() {
            return Ok(mistaken(place));
        }
        if matches!(comparison, Comparison::Before | Comparison::After)
            && matches!((&left.ty, &right.ty), (Type::Record(_), Type::Record(_)))
        {
            let (left, right) = (Box::new(time_of_entry(left)?), Box::new(time_of_entry(right)?));
            return Ok(truth(ExprKind::InOrder(comparison, left, right), place));
        }
        let (left, right) = (short(left), short(right));
        match comparison {
            Comparison::Is | Comparison::IsNot => {
                equal_sort(&left, &right)?;
                if !self.words_agree(&left, &right)? {
                    return Ok(mistaken(place));
                }
            }
            Comparison::Before | Comparison::After => time_sort(comparison, &left, &right)?,
            _ => order_sort(comparison, &left, &right)?,
        }
        // What is recorded is the value and what is stated is its limit, whichever is written first.
        let is_list = matches!(right.ty, Type::Words(_));
        let (comparison, left, right) = match !is_list && !of_the_record(&left) && of_the_record(&right) {
            true => (comparison.turned_round(), right, left),
            false => (comparison, left, right),
        };
        Ok(truth(ExprKind::Compare(comparison, Box::new(left), Box::new(right)), place))
    }

    /// Types `within` of a typed value, or a log, and a typed range.
    pub(super) fn inside(
        &mut self,
        value: (Expr, &ast::Expr),
        range: (Expr, &ast::Expr),
        place: Place,
    ) -> Result<Expr, Diagnostic> {
        let range_written = range.1;
        let (value, range) = bare::settled(value, range)?;
        let kind = match value.ty {
            Type::Log(kind, _) => Some(kind),
            _ => quantity_kind(&value, "`within`")?,
        };
        let Some(kind) = kind else { return Ok(mistaken(place)) };
        match &range.ty {
            Type::Mistaken => return Ok(mistaken(place)),
            Type::Range(wanted) => drop(comparable(kind, *wanted, &value, &range)?),
            Type::Quantity(_) => {
                return Err(Diagnostic::error(
                    TYPE_MISMATCH,
                    range.place,
                    "`within` wants a range, and this is a single value",
                )
                .help(self.range_meant(range_written, &range)));
            }
            other => {
                let message = format!("`within` wants a range, and this is {other}");
                return Err(Diagnostic::error(TYPE_MISMATCH, range.place, message));
            }
        }
        Ok(truth(ExprKind::Within(Box::new(value), Box::new(range)), place))
    }

    /// The range that was probably meant by a single value behind `within`, also where a name stands for it.
    fn range_meant(&self, written: &ast::Expr, typed: &Expr) -> String {
        let literal = |expr: &ast::Expr| match &expr.kind {
            ast::ExprKind::Quantity(quantity) => Some(quantity.to_string()),
            _ => None,
        };
        let named = match &written.kind {
            ast::ExprKind::Path(names) => names.first().filter(|_| names.len() == 1),
            _ => None,
        };
        let named = named.and_then(|name| {
            let mut lets = self.lets.all().iter().map(|(_, written, _)| *written);
            lets.find(|written| written.name.node == name.node)
        });
        let value = named.map_or(written, |named| &named.value);
        if let ast::ExprKind::Arithmetic(Arithmetic::Subtract, low, high) = &value.kind
            && let (Some(low), Some(high)) = (literal(low), literal(high))
        {
            return match named {
                Some(named) => {
                    format!("at `let {}` write the range with two points: `{low} .. {high}`", named.name.node)
                }
                None => format!("a range is written with two points: `{low} .. {high}`"),
            };
        }
        match typed.constant_quantity() {
            Some(quantity) => format!("give a tolerance, `{quantity} ± …`, or two limits, `{quantity} .. …`"),
            None => "write `a .. b` or `a ± b`, or compare with `is`, `at least`, `at most`".to_owned(),
        }
    }

    fn one_of(
        &mut self,
        scope: &mut Scope,
        value: &ast::Expr,
        negated: bool,
        options: &[ast::Expr],
        place: Place,
    ) -> Result<Expr, Diagnostic> {
        let value = short(self.expr(scope, value));
        let typed =
            options.iter().map(|option| bare::beside(option, short(self.expr(scope, option)), &value.ty));
        let options: Vec<Expr> = typed.collect::<Result<_, _>>()?;
        if value.ty.is_mistaken() || options.iter().any(|option| option.ty.is_mistaken()) {
            return Ok(mistaken(place));
        }
        for option in &options {
            equal_sort(&value, option)?;
            if !self.words_agree(&value, option)? {
                return Ok(mistaken(place));
            }
        }
        Ok(truth(ExprKind::OneOf { value: Box::new(value), negated, options }, place))
    }

    fn recorded(&mut self, scope: &mut Scope, path: &ast::Expr, place: Place) -> Result<Expr, Diagnostic> {
        let path = self.expr(scope, path);
        if path.ty.is_mistaken() {
            return Ok(mistaken(place));
        }
        if !matches!(
            path.kind,
            ExprKind::Field { .. } | ExprKind::Link { .. } | ExprKind::Variable(_) | ExprKind::Parameter(..)
        ) {
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
                let message = format!("expected a list after `in`, and this is {other}");
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
        let last = last_part(body);
        let body = Box::new(self.truth(scope, body, quantifier.word()));
        self.asked_of_all((&variable.node, slot, &list), condition.as_deref(), &[&body]);
        let used = scope.used.get(&slot).copied();
        scope.close();
        if let Some((logic, last)) = last
            && !body.ty.is_mistaken()
            && used.is_none_or(|used| used.start < last.start)
        {
            self.report(reaches_too_far(quantifier, variable, logic, scope.place(last)));
        }
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
        let name = variable.node.as_str();
        let Some(hidden) = self.hidden_in(scope, name) else { return };
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
        let ty = if aggregate == Aggregate::All { Type::Several(kind) } else { Type::Quantity(kind) };
        let kind = ExprKind::Aggregate { aggregate, value, slot: Some(slot), list, condition };
        Ok(Expr { kind, place, ty })
    }
}

/// The last part that `and`, `or` or `implies` adds to what a quantifier says, where no brackets show how far
/// that reaches.
fn last_part(body: &ast::Expr) -> Option<(ast::Logic, Span)> {
    let mut found = None;
    let mut rest = body;
    while let ast::ExprKind::Logic(logic, left, right) = &rest.kind {
        if rest.span.start < left.span.start {
            break;
        }
        found = Some((*logic, right.span));
        rest = right;
    }
    found
}

/// A quantifier reaches to the end of its clause. A part behind `and` or `or` that does not speak of its
/// elements was probably meant to stand beside it: of an empty list it would never be looked at.
fn reaches_too_far(
    quantifier: ast::Quantifier,
    variable: &Name,
    logic: ast::Logic,
    last: Place,
) -> Diagnostic {
    let (word, variable) = (quantifier.word(), &variable.node);
    let message = format!(
        "{word} reaches to the end of the line, so this belongs to what it says of each `{variable}`, and `{variable}` is not in it"
    );
    Diagnostic::error(QUANTIFIER_REACH, last, message).help(format!(
        "put the quantifier in brackets, `(… {variable} in …: …) {} …`, or, if it is meant so, all that is behind the colon",
        logic.word().trim_matches('`')
    ))
}

/// What was probably meant by a tolerance that is none of its nominal value, where both are written out.
fn tolerance_meant(form: &RangeForm<Expr>) -> Option<String> {
    let written = |expr: &Expr| expr.constant_quantity().map(Quantity::to_string);
    let text = match form {
        RangeForm::PlusMinus(nominal, part) => format!("{} ± {}", written(nominal)?, written(part)?),
        RangeForm::PlusAndMinus(nominal, plus, minus) => {
            format!("{} +{}/-{}", written(nominal)?, written(plus)?, written(minus)?)
        }
        _ => return None,
    };
    Range::parse(&text, None).err()?.help
}

fn truth(kind: ExprKind, place: Place) -> Expr {
    Expr { kind, place, ty: Type::Truth }
}

fn known(expr: &Expr) -> Option<&Value<'static>> {
    match &expr.kind {
        ExprKind::Constant(value) => Some(value),
        _ => None,
    }
}

/// Whether something of a document has a part in an expression; what a table gives is a limit.
fn of_the_record(expr: &Expr) -> bool {
    let mut found = matches!(expr.kind, ExprKind::Variable(_) | ExprKind::Root | ExprKind::Let(..));
    if !matches!(expr.kind, ExprKind::Lookup { .. }) {
        expr.for_each_part(&mut |part| found |= of_the_record(part));
    }
    found
}
