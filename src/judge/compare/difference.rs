//! Lays two trees side by side and says what differs.

use std::collections::{BTreeSet, HashMap, HashSet};
use std::sync::Arc;

use super::order::{self, Placed};
use super::pairs::{Pair, Pairs, pair};
use super::tree::{Body, Field, Item, List, Mark, Piece, spaced};
use super::{Change, Kind, Side};
use crate::quantity::Number;
use crate::trade::names::SEQUENCE;

/// What was found on the way through two trees.
#[derive(Debug, Default)]
pub(super) struct Difference {
    pub(super) changes: Vec<Change>,
    pub(super) spellings: Vec<Change>,
    /// The part of the text at hand.
    part: String,
    /// The way from there to the piece at hand.
    trail: Vec<String>,
}

impl Difference {
    /// Compares two whole texts; the fields of their trees are their parts.
    pub(super) fn between(old: &Piece, new: &Piece) -> Difference {
        let mut difference = Difference::default();
        for (name, old, new) in united(old.fields(), new.fields()) {
            difference.part = spaced(name);
            difference.field(old, new);
        }
        difference
    }

    /// A piece that may stand on both sides or on one. Depth is bounded by that of the texts.
    fn field(&mut self, old: Option<&Piece>, new: Option<&Piece>) {
        match (old, new) {
            (Some(old), Some(new)) => self.pieces(old, new),
            (Some(old), None) => self.alone(Kind::TakenOut, old),
            (None, Some(new)) => self.alone(Kind::Added, new),
            (None, None) => {}
        }
    }

    fn alone(&mut self, kind: Kind, piece: &Piece) {
        // What is a part by itself, or a group of fields, is said by itself.
        if let Body::List(List { noun, items, .. }) = &piece.body
            && (noun.is_some() || items.iter().any(|item| matches!(item.piece.body, Body::Group(_))))
        {
            for item in items {
                self.item_alone(kind, item, *noun);
            }
            return;
        }
        self.one_side(kind, side(piece, piece.summary()));
    }

    fn one_side(&mut self, kind: Kind, side: Side) {
        let (from, to) = if kind == Kind::Added { (None, Some(side)) } else { (Some(side), None) };
        self.say(kind, from, to);
    }

    fn pieces(&mut self, old: &Piece, new: &Piece) {
        match (&old.body, &new.body) {
            (Body::Value(words), Body::Value(other)) => {
                let (from, to) = (side(old, words.clone()), side(new, other.clone()));
                if old.mark != new.mark {
                    self.say(Kind::Changed, Some(from), Some(to));
                } else if words != other {
                    self.written_otherwise(from, to);
                }
            }
            (Body::Group(old), Body::Group(new)) => {
                for (name, old, new) in united(old, new) {
                    self.named(&spaced(name), |difference| difference.field(old, new));
                }
            }
            (Body::List(old), Body::List(new)) => self.lists(old, new),
            _ => self.say(Kind::Changed, Some(side(old, old.summary())), Some(side(new, new.summary()))),
        }
    }

    fn lists(&mut self, old: &List, new: &List) {
        let pairs = pair(&old.items, &new.items);
        let ranked = is_ranked(old) && is_ranked(new);
        let mut taken_out =
            pairs.taken_out.iter().filter_map(|gone| Some((*gone, old.items.get(*gone)?))).peekable();
        for (both, ours, theirs) in items_of(&pairs.together, old, new) {
            // In the order of the old text, so that what went is said where it stood.
            while let Some((_, gone)) = taken_out.next_if(|(gone, _)| *gone < both.old) {
                self.item_alone(Kind::TakenOut, gone, old.noun);
            }
            self.within(&label_of(both, ours, theirs), old.noun, |difference| {
                difference.pieces(&ours.piece, &theirs.piece);
                if !ranked {
                    difference.named(SEQUENCE, |difference| difference.field(rank_of(ours), rank_of(theirs)));
                }
            });
        }
        for (_, gone) in taken_out {
            self.item_alone(Kind::TakenOut, gone, old.noun);
        }
        for (_, ours, theirs) in items_of(&pairs.renamed, old, new) {
            let (from, to) =
                (side(&ours.piece, ours.label.clone()), side(&theirs.piece, theirs.label.clone()));
            self.say(Kind::Renamed, Some(from), Some(to));
        }
        for added in pairs.added.iter().filter_map(|added| new.items.get(*added)) {
            self.item_alone(Kind::Added, added, new.noun);
        }
        if ranked || (old.ordered && new.ordered) {
            self.sequence(old, new, &pairs, ranked);
        }
    }

