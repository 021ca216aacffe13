//! What is mended, what is left, and that a mended record says what the right one said.

use fastrand::Rng;
use witnessmark::document::amend::{Amended, amend};
use witnessmark::document::{Document, Forms, NodeId, NodeKind, read};
use witnessmark::source::SourceId;

use crate::generate::records;

fn amended(text: &str) -> Amended {
    amend(SourceId::FIRST, text, &Forms::builtin())
}

fn record(torque: &str) -> String {
    format!(
        "form: job/1 # kept\njob: {{ number: S-1, opened: 2026-03-02T08:10, state: in work, technician: A }}\n\
         vehicle: {{ plate: GW 1 }}\nunit: {{ kind: stepped automatic }}\n\
         fastenings:\n  - role: drain plug   # as it came\n    torque: {torque}\n"
    )
}

/// The torque after mending; none where it was left.
fn torque(torque: &str) -> Option<String> {
    let text = record(torque);
    let amended = amended(&text);
    let rest = amended.text.strip_prefix(text.split("torque: ").next().unwrap()).unwrap();
    let after = rest.strip_prefix("torque: ").unwrap().trim_end_matches('\n');
    assert_eq!(amended.mends.is_empty(), after == torque);
    (after != torque).then(|| after.to_owned())
}

#[test]
fn units_and_numbers_are_mended_where_one_thing_can_be_meant() {
    for (written, mended) in [
        ("45 nm", "45 Nm"),
        ("45 NM", "45 Nm"),
        ("45 nM", "45 Nm"),
        ("45nm", "45Nm"),
        ("4.5 kg·m", "4.5 kgf·m"),
        ("45,5 Nm", "45.5 Nm"),
        ("\"45,5 Nm\"", "\"45.5 Nm\""),
        ("'45,5   nm'", "'45.5   Nm'"),
        ("0,125 Nm", "0.125 Nm"),
        ("1.234,5 Nm", "1234.5 Nm"),
        ("1,234.5 Nm", "1234.5 Nm"),
        ("1,234,567 Nm", "1234567 Nm"),
        ("1'234.5 Nm", "1234.5 Nm"),
        (".5 Nm", "0.5 Nm"),
        ("5. Nm", "5 Nm"),
        ("33 LBF.FT", "33 lbf.ft"),
    ] {
        assert_eq!(torque(written).as_deref(), Some(mended), "{written}");
    }
}

#[test]
fn a_value_that_could_be_another_is_left() {
    for written in [
        "45 Nm",
        "3,500 Nm",
        "12 500 Nm",
        "45",
        "45 mnm",
        "45 MNM",
        "45 dNm",
        "4.5 Nn",
        "33 lbf.fr",
        "45 C",
        "45 °C",
        "45,5",
        "45,5 xy",
        "3,500 nm",
        "45,5,5 Nm",
        "-4,5 Nm",
        "~",
        "forty Nm",
        "\"4\\u0035,5 Nm\"",
    ] {
        assert_eq!(torque(written), None, "{written}");
    }
}

/// The text of a record in which one piece was replaced, mended; none where it was left.
fn with(right: &str, wrong: &str) -> Option<String> {
    let text = record("45 Nm").replacen(right, wrong, 1);
    assert!(text.contains(wrong));
    let amended = amended(&text);
    (!amended.mends.is_empty()).then_some(amended.text)
}

#[test]
fn days_names_and_words_are_mended_where_one_thing_can_be_meant() {
    let whole = Some(record("45 Nm"));
    let opened = |day: &str| with("2026-03-02T08:10", day);
    assert_eq!(opened("2026-3-2T08:10"), whole);
    assert_eq!(opened("2026/3/2 8:10"), whole);
    assert_eq!(opened("2026.03.02 08:10"), whole);
    assert_eq!(opened("2.3.2026 08:10"), None, "the second of March or the third of February");
    assert_eq!(opened("02/03/2026 08:10"), None);
    assert_eq!(opened("3.3.2026 8:10:30"), Some(record("45 Nm").replace("02T08:10", "03T08:10:30")));
    assert_eq!(opened("31.3.2026 8:10"), Some(record("45 Nm").replace("02T08:10", "31T08:10")));
    assert_eq!(opened("3/31/2026 8:10"), Some(record("45 Nm").replace("02T08:10", "31T08:10")));
    assert_eq!(opened("31.2.2026 8:10"), None);
    assert_eq!(with("fastenings:", "fastening:"), whole);
    assert_eq!(with("torque:", "torqe:"), whole);
    assert_eq!(with("torque:", "Torque:"), whole);
    assert_eq!(with("    torque:", "    turk:"), None);
    assert_eq!(with("stepped automatic", "steped automatic"), whole);
    assert_eq!(with("stepped automatic", "Stepped Automatic"), whole);
    assert_eq!(with("stepped automatic", "automatic"), None);
    assert_eq!(with("form: job/1", "form: job"), whole);
    assert_eq!(with("form: job/1", "form: Job/1"), whole);
    assert_eq!(with("form: job/1", "form: job/7"), None);
    assert_eq!(with("form: job/1", "form: procedur/1"), None, "then nothing would fit");
}

