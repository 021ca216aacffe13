//! Freezing points of mixtures of glycol and water.
//!
//! | symbol | meaning |
//! |---|---|
//! | `φ` | share of pure glycol by volume |
//! | `t` | temperature at which the first ice forms |
//!
//! Between the rows of the tables straight lines are drawn, which is exact; the tables themselves hold to about
//! 1 K. Ethylene glycol from 0 to 57.8 % by volume: ASHRAE Handbook Fundamentals 2009, chapter 31 (from memory; a
//! public table of densities of such mixtures, which begins where they are liquid, agrees). Propylene glycol from 0 to
//! 50 %: Lange's Handbook of Chemistry, 15th edition, table 5.13 (read). That table is the one that counts here.
//! ASHRAE's own for propylene glycol (from memory) has freezing points that are lower by up to 1.5 K, nowhere higher:
//! what is frost-proof by this table is so by that one. Who wants a freezing point from above, or compares a
//! measured one with it, allows for this difference in the limit. Past these shares more glycol raises the freezing
//! point again or was not measured, so nothing is said. Additives move the point a little: a maker's own table comes
//! first.

use crate::diagnostic::{Fault, nearest};
use crate::quantity::{Number, Quantity, Unit};

use super::figure::{exactly_in, outside, unknown};
use super::working::Working;

/// Share in tenths of a per cent by volume, freezing point in tenths of a degree Celsius.
type Row = (i64, i64);

const ETHYLENE: [Row; 13] = [
    (0, 0),
    (44, -14),
    (89, -32),
    (136, -54),
    (181, -78),
    (229, -107),
    (277, -141),
    (326, -179),
    (375, -223),
    (425, -275),
    (476, -338),
    (527, -411),
    (578, -483),
];

const PROPYLENE: [Row; 11] = [
    (0, 0),
    (50, -11),
    (100, -22),
    (150, -39),
    (200, -67),
    (250, -89),
    (300, -128),
    (350, -161),
    (400, -206),
    (450, -267),
    (500, -333),
];

/// Name, table and source.
type Glycol = (&'static str, &'static [Row], &'static str);

const GLYCOLS: [Glycol; 2] = [
    ("ethylene", &ETHYLENE, "ASHRAE Handbook Fundamentals 2009"),
    ("propylene", &PROPYLENE, "Lange's Handbook of Chemistry, 15th edition"),
];

/// The freezing point of a mixture; `glycol` is `ethylene` or `propylene`.
///
/// # Errors
/// Another glycol; a share that the table does not hold.
pub fn freezing_point(glycol: &str, share: &Quantity, working: &mut Working) -> Result<Quantity, Fault> {
    let (name, table, source) = find(glycol)?;
    let tenths = &share.base() * &Number::from(1_000_i64);
    let point = between(table.iter().copied(), &tenths).ok_or_else(|| {
        let most = table.last().map_or(0, |row| row.0) / 10;
        outside(
            format!(
                "a share of {share} {name} glycol is outside the table, which reaches from 0 to {most} %"
            ),
            "beyond it more glycol protects no better",
        )
        .argument(1)
    })?;
    let point = tenth(&point, "°C")?;
    working.line(source, "freezing point", "by the table, straight between its rows", || {
        format!("{share} {name} glycol: {point}")
    });
    Ok(point)
}

/// The share of glycol by volume whose mixture freezes at this temperature.
///
/// # Errors
/// Another glycol; a temperature that the table does not hold.
pub fn share_for(glycol: &str, freezing: &Quantity, working: &mut Working) -> Result<Quantity, Fault> {
    let (name, table, source) = find(glycol)?;
    let tenths = &exactly_in(freezing, "°C")? * &Number::from(10_i64);
    let share = between(table.iter().rev().map(|(share, point)| (*point, *share)), &tenths);
    let share = share.ok_or_else(|| {
        let least = table.last().map_or(0, |row| row.1) / 10;
        outside(
            format!("no mixture of {name} glycol in the table freezes at {freezing}"),
            format!("the table reaches from 0 °C to about {least} °C"),
        )
        .argument(1)
    })?;
    let share = tenth(&share, "%")?;
    working.line(source, "share of glycol", "by the table, straight between its rows", || {
        format!("{name} glycol freezing at {freezing}: {share}")
    });
    Ok(share)
}

fn find(glycol: &str) -> Result<Glycol, Fault> {
    GLYCOLS.into_iter().find(|(name, ..)| *name == glycol).ok_or_else(|| {
        let shown: String = glycol.chars().take(40).collect();
        let near = nearest(&shown, GLYCOLS.iter().map(|row| row.0)).unwrap_or("ethylene");
        unknown(
            format!("`{shown}` is no glycol whose freezing points are known here"),
            format!("write `ethylene` or `propylene`; perhaps `{near}` was meant"),
        )
    })
}

/// The value at `at` on the straight lines through rows of rising first figures; nothing outside them.
fn between(rows: impl Iterator<Item = Row> + Clone, at: &Number) -> Option<Number> {
    let pairs = rows.clone().zip(rows.skip(1));
    let figure = |figure: i64| Number::from(figure);
    let mut fitting = pairs.filter(|((from, _), (to, _))| figure(*from) <= *at && *at <= figure(*to));
    let ((x1, y1), (x2, y2)) = fitting.next()?;
    let part = (at - &figure(x1)).checked_div(&figure(x2 - x1))?;
    Some((&figure(y1) + &(&part * &figure(y2 - y1))).reduced())
}

fn tenth(figure: &Number, unit: &str) -> Result<Quantity, Fault> {
    let tenth = Number::ratio(1, 10).unwrap_or(Number::ONE);
    Ok(Quantity::new((figure * &tenth).reduced(), Unit::find(unit)?))
}
