//! `completions` and `manual`: what a package of the program installs beside it.

use std::path::PathBuf;

use clap::{Args, Command};
use clap_mangen::Man;

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
        let mut command = command.disable_help_subcommand(true);
        command.build();
        let verbs = command.get_subcommands().filter(|verb| !verb.is_hide_set()).cloned();
        for page in verbs.chain([command.clone()]).map(Man::new) {
            let mut text = Vec::new();
            page.render(&mut text)?;
            let mut sink = Sink::file(&self.folder.join(page.get_filename()), None)?;
            sink.write(&text)?;
            sink.finish()?;
        }
        Ok(Exit::Clean)
    }
}
