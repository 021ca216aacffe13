//! What is wrong with a text, as an editor lists it: what `inspect` and `prove` say of it, each with its code, what to do and
//! the other places that have a part in it.

use super::protocol::{Diagnostic, Location, Range, Related};
use super::text::range;
use crate::diagnostic::{self, Fault, Level};
use crate::finding::{Finding, Judged, Standing};
use crate::language::ast::Severity;
use crate::report::facts;
use crate::report::folded::{self, Told};
use crate::report::locate::locate;
use crate::report::text::shown;
use crate::source::{Place, Sources};

/// Where the file of a name is, if it is one that an editor may open.
pub type Address<'a> = &'a dyn Fn(&str) -> Option<String>;

const ERROR: u8 = 1;
const WARNING: u8 = 2;
/// Worth knowing.
pub const INFORMATION: u8 = 3;
const HINT: u8 = 4;

/// What is wrong with the documents of a text, in its order.
#[must_use]
pub fn of_judged(judged: &[Judged], address: Address<'_>) -> Vec<Diagnostic> {
    let mut all: Vec<Diagnostic> = Vec::new();
    for one in judged {
        // What waits for the same value is said once, with it, as in reports for people.
        all.extend(folded::entries(one, false).into_iter().map(|entry| {
            let (mut said, place) = match entry.told {
                Told::Diagnostic(found) => (of_diagnostic(found, &one.sources, address), found.place()),
                Told::Finding(found) => (of_finding(found, &one.sources, address), Some(found.at)),
            };
            // What is wrong elsewhere is said of the document at its beginning.
            if place.is_none_or(|place| place.source != one.source) {
                said.range = Range::default();
            }
            if let Some(waiting) = entry.waiting_in_words() {
                said.message.push_str(&format!("\nwaiting: {}", shown(&waiting)));
            }
            said
        }));
    }
    in_order(all)
}

/// What is said of a run as a whole and is in the text of this name.
#[must_use]
pub fn of_run(
    found: &[diagnostic::Diagnostic],
    sources: &Sources,
    name: &str,
    address: Address<'_>,
) -> Vec<Diagnostic> {
    let here = |found: &&diagnostic::Diagnostic| {
        found.place().is_some_and(|place| sources.name(place.source) == name)
    };
    in_order(found.iter().filter(here).map(|found| of_diagnostic(found, sources, address)).collect())
}

/// Says of a document at its beginning that there is no verdict, because what stands around it has errors.
#[must_use]
pub fn no_verdict(
    found: &[diagnostic::Diagnostic],
    sources: &Sources,
    name: &str,
    address: Address<'_>,
) -> Option<Diagnostic> {
    let elsewhere = |found: &&diagnostic::Diagnostic| {
        let is_here = found.place().is_some_and(|place| sources.name(place.source) == name);
        found.level == Level::Error && !is_here
    };
    let mut errors = found.iter().filter(elsewhere);
    let first = errors.next()?;
    let more = errors.count();
    let at_it = of_diagnostic(first, sources, address);
    let place = first.place().map(|place| format!("{}: ", sources.line_in_words(place))).unwrap_or_default();
    let more = if more > 0 { format!("\n{more} more errors of settings and rules") } else { String::new() };
    let own = first.place().and_then(|place| related(sources, place, "the error", address));
    let message =
        format!("no verdict, because settings or rules have errors; {place}{}{more}", at_it.message);
    let related_information = own.into_iter().chain(at_it.related_information).collect();
    Some(Diagnostic { range: Range::default(), message, related_information, ..at_it })
}

/// Says at the beginning of a text what is wrong with all of it.
#[must_use]
pub fn of_fault(fault: &Fault) -> Diagnostic {
    let help = fault.help.as_ref().map(|help| format!("help: {help}"));
    Diagnostic {
        range: Range::default(),
        severity: ERROR,
        code: fault.code.as_str().to_owned(),
        source: env!("CARGO_PKG_NAME"),
        message: joined([fault.message.clone()].into_iter().chain(help)),
        related_information: Vec::new(),
    }
}

