//! Words that are nearly the ones for which rules ask.

use witnessmark::code::NEAR_WORD;

use crate::support::session;

/// What is said of words that are nearly right: the text at each place, the message and what to do.
fn said(clauses: &str, record: &str) -> Vec<(Vec<String>, String, String)> {
    let rule = format!("rule r \"R\"\n{clauses}\n  otherwise hold \"No.\"\n");
    let session =
        session(&[("own.standard", &format!("standard own edition 1 \"Own\"\njudges job\n{rule}"))]);
    assert!(!session.is_faulty(), "{:#?}", session.diagnostics());
    let head = "form: job/1\njob: {number: K-1, opened: \"2026-03-02T08:15Z\", state: closed}\nvehicle: {}\nunit: {kind: engine}\n";
    let mut judged = session.judge("job.yaml", &format!("{head}{record}"));
    let judged = judged.remove(0);
    let said = judged.diagnostics.iter().filter(|said| said.code == NEAR_WORD);
    said.map(|said| {
        let texts = said.labels.iter().map(|label| judged.sources.text_at(label.place).to_owned());
        (texts.collect(), said.message.clone(), said.help.clone().unwrap_or_default())
    })
    .collect()
}

const DRAIN: &str = "  concerns each s in steps where s.step is \"drain\"\n  demands recorded s.engine";

#[test]
fn a_step_that_is_nearly_one_that_rules_ask_for_is_told() {
    assert_eq!(
        said(DRAIN, "steps: [{step: drian}, {step: fill}, {step: drian}]\n"),
        [(
            vec!["drian".to_owned(), "drian".to_owned()],
            "no rule asks for `drian` in the field `step`; those for `drain` pass over it".to_owned(),
            "did you mean `drain`?".to_owned()
        )]
    );
    assert_eq!(said(DRAIN, "steps: [{step: Drain}]\n").len(), 1, "other capitals are another word");
}

#[test]
fn a_word_that_rules_ask_for_or_that_is_far_from_all_is_not() {
    for step in ["drain", "drive", "rain down", "fill"] {
        assert_eq!(said(DRAIN, &format!("steps: [{{step: {step}}}]\n")), [], "{step}");
    }
    let fluid = "  concerns each f in fastenings where f.role is \"cap M8\"\n  demands recorded f.torque";
    assert_eq!(said(fluid, "fastenings: [{role: cap M6}]\n"), []);
    assert_eq!(said(fluid, "fastenings: [{role: cop M8}]\n").len(), 1);
    let both = "  concerns each s in steps where s.step is one of (\"drain\", \"drains\")\n  demands recorded s.engine";
    assert_eq!(said(both, "steps: [{step: drains}]\n"), []);
}

#[test]
fn words_in_a_persons_own_words_are_left_alone() {
    let rule = "  concerns where job.remarks is \"drained\"\n  demands recorded unit.kind";
    let record = "steps: [{step: drained}]\n";
    assert_eq!(said(rule, record), []);
}
