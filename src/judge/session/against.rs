//! Whether a procedure contradicts the standards for jobs: the job that it prescribes is judged by them,
//! at both ends of its ranges, of each two of them at one end of the one with the other end of the other, and between the ends
//! where a rule can hold at both and not there.

use std::collections::{BTreeMap, BTreeSet, HashMap, HashSet};

use super::Session;
use super::judge::MOST_FINDINGS;
use crate::code::{AGAINST_STANDARD, MANY_FINDINGS};
use crate::decide::{About, Evaluator, Judgement, LastStep, LinkedDocuments, Truth};
use crate::diagnostic::{Diagnostic, Level};
use crate::document::{Document, NodeId, NodeKind, forms};
use crate::explain::Explainer;
use crate::finding::Outcome;
use crate::language::ast::{Comparison, Logic, Quantifier, Severity};
use crate::language::ids::{Arena, RuleId};
use crate::language::typed::{Concerns, Expr, ExprKind, Rule, Standard};
use crate::quantity::{Margin, Quantity, Range, Which};
use crate::source::Sources;
use crate::trade::form::{JOB, PROCEDURE};
use crate::trade::prescribed::{self, Choice, Prescribed};
use crate::value::Value;

/// A rule that the prescribed job breaks by a value of the procedure.
struct Contradiction {
    margin: Option<Margin>,
    diagnostic: Diagnostic,
}

/// What was found so far, once for each rule and value.
struct Found<'d> {
    procedure: &'d Document<'d>,
    by_value: HashMap<(RuleId, NodeId), usize>,
    /// What was found before with simpler choices of the values, which tell it better.
    told: HashSet<(RuleId, NodeId)>,
    list: Vec<Contradiction>,
    /// How many of each rule are listed.
    of_rule: HashMap<RuleId, usize>,
    /// The rules and values that are not listed any more.
    unlisted: BTreeSet<(RuleId, NodeId)>,
}

/// Which values of the ranges a job has.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Tried {
    /// All at the same end.
    Ends,
    /// Some at their lower, the others at their upper end.
    Mixed,
    /// Some between their ends.
    Inside,
}

impl Session {
    /// What a job that is done exactly by a procedure would break, at the values of the procedure that
    /// are to blame; nothing for documents of other forms. What such a job leaves open breaks nothing.
    pub(super) fn against(&self, document: &Document<'_>, sources: &Sources) -> Vec<Diagnostic> {
        let judges = |standard: &&Standard| standard.in_force && standard.form == JOB;
        let standards: Vec<&Standard> = self.program().standards().iter().filter(judges).collect();
        let form = self.forms().get(JOB).filter(|_| document.form() == Some(PROCEDURE));
        let Some(form) = form.filter(|_| !standards.is_empty()) else { return Vec::new() };
        let mut found = Found {
            procedure: document,
            by_value: HashMap::new(),
            told: HashSet::new(),
            list: Vec::new(),
            of_rule: HashMap::new(),
            unlisted: BTreeSet::new(),
        };
        let figures = self.figures_of(&standards);
        let ends = Choice::ends(document).into_iter().enumerate();
        let ends = ends.map(|(number, choice)| (if number > 1 { Tried::Mixed } else { Tried::Ends }, choice));
        let inside = Choice::inside(document, &figures).into_iter().map(|choice| (Tried::Inside, choice));
        let mut before = Tried::Ends;
        for (tried, choice) in ends.chain(inside) {
            if tried != before {
                found.told.extend(found.by_value.keys());
                before = tried;
            }
            let prescribed = prescribed::job(document, form, &choice);
            let around = LinkedDocuments::nothing(&prescribed.job).with_procedure(Ok(document));
            let mut evaluator = Evaluator::new(self.program(), &around, self.setting(), sources)
                .within_steps(self.most_steps);
            for standard in &standards {
                let applies = |condition| evaluator.applies(condition).truth == Truth::Yes;
                if !standard.condition.as_ref().is_none_or(applies) {
                    if evaluator.is_exhausted() {
                        let mut said = found.diagnostics(self.program().rules());
                        said.push(self.out_of_steps(document, LastStep::Conditions, ""));
                        return said;
                    }
                    continue;
                }
                for (number, rule) in self.program().rules_of(standard) {
                    evaluator.rule(rule, &mut |evaluator, judgement| {
                        found.take(evaluator, &judgement, number, &prescribed, (tried, &choice));
                    });
                    if evaluator.is_exhausted() {
                        let mut said = found.diagnostics(self.program().rules());
                        said.push(self.out_of_steps(document, LastStep::Rule(&rule.name), ""));
                        return said;
                    }
                }
            }
        }
        found.diagnostics(self.program().rules())
    }
}

