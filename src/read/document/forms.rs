//! The forms that documents follow, and the reading of a document against its form.

use std::collections::HashSet;
use std::sync::{Arc, OnceLock};

use serde_json::Value;

use super::bind::{bind, bind_values};
use super::editor::for_editors;
use super::everyday::Everyday;
use super::extend;
use super::judged::{self, ToJudge};
use super::names::GivenNames;
use super::schema::{Complaint, Validator, without_required};
use super::shape::{self, Field, Record, SchemaFault, Shape};
use super::tree::{Document, NodeId, NodeKind};
use super::words::{self, OwnWord, OwnWords, Words};
use super::{ReaderChoice, deprecated, link, log, placeholder, wording};
use crate::code;
use crate::diagnostic::{Diagnostic, Fault, nearest, surely};
use crate::source::{Place, SourceId, Span};

/// The field in which a document names its form.
pub const FIELD: &str = "form";

/// Most structure errors that are reported of one document.
pub const MAX_ERRORS: usize = 100;

/// Most of them that are looked through for what can be mended.
pub(super) const MOST_MENDED: usize = 20_000;

const JOB: &str = include_str!("../../../grammar/job.schema.json");
const PROCEDURE: &str = include_str!("../../../grammar/procedure.schema.json");
const LOGBOOK: &str = include_str!("../../../grammar/logbook.schema.json");
const KNOWN: &str = include_str!("../../../grammar/known.schema.json");
const TOOLS: &str = include_str!("../../../grammar/tools.schema.json");
const WORKSHOP: &str = include_str!("../../../grammar/workshop.schema.json");

/// A form: what one kind of document may and must hold.
pub struct Form {
    name: Arc<str>,
    version: u32,
    schema: Value,
    shape: Shape,
    record: Arc<Record>,
    /// Whether it has values that some rule must judge.
    judges: bool,
    /// Whether any field of it is not used any more.
    deprecates: bool,
    // Made ready when the first document asks for it: most runs meet one form of several.
    whole: OnceLock<Option<Validator>>,
    partial: OnceLock<Option<Validator>>,
}

impl Form {
    /// Makes a form of a JSON Schema whose `$id` is `witnessmark:NAME/VERSION`.
    ///
    /// # Errors
    /// The faults of the schema, each with its path in it.
    fn new(schema: Value) -> Result<Self, Vec<SchemaFault>> {
        let one = |message: &str| {
            vec![SchemaFault { path: "$id".to_owned(), fault: Fault::new(code::SCHEMA, message) }]
        };
        let id = schema.get("$id").and_then(Value::as_str).and_then(|id| id.strip_prefix("witnessmark:"));
        let named =
            id.and_then(split_form).ok_or_else(|| one("the schema does not name its form and version"))?;
        let (name, version) = (Arc::from(named.0), named.1);
        let record = shape::from_schema(&schema)?;
        let shape = Shape::Record(Arc::clone(&record));
        let (whole, partial) = (OnceLock::new(), OnceLock::new());
        let judges = judged::has_any(&shape);
        let deprecates = deprecated::has_any(&shape);
        Ok(Form { name, version, schema, shape, record, judges, deprecates, whole, partial })
    }

    /// The same form, its schema made ready at once so that its faults come out.
    ///
    /// # Errors
    /// Why the schema cannot be used.
    fn proven(self) -> Result<Self, Vec<SchemaFault>> {
        let validator = Validator::build(&self.schema).map_err(|(steps, message)| {
            let path = steps.iter().fold(String::new(), |path, step| shape::join(&path, step));
            vec![SchemaFault {
                path,
                fault: Fault::new(code::SCHEMA, format!("the schema cannot be used: {message}")),
            }]
        })?;
        Ok(Form { whole: OnceLock::from(Some(validator)), ..self })
    }

    /// Its name, such as `job`.
    #[must_use]
    pub fn name(&self) -> &str {
        &self.name
    }

    /// Its version.
    #[must_use]
    pub fn version(&self) -> u32 {
        self.version
    }

