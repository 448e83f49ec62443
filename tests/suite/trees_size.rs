use std::thread;

use halfsplit::fault_tree::{Builder, CutSet, FaultTree, Gate, NodeId, minimal};

use crate::trees_sketch::p;

/// Runs on a stack that no walk by recursion over thousands of gates would fit on. What
/// enumerates by brute force would take hours here.
fn at_once(work: impl FnOnce() + Send + 'static) {
    let on_a_small_stack = thread::Builder::new().stack_size(128 * 1024);
    on_a_small_stack.spawn(work).unwrap().join().unwrap();
}

/// A chain of gates, each made of the one before.
fn chain(
    gates: u32,
    mut link: impl FnMut(&mut Builder<u32>, u32, NodeId) -> NodeId,
) -> FaultTree<u32> {
    let mut builder = Builder::new();
    let mut top = builder.leaf(0, p(0.5));
    for gate in 1..=gates {
        top = link(&mut builder, gate, top);
    }
    builder.finish(top)
}

fn close(found: f64, expected: f64) {
    assert!((found - expected).abs() < 1e-9, "{found}, not {expected}");
}

/// Binomial tail: P = 1 − 0.99⁶⁴ − 64·0.01·0.99⁶³; 64·63/2 = 2,016 pairs.
#[test]
fn two_of_sixty_four_is_counted_at_once() {
    at_once(|| {
        let mut builder = Builder::new();
        let leaves: Vec<_> = (0..64_u32)
            .map(|cause| builder.leaf(cause, p(0.01)))
            .collect();
        let top = builder.gate(Gate::AtLeast(2), "", None, &leaves).unwrap();
        let tree = builder.finish(top);
        close(
            tree.probability(|_| true).unwrap().get(),
            1.0 - 0.99_f64.powi(64) - 0.64 * 0.99_f64.powi(63),
        );
        let found = tree.cut_sets(2);
        assert_eq!(found.len(), 2016);
        assert_eq!((&found[0], &found[2015]), (&vec![0, 1], &vec![62, 63]));
        assert_eq!(tree.cut_sets(64), found);
        assert!(tree.cut_sets(1).is_empty());
    });
}

/// One of 0.5 and 2,000 of 0.001: P = 1 − 0.5·0.999²⁰⁰⁰.
#[test]
fn a_chain_of_two_thousand_ors_is_one_or() {
    at_once(|| {
        let tree = chain(2000, |builder, cause, before| {
            let leaf = builder.leaf(cause, p(0.001));
            builder.gate(Gate::Any, "", None, &[leaf, before]).unwrap()
        });
        close(
            tree.probability(|_| true).unwrap().get(),
            1.0 - 0.5 * 0.999_f64.powi(2000),
        );
        assert_eq!(
            tree.cut_sets(2),
            (0..=2000).map(|cause| vec![cause]).collect::<Vec<_>>()
        );
    });
}

/// AND of 0.5 and 2,000 of 0.999: P = 0.5·0.999²⁰⁰⁰, and no set of two is enough.
#[test]
fn a_chain_of_two_thousand_ands_is_one_and() {
    at_once(|| {
        let tree = chain(2000, |builder, cause, before| {
            let leaf = builder.leaf(cause, p(0.999));
            builder.gate(Gate::All, "", None, &[leaf, before]).unwrap()
        });
        close(
            tree.probability(|_| true).unwrap().get(),
            0.5 * 0.999_f64.powi(2000),
        );
        assert!(tree.cut_sets(2).is_empty());
        assert_eq!(
            tree.cut_sets(2001),
            vec![(0..=2000).collect::<CutSet<u32>>()]
        );
    });
}

/// By hand, from the leaf up: P = 1 − (1 − 0.001)(1 − 0.9·P below), a thousand times.
#[test]
fn a_chain_of_alternating_gates_is_counted_at_once() {
    at_once(|| {
        let tree = chain(1000, |builder, link, before| {
            let need = builder.leaf(2 * link, p(0.9));
            let other = builder.leaf(2 * link + 1, p(0.001));
            let both = builder.gate(Gate::All, "", None, &[need, before]).unwrap();
            builder.gate(Gate::Any, "", None, &[other, both]).unwrap()
        });
        let expected = (0..1000).fold(0.5, |below, _| 1.0 - 0.999 * (1.0 - 0.9 * below));
        close(tree.probability(|_| true).unwrap().get(), expected);
        // The last link alone, or the one before with what the last needs.
        assert_eq!(tree.cut_sets(2), vec![vec![2001], vec![1999, 2000]]);
    });
}

/// P = 0.5·0.999²⁰⁰⁰; the cause below is the only cut set.
#[test]
fn a_chain_of_two_thousand_switches_multiplies() {
    at_once(|| {
        let tree = chain(2000, |builder, _, before| {
            builder.sometimes(p(0.999), before)
        });
        close(
            tree.probability(|_| true).unwrap().get(),
            0.5 * 0.999_f64.powi(2000),
        );
        assert_eq!(tree.cut_sets(2), vec![vec![0]]);
    });
}

