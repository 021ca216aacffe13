//! The standards, parameters and day of a run, from the command line and the workshop's settings.

mod elsewhere;
mod gathering;
mod workshop;

use std::collections::{BTreeMap, HashSet};
use std::path::{Path, PathBuf};
use std::sync::Arc;

use jiff::civil::Date;
use jiff::tz::TimeZone;

use self::elsewhere::Names;
use self::gathering::Gathering;
pub(super) use self::workshop::SETTINGS_FILE;
use self::workshop::{leads, outside};
use super::bounds::{Bounds, Copies};
pub(super) use super::files::RULE_ENDING;
use super::files::{Disk, Links, is_rule_file};
use super::known::{KnownFiles, KnownFindings};
use super::{Failure, ReadingOptions, RuleOptions};
use crate::command::names::named;
use crate::decide::Setting;
use crate::diagnostic::{Diagnostic, listed};
use crate::document::{Forms, ReaderChoice};
use crate::edition::Edition;
use crate::language::ast::{Item, Severity, Standard};
use crate::language::check::{Elsewhere, Given};
use crate::language::parse_declarations;
use crate::library::{came_with_it, shipped};
use crate::metrology::conformity::DecisionRule;
use crate::quantity::Quantity;
use crate::report::{JudgedBy, RuleInfo, Run, SourceInfo, StandardInfo};
use crate::session::{Episode, Session, Trials};
use crate::settings::{self, Brought};
use crate::source::{COMMAND_LINE, Place, SourceId, Sources, Span};
use crate::time;
use crate::trade::logbook::Logbooks;

/// A session that is ready, and what is wrong with what it was opened with.
pub(super) struct Ready {
    pub(super) session: Session,
    /// Mistakes in settings and command line; those of the rules are the session's.
    pub(super) diagnostics: Vec<Diagnostic>,
    /// What the settings say of the failing severity.
    pub(super) fail_on: Option<Severity>,
    /// What the settings say of the share of the rules that trials must exercise.
    pub(super) trials_exercise: Option<(Quantity, Place)>,
    /// The file of settings of the run.
    pub(super) settings: Option<PathBuf>,
    /// The documents that the settings put around every job, and where those may be.
    pub(super) documents: settings::Documents,
    pub(super) bounds: Bounds,
    /// Whether there are settings and they could not be used: nothing is judged then, because
    /// nobody has chosen what it would be judged by.
    pub(super) unsettled: bool,
    /// The files of known findings.
    pub(super) known: KnownFindings,
    /// What the files of the run may bring with them.
    pub(super) brought: Brought,
    /// The folders that are judged, where the settings are elsewhere.
    pub(super) copies: Copies,
    /// How many MiB of procedures and registers are kept.
    pub(super) most_kept: u64,
    /// The rule files that were named.
    pub(super) rule_files: Vec<SourceId>,
    /// By what the run judges.
    pub(super) judged_by: JudgedBy,
    /// The jobs that were looked through, by their files, where they are looked through again when those change.
    pub(super) episodes: Option<BTreeMap<PathBuf, Episode>>,
    /// Whether logbooks are made of the jobs, and those jobs.
    pub(super) makes_logbooks: bool,
    pub(super) logbooks: Option<Logbooks>,
    /// The folder that is served for long, if one is.
    pub(super) served: Option<PathBuf>,
}

impl Ready {
    /// Where the files that rule files of the run use are.
    pub(super) fn disk(&self) -> Disk {
        Disk { bounds: self.settings.as_ref().map(|_| self.bounds.clone()) }
    }

