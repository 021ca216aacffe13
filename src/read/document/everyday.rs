//! Everyday words for the names of the trade: `wheel bolt` for `wheel screw`. The table says of each vocabulary which words
//! the shipped rules know, and which others can only mean one of them there. A field names its vocabulary in the schema;
//! without a name of its own it is that of the field.

use std::collections::{BTreeMap, HashMap};
use std::sync::{Arc, LazyLock};

/// By vocabulary, each word that rules know and the everyday words for it.
const TABLE: &str = include_str!("../../../grammar/everyday.json");

static SHIPPED: LazyLock<Arc<Everyday>> = LazyLock::new(|| {
    let table: Table = serde_json::from_str(TABLE).unwrap_or_default();
    Arc::new(Everyday::of(table))
});

/// By word, the everyday words for it.
pub type Words = BTreeMap<&'static str, Vec<&'static str>>;
type Table = BTreeMap<&'static str, Words>;

/// The words of the trade by vocabulary.
#[derive(Clone, Debug, Default)]
pub struct Everyday {
    vocabularies: BTreeMap<&'static str, Vocabulary>,
}

#[derive(Clone, Debug, Default)]
struct Vocabulary {
    /// Each word that rules know, with the everyday words for it.
    words: Words,
    /// What a text in its plain form means.
    meanings: HashMap<String, Meaning>,
}

/// What a text means.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Meaning {
    /// The word that rules know.
    pub word: &'static str,
    /// Whether the text is another word for it, and not the word itself with other capital letters, blanks or hyphens.
    pub is_another: bool,
}

impl Everyday {
    /// The table that comes with the program.
    #[must_use]
    pub fn shipped() -> Arc<Everyday> {
        Arc::clone(&SHIPPED)
    }

    fn of(table: Table) -> Everyday {
        let vocabulary = |words: Words| {
            let mut meanings = HashMap::new();
            for (word, others) in &words {
                let meaning = |is_another| Meaning { word, is_another };
                meanings.extend(others.iter().map(|other| (plain(other), meaning(true))));
                meanings.insert(plain(word), meaning(false));
            }
            Vocabulary { words, meanings }
        };
        Everyday { vocabularies: table.into_iter().map(|(name, words)| (name, vocabulary(words))).collect() }
    }

    /// What a text means in a vocabulary; nothing where it is a word that rules know, or none that they do.
    #[must_use]
    pub fn meaning(&self, vocabulary: &str, text: &str) -> Option<&Meaning> {
        let vocabulary = self.vocabularies.get(vocabulary)?;
        if vocabulary.words.contains_key(text) {
            return None;
        }
        vocabulary.meanings.get(&plain(text))
    }

    /// Whether a text is a word of a vocabulary, however it is written.
    #[must_use]
    pub fn knows(&self, vocabulary: &str, text: &str) -> bool {
        self.vocabularies.get(vocabulary).is_some_and(|known| known.meanings.contains_key(&plain(text)))
    }

    /// The vocabularies, each with the words that rules know and the everyday words for each.
    pub fn vocabularies(&self) -> impl Iterator<Item = (&'static str, &Words)> {
        self.vocabularies.iter().map(|(name, vocabulary)| (*name, &vocabulary.words))
    }

    /// Whether a text is read as a word of any vocabulary.
    #[must_use]
    pub fn reads(&self, text: &str) -> bool {
        self.vocabularies.keys().any(|vocabulary| self.meaning(vocabulary, text).is_some())
    }

    /// The everyday words of a vocabulary, each with what it means.
    pub fn words_in(&self, vocabulary: &str) -> impl Iterator<Item = (&'static str, &'static str)> {
        let words = self.vocabularies.get(vocabulary).into_iter().flat_map(|vocabulary| &vocabulary.words);
        words.flat_map(|(word, others)| others.iter().map(|other| (*other, *word)))
    }

    /// The same table without what `keeps` names of it: by vocabulary, the plain form of a text and what it means.
    #[must_use]
    pub fn without(&self, keeps: impl Fn(&str, &str, &Meaning) -> bool) -> Everyday {
        let mut left = self.clone();
        for (name, vocabulary) in &mut left.vocabularies {
            vocabulary.meanings.retain(|text, meaning| !keeps(name, text, meaning));
        }
        left
    }
}

/// The form by which texts are compared: in small letters, with one blank for each run of blanks and hyphens.
#[must_use]
pub fn plain(text: &str) -> String {
    let words = text.split(|c: char| c.is_whitespace() || matches!(c, '-' | '\u{2010}' | '\u{2011}'));
    let mut plain = String::with_capacity(text.len());
    for word in words.filter(|word| !word.is_empty()) {
        if !plain.is_empty() {
            plain.push(' ');
        }
        plain.extend(word.chars().flat_map(char::to_lowercase));
    }
    plain
}
