//! A case played: belief after belief, and the answer compared with the expected one.

use std::collections::BTreeMap;

use rayon::prelude::*;

use super::case_run::{Answer, Believed, CaseRun, Expected, Fault, Proposal, Read, Stage};
use crate::decide::{Advice, Circumstances, OrderBy, Standing};
use crate::infer::{
    Belief, Complaint, Evidence, Fit, Model, Part, Typing, derive, understand, understand_part,
};
use crate::knowledge::{
    Case, CaseReading, CauseId, Claim, Expect, Family, Knowledge, MeasurementId, RepairId, SetUpId,
};

/// How many of the leading repairs a stage keeps.
const LEADING: usize = 3;
/// Causes that look alike stay within this factor of one another.
const ALIKE: f64 = 10.0;

/// Plays every case of a family, on all cores, in the order of their files.
pub fn run(knowledge: &Knowledge, family: &Family) -> Vec<CaseRun> {
    let cases = family.cases.par_iter();
    cases.map(|case| play(knowledge, family, case)).collect()
}

/// Plays one case. Readings are understood as at the prompt and all count; where a reading would be asked back, or
/// the case cannot be played for another reason, its run ends there with the fault.
pub fn play(knowledge: &Knowledge, family: &Family, case: &Case) -> CaseRun {
    let mut play = Play {
        family,
        case,
        run: CaseRun {
            family: family.name.clone(),
            file: case.file.clone(),
            title: case.title.clone(),
            expected: Expected::of(family, &case.expect),
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

/// A case while it is played.
struct Play<'k> {
    family: &'k Family,
    case: &'k Case,
    run: CaseRun,
}

impl Play<'_> {
    fn play(&mut self, knowledge: &Knowledge) -> Result<(), Fault> {
        let case = self.case;
        let vehicle = case.vehicle.as_deref();
        let vehicle = vehicle
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
        let mut circumstances = Circumstances::on_arrival(self.family);
        for (place, reading) in case.readings.iter().enumerate() {
            let (read, evidence) = read(&model, reading).map_err(|words| Fault::NotUnderstood {
                reading: place,
                words,
            })?;
            self.waits(&model, &taken, &mut circumstances, Some(&evidence))?;
            taken.push(evidence);
            belief = model.update(&taken);
            self.stage(&model, &belief, Some(read));
        }
        self.waits(&model, &taken, &mut circumstances, None)?;
        self.judge(&model, &belief, &taken);
        Ok(())
    }

    /// The first proposal, compared with the one that the case states.
    fn first(&mut self, model: &Model<'_>) -> Result<(), Fault> {
        let Some(stated) = self.case.first else {
            return Ok(());
        };
        let circumstances = Circumstances::on_arrival(self.family);
        let standing = Standing::new(model, Vec::new(), &circumstances, OrderBy::default())
            .map_err(|error| Fault::TooLarge(error.to_string()))?;
        let name = |measurement| self.family.measurement(measurement).name.clone();
        let proposal = match standing.advise(&[], false) {
            Advice::Measure { measurement, .. } => Proposal::Measure(name(measurement)),
            Advice::Repair { first, .. } => Proposal::Repair(self.family.names_of(&first)),
            // Without a reading there is none to take again.
            Advice::Escalate | Advice::TakeAgain(_) => Proposal::Escalate,
        };
        if proposal != Proposal::Measure(name(stated)) {
            self.run.faults.push(Fault::OtherFirst(proposal.clone()));
        }
        self.run.first = Some(proposal);
        Ok(())
    }

    /// Whether a repair is advised that must not be yet, where the case says so of one; then what is in place once the
    /// next reading is taken.
    fn waits(
        &mut self,
        model: &Model<'_>,
        taken: &[Evidence],
        circumstances: &mut Circumstances,
        next: Option<&Evidence>,
    ) -> Result<(), Fault> {
        let (family, case) = (self.family, self.case);
        if case.not_before.is_empty() {
            return Ok(());
        }
        let standing = Standing::new(model, taken.to_vec(), circumstances, OrderBy::default())
            .map_err(|error| Fault::TooLarge(error.to_string()))?;
        let read = |id: &MeasurementId| taken.iter().any(|of| of.measurement == *id);
        for (repair, before) in &case.not_before {
            let unread: Vec<_> = before.iter().filter(|id| !read(id)).collect();
            if unread.is_empty() {
                continue;
            }
            let name = &family.repair(*repair).name;
            let said =
                |fault: &Fault| matches!(fault, Fault::TooSoon { repair, .. } if repair == name);
            if !self.run.faults.iter().any(said)
                && let Advice::Repair { first, .. } = standing.advise(&[], false)
                && first.contains(repair)
            {
                self.run.faults.push(Fault::TooSoon {
                    repair: name.clone(),
                    unread: family.names_of(unread),
                    after: taken.len(),
                });
            }
        }
        if let Some(next) = next {
            for set_up in standing
                .taking(next.measurement)
                .unwrap_or_default()
                .way
                .order
            {
                circumstances.enter(family, SetUpId::at(set_up));
            }
            circumstances.left_out.push(next.measurement);
            circumstances.read(family, next);
        }
        Ok(())
    }

    fn stage(&mut self, model: &Model<'_>, belief: &Belief, reading: Option<Read>) {
        let groups = model.by_repairs(belief);
        let expected = match &self.case.expect {
            Expect::Repairs(repairs) => {
                let repairs = sorted(repairs);
                let found = groups.iter().find(|(group, _)| *group == repairs);
                found.map_or(0.0, |(_, p)| *p)
            }
            Expect::Ambiguity(causes) => of_causes(model, belief, |cause| causes.contains(&cause)),
            Expect::Unlisted => belief.unlisted,
            Expect::Causes(claims) => of_causes(model, belief, |cause| {
                let with = |(claim, of): &(Claim, CauseId)| {
                    *of == cause && !matches!(claim, Claim::RuledOut | Claim::Lowered)
                };
                claims.iter().any(with)
            }),
        };
        let leading = groups.iter().take(LEADING);
        self.run.chain.push(Stage {
            reading,
            leading: leading.map(|group| self.repairs(group)).collect(),
            expected,
            unlisted: belief.unlisted,
        });
    }

    fn repairs(&self, (repairs, probability): &(Vec<RepairId>, f64)) -> Believed {
        Believed {
            names: self.family.names_of(repairs),
            probability: *probability,
        }
    }

    fn cause(&self, (cause, probability): &(CauseId, f64)) -> Believed {
        Believed {
            names: vec![self.family.cause(*cause).name.clone()],
            probability: *probability,
        }
    }

    /// The answer, compared with the expected one.
    fn judge(&mut self, model: &Model<'_>, belief: &Belief, taken: &[Evidence]) {
        let groups = model.by_repairs(belief);
        let mut causes = model.marginals(belief);
        causes.sort_by(|a, b| b.1.total_cmp(&a.1).then(a.0.cmp(&b.0)));
        let leads = groups.first();
        let fits = !belief.nothing_fits() && !Fit::of(model, belief, taken).is_poor();
        let mut faults = Vec::new();
        match &self.case.expect {
            Expect::Repairs(expected) => {
                let expected = sorted(expected);
                let other = leads.filter(|(leads, _)| *leads != expected);
                faults.extend(other.map(|other| Fault::OtherRepairs(self.repairs(other))));
            }
            Expect::Ambiguity(expected) => {
                let first = &causes[..expected.len().min(causes.len())];
                let most = first.first().map_or(0.0, |(_, p)| *p);
                let other = first.iter().find(|(id, _)| !expected.contains(id));
                let behind = first
                    .iter()
                    .find(|(id, p)| expected.contains(id) && p * ALIKE < most);
                faults.extend(other.map(|other| Fault::OtherCause(self.cause(other))));
                faults.extend(behind.map(|behind| Fault::ToldApart(self.cause(behind))));
            }
            Expect::Unlisted if fits => {
                faults.extend(leads.map(|leads| Fault::Fits(self.repairs(leads))));
            }
            Expect::Unlisted => {}
            Expect::Causes(claims) => {
                for (claim, cause) in claims {
                    if !holds(model, belief, claims, *claim, *cause) {
                        let p = of_causes(model, belief, |of| of == *cause);
                        faults.push(Fault::NotSo {
                            claim: claim.to_string(),
                            cause: self.cause(&(*cause, p)),
                        });
                    }
                }
            }
        }
        if !fits && self.case.expect != Expect::Unlisted {
            faults.push(Fault::NothingFits);
        }
        self.run.answer = Some(Answer {
            repairs: groups.iter().map(|group| self.repairs(group)).collect(),
            causes: causes.iter().map(|cause| self.cause(cause)).collect(),
            unlisted: belief.unlisted,
            nothing_fits: !fits,
        });
        self.run.faults.append(&mut faults);
    }
}

/// The belief in the candidates with a cause that is asked for.
fn of_causes(model: &Model<'_>, belief: &Belief, asked: impl Fn(CauseId) -> bool) -> f64 {
    let all = model.candidates.iter().zip(&belief.posterior);
    all.filter(|(candidate, _)| candidate.causes.iter().any(|cause| asked(*cause)))
        .map(|(_, p)| p)
        .sum()
}

/// Whether what a case states of a cause is so; one of several that are to lead is enough.
fn holds(
    model: &Model<'_>,
    belief: &Belief,
    claims: &[(Claim, CauseId)],
    claim: Claim,
    cause: CauseId,
) -> bool {
    let p = |belief| of_causes(model, belief, |of| of == cause);
    let live = || {
        let mut places = 0..model.candidates.len();
        places.any(|at| model.candidates[at].causes.contains(&cause) && belief.is_live(at))
    };
    match claim {
        Claim::Leads => {
            let all = model.candidates.iter().zip(&belief.posterior);
            let first = all.max_by(|a, b| a.1.total_cmp(b.1));
            first.is_some_and(|(first, _)| match first.causes[..] {
                [only] => claims.contains(&(Claim::Leads, only)),
                _ => false,
            })
        }
        Claim::Live => live(),
        Claim::RuledOut => !live(),
        Claim::Raised => p(belief) > p(model.prior()),
        Claim::Lowered => p(belief) < p(model.prior()),
    }
}

/// What a reading of a case says, or why it is not understood at once: a case answers no questions.
fn read(model: &Model<'_>, reading: &CaseReading) -> Result<(Read, Evidence), String> {
    let (family, vehicle, id) = (model.family, model.vehicle, reading.measurement);
    let measurement = family.measurement(id);
    let typing = Typing::default();
    let (typed, evidence) = if reading.parts.is_empty() {
        let taken = understand(family, vehicle, id, &reading.value, &typing).taken()?;
        (reading.value.clone(), taken.evidence)
    } else {
        let mut parts: BTreeMap<String, Part> = BTreeMap::new();
        for take in measurement.number().iter().flat_map(|number| &number.takes) {
            let text = reading.parts.get(&take.name).map_or("", String::as_str);
            let part = understand_part(family, take, text, &typing)
                .taken()
                .map_err(|words| format!("{}: {words}", take.name))?;
            parts.insert(take.name.clone(), part);
        }
        let taken = derive(family, vehicle, id, parts, &typing)?;
        (taken.raw, taken.evidence)
    };
    let read = Read {
        measurement: measurement.name.clone(),
        typed,
        outcome: measurement.outcomes[evidence.outcome()].name.clone(),
    };
    Ok((read, evidence))
}

/// The stage whose reading took most from the odds of the expected answer: the largest fall of their logarithm.
fn lost_most(chain: &[Stage]) -> Option<usize> {
    // What was not believed at all cannot lose.
    let odds =
        |stage: &Stage| (stage.expected / (1.0 - stage.expected).max(f64::MIN_POSITIVE)).ln();
    let mut worst: Option<(usize, f64)> = None;
    for (place, pair) in chain.windows(2).enumerate() {
        let lost = odds(&pair[0]) - odds(&pair[1]);
        if lost > 0.0 && worst.is_none_or(|(_, most)| lost > most) {
            worst = Some((place + 1, lost));
        }
    }
    worst.map(|(place, _)| place)
}

fn sorted(repairs: &[RepairId]) -> Vec<RepairId> {
    let mut repairs = repairs.to_vec();
    repairs.sort_unstable();
    repairs
}
