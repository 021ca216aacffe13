//! Everyday words for the names of the trade are read as the words that the rules know.

use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

use witnessmark::code::READ_AS;
use witnessmark::document::everyday::{Everyday, plain};
use witnessmark::document::{Form, Forms, ReaderChoice, Record, Shape};
use witnessmark::library::{NoArchive, SHIPPED};
use witnessmark::session::{History, Session};
use witnessmark::source::SourceId;
use witnessmark::value::Value;

use crate::support::{Folder, Ran, files_below, session, text};

fn shipped() -> Session {
    let files: Vec<(&str, &str)> = SHIPPED.iter().map(|one| (one.file, one.text)).collect();
    session(&files)
}

/// Words by their vocabulary.
type Words = BTreeMap<Arc<str>, BTreeSet<String>>;

/// What rules ask for, and what closed lists have.
fn wanted(session: &Session) -> (Words, Words) {
    let (mut asked, mut listed) = (Words::new(), Words::new());
    for said in session.program().said().all() {
        for (field, word) in &said.words {
            if let Some(vocabulary) = session.forms().vocabulary(&field.group, &field.field) {
                asked.entry(vocabulary.clone()).or_default().insert(word.clone());
            }
        }
    }
    let mut open: Vec<&Record> = session.forms().iter().map(|form| &**form.record()).collect();
    while let Some(record) = open.pop() {
        for field in &record.fields {
            let mut shape = &field.shape;
            while let Shape::List(item) = shape {
                shape = item;
            }
            match (shape, &field.vocabulary) {
                (Shape::Record(record), _) => open.push(record),
                (Shape::Word(words), Some(vocabulary)) => {
                    let words = words.iter().map(ToString::to_string);
                    listed.entry(vocabulary.clone()).or_default().extend(words);
                }
                _ => {}
            }
        }
    }
    (asked, listed)
}

#[test]
fn every_word_of_the_table_is_one_that_rules_ask_for_and_no_everyday_word_is() {
    let session = shipped();
    let (asked, listed) = wanted(&session);
    // A wheel is one of the closed list wherever it is written; procedures name `P`, which no rule does.
    let places: BTreeSet<String> = asked["place"].union(&listed["wheel"]).cloned().collect();
    let positions = asked["drive position"].iter().cloned().chain(["P".to_owned()]).collect();
    let everyday = Everyday::shipped();
    let within: BTreeSet<String> = session
        .program()
        .said()
        .all()
        .iter()
        .flat_map(|said| &said.mentions)
        .map(|(_, word)| word.clone())
        .collect();
    let mut names = BTreeSet::new();
    for (vocabulary, words) in everyday.vocabularies() {
        names.insert(vocabulary);
        let known = match vocabulary {
            "place" => &places,
            "drive position" => &positions,
            other => listed.get(other).unwrap_or_else(|| &asked[other]),
        };
        let unknown: Vec<_> =
            words.keys().filter(|word| !known.contains(**word) && !within.contains(**word)).collect();
        assert!(unknown.is_empty(), "{vocabulary}: nothing asks for {unknown:?}");
        let left_out: Vec<_> = known.iter().filter(|word| !words.contains_key(word.as_str())).collect();
        assert!(
            left_out.is_empty() || vocabulary == "place",
            "{vocabulary}: {left_out:?} is not in the table"
        );
        let mut seen: BTreeSet<String> = words.keys().map(|word| plain(word)).collect();
        assert_eq!(seen.len(), words.len(), "{vocabulary}: two words differ by their spelling only");
        for other in words.values().flatten() {
            assert!(seen.insert(plain(other)), "{vocabulary}: `{other}` can be meant in two ways");
            assert!(!known.contains(*other), "{vocabulary}: a rule asks for `{other}` itself");
        }
    }
    let asked: BTreeSet<&str> = asked.keys().map(|name| &**name).collect();
    assert_eq!(asked.difference(&names).collect::<Vec<_>>(), [&""; 0], "no table for what rules ask");
    assert!(names.len() > 5);
}

