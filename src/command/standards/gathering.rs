//! The rule files, settings and schemas of a run, read one after the other.

use std::collections::HashSet;
use std::path::{Path, PathBuf};
use std::sync::Arc;

use super::super::MOST_KEPT;
use super::super::bounds::{Bounds, Copies, is_link};
use super::super::files::{self, Disk, Links, is_special_file};
use super::super::known::KnownFindings;
use super::super::logs::Beside;
use super::super::walk::{self, Reach, Walked, Why};
use super::{RULE_ENDING, Ready, Swap, standard_named};
use crate::code::{NO_SUCH_STANDARD, SETTINGS};
use crate::command::context::{MOST_WALKS, too_many_folders};
use crate::command::names::named;
use crate::decide::Setting;
use crate::diagnostic::{Diagnostic, Fault, Level, did_you_mean, nearest};
use crate::document::Forms;
use crate::language::ast::Severity;
use crate::language::check::Given;
use crate::language::{Clauses, looks_like_rules};
use crate::library::{SHIPPED, shipped};
use crate::report::JudgedBy;
use crate::session::{MOST_FILES, Reading, Request, Session, Trials};
use crate::settings::{self, Brought, Settings};
use crate::source::{Place, SourceId, Sources, Span};

/// Stands for a rule file that is read from standard input.
const STANDARD_INPUT: &str = "-";

/// What is gathered on the way to a session.
pub(super) struct Gathering {
    pub(super) sources: Sources,
    pub(super) standards: Vec<SourceId>,
    pub(super) earlier: Vec<SourceId>,
    /// The paths and names of what was named as a standard.
    pub(super) named: HashSet<PathBuf>,
    pub(super) forms: Forms,
    pub(super) givens: Vec<Given>,
    pub(super) diagnostics: Vec<Diagnostic>,
    /// Whether a link is followed where the command line names one as a standard.
    pub(super) links_of_named: Links,
    /// How many folders of rule files were gone through.
    pub(super) walks: usize,
    /// Where files that rule files use are.
    pub(super) disk: Disk,
    /// Which trials are read.
    pub(super) trials: Trials,
    /// What was read of rule files before.
    pub(super) clauses: Option<Arc<Clauses>>,
}

impl Gathering {
    pub(super) fn settings(&mut self, path: &Path, links: Links) -> Option<Settings> {
        let name = named(path);
        match files::read_by(path, links) {
            Ok(text) => {
                let source = self.sources.add(name, text);
                let (settings, diagnostics) = settings::read(source, &self.sources, &self.forms);
                self.diagnostics.extend(diagnostics);
                settings
            }
            Err(unread) => {
                let source = self.sources.add(name, unread.text);
                self.fault(unread.fault, Place { source, span: Span::new(unread.at, unread.at) });
                None
            }
        }
    }

    /// How many errors were found so far.
    pub(super) fn errors(&self) -> usize {
        self.diagnostics.iter().filter(|diagnostic| diagnostic.level == Level::Error).count()
    }

    fn fault(&mut self, fault: Fault, place: Place) {
        self.diagnostics.push(fault.at(place));
    }

    /// The workshop's own fields.
    pub(super) fn schemas(&mut self, settings: &Settings, bounds: &Bounds) {
        for (form, path, place) in &settings.schemas {
            let (path, text) = match schema(path, bounds) {
                Ok(read) => read,
                Err(fault) => {
                    self.fault(fault, *place);
                    continue;
                }
            };
            let source = self.sources.add(named(&path), text);
            let text = self.sources.get(source).map_or("", |source| source.text());
            match self.forms.extended(form, text, source) {
                Ok(forms) => self.forms = forms,
                Err(diagnostics) => self.diagnostics.extend(diagnostics),
            }
        }
    }

    /// The workshop's own words.
    pub(super) fn words(&mut self, settings: &Settings) {
        match self.forms.with_words(&settings.words) {
            Ok(forms) => self.forms = forms,
            Err(diagnostics) => self.diagnostics.extend(diagnostics),
        }
    }