    fn item_alone(&mut self, kind: Kind, item: &Item, noun: Option<&str>) {
        // A part by itself, such as a rule, is said by its title.
        let title = item.piece.fields().iter().find(|field| noun.is_some() && field.name == "title");
        let words = title.map_or_else(|| item.piece.summary(), |title| title.piece.summary());
        self.within(&item.label, noun, |difference| difference.one_side(kind, side(&item.piece, words)));
    }

    /// Says which of the items that both lists hold stand at another place.
    fn sequence(&mut self, old: &List, new: &List, pairs: &Pairs, ranked: bool) {
        let renamed: HashSet<usize> = pairs.renamed.iter().map(|pair| pair.old).collect();
        let mut both: Vec<_> =
            items_of(&pairs.together, old, new).chain(items_of(&pairs.renamed, old, new)).collect();
        both.sort_by_key(|(pair, ..)| pair.old);
        let numbers = |ours: &Item, theirs: &Item| ranked.then(|| (number_of(ours), number_of(theirs)));
        let mut placed: Vec<Placed> = both
            .iter()
            .map(|(_, ours, theirs)| Placed { old: 0, new: 0, marks: (sign(ours), sign(theirs)) })
            .collect();
        // Items that state the same number stand side by side; then the other list decides.
        let old_order = sorted(both.len(), |at| {
            both.get(at).map(|(pair, ours, theirs)| (numbers(ours, theirs), pair.old))
        });
        let new_order = sorted(both.len(), |at| {
            both.get(at).map(|(pair, ours, theirs)| {
                let last = if ranked { pair.old } else { pair.new };
                (numbers(theirs, ours), last)
            })
        });
        for (place, at) in old_order.into_iter().enumerate() {
            if let Some(placed) = placed.get_mut(at) {
                placed.old = place;
            }
        }
        for (place, at) in new_order.into_iter().enumerate() {
            if let Some(placed) = placed.get_mut(at) {
                placed.new = place;
            }
        }
        let movers: BTreeSet<usize> = order::moved(&placed).into_iter().collect();
        let (ours_before, theirs_before) = (Before::of(old, ranked), Before::of(new, ranked));
        for (pair, ours, theirs) in movers.iter().filter_map(|at| both.get(*at)) {
            let (mut from, mut to) = (ours_before.words(pair.old), theirs_before.words(pair.new));
            let name = if renamed.contains(&pair.old) {
                (from, to) = (format!("{}, {from}", ours.label), format!("{}, {to}", theirs.label));
                String::new()
            } else {
                named(ours, pair.old)
            };
            self.within(&name, None, |difference| {
                difference.say(Kind::Moved, Some(side(&ours.piece, from)), Some(side(&theirs.piece, to)));
            });
        }
        if ranked && movers.is_empty() {
            self.side_by_side(&both);
        }
    }

    /// Where nothing moved, items can still have come to share a number, or no longer share one. Numbers
    /// that only make room for another item mean the same.
    fn side_by_side(&mut self, both: &[(Pair, &Item, &Item)]) {
        let old = dense(both.iter().map(|(_, ours, _)| number_of(ours)).collect());
        let new = dense(both.iter().map(|(.., theirs)| number_of(theirs)).collect());
        for ((pair, ours, theirs), (old, new)) in both.iter().zip(old.into_iter().zip(new)) {
            let (Some(from), Some(to)) = (rank_of(ours), rank_of(theirs)) else { continue };
            if from.mark == to.mark {
                continue;
            }
            let (from, to) = (side(from, from.summary()), side(to, to.summary()));
            self.within(&label_of(*pair, ours, theirs), None, |difference| {
                difference.named(SEQUENCE, |difference| {
                    if old == new {
                        difference.written_otherwise(from, to);
                    } else {
                        difference.say(Kind::Changed, Some(from), Some(to));
                    }
                });
            });
        }
    }

    /// Does something under the name of a field.
    fn named(&mut self, name: &str, act: impl FnOnce(&mut Difference)) {
        self.trail.push(name.to_owned());
        act(self);
        self.trail.pop();
    }

    /// Does something under the name of an item, which is a part by itself where its list has a noun.
    fn within(&mut self, label: &str, noun: Option<&str>, act: impl FnOnce(&mut Difference)) {
        if let Some(noun) = noun {
            let part = std::mem::replace(&mut self.part, format!("{noun} {label}"));
            act(self);
            self.part = part;
            return;
        }
        let last = self.trail.pop();
        // An entry of an inner list is named with its list: `positions R`.
        let name = match &last {
            Some(list) if label.is_empty() => list.clone(),
            Some(list) => format!("{list} {label}"),
            None => label.to_owned(),
        };
        self.named(&name, act);
        self.trail.extend(last);
    }

