//! The tree itself: a directed acyclic graph of gates over leaves (IEC 61025).

use std::collections::BTreeMap;

use petgraph::graph::{DiGraph, NodeIndex};
use petgraph::visit::Dfs;

use crate::units::Probability;

/// A place in the graph of one tree.
pub type NodeId = NodeIndex<u32>;

/// When a gate is on, by how many of its inputs are (IEC 61025: OR, AND, m-out-of-n voting).
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Gate {
    /// At least one input.
    Any,
    /// Every input.
    All,
    /// At least so many inputs.
    AtLeast(usize),
}

impl Gate {
    /// How many of `inputs` inputs must be on.
    pub const fn threshold(self, inputs: usize) -> usize {
        match self {
            Self::Any => 1,
            Self::All => inputs,
            Self::AtLeast(k) => k,
        }
    }
}

/// What stands at one place of the tree.
#[derive(Clone, Debug, PartialEq)]
pub enum Node<C> {
    /// A basic event: on with probability `strength` where its cause is present, else off.
    Leaf {
        /// The cause whose presence it needs.
        cause: C,
        /// How often the cause, where present, brings this event about.
        strength: Probability,
    },
    /// An event brought about by other events.
    Gate {
        /// How many of them it takes.
        gate: Gate,
        /// The event, in words; empty where the knowledge gives none.
        event: String,
        /// The name of the part, where it is one that several trees share.
        shared: Option<String>,
    },
    /// One input AND a switch of its own that is on with probability `strength`: a reference to a
    /// shared part that brings about less here than the part itself.
    Sometimes {
        /// How often the input, where on, counts here.
        strength: Probability,
    },
}

/// A fault tree over causes of type `C`.
///
/// Inputs stand before the gates that use them, so the order of the nodes is an order of evaluation
/// and a cycle cannot be built.
#[derive(Clone, Debug)]
pub struct FaultTree<C> {
    graph: DiGraph<Node<C>, ()>,
    /// The leaves of each cause.
    leaves: BTreeMap<C, Vec<NodeId>>,
}

impl<C: Copy + Ord> FaultTree<C> {
    /// The top event.
    pub fn top(&self) -> NodeId {
        NodeId::new(self.graph.node_count() - 1)
    }

    /// What stands at a place of this tree.
    pub fn node(&self, place: NodeId) -> &Node<C> {
        &self.graph[place]
    }

    /// The graph: an edge from every gate to each of its inputs.
    pub const fn graph(&self) -> &DiGraph<Node<C>, ()> {
        &self.graph
    }

    /// The inputs of a place, in the order they were given.
    pub fn inputs(&self, place: NodeId) -> Vec<NodeId> {
        // petgraph walks the edges of a node from the newest to the oldest.
        let mut inputs: Vec<NodeId> = self.graph.neighbors(place).collect();
        inputs.reverse();
        inputs
    }

    /// Every place, inputs before the gates that use them.
    pub fn places(&self) -> impl DoubleEndedIterator<Item = NodeId> + use<C> {
        self.graph.node_indices()
    }

    /// The names of the parts that several trees share, to be given others.
    pub fn shared_names(&mut self) -> impl Iterator<Item = &mut String> {
        self.graph.node_weights_mut().filter_map(|node| match node {
            Node::Gate { shared, .. } => shared.as_mut(),
            Node::Leaf { .. } | Node::Sometimes { .. } => None,
        })
    }

    /// The causes that stand in the tree, in order, each once.
    pub fn causes(&self) -> Vec<C> {
        self.leaves.keys().copied().collect()
    }

    /// Whether a cause stands in the tree.
    pub fn holds(&self, cause: C) -> bool {
        self.leaves.contains_key(&cause)
    }

    /// The causes and the leaves of each, in order.
    pub(super) fn leaves(&self) -> impl Iterator<Item = (&C, &Vec<NodeId>)> {
        self.leaves.iter()
    }

    /// The leaves of a cause.
    pub(super) fn leaves_of(&self, cause: C) -> &[NodeId] {
        self.leaves.get(&cause).map_or(&[], Vec::as_slice)
    }
}

/// Why a gate was refused.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
pub enum GateRefused {
    /// A gate needs an input.
    #[error("the gate has no inputs")]
    NoInputs,
    /// A voting gate must be able to come on, and not be on from the start.
    #[error("at least {needed} of {inputs} can never be so")]
    OutOfReach {
        /// How many inputs the gate asks for.
        needed: usize,
        /// How many it has.
        inputs: usize,
    },
}

/// Builds a tree from its leaves up.
#[derive(Clone, Debug)]
pub struct Builder<C> {
    graph: DiGraph<Node<C>, ()>,
}

impl<C: Copy + Ord> Default for Builder<C> {
    fn default() -> Self {
        Self::new()
    }
}

impl<C: Copy + Ord> Builder<C> {
    /// A builder with nothing built.
    pub fn new() -> Self {
        Self {
            graph: DiGraph::new(),
        }
    }

    /// A leaf of a cause: a link of its own, on independently of every other leaf, those of the same cause too.
    pub fn leaf(&mut self, cause: C, strength: Probability) -> NodeId {
        self.graph.add_node(Node::Leaf { cause, strength })
    }

    /// A gate over inputs that stand already. An input given twice counts twice for a voting gate.
    ///
    /// # Errors
    ///
    /// [`GateRefused`] where there is no input, or a voting gate asks for none or for more than it has.
    pub fn gate(
        &mut self,
        gate: Gate,
        event: &str,
        shared: Option<&str>,
        inputs: &[NodeId],
    ) -> Result<NodeId, GateRefused> {
        if inputs.is_empty() {
            return Err(GateRefused::NoInputs);
        }
        let needed = gate.threshold(inputs.len());
        if needed == 0 || needed > inputs.len() {
            return Err(GateRefused::OutOfReach {
                needed,
                inputs: inputs.len(),
            });
        }
        let place = self.graph.add_node(Node::Gate {
            gate,
            event: event.to_owned(),
            shared: shared.map(str::to_owned),
        });
        for input in inputs {
            self.graph.add_edge(place, *input, ());
        }
        Ok(place)
    }

    /// The input AND a switch of its own that is on with probability `strength`.
    pub fn sometimes(&mut self, strength: Probability, input: NodeId) -> NodeId {
        let place = self.graph.add_node(Node::Sometimes { strength });
        self.graph.add_edge(place, input, ());
        place
    }

    /// The tree below `top`; whatever was built and does not stand below it is left out.
    pub fn finish(self, top: NodeId) -> FaultTree<C> {
        let mut below = Dfs::new(&self.graph, top);
        while below.next(&self.graph).is_some() {}
        // Places and edges keep their order, so the top, above all that is left, comes last.
        let graph = self.graph.filter_map(
            |place, node| {
                below
                    .discovered
                    .contains(place.index())
                    .then(|| node.clone())
            },
            |_, ()| Some(()),
        );
        let mut leaves: BTreeMap<C, Vec<NodeId>> = BTreeMap::new();
        for place in graph.node_indices() {
            if let Node::Leaf { cause, .. } = &graph[place] {
                leaves.entry(*cause).or_default().push(place);
            }
        }
        FaultTree { graph, leaves }
    }
}
