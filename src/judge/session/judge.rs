//! One text in, one verdict for each document in it.

use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

use super::identity::{headline, in_work_and_closed, looks_like_last, strange_letter};
use super::internal::sound;
use super::known::seen::Looking;
use super::readings::Readings;
use super::{Nearby, Session};
use crate::code::{
    CANNOT_TELL, Code, ENCODING, LAYOUT, MANY_FINDINGS, NO_STANDARD, PARAMETER_CLASH, PARAMETER_KEY,
    TOO_DEEP, TOO_LARGE, TOO_MUCH_WORK,
};
use crate::decide::{
    About, Bound, Clash, Evaluator, Judgement, LastStep, Leaf, STEPS_OF_A_SAMPLE, SeenBudget, Truth,
};
use crate::diagnostic::{Diagnostic, Fault, listed};
use crate::document::{self, Document};
use crate::explain::Explainer;
use crate::finding::{
    Finding, Judged, NEAREST, Near, Outcome, SeenInDocument, SeenValue, Standing, Tally, Values,
};
use crate::language::ast::Severity;
use crate::language::ids::RuleId;
use crate::language::typed::{Expr, ExprKind, Standard};
use crate::quantity::{Margin, Number};
use crate::source::{Place, Source, SourceId, Sources, Span};
use crate::trade::form::{self, JOB};
use crate::value::Value;

/// The codes of mistakes for which a document is left out altogether.
pub(super) const LEFT_OUT: [Code; 4] = [ENCODING, TOO_LARGE, TOO_DEEP, LAYOUT];

/// A met demand that may be among the nearest to its limit.
struct Candidate<'x> {
    share: Number,
    rule: &'x str,
    leaf: Leaf<'x>,
    margin: Margin,
}

impl Session {
    /// Judges the documents in a text. A text that cannot be read is one unreadable document.
    #[must_use]
    pub fn judge(&self, name: &str, text: &str) -> Vec<Judged> {
        let mut judged = Vec::new();
        self.judge_each(name, text, &mut |document| judged.push(document));
        judged
    }

    /// The same, one after the other: a text can hold so many that all their findings together are too much to keep.
    pub fn judge_each(&self, name: &str, text: &str, take: &mut dyn FnMut(Judged)) {
        self.judge_text(&Arc::new(Source::new(name, text)), None, take);
    }

    /// The same of a record of a stream, by what stands before it there.
    pub fn judge_in_stream(&self, text: &Arc<Source>, near: &Arc<Nearby>, take: &mut dyn FnMut(Judged)) {
        self.judge_text(text, Some(near), take);
    }

    fn judge_text(&self, text: &Arc<Source>, near: Option<&Arc<Nearby>>, take: &mut dyn FnMut(Judged)) {
        let name = text.name();
        let mut sources = Sources::over(&self.sources);
        let source = sources.share(text);
        let text = sources.get(source).map_or("", |source| source.text());
        let read = sound(|| document::read(source, text, &self.forms));
        let (documents, diagnostics) = match read {
            Ok(read) => read,
            Err(fault) => {
                let place = Place { source, span: Span::default() };
                return take(unreadable(name, source, sources, vec![fault.at(place)]));
            }
        };
        let several = documents.len() > 1;
        let (shares, rest) = share_out(&documents, diagnostics);
        let mut steps: u64 = 0;
        for ((number, document), faults) in documents.iter().enumerate().zip(shares) {
            let name = if several { format!("{name} (document {})", number + 1) } else { name.to_owned() };
            let looking = Looking::at(document, number, several);
            let mut judged = match document.form() {
                Some(_) if steps > self.most_steps_in_all => {
                    let fault = self.out_of_steps_in_all().at(start_of(document));
                    unreadable(&name, source, sources.clone(), vec![fault])
                }
                Some(_) => {
                    let judged = sound(|| {
                        self.document((&name, number), document, &looking, (&sources, near), &faults)
                    });
                    judged.unwrap_or_else(|fault| {
                        unreadable(&name, source, sources.clone(), vec![fault.at(start_of(document))])
                    })
                }
                // Without a form nobody can say what its fields mean; why is among the diagnostics.
                None => unreadable(&name, source, sources.clone(), Vec::new()),
            };
            steps = steps.saturating_add(judged.steps);
            judged.diagnostics.extend(faults);
            judged.diagnostics.sort_by_key(|said| (said.place(), std::cmp::Reverse(said.level)));
            judged.diagnostics = listed(std::mem::take(&mut judged.diagnostics));
            if let Some(seen) = &mut judged.seen {
                let diagnostics = judged.diagnostics.iter();
                seen.diagnostics =
                    diagnostics.map(|said| looking.diagnostic(said, &judged.sources)).collect();
            }
            take(judged);
        }
        if documents.is_empty() || !rest.is_empty() {
            take(unreadable(name, source, sources.clone(), rest));
        }
    }

