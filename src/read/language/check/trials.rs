//! Trials and the records that they share.

use super::{CHAIN, Checker, Meaning, place_in};
use crate::code::{CIRCLE, PARAMETER_VALUE, TRIAL_RECORD, TYPE_MISMATCH, UNKNOWN_NAME};
use crate::diagnostic::{Diagnostic, did_you_mean, nearest};
use crate::document::DocPath;
use crate::document::path::Step;
use crate::language::ast::{self, Name};
use crate::language::ids::{Arena, BaseId, ParameterId};
use crate::language::typed::{Base, Change, Given, Start, Trial};
use crate::source::Place;

impl<'a> Checker<'a> {
    /// Checks a trial of a rule in a unit.
    pub(super) fn trial(&mut self, unit: usize, written: &ast::Trial) -> Trial {
        let (mut given, mut changes) = (Vec::new(), Vec::new());
        let has_base = matches!(written.record, ast::Start::From(_));
        for change in &written.changes {
            match self.parameter_named(unit, &change.path.node) {
                Some(number) => given.extend(self.trial_value(unit, number, change)),
                None if has_base => changes.extend(self.change(unit, change)),
                None => self.change_of_own_record(unit, change),
            }
        }
        Trial {
            outcome: written.outcome.node,
            at: written.at.as_ref().map(|at| (at.node.clone(), at.span)),
            span: written.span,
            record: self.start(unit, &written.record),
            changes,
            day: written.day.as_ref().map(|day| day.node),
            given,
        }
    }

