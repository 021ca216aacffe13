//! Whatever is sent, the server goes on.

use serde_json::{Value, json};

use super::client::{Client, uri};
use crate::support::Folder;

const RECORD: &str = "form: job/1\njob: {number: K-1}\n";

/// The server is asked something that it knows.
fn is_alive(client: &mut Client, folder: &Folder) {
    let address = uri(&folder.path().join("last.yaml"));
    client.open(&address, 7, RECORD);
    assert!(!client.diagnostics(&address, 7).is_empty());
}

#[test]
fn headers_and_bodies_that_are_none_end_nothing() {
    let folder = Folder::new();
    let mut client = Client::in_folder(folder.path(), &["--without-settings"]);
    let refused = |client: &mut Client, bytes: &[u8], code: i64| {
        client.bytes(bytes);
        let answer = client.answer_to(&Value::Null).unwrap_err();
        assert_eq!(answer["code"], code, "{answer}");
    };
    refused(&mut client, b"Content-Length: many\r\n\r\n", -32600);
    refused(&mut client, b"nothing\r\n\r\n", -32600);
    refused(&mut client, &[&[0xff; 20_000][..], b"\r\n\r\n"].concat(), -32600);
    refused(&mut client, b"Content-Length: 5\r\n\r\n{\"a\":", -32700);
    refused(&mut client, b"Content-Length: 2\r\n\r\n\xff\xff", -32700);
    refused(&mut client, b"Content-Length: 2\r\n\r\n[]", -32600);
    refused(&mut client, b"Content-Length: 4\r\n\r\nnull", -32600);
    let deep = "[".repeat(200_000);
    refused(&mut client, format!("Content-Length: {}\r\n\r\n{deep}", deep.len()).as_bytes(), -32700);
    is_alive(&mut client, &folder);
    assert_eq!(client.end(), 0);
}

#[test]
fn a_length_without_its_bytes_reserves_nothing() {
    let folder = Folder::new();
    let mut client = Client::in_folder(folder.path(), &["--without-settings"]);
    client.bytes(b"Content-Length: 99999999999999\r\n\r\n{}");
    assert_eq!(client.hang_up(), 1);
}

#[test]
fn the_stages_of_a_conversation_are_kept() {
    let folder = Folder::new();
    let mut client = Client::silent(folder.path(), &[]);
    let code = |answer: Result<Value, Value>| answer.unwrap_err()["code"].as_i64().unwrap();
    assert_eq!(code(client.ask("textDocument/hover", &json!({}))), -32002);
    client.open("file:///x.yaml", 1, RECORD);
    client.ask("initialize", &json!({ "capabilities": {} })).unwrap();
    assert_eq!(code(client.ask("initialize", &json!({}))), -32600);
    assert_eq!(code(client.ask("none/such", &json!({}))), -32601);
    assert_eq!(code(client.ask("textDocument/completion", &json!([1]))), -32602);
    client.tell("none/such", &json!({}));
    client.tell("textDocument/didOpen", &json!({ "textDocument": 3 }));
    let logged = client.wait(|message| message["method"] == "window/logMessage");
    assert_eq!(logged["params"]["type"], 1);
    client.ask("shutdown", &Value::Null).unwrap();
    assert_eq!(code(client.ask("textDocument/hover", &json!({}))), -32600);
    client.tell("exit", &Value::Null);
    assert_eq!(client.hang_up(), 0);
    // Without `shutdown`, and where the editor is gone.
    let mut client = Client::in_folder(folder.path(), &[]);
    client.tell("exit", &Value::Null);
    assert_eq!(client.hang_up(), 1);
    assert_eq!(Client::silent(folder.path(), &[]).hang_up(), 1);
}

#[test]
fn positions_outside_of_a_text_are_at_its_end() {
    let folder = Folder::new();
    let address = uri(&folder.path().join("a.yaml"));
    let mut client = Client::in_folder(folder.path(), &["--without-settings"]);
    let at = |line: u64, character: u64| json!({ "line": line, "character": character });
    let place = |start: Value, end: Value, text: &str| json!([{ "range": { "start": start, "end": end }, "text": text }]);
    client.open(&address, 1, "# 😀é\r\nform: job/1\rjob: {number: K-1}\n");
    // Within a pair of surrogates, behind the line, behind the text, and an end before its start.
    client.change(&address, 2, &place(at(0, 3), at(0, 4), "x"));
    client.change(&address, 3, &place(at(0, 99), at(0, 99), "y"));
    client.change(&address, 4, &place(at(9_999_999, 4_294_967_295), at(4_294_967_295, 0), "colour: red\n"));
    client.change(&address, 5, &place(at(1, 3), at(0, 0), ""));
    let said = client.diagnostics(&address, 5);
    let unknown = said.iter().find(|one| one["message"].as_str().unwrap().contains("colour")).unwrap();
    assert_eq!(unknown["range"]["start"], at(3, 0), "{said:#?}");
    // A line that no number can be.
    client.change(&address, 6, &place(at(4_294_967_296, 0), at(0, 0), ""));
    client.wait(|message| message["method"] == "window/logMessage");
    client.change("file:///not-open.yaml", 1, &json!([]));
    client.wait(|message| message["method"] == "window/logMessage");
    is_alive(&mut client, &folder);
    assert_eq!(client.end(), 0);
}

