//! The workshop's settings: which standards, parameters and time zone a run has.

use jiff::tz::TimeZone;

use crate::code::{NAMES_NOTHING, OWN_WORDS, SETTINGS};
use crate::diagnostic::{Diagnostic, Level, nearest, surely};
use crate::document::words::{OwnWord, clashes};
use crate::document::{self, Document, Entry, Forms, NodeId, NodeKind};
use crate::language::ast::Severity;
use crate::language::changes::RuleChange;
use crate::language::check::{Elsewhere, Given, GivenKey};
use crate::language::typed::MOST_KEYS;
use crate::metrology::conformity::{DecisionRule, Guard};
use crate::quantity::{Number, Quantity};
use crate::source::{Place, SourceId, Sources};
use crate::trade::form;
use crate::value::Value;

/// What a workshop has settled for all its runs.
#[derive(Clone, Debug)]
pub struct Settings {
    /// The workshop's name.
    pub workshop: String,
    /// The zone of times that are written without an offset.
    pub zone: TimeZone,
    /// The standards that apply, and where each is named; empty for the shipped ones.
    pub standards: Vec<(String, Place)>,
    /// The values of parameters.
    pub parameters: Vec<Given>,
    /// What the workshop changes about rules.
    pub rules: Vec<RuleChange>,
    /// The workshop's own words for names of the trade.
    pub words: Vec<OwnWord>,
    /// The workshop's own schema for a form (by the form's name), and where it is named.
    pub schemas: Vec<(String, String, Place)>,
    /// Documents that stand around every job.
    pub documents: Documents,
    /// How readings with an uncertainty are decided where a rule does not say.
    pub decision: DecisionRule,
    /// The least severe finding that fails a run.
    pub fail_on: Option<Severity>,
    /// How long after a newer edition of a standard came a job may still name an older one, where that is said.
    pub older_edition_for: Option<Quantity>,
    /// What the files of a run may bring with them, where that is said.
    pub brought: Option<Brought>,
    /// The least share of the rules that trials must exercise, and where that is said.
    pub trials_exercise: Option<(Quantity, Place)>,
}

/// What the files that a run judges may bring with them, though it can make the verdict milder.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Brought {
    /// Concessions that records state.
    pub concessions: bool,
    /// The editions of standards that jobs name.
    pub editions: bool,
    /// Procedures, which prescribe limits.
    pub procedures: bool,
    /// Registers, which vouch for tools.
    pub tools: bool,
}

impl Brought {
    /// All of it.
    pub const ALL: Brought = Brought { concessions: true, editions: true, procedures: true, tools: true };
    /// Nothing of it.
    pub const NOTHING: Brought =
        Brought { concessions: false, editions: false, procedures: false, tools: false };

    /// Whether a document of this form decides about jobs where it is among the files of a run.
    #[must_use]
    pub fn allows(self, form: &str) -> bool {
        match form {
            form::PROCEDURE => self.procedures,
            form::REGISTER => self.tools,
            _ => true,
        }
    }

    /// The words of what may be brought.
    #[must_use]
    pub fn words(self) -> Vec<&'static str> {
        let Brought { concessions, editions, procedures, tools } = self;
        let words = [
            (concessions, "concessions"),
            (editions, "editions"),
            (procedures, "procedures"),
            (tools, "tools"),
        ];
        words.into_iter().filter(|(is_brought, _)| *is_brought).map(|(_, word)| word).collect()
    }
}

impl Settings {
    /// Every path that they name, with its place; among the standards are names of shipped ones, too.
    pub fn paths(&self) -> impl Iterator<Item = (&str, Place)> {
        let Documents { procedures, tools, jobs, standards } = &self.documents;
        let lists = [&self.standards, procedures, tools, jobs, standards];
        let listed = lists.into_iter().flatten().map(|(path, place)| (path.as_str(), *place));
        listed.chain(self.schemas.iter().map(|(_, path, place)| (path.as_str(), *place)))
    }
}

/// Files and folders of documents, each with the place where it is named.
#[derive(Clone, Debug, Default)]
pub struct Documents {
    /// Procedures, in all their editions.
    pub procedures: Vec<(String, Place)>,
    /// Tool registers.
    pub tools: Vec<(String, Place)>,
    /// Earlier jobs.
    pub jobs: Vec<(String, Place)>,
    /// Earlier editions of standards.
    pub standards: Vec<(String, Place)>,
}

