//! Instruments: what reads a number, and how well.

use std::collections::BTreeMap;

use super::known::Known;
use super::names::Names;
use super::values;
use crate::knowledge::{Instrument, InstrumentId};
use crate::load::log::{Log, say};
use crate::load::raw::family as raw;
use crate::load::value::{Entries, Name, Placed};
use crate::units::uncertainty::Accuracy;
use crate::units::{Dimension, Interval, Unit};

/// The instruments, whose unit may mean several quantities until a measurement uses it: K and °C are
/// units of a temperature and of a difference.
pub(super) struct Instruments {
    list: Vec<(Instrument, Vec<Unit>)>,
    settled: BTreeMap<InstrumentId, Dimension>,
}

impl Instruments {
    pub(super) fn new(
        entries: &Entries<raw::Instrument>,
        names: &Names<'_, InstrumentId>,
        log: &Log<'_>,
    ) -> Self {
        // An instrument that could not be read keeps its place, so that ids stay in step.
        let mut slots: BTreeMap<usize, (Instrument, Vec<Unit>)> = BTreeMap::new();
        for entry in &entries.0 {
            if let (Some(place), Some(value)) = (names.place(&entry.name), &entry.value) {
                let units = values::any_unit(&value.unit, log);
                let range = values::interval(value.range.as_ref(), log);
                let accuracy = accuracy(&value.accuracy, range, log);
                let instrument = Instrument {
                    name: entry.name.clone(),
                    title: value.title.clone(),
                    unit: units.first().copied().unwrap_or(Unit::One),
                    range,
                    accuracy,
                };
                slots.entry(place).or_insert((instrument, units));
            }
        }
        let blank = || {
            let instrument = Instrument {
                name: String::new(),
                title: String::new(),
                unit: Unit::One,
                range: None,
                accuracy: Accuracy::Standard(0.0),
            };
            (instrument, Vec::new())
        };
        let list = (0..names.len())
            .map(|place| slots.remove(&place).unwrap_or_else(blank))
            .collect();
        Self {
            list,
            settled: BTreeMap::new(),
        }
    }

    /// The unit of a number and what reads it, where that reads its quantity.
    pub(super) fn reads(
        &mut self,
        quantity: &Name,
        unit: &Name,
        instrument: Option<&Name>,
        known: &Known<'_>,
    ) -> Option<(Unit, Option<InstrumentId>)> {
        let dimension = values::quantity(quantity, known.log)?;
        let instrument = instrument.and_then(|name| self.used(name, dimension, known));
        Some((values::unit(unit, dimension, known.log)?, instrument))
    }

    /// The instrument of a name, where it reads a quantity.
    fn used(
        &mut self,
        name: &Name,
        dimension: Dimension,
        known: &Known<'_>,
    ) -> Option<InstrumentId> {
        let id = known.instruments.find(name)?;
        let (instrument, units) = self.list.get_mut(id.index())?;
        let unit = units.iter().find(|unit| unit.dimension() == dimension);
        match (self.settled.get(&id), unit) {
            (Some(before), _) if *before == dimension => {}
            (None, Some(unit)) => {
                instrument.unit = *unit;
                self.settled.insert(id, dimension);
            }
            // Its unit is unknown, which was said already.
            (None, None) if units.is_empty() => {}
            (before, _) => {
                let other = before
                    .copied()
                    .or_else(|| units.first().map(|unit| unit.dimension()))
                    .unwrap_or(dimension);
                say!(known.log, name.spot; WrongDimension,
                    "`{}` reads {}, but {} is read here", name.value, other.with_article(), dimension.with_article());
            }
        }
        Some(id)
    }

    pub(super) fn finish(self) -> Vec<Instrument> {
        self.list
            .into_iter()
            .map(|(instrument, _)| instrument)
            .collect()
    }
}

fn accuracy(given: &Placed<raw::Accuracy>, range: Option<Interval>, log: &Log<'_>) -> Accuracy {
    let raw::Accuracy {
        standard,
        class,
        percent,
        digits,
        digit,
        resolution,
    } = given.value;
    let several = percent.is_some() || digits.is_some() || digit.is_some();
    let refuse = |words: &str| {
        say!(log, given.spot; BadNumber, "{words}" =>
            "give one of: standard; class, with a range; percent with digits and digit; resolution");
        Accuracy::Standard(0.0)
    };
    let accuracy = match (standard, class, several, resolution) {
        (Some(standard), None, false, None) => Accuracy::Standard(standard),
        (None, Some(class), false, None) => match range {
            Some(range) => Accuracy::Class {
                class,
                span: range.span(),
            },
            None => return refuse("a class is a percentage of the span, and there is no range"),
        },
        (None, None, true, None) => Accuracy::PercentDigits {
            percent: percent.unwrap_or(0.0),
            digits: digits.unwrap_or(0.0),
            digit: digit.unwrap_or(0.0),
        },
        (None, None, false, Some(step)) => Accuracy::Resolution(step),
        _ => return refuse("an accuracy is said in exactly one way"),
    };
    if accuracy.is_sound() {
        accuracy
    } else {
        refuse("these figures are no accuracy")
    }
}
