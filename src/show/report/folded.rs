//! What a report for people tells of a document, and in which order: first what cannot be read, then what holds, then
//! what is advised. What waits for a value that has an error or is not recorded is told with that value, once.

use std::cmp::Reverse;
use std::collections::{BTreeMap, BTreeSet, HashMap};

use crate::diagnostic::{Diagnostic, Level};
use crate::finding::{Awaited, Finding, Judged, Outcome, Standing};
use crate::language::ast::Severity;
use crate::report::Style;
use crate::report::text::{count, list};
use crate::source::{Place, SourceId};

/// A thing to tell.
#[derive(Clone, Copy, Debug)]
pub enum Told<'j> {
    /// Something wrong with the document itself, or to be known of it.
    Diagnostic(&'j Diagnostic),
    /// What a rule found.
    Finding(&'j Finding),
}

/// It, with the findings of which it is the cause.
#[derive(Debug)]
pub struct Entry<'j> {
    /// What is told.
    pub told: Told<'j>,
    /// What waits for the same value or figure and is not told by itself, in the order of the document.
    pub waiting: Vec<&'j Finding>,
}

/// How many rules that wait are named before they are only counted.
const MOST_WAITING: usize = 3;

impl Entry<'_> {
    /// What waits, in a few words: ``3 rules wait for `job.state` (2 hold): a, b, c``.
    #[must_use]
    pub fn waiting_in_words(&self) -> Option<String> {
        let names: BTreeSet<(Reverse<Severity>, &str)> =
            self.waiting.iter().map(|finding| (Reverse(finding.severity), finding.rule.as_str())).collect();
        let names = list(names.iter().map(|(_, rule)| *rule), MOST_WAITING);
        Some(format!("{}: {names}", self.waiting_for(&self.awaited()?)?))
    }

    /// The same without the names, where its cause stands on the same line: `3 rules wait for it (2 hold)`.
    #[must_use]
    pub fn waiting_in_short(&self) -> Option<String> {
        self.waiting_for("it")
    }

    fn waiting_for(&self, what: &str) -> Option<String> {
        let rules: BTreeSet<(Severity, &str)> =
            self.waiting.iter().map(|finding| (finding.severity, finding.rule.as_str())).collect();
        let number = count(rules.len() as u64, if self.is_finding() { "more rule" } else { "rule" });
        let waits = if rules.len() == 1 { "waits" } else { "wait" };
        let holds = rules.iter().filter(|(severity, _)| *severity == Severity::Hold).count();
        let weight = match holds {
            0 => String::new(),
            all if all == rules.len() => " (hold)".to_owned(),
            some => format!(" ({some} hold)"),
        };
        (!rules.is_empty()).then(|| format!("{number} {waits} for {what}{weight}"))
    }

    fn is_finding(&self) -> bool {
        matches!(self.told, Told::Finding(_))
    }

    fn awaited(&self) -> Option<String> {
        let awaited = self.waiting.first()?.awaited.as_ref()?;
        Some(format!("`{}`", awaited.what))
    }

    fn place(&self) -> Option<Place> {
        match self.told {
            Told::Diagnostic(diagnostic) => diagnostic.place(),
            Told::Finding(finding) => Some(finding.at),
        }
    }

    /// Whether it fails a run that fails from this severity on.
    #[must_use]
    pub fn fails(&self, fail_on: Severity) -> bool {
        match self.told {
            Told::Diagnostic(diagnostic) => match diagnostic.level {
                Level::Error => true,
                Level::Advice => fail_on <= Severity::Advice,
                Level::Note | Level::Known => false,
            },
            Told::Finding(finding) => finding.standing == Standing::Counts && finding.severity >= fail_on,
        }
    }

    /// Of what is still to do, where in the order of the work it comes.
    fn turn(&self) -> usize {
        match self.told {
            Told::Diagnostic(_) => 0,
            Told::Finding(finding) => finding.turn,
        }
    }

    /// What comes first: errors, then by severity, then what does not count.
    fn rank(&self) -> u8 {
        match self.told {
            Told::Diagnostic(diagnostic) => match diagnostic.level {
                Level::Error => 0,
                Level::Advice => 2,
                Level::Note => 4,
                Level::Known => 8,
            },
            Told::Finding(finding) => match (finding.standing, finding.severity) {
                (Standing::Counts, Severity::Hold) => 1,
                (Standing::Counts, Severity::Advice) => 3,
                (Standing::Counts, Severity::Note) => 5,
                (Standing::StillToDo, _) => 6,
                (Standing::Passed, _) => 7,
                (Standing::Known, _) => 9,
                (Standing::Conceded, _) => 10,
            },
        }
    }
}

/// So many things of a document are shown with their lines and reasons.
const MOST_IN_FULL: usize = 12;