#[test]
fn long_texts_and_many_changes_are_taken_or_refused() {
    let folder = Folder::new();
    let address = uri(&folder.path().join("a.yaml"));
    let mut client = Client::in_folder(folder.path(), &["--without-settings"]);
    // Ten megabytes.
    let long = format!("{RECORD}{}", "# a line of a long text\n".repeat(10 * 1024 * 1024 / 24));
    client.open(&address, 1, &long);
    assert!(!client.diagnostics(&address, 1).is_empty());
    let end = json!({ "line": 2, "character": 0 });
    let one = json!({ "range": { "start": end, "end": end }, "text": "x: 1\n" });
    client.change(&address, 2, &Value::from(vec![one.clone(); 3]));
    let said = client.diagnostics(&address, 2);
    assert!(said.iter().any(|said| said["range"]["start"]["line"] == 2), "{said:#?}");
    client.change(&address, 3, &Value::from(vec![one; 1000]));
    let refused = client.wait(|message| message["method"] == "window/logMessage");
    assert!(refused["params"]["message"].as_str().unwrap().contains("too many changes"), "{refused}");
    // Longer than a file may be.
    let longer = uri(&folder.path().join("b.yaml"));
    client.open(&longer, 1, &format!("{RECORD}{}", "#".repeat(17 * 1024 * 1024)));
    let said = client.diagnostics(&longer, 1);
    assert!(said[0]["message"].as_str().unwrap().contains("longer than 16 MiB"), "{said:#?}");
    is_alive(&mut client, &folder);
    assert_eq!(client.end(), 0);
}

#[test]
fn nothing_around_a_text_outside_the_workspace_is_opened() {
    let outside = super::conversations::workshop();
    let folder = Folder::new();
    folder.write("a.yaml", RECORD);
    let mut client = Client::in_folder(folder.path(), &[]);
    let only = |said: &[Value]| said.len() == 1 && said[0]["code"] == "run/outside-workshop";
    let record = uri(&outside.path().join("jobs/J-1.yaml"));
    client.open(&record, 1, &outside.read("jobs/J-1.yaml"));
    let said = client.diagnostics(&record, 1);
    assert!(only(&said), "{said:#?}");
    // A tool of the register there would be offered if that had been read.
    let ask = |client: &mut Client, method: &str, line: u64, character: u64| {
        let position = json!({ "line": line, "character": character });
        let parameters = json!({ "textDocument": { "uri": record }, "position": position });
        client.ask(&format!("textDocument/{method}"), &parameters).unwrap()
    };
    is_alive(&mut client, &folder);
    let offered = ask(&mut client, "completion", 7, 10).to_string();
    assert!(!offered.contains("T-1"), "{offered}");
    assert_eq!(ask(&mut client, "definition", 7, 12), Value::Null);
    // A rule file that uses another one, and is for no settings.
    std::fs::remove_file(outside.path().join("workshop.yaml")).unwrap();
    let rules = uri(&outside.path().join("other.standard"));
    client.open(&rules, 1, &outside.read("other.standard"));
    let said = client.diagnostics(&rules, 1);
    assert!(only(&said), "{said:#?}");
    let run = json!({ "command": "witnessmark.runTrials", "arguments": [rules, "level_plug"] });
    client.ask("workspace/executeCommand", &run).unwrap_err();
    // A folder of the workspace that is a link out of it.
    #[cfg(unix)]
    {
        std::os::unix::fs::symlink(outside.path(), folder.path().join("in")).unwrap();
        let linked = uri(&folder.path().join("in/jobs/J-1.yaml"));
        client.open(&linked, 1, &outside.read("jobs/J-1.yaml"));
        let said = client.diagnostics(&linked, 1);
        assert!(only(&said), "{said:#?}");
    }
    // The folder is opened, too, and all is judged.
    let event = json!({ "added": [{ "uri": uri(outside.path()), "name": "other" }], "removed": [] });
    client.tell("workspace/didChangeWorkspaceFolders", &json!({ "event": event }));
    client.wait(|message| {
        message["params"]["uri"] == *record && !only(message["params"]["diagnostics"].as_array().unwrap())
    });
    assert_eq!(client.end(), 0);
}

/// So many entries that, if each of them took part in each answer, none would come in time.
const MANY: usize = 2_000;

