//! Whole conversations, each in a file of `tests/editor/conversations/`. The lines that begin with `<` are what the server
//! answers; `WITNESSMARK_BLESS=1` writes them anew. The others begin with
//!
//! - `>`: a message that is sent as it is, with `$` for the folder of the fixture,
//! - `open PATH`: a file of the fixture is opened,
//! - `type PATH «BEFORE» «AFTER»`: a piece of the text becomes another,
//! - `ask METHOD PATH «PIECE»`: a question about the place that `|` marks in a piece of the text.

use std::collections::BTreeMap;

use serde_json::{Value, json};

use super::client::{Client, uri};
use crate::support::{Folder, files_below, root, text};

/// The workshop of the conversations, which has two rules of its own, so that no rule of ours changes what is said.
pub fn workshop() -> Folder {
    let folder = Folder::new();
    for path in files_below("tests/editor/workshop") {
        folder.write(path.trim_start_matches("tests/editor/workshop/"), text(&path));
    }
    folder
}

#[test]
fn conversations_go_as_they_are_written() {
    let mut wrong = Vec::new();
    let files = files_below("tests/editor/conversations");
    assert!(!files.is_empty());
    for path in files {
        let written = text(&path);
        let held = hold(&written);
        if std::env::var_os("WITNESSMARK_BLESS").is_some() {
            std::fs::write(root().join(&path), held).unwrap();
        } else if held != written {
            wrong.push(format!("{path}\n{}", difference(&written, &held)));
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

fn difference(before: &str, after: &str) -> String {
    similar::TextDiff::from_lines(before, after).unified_diff().to_string()
}

fn hold(written: &str) -> String {
    let folder = workshop();
    let address = uri(folder.path());
    let mut client = Client::in_folder(folder.path(), &["--as-of", "2026-03-31"]);
    let mut held = String::new();
    let mut texts: BTreeMap<String, (i64, String)> = BTreeMap::new();
    for line in written.lines().filter(|line| !line.starts_with('<')) {
        held.push_str(line);
        held.push('\n');
        if let Some(answer) = spoken(line, &folder, &mut client, &mut texts) {
            let answer = serde_json::to_string_pretty(&brief(&answer)).unwrap().replace(&address, "$");
            answer.lines().for_each(|line| held.push_str(&format!("< {line}\n")));
        }
        let Some(sent) = line.strip_prefix("> ") else { continue };
        let mut message: Value = serde_json::from_str(&sent.replace('$', &address))
            .unwrap_or_else(|error| panic!("{line}: {error}"));
        filled_in(&mut message, &folder);
        client.send(&message);
        let answer = match (message.get("id"), message["method"].as_str().unwrap()) {
            (Some(id), _) => client.answer_to(id).unwrap_or_else(|error| error),
            (None, "textDocument/didOpen" | "textDocument/didChange") => {
                let one = &message["params"]["textDocument"];
                let (uri, version) = (one["uri"].as_str().unwrap(), one["version"].as_i64().unwrap());
                Value::from(client.all_diagnostics(uri, version))
            }
            _ => continue,
        };
        let answer = serde_json::to_string_pretty(&brief(&answer)).unwrap().replace(&address, "$");
        answer.lines().for_each(|line| held.push_str(&format!("< {line}\n")));
    }
    assert_eq!(client.end(), 0);
    held
}

/// Does what a line says in words; the answer to be shown, where there is one.
fn spoken(
    line: &str,
    folder: &Folder,
    client: &mut Client,
    texts: &mut BTreeMap<String, (i64, String)>,
) -> Option<Value> {
    let mut words = line.splitn(2, ' ');
    let (verb, rest) = (words.next()?, words.next()?);
    let pieces: Vec<String> =
        rest.split('«').skip(1).map(|piece| piece.split('»').next().unwrap().replace("\\n", "\n")).collect();
    let named: Vec<&str> = rest.split('«').next().unwrap().split_whitespace().collect();
    let address = |path: &str| format!("{}/{path}", uri(folder.path()));
    match verb {
        "open" => {
            let text = folder.read(named[0]);
            client.open(&address(named[0]), 1, &text);
            client.all_diagnostics(&address(named[0]), 1);
            texts.insert(named[0].to_owned(), (1, text));
            None
        }
        "type" => {
            let (version, text) = texts.get_mut(named[0]).unwrap();
            assert!(text.contains(&pieces[0]), "{line}\n{text}");
            (*version, *text) = (*version + 1, text.replacen(&pieces[0], &pieces[1], 1));
            client.change(&address(named[0]), *version, &json!([{ "text": text }]));
            client.all_diagnostics(&address(named[0]), *version);
            None
        }
        "ask" => {
            let (method, path) = (named[0], named[1]);
            let (_, text) = &texts[path];
            let mut parameters = json!({ "textDocument": { "uri": address(path) } });
            match pieces.first() {
                Some(piece) => {
                    let (before, behind) = piece.split_once('|').unwrap();
                    let at =
                        text.find(&format!("{before}{behind}")).unwrap_or_else(|| panic!("{line}\n{text}"))
                            + before.len();
                    let position = witnessmark::source::LineIndex::new(text).position(text, at as u32);
                    let position = json!({ "line": position.line - 1, "character": position.utf16 - 1 });
                    parameters["position"] = position.clone();
                    parameters["range"] = json!({ "start": position, "end": position });
                }
                None => {
                    parameters["range"] = json!({ "start": { "line": 0, "character": 0 }, "end": { "line": 9999, "character": 0 } })
                }
            }
            if let Some(name) = pieces.get(1) {
                parameters["newName"] = json!(name);
            }
            let answer =
                client.ask(&format!("textDocument/{method}"), &parameters).unwrap_or_else(|error| error);
            Some(if method == "completion" { offers(&answer) } else { answer })
        }
        _ => None,
    }
}

/// So many offers are shown.
const MOST_OFFERS: usize = 8;

/// What is offered, in a line each.
fn offers(answer: &Value) -> Value {
    let items = answer["items"].as_array().unwrap();
    let text = |value: &Value| value.as_str().unwrap_or_default().replace('\n', " ");
    let line = |one: &Value| {
        let edit = &one["textEdit"];
        let written = format!("{} {}", brief(&edit["range"]), text(&edit["newText"]));
        format!(
            "{} | {} | {written} | {}",
            text(&one["label"]),
            text(&one["detail"]),
            text(&one["documentation"]["value"])
        )
    };
    let mut lines: Vec<Value> = items.iter().take(MOST_OFFERS).map(|one| Value::from(line(one))).collect();
    if items.len() > MOST_OFFERS {
        lines.push(Value::from(format!("and {} more", items.len() - MOST_OFFERS)));
    }
    Value::from(lines)
}

/// The text of a file that is opened is that of the fixture, where none is sent.
fn filled_in(message: &mut Value, folder: &Folder) {
    if message["method"] != "textDocument/didOpen" || message["params"]["textDocument"].get("text").is_some()
    {
        return;
    }
    let one = &mut message["params"]["textDocument"];
    let path = one["uri"]
        .as_str()
        .unwrap()
        .strip_prefix(&uri(folder.path()))
        .unwrap()
        .trim_start_matches('/')
        .to_owned();
    one["text"] = Value::from(folder.read(&path));
}

/// The same with positions and ranges in a word each: `4:0` and `4:0..4:9`.
fn brief(value: &Value) -> Value {
    let at = |position: &Value| Some(format!("{}:{}", position.get("line")?, position.get("character")?));
    if let Some(position) = at(value) {
        return Value::from(position);
    }
    if let (Some(start), Some(end)) = (value.get("start").and_then(at), value.get("end").and_then(at)) {
        return Value::from(format!("{start}..{end}"));
    }
    let are_numbers = |all: &[Value]| !all.is_empty() && all.iter().all(Value::is_number);
    match value {
        Value::Array(all) if are_numbers(all) => {
            let five = |five: &[Value]| five.iter().map(Value::to_string).collect::<Vec<_>>().join(" ");
            Value::from(all.chunks(5).map(five).collect::<Vec<_>>().join(", "))
        }
        Value::Array(all) => all.iter().map(brief).collect(),
        Value::Object(all) => all.iter().map(|(name, value)| (name.clone(), brief(value))).collect(),
        other => other.clone(),
    }
}
