//! Tables: words for which there is no row, and rows that nothing looks up.

use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

use super::Bench;
use super::encode::Env;
use super::formula::{Fact, Formula};
use super::scene::Scene;
use super::set::Words;
use super::solve::{Found, Solver};
use super::term::{Sort, Term};
use super::unused::expressions;
use super::values::Worth;
use super::walk::walk;
use crate::code::{ANALYSIS_ROW_NEVER_REACHED, ANALYSIS_TABLE_GAP};
use crate::diagnostic::Diagnostic;
use crate::language::ast::{Severity, Unrecorded};
use crate::language::ids::TableId;
use crate::language::typed::{Expr, ExprKind};

/// What was found of the tables by the rules that use them.
#[derive(Default)]
pub(super) struct Tables {
    /// Rows that a rule can look up.
    reached: BTreeMap<TableId, BTreeSet<Vec<String>>>,
    /// Words without a row, by the rule that is then undecided.
    gaps: BTreeMap<TableId, Vec<Gap>>,
}

struct Gap {
    words: Vec<String>,
    rule: String,
    holds: bool,
    keys: String,
}

/// A look-up in a rule.
struct Lookup<'p> {
    table: TableId,
    keys: &'p [Expr],
    env: Env,
}

/// How many words, or pairs of words, are looked for in a table.
const MOST_WORDS: usize = 200;

impl Tables {
    /// Looks at the look-ups of a rule.
    pub(super) fn look<'p>(&mut self, bench: &Bench<'p>, solver: &mut Solver<'p>, scene: &Scene<'p>) {
        for expr in expressions(scene.rule) {
            let in_demand = scene.demands.iter().find(|demand| std::ptr::eq(demand.expr, expr));
            for lookup in lookups(solver, expr, &scene.env) {
                self.reach(solver, scene, &lookup, in_demand.is_some());
                if let Some(demand) = in_demand {
                    let decided = Formula::any([demand.met.clone(), demand.broken.clone()]);
                    self.gaps_of(bench, solver, scene, &lookup, &decided);
                }
            }
        }
    }

    /// A demand looks up rows where its rule judges, a condition wherever its standard applies.
    fn reach<'p>(
        &mut self,
        solver: &mut Solver<'p>,
        scene: &Scene<'p>,
        lookup: &Lookup<'p>,
        in_demand: bool,
    ) {
        let reached = self.reached.entry(lookup.table).or_default();
        for (row, _) in solver.encoder.rows(lookup.table) {
            if reached.contains(row) {
                continue;
            }
            solver.encoder.begin();
            let keyed = solver.encoder.keyed(lookup.keys, row, &lookup.env);
            let context = if in_demand { scene.concerns.clone() } else { Formula::Always };
            if !solver.never(&scene.entries, &[scene.applies.clone(), context, keyed]) {
                reached.insert(row.clone());
            }
        }
    }

    fn gaps_of<'p>(
        &mut self,
        bench: &Bench<'p>,
        solver: &mut Solver<'p>,
        scene: &Scene<'p>,
        lookup: &Lookup<'p>,
        decided: &Formula<'p>,
    ) {
        let Some(keys) = closed_keys(solver, lookup) else { return };
        let mut all: Vec<Vec<Arc<str>>> = vec![Vec::new()];
        for (_, words) in &keys {
            let longer = |known: &Vec<Arc<str>>, word: &Arc<str>| {
                [known.as_slice(), std::slice::from_ref(word)].concat()
            };
            all = all.iter().flat_map(|known| words.iter().map(move |word| longer(known, word))).collect();
            if all.len() > MOST_WORDS {
                return;
            }
        }
        let rows = &bench.program.tables()[lookup.table].rows;
        for words in all {
            let texts: Vec<String> = words.iter().map(|word| word.to_string()).collect();
            if rows.contains_key(&texts) {
                continue;
            }
            let fact = |((term, _), word): (&(Term, BTreeSet<Arc<str>>), &Arc<str>)| {
                Formula::is(Fact::Words(*term, Words::of([word.clone()])))
            };
            let here: Vec<Formula<'p>> = keys.iter().zip(&words).map(fact).collect();
            let is_open = scene.never(solver, here.iter().cloned().chain([decided.clone()]));
            if !is_open || !is_certain(solver.find(&scene.entries, &scene.with(here)), solver) {
                continue;
            }
            let keys: Vec<String> = lookup.keys.iter().map(|key| bench.said(key.place)).collect();
            let rule = scene.rule.name.rsplit('.').next().unwrap_or_default().to_owned();
            let holds = scene.rule.severity == Severity::Hold
                && matches!(scene.rule.unrecorded, Unrecorded::As(Severity::Hold) | Unrecorded::Pass);
            let gap = Gap { words: texts, rule, holds, keys: keys.join("` and `") };
            let gaps = self.gaps.entry(lookup.table).or_default();
            if !gaps.iter().any(|known| known.words == gap.words) {
                gaps.push(gap);
            }
        }
    }

    /// Says what was found.
    pub(super) fn tell(self, bench: &Bench<'_>, found: &mut Vec<Diagnostic>) {
        for (id, gaps) in self.gaps {
            let table = &bench.program.tables()[id];
            let Some(first) = gaps.first() else { continue };
            let words: Vec<String> = gaps.iter().map(|gap| row_in_words(&gap.words)).collect();
            let verb = if first.holds { "undecided and holds" } else { "undecided" };
            let message = format!(
                "the table `{}` has no row for {}, which `{}` can be; there the rule `{}` is {verb}",
                table.name,
                listed(&words),
                first.keys,
                first.rule
            );
            let help = "add the row, or say in `concerns` where the rule counts";
            found.push(Diagnostic::advice(ANALYSIS_TABLE_GAP, table.place, message).help(help));
        }
        for (id, reached) in self.reached {
            let table = &bench.program.tables()[id];
            let mut rows: Vec<&Vec<String>> =
                table.rows.keys().filter(|row| !reached.contains(*row)).collect();
            rows.sort();
            for row in rows {
                let place = table.places.get(row).copied().unwrap_or(table.place);
                let message = format!(
                    "nothing looks up this row of `{}`: where a rule asks for one, the key is never {}",
                    table.name,
                    row_in_words(row)
                );
                let help = "take the row out, or correct its key or the condition of the standard";
                let diagnostic = Diagnostic::advice(ANALYSIS_ROW_NEVER_REACHED, place, message).help(help);
                let standards = bench.program.standards().iter();
                let own = standards.filter(|standard| standard.place.source == table.place.source);
                let applies = own.filter_map(|standard| standard.condition.as_ref()).next();
                found.push(match applies {
                    Some(condition) => diagnostic.and_at(condition.place, "where the standard applies"),
                    None => diagnostic,
                });
            }
        }
    }
}

