//! The words that reports use for what a rule came to, each in a sentence or two.

/// The explanation of a word; nothing for any other.
#[must_use]
pub fn explained(word: &str) -> Option<&'static str> {
    TERMS.iter().find(|(names, _)| names.contains(&word)).map(|(_, explanation)| *explanation)
}

/// Every word.
pub fn all() -> impl Iterator<Item = &'static str> {
    TERMS.iter().flat_map(|(names, _)| names.iter().copied())
}

/// Words of one meaning, and what they mean.
const TERMS: &[(&[&str], &str)] = &[
    (
        &["hold"],
        "The gravest of the three severities, beside `advice` and `note`. The vehicle is not released until what was found is put \
         right or a concession covers it. A hold always fails the run.",
    ),
    (
        &["advice"],
        "The severity between `hold` and `note`: something that should be looked at and does not keep the vehicle. It fails a \
         run only with `fail_on: advice` in the settings or `--fail-on advice`.",
    ),
    (
        &["note"],
        "The mildest severity: worth knowing. It fails a run only with `fail_on: note` or `--fail-on note`.",
    ),
    (
        &["undecided"],
        "A demand that can be neither met nor broken, because something that it needs is not recorded, cannot be read, or is too \
         close to its limit for the uncertainty of the tool. It counts with the severity of its rule: what is not known is never \
         taken for met. A rule can say otherwise with `if unrecorded`.",
    ),
    (&["met"], "The demand of a rule holds for a subject that the rule concerns."),
    (
        &["broken"],
        "The demand of a rule does not hold for a subject that the rule concerns; it counts with the severity of the rule.",
    ),
    (
        &["not concerned"],
        "The conditions of the standard or of the rule's `concerns` do not hold, so the rule asks nothing of this document.",
    ),
    (
        &["still to do"],
        "In a job whose `state` is `in work`, what is not recorded is yet to come. On a closed job it counts as work not done.",
    ),
    (
        &["let pass"],
        "The rule says `if unrecorded pass`: missing data does not count. It is listed so that nobody overlooks it.",
    ),
    (
        &["concession", "under concession"],
        "A permission to release what does not conform to a rule (ISO 9000), recorded in the job with who granted it, why and for \
         which finding. The rule states who may grant one; without that, nobody may. What is under concession is listed and does \
         not fail the run.",
    ),
    (
        &["error"],
        "Something in a document, a rule file or the settings that cannot be read or cannot be. It always fails the run. What depends \
         on it is undecided; an error in rules or settings leaves the whole run without a verdict.",
    ),
    (
        &["verdict"],
        "What the documents of a run come to, in its last line: nothing to hold; nothing to hold so far, while work is still to do; \
         so many holds, do not release; or no verdict, because something could not be judged.",
    ),
    (
        &["known"],
        "A finding that the file given with `--accept-known` lists. It is reported and does not fail the run.",
    ),
];
