//! Values written into records: `document::edit`.

use std::sync::LazyLock;

use witnessmark::document::edit::{Unwritable, take_out, write};
use witnessmark::document::{DocPath, Forms};

use crate::support::{files_below, text};

fn written(text: &str, path: &str, value: &str) -> Result<String, Unwritable> {
    static FORMS: LazyLock<Forms> = LazyLock::new(Forms::builtin);
    let path: DocPath = path.parse().unwrap();
    write(text, 0, &path, value, FORMS.get("job").unwrap().record())
}

const RECORD: &str = "\
# A job.
form: job/1

job:
  number: K-1                     # ours
  opened:                         # a day and a time
  state: in work

vehicle:
unit: {kind: engine, family: }
fastenings:
  # round the pan
  - role: drain plug
    torque:                       # 30 Nm ± 10 %
    tool: T-1
  - {role: sump screw, place: A1, torque: , tool: T-2}   # the first
fault_memory:
  before: {read: yes, codes: []}
cautions:
  by: >-
    T. Wirth
    and another
";

#[test]
fn a_value_is_written_and_everything_else_stays() {
    let cases = [
        ("job.opened", "2026-03-02T08:15", "  opened: 2026-03-02T08:15        # a day and a time\n"),
        ("job.number", "K-77", "  number: K-77                    # ours\n"),
        ("job.number", "", "  number:                         # ours\n"),
        ("unit.family", "2.0 four cylinder", "unit: {kind: engine, family: 2.0 four cylinder}\n"),
        ("unit.serial", "\"007\"", "unit: {kind: engine, family: , serial: \"007\"}\n"),
        ("fastenings[0].torque", "30 Nm", "    torque: 30 Nm                 # 30 Nm ± 10 %\n"),
        ("fastenings[1].torque", "10 Nm", "A1, torque: 10 Nm, tool: T-2}   # the first\n"),
        ("fastenings[0].place", "pan", "  - role: drain plug\n    place: pan\n    torque:  "),
        ("job.technician", "T. Wirth", "  state: in work\n  technician: T. Wirth\n\nvehicle"),
        ("vehicle.plate", "GW 1", "vehicle:\n  plate: GW 1\nunit"),
        ("fastenings[2]", "{role: level plug}", "# the first\n  - {role: level plug}\nfault"),
        ("fault_memory.before.codes[0]", "P0730", "codes: [P0730]}\n"),
        ("fault_memory.before.codes", "[P0730, P0741]", "codes: [P0730, P0741]}\n"),
        ("fault_memory.after.read", "yes", "codes: []}\n  after: {read: yes}\n"),
        ("cautions.by", "A. Weber", "cautions:\n  by: A. Weber\n"),
        ("steps[0].step", "drain", "steps: [{step: drain}]\n"),
    ];
    for (path, value, wanted) in cases {
        let new = written(RECORD, path, value).unwrap_or_else(|why| panic!("{path}: {why:?}"));
        assert!(new.contains(wanted), "{path} = {value}:\n{new}");
        for comment in ["# A job.", "# ours", "# a day and a time", "# round the pan", "# the first"] {
            assert!(new.contains(comment), "{path} lost {comment}:\n{new}");
        }
        let ended = written(&RECORD.replace('\n', "\r\n"), path, value).unwrap();
        assert_eq!(ended.replace("\r\n", "\n"), new, "{path} with the other ends of lines");
        assert!(!ended.replace("\r\n", "").contains('\n'));
    }
}

#[test]
fn where_something_else_would_change_nothing_is_written() {
    let cases = [
        (RECORD, "job.number.x", "1", Unwritable::NoWay),
        (RECORD, "fastenings[9].torque", "1 Nm", Unwritable::NoWay),
        (RECORD, "job[0]", "1", Unwritable::NoWay),
        (RECORD, "job.number", "K-1\nstate: closed", Unwritable::Layout),
        (RECORD, "unit.family", "a, kind: axle", Unwritable::Layout),
        (RECORD, "unit.family", "a # b", Unwritable::Layout),
        ("form: job/1\nsteps: # all\n  - {step: a}\n", "steps", "[]", Unwritable::Comment),
        ("form: job/1\nremarks: | # x\n  a\n", "remarks", "b", Unwritable::Comment),
        ("form: [", "form", "b", Unwritable::Unreadable),
    ];
    for (text, path, value, wanted) in cases {
        assert_eq!(written(text, path, value).unwrap_err(), wanted, "{path} = {value}");
    }
}

#[test]
fn of_several_documents_only_the_meant_one_changes() {
    let text = "form: job/1\njob: {number: K-1}\n---\nform: job/1\njob: {number: K-1}\n";
    let path: DocPath = "job.number".parse().unwrap();
    let new = write(text, 1, &path, "K-2", Forms::builtin().get("job").unwrap().record()).unwrap();
    assert_eq!(new, "form: job/1\njob: {number: K-1}\n---\nform: job/1\njob: {number: K-2}\n");
}