    /// A document that could not be read as text: as much of it as there is to show, and where in it
    /// the fault lies.
    #[must_use]
    pub fn unreadable(&self, name: &str, text: &str, at: usize, fault: Fault) -> Judged {
        let mut sources = Sources::over(&self.sources);
        let source = sources.add(name, text);
        let place = Place { source, span: Span::new(at, at) };
        let diagnostics = vec![fault.at(place)];
        unreadable(name, source, sources, diagnostics)
    }

    /// Judges the document of this number in its text, in which `faults` were found.
    pub(super) fn document(
        &self,
        (name, number): (&str, usize),
        document: &Document<'_>,
        looking: &Looking<'_>,
        (sources, near): (&Sources, Option<&Arc<Nearby>>),
        faults: &[Diagnostic],
    ) -> Judged {
        let mut past = self.past(document, sources, near);
        let twice = (document.form() == Some(JOB)).then(|| self.same_number(document, number, &mut past));
        let around = self.around(document, &past);
        let sources = &past.sources;
        let mut evaluator = Evaluator::new(&self.program, &around, &self.setting, sources)
            .with_logs(&*self.logs)
            .within_steps(self.most_steps)
            .noting();
        if self.keeps_figures {
            evaluator = evaluator.noting_comparisons();
        }
        let mut run = Judging {
            readings: Readings::default(),
            listed: BTreeMap::new(),
            unlisted: 0,
            beyond: BTreeMap::new(),
            findings: Vec::new(),
            tallies: Vec::new(),
            nearest: Vec::new(),
            values: Vec::new(),
            budget: self.keeps_seen.then(SeenBudget::default),
            given_up: false,
            exhausted_by: None,
            left_out: 0,
        };
        let (applying, mut diagnostics) = self.applying(document, &mut evaluator);
        // Whether standards apply can take all steps, before any rule is looked at.
        if evaluator.is_exhausted() {
            run.exhausted_by = Some(LastStep::Conditions);
        }
        // Of what else is not judged then, the cause is told.
        let told = diagnostics.iter().any(|said| [CANNOT_TELL, NO_STANDARD].contains(&said.code));
        for standard in &applying {
            for (number, rule) in self.program.rules_of(standard) {
                let mut tally = Tally::default();
                if evaluator.is_exhausted() {
                    tally.count(Outcome::Undecided);
                    run.tallies.push((number, tally));
                    run.left_out += 1;
                    continue;
                }
                let before = steps_of(&evaluator, 0);
                evaluator.rule(rule, &mut |evaluator, judgement| {
                    run.take(evaluator, judgement, number, &mut tally);
                });
                tally.steps = steps_of(&evaluator, 0).saturating_sub(before);
                run.tallies.push((number, tally));
                diagnostics.extend(run.end_of_rule(&rule.name, start_of(document)));
                if evaluator.is_exhausted() {
                    run.exhausted_by.get_or_insert(LastStep::Rule(&rule.name));
                }
            }
        }
        diagnostics.extend(run.left_out(self, document));
        diagnostics.extend(clashes(&mut evaluator));
        let (values, unjudged) = self.unjudged(
            document,
            &applying,
            &evaluator.take_noted(),
            told || run.given_up || run.left_out > 0,
        );
        let misspelt = self.misspelt(document, &unjudged, &run.findings);
        diagnostics.extend(unjudged);
        diagnostics.extend(misspelt);
        if !told {
            diagnostics.extend(self.procedure_not_followed(document, &applying));
        }
        diagnostics.extend(past.no_order.iter().cloned());
        diagnostics.extend(twice.flatten());
        diagnostics.extend(near.into_iter().flat_map(|near| self.in_stream(document, number, near)));
        diagnostics.extend(looks_like_last(document, &past));
        diagnostics.extend(strange_letter(document));
        diagnostics.extend(self.photographs(name, document));
        diagnostics.extend(self.to_come(document));
        diagnostics.extend(in_work_and_closed(document));
        let (of_logs, frames, entries) = self.logs_of(document, sources);
        diagnostics.extend(self.times_of(document, &frames));
        diagnostics.extend(of_logs);
        diagnostics.extend(self.against(document, sources));
        diagnostics.extend(self.concede(document, faults, &mut run.findings));
        let nearest = run.near(&mut evaluator, name, sources);
        let (mut findings, seen) = run.in_order(looking);
        self.put_in_turn(document, &mut findings);
        Judged {
            form: document.form().unwrap_or_default().to_owned(),
            headline: headline(document),
            source: document.source,
            sources: sources.clone(),
            standards: applying.iter().map(|standard| standard.full_name()).collect(),
            diagnostics,
            readable: true,
            findings,
            unlisted: run.beyond,
            tallies: run.tallies,
            nearest,
            seen,
            values,
            steps: steps_of(&evaluator, entries),
            archived: self.archived(document, run.readings),
            is_made: false,
            name: name.to_owned(),
        }
    }

