//! The one layout of rule files.

use fastrand::Rng;
use witnessmark::language::layout::laid_out;
use witnessmark::source::SourceId;

use crate::fuzz::targets::layout::lays_out;
use crate::naive::program::program;
use crate::readme::HANDBOOKS;
use crate::support::{files_below, rule_files, text};

fn laid(written: &str) -> String {
    laid_out(SourceId::FIRST, written).unwrap_or_else(|wrong| panic!("{wrong:#?}\n{written}"))
}

/// What is written in any way comes out in this one.
#[track_caller]
fn becomes(written: &str, wanted: &str) {
    let found = laid(written);
    assert_eq!(found, wanted, "\n{found}");
    assert!(lays_out(written) && lays_out(wanted));
}

#[test]
fn clauses_have_their_words_in_one_column() {
    becomes(
        r#"
  standard   plugs  edition 2
 "Plugs"
judges job
where unit.kind is "engine"
from 2026-03-01
basis "common practice"
concession   by "foreman" ,"owner"
use "limits.standard"
let  plug=45Nm±10%
   rule drain_plug "The drain plug is tightened"
 concerns each s in fastenings where s.role is "drain plug",at least 1 otherwise "None."
    let share = ( s.torque-1 Nm )×90%
 demands s.torque within 45 Nm+5/-0 Nm by guarded  acceptance 95%
 demands not( s.torque above -3 °C ) and mentions ( s.tool,"W" ) and s.angle at most ( 90 ° )
 otherwise hold "Plug."
remedy "Tighten."
      because "It leaks."
basis "common practice"
concession never
if  unrecorded   pass
from 2026-07-01
until 2026-12-31
replaces a.b ,c
trial met { fastenings: [ {role: drain plug,torque: 45 Nm } ] }
trial   not   concerned {}
"#,
        r#"standard plugs edition 2 "Plugs"
judges   job
where    unit.kind is "engine"
from     2026-03-01
basis    "common practice"
concession by "foreman", "owner"

use "limits.standard"
let plug = 45 Nm ± 10 %

rule drain_plug "The drain plug is tightened"
  concerns  each s in fastenings where s.role is "drain plug", at least 1 otherwise "None."
  let       share = (s.torque - 1 Nm) × 90 %
  demands   s.torque within 45 Nm +5/-0 Nm by guarded acceptance 95 %
  demands   not (s.torque above -3 °C) and mentions(s.tool, "W") and s.angle at most (90°)
  otherwise hold "Plug."
  remedy    "Tighten."
  because   "It leaks."
  basis     "common practice"
  concession never
  if unrecorded pass
  from      2026-07-01
  until     2026-12-31
  replaces  a.b, c
  trial met       { fastenings: [{ role: drain plug, torque: 45 Nm }] }
  trial not concerned {}
"#,
    );
}

#[test]
fn conditions_are_broken_where_the_loosest_word_joins_them() {
    becomes(
        r#"rule a "A"
  demands recorded unit.kind and recorded unit.family and recorded unit.serial and recorded unit.market or recorded vehicle.plate and recorded vehicle.odometer implies recorded fluid.specification and recorded fluid.product
  demands every s in fastenings where s.role is "sump screw" and recorded s.torque: s.torque within 9 Nm ± 10 % and recorded s.tool
  demands (some s in fastenings where s.role is "sump screw" and recorded s.torque and recorded s.angle and recorded s.tool: s.torque within 9 Nm ± 10 %) or unit.kind is "engine"
  demands unit.kind is one of ("stepped automatic", "twin clutch", "continuously variable", "manual gearbox", "final drive", "engine")
"#,
        r#"rule a "A"
  demands   recorded unit.kind and recorded unit.family and recorded unit.serial and recorded unit.market
                or recorded vehicle.plate and recorded vehicle.odometer
              implies recorded fluid.specification and recorded fluid.product
  demands   every s in fastenings where s.role is "sump screw" and recorded s.torque:
              s.torque within 9 Nm ± 10 % and recorded s.tool
  demands   (some s in fastenings
               where s.role is "sump screw" and recorded s.torque and recorded s.angle and recorded s.tool:
               s.torque within 9 Nm ± 10 %)
              or unit.kind is "engine"
  demands   unit.kind is one of ("stepped automatic", "twin clutch", "continuously variable", "manual gearbox",
                                 "final drive", "engine")
"#,
    );
}

