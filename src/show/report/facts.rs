//! What a report for people says, apart from how it looks: the facts of a finding, of a document
//! and of a run, and the verdict.

use std::borrow::Cow;
use std::cmp::Reverse;

use crate::diagnostic::{Diagnostic, Level};
use crate::finding::{
    Finding, Frequency, Judged, NAMED, Near, Outcome, SinceRevision, Standing, Summary, Values, Weight,
};
use crate::language::ast::Severity;
use crate::metrology::conformity::DecisionRule;
use crate::quantity::Margin;
use crate::report::text::{count, list, shown};
use crate::report::{JudgedBy, Run, SourceInfo, StandardInfo, Style};

/// A named fact, safe to show.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Fact {
    /// Its name: `found`, `required`.
    pub name: &'static str,
    /// What is said.
    pub text: String,
}

impl Fact {
    /// A fact; its text is made safe here.
    #[must_use]
    pub fn new(name: &'static str, text: &str) -> Self {
        Fact { name, text: shown(text).into_owned() }
    }
}

/// What a run comes to.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Verdict {
    /// There are holds: the vehicle is not released.
    Hold,
    /// Something could not be judged, and nothing that was judged is a hold.
    Incomplete,
    /// No hold, but findings of a severity that the caller asked to fail the run.
    Fails,
    /// No hold so far, but work is still to be done or recorded.
    StillToDo,
    /// Nothing to hold.
    Clear,
}

impl Verdict {
    /// Its name in reports for programs.
    #[must_use]
    pub fn name(self) -> &'static str {
        match self {
            Verdict::Hold => "hold",
            Verdict::Incomplete => "incomplete",
            Verdict::Fails => "fails",
            Verdict::StillToDo => "still_to_do",
            Verdict::Clear => "clear",
        }
    }
}

/// How many registers and procedures are named, each with its content; the JSON report names them all.
const MOST_LINKED: usize = 3;
/// How many names or files are named before they are only counted.
const MOST_NAMES: usize = 8;

/// How many digits of a commit are shown.
const SHOWN_DIGITS: usize = 12;

/// The severities, the gravest first.
pub const SEVERITIES: [Severity; 3] = [Severity::Hold, Severity::Advice, Severity::Note];

/// The severity in a word.
#[must_use]
pub fn severity(severity: Severity) -> &'static str {
    match severity {
        Severity::Hold => "hold",
        Severity::Advice => "advice",
        Severity::Note => "note",
    }
}

/// The level of a diagnostic in a word.
#[must_use]
pub fn level(level: Level) -> &'static str {
    match level {
        Level::Error => "error",
        Level::Known => "known",
        Level::Note => "note",
        Level::Advice => "advice",
    }
}

/// What a finding asks for, in a few words.
#[must_use]
pub fn kind(finding: &Finding) -> &'static str {
    let undecided = finding.outcome == Outcome::Undecided;
    match (finding.standing, finding.severity, undecided) {
        (Standing::StillToDo, ..) => "still to do",
        (Standing::Passed, ..) => "let pass",
        (Standing::Known, ..) => "known",
        (Standing::Conceded, ..) => "under concession",
        (Standing::Counts, Severity::Hold, false) => "hold",
        (Standing::Counts, Severity::Hold, true) => "hold, undecided",
        (Standing::Counts, Severity::Advice, false) => "advice",
        (Standing::Counts, Severity::Advice, true) => "advice, undecided",
        (Standing::Counts, Severity::Note, false) => "note",
        (Standing::Counts, Severity::Note, true) => "note, undecided",
    }
}

/// A finding in a line, with the concession under which it stands.
#[must_use]
pub fn in_a_line(finding: &Finding) -> String {
    let line = format!("{} ({})", shown(&finding.message), shown(&finding.rule));
    match &finding.concession {
        Some(granted) => format!("{line}; granted by the {}", shown(&granted.words())),
        None => line,
    }
}

/// What to do about a finding, where a line is all that is told of it. What is only missing is to be recorded.
#[must_use]
pub fn remedy_in_short(finding: &Finding) -> Option<String> {
    let is_broken = finding.standing == Standing::Counts && finding.outcome == Outcome::Broken;
    finding.remedy.as_ref().filter(|_| is_broken).map(|remedy| shown(remedy).into_owned())
}

