//! A line editor for a person at a terminal: arrow keys, history, Tab.

use std::io;

use rustyline::completion::Completer;
use rustyline::error::ReadlineError;
use rustyline::highlight::Highlighter;
use rustyline::hint::Hinter;
use rustyline::history::MemHistory;
use rustyline::validate::Validator;
use rustyline::{CompletionType, Config, Context, Editor, Helper};

use crate::terminal::Lines;

/// The keyboard of a terminal, with what was typed before.
pub struct Keyboard(Editor<Offered, MemHistory>);

impl Keyboard {
    /// The keyboard of this terminal.
    pub fn new() -> io::Result<Self> {
        let config = Config::builder()
            .completion_type(CompletionType::List)
            .auto_add_history(true)
            .build();
        let mut editor = Editor::with_history(config, MemHistory::new()).map_err(other)?;
        editor.set_helper(Some(Offered::default()));
        Ok(Self(editor))
    }
}

impl Lines for Keyboard {
    fn line(&mut self, prompt: &str, offered: Vec<String>) -> io::Result<Option<String>> {
        if let Some(helper) = self.0.helper_mut() {
            helper.0 = offered;
        }
        match self.0.readline(prompt) {
            Ok(line) => Ok(Some(line)),
            Err(ReadlineError::Eof | ReadlineError::Interrupted) => Ok(None),
            Err(error) => Err(other(error)),
        }
    }

    fn size(&mut self) -> Option<(usize, usize)> {
        let (width, height) = terminal_size::terminal_size()?;
        Some((usize::from(width.0), usize::from(height.0)))
    }
}

fn other(error: ReadlineError) -> io::Error {
    match error {
        ReadlineError::Io(error) => error,
        error => io::Error::other(error),
    }
}

/// What Tab completes to: whole lines, and words behind a first one.
#[derive(Default)]
struct Offered(Vec<String>);

impl Completer for Offered {
    type Candidate = String;

    fn complete(
        &self,
        line: &str,
        end: usize,
        _: &Context<'_>,
    ) -> rustyline::Result<(usize, Vec<String>)> {
        let typed = line[..end].to_lowercase();
        let fitting = self
            .0
            .iter()
            .filter(|offered| offered.to_lowercase().starts_with(&typed));
        Ok((0, fitting.cloned().collect()))
    }
}

impl Hinter for Offered {
    type Hint = String;
}

impl Highlighter for Offered {}
impl Validator for Offered {}
impl Helper for Offered {}