#[test]
fn subjects_that_are_too_long_for_a_line_have_lines_of_their_own() {
    becomes(
        r#"rule a "A"
  concerns each joint in fastenings where recorded joint.stages and recorded joint.instrument.torque, each stage in joint.stages
  demands recorded stage.torque
rule b "B"
  concerns each round of s in fastenings where recorded s.order and recorded s.pass and recorded s.place and s.role is "cap screw" by s.role, s.pass, at least 1 otherwise "No round."
  demands yes
"#,
        r#"rule a "A"
  concerns  each joint in fastenings where recorded joint.stages and recorded joint.instrument.torque,
            each stage in joint.stages
  demands   recorded stage.torque

rule b "B"
  concerns  each round of s in fastenings
              where recorded s.order and recorded s.pass and recorded s.place and s.role is "cap screw"
              by s.role, s.pass, at least 1 otherwise "No round."
  demands   yes
"#,
    );
}

#[test]
fn names_have_their_cases_below_each_other() {
    becomes(
        r#"let pieces of s in fastenings = s.count where recorded s.count = 1 otherwise
let usual = 20 °C .. 60 °C where recorded level_check.method = 15 °C .. 110 °C otherwise
let shown of s in fastenings = s.torque where recorded s.torque or not recorded s.stages = greatest of stage.torque over stage in s.stages where recorded stage.torque otherwise
parameter plug is torque range of s in fastenings by unit.family, s.role "Torque of a plug" from s.prescribed.torque = 45 Nm ± 10 %
table refill by unit.family , unit.market
"six speed","EU":5.0 L..6.2 L
"eight speed" , "AU" : 5.6 L .. 7.0 L
let closed = job.state is "closed"
"#,
        r#"let pieces of s in fastenings
  = s.count where recorded s.count
  = 1       otherwise
let usual = 20 °C .. 60 °C  where recorded level_check.method
          = 15 °C .. 110 °C otherwise
let shown of s in fastenings
  = s.torque where recorded s.torque or not recorded s.stages
  = greatest of stage.torque over stage in s.stages where recorded stage.torque otherwise

parameter plug is torque range of s in fastenings by unit.family, s.role
  "Torque of a plug"
  from s.prescribed.torque
  = 45 Nm ± 10 %

table refill by unit.family, unit.market
  "six speed", "EU"   : 5.0 L .. 6.2 L
  "eight speed", "AU" : 5.6 L .. 7.0 L

let closed = job.state is "closed"
"#,
    );
}

#[test]
fn records_are_in_one_notation_on_one_line_or_an_entry_on_each() {
    becomes(
        r#"given twin {job: {state: closed}, unit: {kind: twin clutch, family: seven speed transverse}, fluid: {fills: [{volume: 5 L}]}}
given other from twin with job.state = "in work",fluid.fills[0] = {volume: 4 L}, unit.family = "six speed longitudinal gearbox", unit.market = "EU" without job.number, vehicle
rule a "A"
  demands yes
  trial met { fastenings: [{role: 'drain plug', torque: 45 Nm ,  place: 'it''s', thread: "a, b"},] , empty: [ ], none: { } }
  trial broken at fastenings[0].torque with torque = 8 Nm ± 10 % { unit: { family: a }, fastenings: [{ role: filter cap, torque: 8 Nm }] }
  trial broken { unit: { family: a }, fastenings: [{ role: drain plug, torque: 45 Nm, prescribed: { torque: 45 Nm ± 10 % } }, { role: level
     plug, torque: 40 Nm, prescribed: { torque: 40 Nm ± 10 % } }] }
  trial broken { fastenings: [{ role: drain plug, torque: 45 Nm, prescribed: { torque: 45 Nm ± 10 % }, place: pan, thread: M18x1.5, tool: W-3 }] }
"#,
        r#"given twin {
  job: { state: closed },
  unit: { kind: twin clutch, family: seven speed transverse },
  fluid: { fills: [{ volume: 5 L }] }
}
given other from twin with job.state = "in work", fluid.fills[0] = { volume: 4 L },
    unit.family = "six speed longitudinal gearbox", unit.market = "EU" without job.number, vehicle

rule a "A"
  demands   yes
  trial met
    { fastenings: [{ role: "drain plug", torque: 45 Nm, place: 'it''s', thread: "a, b" }], empty: [], none: {} }
  trial broken    at fastenings[0].torque with torque = 8 Nm ± 10 %
    { unit: { family: a }, fastenings: [{ role: filter cap, torque: 8 Nm }] }
  trial broken    {
    unit: { family: a },
    fastenings: [
      { role: drain plug, torque: 45 Nm, prescribed: { torque: 45 Nm ± 10 % } },
      { role: level plug, torque: 40 Nm, prescribed: { torque: 40 Nm ± 10 % } }
    ]
  }
  trial broken    { fastenings: [{
    role: drain plug,
    torque: 45 Nm,
    prescribed: { torque: 45 Nm ± 10 % },
    place: pan,
    thread: M18x1.5,
    tool: W-3
  }] }
"#,
    );
}

