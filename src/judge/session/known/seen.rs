//! What was seen of a finding or of a mistake in a document, in words that stay the same while it does.

use crate::code::FIELD_MISSING;
use crate::diagnostic::Diagnostic;
use crate::document::path::Step;
use crate::document::places::{path_at, said_at};
use crate::document::{DocPath, Document};
use crate::edition::Digest;
use crate::finding::{Finding, Outcome, Seen, SeenValue};
use crate::source::{Place, Sources};
use crate::trade::Job;
use crate::trade::names::{COUNT, named_path};

/// A document of which is kept what is seen in it.
pub(in super::super) struct Looking<'d> {
    document: &'d Document<'d>,
    /// What it is called: a job by its number, when it was opened and its vehicle, so that what is known of one counts for no
    /// other in its file; another document where it is one of several in a text.
    called: String,
}

impl<'d> Looking<'d> {
    /// The document of this number in its text.
    pub(in super::super) fn at(document: &'d Document<'d>, number: usize, several: bool) -> Self {
        let job = Job::of(document);
        let called = match job.number().raw() {
            Some(number) => {
                let opened = job.opened().raw().map(|opened| format!(" of {opened}")).unwrap_or_default();
                let vehicle = job.vin().raw().or_else(|| job.plate().raw());
                let vehicle = vehicle.map(|vehicle| format!(", {vehicle}")).unwrap_or_default();
                format!("{}{number}{opened}{vehicle}: ", Seen::OF_JOB)
            }
            None if several => format!("document {}: ", number + 1),
            None => String::new(),
        };
        Looking { document, called }
    }

    /// What is seen of a finding that goes by these values.
    pub(in super::super) fn finding(&self, finding: &Finding, mut values: Vec<SeenValue>) -> Seen {
        let (at, found) = (self.named(&finding.path), found_by(finding));
        values.extend(self.pieces(&finding.path));
        let missing =
            |value: &SeenValue| !finding.missing.is_empty() && value.text == SeenValue::NOT_RECORDED;
        values.retain(|value| value.path != at || !(value.text == found || missing(value)));
        values.sort();
        values.dedup();
        let values = values.into_iter().map(|SeenValue { path, text }| format!("{path}: {text}"));
        let parts: Vec<String> =
            std::iter::once(found).filter(|found| !found.is_empty()).chain(values).collect();
        self.seen(&at, &parts.join("; "))
    }

    /// How many pieces the entry of a finding stands for, where it says so: one more of the same is something new.
    fn pieces(&self, path: &str) -> Option<SeenValue> {
        let path: DocPath = path.parse().ok()?;
        let entry = path.steps().iter().rposition(|step| matches!(step, Step::In(_)))?;
        let count = path.steps().get(..=entry)?.iter().fold(DocPath::root(), |path, step| match step {
            Step::Key(key) => path.key(key),
            Step::In(number) => path.entry(*number),
        });
        let count = count.key(COUNT);
        let text = self.document.raw(self.document.find(&count.to_string())?)?.trim().to_owned();
        Some(SeenValue { path: named_path(self.document, &count).to_string(), text })
    }

    /// A path as a finding says it, by the names of entries.
    fn named(&self, path: &str) -> String {
        let named = |path: DocPath| named_path(self.document, &path).to_string();
        path.parse().map_or_else(|_| path.to_owned(), named)
    }

    /// What is seen of a mistake in the document, or of what is advised of it.
    pub(in super::super) fn diagnostic(&self, diagnostic: &Diagnostic, sources: &Sources) -> Seen {
        let source = self.document.source;
        let own = diagnostic.place().filter(|place| place.source == source);
        let at = own.map(|place| path_at(self.document, place.span.start)).unwrap_or_default();
        let at = named_path(self.document, &at).to_string();
        // Which field is missing is in no place of the text.
        if diagnostic.code == FIELD_MISSING {
            return self.seen(&at, &diagnostic.message);
        }
        let text = |place: Place| match place.source == source {
            true => sources.text_at(Place { span: said_at(self.document, place.span), ..place }),
            false => sources.text_at(place),
        };
        let first = diagnostic.place();
        let others = diagnostic.labels.iter().skip(1).map(|label| label.place);
        let places = first.into_iter().chain(others.filter(|place| place.source == source));
        let texts: Vec<&str> = places.map(text).filter(|text| !text.is_empty()).collect();
        self.seen(&at, &texts.join("; "))
    }

    fn seen(&self, at: &str, found: &str) -> Seen {
        let at = if at.is_empty() { "the whole document" } else { at };
        Seen { at: format!("{}{at}", self.called), found: quoted(found) }
    }
}

/// What a rule found. The path is stated beside it, so that an entry which has moved is the same.
fn found_by(finding: &Finding) -> String {
    let missing = || finding.missing.join("; ").replace(&format!("`{}`", finding.path), "it");
    match &finding.found {
        Some(found) if finding.outcome != Outcome::Undecided => found.clone(),
        _ if finding.missing.is_empty() => finding.message.clone(),
        _ => missing(),
    }
}

/// The longest text that is written out.
const LONGEST_FOUND: usize = 240;

/// A text as the file states it: in one line, and of a long one the beginning and its content hash.
fn quoted(text: &str) -> String {
    let line = text.split_whitespace().collect::<Vec<_>>().join(" ");
    if line.chars().count() <= LONGEST_FOUND {
        return line;
    }
    let start: String = line.chars().take(LONGEST_FOUND / 2).collect();
    format!("{}… ({})", start.trim_end(), Digest::of(&line).short())
}
