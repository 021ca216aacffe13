//! Which items of a list stand at another place.

use std::collections::HashSet;

use super::tree::Mark;

/// An item of both lists: its place among the common items in the old and in the new sequence, and
/// marks of its name and content.
#[derive(Clone, Copy, Debug)]
pub(super) struct Placed {
    pub(super) old: usize,
    pub(super) new: usize,
    pub(super) marks: (Mark, Mark),
}

/// The numbers of the fewest items that must be moved to bring the old sequence into the new one. Where
/// several choices are as few, the choice does not depend on which sequence is the old one.
pub(super) fn moved(items: &[Placed]) -> HashSet<usize> {
    let forth = stay(items, |item| item.old, |item| item.new);
    if forth.len() == items.len() {
        return HashSet::new();
    }
    let back = stay(items, |item| item.new, |item| item.old);
    let movers = |stay: HashSet<usize>| -> Vec<usize> {
        (0..items.len()).filter(|number| !stay.contains(number)).collect()
    };
    let (forth, back) = (movers(forth), movers(back));
    let sign = |movers: &[usize]| -> Vec<_> {
        let movers = movers.iter().filter_map(|number| items.get(*number));
        let mut signs: Vec<_> = movers.map(|item| (pair(item.marks), pair((item.old, item.new)))).collect();
        signs.sort_unstable();
        signs
    };
    let chosen = if sign(&forth) <= sign(&back) { forth } else { back };
    chosen.into_iter().collect()
}

/// Two values, the lower first.
fn pair<T: Ord + Copy>((one, other): (T, T)) -> (T, T) {
    (one.min(other), one.max(other))
}

/// The numbers of the items of a longest run that has the same order in both sequences.
fn stay(items: &[Placed], by: impl Fn(&Placed) -> usize, then: impl Fn(&Placed) -> usize) -> HashSet<usize> {
    let mut order: Vec<(usize, usize, usize)> =
        items.iter().enumerate().map(|(number, item)| (by(item), then(item), number)).collect();
    order.sort_unstable();
    // For each length, the run that ends lowest: its end, and the item before each item.
    let mut ends: Vec<(usize, usize)> = Vec::new();
    let mut before: Vec<Option<usize>> = vec![None; items.len()];
    for (_, place, number) in order {
        let length = ends.partition_point(|(end, _)| *end < place);
        let last = length.checked_sub(1).and_then(|at| ends.get(at)).map(|(_, number)| *number);
        if let Some(slot) = before.get_mut(number) {
            *slot = last;
        }
        match ends.get_mut(length) {
            Some(end) => *end = (place, number),
            None => ends.push((place, number)),
        }
    }
    let mut run = HashSet::new();
    let mut at = ends.last().map(|(_, number)| *number);
    while let Some(number) = at {
        run.insert(number);
        at = before.get(number).copied().flatten();
    }
    run
}
