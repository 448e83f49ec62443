//! Which column is which signal: proposed from names, units and numbers, settled by a person, kept for the layout.

use std::collections::{BTreeMap, BTreeSet};
use std::fs;
use std::io;
use std::path::Path;

use serde::{Deserialize, Serialize};

use super::cell::number;
use super::table::{Column, Table, is_missing, share};
use crate::files;
use crate::knowledge::{Family, Signal, SignalId};
use crate::text::{nearest, quoted};
use crate::units::Unit;

/// The share of a column's sampled numbers that must be what the signal can be.
const POSSIBLE: f64 = 0.98;
/// How far a number may exceed so many times another one by rounding and skew.
const SLACK: f64 = 1.1;
/// The format of the file of mappings.
const FORMAT: u32 = 1;

/// The column of each signal, as a place in the table.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Mapping(pub BTreeMap<SignalId, usize>);

/// Mappings that were settled, by layout.
#[derive(Clone, Debug, Serialize, Deserialize)]
pub struct Mappings {
    format: u32,
    layouts: BTreeMap<String, Layout>,
}

/// A mapping of one layout, by names.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
struct Layout {
    family: String,
    columns: BTreeMap<String, String>,
}

impl Default for Mappings {
    fn default() -> Self {
        Self {
            format: FORMAT,
            layouts: BTreeMap::new(),
        }
    }
}

impl Mapping {
    /// What the columns most likely are. A column is proposed for a signal where its name fits one of the signal's
    /// patterns, its unit measures the same, its numbers are possible, and it exceeds no other proposed signal more
    /// often than it can.
    pub fn propose(family: &Family, table: &Table) -> Self {
        let clocks: BTreeSet<usize> = table.clocks.iter().map(|(column, _)| *column).collect();
        let mut fits: Vec<(usize, usize, SignalId, usize)> = Vec::new();
        for (place, signal) in family.signals.iter().enumerate() {
            for (at, column) in table.columns.iter().enumerate() {
                let words = column.words();
                let pattern = signal
                    .columns
                    .iter()
                    .position(|of| of.find(&words).is_some());
                if let Some(pattern) = pattern
                    && !clocks.contains(&at)
                    && is_possible(signal, column, &sampled(table, at), table.decimal_comma)
                {
                    fits.push((pattern, words.len(), SignalId::at(place), at));
                }
            }
        }
        // The best patterns first; of one pattern the shortest name, which says nothing else besides.
        fits.sort_unstable();
        let mut mapping = Self::default();
        for (_, _, signal, column) in fits {
            let taken = mapping.0.values().any(|other| *other == column);
            if !taken && !mapping.0.contains_key(&signal) {
                mapping.0.insert(signal, column);
                if mapping.exceeds(family, table).is_some() {
                    mapping.0.remove(&signal);
                }
            }
        }
        mapping
    }

    /// A signal that is more often above another than it can be, as the columns are taken.
    fn exceeds(&self, family: &Family, table: &Table) -> Option<SignalId> {
        self.0.keys().copied().find(|id| {
            let most = family.signal(*id).at_most.iter();
            most.filter_map(|(other, times)| {
                let rows = self.pairs(family, table, *id, *other)?;
                let above = rows
                    .iter()
                    .filter(|(a, b)| *b > 0.0 && *a > SLACK * times * b)
                    .count();
                Some(share(above, rows.len()) > 1.0 - POSSIBLE)
            })
            .any(|exceeds| exceeds)
        })
    }

    /// The sampled numbers of two signals in the same rows, each in the unit of its signal.
    fn pairs(
        &self,
        family: &Family,
        table: &Table,
        one: SignalId,
        other: SignalId,
    ) -> Option<Vec<(f64, f64)>> {
        let place = |id| self.0.get(&id).copied();
        let (a, b) = (place(one)?, place(other)?);
        let value = |row: &[String], id: SignalId, at: usize| {
            let (value, _) = number(row.get(at)?.as_bytes(), table.decimal_comma)?;
            let own = family.signal(id).unit?;
            table.columns[at].unit.unwrap_or(own).convert(value, own)
        };
        let rows = table.sample.iter();
        let pairs = rows.filter_map(|row| Some((value(row, one, a)?, value(row, other, b)?)));
        Some(pairs.collect())
    }

