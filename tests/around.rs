//! Rules that look at the documents around a job: its procedure, the tool register, earlier jobs.

use std::collections::HashMap;
use std::sync::Arc;
use std::sync::atomic::{AtomicUsize, Ordering};

use jiff::tz::TimeZone;
use witnessmark::code::JOB_NUMBER_TWICE;
use witnessmark::diagnostic::{Diagnostic, Fault};
use witnessmark::document::Forms;
use witnessmark::finding::{Finding, Outcome};
use witnessmark::library::Archive;
use witnessmark::session::{Glance, History};

use crate::support::{Folder, Ran, session};

const RULES: &str = r#"
standard around edition 1 "What stands around a job"
judges   job

rule torque "Each fastening has the torque of the procedure"
  concerns  each s in fastenings
  demands   s.torque within s.prescribed.torque
  otherwise hold "{s.role}: {s.torque} recorded, {s.prescribed.torque} prescribed."
  basis     "common practice"
  trial met    { fastenings: [{role: plug, torque: 45 Nm, prescribed: {torque: 45 Nm ± 10 %}}] }
  trial broken at fastenings[0].torque
    { fastenings: [{role: plug, torque: 55 Nm, prescribed: {torque: 45 Nm ± 10 %}}] }
  trial undecided { fastenings: [{role: plug, torque: 45 Nm}] }

rule stage "Each stage has the torque of the procedure"
  concerns  each s in fastenings, each g in s.stages
  demands   g.torque within g.prescribed.torque
  otherwise hold "{s.role}: {g.torque} recorded, {g.prescribed.torque} prescribed."
  basis     "common practice"
  trial met    { fastenings: [{role: plug, stages: [{torque: 20 Nm, prescribed: {torque: 20 Nm ± 2 Nm}}]}] }
  trial broken { fastenings: [{role: plug, stages: [{torque: 23 Nm, prescribed: {torque: 20 Nm ± 2 Nm}}]}] }

rule tool "Each tool covers the torque"
  concerns  each s in fastenings where recorded s.tool
  demands   s.torque within s.instrument.torque.range
  otherwise hold "{s.tool} measures {s.instrument.torque.range}."
  basis     "common practice"
  trial met    { fastenings: [{tool: A, torque: 45 Nm, instrument: {torque: {range: 1 Nm .. 50 Nm}}}] }
  trial broken { fastenings: [{tool: A, torque: 55 Nm, instrument: {torque: {range: 1 Nm .. 50 Nm}}}] }

rule every_step "Every step of the procedure is there"
  concerns  each p in procedure.steps
  demands   some t in steps: t.step is p.name
  otherwise hold "The step {p.name} is missing."
  basis     "common practice"
  trial met    { steps: [{step: drain}], procedure: {steps: [{name: drain}]} }
  trial broken { steps: [{step: drain}], procedure: {steps: [{name: fill}]} }

rule order "The steps are in the order of the procedure"
  concerns  each t in steps where recorded t.entry_before
  demands   t.planned.order above t.entry_before.planned.order
  otherwise hold "{t.step} comes after {t.entry_before.step}."
  basis     "common practice"
  trial met    { steps: [{step: a, planned: {order: 1}}, {step: b, planned: {order: 2}}] }
  trial broken { steps: [{step: b, planned: {order: 2}}, {step: a, planned: {order: 1}}] }

rule odometer "The odometer never falls"
  concerns  where recorded last_job
  demands   vehicle.odometer at least last_job.vehicle.odometer
  otherwise hold "{vehicle.odometer} after {last_job.vehicle.odometer} in job {last_job.job.number}."
  basis     "common practice"
  trial met    { vehicle: {odometer: 20 km}, last_job: {vehicle: {odometer: 10 km}} }
  trial broken { vehicle: {odometer: 5 km}, last_job: {vehicle: {odometer: 10 km}} }

rule serial "The serial number of the unit stays"
  concerns  where recorded last_service
  demands   unit.serial is last_service.unit.serial
  otherwise hold "{unit.serial} after {last_service.unit.serial}."
  basis     "common practice"
  trial met    { unit: {serial: A}, last_service: {unit: {serial: A}} }
  trial broken { unit: {serial: A}, last_service: {unit: {serial: B}} }
"#;

const PROCEDURE: &str = "form: procedure/1
procedure: {name: plug service, edition: 2}
unit: {kind: engine}
steps:
  - {name: drain, order: 1}
  - {name: fill, order: 2}
