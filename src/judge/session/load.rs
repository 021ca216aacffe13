//! The rule files of a session and those that they use.

use std::collections::hash_map::{Entry, HashMap};

use rayon::prelude::*;

use crate::code::{CIRCLE, USE_LEAVES_RULES, USE_UNREADABLE};
use crate::diagnostic::{At, Diagnostic};
use crate::language::ast::Item;
use crate::language::check::Unit;
use crate::language::{Clauses, Wanted, parse_again};
use crate::library::{self, Library, came_with_it};
use crate::source::{Place, SourceId, Sources, Spanned};

/// How many rule files a session may have.
pub const MOST_FILES: usize = 1024;

/// How many lines `use` they may have together.
const MOST_USES: usize = 4096;

/// Parses the standards and, file by file, what they use. A file that two others use is one unit.
pub(super) fn units(
    sources: &mut Sources,
    standards: &[SourceId],
    earlier: &[SourceId],
    library: &dyn Library,
    reading: Reading<'_>,
    diagnostics: &mut Vec<Diagnostic>,
) -> Vec<Unit> {
    let mut by_name: HashMap<String, usize> = HashMap::new();
    let mut named: Vec<(SourceId, bool)> = Vec::new();
    let in_force = standards.iter().map(|standard| (standard, true));
    for (standard, in_force) in in_force.chain(earlier.iter().map(|standard| (standard, false))) {
        // The same file named twice is one standard.
        if let Entry::Vacant(free) = by_name.entry(sources.name(*standard).to_owned()) {
            free.insert(named.len());
            named.push((*standard, in_force));
        }
    }
    // Files do not depend on each other until they are checked, so they are read side by side.
    let read: Vec<(Unit, Vec<Diagnostic>)> = named
        .par_iter()
        .map(|(id, in_force)| {
            let (unit, found) = unit(*id, sources, true, reading);
            (Unit { in_force: *in_force, ..unit }, found)
        })
        .collect();
    let mut units = Vec::with_capacity(read.len());
    for (unit, found) in read {
        units.push(unit);
        diagnostics.extend(found);
    }
    let (mut next, mut uses_left) = (0, MOST_USES);
    while let Some(unit_at_hand) = units.get(next) {
        let source = unit_at_hand.file.source;
        let wanted: Vec<(String, Place)> =
            paths(unit_at_hand).map(|used| (used.node.clone(), Place { source, span: used.span })).collect();
        let mut uses = Vec::new();
        for (path, place) in wanted {
            let Some(left) = uses_left.checked_sub(1) else {
                let message = format!(
                    "the rule files of this run have more than {MOST_USES} lines `use`, and the others are not read"
                );
                diagnostics.push(Diagnostic::error(USE_UNREADABLE, place, message));
                break;
            };
            uses_left = left;
            let from = sources.name(source).to_owned();
            let opened = library::used(library, &from, &path).at(place);
            uses.push(match opened {
                Err(diagnostic) => {
                    diagnostics.push(diagnostic);
                    None
                }
                Ok((name, _)) if by_name.contains_key(&name) => by_name.get(&name).copied(),
                Ok(_) if units.len() >= MOST_FILES => {
                    let message = format!("more than {MOST_FILES} rule files are used");
                    diagnostics.push(Diagnostic::error(USE_UNREADABLE, place, message));
                    None
                }
                Ok((name, text)) => {
                    let id = sources.add(name.clone(), text);
                    by_name.insert(name, units.len());
                    let (used, found) = unit(id, sources, false, reading);
                    units.push(used);
                    diagnostics.extend(found);
                    Some(units.len() - 1)
                }
            });
        }
        if let Some(unit) = units.get_mut(next) {
            unit.uses = uses;
        }
        next += 1;
    }
    report_circles(&mut units, diagnostics);
    lend_only(&mut units);
    report_idle_rules(&units, sources, diagnostics);
    units
}

/// The paths that a rule file uses.
fn paths(unit: &Unit) -> impl Iterator<Item = &Spanned<String>> {
    unit.file.items.iter().filter_map(|item| match item {
        Item::Use(used) => Some(&used.path),
        _ => None,
    })
}

/// The names of the files that were opened for a `use`, each with its place.
pub(super) fn used(units: &[Unit], sources: &Sources) -> Vec<(String, Place)> {
    let of = |unit: &Unit| {
        let source = unit.file.source;
        let opened = paths(unit).zip(unit.uses.clone());
        let named = opened.filter_map(|(path, used)| {
            let name = sources.name(units.get(used?)?.file.source).to_owned();
            Some((name, Place { source, span: path.span }))
        });
        named.collect::<Vec<_>>()
    };
    units.iter().flat_map(of).collect()
}

