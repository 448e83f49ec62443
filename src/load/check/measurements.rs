//! Measurements: what they need, what their outcomes are, and what each cause does to them.

use std::collections::BTreeMap;

use super::bands::Use;
use super::instruments::Instruments;
use super::known::{Known, in_order};
use super::outcomes::{abnormal, by_outcome, named, outcome};
use super::{reading, signals, trees, values};
use crate::entry::folded;
use crate::knowledge::{
    CauseId, Chance, Measurement, Outcome, OutcomeId, Rest, Row, Signal, Timed, Unless, defaults,
};
use crate::load::folder::RawFamily;
use crate::load::log::{Log, say};
use crate::load::raw::measurements as raw;
use crate::load::value::{Entries, Entry, Items, Placed};
use crate::units::Probability;

/// The outcome that is normal where a reading does not say another.
const NORMAL: &str = "normal";
/// The key under which `words` lists what can mean several outcomes.
const UNCLEAR: &str = "unclear";
/// A lag is timed at most so many times.
const MOST_TRIES: u64 = 9;
/// The longest that anything is timed, in seconds.
const LONGEST: f64 = 3600.0;
/// A sum of figures may exceed 1 by so much: they are decimal fractions, added in binary.
const SLACK: f64 = 1e-9;

/// The measurements of a family; `read` are the signals of its recordings.
pub(super) fn measurements<'r>(
    raw: &'r RawFamily,
    read: &[Signal],
    known: &Known<'_>,
    instruments: &mut Instruments,
    uses: &mut Vec<Use<'r>>,
) -> Vec<Measurement> {
    in_order(&known.measurements, raw.measured(), |entry, given| {
        let mut measurement = one(entry, given, known, instruments, uses)?;
        measurement.recording = (given.recording.as_ref())
            .map(|recording| signals::recording(recording, &measurement, read, known));
        Some(measurement)
    })
}

fn one<'r>(
    entry: &'r Entry<raw::Measurement>,
    measurement: &'r raw::Measurement,
    known: &Known<'_>,
    instruments: &mut Instruments,
    uses: &mut Vec<Use<'r>>,
) -> Option<Measurement> {
    let before = uses.len();
    // What does not depend on the reading is checked also where the reading is wrong.
    let set_ups = known.set_ups.ids(&measurement.set_ups);
    let after = known.measurements.ids(&measurement.after);
    let along = known.measurements.ids(&measurement.along);
    let conditions = known.conditions.ids(&measurement.conditions);
    let cautions = known.cautions.ids(&measurement.cautions);
    let unread = known.cautions.ids(&measurement.unread);
    let offered_for = measurement.offered_for.as_ref();
    let offered_for = offered_for.map(|names| known.symptoms.ids(names));
    let timed = measurement
        .timed
        .as_ref()
        .map(|given| timed(given, known.log));
    let reading::Answer {
        reading,
        mut outcomes,
    } = reading::answer(&entry.name, measurement, known, instruments, uses)?;
    if uses.len() == before && !measurement.limits.0.is_empty() {
        uses.push(Use::new(&entry.name, None, Vec::new(), false));
    }
    if let Some(last) = uses.last_mut().filter(|_| !measurement.limits.0.is_empty()) {
        last.shown.extend(measurement.limits.iter());
    }
    if outcomes.len() < 2 {
        say!(known.log, measurement.reading.spot; FewOutcomes,
            "`{}` has {} outcome: it can tell nothing", entry.name, outcomes.len() =>
            "give it the normal outcome and at least one other");
    }
    let normal = normal(measurement, &outcomes, known.log)?;
    let sets = by_outcome(&measurement.sets, &outcomes, known.log, |names| {
        Some(known.set_ups.ids(names))
    });
    let finds = by_outcome(&measurement.finds, &outcomes, known.log, |names| {
        Some(known.causes.ids(names))
    });
    let ruled_out = by_outcome(&measurement.ruled_out, &outcomes, known.log, |names| {
        Some(known.cautions.ids(names))
    });
    let unclear = words(&measurement.words, &mut outcomes, known.log);
    heard(measurement, &mut outcomes, known);
    let shows = shows(measurement, &outcomes, normal, known);
    let chance = chance(measurement, &outcomes, normal, known.log);
    Some(Measurement {
        name: entry.name.clone(),
        formerly: known.measurements.former(&measurement.formerly),
        title: measurement.title.clone(),
        ask: measurement.ask.clone(),
        reading,
        outcomes,
        normal,
        set_ups,
        after,
        unless: Unless::default(),
        along,
        sets,
        unclear,
        told_by: measurement.told_by,
        only_then: measurement.only_then,
        finds,
        conditions,
        minutes: measurement.minutes,
        cautions,
        unread,
        ruled_out,
        offered_for,
        limits: measurement
            .limits
            .iter()
            .map(|limit| limit.value.clone())
            .collect(),
        note: measurement.note.clone(),
        steps: measurement.steps.to_vec(),
        shows,
        chance,
        rest: measurement.rest.unwrap_or(Rest::Normal),
        repeat: measurement.repeat,
        timed: timed.flatten(),
        recording: None,
        source: measurement.source.clone(),
    })
}

