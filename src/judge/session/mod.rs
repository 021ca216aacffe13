//! Sources in, reports out: the one way into the program that every front end shares. Pure, without
//! input or output.

mod against;
mod concessions;
mod context;
pub mod coverage;
mod editions;
mod everyday;
mod history;
mod identity;
pub mod internal;
mod judge;
pub mod known;
mod logbooks;
mod load;
mod logs;
mod misspelt;
pub mod mutants;
mod nearby;
mod parameters;
mod photographs;
mod prove;
mod readings;
mod ties;
mod times;
mod unjudged;
mod workshop;
mod trials;
mod why;

use std::sync::{Arc, OnceLock};

pub use context::Instrument;
pub use history::near::JobKey;
pub use history::{Episode, Glance, History, Kept, Unplaced};
pub use load::{MOST_FILES, Reading, Trials};
pub use logbooks::Entries;
pub use nearby::{Nearby, Window};
pub use parameters::DeclaredParameter;
pub use prove::{Proof, Proven, Tried};
pub use ties::Ties;
pub use why::{DefinitionExplanation, RuleExplanation, Subject, Trace, WorkOn};
pub use workshop::{NamedPlace, ToolInUse};

use self::context::Context;
use self::editions::Digests;
use crate::code::EDITION_SET_ASIDE;
use crate::decide::{MOST_STEPS, MOST_STEPS_IN_ALL, Setting};
use crate::diagnostic::{Diagnostic, Level};
use crate::document::{Forms, Logs, NoLogs};
use crate::language::changes::RuleChange;
use crate::language::check::{Given, Unit, check};
use crate::language::ids::{Arena, RuleId};
use crate::language::naming::Said;
use crate::language::typed::{Program, Rule, Standard};
use crate::library::{Archive, Library};
use crate::quantity::Quantity;
use crate::settings::Brought;
use crate::source::{Place, SourceId, Sources};

/// What a session is opened with.
pub struct Request {
    /// The texts read so far: rule files, settings.
    pub sources: Sources,
    /// The rule files whose standards judge, each already in `sources`.
    pub standards: Vec<SourceId>,
    /// Rule files of earlier editions, which judge only jobs that are bound to them.
    pub earlier: Vec<SourceId>,
    /// The forms of documents, with the workshop's own fields.
    pub forms: Forms,
    /// Values for parameters; those of a later source take the place of an earlier one's.
    pub givens: Vec<Given>,
    /// The day and the zone.
    pub setting: Setting,
}

/// Checked rules, ready to judge documents. Judging needs only a shared reference.
pub struct Session {
    program: Program,
    context: Context,
    digests: Digests,
    forms: Forms,
    sources: Arc<Sources>,
    setting: Setting,
    used: Vec<(String, Place)>,
    /// The rule files that were named to judge.
    named: Vec<SourceId>,
    logs: Arc<dyn Logs>,
    /// How many steps of work the rules may do on one document.
    most_steps: u64,
    /// How many they may do on all documents together.
    most_steps_in_all: u64,
    /// Whether what is seen of each finding is kept.
    keeps_seen: bool,
    /// Whether what counts among many documents is kept of each.
    keeps_figures: bool,
    /// What the judged files may bring with them.
    brought: Brought,
    /// How long after a newer edition came a job may name an older one.
    older_edition_for: Option<Quantity>,
    /// What the rules say of values and names, made ready when a document asks for it.
    said: OnceLock<Arena<RuleId, Said>>,
    /// The words for which rules ask, made when it is first wanted.
    asked: OnceLock<misspelt::Asked>,
    diagnostics: Vec<Diagnostic>,
}

impl Session {
    /// Parses and checks the standards of a request and the files that they use. What is wrong is in
    /// [`Session::diagnostics`]; the good rules run all the same.
    #[must_use]
    pub fn open(request: Request, library: &dyn Library) -> Session {
        Session::open_with(request, library, Reading::once(Trials::All))
    }

    /// The same, to judge documents and nothing else: the trials of the shipped standards are not read.
    #[must_use]
    pub fn open_to_judge(request: Request, library: &dyn Library) -> Session {
        Session::open_with(request, library, Reading::once(Trials::NotShipped))
    }

    /// The same, the rule files read so.
    #[must_use]
    pub fn open_with(mut request: Request, library: &dyn Library, reading: Reading<'_>) -> Session {
        let mut diagnostics = Vec::new();
        let units: Vec<Unit> = load::units(
            &mut request.sources,
            &request.standards,
            &request.earlier,
            library,
            reading,
            &mut diagnostics,
        );
        let used = load::used(&units, &request.sources);
        let (mut program, found) = check(&units, &request.forms, &request.givens);
        diagnostics.extend(found);
        let literals = everyday::own_literals(&program, &request.sources);
        let forms = everyday::leave_to_rules(request.forms, &literals);
        diagnostics.extend(program.read_keys(&forms));
        let forms = everyday::with_names(forms, &program, &literals);
        let (said, asked) = (OnceLock::new(), OnceLock::new());
        let words = forms.words();
        diagnostics.extend(unjudged::words_of_rules(&program, words, || said.get_or_init(|| program.said())));
        diagnostics.extend(misspelt::misspelt_in_settings(&program, &forms, || {
            asked.get_or_init(|| misspelt::asked(said.get_or_init(|| program.said()), &forms))
        }));
        diagnostics.sort_by_key(Diagnostic::place);
        Session {
            program,
            context: Context::default(),
            digests: Digests::default(),
            forms,
            sources: Arc::new(request.sources),
            setting: request.setting,
            used,
            named: request.standards,
            logs: Arc::new(NoLogs),
            most_steps: MOST_STEPS,
            most_steps_in_all: MOST_STEPS_IN_ALL,
            keeps_seen: false,
            keeps_figures: false,
            brought: Brought::ALL,
            older_edition_for: None,
            said,
            asked,
            diagnostics,
        }
    }

