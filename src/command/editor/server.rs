//! The conversation with an editor: what comes is taken in order, what waits to be judged is judged when nothing else waits.

use std::collections::{BTreeSet, VecDeque};
use std::io::{self, Stdout};
use std::path::PathBuf;
use std::sync::mpsc::{Receiver, RecvTimeoutError, SyncSender};
use std::time::Duration;

use serde::Serialize;
use serde_json::{Value, json};

use super::frames;
use super::requests;
use super::texts::Texts;
use super::uri;
use super::{Event, MOST_WAITING};
use crate::command::known::KnownFiles;
use crate::command::{Exit, Failure, RuleOptions};
use crate::editor::diagnostics;
use crate::editor::protocol::{Changed, Diagnostic, OfText, Opened, Refused, error, read};
use crate::session::internal::sound;

/// Nothing is opened anew while keys come faster than this.
const PAUSE: Duration = Duration::from_millis(150);

/// Where the conversation is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Stage {
    /// Nothing was asked yet.
    Begun,
    /// Texts are open.
    Open,
    /// The editor wants no more answers.
    Closing,
}

/// One side of the conversation.
pub(super) struct Server {
    texts: Texts,
    out: Stdout,
    events: SyncSender<Event>,
    stage: Stage,
    /// What came and was not looked at yet.
    queue: VecDeque<Event>,
    /// What the editor can do.
    can: Can,
    /// How often it was asked something.
    asked: u64,
}

/// What an editor can do besides what all can.
#[derive(Clone, Copy, Debug, Default)]
struct Can {
    /// Ask for hints again when it is told to.
    refresh_hints: bool,
    /// Say which files others have changed.
    watch: bool,
    /// Show words for people only as they are.
    only_plain: bool,
}

impl Can {
    fn of(parameters: &Value) -> Can {
        let can = |path: &str| parameters.pointer(path) == Some(&Value::Bool(true));
        Can {
            refresh_hints: can("/capabilities/workspace/inlayHint/refreshSupport"),
            watch: can("/capabilities/workspace/didChangeWatchedFiles/dynamicRegistration"),
            only_plain: [
                "/capabilities/textDocument/hover/contentFormat",
                "/capabilities/textDocument/completion/completionItem/documentationFormat",
            ]
            .iter()
            .filter_map(|path| parameters.pointer(path).and_then(Value::as_array))
            .any(|formats| !formats.contains(&json!("markdown"))),
        }
    }
}

/// What is told without being asked.
#[derive(Serialize)]
struct Notification<'a, P> {
    jsonrpc: &'static str,
    method: &'a str,
    params: P,
}

/// What is wrong with a text, as at each key it is written without a copy of it in between.
#[derive(Serialize)]
struct Published<'a> {
    uri: &'a str,
    #[serde(skip_serializing_if = "Option::is_none")]
    version: Option<i64>,
    diagnostics: &'a [Diagnostic],
}

/// Whether the conversation goes on.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Next {
    On,
    Ended,
}

impl Server {
    pub(super) fn new(rules: RuleOptions, known: KnownFiles, events: SyncSender<Event>) -> Server {
        Server {
            texts: Texts::new(rules, known),
            out: io::stdout(),
            events,
            stage: Stage::Begun,
            queue: VecDeque::new(),
            can: Can::default(),
            asked: 0,
        }
    }

    /// Answers until the editor is gone.
    pub(super) fn serve(mut self, events: &Receiver<Event>) -> Result<Exit, Failure> {
        loop {
            self.wait(events);
            self.queue.extend(events.try_iter().take(MOST_WAITING));
            while let Some(event) = self.queue.pop_front() {
                // What came meanwhile can take this back.
                if self.queue.len() < MOST_WAITING {
                    self.queue.extend(events.try_iter().take(MOST_WAITING));
                }
                if self.take(event)? == Next::Ended {
                    // The protocol has 0 for an end that was announced, and 1 for any other.
                    return Ok(if self.stage == Stage::Closing { Exit::Clean } else { Exit::Findings });
                }
            }
            self.work()?;
        }
    }

