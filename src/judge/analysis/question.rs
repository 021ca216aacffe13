//! Two sets of rules held against each other: whether one finds all that the other finds, and a document that they judge
//! otherwise.
//!
//! That a set finds all of it is only said where no document is found in which a rule of the other set finds something at an
//! entry and no rule of this one does: where it is broken, one is broken that weighs as much, and where it is undecided, one is
//! undecided or broken. That it does not is only said with a document that the evaluator judges so.

use std::collections::BTreeMap;

use super::Bench;
use super::encode::{Encoder, Want};
use super::formula::Formula;
use super::scene::Scene;
use super::solve::{Found, Solver};
use super::term::Term;
use super::witness::{document_of, heaviest_on};
use crate::language::ast::{Severity, Unrecorded};
use crate::language::ids::{ParameterId, RuleId};
use crate::language::typed::{Concerns, Expr, ExprKind, Figure, Program, Rule, Start};
use crate::metrology::conformity::DecisionRule;
use crate::source::{Place, Sources};

/// What the heaviest finding of a set of rules is: how severe, and whether something is broken.
pub type Heaviest = Option<(Severity, bool)>;

/// A document that two sets of rules judge otherwise.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Witness {
    /// The record, as a trial writes it.
    pub record: String,
    /// What the first set finds in it.
    pub one: Heaviest,
    /// What the second one finds.
    pub other: Heaviest,
}

/// Whether a set of rules finds all that another one finds.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Covers {
    /// Whatever the document is.
    Always,
    /// Not in this one.
    Not(Witness),
    /// Nobody can tell.
    Unclear,
}

/// How two sets of rules are related.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Relation {
    /// Whether the second one finds all that the first one does.
    pub second_covers: Covers,
    /// Whether the first one finds all that the second one does.
    pub first_covers: Covers,
}

/// How many records of trials are tried.
const MOST_RECORDS: usize = 400;
/// How many rules of the other set are held against one.
const MOST_RULES: usize = 24;

/// How two sets of rules of one program are related.
#[must_use]
pub fn relate_rules(bench: &Bench<'_>, ones: &[RuleId], others: &[RuleId]) -> Relation {
    let mut solver = Solver::new(Encoder::new(bench.program));
    solver.encoder.twins = twins(bench);
    solver.encoder.exact = bench.setting.decision == DecisionRule::Simple && !is_guarded(bench, ones, others);
    let ones = side(bench, &mut solver, ones);
    let others = side(bench, &mut solver, others);
    let mut question = Question { bench, solver };
    let records = question.records(&[&ones, &others]);
    Relation {
        second_covers: question.covers(&ones, &others, &records),
        first_covers: match question.covers(&others, &ones, &records) {
            Covers::Not(Witness { record, one, other }) => {
                Covers::Not(Witness { record, one: other, other: one })
            }
            known => known,
        },
    }
}

/// A rule where it judges, and what is told of it apart from the facts.
struct Sided<'p> {
    scene: Scene<'p>,
    /// All that decides what it finds, as it is written.
    signature: String,
    /// The rules by which uncertain readings are decided in it.
    decisions: Vec<String>,
}

fn side<'p>(bench: &Bench<'p>, solver: &mut Solver<'p>, rules: &[RuleId]) -> Vec<Sided<'p>> {
    let mut found = Vec::new();
    for standard in bench.program.standards() {
        for (id, rule) in bench.program.all_rules_of(standard).filter(|(id, _)| rules.contains(id)) {
            let scene = Scene::of(solver, standard, id, rule);
            let mut decisions = Vec::new();
            rule.demands.iter().for_each(|demand| decisions_in(demand, &mut decisions));
            decisions.sort();
            decisions.dedup();
            let applies = standard.condition.as_ref().map(|condition| condition.place);
            let signature = signature(bench, rule, applies);
            found.push(Sided { scene, signature, decisions });
        }
    }
    found
}

/// Whether a rule says how uncertain readings are decided in it.
fn is_guarded(bench: &Bench<'_>, ones: &[RuleId], others: &[RuleId]) -> bool {
    let mut decisions = Vec::new();
    let rules = ones.iter().chain(others).map(|id| &bench.program.rules()[*id]);
    rules.flat_map(|rule| &rule.demands).for_each(|demand| decisions_in(demand, &mut decisions));
    !decisions.is_empty()
}

fn decisions_in(expr: &Expr, found: &mut Vec<String>) {
    if let ExprKind::Decided(rule, _) = &expr.kind {
        found.push(rule.to_string());
    }
    expr.for_each_part(&mut |part| decisions_in(part, found));
}

