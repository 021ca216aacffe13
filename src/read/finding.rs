//! What the rules found in a document, in the words of a report.

mod archived;
mod frequency;

use std::collections::{BTreeMap, BTreeSet};

pub use self::archived::{Archived, MOST_READINGS, Reading};
pub use self::frequency::{Frequencies, Frequency, NAMED, Weight};
use crate::code::KIND_NOT_JUDGED;
use crate::diagnostic::{Diagnostic, Level};
use crate::language::ast::Severity;
use crate::language::ids::RuleId;
use crate::metrology::uncertainty::quoted;
use crate::quantity::{Margin, Number, Quantity};
use crate::signal::Exactness;
use crate::source::{Place, SourceId, Sources};

/// The four outcomes of a demand on a subject.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Outcome {
    /// It holds.
    Met,
    /// It does not hold.
    Broken,
    /// A value that it needs is not recorded, or lies where the decision rule cannot tell.
    Undecided,
    /// The rule does not concern the subject.
    NotConcerned,
}

/// What a finding asks for now.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Standing {
    /// It counts with its severity.
    Counts,
    /// The job is still in work: this is on the list of what is still to do.
    StillToDo,
    /// Missing data that the rule lets pass; said, never counted.
    Passed,
    /// It was known before and is accepted; said, never counted.
    Known,
    /// It stands under a concession; always said, never counted.
    Conceded,
}

/// A concession under which a finding stands.
#[derive(Clone, Debug, PartialEq)]
pub struct Granted {
    /// In which role it was granted.
    pub by: String,
    /// The name of who granted it.
    pub name: Option<String>,
    /// The last day on which it holds.
    pub until: Option<String>,
    /// The only job for which it holds.
    pub for_job: Option<String>,
    /// Why it was granted.
    pub reason: String,
    /// Where it is recorded.
    pub at: Place,
}

impl Granted {
    /// It in a line: `workshop owner (A. Weber) until 2026-12-31: plate corroded`.
    #[must_use]
    pub fn words(&self) -> String {
        let name = self.name.as_ref().map(|name| format!(" ({name})")).unwrap_or_default();
        let until = self.until.as_ref().map(|until| format!(" until {until}")).unwrap_or_default();
        let job = self.for_job.as_ref().map(|job| format!(" for job {job}")).unwrap_or_default();
        format!("{}{name}{until}{job}: {}", self.by, self.reason)
    }
}

/// How probable it is that the true value of an uncertain reading conforms (JCGM 106:2012).
#[derive(Clone, Debug, PartialEq)]
pub struct Conformity {
    /// The probability, from 0 to 1.
    pub probability: f64,
    /// The expanded uncertainty of the reading.
    pub expanded: Quantity,
    /// Its coverage factor.
    pub coverage: String,
    /// Where the uncertainty was taken from.
    pub from: &'static str,
}

impl Conformity {
    /// It in a line: `84.13 % probable, with an uncertainty of 1.8 Nm (k = 2), stated in the tool register`.
    #[must_use]
    pub fn words(&self) -> String {
        let percent = match self.probability * 100.0 {
            high if high > 99.99 => "more than 99.99".to_owned(),
            low if low < 0.01 => "less than 0.01".to_owned(),
            percent => format!("{percent:.2}"),
        };
        let Conformity { coverage, from, .. } = self;
        let expanded = quoted(&self.expanded);
        format!("{percent} % probable, with an uncertainty of {expanded} (k = {coverage}), {from}")
    }
}

/// How far a demand about logs is from the other outcome in time.
#[derive(Clone, Debug, PartialEq)]
pub struct InTime {
    /// In seconds, below zero where the demand is broken.
    pub seconds: Number,
    /// Whether that is the true figure, or what is known of it.
    pub exactness: Exactness,
}

impl InTime {
    /// It in a line: `-11 s`, `at least 4 s`.
    #[must_use]
    pub fn words(&self) -> String {
        let bound = match self.exactness {
            Exactness::Exact => "",
            Exactness::AtLeast => "at least ",
            Exactness::AtMost => "at most ",
        };
        format!("{bound}{} s", self.seconds)
    }
}

