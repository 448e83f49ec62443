//! What repairs show on the way, and who pays for it in the bounds. docs/method.md, "What repairs show".

use super::bounds::Class;
use crate::decide::problem::Problem;
use crate::decide::set_up::InPlace;

/// A group whose repairs show something on the way.
pub(super) struct Revealing {
    pub(super) group: usize,
    /// Its repairs.
    pub(super) bits: u128,
}

/// How a measurement that repairs may show is paid for.
#[derive(Clone, Debug, PartialEq)]
pub(super) enum Shown {
    /// No repair shows it.
    Never,
    /// Some repair that shows it wastes too little to pay for it.
    Free,
    /// The waste of every repair that shows it pays for it, but for these hypotheses: they need some of the
    /// repair themselves.
    Paid(Vec<usize>),
}

/// What of a measurement's bits nobody pays for.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum Unpaid {
    Nothing,
    /// What is read under hypotheses of this weight.
    Some(f64),
    Everything,
}

impl Shown {
    pub(super) fn unpaid(&self, charged: bool, weights: &[f64]) -> Unpaid {
        match self {
            Self::Never => Unpaid::Nothing,
            Self::Paid(but_for) if charged => {
                Unpaid::Some(but_for.iter().map(|&h| weights[h]).sum())
            }
            Self::Paid(_) | Self::Free => Unpaid::Everything,
        }
    }
}

/// The possible groups whose repairs show something.
pub(super) fn revealing(problem: &Problem, weights: &[f64], barred: &[bool]) -> Vec<Revealing> {
    let groups = problem.groups().iter().enumerate();
    groups
        .filter(|(group, of)| {
            of.candidates.iter().any(|&h| weights[h] > 0.0)
                && problem.shown_by(*group).iter().any(|&m| !barred[m])
        })
        .map(|(group, of)| Revealing {
            group,
            bits: of.bits,
        })
        .collect()
}

/// How each measurement is paid for where repairs show it, and the classes with what that takes kept back
/// from their waste: at most the own cost of all that the class shows and every set-up on the way there. Who
/// is shown something in vain has paid for a repair that shows something; who begins the class otherwise has
/// been shown nothing.
pub(super) fn paid_by_waste(
    problem: &Problem,
    revealing: &[Revealing],
    barred: &[bool],
    (class_of, classes): (&[usize], &[Class]),
    own_cost: &[f64],
) -> (Vec<Shown>, Vec<Class>) {
    let mut shown = vec![Shown::Never; problem.measurements()];
    let mut by_class: Vec<Vec<usize>> = vec![Vec::new(); classes.len()];
    let mut least = vec![f64::INFINITY; classes.len()];
    for of in revealing {
        let first = problem.groups()[of.group].candidates[0];
        for m in problem.shown_by(of.group) {
            if !barred[m] {
                shown[m] = Shown::Paid(Vec::new());
                if let Some(shows) = by_class.get_mut(class_of[first]) {
                    shows.push(m);
                }
            }
        }
        let parts = problem.parts();
        for &repair in &problem.groups()[of.group].repairs {
            let new = |of: &Vec<usize>| of.iter().any(|&m| !barred[m]);
            let opens = parts.shows.get(repair).is_some_and(new);
            if let Some(least) = least.get_mut(class_of[first]).filter(|_| opens) {
                *least = least.min(parts.repairs[repair].cost(parts.labour_rate));
            }
        }
    }
    let set_ups = problem.set_ups();
    let mut kept_back = Vec::with_capacity(classes.len());
    for ((class, shows), least) in classes.iter().zip(&mut by_class).zip(least) {
        shows.sort_unstable();
        shows.dedup();
        let needed = shows.iter().map(|&m| problem.needed(m));
        let needed = needed.flat_map(InPlace::indices).collect();
        let entered = set_ups.worth_entering(needed).indices();
        let minutes: f64 = entered
            .filter_map(|s| set_ups.listed().get(s))
            .map(|s| s.minutes.get())
            .sum();
        let own: f64 = shows.iter().map(|&m| own_cost[m]).sum();
        let price = if shows.is_empty() {
            0.0
        } else {
            own + minutes * problem.per_minute()
        };
        if price > least {
            for &m in shows.iter() {
                shown[m] = Shown::Free;
            }
        }
        kept_back.push(Class {
            waste: class.waste.min((least - price).max(0.0)),
            cost: class.cost,
        });
    }
    for (m, shown) in shown.iter_mut().enumerate() {
        if let Shown::Paid(but_for) = shown {
            *but_for = needing_some(problem, revealing, m);
        }
    }
    (shown, kept_back)
}

/// The candidates that need some of a repair that shows a measurement, and more than that.
fn needing_some(problem: &Problem, revealing: &[Revealing], m: usize) -> Vec<usize> {
    let showing = |group: usize| problem.shown_by(group).contains(&m);
    let showing: Vec<u128> = revealing
        .iter()
        .filter(|of| showing(of.group))
        .map(|of| of.bits)
        .collect();
    (0..problem.candidates())
        .filter(|&h| {
            let bits = problem.groups()[problem.group_of()[h]].bits;
            showing.iter().any(|s| s & bits != 0 && bits & !s != 0)
        })
        .collect()
}
