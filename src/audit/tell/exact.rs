//! Values that nobody measured: each exactly what is wanted, and last digits that no scale gives.

use super::{Around, column};
use crate::audit::figures::Figures;
use crate::audit::page::{Cell, FEWEST, Section};
use crate::audit::sums::{Read, name_key};
use crate::report::text::count;
use crate::statistics::CONFIDENCE;
use crate::statistics::digits::{FEWEST as FEWEST_DIGITS, uniform};
use crate::statistics::exact::fisher;
use crate::statistics::proportion::Share;
use crate::statistics::several::holm;

/// Technicians and tools by how often their readings are exactly what is wanted.
pub(super) fn measured(figures: &Figures, around: &Around<'_>) -> Section {
    let clicks = |key: &str| around.tools.iter().any(|(number, clicks)| *clicks && name_key(number) == key);
    let technicians =
        figures.technicians.iter().map(|(name, _, one)| ("technician", name.clone(), one.read, ""));
    let tools = figures.tools.iter().map(|(key, _, thing)| {
        let sort = if clicks(key) { "setting tool, shows no reading" } else { "" };
        ("tool", thing.written.clone().unwrap_or_default(), thing.read, sort)
    });
    let enough = |read: &Read| read.readings >= FEWEST;
    let all: Vec<_> = technicians.chain(tools).filter(|(_, _, read, _)| enough(read)).collect();
    let others = |read: Read| Share {
        count: figures.read.on_nominal.saturating_sub(read.on_nominal),
        of: figures.read.readings.saturating_sub(read.readings),
    };
    let compared = |read: Read| {
        let others = others(read);
        fisher(read.exact(), others).filter(|_| others.of >= FEWEST)
    };
    let mut tests = Vec::new();
    for (_, _, read, _) in &all {
        tests.extend(compared(*read));
        tests.extend(uniform(&read.digits).map(|(_, p)| p));
    }
    let number = tests.len();
    let mut adjusted = holm(&tests).into_iter();
    let mut rows = Vec::new();
    for (what, name, read, sort) in &all {
        let exact = compared(*read).and_then(|_| adjusted.next());
        let digits = uniform(&read.digits).and_then(|_| adjusted.next());
        let mut says = Vec::new();
        let share = read.exact();
        let more = share.value() > others(*read).value();
        if share.count == share.of {
            says.push("every one exactly what is wanted");
        } else if exact.is_some_and(|p| p < 1.0 - CONFIDENCE) {
            says.push(if more { "exact more often than others" } else { "exact less often than others" });
        }
        if digits.is_some_and(|p| p < 1.0 - CONFIDENCE) {
            says.push("some last digits too often");
        }
        if says.is_empty() {
            continue;
        }
        rows.push(vec![
            Cell::Text((*what).to_owned()),
            Cell::Text(name.clone()),
            Cell::Text(says.join("; ")),
            Cell::Share(share),
            Cell::Share(others(*read)),
            exact.map_or(Cell::Nothing, Cell::Probability),
            digits.map_or(Cell::Nothing, Cell::Probability),
            Cell::text(Some(*sort).filter(|sort| !sort.is_empty())),
        ]);
    }
    Section {
        key: "exact",
        title: "Values that perhaps nobody measured",
        remarks: vec![
            format!(
                "of {} and tools with at least {FEWEST} readings, those of which something stands out: how many are exactly the nominal value, against \
                 all others (Fisher), and whether each last digit is about as frequent (chi-square, from {FEWEST_DIGITS} readings on, where the \
                 limits are ten steps of that digit apart); {}, `p` adjusted for their number (Holm)",
                "technicians",
                count(number as u64, "test")
            ),
            "a tool that clicks at what it is set to shows no reading, and its records are rightly what it was set to; no row says that somebody \
             did not measure, only where to look"
                .to_owned(),
        ],
        columns: vec![
            column("of", "of"),
            column("name", "name"),
            column("says", "stands out"),
            column("exact", "exactly nominal"),
            column("others", "of all others"),
            column("p", "p"),
            column("p_digits", "p of the digits"),
            column("sort", "sort"),
        ],
        rows,
        charts: Vec::new(),
    }
}
