//! What the columns of a layout were settled to be, in a file that outlives the program.

use std::fs;
use std::io;
use std::path::Path;

use super::mapping::{Mapping, Mappings};
use super::table::Table;
use crate::knowledge::Family;

/// The columns of a table as they were settled for its layout in a file, else as they are proposed; and whether they were
/// settled.
pub fn settled_or_proposed(
    file: Option<&Path>,
    family: &Family,
    table: &Table,
) -> io::Result<(Mapping, bool)> {
    let settled = match file {
        Some(file) => Mappings::read(file)?.of(family, table),
        None => None,
    };
    let known = settled.is_some();
    let mapping = settled.unwrap_or_else(|| Mapping::propose(family, table));
    Ok((mapping, known))
}

/// Keeps in a file what the columns of this layout are; without a file it is forgotten.
pub fn settle(
    file: Option<&Path>,
    family: &Family,
    table: &Table,
    mapping: &Mapping,
) -> io::Result<()> {
    let Some(file) = file else { return Ok(()) };
    let mut kept = Mappings::read(file)?;
    kept.keep(family, table, mapping);
    if let Some(folder) = file.parent() {
        fs::create_dir_all(folder)?;
    }
    kept.write(file)
}
