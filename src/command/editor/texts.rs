//! The texts that are open, the workshops that they are of, and what is said of them.

use std::collections::{BTreeMap, BTreeSet};
use std::ffi::OsStr;
use std::path::{Path, PathBuf};
use std::rc::Rc;
use std::sync::Arc;

use super::open::Open;
use super::rule_file::{Proof, Proved};
use super::uri;
use super::workshop::{Taken, Workshop};
use crate::code::{OUTSIDE_WORKSHOP, SETTINGS};
use crate::command::bounds::{absolute, nearer};
use crate::command::context::ENDINGS;
use crate::command::files::{self, is_rule_file};
use crate::command::known::KnownFiles;
use crate::command::likeness::{is_to_be_read, names_a_form};
use crate::command::names::{named, path_of};
use crate::command::{Failure, RuleOptions, unsaved};
use crate::diagnostic::{self, Fault};
use crate::document::Forms;
use crate::editor::diagnostics::{INFORMATION, no_verdict, of_fault, of_judged, of_run};
use crate::editor::protocol::{Change, Diagnostic};
use crate::editor::readable;
use crate::editor::symbols::Symbols;
use crate::editor::text::TooMany;
use crate::session::Session;
use crate::session::internal::sound;
use crate::source::Sources;

/// A workshop that was opened anew, and for which state of the texts.
pub(super) struct Opening {
    pub(super) settings: Option<PathBuf>,
    pub(super) number: u64,
    pub(super) opened: Result<Workshop, Failure>,
}

/// A workshop of open texts.
#[derive(Default)]
pub(super) struct Kept {
    pub(super) workshop: Option<Workshop>,
    /// The last one whose settings could be used, where those are being typed: by it names are known meanwhile.
    settled: Option<Workshop>,
    /// Why there is none.
    broken: Option<String>,
    /// Which state of the texts it is to be opened for; nothing while it is as they are.
    wanted: Option<u64>,
    /// Which state it is being opened for.
    under_way: Option<u64>,
}

/// The open texts, by their addresses as the editor writes them.
pub(super) struct Texts {
    pub(super) rules: RuleOptions,
    known: KnownFiles,
    /// The folders of the workspace, by all names that they have; without any, all is in it.
    folders: Vec<PathBuf>,
    pub(super) open: BTreeMap<String, Open>,
    pub(super) workshops: BTreeMap<Option<PathBuf>, Kept>,
    /// Those of which something is to be said anew.
    pub(super) waiting: BTreeSet<String>,
    /// Rule files that stand on a text which has changed: they are checked anew when no key comes.
    to_check: BTreeSet<String>,
    /// Rule files of which a proof is wanted.
    to_prove: BTreeSet<String>,
    /// Whether one is being made.
    is_proving: bool,
    /// Counts the changes after which workshops are opened anew.
    changes: u64,
    /// The forms that come with the program, for texts whose workshop is not there.
    pub(super) forms: Forms,
    /// What is to be shown to the user: how grave, and the words.
    pub(super) messages: Vec<(u8, String)>,
}

impl Texts {
    pub(super) fn new(rules: RuleOptions, known: KnownFiles) -> Texts {
        Texts {
            rules: RuleOptions { clauses: Some(Arc::default()), ..rules },
            known,
            folders: Vec::new(),
            open: BTreeMap::new(),
            workshops: BTreeMap::new(),
            waiting: BTreeSet::new(),
            to_check: BTreeSet::new(),
            to_prove: BTreeSet::new(),
            is_proving: false,
            changes: 0,
            forms: Forms::builtin(),
            messages: Vec::new(),
        }
    }

    /// Takes the folders of the workspace, the first of which becomes the working folder.
    pub(super) fn live_in(&mut self, folders: &[PathBuf]) {
        self.folders.extend(all_names(folders));
        if let Some(first) = folders.first() {
            // Without it, names are longer, and nothing else.
            let _ = std::env::set_current_dir(first);
        }
    }

