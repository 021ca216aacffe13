//! A rule and how it judged a record, told for people.

use std::collections::{HashMap, HashSet};

use crate::code::CODES;
use crate::document::Forms;
use crate::document::fields::fields;
use crate::explain::{Explained, ExplainedStep};
use crate::finding::Outcome;
use crate::language::builtins;
use crate::metrology::Line;
use crate::quantity::{KINDS, Unit};
use crate::report::text::{drawn, fill, shown};
use crate::report::{Style, terms};
use crate::session::{DefinitionExplanation, RuleExplanation, Subject, Trace, WorkOn};
use crate::source::{Place, Sources};
use crate::trade::mending::Mending;

/// Explains a code of a message, a word of the reports, a builtin, a unit or a kind of quantity; false if the name is none.
pub fn word(name: &str, style: &Style, out: &mut Vec<u8>) -> bool {
    let mut page = Page { style, out };
    if let Some(row) = CODES.iter().find(|row| row.code.as_str() == name) {
        page.heading(name, row.title);
        page.line("", row.explanation);
    } else if let Some(explanation) = terms::explained(name) {
        page.heading(name, "");
        page.line("", explanation);
    } else if let Some(builtin) = builtins::find(name) {
        page.heading(&builtin.call(), "");
        page.line("", builtin.doc);
        page.line("example: ", builtin.example);
    } else if let Some(row) = KINDS.iter().find(|row| row.words == name) {
        page.heading(name, row.meaning);
        page.line("units: ", &Unit::examples(row.name.into()));
    } else if let Ok(unit) = Unit::find(name) {
        page.unit(unit);
    } else {
        return false;
    }
    true
}

/// Explains a field, such as `fastenings.torque`, of each form that has it; false if none does.
pub fn field(name: &str, forms: &Forms, style: &Style, out: &mut Vec<u8>) -> bool {
    let mut page = Page { style, out };
    let plain = |path: &str| path.replace("[]", "");
    let mut told = false;
    for form in forms.iter() {
        for one in fields(form.record()).into_iter().filter(|one| plain(&one.path) == plain(name)) {
            page.heading(&format!("{} ({})", one.path, form.name()), &one.field.doc);
            page.line("holds: ", &one.holds());
            if !one.field.called.is_empty() {
                page.line("found by: ", &one.field.called.join(", "));
            }
            told = true;
        }
    }
    told
}

/// Tells a rule in plain words.
pub fn story(
    story: &RuleExplanation,
    record: Option<&str>,
    sources: &Sources,
    style: &Style,
    out: &mut Vec<u8>,
) {
    let mut page = Page { style, out };
    page.heading(&story.name, &story.title);
    page.line("standard: ", &story.standard);
    if let Some(applies) = &story.applies {
        page.line("applies where: ", applies);
    }
    if let Some(left_out) = &story.left_out {
        let place = sources.line_in_words(left_out.place);
        page.line("left out: ", &format!("{} ({place})", left_out.reason));
    } else if let Some(place) = story.changed {
        page.line("changed: ", &format!("by the settings, {}", sources.line_in_words(place)));
    }
    if let Some(counts) = &story.counts {
        page.line("counts: ", &format!("for jobs that were opened {counts}"));
    }
    page.line("concerns: ", &story.concerns);
    for demand in &story.demands {
        page.line("demands: ", demand);
    }
    page.figures(&story.figures, record.unwrap_or_default());
    page.line("otherwise: ", &format!("{}, \"{}\"", story.severity.word(), story.message));
    page.line("if unrecorded: ", &story.unrecorded);
    for (name, text) in
        [("remedy: ", &story.remedy), ("because: ", &story.because), ("basis: ", &story.basis)]
    {
        if let Some(text) = text {
            page.line(name, text);
        }
    }
    page.line("concession: ", &story.concession);
    if !story.replaces.is_empty() {
        page.line("replaces: ", &story.replaces.join(", "));
    }
    page.line("trials: ", &story.trials.to_string());
    page.line("written in: ", &sources.line_in_words(story.place));
}