fn timed(given: &raw::Timed, log: &Log<'_>) -> Option<Timed> {
    let Placed { value: test, spot } = match given {
        raw::Timed::Once(_) => return Some(Timed::Lag { tries: 1 }),
        raw::Timed::Test(test) => &**test,
    };
    let raw::Stall {
        limit,
        warn,
        cool_down,
    } = match (&test.stall, &test.lag) {
        (Some(stall), None) => stall,
        (None, Some(lag)) => return tries(lag.tries, log),
        _ => {
            say!(log, *spot; MissingField, "`stall` or `lag` belongs here, one of the two");
            return None;
        }
    };
    for seconds in [limit, cool_down] {
        if !(seconds.value > 0.0 && seconds.value <= LONGEST) {
            say!(log, seconds.spot; BadNumber, "{} seconds cannot be timed", seconds.value =>
                "it is above 0 and at most an hour");
        }
    }
    if let Some(warn) = warn
        && !(warn.value > 0.0 && warn.value <= limit.value)
    {
        say!(log, warn.spot; BadNumber, "a warning after {} seconds is not possible", warn.value =>
            "it is above 0 and not above the limit");
    }
    Some(Timed::Stall {
        limit: limit.value,
        warn: warn.map(|warn| warn.value),
        cool_down: cool_down.value,
    })
}

/// How many times a lag is timed.
fn tries(given: Placed<f64>, log: &Log<'_>) -> Option<Timed> {
    let tries = values::whole(given.value, 1..=MOST_TRIES).and_then(|tries| tries.try_into().ok());
    if tries.is_none() {
        say!(log, given.spot; BadNumber, "{} tries are not possible", given.value =>
            "it is a whole number from 1 to {MOST_TRIES}");
    }
    tries.map(|tries| Timed::Lag { tries })
}

/// What else is typed for each outcome; gives what can mean several. A word belongs to one outcome.
fn words(
    given: &Entries<Items<Placed<String>>>,
    outcomes: &mut [Outcome],
    log: &Log<'_>,
) -> Vec<String> {
    let mut unclear = Vec::new();
    if given.0.is_empty() {
        return unclear;
    }
    let mut said: BTreeMap<String, String> = outcomes
        .iter()
        .map(|outcome| (folded(&outcome.name), outcome.name.clone()))
        .collect();
    for entry in &given.0 {
        let Some(names) = &entry.value else { continue };
        let own = named(outcomes, &entry.name);
        if own.is_none() && entry.name != UNCLEAR {
            outcome(outcomes, &entry.name, entry.spot, log);
            continue;
        }
        for Placed { value: word, spot } in names.iter() {
            let other = said.insert(folded(word), entry.name.clone());
            if let Some(other) = other.filter(|other| *other != entry.name) {
                say!(log, *spot; DuplicateName, "`{word}` stands for `{other}` already" =>
                    "what can mean either stands under `unclear`");
            }
            match own {
                Some(outcome) => outcomes[outcome.index()].words.push(word.clone()),
                None => unclear.push(word.clone()),
            }
        }
    }
    unclear
}

