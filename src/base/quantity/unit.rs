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
use super::zero::unit_with_zero;

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

/// Every spelling in small letters, with the units and spellings that it is of, in the order of the table.
static BY_LETTERS: LazyLock<HashMap<String, Vec<(&'static Unit, &'static str)>>> = LazyLock::new(|| {
    let mut by_letters: HashMap<String, Vec<_>> = HashMap::new();
    for unit in UNITS {
        for spelling in unit.spellings {
            by_letters.entry(spelling.to_lowercase()).or_default().push((unit, *spelling));
        }
    }
    by_letters
});

/// A unit whose zero is the zero of its kind.
pub(super) const fn unit(
    symbol: &'static str,
    spellings: &'static [&'static str],
    kind: KindName,
    ucum: &'static str,
    factor: (i128, i128),
    source: &'static str,
) -> Unit {
    point(symbol, spellings, kind, ucum, factor, source, ((0, 1), ""))
}

/// A unit of a point on a scale: where its zero lies, and the unit of a difference.
pub(super) const fn point(
    symbol: &'static str,
    spellings: &'static [&'static str],
    kind: KindName,
    ucum: &'static str,
    factor: (i128, i128),
    source: &'static str,
    (offset, difference): ((i128, i128), &'static str),
) -> Unit {
    let factor = Number::exact(factor.0, factor.1);
    let offset = Number::exact(offset.0, offset.1);
    Unit { symbol, spellings, kind, ucum, factor, offset, difference, source }
}

