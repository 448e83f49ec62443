//! `manual`: the manual page, generated from the arguments.

use clap_mangen::Man;

use super::{DONE, Result, Streams};
/// Writes the manual page of `program`, the whole command line, in the format of `man`.
pub(super) fn execute(program: clap::Command, streams: &mut Streams<'_>) -> Result {
    let mut text = Vec::new();
    let commands: Vec<_> = program.get_subcommands().cloned().collect();
    Man::new(program).render(&mut text)?;
    for command in commands {
        text.push(b'\n');
        Man::new(command).render_options_section(&mut text)?;
    }
    streams.out.write_all(&text)?;
    Ok(DONE)
}
