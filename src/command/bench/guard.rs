//! Who is served: whoever has the link of this run, in a browser, from its own pages.

use std::collections::HashMap;
use std::net::{IpAddr, SocketAddr};
use std::sync::{Mutex, MutexGuard, PoisonError};
use std::time::{Duration, Instant};

use super::people::Person;
use crate::bench::words::Language;
use crate::command::Failure;
use crate::edition::Digest;

/// How long a session lasts: a day at work.
const LASTS: Duration = Duration::from_secs(12 * 60 * 60);

/// So many sessions are kept; the oldest ends when another begins.
const MOST_SESSIONS: usize = 200;

/// The name of the cookie.
pub(super) const COOKIE: &str = "witnessmark-bench";

/// Who may come in.
pub(super) struct Guard {
    /// The addresses by which the server is reached.
    hosts: Vec<String>,
    secret: String,
    sessions: Mutex<HashMap<String, Session>>,
}

/// A browser that has come in.
#[derive(Clone, Debug)]
pub(super) struct Session {
    /// By which a change is known to come from its own page.
    pub(super) token: String,
    /// The language that was chosen.
    pub(super) language: Option<Language>,
    /// Who has signed in.
    pub(super) person: Option<Person>,
    begun: Instant,
}

#[expect(
    clippy::disallowed_methods,
    reason = "sessions end after a time, and the clock is read in the commands"
)]
pub(super) fn now() -> Instant {
    Instant::now()
}

/// Bytes that nobody can guess.
pub(super) fn random_bytes() -> Result<[u8; 16], Failure> {
    let mut bytes = [0_u8; 16];
    getrandom::fill(&mut bytes).map_err(|error| Failure(format!("no random number can be had: {error}")))?;
    Ok(bytes)
}

/// The same in hexadecimal digits.
fn random() -> Result<String, Failure> {
    Ok(random_bytes()?.iter().map(|byte| format!("{byte:02x}")).collect())
}

impl Guard {
    pub(super) fn new(address: IpAddr, port: u16) -> Result<Guard, Failure> {
        let mut hosts = vec![SocketAddr::new(address, port).to_string()];
        if address.is_loopback() {
            hosts.push(format!("localhost:{port}"));
        }
        Ok(Guard { hosts, secret: random()?, sessions: Mutex::default() })
    }

    /// The link that lets a browser in.
    pub(super) fn link(&self) -> String {
        let host = self.hosts.first().map(String::as_str).unwrap_or_default();
        format!("http://{host}/enter/{}", self.secret)
    }

    /// Whether a request is meant for this server: another name that leads here is somebody else's page.
    pub(super) fn is_host(&self, host: &str) -> bool {
        self.hosts.iter().any(|known| known.eq_ignore_ascii_case(host))
    }

    /// Whether a page is one of this server's.
    pub(super) fn is_origin(&self, origin: &str) -> bool {
        origin.strip_prefix("http://").is_some_and(|host| self.is_host(host))
    }

    fn sessions(&self) -> MutexGuard<'_, HashMap<String, Session>> {
        self.sessions.lock().unwrap_or_else(PoisonError::into_inner)
    }

    /// Lets a browser in that has the secret; answers with its cookie.
    pub(super) fn enter(&self, secret: &str) -> Option<String> {
        let now = now();
        // Hashes tell nothing of how much of it was right. Whoever has the link comes in, whatever others try: nobody guesses it.
        if Digest::of(secret) != Digest::of(&self.secret) {
            return None;
        }
        let (cookie, token) = (random().ok()?, random().ok()?);
        let mut sessions = self.sessions();
        if sessions.len() >= MOST_SESSIONS {
            // Who has signed in is thrown out by nobody who has only the link.
            let oldest = sessions.iter().min_by_key(|(_, session)| (session.person.is_some(), session.begun));
            let oldest = oldest.map(|(key, _)| key.clone());
            oldest.and_then(|key| sessions.remove(&key));
        }
        sessions.insert(cookie.clone(), Session { token, language: None, person: None, begun: now });
        Some(cookie)
    }

    /// The session of a browser.
    pub(super) fn session(&self, cookies: &str) -> Option<Session> {
        let cookie = cookie(cookies)?;
        let mut sessions = self.sessions();
        sessions.retain(|_, session| now().duration_since(session.begun) < LASTS);
        sessions.get(cookie).cloned()
    }

    /// Notes who is at a browser, or that nobody is any more.
    pub(super) fn sign(&self, cookies: &str, person: Option<Person>) {
        let mut sessions = self.sessions();
        if let Some(session) = cookie(cookies).and_then(|cookie| sessions.get_mut(cookie)) {
            session.person = person;
        }
    }

    /// Lets a browser have its pages in a language.
    pub(super) fn speak(&self, cookies: &str, language: Language) {
        let mut sessions = self.sessions();
        if let Some(session) = cookie(cookies).and_then(|cookie| sessions.get_mut(cookie)) {
            session.language = Some(language);
        }
    }
}

fn cookie(cookies: &str) -> Option<&str> {
    let mut pairs = cookies.split(';').filter_map(|pair| pair.trim().split_once('='));
    pairs.find(|(name, _)| *name == COOKIE).map(|(_, value)| value)
}