    /// What is said of a document that is not judged because those before it took all the steps of the run.
    #[must_use]
    pub fn out_of_steps_in_all(&self) -> Fault {
        let most = self.most_steps_in_all;
        let message = format!(
            "not judged: the rules have taken more than {most} steps for the documents of this run before it"
        );
        Fault::new(TOO_MUCH_WORK, message)
            .help("judge fewer documents in one run, or allow more with `--most-steps-in-all`")
    }

    /// Says that the rules took more steps for a document than they may, and for what the last of them.
    pub(super) fn out_of_steps(
        &self,
        document: &Document<'_>,
        last: LastStep<'_>,
        left_out: &str,
    ) -> Diagnostic {
        let message = format!("{}, the last of them for {last}{left_out}", Bound::Steps(self.most_steps));
        let help = "shorten the longest list of the document, or allow more with `--most-steps`";
        Diagnostic::error(TOO_MUCH_WORK, start_of(document), message).help(help)
    }

    /// The standards that apply to a document. One whose condition cannot be decided is reported at
    /// the field that is missing, once for all that need it.
    fn applying<'x>(
        &'x self,
        document: &Document<'_>,
        evaluator: &mut Evaluator<'x>,
    ) -> (Vec<&'x Standard>, Vec<Diagnostic>) {
        let mut applying = Vec::new();
        let mut open: Vec<(Place, String, Vec<&str>)> = Vec::new();
        let judged = document.form().unwrap_or_default();
        let (standards, said) = self.editions(document);
        for standard in standards {
            let Some(condition) = &standard.condition else {
                applying.push(standard);
                continue;
            };
            let verdict = evaluator.applies(condition);
            match verdict.truth {
                Truth::Yes => applying.push(standard),
                Truth::No => {}
                Truth::Unknown => {
                    let (_, place, why) =
                        Explainer::of(evaluator).why_undecided(&verdict).unwrap_or_else(|| {
                            (String::new(), document.place(document.root()), "a value is missing".to_owned())
                        });
                    match open.iter_mut().find(|(known, words, _)| *known == place && *words == why) {
                        Some((.., names)) => names.push(&standard.name),
                        None => open.push((place, why, vec![&standard.name])),
                    }
                }
            }
        }
        let mut diagnostics: Vec<Diagnostic> = open
            .into_iter()
            .map(|(place, why, names)| {
                let names = names.join("`, `");
                Diagnostic::error(
                    CANNOT_TELL,
                    place,
                    format!("may apply: `{names}`; not known, because {why}"),
                )
                .help("state it as the form has it, so that the document is judged by every standard that is meant for it")
            })
            .collect();
        diagnostics.extend(said);
        if applying.is_empty() && diagnostics.is_empty() {
            let (message, help) = form::unjudged(judged);
            diagnostics.push(Diagnostic::advice(NO_STANDARD, start_of(document), message).help(help));
        }
        (applying, diagnostics)
    }
}

