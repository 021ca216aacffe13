//! The page at the bench as a browser asks for it: `witnessmark bench`. What a person sees of it is tested with a real browser,
//! by `tests/page/run`.

mod changes;
mod closing;
mod guarded;
mod people;
mod photographs;
mod same_verdict;
mod trail;
mod words;

use std::io::{BufRead, BufReader, Read, Write};
use std::net::TcpStream;
use std::process::{Child, Command, Stdio};

use serde_json::{Value, json};

use crate::support::{Folder, files_below, program, text};

/// A folder with the records, procedures, tools and settings of the examples.
pub fn workshop() -> Folder {
    let folder = Folder::new();
    for file in files_below("examples/grauwasser") {
        folder.write(file.strip_prefix("examples/grauwasser/").unwrap(), text(&file));
    }
    folder
}

/// The day on which the examples are judged.
pub const DAY: &str = "2026-03-31";

/// The program, serving a folder.
pub struct Served {
    child: Child,
    /// What it said when it was ready.
    pub said: String,
    pub host: String,
    secret: String,
    pub cookie: String,
    pub token: String,
}

impl Drop for Served {
    fn drop(&mut self) {
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}

/// An answer of the server.
#[derive(Debug)]
pub struct Got {
    pub status: u16,
    pub head: String,
    pub body: String,
}

impl Got {
    pub fn json(&self) -> Value {
        assert_eq!(self.status, 200, "{}", self.body);
        serde_json::from_str(&self.body).unwrap_or_else(|error| panic!("{error}: {}", self.body))
    }
}

impl Served {
    /// Serves the working folder of a test, as of the day of the examples.
    pub fn new(folder: &Folder) -> Served {
        Served::started(folder, &["--as-of", DAY])
    }

    /// The same as of today.
    pub fn today(folder: &Folder) -> Served {
        Served::started(folder, &[])
    }

    /// In a network, which here is this machine again.
    pub fn in_network(folder: &Folder) -> Served {
        Served::started(folder, &["--network", "127.0.0.1"])
    }

    fn started(folder: &Folder, options: &[&str]) -> Served {
        let mut command: Command = program(folder.path());
        command.args(["bench", ".", "--port", "0"]).args(options);
        let mut child = command.stdout(Stdio::piped()).stdin(Stdio::null()).spawn().unwrap();
        let mut out = BufReader::new(child.stdout.take().unwrap());
        let mut said = String::new();
        while !said.contains("Ctrl+C") {
            assert!(out.read_line(&mut said).unwrap() > 0, "the server said no link: {said}");
        }
        let link = said.lines().find_map(|line| line.trim().strip_prefix("http://")).unwrap().to_owned();
        let (host, secret) = link.split_once("/enter/").unwrap();
        let (host, secret) = (host.to_owned(), secret.to_owned());
        let mut served = Served { child, said, host, secret, cookie: String::new(), token: String::new() };
        let entered = served.get(&format!("/enter/{}", served.secret.clone()));
        assert_eq!(entered.status, 303, "{entered:?}");
        let cookie = entered.head.lines().find_map(|line| line.strip_prefix("set-cookie: ")).unwrap();
        served.cookie = cookie.split(';').next().unwrap().to_owned();
        let day = served.get("/");
        let token = day.body.split_once("name=\"token\" content=\"").unwrap().1;
        served.token = token.split('"').next().unwrap().to_owned();
        served
    }

    /// Ends the program at once, as a loss of power does.
    pub fn kill(&mut self) {
        self.child.kill().unwrap();
        self.child.wait().unwrap();
    }

    pub fn get(&self, path: &str) -> Got {
        let cookie = format!("Cookie: {}\r\n", self.cookie);
        self.send(&format!("GET {path} HTTP/1.1\r\nHost: {}\r\n{cookie}", self.host), "")
    }

    pub fn post(&self, path: &str, body: &str) -> Got {
        let Served { host, cookie, token, .. } = self;
        let head = format!(
            "POST {path} HTTP/1.1\r\nHost: {host}\r\nOrigin: http://{host}\r\nCookie: {cookie}\r\nX-Bench-Token: {token}\r\n"
        );
        self.send(&head, body)
    }

    /// Sends a request as it is given.
    pub fn send(&self, head: &str, body: &str) -> Got {
        let mut stream = TcpStream::connect(&self.host).unwrap();
        let length = body.len();
        write!(stream, "{head}Content-Length: {length}\r\nConnection: close\r\n\r\n{body}").unwrap();
        let mut answer = String::new();
        stream.read_to_string(&mut answer).unwrap();
        let (head, body) = answer.split_once("\r\n\r\n").unwrap_or((&answer, ""));
        let status = head.split(' ').nth(1).and_then(|status| status.parse().ok()).unwrap_or_default();
        Got { status, head: head.to_owned(), body: body.to_owned() }
    }

    /// The head alone of what is answered, whose body may be no text.
    pub fn head(&self, asked: &str) -> String {
        let mut stream = TcpStream::connect(&self.host).unwrap();
        write!(stream, "{asked}Connection: close\r\n\r\n").unwrap();
        let mut answer = Vec::new();
        stream.read_to_end(&mut answer).unwrap();
        let answer = String::from_utf8_lossy(&answer).into_owned();
        answer.split("\r\n\r\n").next().unwrap().to_owned()
    }

    /// Changes one field, which a browser has seen as `base`; what became of it, and the state.
    pub fn change(&self, job: &str, row: &str, base: &str, value: &str) -> (Value, Value) {
        let asked = json!({"job": job, "changes": [{"row": row, "base": base, "value": value}]});
        let done = self.post("/change", &asked.to_string()).json();
        (done["results"][0].clone(), done["state"].clone())
    }

    /// How a job is.
    pub fn state(&self, job: &str) -> Value {
        self.get(&format!("/state?job={job}&since=")).json()
    }
}

/// What is recorded in a row of a state.
pub fn base(state: &Value, row: &str) -> String {
    let rows = state["rows"].as_array().unwrap();
    let found = rows.iter().find(|one| one["id"] == row).unwrap_or_else(|| panic!("no row {row}"));
    found["base"].as_str().unwrap().to_owned()
}

/// The texts of the notes in a piece of a page, with the name of the rule or code of each.
pub fn notes(html: &str) -> Vec<(String, String)> {
    let plain = |text: &str| {
        let text = text.replace("&lt;", "<").replace("&gt;", ">").replace("&quot;", "\"");
        text.replace("&amp;", "&")
    };
    let mut notes = Vec::new();
    for note in html.split("<details class=\"note\"").skip(1) {
        let summary = note.split_once("</span> ").unwrap().1.split_once("</summary>").unwrap().0;
        let name = note.split("<dd>").last().unwrap().split_once("</dd>").unwrap().0;
        notes.push((plain(name), plain(summary)));
    }
    notes
}
