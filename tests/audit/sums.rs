//! Sums that can be cut and added in any way and order.

use std::cmp::Reverse;

use fastrand::Rng;
use witnessmark::audit::bounded::Bounded;
use witnessmark::audit::{Figures, Merge, Taken, Wanted, forms};

use super::archive::{sum, taken};
use crate::generate;

#[test]
fn the_first_keys_miss_nothing() {
    let mut rng = Rng::with_seed(1);
    for _ in 0..2_000 {
        let keys: Vec<u8> = (0..rng.usize(..40)).map(|_| rng.u8(..12)).collect();
        let add =
            |sum: &mut Bounded<Reverse<u8>, u64, 4>, key: u8| sum.add(Reverse(key), |value| *value += 1);
        let mut whole = Bounded::default();
        keys.iter().for_each(|key| add(&mut whole, *key));
        for (Reverse(key), count, value) in whole.iter() {
            let there = keys.iter().filter(|one| *one == key).count() as u64;
            assert_eq!((count, *value), (there, there));
        }
        let mut different: Vec<u8> = keys.clone();
        different.sort_unstable();
        different.dedup();
        assert_eq!(whole.len(), different.len().min(4));
        let listed: u64 = whole.iter().map(|(_, count, _)| count).sum();
        assert_eq!(whole.left_out(), keys.len() as u64 - listed);
        let mut shuffled = keys.clone();
        rng.shuffle(&mut shuffled);
        let cut = rng.usize(..=shuffled.len());
        let mut parts = [Bounded::default(), Bounded::default()];
        for (number, key) in shuffled.iter().enumerate() {
            add(&mut parts[usize::from(number >= cut)], *key);
        }
        let [mut one, other] = parts;
        one.merge(other);
        assert_eq!(one, whole);
    }
}

/// Generated records, some of them on few tools and with concessions, and texts that are none.
fn archive() -> (witnessmark::session::Session, Vec<Taken>) {
    let session = generate::session(&generate::AROUND).keeping_figures();
    let records = generate::records(7).take(if cfg!(debug_assertions) { 150 } else { 2_000 });
    let mut all: Vec<Taken> = records
        .enumerate()
        .flat_map(|(number, record)| taken(&session, &format!("jobs/{number}.yaml"), &record.text))
        .collect();
    all.extend(taken(&session, "broken.yaml", "form: job/1\n\tjob: {"));
    all.extend(taken(&session, "other.yaml", "form: tools/1\ntools: []\n"));
    (session, all)
}

#[test]
fn figures_are_the_same_however_they_are_cut() {
    let (session, taken) = archive();
    let whole = sum(&session, Wanted::default(), &taken);
    assert_eq!(whole.documents, taken.len() as u64);
    assert_eq!((whole.unreadable.all(), whole.others.all()), (1, 1));
    assert!(whole.jobs.passed > 0 && whole.jobs.failed > 0 && whole.read.readings > 0);
    assert!(!whole.near.is_empty() && !whole.tools.is_empty() && whole.work.len() > 3);
    let mut rng = Rng::with_seed(2);
    for _ in 0..12 {
        let mut shuffled = taken.clone();
        rng.shuffle(&mut shuffled);
        let mut parts: Vec<Figures> = Vec::new();
        let mut rest = &shuffled[..];
        while !rest.is_empty() {
            let (part, others) = rest.split_at(rng.usize(1..=rest.len()));
            parts.push(sum(&session, Wanted::default(), part));
            rest = others;
        }
        // Grouped in any way, too.
        while parts.len() > 1 {
            let one = parts.swap_remove(rng.usize(..parts.len()));
            let into = rng.usize(..parts.len());
            parts[into].merge(one);
        }
        let sum = parts.pop().unwrap();
        assert_eq!(sum, whole);
        // Written and read, it is the same.
        let text = String::from_utf8(forms::figures::written(&sum)).unwrap();
        assert_eq!(forms::figures::read(&text).unwrap(), whole);
    }
}
