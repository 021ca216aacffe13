//! A reading with its uncertainty, as a record states it: `45 Nm ± 1.2 Nm (k = 2)`.

use std::fmt;

use crate::code::QUANTITY_FORM;
use crate::diagnostic::Fault;
use crate::quantity::{Kind, Number, Quantity, Range};

/// A value and how far the true one may lie from it.
#[derive(Clone, Debug, PartialEq)]
pub struct Reading {
    /// The value.
    pub value: Quantity,
    /// The expanded uncertainty (JCGM 100:2008, 2.3.5): a distance to either side.
    pub expanded: Quantity,
    /// The coverage factor `k` by which the standard uncertainty was multiplied.
    pub coverage: Number,
}

impl Reading {
    /// The coverage factor where nothing is said: about 95 % of a normal distribution.
    #[must_use]
    pub fn usual_coverage() -> Number {
        Number::from(2_i64)
    }

    /// Whether a text states an uncertainty.
    #[must_use]
    pub fn is_stated(text: &str) -> bool {
        text.contains('±') || text.contains("+/-") || text.contains("+-")
    }

    /// Reads `VALUE ± UNCERTAINTY`, with `(k = FACTOR)` behind it where the factor is not 2.
    ///
    /// # Errors
    /// What a quantity or a range is refused for, and a coverage factor that is not above zero.
    pub fn parse(text: &str, kind: Kind) -> Result<Reading, Fault> {
        let (text, coverage) = match text.trim_end().strip_suffix(')').and_then(|text| text.rsplit_once('('))
        {
            Some((text, inside)) if is_factor(inside) => (text, factor(inside)?),
            _ => (text, Reading::usual_coverage()),
        };
        if let Some(value) = exact(text, kind) {
            let value = value.not_below_zero()?;
            return Ok(Reading { expanded: value.distance_from(&value), value, coverage });
        }
        let range = Range::parse(text.trim(), Some(kind))?;
        let value = range.nominal().cloned().ok_or_else(|| {
            Fault::new(QUANTITY_FORM, format!("`{}` is a range, and one reading is wanted here", text.trim()))
                .help("write what was read and, behind ±, its expanded uncertainty")
        })?;
        let value = value.not_below_zero()?;
        let (Some(low), Some(high)) = (range.low(), range.high()) else {
            return Err(Fault::new(QUANTITY_FORM, "an uncertainty goes to either side"));
        };
        let (below, above) = (value.distance_from(&low.value), high.value.distance_from(&value));
        if below.compare(&above).is_ne() {
            let message = format!("the uncertainty of `{}` is not the same to either side", text.trim());
            return Err(Fault::new(QUANTITY_FORM, message).help("write one uncertainty, behind ±"));
        }
        Ok(Reading { value, expanded: above, coverage })
    }
}

/// As a record states it; the usual coverage factor is left unsaid.
impl fmt::Display for Reading {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} ± {}", self.value, self.expanded)?;
        if self.coverage == Reading::usual_coverage() {
            Ok(())
        } else {
            write!(f, " (k = {})", self.coverage)
        }
    }
}

/// The value of a reading whose uncertainty is zero: no range has such a tolerance.
fn exact(text: &str, kind: Kind) -> Option<Quantity> {
    let (value, uncertainty) = ["±", "+/-", "+-"].iter().find_map(|sign| text.split_once(sign))?;
    let uncertainty = Quantity::parse(uncertainty.trim(), None).ok()?;
    kind.tolerance(uncertainty.kind()).ok()?;
    uncertainty.magnitude().is_zero().then(|| Quantity::parse(value.trim(), Some(kind)).ok()).flatten()
}

/// Whether what stands in brackets speaks of the coverage factor.
fn is_factor(inside: &str) -> bool {
    inside.trim_start().starts_with(['k', 'K'])
}

fn factor(inside: &str) -> Result<Number, Fault> {
    let wrong = || {
        Fault::new(QUANTITY_FORM, format!("`({inside})` is no coverage factor")).help("write it as `(k = 2)`")
    };
    let text =
        inside.trim().trim_start_matches(['k', 'K']).trim_start().strip_prefix('=').ok_or_else(wrong)?;
    let factor = Number::parse(text.trim())?;
    if factor > Number::ZERO { Ok(factor) } else { Err(wrong()) }
}
