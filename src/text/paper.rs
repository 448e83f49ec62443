//! A report that is read on the screen and as a Markdown file.

use std::io::{self, Write};

use tabled::builder::Builder;
use tabled::settings::object::Columns;
use tabled::settings::{Alignment, Style};

use super::harmless::clean;
use super::page::{Page, Tone};
use super::table::table;

/// A piece of a report.
#[derive(Clone, Debug, PartialEq)]
pub(super) enum Piece {
    Title(String),
    Heading(String),
    Text(String),
    Item(String),
    Verbatim(String),
    Picture {
        what: String,
        file: String,
    },
    Table {
        header: Vec<&'static str>,
        rows: Vec<Vec<String>>,
        /// The columns set flush right.
        figures: Vec<usize>,
    },
}

/// A column of a table of things: its heading, and what its cells say of a thing.
pub type Column<T> = (&'static str, fn(&T) -> String);

/// A report, piece after piece.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Paper(pub(super) Vec<Piece>);

impl Paper {
    /// The heading of a large part.
    pub fn title(&mut self, text: impl Into<String>) {
        self.0.push(Piece::Title(text.into()));
    }

    /// The heading of a part.
    pub fn heading(&mut self, text: impl Into<String>) {
        self.0.push(Piece::Heading(text.into()));
    }

    /// Prose.
    pub fn text(&mut self, text: impl Into<String>) {
        self.0.push(Piece::Text(text.into()));
    }

    /// One of a list.
    pub fn item(&mut self, text: impl Into<String>) {
        self.0.push(Piece::Item(text.into()));
    }

    /// Lines that are shown as they are.
    pub fn verbatim(&mut self, lines: impl Into<String>) {
        self.0.push(Piece::Verbatim(lines.into()));
    }

    /// A picture, which only a file shows.
    pub fn picture(&mut self, what: impl Into<String>, file: impl Into<String>) {
        let (what, file) = (what.into(), file.into());
        self.0.push(Piece::Picture { what, file });
    }

    /// A table, the columns in `figures` flush right.
    pub fn table(&mut self, header: &[&'static str], rows: Vec<Vec<String>>, figures: &[usize]) {
        self.0.push(Piece::Table {
            header: header.to_vec(),
            rows,
            figures: figures.to_vec(),
        });
    }

    /// A table of things, one to a row; the columns in `figures` flush right.
    pub fn table_of<'t, T: 't>(
        &mut self,
        columns: &[Column<T>],
        things: impl IntoIterator<Item = &'t T>,
        figures: &[usize],
    ) {
        let header: Vec<&'static str> = columns.iter().map(|(heading, _)| *heading).collect();
        let row = |thing: &T| columns.iter().map(|(_, cell)| cell(thing)).collect();
        self.table(&header, things.into_iter().map(row).collect(), figures);
    }

    /// On a page.
    pub fn show(&self, page: &mut Page<'_>) -> io::Result<()> {
        let mut after_table = false;
        for piece in &self.0 {
            if after_table && !matches!(piece, Piece::Title(_) | Piece::Heading(_)) {
                page.gap()?;
            }
            after_table = matches!(piece, Piece::Table { .. });
            match piece {
                Piece::Title(text) => {
                    page.gap()?;
                    page.text(Tone::Strong, 0, text)?;
                }
                Piece::Heading(text) => page.heading(text)?,
                Piece::Text(text) => page.text(Tone::Plain, 0, text)?,
                Piece::Item(text) => page.item(Tone::Plain, 2, "- ", text)?,
                Piece::Verbatim(lines) => page.lines(2, lines)?,
                Piece::Picture { .. } => {}
                Piece::Table {
                    header,
                    rows,
                    figures,
                } => page.lines(0, &table(header, rows, figures, page.width()))?,
            }
        }
        Ok(())
    }

    /// As Markdown, the tables as in GitHub's extension of it.
    pub fn markdown(&self, to: &mut dyn Write) -> io::Result<()> {
        let mut after_item = false;
        for piece in &self.0 {
            let item = matches!(piece, Piece::Item(_));
            if after_item && !item {
                writeln!(to)?;
            }
            after_item = item;
            match piece {
                Piece::Title(text) => writeln!(to, "# {}\n", inline(text))?,
                Piece::Heading(text) => writeln!(to, "## {}\n", inline(text))?,
                Piece::Text(text) => writeln!(to, "{}\n", inline(text))?,
                Piece::Item(text) => writeln!(to, "- {}", inline(text))?,
                // Indented, as nothing in it can end that.
                Piece::Verbatim(lines) => {
                    for line in lines.lines() {
                        writeln!(to, "    {}", clean(line).trim_end())?;
                    }
                    writeln!(to)?;
                }
                Piece::Picture { what, file } => writeln!(to, "![{}]({file})\n", inline(what))?,
                Piece::Table {
                    header,
                    rows,
                    figures,
                } => writeln!(to, "{}\n", markdown_table(header, rows, figures))?,
            }
        }
        Ok(())
    }
}

/// Text that Markdown shows as it is: nothing in it opens a link, a table cell or HTML. Between backticks all stands
/// as it is anyway, but for the bar that ends a cell.
fn inline(text: &str) -> String {
    let mut safe = String::new();
    let mut verbatim = false;
    for c in clean(text).chars() {
        verbatim ^= c == '`';
        if c == '|' || !verbatim && matches!(c, '<' | '[' | ']' | '*' | '_' | '\\') {
            safe.push('\\');
        }
        safe.push(c);
    }
    safe
}

fn markdown_table(header: &[&str], rows: &[Vec<String>], figures: &[usize]) -> String {
    let mut builder = Builder::default();
    builder.push_record(header.iter().copied());
    for row in rows {
        builder.push_record(row.iter().map(|cell| inline(cell)));
    }
    let mut table = builder.build();
    table.with(Style::markdown()).with(Alignment::left());
    for column in figures {
        table.modify(Columns::one(*column), Alignment::right());
    }
    let text = table.to_string();
    // The crate's Markdown style does not say how a column is set; the line under the header does.
    let mut lines: Vec<String> = text.lines().map(str::to_owned).collect();
    if let Some(line) = lines.get_mut(1) {
        let mut cells: Vec<String> = line
            .trim_matches('|')
            .split('|')
            .map(str::to_owned)
            .collect();
        for column in figures {
            if let Some(cell) = cells.get_mut(*column) {
                cell.pop();
                cell.push(':');
            }
        }
        *line = format!("|{}|", cells.join("|"));
    }
    lines.join("\n")
}