    /// Whether its documents have values that some rule must look at.
    #[must_use]
    pub fn judges(&self) -> bool {
        self.judges
    }

    /// The values of one of its documents that some rule must look at.
    #[must_use]
    pub fn to_judge(&self, document: &Document<'_>) -> Vec<ToJudge> {
        if self.judges { judged::to_judge(document, &self.record) } else { Vec::new() }
    }

    /// Its fields.
    #[must_use]
    pub fn record(&self) -> &Arc<Record> {
        &self.record
    }

    pub(super) fn schema(&self) -> &Value {
        &self.schema
    }

    /// Its JSON Schema, as an editor can use it.
    #[must_use]
    pub fn schema_text(&self) -> String {
        format!("{:#}\n", for_editors(&self.schema))
    }

    /// Binds a document to this form and checks it; errors come in the order of the text. With `forms` it
    /// is the record of a trial, in which links are written out.
    fn check(
        &self,
        document: &mut Document<'_>,
        validator: Option<&Validator>,
        forms: Option<&Forms>,
        words: Option<Words<'_>>,
        most_errors: usize,
    ) -> Vec<Diagnostic> {
        document.form = Some(Arc::clone(&self.name));
        bind(document, &self.shape, forms);
        if let Some(words) = words {
            words::read(document, document.root, &self.shape, None, words);
        }
        let Some(validator) = validator else {
            let message = format!("the schema of the form `{}` cannot be used", self.name);
            return vec![Diagnostic::error(code::SCHEMA, document.place(document.root), message)];
        };
        let mut others = log::check(document);
        if self.deprecates {
            others.extend(deprecated::advice(document, &self.record));
        }
        others.extend(
            document.dotted.iter().filter_map(|(node, whole)| wording::dotted(document, *node, *whole)),
        );
        others
            .extend(document.long.iter().take(most_errors).filter_map(|node| wording::long(document, *node)));
        let placeholders = document.placeholders.iter().take(most_errors);
        others.extend(placeholders.map(|(node, raw)| placeholder::word(document, *node, raw)));
        if let Some(more @ 1..) = document.placeholders.len().checked_sub(most_errors) {
            let message = format!("{more} further signs in the place of a value are left out");
            others.push(Diagnostic::error(code::PLACEHOLDER, document.place(document.root), message));
        }
        others.extend(words.into_iter().flat_map(|words| words::said(document, words)));
        others.sort_by_key(|diagnostic| diagnostic.place().map(|place| place.span.start));
        let mut complaints = validator.complaints(document);
        complaints.extend(unknown_blanks(document));
        if complaints.is_empty() {
            return others;
        }
        // What the reader has refused was reported there.
        let refused: HashSet<NodeId> = document.refused.iter().copied().collect();
        // Of a field with a sign that means no value, that is said.
        let placeholders: HashSet<NodeId> = document.placeholders.iter().map(|(blank, _)| *blank).collect();
        let is_placeholder = |value| placeholders.contains(&value);
        complaints.retain(|(node, complaint)| match complaint {
            Complaint::Missing(key) if document.get(*node, key).is_some_and(is_placeholder) => false,
            _ => !refused.contains(node),
        });
        let total: usize = complaints.iter().map(|(_, complaint)| complaint.count()).sum();
        let words = complaints.iter().flat_map(|(node, complaint)| {
            wording::word(document, &self.shape, forms, *node, complaint, most_errors)
        });
        let mut diagnostics: Vec<Diagnostic> = words.take(most_errors).collect();
        diagnostics.extend(others);
        diagnostics.sort_by_key(|diagnostic| diagnostic.place().map(|place| place.span.start));
        if let Some(more @ 1..) = total.checked_sub(most_errors) {
            let message = format!("{more} further errors in this document are left out");
            diagnostics.push(Diagnostic::error(code::OUTSIDE_FORM, document.place(document.root), message));
        }
        diagnostics
    }

