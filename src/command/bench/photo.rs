//! Photographs: each is a file in a folder beside its record, which names it and says what is in it.

use std::io::Read as _;
use std::path::{Path, PathBuf};

use hyper::StatusCode;

use super::answer::Answer;
use super::desk::Desk;
use crate::bench::page::Frame;
use crate::bench::words::Words;
use crate::command::bounds::unlinked;
use crate::command::files::open_to_read;
use crate::command::logs::LARGEST_PHOTOGRAPH;
use crate::command::replace::create;
use crate::command::scratch::folder_of;
use crate::edition::Digest;
use crate::sheet::scalar;
use crate::trade::Job;
use crate::trade::job::{JobState, PHOTOGRAPHS, photographed};

/// The folder beside the records in which photographs are kept.
const FOLDER: &str = "photographs";

/// So many belong to one job.
const MOST: usize = 200;

/// A form of pictures that every browser shows, and that runs nothing.
struct Form {
    ending: &'static str,
    kind: &'static str,
    /// Whether bytes begin as one of this form does.
    begins: fn(&[u8]) -> bool,
}

/// By the first bytes of each: ITU-T T.81 (JPEG), ISO/IEC 15948 (PNG), RFC 9649 (WebP).
const FORMS: [Form; 3] = [
    Form { ending: "jpg", kind: "image/jpeg", begins: |bytes| bytes.starts_with(b"\xff\xd8\xff") },
    Form { ending: "png", kind: "image/png", begins: |bytes| bytes.starts_with(b"\x89PNG\r\n\x1a\n") },
    Form {
        ending: "webp",
        kind: "image/webp",
        begins: |bytes| bytes.starts_with(b"RIFF") && bytes.get(8..12) == Some(b"WEBP"),
    },
];

fn form_of(bytes: &[u8]) -> Option<&'static Form> {
    FORMS.iter().find(|form| (form.begins)(bytes))
}

impl Desk {
    /// Keeps a photograph beside the record of a job, and names it there.
    pub(super) fn add_photograph(&self, frame: &Frame, name: &str, bytes: &[u8]) -> Answer {
        match self.added(frame, name, bytes) {
            Ok(()) => Answer::unchanged(),
            Err(answer) => answer,
        }
    }

    fn added(&self, frame: &Frame, name: &str, bytes: &[u8]) -> Result<(), Answer> {
        let words = Words(frame.language);
        let refused = |key: &str| Answer::refused(StatusCode::CONFLICT, &words.say(key));
        let form = form_of(bytes).ok_or_else(|| refused("photograph-form"))?;
        let digest = Digest::of_bytes(bytes).map_err(|_| refused("photograph-form"))?;
        let record = self.record(name).ok_or_else(|| refused("gone"))?;
        {
            let (text, hall) = (self.text(frame, name)?, self.hall());
            let read = hall.read_job(&text).map_err(refused)?;
            let job = Job::of(&read.document);
            if job.state() == Some(JobState::Closed) {
                return Err(refused("closed"));
            }
            if job.photographs().count() >= MOST {
                return Err(refused("photograph-most"));
            }
            let digests = job.photographs().filter_map(|one| one.digest().text());
            // It was sent before, and its answer did not arrive.
            if digests.into_iter().any(|known| known.eq_ignore_ascii_case(&digest.to_string())) {
                return Ok(());
            }
        }
        let stem = record.file_stem().unwrap_or_default().to_string_lossy();
        let file = format!("{stem}-{}.{}", digest.short(), form.ending);
        let not_written =
            |why: String| Answer::refused(StatusCode::CONFLICT, &words.with("not-written", &why));
        self.keep(&folder_of(&record).join(FOLDER), &file, (bytes, digest)).map_err(not_written)?;
        self.put_steps(frame, name, |read| {
            let number = Job::of(&read.document).photographs().count();
            let entry = photographed(&scalar(&format!("{FOLDER}/{file}")), &digest);
            vec![(format!("{PHOTOGRAPHS}[{number}]"), entry)]
        })
    }

    /// Writes the file of a photograph, unless it is there already.
    fn keep(&self, folder: &Path, file: &str, (bytes, digest): (&[u8], Digest)) -> Result<(), String> {
        unlinked(&self.folder, folder).map_err(|fault| fault.message)?;
        if !folder.is_dir() {
            std::fs::create_dir(folder).map_err(|error| error.to_string())?;
        }
        let path = folder.join(file);
        unlinked(&self.folder, &path).map_err(|fault| fault.message)?;
        let there = open_to_read(&self.folder, &path).and_then(|there| Digest::of_bytes(there).ok());
        if there == Some(digest) { Ok(()) } else { create(&path, bytes) }
    }

    fn record(&self, name: &str) -> Option<PathBuf> {
        self.hall().index.get(name).map(|kept| kept.path.clone())
    }

    /// The photograph of this number in a record. What is no picture is not shown, whatever its name says.
    pub(super) fn photograph(&self, frame: &Frame, name: &str, number: &str) -> Answer {
        let found = number.parse().ok().and_then(|number| self.found(frame, name, number));
        found.unwrap_or_else(|| Answer::refused(StatusCode::NOT_FOUND, &Words(frame.language).say("gone")))
    }

    fn found(&self, frame: &Frame, name: &str, number: usize) -> Option<Answer> {
        let (text, record) = (self.text(frame, name).ok()?, self.record(name)?);
        let path = {
            let hall = self.hall();
            let read = hall.read_job(&text).ok()?;
            let photograph = Job::of(&read.document).photographs().nth(number)?;
            folder_of(&record).join(photograph.path().text()?)
        };
        let mut bytes = Vec::new();
        open_to_read(&self.folder, &path)?.take(LARGEST_PHOTOGRAPH).read_to_end(&mut bytes).ok()?;
        Some(Answer::of(form_of(&bytes)?.kind, bytes))
    }
}
