//! What an editor asks, and what is answered.

use serde_json::{Value, json};
use std::collections::BTreeMap;

use super::naming;
use super::open::Open;
use super::rule_file::Proved;
use super::texts::Texts;
use crate::editor::colours;
use crate::editor::names::{self, Named};
use crate::editor::protocol::{
    Action, AtPosition, AtRange, Execute, Location, OfText, Refused, Rename, error, read,
};
use crate::editor::symbols::Target;
use crate::editor::text::{Text, range};
use crate::editor::{complete, complete_rules, fixes, hints, hover, hover_rules, layout, lens, outline};
use crate::source::{Place, Span};

/// What can be asked.
pub(super) fn capabilities() -> Value {
    json!({
        "capabilities": {
            "positionEncoding": "utf-16",
            "textDocumentSync": { "openClose": true, "change": 2, "save": true },
            "completionProvider": { "triggerCharacters": [".", ":", " ", "\"", "{", ","] },
            "hoverProvider": true,
            "definitionProvider": true,
            "referencesProvider": true,
            "renameProvider": { "prepareProvider": true },
            "documentSymbolProvider": true,
            "documentFormattingProvider": true,
            "codeActionProvider": { "codeActionKinds": ["quickfix", "source.fixAll"] },
            "codeLensProvider": {},
            "inlayHintProvider": true,
            "executeCommandProvider": { "commands": [lens::RUN_TRIALS] },
            "workspace": { "workspaceFolders": { "supported": true, "changeNotifications": true } },
            "semanticTokensProvider": {
                "legend": { "tokenTypes": colours::KINDS, "tokenModifiers": [] },
                "full": true,
            },
        },
        "serverInfo": { "name": env!("CARGO_PKG_NAME"), "version": env!("CARGO_PKG_VERSION") },
    })
}

/// Answers a question.
///
/// # Errors
/// Nobody knows what it is, or it cannot be answered.
pub(super) fn answer(texts: &mut Texts, method: &str, parameters: &Value) -> Result<Value, Refused> {
    match method {
        "textDocument/completion" => at(texts, parameters, completion),
        "textDocument/hover" => at(texts, parameters, pointed_at),
        "textDocument/definition" => at(texts, parameters, definition),
        "textDocument/references" => at(texts, parameters, naming::references),
        "textDocument/prepareRename" => at(texts, parameters, naming::can_be_renamed),
        "textDocument/rename" => renamed(texts, &read(parameters)?),
        "textDocument/documentSymbol" => of(texts, parameters, symbols),
        "textDocument/formatting" => laid_out(texts, parameters),
        "textDocument/codeLens" => of(texts, parameters, lenses),
        "textDocument/semanticTokens/full" => of(texts, parameters, tokens),
        "textDocument/codeAction" => within(texts, parameters, actions),
        "textDocument/inlayHint" => {
            let AtRange { text_document: one, .. } = read(parameters)?;
            texts.catch_up(&one.uri);
            texts.judge_the_rest(&one.uri);
            within(texts, parameters, shown)
        }
        "workspace/executeCommand" => execute(texts, &read(parameters)?),
        _ => Err(Refused::new(error::METHOD_NOT_FOUND, format!("`{method}` is not known here"))),
    }
}

/// A text that was named in a question.
pub(super) struct Asked<'t> {
    pub(super) texts: &'t Texts,
    pub(super) address: &'t str,
    pub(super) open: &'t Open,
}