/// A record in which each word that has everyday ones is replaced by one of them, and how many were.
fn in_everyday(record: &str) -> (String, usize) {
    let everyday = Everyday::shipped();
    let tables: BTreeMap<&str, _> = everyday.vocabularies().collect();
    let (mut section, mut replaced) = ("", 0);
    let mut out = String::new();
    for line in record.lines() {
        if line.starts_with(|c: char| c.is_ascii_lowercase()) {
            section = line.split(':').next().unwrap();
        }
        let fields: &[(&str, &str)] = match section {
            "seals" => &[("place", "seal place"), ("kind", "seal kind")],
            "wheels" => &[("position", "wheel")],
            _ => &[("role", "role"), ("place", "place"), ("wheel", "wheel"), ("position", "drive position")],
        };
        let mut line = line.to_owned();
        for (field, vocabulary) in fields {
            for (word, others) in tables[vocabulary].iter().filter(|(_, others)| !others.is_empty()) {
                for end in [",", "}", ""] {
                    let found = format!("{field}: {word}{end}");
                    while (!end.is_empty() && line.contains(&found)) || line.ends_with(&found) {
                        let other = others[replaced % others.len()];
                        line = line.replacen(&found, &format!("{field}: {other}{end}"), 1);
                        replaced += 1;
                    }
                }
            }
        }
        out.push_str(&line);
        out.push('\n');
    }
    (out, replaced)
}

fn verdict(session: &Session, record: &str) -> Vec<String> {
    let mut said = Vec::new();
    for judged in session.judge("job.yaml", record) {
        said.extend(
            judged.findings.iter().map(|one| format!("{} {:?} {}", one.rule, one.severity, one.path)),
        );
        let others = judged.diagnostics.iter().filter(|one| one.code != READ_AS);
        said.extend(others.map(|one| one.code.as_str().to_owned()));
    }
    said.sort();
    said
}

/// Good jobs in everyday words are as good, beside procedures in the words of the rules or in everyday ones.
#[test]
fn a_job_in_everyday_words_is_judged_as_in_the_words_of_the_rules() {
    let files = |folder| files_below(folder).into_iter().map(|path| (path.clone(), text(&path)));
    let mut replaced = 0;
    let mut everyday = |text: &str| {
        let (text, number) = in_everyday(text);
        replaced += number;
        text
    };
    let procedures: Vec<(String, String)> = files("tests/faults/procedures").collect();
    let others = procedures.iter().map(|(name, text)| (name.clone(), everyday(text))).collect();
    let around = |texts| {
        let mut session = shipped();
        session.load_context(texts, History::default(), Arc::new(NoArchive));
        assert!(!session.is_faulty(), "{:?}", session.diagnostics());
        session
    };
    let (plain, others) = (around(procedures), around(others));
    for (name, job) in files("tests/faults/jobs") {
        let changed = everyday(&job);
        let good = verdict(&plain, &job);
        for (session, text) in [(&plain, &changed), (&others, &job), (&others, &changed)] {
            assert_eq!(verdict(session, text), good, "{name}:\n{text}");
        }
    }
    assert!(replaced > 500, "only {replaced} words were replaced");
}

#[test]
fn both_readers_read_them_so() {
    let record = "form: job/1\njob: {number: K-1, opened: \"2026-03-02T08:15Z\", state: closed}\nvehicle: {}\nunit: {kind: engine}\n\
        fastenings:\n  - {role: Spin-on  Filter, place: RR}\n  - {role: 'Drain plug'}\n  - {role: Wheel-bolt, wheel: fr}\n\
        seals:\n  - {place: drain, kind: o-ring}\n  - {place: filter housing}\nlevel_check:\n  positions: [{position: reverse}, {position: RR}]\n";
    let paths = [
        ("fastenings[0].role", "oil filter"),
        ("fastenings[0].place", "rear right"),
        ("fastenings[1].role", "drain plug"),
        ("fastenings[2].role", "wheel screw"),
        ("fastenings[2].wheel", "front right"),
        ("seals[0].place", "drain plug"),
        ("seals[0].kind", "ring"),
        // As a role it would be the cap; a seal can sit anywhere in the housing.
        ("seals[1].place", "filter housing"),
        ("level_check.positions[0].position", "R"),
        ("level_check.positions[1].position", "RR"),
    ];
    for reader in [ReaderChoice::YamlOnly, ReaderChoice::default()] {
        let forms = Forms::builtin().read_by(reader);
        let (documents, said) = witnessmark::document::read(SourceId::FIRST, record, &forms);
        for (path, word) in paths {
            let (list, rest) = path.split_once('[').map_or((path, None), |(list, rest)| (list, Some(rest)));
            let document = &documents[0];
            let mut node = document.find(list).unwrap();
            if let Some((number, field)) = rest.and_then(|rest| rest.split_once("].")) {
                let entry = document.items(node)[number.parse::<usize>().unwrap()];
                node = document.get(entry, field).unwrap();
            }
            assert_eq!(document.value(node), Some(&Value::Text(word.into())), "{reader:?} {path}");
        }
        assert_eq!(said.iter().filter(|said| said.code == READ_AS).count(), 8, "{reader:?} {said:#?}");
        assert_eq!(said.len(), 8, "{said:#?}");
    }
}

