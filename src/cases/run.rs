//! A case played: belief after belief, and the answer held against the expected one.

use std::collections::BTreeMap;
use std::time::Duration;

use rayon::prelude::*;

use super::reading::evidence;
use super::{Answer, Believed, CaseRun, Expected, Fault, Proposal, Read, Stage};
use crate::decide::{Advice, Circumstances, Standing};
use crate::decide::{Limits, OrderBy};
use crate::infer::{Belief, Complaint, Evidence, Model};
use crate::knowledge::{Case, CauseId, Expect, Family, Knowledge, RepairId};

/// How far the plan of a first proposal is searched: by nodes alone, so that every machine proposes the same.
pub const FIRST: Limits = Limits {
    time: Duration::from_hours(24),
    opened: 500,
    bytes: 4 << 30,
};

/// How many of the leading repairs a stage keeps.
const LEADING: usize = 3;
/// Causes that look alike stay within this factor of one another.
const ALIKE: f64 = 10.0;

/// Plays every case of a family, on all cores, in the order of their files.
#[must_use]
pub fn run(knowledge: &Knowledge, family: &Family) -> Vec<CaseRun> {
    family
        .cases
        .par_iter()
        .map(|case| Play::of(knowledge, family, case))
        .collect()
}

/// A case while it is played.
struct Play<'k> {
    family: &'k Family,
    case: &'k Case,
    run: CaseRun,
}

impl<'k> Play<'k> {
    fn of(knowledge: &'k Knowledge, family: &'k Family, case: &'k Case) -> CaseRun {
        let mut play = Self {
            family,
            case,
            run: CaseRun {
                family: family.name.clone(),
                file: case.file.clone(),
                title: case.title.clone(),
                expected: expected(family, &case.expect),
                expected_first: case
                    .first
                    .map(|first| family.measurement(first).name.clone()),
                answer: None,
                first: None,
                chain: Vec::new(),
                lost_most: None,
                faults: Vec::new(),
            },
        };
        if let Err(fault) = play.play(knowledge) {
            play.run.faults.push(fault);
        }
        play.run.lost_most = lost_most(&play.run.chain);
        play.run
    }

    fn play(&mut self, knowledge: &Knowledge) -> Result<(), Fault> {
        let case = self.case;
        let vehicle = case
            .vehicle
            .as_deref()
            .map(|name| knowledge.vehicle(name).ok_or(Fault::NoVehicle))
            .transpose()?;
        let complaint = Complaint {
            present: case.symptoms.clone(),
            absent: case.absent.clone(),
            repaired: Vec::new(),
        };
        let model = Model::new(self.family, vehicle, complaint)
            .map_err(|error| Fault::Unexplained(error.to_string()))?;
        self.first(&model)?;
        self.stage(&model, model.prior(), None);
        let mut taken: Vec<Evidence> = Vec::new();
        let mut belief = model.prior().clone();
        for (place, reading) in case.readings.iter().enumerate() {
            let (read, evidence) = evidence(self.family, vehicle, place, reading)?;
            taken.push(evidence);
            belief = model.update(&taken);
            self.stage(&model, &belief, Some(read));
        }
        self.judge(&model, &belief);
        Ok(())
    }

    /// The first proposal, held against the one that the case states.
    fn first(&mut self, model: &Model<'_>) -> Result<(), Fault> {
        let Some(stated) = self.case.first else {
            return Ok(());
        };
        let circumstances = Circumstances::on_arrival(self.family);
        let standing = Standing::new(model, Vec::new(), &circumstances, OrderBy::default())
            .map_err(|error| Fault::TooLarge(error.to_string()))?;
        let proposal = match standing.advise(&[], false, &FIRST) {
            Advice::Measure { measurement, .. } => {
                Proposal::Measure(self.family.measurement(measurement).name.clone())
            }
            Advice::Repair { first, .. } => Proposal::Repair(repair_names(self.family, &first)),
            // Without a reading there is none to take again.
            Advice::Escalate | Advice::TakeAgain(_) => Proposal::Escalate,
        };
        let stated = Proposal::Measure(self.family.measurement(stated).name.clone());
        if proposal != stated {
            self.run.faults.push(Fault::OtherFirst(proposal.clone()));
        }
        self.run.first = Some(proposal);
        Ok(())
    }