    /// The same session, able to open the files of logs.
    #[must_use]
    pub fn with_logs(self, logs: Arc<dyn Logs>) -> Session {
        Session { logs, ..self }
    }

    /// The same session with rules changed as the workshop's settings say; `elsewhere` knows the standards of which the
    /// settings may speak besides those of the run.
    #[must_use]
    pub fn with_changes(mut self, changes: &[RuleChange], elsewhere: &dyn Fn(&str) -> bool) -> Session {
        self.diagnostics.extend(self.program.change(changes, elsewhere));
        self.diagnostics.sort_by_key(Diagnostic::place);
        self
    }

    /// The same session, in which the judged files may bring only this with them.
    #[must_use]
    pub fn with_brought(self, brought: Brought) -> Session {
        Session { brought, ..self }
    }

    /// The same session, in which a job may name an older edition for so long after a newer one came.
    #[must_use]
    pub fn with_older_edition_for(self, older_edition_for: Option<Quantity>) -> Session {
        Session { older_edition_for, ..self }
    }

    /// The same session, in which the rules may do so many steps of work on one document.
    #[must_use]
    pub fn within_steps(self, most: u64) -> Session {
        Session { most_steps: most, ..self }
    }

    /// The same session, in which the rules may do so many steps on all documents together. A session judges text by text:
    /// it holds one text to that, and whoever judges several counts [`crate::finding::Judged::steps`] together.
    #[must_use]
    pub fn within_steps_in_all(self, most: u64) -> Session {
        Session { most_steps_in_all: most, ..self }
    }

    /// The same session, keeping of each finding what was seen, for files of known findings.
    #[must_use]
    pub fn keeping_what_is_seen(self) -> Session {
        Session { keeps_seen: true, ..self }
    }

    /// Puts documents around those that will be judged: the texts of procedures and tool registers, by
    /// name, and the earlier jobs with the archive in which they are opened again.
    pub fn load_context(
        &mut self,
        texts: Vec<(String, String)>,
        history: History,
        archive: Arc<dyn Archive>,
    ) {
        let mut sources = Sources::over(&self.sources);
        let around: Vec<SourceId> = texts.into_iter().map(|(name, text)| sources.add(name, text)).collect();
        let (context, found) = Context::read(&sources, &around, &self.forms, history, archive);
        self.forms = everyday::with_names_of(self.forms.clone(), context.procedures());
        self.context = context;
        self.sources = Arc::new(sources);
        self.diagnostics.extend(found);
        self.diagnostics.extend(self.context.unguarded(&self.setting.decision));
        self.diagnostics.sort_by_key(Diagnostic::place);
    }

    /// Adds a text in which something is to be pointed at.
    pub fn add_text(&mut self, name: String, text: String) -> SourceId {
        if let Some(sources) = Arc::get_mut(&mut self.sources) {
            return sources.add(name, text);
        }
        let mut sources = Sources::over(&self.sources);
        let source = sources.add(name, text);
        self.sources = Arc::new(sources);
        source
    }

    /// Says of each standard that was named to judge that a later edition of it was named too: only that one does.
    pub fn set_aside(&self) -> impl Iterator<Item = Diagnostic> {
        let standards = self.program.standards();
        let named = |standard: &&Standard| self.named.contains(&standard.place.source);
        standards.iter().filter(named).filter(|standard| !standard.in_force).filter_map(move |older| {
            let newer = standards.iter().find(|newer| newer.name == older.name && newer.in_force)?;
            let message = format!(
                "edition {} of `{}` is set aside: edition {} of it is named too, and judges",
                older.edition, older.name, newer.edition
            );
            let help = "name only one of them to judge; one that is kept for the jobs bound to it, name it under `documents: standards:` of the settings";
            Some(
                Diagnostic::advice(EDITION_SET_ASIDE, older.place, message)
                    .and_at(newer.place, "this edition judges")
                    .help(help),
            )
        })
    }

    /// The checked program.
    #[must_use]
    pub fn program(&self) -> &Program {
        &self.program
    }

    /// The texts of the rules and settings.
    #[must_use]
    pub fn sources(&self) -> &Arc<Sources> {
        &self.sources
    }

    /// The names of the files that rule files use, each with the place of the `use`.
    #[must_use]
    pub fn used(&self) -> &[(String, Place)] {
        &self.used
    }

    /// The forms of documents.
    #[must_use]
    pub fn forms(&self) -> &Forms {
        &self.forms
    }

    /// The tools around that state range and uncertainty of what they measure: `torque`, `temperature`.
    #[must_use]
    pub fn instruments(&self, measured: &str) -> Vec<Instrument> {
        self.context.instruments(measured)
    }

    /// The jobs around those that are judged.
    fn history(&self) -> &History {
        self.context.history()
    }

    /// The day and zone of the run.
    #[must_use]
    pub fn setting(&self) -> &Setting {
        &self.setting
    }

    /// What is wrong with the rules, in the order of the texts.
    #[must_use]
    pub fn diagnostics(&self) -> &[Diagnostic] {
        &self.diagnostics
    }

    /// Whether any rule or parameter could not be used.
    #[must_use]
    pub fn is_faulty(&self) -> bool {
        self.diagnostics.iter().any(|diagnostic| diagnostic.level == Level::Error)
    }

    /// The rules with this full or short name.
    pub fn rules_called(&self, name: &str) -> impl Iterator<Item = &Rule> {
        let name = name.to_owned();
        self.program.rules().all().iter().filter(move |rule| {
            rule.name == name || rule.name.rsplit_once('.').is_some_and(|(_, short)| short == name)
        })
    }
}
