//! The page of one job.

use std::collections::BTreeMap;

use maud::{DOCTYPE, Markup, html};

use super::assets::address;
use super::controls::{Controls, has_buttons};
use super::day::encoded;
use super::notes::{Note, Verdict, Weight};
use super::order::{Block, blocks};
use super::rows::{EntryPart, NEW, Part, Row, each};
use super::tapping::drawing;
use super::words::{Language, Words};
use super::{clean, clean_lines};
use crate::document::{Field, Record, Shape};
use crate::edition::Digest;
use crate::session::ToolInUse;
use crate::sheet::Asked;
use crate::trade::job::PHOTOGRAPHS;
use crate::trade::names::{PLACE, SEQUENCE};
use crate::trade::prescription::CAUTIONS;
use crate::trade::procedure::Procedure;
use crate::trade::work::BEFORE;

/// The notes by the name of what they are beside.
pub type Beside<'n> = BTreeMap<String, Vec<&'n Note>>;

/// What stands on every page.
#[derive(Clone, Debug)]
pub struct Frame {
    /// The language.
    pub language: Language,
    /// By which the server knows that a change comes from its own page.
    pub token: String,
    /// Who is at the bench; empty where nobody has said so.
    pub person: String,
    /// Whether they may do what only a foreman may.
    pub is_foreman: bool,
}

impl Frame {
    /// A whole page.
    #[must_use]
    pub fn page(&self, title: &str, body: &Markup) -> String {
        let words = Words(self.language);
        let page = html! {
            (DOCTYPE)
            html lang=(self.language.tag()) {
                head {
                    meta charset="utf-8";
                    meta name="viewport" content="width=device-width, initial-scale=1";
                    meta name="token" content=(self.token);
                    title { (clean(title)) " · witnessmark" }
                    link rel="icon" href=(address("mark.svg"));
                    link rel="stylesheet" href=(address("bench.css"));
                    script type="module" src=(address("bench.js")) {}
                }
                body {
                    a class="skip" href="#main" { (words.say("skip")) }
                    (body)
                }
            }
        };
        page.into_string()
    }

    /// The links to the other languages and to the day.
    #[must_use]
    pub fn corner(&self) -> Markup {
        let words = Words(self.language);
        html! {
            nav class="corner" aria-label=(words.say("navigation")) {
                a href="/" { (words.say("day")) }
                @for language in Language::ALL {
                    @if language != self.language {
                        a href={ "/language?to=" (language.tag()) } lang=(language.tag()) hreflang=(language.tag()) { (language.name()) }
                    }
                }
                @if !self.person.is_empty() {
                    form class="person" method="post" action="/sign-out" {
                        input type="hidden" name="token" value=(self.token);
                        (clean(&self.person)) " "
                        button { (words.say("sign-out")) }
                    }
                }
            }
        }
    }
}

/// The page on which people say who they are; with what was wrong with the last answer.
#[must_use]
pub fn sign_in(frame: &Frame, names: &[&str], wrong: Option<&str>) -> String {
    let words = Words(frame.language);
    let body = html! {
        header class="top" { (frame.corner()) h1 { (words.say("enter-title")) } }
        main id="main" {
            @if let Some(key) = wrong { p class="locked" role="alert" { (words.say(key)) } }
            form class="sign" method="post" action="/sign-in" {
                input type="hidden" name="token" value=(frame.token);
                label { (words.say("enter-name")) select name="name" { @for name in names { option { (clean(name)) } } } }
                label { (words.say("enter-pin")) input name="pin" type="password" inputmode="numeric" autocomplete="off" required; }
                button { (words.say("enter")) }
            }
        }
    };
    frame.page(&words.say("enter-title"), &body)
}

