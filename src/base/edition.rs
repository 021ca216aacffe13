//! Which text exactly: its edition, and the content hash by which a job pins the text that it was judged by.

use std::fmt;
use std::io::{self, Read};

use sha2::{Digest as _, Sha256};

use crate::quantity::Number;
use crate::value::Value;

/// The edition of a standard or a procedure: a whole number above zero. `2`, `2.0` and `02` are one edition,
/// wherever they are written.
///
/// ```
/// use witnessmark_base::edition::Edition;
/// use witnessmark_base::quantity::Number;
///
/// let of = |text: &str| Edition::new(&Number::parse(text).unwrap());
/// assert_eq!(of("2.0"), of("2"));
/// assert_eq!(of("1.5"), None);
/// ```
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Edition(u32);

impl Edition {
    /// That of a standard whose head states none.
    pub const FIRST: Edition = Edition(1);
    /// The highest one, as high as a document can count.
    pub const LAST: u32 = 1_000_000_000;

    /// The edition of this number, if there can be one.
    #[must_use]
    pub fn new(number: &Number) -> Option<Edition> {
        let number = number.to_u64().and_then(|number| u32::try_from(number).ok())?;
        (1..=Edition::LAST).contains(&number).then_some(Edition(number))
    }

    /// The edition that a field of a document states.
    #[must_use]
    pub fn of(value: &Value<'_>) -> Option<Edition> {
        match value {
            Value::Quantity(quantity) => Edition::new(quantity.magnitude()),
            _ => None,
        }
    }

    /// Its number.
    #[must_use]
    pub fn number(self) -> u32 {
        self.0
    }
}

/// Its number.
impl fmt::Display for Edition {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        self.0.fmt(f)
    }
}

/// The content hash of a text: SHA-256 (FIPS 180-4) of its UTF-8 bytes, each line end taken as `\n` and
/// a byte-order mark left out, so that an editor that changes only those makes no other text of it.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Digest([u8; 32]);

impl Digest {
    /// The content hash of a text.
    #[must_use]
    pub fn of(text: &str) -> Digest {
        let text = text.strip_prefix('\u{feff}').unwrap_or(text);
        let mut hash = Sha256::new();
        let mut rest = text;
        while let Some((line, behind)) = rest.split_once('\r') {
            hash.update(line);
            hash.update("\n");
            rest = behind.strip_prefix('\n').unwrap_or(behind);
        }
        hash.update(rest);
        Digest(hash.finalize().into())
    }

    /// SHA-256 of bytes as they are, for what is no text.
    ///
    /// # Errors
    /// What reading them comes to.
    pub fn of_bytes(mut bytes: impl Read) -> io::Result<Digest> {
        let (mut hash, mut buffer) = (Sha256::new(), vec![0; 64 << 10]);
        loop {
            match bytes.read(&mut buffer)? {
                0 => return Ok(Digest(hash.finalize().into())),
                length => hash.update(buffer.get(..length).unwrap_or_default()),
            }
        }
    }

    /// The first [`Pin::SHORTEST`] hexadecimal digits, for people.
    #[must_use]
    pub fn short(&self) -> String {
        self.to_string().chars().take(Pin::SHORTEST).collect()
    }

    /// Whether it begins as the pin says.
    #[must_use]
    pub fn matches(&self, pin: &Pin) -> bool {
        self.to_string().starts_with(&pin.0)
    }
}

/// All 64 hexadecimal digits, in lower case.
impl fmt::Display for Digest {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        self.0.iter().try_for_each(|byte| write!(f, "{byte:02x}"))
    }
}

impl fmt::Debug for Digest {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        fmt::Display::fmt(self, f)
    }
}

/// The beginning of a content hash, as a document states it: 12 to 64 hexadecimal digits.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Pin(String);

impl Pin {
    /// The fewest digits: with twelve, two texts that agree by chance are not to be expected.
    pub const SHORTEST: usize = 12;
    /// The digits of a whole hash.
    pub const LONGEST: usize = 64;

    /// Reads a pin, in capital or small letters; nothing for any other text.
    #[must_use]
    pub fn parse(text: &str) -> Option<Pin> {
        let text = text.trim();
        let fits = (Pin::SHORTEST..=Pin::LONGEST).contains(&text.len());
        (fits && text.bytes().all(|byte| byte.is_ascii_hexdigit())).then(|| Pin(text.to_ascii_lowercase()))
    }
}

/// Its digits, in lower case.
impl fmt::Display for Pin {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.0)
    }
}
