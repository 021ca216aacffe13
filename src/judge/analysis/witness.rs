//! The smallest document that has certain facts, and what the rules come to on it: no case is claimed that no document has.

use std::collections::BTreeMap;
use std::sync::Arc;

use super::Bench;
use super::formula::States;
use super::question::Heaviest;
use super::scene::Scene;
use super::set::{Numbers, Words};
use super::solve::Solution;
use super::store::{Known, Store};
use super::term::{Node, Sort, Term, Terms};
use crate::decide::{About, Evaluator, LinkedDocuments, Truth};
use crate::diagnostic::Level;
use crate::document;
use crate::finding::{Outcome, Standing};
use crate::language::typed::Expr;
use crate::quantity::{Number, Quantity};

/// A document that is made up.
#[derive(Debug)]
enum Tree {
    Single(String),
    Group(BTreeMap<Arc<str>, Tree>),
    List(Vec<Tree>),
}

impl Tree {
    fn group() -> Tree {
        Tree::Group(BTreeMap::new())
    }

    /// As a trial writes it.
    fn write(&self, out: &mut String) {
        match self {
            Tree::Single(text) => out.push_str(text),
            Tree::Group(fields) if fields.is_empty() => out.push_str("{}"),
            Tree::Group(fields) => {
                out.push_str("{ ");
                for (number, (name, value)) in fields.iter().enumerate() {
                    out.push_str(if number > 0 { ", " } else { "" });
                    out.push_str(name);
                    out.push_str(": ");
                    value.write(out);
                }
                out.push_str(" }");
            }
            Tree::List(entries) => {
                out.push('[');
                for (number, entry) in entries.iter().enumerate() {
                    out.push_str(if number > 0 { ", " } else { "" });
                    entry.write(out);
                }
                out.push(']');
            }
        }
    }
}

/// Writes a document that has the facts of a solution, where they are of values that a trial can write.
pub(super) fn document_of(terms: &Terms, solution: &Solution) -> Option<String> {
    let at = distances(&solution.store)?;
    let mut writer = Writer { terms, places: BTreeMap::new(), at, root: Tree::group(), written: Vec::new() };
    writer.number(solution);
    let mut chosen: BTreeMap<Term, String> = BTreeMap::new();
    for (list, entry) in &solution.entries {
        match terms.node(*list) {
            Node::Made("stretch", _, ends) => writer.stretch(ends, solution)?,
            _ => {
                writer.put(*list, None)?;
                writer.put(*entry, None)?;
            }
        }
    }
    writer.logs(solution)?;
    for (term, known) in solution.store.known() {
        let is_written = !terms.is_path(term) || writer.written.contains(&term);
        if is_written || known.states.has(States::ABSENT) {
            continue;
        }
        if !known.states.has(States::VALUE) {
            return None;
        }
        let others =
            solution.store.alike().filter(|(one, other, same)| !same && (*one == term || *other == term));
        let taken: Vec<&String> = others
            .flat_map(|(one, other, _)| [one, other])
            .filter(|other| *other != term)
            .filter_map(|other| chosen.get(&other))
            .collect();
        let text = writer.single(term, known, &taken)?;
        if let Some(text) = &text {
            chosen.insert(term, text.clone());
        }
        writer.put(term, text)?;
    }
    let mut text = String::new();
    writer.root.write(&mut text);
    Some(text)
}

struct Writer<'t> {
    terms: &'t Terms,
    /// The number of each entry in its list.
    places: BTreeMap<Term, usize>,
    at: BTreeMap<Term, Number>,
    root: Tree,
    /// Values that are put already.
    written: Vec<Term>,
}

/// A step of a path.
enum Step {
    Field(Arc<str>),
    Entry(usize),
}