/// The fields of both forms that hold the same names are of one vocabulary.
#[test]
fn jobs_and_procedures_share_their_vocabularies() {
    let forms = Forms::builtin();
    let by_title = |form: &Form| {
        let mut found = BTreeMap::new();
        let mut open: Vec<Arc<Record>> = vec![form.record().clone()];
        while let Some(record) = open.pop() {
            for field in &record.fields {
                let mut shape = &field.shape;
                while let Shape::List(item) = shape {
                    shape = item;
                }
                if let Shape::Record(inner) = shape {
                    open.push(inner.clone());
                }
                found.insert((record.title.clone(), field.name.clone()), field.vocabulary.clone());
            }
        }
        found
    };
    let (job, procedure) = (by_title(forms.get("job").unwrap()), by_title(forms.get("procedure").unwrap()));
    let mut shared = 0;
    for (field, vocabulary) in &job {
        if let Some(other) = procedure.get(field) {
            assert_eq!(vocabulary, other, "{field:?}");
            shared += usize::from(vocabulary.is_some());
        }
    }
    assert!(shared >= 7, "{shared}");
}

const JOB: &str = "form: job/1
job: {number: K-1, opened: \"2026-03-02T08:15Z\", state: closed}
vehicle: {}
unit: {kind: engine, family: f}
fastenings:
  - {role: pan bolt, torque: 8 Nm}
  - {role: pan bolt, torque: 8.5 Nm}
";

const RULES: &str = "standard own edition 1 \"Own\"
judges job
parameter limit is torque range of s in fastenings by unit.family, s.role \"Limit\"
rule tight \"The screws are tight\"
  concerns each s in fastenings where s.role is \"pan screw\", at least 1
  demands s.torque within limit of s
  otherwise hold \"{s.role}: {s.torque}.\"
";

fn folder(rules: &str, settings: &str) -> Folder {
    let folder = Folder::new();
    folder.write("own.standard", rules);
    folder.write("job.yaml", JOB);
    folder.write(
        "workshop.yaml",
        format!("form: workshop/1\nworkshop: {{name: W}}\nstandards: [own.standard]\n{settings}"),
    );
    folder
}

fn inspect(folder: &Folder, options: &str) -> Ran {
    folder.run(&format!("inspect job.yaml --as-of 2026-03-02 --width 300 {options}"))
}

const LIMIT: &str = "parameters:\n  own.limit:\n    f: {pan screw: 8 Nm .. 9 Nm}\n";

#[test]
fn the_report_says_so_once_and_the_exit_code_stays() {
    let ran = inspect(&folder(RULES, LIMIT), "--brief --fail-on note").quietly(0).says(&[
        "nothing to hold, 1 note, 2 demands met",
        "line 6: note: `pan bolt` is read as `pan screw`, a usual word for it",
        "values: 2 judged by rules, 0 by none",
    ]);
    assert_eq!(ran.out.matches("is read as").count(), 1, "{ran:#?}");
    inspect(&folder(RULES, &format!("{LIMIT}fail_on: note\n")), "--brief").quietly(0);
    inspect(&folder(RULES, LIMIT), "").says(&["document/read-as"]);
    let spelling = folder(RULES, LIMIT);
    spelling.write("job.yaml", JOB.replace("pan bolt", "Pan-Screw"));
    inspect(&spelling, "--brief").quietly(0).says(&["note: `Pan-Screw` is read as `pan screw`\n"]);
    let wrong = folder(RULES, LIMIT);
    wrong.write("job.yaml", JOB.replace("8.5 Nm", "85 Nm"));
    inspect(&wrong, "--brief").quietly(1).says(&["hold: pan bolt: 85 Nm. (own.tight)"]);
    folder(RULES, LIMIT).run("amend job.yaml").quietly(0);
}

#[test]
fn the_words_of_the_workshop_go_first() {
    let own = |words: &str| inspect(&folder(RULES, &format!("{LIMIT}words:\n{words}")), "--brief");
    own("  pan bolt: cover screw\n")
        .quietly(1)
        .says(&["`pan bolt` is read as `cover screw`, as the settings say"]);
    // However it is spelt there.
    own("  Pan Bolt: cover screw\n")
        .quietly(1)
        .says(&["`pan bolt` is read as `cover screw`, as the settings say"]);
    let further = folder(RULES, &format!("{LIMIT}words:\n  Wannenschraube: oil pan bolt\n"));
    further.write("job.yaml", JOB.replace("pan bolt", "Wannenschraube"));
    inspect(&further, "--brief").quietly(0).says(&[
        "`Wannenschraube` is read as `pan screw`: the settings say `oil pan bolt`, a usual word for it",
    ]);
}

#[test]
fn a_word_that_a_rule_of_the_workshop_asks_for_stays() {
    let asks = |rule: &str| {
        let rules = format!("{RULES}{rule}  otherwise hold \"asked\"\n");
        inspect(&folder(&rules, LIMIT), "--brief")
    };
    for (rule, is_left) in [
        ("rule r \"R\"\n  demands no s in fastenings: s.role is \"pan bolt\"\n", true),
        ("rule r \"R\"\n  demands every s in fastenings: s.role is not \"pan bolt\"\n", true),
        ("rule r \"R\"\n  demands every s in fastenings: s.role is not one of (\"pan bolt\", \"x\")\n", true),
        (
            "let b = one of (\"pan bolt\", \"x\")\nrule r \"R\"\n  demands no s in fastenings: s.role is b\n",
            true,
        ),
        ("rule r \"R\"\n  demands no s in fastenings: s.role is \"Pan Bolt\"\n", true),
        ("rule r \"R\"\n  demands no s in fastenings: mentions(s.role, \"bolt\")\n", true),
        ("rule r \"R\"\n  demands no s in fastenings: follows_pattern(s.role, \"~ bolt\")\n", true),
        (
            "table least by unit.family\n  \"pan bolt\" : 10 Nm\nrule r \"R\"\n  concerns each s in fastenings\n  demands s.torque at least least for s.role\n",
            true,
        ),
        ("rule r \"R\"\n  demands no s in fastenings: recorded s.place and s.place is \"pan bolt\"\n", false),
        ("rule r \"R\"\n  demands no s in fastenings: s.role is \"cover bolt\"\n", false),
    ] {
        let ran = asks(rule);
        assert_eq!(!ran.out.contains("`pan bolt` is read as"), is_left, "{rule}{ran:#?}");
        assert_eq!(ran.code, i32::from(is_left), "{rule}{ran:#?}");
    }
}

#[test]
fn keys_of_the_settings_are_read_so_too() {
    let limit = |rows: &str| folder(RULES, &format!("parameters:\n  own.limit:\n    f: {{{rows}}}\n"));
    inspect(&limit("Oil Pan Bolt: 8 Nm .. 9 Nm"), "--brief --fail-on note").quietly(0).says(&[
        "note: `Oil Pan Bolt`, a key of `own.limit`, is read as `pan screw`, a usual word for it",
        "2 demands met",
    ]);
    for rows in
        ["pan bolt: 8 Nm .. 9 Nm, pan screw: 8 Nm .. 9 Nm", "pan screw: 8 Nm .. 9 Nm, pan bolt: 7 Nm .. 9 Nm"]
    {
        let ran = inspect(&limit(rows), "--brief");
        assert_eq!(ran.code, 2, "{ran:#?}");
        ran.says(&["are one key of `own.limit`, which is stated twice"]);
    }
}

#[test]
fn a_misspelt_everyday_word_leads_to_the_word_that_is_meant() {
    let folder = Folder::new();
    let job = |role: &str| JOB.replace("pan bolt", role).replace("kind: engine", "kind: stepped automatic");
    for (role, meant) in
        [("weel bolt", "wheel screw"), ("sump plugg", "drain plug"), ("oil fillter plug", "fill plug")]
    {
        folder.write("job.yaml", job(role));
        let ran = folder.run("inspect job.yaml --as-of 2026-03-02 --without-settings --width 300");
        assert!(ran.out.contains(&format!("did you mean `{meant}`?")), "{role}: {ran:#?}");
    }
    // Where a rule of the workshop asks for the word, so that it stays, the shipped ones still know what it means.
    folder.write(
        "own.standard",
        "standard own edition 1 \"Own\"\njudges job\nrule r \"R\"\n  demands no s in fastenings: mentions(s.role, \"sump\")\n  otherwise advice \"No.\"\n",
    );
    folder.write(
        "workshop.yaml",
        "form: workshop/1\nworkshop: {name: W}\nstandards: [own.standard, fastenings]\n",
    );
    folder.write("job.yaml", job("sump plug"));
    let ran = folder.run("inspect job.yaml --as-of 2026-03-02 --width 300");
    assert!(ran.out.contains("did you mean `drain plug`?") && !ran.out.contains("sump screw`?"), "{ran:#?}");
}

#[test]
fn the_names_of_the_trade_are_listed() {
    let listed = Folder::new().run("words names").quietly(0);
    for line in [
        "role\twheel nut\tlocking nut | locking wheel nut | lug nut | lug nuts | lugnut | lugnuts | road wheel nut | wheel lug nut | wheel nuts | wheelnut | wheelnuts\n",
        "role\tcap screw\t\n",
        "drive position\tR\treverse\n",
    ] {
        assert!(listed.out.contains(line), "{line} {}", listed.out);
    }
}

const OWN_NAMES: &str = "form: workshop/1
workshop: {name: W}
standards: [by_procedure, oil_service, house.standard]
documents: {procedures: [procedure.yaml]}
parameters:
  oil_service.specification: {AF-8 long: Nordal TC-2}
";

const OWN_PROCEDURE: &str = "form: procedure/1
procedure: {name: p, edition: 1, title: T, issued: 2026-01-01}
unit: {kind: engine, family: AF-8 long}
steps:
  - {name: first stage, order: 1}
  - {name: 2-1 level, order: 2}
fluids: [{class: engine oil, specification: Nordal TC-2, volume: 4 L ± 10 %}]
";

const OWN_RULE: &str = "standard house edition 1 \"House\"
judges job
table wanted by unit.family
  \"AF-8 long\" : \"TC-2\"
rule family \"The family is known\"
  concerns where unit.kind is \"engine\"
  demands wanted is \"TC-2\"
  otherwise hold \"{unit.family}.\"
";

/// Steps, families and specifications are the workshop's own names: settings, procedures and rules say how they are written.
#[test]
fn names_of_the_workshop_are_read_however_they_are_written() {
    let folder = Folder::new();
    folder.write("workshop.yaml", OWN_NAMES);
    folder.write("procedure.yaml", OWN_PROCEDURE);
    folder.write("house.standard", OWN_RULE);
    let job = |family: &str, step: &str, second: &str, specification: &str| {
        folder.write(
            "job.yaml",
            format!(
                "form: job/1\njob: {{number: K-1, opened: \"2026-03-02T08:15Z\", state: closed, procedure: {{name: p, edition: 1}}}}\n\
                 vehicle: {{}}\nunit: {{kind: engine, family: {family}}}\nsteps: [{{step: {step}}}, {{step: {second}}}]\n\
                 fluid: {{product: N, specification: {specification}, fills: [{{stage: first, volume: 4 L, engine: \"off\"}}]}}\n"
            ),
        );
        folder.run("inspect job.yaml --as-of 2026-03-02 --width 300 --brief --fail-on note")
    };
    let wrong = [
        "steps_present",
        "steps_known",
        "unit_family",
        "specification_right",
        "fluid_specification",
        "house.family",
    ];
    let as_stated = job("AF-8 long", "first stage", "2-1 level", "Nordal TC-2");
    let otherwise = job("af8 Long", "First  stage", "2-1 Level", "nordal tc2");
    for ran in [&as_stated, &otherwise] {
        wrong.iter().for_each(|rule| assert!(!ran.out.contains(rule), "{rule}: {ran:#?}"));
    }
    assert!(!as_stated.out.contains("is read as"), "{as_stated:#?}");
    for said in [
        "`af8 Long` is read as `AF-8 long`",
        "`First  stage` is read as `first stage`",
        "`nordal tc2` is read as `Nordal TC-2`",
    ] {
        assert!(otherwise.out.contains(said), "{said}: {otherwise:#?}");
    }
    // Other figures and other letters make other names, and so does a separator between two figures.
    for ran in [
        job("AF-80 long", "first stage", "2-1 level", "Nordal TC-2"),
        job("AF-8 long", "first stages", "2-1 level", "Nordal TC-2"),
        job("AF-8 long", "first stage", "21 level", "Nordal TC-2"),
        job("AF-8 long", "first stage", "2-1 level", "Nordal TC-22"),
    ] {
        assert!(
            wrong.iter().any(|rule| ran.out.contains(rule)) && !ran.out.contains("is read as"),
            "{ran:#?}"
        );
    }
}
