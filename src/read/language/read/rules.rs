//! Reads the clauses of a rule.

use std::borrow::Cow;

use jiff::civil::Date;

use crate::code;
use crate::diagnostic::{Diagnostic, nearest};
use crate::language::ast::{
    Accepted, Concerns, Concession, Count, Each, Expr, ExprKind, Group, Message, Name, Otherwise, Rule,
    Severity, Text, Unrecorded,
};
use crate::language::read::clauses::{Reader, parse_expression};
use crate::language::read::cut::{ClauseCut, ClauseKind, ItemCut, listed};
use crate::language::read::grammar::{Node, Rule as Form};
use crate::language::read::plain::{Piece, Plain, is_surely_name};
use crate::language::read::texts;
use crate::language::read::trials;
use crate::language::read::words::{CLAUSES, ClauseWord};
use crate::letters::composed;
use crate::metrology::conformity::{DecisionRule, Guard};
use crate::quantity::Number;
use crate::source::{Span, Spanned};

const SEVERITIES: &[(&str, Severity)] =
    &[("hold", Severity::Hold), ("advice", Severity::Advice), ("note", Severity::Note)];

const CONSEQUENCES: &[(&str, Unrecorded)] = &[
    ("hold", Unrecorded::As(Severity::Hold)),
    ("advice", Unrecorded::As(Severity::Advice)),
    ("note", Unrecorded::As(Severity::Note)),
    ("pass", Unrecorded::Pass),
];

/// Reads a rule. Every clause is read even when others are bad.
pub(crate) fn rule(reader: &mut Reader<'_, '_>, item: &ItemCut) -> Option<Rule> {
    let (head, clauses) = item.clauses.split_first()?;
    let named = rule_head(reader, item, head);
    let empty = Rule {
        span: item.span(),
        name: Spanned::new(String::new(), head.span),
        title: None,
        concerns: None,
        lets: Vec::new(),
        demands: Vec::new(),
        otherwise: None,
        remedy: None,
        because: None,
        basis: None,
        concession: None,
        if_unrecorded: None,
        from: None,
        until: None,
        replaces: Vec::new(),
        accepted: Vec::new(),
        trials: Vec::new(),
    };
    let mut good = named.is_some();
    let mut rule = named.unwrap_or(empty);
    let mut seen = Vec::new();
    for clause in clauses {
        let ClauseKind::Clause(word) = clause.kind else { continue };
        let several = CLAUSES.iter().any(|row| row.clause == word && row.several);
        let repeated = !several && reader.repeats(&mut seen, word, clause);
        good &= read_clause(reader, &mut rule, word, clause).is_some() && !repeated;
    }
    good &= has_what_it_needs(reader, item, rule.name.span);
    good.then_some(rule)
}

fn rule_head(reader: &mut Reader<'_, '_>, item: &ItemCut, head: &ClauseCut) -> Option<Rule> {
    let (name, title) = named(reader, head)?;
    Some(Rule {
        span: item.span(),
        name,
        title: Some(title),
        concerns: None,
        lets: Vec::new(),
        demands: Vec::new(),
        otherwise: None,
        remedy: None,
        because: None,
        basis: None,
        concession: None,
        if_unrecorded: None,
        from: None,
        until: None,
        replaces: Vec::new(),
        accepted: Vec::new(),
        trials: Vec::new(),
    })
}

/// The name and the title of a rule.
fn named(reader: &mut Reader<'_, '_>, head: &ClauseCut) -> Option<(Name, Text)> {
    if let Some(Plain { words, text }) = reader.plain(head, 1)
        && let Some(name) = words.first().filter(|name| is_surely_name(name.text))
    {
        let title = reader.quoted(text.text, text.span)?;
        return Some((Spanned::new(name.text.to_owned(), name.span), title));
    }
    let node = reader.clause(Form::rule_head, head)?;
    let title = reader.title_in(&node, "rule");
    let name = reader.name_in(&node)?;
    Some((name, title?))
}

