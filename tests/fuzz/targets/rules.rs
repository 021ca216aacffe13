//! Rule files, schemas of a workshop, and what changed between two texts.

use witnessmark::compare::{self, Comparison};
use witnessmark::document::read;
use witnessmark::language::ast::Item;
use witnessmark::language::parse;
use witnessmark::session::Session;
use witnessmark::source::{SourceId, Sources};

use super::check::{ALONE, decoded, diagnostics, documents, judged, plain_words, span};
use super::given::{FORMS, MOST_STEPS, RECORD, halves, opened};

/// Reads a rule file, runs its trials, explains its rules and judges a record by it.
pub fn rules(data: &[u8]) {
    let Some(text) = decoded(data) else { return };
    let mut sources = Sources::new();
    let source = sources.add("made-up.standard", &*text);
    let (file, said) = parse(source, &text);
    diagnostics(&said, &sources);
    for item in &file.items {
        if let Item::Rule(rule) = item {
            span(&text, rule.span);
            // From its word to its last letter: a span can be inside the text and yet be of something else.
            let own = &text[rule.span.start as usize..rule.span.end as usize];
            assert!(own.starts_with("rule") && own.trim_end() == own, "{own:?} is no rule");
            rule.demands.iter().for_each(|demand| span(&text, demand.span));
        }
    }
    let session = opened(&[("made-up.standard", &text)], FORMS.clone(), Vec::new());
    diagnostics(session.diagnostics(), session.sources());
    for document in session.judge("record.yaml", RECORD) {
        judged(&document, MOST_STEPS);
    }
    for rule in session.program().rules().all() {
        plain_words(&session.story(rule).name);
        let _ = session.trace(rule, "record.yaml", RECORD);
    }
    if !session.is_faulty() {
        let _ = session.prove();
        is_empty(&compare::standards((&session, ALONE), (&session, ALONE)));
    }
}

fn is_empty(comparison: &Comparison) {
    assert_eq!(comparison.changes, [], "a text and itself mean the same");
    assert_eq!(comparison.spellings, [], "and are written the same");
    assert_eq!(comparison.renamed_rules, []);
}

/// What is said of two texts is in one of them.
fn holds(comparison: &Comparison, texts: [&str; 2]) {
    for change in comparison.changes.iter().chain(&comparison.spellings) {
        for (side, text) in [&change.from, &change.to].into_iter().zip(texts) {
            side.iter().for_each(|side| span(text, side.place.span));
        }
    }
}

/// Compares two texts, documents or rule files, and each with itself.
pub fn compares(data: &[u8]) {
    let Some(text) = decoded(data) else { return };
    let (ours, theirs) = halves(&text);
    let forms = &*FORMS;
    let [old, new] = [ours, theirs].map(|text| (text, read(ALONE, text, forms)));
    let [first, second] =
        [&old, &new].map(|(_, (documents, said))| compare::one_document(documents, said).ok());
    if let Some(document) = first {
        let form =
            forms.get(document.form().unwrap_or_default()).expect("a document that is compared has a form");
        is_empty(&compare::documents(document, document, form));
        if let Some(other) = second.filter(|other| other.form() == document.form()) {
            is_empty(&compare::documents(other, other, form));
            holds(&compare::documents(document, other, form), [ours, theirs]);
            holds(&compare::documents(other, document, form), [theirs, ours]);
        }
        return;
    }
    let [old, new] =
        [ours, theirs].map(|text| opened(&[("made-up.standard", text)], forms.clone(), Vec::new()));
    let sides = |one: &'_ Session| (!one.is_faulty()).then_some(ALONE);
    let (Some(first), Some(second)) = (sides(&old), sides(&new)) else { return };
    both(&old, first, &new, second, [ours, theirs]);
}

fn both(old: &Session, first: SourceId, new: &Session, second: SourceId, texts: [&str; 2]) {
    is_empty(&compare::standards((old, first), (old, first)));
    is_empty(&compare::standards((new, second), (new, second)));
    holds(&compare::standards((old, first), (new, second)), texts);
    let [ours, theirs] = texts;
    holds(&compare::standards((new, second), (old, first)), [theirs, ours]);
}

/// Reads a schema of a workshop, and a record by it.
pub fn schema(data: &[u8]) {
    let Some(text) = decoded(data) else { return };
    let mut sources = Sources::new();
    let source = sources.add("own.schema.json", &*text);
    match FORMS.extended("job", &text, source) {
        Ok(forms) => {
            let record = RECORD.replace("vehicle:", "bay: B2\nhelpers: [{name: Jo, hours: 2 h}]\nvehicle:");
            documents(&record, &forms);
            let session = opened(&[], forms, Vec::new());
            session.judge("record.yaml", &record).iter().for_each(|document| judged(document, MOST_STEPS));
        }
        Err(said) => {
            assert!(!said.is_empty(), "why a schema is refused is said");
            diagnostics(&said, &sources);
        }
    }
}

/// A schema that adds a field and a record of its own.
pub const SCHEMA: &str = r##"{
  "title": "fields of the workshop",
  "allOf": [{ "$ref": "witnessmark:job/1" }],
  "required": ["bay"],
  "properties": {
    "bay": { "type": "string", "pattern": "^[A-D][0-9]$", "description": "Which bay." },
    "helpers": { "type": "array", "items": { "$ref": "#/$defs/helper" }, "minItems": 1 }
  },
  "$defs": {
    "helper": {
      "type": "object", "required": ["name"], "additionalProperties": false,
      "properties": { "name": { "type": "string" }, "hours": { "type": "string", "quantity": "duration" } }
    },
    "fastening": {
      "properties": { "window": { "type": "string", "quantity": "torque", "range": true } },
      "links": { "own": { "to": "tools.tools", "by": { "tool": "number" } } }
    }
  }
}
"##;