fastenings:
  - {role: drain plug, place: pan, torque: 45 Nm ± 10 %}
  - {role: cap screw, place: front, torque: 9 Nm ± 10 %}
  - {role: cap screw, place: rear, torque: 12 Nm ± 10 %}
  - {role: head screw, stages: [{torque: 20 Nm ± 2 Nm}, {torque: 40 Nm ± 4 Nm}]}
";

const REGISTER: &str = "form: tools/1
tools:
  - {number: W-1, kind: torque wrench, torque: {range: 5 Nm .. 25 Nm}}
  - {number: W-2, kind: torque wrench, torque: {range: 20 Nm .. 120 Nm}}
";

fn job(number: &str, opened: &str, rest: &str) -> String {
    format!(
        "form: job/1
job:
  number: {number}
  opened: {opened}
  state: closed
  procedure: {{name: plug service, edition: 2}}
{rest}"
    )
}

const REST: &str = "vehicle: {vin: AZ1LR48K4MG204117, plate: GW 1, odometer: 1000 km}
unit: {kind: engine, serial: E-1}
steps: [{step: drain}, {step: fill}]
fastenings:
  - {role: drain plug, place: pan, torque: 45 Nm, tool: W-2}
  - {role: cap screw, place: rear, torque: 12 Nm, tool: W-1}
";

fn folder() -> Folder {
    let folder = Folder::new();
    folder.write("rules.standard", RULES);
    folder.write("procedures/plug.yaml", PROCEDURE);
    folder.write("register.yaml", REGISTER);
    folder
}

fn inspect(folder: &Folder) -> Ran {
    folder.run("inspect . --standard rules.standard --format plain --brief --width 200")
}

/// Inspects the folder with one job in it.
fn with_job(rest: &str) -> Ran {
    let folder = folder();
    folder.write("job.yaml", job("1", "2026-03-02T08:00:00Z", rest));
    inspect(&folder)
}

#[test]
fn the_trials_of_the_rules_write_out_their_links() {
    folder().run("prove rules.standard").quietly(0).says(&["all trials passed"]);
}

#[test]
fn a_trial_is_checked_within_its_links_too() {
    let folder = Folder::new();
    folder.write(
        "rules.standard",
        RULES.replace("prescribed: {torque: 45 Nm ± 10 %}", "prescribed: {tork: 45 Nm}"),
    );
    folder.run("prove rules.standard").quietly(1).says(&["error: the fastening has no field `tork`"]);
}

#[test]
fn a_job_that_keeps_to_its_procedure_passes() {
    with_job(REST).quietly(0).says(&["job.yaml: nothing to hold, 7 demands met"]);
}

#[test]
fn values_are_compared_with_the_entry_of_the_same_role_and_place() {
    let ran = with_job(&REST.replace("torque: 12 Nm", "torque: 9 Nm")).quietly(1);
    ran.says(&["line 12: hold: cap screw: 9 Nm recorded, 12 Nm ± 10 % prescribed. (around.torque)"]);
}

/// A sheet numbers the places of fastenings alike.
#[test]
fn a_numbered_place_is_one_of_several_at_the_place_of_the_procedure() {
    let at = |place: &str, torque: &str| {
        with_job(&REST.replace("place: rear, torque: 12 Nm", &format!("place: {place}, torque: {torque}")))
    };
    at("rear 2", "12 Nm").quietly(0);
    at("rear 14", "9 Nm").quietly(1).says(&["9 Nm recorded, 12 Nm ± 10 % prescribed. (around.torque)"]);
    at("front 1", "9 Nm").quietly(0);
    for other in ["rear2", "rear 2a", "rear left", "rear 2 3", "rearmost 2", "2"] {
        at(other, "12 Nm").quietly(1).says(&["the procedure has 2 entries for `cap screw`"]);
    }
    // An entry of that very name goes before the one of several.
    let folder = folder();
    folder.write(
        "procedures/plug.yaml",
        PROCEDURE.replace("place: front, torque: 9 Nm", "place: rear 2, torque: 9 Nm"),
    );
    let rest = REST.replace("place: rear, torque: 12 Nm", "place: rear 2, torque: 9 Nm");
    folder.write("job.yaml", job("1", "2026-03-02T08:00:00Z", &rest));
    inspect(&folder).quietly(0);
}

