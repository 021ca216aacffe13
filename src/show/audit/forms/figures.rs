//! What a run came to as a part of a greater one: `figures/1`, JSON that is added to others and told together with them.

use serde::{Deserialize, Serialize};
use serde_json::Value;

use crate::audit::Figures;
use crate::report::json;

/// The form and version.
const FORM: &str = "figures/1";

#[derive(Serialize)]
struct Out<'f> {
    form: &'static str,
    version: &'static str,
    figures: &'f Figures,
}

#[derive(Deserialize)]
struct In {
    form: String,
    figures: Figures,
}

/// Figures as a part.
#[must_use]
pub fn written(figures: &Figures) -> Vec<u8> {
    let mut out = Vec::new();
    json::write(&Out { form: FORM, version: env!("CARGO_PKG_VERSION"), figures }, &mut out);
    out.push(b'\n');
    out
}

/// More than anybody can count, and few enough that no sum of such counts is beyond what is added up in.
const MOST_COUNTED: u64 = 1 << 40;

/// The greatest whole number in a value.
fn greatest(value: &Value) -> Option<u64> {
    match value {
        Value::Number(number) => number.as_u64().or(number.as_i64().map(i64::unsigned_abs)),
        Value::Array(items) => items.iter().filter_map(greatest).max(),
        Value::Object(fields) => fields.values().filter_map(greatest).max(),
        Value::Null | Value::Bool(_) | Value::String(_) => None,
    }
}

/// The figures of a part.
///
/// # Errors
/// It is something else, in words.
pub fn read(text: &str) -> Result<Figures, String> {
    let none = |error| format!("it is no part of an audit: {error}");
    let counted: Value = serde_json::from_str(text).map_err(none)?;
    if let Some(most) = greatest(&counted).filter(|most| *most > MOST_COUNTED) {
        return Err(format!("it counts {most} of something, and no archive has more than {MOST_COUNTED}"));
    }
    let part: In = serde_json::from_str(text).map_err(none)?;
    match part.form == FORM {
        true => Ok(part.figures),
        false => Err(format!("it has the form `{}`, and `{FORM}` is read here", part.form)),
    }
}