/// The facts of a finding, in the order in which a reader asks for them.
#[must_use]
pub fn of_finding(finding: &Finding) -> Vec<Fact> {
    // The message of an undecided finding usually says it already.
    let unsaid = finding.missing.iter().filter(|text| !finding.message.contains(text.as_str()));
    let missing = unsaid.map(|text| Fact::new("missing", text));
    let conformity = finding.conformity.as_ref().map(crate::finding::Conformity::words);
    let in_time = finding.in_time.as_ref().map(crate::finding::InTime::words);
    let optional = [
        ("found", &finding.found),
        ("required", &finding.required),
        ("off by", &finding.off_by),
        ("time margin", &in_time),
        ("conformity", &conformity),
        ("near name", &finding.near),
        ("remedy", &finding.remedy),
        ("because", &finding.because),
        ("basis", &finding.basis),
    ];
    let mut facts: Vec<_> =
        optional.into_iter().filter_map(|(name, text)| Some(Fact::new(name, text.as_deref()?))).collect();
    let after_found = facts.iter().take_while(|fact| fact.name == "found").count();
    facts.splice(after_found..after_found, missing);
    facts
}

/// What one document comes to.
#[must_use]
pub fn of_document(judged: &Judged) -> (Verdict, String) {
    if !judged.readable {
        return (Verdict::Incomplete, "could not be read".to_owned());
    }
    let counts = |severity| {
        let of = |finding: &&Finding| finding.standing == Standing::Counts && finding.severity == severity;
        judged.findings.iter().filter(of).count() as u64
    };
    let standing =
        |standing| judged.findings.iter().filter(|found| found.standing == standing).count() as u64;
    let (holds, still) = (counts(Severity::Hold), standing(Standing::StillToDo));
    let errors = judged.at_level(Level::Error);
    let met: u64 = judged.tallies.iter().map(|(_, tally)| tally.met).sum();
    let applied = judged.tallies.iter().any(|(_, tally)| tally.applied());
    let mut said = Vec::new();
    push_count(&mut said, holds, "hold");
    let undecided = |finding: &&Finding| {
        finding.standing == Standing::Counts
            && finding.severity == Severity::Hold
            && finding.outcome == Outcome::Undecided
    };
    let undecided = judged.findings.iter().filter(undecided).count();
    if let Some(holds) = said.last_mut().filter(|_| undecided > 0) {
        *holds += &format!(" ({undecided} undecided)");
    }
    push_count(&mut said, errors, "error");
    push_count(&mut said, counts(Severity::Advice) + judged.at_level(Level::Advice), "advice");
    push_count(&mut said, counts(Severity::Note) + judged.at_level(Level::Note), "note");
    let known = standing(Standing::Known) + judged.at_level(Level::Known);
    let conceded = standing(Standing::Conceded);
    for (number, words) in [(still, "still to do"), (known, "known"), (conceded, "under concession")] {
        if number > 0 {
            said.push(format!("{number} {words}"));
        }
    }
    let verdict = match () {
        () if holds > 0 => Verdict::Hold,
        () if errors > 0 => Verdict::Incomplete,
        () if !applied => {
            said.insert(0, "no rule applied".to_owned());
            Verdict::Incomplete
        }
        () if still > 0 => Verdict::StillToDo,
        () => {
            let of = if judged.is_basics_only() { " of the basics" } else { "" };
            said.insert(0, format!("nothing to hold{of}"));
            Verdict::Clear
        }
    };
    if applied {
        said.push(format!("{} met", count(met, "demand")));
    }
    (verdict, said.join(", "))
}

fn push_count(said: &mut Vec<String>, number: u64, one: &str) {
    if number > 0 {
        said.push(count(number, one));
    }
}

