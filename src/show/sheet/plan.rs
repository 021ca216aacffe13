//! The plan of one job: what its procedure and the standards ask to be recorded, and what is recorded already. The blank
//! record and the printed sheet are the same plan before the job has begun.

use std::sync::Arc;

use super::asked::Asked;
use super::blank::in_order;
use super::needs::{self, Needs, Trail};
use super::{Known, facts, pattern};
use crate::document::path::{Every, Step};
use crate::document::{DocPath, Document, Field, PathPattern, Record, Shape};
use crate::edition::Digest;
use crate::language::analysis::Facts;
use crate::session::Session;
use crate::trade::Job;
use crate::trade::blank::{self as blank_record, Draft, Group, Plan};
use crate::trade::form::JOB;
use crate::trade::job::{self, JobState};
use crate::trade::procedure::Procedure;

/// A field of the plan, in the order of the form.
#[derive(Clone, Debug)]
pub struct Slot {
    /// The number of the field in the group of the form.
    pub field: usize,
    /// What it holds.
    pub leaf: Leaf,
}

/// What a field of the plan holds.
#[derive(Clone, Debug)]
pub enum Leaf {
    /// A single value, or a list of single values.
    Value {
        /// What the procedure settles.
        settled: Option<String>,
        /// What is asked of it.
        asked: Asked,
        /// What is planned as a value.
        planned: Option<String>,
    },
    /// A group of fields.
    Group(Vec<Slot>),
    /// A list of groups, and what is to be said at its head.
    List(Vec<Entry>, Option<String>),
}

/// An entry of a list.
#[derive(Clone, Debug)]
pub struct Entry {
    /// Its number in the record, where that has it already.
    pub at: Option<usize>,
    /// The number of the entry of the procedure of which it is one of several alike.
    pub series: Option<usize>,
    /// The rule that asks for it, where the procedure does not speak of it.
    pub asked_by: Option<String>,
    /// Its fields.
    pub slots: Vec<Slot>,
}

/// What a job is planned by: its procedure or, without one, the standards alone; with what its record has already.
pub struct Planning(Known);

impl Planning {
    /// That of the job in a document.
    #[must_use]
    pub fn of(procedure: Option<&Procedure>, document: &Document<'_>) -> Planning {
        Planning(Known::of_job(procedure, document))
    }

    /// By which a plan is known again: two jobs with the same have the same plan by the same rules. What was measured is no
    /// part of it.
    #[must_use]
    pub fn key(&self) -> Digest {
        Digest::of(&format!("{:?}\n{:?}", self.0.facts, self.0.record))
    }

    /// The plan.
    #[must_use]
    pub fn slots(&self, session: &Session) -> Vec<Slot> {
        let Some(form) = session.forms().get(JOB) else { return Vec::new() };
        let (mut needs, mut record) = (self.0.needs(session), self.0.record.clone());
        // Before the kind of unit is known, every rule might ask.
        if self.0.facts.contains_key(&pattern(job::KIND)) {
            needs.complete(&mut record, form.record());
        }
        needs.plan(&mut record, &PathPattern::root(), &Trail::default());
        Layout { needs: &needs }.group(&record, form.record(), &PathPattern::root(), &Trail::default())
    }

    /// What is asked of single fields of the record, by their paths. Nothing is planned besides, so that it takes no longer
    /// for a long record than it takes to lay that over the procedure.
    #[must_use]
    pub fn asked_of(&self, session: &Session, paths: &[DocPath]) -> Vec<Option<Asked>> {
        let Some(form) = session.forms().get(JOB) else { return vec![None; paths.len()] };
        let needs = self.0.needs(session).with_fields(&self.0.fields);
        let layout = Layout { needs: &needs };
        let asked = |path: &DocPath| {
            layout.asked_at(
                &self.0.record,
                form.record(),
                path.steps(),
                &PathPattern::root(),
                &Trail::default(),
            )
        };
        paths.iter().map(asked).collect()
    }
}

impl Known {
    fn of_job(procedure: Option<&Procedure>, document: &Document<'_>) -> Known {
        let begun = match procedure {
            Some(procedure) => blank_record::of_procedure(procedure),
            None => blank_record::of_any_job(),
        };
        let record = begun.with_record(document);
        let mut facts = match procedure {
            Some(procedure) => facts(procedure),
            None => facts_of(document),
        };
        facts.insert(pattern(job::STATE), JobState::Closed.word().to_owned());
        Known { facts, fields: needs::fields_of(&record), record, names_procedure: procedure.is_some() }
    }
}

/// What the record of a job without a procedure says of it.
fn facts_of(document: &Document<'_>) -> Facts {
    let job = Job::of(document);
    let known = [(job::KIND, job.kind().text()), (job::FAMILY, job.family().text())];
    known.into_iter().filter_map(|(path, text)| Some((pattern(path), text?.to_owned()))).collect()
}