    fn whole(&self) -> Option<&Validator> {
        self.whole.get_or_init(|| Validator::build(&self.schema).ok()).as_ref()
    }

    fn partial(&self, forms: &Forms) -> Option<&Validator> {
        let build = || Validator::build(&without_required(&link::for_trials(&self.schema, forms))).ok();
        self.partial.get_or_init(build).as_ref()
    }
}

/// A field without a value is not there for the schema, so that those that the form does not have are told here.
fn unknown_blanks(document: &Document<'_>) -> impl Iterator<Item = (NodeId, Complaint)> {
    document.blank_strangers.iter().filter_map(|(group, index)| {
        let entry = document.entries.get(*index as usize)?;
        Some((*group, Complaint::Unknown(vec![entry.key.to_string()])))
    })
}

/// The forms that are known, and how texts are read that follow them.
#[derive(Clone)]
pub struct Forms {
    known: Vec<Arc<Form>>,
    reader: ReaderChoice,
    /// The workshop's own words.
    words: Arc<OwnWords>,
    /// Everyday words of the trade.
    everyday: Arc<Everyday>,
    /// Names that the workshop gave.
    names: Arc<GivenNames>,
    /// How many structure errors of one document are told.
    most_errors: usize,
}

impl Forms {
    /// The forms that come with the program.
    #[must_use]
    pub fn builtin() -> Self {
        // Made once, with what is made ready for the check of documents.
        static KNOWN_FORMS: OnceLock<Vec<Arc<Form>>> = OnceLock::new();
        let form = |text: &str| Some(Arc::new(Form::new(serde_json::from_str(text).ok()?).ok()?));
        let read =
            || [JOB, PROCEDURE, TOOLS, LOGBOOK, WORKSHOP, KNOWN].into_iter().filter_map(form).collect();
        Forms {
            known: KNOWN_FORMS.get_or_init(read).clone(),
            reader: ReaderChoice::default(),
            words: Arc::default(),
            everyday: Everyday::shipped(),
            names: Arc::default(),
            most_errors: MAX_ERRORS,
        }
    }

    /// The same forms, whose documents are read in this way.
    #[must_use]
    pub fn read_by(self, reader: ReaderChoice) -> Self {
        Forms { reader, ..self }
    }

    /// The same forms, of whose documents all errors are told, and not only as many as anybody reads.
    #[must_use]
    pub(super) fn telling_all(&self) -> Self {
        Forms { most_errors: MOST_MENDED, ..self.clone() }
    }

    /// How documents are read.
    #[must_use]
    pub fn reader(&self) -> ReaderChoice {
        self.reader
    }

    /// The same forms, in whose documents a workshop's own words are read as the words they stand for.
    ///
    /// # Errors
    /// Each word that is one of the same closed list already.
    pub fn with_words(&self, words: &[OwnWord]) -> Result<Forms, Vec<Diagnostic>> {
        let mut faults: Vec<Diagnostic> = Vec::new();
        for fault in self.iter().flat_map(|form| words::faults(words, &form.record)) {
            if !faults.iter().any(|known| known.place() == fault.place()) {
                faults.push(fault);
            }
        }
        if faults.is_empty() {
            Ok(Forms { words: Arc::new(OwnWords::of(words)), ..self.clone() })
        } else {
            Err(faults)
        }
    }

    /// The workshop's own words.
    #[must_use]
    pub fn words(&self) -> &[OwnWord] {
        self.words.list()
    }

    /// The everyday words that are read as others.
    #[must_use]
    pub fn everyday(&self) -> &Everyday {
        &self.everyday
    }

    /// The same forms, in whose documents these everyday words are read as others.
    #[must_use]
    pub fn with_everyday(self, everyday: Everyday) -> Forms {
        Forms { everyday: Arc::new(everyday), ..self }
    }

    /// The names that the workshop gave.
    #[must_use]
    pub fn given_names(&self) -> &GivenNames {
        &self.names
    }

    /// The same forms, in whose documents these names are read however they are written.
    #[must_use]
    pub fn with_given_names(self, names: GivenNames) -> Forms {
        Forms { names: Arc::new(names), ..self }
    }

