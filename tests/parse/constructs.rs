//! Each construct, and the tree it becomes.

use witnessmark::language::ast::{
    Change, Concession, Count, ExprKind, Item, Part, Start, TrialOutcome, Unrecorded,
};
use witnessmark::language::parse_expression;
use witnessmark::source::Sources;

use super::show::show;
use super::{SAMPLE, good};
use crate::support::{rule_files, text};

fn tree(text: &str) -> String {
    let source = Sources::new().add("t", text);
    match parse_expression(source, text, 0) {
        Ok(expr) => show(&expr),
        Err(mistake) => panic!("{text}: {mistake:#?}"),
    }
}

/// A change of a record: its path, the value for a parameter, and how a record writes it.
fn changed(change: &Change) -> String {
    let Some(to) = &change.to else { return format!("without {}", change.path.node) };
    let value = to.value.as_ref().map_or("…".to_owned(), show);
    format!("{} = {value}, written {}", change.path.node, to.written.as_deref().unwrap_or("nothing"))
}

#[test]
fn trials_begin_with_a_record_that_they_share() {
    let text = "given base { job: { state: closed }, fastenings: [{ torque: 9 Nm }] }
given open from base
  with job.state = \"in \\\"work\\\"\", fastenings[0] = { role: 'a } b', place: [A, \"}\"] } without vehicle.vin
rule r \"t\"
  demands x
  otherwise hold \"m\"
  trial met from base
  trial broken on 2027-01-01 at fastenings[0].torque
    from open
    without unit, fastenings[1]
    with fastenings[2].torque = -12 Nm, fastenings[2].range = 45 Nm ± 10 %, codes = [P1, {a: b}], lim = 2 × a
  trial undecided from base with job.closed = 2026-07-01
";
    let file = good(text);
    let [Item::Base(base), Item::Base(open), Item::Rule(rule)] = &file.items[..] else { panic!("{file:#?}") };
    let Start::Own(record) = base.record else { panic!("{base:?}") };
    assert_eq!(record.of(text), "{ job: { state: closed }, fastenings: [{ torque: 9 Nm }] }");
    let Start::From(name) = &open.record else { panic!("{open:?}") };
    assert_eq!(
        (base.name.node.as_str(), open.name.node.as_str(), name.node.as_str()),
        ("base", "open", "base")
    );
    assert_eq!(
        open.changes.iter().map(changed).collect::<Vec<_>>(),
        [
            "job.state = \"in \\\"work\\\"\", written \"in \\\"work\\\"\"",
            "fastenings[0] = …, written { role: 'a } b', place: [A, \"}\"] }",
            "without vehicle.vin",
        ]
    );
    let trial = &rule.trials[1];
    assert_eq!(trial.day.as_ref().unwrap().node.to_string(), "2027-01-01");
    assert_eq!(trial.at.as_ref().unwrap().node, "fastenings[0].torque");
    assert_eq!(
        trial.changes.iter().map(changed).collect::<Vec<_>>(),
        [
            "without unit",
            "without fastenings[1]",
            "fastenings[2].torque = -12 Nm, written -12 Nm",
            "fastenings[2].range = [45 Nm ± 10 %], written 45 Nm ± 10 %",
            "codes = …, written [P1, {a: b}]",
            "lim = (2 Multiply a), written nothing",
        ]
    );
    assert_eq!(changed(&rule.trials[2].changes[0]), "job.closed = 2026-07-01, written 2026-07-01");
    assert!(rule.trials[0].changes.is_empty() && rule.trials[0].day.is_none());
}

#[test]
fn given_is_a_name_where_no_record_follows() {
    let text = "parameter given is torque \"T\"\nlet a =\n given\nrule r \"t\"\n demands given\n otherwise hold \"m\"\n";
    assert_eq!(good(text).items.len(), 3);
}

