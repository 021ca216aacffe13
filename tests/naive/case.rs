//! A program with a record, judged by both evaluators.

use std::panic::{AssertUnwindSafe, catch_unwind};

use fastrand::Rng;
use num_bigint::BigInt;
use serde_yaml::Value as Yaml;

use witnessmark::decide::Setting;
use witnessmark::diagnostic::{Diagnostic, Level};
use witnessmark::document::Forms;
use witnessmark::finding::{self, Finding};
use witnessmark::language::ast::{Expr, ExprKind, File, Item};
use witnessmark::language::check::{Given, GivenKey};
use witnessmark::language::ids::RuleId;
use witnessmark::language::parse;
use witnessmark::library::NoLibrary;
use witnessmark::quantity::Number;
use witnessmark::session::{Request, Session};
use witnessmark::source::{Place, Sources, Span};

use super::constants::has_no_answer;
use super::figures::Ratio;
use super::judge::{Judged, Judgement, Outcome, Weight, judge};
use super::mutation::Mutation;
use super::program::{Program, RuleText, Stated, program};
use super::records::{Node, record, smaller, yaml};
use super::value::Truth;

/// A program that the real checker has accepted, with its syntax tree for the naive evaluator.
pub struct Opened {
    pub program: Program,
    text: String,
    file: File,
    session: Session,
}

/// How often the naive evaluator and the real one met with what; so that nobody takes a run in which
/// nothing was ever broken for a test.
#[derive(Clone, Copy, Debug, Default)]
pub struct Met {
    pub pairs: u64,
    pub outcomes: [u64; 4],
    pub margins: u64,
    pub passed: u64,
    pub judged: u64,
    pub unjudged: u64,
}

/// What the checker says of a constant that has no value.
const CONSTANT_FAULTS: [&str; 5] = [
    "quantity/range-inverted",
    "quantity/division-by-zero",
    "quantity/tolerance",
    "quantity/below-zero-point",
    "rules/no-answer",
];

thread_local! {
    static FORMS: Forms = Forms::builtin();
}

impl Opened {
    /// Opens a program; what the parser or the checker has against it is a failure. Nothing when all
    /// that the checker has against it is a constant that has no value by the naive evaluator either.
    pub fn new(program: Program) -> Result<Option<Opened>, String> {
        let text = program.text();
        let mut sources = Sources::new();
        let source = sources.add("probe.standard", text.as_str());
        let settings = sources.add("settings", "");
        let (file, _) = parse(source, &text);
        let place = Place { source: settings, span: Span::default() };
        let givens = program.givens.iter();
        let givens = givens
            .map(|Stated { name, keys, text, .. }| Given {
                name: name.clone(),
                keys: keys.iter().map(|text| GivenKey { text: text.clone(), place }).collect(),
                text: text.clone(),
                list: None,
                place,
                elsewhere: witnessmark::language::check::Elsewhere::Nothing,
            })
            .collect();
        let forms = FORMS.with(Clone::clone);
        let setting = Setting {
            as_of: jiff::civil::date(2026, 3, 2),
            zone: jiff::tz::TimeZone::UTC,
            decision: witnessmark::metrology::conformity::DecisionRule::Simple,
        };
        let request =
            Request { sources, standards: vec![source], earlier: Vec::new(), forms, givens, setting };
        let session = Session::open(request, &NoLibrary);
        let faulty = program.givens.iter().filter(|stated| stated.faulty).count();
        if session.is_faulty() || faulty > 0 {
            let errors = session.diagnostics().iter().filter(|diagnostic| diagnostic.level == Level::Error);
            let (stated, errors): (Vec<&Diagnostic>, Vec<&Diagnostic>) =
                errors.partition(|error| error.place() == Some(place));
            if stated.len() != faulty {
                let wrong = listed(session.diagnostics(), session.sources());
                return Err(format!("{faulty} faulty parameters are stated, and this is said:\n{wrong}"));
            }
            if errors.is_empty() {
                return Ok(Some(Opened { program, text, file, session }));
            }
            let fair = |diagnostic: &Diagnostic| {
                CONSTANT_FAULTS.contains(&diagnostic.code.as_str())
                    && diagnostic
                        .place()
                        .is_some_and(|place| has_no_answer(&file, &text, &program.givens, place.span))
            };
            if errors.into_iter().all(fair) {
                return Ok(None);
            }
            let wrong = listed(session.diagnostics(), session.sources());
            return Err(format!("the checker refused a program that fits:\n{wrong}"));
        }
        Ok(Some(Opened { program, text, file, session }))
    }

    /// What the naive evaluator says of a record.
    pub fn naive(&self, record: &str, mutation: Option<Mutation>) -> Judged {
        let record: Yaml = serde_yaml::from_str(record).expect("a record that the generator wrote");
        judge(&self.file, &self.text, &self.program.givens, &record, mutation)
    }