impl<'d> Found<'d> {
    fn take<'x>(
        &mut self,
        evaluator: &mut Evaluator<'x>,
        judgement: &Judgement<'x>,
        number: RuleId,
        prescribed: &Prescribed,
        (tried, choice): (Tried, &Choice),
    ) {
        let (Outcome::Broken, About::Demand(demand)) = (judgement.outcome, judgement.about) else { return };
        let Some(leaf) = &judgement.verdict.leaf else { return };
        if asks_for_a_record(leaf.expr) {
            return;
        }
        // A job alone has no other document around it than the procedure.
        let from = leaf.at.and_then(|spot| match spot.is_own() {
            true => prescribed.from.get(&spot.node).copied(),
            // A figure of its own, which a rule compares; what it only says of the job is no fault of the procedure.
            false => leaf.margin.is_some().then_some(spot.node),
        });
        let Some(from) = from else { return };
        let (range, end) = (self.range(from), choice.end(from));
        let margin = leaf.margin.clone();
        if self.told.contains(&(number, from)) {
            return;
        }
        if range.zip(end).is_some_and(|(range, end)| only_at_its_limit(range, end, margin.as_ref())) {
            return;
        }
        let known = self.by_value.get(&(number, from)).copied();
        match known.and_then(|known| self.list.get(known)) {
            Some(known) if !is_worse(margin.as_ref(), known.margin.as_ref()) => return,
            None if self.of_rule.get(&number).is_some_and(|listed| *listed >= MOST_FINDINGS) => {
                self.unlisted.insert((number, from));
                return;
            }
            _ => {}
        }
        let rule = judgement.rule;
        let mut explainer = Explainer::of(evaluator);
        let what = match self.procedure.node(from).kind {
            NodeKind::Scalar { .. } | NodeKind::List(_) | NodeKind::Empty => {
                let facts = explainer.explain(leaf);
                let required = facts.required.map(|required| format!(", {required} required"));
                let at_end = leaf.at.filter(|spot| spot.is_own()).map(|_| end);
                let value = self.words(from, facts.found.as_deref().unwrap_or_default(), at_end);
                let others = match (tried, end) {
                    (Tried::Ends, _) | (Tried::Inside, None) => "",
                    (Tried::Mixed, _) => ", with other ranges at their other end",
                    (Tried::Inside, Some(_)) => ", with other ranges between their ends",
                };
                format!("{value}{}{others}", required.unwrap_or_default())
            }
            // Of an entry as a whole the rule says best what is wrong with it.
            NodeKind::Map(_) => {
                explainer.finding(judgement).map(|finding| finding.message).unwrap_or_default()
            }
        };
        let message = format!("a job done by this procedure would break `{}`: {what}", rule.name);
        let level = match rule.severity {
            Severity::Hold => Level::Error,
            Severity::Advice | Severity::Note => Level::Advice,
        };
        let diagnostic = Diagnostic::error(AGAINST_STANDARD, self.procedure.place(from), message)
            .and_at(demand.place, &*rule.title)
            .help("bring the procedure and the standard into line; the maker's instruction decides which is right");
        let contradiction = Contradiction { margin, diagnostic: Diagnostic { level, ..diagnostic } };
        match known.and_then(|known| self.list.get_mut(known)) {
            Some(known) => *known = contradiction,
            None => {
                self.by_value.insert((number, from), self.list.len());
                self.list.push(contradiction);
                *self.of_rule.entry(number).or_default() += 1;
            }
        }
    }

    fn range(&self, node: NodeId) -> Option<&'d Range> {
        match self.procedure.value(node) {
            Some(Value::Range(range)) => Some(range),
            _ => None,
        }
    }

    /// The value of the procedure, and what a job makes of it at one of its ends or between them, or what a rule reads in it.
    fn words(&self, node: NodeId, found: &str, end: Option<Option<Which>>) -> String {
        let key = self.procedure.parent(node).and_then(|parent| {
            self.procedure.entries(parent).iter().find(|entry| entry.value == node).map(|entry| &*entry.key)
        });
        let key = key.unwrap_or_default();
        let Some(written) = self.procedure.raw(node).map(str::trim) else {
            return format!("{found} in its `{key}`");
        };
        match (self.range(node), end) {
            (Some(_), Some(None)) => format!("{found} between the ends of `{written}`"),
            (Some(range), Some(Some(end))) if range.low().is_some() && range.high().is_some() => {
                let end = match end {
                    Which::Low => "lower",
                    Which::High => "upper",
                };
                format!("{found} at the {end} end of `{written}`")
            }
            (Some(_), Some(Some(_))) => format!("{found} at the end of `{written}`"),
            (None, _) if found == written => format!("`{key}: {written}`"),
            _ => format!("{found} by `{key}: {written}`"),
        }
    }

    fn diagnostics(self, rules: &Arena<RuleId, Rule>) -> Vec<Diagnostic> {
        let mut diagnostics: Vec<Diagnostic> = self.list.into_iter().map(|found| found.diagnostic).collect();
        let mut unlisted: BTreeMap<RuleId, usize> = BTreeMap::new();
        for (number, _) in self.unlisted {
            *unlisted.entry(number).or_default() += 1;
        }
        for (number, unlisted) in unlisted {
            let rule = &rules[number].name;
            let place = self.procedure.place(self.procedure.deepest(forms::FIELD));
            let message = format!("{unlisted} more places that contradict `{rule}` are not listed");
            diagnostics.push(Diagnostic::advice(MANY_FINDINGS, place, message));
        }
        diagnostics
    }
}

