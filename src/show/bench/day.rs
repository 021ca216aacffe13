//! The page of the day: the jobs of the folder.

use maud::{Markup, html};

use super::clean;
use super::notes::Verdict;
use super::page::Frame;
use super::words::Words;

/// So many jobs are shown.
pub const MOST_SHOWN: usize = 100;

/// A job in the list.
#[derive(Clone, Debug, Default)]
pub struct JobLine {
    /// The name by which the server knows its record.
    pub name: String,
    /// Its number.
    pub number: String,
    /// The plate of its vehicle.
    pub plate: String,
    /// The unit.
    pub unit: String,
    /// Who answers for the work.
    pub technician: String,
    /// Whether it is in work, in the words of the record.
    pub state: String,
    /// What it comes to, where it was judged already.
    pub verdict: Option<Verdict>,
}

impl JobLine {
    /// Whether a text that is sought, in small letters, is in it.
    #[must_use]
    pub fn has(&self, sought: &str) -> bool {
        let all = [&self.name, &self.number, &self.plate, &self.unit, &self.technician, &self.state];
        sought.split_whitespace().all(|word| all.iter().any(|text| text.to_lowercase().contains(word)))
    }
}

/// The page of the day.
pub struct DayPage<'d> {
    /// What is on every page.
    pub frame: &'d Frame,
    /// The jobs to show.
    pub jobs: &'d [JobLine],
    /// How many there are that fit.
    pub fitting: usize,
    /// What was sought.
    pub sought: &'d str,
    /// The procedures by which a job can be begun: name and title.
    pub procedures: &'d [(String, String)],
    /// What is wrong with rules and settings.
    pub faults: &'d [String],
}

impl DayPage<'_> {
    /// The whole page.
    #[must_use]
    pub fn whole(&self) -> String {
        let words = Words(self.frame.language);
        let body = html! {
            header class="top" { (self.frame.corner()) h1 { (words.say("day")) } }
            main id="main" {
                @for fault in self.faults { p class="locked" role="alert" { (clean(fault)) } }
                (self.search(words))
                (self.new_job(words))
                p role="status" { (words.count("jobs", self.fitting as u64)) "."
                    @if self.fitting > self.jobs.len() { " " (words.count("shown-jobs", self.jobs.len() as u64)) } }
                (self.table(words))
            }
        };
        self.frame.page(&words.say("day"), &body)
    }

    fn search(&self, words: Words) -> Markup {
        html! {
            form class="find" action="/" role="search" {
                label { (words.say("search")) input type="search" name="q" value=(clean(self.sought)); }
                button { (words.say("search")) }
            }
        }
    }

    fn new_job(&self, words: Words) -> Markup {
        html! {
            details {
                summary { (words.say("new-job")) }
                form class="new" method="post" action="/new" {
                    input type="hidden" name="token" value=(self.frame.token);
                    label { (words.say("new-job-number")) input name="number" required maxlength="40" autocomplete="off"; }
                    label { (words.say("new-job-procedure")) select name="procedure" {
                        option value="" { (words.say("without-procedure")) }
                        @for (name, title) in self.procedures { option value=(clean(name)) { (clean(title)) } }
                    } }
                    button { (words.say("create")) }
                }
            }
        }
    }

    fn table(&self, words: Words) -> Markup {
        let heads = ["job", "plate", "unit-of-job", "technician", "state", "found"];
        html! {
            table class="jobs" {
                caption class="skip" { (words.say("day")) }
                thead { tr { @for head in heads { th scope="col" { (words.say(head)) } } } }
                tbody {
                    @for job in self.jobs {
                        tr {
                            td { a href={ "/job?job=" (encoded(&job.name)) } { (clean(if job.number.is_empty() { &job.name } else { &job.number })) } }
                            td { (clean(&job.plate)) }
                            td { (clean(&job.unit)) }
                            td { (clean(&job.technician)) }
                            td { (clean(&words.word(&job.state))) }
                            (found(job.verdict.as_ref(), words))
                        }
                    }
                }
            }
        }
    }
}

fn found(verdict: Option<&Verdict>, words: Words) -> Markup {
    let Some(verdict) = verdict else { return html! { td data-waiting { (words.say("not-judged-yet")) } } };
    let state = verdict.weight().map_or("fine", super::notes::Weight::word);
    html! {
        td class="verdict" data-state=(state) {
            strong { (words.say(&format!("verdict-{state}"))) }
            @for (key, number) in verdict.counts() { " " (words.count(key, number)) }
        }
    }
}

/// A name as a part of an address.
#[must_use]
pub fn encoded(name: &str) -> String {
    let mut out = String::with_capacity(name.len());
    for byte in name.bytes() {
        match byte {
            b'a'..=b'z' | b'A'..=b'Z' | b'0'..=b'9' | b'-' | b'_' | b'.' | b'/' => out.push(char::from(byte)),
            other => out.push_str(&format!("%{other:02X}")),
        }
    }
    out
}
