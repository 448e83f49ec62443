//! The hypotheses: the fewest causes that explain the reported symptoms.

use std::collections::BTreeSet;

use super::prior::weight;
use crate::fault_tree::{Budget, FaultTree, TooEntangled, TooManySets, all_of};
use crate::knowledge::defaults::{MOST_CANDIDATES, MOST_FORESEEN, MOST_SETS_TRIED, MOST_STEPS};
use crate::knowledge::{CauseId, Family, SymptomId};

/// A hypothesis: one cause, or a few acting together.
#[derive(Clone, Debug, PartialEq)]
pub struct Candidate {
    /// Its causes, in the family's order.
    pub causes: Vec<CauseId>,
    /// Its prior weight, not normalised.
    pub weight: f64,
}

/// Why symptoms have no candidates.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum Unexplained {
    /// Nothing explains them together.
    #[error("no set of at most {order} causes explains these symptoms together: {}", symptoms.join(", "))]
    Together {
        /// The symptoms, as the files call them.
        symptoms: Vec<String>,
        /// The most causes that were tried.
        order: usize,
    },
    /// More sets fit than can be weighed.
    #[error(
        "too many sets of causes (more than {MOST_CANDIDATES}, of at most {order} causes each) explain these symptoms together: {}; take the complaints one by one, as jobs of their own",
        symptoms.join(", ")
    )]
    TooMany {
        /// The symptoms, as the files call them.
        symptoms: Vec<String>,
        /// The most causes of a set.
        order: usize,
    },
    /// More would have to be foreseen than the memory should hold.
    #[error(
        "{candidates} sets of causes and {outcomes} outcomes of measurements are too many to foresee (more than {MOST_FORESEEN} figures); divide the complaint or the family"
    )]
    TooMuchToForesee {
        /// The candidates.
        candidates: usize,
        /// The outcomes of all measurements of the family.
        outcomes: usize,
    },
    /// A tree takes too long to work out.
    #[error(transparent)]
    TooEntangled(#[from] TooEntangled),
}

/// The candidates for the symptoms, in the order of their causes.
///
/// The minimal cut sets of the AND of all symptoms present, up to the family's `max_order`; where
/// that leaves nothing the order is raised, at most to the number of symptoms. A superset of a
/// candidate, up to the order, is a candidate too where its weight exceeds that of every candidate
/// inside it: a weak leaf must not hide a strong pair. docs/method.md, section 3.
///
/// # Errors
///
/// [`Unexplained`] where no set of causes fits, more than [`MOST_CANDIDATES`] do, or a tree takes too long to work out.
pub fn candidates(
    family: &Family,
    present: &[SymptomId],
    absent: &[SymptomId],
) -> Result<Vec<Candidate>, Unexplained> {
    candidates_within(family, present, absent, &mut one_job())
}

/// The work that may go into the candidates of one job.
pub const fn one_job() -> Budget {
    Budget {
        tried: MOST_SETS_TRIED,
        kept: MOST_CANDIDATES,
        steps: MOST_STEPS,
    }
}

/// Whether all that these candidates may show can be foreseen within the memory.
///
/// # Errors
///
/// [`Unexplained::TooMuchToForesee`] where it takes more than [`MOST_FORESEEN`] figures.
pub fn foreseeable(family: &Family, candidates: &[Candidate]) -> Result<(), Unexplained> {
    let measurements = family.measurements.iter();
    let outcomes: usize = measurements.map(|of| of.outcomes.len()).sum();
    let candidates = candidates.len();
    if candidates.saturating_mul(outcomes) > MOST_FORESEEN {
        return Err(Unexplained::TooMuchToForesee {
            candidates,
            outcomes,
        });
    }
    Ok(())
}

/// [`candidates`], with what it takes taken off a budget.
pub fn candidates_within(
    family: &Family,
    present: &[SymptomId],
    absent: &[SymptomId],
    budget: &mut Budget,
) -> Result<Vec<Candidate>, Unexplained> {
    let trees: Vec<&FaultTree<CauseId>> = present
        .iter()
        .map(|symptom| &family.symptom(*symptom).tree)
        .collect();
    let least = family.figures.max_order;
    let most = least.max(present.len());
    let symptoms = || {
        let name = |symptom: &SymptomId| family.symptom(*symptom).name.clone();
        present.iter().map(name).collect()
    };
    let too_many = |order| Unexplained::TooMany {
        symptoms: symptoms(),
        order,
    };
    let (mut order, mut sets) = (least, Vec::new());
    while order <= most {
        sets = all_of(&trees, order, budget).map_err(|TooManySets| too_many(order))?;
        if !sets.is_empty() {
            break;
        }
        order += 1;
    }
    if sets.is_empty() {
        return Err(Unexplained::Together {
            symptoms: symptoms(),
            order: most,
        });
    }
    let weigh = |causes: &[CauseId], budget: &mut Budget| {
        weight(family, causes, present, absent, &mut budget.steps)
    };
    let mut candidates: Vec<Candidate> = sets
        .into_iter()
        .map(|causes| {
            let weight = weigh(&causes, budget)?;
            Ok(Candidate { causes, weight })
        })
        .collect::<Result<_, TooEntangled>>()?;
    let found = supersets(family, order, &trees, &mut candidates, weigh, budget);
    found.map_err(|stopped| match stopped {
        Stopped::TooManySets => too_many(order),
        Stopped::TooEntangled(tree) => Unexplained::TooEntangled(tree),
    })?;
    candidates.sort_by(|a, b| a.causes.cmp(&b.causes));
    Ok(candidates)
}