    /// The vocabulary of a field, by the title of its group.
    #[must_use]
    pub fn vocabulary(&self, group: &str, field: &str) -> Option<&Arc<str>> {
        self.iter().find_map(|form| shape::vocabulary(&form.record, group, field))
    }

    fn read_as_others(&self) -> Words<'_> {
        Words { own: &self.words, everyday: &self.everyday, names: &self.names }
    }

    /// The form of this name.
    #[must_use]
    pub fn get(&self, name: &str) -> Option<&Arc<Form>> {
        self.known.iter().find(|form| form.name() == name)
    }

    /// The forms.
    pub fn iter(&self) -> impl Iterator<Item = &Form> {
        self.known.iter().map(AsRef::as_ref)
    }

    /// The names of the forms.
    pub fn names(&self) -> impl Iterator<Item = &str> {
        self.known.iter().map(|form| form.name())
    }

    /// The same forms, one of them with the fields that a workshop's own schema adds.
    ///
    /// The schema names the form in `allOf`, adds fields of the document in `properties`, and
    /// fields of a record, such as a fastening, in `properties` of the definition of that name
    /// under `$defs`; it can add definitions of its own and demand more fields by `required`.
    /// It takes nothing away and loosens nothing.
    ///
    /// # Errors
    /// Everything in the schema that would loosen the form or cannot be used, at its place.
    pub fn extended(&self, name: &str, text: &str, source: SourceId) -> Result<Forms, Vec<Diagnostic>> {
        let whole = Place { source, span: Span::default() };
        let Some(form) = self.get(name) else {
            let message = format!("there is no form `{name}` to extend");
            return Err(vec![Diagnostic::error(code::SCHEMA, whole, message)]);
        };
        let extended = extend::parse(text, source).map_err(|diagnostic| vec![diagnostic])?;
        let with_links = |merged: Value| {
            let faults = link::faults(&extended, &merged, self);
            if faults.is_empty() { Ok(merged) } else { Err(faults) }
        };
        let merged = extend::merge(&form.schema, &extended).and_then(with_links);
        let merged = merged.and_then(Form::new).and_then(Form::proven);
        let merged = merged.map_err(|faults| extend::at_places(faults, text, source))?;
        let others = self.known.iter().filter(|form| form.name() != name).cloned();
        let known = others.chain([Arc::new(merged)]).collect();
        Ok(Forms { known, ..self.clone() })
    }

    /// The form that a document without its line `form` probably follows, by the names of its fields: it has all that
    /// must be there, or three of them all.
    fn likely<'n>(&self, names: impl Iterator<Item = &'n str>) -> Option<&Form> {
        const ENOUGH: usize = 3;
        let names: HashSet<&str> = names.collect();
        let counted = |form: &&Arc<Form>| {
            let others = || form.record.fields.iter().filter(|field| &*field.name != FIELD);
            let must = others().filter(|field| field.required);
            let has = |field: &Field| names.contains(&*field.name);
            let (most, found) = (must.clone().count(), must.filter(|field| has(field)).count());
            let all = others().filter(|field| has(field)).count();
            // One field alone, such as `tools`, is anybody's.
            if (most > 1 && found == most) || all >= ENOUGH { all } else { 0 }
        };
        let likely = self.known.iter().max_by_key(counted)?;
        (counted(&likely) > 0).then_some(&**likely)
    }

    /// Whether fields of these names are those of a document.
    #[must_use]
    pub fn have_fields<'n>(&self, names: impl Iterator<Item = &'n str> + Clone) -> bool {
        self.likely(names).is_some()
    }

    /// Whether a text in which no document names a form looks like a record all the same: by the names at the beginnings
    /// of its lines, so that it is told also where its layout is broken.
    #[must_use]
    pub fn looks_like_one(&self, text: &str) -> bool {
        let mut parts = vec![Vec::new()];
        for line in text.split(['\n', '\r']) {
            match (line.starts_with("---"), parts.last_mut()) {
                (false, Some(names)) => names.extend(name_at_head(line)),
                _ => parts.push(Vec::new()),
            }
        }
        // A document may be indented as a whole.
        parts.into_iter().any(|names| {
            let least = names.iter().map(|(indent, _)| *indent).min();
            let outermost = names.iter().filter(|(indent, _)| Some(*indent) == least).map(|(_, name)| *name);
            self.likely(outermost).is_some()
        })
    }

    /// The form that a document names in its line `form: NAME/VERSION`.
    fn named_by(&self, document: &Document<'_>) -> Result<&Arc<Form>, Diagnostic> {
        let root = document.root();
        let examples = || {
            let forms = self.known.iter().map(|form| format!("`form: {}/{}`", form.name, form.version));
            forms.collect::<Vec<_>>().join(" or ")
        };
        let place = |span| Place { source: document.source, span };
        let Some(entry) = document.entry(root, FIELD) else {
            let at = document.entries(root).first().map_or(document.span(root), |entry| entry.key_span);
            let names = document.entries(root).iter().map(|entry| &*entry.key);
            return Err(match self.likely(names) {
                Some(form) => {
                    let message = format!(
                        "this looks like a {}, and it does not say which form it follows",
                        form.record.title
                    );
                    Diagnostic::error(code::FORM_MISSING, place(at), message)
                        .help(format!("begin it with `form: {}/{}`", form.name, form.version))
                }
                None => Diagnostic::error(
                    code::FORM_MISSING,
                    place(at),
                    "the document does not say which form it follows",
                )
                .help(format!("begin it with {}", examples())),
            });
        };
        let found = document.raw(entry.value).unwrap_or_default();
        let at = if found.is_empty() { entry.key_span } else { document.span(entry.value) };
        let unknown = |message: String, help: String| {
            Diagnostic::error(code::FORM_UNKNOWN, place(at), message).help(help)
        };
        let mended = |diagnostic: Diagnostic, form: Option<&Arc<Form>>| {
            let right = form.map(|form| format!("{}/{}", form.name, form.version));
            diagnostic.mended(right.and_then(|right| wording::respelt(place(at), found, &right)))
        };
        let Some((name, version)) = split_form(found) else {
            let message = "the line `form` must name a form and its version".to_owned();
            return Err(mended(unknown(message, format!("write {}", examples())), self.get(found)));
        };
        let Some(form) = self.get(name) else {
            let help = match nearest(name, self.names()).and_then(|near| self.get(near)) {
                Some(near) => format!("write `form: {}/{}`", near.name, near.version),
                None => format!("write {}", examples()),
            };
            let fault = unknown(format!("there is no form `{name}`"), help);
            let sure = surely(name, self.names()).and_then(|sure| self.get(sure));
            return Err(mended(fault, sure.filter(|form| form.version == version)));
        };
        if version == form.version {
            return Ok(form);
        }
        let (name, known) = (&form.name, form.version);
        Err(if version > known {
            let message =
                format!("`{name}/{version}` is newer than the version that this program knows, {known}");
            unknown(message, format!("use a newer program, or write the document as `{name}/{known}`"))
        } else {
            unknown(
                format!("there is no version {version} of the form `{name}`"),
                format!("write `form: {name}/{known}`"),
            )
        })
    }
}

