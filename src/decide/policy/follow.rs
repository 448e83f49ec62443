//! The plan as it is carried out: searched on after every reading, as in the bay.
//!
//! The tree of a policy ends where the search has not come, and counts repairing there. Who works by the plan
//! searches on from where the vehicle stands, so what the plan comes to in the bay is less than what its tree
//! adds up to. It is found like that of any other way of working: on drawn vehicles.

use super::ahead::Act;
use super::graph::{Choice, Graph, NEVER};
use super::search;
use super::search::Limits;
use crate::decide::compare::{Comparison, Vehicles, summed_up};
use crate::decide::problem::Problem;
use crate::decide::set_up::InPlace;

/// What the plan comes to where it is searched on from every point that a vehicle comes to: `first` limits the
/// search at the start, `each` is how many nodes are opened at every later point. Weights need not add up to 1.
#[must_use]
pub fn followed(
    problem: &Problem,
    weights: &[f64],
    in_place: InPlace,
    first: &Limits,
    each: u64,
    vehicles: &Vehicles,
) -> Comparison {
    let (graph, _) = search::search(problem, weights, (in_place, 0), &[], first, &mut |_| {});
    let all: Vec<u32> = vehicles.all();
    let mut follow = Follow {
        graph,
        each,
        vehicles,
        costs: vec![(0.0, 0.0); all.len()],
        nodes: 0,
    };
    follow.from(0, (0.0, 0.0), &all);
    summed_up(&follow.costs, follow.nodes)
}

struct Follow<'a, 'v> {
    graph: Graph<'a>,
    each: u64,
    vehicles: &'v Vehicles,
    /// Of each vehicle: all its cost, and that of measuring.
    costs: Vec<(f64, f64)>,
    nodes: u64,
}

impl Follow<'_, '_> {
    /// Goes on with some vehicles from a node, for which so much was spent, so much of it on measuring.
    fn from(&mut self, number: u32, (spent, testing): (f64, f64), some: &[u32]) {
        self.nodes += 1;
        let at = number as usize;
        search::from_here(&mut self.graph, number, self.each);
        let node = &self.graph.nodes[at];
        let (weight, repair) = (node.weight, node.repair);
        let Choice::Act(action) = node.next_step() else {
            for &vehicle in some {
                self.costs[vehicle as usize] = (spent + repair / weight, testing);
            }
            return;
        };
        self.graph.look_further(number, action);
        let Some((act, cost, children)) = self.graph.nodes[at].actions.as_ref().and_then(|a| {
            let action = &a[action];
            Some((action.act, action.cost / weight, action.children.clone()?))
        }) else {
            return;
        };
        match act {
            Act::Measure(measurement) => {
                let spent = (spent + cost, testing + cost);
                for (outcome, &child) in children.iter().enumerate() {
                    let reads = |v: &u32| self.vehicles.reads(*v, measurement) == outcome;
                    let these: Vec<u32> = some.iter().copied().filter(reads).collect();
                    if child != NEVER && !these.is_empty() {
                        self.from(child, spent, &these);
                    }
                }
            }
            Act::Repair(_) => {
                let left: Vec<u32> = some
                    .iter()
                    .copied()
                    .filter(|v| {
                        children[0] != NEVER
                            && self.graph.nodes[children[0] as usize].weights
                                [self.vehicles.wrong(*v)]
                                > 0.0
                    })
                    .collect();
                for &vehicle in some {
                    self.costs[vehicle as usize] = (spent + cost, testing);
                }
                if !left.is_empty() {
                    self.from(children[0], (spent + cost, testing), &left);
                }
            }
        }
    }
}