/// A job as it is shown.
pub struct JobPage<'j, 'f> {
    /// What is on every page.
    pub frame: &'j Frame,
    /// The name by which the server knows its record.
    pub name: &'j str,
    /// What it is called.
    pub title: &'j str,
    /// The version of its text.
    pub version: &'j str,
    /// Its parts.
    pub parts: &'j [Part<'f>],
    /// What was found.
    pub notes: &'j [Note],
    /// The same beside the fields.
    pub beside: &'j Beside<'j>,
    /// What it comes to.
    pub verdict: &'j Verdict,
    /// Its procedure.
    pub procedure: Option<&'j Procedure>,
    /// The tools of the register.
    pub tools: &'j [ToolInUse],
    /// Why nothing can be written, where that is so.
    pub locked: Option<&'j str>,
    /// The fields and entries that were added to the page by hand.
    pub also: &'j [String],
    /// What is wrong with rules, settings or what stands around the job, so that there is no verdict.
    pub faults: &'j [String],
}

impl JobPage<'_, '_> {
    fn words(&self) -> Words {
        Words(self.frame.language)
    }

    /// The whole page.
    #[must_use]
    pub fn whole(&self) -> String {
        let words = self.words();
        let body = html! {
            header class="top" {
                (self.frame.corner())
                h1 { (clean(self.title)) }
                nav class="actions" aria-label=(words.say("actions")) {
                    a class="button" href={ "/close?job=" (encoded(self.name)) } { (words.say(if self.locked.is_some() { "found" } else { "close" })) }
                    a class="button" href={ "/print?job=" (encoded(self.name)) } { (words.say("print")) }
                    @if self.locked.is_none() {
                        label class="button shot" {
                            (words.say("photograph"))
                            input type="file" accept="image/*" capture="environment" data-shot;
                        }
                    }
                }
            }
            aside class="bar" aria-label=(words.say("found")) {
                div id="verdict" role="status" aria-live="polite" { (self.top()) }
                button type="button" data-next { (words.say("next-open")) }
                p id="line" role="status" aria-live="polite" data-saved=(words.say("saved")) data-waiting=(words.say("waiting"))
                    data-offline=(words.say("offline")) data-refused=(words.say("refused")) data-mine=(words.say("mine"))
                    data-theirs=(words.say("theirs")) data-conflict=(words.say("conflict")) data-stop=(words.say("stop"))
                    data-watch=(words.say("stop-watch")) data-full=(words.say("full")) data-shots=(words.say("shots")) {}
            }
            main id="main" data-job=(clean(self.name)) data-version=(self.version) { (self.main()) }
        };
        self.frame.page(self.title, &body)
    }

    /// The record as a page to print: what is recorded, and all that was found of it.
    #[must_use]
    pub fn printed(&self, text: &str) -> String {
        let words = self.words();
        let all: Vec<&Note> = self.notes.iter().collect();
        let mut rows: Vec<&Row<'_>> = Vec::new();
        each(self.parts, &mut |row| rows.extend(row.recorded.is_some().then_some(row)));
        let body = html! {
            header class="top" { (self.frame.corner()) h1 { (clean(self.title)) } (self.top()) }
            main id="main" class="printed" {
                p { (words.say("version")) " " code { (self.version) } }
                table {
                    thead { tr { th scope="col" { (words.say("field")) } th scope="col" { (words.say("recorded")) } } }
                    tbody { @for row in rows { tr { th scope="row" { (clean(&row.id)) } td { (clean(row.base())) } } } }
                }
                @for number in 0..self.photographs() { (self.picture(number, &words.say("photograph"))) }
                h2 { (words.say("found")) }
                @for note in all { (notes(&[note], words)) }
                h2 { (words.say("record")) }
                pre { (clean_lines(text)) }
            }
        };
        self.frame.page(self.title, &body)
    }

    /// What the job comes to, and what is still to do.
    #[must_use]
    pub fn top(&self) -> Markup {
        verdict(self.verdict, self.faults, self.words())
    }

    /// All parts.
    #[must_use]
    pub fn main(&self) -> Markup {
        let words = self.words();
        let mut numbers = 0..;
        html! {
            div id="shape" hidden data-shape=(self.shape()) data-version=(self.version) {}
            @if let Some(why) = self.locked { p class="locked" { (clean(why)) } }
            (self.open_list())
            @for block in blocks(self.parts, self.procedure) {
                (self.block(&block, words, &mut numbers))
            }
        }
    }