    /// What reports say of the run as a whole.
    pub(super) fn run(&self, fail_on: Severity) -> Run {
        let program = self.session.program();
        let mut diagnostics = self.diagnostics.clone();
        diagnostics.extend_from_slice(self.session.diagnostics());
        let diagnostics = listed(diagnostics);
        Run {
            version: env!("CARGO_PKG_VERSION").to_owned(),
            as_of: self.session.setting().as_of,
            decision: self.session.setting().decision.clone(),
            fail_on,
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
                .all()
                .iter()
                .map(|rule| RuleInfo {
                    name: rule.name.clone(),
                    title: rule.title.clone(),
                    severity: rule.severity,
                    remedy: rule.remedy.clone(),
                    because: rule.because.clone(),
                    basis: rule.basis.clone(),
                    left_out: rule.left_out.as_ref().map(|left_out| left_out.reason.clone()),
                    place: rule.name_place,
                })
                .collect(),
            diagnostics,
            judged_by: self.judged_by.clone(),
            sources: Arc::clone(self.session.sources()),
        }
    }
}

/// A rule file that takes the place of the standard of a name.
#[derive(Clone, Debug, PartialEq, Eq)]
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

/// Where the number of the edition stands in a rule file.
pub(super) fn edition_place(text: &str) -> Option<Span> {
    Some(head_of(text)?.edition?.span)
}

/// The head of the standard in a rule file.
fn head_of(text: &str) -> Option<Standard> {
    let (file, _) = parse_declarations(SourceId::FIRST, text);
    file.items.into_iter().find_map(|item| match item {
        Item::Standard(standard) => Some(standard),
        _ => None,
    })
}

impl ReadingOptions {
    fn choice(self) -> ReaderChoice {
        if self.yaml_reader_only { ReaderChoice::YamlOnly } else { ReaderChoice::QuickFirst }
    }
}

impl RuleOptions {
    /// Opens a session. `near` is the first path of the run, by which the settings are found; `known`
    /// names the files of known findings.
    pub(super) fn open(&self, near: Option<&Path>, known: &KnownFiles) -> Result<Ready, Failure> {
        self.open_with(near, known, Trials::All)
    }

    /// The same, to judge documents and nothing else.
    pub(super) fn open_to_judge(&self, near: Option<&Path>, known: &KnownFiles) -> Result<Ready, Failure> {
        self.open_with(near, known, Trials::NotShipped)
    }

