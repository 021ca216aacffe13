//! What a finding says of a value that was looked for in a list, in vain.

use crate::support::{Folder, Ran};

/// A job judged by one rule, beside a procedure with two fluids.
fn judged(concerns: &str, demands: &str) -> Ran {
    let folder = Folder::new();
    folder.write(
        "workshop.yaml",
        "form: workshop/1\nworkshop: {name: W}\nstandards: [s.standard]\ndocuments: {procedures: [p.yaml]}\n",
    );
    folder.write(
        "s.standard",
        format!(
            "standard s edition 1 \"S\"\njudges job\n\nrule r \"R\"\n  concerns {concerns}\n  demands {demands}\n  \
             otherwise hold \"x\"\n  basis \"b\"\n"
        ),
    );
    folder.write(
        "p.yaml",
        "form: procedure/1\nprocedure: {name: oil, edition: 1, issued: 2026-01-01}\nunit: {kind: engine}\n\
         fluids:\n  - {specification: AF-6}\n  - {specification: AF-8}\n",
    );
    folder.write(
        "a.yaml",
        "form: job/1\njob: {number: K-1, opened: \"2026-03-02T08:15:00+01:00\", state: closed, \
         procedure: {name: oil, edition: 1}}\nvehicle: {plate: W 1}\nunit: {kind: engine}\n\
         fluid: {specification: XX-9, containers: [{lot: \"L-1  \"}, {lot: L-2}]}\nsteps:\n  - {step: \"fill  \"}\n  - {step: drain}\n\
         seals:\n  - {place: drain plug}\nfastenings:\n  - {role: filter cap, place: top}\n  - {role: drian plug, place: pan}\n",
    );
    folder.run("inspect a.yaml --as-of 2026-03-02 --width 300").quietly(1)
}

/// The list that was searched is pointed at, and not the entry that happens to be its first.
#[test]
fn no_entry_is_to_blame_more_than_another() {
    let list = [
        "path: fastenings\n",
        "found: none of 2",
        "required: an entry in `fastenings` with `role` is level plug",
    ];
    judged("where recorded job.number", "some f in fastenings: f.role is \"level plug\"").says(&list);
    let recorded = "some f in fastenings: recorded f.torque and f.role is \"level plug\"";
    judged("where recorded job.number", recorded).says(&["path: fastenings\n", "found: none of 2"]);
}

/// A value of the record that is looked for: the finding is at that value, whichever side of the `is` it has.
#[test]
fn what_is_looked_for_is_pointed_at() {
    let says = [
        "path: seals[0].place",
        "found: none of 2",
        "required: an entry in `fastenings` with `role` is drain plug",
        "near name: `fastenings[1].role` is `drian plug`, which is nearly `drain plug`",
    ];
    judged("each s in seals", "some f in fastenings: s.place is f.role").says(&says);
    let joined = "some f in fastenings: s.place is f.role and f.place is \"pan\"";
    judged("each s in seals", joined).says(&["path: seals[0].place", "found: none of 2"]);
}

/// Of a list of another document what is there is wanted.
#[test]
fn what_the_other_document_has_is_required() {
    let says = ["path: fluid.specification", "found: XX-9", "required: AF-6 or AF-8"];
    judged("where recorded job.number", "some n in procedure.fluids: n.specification is fluid.specification")
        .says(&says);
    judged("where recorded job.number", "some n in procedure.fluids: fluid.specification is n.specification")
        .says(&says);
}

#[test]
fn blanks_that_nobody_sees_are_told() {
    judged("where recorded job.number", "some c in fluid.containers: c.lot is \"L-1\"")
        .says(&["near name: `fluid.containers[0].lot` is `L-1  `, with blanks that `L-1` does not have"]);
}