    /// What is found of the job as a whole, and a way to the first of all other findings.
    fn open_list(&self) -> Markup {
        let words = self.words();
        let whole = self.beside.get("").map(Vec::as_slice).unwrap_or_default();
        html! {
            section class="whole" aria-label=(words.say("whole-job")) {
                div class="notes" data-notes="" { (notes(whole, words)) }
            }
        }
    }

    fn block(&self, block: &Block<'_, '_>, words: Words, numbers: &mut std::ops::RangeFrom<u32>) -> Markup {
        match block {
            Block::Part(part) => self.section(part, words, numbers),
            Block::Steps { id } => html! {
                section {
                    h2 { (words.field("", id)) }
                    (self.notes_at(id, words))
                    (self.add(id, id, words))
                }
            },
            Block::Step { id, number, title, text, cautions, read, parts } => html! {
                section class="step" {
                    (given(cautions, words))
                    @if let Some(read) = read.as_ref().filter(|_| !cautions.is_empty()) { (self.part(read, words, numbers)) }
                    h2 { (number) ". " (clean(&words.word(title))) }
                    (self.notes_at(id, words))
                    @if let Some(text) = text { p class="text" lang="" { (clean(text)) } }
                    @for part in parts { (self.part(part, words, numbers)) }
                }
            },
        }
    }

    fn section(&self, part: &Part<'_>, words: Words, numbers: &mut std::ops::RangeFrom<u32>) -> Markup {
        let (title, id) = match part {
            Part::Value(row) => (words.field("", &row.field.name), ""),
            Part::Group(group) => (words.field("", &group.field.name), group.id.as_str()),
            Part::List { field, id, .. } => (words.field("", &field.name), id.as_str()),
        };
        html! {
            section {
                h2 { (clean(&title)) }
                (self.notes_at(id, words))
                @match part {
                    Part::Group(group) => {
                        @if let Some(procedure) = self.procedure.filter(|_| group.id == CAUTIONS.job) {
                            (given(&procedure.cautions, words))
                        }
                        @for part in &group.parts { (self.part(part, words, numbers)) }
                        (self.more(&group.id, &title, others(&group.parts, group.field), words))
                        (self.out(group.is_there, &group.id, &title, words))
                    }
                    _ => (self.part(part, words, numbers)),
                }
            }
        }
    }

    fn add(&self, id: &str, list: &str, words: Words) -> Markup {
        let list = words.field("", list);
        html! {
            @if self.locked.is_none() {
                button type="button" data-also={ (id) (NEW) } aria-label={ (words.say("add-entry")) ": " (clean(&list)) } {
                    "+ " (clean(&list))
                }
            }
        }
    }

    /// Whether nothing is recorded in a row, planned for it, asked of it or found there, and nobody wants to fill it in. The
    /// order of tightening is tapped, and a time is one tap.
    fn is_idle(&self, row: &Row<'_>) -> bool {
        let Asked { note, limits, safe, .. } = &row.asked;
        let is_asked =
            note.as_deref().is_some_and(|note| !note.is_empty()) || !limits.is_empty() || !safe.is_empty();
        let is_known = row.recorded.is_some() || row.settled.is_some() || row.planned.is_some();
        let is_at_hand = matches!(row.field.shape, Shape::Moment) || *row.field.name == *SEQUENCE;
        let is_wanted = || self.also.contains(&row.id) || self.beside.contains_key(&row.id);
        !is_asked && !is_known && !is_at_hand && !is_wanted()
    }

    /// Whether an entry is neither recorded nor planned, and only one that could be.
    fn is_empty(&self, entry: &EntryPart<'_>) -> bool {
        let mut is_empty = !entry.is_there && !entry.id.ends_with(NEW) && entry.asked_by.is_none();
        each(&entry.parts, &mut |row| is_empty &= self.is_idle(row));
        is_empty
    }