impl Writer<'_> {
    /// Numbers the entries of each list in their order.
    fn number(&mut self, solution: &Solution) {
        let mut lists: BTreeMap<Term, Vec<Term>> = BTreeMap::new();
        for (list, entry) in &solution.entries {
            let entries = lists.entry(*list).or_default();
            if !entries.contains(entry) {
                entries.push(*entry);
            }
        }
        let place_of = |entry: Term| {
            let is_place = |term: &&Term| match self.terms.node(**term) {
                Node::Made("rank", _, parts) => parts.first() == Some(&entry),
                _ => false,
            };
            self.at.keys().find(is_place).and_then(|term| self.at.get(term)).cloned().unwrap_or(Number::ZERO)
        };
        let mut places = BTreeMap::new();
        for entries in lists.values_mut() {
            entries.sort_by_key(|entry| place_of(*entry));
            places.extend(entries.iter().enumerate().map(|(number, entry)| (*entry, number)));
        }
        self.places = places;
    }

    fn path(&self, term: Term) -> Option<Vec<Step>> {
        let (parent, step) = match self.terms.node(term) {
            Node::Root => return Some(Vec::new()),
            Node::Field(parent, name) | Node::Link(parent, name) => (*parent, Step::Field(name.clone())),
            Node::Entry(list, _) => (*list, Step::Entry(*self.places.get(&term)?)),
            _ => return None,
        };
        let mut path = self.path(parent)?;
        path.push(step);
        Some(path)
    }

    /// Puts a value where it belongs; without a text, the group or list that it is.
    fn put(&mut self, term: Term, text: Option<String>) -> Option<()> {
        let path = self.path(term)?;
        let is_list = matches!(self.terms.sort(term), Sort::List);
        let mut at = &mut self.root;
        for step in path {
            at = match step {
                Step::Field(name) => {
                    if matches!(at, Tree::List(entries) if entries.is_empty()) {
                        *at = Tree::group();
                    }
                    let Tree::Group(fields) = at else { return None };
                    fields.entry(name).or_insert_with(Tree::group)
                }
                Step::Entry(number) => {
                    if matches!(at, Tree::Group(fields) if fields.is_empty()) {
                        *at = Tree::List(Vec::new());
                    }
                    let Tree::List(entries) = at else { return None };
                    while entries.len() <= number {
                        entries.push(Tree::group());
                    }
                    entries.get_mut(number)?
                }
            };
        }
        let is_empty = matches!(at, Tree::Group(fields) if fields.is_empty());
        match text {
            Some(text) => *at = Tree::Single(text),
            None if is_list && is_empty => *at = Tree::List(Vec::new()),
            None => {}
        }
        Some(())
    }

    /// One of the numbers that a value can be, near a limit that is asked for.
    fn plain_number(&self, term: Term, known: &Known) -> Option<Number> {
        let Sort::Number { numbers, .. } = self.terms.sort(term) else { return None };
        let one = match self.terms.unit(term) {
            Some(unit) => {
                let of = |figure: u64| Quantity::new(Number::from(figure), unit).base();
                of(1).checked_sub(&of(0))?
            }
            None => Number::from(1_u64),
        };
        let asked = |end: Option<(Number, bool)>, natural: Option<(Number, bool)>| {
            end.filter(|end| Some(end) != natural.as_ref())
        };
        let low = asked(known.numbers.low(), numbers.low()).map(|(low, _)| low);
        let high = asked(known.numbers.high(), numbers.high()).map(|(high, _)| high);
        let near = [
            low.clone(),
            high.clone(),
            low.and_then(|low| low.checked_add(&one)),
            high.and_then(|high| high.checked_sub(&one)),
        ];
        let fits = |number: &Number| !known.numbers.and(&Numbers::point(number)).is_empty();
        near.into_iter().flatten().find(fits).or_else(|| known.numbers.one())
    }

    /// The times of a stretch, with room for all instants that are asked for.
    fn stretch(&mut self, ends: &[Term], solution: &Solution) -> Option<()> {
        let last = i64::try_from(solution.entries.len()).ok()?.checked_mul(INTERVAL)?;
        for (end, seconds) in ends.iter().zip([0, last]) {
            if !self.written.contains(end) {
                self.put(*end, Some(format!("\"{}\"", time(seconds)?)))?;
                self.written.push(*end);
            }
        }
        Some(())
    }

    /// The logs, with what they show at the instants that are asked for; before and behind those it stays the same.
    fn logs(&mut self, solution: &Solution) -> Option<()> {
        let mut logs: BTreeMap<Term, Vec<String>> = BTreeMap::new();
        for (term, known) in solution.store.known() {
            let Node::At(log, _) = self.terms.node(term) else { continue };
            let text = self.single(term, known, &[])??;
            logs.entry(*log).or_default().push(text);
        }
        for (log, values) in logs {
            let mut text = String::from("{ ");
            for (seconds, value) in (0..).step_by(usize::try_from(INTERVAL).ok()?).zip(&values) {
                text.push_str(&format!("\"{}\": {value}, ", time(seconds)?));
            }
            let last = i64::try_from(solution.entries.len()).ok()?.checked_mul(INTERVAL)?;
            text.push_str(&format!("\"{}\": {} }}", time(last)?, values.last()?));
            self.put(log, Some(text))?;
            self.written.push(log);
        }
        Some(())
    }

    /// A single value as a record writes it; nothing for a group or a list.
    fn single(&self, term: Term, known: &Known, taken: &[&String]) -> Option<Option<String>> {
        Some(match self.terms.sort(term) {
            Sort::Group | Sort::List => None,
            Sort::Words(all) => {
                let is_truth = *all == Words::of(["yes".into(), "no".into()]);
                let word =
                    one_of(&known.words, &|word| taken.iter().any(|text| text.trim_matches('"') == word))?;
                Some(if is_truth { word } else { format!("\"{word}\"") })
            }
            Sort::Number { kind, whole, .. } => {
                let number = match self.at.get(&term) {
                    Some(number) => number.clone(),
                    None => self.plain_number(term, known)?,
                };
                let quantity = Quantity::from_base(number, *kind);
                match self.terms.unit(term) {
                    Some(unit) if !*whole => Some(quantity.in_unit(unit).to_string()),
                    _ => Some(quantity.to_string()),
                }
            }
            Sort::Time { day } => {
                let seconds = self.at.get(&term).and_then(Number::floor).unwrap_or_default();
                let time = time(seconds)?;
                Some(if *day { time.date().to_string() } else { format!("\"{time}\"") })
            }
            Sort::Other => return None,
        })
    }
}

