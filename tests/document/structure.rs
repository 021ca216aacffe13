//! Documents that do not follow their form: what is said, and where.

use witnessmark::document::Forms;

use super::{GOOD, read, said_of, shown, with};

/// A passage of the right record, what is put in its place, and what must be said: the text at
/// the place, the message, the help.
const ERRORS: [(&str, &str, &str); 40] = [
    (
        "  number: L-2031          # as in the order book\n",
        "",
        "job | the job lacks the field `number` | add `number:` with a text",
    ),
    (
        "  number: L-2031 ",
        "  number: ",
        "number | the field `number` of the job has no value, and it must have one | write a text behind the colon",
    ),
    (
        "  state: closed\n",
        "",
        "job | the job lacks the field `state` | add `state:` with one of `in work`, `closed`",
    ),
    (
        "unit:\n  kind: stepped automatic\n  family: six speed\n  serial: 012\n",
        "",
        "form | the job record lacks the field `unit` | add `unit:` with its fields `kind`",
    ),
    ("technician:", "technican:", "technican | the job has no field `technican` | write `technician`"),
    (
        "  plate: no\n",
        "  plate: no\n  Torque: 3 Nm\n",
        "Torque | the vehicle has no field `Torque` | the fields of the vehicle are `vin`, `plate`, `market`, `odometer`, `has_odometer`, `control_units`, `high_voltage`, `high_voltage_in_reach`, `high_voltage_isolated_by`",
    ),
    (
        "  plate: no\n",
        "  plate: no\n  torque: 3 Nm\n",
        "torque | the vehicle has no field `torque` | `torque` is a field of the fastening; look at the indentation of this line",
    ),
    (
        "torque: 9 Nm\n",
        "torque: 9 Nm\n    tol: ± 10 %\n",
        "tol | the fastening has no field `tol` | write the tolerance with its value: `torque: 9 Nm ± 10 %`",
    ),
    (
        "torque: 9 Nm\n",
        "torque: 9 Nm\n    tol: small wrench\n",
        "tol | the fastening has no field `tol` | write `tool`",
    ),
    ("    place: A1\n", "    plaec: A1\n", "plaec | the fastening has no field `plaec` | write `place`"),
    ("  state: closed", "  state: closd", "closd | `closd` is not a valid `state` | write `closed`"),
    (
        "wear_debris: fine paste",
        "wear_debris: sludge",
        "sludge | `sludge` is not a valid `wear_debris` | write one of `none`, `fine paste`, `flakes`, `chips`",
    ),
    (
        "torque: 9 Nm",
        "torque: 9",
        "9 | `9` has no unit | write 9 with its unit behind it, such as Nm, lbf·ft or kgf·m",
    ),
    (
        "torque: 9 Nm",
        "torque: 9 mm",
        "9 mm | `9 mm` is a length, and a torque is wanted here | write a value in Nm, lbf·ft or kgf·m",
    ),
    (
        "torque: 9 Nm",
        "torque: 9,5 Nm",
        "9,5 Nm | `9,5` has a comma where only a decimal point can stand | write `9.5 Nm`",
    ),
    (
        "temperature: 41 °C",
        "temperature: 41 bar",
        "41 bar | `41 bar` is a pressure, and a temperature is wanted here | write a value in °C, °F or K",
    ),
    (
        "torque: 9 Nm",
        "torque: [9 Nm]",
        "torque | `torque` must be a torque in Nm, lbf·ft or kgf·m, and this is a list | write a torque in Nm, lbf·ft or kgf·m behind the colon",
    ),
    (
        "torque: 9 Nm",
        "torque: { value: 9 Nm }",
        "torque | `torque` must be a torque in Nm, lbf·ft or kgf·m, and this is a group of fields | write a torque in Nm, lbf·ft or kgf·m behind the colon",
    ),
    (
        "vehicle_level: yes",
        "vehicle_level: maybe",
        "maybe | `maybe` is neither yes nor no | write `yes` or `no`; leave the field out if it is not known",
    ),
    (
        "vehicle_level: yes",
        "vehicle_level: [yes]",
        "vehicle_level | `vehicle_level` must be `yes` or `no`, and this is a list | write `yes` or `no` behind the colon",
    ),
    ("    order: 1\n", "    order: 1.5\n", "1.5 | `1.5` is no whole number | write a whole number"),
    (
        "    order: 1\n",
        "    order: 1000000001\n",
        "1000000001 | `1000000001` is more than anything here can count, 1000000000 | look for a digit too many",
    ),
    ("    order: 1\n", "    order: 0\n", "0 | 0 is given for `order`, and it must be at least 1"),
    ("    order: 1\n", "    order: -2\n", "-2 | -2 is given for `order`, and it must be at least 1"),
    (
        "beta: 75",
        "beta: high",
        "high | `high` is not a number | write digits, with a decimal point where one is needed",
    ),
    (
        "until: 2026-12-31",
        "until: 31.12.2026",
        "31.12.2026 | `31.12.2026` is no day of the form year-month-day | write 2026-12-31",
    ),
    (
        "until: 2026-12-31",
        "until: 2026-02-30",
        "2026-02-30 | the calendar has no day 2026-02-30 | the last day of that month is 2026-02-28",
    ),
    (
        "closed: 2026-03-02 11:40",
        "closed: 2026-03-02",
        "2026-03-02 | `2026-03-02` is a day without a time of day | add the time, such as 2026-03-02T08:15",
    ),
    (
        "closed: 2026-03-02 11:40",
        "closed: yesterday",
        "yesterday | `yesterday` is not a date and time | write it as 2026-03-02T08:15:00+01:00, or without the offset as 2026-03-02T08:15",
    ),
    (
        "  positions:\n    - { position: P, held: 2 s }\n    - { position: N, held: 3 s }\n",
        "  positions: P\n",
        "P | `positions` must be a list, and this is a single value | write `[{ … }]`, or begin each item with `- ` on a line of its own below the name",
    ),
    (
        "magnets:\n  - { place: pan 🧲, cleaned: yes, debris: none }\n",
        "magnets: { place: pan }\n",
        "magnets | `magnets` must be a list, and this is a group of fields | write `[{ … }]`, or begin each item with `- ` on a line of its own below the name",
    ),
    (
        "  - { place: pan 🧲, cleaned: yes, debris: none }\n",
        "  -\n",
        "- | each item of `magnets` must be a group of fields, and nothing is written here | write its fields indented below the name: `place`, `cleaned`, `renewed`, `debris`",
    ),
    (
        "  - { place: pan 🧲, cleaned: yes, debris: none }\n",
        "  - pan\n",
        "pan | each item of `magnets` must be a group of fields, and this is a single value | write its fields indented below the name: `place`, `cleaned`, `renewed`, `debris`",
    ),
    (
        "  plate: no\n",
        "  plate: [no]\n",
        "plate | `plate` must be a text, and this is a list | write a text behind the colon",
    ),
    (
        "sha256: 9f86",
        "sha256: zz86",
        "zz86d081884c7d659a2feaa0c55ad015a3bf4f1b2b0b822cd15d6c15b0f00a08 | `zz86d081884c7d659a2feaa0c55ad015a3bf4f1b2b0b822cd15d6c15b0f00a08` is not of the form that `sha256` must have | `sha256` means: SHA-256 digest of the file, 64 hexadecimal digits",
    ),
    ("form: job/1\n", "form: jop/1\n", "jop/1 | there is no form `jop` | write `form: job/1`"),
    (
        "form: job/1\n",
        "form: job/2\n",
        "job/2 | `job/2` is newer than the version that this program knows, 1 | use a newer program, or write the document as `job/1`",
    ),
    (
        "form: job/1\n",
        "form: job/0\n",
        "job/0 | there is no version 0 of the form `job` | write `form: job/1`",
    ),
    (
        "form: job/1\n",
        "form:\n",
        "form | the line `form` must name a form and its version | write `form: job/1` or `form: procedure/1` or `form: tools/1` or `form: logbook/1` or `form: workshop/1` or `form: known/1`",
    ),
    (
        "form: job/1\n",
        "",
        "job | this looks like a job record, and it does not say which form it follows | begin it with `form: job/1`",
    ),
];