/// Tells what a name stands for that is no rule's.
pub fn named(named: &DefinitionExplanation, sources: &Sources, style: &Style, out: &mut Vec<u8>) {
    let mut page = Page { style, out };
    page.heading(&named.name, &named.title);
    page.line("", named.what);
    for (lead, text) in &named.facts {
        page.line(lead, text);
    }
    let rules = match named.rules.is_empty() {
        true => "none".to_owned(),
        false => named.rules.join(", "),
    };
    // A standard is a file, a figure a line of one.
    if named.what == "a standard" {
        page.line("rules: ", &rules);
        page.line("written in: ", sources.name(named.place.source));
    } else {
        page.line("used by: ", &rules);
        page.line("written in: ", &sources.line_in_words(named.place));
    }
}

/// Tells how a rule came to its outcomes on a document. Subjects that were met, or not concerned, by the same
/// comparisons are told once, with the paths of the others, unless all are wanted in full.
pub fn trace(trace: &Trace, in_full: bool, style: &Style, out: &mut Vec<u8>) {
    let mut page = Page { style, out };
    page.blank();
    page.heading(&trace.document, "");
    if let Err(why) = &trace.applies {
        page.line("not judged by this rule: ", why);
    }
    if trace.subjects.is_empty() {
        page.line("subjects: ", "none");
    }
    let alike = if in_full { HashMap::new() } else { alike(&trace.subjects) };
    for subject in &trace.subjects {
        match alike.get(&course(subject)).map(Vec::as_slice) {
            Some([first, others @ ..]) if others.len() >= ALIKE => {
                if std::ptr::eq(*first, subject) {
                    page.subject(subject, &trace.sources);
                    page.others(others);
                }
            }
            _ => page.subject(subject, &trace.sources),
        }
    }
}

/// Tells what an expression comes to on a document, and how that came to be: whether it holds or, where the value of it
/// has a name, that value.
pub fn answer(trace: &Trace, asked: &str, value: Option<&str>, style: &Style, out: &mut Vec<u8>) {
    let is_value = value.is_some();
    let mut page = Page { style, out };
    page.heading(asked, &trace.document);
    if let Err(why) = &trace.applies {
        page.line("", &format!("the standard that has these names does not judge this record: {why}"));
    }
    if trace.subjects.is_empty() {
        page.line("", "there is no entry of which it could be asked");
    }
    for subject in &trace.subjects {
        let line = trace.sources.start_of(subject.at).map_or(0, |position| position.line);
        let path = if subject.path.is_empty() { "the whole document" } else { &subject.path };
        // What is asked of a value is whether there is one; that is said last, and its words are those of the value.
        let (last, steps) = match subject.steps.split_last() {
            Some((last, steps)) if is_value => (Some(last), steps),
            _ => (None, subject.steps.as_slice()),
        };
        let facts = last.map_or(&subject.facts, |last| &last.facts);
        let value = match (subject.outcome, is_value) {
            (Outcome::Undecided, _) => facts.missing.clone().unwrap_or_else(|| "unknown".to_owned()),
            (_, true) => {
                let found = facts.found.clone().unwrap_or_else(|| "unknown".to_owned());
                // What is computed is said with its name, which nobody gave.
                let named = value.and_then(|name| {
                    found.split_once(&format!(" ({name}")).map(|(found, _)| found.to_owned())
                });
                named.unwrap_or(found)
            }
            (Outcome::Met, false) => "yes".to_owned(),
            (_, false) => "no".to_owned(),
        };
        page.line(&format!("{path}, line {line}: "), &value);
        page.steps(steps, &trace.sources);
        if let Some(last) = last {
            page.working(&last.working);
        }
    }
}

/// How many subjects that came out like one before them are worth a line instead of being told.
const ALIKE: usize = 2;

/// What a subject has in common with those that came out like it: the demand, its outcome, and which
/// comparisons came to what.
type TraceSignature<'t> = (&'t str, Outcome, Vec<(Place, Outcome)>);

fn course(subject: &Subject) -> TraceSignature<'_> {
    let steps = subject.steps.iter().map(|step| (step.demand, step.outcome));
    (&subject.about, subject.outcome, steps.collect())
}