/// Reports a rule without demands or without `otherwise`; a clause that is there and bad counts.
fn has_what_it_needs(reader: &mut Reader<'_, '_>, item: &ItemCut, name: Span) -> bool {
    let has = |wanted: ClauseWord| {
        item.clauses.iter().any(|clause| {
            matches!(clause.kind, ClauseKind::Clause(word) | ClauseKind::Unknown(Some(word)) if word == wanted)
        })
    };
    // What a clause with an unknown word was meant to be may be the one that is missing.
    if item.clauses.iter().any(|clause| clause.kind == ClauseKind::Unknown(None)) {
        return false;
    }
    let missing = match (has(ClauseWord::Demands), has(ClauseWord::Otherwise)) {
        _ if item.clauses.len() < 2 => "this rule is empty",
        (false, false) => "this rule has no `demands` and no `otherwise`",
        (false, true) => "this rule has no `demands`",
        (true, false) => "this rule has no `otherwise`",
        (true, true) => return true,
    };
    let samples =
        CLAUSES.iter().filter(|row| matches!(row.clause, ClauseWord::Demands | ClauseWord::Otherwise));
    let samples: Vec<&str> = samples.filter(|row| !has(row.clause)).map(|row| row.sample).collect();
    let mistake = reader.mistakes.error(code::CLAUSE_MISSING, name, missing);
    reader.mistakes.push(mistake.help(format!("add a line like {}", listed(&samples))));
    false
}

fn read_clause(
    reader: &mut Reader<'_, '_>,
    rule: &mut Rule,
    word: ClauseWord,
    clause: &ClauseCut,
) -> Option<()> {
    match word {
        ClauseWord::Concerns => rule.concerns = Some(concerns(reader, clause)?),
        ClauseWord::Let => rule.lets.push(reader.let_clause(clause)?),
        ClauseWord::Demands => {
            let node = reader.clause(Form::demands, clause)?;
            let demand = reader.expression_in(&node)?;
            rule.demands.push(match node.part(Form::decision) {
                Some(decision) => decided(reader, decision, demand)?,
                None => demand,
            });
        }
        ClauseWord::Otherwise => rule.otherwise = Some(otherwise(reader, clause)?),
        ClauseWord::Remedy => rule.remedy = Some(quoted(reader, Form::remedy, clause)?),
        ClauseWord::Because => rule.because = Some(quoted(reader, Form::because, clause)?),
        ClauseWord::Basis => rule.basis = Some(quoted(reader, Form::basis, clause)?),
        ClauseWord::Concession => rule.concession = Some(concession(reader, clause)?),
        ClauseWord::IfUnrecorded => rule.if_unrecorded = Some(if_unrecorded(reader, clause)?),
        ClauseWord::From => rule.from = Some(day(reader, Form::counts_from, clause)?),
        ClauseWord::Until => rule.until = Some(day(reader, Form::counts_until, clause)?),
        ClauseWord::Replaces => rule.replaces = replaces(reader, clause)?,
        ClauseWord::Accepted => rule.accepted.push(accepted(reader, clause)?),
        ClauseWord::Trial if !reader.trials => {}
        ClauseWord::Trial => rule.trials.push(trials::trial(reader, clause)?),
        // Clauses of a standard are never cut inside a rule.
        ClauseWord::Judges | ClauseWord::Where => return None,
    }
    Some(())
}

/// A clause of a word and a quoted text.
pub(crate) fn quoted(reader: &mut Reader<'_, '_>, form: Form, clause: &ClauseCut) -> Option<Spanned<String>> {
    if let Some(plain) = reader.plain(clause, 0) {
        return reader.quoted(plain.text.text, plain.text.span);
    }
    let node = reader.clause(form, clause)?;
    reader.text_in(&node)
}

fn concerns(reader: &mut Reader<'_, '_>, clause: &ClauseCut) -> Option<Concerns> {
    let node = reader.clause(Form::concerns, clause)?;
    let parts = node.parts.iter().map(|part| part.span).reduce(Span::to);
    let condition = match node.part(Form::condition) {
        Some(condition) => Some(reader.expression_in(condition)?),
        None => None,
    };
    let subjects: Option<Vec<Each>> = node.all(Form::each).map(|part| each(reader, part)).collect();
    Some(Concerns { span: parts.unwrap_or(clause.span), subjects: subjects?, condition })
}

