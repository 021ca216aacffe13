//! What is added up of jobs, rules, tools and people, each in bounded memory.

use std::cmp::Reverse;
use std::fmt;

use jiff::civil::Date;
use serde::{Deserialize, Serialize};

use super::bounded::{Bounded, Merge};
use super::taken::JobOutcome;
use crate::finding::Reading;
use crate::letters::{Separators, folded};
use crate::statistics::proportion::Share;
use crate::trade::facts::{JobFacts, Used};

/// By what names of tools and lots are compared.
#[must_use]
pub fn name_key(name: &str) -> String {
    folded(name, Separators::BetweenDigits)
}

/// How many of each are kept; the others are only counted, which the report says.
pub const MOST_MONTHS: usize = 360;
/// Kinds of unit.
pub const MOST_KINDS: usize = 50;
/// Families of units, technicians, tools, lots, grantors.
pub const MOST_NAMES: usize = 1_000;
/// Kinds of work of which readings are kept.
pub const MOST_WORK: usize = 400;
/// Technicians and tools at one kind of work.
pub const MOST_AT_WORK: usize = 100;
/// The latest readings of each.
pub const MOST_READINGS: usize = 256;
/// What is listed one by one: near misses, old concessions, documents that could not be read.
pub const MOST_LISTED: usize = 20;
/// Examples of each rule.
pub const MOST_EXAMPLES: usize = 3;

/// A day of the calendar.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(try_from = "String", into = "String")]
pub struct Day(pub Date);

impl From<Day> for String {
    fn from(day: Day) -> String {
        day.0.to_string()
    }
}

impl TryFrom<String> for Day {
    type Error = String;

    fn try_from(text: String) -> Result<Day, String> {
        text.parse().map(Day).map_err(|_| format!("`{text}` is not a day"))
    }
}

/// A month of the calendar, by its number from the first of year 0.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(try_from = "i32", into = "i32")]
pub struct Month(i32);

impl From<Month> for i32 {
    fn from(month: Month) -> i32 {
        month.0
    }
}

impl TryFrom<i32> for Month {
    type Error = String;

    fn try_from(number: i32) -> Result<Month, String> {
        // The years that dates can have.
        let is_one = number.unsigned_abs() < 120_000;
        is_one.then_some(Month(number)).ok_or_else(|| format!("{number} is not the number of a month"))
    }
}

impl Month {
    /// The month of a day.
    #[must_use]
    pub fn of(day: Day) -> Month {
        Month(i32::from(day.0.year()) * 12 + i32::from(day.0.month()) - 1)
    }

    /// So many months before.
    #[must_use]
    pub fn before(self, months: i32) -> Month {
        Month(self.0 - months)
    }

    /// How many months it is after another one.
    #[must_use]
    pub fn since(self, other: Month) -> i32 {
        self.0 - other.0
    }
}

impl fmt::Display for Month {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{:04}-{:02}", self.0.div_euclid(12), self.0.rem_euclid(12) + 1)
    }
}

/// Jobs, by what became of them.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct Jobs {
    /// Those that passed.
    pub passed: u64,
    /// Those that failed.
    pub failed: u64,
    /// Those in work.
    pub in_work: u64,
}

impl Jobs {
    /// How many of those that are done passed.
    #[must_use]
    pub fn share(self) -> Share {
        Share { count: self.passed, of: self.passed.saturating_add(self.failed) }
    }

    pub(super) fn count(&mut self, outcome: JobOutcome) {
        match outcome {
            JobOutcome::Passed => self.passed += 1,
            JobOutcome::Failed => self.failed += 1,
            JobOutcome::InWork => self.in_work += 1,
        }
    }
}

impl Merge for Jobs {
    fn merge(&mut self, other: Self) {
        self.passed.merge(other.passed);
        self.failed.merge(other.failed);
        self.in_work.merge(other.in_work);
    }
}

/// Jobs of each month, the latest months.
pub type ByMonth<V> = Bounded<Reverse<Month>, V, MOST_MONTHS>;

/// Jobs on one kind of unit.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct OfKind {
    /// All.
    pub jobs: Jobs,
    /// By month.
    pub months: ByMonth<Jobs>,
}

impl Merge for OfKind {
    fn merge(&mut self, other: Self) {
        self.jobs.merge(other.jobs);
        self.months.merge(other.months);
    }
}

/// What somebody reads off, or off some tool.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct Read {
    /// Readings.
    pub readings: u64,
    /// Those that are exactly what is wanted.
    pub on_nominal: u64,
    /// Last digits, where the limits are at least ten steps of them apart.
    pub digits: [u64; 10],
}

impl Read {
    pub(super) fn count(&mut self, reading: &Reading) {
        self.readings += 1;
        self.on_nominal += u64::from(reading.on_nominal);
        let digit = reading.last_digit.and_then(|digit| self.digits.get_mut(usize::from(digit)));
        if let Some(count) = digit {
            *count += 1;
        }
    }

    /// How many of the readings are exactly what is wanted.
    #[must_use]
    pub fn exact(self) -> Share {
        Share { count: self.on_nominal, of: self.readings }
    }
}

impl Merge for Read {
    fn merge(&mut self, other: Self) {
        self.readings.merge(other.readings);
        self.on_nominal.merge(other.on_nominal);
        self.digits.iter_mut().zip(other.digits).for_each(|(sum, more)| sum.merge(more));
    }
}

/// The jobs of a technician.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct Technician {
    /// All.
    pub jobs: Jobs,
    /// By kind of unit.
    pub kinds: Bounded<String, Jobs, MOST_KINDS>,
    /// What was read.
    pub read: Read,
}

