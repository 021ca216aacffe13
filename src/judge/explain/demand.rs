//! What a demand requires, in the words of a report.

use super::places::visit;
use super::words::{alternatives, below, counted, counts, filled, last_names, within};
use super::{Explainer, is_path};
use crate::decide::{About, Judgement, Leaf, Reason, UnresolvedLink, is_condition};
use crate::language::ast::{Comparison, Logic, Quantifier};
use crate::language::builtins::Words;
use crate::language::typed::{Concerns, Expr, ExprKind};
use crate::value::Value;

/// So many values of a list of another document are named, and no longer list.
const MOST_ELSEWHERE: usize = 5;
/// How many parts of a demand are looked through for the comparison that decided; none that a person wrote has as
/// many, but a let that names another twice, and so on, comes to more than can be looked through.
const MOST_PARTS: u32 = 10_000;

/// An entry of a list, where none of them is meant.
const THE_ENTRY: &str = "the entry";

/// Where in a demand the comparison that decided is.
struct Search<'x> {
    leaf: &'x Expr,
    parts_left: u32,
    /// What is asked for where the condition holds in which it is.
    asked: Option<&'x Expr>,
    /// The other ways to meet the demand.
    others: Vec<&'x Expr>,
    /// The variables from this one on stand for no element.
    bound: usize,
}

impl<'x> Explainer<'x> {
    /// What a judgement requires, where the comparison that decided is not all of it: it is only a condition under
    /// which something is required, or one way of several to meet the demand, whose own words are `own`.
    pub(super) fn required_of(
        &mut self,
        judgement: &Judgement<'x>,
        leaf: &Leaf<'x>,
        own: Option<&str>,
    ) -> Option<String> {
        let outer = self.values.bind(leaf.slots);
        let required = match judgement.about {
            About::Concern(condition) => self.required_if_concerned(judgement, condition),
            About::Demand(demand) => self.required_beside(judgement, demand, leaf, own),
            About::Work(_) | About::Number { .. } => None,
        };
        self.values.bind(outer);
        required
    }

    /// What a rule demands of a subject of which it is not known whether it is one.
    fn required_if_concerned(&mut self, judgement: &Judgement<'x>, condition: &'x Expr) -> Option<String> {
        let bound = match &judgement.rule.concerns {
            Concerns::Document(_) => 0,
            Concerns::Each(each) => {
                let own = |each: &&crate::language::typed::Each| {
                    each.condition.as_ref().is_some_and(|own| std::ptr::eq(own, condition))
                };
                each.iter().find(own).map_or(0, |each| each.slot + 1)
            }
        };
        let demands = judgement.rule.demands.iter();
        let words: Vec<String> = demands.map(|demand| self.phrase(demand, false, bound)).collect();
        Some(words.join(" and ")).filter(|words| !words.is_empty())
    }

    fn required_beside(
        &mut self,
        judgement: &Judgement<'x>,
        demand: &'x Expr,
        leaf: &Leaf<'x>,
        own: Option<&str>,
    ) -> Option<String> {
        let bound = match &judgement.rule.concerns {
            Concerns::Document(_) => 0,
            Concerns::Each(each) => each.len(),
        };
        let parts_left = MOST_PARTS;
        let mut search = Search { leaf: leaf.expr, parts_left, asked: None, others: Vec::new(), bound };
        if !self.search(demand, false, &mut search) {
            return None;
        }
        if let Some(asked) = search.asked {
            return Some(self.phrase(asked, false, search.bound));
        }
        let others: Vec<String> = search
            .others
            .iter()
            .rev()
            .filter(|other| !is_condition(other))
            .map(|other| self.phrase(other, false, search.bound))
            .collect();
        (!others.is_empty()).then(|| format!("{}, or {}", own.unwrap_or_default(), others.join(", or ")))
    }

