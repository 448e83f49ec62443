//! Random small jobs, and the files they are written as.

use std::collections::BTreeMap;

use crate::family_text::{Test, Textbook};

/// Numbers that look random and are the same every time (xorshift, Marsaglia 2003).
pub(super) struct Dice(pub(super) u64);

impl Dice {
    pub(super) fn next(&mut self) -> u64 {
        self.0 ^= self.0 << 13;
        self.0 ^= self.0 >> 7;
        self.0 ^= self.0 << 17;
        self.0
    }

    pub(super) fn below(&mut self, count: usize) -> usize {
        usize::try_from((self.next() >> 11) % count as u64).unwrap()
    }

    /// 0 to 1, in thousandths, so that the files stay readable.
    pub(super) fn share(&mut self) -> f64 {
        self.below(1000) as f64 / 1000.0
    }

    pub(super) fn one_in(&mut self, count: usize) -> bool {
        self.below(count) == 0
    }

    pub(super) fn of<T: Copy>(&mut self, list: &[T]) -> T {
        list[self.below(list.len())]
    }

    /// Some of 0 to `count − 1`, at least one.
    pub(super) fn some(&mut self, count: usize, most: usize) -> Vec<usize> {
        let mut left: Vec<usize> = (0..count).collect();
        let take = 1 + self.below(most.min(count));
        (0..take)
            .map(|_| left.swap_remove(self.below(left.len())))
            .collect()
    }
}

/// A gate's input.
#[derive(Clone)]
pub(super) enum Input {
    /// A cause with a strength.
    Leaf(usize, f64),
    /// The shared part with a strength; 1 has no switch.
    Shared(f64),
    Gate(Gate),
}

#[derive(Clone)]
pub(super) struct Gate {
    /// How many inputs must be on.
    pub(super) least: usize,
    pub(super) word: &'static str,
    pub(super) inputs: Vec<Input>,
}

impl Gate {
    pub(super) fn yaml(&self) -> String {
        let inputs: Vec<String> = self
            .inputs
            .iter()
            .map(|input| match input {
                Input::Leaf(cause, 1.0) => format!("c{cause}"),
                Input::Leaf(cause, strength) => {
                    format!("{{cause: c{cause}, strength: {strength}}}")
                }
                Input::Shared(1.0) => "{shared: part}".to_owned(),
                Input::Shared(strength) => format!("{{shared: part, strength: {strength}}}"),
                Input::Gate(gate) => format!("{{event: within, {}}}", gate.yaml()),
            })
            .collect();
        let inputs = inputs.join(", ");
        match self.word {
            "at_least" => format!("at_least: {}, of: [{inputs}]", self.least),
            word => format!("{word}: [{inputs}]"),
        }
    }
}

/// A measurement as the referee sees it: outcome 0 is normal.
pub(super) struct Look {
    pub(super) stated: BTreeMap<usize, Vec<Option<f64>>>,
    pub(super) chance: Vec<f64>,
    pub(super) rest_chance: bool,
    pub(super) repeat: bool,
    pub(super) minutes: f64,
}

/// A whole random job.
pub(super) struct Case {
    pub(super) rates: Vec<f64>,
    pub(super) repair_of: Vec<usize>,
    pub(super) costs: Vec<f64>,
    pub(super) part: Option<Gate>,
    pub(super) symptoms: Vec<Gate>,
    pub(super) present: Vec<usize>,
    pub(super) absent: Vec<usize>,
    pub(super) repaired: Option<usize>,
    pub(super) looks: Vec<Look>,
    pub(super) readings: Vec<(usize, Vec<f64>)>,
    pub(super) figures: (usize, f64, f64, f64, f64),
}

pub(super) fn gate(dice: &mut Dice, causes: usize, part: bool, depth: usize) -> Gate {
    let mut inputs: Vec<Input> = dice
        .some(causes, 3)
        .into_iter()
        .map(|cause| {
            // A weak leaf now and then, so that strong sets stand behind it.
            let strength = if dice.one_in(3) {
                1.0
            } else {
                dice.of(&[0.9, 0.5, 0.3, 0.02, 0.001])
            };
            Input::Leaf(cause, strength)
        })
        .collect();
    if part && dice.one_in(2) {
        inputs.push(Input::Shared(dice.of(&[1.0, 0.8, 0.4])));
    }
    for _ in 0..depth {
        if dice.one_in(2) {
            inputs.push(Input::Gate(gate(dice, causes, part, depth - 1)));
        }
    }
    let (word, least) = match dice.below(4) {
        0 => ("all", inputs.len()),
        1 => ("at_least", 1 + dice.below(inputs.len())),
        _ => ("any", 1),
    };
    Gate {
        least,
        word,
        inputs,
    }
}