    /// The records that trials share, when all else is checked.
    pub(super) fn records_of_trials(&mut self) -> Arena<BaseId, Base> {
        let written: Vec<(usize, &'a ast::Base)> = self.bases.all().to_vec();
        let mut bases = Arena::default();
        for (unit, base) in written {
            let errors = self.errors();
            let circle = self.is_built_on_itself(unit, base);
            let record = if circle { Start::Mistaken } else { self.start(unit, &base.record) };
            let changes = base.changes.iter().filter_map(|change| {
                match self.parameter_named(unit, &change.path.node) {
                    Some(_) => self.parameter_of_base(unit, change),
                    None => self.change(unit, change),
                }
            });
            let changes: Vec<Change> = changes.collect();
            let record = if self.errors() > errors { Start::Mistaken } else { record };
            let form = self.form_of(unit).to_owned();
            let place = place_in(self.units, unit, base.name.span);
            bases.push(Base { name: base.name.node.clone(), form, record, changes, place });
        }
        bases
    }

    /// What a record begins with.
    fn start(&mut self, unit: usize, written: &ast::Start) -> Start {
        let name = match written {
            ast::Start::Own(span) => return Start::Own(place_in(self.units, unit, *span)),
            ast::Start::From(name) => name,
        };
        match self.base_named(unit, name) {
            Ok(Some(id)) => Start::From(id),
            Ok(None) => Start::Mistaken,
            Err(diagnostic) => {
                self.report(diagnostic);
                Start::Mistaken
            }
        }
    }

    /// The record of this name; nothing where a mistake in it was reported.
    fn base_named(&self, unit: usize, name: &Name) -> Result<Option<BaseId>, Diagnostic> {
        let place = place_in(self.units, unit, name.span);
        let names = self.names.get(unit);
        let is_base = |meaning: &Meaning| matches!(meaning, Meaning::Base(_));
        match names.and_then(|names| names.get(name.node.as_str())).map(|declared| declared.meaning) {
            Some(Meaning::Base(id)) => Ok(Some(id)),
            Some(Meaning::Mistaken) => Ok(None),
            Some(_) => {
                let message = format!("`{}` is no record that trials share", name.node);
                Err(Diagnostic::error(TYPE_MISMATCH, place, message)
                    .help("declare one: `given NAME { … }`, with the fields that the trials need"))
            }
            None => {
                let bases = names.into_iter().flatten().filter(|(_, declared)| is_base(&declared.meaning));
                let near = nearest(&name.node, bases.map(|(name, _)| *name));
                let message = format!("no record for trials is called `{}`", name.node);
                let diagnostic = Diagnostic::error(UNKNOWN_NAME, place, message);
                Err(match near {
                    Some(near) => diagnostic.help(did_you_mean(&name.node, near)),
                    None => diagnostic.help(format!("declare it: `given {} {{ … }}`", name.node)),
                })
            }
        }
    }

    /// Whether a record begins with itself, or at the end of a chain that is too long; says so.
    fn is_built_on_itself(&mut self, unit: usize, base: &'a ast::Base) -> bool {
        let mut at = (unit, base);
        for _ in 0..CHAIN {
            let ast::Start::From(name) = &at.1.record else { return false };
            match self.base_named(at.0, name) {
                Ok(Some(id)) => at = self.bases[id],
                Ok(None) | Err(_) => return false,
            }
        }
        let place = place_in(self.units, unit, base.name.span);
        let message = format!(
            "the record `{}` begins with itself, or with a chain of more than {CHAIN}",
            base.name.node
        );
        let help = "write one of the records out, so that the chain of names has an end";
        self.report(Diagnostic::error(CIRCLE, place, message).help(help));
        true
    }

    fn parameter_named(&self, unit: usize, name: &str) -> Option<ParameterId> {
        match self.names.get(unit)?.get(name)?.meaning {
            Meaning::Parameter(number) => Some(number),
            _ => None,
        }
    }

    /// `with PARAMETER = VALUE` of a trial.
    fn trial_value(&mut self, unit: usize, number: ParameterId, change: &ast::Change) -> Option<Given> {
        let place = place_in(self.units, unit, change.path.span);
        let error = |message: String| Diagnostic::error(PARAMETER_VALUE, place, message);
        let Some(to) = &change.to else {
            let message = format!(
                "`{}` is a parameter, and only a part of the record can be left out",
                change.path.node
            );
            self.report(
                error(message)
                    .help("a trial states no parameter but behind `with`; others have their defaults"),
            );
            return None;
        };
        let Some(value) = &to.value else {
            let message = format!("`{}` is a parameter, and this is a part of a record", change.path.node);
            self.report(error(message).help("write its value as in a `let`"));
            return None;
        };
        let mut scope = self.scope(unit);
        let wanted = self.parameters[number].ty.clone();
        let typed = self.expr(&mut scope, value);
        let value = self.parameter_value(&wanted, typed, value)?;
        Some(Given { parameter: number, value })
    }

    fn parameter_of_base(&mut self, unit: usize, change: &ast::Change) -> Option<Change> {
        let place = place_in(self.units, unit, change.path.span);
        let message =
            format!("`{}` is a parameter, and a record that trials share states none", change.path.node);
        let help = "state it in the trial: `trial met from … with …`";
        self.report(Diagnostic::error(TRIAL_RECORD, place, message).help(help));
        None
    }

    /// What a record differs in.
    fn change(&mut self, unit: usize, change: &ast::Change) -> Option<Change> {
        let place = place_in(self.units, unit, change.span);
        let path = self.path_of_record(unit, change)?;
        let to = match &change.to {
            None => None,
            Some(to) => match &to.written {
                Some(written) => Some(written.clone()),
                None => {
                    let at = to.value.as_ref().map_or(place, |value| Place { span: value.span, ..place });
                    let help = "write a value, a text in quotes, a group or a list in brackets, on one line";
                    let message = "a value of a record is written out here";
                    self.report(Diagnostic::error(TRIAL_RECORD, at, message).help(help));
                    return None;
                }
            },
        };
        Some(Change { path, to, place })
    }

    /// The path of a change, which must begin with a field of the document.
    fn path_of_record(&mut self, unit: usize, change: &ast::Change) -> Option<DocPath> {
        let place = place_in(self.units, unit, change.path.span);
        let path: Option<DocPath> = change.path.node.parse().ok();
        let root = self.root_of(unit)?;
        let first = path.as_ref().and_then(|path| path.steps().first());
        let Some(Step::Key(first)) = first else {
            let message = format!("`{}` is no place in a record", change.path.node);
            self.report(Diagnostic::error(TRIAL_RECORD, place, message));
            return None;
        };
        if root.field(first).is_some() || root.link(first).is_some() {
            return path;
        }
        if let Some(declared) = self.names.get(unit).and_then(|names| names.get(&**first)) {
            if declared.meaning != Meaning::Mistaken {
                let message = format!("`{first}` is no parameter");
                self.report(Diagnostic::error(TYPE_MISMATCH, place, message));
            }
            return None;
        }
        let fields = root.fields.iter().map(|field| field.name.to_string());
        let links = root.links.iter().map(|link| link.name.to_string());
        let names = self.names.get(unit).into_iter().flatten();
        let parameters = names.filter(|(_, declared)| matches!(declared.meaning, Meaning::Parameter(_)));
        let known: Vec<String> =
            fields.chain(links).chain(parameters.map(|(name, _)| (*name).to_owned())).collect();
        let message = format!("`{first}` is neither a field of the document nor a parameter");
        let diagnostic = Diagnostic::error(UNKNOWN_NAME, place, message);
        self.report(match nearest(first, known.iter().map(String::as_str)) {
            Some(near) => diagnostic.help(did_you_mean(first, near)),
            None => diagnostic,
        });
        None
    }

    /// A trial with a record of its own is written as it is.
    fn change_of_own_record(&mut self, unit: usize, change: &ast::Change) {
        let Some(path) = self.path_of_record(unit, change) else { return };
        let place = place_in(self.units, unit, change.span);
        let message = format!("the record of this trial is its own, so `{path}` can be written into it");
        let help = "write it there; `with` and `without` say what differs from a record that trials share";
        self.report(Diagnostic::error(TRIAL_RECORD, place, message).help(help));
    }
}
