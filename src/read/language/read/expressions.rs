//! Turns what the grammar read of an expression into the syntax tree.

use std::borrow::Cow;

use jiff::civil::Date;

use crate::code;
use crate::diagnostic::{At, Diagnostic, Fault};
use crate::edition::Edition;
use crate::language::ast::{Aggregate, Arithmetic, Expr, ExprKind, Name, Quantifier, RangeForm, Timed, When};
use crate::language::read::grammar::{Node, Rule};
use crate::language::read::hints;
use crate::language::read::operators::{Piece, tree};
use crate::language::read::texts;
use crate::letters::composed;
use crate::quantity::{self, Number, Quantity};
use crate::source::{Place, SourceId, Span, Spanned};
use crate::time;

/// `NAME in LIST [where CONDITION]`.
pub(crate) struct Subject {
    /// The name that stands for each element.
    pub(crate) variable: Name,
    /// The list.
    pub(crate) list: Box<Expr>,
    /// Which elements count.
    pub(crate) condition: Option<Box<Expr>>,
}

/// Builds expressions of one source.
#[derive(Clone, Copy)]
pub(crate) struct Builder {
    /// The source of every span.
    pub(crate) source: SourceId,
}

impl Builder {
    /// The expression among the parts of a node.
    pub(crate) fn expression_in(self, node: &Node<'_>) -> Result<Expr, Diagnostic> {
        self.expression(self.needed(node, Rule::expression)?)
    }

    /// The same in a box, so that what is read before and after it lies in small frames.
    fn boxed_in(self, node: &Node<'_>) -> Result<Box<Expr>, Diagnostic> {
        self.expression_in(node).map(Box::new)
    }

    /// The subject among the parts of a node.
    pub(crate) fn subject_in(self, node: &Node<'_>) -> Result<Subject, Diagnostic> {
        let subject = self.needed(node, Rule::subject)?;
        let (variable, list) = self.entries_of(subject)?;
        let condition = match subject.part(Rule::condition) {
            Some(condition) => Some(self.boxed_in(condition)?),
            None => None,
        };
        Ok(Subject { variable, list, condition })
    }

    /// What a subject has besides its condition: read apart, so that no frame that counts for each depth holds it.
    #[inline(never)]
    fn entries_of(self, subject: &Node<'_>) -> Result<(Name, Box<Expr>), Diagnostic> {
        Ok((self.name_in(subject)?, self.list_in(subject)?))
    }

    /// The name among the parts of a node.
    pub(crate) fn name_in(self, node: &Node<'_>) -> Result<Name, Diagnostic> {
        self.needed(node, Rule::name).map(name)
    }

    /// A path as an expression.
    pub(crate) fn path(self, node: &Node<'_>) -> Expr {
        Expr { kind: ExprKind::Path(names(node)), span: node.span }
    }

    /// The number of an edition.
    pub(crate) fn edition(self, node: &Node<'_>) -> Result<Spanned<Edition>, Diagnostic> {
        let edition =
            Number::parse(node.text).ok().and_then(|number| Edition::new(&number)).ok_or_else(|| {
                let message = format!("`{}` is not an edition", node.text);
                let help = format!("write a whole number from 1 to {}", Edition::LAST);
                self.mistake(code::CLAUSE_FORM, node.span, message).help(help)
            })?;
        Ok(Spanned::new(edition, node.span))
    }

    /// A number of things, such as a count.
    pub(crate) fn whole(self, node: &Node<'_>) -> Result<Spanned<u32>, Diagnostic> {
        let figure = node.text.parse().map_err(|_| {
            let message = format!("`{}` is too large here", node.text);
            self.mistake(code::CLAUSE_FORM, node.span, message)
        })?;
        Ok(Spanned::new(figure, node.span))
    }

    /// The part of a node that the grammar promises.
    pub(crate) fn needed<'n, 't>(self, node: &'n Node<'t>, rule: Rule) -> Result<&'n Node<'t>, Diagnostic> {
        node.part(rule).ok_or_else(|| self.mistake(code::CLAUSE_FORM, node.span, "something is missing here"))
    }

    fn mistake(self, code: code::Code, span: Span, message: impl Into<String>) -> Diagnostic {
        Diagnostic::error(code, self.place(span), message)
    }

    fn place(self, span: Span) -> Place {
        Place { source: self.source, span }
    }