    /// The same with those trials alone.
    pub(super) fn open_with(
        &self,
        near: Option<&Path>,
        known: &KnownFiles,
        trials: Trials,
    ) -> Result<Ready, Failure> {
        let mut gathering = Gathering {
            sources: Sources::new(),
            standards: Vec::new(),
            earlier: Vec::new(),
            named: HashSet::new(),
            forms: Forms::builtin().read_by(self.run.reading.choice()),
            givens: Vec::new(),
            diagnostics: Vec::new(),
            links_of_named: Links::Followed,
            walks: 0,
            disk: Disk::default(),
            trials,
            clauses: self.clauses.clone(),
        };
        let command_line = gathering.sources.add(COMMAND_LINE, self.words());
        self.no_misnamed_settings(near)?;
        let settings_path = self.settings_path(near);
        let named = self.run.workshop.settings.is_some();
        let links = if named { Links::Followed } else { Links::Refused };
        let settings = settings_path.as_deref().and_then(|path| gathering.settings(path, links));
        let unsettled = settings_path.is_some() && settings.is_none();
        let folder = settings_path.as_deref().and_then(Path::parent).unwrap_or(Path::new(""));
        let bounds = Bounds { folder: folder.to_owned(), named };
        gathering.links_of_named = bounds.links_of_named();
        bounds.allow_ways(self.standards.iter().map(Path::new).filter(|path| path.exists()))?;
        let workshop = settings.as_ref();
        gathering.disk.bounds = workshop.map(|_| bounds.clone());
        if let Some(settings) = workshop {
            gathering.schemas(settings, &bounds);
            gathering.words(settings);
            // Standards named on the command line need not be all that the settings speak of.
            let some = !self.standards.is_empty() && !settings.parameters.is_empty();
            let others = match some {
                true => Names::of(settings, &bounds, &gathering.disk, self.clauses.as_deref()),
                false => Names::default(),
            };
            let known = |given: &Given| Given { elsewhere: others.know(&given.name), ..given.clone() };
            gathering.givens.extend(settings.parameters.iter().map(known));
        }
        let before = gathering.errors();
        if !self.standards.is_empty() {
            for (number, name) in self.standards.iter().enumerate() {
                let place = self.place_of(command_line, number);
                gathering.standard(name, None, place);
            }
        } else if let Some(settings) = workshop.filter(|settings| !settings.standards.is_empty()) {
            for (name, place) in &settings.standards {
                gathering.standard(name, Some(&bounds), *place);
            }
        } else {
            gathering.shipped();
        }
        // What is stated for a standard that cannot be read is not known to be wrong: that it cannot was said at its name.
        if gathering.errors() > before {
            for given in gathering.givens.iter_mut().filter(|given| given.name.contains('.')) {
                given.elsewhere = Elsewhere::Parameter;
            }
        }
        if let Some(settings) = workshop {
            let in_force = std::mem::take(&mut gathering.standards);
            for (name, place) in &settings.documents.standards {
                gathering.standard(name, Some(&bounds), *place);
            }
            gathering.earlier = std::mem::replace(&mut gathering.standards, in_force);
        }
        for (number, parameter) in self.run.parameters.iter().enumerate() {
            let place = self.place_of(command_line, self.standards.len() + number);
            let Some((name, text)) = parameter.split_once('=') else {
                return Err(Failure(format!("`{parameter}` is not of the form NAME=VALUE")));
            };
            let (name, text) = (name.trim().to_owned(), text.trim().to_owned());
            gathering.givens.push(Given {
                name,
                keys: Vec::new(),
                text,
                list: None,
                place,
                elsewhere: Elsewhere::Nothing,
            });
        }
        let zone = workshop.map_or(TimeZone::unknown(), |settings| settings.zone.clone());
        let as_of = self.day(&zone)?;
        let fail_on = workshop.and_then(|settings| settings.fail_on);
        if let Some(swap) = &self.swap {
            gathering.swap(swap);
        }
        let known = known.read(&mut gathering.sources, &gathering.forms, &mut gathering.diagnostics);
        let decision = workshop.map_or(DecisionRule::Simple, |settings| settings.decision.clone());
        let paths =
            workshop.map(|settings| settings.paths().map(|(path, at)| (folder.join(path), at)).collect());
        let paths: Vec<(PathBuf, Place)> = paths.unwrap_or_default();
        let mut ready = gathering.ready(Setting { as_of, zone, decision }, fail_on);
        ready.session = ready.session.within_steps(self.run.most_steps.0);
        ready.session = ready.session.within_steps_in_all(self.run.most_steps_in_all.unwrap_or_default().0);
        ready.most_kept = self.run.most_kept.0;
        if let Some(settings) = workshop {
            // Settings speak of all standards of a workshop, and a run can be of some of them.
            let some = !self.standards.is_empty();
            let elsewhere = |standard: &str| some || shipped(standard).is_some();
            ready.session = ready.session.with_changes(&settings.rules, &elsewhere);
        }
        if known.are_named() {
            ready.session = ready.session.keeping_what_is_seen();
        }
        // Other settings lead nowhere outside.
        if workshop.is_some() && named {
            // What a rule file outside uses is told by the line that names that file.
            let name = |place: &Place| Path::new(ready.session.sources().name(place.source));
            let used =
                ready.session.used().iter().filter(|(_, place)| leads(folder, name(place)) == Some(true));
            let used = used.map(|(file, place)| (PathBuf::from(file), *place));
            let outside =
                paths.into_iter().chain(used).filter_map(|(path, place)| outside(folder, &path, place));
            let outside: Vec<Diagnostic> = outside.collect();
            ready.diagnostics.extend(outside);
        }
        let allowed = if named { Brought::NOTHING } else { Brought::ALL };
        let brought = workshop.and_then(|settings| settings.brought).unwrap_or(allowed);
        let older = workshop.and_then(|settings| settings.older_edition_for.clone());
        ready.session = ready.session.with_brought(brought).with_older_edition_for(older);
        let judged_by = self.judged_by(&ready, settings_path.as_deref(), brought);
        let (known, renamed) = known.with_new_names(&ready.session);
        ready.diagnostics.extend(renamed);
        let strangers = known.strangers(&ready.session);
        ready.diagnostics.extend(strangers);
        let trials_exercise = workshop.and_then(|settings| settings.trials_exercise.clone());
        let documents = settings.map(|settings| settings.documents).unwrap_or_default();
        Ok(Ready {
            trials_exercise,
            settings: settings_path,
            unsettled,
            documents,
            bounds,
            known,
            brought,
            judged_by,
            ..ready
        })
    }