/// A place in another document that has a part in a finding: the line of the procedure, the entry of
/// the tool, the value of an earlier job.
#[derive(Clone, Debug, PartialEq)]
pub struct Related {
    /// Where it stands.
    pub at: Place,
    /// What stands there, in a few words: `the procedure: 45 Nm ± 10 %`.
    pub text: String,
}

/// A value that a demand looked at.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct SeenValue {
    /// Its path, by the names of entries where they have some: `seals[A].renewed`.
    pub path: String,
    /// What is there, as it is written, or that it is not recorded.
    pub text: String,
}

impl SeenValue {
    /// What is said of a value that is not there.
    pub const NOT_RECORDED: &str = "not recorded";
}

/// Where a finding is in its document, and what was found there: by this it is known again.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Seen {
    /// The path, by the names of entries where they have some; of a job, behind its number.
    pub at: String,
    /// The value and the others that the demand looked at, or why there is none; empty where there is nothing
    /// to quote.
    pub found: String,
}

impl Seen {
    /// What stands before the number of a job.
    pub const OF_JOB: &str = "job ";

    /// The same without the job in which it was seen, as it was noted before that was said.
    #[must_use]
    pub fn without_job(&self) -> Seen {
        let of_job = self.at.strip_prefix(Seen::OF_JOB).and_then(|rest| rest.split_once(": "));
        let at = of_job.map_or(self.at.as_str(), |(_, at)| at);
        Seen { at: at.to_owned(), found: self.found.clone() }
    }
}

/// What was seen in one document.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct SeenInDocument {
    /// Of each of its findings; none where a finding goes by more than can be looked at.
    pub findings: Vec<Option<Seen>>,
    /// Of each thing that is wrong with the document itself.
    pub diagnostics: Vec<Seen>,
}

/// What an undecided finding waits for. Those that wait for the same have one cause.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Awaited {
    /// The path of the value, or of the first group on the way to it that is not there; or the name of a parameter.
    pub what: String,
    /// Where the value is with its name, or the group that lacks it.
    pub at: Place,
    /// The name that is missing there; none where something is there that cannot be read, or a name without a value.
    pub field: Option<String>,
}

/// A demand that a document breaks, or that cannot be decided on it.
#[derive(Clone, Debug, PartialEq)]
pub struct Finding {
    /// The rule's full name, `standard.rule`.
    pub rule: String,
    /// The rule's title.
    pub title: String,
    /// `Broken` or `Undecided`.
    pub outcome: Outcome,
    /// How severe it is.
    pub severity: Severity,
    /// Whether it counts.
    pub standing: Standing,
    /// What is wrong with this subject, in the words of the rule.
    pub message: String,
    /// The path of the subject in the record, such as `fastenings[2]`; empty for the whole document.
    pub subject: String,
    /// The path of the value that decided, such as `fastenings[2].torque`.
    pub path: String,
    /// Where the value stands in the record, or the nearest place where it should stand.
    pub at: Place,
    /// A few words for that place: `12 Nm`, or `no torque is recorded here`.
    pub at_text: String,
    /// Of what is still to do, where in the order of the procedure it comes; 0 for all else.
    pub turn: usize,
    /// Places in other documents that have a part in it.
    pub related: Vec<Related>,
    /// Where the demand stands in the rule file.
    pub demand: Place,
    /// What was found, as recorded.
    pub found: Option<String>,
    /// What is required.
    pub required: Option<String>,
    /// By how much it is off, in words: `2.1 Nm above the upper limit`.
    pub off_by: Option<String>,
    /// How far it is from the other outcome in time, where it is about logs.
    pub in_time: Option<InTime>,
    /// How probable it is that the true value conforms, where the reading has an uncertainty.
    pub conformity: Option<Conformity>,
    /// What is recorded under nearly the name that was looked for, where nothing has that name.
    pub near: Option<String>,
    /// The lines of a picture of what was found, where a method draws one.
    pub drawing: Vec<String>,
    /// The concession under which it stands.
    pub concession: Option<Granted>,
    /// What is not recorded or not decidable, each in plain words; for undecided demands.
    pub missing: Vec<String>,
    /// What it waits for, where that is one value or figure.
    pub awaited: Option<Awaited>,
    /// The signed distance to the nearest limit, where the demand is numeric and decided.
    pub margin: Option<Margin>,
    /// What to do.
    pub remedy: Option<String>,
    /// Why it matters.
    pub because: Option<String>,
    /// The source of the figure.
    pub basis: Option<String>,
}

