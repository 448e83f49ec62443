//! The readings of measurements that say how they are read from a recording: each with the window it came from, or why
//! it cannot be taken.

use rayon::prelude::*;
use serde::Serialize;

use super::drive::Drive;
use super::event::Event;
use super::moves::stretches;
use super::series::{Cursor, Series, float, slope};
use crate::infer::{
    Answer, Taken, Typing, derive, standard_uncertainty, understand, understand_part,
};
use crate::knowledge::{
    During, EventKind, Family, InstrumentId, Judged, Measurement, MeasurementId, Recording, Role,
    SignalId, Statistic, Vehicle,
};
use crate::text::figures::{plain, rounded};
use crate::units::Unit;
use crate::units::conformity::{Band, Known, SETTLED_AT, weights};
use crate::units::formula::Measured;

/// The finest grid on which windows are looked for, in seconds.
const FINEST: f64 = 0.05;
/// The fewest samples of a signal in a window that it is read from.
const FEWEST: f64 = 3.0;
/// How far from a time its change a second is judged, in seconds.
const AROUND: f64 = 0.5;
/// A jump of the ratio is told from a change by the control where the speeds are sampled at least so often, in seconds.
const FOR_JUMPS: f64 = 0.12;
/// The length of an event is read where it is known to so much, as one standard uncertainty, in seconds.
const FOR_LENGTHS: f64 = 0.15;

/// A measurement read from a recording.
#[derive(Clone, Debug, PartialEq)]
pub struct Reading {
    /// The measurement.
    pub measurement: MeasurementId,
    /// What it read, or why it cannot be read.
    pub found: Result<Found, String>,
}

/// What a measurement read.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Found {
    /// From when, in seconds from the start of the recording.
    pub from: f64,
    /// Until when.
    pub to: f64,
    /// The numbers: of each raw reading by its name, else of the number itself.
    pub numbers: Vec<Figure>,
    /// The outcome, for a reading of words.
    pub outcome: Option<String>,
    /// What the conditions were in the window.
    pub conditions: Vec<String>,
}

/// A number with its standard uncertainty.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Figure {
    /// Its name in the formula; `value` for the number itself.
    pub name: String,
    /// The number, in `unit`.
    pub value: f64,
    /// Its standard uncertainty: of the instrument, of how the window scatters, of resolution and sampling.
    pub u: f64,
    /// Its unit.
    pub unit: Unit,
}

impl Figure {
    /// It as a technician types it: with its unit and its standard uncertainty.
    pub fn typed(&self) -> String {
        format!(
            "{} {} ~{}",
            plain(self.value),
            self.unit.symbol(),
            plain(self.u)
        )
    }
}

/// The number that raw readings make; the first of them where nothing is computed.
fn computed(measurement: &Measurement, figures: &[Figure]) -> Option<Measured> {
    let measured = |figure: &Figure| Measured {
        value: figure.value,
        u: figure.u,
    };
    let Some(formula) = measurement.number()?.formula.as_ref() else {
        return figures.first().map(measured);
    };
    let readings = figures
        .iter()
        .map(|figure| (figure.name.clone(), measured(figure)));
    formula.evaluate(&readings.collect()).ok()
}

impl Found {
    /// The number that it comes to.
    pub fn number(&self, measurement: &Measurement) -> Option<Figure> {
        let computed = computed(measurement, &self.numbers)?;
        Some(Figure {
            name: "value".to_owned(),
            value: computed.value,
            u: computed.u,
            unit: measurement.number()?.unit,
        })
    }

