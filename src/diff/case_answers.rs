//! What the differences do to the worked cases: each case put to both editions.

use std::collections::BTreeMap;

use serde::{Serialize, Serializer};

use super::names::{Editions, Id, Named, Renames, sorted};
use super::stated::{Facts, case_name};
use super::thing::{Kind, Thing};
use crate::cases::{Believed, play};
use crate::knowledge::{Case, CaseReading, Expect, Knowledge, MeasurementId, SymptomId};

/// From this move of the leading repair's probability on, an answer differs.
pub const MOVED: f64 = 0.05;

/// Where the readings of a case lead.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct CaseAnswer {
    /// The repairs that lead: the most probable group, sorted.
    pub repairs: Vec<String>,
    /// How probable it is that they cure the vehicle, 0 to 1.
    pub probability: f64,
    /// The most believed cause.
    pub cause: Option<String>,
    /// Whether the unlisted cause is above every candidate.
    pub nothing_fits: bool,
}

/// Which edition has a case as it was played.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "lowercase")]
pub enum StandsIn {
    /// The same in both.
    Both,
    /// As the older edition has it.
    Old,
    /// As the newer edition has it.
    New,
}

/// A worked case with another answer. Names are the newer edition's.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct CaseDiffers {
    /// The family.
    pub family: String,
    /// The case: its file, without folder and ending.
    pub case: String,
    /// Which edition has it so.
    pub stands_in: StandsIn,
    /// The answer of the older edition, or why it has none.
    #[serde(serialize_with = "answer_or_why")]
    pub was: Result<CaseAnswer, String>,
    /// The answer of the newer edition, or why it has none.
    #[serde(serialize_with = "answer_or_why")]
    pub now: Result<CaseAnswer, String>,
}

fn answer_or_why<S: Serializer>(
    answer: &Result<CaseAnswer, String>,
    serializer: S,
) -> Result<S::Ok, S::Error> {
    match answer {
        Ok(answer) => answer.serialize(serializer),
        Err(why) => serializer.collect_map([("fails", why)]),
    }
}

/// The cases put to both editions.
#[derive(Clone, Debug, Default, PartialEq, Serialize)]
pub struct CasesPut {
    /// How many were put.
    pub put: usize,
    /// Those whose answers differ.
    pub differ: Vec<CaseDiffers>,
}

/// Every case of both editions, put to both; a case that differs is put as either has it.
pub(super) fn put(
    editions: &Editions<'_>,
    old: &BTreeMap<Thing, Facts>,
    new: &BTreeMap<Thing, Facts>,
) -> CasesPut {
    let none = Renames::default();
    let mut put = CasesPut::default();
    for [was, now] in editions.families() {
        let named = [Named::new(was, &editions.renames), Named::new(now, &none)];
        let cases = [&named[0], &named[1]].map(by_name);
        let mut posed: BTreeMap<(&String, StandsIn), &Case> = BTreeMap::new();
        for (side, cases) in cases.iter().enumerate() {
            for (name, case) in cases {
                let thing = Thing::new(Kind::Case, Some(&now.name), name);
                let same = old.get(&thing) == new.get(&thing);
                let stands = match side {
                    _ if same => StandsIn::Both,
                    0 => StandsIn::Old,
                    _ => StandsIn::New,
                };
                posed.insert((name, stands), case);
            }
        }
        put.put += posed.len();
        for ((name, stands_in), case) in posed {
            // One that is the same in both is the newer edition's.
            let from = &named[usize::from(stands_in != StandsIn::Old)];
            let [was, now] = [(editions.old, &named[0]), (editions.new, &named[1])]
                .map(|(edition, to)| answer(edition, to, &carried(case, from, to, edition)?));
            if differ(&was, &now) {
                let (family, case) = (named[1].name.clone(), name.clone());
                put.differ.push(CaseDiffers {
                    family,
                    case,
                    stands_in,
                    was,
                    now,
                });
            }
        }
    }
    put
}

fn by_name<'k>(named: &Named<'k>) -> BTreeMap<String, &'k Case> {
    let cases = named.family.cases.iter();
    cases
        .map(|case| (named.name(Kind::Case, case_name(case)), case))
        .collect()
}

