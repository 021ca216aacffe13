//! Input that repeats: little bytes choose what is repeated, how often and how it is varied. Work is counted in steps,
//! parts and listed mistakes, and never timed: it is in proportion to the text, or something is refused with a message.

use witnessmark::finding::{Judged, Outcome};
use witnessmark::session::Session;
use witnessmark::source::Sources;

use super::check::{ALONE, diagnostics, documents, judged, plain_words};
use super::given::{ALL, FORMS, LOGGED, MOST_STEPS, opened, set_log};

/// Reads choices out of bytes; behind their end each choice is the first.
struct Choices<'b>(&'b [u8]);

impl Choices<'_> {
    fn below(&mut self, most: usize) -> usize {
        let Some((first, rest)) = self.0.split_first() else { return 0 };
        self.0 = rest;
        usize::from(*first) % most
    }

    /// A number up to some thousands, small ones more often.
    fn many(&mut self, most: usize) -> usize {
        let (base, scale) = (self.below(256), self.below(8));
        (base << scale).min(most)
    }

    fn one<'t>(&mut self, of: &[&'t str]) -> &'t str {
        of[self.below(of.len())]
    }
}

const KINDS: [fn(&mut Choices<'_>); 13] = [
    doubling_lets,
    doubling_in_a_rule,
    definitions,
    many_documents,
    unknown_fields,
    one_log_often,
    deep_values,
    deep_demands,
    long_lists,
    many_rules,
    many_slips,
    deep_parameters,
    many_known,
];

/// The first byte says what is repeated.
pub fn repeat(data: &[u8]) {
    let mut choices = Choices(data);
    KINDS[choices.below(KINDS.len())](&mut choices);
}

/// Seventeen definitions, each of which has the next one twice in its fields: a few times more parts than a schema may have.
const JUST_TOO_MANY: [u8; 5] = [2, 16, 1, 0, 0];

/// Each kind a few times.
pub fn seeds() -> Vec<Vec<u8>> {
    let kinds = 0..u8::try_from(KINDS.len()).unwrap_or(u8::MAX);
    kinds
        .flat_map(|kind| [vec![kind, 3, 1], vec![kind, 60, 0, 1, 2, 3], vec![kind, 200, 2, 4, 1, 7]])
        .chain([JUST_TOO_MANY.to_vec()])
        .collect()
}

const HEAD: &str = "standard made edition 1 \"Made\"\njudges job\n\n";
const JOB: &str = "form: job/1\njob: {number: K-1, opened: \"2026-03-02T08:15:00Z\", state: closed}\nvehicle: {plate: GW 1}\n\
                   unit: {kind: engine}\n";

fn record(fastenings: usize) -> String {
    format!("{JOB}fastenings:\n{}", "  - {role: screw, torque: 12 Nm}\n".repeat(fastenings.max(1)))
}

/// A name of this number: names have no digits.
fn nth(number: usize) -> String {
    let letter = |digit: usize| char::from(b'a' + u8::try_from(digit % 26).unwrap_or_default());
    format!("l_{}{}{}", letter(number / 676), letter(number / 26), letter(number))
}

/// A session on rules, with what is said of them.
fn session(rules: &str) -> Session {
    let session = opened(&[("made.standard", rules)], FORMS.clone(), Vec::new());
    diagnostics(session.diagnostics(), session.sources());
    session
}

fn judge(session: &Session, text: &str) -> Vec<Judged> {
    let documents = session.judge("record.yaml", text);
    documents.iter().for_each(|document| judged(document, MOST_STEPS));
    documents
}

/// The steps that rules take for a record; none where they are refused.
fn steps(rules: &str, text: &str) -> Option<u64> {
    let session = session(rules);
    if session.is_faulty() {
        return None;
    }
    let documents = judge(&session, text);
    for rule in session.program().rules().all() {
        let _ = session.trace(rule, "record.yaml", text);
        plain_words(&session.story(rule).name);
    }
    let _ = session.prove();
    Some(documents.iter().map(|document| document.steps).sum())
}

/// Twice as much text takes at most about twice as many steps.
fn in_proportion(once: Option<u64>, twice: Option<u64>) {
    if let (Some(once), Some(twice)) = (once, twice) {
        assert!(twice <= once * 5 / 2 + 200, "{once} steps, and of twice as much {twice}");
    }
}

/// The first let, each further one in which `IT` is the one before, and a demand about the last: lets of the whole
/// document, and lets of an entry `f`.
pub(crate) const LETS: [(&str, &str, &str); 9] = [
    (" = least of f.torque over f in fastenings", " = IT + IT", "  demands IT above 1 Nm"),
    (" = recorded vehicle.plate", " = IT or not IT", "  demands IT"),
    (" = unit.kind is \"engine\"", " = IT and IT", "  demands IT"),
    (" = count of f in fastenings where f.torque above 1 Nm", " = IT - IT + IT", "  demands IT above 100"),
    (
        " of f in fastenings = f.torque",
        " of f in fastenings = (IT of f) + (IT of f)",
        "  concerns each f in fastenings\n  demands IT of f above 1 Nm",
    ),
    (
        " of f in fastenings = f.torque above 1 Nm",
        " of f in fastenings = (IT of f) and (IT of f)",
        "  demands every f in fastenings: IT of f",
    ),
    (
        " = 5 Nm",
        " = IT where recorded vehicle.plate = IT + 1 Nm where recorded vehicle.vin = IT otherwise",
        "  demands every f in fastenings: f.torque above IT",
    ),
    (
        " = 5 Nm .. 50 Nm",
        " = IT where recorded vehicle.plate = IT otherwise",
        "  demands every f in fastenings: f.torque within IT",
    ),
    (
        " = some f in fastenings: f.torque above 1 Nm",
        " = (every f in fastenings: f.torque above 2 Nm) and IT and IT",
        "  demands IT",
    ),
];

fn doubling(lets: usize, (first, next, demand): (&str, &str, &str)) -> String {
    let mut text = format!("{HEAD}let {}{first}\n", nth(0));
    for number in 1..lets {
        text += &format!("let {}{}\n", nth(number), next.replace("IT", &nth(number - 1)));
    }
    format!("{text}rule b \"B\"\n{}\n  otherwise hold \"No.\"\n", demand.replace("IT", &nth(lets - 1)))
}

/// Lets that each name the one before twice.
fn doubling_lets(choices: &mut Choices<'_>) {
    let (kind, lets, text) =
        (LETS[choices.below(LETS.len())], choices.below(40) + 1, record(choices.below(5)));
    let of = |lets: usize| steps(&doubling(lets, kind), &text);
    in_proportion(of(lets), of(lets * 2));
}

/// The same within a rule.
fn doubling_in_a_rule(choices: &mut Choices<'_>) {
    const WITHIN: [(&str, &str, &str); 3] = [
        ("f.torque", "IT + IT", "IT above 1 Nm"),
        ("f.torque above 1 Nm", "IT and IT", "IT"),
        ("f.role is \"screw\"", "IT or not IT", "IT"),
    ];
    let (first, next, demand) = WITHIN[choices.below(WITHIN.len())];
    let (lets, text) = (choices.below(40) + 1, record(choices.below(5)));
    let of = |lets: usize| {
        let mut rules =
            format!("{HEAD}rule b \"B\"\n  concerns each f in fastenings\n  let {} = {first}\n", nth(0));
        for number in 1..lets {
            rules += &format!("  let {} = {}\n", nth(number), next.replace("IT", &nth(number - 1)));
        }
        let demand = demand.replace("IT", &nth(lets - 1));
        steps(&format!("{rules}  demands {demand}\n  otherwise hold \"No.\"\n"), &text)
    };
    in_proportion(of(lets), of(lets * 2));
}

/// Definitions of a schema that each refer to the next one several times.
fn definitions(choices: &mut Choices<'_>) {
    let (count, times) = (choices.below(120) + 1, choices.below(4) + 1);
    let key = choices.one(&["properties", "anyOf", "allOf", "oneOf", "items", "links"]);
    let back = choices.below(8) == 7;
    let body = |number: usize| {
        let last = number + 1 == count;
        let to = if last && back { 0 } else { number + 1 };
        let part = if last && !back {
            "{\"type\": \"string\"}".into()
        } else {
            format!("{{\"$ref\": \"#/$defs/d{to}\"}}")
        };
        let parts = (0..times).map(|time| match key {
            "properties" | "links" => format!("\"p{time}\": {part}"),
            _ => part.clone(),
        });
        let parts: Vec<String> = parts.collect();
        let parts = parts.join(", ");
        match key {
            "properties" | "links" => {
                format!("\"d{number}\": {{\"type\": \"object\", \"{key}\": {{{parts}}}}}")
            }
            "items" => format!("\"d{number}\": {{\"type\": \"array\", \"items\": {part}}}"),
            _ => format!("\"d{number}\": {{\"{key}\": [{parts}]}}"),
        }
    };
    let bodies: Vec<String> = (0..count).map(body).collect();
    let schema = format!(
        "{{\"allOf\": [{{\"$ref\": \"witnessmark:job/1\"}}], \"properties\": {{\"own\": {{\"$ref\": \"#/$defs/d0\"}}}}, \
         \"$defs\": {{{}}}}}",
        bodies.join(", ")
    );
    let mut sources = Sources::new();
    let source = sources.add("own.json", &*schema);
    match FORMS.extended("job", &schema, source) {
        Ok(forms) => {
            let doubles = times > 1 && matches!(key, "anyOf" | "allOf" | "oneOf" | "properties");
            assert!(!doubles || count < 16, "{count} definitions that double come to more parts than may be");
            documents(&format!("{JOB}own: {{p0: {{p0: a}}}}\n"), &forms);
        }
        Err(said) => diagnostics(&said, &sources),
    }
}

/// Many documents in a text, with one job number or several.
fn many_documents(choices: &mut Choices<'_>) {
    let (count, same) = (choices.many(300), choices.below(2) == 0);
    let between = choices.one(&["---\n", "...\n---\n", "---\n---\n", "--- # c\n", "---\n{}\n---\n"]);
    let rules = format!(
        "{HEAD}rule b \"B\"\n  concerns each f in fastenings\n  demands f.torque above 1 Nm\n  otherwise hold \"No.\"\n"
    );
    let session = session(&rules);
    let one = |number: usize| match same {
        true => record(1),
        false => record(1).replace("K-1", &format!("K-{number}")),
    };
    let text: String = (0..count).map(|number| one(number) + between).collect();
    let documents = judge(&session, &text);
    assert!(documents.len() <= 2 * count + 2, "{} of {count}", documents.len());
    let alone = judge(&session, &record(1)).iter().map(|document| document.steps).max().unwrap_or_default();
    assert!(
        documents.iter().all(|document| document.steps <= alone),
        "each takes the steps that it takes alone"
    );
}

/// Fields that no form has, at the top and in an entry.
fn unknown_fields(choices: &mut Choices<'_>) {
    let (count, near) = (choices.many(4_000), choices.one(&["torqu", "x", "fastening", "\"q\"", "ö"]));
    let (blank, within) = (choices.one(&["", " 1", " {a: 1}", " [", " ~"]), choices.below(2) == 0);
    let indent = if within { "    " } else { "" };
    let field = |number: usize| format!("{indent}{near}{number}:{blank}\n").replace("\"q\"", "q q ");
    let text = record(1) + &(0..count).map(field).collect::<String>();
    for document in judge(&ALL, &text) {
        assert!(document.diagnostics.len() <= 110, "{} mistakes are listed", document.diagnostics.len());
    }
}

/// Many logs that name one file.
fn one_log_often(choices: &mut Choices<'_>) {
    let (logs, rows, step) = (choices.many(400), choices.many(4_000), choices.below(3));
    let rows: String = (0..rows).map(|row| format!("{},{}\n", row * step, 30 + row % 20)).collect();
    set_log(format!("time [s],temperature [°C]\n{rows}").as_bytes());
    let log = "  - {of: level check, started: 2026-03-02T09:30, temperature: log.csv}\n";
    judge(&LOGGED, &format!("{JOB}level: {{temperature: 38 °C}}\nlogs:\n{}", log.repeat(logs.max(1))));
}

/// Values in values.
fn deep_values(choices: &mut Choices<'_>) {
    let depth = choices.many(3_000);
    let (open, close) =
        [("[", "]"), ("{a: ", "}"), ("- ", ""), ("? ", ""), ("{? ", "}"), ("&a [", "]"), ("\"", "\"")]
            [choices.below(7)];
    let field = choices.one(&["fastenings: ", "own: ", "fastenings:\n  ", ""]);
    let closed = choices.below(4) != 0;
    let close = if closed { close.repeat(depth) } else { String::new() };
    let text = format!("{JOB}{field}{}x{close}\n", open.repeat(depth));
    documents(&text, ALL.forms());
    judge(&ALL, &text);
}

/// Demands in demands.
fn deep_demands(choices: &mut Choices<'_>) {
    let depth = choices.many(2_000);
    let (open, close) = [
        ("(", ")"),
        ("not ", ""),
        ("recorded unit and ", ""),
        ("recorded unit or ", ""),
        ("every f in fastenings: ", ""),
        ("count of f in fastenings where ", ""),
        ("recorded unit implies ", ""),
        ("\"", "\""),
        ("{", "}"),
        ("trial met { a: ", "}"),
    ][choices.below(10)];
    let demand = format!("{}recorded vehicle{}", open.repeat(depth), close.repeat(depth));
    steps(&format!("{HEAD}rule b \"B\"\n  demands {demand}\n  otherwise hold \"No.\"\n"), &record(2));
}

/// Long lists, and demands about each entry or each two of them.
fn long_lists(choices: &mut Choices<'_>) {
    let demand = choices.one(&[
        "every f in fastenings: f.torque above 1 Nm",
        "(count of f in fastenings where f.torque above 1 Nm) above 0",
        "(sum of f.torque over f in fastenings) above 1 Nm",
        "every f in fastenings: some g in fastenings: f.torque above g.torque",
        "no f in fastenings: some g in fastenings: f.torque is g.torque and f.role is not g.role",
        "every f in fastenings: every g in fastenings: every h in fastenings: f.torque is h.torque",
    ]);
    let rules = format!("{HEAD}rule b \"B\"\n  demands {demand}\n  otherwise hold \"No.\"\n");
    let text = record(choices.many(1_500));
    let session = session(&rules);
    assert!(!session.is_faulty(), "{demand}");
    for document in judge(&session, &text) {
        // What was left for want of steps is undecided and never met.
        let met = document.tallies.iter().map(|(_, tally)| tally.met).sum::<u64>();
        assert!(met == 0 || document.steps < MOST_STEPS, "met, and the steps were not enough");
        assert!(document.findings.iter().all(|found| found.outcome != Outcome::Met));
    }
}

/// Rules, parameters or rows of a table, all alike or all different.
fn many_rules(choices: &mut Choices<'_>) {
    let (count, kind, same) = (choices.many(500), choices.below(5), choices.below(3) == 0);
    let part = |number: usize| {
        let name = nth(if same { 0 } else { number });
        match kind {
            0 => format!("rule {name} \"R\"\n  demands recorded vehicle.vin\n  otherwise hold \"No.\"\n"),
            1 => format!("rule {name} \"R\"\n  demands recorded vehicle.{name}\n  otherwise hold \"No.\"\n"),
            2 => format!("let {name} = {number} Nm\n"),
            3 => format!("parameter {name} is torque\n  \"P\"\n"),
            _ => format!("table {name} by a\n  \"k\" : {number} Nm\n"),
        }
    };
    let of = |count: usize| steps(&(HEAD.to_owned() + &(0..count).map(part).collect::<String>()), &record(2));
    in_proportion(of(count / 2), of(count));
}

/// Slips that `amend` corrects.
fn many_slips(choices: &mut Choices<'_>) {
    let count = choices.many(400);
    let slip = choices.one(&[
        "{torque: 45 nm}",
        "{torqe: 45 Nm}",
        "{torque: 45,5 Nm}",
        "{torque: \"5. Nm\"}",
        "{tourqe: 4 nm}",
    ]);
    let text = format!("{JOB}fastenings:\n{}", format!("  - {slip}\n").repeat(count.max(1)));
    super::documents::amend(text.as_bytes());
    let amended = witnessmark::document::amend::amend(ALONE, &text, &FORMS);
    let again = witnessmark::document::amend::amend(ALONE, &amended.text, &FORMS);
    assert_eq!(again.mends, [], "what was amended needs no more");
}

/// Figures of parameters by keys below keys, and settings that say one thing often.
fn deep_parameters(choices: &mut Choices<'_>) {
    let (count, deep) = (choices.many(1_000), choices.below(2) == 0);
    let key = choices.one(&["a", "other", "'x y'", "5 Nm", "~"]);
    let mut text = "form: workshop/1\nworkshop: {name: W}\nparameters:\n  fuzzed.wanted:\n".to_owned();
    for number in 0..count {
        let (indent, number) = if deep { (4 + number, 0) } else { (4, number) };
        let value = if deep { "" } else { " 45 Nm ± 10 %" };
        text += &format!("{}{key}{number}:{value}\n", " ".repeat(indent));
    }
    super::documents::workshop(text.as_bytes());
}

/// Known findings, all alike or all different.
fn many_known(choices: &mut Choices<'_>) {
    let (count, same) = (choices.many(500), choices.below(2) == 0);
    let finding = choices.one(&["fuzzed.screw_torque", "fuzzed.screw", "value/number", "nobody.knows", ""]);
    let entry = |number: usize| {
        let number = if same { 0 } else { number };
        format!(
            "  - {{document: job.yaml, finding: {finding}, as: hold, at: \"fastenings[{number}].torque\", found: 12 Nm, \
             count: 1, since: 2026-03-01}}\n"
        )
    };
    let text = format!("form: known/1\nfindings:\n{}", (0..count.max(1)).map(entry).collect::<String>());
    super::documents::known(text.as_bytes());
}