/// What is said where a document and the settings do not agree about a parameter.
fn clashes(evaluator: &mut Evaluator<'_>) -> Vec<Diagnostic> {
    let met = evaluator.take_clashes();
    let explainer = Explainer::of(evaluator);
    let mut seen = BTreeSet::new();
    let mut without: BTreeMap<Place, (String, Vec<String>)> = BTreeMap::new();
    let clashes = met.into_iter().filter_map(|clash| match clash {
        Clash::Values { parameter, field, stated } => {
            let name = explainer.parameter(parameter);
            let message = format!("the procedure and the settings state different values for `{name}`");
            let diagnostic = Diagnostic::advice(PARAMETER_CLASH, explainer.place(field), message)
                .labelled("counts")
                .and_at(stated, "does not count for this job")
                .help("correct the one that is out of date, or take the value out of the settings");
            Some(diagnostic)
        }
        Clash::Key { parameter, field, near } => {
            // Several parameters can differ by one field: the slip is one.
            let place = explainer.place(field);
            seen.insert((place, near.clone())).then(|| {
                let name = explainer.parameter(parameter);
                let what = explainer.path(field);
                let message =
                    format!("nothing is stated for the value of `{what}`, and something for `{near}`");
                // A slip that turns off the maker's figures must not pass.
                Diagnostic::error(PARAMETER_KEY, place, message).help(format!(
                    "one of the two is misspelt: what the record says, or the key `{near}` of `{name}`"
                ))
            })
        }
        Clash::NoKey { parameter, field } => {
            let said =
                without.entry(explainer.place(field)).or_insert_with(|| (explainer.path(field), Vec::new()));
            said.1.push(format!("`{}`", explainer.parameter(parameter)));
            None
        }
    });
    let mut clashes: Vec<Diagnostic> = clashes.collect();
    clashes.extend(without.into_iter().map(|(place, (path, parameters))| {
        let message = format!(
            "nothing is stated for this `{path}`, and something for others, of {}",
            parameters.join(", ")
        );
        let help = "state the maker's figures for it: without them only what holds for every unit is judged";
        Diagnostic::advice(PARAMETER_KEY, place, message).help(help)
    }));
    clashes
}

pub(super) fn unreadable(
    name: &str,
    source: SourceId,
    sources: Sources,
    diagnostics: Vec<Diagnostic>,
) -> Judged {
    Judged {
        name: name.to_owned(),
        source,
        sources,
        form: String::new(),
        headline: String::new(),
        standards: Vec::new(),
        diagnostics,
        readable: false,
        findings: Vec::new(),
        unlisted: BTreeMap::new(),
        tallies: Vec::new(),
        nearest: Vec::new(),
        seen: None,
        values: Values::default(),
        steps: 0,
        archived: None,
        is_made: false,
    }
}

pub(super) fn start_of(document: &Document<'_>) -> Place {
    let place = document.place(document.root());
    Place { span: Span { end: place.span.start, ..place.span }, ..place }
}

