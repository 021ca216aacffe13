//! The table of what a procedure prescribes for the record of a job, against the schemas of both.

use std::collections::BTreeSet;
use std::sync::Arc;

use witnessmark::document::{Forms, Record, Shape};
use witnessmark::trade::form::{JOB, PROCEDURE};
use witnessmark::trade::prescription::{PARTS, Part};

/// The record at a path of another one, through lists; none where no record is.
fn record_at(record: &Arc<Record>, path: &str) -> Option<Arc<Record>> {
    let mut at = Arc::clone(record);
    for name in path.split('.') {
        let mut shape = &at.field(name).unwrap_or_else(|| panic!("there is no field {path}")).1.shape;
        while let Shape::List(entry) = shape {
            shape = entry;
        }
        let Shape::Record(inner) = shape else { return None };
        at = Arc::clone(inner);
    }
    Some(at)
}

fn names(record: &Record) -> BTreeSet<String> {
    record.fields.iter().map(|field| field.name.to_string()).collect()
}

/// What is wrong with a part: fields that the schemas do not have, and those that both have and it has not.
fn wrong_with(part: &Part, job: &Arc<Record>, procedure: &Arc<Record>) -> Vec<String> {
    let inner_job = record_at(job, part.job).unwrap_or_else(|| panic!("{} is no record", part.job));
    let inner_procedure = record_at(procedure, part.procedure);
    let theirs = inner_procedure.as_deref().map(names).unwrap_or_default();
    let ours = names(&inner_job);
    let mut wrong = Vec::new();
    let mut carried = BTreeSet::new();
    let rows = part.rows.iter().map(|row| (row.job, row.procedure));
    for (own, prescribed) in rows.chain(part.lists.iter().map(|list| (list.job, Some(list.procedure)))) {
        if !ours.contains(own) {
            wrong.push(format!("{}: a job has no `{own}`", part.job));
        }
        if let Some(name) = prescribed.filter(|name| !theirs.contains(*name)) {
            wrong.push(format!("{}: a procedure has no `{name}`", part.job));
        }
        carried.insert(own.to_owned());
    }
    let left_out = ours.intersection(&theirs).filter(|name| !carried.contains(*name));
    wrong
        .extend(left_out.map(|name| format!("{}: `{name}` is in both forms and not carried over", part.job)));
    for list in part.lists {
        wrong.extend(wrong_with(list, &inner_job, inner_procedure.as_ref().unwrap()));
    }
    wrong
}

#[test]
fn what_both_forms_have_is_carried_over() {
    let forms = Forms::builtin();
    let form = |name: &str| Arc::clone(forms.get(name).unwrap().record());
    let (job, procedure) = (form(JOB), form(PROCEDURE));
    let mut wrong: Vec<String> = PARTS.iter().flat_map(|part| wrong_with(part, &job, &procedure)).collect();
    // The line that names the form is each document's own.
    let mut shared: BTreeSet<String> = names(&job).intersection(&names(&procedure)).cloned().collect();
    shared.remove("form");
    let parts: BTreeSet<String> = PARTS.iter().map(|part| part.job.to_owned()).collect();
    wrong.extend(shared.difference(&parts).map(|name| format!("`{name}` is in both forms and no part")));
    assert!(wrong.is_empty(), "{wrong:#?}");
    assert!(PARTS.iter().map(|part| part.rows.len()).sum::<usize>() > 30);
}
