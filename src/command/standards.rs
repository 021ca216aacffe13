//! The standards, parameters and day of a run, from the command line and the workshop's settings.

use std::collections::BTreeSet;
use std::path::{Path, PathBuf};
use std::sync::Arc;

use jiff::civil::Date;
use jiff::tz::TimeZone;

use super::files::{self, Disk};
use super::known::{KnownFiles, KnownFindings};
use super::logs::Beside;
use super::{Choice, Failure, Reading};
use crate::code::{NO_SUCH_STANDARD, OUTSIDE_WORKSHOP, SETTINGS};
use crate::diagnostic::{At, Diagnostic, Fault, did_you_mean, nearest};
use crate::document::{Forms, ReaderChoice};
use crate::edition::Edition;
use crate::evaluate::Setting;
use crate::language::ast::{Item, Severity, Standard};
use crate::language::check::Given;
use crate::language::parse;
use crate::library::{SHIPPED, shipped};
use crate::metrology::conformity::DecisionRule;
use crate::report::{RuleInfo, Run, StandardInfo};
use crate::session::{Request, Session};
use crate::settings::{self, Settings};
use crate::source::{Place, SourceId, Sources, Span};
use crate::time;

/// The name of the file of settings.
const SETTINGS_FILE: &str = "workshop.yaml";

/// The ending of rule files.
pub(super) const RULE_ENDING: &str = "standard";

/// A session that is ready, and what is wrong with what it was opened with.
pub(super) struct Ready {
    pub(super) session: Session,
    /// Mistakes in settings and command line; those of the rules are the session's.
    pub(super) diagnostics: Vec<Diagnostic>,
    /// What the settings say of the failing severity.
    pub(super) fails_at: Option<Severity>,
    /// The file of settings of the run.
    pub(super) settings: Option<PathBuf>,
    /// The documents that the settings put around every job, and the folder of the settings.
    pub(super) documents: settings::Documents,
    pub(super) folder: PathBuf,
    /// Whether there are settings and they could not be used: nothing is judged then, because
    /// nobody has chosen what it would be judged by.
    pub(super) unsettled: bool,
    /// The files of known findings.
    pub(super) known: KnownFindings,
}

impl Ready {
    /// What reports say of the run as a whole.
    pub(super) fn run(&self, fails_at: Severity) -> Run {
        let program = self.session.program();
        let mut diagnostics = self.diagnostics.clone();
        diagnostics.extend_from_slice(self.session.diagnostics());
        Run {
            version: env!("CARGO_PKG_VERSION").to_owned(),
            as_of: self.session.setting().as_of,
            decision: self.session.setting().decision.clone(),
            fails_at,
            standards: program
                .standards()
                .iter()
                .map(|standard| StandardInfo {
                    name: standard.name.clone(),
                    edition: Some(standard.edition),
                    title: Some(standard.title.clone()).filter(|title| !title.is_empty()),
                    place: standard.place,
                })
                .collect(),
            rules: program
                .rules()
                .iter()
                .map(|rule| RuleInfo {
                    name: rule.name.clone(),
                    title: rule.title.clone(),
                    severity: rule.severity,
                    remedy: rule.remedy.clone(),
                    because: rule.because.clone(),
                    basis: rule.basis.clone(),
                    place: rule.name_place,
                })
                .collect(),
            diagnostics,
            sources: Arc::clone(self.session.sources()),
        }
    }
}

/// A rule file that takes the place of the standard of a name.
#[derive(Clone, Debug)]
pub(super) struct Swap {
    /// The name of the standard.
    pub(super) standard: String,
    /// The name of the file.
    pub(super) file: String,
    /// Its text.
    pub(super) text: String,
}

/// The name and edition of the standard whose head stands in a rule file.
pub(super) fn standard_named(text: &str) -> Option<(String, Edition)> {
    let head = head_of(text)?;
    Some((head.name.node, head.edition?.node))
}

/// The head of the standard in a rule file.
fn head_of(text: &str) -> Option<Standard> {
    let (file, _) = parse(SourceId::FIRST, text);
    file.items.into_iter().find_map(|item| match item {
        Item::Standard(standard) => Some(standard),
        _ => None,
    })
}

