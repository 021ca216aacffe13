//! `prove --equal`: two rules or standards held against each other, and what `compare` says of rules that changed.

use std::collections::HashSet;
use std::path::Path;

use super::prove::names_rule;
use super::sides::{Given, Side, Then};
use super::standards::{Ready, edition_place, standard_named};
use super::{Exit, Failure};
use crate::analysis::{Covers, Relation, Witness};
use crate::diagnostic::nearest;
use crate::language::ids::RuleId;
use crate::library::shipped;
use crate::report::Style;
use crate::report::compare::heaviest;
use crate::report::text::{fill, shown};
use crate::session::{Request, Session};
use crate::source::{SourceId, Sources};

/// What is needed to answer.
pub(super) struct Asked<'a> {
    pub(super) ready: &'a Ready,
    /// The rule files in which rules are named.
    pub(super) standards: &'a [String],
}

impl Asked<'_> {
    /// Whether two rules or standards are equal, in words.
    pub(super) fn whether_equal(
        &self,
        one: &str,
        other: &str,
        style: &Style,
    ) -> Result<(String, Exit), Failure> {
        let mut names: Vec<String> =
            self.standards.iter().filter(|name| !names_rule(name)).cloned().collect();
        for name in [one, other] {
            let standard = if names_rule(name) { name.split('.').next().unwrap_or(name) } else { name };
            let is_known = names.iter().any(|known| known == standard);
            if !is_known && (!names_rule(name) || shipped(standard).is_some()) {
                names.push(standard.to_owned());
            }
        }
        let links = self.ready.bounds.links_of_named();
        let read = |name: &String| Side::Now(Path::new(name), links).read(Path::new(""));
        let texts: Vec<Given> = names.iter().map(read).collect::<Result<_, _>>()?;
        let library = Then { revision: None, disk: self.ready.disk() };
        let (session, ids) = together(self.ready, &texts, &library);
        if session.is_faulty() {
            let why = "the rules have errors, so nothing is told of them".to_owned();
            return Err(super::output::refusal(session.diagnostics(), session.sources(), why));
        }
        let of = |name: &str| {
            let at = names.iter().position(|known| known == name).and_then(|at| ids.get(at));
            rules_of(&session, name, at.copied())
        };
        let (ones, others) = (of(one)?, of(other)?);
        let relation = session.relation(&ones, &others);
        Ok(told(&relation, [one, other], style))
    }
}

/// The rules of a name: one rule, or all of a standard.
fn rules_of(session: &Session, name: &str, source: Option<SourceId>) -> Result<Vec<RuleId>, Failure> {
    let program = session.program();
    let found: Vec<RuleId> = match source {
        Some(source) => {
            let standards = program.standards().iter().filter(|one| one.place.source == source);
            standards.flat_map(|standard| program.all_rules_of(standard)).map(|(id, _)| id).collect()
        }
        None => program.rules().iter().filter(|(_, rule)| rule.name == name).map(|(id, _)| id).collect(),
    };
    if found.is_empty() {
        let rules = program.rules().all().iter().map(|rule| rule.name.as_str());
        let hint = nearest(name, rules).map_or_else(
            || {
                "name two rules as `standard.rule`, with their files before `--equal`, or two standards"
                    .to_owned()
            },
            |near| format!("did you mean `{near}`?"),
        );
        return Err(Failure(format!("no rule and no standard here is called `{name}`; {hint}")));
    }
    Ok(found)
}

/// Several rule files in one session. Of two editions with one number, that of the first is written as another one, at the
/// same places.
pub(super) fn together<'g>(
    ready: &Ready,
    texts: impl IntoIterator<Item = &'g Given>,
    library: &Then<'_>,
) -> (Session, Vec<SourceId>) {
    let mut sources = Sources::new();
    let mut taken = HashSet::new();
    let mut ids = Vec::new();
    for given in texts {
        let mut text = given.text.clone();
        // The digits that are tried are more than two texts can take.
        for digit in '1'..='9' {
            let Some(head) = standard_named(&text) else { break };
            if taken.insert(head) {
                break;
            }
            let Some(place) = edition_place(&text) else { break };
            let digits = (place.end - place.start) as usize;
            let other: String = std::iter::repeat_n(digit, digits).collect();
            text.replace_range(place.start as usize..place.end as usize, &other);
        }
        ids.push(sources.add(&given.name, text));
    }
    let request = Request {
        sources,
        standards: ids.clone(),
        earlier: Vec::new(),
        forms: ready.session.forms().clone(),
        givens: Vec::new(),
        setting: ready.session.setting().clone(),
    };
    (Session::open(request, library), ids)
}

/// What a relation says, in words.
fn told(relation: &Relation, names: [&str; 2], style: &Style) -> (String, Exit) {
    let [one, other] = names.map(|name| format!("`{}`", shown(name)));
    let (head, exit) = match (&relation.second_covers, &relation.first_covers) {
        (Covers::Always, Covers::Always) => {
            (format!("{one} and {other} are equal: they find the same in every document"), Exit::Clean)
        }
        (Covers::Always, Covers::Not(_)) => {
            (format!("not equal: {other} finds all that {one} finds, and more"), Exit::Findings)
        }
        (Covers::Not(_), Covers::Always) => {
            (format!("not equal: {one} finds all that {other} finds, and more"), Exit::Findings)
        }
        (Covers::Not(_), Covers::Not(_)) => (
            format!("not equal: each of {one} and {other} finds what the other one does not"),
            Exit::Findings,
        ),
        (Covers::Not(_), Covers::Unclear) => (
            format!(
                "not equal: {one} finds what {other} does not; cannot tell whether {other} finds more elsewhere"
            ),
            Exit::Findings,
        ),
        (Covers::Unclear, Covers::Not(_)) => (
            format!(
                "not equal: {other} finds what {one} does not; cannot tell whether {one} finds more elsewhere"
            ),
            Exit::Findings,
        ),
        _ => (format!("cannot tell whether {one} and {other} are equal"), Exit::Failed),
    };
    let mut lines = vec![fill("", 2, &head, style.columns())];
    for covers in [&relation.second_covers, &relation.first_covers] {
        if let Covers::Not(witness) = covers {
            lines.extend(witness_lines(witness, [&one, &other], style));
        }
    }
    lines.push(String::new());
    (lines.join("\n"), exit)
}

fn witness_lines(witness: &Witness, names: [&str; 2], style: &Style) -> [String; 2] {
    let [one, other] = names;
    let found = format!("{one}: {}; {other}: {}", heaviest(witness.one), heaviest(witness.other));
    [
        fill("  record: ", 4, &shown(&witness.record), style.columns()),
        fill("    ", 4, &found, style.columns()),
    ]
}