    /// Looks for the comparison that decided.
    fn search(&self, part: &'x Expr, negated: bool, search: &mut Search<'x>) -> bool {
        if std::ptr::eq(part, search.leaf) {
            return true;
        }
        search.parts_left = search.parts_left.saturating_sub(1);
        if search.parts_left == 0 {
            return false;
        }
        match &part.kind {
            ExprKind::Not(inner) => self.search(inner, !negated, search),
            ExprKind::Decided(_, inner) => self.search(inner, negated, search),
            ExprKind::Let(id, _) => {
                let definition = &self.values.program.lets()[*id];
                self.search(&definition.value, negated, search)
            }
            ExprKind::Cases(cases) => {
                // What lets a case count only says which value is asked.
                cases.iter().any(|case| self.search(&case.value, negated, search))
            }
            ExprKind::Logic(Logic::Implies, left, right) if !negated => {
                if self.search(left, true, search) {
                    search.asked = search.asked.or(Some(right));
                    return true;
                }
                self.search(right, false, search)
            }
            ExprKind::Logic(logic, left, right) => {
                let (in_left, in_right) =
                    (self.search(left, negated, search), self.search(right, negated, search));
                if *logic == Logic::Or && !negated && in_left != in_right {
                    search.others.push(if in_left { right } else { left });
                }
                in_left || in_right
            }
            ExprKind::Quantified { quantifier, condition, body, slot, .. } => {
                let in_condition =
                    condition.as_ref().is_some_and(|condition| self.search(condition, negated, search));
                // Of `some` and `no` the condition is part of what is asked.
                if in_condition && *quantifier == Quantifier::Every {
                    search.asked = search.asked.or(Some(body));
                }
                let found = in_condition || self.search(body, negated, search);
                if found {
                    search.bound = search.bound.max(slot + 1);
                }
                found
            }
            _ => false,
        }
    }

    /// What a comparison requires of the value that a finding points at.
    pub(super) fn required(&mut self, leaf: &Leaf<'x>) -> Option<String> {
        let negated = leaf.negated;
        let not = if negated { "not " } else { "" };
        Some(match &leaf.expr.kind {
            ExprKind::Compare(comparison, value, limit) => {
                let limit = self.counted_limit(value, limit);
                match wanted(*comparison, negated) {
                    (None, Comparison::Is) => limit,
                    (None, Comparison::IsNot) => format!("anything but {limit}"),
                    (not, other) => format!("{}{} {limit}", not.unwrap_or_default(), other.words()),
                }
            }
            ExprKind::InOrder(comparison, _, right) => {
                format!("{not}{} {}", comparison.words(), self.placed(right))
            }
            ExprKind::Within(_, range) => format!("{not}{}", self.limit(range)),
            ExprKind::OneOf { negated: own, options, .. } => {
                let options: Vec<String> = options.iter().map(|option| self.limit(option)).collect();
                let list = alternatives(&options);
                if *own == negated { list } else { format!("anything but {list}") }
            }
            ExprKind::Recorded(path) if let ExprKind::Link { link, .. } = &path.kind => match link.entry() {
                Some(entry) => format!("{} {entry}", if negated { "no" } else { "an" }),
                None => format!("`{}` {not}to be found", self.named(path)),
            },
            ExprKind::Recorded(path) => format!("`{}` {not}recorded", self.named(path)),
            ExprKind::Field { .. } | ExprKind::Variable(_) => if negated { "no" } else { "yes" }.to_owned(),
            ExprKind::Timed(_) => self.required_of_log(leaf),
            ExprKind::Call { builtin, arguments } => match builtin.words {
                Words::Demand(yes, no) => self.filled_in(if negated { no } else { yes }, arguments),
                Words::Value(_) | Words::Count(_) => format!("{not}{}", self.source_of(leaf.expr)),
            },
            ExprKind::Quantified { slot, .. } => match self.sought_elsewhere(leaf.expr) {
                Some([_, wanted]) => wanted,
                None => self.phrase(leaf.expr, negated, *slot),
            },
            _ => format!("{not}{}", self.source_of(leaf.expr)),
        })
    }

