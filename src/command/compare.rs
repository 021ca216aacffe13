//! `compare`: what changed between two documents or two rule files, and whose outcome that changes.

use std::path::{Path, PathBuf};

use clap::Args;
use rayon::prelude::*;

use super::around::{ENDINGS, is_document};
use super::files::{self, Links};
use super::known::KnownFiles;
use super::names::named;
use super::output::Place;
use super::standards::{RULE_ENDING, Ready, Swap, standard_named};
use super::{Exit, Failure, OutputOptions, RuleOptions, walk};
use crate::compare::{self, By, Comparison, OutcomeChange};
use crate::diagnostic::{Diagnostic, Level};
use crate::document::{self, Forms};
use crate::edition::Digest;
use crate::library::shipped;
use crate::report::{Audience, FORMATS, compare as report, difference, plain};
use crate::session::{Request, Session};
use crate::source::{SourceId, Sources};

/// Says what changed in meaning between two documents of one form, such as two editions of a procedure,
/// or between two rule files: not which lines differ, but which limit, step or rule. Comments, layout,
/// units and trials are no meaning. Exit code 0: nothing changed; 1: something did; 2: the two cannot be
/// compared.
#[derive(Debug, Args)]
pub(super) struct Compare {
    /// The old text: a document, a rule file, or the name of a shipped standard.
    #[arg(value_name = "OLD")]
    old: PathBuf,
    /// The new text.
    #[arg(value_name = "NEW")]
    new: PathBuf,
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

/// A text as it was read.
struct Given {
    name: String,
    text: String,
    is_rules: bool,
}

/// Two texts, compared.
struct Done {
    comparison: Comparison,
    sources: (Sources, Sources),
}

impl Compare {
    pub(super) fn run(self) -> Result<Exit, Failure> {
        if self.output.form().audience == Audience::FindingsOnly {
            let fit = FORMATS.iter().filter(|row| row.audience != Audience::FindingsOnly);
            let names: Vec<&str> = fit.map(|row| row.name).collect();
            return Err(Failure(format!("`compare` reports in the forms {}", listed(&names))));
        }
        let place = self.output.make_way([&*self.old, &*self.new])?;
        let ready = self.rules.open(Some(&self.old), &KnownFiles::default())?;
        let links = ready.bounds.links_of_named();
        let (old, new) = (given(&self.old, links)?, given(&self.new, links)?);
        let done = match (old.is_rules, new.is_rules) {
            (true, true) => self.rules(&place, &old, &new, &ready)?,
            (false, false) if self.jobs.is_some() => {
                return Err(Failure("--jobs judges by two rule files, and these are documents".to_owned()));
            }
            (false, false) => self.documents(&place, &old, &new, ready.session.forms())?,
            _ => {
                let (rules, document) = if old.is_rules { (&old, &new) } else { (&new, &old) };
                let (rules, document) = (&rules.name, &document.name);
                return Err(Failure(format!("`{rules}` is a rule file and `{document}` a document")));
            }
        };
        let judged = match &self.jobs {
            Some(folder) => Some(self.judged(&place, folder, &old, &new, &done.comparison)?),
            None => None,
        };
        let lines = self.lines.then(|| difference::unified((&old.name, &old.text), (&new.name, &new.text)));
        let compared = report::Compared {
            old: text_of(&old, &done.sources.0),
            new: text_of(&new, &done.sources.1),
            comparison: &done.comparison,
            with_spellings: self.spellings,
            lines: lines.as_ref().map(Option::as_deref),
            outcomes: judged.as_ref().map(|judged| report::Outcomes {
                documents: judged.documents,
                unread: &judged.unread,
                changes: &judged.changes,
            }),
        };
        let mut out = Vec::new();
        if self.output.is_for_programs() {
            report::for_programs(&compared, &mut out);
        } else {
            report::plain(&compared, &self.output.style(), &mut out);
        }
        self.write(&place, &out)?;
        let changed =
            !done.comparison.changes.is_empty() || judged.is_some_and(|judged| !judged.changes.is_empty());
        Ok(if changed { Exit::Findings } else { Exit::Clean })
    }

    fn write(&self, place: &Place, out: &[u8]) -> Result<(), Failure> {
        let mut sink = place.sink()?;
        sink.write(out)?;
        sink.finish()
    }

