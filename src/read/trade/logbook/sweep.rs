//! How many jobs stood on a lift at once, in one pass over them.

use std::cmp::Reverse;
use std::collections::BinaryHeap;

use jiff::Timestamp;

use super::entry::Entry;

/// How many jobs stood on the lift when one was opened, itself among them.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum AtOnce {
    /// So many.
    Known(u64),
    /// It depends on the job of this number, of which nobody knows when it began or ended.
    Open(u32),
}

/// That of each of the jobs, which are in the order of time. A job that is still in work stands there until now.
pub(super) fn at_once<'e>(jobs: impl Iterator<Item = (u32, &'e Entry)>) -> Vec<AtOnce> {
    let jobs: Vec<(u32, &Entry)> = jobs.collect();
    let undated = jobs.iter().find(|(_, entry)| entry.opened.is_none());
    let first_frame = jobs.iter().find_map(|(_, entry)| entry.frame);
    let of_other_frame = jobs.iter().find(|(_, entry)| entry.frame.is_some() && entry.frame != first_frame);
    let mut open = undated.or(of_other_frame).map(|(number, _)| *number);
    let mut ends: BinaryHeap<Reverse<Timestamp>> = BinaryHeap::new();
    let mut in_work = 0_u64;
    let mut counts = Vec::with_capacity(jobs.len());
    for (number, entry) in &jobs {
        let Some(opened) = entry.opened else {
            counts.push(AtOnce::Open(*number));
            continue;
        };
        while ends.peek().is_some_and(|Reverse(end)| *end <= opened) {
            ends.pop();
        }
        let count = ends.len() as u64 + in_work + 1;
        counts.push(open.map_or(AtOnce::Known(count), AtOnce::Open));
        match entry.closed {
            Some(closed) => ends.push(Reverse(closed)),
            None if entry.is_in_work => in_work += 1,
            None => open = open.or(Some(*number)),
        }
    }
    counts
}
