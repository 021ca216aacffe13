//! How many jobs passed: in all, month by month, by kind of unit, family and technician.

use std::cmp::Reverse;

use super::{Around, column, too_many};
use crate::audit::figures::Figures;
use crate::audit::page::{Cell, Chart, Column, Drawing, FEWEST, Section};
use crate::audit::sums::{Day, Jobs, MOST_MONTHS, MOST_NAMES, Month, Technician};
use crate::report::text::count;
use crate::statistics::proportion::Share;
use crate::statistics::real;

/// What is to be known of the whole.
pub(super) fn remarks(figures: &Figures, around: &Around<'_>) -> Vec<String> {
    let mut remarks = Vec::new();
    let fails = match around.fail_on {
        crate::language::ast::Severity::Hold => "a hold",
        crate::language::ast::Severity::Advice => "a hold or an advice",
        crate::language::ast::Severity::Note => "a hold, an advice or a note",
    };
    remarks.push(format!(
        "a job passes when nothing of it counts as {fails} and its record has no error; it belongs to the day on which it was closed or, \
         where that is not recorded, opened; jobs in work are counted by themselves"
    ));
    let done = figures.jobs.share().of;
    if done < FEWEST {
        let jobs = count(done, "job");
        remarks.push(format!(
            "too few jobs to say how good the work is: {jobs} done, and from fewer than {FEWEST} no interval is stated"
        ));
    }
    if figures.unreadable.all() > 0 {
        let names: Vec<&str> = figures.unreadable.iter().map(|(name, ..)| name.as_str()).collect();
        remarks.push(format!(
            "{} could not be read and is in no figure: {}",
            count(figures.unreadable.all(), "document"),
            crate::report::text::list(names, 8)
        ));
    }
    if figures.fails_from.len() > 1 || are_several_editions(figures) {
        let standards: Vec<&str> = figures.judged_by.iter().map(String::as_str).collect();
        remarks.push(format!(
            "the parts were judged otherwise, and their sums say little: a job fails from {}; {}",
            figures.fails_from.iter().cloned().collect::<Vec<_>>().join(" or "),
            crate::report::text::list(standards, 40)
        ));
    }
    if figures.undated > 0 {
        let number = count(figures.undated, "job");
        remarks.push(format!("{number} without a day that can be read: counted, and in no month"));
    }
    if let Some(since) = figures.wanted.since {
        remarks.push(format!(
            "only jobs since {} count; {} before it",
            since.0,
            count(figures.before, "job")
        ));
    }
    remarks
}

/// Whether parts were judged by other editions of a standard.
fn are_several_editions(figures: &Figures) -> bool {
    let names: Vec<&str> =
        figures.judged_by.iter().map(|full| full.split(" edition ").next().unwrap_or_default()).collect();
    names.iter().zip(names.iter().skip(1)).any(|(one, next)| one == next)
}

/// The whole.
pub(super) fn summary(figures: &Figures) -> Vec<(Column, Cell)> {
    let day = |day: Option<Day>| day.map_or(Cell::Nothing, |day| Cell::Day(day.0));
    let of_touched = |figures: &Figures| {
        let mut jobs = Jobs::default();
        figures.touched.iter().for_each(|(_, _, touched)| jobs.count(touched.outcome));
        Cell::Share(jobs.share())
    };
    let touched =
        Some(figures).filter(|figures| figures.wanted.is_of_some()).map_or(Cell::Nothing, of_touched);
    let summary = vec![
        (column("documents", "documents"), Cell::Count(figures.documents)),
        (column("unreadable", "could not be read"), Cell::Count(figures.unreadable.all())),
        (column("others", "procedures, registers and others"), Cell::Count(figures.others.all())),
        (column("first_day", "first day"), day(figures.days.map(|(first, _)| first))),
        (column("last_day", "last day"), day(figures.days.map(|(_, last)| last))),
        (column("passed", "jobs passed"), Cell::Share(figures.jobs.share())),
        (column("touched_passed", "of those that it touched"), touched),
        (column("in_work", "jobs in work"), Cell::Count(figures.jobs.in_work)),
        (column("with_errors", "jobs whose record has errors"), Cell::Count(figures.with_errors)),
        (column("undated", "jobs without a day"), Cell::Count(figures.undated)),
        (column("unsigned", "jobs without a technician"), Cell::Count(figures.unsigned)),
        (column("without_kind", "jobs without a kind of unit"), Cell::Count(figures.without_kind)),
    ];
    summary.into_iter().filter(|(_, cell)| *cell != Cell::Nothing).collect()
}

/// The months in their order, those without jobs among them, if they are not too many.
fn months_in_order(figures: &Figures) -> Vec<(Month, Jobs)> {
    let known: Vec<(Month, Jobs)> =
        figures.months.iter().rev().map(|(Reverse(month), _, jobs)| (*month, *jobs)).collect();
    let (Some((first, _)), Some((last, _))) = (known.first(), known.last()) else { return known };
    let span = usize::try_from(last.since(*first)).unwrap_or(usize::MAX);
    if span >= MOST_MONTHS {
        return known;
    }
    let all = (0..=last.since(*first)).rev().map(|back| last.before(back));
    let jobs = |month: Month| figures.months.get(&Reverse(month)).copied().unwrap_or_default();
    all.map(|month| (month, jobs(month))).collect()
}

