//! The search: one leaf at a time, the one whose gap is widest, following one lead after another.

use super::ahead::Lead;
use super::graph::Graph;
use crate::decide::problem::Problem;
use crate::decide::set_up::InPlace;
use std::time::{Duration, Instant};

/// Relative gap at which the plan counts as proven: rounding.
pub const PROVEN: f64 = 1e-9;

/// When the search ends, whichever comes first.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Limits {
    /// Time it may take.
    pub time: Duration,
    /// How many nodes it may open: the same number gives the same plan on every machine.
    pub opened: u64,
    /// How many bytes the graph may take.
    pub bytes: usize,
}

impl Default for Limits {
    /// Ten seconds, any number of nodes, 1 GiB.
    fn default() -> Self {
        Self {
            time: Duration::from_secs(10),
            opened: u64::MAX,
            bytes: 1 << 30,
        }
    }
}

/// Why the search ended.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Stopped {
    /// No policy is cheaper.
    Proven,
    /// The time was over.
    Time,
    /// As many nodes were opened as allowed.
    Opened,
    /// The graph took as many bytes as allowed.
    Bytes,
}

/// How far the search has come.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Progress {
    /// Time since it began.
    pub elapsed: Duration,
    /// No policy costs less.
    pub lower: f64,
    /// Expected cost of the best policy so far.
    pub upper: f64,
    /// Nodes opened.
    pub opened: u64,
    /// Bytes taken, about.
    pub bytes: usize,
}

/// Leads at first: a good policy soon.
const FIRST: [Lead; 6] = [
    Lead::Bits,
    Lead::Best,
    Lead::Bits,
    Lead::Guess,
    Lead::Best,
    Lead::Lower,
];

/// Leads later: the bound as well.
const THEN: [Lead; 6] = [
    Lead::Lower,
    Lead::Best,
    Lead::Lower,
    Lead::Bits,
    Lead::Lower,
    Lead::Guess,
];

/// How many nodes are opened before the bound gets its share.
const SOON: u64 = 4000;

/// Turns without a report: about as often as a screen is worth drawing.
const SILENT: u64 = 256;

/// Grows the graph until a limit is reached. Tells `watch` whenever a bound of the root has moved, and from
/// time to time.
pub(super) fn search<'a>(
    problem: &'a Problem,
    weights: &[f64],
    (in_place, done): (InPlace, u128),
    taken: &[usize],
    limits: &Limits,
    watch: &mut dyn FnMut(&Progress),
) -> (Graph<'a>, Stopped) {
    let start = Instant::now();
    let mut graph = Graph::new(problem, weights, in_place, taken, done);
    graph.open(0);
    let mut told = (f64::NAN, f64::NAN);
    let mut turn = 0_u64;
    let mut idle = 0_u64;
    loop {
        let root = &graph.nodes[0];
        if turn.is_multiple_of(SILENT) || told != (root.lower, root.upper) {
            told = (root.lower, root.upper);
            watch(&Progress {
                elapsed: start.elapsed(),
                lower: root.lower / root.weight,
                upper: root.upper / root.weight,
                opened: graph.opened(),
                bytes: graph.bytes(),
            });
        }
        let stopped = if root.gap() <= 0.1 * PROVEN * root.upper {
            Some(Stopped::Proven)
        } else if graph.opened() >= limits.opened {
            Some(Stopped::Opened)
        } else if graph.bytes() >= limits.bytes {
            Some(Stopped::Bytes)
        } else if start.elapsed() >= limits.time {
            Some(Stopped::Time)
        } else {
            None
        };
        if let Some(stopped) = stopped {
            return (graph, stopped);
        }
        let before = graph.opened();
        let leads = if before < SOON { FIRST } else { THEN };
        let at = usize::try_from(turn % 6).unwrap_or(0);
        // A lead with nothing left below it gives its turn away; long idleness hands over to the bound.
        let lead = if graph.nodes[0].urgency(leads[at]) > 0.0 && idle < 6 {
            leads[at]
        } else {
            Lead::Lower
        };
        down(&mut graph, 0, lead);
        idle = if graph.opened() > before { 0 } else { idle + 1 };
        turn += 1;
    }
}

/// Opens so many nodes from one on down, or as many as are worth it.
pub(super) fn from_here(graph: &mut Graph, number: u32, opened: u64) {
    graph.open(number);
    let end = graph.opened() + opened;
    let mut idle = 0;
    for turn in 0_usize.. {
        let before = graph.opened();
        if graph.nodes[number as usize].closed() || before >= end || idle == FIRST.len() {
            return;
        }
        down(graph, number, FIRST[turn % FIRST.len()]);
        idle = if graph.opened() > before { 0 } else { idle + 1 };
    }
}

/// Down from a node to the most urgent leaf, opening it, and back up.
fn down(graph: &mut Graph, number: u32, lead: Lead) {
    let mut path = Vec::new();
    let mut here = number;
    loop {
        path.push(here);
        if graph.nodes[here as usize].actions.is_none() {
            graph.open(here);
            break;
        }
        // Others may have improved what lies below since this node was last seen.
        graph.settle(here);
        let Some(action) = graph.nodes[here as usize].pick(lead) else {
            break;
        };
        graph.look_further(here, action);
        let Some(child) = graph.most_urgent(here, action, lead) else {
            break;
        };
        if graph.nodes[child as usize].closed() {
            break;
        }
        here = child;
    }
    for &node in path.iter().rev() {
        graph.settle(node);
    }
}