/// The patterns of a customer's words that tell each outcome.
fn heard(measurement: &raw::Measurement, outcomes: &mut [Outcome], known: &Known<'_>) {
    if measurement.told_by.is_none() {
        for entry in &measurement.heard.0 {
            say!(known.log, entry.spot; MissingField, "this is not answered on the customer's word" =>
                "add `told_by: customer`, or take `heard` out");
        }
    }
    let patterns = |items: &_| Some(trees::patterns(items, known));
    for (outcome, patterns) in by_outcome(&measurement.heard, outcomes, known.log, patterns) {
        outcomes[outcome.index()].heard = patterns;
    }
}

fn normal(
    measurement: &raw::Measurement,
    outcomes: &[Outcome],
    log: &Log<'_>,
) -> Option<OutcomeId> {
    let Placed {
        value: reading,
        spot,
    } = &measurement.reading;
    if let Some(name) = &reading.normal {
        return outcome(outcomes, &name.value, name.spot, log);
    }
    let found = named(outcomes, NORMAL);
    if found.is_none() {
        let names = outcomes.iter().map(|outcome| outcome.name.as_str());
        let misspelt = log.nearest(NORMAL, names);
        say!(log, *spot; NoNormal, "none of the outcomes is called `normal`" =>
            "name the outcome of a vehicle without any of the causes: `normal: free` in the reading";
            misspelt.map(|_| NORMAL.to_owned()));
    }
    found
}

fn shows(
    measurement: &raw::Measurement,
    outcomes: &[Outcome],
    normal: OutcomeId,
    known: &Known<'_>,
) -> BTreeMap<CauseId, Row> {
    let mut rows: BTreeMap<CauseId, Row> = BTreeMap::new();
    let mut sums: BTreeMap<CauseId, f64> = BTreeMap::new();
    for shown in &measurement.shows.0 {
        let outcome = abnormal(outcomes, normal, &shown.name, shown.spot, known.log);
        for figure in shown.value.iter().flat_map(|figures| &figures.0) {
            let cause = known.causes.find_at(&figure.name, figure.spot);
            let Some(number) = figure.value else { continue };
            let probability =
                values::probability(number, "how often a cause gives an outcome", known.log);
            let (Some(outcome), Some(cause)) = (outcome, cause) else {
                continue;
            };
            rows.entry(cause)
                .or_default()
                .0
                .insert(outcome, probability);
            let sum = sums.entry(cause).or_default();
            let before = *sum;
            *sum += probability.get();
            if *sum > 1.0 + SLACK && before <= 1.0 + SLACK {
                say!(known.log, number.spot; RowAboveOne,
                    "the figures of `{}` add up to {} by here", figure.name, crate::text::plain(*sum) =>
                    "over all outcomes they add up to at most 1; what is left is normal");
            }
        }
    }
    rows
}

/// How it reads with none of the named causes: by outcome, the normal one taking the rest.
fn chance(
    measurement: &raw::Measurement,
    outcomes: &[Outcome],
    normal: OutcomeId,
    log: &Log<'_>,
) -> Chance {
    let mut row: Vec<Option<Probability>> = vec![None; outcomes.len()];
    let mut last = measurement.reading.spot;
    for stated in &measurement.chance.0 {
        let outcome = abnormal(outcomes, normal, &stated.name, stated.spot, log);
        let Some(number) = stated.value else { continue };
        let probability = values::probability(number, "chance", log);
        if let Some(outcome) = outcome {
            row[outcome.index()] = Some(probability);
            last = number.spot;
        }
    }
    let default = Probability::nearest(defaults::CHANCE);
    let mut chance: Vec<Probability> = row
        .into_iter()
        .map(|stated| stated.unwrap_or(default))
        .collect();
    chance[normal.index()] = Probability::ZERO;
    let sum: f64 = chance.iter().map(|probability| probability.get()).sum();
    if sum > 1.0 + SLACK {
        say!(log, last; ChanceAboveOne,
            "the chance of the abnormal outcomes adds up to {}", crate::text::plain(sum) =>
            "it adds up to at most 1; an outcome that is not stated counts {}", defaults::CHANCE);
    }
    chance[normal.index()] = Probability::nearest(1.0 - sum);
    Chance(chance)
}
