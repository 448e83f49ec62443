//! The parts of a sheet: a reading, a repair, what was set aside.

use std::collections::BTreeMap;

use jiff::Timestamp;
use serde::Serialize;

use crate::drawing::{Mark, Span};
use crate::infer::bands_on;
use crate::knowledge::{Family, Measurement, Vehicle};
use crate::record::{self, Entry, Event, State, Taken};
use crate::session::{LimitShown, Session};
use crate::text::figures::rounded;
use crate::units::Unit;
use crate::units::conformity::Band;

/// A reading of the job.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Reading {
    /// Its number, from 1.
    pub number: usize,
    /// When it was recorded.
    pub time: Timestamp,
    /// The measurement's id.
    pub measurement: String,
    /// What was measured.
    pub title: String,
    /// What was typed.
    pub typed: String,
    /// The number it was understood as, with its unit and uncertainty; none for an answer in words.
    pub value: Option<String>,
    /// The raw readings that the number was computed from.
    pub parts: Vec<Typed>,
    /// The trouble codes, where codes were read.
    pub codes: Option<Vec<String>>,
    /// What it means.
    pub outcome: String,
    /// How sure that is, from 0 to 1, given the instrument.
    pub certainty: f64,
    /// Whether a vehicle without a fault reads so.
    pub normal: bool,
    /// The instrument.
    pub instrument: Option<String>,
    /// The conditions under which it was taken.
    pub conditions: Vec<Met>,
    /// The limits that judge it, and their sources.
    pub limits: Vec<LimitShown>,
    /// The number on its bands.
    pub mark: Option<Mark>,
    /// Whether it counts.
    pub counts: bool,
    /// Why it does not count.
    pub why_not: Option<String>,
    /// The number of the later reading that replaces it.
    pub replaced_by: Option<usize>,
    /// The minutes it takes by the knowledge, with what was set up for it.
    pub expected_minutes: f64,
    /// The minutes by the clock since what was recorded before it on the sheet.
    pub clock_minutes: f64,
}

/// A raw reading.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Typed {
    /// Its name.
    pub name: String,
    /// What was typed.
    pub typed: String,
}

/// A condition, and what was found about it.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Met {
    /// The question.
    pub question: String,
    /// The answer.
    pub answer: String,
    /// Whether the condition held.
    pub holds: bool,
}

/// A measurement that was set aside.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct SetAsideOn {
    /// When.
    pub time: Timestamp,
    /// What is measured.
    pub title: String,
    /// Passed over, or not possible.
    pub how: String,
    /// Why, in the technician's words.
    pub why: Option<String>,
}

/// A repair that was done.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct RepairDone {
    /// When it was said to be done.
    pub time: Timestamp,
    /// What was done.
    pub titles: Vec<String>,
    /// The causes it was done for.
    pub causes: Vec<String>,
    /// How probable it was that it would cure, from 0 to 1.
    pub probability: f64,
    /// The price of the parts by the knowledge, in the shop's currency.
    pub parts: f64,
    /// The minutes it takes by the knowledge.
    pub expected_minutes: f64,
    /// The minutes by the clock since what was recorded before it on the sheet.
    pub clock_minutes: f64,
    /// Whether it cured the complaint; none where that is not said yet.
    pub cured: Option<bool>,
    /// What proves it.
    pub proofs: Vec<Proof>,
}

/// Something that proves a repair.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Proof {
    /// What was read or confirmed.
    pub title: String,
    /// What it read before the repair.
    pub before: Option<String>,
    /// What was typed.
    pub typed: String,
    /// What it read after the repair.
    pub after: String,
    /// Whether that is what a mended vehicle gives.
    pub as_expected: bool,
}

/// What the parts are made from.
pub(super) struct Source<'s> {
    pub(super) session: &'s Session<'s>,
    pub(super) family: &'s Family,
    pub(super) vehicle: Option<&'s Vehicle>,
    pub(super) state: &'s State,
    /// The number of the reading on each line.
    pub(super) number_of: &'s BTreeMap<u64, usize>,
}

/// Minutes by the knowledge and by the clock.
pub(super) struct Took {
    pub(super) expected: f64,
    pub(super) clock: f64,
}

