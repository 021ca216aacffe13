//! Which item of an old list is which of the new one.

use std::cmp::Reverse;
use std::collections::{HashMap, HashSet};
use std::hash::Hash;

use super::tree::{Body, Item, Piece};

/// Two items that are one and the same, by their numbers in the two lists.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Pair {
    pub(super) old: usize,
    pub(super) new: usize,
}

/// How the items of two lists belong together.
#[derive(Debug, Default)]
pub(super) struct Pairs {
    /// In the order of the old list.
    pub(super) together: Vec<Pair>,
    /// Those of another name and the same content, likewise.
    pub(super) renamed: Vec<Pair>,
    pub(super) taken_out: Vec<usize>,
    pub(super) added: Vec<usize>,
}

/// How alike two items without a name must be to be taken for the same one, in thousandths.
const ALIKE: usize = 500;

/// How many possible pairs are weighed against each other.
const MOST_WEIGHED: usize = 16_384;

/// Brings the items of two lists together: by what identifies them, then by equal content, then by
/// likeness. Old and new can be exchanged: the pairs are the same.
pub(super) fn pair(old: &[Item], new: &[Item]) -> Pairs {
    let mut matching = Matching { old, new, pairs: Pairs::default() };
    let keyed = |items: &[Item]| numbers(items, |item| item.key.is_some());
    let bare = |items: &[Item]| numbers(items, |item| item.key.is_none());
    for (ours, theirs) in classes(keyed(old), keyed(new), |n| key(old, n), |n| key(new, n)) {
        // One name may stand several times: a screw that is tightened in two passes.
        matching.together(ours, theirs, 0);
    }
    // Where there is only one on either side, it is the same one, however much it changed.
    let only = old.len() == 1 && new.len() == 1;
    matching.together(bare(old), bare(new), if only { 0 } else { ALIKE });
    matching.renamed(keyed(old), keyed(new));
    matching.finish()
}

fn numbers(items: &[Item], wanted: impl Fn(&Item) -> bool) -> Vec<usize> {
    items.iter().enumerate().filter(|(_, item)| wanted(item)).map(|(number, _)| number).collect()
}

fn key(items: &[Item], number: usize) -> Option<super::tree::Mark> {
    items.get(number).and_then(|item| item.key)
}

fn content(items: &[Item], number: usize) -> Option<super::tree::Mark> {
    items.get(number).map(|item| item.piece.mark)
}

/// The numbers of both lists that share a key, key by key.
fn classes<K: Hash + Eq>(
    old: Vec<usize>,
    new: Vec<usize>,
    key_of_old: impl Fn(usize) -> K,
    key_of_new: impl Fn(usize) -> K,
) -> Vec<(Vec<usize>, Vec<usize>)> {
    let mut by_key: HashMap<K, usize> = HashMap::new();
    let mut classes: Vec<(Vec<usize>, Vec<usize>)> = Vec::new();
    for number in old {
        let at = *by_key.entry(key_of_old(number)).or_insert_with(|| {
            classes.push((Vec::new(), Vec::new()));
            classes.len() - 1
        });
        if let Some((ours, _)) = classes.get_mut(at) {
            ours.push(number);
        }
    }
    for number in new {
        if let Some((_, theirs)) = by_key.get(&key_of_new(number)).and_then(|at| classes.get_mut(*at)) {
            theirs.push(number);
        }
    }
    classes.retain(|(_, theirs)| !theirs.is_empty());
    classes
}

struct Matching<'i> {
    old: &'i [Item],
    new: &'i [Item],
    pairs: Pairs,
}