/// All that decides what a rule finds, as it is written: two that agree in it find the same.
fn signature(bench: &Bench<'_>, rule: &Rule, applies: Option<Place>) -> String {
    let mut parts: Vec<String> = applies.iter().map(|place| bench.said(*place)).collect();
    parts.push(match &rule.concerns {
        Concerns::Document(condition) => {
            condition.as_ref().map_or_else(String::new, |condition| bench.said(condition.place))
        }
        Concerns::Each(nested) => {
            let each = nested.iter().map(|each| bench.said(Place { span: each.span, ..rule.place }));
            each.collect::<Vec<_>>().join(", ")
        }
    });
    parts.extend(rule.demands.iter().map(|demand| bench.said(demand.place)));
    parts.extend(rule.period.iter().map(|period| bench.said(period.place)));
    for figure in bench.program.figures_of(rule) {
        parts.push(match figure {
            Figure::Let(id) => {
                let found = &bench.program.lets()[id];
                format!("{} = {}", short(&found.name), bench.said(found.value.place))
            }
            Figure::Parameter(id) => declared(bench.program, bench.sources, id),
            Figure::Table(id) => {
                let table = &bench.program.tables()[id];
                let rows: BTreeMap<_, _> =
                    table.rows.iter().map(|(keys, value)| (keys, format!("{value:?}"))).collect();
                let keys: Vec<String> = table.keys.iter().map(|key| bench.said(key.place)).collect();
                format!("{} by {keys:?}: {rows:?}", short(&table.name))
            }
        });
    }
    parts.join("\n")
}

/// A parameter as it is declared.
fn declared(program: &Program, sources: &Sources, id: ParameterId) -> String {
    let one = &program.parameters()[id];
    let said = |place| sources.text_at(place).split_whitespace().collect::<Vec<_>>().join(" ");
    let keys: Vec<String> = one.keys.iter().map(|key| said(key.place)).collect();
    let from = one.from.as_ref().map(|from| said(from.place));
    format!("{} {} by {keys:?} from {from:?} {:?}", one.name, one.ty, one.declared.value())
}

/// Parameters of several editions that are one and the same: the first of them stands for all.
fn twins(bench: &Bench<'_>) -> BTreeMap<ParameterId, ParameterId> {
    let mut first: BTreeMap<String, ParameterId> = BTreeMap::new();
    let mut twins = BTreeMap::new();
    for (id, _) in bench.program.parameters().iter() {
        let declared = declared(bench.program, bench.sources, id);
        twins.insert(id, *first.entry(declared).or_insert(id));
    }
    twins
}

fn short(name: &str) -> &str {
    name.rsplit('.').next().unwrap_or(name)
}

/// What must be so for something to be found by one set alone, and the lists and entries that it is about.
type Gap<'p> = (Vec<Formula<'p>>, Vec<(Term, Term)>);

struct Question<'a, 'p> {
    bench: &'a Bench<'p>,
    solver: Solver<'p>,
}

