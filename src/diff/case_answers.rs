//! What the differences do to the worked cases: each case put to both editions.

use std::collections::BTreeMap;

use super::answers::sorted;
use super::changes::Sameness;
use super::facts;
use super::names::{Named, Renames, outcome_key};
use super::thing::Kind;
use crate::infer::{Answer, Complaint, Evidence, Model, Part, derive, understand, understand_part};
use crate::knowledge::{Case, CaseReading, Family, Knowledge, MeasurementId};

/// From this move of the leading repair's probability on, an answer differs.
pub const MOVED: f64 = 0.05;

/// The answer that the readings of a case lead to.
#[derive(Clone, Debug, PartialEq)]
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

/// In which edition a case stands as it was put.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum StandsIn {
    /// The same in both.
    Both,
    /// As the older edition has it.
    Old,
    /// As the newer edition has it.
    New,
}

/// A worked case with another answer. Names are the newer edition's.
#[derive(Clone, Debug, PartialEq)]
pub struct CaseDiffers {
    /// The family.
    pub family: String,
    /// The case: its file, without folder and ending.
    pub case: String,
    /// Where it stands so.
    pub stands_in: StandsIn,
    /// The answer of the older edition, or why it has none.
    pub was: Result<CaseAnswer, String>,
    /// The answer of the newer edition, or why it has none.
    pub now: Result<CaseAnswer, String>,
}

/// The cases put to both editions.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct CasesPut {
    /// How many were put.
    pub put: usize,
    /// Those whose answers differ.
    pub differ: Vec<CaseDiffers>,
}

/// The answer that the symptoms and readings of a case lead to.
///
/// Readings are understood as at the prompt and all count; what must hold for a reading to count is
/// not asked.
///
/// # Errors
///
/// Words where the case cannot be put: no set of causes fits, or a reading is not understood.
pub fn answer_of(
    knowledge: &Knowledge,
    family: &Family,
    case: &Case,
) -> Result<CaseAnswer, String> {
    let none = Renames::default();
    answer(
        knowledge,
        Named {
            family,
            renames: &none,
        },
        case,
    )
}

fn answer(knowledge: &Knowledge, named: Named<'_>, case: &Case) -> Result<CaseAnswer, String> {
    let family = named.family;
    let vehicle = match &case.vehicle {
        None => None,
        Some(name) => Some(
            knowledge
                .vehicle(name)
                .ok_or_else(|| format!("there is no vehicle {name}"))?,
        ),
    };
    let complaint = Complaint {
        present: case.symptoms.clone(),
        absent: case.absent.clone(),
        repaired: Vec::new(),
    };
    let model = Model::new(family, vehicle, complaint).map_err(|error| error.to_string())?;
    let evidence = case
        .readings
        .iter()
        .map(|reading| evidence(&model, reading))
        .collect::<Result<Vec<Evidence>, String>>()?;
    let belief = model.update(&evidence);
    let mut groups: BTreeMap<Vec<String>, f64> = BTreeMap::new();
    for (candidate, p) in belief.posterior.iter().enumerate() {
        let repairs = model.repairs(candidate);
        let repairs = sorted(repairs.iter().map(|id| named.repair(*id)));
        *groups.entry(repairs).or_default() += p;
    }
    let (repairs, probability) = most(groups).unwrap_or_default();
    let causes = model
        .marginals(&belief)
        .into_iter()
        .map(|(cause, p)| (named.cause(cause), p));
    Ok(CaseAnswer {
        repairs,
        probability,
        cause: most(causes).map(|(cause, _)| cause),
        nothing_fits: belief.nothing_fits(),
    })
}

/// The most probable, the first by name of equals.
fn most<N: Ord>(weighed: impl IntoIterator<Item = (N, f64)>) -> Option<(N, f64)> {
    weighed
        .into_iter()
        .min_by(|a, b| b.1.total_cmp(&a.1).then_with(|| a.0.cmp(&b.0)))
}

/// What a reading of a case says.
fn evidence(model: &Model<'_>, reading: &CaseReading) -> Result<Evidence, String> {
    let (family, vehicle) = (model.family, model.vehicle);
    let measurement = family.measurement(reading.measurement);
    let refused = |words: String| format!("{}: {words}", measurement.name);
    if reading.parts.is_empty() {
        return match understand(family, vehicle, reading.measurement, &reading.value, None) {
            Answer::Taken(taken) => Ok(taken.evidence),
            Answer::Question { words, .. } | Answer::Refused(words) => Err(refused(words)),
        };
    }
    let takes = measurement.number().map_or(&[][..], |number| &number.takes);
    let parts = takes
        .iter()
        .map(|take| {
            let typed = reading.parts.get(&take.name).map_or("", String::as_str);
            match understand_part(family, take, typed, None) {
                Answer::Taken(part) => Ok((take.name.clone(), *part)),
                Answer::Question { words, .. } | Answer::Refused(words) => Err(refused(words)),
            }
        })
        .collect::<Result<BTreeMap<String, Part>, String>>()?;
    derive(family, vehicle, reading.measurement, parts)
        .map(|taken| taken.evidence)
        .map_err(refused)
}