/// The facts of a run.
#[must_use]
pub fn of_summary(run: &Run, summary: &Summary) -> Vec<Fact> {
    let mut facts = Vec::new();
    let mut documents = format!("{} judged", summary.documents - summary.unreadable.min(summary.documents));
    if summary.unreadable > 0 {
        documents += &format!(", {} could not be read", summary.unreadable);
    }
    facts.push(Fact::new("documents", &documents));
    if summary.logbooks > 0 {
        facts.push(Fact::new("logbooks", &format!("{} made of the jobs, and judged", summary.logbooks)));
    }
    if let Some(SinceRevision { name, commit, unchanged }) = &summary.since {
        let commit = commit.get(..SHOWN_DIGITS).unwrap_or(commit);
        let of = if name.starts_with(commit) { String::new() } else { format!(" (commit {commit})") };
        let said = format!("{unchanged}, which have not changed since `{name}`{of}");
        facts.push(Fact::new("not judged", &said));
    }
    facts.extend(standards(run, summary));
    facts.extend(judged_by(&run.judged_by));
    let of_judging = |rule: &&str| judging(summary, rule.split('.').next().unwrap_or_default());
    let never: Vec<&str> = summary.never_applied().filter(of_judging).collect();
    let not_concerned = summary.not_concerned().filter(of_judging).count();
    let (applied, number) = (summary.applied().count(), never.len());
    facts.push(Fact::new(
        "rules",
        &format!("{applied} applied, {number} never applied ({not_concerned} not concerned)"),
    ));
    for rule in &run.rules {
        if let Some(reason) = &rule.left_out {
            facts.push(Fact::new("left out", &format!("{}: {reason}", rule.name)));
        }
    }
    if run.decision != DecisionRule::Simple {
        facts.push(Fact::new("readings", &format!("decided by {}, from the settings", run.decision)));
    }
    let [holds, advised, notes] = SEVERITIES.map(|severity| summary.count(severity));
    let findings = format!(
        "{}, {}, {} ({} undecided)",
        count(holds, "hold"),
        count(advised, "advice"),
        count(notes, "note"),
        summary.undecided
    );
    facts.push(Fact::new("findings", &findings));
    let told = [
        ("advised of documents", summary.document_advices),
        ("still to do", summary.still_to_do),
        ("let pass", summary.passed),
        ("known and accepted", summary.known),
        ("under concession", summary.conceded),
    ];
    for (name, number) in told {
        if number > 0 {
            facts.push(Fact::new(name, &number.to_string()));
        }
    }
    let Values { judged, unjudged } = summary.values;
    if judged + unjudged > 0 {
        facts.push(Fact::new("values", &format!("{judged} judged by rules, {unjudged} by none")));
    }
    if !summary.passed_over.is_empty() {
        let names = list(summary.passed_over.iter().map(String::as_str), MOST_NAMES);
        facts.push(Fact::new("passed over", &names));
    }
    facts.extend(summary.nearest.iter().map(|near| Fact::new("near a limit", &nearest(near))));
    facts
}

/// By what was judged, besides the standards that came with the program.
fn judged_by(judged_by: &JudgedBy) -> Vec<Fact> {
    let JudgedBy { settings, named, brought, rule_files, others, linked, command_line } = judged_by;
    let told = |source: &SourceInfo| format!("{} (content {})", source.name, source.digest.short());
    let how = match (named, brought.is_empty()) {
        (true, true) => ", named with --settings; the files bring nothing".to_owned(),
        (true, false) => format!(", named with --settings; the files may bring {}", brought.join(", ")),
        (false, _) => String::new(),
    };
    let settings = settings.as_ref().map_or_else(|| "none".to_owned(), |source| told(source) + &how);
    let lists = [
        ("rule files", rule_files.iter().map(told).collect()),
        ("also read", others.iter().map(told).collect()),
        ("from the command line", command_line.clone()),
    ];
    let listed = lists.iter().filter(|(_, names): &&(_, Vec<String>)| !names.is_empty());
    let listed =
        listed.map(|(name, names)| Fact::new(name, &list(names.iter().map(String::as_str), MOST_NAMES)));
    let names = |sources: &[SourceInfo]| {
        let names: Vec<String> = sources.iter().map(told).collect();
        if names.is_empty() { "none".to_owned() } else { list(names.iter().map(String::as_str), MOST_LINKED) }
    };
    let linked = linked
        .iter()
        .flat_map(|linked| [("register", &linked.registers), ("procedures", &linked.procedures)]);
    let linked = linked.map(|(name, sources)| Fact::new(name, &names(sources)));
    std::iter::once(Fact::new("settings", &settings)).chain(listed).chain(linked).collect()
}

/// By what a run judged and what it passed over, in a line, for reports that have no place for more.
#[must_use]
pub fn judged_in_a_line(by: &JudgedBy, passed_over: &[String]) -> String {
    let mut said: Vec<String> =
        judged_by(by).into_iter().map(|fact| format!("{}: {}", fact.name, fact.text)).collect();
    if !passed_over.is_empty() {
        said.push(format!("passed over: {}", list(passed_over.iter().map(String::as_str), MOST_NAMES)));
    }
    said.join("; ")
}

