//! `compare`: what changed between two documents or two rule files, and whose outcome that changes.

use std::path::{Path, PathBuf};

use clap::Args;

use super::context::ENDINGS;
use super::equal::together;
use super::files;
use super::git::Revision;
use super::inspect::Steps;
use super::known::KnownFiles;
use super::likeness::is_document;
use super::names::named;
use super::output::{Place, diagnose};
use super::sides::{Given, Side, Then, open_alone};
use super::standards::{Ready, Swap, standard_named};
use super::walk::Found;
use super::{Exit, Failure, OutputOptions, RuleOptions, walk};
use crate::compare::{self, By, Comparison, OutcomeChange};
use crate::diagnostic::{Diagnostic, Level};
use crate::document::{self, Forms};
use crate::edition::Digest;
use crate::report::{Audience, FORMATS, FormatRow, compare as report, difference, plain};
use crate::session::Session;
use crate::source::{SourceId, Sources};

/// Says what changed in meaning between two documents of one form, such as two editions of a procedure,
/// or between two rule files: not which lines differ, but which limit, step or rule. Comments, layout,
/// units and trials are no meaning. Of two folders, the files of one path are compared. Exit code 0: nothing changed;
/// 1: something did; 3: the meaning did, and the edition that the text states did not; 2: some cannot be compared.
#[derive(Debug, Args)]
pub(super) struct Compare {
    /// The old text: a document, a rule file, or the name of a shipped standard; or a folder.
    #[arg(value_name = "OLD")]
    old: PathBuf,
    /// The new text or folder. With --changed-since it can be left out.
    #[arg(value_name = "NEW", required_unless_present = "changed_since")]
    new: Option<PathBuf>,
    /// The old text is what Git has of it at this revision.
    #[arg(long, value_name = "REVISION", allow_hyphen_values = true)]
    changed_since: Option<String>,
    /// Show the difference line by line, too.
    #[arg(long)]
    lines: bool,
    /// Name also what is only written otherwise, such as 45 Nm as 45.0 N·m.
    #[arg(long)]
    spellings: bool,
    /// For rule files: judge the documents of this folder by the old and by the new file, each in the
    /// place of the standard of its name, and name the documents whose outcome changes.
    #[arg(long, value_name = "FOLDER")]
    jobs: Option<PathBuf>,
    #[command(flatten)]
    rules: RuleOptions,
    #[command(flatten)]
    output: OutputOptions,
}

/// What is compared, and what is needed for it.
struct Both<'b> {
    old: Side<'b>,
    new: Side<'b>,
    library: Then<'b>,
    /// Where to show what stands in the way; of the files of a folder, only why is said.
    place: Option<&'b Place>,
    ready: &'b Ready,
}

/// What a comparison comes to.
fn exit_of(comparison: &Comparison) -> Exit {
    match comparison.changes.is_empty() {
        true => Exit::Clean,
        false if comparison.edition_was_not_raised() => Exit::NotRaised,
        false => Exit::Findings,
    }
}

/// Two texts, compared.
struct Done {
    comparison: Comparison,
    sources: (Sources, Sources),
}

