//! A logbook as a text, and the way from each value in it back to its record.

use std::fmt::Write as _;

use super::entry::{AT, COPIED, Entry, JOB, ODOMETER, Said};
use super::sweep::{AtOnce, at_once};
use super::{About, Logbooks, Subject};
use crate::source::Span;
use crate::trade::form::LOGBOOK;

/// The text of a logbook.
#[derive(Clone, Debug, Default)]
pub struct Written {
    /// The text.
    pub text: String,
    /// Where its values come from, in the order of the text: an entry before its values.
    back: Vec<Back>,
}

/// A part of the text of a logbook, and where it comes from.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Back {
    /// The part.
    made: Span,
    /// The number of the job.
    pub job: u32,
    /// Where in its record it stands.
    pub at: Span,
}

impl Written {
    /// Where a part of the text comes from: the value that holds it, else its job.
    #[must_use]
    pub fn back(&self, part: Span) -> Option<Back> {
        let upto = self.back.partition_point(|back| back.made.start <= part.start);
        let before = self.back.get(..upto)?;
        before.iter().rev().take(MOST_LINES).find(|back| part.end <= back.made.end).copied()
    }

    fn line(&mut self, first: bool, name: &str, text: &str) -> Span {
        let lead = if first { "- " } else { "  " };
        let _ = write!(self.text, "{lead}{name}: ");
        let start = self.text.len();
        self.text.push_str(text);
        let span = Span::new(start, self.text.len());
        self.text.push('\n');
        span
    }

    fn copied(&mut self, name: &str, said: &Said, job: u32) {
        let made = self.line(false, name, &single(&said.text, said.is_read));
        self.back.push(Back { made, job, at: said.at });
    }

    /// An entry of a list, which begins with its record and comes from this place in it.
    fn entry(&mut self, (job, entry): (u32, &Entry), at: Span, fields: impl FnOnce(&mut Written)) {
        let (start, number) = (self.text.len(), self.back.len());
        self.back.push(Back { made: Span::default(), job, at });
        self.line(true, RECORD, &single(&entry.record, true));
        fields(self);
        let made = Span::new(start, self.text.len());
        if let Some(back) = self.back.get_mut(number) {
            back.made = made;
        }
    }
}

/// What the logbook of a tool says of a job. One tool can be used in every job of an archive, and its logbook must not become too
/// large for a document by what says nothing of the tool.
const OF_TOOLS: [&str; 4] = [JOB, AT, "kind", "technician"];

/// No entry has more lines.
const MOST_LINES: usize = 32;

/// The field that names the record.
const RECORD: &str = "recorded_in";

/// A value on one line. One that cannot be read in the record is put into a list, where no field has one, so that
/// it cannot be read here.
fn single(text: &str, is_read: bool) -> String {
    let is_plain = |c: char| c.is_alphanumeric() || matches!(c, '-' | '.' | '/' | ':' | '_' | ' ' | '°');
    let begins = text.starts_with(|c: char| c.is_ascii_alphanumeric());
    let plain = begins && text.chars().all(is_plain) && !text.contains(": ") && !text.ends_with([':', ' ']);
    if plain && is_read {
        return text.to_owned();
    }
    let mut quoted = String::from("\"");
    for c in text.chars() {
        match c {
            '"' | '\\' => quoted.extend(['\\', c]),
            // Some build servers take two of them for the beginning of a command, wherever they stand.
            '#' if quoted.ends_with('#') => quoted.push_str("\\U00000023"),
            c if c.is_control() || crate::letters::is_unseen(c) => {
                let _ = write!(quoted, "\\U{:08X}", u32::from(c));
            }
            c => quoted.push(c),
        }
    }
    quoted.push('"');
    if is_read { quoted } else { format!("[{quoted}]") }
}

impl Logbooks {
    /// The logbook of somebody or something.
    #[must_use]
    pub fn written(&self, subject: &Subject) -> Written {
        let mut written = Written::default();
        let _ = writeln!(written.text, "form: {LOGBOOK}/1");
        let _ = writeln!(written.text, "about: {}", subject.about.word());
        let _ = writeln!(written.text, "name: {}", single(&subject.name, true));
        let jobs = || self.entries_of(&subject.jobs);
        if subject.about == About::Vehicle
            && let Some(vin) = jobs().filter_map(|(_, entry)| entry.vin.as_ref()).find(|vin| vin.is_read)
        {
            let _ = writeln!(written.text, "vin: {}", single(&vin.text, true));
        }
        let at_once = if subject.about == About::Lift { at_once(jobs()) } else { Vec::new() };
        let mut at_once = at_once.into_iter();
        written.text.push_str("jobs:\n");
        for (job, entry) in jobs() {
            let at_once = at_once.next();
            written.entry((job, entry), entry.at, |written| {
                for (which, said) in &entry.copied {
                    let name = COPIED.get(usize::from(*which)).map_or("", |(name, _)| *name);
                    if subject.about != About::Tool || OF_TOOLS.contains(&name) {
                        written.copied(name, said, job);
                    }
                }
                entry.vehicle.iter().for_each(|said| written.copied("vehicle", said, job));
                match (&entry.renewed, subject.about) {
                    (_, About::Tool) => written.operations(entry, subject, job),
                    (Some(said), _) => written.copied("renewed", said, job),
                    (None, _) => drop(written.line(false, "renewed", "no")),
                }
                match at_once {
                    Some(AtOnce::Known(count)) => {
                        let made = written.line(false, AT_ONCE, &count.to_string());
                        let at = entry.named(subject.about).map_or(entry.at, |lift| lift.at);
                        written.back.push(Back { made, job, at });
                    }
                    Some(AtOnce::Open(other)) => {
                        let made = written.line(false, AT_ONCE, &single("not known", false));
                        let at = self.entries.get(other as usize).map_or(entry.at, |other| other.at);
                        written.back.push(Back { made, job: other, at });
                    }
                    None => {}
                }
            });
        }
        if subject.about == About::Vehicle {
            self.faults(subject, &mut written);
        }
        written
    }

    fn faults(&self, subject: &Subject, written: &mut Written) {
        let mut heading = Some("faults:\n");
        for (job, entry) in self.entries_of(&subject.jobs) {
            for found in &entry.faults {
                written.text.push_str(heading.take().unwrap_or_default());
                written.entry((job, entry), found.code.at, |written| {
                    for name in [JOB, AT, ODOMETER] {
                        entry.copy(name).into_iter().for_each(|said| written.copied(name, said, job));
                    }
                    written.copied("code", &found.code, job);
                    found.status.iter().for_each(|status| written.copied("status", status, job));
                });
            }
        }
    }
}

/// The field that says how many jobs stood on a lift.
const AT_ONCE: &str = "at_once";

impl Written {
    /// How often the tool was used in a job, under all of its spellings.
    fn operations(&mut self, entry: &Entry, subject: &Subject, job: u32) {
        let is_this = |key: &str| subject.names.iter().any(|(_, name)| name == key);
        let uses: Vec<_> = entry.tools.iter().filter(|tool| is_this(&tool.key)).collect();
        let sum = uses.iter().try_fold(0_u64, |sum, tool| sum.checked_add(tool.operations?));
        let text = sum.map_or_else(String::new, |sum| sum.to_string());
        let made = self.line(false, "operations", &single(&text, sum.is_some()));
        let at = uses.first().map_or(entry.at, |tool| tool.at);
        self.back.push(Back { made, job, at });
    }
}