/// Whether a standard of this name applied to a document.
fn judging(summary: &Summary, name: &str) -> bool {
    let named = |full: &String| full.strip_prefix(name).is_some_and(|rest| rest.starts_with(" edition "));
    summary.standards.iter().any(named)
}

/// The standards that judged, and those of the run that had nothing to judge.
fn standards(run: &Run, summary: &Summary) -> Vec<Fact> {
    let (judged, idle): (Vec<_>, Vec<_>) =
        run.standards.iter().partition(|standard| judging(summary, &standard.name));
    let named = |standards: Vec<&StandardInfo>| {
        let names = standards.into_iter().map(|standard| match standard.edition {
            Some(edition) => format!("{} edition {edition}", standard.name),
            None => standard.name.clone(),
        });
        let names: Vec<String> = names.collect();
        if names.is_empty() { "none".to_owned() } else { list(names.iter().map(String::as_str), MOST_NAMES) }
    };
    let mut facts = vec![Fact::new("standards", &named(judged))];
    if !idle.is_empty() {
        facts.push(Fact::new("did not apply", &named(idle)));
    }
    facts
}

fn nearest(near: &Near) -> String {
    let Near { document, line, rule, found, required, margin, .. } = near;
    let inside = margin.distance.to_string();
    let share =
        share_in_percent(margin).map_or_else(String::new, |share| format!(", {share} of the tolerance"));
    format!("{found} for {required} ({inside} inside{share}) in {document} line {line}, {rule}")
}

/// The share in per cent, to one place; enough to see which reading is nearest.
fn share_in_percent(margin: &Margin) -> Option<String> {
    let share = format!("{:.1}", margin.share.as_ref()?.to_f64() * 100.0);
    Some(format!("{} %", share.trim_end_matches(".0")))
}

/// The verdict of a run, with the words for it.
#[must_use]
pub fn verdict(run: &Run, summary: &Summary) -> (Verdict, String) {
    let holds = summary.count(Severity::Hold);
    let gaps = gaps(summary).join(", ");
    let failing = summary.failing(run.fail_on);
    match () {
        () if holds > 0 => {
            let also = if gaps.is_empty() {
                String::new()
            } else {
                format!("; not everything could be judged: {gaps}")
            };
            let jobs = summary.forms.is_empty() || summary.forms.contains("job");
            let then = if jobs { "do not release" } else { "not fit to work by" };
            (Verdict::Hold, format!("{}: {then}{also}", count(holds, "hold")))
        }
        () if !gaps.is_empty() => (Verdict::Incomplete, format!("no verdict: {gaps}")),
        () if failing > 0 => {
            let fail = if failing == 1 { "fails" } else { "fail" };
            (Verdict::Fails, format!("nothing to hold, but {} {fail} this run", count(failing, "finding")))
        }
        () if summary.still_to_do > 0 => {
            let so_far = format!("nothing to hold so far, {} still to do", summary.still_to_do);
            (Verdict::StillToDo, so_far + &unjudged(summary))
        }
        () if summary.known > 0 || summary.conceded > 0 => {
            let parts = [(summary.known, "known before"), (summary.conceded, "under concession")];
            let parts = parts.iter().filter(|(number, _)| *number > 0);
            let parts: Vec<String> = parts.map(|(number, words)| format!("{number} {words}")).collect();
            (Verdict::Clear, format!("nothing new to hold ({}){}", parts.join(", "), unjudged(summary)))
        }
        () if summary.nothing_changed() => {
            let name = summary.since.as_ref().map_or("", |since| &since.name);
            (Verdict::Clear, format!("nothing to judge: no record has changed since `{}`", shown(name)))
        }
        () => (Verdict::Clear, format!("nothing to hold{}", unjudged(summary))),
    }
}

/// The verdict of a run that is to be quiet: nothing where all is well and all was judged.
#[must_use]
pub fn quiet_verdict(run: &Run, summary: &Summary) -> Option<(Verdict, String)> {
    let (verdict, words) = verdict(run, summary);
    let is_well = matches!(verdict, Verdict::Clear | Verdict::StillToDo) && unjudged(summary).is_empty();
    (!is_well).then_some((verdict, words))
}

/// The errors among the diagnostics of a run that is to be quiet; all of them in any other.
#[must_use]
pub fn of_run<'r>(run: &'r Run, style: &Style) -> Cow<'r, [Diagnostic]> {
    match style.quiet {
        true => run.diagnostics.iter().filter(|one| one.level == Level::Error).cloned().collect(),
        false => Cow::Borrowed(&run.diagnostics),
    }
}

