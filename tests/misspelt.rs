//! Words that are nearly the ones for which rules ask.

use witnessmark::code::NEAR_WORD;

use crate::support::{Folder, session};

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
    assert_eq!(said(DRAIN, "steps: [{step: Drain}]\n"), [], "other capitals are no other word");
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

#[test]
fn a_word_that_is_looked_for_within_a_name_is_told_where_its_letters_are_swapped_or_one_is_missing() {
    let within = "  concerns each s in steps where mentions(s.step, \"drain\") or mentions(s.step, \"level\") or mentions(s.step, \"refill\")\n  demands recorded s.engine";
    for (step, near) in [
        ("drian the axle", "drain"),
        ("Drian", "drain"),
        ("check levle", "level"),
        ("refil", "refill"),
        ("draain", "drain"),
    ] {
        let said = said(within, &format!("steps: [{{step: {step}}}]\n"));
        assert_eq!(said.len(), 1, "{step}");
        assert_eq!(said[0].2, format!("did you mean `{near}`?"));
    }
    // Other letters make other words, and one word that is known is enough.
    for step in ["gear lever neutral", "rain cover", "brain", "drain and leval", "full", "train"] {
        assert_eq!(said(within, &format!("steps: [{{step: {step}}}]\n")), [], "{step}");
    }
}

/// What is said of settings with these lines.
fn of_settings(lines: &str, record: &str) -> String {
    let folder = Folder::new();
    let rules = "standard own edition 1 \"Own\"\njudges job\n\
        parameter torque is torque range of f in fastenings by unit.family, f.role \"Torque\"\n\
        rule r \"R\"\n  concerns each f in fastenings where f.role is \"drain plug\" and recorded torque of f\n  demands f.torque within torque of f\n  otherwise hold \"No.\"\n";
    folder.write("own.standard", rules);
    folder.write(
        "workshop.yaml",
        format!("form: workshop/1\nworkshop: {{name: W}}\nstandards: [own.standard]\n{lines}"),
    );
    let head = "form: job/1\njob: {number: K-1, opened: \"2026-03-02T08:15Z\", state: closed}\nvehicle: {}\n";
    folder.write("a.yaml", format!("{head}{record}"));
    folder.run("inspect a.yaml --as-of 2026-03-02 --brief --width 300").out
}

#[test]
fn a_key_of_the_settings_that_is_nearly_a_word_of_the_rules_is_told() {
    let record = "unit: {kind: engine, family: iron four}\nfastenings: [{role: drain plug, torque: 45 Nm}]\n";
    let wrong = of_settings("parameters: {own.torque: {iron four: {drain plgu: 45 Nm ± 10 %}}}\n", record);
    assert!(
        wrong.contains(
            "workshop.yaml line 4 column 51: advice: no rule asks for `drain plgu`, a key of `own.torque`"
        ),
        "{wrong}"
    );
    assert!(wrong.contains("did you mean `drain plug`?"), "{wrong}");
    let right = of_settings(
        "parameters: {own.torque: {iron four: {drain plug: 45 Nm ± 10 %, banjo: 20 Nm ± 10 %}}}\n",
        record,
    );
    assert!(!right.contains("no rule asks"), "{right}");
    let of_trade = of_settings("parameters: {own.torque: {iron four: {sump scrw: 20 Nm ± 10 %}}}\n", record);
    let said =
        "workshop.yaml line 4 column 50: advice: `sump scrw`, a key of `own.torque`, is no name of the trade";
    assert!(of_trade.contains(said) && of_trade.contains("did you mean `sump screw`?"), "{of_trade}");
    let words = of_settings("words: {Ablass: drain plgu}\n", record);
    assert!(words.contains("no rule asks for `drain plgu`, for which `Ablass` is to stand"), "{words}");
    let words = of_settings("words: {Ablass: drain plug, Deckel: cover}\n", record);
    assert!(!words.contains("no rule asks"), "{words}");
}

#[test]
fn a_key_in_the_place_of_another_field_is_told() {
    let record = "unit: {kind: engine, family: iron four}\nfastenings: [{role: drain plug, torque: 45 Nm}]\n";
    let said = of_settings("parameters: {own.torque: {Drain plug: {iron four: 45 Nm ± 10 %}}}\n", record);
    for wanted in [
        "`Drain plug` is a role, and in `own.torque` it stands in the place of a family",
        "write the keys in this order: `family`, `role`",
    ] {
        assert!(said.contains(wanted), "{said}");
    }
    let right = of_settings(
        "parameters: {own.torque: {iron four: {drain plug: 45 Nm ± 10 %}, every other: {level plug: 40 Nm ± 10 %}}}\n",
        record,
    );
    assert!(!right.contains("in the place of"), "{right}");
}

#[test]
fn a_family_for_which_nothing_is_stated_is_told_once() {
    let settings = "parameters: {own.torque: {iron four: {drain plug: 45 Nm ± 10 %}}}\n";
    let record = |family: &str| {
        format!(
            "unit: {{kind: engine, family: {family}}}\nfastenings: [{{role: drain plug, torque: 45 Nm}}, {{role: drain plug, torque: 70 Nm}}]\n"
        )
    };
    let said = of_settings(settings, &record("iron six"));
    let wanted =
        "line 4: advice: nothing is stated for this `unit.family`, and something for others, of `own.torque`";
    assert_eq!(said.matches("nothing is stated").count(), 1, "{said}");
    assert!(said.contains(wanted), "{said}");
    assert!(!of_settings(settings, &record("iron four")).contains("nothing is stated"));
    let every = "parameters: {own.torque: {iron four: {drain plug: 45 Nm ± 10 %}, every other: {drain plug: 40 Nm ± 10 %}}}\n";
    assert!(!of_settings(every, &record("iron six")).contains("nothing is stated"));
}