/// How many values a file of settings may hold: the figures of some hundred families. They may be a stranger's, and each
/// of them is compared with all that the rules know.
const MOST_VALUES: usize = 20_000;

/// Reads the settings in a source. With any error there are no settings: a run with half of them
/// would judge by a standard that nobody has chosen.
#[must_use]
pub fn read(source: SourceId, sources: &Sources, forms: &Forms) -> (Option<Settings>, Vec<Diagnostic>) {
    let text = sources.get(source).map_or("", |source| source.text());
    let (documents, mut diagnostics) = document::read(source, text, forms);
    let whole = Place { source, span: crate::source::Span::default() };
    let mut settings = None;
    match documents.as_slice() {
        _ if diagnostics.iter().any(|diagnostic| diagnostic.level == Level::Error) => {}
        [document] if document.number_of_nodes() > MOST_VALUES => {
            let message = format!("these settings hold more than {MOST_VALUES} values");
            diagnostics.push(
                Diagnostic::error(SETTINGS, whole, message)
                    .help("name folders instead of files, and state the figures of a unit in its procedure"),
            );
        }
        [document] if document.form() == Some(form::SETTINGS) => {
            settings = typed(document, &mut diagnostics);
        }
        [_] => {
            diagnostics.push(
                Diagnostic::error(SETTINGS, whole, "these are not a workshop's settings")
                    .help("the file of settings begins with `form: workshop/1`"),
            );
        }
        _ => {
            diagnostics.push(Diagnostic::error(SETTINGS, whole, "a file of settings holds one document"));
        }
    }
    let failed = diagnostics.iter().any(|diagnostic| diagnostic.level == Level::Error);
    (settings.filter(|_| !failed), diagnostics)
}

/// Says of each line of the settings that it has no value, or an empty list.
fn names_nothing<'d>(document: &'d Document<'_>) -> impl Iterator<Item = Diagnostic> + 'd {
    const FILES: &str = "take the line out, or name files and folders in it";
    const LINES: [(&str, &str); 10] = [
        ("standards", "every shipped standard judges, as without this line"),
        ("time_zone", "no zone applies, as without this line; write its IANA name, such as `Europe/Vienna`"),
        ("schemas", "take the line out, or name the workshop's own schema of a form below it"),
        ("words", "take the line out, or say below it what the workshop's own words stand for"),
        ("parameters", "take the line out, or state values of parameters below it"),
        ("documents", FILES),
        ("documents.procedures", FILES),
        ("documents.tools", FILES),
        ("documents.jobs", FILES),
        ("documents.standards", FILES),
    ];
    LINES.into_iter().filter_map(|(name, help)| {
        let node = document.find(name)?;
        let message = format!("`{name}` names nothing");
        let place = match &document.node(node).kind {
            NodeKind::List(_) if document.items(node).is_empty() => document.place(node),
            NodeKind::Empty => Place { source: document.source, span: document.key_span(node)? },
            _ => return None,
        };
        Some(Diagnostic::advice(NAMES_NOTHING, place, message).help(help))
    })
}

/// What is left blank here would be decided less strictly than somebody meant to write.
fn without_choice<'d>(document: &'d Document<'_>) -> impl Iterator<Item = Diagnostic> + 'd {
    const CHOICES: [(&str, &str); 5] = [
        (
            "decision",
            "write `simple acceptance`, `guarded acceptance` or `guarded rejection`; without the line, simple acceptance applies",
        ),
        ("fail_on", "write `hold`, `advice` or `note`; without the line, a run fails on holds"),
        ("files_may_bring", "list what they may bring, as in `[concessions]`, or write `[]` for nothing"),
        ("trials_exercise", "write a share, such as `95 %`; without the line, any share is enough"),
        ("older_edition_for", "write a duration, such as `14 d`; without the line, 30 d"),
    ];
    CHOICES.into_iter().filter_map(|(name, help)| {
        let node = document.find(name).filter(|node| document.is_empty(*node))?;
        let place = Place { source: document.source, span: document.key_span(node)? };
        Some(Diagnostic::error(SETTINGS, place, format!("`{name}` has no value")).help(help))
    })
}

