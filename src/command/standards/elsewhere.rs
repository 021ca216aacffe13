//! The parameters of standards that the settings speak of and a run does not have.

use super::super::bounds::Bounds;
use super::super::files::{self, Disk};
use super::super::walk;
use super::RULE_ENDING;
use crate::command::names::named;
use crate::language::ast::Item;
use crate::language::check::{Elsewhere, Given};
use crate::language::{Clauses, Wanted, parse_again};
use crate::library::{self, SHIPPED, came_with_it};
use crate::settings::Settings;
use crate::source::SourceId;
use std::collections::{BTreeMap, BTreeSet};
use std::sync::{Arc, Mutex, PoisonError};

/// The names that the rule files of the settings and the shipped ones declare.
#[derive(Default)]
pub(super) struct Names {
    standards: BTreeSet<String>,
    /// With their standards; those of files that are only used have none.
    parameters: BTreeSet<String>,
    read: BTreeSet<String>,
}

impl Names {
    /// The names of all standards that settings speak of. Of the shipped ones only those are read whose
    /// parameters are stated.
    pub(super) fn of(settings: &Settings, bounds: &Bounds, disk: &Disk, clauses: Option<&Clauses>) -> Names {
        let mut names = Names::default();
        for path in settings.standards.iter().filter_map(|(name, _)| bounds.path(name).ok()) {
            for found in walk::find(&[path], &[RULE_ENDING]) {
                let text = files::read_unlinked(&found.path).unwrap_or_default();
                names.file(&named(&found.path), &text, disk, clauses);
            }
        }
        let stated = |given: &Given, standard: &str| match given.name.rsplit_once('.') {
            Some((named, _)) => named == standard,
            None => true,
        };
        for shipped in SHIPPED {
            if settings.parameters.iter().any(|given| stated(given, shipped.name)) {
                names.file(shipped.file, shipped.text, disk, clauses);
            }
        }
        names
    }

    /// Adds what a rule file declares, and those that it uses.
    fn file(&mut self, name: &str, text: &str, disk: &Disk, clauses: Option<&Clauses>) {
        let mut waiting = vec![(name.to_owned(), text.to_owned())];
        while let Some((name, text)) = waiting.pop() {
            if !self.read.insert(name.clone()) {
                continue;
            }
            let declared = Declared::of(&name, &text, clauses);
            self.standards.extend(declared.standard.clone());
            self.parameters.extend(declared.parameters.iter().cloned());
            waiting.extend(declared.uses.iter().filter_map(|path| library::used(disk, &name, path).ok()));
        }
    }

    /// What is known of the name of a parameter that the settings state.
    pub(super) fn know(&self, given: &str) -> Elsewhere {
        let short = |name: &str| name.rsplit_once('.').map_or(name, |(_, short)| short).to_owned();
        let standard = given.rsplit_once('.').map(|(standard, _)| standard);
        match standard {
            _ if self.parameters.contains(given) => Elsewhere::Parameter,
            None if self.parameters.iter().any(|known| short(known) == given) => Elsewhere::Parameter,
            Some(standard) if self.standards.contains(standard) => Elsewhere::Standard,
            _ => Elsewhere::Nothing,
        }
    }
}

/// What one rule file declares.
struct Declared {
    standard: Option<String>,
    /// With its standard, where it has one.
    parameters: Vec<String>,
    /// The paths of the files that it uses.
    uses: Vec<String>,
}

impl Declared {
    /// What came with the program is the same for as long as it runs, and read once.
    fn of(name: &str, text: &str, clauses: Option<&Clauses>) -> Arc<Declared> {
        static CAME_WITH_IT: Mutex<BTreeMap<&str, Arc<Declared>>> = Mutex::new(BTreeMap::new());
        let Some(shipped) = came_with_it(name) else { return Arc::new(Declared::read(text, clauses)) };
        let mut known = CAME_WITH_IT.lock().unwrap_or_else(PoisonError::into_inner);
        let declared = known.entry(shipped.file).or_insert_with(|| Arc::new(Declared::read(text, clauses)));
        Arc::clone(declared)
    }

    fn read(text: &str, clauses: Option<&Clauses>) -> Declared {
        let (file, _) = parse_again(SourceId::FIRST, text, Wanted::Declarations, clauses);
        let standard = file.items.iter().find_map(|item| match item {
            Item::Standard(standard) => Some(standard.name.node.clone()),
            _ => None,
        });
        let mut declared = Declared { standard, parameters: Vec::new(), uses: Vec::new() };
        for item in file.items {
            match item {
                Item::Parameter(parameter) => {
                    let own = parameter.name.node;
                    let whole = declared.standard.as_ref().map(|standard| format!("{standard}.{own}"));
                    declared.parameters.push(whole.unwrap_or(own));
                }
                Item::Use(used) => declared.uses.push(used.path.node),
                _ => {}
            }
        }
        declared
    }
}