impl Unit {
    /// The unit that is written so. Look-alike characters (`℃`, `º`, `μ`, `⋅`, no-break space) count as
    /// the usual ones; capital and small letters differ.
    ///
    /// # Errors
    /// A spelling that is not known, with a near one; a short name that can mean two units, with both.
    pub fn find(text: &str) -> Result<&'static Unit, Fault> {
        Unit::find_of(text, None, "")
    }

    /// The same where a kind is expected, to which the offers then keep, behind a number with which the
    /// offers are whole.
    ///
    /// # Errors
    /// As [`Unit::find`].
    pub(super) fn find_of(text: &str, expected: Option<Kind>, number: &str) -> Result<&'static Unit, Fault> {
        let text = text.trim();
        if let Some(unit) = BY_SPELLING.get(text) {
            return Ok(unit);
        }
        let usual = usual_characters(text);
        BY_SPELLING.get(usual.as_ref()).copied().ok_or_else(|| not_found(&usual, expected, number))
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

    /// The unit of a difference as it reads back without a kind: `K` for °C, `Δ°F` for °F.
    pub(super) fn difference_name(&'static self) -> &'static str {
        let unit = self.difference();
        match unit.kind {
            KindName::TemperatureDifference if unit.factor == Number::ONE => "K",
            KindName::TemperatureDifference => unit.spellings.first().copied().unwrap_or(unit.symbol),
            _ => unit.symbol,
        }
    }

    /// Whether a tolerance in this unit lends it to a nominal value without one: a percentage says nothing
    /// of what it is a share of, and a difference of temperatures nothing of the scale.
    #[must_use]
    pub fn lends_to_nominal(&self) -> bool {
        !matches!(self.kind, KindName::Ratio | KindName::TemperatureDifference)
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
pub(super) fn usual_characters(text: &str) -> Cow<'_, str> {
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

fn not_found(text: &str, expected: Option<Kind>, number: &str) -> Fault {
    let name = shown(text);
    let whole = |offer: &str| format!("`{}`", format!("{} {offer}", shown(number)).trim_start());
    if let Some(refused) = REFUSED.iter().find(|refused| refused.spellings.contains(&text)) {
        // Where a field wants a torque, `NM` can be nothing but the newton metre.
        let meant = match *refused.offers {
            [only] => BY_SPELLING.get(only).filter(|unit| expected.is_some_and(|kind| fits(unit, kind))),
            _ => None,
        };
        let fault = Fault::new(code::UNIT_AMBIGUOUS, format!("`{name}` {}", refused.why));
        let fitting = |offer: &&&str| {
            expected.is_none_or(|kind| BY_SPELLING.get(**offer).is_some_and(|unit| fits(unit, kind)))
        };
        let offers: Vec<&&str> = refused.offers.iter().filter(fitting).collect();
        return match offers.as_slice() {
            [] => fault.help(units_wanted(expected)),
            offers => {
                let offers: Vec<String> = offers.iter().map(|offer| whole(offer)).collect();
                fault.help(format!("write {}", offers.join(" or ")))
            }
        }
        .meant(meant.and(refused.offers.first()).map(|offer| (*offer).to_owned()));
    }
    let fault = Fault::new(code::UNIT_UNKNOWN, format!("`{name}` is not a unit that is known here"));
    if let Some(unit) = unit_with_zero(text).filter(|unit| expected.is_none_or(|kind| fits(unit, kind))) {
        return fault.help(format!("write {}", whole(unit.symbol))).meant(Some(unit.symbol.to_owned()));
    }
    // No spelling is near the length of a text past this, and hostile text is not worth comparing.
    const LONGEST: usize = 40;
    // Short symbols are near each other and mean other things: `yr` is no misspelt `hr`.
    const SHORTEST: usize = 5;
    let comparable = text.len() <= LONGEST && text.chars().count() >= SHORTEST;
    let capitals = other_capitals(text, expected);
    let fault = fault.meant(expected.and(capitals).map(str::to_owned));
    // Among the near ones are those with another zero, so that none is offered in the place of another.
    let alike = |unit: &&Unit, kind: Kind| {
        fits(unit, kind) || unit.kind().is_point() && unit.kind().difference_kind() == kind.difference_kind()
    };
    let spellings = UNITS
        .iter()
        .filter(|unit| expected.is_none_or(|kind| alike(unit, kind)))
        .flat_map(|unit| unit.spellings.iter().copied());
    // The first letter of a unit is rarely the wrong one, and another often makes another unit.
    let same_head = |other: &str| match (text.chars().next(), other.chars().next()) {
        (Some(one), Some(other)) => one.to_lowercase().eq(other.to_lowercase()),
        _ => false,
    };
    let spellings = spellings.filter(|spelling| same_head(spelling) && !differ_in_prefix(text, spelling));
    let near =
        capitals.or_else(|| Some(text).filter(|_| comparable).and_then(|text| nearest(text, spellings)));
    let near = near.and_then(|near| BY_SPELLING.get(near));
    match near.filter(|unit| expected.is_none_or(|kind| fits(unit, kind))) {
        Some(unit) => {
            let spelling = unit.spellings.first().unwrap_or(&unit.symbol);
            fault.help(format!("write {} if that is what was meant", whole(spelling)))
        }
        None => fault.help(units_wanted(expected)),
    }
}

/// Which units can be written where a kind is wanted.
fn units_wanted(expected: Option<Kind>) -> String {
    match expected.map(Unit::examples).as_deref() {
        None | Some("") => "write a unit such as Nm, °C, L, bar, mm, kg, s, rpm or %".to_owned(),
        Some(units) => format!("write the value in {units}"),
    }
}

/// The units to write behind a number that has none.
pub(super) fn unit_behind(number: &str, expected: Option<Kind>) -> String {
    let units = expected.map(Unit::examples).filter(|units| !units.is_empty());
    let units = units.unwrap_or_else(|| "Nm, °C, L, bar, mm, kg, s, rpm or %".to_owned());
    format!("write {number} with its unit behind it, such as {units}")
}

/// Whether a value in a unit can stand where a kind is wanted.
fn fits(unit: &Unit, kind: Kind) -> bool {
    unit.kind() == kind || unit.kind() == kind.difference_kind() && !unit.says_difference()
}

/// The one spelling, of a wanted kind where there is one, that differs from `text` in capital and small letters only, as
/// `bar` does from `BAR`. Between `mm` and `MM` lies a factor of a thousand million: not certain.
fn other_capitals(text: &str, expected: Option<Kind>) -> Option<&'static str> {
    const MULTIPLES: [char; 2] = ['m', 'p'];
    // Without a kind a single letter can be anything.
    if expected.is_none() && text.chars().nth(1).is_none() {
        return None;
    }
    let same = BY_LETTERS.get(&text.to_lowercase())?.iter();
    let mut same = same.filter(|(unit, _)| expected.is_none_or(|kind| fits(unit, kind)));
    let (unit, spelling) = *same.next()?;
    let head = text.chars().next()?;
    let multiple = MULTIPLES.contains(&head.to_ascii_lowercase()) && !spelling.starts_with(head);
    (!multiple && same.all(|(other, _)| *other == unit)).then_some(spelling)
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