pub(super) fn case(dice: &mut Dice) -> Case {
    let causes = 3 + dice.below(3);
    let mut repair_of = Vec::new();
    for cause in 0..causes {
        repair_of.push(if cause > 0 && dice.one_in(4) {
            dice.of(&repair_of)
        } else {
            cause
        });
    }
    let part = dice.one_in(2).then(|| gate(dice, causes, false, 0));
    let symptoms: Vec<Gate> = (0..=dice.below(3))
        .map(|_| gate(dice, causes, part.is_some(), 2))
        .collect();
    let present = dice.some(symptoms.len(), 3);
    let absent: Vec<usize> = (0..symptoms.len())
        .filter(|symptom| !present.contains(symptom) && dice.one_in(2))
        .collect();
    let looks: Vec<Look> = (0..=dice.below(4))
        .map(|_| {
            let outcomes = 2 + dice.below(3);
            let most = 1.0 / outcomes as f64;
            let stated = dice
                .some(causes, causes)
                .into_iter()
                .map(|cause| {
                    let mut row: Vec<Option<f64>> = (0..outcomes)
                        .map(|_| dice.one_in(2).then(|| dice.share() * most))
                        .collect();
                    row[0] = None;
                    row[1] = Some(dice.of(&[0.0, most * 0.9, most]));
                    (cause, row)
                })
                .collect();
            let mut chance: Vec<f64> = (0..outcomes).map(|_| dice.of(&[0.02, 0.0, 0.1])).collect();
            chance[0] = 1.0 - chance[1..].iter().sum::<f64>();
            Look {
                stated,
                chance,
                rest_chance: dice.one_in(2),
                repeat: dice.one_in(4),
                minutes: 1.0 + dice.below(30) as f64,
            }
        })
        .collect();
    let readings = (0..dice.below(4))
        .map(|_| {
            let look = dice.below(looks.len());
            let outcomes = looks[look].chance.len();
            let mut weights = vec![0.0; outcomes];
            weights[dice.below(outcomes)] = 1.0;
            if dice.one_in(2) {
                weights.fill_with(|| 0.01 + dice.share());
            }
            (look, weights)
        })
        .collect();
    Case {
        rates: (0..causes)
            .map(|_| dice.of(&[2.0, 10.0, 40.0, 150.0, 400.0, 490.0]) + dice.share())
            .collect(),
        costs: (0..causes).map(|_| 10.0 + 500.0 * dice.share()).collect(),
        repaired: dice.one_in(6).then(|| dice.of(&repair_of)),
        figures: (
            1 + dice.below(3),
            dice.of(&[0.0, 0.02, 0.1]),
            dice.of(&[0.0, 0.001, 0.01]),
            dice.of(&[0.25, 0.5]),
            100.0 + 1000.0 * dice.share(),
        ),
        repair_of,
        part,
        symptoms,
        present,
        absent,
        looks,
        readings,
    }
}

impl Case {
    pub(super) fn book(&self) -> Textbook {
        let mut book = Textbook::new();
        (
            book.max_order,
            book.unlisted,
            book.floor,
            book.reacts,
            book.escalation,
        ) = self.figures;
        for (cause, rate) in self.rates.iter().enumerate() {
            let repair = self.repair_of[cause];
            book = book.cause_put_right(
                &format!("c{cause}"),
                *rate,
                &format!("r{repair}"),
                self.costs[repair],
            );
        }
        if let Some(part) = &self.part {
            book = book.shared("part", &part.yaml());
        }
        for (symptom, gate) in self.symptoms.iter().enumerate() {
            book = book.symptom(&format!("s{symptom}"), &gate.yaml());
        }
        for (at, look) in self.looks.iter().enumerate() {
            let outcomes: Vec<String> = (0..look.chance.len())
                .map(|outcome| format!("o{outcome}"))
                .collect();
            let outcomes: Vec<&str> = outcomes.iter().map(String::as_str).collect();
            let mut test = Test::new(&format!("t{at}"), &outcomes).minutes(look.minutes);
            for (outcome, name) in outcomes.iter().enumerate().skip(1) {
                test = test.chance(name, look.chance[outcome]);
                for (cause, row) in &look.stated {
                    if let Some(p) = row[outcome] {
                        test = test.shows(name, &format!("c{cause}"), p);
                    }
                }
            }
            if look.rest_chance {
                test = test.with("rest: chance");
            }
            if look.repeat {
                test = test.with("repeat: true");
            }
            book = book.test(test);
        }
        book
    }
}