    /// Waits for what comes next, unless something is to be done meanwhile.
    fn wait(&mut self, events: &Receiver<Event>) {
        if !self.texts.waiting.is_empty() {
            return;
        }
        let next = match self.texts.is_stale() {
            None => events.recv().map_err(|_| RecvTimeoutError::Disconnected),
            // The first time nothing is shown until it is there.
            Some(true) => Err(RecvTimeoutError::Timeout),
            Some(false) => events.recv_timeout(PAUSE),
        };
        match next {
            Ok(event) => self.queue.push_back(event),
            Err(RecvTimeoutError::Timeout) => {
                self.texts.begin_checking();
                // Where nobody waits for what comes of it, the program ends.
                let events = self.events.clone();
                self.texts.begin_opening(&move |opening| {
                    let _ = events.send(Event::Opened(opening));
                });
                let events = self.events.clone();
                self.texts.begin_proving(move |proof| {
                    let _ = events.send(Event::Proved(proof));
                });
            }
            Err(RecvTimeoutError::Disconnected) => self.queue.push_back(Event::End),
        }
    }

    /// Judges one of the texts that wait for it.
    fn work(&mut self) -> Result<(), Failure> {
        let Some(address) = self.texts.waiting.pop_first() else { return Ok(()) };
        let said = sound(|| self.texts.say(&address));
        let said = said.unwrap_or_else(|fault| Some(vec![diagnostics::of_fault(&fault)]));
        let Some(said) = said else { return Ok(()) };
        let version = self.texts.open.get(&address).map(|open| open.version);
        self.notify(
            "textDocument/publishDiagnostics",
            Published { uri: &address, version, diagnostics: &said },
        )
    }

    fn take(&mut self, event: Event) -> Result<Next, Failure> {
        match event {
            Event::End => return Ok(Next::Ended),
            Event::Opened(opening) => {
                self.done(|texts| {
                    texts.take(*opening);
                    Ok(())
                })?;
            }
            Event::Proved(proof) => self.done(|texts| texts.take_proof(*proof))?,
            Event::Broken(why) => self.refuse(&Value::Null, &why)?,
            Event::Message(message) => return self.message(&message),
        }
        Ok(Next::On)
    }

    /// Takes what a thread has done.
    fn done(&mut self, take: impl FnOnce(&mut Texts) -> Result<(), Failure>) -> Result<(), Failure> {
        let taken =
            answered(|| take(&mut self.texts).map_err(|Failure(why)| Refused::new(error::INTERNAL, why)));
        if let Err(why) = taken {
            self.notify("window/logMessage", json!({ "type": 1, "message": why.message }))?;
        }
        if self.can.refresh_hints { self.ask("workspace/inlayHint/refresh", &Value::Null) } else { Ok(()) }
    }

    /// Asks the editor something; what it answers says no more than that it has.
    fn ask(&mut self, method: &str, parameters: &Value) -> Result<(), Failure> {
        self.asked += 1;
        let id = format!("{}-{}", env!("CARGO_PKG_NAME"), self.asked);
        self.write(&json!({ "jsonrpc": "2.0", "id": id, "method": method, "params": parameters }))
    }

    /// Asks to be told which files others have changed.
    fn watch(&mut self) -> Result<(), Failure> {
        let watchers = [json!({ "globPattern": "**/*.{yaml,yml,standard,json,csv}" })];
        let one = json!({
            "id": "files",
            "method": "workspace/didChangeWatchedFiles",
            "registerOptions": { "watchers": watchers },
        });
        self.ask("client/registerCapability", &json!({ "registrations": [one] }))
    }

    fn message(&mut self, message: &Value) -> Result<Next, Failure> {
        let nothing = Value::Null;
        let parameters = message.get("params").unwrap_or(&nothing);
        match (message.get("method").and_then(Value::as_str), message.get("id")) {
            (Some("exit"), _) => return Ok(Next::Ended),
            (Some(method), None) => self.told(method, parameters)?,
            (Some(method), Some(id)) => {
                let answer = self.asked(method, id, parameters);
                self.answer(id, answer)?;
                for (kind, message) in std::mem::take(&mut self.texts.messages) {
                    self.notify("window/showMessage", json!({ "type": kind, "message": message }))?;
                }
            }
            // What the editor answers to what it was told needs no answer.
            (None, Some(_)) if message.get("result").is_some() || message.get("error").is_some() => {}
            (None, id) => {
                let why = Refused::new(error::INVALID_REQUEST, "this is no message of the protocol");
                self.refuse(id.unwrap_or(&nothing), &why)?;
            }
        }
        Ok(Next::On)
    }