impl Compare {
    pub(super) fn run(self) -> Result<Exit, Failure> {
        let fits = |row: &FormatRow| matches!(row.audience, Audience::People | Audience::Programs);
        if !fits(self.output.form()) {
            let fit = FORMATS.iter().filter(|row| fits(row));
            let names: Vec<&str> = fit.map(|row| row.name).collect();
            return Err(Failure(format!("`compare` reports in the forms {}", listed(&names))));
        }
        let new = self.new.as_deref().unwrap_or(&self.old);
        let place = self.output.make_way([&*self.old, new])?;
        let ready = self.rules.open(Some(new), &KnownFiles::default())?;
        let revision = match &self.changed_since {
            Some(name) => Some(Revision::read(name, new)?),
            None => None,
        };
        let others = self.new.iter().chain(&self.jobs).map(PathBuf::as_path);
        ready.bounds.allow_ways(others.chain([&*self.old]))?;
        let links = ready.bounds.links_of_named();
        let then = revision.as_ref().map(|revision| Side::Then(&self.old, revision));
        let (old, new) = (then.unwrap_or(Side::Now(&self.old, links)), Side::Now(new, links));
        let in_folders = old.is_folder() && new.is_folder();
        let both = Both {
            old,
            new,
            library: Then { revision: revision.as_ref(), disk: ready.disk() },
            place: Some(&place).filter(|_| !in_folders),
            ready: &ready,
        };
        let mut out = Vec::new();
        let exit = match in_folders {
            true if self.jobs.is_some() => {
                return Err(Failure("--jobs judges by two rule files, and these are folders".to_owned()));
            }
            true => self.folders(&both, &mut out)?,
            false => {
                let (old, new) = (both.old.read(Path::new(""))?, both.new.read(Path::new(""))?);
                let done = self.pair(&both, &old, &new)?;
                let judged = match &self.jobs {
                    Some(folder) => Some(self.judged(Some(&place), folder, &old, &new, &done.comparison)?),
                    None => None,
                };
                self.tell(&old, &new, &done, judged.as_ref(), &mut out);
                let outcomes_change = judged.is_some_and(|judged| !judged.changes.is_empty());
                exit_of(&done.comparison).max(if outcomes_change { Exit::Findings } else { Exit::Clean })
            }
        };
        self.write(&place, &out)?;
        Ok(exit)
    }

    /// Compares two texts.
    fn pair(&self, both: &Both<'_>, old: &Given, new: &Given) -> Result<Done, Failure> {
        match (old.is_rules, new.is_rules) {
            (true, true) => self.rules(both, old, new),
            (false, false) if self.jobs.is_some() => {
                Err(Failure("--jobs judges by two rule files, and these are documents".to_owned()))
            }
            (false, false) => self.documents(both.place, old, new, both.ready.session.forms()),
            _ => {
                let (rules, document) = if old.is_rules { (old, new) } else { (new, old) };
                let (rules, document) = (&rules.name, &document.name);
                Err(Failure(format!("`{rules}` is a rule file and `{document}` a document")))
            }
        }
    }

    /// Compares the files of one path in two folders, and names those that only one has.
    fn folders(&self, both: &Both<'_>, out: &mut Vec<u8>) -> Result<Exit, Failure> {
        let (old, new) = (both.old.files(), both.new.files());
        let name = |path: &PathBuf| named(path);
        let mut folders = report::Folders::default();
        let mut parts = Vec::new();
        let mut exit = Exit::Clean;
        for path in old.union(&new) {
            let read = |side: Side<'_>, has: bool| if has { side.read(path).map(Some) } else { Ok(None) };
            let pair = read(both.old, old.contains(path))
                .and_then(|before| Ok((before, read(both.new, new.contains(path))?)));
            // What is no document of ours has no meaning here.
            let is_ours = |given: &Given| given.is_rules || is_document(&given.text);
            let done = match pair {
                Ok((Some(before), Some(after))) if !is_ours(&before) && !is_ours(&after) => continue,
                Ok((Some(before), Some(after))) if before.text == after.text => {
                    folders.compared += 1;
                    continue;
                }
                Ok((Some(before), Some(after))) => {
                    self.pair(both, &before, &after).map(|done| (before, after, done))
                }
                Ok((Some(before), None)) => {
                    folders.taken_out.extend(is_ours(&before).then(|| name(path)));
                    continue;
                }
                Ok((None, Some(after))) => {
                    folders.added.extend(is_ours(&after).then(|| name(path)));
                    continue;
                }
                Ok((None, None)) => continue,
                Err(failure) => Err(failure),
            };
            match done {
                Ok((before, after, done)) => {
                    folders.compared += 1;
                    folders.changed += usize::from(!done.comparison.changes.is_empty());
                    folders.not_raised.extend(done.comparison.edition_was_not_raised().then(|| name(path)));
                    exit = exit.max(exit_of(&done.comparison));
                    let mut part = Vec::new();
                    self.tell(&before, &after, &done, None, &mut part);
                    parts.push(part);
                }
                Err(Failure(why)) => folders.unread.push((name(path), why)),
            }
        }
        if folders.compared + folders.added.len() + folders.taken_out.len() + folders.unread.len() == 0 {
            return Err(Failure("there is no document and no rule file in these folders".to_owned()));
        }
        let is_changed = !folders.added.is_empty() || !folders.taken_out.is_empty();
        let changed = if is_changed { Exit::Findings } else { Exit::Clean };
        report::folders(&folders, &parts, self.output.is_for_programs(), &self.output.style(), out);
        Ok(if folders.unread.is_empty() { exit.max(changed) } else { Exit::Failed })
    }

