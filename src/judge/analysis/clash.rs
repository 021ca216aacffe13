//! Demands that nothing meets together: of one rule, and of two that judge the same entries. Also a rule that only repeats
//! what another one finds.

use std::collections::{BTreeMap, HashSet};
use std::rc::Rc;

use super::Bench;
use super::cases::{Case, cases_of, in_words};
use super::demands::guard_of;
use super::encode::Want;
use super::formula::{Fact, Formula, States};
use super::scene::Scene;
use super::solve::{Found, Solver};
use super::store::Store;
use super::term::{Term, Terms};
use super::witness::{broken_on, document_of};
use crate::code::{ANALYSIS_CONTRADICTION, ANALYSIS_SHADOWED};
use crate::decide::is_condition;
use crate::diagnostic::Diagnostic;
use crate::language::ast::{Comparison, Logic, Severity, Unrecorded};
use crate::language::typed::{Concerns, Expr, ExprKind};

/// A demand of a rule with its cases.
struct Asked<'s, 'p> {
    scene: &'s Scene<'p>,
    demand: &'p Expr,
    cases: Vec<Case<'p>>,
    /// What a value must be in one of the cases.
    facts: BTreeMap<Term, Vec<Rc<Fact>>>,
    /// Whether it says something of all entries of a list, or of the order of values.
    wide: bool,
}

/// What it costs to find out whether two rules can judge the same entries.
const TOGETHER: usize = 20;
/// How many pairs of demands are looked at closely.
const MOST_PAIRS: usize = 20_000;

impl<'s, 'p> Asked<'s, 'p> {
    fn of(solver: &mut Solver<'p>, scene: &'s Scene<'p>, demand: &'p Expr) -> Self {
        solver.encoder.begin();
        let cases = cases_of(&mut solver.encoder, demand, &scene.env);
        let (mut facts, mut wide): (BTreeMap<Term, Vec<Rc<Fact>>>, bool) = (BTreeMap::new(), false);
        let mut seen = HashSet::new();
        for case in &cases {
            wide |= case.met.is_of_entries();
            case.met.for_each_fact(&mut |fact| {
                // What comes to the same in several cases is one fact.
                if !seen.insert(Rc::as_ptr(fact)) {
                    return;
                }
                let (one, other) = terms_of(fact);
                for term in [Some(one), other].into_iter().flatten() {
                    facts.entry(term).or_default().push(Rc::clone(fact));
                }
            });
        }
        Asked { scene, demand, cases, facts, wide }
    }

    /// How many facts are compared to find out.
    fn comparisons(&self, other: &Asked<'_, 'p>) -> usize {
        let others = |term| other.facts.get(term).map_or(0, Vec::len);
        1 + self.facts.iter().map(|(term, facts)| 1 + facts.len() * others(term)).sum::<usize>()
    }

    /// Whether anything that the two ask for can be against each other.
    fn may_clash(&self, other: &Asked<'_, 'p>) -> bool {
        if self.wide && other.wide {
            return true;
        }
        self.facts.iter().any(|(term, facts)| {
            let others = other.facts.get(term).map(Vec::as_slice).unwrap_or_default();
            facts.iter().any(|one| others.iter().any(|other| against(one, other)))
        })
    }
}

fn terms_of(fact: &Fact) -> (Term, Option<Term>) {
    match fact {
        Fact::Words(term, _) | Fact::Numbers(term, _) | Fact::State(term, _) | Fact::Comes(term, _) => {
            (*term, None)
        }
        Fact::Same(one, other, _) | Fact::Apart { high: one, low: other, .. } => (*one, Some(*other)),
    }
}

