//! `completions` and `manual`: what a package of the program installs beside it.

use std::path::PathBuf;

use clap::{Args, Command};

use super::output::Sink;
use super::{Exit, Failure};

/// Prints completions for a shell.
#[derive(Debug, Args)]
pub(super) struct Completions {
    /// The shell.
    #[arg(value_name = "SHELL")]
    shell: clap_complete::Shell,
}

impl Completions {
    pub(super) fn run(self, command: &mut Command) -> Result<Exit, Failure> {
        let mut script = Vec::new();
        clap_complete::generate(self.shell, command, "witnessmark", &mut script);
        let mut sink = Sink::exact();
        sink.write(&script)?;
        sink.finish()?;
        Ok(Exit::Clean)
    }
}

/// Writes the manual pages, one for the program and one for each verb.
#[derive(Debug, Args)]
pub(super) struct Manual {
    /// The folder to write them into; it must exist.
    #[arg(value_name = "FOLDER")]
    folder: PathBuf,
}

impl Manual {
    pub(super) fn run(self, command: Command) -> Result<Exit, Failure> {
        clap_mangen::generate_to(command, &self.folder)
            .map_err(|error| Failure(format!("cannot write into `{}`: {error}", self.folder.display())))?;
        Ok(Exit::Clean)
    }
}
