//! What cannot be told is never met, and no message leads to a wrong correction.

use witnessmark::finding::{Finding, Judged, Outcome};

use crate::support::{Folder, session};

fn judged(rule: &str, record: &str) -> Judged {
    let rules = format!(
        "standard s edition 1 \"S\"\njudges job\nparameter most is torque \"Most\" = 50 Nm\n\
         rule r \"R\"\n{rule}\n  otherwise hold \"No.\"\n"
    );
    let session = session(&[("s.standard", &rules)]);
    assert!(!session.is_faulty(), "{:?}", session.diagnostics());
    let text = format!(
        "form: job/1\njob: {{number: K-1, opened: 2026-03-02T08:00, state: closed}}\nvehicle: {{}}\nunit: {{kind: engine}}\n{record}"
    );
    session.judge("job.yaml", &text).remove(0)
}

fn finding(rule: &str, record: &str) -> Finding {
    let mut judged = judged(rule, record);
    assert!(!judged.findings.is_empty(), "{rule}: {:?} {:?}", judged.tallies, judged.diagnostics);
    judged.findings.remove(0)
}

fn outcome(rule: &str, record: &str) -> Option<Outcome> {
    judged(rule, record).findings.first().map(|finding| finding.outcome)
}

const EACH: &str = "  concerns each s in fastenings\n  demands ";

/// U+0410 is a letter that looks like the Latin A.
#[test]
fn text_in_letters_that_look_alike_decides_nothing() {
    let record = "fluid: {specification: \u{410}F-6}\n";
    for rule in [
        "  demands fluid.specification is not \"AF-6\"",
        "  demands fluid.specification is \"AF-6\"",
        "  demands fluid.specification is one of (\"AF-6\", \"AF-7\")",
        "  demands fluid.specification is not one of (\"AF-7\", \"AF-6\")",
    ] {
        let found = finding(rule, record);
        assert_eq!(found.outcome, Outcome::Undecided, "{rule}");
        assert!(
            found.message.contains("looks the same, but is written with other letters (U+0410"),
            "{}",
            found.message
        );
    }
    assert_eq!(outcome("  demands fluid.specification is not \"BF-6\"", record), None);
    // In a long list too, which is looked through by its names.
    let others = "  - {role: nut}\n".repeat(30);
    let record = format!("fastenings:\n{others}  - {{role: dr\u{430}in plug, torque: 90 Nm}}\n");
    let rule = "  demands every s in fastenings where s.role is \"drain plug\": s.torque below 50 Nm";
    assert_eq!(outcome(rule, &record), Some(Outcome::Undecided));
}

/// 1.500 is one and a half or fifteen hundred: in a rule and in a parameter neither is guessed.
#[test]
fn figures_of_limits_are_read_in_one_way_only() {
    let folder = Folder::new();
    let rules = |limit: &str, default: &str| {
        format!(
            "standard s edition 1 \"S\"\njudges job\nparameter far is length range \"Far\" = {default}\nrule r \"R\"\n  demands road_test.distance within far and road_test.distance at least {limit}\n  otherwise hold \"No.\"\n"
        )
    };
    folder.write("job.yaml", "form: job/1\njob: {number: K-1, opened: 2026-03-02T08:00, state: closed}\nvehicle: {}\nunit: {kind: engine}\nroad_test: {done: yes, distance: 2 km}\n");
    let inspect = |more: &str| {
        folder.run(&format!(
            "inspect job.yaml --standard s.standard --without-settings --format plain --width 300 {more}"
        ))
    };
    folder.write("s.standard", rules("1.5 km", "at least 1 km"));
    inspect("").quietly(0);
    inspect("--parameter far=at_least_1.500_km").quietly(2);
    folder.write("s.standard", rules("1.500 km", "at least 1 km"));
    inspect("").quietly(2).says(&["`1.500 km` can mean 1.5 km or 1500 km", "write `1.5 km` or `1500 km`"]);
    folder.write("s.standard", rules("1.5 km", "at least 1.500 km"));
    inspect("").quietly(2).says(&["`1.500 km` can mean 1.5 km or 1500 km"]);
}

