//! A workshop's own words for the names of the trade.

use crate::support::{Folder, Ran};

const RULES: &str = "standard own edition 1 \"Own\"
judges job
rule plug \"The plug is tight\"
  concerns each f in fastenings where f.role is \"drain plug\", at least 1
  demands f.torque within 40 Nm .. 50 Nm
  otherwise hold \"{f.role}: {f.torque}.\"
rule seal \"The ring is new\"
  concerns each s in seals where s.kind is \"ring\" and s.place is \"drain plug\"
  demands s.renewed
  otherwise hold \"No.\"
";

const JOB: &str = "form: job/1
job: {number: K-1, opened: \"2026-03-02T08:15Z\", state: closed}
vehicle: {}
unit: {kind: engine}
fastenings:
  - {role: Ölablassschraube, torque: 45 Nm}
  - {role: Ölablassschraube, torque: 46 Nm}
seals:
  - {place: Ölablassschraube, kind: Dichtring, disturbed: yes, renewed: yes}
";

fn folder(words: &str) -> Folder {
    let folder = Folder::new();
    folder.write("own.standard", RULES);
    folder.write("job.yaml", JOB);
    folder.write(
        "workshop.yaml",
        format!("form: workshop/1\nworkshop: {{name: W}}\nstandards: [own.standard]\n{words}"),
    );
    folder
}

const WORDS: &str = "words:\n  Ölablassschraube: drain plug\n  Dichtring: ring\n";

fn inspect(folder: &Folder, options: &str) -> Ran {
    folder.run(&format!("inspect job.yaml --as-of 2026-03-02 --width 300 {options}"))
}

#[test]
fn a_word_is_read_as_the_one_it_stands_for_and_the_report_says_so_once() {
    let ran = inspect(&folder(WORDS), "--brief --fail-on note").quietly(0).says(&[
        "nothing to hold, 2 notes, 3 demands met",
        "line 6: note: `Ölablassschraube` is read as `drain plug`, as the settings say",
        "line 9: note: `Dichtring` is read as `ring`, as the settings say",
        "values: 3 judged by rules, 0 by none",
    ]);
    assert_eq!(ran.out.matches("is read as").count(), 2, "{ran:#?}");
    // Without the words nothing is guessed.
    let bare = inspect(&folder(""), "--brief");
    assert_eq!(bare.code, 1, "{bare:#?}");
    assert!(bare.out.contains("`Dichtring` is not a valid `kind`"), "{bare:#?}");
    // What is found is shown as it is written, and judged as what it means.
    let wrong = folder(WORDS);
    wrong.write("job.yaml", JOB.replace("45 Nm", "60 Nm").replace("46 Nm", "45 Nm"));
    inspect(&wrong, "--brief").quietly(1).says(&["hold: Ölablassschraube: 60 Nm. (own.plug)"]);
    for format in ["plain", "terminal", "json", "sarif", "junit", "github", "gitlab"] {
        let ran = inspect(&folder(WORDS), &format!("--format {format}"));
        assert!(ran.code == 0 && ran.out.contains("is read as"), "{format}: {ran:#?}");
    }
    let json = inspect(&folder(WORDS), "--format json").says(&["document/read-as"]);
    assert!(json.out.contains("\"level\":\"note\"") && json.out.contains("workshop.yaml"), "{json:#?}");
}

#[test]
fn only_the_fields_whose_words_they_are_are_read_so() {
    let folder = folder("words:\n  Anna: drain plug\n  ring: drain plug\n  closed: drain plug\n");
    let text = JOB
        .replace("state: closed", "state: closed, technician: Anna, remarks: Anna")
        .replace("Ölablassschraube", "drain plug");
    folder.write("job.yaml", text.replace("Dichtring", "ring"));
    let ran = inspect(&folder, "--brief");
    // A rule asks for `ring` itself, so that it must stay what it is.
    ran.says(&["`ring` is to stand for `drain plug`, and the rule `own.seal` asks for the word itself"]);
    folder.write("workshop.yaml", "form: workshop/1\nworkshop: {name: W}\nstandards: [own.standard]\nwords:\n  Anna: drain plug\n  closed: drain plug\n");
    let ran = inspect(&folder, "--brief").quietly(0);
    assert!(!ran.out.contains("is read as"), "{ran:#?}");
}

#[test]
fn words_that_cannot_be_used_are_errors_at_their_line() {
    for (words, wanted) in [
        (
            "  a: drain plug\n  a: fill plug\n",
            "line 6 column 3: error: the field `a` is given twice in the same group",
        ),
        ("  a: b\n  b: a\n", "line 5 column 3: error: `a` is to stand for `b`, which itself stands for `a`"),
        (
            "  a: b\n  b: drain plug\n",
            "line 5 column 3: error: `a` is to stand for `b`, which itself stands for `drain plug`",
        ),
        ("  a: a\n", "line 5 column 3: error: `a` stands for itself"),
        (
            "  Ablass: drain plug\n  ablass: fill plug\n",
            "line 6 column 3: error: `ablass` stands for `fill plug`, and `Ablass`, which differs by capital letters or blanks only, for `drain plug`",
        ),
        (
            "  gasket: ring\n",
            "line 5 column 3: error: `gasket` is a word of `kind of the seal` already, and means itself",
        ),
        ("  a:\n", "line 5 column 3: error: `a` stands for nothing"),
        ("  a: [b]\n", "line 5 column 3: error: "),
    ] {
        let ran = inspect(&folder(&format!("words:\n{words}")), "--brief");
        assert_eq!(ran.code, 2, "{words}: {ran:#?}");
        let code = if words.contains("fill plug\n") && words.contains("  a: ") {
            "document/field-twice"
        } else {
            "run/own-words"
        };
        let full = inspect(&folder(&format!("words:\n{words}")), "");
        assert!(full.out.contains(code) || words.contains('['), "{words}: {full:#?}");
        assert!(ran.out.contains(wanted), "{words}: `{wanted}` is not in {ran:#?}");
    }
    // Two ways of writing one word are no clash.
    let ran = inspect(
        &folder(
            "words:\n  Ablass: drain plug\n  ablass: drain plug\n  Ölablassschraube: drain plug\n  Dichtring: ring\n",
        ),
        "--brief",
    );
    ran.quietly(0);
    let empty = inspect(&folder("words: {}\nfail_on: hold\n"), "--brief");
    assert!(!empty.out.contains("own-words"), "{empty:#?}");
}