    /// Other fields of a group or an entry, to be chosen.
    fn more<'m>(
        &self,
        id: &str,
        title: &str,
        fields: impl Iterator<Item = (&'m Record, &'m Field)>,
        words: Words,
    ) -> Markup {
        let mut fields = fields.peekable();
        html! {
            @if self.locked.is_none() && fields.peek().is_some() {
                p class="more" {
                    select data-also-of=(id) aria-label={ (words.say("more-fields")) " " (clean(title)) } {
                        option value="" { (words.say("more-fields")) }
                        @for (form, field) in fields { option value=(field.name) { (clean(&words.field(&form.title, &field.name))) } }
                    }
                }
            }
        }
    }

    fn notes_at(&self, id: &str, words: Words) -> Markup {
        let found = self.beside.get(id).map(Vec::as_slice).unwrap_or_default();
        html! { @if !id.is_empty() { div class="notes" data-notes=(id) { (notes(found, words)) } } }
    }

    fn part(&self, part: &Part<'_>, words: Words, numbers: &mut std::ops::RangeFrom<u32>) -> Markup {
        match part {
            Part::Value(row) => self.row(row, words, numbers),
            Part::Group(group) => html! {
                fieldset {
                    @let title = words.field("", &group.field.name);
                    legend { (clean(&title)) }
                    (self.notes_at(&group.id, words))
                    @for part in &group.parts { (self.part(part, words, numbers)) }
                    (self.out(group.is_there, &group.id, &title, words))
                }
            },
            Part::List { id, head, entries, field, .. } => html! {
                (self.notes_at(id, words))
                @if let Some(head) = head { p class="head" { (clean(head)) } }
                (self.add(id, &field.name, words))
                @for (number, entry) in entries.iter().enumerate().filter(|(_, entry)| !self.is_empty(entry)) {
                    @let before = number.checked_sub(1).and_then(|before| entries.get(before));
                    @if entry.series.is_some() && before.is_none_or(|before| before.series != entry.series) {
                        (self.all_alike(entry, words))
                        @let alike: Vec<&EntryPart<'_>> = entries.iter().filter(|one| one.series == entry.series).collect();
                        @if self.locked.is_none() { (drawing(&alike, self.procedure, words)) }
                    }
                    @if *field.name == *PHOTOGRAPHS && entry.is_there { (self.picture(number, &entry.title)) }
                    (self.entry(entry, words, numbers))
                }
            },
        }
    }

    /// How many photographs are recorded.
    fn photographs(&self) -> usize {
        let of = |part: &&Part<'_>| *part.field().name == *PHOTOGRAPHS;
        match self.parts.iter().find(of) {
            Some(Part::List { entries, .. }) => entries.iter().filter(|entry| entry.is_there).count(),
            _ => 0,
        }
    }

    /// The photograph of this number.
    fn picture(&self, number: usize, title: &str) -> Markup {
        let address = format!("/photo?job={}&number={number}", encoded(self.name));
        html! { a class="picture" href=(address) { img src=(address) alt=(clean(title)) loading="lazy"; } }
    }

    /// One field for all entries that are alike: what is filled in there is for those that are still blank.
    fn all_alike(&self, first: &EntryPart<'_>, words: Words) -> Markup {
        let controls = Controls { words, tools: self.tools, is_locked: self.locked.is_some() };
        let open = first.parts.iter().filter_map(|part| match part {
            Part::Value(row) if !row.is_settled() => Some(row),
            _ => None,
        });
        html! {
            fieldset class="alike" data-series=(first.series.unwrap_or_default()) {
                legend { (words.say("all-alike")) }
                @for row in open.filter(|row| !self.is_idle(row) && is_alike(row)) {
                    @let blank = Row { recorded: None, ..row.clone() };
                    @let name = format!("all-{}-{}", first.series.unwrap_or_default(), row.field.name);
                    div class="row" data-all=(row.field.name) {
                        label for=(name) { (clean(&words.field(&row.form.title, &row.field.name))) }
                        (limits(row))
                        span class="in" { (controls.of(&blank, &name)) }
                    }
                }
            }
        }
    }

    fn entry(&self, entry: &EntryPart<'_>, words: Words, numbers: &mut std::ops::RangeFrom<u32>) -> Markup {
        html! {
            fieldset class="entry" data-of=[entry.series] {
                legend { (clean(&words.word(&entry.title))) }
                (self.notes_at(&entry.id, words))
                @if let Some(rule) = &entry.asked_by { p class="head" { (clean(&words.with("asked-by", rule))) } }
                @let (idle, shown): (Vec<_>, Vec<_>) = entry.parts.iter().partition(|part| match part {
                    Part::Value(row) => !entry.id.ends_with(NEW) && self.is_idle(row),
                    _ => false,
                });
                @for part in shown { (self.part(part, words, numbers)) }
                (self.more(&entry.id, &entry.title, idle.into_iter().filter_map(|part| match part {
                    Part::Value(row) => Some((row.form, row.field)),
                    _ => None,
                }), words))
                (self.out(entry.is_there, &entry.id, &words.word(&entry.title), words))
            }
        }
    }

    /// The button that takes a group or an entry out of the record.
    fn out(&self, is_there: bool, id: &str, title: &str, words: Words) -> Markup {
        html! {
            @if is_there && self.locked.is_none() && !BEFORE.contains(&id) {
                button type="button" class="out" data-take-out=(id) data-sure=(words.say("take-out-sure"))
                    aria-label={ (words.say("take-out")) ": " (clean(title)) } { (words.say("take-out")) }
            }
        }
    }

    fn row(&self, row: &Row<'_>, words: Words, numbers: &mut std::ops::RangeFrom<u32>) -> Markup {
        let label = words.field(&row.form.title, &row.field.name);
        let found = self.beside.get(&row.id).map(Vec::as_slice).unwrap_or_default();
        let state = state(row, found);
        let name = format!("f{}", numbers.next().unwrap_or_default());
        let controls = Controls { words, tools: self.tools, is_locked: self.locked.is_some() };
        let is_group = has_buttons(&row.field.shape);
        html! {
            @if row.is_settled() && found.is_empty() {
                @let text = row.settled.as_deref().unwrap_or_default();
                p class="settled" data-id=(row.id) data-name=(row.field.name) data-base=(row.base()) { span class="label" { (clean(&label)) } " " (clean(&words.word(text))) }
            } @else {
                div class="row" data-id=(row.id) data-name=(row.field.name) data-base=(row.base()) data-state=(state)
                    role=[is_group.then_some("group")] aria-labelledby=[is_group.then(|| format!("{name}-l"))] {
                    @if is_group { span class="label" id={ (name) "-l" } { (clean(&label)) } }
                    @else { label for=(name) id={ (name) "-l" } { (clean(&label)) } }
                    (limits(row))
                    span class="in" { (controls.of(row, &name)) }
                    div class="notes" data-notes=(row.id) { (notes(found, words)) }
                }
            }
        }
    }

    /// By which an open page sees that its fields are others, and not only what is in them.
    #[must_use]
    pub fn shape(&self) -> String {
        let mut all = format!("{:?}", self.locked);
        each(self.parts, &mut |row| {
            let is_plain = row.is_settled() && !self.beside.contains_key(&row.id);
            all.push_str(&format!("{}\n{is_plain} {}\n", row.id, self.is_idle(row)));
        });
        Digest::of(&all).short()
    }

    /// Of each row what is recorded, how it is, and what was found, for a page that is open.
    #[must_use]
    pub fn states(&self) -> Vec<RowState> {
        let words = self.words();
        let mut states = Vec::new();
        each(self.parts, &mut |row| {
            let found = self.beside.get(&row.id).map(Vec::as_slice).unwrap_or_default();
            states.push(RowState {
                id: row.id.clone(),
                base: row.base().to_owned(),
                state: state(row, found),
                notes: notes(found, words).into_string(),
            });
        });
        states
    }

    /// The notes that are beside no row: by group, entry and the whole job.
    #[must_use]
    pub fn other_notes(&self) -> BTreeMap<String, String> {
        let words = self.words();
        let mut rows = std::collections::BTreeSet::new();
        each(self.parts, &mut |row| rows.extend([row.id.as_str()]));
        let others = self.beside.iter().filter(|(id, _)| !rows.contains(id.as_str()));
        others.map(|(id, found)| (id.clone(), notes(found, words).into_string())).collect()
    }
}

