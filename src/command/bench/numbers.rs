//! Which numbers new jobs may have: each is the name of a file, and must be taken for no other.

use std::path::Path;

use super::desk::Hall;
use crate::command::scratch::folder_of;
use crate::letters::{Separators, folded, is_usual};

/// The longest number of a job.
const LONGEST: usize = 40;

/// Names that mean devices on some systems, with any ending. All others of them have no digit.
const DEVICES: [&str; 2] = ["com", "lpt"];

/// Whether a number can be one and the name of a file: no option of a program, no settings, no device, and written in letters
/// that everybody types. A number has a digit, which no name of our own has.
pub(super) fn is_plain(number: &str) -> bool {
    let is_letter = |c: char| c.is_alphanumeric() || matches!(c, '-' | '_');
    let small = number.to_lowercase();
    let is_device = DEVICES.iter().any(|device| {
        small
            .strip_prefix(device)
            .is_some_and(|rest| rest.len() == 1 && rest.bytes().all(|b| b.is_ascii_digit()))
    });
    number.starts_with(char::is_alphanumeric)
        && number.chars().count() <= LONGEST
        && number.chars().all(is_letter)
        && number.chars().any(|c| c.is_ascii_digit())
        && is_usual(number)
        && !is_device
}

impl Hall {
    /// What a new number would be taken for: a job of that number, however it is written, or a file of that name in capitals
    /// or small letters.
    pub(super) fn twin(&self, number: &str, path: &Path) -> Option<String> {
        let key = |name: &str| folded(name, Separators::BetweenDigits);
        let wanted = key(number);
        let lines = self.index.all().filter_map(|(_, kept)| kept.line.as_ref());
        let mut jobs = lines.filter(|line| key(&line.number) == wanted);
        if let Some(line) = jobs.next() {
            return Some(line.number.clone());
        }
        let entries = std::fs::read_dir(folder_of(path)).into_iter().flatten().flatten();
        let mut names = entries.map(|entry| entry.file_name().to_string_lossy().into_owned());
        names.find(|name| name.split('.').next().is_some_and(|stem| key(stem) == wanted))
    }
}