    /// Adds a standard by the name of a shipped one or by path; of settings, within their bounds.
    pub(super) fn standard(&mut self, name: &str, bounds: Option<&Bounds>, place: Place) {
        if name == STANDARD_INPUT && self.trials == Trials::All && bounds.is_none() {
            let input = files::read_standard_input();
            return self.text(crate::source::STANDARD_INPUT.to_owned(), input, place);
        }
        let folder = bounds.map_or(Path::new(""), |bounds| &bounds.folder);
        let path = files::tidy(&folder.join(name));
        // What is named again is the same standard.
        if !self.named.insert(path.clone()) {
            return;
        }
        let looks_like_path = name.contains(['/', '\\']) || files::is_rule_file(&path);
        // A file that happens to have the name of a shipped standard is named by a path.
        let is_name = shipped(name).is_some() || std::fs::symlink_metadata(&path).is_err();
        if !looks_like_path && is_name {
            match shipped(name) {
                Some(found) => {
                    let id = self.sources.add(found.file, found.text);
                    self.standards.push(id);
                }
                None => self.unknown(name, place),
            }
            return;
        }
        if let Some(Err(fault)) = bounds.map(|bounds| bounds.path(name)) {
            return self.fault(fault, place);
        }
        if path.is_dir() {
            self.walks += 1;
            if self.walks > MOST_WALKS {
                if self.walks == MOST_WALKS + 1 {
                    self.diagnostics.push(too_many_folders(place));
                }
                return;
            }
            let Walked { files: found, unseen, .. } =
                walk::look_for(std::slice::from_ref(&path), &[RULE_ENDING], Reach::Kept);
            for (path, why) in unseen.iter().map(|unseen| (&unseen.path, unseen.why)) {
                match why {
                    Why::Link => self.fault(Fault { code: NO_SUCH_STANDARD, ..is_link(path) }, place),
                    Why::Special => {
                        self.fault(Fault { code: NO_SUCH_STANDARD, ..is_special_file(path) }, place)
                    }
                    Why::Dot | Why::Ignored | Why::Closed => {}
                }
            }
            if found.is_empty() && unseen.is_empty() {
                let message = format!("the folder `{name}` holds no rule files (*.{RULE_ENDING})");
                self.diagnostics.push(Diagnostic::error(NO_SUCH_STANDARD, place, message));
            }
            for file in found {
                let path = files::tidy(&file.path);
                self.text(named(&path), files::read_unlinked(&path), place);
            }
            return;
        }
        if bounds.is_some() && !files::is_rule_file(&path) {
            return self.fault(files::not_rules(NO_SUCH_STANDARD, name), place);
        }
        let links = if bounds.is_some() { Links::Refused } else { self.links_of_named };
        if links == Links::Refused && path.is_symlink() {
            return self.fault(Fault { code: NO_SUCH_STANDARD, ..is_link(&path) }, place);
        }
        self.text(named(&path), files::read_by(&path, links), place);
    }

    fn text(&mut self, name: String, read: Result<String, files::Unread>, place: Place) {
        if self.standards.len() >= MOST_FILES {
            // Said once: of so many nobody wants to read which were left out.
            let message = format!("more than {MOST_FILES} rule files are named, and the others are not read");
            let is_said = self.diagnostics.iter().any(|said| said.message == message);
            let diagnostic = Diagnostic::error(NO_SUCH_STANDARD, place, message);
            return self.diagnostics.extend((!is_said).then_some(diagnostic));
        }
        let said = read.as_ref().map_or_else(|unread| &*unread.text, String::as_str);
        if !looks_like_rules(said) {
            // Whatever it is, it is not shown.
            return self.fault(files::not_rules(NO_SUCH_STANDARD, &name), place);
        }
        match read {
            Ok(text) => {
                let id = self.sources.add(name, text);
                self.standards.push(id);
            }
            Err(unread) if unread.text.is_empty() => {
                self.fault(Fault { code: NO_SUCH_STANDARD, ..unread.fault }, place);
            }
            // There is a text to point into.
            Err(unread) => {
                let source = self.sources.add(name, unread.text);
                self.fault(unread.fault, Place { source, span: Span::new(unread.at, unread.at) });
            }
        }
    }