#[test]
fn the_right_record_is_right() {
    assert_eq!(said_of(GOOD), [""; 0]);
}

#[test]
fn every_error_is_said_in_plain_words_at_its_place() {
    for (old, new, expected) in ERRORS {
        assert_eq!(said_of(&with(old, new)), [expected], "{new:?} for {old:?}");
    }
}

#[test]
fn every_error_of_a_document_is_said_in_the_order_of_the_text() {
    let text = with("torque: 9 Nm", "torque: 9 s")
        .replace("  market: europe\n", "  market: evrope\n  clour: red\n")
        .replace("until: 2026-12-31", "until: soon")
        .replace("technician:", "technican:")
        .replace("  plate: no\n", "  plate: no\n  plate: yes\n");
    let (_, diagnostics) = read(&text);
    let said = shown(&text, &diagnostics);
    let places: Vec<&str> = said.iter().filter_map(|line| line.split(" | ").next()).collect();
    assert_eq!(places, ["technican", "plate", "evrope", "clour", "9 s", "soon"], "{said:#?}");
}

#[test]
fn a_value_that_the_reader_refused_is_reported_once() {
    let said = said_of(&with("vehicle_level: yes", "vehicle_level: *level"));
    assert_eq!(said.len(), 1, "{said:?}");
    assert!(said[0].starts_with("*level | `*level` marks or repeats a shared value"));
}