#[test]
fn a_parameter_whose_point_could_mark_thousands_is_refused() {
    let folder = Folder::new();
    folder.write("s.standard", "standard s edition 1 \"S\"\njudges job\nparameter far is length \"Far\" = 1 km\nrule r \"R\"\n  demands road_test.distance at least far\n  otherwise hold \"No.\"\n");
    folder.write(
        "workshop.yaml",
        "form: workshop/1\nworkshop: {name: T}\nstandards: [s.standard]\nparameters: {s.far: 1.500 km}\n",
    );
    folder.write("job.yaml", "form: job/1\njob: {number: K-1, opened: 2026-03-02T08:00, state: closed}\nvehicle: {}\nunit: {kind: engine}\nroad_test: {done: yes, distance: 2 km}\n");
    folder.run("inspect job.yaml --format plain --width 300").quietly(2).says(&[
        "workshop.yaml line 4",
        "`1.500 km` can mean 1.5 km or 1500 km",
        "hold, undecided",
    ]);
}

/// The value that is recorded is too high, on whichever side of the comparison it is written.
#[test]
fn what_is_recorded_is_compared_with_its_limit_and_not_the_other_way_round() {
    let record = "fastenings: [{torque: 53 Nm}]\n";
    for demand in [
        "s.torque at most most",
        "most at least s.torque",
        "not s.torque above most",
        "not most below s.torque",
    ] {
        let found = finding(&format!("{EACH}{demand}"), record);
        assert_eq!(found.path, "fastenings[0].torque", "{demand}");
        assert_eq!(found.found.as_deref(), Some("53 Nm"), "{demand}");
        assert_eq!(found.required.as_deref(), Some("at most 50 Nm"), "{demand}");
        assert_eq!(found.off_by.as_deref(), Some("3 Nm too high"), "{demand}");
    }
    let guarded = finding(
        &format!("{EACH}not s.torque above 50 Nm by guarded acceptance"),
        "fastenings: [{torque: 49 Nm ± 2 Nm}]\n",
    );
    assert!(guarded.message.contains("lies 1 Nm inside its upper limit"), "{}", guarded.message);
}

/// Two standard uncertainties are the guard band, whatever the factor with which the uncertainty is stated.
#[test]
fn the_guard_band_does_not_change_with_the_coverage_factor() {
    for (stated, outcome) in [("± 2 Nm", true), ("± 1 Nm (k = 1)", true), ("± 3 Nm (k = 3)", true)] {
        let of = |torque: &str| {
            let record = format!("fastenings: [{{torque: \"{torque} Nm {stated}\"}}]\n");
            judged(&format!("{EACH}s.torque at most 50 Nm by guarded acceptance"), &record)
                .findings
                .is_empty()
        };
        assert_eq!((of("48"), of("48.1")), (outcome, false), "{stated}");
    }
}

/// Where the reading only chooses what is judged, nobody has missed a limit by it.
#[test]
fn a_reading_that_only_chooses_is_not_off_by_anything() {
    let folder = Folder::new();
    folder.write("s.standard", "standard s edition 1 \"S\"\njudges job\nrule r \"R\"\n  concerns each s in fastenings where s.torque above 50 Nm\n  demands s.new\n  otherwise hold \"No.\"\n");
    folder.write(
        "workshop.yaml",
        "form: workshop/1\nworkshop: {name: T}\nstandards: [s.standard]\ndecision: guarded acceptance\n",
    );
    folder.write("job.yaml", "form: job/1\njob: {number: K-1, opened: 2026-03-02T08:00, state: closed}\nvehicle: {}\nunit: {kind: engine}\nfastenings: [{torque: 49 Nm ± 2 Nm, new: no}]\n");
    let ran = folder.run("inspect job.yaml --format plain --width 300").quietly(1);
    let ran = ran.says(&["may apply to", "remedy: Measure again with a tool of less uncertainty."]);
    assert!(!ran.out.contains("off by"), "{}", ran.out);
}

/// The tool is known to 2 Nm, under a misspelt name: nobody can tell what was meant.
#[test]
fn a_misspelt_uncertainty_of_a_tool_guards_nothing_in_silence() {
    let folder = Folder::new();
    folder.write("s.standard", "standard s edition 1 \"S\"\njudges job\nrule r \"R\"\n  concerns each s in fastenings\n  demands s.torque within 40 Nm .. 50 Nm\n  otherwise hold \"No.\"\n");
    folder.write("workshop.yaml", "form: workshop/1\nworkshop: {name: T}\nstandards: [s.standard]\ndecision: guarded acceptance\ndocuments: {tools: [tools.yaml]}\n");
    folder.write("job.yaml", "form: job/1\njob: {number: K-1, opened: 2026-03-02T08:00, state: closed}\nvehicle: {}\nunit: {kind: engine}\nfastenings: [{torque: 49.9 Nm, tool: T-14}]\n");
    for (stated, says) in [
        ("uncertanty: 2 Nm", "is no field, and can mean `uncertainty`"),
        ("uncertainty: 4 %", "is recorded but cannot be read"),
        ("uncertainty: 2 Nm", "guard band"),
    ] {
        folder.write(
            "tools.yaml",
            format!(
                "form: tools/1\ntools: [{{number: T-14, torque: {{range: 10 Nm .. 100 Nm, {stated}}}}}]\n"
            ),
        );
        let ran = folder.run("inspect job.yaml --format plain --width 300");
        assert_eq!(ran.code, 1, "{stated}: {}", ran.out);
        let ran = ran.says(&["hold, undecided", says]);
        assert!(!ran.out.contains("states no uncertainty"), "{stated}: {}", ran.out);
    }
}

