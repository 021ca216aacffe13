//! Which operator binds first: turns a run of operands and operators into a tree.

use crate::code;
use crate::diagnostic::{At, Diagnostic};
use crate::language::ast::{Arithmetic, Comparison, Expr, ExprKind, Logic, RangeExpr};
use crate::language::read::grammar::Rule;
use crate::language::read::hints::{A_TOLERANCE, double_sign};
use crate::quantity::{Number, Quantity, Unit};
use crate::source::{Place, SourceId, Span};

/// How tight an operator binds; a later one binds tighter.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
enum Binding {
    Loosest,
    Implies,
    Or,
    And,
    Not,
    Compare,
    Range,
    Sum,
    Product,
    Sign,
}

/// What stands in a run.
pub(crate) enum Piece {
    /// An operand, and whether it stands in brackets.
    Operand(Expr, bool),
    /// A sign or word between, before or after operands.
    Operator(Rule, Span),
    /// `is one of (…)` or `is not one of (…)` behind an operand.
    OneOf { negated: bool, options: Vec<Expr>, span: Span },
    /// `+5/-0 Nm` behind an operand.
    PlusAndMinus { plus: Expr, minus: Expr, span: Span },
}

/// How an operator between two operands makes one expression of them.
#[derive(Clone, Copy)]
enum Join {
    Logic(Logic),
    Compare(Comparison),
    Within,
    Between,
    PlusMinus,
    Arithmetic(Arithmetic),
}

fn join_of(rule: Rule) -> Option<(Binding, Join)> {
    Some(match rule {
        Rule::implies => (Binding::Implies, Join::Logic(Logic::Implies)),
        Rule::or => (Binding::Or, Join::Logic(Logic::Or)),
        Rule::and => (Binding::And, Join::Logic(Logic::And)),
        Rule::is => (Binding::Compare, Join::Compare(Comparison::Is)),
        Rule::is_not => (Binding::Compare, Join::Compare(Comparison::IsNot)),
        Rule::above => (Binding::Compare, Join::Compare(Comparison::Above)),
        Rule::below => (Binding::Compare, Join::Compare(Comparison::Below)),
        Rule::at_least => (Binding::Compare, Join::Compare(Comparison::AtLeast)),
        Rule::at_most => (Binding::Compare, Join::Compare(Comparison::AtMost)),
        Rule::before => (Binding::Compare, Join::Compare(Comparison::Before)),
        Rule::after => (Binding::Compare, Join::Compare(Comparison::After)),
        Rule::within => (Binding::Compare, Join::Within),
        Rule::between => (Binding::Range, Join::Between),
        Rule::plus_minus => (Binding::Range, Join::PlusMinus),
        Rule::plus => (Binding::Sum, Join::Arithmetic(Arithmetic::Add)),
        Rule::minus => (Binding::Sum, Join::Arithmetic(Arithmetic::Subtract)),
        Rule::times => (Binding::Product, Join::Arithmetic(Arithmetic::Multiply)),
        Rule::divided => (Binding::Product, Join::Arithmetic(Arithmetic::Divide)),
        _ => return None,
    })
}

/// Makes a tree of a run. The run comes from the grammar, so operands and operators alternate.
pub(crate) fn tree(source: SourceId, run: Vec<Piece>) -> Result<Expr, Diagnostic> {
    let end = run.iter().map(Piece::span).reduce(Span::to).unwrap_or_default();
    let mut builder = Builder { source, end, run: run.into_iter().peekable() };
    builder.expression(Binding::Loosest).map(|operand| operand.expr)
}

impl Piece {
    fn span(&self) -> Span {
        match self {
            Piece::Operand(expr, _) => expr.span,
            Piece::Operator(_, span) | Piece::OneOf { span, .. } | Piece::PlusAndMinus { span, .. } => *span,
        }
    }

    /// How tight it binds what stands before it.
    fn binding(&self) -> Option<Binding> {
        match self {
            Piece::Operand(..) => None,
            Piece::Operator(rule, _) => join_of(*rule).map(|(binding, _)| binding),
            Piece::OneOf { .. } => Some(Binding::Compare),
            Piece::PlusAndMinus { .. } => Some(Binding::Range),
        }
    }
}

/// What comes next in a run.
enum Next {
    /// A sign or word before another operand.
    Operator(Rule, Span),
    /// What stands behind an operand.
    Postfix,
}

