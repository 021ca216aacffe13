//! Values that nobody measured: each exactly what is wanted, and last digits that no scale gives.

use super::{Around, column};
use crate::audit::figures::Figures;
use crate::audit::page::{Cell, FEWEST, Section};
use crate::audit::sums::{Read, Work, name_key};
use crate::report::text::count;
use crate::statistics::CONFIDENCE;
use crate::statistics::digits::{FEWEST as FEWEST_DIGITS, uniform};
use crate::statistics::proportion::Share;
use crate::statistics::several::holm;
use crate::statistics::strata::mantel_haenszel;

/// Somebody, or a tool, with what was read.
struct Reader {
    what: &'static str,
    name: String,
    read: Read,
    /// The exact ones of each kind of work, and those of all others at it.
    strata: Vec<(Share, Share)>,
    /// The others at the same work together.
    others: Share,
    sort: &'static str,
}

impl Reader {
    fn of(
        figures: &Figures,
        (what, name, read, sort): (&'static str, String, Read, &'static str),
        at: impl Fn(&Work) -> Option<Read>,
    ) -> Reader {
        let mut strata = Vec::new();
        let mut others = Share::default();
        for (_, _, work) in figures.work.iter() {
            let Some(own) = at(work).map(Read::exact) else { continue };
            let all = work.read.exact();
            let rest =
                Share { count: all.count.saturating_sub(own.count), of: all.of.saturating_sub(own.of) };
            others.count += rest.count;
            others.of += rest.of;
            strata.push((own, rest));
        }
        Reader { what, name, read, strata, others, sort }
    }

    /// Whether it is exact more often than others, and how probable that is.
    fn compared(&self) -> Option<(f64, f64)> {
        mantel_haenszel(&self.strata).filter(|_| self.others.of >= FEWEST)
    }
}

/// Technicians and tools by how often their readings are exactly what is wanted.
pub(super) fn measured(figures: &Figures, around: &Around<'_>) -> Section {
    let clicks = |key: &str| around.tools.iter().any(|(number, clicks)| *clicks && name_key(number) == key);
    let technicians = figures.technicians.iter().map(|(name, _, one)| {
        let of = ("technician", name.clone(), one.read, "");
        Reader::of(figures, of, |work| work.technicians.get(name).copied())
    });
    let tools = figures.tools.iter().map(|(key, _, thing)| {
        let sort = if clicks(key) { "setting tool, shows no reading" } else { "" };
        let of = ("tool", thing.written.clone().unwrap_or_default(), thing.read, sort);
        Reader::of(figures, of, |work| work.tools.get(key).copied())
    });
    let all: Vec<Reader> = technicians.chain(tools).filter(|one| one.read.readings >= FEWEST).collect();
    let mut tests = Vec::new();
    for one in &all {
        tests.extend(one.compared().map(|(_, p)| p));
        tests.extend(uniform(&one.read.digits).map(|(_, p)| p));
    }
    let number = tests.len();
    let mut adjusted = holm(&tests).into_iter();
    let mut rows = Vec::new();
    for one in all {
        let compared = one.compared();
        let p = compared.and_then(|_| adjusted.next());
        let digits = uniform(&one.read.digits).and_then(|_| adjusted.next());
        let share = one.read.exact();
        let more = compared.is_some_and(|(z, _)| z > 0.0) && p.is_some_and(|p| p < 1.0 - CONFIDENCE);
        let mut says = Vec::new();
        if share.count == share.of {
            says.push("every one exactly what is wanted");
        } else if more {
            says.push("exact more often than others");
        }
        if digits.is_some_and(|p| p < 1.0 - CONFIDENCE) {
            says.push("some last digits too often");
        }
        if says.is_empty() {
            continue;
        }
        rows.push(vec![
            Cell::Text(one.what.to_owned()),
            Cell::Text(one.name),
            Cell::Text(says.join("; ")),
            Cell::Share(share),
            Cell::Share(one.others),
            p.map_or(Cell::Nothing, Cell::Probability),
            digits.map_or(Cell::Nothing, Cell::Probability),
            Cell::text(Some(one.sort).filter(|sort| !sort.is_empty())),
        ]);
    }
    Section {
        key: "exact",
        title: "Values that perhaps nobody measured",
        remarks: vec![
            format!(
                "of technicians and tools with at least {FEWEST} readings, those of which something stands out: how many are exactly the nominal \
                 value, against others at the same work (Mantel and Haenszel), and whether each last digit is about as frequent (chi-square, from \
                 {FEWEST_DIGITS} readings on, where the limits are ten steps of that digit apart); {}, `p` adjusted for their number (Holm)",
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
            column("others", "of others at the same work"),
            column("p", "p"),
            column("p_digits", "p of the digits"),
            column("sort", "sort"),
        ],
        rows,
        charts: Vec::new(),
    }
}