    fn say(&mut self, kind: Kind, from: Option<Side>, to: Option<Side>) {
        let change = self.change(kind, from, to);
        self.changes.push(change);
    }

    fn written_otherwise(&mut self, from: Side, to: Side) {
        let change = self.change(Kind::Changed, Some(from), Some(to));
        self.spellings.push(change);
    }

    fn change(&self, kind: Kind, from: Option<Side>, to: Option<Side>) -> Change {
        let steps = self.trail.iter().filter(|step| !step.is_empty());
        let what = steps.map(String::as_str).collect::<Vec<_>>().join(", ");
        Change { kind, part: self.part.clone(), what, from, to, used_by: Arc::from([]) }
    }
}

/// The names of both groups with what stands under each: those of the old one in its order, then those
/// that are new.
fn united<'p>(old: &'p [Field], new: &'p [Field]) -> Vec<(&'p str, Option<&'p Piece>, Option<&'p Piece>)> {
    let theirs: HashMap<&str, &Piece> = new.iter().map(|field| (field.name.as_str(), &field.piece)).collect();
    let ours: HashSet<&str> = old.iter().map(|field| field.name.as_str()).collect();
    let kept = old.iter().map(|field| {
        let name = field.name.as_str();
        (name, Some(&field.piece), theirs.get(name).copied())
    });
    let added = new.iter().filter(|field| !ours.contains(field.name.as_str()));
    kept.chain(added.map(|field| (field.name.as_str(), None, Some(&field.piece)))).collect()
}

fn items_of<'l>(
    pairs: &'l [Pair],
    old: &'l List,
    new: &'l List,
) -> impl Iterator<Item = (Pair, &'l Item, &'l Item)> {
    pairs.iter().filter_map(|pair| Some((*pair, old.items.get(pair.old)?, new.items.get(pair.new)?)))
}

/// Whether every item states its place in the sequence, so that the order of the text means nothing.
fn is_ranked(list: &List) -> bool {
    !list.items.is_empty() && list.items.iter().all(|item| item.rank.is_some())
}

fn rank_of(item: &Item) -> Option<&Piece> {
    item.rank.as_ref().map(|rank| &rank.piece)
}

fn number_of(item: &Item) -> Option<Number> {
    item.rank.as_ref().map(|rank| rank.number.clone())
}

/// A mark of the whole item, its name included.
fn sign(item: &Item) -> Mark {
    Mark::of(&(item.key, item.piece.mark))
}

/// The place of each number among the different ones.
fn dense(numbers: Vec<Option<Number>>) -> Vec<usize> {
    let mut different = numbers.clone();
    different.sort();
    different.dedup();
    numbers.iter().map(|number| different.partition_point(|other| other < number)).collect()
}

/// Numbers from nought, sorted by a key.
fn sorted<K: Ord>(count: usize, key: impl Fn(usize) -> K) -> Vec<usize> {
    let mut numbers: Vec<usize> = (0..count).collect();
    numbers.sort_by_cached_key(|number| key(*number));
    numbers
}

/// What an item that both lists hold is called.
fn label_of(pair: Pair, old: &Item, new: &Item) -> String {
    match (&old.piece.body, old.label.as_str()) {
        (Body::Value(_), "") => String::new(),
        (_, "") if pair.old == pair.new => format!("entry {}", pair.old + 1),
        (_, "") => "an entry".to_owned(),
        // The same name can be written otherwise; then neither is better.
        (_, label) => label.min(new.label.as_str()).to_owned(),
    }
}

/// What an item is called by itself.
fn named(item: &Item, number: usize) -> String {
    match &item.piece.body {
        _ if !item.label.is_empty() => item.label.clone(),
        Body::Value(words) => words.clone(),
        _ => format!("entry {}", number + 1),
    }
}

/// Which item stands before each of a list, in its sequence.
struct Before(HashMap<usize, String>);

impl Before {
    fn of(list: &List, ranked: bool) -> Before {
        let order =
            sorted(list.items.len(), |at| (ranked.then(|| list.items.get(at).and_then(number_of)), at));
        let pairs = order.iter().zip(order.iter().skip(1));
        let names = pairs.filter_map(|(before, at)| Some((*at, named(list.items.get(*before)?, *before))));
        Before(names.collect())
    }

    fn words(&self, number: usize) -> String {
        self.0.get(&number).map_or_else(|| "at the beginning".to_owned(), |name| format!("behind {name}"))
    }
}

fn side(piece: &Piece, words: String) -> Side {
    Side { words, path: piece.path.clone(), place: piece.place }
}
