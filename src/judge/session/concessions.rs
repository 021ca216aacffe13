//! Concessions: permissions, stated in a record, to release what does not conform to a rule.

use std::sync::Arc;

use jiff::civil::Date;

use super::Session;
use super::history::number_key;
use crate::code::{
    CONCESSION_EXPIRED, CONCESSION_FAULTY, CONCESSION_NOT_ALLOWED, CONCESSION_NOT_TAKEN,
    CONCESSION_OTHER_JOB, CONCESSION_PLACE, CONCESSION_UNKNOWN, CONCESSION_UNUSED, Code,
};
use crate::diagnostic::{Diagnostic, Level, MOST_ALIKE, nearest};
use crate::document::forms::MAX_ERRORS;
use crate::document::path::Step;
use crate::document::{DocPath, Document, Record, Shape};
use crate::finding::{Finding, Granted, Standing};
use crate::language::changes::replaced_by;
use crate::language::ids::RuleId;
use crate::language::typed::Rule;
use crate::letters::{look, words_of};
use crate::source::{Place, Span};
use crate::trade::{Concession, Field, Job};
use crate::value::Value;

impl Session {
    /// Lets the concessions of a record stand for the findings that they are granted for, as far as the
    /// rules allow it, and says what is wrong with the others. One in which `faults` of the text lie grants
    /// nothing: a limit that cannot be read must not count as none.
    pub(super) fn concede(
        &self,
        document: &Document<'_>,
        faults: &[Diagnostic],
        findings: &mut [(RuleId, Finding)],
    ) -> Vec<Diagnostic> {
        let grant = |(number, concession)| {
            let given = Given { concession, is_listed: number < MOST_ALIKE };
            if !self.brought.concessions {
                return Some(given.not_taken());
            }
            let granted = given.is_faultless(faults).and_then(|()| self.concession(&given, findings));
            granted.unwrap_or_else(Some)
        };
        Job::of(document).concessions().enumerate().filter_map(grant).collect()
    }

    /// Grants a concession; answers with what is to be said of it all the same.
    fn concession(
        &self,
        given: &Given<'_>,
        findings: &mut [(RuleId, Finding)],
    ) -> Result<Option<Diagnostic>, Diagnostic> {
        let stated = given.concession.rule().text().unwrap_or_default();
        let names = self.conceded_rules(given)?;
        let allowed: Vec<&str> =
            names.iter().copied().filter(|name| self.allows(given, name, findings).is_ok()).collect();
        if let (Some(first), true) = (names.first(), allowed.is_empty()) {
            self.allows(given, first, findings)?;
        }
        given.granted_by_another()?;
        given.is_for_this_job()?;
        let place = self.place_of(given, &allowed, findings)?;
        given.is_as_found(&place)?;
        given.holds_on(self.day_of(given.concession.document))?;
        let said = |path: &str| path.parse::<DocPath>().ok();
        let mut used = false;
        for (number, finding) in findings.iter_mut() {
            let meant = allowed.contains(&self.program().rules()[*number].name.as_str())
                && (place.is_root()
                    || said(&finding.path).is_some_and(|path| path.is_within(&place))
                    || said(&finding.subject).is_some_and(|subject| subject == place));
            if meant && matches!(finding.standing, Standing::Counts | Standing::Conceded) {
                used = true;
                finding.standing = Standing::Conceded;
                finding.concession.get_or_insert_with(|| given.granted());
            }
        }
        if used {
            let is_renamed = !names.contains(&stated);
            let new = allowed.join("` and `");
            return Ok(is_renamed.then(|| replaced_by(stated, &new, given.at(given.concession.rule()))));
        }
        let name = allowed.join("` or `");
        let message = format!("this concession is not needed: `{name}` has no such finding here");
        let diagnostic = Diagnostic::advice(CONCESSION_UNUSED, given.at(given.concession.rule()), message);
        Err(diagnostic
            .help("take it out, so that nobody takes the job for one that was released in spite of a fault"))
    }

    /// Whether a rule allows a concession. Editions of a standard can differ in who may grant; the one that judged this
    /// record counts.
    fn allows(
        &self,
        given: &Given<'_>,
        name: &str,
        findings: &[(RuleId, Finding)],
    ) -> Result<(), Diagnostic> {
        let rules = self.program().rules();
        let judged = findings.iter().map(|(number, _)| &rules[*number]).find(|rule| rule.name == name);
        match judged.or_else(|| rules.all().iter().find(|rule| rule.name == name)) {
            Some(rule) => given.allowed_by(rule),
            None => Ok(()),
        }
    }

