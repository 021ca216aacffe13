//! A program on a document: which subjects a rule has, and what each demand comes to on each. All of it is
//! data; [`crate::explain`] makes words of it.
//!
//! Every program ends: there is no recursion and no loop but over the lists of the document, and
//! an expression is looked at once for each binding of its variables (`lets` remembers what names come to).
//!
#![doc = include_str!("meaning.md")]

mod aggregate;
mod answer;
mod links;
mod compute;
mod covered;
mod elements;
mod filter;
mod groups;
mod guarded;
mod judged;
mod lets;
mod limits;
mod logs;
pub mod mend;
mod order;
mod period;
mod parameter;
mod seen;
mod spread;
mod timed;
mod truth;
mod uncertain;
mod verdict;
mod work;

use std::borrow::Cow;
use std::collections::{HashMap, HashSet};
use std::rc::Rc;

use jiff::civil::Date;
use jiff::tz::TimeZone;

pub use compute::Operand;
pub use covered::Covered;
use elements::Elements;
use filter::Indexes;
use groups::Groups;
use guarded::Guarding;
pub use judged::Compared;
use judged::Noted;
use limits::has_tolerance;
use links::Followed;
pub use links::{Linked, LinkedDocuments, NodeRef, Registers, UnresolvedLink};
pub use logs::{Log, LogEvidence, WatchedLog};
pub use parameter::{Clash, Origin};
use period::Counts;
pub use seen::{Seen, SeenBudget};
pub(crate) use truth::is_condition;
pub use uncertain::Uncertainty;
pub use verdict::{Leaf, Missing, Reason, Slots, Truth, Verdict};
use work::Share;
pub use work::{Bound, LastStep, MOST_LOOKS, MOST_STEPS, MOST_STEPS_IN_ALL, STEPS_OF_A_SAMPLE, most_samples};

use crate::document::{Document, Logs, NoLogs};
use crate::finding::{Outcome, Standing};
use crate::language::ast::{Count, Severity, Unrecorded};
use crate::language::typed::{Concerns, Each, Expr, Given, Program, Rule, VARIABLES};
use crate::metrology::{Line, Working, conformity::DecisionRule};
use crate::source::{Sources, Span};
use crate::trade::Job;

/// What a run of the rules takes from outside the documents.
#[derive(Clone, Debug)]
pub struct Setting {
    /// The day of the run, as `as_of` in the rules.
    pub as_of: Date,
    /// The time zone in which times without an offset are read.
    pub zone: TimeZone,
    /// How readings with an uncertainty are decided where a rule does not say.
    pub decision: DecisionRule,
}

/// What one demand came to on one subject, or why there is no subject.
#[derive(Debug)]
pub struct Judgement<'p> {
    /// The rule.
    pub rule: &'p Rule,
    /// What is judged.
    pub about: About<'p>,
    /// The element that the rule speaks of; the whole document for rules without `each`.
    pub subject: NodeRef,
    /// What it came to.
    pub outcome: Outcome,
    /// What decided.
    pub verdict: Verdict<'p>,
}

/// A comparison that was made.
#[derive(Debug)]
pub struct Step<'p> {
    /// What it came to.
    pub truth: Truth,
    /// The comparison.
    pub leaf: Leaf<'p>,
    /// How the published methods in it computed, step by step.
    pub working: Vec<Line>,
}

impl Judgement<'_> {
    fn missing(&self) -> Option<&Reason<'_>> {
        let leaf = self.verdict.leaf.as_ref()?;
        leaf.missing.as_ref().map(|missing| missing.shown())
    }

    /// Whether it is undecided because it would have taken too much work.
    fn is_for_want_of_work(&self) -> bool {
        matches!(self.about, About::Work(_))
            || matches!(self.missing(), Some(Reason::Fault(fault)) if fault.code == crate::code::TOO_MUCH_WORK)
    }

    /// Whether it is undecided because what is stated for a parameter has an error.
    #[must_use]
    pub fn waits_for_correction(&self) -> bool {
        matches!(self.missing(), Some(Reason::FaultyParameter(..)))
    }

    /// Whether all that leaves it undecided was not recorded.
    fn is_for_want_of_a_record(&self) -> bool {
        let missing = self.verdict.leaf.as_ref().and_then(|leaf| leaf.missing.as_ref());
        missing.is_some_and(|missing| missing.is_not_recorded())
    }
}