/// A folder of rules holds standards and the files that they use: a file with names to lend, without
/// a standard and without rules, judges nothing.
fn lend_only(units: &mut [Unit]) {
    for unit in units {
        let items = &unit.file.items;
        unit.judges &= unit.file.standard_mistaken
            || items.is_empty()
            || items.iter().any(|item| matches!(item, Item::Standard(_) | Item::Rule(_)));
    }
}

/// Says of each `use` which rules do not run: it lends names, and rules judge only in a run of their own file.
fn report_idle_rules(units: &[Unit], sources: &Sources, diagnostics: &mut Vec<Diagnostic>) {
    for unit in units {
        for (path, used) in paths(unit).zip(&unit.uses) {
            let Some(used) = used.and_then(|used| units.get(used)).filter(|used| !used.judges) else {
                continue;
            };
            let rules = used.file.items.iter().filter(|item| matches!(item, Item::Rule(_))).count();
            if rules == 0 {
                continue;
            }
            let (ending, verb) = if rules == 1 { ("", "does") } else { ("s", "do") };
            let name = sources.name(used.file.source);
            let message =
                format!("`use` takes no rules: the {rules} rule{ending} of `{name}` {verb} not run");
            let place = Place { source: unit.file.source, span: path.span };
            diagnostics.push(Diagnostic::advice(USE_LEAVES_RULES, place, message).help(
                "name that file among the standards of the run too, or move what is used into a file without rules",
            ));
        }
    }
}

/// Which trials are read.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Trials {
    /// All.
    All,
    /// Those of files that did not come with the program. The others are proven by its tests, and
    /// reading them takes longer than judging a document.
    NotShipped,
    /// None: they are more than half of a rule file, and what is wrong with its rules is to be told while they are typed.
    None,
}

/// How rule files are read.
#[derive(Clone, Copy, Debug)]
pub struct Reading<'a> {
    /// Which trials are.
    pub trials: Trials,
    /// What was read before, where the same texts are read again and again.
    pub known: Option<&'a Clauses>,
}

impl Reading<'_> {
    /// Reading everything with these trials for the first time.
    #[must_use]
    pub fn once(trials: Trials) -> Reading<'static> {
        Reading { trials, known: None }
    }
}

fn unit(source: SourceId, sources: &Sources, judges: bool, reading: Reading<'_>) -> (Unit, Vec<Diagnostic>) {
    let name = sources.name(source);
    let text = sources.get(source).map_or("", |source| source.text());
    let shipped = || came_with_it(name).is_some_and(|shipped| shipped.text == text);
    let wanted = match reading.trials {
        Trials::NotShipped if shipped() => Wanted::NoTrials,
        Trials::None => Wanted::NoTrials,
        Trials::NotShipped | Trials::All => Wanted::All,
    };
    let (file, found) = parse_again(source, text, wanted, reading.known);
    (Unit { file, uses: Vec::new(), judges, in_force: true }, found)
}

/// Reports and cuts each `use` that closes a circle.
fn report_circles(units: &mut [Unit], diagnostics: &mut Vec<Diagnostic>) {
    let mut used_by: Vec<Vec<usize>> = vec![Vec::new(); units.len()];
    for (number, unit) in units.iter().enumerate() {
        for used in unit.uses.iter().flatten() {
            used_by.get_mut(*used).into_iter().for_each(|users| users.push(number));
        }
    }
    for number in 0..units.len() {
        let uses = units.get(number).map(|unit| unit.uses.clone()).unwrap_or_default();
        let leads_back: Vec<bool> = leading_to(number, &used_by);
        for (position, used) in uses.iter().enumerate() {
            let leads_back = used.and_then(|used| leads_back.get(used)).is_some_and(|leads_back| *leads_back);
            if !leads_back {
                continue;
            }
            let Some(unit) = units.get_mut(number) else { continue };
            if let Some(span) = paths(unit).nth(position).map(|used| used.span) {
                let place = Place { source: unit.file.source, span };
                diagnostics.push(
                    Diagnostic::error(CIRCLE, place, "these files use each other in a circle")
                        .help("put what both need into a third file"),
                );
            }
            if let Some(cut) = unit.uses.get_mut(position) {
                *cut = None;
            }
        }
    }
}

/// From which units a chain of `use` leads to one. No chain goes through those before it: what closed a circle there is cut.
fn leading_to(to: usize, used_by: &[Vec<usize>]) -> Vec<bool> {
    let mut leads = vec![false; used_by.len()];
    let mut open = vec![to];
    while let Some(number) = open.pop() {
        if let Some(mark) = leads.get_mut(number).filter(|mark| !**mark) {
            *mark = true;
            open.extend(used_by.get(number).into_iter().flatten().filter(|user| **user >= to));
        }
    }
    leads
}
