//! A unit, and how a written unit is found.

use std::borrow::Cow;
use std::collections::HashMap;
use std::sync::LazyLock;

use crate::code;
use crate::diagnostic::{Fault, nearest};

use super::kind::{Kind, KindName};
use super::number::Number;
use super::numeral::shown;
use super::refused::REFUSED;
use super::units::UNITS;

/// A row of [`UNITS`].
#[derive(Debug)]
pub struct Unit {
    /// As reports print it.
    pub symbol: &'static str,
    /// As people write it, in exact letters; the first names the unit alone.
    pub spellings: &'static [&'static str],
    /// What it measures.
    pub kind: KindName,
    /// Its code in the Unified Code for Units of Measure.
    pub ucum: &'static str,
    /// How many coherent SI units it is, exactly. The coherent unit of angle is the turn.
    pub factor: Number,
    /// The coherent SI value of zero of this unit: 273.15 for °C, 0 for all but temperatures.
    pub offset: Number,
    /// The unit of a difference, by the first of its spellings; empty for a unit that is its own.
    pub difference: &'static str,
    /// The definition that fixes the factor.
    pub source: &'static str,
}

/// Two units are equal only when they are the same row.
impl PartialEq for Unit {
    fn eq(&self, other: &Self) -> bool {
        std::ptr::eq(self, other)
    }
}

impl Eq for Unit {}

/// A short name that is refused because it can mean two units, or looks like another.
#[derive(Debug)]
pub(super) struct Refused {
    /// As people write it.
    pub spellings: &'static [&'static str],
    /// Why it is refused, after "`qt`".
    pub why: &'static str,
    /// What to write instead.
    pub offers: &'static [&'static str],
}

static BY_SPELLING: LazyLock<HashMap<&'static str, &'static Unit>> = LazyLock::new(|| {
    let pairs = UNITS.iter().flat_map(|unit| unit.spellings.iter().map(move |spelling| (*spelling, unit)));
    pairs.collect()
});

impl Unit {
    /// The unit that is written so. Look-alike characters (`℃`, `º`, `μ`, `⋅`, no-break space) count as
    /// the usual ones; capital and small letters differ.
    ///
    /// # Errors
    /// A spelling that is not known, with a near one; a short name that can mean two units, with both.
    pub fn find(text: &str) -> Result<&'static Unit, Fault> {
        Unit::find_of(text, None)
    }

    /// The same where a kind is expected, to which the offers then keep.
    ///
    /// # Errors
    /// As [`Unit::find`].
    pub(super) fn find_of(text: &str, expected: Option<Kind>) -> Result<&'static Unit, Fault> {
        let text = text.trim();
        if let Some(unit) = BY_SPELLING.get(text) {
            return Ok(unit);
        }
        let usual = usual_characters(text);
        BY_SPELLING.get(usual.as_ref()).copied().ok_or_else(|| not_found(&usual, expected))
    }

    /// The kind of quantity it measures.
    #[must_use]
    pub fn kind(&self) -> Kind {
        self.kind.into()
    }

    /// The unit of a difference of two values in this unit, and so of a margin: for °C a unit of
    /// difference that prints as °C, for gauge bar plain bar, for most units themselves.
    #[must_use]
    pub fn difference(&'static self) -> &'static Unit {
        if self.difference.is_empty() {
            return self;
        }
        BY_SPELLING.get(self.difference).copied().unwrap_or(self)
    }

    /// Whether its spellings say that a difference is meant, as Δ°C does; K alone leaves that open.
    pub(super) fn says_difference(&self) -> bool {
        self.spellings.iter().all(|spelling| spelling.starts_with(['Δ', 'd']))
    }

    /// The unit with the same size on the scale of a point kind: the gauge bar for a plain bar, the kelvin
    /// of a temperature for the kelvin of a difference.
    pub(super) fn on_scale(&self, point: KindName) -> Option<&'static Unit> {
        let on_scale = |unit: &&Unit| unit.kind == point && self.spellings.contains(&unit.difference);
        UNITS.iter().find(on_scale)
    }

    /// The unit of `kind` that is exactly the coherent SI unit, where there is one.
    pub(super) fn coherent(kind: Kind) -> Option<&'static Unit> {
        UNITS.iter().find(|unit| unit.kind() == kind && unit.factor == Number::ONE && unit.offset.is_zero())
    }

    /// The unit of a kind that messages use; nothing when it has none.
    pub(super) fn first(kind: Kind) -> Option<&'static Unit> {
        UNITS.iter().find(|unit| unit.kind() == kind)
    }

    /// A few units of a kind, for messages: `Nm, lbf·ft or kgf·m`; empty when it has none.
    #[must_use]
    pub fn examples(kind: Kind) -> String {
        const MOST: usize = 3;
        let fitting =
            UNITS.iter().filter(|unit| kind.name().map_or(unit.kind() == kind, |name| unit.kind == name));
        let symbols: Vec<&str> = fitting.map(|unit| unit.symbol).take(MOST).collect();
        match symbols.as_slice() {
            [] => String::new(),
            [only] => (*only).to_owned(),
            [head @ .., last] => format!("{} or {last}", head.join(", ")),
        }
    }
}

