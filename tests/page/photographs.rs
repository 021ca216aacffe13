//! Photographs: kept beside the record, named in it with what is in them, shown on its page, and looked at by `inspect`.

use std::fs;

use super::{Served, workshop};
use crate::support::Folder;

const JOB: &str = "jobs/K-2054-still-in-work.yaml";
const CLOSED: &str = "jobs/K-2041-six-speed.yaml";
/// What begins as a WebP file does (RFC 9649).
const PICTURE: &str = "RIFF....WEBPVP8 a picture";

fn send(served: &Served, job: &str, bytes: &str) -> u16 {
    served.post(&format!("/photo?job={job}"), bytes).status
}

fn kept(folder: &Folder) -> Vec<String> {
    let there = fs::read_dir(folder.path().join("jobs/photographs")).into_iter().flatten();
    there.map(|entry| entry.unwrap().file_name().into_string().unwrap()).collect()
}

#[test]
fn a_photograph_is_kept_named_and_shown() {
    let folder = workshop();
    let before = folder.read(JOB);
    let served = Served::new(&folder);
    assert_eq!(send(&served, JOB, PICTURE), 204);
    // Sent again, because its answer did not arrive.
    assert_eq!(send(&served, JOB, PICTURE), 204);
    let [file] = &kept(&folder)[..] else { panic!("{:?}", kept(&folder)) };
    assert!(file.starts_with("K-2054-still-in-work-") && file.ends_with(".webp"), "{file}");
    let text = folder.read(JOB);
    let rest = text.strip_prefix(before.trim_end()).unwrap_or_else(|| panic!("{text}"));
    assert_eq!(rest.matches("sha256:").count(), 1, "{rest}");
    assert!(rest.contains(&format!("path: photographs/{file}")), "{rest}");
    let page = served.get(&format!("/part?job={JOB}&also=")).body;
    assert!(page.contains("<img src=\"/photo?job="), "{page}");
    let shown = served.get(&format!("/photo?job={JOB}&number=0"));
    assert_eq!((shown.status, &*shown.body), (200, PICTURE));
    assert!(shown.head.contains("content-type: image/webp"), "{}", shown.head);
    let trail = folder.read("jobs/K-2054-still-in-work.trail.jsonl");
    assert!(trail.contains("photographs[0]"), "{trail}");
    // Another one is another entry, and can be taken for the first one by nobody.
    assert_eq!(send(&served, JOB, &PICTURE.replace("picture", "pan")), 204);
    assert_eq!(kept(&folder).len(), 2);
    assert_eq!(folder.read(JOB).matches("sha256:").count(), 2);
    let said = |folder: &Folder| {
        let out = folder.run(&format!("inspect {JOB} --as-of 2026-03-31")).out;
        out.split_whitespace().collect::<Vec<_>>().join(" ")
    };
    assert!(!said(&folder).contains("run/photograph"));
    folder.write(&format!("jobs/photographs/{file}"), "RIFF....WEBPVP8 of another day");
    let out = said(&folder);
    assert!(out.contains("is not the one that was recorded: its SHA-256 is"), "{out}");
    fs::remove_file(folder.path().join("jobs/photographs").join(file)).unwrap();
    let out = said(&folder);
    assert!(out.contains("cannot be read: there is no such file"), "{out}");
}

#[cfg(unix)]
#[test]
fn what_is_no_photograph_of_this_job_is_neither_taken_nor_shown() {
    let folder = workshop();
    fs::write(folder.path().join("secret.txt"), "of the workshop").unwrap();
    let outside = tempfile::tempdir().unwrap();
    fs::write(outside.path().join("far.webp"), PICTURE).unwrap();
    let far = outside.path().join("far.webp").display().to_string();
    fs::write(folder.path().join("jobs/page.webp"), "<script>").unwrap();
    let paths = ["../secret.txt", &far, "page.webp", "linked.webp"];
    std::os::unix::fs::symlink(&far, folder.path().join("jobs/linked.webp")).unwrap();
    let entries: String = paths.iter().map(|path| format!("  - {{path: \"{path}\"}}\n")).collect();
    let text = format!("{}photographs:\n{entries}", folder.read(JOB));
    folder.write(JOB, &text);
    let served = Served::new(&folder);
    for (number, path) in paths.iter().enumerate() {
        let shown = served.get(&format!("/photo?job={JOB}&number={number}"));
        assert_eq!(shown.status, 404, "{path}: {}", shown.body);
    }
    assert_eq!(served.get(&format!("/photo?job={JOB}&number=99")).status, 404);
    for bytes in ["", "<svg xmlns='http://www.w3.org/2000/svg'/>", "GIF89a", "RIFF....WAVE"] {
        assert_eq!(send(&served, JOB, bytes), 409, "{bytes}");
    }
    // A closed job is whole.
    assert_eq!(send(&served, CLOSED, PICTURE), 409);
    assert_eq!(send(&served, "jobs/none.yaml", PICTURE), 409);
    assert_eq!(folder.read(JOB), text);
    assert!(kept(&folder).is_empty());
    // Longer than any change may be, and than a photograph may be.
    let long = |length| format!("{PICTURE}{}", " ".repeat(length));
    assert_eq!(send(&served, JOB, &long(1 << 20)), 204);
    assert_eq!(send(&served, JOB, &long(9 << 20)), 413);
    // Not into a folder to which a link leads.
    fs::remove_dir_all(folder.path().join("jobs/photographs")).unwrap();
    std::os::unix::fs::symlink(outside.path(), folder.path().join("jobs/photographs")).unwrap();
    assert_eq!(send(&served, JOB, PICTURE), 409);
    assert_eq!(fs::read_dir(outside.path()).unwrap().count(), 1);
}

#[test]
fn only_a_page_of_this_server_sends_photographs() {
    let folder = workshop();
    let served = Served::new(&folder);
    let Served { host, cookie, .. } = &served;
    let before = folder.read(JOB);
    let asked = format!("POST /photo?job={JOB} HTTP/1.1\r\nHost: {host}\r\nOrigin: http://{host}\r\n");
    assert_eq!(served.send(&format!("{asked}Cookie: {cookie}\r\n"), PICTURE).status, 403);
    // Nobody who has not come in may send so much.
    assert_eq!(served.send(&asked, PICTURE).status, 401);
    assert_eq!(served.send(&asked, &" ".repeat(1 << 20)).status, 413);
    assert_eq!(folder.read(JOB), before);
}