/// What a [`Judgement`] is about.
#[derive(Clone, Copy, Debug)]
pub enum About<'p> {
    /// A demand.
    Demand(&'p Expr),
    /// Whether the rule concerns the subject at all; only ever not concerned or undecided.
    Concern(&'p Expr),
    /// The whole rule, which takes too much work on this document.
    Work(Bound),
    /// How many subjects there are: found for certain, found perhaps, and what is wanted.
    Number {
        /// Subjects found for certain.
        sure: u32,
        /// Elements of which it cannot be told.
        perhaps: u32,
        /// Elements of the list in all.
        of: u32,
        /// What is wanted.
        wanted: Count,
        /// Where that is written.
        span: Span,
        /// The subjects.
        each: &'p Each,
    },
}

/// Evaluates the rules of a program on one document.
#[derive(Debug)]
pub struct Evaluator<'x> {
    pub(crate) program: &'x Program,
    pub(crate) around: &'x LinkedDocuments<'x>,
    /// The document that is judged.
    pub(crate) document: &'x Document<'x>,
    pub(crate) setting: &'x Setting,
    pub(crate) sources: &'x Sources,
    /// Opens the files of logs.
    logs: &'x dyn Logs,
    /// In a trial, the parameters that it states; what the run states does not count there.
    given: Option<&'x [Given]>,
    /// The elements that the variables of the rule at hand stand for.
    slots: Slots,
    /// How readings with an uncertainty are decided in the demand at hand.
    guarding: Option<Guarding<'x>>,
    /// Where the links of the document lead, as far as they were followed: by the node that a link begins
    /// at and its name. Many rules follow the same ones.
    followed: HashMap<(NodeRef, &'x str), Followed>,
    /// The lists of the documents by the names of their elements.
    indexes: Indexes<'x>,
    /// The rule at hand.
    pub(crate) rule: Option<&'x Rule>,
    /// The groups of entries of the rule at hand.
    groups: Groups<'x>,
    /// How many elements of lists the rule at hand has looked at.
    looks: u64,
    /// How many rules were begun.
    rules_begun: u32,
    /// How many steps the rules may do on the document.
    most_steps: u64,
    /// What may still be done, and what the lets came to.
    share: Rc<Share<'x>>,
    /// The same for all that does not judge: what is noted, quoted in words, and seen again.
    aside: Rc<Share<'x>>,
    /// Whether subjects of the rule at hand were left out because it had looked at too many.
    given_up: bool,
    /// Whether more work can still be recorded.
    in_work: bool,
    /// Whether what leaves something open is wanted in full, or only that it is open.
    in_full: bool,
    /// The comparisons made, where someone wants to see them.
    steps: Option<Vec<Step<'x>>>,
    /// Where what the procedure says differs from what the settings state.
    clashes: Vec<Clash>,
    clashes_met: HashSet<Clash>,
    /// How the methods computed, since the last comparison; kept where the comparisons are.
    working: Working,
    /// Which values the rules look at, where someone wants to know.
    noted: Option<Noted>,
    /// What was exercised, where someone wants to know.
    covered: Option<HashSet<Covered>>,
}

impl<'x> Evaluator<'x> {
    /// An evaluator of `program` on the document in the middle of `around`; `sources` holds the rule files, for messages that
    /// quote a rule.
    #[must_use]
    pub fn new(
        program: &'x Program,
        around: &'x LinkedDocuments<'x>,
        setting: &'x Setting,
        sources: &'x Sources,
    ) -> Self {
        let document = around.document(0);
        Evaluator {
            program,
            around,
            document,
            setting,
            sources,
            logs: &NoLogs,
            given: None,
            slots: [NodeRef::own(document.root()); VARIABLES],
            guarding: Guarding::by_settings(&setting.decision),
            followed: HashMap::new(),
            indexes: Indexes::default(),
            rule: None,
            groups: Groups::default(),
            looks: 0,
            rules_begun: 0,
            most_steps: MOST_STEPS,
            share: Rc::new(Share::new(MOST_STEPS)),
            aside: Rc::new(Share::new(MOST_STEPS)),
            given_up: false,
            in_work: Job::of(document).is_in_work(),
            in_full: true,
            steps: None,
            clashes: Vec::new(),
            clashes_met: HashSet::new(),
            working: Working::none(),
            noted: None,
            covered: None,
        }
    }

    /// The same for a trial: with the defaults of the parameters and what the trial states itself.
    #[must_use]
    pub fn with_given(self, given: &'x [Given]) -> Self {
        Evaluator { given: Some(given), ..self }
    }

    /// The same, able to open the files of logs.
    #[must_use]
    pub fn with_logs(self, logs: &'x dyn Logs) -> Self {
        Evaluator { logs, ..self }
    }

    /// The same, keeping every comparison for [`Evaluator::take_steps`].
    #[must_use]
    pub fn tracing(self) -> Self {
        Evaluator { steps: Some(Vec::new()), working: Working::kept(), ..self }
    }

    /// Another one that looks up values for an explanation: in the binding of what is explained, without a rule for
    /// uncertain readings, with a share of work of its own.
    pub(crate) fn for_words(&self) -> Evaluator<'x> {
        Evaluator {
            guarding: None,
            followed: HashMap::new(),
            indexes: Indexes::default(),
            groups: Groups::clone(&self.groups),
            looks: 0,
            share: Rc::clone(&self.aside),
            aside: Rc::clone(&self.aside),
            given_up: false,
            in_full: true,
            steps: None,
            clashes: Vec::new(),
            clashes_met: HashSet::new(),
            working: Working::none(),
            noted: None,
            covered: None,
            ..*self
        }
    }

    /// The elements that the variables stand for.
    pub(crate) fn bound(&self) -> Slots {
        self.slots
    }

    /// Binds the variables as they were bound for a comparison.
    pub(crate) fn bind(&mut self, slots: Slots) -> Slots {
        std::mem::replace(&mut self.slots, slots)
    }

    /// The comparisons made since the last call.
    pub fn take_steps(&mut self) -> Vec<Step<'x>> {
        self.steps.as_mut().map(std::mem::take).unwrap_or_default()
    }

    /// The document.
    #[must_use]
    pub fn document(&self) -> &'x Document<'x> {
        self.document
    }

    /// Whether a standard's condition holds.
    pub fn applies(&mut self, condition: &'x Expr) -> Verdict<'x> {
        self.chosen(condition)
    }

    /// Judges a rule: calls `sink` once for each demand on each subject, for each element that the
    /// rule does not concern or of which that cannot be told, and for a wrong number of subjects.
    ///
    /// Nested lists are walked in full, so a rule with several `each` or quantifiers could take longer
    /// than anyone would wait. A rule that has looked at [`MOST_LOOKS`] elements is left undecided, and so are all rules
    /// once they have done as many steps together as they may.
    pub fn rule(&mut self, rule: &'x Rule, sink: &mut dyn FnMut(&mut Self, Judgement<'x>)) {
        (self.looks, self.given_up, self.rule) = (0, false, Some(rule));
        self.rules_begun += 1;
        self.groups = Groups::default();
        self.note_rule();
        match self.in_doubt(rule) {
            Counts::Never(period, verdict) => self.concern(rule, period, self.root(), verdict, sink),
            Counts::Surely => drop(self.subjects(rule, false, sink)),
            Counts::Perhaps(period, verdict) => {
                if !self.subjects(rule, true, sink) {
                    self.concern(rule, period, self.root(), verdict, sink);
                }
            }
        }
        if self.given_up {
            let (subject, verdict) = (self.root(), Verdict::bare(Truth::Unknown));
            sink(
                self,
                Judgement {
                    rule,
                    about: About::Work(self.gone_beyond()),
                    subject,
                    outcome: Outcome::Undecided,
                    verdict,
                },
            );
        }
    }

    /// Judges a rule on whatever it is about. Where it is in doubt whether the rule counts at all, only what is met is
    /// passed on; answers whether all is.
    fn subjects(
        &mut self,
        rule: &'x Rule,
        doubt: bool,
        sink: &mut dyn FnMut(&mut Self, Judgement<'x>),
    ) -> bool {
        let root = self.root();
        let condition = match &rule.concerns {
            Concerns::Document(None) => return self.demands(rule, root, doubt, sink),
            Concerns::Each(each) => return self.each(rule, each, root, doubt, sink),
            Concerns::Document(Some(condition)) => condition,
        };
        let verdict = self.chosen(condition);
        let met = match verdict.truth {
            Truth::Yes => return self.demands(rule, root, doubt, sink),
            Truth::Unknown => self.demands(rule, root, true, sink),
            Truth::No => false,
        };
        if !met && !doubt {
            self.concern(rule, condition, root, verdict.clone(), sink);
        }
        met || verdict.truth == Truth::No
    }

    /// How severe a judgement is, and whether it counts.
    #[must_use]
    pub fn weight(&self, judgement: &Judgement<'x>) -> (Severity, Standing) {
        let rule = judgement.rule;
        match (judgement.outcome, rule.unrecorded) {
            // What nobody has looked at can be anything.
            (Outcome::Undecided, _) if judgement.is_for_want_of_work() => (Severity::Hold, Standing::Counts),
            (Outcome::Undecided, _) if self.in_work => (rule.severity, Standing::StillToDo),
            (Outcome::Undecided, Unrecorded::As(severity)) => (severity, Standing::Counts),
            // Whether a rule counts at all is never let pass.
            (Outcome::Undecided, Unrecorded::Pass) if judgement.is_of_the_period() => {
                (rule.severity, Standing::Counts)
            }
            (Outcome::Undecided, Unrecorded::Pass) if judgement.is_for_want_of_a_record() => {
                (Severity::Note, Standing::Passed)
            }
            _ => (rule.severity, Standing::Counts),
        }
    }

    /// The document that holds a node.
    pub(crate) fn doc(&self, spot: NodeRef) -> &'x Document<'x> {
        if spot.is_own() { self.document } else { self.around.document(spot.document) }
    }

    pub(crate) fn root(&self) -> NodeRef {
        NodeRef::own(self.document.root())
    }

    /// Judges the subjects of nested lists. Where it is in doubt whether the rule concerns `outer` at all, only
    /// what is met either way is said; answers whether that is everything.
    fn each(
        &mut self,
        rule: &'x Rule,
        nested: &'x [Each],
        outer: NodeRef,
        doubt: bool,
        sink: &mut dyn FnMut(&mut Self, Judgement<'x>),
    ) -> bool {
        let Some((each, inner)) = nested.split_first() else { return self.demands(rule, outer, doubt, sink) };
        if !each.keys.is_empty() {
            return self.each_group(rule, each, inner, doubt, sink);
        }
        // A list that is not recorded has no elements: only a count can ask for them.
        let Elements { list, entries: elements, rest } = match self.elements(&each.list, None, None) {
            Ok(elements) => elements,
            Err(missing) => Elements { list: missing.at, entries: Cow::default(), rest: Some(missing) },
        };
        let (mut sure, mut perhaps, mut open, mut all_met) = (0u32, 0u32, None, true);
        for element in &*elements {
            if !self.spend() {
                self.given_up = true;
                return false;
            }
            let element = list.beside(*element);
            self.set(each.slot, element);
            let Some(condition) = &each.condition else {
                sure = sure.saturating_add(1);
                all_met &= self.each(rule, inner, element, doubt, sink);
                continue;
            };
            let verdict = self.chosen(condition);
            match verdict.truth {
                Truth::Yes => {
                    sure = sure.saturating_add(1);
                    all_met &= self.each(rule, inner, element, doubt, sink);
                }
                Truth::Unknown => {
                    perhaps = perhaps.saturating_add(1);
                    open = Some(match open {
                        None => verdict.clone(),
                        Some(first) => Verdict::beside(first, verdict.clone()),
                    });
                    let met = self.each(rule, inner, element, true, sink);
                    all_met &= met;
                    if !met && !doubt {
                        self.concern(rule, condition, element, verdict, sink);
                    }
                }
                Truth::No if doubt => {}
                Truth::No => self.concern(rule, condition, element, verdict, sink),
            }
        }
        let of = u32::try_from(elements.len()).unwrap_or(u32::MAX);
        let list = rest.map_or(Ok(list), Err);
        self.number_of((rule, each), list, [sure, perhaps, of], open, doubt, sink) && all_met
    }

    /// Judges the number of subjects, where the rule asks for one: those that are some for sure, those that may be,
    /// and all. Answers whether it is met.
    fn number_of(
        &mut self,
        (rule, each): (&'x Rule, &'x Each),
        list: Result<NodeRef, Missing<'x>>,
        [sure, perhaps, of]: [u32; 3],
        open: Option<Verdict<'x>>,
        doubt: bool,
        sink: &mut dyn FnMut(&mut Self, Judgement<'x>),
    ) -> bool {
        let Some((wanted, span)) = each.count else { return true };
        self.note_count(rule, each);
        let about = About::Number { sure, perhaps, of, wanted, span, each };
        let (at, open, (least, most)) = match list {
            Ok(at) => (at, open, (sure, sure.saturating_add(perhaps))),
            // Nobody knows how many a list has that is not recorded.
            Err(missing) => {
                let (at, rest) = (missing.at, self.undecided(&each.list, missing));
                let open = open.map_or(rest.clone(), |open| Verdict::beside(open, rest));
                (at, Some(open), (sure, u32::MAX))
            }
        };
        let outcome = self.number(wanted, least, most);
        let verdict = match (outcome, open) {
            (Outcome::Undecided, Some(open)) => open,
            (Outcome::Undecided | Outcome::NotConcerned, _) => Verdict::bare(Truth::Unknown),
            (Outcome::Met, _) => Verdict::bare(Truth::Yes),
            (Outcome::Broken, _) => Verdict::bare(Truth::No),
        };
        if !doubt {
            let verdict = verdict::told_by(rule, verdict);
            sink(self, Judgement { rule, about, subject: at, outcome, verdict });
        }
        outcome == Outcome::Met
    }

    /// Judges the number of subjects, from `least` to `most`. Elements that may be subjects leave it open while they could matter.
    fn number(&self, wanted: Count, least: u32, most: u32) -> Outcome {
        match wanted.allows_all(least, most) {
            Some(true) => Outcome::Met,
            // More work can still be recorded.
            Some(false) if self.in_work && wanted.wants_more_than(most) => Outcome::Undecided,
            Some(false) => Outcome::Broken,
            None => Outcome::Undecided,
        }
    }

    /// Says that the rule does not concern a subject, or that this cannot be told.
    fn concern(
        &mut self,
        rule: &'x Rule,
        condition: &'x Expr,
        subject: NodeRef,
        verdict: Verdict<'x>,
        sink: &mut dyn FnMut(&mut Self, Judgement<'x>),
    ) {
        let outcome = match verdict.truth {
            Truth::No => Outcome::NotConcerned,
            Truth::Yes | Truth::Unknown => Outcome::Undecided,
        };
        let verdict = verdict::told_by(rule, verdict);
        sink(self, Judgement { rule, about: About::Concern(condition), subject, outcome, verdict });
    }

    /// Judges every demand on a subject. Where it is in doubt whether the rule concerns the subject, a demand
    /// that is met is met either way and any other is left to what is said of the concern; answers whether
    /// all are met.
    fn demands(
        &mut self,
        rule: &'x Rule,
        subject: NodeRef,
        doubt: bool,
        sink: &mut dyn FnMut(&mut Self, Judgement<'x>),
    ) -> bool {
        let mut all_met = true;
        for demand in &rule.demands {
            self.note_demand(rule, demand);
            let verdict = self.judged(demand);
            let outcome = match verdict.truth {
                Truth::Yes => Outcome::Met,
                Truth::No => Outcome::Broken,
                Truth::Unknown => Outcome::Undecided,
            };
            let met = outcome == Outcome::Met;
            all_met &= met;
            if met || !doubt {
                let verdict = verdict::told_by(rule, verdict);
                sink(self, Judgement { rule, about: About::Demand(demand), subject, outcome, verdict });
            }
        }
        all_met
    }

    /// What a demand comes to. Of one that is met only its margin is of interest, and only where that can be
    /// compared with those of others.
    fn judged(&mut self, demand: &'x Expr) -> Verdict<'x> {
        let guarding = self.guarding;
        let looks = self.looks;
        let briefly = self.steps.is_none() && !has_tolerance(demand);
        let verdict = match briefly.then(|| self.briefly(|inner| inner.answer(demand))) {
            Some(Truth::Yes) => Verdict::bare(Truth::Yes),
            Some(_) => {
                self.looks = looks;
                self.guarding = guarding;
                self.answer(demand)
            }
            None => self.answer(demand),
        };
        self.guarding = guarding;
        verdict
    }

    /// Whether a condition holds: with what decided it, where it is open or somebody wants to see it.
    fn chosen(&mut self, condition: &'x Expr) -> Verdict<'x> {
        if self.steps.is_none() {
            match self.condition(condition) {
                Truth::Unknown => {}
                decided => return Verdict::bare(decided),
            }
        }
        self.condition_in_full(condition)
    }

    pub(crate) fn set(&mut self, slot: usize, element: NodeRef) {
        if let Some(place) = self.slots.get_mut(slot) {
            *place = element;
        }
    }
}