/// Every single value of every example can be written anew, taken out and put back, and the text is the same again.
#[test]
fn every_value_of_the_examples_can_be_taken_out_and_put_back() {
    let mut tried = 0;
    let forms = Forms::builtin();
    for file in files_below("examples/grauwasser/jobs").iter().filter(|file| file.ends_with(".yaml")) {
        let text = text(file);
        let (documents, _) = witnessmark::document::read(witnessmark::source::SourceId::FIRST, &text, &forms);
        // Every third, to be done soon.
        for (node, _) in documents[0].values().step_by(3) {
            let path = documents[0].path(node).to_string();
            let span = documents[0].span(node);
            let own = span.of(&text);
            if documents[0].find(&path) != Some(node) || own.contains('\n') || path.ends_with(']') {
                continue;
            }
            let without = written(&text, &path, "").unwrap_or_else(|why| panic!("{file} {path}: {why:?}"));
            let back = written(&without, &path, own).unwrap_or_else(|why| panic!("{file} {path}: {why:?}"));
            let bare = |text: &str| text.split_whitespace().collect::<Vec<_>>().join(" ");
            assert_eq!(bare(&back), bare(&text), "{file} {path}");
            tried += 1;
        }
    }
    assert!(tried > 400, "{tried}");
}

fn without(text: &str, path: &str) -> Result<String, Unwritable> {
    let forms = Forms::builtin();
    take_out(text, 0, &path.parse().unwrap(), forms.get("job").unwrap().record())
}

#[test]
fn a_field_or_an_entry_is_taken_out_and_everything_else_stays() {
    let cases = [
        ("fastenings[0]", "  # round the pan\n  - {role: sump screw"),
        ("fastenings[1]", "    tool: T-1\nfault_memory:\n"),
        ("fault_memory", "# the first\ncautions:\n"),
        ("fault_memory.before", "fault_memory:\ncautions:\n"),
        ("fault_memory.before.codes", "  before: {read: yes}\n"),
        ("fault_memory.before.read", "  before: {codes: []}\n"),
        ("unit.kind", "unit: {family: }\n"),
        ("cautions", "codes: []}\n"),
        ("cautions.by", "codes: []}\ncautions:\n"),
        ("vehicle", "  state: in work\n\nunit:"),
        ("job.number", "job:\n  opened:"),
    ];
    for (path, expected) in cases {
        let text = without(RECORD, path).unwrap();
        assert!(text.contains(expected), "{path}: {text}");
        assert!(text.len() < RECORD.len(), "{path}");
        assert_eq!(
            text,
            without(&RECORD.replace('\n', "\r\n"), path).unwrap().replace("\r\n", "\n"),
            "{path}"
        );
    }
    let both = without(&without(RECORD, "fastenings[0]").unwrap(), "fastenings[0]").unwrap();
    assert!(both.contains("fastenings:\n  # round the pan\nfault_memory:\n"), "{both}");
    let last = without("form: job/1\nfilters:\n- place: a\n\n  kind: sump\n# the end", "filters[0]").unwrap();
    assert_eq!(last, "form: job/1\nfilters:\n# the end");
}

#[test]
fn what_cannot_be_taken_out_stays() {
    for path in ["", "none", "fastenings[2]", "fastenings[0].role", "unit.kind.x"] {
        assert!(without(RECORD, path).is_err(), "{path}");
    }
    let noted = "form: job/1\nfilters:\n-  # a filter\n  place: a\n";
    assert_eq!(without(noted, "filters[0]"), Err(Unwritable::Layout));
    let named = "form: job/1\nfilters:\n- &a {place: a}\n";
    assert!(without(named, "filters[0]").is_err());
}

/// In each example each part can be taken out or is refused; what is left is read again by the function itself.
#[test]
fn each_part_of_each_example_is_taken_out_or_refused() {
    let (mut taken, mut refused) = (0, 0);
    for file in files_below("examples/grauwasser/jobs").into_iter().filter(|file| file.ends_with(".yaml")) {
        let text = text(&file);
        let (documents, _) = witnessmark::document::ReaderChoice::QuickFirst.read(
            witnessmark::source::SourceId::FIRST,
            &text,
            0,
        );
        let Some(document) = documents.first() else { continue };
        for node in document.ids().filter(|node| *node != document.root()) {
            match without(&text, &document.path(node).to_string()) {
                Ok(_) => taken += 1,
                Err(_) => refused += 1,
            }
        }
    }
    assert!(taken > 20 * refused, "{taken} taken out, {refused} refused");
}