    fn required_of_log(&mut self, leaf: &Leaf<'x>) -> String {
        let not = if leaf.negated { "not " } else { "" };
        let mut words = format!("{not}{}", self.source_of(leaf.expr));
        let range = leaf.course.as_ref().and_then(|course| course.range_words(&self.fineness));
        if let Some(range) = range.filter(|range| !words.contains(range.as_str())) {
            words += &format!(" ({range})");
        }
        let mut parameters = Vec::new();
        visit(leaf.expr, &mut |part| {
            if matches!(part.kind, ExprKind::Parameter(..)) {
                parameters.push(part);
            }
        });
        let mut lead = ", where ";
        for parameter in parameters {
            let value = self.values.value(parameter).ok().map(|value| self.fineness.describe(value.get()));
            if let Some(value) = value.filter(|value| !words.contains(value.as_str())) {
                words += &format!("{lead}{} is {value}", self.source_of(parameter));
                lead = ", ";
            }
        }
        words
    }

    /// A value of the document that is sought in a list of another one, in vain, and the values that are there.
    pub(super) fn sought_elsewhere(&mut self, expr: &'x Expr) -> Option<[String; 2]> {
        let ExprKind::Quantified { quantifier: Quantifier::Some, slot, list, condition: None, body } =
            &expr.kind
        else {
            return None;
        };
        let ExprKind::Compare(Comparison::Is, left, right) = &body.kind else { return None };
        let of_entry = |side: &Expr| side.variable() == Some(*slot);
        let (field, own) = match (of_entry(left), of_entry(right)) {
            (true, false) => (left, right),
            (false, true) => (right, left),
            _ => return None,
        };
        let list = self.values.list(list).ok().filter(|list| !list.is_own())?;
        let elements = self.values.doc(list).items(list.node);
        if elements.len() > MOST_ELSEWHERE || !self.values.node(own).is_ok_and(|own| own.is_own()) {
            return None;
        }
        let outer = self.values.bound();
        let mut there = Vec::new();
        for element in elements {
            self.values.set(*slot, list.beside(*element));
            if self.values.value(field).is_ok() {
                there.push(self.shown(field));
            }
        }
        self.values.bind(outer);
        there.dedup();
        (!there.is_empty()).then(|| [self.shown(own), alternatives(&there)])
    }

    /// The same for one that may be about entries of which none is meant.
    fn limit_of(&mut self, value: &'x Expr, limit: &'x Expr, bound: usize) -> String {
        if is_free(limit, bound) { self.subject(limit, bound) } else { self.counted_limit(value, limit) }
    }

    /// What a value is compared with, and what it counts.
    fn counted_limit(&mut self, value: &'x Expr, limit: &'x Expr) -> String {
        let limit = self.limit(limit);
        counts(value).map_or(limit.clone(), |one| counted(&limit, one))
    }

    /// What something is compared with: its value or, where that is not known, what it is.
    fn limit(&mut self, expr: &'x Expr) -> String {
        match self.values.value(expr) {
            Ok(operand) => match operand.get() {
                Value::Range(range) => self.fineness.range(range),
                _ => self.shown(expr),
            },
            Err(missing) => match (&expr.kind, missing.shown()) {
                (ExprKind::Parameter(number, _), reason) => {
                    let stated = match reason {
                        Reason::FaultyParameter(..) => "stated with an error",
                        _ => "not stated",
                    };
                    let name = &self.values.program.parameters()[*number].name;
                    format!("the parameter `{name}`, which is {stated}")
                }
                (ExprKind::Call { builtin, arguments }, _) => match builtin.words {
                    Words::Value(words) => format!("the {}", self.filled_in(words, arguments)),
                    _ => format!("`{}`", self.source_of(expr)),
                },
                _ if is_path(expr) => format!("`{}`", self.named(expr)),
                _ => format!("`{}`", self.source_of(expr)),
            },
        }
    }

    /// The words of a builtin, with the values of its arguments.
    pub(super) fn filled_in(&mut self, words: &str, arguments: &'x [Expr]) -> String {
        let mut shown = Vec::with_capacity(arguments.len());
        for argument in arguments {
            shown.push(match self.values.value(argument) {
                Ok(_) => self.shown(argument),
                Err(_) => self.limit(argument),
            });
        }
        filled(words, &shown)
    }