impl<'p> Question<'_, 'p> {
    /// The records of the trials of these rules, the shortest first.
    fn records(&self, sides: &[&Vec<Sided<'p>>]) -> Vec<String> {
        let rules = sides.iter().flat_map(|side| side.iter()).map(|one| one.scene.rule);
        let texts = rules.flat_map(|rule| &rule.trials).filter_map(|trial| match trial.record {
            Start::Own(place) if trial.changes.is_empty() => Some(self.bench.said(place)),
            _ => None,
        });
        let mut texts: Vec<String> = texts.collect();
        texts.sort_by(|one, other| one.len().cmp(&other.len()).then_with(|| one.cmp(other)));
        texts.dedup();
        texts.truncate(MOST_RECORDS);
        texts
    }

    /// Whether `others` find all that `ones` find.
    fn covers(&mut self, ones: &[Sided<'p>], others: &[Sided<'p>], records: &[String]) -> Covers {
        let mut all = true;
        for one in ones.iter().filter(|one| !others.iter().any(|other| is_same(one, other))) {
            for (formulas, entries) in self.gaps(one, others) {
                match self.solver.find(&entries, &formulas) {
                    Found::Nothing => {}
                    Found::Unclear => all = false,
                    Found::Solution(solution) => {
                        all = false;
                        let record = document_of(&self.solver.encoder.terms, &solution);
                        if let Some(witness) = record.and_then(|record| self.judge(ones, others, record)) {
                            return Covers::Not(witness);
                        }
                    }
                }
            }
            all &= one.scene.is_plain();
        }
        if all {
            return Covers::Always;
        }
        let found = records.iter().find_map(|record| self.judge(ones, others, record.clone()));
        found.map_or(Covers::Unclear, Covers::Not)
    }

    /// What must be so in a document in which a rule finds something at its entries, and none of the others does.
    fn gaps(&mut self, one: &Sided<'p>, others: &[Sided<'p>]) -> Vec<Gap<'p>> {
        let scene = &one.scene;
        let severity = scene.rule.severity;
        let undecided = weight_of_undecided(scene.rule).max(severity);
        let may_cover = |other: &&Sided<'p>| {
            other.scene.is_plain()
                && other.decisions == one.decisions
                && other.scene.standard.form == scene.standard.form
                && other.scene.entries.iter().all(|entry| scene.entries.contains(entry))
        };
        let candidates: Vec<&Sided<'p>> = others.iter().filter(may_cover).take(MOST_RULES).collect();
        let encoder = &mut self.solver.encoder;
        encoder.begin();
        let (mut not_broken, mut not_found) = (Vec::new(), Vec::new());
        for other in candidates {
            let other = &other.scene;
            let met = |encoder: &mut Encoder<'p>| {
                let demands = other.rule.demands.iter();
                Formula::all(
                    demands.map(|demand| encoder.truth(demand, &other.env, Want::Yes)).collect::<Vec<_>>(),
                )
            };
            if other.rule.severity >= severity {
                let demands = other.rule.demands.iter();
                let kept: Vec<_> = demands.map(|demand| encoder.perhaps(demand, &other.env, true)).collect();
                let aside: Vec<_> = conditions(other)
                    .into_iter()
                    .map(|condition| encoder.perhaps(condition, &other.env, false))
                    .collect();
                not_broken
                    .push(Formula::any(aside.into_iter().chain([Formula::all(kept)]).collect::<Vec<_>>()));
            }
            // What a rule lets pass covers nothing.
            let weighs = weight_of_undecided(other.rule) >= undecided && other.rule.severity >= undecided;
            let is_alike = other.rule.severity == severity && other.rule.unrecorded == scene.rule.unrecorded;
            if other.rule.unrecorded != Unrecorded::Pass && (weighs || is_alike) {
                let aside: Vec<_> = conditions(other)
                    .into_iter()
                    .map(|condition| encoder.truth(condition, &other.env, Want::No))
                    .collect();
                let met = met(encoder);
                not_found.push(Formula::any(aside.into_iter().chain([met]).collect::<Vec<_>>()));
            }
        }
        let mut gaps = Vec::new();
        for demand in &scene.demands {
            let mut broken = scene.with([demand.broken.clone()]);
            broken.extend(not_broken.iter().cloned());
            gaps.push((broken, scene.entries.clone()));
            // It is open where a condition or the demand is, and none of them settles it.
            let conditions = conditions(scene);
            let mut open = Vec::new();
            let mut undecided = Vec::new();
            for condition in conditions {
                open.push(encoder.truth(condition, &scene.env, Want::Open));
                undecided.push(encoder.perhaps(condition, &scene.env, true));
            }
            open.push(encoder.truth(demand.expr, &scene.env, Want::Open));
            undecided.push(encoder.perhaps(demand.expr, &scene.env, false));
            undecided.push(Formula::any(open));
            undecided.extend(not_found.iter().cloned());
            gaps.push((undecided, scene.entries.clone()));
        }
        gaps
    }

    /// A record in which `ones` find more than `others`, as the evaluator says.
    fn judge(&self, ones: &[Sided<'p>], others: &[Sided<'p>], record: String) -> Option<Witness> {
        let on = |side: &[Sided<'p>]| {
            let scenes: Vec<&Scene<'p>> = side.iter().map(|one| &one.scene).collect();
            heaviest_on(self.bench, &scenes, &record)
        };
        let (one, other) = (on(ones)?, on(others)?);
        (one > other).then_some(Witness { record, one, other })
    }
}

/// Whether two rules find the same because they are written the same.
fn is_same(one: &Sided<'_>, other: &Sided<'_>) -> bool {
    let (rule, beside) = (one.scene.rule, other.scene.rule);
    one.scene.standard.form == other.scene.standard.form
        && one.signature == other.signature
        && rule.severity == beside.severity
        && rule.unrecorded == beside.unrecorded
}

/// How severe it is at most that a rule is undecided; it can be as severe as the rule where it does not let it pass.
fn weight_of_undecided(rule: &Rule) -> Severity {
    match rule.unrecorded {
        Unrecorded::As(severity) => severity,
        Unrecorded::Pass => Severity::Note,
    }
}

/// Where a rule judges: the conditions of its standard, its period and its subjects.
fn conditions<'p>(scene: &Scene<'p>) -> Vec<&'p Expr> {
    let mut conditions: Vec<&'p Expr> = scene.standard.condition.iter().chain(&scene.rule.period).collect();
    match &scene.rule.concerns {
        Concerns::Document(condition) => conditions.extend(condition),
        Concerns::Each(nested) => {
            conditions.extend(nested.iter().filter_map(|each| each.condition.as_ref()));
        }
    }
    conditions
}