/// Whether a field can be the same in entries that are alike: each has a place and an order of its own.
fn is_alike(row: &Row<'_>) -> bool {
    let is_own = *row.field.name == *SEQUENCE || *row.field.name == *PLACE;
    !is_own && (row.planned.is_none() || row.recorded.is_none())
}

/// The fields of a group that are not on the page.
fn others<'o>(parts: &'o [Part<'_>], field: &'o Field) -> impl Iterator<Item = (&'o Record, &'o Field)> {
    let form = if let Shape::Record(form) = &field.shape { Some(&**form) } else { None };
    let is_there = |field: &Field| parts.iter().any(|part| part.field().name == field.name);
    let fields = form.into_iter().flat_map(|form| form.fields.iter().map(move |field| (form, field)));
    fields.filter(move |(_, field)| !is_there(field) && field.replaced_by.is_none())
}

/// A row as an open page needs it.
#[derive(Clone, Debug, serde::Serialize)]
pub struct RowState {
    /// Its name.
    pub id: String,
    /// What is recorded.
    pub base: String,
    /// How it is.
    pub state: &'static str,
    /// What was found, as the page shows it.
    pub notes: String,
}

/// How a row is: by its gravest note, else recorded or blank. That nothing was found is no promise that it was judged; the
/// verdict of the whole job says so.
fn state(row: &Row<'_>, found: &[&Note]) -> &'static str {
    match found.iter().map(|note| note.weight).max() {
        Some(weight @ (Weight::ToDo | Weight::Advised | Weight::Error | Weight::Held)) => weight.word(),
        _ if row.recorded.is_some() => "fine",
        _ => "blank",
    }
}

/// The limits of a field.
fn limits(row: &Row<'_>) -> Markup {
    html! {
        @if row.asked.note.is_some() || !row.asked.limits.is_empty() || !row.asked.safe.is_empty() {
            span class="limits" {
                @if let Some(note) = &row.asked.note { (clean(note)) " " }
                @for (number, (text, by)) in row.asked.limits.iter().enumerate() {
                    @if number > 0 { "; " }
                    b { (clean(text)) }
                    @if !row.asked.is_one_figure { " (" (clean(&by.join(", "))) ")" }
                }
                @for safe in &row.asked.safe { "; " (clean(safe)) }
            }
        }
    }
}

/// Cautions, with what each means.
fn given(cautions: &[String], words: Words) -> Markup {
    html! {
        @for caution in cautions {
            p class="caution" { strong { "⚠ " (clean(&words.word(caution))) } " " (clean(&words.caution(caution))) }
        }
    }
}

/// A verdict with its counts.
pub(super) fn verdict(verdict: &Verdict, faults: &[String], words: Words) -> Markup {
    let state = verdict.weight().map_or("fine", Weight::word);
    html! {
        p class="verdict" data-state=(state) {
            strong { (words.say(&format!("verdict-{state}"))) }
            @for (key, number) in verdict.counts() {
                " " span class="count" { (words.count(key, number)) }
            }
        }
        @for fault in faults { p class="locked" { (clean(fault)) } }
    }
}

/// So many notes are shown at one place; the rest are counted.
const MOST_NOTES: usize = 12;

/// Notes, the gravest first, each with its reasons to open.
pub(super) fn notes(found: &[&Note], words: Words) -> Markup {
    html! {
        @for note in found.iter().take(MOST_NOTES) {
            details class="note" data-state=(note.weight.word()) {
                summary { span class="kind" { (words.say(&format!("kind-{}", note.weight.word()))) } " " (clean(&note.message)) }
                dl {
                    @for (name, text) in note.facts.iter().filter(|(name, _)| note.is_of_use(name)) {
                        dt { (words.say(&format!("fact-{}", name.replace(' ', "-")))) } dd { (clean(text)) }
                    }
                    dt { (words.say("fact-rule")) } dd { (clean(&note.name)) }
                }
            }
        }
        @if found.len() > MOST_NOTES { p { (words.count("more-notes", (found.len() - MOST_NOTES) as u64)) } }
    }
}
