//! The outcome as a table, and lists of what was not found and of what was said without need.

use std::collections::BTreeMap;
use std::fmt::Write as _;

use witnessmark::language::ast::Severity;

use super::catalogue::{Catalogue, Fault, Job, SURROUNDINGS, Surroundings};
use super::judging::{Found, Said};

/// The outcome of one kind of unit in one of the surroundings.
#[derive(Clone, Copy, Debug, Default)]
pub struct Row {
    pub faults: usize,
    pub spoken: usize,
    pub beside: usize,
    pub silent: usize,
    /// Faults that are due a hold and got none anywhere.
    pub unheld: usize,
    pub good: usize,
    pub held: usize,
    pub advised: usize,
    /// Faults that were stated by a person, and those of them that were spoken of.
    pub by_hand: (usize, usize),
}

impl Row {
    pub fn add(&mut self, other: &Row) {
        self.faults += other.faults;
        self.spoken += other.spoken;
        self.beside += other.beside;
        self.silent += other.silent;
        self.unheld += other.unheld;
        self.good += other.good;
        self.held += other.held;
        self.advised += other.advised;
        self.by_hand.0 += other.by_hand.0;
        self.by_hand.1 += other.by_hand.1;
    }

    /// The share of the faults that were spoken of, in tenths of a per cent.
    pub fn recall(&self) -> usize {
        (self.spoken * 1000).checked_div(self.faults).unwrap_or(1000)
    }
}

/// All rows and the lists behind them.
#[derive(Default)]
pub struct Outcome {
    rows: BTreeMap<(Surroundings, String), Row>,
    missed: String,
    needless: String,
}

impl Outcome {
    fn row(&mut self, job: &Job, surroundings: Surroundings) -> &mut Row {
        self.rows.entry((surroundings, job.kind.clone())).or_default()
    }

    pub fn good(&mut self, job: &Job, surroundings: Surroundings, said: &[Said]) {
        let row = self.row(job, surroundings);
        row.good += 1;
        row.held += usize::from(said.iter().any(|said| said.severity == Severity::Hold));
        row.advised += usize::from(said.iter().any(|said| said.severity == Severity::Advice));
        for Said { by, severity, path, message } in said.iter().filter(|said| said.severity > Severity::Note)
        {
            let (job, around) = (&job.name, surroundings.title());
            writeln!(self.needless, "{job} ({around}): {severity:?} {by} at `{path}`: {message}").unwrap();
        }
    }

    pub fn bad(&mut self, job: &Job, fault: &Fault, surroundings: Surroundings, said: &[Said], found: Found) {
        let unheld = fault.due == Severity::Hold && said.iter().all(|said| said.severity != Severity::Hold);
        let row = self.row(job, surroundings);
        row.faults += 1;
        row.spoken += usize::from(found == Found::Spoken);
        row.beside += usize::from(found == Found::Beside);
        row.silent += usize::from(found == Found::Silent);
        row.unheld += usize::from(unheld);
        row.by_hand.0 += usize::from(fault.by_hand);
        row.by_hand.1 += usize::from(fault.by_hand && found == Found::Spoken);
        if found == Found::Spoken {
            return;
        }
        let Fault { change, due, subject, at, why, .. } = fault;
        let (name, around, at) = (&job.name, surroundings.title(), at.join(" or "));
        writeln!(
            self.missed,
            "{found:?} {name} ({around}): {due:?} {subject} at `{at}`: {why}\n    {change:?}"
        )
        .unwrap();
        for Said { by, severity, path, message } in said {
            writeln!(self.missed, "    said: {severity:?} {by} at `{path}`: {message}").unwrap();
        }
    }

    /// This and what came of other jobs.
    pub fn and(mut self, other: Outcome) -> Outcome {
        for (key, row) in other.rows {
            self.rows.entry(key).or_default().add(&row);
        }
        self.missed.push_str(&other.missed);
        self.needless.push_str(&other.needless);
        self
    }

    /// All kinds together.
    pub fn sum(&self, surroundings: Surroundings) -> Row {
        let mut sum = Row::default();
        let rows = self.rows.iter().filter(|((around, _), _)| *around == surroundings);
        rows.for_each(|(_, row)| sum.add(row));
        sum
    }

    /// The table, a line for each kind and a sum for each of the surroundings.
    pub fn table(&self) -> String {
        let mut table = format!(
            "{:<22} {:<22} {:>6} {:>6} {:>6} {:>6} {:>6} {:>7} | {:>4} {:>4} {:>7}\n",
            "surroundings",
            "kind",
            "faults",
            "spoken",
            "beside",
            "silent",
            "unheld",
            "recall",
            "good",
            "held",
            "advised"
        );
        for surroundings in SURROUNDINGS {
            let rows = self.rows.iter().filter(|((around, _), _)| *around == surroundings);
            rows.for_each(|((_, kind), row)| line(&mut table, surroundings, kind, row));
            line(&mut table, surroundings, "all", &self.sum(surroundings));
        }
        table
    }

    /// What was not found, or not as it was due.
    pub fn missed(&self) -> &str {
        &self.missed
    }

    /// What was said of good jobs.
    pub fn needless(&self) -> &str {
        &self.needless
    }
}

fn line(table: &mut String, surroundings: Surroundings, kind: &str, row: &Row) {
    let Row { faults, spoken, beside, silent, unheld, good, held, advised, .. } = row;
    let (around, recall) = (surroundings.title(), row.recall());
    let recall = format!("{}.{} %", recall / 10, recall % 10);
    writeln!(
        table,
        "{around:<22} {kind:<22} {faults:>6} {spoken:>6} {beside:>6} {silent:>6} {unheld:>6} {recall:>7} | {good:>4} {held:>4} {advised:>7}"
    )
    .unwrap();
}

/// What the catalogue holds, in a line.
pub fn contents(catalogue: &Catalogue, planted: usize) -> String {
    let Catalogue { jobs, faults } = catalogue;
    format!("{} good jobs, {} faults by hand, {planted} planted", jobs.len(), faults.len())
}
