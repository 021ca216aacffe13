//! What a run over many documents comes to: sums by name, and bounded samples.

use std::cmp::Reverse;
use std::collections::{BTreeMap, BTreeSet};

use serde::{Deserialize, Serialize};

use super::bounded::{Bounded, Merge};
use super::sums::{
    ByMonth, ConcessionKey, Day, Grantor, Jobs, MOST_KINDS, MOST_LISTED, MOST_NAMES, MOST_WORK, Month,
    NearKey, NearMiss, OfKind, OfRule, OldConcession, Point, Read, Technician, Things, Work, name_key,
    spanned,
};
use super::taken::{Conceded, JobOutcome, Taken};
use super::wanted::{Touched, Wanted};
use crate::finding::{Near, Reading};
use crate::language::ids::RuleId;
use crate::quantity::Number;
use crate::trade::facts::{JobFacts, Used};

/// What a run over many documents comes to. Parts can be cut and added in any way and order.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct Figures {
    /// What is asked for; of other jobs nothing is counted.
    pub wanted: Wanted,
    /// The standards that judged.
    pub judged_by: BTreeSet<String>,
    /// From which severity a job fails; several where parts were judged otherwise.
    pub fails_from: BTreeSet<String>,
    /// Documents.
    pub documents: u64,
    /// Those that could not be read.
    pub unreadable: Bounded<String, (), MOST_LISTED>,
    /// Documents of other forms than jobs.
    pub others: Bounded<String, (), MOST_KINDS>,
    /// Jobs before the day from which they count.
    pub before: u64,
    /// Jobs without a day that can be read.
    pub undated: u64,
    /// Jobs whose records have errors.
    pub with_errors: u64,
    /// Jobs without a technician.
    pub unsigned: u64,
    /// Jobs without a kind of unit.
    pub without_kind: u64,
    /// The first and last day.
    pub days: Option<(Day, Day)>,
    /// All jobs.
    pub jobs: Jobs,
    /// By month.
    pub months: ByMonth<Jobs>,
    /// By kind of unit.
    pub kinds: Bounded<String, OfKind, MOST_KINDS>,
    /// By family.
    pub families: Bounded<(String, String), Jobs, MOST_NAMES>,
    /// By technician.
    pub technicians: Bounded<String, Technician, MOST_NAMES>,
    /// By rule.
    pub rules: BTreeMap<String, OfRule>,
    /// By tool.
    pub tools: Things,
    /// By lot.
    pub lots: Things,
    /// All readings.
    pub read: Read,
    /// The readings of each kind of work: what it is, and what is required of it.
    pub work: Bounded<(String, String), Work, MOST_WORK>,
    /// The nearest misses.
    pub near: Bounded<NearKey, NearMiss, MOST_LISTED>,
    /// Concessions by who granted them, role and name.
    pub grantors: Bounded<(String, Option<String>), Grantor, MOST_NAMES>,
    /// The oldest concessions.
    pub oldest: Bounded<ConcessionKey, OldConcession, MOST_LISTED>,
    /// The jobs that what is asked for touched.
    pub touched: Bounded<(Option<Day>, String), Touched, { usize::MAX }>,
}

impl Figures {
    /// Nothing yet, of a run that asks for this.
    #[must_use]
    pub fn of(wanted: Wanted) -> Figures {
        Figures { wanted, ..Figures::default() }
    }

