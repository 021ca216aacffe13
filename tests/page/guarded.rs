//! Who is served, and what is refused.

use std::io::{Read, Write};
use std::net::TcpStream;

use super::{Served, workshop};

#[test]
fn only_its_own_pages_in_a_browser_that_has_the_link_are_served() {
    let folder = workshop();
    let served = Served::new(&folder);
    let Served { host, cookie, token, .. } = &served;
    let send = |head: String| served.send(&head, "{}").status;
    assert_eq!(send(format!("GET / HTTP/1.1\r\nHost: {host}\r\nCookie: {cookie}\r\n")), 200);
    assert_eq!(send(format!("GET / HTTP/1.1\r\nHost: {host}\r\n")), 401, "without a cookie");
    assert_eq!(send(format!("GET /enter/0123 HTTP/1.1\r\nHost: {host}\r\n")), 403, "a wrong link");
    // A name of somebody else's that leads here.
    assert_eq!(send(format!("GET / HTTP/1.1\r\nHost: evil.example:4810\r\nCookie: {cookie}\r\n")), 421);
    assert_eq!(send(format!("DELETE / HTTP/1.1\r\nHost: {host}\r\nCookie: {cookie}\r\n")), 405);
    let post = |origin: &str, token: &str| {
        send(format!(
            "POST /change HTTP/1.1\r\nHost: {host}\r\n{origin}Cookie: {cookie}\r\nX-Bench-Token: {token}\r\n"
        ))
    };
    assert_eq!(post(&format!("Origin: http://{host}\r\n"), token), 400, "nothing is wrong but what it says");
    assert_eq!(post("Origin: http://evil.example\r\n", token), 403);
    assert_eq!(post("", token), 403, "without an origin");
    assert_eq!(post(&format!("Origin: http://{host}\r\n"), "0123"), 403, "without the token");
    let long = "x".repeat(300 * 1024);
    let head = format!(
        "POST /change HTTP/1.1\r\nHost: {host}\r\nOrigin: http://{host}\r\nCookie: {cookie}\r\nX-Bench-Token: {token}\r\n"
    );
    assert_eq!(served.send(&head, &long).status, 413);
    for _ in 0..40 {
        served.get("/enter/0123");
    }
    assert_eq!(
        send(format!("GET / HTTP/1.1\r\nHost: {host}\r\nCookie: {cookie}\r\n")),
        200,
        "whoever is in stays in"
    );
}

#[test]
fn every_answer_has_its_policy_and_nothing_comes_from_outside() {
    let folder = workshop();
    let served = Served::new(&folder);
    for path in ["/", "/job?job=jobs/K-2054-still-in-work.yaml", "/assets/bench.js", "/nothing"] {
        let got = served.get(path);
        assert!(
            got.head.contains("content-security-policy: default-src 'none'; script-src 'self'"),
            "{}",
            got.head
        );
        assert!(got.head.contains("x-content-type-options: nosniff"));
        for outside in ["http://", "https://", "//cdn", " style=", "<style", " onclick="] {
            let body = got.body.replace("http://www.w3.org/2000/svg", "");
            assert!(!body.contains(outside), "{path} has {outside}");
        }
    }
}

#[test]
fn no_path_leaves_the_folder() {
    let folder = workshop();
    folder.write("secret.txt", "form: job/1\n");
    let served = Served::new(&folder);
    for name in ["../workshop.yaml", "/etc/passwd", "jobs/../../x", "secret.txt", "%2e%2e/x", "", "jobs"] {
        for path in ["/job", "/state", "/part"] {
            assert_eq!(served.get(&format!("{path}?job={name}")).status, 404, "{path} {name}");
        }
        let asked = format!("{{\"job\": \"{name}\", \"changes\": []}}");
        assert_eq!(served.post("/change", &asked).status, 409, "{name}");
    }
}

#[test]
fn a_hostile_record_is_shown_harmlessly() {
    let folder = workshop();
    let text = "form: job/1\njob: {number: \"<script>alert(1)</script>\", opened: 2026-03-02T08:15, state: in work}\n\
                vehicle: {plate: \"\\\" onmouseover=x \\u202e\"}\nunit: {kind: engine}\n\
                fastenings: [{role: \"<img src=x onerror=alert(1)>\", place: \"'\\\"<b>\", torque: \"<svg>\"}]\n";
    folder.write("jobs/hostile.yaml", text);
    let served = Served::new(&folder);
    for path in ["/", "/job?job=jobs/hostile.yaml", "/part?job=jobs/hostile.yaml"] {
        let got = served.get(path);
        assert_eq!(got.status, 200);
        // Where the page keeps what is recorded, to compare it, it is as it is recorded; it is not shown there.
        let shown = got
            .body
            .split(" data-base=\"")
            .map(|part| part.split_once('"').map_or(part, |(_, rest)| rest))
            .collect::<String>();
        let got_body = if path == "/" { got.body.clone() } else { shown };
        for markup in ["<script>alert", "<img", "<svg>", "\u{202e}", "\" onmouseover"] {
            assert!(!got_body.contains(markup), "{path}: {markup}");
        }
    }
    let state = served.get("/state?job=jobs/hostile.yaml&since=").json();
    let rows = state["rows"].as_array().unwrap().iter().map(|row| row["notes"].as_str().unwrap());
    let others = state["others"].as_object().unwrap().values().map(|html| html.as_str().unwrap());
    for html in rows.chain(others) {
        assert!(!html.contains("<img") && !html.contains("<svg>") && !html.contains("<script>"), "{html}");
    }
}