/// The style in which a document is told: of more than a reader looks through, each in a line or two with what to do.
#[must_use]
pub fn style_of(told: &[Entry<'_>], style: &Style) -> Style {
    let details = style.details && (style.in_full || told.len() <= MOST_IN_FULL);
    Style { details, ..*style }
}

/// What is said below a document that is told in short only because there is much to tell.
#[must_use]
pub fn told_in_short(told: &[Entry<'_>], style: &Style) -> Option<String> {
    let is_short = style.details && !style_of(told, style).details;
    is_short.then(|| {
        format!("{} things are told in short; `--in-full` shows each with its lines and reasons", told.len())
    })
}

/// What is told of a document in this style, in a run that fails from this severity on.
#[must_use]
pub fn told<'j>(judged: &'j Judged, style: &Style, fail_on: Severity) -> Vec<Entry<'j>> {
    let mut entries = entries(judged, style.in_full);
    entries.retain(|entry| !style.quiet || entry.fails(fail_on));
    entries
}

/// What is told of a document; `in_full`: each finding by itself.
#[must_use]
pub fn entries(judged: &Judged, in_full: bool) -> Vec<Entry<'_>> {
    let entry = |told| Entry { told, waiting: Vec::new() };
    let mut entries: Vec<Entry<'_>> =
        judged.diagnostics.iter().map(|diagnostic| entry(Told::Diagnostic(diagnostic))).collect();
    let errors = Errors::of(&judged.diagnostics);
    let mut leading = Leading::default();
    let mut findings: Vec<&Finding> = judged.findings.iter().collect();
    findings.sort_by_key(|finding| (Reverse(finding.severity), finding.outcome));
    for finding in findings {
        let awaited = finding.awaited.as_ref().filter(|_| !in_full && is_foldable(finding));
        let cause = awaited
            .and_then(|awaited| errors.cause(awaited).or_else(|| leading.cause(finding.standing, awaited)));
        match cause.and_then(|cause| entries.get_mut(cause)) {
            Some(cause) => cause.waiting.push(finding),
            None => {
                leading.add(finding, awaited, entries.len());
                entries.push(entry(Told::Finding(finding)));
            }
        }
    }
    entries.sort_by_key(|entry| (entry.rank(), entry.turn(), entry.place()));
    entries
}

fn is_foldable(finding: &Finding) -> bool {
    let stands = matches!(finding.standing, Standing::Counts | Standing::StillToDo);
    finding.outcome == Outcome::Undecided && stands
}

/// The gravest finding of each cause, by its number among the entries.
#[derive(Default)]
struct Leading<'j> {
    /// By what is awaited, of those that count and of those that are still to do.
    by_name: HashMap<(Standing, &'j str), usize>,
    /// By where a value ends, with where it begins, what a rule says of that value itself: that what it names is not there, for one.
    by_end: HashMap<(Standing, SourceId, u32), (u32, usize)>,
}

impl<'j> Leading<'j> {
    fn add(&mut self, finding: &'j Finding, awaited: Option<&'j Awaited>, number: usize) {
        let standing = finding.standing;
        if let Some(awaited) = awaited {
            self.by_name.insert((standing, &awaited.what), number);
        }
        if finding.outcome == Outcome::Broken {
            self.by_name.entry((standing, &finding.path)).or_insert(number);
            let Place { source, span } = finding.at;
            self.by_end.entry((standing, source, span.end)).or_insert((span.start, number));
        }
    }

    fn cause(&self, standing: Standing, awaited: &Awaited) -> Option<usize> {
        let named = self.by_name.get(&(standing, awaited.what.as_str()));
        let Place { source, span } = awaited.at;
        let at = || self.by_end.get(&(standing, source, span.end));
        let within = |(start, _): &&(u32, usize)| awaited.field.is_none() && *start >= span.start;
        named.copied().or_else(|| at().filter(within).map(|(_, number)| *number))
    }
}

/// The errors of a document, by where they are.
struct Errors<'j> {
    /// By place and name, the fields that are missing.
    missing: HashMap<(Place, &'j str), usize>,
    /// By their end, where each of the others begins.
    by_end: BTreeMap<(u32, usize), u32>,
    diagnostics: &'j [Diagnostic],
}

impl<'j> Errors<'j> {
    fn of(diagnostics: &'j [Diagnostic]) -> Self {
        let mut errors = Errors { missing: HashMap::new(), by_end: BTreeMap::new(), diagnostics };
        for (number, diagnostic) in diagnostics.iter().enumerate() {
            // One that is accepted is no cause of what is not.
            let Some(place) = diagnostic.place().filter(|_| diagnostic.level == Level::Error) else {
                continue;
            };
            match diagnostic.missing.as_deref() {
                Some(field) => drop(errors.missing.insert((place, field), number)),
                None => drop(errors.by_end.insert((place.span.end, number), place.span.start)),
            }
        }
        errors
    }

    /// The error by which a value is not there.
    fn cause(&self, awaited: &Awaited) -> Option<usize> {
        if let Some(field) = &awaited.field {
            return self.missing.get(&(awaited.at, field.as_str())).copied();
        }
        let Place { source, span } = awaited.at;
        let (&(_, number), &start) = self.by_end.range((span.start, 0)..).next()?;
        let same = self.diagnostics.get(number).and_then(Diagnostic::place)?.source == source;
        (same && start < span.end.max(span.start + 1) && span.start <= start).then_some(number)
    }
}