#[test]
fn the_sample_is_read_as_it_stands() {
    let file = good(SAMPLE);
    let Item::Standard(standard) = &file.items[0] else { panic!("{file:?}") };
    assert_eq!(standard.name.node, "gearbox_sump_service");
    assert_eq!(standard.edition.as_ref().unwrap().node.number(), 2);
    assert_eq!(standard.judges.as_ref().unwrap().node, "job");
    assert_eq!(show(standard.condition.as_ref().unwrap()), r#"(unit.kind Is "stepped automatic")"#);
    let Item::Rule(rule) = file.items.last().unwrap() else { panic!("{file:?}") };
    assert_eq!(rule.name.node, "sump_screw_torque");
    assert_eq!(show(&rule.demands[0]), "(s.torque Within sump_screw)");
    assert_eq!(rule.trials.len(), 3);
    let Start::Own(record) = rule.trials[1].record else { panic!("{rule:?}") };
    let record = record.of(SAMPLE);
    assert_eq!(record, "{ fastenings: [{ role: sump screw, place: A1, torque: 12 Nm }] }");
}

#[test]
fn the_shipped_standards_are_read() {
    for path in rule_files() {
        let file = good(&text(&path));
        assert!(file.items.len() > 3, "{path}");
    }
}

#[test]
fn operators_bind_in_their_order() {
    let cases = [
        ("a implies b implies c", "(a Implies (b Implies c))"),
        ("a or b implies c and d", "((a Or b) Implies (c And d))"),
        ("a or b and not c", "(a Or (b And (not c)))"),
        ("(a or b) and c", "((a Or b) And c)"),
        ("not a is b and c", "((not (a Is b)) And c)"),
        ("not not a", "(not (not a))"),
        ("a + b × c − d", "((a Add (b Multiply c)) Subtract d)"),
        ("a - b - c", "((a Subtract b) Subtract c)"),
        ("a ÷ b * c / d", "(((a Divide b) Multiply c) Divide d)"),
        ("-a × b", "((minus a) Multiply b)"),
        ("a + 1 above b × 2", "((a Add 1) Above (b Multiply 2))"),
        ("a at least b and c at most d", "((a AtLeast b) And (c AtMost d))"),
        ("a is not b or a is b", "((a IsNot b) Or (a Is b))"),
        ("a before b and c after d", "((a Before b) And (c After d))"),
        ("a within 10 min after b and c", "(((a Subtract b) Within [0 min .. 10 min]) And c)"),
        ("a within 2 d before b + 1 h", "(((b Add 1 h) Subtract a) Within [0 d .. 2 d])"),
        ("a within 1 min .. 5 min after b", "((a Subtract b) Within [1 min .. 5 min])"),
        ("a within at least 5 min after b", "((a Subtract b) Within [at least 5 min])"),
        ("a within lag after b", "((a Subtract b) Within [0 s .. lag])"),
        ("duration of s.step at most 5 min", "((s.step.ended Elapsed s.step.started) AtMost 5 min)"),
        ("duration is 5 s", "(duration Is 5 s)"),
        ("a + 1 is one of (1, 2) and b", "(((a Add 1) OneOf [1, 2]) And b)"),
        (r#"a is not one of ("x", "y")"#, r#"(a NotOneOf ["x", "y"])"#),
        (r#"one of ("x", "y z")"#, "[x, y z]"),
        ("a is plugs and b is not plugs", "((a Is plugs) And (b IsNot plugs))"),
        ("(a is b) is yes", "((a Is b) Is true)"),
        ("recorded a.b and not recorded c", "((recorded a.b) And (not (recorded c)))"),
        ("a is no and b is yes", "((a Is false) And (b Is true))"),
    ];
    for (text, wanted) in cases {
        assert_eq!(tree(text), wanted, "{text}");
    }
}

#[test]
fn ranges_in_every_form() {
    let cases = [
        ("40 Nm .. 50 Nm", "[40 Nm .. 50 Nm]"),
        ("40 .. 50 Nm", "[40 Nm .. 50 Nm]"),
        ("40..50 Nm", "[40 Nm .. 50 Nm]"),
        ("a .. b", "[a .. b]"),
        ("1 .. 5", "[1 .. 5]"),
        ("45 Nm ± 10 %", "[45 Nm ± 10 %]"),
        ("45 Nm ± 10%", "[45 Nm ± 10 %]"),
        ("45 ± 10 %", "[45 ± 10 %]"),
        ("45 ± 3 Nm", "[45 Nm ± 3 Nm]"),
        ("45 Nm +/- 3 Nm", "[45 Nm ± 3 Nm]"),
        ("90 ± 5 K", "[90 ± 5 K]"),
        ("45 Nm +5/-0 Nm", "[45 Nm + 5 Nm - 0 Nm]"),
        ("45 +5/-0 Nm", "[45 Nm + 5 Nm - 0 Nm]"),
        ("45 Nm +5 Nm/−1 Nm", "[45 Nm + 5 Nm - 1 Nm]"),
        ("at least 2 s", "[at least 2 s]"),
        ("at most 2 × a", "[at most (2 Multiply a)]"),
        ("above 0 L", "[above 0 L]"),
        ("below 9 Nm", "[below 9 Nm]"),
        ("x within at least 2 s and y", "((x Within [at least 2 s]) And y)"),
        ("x within 2 Nm .. a + 1 Nm", "(x Within [2 Nm .. (a Add 1 Nm)])"),
        ("x within nut ± 10 % or y", "((x Within [nut ± 10 %]) Or y)"),
        ("-5 °C .. 5 °C", "[-5 °C .. 5 °C]"),
    ];
    for (text, wanted) in cases {
        assert_eq!(tree(text), wanted, "{text}");
    }
}

#[test]
fn units_behind_numbers() {
    let cases = [
        ("12 in", "12 in"),
        ("12 in and x", "(12 in And x)"),
        ("8 min", "8 min"),
        ("4 US qt", "4 US qt"),
        ("1 imp gal", "1 imp gal"),
        ("33 lbf.ft", "33 lbf·ft"),
        ("9Nm", "9 Nm"),
        ("640 /mL", "640 particles/mL"),
        ("10 Nm / 2", "(10 Nm Divide 2)"),
        ("10 / n", "(10 Divide n)"),
        ("a is 5 and b", "((a Is 5) And b)"),
        ("count of x in l where x.a is 3 or x.b", "(Count x in l where ((x.a Is 3) Or x.b))"),
        ("sum of 2 over x in l", "(Sum 2 over x in l)"),
        ("2 L/min", "2 L/min"),
        ("12 psi(g)", "12 psi gauge"),
    ];
    for (text, wanted) in cases {
        assert_eq!(tree(text), wanted, "{text}");
    }
}

#[test]
fn quantifiers_aggregates_calls_and_tables() {
    let cases = [
        ("every s in seals: s.renewed", "(Every s in seals: s.renewed)"),
        (
            "some s in seals where s.disturbed: s.renewed and s.lubricated",
            "(Some s in seals where s.disturbed: (s.renewed And s.lubricated))",
        ),
        ("a or no s in x.seals: s.reused is yes", "(a Or (No s in x.seals: (s.reused Is true)))"),
        ("every a in l: some b in a.m: b is a", "(Every a in l: (Some b in a.m: (b Is a)))"),
        ("count of seals at least 2", "((Count seals) AtLeast 2)"),
        ("(count of s in seals where s.a) is 2", "((Count s in seals where s.a) Is 2)"),
        ("sum of d.volume over d in fluid.drained", "(Sum d.volume over d in fluid.drained)"),
        ("least of a.b + 1 over a in l where a.c", "(Least (a.b Add 1) over a in l where a.c)"),
        ("greatest of a over a in l", "(Greatest a over a in l)"),
        ("f(all of a.b over a in l where a.c)", "f((All a.b over a in l where a.c))"),
        ("all is sum", "(all Is sum)"),
        ("days_between(a, b.c) below 3", "(days_between(a, b.c) Below 3)"),
        ("now()", "now()"),
        ("every s in sorted(l): s", "(Every s in sorted(l): s)"),
        ("refill for unit.family", "refill for (unit.family)"),
        (r#"x within refill for "six speed" and y"#, r#"((x Within refill for ("six speed")) And y)"#),
        ("refill for (unit.family, a + 1)", "refill for (unit.family, (a Add 1))"),
        ("count above 2 and least is sum", "((count Above 2) And (least Is sum))"),
        ("x.rule is x.where", "(x.rule Is x.where)"),
    ];
    for (text, wanted) in cases {
        assert_eq!(tree(text), wanted, "{text}");
    }
}

#[test]
fn look_alikes_are_read_and_spans_stay_those_of_the_text() {
    let cases = [
        ("38\u{a0}℃", "38 °C"),
        ("−5 °C", "-5 °C"),
        ("–5\u{202f}°C", "-5 °C"),
        ("5 µm", "5 µm"),
        ("5 μm", "5 µm"),
        ("9 N·m", "9 Nm"),
        ("a − b – c", "((a Subtract b) Subtract c)"),
        ("a is “x”", r#"(a Is "x")"#),
        ("a is „x“", r#"(a Is "x")"#),
        (r#"a is "“x”""#, r#"(a Is "“x”")"#),
        ("\u{feff}a\u{a0}and\u{3000}b", "(a And b)"),
    ];
    for (text, wanted) in cases {
        assert_eq!(tree(text), wanted, "{text}");
    }
    let text = "let a = “ö” is\u{a0}x − 5\u{2009}℃";
    let file = good(text);
    let Item::Let(item) = &file.items[0] else { panic!("{file:?}") };
    assert_eq!(item.value.span.of(text), "“ö” is\u{a0}x − 5\u{2009}℃");
    let ExprKind::Compare(_, left, right) = &item.value.kind else { panic!("{file:?}") };
    assert_eq!(left.span.of(text), "“ö”");
    let ExprKind::Arithmetic(_, x, five) = &right.kind else { panic!("{file:?}") };
    assert_eq!((x.span.of(text), five.span.of(text)), ("x", "5\u{2009}℃"));
}

#[test]
fn every_item_and_clause() {
    let text = r#"
use "torques.standard"
parameter wheel_nut is torque range
  "Torque of the wheel nuts" = 110 Nm .. 130 Nm   # usual
parameter rise is temperature difference "Rise of the oil"
table fill by unit.family, unit.market
  "six", "north" : 5.0 L .. 6.2 L
  "six", "south" : at least
    5 L
let oil = unit.kind is one of (
  "a",
  "b")
rule r "Title"
  concerns each s in fastenings where s.torque at least 2 Nm, exactly 13, each p in s.positions, at most 2
  demands s.a
    and s.b
  demands s.c
  otherwise advice "a {s.a}{{x}} \"q\"\n{count of l}"
  concession by "foreman", "owner"
  if unrecorded pass
  trial not concerned at fastenings[0].torque with rise = 5 K, wheel_nut = 9 Nm { a: "}", b: 'it''s }', c: it's # }
    , d: {e: [1]} }
  trial met {}
rule whole "Whole document"
  concerns where recorded unit
  demands yes
  otherwise note "x"
  concession never
"#;
    let file = good(text);
    let kinds: Vec<_> =
        file.items.iter().map(|item| format!("{item:?}").split('(').next().unwrap().to_owned()).collect();
    assert_eq!(kinds, ["Use", "Parameter", "Parameter", "Table", "Let", "Rule", "Rule"]);
    let Item::Parameter(nut) = &file.items[1] else { panic!() };
    assert_eq!((nut.kind.node.as_str(), nut.range), ("torque", true));
    assert_eq!(show(nut.default.as_ref().unwrap()), "[110 Nm .. 130 Nm]");
    let Item::Parameter(rise) = &file.items[2] else { panic!() };
    assert_eq!((rise.kind.node.as_str(), rise.range), ("temperature difference", false));
    let Item::Table(table) = &file.items[3] else { panic!() };
    assert_eq!(table.keys.iter().map(show).collect::<Vec<_>>(), ["unit.family", "unit.market"]);
    assert_eq!(show(&table.rows[1].value), "[at least 5 L]");
    assert_eq!(table.rows[1].keys[1].node, "south");
    let Item::Rule(rule) = &file.items[5] else { panic!() };
    let concerns = rule.concerns.as_ref().unwrap();
    assert_eq!(show(concerns.subjects[0].condition.as_ref().unwrap()), "(s.torque AtLeast 2 Nm)");
    assert_eq!(concerns.subjects[0].count.as_ref().unwrap().node, Count::Exactly(13));
    assert_eq!(concerns.subjects[1].count.as_ref().unwrap().node, Count::AtMost(2));
    assert_eq!(concerns.subjects[1].span.of(text), "each p in s.positions, at most 2");
    assert_eq!(rule.demands.iter().map(show).collect::<Vec<_>>(), ["(s.a And s.b)", "s.c"]);
    let Some(Concession::By(roles)) = &rule.concession else { panic!() };
    assert_eq!(roles[1].node, "owner");
    assert_eq!(rule.if_unrecorded.as_ref().unwrap().node, Unrecorded::Pass);
    let trial = &rule.trials[0];
    assert_eq!(trial.outcome.node, TrialOutcome::NotConcerned);
    assert_eq!(trial.at.as_ref().unwrap().node, "fastenings[0].torque");
    assert_eq!(
        trial.changes.iter().map(changed).collect::<Vec<_>>(),
        ["rise = 5 K, written 5 K", "wheel_nut = 9 Nm, written 9 Nm"]
    );
    let Start::Own(record) = trial.record else { panic!("{trial:?}") };
    assert!(record.of(text).starts_with("{ a: \"}\"") && record.of(text).ends_with("d: {e: [1]} }"));
    let Item::Rule(whole) = &file.items[6] else { panic!() };
    assert!(matches!(whole.concession, Some(Concession::Never(_))));
    assert_eq!(show(whole.concerns.as_ref().unwrap().condition.as_ref().unwrap()), "(recorded unit)");
}

#[test]
fn messages_hold_words_and_values_at_their_places() {
    let text = "rule r \"t\"\n demands a\n otherwise hold \"ö {s.a}{{x}} \\\"q\\\"\\n{ count of l }\"\n";
    let file = good(text);
    let Item::Rule(rule) = &file.items[0] else { panic!() };
    let parts = &rule.otherwise.as_ref().unwrap().message.parts;
    let shown: Vec<String> = parts
        .iter()
        .map(|part| match part {
            Part::Words(words) => words.clone(),
            Part::Value(value) => format!("<{}={}>", show(value), value.span.of(text)),
        })
        .collect();
    assert_eq!(shown, ["ö ", "<s.a=s.a>", "{x} \"q\"\n", "<(Count l)=count of l>"]);
}

#[test]
fn a_number_of_subjects_has_a_message_of_its_own() {
    let text = "rule r \"t\"\n concerns each s in l where s.a, at least 1 otherwise \"None of {count of l}.\",\n  each x in s.m, exactly 2\n demands x\n otherwise hold \"m\"\n";
    let file = good(text);
    let Item::Rule(rule) = &file.items[0] else { panic!() };
    let [outer, inner] = &rule.concerns.as_ref().unwrap().subjects[..] else { panic!() };
    let count = outer.count.as_ref().unwrap();
    assert_eq!((count.node, count.span.of(text)), (Count::AtLeast(1), "at least 1"));
    assert_eq!(outer.message.as_ref().unwrap().span.of(text), "\"None of {count of l}.\"");
    assert!(outer.span.of(text).ends_with("{count of l}.\""));
    assert!(inner.count.is_some() && inner.message.is_none());
}

#[test]
fn lines_may_end_in_any_way() {
    for end in ["\n", "\r\n", "\r"] {
        let text = format!("\u{feff}{}", SAMPLE.replace('\n', end));
        assert_eq!(good(&text).items.len(), 5, "{end:?}");
    }
}

/// A value in a rule is read by the reader of records; only what stands around it is a matter of the grammar.
#[test]
fn values_are_written_in_rules_as_in_records() {
    let cases = [
        ("x at least 45 N*m and y", "((x AtLeast 45 Nm) And y)"),
        ("x is 4 US fl oz or y", "((x Is 4 US fl oz) Or y)"),
        ("x above 3 ″", "(x Above 3 in)"),
        ("x is 1.2 bar (g)", "(x Is 1.2 bar gauge)"),
        ("x is 1/4 turn + a", "(x Is (0.25 turn Add a))"),
        ("x above +5 Nm", "(x Above 5 Nm)"),
        ("30 °C + Δ9 °F", "(30 °C Add 9 °F)"),
    ];
    for (text, wanted) in cases {
        assert_eq!(tree(text), wanted, "{text}");
    }
    for text in ["40–50 Nm", "x within 40 Nm – 50 Nm"] {
        let source = Sources::new().add("t", text);
        let mistake = parse_expression(source, text, 0).unwrap_err();
        assert_eq!(mistake.message, "`–` between two values can mean minus or up to");
        let help = mistake.help.unwrap();
        assert!(help.ends_with("50 Nm` for a range"), "{help}");
    }
}

#[test]
fn entries_of_several_lists_are_a_list_of_paths() {
    assert_eq!(tree("entries of (fastenings, fluid.fills)"), "[fastenings, fluid.fills]");
    assert_eq!(tree("entries of(level_check)"), "[level_check]");
    assert_eq!(tree("entries of level_check"), "(entries of level_check)");
}