    /// What it says about the vehicle, as if it had been typed.
    pub fn taken(
        &self,
        family: &Family,
        vehicle: Option<&Vehicle>,
        id: MeasurementId,
    ) -> Result<Taken, String> {
        let typing = Typing::default();
        let measurement = family.measurement(id);
        let take = |name: &str| {
            measurement
                .number()?
                .takes
                .iter()
                .find(|take| take.name == name)
        };
        if let Some(outcome) = &self.outcome {
            return certain(understand(family, vehicle, id, outcome, &typing));
        }
        let mut parts = std::collections::BTreeMap::new();
        for figure in &self.numbers {
            match take(&figure.name) {
                Some(take) => {
                    let part = understand_part(family, take, &figure.typed(), &typing).taken()?;
                    parts.insert(figure.name.clone(), part);
                }
                None => return certain(understand(family, vehicle, id, &figure.typed(), &typing)),
            }
        }
        derive(family, vehicle, id, parts, &typing)
    }
}

/// What an answer can only mean.
fn certain(answer: Answer<Taken>) -> Result<Taken, String> {
    answer.taken()
}

/// Every measurement that says how it is read from a recording.
pub fn recorded(
    family: &Family,
    vehicle: Option<&Vehicle>,
    drive: &Drive,
    events: &[Event],
) -> Vec<Reading> {
    let measurements = family.measurements.par_iter().enumerate();
    measurements
        .filter_map(|(place, measurement)| {
            let recording = measurement.recording.as_ref()?;
            let window = Window {
                family,
                vehicle,
                drive,
                recording,
            };
            Some(Reading {
                measurement: MeasurementId::at(place),
                found: window.read(measurement, events),
            })
        })
        .collect()
}

/// Where in a drive a measurement is read.
struct Window<'w> {
    family: &'w Family,
    vehicle: Option<&'w Vehicle>,
    drive: &'w Drive,
    recording: &'w Recording,
}

/// What must hold all through a window, for times that go up.
struct Check<'w> {
    before: Cursor<'w>,
    after: Cursor<'w>,
    /// How far from a time its change is judged, in seconds.
    around: f64,
    must: Must<'w>,
}

/// What a signal must do.
enum Must<'w> {
    /// Lie in an interval.
    Lie(Option<Band>),
    /// Be in one of these states.
    Be(&'w [usize]),
    /// Change by at most so much a second.
    Last(f64),
}

impl<'w> Check<'w> {
    fn new(series: &'w Series, must: Must<'w>) -> Self {
        Self {
            before: Cursor::new(series),
            after: Cursor::new(series),
            around: AROUND.max(series.interval),
            must,
        }
    }

    fn holds(&mut self, time: f64) -> bool {
        match &self.must {
            Must::Lie(band) => {
                let value = self.before.at(time);
                band.zip(value)
                    .is_some_and(|(band, value)| band.holds(value))
            }
            Must::Be(states) => {
                let mut states = states.iter().filter_map(|state| u8::try_from(*state).ok());
                self.before.held(time).is_some_and(|held| {
                    states.any(|state| f64::from(state).total_cmp(&held).is_eq())
                })
            }
            Must::Last(most) => {
                let around = self.around;
                let ends = (self.before.at(time - around), self.after.at(time + around));
                matches!(ends, (Some(before), Some(after)) if (after - before).abs() <= 2.0 * around * most)
            }
        }
    }
}

