//! What people write behind a unit of pressure for where its zero is: above a vacuum, or above the air.

use std::sync::LazyLock;

use super::kind::KindName;
use super::unit::{Unit, usual_characters};
use super::units::UNITS;

/// Words for a zero at a vacuum; from memory, as gauges and data sheets carry them.
const ABSOLUTE: &[&str] = &["a", "abs", "absolute", "absolut"];
/// Words for a zero at the pressure of the air.
const GAUGE: &[&str] =
    &["g", "gauge", "gage", "rel", "relative", "relativ", "ü", "überdruck", "overpressure"];

/// The units of pressure that leave the zero open, by each of their spellings.
static PLAIN: LazyLock<Vec<(&'static Unit, &'static str)>> = LazyLock::new(|| {
    let plain = UNITS.iter().filter(|unit| unit.kind == KindName::Pressure);
    plain.flat_map(|unit| unit.spellings.iter().map(move |spelling| (unit, *spelling))).collect()
});

/// The unit of pressure that a text names with a word for its zero, whatever its capitals, brackets, blanks and stop;
/// nothing for a text without such a word.
pub(super) fn unit_with_zero(text: &str) -> Option<&'static Unit> {
    let text = usual_characters(text.trim());
    PLAIN.iter().find_map(|(unit, spelling)| unit.on_scale(zero(behind(&text, spelling)?)?))
}

/// What follows a spelling. In capitals `BAR` and `PSI` can be nothing else; `MBAR` could.
fn behind<'t>(text: &'t str, spelling: &str) -> Option<&'t str> {
    let (head, rest) = text.split_at_checked(spelling.len())?;
    let in_capitals = matches!(spelling, "bar" | "psi") && head.eq_ignore_ascii_case(spelling);
    (head == spelling || in_capitals).then_some(rest)
}

fn zero(word: &str) -> Option<KindName> {
    let word = word.trim_start();
    let bare = word.strip_prefix('(').and_then(|word| word.strip_suffix(')')).unwrap_or(word).trim();
    let bare = bare.strip_suffix('.').unwrap_or(bare).to_lowercase();
    match bare.as_str() {
        word if ABSOLUTE.contains(&word) => Some(KindName::AbsolutePressure),
        word if GAUGE.contains(&word) => Some(KindName::GaugePressure),
        _ => None,
    }
}
