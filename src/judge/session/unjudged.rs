//! What of a document no rule judged, and the likely cause: a value that nobody looked at must not pass for one that
//! was found right.

use std::collections::{BTreeMap, BTreeSet, HashMap};
use std::sync::Arc;

use super::Session;
use crate::code::{KIND_NOT_JUDGED, MANY_FINDINGS, NOT_JUDGED, OWN_WORDS};
use crate::diagnostic::{Diagnostic, did_you_mean, near};
use crate::document::everyday::Everyday;
use crate::document::words::OwnWord;
use crate::document::{Document, NodeId, NodeSet, Shape, ToJudge};
use crate::finding::Values;
use crate::language::ids::{Arena, RuleId};
use crate::language::naming::{FieldOf, Said};
use crate::language::typed::{Program, Standard};
use crate::trade::Job;
use crate::trade::form::JOB;
use crate::trade::names::named_path;
use crate::value::Value;

/// How many causes are reported of one document.
const MOST_CAUSES: usize = 50;

/// How many places of one cause are pointed at, and how many names are listed.
const MOST_PLACES: usize = 20;
const MOST_NAMES: usize = 8;

/// Why no rule judged a value.
#[derive(Clone, Debug, PartialEq)]
enum Cause {
    /// No rule in force names such a field.
    NoRule,
    /// Those that do ask for another word in this field of the entry.
    Word { field: String, word: String },
    /// They ask for a word, and none is recorded.
    NoWord { field: String },
    /// They name it, and not of this entry.
    Otherwise,
}

/// The values of one cause.
struct Group<'v> {
    cause: Cause,
    /// What the entries are: `fastening`.
    of: &'v str,
    /// Which of their fields; one that is given no name has one group for each.
    fields: Vec<&'v str>,
    nodes: Vec<NodeId>,
    entries: BTreeSet<NodeId>,
    /// The words that rules ask for.
    words: BTreeSet<&'v str>,
    /// The vocabulary of the field whose word no rule asks for.
    vocabulary: Option<Arc<str>>,
}

impl Session {
    /// How many values rules judged, and what is to be said of those that none did. With `told`, why is said already.
    pub(super) fn unjudged(
        &self,
        document: &Document<'_>,
        applying: &[&Standard],
        looked: &NodeSet,
        told: bool,
    ) -> (Values, Vec<Diagnostic>) {
        let form = document.form().and_then(|form| self.forms.get(form));
        let all = form.map(|form| form.to_judge(document)).unwrap_or_default();
        let left: Vec<&ToJudge> = all.iter().filter(|value| !looked.contains(value.node)).collect();
        let unjudged = left.len() as u64;
        let values = Values { judged: all.len() as u64 - unjudged, unjudged };
        if told || form.is_none_or(|form| !form.judges()) || (left.is_empty() && values.judged > 0) {
            return (values, Vec::new());
        }
        if let Some(kind) = self.kind_without_standard(document, &left) {
            return (values, vec![kind]);
        }
        (values, self.by_cause(document, applying, &left))
    }

    /// Says that a job names a procedure with which no rule compares it: it would look like one that kept to it.
    pub(super) fn procedure_not_followed(
        &self,
        document: &Document<'_>,
        applying: &[&Standard],
    ) -> Option<Diagnostic> {
        let named = Job::of(document).procedure().name.node().filter(|_| document.form() == Some(JOB))?;
        let mut rules = applying.iter().flat_map(|standard| self.program.rules_of(standard));
        if rules.any(|(id, _)| self.said()[id].follows_procedure) {
            return None;
        }
        let message = "no rule in force compares the job with the procedure that it names";
        let help = "add the standard `by_procedure`, or one of the workshop's own that does";
        Some(Diagnostic::advice(NOT_JUDGED, document.place(named), message.to_owned()).help(help))
    }

    pub(super) fn said(&self) -> &Arena<RuleId, Said> {
        self.said.get_or_init(|| self.program.said())
    }