impl Merge for Technician {
    fn merge(&mut self, other: Self) {
        self.jobs.merge(other.jobs);
        self.kinds.merge(other.kinds);
        self.read.merge(other.read);
    }
}

/// What a rule came to on the jobs that it concerned, and on other documents; those in work are left out.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct OfRule {
    /// Documents that it concerned.
    pub concerned: u64,
    /// Those that broke it.
    pub broken: u64,
    /// Those on which it was undecided.
    pub undecided: u64,
    /// Jobs that broke it, by kind of unit.
    pub kinds: Bounded<String, u64, MOST_KINDS>,
    /// The same, by month.
    pub months: ByMonth<u64>,
    /// The latest documents that broke it.
    pub examples: Bounded<Reverse<(Option<Day>, String)>, (), MOST_EXAMPLES>,
}

impl Merge for OfRule {
    fn merge(&mut self, other: Self) {
        self.concerned.merge(other.concerned);
        self.broken.merge(other.broken);
        self.undecided.merge(other.undecided);
        self.kinds.merge(other.kinds);
        self.months.merge(other.months);
        self.examples.merge(other.examples);
    }
}

/// A tool, or a lot, as records name it.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct Thing {
    /// As it is written; the first spelling by order of letters.
    pub written: Option<String>,
    /// The jobs that it touched.
    pub jobs: Jobs,
    /// The places in them that name it.
    pub places: u64,
    /// The first and the last day of them.
    pub days: Option<(Day, Day)>,
    /// What was read off it.
    pub read: Read,
}

impl Thing {
    fn name(&mut self, written: &str) {
        if self.written.as_deref().is_none_or(|known| written < known) {
            self.written = Some(written.to_owned());
        }
    }

    pub(super) fn count(&mut self, used: &Used, facts: &JobFacts, outcome: JobOutcome) {
        self.name(&used.name);
        self.jobs.count(outcome);
        self.places += used.places;
        self.days = spanned(self.days, facts.day.map(|day| (Day(day), Day(day))));
    }
}

/// The days from the first to the last of both.
pub(super) fn spanned(one: Option<(Day, Day)>, other: Option<(Day, Day)>) -> Option<(Day, Day)> {
    match (one, other) {
        (Some((first, last)), Some((from, to))) => Some((first.min(from), last.max(to))),
        (one, other) => one.or(other),
    }
}

impl Merge for Thing {
    fn merge(&mut self, other: Self) {
        if let Some(written) = &other.written {
            self.name(written);
        }
        self.jobs.merge(other.jobs);
        self.places.merge(other.places);
        self.days = spanned(self.days, other.days);
        self.read.merge(other.read);
    }
}

/// A reading that is kept.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct Point {
    /// The value.
    pub value: f64,
    /// The tool, as records are compared by.
    pub tool: Option<String>,
}

impl Merge for Point {
    fn merge(&mut self, _: Self) {}
}

/// When and where a reading is: its day, document, line and rule. The latest come first.
pub type ReadAt = Reverse<(Option<Day>, String, usize, String)>;

/// The readings of one kind of work: the same thing, with the same limits.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct Work {
    /// The unit.
    pub unit: String,
    /// The limits.
    pub limits: Option<(f64, f64)>,
    /// All readings.
    pub read: Read,
    /// Those of each technician.
    pub technicians: Bounded<String, Read, MOST_AT_WORK>,
    /// Those of each tool.
    pub tools: Bounded<String, Read, MOST_AT_WORK>,
    /// The latest readings.
    pub latest: Bounded<ReadAt, Point, MOST_READINGS>,
}

impl Merge for Work {
    fn merge(&mut self, other: Self) {
        // What is required tells them apart, so these are the same; the first unit by order of letters all the same.
        if self.limits.is_none() || (other.limits.is_some() && other.unit < self.unit) {
            (self.unit, self.limits) = (other.unit, other.limits);
        }
        self.read.merge(other.read);
        self.technicians.merge(other.technicians);
        self.tools.merge(other.tools);
        self.latest.merge(other.latest);
    }
}

/// Tools, or lots, by what their names are compared by.
pub type Things = Bounded<String, Thing, MOST_NAMES>;

/// What somebody granted.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct Grantor {
    /// Concessions.
    pub granted: u64,
    /// Those under which a finding stands.
    pub used: u64,
    /// Those without a last day.
    pub open_ended: u64,
    /// By the rule that they are for.
    pub rules: Bounded<String, (), MOST_KINDS>,
    /// The first and the last day of the jobs.
    pub days: Option<(Day, Day)>,
}

impl Merge for Grantor {
    fn merge(&mut self, other: Self) {
        self.granted.merge(other.granted);
        self.used.merge(other.used);
        self.open_ended.merge(other.open_ended);
        self.rules.merge(other.rules);
        self.days = spanned(self.days, other.days);
    }
}

/// A met demand near its limit: its share of the tolerance in billionths, where it is, and by which rule.
pub type NearKey = (i64, String, usize, String, String);

/// What was found and required there.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct NearMiss {
    /// What was found.
    pub found: String,
    /// What is required.
    pub required: String,
    /// How far inside, in words.
    pub distance: String,
}

impl Merge for NearMiss {
    fn merge(&mut self, _: Self) {}
}

/// Under which a finding stands: the day of its job, its document and line.
pub type ConcessionKey = (Day, String, usize);

/// A concession.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct OldConcession {
    /// The rule.
    pub rule: String,
    /// Who granted it, in which role.
    pub by: String,
    /// The name of who granted it.
    pub name: Option<String>,
    /// The last day on which it holds.
    pub until: Option<Day>,
}

impl Merge for OldConcession {
    fn merge(&mut self, _: Self) {}
}
