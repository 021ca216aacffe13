//! Whether two shares differ, exactly.
//!
//! Fisher (1935), *The logic of inductive inference*: with the sums of both rows and columns given, the counts of a table of two
//! by two are hypergeometric. To both sides: the sum of the probabilities of all tables that are no more probable than this one.

use statrs::function::factorial::ln_factorial;

use super::proportion::Share;

/// No archive has more, and nobody would wait for it.
const MOST_TABLES: u64 = 10_000_000;

/// Tables whose probability is greater by no more than this count as equally probable, against rounding.
const ALIKE: f64 = 1.0 + 1e-7;

/// How probable it is that two shares of the same true size differ so much. Work grows with the lesser of the counts.
#[must_use]
pub fn fisher(first: Share, second: Share) -> Option<f64> {
    if first.count > first.of || second.count > second.of || first.of == 0 || second.of == 0 {
        return None;
    }
    let (rows, counted) = (first.of.checked_add(second.of)?, first.count.checked_add(second.count)?);
    let counts = counted.saturating_sub(second.of)..=counted.min(first.of);
    if counts.end() - counts.start() > MOST_TABLES {
        return None;
    }
    let choose = |n: u64, k: u64| ln_factorial(n) - ln_factorial(k) - ln_factorial(n - k);
    let all = choose(rows, counted);
    let probability = |count: u64| (choose(first.of, count) + choose(second.of, counted - count) - all).exp();
    let here = probability(first.count) * ALIKE;
    Some(counts.map(probability).filter(|one| *one <= here).sum::<f64>().min(1.0))
}