    /// Takes folders in, and others out. Which is the working folder stays as it was.
    pub(super) fn move_in(&mut self, added: &[PathBuf], removed: &[PathBuf]) {
        let gone: Vec<PathBuf> = all_names(removed).collect();
        self.folders.retain(|folder| !gone.contains(folder));
        self.folders.extend(all_names(added));
        self.look_again();
        self.waiting.extend(self.open.keys().cloned());
    }

    /// Whether a file is in the workspace, by its name and by where links lead.
    pub(super) fn holds(&self, path: &Path) -> bool {
        let is_in = |whole: &Path| self.folders.iter().any(|folder| whole.starts_with(folder));
        let whole = absolute(path);
        self.folders.is_empty() || (is_in(&whole) && real(&whole).is_none_or(|real| is_in(&real)))
    }

    /// What of an open text is outside the workspace, so that nothing may be read for it: its settings or itself.
    fn outside<'o>(&self, open: &'o Open) -> Option<&'o Path> {
        if self.rules.run.workshop.settings.is_some() {
            return None;
        }
        let parts = [open.settings.as_deref(), open.path.as_deref()];
        parts.into_iter().flatten().find(|path| !self.holds(path))
    }

    /// The documents that are judged together: those of these settings, in the workspace.
    fn documents_under(&self, settings: &Option<PathBuf>) -> impl Iterator<Item = (&String, &Open)> {
        let is_it =
            |open: &Open| open.settings == *settings && !open.is_rules() && self.outside(open).is_none();
        self.open.iter().filter(move |(_, open)| is_it(open))
    }

    pub(super) fn open(&mut self, address: &str, version: i64, text: String) {
        let path = uri::path(address).map(|path| nearer(&files::tidy(&path)));
        let name = path.as_deref().map_or_else(|| address.to_owned(), named);
        let settings = self.rules.settings_path(path.as_deref());
        if let Some(path) = &path {
            unsaved::put(path, Some(&text));
        }
        let open = Open::new(path, name, version, text, settings);
        let (settings, is_rules) = (open.settings.clone(), open.is_rules());
        let is_outside = self.outside(&open).is_some();
        let kept = self.workshops.get(&settings).and_then(|kept| kept.workshop.as_ref());
        let is_over = open.path.as_ref().zip(kept).is_some_and(|(path, kept)| kept.is_over(path));
        self.open.insert(address.to_owned(), open);
        self.waiting.insert(address.to_owned());
        if is_outside {
            return;
        }
        match is_rules || is_over {
            // What it says may be other than what is on disk.
            true => self.has_changed(address),
            false => self.open_anew(&settings),
        }
    }

    /// # Errors
    /// The text is not open, or the changes are too many.
    pub(super) fn change(
        &mut self,
        address: &str,
        version: i64,
        changes: Vec<Change>,
    ) -> Result<(), Option<TooMany>> {
        let open = self.open.get_mut(address).ok_or(None)?;
        open.rules.follow(&changes);
        open.text.change(changes).map_err(Some)?;
        open.version = version;
        if let Some(path) = &open.path {
            unsaved::put(path, Some(open.text.text()));
        }
        self.waiting.insert(address.to_owned());
        self.has_changed(address);
        Ok(())
    }

    pub(super) fn close(&mut self, address: &str) {
        let Some(open) = self.open.remove(address) else { return };
        self.waiting.remove(address);
        self.to_prove.remove(address);
        if let Some(path) = &open.path {
            unsaved::put(path, None);
        }
        self.to_check.remove(address);
        self.check_what_stands_on(&open.name, None);
        let is_last = self.documents_under(&open.settings).next().is_none();
        match !is_last {
            true => self.open_anew(&open.settings),
            false => drop(self.workshops.remove(&open.settings)),
        }
    }

    /// Reads anew what is on disk beside the open texts.
    pub(super) fn look_again(&mut self) {
        let all: Vec<Option<PathBuf>> = self.workshops.keys().cloned().collect();
        all.iter().for_each(|settings| self.open_anew(settings));
        // Settings can have come or gone.
        for open in self.open.values_mut() {
            open.settings = self.rules.settings_path(open.path.as_deref());
        }
        let documents = self.open.values().filter(|open| !open.is_rules() && self.outside(open).is_none());
        let all: BTreeSet<Option<PathBuf>> = documents.map(|open| open.settings.clone()).collect();
        self.workshops.retain(|settings, _| all.contains(settings));
        let is_new = |settings: &&Option<PathBuf>| !self.workshops.contains_key(*settings);
        let new: Vec<Option<PathBuf>> = all.iter().filter(is_new).cloned().collect();
        new.iter().for_each(|settings| self.open_anew(settings));
        for (address, open) in self.open.iter_mut().filter(|(_, open)| open.is_rules()) {
            open.rules.forget();
            self.waiting.insert(address.clone());
        }
    }

    /// Takes note of a text that is another now.
    fn has_changed(&mut self, address: &str) {
        let Some(open) = self.open.get(address).filter(|open| self.outside(open).is_none()) else { return };
        let (settings, name, text) = (open.settings.clone(), open.name.clone(), open.text.text().to_owned());
        self.check_what_stands_on(&name, Some(&text));
        let Some(open) = self.open.get(address) else { return };
        let kept = self.workshops.get_mut(&settings).and_then(|kept| kept.workshop.as_mut());
        let (Some(workshop), Some(path)) = (kept, &open.path) else { return };
        if workshop.take(path, &open.name, open.text.text()) == Taken::Anew {
            self.open_anew(&settings);
        }
    }

    /// Wants the rule files to be checked and proved anew that were read together with a text of this name.
    fn check_what_stands_on(&mut self, name: &str, now: Option<&str>) {
        for (address, open) in self.open.iter_mut().filter(|(_, open)| open.is_rules() && open.name != name) {
            if open.rules.stand_on(name, now) {
                open.rules.forget_soon();
                self.to_check.insert(address.clone());
            }
        }
    }

    /// Checks anew what stands on texts that have changed, now that no key comes.
    pub(super) fn begin_checking(&mut self) {
        for address in std::mem::take(&mut self.to_check) {
            if let Some(open) = self.open.get_mut(&address) {
                open.rules.forget();
                self.waiting.insert(address);
            }
        }
    }

    /// Wants a workshop to be opened for the texts as they are now.
    fn open_anew(&mut self, settings: &Option<PathBuf>) {
        self.changes += 1;
        self.workshops.entry(settings.clone()).or_default().wanted = Some(self.changes);
    }

    /// Whether a workshop waits to be opened anew or a rule file to be proved, and whether a workshop waits for the first time.
    pub(super) fn is_stale(&self) -> Option<bool> {
        let waiting = |kept: &&Kept| kept.wanted.is_some() && kept.under_way.is_none();
        let mut stale = self.workshops.values().filter(waiting).peekable();
        let is_unproved = !self.to_prove.is_empty() && !self.is_proving;
        let is_to_do = is_unproved || !self.to_check.is_empty();
        (stale.peek().is_some() || is_to_do).then(|| stale.any(|kept| kept.workshop.is_none()))
    }

    /// Begins to prove one of the rule files that wait for it.
    pub(super) fn begin_proving(&mut self, send: impl Fn(Box<Proof>) + Send + 'static) {
        if self.is_proving {
            return;
        }
        let Some(address) = self.to_prove.pop_first() else { return };
        let Some(open) = self.open.get(&address) else { return };
        let (Some(path), of) = (open.path.clone(), open.state()) else { return };
        let rules = self.rules.clone();
        self.is_proving = true;
        std::thread::spawn(move || {
            let proved = sound(|| Proved::open(&rules, &path));
            let proved = proved.unwrap_or_else(|fault| Err(Failure(fault.message)));
            send(Box::new(Proof { address, of, proved }));
        });
    }

    /// Takes a proof; one of a text that is another now is dropped.
    ///
    /// # Errors
    /// Why there is none.
    pub(super) fn take_proof(&mut self, proof: Proof) -> Result<(), Failure> {
        let Proof { address, of, proved } = proof;
        self.is_proving = false;
        let Some(open) = self.open.get_mut(&address).filter(|open| open.state() == of) else {
            return Ok(());
        };
        open.rules.take(proved?, &open.name, open.version);
        self.waiting.insert(address);
        Ok(())
    }

    /// The proof of a rule file as it is now, made at once where it is not there.
    pub(super) fn proof(&mut self, address: &str) -> Option<&Proved> {
        let open = self.open.get(address).filter(|open| open.is_rules())?;
        if self.outside(open).is_some() {
            return None;
        }
        let open = self.open.get_mut(address)?;
        let version = open.version;
        if open.rules.proof_of(version).is_none() {
            let proved = Proved::open(&self.rules, open.path.as_ref()?).ok()?;
            open.rules.take(proved, &open.name, version);
            self.waiting.insert(address.to_owned());
        }
        self.open.get(address)?.rules.proof_of(version)
    }

    /// Begins to open the workshops that wait for it, each on a thread of its own.
    pub(super) fn begin_opening(&mut self, send: &(impl Fn(Box<Opening>) + Clone + Send + 'static)) {
        let mut paths: BTreeMap<Option<PathBuf>, Vec<PathBuf>> = BTreeMap::new();
        for settings in self.workshops.keys() {
            let of_it = self.documents_under(settings).filter_map(|(_, open)| open.path.clone());
            paths.insert(settings.clone(), of_it.collect());
        }
        for (settings, kept) in &mut self.workshops {
            let Some(number) = kept.wanted.filter(|_| kept.under_way.is_none()) else { continue };
            (kept.wanted, kept.under_way) = (None, Some(number));
            let paths = paths.get(settings).cloned().unwrap_or_default();
            let (rules, known, settings) = (self.rules.clone(), self.known.clone(), settings.clone());
            let send = send.clone();
            std::thread::spawn(move || {
                let opened = sound(|| Workshop::open(&rules, &known, &paths));
                let opened = opened.unwrap_or_else(|fault| Err(Failure(fault.message)));
                send(Box::new(Opening { settings, number, opened }));
            });
        }
    }

    /// Takes a workshop that was opened. One that is older than the last change is judged by until the next one comes, for
    /// it is nearer to what is open than the one before.
    pub(super) fn take(&mut self, opening: Opening) {
        let Opening { settings, number, opened } = opening;
        let Some(kept) = self.workshops.get_mut(&settings) else { return };
        if kept.under_way != Some(number) {
            return;
        }
        kept.under_way = None;
        match opened {
            Ok(workshop) => {
                let before = kept.workshop.replace(workshop).filter(|before| !before.is_unsettled());
                let is_unsettled = kept.workshop.as_ref().is_some_and(Workshop::is_unsettled);
                kept.settled = if is_unsettled { before.or(kept.settled.take()) } else { None };
                kept.broken = None;
            }
            Err(Failure(why)) => (kept.workshop, kept.broken) = (None, Some(why)),
        }
        let all: Vec<String> = self.documents_under(&settings).map(|(address, _)| address.clone()).collect();
        for address in &all {
            // What was typed while it was opened; and what was judged was judged by other rules.
            let Some(open) = self.open.get_mut(address) else { continue };
            (open.judged, open.rest) = (None, None);
            let workshop = self.workshops.get_mut(&settings).and_then(|kept| kept.workshop.as_mut());
            if let (Some(path), Some(workshop)) = (&open.path, workshop) {
                workshop.take(path, &open.name, open.text.text());
            }
        }
        self.waiting.extend(all);
    }

    /// Judges a text as it is now, and says what is wrong with it; nothing where its workshop is being opened.
    pub(super) fn say(&mut self, address: &str) -> Option<Vec<Diagnostic>> {
        let open = self.open.get(address)?;
        if let Some(path) = self.outside(open) {
            let settings = open.settings.as_deref().filter(|settings| *settings == path);
            return Some(vec![outside(path, settings.is_some())]);
        }
        match open.is_rules() {
            true => self.say_of_rules(address),
            false => self.say_of_documents(address),
        }
    }

    fn say_of_rules(&mut self, address: &str) -> Option<Vec<Diagnostic>> {
        let Open { path, name, version, rules, .. } = self.open.get_mut(address)?;
        let checked = match path {
            Some(path) => rules.check(&self.rules, path, name, *version),
            None => Err(Failure("save this file to have its rules checked".to_owned())),
        };
        if let Err(Failure(why)) = checked {
            return Some(vec![whole(why)]);
        }
        if rules.proof_of(*version).is_none() {
            self.to_prove.insert(address.to_owned());
        }
        Some(rules.said())
    }

    fn say_of_documents(&mut self, address: &str) -> Option<Vec<Diagnostic>> {
        let open = self.open.get_mut(address)?;
        let kept = self.workshops.get(&open.settings)?;
        let Some(workshop) = &kept.workshop else { return Some(vec![whole(kept.broken.clone()?)]) };
        let path = open.path.clone().unwrap_or_else(|| PathBuf::from(&open.name));
        let text = open.text.text();
        let is_settings = workshop.is_settings(&path);
        let is_stale = kept.wanted.is_some() || kept.under_way.is_some();
        if is_settings && is_stale {
            // What is said of them is about the text as it was.
            return None;
        }
        let forms = workshop.session().forms();
        if !is_settings && (!is_to_be_read(text, forms) || is_another_text(open.path.as_deref(), text)) {
            open.judged = None;
            return Some(Vec::new());
        }
        let of_run = match is_stale {
            true => Vec::new(),
            false => of_run(&workshop.diagnostics, workshop.sources(), &open.name, &uri::of_name),
        };
        if is_settings {
            open.judged = None;
            return Some(of_run);
        }
        let elsewhere = no_verdict(&workshop.diagnostics, workshop.sources(), &open.name, &uri::of_name);
        if workshop.is_unsettled() {
            open.judged = None;
            return Some(elsewhere.into_iter().chain(of_run).collect());
        }
        let judged = workshop.judge(&path, &open.name, text);
        let mut own = of_judged(&judged, &uri::of_name);
        if is_blank(text) {
            // Somebody is about to write it.
            own.iter_mut().for_each(|said| said.severity = INFORMATION);
        }
        open.judged = Some((open.version, judged));
        Some(elsewhere.into_iter().chain(of_run).chain(own).collect())
    }

    /// Judges what can be read of a text that cannot be read as it is typed, for what is shown beside its readings.
    pub(super) fn judge_the_rest(&mut self, address: &str) {
        let Some(open) = self.open.get(address) else { return };
        let is_unread = open.judged_now().iter().any(|one| !one.readable);
        if !is_unread || open.rest.as_ref().is_some_and(|(version, _)| *version == open.version) {
            return;
        }
        let kept = self.workshops.get(&open.settings).and_then(|kept| kept.workshop.as_ref());
        let (Some(workshop), Some(path)) = (kept, &open.path) else { return };
        let text = readable::text(open.text.text(), workshop.session().forms());
        let judged = text.map(|text| workshop.judge(path, &open.name, &text)).unwrap_or_default();
        let version = open.version;
        if let Some(open) = self.open.get_mut(address) {
            open.rest = Some((version, judged));
        }
    }

    /// Judges a text that was changed since it was judged last; what is wrong with it is said in its turn.
    pub(super) fn catch_up(&mut self, address: &str) {
        if self.waiting.contains(address) {
            drop(self.say(address));
        }
    }

    /// What is said of the run over a text.
    pub(super) fn said_of_run<'a>(&'a self, open: &Open) -> &'a [diagnostic::Diagnostic] {
        let kept = self.workshops.get(&open.settings).and_then(|kept| kept.workshop.as_ref());
        kept.map_or(&[], |workshop| &workshop.diagnostics)
    }

    /// The texts that this is said of.
    pub(super) fn sources_of_run<'a>(&'a self, open: &Open, session: &'a Session) -> &'a Sources {
        let kept = self.workshops.get(&open.settings).and_then(|kept| kept.workshop.as_ref());
        kept.map_or(session.sources(), |workshop| workshop.sources())
    }

    /// The forms that documents beside a text follow.
    pub(super) fn forms_of<'a>(&'a self, open: &'a Open) -> &'a Forms {
        self.session_of(open).map_or(&self.forms, Session::forms)
    }

    /// The names in an open rule file.
    pub(super) fn symbols_of(&self, open: &Open) -> Rc<Symbols> {
        open.symbols(|| self.symbols(open.text.text(), open))
    }

    /// The names in the text of a rule file beside an open one.
    pub(super) fn symbols(&self, text: &str, beside: &Open) -> Symbols {
        Symbols::of(text, self.forms_of(beside), self.rules.clauses.as_deref())
    }

    /// The address of a text that reports call so, as the editor writes it; nothing for what is no file of the workspace.
    pub(super) fn address_of(&self, name: &str) -> Option<String> {
        let own = self.open.iter().find(|(_, open)| open.name == name);
        own.map(|(address, _)| address.clone())
            .or_else(|| uri::of_name(name).filter(|_| self.holds(&path_of(name))))
    }

    /// The files that the settings of a text put around its jobs.
    pub(super) fn documents_of(&self, open: &Open) -> Vec<PathBuf> {
        let kept = self.workshops.get(&open.settings).and_then(|kept| kept.workshop.as_ref());
        kept.map(Workshop::documents).unwrap_or_default()
    }

    /// The other rule files of the workshop of a text.
    pub(super) fn rule_files_beside(&self, open: &Open) -> Vec<(String, String)> {
        let session =
            self.workshops.get(&open.settings).and_then(|kept| Some(kept.workshop.as_ref()?.session()));
        let own = self.open.values().filter(|one| one.is_rules() && one.name != open.name);
        let mut files: BTreeMap<String, String> =
            own.map(|one| (one.name.clone(), one.text.text().to_owned())).collect();
        for (_, source) in session.into_iter().flat_map(|session| session.sources().all()) {
            if is_rule_file(Path::new(source.name())) && source.name() != open.name {
                files.entry(source.name().to_owned()).or_insert_with(|| source.text().to_owned());
            }
        }
        files.into_iter().collect()
    }

    /// The session by which a text is judged, where there is one.
    pub(super) fn session_of<'a>(&'a self, open: &'a Open) -> Option<&'a Session> {
        open.rules.session().or_else(|| {
            let kept = self.workshops.get(&open.settings)?;
            Some(kept.settled.as_ref().or(kept.workshop.as_ref())?.session())
        })
    }
}

