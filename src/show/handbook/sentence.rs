//! Sentences: texts with names in them, of which the book says elsewhere what they mean.

use crate::language::typed::Figure;

/// A piece of a sentence.
#[derive(Clone, Debug, PartialEq)]
pub enum Run {
    /// Words.
    Words(String),
    /// A name that the rules give to a value, and which one.
    Name(String, Figure),
}

/// A text with names in it.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Sentence(Vec<Run>);

impl Sentence {
    /// A name.
    pub(super) fn name(short: &str, figure: Figure) -> Sentence {
        Sentence(vec![Run::Name(short.to_owned(), figure)])
    }

    /// Its pieces.
    #[must_use]
    pub fn runs(&self) -> &[Run] {
        &self.0
    }

    /// The same with more behind it.
    pub(super) fn and(mut self, more: impl Into<Sentence>) -> Sentence {
        for run in more.into().0 {
            match (self.0.last_mut(), run) {
                (Some(Run::Words(words)), Run::Words(more)) => words.push_str(&more),
                (_, run) => self.0.push(run),
            }
        }
        self
    }

    /// Several, with something between each two and something else before the last.
    pub(super) fn joined(parts: Vec<Sentence>, between: &str, last: &str) -> Sentence {
        let count = parts.len();
        parts.into_iter().enumerate().fold(Sentence::default(), |all, (number, part)| {
            let gap = match number {
                0 => "",
                _ if number + 1 == count => last,
                _ => between,
            };
            all.and(gap).and(part)
        })
    }

    /// The same without the article at its head.
    pub(super) fn without_article(mut self) -> Sentence {
        if let Some(Run::Words(words)) = self.0.first_mut()
            && let Some(rest) = words.strip_prefix("the ")
        {
            *words = rest.to_owned();
        }
        self
    }

    /// Its words alone.
    #[must_use]
    pub fn plain(&self) -> String {
        let text = |run: &Run| match run {
            Run::Words(words) => words.clone(),
            Run::Name(name, _) => name.clone(),
        };
        self.0.iter().map(text).collect()
    }

    /// The same as a sentence of its own: it begins with a capital letter and ends with a stop.
    pub(super) fn whole(mut self) -> Sentence {
        if let Some(Run::Words(words)) = self.0.first_mut() {
            *words = capital(words);
        }
        self.and(".")
    }

    /// Whether there is nothing in it.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.0.iter().all(|run| matches!(run, Run::Words(words) if words.is_empty()))
    }
}

impl From<&str> for Sentence {
    fn from(words: &str) -> Sentence {
        Sentence(vec![Run::Words(words.to_owned())])
    }
}

impl From<String> for Sentence {
    fn from(words: String) -> Sentence {
        Sentence(vec![Run::Words(words)])
    }
}

/// The same with a capital letter at its head.
pub(super) fn capital(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map_or_else(String::new, |first| first.to_uppercase().chain(letters).collect())
}