    /// A path as it leads into the record, as far as it does.
    pub(super) fn named(&mut self, path: &'x Expr) -> String {
        match self.values.node(path) {
            Ok(spot) => self.path(spot),
            Err(missing) => match missing.shown() {
                Reason::NotRecorded(expr, depth) => below(&self.path(missing.at), &last_names(expr, *depth)),
                Reason::UnresolvedLink(lost) => match &**lost {
                    UnresolvedLink::Unnamed(field) => below(&self.path(missing.at), field),
                    _ => self.source_of(path),
                },
                _ => self.source_of(path),
            },
        }
    }

    /// A demand in words, with what it is about. Variables from `bound` on stand for no element here.
    fn phrase(&mut self, expr: &'x Expr, negated: bool, bound: usize) -> String {
        let not = if negated { "not " } else { "" };
        match &expr.kind {
            ExprKind::Compare(comparison, left, right) => {
                // What is said of an entry of which none is meant is said of its field.
                let turn = is_free(right, bound) && !is_free(left, bound);
                let (value, limit) = match comparison {
                    Comparison::Is | Comparison::IsNot if turn => (right, left),
                    _ => (left, right),
                };
                let (subject, limit) = (self.subject(value, bound), self.limit_of(value, limit, bound));
                let (not, comparison) = wanted(*comparison, negated);
                format!("{subject} {}{} {limit}", not.unwrap_or_default(), comparison.words())
            }
            ExprKind::Within(value, range) => {
                let (subject, range) = (self.subject(value, bound), self.limit_of(value, range, bound));
                format!("{subject} {not}{}", within(&range))
            }
            ExprKind::OneOf { value, negated: own, options } => {
                let subject = self.subject(value, bound);
                let options: Vec<String> = options.iter().map(|option| self.limit(option)).collect();
                format!(
                    "{subject} is {}{}",
                    if *own == negated { "" } else { "not " },
                    alternatives(&options)
                )
            }
            ExprKind::Recorded(path) => {
                let there =
                    if matches!(path.kind, ExprKind::Link { .. }) { "to be found" } else { "recorded" };
                format!("{} {not}{there}", self.subject(path, bound))
            }
            ExprKind::Field { .. } | ExprKind::Variable(_) => {
                format!("{} is {}", self.subject(expr, bound), if negated { "no" } else { "yes" })
            }
            ExprKind::Call { builtin, arguments } => match (builtin.words, arguments.split_first()) {
                (Words::Demand(yes, no), Some((first, rest)))
                    if !rest.iter().any(|argument| is_free(argument, bound)) =>
                {
                    let words = self.filled_in(if negated { no } else { yes }, arguments);
                    format!("{}: {words}", self.subject(first, bound))
                }
                _ => format!("{not}`{}`", self.source_of(expr)),
            },
            ExprKind::Not(inner) => self.phrase(inner, !negated, bound),
            ExprKind::Decided(_, inner) => self.phrase(inner, negated, bound),
            ExprKind::Logic(Logic::Implies, left, right) if !negated => {
                let (right, left) = (self.phrase(right, false, bound), self.phrase(left, false, bound));
                format!("{right} where {left}")
            }
            ExprKind::Logic(logic, left, right) => {
                let left_negated = negated != (*logic == Logic::Implies);
                let both = (*logic == Logic::And) != negated;
                // That something is recorded goes without saying beside what is asked of it.
                if !negated && self.only_leads_to(left, right) {
                    return self.phrase(right, negated, bound);
                }
                if !negated && self.only_leads_to(right, left) {
                    return self.phrase(left, left_negated, bound);
                }
                let left = self.phrase(left, left_negated, bound);
                let right = self.phrase(right, negated, bound);
                match both {
                    true => format!("{} and {}", enclosed(left), enclosed(right)),
                    false => format!("{left} or {right}"),
                }
            }
            ExprKind::Quantified { .. } => self.phrase_of_list(expr, negated, bound),
            _ => {
                format!("{not}`{}`", self.source_of(expr))
            }
        }
    }

