//! A rule in plain words, and how it came to its outcome on a record.

use std::collections::HashSet;

use super::{DeclaredParameter, Session};
use crate::decide::mend::{Change, Effort};
use crate::decide::{About, Evaluator, Judgement, Missing, NodeRef, Truth, Verdict};
use crate::document;
use crate::explain::{Explained, ExplainedStep, Explainer, describe};
use crate::finding::Outcome;
use crate::language::ast::{Severity, Unrecorded};
use crate::language::typed::{Concerns, Expr, ExprKind, Figure, LeftOut, Part, Rule, Standard, Stated};
use crate::source::{Place, Sources};
use crate::trade::mending::{self, Mending};

/// A rule in plain words.
#[derive(Clone, Debug, PartialEq)]
pub struct RuleExplanation {
    /// Its full name.
    pub name: String,
    /// Its title.
    pub title: String,
    /// The standard that it belongs to, with edition and title.
    pub standard: String,
    /// When that standard applies.
    pub applies: Option<String>,
    /// The days of opening of the jobs for which it counts, where not for all: `from 2026-07-01`.
    pub counts: Option<String>,
    /// The rules that it takes the place of.
    pub replaces: Vec<String>,
    /// Why nothing is judged by it, and where the settings say so.
    pub left_out: Option<LeftOut>,
    /// Where the settings change it.
    pub changed: Option<Place>,
    /// What the rule is about.
    pub concerns: String,
    /// What it demands.
    pub demands: Vec<String>,
    /// The figures that it uses: name, value, and where the value comes from.
    pub figures: Vec<(String, String, String)>,
    /// How severe a broken demand is, and what is then said.
    pub severity: Severity,
    /// What is said.
    pub message: String,
    /// What missing data counts as.
    pub unrecorded: String,
    /// What to do.
    pub remedy: Option<String>,
    /// Why it matters.
    pub because: Option<String>,
    /// The source of its figures.
    pub basis: Option<String>,
    /// Who may grant a concession.
    pub concession: String,
    /// How many trials it has.
    pub trials: usize,
    /// Where it is written.
    pub place: Place,
}

/// A parameter, let, table or standard in plain words.
#[derive(Clone, Debug, PartialEq)]
pub struct DefinitionExplanation {
    /// What it is: `a parameter`.
    pub what: &'static str,
    /// Its name.
    pub name: String,
    /// Its title; empty where it has none.
    pub title: String,
    /// The facts of it, each with a lead.
    pub facts: Vec<(&'static str, String)>,
    /// The rules that use it, or that a standard holds.
    pub rules: Vec<String>,
    /// Where it is written.
    pub place: Place,
}

/// How a rule came to its outcomes on one document.
#[derive(Clone, Debug)]
pub struct Trace {
    /// The document's name.
    pub document: String,
    /// Its own text above those of the rules.
    pub sources: Sources,
    /// Whether the rule's standard applies, and why not.
    pub applies: Result<(), String>,
    /// Each subject with its outcome.
    pub subjects: Vec<Subject>,
}

/// One demand on one subject, or why there is no subject.
#[derive(Clone, Debug, PartialEq)]
pub struct Subject {
    /// The path of the subject; empty for the whole document.
    pub path: String,
    /// Where it stands.
    pub at: Place,
    /// The demand, the condition or the count, as written.
    pub about: String,
    /// What it came to.
    pub outcome: Outcome,
    /// What decided.
    pub facts: Explained,
    /// Every comparison that was made for it.
    pub steps: Vec<ExplainedStep>,
    /// What is to be done, with the least work, for it to be met; nothing where it is, where no work mends what is on record,
    /// or where the rule asks for a number of entries.
    pub least_work: Vec<WorkOn>,
}

/// Work on a value of the record.
#[derive(Clone, Debug, PartialEq)]
pub struct WorkOn {
    /// What is done.
    pub mending: Mending,
    /// The words of what is not as it must be.
    pub facts: Explained,
}

impl Effort for Mending {
    fn effort(&self) -> u64 {
        Mending::effort(*self)
    }
}

impl Session {
    /// The standard that a rule belongs to.
    fn standard_of(&self, rule: &Rule) -> Option<&Standard> {
        let program = self.program();
        let is_its =
            |standard: &&Standard| program.all_rules_of(standard).any(|(_, other)| std::ptr::eq(other, rule));
        program.standards().iter().find(is_its)
    }

