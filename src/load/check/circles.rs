//! What waits for itself.

use petgraph::algo::kosaraju_scc;
use petgraph::graphmap::{DiGraphMap, NodeTrait};

/// The circles in what leads to what, each in order.
pub(super) fn circles<N: NodeTrait, E>(leads: &DiGraphMap<N, E>) -> Vec<Vec<N>> {
    let mut circles = kosaraju_scc(leads);
    circles.retain(|nodes| nodes.len() > 1 || leads.contains_edge(nodes[0], nodes[0]));
    for nodes in &mut circles {
        nodes.sort_unstable();
    }
    circles
}
