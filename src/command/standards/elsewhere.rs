//! The parameters of standards that the settings speak of and a run does not have.

use super::super::bounds::Bounds;
use super::super::files::{self, Disk};
use super::super::walk;
use super::RULE_ENDING;
use crate::command::names::named;
use crate::language::ast::Item;
use crate::language::check::{Elsewhere, Given};
use crate::language::parse_declarations;
use crate::library::{self, SHIPPED};
use crate::settings::Settings;
use crate::source::SourceId;
use std::collections::BTreeSet;

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
    pub(super) fn of(settings: &Settings, bounds: &Bounds, disk: &Disk) -> Names {
        let mut names = Names::default();
        for path in settings.standards.iter().filter_map(|(name, _)| bounds.path(name).ok()) {
            for found in walk::find(&[path], &[RULE_ENDING]) {
                let text = files::read_unlinked(&found.path).unwrap_or_default();
                names.file(&named(&found.path), &text, disk);
            }
        }
        let stated = |given: &Given, standard: &str| match given.name.rsplit_once('.') {
            Some((named, _)) => named == standard,
            None => true,
        };
        for shipped in SHIPPED {
            if settings.parameters.iter().any(|given| stated(given, shipped.name)) {
                names.file(shipped.file, shipped.text, disk);
            }
        }
        names
    }

    /// Adds what a rule file declares, and those that it uses.
    fn file(&mut self, name: &str, text: &str, disk: &Disk) {
        let mut waiting = vec![(name.to_owned(), text.to_owned())];
        while let Some((name, text)) = waiting.pop() {
            if self.read.insert(name.clone()) {
                self.declared(&name, &text, disk, &mut waiting);
            }
        }
    }

    fn declared(&mut self, name: &str, text: &str, disk: &Disk, waiting: &mut Vec<(String, String)>) {
        let (file, _) = parse_declarations(SourceId::FIRST, text);
        let standard = file.items.iter().find_map(|item| match item {
            Item::Standard(standard) => Some(standard.name.node.as_str()),
            _ => None,
        });
        self.standards.extend(standard.map(str::to_owned));
        for item in &file.items {
            match item {
                Item::Parameter(parameter) => {
                    let own = &parameter.name.node;
                    let whole = standard.map_or_else(|| own.clone(), |standard| format!("{standard}.{own}"));
                    self.parameters.insert(whole);
                }
                Item::Use(used) => waiting.extend(library::used(disk, name, &used.path.node)),
                _ => {}
            }
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