    fn tell(&self, old: &Given, new: &Given, done: &Done, judged: Option<&Judged>, out: &mut Vec<u8>) {
        let lines = self.lines.then(|| difference::unified((&old.name, &old.text), (&new.name, &new.text)));
        let compared = report::Compared {
            old: text_of(old, &done.sources.0),
            new: text_of(new, &done.sources.1),
            comparison: &done.comparison,
            with_spellings: self.spellings,
            lines: lines.as_ref().map(Option::as_deref),
            outcomes: judged.map(|judged| report::Outcomes {
                documents: judged.documents,
                unread: &judged.unread,
                changes: &judged.changes,
            }),
        };
        if self.output.is_for_programs() {
            report::for_programs(&compared, out);
        } else {
            report::plain(&compared, &self.output.style(), out);
        }
    }

    fn write(&self, place: &Place, out: &[u8]) -> Result<(), Failure> {
        let mut sink = place.sink()?;
        sink.write(out)?;
        sink.finish()
    }

    /// Shows what stands in the way, and says what that prevents.
    fn refuse(
        &self,
        place: Option<&Place>,
        diagnostics: &[Diagnostic],
        sources: &Sources,
        why: String,
    ) -> Failure {
        let Some(place) = place else { return Failure(why) };
        if self.output.is_for_programs() {
            // A program takes a report or nothing.
            diagnose(diagnostics, sources);
            return Failure(why);
        }
        let mut out = Vec::new();
        plain::diagnostics(diagnostics, sources, &self.output.style(), &mut out);
        match self.write(place, &out) {
            Ok(()) => Failure(why),
            Err(failure) => failure,
        }
    }

    fn documents(
        &self,
        place: Option<&Place>,
        old: &Given,
        new: &Given,
        forms: &Forms,
    ) -> Result<Done, Failure> {
        let (mut ours, mut theirs) = (Sources::new(), Sources::new());
        let (id, other) = (ours.add(&old.name, &old.text), theirs.add(&new.name, &new.text));
        let (old_read, old_wrong) = document::read(id, &old.text, forms);
        let (new_read, new_wrong) = document::read(other, &new.text, forms);
        let one = |given: &Given, sources: &Sources, (why, wrong): (String, Vec<Diagnostic>)| {
            self.refuse(place, &wrong, sources, format!("`{}` cannot be compared: {why}", given.name))
        };
        let before = compare::one_document(&old_read, &old_wrong).map_err(|why| one(old, &ours, why))?;
        let after = compare::one_document(&new_read, &new_wrong).map_err(|why| one(new, &theirs, why))?;
        let (form, other) = (before.form().unwrap_or_default(), after.form().unwrap_or_default());
        if form != other {
            return Err(Failure(format!(
                "`{}` follows the form `{form}` and `{}` the form `{other}`; only documents of one form are compared",
                old.name, new.name
            )));
        }
        let Some(form) = forms.get(form) else { return Err(Failure(format!("there is no form `{form}`"))) };
        let comparison = compare::documents(before, after, form);
        Ok(Done { comparison, sources: (ours, theirs) })
    }

    fn rules(&self, both: &Both<'_>, old: &Given, new: &Given) -> Result<Done, Failure> {
        let ready = both.ready;
        let open = |given: &Given| -> Result<(Session, SourceId), Failure> {
            let (session, id) = open_alone(given, ready, &both.library);
            if session.is_faulty() {
                let why = format!("`{}` has errors, so what changed is not known", given.name);
                return Err(self.refuse(both.place, session.diagnostics(), session.sources(), why));
            }
            Ok((session, id))
        };
        let ((ours, id), (theirs, other)) = (open(old)?, open(new)?);
        let mut comparison = compare::standards((&ours, id), (&theirs, other));
        let (both, ids) = together(ready, [old, new], &both.library);
        if let ([old, new], false) = (ids.as_slice(), both.is_faulty()) {
            comparison.strictness = compare::strictness(&both, [*old, *new], &comparison);
        }
        let sources = (Sources::clone(ours.sources()), Sources::clone(theirs.sources()));
        Ok(Done { comparison, sources })
    }