struct Operand {
    expr: Expr,
    bracketed: bool,
}

struct Builder {
    source: SourceId,
    end: Span,
    run: std::iter::Peekable<std::vec::IntoIter<Piece>>,
}

impl Builder {
    /// Reads as long as operators bind tighter than `floor`. Operands lie in boxes and each step is a function
    /// of its own, because the frames here count once for each link of a chain.
    fn expression(&mut self, floor: Binding) -> Result<Box<Operand>, Diagnostic> {
        let mut left = self.operand();
        while let Some((next, binding)) = self.next_binding(floor) {
            left = match (left, next) {
                (Ok(left), Next::Operator(rule, span)) => self.infix(left, rule, span, binding),
                (Ok(left), Next::Postfix) => self.postfix(left, binding),
                (Err(mistake), _) => return Err(mistake),
            };
        }
        left
    }

    /// What comes next, where it binds tighter than `floor`.
    fn next_binding(&mut self, floor: Binding) -> Option<(Next, Binding)> {
        let piece = self.run.peek()?;
        let binding = piece.binding().filter(|binding| *binding > floor)?;
        let next = match piece {
            Piece::Operator(rule, span) => Next::Operator(*rule, *span),
            _ => Next::Postfix,
        };
        Some((next, binding))
    }

    fn operand(&mut self) -> Result<Box<Operand>, Diagnostic> {
        match self.run.peek() {
            Some(Piece::Operator(rule, span)) => {
                let (rule, span) = (*rule, *span);
                self.prefixed(rule, span)
            }
            _ => self.plain_operand(),
        }
    }

    fn plain_operand(&mut self) -> Result<Box<Operand>, Diagnostic> {
        match self.run.next() {
            Some(Piece::Operand(expr, bracketed)) => Ok(Box::new(Operand { expr, bracketed })),
            other => Err(self.no_operand(other)),
        }
    }

    fn no_operand(&self, found: Option<Piece>) -> Diagnostic {
        let span = found.map_or(self.end, |piece| piece.span());
        self.mistake(code::CLAUSE_FORM, span, "a value is missing here")
    }

    fn prefixed(&mut self, rule: Rule, span: Span) -> Result<Box<Operand>, Diagnostic> {
        let binding = match rule {
            Rule::not => Binding::Not,
            Rule::minus | Rule::positive => Binding::Sign,
            _ => Binding::Range,
        };
        // A prefix binds all that stands behind it as tight as itself, a further prefix too.
        match self.take_prefix(span, binding).and_then(|()| self.expression(binding)) {
            Ok(operand) => self.with_prefix(rule, span, binding, operand),
            Err(mistake) => Err(mistake),
        }
    }

    fn take_prefix(&mut self, span: Span, binding: Binding) -> Result<(), Diagnostic> {
        self.run.next();
        if binding == Binding::Sign { self.refuse_second_sign(span) } else { Ok(()) }
    }

    fn with_prefix(
        &self,
        rule: Rule,
        span: Span,
        binding: Binding,
        operand: Box<Operand>,
    ) -> Result<Box<Operand>, Diagnostic> {
        let whole = span.to(operand.expr.span);
        if binding == Binding::Range && is_range(&operand) {
            return Err(self.chained_range(whole));
        }
        let range = |form: fn(Expr) -> RangeExpr, expr| ExprKind::Range(Box::new(form(expr)));
        let kind = match (rule, operand.expr.kind) {
            // A sign before a figure belongs to it: −5 °C is a temperature, not the opposite of one.
            (Rule::minus, ExprKind::Number(number)) if !operand.bracketed => ExprKind::Number(-&number),
            (Rule::minus, ExprKind::Quantity(quantity)) if !operand.bracketed => {
                ExprKind::Quantity(quantity.neg().at(Place { source: self.source, span: whole })?)
            }
            (Rule::positive, kind) => kind,
            (rule, kind) => {
                let expr = Expr { kind, span: operand.expr.span };
                match rule {
                    Rule::not => ExprKind::Not(Box::new(expr)),
                    Rule::minus => ExprKind::Minus(Box::new(expr)),
                    Rule::at_least => range(RangeExpr::AtLeast, expr),
                    Rule::at_most => range(RangeExpr::AtMost, expr),
                    Rule::above => range(RangeExpr::Above, expr),
                    _ => range(RangeExpr::Below, expr),
                }
            }
        };
        Ok(whole_of(kind, whole))
    }

