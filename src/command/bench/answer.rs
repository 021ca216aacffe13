//! What is asked and what is answered.

use std::borrow::Cow;
use std::collections::HashSet;

use hyper::StatusCode;
use hyper::header::{CACHE_CONTROL, HeaderName, LOCATION, SET_COOKIE};

use super::guard::{COOKIE, Session};
use super::people::{NotIn, Role};
use super::server::Shop;
use crate::bench::assets;
use crate::bench::day::encoded;
use crate::bench::page::{Frame, sign_in};
use crate::bench::words::{Language, Words};

const HTML: &str = "text/html; charset=utf-8";
const JSON: &str = "application/json";
const PLAIN: &str = "text/plain; charset=utf-8";

/// The longest body that is read.
const LONGEST_BODY: usize = 256 * 1024;

/// The longest photograph that is taken; the page sends them smaller.
const LONGEST_PHOTOGRAPH: usize = 8 * 1024 * 1024;

/// So many fields are added to a page by hand.
const MOST_ALSO: usize = 64;

/// A request, read whole.
#[derive(Debug)]
pub(super) struct Ask {
    pub(super) is_post: bool,
    pub(super) path: String,
    pub(super) query: String,
    pub(super) cookies: String,
    pub(super) token: String,
    pub(super) languages: String,
    pub(super) body: Vec<u8>,
}

/// An answer.
#[derive(Debug)]
pub(super) struct Answer {
    pub(super) status: StatusCode,
    pub(super) kind: &'static str,
    pub(super) body: Vec<u8>,
    pub(super) headers: Vec<(HeaderName, String)>,
}

impl Answer {
    pub(super) fn of(kind: &'static str, body: impl Into<Vec<u8>>) -> Answer {
        Answer { status: StatusCode::OK, kind, body: body.into(), headers: Vec::new() }
    }

    pub(super) fn page(body: String) -> Answer {
        Answer::of(HTML, body)
    }

    pub(super) fn json(value: &impl serde::Serialize) -> Answer {
        match serde_json::to_vec(value) {
            Ok(body) => Answer::of(JSON, body),
            Err(_) => Answer::refused(StatusCode::INTERNAL_SERVER_ERROR, "internal error"),
        }
    }

    pub(super) fn refused(status: StatusCode, why: &str) -> Answer {
        Answer { status, ..Answer::of(PLAIN, why) }
    }

    pub(super) fn unchanged() -> Answer {
        Answer { status: StatusCode::NO_CONTENT, ..Answer::of(PLAIN, "") }
    }

    pub(super) fn to(path: &str) -> Answer {
        let headers = vec![(LOCATION, path.to_owned())];
        Answer { status: StatusCode::SEE_OTHER, headers, ..Answer::of(PLAIN, "") }
    }
}

impl Ask {
    /// What was asked for in the address or, by a form that was sent, in its body.
    fn fields(&self) -> Cow<'_, str> {
        match self.is_post && self.path != PHOTO {
            true => String::from_utf8_lossy(&self.body),
            false => Cow::Borrowed(&self.query),
        }
    }

    /// A value of the query or, for a form that was sent, of its body.
    pub(super) fn value(&self, name: &str) -> Option<String> {
        let fields = self.fields();
        pairs(&fields).find(|(key, _)| *key == name).map(|(_, value)| decoded(value))
    }

    /// Whether one name has two values: nobody knows then which of them is meant.
    fn says_one_twice(&self) -> bool {
        let is_data = self.is_post && self.path != PHOTO && DATA.contains(&self.path.as_str());
        let (fields, mut names) = (self.fields(), HashSet::new());
        !is_data && pairs(&fields).any(|(name, _)| !name.is_empty() && !names.insert(name))
    }
}

/// The path by which photographs come and go; what is sent to it is one.
pub(super) const PHOTO: &str = "/photo";

/// The paths by which pages ask for data.
const DATA: [&str; 5] = ["/state", "/part", "/change", "/try", PHOTO];