fn each(reader: &mut Reader<'_, '_>, node: &Node<'_>) -> Option<Each> {
    let grouped = node.part(Form::grouped);
    let subject = reader.builder.subject_in(grouped.unwrap_or(node));
    let subject = reader.mistakes.keep(subject)?;
    let group = match grouped {
        Some(part) => Some(group(reader, part)?),
        None => None,
    };
    let (count, said) = match node.part(Form::count) {
        Some(part) => (Some(count(reader, part)?), part.part(Form::own_message)),
        None => (None, None),
    };
    let said = match said {
        Some(said) => {
            let literal = said.part(Form::text)?;
            Some(message(reader, literal.text, literal.span)?)
        }
        None => None,
    };
    Some(Each {
        span: node.span,
        variable: subject.variable,
        group,
        list: *subject.list,
        condition: subject.condition.map(|condition| *condition),
        count,
        message: said,
    })
}

fn group(reader: &mut Reader<'_, '_>, node: &Node<'_>) -> Option<Group> {
    let fields = reader.builder.needed(node, Form::by_fields);
    let fields = reader.mistakes.keep(fields)?;
    let keys = fields.all(Form::path).map(|path| reader.builder.path(path)).collect();
    Some(Group { name: reader.name_in(node)?, keys })
}

fn count(reader: &mut Reader<'_, '_>, node: &Node<'_>) -> Option<Spanned<Count>> {
    let figure = reader.builder.needed(node, Form::whole).and_then(|whole| reader.builder.whole(whole));
    let figure = reader.mistakes.keep(figure)?.node;
    let count = match node.parts.first().map(|part| part.rule) {
        Some(Form::at_least) => Count::AtLeast(figure),
        Some(Form::at_most) => Count::AtMost(figure),
        _ => Count::Exactly(figure),
    };
    let whole = node.part(Form::whole).map_or(node.span, |whole| whole.span);
    let span = Span { end: whole.end, ..node.span };
    Some(Spanned::new(count, span))
}

fn otherwise(reader: &mut Reader<'_, '_>, clause: &ClauseCut) -> Option<Otherwise> {
    if let Some((severity, text)) = plain_otherwise(reader, clause) {
        return Some(Otherwise { severity, message: message(reader, text.text, text.span)? });
    }
    let node = reader.clause(Form::otherwise, clause)?;
    let severity = choice(reader, &node, Form::severity, SEVERITIES);
    let literal = node.part(Form::text)?;
    let message = message(reader, literal.text, literal.span);
    Some(Otherwise { severity: severity?, message: message? })
}

/// The severity and the message of `otherwise`, if it is written plainly.
fn plain_otherwise<'t>(
    reader: &Reader<'t, '_>,
    clause: &ClauseCut,
) -> Option<(Spanned<Severity>, Piece<'t>)> {
    let Plain { words, text } = reader.plain(clause, 1)?;
    let written = words.first()?;
    let (_, severity) = SEVERITIES.iter().find(|(word, _)| *word == written.text)?;
    Some((Spanned::new(*severity, written.span), text))
}

fn message(reader: &mut Reader<'_, '_>, literal: &str, span: Span) -> Option<Message> {
    let source = reader.builder.source;
    let read = |text: &str, base: u32| parse_expression(source, text, base);
    let mut report = |mistake: Diagnostic| reader.mistakes.push(mistake);
    texts::message(source, literal, span, &read, &mut report)
}

/// The day of a clause, with the place of the whole clause.
pub(crate) fn day(reader: &mut Reader<'_, '_>, form: Form, clause: &ClauseCut) -> Option<Spanned<Date>> {
    let node = reader.clause(form, clause)?;
    let day = reader.builder.needed(&node, Form::day).and_then(|day| reader.builder.day(day));
    Some(Spanned::new(reader.mistakes.keep(day)?.node, node.span))
}

fn replaces(reader: &mut Reader<'_, '_>, clause: &ClauseCut) -> Option<Vec<Name>> {
    let node = reader.clause(Form::replaces, clause)?;
    let name = |path: &Node<'_>| Spanned::new(composed(Cow::Borrowed(path.text)).into_owned(), path.span);
    Some(node.all(Form::path).map(name).collect())
}

/// Who may grant a concession, for a rule or, in the head of a standard, for those that do not say.
pub(crate) fn concession(reader: &mut Reader<'_, '_>, clause: &ClauseCut) -> Option<Concession> {
    let node = reader.clause(Form::concession, clause)?;
    match node.part(Form::never) {
        Some(never) => Some(Concession::Never(never.span)),
        None => reader.texts_in(&node).map(Concession::By),
    }
}

