//! Procedures that nobody would write, and what is no procedure.

use witnessmark::document::{Forms, read};
use witnessmark::sheet::scalar;
use witnessmark::source::Sources;

use super::procedure;
use crate::support::Folder;

const NAMES: [&str; 18] = [
    "plain",
    "a: b # c",
    "it's \"quoted\"",
    "[x], {y}",
    "Öl-Ablaß, größer",
    "🔧 wrench",
    "line\nbreak",
    "tab\there",
    "\u{202e}turned",
    "no",
    "012",
    "1e3",
    "~",
    "- dash",
    "<script>alert(1)</script>",
    " blank around ",
    "C:\\temp",
    "]]>--></style>",
];

/// A second reader finds the same text again.
#[test]
fn each_text_is_written_so_that_it_is_read_again() {
    for name in NAMES {
        let written = scalar(name);
        assert!(!written.contains('\n'), "{written}");
        let block: serde_yaml::Value = serde_yaml::from_str(&format!("a: {written}\nb: x\n")).unwrap();
        assert_eq!(block["a"].as_str(), Some(name), "{written}");
        let row: serde_yaml::Value = serde_yaml::from_str(&format!("- {{a: {written}, b: x}}\n")).unwrap();
        assert_eq!(row[0]["a"].as_str(), Some(name), "{written}");
    }
}

/// And so does our own, within a whole sheet.
#[test]
fn a_sheet_with_hostile_names_can_be_read() {
    let folder = Folder::new();
    for name in NAMES.into_iter().filter(|name| name.trim() == *name && *name != "~") {
        let quoted = serde_json::to_string(name).unwrap();
        folder.write(
            "p.yaml",
            format!(
                "form: procedure/1\nprocedure: {{name: {quoted}, edition: 1, title: {quoted}}}\n\
                 unit: {{kind: final drive, family: {quoted}}}\nsteps: [{{name: {quoted}, text: {quoted}}}]\n\
                 fastenings: [{{role: {quoted}, place: {quoted}, count: 2, tool: {quoted}}}]\n\
                 seals: [{{place: {quoted}, kind: ring}}]\n"
            ),
        );
        let ran = folder.run("sheet p.yaml --without-settings");
        assert!(ran.code < 2, "{ran:#?}");
        let mut sources = Sources::new();
        let source = sources.add("sheet", ran.out.as_str());
        let (documents, diagnostics) = read(source, &ran.out, &Forms::builtin());
        assert!(
            diagnostics.iter().all(|found| found.code.as_str() == "document/missing-field"),
            "{name}: {diagnostics:#?}"
        );
        let text = |path: &str| documents[0].raw(documents[0].find(path).unwrap()).unwrap().to_owned();
        assert_eq!(text("job.procedure.name"), name);
        assert_eq!(text("steps[0].step"), name);
        assert_eq!(text("fastenings[1].role"), name);
        assert_eq!(text("fastenings[1].place"), format!("{name} 2"));
        assert_eq!(text("seals[0].place"), name);
        assert!(!ran.out.contains('\u{202e}'));
    }
}

#[test]
fn what_is_no_procedure_has_no_sheet() {
    let folder = Folder::new();
    let job = "form: job/1\njob: {number: K-1, opened: 2026-03-02T08:15, state: closed}\nvehicle: {}\nunit: {kind: engine}\n";
    let cases = [
        ("job.yaml", job.to_owned(), "sheet/no-procedure", "a document of the form `job`"),
        ("empty.yaml", String::new(), "document/empty", "there is no document"),
        ("two.yaml", format!("{}---\n{}", procedure(""), procedure("")), "sheet/no-procedure", "2 documents"),
        ("faulty.yaml", procedure("fastenings: [{torque: 45}]\n"), "quantity/range-form", "line 4"),
        ("form.yaml", "form: recipe/1\n".to_owned(), "document/form-unknown", "recipe"),
        (
            "many.yaml",
            procedure("fastenings: [{role: screw, count: 100000}]\n"),
            "sheet/too-long",
            "more than 500 fastenings",
        ),
        ("huge.yaml", procedure("fastenings: [{role: screw, count: 999999999}]\n"), "sheet/too-long", "500"),
        (
            "steps.yaml",
            procedure(&format!("steps: [{}]\n", "{name: s},".repeat(501))),
            "sheet/too-long",
            "more than 500 steps",
        ),
    ];
    for (name, text, code, says) in cases {
        folder.write(name, text);
        for print in ["", "--print"] {
            folder.write("out", "");
            let ran = folder.run(&format!("sheet {name} {print} --without-settings --output out"));
            let ran = ran.refused("no sheet is written");
            let said = ran.err.split_whitespace().collect::<Vec<_>>().join(" ");
            assert!(said.contains(code) && said.contains(says), "{name}: {ran:#?}");
            assert_eq!(folder.read("out"), "", "{name}");
        }
    }
    folder.run("sheet nowhere.yaml --without-settings").refused("there is no such file");
}

/// Half of the rules would give half of the fields.
#[test]
fn faulty_rules_give_no_sheet() {
    let folder = Folder::new();
    folder.write("p.yaml", procedure(""));
    folder.write("s.standard", "standard s edition 1 \"S\"\njudges job\nrule r \"R\"\n  demands job.nonsense is 1\n  otherwise hold \"m\"\n");
    let ran = folder.run("sheet p.yaml --standard s.standard").refused("the rules or settings have errors");
    assert!(ran.err.contains("rules/unknown-field"), "{ran:#?}");
}

#[test]
fn as_many_fastenings_as_there_is_room_for_are_written() {
    let folder = Folder::new();
    folder.write("p.yaml", procedure("fastenings: [{role: screw, count: 500, torque: 10 Nm ± 10 %}]\n"));
    let ran = folder.run("sheet p.yaml --without-settings");
    assert_eq!(ran.out.matches("role: screw").count(), 500);
}

#[test]
fn a_sheet_goes_to_the_file_that_is_named() {
    let folder = Folder::new();
    folder.write("p.yaml", procedure(""));
    let to_screen = folder.run("sheet p.yaml --without-settings");
    folder.run("sheet p.yaml --without-settings --output out.yaml");
    assert_eq!(folder.read("out.yaml"), to_screen.out);
}
