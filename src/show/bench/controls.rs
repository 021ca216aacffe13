//! What a field is filled in with: large buttons for words, a numeric keyboard with the unit beside it, the time of now.

use maud::{Markup, html};

use super::rows::Row;
use super::words::Words;
use super::{clean, clean_lines};
use crate::document::link::Target;
use crate::document::{Record, Shape};
use crate::quantity::{Kind, UNITS};
use crate::session::ToolInUse;

/// So many words are buttons; more are a list.
const MOST_BUTTONS: usize = 8;

/// How many units are offered.
const MOST_UNITS: usize = 6;

/// What a control needs to know.
pub struct Controls<'c> {
    /// The texts.
    pub words: Words,
    /// The tools of the register.
    pub tools: &'c [ToolInUse],
    /// Whether nothing can be written.
    pub is_locked: bool,
}

impl Controls<'_> {
    /// The control of a row; `name` is the identity of its element in the page.
    #[must_use]
    pub fn of(&self, row: &Row<'_>, name: &str) -> Markup {
        match &row.field.shape {
            Shape::Truth => self.buttons(row, &["yes", "no"]),
            Shape::Word(words) if words.len() <= MOST_BUTTONS => {
                self.buttons(row, &words.iter().map(|word| &**word).collect::<Vec<_>>())
            }
            Shape::Word(words) => self.list(row, name, &words.iter().map(|word| &**word).collect::<Vec<_>>()),
            Shape::Quantity(kind) => self.quantity(row, name, *kind),
            Shape::Count | Shape::Number => html! { (self.input(row, name, row.base(), "numeric")) },
            Shape::Moment => self.with_button(row, name, "now"),
            Shape::Day => self.with_button(row, name, "today"),
            Shape::List(_) => self.with_button(row, name, "none"),
            Shape::Text if is_tool(row.form, &row.field.name) && !self.tools.is_empty() => {
                self.tool(row, name)
            }
            _ if row.field.free || row.base().contains('\n') => html! {
                textarea id=(name) data-in disabled[self.is_locked] rows="2" { (clean_lines(row.base())) }
            },
            _ => html! {
                (self.input(row, name, row.base(), "text"))
                @if let Some(planned) = row.planned.as_deref().filter(|planned| *planned != row.base()) {
                    (self.say(planned, planned, false))
                }
            },
        }
    }

    fn input(&self, _row: &Row<'_>, name: &str, value: &str, mode: &str) -> Markup {
        html! {
            input id=(name) data-in type="text" inputmode=(mode) autocomplete="off"
                value=(clean(value)) disabled[self.is_locked];
        }
    }

    /// A button that fills in a text.
    fn say(&self, text: &str, shown: &str, is_pressed: bool) -> Markup {
        html! {
            button type="button" data-say=(clean(text)) aria-pressed=(is_pressed) disabled[self.is_locked] {
                (clean(shown))
            }
        }
    }

    fn buttons(&self, row: &Row<'_>, words: &[&str]) -> Markup {
        let is_known = row.base().is_empty() || words.contains(&row.base());
        html! {
            span class="say" {
                @for word in words {
                    (self.say(word, &self.words.word(word), row.base() == *word))
                }
                @if !is_known { (self.say(row.base(), row.base(), true)) }
            }
        }
    }

    fn list(&self, row: &Row<'_>, name: &str, words: &[&str]) -> Markup {
        let is_known = row.base().is_empty() || words.contains(&row.base());
        html! {
            select id=(name) data-in disabled[self.is_locked] {
                option value="" {}
                @if !is_known { option value=(clean(row.base())) selected { (clean(row.base())) } }
                @for word in words {
                    option value=(*word) selected[row.base() == *word] { (clean(&self.words.word(word))) }
                }
            }
        }
    }

    fn quantity(&self, row: &Row<'_>, name: &str, kind: Kind) -> Markup {
        let units = units(row, kind);
        let (figure, unit) = parted(row.base(), &units);
        let unit = unit.or(units.first().copied()).unwrap_or_default();
        html! {
            (self.input(row, name, figure, "decimal"))
            @if units.len() > 1 {
                select data-unit aria-label=(self.words.say("unit")) disabled[self.is_locked] {
                    @for one in &units { option selected[*one == unit] { (one) } }
                }
            } @else {
                span class="unit" data-unit=(unit) { (unit) }
            }
            @if Kind::named("duration").is_some_and(|duration| duration == kind) {
                button type="button" data-watch disabled[self.is_locked] { (self.words.say("stop-watch")) }
            }
        }
    }

    fn with_button(&self, row: &Row<'_>, name: &str, what: &'static str) -> Markup {
        html! {
            (self.input(row, name, row.base(), "text"))
            button type="button" data-fill=(what) disabled[self.is_locked] { (self.words.say(what)) }
        }
    }

    fn tool(&self, row: &Row<'_>, name: &str) -> Markup {
        let is_known = row.base().is_empty() || self.tools.iter().any(|tool| tool.number == row.base());
        let measured: Vec<&str> =
            row.form.fields.iter().filter_map(|field| field.measured.as_deref()).collect();
        let mut tools: Vec<&ToolInUse> = self.tools.iter().collect();
        // Those first that measure what is measured here and may be used.
        tools.sort_by_key(|tool| {
            let measures = tool.measures.iter().any(|what| measured.contains(&what.as_str()));
            (tool.is_withdrawn, !measures)
        });
        html! {
            select id=(name) data-in disabled[self.is_locked] {
                option value="" {}
                @if !is_known { option value=(clean(row.base())) selected { (clean(row.base())) } }
                @for tool in tools {
                    option value=(clean(&tool.number)) selected[tool.number == row.base()] {
                        (clean(&tool.number)) " " (clean(&tool.kind)) " " (clean(&tool.covered))
                        @if let Some(day) = tool.calibrated { ", " (self.words.say("tool-calibrated")) " " (day.to_string()) }
                        @if tool.is_withdrawn { " – " (self.words.say("tool-withdrawn")) }
                    }
                }
            }
        }
    }
}

/// Whether the control of a field is a group of buttons.
#[must_use]
pub fn has_buttons(shape: &Shape) -> bool {
    match shape {
        Shape::Truth => true,
        Shape::Word(words) => words.len() <= MOST_BUTTONS,
        _ => false,
    }
}

/// Whether a field names a tool of the register.
fn is_tool(form: &Record, name: &str) -> bool {
    let to_tools = form.links.iter().filter(|link| matches!(link.to, Target::InRegister(_)));
    to_tools.into_iter().any(|link| link.by.first().is_some_and(|(own, _)| **own == *name))
}

/// The units of a kind, that of the limits first.
fn units(row: &Row<'_>, kind: Kind) -> Vec<&'static str> {
    let fitting = UNITS.iter().filter(|unit| unit.kind() == kind).map(|unit| unit.symbol);
    let mut units: Vec<&'static str> = fitting.collect();
    let wanted = row.asked.unit.unwrap_or_default();
    units.sort_by_key(|unit| *unit != wanted);
    units.truncate(MOST_UNITS);
    units
}

/// A recorded quantity as figure and unit; whole where it is anything else.
fn parted<'t>(recorded: &'t str, units: &[&'static str]) -> (&'t str, Option<&'static str>) {
    let (figure, unit) = recorded.split_once(' ').unwrap_or((recorded, ""));
    match units.iter().find(|known| **known == unit) {
        Some(known) if figure.chars().all(|c| c.is_ascii_digit() || ".,-−+".contains(c)) => {
            (figure, Some(known))
        }
        _ => (recorded, None),
    }
}