    /// Says that no standard in force names the kind of unit that the job was about.
    fn kind_without_standard(&self, document: &Document<'_>, left: &[&ToJudge]) -> Option<Diagnostic> {
        let job = Job::of(document);
        let kind = job.kind().text().filter(|_| document.form() == Some(JOB))?;
        let (_, unit) = self.forms.get(JOB)?.record().field(job.unit().name())?;
        let Shape::Record(unit) = &unit.shape else { return None };
        let named = FieldOf { group: unit.title.clone(), field: job.kind().name().into() };
        let standards = self.program.standards().iter();
        let of_jobs = standards.filter(|standard| standard.in_force && standard.form == JOB);
        let own = of_jobs.clone().filter_map(|standard| standard.condition.as_ref());
        let own: Vec<Said> = own.map(|condition| self.program.said_in(condition)).collect();
        let of_rules =
            of_jobs.flat_map(|standard| self.program.rules_of(standard)).map(|(id, _)| &self.said()[id]);
        let said: Vec<&Said> = own.iter().chain(of_rules).collect();
        // Standards that never ask for the kind are meant for whatever comes.
        let word = (named, kind.to_owned());
        if said.iter().any(|said| said.words.contains(&word))
            || !said.iter().any(|said| said.compares.contains(&word.0))
        {
            return None;
        }
        let message = match left.len() {
            0 => format!(
                "no standard of this run is meant for the kind `{kind}`: only what holds for every kind was judged"
            ),
            many => format!(
                "no standard of this run is meant for the kind `{kind}`: only what holds for every kind was judged, and {} {} not",
                counted(many, "value"),
                if many == 1 { "was" } else { "were" }
            ),
        };
        let place = document.place(job.kind().node()?);
        let paths: Vec<String> =
            left.iter().take(MOST_NAMES).map(|value| path(document, value.node)).collect();
        let help = "name a standard for it with `--standard` or in the workshop's settings, or check the work by hand";
        Some(Diagnostic::advice(KIND_NOT_JUDGED, place, message).help(match paths.is_empty() {
            true => help.to_owned(),
            false => format!("{help}: {}", listed(&paths, left.len())),
        }))
    }

    /// The vocabulary of the field whose word is the cause.
    fn vocabulary(&self, of: &str, cause: &Cause) -> Option<Arc<str>> {
        let Cause::Word { field, .. } = cause else { return None };
        self.forms.vocabulary(of, field).cloned()
    }

    /// One advice for each cause, in the order of the text.
    fn by_cause(
        &self,
        document: &Document<'_>,
        applying: &[&Standard],
        left: &[&ToJudge],
    ) -> Vec<Diagnostic> {
        let said: Vec<&Said> = applying
            .iter()
            .flat_map(|standard| self.program.rules_of(standard))
            .map(|(id, _)| &self.said()[id])
            .filter(|said| !said.judges.is_empty())
            .collect();
        let mut groups: Vec<Group<'_>> = Vec::new();
        for value in left {
            let (cause, words) = cause_of(document, value, &said);
            let of = value.of.title.as_str();
            let together = cause != Cause::Otherwise;
            let same = |group: &&mut Group<'_>| {
                group.cause == cause && group.of == of && (together || group.fields.contains(&&*value.field))
            };
            match groups.iter_mut().find(same) {
                Some(group) => {
                    if !group.fields.contains(&&*value.field) {
                        group.fields.push(&value.field);
                    }
                    group.nodes.push(value.node);
                    group.entries.insert(value.entry);
                    group.words.extend(words);
                }
                None => groups.push(Group {
                    vocabulary: self.vocabulary(of, &cause),
                    cause,
                    of,
                    fields: vec![&value.field],
                    nodes: vec![value.node],
                    entries: BTreeSet::from([value.entry]),
                    words,
                }),
            }
        }
        let further = groups.len().saturating_sub(MOST_CAUSES);
        groups.truncate(MOST_CAUSES);
        let mut diagnostics: Vec<Diagnostic> = groups.iter().map(|group| group.said(document)).collect();
        if further > 0 {
            let message = format!("values that no rule judged are left out here for {further} more causes");
            diagnostics.push(Diagnostic::advice(MANY_FINDINGS, document.place(document.root()), message));
        }
        diagnostics
    }
}