#[test]
fn a_question_about_one_field_is_not_answered_for_all_of_them() {
    let folder = super::conversations::workshop();
    let path = folder.path().join("jobs/J-1.yaml");
    let entry = |number: usize| format!("  - {{role: cover bolt, place: Z{number}, torque: 10 Nm}}\n");
    let text = folder.read("jobs/J-1.yaml");
    let long = text.replace("seals:", &format!("{}seals:", (0..MANY).map(entry).collect::<String>()));
    let mut client = Client::in_folder(folder.path(), &["--as-of", "2026-03-31"]);
    client.open(&uri(&path), 1, &long);
    client.diagnostics(&uri(&path), 1);
    let at = json!({ "line": 6, "character": 6 });
    let parameters = json!({ "textDocument": { "uri": uri(&path) }, "position": at,
        "range": { "start": { "line": 0, "character": 0 }, "end": { "line": 60, "character": 0 } } });
    let hover = client.ask("textDocument/hover", &parameters).unwrap();
    assert!(hover.to_string().contains("36 Nm .. 44 Nm"), "{hover}");
    let hints = client.ask("textDocument/inlayHint", &parameters).unwrap();
    assert_eq!(hints.as_array().unwrap().len(), 1, "{hints}");
    // The text is another one when it is asked about: no answer, and none is looked for.
    let question = |id: u64, method: &str, parameters: &Value| json!({ "jsonrpc": "2.0", "id": id, "method": method, "params": parameters });
    let changed =
        json!({ "textDocument": { "uri": uri(&path), "version": 2 }, "contentChanges": [{ "text": text }] });
    let told = json!({ "jsonrpc": "2.0", "method": "textDocument/didChange", "params": changed });
    let whole = json!({ "textDocument": { "uri": uri(&path) }, "range": { "start": at, "end": { "line": 9999, "character": 0 } } });
    let mut bytes = Vec::new();
    for message in [
        question(9_001, "textDocument/inlayHint", &whole),
        question(9_002, "textDocument/hover", &parameters),
        told,
    ] {
        let body = message.to_string();
        bytes.extend(format!("Content-Length: {}\r\n\r\n{body}", body.len()).into_bytes());
    }
    client.bytes(&bytes);
    client.answer_to(&json!(9_001)).ok();
    assert_eq!(client.answer_to(&json!(9_002)).unwrap_err()["code"], -32801);
    assert_eq!(client.end(), 0);
}

#[test]
fn nothing_outside_the_workspace_is_read() {
    let folder = Folder::new();
    folder.write(
        "workshop.yaml",
        "form: workshop/1\nworkshop: {name: W}\nstandards: [job_basics]\nsecret: sesame\n",
    );
    folder.write("jobs/a.yaml", RECORD);
    let address = uri(&folder.path().join("jobs/a.yaml"));
    let mut client = Client::in_folder(&folder.path().join("jobs"), &[]);
    client.open(&address, 1, RECORD);
    let said = client.diagnostics(&address, 1);
    assert_eq!((said.len(), said[0]["code"].as_str().unwrap()), (1, "run/outside-workshop"), "{said:#?}");
    assert!(!said[0].to_string().contains("sesame"));
    assert_eq!(client.end(), 0);
    // Settings of the workspace that lead out of it.
    let inner = folder.write(
        "inner/workshop.yaml",
        "form: workshop/1\nworkshop: {name: W}\ndocuments: {procedures: [../jobs/a.yaml]}\n",
    );
    let address = uri(&folder.path().join("inner/b.yaml"));
    let mut client = Client::in_folder(inner.parent().unwrap(), &[]);
    client.open(&address, 1, RECORD);
    let said = client.diagnostics(&address, 1);
    assert!(said[0]["message"].as_str().unwrap().contains("outside the folder of the settings"), "{said:#?}");
    assert_eq!(client.end(), 0);
}

#[test]
fn questions_that_were_taken_back_are_not_answered() {
    let folder = Folder::new();
    let mut client = Client::in_folder(folder.path(), &["--without-settings"]);
    // One piece, so that the second is there when the first is looked at.
    let messages = [
        json!({ "jsonrpc": "2.0", "id": "slow", "method": "textDocument/hover", "params": {} }),
        json!({ "jsonrpc": "2.0", "method": "$/cancelRequest", "params": { "id": "slow" } }),
    ];
    let long = "x".repeat(300_000);
    let mut bytes = Vec::new();
    for message in
        [json!({ "jsonrpc": "2.0", "id": 0, "method": long, "params": {} })].iter().chain(&messages)
    {
        let body = message.to_string();
        bytes.extend(format!("Content-Length: {}\r\n\r\n{body}", body.len()).into_bytes());
    }
    client.bytes(&bytes);
    let code = client.answer_to(&json!("slow")).unwrap_err()["code"].as_i64().unwrap();
    // Which of the two came first is a matter of the threads.
    assert!([-32800, -32602, -32601].contains(&code), "{code}");
    is_alive(&mut client, &folder);
    assert_eq!(client.end(), 0);
}