/// A limit of a concession that was begun and not filled in, or that belongs to another day as written.
#[test]
fn a_concession_is_no_wider_than_it_says() {
    let folder = Folder::new();
    folder.write("s.standard", "standard s edition 1 \"S\"\njudges job\nrule r \"R\"\n  concerns each s in fastenings\n  demands s.torque at most 50 Nm\n  otherwise hold \"No.\"\n  concession by \"foreman\"\n");
    let run = |closed: &str, more: &str| {
        folder.write("job.yaml", format!("form: job/1\njob: {{number: K-1, opened: 2026-03-01T08:00+10:00, closed: \"{closed}\", state: closed}}\nvehicle: {{}}\nunit: {{kind: engine}}\nfastenings: [{{torque: 60 Nm}}]\nconcessions: [{{rule: s.r, reason: r, granted_by: foreman, name: M{more}}}]\n"));
        folder.run("inspect job.yaml --standard s.standard --without-settings --format plain --width 300 --as-of 2026-04-02")
    };
    let closed = "2026-03-31T10:00+10:00";
    run(closed, "").quietly(0);
    for blank in ["place", "until", "for_job"] {
        run(closed, &format!(", {blank}: "))
            .quietly(1)
            .says(&[&format!("this concession counts for nothing: `{blank}` has no value")]);
    }
    run(closed, ", for_job: k 1").quietly(0);
    run(closed, ", for_job: K-2").quietly(1);
    // The day is the one that is written: an hour past midnight in the east, and an hour before it in the west.
    run("2026-04-01T00:30+10:00", ", until: 2026-03-31")
        .quietly(1)
        .says(&["and the job is judged for 2026-04-01"]);
    run("2026-03-31T22:00-10:00", ", until: 2026-03-31").quietly(0);
}

/// Whoever did the work grants nothing, however the name is written.
#[test]
fn a_concession_is_not_granted_by_the_technician_under_another_spelling() {
    let folder = Folder::new();
    folder.write("s.standard", "standard s edition 1 \"S\"\njudges job\nrule r \"R\"\n  concerns each s in fastenings\n  demands s.torque at most 50 Nm\n  otherwise hold \"No.\"\n  concession by \"foreman\"\n");
    let run = |technician: &str, name: &str| {
        folder.write("job.yaml", format!("form: job/1\njob: {{number: K-1, opened: \"2026-03-01T08:00Z\", technician: \"{technician}\", state: in work}}\nvehicle: {{}}\nunit: {{kind: engine}}\nfastenings: [{{torque: 60 Nm}}]\nconcessions: [{{rule: s.r, reason: r, granted_by: foreman, name: \"{name}\"}}]\n"));
        folder.run("inspect job.yaml --standard s.standard --without-settings --format plain --width 300 --as-of 2026-04-02")
    };
    run("Lene Brandt", "Lene Brandt").quietly(1).says(&["`Lene Brandt` did the work, and cannot grant"]);
    let same = [
        ("Lene Brandt", "lene  brandt"),
        ("Lene Brandt", "Brandt, Lene"),
        ("Lene Brandt", "L. Brandt"),
        ("L. Brandt", "Lene Brandt"),
        ("Lene Brandt", "Brandt L."),
        ("Lene Brandt", "Brandt"),
        ("Lene Maria Brandt", "L. M. Brandt"),
        ("Lene-Maria Brandt", "Lene Brandt"),
        ("L. B.", "Lene Brandt"),
    ];
    for (technician, name) in same {
        run(technician, name)
            .quietly(1)
            .says(&[&format!("`{name}` can be `{technician}`, who did the work")]);
    }
    for (technician, name) in [
        ("Lene Brandt", "Kurt Brandt"),
        ("L. Brandt", "K. Brandt"),
        ("Lene Brandt", "Lene Brand"),
        ("Lene Brandt", "L. Berg"),
        ("", "K. Berg"),
    ] {
        let ran = run(technician, name);
        assert!(!ran.out.contains("who did the work"), "{technician} {name} {ran:#?}");
    }
}
