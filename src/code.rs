//! Every stable code of a diagnostic, with its title and explanation.
//!
//! A code is `area/what-is-wrong`. Codes are never renamed and never reused: reports, editors and
//! the files of known findings refer to them.

/// A stable code; its text is the key into [`CODES`].
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Code(&'static str);

impl Code {
    /// The code as reports print it.
    #[must_use]
    pub const fn as_str(self) -> &'static str {
        self.0
    }
}

/// A row of [`CODES`].
#[derive(Clone, Copy, Debug)]
pub struct CodeRow {
    /// The code.
    pub code: Code,
    /// A few words, for lists.
    pub title: &'static str,
    /// A paragraph: what is wrong, why it matters, how to mend it.
    pub explanation: &'static str,
}

macro_rules! codes {
    ($($name:ident = $code:literal, $title:literal, $explanation:literal;)*) => {
        $(#[doc = $title] pub const $name: Code = Code($code);)*

        /// Every code there is.
        pub const CODES: &[CodeRow] = &[
            $(CodeRow { code: $name, title: $title, explanation: $explanation },)*
        ];
    };
}

codes! {
    // Quantities.
    NUMBER_FORM = "quantity/number-form", "a number that cannot be read",
        "A number is digits, an optional sign and an optional decimal point. A decimal comma, a \
         thousands mark or an exponent that is out of all proportion is refused, because guessing \
         would turn a wrong value into a passed one.";

    // Documents.

    // The language.

    // Standards, rules and runs.
}
