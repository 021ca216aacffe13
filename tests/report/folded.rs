//! One cause is told once: findings that wait for one value are told with it.

use crate::support::{Folder, Ran};

const RULES: &str = "standard own edition 1 \"Own\"
judges job
rule sure \"Sure\"
  concerns each f in fastenings
  demands f.torque above 1 Nm
  otherwise hold \"No.\"
rule strong \"Strong\"
  concerns each f in fastenings
  demands f.torque below 90 Nm
  otherwise advice \"No.\"
rule stated \"Stated\"
  concerns where not (vehicle.odometer below 0 km)
  demands vehicle.odometer below 900000 km
  otherwise advice \"No.\"
rule driven \"Driven\"
  demands vehicle.odometer above 1 km
  otherwise hold \"No.\"
rule vin \"Vehicle\"
  demands unit.family is \"x\"
  otherwise hold \"Not x.\"
";

fn run(fastening: &str, more: &str) -> Ran {
    let folder = Folder::new();
    folder.write("own.standard", RULES);
    folder.write(
        "job.yaml",
        format!(
            "form: job/1\njob: {{number: K-1, opened: \"2026-03-02T08:15:00Z\", state: closed}}\n\
             vehicle: {{plate: GW 1}}\nunit: {{kind: engine, family: y}}\nfastenings:\n  - {{role: drain plug, torque: {fastening}}}\n"
        ),
    );
    folder.run(&format!(
        "inspect job.yaml --standard own.standard --without-settings --as-of 2026-03-02 --width 200 {more}"
    ))
}

/// The lines that name a rule or an error.
fn told(out: &str) -> Vec<&str> {
    let is_told = |line: &&str| {
        ["line ", "rule: ", "waiting: ", "  waiting: "].iter().any(|begin| line.starts_with(begin))
    };
    out.lines().filter(is_told).collect()
}

#[test]
fn what_waits_for_a_value_with_an_error_is_told_with_the_error() {
    let ran = run("45", "");
    assert_eq!(
        told(&ran.out),
        [
            "line 6: error: `45` has no unit",
            "waiting: 2 rules wait for `fastenings[0].torque` (1 hold): own.sure, own.strong",
            "line 3: hold, undecided: `vehicle.odometer` is not recorded (needed for: Driven)",
            "rule: own.driven",
            "waiting: 1 more rule waits for `vehicle.odometer`: own.stated",
            "line 4: hold: Not x.",
            "rule: own.vin",
        ]
    );
    ran.quietly(1).says(&[
        "job.yaml: 3 holds (2 undecided), 1 error, 2 advised",
        "3 holds, 2 advised, 0 notes (4 undecided)",
    ]);
}

#[test]
fn each_is_told_by_itself_in_full() {
    let ran = run("45", "--in-full");
    let rules = told(&ran.out).into_iter().filter(|line| line.starts_with("rule: ")).count();
    assert_eq!(rules, 5, "{ran:#?}");
    assert!(!ran.out.contains("waiting: "), "{ran:#?}");
}

/// What is accepted is no cause of what counts.
#[test]
fn a_known_error_hides_nothing() {
    let folder = Folder::new();
    folder.write("own.standard", RULES);
    folder.write(
        "job.yaml",
        "form: job/1\njob: {number: K-1, opened: \"2026-03-02T08:15:00Z\", state: closed}\n\
         vehicle: {plate: GW 1, odometer: 20 km}\nunit: {kind: engine, family: x}\nfastenings:\n  - {role: drain plug, torque: 45}\n",
    );
    let inspect =
        "inspect job.yaml --standard own.standard --without-settings --as-of 2026-03-02 --width 200";
    folder.run(&format!("{inspect} --note-known known.yaml"));
    // Only the error is known, and not what waits for it.
    let known = folder.read("known.yaml");
    let error = known.find("- document: job.yaml\n  finding: quantity/unit-missing").unwrap();
    let end = known[error + 2..].find("- document").map_or(known.len(), |next| error + 2 + next);
    folder.write("known.yaml", format!("form: known/1\nfindings:\n{}", &known[error..end]));
    let ran = folder.run(&format!("{inspect} --accept-known known.yaml"));
    ran.says(&[
        "line 6: known: `45` has no unit",
        "hold, undecided: Sure",
        "waiting: 1 more rule waits for `fastenings[0].torque`: own.strong",
    ]);
}

/// The lines of `--brief` keep what to do.
#[test]
fn brief_lines_say_what_to_do_and_what_waits() {
    let ran = run("45", "--brief");
    ran.says(&[
        "line 6: error: `45` has no unit\n  help: write 45 with its unit behind it",
        "\n  waiting: 2 rules wait for it (1 hold)\n",
    ]);
}

/// A record with very much to tell is told in a line or two each, with what to do, and says how to see more.
#[test]
fn of_much_each_is_told_in_short() {
    let ran = |fastenings: usize, more: &str| {
        let others = "\n  - {role: drain plug, torque: 45}".repeat(fastenings);
        run(&format!("45 Nm}}{}", others.trim_end_matches('}')), more)
    };
    for form in ["plain", "terminal"] {
        let short = "things are told in short; `--in-full` shows each with its lines and reasons";
        let few = ran(9, &format!("--format {form}"));
        assert!(!few.out.contains(short) && few.out.contains("quantity/unit-missing"), "{few:#?}");
        let many = ran(12, &format!("--format {form}"));
        let many = many.says(&[short, "write 45 with its unit behind it", "2 rules wait for it (1 hold)"]);
        assert!(!many.out.contains("quantity/unit-missing"), "{many:#?}");
        assert!(many.out.lines().count() < few.out.lines().count(), "{many:#?}");
        let full = ran(12, &format!("--format {form} --in-full"));
        assert!(!full.out.contains(short) && full.out.contains("quantity/unit-missing"), "{full:#?}");
    }
}