/// What is gathered on the way to a session.
struct Gathering {
    sources: Sources,
    standards: Vec<SourceId>,
    earlier: Vec<SourceId>,
    forms: Forms,
    givens: Vec<Given>,
    diagnostics: Vec<Diagnostic>,
}

impl Reading {
    fn choice(self) -> ReaderChoice {
        if self.yaml_reader_only { ReaderChoice::YamlOnly } else { ReaderChoice::QuickFirst }
    }
}

impl Choice {
    /// Opens a session. `near` is the first path of the run, by which the settings are found; `known`
    /// names the files of known findings.
    pub(super) fn open(&self, near: Option<&Path>, known: &KnownFiles) -> Result<Ready, Failure> {
        let mut gathering = Gathering {
            sources: Sources::new(),
            standards: Vec::new(),
            earlier: Vec::new(),
            forms: Forms::builtin().read_by(self.reading.choice()),
            givens: Vec::new(),
            diagnostics: Vec::new(),
        };
        let command_line = gathering.sources.add("the command line", self.words());
        let settings_path = self.settings_path(near);
        let settings = settings_path.as_deref().and_then(|path| gathering.settings(path));
        let unsettled = settings_path.is_some() && settings.is_none();
        let folder = settings_path.as_deref().and_then(Path::parent).unwrap_or(Path::new(""));
        let workshop = settings.as_ref();
        if let Some(settings) = workshop {
            gathering.schemas(settings, folder);
            // Standards named on the command line need not be all that the settings speak of.
            let others =
                if self.standards.is_empty() { BTreeSet::new() } else { standards_of(settings, folder) };
            let at_large = |given: &Given| match given.name.rsplit_once('.') {
                Some((standard, _)) => others.contains(standard),
                None => !others.is_empty(),
            };
            gathering.givens.extend(
                settings.parameters.iter().map(|given| Given { at_large: at_large(given), ..given.clone() }),
            );
        }
        if !self.standards.is_empty() {
            for (number, name) in self.standards.iter().enumerate() {
                let place = self.place_of(command_line, number);
                gathering.standard(name, Path::new(""), place);
            }
        } else if let Some(settings) = workshop.filter(|settings| !settings.standards.is_empty()) {
            for (name, place) in &settings.standards {
                gathering.standard(name, folder, *place);
            }
        } else {
            gathering.shipped();
        }
        if let Some(settings) = workshop {
            let in_force = std::mem::take(&mut gathering.standards);
            for (name, place) in &settings.documents.standards {
                gathering.standard(name, folder, *place);
            }
            gathering.earlier = std::mem::replace(&mut gathering.standards, in_force);
        }
        for (number, parameter) in self.parameters.iter().enumerate() {
            let place = self.place_of(command_line, self.standards.len() + number);
            let Some((name, text)) = parameter.split_once('=') else {
                return Err(Failure(format!("`{parameter}` is not of the form NAME=VALUE")));
            };
            let given =
                Given { name: name.trim().to_owned(), text: text.trim().to_owned(), place, at_large: false };
            gathering.givens.push(given);
        }
        let zone = workshop.map_or(TimeZone::unknown(), |settings| settings.zone.clone());
        let as_of = self.day(&zone)?;
        let fails_at = workshop.and_then(|settings| settings.fails_at);
        if let Some(swap) = &self.swap {
            gathering.swap(swap);
        }
        let known = known.read(&mut gathering.sources, &gathering.forms, &mut gathering.diagnostics);
        let decision = workshop.map_or(DecisionRule::Simple, |settings| settings.decision.clone());
        let named =
            workshop.map(|settings| settings.paths().map(|(path, at)| (folder.join(path), at)).collect());
        let named: Vec<(PathBuf, Place)> = named.unwrap_or_default();
        let mut ready = gathering.ready(Setting { as_of, zone, decision }, fails_at);
        if known.are_named() {
            ready.session = ready.session.keeping_what_is_seen();
        }
        if workshop.is_some() {
            // What a rule file outside uses is told by the line that names that file.
            let name = |place: &Place| Path::new(ready.session.sources().name(place.source));
            let used =
                ready.session.used().iter().filter(|(_, place)| leads(folder, name(place)) == Some(true));
            let used = used.map(|(file, place)| (PathBuf::from(file), *place));
            let outside =
                named.into_iter().chain(used).filter_map(|(path, place)| outside(folder, &path, place));
            let outside: Vec<Diagnostic> = outside.collect();
            ready.diagnostics.extend(outside);
        }
        let strangers = known.strangers(&ready.session);
        ready.diagnostics.extend(strangers);
        let folder = folder.to_owned();
        let documents = settings.map(|settings| settings.documents).unwrap_or_default();
        Ok(Ready { settings: settings_path, unsettled, documents, folder, known, ..ready })
    }