    fn expression(self, node: &Node<'_>) -> Result<Expr, Diagnostic> {
        self.refuse_other_ranges(node)?;
        tree(self.source, self.run(node)?)
    }

    /// A loop and no iterator, whose frames would count once for each depth of nesting.
    fn run(self, node: &Node<'_>) -> Result<Vec<Piece>, Diagnostic> {
        let mut run = Vec::with_capacity(node.parts.len());
        for part in &node.parts {
            run.push(self.piece(part)?);
        }
        Ok(run)
    }

    /// Refuses what can be read and is a range in another notation, with the form to write.
    fn refuse_other_ranges(self, node: &Node<'_>) -> Result<(), Diagnostic> {
        let numbers = |low: &Node<'_>, high: &Node<'_>| low.rule == Rule::number && high.rule == Rule::number;
        for (at, run) in node.parts.windows(3).enumerate() {
            let [low, sign, high] = run else { continue };
            if !numbers(low, high) {
                continue;
            }
            let error = |message: &str| self.mistake(code::CLAUSE_FORM, sign.span, message);
            let range = format!("{} .. {}", low.text, high.text.trim_start_matches('.'));
            // Between two values people write the en dash for a range, and it is a minus sign elsewhere.
            if sign.rule == Rule::minus && sign.text == "–" {
                let help = format!("write `-` for minus, or `{range}` for a range");
                return Err(error("`–` between two values can mean minus or up to").help(help));
            }
            if sign.rule == Rule::between && high.text.starts_with('.') {
                let message = "two points stand between the ends of a range";
                return Err(error(message).help(format!("write `{range}`")));
            }
            let behind_within = at.checked_sub(1).and_then(|before| node.parts.get(before));
            let alone = node.parts.get(at + 3).is_none_or(|next| is_logic(next.rule));
            if matches!(sign.rule, Rule::minus | Rule::and)
                && behind_within.is_some_and(|word| word.rule == Rule::within)
                && alone
            {
                let message = format!("`within` wants a range, and `{}` makes none", sign.text);
                return Err(error(&message).help(format!("write `within {range}`")));
            }
        }
        self.refuse_two_limits(node)?;
        self.refuse_two_signs(node)
    }

    /// `x at least 40 Nm and at most 50 Nm` says of no value that the second limit holds.
    fn refuse_two_limits(self, node: &Node<'_>) -> Result<(), Diagnostic> {
        for run in node.parts.windows(5) {
            let [first, low, and, second, high] = run else { continue };
            let limits = first.rule == Rule::at_least && second.rule == Rule::at_most;
            if limits && and.rule == Rule::and && [low, high].iter().all(|end| end.rule == Rule::number) {
                let message = format!("`and at most {}` does not say of which value", high.text);
                let help = format!("write `within {} .. {}`", low.text, high.text);
                return Err(self.mistake(code::CLAUSE_FORM, second.span, message).help(help));
            }
        }
        Ok(())
    }

    /// `10 Nm +- 1 Nm` was meant for a tolerance and would be a sum.
    fn refuse_two_signs(self, node: &Node<'_>) -> Result<(), Diagnostic> {
        for run in node.parts.windows(4) {
            let [nominal, first, second, part] = run else { continue };
            let signs = matches!(first.rule, Rule::plus | Rule::minus)
                && matches!(second.rule, Rule::minus | Rule::positive);
            if signs && nominal.rule == Rule::number && part.rule == Rule::number {
                let example = format!("{} ± {}", nominal.text, part.text);
                return Err(hints::double_sign(self.place(first.span.to(second.span)), &example));
            }
        }
        Ok(())
    }

    fn expressions(self, node: &Node<'_>) -> Result<Vec<Expr>, Diagnostic> {
        let mut expressions = Vec::new();
        for part in node.all(Rule::expression) {
            expressions.push(self.expression(part)?);
        }
        Ok(expressions)
    }

    /// As in [`Builder::operand_kind`], each arm hands on what it is given.
    fn piece(self, node: &Node<'_>) -> Result<Piece, Diagnostic> {
        match node.rule {
            Rule::is_one_of | Rule::is_not_one_of => self.one_of(node),
            Rule::plus_and_minus => self.plus_and_minus(node),
            Rule::bracketed => self.bracketed(node),
            Rule::number
            | Rule::day
            | Rule::text
            | Rule::truth
            | Rule::quantified
            | Rule::count_of
            | Rule::total
            | Rule::recorded
            | Rule::duration_of
            | Rule::rate_of
            | Rule::word_list
            | Rule::entries_of
            | Rule::timed
            | Rule::of_entry
            | Rule::reference => self.operand(node).map(|operand| Piece::Operand(operand, false)),
            operator => Ok(Piece::Operator(operator, node.span)),
        }
    }

