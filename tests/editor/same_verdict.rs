//! An editor is told what `inspect` and `prove` report of the same files.

use std::collections::{BTreeMap, BTreeSet};

use serde_json::Value;

use super::client::{Client, uri};
use crate::support::{files_below, finish, program, root, rule_files, text};

/// The day of these runs.
const DAY: &str = "2026-03-31";

/// Where, how grave, which rule or code, and the first line.
type Said = (u64, u64, u64, u64, u64, String, String);

/// A list of an editor in an order that does not depend on it.
fn said(diagnostics: &[Value]) -> Vec<Said> {
    let one = |one: &Value| {
        let at = |end: &str, of: &str| one["range"][end][of].as_u64().unwrap();
        let message = one["message"].as_str().unwrap().lines().next().unwrap().to_owned();
        let code = one["code"].as_str().unwrap().to_owned();
        let [line, column] = [at("start", "line"), at("start", "character")];
        let [end_line, end] = [at("end", "line"), at("end", "character")];
        (line, column, end_line, end, one["severity"].as_u64().unwrap(), code, message)
    };
    let mut said: Vec<Said> = diagnostics.iter().map(one).collect();
    said.sort();
    said
}

/// The same of a report in JSON, whose columns are characters of a text.
fn reported(report: &Value, name: &str, text: &str) -> Vec<Said> {
    let lines: Vec<&str> = text.split('\n').collect();
    let utf16 = |at: &Value| {
        let (line, column) = (at["line"].as_u64().unwrap() - 1, at["column"].as_u64().unwrap() - 1);
        let before = lines[line as usize].chars().take(column as usize);
        (line, before.map(char::len_utf16).sum::<usize>() as u64)
    };
    let all = |list: &Value| list.as_array().cloned().unwrap_or_default();
    let mut found = Vec::new();
    let documents = all(&report["documents"]);
    let of_documents = documents.iter().flat_map(|one| all(&one["diagnostics"]));
    for one in all(&report["diagnostics"]).into_iter().chain(of_documents) {
        let at = &one["labels"][0]["at"];
        if at["source"] != *name {
            continue;
        }
        let severity = match one["level"].as_str().unwrap() {
            "error" => 1,
            "advice" => 2,
            "note" => 3,
            _ => 4,
        };
        let ((line, column), (end_line, end)) = (utf16(&at["start"]), utf16(&at["end"]));
        let (code, message) = (one["code"].as_str().unwrap(), one["message"].as_str().unwrap());
        found.push((line, column, end_line, end, severity, code.to_owned(), message.to_owned()));
    }
    for one in documents.iter().flat_map(|one| all(&one["findings"])) {
        let at = &one["at"];
        assert_eq!(at["source"], *name);
        let severity = match (one["standing"].as_str().unwrap(), one["severity"].as_str().unwrap()) {
            ("counts", "hold") => 1,
            ("counts", "advice") => 2,
            ("counts", _) | ("still_to_do", _) => 3,
            _ => 4,
        };
        let ((line, column), (end_line, end)) = (utf16(&at["start"]), utf16(&at["end"]));
        let (rule, message) = (one["rule"].as_str().unwrap(), one["message"].as_str().unwrap());
        found.push((line, column, end_line, end, severity, rule.to_owned(), message.to_owned()));
    }
    found.sort();
    found
}

fn report(arguments: &[&str]) -> Value {
    let mut command = program(&root());
    command.args(arguments).args(["--format", "json", "--as-of", DAY]);
    serde_json::from_str(&finish(command, "").out).unwrap()
}