#[test]
fn comments_stay_with_what_they_are_about() {
    becomes(
        r#"

# the file


# of the standard
standard a edition 1 "A" # behind
judges job
    # of the next let
let x = 1 # of x
# of y
let y = one of ("a", # first
   "b")
rule b "B" # head
# of the demand
  demands recorded unit.kind # why
    and recorded # in the middle
      unit.family

  # of the trials
  trial met { unit: { kind: a, # the kind
     family: b } }
  trial broken { # all
    unit: {} }
  # of the rule

  # of the next rule
rule c "C"
  demands yes
# the end"#,
        r#"# the file

# of the standard
standard a edition 1 "A"  # behind
judges   job

# of the next let
let x = 1  # of x
# of y
let y = one of ("a",  # first
                "b")

rule b "B"  # head
  # of the demand
  demands   recorded unit.kind  # why
              and recorded  # in the middle
                unit.family

  # of the trials
  trial met       { unit: {
    kind: a,  # the kind
    family: b
  } }
  trial broken    {
    # all
    unit: {}
  }
  # of the rule

# of the next rule
rule c "C"
  demands   yes

# the end
"#,
    );
}

/// What is no part of the language is left as it is, so that what is said of it stays the same.
#[test]
fn a_clause_that_has_signs_of_another_language_is_left() {
    becomes(
        "rule a \"A\"\n    demands s.torque   >= 9 Nm\n  demands   s.angle within 4,5 Nm .. 1,250 Nm\n  demands f(1,250)\n\
         demands x  is 9 Nmm\n      demands yes\n",
        "rule a \"A\"\n  demands s.torque   >= 9 Nm\n  demands s.angle within 4,5 Nm .. 1,250 Nm\n  demands f(1,250)\n  \
         demands x  is 9 Nmm\n  demands   yes\n"
            .replace("demands s.angle", "demands   s.angle")
            .as_str(),
    );
    let nested = "every x in fastenings where x: ".repeat(40_000);
    assert!(lays_out(&format!("rule a \"A\"\n  demands  {nested} yes\n")));
    lays_out(&format!("rule a \"A\"\n  demands and and {} or\n", "recorded unit.kind, ".repeat(20)));
    // A word that is nearly that of an item is not put at the head of a line.
    let long = "some role in fastenings where recorded role and role is not one of (\"a screw of the pan\", \"a screw of the cover\"): role is \"drain plug\"";
    assert!(lays_out(&format!("rule a \"A\"\n  demands {long}\n")));
    assert!(lays_out("rule a \"A\"\n  demands yes\n  trial met { a: [{ b:}] }\n"));
    // A number and a word on the next line are no value with a unit.
    becomes("given a from b with x = 9\n from c\n", "given a from b with x = 9\n    from c\n");
    becomes("given a from b with x = 9 m\n without c\n", "given a from b with x = 9 m without c\n");
}

#[test]
fn line_ends_stay_as_they_are() {
    let written = "let a=1\n\n\nlet   b = 2\n";
    assert_eq!(laid(&written.replace('\n', "\r\n")), "let a = 1\r\n\r\nlet b = 2\r\n");
    assert_eq!(laid(&format!("\u{feff}{written}")), "let a = 1\n\nlet b = 2\n");
    assert_eq!(laid("let a = 1"), "let a = 1\n");
    assert_eq!(laid("\n \n"), "");
}

#[test]
fn a_text_whose_clauses_cannot_be_told_apart_is_refused() {
    let refused = |written: &str| laid_out(SourceId::FIRST, written).unwrap_err()[0].message.clone();
    assert_eq!(refused("rule a \"A\n  demands yes\n"), "this quoted text is not closed on its line");
    assert_eq!(refused("rule a \"A\"\n  demands yes\n  trial met { a: 1\n"), "this record is not closed");
    assert_eq!(refused("rule a \"A\"\n  demnads yes\n"), "`demnads` begins no clause of a rule");
}

fn written_texts() -> Vec<String> {
    let examples = files_below("examples").into_iter().chain(files_below("tests"));
    let examples = examples.filter(|path| path.ends_with(".standard"));
    rule_files().into_iter().chain(examples).map(text).collect()
}

