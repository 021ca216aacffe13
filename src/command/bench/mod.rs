//! `bench`: the workshop's folder served to a browser, so that records are filled in at the vehicle.

mod answer;
mod change;
mod closing;
mod desk;
mod guard;
mod index;
mod jobs;
mod numbers;
mod people;
mod photo;
mod places;
mod server;
mod trail;

use std::io::Write;
use std::net::{IpAddr, Ipv4Addr};
use std::path::PathBuf;
use std::sync::Arc;

use clap::Args;
use qrcodegen::{QrCode, QrCodeEcc};

use self::desk::Desk;
use self::guard::Guard;
use self::people::{People, Role};
use self::places::Asked;
use super::known::KnownFiles;
use super::{Exit, Failure, RuleOptions};

/// Serves a folder of records to a browser on this machine: the jobs of the day, and a page for each job to fill it in,
/// judged at each key. Nothing is loaded from outside, and nobody else is served unless `--network` says so.
#[derive(Debug, Args)]
pub(super) struct Bench {
    /// The workshop's folder.
    #[arg(value_name = "FOLDER")]
    folder: PathBuf,
    /// The port to serve at; 0 takes any that is free.
    #[arg(long, value_name = "PORT", default_value_t = 4810)]
    port: u16,
    /// Serve the workshop's network instead of this machine alone, at this address of this machine. Needs people, who sign in
    /// with their PINs. What goes over the network is not encrypted: use one that you trust.
    #[arg(long, value_name = "ADDRESS")]
    network: Option<IpAddr>,
    /// Give this person a new PIN, which is shown once, and end.
    #[arg(long, value_name = "NAME")]
    person: Option<String>,
    /// What that person may do: a foreman also lets findings stand and opens closed jobs again.
    #[arg(long, value_name = "ROLE", default_value = "technician", requires = "person")]
    role: Role,
    #[command(flatten)]
    rules: RuleOptions,
    #[command(flatten)]
    known: KnownFiles,
}

impl Bench {
    pub(super) fn run(self) -> Result<Exit, Failure> {
        if !self.folder.is_dir() {
            return Err(Failure(format!("`{}` is no folder", self.folder.display())));
        }
        if let Some(name) = &self.person {
            return people::add(&self.folder, name, self.role);
        }
        let people = People::read(&self.folder)?;
        if self.network.is_some() && people.is_empty() {
            let why = "nobody can sign in yet; add people first with `--person NAME --role foreman`, then serve the network";
            return Err(Failure(why.to_owned()));
        }
        if self.network.is_some_and(|address| address.is_unspecified()) {
            let why = "tablets need an address to come to: name the one that this machine has in the workshop's network";
            return Err(Failure(why.to_owned()));
        }
        let address = self.network.unwrap_or(IpAddr::V4(Ipv4Addr::LOCALHOST));
        let listener = std::net::TcpListener::bind((address, self.port))
            .map_err(|error| Failure(format!("cannot serve at {address}:{}: {error}", self.port)))?;
        let port = listener.local_addr().map_err(|error| Failure(error.to_string()))?.port();
        let guard = Guard::new(address, port)?;
        let link = guard.link();
        let (place, code) = match self.network {
            Some(_) => ("in the workshop's network", drawn(&link)),
            None => ("on this machine", String::new()),
        };
        let desk = Desk::open(self.folder, self.rules, self.known)?;
        let mut out = std::io::stdout().lock();
        let told = writeln!(
            out,
            "The bench is ready. Open this link in a browser {place}:\n\n  {link}\n\n{code}End it with Ctrl+C."
        );
        told.and_then(|()| out.flush()).map_err(|error| Failure(error.to_string()))?;
        drop(out);
        server::serve(
            listener,
            Arc::new(server::Shop { desk, guard, people, asked: self.network.map(|_| Asked::default()) }),
        )?;
        Ok(Exit::Clean)
    }
}

/// A link as a code that the camera of a tablet reads, two rows in a line. Light on dark and dark on light are both read.
fn drawn(link: &str) -> String {
    let Ok(code) = QrCode::encode_text(link, QrCodeEcc::Low) else { return String::new() };
    let (size, border) = (code.size(), 2);
    let mut drawn = String::new();
    for y in (-border..size + border).step_by(2) {
        drawn.push_str("  ");
        for x in -border..size + border {
            // The paper is drawn and the ink left out, for a dark screen.
            drawn.push(match (!code.get_module(x, y), !code.get_module(x, y + 1)) {
                (true, true) => '█',
                (true, false) => '▀',
                (false, true) => '▄',
                (false, false) => ' ',
            });
        }
        drawn.push('\n');
    }
    drawn.push('\n');
    drawn
}
