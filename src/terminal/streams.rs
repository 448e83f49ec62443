//! Lines in, pages out.

use std::io::{self, BufRead, Read, Write};
use std::path::PathBuf;
use std::time::Duration;

use serde::Serialize;

use super::pages::Room;
use crate::record::Clock;
use crate::text::{Page, Tone, clean, json};

/// The longest line that is read as an answer, in bytes.
const LONGEST_LINE: u64 = 1 << 16;

/// A line editor.
pub trait Lines {
    /// Reads a line behind a prompt; none at the end of the input, or where it is broken off. Tab completes to what is
    /// `offered`.
    fn line(&mut self, prompt: &str, offered: Vec<String>) -> io::Result<Option<String>>;

    /// The columns and the lines of the screen now, where they are known.
    fn size(&mut self) -> Option<(usize, usize)>;
}

/// A person at a prompt, or a script in their place: what is read and written, and the time.
pub struct Streams<'s> {
    /// The output.
    pub out: &'s mut dyn Write,
    /// Errors, notices and progress.
    pub err: &'s mut dyn Write,
    /// What is typed.
    pub input: &'s mut dyn BufRead,
    /// The line editor of a person at a terminal; without one, lines are read as they come.
    pub editor: Option<&'s mut dyn Lines>,
    /// Whether a person reads the screen and types.
    pub interactive: bool,
    /// The columns of the screen.
    pub width: usize,
    /// The lines of the screen, where that is known.
    pub height: Option<usize>,
    /// What time it is.
    pub clock: Clock,
    /// The file of the shop's profile that is used where no option names one.
    pub shop: Option<PathBuf>,
    /// The file in which it is kept what the columns of recordings are, where no option names one.
    pub mappings: Option<PathBuf>,
    /// Lets time pass, at most so long; tells whether a line waits to be read before that.
    pub pause: &'s mut dyn FnMut(Duration) -> bool,
}

impl Streams<'_> {
    /// The page to write on.
    pub fn page(&mut self) -> Page<'_> {
        Page::new(self.out, self.width)
    }

    /// What the screen holds; without a person at it, any number of lines.
    pub(super) fn room(&self) -> Room {
        Room {
            width: self.width,
            height: self.height.filter(|_| self.interactive),
        }
    }

    /// Shows something long, a screen at a time where a person reads it; any word leaves the rest.
    pub fn show<E: From<io::Error>>(
        &mut self,
        write: impl FnOnce(&mut Page<'_>) -> Result<(), E>,
    ) -> Result<(), E> {
        let mut text = Vec::new();
        let written = write(&mut Page::new(&mut text, self.width));
        let pages = self.room().cut(&String::from_utf8_lossy(&text));
        for (place, page) in pages.iter().enumerate() {
            if place > 0
                && self
                    .hear("Enter: more >")?
                    .is_none_or(|line| !line.trim().is_empty())
            {
                break;
            }
            self.out.write_all(page.as_bytes())?;
        }
        written
    }

    /// Writes the answer of `--json`.
    pub fn json(&mut self, answer: &impl Serialize) -> io::Result<()> {
        json(self.out, answer)
    }

    /// Prompts for a line; none at the end of the input. Where nobody sees it being typed, the line is shown.
    ///
    /// A line longer than any answer is read to its end and cut, and bytes that are no text become the replacement
    /// character: what reads the line then says what is wrong with it.
    pub fn hear(&mut self, prompt: &str) -> io::Result<Option<String>> {
        self.hear_of(prompt, Vec::new())
    }

    /// As [`Self::hear`], where these lines can be completed to.
    pub fn hear_of(&mut self, prompt: &str, offered: Vec<String>) -> io::Result<Option<String>> {
        if let Some(editor) = &mut self.editor {
            self.out.flush()?;
            let line = editor.line(&format!("{} ", clean(prompt)), offered);
            // What comes next fits the screen as it is now.
            if let Some((width, height)) = editor.size() {
                self.width = width;
                self.height = Some(height);
            }
            return line;
        }
        self.page().prompt(prompt)?;
        let mut bytes = Vec::new();
        let read = (&mut *self.input)
            .take(LONGEST_LINE)
            .read_until(b'\n', &mut bytes)?;
        if read == 0 {
            writeln!(self.out)?;
            return Ok(None);
        }
        let mut cut = false;
        if bytes.last() != Some(&b'\n') {
            // Too long, or the last line of the input: what follows up to the line's end is passed over.
            cut = self.input.skip_until(b'\n')? > 0;
        }
        let line = String::from_utf8_lossy(&bytes);
        let line = line.trim_end_matches(['\n', '\r']).to_owned();
        if !self.interactive {
            self.page().echo(prompt, &line)?;
        }
        if cut {
            let text = format!(
                "That line is too long: what is behind its first {LONGEST_LINE} bytes is not kept."
            );
            self.page().text(Tone::Plain, 2, &text)?;
        }
        Ok(Some(line))
    }
}
