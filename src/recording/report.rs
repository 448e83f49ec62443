//! All that a recording says, as one value.

use std::io;

use rayon::prelude::*;
use serde::Serialize;

use super::drive::Drive;
use super::event::Event;
use super::events::events;
use super::mapping::Mapping;
use super::reading::{Figure, Found, recorded};
use super::series::{median, spread};
use super::table::Table;
use super::trace::{DERIVED, Point};
use crate::infer::Taken;
use crate::knowledge::{Family, MeasurementId, Vehicle};
use crate::record::Marked;
use crate::text::figures::{rounded, short, to_digits};
use crate::text::{Page, Tone, table};
use crate::units::Unit;

/// All that a recording says.
#[derive(Clone, Debug, Serialize)]
pub struct Report {
    /// The file.
    pub file: String,
    /// How it is written.
    pub table: Table,
    /// Its rows of data.
    pub rows: u64,
    /// How long it is, in seconds.
    pub seconds: f64,
    /// The signals it has.
    pub signals: Vec<SignalRow>,
    /// The traces that follow from two of them.
    pub traces: Vec<TraceRow>,
    /// What happened, in order.
    pub events: Vec<Event>,
    /// The measurements that can be read from a recording.
    pub readings: Vec<ReadingRow>,
    /// What is to be known of it.
    pub remarks: Vec<String>,
}

/// A signal and its column.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct SignalRow {
    /// The signal's id.
    pub signal: String,
    /// What it is.
    pub title: String,
    /// The column it is read from.
    pub column: String,
    /// The unit of its numbers here.
    pub unit: Option<Unit>,
    /// How many samples it has, after those closer than a hundredth of a second are averaged.
    pub samples: usize,
    /// How often it is refreshed, in seconds.
    pub interval: f64,
    /// The smallest step, in `unit`.
    pub resolution: f64,
    /// The smallest and the largest value.
    pub extent: [f64; 2],
    /// How many cells had no value that it can have.
    pub unreadable: u64,
}

/// A derived trace in short.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct TraceRow {
    /// Its name.
    pub trace: &'static str,
    /// What it is.
    pub title: &'static str,
    /// Its unit.
    pub unit: Unit,
    /// How many points it has.
    pub points: usize,
    /// The smallest and the largest value.
    pub extent: [f64; 2],
    /// The middle of its standard uncertainties.
    pub u: f64,
}

/// A measurement read from the recording.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct ReadingRow {
    #[serde(skip)]
    pub(crate) id: MeasurementId,
    /// The measurement's id.
    pub measurement: String,
    /// What is measured.
    pub title: String,
    /// What was read.
    #[serde(flatten)]
    pub found: Option<Found>,
    /// What the numbers make, for one that is computed; the number itself else.
    pub number: Option<Figure>,
    /// The likeliest outcome, where the vehicle's sheet judges it.
    pub says: Option<String>,
    /// Why it is not read.
    pub refused: Option<String>,
    /// What it says to the diagnosis.
    #[serde(skip)]
    pub(crate) taken: Option<Taken>,
}

impl Report {
    /// What a drive says.
    pub fn of(
        family: &Family,
        vehicle: Option<&Vehicle>,
        file: &str,
        (table, mapping): (Table, &Mapping),
        drive: &Drive,
    ) -> Self {
        let (events, (traces, signals)) = rayon::join(
            || events(drive, vehicle),
            || (traces(drive), signals(family, &table, mapping, drive)),
        );
        let readings = recorded(family, vehicle, drive, &events);
        let readings = readings.into_iter();
        Self {
            file: file.to_owned(),
            rows: drive.rows,
            seconds: to_digits(drive.seconds, 6),
            signals,
            traces,
            readings: readings
                .map(|reading| ReadingRow::of(family, vehicle, reading.measurement, reading.found))
                .collect(),
            events,
            table,
            remarks: drive.remarks.clone(),
        }
    }

    /// The readings that count.
    pub fn taken(&self) -> impl Iterator<Item = (&ReadingRow, &Taken)> {
        self.readings
            .iter()
            .filter_map(|row| Some((row, row.taken.as_ref()?)))
    }

    /// It on a page.
    pub fn show(&self, page: &mut Page<'_>) -> io::Result<()> {
        let minutes = self.seconds / 60.0;
        page.say(&format!(
            "{}: {} rows, {} min, header in line {}.",
            self.file,
            self.rows,
            short(minutes),
            self.table.header
        ))?;
        self.show_signals(page)?;
        page.heading("What happened")?;
        if self.events.is_empty() {
            page.say("Nothing of what is looked for.")?;
        }
        for event in &self.events {
            let mark = format!("{:>8} s  ", rounded(event.from));
            page.item(
                Tone::Plain,
                2,
                &mark,
                &format!("{}: {}.", event.kind.title(), event.words),
            )?;
        }
        self.show_readings(page)?;
        for remark in &self.remarks {
            page.say(remark)?;
        }
        Ok(())
    }

    /// The signals with their columns.
    pub fn show_signals(&self, page: &mut Page<'_>) -> io::Result<()> {
        page.heading("Signals")?;
        let rows = self.signals.iter().map(|row| {
            let [least, most] = row.extent.map(rounded);
            let extent = row.unit.map_or_else(String::new, |unit| {
                with_unit(&format!("{least} to {most}"), unit)
            });
            vec![
                row.title.clone(),
                row.column.clone(),
                format!("{} s", rounded(row.interval)),
                extent,
            ]
        });
        let rows: Vec<Vec<String>> = rows.collect();
        page.lines(
            2,
            &table(
                &["signal", "column", "every", "values"],
                &rows,
                &[2],
                page.width().saturating_sub(4),
            ),
        )
    }