/// What is reported and not said has to wait for a value, and be said as waiting for it, by the number of its rules.
#[track_caller]
fn compare(said: &[Said], diagnostics: &[Value], report: &Value, path: &str, text: &str) {
    let mut folded = reported(report, path, text);
    for one in said {
        let at = folded.iter().position(|other| other == one);
        folded.remove(at.unwrap_or_else(|| panic!("{path}: not reported: {one:?}\n{folded:#?}")));
    }
    let all = |list: &Value| list.as_array().cloned().unwrap_or_default();
    let findings: Vec<Value> =
        all(&report["documents"]).iter().flat_map(|one| all(&one["findings"])).collect();
    let mut waiting: BTreeMap<String, BTreeSet<String>> = BTreeMap::new();
    for (.., rule, message) in folded {
        let is_it = |one: &&Value| one["rule"] == *rule && one["message"] == *message;
        let wait = findings.iter().find(is_it).map(|one| &one["waits_for"]).and_then(Value::as_str);
        let wait = wait.unwrap_or_else(|| panic!("{path}: not said: {rule}: {message}"));
        waiting.entry(wait.to_owned()).or_default().insert(rule);
    }
    let lines: Vec<&str> = diagnostics
        .iter()
        .flat_map(|one| one["message"].as_str().unwrap().lines())
        .filter_map(|line| line.strip_prefix("waiting: "))
        .collect();
    for (value, rules) in waiting {
        let is_it = |line: &&&str| line.contains(&format!(" for `{value}`"));
        let counted: usize = lines
            .iter()
            .filter(is_it)
            .map(|line| line.split(' ').next().unwrap().parse::<usize>().unwrap())
            .sum();
        assert!(counted >= rules.len(), "{path}: {value}: {rules:?}\n{lines:#?}");
    }
}

/// The words in front of a finding, and the concession behind it, are of the editor alone.
fn bare(said: Vec<Said>) -> Vec<Said> {
    let kinds = [
        "still to do",
        "let pass",
        "known",
        "under concession",
        "hold, undecided",
        "hold",
        "advice, undecided",
        "advice",
        "note, undecided",
        "note",
    ];
    let bare = |message: &str| {
        let behind = kinds.iter().find_map(|kind| message.strip_prefix(&format!("{kind}: ")));
        let message = behind.unwrap_or(message);
        message.split(" (granted by the ").next().unwrap_or_default().to_owned()
    };
    said.into_iter().map(|(a, b, c, d, e, code, message)| (a, b, c, d, e, code, bare(&message))).collect()
}

#[test]
fn records_are_judged_as_inspect_judges_them() {
    let files = files_below("examples").into_iter().filter(|path| path.ends_with(".yaml"));
    let files: Vec<String> = files
        .filter(|path| path.starts_with("examples/grauwasser") && !path.ends_with("workshop.yaml"))
        .collect();
    assert!(files.len() > 40);
    let mut number = 0;
    for path in &files {
        let mut client = Client::in_folder(&root(), &["--as-of", DAY]);
        let (address, text) = (uri(&root().join(path)), text(path));
        client.open(&address, 1, &text);
        let diagnostics = client.diagnostics(&address, 1);
        let said = bare(said(&diagnostics));
        compare(&said, &diagnostics, &report(&["inspect", path]), path, &text);
        number += said.len();
        assert_eq!(client.end(), 0);
    }
    assert!(number > 50, "{number}");
}

#[test]
fn open_records_are_judged_as_one_run_over_them() {
    let files = files_below("examples/grauwasser").into_iter().filter(|path| path.ends_with(".yaml"));
    let files: Vec<String> = files.filter(|path| !path.ends_with("workshop.yaml")).collect();
    let mut client = Client::in_folder(&root(), &["--as-of", DAY]);
    let arguments: Vec<&str> = std::iter::once("inspect").chain(files.iter().map(String::as_str)).collect();
    let whole = report(&arguments);
    for path in &files {
        client.open(&uri(&root().join(path)), 1, &text(path));
    }
    // What is said while others are opened is not the last word.
    client.ask("none/such", &Value::Null).unwrap_err();
    for path in &files {
        let (address, text) = (uri(&root().join(path)), text(path));
        client.change(&address, 2, &serde_json::json!([{ "text": text }]));
    }
    for path in &files {
        let (address, text) = (uri(&root().join(path)), text(path));
        let diagnostics = client.diagnostics(&address, 2);
        let said = bare(said(&diagnostics));
        let of_it = |one: &&Value| one["name"].as_str().unwrap().starts_with(path.as_str());
        let documents: Vec<Value> =
            whole["documents"].as_array().unwrap().iter().filter(of_it).cloned().collect();
        let own = serde_json::json!({ "diagnostics": whole["diagnostics"], "documents": documents });
        compare(&said, &diagnostics, &own, path, &text);
    }
    assert_eq!(client.end(), 0);
}

