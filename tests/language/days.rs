//! Days in rules: written out, as parameters, and as the days on which a rule begins and ends to count.

use witnessmark::finding::{Judged, Outcome, Standing};

use crate::support::{Folder, session, session_with, setting};

fn record(opened: &str, torque: &str) -> String {
    format!(
        "form: job/1\njob: {{number: K-1, {opened}state: closed}}\nvehicle: {{}}\nunit: {{kind: engine}}\n\
         fastenings:\n  - {{role: plug, torque: {torque}}}\n"
    )
}

fn rules(clauses: &str) -> String {
    format!(
        "standard s edition 1 \"S\"\njudges job\nrule r \"Torque\"\n  concerns each f in fastenings\n  demands f.torque at least 20 Nm\n  otherwise hold \"No.\"\n{clauses}"
    )
}

fn judged(clauses: &str, opened: &str, torque: &str) -> Judged {
    let session = session(&[("s.standard", &rules(clauses))]);
    assert!(!session.is_faulty(), "{clauses}: {:?}", session.diagnostics());
    session.judge("job.yaml", &record(opened, torque)).remove(0)
}

/// How the rule came out: met, broken, undecided, not concerned.
fn tally(clauses: &str, opened: &str, torque: &str) -> [u64; 4] {
    let judged = judged(clauses, opened, torque);
    let tally = &judged.tallies[0].1;
    [tally.met, tally.broken, tally.undecided, tally.not_concerned]
}

const MET: [u64; 4] = [1, 0, 0, 0];
const BROKEN: [u64; 4] = [0, 1, 0, 0];
const UNDECIDED: [u64; 4] = [0, 0, 1, 0];
const NOT_CONCERNED: [u64; 4] = [0, 0, 0, 1];

#[test]
fn a_rule_counts_for_the_jobs_that_were_opened_on_its_days() {
    let both = "  from 2026-07-01\n  until 2026-12-31\n";
    for (day, counts) in [
        ("2026-06-30T23:59", false),
        ("2026-07-01T00:00", true),
        ("2026-12-31T23:59", true),
        ("2027-01-01T00:00", false),
    ] {
        let opened = format!("opened: {day}, ");
        let wanted = |counts: bool, outcome| if counts { outcome } else { NOT_CONCERNED };
        assert_eq!(tally(both, &opened, "30 Nm"), wanted(counts, MET), "{day}");
        assert_eq!(tally(both, &opened, "10 Nm"), wanted(counts, BROKEN), "{day}");
        let begins = day > "2026-07";
        assert_eq!(tally("  from 2026-07-01\n", &opened, "10 Nm"), wanted(begins, BROKEN), "{day}");
        let lasts = day < "2027";
        assert_eq!(tally("  until 2026-12-31\n", &opened, "10 Nm"), wanted(lasts, BROKEN), "{day}");
    }
}

#[test]
fn without_the_day_of_opening_it_is_undecided_and_never_let_pass() {
    for clauses in
        ["  from 2026-07-01\n", "  until 2026-12-31\n", "  from 2026-07-01\n  if unrecorded pass\n"]
    {
        assert_eq!(tally(clauses, "", "30 Nm"), MET, "{clauses}");
        for torque in ["10 Nm", "much", ""] {
            let judged = judged(clauses, "", torque);
            assert_eq!(tally(clauses, "", torque), UNDECIDED, "{clauses}");
            let [finding] = &judged.findings[..] else { panic!("{:#?}", judged.findings) };
            assert_eq!((finding.outcome, finding.standing), (Outcome::Undecided, Standing::Counts));
            assert_eq!(
                finding.message,
                "may apply to this document: `job.opened` is not recorded (needed for: Torque)"
            );
        }
    }
    assert_eq!(tally("  from 2026-07-01\n", "opened: yesterday, ", "10 Nm"), UNDECIDED);
}