    /// The rules of the name that a concession states, or those that took the place of one.
    fn conceded_rules(&self, given: &Given<'_>) -> Result<Vec<&str>, Diagnostic> {
        let name = given.concession.rule().text().unwrap_or_default();
        let names = self.program().rules().all().iter().map(|rule| rule.name.as_str());
        if let Some(own) = names.clone().find(|known| *known == name) {
            return Ok(vec![own]);
        }
        let new = self.program().successors(name);
        if !new.is_empty() {
            return Ok(new);
        }
        let message = format!("no rule of this run is called `{name}`");
        let short = || {
            let mut rules = self.program().rules().all().iter();
            let found = rules.find(|rule| rule.name.rsplit_once('.').is_some_and(|(_, short)| short == name));
            found.map(|rule| rule.name.as_str())
        };
        let near = || short().or_else(|| nearest(name, names));
        let help = match Some(near).filter(|_| given.is_listed).and_then(|near| near()) {
            Some(near) => format!("did you mean `{near}`?"),
            None => "write the full name of the rule, `standard.rule`, as the finding shows it".to_owned(),
        };
        Err(given.error(CONCESSION_UNKNOWN, given.concession.rule(), message).help(help))
    }

    /// The place for which it is granted, the whole record where none is stated. One that the record does not have
    /// is refused; a field that is not recorded is a place all the same.
    fn place_of(
        &self,
        given: &Given<'_>,
        rules: &[&str],
        findings: &[(RuleId, Finding)],
    ) -> Result<DocPath, Diagnostic> {
        let Some(place) = given.concession.place().text() else { return Ok(DocPath::root()) };
        let record = given
            .concession
            .document
            .form()
            .and_then(|form| self.forms().get(form))
            .map(|form| form.record());
        let is_there = |path: &DocPath| {
            !ends_nowhere(given.concession.document, path)
                && record.is_none_or(|record| is_field(record, path))
        };
        if let Some(path) = place.parse().ok().filter(is_there) {
            return Ok(path);
        }
        let message = format!("this record has no place `{place}`");
        let paths: Vec<&str> = findings
            .iter()
            .filter(|(number, _)| rules.contains(&self.program().rules()[*number].name.as_str()))
            .map(|(_, finding)| finding.path.as_str())
            .collect();
        let near = Some(&paths).filter(|_| given.is_listed);
        let near = near.and_then(|paths| nearest(place, paths.iter().copied()));
        let help = match (near, paths.first()) {
            (Some(near), _) => format!("did you mean `{near}`?"),
            (None, Some(first)) => format!("write it as the finding shows it, such as `{first}`"),
            (None, None) => {
                format!("nothing is found by `{}` here; take the concession out", rules.join("` or `"))
            }
        };
        Err(given.error(CONCESSION_PLACE, given.concession.place(), message).help(help))
    }

    /// The day for which a record is judged: that on which the job was closed, else that of the run.
    fn day_of(&self, document: &Document<'_>) -> Date {
        self.day_written(Job::of(document).closed()).unwrap_or(self.setting().as_of)
    }
}

/// Whether a path goes through an element of a list that is not there.
fn ends_nowhere(document: &Document<'_>, path: &DocPath) -> bool {
    let mut at = Some(document.root());
    path.steps().iter().any(|step| {
        at = at.and_then(|at| match step {
            Step::Key(key) => document.get(at, key),
            Step::In(number) => document.items(at).get(*number).copied(),
        });
        at.is_none() && matches!(step, Step::In(_))
    })
}

/// Whether a path names fields that the form has; what is below a log, nobody looks at closer.
fn is_field(record: &Arc<Record>, path: &DocPath) -> bool {
    let mut at = Shape::Record(Arc::clone(record));
    path.steps().iter().all(|step| {
        let Step::Key(key) = step else { return true };
        while let Shape::List(element) = &at {
            at = Shape::clone(element);
        }
        let below = match &at {
            Shape::Record(record) => record.field(key).map(|(_, field)| field.shape.clone()),
            Shape::Log(..) | Shape::Any => Some(Shape::Any),
            _ => None,
        };
        below.map(|below| at = below).is_some()
    })
}

