//! Recordings of the scan tool: how tables are read, what is found in them, against drives of a model whose truth is known.

mod driveline;
mod found;
mod tables;
mod windows;

use halfsplit::knowledge::{Family, Knowledge, Vehicle};
use halfsplit::recording::table::Unreadable;
use halfsplit::recording::{Drive, Mapping, Report, Table};
use halfsplit::{Source, load};
use std::sync::LazyLock;

static KNOWLEDGE: LazyLock<Knowledge> =
    LazyLock::new(|| load(&Source::embedded().without_cases()).unwrap().knowledge);

fn family() -> &'static Family {
    &KNOWLEDGE.families[0]
}

fn vehicle() -> &'static Vehicle {
    KNOWLEDGE.vehicle("demo-estate").unwrap()
}

/// The signals of a table, its columns as they are proposed.
fn drive_of(text: &str) -> Drive {
    let (table, source) = Table::of(text.as_bytes()).unwrap();
    let mapping = Mapping::propose(family(), &table);
    Drive::read(family(), &table, &mapping, source).unwrap()
}

/// All that a table says, its columns as they are proposed.
fn report(text: &str) -> Result<Report, Unreadable> {
    let (table, source) = Table::of(text.as_bytes())?;
    let mapping = Mapping::propose(family(), &table);
    let drive = Drive::read(family(), &table, &mapping, source)?;
    Ok(Report::of(
        family(),
        Some(vehicle()),
        "drive.csv",
        (table, &mapping),
        &drive,
    ))
}