struct Layout<'l, 'p> {
    needs: &'l Needs<'p>,
}

impl Layout<'_, '_> {
    fn group(&self, group: &Group, form: &Record, path: &PathPattern, trail: &Trail<'_>) -> Vec<Slot> {
        let slot = |(field, draft): (&Field, &Draft)| {
            let number = form.field(&field.name).map(|(number, _)| usize::from(number))?;
            let path = path.clone().key(&field.name);
            Some(Slot { field: number, leaf: self.leaf(field, draft, &path, trail) })
        };
        in_order(group, form).filter_map(slot).collect()
    }

    /// What is asked of the field to which the steps lead.
    fn asked_at(
        &self,
        group: &Group,
        form: &Record,
        steps: &[Step<usize>],
        path: &PathPattern,
        trail: &Trail<'_>,
    ) -> Option<Asked> {
        let (Step::Key(name), rest) = steps.split_first()? else { return None };
        let ((_, field), draft) = (form.field(name)?, group.get(name)?);
        let path = path.clone().key(name);
        match (draft, &field.shape, rest) {
            (Draft::Blank(plan), _, []) => Some(self.needs.asked_of(field, plan, &path, trail)),
            (Draft::Recorded(_), _, []) => Some(self.needs.asked_of(field, &Plan::Open, &path, trail)),
            (Draft::Group(group), Shape::Record(form), rest) => {
                self.asked_at(group, form, rest, &path, trail)
            }
            (Draft::List(entries, _), Shape::List(shape), [Step::In(number), rest @ ..]) => {
                let Shape::Record(form) = &**shape else { return None };
                let is_it =
                    |entry: &&Draft| matches!(entry, Draft::Group(group) if group.at == Some(*number));
                let Draft::Group(group) = entries.iter().find(is_it)? else { return None };
                let path = path.entry(Every);
                self.asked_at(group, form, rest, &path, &trail.and(&path, group))
            }
            _ => None,
        }
    }

    fn leaf(&self, field: &Field, draft: &Draft, path: &PathPattern, trail: &Trail<'_>) -> Leaf {
        match (draft, &field.shape) {
            (Draft::Group(group), Shape::Record(form)) => Leaf::Group(self.group(group, form, path, trail)),
            (Draft::List(entries, head), Shape::List(shape))
                if is_of_groups(shape) || holds_groups(entries) =>
            {
                Leaf::List(self.entries(entries, shape, path, trail), head.clone())
            }
            // A group or list of which nothing is recorded and nothing planned.
            (Draft::Blank(_) | Draft::Recorded(_), Shape::Record(_)) => Leaf::Group(Vec::new()),
            (Draft::Blank(_), Shape::List(shape)) if is_of_groups(shape) => Leaf::List(Vec::new(), None),
            // The entries of a list of single values that the procedure settles.
            (Draft::List(entries, _), _) => {
                let texts = entries.iter().filter_map(|entry| match entry {
                    Draft::Stated(text) | Draft::Recorded(text) => Some(text.as_str()),
                    _ => None,
                });
                let settled = texts.collect::<Vec<_>>().join(", ");
                Leaf::Value { settled: Some(settled), asked: Asked::default(), planned: None }
            }
            (Draft::Stated(text), _) => {
                Leaf::Value { settled: Some(text.clone()), asked: Asked::default(), planned: None }
            }
            (draft, _) => {
                let plan = if let Draft::Blank(plan) = draft { plan } else { &Plan::Open };
                let asked = self.needs.asked_of(field, plan, path, trail);
                let planned = match plan {
                    Plan::Text(text) => Some(text.clone()),
                    Plan::Truth(truth) => Some(needs::yes_or_no(*truth).to_owned()),
                    Plan::Open | Plan::Note(_) | Plan::Within(_) => None,
                };
                Leaf::Value { settled: None, asked, planned }
            }
        }
    }

    fn entries(
        &self,
        entries: &[Draft],
        shape: &Arc<Shape>,
        path: &PathPattern,
        trail: &Trail<'_>,
    ) -> Vec<Entry> {
        let Shape::Record(form) = &**shape else { return Vec::new() };
        let path = path.clone().entry(Every);
        let entry = |draft: &Draft| {
            let Draft::Group(group) = draft else { return None };
            let trail = trail.and(&path, group);
            Some(Entry {
                at: group.at,
                series: group.series,
                asked_by: group.asked_by.clone(),
                slots: self.group(group, form, &path, &trail),
            })
        };
        entries.iter().filter_map(entry).collect()
    }
}

/// Whether the entries of a list are groups, and cannot be written as single values.
#[must_use]
pub fn is_of_groups(entry: &Shape) -> bool {
    matches!(entry, Shape::Record(form) if form.shorthand.is_none())
}

fn holds_groups(entries: &[Draft]) -> bool {
    entries.iter().any(|entry| matches!(entry, Draft::Group(_)))
}
