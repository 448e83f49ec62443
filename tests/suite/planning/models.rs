//! Problems to plan for: the textbook set-up, and random small ones.

use halfsplit::decide::{
    Drive, Effect, Entering, Foreseen, InPlace, Parts, Problem, RepairRules, RepairWork, SetUp,
    SetUps,
};
use halfsplit::units::{Minutes, Money};

/// Numbers that look random and are the same every time (xorshift, Marsaglia 2003).
pub(super) struct Dice(u64);

impl Dice {
    pub(super) fn new(seed: u64) -> Self {
        Self(seed.wrapping_mul(0x9E37_79B9_7F4A_7C15) | 1)
    }

    pub(super) fn next(&mut self) -> u64 {
        self.0 ^= self.0 << 13;
        self.0 ^= self.0 >> 7;
        self.0 ^= self.0 << 17;
        self.0
    }

    /// 0 to `count − 1`.
    pub(super) fn below(&mut self, count: usize) -> usize {
        usize::try_from(self.next() >> 33).unwrap() % count
    }

    /// 0 to 1.
    pub(super) fn unit(&mut self) -> f64 {
        f64::from(u32::try_from(self.next() >> 32).unwrap()) / 4_294_967_296.0
    }

    /// A whole number, 0 to `count − 1`.
    pub(super) fn whole(&mut self, count: usize) -> f64 {
        number(self.below(count))
    }

    pub(super) fn between(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * self.unit()
    }
}

pub(super) fn number(count: usize) -> f64 {
    f64::from(u32::try_from(count).unwrap())
}

pub(super) fn minutes(number: f64) -> Minutes {
    Minutes::new(number).unwrap()
}

pub(super) fn money(number: f64) -> Money {
    Money::new(number).unwrap()
}

pub(crate) fn work(minutes_: f64, parts: f64) -> RepairWork {
    RepairWork {
        minutes: minutes(minutes_),
        parts: money(parts),
    }
}

/// Textbook set-up: one repair a candidate, labour 60 an hour so that a minute costs 1, floor
/// and unlisted 0, set-ups free; a table row a candidate, the unlisted cause's row uniform.
pub(super) fn textbook(repair_costs: &[f64], tests: &[(f64, Vec<Vec<f64>>)]) -> Problem {
    Problem::new(textbook_parts(repair_costs, tests)).unwrap()
}

pub(crate) fn textbook_parts(repair_costs: &[f64], tests: &[(f64, Vec<Vec<f64>>)]) -> Parts {
    let measurements = tests
        .iter()
        .enumerate()
        .map(|(id, (cost, rows))| {
            let outcomes = rows[0].len();
            let mut table: Vec<f64> = rows.concat();
            table.extend(vec![1.0 / number(outcomes); outcomes]);
            Foreseen {
                id,
                minutes: minutes(*cost),
                outcomes,
                rows: table,
                ..Foreseen::default()
            }
        })
        .collect();
    Parts {
        candidates: (0..repair_costs.len()).map(|r| vec![r]).collect(),
        repairs: repair_costs.iter().map(|&cost| work(0.0, cost)).collect(),
        escalation: work(0.0, 1e9),
        labour_rate: money(60.0),
        measurements,
        ..Parts::default()
    }
}

/// A test that gives each candidate one outcome for sure.
pub(super) fn sure(outcome_of: &[usize], outcomes: usize) -> Vec<Vec<f64>> {
    outcome_of
        .iter()
        .map(|&o| (0..outcomes).map(|k| f64::from(u8::from(k == o))).collect())
        .collect()
}

/// The belief of the textbook set-up: unlisted 0.
pub(super) fn belief(prior: &[f64]) -> Vec<f64> {
    let mut weights = prior.to_vec();
    weights.push(0.0);
    weights
}

pub(super) fn entering(minutes_: f64, needs: impl IntoIterator<Item = usize>) -> Entering {
    Entering {
        minutes: minutes(minutes_),
        needs: needs.into_iter().collect(),
        ..Entering::default()
    }
}

