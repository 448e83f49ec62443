//! The obvious implementation: try everything, add up.

use std::collections::{BTreeMap, BTreeSet};

use super::case::{Case, Gate, Input, Look};

impl Gate {
    /// Whether it is on, where each leaf and switch asks `state` for its own.
    pub(super) fn is_on(
        &self,
        part: Option<&Gate>,
        switch: &mut usize,
        state: &mut dyn FnMut(Coin) -> bool,
    ) -> bool {
        let mut count = 0;
        for input in &self.inputs {
            let on = match input {
                Input::Leaf(cause, strength) => {
                    let place = std::ptr::from_ref(input).addr();
                    state(Coin::Leaf(*cause, strength.to_bits(), place))
                }
                Input::Gate(gate) => gate.is_on(part, switch, state),
                Input::Shared(strength) => {
                    let on = part.unwrap().is_on(None, switch, state);
                    *switch += 1;
                    // Both sides are asked, so that switches keep their numbers.
                    let closed = state(Coin::Switch(*switch, strength.to_bits()));
                    on && closed
                }
            };
            count += usize::from(on);
        }
        count >= self.least
    }
}

/// What is thrown for: a leaf as written is a link of its own, by its place; so is a switch.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(super) enum Coin {
    Leaf(usize, u64, usize),
    Switch(usize, u64),
}

impl Coin {
    pub(super) fn strength(self) -> f64 {
        f64::from_bits(match self {
            Self::Leaf(_, bits, _) | Self::Switch(_, bits) => bits,
        })
    }
}

/// P(top is `wanted` | causes): the sum over every state of the leaves whose cause is there and of the
/// switches. That a top is off is summed too, not subtracted, so that a certain one leaves exactly nothing.
pub(super) fn probability(
    gate: &Gate,
    part: Option<&Gate>,
    causes: &BTreeSet<usize>,
    wanted: bool,
) -> f64 {
    let mut coins = BTreeSet::new();
    gate.is_on(part, &mut 0, &mut |coin| {
        let counts = !matches!(coin, Coin::Leaf(cause, ..) if !causes.contains(&cause));
        if counts {
            coins.insert(coin);
        }
        false
    });
    let coins: Vec<Coin> = coins.into_iter().collect();
    (0_u32..1 << coins.len())
        .map(|state| {
            let on = |coin: Coin| {
                coins
                    .iter()
                    .position(|c| *c == coin)
                    .is_some_and(|at| state >> at & 1 == 1)
            };
            let weight: f64 = coins
                .iter()
                .map(|coin| {
                    if on(*coin) {
                        coin.strength()
                    } else {
                        1.0 - coin.strength()
                    }
                })
                .product();
            if gate.is_on(part, &mut 0, &mut |coin| on(coin)) == wanted {
                weight
            } else {
                0.0
            }
        })
        .sum()
}

impl Look {
    pub(super) fn row_of_cause(&self, stated: &[Option<f64>]) -> Vec<f64> {
        let left = 1.0 - stated.iter().flatten().sum::<f64>();
        let mut row: Vec<f64> = stated
            .iter()
            .zip(&self.chance)
            .map(|(stated, chance)| match stated {
                Some(p) => *p,
                None if self.rest_chance => chance * left,
                None => 0.0,
            })
            .collect();
        row[0] = 1.0 - row[1..].iter().sum::<f64>();
        row
    }

    pub(super) fn row(&self, set: &BTreeSet<usize>, floor: f64) -> Vec<f64> {
        let rows: Vec<Vec<f64>> = set
            .iter()
            .filter_map(|cause| self.stated.get(cause))
            .map(|stated| self.row_of_cause(stated))
            .collect();
        let row = match rows.len() {
            0 => self.chance.clone(),
            1 => rows[0].clone(),
            _ => {
                let n: f64 = rows.iter().map(|row| row[0]).product();
                let u: Vec<f64> = (1..self.chance.len())
                    .map(|o| 1.0 - rows.iter().map(|row| 1.0 - row[o]).product::<f64>())
                    .collect();
                let sum: f64 = u.iter().sum();
                let share = |u: &f64| if sum > 0.0 { (1.0 - n) * u / sum } else { 0.0 };
                std::iter::once(n).chain(u.iter().map(share)).collect()
            }
        };
        raise(row, floor)
    }

    pub(super) fn unlisted(&self, reacts: f64, floor: f64) -> Vec<f64> {
        let uniform = 1.0 / self.chance.len() as f64;
        raise(
            self.chance
                .iter()
                .map(|p| reacts * uniform + (1.0 - reacts) * p)
                .collect(),
            floor,
        )
    }
}

fn raise(row: Vec<f64>, floor: f64) -> Vec<f64> {
    let row: Vec<f64> = row.into_iter().map(|p| p.max(floor)).collect();
    let sum: f64 = row.iter().sum();
    row.into_iter().map(|p| p / sum).collect()
}