/// How many seconds lie between two instants of a log that is made up.
const INTERVAL: i64 = 60;

/// So many seconds after a time that is as good as any.
fn time(seconds: i64) -> Option<jiff::civil::DateTime> {
    let start = jiff::civil::date(2026, 3, 2).at(9, 0, 0, 0);
    start.checked_add(jiff::SignedDuration::from_secs(seconds)).ok()
}

/// One word of a set that is not taken.
fn one_of(words: &Words, is_taken: &dyn Fn(&str) -> bool) -> Option<String> {
    match words {
        Words::Of(words) => words.iter().find(|word| !is_taken(word)).map(|word| word.to_string()),
        Words::AllBut(words) => {
            let free = |word: &String| !words.contains(word.as_str()) && !is_taken(word);
            ["another", "a third", "a fourth", "a fifth", "a sixth"].into_iter().map(str::to_owned).find(free)
        }
    }
}

/// Numbers that keep all distances; nothing where there are none.
fn distances(store: &Store) -> Option<BTreeMap<Term, Number>> {
    const ROOM: u64 = 60;
    let mut at: BTreeMap<Term, Number> = BTreeMap::new();
    for apart in store.apart() {
        at.insert(apart.high, Number::ZERO);
        at.insert(apart.low, Number::ZERO);
    }
    for _ in 0..=at.len() {
        let mut changed = false;
        for apart in store.apart() {
            let room = if apart.below { Number::from(ROOM) } else { Number::ZERO };
            let most = at.get(&apart.low)?.checked_add(&apart.most)?.checked_sub(&room)?;
            let high = at.get_mut(&apart.high)?;
            if *high > most {
                *high = most;
                changed = true;
            }
        }
        if !changed {
            return Some(at);
        }
    }
    None
}