    /// What is asked of the entries of a list.
    fn phrase_of_list(&mut self, expr: &'x Expr, negated: bool, bound: usize) -> String {
        let ExprKind::Quantified { quantifier, slot, list, condition, body } = &expr.kind else {
            return self.source_of(expr);
        };
        let list = self.subject(list, bound);
        // Names from a list of names: `P0420 among the codes`.
        let is_entry = |side: &Expr| side.element() == Some(*slot);
        if let (ExprKind::Compare(Comparison::Is, left, right), None) = (&body.kind, condition)
            && is_entry(left) != is_entry(right)
            && *quantifier != Quantifier::Every
        {
            let wanted = if is_entry(left) { right } else { left };
            let wanted = match is_free(wanted, bound) {
                true => self.subject(wanted, bound),
                false => self.limit(wanted),
            };
            let none = (*quantifier == Quantifier::No) != negated;
            return format!("{wanted} {}among {list}", if none { "not " } else { "" });
        }
        let which = match condition {
            Some(condition) => format!(" where {}", self.phrase(condition, false, bound)),
            None => String::new(),
        };
        let body = self.phrase(body, false, bound);
        let how_many = match (quantifier, negated) {
            (Quantifier::Some, false) | (Quantifier::No, true) => "an entry",
            (Quantifier::Some, true) | (Quantifier::No, false) => "no entry",
            (Quantifier::Every, false) => "every entry",
            (Quantifier::Every, true) => "not every entry",
        };
        match body.strip_prefix(THE_ENTRY) {
            Some(of_entry) => format!("{how_many} in {list}{which}{of_entry}"),
            None => format!("{how_many} in {list}{which} with {body}"),
        }
    }

    /// Whether a side of a connective only says that what the other side is about is recorded, or is not.
    fn only_leads_to(&self, side: &Expr, other: &Expr) -> bool {
        let path = match &side.kind {
            ExprKind::Recorded(path) => path,
            ExprKind::Not(inner) => match &inner.kind {
                ExprKind::Recorded(path) => path,
                _ => return false,
            },
            _ => return false,
        };
        self.source_of(other).contains(&self.source_of(path))
    }

    /// What a demand is about: a path into the record or, for the entries of a list of which none is meant,
    /// the field of an entry.
    fn subject(&mut self, expr: &'x Expr, bound: usize) -> String {
        if let ExprKind::Call { builtin, arguments } = &expr.kind
            && let (Words::Count(_), [text]) = (builtin.words, arguments.as_slice())
        {
            return self.subject(text, bound);
        }
        if let ExprKind::Call { builtin, arguments } = &expr.kind
            && let Words::Value(words) = builtin.words
            && !is_free(expr, bound)
        {
            return format!("the {}", self.filled_in(words, arguments));
        }
        match is_path(expr) || matches!(expr.kind, ExprKind::Link { .. }) {
            true if !is_free(expr, bound) => format!("`{}`", self.named(expr)),
            true if expr.element().is_some() => THE_ENTRY.to_owned(),
            true => {
                let source = self.source_of(expr);
                let field = source.split_once('.').map_or(source.as_str(), |(_, field)| field);
                format!("`{field}`")
            }
            false => format!("`{}`", self.source_of(expr)),
        }
    }
}

/// A part of several that are joined by `and`.
fn enclosed(part: String) -> String {
    if part.contains(" or ") { format!("({part})") } else { part }
}

/// Whether an expression is about an element that is not meant here.
fn is_free(expr: &Expr, bound: usize) -> bool {
    let mut free = false;
    visit(expr, &mut |part| match &part.kind {
        ExprKind::Variable(slot) => free |= *slot >= bound,
        ExprKind::Aggregate { value, slot, condition, .. } => {
            // Its own variable stands for each entry in turn.
            let inner = slot.map_or(bound, |slot| slot + 1);
            let parts = value.iter().chain(condition).map(|part| &**part);
            free |=
                slot.is_some_and(|slot| slot > bound) || parts.into_iter().any(|part| is_free(part, inner));
        }
        _ => {}
    });
    free
}

/// The comparison that is wanted, and a `not` before it where it has no opposite: what is not before may be at
/// the same time.
fn wanted(comparison: Comparison, negated: bool) -> (Option<&'static str>, Comparison) {
    match comparison {
        Comparison::Before | Comparison::After if negated => (Some("not "), comparison),
        _ if negated => (None, comparison.opposite()),
        _ => (None, comparison),
    }
}