    fn unknown(&mut self, name: &str, place: Place) {
        let names: Vec<&str> = SHIPPED.iter().map(|shipped| shipped.name).collect();
        let message = format!("there is no standard `{name}`");
        let help = match nearest(name, names.iter().copied()) {
            Some(near) => did_you_mean(name, near),
            None => format!("the shipped ones are {}; name a rule file by its path", names.join(", ")),
        };
        self.diagnostics.push(Diagnostic::error(NO_SUCH_STANDARD, place, message).help(help));
    }

    /// Puts a rule file in the place of the standard of a name, or behind the others where none has it.
    /// Other editions stay for the jobs that are bound to them.
    pub(super) fn swap(&mut self, swap: &Swap) {
        let head = |id: SourceId| standard_named(self.sources.get(id).map_or("", |source| source.text()));
        let named = |id: SourceId| head(id).is_some_and(|(name, _)| name == swap.standard);
        let (same, mut standards): (Vec<SourceId>, Vec<SourceId>) =
            self.standards.iter().partition(|id| named(**id));
        let at = self.standards.iter().position(|id| named(*id)).unwrap_or(standards.len());
        let own = standard_named(&swap.text);
        let mut earlier: Vec<SourceId> = same.into_iter().chain(self.earlier.iter().copied()).collect();
        earlier.retain(|id| head(*id) != own);
        let id = self.sources.add(swap.file.clone(), swap.text.clone());
        standards.insert(at.min(standards.len()), id);
        (self.standards, self.earlier) = (standards, earlier);
    }

    pub(super) fn shipped(&mut self) {
        for standard in SHIPPED {
            let id = self.sources.add(standard.file, standard.text);
            self.standards.push(id);
        }
    }

    pub(super) fn ready(self, setting: Setting, fail_on: Option<Severity>) -> Ready {
        let rule_files = self.standards.iter().chain(&self.earlier).copied().collect();
        let request = Request {
            sources: self.sources,
            standards: self.standards,
            earlier: self.earlier,
            forms: self.forms,
            givens: self.givens,
            setting,
        };
        let reading = Reading { trials: self.trials, known: self.clauses.as_deref() };
        let session = Session::open_with(request, &self.disk, reading);
        let session = session.with_logs(Arc::new(Beside));
        Ready {
            session,
            diagnostics: self.diagnostics,
            fail_on,
            trials_exercise: None,
            settings: None,
            documents: settings::Documents::default(),
            bounds: Bounds { folder: PathBuf::new(), named: false },
            unsettled: false,
            known: KnownFindings::default(),
            brought: Brought::ALL,
            copies: Copies::default(),
            most_kept: MOST_KEPT,
            judged_by: JudgedBy::default(),
            episodes: None,
            makes_logbooks: false,
            logbooks: None,
            served: None,
            rule_files,
        }
    }
}

/// The path and text of a workshop's own schema. What is none is not shown.
fn schema(named: &str, bounds: &Bounds) -> Result<(PathBuf, String), Fault> {
    let path = bounds.path(named)?;
    let read = files::read_unlinked(&path);
    let said = read.as_ref().map_or_else(|unread| &*unread.text, String::as_str);
    // A schema extends one of our forms, which it names.
    if !said.is_empty() && !said.contains(OUR_SCHEMAS) {
        let message = format!("`{}` is not a schema: it extends no form of ours", path.display());
        return Err(Fault::new(SETTINGS, message)
            .help("a schema names the form that it extends, as in `\"$ref\": \"witnessmark:job/1\"`"));
    }
    read.map(|text| (path, text)).map_err(|unread| Fault { code: SETTINGS, ..unread.fault })
}

/// What the names of the schemas of our forms begin with.
const OUR_SCHEMAS: &str = concat!(env!("CARGO_PKG_NAME"), ":");