/// Folders by their names, and by those that they have without links.
fn all_names(folders: &[PathBuf]) -> impl Iterator<Item = PathBuf> {
    folders.iter().flat_map(|folder| std::iter::once(absolute(folder)).chain(std::fs::canonicalize(folder)))
}

/// Where a path leads when links are followed, as far as it is there; nothing where nothing of it is.
fn real(path: &Path) -> Option<PathBuf> {
    path.ancestors().find_map(|part| std::fs::canonicalize(part).ok())
}

/// Whether a file is a text of another kind by its ending, in which no document names a form either.
fn is_another_text(path: Option<&Path>, text: &str) -> bool {
    let ending = path.and_then(Path::extension).and_then(OsStr::to_str);
    ending.is_some_and(|ending| !ENDINGS.contains(&ending) && ending != "json") && !names_a_form(text)
}

/// Whether a text says nothing yet.
fn is_blank(text: &str) -> bool {
    text.lines().map(str::trim).all(|line| line.is_empty() || line.starts_with('#'))
}

/// Says that a file, or its settings, are outside the workspace.
fn outside(path: &Path, is_settings: bool) -> Diagnostic {
    let folder = path.parent().map(Path::display).map(|folder| folder.to_string()).unwrap_or_default();
    let message = match is_settings {
        true => format!(
            "not judged, because its settings, `{}`, are outside the folders that are open in the editor, and are not read",
            path.display()
        ),
        false => {
            "not judged, because it is outside the folders that are open in the editor, where nothing is read"
                .to_owned()
        }
    };
    let fault = Fault::new(OUTSIDE_WORKSHOP, message)
        .help(format!("open the folder `{folder}` in the editor, or name the settings with --settings"));
    of_fault(&fault)
}

/// Says why a text is not judged at all.
fn whole(why: String) -> Diagnostic {
    of_fault(&Fault::new(SETTINGS, format!("not judged: {why}")))
}
