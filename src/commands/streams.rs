//! What a command reads and writes, and the exit codes it ends with.

use std::io::{self, BufRead, Write};
use std::time::Duration;

use serde::Serialize;

use crate::record::Clock;
use crate::text::json;

/// Done as asked.
pub const DONE: u8 = 0;
/// The knowledge has findings.
pub const FINDINGS: u8 = 1;
/// The arguments or a file cannot be used.
pub const UNUSABLE: u8 = 2;

/// Where a command reads and writes, and its clock.
pub struct Streams<'s> {
    /// The output.
    pub out: &'s mut dyn Write,
    /// Errors, notices and progress.
    pub err: &'s mut dyn Write,
    /// What is typed.
    pub input: &'s mut dyn BufRead,
    /// Whether a person types the input and reads the output.
    pub interactive: bool,
    /// The width of the screen in columns.
    pub width: usize,
    /// The clock.
    pub clock: Clock,
    /// Waits for at most this long; tells whether a line was typed before that.
    pub pause: &'s mut dyn FnMut(Duration) -> bool,
}

impl Streams<'_> {
    /// Writes the answer of `--json`.
    pub(super) fn json(&mut self, answer: &impl Serialize) -> io::Result<()> {
        json(self.out, answer)
    }
}

/// An output whose reader may leave early, as `head` does: what nobody reads is dropped, so the command still
/// ends with the exit code it would have had.
pub(super) struct MayLeave<'w> {
    to: &'w mut dyn Write,
    left: bool,
}

impl<'w> MayLeave<'w> {
    pub(super) fn new(to: &'w mut dyn Write) -> Self {
        Self { to, left: false }
    }

    /// What `write` gives; `instead` from when the reader has left.
    fn unless_left<T>(
        &mut self,
        instead: T,
        write: impl FnOnce(&mut dyn Write) -> io::Result<T>,
    ) -> io::Result<T> {
        if self.left {
            return Ok(instead);
        }
        match write(self.to) {
            Err(error) if error.kind() == io::ErrorKind::BrokenPipe => {
                self.left = true;
                Ok(instead)
            }
            written => written,
        }
    }
}

impl Write for MayLeave<'_> {
    fn write(&mut self, bytes: &[u8]) -> io::Result<usize> {
        self.unless_left(bytes.len(), |to| to.write(bytes))
    }

    fn flush(&mut self) -> io::Result<()> {
        self.unless_left((), |to| to.flush())
    }
}
