//! The sum of a run, for programs.

use std::collections::BTreeMap;

use serde::Serialize;

use super::{NearOut, TallyOut, ValuesOut};
use crate::finding::{Frequency, Summary, Weight};
use crate::report::{Run, facts};

#[derive(Serialize)]
struct HiddenOut<'r> {
    path: &'r str,
    why: &'static str,
}

#[derive(Serialize)]
struct VerdictOut {
    outcome: &'static str,
    words: String,
}

#[derive(Serialize)]
struct FrequencyOut<'r> {
    name: &'r str,
    kind: &'static str,
    documents: u64,
    undecided: u64,
}

impl<'r> FrequencyOut<'r> {
    fn new(((weight, name), found): (&'r (Weight, String), &Frequency)) -> Self {
        let kind = facts::weight_in_a_word(*weight);
        FrequencyOut { name, kind, documents: found.documents, undecided: found.undecided }
    }
}

#[derive(Serialize)]
struct SinceOut<'r> {
    revision: &'r str,
    commit: &'r str,
    unchanged: u64,
}

#[expect(clippy::trivially_copy_pass_by_ref, reason = "serde asks for a reference")]
fn is_none(number: &u64) -> bool {
    *number == 0
}

#[derive(Serialize)]
pub(in crate::report) struct SummaryOut<'r> {
    verdict: VerdictOut,
    documents: u64,
    #[serde(skip_serializing_if = "is_none")]
    logbooks: u64,
    unreadable: u64,
    document_errors: u64,
    document_advices: u64,
    rule_errors: u64,
    passed_over: &'r [String],
    hidden: Vec<HiddenOut<'r>>,
    #[serde(skip_serializing_if = "Option::is_none")]
    changed_since: Option<SinceOut<'r>>,
    findings: BTreeMap<&'static str, u64>,
    undecided: u64,
    still_to_do: u64,
    let_pass: u64,
    known: u64,
    conceded: u64,
    values: ValuesOut,
    basics_only: u64,
    rules: Vec<TallyOut<'r>>,
    frequencies: Vec<FrequencyOut<'r>>,
    nearest: Vec<NearOut<'r>>,
}

impl<'r> SummaryOut<'r> {
    pub(in crate::report) fn new(run: &Run, summary: &'r Summary) -> Self {
        let (verdict, words) = facts::verdict(run, summary);
        let by_severity =
            facts::SEVERITIES.map(|severity| (facts::severity(severity), summary.count(severity)));
        SummaryOut {
            verdict: VerdictOut { outcome: verdict.name(), words },
            documents: summary.documents,
            logbooks: summary.logbooks,
            unreadable: summary.unreadable,
            document_errors: summary.document_errors,
            document_advices: summary.document_advices,
            rule_errors: summary.rule_errors,
            passed_over: &summary.passed_over,
            hidden: summary.hidden.iter().map(|one| HiddenOut { path: &one.path, why: one.why }).collect(),
            changed_since: summary.since.as_ref().map(|since| SinceOut {
                revision: &since.name,
                commit: &since.commit,
                unchanged: since.unchanged,
            }),
            findings: BTreeMap::from(by_severity),
            undecided: summary.undecided,
            still_to_do: summary.still_to_do,
            let_pass: summary.passed,
            known: summary.known,
            conceded: summary.conceded,
            values: ValuesOut::new(summary.values),
            basics_only: summary.basics_only,
            rules: summary.rules.iter().map(|(name, tally)| TallyOut::new(name, tally)).collect(),
            frequencies: summary.frequencies.iter().map(FrequencyOut::new).collect(),
            nearest: summary.nearest.iter().map(NearOut::new).collect(),
        }
    }
}