    /// A rule in plain words.
    #[must_use]
    pub fn story(&self, rule: &Rule) -> RuleExplanation {
        let standard = self.standard_of(rule);
        RuleExplanation {
            name: rule.name.clone(),
            title: rule.title.clone(),
            standard: standard
                .map_or_else(String::new, |standard| format!("{}: {}", standard.full_name(), standard.title)),
            applies: standard.and_then(|standard| standard.condition.as_ref()).map(|expr| self.words(expr)),
            counts: rule.period.as_ref().map(|period| self.words(period)),
            replaces: rule.replaces.clone(),
            left_out: rule.left_out.clone(),
            changed: rule.changed,
            concerns: self.concerns(rule),
            demands: rule.demands.iter().map(|demand| self.words(demand)).collect(),
            figures: rule.figures.iter().flat_map(|figure| self.figure_of_rule(figure)).collect(),
            severity: rule.severity,
            message: self.template(&rule.message),
            unrecorded: match rule.unrecorded {
                Unrecorded::As(severity) => severity.word().to_owned(),
                Unrecorded::Pass => "let pass".to_owned(),
            },
            remedy: rule.remedy.clone(),
            because: rule.because.clone(),
            basis: rule.basis.clone(),
            concession: match rule.concession.as_deref() {
                None => "the rule does not say".to_owned(),
                Some([]) => "never".to_owned(),
                Some(roles) => format!("by {}", roles.join(" or ")),
            },
            trials: rule.trials.len(),
            place: rule.name_place,
        }
    }

    /// The parameters, lets, tables and standards of a name, which may be full or short.
    #[must_use]
    pub fn named(&self, name: &str) -> Vec<DefinitionExplanation> {
        let program = self.program();
        let is =
            |known: &str| known == name || known.rsplit_once('.').is_some_and(|(_, short)| short == name);
        let mut found = Vec::new();
        for (number, parameter) in program.parameters().iter().filter(|(_, one)| is(&one.name)) {
            let figure = Figure::Parameter(number);
            let declared = self.declared(parameter);
            let differs = declared.differs_by().map(|differs| ("differs by: ", differs));
            let from = declared.from.map(|from| ("goes before it: ", from));
            let one = self.figure_named("a parameter", &parameter.name, figure, parameter.place);
            let kind = std::iter::once(("kind: ", declared.kind));
            let facts = kind.chain(differs).chain(from).chain(one.facts).collect();
            found.push(DefinitionExplanation { title: parameter.title.clone(), facts, ..one });
        }
        for (number, one) in program.lets().iter().filter(|(_, one)| is(&one.name)) {
            found.push(self.figure_named("a let", &one.name, Figure::Let(number), one.place));
        }
        for (number, table) in program.tables().iter().filter(|(_, one)| is(&one.name)) {
            let keys: Vec<String> = table.keys.iter().map(|key| self.words(key)).collect();
            let one = self.figure_named("a table", &table.name, Figure::Table(number), table.place);
            let facts = std::iter::once(("looked up by: ", keys.join(", "))).chain(one.facts).collect();
            found.push(DefinitionExplanation { facts, ..one });
        }
        for standard in program.standards().iter().filter(|one| one.name == name) {
            let mut facts =
                vec![("edition: ", standard.edition.to_string()), ("judges: ", standard.form.clone())];
            facts.extend(standard.from.map(|day| ("holds from: ", day.to_string())));
            facts.extend(
                standard.condition.as_ref().map(|condition| ("applies where: ", self.words(condition))),
            );
            let parameters = self.parameters_of(standard);
            let line = |one: &DeclaredParameter| format!("`{}`, {}", one.name, one.in_words());
            facts.extend(parameters.iter().map(|one| ("parameter: ", line(one))));
            found.push(DefinitionExplanation {
                what: "a standard",
                name: standard.name.clone(),
                title: standard.title.clone(),
                facts,
                rules: program.all_rules_of(standard).map(|(_, rule)| rule.name.clone()).collect(),
                place: standard.place,
            });
        }
        found
    }

    fn figure_named(
        &self,
        what: &'static str,
        name: &str,
        figure: Figure,
        place: Place,
    ) -> DefinitionExplanation {
        let values = self.figure(&figure).into_iter().map(|(known, value, origin)| {
            // The rows of a table are told apart by their keys.
            let row = known.strip_prefix(name).map_or("", str::trim_start);
            let gap = if row.is_empty() { "" } else { ": " };
            ("value: ", format!("{row}{gap}{value} ({origin})"))
        });
        let users = self.program().rules().all().iter().filter(|rule| rule.figures.contains(&figure));
        DefinitionExplanation {
            what,
            name: name.to_owned(),
            title: String::new(),
            facts: values.collect(),
            rules: users.map(|rule| rule.name.clone()).collect(),
            place,
        }
    }