#[test]
fn both_places_are_in_the_report() {
    let folder = folder();
    folder
        .write("job.yaml", job("1", "2026-03-02T08:00:00Z", &REST.replace("torque: 45 Nm", "torque: 55 Nm")));
    let ran = folder.run(
        "inspect job.yaml procedures register.yaml --standard rules.standard --format plain --width 200",
    );
    ran.quietly(1).says(&[
        "line 11: hold: drain plug: 55 Nm recorded, 45 Nm ± 10 % prescribed.",
        "off by: 5.5 Nm above the upper limit",
        "see: procedures/plug.yaml line 8 column 44: the procedure: 45 Nm ± 10 %",
    ]);
    let ran =
        folder.run("inspect job.yaml procedures register.yaml --standard rules.standard --format sarif");
    ran.quietly(1).says(&["procedures/plug.yaml", "the procedure: 45 Nm ± 10 %"]);
}

#[test]
fn stages_are_compared_one_by_one() {
    let rest = format!(
        "{REST}  - {{role: head screw, torque: 40 Nm, stages: [{{torque: 20 Nm}}, {{torque: 45 Nm}}]}}\n"
    );
    let ran = with_job(&rest).quietly(1);
    ran.says(&["hold: head screw: 45 Nm recorded, 40 Nm ± 4 Nm prescribed."]);
    let rest = rest.replace("{torque: 45 Nm}]", "{torque: 40 Nm}, {torque: 60 Nm}]");
    with_job(&rest).quietly(1).says(&["the procedure has no stages number 3 here"]);
}

#[test]
fn missing_and_misplaced_steps_are_said() {
    let ran = with_job(&REST.replace("[{step: drain}, {step: fill}]", "[{step: fill}, {step: drain}]"));
    ran.quietly(1).says(&["line 9: hold: drain comes after fill. (around.order)"]);
    let ran = with_job(&REST.replace(", {step: fill}", ""));
    ran.quietly(1).says(&["line 9: hold: The step fill is missing. (around.every_step)"]);
}

#[test]
fn what_a_job_names_and_is_not_there_is_a_finding_with_a_near_name() {
    let ran = with_job(&REST.replace("tool: W-1", "tool: W-11")).quietly(1);
    ran.says(&["line 12: hold, undecided: Each tool covers the torque: the tool register has no `W-11`; did you mean `W-1`?"]);
    let ran = with_job(&REST.replace("role: drain plug", "role: drain plugg")).quietly(1);
    ran.says(&["the procedure has no `drain plugg` among its fastenings; did you mean `drain plug`?"]);
    let folder = folder();
    let text = job("1", "2026-03-02T08:00:00Z", REST);
    folder.write("job.yaml", text.replace("plug service, edition: 2", "plug servise, edition: 2"));
    inspect(&folder)
        .quietly(1)
        .says(&["there is no procedure `plug servise` in this run; did you mean `plug service`?"]);
    folder.write("job.yaml", text.replace("plug service, edition: 2", "plug service, edition: 3"));
    inspect(&folder)
        .quietly(1)
        .says(&["there is no edition 3 of the procedure `plug service` in this run, only 2"]);
}

#[test]
fn a_procedure_that_is_there_twice_is_a_mistake_of_the_run() {
    let folder = folder();
    folder.write("procedures/copy.yaml", PROCEDURE);
    folder.write("job.yaml", job("1", "2026-03-02T08:00:00Z", REST));
    let ran = folder.run("inspect . --standard rules.standard --format plain --width 200");
    assert_eq!(ran.code, 2, "{ran:#?}");
    ran.says(&[
        "error: the procedure `plug service` edition 2 is there twice",
        "run/procedure-twice",
        "2 documents of this run are the procedure `plug service` edition 2",
    ]);
}

#[test]
fn names_that_look_alike_are_said() {
    let folder = folder();
    let text = job("1", "2026-03-02T08:00:00Z", REST);
    folder.write("job.yaml", text.replace("plug service", "plug servic\u{435}"));
    let inspect = "inspect . --standard rules.standard --format plain --width 300";
    folder.run(inspect).says(&[
        "there is no procedure `plug servic\u{435}` in this run; `plug service` looks the same, but is written with other letters (U+0435",
    ]);
    folder.write("job.yaml", &text);
    folder.write("procedures/copy.yaml", PROCEDURE.replace("name: plug service", "name: plug s\u{435}rvice"));
    let ran = folder.run(inspect);
    assert!(ran.out.contains("run/looks-alike"), "{ran:#?}");
    assert!(ran.out.contains("looks like another procedure"), "{ran:#?}");
}