    fn one_of(self, node: &Node<'_>) -> Result<Piece, Diagnostic> {
        let negated = node.rule == Rule::is_not_one_of;
        let options = self.expressions(self.needed(node, Rule::options)?);
        options.map(|options| Piece::OneOf { negated, options, span: node.span })
    }

    fn bracketed(self, node: &Node<'_>) -> Result<Piece, Diagnostic> {
        let inner = self.expression_in(node);
        inner.map(|inner| Piece::Operand(Expr { kind: inner.kind, span: node.span }, true))
    }

    fn plus_and_minus(self, node: &Node<'_>) -> Result<Piece, Diagnostic> {
        let mut amounts = node.parts.iter().map(|part| self.operand(part));
        match (amounts.next(), amounts.next()) {
            (Some(plus), Some(minus)) => {
                Ok(Piece::PlusAndMinus { plus: plus?, minus: minus?, span: node.span })
            }
            _ => Err(self.mistake(code::CLAUSE_FORM, node.span, "a tolerance is missing here")),
        }
    }

    fn operand(self, node: &Node<'_>) -> Result<Expr, Diagnostic> {
        self.operand_kind(node).map(|kind| Expr { kind, span: node.span })
    }

    /// Each arm hands on what it is given: a frame that counts once for each depth of nesting stays small.
    fn operand_kind(self, node: &Node<'_>) -> Result<ExprKind, Diagnostic> {
        match node.rule {
            Rule::timed => self.timed(node),
            Rule::quantified => self.quantified(node),
            Rule::count_of | Rule::total => self.aggregate(node),
            Rule::reference => self.reference(node),
            _ => self.leaf(node),
        }
    }

    /// An operand without an expression inside.
    fn leaf(self, node: &Node<'_>) -> Result<ExprKind, Diagnostic> {
        Ok(match node.rule {
            Rule::number => self.number(node)?,
            Rule::day => ExprKind::Day(self.day(node)?.node),
            Rule::text => ExprKind::Text(texts::text(self.source, node.text, node.span)?.node),
            Rule::truth => ExprKind::Truth(node.text == "yes"),
            Rule::word_list => self.word_list(node)?,
            Rule::entries_of => {
                ExprKind::EntriesOf(node.all(Rule::path).map(|list| self.path(list)).collect())
            }
            Rule::path => ExprKind::Path(names(node)),
            Rule::recorded => ExprKind::Recorded(Box::new(match node.part(Rule::of_entry) {
                Some(entry) => Expr { kind: self.of_entry(entry)?, span: entry.span },
                None => self.path(self.needed(node, Rule::path)?),
            })),
            Rule::duration_of => self.duration(node)?,
            Rule::of_entry => self.of_entry(node)?,
            _ => ExprKind::Rate(Box::new(self.path(self.needed(node, Rule::path)?))),
        })
    }

    /// A day of the calendar.
    pub(crate) fn day(self, node: &Node<'_>) -> Result<Spanned<Date>, Diagnostic> {
        let day = time::day(node.text).at(self.place(node.span))?;
        Ok(Spanned::new(day, node.span))
    }

    fn word_list(self, node: &Node<'_>) -> Result<ExprKind, Diagnostic> {
        let words = node.all(Rule::text).map(|word| texts::text(self.source, word.text, word.span));
        words.collect::<Result<_, _>>().map(ExprKind::WordList)
    }

    /// `duration of s` is `s.ended − s.started`.
    fn duration(self, node: &Node<'_>) -> Result<ExprKind, Diagnostic> {
        let path = self.needed(node, Rule::path)?;
        let field = |name| Box::new(field_of(&names(path), name, path.span));
        Ok(ExprKind::Arithmetic(Arithmetic::Elapsed, field("ended"), field("started")))
    }