    /// The words of the command line that messages may have to point at.
    fn words(&self) -> String {
        self.standards.iter().chain(&self.parameters).map(String::as_str).collect::<Vec<_>>().join("\n")
    }

    fn place_of(&self, source: SourceId, number: usize) -> Place {
        let before =
            self.standards.iter().chain(&self.parameters).take(number).map(|word| word.len() + 1).sum();
        let word = self.standards.iter().chain(&self.parameters).nth(number).map_or(0, String::len);
        Place { source, span: Span::new(before, before + word) }
    }

    fn settings_path(&self, near: Option<&Path>) -> Option<PathBuf> {
        if self.without_settings {
            return None;
        }
        self.settings.clone().or_else(|| settings_for(near.unwrap_or(Path::new("."))))
    }

    /// Refuses files that lie under other settings than those of the run: judged by those, they
    /// would be judged by another workshop's figures.
    pub(super) fn one_workshop<'p>(
        &self,
        files: impl Iterator<Item = &'p Path>,
        used: Option<&Path>,
    ) -> Result<(), Failure> {
        if self.without_settings || self.settings.is_some() {
            return Ok(());
        }
        let folders: BTreeSet<&Path> = files.filter_map(Path::parent).collect();
        for folder in folders {
            let folder = if folder.as_os_str().is_empty() { Path::new(".") } else { folder };
            let own = settings_for(folder);
            if let Some(own) = own.filter(|own| Some(own.as_path()) != used) {
                let used =
                    used.map_or_else(|| "no settings".to_owned(), |used| format!("`{}`", used.display()));
                return Err(Failure(format!(
                    "`{}` has settings of its own, `{}`, and this run has {used}; inspect each workshop by itself, \
                     or name the settings with --settings",
                    folder.display(),
                    own.display()
                )));
            }
        }
        Ok(())
    }

    fn day(&self, zone: &TimeZone) -> Result<Date, Failure> {
        match &self.as_of {
            Some(day) => time::day(day).map_err(|fault| {
                let help = fault.help.map_or_else(String::new, |help| format!("; {help}"));
                Failure(format!("{}{help}", fault.message))
            }),
            None => Ok(jiff::Timestamp::now().to_zoned_datetime(zone.clone()).date()),
        }
    }
}

/// The names of the standards that settings speak of: those that they choose, or the shipped ones.
fn standards_of(settings: &Settings, folder: &Path) -> BTreeSet<String> {
    let shipped = || SHIPPED.iter().map(|shipped| shipped.name.to_owned());
    if settings.standards.is_empty() {
        return shipped().collect();
    }
    let mut names: BTreeSet<String> = shipped().collect();
    for (name, _) in &settings.standards {
        let path = files::tidy(&folder.join(name));
        for found in files::find(&[path], &[RULE_ENDING]) {
            let text = files::read(&found.path).unwrap_or_default();
            names.extend(head_of(&text).map(|head| head.name.node));
        }
    }
    names
}

/// Whether a path leads into a folder, by whatever links and names; nothing where it leads nowhere.
fn leads(folder: &Path, path: &Path) -> Option<bool> {
    let folder = if folder.as_os_str().is_empty() { Path::new(".") } else { folder };
    Some(std::fs::canonicalize(path).ok()?.starts_with(std::fs::canonicalize(folder).ok()?))
}

/// Says that a path leads out of the folder of the settings. That nothing is there is said elsewhere.
fn outside(folder: &Path, path: &Path, place: Place) -> Option<Diagnostic> {
    let leaves = leads(folder, path) == Some(false);
    let message = format!("`{}` lies outside the folder of the settings", files::tidy(path).display());
    let help = "it is read all the same; keep what belongs to the workshop in its folder";
    leaves.then(|| Diagnostic::advice(OUTSIDE_WORKSHOP, place, message).help(help))
}

