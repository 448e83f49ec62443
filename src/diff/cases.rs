//! What the differences do to the worked cases: each case put to both editions.

use std::collections::BTreeMap;

use serde::{Serialize, Serializer};

use super::answers::sorted;
use super::edition::Entries;
use super::kind::{Kind, Thing};
use crate::cases::play;
use crate::knowledge::{Case, CaseReading, Expect, Family, Id, Knowledge};

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
    families: &[[&Family; 2]],
    editions: [&Knowledge; 2],
    [stated_was, stated_now]: &[Entries; 2],
) -> CasesPut {
    let mut put = CasesPut::default();
    for [was, now] in families {
        let mut posed: BTreeMap<(&str, StandsIn), &Case> = BTreeMap::new();
        for (family, stands) in [(was, StandsIn::Old), (now, StandsIn::New)] {
            for case in &family.cases {
                let name = case.name.as_str();
                let thing = Thing::new(Kind::WorkedCase, Some(&now.name), name);
                let same = stated_was.get(&thing) == stated_now.get(&thing);
                posed.insert((name, if same { StandsIn::Both } else { stands }), case);
            }
        }
        put.put += posed.len();
        for ((name, stands_in), case) in posed {
            // One that is the same in both is the newer edition's.
            let from = if stands_in == StandsIn::Old { was } else { now };
            let [before, after] = [(editions[0], was), (editions[1], now)]
                .map(|(edition, to)| answer(edition, to, &carried(case, from, to, edition)?));
            if differ(&before, &after) {
                put.differ.push(CaseDiffers {
                    family: now.name.clone(),
                    case: name.to_owned(),
                    stands_in,
                    was: before,
                    now: after,
                });
            }
        }
    }
    put
}

/// The answer of an edition; conditions are not asked.
fn answer(knowledge: &Knowledge, family: &Family, case: &Case) -> Result<CaseAnswer, String> {
    let run = play(knowledge, family, case);
    let Some(answer) = run.answer else {
        let faults: Vec<String> = run.faults.iter().map(ToString::to_string).collect();
        return Err(faults.join("; "));
    };
    let leads = answer.repairs.into_iter().next();
    let cause = answer.causes.into_iter().next();
    Ok(CaseAnswer {
        probability: leads.as_ref().map_or(0.0, |leads| leads.probability),
        repairs: sorted(leads.map_or_else(Vec::new, |leads| leads.names)),
        cause: cause.map(|cause| cause.names.join(" + ")),
        nothing_fits: answer.nothing_fits,
    })
}

/// Whether two answers are worth telling apart.
fn differ(was: &Result<CaseAnswer, String>, now: &Result<CaseAnswer, String>) -> bool {
    match (was, now) {
        // Whatever leads then, the answer is the same.
        (Ok(was), Ok(now)) if was.nothing_fits && now.nothing_fits => false,
        (Ok(was), Ok(now)) => {
            was.repairs != now.repairs
                || was.nothing_fits != now.nothing_fits
                || (was.probability - now.probability).abs() >= MOVED
        }
        (was, now) => was.is_ok() || now.is_ok(),
    }
}

/// A case of one edition in the ids of another; what it expects does not go along.
fn carried(case: &Case, from: &Family, to: &Family, edition: &Knowledge) -> Result<Case, String> {
    let mut carried = Case {
        first: None,
        not_before: Vec::new(),
        expect: Expect::Unlisted,
        ..case.clone()
    };
    for CaseReading { measurement, .. } in &mut carried.readings {
        *measurement = same(*measurement, from, to)?;
    }
    for symptom in carried.symptoms.iter_mut().chain(&mut carried.absent) {
        *symptom = same(*symptom, from, to)?;
    }
    match &case.vehicle {
        Some(name) if edition.vehicle(name).is_none() => Err(format!("there is no vehicle {name}")),
        _ => Ok(carried),
    }
}

/// The id by which another edition knows the same.
fn same<I: Id>(id: I, from: &Family, to: &Family) -> Result<I, String> {
    let name = id.name_in(from);
    I::known_as(to, name).ok_or_else(|| format!("there is no {} {name}", I::KIND))
}