/// Whether two names can be those of one person: `L. Brandt`, `Brandt, Lene` and `lene brandt` can. Capital letters, points,
/// blanks and the order do not matter, a letter stands for a name that begins with it, and a part for the whole.
fn may_be_one_person(one: &str, other: &str) -> bool {
    let (one, other) = (words_of(&look(one)), words_of(&look(other)));
    if one.concat() == other.concat() {
        return true;
    }
    let (few, mut many) = if one.len() <= other.len() { (one, other) } else { (other, one) };
    if few.is_empty() || many.len() > MOST_NAMES {
        return false;
    }
    let (whole, initials): (Vec<String>, Vec<String>) =
        few.into_iter().partition(|word| word.chars().nth(1).is_some());
    let mut takes = |is_it: &dyn Fn(&str) -> bool| {
        let found = many.iter().position(|word| is_it(word));
        found.map(|found| many.swap_remove(found)).is_some()
    };
    // A name of the longer one can be an initial, too.
    let begins = |word: &str, initial: &str| initial.chars().nth(1).is_none() && word.starts_with(initial);
    let mut exact = 0_usize;
    let all_whole = whole.iter().all(|own| {
        let is_exact = takes(&|word| word == own);
        exact += usize::from(is_exact);
        is_exact || takes(&|word| begins(own, word))
    });
    let all_initials = initials.iter().all(|initial| takes(&|word| begins(word, initial)));
    all_whole && all_initials && (exact > 0 || whole.is_empty())
}

/// How many names a person has at most.
const MOST_NAMES: usize = 8;

/// A concession as it is recorded, and what is wrong with it.
struct Given<'d> {
    concession: Concession<'d>,
    /// Whether it is among the first, of which somebody will read what is wrong and which name is near.
    is_listed: bool,
}

impl<'d> Given<'d> {
    /// Where a field stands; where it is not recorded, the first line of the concession.
    fn at(&self, field: Field<'d>) -> Place {
        let Concession { document, entry } = self.concession;
        match field.recorded() {
            Some(node) => document.place(node),
            None => {
                let whole = document.place(entry);
                let first = document.entries(entry).first().map(|entry| entry.key_span);
                Place { span: first.unwrap_or(Span { end: whole.span.start, ..whole.span }), ..whole }
            }
        }
    }

    fn error(&self, code: Code, field: Field<'d>, message: String) -> Diagnostic {
        Diagnostic { level: Level::Error, ..Diagnostic::advice(code, self.at(field), message) }
    }

    /// Refuses a concession in which something is missing or cannot be read, or perhaps is: of a document
    /// with very many faults not all are listed.
    fn is_faultless(&self, faults: &[Diagnostic]) -> Result<(), Diagnostic> {
        let whole = self.concession.document.place(self.concession.entry);
        let mistakes = || faults.iter().filter(|fault| fault.level == Level::Error);
        let lies_here = |fault: &&Diagnostic| {
            fault.place().is_some_and(|place| {
                place.source == whole.source
                    && (whole.span.start..=whole.span.end).contains(&place.span.start)
            })
        };
        let given = &self.concession;
        let limits = [given.place(), given.found(), given.until(), given.for_job()];
        let blank = limits.into_iter().find(|limit| limit.node().is_some() && limit.recorded().is_none());
        let message = match mistakes().find(lies_here) {
            Some(fault) => format!("this concession counts for nothing: {}", fault.message),
            // A limit that was begun and not filled in must not count as none.
            None if let Some(blank) = blank => {
                format!("this concession counts for nothing: `{}` has no value", blank.name())
            }
            None if mistakes().count() < MAX_ERRORS => return Ok(()),
            None => "this concession counts for nothing, as this document has more errors than are listed"
                .to_owned(),
        };
        Err(Diagnostic::advice(CONCESSION_FAULTY, self.at(self.concession.rule()), message)
            .help("the finding counts until what is wrong is corrected"))
    }

    /// What is said of it where the settings of the run take no concession from a record.
    fn not_taken(&self) -> Diagnostic {
        let message = "this concession does not count: the settings of this run take none from the files that it judges";
        Diagnostic::advice(CONCESSION_NOT_TAKEN, self.at(self.concession.rule()), message)
            .help("if records may grant them, write `files_may_bring: [concessions]` into those settings")
    }