#[test]
fn a_job_without_an_edition_has_the_only_one_or_must_say_which() {
    let folder = folder();
    let text = job("1", "2026-03-02T08:00:00Z", REST).replace(", edition: 2", "");
    folder.write("job.yaml", &text);
    inspect(&folder).quietly(0);
    folder.write("procedures/new.yaml", PROCEDURE.replace("edition: 2", "edition: 3"));
    inspect(&folder)
        .quietly(1)
        .says(&["this run has 2 editions of the procedure `plug service`, and the job does not say which"]);
}

#[test]
fn a_tool_number_that_two_tools_share_decides_nothing() {
    let folder = folder();
    folder.write("register.yaml", REGISTER.replace("W-2", "W-1"));
    folder.write("job.yaml", job("1", "2026-03-02T08:00:00Z", REST));
    inspect(&folder).quietly(1).says(&["the tool register has 2 tools with the number `W-1`"]);
}

#[test]
fn a_register_with_mistakes_is_said_and_its_good_entries_count() {
    let folder = folder();
    folder.write("register.yaml", REGISTER.replace("20 Nm .. 120 Nm", "20 Nm .. 120 km"));
    folder.write("job.yaml", job("1", "2026-03-02T08:00:00Z", REST));
    let ran = folder.run(
        "inspect job.yaml procedures register.yaml --standard rules.standard --format plain --width 200",
    );
    ran.quietly(1).says(&[
        "advice: `register.yaml` has errors (1 in all)",
        "run/neighbour-faulty",
        "line 11: hold, undecided: Each tool covers the torque",
    ]);
}

#[test]
fn the_jobs_of_a_vehicle_are_put_in_order_by_their_time() {
    let folder = folder();
    let rest = |km: &str, serial: &str| REST.replace("1000 km", km).replace("serial: E-1", serial);
    // Written so that the names of the files are in another order than the times.
    folder.write("a.yaml", job("3", "2026-05-02T08:00:00Z", &rest("3000 km", "serial: E-1")));
    folder.write("b.yaml", job("1", "2026-03-02T08:00:00Z", &rest("1000 km", "serial: E-1")));
    folder.write("c.yaml", job("2", "2026-04-02T08:00:00Z", &rest("2000 km", "serial: E-1")));
    inspect(&folder).quietly(0);
    folder.write("c.yaml", job("2", "2026-04-02T08:00:00Z", &rest("4000 km", "serial: E-2")));
    inspect(&folder).quietly(1).says(&[
        "a.yaml: 2 holds",
        "line 7: hold: 3000 km after 4000 km in job 2. (around.odometer)",
        "hold: E-1 after E-2. (around.serial)",
        "c.yaml: 1 hold",
    ]);
}

#[test]
fn jobs_that_are_written_in_an_unusual_way_are_found_all_the_same() {
    let folder = folder();
    let text = job("2", "2026-04-02T08:00:00Z", &REST.replace("1000 km", "500 km"));
    folder.write("b.yaml", job("1", "2026-03-02T08:00:00Z", REST));
    let says = ["line 7: hold: 500 km after 1000 km in job 1."];
    folder.write("a.yaml", &text);
    inspect(&folder).quietly(1).says(&says);
    let plain = std::fs::read_to_string(folder.path().join("b.yaml")).unwrap();
    for (from, to) in [
        ("vin: AZ1LR48K4MG204117", "\"vin\": 'AZ1LR48K4MG204117'"),
        ("vin: AZ1LR48K4MG204117, plate: GW 1", "plate: GW 1"),
        ("vin: AZ1", "vin:   AZ1"),
        ("vehicle: {", "\"vehicle\": {"),
        (
            "vehicle: {vin: AZ1LR48K4MG204117, plate: GW 1, odometer: 1000 km}",
            "vehicle:\n  # the vin: of the vehicle\n  vin: AZ1LR48K4MG204117\n  odometer: 1000 km",
        ),
        ("number: 1\n", "number: 1\n  remarks: \"number: 7\"\n"),
        ("\n", "\r\n"),
    ] {
        assert!(plain.contains(from), "{from}");
        folder.write("b.yaml", plain.replace(from, to));
        inspect(&folder).quietly(1).says(&says);
    }
}

