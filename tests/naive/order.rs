//! Tightening orders, told in the plainest way: bolts on a clock face, and the pull of those tightened so far.

use std::f64::consts::PI;

use super::figures::{Ratio, exact};

/// The bolts in the order of tightening, from 0; nothing when not every place stands once.
fn bolts(places: &[Ratio]) -> Option<Vec<usize>> {
    let wanted = |place: usize| exact(&(place + 1).to_string());
    (0..places.len()).map(|place| places.iter().position(|given| *given == wanted(place))).collect()
}

/// Whether an order is criss-cross; nothing when that is doubtful or cannot be told.
pub fn criss_cross(places: &[Ratio]) -> Option<bool> {
    let bolts = bolts(places)?;
    if bolts.len() < 4 {
        return Some(true);
    }
    let mut worst = 0.0_f64;
    for tightened in 1..=bolts.len() {
        let angle = |bolt: &usize| 2.0 * PI * (*bolt as f64) / bolts.len() as f64;
        let east: f64 = bolts[..tightened].iter().map(|bolt| angle(bolt).sin()).sum();
        let north: f64 = bolts[..tightened].iter().map(|bolt| angle(bolt).cos()).sum();
        worst = worst.max((east * east + north * north).sqrt());
    }
    match worst - 1e-9 {
        calm if calm < 1.25 => Some(true),
        pull if pull < 2.0 && bolts.len() >= 8 => None,
        _ => Some(false),
    }
}

/// Whether an order goes once round, from any bolt, in one direction.
pub fn goes_round(places: &[Ratio]) -> Option<bool> {
    let bolts = bolts(places)?;
    let count = bolts.len();
    let from = |first: usize, step: usize| (0..count).map(move |at| (first + at * step) % count.max(1));
    let first = bolts.first().copied().unwrap_or_default();
    Some([1, count.saturating_sub(1)].iter().any(|step| from(first, *step).eq(bolts.iter().copied())))
}
