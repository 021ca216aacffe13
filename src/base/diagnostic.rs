//! What is wrong with a text: plain data that every front end can show in its own way.

use std::cmp::Ordering;
use std::collections::BTreeMap;

use crate::code::Code;
use crate::letters::{look, look_alike, said};
use crate::source::Place;

/// How much a diagnostic matters to the work of the program itself. What a rule finds in a record
/// is a `Finding` and has the severities of the rule language instead.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Level {
    /// Worth knowing; nothing is wrong, and it is never counted.
    Note,
    /// Worth mending; nothing is left out because of it.
    Advice,
    /// An error or an advice that was known before and is accepted; said, and never counted.
    Known,
    /// This piece (a rule, a field, a document) could not be used.
    Error,
}

/// A place with a few words on what stands there.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Label {
    /// Where.
    pub place: Place,
    /// What is to be seen there; may be empty.
    pub text: String,
}

/// A change of spelling that makes a text readable without changing what it says. It is offered only
/// where there is one thing that can have been meant.
#[derive(Clone, Debug, PartialEq, Eq, Hash)]
pub struct Fix {
    /// What is replaced.
    pub place: Place,
    /// What stands there afterwards.
    pub replacement: String,
}

/// One thing that is wrong with a text, and what to do about it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Diagnostic {
    /// Its stable code.
    pub code: Code,
    /// How much it matters.
    pub level: Level,
    /// What is wrong, in plain words: one sentence that begins in lower case and ends without a stop.
    pub message: String,
    /// Where; the first label is the main one.
    pub labels: Vec<Label>,
    /// What to do, a sentence of the same form.
    pub help: Option<String>,
    /// The change that a program can make, where it is certain.
    pub fix: Option<Box<Fix>>,
    /// The field that is missing at the place, where that is what is wrong.
    pub missing: Option<Box<str>>,
}

impl Diagnostic {
    /// An error at a place.
    pub fn error(code: Code, place: Place, message: impl Into<String>) -> Self {
        Diagnostic {
            code,
            level: Level::Error,
            message: message.into(),
            labels: vec![Label { place, text: String::new() }],
            help: None,
            fix: None,
            missing: None,
        }
    }

    /// An error that is in no text: of the run as a whole.
    pub fn without_place(code: Code, message: impl Into<String>) -> Self {
        Diagnostic {
            code,
            level: Level::Error,
            message: message.into(),
            labels: Vec::new(),
            help: None,
            fix: None,
            missing: None,
        }
    }

    /// An advice at a place.
    pub fn advice(code: Code, place: Place, message: impl Into<String>) -> Self {
        Diagnostic { level: Level::Advice, ..Diagnostic::error(code, place, message) }
    }

    /// A note at a place.
    pub fn note(code: Code, place: Place, message: impl Into<String>) -> Self {
        Diagnostic { level: Level::Note, ..Diagnostic::error(code, place, message) }
    }

    /// Says what stands at the main place.
    #[must_use]
    pub fn labelled(mut self, text: impl Into<String>) -> Self {
        if let Some(label) = self.labels.first_mut() {
            label.text = text.into();
        }
        self
    }

    /// Adds a second place.
    #[must_use]
    pub fn and_at(mut self, place: Place, text: impl Into<String>) -> Self {
        self.labels.push(Label { place, text: text.into() });
        self
    }

    /// Says what to do.
    #[must_use]
    pub fn help(mut self, help: impl Into<String>) -> Self {
        self.help = Some(help.into());
        self
    }

    /// Adds the change that a program can make.
    #[must_use]
    pub fn mended(mut self, fix: Option<Fix>) -> Self {
        self.fix = fix.map(Box::new);
        self
    }

    /// Names the field that is missing there.
    #[must_use]
    pub fn lacks(mut self, field: &str) -> Self {
        self.missing = Some(field.into());
        self
    }

    /// The main place.
    #[must_use]
    pub fn place(&self) -> Option<Place> {
        self.labels.first().map(|label| label.place)
    }
}

/// How many diagnostics of one kind are listed of a run or of a document; nobody reads more.
pub const MOST_ALIKE: usize = 100;

/// The first of each kind, in their order, and behind them how many more there are.
#[must_use]
pub fn listed(diagnostics: Vec<Diagnostic>) -> Vec<Diagnostic> {
    if diagnostics.len() <= MOST_ALIKE {
        return diagnostics;
    }
    let mut kinds: BTreeMap<(Level, &'static str), usize> = BTreeMap::new();
    let (mut listed, mut first_of_more) = (Vec::new(), Vec::new());
    for diagnostic in diagnostics {
        let number = kinds.entry((diagnostic.level, diagnostic.code.as_str())).or_default();
        *number += 1;
        match (*number).cmp(&(MOST_ALIKE + 1)) {
            Ordering::Less => listed.push(diagnostic),
            Ordering::Equal => first_of_more.push(diagnostic),
            Ordering::Greater => {}
        }
    }
    let more = |first: Diagnostic| {
        let found = kinds.get(&(first.level, first.code.as_str())).copied().unwrap_or_default();
        let message = match found - MOST_ALIKE {
            1 => "1 more like those above is not listed".to_owned(),
            more => format!("{more} more like those above are not listed"),
        };
        Diagnostic { message, help: None, fix: None, missing: None, ..first }
    };
    listed.extend(first_of_more.into_iter().map(more));
    listed
}

/// What went wrong in a function that does not know where its argument was written.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Fault {
    /// Its stable code.
    pub code: Code,
    /// What is wrong, as in [`Diagnostic::message`].
    pub message: String,
    /// What to do.
    pub help: Option<String>,
    /// Which argument caused it, from 0, where the function has several; the first that has a place
    /// otherwise.
    pub argument: Option<u32>,
    /// Which element of that argument caused it, from 0, where it is a list.
    pub element: Option<u32>,
    /// The argument as it can be read, where only one thing can have been meant.
    pub meant: Option<Box<str>>,
}