/// The name of a field that is there already is not what was meant by another, and a name under which
/// the value is wrong is not either.
#[test]
fn what_does_not_hold_together_is_withheld() {
    let text = record("45 Nm") + "    torqe: 46 Nm\n";
    assert!(amended(&text).mends.is_empty());
    let text = record("45,5 Nm").replacen("torque", "torqe", 1).replace("45,5 Nm", "45");
    let found = amended(&text);
    assert_eq!((found.mends.len(), found.withheld.len(), found.left.len()), (0, 1, 0), "{text}");
    assert_eq!(found.text, text);
    // A value of the right kind that the form does not allow.
    let found = amended(&(record("45 Nm") + "    ordr: 0\n"));
    assert_eq!((found.mends.len(), found.withheld.len()), (0, 1));
    // The others are mended all the same.
    let text = text.replace("in work", "in wrok");
    let found = amended(&text);
    assert_eq!((found.mends.len(), found.withheld.len()), (1, 1));
    assert_eq!(found.text, text.replace("in wrok", "in work"));
}

/// A field whose name was misspelt shows its value only when the name is mended.
#[test]
fn a_name_and_its_value_are_mended_together() {
    let text = record("\"45,5 NM\"").replace("torque", "torqe").replace("fastenings", "fastening");
    let found = amended(&text);
    assert_eq!(found.text, record("\"45.5 Nm\""), "{found:#?}");
    assert_eq!(found.mends.len(), 3);
    for mend in &found.mends {
        assert!(["fastening", "torqe", "45,5 NM"].contains(&mend.place.span.of(&text)), "{mend:?}");
    }
}

#[test]
fn ranges_are_mended_in_their_numbers_and_signs() {
    let mended = |range: &str| {
        let text = format!(
            "form: procedure/1\nprocedure: {{name: P, edition: 1}}\nunit: {{kind: engine}}\n\
             fastenings:\n- role: drain plug\n  place: A\n  torque: {range}\n"
        );
        let text = amended(&text).text;
        text.split("torque: ").nth(1).unwrap().trim_end().to_owned()
    };
    assert_eq!(mended("40,5 Nm .. 49,5 Nm"), "40.5 Nm .. 49.5 Nm");
    assert_eq!(mended("40,5..49,5 Nm"), "40.5..49.5 Nm");
    assert_eq!(mended("45 Nm ± 2,5 Nm"), "45 Nm ± 2.5 Nm");
    // Another sign, or a word, between two figures that make a range.
    assert_eq!(mended("45 Nm tol 10 %"), "45 Nm ± 10 %");
    assert_eq!(mended("45 Nm tol. 2,5 Nm"), "45 Nm ± 2.5 Nm");
    assert_eq!(mended("45 Nm +- 10 %"), "45 Nm ± 10 %");
    assert_eq!(mended("40-50 Nm"), "40 .. 50 Nm");
    assert_eq!(mended("40,5 Nm – 49,5 Nm"), "40.5 Nm .. 49.5 Nm");
    assert_eq!(mended("40 to 50 Nm"), "40 .. 50 Nm");
    for left in ["45 Nm tol 10", "50-40 Nm", "40-50", "-40-50 Nm", "40-50-60 Nm", "45 Nm total 10 %"] {
        assert_eq!(mended(left), left);
    }
    for left in ["40,500 Nm .. 49,5 Nm", "49,5 Nm .. 40,5 Nm", "40,5 Nm .. 49,5 xy"] {
        assert_eq!(mended(left), left);
    }
}

