//! Where a name is written in all files of a workshop, and another name for it everywhere: in rule files, also in those that
//! use the file of the name; in settings; in records, procedures and registers.

use std::collections::{BTreeMap, BTreeSet};
use std::path::{Path, PathBuf};

use serde_json::{Value, json};

use super::requests::{Asked, in_text};
use super::texts::Texts;
use crate::command::bounds::{Bounds, nearer};
use crate::command::files::{self, Disk, RULE_ENDING, tidy};
use crate::command::names::{named, path_of};
use crate::command::walk::find;
use crate::diagnostic::{Diagnostic, Fault, Level};
use crate::editor::names::{self, Named};
use crate::editor::protocol::{Location, TextEdit};
use crate::editor::symbols::{Symbols, Target, What};
use crate::editor::text::range;
use crate::library::{Library, OF_THE_PROGRAM, came_with_it};
use crate::session::{Reading, Request, Session, Trials};
use crate::sheet::scalar;
use crate::source::{LineIndex, Sources, Span};

/// So many rule files of the folder of the settings are looked through.
const MOST_FILES: usize = 1_000;

/// A rule file and the names in it.
struct RuleText {
    name: String,
    text: String,
    symbols: Symbols,
}

impl RuleText {
    fn of(asked: &Asked<'_>, name: String, text: String) -> RuleText {
        let symbols = asked.texts.symbols(&text, asked.open);
        RuleText { name, text, symbols }
    }

    /// Whether it uses the names of another file.
    fn uses(&self, other: &str) -> bool {
        self.symbols.used().any(|path| used_name(&self.name, path) == other)
    }

    /// Where these places are, for an editor; nothing in a file that it may not change.
    fn locations(&self, texts: &Texts, spans: impl IntoIterator<Item = Span>) -> Vec<Location> {
        let Some(address) = texts.address_of(&self.name) else { return Vec::new() };
        let lines = LineIndex::new(&self.text);
        let location = |span| Location { uri: address.clone(), range: range(&lines, &self.text, span) };
        spans.into_iter().map(location).collect()
    }

    /// The same text with another name at these places.
    fn with(&self, spans: &[Span], new: &str) -> String {
        let mut text = self.text.clone();
        let mut spans = spans.to_vec();
        spans.sort_unstable();
        spans.dedup();
        for span in spans.iter().rev() {
            text.replace_range(span.start as usize..span.end as usize, new);
        }
        text
    }
}

/// What a file is called that another one uses by a path.
fn used_name(from: &str, path: &str) -> String {
    if path.starts_with(OF_THE_PROGRAM) {
        return path.to_owned();
    }
    let from = path_of(from);
    named(&tidy(&from.parent().unwrap_or(Path::new("")).join(path)))
}

/// A name that rule files lend each other: the file that defines it first, and then those that use that file.
struct Lent {
    files: Vec<RuleText>,
    /// Where it is written in each of them.
    spans: Vec<Vec<Span>>,
}

/// The rule files around one: those that are open or were read, and those in the folder of its settings.
fn rule_files(asked: &Asked<'_>) -> Vec<RuleText> {
    let Asked { texts, open, .. } = asked;
    let mut files: BTreeMap<String, String> = texts.rule_files_beside(open).into_iter().collect();
    let folder = open.settings.as_ref().map(|settings| settings.parent().unwrap_or(Path::new("")));
    let folder = folder.map(|folder| if folder.as_os_str().is_empty() { Path::new(".") } else { folder });
    let found =
        folder.filter(|folder| texts.holds(folder)).map(|folder| find(&[folder.to_owned()], &[RULE_ENDING]));
    for file in found.into_iter().flatten().filter(|file| file.fault.is_none()).take(MOST_FILES) {
        let path = nearer(&tidy(&file.path));
        let name = named(&path);
        if name == open.name || files.contains_key(&name) || !texts.holds(&path) {
            continue;
        }
        files.extend(files::read_unlinked(&path).ok().map(|text| (name, text)));
    }
    files.into_iter().map(|(name, text)| RuleText::of(asked, name, text)).collect()
}