/// Adds the supersets that outweigh what stands inside them, smaller ones first, so that a larger
/// one is measured against those too.
fn supersets(
    family: &Family,
    order: usize,
    trees: &[&FaultTree<CauseId>],
    candidates: &mut Vec<Candidate>,
    weigh: impl Fn(&[CauseId], &mut Budget) -> Result<f64, TooEntangled>,
    budget: &mut Budget,
) -> Result<(), Stopped> {
    let causes: BTreeSet<CauseId> = trees.iter().flat_map(|tree| tree.causes()).collect();
    let mut causes: Vec<(CauseId, f64)> = causes
        .into_iter()
        .map(|cause| (cause, family.cause(cause).rate.odds()))
        .collect();
    // The search ends at the first that is too improbable.
    causes.sort_by(|a, b| b.1.total_cmp(&a.1));
    for size in 2..=order {
        let mut search = Supersets {
            most_odds: causes.first().map_or(0.0, |(_, odds)| *odds),
            bar: 0.0,
            budget,
            found: BTreeSet::new(),
        };
        for inside in candidates
            .iter()
            .filter(|candidate| candidate.causes.len() < size)
        {
            let odds = inside
                .causes
                .iter()
                .map(|cause| family.cause(*cause).rate.odds())
                .product();
            search.bar = inside.weight;
            search.extend(
                &mut inside.causes.clone(),
                odds,
                &causes,
                size - inside.causes.len(),
            )?;
        }
        let mut outweighing = Vec::new();
        for set in search.found {
            budget.steps =
                (budget.steps.checked_sub(candidates.len())).ok_or(Stopped::TooManySets)?;
            let inside = candidates
                .iter()
                .filter(|known| known.causes.iter().all(|cause| set.contains(cause)));
            let bar = inside.clone().map(|known| known.weight).fold(0.0, f64::max);
            let known = inside.clone().any(|known| known.causes == set);
            let weight = weigh(&set, budget).map_err(Stopped::TooEntangled)?;
            // Equal weights may differ by rounding, and rounding must not decide.
            if !known && weight > bar * (1.0 + 1e-12) {
                outweighing.push(Candidate {
                    causes: set,
                    weight,
                });
            }
        }
        candidates.append(&mut outweighing);
    }
    Ok(())
}

/// Why the search for supersets gave up.
enum Stopped {
    TooManySets,
    TooEntangled(TooEntangled),
}

/// A search for the supersets whose odds alone exceed a weight: the symptoms' probabilities only
/// lower them, and most supersets end here.
struct Supersets<'b> {
    /// The largest odds of any cause.
    most_odds: f64,
    /// The weight to exceed.
    bar: f64,
    budget: &'b mut Budget,
    found: BTreeSet<Vec<CauseId>>,
}

impl Supersets<'_> {
    /// Every set that adds `missing` of the causes `from`, the most probable first, to `set`, whose odds are given.
    fn extend(
        &mut self,
        set: &mut Vec<CauseId>,
        odds: f64,
        from: &[(CauseId, f64)],
        missing: usize,
    ) -> Result<(), Stopped> {
        let too_many = |TooManySets| Stopped::TooManySets;
        self.budget.try_sets(1).map_err(too_many)?;
        if self.found.len() > self.budget.kept {
            return Err(Stopped::TooManySets);
        }
        if missing == 0 {
            let mut set = set.clone();
            set.sort_unstable();
            self.found.insert(set);
            return Ok(());
        }
        let best = (1..missing).fold(1.0, |best, _| best * self.most_odds);
        for (place, (cause, of_cause)) in from.iter().enumerate() {
            let odds = odds * of_cause;
            if odds * best <= self.bar {
                break;
            }
            self.budget.steps = (self.budget.steps.checked_sub(1)).ok_or(Stopped::TooManySets)?;
            if !set.contains(cause) {
                set.push(*cause);
                self.extend(set, odds, &from[place + 1..], missing - 1)?;
                set.pop();
            }
        }
        Ok(())
    }
}
