//! Two editions of a family: nothing that is stated otherwise goes untold, and it is told in the
//! trade's words.

mod answers;
mod edits;
mod guard;
mod program;
mod words;

use halfsplit::diff::report::comparison;
use halfsplit::diff::{Change, Comparison, changes};
use halfsplit::knowledge::Knowledge;
use halfsplit::text::Page;

use crate::textbook::Book;

/// The knowledge of a book that loads.
fn loaded(book: &Book) -> Knowledge {
    match book.load() {
        Ok(loaded) => loaded.knowledge,
        Err(findings) => panic!("{findings}"),
    }
}

/// What differs between the textbook family and the same with edits.
fn changed(edited: &Book) -> Vec<Change> {
    changes(&loaded(&Book::new()), &loaded(edited))
}

/// The page of a comparison, its lines unwrapped.
fn page(old: &Knowledge, new: &Knowledge) -> String {
    let mut bytes = Vec::new();
    comparison(
        &mut Page::new(&mut bytes, 80),
        &Comparison::of(old, new),
        "older",
        "newer",
    )
    .unwrap();
    let text = anstream::adapter::strip_str(&String::from_utf8(bytes).unwrap()).to_string();
    for line in text.lines() {
        assert!(unicode_width::UnicodeWidthStr::width(line) <= 80, "{line}");
    }
    text.replace("\n  ", " ")
}

/// The lines of the differences between the textbook family and the same with edits.
fn told(edited: &Book) -> Vec<String> {
    page(&loaded(&Book::new()), &loaded(edited))
        .split("\nWhat it does to the answers")
        .next()
        .unwrap()
        .lines()
        .filter_map(|line| line.strip_prefix("- "))
        .map(str::to_owned)
        .collect()
}
