//! The exit codes a command ends with, and an output that it outlives.

use std::io::{self, Write};

pub use crate::terminal::Streams;

/// Done as asked.
pub const DONE: u8 = 0;
/// The knowledge has findings.
pub const FINDINGS: u8 = 1;
/// The arguments or a file cannot be used.
pub const UNUSABLE: u8 = 2;

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