fn pairs(fields: &str) -> impl Iterator<Item = (&str, &str)> {
    fields.split('&').map(|pair| pair.split_once('=').unwrap_or((pair, "")))
}

/// A text of a form as it was entered.
fn decoded(text: &str) -> String {
    let mut bytes = Vec::with_capacity(text.len());
    let mut rest = text.as_bytes();
    while let Some((byte, behind)) = rest.split_first() {
        rest = behind;
        match byte {
            b'+' => bytes.push(b' '),
            b'%' => match behind.split_at_checked(2).and_then(|(digits, behind)| {
                Some((u8::from_str_radix(std::str::from_utf8(digits).ok()?, 16).ok()?, behind))
            }) {
                Some((byte, behind)) => {
                    bytes.push(byte);
                    rest = behind;
                }
                None => bytes.push(b'%'),
            },
            other => bytes.push(*other),
        }
    }
    String::from_utf8_lossy(&bytes).into_owned()
}

impl Shop {
    /// Answers a request that comes from a page of this server, or from the bar of a browser.
    pub(super) fn answer(&self, ask: &Ask) -> Answer {
        if let Some(asset) = ask.path.strip_prefix("/assets/").and_then(assets::named) {
            // Its address says what is in it.
            let headers = vec![(CACHE_CONTROL, "private, max-age=31536000, immutable".to_owned())];
            return Answer { headers, ..Answer::of(asset.kind, asset.text) };
        }
        if let Some(secret) = ask.path.strip_prefix("/enter/") {
            return self.enter(secret, ask);
        }
        let Some(session) = self.guard.session(&ask.cookies) else {
            let words = Words(Language::wanted(&ask.languages));
            return Answer::refused(StatusCode::UNAUTHORIZED, &words.say("link-old"));
        };
        let language = session.language.unwrap_or_else(|| Language::wanted(&ask.languages));
        let is_ours = || {
            let in_form = || ask.value("token").is_some_and(|token| token == session.token);
            ask.token == session.token || in_form()
        };
        if ask.is_post && !is_ours() {
            return Answer::refused(StatusCode::FORBIDDEN, &Words(language).say("bad-request"));
        }
        let words = Words(language);
        if ask.says_one_twice() {
            return Answer::refused(StatusCode::BAD_REQUEST, &words.say("bad-request"));
        }
        let person = session.person.as_ref();
        let called = person.map(|person| format!("{} ({})", person.name, words.say(person.role.key())));
        let (token, person_called) = (session.token.clone(), called.unwrap_or_default());
        let is_foreman = self.is_foreman(&session);
        let frame = Frame { language, token, person: person_called, is_foreman };
        if person.is_none() && !self.people.is_empty() && ask.path != "/language" {
            return self.signing_in(ask, &frame);
        }
        self.page(ask, &frame, &session)
    }

    /// The page on which people sign in, and what they answer there.
    fn signing_in(&self, ask: &Ask, frame: &Frame) -> Answer {
        let names: Vec<&str> = self.people.names().collect();
        if !(ask.is_post && ask.path == "/sign-in") {
            // A page that is open asks for data, and is sent to the first one.
            let is_data = DATA.contains(&ask.path.as_str());
            let page = Answer::page(sign_in(frame, &names, None));
            return if is_data { Answer { status: StatusCode::UNAUTHORIZED, ..page } } else { page };
        }
        let (name, pin) = (ask.value("name").unwrap_or_default(), ask.value("pin").unwrap_or_default());
        match self.people.sign_in(&name, &pin) {
            Ok(person) => {
                self.guard.sign(&ask.cookies, Some(person));
                Answer::to("/")
            }
            Err(why) => {
                let key = if why == NotIn::Wrong { "enter-wrong" } else { "enter-slow" };
                let page = Answer::page(sign_in(frame, &names, Some(key)));
                Answer { status: StatusCode::FORBIDDEN, ..page }
            }
        }
    }