    fn show_readings(&self, page: &mut Page<'_>) -> io::Result<()> {
        page.heading("Readings")?;
        for row in self.readings.iter().filter(|row| row.refused.is_none()) {
            page.item(Tone::Plain, 2, "", &row.words())?;
        }
        page.heading("Not read")?;
        for row in &self.readings {
            if let Some(why) = &row.refused {
                page.item(Tone::Plain, 2, "", &format!("{}: {why}.", row.title))?;
            }
        }
        Ok(())
    }
}

impl ReadingRow {
    fn of(
        family: &Family,
        vehicle: Option<&Vehicle>,
        id: MeasurementId,
        found: Result<Found, String>,
    ) -> Self {
        let measurement = family.measurement(id);
        let mut row = Self {
            id,
            measurement: measurement.name.clone(),
            title: measurement.title.clone(),
            found: None,
            number: None,
            says: None,
            refused: None,
            taken: None,
        };
        let found = match found {
            Err(why) => {
                row.refused = Some(why);
                return row;
            }
            Ok(found) => found,
        };
        let taken = found.taken(family, vehicle, id);
        row.number = found.number(measurement);
        match taken {
            Ok(taken) => {
                let outcome = &measurement.outcomes[taken.evidence.outcome()];
                row.says = Some(outcome.words());
                row.taken = Some(taken);
            }
            // Without a sheet a number stands by itself.
            Err(_) if vehicle.is_none() => {}
            Err(why) => row.refused = Some(why.trim_end_matches('.').to_owned()),
        }
        row.found = Some(found);
        row
    }

    /// The window that it was read in, and what it says.
    pub fn window(&self) -> Option<Marked> {
        let found = self.found.as_ref().filter(|_| self.refused.is_none())?;
        Some(Marked {
            from: found.from,
            to: found.to,
            words: self.words(),
        })
    }

    /// It in a sentence.
    pub fn words(&self) -> String {
        let number = self.number.as_ref();
        let number = number.map(|number| {
            let (value, u) = with_uncertainty(number.value, 2.0 * number.u);
            with_unit(&format!("{value} ± {u}"), number.unit)
        });
        let parts = [number, self.says.clone()].into_iter().flatten();
        let parts: Vec<String> = parts.collect();
        let window = self.found.as_ref().map_or_else(String::new, |found| {
            format!(" ({} to {} s)", rounded(found.from), rounded(found.to))
        });
        format!("{}: {}{window}", self.title, parts.join(", "))
    }
}

/// A value and its expanded uncertainty (k = 2), both to the second digit of that (JCGM 100, 7.2.6).
pub fn with_uncertainty(value: f64, expanded: f64) -> (String, String) {
    let place = if expanded > 0.0 {
        expanded.log10().floor() - 1.0
    } else {
        -3.0
    };
    let step = 10.0_f64.powf(place);
    let digits = (1..=6)
        .rev()
        .find(|digits| place <= -f64::from(*digits))
        .unwrap_or(0);
    let text = |number: f64| {
        format!(
            "{:.*}",
            usize::from(u8::try_from(digits).unwrap_or(0)),
            (number / step).round() * step
        )
    };
    (text(value), text(expanded))
}

fn signals(family: &Family, table: &Table, mapping: &Mapping, drive: &Drive) -> Vec<SignalRow> {
    let rows = mapping.0.par_iter().filter_map(|(id, column)| {
        let (signal, series) = (family.signal(*id), drive.signal(*id)?);
        Some(SignalRow {
            signal: signal.name.clone(),
            title: signal.title.clone(),
            column: table.columns[*column].name.clone(),
            unit: signal.unit,
            samples: series.len(),
            interval: to_digits(series.interval, 4),
            resolution: to_digits(series.resolution, 4),
            extent: extent(series.values()),
            unreadable: drive.unreadable[id.index()],
        })
    });
    rows.collect()
}

fn traces(drive: &Drive) -> Vec<TraceRow> {
    let traces = DERIVED.par_iter().filter_map(|derived| {
        let trace = derived.of(drive)?;
        let every = spread(trace.most());
        let mut uncertainty = trace.uncertainties();
        let (mut points, mut u) = (0, Vec::new());
        let values = trace.map(|Point { time, value }| {
            if points % every == 0 {
                u.push(uncertainty(time));
            }
            points += 1;
            value
        });
        let extent = extent(values);
        let u = median(&mut u)?;
        Some(TraceRow {
            trace: derived.name,
            title: derived.title,
            unit: derived.unit,
            points,
            u: to_digits(u, 4),
            extent,
        })
    });
    traces.collect()
}

fn extent(values: impl Iterator<Item = f64>) -> [f64; 2] {
    let most = values.fold(
        [f64::INFINITY, f64::NEG_INFINITY],
        |[least, most], value| [least.min(value), most.max(value)],
    );
    most.map(|value| to_digits(value, 6))
}

/// A figure with its unit; a pure number has none.
fn with_unit(figure: &str, unit: Unit) -> String {
    match unit {
        Unit::One => figure.to_owned(),
        _ => format!("{figure} {}", unit.symbol()),
    }
}