impl Window<'_> {
    fn read(&self, measurement: &Measurement, events: &[Event]) -> Result<Found, String> {
        if let Some(kind) = self.recording.event {
            return self.length(measurement, kind, events);
        }
        match measurement.number() {
            None if self.recording.judged.is_empty() => self.outcome(measurement, events),
            None => self.judged(measurement, &self.windows()?),
            Some(_) => self.numbers(measurement, &self.windows()?),
        }
    }

    fn series(&self, id: SignalId) -> Result<&Series, String> {
        let series = self.drive.signal(id);
        series.ok_or_else(|| format!("no column has the {}", self.title(id)))
    }

    fn title(&self, id: SignalId) -> String {
        self.family.signal(id).title.to_lowercase()
    }

    /// All signals that it needs.
    fn needed(&self) -> Result<Vec<&Series>, String> {
        let reads = self.recording.reads.iter().map(|(_, id)| *id);
        let during = self.recording.during.iter().map(|(id, _)| *id);
        let steady = self.recording.steady.iter().map(|(id, _)| *id);
        reads
            .chain(during)
            .chain(steady)
            .map(|id| self.series(id))
            .collect()
    }

    /// The stretches in which all conditions hold for long enough.
    fn windows(&self) -> Result<Vec<(f64, f64)>, String> {
        let needed = self.needed()?;
        let step = needed
            .iter()
            .map(|series| series.interval)
            .fold(1.0, f64::min)
            .max(FINEST);
        let mut times = Vec::new();
        let mut time = 0.0;
        while time <= self.drive.seconds {
            times.push(time);
            time += step;
        }
        if let Some(most) = self.recording.at_most {
            // However the speeds change meanwhile.
            let mut during = self.checks()?;
            during.truncate(self.recording.during.len());
            let holds = (times.iter())
                .map(|time| (*time, during.iter_mut().all(|check| check.holds(*time))));
            let held = stretches(holds, 2.0 * step).into_iter();
            let longest = held.map(|of| of.to - of.from).fold(0.0, f64::max);
            if longest > most {
                return Err(format!(
                    "it was held for {} s, and {} s are the most",
                    rounded(longest),
                    rounded(most)
                ));
            }
        }
        let reads = self.recording.reads.iter();
        let reads = reads.filter_map(|(_, id)| self.drive.signal(*id));
        let mut reads: Vec<Cursor> = reads.map(Cursor::new).collect();
        let mut checks = self.checks()?;
        let holds = times.iter().map(|time| {
            let known = reads.iter_mut().all(|read| read.at(*time).is_some());
            let holds = known && checks.iter_mut().all(|check| check.holds(*time));
            (*time, holds)
        });
        let stretches = stretches(holds, 2.0 * step);
        let windows = stretches.into_iter().map(|of| (of.from, of.to));
        let windows: Vec<(f64, f64)> = windows
            .filter(|(from, to)| to - from >= self.recording.seconds)
            .collect();
        let in_all: f64 = windows.iter().map(|(from, to)| to - from).sum();
        if windows.is_empty() {
            Err(self.why_none(&times)?)
        } else if in_all < self.recording.in_all {
            Err(format!(
                "it needs {} s of {}, and there are {} s",
                rounded(self.recording.in_all),
                self.conditions().join(", "),
                rounded(in_all)
            ))
        } else {
            Ok(windows)
        }
    }

    /// What must hold, in the order of `conditions`.
    fn checks(&self) -> Result<Vec<Check<'_>>, String> {
        let during = self.recording.during.iter().map(|(id, during)| {
            let must = match during {
                During::Band(band) => Must::Lie(band.on(None, Unit::One).ok()),
                During::States(states) => Must::Be(states),
            };
            Ok(Check::new(self.series(*id)?, must))
        });
        let steady = self.recording.steady.iter();
        let steady = steady.map(|(id, most)| Ok(Check::new(self.series(*id)?, Must::Last(*most))));
        during.chain(steady).collect()
    }

    /// The first condition that does not hold at a time: its place among all of them.
    fn unmet(&self, time: f64) -> Option<usize> {
        let mut checks = self.checks().ok()?;
        checks.iter_mut().position(|check| !check.holds(time))
    }

    /// Why there is no window: what never holds, else that all of it never holds together for long enough.
    fn why_none(&self, times: &[f64]) -> Result<String, String> {
        let mut checks = self.checks()?.into_iter();
        let never = checks.position(|mut check| !times.iter().any(|time| check.holds(*time)));
        Ok(match never {
            Some(place) => self.never(place),
            None => format!(
                "what it needs never holds together for {} s: {}",
                rounded(self.recording.seconds),
                self.conditions().join(", ")
            ),
        })
    }

    fn never(&self, place: usize) -> String {
        let during = &self.recording.during;
        let condition = &self.conditions()[place];
        let extent = during
            .get(place)
            .filter(|(_, during)| matches!(during, During::Band(_)));
        let extent = extent.and_then(|(id, _)| {
            let values = self.drive.signal(*id)?.values();
            let (least, most) = values.fold(
                (f64::INFINITY, f64::NEG_INFINITY),
                |(least, most), value| (least.min(value), most.max(value)),
            );
            Some(format!("; it was {} to {}", rounded(least), rounded(most)))
        });
        format!("never {condition}{}", extent.unwrap_or_default())
    }

    /// What must hold, in words, in the order of `holds`.
    fn conditions(&self) -> Vec<String> {
        let during = self.recording.during.iter().map(|(id, during)| {
            let signal = self.family.signal(*id);
            match during {
                During::Band(band) => {
                    let unit = signal.unit.map_or("", Unit::symbol);
                    format!("{} {band} {unit}", self.title(*id))
                }
                During::States(states) => {
                    let names: Vec<&str> = states
                        .iter()
                        .map(|state| signal.states[*state].0.as_str())
                        .collect();
                    format!("{} in {}", self.title(*id), names.join(" or "))
                }
            }
        });
        let steady = self.recording.steady.iter().map(|(id, most)| {
            let unit = self.family.signal(*id).unit.map_or("", Unit::symbol);
            format!(
                "{} changing by at most {} {unit} a second",
                self.title(*id),
                rounded(*most)
            )
        });
        during.chain(steady).collect()
    }

    /// The numbers of the window, or of the stretch of it that the statistic asks for.
    fn numbers(&self, measurement: &Measurement, windows: &[(f64, f64)]) -> Result<Found, String> {
        self.chosen(measurement, windows, |figures| {
            computed(measurement, figures).map_or(0.0, |of| of.value)
        })
    }

    /// The outcome that numbers of the window stand for: one that they are in with 0.95 or more, normal where they are in none
    /// of them with 0.05 or more.
    fn judged(&self, measurement: &Measurement, windows: &[(f64, f64)]) -> Result<Found, String> {
        let rules = &self.recording.judged;
        let value = |rule: &Judged, figures: &[Figure]| {
            let named = figures.iter().map(|figure| {
                let measured = Measured {
                    value: figure.value,
                    u: figure.u,
                };
                (figure.name.clone(), measured)
            });
            rule.formula.evaluate(&named.collect()).ok()
        };
        let found = self.chosen(measurement, windows, |figures| {
            let first = rules.first().and_then(|rule| value(rule, figures));
            first.map_or(0.0, |of| of.value)
        })?;
        let mut outcome = measurement.normal;
        for rule in rules {
            let Measured { value, u } =
                value(rule, &found.numbers).ok_or("it cannot be computed")?;
            let band = rule.band.on(self.vehicle, rule.unit);
            let band = band.map_err(|missing| missing.to_string())?;
            let inside = weights(Known::Normal { value, u }, &[vec![band]])[0];
            if inside > 1.0 - SETTLED_AT && inside < SETTLED_AT {
                let name = &measurement.outcomes[rule.outcome.index()].name;
                let unit = rule.unit.symbol();
                return Err(format!(
                    "{} ± {} {unit} is too near to the limit of {name}",
                    rounded(value),
                    rounded(2.0 * u)
                ));
            }
            if inside >= SETTLED_AT {
                outcome = rule.outcome;
                break;
            }
        }
        Ok(Found {
            outcome: Some(measurement.outcomes[outcome.index()].name.clone()),
            ..found
        })
    }

    /// The numbers of the longest window, or of the stretch of the windows that the statistic asks for.
    fn chosen(
        &self,
        measurement: &Measurement,
        windows: &[(f64, f64)],
        value: impl Fn(&[Figure]) -> f64,
    ) -> Result<Found, String> {
        let seconds = self.recording.seconds;
        for (_, id) in &self.recording.reads {
            let interval = self.series(*id)?.interval;
            if FEWEST * interval > seconds.max(interval) && FEWEST * interval > longest(windows) {
                return Err(format!(
                    "the {} is sampled every {} s only, too seldom for a window of {} s",
                    self.title(*id),
                    rounded(interval),
                    rounded(longest(windows))
                ));
            }
        }
        let pieces: Vec<(f64, f64)> = match self.recording.takes {
            Statistic::Mean => vec![longest_of(windows)],
            Statistic::Largest | Statistic::Smallest | Statistic::Furthest => windows
                .iter()
                .flat_map(|window| cut(*window, seconds))
                .collect(),
        };
        let mut read: Vec<(f64, (f64, f64), Vec<Figure>)> = Vec::new();
        for piece in pieces {
            let figures = self.figures(measurement, piece)?;
            read.push((value(&figures), piece, figures));
        }
        let order = |a: &f64, b: &f64| match self.recording.takes {
            Statistic::Smallest => b.total_cmp(a),
            Statistic::Furthest => a.abs().total_cmp(&b.abs()),
            Statistic::Mean | Statistic::Largest => a.total_cmp(b),
        };
        let best = read.into_iter().max_by(|a, b| order(&a.0, &b.0));
        let (_, (from, to), numbers) = best.ok_or("no window has a value")?;
        Ok(Found {
            from,
            to,
            numbers,
            outcome: None,
            conditions: self.conditions(),
        })
    }

    fn figures(
        &self,
        measurement: &Measurement,
        (from, to): (f64, f64),
    ) -> Result<Vec<Figure>, String> {
        let reads = self.recording.reads.iter();
        reads
            .map(|(name, id)| {
                let (own, wanted, instrument) = self.units(measurement, name, *id);
                let (value, u) = mean(self.series(*id)?, from, to).ok_or_else(|| {
                    format!("the {} has no sample in the window", self.title(*id))
                })?;
                let value = own.convert(value, wanted).unwrap_or(value);
                let u = own.convert_difference(u, wanted).unwrap_or(u);
                let of = instrument
                    .map(|of| standard_uncertainty(self.family.instrument(of), value, wanted));
                Ok(Figure {
                    name: name.clone(),
                    value,
                    u: u.hypot(of.unwrap_or(0.0)),
                    unit: wanted,
                })
            })
            .collect()
    }

    /// The unit of a signal, the one of the raw reading, and what reads it.
    fn units(
        &self,
        measurement: &Measurement,
        name: &str,
        id: SignalId,
    ) -> (Unit, Unit, Option<InstrumentId>) {
        let signal = self.family.signal(id);
        let number = measurement.number();
        let take = number.and_then(|number| number.takes.iter().find(|take| take.name == name));
        let wanted = take
            .map(|take| take.unit)
            .or_else(|| number.map(|number| number.unit))
            .or_else(|| Some(self.recording.judged.first()?.unit));
        let own = signal.unit.unwrap_or(Unit::One);
        let instrument = take.map_or_else(
            || number.and_then(|number| number.instrument),
            |take| take.instrument,
        );
        (own, wanted.unwrap_or(own), signal.instrument.or(instrument))
    }

    /// The outcome whose event is in the recording, else the normal one, which needs a window.
    fn outcome(&self, measurement: &Measurement, events: &[Event]) -> Result<Found, String> {
        self.needed()?;
        let jumps = self
            .recording
            .outcomes
            .iter()
            .any(|(_, kind)| *kind == EventKind::RatioJump);
        let seen_in = [Role::Primary, Role::Secondary]
            .into_iter()
            .filter(|_| jumps);
        for id in seen_in.filter_map(|role| self.family.signal_for(role)) {
            let interval = self.series(id)?.interval;
            if interval > FOR_JUMPS {
                return Err(format!(
                    "the {} is sampled every {} s only: a jump of the ratio cannot be told from its control",
                    self.title(id),
                    rounded(interval)
                ));
            }
        }
        let found = self.recording.outcomes.iter().find_map(|(outcome, kind)| {
            let event = events.iter().find(|event| event.kind == *kind)?;
            Some((*outcome, (event.from, event.to)))
        });
        let (outcome, (from, to)) = match found {
            Some(found) => found,
            None => (measurement.normal, longest_of(&self.windows()?)),
        };
        Ok(Found {
            from,
            to,
            numbers: Vec::new(),
            outcome: Some(measurement.outcomes[outcome.index()].name.clone()),
            conditions: self.conditions(),
        })
    }

    /// The mean length of the events of a kind.
    fn length(
        &self,
        measurement: &Measurement,
        kind: EventKind,
        events: &[Event],
    ) -> Result<Found, String> {
        self.needed()?;
        let unmet = |event: &&Event| self.unmet(event.from);
        let all: Vec<&Event> = events.iter().filter(|event| event.kind == kind).collect();
        let good: Vec<&&Event> = all.iter().filter(|event| unmet(event).is_none()).collect();
        let (Some(first), Some(last)) = (good.first(), good.last()) else {
            let unmet = all.first().and_then(unmet);
            return Err(match unmet {
                Some(place) => format!(
                    "{} was recorded, but not with {}",
                    kind.title(),
                    self.conditions()[place]
                ),
                None => format!("no {} is in the recording", kind.title()),
            });
        };
        let count = float(good.len());
        let value = good.iter().map(|event| event.value).sum::<f64>() / count;
        // Half of the variance is of when a channel is sampled within its interval, which is the same each time.
        let variance = good.iter().map(|event| event.u * event.u).sum::<f64>() / count;
        let u = (0.5 * variance * (1.0 + 1.0 / count)).sqrt();
        if u > FOR_LENGTHS {
            return Err(format!(
                "the sampling tells it to {} s only",
                rounded(2.0 * u)
            ));
        }
        let unit = measurement
            .number()
            .map_or(Unit::Second, |number| number.unit);
        Ok(Found {
            from: first.from,
            to: last.to,
            numbers: vec![Figure {
                name: "value".to_owned(),
                value: Unit::Second.convert(value, unit).unwrap_or(value),
                u: Unit::Second.convert_difference(u, unit).unwrap_or(u),
                unit,
            }],
            outcome: None,
            conditions: self.conditions(),
        })
    }
}

