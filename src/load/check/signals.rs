//! Signals of a recording, and the measurements that are read from them.

use super::instruments::Instruments;
use super::known::{Known, in_order};
use super::outcomes::by_outcome;
use super::{reading, trees, values};
use crate::knowledge::{
    During, InstrumentId, Judged, Limit, LimitBand, Measurement, Recording, Signal, SignalId,
    Statistic,
};
use crate::load::log::{Log, Spot, say};
use crate::load::raw::family::{self as raw, FamilyFile};
use crate::load::raw::measurements::{self as raw_measurements, Band};
use crate::load::value::{Entries, Items, Name, Placed};
use crate::units::Unit;

/// The name under which a number that is read itself stands in `reads`.
const ITSELF: &str = "value";
/// The shortest window where none is stated, in seconds.
const SHORTEST: f64 = 1.0;

/// The signals of a family.
pub(super) fn signals(
    file: &FamilyFile,
    known: &Known<'_>,
    instruments: &mut Instruments,
) -> Vec<Signal> {
    in_order(&known.signals, &file.signals.0, |entry, signal| {
        let (unit, instrument) = quantity(signal, entry.spot, known, instruments);
        let states = signal.states.iter().flat_map(|states| &states.0);
        let states = states.map(|state| {
            let words = state.value.as_ref().map(Items::to_vec);
            (state.name.clone(), words.unwrap_or_default())
        });
        Some(Signal {
            name: entry.name.clone(),
            title: signal.title.clone(),
            role: *signal.role,
            unit,
            range: values::interval(signal.range.as_ref(), known.log),
            instrument,
            states: states.collect(),
            columns: trees::patterns(&signal.columns, known),
            at_most: amounts(&signal.at_most, known),
        })
    })
}

/// The unit of a signal and what reads it; neither for one of states.
fn quantity(
    signal: &raw::Signal,
    spot: Spot,
    known: &Known<'_>,
    instruments: &mut Instruments,
) -> (Option<Unit>, Option<InstrumentId>) {
    match (&signal.quantity, &signal.unit, &signal.states) {
        (Some(quantity), Some(unit), None) => {
            let read = instruments.reads(quantity, unit, signal.instrument.as_ref(), known);
            read.map_or((None, None), |(unit, instrument)| (Some(unit), instrument))
        }
        (None, None, Some(_)) => (None, None),
        _ => {
            say!(known.log, spot; ReadingShape, "a signal is a number or a state" =>
                "give `quantity` and `unit`, or `states`");
            (None, None)
        }
    }
}

/// How a measurement is read from a recording.
pub(super) fn recording(
    given: &Placed<raw_measurements::Recording>,
    measurement: &Measurement,
    signals: &[Signal],
    known: &Known<'_>,
) -> Recording {
    let log = known.log;
    let Placed { value: given, spot } = given;
    let reads = given.reads.0.iter().filter_map(|entry| {
        let id = known.signals.find(entry.value.as_ref()?)?;
        let signal = signals.get(id.index())?;
        if given.judged.0.is_empty() {
            fits(&entry.name, entry.spot, signal, measurement, log);
        }
        Some((entry.name.clone(), id))
    });
    let reads: Vec<(String, SignalId)> = reads.collect();
    let length = *given.event;
    let outcomes = by_outcome(&given.outcomes, &measurement.outcomes, log, |event| {
        Some(*event)
    });
    let judged = judged(given, measurement, &reads, signals, log);
    let wanted: Vec<&str> = match measurement.number() {
        Some(number) if number.takes.is_empty() => vec![ITSELF],
        Some(number) => number.takes.iter().map(|take| take.name.as_str()).collect(),
        None => Vec::new(),
    };
    let is_read = |wanted: &&str| reads.iter().any(|(name, _)| name == wanted);
    let told = match (measurement.number().is_some(), length.is_some()) {
        (true, true) => given.reads.0.is_empty(),
        (true, false) => wanted.iter().all(is_read),
        (false, _) => outcomes.is_empty() != judged.is_empty() && length.is_none(),
    };
    // A signal that is not known was said already.
    let known_all = reads.len() == given.reads.0.len();
    if !told && known_all {
        say!(log, *spot; ReadingShape, "this does not say what the reading is read from" =>
            "a number has `reads` with {}, or an `event`; words have `outcomes` or `judged`",
            if wanted.is_empty() { ITSELF.to_owned() } else { wanted.join(", ") });
    }
    let during = known.signals.keyed(&given.during, |entry, during| {
        let signal = signals.iter().find(|signal| signal.name == entry.name)?;
        match during {
            raw_measurements::During::Band(band) => number_band(band, log).map(During::Band),
            raw_measurements::During::States(names) => {
                states(names, signal, log).map(During::States)
            }
        }
    });
    let seconds = |given: Option<Placed<f64>>| given.and_then(|given| values::finite(given, log));
    Recording {
        reads,
        during,
        steady: amounts(&given.steady, known),
        seconds: seconds(given.seconds).unwrap_or(SHORTEST),
        at_most: seconds(given.at_most),
        in_all: seconds(given.in_all).unwrap_or_default(),
        takes: given.takes.unwrap_or(Statistic::Mean),
        event: length,
        outcomes,
        judged,
    }
}

