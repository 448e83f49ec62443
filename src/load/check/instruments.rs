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

/// The instruments, by place, with the units that the text of theirs may mean: K and °C are units of a temperature and of a
/// difference. The first measurement that uses one settles it.
pub(super) struct Instruments(BTreeMap<usize, (Instrument, Vec<Unit>)>);

impl Instruments {
    pub(super) fn new(
        entries: &Entries<raw::Instrument>,
        names: &Names<'_, InstrumentId>,
        log: &Log<'_>,
    ) -> Self {
        let mut list = BTreeMap::new();
        for entry in &entries.0 {
            if let (Some(place), Some(value)) = (names.place(&entry.name), &entry.value) {
                let units = values::any_unit(&value.unit, log);
                let range = values::interval(value.range.as_ref(), log);
                let instrument = Instrument {
                    name: entry.name.clone(),
                    title: value.title.clone(),
                    unit: units.first().copied().unwrap_or(Unit::One),
                    range,
                    accuracy: accuracy(&value.accuracy, range, log),
                };
                list.entry(place).or_insert((instrument, units));
            }
        }
        Self(list)
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
        Some((values::unit(unit, dimension, None, known.log)?, instrument))
    }

    /// The instrument of a name, where it reads a quantity.
    fn used(
        &mut self,
        name: &Name,
        dimension: Dimension,
        known: &Known<'_>,
    ) -> Option<InstrumentId> {
        let id = known.instruments.find(name)?;
        let all_read = self.0.len() == known.instruments.len();
        let (instrument, units) = self.0.get_mut(&id.index())?;
        let unit = units.iter().find(|unit| unit.dimension() == dimension);
        match (unit.copied(), units.first()) {
            (Some(unit), _) => {
                instrument.unit = unit;
                *units = vec![unit];
            }
            (None, Some(other)) => {
                say!(known.log, name.spot; WrongDimension, "`{}` reads {}, but {} is read here", name.value,
                    other.dimension().with_article(), dimension.with_article());
            }
            // Its unit is unknown, which was said already.
            (None, None) => {}
        }
        // Where one could not be read, the ids of those behind it are out of step.
        Some(id).filter(|_| all_read)
    }

    pub(super) fn finish(self) -> Vec<Instrument> {
        let list = self.0.into_values();
        list.map(|(instrument, _)| instrument).collect()
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