    /// How long the body of a request may be. Only who may write in a record sends photographs.
    pub(super) fn longest_body(&self, path: &str, cookies: &str) -> usize {
        let may_write = |session: Session| self.people.is_empty() || session.person.is_some();
        match path == PHOTO && self.guard.session(cookies).is_some_and(may_write) {
            true => LONGEST_PHOTOGRAPH,
            false => LONGEST_BODY,
        }
    }

    /// Whether somebody may do what only a foreman may; where nobody signs in, whoever has the link may.
    fn is_foreman(&self, session: &Session) -> bool {
        self.people.is_empty() || session.person.as_ref().is_some_and(|person| person.role == Role::Foreman)
    }

    fn enter(&self, secret: &str, ask: &Ask) -> Answer {
        let Some(cookie) = self.guard.enter(secret) else {
            let words = Words(Language::wanted(&ask.languages));
            return Answer::refused(StatusCode::FORBIDDEN, &words.say("link-old"));
        };
        let mut answer = Answer::to("/");
        answer.headers.push((
            SET_COOKIE,
            format!("{COOKIE}={cookie}; Path=/; HttpOnly; SameSite=Strict; Max-Age=43200"),
        ));
        answer
    }

    fn page(&self, ask: &Ask, frame: &Frame, session: &Session) -> Answer {
        let job = || ask.value("job").unwrap_or_default();
        let also = || {
            let names = ask.value("also").unwrap_or_default();
            names.lines().take(MOST_ALSO).map(str::to_owned).collect::<Vec<String>>()
        };
        match (ask.is_post, ask.path.as_str()) {
            (false, "/") => Answer::page(self.desk.day(frame, &ask.value("q").unwrap_or_default())),
            (false, "/job") => self.desk.job_page(frame, &job()),
            (false, "/part") => self.desk.job_part(frame, &job(), &also()),
            (false, "/state") => {
                self.desk.state(frame, &job(), &ask.value("since").unwrap_or_default(), &also())
            }
            (false, "/language") => {
                let language = ask.value("to").as_deref().and_then(Language::tagged);
                language.into_iter().for_each(|language| self.guard.speak(&ask.cookies, language));
                Answer::to("/")
            }
            (true, "/change") => self.desk.change(frame, &ask.body),
            (true, "/try") => self.desk.attempt(frame, &ask.body),
            (false, PHOTO) => self.desk.photograph(frame, &job(), &ask.value("number").unwrap_or_default()),
            (true, PHOTO) => self.desk.add_photograph(frame, &job(), &ask.body),
            (false, "/close") => self.desk.closing_page(frame, &job()),
            (false, "/print") => self.desk.print(frame, &job()),
            (true, "/close") => self.desk.close(frame, &job(), &ask.value("version").unwrap_or_default()),
            (true, "/sign-out") => {
                self.guard.sign(&ask.cookies, None);
                Answer::to("/")
            }
            (true, "/open" | "/concede") if !self.is_foreman(session) => {
                Answer::refused(StatusCode::FORBIDDEN, &Words(frame.language).say("not-allowed"))
            }
            (true, "/open") => self.desk.open_again(frame, &job()),
            (true, "/concede") => {
                let value = |name: &str| ask.value(name).unwrap_or_default();
                let [rule, place, by] = ["rule", "place", "granted_by"].map(value);
                let [reason, entered] = ["reason", "name"].map(value);
                // Whoever is signed in grants it in his own name.
                let name = session.person.as_ref().map_or(entered, |person| person.name.clone());
                self.desk.concede(
                    frame,
                    &job(),
                    &super::closing::Concession { rule, place, by, reason, name },
                )
            }
            (true, "/new") => {
                let (number, procedure) = (ask.value("number"), ask.value("procedure"));
                match self.desk.begin(frame, &number.unwrap_or_default(), &procedure.unwrap_or_default()) {
                    Ok(name) => Answer::to(&format!("/job?job={}", encoded(&name))),
                    Err(why) => Answer::refused(StatusCode::CONFLICT, &why),
                }
            }
            _ => Answer::refused(StatusCode::NOT_FOUND, &Words(frame.language).say("gone")),
        }
    }
}
