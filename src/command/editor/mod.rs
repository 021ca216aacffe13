//! `editor`: a language server on standard input and output.

mod frames;
mod naming;
mod open;
mod requests;
mod rule_file;
mod server;
mod texts;
mod uri;
mod workshop;

use std::io::{BufReader, stdin};
use std::sync::mpsc::{SyncSender, sync_channel};

use clap::Args;
use serde_json::Value;

use self::frames::Frame;
use self::server::Server;
use super::known::KnownFiles;
use super::{Exit, Failure, RuleOptions};
use crate::editor::protocol::{Refused, error};

/// Speaks the Language Server Protocol on standard input and output: an editor starts it, and shows what is wrong with
/// records, procedures, settings and rules while they are typed.
#[derive(Debug, Args)]
pub(super) struct Editor {
    #[command(flatten)]
    rules: RuleOptions,
    #[command(flatten)]
    known: KnownFiles,
}

/// What the server waits for.
enum Event {
    /// A message.
    Message(Value),
    /// Something that is no message.
    Broken(Refused),
    /// A workshop was opened.
    Opened(Box<texts::Opening>),
    /// A rule file was proved.
    Proved(Box<rule_file::Proof>),
    /// The editor is gone.
    End,
}

/// So many messages wait before no more are read.
const MOST_WAITING: usize = 1024;

impl Editor {
    pub(super) fn run(self) -> Result<Exit, Failure> {
        let (sender, events) = sync_channel(MOST_WAITING);
        let reader = sender.clone();
        std::thread::spawn(move || listen(&reader));
        Server::new(self.rules, self.known, sender).serve(&events)
    }
}

/// Reads messages until there are no more, or nobody waits for them.
fn listen(to: &SyncSender<Event>) {
    let mut input = BufReader::new(stdin());
    loop {
        let event = match frames::read(&mut input) {
            Ok(Frame::Body(body)) => message(&body),
            Ok(Frame::TooLong(length)) => {
                broken(format!("a message of {length} bytes is too long, and was passed over"))
            }
            Ok(Frame::Headless) => {
                broken("headers without a length that can be read were passed over".to_owned())
            }
            Ok(Frame::End) | Err(_) => Event::End,
        };
        let is_last = matches!(event, Event::End);
        if to.send(event).is_err() || is_last {
            return;
        }
    }
}

fn broken(why: String) -> Event {
    Event::Broken(Refused::new(error::INVALID_REQUEST, why))
}

fn message(body: &[u8]) -> Event {
    match serde_json::from_slice(body) {
        Ok(message) => Event::Message(message),
        Err(why) => Event::Broken(Refused::new(error::PARSE, format!("this is no JSON: {why}"))),
    }
}
