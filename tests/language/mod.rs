//! What the rule language can say, end to end: by the settings, in reports, in sheets, in comparisons.

mod changes;
mod days;
mod defaults;
mod trials;
mod word_lists;

/// A closed job with one fastening; these are its fields.
fn job(fastening: &str) -> String {
    format!(
        "form: job/1\njob: {{number: K-1, opened: \"2026-03-02T08:15:00+01:00\", state: closed}}\n\
         vehicle: {{}}\nunit: {{kind: engine}}\nfastenings:\n  - {{{fastening}}}\n"
    )
}