/// The subjects with which nothing is wrong, by their course.
fn alike(subjects: &[Subject]) -> HashMap<TraceSignature<'_>, Vec<&Subject>> {
    let mut alike: HashMap<TraceSignature<'_>, Vec<&Subject>> = HashMap::new();
    let settled = |subject: &&Subject| matches!(subject.outcome, Outcome::Met | Outcome::NotConcerned);
    for subject in subjects.iter().filter(settled) {
        alike.entry(course(subject)).or_default().push(subject);
    }
    alike
}

struct Page<'p> {
    style: &'p Style,
    out: &'p mut Vec<u8>,
}

impl Page<'_> {
    fn blank(&mut self) {
        self.out.push(b'\n');
    }

    fn heading(&mut self, name: &str, title: &str) {
        let text = if title.is_empty() { name.to_owned() } else { format!("{name}: {title}") };
        let text = shown(&text).into_owned();
        if self.style.colour {
            self.out.extend_from_slice(format!("\u{1b}[1m{text}\u{1b}[0m\n").as_bytes());
        } else {
            self.out.extend_from_slice(text.as_bytes());
            self.out.push(b'\n');
        }
    }

    fn line(&mut self, lead: &str, text: &str) {
        self.indented("  ", lead, text);
    }

    fn indented(&mut self, indent: &str, lead: &str, text: &str) {
        let lead = format!("{indent}{lead}");
        let text = fill(&lead, indent.len() + 2, &shown(text), self.style.columns());
        self.out.extend_from_slice(text.as_bytes());
        self.out.push(b'\n');
    }

    fn unit(&mut self, unit: &Unit) {
        self.heading(unit.symbol, &format!("a unit of {}", unit.kind()));
        self.line("written: ", &unit.spellings.join(", "));
        self.line("in SI units: ", &unit.factor.to_string());
        if !unit.offset.is_zero() {
            self.line("its zero in SI units: ", &unit.offset.to_string());
        }
        self.line("UCUM code: ", unit.ucum);
        self.line("source: ", unit.source);
    }

    /// Those that came out like the one that was just told.
    fn others(&mut self, others: &[&Subject]) {
        const NAMED: usize = 3;
        let (named, rest) = others.split_at_checked(NAMED).unwrap_or((others, &[]));
        let mut paths: Vec<String> = named.iter().map(|subject| subject.path.clone()).collect();
        if !rest.is_empty() {
            paths.push(format!("{} more", rest.len()));
        }
        let last = paths.pop().unwrap_or_default();
        let paths = if paths.is_empty() { last } else { format!("{} and {last}", paths.join(", ")) };
        self.line(
            "",
            &format!("{} more with the same result (`--in-full` lists each): {paths}", others.len()),
        );
    }

    /// The figures of a rule. Of one that is stated for many keys, some show what the others are like: first those
    /// whose keys are in the text of the record.
    fn figures(&mut self, figures: &[(String, String, String)], record: &str) {
        const MOST: usize = 4;
        let base = |name: &str| name.split_once(" for \"").map(|(base, _)| base.to_owned());
        let alike = |(a, ..): &(String, String, String), (b, ..): &(String, String, String)| {
            base(a).is_some_and(|base_of_a| base(b).as_ref() == Some(&base_of_a))
        };
        for group in figures.chunk_by(alike) {
            let is_apart = |(name, ..): &&(String, String, String)| {
                name.split('"').skip(1).step_by(2).any(|key| !record.contains(key))
            };
            let mut rows: Vec<_> = group.iter().collect();
            rows.sort_by_key(is_apart);
            for (name, value, origin) in rows.into_iter().take(MOST) {
                self.line("figure: ", &format!("{name} = {value} ({origin})"));
            }
            if let (Some((name, ..)), more @ 1..) = (group.first(), group.len().saturating_sub(MOST)) {
                let name = base(name).unwrap_or_default();
                self.line("figure: ", &format!("{name} for {more} more keys; `why {name}` has all of them"));
            }
        }
    }

    /// The comparisons that were made.
    fn steps(&mut self, all: &[ExplainedStep], sources: &Sources) {
        // A comparison that several names or cases ask for is told once.
        let mut told = HashSet::new();
        for step in all {
            let facts = &step.facts;
            let at = sources.start_of(facts.at).map_or(0, |position| position.line);
            let words = sources.text_at(step.demand).split_whitespace().collect::<Vec<_>>().join(" ");
            let mut text = format!("`{words}` {}", holds(step.outcome));
            match (&facts.missing, &facts.found, &facts.required) {
                (Some(missing), ..) => text.push_str(&format!(": {missing}")),
                (None, Some(found), Some(required)) => {
                    text.push_str(&format!(
                        ": found {found} at `{}`, line {at}; required {required}",
                        facts.path
                    ));
                }
                (None, Some(found), None) => {
                    text.push_str(&format!(": found {found} at `{}`, line {at}", facts.path))
                }
                (None, None, _) => {}
            }
            if let Some(off_by) = &facts.off_by {
                text.push_str(&format!("; off by {off_by}"));
            }
            if let Some(in_time) = &facts.in_time {
                text.push_str(&format!("; time margin {}", in_time.words()));
            }
            if let Some(conformity) = &facts.conformity {
                text.push_str(&format!("; conformity {}", conformity.words()));
            }
            if !told.insert(text.clone()) {
                continue;
            }
            self.indented("    ", "", &text);
            for line in &facts.drawing {
                self.out.extend_from_slice(drawn("      ", line, self.style.unicode).as_bytes());
                self.out.push(b'\n');
            }
            self.working(&step.working);
        }
    }

    /// How published methods computed.
    fn working(&mut self, working: &[Line]) {
        // The same step with the same figures, as of several volumes at one temperature, is told once.
        let mut told = HashSet::new();
        for line in working.iter().filter(|line| told.insert((line.what, line.figures.as_str()))) {
            let text = format!("{}; {} ({})", line.formula, line.figures, line.source);
            self.indented("      ", &format!("{}: ", line.what), &text);
        }
    }

    fn subject(&mut self, subject: &Subject, sources: &Sources) {
        let line = sources.start_of(subject.at).map_or(0, |position| position.line);
        let path = if subject.path.is_empty() { "the whole document" } else { &subject.path };
        let lead = format!("{path}, line {line}: ");
        self.line(&lead, &format!("{} ({})", outcome(subject.outcome), subject.about));
        if let Some(work) = least_work(subject, sources) {
            self.indented("    ", "least work: ", &work);
        }
        self.steps(&subject.steps, sources);
        if subject.steps.is_empty()
            && let (Some(found), Some(required)) = (&subject.facts.found, &subject.facts.required)
        {
            self.indented("    ", "", &format!("found {found}; required {required}"));
        }
    }
}