/// Every case of both editions, put to both; a case that differs is put as either has it.
pub(super) fn put(old: &Knowledge, new: &Knowledge, same: &Sameness) -> CasesPut {
    let none = Renames::default();
    let mut put = CasesPut::default();
    for family in &new.families {
        let (Some(was), Some(renames)) = (
            old.family(same.folder.to_old(Kind::Family, &family.name)),
            same.families.get(&family.name),
        ) else {
            continue;
        };
        let both = Both {
            old: (old, was),
            new: (new, family),
            renames,
            folder: &same.folder,
        };
        let (of_old, of_new) = (
            Named {
                family: was,
                renames,
            },
            Named {
                family,
                renames: &none,
            },
        );
        let mut cases: BTreeMap<(String, StandsIn), &Case> = BTreeMap::new();
        let mut known: BTreeMap<String, (super::fact::Facts, &Case)> = BTreeMap::new();
        for case in &was.cases {
            let name = renames
                .to_new(Kind::Case, facts::case_name(case))
                .to_owned();
            let vehicle = case.vehicle.as_deref();
            let vehicle = vehicle.map(|name| same.folder.to_new(Kind::Vehicle, name));
            known.insert(name, (facts::case(of_old, case, vehicle), case));
        }
        for case in &family.cases {
            let name = facts::case_name(case).to_owned();
            let stated = facts::case(of_new, case, case.vehicle.as_deref());
            if known
                .get(&name)
                .is_some_and(|(before, _)| *before == stated)
            {
                known.remove(&name);
                cases.insert((name, StandsIn::Both), case);
            } else {
                cases.insert((name, StandsIn::New), case);
            }
        }
        for (name, (_, case)) in known {
            cases.insert((name, StandsIn::Old), case);
        }
        for ((case, stands_in), posed) in cases {
            put.put += 1;
            let (was, now) = both.answers(posed, stands_in);
            if differ(&was, &now) {
                put.differ.push(CaseDiffers {
                    family: family.name.clone(),
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

/// Whether two answers are worth telling apart.
fn differ(was: &Result<CaseAnswer, String>, now: &Result<CaseAnswer, String>) -> bool {
    match (was, now) {
        (Ok(was), Ok(now)) => {
            was.repairs != now.repairs
                || was.nothing_fits != now.nothing_fits
                || (was.probability - now.probability).abs() >= MOVED
        }
        (Err(_), Err(_)) => false,
        _ => true,
    }
}

/// A family in both editions.
struct Both<'b> {
    old: (&'b Knowledge, &'b Family),
    new: (&'b Knowledge, &'b Family),
    renames: &'b Renames,
    folder: &'b Renames,
}

type Answers = (Result<CaseAnswer, String>, Result<CaseAnswer, String>);

impl Both<'_> {
    /// The answers of both editions to a case of one of them.
    fn answers(&self, case: &Case, stands_in: StandsIn) -> Answers {
        let none = Renames::default();
        let (old, was) = self.old;
        let (new, now) = self.new;
        let of_old = Named {
            family: was,
            renames: self.renames,
        };
        let of_new = Named {
            family: now,
            renames: &none,
        };
        match stands_in {
            StandsIn::Old => (
                answer(old, of_old, case),
                carried(case, was, now, &|kind, name| {
                    self.table(kind).to_new(kind, name).to_owned()
                })
                .and_then(|case| answer(new, of_new, &case)),
            ),
            StandsIn::Both | StandsIn::New => (
                carried(case, now, was, &|kind, name| {
                    self.table(kind).to_old(kind, name).to_owned()
                })
                .and_then(|case| answer(old, of_old, &case)),
                answer(new, of_new, case),
            ),
        }
    }

    fn table(&self, kind: Kind) -> &Renames {
        match kind {
            Kind::Vehicle => self.folder,
            _ => self.renames,
        }
    }
}

/// A case of one family in the ids of another; what it expects does not go along.
fn carried(
    case: &Case,
    from: &Family,
    to: &Family,
    name: &dyn Fn(Kind, &str) -> String,
) -> Result<Case, String> {
    let symptoms = |ids: &[crate::knowledge::SymptomId]| {
        ids.iter()
            .map(|id| {
                let name = name(Kind::Symptom, &from.symptom(*id).name);
                to.symptom_named(&name)
                    .ok_or_else(|| format!("there is no symptom {name}"))
            })
            .collect::<Result<Vec<_>, String>>()
    };
    let reading = |reading: &CaseReading| {
        let of = from.measurement(reading.measurement);
        let measurement = name(Kind::Measurement, &of.name);
        let id: MeasurementId = to
            .measurement_named(&measurement)
            .ok_or_else(|| format!("there is no measurement {measurement}"))?;
        let outcome = name(Kind::Outcome, &outcome_key(&of.name, &reading.value));
        let value = match outcome.rsplit_once('/') {
            // Only an outcome is called otherwise; a number with its unit stays as it was typed.
            Some((_, renamed)) if of.outcome(&reading.value).is_some() => renamed.to_owned(),
            _ => reading.value.clone(),
        };
        Ok(CaseReading {
            measurement: id,
            value,
            parts: reading.parts.clone(),
        })
    };
    Ok(Case {
        symptoms: symptoms(&case.symptoms)?,
        absent: symptoms(&case.absent)?,
        vehicle: case.vehicle.as_deref().map(|one| name(Kind::Vehicle, one)),
        readings: case
            .readings
            .iter()
            .map(reading)
            .collect::<Result<Vec<_>, String>>()?,
        first: None,
        expect: crate::knowledge::Expect::Unlisted,
        ..case.clone()
    })
}