#[test]
fn a_text_of_another_kind_and_one_that_is_yet_to_be_written_have_no_errors() {
    let folder = super::conversations::workshop();
    let mut client = Client::in_folder(folder.path(), &["--as-of", DAY]);
    let mut severities = |name: &str, text: &str| -> Vec<u64> {
        let address = uri(&folder.path().join(name));
        client.open(&address, 1, text);
        let said = client.diagnostics(&address, 1);
        said.iter().map(|one| one["severity"].as_u64().unwrap()).collect()
    };
    assert_eq!(severities("notes.txt", "to do\n"), [0; 0]);
    assert_eq!(severities("jobs/new.yaml", "\n# a new one\n"), [3]);
    assert_eq!(severities("jobs/text.yaml", "to do\n"), [1]);
    // Whatever its ending, what names a form is judged.
    assert!(severities("job.txt", "form: job/1\n").contains(&1));
}

#[test]
fn rules_are_proved_as_prove_proves_them() {
    let mut files = rule_files();
    files.extend(files_below("examples").into_iter().filter(|path| path.ends_with(".standard")));
    files.extend(files_below("tests/cases").into_iter().filter(|path| path.ends_with(".standard")));
    let mut client = Client::in_folder(&root(), &["--as-of", DAY]);
    let mut number = 0;
    for path in &files {
        let (address, text) = (uri(&root().join(path)), text(path));
        client.open(&address, 1, &text);
        let said: Vec<Said> = said(&client.all_diagnostics(&address, 1));
        let said: Vec<Said> =
            said.into_iter().filter(|one| !one.6.starts_with("no verdict, because")).collect();
        assert_eq!(said, reported(&report(&["prove", path]), path, &text), "{path}");
        number += said.len();
    }
    assert!(number > 100, "{number}");
    assert_eq!(client.end(), 0);
}

#[test]
fn what_a_proof_said_moves_with_the_text_until_the_next_one() {
    let folder = crate::support::Folder::new();
    let rule = |name: &str| {
        format!(
            "rule {name} \"R\"\n  demands recorded job.number\n  otherwise hold \"none\"\n  because \"b\"\n  basis \"b\"\n"
        )
    };
    let text = format!("standard s edition 1 \"S\"\njudges job\n\n{}\n{}", rule("one"), rule("two"));
    let path = folder.write("s.standard", &text);
    let address = uri(&path);
    let mut client = Client::in_folder(folder.path(), &[]);
    client.open(&address, 1, &text);
    let at = |said: &[Value]| -> Vec<u64> {
        let of_trials = said.iter().filter(|one| one["code"] == "rules/no-trial");
        of_trials.map(|one| one["range"]["start"]["line"].as_u64().unwrap()).collect()
    };
    let lines = at(&client.all_diagnostics(&address, 1));
    assert_eq!(lines.len(), 2);
    // A line above both, and then the name of the first becomes another.
    let change = |line: u64, from: u64, to: u64, text: &str| {
        let position = |character: u64| serde_json::json!({ "line": line, "character": character });
        serde_json::json!([{ "range": { "start": position(from), "end": position(to) }, "text": text }])
    };
    client.change(&address, 2, &change(2, 0, 0, "# a line\n"));
    assert_eq!(at(&client.diagnostics(&address, 2)), [lines[0] + 1, lines[1] + 1]);
    client.change(&address, 3, &change(lines[0] + 1, 5, 8, "first"));
    assert_eq!(at(&client.diagnostics(&address, 3)), [lines[1] + 1]);
    assert_eq!(at(&client.diagnostics(&address, 3)), [lines[0] + 1, lines[1] + 1]);
    assert_eq!(client.end(), 0);
}

