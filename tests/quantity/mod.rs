//! Exact numbers, kinds, units, quantities and ranges.

mod check_values;
mod exact_oracle;
mod hostile;
mod kinds;
mod numbers;
mod offers;
mod one_reader;
mod ranges;
mod units;

use witnessmark::quantity::{Kind, Number, Unit};

use crate::support::number;

fn unit(text: &str) -> &'static Unit {
    Unit::find(text).unwrap()
}

fn kind(words: &str) -> Kind {
    Kind::named(words).unwrap()
}

/// Whether two exact numbers differ by less than half a unit of the last decimal of a published figure.
fn rounds_to(exact: &Number, published: &str) -> bool {
    let decimals = published.split_once('.').map_or(0, |(_, decimals)| decimals.len());
    let step = Number::ratio(1, 2 * 10_i128.pow(decimals as u32)).unwrap();
    (exact - &number(published)).abs() <= step
}