impl Fault {
    /// A fault with a code and a message.
    pub fn new(code: Code, message: impl Into<String>) -> Self {
        Fault { code, message: message.into(), help: None, argument: None, element: None, meant: None }
    }

    /// The error that it is at its place.
    #[must_use]
    pub fn at(self, place: Place) -> Diagnostic {
        Diagnostic { help: self.help, ..Diagnostic::error(self.code, place, self.message) }
    }

    /// Says what to do.
    #[must_use]
    pub fn help(mut self, help: impl Into<String>) -> Self {
        self.help = Some(help.into());
        self
    }

    /// Says which argument caused it.
    #[must_use]
    pub fn argument(mut self, argument: usize) -> Self {
        self.argument = u32::try_from(argument).ok();
        self
    }

    /// Says which element of the argument caused it.
    #[must_use]
    pub fn element(mut self, element: usize) -> Self {
        self.element = u32::try_from(element).ok();
        self
    }

    /// Says how the argument is to be written, where that is certain.
    #[must_use]
    pub fn meant(mut self, text: Option<String>) -> Self {
        self.meant = text.map(String::into_boxed_str);
        self
    }
}

/// Gives a span-less [`Fault`] its place.
pub trait At<T> {
    /// The same result, with the fault turned into an error at `place`.
    ///
    /// # Errors
    /// The fault of `self`, as a [`Diagnostic`].
    fn at(self, place: Place) -> Result<T, Diagnostic>;
}

impl<T> At<T> for Result<T, Fault> {
    fn at(self, place: Place) -> Result<T, Diagnostic> {
        self.map_err(|fault| fault.at(place))
    }
}

/// Offers a name in the place of what was written.
#[must_use]
pub fn did_you_mean(written: &str, near: &str) -> String {
    if look_alike(written, near) { said(written, near) } else { format!("did you mean `{near}`?") }
}

/// The name that a help offers in the place of what was written, where it offers one.
#[must_use]
pub fn meant(help: &str) -> Option<&str> {
    help.strip_prefix("did you mean `")?.strip_suffix("`?")
}

/// How many names are looked at for a near one; a text with more is no text of a person.
const MOST_NAMES: usize = 4_096;

/// The longest name, in letters, that is compared with others to find the one that was meant.
const LONGEST_NAME: usize = 200;

/// The name of `known` nearest to `name`, if one is near enough to be what was meant.
#[must_use]
pub fn nearest<'a>(name: &str, known: impl IntoIterator<Item = &'a str>) -> Option<&'a str> {
    near(name, known).min_by_key(|(distance, _)| *distance).map(|(_, other)| other)
}

/// The names of `known` that are near enough to `name` to be what was meant, each with how far it is.
pub fn near<'a>(
    name: &str,
    known: impl IntoIterator<Item = &'a str>,
) -> impl Iterator<Item = (usize, &'a str)> {
    let name = look(name).to_lowercase();
    let length = name.chars().count();
    // Any letter is one slip away from any other.
    let within = if length < 2 { 0 } else { (length / 3).clamp(1, 4) };
    known
        .into_iter()
        // Comparing two names takes as long as both together are wide.
        .take(if length > LONGEST_NAME { 0 } else { MOST_NAMES })
        // Comparing letters is slow, and this much follows from the lengths alone.
        .filter(move |other| other.chars().count().abs_diff(length) <= within)
        .filter_map(move |other| {
            let seen = look(other).to_lowercase();
            let distance = strsim::osa_distance(&name, &seen);
            (distance <= within && word_by_word(&name, &seen)).then_some((distance, other))
        })
}

/// Whether each word of two names of as many words is near the other: `sump plug` is no misspelt `hub plug`.
fn word_by_word(name: &str, other: &str) -> bool {
    let words = |name: &str| name.split([' ', '_', '-']).map(str::to_owned).collect::<Vec<_>>();
    let (words, others) = (words(name), words(other));
    let is_near = |(word, other): (&String, &String)| {
        strsim::osa_distance(word, other) <= (word.chars().count() / 2).max(1)
    };
    words.len() != others.len() || words.iter().zip(&others).all(is_near)
}

/// The name of `known` that `name` can only be a misspelling of: one letter off, or capital and small
/// letters mixed up, with no other name nearly as near. Short names are too near to each other.
#[must_use]
pub fn surely<'a>(name: &str, known: impl IntoIterator<Item = &'a str>) -> Option<&'a str> {
    surely_meant(name, known.into_iter().map(|known| (known, known)))
}

/// The same of names that each mean something: what `name` means, if it can only be a misspelling of a name for that.
#[must_use]
pub fn surely_meant<'a>(name: &str, known: impl IntoIterator<Item = (&'a str, &'a str)>) -> Option<&'a str> {
    const LEAST: usize = 4;
    let name = look(name).to_lowercase();
    let length = name.chars().count();
    if length > LONGEST_NAME {
        return None;
    }
    let most = usize::from(length >= LEAST);
    let distance = |(other, meaning)| (strsim::osa_distance(&name, &look(other).to_lowercase()), meaning);
    let mut near: Vec<(usize, &str)> = known.into_iter().take(MOST_NAMES).map(distance).collect();
    near.sort_by_key(|(distance, _)| *distance);
    let (nearest, only) = *near.first().filter(|(distance, _)| *distance <= most)?;
    let is_near = |(distance, meaning): &(usize, &str)| *meaning != only && *distance < nearest + 2;
    (!near.iter().any(is_near)).then_some(only)
}