/// What is wrong, without the other places.
#[must_use]
pub fn plain(found: &diagnostic::Diagnostic, sources: &Sources) -> Diagnostic {
    of_diagnostic(found, sources, &|_| None)
}

/// The same of what a rule found.
#[must_use]
pub fn plain_finding(found: &Finding, sources: &Sources) -> Diagnostic {
    of_finding(found, sources, &|_| None)
}

/// What was said in several places, in the order of the text.
#[must_use]
pub fn merged(all: impl Iterator<Item = Diagnostic>) -> Vec<Diagnostic> {
    in_order(all.collect())
}

fn in_order(mut all: Vec<Diagnostic>) -> Vec<Diagnostic> {
    all.sort_by_key(|one| (one.range, one.severity));
    all
}

fn of_diagnostic(found: &diagnostic::Diagnostic, sources: &Sources, address: Address<'_>) -> Diagnostic {
    let severity = match found.level {
        Level::Error => ERROR,
        Level::Advice => WARNING,
        Level::Note => INFORMATION,
        Level::Known => HINT,
    };
    let label = found.labels.first().map(|label| &*label.text).filter(|text| !text.is_empty());
    let lines = std::iter::once(found.message.clone())
        .chain(label.map(|label| format!("here: {label}")))
        .chain(found.help.as_ref().map(|help| format!("help: {help}")));
    let others = found.labels.iter().skip(1);
    Diagnostic {
        range: at(sources, found.place()),
        severity,
        code: found.code.as_str().to_owned(),
        source: env!("CARGO_PKG_NAME"),
        message: joined(lines),
        related_information: others
            .filter_map(|label| related(sources, label.place, &label.text, address))
            .collect(),
    }
}

fn of_finding(found: &Finding, sources: &Sources, address: Address<'_>) -> Diagnostic {
    let severity = match (found.standing, found.severity) {
        (Standing::Counts, Severity::Hold) => ERROR,
        (Standing::Counts, Severity::Advice) => WARNING,
        (Standing::Counts, Severity::Note) | (Standing::StillToDo, _) => INFORMATION,
        (Standing::Passed | Standing::Known | Standing::Conceded, _) => HINT,
    };
    let granted = found.concession.as_ref().map(|granted| format!(" (granted by the {})", granted.words()));
    let first = format!("{}: {}{}", facts::kind(found), found.message, granted.unwrap_or_default());
    let facts = facts::of_finding(found).into_iter().map(|fact| format!("{}: {}", fact.name, fact.text));
    let places = found.related.iter().map(|one| (one.at, &*one.text)).chain([(found.demand, &*found.title)]);
    Diagnostic {
        range: at(sources, Some(found.at)),
        severity,
        code: found.rule.clone(),
        source: env!("CARGO_PKG_NAME"),
        message: joined(std::iter::once(first).chain(facts)),
        related_information: places
            .filter_map(|(place, text)| related(sources, place, text, address))
            .collect(),
    }
}

fn at(sources: &Sources, place: Option<Place>) -> Range {
    let located = place.and_then(|place| locate(sources, place));
    located.map_or_else(Range::default, |located| {
        range(located.source.lines(), located.source.text(), located.span)
    })
}

fn related(sources: &Sources, place: Place, text: &str, address: Address<'_>) -> Option<Related> {
    let located = locate(sources, place)?;
    let uri = address(located.source.name())?;
    let message = if text.is_empty() { located.source.name() } else { text };
    let range = range(located.source.lines(), located.source.text(), located.span);
    Some(Related { location: Location { uri, range }, message: shown(message).into_owned() })
}

/// Lines in which nothing is hidden that people wrote.
fn joined(lines: impl Iterator<Item = String>) -> String {
    lines.map(|line| shown(&line).into_owned()).collect::<Vec<_>>().join("\n")
}
