//! The parts of a job in the order of the work: what belongs to a step stands below it, its cautions above it.

use super::rows::{EntryPart, Part};
use crate::trade::procedure::{Procedure, Step};
use crate::trade::work::{BEFORE, BEHIND, BELONGS, CAUTIONS_READ, FASTENINGS, STEPS};

/// A block of the page.
#[derive(Debug)]
pub enum Block<'p, 'f> {
    /// A part of the record.
    Part(Part<'f>),
    /// The list of the steps, which follow.
    Steps {
        /// The name of the list.
        id: String,
    },
    /// A step of the work, with what is filled in there.
    Step {
        /// Its name on the page.
        id: String,
        /// Its number, from 1.
        number: usize,
        /// Its name.
        title: String,
        /// What to do.
        text: Option<&'p str>,
        /// Its cautions.
        cautions: &'p [String],
        /// What says that they were read.
        read: Option<Part<'f>>,
        /// What is filled in there.
        parts: Vec<Part<'f>>,
    },
}

/// The blocks of a job.
#[must_use]
pub fn blocks<'p, 'f>(parts: &[Part<'f>], procedure: Option<&'p Procedure>) -> Vec<Block<'p, 'f>> {
    let mut left: Vec<Part<'f>> = parts.to_vec();
    let mut blocks: Vec<Block<'p, 'f>> =
        BEFORE.iter().filter_map(|name| take(&mut left, name)).map(Block::Part).collect();
    let steps = match take(&mut left, STEPS) {
        Some(Part::List { entries, id, .. }) => {
            blocks.push(Block::Steps { id });
            entries
        }
        other => {
            blocks.extend(other.map(Block::Part));
            Vec::new()
        }
    };
    let names: Vec<String> = steps.iter().map(|step| step.title.clone()).collect();
    let mut belonging: Vec<Vec<Part<'f>>> = names.iter().map(|_| Vec::new()).collect();
    for belongs in &BELONGS {
        let Some(list) = belongs.step(names.iter()).and_then(|step| belonging.get_mut(step)) else {
            continue;
        };
        list.extend(take(&mut left, belongs.part));
    }
    for (number, (entry, mut inner)) in steps.into_iter().zip(belonging).enumerate() {
        let step = procedure.and_then(|procedure| stated(procedure, &entry));
        let roles = step.map(|step| step.fastenings.as_slice()).unwrap_or_default();
        inner.extend(fastenings(&mut left, roles));
        let mut parts = entry.parts;
        let read = take(&mut parts, CAUTIONS_READ);
        parts.extend(inner);
        blocks.push(Block::Step {
            id: entry.id,
            number: number + 1,
            title: entry.title,
            text: step.and_then(|step| step.text.as_deref()),
            cautions: step.map(|step| step.cautions.as_slice()).unwrap_or_default(),
            read,
            parts,
        });
    }
    let behind: Vec<Part<'f>> = BEHIND.iter().filter_map(|name| take(&mut left, name)).collect();
    blocks.extend(left.into_iter().chain(behind).map(Block::Part));
    blocks
}

/// The names of the fields that say of each step with cautions that they were read.
#[must_use]
pub fn to_read(parts: &[Part<'_>], procedure: &Procedure) -> Vec<String> {
    let steps = parts.iter().find_map(|part| match part {
        Part::List { entries, .. } if name_of(part) == STEPS => Some(entries),
        _ => None,
    });
    let has_cautions =
        |entry: &&EntryPart<'_>| stated(procedure, entry).is_some_and(|step| !step.cautions.is_empty());
    let steps = steps.into_iter().flatten().filter(has_cautions);
    steps.map(|entry| format!("{}.{CAUTIONS_READ}", entry.id)).collect()
}

/// The step of the procedure that an entry is.
fn stated<'p>(procedure: &'p Procedure, entry: &EntryPart<'_>) -> Option<&'p Step> {
    procedure.steps.iter().find(|step| step.name == entry.title)
}

/// Takes out the part at a path of names.
fn take<'f>(parts: &mut Vec<Part<'f>>, path: &str) -> Option<Part<'f>> {
    let (name, rest) = path.split_once('.').map_or((path, None), |(name, rest)| (name, Some(rest)));
    let at = parts.iter().position(|part| name_of(part) == name)?;
    match (rest, parts.get_mut(at)?) {
        (Some(rest), Part::Group(group)) => take(&mut group.parts, rest),
        (Some(_), _) => None,
        (None, _) => Some(parts.remove(at)),
    }
}

fn name_of<'p>(part: &'p Part<'_>) -> &'p str {
    &part.field().name
}

/// Takes out the fastenings of these roles.
fn fastenings<'f>(parts: &mut Vec<Part<'f>>, roles: &[String]) -> Option<Part<'f>> {
    let at = parts.iter().position(|part| name_of(part) == FASTENINGS)?;
    let Part::List { field, id, path, entries, .. } = parts.get_mut(at)? else { return None };
    let is_of_step = |entry: &EntryPart<'_>| {
        roles.iter().any(|role| {
            entry.title == *role
                || entry.title.strip_prefix(role.as_str()).is_some_and(|rest| rest.starts_with(", "))
        })
    };
    let (taken, left): (Vec<_>, Vec<_>) = std::mem::take(entries).into_iter().partition(is_of_step);
    *entries = left;
    let part = Part::List { field, id: id.clone(), path: path.clone(), head: None, entries: taken };
    let is_empty = matches!(&part, Part::List { entries, .. } if entries.is_empty());
    if matches!(parts.get(at), Some(Part::List { entries, .. }) if entries.is_empty()) {
        parts.remove(at);
    }
    (!is_empty).then_some(part)
}
