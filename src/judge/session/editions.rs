//! Editions: which edition of a standard judges a job, and whether a text is still the one that a job
//! was bound to.

use std::collections::HashMap;
use std::sync::Mutex;

use super::Session;
use crate::code::{EDITION_CHANGED, EDITION_MISSING, EDITION_NOT_TAKEN, EDITION_OLDER, STANDARD_NOT_HERE};
use crate::diagnostic::{Diagnostic, Level, did_you_mean, nearest};
use crate::document::{Document, NodeId};
use crate::edition::{Digest, Pin};
use crate::language::typed::Standard;
use crate::quantity::Number;
use crate::source::{Place, SourceId, Sources};
use crate::trade::{Job, Reference, Stated};

/// The content hashes of the texts of a run, each computed when it is first asked for.
#[derive(Debug, Default)]
pub(super) struct Digests(Mutex<HashMap<SourceId, Digest>>);

impl Digests {
    fn of(&self, source: SourceId, sources: &Sources) -> Digest {
        let known = self.0.lock().ok().and_then(|known| known.get(&source).copied());
        known.unwrap_or_else(|| {
            let digest = Digest::of(sources.get(source).map_or("", |source| source.text()));
            if let Ok(mut known) = self.0.lock() {
                known.insert(source, digest);
            }
            digest
        })
    }
}

/// How many days after a newer edition came a job may name an older one, where the settings do not say.
const OLDER_FOR_DAYS: i64 = 30;

/// So many days, in seconds.
fn days(number: i64) -> Number {
    &Number::from(number) * &Number::from(86_400_i64)
}

/// What to do about a job of which nobody can tell whether it is older than an edition.
const OPEN_OR_NAME: &str = "record `job.opened`, or name the edition in force";

/// A standard that a job is bound to.
struct Bound<'d> {
    name: &'d str,
    edition: Option<Stated>,
    reference: Reference<'d>,
    entry: NodeId,
}

/// How many standards a job can name.
const MOST_BOUND: usize = 64;

impl Session {
    /// The standards that judge a document, as far as their editions tell: those in force, but for a
    /// standard that a job is bound to the edition that it names. What it names and is not there is said;
    /// no other edition takes its place.
    pub(super) fn editions(&self, document: &Document<'_>) -> (Vec<&Standard>, Vec<Diagnostic>) {
        let form = document.form().unwrap_or_default();
        let mut bound = bound(document);
        let mut diagnostics = Vec::new();
        if let Some(beyond) = bound.get(MOST_BOUND) {
            let message =
                format!("the job names more than {MOST_BOUND} standards, and the others are not looked at");
            let said = Diagnostic::error(STANDARD_NOT_HERE, document.place(beyond.entry), message);
            diagnostics.push(said.help("name those that the job was done by"));
            bound.truncate(MOST_BOUND);
        }
        for (number, one) in bound.iter().enumerate() {
            diagnostics.extend(self.missing(one));
            let first = bound.iter().take(number).find(|first| first.name == one.name);
            diagnostics.extend(first.map(|first| twice(document, first, one)));
        }
        diagnostics.extend(self.changed_procedure(document));
        if self.brought.editions {
            diagnostics.extend(bound.iter().filter_map(|bound| self.older(document, bound)));
        } else {
            diagnostics.extend(bound.iter().filter_map(|bound| self.not_taken(bound)));
        }
        let judges = |standard: &&Standard| {
            let named = bound
                .iter()
                .filter(|_| self.brought.editions)
                .find(|bound| bound.name == standard.name)
                .and_then(|bound| bound.edition);
            standard.form == form
                && named.map_or(standard.in_force, |named| named == Stated::Edition(standard.edition))
        };
        (self.program().standards().iter().filter(judges).collect(), diagnostics)
    }

    /// What is said of an edition that is there and not in force, where the settings take none from a job.
    fn not_taken(&self, bound: &Bound<'_>) -> Option<Diagnostic> {
        let Some(Stated::Edition(edition)) = bound.edition else { return None };
        let same = || self.program().standards().iter().filter(|standard| standard.name == bound.name);
        let in_force = same().find(|standard| standard.in_force)?;
        same().find(|standard| standard.edition == edition && !standard.in_force)?;
        let message = format!(
            "the job names edition {edition} of `{}`, and is judged by edition {}, which is in force: the settings of this run take no edition from the files that it judges",
            bound.name, in_force.edition
        );
        let at = bound.reference.edition.place();
        Some(
            Diagnostic::advice(EDITION_NOT_TAKEN, at, message).help(
                "if jobs may name their editions, write `files_may_bring: [editions]` into those settings",
            ),
        )
    }