#[test]
fn pages_are_packed_for_browsers_that_unpack_them() {
    let folder = workshop();
    let served = Served::new(&folder);
    let path = "/job?job=jobs/K-2041-six-speed.yaml";
    let whole = served.get(path);
    let Served { host, cookie, .. } = &served;
    let asked = format!(
        "GET {path} HTTP/1.1\r\nHost: {host}\r\nCookie: {cookie}\r\nAccept-Encoding: gzip, deflate\r\n"
    );
    let head = served.head(&asked);
    assert!(head.contains("content-encoding: deflate"), "{head}");
    let length = head.lines().find_map(|line| line.strip_prefix("content-length: ")).unwrap();
    assert!(length.parse::<usize>().unwrap() * 4 < whole.body.len(), "{length} of {}", whole.body.len());
    assert!(whole.body.len() < 200_000 && !whole.head.contains("content-encoding"), "{}", whole.head);
}

#[test]
fn what_a_request_says_twice_or_to_others_is_refused() {
    let folder = workshop();
    let served = Served::new(&folder);
    let Served { host, cookie, token, .. } = &served;
    let send = |head: String| served.send(&head, "{}").status;
    let asked = format!("Host: {host}\r\nCookie: {cookie}\r\n");
    assert_eq!(send(format!("GET / HTTP/1.1\r\n{asked}")), 200);
    assert_eq!(send(format!("GET / HTTP/1.1\r\n{asked}Host: evil.example\r\n")), 400);
    assert_eq!(send(format!("GET / HTTP/1.1\r\n{asked}Host: {host}\r\n")), 400);
    assert_eq!(send(format!("GET / HTTP/1.1\r\n{asked}Cookie: a=b\r\n")), 400);
    assert_eq!(send(format!("GET http://{host}/ HTTP/1.1\r\n{asked}")), 400);
    assert_eq!(send(format!("GET http://evil.example/ HTTP/1.1\r\n{asked}")), 400);
    let job = "jobs/K-2054-still-in-work.yaml";
    let before = folder.read(job);
    let change = "{\"row\": \"job.remarks\", \"base\": \"\", \"value\": \"seen\"}";
    for body in [
        format!("{{\"job\": \"{job}\", \"job\": \"{job}\", \"changes\": [{change}]}}"),
        format!("{{\"job\": \"{job}\", \"changes\": [], \"changes\": [{change}]}}"),
        format!("{{\"job\": \"{job}\", \"changes\": [{}]}}", change.replace("{", "{\"value\": \"x\", ")),
        format!("{{\"job\": \"{job}\", \"changes\": [{change}], \"jobs\": 1}}"),
    ] {
        assert_eq!(served.post("/change", &body).status, 400, "{body}");
    }
    for body in
        [format!("token={token}&token=x&number=K-2100"), format!("token={token}&number=K-1&number=K-2")]
    {
        let got = served.post("/new", &body);
        assert_eq!(got.status, 400, "{body}");
    }
    assert_eq!(folder.read(job), before);
    assert!(!folder.has("jobs/K-1.yaml") && !folder.has("jobs/K-2100.yaml"));
}

/// Connections that ask nothing make room for those that do.
#[test]
fn many_connections_that_ask_nothing_keep_nobody_out() {
    let folder = workshop();
    let served = Served::new(&folder);
    let idle: Vec<TcpStream> = (0..300).map(|_| TcpStream::connect(&served.host).unwrap()).collect();
    // Those that send the beginning of a request and no more do so too.
    let head = format!("POST /change HTTP/1.1\r\nHost: {0}\r\nOrigin: http://{0}\r\n", served.host);
    for mut stream in &idle[200..] {
        write!(stream, "{head}Content-Length: 5000\r\n\r\nx").unwrap();
    }
    assert_eq!(served.get("/").status, 200);
}

/// In a network, one that asks without end is not answered without end.
#[test]
fn an_address_of_the_network_is_answered_so_often_and_no_more() {
    let folder = workshop();
    super::people::person(&folder, "Lene Brandt", "foreman");
    for (served, is_bounded) in [(Served::in_network(&folder), true), (Served::new(&folder), false)] {
        let mut stream = TcpStream::connect(&served.host).unwrap();
        let asked = format!("GET /enter/0 HTTP/1.1\r\nHost: {}\r\n\r\n", served.host);
        let last = asked.replace("\r\n\r\n", "\r\nConnection: close\r\n\r\n");
        let mut sending = stream.try_clone().unwrap();
        let sender = std::thread::spawn(move || {
            for _ in 0..1_000 {
                sending.write_all(asked.as_bytes()).unwrap();
            }
            sending.write_all(last.as_bytes()).unwrap();
        });
        let mut answers = String::new();
        stream.read_to_string(&mut answers).unwrap();
        sender.join().unwrap();
        assert_eq!(answers.matches("HTTP/1.1 ").count(), 1_001);
        assert_eq!(answers.contains("HTTP/1.1 429"), is_bounded);
    }
}