/// 3³⁰ sets of thirty causes, none of two.
#[test]
fn sets_above_the_order_are_never_made() {
    at_once(|| {
        let mut builder = Builder::new();
        let inputs: Vec<_> = (0..30_u32)
            .map(|input| {
                let leaves = [0, 1, 2].map(|leaf| builder.leaf(3 * input + leaf, p(0.5)));
                builder.gate(Gate::Any, "", None, &leaves).unwrap()
            })
            .collect();
        let top = builder.gate(Gate::All, "", None, &inputs).unwrap();
        let tree = builder.finish(top);
        assert!(tree.cut_sets(2).is_empty());
        close(
            tree.probability(|_| true).unwrap().get(),
            0.875_f64.powi(30),
        );
    });
}

/// An ANY over five thousand leaves: P = 1 − 0.9999⁵⁰⁰⁰.
#[test]
fn an_or_of_five_thousand_is_counted_at_once() {
    at_once(|| {
        let mut builder = Builder::new();
        let leaves: Vec<_> = (0..5000_u32)
            .map(|cause| builder.leaf(cause, p(0.0001)))
            .collect();
        let top = builder.gate(Gate::Any, "", None, &leaves).unwrap();
        let tree = builder.finish(top);
        assert_eq!(tree.cut_sets(2).len(), 5000);
        close(
            tree.probability(|_| true).unwrap().get(),
            1.0 - 0.9999_f64.powi(5000),
        );
    });
}

/// The worst order for a decision diagram: P = 1 − Π (1 − xᵢ·yᵢ) over forty pairs.
#[test]
fn forty_pairs_whose_halves_stand_far_apart_are_counted_at_once() {
    at_once(|| {
        let mut builder = Builder::new();
        let strength = |leaf: u32| 0.5 + f64::from(leaf) / 200.0;
        let leaves: Vec<_> = (0..80)
            .map(|leaf| builder.leaf(0, p(strength(leaf))))
            .collect();
        let pairs: Vec<_> = (0..40)
            .map(|pair| {
                let halves = [leaves[pair], leaves[pair + 40]];
                builder.gate(Gate::All, "", None, &halves).unwrap()
            })
            .collect();
        let top = builder.gate(Gate::Any, "", None, &pairs).unwrap();
        let none: f64 = (0..40)
            .map(|pair| 1.0 - strength(pair) * strength(pair + 40))
            .product();
        close(
            builder.finish(top).probability(|_| true).unwrap().get(),
            1.0 - none,
        );
    });
}

/// By symmetry: at least 500 of 1,000 coins is ½ + ½·P(500), and C(1000, 500)/2¹⁰⁰⁰ = 0.025 225 018 178.
#[test]
fn five_hundred_of_a_thousand_is_counted_at_once() {
    at_once(|| {
        let mut builder = Builder::new();
        let leaves: Vec<_> = (0..1000_u32)
            .map(|cause| builder.leaf(cause, p(0.5)))
            .collect();
        let top = builder.gate(Gate::AtLeast(500), "", None, &leaves).unwrap();
        let found = builder.finish(top).probability(|_| true).unwrap().get();
        assert!((found - 0.512_612_509_089).abs() < 1e-9, "{found}");
    });
}

/// A ring of pairs: every leaf stands in two of them. Sixteen are counted, seventeen are refused at once.
#[test]
fn a_tree_of_too_many_uncertain_events_in_several_places_is_refused() {
    at_once(|| {
        for (size, counted) in [(16, true), (17, false), (4000, false)] {
            let mut builder = Builder::new();
            let leaves: Vec<_> = (0..size).map(|cause| builder.leaf(cause, p(0.1))).collect();
            let pairs: Vec<_> = (0..leaves.len())
                .map(|at| {
                    let pair = [leaves[at], leaves[(at + 1) % leaves.len()]];
                    builder.gate(Gate::All, "", None, &pair).unwrap()
                })
                .collect();
            let top = builder.gate(Gate::Any, "", None, &pairs).unwrap();
            let found = builder.finish(top).probability(|_| true);
            assert_eq!(found.is_ok(), counted, "{size}: {found:?}");
        }
    });
}

/// Sets of `size` causes of 400, by a linear congruential sequence: the same at every run.
fn scattered(count: usize, size: usize) -> Vec<CutSet<u32>> {
    let mut state = 1_u32;
    let mut next = || {
        state = state.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
        (state >> 8) % 400
    };
    (0..count)
        .map(|_| {
            let mut set = CutSet::new();
            while set.len() < size {
                let cause = next();
                if !set.contains(&cause) {
                    set.push(cause);
                }
            }
            set.sort_unstable();
            set
        })
        .collect()
}

#[test]
fn five_thousand_pairs_are_made_minimal_at_once() {
    at_once(|| {
        let pairs = scattered(5000, 2);
        let mut different = pairs.clone();
        different.sort();
        different.dedup();
        assert_eq!(minimal(pairs), different);
    });
}

#[test]
fn five_thousand_sets_of_ten_are_made_minimal_at_once() {
    at_once(|| {
        let mut sets = scattered(5000, 10);
        sets.extend((0..20).map(|cause| vec![cause]));
        let mut expected: Vec<_> = sets
            .iter()
            .filter(|set| set.len() == 1 || set[0] >= 20)
            .cloned()
            .collect();
        expected.sort_by_key(|set| (set.len(), set.clone()));
        assert_eq!(minimal(sets), expected);
    });
}