/// How often a rule came to each outcome.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Tally {
    /// Demands on subjects that are met.
    pub met: u64,
    /// That are broken.
    pub broken: u64,
    /// That are undecided.
    pub undecided: u64,
    /// Subjects that the rule does not concern.
    pub not_concerned: u64,
    /// Steps that the rule took. What several rules share counts for the one that asked first.
    pub steps: u64,
}

impl Tally {
    /// Whether the rule met a subject at all.
    #[must_use]
    pub fn applied(&self) -> bool {
        self.met + self.broken + self.undecided > 0
    }

    /// Counts one outcome.
    pub fn count(&mut self, outcome: Outcome) {
        match outcome {
            Outcome::Met => self.met += 1,
            Outcome::Broken => self.broken += 1,
            Outcome::Undecided => self.undecided += 1,
            Outcome::NotConcerned => self.not_concerned += 1,
        }
    }

    fn add(&mut self, other: &Tally) {
        self.met += other.met;
        self.broken += other.broken;
        self.undecided += other.undecided;
        self.not_concerned += other.not_concerned;
        self.steps += other.steps;
    }
}

/// A met demand whose value lies close to its limit.
#[derive(Clone, Debug, PartialEq)]
pub struct Near {
    /// The document's name.
    pub document: String,
    /// The line of the value, from 1.
    pub line: usize,
    /// The rule's full name.
    pub rule: String,
    /// The path of the value.
    pub path: String,
    /// What was found.
    pub found: String,
    /// What is required.
    pub required: String,
    /// How far inside; its share of the tolerance orders the list.
    pub margin: Margin,
}

/// One document that was judged.
#[derive(Clone, Debug)]
pub struct Judged {
    /// The name under which it was read, and the number of the YAML document within a file that
    /// holds several.
    pub name: String,
    /// The source it was read from.
    pub source: SourceId,
    /// All sources its places refer to: its own text above those of the rules.
    pub sources: Sources,
    /// The form it follows, without a version; empty where it could not be read.
    pub form: String,
    /// What the document says it is: `job K-2041, stepped automatic "six speed", closed`.
    pub headline: String,
    /// The full names (`name edition N`) of the standards that applied.
    pub standards: Vec<String>,
    /// What is wrong with the document itself, in text order.
    pub diagnostics: Vec<Diagnostic>,
    /// Whether it could be read at all.
    pub readable: bool,
    /// What the rules found, ordered by place in the record, then by rule.
    pub findings: Vec<Finding>,
    /// Findings that count and are not listed, because there are too many of their rule: by severity, and
    /// whether they are undecided.
    pub unlisted: BTreeMap<(Severity, bool), u64>,
    /// The tally of every rule of the standards that applied, by the rule's number in the program.
    pub tallies: Vec<(RuleId, Tally)>,
    /// The nearest margins of met demands, at most [`NEAREST`].
    pub nearest: Vec<Near>,
    /// What was seen of all that was found, where the run has files of known findings.
    pub seen: Option<SeenInDocument>,
    /// How many of its values rules judged, and how many none did.
    pub values: Values,
    /// How many steps the rules did: the same on every machine.
    pub steps: u64,
    /// What of it counts among many, where the session keeps that.
    pub archived: Option<Box<Archived>>,
    /// Whether it is a logbook that the program made of the records, and no document of the run.
    pub is_made: bool,
}

/// Values that some rule should judge.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Values {
    /// Those that a demand looked at.
    pub judged: u64,
    /// Those that none did.
    pub unjudged: u64,
}

impl Values {
    fn add(&mut self, other: Values) {
        self.judged += other.judged;
        self.unjudged += other.unjudged;
    }
}