/// Which advice about the rule may stay, and why.
fn accepted(reader: &mut Reader<'_, '_>, clause: &ClauseCut) -> Option<Accepted> {
    let node = reader.clause(Form::accepted, clause)?;
    let reason = reader.text_in(&node)?;
    Some(Accepted { what: reader.name_in(&node)?, reason })
}

fn if_unrecorded(reader: &mut Reader<'_, '_>, clause: &ClauseCut) -> Option<Spanned<Unrecorded>> {
    let node = reader.clause(Form::if_unrecorded, clause)?;
    choice(reader, &node, Form::consequence, CONSEQUENCES)
}

/// How the readings in a demand are decided.
fn decided(reader: &mut Reader<'_, '_>, node: &Node<'_>, demand: Expr) -> Option<Expr> {
    let words: Vec<&str> = node.all(Form::choice).map(|word| word.text).collect();
    let written = words.join(" ");
    let span = node.all(Form::choice).map(|word| word.span).reduce(Span::to)?;
    let width = match node.part(Form::number) {
        None => Some(Guard::Multiple(Number::ONE)),
        Some(number) => {
            let width = reader.builder.number(number);
            match reader.mistakes.keep(width)? {
                ExprKind::Number(multiple) => Some(Guard::Multiple(multiple)),
                ExprKind::Quantity(share) => Guard::of_share(&share),
                _ => None,
            }
        }
    };
    let rule = match (written.as_str(), width) {
        ("simple acceptance", Some(_)) if node.part(Form::number).is_none() => DecisionRule::Simple,
        ("guarded acceptance", Some(guard)) => DecisionRule::GuardedAcceptance(guard),
        ("guarded rejection", Some(guard)) => DecisionRule::GuardedRejection(guard),
        (known, _) if DECISIONS.contains(&known) => {
            let message = format!("`{}` is no width of a guard band here", node.part(Form::number)?.text);
            let help = "write a multiple of the expanded uncertainty, such as `0.83`, or the wanted probability \
                        from 50 % to below 100 %, such as `95 %`";
            let at = node.part(Form::number)?.span;
            let mistake = reader.mistakes.error(code::CLAUSE_FORM, at, message).help(help);
            reader.mistakes.push(mistake);
            return None;
        }
        _ => {
            let message = format!("`{written}` is not one of {}", listed(&DECISIONS));
            let help = match nearest(&written, DECISIONS) {
                Some(near) => format!("did you mean `{near}`?"),
                None => format!("what can stand here is {}", listed(&DECISIONS)),
            };
            let mistake = reader.mistakes.error(code::UNKNOWN_WORD, span, message).help(help);
            reader.mistakes.push(mistake);
            return None;
        }
    };
    let span = demand.span.to(node.span);
    Some(Expr { kind: ExprKind::Decided(rule, Box::new(demand)), span })
}

/// The decision rules of JCGM 106.
const DECISIONS: [&str; 3] = ["simple acceptance", "guarded acceptance", "guarded rejection"];

/// One of a closed list of words.
pub(crate) fn choice<T: Copy>(
    reader: &mut Reader<'_, '_>,
    node: &Node<'_>,
    form: Form,
    known: &[(&str, T)],
) -> Option<Spanned<T>> {
    let part = reader.builder.needed(node, form);
    let part = reader.mistakes.keep(part)?;
    let written = part.text.split_whitespace().collect::<Vec<_>>().join(" ");
    if let Some((_, meant)) = known.iter().find(|(word, _)| *word == written) {
        return Some(Spanned::new(*meant, part.span));
    }
    let words: Vec<&str> = known.iter().map(|(word, _)| *word).collect();
    let help = match nearest(&written, words.iter().copied()) {
        Some(near) => format!("did you mean `{near}`?"),
        None => format!("what can stand here is {}", listed(&words)),
    };
    let message = format!("`{written}` is not one of {}", listed(&words));
    let mistake = reader.mistakes.error(code::UNKNOWN_WORD, part.span, message).help(help);
    reader.mistakes.push(mistake);
    None
}