impl Session {
    /// The figures of the rules, and of the names that they use, that can part the values of a range in more than two: a demand
    /// that only asks for one range or limit holds between two values for which it holds.
    fn figures_of<'p>(&'p self, standards: &[&'p Standard]) -> Vec<&'p Quantity> {
        let program = self.program();
        let rules = || standards.iter().flat_map(|standard| program.rules_of(standard)).map(|(_, rule)| rule);
        let mut open: Vec<&Expr> = Vec::new();
        for rule in rules() {
            rule.demands.iter().for_each(|demand| parting(demand, &mut open));
            match &rule.concerns {
                Concerns::Document(condition) => open.extend(condition),
                Concerns::Each(nested) => open.extend(nested.iter().flat_map(|each| &each.condition)),
            }
        }
        open.extend(program.lets().all().iter().map(|definition| &definition.value));
        let mut figures = Vec::new();
        while let Some(expr) = open.pop() {
            match &expr.kind {
                ExprKind::Constant(Value::Quantity(figure)) => figures.push(figure),
                ExprKind::Constant(Value::Range(range)) => {
                    figures
                        .extend([range.low(), range.high()].into_iter().flatten().map(|limit| &limit.value));
                }
                _ => expr.for_each_part(&mut |part| open.push(part)),
            }
        }
        figures
    }
}

/// The parts of a demand that can hold at two values and not between them.
fn parting<'e>(demand: &'e Expr, parts: &mut Vec<&'e Expr>) {
    match &demand.kind {
        ExprKind::Logic(Logic::And, left, right) => {
            [left, right].into_iter().for_each(|one| parting(one, parts))
        }
        ExprKind::Quantified { quantifier: Quantifier::Every, condition, body, .. } => {
            parts.extend(condition.as_deref());
            parting(body, parts);
        }
        ExprKind::Within(one, other) | ExprKind::Compare(_, one, other)
            if !matches!(demand.kind, ExprKind::Compare(Comparison::IsNot, ..))
                && is_plain(one)
                && is_plain(other) => {}
        _ => parts.push(demand),
    }
}

/// Whether a value is as it is written: what is computed of it may rise and fall again.
fn is_plain(expr: &Expr) -> bool {
    matches!(
        expr.kind,
        ExprKind::Constant(_)
            | ExprKind::Field { .. }
            | ExprKind::Parameter(..)
            | ExprKind::Let(..)
            | ExprKind::Range(_)
    )
}

/// Whether it is only asked that something is recorded: what a job leaves open breaks nothing.
fn asks_for_a_record(demand: &Expr) -> bool {
    match &demand.kind {
        ExprKind::Recorded(path) => !matches!(path.kind, ExprKind::Link { .. }),
        ExprKind::Quantified { body, .. } => asks_for_a_record(body),
        _ => false,
    }
}

/// Whether a value breaks a limit only because it is the end of a range that this end does not belong to.
fn only_at_its_limit(range: &Range, end: Which, margin: Option<&Margin>) -> bool {
    let Some((limit, end)) = prescribed::limit(range, end) else { return false };
    let touches = |margin: &Margin| margin.distance.magnitude().is_zero() && margin.limit == end;
    !limit.inclusive && margin.is_some_and(touches)
}

/// Whether one margin lies further beyond its limit than another.
fn is_worse(margin: Option<&Margin>, other: Option<&Margin>) -> bool {
    let (Some(margin), Some(other)) = (margin, other) else { return false };
    let comparable = margin.distance.kind().comparable(other.distance.kind()).is_ok();
    comparable && margin.distance.compare(&other.distance).is_lt()
}
