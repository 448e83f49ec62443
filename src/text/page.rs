//! A page of text: headings, prose and lists wrapped to the screen.

use std::io::{self, Write};

use anstyle::{AnsiColor, Style};
use textwrap::{WordSplitter, WrapAlgorithm};

use super::harmless::clean;

/// The narrowest and the widest a page is set; the screen decides in between.
const NARROWEST: usize = 40;
const WIDEST: usize = 100;

/// What is written on, and how wide it is.
///
/// Styles are written as escape sequences; the stream behind the page decides whether they pass
/// (`anstream` takes them out for a pipe, and where `NO_COLOR` is set). No meaning rests on them.
pub struct Page<'w> {
    to: &'w mut dyn Write,
    width: usize,
}

/// How a piece of text stands out. Each also reads as what it is without colour.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Tone {
    /// Ordinary text.
    Plain,
    /// The heading of a part.
    Heading,
    /// A caution: what can hurt.
    Caution,
    /// What leads, or what to do.
    Strong,
    /// Secondary detail.
    Faint,
}

impl Tone {
    fn style(self) -> Style {
        match self {
            Self::Plain => Style::new(),
            Self::Heading => Style::new().bold().underline(),
            Self::Caution => Style::new().bold().fg_color(Some(AnsiColor::Yellow.into())),
            Self::Strong => Style::new().bold(),
            Self::Faint => Style::new().dimmed(),
        }
    }
}

impl<'w> Page<'w> {
    /// A page of a width in columns.
    pub fn new(to: &'w mut dyn Write, width: usize) -> Self {
        Self {
            to,
            width: width.clamp(NARROWEST, WIDEST),
        }
    }

    /// The columns that text may take.
    pub const fn width(&self) -> usize {
        self.width
    }

    /// An empty line.
    pub fn gap(&mut self) -> io::Result<()> {
        writeln!(self.to)
    }

    /// A heading, with an empty line before it.
    pub fn heading(&mut self, text: &str) -> io::Result<()> {
        self.gap()?;
        self.text(Tone::Heading, 0, text)
    }

    /// Prose, wrapped, every line indented by `indent` columns.
    pub fn text(&mut self, tone: Tone, indent: usize, text: &str) -> io::Result<()> {
        self.item(tone, indent, "", text)
    }

    /// A list item: `mark`, then the text, its further lines under its first.
    pub fn item(&mut self, tone: Tone, indent: usize, mark: &str, text: &str) -> io::Result<()> {
        let hang = indent + textwrap::core::display_width(mark);
        let (first, further) = (" ".repeat(indent) + mark, " ".repeat(hang));
        let options = wrapping(self.width)
            .initial_indent(&first)
            .subsequent_indent(&further);
        let style = tone.style();
        for line in textwrap::wrap(&clean(text), options) {
            let text = line.trim_start();
            let margin = &line[..line.len() - text.len()];
            writeln!(self.to, "{margin}{style}{text}{style:#}")?;
        }
        Ok(())
    }

    /// A line that stands out, with something at its far end where both fit, else behind it.
    pub fn spread(&mut self, text: &str, end: &str) -> io::Result<()> {
        let (text, end) = (clean(text), clean(end));
        let wide = textwrap::core::display_width;
        let style = Tone::Strong.style();
        match self.width.checked_sub(wide(&text) + wide(&end) + 2) {
            Some(between) if !end.is_empty() => {
                let between = between + 2;
                writeln!(self.to, "{style}{text}{style:#}{:between$}{end}", "")
            }
            _ if end.is_empty() => self.text(Tone::Strong, 0, &text),
            _ => self.text(Tone::Strong, 0, &format!("{text}  ({end})")),
        }
    }

    /// A sentence of a screen: plain, indented by 2 columns.
    pub fn say(&mut self, text: &str) -> io::Result<()> {
        self.text(Tone::Plain, 2, text)
    }

    /// A sentence of a screen that stands out, indented by 2 columns.
    pub fn stress(&mut self, text: &str) -> io::Result<()> {
        self.text(Tone::Strong, 2, text)
    }

    /// A plain list item of a screen, indented by 2 columns.
    pub fn entry(&mut self, mark: &str, text: &str) -> io::Result<()> {
        self.item(Tone::Plain, 2, mark, text)
    }

    /// Lines as they are, such as a table: cleaned, not wrapped.
    pub fn lines(&mut self, indent: usize, text: &str) -> io::Result<()> {
        for line in text.lines() {
            let line = format!("{:indent$}{}", "", clean(line));
            writeln!(self.to, "{}", line.trim_end())?;
        }
        Ok(())
    }

    /// A prompt, left open at the end of the line and flushed.
    pub fn prompt(&mut self, text: &str) -> io::Result<()> {
        let style = Tone::Strong.style();
        write!(self.to, "{style}{}{style:#} ", clean(text))?;
        self.to.flush()
    }

    /// What was typed at a prompt where nobody saw it being typed: behind the prompt, wrapped as a screen would.
    pub fn echo(&mut self, prompt: &str, line: &str) -> io::Result<()> {
        let mut column = textwrap::core::display_width(prompt) + 1;
        let mut shown = String::new();
        for c in clean(line).chars() {
            let wide = textwrap::core::display_width(c.encode_utf8(&mut [0; 4]));
            if column + wide > self.width {
                shown.push('\n');
                column = 0;
            }
            column += wide;
            shown.push(c);
        }
        writeln!(self.to, "{}", shown.trim_end())
    }

    /// Flushes what was written.
    pub fn flush(&mut self) -> io::Result<()> {
        self.to.flush()
    }
}

/// How text is wrapped to a width.
pub(crate) fn wrapping<'i>(width: usize) -> textwrap::Options<'i> {
    textwrap::Options::new(width)
        // Ids and paths hold hyphens: a line must not end inside one.
        .word_splitter(WordSplitter::NoHyphenation)
        // The other algorithm of the crate lets a line run over where that makes the rest more even.
        .wrap_algorithm(WrapAlgorithm::FirstFit)
        .break_words(true)
}