/// Whether two documents say the same: names, texts and the worth of each value.
fn same(left: &Document<'_>, right: &Document<'_>, (at, other): (NodeId, NodeId)) -> bool {
    match (&left.node(at).kind, &right.node(other).kind) {
        (NodeKind::Empty, NodeKind::Empty) => true,
        (NodeKind::Scalar { .. }, NodeKind::Scalar { .. }) => {
            left.value(at) == right.value(other)
                && (left.value(at).is_some() || left.raw(at) == right.raw(other))
        }
        (NodeKind::Map(_), NodeKind::Map(_)) => {
            let (ours, theirs) = (left.entries(at), right.entries(other));
            let same =
                |(one, two): (&witnessmark::document::Entry<'_>, &witnessmark::document::Entry<'_>)| {
                    one.key == two.key && same(left, right, (one.value, two.value))
                };
            ours.len() == theirs.len() && ours.iter().zip(theirs).all(same)
        }
        (NodeKind::List(_), NodeKind::List(_)) => {
            let (ours, theirs) = (left.items(at), right.items(other));
            ours.len() == theirs.len()
                && ours.iter().zip(theirs).all(|(one, two)| same(left, right, (*one, *two)))
        }
        _ => false,
    }
}

/// A slip of the pen somewhere in a text, one of those that people make.
fn slip(text: &str, rng: &mut Rng) -> Option<String> {
    let pick =
        |found: Vec<usize>, rng: &mut Rng| (!found.is_empty()).then(|| found[rng.usize(..found.len())]);
    let all = |what: &str| text.match_indices(what).map(|(at, _)| at).collect::<Vec<_>>();
    let replaced =
        |at: usize, old: &str, new: &str| Some(format!("{}{new}{}", &text[..at], &text[at + old.len()..]));
    let units =
        [(" Nm", " NM"), (" Nm", " nm"), (" °C", " C"), (" km", " KM"), (" bar", " BAR"), (" mm", " MM")];
    match rng.u8(..4) {
        0 => {
            let digit = |at: usize| text.as_bytes().get(at).is_some_and(u8::is_ascii_digit);
            let points = all(".").into_iter().filter(|at| digit(at - 1) && digit(at + 1)).collect();
            replaced(pick(points, rng)?, ".", ",")
        }
        1 => {
            let (old, new) = units[rng.usize(..units.len())];
            replaced(pick(all(old), rng)?, old, new)
        }
        2 => {
            let at = pick(all("2026-"), rng)?;
            let day = text.get(at..at + 10)?;
            let [year, month, date] = day.split('-').collect::<Vec<_>>()[..] else { return None };
            replaced(
                at,
                day,
                &format!("{}.{}.{year}", date.trim_start_matches('0'), month.trim_start_matches('0')),
            )
        }
        _ => {
            let letters: Vec<usize> =
                text.char_indices().filter(|(_, c)| c.is_ascii_lowercase()).map(|(at, _)| at).collect();
            let at = pick(letters, rng)?;
            let letter = &text[at..=at];
            let other = char::from(b'a' + rng.u8(..26)).to_string();
            let new = [String::new(), letter.repeat(2), letter.to_uppercase(), other];
            replaced(at, letter, &new[rng.usize(..4)])
        }
    }
}

/// The right record is the judge: whatever slip is made in it, what is mended says what it said.
#[test]
fn a_mended_record_says_what_the_right_one_said() {
    let forms = Forms::builtin();
    let mut rng = Rng::with_seed(0x6d65_6e64);
    let (mut mended, mut left, mut silent) = (0, 0, 0);
    for right in records(11).filter(|record| record.fault.is_none()).take(400).map(|record| record.text) {
        let Some(wrong) = slip(&right, &mut rng) else { continue };
        let found = amended(&wrong);
        if found.mends.is_empty() {
            assert_eq!(found.text, wrong);
            if found.left.is_empty() && found.withheld.is_empty() {
                silent += 1
            } else {
                left += 1
            }
            continue;
        }
        mended += 1;
        let (one, two) = (read(SourceId::FIRST, &right, &forms), read(SourceId::FIRST, &found.text, &forms));
        assert!(two.1.is_empty(), "{:#?}\n{}", two.1, found.text);
        let roots = (one.0[0].root(), two.0[0].root());
        assert!(same(&one.0[0], &two.0[0], roots), "{:#?}\n{right}\n{}", found.mends, found.text);
        assert!(amended(&found.text).mends.is_empty());
        let comments = |text: &str| text.matches('#').count();
        assert_eq!(comments(&right), comments(&found.text));
    }
    assert!(mended > 100 && left > 10, "{mended} mended, {left} left, {silent} in free texts");
}