    /// The names that can be asked about.
    pub fn names(&self) -> impl Iterator<Item = &str> {
        let program = self.program();
        let rules = program.rules().all().iter().map(|rule| rule.name.as_str());
        let parameters = program.parameters().all().iter().map(|one| one.name.as_str());
        let lets = program.lets().all().iter().map(|one| one.name.as_str());
        let tables = program.tables().all().iter().map(|one| one.name.as_str());
        let standards = program.standards().iter().map(|one| one.name.as_str());
        rules.chain(parameters).chain(lets).chain(tables).chain(standards)
    }

    fn words(&self, expr: &Expr) -> String {
        one_line(self.sources().text_at(expr.place))
    }

    fn concerns(&self, rule: &Rule) -> String {
        match &rule.concerns {
            Concerns::Document(None) => "the whole document".to_owned(),
            Concerns::Document(Some(condition)) => {
                format!("the whole document where {}", self.words(condition))
            }
            Concerns::Each(each) => {
                let texts = each
                    .iter()
                    .map(|each| one_line(self.sources().text_at(Place { span: each.span, ..rule.place })));
                texts.collect::<Vec<_>>().join(", ")
            }
        }
    }

    fn template(&self, parts: &[Part]) -> String {
        let part = |part: &Part| match part {
            Part::Words(words) => words.clone(),
            Part::Value(expr) => format!("{{{}}}", self.words(expr)),
        };
        parts.iter().map(part).collect()
    }

    /// A figure as a rule uses it: the field, where there is one, that goes before what is stated, and what is.
    fn figure_of_rule(&self, figure: &Figure) -> Vec<(String, String, String)> {
        let mut rows = self.figure(figure);
        if let Figure::Parameter(number) = *figure {
            let parameter = &self.program().parameters()[number];
            if let Some(from) = &parameter.from {
                let value = format!("{} where it is recorded", self.words(from));
                rows.insert(0, (parameter.name.clone(), value, "goes before what is stated".to_owned()));
            }
        }
        rows
    }

    fn figure(&self, figure: &Figure) -> Vec<(String, String, String)> {
        let line = |place: Place| self.sources().line_in_words(place);
        match *figure {
            Figure::Let(number) => {
                let found = &self.program().lets()[number];
                vec![(found.name.clone(), self.words(&found.value), line(found.place))]
            }
            Figure::Parameter(number) => {
                let found = &self.program().parameters()[number];
                if let Stated::ByKey(by_key) = &found.stated {
                    let rows = by_key.rows().into_iter().map(|(keys, stated)| {
                        let keys: Vec<&str> =
                            keys.iter().map(|key| key.as_deref().unwrap_or("every other")).collect();
                        let name = match keys.is_empty() {
                            true => found.name.clone(),
                            false => format!("{} for \"{}\"", found.name, keys.join("\", \"")),
                        };
                        let value = stated.value().map_or_else(|| "unknown".to_owned(), describe);
                        let at = match stated {
                            Stated::Given(_, place) => line(*place),
                            Stated::Faulty(faulty) => line(faulty.place),
                            _ => line(found.place),
                        };
                        (name, value, format!("stated, {at}"))
                    });
                    return rows.collect();
                }
                let origin = match &found.stated {
                    Stated::Nothing => "stated by nobody yet".to_owned(),
                    Stated::Default(_) => format!("the default, {}", line(found.place)),
                    Stated::Given(_, place) => format!("stated, {}", line(*place)),
                    Stated::ByKey(_) => "stated by key".to_owned(),
                    Stated::Faulty(faulty) => {
                        format!("`{}` has an error, {}", faulty.name, line(faulty.place))
                    }
                };
                let value = found.stated.value().map_or_else(|| "unknown".to_owned(), describe);
                vec![(found.name.clone(), value, origin)]
            }
            Figure::Table(number) => {
                let found = &self.program().tables()[number];
                let mut rows: Vec<_> = found
                    .rows
                    .iter()
                    .map(|(keys, value)| {
                        (
                            format!("{} for \"{}\"", found.name, keys.join("\", \"")),
                            describe(value),
                            line(found.place),
                        )
                    })
                    .collect();
                rows.sort();
                rows
            }
        }
    }

