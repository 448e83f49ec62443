//! Jobs drawn from known figures, and the figures drawn from what is stated of them.

use std::collections::{BTreeMap, BTreeSet};
use std::f64::consts::TAU;
use std::sync::LazyLock;

use halfsplit::infer::{Complaint, Model, bands_on, row_under};
use halfsplit::knowledge::{
    CauseId, Family, Knowledge, MeasurementId, OutcomeId, Row, SymptomId, Vehicle,
};
use halfsplit::learn::{Counted, Finding, Prior, Tally, readings_of};
use halfsplit::load::{Source, load};
use halfsplit::record::Found;
use halfsplit::simulate::{Chance, Drawn, Seen, World};
use halfsplit::units::conformity::{Known, weights};
use halfsplit::units::{Probability, Rate};
use jiff::civil::date;

/// The shipped knowledge.
pub(super) static SHIPPED: LazyLock<Knowledge> =
    LazyLock::new(|| load(&Source::embedded().without_cases()).unwrap().knowledge);

/// `splitmix64` (Steele, Lea and Flood 2014): the same numbers from the same seed, everywhere.
pub(super) struct Draws(pub(super) u64);

impl Draws {
    /// Above 0 and below 1, uniformly.
    pub(super) fn next(&mut self) -> f64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        (((z ^ (z >> 31)) >> 11) as f64 + 0.5) / (1_u64 << 53) as f64
    }

    fn below(&mut self, count: usize) -> usize {
        ((self.next() * count as f64) as usize).min(count - 1)
    }

    /// The place of one of some shares, which need not add up to 1.
    fn place(&mut self, shares: &[f64]) -> usize {
        let mut left = self.next() * shares.iter().sum::<f64>();
        for (place, share) in shares.iter().enumerate() {
            left -= share;
            if left < 0.0 {
                return place;
            }
        }
        shares.len() - 1
    }

    fn normal(&mut self) -> f64 {
        // Box and Muller 1958.
        (-2.0 * self.next().ln()).sqrt() * (TAU * self.next()).cos()
    }

    /// Of the gamma distribution with scale 1: Marsaglia and Tsang 2000.
    fn gamma(&mut self, shape: f64) -> f64 {
        if shape < 1.0 {
            let power = self.next().powf(1.0 / shape);
            return self.gamma(shape + 1.0) * power;
        }
        let d = shape - 1.0 / 3.0;
        loop {
            let x = self.normal();
            let v = (1.0 + x / (9.0 * d).sqrt()).powi(3);
            if v > 0.0 && self.next().ln() < 0.5 * x * x + d - d * v + d * v.ln() {
                return d * v;
            }
        }
    }
}

/// A family with every figure drawn from its prior.
pub(super) fn truth(stated: &Family, prior: Prior, draws: &mut Draws) -> Family {
    let mut truth = stated.clone();
    for cause in &mut truth.causes {
        let odds = draws.gamma(prior.jobs() * cause.rate.odds()) / prior.jobs();
        // A cause that nobody ever meets is no cause: the smallest draws are kept above nothing.
        let rate = (1000.0 * odds / (1.0 + odds)).max(1e-12);
        cause.rate = Rate::per_thousand(rate).unwrap();
    }
    for (place, measurement) in truth.measurements.iter_mut().enumerate() {
        let stated = stated.measurement(MeasurementId::at(place));
        let normal = measurement.normal;
        for (cause, row) in &mut measurement.shows {
            let shares = row_under(stated, &[*cause]);
            let drawn: Vec<f64> = shares
                .iter()
                .map(|p| {
                    if *p > 0.0 {
                        draws.gamma(prior.readings() * p)
                    } else {
                        0.0
                    }
                })
                .collect();
            let sum: f64 = drawn.iter().sum();
            let abnormal = (0..drawn.len()).map(OutcomeId::at);
            let abnormal = abnormal.filter(|outcome| *outcome != normal);
            *row = Row(abnormal
                .map(|outcome| (outcome, Probability::nearest(drawn[outcome.index()] / sum)))
                .collect());
        }
    }
    truth
}

/// A job: what was complained of, read and found.
pub(super) struct Job {
    pub(super) finding: Finding,
    pub(super) how: Found,
    pub(super) readings: Vec<(String, BTreeMap<String, f64>)>,
}

impl Job {
    pub(super) fn counted(&self, family: &Family, number: usize) -> Counted {
        let readings = self
            .readings
            .iter()
            .map(|(name, weights)| (&**name, weights));
        Counted {
            job: format!("{number:016x}"),
            closed: date(2026, 1, 1),
            finding: self.finding.clone(),
            readings: readings_of(family, readings).unwrap(),
        }
    }
}

/// A complaint that jobs come in with, and the vehicles where their readings are drawn.
struct Context<'k> {
    complaint: Complaint,
    model: Model<'k>,
    world: Option<World<'k>>,
    share: f64,
}

/// Jobs drawn from a family.
pub(super) struct Shop<'k> {
    family: &'k Family,
    sheet: &'k Vehicle,
    contexts: Vec<Context<'k>>,
    /// How often any candidate of the complaint is taken for what was found, each as often.
    pub(super) wrong: f64,
    draws: Draws,
    drawn: u32,
}