#[test]
fn a_comma_belongs_to_the_plate_and_to_the_number_of_a_job() {
    let folder = folder();
    let written = "vehicle: {vin: AZ1LR48K4MG204117, plate: GW 1, odometer: 1000 km}";
    let rest = |plate: &str, km: &str| {
        REST.replace(written, &format!("vehicle:\n  plate: {plate}\n  odometer: {km}"))
    };
    folder.write("a.yaml", job("1", "2026-03-02T08:00:00Z", &rest("GW 1,23", "1000 km")));
    folder.write("b.yaml", job("2", "2026-04-02T08:00:00Z", &rest("GW 1,23", "500 km")));
    inspect(&folder).quietly(1).says(&["hold: 500 km after 1000 km in job 1."]);
    // Another plate that is the same up to the comma is another vehicle.
    folder.write("b.yaml", job("2", "2026-04-02T08:00:00Z", &rest("GW 1,24", "500 km")));
    inspect(&folder).quietly(0);
    // So is a job whose number goes on behind the comma: no copy, and an earlier job of the vehicle.
    folder.write("b.yaml", job("1,2", "2026-04-02T08:00:00Z", &rest("GW 1,23", "500 km")));
    let ran = inspect(&folder).quietly(1).says(&["hold: 500 km after 1000 km in job 1."]);
    assert!(!ran.out.contains("run/job-number-twice"), "{ran:#?}");
}

#[test]
fn a_job_is_found_wherever_it_is_written_and_whatever_is_in_the_file_with_it() {
    let folder = folder();
    let first = job("1", "2026-03-02T08:00:00Z", REST);
    folder.write("a.yaml", job("2", "2026-04-02T08:00:00Z", &REST.replace("1000 km", "500 km")));
    let says = ["hold: 500 km after 1000 km in job 1."];
    let flow = "{form: job/1, job: {number: 1, opened: \"2026-03-02T08:00:00Z\", state: closed},\n \
                vehicle: {vin: AZ1LR48K4MG204117, odometer: 1000 km}, unit: {kind: engine, serial: E-1}}\n";
    let behind = format!("{PROCEDURE}---\n{first}");
    for text in [&first.replace("form: job/1", "\"form\": job/1"), flow, &behind] {
        if text == behind {
            std::fs::remove_file(folder.path().join("procedures/plug.yaml")).unwrap();
        }
        folder.write("b.yaml", text);
        inspect(&folder).quietly(1).says(&says);
    }
}

/// Texts that can be opened again, and how often that was done.
#[derive(Default)]
struct Counted {
    texts: HashMap<String, String>,
    opened: AtomicUsize,
}

impl Archive for Counted {
    fn open(&self, name: &str) -> Result<String, Fault> {
        self.opened.fetch_add(1, Ordering::Relaxed);
        Ok(self.texts[name].clone())
    }
}

/// Judges the texts one after the other; how many findings and advices of the code there are, and how often
/// a text was opened again.
fn judged_with_history(texts: &[(&str, String)]) -> (usize, usize, usize) {
    let mut session = session(&[("rules.standard", RULES)]);
    let zone = TimeZone::UTC;
    let forms = Forms::builtin();
    let read = |(name, text): &(&str, String)| Glance::read(*name, text, &forms, &zone).jobs;
    let history = texts.iter().map(read).collect::<History>();
    let named = texts.iter().map(|(name, text)| ((*name).to_owned(), text.clone()));
    let archive = Arc::new(Counted { texts: named.collect(), ..Counted::default() });
    session.load_context(Vec::new(), history, archive.clone());
    let judged: Vec<_> = texts.iter().flat_map(|(name, text)| session.judge(name, text)).collect();
    let fell = |finding: &&Finding| finding.rule == "around.odometer" && finding.outcome == Outcome::Broken;
    let falls = judged.iter().flat_map(|judged| &judged.findings).filter(fell).count();
    let twice = |found: &&Diagnostic| found.code == JOB_NUMBER_TWICE;
    let doubles = judged.iter().flat_map(|judged| &judged.diagnostics).filter(twice).count();
    (falls, doubles, archive.opened.load(Ordering::Relaxed))
}

fn in_one_text(jobs: impl Iterator<Item = String>) -> String {
    jobs.collect::<Vec<_>>().join("---\n")
}

