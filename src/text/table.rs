//! Tables that fit the screen.

use tabled::builder::Builder;
use tabled::settings::formatting::{AlignmentStrategy, TrimStrategy};
use tabled::settings::object::{Columns, Rows};
use tabled::settings::peaker::PriorityMax;
use tabled::settings::style::HorizontalLine;
use tabled::settings::{Alignment, Padding, Style, Width};

use super::harmless::clean;

/// A table of `header` over `rows`, at most `width` columns wide: the widest column is wrapped first.
/// The columns in `figures` are set flush right.
pub fn table(header: &[&str], rows: &[Vec<String>], figures: &[usize], width: usize) -> String {
    let mut builder = Builder::default();
    builder.push_record(header.iter().copied());
    for row in rows {
        builder.push_record(row.iter().map(|cell| clean(cell)));
    }
    let mut table = builder.build();
    table
        .with(Style::empty().horizontals([(1, HorizontalLine::new('-'))]))
        .with(Padding::new(0, 2, 0, 0))
        // A line that a wrapped cell goes on with starts at its edge.
        .with(AlignmentStrategy::PerLine)
        .with(TrimStrategy::Horizontal)
        .with(Alignment::left());
    for column in figures {
        table.modify(Columns::one(*column), Alignment::right());
    }
    table.modify(Rows::first(), Alignment::left()).with(
        Width::wrap(width)
            .priority(PriorityMax::right())
            .keep_words(true),
    );
    table.to_string()
}