/// Gives each diagnostic of a text to the document in which it stands; what belongs to a part of the
/// stream that could not be read is left over.
fn share_out(
    documents: &[Document<'_>],
    diagnostics: Vec<Diagnostic>,
) -> (Vec<Vec<Diagnostic>>, Vec<Diagnostic>) {
    let mut shares: Vec<Vec<Diagnostic>> = documents.iter().map(|_| Vec::new()).collect();
    let mut rest = Vec::new();
    for diagnostic in diagnostics {
        let at = diagnostic.place().map_or(0, |place| place.span.start);
        let home = if LEFT_OUT.contains(&diagnostic.code) {
            None
        } else {
            let before = documents.partition_point(|document| document.span(document.root()).start <= at);
            shares.get_mut(before.saturating_sub(1))
        };
        home.unwrap_or(&mut rest).push(diagnostic);
    }
    (shares, rest)
}

/// How many findings of one rule and severity are listed for one document.
pub(super) const MOST_FINDINGS: usize = 100;

struct Judging<'x> {
    /// How many findings of the rule at hand are listed, by severity, and how many are only counted.
    listed: BTreeMap<Severity, usize>,
    unlisted: usize,
    /// Those that count and are not listed, of all rules.
    beyond: BTreeMap<(Severity, bool), u64>,
    findings: Vec<(RuleId, Finding)>,
    tallies: Vec<(RuleId, Tally)>,
    nearest: Vec<Candidate<'x>>,
    /// The values by which each of the findings is known again, and what those of one rule may still cost; none
    /// where nobody asks.
    values: Vec<Option<Vec<SeenValue>>>,
    budget: Option<SeenBudget>,
    /// Whether a rule took too long.
    given_up: bool,
    readings: Readings,
    /// The rule that took the last of the steps for the document, and how many rules were not judged for want of more.
    exhausted_by: Option<LastStep<'x>>,
    left_out: usize,
}

impl<'x> Judging<'x> {
    fn take(
        &mut self,
        evaluator: &mut Evaluator<'x>,
        judgement: Judgement<'x>,
        number: RuleId,
        tally: &mut Tally,
    ) {
        self.given_up |= matches!(judgement.about, About::Work(_));
        self.readings.take(evaluator, &judgement, number);
        // The number of subjects is a demand of its own only where it fails.
        let counted = !matches!(judgement.about, About::Number { .. }) || judgement.outcome != Outcome::Met;
        if counted {
            tally.count(judgement.outcome);
        }
        match judgement.outcome {
            Outcome::Broken | Outcome::Undecided => {
                let (severity, standing) = evaluator.weight(&judgement);
                let listed = self.listed.get(&severity).copied().unwrap_or_default();
                if listed >= MOST_FINDINGS {
                    self.unlisted += 1;
                    if standing == Standing::Counts {
                        let undecided = judgement.outcome == Outcome::Undecided;
                        *self.beyond.entry((severity, undecided)).or_default() += 1;
                    }
                    return;
                }
                // Several demands can fail for one and the same reason: said once, counted each time.
                let mut explainer = Explainer::of(evaluator);
                let Some(finding) = explainer.finding(&judgement) else { return };
                let seen = self.budget.as_mut().and_then(|budget| evaluator.seen(&judgement, budget));
                let values = seen.map(|seen| seen.iter().map(|seen| explainer.seen(seen)).collect());
                match self.said_already(number, &finding) {
                    Some(known) => self.see_more(known, values),
                    None => {
                        self.listed.insert(severity, listed + 1);
                        self.findings.push((number, finding));
                        self.values.push(values);
                    }
                }
            }
            Outcome::Met => {
                if let Some(leaf) = judgement.verdict.leaf {
                    self.consider(&judgement.rule.name, *leaf);
                }
            }
            Outcome::NotConcerned => {}
        }
    }

    /// Begins to count anew for the next rule; says so if findings of this one were left out.
    fn end_of_rule(&mut self, rule: &str, place: Place) -> Option<Diagnostic> {
        let unlisted = std::mem::take(&mut self.unlisted);
        self.listed.clear();
        self.budget = self.budget.map(|_| SeenBudget::default());
        (unlisted > 0).then(|| {
            let message = format!("{unlisted} more findings of `{rule}` are not listed");
            Diagnostic::advice(MANY_FINDINGS, place, message)
        })
    }

    /// Says that the rules took more steps than they may on one document.
    fn left_out(&self, session: &Session, document: &Document<'_>) -> Option<Diagnostic> {
        let left_out = match self.left_out {
            0 => String::new(),
            1 => ", and the rule after it was not judged".to_owned(),
            more => format!(", and the {more} rules after it were not judged"),
        };
        Some(session.out_of_steps(document, self.exhausted_by?, &left_out))
    }