    /// Adds a document. `name_of` gives the full name of a rule from its number.
    pub fn add<'p>(&mut self, taken: &Taken, name_of: impl Fn(RuleId) -> &'p str) {
        self.documents += 1;
        if !taken.readable {
            return self.unreadable.add(taken.name.clone(), |()| ());
        }
        let Some((facts, outcome)) = &taken.job else {
            self.others.add(taken.form.clone(), |()| ());
            return self.add_rules(taken, None, name_of);
        };
        if let (Some(since), Some(day)) = (self.wanted.since, facts.day)
            && Day(day) < since
        {
            self.before += 1;
            return;
        }
        if let Some((key, touched)) = self.wanted.touched(taken, facts, *outcome) {
            self.touched.add(key, |one| *one = touched);
        }
        self.add_job(taken, facts, *outcome);
        self.add_rules(taken, Some((facts, *outcome)), &name_of);
        self.add_used(taken, facts, *outcome);
        for reading in &taken.readings {
            self.add_reading(taken, facts, reading, &name_of);
        }
        for near in &taken.nearest {
            let key =
                (billionths(near), near.document.clone(), near.line, near.rule.clone(), near.path.clone());
            self.near.add(key, |miss| {
                miss.found.clone_from(&near.found);
                miss.required.clone_from(&near.required);
                miss.distance = near.margin.distance.to_string();
            });
        }
        for conceded in &taken.concessions {
            self.add_concession(taken, facts, conceded);
        }
    }

    fn add_job(&mut self, taken: &Taken, facts: &JobFacts, outcome: JobOutcome) {
        self.jobs.count(outcome);
        self.with_errors += u64::from(taken.has_errors);
        self.days = spanned(self.days, facts.day.map(|day| (Day(day), Day(day))));
        let month = facts.day.map(Day).map(Month::of).map(Reverse);
        match month {
            Some(month) => self.months.add(month, |jobs| jobs.count(outcome)),
            None => self.undated += 1,
        }
        match &facts.kind {
            Some(kind) => self.kinds.add(kind.clone(), |of_kind| {
                of_kind.jobs.count(outcome);
                if let Some(month) = month {
                    of_kind.months.add(month, |jobs| jobs.count(outcome));
                }
            }),
            None => self.without_kind += 1,
        }
        if let (Some(kind), Some(family)) = (&facts.kind, &facts.family) {
            self.families.add((kind.clone(), family.clone()), |jobs| jobs.count(outcome));
        }
        match &facts.technician {
            Some(name) => self.technicians.add(name.clone(), |technician| {
                technician.jobs.count(outcome);
                technician.kinds.add(facts.kind.clone().unwrap_or_default(), |jobs| jobs.count(outcome));
                taken.readings.iter().for_each(|(_, reading)| technician.read.count(reading));
            }),
            None => self.unsigned += 1,
        }
    }

    fn add_rules<'p>(
        &mut self,
        taken: &Taken,
        job: Option<(&JobFacts, JobOutcome)>,
        name_of: impl Fn(RuleId) -> &'p str,
    ) {
        if job.is_some_and(|(_, outcome)| outcome == JobOutcome::InWork) {
            return;
        }
        for (number, outcome) in &taken.rules {
            let name = name_of(*number);
            let rule = match self.rules.get_mut(name) {
                Some(rule) => rule,
                None => self.rules.entry(name.to_owned()).or_default(),
            };
            rule.concerned += 1;
            rule.undecided += u64::from(outcome.undecided);
            if !outcome.broken {
                continue;
            }
            rule.broken += 1;
            let facts = job.map(|(facts, _)| facts);
            let day = facts.and_then(|facts| facts.day).map(Day);
            rule.examples.add(Reverse((day, taken.name.clone())), |()| ());
            if let Some(day) = day {
                rule.months.add(Reverse(Month::of(day)), |count| *count += 1);
            }
            if let Some(kind) = facts.and_then(|facts| facts.kind.clone()) {
                rule.kinds.add(kind, |count| *count += 1);
            }
        }
    }

    fn add_used(&mut self, taken: &Taken, facts: &JobFacts, outcome: JobOutcome) {
        // Two spellings of one name in one record are one tool.
        let once = |things: &mut Things, list: &[Used]| {
            let mut by_key: BTreeMap<String, Used> = BTreeMap::new();
            for used in list {
                let same =
                    by_key.entry(name_key(&used.name)).or_insert_with(|| Used { places: 0, ..used.clone() });
                same.places += used.places;
                if used.name < same.name {
                    same.name.clone_from(&used.name);
                }
            }
            for (key, used) in by_key {
                things.add(key, |thing| thing.count(&used, facts, outcome));
            }
        };
        once(&mut self.tools, &facts.tools);
        once(&mut self.lots, &facts.lots);
        for (_, reading) in &taken.readings {
            if let Some(tool) = reading.tool.as_deref().map(name_key) {
                self.tools.change(&tool, |thing| thing.read.count(reading));
            }
        }
    }

    fn add_reading<'p>(
        &mut self,
        taken: &Taken,
        facts: &JobFacts,
        (line, reading): &(usize, Reading),
        name_of: impl Fn(RuleId) -> &'p str,
    ) {
        self.read.count(reading);
        self.work.add((reading.of.clone(), reading.range.to_string()), |work| {
            reading.unit.clone_into(&mut work.unit);
            work.limits = Some((reading.low, reading.high));
            work.read.count(reading);
            if let Some(name) = &facts.technician {
                work.technicians.add(name.clone(), |read| read.count(reading));
            }
            if let Some(tool) = &reading.tool {
                work.tools.add(name_key(tool), |read| read.count(reading));
            }
            let at =
                Reverse((facts.day.map(Day), taken.name.clone(), *line, name_of(reading.rule).to_owned()));
            work.latest.add(at, |point| {
                *point = Point { value: reading.value, tool: reading.tool.as_deref().map(name_key) };
            });
        });
    }

    fn add_concession(&mut self, taken: &Taken, facts: &JobFacts, conceded: &Conceded) {
        let Conceded { facts: said, line, findings } = conceded;
        self.grantors.add((said.by.clone(), said.name.clone()), |grantor| {
            grantor.granted += 1;
            grantor.used += u64::from(*findings > 0);
            grantor.open_ended += u64::from(said.until.is_none());
            grantor.rules.add(said.rule.clone(), |()| ());
            grantor.days = spanned(grantor.days, facts.day.map(|day| (Day(day), Day(day))));
        });
        if let Some(day) = facts.day {
            self.oldest.add((Day(day), taken.name.clone(), *line), |old| {
                *old = OldConcession {
                    rule: said.rule.clone(),
                    by: said.by.clone(),
                    name: said.name.clone(),
                    until: said.until.map(Day),
                };
            });
        }
    }
}