/// The keys of a row.
fn row_in_words(keys: &[String]) -> String {
    let words = format!("\"{}\"", keys.join("\", \""));
    if keys.len() > 1 { format!("({words})") } else { words }
}

/// Words for a message: all of them where they are few.
fn listed(words: &[String]) -> String {
    const SHOWN: usize = 4;
    match words {
        [only] => only.clone(),
        _ if words.len() <= SHOWN => {
            let (last, rest) = words.split_last().map_or(("", words), |(last, rest)| (last.as_str(), rest));
            format!("{} and {last}", rest.join(", "))
        }
        _ => {
            let first: Vec<&str> = words.iter().take(SHOWN).map(String::as_str).collect();
            format!("{} and {} more", first.join(", "), words.len() - SHOWN)
        }
    }
}

/// Whether facts that fit together are of values as documents record them, so that there is such a document.
fn is_certain(found: Found, solver: &Solver<'_>) -> bool {
    match found {
        Found::Solution(solution) => {
            let terms = &solver.encoder.terms;
            solution.store.is_plain() && solution.store.known().all(|(term, _)| terms.is_path(term))
        }
        Found::Nothing | Found::Unclear => false,
    }
}

fn lookups<'p>(solver: &mut Solver<'p>, expr: &'p Expr, env: &Env) -> Vec<Lookup<'p>> {
    let mut found = Vec::new();
    solver.encoder.begin();
    walk(&mut solver.encoder, expr, env, &mut |_, part, env| {
        if let ExprKind::Lookup { table, keys } = &part.kind {
            found.push(Lookup { table: *table, keys, env: *env });
        }
    });
    found
}

/// The keys of a look-up with the words that each can be, where all of them are fields with closed lists.
fn closed_keys<'p>(solver: &mut Solver<'p>, lookup: &Lookup<'p>) -> Option<Vec<(Term, BTreeSet<Arc<str>>)>> {
    let mut keys = Vec::new();
    for key in lookup.keys {
        let values = solver.encoder.values(key, &lookup.env);
        let [only] = values.as_slice() else { return None };
        let Worth::Term(term, _) = only.worth else { return None };
        let Sort::Words(Words::Of(words)) = solver.encoder.terms.sort(term) else { return None };
        keys.push((term, words.clone()));
    }
    Some(keys)
}
