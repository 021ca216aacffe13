//! The page and the table: what they hold, where their links lead, and that a stranger's text is only text.

use std::collections::BTreeMap;

use jiff::civil::date;
use serde_json::Value;

use super::archive::{Job, RULES};
use crate::support::{Folder, text};

const AUDIT: &str = "audit jobs --standard house.standard --as-of 2026-03-31";

fn workshop() -> Folder {
    let folder = Folder::new();
    folder.write("house.standard", RULES);
    for number in 0..40_usize {
        let job = Job {
            day: date(2025, 6, 1).checked_add(jiff::Span::new().days(7 * number as i64)).unwrap(),
            torques: vec![960 + 2 * (number as i64 % 37), if number.is_multiple_of(9) { 1200 } else { 1095 }],
            technician: if number == 3 { "\"<script>alert(1)</script> & =1+1\"" } else { "Lene Brandt" },
            kind: if number.is_multiple_of(2) { "engine" } else { "wheels" },
            ..Job::of(number)
        };
        folder.write(&job.name(), job.text());
    }
    // A name that needs care in a link.
    folder.write("jobs/odd #1 100%.yaml", Job { torques: vec![1099], ..Job::of(77) }.text());
    folder
}

fn written(folder: &Folder, more: &str) -> String {
    folder.run(&format!("{AUDIT} {more}")).quietly(0).out
}

/// What stands between two texts, each time.
fn all_between<'t>(text: &'t str, from: &str, to: &str) -> Vec<&'t str> {
    text.split(from).skip(1).map(|rest| rest.split(to).next().unwrap()).collect()
}

fn decoded(link: &str) -> String {
    let mut bytes = Vec::new();
    let mut rest = link.bytes();
    while let Some(byte) = rest.next() {
        if byte == b'%' {
            let digits = [rest.next().unwrap(), rest.next().unwrap()];
            bytes.push(u8::from_str_radix(std::str::from_utf8(&digits).unwrap(), 16).unwrap());
        } else {
            bytes.push(byte);
        }
    }
    String::from_utf8(bytes).unwrap()
}

#[test]
fn each_link_leads_to_something() {
    let folder = workshop();
    std::fs::create_dir_all(folder.path().join("out/deep")).unwrap();
    folder.run(&format!("{AUDIT} --format html --output out/deep/audit.html")).quietly(0);
    let page = folder.read("out/deep/audit.html");
    let links = all_between(&page, "href=\"", "\"");
    assert!(links.len() > 30);
    let mut to_lines = 0;
    for link in links {
        match link.strip_prefix('#') {
            Some(id) => assert!(page.contains(&format!("id=\"{id}\"")), "{link}"),
            None => {
                assert!(link.starts_with("./../../jobs/"), "{link}");
                let (path, line) = link.split_once('#').unwrap_or((link, ""));
                let text = folder.read(&format!("out/deep/{}", decoded(path)));
                if let Some(line) = line.strip_prefix('L') {
                    to_lines += 1;
                    let line: usize = line.parse().unwrap();
                    assert!(text.lines().nth(line - 1).is_some_and(|line| line.contains("torque")), "{link}");
                }
            }
        }
    }
    assert!(to_lines > 10 && page.contains("odd%20%231%20100%25.yaml#L7"));
}

#[test]
fn the_page_and_the_table_say_what_the_json_says() {
    let folder = workshop();
    let report: Value = serde_json::from_str(&written(&folder, "--format json")).unwrap();
    let page = written(&folder, "--format html");
    let table = written(&folder, "--format csv");
    let mut by_section: BTreeMap<&str, Vec<usize>> = BTreeMap::new();
    for line in table.lines().skip(1) {
        let mut fields = line.split(',');
        let (section, row) = (fields.next().unwrap(), fields.next().unwrap().parse().unwrap());
        by_section.entry(section).or_default().push(row);
    }
    for (name, section) in report["sections"].as_object().unwrap() {
        let rows = section["rows"].as_array().unwrap().len();
        let of_page = page.split(&format!("<section id=\"{name}\">")).nth(1).unwrap();
        let of_page = of_page.split("</section>").next().unwrap();
        let body = of_page.split("<tbody>").nth(1).unwrap_or_default();
        assert_eq!(body.matches("<tr>").count(), rows, "{name}");
        let last = by_section.get(&**name).and_then(|rows| rows.iter().max()).copied().unwrap_or_default();
        assert_eq!(last, rows, "{name}");
    }
    let passed = &report["summary"]["passed"];
    assert!(table.contains(&format!("summary,1,passed,count,{}\n", passed["count"])), "{table}");
    assert!(table.contains(&format!("summary,1,passed,low,{}\n", passed["low"])));
    // A chart for the months, the kinds and the readings, with a table behind each.
    assert_eq!(page.matches("<svg").count(), 3);
    assert_eq!(page.matches("<figure>").count(), 3);
}

#[test]
fn a_stranger_writes_only_text() {
    let folder = workshop();
    let page = written(&folder, "--format html");
    assert!(page.contains("&lt;script&gt;alert(1)&lt;/script&gt; &amp; =1+1"));
    assert!(!page.contains("<script") && !page.contains("javascript:"));
    assert!(page.contains("default-src 'none'; style-src 'unsafe-inline'"));
    folder.write("jobs/x.yaml", Job { technician: "\"=HYPERLINK(1)\"", ..Job::of(90) }.text());
    folder.write("jobs/y.yaml", Job { technician: "'a \"b\", c'", ..Job::of(91) }.text());
    let table = written(&folder, "--format csv");
    assert!(table.contains(",technician,,'=HYPERLINK(1)\n"), "{table}");
    assert!(table.contains(",technician,,\"a \"\"b\"\", c\"\n"), "{table}");
    assert!(!table.contains(",="));
}

/// The relative luminance of a colour, and the contrast of two (WCAG 2.2, from memory).
fn contrast(one: &str, other: &str) -> f64 {
    let luminance = |colour: &str| {
        let digits: String = match colour.len() {
            4 => colour[1..].chars().flat_map(|digit| [digit, digit]).collect(),
            _ => colour[1..].to_owned(),
        };
        let part = |at: usize| {
            let share = f64::from(u8::from_str_radix(&digits[at..at + 2], 16).unwrap()) / 255.0;
            if share <= 0.04045 { share / 12.92 } else { ((share + 0.055) / 1.055).powf(2.4) }
        };
        0.2126 * part(0) + 0.7152 * part(2) + 0.0722 * part(4)
    };
    let (one, other) = (luminance(one), luminance(other));
    (one.max(other) + 0.05) / (one.min(other) + 0.05)
}

#[test]
fn colours_stand_out_light_and_dark() {
    assert!((contrast("#fff", "#000") - 21.0).abs() < 1e-9);
    let style = text("src/show/audit/forms/audit.css");
    let schemes: Vec<BTreeMap<&str, &str>> = all_between(&style, "--back:", "}")
        .into_iter()
        .map(|rest| {
            let pairs = rest.split(';').skip(1).filter_map(|pair| pair.trim().split_once(": "));
            let back = rest.split(';').next().unwrap().trim();
            pairs.chain([("--back", back)]).collect()
        })
        .collect();
    assert_eq!(schemes.len(), 3);
    for scheme in schemes {
        for (name, least) in
            [("--text", 7.0), ("--quiet", 4.5), ("--link", 4.5), ("--mark", 4.5), ("--out", 4.5)]
        {
            let found = contrast(scheme[name], scheme["--back"]);
            assert!(found >= least, "{name} {}: {found:.2}", scheme[name]);
        }
    }
}
