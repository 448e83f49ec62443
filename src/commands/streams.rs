//! What a command reads and writes, and the exit codes it ends with.

use std::io::{self, BufRead, Write};
use std::time::Duration;

use serde::Serialize;

use crate::record::Clock;
use crate::text::{Page, json};

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
    /// The page to write on.
    pub(super) fn page(&mut self) -> Page<'_> {
        Page::new(self.out, self.width)
    }

    /// Writes the answer of `--json`.
    pub(super) fn json(&mut self, answer: &impl Serialize) -> io::Result<()> {
        json(self.out, answer)
    }
}

/// An output whose reader may leave early, as `head` does: what nobody reads is dropped, so the command still
/// ends with the exit code it would have had.
pub(super) struct MayLeave<'w> {
    to: &'w mut dyn Write,
    /// Whether the reader may leave; otherwise that is an error.
    may: bool,
    left: bool,
}

impl<'w> MayLeave<'w> {
    pub(super) fn new(to: &'w mut dyn Write, may: bool) -> Self {
        let left = false;
        Self { to, may, left }
    }

    /// What a write gave; `instead` from when the reader has left.
    fn unless_left<T>(&mut self, instead: T, written: io::Result<T>) -> io::Result<T> {
        match written {
            Err(error) if self.may && error.kind() == io::ErrorKind::BrokenPipe => {
                self.left = true;
                Ok(instead)
            }
            written => written,
        }
    }
}

impl Write for MayLeave<'_> {
    fn write(&mut self, bytes: &[u8]) -> io::Result<usize> {
        if self.left {
            return Ok(bytes.len());
        }
        let written = self.to.write(bytes);
        self.unless_left(bytes.len(), written)
    }

    fn flush(&mut self) -> io::Result<()> {
        if self.left {
            return Ok(());
        }
        let flushed = self.to.flush();
        self.unless_left((), flushed)
    }
}