/// In how many documents each thing was found, the most frequent first: the numbers, the weight in a word, the name, and
/// some of the documents.
#[must_use]
pub fn statistics(summary: &Summary) -> Vec<Row> {
    let mut rows: Vec<_> = summary.frequencies.iter().collect();
    rows.sort_by_key(|(found, frequency)| (Reverse(frequency.documents), *found));
    let row = |((weight, name), frequency): (&(Weight, String), &Frequency)| {
        let named = list(frequency.named.iter().map(String::as_str), NAMED);
        let more = frequency.documents - (frequency.named.len() as u64).min(frequency.documents);
        Row {
            documents: frequency.documents,
            undecided: frequency.undecided,
            kind: weight_in_a_word(*weight),
            name: shown(name).into_owned(),
            named: if more > 0 { format!("{named} and {more} more") } else { named },
        }
    };
    rows.into_iter().map(row).collect()
}

/// How many rules are named by what they cost.
const COSTLIEST: usize = 10;

/// The rules that took the most of the work, as shares of all steps. Steps are counted and not timed, so that they are the
/// same on every machine.
#[must_use]
pub fn costliest(summary: &Summary) -> Option<String> {
    let all: u64 = summary.rules.values().map(|tally| tally.steps).sum();
    let mut rules: Vec<_> = summary.rules.iter().filter(|(_, tally)| tally.steps > 0).collect();
    rules.sort_by_key(|(name, tally)| (Reverse(tally.steps), *name));
    let share = |steps: u64| u128::from(steps) * 1000 / u128::from(all.max(1));
    let said = rules.iter().take(COSTLIEST).map(|(name, tally)| {
        let share = share(tally.steps);
        format!("{} {}.{} %", shown(name), share / 10, share % 10)
    });
    let said: Vec<String> = said.collect();
    (all > 0).then(|| format!("{all} steps of rules; the most for {}", said.join(", ")))
}

/// A row of the statistics.
pub struct Row {
    /// In how many documents it was found.
    pub documents: u64,
    /// In how many of them it is undecided.
    pub undecided: u64,
    /// How grave it is.
    pub kind: &'static str,
    /// The name of the rule, or the code.
    pub name: String,
    /// Some of the documents.
    pub named: String,
}

impl Row {
    /// `12 documents, 3 of them undecided`.
    #[must_use]
    pub fn numbers(&self) -> String {
        let documents = count(self.documents, "document");
        if self.undecided > 0 { format!("{documents} ({} undecided)", self.undecided) } else { documents }
    }
}

/// How grave something is, in a word.
#[must_use]
pub fn weight_in_a_word(weight: Weight) -> &'static str {
    match weight {
        Weight::Error => "error",
        Weight::Hold => "hold",
        Weight::Advice => "advice",
        Weight::Note => "note",
    }
}

/// What was not judged, though nothing is wrong with it.
fn unjudged(summary: &Summary) -> String {
    let mut said = String::new();
    if summary.basics_only > 0 {
        said += &format!("; of {} only the basics were judged", count(summary.basics_only, "document"));
    }
    if summary.values.unjudged > 0 {
        said += &format!("; {} judged by no rule", count(summary.values.unjudged, "value"));
    }
    said
}

/// Why the verdict does not cover everything.
fn gaps(summary: &Summary) -> Vec<String> {
    let mut gaps = Vec::new();
    if summary.documents == 0 && !summary.nothing_changed() {
        gaps.push("no document was judged".to_owned());
    }
    if summary.unreadable > 0 {
        gaps.push(format!("{} could not be read", count(summary.unreadable, "document")));
    }
    if !summary.hidden.is_empty() {
        let hidden = summary.hidden.len() as u64;
        gaps.push(format!("{} {} hidden", count(hidden, "record"), if hidden == 1 { "is" } else { "are" }));
    }
    for (number, of) in
        [(summary.document_errors, "the documents"), (summary.rule_errors, "rules and settings")]
    {
        if number > 0 {
            gaps.push(format!("{} in {of}", count(number, "error")));
        }
    }
    if gaps.is_empty() && !summary.nothing_changed() && summary.applied().next().is_none() {
        gaps.push("no rule applied".to_owned());
    }
    gaps
}