#[test]
fn errors_without_end_are_cut_off_and_counted() {
    let many: String = (0..500).map(|n| format!("  - {{ place: p{n}, cleaned: perhaps }}\n")).collect();
    let text = with("  - { place: pan 🧲, cleaned: yes, debris: none }\n", &many);
    let said = said_of(&text);
    assert_eq!(said.len(), 101);
    assert!(said.iter().any(|line| line.ends_with("400 further errors in this document are left out")));
    let unknown: String = (0..500).map(|n| format!("zz{n}: 1\n")).collect();
    assert_eq!(said_of(&format!("{GOOD}{unknown}")).len(), 101);
}

#[test]
fn a_document_with_nothing_in_it_is_said() {
    let nothing = " | there is no document in this text | begin it with the line `form: job/1`";
    assert_eq!(said_of(""), [nothing]);
    assert_eq!(said_of("# only a comment\n"), [nothing]);
    assert_eq!(said_of("---\n---\n").len(), 2);
    let list = said_of("- a\n");
    assert!(list[0].starts_with("- a | a document must be a group of fields, and this is a list"));
    assert!(
        said_of("job\n")[0]
            .starts_with("job | a document must be a group of fields, and this is a single text")
    );
}

#[test]
fn each_document_of_a_file_is_checked_alone() {
    let wrong = with("  state: closed", "  state: open");
    let text = format!("{GOOD}---\n{wrong}---\nform: [\n---\n{GOOD}");
    let (documents, diagnostics) = read(&text);
    assert_eq!(documents.len(), 3);
    let said = shown(&text, &diagnostics);
    assert_eq!(said.len(), 2, "{said:?}");
    assert!(said[0].starts_with("open | `open` is not a valid `state`"), "{said:?}");
    assert!(said[1].starts_with("[ | the bracket `[` is"), "{said:?}");
    let second = diagnostics[0].place().expect("has a place").span.start as usize;
    assert!(second > GOOD.len() && second < 2 * GOOD.len());
}

#[test]
fn the_forms_that_come_with_the_program_are_there() {
    assert_eq!(
        Forms::builtin().names().collect::<Vec<_>>(),
        ["job", "procedure", "tools", "logbook", "workshop", "known"]
    );
}

#[test]
fn a_group_under_a_name_of_its_writer_is_told_its_fields() {
    let text = "form: workshop/1\nworkshop: {name: W}\nrules:\n  level.window: {severty: hold}\n  level.held: {bay: 2}\n";
    let expected = [
        "severty | the change of a rule has no field `severty` | write `severity`",
        "bay | the change of a rule has no field `bay` | the fields of the change of a rule are `severity`, `concession`, `left_out`, `reason`",
    ];
    assert_eq!(said_of(text), expected);
}
