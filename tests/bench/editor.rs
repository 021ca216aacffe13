//! How soon an editor is told what is wrong, from a key to the answer: `cargo bench --profile dist --bench editor`, or with
//! `-- quick` for a glance. The program itself is started and spoken to as an editor does it.
#![expect(
    clippy::unwrap_used,
    clippy::indexing_slicing,
    clippy::string_slice,
    clippy::print_stdout,
    clippy::disallowed_methods,
    reason = "a program for developers stops where something fails, prints, and measures time"
)]

use std::fs;
use std::io::{BufRead, BufReader, Read, Write};
use std::path::Path;
use std::process::{Child, ChildStdin, ChildStdout, Command, Stdio};
use std::time::{Duration, Instant};

use serde_json::{Value, json};

/// How many keys are typed, and how many jobs are around.
const FULL: (usize, usize) = (1_000, 10_000);
const QUICK: (usize, usize) = (200, 2_000);

/// From a key to diagnostics, in ms.
const GOAL: f64 = 10.0;

fn main() {
    let is_quick = std::env::args().any(|argument| argument == "quick");
    let (keys, jobs) = if is_quick { QUICK } else { FULL };
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    for around in [1_000, jobs] {
        let folder = tempfile::tempdir().unwrap();
        workshop(folder.path(), around);
        let begun = Instant::now();
        let mut editor = Editor::start(folder.path());
        let record = record(0, 80);
        let uri = editor.open(&folder.path().join("jobs/K-0.yaml"), &record);
        println!("{around} jobs around, opened and a record judged: {:.0} ms", ms(begun.elapsed()));
        let at = record.find("torque: 1").unwrap() + "torque: 1".len();
        let label = format!("a key in a record of {} bytes, {around} jobs around", record.len());
        row(&label, editor.keys(&uri, &record, at, ["0", "1"], keys));
    }
    let largest = fs::read_dir(root.join("rules")).unwrap().map(|entry| entry.unwrap().path());
    let largest = largest.filter(|path| path.extension().is_some_and(|ending| ending == "standard"));
    let largest = largest.max_by_key(|path| fs::metadata(path).unwrap().len()).unwrap();
    let text = fs::read_to_string(&largest).unwrap();
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("largest.standard");
    fs::write(&path, &text).unwrap();
    let mut editor = Editor::start(folder.path());
    let uri = editor.open(&path, &text);
    let at = text.find("because   \"").unwrap() + "because   \"".len();
    let label = format!("a key in {}, {} bytes", largest.file_name().unwrap().display(), text.len());
    row(&label, editor.keys(&uri, &text, at, ["A", "B"], keys));
}

fn ms(time: Duration) -> f64 {
    time.as_secs_f64() * 1000.0
}

fn row(label: &str, mut times: Vec<Duration>) {
    times.sort_unstable();
    let at = |share: usize| ms(times[(times.len() - 1) * share / 100]);
    let verdict = if at(99) <= GOAL { "reached" } else { "missed" };
    println!("{label}: median {:.1} ms, 99 % {:.1} ms (at most {GOAL} ms: {verdict})", at(50), at(99));
}

/// A workshop with so many jobs.
fn workshop(folder: &Path, jobs: usize) {
    let settings = "form: workshop/1\nworkshop: {name: W}\ntime_zone: UTC\ndocuments: {jobs: [jobs]}\n\
                    parameters: {fastenings.torque: {six speed: {sump screw: 10 Nm ± 10 %}}}\n";
    fs::write(folder.join("workshop.yaml"), settings).unwrap();
    fs::create_dir(folder.join("jobs")).unwrap();
    for number in 0..jobs {
        fs::write(folder.join(format!("jobs/K-{number}.yaml")), record(number, 10)).unwrap();
    }
}

fn record(number: usize, screws: usize) -> String {
    let mut text = format!(
        "form: job/1\njob: {{number: K-{number}, opened: 2026-{:02}-{:02}T08:00:00Z, state: closed}}\nvehicle: {{plate: QX {}, odometer: {} km}}\n\
         unit: {{kind: stepped automatic, family: six speed}}\nfastenings:\n",
        number % 12 + 1,
        number % 28 + 1,
        number % 500,
        10_000 + number
    );
    for screw in 1..=screws {
        text.push_str(&format!("  - role: sump screw\n    place: A{screw}\n    torque: 1{} Nm\n    thread: M8\n    new: yes\n    property_class: 8.8\n    order: {screw}\n", screw % 2));
    }
    text
}

struct Editor {
    child: Child,
    input: ChildStdin,
    output: BufReader<ChildStdout>,
    version: usize,
}

impl Editor {
    fn start(folder: &Path) -> Editor {
        let mut command = Command::new(env!("CARGO_BIN_EXE_witnessmark"));
        command.arg("editor").current_dir(folder).stdin(Stdio::piped()).stdout(Stdio::piped());
        let mut child = command.spawn().unwrap();
        let (input, output) = (child.stdin.take().unwrap(), BufReader::new(child.stdout.take().unwrap()));
        let mut editor = Editor { child, input, output, version: 1 };
        let folders = json!([{ "uri": format!("file://{}", folder.display()), "name": "w" }]);
        editor.send(&json!({ "id": 1, "method": "initialize", "params": { "workspaceFolders": folders } }));
        editor.wait(|message| message.get("id").is_some());
        editor
    }

    fn send(&mut self, message: &Value) {
        let body = message.to_string();
        write!(self.input, "Content-Length: {}\r\n\r\n{body}", body.len()).unwrap();
        self.input.flush().unwrap();
    }

    fn wait(&mut self, is_it: impl Fn(&Value) -> bool) {
        loop {
            let mut line = String::new();
            self.output.read_line(&mut line).unwrap();
            let length: usize = line.trim().rsplit(' ').next().unwrap().parse().unwrap();
            self.output.read_line(&mut line).unwrap();
            let mut body = vec![0; length];
            self.output.read_exact(&mut body).unwrap();
            if is_it(&serde_json::from_slice(&body).unwrap()) {
                return;
            }
        }
    }

    fn judged(&mut self) {
        let version = self.version;
        self.wait(|message| message["params"]["version"] == version);
    }

    fn open(&mut self, path: &Path, text: &str) -> String {
        let uri = format!("file://{}", path.display());
        let one = json!({ "uri": uri, "languageId": "yaml", "version": 1, "text": text });
        self.send(&json!({ "method": "textDocument/didOpen", "params": { "textDocument": one } }));
        self.judged();
        uri
    }

    /// One letter becomes another, and back, so often; how long each took to be judged.
    fn keys(&mut self, uri: &str, text: &str, at: usize, letters: [&str; 2], keys: usize) -> Vec<Duration> {
        let before = &text[..at];
        let line = before.matches('\n').count();
        let character = before.rsplit('\n').next().unwrap().encode_utf16().count();
        let range = json!({
            "start": { "line": line, "character": character },
            "end": { "line": line, "character": character + 1 },
        });
        let mut times = Vec::with_capacity(keys);
        for key in 0..keys {
            self.version += 1;
            let change = json!([{ "range": range, "text": letters[(key + 1) % 2] }]);
            let one = json!({ "uri": uri, "version": self.version });
            let message = json!({ "method": "textDocument/didChange", "params": { "textDocument": one, "contentChanges": change } });
            let begun = Instant::now();
            self.send(&message);
            self.judged();
            times.push(begun.elapsed());
        }
        times
    }
}

impl Drop for Editor {
    fn drop(&mut self) {
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}
