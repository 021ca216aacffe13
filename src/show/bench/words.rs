//! The texts of the page in the languages that it speaks. What rules and records say stays as it is written.

use std::sync::LazyLock;

use fluent_bundle::concurrent::FluentBundle;
use fluent_bundle::{FluentArgs, FluentResource};

/// A language of the page.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Language {
    /// English.
    #[default]
    English,
    /// German.
    German,
}

impl Language {
    /// All of them.
    pub const ALL: [Language; 2] = [Language::English, Language::German];

    /// Its tag, as a page states it.
    #[must_use]
    pub fn tag(self) -> &'static str {
        match self {
            Language::English => "en",
            Language::German => "de",
        }
    }

    /// Its own name.
    #[must_use]
    pub fn name(self) -> &'static str {
        match self {
            Language::English => "English",
            Language::German => "Deutsch",
        }
    }

    /// The language with this tag.
    #[must_use]
    pub fn tagged(tag: &str) -> Option<Language> {
        Language::ALL.into_iter().find(|language| language.tag() == tag)
    }

    /// The first language of a browser's list that the page speaks.
    #[must_use]
    pub fn wanted(accepted: &str) -> Language {
        let tags = accepted.split(',').map(|one| one.split([';', '-']).next().unwrap_or_default().trim());
        tags.filter_map(Language::tagged).next().unwrap_or_default()
    }

    fn source(self) -> &'static str {
        match self {
            Language::English => include_str!("assets/en.ftl"),
            Language::German => include_str!("assets/de.ftl"),
        }
    }
}

type Bundle = FluentBundle<FluentResource>;

static BUNDLES: LazyLock<[Bundle; 2]> = LazyLock::new(|| Language::ALL.map(bundle));

fn bundle(language: Language) -> Bundle {
    let locale = language.tag().parse().unwrap_or_default();
    let mut bundle = FluentBundle::new_concurrent(vec![locale]);
    bundle.set_use_isolating(false);
    // A test reads both files without a fault.
    let resource = FluentResource::try_new(language.source().to_owned()).unwrap_or_else(|(whole, _)| whole);
    bundle.add_resource_overriding(resource);
    bundle
}

/// The texts in one language.
#[derive(Clone, Copy, Debug)]
pub struct Words(pub Language);

impl Words {
    fn bundle(self) -> Option<&'static Bundle> {
        let number = Language::ALL.iter().position(|language| *language == self.0)?;
        BUNDLES.get(number)
    }

    fn find(self, key: &str, values: &FluentArgs<'_>) -> Option<String> {
        let bundle = self.bundle()?;
        let pattern = bundle.get_message(key)?.value()?;
        Some(bundle.format_pattern(pattern, Some(values), &mut Vec::new()).into_owned())
    }

    /// The text of this name; the name itself where there is none, which a test keeps from happening.
    #[must_use]
    pub fn say(self, key: &str) -> String {
        self.find(key, &FluentArgs::new()).unwrap_or_else(|| key.to_owned())
    }

    /// The same with a number in it.
    #[must_use]
    pub fn count(self, key: &str, number: u64) -> String {
        let mut values = FluentArgs::new();
        values.set("n", number);
        self.find(key, &values).unwrap_or_else(|| key.to_owned())
    }

    /// The same with a text in it.
    #[must_use]
    pub fn with(self, key: &str, what: &str) -> String {
        let mut values = FluentArgs::new();
        values.set("what", what.to_owned());
        self.find(key, &values).unwrap_or_else(|| key.to_owned())
    }

    /// A name of the form: of a field in its group where that has one of its own, of the field anywhere, else its name in
    /// words.
    #[must_use]
    pub fn field(self, group: &str, name: &str) -> String {
        let key = |text: &str| text.replace(['_', ' '], "-");
        let none = FluentArgs::new();
        let own = self.find(&format!("field-{}-{}", key(group), key(name)), &none);
        own.or_else(|| self.find(&format!("field-{}", key(name)), &none)).unwrap_or_else(|| spoken(name))
    }

    /// What a caution means for whoever does the work; empty where that is not known.
    #[must_use]
    pub fn caution(self, caution: &str) -> String {
        self.find(&format!("caution-{}", caution.replace(' ', "-")), &FluentArgs::new()).unwrap_or_default()
    }

    /// A word of a closed list of the form, as a button shows it; the record has the word itself.
    #[must_use]
    pub fn word(self, word: &str) -> String {
        let key: String = word.chars().map(|c| if c.is_ascii_alphanumeric() { c } else { '-' }).collect();
        self.find(&format!("word-{}", key.to_lowercase()), &FluentArgs::new())
            .unwrap_or_else(|| word.to_owned())
    }
}

/// A name in words: `media_fitted` is `Media fitted`.
fn spoken(name: &str) -> String {
    let words = name.replace('_', " ");
    let mut letters = words.chars();
    letters.next().map_or_else(String::new, |first| first.to_uppercase().chain(letters).collect())
}