impl Group<'_> {
    fn said(&self, document: &Document<'_>) -> Diagnostic {
        let fields: Vec<String> = self.fields.iter().map(|field| noun(field)).collect();
        let (fields, of) = (joined(&fields), self.of);
        let first = self.nodes.first().copied().unwrap_or(document.root());
        let what = match &self.cause {
            Cause::NoRule => format!("{fields} of a {of}"),
            Cause::Word { field, word } => {
                format!("{fields} of the {of} with the {} `{word}`", field.replace('_', " "))
            }
            Cause::NoWord { field } => format!("{fields} of a {of} whose `{field}` is not recorded"),
            Cause::Otherwise => format!("`{}` as it is recorded", path(document, first)),
        };
        let many = match self.entries.len() {
            0 | 1 => String::new(),
            many => format!(" ({many} entries)"),
        };
        let message = format!("no rule in force judges {what}{many}");
        let said = Diagnostic::advice(NOT_JUDGED, document.place(first), message).help(self.help());
        let others = self.nodes.iter().skip(1).take(MOST_PLACES);
        others.fold(said, |said, node| said.and_at(document.place(*node), "nor this"))
    }

    /// The word that was probably meant: one that is nearly the same or for which an everyday one is, or the only one that
    /// begins alike.
    fn near(&self, word: &str) -> Option<&str> {
        let words = || self.words.iter().copied();
        let first = |text: &str| text.split_once(' ').map(|(first, _)| first.to_lowercase());
        let begin_alike = || {
            let own = first(word).filter(|first| first.chars().count() > 3)?;
            let mut alike = words().filter(|known| first(known).as_ref() == Some(&own));
            alike.next().filter(|_| alike.next().is_none())
        };
        let vocabulary = self.vocabulary.as_deref().unwrap_or_default();
        let everyday = Everyday::shipped();
        let everyday: BTreeMap<&str, &str> =
            everyday.words_in(vocabulary).filter(|(_, meaning)| self.words.contains(meaning)).collect();
        let nearest =
            near(word, words().chain(everyday.keys().copied())).min_by_key(|(distance, _)| *distance);
        let meaning = nearest.map(|(_, near)| everyday.get(near).copied().unwrap_or(near));
        meaning.or_else(begin_alike)
    }

    fn help(&self) -> String {
        const BY_HAND: &str = "check it by hand, or add a rule for it";
        match &self.cause {
            Cause::NoRule => BY_HAND.to_owned(),
            Cause::Word { word, .. } if let Some(near) = self.near(word) => did_you_mean(word, near),
            Cause::Word { .. } => {
                let words: Vec<String> =
                    self.words.iter().take(MOST_NAMES).map(|word| format!("`{word}`")).collect();
                format!("the rules in force know {}; {BY_HAND}", listed(&words, self.words.len()))
            }
            Cause::NoWord { field } => {
                format!("record its `{field}`, by which the rules tell what it must be")
            }
            Cause::Otherwise => {
                "the rules that name it pass over this one by what else is recorded of it; check it by hand"
                    .to_owned()
            }
        }
    }
}

/// Why no rule judged a value, and the words that the rules ask for. Where the entry has words that the rules know, and yet
/// none judges the value, it is no word that is to blame.
fn cause_of<'s>(document: &Document<'_>, value: &ToJudge, said: &[&'s Said]) -> (Cause, BTreeSet<&'s str>) {
    let field = value.group.fields.get(usize::from(value.index)).map(|field| Arc::clone(&field.name));
    let own = |named: &FieldOf| named.group == value.group.title && Some(&named.field) == field.as_ref();
    let naming: Vec<&&Said> = said.iter().filter(|said| said.judges.iter().any(own)).collect();
    if naming.is_empty() {
        return (Cause::NoRule, BTreeSet::new());
    }
    let words_of = |field: &str| {
        let of_entry = |named: &FieldOf| named.group == value.of.title && *named.field == *field;
        let words = naming.iter().flat_map(|said| &said.words).filter(move |(named, _)| of_entry(named));
        words.map(|(_, word)| word.as_str()).collect::<BTreeSet<_>>()
    };
    let mismatches: Vec<Vec<Mismatch>> =
        naming.iter().map(|said| mismatches(document, value, said)).collect();
    // A rule that asks for no words passes over the value for another reason; a word that no rule knows is the likelier
    // cause all the same.
    let is_of_all = mismatches.iter().all(|found| !found.is_empty());
    let first = |mismatch: &dyn Fn(&Mismatch) -> bool| {
        mismatches.iter().flatten().filter(|found| mismatch(found)).min_by_key(|found| found.number)
    };
    let is_unknown = |found: &Mismatch| {
        found.word.as_ref().is_some_and(|word| !words_of(&found.field).contains(word.as_str()))
    };
    let found = match is_of_all {
        true => first(&|found| found.word.is_some()).or_else(|| first(&|_| true)),
        false => first(&is_unknown),
    };
    let Some(found) = found else { return (Cause::Otherwise, BTreeSet::new()) };
    let field = found.field.clone();
    let cause = match &found.word {
        Some(word) => Cause::Word { field, word: word.clone() },
        None => Cause::NoWord { field },
    };
    (cause, words_of(&found.field))
}

