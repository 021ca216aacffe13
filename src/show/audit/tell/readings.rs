//! Readings against their limits: whether they are stable, how well they fit, which were near, and what reads otherwise.

use std::cmp::Reverse;
use std::collections::BTreeMap;

use super::{Around, column};
use crate::audit::figures::Figures;
use crate::audit::page::{Cell, Chart, Drawing, FEWEST, LineKind, Section};
use crate::audit::sums::{MOST_LISTED, MOST_READINGS, MOST_WORK, Point, Work, name_key};
use crate::quantity::UNITS;
use crate::report::text::count;
use crate::statistics::capability::capability;
use crate::statistics::chart::{Individuals, RUN, individuals};
use crate::statistics::ranks::{Stratum, rank_sum, shift};
use crate::statistics::several::holm;
use crate::statistics::{CONFIDENCE, deviation, mean};

/// From fewer readings no index of capability is stated.
const FEWEST_FOR_INDEX: usize = 30;
/// So many kinds of work are drawn, those with the most readings.
const MOST_DRAWN: usize = 12;

/// The kinds of work with enough readings, the most often read first.
fn often(figures: &Figures) -> Vec<(&(String, String), u64, &Work)> {
    let mut often: Vec<_> = figures.work.iter().filter(|(_, _, work)| work.latest.all() >= FEWEST).collect();
    often.sort_by_key(|(key, number, _)| (Reverse(*number), *key));
    often
}

/// The kept readings in the order of time, job by job: the name of each job, and its readings.
fn by_job(work: &Work) -> Vec<(String, Vec<f64>)> {
    let mut jobs: Vec<(String, Vec<f64>)> = Vec::new();
    let mut last = None;
    for (Reverse((day, name, ..)), _, point) in work.latest.iter().rev() {
        let here = Some((*day, name));
        if here == last
            && let Some((_, values)) = jobs.last_mut()
        {
            values.push(point.value);
            continue;
        }
        last = here;
        let day = day.map_or_else(String::new, |day| format!("{} ", day.0));
        jobs.push((format!("{day}{name}"), vec![point.value]));
    }
    jobs
}

/// What the chart of a kind of work says.
fn told(chart: &Individuals) -> String {
    let mut told = Vec::new();
    for (numbers, what) in [
        (&chart.outside, "outside the chart's limits"),
        (&chart.jumps, "after a jump"),
        (&chart.runs, "in a run on one side"),
    ] {
        if !numbers.is_empty() {
            told.push(format!("{} {what}", count(numbers.len() as u64, "job")));
        }
    }
    if told.is_empty() { "stable".to_owned() } else { format!("not stable: {}", told.join(", ")) }
}

/// Readings against their limits.
pub(super) fn against_limits(figures: &Figures) -> Section {
    let (mut rows, mut charts) = (Vec::new(), Vec::new());
    for ((of, required), _, work) in often(figures) {
        let Some((low, high)) = work.limits else { continue };
        let jobs = by_job(work);
        let values: Vec<f64> = jobs.iter().flat_map(|(_, values)| values.iter().copied()).collect();
        let means: Vec<f64> = jobs.iter().filter_map(|(_, values)| mean(values)).collect();
        let chart = individuals(&means).filter(|_| means.len() as u64 >= FEWEST);
        let beyond = values.iter().filter(|value| !(low..=high).contains(*value)).count();
        let index = (values.len() >= FEWEST_FOR_INDEX).then(|| capability(&values, low, high)).flatten();
        let is_stable = chart.as_ref().is_some_and(Individuals::is_stable);
        let decimals = decimals(low, high);
        let unit = unit(&work.unit);
        rows.push(vec![
            Cell::Text(of.clone()),
            Cell::Text(required.clone()),
            Cell::Count(work.latest.all()),
            Cell::Count(values.len() as u64),
            Cell::Count(beyond as u64),
            Cell::figure(mean(&values), decimals, unit),
            Cell::figure(deviation(&values), decimals + 1, unit),
            Cell::Text(match &chart {
                Some(chart) => told(chart),
                None => format!("fewer than {FEWEST} jobs"),
            }),
            Cell::text(index.map(|_| if is_stable { "Cpk" } else { "Ppk" })),
            index.map_or(Cell::Nothing, |index| Cell::Estimate(index.cpk, index.of_cpk, 2, "")),
            index.map_or(Cell::Nothing, |index| Cell::Estimate(index.cp, index.of_cp, 2, "")),
        ]);
        if let Some(chart) = chart.filter(|_| charts.len() < MOST_DRAWN) {
            charts.push(drawn(&format!("{of}, {required}"), jobs, means, &chart, (low, high), unit));
        }
    }
    let mut remarks = vec![
        format!(
            "what a demand by itself holds to a lower and an upper limit, the latest {MOST_READINGS} readings of each kind of work; charts of \
             individuals have a point for each job, the mean of its readings (ISO 7870-2: outside 3 sigma, a jump, {RUN} on one side)"
        ),
        format!(
            "from {FEWEST_FOR_INDEX} readings on with indices of capability: Cpk where the chart is stable; where it is not, the same figure is called Ppk \
             and says nothing of the jobs to come; up to some hundred readings the interval is what counts"
        ),
    ];
    if figures.work.left_out() > 0 {
        remarks.push(format!(
            "only the first {MOST_WORK} kinds of work by name are kept; {} of others left out",
            count(figures.work.left_out(), "reading")
        ));
    }
    Section {
        key: "readings",
        title: "Readings against their limits",
        remarks,
        columns: vec![
            column("of", "reading"),
            column("required", "required"),
            column("all", "all"),
            column("kept", "latest"),
            column("outside", "outside"),
            column("mean", "mean"),
            column("deviation", "deviation"),
            column("chart", "chart"),
            column("index_called", "index"),
            column("index", "of value"),
            column("spread_index", "for the spread alone"),
        ],
        rows,
        charts,
    }
}