#[test]
fn many_jobs_in_one_text_are_not_read_again_for_each_of_them() {
    let one = |number: usize, km: usize| {
        let opened = format!("2026-03-{:02}T{:02}:00:00Z", 1 + number / 24, number % 24);
        job(&format!("{number}"), &opened, &REST.replace("1000 km", &format!("{km} km")))
    };
    // Each job but the first has the one before it as its last, in the same text.
    let rising = in_one_text((0..100).map(|number| one(number, 1000 - number)));
    assert_eq!(judged_with_history(&[("a.yaml", rising.clone())]), (99, 0, 0));
    // A hundred records of one number.
    let same = in_one_text((0..100).map(|_| one(7, 1000)));
    assert_eq!(judged_with_history(&[("a.yaml", same)]), (0, 100, 0));
    // Jobs in a hundred texts, the last one of each in one text of many: that is opened once.
    let later = |number: usize| {
        let text = job(&format!("L{number}"), "2026-04-02T08:00:00Z", REST);
        text.replace("AZ1LR48K4MG204117", &format!("V{number}"))
    };
    let vin = |number: usize| one(number, 2000).replace("AZ1LR48K4MG204117", &format!("V{number}"));
    let names: Vec<String> = (0..100).map(|number| format!("{number}.yaml")).collect();
    let mut texts = vec![("all.yaml", in_one_text((0..100).map(vin)))];
    texts.extend(names.iter().enumerate().map(|(number, name)| (&**name, later(number))));
    assert_eq!(judged_with_history(&texts), (100, 0, 1));
    // And a hundred doubles of what is in one text of many.
    let double = |number: usize| one(number, 1000).replace("vin: AZ1LR48K4MG204117, plate: GW 1, ", "");
    let mut texts = vec![("all.yaml", in_one_text((0..100).map(double)))];
    texts.extend(names.iter().enumerate().map(|(number, name)| (&**name, double(number))));
    assert_eq!(judged_with_history(&texts), (0, 200, 101));
}

#[test]
fn an_edition_is_a_number_however_it_is_written() {
    for (procedure, named) in [("2.0", "2"), ("2", "2.0"), ("2.0", "2.00"), ("2", "02")] {
        let folder = folder();
        folder
            .write("procedures/plug.yaml", PROCEDURE.replace("edition: 2", &format!("edition: {procedure}")));
        let text = job("1", "2026-03-02T08:00:00Z", REST).replace("edition: 2", &format!("edition: {named}"));
        folder.write("job.yaml", &text);
        inspect(&folder).quietly(0);
        // It is not taken for the first one.
        folder.write("job.yaml", text.replace(&format!("edition: {named}"), "edition: 1"));
        inspect(&folder)
            .quietly(1)
            .says(&["there is no edition 1 of the procedure `plug service` in this run, only 2"]);
        folder.write("procedures/copy.yaml", PROCEDURE);
        let ran = inspect(&folder);
        assert_eq!(ran.code, 2, "{ran:#?}");
        ran.says(&["error: the procedure `plug service` edition 2 is there twice"]);
    }
    // One that cannot be read is no edition at all.
    let folder = folder();
    folder.write("procedures/plug.yaml", PROCEDURE.replace("edition: 2", "edition: two"));
    let text = job("1", "2026-03-02T08:00:00Z", REST);
    for (named, says) in [
        ("edition: 1", "there is no edition 1 of the procedure `plug service` in this run"),
        (
            "edition: two",
            "line 6: error: `two` is not a number\n  help: write digits, with a decimal point where one is needed\n  waiting: 2 rules wait for it (hold)",
        ),
    ] {
        folder.write("job.yaml", text.replace("edition: 2", named));
        inspect(&folder).quietly(1).says(&[says]);
    }
}

#[test]
fn the_settings_put_documents_around_a_single_job() {
    let folder = folder();
    folder.write(
        "workshop.yaml",
        "form: workshop/1
workshop: {name: Test}
standards: [rules.standard]
documents: {procedures: [procedures], tools: [register.yaml], jobs: [jobs]}
",
    );
    folder.write("jobs/1.yaml", job("1", "2026-03-02T08:00:00Z", REST));
    folder.write("jobs/2.yaml", job("2", "2026-04-02T08:00:00Z", &REST.replace("1000 km", "900 km")));
    let ran = folder.run("inspect jobs/2.yaml --format plain --brief --width 200");
    ran.quietly(1).says(&["hold: 900 km after 1000 km in job 1."]);
    let ran = folder.run("inspect jobs/1.yaml --format plain --brief --width 200");
    ran.quietly(0).says(&["nothing to hold"]);
    let ran = folder.run("why odometer jobs/2.yaml --format plain --width 200");
    ran.quietly(0).says(&["at least 1000 km"]);
    folder.write("workshop.yaml", folder.read("workshop.yaml").replace("[register.yaml]", "[registr.yaml]"));
    let ran = folder.run("inspect jobs/1.yaml --format plain --width 200");
    assert_eq!(ran.code, 2, "{ran:#?}");
    ran.says(&["there is no file or folder `registr.yaml`"]);
}