    fn infix(
        &mut self,
        left: Box<Operand>,
        rule: Rule,
        span: Span,
        binding: Binding,
    ) -> Result<Box<Operand>, Diagnostic> {
        let join = self.operator(&left, rule, span, binding)?;
        // `implies` groups to the right, so what stands behind it may bind as loosely.
        let floor = if binding == Binding::Implies { Binding::Loosest } else { binding };
        match self.expression(floor) {
            Ok(right) => self.both(left.expr, join, right, binding),
            Err(mistake) => Err(mistake),
        }
    }

    /// Takes the operator that comes next.
    fn operator(
        &mut self,
        left: &Operand,
        rule: Rule,
        span: Span,
        binding: Binding,
    ) -> Result<Join, Diagnostic> {
        self.refuse_chain(left, span, binding)?;
        self.run.next();
        if binding == Binding::Sum {
            self.refuse_second_sign(span)?;
        }
        let join = join_of(rule).map(|(_, join)| join);
        join.ok_or_else(|| self.mistake(code::CLAUSE_FORM, span, "this cannot follow a value"))
    }

    fn both(
        &mut self,
        left: Expr,
        join: Join,
        right: Box<Operand>,
        binding: Binding,
    ) -> Result<Box<Operand>, Diagnostic> {
        let whole = left.span.to(right.expr.span);
        if binding == Binding::Range && is_range(&right) {
            return Err(self.chained_range(whole));
        }
        match self.time_word(join) {
            Some(word) => self.in_time(left, right.expr, word),
            None => Ok(whole_of(self.joined(join, left, right.expr)?, whole)),
        }
    }

    fn postfix(&mut self, left: Box<Operand>, binding: Binding) -> Result<Box<Operand>, Diagnostic> {
        let Some(piece) = self.run.next() else { return Ok(left) };
        self.refuse_chain(&left, piece.span(), binding)?;
        let left = left.expr;
        let whole = left.span.to(piece.span());
        let kind = match piece {
            Piece::OneOf { negated, options, .. } => {
                ExprKind::OneOf { value: Box::new(left), negated, options }
            }
            Piece::PlusAndMinus { plus, minus, .. } => {
                let nominal = self.nominal_with_unit_of(left, &minus)?;
                let plus = self.with_unit_of(plus, &minus)?;
                ExprKind::Range(Box::new(RangeExpr::PlusAndMinus(nominal, plus, minus)))
            }
            other => {
                let message = "this value is joined to nothing";
                return Err(self.mistake(code::CLAUSE_FORM, other.span(), message));
            }
        };
        Ok(whole_of(kind, whole))
    }

    /// The `after` or `before` that may stand behind `within` and a duration.
    fn time_word(&mut self, join: Join) -> Option<Rule> {
        let word = |piece: &Piece| match piece {
            Piece::Operator(rule @ (Rule::after | Rule::before), _) => Some(*rule),
            _ => None,
        };
        let found = self.run.peek().and_then(word).filter(|_| matches!(join, Join::Within))?;
        self.run.next();
        Some(found)
    }

    /// `a within 10 min after b` is `a − b within 0 min .. 10 min`; a range may stand there as it is.
    fn in_time(&mut self, time: Expr, lag: Expr, word: Rule) -> Result<Box<Operand>, Diagnostic> {
        let other = self.expression(Binding::Compare)?.expr;
        let span = time.span.to(other.span);
        let range = match lag.kind {
            ExprKind::Range(_) => lag,
            _ => {
                let (span, unwritten) = (lag.span, Span { end: lag.span.start, ..lag.span });
                let none = Expr { kind: ExprKind::Quantity(nothing_of(&lag)), span: unwritten };
                Expr { kind: ExprKind::Range(Box::new(RangeExpr::Between(none, lag))), span }
            }
        };
        let (later, earlier) = if word == Rule::after { (time, other) } else { (other, time) };
        let between = ExprKind::Arithmetic(Arithmetic::Subtract, Box::new(later), Box::new(earlier));
        let kind = ExprKind::Within(Box::new(Expr { kind: between, span }), Box::new(range));
        Ok(whole_of(kind, span))
    }