    fn timed(self, node: &Node<'_>) -> Result<ExprKind, Diagnostic> {
        let until = node.part(Rule::until);
        let then = until.map(|until| self.expression_in(until)).transpose()?;
        let when = match (node.part(Rule::held_for), node.part(Rule::throughout), then) {
            (Some(held), _, None) => When::HeldFor(self.expression_in(held)?),
            (None, None, None) => When::AtSomeMoment,
            (None, Some(_), None) => When::Throughout,
            (None, Some(_), Some(then)) => When::Until(then),
            (.., Some(_)) => {
                let span = until.map_or(node.span, |until| until.span);
                let message = "`until` goes with `throughout` alone";
                return Err(self.mistake(code::CLAUSE_FORM, span, message).help(
                    "write `throughout …: this until that`: the first must hold up to the moment of the second",
                ));
            }
        };
        let (from, to) = self.stretch(self.needed(node, Rule::stretch)?)?;
        let gaps = node.part(Rule::gaps).map(|gaps| self.expression_in(gaps)).transpose()?;
        let body = self.expression_in(node)?;
        Ok(ExprKind::Timed(Box::new(Timed { when, from, to, gaps, body })))
    }

    /// A stretch of time: from `started` to `ended` of what is named, or between two times.
    fn stretch(self, node: &Node<'_>) -> Result<(Expr, Expr), Diagnostic> {
        let written = self.expression_in(node)?;
        match written.kind {
            ExprKind::Path(names) => {
                Ok((field_of(&names, "started", written.span), field_of(&names, "ended", written.span)))
            }
            ExprKind::Range(form) => match *form {
                RangeForm::Between(from, to) => Ok((from, to)),
                _ => Err(self.no_stretch(written.span)),
            },
            _ => Err(self.no_stretch(written.span)),
        }
    }

    fn no_stretch(self, span: Span) -> Diagnostic {
        self.mistake(code::CLAUSE_FORM, span, "this is no stretch of time")
            .help("name what has `started` and `ended`, such as a step, or two times: `a.at .. b.at`")
    }

    pub(crate) fn number(self, node: &Node<'_>) -> Result<ExprKind, Diagnostic> {
        let figure = self.needed(node, Rule::figure)?;
        let Some(unit) = node.part(Rule::unit) else {
            let number = Number::parse(figure.text).at(self.place(figure.span))?;
            return self.certain(figure).map(|()| ExprKind::Number(number));
        };
        // The same reader as that of records.
        let read = Quantity::parse(node.text, None);
        let of_unit = |fault: &Fault| {
            matches!(fault.code, code::UNIT_UNKNOWN | code::UNIT_AMBIGUOUS | code::QUANTITY_FORM)
        };
        let span = if read.as_ref().is_err_and(of_unit) { unit.span } else { node.span };
        if let Some(refused) = self.foreign_unit(unit).filter(|_| read.is_err()) {
            return Err(refused);
        }
        let quantity = read.at(self.place(span))?;
        self.certain(node).map(|()| ExprKind::Quantity(quantity))
    }

    /// Refuses a figure whose point could mark thousands: a limit that is a thousand times too small judges every
    /// document wrongly.
    fn certain(self, node: &Node<'_>) -> Result<(), Diagnostic> {
        quantity::read_in_one_way(node.text).at(self.place(node.span))
    }

    /// What is said of a word of another language behind a number.
    fn foreign_unit(self, node: &Node<'_>) -> Option<Diagnostic> {
        let mut start = node.span.start as usize;
        let end = node.span.end as usize;
        let words = node.text.split_whitespace().map(|word| {
            let span = Span::new(start, start + word.len());
            start = end - word.len();
            (word, span)
        });
        words.into_iter().find_map(|(word, span)| hints::word(word, self.place(span)))
    }

    fn quantified(self, node: &Node<'_>) -> Result<ExprKind, Diagnostic> {
        let quantifier = match node.parts.first().map(|part| part.rule) {
            Some(Rule::every) => Quantifier::Every,
            Some(Rule::some) => Quantifier::Some,
            _ => Quantifier::No,
        };
        let subject = self.subject_in(node)?;
        Ok(ExprKind::Quantified {
            quantifier,
            variable: subject.variable,
            list: subject.list,
            condition: subject.condition,
            body: self.boxed_in(node)?,
        })
    }