impl Source<'_> {
    fn known(&self, name: &str) -> Option<&Measurement> {
        let id = self.family.measurement_known_as(name)?;
        Some(self.family.measurement(id))
    }

    /// A reading; `found` is the last word on each condition when it was taken.
    pub(super) fn reading(
        &self,
        taken: &Taken,
        found: &BTreeMap<String, record::Condition>,
        took: &Took,
    ) -> Reading {
        let reading = &taken.reading;
        let id = self.family.measurement_known_as(&reading.measurement);
        let known = id.map(|id| self.family.measurement(id));
        let outcome = known.and_then(|known| Some((known, known.outcome(&reading.outcome)?)));
        let instrument = reading.instrument.as_ref().map(|name| {
            let id = self.family.instrument_named(name);
            id.map_or_else(
                || name.clone(),
                |id| self.family.instrument(id).title.clone(),
            )
        });
        Reading {
            number: self.number_of.get(&taken.line).copied().unwrap_or(0),
            time: taken.time,
            measurement: reading.measurement.clone(),
            title: known.map_or_else(|| reading.measurement.clone(), |known| known.title.clone()),
            typed: reading.raw.clone(),
            value: self.value(reading, known),
            parts: reading.values.iter().map(typed).collect(),
            codes: reading.codes.clone(),
            outcome: outcome.map_or_else(
                || reading.outcome.replace('-', " "),
                |(known, id)| known.outcomes[id.index()].words(),
            ),
            certainty: reading
                .weights
                .get(&reading.outcome)
                .copied()
                .unwrap_or(1.0),
            normal: outcome.is_some_and(|(known, id)| known.normal == id),
            instrument,
            conditions: known.map_or_else(Vec::new, |known| self.conditions(known, found)),
            limits: id.map_or_else(Vec::new, |id| self.session.limits(id)),
            mark: known.and_then(|known| self.mark(reading, known)),
            counts: reading.counts,
            why_not: reading.why_not.clone(),
            replaced_by: taken
                .replaced_by
                .and_then(|line| self.number_of.get(&line).copied()),
            expected_minutes: took.expected,
            clock_minutes: took.clock,
        }
    }

    /// The unit that a measurement is shown in.
    fn shown_in(&self, known: Option<&Measurement>) -> Option<Unit> {
        let number = known?.number()?;
        Some(number.unit.shown_in(self.session.system()))
    }

    /// A number in the unit it was typed in, and in the one its limits are shown in.
    fn value(&self, reading: &record::Reading, known: Option<&Measurement>) -> Option<String> {
        let (value, symbol) = (reading.value?, reading.unit.as_deref()?);
        let with = |value: String, u: Option<f64>, symbol: &str| match u {
            Some(u) if u > 0.0 => format!("{value} ± {} {symbol}", rounded(u)),
            _ => format!("{value} {symbol}"),
        };
        let typed = with(rounded(value), reading.uncertainty, symbol);
        let shown = self.shown_in(known)?;
        let unit = Unit::named(symbol, shown.dimension());
        let other = unit.filter(|unit| *unit != shown).and_then(|unit| {
            let value = unit.convert(value, shown)?;
            let u = reading.uncertainty;
            let u = u.and_then(|u| unit.convert_difference(u, shown.of_differences()));
            Some(with(rounded(value), u, shown.symbol()))
        });
        Some(other.map_or(typed.clone(), |other| format!("{typed} = {other}")))
    }

    /// The conditions of a measurement and of what it needs in place.
    fn conditions(
        &self,
        known: &Measurement,
        found: &BTreeMap<String, record::Condition>,
    ) -> Vec<Met> {
        let set_ups = known.set_ups.iter().map(|id| self.family.set_up(*id));
        let all = set_ups
            .flat_map(|set_up| &set_up.conditions)
            .chain(&known.conditions);
        let mut met: Vec<Met> = Vec::new();
        for id in all {
            let condition = self.family.condition(*id);
            let Some(found) = found.get(&condition.name) else {
                continue;
            };
            let answer = match (found.value, &found.unit) {
                (Some(value), Some(unit)) => format!("{} {unit}", rounded(value)),
                _ if found.holds => "yes".to_owned(),
                _ => "no".to_owned(),
            };
            let of = Met {
                question: condition.ask.clone(),
                answer,
                holds: found.holds,
            };
            if !met.contains(&of) {
                met.push(of);
            }
        }
        met
    }

    /// A number on its bands, in the unit its limits are shown in.
    fn mark(&self, reading: &record::Reading, known: &Measurement) -> Option<Mark> {
        let shown = self.shown_in(Some(known))?;
        let read_in = Unit::named(reading.unit.as_deref()?, shown.dimension())?;
        let u = reading.uncertainty;
        Some(Mark {
            value: Some(read_in.convert(reading.value?, shown)?),
            uncertainty: u
                .and_then(|u| read_in.of_differences().convert(u, shown.of_differences())),
            ..bands(known, self.vehicle, shown)?
        })
    }

    /// A repair, without what comes after it.
    pub(super) fn repair(
        &self,
        time: Timestamp,
        repair: &record::Repair,
        took: &Took,
    ) -> RepairDone {
        let family = self.family;
        let ids = repair
            .repairs
            .iter()
            .map(|name| (name, family.repair_known_as(name)));
        let ids: Vec<_> = ids.collect();
        let causes = repair.causes.iter().map(|name| {
            let id = family.cause_known_as(name);
            id.map_or_else(|| name.clone(), |id| family.cause(id).title.clone())
        });
        let known = ids.iter().filter_map(|(_, id)| *id);
        RepairDone {
            time,
            titles: ids
                .iter()
                .map(|(name, id)| {
                    id.map_or_else(|| (*name).clone(), |id| family.repair(id).title.clone())
                })
                .collect(),
            causes: causes.collect(),
            probability: repair.probability,
            parts: known.map(|id| family.repair(id).parts.get()).sum(),
            expected_minutes: took.expected,
            clock_minutes: took.clock,
            cured: None,
            proofs: Vec::new(),
        }
    }

    /// What proves a repair that was recorded on `line`.
    pub(super) fn proof(&self, verification: &record::Verification, line: u64) -> Proof {
        let known = self.known(&verification.measurement);
        let words = |outcome: &str| {
            let of = known.and_then(|known| Some(&known.outcomes[known.outcome(outcome)?.index()]));
            of.map_or_else(
                || outcome.replace('-', " "),
                crate::knowledge::Outcome::words,
            )
        };
        let before = self.state.readings.iter().rev().find(|taken| {
            taken.line < line && taken.reading.measurement == verification.measurement
        });
        Proof {
            title: known.map_or_else(|| verification.measurement.clone(), |of| of.title.clone()),
            before: before.map(|taken| words(&taken.reading.outcome)),
            typed: verification.raw.clone(),
            after: words(&verification.outcome),
            as_expected: verification.as_expected,
        }
    }

    /// What was set aside and neither taken up nor read since.
    pub(super) fn set_aside(&self) -> Vec<SetAsideOn> {
        let mut list: Vec<_> = self.state.set_aside.values().collect();
        list.sort_by_key(|dated| dated.line);
        list.into_iter()
            .map(|dated| SetAsideOn {
                time: dated.time,
                title: self.known(&dated.what.measurement).map_or_else(
                    || dated.what.measurement.clone(),
                    |known| known.title.clone(),
                ),
                how: match dated.what.how {
                    record::SetAsideHow::Skipped => "passed over",
                    record::SetAsideHow::NotPossible => "not possible here",
                }
                .to_owned(),
                why: dated.what.why.clone(),
            })
            .collect()
    }
}