/// Whether two facts of one value can be against each other.
fn against(one: &Fact, other: &Fact) -> bool {
    match (one, other) {
        (Fact::Words(_, a), Fact::Words(_, b)) => a.and(b).is_empty(),
        (Fact::Numbers(_, a), Fact::Numbers(_, b)) => a.and(b).is_empty(),
        (Fact::State(_, a), Fact::State(_, b)) => a.and(*b).is_none(),
        (Fact::State(_, states), _) | (_, Fact::State(_, states)) => !states.has(States::VALUE),
        (Fact::Comes(_, a), Fact::Comes(_, b)) => a != b,
        (Fact::Same(..) | Fact::Apart { .. }, _) | (_, Fact::Same(..) | Fact::Apart { .. }) => true,
        _ => false,
    }
}

/// Whether a side of `or` is written as the premise of the other.
fn is_premise(side: &Expr) -> bool {
    match &side.kind {
        ExprKind::Not(_)
        | ExprKind::Compare(Comparison::IsNot, ..)
        | ExprKind::OneOf { negated: true, .. } => true,
        _ => is_condition(side),
    }
}

/// Looks at all pairs of demands.
pub(super) fn look<'p>(
    bench: &Bench<'p>,
    solver: &mut Solver<'p>,
    scenes: &[Scene<'p>],
    found: &mut Vec<Diagnostic>,
) {
    let mut asked: Vec<Asked<'_, 'p>> = Vec::new();
    for scene in scenes {
        for demand in &scene.demands {
            asked.push(Asked::of(solver, scene, demand.expr));
        }
    }
    let mut looked = 0;
    for (at, later) in asked.iter().enumerate() {
        for earlier in asked.iter().take(at) {
            if !solver.spend(earlier.comparisons(later)) {
                return;
            }
            let one_rule = earlier.scene.id == later.scene.id;
            let may = earlier.may_clash(later)
                && (one_rule
                    || (solver.spend(TOGETHER)
                        && together(&solver.encoder.terms, earlier.scene, later.scene)));
            if !may || looked >= MOST_PAIRS {
                continue;
            }
            looked += 1;
            let pair = Pair { bench, earlier, later, one_rule };
            match pair.clash(solver) {
                Some(diagnostic) => found.push(diagnostic),
                None if one_rule => found.extend(pair.dead_side(solver)),
                None => {}
            }
        }
    }
    shadows(bench, solver, scenes, found);
}

/// Whether two rules judge documents of one form in one run, and can judge the same entries.
fn together(terms: &Terms, one: &Scene<'_>, other: &Scene<'_>) -> bool {
    let in_force = |scene: &Scene<'_>| scene.standard.in_force && scene.rule.left_out.is_none();
    if one.standard.form != other.standard.form || !in_force(one) || !in_force(other) {
        return false;
    }
    let mut store = Store::default();
    let mut fits = true;
    for formula in one.context().iter().chain(&other.context()) {
        match formula {
            Formula::Is(fact) => fits = fits && store.add(fact, terms),
            Formula::All(parts) => {
                for part in parts.iter() {
                    if let Formula::Is(fact) = part {
                        fits = fits && store.add(fact, terms);
                    }
                }
            }
            _ => {}
        }
    }
    fits
}

struct Pair<'a, 's, 'p> {
    bench: &'a Bench<'p>,
    earlier: &'a Asked<'s, 'p>,
    later: &'a Asked<'s, 'p>,
    one_rule: bool,
}

impl<'p> Pair<'_, '_, 'p> {
    fn entries(&self) -> Vec<(Term, Term)> {
        let mut entries = self.earlier.scene.entries.clone();
        entries.extend(
            self.later.scene.entries.iter().filter(|entry| !self.earlier.scene.entries.contains(entry)),
        );
        entries
    }