impl<'k> Shop<'k> {
    /// Seven jobs of ten have one complaint, by how often the candidates bring it about; the others have two, or one and
    /// one that is confirmed absent, and no readings.
    pub(super) fn new(family: &'k Family, seed: u64) -> Self {
        let sheet = SHIPPED.vehicles.first().unwrap();
        let mut contexts = Vec::new();
        let mut add = |present: Vec<SymptomId>, absent: Vec<SymptomId>| {
            let complaint = Complaint {
                present,
                absent,
                repaired: Vec::new(),
            };
            let Ok(model) = Model::new(family, Some(sheet), complaint.clone()) else {
                return;
            };
            let weight = model
                .candidates
                .iter()
                .map(|candidate| candidate.weight)
                .sum();
            let alone = complaint.present.len() == 1 && complaint.absent.is_empty();
            let world = alone.then(|| {
                World::new(
                    family,
                    Some(sheet),
                    complaint.present[0],
                    Chance::new(seed),
                    0.0,
                )
            });
            let world = world.map(Result::unwrap);
            contexts.push(Context {
                complaint,
                model,
                world,
                share: weight,
            });
        };
        let symptoms = || (0..family.symptoms.len()).map(SymptomId::at);
        for one in symptoms() {
            add(vec![one], vec![]);
            for other in symptoms().skip(one.index() + 1).take(1) {
                add(vec![one, other], vec![]);
                add(vec![one], vec![other]);
            }
        }
        let all: f64 = contexts
            .iter()
            .filter(|of| of.world.is_some())
            .map(|of| of.share)
            .sum();
        let others = contexts.iter().filter(|of| of.world.is_none()).count() as f64;
        for of in &mut contexts {
            of.share = if of.world.is_some() {
                0.7 * of.share / all
            } else {
                0.3 / others
            };
        }
        Self {
            family,
            sheet,
            contexts,
            wrong: 0.0,
            draws: Draws(seed),
            drawn: 0,
        }
    }

    pub(super) fn tally(&mut self, jobs: usize) -> Tally {
        let mut tally = Tally::default();
        for number in 0..jobs {
            let job = self.job();
            tally.add(
                job.counted(self.family, number),
                std::path::Path::new("drawn"),
            );
        }
        assert!(tally.refused.is_empty());
        tally
    }

    pub(super) fn job(&mut self) -> Job {
        let shares: Vec<f64> = self.contexts.iter().map(|of| of.share).collect();
        let context = &self.contexts[self.draws.place(&shares)];
        let of_candidate: Vec<f64> = context
            .model
            .candidates
            .iter()
            .map(|of| of.weight)
            .collect();
        let is = self.draws.place(&of_candidate);
        self.drawn += 1;
        let drawn = Drawn {
            hypothesis: is,
            number: self.drawn,
        };
        let readings = context.world.as_ref().map_or_else(Vec::new, |world| {
            readings(world, self.sheet, drawn, &mut self.draws)
        });
        let found = if self.draws.next() < self.wrong {
            self.draws.below(of_candidate.len())
        } else {
            is
        };
        let (how, causes, among) = seen(&context.model, found, self.draws.next() < 0.4);
        let Complaint {
            present, absent, ..
        } = context.complaint.clone();
        Job {
            finding: Finding {
                present,
                absent,
                causes,
                among,
            },
            how,
            readings,
        }
    }
}

/// Whether the fault shows today, and six readings more, each chosen by what the last one gave.
fn readings(
    world: &World<'_>,
    sheet: &Vehicle,
    drawn: Drawn,
    draws: &mut Draws,
) -> Vec<(String, BTreeMap<String, f64>)> {
    let mut open: Vec<_> = world.measurements().collect();
    let mut readings = Vec::new();
    let fades = world
        .family()
        .fades
        .first()
        .map(|(id, _)| &world.family().measurement(*id).name);
    let mut next = open
        .iter()
        .position(|one| Some(&one.name) == fades)
        .unwrap_or(0);
    while readings.len() < 7 && !open.is_empty() {
        let measurement = open.remove(next % open.len());
        let Some(seen) = world.read(drawn, &measurement.name, 0) else {
            continue;
        };
        let names = measurement
            .outcomes
            .iter()
            .map(|outcome| outcome.name.clone());
        let weights: BTreeMap<String, f64> = match seen {
            Seen::Word(word) => [(word.to_owned(), 1.0)].into(),
            Seen::Number {
                value,
                uncertainty: u,
            } => {
                let bands = bands_on(measurement, Some(sheet)).unwrap();
                let weights = weights(Known::Normal { value, u }, &bands);
                let sum: f64 = weights.iter().sum();
                names
                    .zip(weights.iter().map(|weight| weight / sum))
                    .collect()
            }
        };
        let normal = &measurement.outcomes[measurement.normal.index()].name;
        // After an abnormal reading the next in the list, after a normal one any.
        let abnormal = weights.get(normal).is_none_or(|weight| *weight < 0.5);
        next = if abnormal {
            next
        } else {
            draws.below(open.len().max(1))
        };
        readings.push((measurement.name.clone(), weights));
    }
    readings
}

/// What is said to have been found where that candidate was, as the session does it: nobody looked, or it was seen.
fn seen(model: &Model<'_>, found: usize, unseen: bool) -> (Found, Vec<CauseId>, Vec<CauseId>) {
    let repairs = model.repairs(found);
    let cured: Vec<&[CauseId]> = (0..model.candidates.len())
        .filter(|other| model.repairs(*other) == repairs)
        .map(|other| &model.candidates[other].causes[..])
        .collect();
    let causes = model.candidates[found].causes.clone();
    if cured.len() == 1 {
        return (Found::Only, causes, Vec::new());
    }
    if !unseen {
        return (Found::Stated, causes, Vec::new());
    }
    let all: BTreeSet<CauseId> = cured.iter().flat_map(|set| set.iter().copied()).collect();
    let certain = |cause: &CauseId| cured.iter().all(|set| set.contains(cause));
    let (certain, among) = all.into_iter().partition(certain);
    (Found::Unknown, certain, among)
}