fn typed((name, part): (&String, &record::PartReading)) -> Typed {
    Typed {
        name: name.clone(),
        typed: part.raw.clone(),
    }
}

/// The entries that were not taken back, without those that took others back.
pub(super) fn standing(entries: &[Entry], state: &State) -> Vec<Entry> {
    let stands = |entry: &&Entry| {
        let takes_back = matches!(entry.event, Event::Back { .. } | Event::Withdrawn { .. });
        !takes_back && !state.taken_back.contains(&entry.line)
    };
    entries.iter().filter(stands).cloned().collect()
}

/// The bands that judge a measurement on a vehicle, in a unit; none where no number is measured, or a limit is missing.
pub fn bands(known: &Measurement, vehicle: Option<&Vehicle>, shown: Unit) -> Option<Mark> {
    let own = known.number()?.unit;
    let bands = bands_on(known, vehicle).ok()?;
    let named = known.outcomes.iter().zip(bands).enumerate();
    let spans = named.flat_map(|(place, (outcome, bands))| {
        let converted = bands
            .into_iter()
            .filter_map(|band| band.converted(own, shown));
        let span = move |band: Band| Span {
            outcome: outcome.words(),
            normal: known.normal.index() == place,
            from: band.from.map(|end| end.at),
            to: band.to.map(|end| end.at),
        };
        converted.map(span).collect::<Vec<_>>()
    });
    Some(Mark {
        unit: shown.symbol().to_owned(),
        value: None,
        uncertainty: None,
        spans: spans.collect(),
    })
}