#[test]
fn what_cannot_be_read_around_the_jobs_is_said_and_the_rest_is_judged() {
    let folder = folder();
    folder.write(
        "workshop.yaml",
        "form: workshop/1
workshop: {name: Test}
standards: [rules.standard]
documents: {procedures: [procedures], tools: [register.yaml], jobs: [jobs]}
",
    );
    folder.write("procedures/torn.yaml", b"form: procedure/1\nprocedure: {name: \xff\xfe}\n");
    folder.write("jobs/1.yaml", job("1", "2026-03-02T08:00:00Z", REST));
    let ran = folder.run("inspect jobs --format plain --width 300");
    assert_eq!(ran.code, 2, "{ran:#?}");
    ran.says(&[
        "workshop.yaml line 4 column 26: error: a document around the jobs is left out, `procedures/torn.yaml`",
        "is not UTF-8 text",
        "jobs/1.yaml: nothing to hold, 7 demands met",
    ]);
}

#[cfg(unix)]
#[test]
fn links_are_no_documents_around_a_job_and_those_in_a_circle_end() {
    let folder = folder();
    folder.write("jobs/1.yaml", job("1", "2026-03-02T08:00:00Z", REST));
    std::os::unix::fs::symlink("..", folder.path().join("jobs/up")).unwrap();
    std::os::unix::fs::symlink("self", folder.path().join("jobs/self")).unwrap();
    folder.write(
        "workshop.yaml",
        "form: workshop/1
workshop: {name: Test}
standards: [rules.standard]
documents: {procedures: [procedures], tools: [register.yaml], jobs: [jobs, jobs/up]}
",
    );
    let ran = folder.run("inspect jobs --format plain --width 300");
    ran.quietly(2).says(&[
        "documents: 1 judged",
        "workshop.yaml line 4 column 70: error: a document around the jobs is left out: `jobs/up` is a link",
        "workshop.yaml line 4 column 76: error: `jobs/up` is a link, and links are not followed here",
    ]);
}

#[cfg(unix)]
#[test]
fn the_mark_of_an_editor_that_is_not_saved_is_no_document() {
    let folder = folder();
    folder.write("jobs/1.yaml", job("1", "2026-03-02T08:00:00Z", REST));
    folder.write(
        "workshop.yaml",
        "form: workshop/1\nworkshop: {name: Test}\nstandards: [rules.standard]\ndocuments: {jobs: [jobs]}\n",
    );
    let before = folder.run("inspect jobs --format plain --width 300");
    let marks = [".#1.yaml", ".#2.yaml"].map(|name| folder.path().join("jobs").join(name));
    std::os::unix::fs::symlink("somebody@machine.4711:99", &marks[0]).unwrap();
    let after = folder.run("inspect jobs --format plain --width 300");
    assert_eq!(after.code, before.code, "{}", after.out);
    after.says(&["passed over: jobs/.#1.yaml (a link to nothing, hidden by a leading dot)"]);
    // One that leads somewhere is a document that nobody sees.
    std::os::unix::fs::symlink("../workshop.yaml", &marks[1]).unwrap();
    let linked = folder.run("inspect jobs --format plain --width 300");
    linked.quietly(2).says(&["a document around the jobs is left out: `jobs/.#2.yaml` is a link"]);
}

#[test]
fn what_the_settings_promise_and_is_not_there_is_a_mistake_of_the_run() {
    let folder = folder();
    folder.write(
        "workshop.yaml",
        "form: workshop/1
workshop: {name: Test}
standards: [rules.standard]
documents: {procedures: [procedures], tools: [register.yaml]}
",
    );
    folder.write("jobs/1.yaml", job("1", "2026-03-02T08:00:00Z", REST));
    for (first, says) in [
        ("tools:", "there is no tool register here: no document begins with the line `form: tools/1`"),
        ("", "there is no tool register here"),
        ("form: procedure/1", "there is no tool register here"),
        ("form: tool/1", "there is no tool register here"),
        ("from: tools/1", "`register.yaml` has errors"),
        ("form: tools/2", "`register.yaml` has errors"),
    ] {
        folder.write("register.yaml", REGISTER.replace("form: tools/1", first));
        let ran = folder.run("inspect jobs --format plain --width 300");
        assert_eq!(ran.code, 2, "{first}: {ran:#?}");
        ran.says(&[says]);
    }
}