fn longest_of(windows: &[(f64, f64)]) -> (f64, f64) {
    let longest = windows
        .iter()
        .max_by(|a, b| (a.1 - a.0).total_cmp(&(b.1 - b.0)));
    longest.copied().unwrap_or_default()
}

fn longest(windows: &[(f64, f64)]) -> f64 {
    let (from, to) = longest_of(windows);
    to - from
}

/// A window in pieces of so many seconds.
fn cut((from, to): (f64, f64), seconds: f64) -> Vec<(f64, f64)> {
    let mut pieces = Vec::new();
    let mut at = from;
    while at + seconds <= to {
        pieces.push((at, at + seconds));
        at += seconds / 2.0;
    }
    pieces
}

/// The mean of a signal over a window with its standard uncertainty: the scatter around its trend divided by √n, its
/// resolution, and its trend times when within an interval it was sampled. None without a sample.
fn mean(series: &Series, from: f64, to: f64) -> Option<(f64, f64)> {
    let (times, values) = series.within(from, to);
    let count = float(times.len());
    if times.is_empty() {
        return Some((
            series.at(f64::midpoint(from, to))?,
            series.uncertainty(f64::midpoint(from, to)),
        ));
    }
    let mean = values.iter().sum::<f64>() / count;
    let middle = times.iter().sum::<f64>() / count;
    let trend = slope(&times, &values);
    let scatter = times
        .iter()
        .zip(&values)
        .map(|(time, value)| (value - mean - trend * (time - middle)).powi(2));
    let scatter = scatter.sum::<f64>() / (count - 2.0).max(1.0);
    let resolution = series.resolution / 12.0_f64.sqrt();
    let skew = trend * series.interval / 12.0_f64.sqrt();
    Some((mean, (scatter / count).sqrt().hypot(resolution).hypot(skew)))
}