    /// Shows what stands in the way, and says what that prevents.
    fn refuse(&self, place: &Place, diagnostics: &[Diagnostic], sources: &Sources, why: String) -> Failure {
        let mut out = Vec::new();
        plain::diagnostics(diagnostics, sources, &self.output.style(), &mut out);
        match self.write(place, &out) {
            Ok(()) => Failure(why),
            Err(failure) => failure,
        }
    }

    fn documents(&self, place: &Place, old: &Given, new: &Given, forms: &Forms) -> Result<Done, Failure> {
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

    fn rules(&self, place: &Place, old: &Given, new: &Given, ready: &Ready) -> Result<Done, Failure> {
        let open = |given: &Given| -> Result<(Session, SourceId), Failure> {
            let mut sources = Sources::new();
            let id = sources.add(&given.name, &given.text);
            let request = Request {
                sources,
                standards: vec![id],
                earlier: Vec::new(),
                forms: ready.session.forms().clone(),
                givens: Vec::new(),
                setting: ready.session.setting().clone(),
            };
            let session = Session::open(request, &ready.disk());
            if session.is_faulty() {
                let why = format!("`{}` has mistakes, so it cannot be said what changed", given.name);
                return Err(self.refuse(place, session.diagnostics(), session.sources(), why));
            }
            Ok((session, id))
        };
        let ((ours, id), (theirs, other)) = (open(old)?, open(new)?);
        let comparison = compare::standards((&ours, id), (&theirs, other));
        let sources = (Sources::clone(ours.sources()), Sources::clone(theirs.sources()));
        Ok(Done { comparison, sources })
    }

    /// Judges the documents of a folder by both rule files.
    fn judged(
        &self,
        place: &Place,
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
        ours.surround(&files, 1);
        theirs.surround(&files, 1);
        let each: Vec<Judged> = files
            .par_iter()
            .map(|file| {
                let name = named(&file.path);
                let unread = |why: String| Judged { unread: vec![(name.clone(), why)], ..Judged::default() };
                if let Some(fault) = &file.fault {
                    return unread(fault.clone());
                }
                match files::read_by(&file.path, ours.bounds.links(file)) {
                    Ok(text) if is_document(&text) => {
                        let (old, new) =
                            (ours.session.judge(&name, &text), theirs.session.judge(&name, &text));
                        let (by_old, by_new) = (ours.session.program(), theirs.session.program());
                        let changes = compare::outcomes(
                            By { program: by_old, judged: &old },
                            By { program: by_new, judged: &new },
                            &comparison.renamed_rules,
                        );
                        Judged { documents: old.len(), unread: Vec::new(), changes }
                    }
                    Ok(_) => Judged::default(),
                    Err(missing) => unread(missing.fault.message),
                }
            })
            .collect();
        let mut judged = Judged::default();
        for one in each {
            judged.documents += one.documents;
            judged.unread.extend(one.unread);
            judged.changes.extend(one.changes);
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

/// Reads one of the two texts.
fn given(path: &Path, links: Links) -> Result<Given, Failure> {
    let name = path.display().to_string();
    if name == "-" {
        return Err(Failure("standard input is not compared; name two files".to_owned()));
    }
    if let Some(shipped) = shipped(&name).filter(|_| !path.exists()) {
        return Ok(Given { name: shipped.file.to_owned(), text: shipped.text.to_owned(), is_rules: true });
    }
    let text = files::read_by(path, links).map_err(|unread| {
        // A fault inside a text names no file.
        let message = unread.fault.message;
        if message.contains(&name) { Failure(message) } else { Failure(format!("`{name}`: {message}")) }
    })?;
    let ending = path.extension().and_then(|ending| ending.to_str());
    let is_rules = match ending {
        Some(ending) if ending == RULE_ENDING => true,
        Some(ending) if ENDINGS.contains(&ending) => false,
        _ => !is_document(&text),
    };
    Ok(Given { name: files::tidy(path).display().to_string(), text, is_rules })
}

/// `terminal, plain and json`.
fn listed(names: &[&str]) -> String {
    match names.split_last() {
        Some((last, rest)) if !rest.is_empty() => format!("{} and {last}", rest.join(", ")),
        _ => names.concat(),
    }
}
