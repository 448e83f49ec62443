//! Completions and the manual page, made from the arguments themselves.

use clap::{Args, CommandFactory};
use clap_complete::Shell;

use super::{DONE, Error, Halfsplit, Streams};

/// Write completions for a shell.
#[derive(Debug, Args)]
pub(super) struct Completions {
    /// The shell to write for
    shell: Shell,
}

impl Completions {
    pub(super) fn execute(&self, streams: &mut Streams<'_>) -> Result<u8, Error> {
        // Through memory: the generator would panic where the output is closed.
        let mut text = Vec::new();
        clap_complete::generate(
            self.shell,
            &mut Halfsplit::command(),
            "halfsplit",
            &mut text,
        );
        streams.out.write_all(&text)?;
        Ok(DONE)
    }
}

/// Write the manual page, in the format of `man`.
#[derive(Debug, Args)]
pub(super) struct ManualPage {}

impl ManualPage {
    #[allow(clippy::unused_self, reason = "every command executes alike")]
    pub(super) fn execute(&self, streams: &mut Streams<'_>) -> Result<u8, Error> {
        let mut text = Vec::new();
        clap_mangen::Man::new(Halfsplit::command()).render(&mut text)?;
        for command in Halfsplit::command().get_subcommands() {
            text.extend_from_slice(b"\n");
            clap_mangen::Man::new(command.clone()).render_options_section(&mut text)?;
        }
        streams.out.write_all(&text)?;
        Ok(DONE)
    }
}