/// The entries of a list, as they are written, each with its place; none of what is no list.
fn entries(document: &Document<'_>, node: NodeId) -> Option<Vec<(String, Place)>> {
    let NodeKind::List(_) = &document.node(node).kind else { return None };
    let entry = |item: &NodeId| (document.raw(*item).unwrap_or_default().to_owned(), document.place(*item));
    Some(document.items(node).iter().map(entry).collect())
}

/// The workshop's own words, as they are written.
fn own_words(document: &Document<'_>, diagnostics: &mut Vec<Diagnostic>) -> Vec<OwnWord> {
    let entries = document.get(document.root(), "words").map(|node| document.entries(node));
    let mut words = Vec::new();
    for entry in entries.into_iter().flatten() {
        let (word, place) =
            (entry.key.trim().to_owned(), Place { source: document.source, span: entry.key_span });
        match document.raw(entry.value).map(str::trim) {
            Some(stands_for) => words.push(OwnWord { word, stands_for: stands_for.to_owned(), place }),
            None => diagnostics.push(
                Diagnostic::error(OWN_WORDS, place, format!("`{word}` stands for nothing"))
                    .help("write the word of the rules behind the colon, or take the line out"),
            ),
        }
    }
    words
}

/// The files and folders in a list at this path, each with its place.
fn named(document: &Document<'_>, path: &str) -> Vec<(String, Place)> {
    document.find(path).and_then(|list| entries(document, list)).unwrap_or_default()
}

/// The schemas of the workshop: the form and the path of each.
fn schemas(document: &Document<'_>) -> Vec<(String, String, Place)> {
    let listed = document.find("schemas").map(|node| document.entries(node)).unwrap_or_default();
    let schema = |entry: &Entry<'_>| {
        let path = document.raw(entry.value)?.to_owned();
        Some((entry.key.to_string(), path, document.place(entry.value)))
    };
    listed.iter().filter_map(schema).collect()
}

/// Which of a few words is chosen at a path; nothing where nothing is.
fn choice<T: Copy>(
    document: &Document<'_>,
    path: &str,
    known: &[(&str, T)],
) -> Result<Option<T>, Diagnostic> {
    document.find(path).map(|node| one_of(document, node, known)).transpose()
}

/// The zone of times that are written without an offset.
fn zone(document: &Document<'_>) -> Result<TimeZone, Diagnostic> {
    let Some(node) = document.find("time_zone") else { return Ok(TimeZone::unknown()) };
    let Some(name) = document.raw(node) else { return Ok(TimeZone::unknown()) };
    TimeZone::get(name).map_err(|_| {
        let message = format!("there is no time zone `{name}`");
        Diagnostic::error(SETTINGS, document.place(node), message)
            .help("write its IANA name, such as `Europe/Vienna`")
    })
}

/// How readings with an uncertainty are decided.
fn decision(document: &Document<'_>) -> Result<DecisionRule, Diagnostic> {
    // The guard band is the expanded uncertainty; a rule that wants another one says so.
    let guard = Guard::Multiple(Number::ONE);
    let (simple, accepting) = (DecisionRule::Simple, DecisionRule::GuardedAcceptance(guard.clone()));
    let known = [
        ("simple acceptance", &simple),
        ("guarded acceptance", &accepting),
        ("guarded rejection", &DecisionRule::GuardedRejection(guard)),
    ];
    Ok(choice(document, "decision", &known)?.unwrap_or(&simple).clone())
}

/// What the files of a run may bring with them, where that is said.
fn brought(document: &Document<'_>) -> Option<Brought> {
    let words = document.find("files_may_bring").and_then(|list| entries(document, list))?;
    let has = |word: &str| words.iter().any(|(written, _)| written.trim() == word);
    Some(Brought {
        concessions: has("concessions"),
        editions: has("editions"),
        procedures: has("procedures"),
        tools: has("tools"),
    })
}

fn typed(document: &Document<'_>, diagnostics: &mut Vec<Diagnostic>) -> Option<Settings> {
    let undecided: Vec<Diagnostic> = without_choice(document).collect();
    if !undecided.is_empty() {
        diagnostics.extend(undecided);
        return None;
    }
    match settled(document, diagnostics) {
        Ok(settings) => Some(settings),
        Err(diagnostic) => {
            diagnostics.push(diagnostic);
            None
        }
    }
}