/// The name of a field at the head of a line, with the blanks before it.
fn name_at_head(line: &str) -> Option<(usize, &str)> {
    let bare = line.trim_start_matches([' ', '\t']);
    let (name, _) = bare.split_once(':')?;
    let name = Some(name.trim_end()).filter(|name| !name.is_empty() && !name.starts_with(['#', '-']))?;
    Some((line.len() - bare.len(), name))
}

/// `job/1` into its name and version.
fn split_form(text: &str) -> Option<(&str, u32)> {
    let (name, version) = text.trim().split_once('/')?;
    Some((name.trim(), version.trim().parse().ok()?))
}

/// Reads every document of a text, binds each to the form it names and checks it.
///
/// A document with structure errors is returned too; its wrong values are [`super::Bound::Wrong`].
/// One that names no known form is returned unbound.
#[must_use]
pub fn read<'s>(source: SourceId, text: &'s str, forms: &Forms) -> (Vec<Document<'s>>, Vec<Diagnostic>) {
    read_part(source, text, 0, forms)
}

/// The same for a part of a text that begins `base` bytes into it.
#[must_use]
pub fn read_part<'s>(
    source: SourceId,
    text: &'s str,
    base: u32,
    forms: &Forms,
) -> (Vec<Document<'s>>, Vec<Diagnostic>) {
    let (mut documents, mut diagnostics) = forms.reader.read(source, text, base);
    if documents.is_empty() && diagnostics.is_empty() {
        let place = Place { source, span: Span::default() };
        let diagnostic = Diagnostic::error(code::DOCUMENT_EMPTY, place, "there is no document in this text");
        diagnostics.push(diagnostic.help("begin it with the line `form: job/1`"));
    }
    for document in &mut documents {
        diagnostics.extend(check_root(document));
        if !matches!(document.node(document.root()).kind, NodeKind::Map(_)) {
            continue;
        }
        match forms.named_by(document) {
            Ok(form) => diagnostics.extend(form.check(
                document,
                form.whole(),
                None,
                Some(forms.read_as_others()),
                forms.most_errors,
            )),
            Err(diagnostic) => diagnostics.push(diagnostic),
        }
    }
    sort(&mut diagnostics);
    (documents, diagnostics)
}