    /// Which of the findings says the same, if one does.
    fn said_already(&self, number: RuleId, finding: &Finding) -> Option<usize> {
        let same = |(_, (_, known)): &(usize, &(RuleId, Finding))| {
            known.at == finding.at && known.message == finding.message
        };
        let of_rule = self.findings.iter().enumerate().rev().take_while(|(_, (rule, _))| *rule == number);
        of_rule.filter(same).last().map(|(at, _)| at)
    }

    /// Adds the values of a finding to those of one that says the same.
    fn see_more(&mut self, known: usize, more: Option<Vec<SeenValue>>) {
        let Some(values) = self.values.get_mut(known) else { return };
        *values = values.take().zip(more).map(|(values, more)| [values, more].concat());
    }

    /// The findings by their places, then by rule, with what was seen of each.
    fn in_order(&mut self, looking: &Looking<'_>) -> (Vec<Finding>, Option<SeenInDocument>) {
        let values = std::mem::take(&mut self.values);
        let mut pairs: Vec<_> = std::mem::take(&mut self.findings).into_iter().zip(values).collect();
        pairs.sort_by_key(|((number, finding), _)| (finding.at.span, *number));
        let see = |((_, finding), values): ((RuleId, Finding), Option<Vec<SeenValue>>)| {
            let seen = values.map(|values| looking.finding(&finding, values));
            (finding, seen)
        };
        let (findings, seen) = pairs.into_iter().map(see).unzip();
        let kept = self.budget.map(|_| SeenInDocument { findings: seen, diagnostics: Vec::new() });
        (findings, kept)
    }

    /// Keeps a met demand if it is among the nearest to its limit: within a tenth of the tolerance. What is further
    /// inside says nothing about the work, and neither does a rule's own range of what can be believed. A reading that several rules look at is
    /// kept once, with the limit that is nearest to it.
    fn consider(&mut self, rule: &'x str, leaf: Leaf<'x>) {
        let Some(margin) = &leaf.margin else { return };
        let Some(share) =
            margin.share.as_ref().filter(|share| Number::ratio(1, 10).is_some_and(|most| **share <= most))
        else {
            return;
        };
        if matches!(&leaf.expr.kind, ExprKind::Within(_, limits) if is_of_belief(limits)) {
            return;
        }
        let same = |known: &Candidate<'_>| leaf.at.is_some() && known.leaf.at == leaf.at;
        if let Some(same) = self.nearest.iter().position(same) {
            if self.nearest.get(same).is_some_and(|known| known.share <= *share) {
                return;
            }
            self.nearest.remove(same);
        }
        let place = self.nearest.partition_point(|known| known.share <= *share);
        if place >= NEAREST {
            return;
        }
        let (share, margin) = (share.clone(), margin.clone());
        self.nearest.insert(place, Candidate { share, rule, leaf, margin });
        self.nearest.truncate(NEAREST);
    }

    fn near(&mut self, evaluator: &mut Evaluator<'x>, name: &str, sources: &Sources) -> Vec<Near> {
        let mut list = Vec::with_capacity(self.nearest.len());
        for candidate in self.nearest.drain(..) {
            let facts = Explainer::of(evaluator).explain(&candidate.leaf);
            list.push(Near {
                document: name.to_owned(),
                line: sources.start_of(facts.at).map_or(0, |position| position.line),
                rule: candidate.rule.to_owned(),
                path: facts.path,
                found: facts.found.unwrap_or_default(),
                required: facts.required.unwrap_or_default(),
                margin: candidate.margin,
            });
        }
        list
    }
}

/// Whether a range that a rule itself states is so wide that it is no tolerance: its end ten times its beginning.
fn is_of_belief(limits: &Expr) -> bool {
    let ExprKind::Constant(Value::Range(range)) = &limits.kind else { return false };
    range.ends_tenfold()
}

/// The steps that the rules did so far, with what they and others read of logs.
fn steps_of(evaluator: &Evaluator<'_>, others: u64) -> u64 {
    let entries = evaluator.samples_read().saturating_add(others);
    evaluator.steps_done().saturating_add(entries.saturating_mul(STEPS_OF_A_SAMPLE))
}
