//! What changed between the last twelve months and the twelve before, and whether the share that passes rises or falls.

use std::cmp::Reverse;

use super::{Around, column};
use crate::audit::figures::Figures;
use crate::audit::page::{Cell, FEWEST, Section};
use crate::audit::sums::{ByMonth, Day, Jobs, Month};
use crate::report::text::count;
use crate::statistics::exact::fisher;
use crate::statistics::proportion::{Share, newcombe};
use crate::statistics::several::holm;
use crate::statistics::trend::{mann_kendall, theil_sen};
use crate::statistics::{CONFIDENCE, Interval};

/// The months of a period.
const PERIOD: i32 = 12;
/// So many months with enough jobs are needed to speak of a trend.
const FEWEST_MONTHS: usize = 10;

/// The last month of the records that is not after that of the run.
fn last_month(figures: &Figures, around: &Around<'_>) -> Option<Month> {
    let now = Month::of(Day(around.as_of));
    figures.months.iter().map(|(Reverse(month), ..)| *month).find(|month| *month <= now)
}

/// What fell into the period that ends with a month.
fn within<V: Copy>(months: &ByMonth<V>, last: Month, mut add: impl FnMut(V)) {
    let first = last.before(PERIOD - 1);
    let fits = |month: Month| first <= month && month <= last;
    months.iter().filter(|(Reverse(month), ..)| fits(*month)).for_each(|(_, _, value)| add(*value));
}

fn done(months: &ByMonth<Jobs>, last: Month) -> Share {
    let mut sum = Share::default();
    within(months, last, |jobs| {
        sum.count += jobs.passed;
        sum.of += jobs.share().of;
    });
    sum
}

/// Two periods of one thing.
struct Compared {
    what: String,
    is_rule: bool,
    before: Share,
    after: Share,
    p: f64,
}

/// What changed.
pub(super) fn between_periods(figures: &Figures, around: &Around<'_>) -> Section {
    let mut compared = Vec::new();
    let mut periods = None;
    if let Some(last) = last_month(figures, around) {
        let earlier = last.before(PERIOD);
        let all = [done(&figures.months, earlier), done(&figures.months, last)];
        let mut compare = |what: String, is_rule: bool, [before, after]: [Share; 2]| {
            if let Some(p) = fisher(before, after).filter(|_| before.of >= FEWEST && after.of >= FEWEST) {
                compared.push(Compared { what, is_rule, before, after, p });
            }
        };
        compare("all jobs".to_owned(), false, all);
        for (kind, _, of_kind) in figures.kinds.iter() {
            compare(kind.clone(), false, [done(&of_kind.months, earlier), done(&of_kind.months, last)]);
        }
        for (name, rule) in figures.rules.iter().filter(|(_, rule)| rule.broken > 0) {
            let broken = |last: Month, of: Share| {
                let mut count = 0;
                within(&rule.months, last, |broken| count += broken);
                Share { count: count.min(of.of), of: of.of }
            };
            let [before, after] = all;
            compare(name.clone(), true, [broken(earlier, before), broken(last, after)]);
        }
        let first = |last: Month| last.before(PERIOD - 1);
        periods =
            Some(format!("before: {} to {}; after: {} to {}", first(earlier), earlier, first(last), last));
    }
    let adjusted = holm(&compared.iter().map(|one| one.p).collect::<Vec<f64>>());
    let number = compared.len();
    let rows = compared.into_iter().zip(adjusted);
    let rows = rows.filter(|(one, adjusted)| !one.is_rule || *adjusted < 1.0 - CONFIDENCE);
    let rows: Vec<Vec<Cell>> = rows.filter_map(|(one, adjusted)| row(one, adjusted)).collect();
    let mut remarks: Vec<String> = periods.into_iter().collect();
    remarks.push(match number {
        0 => format!(
            "fewer than {FEWEST} jobs that are done in one of two periods of {PERIOD} months: nothing is compared"
        ),
        _ => format!(
            "{}, by Fisher's exact test; `p` is adjusted for their number (Holm); of rules, only those are listed for which it is \
             below {:.2}; the difference is in percentage points (Newcombe)",
            count(number as u64, "comparison"),
            1.0 - CONFIDENCE
        ),
    });
    Section {
        key: "changes",
        title: "What changed",
        remarks,
        columns: vec![
            column("what", "what"),
            column("measure", "share of jobs"),
            column("before", "before"),
            column("after", "after"),
            column("difference", "difference"),
            column("p", "p"),
        ],
        rows,
        charts: Vec::new(),
    }
}

fn row(one: Compared, adjusted: f64) -> Option<Vec<Cell>> {
    let (difference, Interval { low, high }) = newcombe(one.before, one.after)?;
    let interval = Interval { low: low * 100.0, high: high * 100.0 };
    let measure = if one.is_rule { "that broke it" } else { "that passed" };
    Some(vec![
        Cell::Text(one.what),
        Cell::Text(measure.to_owned()),
        Cell::Share(one.before),
        Cell::Share(one.after),
        Cell::Estimate(difference * 100.0, interval, 1, "points"),
        Cell::Probability(adjusted),
    ])
}

/// Whether the share that passes rises or falls.
pub(super) fn trends(figures: &Figures) -> Section {
    let mut found = Vec::new();
    let kinds = figures.kinds.iter().map(|(kind, _, of_kind)| (kind.as_str(), &of_kind.months));
    for (what, months) in [("all jobs", &figures.months)].into_iter().chain(kinds) {
        let mut points: Vec<(Month, f64)> = Vec::new();
        for (Reverse(month), _, jobs) in months.iter().rev() {
            let share = jobs.share();
            points.extend(share.value().filter(|_| share.of >= FEWEST).map(|value| (*month, value * 100.0)));
        }
        let Some((first, _)) = points.first().copied().filter(|_| points.len() >= FEWEST_MONTHS) else {
            continue;
        };
        let values: Vec<f64> = points.iter().map(|(_, value)| *value).collect();
        let years = |month: Month| f64::from(month.since(first)) / 12.0;
        let timed: Vec<(f64, f64)> = points.iter().map(|(month, value)| (years(*month), *value)).collect();
        if let (Some(test), Some(slope)) = (mann_kendall(&values), theil_sen(&timed)) {
            found.push((what.to_owned(), points.len() as u64, test, slope));
        }
    }
    let adjusted = holm(&found.iter().map(|(_, _, test, _)| test.p).collect::<Vec<f64>>());
    let rows = found.into_iter().zip(adjusted).map(|((what, months, test, (slope, interval)), p)| {
        let says = match () {
            () if p >= 1.0 - CONFIDENCE => "no trend is shown",
            () if test.s > 0.0 => "rises",
            () => "falls",
        };
        vec![
            Cell::Text(what),
            Cell::Count(months),
            Cell::Text(says.to_owned()),
            Cell::Estimate(slope, interval, 1, "points a year"),
            Cell::Probability(p),
        ]
    });
    let rows: Vec<Vec<Cell>> = rows.collect();
    Section {
        key: "trends",
        title: "Trends of the share that passes",
        remarks: vec![format!(
            "over months with at least {FEWEST} jobs that are done, where there are {FEWEST_MONTHS} of them; {} series, Mann-Kendall with `p` adjusted for \
             their number (Holm); the slope is that of Theil and Sen",
            rows.len()
        )],
        columns: vec![
            column("what", "what"),
            column("months", "months"),
            column("trend", "trend"),
            column("slope", "slope"),
            column("p", "p"),
        ],
        rows,
        charts: Vec::new(),
    }
}