    /// By what a run judges: which settings and files, and what the command line says besides.
    fn judged_by(&self, ready: &Ready, settings: Option<&Path>, brought: Brought) -> JudgedBy {
        let sources = ready.session.sources();
        let settings = settings.map(named);
        let mut judged_by = JudgedBy {
            named: self.run.workshop.settings.is_some(),
            brought: brought.words(),
            ..JudgedBy::default()
        };
        for (id, source) in sources.all() {
            let name = source.name();
            let told = || SourceInfo { name: name.to_owned(), digest: ready.session.digest(id) };
            match () {
                () if name == COMMAND_LINE || came_with_it(name).is_some() => {}
                () if settings.as_deref() == Some(name) => judged_by.settings = Some(told()),
                () if ready.rule_files.contains(&id) || is_rule_file(Path::new(name)) => {
                    judged_by.rule_files.push(told());
                }
                () => judged_by.others.push(told()),
            }
        }
        let option = |option: &str, value: &String| format!("{option} {value}");
        let standards = self.standards.iter().map(|name| option("--standard", name));
        let parameters = self.run.parameters.iter().map(|one| option("--parameter", one));
        judged_by.command_line = standards.chain(parameters).collect();
        judged_by
    }

    /// The words of the command line that messages may have to point at.
    fn words(&self) -> String {
        self.standards.iter().chain(&self.run.parameters).map(String::as_str).collect::<Vec<_>>().join("\n")
    }

    fn place_of(&self, source: SourceId, number: usize) -> Place {
        let before =
            self.standards.iter().chain(&self.run.parameters).take(number).map(|word| word.len() + 1).sum();
        let word = self.standards.iter().chain(&self.run.parameters).nth(number).map_or(0, String::len);
        Place { source, span: Span::new(before, before + word) }
    }

    fn day(&self, zone: &TimeZone) -> Result<Date, Failure> {
        match &self.run.as_of {
            Some(day) => time::day(day).map_err(|fault| {
                let help = fault.help.map_or_else(String::new, |help| format!("; {help}"));
                Failure(format!("{}{help}", fault.message))
            }),
            None => Ok(jiff::Timestamp::now().to_zoned_datetime(zone.clone()).date()),
        }
    }
}

#[cfg(test)]
mod tests {
    use clap::Parser;

    use super::super::ReadingOptions;
    use crate::document::ReaderChoice;

    #[derive(Parser)]
    struct Line {
        #[command(flatten)]
        reading: ReadingOptions,
    }

    // Both readers give the same result, so that no output can tell which of them was used.
    #[test]
    fn the_quick_reader_is_used_unless_it_is_switched_off() {
        let choice = |words: &[&str]| Line::parse_from(words).reading.choice();
        assert_eq!(choice(&["witnessmark"]), ReaderChoice::QuickFirst);
        assert_eq!(choice(&["witnessmark", "--yaml-reader-only"]), ReaderChoice::YamlOnly);
    }
}