/// The name at an offset, where it is one that rule files lend each other.
///
/// # Errors
/// It is defined where it cannot be changed; where that is.
fn lent(asked: &Asked<'_>, symbols: &Symbols, offset: u32) -> Result<Option<Lent>, String> {
    let Some(target) = symbols.at(offset).map(|one| &one.target) else { return Ok(None) };
    let own = RuleText::of(asked, asked.open.name.clone(), asked.open.text.text().to_owned());
    let (name, mut files) = match target {
        Target::Own(number) if symbols.is_lent(*number) => {
            let Some(one) = symbols.definitions.get(*number) else { return Ok(None) };
            let mut files = rule_files(asked);
            files.insert(0, own);
            (one.name.clone(), files)
        }
        Target::Elsewhere(name) => {
            for path in symbols.used().filter(|path| path.starts_with(OF_THE_PROGRAM)) {
                let shipped = came_with_it(path);
                if shipped
                    .is_some_and(|shipped| asked.texts.symbols(shipped.text, asked.open).lent(name).is_some())
                {
                    return Err(format!("`{name}` is defined in {path}, which came with the program"));
                }
            }
            let mut files = rule_files(asked);
            let defines = |file: &RuleText| own.uses(&file.name) && file.symbols.lent(name).is_some();
            let Some(at) = files.iter().position(defines) else { return Ok(None) };
            let first = files.remove(at);
            if asked.texts.address_of(&first.name).is_none() {
                return Err(format!(
                    "`{name}` is defined in `{}`, outside the folders that are open in the editor",
                    first.name
                ));
            }
            files.insert(0, own);
            files.insert(0, first);
            (name.clone(), files)
        }
        _ => return Ok(None),
    };
    let first = files.remove(0);
    let Some(number) = first.symbols.lent(&name) else { return Ok(None) };
    files.retain(|file| file.uses(&first.name));
    let of_first: Vec<Span> = first.symbols.uses_of(number).collect();
    let of_others = files.iter().map(|file| file.symbols.uses_from_elsewhere(&name).collect());
    let spans = std::iter::once(of_first).chain(of_others).collect();
    files.insert(0, first);
    Ok(Some(Lent { files, spans }))
}

pub(super) fn references(asked: &Asked<'_>, offset: u32) -> Value {
    json!(all_uses(asked, offset))
}

/// Every place where the name at an offset is written.
fn all_uses(asked: &Asked<'_>, offset: u32) -> Vec<Location> {
    let Asked { texts, open, address } = asked;
    if open.is_rules() {
        let symbols = texts.symbols_of(open);
        let mut found = match lent(asked, &symbols, offset) {
            Ok(Some(Lent { files, spans })) => {
                let of_file = |(file, spans): (&RuleText, Vec<Span>)| file.locations(texts, spans);
                files.iter().zip(spans).flat_map(of_file).collect()
            }
            Ok(None) | Err(_) => in_text(address, &open.text, names::uses(&symbols, offset)),
        };
        found.extend(elsewhere(asked, &symbols, offset).into_iter().map(|(location, _)| location));
        return found;
    }
    let forms = texts.forms_of(open);
    match names::named_at(&open.text, offset, forms) {
        Some((wanted, _)) => uses_of(asked, &wanted),
        None => Vec::new(),
    }
}

/// Every place where documents name something.
fn uses_of(asked: &Asked<'_>, wanted: &Named) -> Vec<Location> {
    let forms = asked.texts.forms_of(asked.open);
    let mut found = Vec::new();
    for (address, text) in documents(asked).filter(|(_, text)| text.contains(wanted.name())) {
        let lines = LineIndex::new(&text);
        let location = |span| Location { uri: address.clone(), range: range(&lines, &text, span) };
        found.extend(names::places_in(&text, wanted, forms).into_iter().map(location));
    }
    found
}

/// Where settings and other rule files of the workshop name a rule or parameter of this one; and whether with its standard.
fn elsewhere(asked: &Asked<'_>, symbols: &Symbols, offset: u32) -> Vec<(Location, bool)> {
    let Asked { texts, open, .. } = asked;
    let Some(one) = symbols.at(offset) else { return Vec::new() };
    let Target::Own(number) = one.target else { return Vec::new() };
    let Some(definition) = symbols.definitions.get(number) else { return Vec::new() };
    let standard = symbols.definitions.iter().find(|one| one.what == What::Standard);
    let Some(standard) = standard else { return Vec::new() };
    let whole = format!("{}.{}", standard.name, definition.name);
    let mut found = Vec::new();
    let mut add = |address: &str, text: &str, places: Vec<(Span, bool)>| {
        let lines = LineIndex::new(text);
        found.extend(places.into_iter().map(|(span, is_whole)| {
            (Location { uri: address.to_owned(), range: range(&lines, text, span) }, is_whole)
        }));
    };
    if let Some(settings) = open.settings.as_ref().filter(|settings| texts.holds(settings))
        && let Ok(text) = files::read_unlinked(settings)
        && let Some(address) = texts.address_of(&named(settings))
    {
        let places =
            names::in_settings(&text, definition.what, &definition.name, &whole, texts.forms_of(open));
        add(&address, &text, places);
    }
    if definition.what == What::Rule {
        for (name, text) in texts.rule_files_beside(open) {
            let Some(address) = texts.address_of(&name) else { continue };
            let other = texts.symbols(&text, open);
            let is_it = |target: &Target| matches!(target, Target::OtherRule(name) if *name == whole);
            let places =
                other.uses.iter().filter(|one| is_it(&one.target)).map(|one| (one.at, true)).collect();
            add(&address, &text, places);
        }
    }
    found
}