    /// Takes what needs no answer.
    fn told(&mut self, method: &str, parameters: &Value) -> Result<(), Failure> {
        if self.stage != Stage::Open {
            return Ok(());
        }
        match method {
            "textDocument/didClose" => return self.closed(parameters),
            "initialized" if self.can.watch => return self.watch(),
            _ => {}
        }
        match answered(|| self.noted(method, parameters)) {
            Ok(()) => Ok(()),
            Err(why) => self.notify("window/logMessage", json!({ "type": 1, "message": why.message })),
        }
    }

    fn noted(&mut self, method: &str, parameters: &Value) -> Result<(), Refused> {
        match method {
            "textDocument/didOpen" => {
                let Opened { text_document: one } = read(parameters)?;
                self.texts.open(&one.uri, one.version, one.text);
            }
            "textDocument/didChange" => self.changed(read(parameters)?)?,
            "workspace/didChangeWorkspaceFolders" => {
                let named = |of: &str| named_folders(parameters.pointer(of));
                self.texts.move_in(&named("/event/added"), &named("/event/removed"));
            }
            "textDocument/didSave" | "workspace/didChangeWatchedFiles" => self.texts.look_again(),
            _ => {}
        }
        Ok(())
    }

    fn changed(&mut self, changed: Changed) -> Result<(), Refused> {
        let Changed { text_document: one, content_changes } = changed;
        self.texts.change(&one.uri, one.version, content_changes).map_err(|why| {
            let why = match why {
                None => "is not open".to_owned(),
                Some(_) => {
                    self.texts.close(&one.uri);
                    "has too many changes at once, and is not followed any more; close and open it".to_owned()
                }
            };
            Refused::new(error::INVALID_PARAMS, format!("`{}` {why}", one.uri))
        })
    }

    fn closed(&mut self, parameters: &Value) -> Result<(), Failure> {
        let Ok(OfText { text_document: one }) = read(parameters) else { return Ok(()) };
        self.texts.close(&one.uri);
        let published = Published { uri: &one.uri, version: None, diagnostics: &[] };
        self.notify("textDocument/publishDiagnostics", published)
    }

    /// Answers a question.
    fn asked(&mut self, method: &str, id: &Value, parameters: &Value) -> Result<Value, Refused> {
        match (self.stage, method) {
            (Stage::Begun, "initialize") => {
                (self.stage, self.can) = (Stage::Open, Can::of(parameters));
                self.texts.live_in(&folders(parameters));
                return Ok(requests::capabilities());
            }
            (Stage::Begun, _) => {
                return Err(Refused::new(error::NOT_INITIALIZED, "`initialize` comes first"));
            }
            (Stage::Open, "initialize") => {
                return Err(Refused::new(error::INVALID_REQUEST, "`initialize` was asked already"));
            }
            (Stage::Closing, _) => {
                return Err(Refused::new(error::INVALID_REQUEST, "after `shutdown` nothing is answered"));
            }
            (Stage::Open, "shutdown") => {
                self.stage = Stage::Closing;
                return Ok(Value::Null);
            }
            (Stage::Open, _) => {}
        }
        if self.is_cancelled(id) {
            return Err(Refused::new(error::CANCELLED, "cancelled"));
        }
        if self.is_overtaken(method, parameters) {
            return Err(Refused::new(error::CONTENT_MODIFIED, "the text is another now"));
        }
        let answer = answered(|| requests::answer(&mut self.texts, method, parameters));
        answer.map(|answer| if self.can.only_plain { plain(answer) } else { answer })
    }

    /// Whether a question was taken back by something that came behind it.
    fn is_cancelled(&self, id: &Value) -> bool {
        self.queue.iter().any(|event| {
            let Event::Message(message) = event else { return false };
            message.get("method").and_then(Value::as_str) == Some("$/cancelRequest")
                && message.get("params").and_then(|parameters| parameters.get("id")) == Some(id)
        })
    }

    /// Whether what a question is about was changed by something that came behind it. The editor asks again.
    fn is_overtaken(&self, method: &str, parameters: &Value) -> bool {
        let uri = |parameters: Option<&Value>| parameters?.pointer("/textDocument/uri").cloned();
        let is_of_text = matches!(method, "textDocument/hover" | "textDocument/inlayHint");
        is_of_text
            && self.queue.iter().any(|event| {
                let Event::Message(message) = event else { return false };
                message.get("method").and_then(Value::as_str) == Some("textDocument/didChange")
                    && uri(message.get("params")) == uri(Some(parameters))
            })
    }