    fn aggregate(self, node: &Node<'_>) -> Result<ExprKind, Diagnostic> {
        let aggregate = match node.parts.first().map(|part| part.rule) {
            Some(Rule::sum) => Aggregate::Sum,
            Some(Rule::least) => Aggregate::Least,
            Some(Rule::greatest) => Aggregate::Greatest,
            Some(Rule::all) => Aggregate::All,
            _ => Aggregate::Count,
        };
        if node.part(Rule::list).is_some() {
            let list = self.list_in(node)?;
            return Ok(ExprKind::Aggregate { aggregate, value: None, variable: None, list, condition: None });
        }
        let value = match node.part(Rule::expression) {
            Some(_) => Some(self.boxed_in(node)?),
            None => None,
        };
        let subject = self.subject_in(node).map_err(|mistake| closed_first(aggregate, mistake))?;
        Ok(ExprKind::Aggregate {
            aggregate,
            value,
            variable: Some(subject.variable),
            list: subject.list,
            condition: subject.condition,
        })
    }

    fn list_in(self, node: &Node<'_>) -> Result<Box<Expr>, Diagnostic> {
        let reference = self.needed(self.needed(node, Rule::list)?, Rule::reference)?;
        self.reference(reference).map(|kind| Box::new(Expr { kind, span: reference.span }))
    }

    fn reference(self, node: &Node<'_>) -> Result<ExprKind, Diagnostic> {
        let path = self.needed(node, Rule::path)?;
        match (node.part(Rule::arguments), node.part(Rule::keys)) {
            (Some(arguments), _) => self.call(path, arguments),
            (None, Some(keys)) => self.look_up(path, keys),
            (None, None) => Ok(ExprKind::Path(names(path))),
        }
    }

    fn of_entry(self, node: &Node<'_>) -> Result<ExprKind, Diagnostic> {
        let name = self.name_in(node)?;
        let entry = Box::new(self.path(self.needed(node, Rule::path)?));
        Ok(ExprKind::Of { name, entry })
    }

    fn call(self, path: &Node<'_>, arguments: &Node<'_>) -> Result<ExprKind, Diagnostic> {
        let function = self.only_name(path, "a builtin")?;
        self.expressions(arguments).map(|arguments| ExprKind::Call { function, arguments })
    }

    fn look_up(self, path: &Node<'_>, keys: &Node<'_>) -> Result<ExprKind, Diagnostic> {
        let table = self.only_name(path, "a table")?;
        let keys = match keys.part(Rule::options) {
            Some(several) => self.expressions(several),
            None => keys.all(Rule::key).flat_map(|key| &key.parts).map(|key| self.operand(key)).collect(),
        };
        keys.map(|keys| ExprKind::Lookup { table, keys })
    }

    /// The name of a thing that has no fields.
    fn only_name(self, path: &Node<'_>, what: &str) -> Result<Name, Diagnostic> {
        match names(path).as_slice() {
            [only] => Ok(only.clone()),
            _ => {
                let message = format!("`{}` is a field, and {what} has a plain name", path.text);
                Err(self.mistake(code::CLAUSE_FORM, path.span, message))
            }
        }
    }
}

/// A comparison behind the `where` of an aggregate was meant for the whole of it.
fn closed_first(aggregate: Aggregate, mistake: Diagnostic) -> Diagnostic {
    if mistake.code != code::CHAINED_COMPARISON {
        return mistake;
    }
    let words = aggregate.words().trim_matches('`');
    mistake.help(format!(
        "end the {words} … with brackets before it is compared: `({words} … where …) at least 2`"
    ))
}

fn is_logic(rule: Rule) -> bool {
    matches!(rule, Rule::and | Rule::or | Rule::implies)
}

/// A name with its span.
pub(crate) fn name(node: &Node<'_>) -> Name {
    Spanned::new(one_form(node.text), node.span)
}

/// A name in the one form in which names are compared.
fn one_form(name: &str) -> String {
    composed(Cow::Borrowed(name)).into_owned()
}

/// A field of a path, which is not written out itself.
fn field_of(path: &[Name], name: &str, span: Span) -> Expr {
    let mut names = path.to_vec();
    names.push(Spanned::new(name.to_owned(), span));
    Expr { kind: ExprKind::Path(names), span }
}

/// The names of a path; white space never stands within one.
fn names(path: &Node<'_>) -> Vec<Name> {
    let mut start = path.span.start;
    let parts = path.text.split('.').map(|part| {
        let span = Span { start, end: start.saturating_add(Span::new(part.len(), 0).start) };
        start = span.end.saturating_add(1);
        Spanned::new(one_form(part), span)
    });
    parts.collect()
}