    /// How a rule came to its outcomes on each document in a text. What is wrong with the text itself
    /// is left to [`Session::judge`].
    #[must_use]
    pub fn trace(&self, rule: &Rule, name: &str, text: &str) -> Vec<Trace> {
        let mut sources = Sources::over(self.sources());
        let source = sources.add(name, text);
        let text = sources.get(source).map_or("", |source| source.text());
        let (documents, _) = document::read(source, text, self.forms());
        let standard = self.standard_of(rule);
        let mut traces = Vec::new();
        for document in &documents {
            let past = self.past(document, &sources, None);
            let around = self.around(document, &past);
            let sources = &past.sources;
            let mut evaluator = Evaluator::new(self.program(), &around, self.setting(), sources)
                .with_logs(&*self.logs)
                .within_steps(self.most_steps)
                .tracing();
            let applies = match standard {
                Some(standard) if document.form() != Some(&standard.form) => {
                    Err(format!("the standard judges documents of the form `{}`", standard.form))
                }
                Some(standard) => match &standard.condition {
                    Some(condition) => applies(&mut evaluator, condition, self.words(condition)),
                    None => Ok(()),
                },
                None => Ok(()),
            };
            let mut subjects = Vec::new();
            if document.form() == standard.map(|standard| standard.form.as_str()) {
                evaluator.rule(rule, &mut |evaluator, judgement| {
                    let steps = evaluator.take_steps();
                    let least_work = least_work(evaluator, &judgement);
                    let mut explainer = Explainer::of(evaluator);
                    subjects.push(Subject {
                        path: explainer.path(judgement.subject),
                        at: explainer.place(judgement.subject),
                        about: match judgement.about {
                            About::Demand(expr) => self.words(expr),
                            About::Concern(expr) => format!("where {}", self.words(expr)),
                            About::Work(_) => "the whole rule".to_owned(),
                            About::Number { wanted, .. } => format!("{wanted} of them"),
                        },
                        outcome: judgement.outcome,
                        facts: explainer.facts(&judgement),
                        steps: steps.into_iter().map(|step| explainer.step(step)).collect(),
                        least_work,
                    });
                });
            }
            traces.push(Trace { document: name.to_owned(), sources: sources.clone(), applies, subjects });
        }
        traces
    }
}

/// What is to be done for a judgement to be met, with the least work.
fn least_work<'x>(evaluator: &mut Evaluator<'x>, judgement: &Judgement<'x>) -> Vec<WorkOn> {
    let mut weigh =
        |evaluator: &Evaluator<'x>, verdict: &Verdict<'x>, wanted: bool| weighed(evaluator, verdict, wanted);
    let changes = match (judgement.outcome, judgement.about) {
        (Outcome::Broken | Outcome::Undecided, About::Demand(demand)) => {
            evaluator.least_changes(demand, &mut weigh)
        }
        // Whether the rule concerns it is known once what it asks for is recorded.
        (Outcome::Undecided, About::Concern(_)) => {
            let work = weigh(evaluator, &judgement.verdict, true);
            work.map(|work| vec![Change { verdict: judgement.verdict.clone(), work }])
        }
        _ => None,
    };
    let mut explainer = Explainer::of(evaluator);
    let told = |change: Change<'x, Mending>| {
        let facts = explainer.explain(change.verdict.leaf.as_deref()?);
        Some(WorkOn { mending: change.work, facts })
    };
    let mut all: Vec<WorkOn> = changes.into_iter().flatten().filter_map(told).collect();
    let mut seen = HashSet::new();
    all.retain(|work| seen.insert((work.mending, work.facts.path.clone())));
    all
}

/// What mends the value of a comparison.
fn weighed<'x>(evaluator: &Evaluator<'x>, verdict: &Verdict<'x>, wanted: bool) -> Option<Mending> {
    let leaf = verdict.leaf.as_deref()?;
    if !leaf.at.is_none_or(NodeRef::is_own) {
        return None;
    }
    let path = Explainer::of(evaluator).explain(leaf).path;
    let asks_for_record = matches!(leaf.expr.kind, ExprKind::Recorded(_) | ExprKind::Quantified { .. });
    match verdict.truth {
        Truth::Unknown => {
            let is_open = |missing: &Missing<'x>| missing.is_not_recorded();
            leaf.missing.as_deref().is_some_and(is_open).then(|| mending::of_missing(&path))
        }
        // What was done and written down is not left out again.
        Truth::Yes if asks_for_record => None,
        Truth::No if asks_for_record && wanted => Some(mending::of_missing(&path)),
        Truth::Yes | Truth::No => mending::of_recorded(&path),
    }
}

fn applies<'x>(evaluator: &mut Evaluator<'x>, condition: &'x Expr, words: String) -> Result<(), String> {
    let verdict = evaluator.applies(condition);
    evaluator.take_steps();
    match verdict.truth {
        Truth::Yes => Ok(()),
        Truth::No => Err(format!("the standard applies where {words}, which does not hold here")),
        Truth::Unknown => {
            let why =
                Explainer::of(evaluator).why_undecided(&verdict).map_or_else(String::new, |(_, _, why)| why);
            Err(format!("the standard applies where {words}, which is not known, because {why}"))
        }
    }
}

pub(super) fn one_line(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}