    /// What the real one says: the tallies by rule, and the findings.
    pub fn real(&self, record: &str) -> Result<finding::Judged, String> {
        let judged = catch_unwind(AssertUnwindSafe(|| self.session.judge("job.yaml", record)));
        let mut judged = judged.map_err(|_| "the real evaluator panicked".to_owned())?;
        match judged.len() {
            1 => Ok(judged.remove(0)),
            other => Err(format!("{other} documents instead of one")),
        }
    }

    /// What the analysis says of the program, of demands and rules that come out in one way only.
    pub fn claims(&self) -> Vec<Diagnostic> {
        let told = ["never-broken", "constant", "never-concerns", "never-met"];
        let is_told = |found: &Diagnostic| {
            found.code.as_str().strip_prefix("analysis/").is_some_and(|code| told.contains(&code))
        };
        self.session.prove().diagnostics.into_iter().filter(is_told).collect()
    }

    /// The rule in which a place is.
    pub fn rule_at(&self, place: Place) -> Option<&RuleText> {
        let holds = |rule: &&witnessmark::language::typed::Rule| {
            rule.place.span.start <= place.span.start && place.span.end <= rule.place.span.end
        };
        let rule = self.session.program().rules().all().iter().find(holds)?;
        self.program.rules.iter().find(|known| rule.name == format!("probe.{}", known.name))
    }

    /// The tallies of the real evaluator, by rule in the order of the program.
    pub fn tallies(&self, judged: &finding::Judged) -> Vec<(String, [u64; 4])> {
        let rules = self.session.program().rules();
        let short = |name: &str| name.rsplit('.').next().unwrap_or_default().to_owned();
        let row = |(number, tally): &(RuleId, finding::Tally)| {
            let counts = [tally.met, tally.broken, tally.undecided, tally.not_concerned];
            (short(&rules[*number].name), counts)
        };
        judged.tallies.iter().map(row).collect()
    }

    /// Judges a record by both and compares all that must agree.
    pub fn compare(&self, node: &Node, whole: bool, met: &mut Met) -> Result<(), String> {
        let text = yaml(node);
        let real = self.real(&text)?;
        if !real.readable {
            return Err(format!("the record cannot be read:\n{}", listed(&real.diagnostics, &real.sources)));
        }
        let naive = self.naive(&text, None);
        // A generated job can be in work and closed; both evaluators judge it as closed.
        let known = |d: &&Diagnostic| match d.code.as_str() {
            "record/cannot-tell" => naive.applies != Truth::Unknown,
            "run/in-work-and-closed" => false,
            _ => true,
        };
        let wrong: Vec<Diagnostic> = real.diagnostics.iter().filter(known).cloned().collect();
        if whole && naive.applies != Truth::Unknown && wrong.iter().any(|d| d.level == Level::Error) {
            return Err(format!("a record of the right form is refused:\n{}", listed(&wrong, &real.sources)));
        }
        met.pairs += 1;
        self.agree(&real, &naive, met)
    }

    /// Whether the two say the same of a record: every tally, every finding, every exact margin.
    pub fn agree(&self, real: &finding::Judged, naive: &Judged, met: &mut Met) -> Result<(), String> {
        self.tallies_agree(real, naive, met)?;
        if naive.applies == Truth::Yes && real.values.judged != naive.values {
            let (judged, values) = (real.values.judged, naive.values);
            return Err(format!("values judged are {judged}, naively {values}"));
        }
        met.judged += real.values.judged;
        met.unjudged += real.values.unjudged;
        self.findings_agree(real, naive, met)
    }

    fn tallies_agree(&self, real: &finding::Judged, naive: &Judged, met: &mut Met) -> Result<(), String> {
        let mut tallies = self.tallies(real);
        if naive.applies != Truth::Yes {
            tallies.retain(|(_, tally)| tally.iter().sum::<u64>() > 0);
            return if tallies.is_empty() {
                Ok(())
            } else {
                Err(format!("the standard applies: {:?}, and yet {tallies:?}", naive.applies))
            };
        }
        for rule in &self.program.rules {
            let expected = naive.tally(&rule.name);
            let found = tallies.iter().find(|(name, _)| *name == rule.name).map(|(_, tally)| *tally);
            if found != Some(expected) {
                return Err(format!(
                    "{}: met, broken, undecided, not concerned are {found:?}, naively {expected:?}",
                    rule.name
                ));
            }
            expected.iter().zip(&mut met.outcomes).for_each(|(number, sum)| *sum += number);
        }
        Ok(())
    }