impl Case {
    pub(super) fn weight(&self, set: &BTreeSet<usize>) -> f64 {
        let floor = self.figures.2;
        let odds: f64 = set
            .iter()
            .map(|c| self.rates[*c] / 1000.0 / (1.0 - self.rates[*c] / 1000.0))
            .product();
        let p = |symptom: &usize, on| {
            probability(&self.symptoms[*symptom], self.part.as_ref(), set, on)
        };
        let present: f64 = self.present.iter().map(|s| p(s, true)).product();
        let absent: f64 = self.absent.iter().map(|s| p(s, false).max(floor)).product();
        odds * present * absent
    }

    /// Every set of causes, smaller ones first.
    pub(super) fn sets(&self) -> Vec<BTreeSet<usize>> {
        let mut sets: Vec<BTreeSet<usize>> = (1_u32..1 << self.rates.len())
            .map(|bits| {
                (0..self.rates.len())
                    .filter(|c| bits >> c & 1 == 1)
                    .collect()
            })
            .collect();
        sets.sort_by_key(BTreeSet::len);
        sets
    }

    /// The candidates with their weights; `None` where nothing fits.
    pub(super) fn candidates(&self) -> Option<BTreeMap<Vec<usize>, f64>> {
        let explains = |set: &BTreeSet<usize>| {
            self.present.iter().all(|symptom| {
                let mut on =
                    |coin: Coin| !matches!(coin, Coin::Leaf(cause, ..) if !set.contains(&cause));
                self.symptoms[*symptom].is_on(self.part.as_ref(), &mut 0, &mut on)
            })
        };
        let mut minimal: Vec<BTreeSet<usize>> = Vec::new();
        for set in self.sets() {
            if explains(&set) && !minimal.iter().any(|known| known.is_subset(&set)) {
                minimal.push(set);
            }
        }
        let order = (self.figures.0..=self.figures.0.max(self.present.len()))
            .find(|order| minimal.iter().any(|set| set.len() <= *order))?;
        let mut kept: Vec<(BTreeSet<usize>, f64)> = minimal
            .into_iter()
            .filter(|set| set.len() <= order)
            .map(|set| (set.clone(), self.weight(&set)))
            .collect();
        for set in self.sets().into_iter().filter(|set| set.len() <= order) {
            let inside: Vec<f64> = kept
                .iter()
                .filter(|(known, _)| known.is_subset(&set))
                .map(|(_, weight)| *weight)
                .collect();
            let known = kept.iter().any(|(known, _)| *known == set);
            let weight = self.weight(&set);
            if !inside.is_empty() && !known && inside.iter().all(|other| weight > *other) {
                kept.push((set, weight));
            }
        }
        Some(
            kept.into_iter()
                .map(|(set, weight)| (set.into_iter().collect(), weight))
                .collect(),
        )
    }

    /// The cheapest way to end, by every order of the groups and every place to hand the job on.
    pub(super) fn repair_now(&self, candidates: &[Vec<usize>], belief: &[f64]) -> Option<f64> {
        let need = |set: &Vec<usize>| -> BTreeSet<usize> {
            set.iter().map(|c| self.repair_of[*c]).collect()
        };
        let groups: BTreeSet<BTreeSet<usize>> = candidates
            .iter()
            .zip(belief)
            .filter(|(_, p)| **p > 0.0)
            .map(|(set, _)| need(set))
            .collect();
        if groups.len() > 6 {
            return None;
        }
        let cost = |repair: &usize| {
            if Some(*repair) == self.repaired {
                0.0
            } else {
                self.costs[*repair]
            }
        };
        let mut best = f64::INFINITY;
        let mut orders = vec![(Vec::<BTreeSet<usize>>::new(), 0.0)];
        while let Some((order, spent)) = orders.pop() {
            let done: BTreeSet<usize> = order.iter().flatten().copied().collect();
            let left: f64 = candidates
                .iter()
                .zip(belief)
                .filter(|(set, _)| !need(set).is_subset(&done) || order.is_empty())
                .map(|(_, p)| *p)
                .sum::<f64>()
                + belief[candidates.len()..].iter().sum::<f64>();
            best = best.min(spent + left * self.figures.4);
            if left == 0.0 {
                best = best.min(spent);
            }
            for group in groups.iter().filter(|group| !order.contains(group)) {
                let step: f64 = group.difference(&done).map(cost).sum();
                let mut next = order.clone();
                next.push(group.clone());
                orders.push((next, spent + left * step));
            }
        }
        Some(best)
    }
}

pub(super) fn entropy(p: &[f64]) -> f64 {
    let sum: f64 = p.iter().sum();
    p.iter()
        .map(|p| p / sum)
        .filter(|p| *p > 0.0)
        .map(|p| -p * p.log2())
        .sum()
}

pub(super) fn normalised(weights: Vec<f64>) -> Vec<f64> {
    let sum: f64 = weights.iter().sum();
    if sum > 0.0 {
        return weights.into_iter().map(|w| w / sum).collect();
    }
    // Nothing listed is possible: all that is left is what nobody listed.
    let last = weights.len() - 1;
    (0..weights.len())
        .map(|at| f64::from(u8::from(at == last)))
        .collect()
}