    /// What is said of a job that names an edition which a newer one had followed before the job was opened.
    fn older(&self, document: &Document<'_>, bound: &Bound<'_>) -> Option<Diagnostic> {
        let Some(Stated::Edition(edition)) = bound.edition else { return None };
        let same = || self.program().standards().iter().filter(|standard| standard.name == bound.name);
        same().find(|standard| standard.edition == edition)?;
        let newer = same().find(|standard| standard.in_force && standard.edition > edition)?;
        let came = same().filter(|standard| standard.edition > edition).filter_map(|one| one.from).min();
        let job = format!("the job names edition {edition} of `{}`", bound.name);
        let at = bound.reference.edition.place();
        let advice = |message: String| {
            Diagnostic::advice(EDITION_OLDER, at, message).and_at(newer.place, "the edition in force")
        };
        let Some(came) = came else {
            let message = format!(
                "{job}, and edition {} is in force, which does not say from which day on",
                newer.edition
            );
            return Some(advice(message).help(
                "write `from DAY` below the head of the newer edition, so that only jobs from before can name an older one",
            ));
        };
        let Some(opened) = self.day_written(Job::of(document).opened()) else {
            let message =
                format!("{job}, which another followed on {came}, and does not say when it was opened");
            return Some(Diagnostic { level: Level::Error, ..advice(message).help(OPEN_OR_NAME) });
        };
        if opened < came {
            return None;
        }
        let message =
            format!("{job}, which another had followed on {came} when the job was opened on {opened}");
        let after = days(i64::from((opened - came).get_days()));
        let (most, stated) = match &self.older_edition_for {
            Some(stated) => (stated.base(), stated.to_string()),
            None => (days(OLDER_FOR_DAYS), format!("{OLDER_FOR_DAYS} d")),
        };
        let help = format!(
            "name the edition in force; an older one may be named for {stated} after that day (`older_edition_for` in the settings)"
        );
        let level = if after > most { Level::Error } else { Level::Advice };
        Some(Diagnostic { level, ..advice(message).help(help) })
    }

    /// What is wrong with the edition that a job is bound to.
    fn missing(&self, bound: &Bound<'_>) -> Option<Diagnostic> {
        let name = bound.name;
        let standards = self.program().standards();
        let editions: Vec<&Standard> = standards.iter().filter(|standard| standard.name == name).collect();
        if editions.is_empty() {
            let message =
                format!("the job is bound to `{name}`, which is not among the standards of this run");
            let diagnostic = Diagnostic::error(STANDARD_NOT_HERE, bound.reference.name.place(), message);
            let near = nearest(name, standards.iter().map(|standard| standard.name.as_str()));
            return Some(match near {
                Some(near) => diagnostic.help(did_you_mean(name, near)),
                None => {
                    diagnostic.help("nothing was judged by it; name it with `--standard` or in the settings")
                }
            });
        }
        let Some(Stated::Edition(edition)) = bound.edition else { return None };
        let Some(standard) = editions.iter().find(|standard| standard.edition == edition) else {
            let known: Vec<String> = editions.iter().map(|known| known.edition.to_string()).collect();
            let message = format!(
                "the job is bound to edition {edition} of `{name}`, and this run has only edition {}",
                known.join(" and ")
            );
            let help = match self.brought.editions {
                true => {
                    "nothing was judged by it; put the file of that edition among the earlier standards of the settings"
                }
                false => "it was judged by the edition in force; correct the number",
            };
            return Some(
                Diagnostic::error(EDITION_MISSING, bound.reference.edition.place(), message).help(help),
            );
        };
        self.changed(bound.reference, standard.place.source, &format!("edition {edition} of `{name}`"))
    }

    fn changed_procedure(&self, document: &Document<'_>) -> Option<Diagnostic> {
        let reference = Job::of(document).procedure();
        reference.content.node()?;
        let procedure = self.context.procedure(document).ok()?;
        let name = reference.name.text().unwrap_or_default();
        self.changed(reference, procedure.source, &format!("the procedure `{name}`"))
    }

    /// Says that a text is another one than that whose content hash a job states.
    fn changed(&self, reference: Reference<'_>, source: SourceId, what: &str) -> Option<Diagnostic> {
        // Another text than a content hash is reported with the form.
        let pin = Pin::parse(reference.content.text()?)?;
        let digest = self.digest(source);
        if digest.matches(&pin) {
            return None;
        }
        let message = format!(
            "{what} was changed after the job was bound to it: its content is now {}, not {pin}",
            digest.short()
        );
        let at = Place { source, span: crate::source::Span::default() };
        let diagnostic = Diagnostic {
            level: Level::Error,
            ..Diagnostic::advice(EDITION_CHANGED, reference.content.place(), message)
        };
        let help = "give a changed text the next edition, and bring back the text that the job was done by";
        Some(diagnostic.and_at(at, "the text of this run").help(help))
    }

    /// The content hash of a text of this run.
    #[must_use]
    pub fn digest(&self, source: SourceId) -> Digest {
        self.digests.of(source, self.sources())
    }
}

/// Says that a job is bound to one standard twice.
fn twice(document: &Document<'_>, first: &Bound<'_>, second: &Bound<'_>) -> Diagnostic {
    let message = format!("the job is bound to `{}` twice, and is judged by the first", second.name);
    Diagnostic::error(EDITION_MISSING, document.place(second.entry), message)
        .labelled("again here")
        .and_at(document.place(first.entry), "first here")
        .help("keep the edition that the job was done by")
}

/// The standards that a job is bound to.
fn bound<'d>(document: &'d Document<'_>) -> Vec<Bound<'d>> {
    let one = |(entry, reference): (NodeId, Reference<'d>)| {
        let (name, edition) = (reference.name.text()?, reference.edition.edition());
        Some(Bound { name, edition, reference, entry })
    };
    Job::of(document).standards().filter_map(one).collect()
}