    fn allowed_by(&self, rule: &Rule) -> Result<(), Diagnostic> {
        let name = &rule.name;
        let not_allowed = |field: Field<'d>, message: String| {
            self.error(CONCESSION_NOT_ALLOWED, field, message).and_at(rule.name_place, "the rule")
        };
        let roles = match rule.concession.as_deref() {
            None => {
                let message = format!("`{name}` does not say that anybody may grant a concession");
                return Err(not_allowed(self.concession.rule(), message)
                    .help("the finding counts; correct what it says"));
            }
            Some([]) => {
                let message = format!("nobody may grant a concession for `{name}`");
                return Err(not_allowed(self.concession.rule(), message)
                    .help("the finding counts; correct what it says"));
            }
            Some(roles) => roles,
        };
        let by = self.concession.granted_by().text().unwrap_or_default();
        if roles.iter().any(|role| role == by) {
            return Ok(());
        }
        let message =
            format!("`{by}` may grant no concession for `{name}`, only the {}", roles.join(" or the "));
        let near = nearest(by, roles.iter().map(String::as_str));
        let help = near.map_or_else(
            || "state the role as the rule names it; the person's own name goes into `name`".to_owned(),
            |near| format!("did you mean `{near}`?"),
        );
        Err(not_allowed(self.concession.granted_by(), message).help(help))
    }

    /// A concession is granted by somebody who answers for it, and not by the one who asks for it.
    fn granted_by_another(&self) -> Result<(), Diagnostic> {
        let Some(name) = self.concession.name().text().filter(|name| !name.trim().is_empty()) else {
            let message = "this concession counts for nothing: nobody's name is on it".to_owned();
            let help = "whoever grants it writes `name:` with it; the finding counts until then";
            return Err(self.error(CONCESSION_NOT_ALLOWED, self.concession.name(), message).help(help));
        };
        let technician = Job::of(self.concession.document).technician();
        match technician.text() {
            Some(worker) if may_be_one_person(worker, name) => {
                let (message, help) = match worker == name {
                    true => (
                        format!("`{name}` did the work, and cannot grant a concession for it"),
                        "have another person grant it; the finding counts until then",
                    ),
                    false => (
                        format!(
                            "`{name}` can be `{worker}`, who did the work and cannot grant a concession for it"
                        ),
                        "have another person grant it, or write both names out; the finding counts until then",
                    ),
                };
                let diagnostic =
                    self.error(CONCESSION_NOT_ALLOWED, self.concession.name(), message).help(help);
                Err(diagnostic.and_at(self.at(technician), "the technician"))
            }
            _ => Ok(()),
        }
    }

    /// What was let stand is what was looked at: where something else is recorded by now, nobody has allowed that.
    fn is_as_found(&self, place: &DocPath) -> Result<(), Diagnostic> {
        let Some(found) = self.concession.found().text() else { return Ok(()) };
        let document = self.concession.document;
        let now = document.find(&place.to_string()).and_then(|node| document.in_a_line(node));
        let now = now.filter(|_| !place.is_root()).unwrap_or_default();
        if now == found.trim() {
            return Ok(());
        }
        let there =
            if now.is_empty() { "nothing is recorded".to_owned() } else { format!("`{now}` is recorded") };
        let message = match place.is_root() {
            true => {
                format!("this concession was granted for `{}`, and does not say at which place", found.trim())
            }
            false => format!("this concession was granted for `{}`, and {there} there now", found.trim()),
        };
        let help = "have whoever granted it look again; the finding counts until then";
        Err(self.error(CONCESSION_PLACE, self.concession.found(), message).help(help))
    }

    fn is_for_this_job(&self) -> Result<(), Diagnostic> {
        let number = Job::of(self.concession.document).number().text();
        match self.concession.for_job().text() {
            Some(wanted) if number.is_none_or(|number| number_key(number) != number_key(wanted)) => {
                let message =
                    format!("this concession is granted for the job `{wanted}`, and this is another");
                Err(self
                    .error(CONCESSION_OTHER_JOB, self.concession.for_job(), message)
                    .help("ask for one of its own, or correct what was found"))
            }
            _ => Ok(()),
        }
    }

    fn holds_on(&self, day: Date) -> Result<(), Diagnostic> {
        match self.concession.until().value() {
            Some(Value::Day(until)) if *until < day => {
                let message = format!("this concession held until {until}, and the job is judged for {day}");
                let diagnostic =
                    Diagnostic::advice(CONCESSION_EXPIRED, self.at(self.concession.until()), message);
                Err(diagnostic.help("the finding counts; correct it, or ask for a new concession"))
            }
            _ => Ok(()),
        }
    }

    fn granted(&self) -> Granted {
        let text = |field: Field<'_>| field.text().map(str::to_owned);
        Granted {
            by: text(self.concession.granted_by()).unwrap_or_default(),
            name: text(self.concession.name()),
            until: self.concession.until().raw().map(str::to_owned),
            for_job: text(self.concession.for_job()),
            reason: text(self.concession.reason()).unwrap_or_default(),
            at: self.at(self.concession.rule()),
        }
    }
}
