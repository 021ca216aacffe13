//! What is wrong with rules, told from the rules alone: demands that nothing meets together, parts that are never true,
//! tables with gaps, names that nobody uses. Each analysis is a file; all of them ask whether any document can have certain
//! facts (`solve`), and none guesses: what the facts do not tell is not told.
//!
//! Values of parameters count as unknown, because settings and procedures change them.

mod answers;
mod cases;
mod clash;
mod concerned;
mod counts;
mod demands;
mod encode;
mod entries;
mod formula;
mod guarded;
mod messages;
mod open;
mod orders;
mod parts;
mod question;
mod reached;
mod relate;
pub mod same;
mod scene;
mod set;
mod solve;
mod store;
mod tables;
mod term;
mod unread;
mod unrecorded;
mod unused;
mod values;
mod walk;
mod witness;

pub use question::{Covers, Heaviest, Relation, Witness, relate_rules};
pub use unread::unread;

use crate::code::{ANALYSIS_ACCEPTED, ANALYSIS_STOPPED};
use std::collections::HashSet;

use crate::decide::Setting;
use crate::diagnostic::{Diagnostic, Level};
use crate::document::Forms;
use crate::language::typed::{Program, Rule};
use crate::source::{Place, Sources};

use encode::Encoder;
use scene::Scene;
use solve::Solver;
use tables::Tables;

/// What is analysed.
pub struct Bench<'p> {
    /// The rules.
    pub program: &'p Program,
    /// Their texts.
    pub sources: &'p Sources,
    /// The forms of the documents that they judge.
    pub forms: &'p Forms,
    /// What a run takes from outside.
    pub setting: &'p Setting,
    /// Whether all rules of the files are there, and asked for.
    pub whole: bool,
    /// Which of them are asked for.
    pub wanted: &'p dyn Fn(&Rule) -> bool,
}

impl Bench<'_> {
    /// What is written at a place, on one line.
    fn said(&self, place: Place) -> String {
        self.sources.text_at(place).split_whitespace().collect::<Vec<_>>().join(" ")
    }
}

/// What is wrong with the rules.
#[must_use]
pub fn analyse(bench: &Bench<'_>) -> Vec<Diagnostic> {
    let mut found = Vec::new();
    let mut solver = Solver::new(Encoder::new(bench.program));
    let mut tables = Tables::default();
    let mut scenes = Vec::new();
    for standard in bench.program.standards() {
        for (id, rule) in bench.program.all_rules_of(standard).filter(|(_, rule)| (bench.wanted)(rule)) {
            let scene = Scene::of(&mut solver, standard, id, rule);
            if !concerned::look(bench, &mut solver, &scene, &mut found) {
                continue;
            }
            unused::variables(bench, rule, &mut found);
            tables.look(bench, &mut solver, &scene);
            for look in [
                demands::look,
                parts::look,
                answers::look,
                guarded::look,
                messages::look,
                unrecorded::look,
                entries::look,
            ] {
                look(bench, &mut solver, &scene, &mut found);
            }
            scenes.push(scene);
        }
    }
    for look in [clash::look, counts::look, orders::look] {
        look(bench, &mut solver, &scenes, &mut found);
    }
    if bench.whole {
        unused::names(bench, &mut found);
        reached::look(bench, &mut solver, &mut found);
        tables.tell(bench, &mut found);
    }
    accept(bench, &mut found);
    if solver.is_exhausted() {
        found.extend(bench.program.rules().all().iter().find(|rule| (bench.wanted)(rule)).map(stopped));
    }
    once(found)
}

/// Says that not all was looked at: else it would look as if nothing were wrong.
fn stopped(first: &Rule) -> Diagnostic {
    let message =
        "the rules of this run take more work than an analysis may do, so some of them were not looked at";
    Diagnostic::advice(ANALYSIS_STOPPED, first.place, message)
        .help("prove standards or rules by their names, some at a time (`prove STANDARD.RULE`), or divide long lists of cases")
}

/// Of one place each thing once, as severely as it is said.
fn once(mut found: Vec<Diagnostic>) -> Vec<Diagnostic> {
    found.sort_by_key(|diagnostic| std::cmp::Reverse(diagnostic.level));
    let mut told = HashSet::new();
    found.retain(|diagnostic| told.insert((diagnostic.code, diagnostic.place())));
    found
}

/// Leaves out the advice that rules accept, and says where they accept one that is not given.
fn accept(bench: &Bench<'_>, found: &mut Vec<Diagnostic>) {
    for rule in bench.program.rules().all().iter().filter(|rule| (bench.wanted)(rule)) {
        for accepted in &rule.accepted {
            let is_accepted = |diagnostic: &Diagnostic| {
                let inside = |place: Place| {
                    place.source == rule.place.source
                        && place.span.start >= rule.place.span.start
                        && place.span.end <= rule.place.span.end
                };
                diagnostic.code == accepted.code
                    && diagnostic.level == Level::Advice
                    && diagnostic.place().is_some_and(inside)
            };
            let before = found.len();
            found.retain(|diagnostic| !is_accepted(diagnostic));
            if found.len() == before && bench.whole {
                let message = "this advice is not given for the rule, with the standards of this run";
                let diagnostic = Diagnostic::advice(ANALYSIS_ACCEPTED, accepted.place, message);
                found.push(diagnostic.help("take the line out, so that it hides nothing that comes later"));
            }
        }
    }
}