    /// `10 Nm +- 1 Nm` was meant for a tolerance and would be a sum.
    fn refuse_second_sign(&mut self, first: Span) -> Result<(), Diagnostic> {
        match self.run.peek() {
            Some(Piece::Operator(Rule::minus | Rule::positive, second)) => {
                Err(double_sign(Place { source: self.source, span: first.to(*second) }, A_TOLERANCE))
            }
            _ => Ok(()),
        }
    }

    /// `a above b above c` and `a .. b ± c` have no one meaning.
    fn refuse_chain(&self, left: &Operand, next: Span, binding: Binding) -> Result<(), Diagnostic> {
        let compared =
            matches!(left.expr.kind, ExprKind::Compare(..) | ExprKind::Within(..) | ExprKind::OneOf { .. });
        if binding == Binding::Compare && compared && !left.bracketed {
            let message = "a comparison cannot be compared again";
            let help = "compare twice and join with `and`, or give a range such as `x within 4 L .. 5 L`; brackets \
                        end a `where` before a comparison";
            return Err(self.mistake(code::CHAINED_COMPARISON, next, message).help(help));
        }
        if binding >= Binding::Range && is_range(left) {
            return Err(self.chained_range(next));
        }
        Ok(())
    }

    fn chained_range(&self, span: Span) -> Diagnostic {
        self.mistake(code::CHAINED_RANGE, span, "a range cannot be a part of another range or of a sum")
            .help("a range has two limits, such as `40 Nm .. 50 Nm`, or one value and its tolerance, such as `45 Nm ± 10 %`")
    }

    fn mistake(&self, code: code::Code, span: Span, message: &str) -> Diagnostic {
        Diagnostic::error(code, Place { source: self.source, span }, message)
    }
}

fn whole_of(kind: ExprKind, span: Span) -> Box<Operand> {
    Box::new(Operand { expr: Expr { kind, span }, bracketed: false })
}

fn is_range(operand: &Operand) -> bool {
    matches!(operand.expr.kind, ExprKind::Range(_))
}

/// No time at all, in the unit of a duration where it is written out.
fn nothing_of(lag: &Expr) -> Quantity {
    let written = match &lag.kind {
        ExprKind::Quantity(quantity) => quantity.unit(),
        _ => Unit::find("s").ok(),
    };
    written.map_or(Quantity::from(Number::ZERO), |unit| Quantity::new(Number::ZERO, unit))
}

impl Builder {
    fn joined(&self, join: Join, left: Expr, right: Expr) -> Result<ExprKind, Diagnostic> {
        let boxed = |range| ExprKind::Range(Box::new(range));
        Ok(match join {
            Join::Logic(logic) => ExprKind::Logic(logic, Box::new(left), Box::new(right)),
            Join::Compare(comparison) => ExprKind::Compare(comparison, Box::new(left), Box::new(right)),
            Join::Within => ExprKind::Within(Box::new(left), Box::new(right)),
            Join::Between => boxed(RangeExpr::Between(self.with_unit_of(left, &right)?, right)),
            Join::PlusMinus => boxed(RangeExpr::PlusMinus(self.nominal_with_unit_of(left, &right)?, right)),
            Join::Arithmetic(arithmetic) => ExprKind::Arithmetic(arithmetic, Box::new(left), Box::new(right)),
        })
    }

    /// In `45 ± 3 Nm` the unit stands once, where the tolerance can lend its own.
    fn nominal_with_unit_of(&self, nominal: Expr, tolerance: &Expr) -> Result<Expr, Diagnostic> {
        match &tolerance.kind {
            ExprKind::Quantity(quantity) if quantity.unit().is_some_and(Unit::lends_to_nominal) => {
                self.with_unit_of(nominal, tolerance)
            }
            _ => Ok(nominal),
        }
    }

    /// In `40 .. 50 Nm` the unit stands once for both numbers.
    fn with_unit_of(&self, expr: Expr, last: &Expr) -> Result<Expr, Diagnostic> {
        let unit = match &last.kind {
            ExprKind::Quantity(quantity) => quantity.unit(),
            _ => None,
        };
        match (expr.kind, unit) {
            (ExprKind::Number(number), Some(unit)) => {
                let value = Quantity::new(number, unit).above_zero_point();
                let value = value.at(Place { source: self.source, span: expr.span })?;
                Ok(Expr { kind: ExprKind::Quantity(value), span: expr.span })
            }
            (kind, _) => Ok(Expr { kind, span: expr.span }),
        }
    }
}