    fn context(&self) -> Vec<Formula<'p>> {
        let mut context = self.earlier.scene.context().to_vec();
        if !self.one_rule {
            context.extend(self.later.scene.context());
        }
        context
    }

    /// A case in which nothing meets both demands, if there is one.
    fn clash(&self, solver: &mut Solver<'p>) -> Option<Diagnostic> {
        let (entries, context) = (self.entries(), self.context());
        if !self.one_rule && solver.never(&entries, &context) {
            return None;
        }
        for one in &self.earlier.cases {
            for other in &self.later.cases {
                let base: Vec<_> =
                    context.iter().cloned().chain([one.when.clone(), other.when.clone()]).collect();
                let with = |more: &[&Formula<'p>]| -> Vec<Formula<'p>> {
                    base.iter().cloned().chain(more.iter().map(|one| (*one).clone())).collect()
                };
                let clashes = solver.never(&entries, &with(&[&one.met, &other.met]))
                    && !solver.never(&entries, &with(&[&one.met]))
                    && !solver.never(&entries, &with(&[&other.met]));
                if !clashes {
                    continue;
                }
                let always = one.because.is_empty() && other.because.is_empty();
                if always && self.one_rule {
                    // Told as an error of the rule already.
                    return None;
                }
                // In one case only, two demands are against each other by the values that they ask for. That one forbids
                // what the other asks for keeps apart what does not belong into one document.
                let by_values = || [one.met.of_values(), other.met.of_values()];
                let always = always && self.always_together(solver);
                if !always && !solver.never(&entries, &with(&by_values().iter().collect::<Vec<_>>())) {
                    continue;
                }
                if let Some(example) = self.example(solver, &entries, &base, [one, other]) {
                    return Some(self.told([one, other], &example, always));
                }
            }
        }
        None
    }

    /// A document in which both demands are asked for and one of them at least is broken, as the evaluator says.
    fn example(
        &self,
        solver: &mut Solver<'p>,
        entries: &[(Term, Term)],
        base: &[Formula<'p>],
        cases: [&Case<'p>; 2],
    ) -> Option<String> {
        let [one, other] = cases;
        let tries = [
            ([&one.broken, &other.broken], [true, true]),
            ([&one.met, &other.broken], [false, true]),
            ([&one.broken, &other.met], [true, false]),
        ];
        let (mut broken, mut example) = ([false, false], None);
        for (wanted, expected) in tries {
            let all: Vec<_> = base.iter().cloned().chain(wanted.into_iter().cloned()).collect();
            let Found::Solution(solution) = solver.find(entries, &all) else { continue };
            let Some(text) = document_of(&solver.encoder.terms, &solution) else { continue };
            let Some(came) = self.came(&text) else { continue };
            if came == expected {
                broken = [broken[0] || came[0], broken[1] || came[1]];
                example.get_or_insert(text);
            }
            if broken == [true, true] {
                return example;
            }
        }
        None
    }

    /// Whether each of the two is broken in a document.
    fn came(&self, text: &str) -> Option<[bool; 2]> {
        let of = |asked: &Asked<'_, 'p>| {
            broken_on(self.bench, asked.scene, text, &[asked.demand])?.first().copied()
        };
        Some([of(self.earlier)?, of(self.later)?])
    }

    fn told(&self, cases: [&Case<'p>; 2], example: &str, always: bool) -> Diagnostic {
        let [one, _] = cases;
        let bench = self.bench;
        let said = bench.said(one.asked.place);
        let place = self.later.demand.place;
        let of = match self.one_rule {
            true => String::new(),
            false => format!(" of `{}`", self.earlier.scene.rule.name),
        };
        let message = match in_words(bench, &cases) {
            Some(case) => format!("where {case}, nothing meets both this demand and `{said}`{of}"),
            None if always => format!("nothing meets both this demand and `{said}`{of}"),
            None => format!("where both rules judge, nothing meets both this demand and `{said}`{of}"),
        };
        let diagnostic = match always {
            true => Diagnostic::error(ANALYSIS_CONTRADICTION, place, message),
            false => Diagnostic::advice(ANALYSIS_CONTRADICTION, place, message),
        };
        diagnostic
            .and_at(self.earlier.demand.place, "the other demand")
            .help(format!("correct one of the two, or say when each counts; this fails: {example}"))
    }

    /// Whether one of the two rules judges wherever the other does.
    fn always_together(&self, solver: &mut Solver<'p>) -> bool {
        let (one, other) = (self.earlier.scene, self.later.scene);
        other.judges_where(solver, one) || one.judges_where(solver, other)
    }

    /// A side of `or` that can never be true beside the other demand.
    fn dead_side(&self, solver: &mut Solver<'p>) -> Option<Diagnostic> {
        let pairs = [(self.earlier, self.later), (self.later, self.earlier)];
        pairs.into_iter().find_map(|(whole, parted)| {
            let ExprKind::Logic(Logic::Or, left, right) = &parted.demand.kind else { return None };
            let sides = [(left, right), (right, left)];
            // What is said with a `not` says where the other side is asked for.
            sides.into_iter().filter(|(side, _)| !is_premise(side)).find_map(|(side, rest)| {
                solver.encoder.begin();
                let scene = parted.scene;
                let holds = solver.encoder.truth(side, &scene.env, Want::Yes);
                let met = solver.encoder.truth(whole.demand, &scene.env, Want::Yes);
                let dead = !scene.never(solver, [holds.clone()]) && scene.never(solver, [holds, met]);
                dead.then(|| self.dead(side, rest, whole.demand))
            })
        })
    }

    fn dead(&self, side: &Expr, rest: &Expr, whole: &Expr) -> Diagnostic {
        let said = |expr: &Expr| self.bench.said(expr.place);
        let message = format!(
            "beside `{}`, `{}` can never hold, so this asks only for `{}`",
            said(whole),
            said(side),
            said(rest)
        );
        Diagnostic::advice(ANALYSIS_CONTRADICTION, side.place, message)
            .and_at(whole.place, "the other demand")
            .help("correct one of the two, or take this side of `or` out")
    }
}

impl<'p> Scene<'p> {
    /// Whether this rule judges the entries of another one wherever that one does.
    fn judges_where(&self, solver: &mut Solver<'p>, other: &Scene<'p>) -> bool {
        let own_entries = self.entries.iter().all(|entry| other.entries.contains(entry));
        let not = self.does_not_judge(solver);
        own_entries && solver.never(&other.entries, &other.with([not]))
    }

    /// What must be so for the rule not to judge its entries, or for that to be open.
    fn does_not_judge(&self, solver: &mut Solver<'p>) -> Formula<'p> {
        solver.encoder.begin();
        let mut conditions: Vec<&'p Expr> = self.standard.condition.iter().chain(&self.rule.period).collect();
        match &self.rule.concerns {
            Concerns::Document(condition) => conditions.extend(condition),
            Concerns::Each(nested) => {
                conditions.extend(nested.iter().filter_map(|each| each.condition.as_ref()))
            }
        }
        let not = conditions.into_iter().map(|condition| solver.encoder.perhaps(condition, &self.env, false));
        Formula::any(not.collect::<Vec<_>>())
    }

    /// Whether all subjects are single entries, and no number of them is asked for.
    pub(super) fn is_plain(&self) -> bool {
        match &self.rule.concerns {
            Concerns::Document(_) => true,
            Concerns::Each(nested) => nested.iter().all(|each| each.keys.is_empty() && each.count.is_none()),
        }
    }
}

/// Rules that find nothing which another one does not find as well.
fn shadows<'p>(
    bench: &Bench<'p>,
    solver: &mut Solver<'p>,
    scenes: &[Scene<'p>],
    found: &mut Vec<Diagnostic>,
) {
    let mut by_entries: BTreeMap<Vec<(Term, Term)>, Vec<&Scene<'p>>> = BTreeMap::new();
    for scene in scenes.iter().filter(|scene| scene.is_plain()) {
        by_entries.entry(scene.entries.clone()).or_default().push(scene);
    }
    let mut looked = 0;
    for alike in by_entries.values() {
        for (at, milder) in alike.iter().enumerate() {
            for (other, stronger) in alike.iter().enumerate() {
                if !solver.spend(1) {
                    return;
                }
                let weighs = match stronger.rule.severity.cmp(&milder.rule.severity) {
                    std::cmp::Ordering::Greater => true,
                    std::cmp::Ordering::Equal => other < at,
                    std::cmp::Ordering::Less => false,
                };
                let is_one = at != other && weighs && !lets_more_pass(stronger, milder);
                if !is_one || !shares_terms(stronger, milder) || looked >= MOST_PAIRS {
                    continue;
                }
                looked += 1;
                if together(&solver.encoder.terms, stronger, milder) && is_shadow(solver, stronger, milder) {
                    found.push(shadow(bench, stronger, milder));
                    break;
                }
            }
        }
    }
}

/// Whether a rule lets something pass that the other one does not: what is not recorded, or what somebody may let stand.
fn lets_more_pass(one: &Scene<'_>, other: &Scene<'_>) -> bool {
    let may = |scene: &Scene<'_>| scene.rule.concession.clone().unwrap_or_default();
    let weighs = |scene: &Scene<'_>| match scene.rule.unrecorded {
        Unrecorded::As(severity) => Some(severity),
        Unrecorded::Pass => None,
    };
    let others = may(other);
    weighs(one) < weighs(other) || may(one).iter().any(|role| !others.contains(role))
}

/// Whether each demand of the one speaks of values of which the other does.
fn shares_terms(stronger: &Scene<'_>, milder: &Scene<'_>) -> bool {
    let terms = |formula: &Formula<'_>| {
        let mut terms = Vec::new();
        formula.for_each_fact(&mut |fact| {
            let (one, other) = terms_of(fact);
            terms.push(one);
            terms.extend(other);
        });
        terms
    };
    let known: Vec<Term> = stronger.demands.iter().flat_map(|demand| terms(&demand.met)).collect();
    milder.demands.iter().all(|demand| terms(&demand.broken).iter().any(|term| known.contains(term)))
}

fn is_shadow<'p>(solver: &mut Solver<'p>, stronger: &Scene<'p>, milder: &Scene<'p>) -> bool {
    let covered = milder.demands.iter().all(|weak| {
        stronger.demands.iter().any(|strong| {
            solver.encoder.begin();
            let open = solver.encoder.truth(strong.expr, &stronger.env, Want::Unrecorded);
            // Where the milder rule is only open, it finds something too, unless it lets that pass.
            let open_weak = match milder.rule.unrecorded {
                Unrecorded::As(_) => solver.encoder.truth(weak.expr, &milder.env, Want::Unrecorded),
                Unrecorded::Pass => Formula::Never,
            };
            guard_of(weak.expr) == guard_of(strong.expr)
                && !milder.never(solver, [weak.broken.clone()])
                && milder.never(solver, [weak.broken.clone(), Formula::any([strong.met.clone(), open])])
                && milder.never(solver, [open_weak, strong.met.clone()])
        })
    });
    covered && stronger.judges_where(solver, milder)
}

fn shadow(bench: &Bench<'_>, stronger: &Scene<'_>, milder: &Scene<'_>) -> Diagnostic {
    let (name, severity) = (&stronger.rule.name, stronger.rule.severity);
    let place = milder.rule.demands.first().map_or(milder.rule.name_place, |demand| demand.place);
    let what = if severity == Severity::Hold { "a hold" } else { "at least as severe" };
    let message = format!(
        "whatever breaks this breaks `{}` as well, {what}: this rule never finds anything alone",
        name
    );
    let help = match milder.rule.severity == severity {
        true => "take one of the two rules out, or look whether another limit is meant",
        false => "are the two limits the wrong way round?",
    };
    let demand = stronger.rule.demands.first().map_or(stronger.rule.name_place, |demand| demand.place);
    Diagnostic::advice(ANALYSIS_SHADOWED, place, message)
        .and_at(demand, format!("`{}`", bench.said(demand)))
        .help(help)
}