/// The answer of an edition; conditions are not asked.
fn answer(knowledge: &Knowledge, named: &Named<'_>, case: &Case) -> Result<CaseAnswer, String> {
    let run = play(knowledge, named.family, case);
    let Some(answer) = run.answer else {
        let faults: Vec<String> = run.faults.iter().map(ToString::to_string).collect();
        return Err(faults.join("; "));
    };
    let (repairs, probability) = most(Kind::Repair, named, answer.repairs).unwrap_or_default();
    let cause = most(Kind::Cause, named, answer.causes);
    Ok(CaseAnswer {
        repairs,
        probability,
        cause: cause.map(|(causes, _)| causes.join(" + ")),
        nothing_fits: answer.nothing_fits,
    })
}

/// The most probable, the first by name of equals.
fn most(kind: Kind, named: &Named<'_>, of: Vec<Believed>) -> Option<(Vec<String>, f64)> {
    let renamed = |one: Believed| {
        let names = one.names.iter().map(|name| named.name(kind, name));
        (sorted(names.collect()), one.probability)
    };
    let first = |a: &(Vec<String>, f64), b: &(Vec<String>, f64)| {
        b.1.total_cmp(&a.1).then_with(|| a.0.cmp(&b.0))
    };
    of.into_iter().map(renamed).min_by(first)
}

/// Whether two answers are worth telling apart.
fn differ(was: &Result<CaseAnswer, String>, now: &Result<CaseAnswer, String>) -> bool {
    match (was, now) {
        (Ok(was), Ok(now)) => {
            was.repairs != now.repairs
                || was.nothing_fits != now.nothing_fits
                || (was.probability - now.probability).abs() >= MOVED
        }
        (was, now) => was.is_ok() || now.is_ok(),
    }
}

/// A case of one edition in the ids of another; what it expects does not go along.
fn carried(
    case: &Case,
    from: &Named<'_>,
    to: &Named<'_>,
    knowledge: &Knowledge,
) -> Result<Case, String> {
    let symptoms = |ids: &[SymptomId]| -> Result<Vec<SymptomId>, String> {
        let known = to.family.symptoms.len();
        ids.iter()
            .map(|id| same(*id, from, to, (0..known).map(SymptomId::at)))
            .collect()
    };
    let reading = |reading: &CaseReading| {
        let known = (0..to.family.measurements.len()).map(MeasurementId::at);
        let measurement = same(reading.measurement, from, to, known)?;
        let (was, now) = (
            from.family.measurement(reading.measurement),
            to.family.measurement(measurement),
        );
        // Only an outcome is called otherwise; a number with its unit stays as it was typed.
        let outcome = was
            .outcome(&reading.value)
            .map(|_| from.outcome(was, &reading.value));
        let called = outcome.map(|name| {
            let same = now
                .outcomes
                .iter()
                .find(|other| to.outcome(now, &other.name) == name);
            same.map_or(name, |other| other.name.clone())
        });
        Ok(CaseReading {
            measurement,
            value: called.unwrap_or_else(|| reading.value.clone()),
            parts: reading.parts.clone(),
        })
    };
    let vehicle = |name: &String| {
        let name = from.vehicle(name);
        let same = knowledge
            .vehicles
            .iter()
            .find(|other| to.vehicle(&other.name) == name);
        same.map(|vehicle| vehicle.name.clone())
            .ok_or_else(|| format!("there is no vehicle {name}"))
    };
    Ok(Case {
        symptoms: symptoms(&case.symptoms)?,
        absent: symptoms(&case.absent)?,
        vehicle: case.vehicle.as_ref().map(vehicle).transpose()?,
        readings: case
            .readings
            .iter()
            .map(reading)
            .collect::<Result<_, String>>()?,
        first: None,
        expect: Expect::Unlisted,
        ..case.clone()
    })
}

/// The id of the same entry in another edition.
fn same<I: Id>(
    id: I,
    from: &Named<'_>,
    to: &Named<'_>,
    mut known: impl Iterator<Item = I>,
) -> Result<I, String> {
    let name = from.one(id);
    known
        .find(|other| to.one(*other) == name)
        .ok_or_else(|| format!("there is no {} {name}", I::KIND.word()))
}