    /// Takes a column for a signal, `SIGNAL=COLUMN`: by the column's name or its place from 1; `none` for no column.
    pub fn set(&mut self, family: &Family, table: &Table, text: &str) -> Result<(), String> {
        let (signal, column) = text
            .split_once('=')
            .ok_or_else(|| format!("{} says no column: write SIGNAL=COLUMN", quoted(text)))?;
        let id = family.find::<SignalId>(signal.trim())?;
        let column = column.trim();
        if column == "none" {
            self.0.remove(&id);
            return Ok(());
        }
        let names = || table.columns.iter().map(|column| column.name.as_str());
        let by_name = names().position(|name| name.eq_ignore_ascii_case(column));
        let by_place = || {
            let place: usize = column.parse().ok()?;
            place
                .checked_sub(1)
                .filter(|place| *place < table.columns.len())
        };
        let place = by_name.or_else(by_place).ok_or_else(|| {
            let meant = nearest(column, names());
            let meant = meant.map_or_else(String::new, |name| {
                format!(": did you mean {}?", quoted(name))
            });
            format!("there is no column {}{meant}", quoted(column))
        })?;
        if let (Some(own), Some(unit)) = (family.signal(id).unit, table.columns[place].unit)
            && own.dimension() != unit.dimension()
        {
            return Err(format!(
                "column {} is in {unit}, which measures {}, not {}",
                quoted(column),
                unit.dimension().with_article(),
                own.dimension().with_article()
            ));
        }
        self.0.retain(|_, other| *other != place);
        self.0.insert(id, place);
        Ok(())
    }
}

/// The sampled cells of a column that have a value.
fn sampled(table: &Table, column: usize) -> Vec<&str> {
    let cells = table.sample.iter().filter_map(|row| row.get(column));
    cells
        .map(String::as_str)
        .filter(|cell| !is_missing(cell))
        .collect()
}

/// Whether a column can be a signal by its unit and its cells.
fn is_possible(signal: &Signal, column: &Column, cells: &[&str], comma: bool) -> bool {
    let Some(own) = signal.unit else {
        let known = cells
            .iter()
            .filter(|cell| state(signal, cell).is_some())
            .count();
        return column.unit.is_none() && share(known, cells.len()) >= POSSIBLE;
    };
    let unit = column.unit.unwrap_or(own);
    let within = cells
        .iter()
        .filter(|cell| value(signal, unit, cell.as_bytes(), comma).is_some());
    unit.dimension() == own.dimension() && share(within.count(), cells.len()) >= POSSIBLE
}

/// The number of a cell in the unit of its signal, where it is possible.
pub(super) fn value(signal: &Signal, unit: Unit, cell: &[u8], comma: bool) -> Option<(f64, u8)> {
    let (value, digits) = number(cell, comma)?;
    let value = unit.convert(value, signal.unit?)?;
    let possible = signal.range.is_none_or(|range| range.holds(value));
    possible.then_some((value, digits))
}

/// The state that a cell says: a place in the signal's list.
pub(super) fn state(signal: &Signal, cell: &str) -> Option<usize> {
    let says = |word: &str| word.eq_ignore_ascii_case(cell);
    let mut states = signal.states.iter();
    states.position(|(name, words)| says(name) || words.iter().any(|word| says(word)))
}

impl Mappings {
    /// The mappings of a file; none where there is no such file.
    ///
    /// # Errors
    ///
    /// The file cannot be read, or is no file of mappings of this format.
    pub fn read(path: &Path) -> io::Result<Self> {
        let text = match fs::read_to_string(path) {
            Err(error) if error.kind() == io::ErrorKind::NotFound => return Ok(Self::default()),
            text => text?,
        };
        let mappings: Self = serde_json::from_str(&text)?;
        if mappings.format == FORMAT {
            Ok(mappings)
        } else {
            Err(io::Error::other(format!(
                "it has format {}, not {FORMAT}",
                mappings.format
            )))
        }
    }

    /// Keeps them in a file.
    pub fn write(&self, path: &Path) -> io::Result<()> {
        let text = serde_json::to_string_pretty(self)?;
        files::replace(path, &format!("{text}\n"))
    }

    /// The mapping that was settled for the layout of a table.
    pub fn of(&self, family: &Family, table: &Table) -> Option<Mapping> {
        let layout = self.layouts.get(&table.layout())?;
        let columns = layout.columns.iter().filter_map(|(signal, name)| {
            let column = table.columns.iter().position(|column| column.name == *name);
            family.signal_named(signal).zip(column)
        });
        (layout.family == family.name).then(|| Mapping(columns.collect()))
    }

    /// Settles the mapping of the layout of a table.
    pub fn keep(&mut self, family: &Family, table: &Table, mapping: &Mapping) {
        let columns = mapping.0.iter().map(|(signal, column)| {
            let name = table.columns[*column].name.clone();
            (family.signal(*signal).name.clone(), name)
        });
        let layout = Layout {
            family: family.name.clone(),
            columns: columns.collect(),
        };
        self.layouts.insert(table.layout(), layout);
    }
}