/// Random set-ups with exclusive groups, needs and ends.
pub(super) fn random_set_ups(dice: &mut Dice, count: usize) -> SetUps {
    let listed = (0..count)
        .map(|i| SetUp {
            entering: entering(
                1.0 + dice.whole(20),
                (0..count).filter(|&j| j != i && dice.below(5) == 0),
            ),
            group: (dice.below(3) > 0).then(|| dice.below(2)),
            ends: (0..count)
                .filter(|&j| j != i && dice.below(8) == 0)
                .collect(),
            place: i,
            ..SetUp::default()
        })
        .collect();
    SetUps::new(listed, money(90.0), money(0.0)).unwrap()
}

pub(super) struct Model {
    pub(super) problem: Problem,
    pub(super) weights: Vec<f64>,
    pub(super) in_place: InPlace,
}

/// A small problem with everything in it: shared repairs, noisy tests, an unlisted cause,
/// set-ups, and in every other one repairs that show something.
pub(super) fn random_model(seed: u64) -> Model {
    let dice = &mut Dice::new(seed);
    let candidates = 2 + dice.below(4);
    let tests = 1 + dice.below(4);
    model(dice, candidates, tests, seed % 2 == 1)
}

/// The same with four to six candidates and three or four tests.
pub(super) fn hard_model(seed: u64) -> Model {
    let dice = &mut Dice::new(seed + 1000);
    let candidates = 4 + dice.below(3);
    let tests = 3 + dice.below(2);
    model(dice, candidates, tests, seed % 2 == 1)
}

/// Four set-ups, of which each can be entered again from anywhere: two that exclude each other, and two that may
/// need one of those.
fn reversible_set_ups(dice: &mut Dice) -> SetUps {
    let listed = (0..4)
        .map(|i| {
            let needs = match (i, dice.below(3)) {
                (2, 0) => vec![0],
                (2 | 3, 1) => vec![1],
                (3, 0) => vec![2],
                _ => vec![],
            };
            SetUp {
                entering: entering(1.0 + dice.whole(20), needs),
                group: (i < 2).then_some(0),
                ends: if i == 1 && dice.below(2) == 0 {
                    vec![3]
                } else {
                    vec![]
                },
                place: i,
                ..SetUp::default()
            }
        })
        .collect();
    SetUps::new(listed, money(90.0), money(0.0)).unwrap()
}

/// A hard model bound by rules: measurements that wait for others and close others, repairs that require readings
/// and begin with dismantling, set-ups that spoil readings and are put back after a repair, first looks.
pub(super) fn ruled_model(seed: u64, looks: bool, closing: bool) -> Model {
    let dice = &mut Dice::new(seed + 5000);
    let candidates = 3 + dice.below(3);
    let tests = 3 + dice.below(2);
    let Model {
        problem,
        weights,
        in_place,
    } = model(dice, candidates, tests, seed % 3 == 1);
    let mut parts = problem.parts().clone();
    let some = |dice: &mut Dice, of: usize, one_in: usize| -> Vec<usize> {
        (0..of).filter(|_| dice.below(one_in) == 0).collect()
    };
    parts.set_ups = reversible_set_ups(dice);
    // Nothing asks for both of the first two at once.
    let both = |list: &mut Vec<usize>| {
        if list.contains(&0) {
            list.retain(|s| *s != 1);
        }
    };
    for measurement in &mut parts.measurements {
        both(&mut measurement.needs);
    }
    for m in 0..tests {
        parts.measurements[m].after = some(dice, m, 3);
        for outcome in 0..parts.measurements[m].outcomes {
            let mut effect = Effect {
                closes: some(dice, tests, if outcome == 0 { 50 } else { 10 })
                    .into_iter()
                    .filter(|x| *x != m)
                    .collect(),
                closes_set_ups: some(dice, 4, 25),
                sets: some(dice, 4, 8),
            };
            if !closing {
                effect.closes.clear();
                effect.closes_set_ups.clear();
            }
            parts.measurements[m].effects.push((outcome, effect));
        }
    }
    parts.rules = (0..parts.repairs.len())
        .map(|_| RepairRules {
            all: some(dice, tests, 4),
            any: some(dice, tests, 3),
            barred: dice.below(9) == 0,
            set_ups: some(dice, 4, 5),
            ends: some(dice, 4, 6),
        })
        .collect();
    // One set-up spoils, so that no three measurements spoil one another in a circle.
    parts.spoils = vec![some(dice, tests, 2), vec![], vec![], vec![]];
    parts.arrival = in_place.indices().collect();
    for rules in &mut parts.rules {
        both(&mut rules.set_ups);
    }
    parts.put_back = if dice.below(2) == 0 {
        parts.arrival.clone()
    } else {
        vec![]
    };
    if looks {
        parts.first_looks = some(dice, tests, 2);
    }
    Model {
        problem: Problem::new(parts).unwrap(),
        weights,
        in_place,
    }
}