#[test]
fn settings_show_what_a_run_says_of_them() {
    let folder = crate::support::Folder::new();
    let settings = "form: workshop/1\nworkshop: {name: W}\nstandards: [fastenings, fastning]\nparameters: {fastenings.torqe: 3 Nm .. 4 Nm}\n";
    let path = folder.write("workshop.yaml", settings);
    let job = folder.write("job.yaml", "form: job/1\njob: {number: K-1}\n");
    let report: Value = serde_json::from_str(&folder.run("inspect job.yaml --format json").out).unwrap();
    let expected = reported(&report, "workshop.yaml", settings);
    assert!(expected.len() > 1, "{expected:#?}");
    let mut client = Client::in_folder(folder.path(), &[]);
    client.open(&uri(&path), 1, settings);
    assert_eq!(said(&client.diagnostics(&uri(&path), 1)), expected);
    client.open(&uri(&job), 1, "form: job/1\njob: {number: K-1}\n");
    let said = client.diagnostics(&uri(&job), 1);
    assert!(
        said[0]["message"]
            .as_str()
            .unwrap()
            .starts_with("no verdict, because settings or rules have errors; workshop.yaml line 3: "),
        "{said:#?}"
    );
    // The settings are corrected, and not saved.
    let better = settings.replace(", fastning", "").replace("torqe", "torque");
    client.change(&uri(&path), 2, &serde_json::json!([{ "text": better }]));
    let said = client.wait(|message| {
        message["params"]["uri"] == *uri(&job)
            && !message["params"]["diagnostics"].to_string().contains("no verdict")
    });
    assert!(!said["params"]["diagnostics"].as_array().unwrap().is_empty(), "{said:#?}");
    assert_eq!(client.end(), 0);
}

#[test]
fn rules_are_checked_and_proved_anew_when_a_file_that_they_use_is_typed_in() {
    let folder = super::conversations::workshop();
    let [lent, rules] =
        ["common.standard", "other.standard"].map(|name| (uri(&folder.path().join(name)), folder.read(name)));
    let mut client = Client::in_folder(folder.path(), &[]);
    client.open(&rules.0, 1, &rules.1);
    let said = |said: &[Value], code: &str| said.iter().any(|one| one["code"] == code);
    assert!(!said(&client.all_diagnostics(&rules.0, 1), "rules/unknown-name"));
    client.open(&lent.0, 1, &lent.1);
    let mut version = 1;
    // Nothing of the rules themselves is changed.
    let mut lend = |client: &mut Client, text: String, code: &str| {
        version += 1;
        client.change(&lent.0, version, &serde_json::json!([{ "text": text }]));
        client.wait(|message| {
            message["params"]["uri"] == *rules.0
                && message["params"]["diagnostics"].as_array().is_some_and(|all| said(all, code))
        });
    };
    lend(&mut client, lent.1.replace("level_roles", "roles_of_level"), "rules/unknown-name");
    // A word fewer, so that a trial comes out otherwise: only a new proof tells.
    lend(&mut client, lent.1.replace(", \"fill plug\"", ", \"filler plug\""), "rules/trial-failed");
    assert_eq!(client.end(), 0);
}

#[test]
fn what_is_open_counts_instead_of_what_is_on_disk() {
    let folder = super::conversations::workshop();
    let [job, rules] =
        ["jobs/J-1.yaml", "house.standard"].map(|name| (uri(&folder.path().join(name)), folder.read(name)));
    let mut client = Client::in_folder(folder.path(), &["--as-of", DAY]);
    client.open(&job.0, 1, &job.1);
    let severity = |said: &[Value]| {
        let found = said.iter().find(|one| one["code"] == "house.plugs_tight");
        found.map(|found| found["severity"].as_u64().unwrap())
    };
    assert_eq!(severity(&client.diagnostics(&job.0, 1)), Some(1));
    client.open(&rules.0, 1, &rules.1);
    let milder = rules.1.replace("otherwise hold", "otherwise advice");
    client.change(&rules.0, 2, &serde_json::json!([{ "text": milder }]));
    // The record is judged anew by the rules as they are typed, though nothing of it was changed.
    client.wait(|message| {
        message["params"]["uri"] == *job.0
            && severity(message["params"]["diagnostics"].as_array().unwrap()) == Some(2)
    });
    assert_eq!(folder.read("house.standard"), rules.1);
    // Closed without having been saved, they are those of the disk again.
    client.tell("textDocument/didClose", &serde_json::json!({ "textDocument": { "uri": rules.0 } }));
    client.wait(|message| {
        message["params"]["uri"] == *job.0
            && severity(message["params"]["diagnostics"].as_array().unwrap()) == Some(1)
    });
    assert_eq!(client.end(), 0);
}