impl Merge for Figures {
    fn merge(&mut self, other: Self) {
        self.documents.merge(other.documents);
        self.unreadable.merge(other.unreadable);
        self.others.merge(other.others);
        self.before.merge(other.before);
        self.undated.merge(other.undated);
        self.with_errors.merge(other.with_errors);
        self.unsigned.merge(other.unsigned);
        self.without_kind.merge(other.without_kind);
        self.days = spanned(self.days, other.days);
        self.jobs.merge(other.jobs);
        self.months.merge(other.months);
        self.kinds.merge(other.kinds);
        self.families.merge(other.families);
        self.technicians.merge(other.technicians);
        for (name, rule) in other.rules {
            self.rules.entry(name).or_default().merge(rule);
        }
        self.tools.merge(other.tools);
        self.lots.merge(other.lots);
        self.read.merge(other.read);
        self.work.merge(other.work);
        self.near.merge(other.near);
        self.grantors.merge(other.grantors);
        self.oldest.merge(other.oldest);
        self.touched.merge(other.touched);
        self.judged_by.extend(other.judged_by);
        self.fails_from.extend(other.fails_from);
    }
}

/// How far inside its limit a met demand is, in billionths of the tolerance.
fn billionths(near: &Near) -> i64 {
    let share = near.margin.share.as_ref().map_or(1.0, Number::to_f64);
    (share.clamp(0.0, 1.0) * 1e9) as i64
}