/// Writes look-alike characters as the usual ones and any run of white space as one space.
fn usual_characters(text: &str) -> Cow<'_, str> {
    if text.is_ascii() && !text.contains("  ") && !text.contains('\t') {
        return Cow::Borrowed(text);
    }
    let mut usual = String::with_capacity(text.len());
    for character in text.chars() {
        match character {
            '℃' => usual.push_str("°C"),
            '℉' => usual.push_str("°F"),
            'º' | '˚' => usual.push('°'),
            '\u{3bc}' => usual.push('\u{b5}'),
            '\u{2126}' => usual.push('\u{3a9}'),
            '\u{212a}' => usual.push('K'),
            '\u{2206}' => usual.push('\u{394}'),
            '⋅' | '∙' | '•' | '‧' | '×' => usual.push('·'),
            '∕' | '⁄' => usual.push('/'),
            '−' | '‐' | '‑' | '–' => usual.push('-'),
            space if space.is_whitespace() => {
                if !usual.ends_with(' ') {
                    usual.push(' ');
                }
            }
            other => usual.push(other),
        }
    }
    Cow::Owned(usual)
}

fn not_found(text: &str, expected: Option<Kind>) -> Fault {
    let name = shown(text);
    if let Some(refused) = REFUSED.iter().find(|refused| refused.spellings.contains(&text)) {
        let offers: Vec<String> = refused.offers.iter().map(|offer| format!("`{offer}`")).collect();
        // Where a field wants a torque, `NM` can be nothing but the newton metre.
        let meant = match *refused.offers {
            [only] => BY_SPELLING.get(only).filter(|unit| expected.is_some_and(|kind| fits(unit, kind))),
            _ => None,
        };
        return Fault::new(code::UNIT_AMBIGUOUS, format!("`{name}` {}", refused.why))
            .help(format!("write {}", offers.join(" or ")))
            .meant(meant.and(refused.offers.first()).map(|offer| (*offer).to_owned()));
    }
    let fault = Fault::new(code::UNIT_UNKNOWN, format!("`{name}` is not a unit that is known here"));
    // No spelling is near the length of a text past this, and hostile text is not worth comparing.
    const LONGEST: usize = 40;
    // Every single letter is near every other one.
    let comparable = text.len() <= LONGEST && text.chars().nth(1).is_some();
    let fault = fault.meant(other_capitals(text, expected));
    let spellings = UNITS
        .iter()
        .filter(|unit| expected.is_none_or(|kind| fits(unit, kind)))
        .flat_map(|unit| unit.spellings.iter().copied());
    let spellings = spellings.filter(|spelling| !differ_in_prefix(text, spelling));
    let near = Some(text).filter(|_| comparable).and_then(|text| nearest(text, spellings));
    match near.and_then(|near| BY_SPELLING.get(near)) {
        Some(unit) => fault.help(format!(
            "write `{}` if that is what was meant",
            unit.spellings.first().unwrap_or(&unit.symbol)
        )),
        None => match expected.map(Unit::examples).as_deref() {
            None | Some("") => fault.help("write a unit such as Nm, °C, L, bar, mm, kg, s, rpm or %"),
            Some(units) => fault.help(format!("write the value in {units}")),
        },
    }
}

/// Whether a value in a unit can stand where a kind is wanted.
fn fits(unit: &Unit, kind: Kind) -> bool {
    unit.kind() == kind || unit.kind() == kind.difference_kind()
}

/// The one spelling of a wanted kind that differs from `text` in capital and small letters only, as
/// `bar` does from `BAR`. Between `mm` and `MM` lies a factor of a thousand million: not certain.
fn other_capitals(text: &str, expected: Option<Kind>) -> Option<String> {
    const MULTIPLES: [char; 2] = ['m', 'p'];
    let kind = expected?;
    let of_kind = UNITS.iter().filter(|unit| fits(unit, kind));
    let mut same = of_kind
        .flat_map(|unit| unit.spellings.iter().map(move |spelling| (unit, *spelling)))
        .filter(|(_, spelling)| spelling.to_lowercase() == text.to_lowercase());
    let (unit, spelling) = same.next()?;
    let head = text.chars().next()?;
    let multiple = MULTIPLES.contains(&head.to_ascii_lowercase()) && !spelling.starts_with(head);
    (!multiple && same.all(|(other, _)| other == unit)).then(|| spelling.to_owned())
}

/// Whether two names are the same but for the prefix of a multiple at their head, as `dNm` and `Nm`
/// are: a slip of ten or a thousand, which nobody may be led into.
fn differ_in_prefix(one: &str, other: &str) -> bool {
    const PREFIXES: [char; 19] =
        ['y', 'z', 'a', 'f', 'p', 'n', 'µ', 'u', 'm', 'c', 'd', 'h', 'k', 'K', 'M', 'G', 'T', 'P', 'E'];
    let stems = |name: &str| [Some(name.to_owned()), name.strip_prefix(PREFIXES).map(str::to_owned)];
    let others = stems(other);
    stems(one)
        .into_iter()
        .flatten()
        .any(|stem| stem.chars().next().is_some() && others.iter().flatten().any(|other| *other == stem))
}
