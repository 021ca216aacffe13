//! `bench`: the workshop's folder served to a browser, so that records are filled in at the vehicle.

mod answer;
mod change;
mod closing;
mod desk;
mod guard;
mod index;
mod jobs;
mod server;
mod trail;

use std::io::Write;
use std::net::{IpAddr, Ipv4Addr};
use std::path::PathBuf;
use std::sync::Arc;

use clap::Args;

use self::desk::Desk;
use self::guard::Guard;
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
        let address = IpAddr::V4(Ipv4Addr::LOCALHOST);
        let listener = std::net::TcpListener::bind((address, self.port))
            .map_err(|error| Failure(format!("cannot serve at {address}:{}: {error}", self.port)))?;
        let port = listener.local_addr().map_err(|error| Failure(error.to_string()))?.port();
        let guard = Guard::new(address, port)?;
        let link = guard.link();
        let desk = Desk::open(self.folder, self.rules, self.known)?;
        let mut out = std::io::stdout().lock();
        let told = writeln!(
            out,
            "The bench is ready. Open this link in a browser on this machine:\n\n  {link}\n\nEnd it with Ctrl+C."
        );
        told.and_then(|()| out.flush()).map_err(|error| Failure(error.to_string()))?;
        drop(out);
        server::serve(listener, Arc::new(server::Shop { desk, guard }))?;
        Ok(Exit::Clean)
    }
}