/// Asks about a place in a text; where the text is not open, there is nothing to say.
fn at(texts: &mut Texts, parameters: &Value, answer: fn(&Asked<'_>, u32) -> Value) -> Result<Value, Refused> {
    let AtPosition { text_document: one, position } = read(parameters)?;
    Ok(asked(texts, &one.uri).map_or(Value::Null, |asked| answer(&asked, asked.open.text.offset(position))))
}

/// Asks about a whole text.
fn of(texts: &mut Texts, parameters: &Value, answer: fn(&Asked<'_>) -> Value) -> Result<Value, Refused> {
    let OfText { text_document: one } = read(parameters)?;
    Ok(asked(texts, &one.uri).map_or(Value::Null, |asked| answer(&asked)))
}

/// Asks about a range of a text, which is judged before if it was changed.
fn within(
    texts: &mut Texts,
    parameters: &Value,
    answer: fn(&Asked<'_>, &AtRange) -> Value,
) -> Result<Value, Refused> {
    let at: AtRange = read(parameters)?;
    texts.catch_up(&at.text_document.uri);
    Ok(asked(texts, &at.text_document.uri).map_or(Value::Null, |asked| answer(&asked, &at)))
}

fn asked<'t>(texts: &'t Texts, address: &'t str) -> Option<Asked<'t>> {
    let open = texts.open.get(address)?;
    Some(Asked { texts, address, open })
}

fn completion(asked: &Asked<'_>, offset: u32) -> Value {
    let Asked { texts, open, .. } = asked;
    let session = texts.session_of(open);
    let offset = offset as usize;
    let items = match (open.is_rules(), session) {
        (true, session) => {
            complete_rules::at(&open.text, offset, session, texts.forms_of(open), &texts.symbols_of(open))
        }
        (false, Some(session)) => complete::at(&open.text, offset, session),
        (false, None) => Vec::new(),
    };
    // While the workshop is being opened more will be known soon.
    json!({ "isIncomplete": session.is_none(), "items": items })
}

fn pointed_at(asked: &Asked<'_>, offset: u32) -> Value {
    let Asked { texts, open, .. } = asked;
    let session = texts.session_of(open);
    json!(match (open.is_rules(), session) {
        (true, session) => hover_rules::at(&open.text, offset, session, &texts.symbols_of(open)),
        (false, Some(session)) => hover::at(&open.text, offset, session, open.judged_readings()),
        (false, None) => None,
    })
}

fn symbols(asked: &Asked<'_>) -> Value {
    let Asked { texts, open, .. } = asked;
    json!(match open.is_rules() {
        true => outline::of_rules(&open.text, &texts.symbols_of(open)),
        false => outline::of_documents(&open.text, texts.forms_of(open)),
    })
}

fn laid_out(texts: &Texts, parameters: &Value) -> Result<Value, Refused> {
    let OfText { text_document: one } = read(parameters)?;
    match texts.open.get(&one.uri).filter(|open| open.is_rules()) {
        Some(open) => {
            let edits = layout::of_rules(&open.text).map_err(|why| Refused::new(error::FAILED, why))?;
            Ok(json!(edits))
        }
        None => Ok(Value::Null),
    }
}

fn lenses(asked: &Asked<'_>) -> Value {
    let Asked { texts, open, address } = asked;
    match open.is_rules() {
        true => json!(lens::of_rules(&open.text, address, &texts.symbols_of(open))),
        false => json!([]),
    }
}

fn tokens(asked: &Asked<'_>) -> Value {
    let Asked { texts, open, .. } = asked;
    let numbers = match open.is_rules() {
        true => colours::of_rules(&open.text, &texts.symbols_of(open)),
        false => colours::of_documents(&open.text, texts.forms_of(open)),
    };
    json!({ "data": numbers })
}

fn actions(asked: &Asked<'_>, at: &AtRange) -> Value {
    let range = at.range;
    let Asked { texts, open, address } = asked;
    let Some(session) = texts.session_of(open) else { return json!([]) };
    let found = match (open.is_rules(), &open.judged) {
        (true, _) => {
            let (found, by) = open.rules.diagnostics(open.version);
            let sources = by.unwrap_or(session).sources();
            fixes::of_names(&open.text, found, &open.name, range, sources)
        }
        (false, Some((_, judged))) => fixes::of_document(&open.text, judged, range, &at.context, session),
        // Settings.
        (false, None) => {
            let of_run = texts.said_of_run(open);
            fixes::of_names(&open.text, of_run, &open.name, range, texts.sources_of_run(open, session))
        }
    };
    let written = |action: Action| {
        let edits = BTreeMap::from([(address.to_string(), action.edits.clone())]);
        let mut value = json!(action);
        if let Some(members) = value.as_object_mut() {
            members.insert("edit".to_owned(), json!({ "changes": edits }));
        }
        value
    };
    let is_wanted = |action: &Action| at.context.only.is_none() || at.context.names(action.kind);
    found.into_iter().filter(is_wanted).map(written).collect()
}

fn shown(asked: &Asked<'_>, at: &AtRange) -> Value {
    let range = at.range;
    let Asked { texts, open, .. } = asked;
    let Some(session) = texts.session_of(open) else { return json!([]) };
    json!(match open.is_rules() {
        true => {
            let tried = open.rules.tried(open.version);
            let by = open.rules.proof_of(open.version).map_or(session, Proved::session);
            hints::of_trials(&open.text, range, tried, by, &open.name)
        }
        false => hints::of_documents(&open.text, range, session, open.judged_readings()),
    })
}

/// Where places are, as far as they are in files of the workspace.
fn locations(texts: &Texts, open: &Open, places: impl IntoIterator<Item = Place>) -> Vec<Location> {
    let Some(session) = texts.session_of(open) else { return Vec::new() };
    let location = |place: Place| {
        let source = session.sources().get(place.source)?;
        let uri = texts.address_of(source.name())?;
        Some(Location { uri, range: range(source.lines(), source.text(), place.span) })
    };
    places.into_iter().filter_map(location).collect()
}

pub(super) fn in_text(address: &str, text: &Text, spans: impl IntoIterator<Item = Span>) -> Vec<Location> {
    let location = |span| Location { uri: address.to_owned(), range: text.range(span) };
    spans.into_iter().map(location).collect()
}

fn definition(asked: &Asked<'_>, offset: u32) -> Value {
    let Asked { texts, open, address } = asked;
    if open.is_rules() {
        let symbols = texts.symbols_of(open);
        return match names::definition(&symbols, offset) {
            Some(span) => json!(in_text(address, &open.text, [span])),
            None => match symbols.at(offset).map(|one| &one.target) {
                Some(Target::Elsewhere(name)) => {
                    let places =
                        texts.session_of(open).map(|session| session.named(name)).unwrap_or_default();
                    json!(locations(texts, open, places.into_iter().map(|one| one.place)))
                }
                _ => json!(used_file(texts, open, offset)),
            },
        };
    }
    let Some(session) = texts.session_of(open) else { return Value::Null };
    if let Some(place) = names::parameter_at(&open.text, offset, session) {
        return json!(locations(texts, open, [place]));
    }
    let Some((wanted, _)) = names::named_at(&open.text, offset, session.forms()) else { return Value::Null };
    let all = match &wanted {
        Named::Tool(_) => session.places_of_tools(),
        Named::Procedure(_) => session.places_of_procedures(),
    };
    json!(locations(texts, open, all.into_iter().filter(|one| one.name == wanted.name()).map(|one| one.at)))
}

/// The file that a line `use` names, where it was read.
fn used_file(texts: &Texts, open: &Open, offset: u32) -> Option<Location> {
    let session = texts.session_of(open)?;
    let own = |place: &Place| session.sources().name(place.source) == open.name;
    let used = session.used().iter();
    let (file, _) = used
        .clone()
        .find(|(_, place)| own(place) && place.span.start <= offset && offset <= place.span.end)?;
    Some(Location { uri: texts.address_of(file)?, range: crate::editor::protocol::Range::default() })
}

fn renamed(texts: &mut Texts, rename: &Rename) -> Result<Value, Refused> {
    let Some(asked) = asked(texts, &rename.text_document.uri) else { return Ok(Value::Null) };
    let offset = asked.open.text.offset(rename.position);
    let changes = naming::renamed(&asked, offset, rename.new_name.trim());
    Ok(json!({ "changes": changes.map_err(|why| Refused::new(error::FAILED, why))? }))
}

fn execute(texts: &mut Texts, wanted: &Execute) -> Result<Value, Refused> {
    let text = |number: usize| wanted.arguments.get(number).and_then(Value::as_str);
    let (Some(address), Some(rule), lens::RUN_TRIALS) = (text(0), text(1), &*wanted.command) else {
        return Err(Refused::new(error::INVALID_PARAMS, format!("`{}` is not known here", wanted.command)));
    };
    let Some(proved) = texts.proof(address) else {
        return Err(Refused::new(error::FAILED, "this rule file is not open".to_owned()));
    };
    let (is_good, words) = lens::run(proved.session(), rule);
    texts.messages.push((if is_good { 3 } else { 1 }, words.clone()));
    Ok(json!(words))
}