fn drawn(
    title: &str,
    jobs: Vec<(String, Vec<f64>)>,
    values: Vec<f64>,
    chart: &Individuals,
    (low, high): (f64, f64),
    unit: &str,
) -> Chart {
    let mut marked: Vec<usize> =
        chart.outside.iter().chain(&chart.jumps).chain(&chart.runs).copied().collect();
    marked.sort_unstable();
    marked.dedup();
    let lines = vec![
        ("lower limit", low, LineKind::Limit),
        ("upper limit", high, LineKind::Limit),
        ("chart, lower", chart.lower, LineKind::Control),
        ("chart, upper", chart.upper, LineKind::Control),
        ("mean", chart.mean, LineKind::Mean),
    ];
    let names = jobs.into_iter().map(|(name, _)| name).collect();
    Chart {
        title: title.to_owned(),
        drawing: Drawing::Course { names, values, marked, lines, unit: unit.to_owned() },
    }
}

/// So many decimals show a hundredth of the distance of two limits.
fn decimals(low: f64, high: f64) -> usize {
    let places = (2.0 - (high - low).log10().floor()).clamp(0.0, 6.0);
    (0..=6).find(|number| f64::from(*number) >= places).map_or(6, |number| number as usize)
}

/// The sign of a unit that the program knows.
fn unit(symbol: &str) -> &'static str {
    UNITS.iter().find(|unit| unit.symbol == symbol).map_or("", |unit| unit.symbol)
}

/// Where a value stands between its limits: 0 at the lower, 1 at the upper.
fn position(value: f64, (low, high): (f64, f64)) -> f64 {
    (value - low) / (high - low)
}

/// Tools that read otherwise than the others at the same work.
pub(super) fn drift(figures: &Figures) -> Section {
    let mut by_tool: BTreeMap<&str, Vec<Stratum>> = BTreeMap::new();
    for (_, _, work) in figures.work.iter() {
        let Some(limits) = work.limits else { continue };
        let mut own: BTreeMap<&str, Vec<f64>> = BTreeMap::new();
        let points: Vec<&Point> = work.latest.iter().map(|(_, _, point)| point).collect();
        for point in &points {
            let Some(tool) = &point.tool else { continue };
            own.entry(tool).or_default().push(position(point.value, limits));
        }
        for (tool, own) in own {
            let others =
                points.iter().filter(|point| point.tool.as_deref().is_some_and(|other| other != tool));
            let others: Vec<f64> = others.map(|point| position(point.value, limits)).collect();
            if !others.is_empty() {
                by_tool.entry(tool).or_default().push(Stratum { own, others });
            }
        }
    }
    let enough = |strata: &[Stratum]| {
        let sum = |of: fn(&Stratum) -> usize| strata.iter().map(of).sum::<usize>() as u64;
        sum(|one| one.own.len()) >= FEWEST && sum(|one| one.others.len()) >= FEWEST
    };
    let found: Vec<_> = by_tool
        .into_iter()
        .filter(|(_, strata)| enough(strata))
        .filter_map(|(tool, strata)| Some((tool, rank_sum(&strata)?, shift(&strata)?, strata)))
        .collect();
    let adjusted = holm(&found.iter().map(|(_, (_, p), ..)| *p).collect::<Vec<f64>>());
    let number = found.len();
    let rows = found.into_iter().zip(adjusted).map(|((tool, (z, _), shift, strata), p)| {
        let sum = |of: fn(&Stratum) -> usize| strata.iter().map(of).sum::<usize>() as u64;
        let says = match () {
            () if p >= 1.0 - CONFIDENCE => "like the others",
            () if z > 0.0 => "higher",
            () => "lower",
        };
        let written = figures.tools.get(&tool.to_owned()).and_then(|thing| thing.written.clone());
        vec![
            Cell::Text(written.unwrap_or_else(|| tool.to_owned())),
            Cell::Count(strata.len() as u64),
            Cell::Count(sum(|one| one.own.len())),
            Cell::Count(sum(|one| one.others.len())),
            Cell::Text(says.to_owned()),
            Cell::Figure(shift * 100.0, 1, "% of the tolerance"),
            Cell::Probability(p),
        ]
    });
    Section {
        key: "drift",
        title: "Tools against the others at the same work",
        remarks: vec![format!(
            "of tools with at least {FEWEST} of the kept readings at work that other tools did too: rank sums within each kind of work \
             (van Elteren), the median difference (Hodges and Lehmann); {}, `p` adjusted for their number (Holm); a tool that one \
             person uses differs with the person, too",
            count(number as u64, "comparison")
        )],
        columns: vec![
            column("tool", "tool"),
            column("work", "kinds of work"),
            column("readings", "readings"),
            column("others", "of others"),
            column("reads", "reads"),
            column("shift", "by"),
            column("p", "p"),
        ],
        rows: rows.collect(),
        charts: Vec::new(),
    }
}