/// Month by month.
pub(super) fn months(figures: &Figures) -> Section {
    let months = months_in_order(figures);
    let row = |(month, jobs): &(Month, Jobs)| {
        vec![Cell::Text(month.to_string()), Cell::Share(jobs.share()), Cell::Count(jobs.in_work)]
    };
    let drawn =
        |(month, jobs): &(Month, Jobs)| (month.to_string(), Some(jobs.share()).filter(|share| share.of > 0));
    let charts = (months.len() > 1).then(|| Chart {
        title: "Share of jobs that passed, month by month, with its interval".to_owned(),
        drawing: Drawing::Months { months: months.iter().map(drawn).collect() },
    });
    let left_out = figures.months.left_out();
    let remarks = (left_out > 0).then(|| {
        format!("only the latest {MOST_MONTHS} months are listed; {} before them", count(left_out, "job"))
    });
    Section {
        key: "months",
        title: "Month by month",
        remarks: remarks.into_iter().collect(),
        columns: vec![column("month", "month"), column("passed", "passed"), column("in_work", "in work")],
        rows: months.iter().map(row).collect(),
        charts: charts.into_iter().collect(),
    }
}

/// By kind of unit.
pub(super) fn kinds(figures: &Figures) -> Section {
    let rows = figures.kinds.iter().map(|(kind, _, of_kind)| {
        vec![Cell::Text(kind.clone()), Cell::Share(of_kind.jobs.share()), Cell::Count(of_kind.jobs.in_work)]
    });
    let shares = figures.kinds.iter().map(|(kind, _, of_kind)| (kind.clone(), of_kind.jobs.share()));
    Section {
        key: "kinds",
        title: "By kind of unit",
        remarks: Vec::new(),
        columns: vec![column("kind", "kind"), column("passed", "passed"), column("in_work", "in work")],
        rows: rows.collect(),
        charts: chart_of_shares("Share of jobs that passed, by kind of unit", shares.collect()),
    }
}

/// A chart of shares that are not too few to show.
fn chart_of_shares(title: &str, shares: Vec<(String, Share)>) -> Vec<Chart> {
    let shares: Vec<_> = shares.into_iter().filter(|(_, share)| share.of >= FEWEST).take(40).collect();
    let chart = Chart { title: title.to_owned(), drawing: Drawing::Shares(shares.clone()) };
    Some(chart).filter(|_| shares.len() > 1).into_iter().collect()
}

/// By family.
pub(super) fn families(figures: &Figures) -> Section {
    let rows = figures.families.iter().map(|((kind, family), _, jobs)| {
        vec![
            Cell::Text(kind.clone()),
            Cell::Text(family.clone()),
            Cell::Share(jobs.share()),
            Cell::Count(jobs.in_work),
        ]
    });
    Section {
        key: "families",
        title: "By family",
        remarks: too_many("families", MOST_NAMES, figures.families.left_out(), "jobs").into_iter().collect(),
        columns: vec![
            column("kind", "kind"),
            column("family", "family"),
            column("passed", "passed"),
            column("in_work", "in work"),
        ],
        rows: rows.collect(),
        charts: Vec::new(),
    }
}

/// How many of the jobs of a technician would have passed if of each kind of unit as many did as of all jobs on that kind.
fn expected(figures: &Figures, technician: &Technician) -> Option<f64> {
    let of_kind = |kind: &String, jobs: &Jobs| {
        let all = match figures.kinds.get(kind) {
            Some(of_kind) => of_kind.jobs.share(),
            None => figures.jobs.share(),
        };
        Some(real(jobs.share().of) * all.value().unwrap_or_default())
    };
    technician.kinds.iter().map(|(kind, _, jobs)| of_kind(kind, jobs)).sum()
}

/// By technician, in the order of their names.
pub(super) fn technicians(figures: &Figures) -> Section {
    let rows = figures.technicians.iter().map(|(name, _, technician)| {
        vec![
            Cell::Text(name.clone()),
            Cell::Share(technician.jobs.share()),
            Cell::figure(expected(figures, technician), 1, ""),
            Cell::Count(technician.jobs.in_work),
        ]
    });
    let mut remarks = vec![
        "in the order of their names, which is no ranking: who gets the hard jobs has more that fail, and who records with care too; \
         `expected` is how many of somebody's jobs would pass if they did as often as all jobs on the same kinds of unit"
            .to_owned(),
    ];
    remarks.extend(too_many("technicians", MOST_NAMES, figures.technicians.left_out(), "jobs"));
    Section {
        key: "technicians",
        title: "By technician",
        remarks,
        columns: vec![
            column("technician", "technician"),
            column("passed", "passed"),
            column("expected", "expected"),
            column("in_work", "in work"),
        ],
        rows: rows.collect(),
        charts: Vec::new(),
    }
}