/// A model where some of what is measured, with all its set-ups, can be read from one recorded drive.
pub(super) fn with_a_drive(model: Model, seed: u64) -> Model {
    let dice = &mut Dice::new(seed + 9000);
    let mut parts = model.problem.parts().clone();
    let answers: Vec<usize> = (0..parts.measurements.len())
        .filter(|_| dice.below(4) > 0)
        .collect();
    let of = answers.iter().map(|m| &parts.measurements[*m]);
    let needs: InPlace = of.clone().flat_map(|of| of.needs.iter().copied()).collect();
    let longest = of.map(|of| of.minutes.get()).fold(0.0, f64::max);
    parts.drives = vec![Drive {
        minutes: minutes(longest + dice.whole(4)),
        needs: needs.indices().collect(),
        answers,
    }];
    Model {
        problem: Problem::new(parts).unwrap(),
        ..model
    }
}

fn model(dice: &mut Dice, candidates: usize, tests: usize, showing: bool) -> Model {
    let repairs = candidates.max(3);
    let set_ups = random_set_ups(dice, 4);
    let candidate_repairs = (0..candidates)
        .map(|_| {
            let mut own = vec![dice.below(repairs)];
            if dice.below(3) == 0 {
                own.push(dice.below(repairs));
            }
            own
        })
        .collect();
    let measurements = (0..tests)
        .map(|id| {
            let outcomes = 2 + dice.below(2);
            let sharp = dice.below(2) == 0;
            let rows = (0..=candidates)
                .flat_map(|_| {
                    let mut row: Vec<f64> = (0..outcomes).map(|_| dice.unit()).collect();
                    if sharp {
                        row[dice.below(outcomes)] += 10.0;
                    }
                    let sum: f64 = row.iter().sum();
                    row.into_iter().map(move |x| x / sum).collect::<Vec<_>>()
                })
                .collect();
            let needs = (0..4).filter(|_| dice.below(3) == 0).collect();
            Foreseen {
                id,
                minutes: minutes(1.0 + dice.whole(8)),
                needs,
                outcomes,
                rows,
                ..Foreseen::default()
            }
        })
        .collect();
    let repairs: Vec<RepairWork> = (0..repairs)
        .map(|_| work(10.0 + dice.whole(200), dice.whole(300)))
        .collect();
    let mut weights: Vec<f64> = (0..candidates).map(|_| dice.between(0.02, 1.0)).collect();
    weights.push(if dice.below(3) == 0 { 0.0 } else { 0.02 });
    let sum: f64 = weights.iter().sum();
    for w in &mut weights {
        *w /= sum;
    }
    let in_place = (0..4).filter(|_| dice.below(2) == 0).collect();
    // Every other model has repairs that show something.
    let shows = (0..repairs.len())
        .map(|_| {
            (0..tests)
                .filter(|_| showing && dice.below(2) == 0)
                .collect()
        })
        .collect();
    let problem = Problem::new(Parts {
        candidates: candidate_repairs,
        repairs,
        escalation: work(480.0, 0.0),
        labour_rate: money(90.0),
        measurements,
        set_ups,
        shows,
        ..Parts::default()
    })
    .unwrap();
    Model {
        problem,
        weights,
        in_place,
    }
}