impl Matching<'_> {
    /// Brings together what is equal, in its order, and of the rest what is most alike.
    fn together(&mut self, old: Vec<usize>, new: Vec<usize>, at_least: usize) {
        let (mut old_left, mut new_left) = (old.clone(), new.clone());
        if old.len() > 1 || new.len() > 1 {
            let equal = self.equal(old, new);
            let seen: (HashSet<usize>, HashSet<usize>) =
                (equal.iter().map(|pair| pair.old).collect(), equal.iter().map(|pair| pair.new).collect());
            old_left.retain(|number| !seen.0.contains(number));
            new_left.retain(|number| !seen.1.contains(number));
            self.pairs.together.extend(equal);
        }
        let alike = self.alike(&old_left, &new_left, at_least);
        self.pairs.together.extend(alike);
    }

    fn equal(&self, old: Vec<usize>, new: Vec<usize>) -> Vec<Pair> {
        let classes =
            classes(old, new, |number| content(self.old, number), |number| content(self.new, number));
        let pairs = classes.into_iter().flat_map(|(ours, theirs)| ours.into_iter().zip(theirs));
        pairs.map(|(old, new)| Pair { old, new }).collect()
    }

    fn alike(&self, old: &[usize], new: &[usize], at_least: usize) -> Vec<Pair> {
        let weigh = |old: usize, new: usize| -> Option<usize> {
            let (ours, theirs) = (self.old.get(old)?, self.new.get(new)?);
            Some(likeness(&ours.piece, &theirs.piece)).filter(|likeness| *likeness >= at_least)
        };
        if old.len().saturating_mul(new.len()) > MOST_WEIGHED {
            let side_by_side = old.iter().zip(new).filter(|(old, new)| weigh(**old, **new).is_some());
            return side_by_side.map(|(old, new)| Pair { old: *old, new: *new }).collect();
        }
        let mut candidates = Vec::new();
        for (ours, old) in old.iter().enumerate() {
            for (theirs, new) in new.iter().enumerate() {
                if let Some(likeness) = weigh(*old, *new) {
                    let pair = Pair { old: *old, new: *new };
                    candidates.push((Reverse(likeness), ours.abs_diff(theirs), ours + theirs, pair));
                }
            }
        }
        candidates.sort_by_key(|(likeness, apart, sum, _)| (*likeness, *apart, *sum));
        let (mut old_taken, mut new_taken) = (HashSet::new(), HashSet::new());
        let mut pairs = Vec::new();
        for (.., pair) in candidates {
            if !old_taken.contains(&pair.old) && !new_taken.contains(&pair.new) {
                old_taken.insert(pair.old);
                new_taken.insert(pair.new);
                pairs.push(pair);
            }
        }
        pairs
    }

    /// Of what has a name and is still alone: equal content under another name.
    fn renamed(&mut self, old: Vec<usize>, new: Vec<usize>) {
        let old_alone =
            |number: &usize| self.old.get(*number).is_some_and(|item| says_something(&item.piece));
        let paired: HashSet<usize> = self.pairs.together.iter().map(|pair| pair.old).collect();
        let old = old.into_iter().filter(|number| !paired.contains(number)).filter(old_alone).collect();
        let paired: HashSet<usize> = self.pairs.together.iter().map(|pair| pair.new).collect();
        let new = new.into_iter().filter(|number| !paired.contains(number)).collect();
        self.pairs.renamed = self.equal(old, new);
    }

    fn finish(mut self) -> Pairs {
        self.pairs.together.sort_by_key(|pair| pair.old);
        self.pairs.renamed.sort_by_key(|pair| pair.old);
        let all = || self.pairs.together.iter().chain(&self.pairs.renamed);
        let (ours, theirs): (HashSet<usize>, HashSet<usize>) = all().map(|pair| (pair.old, pair.new)).unzip();
        self.pairs.taken_out = (0..self.old.len()).filter(|number| !ours.contains(number)).collect();
        self.pairs.added = (0..self.new.len()).filter(|number| !theirs.contains(number)).collect();
        self.pairs
    }
}

/// Whether a piece says anything by which it could be known again under another name.
fn says_something(piece: &Piece) -> bool {
    match &piece.body {
        Body::Value(words) => !words.is_empty(),
        Body::Group(fields) => !fields.is_empty(),
        Body::List(list) => !list.items.is_empty(),
    }
}

/// How alike two pieces are, in thousandths: words that both have, or fields that are equal, a field of
/// the same name and another value counting half.
fn likeness(old: &Piece, new: &Piece) -> usize {
    if old.mark == new.mark {
        return 1000;
    }
    match (&old.body, &new.body) {
        (Body::Value(old), Body::Value(new)) => {
            let words =
                |text: &str| -> HashSet<String> { text.split_whitespace().map(str::to_owned).collect() };
            let (old, new) = (words(old), words(new));
            share(2 * old.intersection(&new).count(), old.len() + new.len())
        }
        (Body::Group(old), Body::Group(new)) => {
            let named: HashMap<&str, _> =
                old.iter().map(|field| (field.name.as_str(), field.piece.mark)).collect();
            let counted = new.iter().filter_map(|field| {
                named.get(field.name.as_str()).map(|mark| if *mark == field.piece.mark { 2 } else { 1 })
            });
            share(counted.sum(), old.len() + new.len())
        }
        _ => 0,
    }
}

fn share(part: usize, whole: usize) -> usize {
    part * 1000 / whole.max(1)
}