/// Texts of any kind: nothing panics, and what has no mend comes out as it went in.
#[test]
fn damaged_records_survive() {
    let mut rng = Rng::with_seed(0x646d_6765);
    for record in records(5).take(150) {
        let mut text = record.text;
        for _ in 0..rng.usize(1..12) {
            text = slip(&text, &mut rng).unwrap_or(text);
        }
        let mut cut = rng.usize(..text.len());
        while !text.is_char_boundary(cut) {
            cut -= 1;
        }
        let whole = rng.bool();
        let text = if whole { text.as_str() } else { &text[..cut] };
        let found = amended(text);
        assert_eq!(found.mends.is_empty(), found.text == text);
        // A record's own values are never touched: every mend replaced what could not be read.
        let (documents, _) = read(SourceId::FIRST, text, &Forms::builtin());
        let (after, faults) = read(SourceId::FIRST, &found.text, &Forms::builtin());
        assert_eq!(documents.len(), after.len());
        assert!(faults.len() <= read(SourceId::FIRST, text, &Forms::builtin()).1.len());
    }
}

/// Far more than the errors that a report lists; and the one among them that would not say the same is left alone.
#[test]
fn five_hundred_mends_are_all_made() {
    let list = |torque: &str, odd: &str| {
        let one = format!("  - {{role: drain plug, torque: {torque}}}\n");
        format!("{}{}{odd}{}", record("45 Nm"), one.repeat(250), one.repeat(250))
    };
    let mended = amended(&list("45 NM", ""));
    assert_eq!((mended.mends.len(), mended.left.len(), mended.withheld.len()), (500, 0, 0));
    assert_eq!(mended.text, list("45 Nm", ""));
    let odd = "  - {role: drain plug, torqe: 7 NM, torqeu: 8 NM}\n";
    let mended = amended(&list("45 NM", odd));
    assert!(mended.mends.len() >= 500, "{}", mended.mends.len());
    assert_eq!(mended.text.matches("45 Nm").count(), 501);
}

/// A list of fastenings, each as it is written.
fn fastened(entries: impl Iterator<Item = String>) -> String {
    record("45 Nm") + &entries.map(|entry| format!("  - {{role: drain plug, {entry}}}\n")).collect::<String>()
}

/// A name and its value are corrected together or not at all, however many there are, and what does not fit keeps nothing
/// else from being corrected. The work is a few readings of the text, and not as many as there are corrections.
#[test]
fn thousands_of_mends_are_made_but_for_those_that_do_not_fit() {
    let wrong = |number: usize, odd: &[usize]| match odd.contains(&number) {
        true => "torqe: 45".to_owned(),
        false => format!("torqe: 45 NM, place: A{number}"),
    };
    for (many, odd) in [(1_500, vec![]), (1_500, vec![700]), (3_000, vec![0, 1, 1_000, 2_998, 2_999])] {
        let found = amended(&fastened((0..many).map(|number| wrong(number, &odd))));
        let right = |number| {
            if odd.contains(&number) {
                wrong(number, &odd)
            } else {
                format!("torque: 45 Nm, place: A{number}")
            }
        };
        assert_eq!(found.text, fastened((0..many).map(right)));
        assert_eq!(
            (found.mends.len(), found.withheld.len(), found.untried.len(), found.left.len()),
            (2 * (many - odd.len()), odd.len(), 0, 0)
        );
        assert!(found.readings <= 8 + 4 * odd.len(), "{} readings", found.readings);
    }
}

/// Where much does not fit, the text is not read for each of it.
#[test]
fn the_work_is_bounded_where_nothing_fits() {
    let mut read = Vec::new();
    for many in [500, 1_000, 4_000] {
        let text = fastened((0..many).map(|number| match number % 2 {
            0 => "torqe: 45".to_owned(),
            _ => format!("torqe: 45 NM, place: A{number}"),
        }));
        let found = amended(&text);
        assert_eq!(found.mends.len(), many, "those that fit are made");
        assert_eq!(found.withheld.len() + found.untried.len(), many / 2);
        assert!(many < 800 || !found.untried.is_empty());
        read.push(found.readings * text.len());
    }
    assert!(read.iter().all(|bytes| *bytes < 8 * 1024 * 1024), "{read:?} bytes");
}

/// Errors that are too many to be listed are not taken for new ones.
#[test]
fn more_errors_than_are_looked_at_are_told() {
    let text =
        fastened((0..1).map(|_| {
            format!("torqe: 45 NM, {}", (0..20_001).map(|n| format!("x{n}: 1,")).collect::<String>())
        }));
    let found = amended(&text);
    assert_eq!((found.text == text, found.mends.len(), found.left.len()), (true, 0, 1));
    assert_eq!(found.left[0].message, "this text has more than 20000 errors, and none of them is corrected");
    let text = fastened((0..5_000).map(|_| "torqe: 45 NM".to_owned()).chain(["torqe: 45".to_owned()]));
    assert_eq!(amended(&text).mends.len(), 10_000);
}
