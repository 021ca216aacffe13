//! The screws of a joint as a drawing, on which the order of tightening is tapped. Where the procedure says where they sit, they
//! are drawn there; else round an oval, in the order of the list.

use maud::{Markup, html};

use super::clean;
use super::rows::{EntryPart, Part, Row};
use super::words::Words;
use crate::trade::names::SEQUENCE;
use crate::trade::procedure::{BoltPosition, Procedure};

/// Fewer screws are in no order worth drawing.
const FEWEST: usize = 3;

/// Half of the drawing, and how far from its middle the screws are.
const HALF: f64 = 160.0;
const REACH: f64 = 125.0;

/// The radius of a screw: a gloved finger finds it.
const SCREW: f64 = 26.0;

/// A screw to tap.
struct Screw<'s> {
    row: &'s Row<'s>,
    name: String,
    x: f64,
    y: f64,
}

/// The drawing of the entries that are alike; nothing where no order is asked of them.
#[must_use]
pub fn drawing(entries: &[&EntryPart<'_>], procedure: Option<&Procedure>, words: Words) -> Markup {
    let screws = screws(entries, procedure);
    html! {
        @if screws.len() >= FEWEST {
            p class="head" { (words.say("tap-order")) }
            svg class="tap" viewBox="0 0 320 320" role="group" aria-label=(words.say("tap-order")) {
                @for screw in &screws {
                    g role="button" tabindex="0" data-tap=(screw.row.id) {
                        circle cx=(figure(screw.x)) cy=(figure(screw.y)) r=(figure(SCREW)) {}
                        text x=(figure(screw.x)) y=(figure(screw.y + 1.0)) class="turn" { (clean(screw.row.base())) }
                        text x=(figure(screw.x)) y=(figure(screw.y + 17.0)) class="where" { (clean(&screw.name)) }
                    }
                }
            }
        }
    }
}

fn figure(number: f64) -> String {
    format!("{number:.1}")
}

fn screws<'s>(entries: &[&'s EntryPart<'s>], procedure: Option<&Procedure>) -> Vec<Screw<'s>> {
    let turn = |entry: &'s EntryPart<'s>| {
        entry.parts.iter().find_map(|part| match part {
            Part::Value(row) if *row.field.name == *SEQUENCE => Some(row),
            _ => None,
        })
    };
    let asked: Vec<(&EntryPart<'_>, &'s Row<'s>)> =
        entries.iter().filter_map(|entry| Some((*entry, turn(entry)?))).collect();
    let known = procedure.map(Procedure::bolt_positions).unwrap_or_default();
    let place = |title: &str| title.rsplit_once(", ").map_or(title, |(_, place)| place).to_owned();
    let drawn: Option<Vec<&BoltPosition>> =
        asked.iter().map(|(entry, _)| known.iter().find(|bolt| bolt.place == place(&entry.title))).collect();
    let spread = drawn.as_deref().map(spread);
    let count = asked.len() as f64;
    asked
        .into_iter()
        .enumerate()
        .map(|(number, (entry, row))| {
            let round = || {
                let turn = std::f64::consts::TAU * number as f64 / count;
                (HALF + REACH * turn.sin(), HALF - REACH * turn.cos())
            };
            let (x, y) = spread.as_ref().and_then(|all| all.get(number).copied()).unwrap_or_else(round);
            Screw { row, name: place(&entry.title), x, y }
        })
        .collect()
}

/// Where bolts are in the drawing: as they sit, as large as it goes.
fn spread(bolts: &[&BoltPosition]) -> Vec<(f64, f64)> {
    let (low, high) = bolts.iter().fold(((f64::MAX, f64::MAX), (f64::MIN, f64::MIN)), |(low, high), bolt| {
        ((low.0.min(bolt.x), low.1.min(bolt.y)), (high.0.max(bolt.x), high.1.max(bolt.y)))
    });
    let size = (high.0 - low.0).max(high.1 - low.1).max(f64::MIN_POSITIVE);
    let middle = ((low.0 + high.0) / 2.0, (low.1 + high.1) / 2.0);
    let scale = 2.0 * REACH / size;
    bolts
        .iter()
        .map(|bolt| (HALF + (bolt.x - middle.0) * scale, HALF - (bolt.y - middle.1) * scale))
        .collect()
}