impl Judged {
    /// Whether no standard is meant for its kind of unit, so that only what holds for every kind was judged.
    #[must_use]
    pub fn is_basics_only(&self) -> bool {
        self.diagnostics.iter().any(|diagnostic| diagnostic.code == KIND_NOT_JUDGED)
    }

    /// How much of this level is said of the document itself.
    #[must_use]
    pub fn at_level(&self, level: Level) -> u64 {
        self.diagnostics.iter().filter(|diagnostic| diagnostic.level == level).count() as u64
    }
}

/// A record in a folder that the run did not see.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Hidden {
    /// Its path.
    pub path: String,
    /// What hides it, in words.
    pub why: &'static str,
}

/// A revision of Git, and what has not changed since.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct SinceRevision {
    /// As the user named it.
    pub name: String,
    /// The commit that it means.
    pub commit: String,
    /// How many documents have not changed since and were not judged.
    pub unchanged: u64,
}

/// How many nearest margins are kept, of those within a tenth of the tolerance.
pub const NEAREST: usize = 3;

/// The sum of a run; adding documents in any order gives the same summary.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Summary {
    /// Documents judged.
    pub documents: u64,
    /// Logbooks that were made of the records and judged.
    pub logbooks: u64,
    /// Documents that could not be read.
    pub unreadable: u64,
    /// The forms that the documents follow.
    pub forms: BTreeSet<String>,
    /// The full names of the standards that applied to a document.
    pub standards: BTreeSet<String>,
    /// Errors in the documents themselves.
    pub document_errors: u64,
    /// Advices on the documents themselves.
    pub document_advices: u64,
    /// Errors in the rules and settings of the run.
    pub rule_errors: u64,
    /// What was passed over: files that carry no form, by their names, and what is no file, with what it is.
    pub passed_over: Vec<String>,
    /// Records that were hidden from the run.
    pub hidden: Vec<Hidden>,
    /// The revision since which records have to have changed to be judged, where the run asks for that.
    pub since: Option<SinceRevision>,
    /// Findings that count, by severity.
    pub findings: BTreeMap<Severity, u64>,
    /// Findings that count and are undecided (they are among `findings` too).
    pub undecided: u64,
    /// Findings on jobs in work.
    pub still_to_do: u64,
    /// Missing data that a rule lets pass.
    pub passed: u64,
    /// Findings and errors in the documents that were known before and are accepted.
    pub known: u64,
    /// Findings that stand under a concession.
    pub conceded: u64,
    /// How many values of the documents rules judged, and how many none did.
    pub values: Values,
    /// Documents of a kind of unit that no standard is meant for.
    pub basics_only: u64,
    /// The tally of every rule of the run, by its full name; without those for forms that no document
    /// of the run follows.
    pub rules: BTreeMap<String, Tally>,
    /// In how many documents each thing was found that counts.
    pub frequencies: Frequencies,
    /// The nearest margins of all documents.
    pub nearest: Vec<Near>,
}