fn settled(document: &Document<'_>, diagnostics: &mut Vec<Diagnostic>) -> Result<Settings, Diagnostic> {
    diagnostics.extend(names_nothing(document));
    let (zone, decision) = (zone(document)?, decision(document)?);
    let fail_on = choice(document, "fail_on", &SEVERITIES)?;
    // The text of a parameter is taken as it is written: `1.50` must not become `1.5` on the way. One that
    // is left blank is stated without a value, which is an error and not the default.
    let parameters = document.get(document.root(), PARAMETERS).map(|node| document.entries(node));
    let mut givens = Vec::new();
    for entry in parameters.into_iter().flatten() {
        stated(document, &entry.key, entry.value, &mut Vec::new(), &mut givens, diagnostics);
    }
    let rules = document.get(document.root(), RULES).map(|node| document.entries(node)).into_iter().flatten();
    let rules =
        rules.map(|entry| rule_change(document, entry)).collect::<Result<Vec<RuleChange>, Diagnostic>>()?;
    let words = own_words(document, diagnostics);
    diagnostics.extend(clashes(&words));
    let documents = Documents {
        procedures: named(document, "documents.procedures"),
        tools: named(document, "documents.tools"),
        jobs: named(document, "documents.jobs"),
        standards: named(document, "documents.standards"),
    };
    let workshop = document.find("workshop.name").and_then(|name| document.raw(name)).unwrap_or_default();
    Ok(Settings {
        older_edition_for: quantity(document, "older_edition_for").map(|(duration, _)| duration),
        trials_exercise: quantity(document, "trials_exercise"),
        brought: brought(document),
        decision,
        documents,
        workshop: workshop.to_owned(),
        zone,
        standards: named(document, "standards"),
        parameters: givens,
        rules,
        words,
        schemas: schemas(document),
        fail_on,
    })
}

/// A duration that the settings state.
fn quantity(document: &Document<'_>, field: &str) -> Option<(Quantity, Place)> {
    let node = document.find(field)?;
    match document.value(node) {
        Some(Value::Quantity(quantity)) => Some((quantity.clone(), document.place(node))),
        _ => None,
    }
}

/// The part of the settings that changes rules.
pub const RULES: &str = "rules";

/// The part that states values of parameters.
pub const PARAMETERS: &str = "parameters";

/// In place of roles: nobody may grant a concession.
const NEVER: &str = "never";

/// What the settings say of one rule.
fn rule_change(document: &Document<'_>, entry: &Entry<'_>) -> Result<RuleChange, Diagnostic> {
    let name = entry.key.to_string();
    let place = Place { source: document.source, span: entry.key_span };
    let field = |field: &str| document.get(entry.value, field);
    let error = |node: Option<NodeId>, message: String| {
        Diagnostic::error(SETTINGS, node.map_or(place, |node| document.place(node)), message)
    };
    let text = |node: NodeId| document.raw(node).map(str::trim).filter(|text| !text.is_empty());
    let severity = match field("severity") {
        Some(node) => Some((one_of(document, node, &SEVERITIES)?, document.place(node))),
        None => None,
    };
    let concession = match field("concession") {
        Some(node) => {
            let roles = document.items(node).iter().filter_map(|role| text(*role)).map(str::to_owned);
            let roles: Vec<String> = roles.collect();
            if roles.is_empty() || roles.len() > 1 && roles.iter().any(|role| role == NEVER) {
                let message = format!("`concession` of `{name}` names nobody who may grant one");
                return Err(error(Some(node), message)
                    .help("list the roles, as in `[foreman, owner]`, or write `[never]`"));
            }
            Some(if roles == [NEVER] { Vec::new() } else { roles })
        }
        None => None,
    };
    let reason =
        field("reason").and_then(text).filter(|reason| !document::says_nothing(reason)).map(str::to_owned);
    let is_left_out = match field("left_out") {
        Some(node) => one_of(document, node, &[("yes", true), ("no", false)])?,
        None => false,
    };
    if is_left_out && reason.is_none() {
        let message = format!("`{name}` is left out, and no reason is given");
        return Err(error(field("left_out"), message).help(
            "add `reason: …`: every report repeats it, so that nobody takes the rule for one that was met",
        ));
    }
    if is_left_out && (severity.is_some() || concession.is_some()) {
        let message = format!("`{name}` is left out, and has neither a severity nor a concession then");
        return Err(error(field("left_out"), message).help("keep one of the two"));
    }
    if !is_left_out && severity.is_none() && concession.is_none() {
        let message = format!("nothing is changed about `{name}`");
        return Err(error(None, message).help(
            "write `severity`, `concession`, or `left_out: yes` with a `reason`; or take the line out",
        ));
    }
    Ok(RuleChange { name, place, severity, concession, left_out: reason.filter(|_| is_left_out) })
}