/// What is to be done for a subject, in words; nothing where nothing is wrong.
fn least_work(subject: &Subject, sources: &Sources) -> Option<String> {
    if subject.least_work.is_empty() {
        let words =
            "no work changes what is recorded here; look whether it is written as it was, and at the remedy";
        return (subject.outcome == Outcome::Broken).then(|| words.to_owned());
    }
    let words = |work: &WorkOn| {
        let Explained { path, at, required, .. } = &work.facts;
        let line = sources.start_of(*at).map_or(0, |position| position.line);
        let wanted = required.as_ref().filter(|_| !matches!(work.mending, Mending::Record | Mending::Do));
        let wanted = wanted.map(|wanted| format!(" ({wanted})")).unwrap_or_default();
        // What was never recorded is not recorded anew.
        let words = match (work.mending, &work.facts.missing) {
            (Mending::Measure, Some(_)) => "measure and record",
            (mending, _) => mending.words(),
        };
        format!("{words} `{path}`, line {line}{wanted}")
    };
    Some(subject.least_work.iter().map(words).collect::<Vec<_>>().join("; "))
}

fn outcome(outcome: Outcome) -> &'static str {
    match outcome {
        Outcome::Met => "met",
        Outcome::Broken => "broken",
        Outcome::Undecided => "undecided",
        Outcome::NotConcerned => "not concerned",
    }
}

fn holds(outcome: Outcome) -> &'static str {
    match outcome {
        Outcome::Met => "holds",
        Outcome::Broken | Outcome::NotConcerned => "does not hold",
        Outcome::Undecided => "is undecided",
    }
}