impl Summary {
    /// Adds a document. `name_of` gives the full name of a rule from its number.
    pub fn add<'p>(&mut self, judged: &Judged, name_of: impl Fn(RuleId) -> &'p str) {
        // One that could not be judged is no less than a document that could not be read.
        let is_logbook = judged.is_made && judged.readable;
        self.documents += u64::from(!is_logbook);
        self.logbooks += u64::from(is_logbook);
        self.unreadable += u64::from(!judged.readable);
        if judged.readable && !self.forms.contains(&judged.form) {
            self.forms.insert(judged.form.clone());
        }
        for standard in &judged.standards {
            if !self.standards.contains(standard) {
                self.standards.insert(standard.clone());
            }
        }
        self.document_errors += judged.at_level(Level::Error);
        self.document_advices += judged.at_level(Level::Advice);
        self.known += judged.at_level(Level::Known);
        self.values.add(judged.values);
        self.basics_only += u64::from(judged.is_basics_only());
        for finding in &judged.findings {
            match finding.standing {
                Standing::Counts => {
                    *self.findings.entry(finding.severity).or_default() += 1;
                    self.undecided += u64::from(finding.outcome == Outcome::Undecided);
                }
                Standing::StillToDo => self.still_to_do += 1,
                Standing::Passed => self.passed += 1,
                Standing::Known => self.known += 1,
                Standing::Conceded => self.conceded += 1,
            }
        }
        for ((severity, undecided), number) in &judged.unlisted {
            *self.findings.entry(*severity).or_default() += number;
            self.undecided += if *undecided { *number } else { 0 };
        }
        for (rule, tally) in &judged.tallies {
            let name = name_of(*rule);
            match self.rules.get_mut(name) {
                Some(sum) => sum.add(tally),
                None => drop(self.rules.insert(name.to_owned(), tally.clone())),
            }
        }
        for (found, frequency) in judged.frequencies() {
            self.frequencies.entry(found).or_default().add(frequency);
        }
        self.nearest.extend(judged.nearest.iter().cloned());
        keep_nearest(&mut self.nearest);
    }

    /// Adds what another part of the run came to.
    pub fn merge(&mut self, other: Summary) {
        self.documents += other.documents;
        self.logbooks += other.logbooks;
        self.unreadable += other.unreadable;
        self.forms.extend(other.forms);
        self.standards.extend(other.standards);
        self.document_errors += other.document_errors;
        self.document_advices += other.document_advices;
        self.rule_errors += other.rule_errors;
        self.passed_over.extend(other.passed_over);
        self.hidden.extend(other.hidden);
        self.since = self.since.take().or(other.since);
        for (severity, count) in other.findings {
            *self.findings.entry(severity).or_default() += count;
        }
        self.undecided += other.undecided;
        self.still_to_do += other.still_to_do;
        self.passed += other.passed;
        self.known += other.known;
        self.conceded += other.conceded;
        self.values.add(other.values);
        self.basics_only += other.basics_only;
        for (name, tally) in other.rules {
            self.rules.entry(name).or_default().add(&tally);
        }
        for (found, frequency) in other.frequencies {
            self.frequencies.entry(found).or_default().add(frequency);
        }
        self.nearest.extend(other.nearest);
        keep_nearest(&mut self.nearest);
    }

    /// What fails a run that fails from this severity on, apart from errors: findings, and what is advised
    /// of the documents themselves.
    #[must_use]
    pub fn failing(&self, fail_on: Severity) -> u64 {
        let findings: u64 = self.findings.range(fail_on..).map(|(_, number)| number).sum();
        findings + if fail_on <= Severity::Advice { self.document_advices } else { 0 }
    }

    /// Whether there was nothing to judge, because no record has changed.
    #[must_use]
    pub fn nothing_changed(&self) -> bool {
        self.documents == 0 && self.since.as_ref().is_some_and(|since| since.unchanged > 0)
    }

    /// Findings that count with this severity.
    #[must_use]
    pub fn count(&self, severity: Severity) -> u64 {
        self.findings.get(&severity).copied().unwrap_or_default()
    }

    /// The rules that met a subject.
    pub fn applied(&self) -> impl Iterator<Item = &str> {
        self.rules.iter().filter(|(_, tally)| tally.applied()).map(|(name, _)| name.as_str())
    }

    /// The rules that met no subject but said so of some.
    pub fn not_concerned(&self) -> impl Iterator<Item = &str> {
        let only = |tally: &Tally| !tally.applied() && tally.not_concerned > 0;
        self.rules.iter().filter(move |(_, tally)| only(tally)).map(|(name, _)| name.as_str())
    }

    /// The rules that met no subject in any document.
    pub fn never_applied(&self) -> impl Iterator<Item = &str> {
        self.rules.iter().filter(|(_, tally)| !tally.applied()).map(|(name, _)| name.as_str())
    }
}

/// Keeps the [`NEAREST`] smallest margins, in a fixed order.
pub fn keep_nearest(list: &mut Vec<Near>) {
    list.sort_by(|a, b| {
        (&a.margin.share, &a.document, a.line, &a.rule, &a.path).cmp(&(
            &b.margin.share,
            &b.document,
            b.line,
            &b.rule,
            &b.path,
        ))
    });
    list.truncate(NEAREST);
}
