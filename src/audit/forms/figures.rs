//! What a run came to as a part of a greater one: `figures/1`, JSON that is added to others and told together with them.

use serde::{Deserialize, Serialize};

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

/// The figures of a part.
///
/// # Errors
/// It is something else, in words.
pub fn read(text: &str) -> Result<Figures, String> {
    let part: In =
        serde_json::from_str(text).map_err(|error| format!("it is no part of an audit: {error}"))?;
    match part.form == FORM {
        true => Ok(part.figures),
        false => Err(format!("it has the form `{}`, and `{FORM}` is read here", part.form)),
    }
}
