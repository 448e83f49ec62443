//! One family under judgement: what every lint looks at, and where its findings go.

use std::collections::BTreeSet;

use crate::decide::Problem;
use crate::infer::{Candidate, Unexplained, candidates_within, foreseeable, one_job};
use crate::knowledge::defaults::{MOST_SETS_TRIED, MOST_STEPS};
use crate::knowledge::{CauseId, Family, SymptomId};
use crate::load::{Code, FileKind, Places, Report, Spot};

/// The most candidates that all complaints of a family together may have to be checked.
const MOST_OF_FAMILY: usize = 300_000;
/// So many times the work of one job may go into them.
const JOBS: usize = 4;

pub(super) struct Desk<'k> {
    pub(super) family: &'k Family,
    pub(super) places: &'k Places<'k>,
    /// The candidates of each symptom alone; none where nothing explains it.
    pub(super) candidates: Vec<Vec<Candidate>>,
}

impl<'k> Desk<'k> {
    /// Finds the candidates, and says of which complaints no job could be begun.
    pub(super) fn new(family: &'k Family, places: &'k Places<'k>) -> Self {
        let mut desk = Self {
            family,
            places,
            candidates: vec![Vec::new(); family.symptoms.len()],
        };
        let mut left = one_job();
        (left.kept, left.tried) = (MOST_OF_FAMILY, JOBS * MOST_SETS_TRIED);
        left.steps = JOBS * MOST_STEPS;
        for symptom in desk.symptoms() {
            let job = one_job();
            let mut budget = job;
            budget.kept = job.kept.min(left.kept);
            budget.tried = job.tried.min(left.tried);
            budget.steps = job.steps.min(left.steps);
            let given = budget;
            let limited =
                given.kept < job.kept || given.tried < job.tried || given.steps < job.steps;
            let found = candidates_within(family, &[symptom], &[], &mut budget)
                .and_then(|found| foreseeable(family, &found).map(|()| found));
            left.tried -= given.tried - budget.tried;
            left.steps -= given.steps - budget.steps;
            match found {
                Ok(found) => {
                    left.kept = left.kept.saturating_sub(found.len());
                    desk.weighable(symptom, &found);
                    desk.candidates[symptom.index()] = found;
                }
                Err(_) if limited => {
                    desk.at_top(
                        symptom,
                        Code::TooMuch,
                        "the sets of causes that bring about the complaints up to here are too many: those from here on are not checked".to_owned(),
                        "make a family of its own of some of the complaints",
                    );
                    break;
                }
                Err(why) => desk.unexplained(symptom, &why),
            }
        }
        desk
    }

    /// Says so where a complaint has no candidates.
    fn unexplained(&self, symptom: SymptomId, why: &Unexplained) {
        let order = self.family.figures.max_order;
        let (code, words, advice) = match why {
            Unexplained::Together { .. } => (
                Code::GateOutOfReach,
                format!("no {order} causes together bring this about: no job can be begun on it"),
                "take gates of kind `all` out of each other, or raise `max_order` in family.yaml",
            ),
            Unexplained::TooMany { .. } => (
                Code::TooMuch,
                "too many sets of causes bring this about: no job can be begun on it".to_owned(),
                "keep the causes under gates of kind `all` or `at_least` few, or lower `max_order` in family.yaml",
            ),
            Unexplained::TooMuchToForesee {
                candidates,
                outcomes,
            } => (
                Code::TooMuch,
                format!(
                    "{candidates} sets of causes and the family's {outcomes} outcomes of measurements are too many to foresee: no job can be begun on it"
                ),
                "divide the complaint, or make a family of its own of some of the complaints",
            ),
            Unexplained::TooEntangled(why) => (
                Code::TooMuch,
                format!("{why}; no job can be begun on this complaint"),
                "make one shared part of what stands in several places, or take strengths away",
            ),
        };
        self.at_top(symptom, code, words, advice);
    }

    /// Says so where a complaint leads to more repairs than can be put in order.
    fn weighable(&self, symptom: SymptomId, found: &[Candidate]) {
        let causes = found.iter().flat_map(|candidate| &candidate.causes);
        let repairs: BTreeSet<_> = causes.map(|id| self.family.cause(*id).repair).collect();
        let (count, most) = (repairs.len(), Problem::MOST_REPAIRS);
        if count > most {
            self.at_top(
                symptom,
                Code::TooMuch,
                format!("this complaint leads to {count} repairs, more than the {most} that a plan can weigh: no job can be begun on it"),
                "divide the complaint, or join repairs that are one piece of work",
            );
        }
    }

    /// A finding at the top of a tree.
    fn at_top(&self, symptom: SymptomId, code: Code, words: String, advice: &str) {
        let name = &self.family.symptom(symptom).name;
        self.at_value(code, (FileKind::Tree, &[name, "top"]), words, advice);
    }

    pub(super) fn symptoms(&self) -> impl Iterator<Item = SymptomId> + use<> {
        (0..self.family.symptoms.len()).map(SymptomId::at)
    }

    /// The causes in the candidates of a symptom, each once, in order.
    pub(super) fn causes_of(&self, symptom: SymptomId) -> Vec<CauseId> {
        let mut causes: Vec<CauseId> = self.candidates[symptom.index()]
            .iter()
            .flat_map(|candidate| candidate.causes.iter().copied())
            .collect();
        causes.sort_unstable();
        causes.dedup();
        causes
    }

    pub(super) fn symptom_names(&self, symptoms: &[SymptomId]) -> String {
        let names: Vec<String> = symptoms
            .iter()
            .map(|symptom| format!("`{}`", self.family.symptom(*symptom).name))
            .collect();
        names.join(", ")
    }

    /// A finding at the name of an entry.
    pub(super) fn at_name(
        &self,
        code: Code,
        (kind, way): (FileKind, &[&str]),
        words: String,
        advice: &str,
    ) {
        let spot = self.places.key(&self.family.name, kind, way);
        self.at(code, spot, words, advice);
    }

    /// A finding at the value of an entry.
    pub(super) fn at_value(
        &self,
        code: Code,
        (kind, way): (FileKind, &[&str]),
        words: String,
        advice: &str,
    ) {
        let spot = self.places.value(&self.family.name, kind, way);
        self.at(code, spot, words, advice);
    }

    pub(super) fn at(&self, code: Code, spot: Spot, words: String, advice: &str) {
        self.places
            .log
            .add(Report::new(code, spot, words).advice(advice));
    }
}