/// The documents of the workshop, as they are in the editor or on disk, one after the other.
fn documents<'a>(asked: &Asked<'a>) -> impl Iterator<Item = (String, String)> + use<'a> {
    let Asked { texts, open, .. } = *asked;
    let mut paths: Vec<PathBuf> = texts.documents_of(open);
    let own = texts.open.values().filter(|one| one.settings == open.settings && !one.is_rules());
    paths.extend(own.filter_map(|one| one.path.clone()));
    let mut seen = BTreeSet::new();
    let read = |path: PathBuf| {
        let name = named(&nearer(&path));
        let address = texts.address_of(&name)?;
        Some((address, files::read_unlinked(&path).ok()?))
    };
    paths.into_iter().filter(move |path| seen.insert(files::tidy(path))).filter_map(read)
}

pub(super) fn can_be_renamed(asked: &Asked<'_>, offset: u32) -> Value {
    let Asked { texts, open, .. } = asked;
    let forms = texts.forms_of(open);
    let span = match open.is_rules() {
        true => {
            let symbols = texts.symbols_of(open);
            let is_elsewhere = |target: &Target| matches!(target, Target::Elsewhere(_));
            let used = symbols.at(offset).filter(|one| is_elsewhere(&one.target)).map(|one| one.at);
            let own = names::renamed(&symbols, offset).filter(|(_, what)| *what != What::Standard);
            own.map(|(span, _)| span).or(used)
        }
        false => names::named_at(&open.text, offset, forms).map(|(_, span)| span),
    };
    json!(span.map(|span| open.text.range(span)))
}

/// The changes, by the address of the text, after which something has another name.
///
/// # Errors
/// Why it cannot have it.
pub(super) fn renamed(
    asked: &Asked<'_>,
    offset: u32,
    name: &str,
) -> Result<BTreeMap<String, Vec<TextEdit>>, String> {
    if can_be_renamed(asked, offset).is_null() {
        return Err("what is here cannot be given another name".to_owned());
    }
    let all = if asked.open.is_rules() {
        in_rules(asked, offset, name)?
    } else {
        in_documents(asked, offset, name)?
    };
    let mut changes: BTreeMap<String, Vec<TextEdit>> = BTreeMap::new();
    for (location, new_text) in all {
        changes.entry(location.uri).or_default().push(TextEdit { range: location.range, new_text });
    }
    Ok(changes)
}

fn in_documents(asked: &Asked<'_>, offset: u32, name: &str) -> Result<Vec<(Location, String)>, String> {
    let new = scalar(name);
    if !names::can_name(name) || new != name {
        return Err(format!(
            "`{name}` cannot be a name here: letters, digits, blanks and - _ . / only, and no word that means something else"
        ));
    }
    let forms = asked.texts.forms_of(asked.open);
    let Some((old, _)) = names::named_at(&asked.open.text, offset, forms) else { return Ok(Vec::new()) };
    if name == old.name() {
        return Ok(Vec::new());
    }
    // Two that have one name are one, also in records that were closed long ago.
    let is_same = |other: &str| other != old.name() && other.to_lowercase() == name.to_lowercase();
    for (address, text) in documents(asked) {
        if !text.to_lowercase().contains(&name.to_lowercase()) {
            continue;
        }
        if let Some((taken, line)) =
            names::all_in(&text, &old, forms).into_iter().find(|(taken, _)| is_same(taken))
        {
            let file = address.rsplit('/').next().unwrap_or_default();
            return Err(format!(
                "`{taken}` is {} already ({file}, line {line}); with one name for both nobody could tell which a record means",
                match old {
                    Named::Tool(_) => "another tool",
                    Named::Procedure(_) => "another procedure",
                }
            ));
        }
    }
    Ok(uses_of(asked, &old).into_iter().map(|location| (location, new.clone())).collect())
}

