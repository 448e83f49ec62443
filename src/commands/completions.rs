//! `completions`: shell completions, generated from the arguments.

use clap::Args;
use clap_complete::Shell;

use super::{DONE, Result, Streams};
/// Print a completion script for a shell
#[derive(Debug, Args)]
pub(super) struct Completions {
    /// The shell to write for
    shell: Shell,
}

impl Completions {
    /// `program` is the whole command line.
    pub(super) fn execute(&self, program: &mut clap::Command, streams: &mut Streams<'_>) -> Result {
        // Into memory first: the generator panics where the output is closed.
        let mut text = Vec::new();
        clap_complete::generate(self.shell, program, "halfsplit", &mut text);
        streams.out.write_all(&text)?;
        Ok(DONE)
    }
}
