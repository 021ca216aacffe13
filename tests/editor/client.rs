//! An editor, as far as the tests need one: it starts the server and talks to it.

use std::io::{BufRead, BufReader, Read, Write};
use std::path::Path;
use std::process::{Child, ChildStdin};
use std::sync::mpsc::{Receiver, channel};
use std::time::Duration;

use serde_json::{Value, json};

use crate::support::program;

/// Only so that a server that hangs does not hang the tests; nothing is measured by it.
const PATIENCE: Duration = Duration::from_secs(90);

pub struct Client {
    child: Child,
    input: Option<ChildStdin>,
    messages: Receiver<Value>,
    /// What came and was not asked for yet.
    kept: Vec<Value>,
    last: i64,
}

impl Client {
    /// A server that was started in a folder with these options, to which nothing was said yet.
    pub fn silent(folder: &Path, options: &[&str]) -> Client {
        let mut command = program(folder);
        command.arg("editor").args(options).stdin(std::process::Stdio::piped());
        let mut child = command.spawn().unwrap();
        let mut output = BufReader::new(child.stdout.take().unwrap());
        let (send, messages) = channel();
        std::thread::spawn(move || {
            while let Some(message) = read(&mut output) {
                if send.send(message).is_err() {
                    return;
                }
            }
        });
        let input = child.stdin.take();
        Client { child, input, messages, kept: Vec::new(), last: 0 }
    }

    /// A server that knows the folder of its workspace.
    pub fn in_folder(folder: &Path, options: &[&str]) -> Client {
        let mut client = Client::silent(folder, options);
        let folders = json!([{ "uri": uri(folder), "name": "workshop" }]);
        let parameters =
            json!({ "processId": null, "rootUri": null, "capabilities": {}, "workspaceFolders": folders });
        client.ask("initialize", &parameters).unwrap();
        client.tell("initialized", &json!({}));
        client
    }

    pub fn bytes(&mut self, bytes: &[u8]) {
        let input = self.input.as_mut().unwrap();
        input.write_all(bytes).unwrap();
        input.flush().unwrap();
    }

    pub fn send(&mut self, message: &Value) {
        let body = message.to_string();
        self.bytes(format!("Content-Length: {}\r\n\r\n{body}", body.len()).as_bytes());
    }

    pub fn tell(&mut self, method: &str, parameters: &Value) {
        self.send(&json!({ "jsonrpc": "2.0", "method": method, "params": parameters }));
    }

    /// Asks, and waits for the answer.
    pub fn ask(&mut self, method: &str, parameters: &Value) -> Result<Value, Value> {
        self.last += 1;
        let id = json!(self.last);
        self.send(&json!({ "jsonrpc": "2.0", "id": id, "method": method, "params": parameters }));
        self.answer_to(&id)
    }

    pub fn answer_to(&mut self, id: &Value) -> Result<Value, Value> {
        let answer = self.wait(|message| message.get("method").is_none() && message.get("id") == Some(id));
        match answer.get("error") {
            Some(error) => Err(error.clone()),
            None => Ok(answer["result"].clone()),
        }
    }

    /// The first message of a sort that came or will come.
    pub fn wait(&mut self, is_it: impl Fn(&Value) -> bool) -> Value {
        if let Some(at) = self.kept.iter().position(&is_it) {
            return self.kept.remove(at);
        }
        loop {
            let message = self.messages.recv_timeout(PATIENCE).expect("the server said nothing more");
            if is_it(&message) {
                return message;
            }
            self.kept.push(message);
        }
    }

    pub fn open(&mut self, uri: &str, version: i64, text: &str) {
        let one = json!({ "uri": uri, "languageId": "yaml", "version": version, "text": text });
        self.tell("textDocument/didOpen", &json!({ "textDocument": one }));
    }

    pub fn change(&mut self, uri: &str, version: i64, changes: &Value) {
        let one = json!({ "uri": uri, "version": version });
        self.tell("textDocument/didChange", &json!({ "textDocument": one, "contentChanges": changes }));
    }

    /// What is wrong with a version of a text, as it is said first.
    pub fn diagnostics(&mut self, uri: &str, version: i64) -> Vec<Value> {
        let said = self.wait(|message| {
            message["method"] == "textDocument/publishDiagnostics"
                && message["params"]["uri"] == *uri
                && message["params"]["version"] == version
        });
        said["params"]["diagnostics"].as_array().unwrap().clone()
    }

    /// All that is wrong with a version of a text: of rules it is said at once what their check shows, and then what
    /// their trials come to and what they show together.
    pub fn all_diagnostics(&mut self, uri: &str, version: i64) -> Vec<Value> {
        let first = self.diagnostics(uri, version);
        if !uri.ends_with(".standard") {
            return first;
        }
        // What the last proof said is carried along in the first answer, and can be gone in the second.
        self.diagnostics(uri, version)
    }

    /// Asks for the end, and waits for it; the exit code.
    pub fn end(mut self) -> i32 {
        self.ask("shutdown", &Value::Null).unwrap();
        self.tell("exit", &Value::Null);
        self.child.wait().unwrap().code().unwrap()
    }

    /// Closes the input, and waits for the end; the exit code.
    pub fn hang_up(&mut self) -> i32 {
        self.input = None;
        self.child.wait().unwrap().code().unwrap()
    }
}

impl Drop for Client {
    fn drop(&mut self) {
        self.input = None;
        let _ = self.child.wait();
    }
}

fn read(output: &mut BufReader<impl Read>) -> Option<Value> {
    let mut length = 0;
    loop {
        let mut line = String::new();
        if output.read_line(&mut line).ok()? == 0 {
            return None;
        }
        match line.trim().split_once(": ") {
            Some(("Content-Length", value)) => length = value.parse().unwrap(),
            Some(_) => {}
            None => break,
        }
    }
    let mut body = vec![0; length];
    output.read_exact(&mut body).ok()?;
    Some(serde_json::from_slice(&body).unwrap())
}

/// The address of a path.
pub fn uri(path: &Path) -> String {
    format!(
        "file://{}",
        witnessmark::report::sarif::uri(&path.display().to_string()).trim_start_matches("file://")
    )
}