fn in_rules(asked: &Asked<'_>, offset: u32, name: &str) -> Result<Vec<(Location, String)>, String> {
    let Asked { texts, open, address } = asked;
    let symbols = texts.symbols_of(open);
    let own = symbols.at(offset).map(|one| one.at.of(open.text.text())).unwrap_or_default();
    if name == own {
        return Ok(Vec::new());
    }
    names::refused(&symbols, name).map_or(Ok(()), Err)?;
    let mut all: Vec<(Location, String)> = Vec::new();
    let mut changed: BTreeMap<String, [String; 2]> = BTreeMap::new();
    match lent(asked, &symbols, offset)? {
        Some(Lent { files, spans }) => {
            for (file, spans) in files.iter().zip(spans) {
                let locations = file.locations(texts, spans.iter().copied());
                if locations.len() < spans.len() {
                    return Err(format!(
                        "`{}` uses this name, and is outside the folders that are open in the editor",
                        file.name
                    ));
                }
                all.extend(locations.into_iter().map(|location| (location, name.to_owned())));
                changed.insert(file.name.clone(), [file.text.clone(), file.with(&spans, name)]);
            }
        }
        None => {
            let spans = names::uses(&symbols, offset);
            if matches!(symbols.at(offset).map(|one| &one.target), Some(Target::Elsewhere(_))) {
                return Err(format!("no rule file that is used here defines `{own}`"));
            }
            let file = RuleText::of(asked, open.name.clone(), open.text.text().to_owned());
            changed.insert(file.name.clone(), [file.text.clone(), file.with(&spans, name)]);
            let locations = in_text(address, &open.text, spans);
            all.extend(locations.into_iter().map(|location| (location, name.to_owned())));
        }
    }
    refuse_mistakes(asked, &changed)?;
    let standard = symbols.definitions.iter().find(|one| one.what == What::Standard);
    let whole = standard.map(|standard| format!("{}.{name}", standard.name)).unwrap_or_default();
    for (location, is_whole) in elsewhere(asked, &symbols, offset) {
        all.push((location, if is_whole { whole.clone() } else { name.to_owned() }));
    }
    Ok(all)
}

/// Rule files, some of them as they would be.
struct Changed<'t> {
    texts: BTreeMap<&'t str, &'t str>,
    disk: Disk,
}

impl Library for Changed<'_> {
    fn open(&self, from: &str, path: &str) -> Result<(String, String), Fault> {
        let (name, text) = self.disk.open(from, path)?;
        let changed = self.texts.get(name.as_str()).map(|text| (*text).to_owned());
        Ok((name, changed.unwrap_or(text)))
    }
}

/// Refuses a name by which rule files get mistakes that they did not have.
fn refuse_mistakes(asked: &Asked<'_>, changed: &BTreeMap<String, [String; 2]>) -> Result<(), String> {
    let Asked { texts, open, .. } = asked;
    let Some(session) = texts.session_of(open) else { return Ok(()) };
    let mistakes = |name: &str, number: usize| {
        let all = changed.iter().filter_map(|(name, both)| Some((name.as_str(), both.get(number)?.as_str())));
        let bounds = open.settings.as_ref().map(|settings| {
            let folder = settings.parent().unwrap_or(Path::new("")).to_owned();
            Bounds { folder, named: texts.rules.run.workshop.settings.is_some() }
        });
        let library = Changed { texts: all.collect(), disk: Disk { bounds } };
        let mut sources = Sources::new();
        let text = library.texts.get(name).copied().unwrap_or_default();
        let standards = vec![sources.add(name, text)];
        let request = Request {
            sources,
            standards,
            earlier: Vec::new(),
            forms: session.forms().clone(),
            givens: Vec::new(),
            setting: session.setting().clone(),
        };
        let session = Session::open_with(
            request,
            &library,
            Reading { trials: Trials::All, known: texts.rules.clauses.as_deref() },
        );
        let errors = session.diagnostics().iter().filter(|one| one.level == Level::Error);
        let line = |one: &Diagnostic| one.place().map(|place| session.sources().line_in_words(place));
        errors.map(|one| (one.message.clone(), line(one).unwrap_or_default())).collect::<Vec<_>>()
    };
    for name in changed.keys() {
        let (before, after) = (mistakes(name, 0), mistakes(name, 1));
        if after.len() > before.len() {
            let is_new = |one: &&(String, String)| !before.contains(one);
            let new = after.iter().find(is_new).map(|(message, line)| format!("{line}: {message}"));
            return Err(format!(
                "with this name the rules would have a mistake; {}",
                new.unwrap_or_default()
            ));
        }
    }
    Ok(())
}