/// Readings that are all the same, tool by tool.
pub(super) fn repeats(figures: &Figures, around: &Around<'_>) -> Section {
    let mut rows = Vec::new();
    for ((of, required), _, work) in figures.work.iter() {
        let mut by_tool: BTreeMap<&str, Vec<f64>> = BTreeMap::new();
        for (_, _, point) in work.latest.iter() {
            by_tool.entry(point.tool.as_deref().unwrap_or_default()).or_default().push(point.value);
        }
        for (tool, values) in by_tool {
            let Some(first) = values.first().filter(|first| values.iter().all(|value| value == *first))
            else {
                continue;
            };
            if (values.len() as u64) < FEWEST {
                continue;
            }
            let clicks = around.tools.iter().any(|(number, clicks)| *clicks && name_key(number) == tool);
            let written = figures.tools.get(&tool.to_owned()).and_then(|thing| thing.written.clone());
            let sort = if clicks { "setting tool, shows no reading" } else { "" };
            rows.push(vec![
                Cell::Text(of.clone()),
                Cell::Text(required.clone()),
                Cell::text(written),
                Cell::Count(values.len() as u64),
                Cell::Figure(*first, decimals_of(*first), unit(&work.unit)),
                Cell::text(Some(sort).filter(|sort| !sort.is_empty())),
            ]);
        }
    }
    Section {
        key: "repeats",
        title: "Readings that are all the same",
        remarks: vec![format!(
            "{FEWEST} or more of the kept readings of a kind of work by one tool, all equal: what a setting tool is set to, or what nobody \
             read"
        )],
        columns: vec![
            column("of", "reading"),
            column("required", "required"),
            column("tool", "tool"),
            column("readings", "readings"),
            column("value", "each"),
            column("sort", "sort"),
        ],
        rows,
        charts: Vec::new(),
    }
}

/// The decimals of a figure as people write one.
fn decimals_of(value: f64) -> usize {
    (0..6)
        .find(|places| {
            let power = 10_f64.powi(*places);
            ((value * power).round() - value * power).abs() < 1e-6
        })
        .map_or(6, |places| places as usize)
}

/// The nearest misses.
pub(super) fn near(figures: &Figures) -> Section {
    let rows = figures.near.iter().map(|((share, document, line, rule, _), _, miss)| {
        vec![
            Cell::Figure(*share as f64 / 1e7, 2, "% of the tolerance"),
            Cell::Text(miss.distance.clone()),
            Cell::Text(rule.clone()),
            Cell::Text(miss.found.clone()),
            Cell::Text(miss.required.clone()),
            Cell::Place(document.clone(), *line),
        ]
    });
    Section {
        key: "near",
        title: "Near misses",
        remarks: vec![format!(
            "demands that were met with less than a tenth of the tolerance to spare, at most three of a job: the {MOST_LISTED} nearest of {}",
            count(figures.near.all(), "such value")
        )],
        columns: vec![
            column("share", "to spare"),
            column("distance", "distance"),
            column("rule", "rule"),
            column("found", "found"),
            column("required", "required"),
            column("place", "where"),
        ],
        rows: rows.collect(),
        charts: Vec::new(),
    }
}
