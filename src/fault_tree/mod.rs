//! Fault trees: gates, leaves, what makes the top come on and how likely it is.
//!
//! A tree knows nothing of drivelines: its leaves are of any ordered type.

mod cut_sets;
mod tree;
mod value;

pub use cut_sets::{Budget, CutSet, TooManySets, all_of, minimal};
pub use tree::{Builder, FaultTree, Gate, GateRefused, Node, NodeId};
pub use value::TooEntangled;