/// The outcomes that recorded numbers stand for.
fn judged(
    given: &raw_measurements::Recording,
    measurement: &Measurement,
    reads: &[(String, SignalId)],
    signals: &[Signal],
    log: &Log<'_>,
) -> Vec<Judged> {
    let units = reads
        .iter()
        .filter_map(|(_, id)| signals.get(id.index())?.unit);
    let unit = units.clone().next().unwrap_or(Unit::One);
    let is_other = |other: Unit| other.dimension() != unit.dimension();
    let rules = by_outcome(&given.judged, &measurement.outcomes, log, |rule| {
        let formula = reading::parsed(&rule.value, log)?;
        let names = reads.iter().map(|(name, _)| name.as_str());
        reading::uses_only(&formula, &rule.value, &names, "reads", log);
        if units.clone().any(is_other) {
            say!(log, rule.value.spot; WrongDimension, "signals of different kinds are judged together");
        }
        let band = reading::band(&rule.band.value, rule.band.spot, log)?;
        Some((formula, band))
    });
    let judged = |(outcome, (formula, band))| Judged {
        outcome,
        formula,
        unit,
        band,
    };
    rules.into_iter().map(judged).collect()
}

/// Whether a signal can be what a raw reading takes: it has its dimension.
fn fits(name: &str, spot: Spot, signal: &Signal, measurement: &Measurement, log: &Log<'_>) {
    let number = measurement.number();
    let take = number.and_then(|number| number.takes.iter().find(|take| take.name == name));
    let unit = match (take, number) {
        (Some(take), _) => take.unit,
        (None, Some(number)) if number.takes.is_empty() && name == ITSELF => number.unit,
        _ => {
            say!(log, spot; UnknownWord, "`{name}` is no raw reading of this measurement" =>
                "name one of `takes`, or `{ITSELF}` for a number that is read itself");
            return;
        }
    };
    // What is neither a number nor a state was said already.
    let is_read = signal.unit.is_some() || !signal.states.is_empty();
    let of = signal.unit.map(Unit::dimension);
    if is_read && of != Some(unit.dimension()) {
        say!(log, spot; WrongDimension, "`{}` is not {}, which is read here", signal.name,
            unit.dimension().with_article());
    }
}

/// A band between numbers: a window is found without a vehicle's sheet.
fn number_band(given: &Placed<Band>, log: &Log<'_>) -> Option<LimitBand> {
    let band = reading::band(&given.value, given.spot, log)?;
    let is_named = |limit: &Limit| matches!(limit, Limit::Named { .. });
    if band.limits().any(is_named) {
        say!(log, given.spot; BadBand, "a window ends at numbers, not at a limit of a sheet");
        return None;
    }
    Some(band)
}

fn states(names: &Items<Name>, signal: &Signal, log: &Log<'_>) -> Option<Vec<usize>> {
    let known = signal.states.iter().map(|(name, _)| name.as_str());
    let places = names.iter().map(|name| {
        let place = known.clone().position(|state| state == name.value);
        if place.is_none() {
            say!(log, name.spot; UnknownWord, "`{}` has no state `{}`", signal.name, name.value =>
                "its states are {}", known.clone().collect::<Vec<_>>().join(", "));
        }
        place
    });
    places.collect()
}

fn amounts(given: &Entries<Placed<f64>>, known: &Known<'_>) -> Vec<(SignalId, f64)> {
    let signals = &known.signals;
    signals.keyed(given, |_, amount| values::finite(*amount, known.log))
}
