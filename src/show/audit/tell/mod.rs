//! What figures tell, a file for each subject.

mod changes;
mod conceded;
mod exact;
mod jobs;
mod readings;
mod rules;
mod touched;
mod used;

use jiff::civil::Date;

use super::figures::Figures;
use super::page::{Cell, Column, Page};
use crate::language::ast::Severity;
use crate::report::RuleInfo;

/// What is known besides the figures.
#[derive(Clone, Copy, Debug)]
pub struct Around<'r> {
    /// The day of the run.
    pub as_of: Date,
    /// From which severity a job fails.
    pub fail_on: Severity,
    /// The rules of the run.
    pub rules: &'r [RuleInfo],
    /// The tools of the registers: the number of each, and whether it only clicks at what it is set to.
    pub tools: &'r [(String, bool)],
    /// By what the jobs were judged, and what was passed over.
    pub judged: &'r str,
}

/// What figures tell.
#[must_use]
pub fn page(figures: &Figures, around: &Around<'_>) -> Page {
    let mut remarks = jobs::remarks(figures, around);
    let mut sections = Vec::new();
    if figures.wanted.is_of_some() {
        remarks.extend(touched::remarks(figures, around));
        sections.push(touched::jobs(figures));
    } else {
        sections.extend([
            jobs::months(figures),
            changes::between_periods(figures, around),
            changes::trends(figures),
            jobs::kinds(figures),
            jobs::families(figures),
            jobs::technicians(figures),
            rules::broken(figures, around),
            rules::holding(figures, around),
            rules::silent(figures, around),
            readings::against_limits(figures),
            used::tools(figures, around),
            readings::drift(figures),
            exact::measured(figures, around),
            readings::repeats(figures, around),
            readings::near(figures),
            conceded::grantors(figures),
            conceded::oldest(figures, around),
        ]);
    }
    let mut summary = jobs::summary(figures);
    summary.push((Column { key: "judged_by", title: "Judged by" }, Cell::Text(around.judged.to_owned())));
    Page { as_of: around.as_of, remarks, summary, sections }
}

const fn column(key: &'static str, title: &'static str) -> Column {
    Column { key, title }
}

/// What is said of names that were too many to keep.
fn too_many(what: &str, kept: usize, left_out: u64, counted: &str) -> Option<String> {
    (left_out > 0).then(|| {
        format!("only the first {kept} {what} by name are listed; {left_out} {counted} of others are left out here")
    })
}