/// Looks at a document that was made up for rules of one form; nothing where it cannot be read without errors.
fn on_document<'p, R>(
    bench: &Bench<'p>,
    scenes: &[&Scene<'p>],
    text: &str,
    look: impl for<'x> FnOnce(&mut Evaluator<'x>, &'x [&'x Scene<'p>]) -> Option<R>,
) -> Option<R> {
    let first = scenes.first()?;
    let form = bench.forms.get(&first.standard.form)?;
    let (read, found) = document::read_partial(first.rule.place.source, text, 0, form, bench.forms);
    let [record] = read.as_slice() else { return None };
    if found.iter().any(|found| found.level == Level::Error) {
        return None;
    }
    let around = LinkedDocuments::nothing(record);
    let evaluator = Evaluator::new(bench.program, &around, bench.setting, bench.sources);
    let most = MOST_STEPS.saturating_mul(scenes.len() as u64);
    look(&mut evaluator.with_given(&[]).within_steps(most), scenes)
}

/// Whether a standard applies to a document.
fn applies<'x>(evaluator: &mut Evaluator<'x>, scene: &'x Scene<'_>) -> Truth {
    scene.standard.condition.as_ref().map_or(Truth::Yes, |condition| evaluator.applies(condition).truth)
}

/// What demands of a rule come to on a document: of those that are wanted, whether each is broken for some entry.
pub(super) fn broken_on(
    bench: &Bench<'_>,
    scene: &Scene<'_>,
    text: &str,
    wanted: &[&Expr],
) -> Option<Vec<bool>> {
    on_document(bench, &[scene], text, |evaluator, scenes| {
        let scene = scenes.first()?;
        if applies(evaluator, scene) != Truth::Yes {
            return None;
        }
        let mut broken = vec![false; wanted.len()];
        evaluator.rule(scene.rule, &mut |_, judgement| {
            let About::Demand(demand) = judgement.about else { return };
            for (wanted, broken) in wanted.iter().zip(&mut broken) {
                *broken |= std::ptr::eq(*wanted, demand) && judgement.outcome == Outcome::Broken;
            }
        });
        Some(broken)
    })
}

/// The heaviest finding of some rules on a document; nothing where it cannot be judged by them.
pub(super) fn heaviest_on(bench: &Bench<'_>, scenes: &[&Scene<'_>], text: &str) -> Option<Heaviest> {
    if scenes.is_empty() {
        return Some(None);
    }
    on_document(bench, scenes, text, |evaluator, scenes| {
        let mut heaviest = None;
        for scene in scenes {
            if scenes.first().is_some_and(|first| scene.standard.form != first.standard.form) {
                return None;
            }
            match applies(evaluator, scene) {
                Truth::Yes => {}
                Truth::No => continue,
                Truth::Unknown => return None,
            }
            evaluator.rule(scene.rule, &mut |evaluator, judgement| {
                let is_broken = judgement.outcome == Outcome::Broken;
                if !is_broken && judgement.outcome != Outcome::Undecided {
                    return;
                }
                let (severity, standing) = evaluator.weight(&judgement);
                if matches!(standing, Standing::Counts | Standing::StillToDo) {
                    heaviest = heaviest.max(Some((severity, is_broken)));
                }
            });
        }
        Some(heaviest)
    })
}

/// How many steps a rule may take on a document that is made up.
const MOST_STEPS: u64 = 100_000;