    fn findings_agree(&self, real: &finding::Judged, naive: &Judged, met: &mut Met) -> Result<(), String> {
        let open = |judgement: &&Judgement| matches!(judgement.outcome, Outcome::Broken | Outcome::Undecided);
        for judgement in naive.judgements.iter().filter(open) {
            let of_rule = |finding: &Finding| finding.rule == format!("probe.{}", judgement.rule);
            let Some(demand) = judgement.demand else { continue };
            // The same element may be a subject more than once, under different outer ones.
            let found: Vec<&Finding> = real
                .findings
                .iter()
                .filter(|f| of_rule(f) && f.subject == judgement.subject && f.demand.span.start == demand)
                .collect();
            let expected = naive.judgements.iter().filter(open).filter(|other| {
                (&other.rule, &other.subject, other.demand)
                    == (&judgement.rule, &judgement.subject, judgement.demand)
            });
            let fits =
                |finding: &&Finding| same_outcome(finding, judgement) && margin_agrees(finding, judgement);
            met.passed += u64::from(judgement.weight.1 == Weight::Passed);
            if found.iter().any(fits) {
                met.margins += u64::from(judgement.exact && judgement.margin.is_some());
                continue;
            }
            // What would be said twice, of one place and in the same words, is said once.
            let said =
                real.findings.iter().any(|finding| of_rule(finding) && same_outcome(finding, judgement));
            if !said || found.len() >= expected.count() {
                let found: Vec<_> = found
                    .iter()
                    .map(|finding| (finding.outcome, &finding.margin, finding.severity, finding.standing))
                    .collect();
                return Err(format!("no finding like {judgement:?} but {found:?}"));
            }
        }
        for finding in &real.findings {
            if let Some(margin) = &finding.margin {
                let broken = margin.distance.magnitude().signum().is_le();
                if finding.outcome != finding::Outcome::Broken || !broken {
                    return Err(format!(
                        "the margin {} of {:?} on {}",
                        margin.distance, finding.outcome, finding.rule
                    ));
                }
            }
        }
        for near in &real.nearest {
            if near.margin.distance.magnitude().signum().is_lt() {
                return Err(format!("a met demand of {} has the margin {}", near.rule, near.margin.distance));
            }
        }
        Ok(())
    }
}

fn same_outcome(finding: &Finding, judgement: &Judgement) -> bool {
    let standing = match judgement.weight.1 {
        Weight::Counts => finding::Standing::Counts,
        Weight::StillToDo => finding::Standing::StillToDo,
        Weight::Passed => finding::Standing::Passed,
    };
    let outcome = match judgement.outcome {
        Outcome::Broken => finding::Outcome::Broken,
        Outcome::Undecided => finding::Outcome::Undecided,
        Outcome::Met | Outcome::NotConcerned => return false,
    };
    (finding.outcome, finding.severity, finding.standing) == (outcome, judgement.weight.0, standing)
}

fn margin_agrees(finding: &Finding, judgement: &Judgement) -> bool {
    match (&finding.margin, &judgement.margin) {
        _ if !judgement.exact => true,
        (None, None) => true,
        (Some(real), Some(naive)) => {
            let share = match (&real.share, &naive.share) {
                (Some(real), Some(naive)) => equal(real, naive),
                (None, None) => true,
                _ => false,
            };
            share && equal(&real.distance.base(), &naive.distance)
        }
        _ => false,
    }
}

/// Whether the two are the same number; numbers past 128 bits count as equal, for want of a way to tell.
pub fn equal(real: &Number, naive: &Ratio) -> bool {
    let narrow = |number: &BigInt| i128::try_from(number.clone()).ok();
    match narrow(naive.numer()).zip(narrow(naive.denom())) {
        Some((numerator, denominator)) => Number::ratio(numerator, denominator).is_some_and(|n| n == *real),
        None => true,
    }
}

fn listed(diagnostics: &[Diagnostic], sources: &Sources) -> String {
    let errors = diagnostics.iter().filter(|diagnostic| diagnostic.level == Level::Error);
    let line = |diagnostic: &Diagnostic| {
        let at = diagnostic.place().map(|place| sources.text_at(place)).unwrap_or_default();
        format!("  {}: {} at `{at}`\n", diagnostic.code.as_str(), diagnostic.message)
    };
    errors.map(line).collect()
}

/// The program of a seed.
pub fn program_of(seed: u64) -> (Program, Rng) {
    let mut rng = Rng::with_seed(seed);
    let program = program(&mut rng);
    (program, rng)
}

/// A case on which the two do not agree, and how.
pub struct Failure {
    seed: u64,
    case: Case,
    what: String,
}