/// Reads the documents of a text and binds of each only the values at some paths to the form that it names;
/// nothing is checked. For those who look through many texts for a few values.
#[must_use]
pub fn read_values<'s>(source: SourceId, text: &'s str, forms: &Forms, paths: &[&str]) -> Vec<Document<'s>> {
    let (mut documents, _) = forms.reader.read(source, text, 0);
    for document in &mut documents {
        if let Ok(form) = forms.named_by(document) {
            document.form = Some(Arc::clone(&form.name));
            bind_values(document, &form.record, paths);
            words::read(document, document.root, &form.shape, None, forms.read_as_others());
        }
    }
    documents
}

/// Reads the partial document of a trial, which stands `base` bytes into its source: no field is
/// demanded, links to other documents are written out where they are used, all else is checked.
#[must_use]
pub fn read_partial<'s>(
    source: SourceId,
    text: &'s str,
    base: u32,
    form: &Form,
    forms: &Forms,
) -> (Vec<Document<'s>>, Vec<Diagnostic>) {
    let (mut documents, mut diagnostics) = forms.reader.read(source, text, base);
    for document in &mut documents {
        diagnostics.extend(check_root(document));
        diagnostics.extend(form.check(document, form.partial(forms), Some(forms), None, forms.most_errors));
    }
    sort(&mut diagnostics);
    (documents, diagnostics)
}

/// A document must be a group of fields.
fn check_root(document: &Document<'_>) -> Option<Diagnostic> {
    let root = document.root();
    let error = |code, message| Diagnostic::error(code, document.place(root), message);
    match document.node(root).kind {
        NodeKind::Map(_) => None,
        NodeKind::Empty => Some(
            error(code::DOCUMENT_EMPTY, "this document is empty")
                .help("take the line `---` out, or write a document below it"),
        ),
        NodeKind::Scalar { .. } => Some(
            error(code::WRONG_SHAPE, "a document must be a group of fields, and this is a single text")
                .help("write each field as `name: value` on a line of its own"),
        ),
        NodeKind::List(_) => Some(
            error(code::WRONG_SHAPE, "a document must be a group of fields, and this is a list")
                .help("put several documents into one file by lines of `---` between them"),
        ),
    }
}

fn sort(diagnostics: &mut [Diagnostic]) {
    diagnostics.sort_by_key(|diagnostic| diagnostic.place().map(|place| place.span.start));
}
