//! The page on which a job is closed: the verdict in full, as it is when the job is closed.

use maud::{Markup, html};

use super::notes::{Note, Verdict, Weight};
use super::page::{Frame, notes, verdict};
use super::words::Words;
use super::{clean, day::encoded};

/// What would be found of a job that is closed as it is.
pub struct ClosingPage<'c> {
    /// What is on every page.
    pub frame: &'c Frame,
    /// The name by which the server knows its record.
    pub name: &'c str,
    /// What it is called.
    pub title: &'c str,
    /// The version of its text, which is the one that would be closed.
    pub version: &'c str,
    /// What it would come to.
    pub verdict: &'c Verdict,
    /// What is wrong with rules, settings or what stands around the job, so that there is no verdict.
    pub faults: &'c [String],
    /// What would be found.
    pub notes: &'c [Note],
    /// Whether the job is closed already.
    pub is_closed: bool,
    /// Why it cannot be closed from here, where that is so.
    pub why_not: Option<&'c str>,
}

impl ClosingPage<'_> {
    /// Whether the job may be closed as it is: a run over it would not fail.
    #[must_use]
    pub fn is_fit(verdict: &Verdict) -> bool {
        verdict.weight().is_none()
    }

    /// The whole page.
    #[must_use]
    pub fn whole(&self) -> String {
        let words = Words(self.frame.language);
        let is_fit = self.why_not.is_none() && ClosingPage::is_fit(self.verdict);
        let key = match () {
            () if self.is_closed => "closed",
            () if is_fit => "close-fine",
            () => "close-held",
        };
        let body = html! {
            header class="top" {
                (self.frame.corner())
                h1 { (words.say("close")) " · " (clean(self.title)) }
                div id="verdict" role="status" { (verdict(self.verdict, self.faults, words)) }
            }
            main id="main" {
                p { (words.say(key)) }
                @if let Some(why) = self.why_not { p class="locked" { (clean(why)) } }
                div class="actions" {
                    a class="button" href={ "/job?job=" (encoded(self.name)) } { (words.say("back")) }
                    a class="button" href={ "/print?job=" (encoded(self.name)) } { (words.say("print")) }
                    @if self.is_closed { @if self.frame.is_foreman { (self.form("/open", "open-again", words)) } }
                    @else if is_fit { (self.form("/close", "close-now", words)) }
                }
                (self.findings(words))
            }
        };
        self.frame.page(&words.say("close"), &body)
    }

    fn form(&self, path: &str, key: &str, words: Words) -> Markup {
        html! {
            form method="post" action=(path) {
                input type="hidden" name="token" value=(self.frame.token);
                input type="hidden" name="job" value=(self.name);
                input type="hidden" name="version" value=(self.version);
                button { (words.say(key)) }
            }
        }
    }

    fn findings(&self, words: Words) -> Markup {
        html! {
            @for note in self.notes {
                section class="finding" {
                    h2 { (words.say(&format!("kind-{}", note.weight.word()))) }
                    (notes(&[note], words))
                    @if !self.is_closed && note.weight == Weight::Held && !note.granted_by.is_empty() {
                        @if self.frame.is_foreman { (self.concession(note, words)) } @else { p { (words.say("foreman-grants")) } }
                    }
                }
            }
        }
    }

    /// The form by which somebody whom the rule names lets a finding stand.
    fn concession(&self, note: &Note, words: Words) -> Markup {
        html! {
            details {
                summary { (words.say("concede")) }
                form class="new" method="post" action="/concede" {
                    input type="hidden" name="token" value=(self.frame.token);
                    input type="hidden" name="job" value=(self.name);
                    input type="hidden" name="rule" value=(note.name);
                    input type="hidden" name="place" value=(note.path);
                    label { (words.say("granted-by")) select name="granted_by" {
                        @for role in &note.granted_by { option { (clean(role)) } }
                    } }
                    @if self.frame.person.is_empty() {
                        label { (words.say("granted-name")) input name="name" required maxlength="80" autocomplete="off"; }
                    }
                    label { (words.say("granted-reason")) input name="reason" required maxlength="400" autocomplete="off"; }
                    button { (words.say("grant")) }
                }
            }
        }
    }
}