/// Compares the program of a seed on a few records.
pub fn run(seed: u64, records: usize, met: &mut Met) -> Result<(), Box<Failure>> {
    let (program, mut rng) = program_of(seed);
    let limits = program.limits.clone();
    let failure =
        |case: Option<(Node, bool)>, what| Box::new(Failure { seed, case: (program.clone(), case), what });
    let Some(opened) = Opened::new(program.clone()).map_err(|what| failure(None, what))? else {
        return Ok(());
    };
    for _ in 0..records {
        let (node, whole) = record(&mut rng, &limits);
        opened.compare(&node, whole, met).map_err(|what| failure(Some((node, whole)), what))?;
    }
    Ok(())
}

type Case = (Program, Option<(Node, bool)>);

impl Failure {
    /// What it is in short.
    pub fn short(&self) -> String {
        format!("seed {}: {}", self.seed, self.what.trim_end())
    }

    /// Leaves out of the case what can be left out, until nothing can.
    fn smallest(&self) -> Case {
        let (mut program, mut record) = self.case.clone();
        let sort = sort_of(&self.what);
        let fails = |program: &Program, record: &Option<(Node, bool)>| {
            failure_of(program, record).is_some_and(|what| sort_of(&what) == sort)
        };
        'again: loop {
            for fewer in fewer(&program) {
                if fails(&fewer, &record) {
                    program = fewer;
                    continue 'again;
                }
            }
            if let Some((node, whole)) = &record {
                // Required fields may go too where the form is not what is wrong.
                let whole = *whole && !fails(&program, &Some((node.clone(), false)));
                for less in smaller(node) {
                    let less = Some((less, whole));
                    if fails(&program, &less) {
                        record = less;
                        continue 'again;
                    }
                }
            }
            return (program, record);
        }
    }

    /// The same made as small as it goes.
    pub fn long(&self) -> String {
        let (program, record) = self.smallest();
        let what = failure_of(&program, &record).unwrap_or_default();
        let record = record.map_or_else(String::new, |(node, _)| yaml(&node));
        let (rules, givens) = (program.text(), &program.givens);
        format!("{what}\n--- rules ---\n{rules}\ngiven: {givens:?}\n--- record ---\n{record}")
    }
}

fn failure_of(program: &Program, record: &Option<(Node, bool)>) -> Option<String> {
    let opened = match Opened::new(program.clone()) {
        Ok(Some(opened)) => opened,
        Ok(None) => return None,
        // A smaller program that no longer fits is no smaller case of a wrong verdict.
        Err(failure) => return record.is_none().then_some(failure),
    };
    let (node, whole) = record.as_ref()?;
    catch_unwind(AssertUnwindSafe(|| opened.compare(node, *whole, &mut Met::default()))).ok()?.err()
}

/// The sort of a failure, without what tells one case from another.
fn sort_of(what: &str) -> String {
    what.split(['{', '`', '[', '('])
        .next()
        .unwrap_or_default()
        .chars()
        .filter(|c| !c.is_ascii_digit())
        .collect()
}

/// Every program that lacks one piece of this one.
fn fewer(program: &Program) -> Vec<Program> {
    let mut found = Vec::new();
    let mut with = |change: &dyn Fn(&mut Program)| {
        let mut fewer = program.clone();
        change(&mut fewer);
        found.push(fewer);
    };
    for at in 0..program.rules.len() {
        with(&|program| drop(program.rules.remove(at)));
    }
    for at in 0..program.items.len() {
        with(&|program| drop(program.items.remove(at)));
    }
    for at in 0..program.givens.len() {
        with(&|program| drop(program.givens.remove(at)));
    }
    if program.condition.is_some() {
        with(&|program| program.condition = None);
    }
    for (at, rule) in program.rules.iter().enumerate() {
        if rule.concerns.is_some() {
            with(&|program| program.rules[at].concerns = None);
        }
        for number in 0..rule.demands.len() {
            if rule.demands.len() > 1 {
                with(&|program| drop(program.rules[at].demands.remove(number)));
            }
            for part in parts(&rule.demands[number]) {
                with(&|program| program.rules[at].demands[number] = part.clone());
            }
        }
    }
    found
}

/// The parts of a demand that are demands themselves.
fn parts(demand: &str) -> Vec<String> {
    let text = format!("standard probe\njudges job\nrule r \"R\"\n  demands {demand}\n");
    let mut sources = Sources::new();
    let source = sources.add("part", text.as_str());
    let (file, _) = parse(source, &text);
    let demand = file.items.iter().find_map(|item| match item {
        Item::Rule(rule) => rule.demands.first(),
        _ => None,
    });
    let inner: Vec<&Expr> = match demand.map(|demand| &demand.kind) {
        Some(ExprKind::Not(inner)) => vec![&**inner],
        Some(ExprKind::Logic(_, a, b)) => vec![&**a, &**b],
        Some(ExprKind::Quantified { body, .. }) => vec![&**body],
        _ => Vec::new(),
    };
    inner.into_iter().map(|expr| expr.span.of(&text).to_owned()).collect()
}