#[test]
fn every_text_of_the_repository_keeps_its_meaning() {
    for text in written_texts() {
        lays_out(&text);
    }
}

/// A text with blanks, line ends and comments put in and taken out between its words.
fn scrambled(text: &str, random: &mut Rng) -> String {
    let mut written = String::with_capacity(text.len());
    let (mut quoted, mut comments) = (false, 0);
    for line in text.lines() {
        for (at, c) in line.char_indices() {
            quoted ^= c == '"';
            if c == '#' && !quoted {
                written.push_str(&line[at..]);
                break;
            }
            if c != ' ' || quoted {
                written.push(c);
                continue;
            }
            comments += 1;
            match random.u8(..200) {
                0 => written.push_str(&format!(" #c{comments}\n")),
                1 => written.push_str(&format!("\n  # c{comments}\n")),
                2..8 => written.push_str("\n   "),
                8..20 => written.push_str("   "),
                _ => written.push(c),
            }
        }
        quoted = false;
        match random.u8(..40) {
            0 => written.push_str(&format!(" # l{comments}\n")),
            1 => written.push_str(&format!("\n\n\n # l{comments}\n")),
            2 => written.push_str("\n\n"),
            3 => written.push_str("\n\n\n"),
            _ => written.push('\n'),
        }
    }
    written
}

#[test]
fn however_a_text_is_written_its_meaning_and_its_comments_stay() {
    let mut random = Rng::with_seed(20_261_130);
    let mut whole = 0;
    let texts = written_texts();
    for text in &texts {
        for rule in text.split("\n\n").filter(|part| !part.is_empty()) {
            whole += usize::from(lays_out(&scrambled(rule, &mut random)));
        }
    }
    assert!(whole > 300, "only {whole} could be laid out");
    for _ in 0..200 {
        let text = program(&mut random).text();
        assert!(lays_out(&text), "{text}");
        lays_out(&scrambled(&text, &mut random));
    }
}

/// Lines exchanged, doubled and taken out, and some bytes cut out.
#[test]
fn a_damaged_text_says_what_it_said() {
    let mut random = Rng::with_seed(7);
    for text in written_texts() {
        for rule in text.split("\n\n").filter(|part| part.lines().count() > 3) {
            let mut lines: Vec<&str> = rule.lines().collect();
            let (from, to) = (random.usize(..lines.len()), random.usize(..lines.len()));
            match random.u8(..3) {
                0 => lines.swap(from, to),
                1 => lines.insert(to, lines[from]),
                _ => drop(lines.remove(from)),
            }
            let mut text = lines.join("\n");
            let mut cut = |length: usize| {
                let from = random.usize(..text.len());
                let edge = |at: usize| (at..=text.len()).find(|at| text.is_char_boundary(*at)).unwrap();
                let range = edge(from)..edge((from + length).min(text.len()));
                text.replace_range(range, "");
            };
            cut(1);
            cut(6);
            lays_out(&text);
        }
    }
}

/// Lines are no longer than 120 characters, but for texts in quotes and values that cannot be broken.
#[test]
fn long_lines_are_broken() {
    for text in written_texts() {
        let Ok(laid) = laid_out(SourceId::FIRST, &text) else { continue };
        for line in laid.lines().filter(|line| line.chars().count() > 120) {
            let is_text =
                line.trim_end().ends_with('"') || line.trim_start().starts_with('#') || line.contains("  # ");
            assert!(is_text, "{line}");
        }
    }
}

/// The shipped rules and those of the examples are laid out.
#[test]
fn the_rules_of_the_project_are_laid_out() {
    let examples = files_below("examples").into_iter().filter(|path| path.ends_with(".standard"));
    let wrong: Vec<_> =
        rule_files().into_iter().chain(examples).filter(|path| laid(&text(path)) != text(path)).collect();
    assert!(wrong.is_empty(), "`cargo run -- tidy rules examples` lays these out: {wrong:?}");
}

/// The rules of the handbooks are laid out.
#[test]
fn what_others_read_is_laid_out() {
    let mut wrong = Vec::new();
    for book in HANDBOOKS {
        let written = text(book);
        let blocks = written.split("```standard\n").skip(1).filter_map(|rest| rest.split("```").next());
        wrong.extend(blocks.filter(|block| laid(block) != **block).map(|block| format!("{book}:\n{block}")));
    }
    assert!(wrong.is_empty(), "`tidy` lays these out:\n{}", wrong.join("\n"));
}