    fn stage(&mut self, model: &Model<'_>, belief: &Belief, reading: Option<Read>) {
        let groups = by_repairs(model, belief);
        let expected = match &self.case.expect {
            Expect::Repairs(repairs) => {
                let mut repairs = repairs.clone();
                repairs.sort_unstable();
                groups
                    .iter()
                    .find(|(group, _)| *group == repairs)
                    .map_or(0.0, |(_, p)| *p)
            }
            Expect::Ambiguity(causes) => model
                .candidates
                .iter()
                .zip(&belief.posterior)
                .filter(|(candidate, _)| {
                    candidate.causes.iter().any(|cause| causes.contains(cause))
                })
                .map(|(_, p)| p)
                .sum(),
            Expect::Unlisted => belief.unlisted,
        };
        self.run.chain.push(Stage {
            reading,
            leading: groups
                .iter()
                .take(LEADING)
                .map(|(repairs, p)| believed(repair_names(self.family, repairs), *p))
                .collect(),
            expected,
            unlisted: belief.unlisted,
        });
    }

    /// The answer, held against the expected one.
    fn judge(&mut self, model: &Model<'_>, belief: &Belief) {
        let family = self.family;
        let groups = by_repairs(model, belief);
        let mut causes = model.marginals(belief);
        causes.sort_by(|a, b| b.1.total_cmp(&a.1).then(a.0.cmp(&b.0)));
        let cause = |(id, p): &(CauseId, f64)| believed(vec![family.cause(*id).name.clone()], *p);
        let leads = || {
            groups
                .first()
                .map(|(repairs, p)| believed(repair_names(family, repairs), *p))
        };
        let faults = &mut self.run.faults;
        match &self.case.expect {
            Expect::Repairs(expected) => {
                let mut expected = expected.clone();
                expected.sort_unstable();
                if groups.first().is_none_or(|(leads, _)| *leads != expected) {
                    faults.extend(leads().map(Fault::OtherRepairs));
                }
                if belief.nothing_fits() {
                    faults.push(Fault::NothingFits);
                }
            }
            Expect::Ambiguity(expected) => {
                let first = &causes[..expected.len().min(causes.len())];
                faults.extend(
                    first
                        .iter()
                        .find(|(id, _)| !expected.contains(id))
                        .map(|other| Fault::OtherCause(cause(other))),
                );
                let most = first.first().map_or(0.0, |(_, p)| *p);
                faults.extend(
                    first
                        .iter()
                        .find(|(id, p)| expected.contains(id) && p * ALIKE < most)
                        .map(|behind| Fault::ToldApart(cause(behind))),
                );
                if belief.nothing_fits() {
                    faults.push(Fault::NothingFits);
                }
            }
            Expect::Unlisted => {
                if !belief.nothing_fits() {
                    faults.extend(leads().map(Fault::Fits));
                }
            }
        }
        self.run.answer = Some(Answer {
            repairs: groups
                .iter()
                .map(|(repairs, p)| believed(repair_names(family, repairs), *p))
                .collect(),
            causes: causes.iter().map(cause).collect(),
            unlisted: belief.unlisted,
            nothing_fits: belief.nothing_fits(),
        });
    }
}

/// The stage whose reading took most from the odds of the expected answer: the largest fall of their logarithm.
fn lost_most(chain: &[Stage]) -> Option<usize> {
    // What was not believed at all cannot lose.
    let odds =
        |stage: &Stage| (stage.expected / (1.0 - stage.expected).max(f64::MIN_POSITIVE)).ln();
    let mut worst: Option<(usize, f64)> = None;
    for (place, pair) in chain.windows(2).enumerate() {
        let [before, after] = pair else { continue };
        let lost = odds(before) - odds(after);
        if lost > 0.0 && worst.is_none_or(|(_, most)| lost > most) {
            worst = Some((place + 1, lost));
        }
    }
    worst.map(|(place, _)| place)
}

/// The belief in each set of repairs, the most probable first, then in the family's order.
fn by_repairs(model: &Model<'_>, belief: &Belief) -> Vec<(Vec<RepairId>, f64)> {
    let mut sums: BTreeMap<Vec<RepairId>, f64> = BTreeMap::new();
    for (candidate, p) in belief.posterior.iter().enumerate() {
        *sums.entry(model.repairs(candidate)).or_default() += p;
    }
    let mut groups: Vec<(Vec<RepairId>, f64)> = sums.into_iter().collect();
    groups.sort_by(|a, b| b.1.total_cmp(&a.1).then_with(|| a.0.cmp(&b.0)));
    groups
}

fn believed(names: Vec<String>, probability: f64) -> Believed {
    Believed { names, probability }
}

fn repair_names(family: &Family, repairs: &[RepairId]) -> Vec<String> {
    repairs
        .iter()
        .map(|repair| family.repair(*repair).name.clone())
        .collect()
}

fn expected(family: &Family, expect: &Expect) -> Expected {
    match expect {
        Expect::Repairs(repairs) => Expected::Repairs(repair_names(family, repairs)),
        Expect::Ambiguity(causes) => Expected::Ambiguity(
            causes
                .iter()
                .map(|cause| family.cause(*cause).name.clone())
                .collect(),
        ),
        Expect::Unlisted => Expected::Unlisted,
    }
}