    /// Judges the documents of a folder by both rule files.
    fn judged(
        &self,
        place: Option<&Place>,
        folder: &Path,
        old: &Given,
        new: &Given,
        comparison: &Comparison,
    ) -> Result<Judged, Failure> {
        if !folder.is_dir() {
            return Err(Failure(format!("`{}` is no folder", folder.display())));
        }
        let Some((name, _)) = standard_named(&old.text) else {
            return Err(Failure(format!(
                "`{}` is no standard by itself; give the two editions of a standard that uses it",
                old.name
            )));
        };
        let open = |given: &Given| -> Result<Ready, Failure> {
            let swap = Swap { standard: name.clone(), file: given.name.clone(), text: given.text.clone() };
            let choice = RuleOptions { swap: Some(swap), ..self.rules.clone() };
            let ready = choice.open(Some(folder), &KnownFiles::default())?;
            let run = ready.run(crate::language::ast::Severity::Hold);
            if ready.unsettled || run.diagnostics.iter().any(|found| found.level == Level::Error) {
                let why = format!("the documents cannot be judged with `{}` in its place", given.name);
                return Err(self.refuse(place, &run.diagnostics, &run.sources, why));
            }
            Ok(ready)
        };
        let (mut ours, mut theirs) = (open(old)?, open(new)?);
        let files = walk::find(&[folder.to_owned()], &ENDINGS);
        self.rules.one_workshop(files.iter().map(|file| file.path.as_path()), ours.settings.as_deref())?;
        let files: Vec<_> = files.into_iter().filter(|file| !ours.is_no_document(file)).collect();
        ours.load_context(&files, 1);
        theirs.load_context(&files, 1);
        let unread = |name: String, why: String| Judged { unread: vec![(name, why)], ..Judged::default() };
        let of_file = |file: &Found| {
            let name = named(&file.path);
            let mut steps = 0;
            if let Some(fault) = &file.fault {
                return (0, unread(name, fault.clone()));
            }
            let judged = match files::read_by(&file.path, ours.bounds.links(file)) {
                Ok(text) if is_document(&text) => {
                    let (old, new) = (ours.session.judge(&name, &text), theirs.session.judge(&name, &text));
                    steps = old.iter().chain(&new).fold(0_u64, |sum, one| sum.saturating_add(one.steps));
                    let (by_old, by_new) = (ours.session.program(), theirs.session.program());
                    let changes = compare::outcomes(
                        By { program: by_old, judged: &old },
                        By { program: by_new, judged: &new },
                        &comparison.renamed_rules,
                    );
                    Judged { documents: old.len(), unread: Vec::new(), changes }
                }
                Ok(_) => Judged::default(),
                Err(missing) => unread(name, missing.fault.message),
            };
            (steps, judged)
        };
        let mut judged = Judged::default();
        let mut steps = Steps { done: 0, most: self.rules.run.most_steps_in_all.unwrap_or_default().0 };
        for batch in files::batches(&files, |file| &file.path) {
            for (file, one) in batch.iter().zip(steps.side_by_side(batch, of_file)) {
                let beyond = || ours.session.out_of_steps_in_all().message.replace("not judged: ", "");
                let one = one.unwrap_or_else(|| unread(named(&file.path), beyond()));
                judged.documents += one.documents;
                judged.unread.extend(one.unread);
                judged.changes.extend(one.changes);
            }
        }
        if judged.documents == 0 {
            return Err(Failure(format!("`{}` holds no document to judge", folder.display())));
        }
        Ok(judged)
    }
}

/// What both rule files come to on a folder.
#[derive(Default)]
struct Judged {
    documents: usize,
    unread: Vec<(String, String)>,
    changes: Vec<OutcomeChange>,
}

fn text_of<'c>(given: &'c Given, sources: &'c Sources) -> report::Text<'c> {
    report::Text { name: &given.name, digest: Digest::of(&given.text), sources }
}

/// `terminal, plain and json`.
fn listed(names: &[&str]) -> String {
    match names.split_last() {
        Some((last, rest)) if !rest.is_empty() => format!("{} and {last}", rest.join(", ")),
        _ => names.concat(),
    }
}