/// A field of an entry that has not the word that a rule asks for.
struct Mismatch {
    number: usize,
    field: String,
    /// What it has.
    word: Option<String>,
}

/// The fields of the entry of a value that have none of the words that a rule asks for.
fn mismatches(document: &Document<'_>, value: &ToJudge, said: &Said) -> Vec<Mismatch> {
    let mut mismatches = Vec::new();
    for (number, field) in value.of.fields.iter().enumerate() {
        let of_entry = |named: &FieldOf| named.group == value.of.title && named.field == field.name;
        let mut words =
            said.words.iter().filter(|(named, _)| of_entry(named)).map(|(_, word)| word.as_str()).peekable();
        // As a rule compares it, with the blanks around it.
        let recorded = match document.get(value.entry, &field.name).and_then(|node| document.value(node)) {
            Some(Value::Text(text)) => Some(&**text),
            _ => None,
        };
        if words.peek().is_some() && !words.any(|word| Some(word) == recorded) {
            mismatches.push(Mismatch {
                number,
                field: field.name.to_string(),
                word: recorded.map(str::to_owned),
            });
        }
    }
    mismatches
}

/// What a field is called in a sentence.
fn noun(field: &str) -> String {
    if field.contains('_') { format!("`{field}`") } else { format!("the {field}") }
}

/// A path with the names of entries.
fn path(document: &Document<'_>, node: NodeId) -> String {
    named_path(document, &document.path(node)).to_string()
}

fn joined(parts: &[String]) -> String {
    match parts {
        [one @ .., last] if !one.is_empty() => format!("{} and {last}", one.join(", ")),
        _ => parts.concat(),
    }
}

/// Some of many names.
fn listed(names: &[String], of: usize) -> String {
    let more = of.saturating_sub(names.len());
    let more = if more == 0 { String::new() } else { format!(" and {more} more") };
    format!("{}{more}", names.join(", "))
}

fn counted(number: usize, one: &str) -> String {
    if number == 1 { format!("1 {one}") } else { format!("{number} {one}s") }
}

/// Says of each of the workshop's own words that a rule asks for it: read as another, it would meet no rule.
pub(super) fn words_of_rules<'a>(
    program: &Program,
    words: &[OwnWord],
    said: impl FnOnce() -> &'a Arena<RuleId, Said>,
) -> Vec<Diagnostic> {
    if words.is_empty() {
        return Vec::new();
    }
    let mut asking: HashMap<&str, RuleId> = HashMap::new();
    for (id, said) in said().iter() {
        for (_, word) in &said.words {
            asking.entry(word).or_insert(id);
        }
    }
    let asked_for = |own: &OwnWord| {
        let id = *asking.get(&*own.word)?;
        let rule = &program.rules()[id];
        let message = format!(
            "`{}` is to stand for `{}`, and the rule `{}` asks for the word itself",
            own.word, own.stands_for, rule.name
        );
        let help = "take the line out, or have the rule ask for the other word";
        Some(Diagnostic::error(OWN_WORDS, own.place, message).and_at(rule.name_place, "this rule").help(help))
    };
    words.iter().filter_map(asked_for).collect()
}