    fn answer(&mut self, id: &Value, answer: Result<Value, Refused>) -> Result<(), Failure> {
        match answer {
            Ok(result) => self.write(&json!({ "jsonrpc": "2.0", "id": id, "result": result })),
            Err(why) => self.refuse(id, &why),
        }
    }

    fn refuse(&mut self, id: &Value, why: &Refused) -> Result<(), Failure> {
        self.write(&json!({ "jsonrpc": "2.0", "id": id, "error": why }))
    }

    fn notify(&mut self, method: &str, params: impl Serialize) -> Result<(), Failure> {
        self.write(&Notification { jsonrpc: "2.0", method, params })
    }

    fn write(&mut self, message: &impl Serialize) -> Result<(), Failure> {
        let body = serde_json::to_vec(message).map_err(io::Error::from)?;
        Ok(frames::write(&mut self.out.lock(), &body)?)
    }
}

/// An answer, whatever happens to whoever looks for it.
fn answered<T>(work: impl FnOnce() -> Result<T, Refused>) -> Result<T, Refused> {
    sound(work).unwrap_or_else(|fault| Err(Refused::new(error::INTERNAL, fault.message)))
}

/// An answer in which the words for people have no marks.
fn plain(answer: Value) -> Value {
    match answer {
        Value::Array(entries) => entries.into_iter().map(plain).collect(),
        Value::Object(members) if members.get("kind") == Some(&json!("markdown")) => {
            let words = members.get("value").and_then(Value::as_str).unwrap_or_default();
            let lines = words.lines().filter(|line| !line.starts_with("```"));
            let lines: Vec<String> = lines.map(|line| line.replace("**", "")).collect();
            json!({ "kind": "plaintext", "value": lines.join("\n") })
        }
        Value::Object(members) => members.into_iter().map(|(name, member)| (name, plain(member))).collect(),
        other => other,
    }
}

/// The folders of the workspace that an editor names.
fn folders(parameters: &Value) -> Vec<PathBuf> {
    let mut all = named_folders(parameters.get("workspaceFolders"));
    if all.is_empty() {
        all.extend(parameters.get("rootUri").and_then(Value::as_str).and_then(uri::path));
        let path = parameters.get("rootPath").and_then(Value::as_str).map(PathBuf::from);
        all.extend(path.filter(|_| all.is_empty()));
    }
    let mut seen = BTreeSet::new();
    all.retain(|folder| folder.is_absolute() && seen.insert(folder.clone()));
    all
}

/// The folders of a list.
fn named_folders(list: Option<&Value>) -> Vec<PathBuf> {
    let list = list.and_then(Value::as_array).into_iter().flatten();
    list.filter_map(|folder| uri::path(folder.get("uri")?.as_str()?)).collect()
}

#[cfg(test)]
mod tests {
    use serde_json::json;

    use super::{answered, folders, plain};
    use crate::editor::protocol::{Refused, error};

    #[test]
    fn a_question_that_breaks_the_program_is_answered_by_an_error() {
        let broken: Result<(), Refused> = answered(|| panic!("an invariant"));
        assert_eq!(broken.unwrap_err().code, error::INTERNAL);
        assert_eq!(answered(|| Ok(json!(1))), Ok(json!(1)));
    }

    #[test]
    fn an_editor_without_markdown_gets_plain_words() {
        let marked = json!({ "contents": { "kind": "markdown", "value": "let **a**\n\n```standard\nlet a = 1\n```" }, "range": 1 });
        let bare = json!({ "contents": { "kind": "plaintext", "value": "let a\n\nlet a = 1" }, "range": 1 });
        assert_eq!(plain(marked), bare);
    }

    #[test]
    fn folders_are_those_of_the_workspace_or_else_the_root() {
        let names =
            |parameters| folders(&parameters).iter().map(|one| one.display().to_string()).collect::<Vec<_>>();
        let two = json!([{ "uri": "file:///b" }, { "uri": "file:///a" }, { "uri": "file:///b" }, { "uri": "http://x" }]);
        assert_eq!(names(json!({ "workspaceFolders": two, "rootUri": "file:///c" })), ["/b", "/a"]);
        assert_eq!(
            names(json!({ "workspaceFolders": null, "rootUri": "file:///c", "rootPath": "/d" })),
            ["/c"]
        );
        assert_eq!(names(json!({ "rootPath": "/d" })), ["/d"]);
        assert_eq!(names(json!({ "rootPath": "d", "rootUri": 3 })), [""; 0]);
    }
}