/// The settings that hold for a path: the nearest file of settings in its folder or above it.
fn settings_for(path: &Path) -> Option<PathBuf> {
    let start = files::tidy(&std::path::absolute(path).ok()?);
    let found = start.ancestors().map(|folder| folder.join(SETTINGS_FILE)).find(|path| path.exists())?;
    Some(shorter(&found))
}

/// The path from the working folder, where it lies in it.
fn shorter(path: &Path) -> PathBuf {
    let here = std::env::current_dir().ok();
    here.and_then(|here| path.strip_prefix(here).ok().map(Path::to_owned)).unwrap_or_else(|| path.to_owned())
}

impl Gathering {
    fn settings(&mut self, path: &Path) -> Option<Settings> {
        let name = path.display().to_string();
        match files::read(path) {
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

    fn fault(&mut self, fault: Fault, place: Place) {
        if let Err(diagnostic) = Err::<(), Fault>(fault).at(place) {
            self.diagnostics.push(diagnostic);
        }
    }

    /// The workshop's own fields.
    fn schemas(&mut self, settings: &Settings, folder: &Path) {
        for (form, path, place) in &settings.schemas {
            let path = files::tidy(&folder.join(path));
            let text = match files::read(&path) {
                Ok(text) => text,
                Err(unread) => {
                    self.fault(Fault { code: SETTINGS, ..unread.fault }, *place);
                    continue;
                }
            };
            let source = self.sources.add(path.display().to_string(), text);
            let text = self.sources.get(source).map_or("", |source| source.text());
            match self.forms.extended(form, text, source) {
                Ok(forms) => self.forms = forms,
                Err(diagnostics) => self.diagnostics.extend(diagnostics),
            }
        }
    }

    /// Adds a standard by the name of a shipped one or by path.
    fn standard(&mut self, name: &str, folder: &Path, place: Place) {
        let path = files::tidy(&folder.join(name));
        let looks_like_path = name.contains(['/', '\\']) || name.ends_with(&format!(".{RULE_ENDING}"));
        if !looks_like_path && !path.exists() {
            match shipped(name) {
                Some(found) => {
                    let id = self.sources.add(found.file, found.text);
                    self.standards.push(id);
                }
                None => self.unknown(name, place),
            }
            return;
        }
        if path.is_dir() {
            let found = files::find(std::slice::from_ref(&path), &[RULE_ENDING]);
            if found.is_empty() {
                let message = format!("the folder `{name}` holds no rule files (*.{RULE_ENDING})");
                self.diagnostics.push(Diagnostic::error(NO_SUCH_STANDARD, place, message));
            }
            for file in found {
                self.file(&file.path, place);
            }
            return;
        }
        self.file(&path, place);
    }

    fn file(&mut self, path: &Path, place: Place) {
        let path = files::tidy(path);
        let name = path.display().to_string();
        match files::read(&path) {
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
    fn swap(&mut self, swap: &Swap) {
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

    fn shipped(&mut self) {
        for standard in SHIPPED {
            let id = self.sources.add(standard.file, standard.text);
            self.standards.push(id);
        }
    }

    fn ready(self, setting: Setting, fails_at: Option<Severity>) -> Ready {
        let request = Request {
            sources: self.sources,
            standards: self.standards,
            earlier: self.earlier,
            forms: self.forms,
            givens: self.givens,
            setting,
        };
        let session = Session::open(request, &Disk).with_logs(Arc::new(Beside));
        Ready {
            session,
            diagnostics: self.diagnostics,
            fails_at,
            settings: None,
            documents: settings::Documents::default(),
            folder: PathBuf::new(),
            unsettled: false,
            known: KnownFindings::default(),
        }
    }
}

#[cfg(test)]
mod tests {
    use clap::Parser;

    use super::super::Reading;
    use crate::document::ReaderChoice;

    #[derive(Parser)]
    struct Line {
        #[command(flatten)]
        reading: Reading,
    }

    // Both readers give the same result, so that no output can tell which of them was used.
    #[test]
    fn the_quick_reader_is_used_unless_it_is_switched_off() {
        let choice = |words: &[&str]| Line::parse_from(words).reading.choice();
        assert_eq!(choice(&["witnessmark"]), ReaderChoice::QuickFirst);
        assert_eq!(choice(&["witnessmark", "--yaml-reader-only"]), ReaderChoice::YamlOnly);
    }
}
