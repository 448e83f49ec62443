use halfsplit::quantity::Probability;
use halfsplit::tree::{Builder, Gate};

/// After the Fault Tree Handbook, NUREG-0492, fig. VII-10, with strengths (recomputed by hand):
/// T = (A + B + C)·(C + A·B) = C + A·B, so P = 1 − (1 − 0.05)(1 − 0.02) = 0.069.
#[test]
fn a_repeated_leaf_is_one_thing_not_two() {
    let p = |number| Probability::new(number).unwrap();
    let mut tree = Builder::new();
    let (a, b, c) = (
        tree.leaf('A', p(0.1)),
        tree.leaf('B', p(0.2)),
        tree.leaf('C', p(0.05)),
    );
    let e1 = tree.gate(Gate::Any, "", None, &[a, b, c]).unwrap();
    let e4 = tree.gate(Gate::All, "", None, &[a, b]).unwrap();
    let e2 = tree.gate(Gate::Any, "", None, &[c, e4]).unwrap();
    let top = tree.gate(Gate::All, "", None, &[e1, e2]).unwrap();
    let tree = tree.finish(top);
    assert_eq!(tree.cut_sets(3), vec![vec!['C'], vec!['A', 'B']]);
    let value = tree.probability(|_| true).get();
    assert!((value - 0.069).abs() < 1e-12, "{value}");
}