#[test]
fn a_document_whose_form_is_misspelt_is_not_passed_over() {
    let folder = folder();
    for first in ["Form: job/1", "from: job/1"] {
        folder.write("job.yaml", job("1", "2026-03-02T08:00:00Z", REST).replace("form: job/1", first));
        let ran = inspect(&folder);
        assert_ne!(ran.code, 0, "{first}: {ran:#?}");
    }
    folder.write("job.yaml", job("1", "2026-03-02T08:00:00Z", REST).replace('\n', "\r"));
    inspect(&folder).says(&["job.yaml: nothing to hold"]);
    std::fs::rename(folder.path().join("job.yaml"), folder.path().join("job.YAML")).unwrap();
    inspect(&folder).says(&["job.YAML: nothing to hold"]);
}

/// Without one of its jobs the history of a vehicle is another: that must not pass for a whole one.
#[test]
fn an_earlier_job_that_cannot_be_read_is_an_error_of_the_run() {
    let folder = crate::support::Folder::new();
    folder.write(
        "workshop.yaml",
        "form: workshop/1\nworkshop: {name: T}\nstandards: [vehicle_history]\ndocuments: {jobs: [old]}\n",
    );
    let job = |number: &str, opened: &str, odometer: &str| {
        format!(
            "form: job/1\njob: {{number: {number}, opened: {opened}, state: closed}}\nvehicle: {{plate: GW 1, odometer: {odometer}}}\nunit: {{kind: engine}}\n"
        )
    };
    folder.write("now.yaml", job("K-2", "2026-03-02T08:00:00Z", "900 km"));
    let earlier = job("K-1", "2026-02-02T08:00:00Z", "1000 km");
    let said = |text: &str, code: i32| {
        folder.write("old/earlier.yaml", text);
        folder.run("inspect now.yaml --as-of 2026-03-31 --format plain --width 300").quietly(code)
    };
    let lost = "an earlier job is left out of the history, `";
    said(&earlier, 1).says(&["The odometer never falls"]);
    said(&earlier.replace("unit:", "{[/"), 2).says(&[lost]);
    said(&earlier.replace("job/1", "job/2"), 2).says(&[lost]);
    // The vehicle of the job is known, so that other vehicles are judged as ever.
    let undated = earlier.replace("2026-02-02", "2026-02-32");
    said(&undated, 2)
        .says(&["which job on this vehicle was the last one before is not known: `old/earlier.yaml`"]);
    let other = said(&undated.replace("GW 1", "GW 2"), 2).says(&["no rule applied"]);
    assert!(!other.out.contains("error: "), "{other:#?}");
    said(&undated.replace("plate: GW 1, ", ""), 2).says(&[lost]);
}

#[test]
fn the_summary_names_register_and_procedures_or_says_that_there_are_none() {
    let folder = folder();
    inspect(&folder)
        .says(&["\nregister: register.yaml (content ", "\nprocedures: procedures/plug.yaml (content "]);
    let ran = folder.run("inspect procedures --standard rules.standard --format json");
    ran.says(&["\"registers\":[],\"procedures\":[{\"name\":\"procedures/plug.yaml\",\"sha256\":\""]);
    std::fs::remove_file(folder.path().join("register.yaml")).unwrap();
    std::fs::remove_dir_all(folder.path().join("procedures")).unwrap();
    folder.write("job.yaml", "form: job/1\njob: {number: K-1, state: closed}\nunit: {kind: engine}\n");
    inspect(&folder).says(&["\nregister: none\n", "\nprocedures: none\n"]);
    // Rules that ask for none of them are silent of them.
    folder.write("alone.standard", "standard alone edition 1 \"A\"\njudges job\nrule a \"A\"\n  demands recorded vehicle\n  otherwise note \"No.\"\n");
    let ran = folder.run("inspect job.yaml --standard alone.standard --without-settings");
    assert!(!ran.out.contains("register: ") && !ran.out.contains("procedures: "), "{ran:#?}");
}