const SEVERITIES: [(&str, Severity); 3] =
    [("hold", Severity::Hold), ("advice", Severity::Advice), ("note", Severity::Note)];

/// What one of a few words stands for.
fn one_of<T: Copy>(document: &Document<'_>, node: NodeId, known: &[(&str, T)]) -> Result<T, Diagnostic> {
    let written = document.raw(node).unwrap_or_default().trim();
    if let Some((_, meant)) = known.iter().find(|(word, _)| *word == written) {
        return Ok(*meant);
    }
    let words: Vec<String> = known.iter().map(|(word, _)| format!("`{word}`")).collect();
    let message = format!("`{written}` is none of {}", words.join(", "));
    let diagnostic = Diagnostic::error(SETTINGS, document.place(node), message);
    Err(match nearest(written, known.iter().map(|(word, _)| *word)) {
        Some(near) => diagnostic.help(format!("did you mean `{near}`?")),
        None => diagnostic,
    })
}

/// In place of a key: whatever no other key names.
pub const EVERY_OTHER: &str = "every other";

/// Whether a key is nearly the word for whatever no other key names. Taken as a key, it would count for nothing, and
/// nobody would notice.
fn is_meant_for_every_other(key: &str) -> bool {
    const MEANT: [&str; 6] = ["every other", "every others", "all others", "others", "default", "*"];
    let plain = key.trim().to_lowercase().replace(['_', '-'], " ");
    key != EVERY_OTHER && (MEANT.contains(&&*plain) || surely(&plain, [EVERY_OTHER]).is_some())
}

/// Gathers what is stated for a parameter: one value, or values by keys, below each other.
fn stated(
    document: &Document<'_>,
    name: &str,
    value: NodeId,
    keys: &mut Vec<GivenKey>,
    givens: &mut Vec<Given>,
    diagnostics: &mut Vec<Diagnostic>,
) {
    let place = document.place(value);
    let plain = |text: &str| Given {
        name: name.to_owned(),
        keys: keys.clone(),
        text: text.to_owned(),
        list: entries(document, value),
        place,
        elsewhere: Elsewhere::Nothing,
    };
    match &document.node(value).kind {
        NodeKind::Map(_) if keys.len() < MOST_KEYS && !document.entries(value).is_empty() => {
            for entry in document.entries(value) {
                let span = document.key_span(entry.value).unwrap_or(place.span);
                let text = (&*entry.key != EVERY_OTHER).then(|| entry.key.to_string());
                if is_meant_for_every_other(&entry.key) {
                    let message = format!("`{}` would be a key of its own", entry.key);
                    let help = format!("write `{EVERY_OTHER}` for whatever no other key names");
                    diagnostics
                        .push(Diagnostic::error(SETTINGS, Place { span, ..place }, message).help(help));
                }
                keys.push(GivenKey { text, place: Place { span, ..place } });
                stated(document, name, entry.value, keys, givens, diagnostics);
                keys.pop();
            }
        }
        NodeKind::Scalar { raw, .. } => givens.push(plain(raw)),
        NodeKind::Empty | NodeKind::List(_) => givens.push(plain("")),
        NodeKind::Map(_) => {
            let message = format!("`{name}` wants one value here, or values by at most {MOST_KEYS} keys");
            let help = "write one value, or a key and its value: `six speed: 40 Nm ± 10 %`";
            diagnostics.push(Diagnostic::error(SETTINGS, place, message).help(help));
        }
    }
}