#[test]
fn days_are_written_in_conditions_and_stated_as_parameters() {
    let text = "standard s edition 1 \"S\"
judges job
parameter first_day is day \"First day of the new oil\" = 2026-07-01
parameter last_day is job.due \"Last day\"
let summer = 2026-06-21
rule r \"Days\"
  demands job.opened after summer
  demands job.opened before first_day
  demands job.opened before 2026-07-02 and not (job.opened after 2026-07-01)
  otherwise hold \"{first_day}\"
"
    .replace("parameter last_day is job.due \"Last day\"\n", "");
    let given = witnessmark::language::check::Given {
        name: "s.first_day".to_owned(),
        keys: Vec::new(),
        text: "2026-08-01".to_owned(),
        list: None,
        place: witnessmark::source::Place {
            source: witnessmark::source::SourceId::FIRST,
            span: witnessmark::source::Span::default(),
        },
        elsewhere: witnessmark::language::check::Elsewhere::Nothing,
    };
    let open = |givens| {
        session_with(
            &[("s.standard", &text)],
            givens,
            setting("2026-03-02", "UTC"),
            &witnessmark::library::NoLibrary,
        )
    };
    let judged = |session: &witnessmark::session::Session| {
        let judged = session.judge("job.yaml", &record("opened: 2026-07-01T08:00, ", "1 Nm")).remove(0);
        let found: Vec<String> = judged.findings.iter().map(|found| found.message.clone()).collect();
        (judged.tallies[0].1.met, found)
    };
    let session = open(Vec::new());
    assert!(!session.is_faulty(), "{:?}", session.diagnostics());
    assert_eq!(judged(&session), (2, vec!["2026-07-01".to_owned()]));
    assert_eq!(judged(&open(vec![given.clone()])), (3, Vec::new()));
    let wrong = open(vec![witnessmark::language::check::Given { text: "1.8.2026".to_owned(), ..given }]);
    assert!(wrong.diagnostics()[0].message.contains("1.8.2026"), "{:?}", wrong.diagnostics());
}

#[test]
fn mistakes_with_days() {
    let cases = [
        ("  from 1.7.2026\n", "1", "a day such as `2026-07-01` is wanted after `from`, not `1`"),
        ("  from July\n", "July", "a day such as `2026-07-01` is wanted after `from`, not `July`"),
        ("  from 2026-02-30\n", "2026-02-30", "the calendar has no day 2026-02-30"),
        ("  until 2026\n", "2026", "a day such as `2026-07-01` is wanted after `until`, not `2026`"),
        ("  from 2026-07-01\n  from 2026-08-01\n", "from", "`from` stands twice"),
        (
            "  from 2026-07-01\n  until 2026-06-30\n",
            "until 2026-06-30",
            "this rule counts until 2026-06-30 and only from 2026-07-01 on: never",
        ),
        (
            "  demands f.torque above 2026-07-01\n",
            "2026-07-01",
            "`above` wants a quantity, and this is a day",
        ),
        (
            "  demands job.opened after 2026-7-1\n",
            "2026-7-1",
            "`after` compares times, and this is a plain number",
        ),
        ("  demands job.opened is 2026-07-01\n", "2026-07-01", "a time can never be a day"),
        (
            "  demands 2026-07-01\n",
            "2026-07-01",
            "`demands` wants something that is true or not, and this is a day",
        ),
    ];
    for (clauses, place, said) in cases {
        let session = session(&[("s.standard", &rules(clauses))]);
        let found: Vec<(&str, &str)> = session
            .diagnostics()
            .iter()
            .map(|found| (session.sources().text_at(found.place().unwrap()), found.message.as_str()))
            .collect();
        assert!(found.contains(&(place, said)), "{clauses}: {found:#?}");
    }
    let other = rules("  from 2026-07-01\n")
        .replace("judges job", "judges procedure")
        .replace("f.torque at least 20 Nm", "recorded f.torque");
    let session = session(&[("s.standard", &other)]);
    let found = session.diagnostics().first().unwrap();
    assert_eq!(found.code.as_str(), "rules/period");
    assert!(found.message.contains("this standard judges `procedure`"), "{}", found.message);
    // What is asked of a log can go on behind a line end.
    let log = rules("").replace(
        "f.torque at least 20 Nm",
        "throughout f: log.torque at most 60 Nm\n    until log.torque at least 40 Nm",
    );
    let source = witnessmark::source::SourceId::FIRST;
    assert!(witnessmark::language::parse(source, &log).1.is_empty());
}

#[test]
fn why_and_compare_tell_the_days() {
    let folder = Folder::new();
    folder.write("old.standard", rules("  from 2026-07-01\n"));
    folder.write("new.standard", rules("  from 2026-08-01\n  until 2026-12-31\n"));
    folder.write("job.yaml", record("opened: 2026-06-01T08:00, ", "10 Nm"));
    let why = folder.run("why r job.yaml --standard new.standard --as-of 2026-09-01 --width 200");
    for said in [
        "counts: for jobs that were opened from 2026-08-01 until 2026-12-31",
        "`from 2026-08-01` does not hold: found 2026-06-01T08:00 at `job.opened`, line 2; required after 2026-07-31",
    ] {
        assert!(why.out.contains(said), "{said}: {}{}", why.out, why.err);
    }
    let compared = folder.run("compare old.standard new.standard --width 200");
    for said in ["from: 2026-07-01 → 2026-08-01", "until: 2026-12-31"] {
        assert!(compared.out.contains(said), "{said}: {}{}", compared.out, compared.err);
    }
}
