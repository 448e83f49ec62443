//! HTML documents: what every one has, and that nothing hidden leaves in one.

use maud::{DOCTYPE, Markup, PreEscaped, html};

use crate::text::is_hidden;

/// The look of a sheet: it also stands in sheets that are handed on as files.
pub const SHEET_STYLE: &str = include_str!("sheet.css");

/// Where a document has its style from.
#[derive(Clone, Copy, Debug)]
pub enum Style<'s> {
    /// In itself.
    Own,
    /// From these addresses.
    At(&'s [&'s str]),
}

/// A document with its head. `more` goes into the head.
pub fn framed(title: &str, style: Style<'_>, more: &Markup, body: &Markup) -> Markup {
    html! {
        (DOCTYPE)
        html lang="en" {
            head {
                meta charset="utf-8";
                meta name="viewport" content="width=device-width, initial-scale=1";
                meta name="color-scheme" content="light dark";
                title { (title) }
                @match style {
                    Style::Own => style { (PreEscaped(SHEET_STYLE)) },
                    Style::At(addresses) => @for address in addresses { link rel="stylesheet" href=(address); },
                }
                (more)
            }
            (body)
        }
    }
}

/// A document as text. Characters that cannot be seen, or turn the direction of writing, are written out, and those that
/// HTML does not have are replaced: none of the program's own text has any.
pub fn finished(document: Markup) -> String {
    let text = document.into_string();
    let mut safe = String::with_capacity(text.len());
    for c in text.chars() {
        match c {
            '\n' => safe.push(c),
            '\u{fffe}' | '\u{ffff}' => safe.push('\u{fffd}'),
            c if is_hidden(c) => safe.extend(c.escape_unicode()),
            c => safe.push(c),
        }
    }
    safe
}

/// Words between backticks stand out.
pub fn ticked(text: &str) -> Markup {
    let parts = text.split('`').enumerate();
    html! {
        @for (place, part) in parts {
            @if place % 2 == 1 { b { (part) } } @else { (part) }
        }
    }
}
